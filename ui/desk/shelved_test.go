package desk_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/ui/desk"
)

func view(t *testing.T, note string) *shelf.View {
	t.Helper()
	sheet, err := footwear.Demo().Find("hiking-boot")
	require.NoError(t, err)
	sheet.Name, sheet.Note = "Worn boot", note
	v, err := (*shelf.View)(nil).With(sheet)
	require.NoError(t, err)
	return v
}

func TestOnesOwnShoesAreListedFirstAndUsed(t *testing.T) {
	s, es := run(start(), desk.Shelved{Shoes: view(t, "")})
	assert.Empty(t, es, "the shoe that is shown has not changed")
	rows := desk.ShoesView(&s)
	assert.Equal(t, shelf.InHand, rows[0].ID)
	assert.Contains(t, rows[0].Kind, "your own")

	s, es = run(s, desk.ChooseShoe{ID: shelf.InHand})
	require.Len(t, es, 1)
	assert.Empty(t, s.Rules)
	assert.NotZero(t, s.Stamp)
	assert.Same(t, s.Shoes, es[0].(desk.Check).Shoes)
	assert.Contains(t, desk.ShoeLine(&s), "Worn boot")
}

func TestAnEditedShoeIsAskedAboutAgainAndAlsoAfterUndo(t *testing.T) {
	s, _ := run(start(), desk.Shelved{Shoes: view(t, "")}, desk.ChooseShoe{ID: shelf.InHand}, desk.Step{Key: "size", N: 1})
	before := s.Inputs.Room()
	s, es := run(s, desk.Shelved{Shoes: view(t, "edited")})
	require.Len(t, es, 1, "the same shoe has another room now")
	assert.NotEqual(t, before, s.Inputs.Room())
	now := s.Stamp
	s, _ = run(s, desk.Undo{})
	assert.Equal(t, now, s.Stamp, "undo goes back to the shoe as it is")

	s, es = run(s, desk.Shelved{Shoes: nil})
	assert.Empty(t, es)
	s, es = run(s, desk.Step{Key: "size", N: 1})
	assert.Empty(t, es)
	require.NotEmpty(t, s.Rules, "a shoe that is gone has no answer, and that is said")
	s, es = run(s, desk.ChooseShoe{ID: "lace-dress"})
	assert.Len(t, es, 1)
	assert.Empty(t, s.Rules)
}
