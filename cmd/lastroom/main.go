// Command lastroom opens the window: which orthosis goes into which shoe, and where it touches.
//
//	lastroom [--casebook FILE] [--log FILE] [--scale 1.25] [--version] [FILE]
//
// FILE is a scan of a shoe or device (STL, OBJ, PLY, 3MF), a photo of a traced insole (PNG, JPEG) or a case that was sent (ZIP); it is
// opened.
// The event log goes to FILE, or to the file named by LASTROOM_LOG. The scale holds for this run; the one set in the
// window is kept. Without a display the program says so and ends with status 2.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"fyne.io/fyne/v2/app"

	"lastroom/fit"
	"lastroom/ui"
	"lastroom/ui/desk"
)

const badStart = 2

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "lastroom:", err)
		os.Exit(badStart)
	}
}

func run() error {
	logName := flag.String("log", os.Getenv("LASTROOM_LOG"), "file that gets the event log")
	scale := flag.Float64("scale", 0, "interface scale for this run, 0.7 to 3")
	book := flag.String("casebook", "", "file of the casebook; empty: the usual one, in the user's folder")
	version := flag.Bool("version", false, "print the version and end")
	flag.Parse()
	if *version {
		fmt.Println("lastroom", fit.Version)
		return nil
	}
	if flag.NArg() > 1 {
		return fmt.Errorf("what is %q? One file is opened at the start; see lastroom --help", flag.Arg(1))
	}
	if err := ui.Display(os.Getenv); err != nil {
		return err
	}
	var log io.Writer
	if *logName != "" {
		f, err := os.OpenFile(*logName, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o644)
		if err != nil {
			return err
		}
		defer func() { _ = f.Close() }()
		log = f
	}
	a := app.NewWithID("lastroom")
	if err := ui.ApplyScale(a, *scale); err != nil {
		return err
	}
	ui.New(a, desk.Demo(), ui.Options{Log: log, Casebook: *book}).ShowAndRun(flag.Arg(0))
	return nil
}
