package measurepage

import (
	"context"
	"errors"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

// Work makes of a draft what follows from it: what was not measured is filled in, and the room is made.
func (b Build) Work() *Made {
	m := &Made{Generation: b.Generation}
	sheet, assumed, err := footwear.FillIn(b.Draft)
	if err != nil {
		m.Sheet = b.Draft
		m.Broken = problems(err)
		return m
	}
	m.Sheet, m.Assumed = sheet, assumed
	if m.Broken = sheet.Contradictions(); len(m.Broken) > 0 {
		return m
	}
	named := sheet
	named.ID, named.Name = "measured", "measured" // a room needs no words
	room, err := footwear.NewRoom(named, false)
	if err != nil {
		m.Broken = problems(err)
		return m
	}
	m.Room = room
	return m
}

// Work finds which missing measure matters most.
func (r Rank) Work(ctx context.Context) Advice {
	id, mm := footwear.MattersMost(ctx, r.Sheet)
	return Advice{Generation: r.Generation, ID: id, MM: mm}
}

func problems(err error) problem.Problems {
	var ps problem.Problems
	var p problem.Problem
	switch {
	case errors.As(err, &ps):
		return ps
	case errors.As(err, &p):
		return problem.Problems{p}
	}
	return problem.Problems{{Limit: err.Error()}}
}
