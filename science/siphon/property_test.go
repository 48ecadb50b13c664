package siphon_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/numeric/ode"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

// drawn is a siphon of possible measures with its bed.
func drawn(t *rapid.T) *siphon.Works {
	between := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	crest := between(0.12, 0.40, "crest")
	s := siphon.Siphon{
		Pipe:   pipeOf(between(0.012, 0.060, "bore"), between(0.8, 2, "length"), between(3, 12, "K")),
		CrestM: crest, BreakM: between(0.01, 0.6, "break") * crest, OutletM: -between(0.2, 1, "drop"),
	}
	if rapid.Bool().Draw(t, "two diameters") {
		s.Pipe.K, s.Lower = 3, pipeOf(s.Pipe.DiameterM*between(1, 2, "wider"), 0.5, 1.9)
	}
	if rapid.Bool().Draw(t, "reducer") {
		s.CrestDiameterM, s.ReducerM = 1.6*s.Pipe.DiameterM, 0.02
	}
	b := siphon.Bed{AreaM2: between(0.2, 6, "area"), Drainable: between(0.2, 0.5, "porosity"), GuardM2: 0.01, RimM: crest + 0.08}
	k, err := siphon.New(b, s, between(1, 44, "temp"))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// A cycle balances; it lets out at least what stands between crest and break;
// more inflow fills sooner and drains later.
func TestCycleProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawn(t)
		lo, hi := k.Window()
		if lo >= hi {
			return
		}
		part := func(name string) float64 { return lo + (hi-lo)*rapid.Float64Range(0.001, 0.999).Draw(t, name) }
		a, b := part("inflow"), part("other inflow")
		less, more := must(k.Cycle(min(a, b))), must(k.Cycle(max(a, b)))
		for i, c := range []siphon.Cycle{less, more} {
			q := []float64{min(a, b), max(a, b)}[i]
			if !c.Verdict.Cycles() {
				t.Fatalf("%g m3/s between %g and %g: %s", q, lo, hi, c.Verdict)
			}
			if d := math.Abs(c.DischargedM3/(q*c.PeriodS) - 1); !(d < 1e-9) {
				t.Fatalf("%g m3/s: discharged %.12g, came %.12g", q, c.DischargedM3, q*c.PeriodS)
			}
			if s := k.Siphon(); c.DischargedM3 < k.WaterM3(s.CrestM-s.BreakM) {
				t.Fatalf("discharged %g of %g", c.DischargedM3, k.WaterM3(s.CrestM-s.BreakM))
			}
			last := c.Course[len(c.Course)-1]
			if math.Abs(last.TimeS-c.PeriodS) > 1e-6*c.PeriodS || math.Abs(last.LevelM-k.Siphon().BreakM) > 1e-6 {
				t.Fatalf("the course ends at %+v, period %g", last, c.PeriodS)
			}
		}
		if less.FillS < more.FillS || less.DrainS > more.DrainS {
			t.Fatalf("fill %g then %g, drain %g then %g", less.FillS, more.FillS, less.DrainS, more.DrainS)
		}
	})
}

// The verdicts follow each other as the inflow grows, and flow and level over
// the crest are each other's inverse.
func TestOrder(t *testing.T) {
	rank := map[siphon.Verdict]int{siphon.WillNotStart: 0, siphon.Doubtful: 1, siphon.ShouldStart: 2, siphon.Starts: 3, siphon.NeverStops: 4, siphon.Overflows: 5}
	rapid.Check(t, func(t *rapid.T) {
		k := drawn(t)
		_, hi := k.Window()
		last, lastRest := -1, 0.0
		for i := range 60 {
			q := hi * 2 * float64(i) / 60
			j := must(k.Judge(q))
			if rank[j.Verdict] < last {
				t.Fatalf("%g m3/s: %s after rank %d", q, j.Verdict, last)
			}
			last = rank[j.Verdict]
			level := k.LevelM(q)
			if level < lastRest {
				t.Fatalf("%g m3/s: level %g below %g", q, level, lastRest)
			}
			lastRest = level
			if q > 0 && level < 10 && math.Abs(k.CrestM3s(level)/q-1) > 1e-6 {
				t.Fatalf("%g m3/s: at its level %g", q, k.CrestM3s(level))
			}
			if full := k.EqualM(q); full > k.Siphon().OutletM && math.Abs(k.FullM3s(full)/q-1) > 1e-9 {
				t.Fatalf("%g m3/s: full %g", q, k.FullM3s(full))
			}
		}
	})
}

// A course under any pulses balances, stays in the bed, and is the same however
// it is cut into pieces.
func TestCourseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawn(t)
		_, hi := k.Window()
		var pulses []siphon.Pulse
		for range rapid.IntRange(1, 4).Draw(t, "pulses") {
			p := siphon.Pulse{ForS: rapid.Float64Range(30, 3000).Draw(t, "seconds")}
			if rapid.Bool().Draw(t, "on") {
				p.M3s = hi * rapid.Float64Range(0, 1.6).Draw(t, "inflow")
			}
			pulses = append(pulses, p)
		}
		from := siphon.State{LevelM: k.Bed().RimM * rapid.Float64Range(0, 1).Draw(t, "level"), Running: rapid.Bool().Draw(t, "running")}
		l := must(k.Run(from, pulses, 20000, true))
		turned := l.InM3 + k.WaterM3(1)
		if d := l.InM3 - l.OutM3 - l.SpilledM3 - k.WaterM3(l.End.LevelM-from.LevelM); !(math.Abs(d) < 1e-9*turned) {
			t.Fatalf("%g m3 of %g do not balance", d, turned)
		}
		at := -1.0
		for _, p := range l.Points {
			if p.TimeS < at || p.LevelM < 0 || p.LevelM > k.Bed().RimM || p.OutM3s < 0 {
				t.Fatalf("point %+v after %g s", p, at)
			}
			at = p.TimeS
		}
		cut := siphon.State{LevelM: from.LevelM, Running: from.Running}
		var starts int
		for left, i := 20000.0, 0; left > 0; i++ {
			p := pulses[i%len(pulses)]
			s := min(p.ForS, left)
			for range 3 {
				done := must(k.Advance(&cut, p.M3s, s/3, nil))
				starts += done.Starts
			}
			left -= s
		}
		if math.Abs(cut.LevelM-l.End.LevelM) > 1e-6 || starts != l.Starts {
			t.Fatalf("in pieces %+v with %d starts, whole %+v with %d", cut, starts, l.End, l.Starts)
		}
	})
}

// The course beside the general integrator with events: an independent way
// through the same equations.
func TestCourseBesideIntegrator(t *testing.T) {
	for _, of := range []func() (siphon.Bed, siphon.Siphon){g1, g2, g3, twoDiameters} {
		k := works(t, of)
		startM3s, breakM3s := k.Window()
		q, running := 0.5*(startM3s+breakM3s), false
		var times []float64
		v := must(ode.New(ode.Problem{
			N: 1, NQ: 1, Autonomous: true,
			F: func(_ float64, y, dy []float64) error {
				out := k.CrestM3s(y[0])
				if running {
					out = k.FullM3s(y[0])
				}
				dy[0] = (q - out) / k.Bed().FreeM2()
				return nil
			},
			Quad: func(_ float64, y, dq []float64) error {
				dq[0] = k.CrestM3s(y[0])
				if running {
					dq[0] = k.FullM3s(y[0])
				}
				return nil
			},
			Events: []ode.Event{
				{Name: "crest", Direction: 1, Stop: true, Root: func(_ float64, y []float64) float64 { return y[0] - k.Siphon().CrestM }},
				{Name: "start", Direction: 1, Stop: true, Root: func(_ float64, y []float64) float64 { return y[0] - k.StartLevelM() }},
				{Name: "break", Direction: -1, Stop: true, Root: func(_ float64, y []float64) float64 { return y[0] - k.Siphon().BreakM }},
			},
		}, ode.Settings{RelTol: 1e-9, AbsTol: []float64{1e-10}}))
		if err := v.Start(0, []float64{0}); err != nil {
			t.Fatal(err)
		}
		for range 7 {
			out, err := v.Advance(1e5)
			if err != nil {
				t.Fatal(err)
			}
			if out.Event == 1 {
				running = true
			} else if out.Event == 2 {
				running = false
			}
			times = append(times, out.T)
			_, y := v.State()
			if err := v.Start(out.T, []float64{y[0]}); err != nil {
				t.Fatal(err)
			}
		}
		l := must(k.Run(siphon.State{}, []siphon.Pulse{{M3s: q, ForS: 1e6}}, times[len(times)-1]+1, true))
		var got []float64
		for _, p := range l.Points {
			if p.Event != siphon.None {
				got = append(got, p.TimeS)
			}
		}
		if len(got) != len(times) {
			t.Fatalf("%d events, the integrator found %d", len(got), len(times))
		}
		for i := range got {
			near(t, "event", got[i], times[i], 1e-4*times[0])
		}
	}
}

// A siphon with other losses, timed, is found again.
func TestCalibrateFinds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := drawn(t)
		s := k.Siphon()
		rough := s
		rough.Pipe.K = 5
		b := k.Bed()
		seconds := must(k.DrainS(s.CrestM, s.BreakM, 0))
		c, err := siphon.Calibrate(b, rough, 22, s.CrestM, s.BreakM, must(must(siphon.New(b, s, 22)).DrainS(s.CrestM, s.BreakM, 0)))
		if err != nil {
			t.Fatalf("%g s: %v", seconds, err)
		}
		if math.Abs(c.Siphon.Pipe.K-s.Pipe.K) > 1e-6 {
			t.Fatalf("K %g, want %g", c.Siphon.Pipe.K, s.Pipe.K)
		}
		if c.KTotal <= s.Pipe.K || (c.StandardMul > 1) != (s.Pipe.K > 5) && s.Pipe.K != 5 {
			t.Fatalf("%+v for K %g", c, s.Pipe.K)
		}
	})
}

// Worked by hand: bucket, porosity and what fills it; a measured start overrides.
func TestMeasured(t *testing.T) {
	near(t, "bucket", must(siphon.BucketM3s(0.010, 50)), 0.2e-3, 1e-15)
	near(t, "drained", must(siphon.Drainable(0.0109045, 0.60, 0.0095, 0.07, 0.03)), (0.0109045/0.04-0.0095)/0.5905, 1e-12)
	near(t, "pores", must(siphon.PoreLeft(0.45, 0.30, 0.03)), 0.35, 1e-12)

	b, s := g2()
	near(t, "dead water", must(siphon.New(b, s, tempC)).DeadM3(), 0.545225*0.03, 1e-12)
	for _, row := range []struct {
		measured, inflow float64
		want             siphon.Verdict
	}{
		{0, 7, siphon.Doubtful}, {6, 7, siphon.Starts}, {12, 11, siphon.WillNotStart}, {0, 11, siphon.ShouldStart}, {12, 13, siphon.Starts},
	} {
		s.StartM3s = row.measured * lMin
		if j := must(must(siphon.New(b, s, tempC)).Judge(row.inflow * lMin)); j.Verdict != row.want {
			t.Errorf("start measured at %g, inflow %g L/min: %s, want %s", row.measured, row.inflow, j.Verdict, row.want)
		}
	}
	startM3s, breakM3s, err := siphon.Window(b, s, tempC)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "start as measured", startM3s/lMin, 12, 1e-12)
	near(t, "break", breakM3s/lMin, 40.289, 6e-4)
}

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	for name, change := range map[string]func(*siphon.Bed, *siphon.Siphon, *float64){
		"area":            func(b *siphon.Bed, _ *siphon.Siphon, _ *float64) { b.AreaM2 = 0 },
		"area NaN":        func(b *siphon.Bed, _ *siphon.Siphon, _ *float64) { b.AreaM2 = nan },
		"porosity 0":      func(b *siphon.Bed, _ *siphon.Siphon, _ *float64) { b.Drainable = 0 },
		"porosity 1":      func(b *siphon.Bed, _ *siphon.Siphon, _ *float64) { b.Drainable = 1 },
		"guard":           func(b *siphon.Bed, _ *siphon.Siphon, _ *float64) { b.GuardM2 = 1.3 },
		"rim":             func(b *siphon.Bed, _ *siphon.Siphon, _ *float64) { b.RimM = 0.22 },
		"bore":            func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.Pipe.DiameterM = 0 },
		"length":          func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.Pipe.LengthM = 0 },
		"K":               func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.Pipe.K = -1 },
		"roughness":       func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.Pipe.RoughnessM = 0.003 },
		"lower":           func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.Lower.LengthM = 1 },
		"crest":           func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.CrestM = math.Inf(1) },
		"narrow crest":    func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.CrestDiameterM = 0.02 },
		"break at crest":  func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.BreakM = 0.22 },
		"outlet at break": func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.OutletM = 0.03 },
		"boiling crest":   func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.OutletM, s.Pipe.K = -15, 1 },
		"start":           func(_ *siphon.Bed, s *siphon.Siphon, _ *float64) { s.StartM3s = nan },
		"cold":            func(_ *siphon.Bed, _ *siphon.Siphon, c *float64) { *c = -0.1 },
		"hot":             func(_ *siphon.Bed, _ *siphon.Siphon, c *float64) { *c = 45.1 },
	} {
		b, s := g2()
		c := 22.0
		change(&b, &s, &c)
		_, err := siphon.New(b, s, c)
		refused(t, name, err)
	}
	k := works(t, g2)
	for _, q := range []float64{-1e-9, nan, math.Inf(1), 1.1} {
		_, err := k.Cycle(q)
		refused(t, "inflow", err)
		_, err = k.Run(siphon.State{}, []siphon.Pulse{{M3s: q, ForS: 10}}, 10, false)
		refused(t, "pulse", err)
	}
	for _, l := range []siphon.State{{LevelM: -0.1}, {LevelM: 0.28}, {LevelM: nan}} {
		_, err := k.Advance(&l, 1e-4, 10, nil)
		refused(t, "level", err)
	}
	_, err := k.Run(siphon.State{}, nil, 10, false)
	refused(t, "no pulse", err)
	_, err = k.Run(siphon.State{}, []siphon.Pulse{{M3s: 1e-4}}, 10, false)
	refused(t, "pulse of no length", err)
	_, err = k.Run(siphon.State{}, []siphon.Pulse{{M3s: 1e-4, ForS: 9}}, nan, false)
	refused(t, "no time", err)
	b, s := g2()
	for _, seconds := range []float64{0.01, 1, 30, 1e6, nan} {
		_, err = siphon.Calibrate(b, s, tempC, 0.22, 0.03, seconds)
		refused(t, "drain time", err)
	}
	_, err = siphon.Calibrate(b, s, tempC, 0.02, 0.03, 100)
	refused(t, "levels the wrong way", err)
	_, err = siphon.Drainable(0.4, 1, 0.01, 0.2, 0.1)
	refused(t, "more than all", err)
	_, err = siphon.PoreLeft(0.4, 0.3, 0.12)
	refused(t, "clogged", err)
	_, err = siphon.BucketM3s(0, 10)
	refused(t, "no bucket", err)
	_, err = siphon.Bell{GapM: nan}.Findings(s)
	refused(t, "gap", err)
	_, err = siphon.LeastBellM(0.03, 0.02)
	refused(t, "wall", err)
	_, err = siphon.Standpipe{Bed: b, DiameterM: 0.03, CrestM: 0.3}.Flood(1e-4)
	refused(t, "rim below the crest", err)
	near(t, "gravity", pipe.GravityMS2, 9.80665, 0)
}

// A day of one bed: steady, and in turns.
func BenchmarkDaySteady(b *testing.B) {
	k := works(b, g1)
	for b.Loop() {
		at := siphon.State{}
		if p, err := k.Advance(&at, 10*lMin, 86400, nil); err != nil || p.Breaks < 100 {
			b.Fatal(p, err)
		}
	}
	b.ReportAllocs()
}

func BenchmarkDayPulses(b *testing.B) {
	k := works(b, g2)
	pulses := []siphon.Pulse{{M3s: 24 * lMin, ForS: 300}, {M3s: 0, ForS: 900}}
	for b.Loop() {
		if l, err := k.Run(siphon.State{}, pulses, 86400, false); err != nil || l.Breaks < 70 {
			b.Fatal(l, err)
		}
	}
	b.ReportAllocs()
}

func BenchmarkDayDrawn(b *testing.B) {
	k := works(b, g2)
	for b.Loop() {
		if l, err := k.Run(siphon.State{}, []siphon.Pulse{{M3s: 20 * lMin, ForS: 1e6}}, 86400, true); err != nil || len(l.Points) < 500 {
			b.Fatal(len(l.Points), err)
		}
	}
	b.ReportAllocs()
}

// No step of a course allocates.
func TestNoAllocation(t *testing.T) {
	k := works(t, g1)
	at := siphon.State{}
	if n := testing.AllocsPerRun(5, func() {
		if _, err := k.Advance(&at, 10*lMin, 86400, nil); err != nil {
			t.Fatal(err)
		}
	}); n > 2 {
		t.Errorf("%g allocations in a day", n)
	}
}
