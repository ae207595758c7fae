package ui

import (
	"context"
	"sync"
)

// newest works on wishes in the background, one at a time. Of the wishes that wait only the newest is kept, and it ends
// the context of the one at work.
type newest[T any] struct {
	mu     sync.Mutex
	next   *T
	cancel context.CancelFunc
	wake   chan struct{}
}

// newNewest begins the work, until the context ends.
func newNewest[T any](ctx context.Context, do func(context.Context, T)) *newest[T] {
	n := &newest[T]{wake: make(chan struct{}, 1)}
	go func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-n.wake:
			}
			if wish, work, done := n.take(ctx); wish != nil {
				do(work, *wish)
				done()
			}
		}
	}()
	return n
}

// put puts a wish in the place of any that waits.
func (n *newest[T]) put(wish T) {
	n.mu.Lock()
	n.next = &wish
	if n.cancel != nil {
		n.cancel()
	}
	n.mu.Unlock()
	select {
	case n.wake <- struct{}{}:
	default:
	}
}

// stop ends the work and drops the wish that waits.
func (n *newest[T]) stop() {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.next = nil
	if n.cancel != nil {
		n.cancel()
	}
}

func (n *newest[T]) take(ctx context.Context) (*T, context.Context, func()) {
	n.mu.Lock()
	defer n.mu.Unlock()
	wish := n.next
	n.next = nil
	if wish == nil {
		return nil, ctx, func() {}
	}
	work, cancel := context.WithCancel(ctx)
	n.cancel = cancel
	return wish, work, cancel
}
