package trace

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestCornersByClick(t *testing.T) {
	o := soleOutline(246, 62, 55, 88, 2.2, 4)
	s := plain(o).on(Letter).from(20, 130, 340, 6).with(o, 3, Point{})
	h := s.camera()
	var at [4]Point
	for i, c := range page(Letter.SizeMM()) {
		at[i] = h.apply(c)
	}
	file := asPNG(t, s.shot(t))
	found := read(t, file, Options{})
	comesBack(t, o, found)
	for i, c := range found.Corners {
		near := at[0]
		for _, a := range at {
			if a.minus(c).norm() < near.minus(c).norm() {
				near = a
			}
		}
		assert.Less(t, near.minus(c).norm(), 0.4, "corner %d", i)
	}

	// Clicks some pixels off, in any order: the edges beside them decide.
	clicks := [4]Point{at[2].plus(Point{4, -5}), at[0].plus(Point{-3, 3}), at[3].plus(Point{2, 6}), at[1].plus(Point{-6, 1})}
	byClick := read(t, file, Options{Corners: &clicks})
	comesBack(t, o, byClick)
	assert.Equal(t, Letter, byClick.Sheet)
	assert.InDelta(t, found.BallWidth.Value, byClick.BallWidth.Value, 0.05)

	// A ground as white as the sheet shows no edges: the clicks count, and more is left open.
	s.table, s.texture = 0.85, 0
	blind := asPNG(t, s.shot(t))
	clicked := read(t, blind, Options{Corners: &at})
	assert.InDelta(t, o.length, clicked.Length.Value, withinMM)
	assert.InDelta(t, o.ball, clicked.BallWidth.Value, withinMM)
	assert.Contains(t, clicked.Notes[0], "as they are")
	assert.Greater(t, clicked.BallWidth.PlusMinus, byClick.BallWidth.PlusMinus)
}
