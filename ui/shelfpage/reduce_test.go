package shelfpage_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
	"lastroom/ui/desk"
	"lastroom/ui/shelfpage"
)

func look(t *testing.T, s *shelf.Shelf) shelfpage.Shelved {
	t.Helper()
	v, ps := s.View()
	last, ok := s.Last()
	return shelfpage.Shelved{Shoes: v, Folder: s.Dir(), Problems: ps, Last: last, CanUndo: ok}
}

func twoShoes(t *testing.T) *shelf.Shelf {
	t.Helper()
	s, err := shelf.Open(t.TempDir())
	require.NoError(t, err)
	for _, id := range []string{"lace-dress", "work-clog"} {
		_, err := s.Copy(id)
		require.NoError(t, err)
	}
	return s
}

func run(s shelfpage.State, actions ...shelfpage.Action) (shelfpage.State, []shelfpage.Job) {
	var jobs []shelfpage.Job
	for _, a := range actions {
		var more []shelfpage.Job
		s, more = shelfpage.Reduce(s, a)
		jobs = append(jobs, more...)
	}
	return s, jobs
}

func TestTheListAndWhatIsChosen(t *testing.T) {
	own := twoShoes(t)
	s, _ := run(shelfpage.Start(), look(t, own))
	rows := shelfpage.Rows(&s)
	require.Len(t, rows, 2)
	assert.True(t, rows[0].Chosen, "the first is chosen")
	s, _ = run(s, shelfpage.Search{Text: "clog"})
	rows = shelfpage.Rows(&s)
	require.Len(t, rows, 1)
	assert.Equal(t, "my-work-clog", s.Chosen, "what is chosen is in the list")
	assert.Contains(t, shelfpage.WordsView(&s).About, "Work clog")
	s, _ = run(s, shelfpage.Search{Text: ""}, shelfpage.ToggleOwn{}, shelfpage.Using{ID: "my-work-clog"})
	rows = shelfpage.Rows(&s)
	assert.Len(t, rows, 2+len(footwear.Demo().All()))
	assert.Contains(t, rows[1].About, "in use")
	assert.Contains(t, rows[2].About, "the program's")

	s, _ = run(s, shelfpage.ToggleOwn{}, shelfpage.Search{Text: "ballet"})
	assert.Empty(t, shelfpage.Rows(&s))
	assert.Contains(t, shelfpage.WordsView(&s).Notice, "F6 looks among the program's shoes too")
	s, _ = run(s, shelfpage.ToggleOwn{})
	assert.NotEmpty(t, shelfpage.Rows(&s))
}

func TestWithoutShoesOfOnesOwnTheProgramsAreShown(t *testing.T) {
	s, _ := run(shelfpage.Start(), shelfpage.Using{ID: "knit-trainer"})
	assert.Len(t, shelfpage.Rows(&s), len(footwear.Demo().All()))
	assert.Equal(t, "knit-trainer", s.Chosen, "the one in use")
	assert.Empty(t, s.Not(shelfpage.Copy), "there is one to copy from")
	assert.Contains(t, shelfpage.WordsView(&s).Notice, "No shoes of your own yet")
	s, _ = run(s, shelfpage.Search{Text: "spaceship"})
	assert.Empty(t, shelfpage.Rows(&s))
	assert.Contains(t, shelfpage.WordsView(&s).Notice, "No shoe is found by “spaceship”")

	s, _ = run(s, shelfpage.Search{Text: ""}, look(t, twoShoes(t)))
	assert.Len(t, shelfpage.Rows(&s), 2, "one's own, as soon as there are some")
	assert.Equal(t, "my-lace-dress", s.Chosen)
}

func TestWhatMayBeDone(t *testing.T) {
	own := twoShoes(t)
	base, _ := run(shelfpage.Start(), look(t, own), shelfpage.ToggleOwn{})
	all := []shelfpage.Deed{shelfpage.Use, shelfpage.Edit, shelfpage.Copy, shelfpage.Grade, shelfpage.Delete, shelfpage.ExportFile}
	for id, may := range map[string][]bool{
		"my-lace-dress": {true, true, true, true, true, true},
		"lace-dress":    {true, false, true, true, false, false},
		"my-nothing":    {false, false, false, false, false, false},
		"":              {false, false, false, false, false, false},
	} {
		s, _ := run(base, shelfpage.Choose{ID: id}, shelfpage.TypeSize{Text: "EU 43"})
		for i, d := range all {
			assert.Equal(t, may[i], s.Not(d) == "", "%s %s", d, id)
			if d == shelfpage.ExportFile {
				continue
			}
			after, jobs := run(s, shelfpage.Do{What: d})
			if !may[i] {
				assert.Empty(t, jobs)
				assert.NotEmpty(t, after.Fault)
				continue
			}
			require.Len(t, jobs, 1)
			assert.Equal(t, d, jobs[0].Do)
			assert.Equal(t, id, jobs[0].ID)
		}
	}
	s, jobs := run(base, shelfpage.Do{What: shelfpage.Undo})
	assert.Empty(t, jobs)
	assert.Contains(t, s.Fault, "Nothing")
	s, jobs = run(base, shelfpage.Choose{ID: "my-lace-dress"}, shelfpage.TypeSize{Text: "big"}, shelfpage.Do{What: shelfpage.Grade})
	assert.Empty(t, jobs)
	assert.NotEmpty(t, s.Fault)
	_, jobs = run(base, shelfpage.Choose{ID: "my-lace-dress"}, shelfpage.TypeSize{Text: "UK 9"}, shelfpage.Do{What: shelfpage.Grade})
	assert.Equal(t, footwear.Size{System: footwear.UK, Value: 9}, jobs[0].Size)
	_, jobs = run(base, shelfpage.Import{Path: "a.json"}, shelfpage.Choose{ID: "lace-dress"}, shelfpage.Export{Path: "b.json"})
	assert.Equal(t, []shelfpage.Job{{Do: shelfpage.ImportFile, Path: "a.json"}}, jobs, "the program's are not exported")
}

func TestUndoNamesWhatComesBack(t *testing.T) {
	own := twoShoes(t)
	require.NoError(t, own.Delete("my-work-clog"))
	s, _ := run(shelfpage.Start(), look(t, own))
	assert.Contains(t, shelfpage.WordsView(&s).Undo, "Bring back Copy of")
	_, jobs := run(s, shelfpage.Do{What: shelfpage.Undo})
	assert.Equal(t, []shelfpage.Job{{Do: shelfpage.Undo}}, jobs)
}

func TestReports(t *testing.T) {
	own := twoShoes(t)
	s, _ := run(shelfpage.Start(), look(t, own), shelfpage.Search{Text: "clog"}, shelfpage.Did{Text: "Copied.", ID: "my-lace-dress"})
	assert.Equal(t, "my-lace-dress", s.Chosen)
	assert.Empty(t, s.Query, "what was made is seen")
	assert.Equal(t, "Copied.", shelfpage.WordsView(&s).Notice)
	s, _ = run(s, shelfpage.CouldNot{Err: errors.New("read-only")})
	w := shelfpage.WordsView(&s)
	assert.Equal(t, desk.BlockedMark, w.Mark)
	assert.Equal(t, "read-only", w.Notice)

	bad := look(t, own)
	bad.Problems = problem.Problems{{File: "x", Limit: "bad"}, {File: "y", Limit: "bad"}}
	s, _ = run(shelfpage.Start(), bad)
	assert.Contains(t, shelfpage.WordsView(&s).Notice, "x: bad (and 1 more)")

	hand, err := bad.Shoes.With(bad.Shoes.Own()[0].Sheet)
	require.NoError(t, err)
	bad.Shoes = hand
	s, _ = run(shelfpage.Start(), bad, shelfpage.Choose{ID: shelf.InHand})
	assert.Empty(t, s.Not(shelfpage.Use))
	for _, d := range []shelfpage.Deed{shelfpage.Edit, shelfpage.Copy, shelfpage.Delete} {
		assert.Contains(t, s.Not(d), "not on the shelf yet")
	}
}
