package climate

import (
	"math"

	"tidebed/quantity"
	"tidebed/science/air"
)

// stats are the figures of a field by which a wrong unit shows.
type stats struct {
	n               int
	low, high, mean float64
	highLine        int
}

func (g *grid) stats(which field) stats {
	s := stats{low: math.Inf(1), high: math.Inf(-1)}
	for i, v := range g.values[which] {
		if math.IsNaN(v) {
			continue
		}
		s.n++
		s.mean += v
		s.low = min(s.low, v)
		if v > s.high {
			s.high, s.highLine = v, g.lines[i]
		}
	}
	if s.n > 0 {
		s.mean /= float64(s.n)
	}
	return s
}

// share is the part of the hours with both values for which a test holds.
func (g *grid) share(a, b field, test func(a, b float64) (counts, holds bool)) float64 {
	if g.values[a] == nil || g.values[b] == nil {
		return 0
	}
	all, held := 0, 0
	for i, x := range g.values[a] {
		y := g.values[b][i]
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		if counts, holds := test(x, y); counts {
			all++
			if holds {
				held++
			}
		}
	}
	const few = 24
	if all < few {
		return 0
	}
	return float64(held) / float64(all)
}

// plausible notes what tells of wrong units, swapped columns or a wrong clock
// in the file as a whole. The limits are ours: common practice, no source. None
// is met by a place on Earth with its columns and units right; what lies within
// them (knots of a calm place, °F of the far north without humidity beside) is
// not found.
func (f *weatherFile) plausible(g *grid, outside []float64) {
	f.swapped(g)
	if f.faulty() {
		return
	}
	f.wrongTemperature(g)
	if !f.wrongHumidity(g) {
		f.wrongMoisture(g)
	}
	f.wrongWind(g)
	f.wrongPressure(g)
	f.wrongRadiation(g, outside)
	if f.faulty() {
		return
	}
	f.wrongClock(g, outside)
}

func (f *weatherFile) swapped(g *grid) {
	const most = 0.5
	name := func(which field) string { return f.columns[which].name }
	line := f.rows[0].line
	temp, rh, wind, pressure := g.stats(fieldTemp), g.stats(fieldRH), g.stats(fieldWind), g.stats(fieldPressure)
	if share := g.share(fieldTemp, fieldDew, func(t, d float64) (bool, bool) { return true, d > t+0.5 }); share > most {
		f.fault(line, "%s lies above %s in %.0f %% of the hours: are the two columns swapped?", name(fieldDew), name(fieldTemp), 100*share)
	}
	lit := g.stats(fieldGlobal).high > 0
	if share := g.share(fieldGlobal, fieldDiffuse, func(whole, part float64) (bool, bool) { return whole > 20 || part > 20, part > whole+5 }); lit && share > most {
		f.fault(line, "%s lies above %s in %.0f %% of the hours of light: are the two columns swapped?", name(fieldDiffuse), name(fieldGlobal), 100*share)
	}
	if rh.n > 0 && temp.low >= 0 && temp.high > 60 && temp.high <= 101 && temp.mean > 40 && rh.low >= lowestC && rh.high <= highestC && rh.mean < 35 {
		f.fault(line, "%s runs from %g to %g and %s from %g to %g: are the two columns swapped?", name(fieldTemp), temp.low, temp.high, name(fieldRH), rh.low, rh.high)
	}
	c := &f.columns[fieldPressure]
	if pressure.n > 0 && wind.mean >= c.lo && wind.mean <= c.hi && pressure.mean < c.lo && pressure.mean >= 0 {
		f.fault(line, "%s is %.3g and %s %.3g on average: are the two columns swapped?", name(fieldWind), wind.mean, name(fieldPressure), pressure.mean)
	}
}

func fahrenheit(v float64) float64 { return (v - 32) / 1.8 }

func (f *weatherFile) wrongTemperature(g *grid) {
	t := g.stats(fieldTemp)
	c := &f.columns[fieldTemp]
	const (
		warmestYearC = 36.0 // the hottest places have a mean near 34 °C
		some         = 0.01
	)
	above := g.share(fieldTemp, fieldTemp, func(v, _ float64) (bool, bool) { return true, v > highestC })
	if t.n > 0 && (t.mean > warmestYearC || above > some) {
		hint := "give °C"
		switch {
		case t.low > 170 && t.high < 340:
			hint = "if that is K, take off 273.15"
		case fahrenheit(t.high) <= highestC && fahrenheit(t.low) >= lowestC && fahrenheit(t.mean) < warmestYearC:
			hint = "if that is °F, " + exact(t.high) + " °F is " + exact(math.Round(10*fahrenheit(t.high))/10) + " °C"
		}
		f.fault(t.highLine, "%s has a mean of %.1f and a highest of %g; no place on Earth has more than %g °C as the mean of a year, nor 60 °C in the shade: %s", c.name, t.mean, t.high, warmestYearC, hint)
	}
}

// wrongMoisture holds dew point, humidity and temperature against each other
// where a file has all three.
func (f *weatherFile) wrongMoisture(g *grid) {
	if f.faulty() || g.values[fieldDew] == nil || g.values[fieldRH] == nil {
		return
	}
	apart := func(convert func(float64) float64) float64 {
		sum, n := 0.0, 0
		for i, v := range g.values[fieldTemp] {
			d, rh := g.values[fieldDew][i], g.values[fieldRH][i]
			if math.IsNaN(v) || math.IsNaN(d) || math.IsNaN(rh) {
				continue
			}
			v, d = convert(v), convert(d)
			if v < lowestC-30 || v > 150 || d < -100 || d > 150 {
				continue
			}
			sum += math.Abs(humidity(v, d) - rh/100)
			n++
		}
		if n == 0 {
			return 0
		}
		return sum / float64(n)
	}
	const far, close = 0.10, 0.05
	if miss := apart(func(v float64) float64 { return v }); miss > far {
		hint := "one of the three columns is in another unit or another place"
		if apart(fahrenheit) < close {
			hint = "they fit if the temperatures are °F: write °C"
		}
		f.fault(f.rows[0].line, "%s, %s and %s do not fit each other: the humidity of the two temperatures is %.0f %% away from that given, on average; %s",
			f.columns[fieldTemp].name, f.columns[fieldDew].name, f.columns[fieldRH].name, 100*miss, hint)
	}
}

func (f *weatherFile) wrongHumidity(g *grid) bool {
	rh := g.stats(fieldRH)
	if rh.n == 0 || rh.high > 1.05 || rh.low < 0 {
		return false
	}
	f.fault(rh.highLine, "%s is at most %g; if that is a share from 0 to 1, write it in per cent: × 100", f.columns[fieldRH].name, rh.high)
	return true
}

func (f *weatherFile) wrongWind(g *grid) {
	w := g.stats(fieldWind)
	const windiest, windy = 11.5, 8.0 // m/s as a mean of the year: the windiest stations, a very windy coast
	switch name := f.columns[fieldWind].name; {
	case w.mean > windiest:
		f.fault(w.highLine, "%s has a mean of %.1f and a highest of %g; hardly a place has more than %g m/s as the mean of a year: if that is km/h, divide by 3.6", name, w.mean, w.high, windiest)
	case w.mean > windy:
		f.report.note("%s has a mean of %.1f m/s: that is very windy; see that it is not km/h, mph or knots", name, w.mean)
	case w.high == 0:
		f.report.note("%s is 0 in all hours: is it measured at all?", name)
	}
}

func (f *weatherFile) wrongPressure(g *grid) {
	p := g.stats(fieldPressure)
	if p.n == 0 {
		return
	}
	c := &f.columns[fieldPressure]
	kPa := p.mean * c.toKPa
	if kPa >= air.LowestKPa && kPa <= air.HighestKPa {
		standard, err := air.PressureKPa(f.elevationM)
		if err == nil && math.Abs(kPa/standard-1) > 0.06 {
			f.report.note("%s has a mean of %.1f kPa, and %g m of elevation have %.1f: is it brought down to the sea?", c.name, kPa, f.elevationM, standard)
		}
		return
	}
	hint := "give " + c.unit
	for _, u := range []struct {
		name  string
		toKPa float64
	}{{"kPa", 1}, {"hPa or mbar", 0.1}, {"Pa", 1e-3}, {"inches of mercury", 3.38639}, {"mm of mercury", 0.133322}} {
		if v := p.mean * u.toKPa; v >= air.LowestKPa && v <= air.HighestKPa {
			hint = "if that is " + u.name + ", multiply by " + exact(math.Round(1e5*u.toKPa/c.toKPa)/1e5) + " to have " + c.unit
			break
		}
	}
	f.fault(p.highLine, "%s has a mean of %.4g; the air of the Earth's surface has %g to %g %s: %s", c.name, p.mean, c.lo, c.hi, c.unit, hint)
}

// wrongRadiation: in any year the brightest hour comes near to a clear sky.
func (f *weatherFile) wrongRadiation(g *grid, outside []float64) {
	r := g.stats(fieldGlobal)
	c := &f.columns[fieldGlobal]
	clear := 0.0
	const clearShare = 0.75
	for _, v := range outside {
		clear = max(clear, clearShare*v)
	}
	if clear < 100 || r.n == 0 { // at the poles nothing can be said
		return
	}
	if r.high <= 0 {
		f.fault(f.rows[0].line, "%s is 0 in all hours; it is needed: the light of the crops comes from it", c.name)
		return
	}
	for _, u := range []struct {
		name      string
		factor    float64
		low, high float64 // of what the brightest hour would be, over the clear sky
	}{
		{"kW/m2, or kWh/m2 in the hour", 1000, 0.5, 1.8},
		{"MJ/m2 in the hour", 277.8, 0.5, 1.8},
		{"cal/cm2 in the hour", 11.63, 0.6, 1.6},
		{"J/cm2 in the hour", 2.778, 0.8, 1.35},
		{"kJ/m2 in the hour", 0.2778, 0.5, 1.6},
	} {
		if v := r.high * u.factor / clear; v >= u.low && v <= u.high {
			f.fault(r.highLine, "%s is at most %g, where a clear sky gives about %.0f W/m2 at noon; if that is %s, multiply by %g", c.name, r.high, clear, u.name, u.factor)
			return
		}
	}
	if r.high < 0.3*clear {
		f.fault(r.highLine, "%s is at most %g, where a clear sky gives about %.0f W/m2 at noon: give the mean of the hour in W/m2", c.name, r.high, clear)
	}
}

// wrongClock holds the hours of light against the sun. Each month's middle of
// the light, in hours after solar noon, should be near 0.
func (f *weatherFile) wrongClock(g *grid, outside []float64) {
	var north, east, light, above [12]float64 // sums of light by the hour angle
	var noonSum float64
	for i, v := range g.values[fieldGlobal] {
		if math.IsNaN(v) {
			continue
		}
		m := int(g.stamp(i).date.month) - 1
		hour := float64(i%hoursPerDay) + 0.5 + f.longitudeDeg/15 - f.utcOffsetH
		sin, cos := math.Sincos(math.Pi / 12 * (hour - 12))
		east[m], north[m] = east[m]+v*sin, north[m]+v*cos
		light[m], above[m] = light[m]+v, above[m]+outside[i]
		noonSum += v * cos
	}
	// The seasons of the light against those of the latitude.
	const seasonal = 25.0
	if math.Abs(f.latitudeDeg) > seasonal {
		var sums, wants [2]float64
		for m := range 12 {
			half := 0
			if m >= 3 && m < 9 {
				half = 1
			}
			sums[half], wants[half] = sums[half]+light[m], wants[half]+above[m]
		}
		if (sums[1]-sums[0])*(wants[1]-wants[0]) < 0 && max(sums[0], sums[1]) > 1.15*min(sums[0], sums[1]) {
			f.fault(f.placeLine, "latitude %g, but the months from April to September have %.0f %% of the year's light: has the latitude the wrong sign?", f.latitudeDeg, 100*sums[1]/(sums[0]+sums[1]))
			return
		}
	}
	var late [12]float64
	var sum, weight float64
	for m := range late {
		late[m] = nan
		if above[m] > 0 && math.Hypot(east[m], north[m]) > 0.05*above[m] {
			late[m] = math.Atan2(east[m], north[m]) * 12 / math.Pi
			sum, weight = sum+late[m], weight+1
		}
	}
	if weight < 6 {
		return
	}
	// Daylight saving first: it is a step between the halves of the year.
	mean := func(months ...int) float64 {
		s, n := 0.0, 0.0
		for _, m := range months {
			if !math.IsNaN(late[m]) {
				s, n = s+late[m], n+1
			}
		}
		return s / n // NaN without any
	}
	// The equation of time is near 0 on average over each of the two halves
	// chosen; clouds of the afternoon move the middle by less than half an hour.
	summer, winter := mean(4, 5, 6, 7), mean(0, 1, 10, 11)
	if f.latitudeDeg < 0 {
		summer, winter = winter, summer
	}
	const saved, unsaved, askew = 0.7, 1.3, 0.75
	if step := summer - winter; step > saved && step < unsaved {
		f.fault(f.rows[0].line, "the light of summer comes %.1f h later by the clock than that of winter: the times seem to have daylight saving; write standard time throughout", step)
		return
	}
	if off := sum / weight; math.Abs(off) > askew {
		f.fault(f.placeLine, "the light comes %.1f h %s the sun of longitude %g on a clock of %s: is the clock another, the longitude's sign wrong, or are the times the ends of the hours?",
			math.Abs(off), after(off), f.longitudeDeg, zone(f.utcOffsetH))
	}
}

func after(hours float64) string {
	if hours < 0 {
		return "before"
	}
	return "after"
}

// ranges notes each value outside its range, with its line.
func (f *weatherFile) ranges(g *grid, outside, days []float64) {
	for which := range fieldCount {
		c := &f.columns[which]
		const rounding = 1.0 // per cent: humidity of just above 100 is saturated air
		for i, v := range g.values[which] {
			if math.IsNaN(v) || v >= c.lo && v <= c.hi {
				continue
			}
			if which == fieldRH && v > c.hi && v <= c.hi+rounding {
				g.values[which][i] = c.hi
				continue
			}
			err := quantity.InRange(c.name, v, c.lo, c.hi, c.unit)
			hint := ""
			if math.IsNaN(c.code) && isCode(v) {
				hint = "; if that stands for a missing value, leave the cell empty"
			}
			f.faultOf(err, g.lines[i], "%v%s", err, hint)
		}
	}
	temp, dew, global := g.values[fieldTemp], g.values[fieldDew], g.values[fieldGlobal]
	const slack = 0.5
	for i := range dew {
		if dew[i] > temp[i]+slack && temp[i] >= lowestC && dew[i] <= highestC {
			f.fault(g.lines[i], "%s %g lies above %s %g; it may not by more than %g K", f.columns[fieldDew].name, dew[i], f.columns[fieldTemp].name, temp[i], slack)
		}
	}
	const factor, more = 1.1, 50.0 // clouds' edges; twilight
	for i, v := range global {
		if most := factor*outside[i] + more; v > most {
			f.fault(g.lines[i], "%s %g W/m2 at %s; the sun above the air gives %.0f then, so that at most %.0f are possible: are unit, clock and place right?", f.columns[fieldGlobal].name, v, g.stamp(i), outside[i], most)
		}
	}
	for d, ra := range days {
		sum := 0.0
		for _, v := range global[d*hoursPerDay : (d+1)*hoursPerDay] {
			if !math.IsNaN(v) {
				sum += v / solarWm2PerMJm2Hour
			}
		}
		const twilight = 0.5
		if sum > ra+twilight {
			i := d * hoursPerDay
			f.fault(g.line(i), "%s sums to %.1f MJ/m2 on %s; the sun above the air gives %.1f: it may not be more", f.columns[fieldGlobal].name, sum, g.stamp(i).date, ra)
		}
	}
}

// isCode reports whether a value is one that files write for a missing one.
func isCode(v float64) bool {
	switch v {
	case -9999, -9900, -999, -99.9, -99, 99.9, 999, 9999, 999999:
		return true
	}
	return false
}
