package climate_test

import (
	"math"
	"strings"
	"testing"
	"time"
)

// What is odd and still read stands in the notes, each a sentence.
func TestNotes(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	scaled := func(cell int, f func(i int) string) func(int, []string) []string {
		return func(i int, c []string) []string {
			c[cell] = f(i)
			return c
		}
	}
	for _, r := range []struct{ name, text, want string }{
		{"other columns", strings.Replace(ownFile(bologna, hours, nil), "pressure_kpa", "presure_kpa", 1), `Column "presure_kpa" is not read; did you mean pressure_kpa?`},
		{"rain", strings.Replace(ownFile(bologna, hours, nil), "pressure_kpa", "rain_mm", 1), `Column "rain_mm" is not read`},
		{"windy", ownFile(bologna, hours, scaled(6, func(i int) string { return num(2.5 * hours[i].windMS) })), "wind_m_s has a mean of 10.0 m/s: that is very windy; see that it is not km/h, mph or knots"},
		{"calm", ownFile(bologna, hours, scaled(6, func(int) string { return "0" })), "wind_m_s is 0 in all hours: is it measured at all?"},
		{"low", ownFile(bologna, hours, scaled(7, func(int) string { return "85" })), "pressure_kpa has a mean of 85.0 kPa, and 30 m of elevation have 101.0: is it brought down to the sea?"},
		{"no pressure", ownFile(bologna, hours, scaled(7, func(i int) string {
			if i < 100 {
				return ""
			}
			return "101"
		})), "The pressure is missing for more than 3 hours at a time: it is not read"},
		{"no clock", strings.Replace(ownFile(bologna, hours, nil), "# utc_offset_h: 1\n", "", 1), "No utc_offset_h is given: the clock is taken as UTC+1, from the longitude"},
	} {
		_, report := read(t, r.name, r.text)
		if len(report.Notes) != 1 || report.Notes[0] != r.want {
			t.Errorf("%s: %q, want %q", r.name, report.Notes, r.want)
		}
	}
}

// Humidity without a dew point gives the hours that humidity.
func TestHumidityAlone(t *testing.T) {
	hours := invent(t, santiago, 2011, 1)
	s, _ := read(t, "rh.csv", strings.Replace(ownFile(santiago, hours, func(i int, c []string) []string {
		if i == 700 {
			c[3] = "" // bridged
		}
		if i == 800 {
			c[3] = "100.6" // saturated, by rounding
		}
		return c
	}), "dew_point_c", "dew", 1))
	for i, h := range hours {
		var want float64
		switch i {
		case 700:
			continue
		case 800:
			want = 1
		default:
			want = h.rhPct / 100
		}
		day := dayOf(t, s, h.at)
		if got := day.Hours[h.at.Hour()].RHShare; math.Abs(got-want) > 1e-6 {
			t.Fatalf("%s: humidity %g, want %g", h.at, got, want)
		}
	}
}

// Faults of clocks, years and headings beyond those of single values.
func TestFaultsOfClocks(t *testing.T) {
	hours := invent(t, bologna, 2011, 1)
	offset := func(text func(i int) string) string {
		return ownFile(bologna, hours, func(i int, c []string) []string {
			c[0] = text(i)
			return c
		})
	}
	local := func(i int, format string) string { return hours[i].at.Format(format) }
	says(t, "three.csv", offset(func(i int) string {
		return local(i, "2006-01-02T15:04") + [...]string{":00Z", "+01:00", "+02:00"}[min(i, 2)]
	}),
		"three.csv:9: a third offset from UTC; a place has two, for standard and daylight saving time")
	says(t, "lost.csv", offset(func(i int) string {
		if i == 5 {
			return local(i, "2006-01-02T15:04")
		}
		return local(i, "2006-01-02T15:04") + "+01:00"
	}), "lost.csv:12: the time has no offset and those before it have; write all the same way")
	says(t, "india.csv", strings.Replace(offset(func(i int) string { return local(i, "2006-01-02T15:04") + "Z" }), "utc_offset_h: 1", "utc_offset_h: 5.5", 1),
		"india.csv:7: the time is 05:30 on the clock of UTC+5.5: give hours that begin with an hour of that clock")
	// A local clock with daylight saving: an hour is lost in March, one is
	// twice in October.
	says(t, "saving.csv", offset(func(i int) string {
		at := hours[i].at
		if !at.Before(date(2011, 3, 27).Add(2*time.Hour)) && at.Before(date(2011, 10, 30).Add(2*time.Hour)) {
			at = at.Add(time.Hour)
		}
		return at.Format("2006-01-02T15:04")
	}), "saving.csv:7257: 2011-10-30 02:00 stands twice, here and in line 7256; if that is the end of daylight saving, write standard time throughout or put the offset after each time")
	says(t, "leap.epw", epwFile(bologna, hours, func(i int, c []string) []string {
		if c[1] == "2" && c[2] == "28" && c[3] == "24" {
			c[2], c[3] = "29", "1"
		}
		return c
	}), "leap.epw:1424: day 29 of month 2: 2011 is no leap year")
	says(t, "thirty.csv", strings.Replace(ownFile(bologna, hours, nil), "2011-04-30T23:00", "2011-04-31T00:00", 1), "thirty.csv:2886: day 31 of month 4: there is none")
	two := invent(t, bologna, 2011, 2)
	says(t, "eighteen.csv", ownFile(bologna, two[:13140], nil), "eighteen.csv:13146: 13140 hours from 2011-01-01 00:00 to 2012-07-01 11:00; give whole years, 8760 hours here: leave out the last 4380")
	says(t, "typical.csv", "# typical: maybe\n"+ownNames+"\n", "typical.csv:1: typical \"maybe\"; give yes or no")
	says(t, "place.csv", ownNames+"\n", `place.csv:1: no line "# latitude_deg: …" before the column names; the sun cannot be reckoned without the place`)
	says(t, "twice.csv", "time,temp_c,temp_c\n", "twice.csv:1: column temp_c stands twice")
	says(t, "location.epw", "LOCATION,Nowhere\n", `location.epw:1: LOCATION has 2 values; it should have 10, the last four latitude, longitude, hours ahead of UTC and elevation
location.epw:1: the file ends within its headings`)
	says(t, "station.tmy3", "000000,Nowhere\nDate (MM/DD/YYYY),Time (HH:MM)\n", `station.tmy3:1: the station has 2 values; it should have 7: code, name, state, hours ahead of UTC, latitude, longitude, elevation
station.tmy3:2: no column Dry-bulb (C); it is needed
station.tmy3:2: no column GHI (W/m^2); it is needed
station.tmy3:2: no column Wspd (m/s); it is needed
station.tmy3:2: no column Dew-point (C) or RHum (%); it is needed`)
}

// Source: the way from London to Santiago, by the great circle: about 11 640 km, from memory.
func TestDistance(t *testing.T) {
	s, _ := read(t, "a.csv", ownFile(santiago, invent(t, santiago, 2011, 1), nil))
	near(t, "to itself", s.DistanceKm(santiago.lat, santiago.lon), 0, 1e-9)
	near(t, "a degree of latitude", s.DistanceKm(santiago.lat+1, santiago.lon), 2*math.Pi*6371/360, 1e-6)
	near(t, "to London", s.DistanceKm(51.5, -0.1), 11640, 60)
	if !math.IsNaN(s.DistanceKm(91, 0)) || !math.IsNaN(s.DistanceKm(0, math.NaN())) {
		t.Error("a spot off the globe has a distance")
	}
	if s.Name() != "Inventhill" || s.Source() != "plain CSV a.csv" {
		t.Errorf("%q, %q", s.Name(), s.Source())
	}
}
