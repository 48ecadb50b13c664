package plumbing

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/siphon"
	"tidebed/site"
)

func TestGoalDefaults(t *testing.T) {
	g := GoalOf(&site.Loop{})
	if want := (Goal{PerHour: 1, AtNight: 1, DayFromH: 6, DayToH: 22, Together: 1}); g != want {
		t.Errorf("%+v, want %+v", g, want)
	}
	g = GoalOf(&site.Loop{Timetable: &site.Timetable{PerHour: 2, DayToH: at(20), MarginS: 45, Together: 3}})
	if want := (Goal{PerHour: 2, AtNight: 2, DayFromH: 6, DayToH: 20, MarginS: 45, Together: 3}); g != want {
		t.Errorf("%+v, want %+v", g, want)
	}
	if DefaultGoal() != GoalOf(&site.Loop{}) || (Goal{}).filled() != DefaultGoal() {
		t.Errorf("%+v", DefaultGoal())
	}
	// Midnight is an hour, and stays one.
	g = GoalOf(&site.Loop{Timetable: &site.Timetable{PerHour: 2, AtNight: 1, DayFromH: at(0), DayToH: at(5)}})
	if want := (Goal{PerHour: 2, AtNight: 1, DayToH: 5, Together: 1}); g != want || g.filled() != want {
		t.Errorf("%+v, want %+v", g, want)
	}
	if err := g.Check(); err != nil {
		t.Error(err)
	}
	text, err := json.Marshal(g)
	if err != nil {
		t.Fatal(err)
	}
	var back Goal
	if err := json.Unmarshal(text, &back); err != nil || back.filled() != g {
		t.Errorf("%s: %+v, %v", text, back, err)
	}
	if g := (Goal{DayFromH: 7}).filled(); g.DayFromH != 7 || g.DayToH != 22 {
		t.Errorf("%+v", g)
	}
}

func TestGoalRefusals(t *testing.T) {
	for name, g := range map[string]Goal{
		"rare": {PerHour: 0.04}, "often": {PerHour: 13}, "night": {AtNight: math.Inf(1)}, "no number": {PerHour: math.NaN()},
		"backward": {DayFromH: 20, DayToH: 8}, "late": {DayFromH: 23.5}, "long margin": {MarginS: 3601}, "crowd": {Together: 25}, "below none": {Together: -1},
	} {
		if err := g.Check(); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
}

func TestNothingToPlan(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Pumps = nil
	s, err := Draw(l, Settings{TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Plan(Goal{}); !errors.Is(err, ErrUnpiped) {
		t.Errorf("error %v, want ErrUnpiped", err)
	}
	if _, err := s.Run(&Timetable{}, RunOptions{Seconds: 60}); !errors.Is(err, ErrUnpiped) {
		t.Errorf("error %v, want ErrUnpiped", err)
	}
}

// Network N2 of the plumbing sheet, one branch open at a time: EPANET 2.3 gives
// 24.813, 24.444 and 23.451 L/min; its g is 0.08 % larger. The sump's level is
// that of the drained beds there, so it is made wide here.
func TestInflowsOneAtATime(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.SumpM3 = 900
	p := planned(t, drawn(t, l, 20), Goal{PerHour: 3})
	for i, want := range []float64{24.813, 24.444, 23.451} {
		about(t, "inflow of "+p.Parts[0].Turns[i].Name, p.Parts[0].Turns[i].InflowM3s/lMin, want, 0.002*want)
	}
	p = planned(t, drawn(t, l, 20), Goal{PerHour: 3, Together: 3})
	for i, want := range []float64{13.4575, 12.4877, 9.9157} {
		about(t, "inflow with all open of "+p.Parts[0].Turns[i].Name, p.Parts[0].Turns[i].InflowM3s/lMin, want, 0.002*want)
	}
}

// S4 of the plumbing sheet, at 25 L/min: fill 264.1 s. S7: drains that end 599.8,
// 597.6 and 593.5 s after the break with the flow left on.
func TestTurnOfASiphon(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	turn := func(bed int, lmin, openS float64) Turn {
		b := s.Timed()[bed]
		s.Branches[b].Pipe.OpenS = openS
		defer func() { s.Branches[b].Pipe.OpenS = 0 }()
		u := Turn{Branch: b, Bed: bed, Name: "bed", InflowM3s: lmin * lMin}
		if err := s.judge(&u, Goal{}.filled()); err != nil {
			t.Fatal(err)
		}
		return u
	}
	u := turn(0, 25, 0)
	about(t, "fill", u.FillS, 264.1, 0.1)
	about(t, "margin: the larger of 30 s and a tenth", u.MarginS, 30, 1e-9)
	about(t, "open", u.OpenS, u.FillS+30, 1e-9)
	about(t, "volume over flow", u.ExactS, 109.05/25*60, 0.1)
	about(t, "start", u.StartM3s/lMin, 8.889, 0.001)
	about(t, "break", u.BreakM3s/lMin, 40.289, 0.002)
	if !u.Trips || u.Given || u.Verdict != siphon.Starts {
		t.Errorf("%+v", u)
	}
	about(t, "a tenth of a long fill", turn(0, 11, 0).MarginS, 61.83, 0.01)
	for i, row := range []struct{ lmin, endS float64 }{{24.81, 599.8}, {24.44, 597.6}, {23.45, 593.5}} {
		u := turn(i, row.lmin, 900)
		about(t, "end of the drain, the flow left on", u.FillS+u.DrainS, row.endS, 0.1)
	}
	for _, row := range []struct {
		lmin, openS float64
		trips       bool
		why         string
	}{
		{24.81, 300, true, ""}, {24.81, 260, false, "no longer than its volume over its flow"}, {24.81, 265, false, "shuts before its siphon starts"},
		{4, 0, false, "trickles over the crest"}, {7, 0, false, "no rule is sure"}, {12, 0, true, "should start"},
		{30, 900, true, "may dribble"}, {30, 0, true, ""}, {42, 0, true, "does not stop while its valve is open"}, {60, 0, false, "runs over its rim"}, {0, 0, false, "No water reaches"},
	} {
		u := turn(0, row.lmin, row.openS)
		if u.Trips != row.trips || !strings.Contains(u.Why, row.why) || (row.why == "") != (u.Why == "") {
			t.Errorf("%g L/min open %g s: trips %v, %q; want %v, %q", row.lmin, row.openS, u.Trips, u.Why, row.trips, row.why)
		}
		if u.Given != (row.openS > 0) {
			t.Errorf("%g L/min open %g s: given %v", row.lmin, row.openS, u.Given)
		}
	}
}

// The weep hole of S9: 8 mm, 0.54 m² of open water, 0.22 to 0.02 m in 2563.6 s.
func TestTurnOfATimerBed(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Beds[0].Siphon = nil
	l.Beds[0].AreaM2, l.Beds[0].Porosity = 1.2, 0.45
	l.Beds[0].Standpipe = &site.Standpipe{BoreM: 0.040, CrestM: 0.22, WeepM: 0.008, WeepAt: 0.0}
	s := drawn(t, l, 20)
	p := planned(t, s, Goal{PerHour: 0.5})
	u := p.Parts[0].Turns[0]
	if !u.Trips || u.Way != Timer {
		t.Fatalf("%+v", u)
	}
	f, err := s.Beds[0].Stand.Flood(u.InflowM3s)
	if err != nil {
		t.Fatal(err)
	}
	about(t, "fill", u.FillS, f.FillS, 1e-9)
	// From 0.22 m to empty: 2563.6 s × √0.22 / (√0.22 - √0.02).
	about(t, "drain", u.DrainS, 2563.6*math.Sqrt(0.22)/(math.Sqrt(0.22)-math.Sqrt(0.02)), 1)
	about(t, "rest", u.RestS, 7200-u.OpenS-u.DrainS, 1e-9)
	p = planned(t, s, Goal{PerHour: 1})
	if p.Fits || len(p.Why) != 1 || !strings.Contains(p.Why[0], "to fill and drain") {
		t.Errorf("a bed that drains in more than an hour floods each hour: %v %q", p.Fits, p.Why)
	}
	about(t, "floods that fit", p.MostPerHour, 3600/(u.OpenS+u.DrainS), 1e-9)
	l.Beds[0].Standpipe.WeepM = 0.025
	if u := planned(t, drawn(t, l, 20), Goal{}).Parts[0].Turns[0]; u.Trips || !strings.Contains(u.Why, "lets out all that comes in") {
		t.Errorf("%+v", u)
	}
}

func TestTooManyFloods(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	p := planned(t, s, Goal{PerHour: 6})
	part := &p.Parts[0]
	if p.Fits || part.CycleS <= 600 {
		t.Fatalf("%+v", p)
	}
	about(t, "cycle", part.CycleS, max(part.SlotsS, part.Turns[0].needsS(), part.Turns[1].needsS(), part.Turns[2].needsS()), 1e-9)
	about(t, "floods that fit", p.MostPerHour, 3600/part.CycleS, 1e-9)
	again := planned(t, s, Goal{PerHour: p.MostPerHour * 0.9999})
	if !again.Fits {
		t.Errorf("a little less than what fits does not: %q", again.Why)
	}
	if w := p.Why[0]; !strings.Contains(w, "at most 3.6 floods an hour fit") && !strings.Contains(w, "at most 3.7 floods an hour fit") && !strings.Contains(w, "at most 3.8 floods an hour fit") {
		t.Errorf("%q", w)
	}
}

func TestDayAndNight(t *testing.T) {
	s := drawn(t, threeBedLoop(t, 3), 22)
	p := planned(t, s, Goal{PerHour: 3, AtNight: 1})
	if len(p.Parts) != 2 || p.Parts[0].Name != "day" || p.Parts[1].Name != "night" || p.Parts[1].FromH != 22 || p.Parts[1].ToH != 6 {
		t.Fatalf("%+v", p.Parts)
	}
	about(t, "hours", p.Parts[0].Hours()+p.Parts[1].Hours(), 24, 1e-12)
	if !p.Parts[0].PumpRests {
		t.Error("the pump does not rest, though nothing always flows")
	}
	// Back to back: the second opens when the first shuts.
	a, b := p.Parts[0].Turns[0], p.Parts[0].Turns[1]
	about(t, "second opening", b.AtS, a.AtS+a.OpenS, 1e-9)
	if whole := planned(t, s, Goal{PerHour: 3, DayFromH: 0, DayToH: 24, AtNight: 3}); len(whole.Parts) != 1 || whole.Parts[0].Name != "day and night" {
		t.Errorf("%+v", whole.Parts)
	}
	// What the parts say of energy is what a day's course uses.
	c, err := s.Run(p, RunOptions{Seconds: 86400})
	if err != nil {
		t.Fatal(err)
	}
	want := p.Parts[0].WireKWhDay + p.Parts[1].WireKWhDay
	about(t, "energy of a day", c.WireKWh, want, 0.01*want)
	for i := range c.Beds {
		if n := 3*16 + 8; c.Beds[i].Floods != n {
			t.Errorf("bed %d floods %d times a day, want %d", i+1, c.Beds[i].Floods, n)
		}
	}
	means := 0.0
	for i := range p.Parts {
		for _, q := range p.Parts[i].MeanM3s {
			means += q * p.Parts[i].Hours() * 3600
		}
	}
	about(t, "water of a day", c.PumpM3, means, 0.02*means) // planned with the sump at its lowest
}

// One bed cannot flood again before it has drained.
func TestOneBedDrainsFirst(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Pipes, l.Beds = append(l.Pipes[:4:4], l.Pipes[6]), l.Beds[:1]
	p := planned(t, drawn(t, l, 22), Goal{PerHour: 12})
	u := &p.Parts[0].Turns[0]
	if p.Fits || u.FillS+u.DrainS <= u.OpenS {
		t.Fatalf("%+v", p)
	}
	about(t, "floods that fit", p.MostPerHour, 3600/(u.FillS+u.DrainS), 1e-9)
	about(t, "cycle", p.Parts[0].CycleS, u.FillS+u.DrainS, 1e-9)
}

// Turnover: §4.5 of the plumbing sheet, flow times its share of the time over the
// volume.
func TestTurnover(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Tanks[0].VolumeM3 = 0.8
	l.Pipes = append(l.Pipes, site.Pipe{Name: "to fish", From: "N4", To: "fish", DiameterM: 0.0158, LengthM: 1})
	s := drawn(t, l, 22)
	p := planned(t, s, Goal{PerHour: 1})
	part := &p.Parts[0]
	var wantM3, pumpM3 float64
	idleS := part.CycleS
	flow := func(v Valves, levelM, forS float64) {
		f, err := s.Flow(v, levelM)
		if err != nil {
			t.Fatal(err)
		}
		wantM3 += f.BranchM3s[3] * forS
		pumpM3 += f.TotalM3s * forS
	}
	for i := range part.Turns {
		u := &part.Turns[i]
		flow(maskOf(u.Branch), s.loweredM(s.Beds[i].floodM3()), u.OpenS)
		idleS -= u.OpenS
	}
	flow(0, s.Source.SurfaceM, idleS)
	about(t, "turnover by the pipe", part.TurnoverPerH, wantM3/0.8, 1e-9)
	about(t, "turnover by the pump", part.PumpTurnoverPerH, pumpM3/0.8, 1e-6)
}

// With a branch that always flows the turns are spread over the cycle.
func TestSpread(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Pipes[3].Valve = "hand" // bed 1 always flows
	s := drawn(t, l, 22)
	p := planned(t, s, Goal{PerHour: 1})
	part := &p.Parts[0]
	if part.PumpRests || len(part.Turns) != 2 {
		t.Fatalf("%+v", part)
	}
	gap := (3600 - part.SlotsS) / 2
	about(t, "second opening", part.Turns[1].AtS, part.Turns[0].OpenS+gap, 1e-9)
	if len(p.Steady) != 1 || p.Steady[0].PerHour <= 0 {
		t.Errorf("%+v", p.Steady)
	}
	about(t, "share", part.Duty, part.SlotsS/3600, 1e-12)
}

func TestAnswers(t *testing.T) {
	answer := func(change func(l *site.Loop), g Goal) string {
		l := threeBedLoop(t, 3)
		if change != nil {
			change(l)
		}
		return planned(t, drawn(t, l, 22), g).Answer()
	}
	one := func(l *site.Loop) { l.Pipes, l.Beds = append(l.Pipes[:4:4], l.Pipes[6]), l.Beds[:1] }
	for _, row := range []struct {
		name   string
		change func(l *site.Loop)
		goal   Goal
		want   []string
	}{
		{"fits", nil, Goal{PerHour: 2}, []string{"Each of the 3 beds floods twice an hour: its valve opens 5 min ", "the pump runs "}},
		{"day and night", nil, Goal{PerHour: 3, AtNight: 0.5}, []string{"3 times an hour by day and every 2 h by night", "of the time by day."}},
		{"one", one, Goal{}, []string{"Bed 1 floods once an hour: its valve opens ", "the pump runs 9 % of the time."}},
		{"too often", nil, Goal{PerHour: 6}, []string{"The 3 beds do not flood 6 times an hour as asked. ", "at most"}},
		{"one too often", one, Goal{PerHour: 12}, []string{"Bed 1 does not flood 12 times an hour as asked. "}},
		{"none", func(l *site.Loop) { l.Pumps[0].Points = []string{"0 L/min:1.3 m", "10 L/min:1.1 m", "20 L/min:0.5 m"} }, Goal{}, []string{"Of the 3 beds none floods. At "}},
		{"one fails", func(l *site.Loop) { l.Pipes[4].OpenS = 100 }, Goal{}, []string{"Of the 3 beds 2 flood. The valve of bed 2 opens 1 min 40 s", "Open it 5 min"}},
		{"steady", func(l *site.Loop) {
			for i := range l.Pipes {
				l.Pipes[i].Valve = ""
			}
		}, Goal{}, []string{"No valve is on a timer; of the 3 beds with siphons all flood by themselves."}},
		{"nothing", func(l *site.Loop) {
			l.Beds = nil
			l.Pipes = []site.Pipe{{Name: "up", From: "pump", To: "fish", DiameterM: 0.02, LengthM: 2}}
		}, Goal{}, []string{"No valve is on a timer and no bed with a siphon is fed: there is nothing to time."}},
		{"a dry tub beside", func(l *site.Loop) {
			l.Beds[2] = site.Bed{Name: "bed 3", Kind: "tub", AreaM2: 1, FloorM: 1}
			l.Pipes[5].EndsAtM = at(9)
		}, Goal{}, []string{"Each of the 2 beds floods once an hour: ", "of the time. No water reaches bed 3 "}},
		{"a tub", func(l *site.Loop) {
			one(l)
			l.Beds[0] = site.Bed{Name: "bed 1", Kind: "tub", AreaM2: 1, FloorM: 1}
		}, Goal{}, []string{"No bed is flooded by a timed valve; one valve opens, once an hour."}},
	} {
		got := answer(row.change, row.goal)
		for _, want := range row.want {
			if !strings.Contains(got, want) {
				t.Errorf("%s: %q lacks %q", row.name, got, want)
			}
		}
		if strings.Contains(got, "NaN") || strings.Contains(got, "%!") || !strings.HasSuffix(got, ".") || strings.Contains(got, "..") {
			t.Errorf("%s: %q is not well formed", row.name, got)
		}
	}
}

func TestSamplesPlan(t *testing.T) {
	piped := 0
	for _, name := range site.Samples() {
		d, _, err := site.Sample(name)
		if err != nil {
			t.Fatal(err)
		}
		for i := range d.Loops {
			l := &d.Loops[i]
			s, err := Draw(l, Settings{TempC: 14})
			if err != nil {
				t.Fatal(err)
			}
			if s == nil || !s.Piped {
				continue
			}
			piped++
			p := planned(t, s, GoalOf(l))
			if len(p.Parts) == 0 || len(p.Parts[0].Turns) != len(s.Timed()) {
				t.Errorf("%s, loop %s: %d timed valves have no turn each", name, l.Name, len(s.Timed()))
			}
			t.Logf("%s, loop %s: %s", name, l.Name, p.Answer())
			c, err := s.Run(p, RunOptions{Seconds: 86400})
			if err != nil {
				t.Fatal(err)
			}
			balanced(t, s, c)
			for _, v := range []any{p, c} {
				if _, err := json.Marshal(v); err != nil {
					t.Error(err)
				}
			}
		}
	}
	if piped < 2 {
		t.Errorf("%d loops of the samples have pumps and pipes, want two or more", piped)
	}
}

// Whatever the goal, turns that share time do so only in a group, and all end
// within the cycle.
func TestTurnsKeepApart(t *testing.T) {
	d := sample(t)
	schemes := []*Scheme{drawn(t, threeBedLoop(t, 3), 22), drawn(t, &d.Loops[0], 14), drawn(t, &d.Loops[1], 26)}
	rapid.Check(t, func(t *rapid.T) {
		s := schemes[rapid.IntRange(0, 2).Draw(t, "loop")]
		g := Goal{
			PerHour: rapid.Float64Range(0.05, 12).Draw(t, "per hour"), AtNight: rapid.Float64Range(0.05, 12).Draw(t, "at night"),
			MarginS: rapid.Float64Range(0, 600).Draw(t, "margin"), Together: rapid.IntRange(1, 7).Draw(t, "together"),
		}
		p, err := s.Plan(g)
		if err != nil {
			t.Fatal(err)
		}
		if p.Fits == (len(p.Why) > 0) {
			t.Fatalf("fits %v, but %q", p.Fits, p.Why)
		}
		for i := range p.Parts {
			part := &p.Parts[i]
			seen, endS := 0, 0.0
			for _, group := range part.Groups {
				if len(group) > g.Together {
					t.Fatalf("%d open together", len(group))
				}
				for _, j := range group {
					seen++
					if u := part.Turns[j]; u.AtS < endS-1e-6 || u.AtS != part.Turns[group[0]].AtS || u.AtS+u.OpenS > part.CycleS+1e-6 {
						t.Fatalf("%s opens at %g for %g s, the turn before ends at %g, the cycle at %g", u.Name, u.AtS, u.OpenS, endS, part.CycleS)
					}
				}
				endS = part.Turns[group[0]].AtS + slotS(part.Turns, group)
			}
			if seen != len(part.Turns) || part.Duty < 0 || part.Duty > 1+1e-9 {
				t.Fatalf("%d of %d turns in groups, share %g", seen, len(part.Turns), part.Duty)
			}
			if p.Fits && part.CycleS > 3600/part.AskedPerHour*(1+1e-9) {
				t.Fatalf("fits with a cycle of %g s", part.CycleS)
			}
		}
	})
}

func BenchmarkPlan(b *testing.B) {
	d := sample(b)
	s := drawn(b, &d.Loops[0], 14)
	b.ReportAllocs()
	for b.Loop() {
		planned(b, s, Goal{})
	}
}
