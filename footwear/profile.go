package footwear

import "math"

// A form is the room's shape as formulas: every half profile of it can be drawn.
type form struct {
	sheet  *Sheet
	bottom bottomProfile
	*outline
	*upper
	medialHeel, lateralHeel heelWall
	back                    backCurve
	cup                     float64 // radius of the hollow seat
	insoleIn                bool
}

// newForm solves the shape; errors are problems of the sheet.
func newForm(s *Sheet, insoleIn bool) (*form, error) {
	f := &form{sheet: s, insoleIn: insoleIn, cup: cupRadius(s.V(SeatCupping))}
	var err error
	if f.bottom, err = newBottomProfile(s); err != nil {
		return nil, err
	}
	f.outline = newOutline(s)
	backTop := s.V(ToplineBack) - f.bottom.z(s.V(BackCurveTop))
	f.back = newBackCurve(s, backTop)
	if f.upper, err = newUpper(s, f.outline, backTop); err != nil {
		return nil, err
	}
	f.medialHeel = newHeelWall(s, f.topline(f.heel, true))
	f.lateralHeel = newHeelWall(s, f.topline(f.heel, false))
	return f, f.solveGirths()
}

// insole is the thickness of the shoe's own insole at X when it is in: even from heel to tread line, constant beyond.
func (f *form) insole(x float64) float64 {
	if !f.insoleIn {
		return 0
	}
	t := math.Min(math.Max((x-f.heel)/(f.tread-f.heel), 0), 1)
	return mix(f.sheet.V(InsoleHeel), f.sheet.V(InsoleForefoot), t)
}

// feather is the radius of the feather line at X. An insole that lies in it takes its thickness off, down to 1.5 mm.
func (f *form) feather(x float64) float64 {
	r := mix(f.sheet.V(FeatherHeel), f.sheet.V(FeatherForefoot), smoothStep(x, f.heel, f.tread))
	if f.insoleIn {
		r = math.Max(r-f.insole(x), math.Min(r, 1.5))
	}
	return r
}

// floorH is the height of the floor over the board at X, at a distance from the spine: insole and hollow. The hollow
// fades from the breast to the tread line.
func (f *form) floorH(x, off float64) float64 {
	return f.insole(x) + hollow(off, f.cup)*(1-smoothStep(x, math.Max(f.bottom.breast, f.heel), f.tread))
}

// archHalf is the half width of the arch at X at a height over the board: below its widest place a parabola, above it
// the superellipse of the upper.
func (f *form) archHalf(x, h float64) float64 {
	s := f.shoulder.Predict(x)
	wide := f.width.Predict(x)
	if h < s {
		t := 1 - h/s
		return wide - underShare*s*t*t
	}
	return wide * arch((h-s)/(f.cone.Predict(x)-s), f.fullness.Predict(x))
}

// reach is how far from the spine the wall of a ray stands at a height over the board.
func (f *form) reach(y ray, h float64) float64 { return f.reachWith(y, h, (*heelWall).half) }

// reachWith is reach with another reading of the counter's wall than its half width.
func (f *form) reachWith(y ray, h float64, half func(*heelWall, float64) float64) float64 {
	heel := &f.lateralHeel
	if y.dy > 0 {
		heel = &f.medialHeel
	}
	switch y.fan {
	case heelFan:
		return superellipse(f.heel-f.back.inFront(h), half(heel, h), heelExponent, y.dx, y.dy)
	case toeFan:
		s := f.toeShoulder(y)
		t := math.Max(1-h/s, 0)
		in := underShare * s * t * t
		return superellipse(f.last-f.tread-in, f.width.Predict(f.tread)-in, f.toeExponent, y.dx, y.dy)
	}
	b := smoothStep(y.x0, f.heel, f.waist)
	switch {
	case b == 0:
		return half(heel, h)
	case b == 1:
		return f.archHalf(y.x0, h)
	}
	return mix(half(heel, h), f.archHalf(y.x0, h), b)
}

// toeShoulder is the height of the widest place on a ray of the toe fan.
func (f *form) toeShoulder(y ray) float64 {
	out := superellipse(f.last-f.tread, f.width.Predict(f.tread), f.toeExponent, y.dx, y.dy)
	return f.shoulder.Predict(f.tread + out*y.dx)
}

// A half is a half profile: from the spine over floor, feather line and wall to the edge, then over the lid or roof to
// the line above the spine.
type half struct {
	f       *form
	ray     ray
	fillet  fillet
	shift   float64 // from the wall to the end of the arc; it fades out upward
	edge    float64 // height over the board where the wall ends
	power   float64 // exponent of lid or roof
	from    float64 // its angle at the edge, 0 when the arch begins there, radians
	edgeOut float64 // distance from the spine at the edge
}

// newHalf draws the half profile over a ray; power 0 takes the fullness of the form.
func (f *form) newHalf(y ray) half {
	p := half{f: f, ray: y}
	floor := func(r float64) float64 {
		x := y.x0 + r*y.dx
		return f.bottom.z(x) + f.floorH(x, r*y.dy)
	}
	// The radius belongs to the place of the corner, which in a fan lies away from the ray's start.
	xCorner := y.x0 + f.reach(y, f.insole(y.x0))*y.dx
	radius := f.feather(xCorner)
	corner := p.wall
	if !f.insoleIn {
		// On the bare board the arc ends on the tangent from which the wall starts.
		corner = func(h float64) point2 { return p.onWall(h, f.reachWith(y, h, (*heelWall).tangent)) }
	}
	p.fillet = newFillet(floor, corner, f.insole(xCorner), radius)
	p.shift = p.fillet.at(1).r - f.reach(y, p.fillet.head)
	medial := y.dy > 0
	switch y.fan {
	case heelFan:
		p.edge = f.topline(f.heel+(f.heel-f.sheet.V(BackCurveTop))*y.dx, medial)
		p.power = f.fullness.Predict(f.heel)
	case toeFan:
		p.edge = f.toeShoulder(y)
		p.power = mix(f.fullness.Predict(f.tread), f.toeFull, y.dx*y.dx)
	default:
		p.edge = f.upper.edge(f.outline, y.x0, medial)
		p.power = f.fullness.Predict(y.x0)
		s := f.shoulder.Predict(y.x0)
		if rise := (p.edge - s) / (f.cone.Predict(y.x0) - s); rise > 0 {
			p.from = math.Asin(math.Pow(math.Min(rise, 1), p.power/2))
		}
	}
	p.edgeOut = f.reach(y, p.edge)
	return p
}

// wall is the point of the form's wall at a height over the board.
func (p *half) wall(h float64) point2 { return p.onWall(h, p.f.reach(p.ray, h)) }

func (p *half) onWall(h, r float64) point2 {
	return point2{r, p.f.bottom.z(p.ray.x0+r*p.ray.dx) + h}
}

// face is the wall as it is built: it starts where the arc ends and runs into the form's wall.
func (p *half) face(h float64) point2 {
	const fadeMM = 8.0
	t := math.Max(1-(h-p.fillet.head)/fadeMM, 0)
	return p.onWall(h, p.f.reach(p.ray, h)+p.shift*t*t*t)
}

// floor is the point of the floor at a share of the way from the spine to the feather line.
func (p *half) floor(v float64) point2 {
	r := v * p.fillet.foot
	x := p.ray.x0 + r*p.ray.dx
	return point2{r, p.f.bottom.z(x) + p.f.floorH(x, r*p.ray.dy)}
}

// side is the point of the wall at a share of the way from the feather line to the edge.
func (p *half) side(v float64) point2 { return p.face(mix(p.fillet.head, p.edge, v)) }

// top is the point of lid or roof at a share of the way from the edge to the line above the spine.
func (p *half) top(v float64) point2 {
	n := 2 / p.power
	a := p.from + v*(math.Pi/2-p.from)
	low := math.Pow(math.Sin(p.from), n)
	out := math.Pow(math.Cos(a), n) / math.Pow(math.Cos(p.from), n)
	if v >= 1 {
		out = 0
	}
	up := (math.Pow(math.Sin(a), n) - low) / (1 - low)
	r := p.edgeOut * out
	x := p.ray.x0 + r*p.ray.dx
	crest := p.f.crestOver(p.ray, x)
	return point2{r, p.f.bottom.z(x) + p.edge + (crest-p.edge)*up}
}

// crestOver is the height of lid or roof over the spine that a ray's top runs up to at X.
func (f *form) crestOver(y ray, x float64) float64 {
	switch y.fan {
	case heelFan:
		return f.crest(f.outline, f.heel)
	case toeFan:
		return f.cone.Predict(x)
	}
	return f.crest(f.outline, y.x0)
}

// depth is the height of the closed room over its floor on its middle at X.
func (f *form) depth(x float64) float64 {
	switch {
	case x <= 0 || x >= f.last:
		return 0
	case x < f.heel:
		p := f.newHalf(f.heelRay(math.Pi / 2))
		return p.topAt(f.heel-x) - f.bottom.z(x) - f.insole(x)
	case x > f.tread:
		p := f.newHalf(f.toeRay(math.Pi / 2))
		return p.topAt(x-f.tread) - f.bottom.z(x) - f.insole(x)
	}
	return f.crest(f.outline, x) - f.insole(x)
}

// topAt is the height over the origin of lid or roof at a distance from the spine; that of the edge beyond it.
func (p *half) topAt(r float64) float64 {
	v := root(0, 1, func(v float64) float64 { return r - p.top(v).r })
	return p.top(v).z
}
