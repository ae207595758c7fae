package sheet

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/internal/lengths"
)

// written is a sheet's PDF, its pages' text as poppler reads it, and where it lies.
type written struct {
	file  string
	pages []string
}

func poppler(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	require.NoError(t, err, "%s is of Debian's poppler-utils; make test installs it", name)
	return out
}

func writePDF(t *testing.T, c Case, paper Paper, u lengths.Unit) written {
	t.Helper()
	s, err := Of(c)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WritePDF(&b, s, paper, u))
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	text := string(poppler(t, "pdftotext", "-enc", "UTF-8", "-layout", file, "-"))
	return written{file, strings.Split(strings.TrimSuffix(text, "\f"), "\f")}
}

// page is the number of the first page with the words, from 1.
func (w written) page(t *testing.T, words string) int {
	t.Helper()
	for i, p := range w.pages {
		if strings.Contains(p, words) {
			return i + 1
		}
	}
	require.Fail(t, "no page has: "+words)
	return 0
}

const dpi = 300

// A raster is a page as it is printed, at 300 dots per inch.
type raster struct{ img *image.Gray }

func (w written) render(t *testing.T, page int) raster {
	t.Helper()
	n := fmt.Sprint(page)
	pgm := poppler(t, "pdftoppm", "-r", fmt.Sprint(dpi), "-f", n, "-l", n, "-gray", w.file)
	var wide, high, white int
	_, err := fmt.Sscanf(string(pgm[:min(len(pgm), 40)]), "P5\n%d %d\n%d\n", &wide, &high, &white)
	require.NoError(t, err)
	require.Greater(t, len(pgm), wide*high)
	return raster{&image.Gray{Pix: pgm[len(pgm)-wide*high:], Stride: wide, Rect: image.Rect(0, 0, wide, high)}}
}

func mm(px float64) float64 { return px * 25.4 / dpi }
func px(mm float64) int     { return int(math.Round(mm * dpi / 25.4)) }

// runs are the middles and lengths, in pixels, of the dark stretches along a row, or along a column when upright.
func (r raster) runs(at int, upright bool) (middles, lengths []float64) {
	end := r.img.Bounds().Dx()
	if upright {
		end = r.img.Bounds().Dy()
	}
	start := -1
	for i := range end + 1 {
		dark := false
		if i < end {
			x, y := i, at
			if upright {
				x, y = at, i
			}
			dark = r.img.Pix[y*r.img.Stride+x] < 0xa0
		}
		switch {
		case dark && start < 0:
			start = i
		case !dark && start >= 0:
			middles, lengths = append(middles, float64(start+i-1)/2), append(lengths, float64(i-start))
			start = -1
		}
	}
	return middles, lengths
}

// rulerMM finds the ruler, a line of about 100 mm, and measures between the middles of its first and its last tick.
func (r raster) rulerMM(t *testing.T, upright bool, u lengths.Unit) float64 {
	spaces, space := 10, 10.0
	if u == lengths.Inch {
		spaces, space = 16, 25.4/4
	}
	t.Helper()
	end := r.img.Bounds().Dy()
	if upright {
		end = r.img.Bounds().Dx()
	}
	for at := range end {
		_, lengths := r.runs(at, upright)
		for _, l := range lengths {
			if mm(l) < 95 || mm(l) > 105 {
				continue
			}
			ticks, _ := r.runs(at-px(1.2), upright)
			if len(ticks) <= spaces {
				continue
			}
			for i := 0; i+spaces < len(ticks); i++ { // ticks that are evenly apart
				even := true
				for k := range spaces {
					even = even && math.Abs(mm(ticks[i+k+1]-ticks[i+k])-space) < 0.3
				}
				if even {
					return mm(ticks[i+spaces] - ticks[i])
				}
			}
		}
	}
	require.Fail(t, "no ruler on the page")
	return 0
}

// The ruler is 100 mm and the base is as wide and long on paper as device.Base says, within 0.2 mm at 300 dpi, on both sides
// and both papers.
func TestTemplatesAreTrueOnPaper(t *testing.T) {
	right := device.Default()
	right.BevelMedialDeg = 5
	for _, c := range []struct {
		name  string
		c     Case
		paper Paper
		unit  lengths.Unit
		ruler float64 // mm
	}{
		{"left, changed, Letter", changed(t), Letter, lengths.MM, 100},
		{"right, as ordered, A4", Case{Date: today, Before: choice(t, right, 0)}, A4, lengths.MM, 100},
		{"right, as ordered, Letter, inches", Case{Date: today, Before: choice(t, right, 0)}, Letter, lengths.Inch, 101.6},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := writePDF(t, c.c, c.paper, c.unit)
			to := c.c.Before
			if c.c.After != nil {
				to = c.c.After
			}
			for _, title := range []string{"Base of the device at 1:1", "Section at the heel at 1:1", "Long section at 1:1"} {
				n := w.page(t, title)
				r := w.render(t, n)
				assert.InDelta(t, c.ruler, r.rulerMM(t, false, c.unit), 0.2, title)
				assert.InDelta(t, c.ruler, r.rulerMM(t, true, c.unit), 0.2, title)
				side := strings.ToUpper(to.Device.Options.Side)
				assert.Contains(t, w.pages[n-1], side)
				assert.Contains(t, w.pages[n-1], "Measure both rulers")
			}
			n := w.page(t, "Base of the device at 1:1")
			width, length := w.render(t, n).baseMM(t, to.Device)
			assert.InDelta(t, to.Device.Base.WidthMM, width, 0.2)
			assert.InDelta(t, to.Device.Base.FrontXMM-backAt(to.Device), length, 0.2)
		})
	}
}

// aside is how far beside the middle of the base's front edge its length is measured, to the right on the page, mm.
const aside = 4.0

// frontEdge are the ends of the base's front edge, Y.
func frontEdge(d *device.Device) (lo, hi float64) {
	for _, p := range d.Base.Outline {
		if math.Abs(p[0]-d.Base.FrontXMM) < 0.01 {
			lo, hi = math.Min(lo, p[1]), math.Max(hi, p[1])
		}
	}
	return lo, hi
}

// backAt is the X of the base's back edge where its length is measured.
func backAt(d *device.Device) float64 {
	lo, hi := frontEdge(d)
	y := (lo+hi)/2 - aside
	if d.Options.Side == device.Left {
		y = (lo+hi)/2 + aside
	}
	back := math.Inf(1)
	for i, a := range d.Base.Outline {
		b := d.Base.Outline[(i+1)%len(d.Base.Outline)]
		if (a[1] < y) != (b[1] < y) {
			back = math.Min(back, a[0]+(b[0]-a[0])*(y-a[1])/(b[1]-a[1]))
		}
	}
	return back
}

// baseMM measures the base's outline: its front edge is the only level line of about its length.
func (r raster) baseMM(t *testing.T, d *device.Device) (width, length float64) {
	t.Helper()
	lo, hi := frontEdge(d)
	front, middle := 0, 0.0
	for y := range r.img.Bounds().Dy() {
		m, l := r.runs(y, false)
		for i := range l {
			if math.Abs(mm(l[i])-(hi-lo)) < 1 {
				front, middle = y, m[i]
			}
		}
		if front > 0 {
			break
		}
	}
	require.Positive(t, front, "the front edge of the base")
	front += px(0.2) // the edge is 0.4 mm thick
	across, _ := r.runs(front+px(d.Base.FrontXMM-station(d)), false)
	left, right := math.Inf(-1), math.Inf(1)
	for _, x := range across { // the edges next to the middle, past the chain line there
		if off := mm(x - middle); off < -5 {
			left = math.Max(left, x)
		} else if off > 5 {
			right = math.Min(right, x)
		}
	}
	down, _ := r.runs(int(math.Round(middle))+px(aside), true)
	for _, y := range down {
		if y > float64(front)+float64(px(5)) {
			return mm(right - left), mm(y - float64(front))
		}
	}
	require.Fail(t, "no back edge")
	return 0, 0
}

// What was written comes back as UTF-8, cautions stand at the foot of each page, and every page has its number and side.
func TestThePDFReadsBack(t *testing.T) {
	w := writePDF(t, changed(t), A4, lengths.MM)
	all := strings.Join(w.pages, "\n")
	for _, words := range []string{
		"Größe-7", "± 1.5 mm", "10°", "40°", "N·mm/rad", "this side up ↑", "mm²", "← toe", "heel →", // turned over on a left device
		"What to change", "Support kept: 93 %", "Odds that nothing is blocked", "What decides:",
	} {
		assert.True(t, strings.Contains(all, words), words)
	}
	for i, p := range w.pages {
		flat := strings.Join(strings.Fields(p), " ")
		assert.Contains(t, flat, fit.Caution, "page %d", i+1)
		assert.Contains(t, flat, paperCaution, "page %d", i+1)
		assert.Contains(t, flat, fmt.Sprintf("left, page %d of %d", i+1, len(w.pages)))
	}
}

// No word lies outside the margins, and on pages of words none lies on another, also with long names.
func TestNothingIsCutOffOrCovered(t *testing.T) {
	c := changed(t)
	c.Code = strings.Repeat("K-0123456789", 3)
	c.DeviceName = strings.Repeat("a-very-long-name-of-a-file", 8) + ".json"
	for _, paper := range []Paper{A4, Letter} {
		w := writePDF(t, c, paper, lengths.MM)
		var doc struct {
			Pages []struct {
				Width  float64 `xml:"width,attr"`
				Height float64 `xml:"height,attr"`
				Words  []struct {
					XMin float64 `xml:"xMin,attr"`
					YMin float64 `xml:"yMin,attr"`
					XMax float64 `xml:"xMax,attr"`
					YMax float64 `xml:"yMax,attr"`
					Text string  `xml:",chardata"`
				} `xml:"word"`
			} `xml:"body>doc>page"`
		}
		require.NoError(t, xml.Unmarshal(poppler(t, "pdftotext", "-bbox", w.file, "-"), &doc))
		require.Len(t, doc.Pages, len(w.pages))
		const marginPt, slackPt = 13 * 72 / 25.4, 0.4
		for n, page := range doc.Pages {
			words := page.Words
			for i, a := range words {
				inside := a.XMin > marginPt && a.XMax < page.Width-marginPt+8*slackPt && a.YMin > marginPt-8*slackPt && a.YMax < page.Height-25
				assert.True(t, inside, "page %d: %q at %.0f to %.0f, %.0f", n+1, a.Text, a.XMin, a.XMax, a.YMax)
				if strings.Contains(w.pages[n], "In the shoe.") || strings.Contains(w.pages[n], "at 1:1") {
					continue
				}
				for _, b := range words[i+1:] {
					over := math.Min(a.XMax, b.XMax)-math.Max(a.XMin, b.XMin) > slackPt && math.Min(a.YMax, b.YMax)-math.Max(a.YMin, b.YMin) > 3*slackPt
					assert.False(t, over, "page %d: %q lies on %q", n+1, a.Text, b.Text)
				}
			}
		}
	}
}

// In inches no length on paper is told in mm, and each is that of the sheet in mm.
func TestASheetInInches(t *testing.T) {
	inMM := regexp.MustCompile(`\d ?mm[²³]?($|[^/·\w])|, mm\b`)
	for _, p := range writePDF(t, changed(t), A4, lengths.Inch).pages {
		assert.Empty(t, inMM.FindAllString(p, -1))
		assert.NotContains(t, p, "mm from")
	}
	s, err := Of(changed(t))
	require.NoError(t, err)
	var in, mm bytes.Buffer
	require.NoError(t, WriteText(&in, s, lengths.Inch))
	require.NoError(t, WriteText(&mm, s, lengths.MM))
	assert.Empty(t, inMM.FindAllString(in.String(), -1))
	depth := s.Device.Options.CupDepthMM
	assert.Regexp(t, fmt.Sprintf(`Cup depth +%.0f mm`, depth), mm.String())
	assert.Regexp(t, fmt.Sprintf(`Cup depth +%.3f in`, depth/25.4), in.String())

	// What stands bare under a unit, the band too, is in that unit.
	numbers := regexp.MustCompile(`-?\d+(\.\d+)?`)
	bands := 0
	for i, row := range s.supportRows(lengths.Inch) {
		times := map[string]float64{"mm": 25.4, "mm²": 25.4 * 25.4}[s.Support[i].Unit]
		if times == 0 {
			times = 1
		}
		was := s.supportRows(lengths.MM)[i]
		assert.Equal(t, times > 1, strings.HasSuffix(row[0], ", in") || strings.HasSuffix(row[0], ", in²"), row[0])
		for k := 1; k < len(row)-1; k++ {
			in, mm := numbers.FindAllString(row[k], -1), numbers.FindAllString(was[k], -1)
			require.Len(t, in, len(mm), row[0])
			for j := range in {
				var a, b float64
				_, err := fmt.Sscan(in[j]+" "+mm[j], &a, &b)
				require.NoError(t, err)
				assert.InDelta(t, b, a*times, 0.0005*times+1e-9, "%s: %s", row[0], row[k])
			}
			if k == len(row)-2 && len(in) == 2 && times > 1 {
				bands++
			}
		}
	}
	assert.Positive(t, bands)
}
