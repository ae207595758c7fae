// Package history keeps what undo goes back to, for any page: a page's reducer adds what was before each change, and takes
// back and forth from here. It knows no page and no window.
package history

// mostSteps is how far back undo goes.
const mostSteps = 200

// Steps are the states before and after the present one. It is a value: its methods return a new one and leave the old one
// be. The zero value has no steps.
type Steps[T any] struct {
	past, future []T
	held         string // what is being changed all the time: one step until it is let go of
}

// After is the history once the present state was changed: was is what undo goes back to, and nothing can be redone.
func (h Steps[T]) After(was T) Steps[T] {
	return h.Holding("", was)
}

// Holding is After while something is dragged: all of it is one step, until LetGo, or until something else is changed.
func (h Steps[T]) Holding(what string, was T) Steps[T] {
	if what != "" && what == h.held {
		return Steps[T]{past: h.past, held: what}
	}
	past := append(h.past[:len(h.past):len(h.past)], was)
	return Steps[T]{past: past[max(0, len(past)-mostSteps):], held: what}
}

// LetGo is the history when nothing is dragged any more.
func (h Steps[T]) LetGo() Steps[T] {
	h.held = ""
	return h
}

// CanUndo says whether there is a step to go back to.
func (h Steps[T]) CanUndo() bool { return len(h.past) > 0 }

// CanRedo says whether there is a step to go forward to.
func (h Steps[T]) CanRedo() bool { return len(h.future) > 0 }

// Undo is the state before now, and the history there; ok is false when there is none.
func (h Steps[T]) Undo(now T) (was T, there Steps[T], ok bool) {
	was, there.past, there.future, ok = move(h.past, h.future, now)
	return was, there, ok
}

// Redo is the state that was undone last, and the history there; ok is false when there is none.
func (h Steps[T]) Redo(now T) (next T, there Steps[T], ok bool) {
	next, there.future, there.past, ok = move(h.future, h.past, now)
	return next, there, ok
}

// move takes the last state off one list and puts the present one on the other.
func move[T any](from, to []T, now T) (last T, shorter, longer []T, ok bool) {
	n := len(from) - 1
	if n < 0 {
		return last, from, to, false
	}
	return from[n], from[:n:n], append(to[:len(to):len(to)], now), true
}
