package plumbing

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/siphon"
	"tidebed/site"
)

// Reference run S7 of the plumbing sheet: three beds in turn, slots of 400 s,
// open 300 s: three floods an hour each, at most 109.0 L in the beds, 0.136 m of a
// sump of 0.80 m².
func TestRotationOfThreeBeds(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	q := []float64{24.81, 24.44, 23.45}
	p := rotation(t, s, 400, 300, q...)
	for i, want := range []float64{266.2, 270.3, 281.8} {
		about(t, "time to the start", p.Parts[0].Turns[i].FillS, want, 0.1)
	}
	c, err := s.run(p, RunOptions{Seconds: 3600}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	for i, wantEndS := range []float64{599.8, 597.6, 593.5} {
		b := &c.Beds[i]
		if b.Floods != 3 {
			t.Errorf("bed %d floods %d times, want 3", i+1, b.Floods)
		}
		// The valve shuts at 300 s, so the drain ends a little before the sheet's,
		// where it stays open.
		stop := math.NaN()
		for _, e := range c.Events {
			if e.Bed == i && e.What == Stopped {
				stop = e.AtS - p.Parts[0].Turns[i].AtS
				break
			}
		}
		if !(stop > p.Parts[0].Turns[i].FillS+100 && stop < wantEndS) {
			t.Errorf("bed %d: drained after %g s, want before %g", i+1, stop, wantEndS)
		}
		about(t, "drain as planned", stop, p.Parts[0].Turns[i].FillS+drainAfter(t, s, i, q[i], 300), 0.01)
	}
	about(t, "water in the beds", 1000*c.MostInBedsM3, 109.05, 0.1)
	about(t, "sump's swing", s.Source.SurfaceM-c.SourceLowM, (c.MostInBedsM3+s.PipesM3())/0.80, 1e-6)
	lowest := false
	for _, e := range c.Events {
		lowest = lowest || e.What == Started && math.Abs(e.AtS-c.LowAtS) < 1e-3
	}
	if !lowest {
		t.Errorf("the sump is lowest at %g s, when no siphon starts", c.LowAtS)
	}
	about(t, "sump's swing by the beds", c.MostInBedsM3/0.80, 0.136, 0.0005)
	about(t, "water pumped", c.PumpM3, 3*300*(q[0]+q[1]+q[2])*lMin, 1e-9)
	balanced(t, s, c)
}

// drainAfter is the drain of bed i with the valve shut after openS.
func drainAfter(t *testing.T, s *Scheme, i int, lmin, openS float64) float64 {
	t.Helper()
	c, err := s.Beds[i].Works.Cycle(lmin * lMin)
	if err != nil {
		t.Fatal(err)
	}
	d, err := drainOf(&s.Beds[i], &c, lmin*lMin, 0, openS-c.FillS)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// S7, open for volume over flow: the first opening of each bed falls short, and
// all three stand full; 315 L are in them when the next begins. The sheet says that no bed ever floods after
// that; by its own equations the next opening starts the siphon, for the bed
// stands at the crest and the inflow exceeds the start flow: every second opening
// floods.
func TestRotationBelowTheStart(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	q := []float64{24.81, 24.44, 23.45}
	p := rotation(t, s, 400, 262, q...)
	first, err := s.run(p, RunOptions{Seconds: 1200}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	about(t, "water in the beds after the first openings", 1000*first.MostInBedsM3, 310.8, 1.5) // at their crests
	c, err := s.run(p, RunOptions{Seconds: 4 * 3600}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Beds {
		if first.Beds[i].Floods != 0 {
			t.Errorf("bed %d floods in the first cycle", i+1)
		}
		if c.Beds[i].Floods != 6 {
			t.Errorf("bed %d floods %d times in 12 openings, want 6", i+1, c.Beds[i].Floods)
		}
	}
	about(t, "most water in the beds", 1000*c.MostInBedsM3, 315, 0.5)
	balanced(t, s, c)
}

// S7, all open together 620 s of 1200 s.
func TestAllTogether(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	q := []float64{13.46, 12.49, 9.92}
	p := rotation(t, s, 1200, 620, q[0])
	p.Parts[0].Turns = rotation(t, s, 1200, 620, q...).Parts[0].Turns
	for i := range p.Parts[0].Turns {
		p.Parts[0].Turns[i].AtS = 0
	}
	p.Parts[0].Groups = [][]int{{0, 1, 2}}
	c, err := s.run(p, RunOptions{Seconds: 3600}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []int{3, 3, 2} {
		if c.Beds[i].Floods != want {
			t.Errorf("bed %d floods %d times in the first hour, want %d", i+1, c.Beds[i].Floods, want)
		}
	}
	about(t, "water in the beds", 1000*c.MostInBedsM3, 295, 1)
	balanced(t, s, c)
}

// balanced holds the water of a course: what is in the source, the beds, on the
// floor and in the soil is what there was.
func balanced(t testing.TB, s *Scheme, c *Course) {
	t.Helper()
	if d := lostM3(s, c); !(math.Abs(d) <= 1e-9) {
		t.Errorf("%.3g m³ are made or lost", d)
	}
}

func lostM3(s *Scheme, c *Course) float64 {
	sum := (c.SourceEndM-s.Source.BottomM)*s.Source.AreaM2 + s.PipesM3() + c.FloorM3 + c.SoilM3 - c.ToppedM3 - s.Source.VolumeM3
	for i := range c.Beds {
		if b := &s.Beds[i]; b.holds() {
			sum += b.FreeM2() * (c.Beds[i].EndM - b.drainedM())
		}
	}
	return sum
}

// S8 of the plumbing sheet: sump of 0.80 m² with 0.55 m of water, the beds drained:
// 0.410 m at the lowest with one bed at a time, a riser of 6 m full; 0.137 m with
// all three beds full.
func TestSumpLevels(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 6), 22)
	riserM3 := 6 * math.Pi / 4 * 0.02664 * 0.02664
	otherM := (s.PipesM3() - riserM3) / 0.80 // of the header and the branches, which the sheet leaves out
	q := []float64{24.81, 24.44, 23.45}
	c, err := s.run(rotation(t, s, 400, 300, q...), RunOptions{Seconds: 3600}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	about(t, "one at a time", c.SourceLowM-s.Source.BottomM+otherM, 0.410, 0.0005)
	full := s.Beds[0].Works.StartLevelM()
	c, err = s.run(rotation(t, s, 400, 300, q...), RunOptions{Seconds: 60, Levels: []float64{full, full, full}, Faults: &Broken{PumpOffToS: 60, Blocked: []int{0, 1, 2}}}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	about(t, "all three full", c.SourceLowM-s.Source.BottomM+otherM, 0.137, 0.0005)
	about(t, "water in them", 1000*c.MostInBedsM3, 327.1, 0.1)
}

// A bed whose pipe always flows has the period of its siphon's cycle; S4 of the
// plumbing sheet: 813.3, 601.0 and 910.6 s with 11, 25 and 35 L/min.
func TestSteadyPeriod(t *testing.T) {
	l := threeBedLoop(t, 3)
	for i := range l.Pipes {
		l.Pipes[i].Valve = ""
	}
	s := drawn(t, l, 22)
	p := planned(t, s, Goal{})
	q := []float64{11, 25, 35}
	const hours = 6
	c, err := s.run(p, RunOptions{Seconds: hours * 3600}, func(_ Valves, branchM3s []float64) {
		for i := range branchM3s {
			branchM3s[i] = q[i] * lMin
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{813.3, 601.0, 910.6} {
		cycle, err := s.Beds[i].Works.Cycle(q[i] * lMin)
		if err != nil {
			t.Fatal(err)
		}
		var starts []float64
		for _, e := range c.Events {
			if e.Bed == i && e.What == Started {
				starts = append(starts, e.AtS)
			}
		}
		period := (starts[len(starts)-1] - starts[0]) / float64(len(starts)-1)
		about(t, "period", period, cycle.PeriodS, 1e-4)
		about(t, "period by the sheet", period, want, 0.2)
		if n := 1 + int((hours*3600-cycle.FillS)/cycle.PeriodS); c.Beds[i].Floods != n || len(starts) != n {
			t.Errorf("%g L/min: %d floods, %d starts told, want %d", q[i], c.Beds[i].Floods, len(starts), n)
		}
		about(t, "first start", c.Beds[i].FirstStartS, cycle.FillS, 1e-4)
		about(t, "longest between", c.Beds[i].LongestDryS, cycle.PeriodS, 1e-4)
		about(t, "high", c.Beds[i].HighM, cycle.StartLevelM, 1e-6)
	}
	balanced(t, s, c)
}

// The fine steps agree with the exact times of a standpipe.
func TestTimerBedCourse(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Beds[0].Siphon = nil
	l.Beds[0].Standpipe = &site.Standpipe{BoreM: 0.050, CrestM: 0.22, WeepM: 0.008, WeepAt: 0.01}
	l.Beds[1].Siphon, l.Beds[1].Kind = nil, "constant"
	l.Beds[1].Standpipe = &site.Standpipe{BoreM: 0.050, CrestM: 0.20}
	s := drawn(t, l, 22)
	const openS = 1200
	p := rotation(t, s, 7200, openS, 20, 20)
	for i := range p.Parts[0].Turns {
		p.Parts[0].Turns[i].AtS = 0
	}
	p.Parts[0].CycleS = 12000
	b := &s.Beds[0]
	flood, err := b.Stand.Flood(20 * lMin)
	if err != nil {
		t.Fatal(err)
	}
	drain, err := b.Stand.DrainS(0.22, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	// The longest step is taken here too: one of 300 s by the runner, of 2 mm or 10 s in the bed.
	c, err := s.run(p, RunOptions{Seconds: openS, FromH: 24, Trace: []int{0}}, given(s, 20, 20, 0))
	if err != nil {
		t.Fatal(err)
	}
	about(t, "fill", c.Beds[0].FirstStartS, flood.FillS, 0.05)
	about(t, "level held", c.Beds[0].EndM, flood.HoldM, 1e-5)
	if c.Beds[0].Floods != 1 || len(c.Beds[0].Points) < 4 || c.Beds[1].Floods != 1 {
		t.Errorf("%+v", c.Beds)
	}
	constant, err := s.Beds[1].Stand.Flood(20 * lMin)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "level of the constant bed", c.Beds[1].EndM, constant.HoldM, 1e-5)
	balanced(t, s, c)
	// Above the crest it falls to it in a few seconds more than not at all.
	c, err = s.run(p, RunOptions{Seconds: openS + drain + 120, FromH: 24}, given(s, 20, 20, 0))
	if err != nil {
		t.Fatal(err)
	}
	about(t, "empty", c.Beds[0].EndM, 0.01, 1e-9)
	c, err = s.run(p, RunOptions{Seconds: drain / 2, FromH: 24, Levels: []float64{0.22, 0.20, 0}, Faults: &Broken{PumpOffToS: drain}}, given(s, 20, 20, 0))
	if err != nil {
		t.Fatal(err)
	}
	// Half the time takes the root of the head to the half.
	about(t, "half-way", c.Beds[0].EndM, 0.01+0.21/4, 1e-9)
	about(t, "the constant bed", c.Beds[1].EndM, 0.20, 1e-12)
	balanced(t, s, c)
}

func TestBrokenThings(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	p := planned(t, s, Goal{PerHour: 3})
	run := func(f *Broken) *Course {
		c, err := s.Run(p, RunOptions{Seconds: 6 * 3600, Faults: f})
		if err != nil {
			t.Fatal(err)
		}
		balanced(t, s, c)
		return c
	}
	if c := run(nil); c.Beds[0].Floods != 18 || c.FloorM3 != 0 || c.DrySeconds != 0 || c.AgainstShutS != 0 {
		t.Errorf("with nothing broken: %+v", c)
	}
	if c := run(&Broken{NeverStarts: []int{0}}); c.Beds[0].Floods != 0 || c.Beds[0].HighM < 0.22 || c.Beds[1].Floods != 18 {
		t.Errorf("never starts: %+v", c.Beds)
	}
	if c := run(&Broken{NeverStops: []int{1}}); c.Beds[1].Floods != 1 || c.Beds[1].EndM > 0.03 || !c.Beds[1].EndRunning || c.Beds[0].Floods != 18 {
		t.Errorf("never stops: %+v", c.Beds)
	}
	c := run(&Broken{Blocked: []int{2}})
	if b := &c.Beds[2]; b.Floods != 0 || b.HighM != 0.27 || b.SpilledM3 <= 0 || math.Abs(c.FloorM3-b.SpilledM3) > 1e-12 {
		t.Errorf("blocked: %+v", c)
	}
	if c.DrySeconds == 0 || c.SourceLowM > s.Source.IntakeM+0.02 {
		t.Errorf("blocked: the sump is pumped onto the floor, yet the pump does not run dry: %+v", c)
	}
	if c := run(&Broken{Shut: s.Timed()}); c.PumpM3 != 0 || c.Beds[0].Floods != 0 || c.AgainstShutS < 3600 {
		t.Errorf("shut: %+v", c)
	}
	if c := run(&Broken{Open: s.Timed()[:1]}); c.Beds[0].InM3 < 1.5*c.Beds[1].InM3 || len(c.LeftOpen) == 0 || c.LeftOpen[0] != s.Timed()[0] {
		t.Errorf("open: %+v", c)
	}
	c = run(&Broken{HoseOff: s.Timed()[:1]})
	if c.Beds[0].InM3 != 0 || c.FloorM3 < 0.1 || c.DrySeconds == 0 {
		t.Errorf("hose off: %+v", c)
	}
	c = run(&Broken{PumpOffFromS: 3600, PumpOffToS: 3 * 3600})
	if c.Beds[0].Floods != 12 || c.Beds[0].LongestDryS < 7200 {
		t.Errorf("pump off: %+v", c.Beds[0])
	}
	// A spill pipe takes to the sump what would run over.
	s.Beds[2].In.SpillM = 0.05
	if c := run(&Broken{Blocked: []int{2}}); c.FloorM3 != 0 || c.Beds[2].SpilledM3 <= 0 || c.DrySeconds != 0 {
		t.Errorf("blocked with a spill pipe: %+v", c)
	}
	s.Beds[2].In.SpillM = 0
}

func TestRunRefusals(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	p := planned(t, s, Goal{})
	for name, o := range map[string]RunOptions{
		"no time": {}, "too long": {Seconds: 41 * 86400}, "no number": {Seconds: math.NaN()}, "hour": {Seconds: 60, FromH: 25},
		"levels": {Seconds: 60, Levels: []float64{0.1}}, "over the rim": {Seconds: 60, Levels: []float64{0.3, 0, 0}},
		"states": {Seconds: 60, Running: make([]bool, 4)}, "no such branch": {Seconds: 60, Faults: &Broken{Open: []int{9}}},
		"no such bed": {Seconds: 60, Faults: &Broken{Blocked: []int{3}}}, "backward": {Seconds: 60, Faults: &Broken{PumpOffFromS: 10, PumpOffToS: 5}},
	} {
		if _, err := s.Run(p, o); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
	if _, err := s.Run(nil, RunOptions{Seconds: 60}); err == nil {
		t.Error("no timetable is run")
	}
	other := *p
	other.Parts = []Part{{Name: "day and night", ToH: 24, CycleS: 60, Turns: []Turn{{Branch: 7}}}}
	if _, err := s.Run(&other, RunOptions{Seconds: 60}); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("another loop's timetable: %v", err)
	}
}

// Whatever beds there are and whatever breaks, water is neither made nor lost,
// levels stay between floor and rim, and the same run gives the same course.
func TestWaterIsKept(t *testing.T) {
	base := threeBedLoop(t, 3)
	rapid.Check(t, func(t *rapid.T) {
		l := *base
		l.Beds, l.Pipes = append([]site.Bed(nil), base.Beds...), append([]site.Pipe(nil), base.Pipes...)
		l.SumpM3 = rapid.Float64Range(0.1, 1.5).Draw(t, "sump")
		l.SumpRimM = 0.60 + rapid.Float64Range(0.01, 0.3).Draw(t, "rim")
		if rapid.Bool().Draw(t, "topped up") {
			l.Water = "mains"
		}
		n := len(l.Beds)
		for i := range l.Beds {
			b := &l.Beds[i]
			b.AreaM2 = rapid.Float64Range(0.3, 3).Draw(t, "area")
			switch rapid.SampledFrom([]string{"siphon", "siphon", "timer", "constant", "raft", "tub", "undrained"}).Draw(t, "kind") {
			case "timer":
				b.Siphon = nil
				b.Standpipe = &site.Standpipe{BoreM: rapid.Float64Range(0.015, 0.06).Draw(t, "bore"), CrestM: 0.2, WeepM: rapid.Float64Range(0.002, 0.012).Draw(t, "weep"), WeepAt: rapid.Float64Range(0, 0.1).Draw(t, "weep at")}
			case "constant":
				b.Siphon, b.Kind = nil, "constant"
				b.Standpipe = &site.Standpipe{BoreM: rapid.Float64Range(0.015, 0.06).Draw(t, "bore"), CrestM: 0.2}
			case "raft":
				b.Siphon, b.Kind = nil, "raft"
			case "tub":
				b.Siphon, b.Kind = nil, "tub"
			case "undrained":
				b.Siphon = nil
			}
			if rapid.Bool().Draw(t, "spill") {
				b.SpillM = 0.03
			}
			if rapid.IntRange(0, 3).Draw(t, "flows") == 0 {
				l.Pipes[3+i].Valve = ""
			}
		}
		s, err := Draw(&l, Settings{TempC: 22})
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Plan(Goal{PerHour: rapid.Float64Range(0.2, 6).Draw(t, "per hour"), Together: rapid.IntRange(1, 3).Draw(t, "together")})
		if err != nil {
			t.Fatal(err)
		}
		some := func(what string, of int) []int {
			return rapid.SliceOfNDistinct(rapid.IntRange(0, of-1), 0, 1, rapid.ID[int]).Draw(t, what)
		}
		f := &Broken{NeverStarts: some("never starts", n), NeverStops: some("never stops", n), Blocked: some("blocked", n), HoseOff: some("hose", n)}
		if timed := s.Timed(); len(timed) > 0 {
			f.Open = []int{timed[0]}
			if rapid.Bool().Draw(t, "shut") {
				f.Open, f.Shut = nil, f.Open
			}
		}
		if rapid.Bool().Draw(t, "power") {
			f.PumpOffFromS, f.PumpOffToS = 2000, 5000
		}
		o := RunOptions{Seconds: rapid.Float64Range(1, 6*3600).Draw(t, "seconds"), FromH: rapid.Float64Range(0, 24).Draw(t, "from")}
		if rapid.Bool().Draw(t, "all works") {
			f = nil
		}
		o.Faults = f
		c, err := s.Run(p, o)
		if err != nil {
			t.Fatal(err)
		}
		if d := lostM3(s, c); !(math.Abs(d) <= 1e-9) {
			t.Fatalf("%.3g m³ are made or lost", d)
		}
		pumped := 0.0
		for i := range c.Beds {
			b := &c.Beds[i]
			pumped += b.InM3
			if bed := &s.Beds[i]; bed.holds() && (b.LowM < -1e-12 || b.HighM > bed.Bed.RimM+1e-9) {
				t.Fatalf("level of bed %d from %g to %g m, rim %g", i, b.LowM, b.HighM, bed.Bed.RimM)
			}
			if b.OutM3 < -1e-9 || b.SpilledM3 < 0 {
				t.Fatalf("bed %d lets out %g m³, spills %g", i, b.OutM3, b.SpilledM3)
			}
		}
		if f == nil && math.Abs(pumped-c.PumpM3) > 1e-9 {
			t.Fatalf("%g m³ pumped, %g in the beds", c.PumpM3, pumped)
		}
		if c.SourceLowM < min(s.Source.IntakeM, s.Source.SurfaceM)-0.001 || c.SourceHighM > s.Source.RimM+1e-9 {
			t.Fatalf("source from %g to %g m, intake %g, rim %g", c.SourceLowM, c.SourceHighM, s.Source.IntakeM, s.Source.RimM)
		}
		// From the same beginning: the network starts from what it last solved.
		twin, err := Draw(&l, Settings{TempC: 22})
		if err != nil {
			t.Fatal(err)
		}
		if p, err = twin.Plan(p.Goal); err != nil {
			t.Fatal(err)
		}
		again, err := twin.Run(p, o)
		if err != nil {
			t.Fatal(err)
		}
		if again.PumpM3 != c.PumpM3 || again.SourceEndM != c.SourceEndM || len(again.Events) != len(c.Events) {
			t.Fatalf("the same run ends at %g m, then at %g m", c.SourceEndM, again.SourceEndM)
		}
	})
}

// dozen are twelve siphon beds on one pump.
func dozen(t testing.TB) *Scheme {
	l := sample(t).Loops[0]
	bed, feed := l.Beds[0], l.Pipes
	l.Beds, l.Pipes = nil, nil
	for _, p := range feed {
		if p.To != "tower bank" && p.From != "tower bank" && p.Valve != "timed" {
			l.Pipes = append(l.Pipes, p)
		}
	}
	for i := range 12 {
		bed.Name = "bed " + string(rune('a'+i))
		l.Beds = append(l.Beds, bed)
		l.Pipes = append(l.Pipes, site.Pipe{Name: "to " + bed.Name, From: "north header", To: bed.Name, DiameterM: 0.028, LengthM: float64(2 + i), Valve: "timed"})
	}
	return drawn(t, &l, 14)
}

func BenchmarkRunDayOfTwelve(b *testing.B) {
	s := dozen(b)
	p := planned(b, s, Goal{PerHour: 1, Together: 2})
	b.ReportAllocs()
	for b.Loop() {
		c, err := s.Clone().Run(p, RunOptions{Seconds: 86400})
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(c.Events)), "events")
	}
}

// All beds stand full, their siphons run, the pump is off: the sump takes what it
// can, the rest runs over.
func TestSumpRunsOver(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.SumpRimM = 0.61
	s := drawn(t, l, 22)
	p := planned(t, s, Goal{})
	full := s.Beds[0].Works.StartLevelM()
	// The loop's water is that of drained beds: so the source begins lower, and is
	// full again when they have drained. Below the break they hold water too.
	c, err := s.Run(p, RunOptions{Seconds: 1800, Levels: []float64{full, full, full}, Running: []bool{true, true, true}, Faults: &Broken{PumpOffToS: 1800}, Trace: []int{0, 1}})
	if err != nil {
		t.Fatal(err)
	}
	about(t, "source at the end", c.SourceEndM, s.Source.SurfaceM-s.PipesM3()/s.Source.AreaM2, 1e-9)
	about(t, "floor", c.FloorM3, 0, 0)
	about(t, "stop", c.Events[0].AtS, 140+5, 5) // from the crest 140.0 s by the sheet, here from a little higher
	points := c.Beds[0].Points
	for i := 1; i < len(points); i++ {
		if points[i].TimeS < points[i-1].TimeS || points[i].LevelM > points[i-1].LevelM+1e-12 {
			t.Fatalf("points %d: %+v after %+v", i, points[i], points[i-1])
		}
	}
	if n := len(points); n < 5 || points[n-1].LevelM != c.Beds[0].EndM || len(c.Beds[2].Points) != 0 {
		t.Errorf("%d points", n)
	}
	balanced(t, s, c)
	// Emptied below the break, that water is in the source too, and runs over.
	c, err = s.Run(p, RunOptions{Seconds: 60, Levels: []float64{0, 0, 0}, Faults: &Broken{PumpOffToS: 1800}})
	if err != nil {
		t.Fatal(err)
	}
	about(t, "over the rim", c.SourceOverM3, 3*s.Beds[0].FreeM2()*0.03-s.PipesM3()-0.01*s.Source.AreaM2, 1e-9)
	about(t, "floor", c.FloorM3, c.SourceOverM3, 1e-15)
	about(t, "end", c.SourceEndM, 0.61, 1e-12)
	balanced(t, s, c)
}

// What tubs take is topped up where the site names a water.
func TestTubsAreToppedUp(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Beds[2] = site.Bed{Name: "bed 3", Kind: "tub", AreaM2: 2, FloorM: 1}
	for _, water := range []string{"", "mains"} {
		l.Water = water
		s := drawn(t, l, 22)
		c, err := s.Run(planned(t, s, Goal{}), RunOptions{Seconds: 4 * 3600})
		if err != nil {
			t.Fatal(err)
		}
		want := 0.0
		if water != "" {
			want = c.SoilM3
		}
		if c.SoilM3 < 4*0.015 {
			t.Errorf("%g m³ into the tub", c.SoilM3)
		}
		about(t, "topped up", c.ToppedM3, want, 0)
		balanced(t, s, c)
	}
}

// Of beds that always flow one needs more than it gets to start.
func TestSteadyBedThatFails(t *testing.T) {
	l := threeBedLoop(t, 3)
	for i := range l.Pipes {
		l.Pipes[i].Valve = ""
	}
	l.Beds[1].Siphon.StartM3s = 30 * lMin
	s := drawn(t, l, 22)
	p := planned(t, s, Goal{})
	if p.Fits || len(p.Steady) != 3 || p.Steady[1].PerHour != 0 || p.Steady[1].Why == "" || p.Steady[0].PerHour < 3 {
		t.Fatalf("%+v", p.Steady)
	}
	c, err := s.Run(p, RunOptions{Seconds: 6 * 3600})
	if err != nil {
		t.Fatal(err)
	}
	if c.Beds[1].Floods != 0 || math.Abs(float64(c.Beds[0].Floods)/6-p.Steady[0].PerHour) > 0.1*p.Steady[0].PerHour { // the sump sinks by the water in the beds
		t.Errorf("%d and %d floods in 6 h, %g an hour planned", c.Beds[0].Floods, c.Beds[1].Floods, p.Steady[0].PerHour)
	}
	balanced(t, s, c)
}

// A bed filled out of a small sump: each stroke of the pump lifts from lower down.
// Held against an integration of our own in steps of 1 mm of the bed.
func TestFillFromASinkingSump(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.SumpM3 = 0.30 * 0.55
	l.Beds, l.Pipes = l.Beds[:1], append(l.Pipes[:4:4], l.Pipes[6])
	l.Pipes[3].OpenS = 2000
	s := drawn(t, l, 22)
	b := &s.Beds[0]
	flow := func(bedM3 float64) float64 {
		levelM := s.Source.SurfaceM - (bedM3+s.PipesM3())/s.Source.AreaM2
		// Between two whole millimetres, for which the network is solved.
		low := math.Floor(levelM*1000) / 1000
		a, err := s.Flow(maskOf(0), low)
		if err != nil {
			t.Fatal(err)
		}
		c, err := s.Flow(maskOf(0), low+0.001)
		if err != nil {
			t.Fatal(err)
		}
		w := (levelM - low) * 1000
		return (1-w)*a.BranchM3s[0] + w*c.BranchM3s[0]
	}
	const panels = 190
	seconds, stepM3 := 0.0, b.FreeM2()*(0.22-0.03)/panels
	for i := range panels {
		seconds += stepM3 / flow((float64(i)+0.5)*stepM3)
	}
	c, err := s.Run(planned(t, s, Goal{}), RunOptions{Seconds: 1200, Trace: []int{0}})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range c.Beds[0].Points {
		if p.Event == siphon.AtCrest {
			about(t, "time to the crest", p.TimeS, seconds, 2e-4*seconds)
			return
		}
	}
	t.Error("the water does not come to the crest")
}

// A pump that ran dry waits until its sump is 20 mm higher. Weep holes bring the
// water back.
func TestDryPumpWaits(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.SumpM3 = 0.30 * 0.55
	for i := range l.Beds {
		l.Beds[i].Siphon = nil
		l.Beds[i].Standpipe = &site.Standpipe{BoreM: 0.05, CrestM: 0.22, WeepM: 0.006}
		l.Pipes[3+i].Valve = ""
	}
	s := drawn(t, l, 22)
	c, err := s.Run(planned(t, s, Goal{}), RunOptions{Seconds: 2 * 3600})
	if err != nil {
		t.Fatal(err)
	}
	balanced(t, s, c)
	dryS, since, waits := 0.0, -1.0, 0
	for _, e := range c.Events {
		switch e.What {
		case RanDry:
			since = e.AtS
		case GotWater:
			// 20 mm of 0.30 m² through three holes of 6 mm under at most 0.24 m.
			if least := 0.020 * 0.30 / (3 * 0.62 * math.Pi / 4 * 36e-6 * math.Sqrt(2*9.80665*0.24)); e.AtS-since < least {
				t.Errorf("dry for %g s, at least %g are needed", e.AtS-since, least)
			}
			dryS += e.AtS - since
			since = -1
			waits++
		}
	}
	if since >= 0 {
		dryS += c.Seconds - since
	}
	if waits < 2 {
		t.Errorf("the pump finds water again %d times, want 2 or more", waits)
	}
	about(t, "seconds dry", c.DrySeconds, dryS, 1e-6)
}

// A turn that would not end within its part is left out.
func TestScheduled(t *testing.T) {
	p := &Timetable{Parts: []Part{
		{FromH: 22, ToH: 23, CycleS: 1900, Turns: []Turn{{Branch: 0, OpenS: 500}, {Branch: 1, AtS: 1000, OpenS: 800}}},
		{FromH: 23, ToH: 22, CycleS: 7200, Turns: []Turn{{Branch: 2, AtS: 100, OpenS: 50}}},
	}}
	for _, row := range []struct {
		atS  float64
		open Valves
		forS float64
	}{
		{0, 1, 500}, {499, 1, 1}, {500, 0, 500}, {1000, 2, 800}, {1800, 0, 100}, {1900, 1, 500}, {2900, 0, 700},
		{3600, 0, 100}, {3700, 4, 50}, {3750, 0, 7050}, {86399, 0, 1}, {86400, 1, 500},
	} {
		open, forS := p.scheduled(22, row.atS)
		if open != row.open || math.Abs(forS-row.forS) > 1e-6 {
			t.Errorf("at %g s: valves %b for %g s, want %b for %g", row.atS, open, forS, row.open, row.forS)
		}
	}
}

// How long a bed stands wet: with 25 L/min of S4 it rises in 264.1 s and sinks in
// 336.9 s.
func TestWetTime(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	c, err := s.run(rotation(t, s, 4000, 900, 25), RunOptions{Seconds: 4000, FromH: 24}, given(s, 25, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	b := &s.Beds[0]
	riseS := b.FreeM2() * 0.095 / (25 * lMin) // to half-way
	crestS := 2 * riseS
	start, stop := c.Events[0].AtS, c.Events[1].AtS
	if wet := c.Beds[0].LongestWetS; wet < start-riseS+50 || wet > stop-riseS || start < crestS {
		t.Errorf("wet for %g s; half full at %g s, starts at %g s, stops at %g s", wet, riseS, start, stop)
	}
	half, err := b.Works.DrainS(b.Works.StartLevelM(), 0.125, 25*lMin)
	if err != nil {
		t.Fatal(err)
	}
	// The crossing is put on a straight line within a step.
	about(t, "wet", c.Beds[0].LongestWetS, start+half-riseS, 15)
}
