package climate

import (
	"fmt"
	"math"
	"strings"
	"time"

	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/sun"
)

var nan = math.NaN()

const (
	lowestC, highestC   = -70.0, 60.0
	highestClearness    = 0.85 // of a smooth day: above the clear sky of 5000 m
	twilightMJm2        = 0.1  // radiation that may fall where geometry gives none
	leastDayH           = 1.5  // shorter days have no temperature wave of their own
	passes              = 200  // of the fit of month anchors
	narrowest, widest   = 0.5, 2.0
	solarWm2PerMJm2Hour = 1e6 / 3600
)

// Hour is the weather of an hour.
type Hour struct {
	TempC      float64 // at its middle
	DewPointC  float64 // never above TempC
	RHShare    float64
	GHIWm2     float64 // global radiation on the level, mean of the hour
	DiffuseWm2 float64 // part of it from the sky
	WindMS     float64
}

// Day is the weather of a calendar day. Hours are of the standard clock
// (Weather.UTCOffsetH).
type Day struct {
	TmaxC, TminC float64 // highest of the day, lowest of its morning
	GHIMJm2      float64 // global radiation on the level; the hours sum to it
	DayLengthH   float64 // from sunrise to sunset: 0 in polar night, 24 in polar day
	SunriseH     float64 // clock hour, may lie below 0 where the clock is far from the sun; 0 in polar night and day
	SunsetH      float64 // clock hour, may lie beyond 24; 0 in polar night, 24 in polar day
	PolarNight   bool
	PolarDay     bool
	Hours        [24]Hour
}

// Weather is the smooth weather of one spot. After New only SetNightMinimum and
// SetUTCOffset change it; Day may then be called from many goroutines.
type Weather struct {
	latitudeDeg, longitudeDeg, elevationM float64
	utcOffsetH                            float64
	// Anchors: the value in the middle of each month, straight lines between.
	meanC, rangeK, dewC, clearness, windMS [12]float64
	normals                                [12]Month // as given: the spreads are read from them
	nights                                 map[dateKey]float64
	warnings                               []string
}

type dateKey struct {
	year  int
	month time.Month
	day   int
}

// monthDays are the lengths of months in a common year.
var monthDays = [12]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// New makes the weather of a spot from monthly normals (January first).
//
//	latitudeDeg, longitudeDeg  of the spot, north and east positive
//	elevationM                 of the spot, -500 to 6000
//	normalsLatitudeDeg         of the place the normals are from; the spot's own when they are its own
//
// Where the two latitudes differ, each month's clearness (radiation over that
// above the air) is carried over, not the radiation itself.
//
// Days between are on straight lines between the middles of months. The anchors
// there are not the monthly means but are moved until the mean of the days of
// each month is the normal again: temperatures and dew points by adding,
// ranges, wind and clearness by multiplying, which keeps them above zero.
//
// Refused, the month named: a month missing (all zero, or a number that is not
// finite), lowest above highest, temperatures outside -70 to 60 °C, a relative
// humidity outside 0 to 1, a dew point above the highest temperature, wind
// outside 0 to 60 m/s, radiation below 0 or above that outside the air; places
// off the globe, and normals of the other hemisphere, whose seasons are turned
// round.
func New(latitudeDeg, longitudeDeg, elevationM float64, months [12]Month, normalsLatitudeDeg float64) (*Weather, error) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"latitude", latitudeDeg, -90, 90, "°"},
		{"longitude", longitudeDeg, -180, 180, "°"},
		{"elevation", elevationM, -500, 6000, "m"},
		{"latitude of the normals", normalsLatitudeDeg, -90, 90, "°"},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return nil, fmt.Errorf("climate: %w", err)
		}
	}
	const tropics = 10.0
	if latitudeDeg*normalsLatitudeDeg < 0 && math.Abs(latitudeDeg) > tropics && math.Abs(normalsLatitudeDeg) > tropics {
		return nil, fmt.Errorf("climate: normals of latitude %g° cannot serve latitude %g°: the seasons are turned round; take a place of the same hemisphere", normalsLatitudeDeg, latitudeDeg)
	}
	w := &Weather{
		latitudeDeg: latitudeDeg, longitudeDeg: longitudeDeg, elevationM: elevationM,
		utcOffsetH: math.Round(longitudeDeg / 15), normals: months, nights: map[dateKey]float64{},
	}
	outside, err := yearOfRa(normalsLatitudeDeg)
	if err != nil {
		return nil, err
	}
	var meanC, rangeK, dewC, ghi, wind [12]float64
	for m := range months {
		if err := months[m].check(outside.monthMean(m)); err != nil {
			return nil, fmt.Errorf("climate: %s: %w", time.Month(m+1), err)
		}
		meanC[m] = (months[m].TmaxC + months[m].TminC) / 2
		rangeK[m] = months[m].TmaxC - months[m].TminC
		ghi[m], wind[m] = months[m].GHIMJm2d, months[m].WindMS
		if dewC[m] = months[m].DewPointC; math.IsNaN(dewC[m]) {
			if dewC[m], err = air.DewPointC(months[m].RHShare * air.SaturationKPa(meanC[m])); err != nil {
				return nil, fmt.Errorf("climate: %s: dew point from relative humidity: %w", time.Month(m+1), err)
			}
		}
	}
	even := yearValues{}
	for m := range even {
		for d := range even[m] {
			even[m][d] = 1
		}
	}
	w.meanC = anchors(meanC, even, false, math.Inf(1))
	w.dewC = anchors(dewC, even, false, math.Inf(1))
	w.rangeK = anchors(rangeK, even, true, math.Inf(1))
	w.windMS = anchors(wind, even, true, math.Inf(1))
	w.clearness = anchors(ghi, outside, true, highestClearness)
	w.warn(months, outside)
	return w, nil
}

// missing reports whether a month was never filled in.
func (m Month) missing() bool {
	return m.TmaxC == 0 && m.TminC == 0 && m.RHShare == 0 && m.GHIMJm2d == 0 && m.WindMS == 0 && (m.DewPointC == 0 || math.IsNaN(m.DewPointC))
}

func (m Month) check(outsideMJm2 float64) error {
	if m.missing() {
		return fmt.Errorf("the month is missing; all twelve are needed")
	}
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"mean highest temperature", m.TmaxC, lowestC, highestC, "°C"},
		{"mean lowest temperature", m.TminC, lowestC, m.TmaxC, "°C"},
		{"wind", m.WindMS, 0, 60, "m/s"},
		{"radiation (kWh/m2 × 3.6 is MJ/m2; the upper limit is the sun above the air)", m.GHIMJm2d, 0, outsideMJm2 + twilightMJm2, "MJ/m2 a day"},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return err
		}
	}
	if math.IsNaN(m.DewPointC) {
		return quantity.InRange("relative humidity as a share (no dew point is given)", m.RHShare, 0.01, 1, "")
	}
	if !math.IsNaN(m.RHShare) {
		if err := quantity.InRange("relative humidity as a share", m.RHShare, 0, 1, ""); err != nil {
			return err
		}
	}
	return quantity.InRange("dew point", m.DewPointC, -90, m.TmaxC+0.5, "°C")
}

// yearValues has a value for each day of a common year.
type yearValues [12][31]float64

func yearOfRa(latitudeDeg float64) (yearValues, error) {
	var out yearValues
	dayOfYear := 0
	for m, days := range monthDays {
		for d := range days {
			dayOfYear++
			o, err := sun.Extraterrestrial(latitudeDeg, dayOfYear)
			if err != nil {
				return out, fmt.Errorf("climate: %w", err)
			}
			out[m][d] = o.RaMJm2
		}
	}
	return out, nil
}

func (y *yearValues) monthMean(m int) float64 {
	sum := 0.0
	for d := range monthDays[m] {
		sum += y[m][d]
	}
	return sum / float64(monthDays[m])
}

// at is the value of a day on the straight lines between anchors.
func at(a *[12]float64, month, dayOfMonth, monthLength int) float64 {
	x := (float64(dayOfMonth) - 0.5) / float64(monthLength)
	if x < 0.5 {
		return a[month]*(0.5+x) + a[(month+11)%12]*(0.5-x)
	}
	return a[month]*(1.5-x) + a[(month+1)%12]*(x-0.5)
}

// anchors fits mid-month values so that the mean over each month of value times
// weight is the wanted one. When multiplying, values stay from 0 to most. A
// month without weight (polar night) takes the mean of its neighbours.
func anchors(want [12]float64, weight yearValues, multiply bool, most float64) [12]float64 {
	var share [12][3]float64 // part of the anchors before, of and after the month in its mean
	var total [12]float64
	for m, days := range monthDays {
		for d := range days {
			x := (float64(d) + 0.5) / float64(days)
			k := weight[m][d] / float64(days)
			total[m] += k
			share[m][0] += k * max(0, 0.5-x)
			share[m][1] += k * (1 - math.Abs(0.5-x))
			share[m][2] += k * max(0, x-0.5)
		}
	}
	const weightless = 1e-6
	var a [12]float64
	for m := range a {
		if total[m] > weightless {
			a[m] = want[m] / total[m]
		}
		if multiply {
			a[m] = min(a[m], most)
		}
	}
	for range passes {
		before := a
		for m := range a {
			prev, next := before[(m+11)%12], before[(m+1)%12]
			if total[m] <= weightless {
				a[m] = (prev + next) / 2
				continue
			}
			got := share[m][0]*prev + share[m][1]*before[m] + share[m][2]*next
			switch {
			case !multiply:
				a[m] += (want[m] - got) / total[m]
			case got > 0:
				a[m] = min(most, a[m]*want[m]/got)
			}
		}
	}
	return a
}

// SetUTCOffset sets how many hours the standard clock (without daylight saving)
// is ahead of UTC, -13 to 14. Without it the clock is that of the nearest
// multiple of 15° of longitude.
func (w *Weather) SetUTCOffset(hours float64) error {
	if err := quantity.InRange("hours ahead of UTC", hours, -13, 14, "h"); err != nil {
		return fmt.Errorf("climate: %w", err)
	}
	w.utcOffsetH = hours
	return nil
}

// UTCOffsetH is how many hours the clock of Day's hours is ahead of UTC.
func (w *Weather) UTCOffsetH() float64 { return w.utcOffsetH }

// SetNightMinimum replaces the lowest temperature of the morning of a date by a
// forecast, -70 to 60 °C. The day's highest moves only as far as it must for the
// day's range to stay between half and twice the normal one. Set before the
// weather is shared between goroutines.
func (w *Weather) SetNightMinimum(date time.Time, tempC float64) error {
	if err := quantity.InRange("lowest temperature of the night", tempC, lowestC, highestC, "°C"); err != nil {
		return fmt.Errorf("climate: %s: %w", date.Format(time.DateOnly), err)
	}
	w.nights[keyOf(date)] = tempC
	return nil
}

func keyOf(date time.Time) dateKey {
	y, m, d := date.Date()
	return dateKey{y, m, d}
}

// Check returns what is odd about the normals, in sentences for people; none
// when all is well.
func (w *Weather) Check() []string { return append([]string(nil), w.warnings...) }

func (w *Weather) warn(months [12]Month, outside yearValues) {
	clear, err := sun.ClearSkyShare(w.elevationM)
	if err != nil {
		clear = 0.75
	}
	var wet, bright, steady []string
	for i, m := range months {
		name := time.Month(i + 1).String()
		if m.DewPointC > m.TminC+2 {
			wet = append(wet, name)
		}
		if ra := outside.monthMean(i); ra > 1 && m.GHIMJm2d > 1.05*clear*ra {
			bright = append(bright, name)
		}
		if m.TmaxC-m.TminC < 0.5 {
			steady = append(steady, name)
		}
	}
	for _, c := range []struct {
		months []string
		says   string
	}{
		{wet, "the dew point lies more than 2 K above the mean lowest temperature: fog, or a wrong unit"},
		{bright, "the radiation is above that of a clear sky: is it in another unit?"},
		{steady, "the days have almost no range of temperature: are they daily means?"},
	} {
		if len(c.months) > 0 {
			w.warnings = append(w.warnings, strings.Join(c.months, ", ")+": "+c.says+".")
		}
	}
}

// dayState is what a day's hours follow from.
type dayState struct {
	tmaxC, tminC float64
	riseH, setH  float64
	kind         sun.Daylight
}

func (w *Weather) state(key dateKey) (dayState, error) {
	length, m := monthLength(key.year, key.month), int(key.month)-1
	meanC, rangeK := at(&w.meanC, m, key.day, length), at(&w.rangeK, m, key.day, length)
	s := dayState{tmaxC: meanC + rangeK/2, tminC: meanC - rangeK/2}
	if typed, ok := w.nights[key]; ok {
		s.tminC = typed
		s.tmaxC = max(typed+narrowest*rangeK, min(typed+widest*rangeK, s.tmaxC))
	}
	return s, s.rise(key, w.latitudeDeg, w.longitudeDeg, w.utcOffsetH)
}

// rise fills in the sun's hours of a date.
func (s *dayState) rise(key dateKey, latitudeDeg, longitudeDeg, utcOffsetH float64) error {
	riseMin, setMin, kind, err := sun.RiseSetMinutes(key.year, key.month, key.day, latitudeDeg, longitudeDeg)
	if err != nil {
		return fmt.Errorf("climate: %w", err)
	}
	if s.kind = kind; kind == sun.RisesAndSets {
		s.riseH, s.setH = riseMin/60+utcOffsetH, setMin/60+utcOffsetH
	}
	return nil
}

// waves reports whether the day's sun gives its temperatures their course.
func (s *dayState) waves() bool {
	return s.kind == sun.RisesAndSets && s.setH-s.riseH >= leastDayH && s.setH-s.riseH <= 24-leastDayH
}

// Day fills out with the weather of date's calendar day, 1900 to 2100; only
// year, month and day of date are read. It allocates nothing on good input, and
// the same date gives the same day.
func (w *Weather) Day(date time.Time, out *Day) error {
	y, m, d := date.Date()
	noon := time.Date(y, m, d, 12, 0, 0, 0, time.UTC)
	before, err := w.state(keyOf(noon.AddDate(0, 0, -1)))
	if err != nil {
		return err
	}
	today, err := w.state(dateKey{y, m, d})
	if err != nil {
		return err
	}
	after, err := w.state(keyOf(noon.AddDate(0, 0, 1)))
	if err != nil {
		return err
	}
	length := monthLength(y, m)
	outside, err := sun.Extraterrestrial(w.latitudeDeg, noon.YearDay())
	if err != nil {
		return fmt.Errorf("climate: %w", err)
	}
	w.hours(before, today, after, dayAir{
		dayOfYear: noon.YearDay(), outside: outside,
		clearness: at(&w.clearness, int(m)-1, d, length),
		dewC:      at(&w.dewC, int(m)-1, d, length),
		windMS:    at(&w.windMS, int(m)-1, d, length),
	}, out)
	return nil
}

// dayAir is what a day's hours follow from besides its temperatures.
type dayAir struct {
	dayOfYear               int
	outside                 sun.Outer
	clearness, dewC, windMS float64
}

// hours fills out from the states of three days and the air of the middle one.
func (w *Weather) hours(before, today, after dayState, a dayAir, out *Day) {
	*out = Day{TmaxC: today.tmaxC, TminC: today.tminC}
	today.sun(out)
	curve := Curve{
		RiseH: today.riseH, SetH: today.setH, RiseBeforeH: before.riseH, SetBeforeH: before.setH, RiseAfterH: after.riseH,
		TmaxC: today.tmaxC, TminC: today.tminC, TmaxBeforeC: before.tmaxC, TminBeforeC: before.tminC, TminNext: after.tminC,
		Fractions: !before.waves() || !today.waves() || !after.waves(),
	}
	// The wave holds as long as the sun's day lies within the clock's. Where a
	// clock is so far from the sun that it does not, the wave is reckoned by the
	// sun and read at the shifted hour.
	shift := 0.0
	if !curve.Fractions && (today.setH > 25 || today.riseH < -curveMinLagH) {
		shift = math.Round((today.riseH+today.setH)/2 - 12)
		curve.shift(shift)
	}
	for h := range out.Hours {
		hour := float64(h) + 0.5
		if shift != 0 {
			hour = math.Mod(hour-shift+48, 24)
		}
		out.Hours[h].TempC = curve.TempC(hour)
	}
	w.light(a, out)
	for h := range out.Hours {
		hour := &out.Hours[h]
		hour.DewPointC, hour.WindMS = min(a.dewC, hour.TempC), a.windMS
		hour.RHShare = humidity(hour.TempC, hour.DewPointC)
	}
}

// humidity is the relative humidity of a temperature and a dew point.
func humidity(tempC, dewPointC float64) float64 {
	if dewPointC >= tempC {
		return 1
	}
	return min(1, air.SaturationKPa(dewPointC)/air.SaturationKPa(tempC))
}

// sun fills in sunrise, sunset and the day's length.
func (s *dayState) sun(out *Day) {
	out.SunriseH, out.SunsetH, out.DayLengthH = s.riseH, s.setH, s.setH-s.riseH
	out.PolarNight, out.PolarDay = s.kind == sun.PolarNight, s.kind == sun.PolarDay
	if out.PolarDay {
		out.DayLengthH, out.SunsetH = 24, 24
	}
}

func monthLength(year int, month time.Month) int {
	if month == time.February && year%4 == 0 && (year%100 != 0 || year%400 == 0) {
		return 29
	}
	return monthDays[month-1]
}

// shift moves all hours of the sun back.
func (c *Curve) shift(hours float64) {
	c.RiseH -= hours
	c.SetH -= hours
	c.RiseBeforeH -= hours
	c.SetBeforeH -= hours
	c.RiseAfterH -= hours
}

// light fills in the radiation of a day.
func (w *Weather) light(a dayAir, out *Day) {
	o := &a.outside
	out.GHIMJm2 = a.clearness * o.RaMJm2
	if out.GHIMJm2 <= 0 || out.PolarNight {
		out.GHIMJm2 = 0
		return
	}
	var shares, angles [24]float64
	sum, brightest := 0.0, 0
	for h := range shares {
		angles[h] = sun.HourAngleRad(float64(h)+0.5, w.longitudeDeg, 15*w.utcOffsetH, a.dayOfYear)
		shares[h] = o.HourShare(angles[h])
		sum += shares[h]
		if math.Abs(angles[h]) < math.Abs(angles[brightest]) {
			brightest = h
		}
	}
	if sum <= 0 { // so short a day that no hour's middle has sun
		shares[brightest], sum = 1, 1
	}
	for h := range shares {
		if shares[h] == 0 {
			continue
		}
		mj := shares[h] / sum * out.GHIMJm2
		share := 1.0
		if outer := o.HourMJm2(angles[h]); outer > 0 {
			share = sun.DiffuseShareHour(mj / outer)
		}
		out.Hours[h].GHIWm2 = mj * solarWm2PerMJm2Hour
		out.Hours[h].DiffuseWm2 = share * mj * solarWm2PerMJm2Hour
	}
}
