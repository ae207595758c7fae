package shelf

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/footwear"
	"lastroom/internal/problem"
)

func demo(t *testing.T, id string) footwear.Sheet {
	t.Helper()
	s, err := footwear.Demo().Find(id)
	require.NoError(t, err)
	return s
}

func open(t *testing.T) *Shelf {
	t.Helper()
	s, err := Open(filepath.Join(t.TempDir(), "deep", "shoes"))
	require.NoError(t, err)
	return s
}

func add(t *testing.T, s *Shelf, id string) Shoe {
	t.Helper()
	shoe, err := s.Add(demo(t, id), Files{})
	require.NoError(t, err)
	return shoe
}

func write(t *testing.T, name, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
}

func ids(t *testing.T, s *Shelf) []string {
	t.Helper()
	all, ps := s.All()
	require.Empty(t, ps)
	out := []string{}
	for _, shoe := range all {
		out = append(out, shoe.Sheet.ID)
	}
	return out
}

func TestAShelfThatIsNotThereIsEmptyAndIsMadeWhenNeeded(t *testing.T) {
	s := open(t)
	assert.Empty(t, ids(t, s))
	_, err := os.Stat(s.Dir())
	assert.ErrorIs(t, err, os.ErrNotExist, "looking makes nothing")
	_, ok := s.Last()
	assert.False(t, ok)

	shoe := add(t, s, "lace-dress")
	assert.Equal(t, "my-lace-dress", shoe.Sheet.ID)
	again, err := Open(s.Dir())
	require.NoError(t, err)
	assert.Equal(t, []string{"my-lace-dress"}, ids(t, again), "found again at the next start")
	found, err := again.Find("my-lace-dress")
	require.NoError(t, err)
	assert.Equal(t, shoe, found)
	want := demo(t, "lace-dress")
	assert.Equal(t, want.M, found.Sheet.M)
}

func TestTheZeroFolderIsTheUsersOwn(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", "/somewhere/config")
	t.Setenv("HOME", "/somewhere")
	s, err := Open("")
	require.NoError(t, err)
	assert.Equal(t, "shoes", filepath.Base(s.Dir()))
	assert.Equal(t, "lastroom", filepath.Base(filepath.Dir(s.Dir())))

	file := filepath.Join(t.TempDir(), "shoes")
	write(t, file, "")
	_, err = Open(file)
	assert.ErrorContains(t, err, "needs a folder")
}

func TestIdentifiersAreUniqueAndNeverTheProgramsOwn(t *testing.T) {
	for _, sheet := range footwear.Demo().All() {
		assert.False(t, Own(sheet.ID), sheet.ID)
	}
	s := open(t)
	sheet := demo(t, "lace-dress")
	for _, c := range []struct{ id, name, want string }{
		{"", "Old walking shoe", "my-old-walking-shoe"},
		{"", "Old: walking & shoe!", "my-old-walking-shoe-2"},
		{"my-old-walking-shoe", "x", "my-old-walking-shoe-3"},
		{"", "Çizme №7", "my-izme-7"},
		{"", "鞋", "my-shoe"},
		{"my", "x", "my-my"},
		{"", strings.Repeat("long ", 16), "my-" + strings.TrimSuffix(strings.Repeat("long-", 16)[:61], "-")},
	} {
		sheet.ID, sheet.Name = c.id, c.name
		shoe, err := s.Add(sheet, Files{})
		require.NoError(t, err, c.name)
		assert.Equal(t, c.want, shoe.Sheet.ID)
	}
	// An identifier in the trash stays taken, so that it can come back.
	require.NoError(t, s.Delete("my-shoe"))
	sheet.ID, sheet.Name = "", "鞋"
	shoe, err := s.Add(sheet, Files{})
	require.NoError(t, err)
	assert.Equal(t, "my-shoe-2", shoe.Sheet.ID)
	_, err = s.Undo()
	require.NoError(t, err)
}

func TestEditedDeletedAndBroughtBackInAnotherRun(t *testing.T) {
	s := open(t)
	first := add(t, s, "lace-dress")
	edited := first.Sheet
	edited.Name = "Lace shoe, stretched"
	edited.M[footwear.BallWidth].Value++
	second, err := s.Replace(edited, first.Stamp)
	require.NoError(t, err)
	assert.NotEqual(t, first.Stamp, second.Stamp)
	assert.Equal(t, edited.M, second.Sheet.M)
	require.NoError(t, s.Delete(edited.ID))
	assert.Empty(t, ids(t, s))
	assert.ErrorContains(t, s.Delete(edited.ID), "not on this shelf")

	s, err = Open(s.Dir()) // another run
	require.NoError(t, err)
	last, ok := s.Last()
	require.True(t, ok)
	assert.Equal(t, "deleted", last.What)
	assert.Equal(t, "Lace shoe, stretched", last.Name)
	_, err = s.Undo()
	require.NoError(t, err)
	back, err := s.Find(edited.ID)
	require.NoError(t, err)
	assert.Equal(t, second, back)

	step, err := s.Undo()
	require.NoError(t, err)
	assert.Equal(t, "replaced", step.What)
	back, err = s.Find(edited.ID)
	require.NoError(t, err)
	assert.Equal(t, first, back)
	_, err = s.Undo()
	assert.ErrorContains(t, err, "nothing was deleted or edited")
	kept, err := filepath.Glob(filepath.Join(s.Dir(), trashDir, "*-undone-*", sheetFile))
	require.NoError(t, err)
	assert.Len(t, kept, 1, "the edited sheet is not lost")
}

func TestAnEditOfAShoeThatChangedMeanwhileIsRefused(t *testing.T) {
	s := open(t)
	first := add(t, s, "lace-dress")
	other, err := Open(s.Dir())
	require.NoError(t, err)
	theirs := first.Sheet
	theirs.Note = "theirs"
	_, err = other.Replace(theirs, first.Stamp)
	require.NoError(t, err)
	ours := first.Sheet
	ours.Note = "ours"
	_, err = s.Replace(ours, first.Stamp)
	assert.ErrorContains(t, err, "changed by another program")
	now, err := s.Find(first.Sheet.ID)
	require.NoError(t, err)
	assert.Equal(t, "theirs", now.Sheet.Note)

	_, err = s.Replace(demo(t, "lace-dress"), 1)
	assert.ErrorContains(t, err, "not on this shelf", "the program's own are not edited")
	bad := now.Sheet
	bad.M[footwear.BallWidth].Value = 5
	_, err = s.Replace(bad, now.Stamp)
	assert.ErrorContains(t, err, "ball_width_mm")
}

func TestCopiesAndGradedCopies(t *testing.T) {
	s := open(t)
	dir := t.TempDir()
	scan := filepath.Join(dir, "inside.STL")
	write(t, scan, "solid x\nendsolid x\n")
	standing := filepath.Join(dir, "x.json")
	write(t, standing, "{}")
	first, err := s.Add(demo(t, "lace-dress"), Files{scan, standing})
	require.NoError(t, err)

	twin, err := s.Copy(first.Sheet.ID)
	require.NoError(t, err)
	assert.Equal(t, "my-lace-dress-2", twin.Sheet.ID)
	third, err := s.Copy(twin.Sheet.ID)
	require.NoError(t, err)
	assert.Equal(t, "my-lace-dress-3", third.Sheet.ID)
	require.NoError(t, s.Delete(third.Sheet.ID))
	assert.True(t, strings.HasPrefix(twin.Sheet.Name, "Copy of "))
	assert.FileExists(t, twin.Scan)
	assert.FileExists(t, twin.Standing)
	assert.NotEqual(t, first.Scan, twin.Scan)

	to := footwear.Size{System: footwear.EU, Value: first.Sheet.Size.Value + 2}
	big, err := s.Graded(first.Sheet.ID, to, footwear.GradeOptions{})
	require.NoError(t, err)
	assert.Equal(t, to, big.Sheet.Size)
	assert.Equal(t, first.Sheet.Size, big.Sheet.GradedFrom)
	assert.InDelta(t, first.Sheet.V(footwear.LastLength)+2*20.0/3, big.Sheet.V(footwear.LastLength), 1e-9)
	assert.Empty(t, big.Scan, "the scan is of the other size")
	assert.True(t, strings.HasSuffix(big.Sheet.Name, ", "+to.String()))

	own, err := s.Copy("work-clog")
	require.NoError(t, err)
	assert.Equal(t, "my-work-clog", own.Sheet.ID, "a shoe of the program's becomes one's own")
	_, err = s.Graded(first.Sheet.ID, footwear.Size{System: footwear.EU, Value: 20}, footwear.GradeOptions{})
	assert.Error(t, err)
	assert.Len(t, ids(t, s), 4)

	long := demo(t, "lace-dress")
	long.Name = strings.Repeat("é", 40)
	shoe, err := s.Add(long, Files{})
	require.NoError(t, err)
	_, err = s.Copy(shoe.Sheet.ID)
	require.NoError(t, err, "a name that is too long for a copy is shortened between letters")
}

func TestExportAndImportGiveTheSameShoe(t *testing.T) {
	s := open(t)
	dir := t.TempDir()
	scan := filepath.Join(dir, "inside.ply")
	write(t, scan, "ply\n")
	first, err := s.Add(demo(t, "lace-dress"), Files{Scan: scan})
	require.NoError(t, err)

	out := filepath.Join(dir, "away.json")
	names, err := s.Export(first.Sheet.ID, out, false)
	require.NoError(t, err)
	assert.Equal(t, []string{filepath.Join(dir, "away.ply"), out}, names)
	_, err = s.Export(first.Sheet.ID, out, false)
	assert.ErrorContains(t, err, "there is a file of this name")
	_, err = s.Export(first.Sheet.ID, out, true)
	require.NoError(t, err)
	_, err = s.Export(first.Sheet.ID, filepath.Join(dir, "away.txt"), false)
	assert.ErrorContains(t, err, "ends in .json")
	left, err := filepath.Glob(filepath.Join(dir, stagePrefix+"*"))
	require.NoError(t, err)
	assert.Empty(t, left)

	back, err := s.Import(out)
	require.NoError(t, err)
	assert.Equal(t, "my-lace-dress-2", back.Sheet.ID)
	back.Sheet.ID = first.Sheet.ID
	assert.Equal(t, first.Sheet, back.Sheet)
	data, err := os.ReadFile(back.Scan)
	require.NoError(t, err)
	assert.Equal(t, "ply\n", string(data))

	write(t, filepath.Join(dir, "away.stl"), "solid")
	_, err = s.Import(out)
	assert.ErrorContains(t, err, "one scan a shoe")
	write(t, filepath.Join(dir, "bad.json"), "{")
	_, err = s.Import(filepath.Join(dir, "bad.json"))
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	assert.Equal(t, filepath.Join(dir, "bad.json"), p.File)
	_, err = s.Import(filepath.Join(dir, "none.json"))
	assert.ErrorContains(t, err, "check the name")
	_, err = s.Import(dir)
	assert.ErrorContains(t, err, "plain file")
	write(t, filepath.Join(dir, "big.json"), strings.Repeat(" ", maxSheet+1))
	_, err = s.Import(filepath.Join(dir, "big.json"))
	assert.ErrorContains(t, err, "at most 1048576")
	_, err = s.Add(first.Sheet, Files{Scan: filepath.Join(dir, "bad.json")})
	assert.ErrorContains(t, err, "one of stl, obj, ply, 3mf")
	assert.Len(t, ids(t, s), 2, "what failed left nothing")
}

func TestABadFileHidesNoOther(t *testing.T) {
	s := open(t)
	add(t, s, "lace-dress")
	add(t, s, "work-clog")
	bad := filepath.Join(s.Dir(), "my-lace-dress", sheetFile)
	write(t, bad, `{"format": "lastroom-shoe"`)
	write(t, filepath.Join(s.Dir(), "note.txt"), "x")
	require.NoError(t, os.Mkdir(filepath.Join(s.Dir(), "my-empty"), 0o700))
	require.NoError(t, os.Rename(filepath.Join(s.Dir(), "my-work-clog"), filepath.Join(s.Dir(), "my-other")))
	add(t, s, "hiking-boot")

	all, ps := s.All()
	require.Len(t, all, 1)
	assert.Equal(t, "my-hiking-boot", all[0].Sheet.ID)
	files := []string{}
	for _, p := range ps {
		files = append(files, p.File)
		assert.NotEmpty(t, p.Mend, p)
	}
	assert.ElementsMatch(t, []string{
		bad, filepath.Join(s.Dir(), "note.txt"), filepath.Join(s.Dir(), "my-empty", sheetFile), filepath.Join(s.Dir(), "my-other", sheetFile),
	}, files)
	assert.FileExists(t, bad)
	v, ps := s.View()
	assert.Len(t, ps, 4)
	assert.Len(t, v.Own(), 1)
	require.NoError(t, s.Delete("my-lace-dress"), "a bad one can be deleted")
	_, err := s.Undo()
	require.NoError(t, err)
	assert.FileExists(t, bad)
}

func TestTheViewJoinsBothShelvesOwnFirst(t *testing.T) {
	s := open(t)
	sheet := demo(t, "work-clog")
	sheet.Name = "Zebra clog"
	_, err := s.Add(sheet, Files{})
	require.NoError(t, err)
	v, ps := s.View()
	require.Empty(t, ps)
	all := v.Search("")
	assert.Len(t, all, len(footwear.Demo().All())+1)
	assert.Equal(t, "my-work-clog", all[0].ID, "own first, whatever the name")
	assert.Equal(t, "my-work-clog", v.Search("zebra")[0].ID)
	assert.Len(t, v.Search("zebra"), 1, "shoes that meet every word come alone, of both shelves")
	assert.Equal(t, "my-work-clog", v.SearchOwn("clog")[0].Sheet.ID)
	own, err := v.Find("my-work-clog")
	require.NoError(t, err)
	assert.NotZero(t, own.Stamp)
	theirs, err := v.Find("work-clog")
	require.NoError(t, err)
	assert.Zero(t, theirs.Stamp)
	_, err = v.Find("my-nothing")
	assert.Error(t, err)

	var none *View
	assert.Equal(t, footwear.Demo().All(), none.Search(""))
	assert.Empty(t, none.Own())
	assert.Empty(t, none.SearchOwn("clog"))
	_, err = none.Find("work-clog")
	assert.NoError(t, err)
	_, err = NewView([]Shoe{{Sheet: demo(t, "work-clog")}})
	assert.Error(t, err)
}

func TestTwoWhoWriteAtOnceLoseNothing(t *testing.T) {
	dir := t.TempDir()
	const each = 6
	var wg sync.WaitGroup
	for range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			s, err := Open(dir)
			if !assert.NoError(t, err) {
				return
			}
			for range each {
				sheet, err := footwear.Demo().Find("work-clog")
				assert.NoError(t, err)
				_, err = s.Add(sheet, Files{})
				assert.NoError(t, err)
			}
		}()
	}
	wg.Wait()
	s, err := Open(dir)
	require.NoError(t, err)
	assert.Len(t, ids(t, s), 2*each)
}

func TestTheTrashKeepsTheLatestSteps(t *testing.T) {
	s := open(t)
	shoe := add(t, s, "work-clog")
	trash := filepath.Join(s.Dir(), trashDir)
	for _, n := range []string{"000001-deleted-my-a", "000002-deleted-my-b", "junk", "x-deleted-my-a"} {
		require.NoError(t, os.MkdirAll(filepath.Join(trash, n), 0o700))
	}
	for n := 3; n <= maxHistory+1; n++ {
		require.NoError(t, os.Mkdir(filepath.Join(trash, fmt.Sprintf("%06d-undone-my-c", n)), 0o700))
	}
	require.NoError(t, s.Delete(shoe.Sheet.ID))
	assert.NoDirExists(t, filepath.Join(trash, "000001-deleted-my-a"))
	assert.DirExists(t, filepath.Join(trash, "000002-deleted-my-b"))
	assert.DirExists(t, filepath.Join(trash, "junk"), "what is not ours stays")
	last, ok := s.Last()
	require.True(t, ok)
	assert.Equal(t, shoe.Sheet.ID, last.ID)
}
