package drawing

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit"
)

// Each choice lies where its numbers say, is found there again, and kinds of work differ in shape, not only in colour.
func TestChoicesLieWhereTheirNumbersSay(t *testing.T) {
	points := []ChoicePoint{
		{Number: 0, MarginMM: -1, Kept: 1, Work: fit.NoWork},
		{Number: 1, MarginMM: 0.2, Kept: 0.9, Work: fit.Grind, Picked: true},
		{Number: 2, MarginMM: 0.6, Kept: 0.8, Work: fit.Lab},
		{Number: 3, MarginMM: 1, Kept: 0.85, Work: fit.Remake},
		{Number: 4, MarginMM: 1.2, Kept: 1, Work: fit.OtherShoe},
	}
	for _, dark := range []bool{false, true} {
		p, err := RenderChoices(points, Look{Dark: dark}, 420, 300, 1)
		require.NoError(t, err)
		require.Len(t, p.At, len(points))
		assert.Equal(t, 420, p.Image.Bounds().Dx())
		for i, at := range p.At {
			assert.Equal(t, i, p.Nearest(at[0]+1, at[1]-1, 10))
			assert.True(t, at[0] > 0 && at[0] < 420 && at[1] > 0 && at[1] < 300)
		}
		assert.Less(t, p.At[0][0], p.At[4][0], "more room lies right")
		assert.Less(t, p.At[0][1], p.At[2][1], "more support lies up")
		assert.Equal(t, -1, p.Nearest(-500, -500, 10))
	}
	seen := map[any]bool{}
	for _, w := range append([]fit.Work{fit.NoWork}, fit.Works...) {
		s := shapeOf(w)
		assert.False(t, seen[s], w)
		seen[s] = true
	}
	_, err := RenderChoices(points, Look{}, 10, 10, 1)
	assert.Error(t, err)
	_, err = RenderChoices(nil, Look{}, 200, 200, 1)
	assert.NoError(t, err)
}
