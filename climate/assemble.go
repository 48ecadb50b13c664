package climate

import (
	"math"
	"time"

	"tidebed/science/air"
	"tidebed/science/sun"
)

// longestFillH is the longest gap that a straight line may bridge: beyond it
// the course of a day is no straight line any more.
const longestFillH = 3

// grid is a file's values on the hours of whole years.
type grid struct {
	start  dateKey
	years  int
	lines  []int                 // of each hour; 0 where the file has none
	values [fieldCount][]float64 // NaN where missing; nil for a field the file lacks
	filled []bool
}

func (g *grid) stamp(i int) stamp {
	return stamp{keyOf(g.start.midnight().AddDate(0, 0, i/hoursPerDay)), i % hoursPerDay}
}

// line is the line of an hour, or of the last hour before it that has one, the
// year closed to a ring.
func (g *grid) line(i int) int {
	size := len(g.lines)
	for n := range size {
		if line := g.lines[(i-n+size)%size]; line > 0 {
			return line
		}
	}
	return 0
}

// assemble turns the rows into a series, or notes faults.
func (f *weatherFile) assemble() (*Series, error) {
	if len(f.rows) == 0 {
		f.fault(f.lines.line, "no hours after the headings; a year has 8760")
		return nil, nil
	}
	f.calendar()
	if f.faulty() {
		return nil, nil
	}
	g := f.lay()
	if f.faulty() {
		return nil, nil
	}
	s := &Series{
		name: f.place, source: f.source, latitudeDeg: f.latitudeDeg, longitudeDeg: f.longitudeDeg,
		elevationM: f.elevationM, utcOffsetH: f.utcOffsetH, typical: f.saysTypical, start: g.start, years: g.years,
		hours: make([]Hour, len(g.lines)),
	}
	if s.source == "" {
		s.source = f.report.Format + " " + oneLine(f.name)
	}
	outside, days, err := s.outside()
	if err != nil {
		return nil, err
	}
	if f.plausible(g, outside); f.faulty() {
		return nil, nil
	}
	if f.ranges(g, outside, days); f.faulty() {
		return nil, nil
	}
	if f.fillGaps(g, outside); f.faulty() {
		return nil, nil
	}
	if f.moisture(g); f.faulty() {
		return nil, nil
	}
	f.settle(g, s, outside)
	f.report.Place, f.report.Hours, f.report.Years, f.report.Typical = s.name, len(s.hours), s.years, s.typical
	return s, nil
}

// calendar gives months of several years one year, and leaves true years alone.
func (f *weatherFile) calendar() {
	if !f.freeYears {
		return
	}
	mixed, leap := false, false
	for i, r := range f.rows {
		d := r.at.date
		leap = leap || leapDay(d.month, d.day)
		if i == 0 || d.year == f.rows[i-1].at.date.year {
			continue
		}
		before := f.rows[i-1].at.date
		mixed = mixed || d.year != before.year+1 || d.month != time.January || before.month != time.December
	}
	if mixed {
		f.saysTypical = true
		year := 2001
		if leap {
			year = 2000
		}
		for i := range f.rows {
			f.rows[i].at.date.year = year
		}
		return
	}
	for _, r := range f.rows {
		if d := r.at.date; leapDay(d.month, d.day) && monthLength(d.year, d.month) == 28 {
			f.fault(r.line, "day 29 of month 2: %d is no leap year", d.year)
			return
		}
	}
	for _, r := range f.rows {
		if d := r.at.date; d.day > monthLength(d.year, d.month) {
			f.fault(r.line, "day %d of month %d: there is none", d.day, d.month)
			return
		}
	}
}

// lay puts the rows on the hours of whole years.
func (f *weatherFile) lay() *grid {
	first, last := f.rows[0], f.rows[len(f.rows)-1]
	for i := 1; i < len(f.rows); i++ {
		before, now := f.rows[i-1], f.rows[i]
		switch step := now.at.number() - before.at.number(); {
		case step == 0 && f.localClock:
			f.fault(now.line, "%s stands twice, here and in line %d; if that is the end of daylight saving, write standard time throughout or put the offset after each time", now.at, before.line)
		case step == 0:
			f.fault(now.line, "%s stands twice, here and in line %d", now.at, before.line)
		case step < 0:
			f.fault(now.line, "%s comes after %s; put the hours in order of time", now.at, before.at)
		}
		if f.faulty() && len(f.faults.List) >= mostFaults {
			return nil
		}
	}
	if f.faulty() {
		return nil
	}
	g := &grid{start: first.at.date}
	const noon = 12
	if first.at.hour >= noon {
		g.start = keyOf(g.start.midnight().AddDate(0, 0, 1))
	}
	span := last.at.number() - first.at.number() + 1
	g.years = max(1, int(math.Round(float64(span)/(365.25*hoursPerDay))))
	origin := g.start.dayNumber() * hoursPerDay
	size := g.start.later(g.years).dayNumber()*hoursPerDay - origin
	switch {
	case g.start.year < 1900 || g.start.later(g.years).year > 2101:
		f.fault(first.line, "the hours run from %s to %s; give years from 1900 to 2100", first.at, last.at)
	case g.years > mostFileYears:
		f.fault(last.line, "the hours run from %s to %s; give at most %d years", first.at, last.at, mostFileYears)
	case span > size:
		f.fault(last.line, "%d hours from %s to %s; give whole years, %d hours here: leave out the last %d", span, first.at, last.at, size, span-size)
	case span < size-longestFillH:
		f.fault(last.line, "%d hours from %s to %s; give whole years, %d hours here", span, first.at, last.at, size)
	}
	if f.faulty() {
		return nil
	}
	g.lines, g.filled = make([]int, size), make([]bool, size)
	for i := range f.columns {
		if f.columns[i].given() {
			g.values[i] = make([]float64, size)
			for j := range g.values[i] {
				g.values[i][j] = nan
			}
		}
	}
	turned := 0
	for _, r := range f.rows {
		at := r.at.number() - origin
		if at < 0 || at >= size {
			at = (at + size) % size
			turned++
		}
		g.lines[at] = r.line
		for i := range f.columns {
			if g.values[i] != nil {
				g.values[i][at] = r.values[i]
			}
		}
	}
	if turned > 0 {
		f.report.note("The file begins at %s on its clock: the %d hours outside the year from %s close it at the other end", first.at, turned, g.start)
	}
	f.leapDays(g)
	f.missingLines(g)
	return g
}

// missingLines notes runs of hours without a line that are too long to bridge.
func (f *weatherFile) missingLines(g *grid) {
	size := len(g.lines)
	begin := 0
	for g.lines[begin] == 0 { // some hour has a line
		begin++
	}
	for n := 1; n < size; n++ {
		from, length := (begin+n)%size, 0
		for g.lines[(from+length)%size] == 0 {
			length++
		}
		if length > longestFillH {
			f.fault(g.lines[(from+size-1)%size], "after this line %d hours are missing, from %s; up to %d are filled by a straight line: put them in, or take another year", length, g.stamp(from), longestFillH)
		}
		n += length
	}
}

// leapDays gives leap days that are wholly left out the hours of the day before.
func (f *weatherFile) leapDays(g *grid) {
	day := g.start.midnight()
	for i := 0; i < len(g.lines); i += hoursPerDay {
		d := day.AddDate(0, 0, i/hoursPerDay)
		if !leapDay(d.Month(), d.Day()) || i == 0 {
			continue
		}
		none := true
		for _, line := range g.lines[i : i+hoursPerDay] {
			none = none && line == 0
		}
		if !none {
			continue
		}
		copy(g.lines[i:i+hoursPerDay], g.lines[i-hoursPerDay:i])
		for _, v := range g.values {
			if v != nil {
				copy(v[i:i+hoursPerDay], v[i-hoursPerDay:i])
			}
		}
		f.report.note("29 February %d is left out: it takes the hours of the 28th", d.Year())
	}
}

// fillGaps bridges short gaps of temperature, radiation, wind and pressure.
func (f *weatherFile) fillGaps(g *grid, outside []float64) {
	f.fill(g, fieldTemp, nil)
	f.fill(g, fieldGlobal, outside)
	f.fill(g, fieldWind, nil)
	if v := g.values[fieldPressure]; v != nil {
		if longest(v) <= longestFillH {
			f.fill(g, fieldPressure, nil)
		} else {
			g.values[fieldPressure] = nil
			f.report.note("The pressure is missing for more than %d hours at a time: it is not read", longestFillH)
		}
	}
}

// longest is the longest run of missing values of a year closed to a ring.
func longest(v []float64) int {
	most, run := 0, 0
	for i := range 2 * len(v) {
		if !math.IsNaN(v[i%len(v)]) {
			run = 0
			continue
		}
		if run++; run >= len(v) {
			return len(v)
		}
		most = max(most, run)
	}
	return most
}

// fill bridges the gaps of a field, of its share of a scale where one is given.
func (f *weatherFile) fill(g *grid, which field, scale []float64) {
	v, c, size := g.values[which], &f.columns[which], len(g.lines)
	dark := func(i int) bool { return scale != nil && scale[i] <= 0 }
	known := -1
	for i := range v {
		switch {
		case !math.IsNaN(v[i]):
			if known < 0 {
				known = i
			}
		case dark(i): // no sun: nothing to bridge
			v[i], g.filled[i] = 0, true
		}
	}
	if known < 0 {
		f.fault(0, "%s is missing in all hours; it is needed", c.name)
		return
	}
	share := func(i int) float64 {
		if scale == nil {
			return v[i]
		}
		if scale[i] <= 0 {
			return nan
		}
		return min(1, v[i]/scale[i])
	}
	for n := 1; n < size; n++ {
		from := (known + n) % size
		if !math.IsNaN(v[from]) {
			continue
		}
		length := 1
		for math.IsNaN(v[(from+length)%size]) {
			length++
		}
		if length > longestFillH {
			f.fault(g.line(from), "%s is missing for %d hours from %s; up to %d are filled by a straight line: put them in, or take another year", c.name, length, g.stamp(from), longestFillH)
			n += length
			continue
		}
		left, right := share((from+size-1)%size), share((from+length)%size)
		if math.IsNaN(left) {
			left = right
		}
		if math.IsNaN(right) {
			right = left
		}
		for j := range length {
			i := (from + j) % size
			x := float64(j+1) / float64(length+1)
			value := left + (right-left)*x
			if scale != nil {
				if math.IsNaN(value) {
					value = 0.5 // sun on neither side: a middling sky
				}
				value *= scale[i]
			}
			v[i], g.filled[i] = value, true
		}
		f.report.LongestGapH = max(f.report.LongestGapH, length)
		n += length
	}
}

// moisture makes the dew point whole: as given, else from the humidity, else
// bridged.
func (f *weatherFile) moisture(g *grid) {
	dew, rh, temp := g.values[fieldDew], g.values[fieldRH], g.values[fieldTemp]
	if dew == nil {
		dew = make([]float64, len(temp))
		for i := range dew {
			dew[i] = nan
		}
		g.values[fieldDew] = dew
		f.columns[fieldDew].name = f.columns[fieldRH].name
	}
	if rh != nil {
		const least = 0.5 // per cent: drier air has no dew point worth naming
		for i := range dew {
			if math.IsNaN(dew[i]) && !math.IsNaN(rh[i]) {
				if d, err := air.DewPointC(max(rh[i], least) / 100 * air.SaturationKPa(temp[i])); err == nil {
					dew[i] = max(d, -90)
				}
			}
		}
	}
	f.fill(g, fieldDew, nil)
}

// settle turns whole values into the hours of the series.
func (f *weatherFile) settle(g *grid, s *Series, outside []float64) {
	size := len(g.lines)
	temp, dew, wind := g.values[fieldTemp], g.values[fieldDew], g.values[fieldWind]
	global, diffuse, direct := g.values[fieldGlobal], g.values[fieldDiffuse], g.values[fieldDirect]
	pressure := g.values[fieldPressure]
	if pressure != nil {
		s.pressureKPa = make([]float64, size)
		f.report.PressureRead = true
	}
	// Readings at the end of an hour: its middle lies between two of them.
	middle := func(v []float64, i int) float64 {
		if !f.atEnd {
			return v[i]
		}
		return (v[(i+size-1)%size] + v[i]) / 2
	}
	first := s.start.midnight()
	for i := range size {
		h := &s.hours[i]
		h.TempC, h.DewPointC, h.WindMS = middle(temp, i), middle(dew, i), middle(wind, i)
		if h.DewPointC > h.TempC {
			h.DewPointC = h.TempC
			f.report.CappedDew++
		}
		h.RHShare = humidity(h.TempC, h.DewPointC)
		if pressure != nil {
			s.pressureKPa[i] = middle(pressure, i) * f.columns[fieldPressure].toKPa
		}
		h.GHIWm2 = global[i]
		if g.filled[i] {
			f.report.FilledHours++
		}
		if h.GHIWm2 <= 0 {
			continue
		}
		switch {
		case diffuse != nil && !math.IsNaN(diffuse[i]):
			h.DiffuseWm2 = diffuse[i]
			if h.DiffuseWm2 > h.GHIWm2 {
				h.DiffuseWm2 = h.GHIWm2
				f.report.CappedSky++
			}
			continue
		case direct != nil && !math.IsNaN(direct[i]) && !g.filled[i]:
			// The sine of the sun's height is the level's share of the
			// radiation on a plane facing the sun, both above the air.
			normal := sun.SolarConstantMJm2Min * 1e6 / 60 * (1 + 0.033*math.Cos(2*math.Pi*float64(first.AddDate(0, 0, i/hoursPerDay).YearDay())/365))
			h.DiffuseWm2 = max(0, h.GHIWm2-direct[i]*outside[i]/normal)
		case outside[i] > 0:
			h.DiffuseWm2 = h.GHIWm2 * sun.DiffuseShareHour(h.GHIWm2/outside[i])
		default:
			h.DiffuseWm2 = h.GHIWm2
		}
		f.report.SplitHours++
	}
	s.extremes()
}
