package fit

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync"

	"lastroom/device"
	"lastroom/footwear"
)

// A sharing keeps what several pairs have in common while they are seated: a room is made ready once, however many devices are
// tried in it, and a device once, however many rooms it is tried in. Few are kept at a time, so that memory does not grow with
// the number of pairs.
type sharing struct {
	pairs  []Pair
	draft  bool
	roomOf []int // of each pair
	rooms  int

	mu      sync.Mutex
	benches kept[int, *Bench]
	probes  kept[*device.Device, *probe]
}

// A roomKey tells one room from another: by all that its sheet says, written out, so that nothing a sheet may get later is forgotten.
type roomKey struct {
	scan  *footwear.Room
	out   bool
	sheet string
}

func (p *Pair) roomKey() roomKey { return roomKey{p.Room, p.InsoleOut, fmt.Sprintf("%#v", p.Shoe)} }

func share(pairs []Pair, draft bool) *sharing {
	s := &sharing{pairs: pairs, draft: draft, roomOf: make([]int, len(pairs))}
	known := map[roomKey]int{}
	of := make([]int, 0, len(pairs)) // pairs that each room still has
	for i := range pairs {
		k := pairs[i].roomKey()
		n, ok := known[k]
		if !ok {
			n = len(of)
			known[k] = n
			of = append(of, 0)
		}
		s.roomOf[i] = n
		of[n]++
		s.probes.wanted(pairs[i].Device)
		s.benches.wanted(n)
	}
	s.rooms = len(of)
	return s
}

// byRoom is the order in which the pairs of a room come together. As many rooms as there are cores take turns, so that none
// waits for another's room.
func (s *sharing) byRoom() []int {
	in := make([][]int, s.rooms)
	for i, r := range s.roomOf {
		in[r] = append(in[r], i)
	}
	var out []int
	for cores := runtime.GOMAXPROCS(0); len(in) > 0; in = in[min(cores, len(in)):] {
		turn := in[:min(cores, len(in))]
		for n := 0; ; n++ {
			before := len(out)
			for _, of := range turn {
				if n < len(of) {
					out = append(out, of[n])
				}
			}
			if len(out) == before {
				break
			}
		}
	}
	return out
}

// take is the room and the device of pair i, made ready.
func (s *sharing) take(ctx context.Context, i int) (*Bench, *probe, error) {
	b, err := s.benches.get(&s.mu, s.roomOf[i], func() (*Bench, error) { return s.pairs[i].bench(ctx, s.draft) })
	if err != nil {
		return nil, nil, err
	}
	p, err := s.probes.get(&s.mu, s.pairs[i].Device, func() (*probe, error) {
		p := newProbe(s.pairs[i].Device)
		if s.draft {
			p = p.draft()
		}
		return p, nil
	})
	return b, p, err
}

// give says that pair i is done with.
func (s *sharing) give(i int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.benches.done(s.roomOf[i])
	s.probes.done(s.pairs[i].Device)
}

// mostKept is how many rooms, and how many devices, are kept at a time.
const mostKept = 16

// A kept holds what is made once and wanted several times.
type kept[K comparable, V any] struct {
	want map[K]int // so many times yet
	made map[K]*once[V]
	age  []K // of what is made, oldest first
}

// A once is what the first that asks makes, and the others wait for.
type once[V any] struct {
	sync.Once
	v   V
	err error
}

func (k *kept[K, V]) wanted(key K) {
	if k.want == nil {
		k.want, k.made = map[K]int{}, map[K]*once[V]{}
	}
	k.want[key]++
}

func (k *kept[K, V]) get(mu *sync.Mutex, key K, build func() (V, error)) (V, error) {
	mu.Lock()
	o := k.made[key]
	if o == nil {
		if len(k.age) == mostKept {
			k.drop(k.age[0])
		}
		o = &once[V]{}
		k.made[key], k.age = o, append(k.age, key)
	}
	mu.Unlock()
	o.Do(func() { o.v, o.err = build() })
	return o.v, o.err
}

// done drops what is wanted no more.
func (k *kept[K, V]) done(key K) {
	if k.want[key]--; k.want[key] == 0 {
		k.drop(key)
	}
}

func (k *kept[K, V]) drop(key K) {
	delete(k.made, key)
	k.age = slices.DeleteFunc(k.age, func(o K) bool { return o == key })
}
