package fit

// Demo is the invented case that the programs open on: the usual device in a dress shoe with a narrow seat.
var Demo = struct{ ShoeID, Size, PresetID string }{"lace-dress", "EU 42", "everyday-block"}
