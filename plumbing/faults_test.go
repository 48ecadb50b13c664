package plumbing

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tidebed/site"
)

func faultsOf(t testing.TB, s *Scheme) []Fault {
	t.Helper()
	all, err := s.Faults(nil)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func faultOf(all []Fault, kind FaultKind, about string) *Fault {
	for i := range all {
		if all[i].Kind == kind && strings.Contains(all[i].About, about) {
			return &all[i]
		}
	}
	return nil
}

// Source: plumbing sheet S8: sump of 0.80 m², 0.15 m from its level to the rim, three
// beds with 310.8 L above the break and a riser of 6 m: 0.943 m, of a rim at 0.70, that
// is 0.393 above the level, and 194 L over. Headers and branches, which the sheet
// leaves out, add 2.1 L here.
func TestPowerCut(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 6), 22)
	f := faultOf(faultsOf(t, s), PowerCut, "three")
	if f == nil {
		t.Fatal("no power cut")
	}
	riser := math.Pi / 4 * 0.02664 * 0.02664 * 6
	extra := s.PipesM3() - riser
	about(t, "litres over the rim", f.FloorM3-extra, 0.194, 0.001)
	about(t, "rise over the level", 0.15+(f.FloorM3-extra)/0.80, 0.943-0.55, 0.001)
	about(t, "highest", f.SourceHighM, 0.75, 1e-9)
	if f.FishCase != "power" || f.State != Watch || !strings.Contains(f.Remedy, "Top up only while the beds are drained") {
		t.Errorf("%+v", f)
	}

	// The rim that the remedy names holds it.
	l := threeBedLoop(t, 6)
	l.SumpRimM = number(t, regexp.MustCompile(`a rim ([0-9.]+) m above the floor holds`), f.Remedy)
	if f := faultOf(faultsOf(t, drawn(t, l, 22)), PowerCut, "three"); f.FloorM3 != 0 {
		t.Errorf("with a rim at %g m %g m³ run over", l.SumpRimM, f.FloorM3)
	}

	// Behind a check valve the pipes stay full.
	l = threeBedLoop(t, 6)
	l.Pipes[0].Fittings = []string{"check valve, swing, open"}
	about(t, "with a check valve", faultOf(faultsOf(t, drawn(t, l, 22)), PowerCut, "three").FloorM3, 0.3108-0.15*0.80, 0.001)
}

// fishLoop is a loop whose pump draws from its only fish tank.
func fishLoop(t testing.TB, intakeM float64) *site.Loop {
	l := threeBedLoop(t, 3)
	l.SumpM3, l.SumpLevelM, l.SumpDepthM, l.SumpRimM = 0, 0, 0, 0
	l.Tanks = []site.Tank{{Name: "fish", VolumeM3: 1.2, LevelM: 0.6, DepthM: 1, RimM: 0.75}}
	l.Pumps[0].IntakeM = at(intakeM)
	for i := range l.Pipes {
		if l.Pipes[i].To == "sump" {
			l.Pipes[i].To = "fish"
		}
	}
	l.Pipes = append(l.Pipes, site.Pipe{Name: "suction", From: "fish", To: "pump", DiameterM: 0.04, LengthM: 1})
	return l
}

func TestPumpFromTheOnlyFishTank(t *testing.T) {
	s := drawn(t, fishLoop(t, -0.38), 22)
	all := faultsOf(t, s)
	empties := EmptiesTank(all)
	if len(empties) == 0 {
		t.Fatal("an intake at the bottom empties no tank")
	}
	if all[0].State != Act {
		t.Errorf("first stands %s", all[0].State)
	}
	hose := faultOf(empties, HoseOff, "riser")
	if hose == nil {
		t.Fatal("a hose off at the pump does not empty it")
	}
	// 0.02 m of 1 m are left, 1.2 m³ × 0.98 less what the pipes hold and the beds took.
	about(t, "share", hose.Tanks[0].Share, 0.02, 0.005)
	about(t, "floor", hose.FloorM3, 1.2*0.98-s.PipesM3(), 0.01)
	if hose.FishCase != "pump" {
		t.Errorf("case %q", hose.FishCase)
	}
	keep := number(t, regexp.MustCompile(`Raise the intake in fish to ([0-9.]+) m`), hose.Remedy)
	about(t, "intake", keep, 0.6-0.35, 0.011)
	found := s.Findings(nil, all)
	if findingOf(found, "the pump draws from it") == nil || findingOf(found, "The pipe is off at the pump") == nil {
		t.Errorf("not told: %+v", found)
	}

	mended := faultsOf(t, drawn(t, fishLoop(t, keep), 22))
	if bad := EmptiesTank(mended); len(bad) > 0 {
		t.Errorf("with the intake at %g m still: %+v", keep, bad)
	}
	if low := faultOf(mended, HoseOff, "riser").Tanks[0].Share; low < leastTankShare || low > 0.68 {
		t.Errorf("share %g", low)
	}
}

func TestWaterRunsBack(t *testing.T) {
	l := oneBed(t)
	l.Pipes = append(l.Pipes,
		site.Pipe{Name: "to fish", From: "pump", To: "fish", DiameterM: 0.0266, LengthM: 2, EndsAtM: at(0.45)},
		site.Pipe{Name: "overflow", From: "fish", To: "sump", DiameterM: 0.075, LengthM: 1, EmptiesTo: at(0.3)})
	all := faultsOf(t, drawn(t, l, 22))
	back := faultOf(all, BackSiphon, "fish")
	// The tank, 1 m deep, is down to the sump's water at 0.60 m: the sump's 0.15 m to
	// the rim take 120 L of its 400.
	about(t, "share", back.Tanks[0].Share, 0.60, 1e-9)
	about(t, "floor", back.FloorM3, 0.4-0.12, 1e-9)
	off := faultOf(all, TankPipeOff, "fish")
	about(t, "share", off.Tanks[0].Share, 0.30, 1e-9)
	if off.State != Act || off.Field != "pipes[3].empties-to" || !off.empties() || back.empties() {
		t.Errorf("%+v\n%+v", off, back)
	}
	l.Pipes[3].EmptiesTo = at(number(t, regexp.MustCompile(`mouth lies ([0-9.]+) m`), off.Remedy))
	if bad := EmptiesTank(faultsOf(t, drawn(t, l, 22))); len(bad) > 0 {
		t.Errorf("%q does not mend: %+v", off.Remedy, bad)
	}
}

// A hose that is off empties the source down to the intake; what stands in the
// pipes and comes too late is kept.
func TestHoseOff(t *testing.T) {
	l := threeBedLoop(t, 3)
	s := drawn(t, l, 22)
	f := faultOf(faultsOf(t, s), HoseOff, "riser")
	about(t, "floor", f.FloorM3, 0.80*(0.55-usualIntakeM)-s.PipesM3(), 0.005)
	about(t, "low", f.SourceLowM, 0.05+usualIntakeM, 0.002)
	one := faultOf(faultsOf(t, s), HoseOff, "bed")
	if one == nil || one.About != "bed 1 to 3" && !strings.HasPrefix(one.About, "bed") || one.FloorM3 <= 0 {
		t.Errorf("%+v", one)
	}
}

// With its drain blocked a bed runs over; the second overflow that the remedy names
// takes it all.
func TestDrainBlocked(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.SumpM3, l.SumpDepthM = 0.80, 1.0
	f := faultOf(faultsOf(t, drawn(t, l, 22)), DrainBlocked, "bed")
	if f == nil || f.FloorM3 <= 0 || !strings.Contains(f.What, "runs over") {
		t.Fatalf("%+v", f)
	}
	for i := range l.Beds {
		l.Beds[i].SpillM = number(t, lengthIn, f.Remedy) / 1000
	}
	if f := faultOf(faultsOf(t, drawn(t, l, 22)), DrainBlocked, "bed"); f == nil || f.FloorM3 != 0 {
		t.Errorf("%+v", f)
	}
}

func TestFaultsOfTheDemoBuilding(t *testing.T) {
	demo := sample(t)
	for i := range demo.Loops {
		l := &demo.Loops[i]
		s, err := Draw(l, Settings{TempC: TempOf(l)})
		if err != nil {
			t.Fatal(err)
		}
		all := faultsOf(t, s)
		seen := map[string]bool{}
		for _, f := range all {
			plain(t, f.What, f.Remedy, f.Caution)
			if f.What == "" || f.Remedy == "" || f.About == "" || f.Field == "" || f.State == "" || seen[f.ID] || len(f.Tanks) != len(l.Tanks) {
				t.Errorf("not whole: %+v", f)
			}
			seen[f.ID] = true
			if math.IsNaN(f.DryH) || math.IsNaN(f.FloorM3) || math.IsNaN(f.SourceLowM+f.SourceHighM) || f.FloorM3 < 0 {
				t.Errorf("no number: %+v", f)
			}
			if f.FishTank != "" != (f.FishCase == fishInlet) {
				t.Errorf("%s: case %q, tank %q", f.ID, f.FishCase, f.FishTank)
			}
		}
		for _, kind := range []FaultKind{ValveOpen, ValveShut, NeverStarted, NeverStopped, DrainBlocked, HoseOff, PumpLost, PowerCut, TankPipeOff, RunsDry} {
			if !slices.ContainsFunc(all, func(f Fault) bool { return f.Kind == kind }) {
				t.Errorf("%s: nothing on %s", l.Name, kind)
			}
		}
		again, err := s.Faults(nil)
		if err != nil {
			t.Fatal(err)
		}
		one, err1 := json.Marshal(all)
		two, err2 := json.Marshal(again)
		if err1 != nil || err2 != nil || string(one) != string(two) {
			t.Errorf("not the same twice: %v, %v", err1, err2)
		}
	}
}

func TestFaultJSON(t *testing.T) {
	out, err := json.Marshal([]Fault{{ID: "a", DryH: 3.5}, {ID: "b", DryH: math.Inf(1)}})
	if err != nil {
		t.Fatal(err)
	}
	if text := string(out); !strings.Contains(text, `"dryH":3.5`) || !strings.Contains(text, `"dryH":null`) || !strings.Contains(text, `"id":"a"`) {
		t.Error(text)
	}
}

// What runs onto the floor never exceeds the loop's water, with the water that
// someone added in the power cut: loops by chance, the same each time.
func TestFloorNeverExceedsTheWater(t *testing.T) {
	chance := rand.New(rand.NewPCG(7, 11))
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*chance.Float64() }
	maybe := func() bool { return chance.IntN(2) == 0 }
	done := 0
	for range 14 {
		depth, area := between(0.3, 1), between(0.5, 2)
		var l *site.Loop
		if maybe() {
			l = fishLoop(t, between(-0.39, 0.4))
		} else {
			l = threeBedLoop(t, between(1, 8))
			l.SumpM3, l.SumpDepthM = area*depth, depth
			l.SumpRimM = l.SumpLevelM + between(0.02, 0.4)
			if maybe() {
				l.Pipes = append(l.Pipes,
					site.Pipe{Name: "to fish", From: "N2", To: "fish", DiameterM: 0.0158, LengthM: 2, EndsAtM: at(between(0.2, 1.4))},
					site.Pipe{Name: "overflow", From: "fish", To: "sump", DiameterM: 0.05, LengthM: 1, EmptiesTo: at(between(0.1, 0.99))})
			}
		}
		for i := range l.Beds {
			if maybe() {
				l.Beds[i].SpillM = 0.05
			}
		}
		s, err := Draw(l, Settings{TempC: 22})
		if err != nil {
			t.Fatal(err)
		}
		all, err := s.Faults(nil)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		done++
		water := l.SumpM3
		for _, tank := range l.Tanks {
			water += tank.VolumeM3
		}
		added := s.PipesM3()
		for i := range s.Beds {
			added += s.Beds[i].floodM3()
		}
		for _, f := range all {
			most := water
			if f.Kind == PowerCut {
				most += added
			}
			if !(f.FloorM3 >= 0 && f.FloorM3 <= most+1e-6) {
				t.Errorf("%s: %g m³ on the floor, of %g", f.ID, f.FloorM3, most)
			}
			for _, low := range f.Tanks {
				if !(low.Share >= -1e-9 && low.Share <= 1+1e-9) {
					t.Errorf("%s: %+v", f.ID, low)
				}
			}
			plain(t, f.What, f.Remedy)
		}
	}
	if done < 10 {
		t.Errorf("%d loops only", done)
	}
}

// By hand: half of 0.10 of 0.30 m is 15 mm, at 0.5 mm an hour 30 h by day and 250 by
// night, at 20 °C; common practice, no source.
func TestDryOut(t *testing.T) {
	for _, row := range []struct {
		way   Way
		media string
		night bool
		want  float64
	}{
		{Siphons, "expanded clay (LECA) 8-20 mm", false, 30}, {Siphons, "expanded clay (LECA) 8-20 mm", true, 250},
		{Timer, "river gravel 10-20 mm", false, 9}, {Filming, "", false, 1.6}, {Watering, "", false, 135}, {Unknown, "unheard of", false, 15},
	} {
		got, why := DryOutH(row.way, row.media, 20, row.night)
		about(t, string(row.way)+" "+row.media, got, row.want, 0.01*row.want)
		plain(t, why)
	}
	for _, way := range []Way{Floating, Constant} {
		if h, why := DryOutH(way, "", 20, false); !math.IsInf(h, 1) || why == "" {
			t.Errorf("%s: %g, %s", way, h, why)
		}
	}
	for _, bad := range []float64{math.NaN(), -1, 46, math.Inf(1)} {
		if h, why := DryOutH(Filming, "", bad, false); h != 0 || why == "" {
			t.Errorf("%g °C: %g h", bad, h)
		}
	}
	cool, _ := DryOutH(Filming, "", 10, false)
	warm, _ := DryOutH(Filming, "", 30, false)
	if !(cool > warm) {
		t.Errorf("cool %g h, warm %g h", cool, warm)
	}
}

func BenchmarkFaults(b *testing.B) {
	s := drawn(b, threeBedLoop(b, 3), 22)
	for b.Loop() {
		faultsOf(b, s)
	}
}
