package plumbing

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/site"
)

// Pumps invented for tests: points of the data of the plumbing sheet.
func px120(spare bool) site.Pump {
	return site.Pump{Name: "PX-120", Spare: spare, Points: []string{"0 L/min:4.5 m:85 W", "30 L/min:4.1 m:98 W", "60 L/min:3.1 m:112 W", "90 L/min:1.4 m:120 W"}}
}

func px25(spare bool) site.Pump {
	return site.Pump{Name: "PX-25", Spare: spare, Points: []string{"0 L/min:2.5 m:18 W", "8 L/min:2.35 m:21 W", "16 L/min:1.85 m:24 W", "25 L/min:0.85 m:25 W"}}
}

// sixLoop is the loop of the comparison: riser of 3.0 m, loss factor 4, six
// branches of 1.0 m and 15.8 mm, loss factor 4, that lift 1.00 m from a wide sump.
func sixLoop(t testing.TB, riserM float64, openS float64, bed func(name string) site.Bed, pumps ...site.Pump) *site.Loop {
	const narrow = 0.0158
	l := &site.Loop{
		Name: "six", SumpM3: 500, SumpLevelM: 0, SumpDepthM: 0.5, SumpRimM: 0.5, Pumps: pumps,
		Tanks: []site.Tank{{Name: "fish", VolumeM3: 2, LevelM: 0.5, DepthM: 0.5}},
	}
	l.Pipes = []site.Pipe{{Name: "riser", From: pumps[0].Name, To: "header", DiameterM: riserM, LengthM: 3, Valve: "hand", ValveKv: kvFor(t, riserM, 4)}}
	for i := range 6 {
		name := fmt.Sprintf("bed %d", i+1)
		l.Beds = append(l.Beds, bed(name))
		l.Pipes = append(l.Pipes, site.Pipe{
			Name: "to " + name, From: "header", To: name, DiameterM: narrow, LengthM: 1, Fittings: []string{"tee, through branch"},
			Valve: "timed", ValveKv: kvFor(t, narrow, 1.2), EndsAtM: at(1.00), OpenS: openS,
		})
	}
	return l
}

func raft(name string) site.Bed {
	return site.Bed{Name: name, Kind: "raft", AreaM2: 1, DepthM: 0.3, FloorM: 0.5}
}

// The comparison of §3.6 of the plumbing sheet: each bed 90 L a flood, once an
// hour. The sheet's curves go through three points of each pump, so these are put
// in place of the fit through all.
func TestOversizedPump(t *testing.T) {
	for _, row := range []struct {
		pump                               site.Pump
		riserM                             float64
		together                           int
		curve                              []pipe.Point
		flow, head, watts                  float64
		nonstopDay, turnsDay, wh100L, most float64
	}{
		{px120(false), 0.0409, 6, []pipe.Point{{HeadM: 4.5}, {FlowM3s: 30 * lMin, HeadM: 4.1}, {FlowM3s: 60 * lMin, HeadM: 3.1}}, 86.7, 1.777, 119.1, 2.859, 0.297, 2.29, 9.63},
		{px25(false), 0.02664, 1, []pipe.Point{{HeadM: 2.5}, {FlowM3s: 8 * lMin, HeadM: 2.35}, {FlowM3s: 16 * lMin, HeadM: 1.85}}, 17.42, 1.722, 24.16, 0.580, 0.300, 2.31, 1.94},
	} {
		// 90 L over the flow of a branch.
		openS := 90 / (row.flow / float64(row.together)) * 60
		s := drawn(t, sixLoop(t, row.riserM, openS, raft, row.pump), 22)
		curve, err := pipe.Fit(row.curve)
		if err != nil {
			t.Fatal(err)
		}
		curve.LastM3s = 1
		s.Pumps[0].Curve = curve
		s.net.SetPump(s.Pumps[0].link, curve)
		clear(s.kept)
		o, err := s.option(s.Pumps[0].In, row.together, Goal{PerHour: 1}.filled(), 0.30)
		if err != nil {
			t.Fatal(err)
		}
		if !o.Serves || o.MustFlow {
			t.Errorf("%s: %+v", o.Pump, o)
		}
		about(t, o.Pump+": flow", o.FlowM3s/lMin, row.flow, 0.05)
		about(t, o.Pump+": head", o.HeadM, row.head, 0.002)
		about(t, o.Pump+": watts", o.WireW, row.watts, 0.06)
		about(t, o.Pump+": kWh a day nonstop", o.NonstopKWh/365, row.nonstopDay, 0.002)
		about(t, o.Pump+": kWh a day for the turns", o.TurnsKWh/365, row.turnsDay, 0.001)
		about(t, o.Pump+": Wh for 100 L", o.WhPer100L, row.wh100L, 0.006)
		about(t, o.Pump+": floods an hour that fit", o.MostPerHour, row.most, 0.01)
		about(t, o.Pump+": cost", o.YearCost, 0.30*o.TurnsKWh, 1e-9)
		if o.YearKWh != o.TurnsKWh {
			t.Errorf("%s: %g kWh a year, want those of the turns, for the pump can stop", o.Pump, o.YearKWh)
		}
	}
}

// The lesson of §3.6: for equal floods the small pump takes no less.
func TestSearchTellsWhereTheSavingIs(t *testing.T) {
	bed := func(name string) site.Bed {
		b := g2(name, 0.6)
		b.Siphon.StandpipeM, b.Siphon.StartM3s = 0.021, 6*lMin
		b.Siphon.K = 3
		b.AreaM2 = 1.0
		return b
	}
	l := sixLoop(t, 0.0409, 0, bed, px120(false), px25(true))
	c, err := Search(context.Background(), l, Settings{TempC: 22}, Goal{Together: 6}, 0.30)
	if err != nil {
		t.Fatal(err)
	}
	if c.Now == nil || c.Now.Pump != "PX-120" || c.Now.Together != 6 || !c.Now.Serves {
		t.Fatalf("now: %+v", c.Now)
	}
	if c.Best == nil {
		t.Fatalf("none serves: %+v", c.Rows)
	}
	var small *Option
	for i := range c.Rows {
		if o := &c.Rows[i]; o.Pump == "PX-25" && o.Together == 1 {
			small = o
		}
	}
	if small == nil || !small.Serves {
		t.Fatalf("small pump: %+v", small)
	}
	if saved := c.Now.NonstopKWh - small.NonstopKWh; saved < 0.7*c.Now.NonstopKWh {
		t.Errorf("nonstop the small pump saves %g of %g kWh", saved, c.Now.NonstopKWh)
	}
	if r := small.TurnsKWh / c.Now.TurnsKWh; math.Abs(r-1) > 0.12 {
		t.Errorf("for equal floods the small pump takes %g of the large one's energy", r)
	}
	if !strings.Contains(c.Sentence, "of the saving comes from not running nonstop, not from the other pump") && !strings.Contains(c.Sentence, "what saves is not to run it nonstop") {
		t.Errorf("%q does not say where the saving comes from", c.Sentence)
	}
	// With the small pump alone as the other choice it says that it is not the pump.
	both := &Choice{Rows: []Option{*small, *c.Now}}
	both.Best, both.Now = &both.Rows[0], &both.Rows[1]
	if got := both.say(); !strings.Contains(got, "not from the other pump") {
		t.Errorf("%q", got)
	}
}

func TestSearchOrder(t *testing.T) {
	d := sample(t)
	for i := range d.Loops {
		c, err := Search(context.Background(), &d.Loops[i], Settings{TempC: 14}, GoalOf(&d.Loops[i]), 0.25)
		if err != nil {
			t.Fatal(err)
		}
		least := math.Inf(1)
		for k := range c.Rows {
			o := &c.Rows[k]
			if k > 0 && o.Serves && !c.Rows[k-1].Serves {
				t.Errorf("%s serves and stands below one that does not", o.Name())
			}
			if o.Serves {
				least = min(least, o.YearKWh)
			} else if len(o.Why) == 0 {
				t.Errorf("%s does not serve, without a reason", o.Name())
			}
			for j := range k {
				if o.Pump == c.Rows[j].Pump && o.Together == c.Rows[j].Together {
					t.Errorf("%s stands twice", o.Name())
				}
			}
		}
		if c.Best != nil && (!c.Best.Serves || c.Best.YearKWh > 1.021*least) {
			t.Errorf("best is %s with %g kWh; the least is %g", c.Best.Name(), c.Best.YearKWh, least)
		}
		if c.Now == nil || c.Now.Spare {
			t.Errorf("now: %+v", c.Now)
		}
		if strings.Contains(c.Sentence, "NaN") || !strings.HasSuffix(c.Sentence, ".") {
			t.Errorf("%q", c.Sentence)
		}
		if _, err := json.Marshal(c); err != nil {
			t.Error(err)
		}
	}
}

func TestSearchRefusals(t *testing.T) {
	l := threeBedLoop(t, 3)
	for name, f := range map[string]func() error{
		"price": func() error { _, err := Search(context.Background(), l, Settings{TempC: 22}, Goal{}, -1); return err },
		"goal": func() error {
			_, err := Search(context.Background(), l, Settings{TempC: 22}, Goal{PerHour: 99}, 0.3)
			return err
		},
	} {
		if err := f(); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
	if _, err := Search(context.Background(), l, Settings{TempC: 80}, Goal{}, 0.3); !errors.Is(err, ErrUnpiped) {
		t.Errorf("hot water: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Search(ctx, l, Settings{TempC: 22}, Goal{}, 0.3); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	l.Pumps = nil
	if _, err := Search(context.Background(), l, Settings{TempC: 22}, Goal{}, 0.3); !errors.Is(err, ErrUnpiped) {
		t.Errorf("no pump: %v", err)
	}
}

func BenchmarkSearchDemo(b *testing.B) {
	d := sample(b)
	b.ReportAllocs()
	for b.Loop() {
		for i := range d.Loops {
			if _, err := Search(context.Background(), &d.Loops[i], Settings{TempC: 14}, GoalOf(&d.Loops[i]), 0.3); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// Each sentence of the comparison is whole and says what it must.
func TestSearchSentences(t *testing.T) {
	plan := &Timetable{Parts: []Part{{Turns: make([]Turn, 2)}}}
	opt := func(pump string, together int, serves bool, nonstop, turns float64, must bool) *Option {
		o := &Option{Pump: pump, Together: together, Serves: serves, NonstopKWh: nonstop, TurnsKWh: turns, MustFlow: must, YearKWh: turns, Plan: plan}
		if must || turns == 0 {
			o.YearKWh = nonstop
		}
		if !serves {
			o.Why = []string{"It is too weak."}
		}
		return o
	}
	big := opt("big", 2, true, 1000, 100, false)
	for _, row := range []struct {
		best, now *Option
		want      string
	}{
		{nil, nil, "No pump of the loop floods every bed as often as asked. It is too weak."},
		{nil, opt("old", 1, false, 9, 9, false), "as asked. Old with one valve open at a time: It is too weak."},
		{big, nil, "Big with 2 valves open at a time serves with the least power: 100 kWh a year."},
		{big, big, "It is the pump that runs now: what saves is not to run it nonstop."},
		{opt("big", 2, true, 1000, 1000, false), nil, "1000 kWh a year."},
		{opt("small", 1, true, 200, 98, false), big, "the saving comes from not running nonstop, not from the other pump."},
		{opt("small", 1, true, 120, 60, false), big, "nearly all of the saving comes from not running nonstop, not from the other pump."},
		{opt("small", 1, true, 120, 60, false), opt("big", 2, true, 1000, 200, false), "85 % of the saving comes from"},
		{opt("big", 1, true, 1000, 90, false), big, "nearly all of the saving comes from not running nonstop."},
		{opt("small", 1, true, 110, 100, false), opt("big", 2, true, 1000, 700, false), "Big with 2 valves open at a time takes 700 kWh for the same floods, 1000 kWh when it never stops."},
		{big, opt("old", 1, false, 9, 9, false), "Old with one valve open at a time does not flood every bed as asked: It is too weak."},
		{opt("big", 2, true, 500, 100, true), opt("big", 1, true, 600, 90, true), "cannot stop; now, with one valve open at a time, it takes 600 kWh."},
		{opt("small", 2, true, 500, 100, true), opt("big", 1, true, 600, 90, true), "cannot stop; big takes 600 kWh now."},
		{opt("unknown", 2, true, 0, 0, true), big, "Unknown with 2 valves open at a time serves."},
		{opt("always", 2, true, 300, 0, false), big, "300 kWh a year."},
	} {
		c := &Choice{Rows: []Option{{Why: []string{"It is too weak."}}}, Best: row.best, Now: row.now}
		if got := c.say(); !strings.HasSuffix(got, row.want) && !strings.Contains(got, row.want) || !strings.HasSuffix(got, ".") || strings.Contains(got, "%!") {
			t.Errorf("%q, want in it %q", got, row.want)
		}
	}
	// What runs now does not serve: that is said, not only what it takes.
	got := (&Choice{Rows: []Option{*big}, Best: opt("big", 1, true, 848, 90, true), Now: opt("big", 5, false, 838, 90, true)}).say()
	if !strings.Contains(got, "Now, with big and 5 valves open at a time, not every bed floods as asked: It is too weak.") || strings.Contains(got, "it takes 838") {
		t.Errorf("%q", got)
	}
	// As good as the least is not the least.
	rows := []Option{*opt("a", 1, true, 873, 80, true), *opt("b", 1, true, 860, 80, true), *opt("c", 1, false, 500, 80, true)}
	got = (&Choice{Rows: rows, Best: &rows[0], Now: &rows[0]}).say()
	if !strings.HasPrefix(got, "A with one valve open at a time serves with 873 kWh a year, as good as the least power, 860 kWh, for some") {
		t.Errorf("%q", got)
	}
	same := opt("big", 2, true, 500, 100, true)
	if got := (&Choice{Best: same, Now: same}).say(); !strings.HasSuffix(got, "that is how it runs now.") {
		t.Errorf("%q", got)
	}
	same = opt("big", 2, true, 105, 100, false)
	if got := (&Choice{Best: same, Now: same}).say(); !strings.HasSuffix(got, "It is how the pump runs now.") {
		t.Errorf("%q", got)
	}
}

// A sump too small for all beds at once does not serve, though each siphon would
// trip; a pump without a curve is named and left out.
func TestSearchMindsTheSump(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.SumpM3, l.SumpDepthM = 0.20, 0.55
	l.Pumps = append(l.Pumps, site.Pump{Name: "bare", Spare: true})
	c, err := Search(context.Background(), l, Settings{TempC: 22}, Goal{}, 0.3)
	if err != nil {
		t.Fatal(err)
	}
	s := drawn(t, l, 22)
	for i := range c.Rows {
		o := &c.Rows[i]
		if want := o.Together == 1; o.Serves != want {
			t.Errorf("%s: serves %v, %q", o.Name(), o.Serves, o.Why)
		}
		if o.SourceLowM > s.Source.SurfaceM-0.1 || o.SourceLowM < s.Source.IntakeM-1e-3 {
			t.Errorf("%s: source falls to %g m", o.Name(), o.SourceLowM)
		}
		if o.Together == 3 && !strings.Contains(strings.Join(o.Why, " "), "runs dry") {
			t.Errorf("%s: %q", o.Name(), o.Why)
		}
	}
	if !strings.Contains(strings.Join(c.Notes, " "), "Bare is left out: the site gives no curve for it") {
		t.Errorf("%q", c.Notes)
	}
}

// A row serves only when the day followed by its timetable does.
func TestSearchFollowsTheDay(t *testing.T) {
	l := claySix(28, func(l *site.Loop) { l.Timetable = goalOf(0.7, 5) })
	c, err := Search(context.Background(), l, Settings{TempC: 20, Units: quantity.USCustomary}, GoalOf(l), 0.34)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.Rows {
		o := &c.Rows[i]
		s, err := Draw(l, Settings{TempC: 20, Pump: o.Pump})
		if err != nil {
			t.Fatal(err)
		}
		g := GoalOf(l)
		g.Together = o.Together
		p := planned(t, s, g)
		if o.Serves != p.Fits || o.Serves == (len(o.Why) > 0) {
			t.Errorf("%s: serves %v, its timetable %v: %q", o.Name(), o.Serves, p.Fits, o.Why)
		}
		if strings.Contains(strings.Join(o.Why, " "), " L ") {
			t.Errorf("%q", o.Why)
		}
	}
	if c.Now == nil || c.Now.Serves || c.Best == nil || !strings.Contains(c.Sentence, "not every bed floods as asked: ") {
		t.Errorf("%q", c.Sentence)
	}
}
