package console

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

const (
	mostPoints   = 5_000_000
	longestLine  = 4096
	farthestAway = 1e6 // mm, the same as for meshes
)

func runDistance(c *call) error {
	var roomFile, pointsFile string
	c.flags.StringVar(&roomFile, "room", "", "")
	c.flags.StringVar(&pointsFile, "points", "", "")
	if err := c.parseFlags(); err != nil {
		return err
	}
	room, notes, err := readSTL(roomFile, "--room")
	if err != nil {
		return err
	}
	f, err := open(pointsFile, "--points")
	if err != nil {
		return err
	}
	defer f.Close()
	points, err := readPoints(f, pointsFile)
	if err != nil {
		return err
	}
	for _, n := range notes {
		fmt.Fprintln(c.errOut, "note:", n)
	}
	t := surfaceTree(room)
	if t.Sign() != mesh.SignByNormals {
		fmt.Fprintf(c.errOut, "note: %s crosses itself or has doubtful edges; there the sign comes from the winding number\n", roomFile)
	}
	w := bufio.NewWriter(c.out)
	fmt.Fprintln(w, "x_mm,y_mm,z_mm,signed_distance_mm,nearest_x_mm,nearest_y_mm,nearest_z_mm")
	hint := int32(-1)
	for i, p := range points {
		if i%4096 == 0 && c.ctx.Err() != nil {
			return c.ctx.Err()
		}
		h := t.NearestFrom(p, hint)
		hint = h.Face
		for k, v := range [7]float64{p.X, p.Y, p.Z, h.Signed, h.Point.X, h.Point.Y, h.Point.Z} {
			if k > 0 {
				w.WriteByte(',')
			}
			w.WriteString(strconv.FormatFloat(v, 'g', -1, 64))
		}
		w.WriteByte('\n')
	}
	return w.Flush()
}

// surfaceTree is the tree of a room from a file. A closed one is looked through for faces that touch others, as in noisy
// scans, and gets its signs from the winding number there. An open one has no winding number to go by near its opening:
// its signs come from the normals.
func surfaceTree(room *mesh.Mesh) *mesh.Tree {
	if room.Closed() == nil {
		return mesh.NewScanTree(room)
	}
	return mesh.NewTree(room)
}

// readPoints reads x,y,z a line, separated by commas, semicolons or blanks. A first line of words and lines that are
// empty or start with # are passed over.
func readPoints(r io.Reader, name string) ([]r3.Vec, error) {
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 0, longestLine), longestLine)
	var out []r3.Vec
	for line, first := 1, true; s.Scan(); line++ {
		b := bytes.TrimSpace(bytes.TrimPrefix(s.Bytes(), []byte("\ufeff")))
		if len(b) == 0 || b[0] == '#' {
			continue
		}
		n, err := numbers(string(b), 3)
		if err != nil {
			if first && headerLike(string(b)) {
				first = false
				continue
			}
			return nil, problem.Problem{File: name, Field: fmt.Sprintf("line %d", line), Value: clipped(string(b)), Limit: err.Error(), Mend: "write x,y,z in millimetres, a point a line"}
		}
		first = false
		if len(out) == mostPoints {
			return nil, problem.Problem{File: name, Field: "points", Limit: fmt.Sprintf("at most %d", mostPoints), Mend: "split the file"}
		}
		out = append(out, r3.Vec{X: n[0], Y: n[1], Z: n[2]})
	}
	if err := s.Err(); err != nil {
		if errors.Is(err, bufio.ErrTooLong) {
			return nil, problem.Problem{File: name, Field: "line length", Limit: fmt.Sprintf("at most %d characters", longestLine), Mend: "write x,y,z in millimetres, a point a line"}
		}
		return nil, problem.Problem{File: name, Limit: err.Error(), Mend: "read it again"}
	}
	if len(out) == 0 {
		return nil, problem.Problem{File: name, Field: "points", Limit: "at least one", Mend: "write x,y,z in millimetres, a point a line"}
	}
	return out, nil
}

// headerLike says that a line names columns: no part of it is a number.
func headerLike(line string) bool {
	for _, p := range parts(line) {
		if _, err := strconv.ParseFloat(p, 64); err == nil {
			return false
		}
	}
	return true
}

func parts(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' || r == ' ' || r == '\t' })
}

// numbers reads exactly n finite numbers.
func numbers(s string, n int) ([]float64, error) {
	p := parts(s)
	if len(p) != n {
		return nil, fmt.Errorf("%d numbers are needed, %d found", n, len(p))
	}
	out := make([]float64, n)
	for i, t := range p {
		v, err := strconv.ParseFloat(t, 64)
		if err != nil {
			return nil, fmt.Errorf("%q is no number", clipped(t))
		}
		if math.IsNaN(v) || math.Abs(v) > farthestAway {
			return nil, fmt.Errorf("%q is not within ±%g mm", clipped(t), farthestAway)
		}
		out[i] = v
	}
	return out, nil
}

func clipped(s string) string {
	if len(s) > 60 {
		return s[:60] + "…"
	}
	return s
}
