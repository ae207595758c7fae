package casebook

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/footwear"
	"lastroom/internal/problem"
)

var day = time.Date(2026, 3, 2, 9, 30, 0, 0, time.UTC)

// bookIn opens the casebook of a folder with a clock of its own, which goes on by a second at every look.
func bookIn(t *testing.T, dir string) *Book {
	t.Helper()
	b, err := Open(t.Context(), filepath.Join(dir, "book.db"), Settings{})
	require.NoError(t, err)
	t.Cleanup(func() { _ = b.Close() })
	why, readOnly := b.ReadOnly()
	require.False(t, readOnly, why)
	at := day
	b.now = func() time.Time { at = at.Add(time.Second); return at }
	return b
}

// started is a new case of the book.
func started(t *testing.T, b *Book, code string) State {
	t.Helper()
	s, err := b.New(t.Context(), code)
	require.NoError(t, err)
	return s
}

// noted adds a note to a case.
func noted(t *testing.T, b *Book, id, text string) State {
	t.Helper()
	s, err := b.Change(t.Context(), id, 0, func(c *Case) error { c.AddNote(day, text); return nil })
	require.NoError(t, err)
	return s
}

// full has all parts that a case can have; its file is in the book.
func full(t *testing.T, b *Book, code string) State {
	t.Helper()
	s := started(t, b, code)
	_, _, err := b.Attach(t.Context(), s.Case.ID, File{Kind: "photograph", Name: "heel.jpg", Note: "seat"}, bytesOf("a photograph of "+code))
	require.NoError(t, err)
	s, err = b.Change(t.Context(), s.Case.ID, 0, fill)
	require.NoError(t, err)
	return s
}

func fill(c *Case) error {
	sheet, err := footwear.Demo().Find("lace-dress")
	if err != nil {
		return err
	}
	preset, err := device.FindPreset("everyday-block")
	if err != nil {
		return err
	}
	c.Feet = []Foot{FootOf("right", fit.Foot{LengthMM: 262, Sex: "man", BodyMassKG: 81})}
	shoe, err := c.AddShoe(sheet, true)
	if err != nil {
		return err
	}
	ordered, err := c.AddDevice(preset.Options, "walking", "")
	if err != nil {
		return err
	}
	changed := preset.Options
	changed.ContactAngleDeg++
	dev, err := c.AddDevice(changed, "", ordered)
	if err != nil {
		return err
	}
	c.AddResult(day, shoe, dev, &fit.Result{
		Status: fit.Converged, RideUpMM: 0.4,
		Verdict: fit.Verdict{State: fit.Snug, Sentence: "It goes in.", Limits: fit.Caution, Odds: 0.8},
	}, []byte(`{"format":"lastroom-fit"}`))
	c.AddNote(day, "Größe der Ferse: schmal")
	c.AddOutcome(day, shoe, dev, fit.Outcome{
		Case: "elsewhere", Date: "2026-03-20", Shoe: sheet.ID, Size: sheet.Size.String(), Closure: sheet.Closure, Options: changed, Program: fit.Version,
		Odds: 0.8, Happened: fit.WentIn, Places: []fit.OutcomePlace{{Feature: "wedge", Zone: "medial-wall", GapMM: 0.5, PlusMinusMM: 0.4, GiveMM: 0.5}},
	})
	return nil
}

// limitOf is what a problem says is the matter.
func limitOf(t *testing.T, err error) string {
	t.Helper()
	var p problem.Problem
	require.ErrorAs(t, err, &p)
	require.NotEmpty(t, p.Mend)
	return p.Limit
}

// sound says that the whole book is.
func requireSound(t *testing.T, b *Book) Report {
	t.Helper()
	rep, err := b.Verify(context.Background())
	require.NoError(t, err)
	require.Empty(t, rep.Problems)
	return rep
}

// mode is a file's rights.
func mode(t *testing.T, name string) os.FileMode {
	t.Helper()
	st, err := os.Stat(name)
	require.NoError(t, err)
	return st.Mode().Perm()
}
