package climate

import (
	"errors"
	"io"
	"math"
	"strings"
	"time"

	"tidebed/table"
)

// ownTime is a time on the local standard clock.
const ownTime = "2006-01-02T15:04"

var ownColumns = [fieldCount]column{
	fieldTemp:     {name: "temp_c", unit: "°C", lo: lowestC, hi: highestC},
	fieldDew:      {name: "dew_point_c", unit: "°C", lo: -90, hi: highestC},
	fieldRH:       {name: "rh_percent", unit: "%", lo: 0, hi: 100},
	fieldGlobal:   {name: "global_w_m2", unit: "W/m2", lo: 0, hi: mostWm2},
	fieldDirect:   {name: "direct_normal_w_m2", unit: "W/m2", lo: 0, hi: mostWm2},
	fieldDiffuse:  {name: "diffuse_w_m2", unit: "W/m2", lo: 0, hi: mostWm2},
	fieldWind:     {name: "wind_m_s", unit: "m/s", lo: 0, hi: 60},
	fieldPressure: {name: "pressure_kpa", unit: "kPa", lo: 50, hi: 110, toKPa: 1},
}

// otherUnits are column names that say a unit not read here, and what to do.
var otherUnits = map[string]string{
	"temp_f":         "write temp_c: (°F - 32) / 1.8",
	"temp_k":         "write temp_c: K - 273.15",
	"dew_point_f":    "write dew_point_c: (°F - 32) / 1.8",
	"rh_share":       "write rh_percent: share × 100",
	"global_kwh_m2":  "write global_w_m2: kWh/m2 in the hour × 1000",
	"global_mj_m2":   "write global_w_m2: MJ/m2 in the hour × 277.8",
	"wind_km_h":      "write wind_m_s: km/h / 3.6",
	"wind_kn":        "write wind_m_s: knots × 0.514",
	"wind_mph":       "write wind_m_s: mph × 0.447",
	"pressure_hpa":   "write pressure_kpa: hPa / 10",
	"pressure_mbar":  "write pressure_kpa: mbar / 10",
	"pressure_pa":    "write pressure_kpa: Pa / 1000",
	"direct_w_m2":    "write direct_normal_w_m2 if it is on a plane facing the sun, or leave it out",
	"temp":           "write temp_c and mean °C",
	"dew_point":      "write dew_point_c and mean °C",
	"rh":             "write rh_percent and mean per cent",
	"global":         "write global_w_m2 and mean W/m2",
	"wind":           "write wind_m_s and mean m/s",
	"pressure":       "write pressure_kpa and mean kPa",
	"temperature":    "write temp_c and mean °C",
	"temperature_c":  "write temp_c",
	"datetime":       "write time",
	"timestamp":      "write time",
	"ghi":            "write global_w_m2",
	"wind_speed_m_s": "write wind_m_s",
}

var ownKeys = []string{"place", "latitude_deg", "longitude_deg", "elevation_m", "utc_offset_h", "typical", "source"}

// ownHeading reports whether a line is one of column names of ours.
func ownHeading(line string) bool {
	names := split(strings.ToLower(strings.ReplaceAll(line, ";", ",")), nil)
	for _, name := range names {
		if name == "time" || name == "temp_c" || name == "date" || otherUnits[name] != "" {
			return true
		}
	}
	return false
}

// ownReader is what is known of the columns of time and of the clock.
type ownReader struct {
	time, date, hour int // columns; -1 when there is none
	offsetGiven      bool
	offsetsMin       []int // offsets met in the times, in order of meeting
	utc              []int // minutes since 1970 of each row with an offset
}

func (f *weatherFile) readOwn(line string) error {
	f.report.Format, f.localClock = "plain CSV", true
	f.latitudeDeg, f.longitudeDeg, f.elevationM = nan, nan, nan
	o := ownReader{time: -1, date: -1, hour: -1}
	var err error
	for strings.HasPrefix(line, "#") || strings.TrimSpace(line) == "" {
		f.readKey(&o, strings.TrimSpace(strings.TrimLeft(line, "# ")))
		if line, err = f.lines.next(); err != nil {
			return err
		}
	}
	f.ownNames(&o, line)
	f.placeLine = f.lines.line
	for _, c := range []struct {
		v    float64
		name string
	}{{f.latitudeDeg, "latitude_deg"}, {f.longitudeDeg, "longitude_deg"}, {f.elevationM, "elevation_m"}} {
		if math.IsNaN(c.v) && !f.faulty() {
			f.fault(f.lines.line, "no line \"# %s: …\" before the column names; the sun cannot be reckoned without the place", c.name)
		}
	}
	if f.faulty() {
		return nil
	}
	var cells []string
	for {
		line, err := f.lines.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells = split(line, cells)
		r := row{line: f.lines.line}
		if !f.ownStamp(&o, &r, cells) {
			continue
		}
		f.values(&r, cells)
		if !f.add(r) {
			break
		}
	}
	f.ownClock(&o)
	return nil
}

// readKey reads a line "key: value" before the columns. Lines without a known
// key are remarks.
func (f *weatherFile) readKey(o *ownReader, line string) {
	key, value, found := strings.Cut(line, ":")
	key, value = strings.ToLower(strings.TrimSpace(key)), strings.TrimSpace(value)
	if !found || strings.ContainsAny(key, " \t") {
		return
	}
	at := f.lines.line
	switch key {
	case "place":
		f.place = oneLine(value)
	case "source":
		f.source = oneLine(value)
	case "latitude_deg":
		f.spot(key, value, at, -90, 90, "°", &f.latitudeDeg)
	case "longitude_deg":
		f.spot(key, value, at, -180, 180, "°", &f.longitudeDeg)
	case "elevation_m":
		f.spot(key, value, at, -500, 6000, "m", &f.elevationM)
	case "utc_offset_h":
		o.offsetGiven = true
		f.spot(key, value, at, -13, 14, "h", &f.utcOffsetH)
	case "typical":
		switch strings.ToLower(value) {
		case "yes":
			f.saysTypical = true
		case "no":
		default:
			f.fault(at, "typical %q; give yes or no", clip(printable(value)))
		}
	default:
		if near := meant(key, ownKeys); near != "" {
			f.fault(at, "key %q is not known; did you mean %q?", clip(printable(key)), near)
		}
	}
}

func (f *weatherFile) ownNames(o *ownReader, line string) {
	at := f.lines.line
	if strings.Contains(line, ";") && !strings.Contains(line, ",") {
		f.fault(at, "the columns are parted by semicolons; part them by commas, and write numbers with a point")
		return
	}
	known := []string{"time", "date", "hour"}
	for i := range ownColumns {
		c := ownColumns[i]
		c.at, c.code = -1, nan
		f.columns[i] = c
		known = append(known, c.name)
	}
	seen := map[string]bool{}
	for i, name := range split(line, nil) {
		name = strings.ToLower(name)
		if seen[name] && name != "" {
			f.fault(at, "column %s stands twice", clip(printable(name)))
			return
		}
		seen[name] = true
		switch name {
		case "time":
			o.time = i
			continue
		case "date":
			o.date = i
			continue
		case "hour":
			o.hour = i
			continue
		}
		found := false
		for j := range f.columns {
			if f.columns[j].name == name {
				f.columns[j].at, found = i, true
			}
		}
		if found {
			continue
		}
		if mend := otherUnits[name]; mend != "" {
			f.fault(at, "column %s is not read: %s", name, mend)
			continue
		}
		hint := ""
		if near := meant(name, known); near != "" {
			hint = "; did you mean " + near + "?"
		}
		f.report.note("Column %q is not read%s", clip(printable(name)), hint)
	}
	if o.time < 0 && (o.date < 0 || o.hour < 0) {
		f.fault(at, "no column time, nor date and hour; give the beginning of each hour")
	}
	f.needColumns(at, "temp_c", "global_w_m2", "wind_m_s", "dew_point_c or rh_percent")
}

// ownStamp reads the time of a row.
func (f *weatherFile) ownStamp(o *ownReader, r *row, cells []string) bool {
	last := max(o.time, o.date, o.hour)
	if last >= len(cells) {
		f.fault(r.line, "the line has %d values; its time is the %s", len(cells), ordinal(last+1))
		return false
	}
	var year, month, day, hour, minute int
	if o.time < 0 {
		if !digits(cells[o.date], "-", &year, &month, &day) {
			f.fault(r.line, "date %q; give it as 2025-03-01", clip(printable(cells[o.date])))
			return false
		}
		if !digits(cells[o.hour], ":", &hour) || hour > 23 {
			f.fault(r.line, "hour %q; give the beginning of the hour, 0 to 23", clip(printable(cells[o.hour])))
			return false
		}
	} else {
		text := cells[o.time]
		const dateLength, minuteLength = 10, 16
		bad := len(text) < minuteLength || !digits(text[:min(len(text), dateLength)], "-", &year, &month, &day) ||
			text[dateLength] != 'T' && text[dateLength] != ' '
		rest := ""
		if !bad {
			bad = !digits(text[dateLength+1:minuteLength], ":", &hour, &minute) || hour > 23 || minute > 59
			rest = strings.TrimPrefix(text[minuteLength:], ":00")
		}
		if !bad && rest != "" {
			at, err := time.Parse(time.RFC3339, text[:dateLength]+"T"+text[dateLength+1:minuteLength]+":00"+rest)
			if err == nil && (at.Year() < 1900 || at.Year() > 2100) {
				f.fault(r.line, "year %d: give 1900 to 2100", at.Year())
				return false
			}
			if err == nil {
				_, offset := at.Zone()
				return f.ownOffset(o, r, int(at.Unix()/60), offset/60)
			}
			bad = true
		}
		if bad {
			f.fault(r.line, "time %q; give the beginning of the hour as 2025-03-01T05:00, on the standard clock or with the offset after it, as +01:00 or Z", clip(printable(text)))
			return false
		}
		if minute != 0 {
			f.fault(r.line, "time %q is no whole hour; give the mean of each hour at its beginning", clip(printable(text)))
			return false
		}
	}
	if len(o.utc) > 0 {
		f.fault(r.line, "the time has no offset and those before it have; write all the same way")
		return false
	}
	date, ok := f.date(r.line, year, month, day)
	if ok && leapDay(date.month, day) && monthLength(year, date.month) == 28 {
		f.fault(r.line, "day 29 of month 2: %d is no leap year", year)
		ok = false
	}
	if ok && day > monthLength(year, date.month) {
		f.fault(r.line, "day %d of month %d: there is none", day, month)
		ok = false
	}
	r.at = stamp{date, hour}
	return ok
}

// ownOffset keeps a time with an offset until the clock is known.
func (f *weatherFile) ownOffset(o *ownReader, r *row, utcMin, offsetMin int) bool {
	if len(o.utc) != len(f.rows) {
		f.fault(r.line, "the time has an offset and those before it have none; write all the same way")
		return false
	}
	known := false
	for _, m := range o.offsetsMin {
		known = known || m == offsetMin
	}
	if !known {
		o.offsetsMin = append(o.offsetsMin, offsetMin)
		const two = 2 // the standard clock and daylight saving
		if len(o.offsetsMin) > two {
			f.fault(r.line, "a third offset from UTC; a place has two, for standard and daylight saving time")
			return false
		}
	}
	if len(f.rows) >= mostFileYears*366*hoursPerDay {
		return true // add refuses it
	}
	o.utc = append(o.utc, utcMin)
	return true
}

// ownClock settles the standard clock and puts times with an offset on it.
func (f *weatherFile) ownClock(o *ownReader) {
	solar := math.Round(f.longitudeDeg / 15)
	if len(o.utc) == 0 {
		if !o.offsetGiven {
			f.utcOffsetH = solar
			f.report.note("No utc_offset_h is given: the clock is taken as %s, from the longitude", zone(solar))
		}
		return
	}
	f.localClock = false
	if !o.offsetGiven {
		least := o.offsetsMin[0]
		for _, m := range o.offsetsMin {
			least = min(least, m)
		}
		f.utcOffsetH = float64(least) / 60
		if least == 0 && solar != 0 && len(o.offsetsMin) == 1 {
			f.utcOffsetH = solar
			f.report.note("The times are UTC and no utc_offset_h is given: the clock is taken as %s, from the longitude", zone(solar))
		}
	}
	if len(o.offsetsMin) > 1 {
		f.report.note("The times change between two offsets: daylight saving was undone")
	}
	offsetMin := int(math.Round(f.utcOffsetH * 60))
	for i := range min(len(f.rows), len(o.utc)) {
		at := time.Unix(int64(o.utc[i]+offsetMin)*60, 0).UTC()
		if at.Minute() != 0 {
			f.fault(f.rows[i].line, "the time is %s on the clock of %s: give hours that begin with an hour of that clock", at.Format("15:04"), zone(f.utcOffsetH))
			return
		}
		f.rows[i].at = stamp{keyOf(at), at.Hour()}
	}
}

// zone names a clock: UTC-8, UTC+5.5.
func zone(offsetH float64) string {
	if offsetH < 0 {
		return "UTC" + exact(offsetH)
	}
	return "UTC+" + exact(offsetH)
}

// meant is the word a mistyped one most likely was; empty when none begins
// like it.
func meant(typed string, words []string) string {
	const alike = 3
	if len(typed) < alike {
		return ""
	}
	for _, near := range table.Nearest(typed, words, 1) {
		if strings.HasPrefix(near, typed[:alike]) {
			return near
		}
	}
	return ""
}
