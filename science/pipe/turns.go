package pipe

import "math"

// Margins of a valve's time above volume over flow: a valve set to that alone
// never trips a siphon, for near the crest water trickles out over it. Common
// practice, no source.
const (
	LeastMarginS     = 30.0
	LeastMarginShare = 0.1
)

// Turns is the timetable of beds of one kind that take turns at one pump.
type Turns struct {
	FillS        float64 // volume over flow
	OpenS        float64 // how long a valve stays open
	CycleS       float64 // shortest time from flood to flood of a bed
	FloodsPerH   float64 // most floods of each bed in an hour
	BusiestShare float64 // of the time in which the pump then runs
}

// TurnsOf is the timetable of beds that take turns.
//
//	beds     1 to 1000
//	flowM3s  of the one open bed, above 0 to 100
//	volumeM3 from the siphon's break up to its start, above 0 to 1e4
//	marginS  on top of volume over flow, 0 to 1e5; NaN for the larger of 30 s and a tenth
//	gapS     from one valve's end to the next one's start, 0 to 1e5; best 0, the next
//	         opening before the last closes
//
// Check: 109.05 L at 24.81 L/min, 30 s: open 293.7 s.
func TurnsOf(beds int, flowM3s, volumeM3, marginS, gapS float64) (Turns, error) {
	if math.IsNaN(marginS) && flowM3s > 0 {
		marginS = min(1e5, max(LeastMarginS, LeastMarginShare*volumeM3/flowM3s))
	}
	if err := check("turns", bound{"beds", float64(beds), 1, 1000, ""}, bound{"flow", flowM3s, 1e-9, MostFlowM3s, "m3/s"}, bound{"volume of a flood", volumeM3, 1e-6, 1e4, "m3"},
		bound{"margin", marginS, 0, 1e5, "s"}, bound{"gap", gapS, 0, 1e5, "s"}); err != nil {
		return Turns{}, err
	}
	t := Turns{FillS: volumeM3 / flowM3s}
	t.OpenS = t.FillS + marginS
	t.CycleS = float64(beds) * (t.OpenS + gapS)
	t.FloodsPerH = 3600 / t.CycleS
	t.BusiestShare = t.OpenS / (t.OpenS + gapS)
	return t, nil
}
