package sun

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// SolarConstantMJm2Min is the radiation above the air at the mean distance, as
// the formulas of this package were made for it: 1367 W/m².
const SolarConstantMJm2Min = 0.0820

// Outer is the sun above the air on a day: what every daily sum starts from.
type Outer struct {
	LatitudeDeg     float64
	InverseDistance float64 // relative, of the radiation: about 0.967 to 1.033
	DeclinationRad  float64
	SunsetRad       float64 // hour angle of sunset, 0 (polar night) to π (polar day)
	RaMJm2          float64 // extraterrestrial radiation of the day on the level
	DayLengthH      float64 // geometric, without refraction
}

// Extraterrestrial returns the sun above the air at a latitude (-90 to 90°) on
// day 1 to 366 of the year. It allocates nothing on good input.
//
// Source: [fao-56] equations 21 to 25 and 34.
// Check: 20° S on day 246: 32.2 MJ/m², 11.7 h (examples 8 and 9).
func Extraterrestrial(latitudeDeg float64, dayOfYear int) (Outer, error) {
	if err := checkDay(latitudeDeg, dayOfYear); err != nil {
		return Outer{}, fmt.Errorf("extraterrestrial radiation: %w", err)
	}
	j := float64(dayOfYear)
	return outer(latitudeDeg, j, 0.409*math.Sin(2*math.Pi*j/365-1.39)), nil
}

// ExtraterrestrialCooper is Extraterrestrial with the declination of Cooper as
// in [duffie-beckman], on which their worked examples rest; up to 1 % apart.
// Check: 43° N on 15 April: 33.8 MJ/m² (example 1.10.1).
func ExtraterrestrialCooper(latitudeDeg float64, dayOfYear int) (Outer, error) {
	if err := checkDay(latitudeDeg, dayOfYear); err != nil {
		return Outer{}, fmt.Errorf("extraterrestrial radiation: %w", err)
	}
	j := float64(dayOfYear)
	return outer(latitudeDeg, j, 23.45*degree*math.Sin(2*math.Pi*(284+j)/365)), nil
}

func checkDay(latitudeDeg float64, dayOfYear int) error {
	if err := quantity.InRange("latitude", latitudeDeg, -90, 90, "°"); err != nil {
		return err
	}
	return quantity.InRange("day of the year", float64(dayOfYear), 1, 366, "")
}

func outer(latitudeDeg, j, decRad float64) Outer {
	o := Outer{LatitudeDeg: latitudeDeg, InverseDistance: 1 + 0.033*math.Cos(2*math.Pi*j/365), DeclinationRad: decRad}
	o.SunsetRad = math.Acos(max(-1, min(1, -math.Tan(latitudeDeg*degree)*math.Tan(decRad))))
	o.RaMJm2 = o.between(-o.SunsetRad, o.SunsetRad)
	o.DayLengthH = 24 / math.Pi * o.SunsetRad
	return o
}

// between is the radiation above the air between two hour angles, MJ/m².
func (o Outer) between(fromRad, toRad float64) float64 {
	fromRad, toRad = max(fromRad, -o.SunsetRad), min(toRad, o.SunsetRad)
	if toRad <= fromRad {
		return 0
	}
	sinLat, cosLat := math.Sincos(o.LatitudeDeg * degree)
	sinDec, cosDec := math.Sincos(o.DeclinationRad)
	v := 720 / math.Pi * SolarConstantMJm2Min * o.InverseDistance *
		((toRad-fromRad)*sinLat*sinDec + cosLat*cosDec*(math.Sin(toRad)-math.Sin(fromRad)))
	return max(v, 0)
}

// HourMJm2 is the extraterrestrial radiation of the hour whose middle lies at
// an hour angle (0 at solar noon, -π to π), cut off at sunrise and sunset.
//
// Source: [fao-56] equations 28 to 30.
func (o Outer) HourMJm2(midRad float64) float64 {
	return o.between(midRad-math.Pi/24, midRad+math.Pi/24)
}

// SeasonalCorrectionH is the equation of time in hours, [fao-56] equations 32
// and 33; dayOfYear from 1 to 366. Check: day 274 gives 0.1889.
func SeasonalCorrectionH(dayOfYear int) float64 {
	b := 2 * math.Pi * float64(dayOfYear-81) / 364
	return 0.1645*math.Sin(2*b) - 0.1255*math.Cos(b) - 0.025*math.Sin(b)
}

// HourAngleRad is the sun's hour angle at a standard clock hour (12.5 is half
// past noon), from -π to π. zoneDeg is the meridian of the clock, 15° for each
// hour ahead of UTC.
//
// Source: [fao-56] equation 31, longitudes east positive.
func HourAngleRad(clockH, longitudeDeg, zoneDeg float64, dayOfYear int) float64 {
	w := math.Pi / 12 * (clockH + (longitudeDeg-zoneDeg)/15 + SeasonalCorrectionH(dayOfYear) - 12)
	return math.Remainder(w, 2*math.Pi)
}

// ClearSkyShare is the share of extraterrestrial radiation that reaches the
// ground under a clear sky at an elevation of -500 to 6000 m.
//
// Source: [fao-56] equation 37.
func ClearSkyShare(elevationM float64) (float64, error) {
	if err := quantity.InRange("elevation", elevationM, -500, 6000, "m"); err != nil {
		return 0, fmt.Errorf("clear sky: %w", err)
	}
	return 0.75 + 2e-5*elevationM, nil
}

// FromSunHours returns the global radiation in MJ/m² of a day with that many
// hours of bright sunshine, 0 to the day's length.
//
// Source: [fao-56] equation 35 with 0.25 and 0.50.
// Check: Rio de Janeiro, May, 7.1 h: 14.5 (example 10).
func FromSunHours(o Outer, sunHours float64) (float64, error) {
	if err := quantity.InRange("hours of sunshine", sunHours, 0, o.DayLengthH, "h"); err != nil {
		return 0, fmt.Errorf("radiation from sunshine: %w", err)
	}
	if o.DayLengthH == 0 {
		return 0, nil
	}
	return (0.25 + 0.50*sunHours/o.DayLengthH) * o.RaMJm2, nil
}

// Hargreaves estimates the global radiation in MJ/m² of a day from its
// temperatures, never above the clear sky's; factor is 0.16 inland and 0.19 at
// the coast (0.1 to 0.3 taken). A month may be 30 % off: measured radiation is
// always better.
//
// Source: [fao-56] equation 50.
// Check: Lyon, July, 26.6 and 14.8 °C: 22.3 (example 15).
func Hargreaves(o Outer, tmaxC, tminC, factor, elevationM float64) (float64, error) {
	clear, err := ClearSkyShare(elevationM)
	if err == nil {
		err = quantity.InRange("temperature range of the day", tmaxC-tminC, 0, 60, "K")
	}
	if err == nil {
		err = quantity.InRange("coefficient", factor, 0.1, 0.3, "")
	}
	if err != nil {
		return 0, fmt.Errorf("radiation from temperatures: %w", err)
	}
	return min(factor*math.Sqrt(tmaxC-tminC), clear) * o.RaMJm2, nil
}

// HourShare is the share of a day's global radiation that falls in the hour
// whose middle lies at an hour angle. The shares of a day's 24 hours sum to
// 0.98 to 1.02; who needs the day's sum must divide by it.
//
// Source: [collares-pereira-1979]; the sign of 0.4767 is minus: with plus the
// day does not sum to 1.
// Check: 43° N, 23 August, 13 to 14 h: 0.1177 ([duffie-beckman] 2.13.2).
func (o Outer) HourShare(midRad float64) float64 {
	sin60 := math.Sin(o.SunsetRad - math.Pi/3)
	a, b := 0.409+0.5016*sin60, 0.6609-0.4767*sin60
	return max(0, a+b*math.Cos(midRad)) * o.HourShareDiffuse(midRad)
}

// HourShareDiffuse is the same share of a day's diffuse radiation.
//
// Source: Liu and Jordan 1960, in [duffie-beckman].
func (o Outer) HourShareDiffuse(midRad float64) float64 {
	ws := o.SunsetRad
	size := math.Sin(ws) - ws*math.Cos(ws)
	if math.Abs(midRad) >= ws || size < 1e-12 {
		return 0
	}
	return math.Pi / 24 * (math.Cos(midRad) - math.Cos(ws)) / size
}

// DiffuseShareHour is the diffuse share of an hour's global radiation by its
// clearness (global over extraterrestrial); below 0 it counts as 0, above 1 as 1.
//
// Source: [erbs-1982]. Check: clearness 0.5 gives 0.6591.
func DiffuseShareHour(clearness float64) float64 {
	k := max(0, min(1, clearness))
	switch {
	case k <= 0.22:
		return 1 - 0.09*k
	case k <= 0.80:
		return 0.9511 + k*(-0.1604+k*(4.388+k*(-16.638+k*12.336)))
	}
	return 0.165
}

// seasonSplitRad parts winter from the other seasons by the sunset hour angle.
const seasonSplitRad = 81.4 * degree

// DiffuseShareDay is the diffuse share of a day's global radiation by its
// clearness and the hour angle of sunset.
//
// Source: [erbs-1982], as [duffie-beckman] equation 2.11.1.
func DiffuseShareDay(clearness, sunsetRad float64) float64 {
	k := max(0, min(1, clearness))
	switch {
	case sunsetRad <= seasonSplitRad && k < 0.715:
		return 1 + k*(-0.2727+k*(2.4495+k*(-11.9514+k*9.3879)))
	case sunsetRad <= seasonSplitRad:
		return 0.143
	case k < 0.722:
		return 1 + k*(0.2832+k*(-2.5557+k*0.8448))
	}
	return 0.175
}

// DiffuseShareMonth is the diffuse share of a month's mean day; clearness 0.3
// to 0.8, beyond it the value at the nearer end.
//
// Source: [erbs-1982], as [duffie-beckman] equation 2.12.1.
func DiffuseShareMonth(clearness, sunsetRad float64) float64 {
	k := max(0.3, min(0.8, clearness))
	if sunsetRad <= seasonSplitRad {
		return 1.391 + k*(-3.560+k*(4.189-k*2.137))
	}
	return 1.311 + k*(-3.022+k*(3.427-k*1.821))
}
