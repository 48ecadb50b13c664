package climate_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/climate"
	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/sun"
)

// hourOf is an invented hour.
type hourOf struct {
	at                                                         time.Time // clock time of its beginning
	tempC, dewC, rhPct, globalW, diffuseW, windMS, pressureKPa float64
}

// spotOf is an invented place.
type spotOf struct{ lat, lon, elev, utc float64 }

var (
	bologna  = spotOf{44.5, 11.3, 30, 1}
	santiago = spotOf{-33.4, -70.8, 470, -5} // its meridian; the clock people use is another
)

func to(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p) / p
}

// invent makes up hours from 1 January of a year: seasons, days, bright and
// dull days in turn; no numbers of a real place.
func invent(t testing.TB, s spotOf, year, years int) []hourOf {
	t.Helper()
	var hours []hourOf
	for at := date(year, 1, 1); at.Year() < year+years; at = at.Add(time.Hour) {
		day, hour := at.YearDay(), float64(at.Hour())+0.5
		o, err := sun.Extraterrestrial(s.lat, day)
		if err != nil {
			t.Fatal(err)
		}
		outside := o.HourMJm2(sun.HourAngleRad(hour, s.lon, 15*s.utc, day)) * 1e6 / 3600
		clear := [3]float64{0.74, 0.55, 0.3}[day%3]
		season := -math.Cos(2 * math.Pi * float64(day-15) / 365)
		if s.lat < 0 {
			season = -season
		}
		temp := 12 + 9*season + 4*math.Sin(2*math.Pi*(hour-9)/24) + float64(day%5-2)
		dew := 12 + 9*season - 6 + float64(day%5-2) - float64(day%2)
		h := hourOf{at: at, tempC: to(temp, 1), dewC: to(dew, 1), globalW: to(clear*outside, 0), windMS: to(2+float64(day%4)+hour/24, 1), pressureKPa: 101 - 0.1*float64(day%3)}
		h.rhPct = to(100*air.SaturationKPa(h.dewC)/air.SaturationKPa(h.tempC), 0)
		h.diffuseW = to(h.globalW*sun.DiffuseShareHour(clear), 0)
		hours = append(hours, h)
	}
	return hours
}

func num(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// headings of our own form.
func ownHead(s spotOf) string {
	return fmt.Sprintf("# place: Inventhill\n# latitude_deg: %g\n# longitude_deg: %g\n# elevation_m: %g\n# utc_offset_h: %g\n", s.lat, s.lon, s.elev, s.utc)
}

const ownNames = "time,temp_c,dew_point_c,rh_percent,global_w_m2,diffuse_w_m2,wind_m_s,pressure_kpa"

// firstOwn is the line of the first hour in own files.
const firstOwn = 7

func ownRow(h hourOf) []string {
	return []string{h.at.Format("2006-01-02T15:04"), num(h.tempC), num(h.dewC), num(h.rhPct), num(h.globalW), num(h.diffuseW), num(h.windMS), num(h.pressureKPa)}
}

// own writes hours in our form; change may alter a row, or drop it by nil.
func ownFile(s spotOf, hours []hourOf, change func(i int, cells []string) []string) string {
	var b strings.Builder
	b.WriteString(ownHead(s) + ownNames + "\n")
	for i, h := range hours {
		row := ownRow(h)
		if change != nil {
			row = change(i, row)
		}
		if row != nil {
			b.WriteString(strings.Join(row, ",") + "\n")
		}
	}
	return b.String()
}

func epwFile(s spotOf, hours []hourOf, change func(i int, cells []string) []string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "LOCATION,Inventhill,XX,ZZ,Made up,000000,%g,%g,%g,%g\nDESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,invented\nCOMMENTS 2,invented\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n", s.lat, s.lon, s.utc, s.elev)
	for i, h := range hours {
		row := strings.Split(fmt.Sprintf("%d,%d,%d,%d,60,A7A7,%g,%g,%g,%g,0,0,300,%g,9999,%g,999999,999999,999999,9999,180,%g,5,5,9999,99999,9,999999999,999,.999,999,99,999,999,99",
			h.at.Year(), h.at.Month(), h.at.Day(), h.at.Hour()+1, h.tempC, h.dewC, h.rhPct, math.Round(1000*h.pressureKPa), h.globalW, h.diffuseW, h.windMS), ",")
		if change != nil {
			row = change(i, row)
		}
		if row != nil {
			b.WriteString(strings.Join(row, ",") + "\r\n")
		}
	}
	return b.String()
}

func tmy3File(s spotOf, hours []hourOf, change func(i int, cells []string) []string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "000000,\"INVENTHILL, FIELD\",XX,%g,%g,%g,%g\n", s.utc, s.lat, s.lon, s.elev)
	b.WriteString("Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),GHI (W/m^2),GHI source,DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),Dew-point (C),RHum (%),Pressure (mbar),Wspd (m/s)\n")
	for i, h := range hours {
		row := strings.Split(fmt.Sprintf("%02d/%02d/%d,%02d:00,0,%g,1,-9900,%g,%g,%g,%g,%g,%g", h.at.Month(), h.at.Day(), h.at.Year(), h.at.Hour()+1, h.globalW, h.diffuseW, h.tempC, h.dewC, h.rhPct, 10*h.pressureKPa, h.windMS), ",")
		if change != nil {
			row = change(i, row)
		}
		if row != nil {
			b.WriteString(strings.Join(row, ",") + "\n")
		}
	}
	return b.String()
}

func read(t testing.TB, name, text string) (*climate.Series, climate.Report) {
	t.Helper()
	s, report, err := climate.ReadFile(name, strings.NewReader(text))
	if err != nil {
		t.Fatalf("%v", err)
	}
	return s, report
}

// same holds the series against invented hours; ends says whether the readings
// are those of the hours' ends.
func same(t *testing.T, s *climate.Series, hours []hourOf, ends bool) {
	t.Helper()
	var day climate.Day
	for i, h := range hours {
		if h.at.Hour() == 0 {
			if err := s.Day(h.at, &day); err != nil {
				t.Fatal(err)
			}
			hold(t, h.at.String(), &day)
		}
		before := h
		if ends {
			before = hours[(i+len(hours)-1)%len(hours)]
		}
		got := day.Hours[h.at.Hour()]
		for _, c := range []struct {
			name      string
			got, want float64
		}{
			{"temperature", got.TempC, (h.tempC + before.tempC) / 2},
			{"dew point", got.DewPointC, min(got.TempC, (h.dewC+before.dewC)/2)},
			{"wind", got.WindMS, (h.windMS + before.windMS) / 2},
			{"radiation", got.GHIWm2, h.globalW},
			{"diffuse", got.DiffuseWm2, min(h.diffuseW, h.globalW)},
		} {
			if math.Abs(c.got-c.want) > 1e-9 {
				t.Fatalf("%s %s: %g, want %g", h.at, c.name, c.got, c.want)
			}
		}
		if kPa, known := s.PressureKPa(h.at, h.at.Hour()); !known || math.Abs(kPa-(h.pressureKPa+before.pressureKPa)/2) > 1e-3 {
			t.Fatalf("%s: pressure %g, %v", h.at, kPa, known)
		}
	}
}

func TestThreeFormatsGiveTheSameHours(t *testing.T) {
	for _, spot := range []spotOf{bologna, santiago} {
		hours := invent(t, spot, 2011, 1)
		for name, r := range map[string]struct {
			text, format string
			ends         bool
		}{
			"a.csv":  {ownFile(spot, hours, nil), "plain CSV", false},
			"a.epw":  {epwFile(spot, hours, nil), "EPW", true},
			"a.tmy3": {tmy3File(spot, hours, nil), "TMY3", true},
		} {
			s, report := read(t, name, r.text)
			same(t, s, hours, r.ends)
			if report.Format != r.format || report.Hours != 8760 || report.Years != 1 || report.FilledHours != 0 || report.Typical || len(report.Notes) != 0 || !report.PressureRead || !strings.HasPrefix(strings.ToLower(report.Place), "inventhill") {
				t.Errorf("%s: %+v", name, report)
			}
			if lat, lon, elev := s.Spot(); lat != spot.lat || lon != spot.lon || elev != spot.elev || s.UTCOffsetH() != spot.utc {
				t.Errorf("%s: %g, %g, %g, %g", name, lat, lon, elev, s.UTCOffsetH())
			}
		}
	}
}

// Several years with a leap day; each date has its own day, and dates outside
// the file those of the years repeated.
func TestYears(t *testing.T) {
	hours := invent(t, bologna, 2011, 3)
	for name, text := range map[string]string{"a.csv": ownFile(bologna, hours, nil), "a.epw": epwFile(bologna, hours, nil)} {
		s, report := read(t, name, text)
		same(t, s, hours, name == "a.epw")
		if report.Years != 3 || s.Years() != 3 || s.Typical() || !s.Start().Equal(date(2011, 1, 1)) {
			t.Errorf("%s: %+v", name, report)
		}
		var a, b climate.Day
		for _, r := range []struct{ asked, own time.Time }{
			{date(2014, 5, 6), date(2011, 5, 6)}, {date(2010, 5, 6), date(2013, 5, 6)}, {date(1999, 12, 31), date(2011, 12, 31)},
			{date(2028, 2, 29), date(2013, 2, 28)}, {date(2024, 2, 29), date(2012, 2, 29)}, {date(2012, 2, 29), date(2012, 2, 29)},
		} {
			if err := s.Day(r.asked, &a); err != nil {
				t.Fatal(err)
			}
			if err := s.Day(r.own, &b); err != nil {
				t.Fatal(err)
			}
			if a != b {
				t.Errorf("%s: %s is not as %s", name, r.asked.Format(time.DateOnly), r.own.Format(time.DateOnly))
			}
		}
		if err := s.Day(date(2101, 1, 1), &a); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("the year 2101: %v", err)
		}
	}
}

// A year from July to June, as southern seasons run.
func TestYearFromJuly(t *testing.T) {
	hours := invent(t, santiago, 2018, 2)
	from := 0
	for hours[from].at.Before(date(2018, 7, 1)) {
		from++
	}
	hours = hours[from : from+8760]
	s, _ := read(t, "july.csv", ownFile(santiago, hours, nil))
	same(t, s, hours, false)
	var a, b climate.Day
	if err := errors.Join(s.Day(date(2026, 6, 30), &a), s.Day(date(2019, 6, 30), &b)); err != nil || a != b {
		t.Errorf("30 June: %v", err)
	}
}

// Months of several years are one typical year, with or without a leap day.
func TestTypicalYears(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	mixed := func(month string) string { return map[string]string{"1": "1998", "2": "2004", "3": "1991"}[month] }
	s, report := read(t, "typical.epw", epwFile(bologna, hours, func(_ int, c []string) []string {
		if y := mixed(c[1]); y != "" {
			c[0] = y
		}
		return c
	}))
	same(t, s, hours, true)
	if !report.Typical || !s.Typical() || s.Years() != 1 {
		t.Errorf("%+v", report)
	}
	s, _ = read(t, "typical.tmy3", tmy3File(bologna, hours, func(_ int, c []string) []string {
		if y := mixed(strings.TrimPrefix(c[0][:2], "0")); y != "" {
			c[0] = c[0][:6] + y
		}
		return c
	}))
	same(t, s, hours, true)
	// A true leap year without its leap day.
	leap := invent(t, bologna, 2012, 1)
	s, report = read(t, "leap.csv", ownFile(bologna, leap, func(i int, c []string) []string {
		if strings.HasPrefix(c[0], "2012-02-29") {
			return nil
		}
		return c
	}))
	if want := "29 February 2012 is left out: it takes the hours of the 28th"; report.Hours != 8784 || len(report.Notes) != 1 || report.Notes[0] != want {
		t.Errorf("%+v", report)
	}
	var a, b climate.Day
	if err := errors.Join(s.Day(date(2012, 2, 29), &a), s.Day(date(2012, 2, 28), &b)); err != nil || a.Hours != b.Hours {
		t.Errorf("leap day: %v", err)
	}
}

// Times with offsets: UTC, and a clock that changes to daylight saving and back.
func TestClocks(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	zoned := func(utc bool) string {
		return ownFile(bologna, hours, func(i int, c []string) []string {
			at := hours[i].at.Add(-time.Duration(bologna.utc) * time.Hour)
			zone := time.UTC
			if !utc {
				zone = time.FixedZone("", 3600)
				if at.After(date(2011, 3, 27).Add(59*time.Minute)) && at.Before(date(2011, 10, 30).Add(1*time.Hour)) {
					zone = time.FixedZone("", 7200)
				}
			}
			c[0] = at.In(zone).Format(time.RFC3339)
			return c
		})
	}
	s, report := read(t, "utc.csv", zoned(true))
	same(t, s, hours, false)
	if len(report.Notes) != 0 {
		t.Errorf("%q", report.Notes)
	}
	s, report = read(t, "saving.csv", zoned(false))
	same(t, s, hours, false)
	if len(report.Notes) != 1 || !strings.Contains(report.Notes[0], "daylight saving was undone") {
		t.Errorf("%q", report.Notes)
	}
	// A year of UTC, read on the clock of a place far from Greenwich: what lies
	// outside its own year closes the ring.
	south := invent(t, santiago, 2010, 3)
	from := 0
	for south[from].at.Before(date(2010, 12, 31).Add(19 * time.Hour)) {
		from++
	}
	ring := south[from : from+8760]
	text := ownFile(santiago, ring, func(i int, c []string) []string {
		c[0] = ring[i].at.Add(5*time.Hour).Format("2006-01-02T15:04") + ":00Z"
		return c
	})
	if !strings.Contains(text, "\n2011-01-01T00:00:00Z,") || !strings.Contains(text, "\n2011-12-31T23:00:00Z,") {
		t.Fatal("the file is not the year 2011 of UTC")
	}
	s, report = read(t, "utc.csv", text)
	if len(report.Notes) != 1 || report.Hours != 8760 || !s.Start().Equal(date(2011, 1, 1)) {
		t.Errorf("%+v", report)
	}
	same(t, s, ring[5:5+24*300], false)
	var day climate.Day
	if err := s.Day(date(2011, 12, 31), &day); err != nil || day.Hours[20].TempC != ring[1].tempC {
		t.Errorf("the last evening is %g, %v; want %g of the first of the file", day.Hours[20].TempC, err, ring[1].tempC)
	}
	// Without utc_offset_h the clock is that of the longitude.
	s, report = read(t, "utc.csv", strings.Replace(text, "# utc_offset_h: -5\n", "", 1))
	if s.UTCOffsetH() != -5 || len(report.Notes) != 2 {
		t.Errorf("clock UTC%g, %q", s.UTCOffsetH(), report.Notes)
	}
	// Date and hour in columns of their own, hours without minutes.
	s, _ = read(t, "hours.csv", strings.Replace(ownFile(bologna, hours, func(i int, c []string) []string {
		c[0] = hours[i].at.Format("2006-01-02") + "," + strconv.Itoa(hours[i].at.Hour())
		return c
	}), "time,", "date,hour,", 1))
	same(t, s, hours, false)
}

// Short gaps are filled on straight lines and counted.
func TestGaps(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	const noon = 24*100 + 12
	s, report := read(t, "gaps.csv", ownFile(bologna, hours, func(i int, c []string) []string {
		switch i {
		case 1000, 1001, 1002, 0: // whole lines, and the first of the year
			return nil
		case 2000:
			c[1] = ""
		case noon, noon + 1:
			c[4], c[5] = "", ""
		case noon + 50: // the sky's part is worked out
			c[5] = ""
		}
		return c
	}))
	if report.FilledHours != 7 || report.LongestGapH != 3 || report.SplitHours < 3 {
		t.Errorf("%+v", report)
	}
	hourAt := func(i int) climate.Hour {
		var day climate.Day
		if err := s.Day(hours[i].at, &day); err != nil {
			t.Fatal(err)
		}
		return day.Hours[hours[i].at.Hour()]
	}
	a, b := hours[999], hours[1003]
	near(t, "temperature", hourAt(1001).TempC, (a.tempC+b.tempC)/2, 1e-9)
	near(t, "wind", hourAt(1000).WindMS, a.windMS+(b.windMS-a.windMS)/4, 1e-9)
	near(t, "first hour", hourAt(0).TempC, (hours[8759].tempC+hours[1].tempC)/2, 1e-9)
	near(t, "temperature alone", hourAt(2000).TempC, (hours[1999].tempC+hours[2001].tempC)/2, 1e-9)
	// The radiation of the gap is that of the same clearness.
	near(t, "radiation", hourAt(noon).GHIWm2, hours[noon].globalW, 3)
	near(t, "radiation", hourAt(noon+1).GHIWm2, hours[noon+1].globalW, 3)
	if d := hourAt(noon).DiffuseWm2; d <= 0 || d > hourAt(noon).GHIWm2 {
		t.Errorf("diffuse %g", d)
	}
	// Codes of EPW and TMY3.
	s, report = read(t, "codes.epw", epwFile(bologna, hours, func(i int, c []string) []string {
		switch i {
		case 500:
			c[6], c[21] = "99.9", "999"
		case 600:
			c[7] = "99.9" // from the humidity
		case noon:
			c[13] = "9999"
		}
		c[9] = "999999" // no pressure at all
		return c
	}))
	if report.FilledHours != 2 || report.LongestGapH != 1 || report.PressureRead {
		t.Errorf("%+v", report)
	}
	near(t, "dew point", hourAt(600).DewPointC, (hours[600].dewC+hours[599].dewC)/2, 0.3)
	_, report = read(t, "codes.tmy3", tmy3File(bologna, hours, func(i int, c []string) []string {
		if i == 500 || i == 501 {
			c[7] = "-9900"
		}
		return c
	}))
	if report.FilledHours != 2 || report.LongestGapH != 2 {
		t.Errorf("%+v", report)
	}
}

// The direct light gives the diffuse.
func TestDirectGivesDiffuse(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	text := ownFile(bologna, hours, func(i int, c []string) []string {
		c[5] = "0"
		return c
	})
	s, report := read(t, "direct.csv", strings.Replace(text, "diffuse_w_m2", "direct_normal_w_m2", 1))
	var day climate.Day
	if err := s.Day(date(2011, 6, 6), &day); err != nil {
		t.Fatal(err)
	}
	if report.SplitHours < 4000 || day.Hours[12].DiffuseWm2 != day.Hours[12].GHIWm2 {
		t.Errorf("no direct light, and diffuse %g of %g", day.Hours[12].DiffuseWm2, day.Hours[12].GHIWm2)
	}
}

func TestRoundTrip(t *testing.T) {
	g, err := climate.NewGenerator(own(t, place(t, "Seattle")), 3)
	if err != nil {
		t.Fatal(err)
	}
	made, err := g.Years(0, 2)
	if err != nil {
		t.Fatal(err)
	}
	filed, _ := read(t, "in.csv", ownFile(bologna, invent(t, bologna, 2011, 1), nil))
	for _, s := range []*climate.Series{made, filed} {
		var first, second bytes.Buffer
		if err := s.WriteCSV(&first); err != nil {
			t.Fatal(err)
		}
		back, report := read(t, "round.csv", first.String())
		if len(report.Notes) != 0 || back.Typical() != s.Typical() || back.Source() != s.Source() || back.Name() != s.Name() {
			t.Errorf("%+v", report)
		}
		var a, b climate.Day
		for d := date(2011, 1, 1); d.Year() < 2013; d = d.AddDate(0, 0, 1) {
			if err := errors.Join(s.Day(d, &a), back.Day(d, &b)); err != nil {
				t.Fatal(err)
			}
			if a.Hours != b.Hours || a.GHIMJm2 != b.GHIMJm2 || a.SunriseH != b.SunriseH {
				t.Fatalf("%s is not the same after reading", d.Format(time.DateOnly))
			}
			p, known := s.PressureKPa(d, 7)
			if q, also := back.PressureKPa(d, 7); p != q || known != also {
				t.Fatalf("%s: pressure %g, then %g", d.Format(time.DateOnly), p, q)
			}
		}
		if err := back.WriteCSV(&second); err != nil || !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Errorf("written again it differs: %v", err)
		}
	}
}

func place(t testing.TB, name string) climate.Place {
	t.Helper()
	p, err := climate.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Small files with faults in their headings, each with all its messages.
func TestSmallFaults(t *testing.T) {
	for name, want := range map[string]string{
		"semicolons.csv": `semicolons.csv:4: the columns are parted by semicolons; part them by commas, and write numbers with a point`,
		"units.csv": `units.csv:5: column temp_f is not read: write temp_c: (°F - 32) / 1.8
units.csv:5: column wind_km_h is not read: write wind_m_s: km/h / 3.6
units.csv:5: no column temp_c; it is needed
units.csv:5: no column wind_m_s; it is needed`,
		"noplace.csv": `noplace.csv:2: key "latitude" is not known; did you mean "latitude_deg"?`,
		"columns.csv": `columns.csv:1: latitude_deg 95 °: outside the valid range -90 ° to 90 °
columns.csv:2: longitude_deg "12,5" is no number; give -180 to 180 °
columns.csv:4: no column global_w_m2; it is needed
columns.csv:4: no column dew_point_c or rh_percent; it is needed`,
		"short.epw": `short.epw:10: hour 25: an EPW file numbers the hours by their end, 1 to 24
short.epw:11: day 30 of month 2: there is none
short.epw:12: dry bulb "cold" is no number; give -70 to 60 °C, or leave the cell empty
short.epw:13: the line has 8 values; an hour of an EPW file has 35, and at least the first 22 are needed`,
		"headings.epw": `headings.epw:3: "GROUND TEMPERATURES,0" where the heading TYPICAL/EXTREME PERIODS should be; an EPW file has eight headings before its hours`,
		"periods.epw": `periods.epw:1: longitude 211.3 °: outside the valid range -180 ° to 180 °
periods.epw:8: "4" records an hour; only one an hour is read: take the mean of each hour`,
		"columns.tmy3": `columns.tmy3:2: no column Wspd (m/s); it is needed
columns.tmy3:2: no column Dew-point (C) or RHum (%); it is needed`,
		"hours.tmy3": `hours.tmy3:3: time "00:00"; a TMY3 file numbers the hours by their end, 01:00 to 24:00
hours.tmy3:4: date "1998-01-01"; give MM/DD/YYYY
hours.tmy3:5: month 13: give 1 to 12`,
		"other.txt": `other.txt:1: "PK?? not weather" begins no weather file known here: EPW begins with LOCATION, TMY3 has "Date (MM/DD/YYYY)" in its second line, plain CSV begins with lines "# key: value" or with column names such as time,temp_c`,
	} {
		text, err := os.ReadFile(filepath.Join("testdata", "faults", name))
		if err != nil {
			t.Fatal(err)
		}
		says(t, name, string(text), want)
	}
	says(t, "none.csv", "", "none.csv: the file is empty; it should be EPW, TMY3 or plain CSV with a column temp_c")
	says(t, "only.csv", ownHead(bologna)+ownNames+"\n", "only.csv:6: no hours after the headings; a year has 8760")
	says(t, "zero.csv", "# a\x00b", "zero.csv:2: the line has zero bytes in it; save the file as plain text")
	says(t, "long.csv", "# "+strings.Repeat("x", 70000), "long.csv:1: the line is longer than 65536 bytes; is this a text file?")
}

// says holds the whole error of a file against a text.
func says(t *testing.T, name, text, want string) {
	t.Helper()
	s, _, err := climate.ReadFile(name, strings.NewReader(text))
	if err == nil || s != nil {
		t.Errorf("%s is read; want %q", name, want)
		return
	}
	if got := strings.TrimPrefix(err.Error(), "climate: "); got != want {
		t.Errorf("%s:\n got %s\nwant %s", name, got, want)
	}
}

// A year of a plain CSV with one fault each, and its message.
func TestFaultsOfAYear(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	const noon = 24*171 + 12 // a bright day of June
	each := func(column int, f func(v float64) float64) func(int, []string) []string {
		return func(_ int, c []string) []string {
			v, err := strconv.ParseFloat(c[column], 64)
			if err != nil {
				t.Fatal(err)
			}
			c[column] = num(to(f(v), 4))
			return c
		}
	}
	set := func(row, column int, text string) func(int, []string) []string {
		return func(i int, c []string) []string {
			if i == row {
				c[column] = text
			}
			return c
		}
	}
	both := func(a, b func(int, []string) []string) func(int, []string) []string {
		return func(i int, c []string) []string { return b(i, a(i, c)) }
	}
	swap := func(a, b int) func(int, []string) []string {
		return func(_ int, c []string) []string {
			c[a], c[b] = c[b], c[a]
			return c
		}
	}
	without := func(drop func(at time.Time) bool) func(int, []string) []string {
		return func(i int, c []string) []string {
			if drop(hours[i].at) {
				return nil
			}
			return c
		}
	}
	clock := func(shift func(at time.Time) int) func(int, []string) []string {
		return func(i int, c []string) []string {
			n := len(hours)
			from := ownRow(hours[(i-shift(hours[i].at)+n)%n])
			c[4], c[5] = from[4], from[5]
			return c
		}
	}
	summer := func(at time.Time) bool { return !at.Before(date(2011, 3, 27)) && at.Before(date(2011, 10, 30)) }
	fahrenheit := func(v float64) float64 { return v*1.8 + 32 }
	for _, r := range []struct {
		name   string
		change func(int, []string) []string
		want   string
	}{
		// Single values.
		{"text", set(3, 1, "n/a"), `text:10: temp_c "n/a" is no number; give -70 to 60 °C, or leave the cell empty`},
		{"hex", set(3, 6, "0x1p3"), `hex:10: wind_m_s "0x1p3" is no number; give 0 to 60 m/s, or leave the cell empty`},
		{"infinite", set(3, 6, "1e999"), `infinite:10: wind_m_s "1e999" is no number; give 0 to 60 m/s, or leave the cell empty`},
		{"hot", set(3, 1, "75.5"), `hot:10: temp_c 75.5 °C: outside the valid range -70 °C to 60 °C`},
		{"code", set(3, 1, "-9999"), `code:10: temp_c -9999 °C: outside the valid range -70 °C to 60 °C; if that stands for a missing value, leave the cell empty`},
		{"wet", set(3, 3, "104"), `wet:10: rh_percent 104 %: outside the valid range 0 % to 100 %`},
		{"still", set(3, 6, "-0.1"), `still:10: wind_m_s -0.1 m/s: outside the valid range 0 m/s to 60 m/s`},
		{"thin", set(3, 7, "45"), `thin:10: pressure_kpa 45 kPa: outside the valid range 50 kPa to 110 kPa`},
		{"dark", set(3, 4, "-2"), `dark:10: global_w_m2 -2 W/m2: outside the valid range 0 W/m2 to 1500 W/m2`},
		{"night", set(3, 4, "60"), `night:10: global_w_m2 60 W/m2 at 2011-01-01 03:00; the sun above the air gives 0 then, so that at most 50 are possible: are unit, clock and place right?`},
		{"dew", set(noon, 2, "30"), `dew:4123: dew_point_c 30 lies above temp_c 23.3; it may not by more than 0.5 K`},
		{"few", func(i int, c []string) []string {
			if i == 3 {
				return c[:4]
			}
			return c
		}, `few:10: the line has 4 values; global_w_m2 is the 5th`},
		// Times.
		{"time", set(3, 0, "1.1.2011 3:00"), `time:10: time "1.1.2011 3:00"; give the beginning of the hour as 2025-03-01T05:00, on the standard clock or with the offset after it, as +01:00 or Z`},
		{"half", set(3, 0, "2011-01-01T03:30"), `half:10: time "2011-01-01T03:30" is no whole hour; give the mean of each hour at its beginning`},
		{"zoned", set(3, 0, "2011-01-01T03:00+01:00"), `zoned:10: the time has an offset and those before it have none; write all the same way`},
		{"february", set(1416, 0, "2011-02-29T00:00"), `february:1423: day 29 of month 2: 2011 is no leap year`},
		{"century", set(0, 0, "1811-01-01T00:00"), `century:7: year 1811: give 1900 to 2100`},
		{"twice", set(3, 0, "2011-01-01T02:00"), `twice:10: 2011-01-01 02:00 stands twice, here and in line 9; if that is the end of daylight saving, write standard time throughout or put the offset after each time`},
		{"back", set(3, 0, "2011-01-01T01:00"), `back:10: 2011-01-01 01:00 comes after 2011-01-01 02:00; put the hours in order of time`},
		// Gaps and lengths.
		{"gap", without(func(at time.Time) bool { return at.Month() == 3 && at.Day() == 4 && at.Hour() >= 5 && at.Hour() < 9 }),
			`gap:1499: after this line 4 hours are missing, from 2011-03-04 05:00; up to 3 are filled by a straight line: put them in, or take another year`},
		{"hole", func(i int, c []string) []string {
			if i >= 1493 && i < 1498 {
				c[1] = ""
			}
			return c
		}, `hole:1500: temp_c is missing for 5 hours from 2011-03-04 05:00; up to 3 are filled by a straight line: put them in, or take another year`},
		{"empty", func(_ int, c []string) []string { c[6] = ""; return c }, `empty: wind_m_s is missing in all hours; it is needed`},
		{"quarter", without(func(at time.Time) bool { return at.Month() > 3 }), `quarter:2166: 2160 hours from 2011-01-01 00:00 to 2011-03-31 23:00; give whole years, 8760 hours here`},
		{"eleven", without(func(at time.Time) bool { return at.Month() == 12 }), `eleven:8022: 8016 hours from 2011-01-01 00:00 to 2011-11-30 23:00; give whole years, 8760 hours here`},
		{"more", func(i int, c []string) []string {
			if i == 8759 {
				c[7] += "\n2012-01-01T00:00,1,0,90,0,0,2,101"
			}
			return c
		}, `more:8767: 8761 hours from 2011-01-01 00:00 to 2012-01-01 00:00; give whole years, 8760 hours here: leave out the last 1`},
		// Units and columns of the whole file.
		{"fahrenheit", both(each(1, fahrenheit), each(2, fahrenheit)), `fahrenheit:4773: temp_c has a mean of 53.6 and a highest of 80.6; no place on Earth has more than 36 °C as the mean of a year, nor 60 °C in the shade: if that is °F, 80.6 °F is 27 °C`},
		{"kelvin", each(1, func(v float64) float64 { return v + 273.15 }), `kelvin:4773: temp_c has a mean of 285.2 and a highest of 300.15; no place on Earth has more than 36 °C as the mean of a year, nor 60 °C in the shade: if that is K, take off 273.15`},
		{"share", each(3, func(v float64) float64 { return v / 100 }), `share:2961: rh_percent is at most 0.88; if that is a share from 0 to 1, write it in per cent: × 100`},
		{"kilowatt", both(each(4, func(v float64) float64 { return v / 1000 }), each(5, func(v float64) float64 { return v / 1000 })), `kilowatt:3955: global_w_m2 is at most 0.91, where a clear sky gives about 922 W/m2 at noon; if that is kW/m2, or kWh/m2 in the hour, multiply by 1000`},
		{"megajoule", both(each(4, func(v float64) float64 { return v * 0.0036 }), each(5, func(v float64) float64 { return v * 0.0036 })), `megajoule:3955: global_w_m2 is at most 3.276, where a clear sky gives about 922 W/m2 at noon; if that is MJ/m2 in the hour, multiply by 277.8`},
		{"joule", both(each(4, func(v float64) float64 { return v * 0.36 }), each(5, func(v float64) float64 { return v * 0.36 })), `joule:3955: global_w_m2 is at most 327.6, where a clear sky gives about 922 W/m2 at noon; if that is J/cm2 in the hour, multiply by 2.778`},
		{"dull", both(each(4, func(v float64) float64 { return to(v*0.02, 0) }), each(5, func(v float64) float64 { return to(v*0.02, 0) })), `dull:3091: global_w_m2 is at most 18, where a clear sky gives about 922 W/m2 at noon: give the mean of the hour in W/m2`},
		{"black", each(4, func(float64) float64 { return 0 }), `black:7: global_w_m2 is 0 in all hours; it is needed: the light of the crops comes from it`},
		{"kmh", each(6, func(v float64) float64 { return v * 3.6 }), `kmh:78: wind_m_s has a mean of 14.4 and a highest of 21.6; hardly a place has more than 11.5 m/s as the mean of a year: if that is km/h, divide by 3.6`},
		{"hectopascal", each(7, func(v float64) float64 { return v * 10 }), `hectopascal:55: pressure_kpa has a mean of 1009; the air of the Earth's surface has 50 to 110 kPa: if that is hPa or mbar, multiply by 0.1 to have kPa`},
		{"swapped dew", swap(1, 2), `swapped dew:7: dew_point_c lies above temp_c in 100 % of the hours: are the two columns swapped?`},
		{"swapped sky", swap(4, 5), `swapped sky:7: diffuse_w_m2 lies above global_w_m2 in 92 % of the hours of light: are the two columns swapped?`},
		{"swapped wind", swap(6, 7), `swapped wind:7: wind_m_s is 101 and pressure_kpa 4 on average: are the two columns swapped?`},
		// Clocks.
		{"saving", clock(func(at time.Time) int {
			if summer(at) {
				return 1
			}
			return 0
		}), `saving:7: the light of summer comes 1.0 h later by the clock than that of winter: the times seem to have daylight saving; write standard time throughout`},
		{"greenwich", clock(func(time.Time) int { return -1 }), `greenwich:6: the light comes 1.0 h before the sun of longitude 11.3 on a clock of UTC+1: is the clock another, the longitude's sign wrong, or are the times the ends of the hours?`},
		{"ends", clock(func(time.Time) int { return 1 }), `ends:6: the light comes 1.0 h after the sun of longitude 11.3 on a clock of UTC+1: is the clock another, the longitude's sign wrong, or are the times the ends of the hours?`},
	} {
		says(t, r.name, ownFile(bologna, hours, r.change), r.want)
	}
	// Temperature and humidity swapped, without a dew point.
	text := ownFile(bologna, hours, swap(1, 3))
	says(t, "swapped rh", strings.Replace(text, "dew_point_c", "dew", 1), `swapped rh:7: temp_c runs from 42 to 88 and rh_percent from -3 to 27: are the two columns swapped?`)
	// °F of a cold place pass for °C, but not beside the humidity.
	cold := invent(t, bologna, 2011, 1)
	for i := range cold {
		cold[i].tempC, cold[i].dewC = to(cold[i].tempC-30, 1), to(cold[i].dewC-30, 1)
		cold[i].rhPct = to(100*air.SaturationKPa(cold[i].dewC)/air.SaturationKPa(cold[i].tempC), 0)
	}
	says(t, "cold", ownFile(bologna, cold, both(each(1, fahrenheit), each(2, fahrenheit))),
		`cold:7: temp_c, dew_point_c and rh_percent do not fit each other: the humidity of the two temperatures is 14 % away from that given, on average; they fit if the temperatures are °F: write °C`)
	// The place.
	turned := bologna
	turned.lat = -44.5
	says(t, "south", ownFile(turned, hours, nil), `south:6: latitude -44.5, but the months from April to September have 69 % of the year's light: has the latitude the wrong sign?`)
	turned = bologna
	turned.lon = -11.3
	says(t, "west", ownFile(turned, hours, nil), `west:6: the light comes 1.5 h before the sun of longitude -11.3 on a clock of UTC+1: is the clock another, the longitude's sign wrong, or are the times the ends of the hours?`)
}

// Faults are counted and found as values.
func TestFaultsAreValues(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	_, _, err := climate.ReadFile("many.csv", strings.NewReader(ownFile(bologna, hours, func(i int, c []string) []string {
		if i%100 == 0 {
			c[6] = "70"
		}
		return c
	})))
	var faults *climate.Faults
	if !errors.As(err, &faults) || len(faults.List) != 10 || faults.More != 78 || faults.List[1].Line != firstOwn+100 || faults.List[0].File != "many.csv" {
		t.Fatalf("%v", err)
	}
	var one *climate.Fault
	if !errors.Is(err, quantity.ErrRange) || !errors.As(err, &one) || one != faults.List[0] || !strings.HasSuffix(err.Error(), "\nand 78 more of the kind") {
		t.Errorf("%v", err)
	}
}

// Good years damaged at random are refused with the file's name, or read to
// hours that hold together.
func TestDamagedYears(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	write := []func(spotOf, []hourOf, func(int, []string) []string) string{ownFile, epwFile, tmy3File}
	read, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		type damage struct {
			row, cell int
			text      string
		}
		damages := map[int]damage{}
		for range rapid.IntRange(1, 4).Draw(t, "damages") {
			d := damage{row: rapid.IntRange(0, 8759).Draw(t, "row"), cell: rapid.IntRange(-1, 40).Draw(t, "cell")}
			d.text = rapid.OneOf(rapid.SampledFrom([]string{"", "-", "1e9", "99.9", "-9900", "9999", "24", "0", "2012", "1.5", "NaN", "\"", "é"}), rapid.StringN(0, 8, 20)).Draw(t, "text")
			damages[d.row] = d
		}
		form := rapid.IntRange(0, 2).Draw(t, "form")
		text := write[form](bologna, hours, func(i int, c []string) []string {
			d, hit := damages[i]
			switch {
			case !hit:
			case d.cell < 0:
				return nil
			default:
				c[d.cell%len(c)] = d.text
			}
			return c
		})
		s, _, err := climate.ReadFile("damaged", strings.NewReader(text))
		if err != nil {
			refused++
			if !strings.HasPrefix(err.Error(), "climate: damaged:") || s != nil {
				t.Fatalf("%v", err)
			}
			return
		}
		read++
		var day climate.Day
		for d := date(2027, 1, 1); d.Year() == 2027; d = d.AddDate(0, 0, 1) {
			if err := s.Day(d, &day); err != nil {
				t.Fatal(err)
			}
			hold(t, d.String(), &day)
		}
	})
	if read == 0 || refused == 0 {
		t.Errorf("%d read and %d refused: the damages try only one side", read, refused)
	}
}

// No text breaks the reader, and what is read holds together.
func FuzzReadFile(f *testing.F) {
	hours := invent(f, bologna, 2011, 1)[:30]
	f.Add([]byte(ownFile(bologna, hours, nil)))
	f.Add([]byte(epwFile(bologna, hours, nil)))
	f.Add([]byte(tmy3File(bologna, hours, nil)))
	faults, err := filepath.Glob(filepath.Join("testdata", "faults", "*"))
	if err != nil || len(faults) == 0 {
		f.Fatal("no small files", err)
	}
	for _, name := range faults {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	// Headings and one line from outside, the rest of a good year: what gets
	// beyond the headings is tried too.
	year := invent(f, bologna, 2011, 1)
	f.Fuzz(func(t *testing.T, text []byte) {
		try := func(text string) {
			s, report, err := climate.ReadFile("fuzz", strings.NewReader(text))
			if (s == nil) == (err == nil) {
				t.Fatalf("series %v, error %v", s != nil, err)
			}
			if err != nil {
				if !strings.HasPrefix(err.Error(), "climate: fuzz") {
					t.Fatalf("no file in %q", err)
				}
				return
			}
			if report.Hours < 8760 {
				t.Fatalf("%+v", report)
			}
			var day climate.Day
			for d := s.Start(); d.Before(s.Start().AddDate(1, 0, 0)); d = d.AddDate(0, 0, 1) {
				if err := s.Day(d, &day); err != nil {
					t.Fatal(err)
				}
				hold(t, d.String(), &day)
			}
		}
		try(string(text))
		line, _, _ := strings.Cut(string(text), "\n")
		if len(text)%16 == 0 {
			try(ownFile(bologna, year, func(i int, c []string) []string {
				if i == 4000 {
					return []string{line}
				}
				return c
			}))
		}
	})
}

func BenchmarkReadFile(b *testing.B) {
	text := epwFile(bologna, invent(b, bologna, 2011, 1), nil)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := climate.ReadFile("bench.epw", strings.NewReader(text)); err != nil {
			b.Fatal(err)
		}
	}
}

func dayOf(t *testing.T, s *climate.Series, at time.Time) *climate.Day {
	t.Helper()
	var day climate.Day
	if err := s.Day(at, &day); err != nil {
		t.Fatal(err)
	}
	return &day
}
