package ui

import "errors"

const withoutWindow = "do the same job without a window: roomcheck demo --out DIR"

// Display says whether the environment names a screen to open a window on; the error is a sentence with the mend.
func Display(env func(string) string) error {
	switch {
	case env("DISPLAY") != "":
		return nil
	case env("WAYLAND_DISPLAY") != "":
		return errors.New("the window is an X11 window, and this Wayland session offers no X11 display (DISPLAY is not set); " +
			"start XWayland, or " + withoutWindow)
	default:
		return errors.New("there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set); " + withoutWindow)
	}
}
