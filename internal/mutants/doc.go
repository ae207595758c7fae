// Command mutants puts deliberate faults into the formulas, one at a time, and says which test catches each: `make mutants`.
//
// A fault of the table (table.go) is a short piece of source and what stands there instead. The compiler gets the changed
// file as an overlay, so nothing in the working tree is touched; then the tests of the fault's package run until the first
// of them fails. A fault that every test lets through is printed as "SURVIVED", and the command ends with status 1. This
// is mutation analysis (DeMillo, Lipton & Sayward 1978, "Hints on test data selection", IEEE Computer 11(4); from memory)
// with faults chosen by hand in place of all that a grammar allows: signs, factors, axes, sides and units.
package main
