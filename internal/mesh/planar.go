package mesh

import (
	"math"
	"slices"
)

// ConvexHull2 is the convex hull of points in the plane, counterclockwise, starting with the leftmost (the lowest of
// those on a tie), without points in the middle of a side (Andrew's monotone chain, 1979). Fewer than three distinct
// points, or points on one line, give the one or two extreme points. The input is left as it was.
func ConvexHull2(p [][2]float64) [][2]float64 {
	q := slices.Clone(p)
	slices.SortFunc(q, func(a, b [2]float64) int { return slices.Compare(a[:], b[:]) })
	q = slices.Compact(q)
	if len(q) < 3 {
		return q
	}
	hull := make([][2]float64, 0, len(q)+1)
	push := func(c [2]float64, keep int) {
		for len(hull) >= keep+2 && turn(hull[len(hull)-2], hull[len(hull)-1], c) <= 0 {
			hull = hull[:len(hull)-1]
		}
		hull = append(hull, c)
	}
	for _, c := range q {
		push(c, 0)
	}
	lower := len(hull) - 1
	for i := len(q) - 2; i >= 0; i-- {
		push(q[i], lower)
	}
	return hull[:len(hull)-1]
}

// turn is positive when a, b, c turn left.
func turn(a, b, c [2]float64) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// Perimeter2 is the length of the closed polygon through p; the length there and back for two points.
func Perimeter2(p [][2]float64) float64 {
	var sum float64
	for i := range p {
		q := p[(i+1)%len(p)]
		sum += math.Hypot(q[0]-p[i][0], q[1]-p[i][1])
	}
	return sum
}
