package ui

import (
	"context"
	"sync"

	"lastroom/fit/drawing"
)

// A sheet is a drawing that is wanted.
type sheet struct {
	view          drawing.View
	scene         *drawing.Scene
	shape         *drawing.Shape // drawn in place of the scene when there is one
	options       drawing.Options
	width, height int // pixels
	scale         float64
	done          func(*drawing.Picture, error) // called on the painter's goroutine
}

// draw draws it.
func (s *sheet) draw() (*drawing.Picture, error) {
	if s.shape != nil {
		return drawing.RenderShape(s.view, s.shape, s.options, s.width, s.height, s.scale)
	}
	return drawing.Render(s.view, s.scene, s.options, s.width, s.height, s.scale)
}

// painter draws in the background, the latest wish for each view only.
type painter struct {
	mu     sync.Mutex
	wanted [len(drawing.Views)]*sheet
	turn   int // the view that is looked at first: each has its turn
	wake   chan struct{}
}

func newPainter() *painter { return &painter{wake: make(chan struct{}, 1)} }

// want puts a wish in the place of any that waits for the same view.
func (p *painter) want(s sheet) {
	p.mu.Lock()
	p.wanted[s.view] = &s
	p.mu.Unlock()
	select {
	case p.wake <- struct{}{}:
	default:
	}
}

// run draws until the context ends.
func (p *painter) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-p.wake:
		}
		for s := p.take(); s != nil && ctx.Err() == nil; s = p.take() {
			s.done(s.draw())
		}
	}
}

func (p *painter) take() *sheet {
	p.mu.Lock()
	defer p.mu.Unlock()
	for range p.wanted {
		s := p.wanted[p.turn]
		p.wanted[p.turn] = nil
		p.turn = (p.turn + 1) % len(p.wanted)
		if s != nil {
			return s
		}
	}
	return nil
}
