// Package arrows keeps the house in order: it says which package of Lastroom may import which, and its test holds the
// whole module against that.
//
// Data flows one way. Each place of the house may import what stands in its row and nothing else of Lastroom; a
// package without a row of its own belongs to the nearest place above it (fit/drawing to fit), and a package that
// belongs nowhere is an error, so that a new place is thought about before it is built.
//
//	internal/problem  nothing
//	internal/mesh     internal/problem
//	assets            nothing
//	footwear          internal/mesh, internal/problem, assets
//	device            internal/mesh, internal/problem, assets
//	fit               the above
//	internal/console  the above
//	ui                fit and what is left of it
//	cmd/roomcheck     internal/console and what is left of it
//	cmd/lastroom      ui and what is left of it
//
// Two outside libraries have their places too. The window's (fyne.io/…) is reached from ui and cmd/lastroom only, so that
// everything else builds without a C compiler or a display. The plotting library (gonum.org/v1/plot) is imported by
// fit/drawing, fit/sheet and ui only, so that the engine computes and the drawings draw.
package arrows
