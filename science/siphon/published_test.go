package siphon_test

import (
	"math"
	"testing"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

// The sizes of [fao-589], appendix 8: a standpipe of 25 mm pipe with a reducer of
// 40 to 25 mm on top, a bell of 75 mm pipe with an air hole some 15 mm above its
// cut-outs, a guard of 110 mm with slots of 5 mm, an elbow of 25 mm at the outlet.
// The pipes are taken as the metric sizes of the table (25 mm is 21.2 mm inside,
// 40 mm 36.2 mm). It prints neither bed nor flow; bed, heights and flows here are
// those of a usual bed (common practice, no source): 3 m² of gravel 0.30 m deep, the
// crest 50 mm under its top, the outlet 0.15 m under the floor. The text says that it
// floods and drains; the model says for which flows.
func TestPublishedBulletin(t *testing.T) {
	size := func(name string) float64 {
		s := must(pipe.LookupSize(name))
		return s.InsideM
	}
	bore, top := size("PVC-U PN16 (metric) 25 mm"), size("PVC-U PN10 (metric) 40 mm")
	b := siphon.Bed{AreaM2: 3, Drainable: 0.38, GuardM2: pipe.CircleM2(0.1), RimM: 0.35}
	s := siphon.Siphon{
		Pipe:           pipeOf(bore, 0.55, siphon.BellK(1)),
		CrestDiameterM: top, ReducerM: 0.03,
		CrestM: 0.25, BreakM: 0.03, OutletM: -0.15,
	}
	start, stop, err := siphon.Window(b, s, tempC)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		lmin float64
		want siphon.Verdict
	}{
		{2, siphon.WillNotStart}, {4, siphon.Doubtful}, {6, siphon.ShouldStart}, {8, siphon.ShouldStart}, {10, siphon.Starts}, {12, siphon.Starts}, {20, siphon.NeverStops},
	} {
		c := must(siphon.CycleOf(b, s, tempC, row.lmin*lMin))
		t.Logf("%g L/min: %s, Fr %.2f, fill %.0f s, drain %.0f s, %v", row.lmin, c.Verdict, c.Froude, c.FillS, c.DrainS, c.Findings)
		if c.Verdict != row.want {
			t.Errorf("%g L/min: %s, want %s", row.lmin, c.Verdict, row.want)
		}
	}
	t.Logf("window %.2f to %.2f L/min, at best below %.2f", start/lMin, stop/lMin, 0.7*stop/lMin)
	// By hand: 0.52 × π/4 × 0.0212² × √(9.80665 × 0.0212) = 5.02 L/min.
	near(t, "start", start/lMin, 0.5196*math.Pi/4*bore*bore*math.Sqrt(9.80665*bore)*60000, 0.02)
	// The funnel lets the water start over a rim lower by far.
	plain := s
	plain.CrestDiameterM, plain.ReducerM = 0, 0
	with, without := must(siphon.CycleOf(b, s, tempC, 6*lMin)), must(siphon.CycleOf(b, plain, tempC, 6*lMin))
	if !(with.StartLevelM < without.StartLevelM) {
		t.Errorf("with the reducer it starts at %.4f m, without at %.4f m", with.StartLevelM, without.StartLevelM)
	}
	found := must(siphon.Bell{InsideM: 0.0678, StandpipeOutsideM: 0.025, GapM: 0.02, GuardInsideM: 0.1016, GuardSlotM: 0.005, LeastMediaM: 0.008, MediaTopM: 0.30}.Findings(s))
	for _, f := range found {
		t.Logf("parts: %+v", f)
	}
}
