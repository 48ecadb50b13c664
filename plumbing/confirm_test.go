package plumbing

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"tidebed/quantity"
	"tidebed/science/siphon"
	"tidebed/site"
)

// claySix is a loop invented for tests: six beds of 2.88 m² of expanded clay with
// bells of 32 mm, a tank whose branch always flows at 26 L/min, timed branches set
// to setLMin each.
func claySix(setLMin float64, change func(l *site.Loop)) *site.Loop {
	l := &site.Loop{
		Name: "clay", Water: "well", SumpM3: 1.2, SumpLevelM: 0.1, SumpDepthM: 0.6, SumpRimM: 0.4,
		Tanks: []site.Tank{{Name: "t1", Role: "stock", VolumeM3: 1.6, LevelM: 1.1, DepthM: 1, RimM: 1.25, WaterC: 20}},
		Pumps: []site.Pump{{Name: "p1", PowerW: 110, IntakeM: at(-0.42), Points: []string{"0 L/min:4.2 m:78 W", "60 L/min:3.4 m:104 W", "110 L/min:2.0 m:110 W", "150 L/min:0 m:112 W"}}},
		Pipes: []site.Pipe{
			{Name: "suction", From: "sump", To: "p1", DiameterM: 0.045, LengthM: 0.6},
			{Name: "riser", From: "p1", To: "header", DiameterM: 0.045, LengthM: 5},
			{Name: "to t1", From: "header", To: "t1", DiameterM: 0.029, LengthM: 2, Valve: "hand", SetM3s: 26 * lMin},
			{Name: "t1 over", From: "t1", To: "sump", DiameterM: 0.085, LengthM: 2},
		},
	}
	for i := range 6 {
		name := fmt.Sprintf("b %d", i+1)
		l.Beds = append(l.Beds, site.Bed{
			Name: name, Kind: "media", Zone: "hall", LengthM: 2.4, WidthM: 1.2, DepthM: 0.30, RimM: 0.38, FloorM: 0.55, Media: "expanded clay (LECA) 8-20 mm",
			Siphon: &site.Siphon{StandpipeM: 0.032, BellM: 0.075, GuardM: 0.120, CrestM: 0.24, BreakM: 0.03, OutletM: -0.36, PipeLengthM: 0.9},
		})
		l.Pipes = append(l.Pipes, site.Pipe{Name: "to " + name, From: "header", To: name, DiameterM: 0.029, LengthM: float64(4 + 2*i), Valve: "timed", SetM3s: setLMin * lMin})
	}
	if change != nil {
		change(l)
	}
	return l
}

// feedOf is the pipe to bed i of claySix.
func feedOf(l *site.Loop, i int) *site.Pipe { return &l.Pipes[4+i] }

func clayPlan(t testing.TB, l *site.Loop, units quantity.System) (*Scheme, *Timetable) {
	t.Helper()
	s, err := Draw(l, Settings{TempC: 20, Units: units})
	if err != nil {
		t.Fatal(err)
	}
	return s, planned(t, s, GoalOf(l))
}

func goalOf(perHour float64, together int) *site.Timetable {
	return &site.Timetable{PerHour: perHour, Together: together}
}

// What the timetable says of a day is what the course of the day shows, whatever
// the loop: the floods, the dry pump.
func TestPlanHoldsInItsDay(t *testing.T) {
	for _, row := range []struct {
		name   string
		l      *site.Loop
		fits   bool
		why    []string // in the reasons, or where it fits in the notes
		answer string
	}{
		{"serves", claySix(28, func(l *site.Loop) { l.Timetable = goalOf(0.7, 1) }), true, nil, "Each of the 6 beds floods every 1 h 26 min: "},
		{"five together", claySix(28, func(l *site.Loop) { l.Timetable = goalOf(0.7, 5) }), false, []string{"the pump runs dry for", "b 1 to 5 flood 0 of 16 times each", "Open fewer valves together, or give the sump more water."}, "In the course of a day none of the 6 beds floods every 1 h 26 min as asked. "},
		{"all together", claySix(28, func(l *site.Loop) { l.Timetable = goalOf(0.7, 24) }), false, []string{"the pump runs dry for", "b 1 to 6 flood 0 of 16 times each"}, "In the course of a day none of the 6 beds"},
		{"open too short", claySix(28, func(l *site.Loop) {
			for i := range 6 {
				feedOf(l, i).OpenS = 300
			}
		}), false, []string{"shut too soon", "The beds that stay full hold that water: mend that first."}, "Of the 6 beds none floods."},
		{"open long", claySix(28, func(l *site.Loop) {
			l.Timetable = goalOf(0.08, 1)
			for i := range 6 {
				feedOf(l, i).OpenS = 7200
			}
		}), true, []string{"While its valve is open a bed floods more than once: b 1 to 6 flood 7 to 14 times a day"}, "Each of the 6 beds floods 7 to 14 times a day: "},
	} {
		s, p := clayPlan(t, row.l, quantity.Metric)
		c, err := s.Run(p, RunOptions{Seconds: 86400, FromH: 6})
		if err != nil {
			t.Fatal(err)
		}
		if p.Fits != row.fits || p.Fits && c.DrySeconds > 0 {
			t.Errorf("%s: fits %v, dry for %.0f s: %q", row.name, p.Fits, c.DrySeconds, p.Why)
		}
		if p.Day() == nil || p.Day().DrySeconds != c.DrySeconds || len(p.FloodsDay) != len(c.Beds) {
			t.Errorf("%s: the day kept is not that of the timetable", row.name)
		}
		all := strings.Join(append(p.Why, p.Notes...), " ")
		for _, want := range row.why {
			if !strings.Contains(all, want) {
				t.Errorf("%s: %q lacks %q", row.name, all, want)
			}
		}
		if got := p.Answer(); !strings.HasPrefix(got, row.answer) {
			t.Errorf("%s: %q, want it to begin %q", row.name, got, row.answer)
		}
		for i := range c.Beds {
			if d := p.FloodsDay[i] - float64(c.Beds[i].Floods); d < 0 || d > 1 {
				t.Errorf("%s, bed %d: %g floods a day, the course has %d", row.name, i+1, p.FloodsDay[i], c.Beds[i].Floods)
			}
			if want, _, ok := p.promised(i); row.fits && ok && c.Beds[i].Floods < want {
				t.Errorf("%s, bed %d: fits with %d of %d floods", row.name, i+1, c.Beds[i].Floods, want)
			}
		}
		if text, err := json.Marshal(p); err != nil || !strings.Contains(string(text), `"floodsDay":[`) || !strings.Contains(string(text), `"asks":`) {
			t.Errorf("%s: %v", row.name, err)
		}
	}
}

// A margin too small for a sinking sump: the turns promise floods, the day has
// fewer.
func TestShortMarginIsSeen(t *testing.T) {
	l := claySix(0, func(l *site.Loop) {
		// A narrow sump, and much of its water in the pipes.
		l.SumpM3, l.SumpDepthM, l.Pumps[0].IntakeM = 4, 8, at(-7.5)
		l.Pipes[1].DiameterM, l.Pipes[1].LengthM = 0.2, 6
		l.Timetable = &site.Timetable{PerHour: 0.7, MarginS: 0.01}
	})
	s, p := clayPlan(t, l, quantity.Metric)
	fewer := false
	for i := range s.Beds {
		want, _, ok := p.promised(i)
		fewer = fewer || ok && p.Day().Beds[i].Floods < want
	}
	if !fewer {
		t.Fatal("no bed floods less often than its turns promise: the case does not test what it is for")
	}
	if text := strings.Join(p.Why, " "); p.Fits || !regexp.MustCompile(`In the course of a day b 1 .* of 1[67] times.*Give a larger .margin.`).MatchString(text) {
		t.Errorf("fits %v, %q", p.Fits, p.Why)
	}
}

// Each cause of a shortfall has a whole sentence, for one bed and for many.
func TestShortfallSentences(t *testing.T) {
	for _, row := range []struct {
		list []shortfall
		want string
	}{
		{[]shortfall{{"b 1", 3, 17, notFull}}, "b 1 floods 3 of 17 times"},
		{[]shortfall{{"b 1", 3, 17, notFull}, {"b 2", 0, 17, notFull}, {"b 3", 0, 17, notFull}, {"b 4", 0, 17, notFull}}, "b 1 floods 3 of 17 times, and b 2 to 4 flood 0 of 17 times each"},
		{[]shortfall{{"b 1", 0, 1, notFull}}, "b 1 does not flood"},
		{[]shortfall{{"b 1", 0, 1, notFull}, {"b 2", 0, 1, notFull}}, "b 1 and b 2 do not flood"},
	} {
		if got := shortText(row.list); got != row.want {
			t.Errorf("%q, want %q", got, row.want)
		}
	}
	for cause := notFull; cause <= sometimes; cause++ {
		x := shortfall{cause: cause}
		one, many := x.why(false), x.why(true)
		if one == many || !strings.HasSuffix(one, ".") || !strings.HasSuffix(many, ".") || strings.Contains(one, "their") || strings.Contains(one, "they ") {
			t.Errorf("%q, %q", one, many)
		}
	}
}

// A bed whose pipe always flows gets less while a turn runs. With 15.0 L/min it
// would flood, with 12.0 it does not start; it takes the day to tell.
func TestAlwaysFlowingBedInEveryState(t *testing.T) {
	change := func(openS float64) *site.Loop {
		return claySix(28, func(l *site.Loop) {
			l.Pumps[0] = site.Pump{Name: "p1", PowerW: 60, IntakeM: at(-0.42), Points: []string{"0 L/min:2.2 m:40 W", "60 L/min:1.4 m:58 W", "100 L/min:0 m:60 W"}}
			l.Beds, l.Pipes = l.Beds[:5], l.Pipes[:9]
			feedOf(l, 0).Valve, feedOf(l, 0).SetM3s = "hand", 12*lMin
			for i := 1; i < 5; i++ {
				feedOf(l, i).OpenS = openS
			}
		})
	}
	s, p := clayPlan(t, change(900), quantity.Metric) // some turn runs all the time
	if len(p.Steady) != 1 {
		t.Fatalf("%+v", p.Steady)
	}
	u := p.Steady[0]
	startM3s, _ := s.Beds[0].Works.Window()
	if !(u.InflowM3s > startM3s && u.MostM3s < startM3s) {
		t.Fatalf("%g with the valves shut, at most %g in the day, start %g: not the case to test", u.InflowM3s, u.MostM3s, startM3s)
	}
	if p.Fits || u.PerHour != 0 || u.Cycling != 0 || u.Verdict.Cycles() || !strings.Contains(u.Why, "its siphon does not start") {
		t.Errorf("%+v", u)
	}
	// Turns some of the time: the day's floods count, not those of the shut valves.
	s, p = clayPlan(t, change(0), quantity.Metric)
	u = p.Steady[0]
	c, err := s.Beds[0].Works.Cycle(u.InflowM3s)
	if err != nil {
		t.Fatal(err)
	}
	if u.PerHour >= 0.9*c.PerHour || u.PerHour <= 0 || !(u.Cycling > 0 && u.Cycling < 0.5) {
		t.Errorf("%g floods an hour with the valves shut: %+v", c.PerHour, u)
	}
	about(t, "floods an hour", u.PerHour, float64(p.Day().Beds[0].Floods)/24, 1e-12)
	if !p.Fits || !strings.Contains(strings.Join(p.Notes, " "), "not with that of the rest") {
		t.Errorf("fits %v: %q %q", p.Fits, p.Why, p.Notes)
	}
}

// A cycle longer than its part is drawn together: no bed is left out.
func TestRareFloodsReachEveryBed(t *testing.T) {
	for _, g := range []site.Timetable{{PerHour: 0.05, AtNight: 0.1}, {PerHour: 0.7, AtNight: 0.1}} {
		l := claySix(28, func(l *site.Loop) { l.Timetable = &g })
		s, p := clayPlan(t, l, quantity.Metric)
		if !p.Fits {
			t.Errorf("%g and %g an hour: %q", g.PerHour, g.AtNight, p.Why)
		}
		night := &p.Parts[1]
		about(t, "cycle of the night", night.CycleS, 8*3600, 1e-9)
		if !strings.Contains(p.Answer(), "once by night") || !strings.Contains(strings.Join(p.Notes, " "), "each bed floods once in it") {
			t.Errorf("%q %q", p.Answer(), p.Notes)
		}
		c, err := s.Run(p, RunOptions{Seconds: 8 * 3600, FromH: 22})
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.Beds {
			if c.Beds[i].Floods != 1 {
				t.Errorf("bed %d floods %d times in the night", i+1, c.Beds[i].Floods)
			}
		}
	}
	// Turns that last longer than the night do not fit, and it is said.
	l := claySix(28, func(l *site.Loop) {
		l.Timetable = &site.Timetable{PerHour: 0.06, AtNight: 0.05}
		for i := range 6 {
			feedOf(l, i).OpenS = 2 * 3600
		}
	})
	if _, p := clayPlan(t, l, quantity.Metric); p.Fits || !strings.Contains(strings.Join(p.Why, " "), "6 turns by night take 12 h, longer than the part, which has 8 h") {
		t.Errorf("%v %q", p.Fits, p.Why)
	}
}

// The last cycle of a part that is not whole leaves late turns out: it is said.
func TestBrokenCycleIsSaid(t *testing.T) {
	l := claySix(28, func(l *site.Loop) {
		l.Timetable = &site.Timetable{PerHour: 0.7, AtNight: 0.3, DayFromH: at(0), DayToH: at(5)}
	})
	_, p := clayPlan(t, l, quantity.Metric)
	if p.Parts[0].FromH != 0 || p.Parts[0].ToH != 5 || p.Parts[1].FromH != 5 || p.Parts[1].Hours() != 19 {
		t.Errorf("%+v", p.Parts)
	}
	asked := 5*0.7 + 19*0.3
	for i, n := range p.FloodsDay {
		name := fmt.Sprintf("b %d", i+1)
		told := strings.Contains(strings.ToLower(strings.Join(p.Notes, " ")), name+" ")
		if n < math.Floor(asked) && !told {
			t.Errorf("%s floods %g times a day, %g are asked for: %q", name, n, asked, p.Notes)
		}
	}
}

// A siphon that keeps up with its valve open drains when it shuts.
func TestSiphonThatHoldsFloodsAll(t *testing.T) {
	l := claySix(28, func(l *site.Loop) {
		l.Timetable = goalOf(0.7, 1)
		for i := range l.Beds {
			l.Beds[i].Siphon.StandpipeM = 0.020
		}
	})
	_, p := clayPlan(t, l, quantity.Metric)
	for i := range p.Parts[0].Turns {
		u := &p.Parts[0].Turns[i]
		if u.Verdict != siphon.NeverStops || !u.Trips || u.DrainS <= u.MarginS || !strings.Contains(u.Why, "does not stop while its valve is open") {
			t.Errorf("%+v", u)
		}
		if p.FloodsDay[i] < 16 {
			t.Errorf("%s floods %g times a day", u.Name, p.FloodsDay[i])
		}
	}
	if !p.Fits || !strings.Contains(strings.Join(p.Notes, " "), "start but do not stop while their valves are open; the beds drain when the valves shut. Throttle the valves to between") {
		t.Errorf("%v %q %q", p.Fits, p.Why, p.Notes)
	}
	// Not where a pipe that always flows keeps it running.
	l = claySix(28, func(l *site.Loop) {
		l.Beds[0].Siphon.StandpipeM = 0.020
		feedOf(l, 0).SetM3s = 3 * lMin
		l.Pipes = append(l.Pipes, site.Pipe{Name: "extra", From: "header", To: "b 1", DiameterM: 0.029, LengthM: 4, Valve: "hand", SetM3s: 24 * lMin})
	})
	if _, p = clayPlan(t, l, quantity.Metric); p.Parts[0].Turns[0].Trips || !strings.Contains(p.Parts[0].Turns[0].Why, "Even with its valve shut b 1 gets") {
		t.Errorf("%+v", p.Parts[0].Turns[0])
	}
}

// A bed with two pipes gets what both bring.
func TestTwoPipesToABed(t *testing.T) {
	l := claySix(28, func(l *site.Loop) {
		l.Timetable = goalOf(0.7, 1)
		l.Pipes = append(l.Pipes, site.Pipe{Name: "extra", From: "header", To: "b 1", DiameterM: 0.029, LengthM: 4, Valve: "hand", SetM3s: 20 * lMin})
	})
	s, p := clayPlan(t, l, quantity.Metric)
	u := &p.Parts[0].Turns[0]
	f, err := s.Flow(maskOf(u.Branch), s.loweredM(s.Beds[0].floodM3()))
	if err != nil {
		t.Fatal(err)
	}
	both := 0.0
	for i := range s.Branches {
		if s.Branches[i].Bed == 0 {
			both += f.BranchM3s[i]
		}
	}
	about(t, "inflow of the bed", u.InflowM3s, both, 1e-12)
	if both < 40*lMin || u.Why != "" { // its valve shuts before the break
		t.Errorf("%g L/min: %+v", both/lMin, u)
	}
	feedOf(l, 0).OpenS = 1500
	if _, long := clayPlan(t, l, quantity.Metric); !strings.Contains(long.Parts[0].Turns[0].Why, "may dribble") {
		t.Errorf("open through the break: %+v", long.Parts[0].Turns[0])
	}
	if len(p.Steady) != 0 || !strings.Contains(strings.Join(p.Notes, " "), "B 1 floods more often than its valve opens, for a pipe that always flows leads there too.") {
		t.Errorf("%+v %q", p.Steady, p.Notes)
	}
}

// Valves set to next to nothing: the cycle stays that asked for, and the reason is
// the valve, which can be set to what starts the siphon.
func TestValvesSetShut(t *testing.T) {
	_, p := clayPlan(t, claySix(0.001, nil), quantity.Metric)
	part := &p.Parts[0]
	if p.Fits || part.CycleS != 3600 || part.SlotsS > 3600+1e-6 {
		t.Errorf("a cycle of %g s, slots of %g s", part.CycleS, part.SlotsS)
	}
	if w := strings.Join(p.Why, " "); !strings.Contains(w, "The valves are set too low: let through more than 14.1 L/min") || len(p.Why) != 1 {
		t.Errorf("%q", p.Why)
	}
	// With what that says they start.
	if _, p = clayPlan(t, claySix(1.1*14.1, nil), quantity.Metric); p.Parts[0].Turns[0].Verdict == siphon.WillNotStart || p.MostPerHour == 0 {
		t.Errorf("%+v", p.Parts[0].Turns[0])
	}
	// A standpipe too wide is no fault of the valve that the pump cannot serve.
	_, p = clayPlan(t, claySix(28, func(l *site.Loop) {
		for i := range l.Beds {
			l.Beds[i].Siphon.StandpipeM, l.Beds[i].Siphon.BellM = 0.060, 0.110
		}
	}), quantity.Metric)
	if w := p.Why[0]; strings.Contains(w, "set too low") || !strings.Contains(w, "or put in narrower standpipes") {
		t.Errorf("%q", w)
	}
	// Weep holes that let out all: one sentence, one cycle.
	_, p = clayPlan(t, claySix(0.03, timers), quantity.Metric)
	if len(p.Why) != 1 || !strings.Contains(p.Why[0], "the weep holes of b 1 and 5 others let out all that comes in") || p.Parts[0].CycleS != 3600 {
		t.Errorf("%g s, %q", p.Parts[0].CycleS, p.Why)
	}
}

// timers gives the beds standpipes with a weep hole.
func timers(l *site.Loop) {
	for i := range l.Beds {
		l.Beds[i].Siphon = nil
		l.Beds[i].Standpipe = &site.Standpipe{BoreM: 0.032, CrestM: 0.24, WeepM: 0.008, WeepAt: 0.02}
	}
}

// What is said to bring the turns into their time does so when it is done.
func TestRemediesForLateTurns(t *testing.T) {
	figureIn := func(text, pattern string) float64 {
		m := regexp.MustCompile(pattern).FindStringSubmatch(text)
		if m == nil {
			return 0
		}
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, row := range []struct {
		setLMin  float64
		perHour  float64
		together bool
		flow     bool
		crest    bool
	}{{28, 1, true, true, true}, {18, 1, true, true, true}, {28, 3, false, false, false}, {28, 12, false, false, false}} {
		l := claySix(row.setLMin, func(l *site.Loop) { l.Timetable = goalOf(row.perHour, 1) })
		s, p := clayPlan(t, l, quantity.Metric)
		why := p.Parts[0].late
		if p.Fits || why == "" || !strings.Contains(why, "sk for fewer floods") || p.Parts[0].Asks <= 1 {
			t.Fatalf("%g an hour: asks %g: %q", row.perHour, p.Parts[0].Asks, p.Why)
		}
		about(t, "asked of the cycle", p.Parts[0].Asks, p.Parts[0].SlotsS*row.perHour/3600, 1e-12)
		if most := figureIn(why, `at most ([0-9.]+) floods`); true {
			if again := planned(t, s, Goal{PerHour: most}); !again.Fits {
				t.Errorf("%g floods an hour do not fit: %q", most, again.Why)
			}
		}
		k := figureIn(why, `open (\d+) valves together`)
		if (k > 0) != row.together {
			t.Errorf("%g an hour: %q", row.perHour, why)
		}
		if k > 0 {
			if again := planned(t, s, Goal{PerHour: row.perHour, Together: int(k)}); !again.Fits {
				t.Errorf("%g together do not fit: %q", k, again.Why)
			}
		}
		x := figureIn(why, `give each ([0-9.]+) times the flow`)
		if (x > 0) != row.flow {
			t.Errorf("%g an hour: %q", row.perHour, why)
		}
		if x > 0 {
			sumS := 0.0
			for i := range p.Parts[0].Turns {
				u := p.Parts[0].Turns[i]
				u.InflowM3s *= x
				if err := s.judge(&u, p.Goal); err != nil {
					t.Fatal(err)
				}
				if !u.Verdict.Cycles() || u.InflowM3s > u.goodM3s {
					t.Errorf("with %g times the flow %s may not stop", x, u.Name)
				}
				sumS += u.OpenS
			}
			if sumS > 3600/row.perHour {
				t.Errorf("with %g times the flow the turns take %g s", x, sumS)
			}
		}
		lower := figureIn(why, `each flood be ([0-9.]+) % smaller`)
		if (lower > 0) != row.crest {
			t.Errorf("%g an hour: %q", row.perHour, why)
		}
		if lower > 0 {
			l := claySix(row.setLMin, func(l *site.Loop) {
				l.Timetable = goalOf(row.perHour, 1)
				for i := range l.Beds {
					b := l.Beds[i].Siphon
					b.CrestM = b.BreakM + (1-lower/100)*(b.CrestM-b.BreakM)
				}
			})
			if _, again := clayPlan(t, l, quantity.Metric); !again.Fits {
				t.Errorf("floods %g %% smaller do not fit: %q", lower, again.Why)
			}
		}
	}
	// A drain by weep holes is not hastened by more flow.
	_, p := clayPlan(t, claySix(28, timers), quantity.Metric)
	if w := p.Why[0]; strings.Contains(w, "times the flow") || strings.Contains(w, "smaller") || !strings.Contains(w, "to fill and drain, more than the 1 h from flood to flood: at most 0.4 floods an hour fit. Ask for fewer floods, or let them drain faster.") {
		t.Errorf("%q", p.Why)
	}
}

// The sentence on a timer set to volume over flow has the turns' own times, and
// such a timer does what it says.
func TestExactTimerSentence(t *testing.T) {
	l := claySix(28, func(l *site.Loop) { l.Timetable = goalOf(0.7, 1) })
	s, p := clayPlan(t, l, quantity.Metric)
	u := &p.Parts[0].Turns[0]
	want := fmt.Sprintf("Volume over flow alone is %s, and the siphon starts after %s: set to volume over flow, a valve shuts before the siphon starts, water trickles over the crest and the bed stays full until its next turn.", timeText(u.ExactS), timeText(u.FillS))
	if !strings.Contains(strings.Join(p.Notes, " "), want) {
		t.Errorf("%q lacks %q", p.Notes, want)
	}
	q := make([]float64, 6)
	for i := range q {
		u := &p.Parts[0].Turns[i]
		q[i], u.OpenS = u.InflowM3s/lMin, u.ExactS
	}
	c, err := s.run(p, RunOptions{Seconds: p.Parts[0].CycleS, FromH: 24}, given(s, q...))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 { // then the sump is empty
		if b := &c.Beds[i]; b.Floods != 0 || b.EndM < 0.239 {
			t.Errorf("bed %d floods %d times with such a timer and ends at %g m", i+1, b.Floods, b.EndM)
		}
	}
	_, p = clayPlan(t, claySix(28, timers), quantity.Metric)
	if strings.Contains(strings.Join(p.Notes, " "), "Volume over flow") {
		t.Errorf("without a siphon: %q", p.Notes)
	}
}

// Readers of US units read no other.
func TestTimetableInUSUnits(t *testing.T) {
	metric := regexp.MustCompile(`\d (L|mL|m3|m|mm|cm)\b|L/min|L/h`)
	for _, change := range []func(l *site.Loop){
		func(l *site.Loop) { l.Timetable = goalOf(0.7, 5) },
		func(l *site.Loop) {
			for i := range l.Beds {
				l.Beds[i].Siphon.StandpipeM = 0.020
			}
		},
		func(l *site.Loop) { feedOf(l, 0).Valve = "hand" },
		func(l *site.Loop) { feedOf(l, 0).SetM3s = lMin },
		timers,
	} {
		_, p := clayPlan(t, claySix(28, change), quantity.USCustomary)
		all := append(append([]string{p.Answer()}, p.Why...), p.Notes...)
		for i := range p.Parts[0].Turns {
			all = append(all, p.Parts[0].Turns[i].Why)
		}
		for _, text := range all {
			if metric.MatchString(text) || strings.Contains(text, "%!") || strings.Contains(text, "NaN") {
				t.Errorf("%q", text)
			}
		}
	}
}

// Counts and times of one are told as one.
func TestSentencesOfOne(t *testing.T) {
	for v, want := range map[float64]string{1: "once an hour", 0.9999: "once an hour", 2: "twice an hour", 2.5: "2.5 times an hour", 0.5: "every 2 h"} {
		if got := oftenText(v); got != want {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
	l := claySix(28, func(l *site.Loop) {
		l.Beds, l.Pipes = l.Beds[:1], l.Pipes[:5]
		l.Timetable = goalOf(12, 1)
	})
	_, p := clayPlan(t, l, quantity.Metric)
	if len(p.Why) != 1 || !strings.Contains(p.Why[0], " takes ") || strings.Contains(p.Why[0], "there are 1 h") {
		t.Errorf("%q", p.Why)
	}
}

// A siphon runs from its start to its stop; one that does not stop, to the end.
func TestLongestRunOfASiphon(t *testing.T) {
	c := &Course{Seconds: 1000, Events: []Event{{10, 0, Started}, {20, 1, Started}, {60, 0, Stopped}, {100, 0, Started}, {130, 0, Stopped}}}
	about(t, "stops", c.runsS(0), 50, 0)
	about(t, "does not stop", c.runsS(1), 980, 0)
	about(t, "never ran", c.runsS(2), 0, 0)
}

// A turn under way at six in the morning, when the day that is followed begins, is
// one of each day.
func TestTurnUnderWayAtSix(t *testing.T) {
	_, p := clayPlan(t, claySix(28, func(l *site.Loop) { l.Timetable = goalOf(0.7, 1) }), quantity.Metric)
	found := false
	for i := range p.FloodsDay {
		n, across, ok := p.promised(i)
		if !ok || across == 0 {
			continue
		}
		found = true
		if p.Day().Beds[i].Floods != n || p.FloodsDay[i] != float64(n+across) {
			t.Errorf("bed %d: %g floods a day, %d in the one followed, %d promised and %d across", i+1, p.FloodsDay[i], p.Day().Beds[i].Floods, n, across)
		}
	}
	if !found {
		t.Error("no turn is under way at six: the case does not test what it is for")
	}
}

// Where the last cycle of a day is not whole, its turn may come too soon for the
// first of the next day: of that no flood is promised.
func TestTurnTooSoonPromisesNothing(t *testing.T) {
	_, p := clayPlan(t, claySix(28, func(l *site.Loop) {
		l.Beds, l.Pipes = l.Beds[:1], l.Pipes[:5]
		l.Timetable = goalOf(12, 1)
	}), quantity.Metric)
	if part := &p.Parts[0]; math.Mod(86400, part.CycleS) < part.Turns[0].OpenS || math.Mod(86400, part.CycleS) > part.Turns[0].needsS()-1 {
		t.Fatalf("a cycle of %g s: not the case to test", part.CycleS)
	}
	n, across, _ := p.promised(0)
	if opened := int(86400/p.Parts[0].CycleS) + 1; n+across != opened-1 || p.short != 0 {
		t.Errorf("%d and %d of %d openings, short %d", n, across, opened, p.short)
	}
}

// No remedy takes a siphon near the flow with which it does not stop, nor a sump to
// the pump's intake.
func TestRemediesThatWouldNotServeAreNotNamed(t *testing.T) {
	_, p := clayPlan(t, claySix(28, func(l *site.Loop) {
		for i := range l.Beds {
			l.Beds[i].Siphon.StandpipeM = 0.0282
		}
	}), quantity.Metric)
	u := &p.Parts[0].Turns[0]
	if !(u.InflowM3s < u.goodM3s && 1.1*u.InflowM3s > u.goodM3s && 1.1*u.InflowM3s < u.BreakM3s) {
		t.Fatalf("%g of %g: not the case to test", u.InflowM3s, u.goodM3s)
	}
	if w := p.Parts[0].late; w == "" || strings.Contains(w, "times the flow") || !strings.Contains(w, "valves together") {
		t.Errorf("%q", p.Why)
	}
	narrow := func(l *site.Loop) { l.SumpM3 = 0.66 }
	s, p := clayPlan(t, claySix(28, narrow), quantity.Metric)
	if two := planned(t, s, Goal{Together: 2}); two.Fits || two.Day().DrySeconds == 0 || p.Day().DrySeconds > 0 {
		t.Fatalf("dry for %g s by twos, %g s one by one: not the case to test", two.Day().DrySeconds, p.Day().DrySeconds)
	}
	if w := p.Parts[0].late; w == "" || strings.Contains(w, "valves together") {
		t.Errorf("%q", p.Why)
	}
}
