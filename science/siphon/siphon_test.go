package siphon_test

import (
	"math"
	"testing"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

// Goldens: three beds worked out once by a general integrator (Runge-Kutta,
// relative tolerance 1e-10), from empty. Tolerance: half a unit of the last
// digit kept, and of times that they were taken from tables of 0.1 s.
func TestReferenceBeds(t *testing.T) {
	for _, row := range []struct {
		name                         string
		of                           func() (siphon.Bed, siphon.Siphon)
		areaM2, inflow               float64
		venting, start, swept        float64 // L/min
		fullBreak, fullCrest         float64
		crestS, startS, startM       float64
		stopS                        float64
		fillS, drainS, periodS, perH float64
		storedL, dischargedL, drainL float64
		dryDrainS, mid, closedS      float64
	}{
		{"G1", g1, 0.275225, 6, 2.924, 4.904, 9.431, 22.215, 26.867, 495.4, 534.8, 0.18789, 674.8, 452.3, 140.0, 592.2, 6.079, 43.45, 59.22, 24.62, 100.9, 6.45507e-4, 139.98},
		{"G2", g2, 0.545225, 11, 5.299, 8.889, 17.094, 40.289, 48.526, 654.3, 707.5, 0.23000, 902.5, 618.3, 195.0, 813.2, 4.427, 109.05, 149.10, 44.56, 140.0, 1.025732e-3, 194.97},
		{"G3", g3, 1.16262, 30, 15.476, 25.961, 49.924, 108.797, 125.595, 581.3, 652.3, 0.26536, 831.6, 559.3, 179.3, 738.5, 4.874, 262.0, 369.3, 117.7, 125.0, 2.268680e-3, 179.28},
	} {
		k := works(t, row.of)
		s := k.Siphon()
		q := row.inflow * lMin
		near(t, row.name+" free area", k.Bed().FreeM2(), row.areaM2, 5e-7)
		startM3s, breakM3s := k.Window()
		near(t, row.name+" Froude 0.31", k.FlowAtFroudeM3s(siphon.FroudeVenting)/lMin, row.venting, 6e-4)
		near(t, row.name+" start", startM3s/lMin, row.start, 6e-4)
		near(t, row.name+" Froude 1", 1/k.Froude(lMin), row.swept, 6e-4)
		near(t, row.name+" full at the break", breakM3s/lMin, row.fullBreak, 6e-4)
		near(t, row.name+" full at the crest", k.FullM3s(s.CrestM)/lMin, row.fullCrest, 6e-4)
		near(t, row.name+" start level", k.StartLevelM(), row.startM, 6e-6)
		c := must(k.Cycle(q))
		if c.Verdict != siphon.ShouldStart {
			t.Errorf("%s: %s", row.name, c.Verdict)
		}
		near(t, row.name+" fill", c.FillS, row.fillS, 0.06)
		near(t, row.name+" drain", c.DrainS, row.drainS, 0.06)
		near(t, row.name+" period", c.PeriodS, row.periodS, 0.11)
		near(t, row.name+" per hour", c.PerHour, row.perH, 6e-4)
		near(t, row.name+" stored", c.StoredM3*1000, row.storedL, 0.06)
		near(t, row.name+" discharged", c.DischargedM3*1000, row.dischargedL, 0.06)
		near(t, row.name+" mean flow", c.DrainM3s/lMin, row.drainL, 0.06)
		near(t, row.name+" drain without inflow", must(k.DrainS(s.CrestM, s.BreakM, 0)), row.dryDrainS, 0.06)

		l := must(k.Run(siphon.State{}, []siphon.Pulse{{M3s: q, ForS: 3600}}, 1000, true))
		at := map[siphon.Event]float64{}
		for _, p := range l.Points {
			if _, seen := at[p.Event]; !seen {
				at[p.Event] = p.TimeS
			}
		}
		near(t, row.name+" first at the crest", at[siphon.AtCrest], row.crestS, 0.06)
		near(t, row.name+" first start", at[siphon.AtStart], row.startS, 0.06)
		near(t, row.name+" first break", at[siphon.AtBreak], row.stopS, 0.06)

		// The closed form with one coefficient, taken at the middle level.
		coef := must(k.CoefM25S((s.CrestM + s.BreakM) / 2))
		near(t, row.name+" coefficient", coef, row.mid, 1e-8)
		y0, y1 := math.Sqrt(k.StartLevelM()-s.OutletM), math.Sqrt(s.BreakM-s.OutletM)
		closed := 2 * row.areaM2 / coef * (y0 - y1 + q/coef*math.Log((coef*y0-q)/(coef*y1-q)))
		near(t, row.name+" closed form", closed, row.closedS, 0.006)
		near(t, row.name+" closed form beside the integral", closed/c.DrainS, 1, 2e-4)
	}
}

// Golden: the second bed against its inflow.
func TestAgainstInflow(t *testing.T) {
	k := works(t, g2)
	for _, row := range [][4]float64{
		{9, 818.7, 184.0, 1002.7}, {11, 618.3, 195.0, 813.3}, {15, 444.9, 221.6, 666.5}, {20, 331.3, 267.2, 598.5}, {25, 264.1, 336.9, 601.0},
		{30, 219.7, 457.4, 677.1}, {35, 188.1, 722.6, 910.6}, {38, 173.1, 1156.4, 1329.6},
	} {
		c := must(k.Cycle(row[0] * lMin))
		near(t, "fill", c.FillS, row[1], 0.06)
		near(t, "drain", c.DrainS, row[2], 0.06)
		near(t, "period", c.PeriodS, row[3], 0.11)
		if dribbles := row[0] > 0.7*40.289; c.Has(siphon.InflowDribbles) != dribbles {
			t.Errorf("%g L/min: dribbles %v", row[0], !dribbles)
		}
	}
}

// Goldens: inflows with which the second bed fails.
func TestFailures(t *testing.T) {
	k := works(t, g2)
	for _, row := range []struct {
		inflow  float64
		verdict siphon.Verdict
		restM   float64
		fills   bool
		why     siphon.Reason
	}{
		{0, siphon.WillNotStart, 0.22, false, siphon.InflowVents},
		{4, siphon.WillNotStart, 0.22587, false, siphon.InflowVents},
		{7, siphon.Doubtful, 0.22852, false, siphon.InflowBelow},
		{11, siphon.ShouldStart, math.NaN(), true, siphon.InflowUnsure},
		{20, siphon.Starts, math.NaN(), true, ""},
		{42, siphon.NeverStops, 0.06665, true, siphon.InflowHolds},
		{60, siphon.Overflows, 0.27, true, siphon.RimReached},
	} {
		c := must(k.Cycle(row.inflow * lMin))
		if c.Verdict != row.verdict || row.why != "" && !c.Has(row.why) {
			t.Errorf("%g L/min: %s %v, want %s with %s", row.inflow, c.Verdict, c.Findings, row.verdict, row.why)
		}
		if math.IsNaN(row.restM) != math.IsNaN(c.RestM) || math.Abs(c.RestM-row.restM) > 6e-6 {
			t.Errorf("%g L/min: rests at %.6g, want %g", row.inflow, c.RestM, row.restM)
		}
		if math.IsNaN(c.FillS) == row.fills || math.IsNaN(c.PeriodS) == c.Verdict.Cycles() || (len(c.Course) > 0) != c.Verdict.Cycles() {
			t.Errorf("%g L/min: fill %g, period %g, %d points", row.inflow, c.FillS, c.PeriodS, len(c.Course))
		}
	}
	near(t, "level that would hold 60 L/min", k.EqualM(60*lMin), 0.5417, 6e-5)

	l := must(k.Run(siphon.State{}, []siphon.Pulse{{M3s: 4 * lMin, ForS: 1e5}}, 4*3600, true))
	near(t, "4 L/min at the crest", l.Points[1].TimeS, 1799.2, 0.06)
	near(t, "4 L/min after 4 h", l.End.LevelM, 0.22587, 6e-6)
	if l.Starts != 0 {
		t.Errorf("4 L/min: %d starts", l.Starts)
	}
	l = must(k.Run(siphon.State{}, []siphon.Pulse{{M3s: 42 * lMin, ForS: 1e5}}, 2*3600, true))
	for _, p := range l.Points {
		if p.Event == siphon.AtStart {
			near(t, "42 L/min, start", p.TimeS, 179.9, 0.06)
		}
	}
	near(t, "42 L/min after 2 h", l.End.LevelM, 0.06666, 1e-5)
	if l.Starts != 1 || l.Breaks != 0 {
		t.Errorf("42 L/min: %d starts, %d breaks", l.Starts, l.Breaks)
	}
	near(t, "36 L/min, drain", must(k.Cycle(36*lMin)).DrainS, 821.7, 0.06)
	l = must(k.Run(siphon.State{}, []siphon.Pulse{{M3s: 60 * lMin, ForS: 1e5}}, 7200, false))
	near(t, "60 L/min, level", l.End.LevelM, 0.27, 0)
	near(t, "60 L/min, water", l.OutM3+l.SpilledM3+k.WaterM3(0.27), l.InM3, 1e-9)
	if l.SpilledM3 <= 0.5 || !l.End.Running {
		t.Errorf("60 L/min: %g m3 over the rim, running %v", l.SpilledM3, l.End.Running)
	}
}

// The full flow beside an independent solver of pipe networks, EPANET 2.3, from
// the level to the outlet; its g of 9.8146 gives 0.045 % more.
func TestFullFlowBesideEpanet(t *testing.T) {
	for _, row := range []struct {
		of   func() (siphon.Bed, siphon.Siphon)
		want float64
	}{{g1, 26.879}, {g2, 48.548}, {g3, 125.652}} {
		k := works(t, row.of)
		got := k.FullM3s(k.Siphon().CrestM) / lMin
		near(t, "full flow", got/row.want*1.00045, 1, 1e-4)
	}
	two := works(t, twoDiameters)
	near(t, "two diameters", two.FullM3s(0.03)/lMin/50.436*1.00045, 1, 1e-4)
}

func twoDiameters() (siphon.Bed, siphon.Siphon) {
	b, s := g2()
	s.Pipe, s.Lower = pipeOf(0.02664, 0.30, 3.05), pipeOf(0.0409, 0.70, 1.9)
	return b, s
}

// Goldens: two diameters, a short drop.
func TestTwoDiametersAndShortDrop(t *testing.T) {
	two := works(t, twoDiameters)
	near(t, "two diameters at 0.03", two.FullM3s(0.03)/lMin, 50.413, 6e-4)
	near(t, "two diameters at 0.22", two.FullM3s(0.22)/lMin, 60.640, 6e-4)
	startM3s, _ := two.Window()
	near(t, "start of two diameters", startM3s/lMin, 8.889, 6e-4) // of the narrower

	b, s := g2()
	s.OutletM, s.Pipe.LengthM = -0.02, 0.25
	k := must(siphon.New(b, s, tempC))
	_, breakM3s := k.Window()
	near(t, "short drop", breakM3s/lMin, 14.486, 6e-4)
	near(t, "short drop, Froude number", k.Froude(breakM3s), 0.847, 6e-4)
	if j := must(k.Judge(11 * lMin)); !j.Has(siphon.DropShort) {
		t.Errorf("short drop: %v", j.Findings)
	}
	if j := must(works(t, g2).Judge(11 * lMin)); j.Has(siphon.DropShort) || j.Has(siphon.DropModest) {
		t.Errorf("long drop: %v", j.Findings)
	}
}

// Goldens: flow over the crest, levels of rest, bands of the start.
func TestCrest(t *testing.T) {
	of := func(d, crest float64) *siphon.Works {
		b, s := g2()
		s.Pipe.DiameterM, s.CrestDiameterM = d, crest
		return must(siphon.New(b, s, tempC))
	}
	for _, row := range []struct{ d, h, weir, opening float64 }{
		{0.0254, 0.005, 2.999, 5.712}, {0.0409, 0.010, 13.657, 20.947}, {0.0525, 0.012, 23.045, 37.807},
	} {
		near(t, "weir", of(row.d, 0).CrestM3s(0.22+row.h)/lMin, row.weir, 6e-4)
		// A funnel so wide that the throat governs.
		near(t, "opening", of(row.d, 1).CrestM3s(0.22+row.h)/lMin, row.opening, 6e-4)
	}
	near(t, "rest", of(0.02664, 0).LevelM(4*lMin)-0.22, 5.869e-3, 6e-7)
	b, s := g2()
	s.CrestDiameterM, s.ReducerM = 0.0409, 0.02 // deep enough that the rim governs
	near(t, "rest on a funnel", must(siphon.New(b, s, tempC)).LevelM(11*lMin)-0.22, 8.657e-3, 1e-6)
	for _, row := range [][4]float64{{0.0158, 1.44, 2.41, 4.63}, {0.02093, 2.90, 4.86, 9.35}, {0.02664, 5.30, 8.88, 17.09}, {0.0409, 15.48, 25.94, 49.92}, {0.0525, 28.89, 48.42, 93.20}} {
		perFroude := 1 / of(row[0], 0).Froude(lMin)
		near(t, "Froude 0.31", 0.31*perFroude, row[1], 6e-3)
		near(t, "Froude 0.5196", 0.5196*perFroude, row[2], 6e-3)
		near(t, "Froude 1", perFroude, row[3], 6e-3)
	}
	// The rim drowns at 0.375 of its diameter, for any bore: weir and opening meet.
	for _, d := range []float64{0.0158, 0.0409} {
		k := of(d, 0)
		h := 0.375 * d
		weir := 2.0 / 3 * 0.6 * math.Sqrt(2*pipe.GravityMS2) * math.Pi * d * math.Pow(h, 1.5)
		near(t, "drowned rim", k.CrestM3s(0.22+h), weir, 1e-12)
		near(t, "Froude number of it", k.Froude(weir), 0.5196, 5e-5)
	}
}

// Source: Hills 1983, worked example as printed in a design note: 36 m3/h in
// 0.18 m has a Froude number of 0.296.
func TestHillsExample(t *testing.T) {
	b, s := g2()
	s.Pipe.DiameterM = 0.18
	s.Pipe.RoughnessM = pipe.NewRoughnessM
	near(t, "Froude number", must(siphon.New(b, s, tempC)).Froude(36.0/3600), 0.296, 5e-4)
}

// Source: Somerville et al. 2014, FAO Fisheries Technical Paper 589, appendix 8,
// page 221: standpipe of 25 mm with a reducer from 40 mm on top, bell of 75 mm,
// guard of 110 mm with slots of 5 mm. It prints no flows. What the model says of
// it, with the sizes as inside diameters: it starts from 7.6 L/min, the reducer
// lets water in at 0.73 of the plain rim's head, and the bell has room
// enough. The length of the pipe, the reducer's height and the fall below the
// bed are not printed and stand here for a bed on a bench.
func TestPublishedSizes(t *testing.T) {
	b := siphon.Bed{AreaM2: 1, Drainable: 0.40, GuardM2: pipe.CircleM2(0.110), RimM: 0.30}
	plain := siphon.Siphon{Pipe: pipeOf(0.025, 0.9, siphon.BellK(1)), CrestM: 0.22, BreakM: 0.03, OutletM: -0.30}
	reduced := plain
	reduced.CrestDiameterM, reduced.ReducerM = 0.040, 0.040
	k, p := must(siphon.New(b, reduced, tempC)), must(siphon.New(b, plain, tempC))
	startM3s, _ := k.Window()
	near(t, "start", startM3s/lMin, 7.58, 0.005)
	if from, to := k.GoodWindow(); !(to > 2.5*from) {
		t.Errorf("window %g to %g", from, to)
	}
	near(t, "head at the start beside the plain rim's", (k.LevelM(0.9*startM3s)-0.22)/(p.LevelM(0.9*startM3s)-0.22), math.Pow(25.0/40, 2.0/3), 0.01)
	bell := siphon.Bell{InsideM: 0.075, OutsideM: 0.075, StandpipeOutsideM: 0.025, GuardInsideM: 0.110, GuardSlotM: 0.005, LeastMediaM: 0.008, GapM: 0.05}
	if found := must(bell.Findings(reduced)); len(found) != 0 {
		t.Errorf("the printed bell: %v", found)
	}
	bell.InsideM, bell.OutsideM = 0.040, 0.100
	bell.GapM, bell.GuardSlotM, bell.SlotsM2, bell.MediaTopM = 0.005, 0.010, 0.0005, 0.23
	var got []siphon.Reason
	for _, f := range must(bell.Findings(reduced)) {
		got = append(got, f.Reason)
	}
	want := []siphon.Reason{siphon.GapTight, siphon.AnnulusTight, siphon.SlotsTight, siphon.GuardTight, siphon.CrestNearMedia, siphon.GuardSlotsLarge}
	bell.StandpipeOutsideM = 0.032
	got = got[:0]
	for _, f := range must(bell.Findings(reduced)) {
		got = append(got, f.Reason)
	}
	if len(got) != len(want) {
		t.Fatalf("a bad bell: %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("a bad bell: %v, want %v", got, want)
		}
	}
	least := must(siphon.LeastBellM(0.025, 0.032))
	near(t, "annulus of the least bell", pipe.CircleM2(least)-pipe.CircleM2(0.032), 2*pipe.CircleM2(0.025), 1e-12)
}

// Goldens: three beds in turns on one pump (their flows from its network).
func TestRotation(t *testing.T) {
	k := works(t, g2)
	for i, row := range []struct{ q, startS, doneS float64 }{{24.81, 266.2, 599.8}, {24.44, 270.3, 597.6}, {23.45, 281.8, 593.5}} {
		c := must(k.Cycle(row.q * lMin))
		near(t, "time to the start", c.FillS, row.startS, 0.06)
		near(t, "start and drain", c.PeriodS, row.doneS, 0.15)
		// Valves open 300 s of 1200: three floods an hour.
		pulses := []siphon.Pulse{{M3s: row.q * lMin, ForS: 300}, {M3s: 0, ForS: 900}}
		from := siphon.State{LevelM: 0.03}
		if l := must(k.Run(from, pulses, 3600, false)); l.Starts != 3 || l.Breaks != 3 {
			t.Errorf("bed %d, 300 s: %d starts, %d breaks", i+1, l.Starts, l.Breaks)
		}
		// 262 s, the volume over the flow: it does not trip, the rest trickles away
		// over the crest and the bed stays full. Only the next pulse trips it.
		pulses[0].ForS, pulses[1].ForS = 262, 938
		l := must(k.Run(from, pulses, 1199, false))
		if l.Starts != 0 {
			t.Errorf("bed %d, 262 s: %d starts", i+1, l.Starts)
		}
		near(t, "left standing", l.End.LevelM, 0.22, 3e-3)
		if l = must(k.Run(from, pulses, 2400, false)); l.Starts != 1 {
			t.Errorf("bed %d, twice 262 s: %d starts", i+1, l.Starts)
		}
	}
	// All at once, 620 s of 1200.
	for i, row := range []struct {
		q      float64
		floods int
	}{{13.46, 3}, {12.49, 3}, {9.92, 2}} {
		pulses := []siphon.Pulse{{M3s: row.q * lMin, ForS: 620}, {M3s: 0, ForS: 580}}
		if l := must(k.Run(siphon.State{LevelM: 0.03}, pulses, 3600, false)); l.Starts != row.floods {
			t.Errorf("bed %d, all open: %d floods, want %d", i+1, l.Starts, row.floods)
		}
	}
}

// Golden: a weep hole; beside it the fill against its leak by a fine sum.
func TestStandpipe(t *testing.T) {
	s := siphon.Standpipe{Bed: siphon.Bed{AreaM2: 0.54 / 0.45, Drainable: 0.45, RimM: 0.30}, DiameterM: 0.0409, CrestM: 0.22, WeepM: 0.008}
	near(t, "drain", must(s.DrainS(0.22, 0.02)), 2563.6, 0.06)
	q := 11 * lMin
	f := must(s.Flood(q))
	sum := 0.0
	const n = 200000
	for i := range n {
		z := 0.22 * (float64(i) + 0.5) / n
		sum += 0.54 * 0.22 / n / (q - must(pipe.WeepM3s(0.008, z)))
	}
	near(t, "fill", f.FillS, sum, 1e-3)
	near(t, "leak at the crest", must(pipe.WeepM3s(0.008, 0.22))/lMin, 3.884, 6e-4)
	over := f.HoldM - 0.22
	near(t, "hold", 2.0/3*0.6*math.Sqrt(2*pipe.GravityMS2)*math.Pi*0.0409*math.Pow(over, 1.5)+f.WeepM3s, q, 1e-9)
	near(t, "exchange", f.ExchangeS, 0.54*f.HoldM/q, 1e-9)
	if f = must(s.Flood(3.5 * lMin)); !math.IsNaN(f.FillS) || f.HoldM >= 0.22 {
		t.Errorf("an inflow below the leak: %+v", f)
	}
	near(t, "leak of that", f.WeepM3s, 3.5*lMin, 1e-12)
	if f = must(s.Flood(200 * lMin)); !f.OverRim {
		t.Errorf("200 L/min: %+v", f)
	}
	s.WeepM = 0
	f = must(s.Flood(q))
	near(t, "fill without a hole", f.FillS, 0.54*0.22/q, 1e-9)
	near(t, "constant flow", f.HoldM-0.22, 8.657e-3, 1e-6)
	_, err := s.DrainS(0.2, 0.1)
	refused(t, "drain without a hole", err)
}
