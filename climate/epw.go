package climate

import (
	"errors"
	"io"
	"strings"
)

// epwHeadings are the first words of the lines before the hours.
var epwHeadings = [8]string{"LOCATION", "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES",
	"HOLIDAYS/DAYLIGHT SAVINGS", "COMMENTS 1", "COMMENTS 2", "DATA PERIODS"}

// epwColumns: position, range and code of the fields, from memory of the open
// format.
var epwColumns = [fieldCount]column{
	fieldTemp:     {name: "dry bulb", unit: "°C", at: 6, lo: lowestC, hi: highestC, code: 99.9},
	fieldDew:      {name: "dew point", unit: "°C", at: 7, lo: -90, hi: highestC, code: 99.9},
	fieldRH:       {name: "relative humidity", unit: "%", at: 8, lo: 0, hi: 100, code: 999},
	fieldPressure: {name: "pressure", unit: "Pa", at: 9, lo: 50000, hi: 110000, toKPa: 1e-3, code: 999999},
	fieldGlobal:   {name: "global radiation", unit: "Wh/m2", at: 13, lo: 0, hi: mostWm2, code: 9999},
	fieldDirect:   {name: "direct radiation", unit: "Wh/m2", at: 14, lo: 0, hi: mostWm2, code: 9999},
	fieldDiffuse:  {name: "diffuse radiation", unit: "Wh/m2", at: 15, lo: 0, hi: mostWm2, code: 9999},
	fieldWind:     {name: "wind", unit: "m/s", at: 21, lo: 0, hi: 60, code: 999},
}

// mostWm2 is above any hour's radiation on Earth.
const mostWm2 = 1500.0

func (f *weatherFile) readEPW(first string) error {
	f.report.Format, f.freeYears, f.atEnd = "EPW", true, true
	f.readLocation(first)
	for i := 1; i < len(epwHeadings); i++ {
		line, err := f.lines.next()
		if err != nil {
			return err
		}
		if !strings.HasPrefix(strings.ToUpper(line), epwHeadings[i]) {
			f.fault(f.lines.line, "%q where the heading %s should be; an EPW file has eight headings before its hours", clip(printable(line)), epwHeadings[i])
			return nil
		}
		if i == len(epwHeadings)-1 {
			f.readPeriods(line)
		}
	}
	f.columns = epwColumns
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
		const least = 22
		if len(cells) < least {
			f.fault(f.lines.line, "the line has %d values; an hour of an EPW file has 35, and at least the first %d are needed", len(cells), least)
			continue
		}
		var n [4]int
		fine := true
		for i, name := range [4]string{"year", "month", "day", "hour"} {
			if v, ok := whole(cells[i]); ok {
				n[i] = v
			} else if fine {
				f.fault(f.lines.line, "%s %q is no whole number", name, clip(printable(cells[i])))
				fine = false
			}
		}
		if !fine {
			continue
		}
		date, ok := f.date(f.lines.line, n[0], n[1], n[2])
		if ok && (n[3] < 1 || n[3] > hoursPerDay) {
			f.fault(f.lines.line, "hour %d: an EPW file numbers the hours by their end, 1 to 24", n[3])
			ok = false
		}
		if !ok {
			continue
		}
		r := row{line: f.lines.line, at: stamp{date, n[3] - 1}}
		f.values(&r, cells)
		if !f.add(r) {
			return nil
		}
	}
}

// readLocation: LOCATION, city, region, country, source, station, latitude,
// longitude, hours ahead of UTC, elevation.
func (f *weatherFile) readLocation(line string) {
	cells := split(line, nil)
	const needed = 10
	if len(cells) < needed {
		f.fault(1, "LOCATION has %d values; it should have %d, the last four latitude, longitude, hours ahead of UTC and elevation", len(cells), needed)
		return
	}
	f.placeLine = 1
	f.place, f.source = oneLine(cells[1]), oneLine("EPW, "+cells[4])
	f.spot("latitude", cells[6], 1, -90, 90, "°", &f.latitudeDeg)
	f.spot("longitude", cells[7], 1, -180, 180, "°", &f.longitudeDeg)
	f.spot("hours ahead of UTC", cells[8], 1, -13, 14, "h", &f.utcOffsetH)
	f.spot("elevation", cells[9], 1, -500, 6000, "m", &f.elevationM)
}

// readPeriods: DATA PERIODS, number of periods, records per hour, …
func (f *weatherFile) readPeriods(line string) {
	cells := split(line, nil)
	if len(cells) < 3 {
		f.fault(f.lines.line, "DATA PERIODS has %d values; it should say how many periods and how many records an hour", len(cells))
		return
	}
	if n, ok := whole(cells[1]); !ok || n != 1 {
		f.fault(f.lines.line, "%q data periods; only files of one period are read: cut the file in two", clip(printable(cells[1])))
	}
	if n, ok := whole(cells[2]); !ok || n != 1 {
		f.fault(f.lines.line, "%q records an hour; only one an hour is read: take the mean of each hour", clip(printable(cells[2])))
	}
}
