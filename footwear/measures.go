package footwear

// An Info says what a measure is. Lo and Hi are hard limits: nothing outside them is a shoe. BandLo and BandHi are
// where most shoes lie; Band narrows them for one sheet. Instrument, PlusMinus and Kind stand for a measure that does
// not name its own.
type Info struct {
	Key, Name, Unit string // Unit is mm or deg
	Lo, Hi          float64
	BandLo, BandHi  float64
	Instrument      Instrument
	PlusMinus       float64
	Kind            Spread
	Grade           GradeRule
	What            string // what it is and how it is taken
	Source          string // of the band, with how it is known: read, memory, calc, practice
}

const (
	practice     = "common practice, no source"
	fromMemory   = "from memory, a wide default"
	lee2014      = "± : manual measures repeat within about 1.5 mm, Lee, Lin & Wang 2014, J Foot Ankle Res (read)"
	golding1902  = "seat to ball width 0.62 to 0.80; grades with ball width, Golding 1902 (read)"
	witana2009   = "seat angles rated best: 4–5° at 25 mm, 10–11° at 50 mm, 16–18° at 75 mm; Witana, Goonetilleke et al. 2009, Ergonomics 52:617 (read)"
	counterPoint = "counter point at a fifth of the last's length + 3 mm, back 7 to 10 mm more (read in a last maker's text)"
)

// Infos describes every measure, in the order of the identifiers.
var Infos = [NumMeasures]Info{
	LastLength: {
		Key: "last_length_mm", Name: "last length", Unit: "mm", Lo: 90, Hi: 390, BandLo: 120, BandHi: 340,
		Instrument: InsideRule, PlusMinus: 1.5, Kind: Normal, Grade: GradeLength,
		What:   "From the rearmost inside point of the counter to the toe tip, along the centre line. An inside rule is spread between counter and toe box.",
		Source: "EU size × 6.667 mm (read); longer for pointed toes (" + practice + "). " + lee2014,
	},
	BallWidth: {
		Key: "ball_width_mm", Name: "ball width", Unit: "mm", Lo: 35, Hi: 140, BandLo: 50, BandHi: 115,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeBallWidth,
		What:   "Inside width across the tread line, at its widest height. Inside callipers are opened until they just touch both sides.",
		Source: "men's athletic about 94 mm at US 9 (read); 0.29 to 0.38 of the last's length, children to 0.43 (" + fromMemory + "). " + lee2014,
	},
	BallGirth: {
		Key: "ball_girth_mm", Name: "ball girth", Unit: "mm", Lo: 90, Hi: 380, BandLo: 130, BandHi: 300,
		Instrument: Tape, PlusMinus: 3, Kind: Normal, Grade: GradeGirth,
		What:   "Once round the inside at the tread line, as a tape would lie (the convex hull). Taken round the last, or with a tape spread inside.",
		Source: "foot: men 252 ± 13 mm, women 228 ± 12 mm, ANSUR II 2012 (read); ± soft",
	},
	WaistWidth: {
		Key: "waist_width_mm", Name: "waist width", Unit: "mm", Lo: 25, Hi: 120, BandLo: 38, BandHi: 90,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeWidthShare,
		What:   "The narrowest inside width between seat and ball, at its widest height.",
		Source: "men's athletic 65 to 75 mm at US 9 (read); 0.62 to 0.85 of ball width (" + fromMemory + "). " + lee2014,
	},
	SeatWidth: {
		Key: "seat_width_mm", Name: "heel-seat width", Unit: "mm", Lo: 25, Hi: 100, BandLo: 40, BandHi: 78,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeWidthShare,
		What:   "Width of the heel seat, the counter walls taken straight down to the board. Measured just above the feather line at the widest place of the heel.",
		Source: golding1902 + "; inside heel width of men's athletic shoes 65 to 75 mm at US 9 (read). " + lee2014,
	},
	CounterWidth10: {
		Key: "counter_width_10_mm", Name: "counter width at 10 mm", Unit: "mm", Lo: 25, Hi: 100, BandLo: 38, BandHi: 80,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeWidthShare,
		What:   "Inside width 10 mm above the seat, at the widest place of the heel. Inside callipers with a 10 mm foot.",
		Source: "close to the seat width, less the feather line's inset (calc). " + lee2014,
	},
	CounterWidth20: {
		Key: "counter_width_20_mm", Name: "counter width at 20 mm", Unit: "mm", Lo: 25, Hi: 100, BandLo: 38, BandHi: 82,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeWidthShare,
		What:   "Inside width 20 mm above the seat, at the widest place of the heel.",
		Source: "the counter is widest 15 to 25 mm above the seat (" + fromMemory + "). " + lee2014,
	},
	CounterWidth40: {
		Key: "counter_width_40_mm", Name: "counter width at 40 mm", Unit: "mm", Lo: 25, Hi: 105, BandLo: 36, BandHi: 80,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeWidthShare,
		What:   "Inside width 40 mm above the seat, at the widest place of the heel.",
		Source: "narrows 3 to 8 mm by the topline (" + fromMemory + "). " + lee2014,
	},
	CounterWidthTop: {
		Key: "counter_width_top_mm", Name: "counter width at the topline", Unit: "mm", Lo: 25, Hi: 130, BandLo: 34, BandHi: 80,
		Instrument: InsideCalliper, PlusMinus: 1.5, Kind: Normal, Grade: GradeWidthShare,
		What:   "Inside width at the topline, at the widest place of the heel. In a boot, at its narrowest above the heel, over the ankle.",
		Source: "3 to 8 mm less than the widest place (" + fromMemory + "). " + lee2014,
	},
	CounterHeight: {
		Key: "counter_height_mm", Name: "counter height", Unit: "mm", Lo: 10, Hi: 120, BandLo: 25, BandHi: 55,
		Instrument: HeightGauge, PlusMinus: 1, Kind: Normal, Grade: GradeHeight,
		What:   "Height of the stiff counter above the seat, felt by pressing the wall inwards.",
		Source: "40 to 55 mm men, 35 to 50 mm women (" + fromMemory + "), in proportion to the last below 260 mm (" + practice + ")",
	},
	BackCurveSeat: {
		Key: "back_curve_seat_mm", Name: "back curve at the seat", Unit: "mm", Lo: 0, Hi: 20, BandLo: 2, BandHi: 7,
		Instrument: ContourGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "How far the back wall at the seat edge stands in front of the rearmost point.",
		Source: "most prominent at two fifths of the back's height, 5 to 6 mm behind the seat edge (read); wider here for soft and children's shoes (" + practice + ")",
	},
	BackCurveTop: {
		Key: "back_curve_top_mm", Name: "back curve at the topline", Unit: "mm", Lo: 0, Hi: 30, BandLo: 1, BandHi: 12,
		Instrument: ContourGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "How far the back topline stands in front of the rearmost point.",
		Source: fromMemory,
	},
	SeatCupping: {
		Key: "seat_cupping_mm", Name: "seat cupping", Unit: "mm", Lo: 0, Hi: 10, BandLo: 2, BandHi: 5,
		Instrument: DepthGauge, PlusMinus: 0.5, Kind: Normal, Grade: GradeFixed,
		What:   "How hollow the seat is over 60 mm across: the depth of its middle under a straight edge. For a narrower seat it is the same curve continued.",
		Source: "2 to 5 mm over 60 mm (" + fromMemory + ")",
	},
	FeatherHeel: {
		Key: "feather_heel_mm", Name: "feather-line radius at the heel", Unit: "mm", Lo: 1, Hi: 30, BandLo: 4, BandHi: 18,
		Instrument: RadiusGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "Radius of the rounded corner between board and counter at the widest place of the heel, with radius gauges.",
		Source: "6 to 15 mm; a round seat to 18 mm, a square one from 4 mm (" + fromMemory + ")",
	},
	FeatherForefoot: {
		Key: "feather_forefoot_mm", Name: "feather-line radius at the ball", Unit: "mm", Lo: 1, Hi: 20, BandLo: 3, BandHi: 8,
		Instrument: RadiusGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "The same at the tread line.",
		Source: "3 to 8 mm (" + fromMemory + ")",
	},
	SeatAngle: {
		Key: "seat_angle_deg", Name: "seat angle", Unit: "deg", Lo: 0, Hi: 35, BandLo: 0, BandHi: 20,
		Instrument: AngleGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "Slope of the seat with the shoe standing on level ground, falling towards the toe. An angle gauge lies on the board.",
		Source: witana2009 + "; ± 1.5° about them here (" + practice + ")",
	},
	SeatLength: {
		Key: "seat_length_mm", Name: "seat length", Unit: "mm", Lo: 20, Hi: 160, BandLo: 30, BandHi: 90,
		Instrument: Rule, PlusMinus: 1.5, Kind: Normal, Grade: GradeLengthShare,
		What:   "From the back to the breast, where the board leaves the plane of the seat, along the centre line.",
		Source: "about a quarter of the last's length (read, soft)",
	},
	HeelRise: {
		Key: "heel_rise_mm", Name: "heel rise", Unit: "mm", Lo: 0, Hi: 130, BandLo: 0, BandHi: 80,
		Instrument: HeightGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "Height of the board at the rear end of the seat above the board at the tread line, the shoe standing on level ground.",
		Source: "low below 30 mm, mid 30 to 50 mm, high 50 to 80 mm (read)",
	},
	ShankSagitta: {
		Key: "shank_mm", Name: "shank", Unit: "mm", Lo: 0, Hi: 25, BandLo: 0, BandHi: 10,
		Instrument: DepthGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "Sagitta of the bottom between breast and tread line: its largest distance from the straight line between them.",
		Source: "chord 120 mm, sagitta 6 mm is an arc of radius 303 mm (calc); range " + fromMemory,
	},
	ToeSpring: {
		Key: "toe_spring_mm", Name: "toe spring", Unit: "mm", Lo: 0, Hi: 60, BandLo: 0, BandHi: 25,
		Instrument: HeightGauge, PlusMinus: 1, Kind: Normal, Grade: GradeFixed,
		What:   "Height of the board at the toe tip above the tread line, the shoe standing unloaded.",
		Source: "about 5 mm soft slip-on, 10 mm dress, 15 mm sport or stiff boot; falls with heel height, near 0 mm on high heels; 0 to 25 mm (read)",
	},
	DepthInstep: {
		Key: "depth_instep_mm", Name: "depth at the instep", Unit: "mm", Lo: 20, Hi: 150, BandLo: 35, BandHi: 95,
		Instrument: DepthGauge, PlusMinus: 1, Kind: Normal, Grade: GradeDepthShare,
		What:   "Inside height over the board at the instep, where the closure ends. On an open shoe, of its last.",
		Source: "0.22 to 0.36 of ball girth (" + fromMemory + "); ± soft",
	},
	DepthBall: {
		Key: "depth_ball_mm", Name: "depth at the ball", Unit: "mm", Lo: 18, Hi: 90, BandLo: 24, BandHi: 65,
		Instrument: DepthGauge, PlusMinus: 1, Kind: Normal, Grade: GradeDepthShare,
		What:   "Inside height over the board at the tread line, at its highest place.",
		Source: "a fifth of the joint girth (read); 0.165 to 0.225 of it here (" + practice + ")",
	},
	DepthToe: {
		Key: "depth_toe_mm", Name: "depth at the toes", Unit: "mm", Lo: 10, Hi: 60, BandLo: 14, BandHi: 32,
		Instrument: DepthGauge, PlusMinus: 1, Kind: Normal, Grade: GradeDepthShare,
		What:   "Inside height over the board 20 mm behind the toe tip.",
		Source: "20 to 25 mm dress, 25 to 32 mm athletic or extra-depth (" + fromMemory + "), children in proportion to the last (" + practice + ")",
	},
	InstepGirth: {
		Key: "instep_girth_mm", Name: "instep girth", Unit: "mm", Lo: 90, Hi: 420, BandLo: 130, BandHi: 320,
		Instrument: Tape, PlusMinus: 3, Kind: Normal, Grade: GradeInstepGirth,
		What:   "Once round the inside at the instep. On an open shoe, round its last.",
		Source: "0.95 to 1.15 of ball girth (" + fromMemory + "); ± soft",
	},
	ToplineMedial: {
		Key: "topline_medial_mm", Name: "topline height, medial", Unit: "mm", Lo: 25, Hi: 300, BandLo: 34, BandHi: 62,
		Instrument: HeightGauge, PlusMinus: 1, Kind: Normal, Grade: GradeHeight,
		What:   "Height of the topline above the board below the inner ankle bone.",
		Source: "quarter 50 to 54 mm below the ankle in men's shoes (read)",
	},
	ToplineLateral: {
		Key: "topline_lateral_mm", Name: "topline height, lateral", Unit: "mm", Lo: 25, Hi: 300, BandLo: 32, BandHi: 60,
		Instrument: HeightGauge, PlusMinus: 1, Kind: Normal, Grade: GradeHeight,
		What:   "Height of the topline above the board below the outer ankle bone.",
		Source: "quarter 50 to 54 mm (read); outer ankle bone at 72.9 ± 5.7 mm men, 62.8 ± 5.1 mm women, ANSUR II 2012 (read)",
	},
	ToplineBack: {
		Key: "topline_back_mm", Name: "topline height, back", Unit: "mm", Lo: 42, Hi: 300, BandLo: 45, BandHi: 80,
		Instrument: HeightGauge, PlusMinus: 1, Kind: Normal, Grade: GradeHeight,
		What:   "Height of the topline above the seat at the back.",
		Source: counterPoint,
	},
	InsoleHeel: {
		Key: "insole_heel_mm", Name: "insole thickness, heel", Unit: "mm", Lo: 0, Hi: 20, BandLo: 0, BandHi: 6,
		Instrument: Calliper, PlusMinus: 0.5, Kind: Normal, Grade: GradeFixed,
		What:   "Thickness of the shoe's own insole under the heel, between callipers without pressing. 0: there is none.",
		Source: "removable 3 to 6 mm (" + fromMemory + "); glued socks 0 to 4 mm (" + practice + ")",
	},
	InsoleForefoot: {
		Key: "insole_forefoot_mm", Name: "insole thickness, forefoot", Unit: "mm", Lo: 0, Hi: 15, BandLo: 0, BandHi: 4,
		Instrument: Calliper, PlusMinus: 0.5, Kind: Normal, Grade: GradeFixed,
		What:   "The same at the tread line.",
		Source: "removable 3 to 4 mm (" + fromMemory + "); glued socks 0 to 3 mm (" + practice + ")",
	},
	GiveCounter: {
		Key: "give_counter_mm", Name: "give of the counter", Unit: "mm", Lo: 0, Hi: 10, BandLo: 0, BandHi: 2,
		Instrument: Thumb, PlusMinus: 0.5, Kind: Even, Grade: GradeFixed,
		What:   "How far the counter yields without harm under a firm thumb.",
		Source: practice,
	},
	GiveQuarter: {
		Key: "give_quarter_mm", Name: "give of the quarter", Unit: "mm", Lo: 0, Hi: 12, BandLo: 0.5, BandHi: 4,
		Instrument: Thumb, PlusMinus: 0.5, Kind: Even, Grade: GradeFixed,
		What:   "The same for the walls beside the waist.",
		Source: practice,
	},
	GiveVamp: {
		Key: "give_vamp_mm", Name: "give of the vamp", Unit: "mm", Lo: 0, Hi: 15, BandLo: 0.5, BandHi: 6,
		Instrument: Thumb, PlusMinus: 0.5, Kind: Even, Grade: GradeFixed,
		What:   "The same for the walls of ball and toes and for the roof.",
		Source: practice,
	},
}

// Info describes the measure. It panics for an identifier that is none.
func (id MeasureID) Info() Info { return Infos[id] }

// String is the measure's key.
func (id MeasureID) String() string {
	if id < 0 || id >= NumMeasures {
		return "no measure"
	}
	return Infos[id].Key
}

// MeasureByKey finds a measure by its key.
func MeasureByKey(key string) (MeasureID, bool) {
	for id := range NumMeasures {
		if Infos[id].Key == key {
			return id, true
		}
	}
	return NumMeasures, false
}
