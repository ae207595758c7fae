package device

import "math"

// The foot that a device is made for, where the options leave it open. Regressions on foot length over the adults of
// ANSUR II (Gordon et al., NATICK/TR-15/007, public data; read), men and women; for children they are carried down as
// they are (no source).

func footBreadthMM(man bool, lengthMM float64) float64 {
	if man {
		return 38.09 + 0.2352*lengthMM
	}
	return 40.16 + 0.2134*lengthMM
}

func heelBreadthMM(man bool, lengthMM float64) float64 {
	if man {
		return 17.74 + 0.2019*lengthMM
	}
	return 14.53 + 0.2137*lengthMM
}

// ballShare is the distance of the metatarsal heads (tread line) from the back of the heel as a share of foot length
// (ANSUR II 0.741; read).
const ballShare = 0.741

// toeCreaseShare is the same for the crease under the toes. From memory.
const toeCreaseShare = 0.83

// seatAngles has the slope of the seat (degrees) by heel rise (mm): the middle of the bands rated best by Witana,
// Goonetilleke et al. 2009, Ergonomics 52:617 (read) at 25, 50 and 75 mm; the others from memory.
var seatAngles = [][2]float64{{0, 0}, {10, 2}, {25, 4.5}, {50, 10.5}, {75, 17}, {100, 23}}

// SeatAngleDeg is the usual slope of the seat of a shoe with the heel rise given, degrees, falling towards the toe.
func SeatAngleDeg(heelRiseMM float64) float64 {
	for i, b := range seatAngles[1:] {
		if a := seatAngles[i]; heelRiseMM <= b[0] {
			return a[1] + (b[1]-a[1])*math.Max(heelRiseMM-a[0], 0)/(b[0]-a[0])
		}
	}
	return seatAngles[len(seatAngles)-1][1]
}

// boardMM is the height of the shoe's board at the distance x in front of the back, over the plane of the seat (the
// frame of the device), from the tread line forward, where the board is level on the ground.
func boardMM(heelRiseMM, x float64) float64 {
	slope := SeatAngleDeg(heelRiseMM) * math.Pi / 180
	return x*math.Tan(slope) - heelRiseMM/math.Cos(slope)
}
