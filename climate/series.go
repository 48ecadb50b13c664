package climate

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"tidebed/quantity"
	"tidebed/science/sun"
)

const hoursPerDay = 24

// Series is hour-by-hour weather of whole years at one spot, measured, typical
// or made up. Nothing changes it once it is there (Generator.Fill aside): Day
// may be called from many goroutines.
//
// A date outside the years of the series takes the same day of the year that
// its own falls on when the years are repeated for ever; 29 February of a year
// that has none takes the 28th. Day's sunrise and sunset are those of the
// series' own date, at most two minutes from those of the date asked for, so
// that light and sun belong together.
type Series struct {
	name, source                          string
	latitudeDeg, longitudeDeg, elevationM float64
	utcOffsetH                            float64
	typical                               bool
	start                                 dateKey
	years                                 int
	tmaxC, tminC                          []float64 // a day
	hours                                 []Hour    // 24 a day
	pressureKPa                           []float64 // 24 a day; nil when not known
	wet                                   []bool    // a day; nil when not known
}

// Name is the name of the place, as far as it is known.
func (s *Series) Name() string { return s.name }

// Source says where the hours come from.
func (s *Series) Source() string { return s.source }

// Spot is where the hours are from: degrees north and east, metres.
func (s *Series) Spot() (latitudeDeg, longitudeDeg, elevationM float64) {
	return s.latitudeDeg, s.longitudeDeg, s.elevationM
}

// UTCOffsetH is how many hours the clock of Day's hours is ahead of UTC.
func (s *Series) UTCOffsetH() float64 { return s.utcOffsetH }

// Start is the first day of the series, as midnight UTC of that date. Of a
// typical or made-up year only month and day mean anything.
func (s *Series) Start() time.Time { return s.start.midnight() }

// Years is how many whole years the series holds.
func (s *Series) Years() int { return s.years }

// Typical reports whether the year is put together of months of several years,
// or made up: its dates are then no dates of history.
func (s *Series) Typical() bool { return s.typical }

// DistanceKm is the way from the series' place to another spot, on a round
// earth; NaN for a spot off the globe. Beyond 50 km, or 100 m higher or lower,
// the hours are those of another place: common practice, no source.
func (s *Series) DistanceKm(latitudeDeg, longitudeDeg float64) float64 {
	const earthKm, degree = 6371.0, math.Pi / 180
	if !(math.Abs(latitudeDeg) <= 90 && math.Abs(longitudeDeg) <= 180) {
		return nan
	}
	north := math.Sin((latitudeDeg - s.latitudeDeg) * degree / 2)
	east := math.Sin((longitudeDeg - s.longitudeDeg) * degree / 2)
	a := north*north + math.Cos(latitudeDeg*degree)*math.Cos(s.latitudeDeg*degree)*east*east
	return 2 * earthKm * math.Asin(math.Sqrt(min(1, a)))
}

func (k dateKey) midnight() time.Time { return time.Date(k.year, k.month, k.day, 0, 0, 0, 0, time.UTC) }

// dayNumber counts days from 1 January 1970.
func (k dateKey) dayNumber() int { return int(k.midnight().Unix() / 86400) }

// later is the same date so many years on; 29 February turns into 1 March.
func (k dateKey) later(years int) dateKey { return keyOf(k.midnight().AddDate(years, 0, 0)) }

func leapDay(month time.Month, day int) bool { return month == time.February && day == 29 }

// own is the date of the series that stands for a date.
func (s *Series) own(date dateKey) dateKey {
	year := s.start.year + ((date.year-s.start.year)%s.years+s.years)%s.years
	if date.month < s.start.month || date.month == s.start.month && date.day < s.start.day {
		if year == s.start.year {
			year += s.years
		}
	}
	if leapDay(date.month, date.day) && monthLength(year, time.February) == 28 {
		date.day = 28
	}
	return dateKey{year, date.month, date.day}
}

// find is the series' own date for a date and its index.
func (s *Series) find(date time.Time) (dateKey, int, error) {
	key := keyOf(date)
	if err := quantity.InRange("year", float64(key.year), 1900, 2100, ""); err != nil {
		return key, 0, fmt.Errorf("climate: %w", err)
	}
	if s.years == 0 || len(s.hours) == 0 {
		return key, 0, fmt.Errorf("climate: the weather series is empty; read a file or make a year first")
	}
	key = s.own(key)
	return key, key.dayNumber() - s.start.dayNumber(), nil
}

// Day fills out with the weather of date's calendar day, years 1900 to 2100.
// TmaxC and TminC are the highest and lowest of the day's hours in a file, and
// those the hours were drawn from in a made-up year. What was measured in polar
// night, twilight, is left as it is.
func (s *Series) Day(date time.Time, out *Day) error {
	key, i, err := s.find(date)
	if err != nil {
		return err
	}
	var state dayState
	if err := state.rise(key, s.latitudeDeg, s.longitudeDeg, s.utcOffsetH); err != nil {
		return err
	}
	*out = Day{TmaxC: s.tmaxC[i], TminC: s.tminC[i]}
	state.sun(out)
	copy(out.Hours[:], s.hours[i*hoursPerDay:])
	for h := range out.Hours {
		out.GHIMJm2 += out.Hours[h].GHIWm2 / solarWm2PerMJm2Hour
	}
	return nil
}

// PressureKPa is the air pressure of an hour (0 to 23) of a date, as measured;
// not known where the file has none. Take air.PressureKPa of the elevation then.
func (s *Series) PressureKPa(date time.Time, hour int) (kPa float64, known bool) {
	_, i, err := s.find(date)
	if err != nil || s.pressureKPa == nil || hour < 0 || hour >= hoursPerDay {
		return 0, false
	}
	return s.pressureKPa[i*hoursPerDay+hour], true
}

// Wet reports whether it rains on a date; only made-up years know.
func (s *Series) Wet(date time.Time) (wet, known bool) {
	_, i, err := s.find(date)
	if err != nil || s.wet == nil {
		return false, false
	}
	return s.wet[i], true
}

// extremes works out the highest and lowest of each day from its hours.
func (s *Series) extremes() {
	days := len(s.hours) / hoursPerDay
	s.tmaxC, s.tminC = make([]float64, days), make([]float64, days)
	for i := range days {
		high, low := math.Inf(-1), math.Inf(1)
		for _, h := range s.hours[i*hoursPerDay : (i+1)*hoursPerDay] {
			high, low = max(high, h.TempC), min(low, h.TempC)
		}
		s.tmaxC[i], s.tminC[i] = high, low
	}
}

// outside fills in the sun above the air in each hour, W/m², and each day's sum
// in MJ/m².
func (s *Series) outside() (hoursWm2, daysMJm2 []float64, err error) {
	first := s.start.midnight()
	days := len(s.hours) / hoursPerDay
	hoursWm2, daysMJm2 = make([]float64, len(s.hours)), make([]float64, days)
	for i := range days {
		dayOfYear := first.AddDate(0, 0, i).YearDay()
		o, err := sun.Extraterrestrial(s.latitudeDeg, dayOfYear)
		if err != nil {
			return nil, nil, err
		}
		daysMJm2[i] = o.RaMJm2
		for h := range hoursPerDay {
			angle := sun.HourAngleRad(float64(h)+0.5, s.longitudeDeg, 15*s.utcOffsetH, dayOfYear)
			hoursWm2[i*hoursPerDay+h] = o.HourMJm2(angle) * solarWm2PerMJm2Hour
		}
	}
	return hoursWm2, daysMJm2, nil
}

// WriteCSV writes the series in the project's own form, which ReadFile reads
// back to the same hours: lines "# key: value" about the place, a line of
// column names, a line an hour with the hour's beginning on the standard clock.
// A made-up year keeps its hours but neither its wet days nor the highest and
// lowest they were drawn from.
func (s *Series) WriteCSV(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "# place: %s\n# latitude_deg: %s\n# longitude_deg: %s\n# elevation_m: %s\n# utc_offset_h: %s\n",
		oneLine(s.name), exact(s.latitudeDeg), exact(s.longitudeDeg), exact(s.elevationM), exact(s.utcOffsetH))
	if s.typical {
		fmt.Fprint(out, "# typical: yes\n")
	}
	fmt.Fprintf(out, "# source: %s\n", oneLine(s.source))
	fmt.Fprint(out, "time,temp_c,dew_point_c,global_w_m2,diffuse_w_m2,wind_m_s")
	if s.pressureKPa != nil {
		fmt.Fprint(out, ",pressure_kpa")
	}
	fmt.Fprintln(out)
	day, line := s.start.midnight(), make([]byte, 0, 128)
	for i, h := range s.hours {
		line = day.Add(time.Duration(i)*time.Hour).AppendFormat(line[:0], ownTime)
		for _, v := range [...]float64{h.TempC, h.DewPointC, h.GHIWm2, h.DiffuseWm2, h.WindMS} {
			line = strconv.AppendFloat(append(line, ','), v, 'g', -1, 64)
		}
		if s.pressureKPa != nil {
			line = strconv.AppendFloat(append(line, ','), s.pressureKPa[i], 'g', -1, 64)
		}
		if _, err := out.Write(append(line, '\n')); err != nil {
			return fmt.Errorf("climate: write weather: %w", err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("climate: write weather: %w", err)
	}
	return nil
}

func exact(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
