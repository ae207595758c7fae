package footwear

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/assets"
)

// Every shoe on the shelf is valid, lies within the usual bands or says why not, has no idle reason, and stays valid
// three whole sizes up and down by half sizes.
func TestDemoShoes(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			assert.Empty(t, s.Validate())
			unusual := map[string]bool{}
			for _, n := range s.BandNotes() {
				unusual[n.ID.String()] = true
				assert.NotEmpty(t, n.Reason, n.String())
			}
			for key := range s.Reasons {
				assert.True(t, unusual[key], "%s lies within the band: the reason is idle", key)
			}
			assert.NotEmpty(t, s.Note)
			for step := -3.0; step <= 3; step += 0.5 {
				for _, geometric := range []bool{false, true} {
					to := s.Size
					to.Value += step
					g, err := s.Graded(to, GradeOptions{Geometric: geometric})
					require.NoError(t, err)
					assert.Empty(t, g.Validate())
				}
			}
		})
	}
}

// The shoes that a consulting room meets, and a file each that bears the shoe's identifier.
func TestDemoShelfIsComplete(t *testing.T) {
	want := []string{
		"knit-trainer", "leather-trainer", "running-shoe", "court-45", "ballet-flat", "lace-dress", "slip-on-dress",
		"studded-soft", "studded-firm", "indoor-court", "hiking-boot", "safety-boot", "work-clog", "school-shoe",
		"toddler-shoe", "extra-depth", "rocker-shoe", "cycling-shoe", "ankle-boot",
	}
	var ids []string
	for _, s := range Demo().All() {
		ids = append(ids, s.ID)
	}
	assert.ElementsMatch(t, want, ids)
	files, err := assets.Shoes.ReadDir("shoes")
	require.NoError(t, err)
	for _, f := range files {
		_, err := Demo().Find(strings.TrimSuffix(f.Name(), ".json"))
		assert.NoError(t, err)
	}
	assert.Len(t, files, len(want))
}

// What sets the shoes apart in a consulting room holds on the shelf (common practice, no source, where none is named).
func TestDemoShoesDifferAsShoesDo(t *testing.T) {
	v := func(id string, m MeasureID) float64 {
		s := shoe(t, id)
		return s.V(m)
	}
	for _, id := range []string{"studded-soft", "studded-firm"} {
		assert.Less(t, v(id, SeatWidth), v("leather-trainer", SeatWidth)-3, "a studded boot is tight at the heel")
		assert.Less(t, v(id, CounterWidth40), v("leather-trainer", CounterWidth40)-4)
		assert.GreaterOrEqual(t, v(id, FeatherHeel), 12.0, "a round seat: 12 to 18 mm (from memory)")
	}
	assert.Greater(t, v("extra-depth", DepthToe), v("lace-dress", DepthToe)+8)
	assert.Greater(t, v("rocker-shoe", ToeSpring), v("leather-trainer", ToeSpring))
	assert.Less(t, v("safety-boot", GiveVamp), v("knit-trainer", GiveVamp), "a cap does not give")
	assert.Equal(t, 45.0, v("court-45", HeelRise))
	assert.Greater(t, v("hiking-boot", ToplineLateral), 72.9+2*5.7, "over the outer ankle bone (ANSUR II 2012, men 72.9 ± 5.7, read)")
	// Inside widths of men's athletic shoes at US 9, on a last of 279.4 mm: heel and arch 65 to 75, forefoot about 94 (read).
	for _, id := range []string{"knit-trainer", "leather-trainer", "running-shoe", "indoor-court"} {
		for _, m := range []MeasureID{CounterWidth20, WaistWidth} {
			assert.GreaterOrEqual(t, v(id, m), 65.0, "%s %s", id, m)
			assert.LessOrEqual(t, v(id, m), 75.0, "%s %s", id, m)
		}
		assert.InDelta(t, 94, v(id, BallWidth), 6, id)
	}
	for _, s := range Demo().All() {
		assert.InDelta(t, 0.68, s.V(SeatWidth)/s.V(BallWidth), 0.06, "%s: seat to ball width about 0.68 (Golding 1902, read)", s.ID)
	}
}

func TestFind(t *testing.T) {
	s, err := Demo().Find("court-45")
	require.NoError(t, err)
	assert.Equal(t, "court-45", s.ID)
	_, err = Demo().Find("runing-shoe")
	assert.ErrorContains(t, err, "did you mean running-shoe")
	for _, id := range []string{"", "  ", "qqqqqqq", strings.Repeat("x", 5000)} {
		_, err = Demo().Find(id)
		require.Error(t, err)
		assert.Contains(t, err.Error(), "not among the 19 shoes")
		assert.Less(t, len(err.Error()), 300)
	}
}

func TestNewCatalogRefuses(t *testing.T) {
	a := shoe(t, "court-45")
	_, err := NewCatalog([]Sheet{a, a})
	assert.ErrorContains(t, err, "stands twice")
	_, err = NewCatalog([]Sheet{a, {ID: "broken"}})
	assert.ErrorContains(t, err, "broken: ")
	var empty Catalog
	assert.Empty(t, empty.All())
	assert.Empty(t, empty.Search("boot"))
}

func TestReadCatalogNamesTheFile(t *testing.T) {
	_, err := readCatalog(fstest.MapFS{"shoes/a.json": {Data: []byte("{}")}}, "shoes")
	assert.ErrorContains(t, err, "shoes/a.json")
}
