package ui

import (
	"context"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
)

// followEvery is how often it is looked where the focus is: nothing else tells.
const followEvery = 150 * time.Millisecond

// keepInSight scrolls to what has the focus, whenever that changes: in a small window, or a large scale, the keyboard would lead
// out of sight.
func (w *Window) keepInSight(ctx context.Context) {
	t := time.NewTicker(followEvery)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
			bridge(w.follow)
		}
	}
}

// follow scrolls to what has the focus, if that has changed.
func (w *Window) follow() {
	f := w.win.Canvas().Focused()
	if f == w.followed {
		return
	}
	w.followed = f
	o, ok := f.(fyne.CanvasObject)
	if !ok || w.win.Canvas().Overlays().Top() != nil {
		return
	}
	for _, s := range scrolls(w.pages.all, nil) {
		bringIntoSight(s, o)
	}
}

// scrolls are all that scroll below an object and are shown, the inner ones first.
func scrolls(in fyne.CanvasObject, out []*container.Scroll) []*container.Scroll {
	if in == nil || !in.Visible() {
		return out
	}
	switch in := in.(type) {
	case *container.Scroll:
		return append(scrolls(in.Content, out), in)
	case *container.Split:
		return scrolls(in.Trailing, scrolls(in.Leading, out))
	case *fyne.Container:
		for _, o := range in.Objects {
			out = scrolls(o, out)
		}
	}
	return out
}

// bringIntoSight scrolls so that what lies on the scroll's content is seen, with a little round it. What lies elsewhere changes
// nothing.
func bringIntoSight(s *container.Scroll, o fyne.CanvasObject) {
	at := func(o fyne.CanvasObject) fyne.Position {
		return fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
	}
	p, size, content := at(o).Subtract(at(s.Content)), o.Size(), s.Content.Size()
	if p.X < 0 || p.Y < 0 || p.X+size.Width > content.Width+1 || p.Y+size.Height > content.Height+1 {
		return
	}
	const round = 8
	reach := func(offset, from, length, view, all float32) float32 {
		switch {
		case from-round < offset:
			offset = from - round
		case from+length+round > offset+view:
			offset = min(from-round, from+length+round-view)
		}
		return max(0, min(offset, all-view))
	}
	to := fyne.NewPos(reach(s.Offset.X, p.X, size.Width, s.Size().Width, content.Width), reach(s.Offset.Y, p.Y, size.Height, s.Size().Height, content.Height))
	if to != s.Offset {
		s.ScrollToOffset(to)
	}
}
