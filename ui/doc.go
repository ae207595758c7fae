// Package ui is the window: it shows what package desk says and reports what the person does. All rules and words are
// in desk, all drawing is in fit/drawing; nothing here knows shoes or devices.
//
// What happens: a widget's callback becomes a desk.Action; Window.do hands it to desk.Reduce, shows the new state, and
// sets the effects off. Work runs in two goroutines, one that judges (judge) and one that draws (painter); both keep
// only the latest question, and both come back through bridge, the only place that hands work to the window's thread.
package ui
