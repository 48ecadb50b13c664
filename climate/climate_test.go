package climate_test

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/climate"
	"tidebed/science/sun"
)

//go:embed testdata/seattle-hourly-normals.csv
var seattleHours []byte

func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.5g, want %g ± %g", name, got, want, tol)
	}
}

func own(t testing.TB, p climate.Place) *climate.Weather {
	t.Helper()
	w, err := climate.New(p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, p.Months, p.LatitudeDeg)
	if err != nil {
		t.Fatalf("%s: %v", p.Name, err)
	}
	return w
}

func date(year, month, day int) time.Time {
	return time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
}

// In each place the days of each month have the normals as their mean, and the
// hours of each day hold together.
func TestMonthlyMeansAreKept(t *testing.T) {
	places := climate.Places()
	if len(places) != 20 {
		t.Fatalf("%d places, want 20", len(places))
	}
	for _, p := range places {
		w := own(t, p)
		var day climate.Day
		for m := 1; m <= 12; m++ {
			var tx, tn, ghi, wind, n float64
			for d := date(2025, m, 1); d.Month() == time.Month(m); d = d.AddDate(0, 0, 1) {
				if err := w.Day(d, &day); err != nil {
					t.Fatal(err)
				}
				tx, tn, ghi, wind, n = tx+day.TmaxC, tn+day.TminC, ghi+day.GHIMJm2, wind+day.Hours[3].WindMS, n+1
			}
			where := fmt.Sprintf("%s, month %d: ", p.Name, m)
			want := p.Months[m-1]
			near(t, where+"Tmax", tx/n, want.TmaxC, 0.02)
			near(t, where+"Tmin", tn/n, want.TminC, 0.02)
			near(t, where+"GHI", ghi/n, want.GHIMJm2d, 0.02+0.002*want.GHIMJm2d)
			near(t, where+"wind", wind/n, want.WindMS, 0.02)
		}
	}
}

// hold says what any day must keep to.
func hold(t interface {
	Helper()
	Fatalf(string, ...any)
}, where string, day *climate.Day) {
	t.Helper()
	sum := 0.0
	for h, v := range day.Hours {
		for _, x := range []float64{v.TempC, v.DewPointC, v.RHShare, v.GHIWm2, v.DiffuseWm2, v.WindMS} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%s hour %d: %+v", where, h, v)
			}
		}
		if v.DewPointC > v.TempC || v.RHShare <= 0 || v.RHShare > 1 || v.GHIWm2 < 0 || v.GHIWm2 > 1400 || v.DiffuseWm2 < 0 || v.DiffuseWm2 > v.GHIWm2 || v.WindMS < 0 {
			t.Fatalf("%s hour %d: %+v", where, h, v)
		}
		sum += v.GHIWm2 * 3600 / 1e6
	}
	if math.Abs(sum-day.GHIMJm2) > 1e-9 {
		t.Fatalf("%s: hours sum to %g MJ/m2, day %g", where, sum, day.GHIMJm2)
	}
	if day.PolarNight && (day.GHIMJm2 != 0 || day.DayLengthH != 0) || day.PolarDay && day.DayLengthH != 24 || day.DayLengthH < 0 || day.DayLengthH > 24.1 {
		t.Fatalf("%s: %+v", where, day)
	}
	if !(day.TminC <= day.TmaxC) {
		t.Fatalf("%s: lowest %g above highest %g", where, day.TminC, day.TmaxC)
	}
}

// No latitude, longitude or date breaks a day, with typed nights too; and
// temperatures go on without a jump at midnight.
func TestAnySpot(t *testing.T) {
	places := climate.Places()
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SampledFrom(places).Draw(t, "place")
		lat := rapid.OneOf(rapid.Float64Range(0, 90), rapid.Float64Range(64, 68), rapid.Just(90.0)).Draw(t, "lat")
		lon := rapid.Float64Range(-180, 180).Draw(t, "lon")
		if p.LatitudeDeg < 0 {
			lat = -lat
		}
		w, err := climate.New(lat, lon, 100, p.Months, p.LatitudeDeg)
		if err != nil {
			t.Fatal(err)
		}
		if rapid.Bool().Draw(t, "zone") {
			if err := w.SetUTCOffset(float64(rapid.IntRange(-13, 14).Draw(t, "offset"))); err != nil {
				t.Fatal(err)
			}
		}
		d := date(rapid.IntRange(1901, 2098).Draw(t, "year"), 1, rapid.IntRange(1, 366).Draw(t, "day"))
		if rapid.Bool().Draw(t, "typed") {
			if err := w.SetNightMinimum(d, rapid.Float64Range(-60, 40).Draw(t, "night")); err != nil {
				t.Fatal(err)
			}
		}
		var day climate.Day
		for range 3 {
			if err := w.Day(d, &day); err != nil {
				t.Fatal(err)
			}
			hold(t, d.String(), &day)
			d = d.AddDate(0, 0, 1)
		}
	})
}

// The wave has no jump: in temperate places consecutive hours differ by less
// than a third of the day's range, across midnight too.
func TestNoJumps(t *testing.T) {
	for _, name := range []string{"London", "Phoenix", "Santiago", "Sand Point", "Burlington"} {
		p, err := climate.Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		w := own(t, p)
		var day climate.Day
		last := math.NaN()
		for d := date(2024, 1, 1); d.Year() == 2024; d = d.AddDate(0, 0, 1) {
			if err := w.Day(d, &day); err != nil {
				t.Fatal(err)
			}
			for h, v := range day.Hours {
				if step := math.Abs(v.TempC - last); step > 0.34*(day.TmaxC-day.TminC)+0.2 {
					t.Errorf("%s %s %d h: step %g K of a range of %g K", name, d.Format(time.DateOnly), h, step, day.TmaxC-day.TminC)
				}
				last = v.TempC
			}
		}
	}
}

// The southern hemisphere is the northern half a year later: normals turned
// round give the radiation of the mirrored day, up to the sun's distance.
func TestHemispheres(t *testing.T) {
	p, err := climate.Lookup("Bologna")
	if err != nil {
		t.Fatal(err)
	}
	var turned [12]climate.Month
	for m := range turned {
		turned[m] = p.Months[(m+6)%12]
		turned[m].GHIMJm2d *= 0.9 // the sun's distance: keeps January below the outside
	}
	north := own(t, p)
	south, err := climate.New(-p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, turned, -p.LatitudeDeg)
	if err != nil {
		t.Fatal(err)
	}
	var a, b climate.Day
	if err := north.Day(date(2025, 7, 16), &a); err != nil {
		t.Fatal(err)
	}
	if err := south.Day(date(2025, 1, 16), &b); err != nil {
		t.Fatal(err)
	}
	near(t, "highest", b.TmaxC, a.TmaxC, 0.1)
	near(t, "day length", b.DayLengthH, a.DayLengthH, 0.2)
	near(t, "radiation", b.GHIMJm2, 0.9*a.GHIMJm2, 0.7)
	if _, err := climate.New(-40, 0, 0, p.Months, p.LatitudeDeg); err == nil || !strings.Contains(err.Error(), "hemisphere") {
		t.Errorf("normals of the other hemisphere: %v", err)
	}
}

// Normals of a place further south, carried north, keep their clearness.
func TestClearnessIsCarriedOver(t *testing.T) {
	p, err := climate.Lookup("london")
	if err != nil {
		t.Fatal(err)
	}
	w, err := climate.New(57, -4, 10, p.Months, p.LatitudeDeg)
	if err != nil {
		t.Fatal(err)
	}
	home := own(t, p)
	var there, here climate.Day
	for m := 1; m <= 12; m++ {
		d := date(2025, m, 16)
		if err := w.Day(d, &there); err != nil {
			t.Fatal(err)
		}
		if err := home.Day(d, &here); err != nil {
			t.Fatal(err)
		}
		out57, err := sun.Extraterrestrial(57, d.YearDay())
		if err != nil {
			t.Fatal(err)
		}
		out51, err := sun.Extraterrestrial(p.LatitudeDeg, d.YearDay())
		if err != nil {
			t.Fatal(err)
		}
		near(t, "clearness", there.GHIMJm2/out57.RaMJm2, here.GHIMJm2/out51.RaMJm2, 1e-9)
	}
}

func TestTypedNights(t *testing.T) {
	p, err := climate.Lookup("London Heathrow")
	if err != nil {
		t.Fatal(err)
	}
	w := own(t, p)
	d := date(2026, 1, 20)
	var before, day, eve climate.Day
	if err := w.Day(d, &before); err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct{ typed, high float64 }{
		{before.TminC - 2, before.TmaxC}, // within twice the range: the day stays
		{-15, -15 + 2*(before.TmaxC-before.TminC)},
		{12, 12 + 0.5*(before.TmaxC-before.TminC)},
	} {
		if err := w.SetNightMinimum(d, r.typed); err != nil {
			t.Fatal(err)
		}
		if err := w.Day(d, &day); err != nil {
			t.Fatal(err)
		}
		if day.TminC != r.typed {
			t.Errorf("typed %g, lowest %g", r.typed, day.TminC)
		}
		near(t, "highest", day.TmaxC, r.high, 1e-9)
		hold(t, "typed", &day)
		if err := w.Day(d.AddDate(0, 0, -1), &eve); err != nil {
			t.Fatal(err)
		}
		if r.typed < 0 && eve.Hours[23].TempC > before.Hours[0].TempC-3 {
			t.Errorf("the evening before does not fall toward %g: %g", r.typed, eve.Hours[23].TempC)
		}
	}
	if err := w.SetNightMinimum(d, math.NaN()); err == nil {
		t.Error("a night of NaN is taken")
	}
}

// Source: [parton-logan-1981] normalised, worked once with the coefficients 2.0, 2.2, 1.0.
func TestCurve(t *testing.T) {
	c := climate.Curve{RiseH: 4.468, SetH: 20.041, SetBeforeH: 20.041, RiseBeforeH: 4.468, RiseAfterH: 4.468, TmaxC: 23.4, TminC: 13.7, TmaxBeforeC: 23.3, TminBeforeC: 13.7, TminNext: 13.8}
	for _, r := range []struct{ h, want float64 }{{0, 15.91}, {5, 13.80}, {9, 18.91}, {12, 22.11}, {15, 23.39}, {18, 22.47}, {21, 19.12}, {23, 16.82}} {
		near(t, fmt.Sprintf("%g h", r.h), c.TempC(r.h), r.want, 0.03)
	}
	near(t, "dawn", c.TempC(4.468+1), 13.7, 0.01)
	f := climate.Curve{TmaxC: 20, TminC: 10, TmaxBeforeC: 20, TminNext: 10, Fractions: true}
	for _, r := range []struct{ h, want float64 }{{5, 10}, {15, 20}, {24, 11.8}, {0, 11.8}, {1, 11.3}, {12.5, 18.3}} {
		near(t, fmt.Sprintf("fractions, %g h", r.h), f.TempC(r.h), r.want, 1e-9)
	}
}

// seattleDay is a mean day of Seattle: hours of the clock UTC-8, NaN where the
// data have none.
type seattleDay struct {
	month, day int
	hours      []float64
	whole      bool
}

func seattleDays(t *testing.T) []seattleDay {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(seattleHours))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	days := make([]seattleDay, len(rows))
	for i, row := range rows {
		d := &days[i]
		d.whole = true
		if d.month, err = strconv.Atoi(row[0]); err != nil {
			t.Fatal(err)
		}
		if d.day, err = strconv.Atoi(row[1]); err != nil {
			t.Fatal(err)
		}
		for h := range 24 {
			v, err := strconv.ParseFloat(row[2+h], 64)
			if err != nil {
				d.whole = false
				continue
			}
			d.hours = append(d.hours, v)
		}
	}
	return days
}

// Source: hourly normals of Seattle 1981-2010: the curve through each day's
// highest and lowest misses the hours by 0.463 K on average.
func TestSeattleHours(t *testing.T) {
	days := seattleDays(t)
	rise, set := make([]float64, len(days)), make([]float64, len(days))
	for i, d := range days {
		r, s, _, err := sun.RiseSetMinutes(2010, time.Month(d.month), d.day, 47.4444, -122.3139)
		if err != nil {
			t.Fatal(err)
		}
		rise[i], set[i] = r/60-8, s/60-8
	}
	var square, hours float64
	for i := 1; i < len(days)-1; i++ {
		before, d, after := days[i-1], days[i], days[i+1]
		if !before.whole || !d.whole || !after.whole {
			continue
		}
		c := climate.Curve{
			RiseH: rise[i], SetH: set[i], RiseBeforeH: rise[i-1], SetBeforeH: set[i-1], RiseAfterH: rise[i+1],
			TmaxC: slices.Max(d.hours), TminC: slices.Min(d.hours),
			TmaxBeforeC: slices.Max(before.hours), TminBeforeC: slices.Min(before.hours), TminNext: slices.Min(after.hours),
		}
		for h, v := range d.hours {
			e := c.TempC(float64(h)) - v
			square, hours = square+e*e, hours+1
		}
	}
	if hours < 24*355 {
		t.Fatalf("only %g hours", hours)
	}
	near(t, "RMSE", math.Sqrt(square/hours), 0.463, 0.01)
}

func TestLookup(t *testing.T) {
	for name, want := range map[string]string{"London": "London Heathrow", " SANTIAGO de  chile ": "Santiago de Chile", "bologna": "Bologna"} {
		if p, err := climate.Lookup(name); err != nil || p.Name != want {
			t.Errorf("Lookup(%q) = %q, %v", name, p.Name, err)
		}
	}
	for name, says := range map[string]string{"": "such as", "Londno": "London Heathrow", "WA": "Yakima WA", "San": "any of", "Amsterdamm": "Amsterdam"} {
		if _, err := climate.Lookup(name); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("Lookup(%q): error %v, want %q in it", name, err, says)
		}
	}
	p, err := climate.Lookup("London")
	if err != nil || len(p.Estimated) != 4 || p.Country != "GB" || p.Source == "" || !math.IsNaN(p.Months[0].TmaxSDC) {
		t.Errorf("%+v, %v", p, err)
	}
}

func TestRefusals(t *testing.T) {
	p, err := climate.Lookup("Bologna")
	if err != nil {
		t.Fatal(err)
	}
	for says, change := range map[string]func(*climate.Month){
		"missing":  func(m *climate.Month) { *m = climate.Month{} },
		"lowest":   func(m *climate.Month) { m.TminC = m.TmaxC + 1 },
		"highest":  func(m *climate.Month) { m.TmaxC = math.NaN() },
		"humidity": func(m *climate.Month) { m.RHShare = 70 },
		"dew":      func(m *climate.Month) { m.DewPointC = m.TmaxC + 1 },
		"no dew":   func(m *climate.Month) { m.DewPointC, m.RHShare = math.NaN(), 0 },
		"kWh":      func(m *climate.Month) { m.GHIMJm2d = 43 },
		"wind":     func(m *climate.Month) { m.WindMS = -1 },
	} {
		months := p.Months
		change(&months[4])
		_, err := climate.New(44, 11, 30, months, p.LatitudeDeg)
		if err == nil || !strings.Contains(err.Error(), "May") || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: error %v", says, err)
		}
	}
	for _, r := range [][4]float64{{91, 0, 0, 44}, {44, 181, 0, 44}, {44, 0, 7000, 44}, {44, 0, 0, math.NaN()}} {
		if _, err := climate.New(r[0], r[1], r[2], p.Months, r[3]); err == nil {
			t.Errorf("%v is taken", r)
		}
	}
	var day climate.Day
	w := own(t, p)
	if err := w.Day(date(1800, 1, 1), &day); err == nil {
		t.Error("the year 1800 is taken")
	}
	if err := w.SetUTCOffset(15); err == nil {
		t.Error("a clock 15 hours ahead is taken")
	}
	// Humidity alone is enough.
	months := p.Months
	for m := range months {
		months[m].DewPointC = math.NaN()
	}
	if _, err := climate.New(44, 11, 30, months, p.LatitudeDeg); err != nil {
		t.Error(err)
	}
}

func TestCheck(t *testing.T) {
	p, err := climate.Lookup("Bologna")
	if err != nil {
		t.Fatal(err)
	}
	if got := own(t, p).Check(); len(got) != 0 {
		t.Errorf("warnings of good normals: %q", got)
	}
	p.Months[0].DewPointC = p.Months[0].TminC + 3
	p.Months[6].GHIMJm2d = 35
	p.Months[7].TminC = p.Months[7].TmaxC - 0.2
	p.Months[7].DewPointC = 10
	if got := own(t, p).Check(); len(got) != 3 || !strings.Contains(got[0], "January") || !strings.Contains(got[1], "July") || !strings.Contains(got[2], "August") {
		t.Errorf("warnings %q", got)
	}
}

func TestDayAllocatesNothing(t *testing.T) {
	w := own(t, climate.Places()[2])
	if err := w.SetNightMinimum(date(2026, 1, 5), -8); err != nil {
		t.Fatal(err)
	}
	var a, b climate.Day
	d := date(2026, 1, 4)
	if n := testing.AllocsPerRun(50, func() {
		if err := w.Day(d, &a); err != nil {
			t.Error(err)
		}
	}); n != 0 {
		t.Errorf("Day allocates %g times", n)
	}
	if err := w.Day(d.Add(5*time.Hour), &b); err != nil || a != b {
		t.Errorf("the same date gives another day: %v", err)
	}
}

func BenchmarkYear(b *testing.B) {
	w := own(b, climate.Places()[2])
	var day climate.Day
	b.ReportAllocs()
	for b.Loop() {
		for d := date(2026, 1, 1); d.Year() == 2026; d = d.AddDate(0, 0, 1) {
			if err := w.Day(d, &day); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func ExampleWeather_Day() {
	p, err := climate.Lookup("London")
	if err != nil {
		fmt.Println(err)
		return
	}
	w, err := climate.New(p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, p.Months, p.LatitudeDeg)
	if err != nil {
		fmt.Println(err)
		return
	}
	var day climate.Day
	if err := w.Day(time.Date(2026, time.June, 21, 0, 0, 0, 0, time.UTC), &day); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f to %.0f °C, %.1f h of day\n", day.TminC, day.TmaxC, day.DayLengthH)
	// Output: 13 to 22 °C, 16.6 h of day
}

// Where humidity is given and no dew point, the hours have that humidity about
// the day's mean temperature: even weather of 10 °C and 80 % has 80 %.
func TestHumidityIsKept(t *testing.T) {
	var months [12]climate.Month
	for m := range months {
		months[m] = climate.Month{TmaxC: 10.5, TminC: 9.5, RHShare: 0.8, DewPointC: math.NaN(), GHIMJm2d: 8}
	}
	w, err := climate.New(40, 0, 10, months, 40)
	if err != nil {
		t.Fatal(err)
	}
	var day climate.Day
	if err := w.Day(date(2027, 6, 15), &day); err != nil {
		t.Fatal(err)
	}
	var mean float64
	for _, h := range day.Hours {
		mean += h.RHShare / 24
	}
	near(t, "mean humidity", mean, 0.8, 0.02)
}
