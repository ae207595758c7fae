package ui

import (
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"lastroom/internal/mesh"
	"lastroom/ui/scanpage"
)

// What files the window opens, and where they go.

// folderPreference is where the last file was opened.
const folderPreference = "folder"

var (
	scanEndings  = []string{".stl", ".obj", ".ply", ".3mf"}
	photoEndings = []string{".png", ".jpg", ".jpeg"}
)

func isPhoto(path string) bool {
	for _, e := range photoEndings {
		if strings.HasSuffix(strings.ToLower(path), e) {
			return true
		}
	}
	return false
}

// askFile asks for a file of the window's, and does something with its path.
func (w *Window) askFile(title string, endings []string, then func(path string)) {
	d := dialog.NewFileOpen(func(f fyne.URIReadCloser, err error) {
		if err != nil {
			w.tell(title, err.Error())
			return
		}
		if f == nil {
			return
		}
		path := f.URI().Path()
		_ = f.Close()
		w.app.Preferences().SetString(folderPreference, filepath.Dir(path))
		then(path)
	}, w.win)
	if last := w.app.Preferences().String(folderPreference); last != "" {
		if dir, err := storage.ListerForURI(storage.NewFileURI(last)); err == nil {
			d.SetLocation(dir)
		}
	}
	filter := append([]string(nil), endings...)
	for _, e := range endings {
		filter = append(filter, strings.ToUpper(e))
	}
	d.SetFilter(storage.NewExtensionFileFilter(filter))
	d.SetTitleText(title)
	d.Resize(fyne.NewSize(900, 620))
	w.lay(d)
}

// askSave asks where to write a file.
func (w *Window) askSave(title, name string, then func(path string)) {
	d := dialog.NewFileSave(func(f fyne.URIWriteCloser, err error) {
		if err != nil {
			w.tell(title, err.Error())
			return
		}
		if f == nil {
			return
		}
		path := f.URI().Path()
		_ = f.Close()
		w.app.Preferences().SetString(folderPreference, filepath.Dir(path))
		then(path)
	}, w.win)
	d.SetFileName(name)
	d.SetTitleText(title)
	d.Resize(fyne.NewSize(900, 620))
	w.lay(d)
}

// askShape opens a scan or a tracing of a shoe.
func (w *Window) askShape() {
	w.askFile("A scan or a photo of a tracing", append(append([]string(nil), scanEndings...), photoEndings...), w.Open)
}

// askDevice opens a scan of a device.
func (w *Window) askDevice() {
	w.askFile("A scan of a device", scanEndings, func(path string) { w.openScan(path, scanpage.Device) })
}

// Open opens a file by what it is: a photo of a tracing, or a scan, of which it is asked what it shows.
func (w *Window) Open(path string) {
	w.remember(path)
	if isPhoto(path) {
		w.openPhoto(path)
		return
	}
	if isCase(path) && w.cases != nil {
		w.openCase(path)
		return
	}
	if mesh.FormatOf(path) == "" {
		w.tell("This file is not opened", baseName(path)+": scans end in "+strings.Join(scanEndings, ", ")+"; photos in "+strings.Join(photoEndings, ", ")+"; cases that were sent in "+strings.Join(caseEndings, ", ")+".")
		return
	}
	w.askPurpose(path)
}

// askPurpose asks what a scan shows, and opens it.
func (w *Window) askPurpose(path string) {
	var d *dialog.CustomDialog
	pick := func(text string, p scanpage.Purpose) fyne.CanvasObject {
		return widget.NewButton(text, func() {
			d.Hide()
			w.openScan(path, p)
		})
	}
	asks := widget.NewLabel("What does " + baseName(path) + " show?")
	asks.Wrapping = fyne.TextWrapWord
	body := container.NewVBox(
		fixedWidth(asks, 460),
		pick("The inside of a shoe, or a cast of it", scanpage.Inside),
		pick("The last of a shoe", scanpage.Last),
		pick("A device", scanpage.Device),
	)
	d = dialog.NewCustom("A scan", "Leave it", body, w.win)
	w.lay(d)
}

func (w *Window) openScan(path string, p scanpage.Purpose) {
	w.pages.turnTo(w.scans)
	w.scans.do(scanpage.Open{Path: path, Purpose: p})
}

// dropped opens the first of the files that were dropped on the window.
func (w *Window) dropped(_ fyne.Position, files []fyne.URI) {
	for _, f := range files {
		if f.Scheme() == "file" {
			w.Open(f.Path())
			return
		}
	}
}
