package web

import (
	"math"
	"strings"
	"testing"

	"tidebed/season"
	"tidebed/site"
)

// The drawing's bands carry the numbers of the ledger, and both sides are as tall.
func TestFlowDrawing(t *testing.T) {
	from := []season.Part{{Name: "feed", G: 90}, {Name: "there at the start", G: 10}}
	to := []season.Part{{Name: "plants", G: 60}, {Name: "gas", G: 30}, {Name: "in the water at the end", G: 10}}
	svg := string(flowDrawing("north", from, to))
	for _, want := range []string{"100 g of nitrogen", ">feed 90<", ">plants 60<", ">gas 30<", "<title>"} {
		if !strings.Contains(svg, want) {
			t.Errorf("drawing lacks %q", want)
		}
	}
	if strings.Count(svg, `class="flow`) != 6 || strings.Contains(svg, "NaN") {
		t.Errorf("drawing has %d bands: %s", strings.Count(svg, `class="flow`), svg)
	}
	if flowDrawing("north", nil, nil) != "" {
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
