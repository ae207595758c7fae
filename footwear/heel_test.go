package footwear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A seat hollowed by 5 mm over 60 mm is part of a circle of radius 92.5, one hollowed by 2 mm of radius 226:
// R = w²/8s + s/2 (arithmetic).
func TestCupRadius(t *testing.T) {
	assert.InDelta(t, 92.5, cupRadius(5), 1e-9)
	assert.InDelta(t, 226, cupRadius(2), 1e-9)
	assert.InDelta(t, 5, hollow(30, cupRadius(5)), 1e-9)
	assert.Zero(t, hollow(30, cupRadius(0)))
	// The same circle's fact for a shank: a chord of 120 with a sagitta of 6 has the radius 303 (arithmetic).
	assert.InDelta(t, 6, hollow(60, 303), 1e-9)
	arc := []point2{{-60, hollow(60, 303)}, {-20, hollow(20, 303)}, {10, hollow(10, 303)}, {60, hollow(60, 303)}}
	k, ok := fitCircle(arc)
	assert.True(t, ok)
	assert.InDelta(t, 303, k.radius, 1e-6)
}

// A flat seat W wide between upright walls with a feather line r is flat over W − 2r, and a sharp edge half a width b
// from the middle rides up by r − √(r² − (b−f)²) with f = W/2 − r (arithmetic): W 64, r 12, b 26 → 1.607695;
// r 8 → 0.254033; W 66, r 15, b 28 → 3.819660.
func TestFilletOfAnUprightWall(t *testing.T) {
	for _, c := range []struct{ w, r, b, up float64 }{{64, 12, 26, 1.607695}, {64, 8, 26, 0.254033}, {66, 15, 28, 3.819660}} {
		f := newFillet(func(float64) float64 { return 0 }, func(h float64) point2 { return point2{c.w / 2, h} }, 0, c.r)
		assert.InDelta(t, c.w/2-c.r, f.foot, 1e-7)
		assert.InDelta(t, c.r, f.head, 1e-7)
		assert.InDelta(t, math.Pi/2, f.turn, 1e-7)
		up := f.centre.z - math.Sqrt(c.r*c.r-(c.b-f.centre.r)*(c.b-f.centre.r))
		assert.InDelta(t, c.up, up, 1e-6)
	}
}

// Whatever the floor's hollow and the wall's lean, the arc touches both: its ends lie on them, and its centre stands off
// by the radius at right angles.
func TestFilletTouchesBoth(t *testing.T) {
	for _, cup := range []float64{0, 2, 5} {
		for _, lean := range []float64{-0.2, 0, 0.1, 0.3} {
			for _, r := range []float64{2, 6, 12, 18} {
				floor := func(x float64) float64 { return hollow(x, cupRadius(cup)) }
				wall := func(h float64) point2 { return point2{32 + lean*h, h} }
				f := newFillet(floor, wall, 0, r)
				a, b := f.at(0), f.at(1)
				assert.InDelta(t, floor(f.foot), a.z, 1e-6)
				assert.InDelta(t, wall(f.head).r, b.r, 1e-6)
				assert.InDelta(t, wall(f.head).z, b.z, 1e-6)
				slope := (floor(f.foot+1e-4) - floor(f.foot-1e-4)) / 2e-4
				assert.InDelta(t, 0, (a.r-f.centre.r)+slope*(a.z-f.centre.z), 1e-5)
				assert.InDelta(t, 0, lean*(b.r-f.centre.r)+(b.z-f.centre.z), 1e-5)
			}
		}
	}
}

// The wall at the widest place of the heel goes through the widths of the sheet, and its slope has no jump but where
// the measures contradict each other.
func TestHeelWalls(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			top := s.V(ToplineBack)
			w := newHeelWall(&s, top)
			assert.InDelta(t, s.V(SeatWidth)/2, w.foot, 1e-9, "the line starts at the seat's edge")
			assert.InDelta(t, s.V(CounterWidth20)/2, w.half(20), 1e-9)
			assert.InDelta(t, s.V(CounterWidth40)/2, w.half(40), 1e-9)
			assert.InDelta(t, s.V(CounterWidthTop)/2, w.half(top), 1e-9)
			for h := 0.5; h < top+20; h += 0.25 {
				const d = 1e-5
				before, after := (w.half(h)-w.half(h-d))/d, (w.half(h+d)-w.half(h))/d
				assert.InDelta(t, before, after, 1e-3, "slope at %.2f mm", h)
			}
		})
	}
}

// The back wall is most prominent at two fifths of its height (read in a last maker's text), stands as far in front of
// that as measured at seat and topline, and has no kink.
func TestBackCurve(t *testing.T) {
	for _, s := range Demo().All() {
		t.Run(s.ID, func(t *testing.T) {
			top := s.V(ToplineBack)
			b := newBackCurve(&s, top)
			assert.InDelta(t, s.V(BackCurveSeat), b.inFront(0), 1e-9)
			assert.InDelta(t, s.V(BackCurveTop), b.inFront(top), 1e-9)
			assert.InDelta(t, 0, b.inFront(b.rearmost), 1e-12)
			if !s.boot() {
				assert.InDelta(t, 0.4*top, b.rearmost, 1e-9)
			}
			for h := 0.0; h < top-0.1; h += 0.1 {
				assert.GreaterOrEqual(t, b.inFront(h), 0.0)
				before, after := b.inFront(h)-b.inFront(h-1e-5), b.inFront(h+1e-5)-b.inFront(h)
				assert.InDelta(t, before, after, 1e-7, "slope at %.2f mm", h)
			}
		})
	}
}
