package web

import (
	"context"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"tidebed/meals"
	"tidebed/season"
	"tidebed/site"
)

// The drawing's bands carry the numbers of the ledger, and both sides are as tall.
func TestFlowDrawing(t *testing.T) {
	l := season.LoopCourse{Nitrogen: season.Ledger{Start: 10.4, In: []season.Entry{{Name: "feed", Amount: 90.4}, {Name: "top-up water", Amount: 0.2}},
		Out: []season.Entry{{Name: "plants", Amount: 60.4}, {Name: "gas", Amount: 30.4}}, End: 10.2}}
	from, to, total := l.WholeNitrogen()
	svg := string(flowDrawing("north", from, to, total))
	for _, want := range []string{"101 g of nitrogen", ">feed 91 g, 90 %<", ">there at the start 10 g, 10 %<", ">plants 61 g, 60 %<", ">gas 30 g, 30 %<", ">in the water at the end 10 g, 10 %<", "<title>"} {
		if !strings.Contains(svg, want) {
			t.Errorf("drawing lacks %q", want)
		}
	}
	if strings.Count(svg, `class="flow`) != 6 || strings.Contains(svg, "NaN") {
		t.Errorf("drawing has %d bands: %s", strings.Count(svg, `class="flow`), svg)
	}
	if flowDrawing("north", nil, nil, 0) != "" {
		t.Error("nothing is drawn as something")
	}
}

// A gauge shows the end of the day's span that is nearer to a limit, and looks
// ahead.
func TestWaterStaff(t *testing.T) {
	day := func(d int) site.Date { return site.On(2027, 1, 11).Plus(d) }
	c := &season.CellCourse{Days: []season.CellDay{{Day: day(0), PHMin: 7.1, PHMax: 8.4}, {Day: day(1), PHMin: 6.9, PHMax: 8.6}}}
	b := season.Band{Name: "pH", Low: 6, High: 8.5, BestLow: 6.5, BestHigh: 8}
	st := waterStaff(c, 0, b, day(9))
	if st.Value != 8.4 || st.State() != Watch || len(st.Ahead) != 2 {
		t.Errorf("%+v, %s", st, st.State())
	}
	st = waterStaff(c, 0, b, day(0))
	if len(st.Ahead) != 0 {
		t.Errorf("looks past the last day: %v", st.Ahead)
	}
	st = waterStaff(c, 1, b, day(9))
	if st.Value != 8.6 || st.State() != Act {
		t.Errorf("%+v, %s", st, st.State())
	}
	if v := (&season.CellDay{}).Value("hardness", false); !math.IsNaN(v) {
		t.Errorf("an unknown name has %g", v)
	}
}

func TestWithoutDoses(t *testing.T) {
	until := site.On(2027, 3, 8)
	f := &season.Forecast{Loops: []season.LoopCourse{{Name: "tubs"}, {Name: "north", Water: &season.WaterCourse{Cells: []season.CellCourse{{Tank: "one", Leaves: []season.Crossing{
		{Parameter: "pH", Day: site.On(2027, 2, 20), Limit: 6.2, Verdict: "act"},
		{Parameter: "alkalinity", Day: site.On(2027, 2, 1), Limit: 30, Unit: "g/m³ as CaCO3", Verdict: "act"},
		{Parameter: "oxygen", Day: site.On(2027, 1, 12), Limit: 5, Verdict: "critical"},
	}}}}}}}
	if got := withoutDoses(f, until); got != "Without any doses: in one alkalinity falls below the 30 mg/L that its fish bear for long on 1 February 2027." {
		t.Error(got)
	}
	f.Loops = f.Loops[:1]
	if got := withoutDoses(f, until); !strings.HasPrefix(got, "Without any doses pH and alkalinity would stay") {
		t.Error(got)
	}
}

// madeUpWater is a course with one tank, whose nitrate leaves its band.
func madeUpWater(from site.Date, days int) season.LoopCourse {
	cell := season.CellCourse{Name: "Trout one", Tank: "Trout one", Group: "cold", VolumeM3: 1.6}
	l := season.LoopCourse{Name: "North loop", VolumeM3: 4, Water: &season.WaterCourse{FlowM3Day: 96}}
	for d := range days {
		at := float64(d)
		cell.Days = append(cell.Days, season.CellDay{Day: from.Plus(d), TempC: 13, DOMinGm3: 8 - at/100, PHMin: 7, PHMax: 7.4, NH3NMaxGm3: 0.004, NO2NMaxGm3: 0.04, NO3NGm3: 60 + at, AlkEqM3: 1.2, CO2MaxGm3: 4})
		l.Water.Days = append(l.Water.Days, season.LoopDay{Day: from.Plus(d), FeedG: 100, UptakeNG: 2, KGm3: 30 - at, PGm3: 9, CaGm3: 50, MgGm3: 9, FeGm3: 2, NO3NGm3: 60 + at})
	}
	for h := range season.KeptHours {
		cell.Hours = append(cell.Hours, season.CellHour{Hour: h, DOGm3: 8 - math.Abs(math.Sin(float64(h)/8))})
	}
	cell.Leaves = []season.Crossing{{Parameter: "nitrate", Day: from.Plus(16), Value: 76, Limit: 75, Unit: "g/m³", High: true, Verdict: "act", Cause: "feed brings more nitrogen than the plants take up", Until: from.Plus(days - 1), Source: "table of limits"}}
	l.Water.Cells = []season.CellCourse{cell}
	l.Water.Doses = []season.DoseGiven{
		{Day: from.Plus(2), What: "potassium bicarbonate", Grams: 132, Why: "pH 6.6"}, {Day: from.Plus(3), What: "slaked lime", Grams: 20, Held: true, Why: "held back"},
		{Day: from.Plus(16), What: "potassium bicarbonate", Grams: 100, Why: "pH 6.6"}, {Day: from.Plus(19), What: "potassium bicarbonate", Grams: 100, Why: "pH 6.6"},
	}
	l.Nitrogen = season.Ledger{Start: 100, In: []season.Entry{{Name: "feed", Amount: 50}}, Out: []season.Entry{{Name: "plants", Amount: 30}}, End: 120}
	return l
}

// The page carries the course's own figures: crossings with the worst of the three
// courses, doses of two weeks and the later ones by month, shortages with what is
// given, and each with its source.
func TestWaterPageHoldsTheCourse(t *testing.T) {
	cfg := madeUpConfig()
	from := cfg.Today
	answer := madeUpAnswer()
	for c := range answer.Seasons {
		l := madeUpWater(from, 70)
		if season.Course(c) == season.High {
			l.Water.Cells[0].Leaves[0].Day = from.Plus(9)
		}
		f := *answer.Seasons[c]
		f.From, f.Loops = from, []season.LoopCourse{l}
		answer.Seasons[c] = &f
	}
	cfg.Answer = func(context.Context) (*meals.Answer, error) { return answer, nil }
	s, err := newServer(cfg)
	if err != nil {
		t.Fatal(err)
	}
	s.patience = time.Minute
	bare := &season.Forecast{Loops: []season.LoopCourse{madeUpWater(from, 70)}}
	bare.Loops[0].Water.Cells[0].Leaves = []season.Crossing{{Parameter: "pH", Day: from.Plus(30), Limit: 6.2, Verdict: "act"}}
	if _, _, ready, err := s.undosed.wait(t.Context(), time.Minute, func(context.Context) (*season.Forecast, error) { return bare, nil }); !ready || err != nil {
		t.Fatal(ready, err)
	}
	h, err := s.handler()
	if err != nil {
		t.Fatal(err)
	}
	plain := func(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }
	page := get(t, h, "/water", http.StatusOK)
	mustContain(t, page,
		"<h1>In Trout one nitrate rises above the 75 mg/L as N that its fish bear for long on "+longDay(from.Plus(16))+": plant more, feed less, or change a fifth of the water a week. Oxygen, un-ionised ammonia, nitrite and pH stay within what the fish bear. Next to give: 130 g of potassium bicarbonate to the North loop on "+longDay(from.Plus(2)),
		"<li>Nitrate of Trout one from "+longDay(from.Plus(16))+": feed brings more nitrogen",
		"<li>Earliest at high growth: in Trout one nitrate rises above the 75 mg/L as N that its fish bear for long on "+longDay(from.Plus(9)),
		`<td data-head="growth">typical</td><td data-head="first day">`+plain(cellDay(from.Plus(16))), `<td data-head="growth">high, earliest</td><td data-head="first day">`+plain(cellDay(from.Plus(9))),
		"75.0 g N/m³", `data-head="how much">130 g</td>`, `data-head="how much">held back</td>`, `<td class="n">200 g</td><td class="n">2 times</td>`,
		"at most 0.025 g N/m³", "Davidson et al. 2014", "common practice", "130 g of potassium in 3 doses of potassium bicarbonate",
		">feed 50 g, 33 %<", ">plants 30 g, 20 %<", "150 g of nitrogen", "Balance: North loop",
		"Without any doses: in Trout one pH falls below the 6.2 that its fish bear for long on "+longDay(from.Plus(30)), "goggles", "a third", "four times as much")
	mustLack(t, page, "NaN", "Inf", "%!", "loop loop", "loop North loop")
	if n := strings.Count(page, `<rect class="band" x="46.0"`); n != 5 {
		t.Errorf("%d charts have their band, want oxygen by day and hour, ammonia, nitrite and pH", n)
	}
}

// A band is drawn where its edges are, and the scale shows them.
func TestBandedChart(t *testing.T) {
	d := banded{title: "pH", unit: "pH", low: 6, high: 8, lines: []bandedLine{{"low", []float64{6.5, 7}}}}
	d.scale(true)
	if !(d.bottom < 6 && d.top > 8) {
		t.Errorf("scale %g to %g hides the limits 6 to 8", d.bottom, d.top)
	}
	svg := string(d.svg(func(i int) float64 { return 50 + float64(i) }, func(*strings.Builder) {}))
	for _, want := range []string{`class="band"`, "least 6.00", "most 8.00", "<title>pH</title>", `class="course low" d="M50.0`} {
		if !strings.Contains(svg, want) {
			t.Errorf("lacks %q: %s", want, svg)
		}
	}
	d = banded{low: math.Inf(-1), high: 0.1, lines: []bandedLine{{"low", []float64{0.02, 0.02}}}}
	d.scale(true)
	if d.bottom != 0 || d.top < 0.1 {
		t.Errorf("scale %g to %g of what has no least", d.bottom, d.top)
	}
	d.lines[0].values = []float64{0, 0}
	d.scale(false)
	if !(d.top > d.bottom) {
		t.Errorf("scale %g to %g of nothing", d.bottom, d.top)
	}
}
