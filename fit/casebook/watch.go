package casebook

import (
	"context"
	"sync"
)

// An Event says that a case was changed or that it is gone. An empty ID means that any may have been: look at all again.
type Event struct {
	ID   string
	Gone bool
}

// watchers are those who want to know.
type watchers struct {
	mu   sync.Mutex
	next int
	of   map[int]func(Event)
}

// Watch has tell called after every change, from the goroutine that made it and with no lock held, until stop is called.
func (b *Book) Watch(tell func(Event)) (stop func()) {
	w := &b.watch
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.of == nil {
		w.of = map[int]func(Event){}
	}
	me := w.next
	w.next++
	w.of[me] = tell
	return func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.of, me)
	}
}

func (w *watchers) tell(e Event) {
	w.mu.Lock()
	all := make([]func(Event), 0, len(w.of))
	for _, t := range w.of {
		all = append(all, t)
	}
	w.mu.Unlock()
	for _, t := range all {
		t(e)
	}
}

// Refresh looks whether another program has changed the book since, and tells who watches; cheap when it has not.
func (b *Book) Refresh(ctx context.Context) error {
	b.mu.Lock()
	seen, err := b.dataVersion(ctx)
	changed := err == nil && seen != b.seen
	if changed {
		err = b.load(ctx)
	}
	b.mu.Unlock()
	if changed && err == nil {
		b.watch.tell(Event{})
	}
	return told(b.file, err)
}

// dataVersion changes when another program has written to the file.
func (b *Book) dataVersion(ctx context.Context) (v int64, err error) {
	err = b.db.QueryRowContext(ctx, `PRAGMA data_version`).Scan(&v)
	return v, err
}
