package season_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/season"
	"tidebed/site"
)

func plainDay(d site.Date) string { return d.String() }

// Both sides of the flow come from reports of different parts and have one sum.
func TestNitrogenFlowSums(t *testing.T) {
	f := run(t, demo(t), season.Options{Course: season.Typical, To: demo(t).Opening.Date.Plus(60)})
	for i := range f.Loops {
		from, to := f.Loops[i].NitrogenFlow()
		var in, out float64
		for _, p := range from {
			in += p.G
		}
		for _, p := range to {
			out += p.G
		}
		if len(from) < 2 || len(to) < 4 || math.Abs(in-out) > 1e-6*in {
			t.Errorf("%s: %.3f g from %d, %.3f g to %d places", f.Loops[i].Name, in, len(from), out, len(to))
		}
	}
}

func TestWaterSentences(t *testing.T) {
	day := func(d int) site.Date { return site.On(2027, 1, 11).Plus(d) }
	loop := func(leaves ...season.Crossing) season.LoopCourse {
		return season.LoopCourse{Name: "north", Water: &season.WaterCourse{
			Cells: []season.CellCourse{{Name: "tank", Tank: "tank", Leaves: leaves}},
			Doses: []season.DoseGiven{{Day: day(3), What: "potassium bicarbonate", Grams: 132}, {Day: day(1), What: "lime", Held: true}},
		}}
	}
	for _, c := range []struct {
		loops []season.LoopCourse
		want  string
	}{
		{nil, "No tank stands in this building, so there is no water to watch for fish."},
		{[]season.LoopCourse{loop()}, "Until 2027-03-08 the water of every tank stays within what its fish bear for long. Next to give: 130 g of potassium bicarbonate to the north loop on 2027-01-14, after a test."},
		{[]season.LoopCourse{loop(season.Crossing{Parameter: "nitrate", Day: day(20), Until: day(30), Limit: 75, Unit: "g/m³", High: true, Verdict: "act"},
			season.Crossing{Parameter: "oxygen", Day: day(40), Until: day(50), Limit: 5, Unit: "g/m³", Verdict: "critical"})},
			"In tank oxygen falls below the 5 mg/L that is a danger to life on 2027-02-20: more air, and less feed until it is there. Also out of bounds: nitrate."},
		{[]season.LoopCourse{loop(season.Crossing{Parameter: "nitrate", Day: day(20), Until: day(30), Limit: 75, Unit: "g/m³", High: true, Verdict: "act"})},
			"In tank nitrate rises above the 75 mg/L as N that its fish bear for long on 2027-01-31: plant more, feed less, or change a fifth of the water a week. Oxygen, un-ionised ammonia, nitrite and pH stay within what the fish bear. Next to give: 130 g of potassium bicarbonate"},
		{[]season.LoopCourse{loop(season.Crossing{Parameter: "oxygen", Day: day(-9), Until: day(-2), Limit: 5, Unit: "g/m³", Verdict: "critical"})}, "Until 2027-03-08 the water"},
		{[]season.LoopCourse{loop(season.Crossing{Parameter: "pH", Day: day(90), Until: day(99), Limit: 6.2, Verdict: "act"})}, "Until 2027-03-08 the water"},
		{[]season.LoopCourse{loop(season.Crossing{Parameter: "pH", Day: day(2), Until: day(99), Limit: 6.2, Verdict: "watch"})}, "Until 2027-03-08 the water"},
	} {
		if got := season.WaterSentence(c.loops, day(0), day(56), plainDay); !strings.HasPrefix(got, c.want) {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
}

func TestShortagesAndBalance(t *testing.T) {
	s := one()
	s.Opening.Cohorts = nil
	s.Opening.Water[0].PotassiumGm3 = 3
	s.Loops[0].Doses = "none"
	s.Opening.Plantings[0].Planted = site.On(2027, 4, 1)
	l := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(60)}).Loops[0]
	foods := map[string]season.Shortage{}
	for _, x := range l.Shortages() {
		foods[x.Food] = x
	}
	if k := foods["potassium"]; k.Day.IsZero() || k.Ample != 20 || !(k.Least <= k.Gm3) || k.Remedy == "" || k.Given != "nothing by the doses" || k.Source == "" {
		t.Errorf("potassium: %+v", k)
	}
	if n, ok := foods["nitrogen"]; ok {
		t.Errorf("40 g/m³ of nitrate called short: %+v", n)
	}
	rows := l.Balance(nil)
	if len(rows) < 4 {
		t.Fatalf("balance %+v", rows)
	}
	for _, r := range rows {
		if r.What == "" || r.Here == "" || r.Rule == "" || r.Balance == "" || r.Source == "" || strings.Contains(r.Here+r.Balance, "NaN") {
			t.Errorf("row %+v", r)
		}
	}
}

func TestMonthlyDosesSum(t *testing.T) {
	f := run(t, demo(t), season.Options{Course: season.Typical, To: demo(t).Opening.Date.Plus(80)})
	w := f.Loops[0].Water
	var listed, summed float64
	for _, d := range w.Doses {
		if !d.Held {
			listed += d.Grams
		}
	}
	for _, m := range w.MonthlyDoses(f.From) {
		summed += m.Sum.Grams
	}
	if listed == 0 || math.Abs(listed-summed) > 1e-9*listed {
		t.Errorf("doses of %g g, by month %g g", listed, summed)
	}
}

// The whole numbers that are printed sum to the printed totals, whatever the parts.
func TestWholeNitrogenSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SliceOfN(rapid.Float64Range(0.01, 900), 1, 8)
		in, out := g.Draw(t, "in"), g.Draw(t, "out")
		var l season.LoopCourse
		sum := 0.0
		for _, v := range in {
			l.Nitrogen.In = append(l.Nitrogen.In, season.Entry{Name: "in", Amount: v})
			sum += v
		}
		left := sum
		for _, v := range out {
			l.Nitrogen.Out = append(l.Nitrogen.Out, season.Entry{Name: "out", Amount: v})
			left -= v
		}
		l.Nitrogen.End = left // may be below nothing: then it stands among what came
		from, to, total := l.WholeNitrogen()
		for side, parts := range [2][]season.WholePart{from, to} {
			grams, percent := 0, 0
			for _, p := range parts {
				grams += p.Grams
				percent += p.Percent
				if p.G < 0 || math.Abs(float64(p.Grams)-p.G) > 1.5 { // a half by the total's rounding
					t.Fatalf("%+v", p)
				}
			}
			if grams != total || percent != 100 {
				t.Fatalf("side %d: %d g of %d, %d %%", side, grams, total, percent)
			}
		}
	})
	if from, to, total := new(season.LoopCourse).WholeNitrogen(); len(from)+len(to)+total != 0 {
		t.Error("nothing flows as something")
	}
}

// What feeds, fills and is breathed: the balance tells the densest day of a tank
// and the oxygen by its own ledger.
func TestBalanceOfFishAndOxygen(t *testing.T) {
	f := run(t, demo(t), season.Options{Course: season.Typical, To: demo(t).Opening.Date.Plus(20)})
	l := &f.Loops[0]
	rows := map[string]season.BalanceRow{}
	for _, r := range l.Balance(f.Cohorts) {
		rows[r.What] = r
	}
	most := season.FishDay{}
	for _, c := range f.Cohorts {
		for _, d := range c.Days {
			if c.Tank == "trout 1" && d.DensityKgM3 > most.DensityKgM3 {
				most = d
			}
		}
	}
	if want := fmt.Sprintf("at most %.0f kg/m³, on %s", most.DensityKgM3, most.Day); rows["fish in trout 1"].Here != want {
		t.Errorf("fish: %q, want %q", rows["fish in trout 1"].Here, want)
	}
	used, fed := 0.0, 0.0
	for _, e := range l.OxygenG.Out {
		used += e.Amount
	}
	for _, d := range l.Water.Days {
		fed += d.FeedG
	}
	if want := fmt.Sprintf("%.2f g for each g of feed", used/fed); rows["oxygen"].Here != want {
		t.Errorf("oxygen: %q, want %q", rows["oxygen"].Here, want)
	}
}

// Of three courses the one is told in which a limit is left first.
func TestWorseCrossings(t *testing.T) {
	day := func(d int) site.Date { return site.On(2027, 1, 11).Plus(d) }
	at := func(leaves ...season.Crossing) *season.Forecast {
		return &season.Forecast{Loops: []season.LoopCourse{{Name: "tubs"}, {Name: "north", Water: &season.WaterCourse{Cells: []season.CellCourse{{Tank: "one", Leaves: leaves}}}}}}
	}
	x := func(parameter, verdict string, d int) season.Crossing {
		return season.Crossing{Parameter: parameter, Verdict: verdict, Day: day(d), Until: day(d + 9), Limit: 5}
	}
	got := season.WorseCrossings([season.Courses]*season.Forecast{
		season.Low:     at(x("nitrate", "act", 30), x("pH", "act", 12)),
		season.Typical: at(x("nitrate", "act", 20), x("pH", "watch", 1)),
		season.High:    at(x("nitrate", "act", 10), x("pH", "critical", 14), x("oxygen", "watch", 1)),
	})
	if len(got) != 2 || got[0].Course != season.High || got[0].Only || got[0].Loop != "north" || got[1].Course != season.Low || !got[1].Only {
		t.Fatalf("%+v", got)
	}
	if want := "Earliest at high growth: in one nitrate falls below the 5 that its fish bear for long on 2027-01-21"; got[0].Saying(plainDay) != want {
		t.Errorf("got  %s\nwant %s", got[0].Saying(plainDay), want)
	}
	if want := "At low growth alone in one pH falls"; !strings.HasPrefix(got[1].Saying(plainDay), want) {
		t.Errorf("got  %s\nwant %s", got[1].Saying(plainDay), want)
	}
	danger := got[1].Crossing
	if !danger.Danger(day(12), day(20)) || danger.Danger(day(22), day(30)) || danger.Danger(day(0), day(11)) || got[0].Danger(day(0), day(30)) {
		t.Error("danger by days and by parameter")
	}
}

// What helps goes by the cause: no base where ammonia is high, base where the
// bacteria lack alkalinity.
func TestRemedyGoesByTheCause(t *testing.T) {
	for _, c := range []struct {
		x          season.Crossing
		want, lack string
	}{
		{season.Crossing{Parameter: "un-ionised ammonia", High: true, Cause: "100 g of feed"}, "give no base", "give base"},
		{season.Crossing{Parameter: "nitrite", High: true, Cause: "nitrite oxidisers lack alkalinity: 27 mg/L"}, "then give base in parts", "no base"},
		{season.Crossing{Parameter: "total ammonia", High: true, Cause: "the stones are not ripe: too few"}, "wait for the bacteria", "base"},
		{season.Crossing{Parameter: "nitrite", High: true, Cause: "nitrite oxidisers lack oxygen"}, "air to the beds", "base"},
		{season.Crossing{Parameter: "pH", High: true}, "give no base", "in parts"},
		{season.Crossing{Parameter: "pH"}, "give base in parts", "no base"},
		{season.Crossing{Parameter: "nitrate"}, "plant less", "feed less"},
	} {
		if got := c.x.Remedy(); !strings.Contains(got, c.want) || strings.Contains(got, c.lack) {
			t.Errorf("%+v: %s", c.x, got)
		}
	}
}
