package climate

import (
	"errors"
	"fmt"
	"io"
	"strings"
)

// tmy3Columns are the columns by name in small letters, from memory of
// the open format.
var tmy3Columns = [fieldCount]struct {
	name   string
	column column
}{
	fieldTemp:     {"dry-bulb (c)", column{unit: "°C", lo: lowestC, hi: highestC}},
	fieldDew:      {"dew-point (c)", column{unit: "°C", lo: -90, hi: highestC}},
	fieldRH:       {"rhum (%)", column{unit: "%", lo: 0, hi: 100}},
	fieldGlobal:   {"ghi (w/m^2)", column{unit: "W/m2", lo: 0, hi: mostWm2}},
	fieldDirect:   {"dni (w/m^2)", column{unit: "W/m2", lo: 0, hi: mostWm2}},
	fieldDiffuse:  {"dhi (w/m^2)", column{unit: "W/m2", lo: 0, hi: mostWm2}},
	fieldWind:     {"wspd (m/s)", column{unit: "m/s", lo: 0, hi: 60}},
	fieldPressure: {"pressure (mbar)", column{unit: "mbar", lo: 500, hi: 1100, toKPa: 0.1}},
}

const tmy3Missing = -9900

func (f *weatherFile) readTMY3(first, second string) error {
	f.report.Format, f.freeYears, f.atEnd = "TMY3", true, true
	f.readStation(first)
	names := split(second, nil)
	if len(names) < 2 || !strings.HasPrefix(strings.ToLower(names[1]), "time (hh:mm)") {
		f.fault(2, "the second column is not \"Time (HH:MM)\"")
		return nil
	}
	for i, want := range tmy3Columns {
		c := want.column
		c.at, c.code = -1, tmy3Missing
		for at, name := range names {
			if strings.ToLower(name) == want.name {
				c.at, c.name = at, name
			}
		}
		f.columns[i] = c
	}
	f.needColumns(2, "Dry-bulb (C)", "GHI (W/m^2)", "Wspd (m/s)", "Dew-point (C) or RHum (%)")
	if f.faulty() {
		return nil
	}
	var cells []string
	for {
		line, err := f.lines.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if strings.TrimSpace(line) == "" {
			continue
		}
		cells = split(line, cells)
		if len(cells) < 2 {
			f.fault(f.lines.line, "the line has %d values; it should begin with a date and a time", len(cells))
			continue
		}
		var month, day, year, hour, minute int
		if !digits(cells[0], "/", &month, &day, &year) {
			f.fault(f.lines.line, "date %q; give MM/DD/YYYY", clip(printable(cells[0])))
			continue
		}
		date, ok := f.date(f.lines.line, year, month, day)
		if !ok {
			continue
		}
		if !digits(cells[1], ":", &hour, &minute) || minute != 0 || hour < 1 || hour > hoursPerDay {
			f.fault(f.lines.line, "time %q; a TMY3 file numbers the hours by their end, 01:00 to 24:00", clip(printable(cells[1])))
			continue
		}
		r := row{line: f.lines.line, at: stamp{date, hour - 1}}
		f.values(&r, cells)
		if !f.add(r) {
			return nil
		}
	}
}

// readStation: code, name, state, hours ahead of UTC, latitude, longitude,
// elevation.
func (f *weatherFile) readStation(line string) {
	cells := split(line, nil)
	const needed = 7
	if len(cells) < needed {
		f.fault(1, "the station has %d values; it should have %d: code, name, state, hours ahead of UTC, latitude, longitude, elevation", len(cells), needed)
		return
	}
	f.placeLine = 1
	f.place, f.source = oneLine(cells[1]), oneLine(fmt.Sprintf("TMY3, station %s", cells[0]))
	f.spot("hours ahead of UTC", cells[3], 1, -13, 14, "h", &f.utcOffsetH)
	f.spot("latitude", cells[4], 1, -90, 90, "°", &f.latitudeDeg)
	f.spot("longitude", cells[5], 1, -180, 180, "°", &f.longitudeDeg)
	f.spot("elevation", cells[6], 1, -500, 6000, "m", &f.elevationM)
}

// needColumns notes the needed columns a file lacks; the names are those of
// temperature, radiation, wind, and of dew point or humidity.
func (f *weatherFile) needColumns(line int, temp, global, wind, moist string) {
	for _, c := range []struct {
		has  bool
		name string
	}{
		{f.columns[fieldTemp].given(), temp},
		{f.columns[fieldGlobal].given(), global},
		{f.columns[fieldWind].given(), wind},
		{f.columns[fieldDew].given() || f.columns[fieldRH].given(), moist},
	} {
		if !c.has {
			f.fault(line, "no column %s; it is needed", c.name)
		}
	}
}

// digits reads whole numbers without sign between separators.
func digits(text, separator string, to ...*int) bool {
	parts := strings.Split(strings.TrimSpace(text), separator)
	if len(parts) != len(to) {
		return false
	}
	for i, part := range parts {
		if part == "" || len(part) > 4 {
			return false
		}
		n := 0
		for _, c := range []byte(part) {
			if c < '0' || c > '9' {
				return false
			}
			n = 10*n + int(c-'0')
		}
		*to[i] = n
	}
	return true
}
