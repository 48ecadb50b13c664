package season_test

import (
	"math"
	"strings"
	"testing"

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
			"In tank oxygen falls below the 5 mg/L that is a danger to life on 2027-02-20. Also out of bounds: nitrate."},
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
	if k := foods["potassium"]; k.Day.IsZero() || k.Ample != 20 || !(k.Least <= k.Gm3) || k.Remedy == "" {
		t.Errorf("potassium: %+v", k)
	}
	if n, ok := foods["nitrogen"]; ok {
		t.Errorf("40 g/m³ of nitrate called short: %+v", n)
	}
	rows := l.Balance()
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
