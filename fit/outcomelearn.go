package fit

import (
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"lastroom/footwear"
)

// A GiveFactor is what outcomes taught about the give of one kind of wall in shoes of one closure: the give of the sheet is
// multiplied by Factor.
type GiveFactor struct {
	Wall, Closure string
	Factor        float64 // posterior mean
	Lo, Hi        float64 // 90 % interval
	Outcomes      int     // that had a say
}

// Gives are what was learnt, by wall and closure. The zero value changes nothing.
type Gives struct{ Factors []GiveFactor }

// How much the give may differ from the sheet's before any outcome: the logarithm of the factor is normal about zero with
// this standard deviation, so that two thirds lie between 0.6 and 1.65. From memory, wide on purpose.
const giveSpread = 0.5

// LearnGives re-estimates the give of each kind of wall and closure from outcomes, by Bayes' rule on a grid of factors f. A
// place with calculated gap g ± σ and give G is good with the probability Φ((g + f·G)/σ), as a finding's odds. Of a device
// that went in every place was good; of one that rubbed or was ground, the place named was not, and of the others nothing is
// known; one sent back says nothing of any one place. The prior is log-normal (giveSpread). Places of one outcome are taken as
// independent. Without outcomes nothing is learnt, and nothing changes.
func LearnGives(list []Outcome) Gives {
	type key struct{ wall, closure string }
	const steps = 161
	grid := make([]float64, steps)
	for i := range grid {
		grid[i] = -4*giveSpread + 8*giveSpread*float64(i)/(steps-1)
	}
	log := map[key][]float64{}
	count := map[key]int{}
	for i := range list {
		o := &list[i]
		had := map[key]bool{}
		for _, p := range o.Places {
			k := key{wallKind(p.Zone), o.Closure}
			if k.wall == "" || p.GiveMM == 0 || p.PlusMinusMM == 0 {
				continue
			}
			here := p.Zone == o.Zone && p.Feature == o.Feature
			bad := (o.Happened == Rubbed || o.Happened == Ground) && here
			if !bad && o.Happened != WentIn {
				continue
			}
			if log[k] == nil {
				log[k] = make([]float64, steps)
			}
			for s, theta := range grid {
				good := distuv.UnitNormal.CDF((p.GapMM + math.Exp(theta)*p.GiveMM) / p.PlusMinusMM)
				if bad {
					good = 1 - good
				}
				log[k][s] += math.Log(math.Max(good, 1e-12))
			}
			had[k] = true
		}
		for k := range had {
			count[k]++
		}
	}
	var out Gives
	for k, l := range log {
		weight := make([]float64, steps)
		most := math.Inf(-1)
		for s, theta := range grid {
			l[s] -= theta * theta / (2 * giveSpread * giveSpread)
			most = math.Max(most, l[s])
		}
		whole, mean := 0.0, 0.0
		for s, theta := range grid {
			weight[s] = math.Exp(l[s] - most)
			whole += weight[s]
			mean += weight[s] * math.Exp(theta)
		}
		quantile := func(q float64) float64 {
			sum := 0.0
			for s := range weight {
				if sum += weight[s]; sum >= q*whole {
					return math.Exp(grid[s])
				}
			}
			return math.Exp(grid[steps-1])
		}
		out.Factors = append(out.Factors, GiveFactor{k.wall, k.closure, mean / whole, quantile(0.05), quantile(0.95), count[k]})
	}
	slices.SortFunc(out.Factors, func(a, b GiveFactor) int {
		if d := strings.Compare(a.Wall, b.Wall); d != 0 {
			return d
		}
		return strings.Compare(a.Closure, b.Closure)
	})
	return out
}

// factor is what the give of a zone is multiplied by.
func (g *Gives) factor(z footwear.Zone, closure string) float64 {
	if len(g.Factors) == 0 {
		return 1
	}
	wall := wallKind(z.String())
	for _, f := range g.Factors {
		if f.Wall == wall && f.Closure == closure {
			return f.Factor
		}
	}
	return 1
}

// WithGives is the same bench with gives as learnt: what a wall yields without harm, and how stiff it is. To take it back, use
// the bench that it came from. The two share all else that is heavy.
func (b *Bench) WithGives(g Gives) *Bench {
	c := *b
	c.gives = g
	if len(g.Factors) > 0 {
		c.stiffness = c.foundations(c.Room)
		c.varied = &variationCache{}
	}
	return &c
}

// giveMM is the give of a zone, as learnt.
func (b *Bench) giveMM(room *footwear.Room, z footwear.Zone) float64 {
	return room.GiveMM(z) * b.gives.factor(z, room.Sheet.Closure)
}
