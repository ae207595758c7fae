package mesh

import (
	"math"
	"math/bits"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"
)

// A vertexTable finds vertices by a key made of their coordinates. It holds a number a slot and is at most half full; a
// Go map of the same keys takes six times the memory. The places of its slots differ from run to run, so that no file
// can be made to fill the same ones; what it finds does not.
type vertexTable struct {
	key  func(r3.Vec) [3]uint64
	slot []int32 // 1 + vertex, 0 when empty
	used int
}

func newVertexTable(vertices int, key func(r3.Vec) [3]uint64) *vertexTable {
	return &vertexTable{key: key, slot: make([]int32, 1<<bits.Len(uint(2*vertices|15)))}
}

var tableSeed = [2]uint64{rand.Uint64() | 1, rand.Uint64() | 1}

// find is the slot of the vertex among v with a key, or the empty one where it belongs.
func (t *vertexTable) find(v []r3.Vec, key [3]uint64) *int32 {
	hi, lo := bits.Mul64(key[0]^tableSeed[0], key[1]^tableSeed[1])
	hi, lo = bits.Mul64(hi^lo^tableSeed[0], key[2]^tableSeed[1])
	hi, lo = bits.Mul64(hi^lo, tableSeed[0])
	for i, mask := hi^lo, uint64(len(t.slot)-1); ; i++ {
		if s := &t.slot[i&mask]; *s == 0 || t.key(v[*s-1]) == key {
			return s
		}
	}
}

// put fills a slot that find gave with vertex i, which must be among v by the time of the next call.
func (t *vertexTable) put(s *int32, i int32) {
	if *s == 0 {
		t.used++
	}
	*s = i + 1
}

// grow makes room for one more.
func (t *vertexTable) grow(v []r3.Vec) {
	if 2*(t.used+1) <= len(t.slot) {
		return
	}
	old := t.slot
	t.slot = make([]int32, 2*len(old))
	for _, s := range old {
		if s != 0 {
			*t.find(v, t.key(v[s-1])) = s
		}
	}
}

// byPlace is the key of equal coordinates. Adding 0 makes -0 a plain 0.
func byPlace(p r3.Vec) [3]uint64 {
	return [3]uint64{math.Float64bits(p.X + 0), math.Float64bits(p.Y + 0), math.Float64bits(p.Z + 0)}
}
