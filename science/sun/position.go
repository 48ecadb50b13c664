package sun

import (
	"fmt"
	"math"
	"time"

	"tidebed/quantity"
)

const (
	degree = math.Pi / 180
	// RiseZenithDeg is the zenith of the sun's centre when its upper edge
	// touches the horizon: 34' of refraction and 16' of radius.
	RiseZenithDeg = 90.833
	// RefractionFromDeg is the elevation above which refraction is reckoned.
	RefractionFromDeg = -0.83
)

// Position is where the sun's centre stands, seen from a place.
type Position struct {
	ZenithDeg         float64 // true, without the air's refraction
	ApparentZenithDeg float64 // with refraction; the true one below RefractionFromDeg
	AzimuthDeg        float64 // from north clockwise, 0 to 360
	DeclinationDeg    float64
	EquationOfTimeMin float64 // sundial time less mean time
	DistanceAU        float64 // of the earth from the sun
}

// At returns the sun's position at a time, 1900 to 2100.
//
//	latitudeDeg   -90 to 90, north positive
//	longitudeDeg  -180 to 180, east positive
//	pressureKPa   of the air at the place, 0 to 110; 0 leaves refraction out
//	tempC         of the air, -90 to 60
//
// Anything outside is an error wrapping quantity.ErrRange.
//
// Source: [meeus-1998] in its short form, refraction [reda-2004]; within 0.016°
// of the full algorithm from 2000 to 2099.
// Check: 2003-10-17 19:30:30 UTC at 39.7425, -105.1786: apparent zenith 50.112°,
// azimuth 194.340° ([reda-2004], example).
func At(t time.Time, latitudeDeg, longitudeDeg, pressureKPa, tempC float64) (Position, error) {
	utc := t.UTC()
	err := checkPlace(latitudeDeg, longitudeDeg)
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"year", float64(utc.Year()), 1900, 2100, ""},
		{"air pressure", pressureKPa, 0, 110, "kPa"},
		{"air temperature", tempC, -90, 60, "°C"},
	} {
		if err == nil {
			err = quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit)
		}
	}
	if err != nil {
		return Position{}, fmt.Errorf("sun position: %w", err)
	}
	midnight := time.Date(utc.Year(), utc.Month(), utc.Day(), 0, 0, 0, 0, time.UTC)
	minutes := utc.Sub(midnight).Minutes()
	o := orbitAt(julianDay(utc.Year(), utc.Month(), utc.Day()) + minutes/1440)
	trueSolarMin := math.Mod(minutes+o.eotMin+4*longitudeDeg+2*1440, 1440)
	hourRad := (trueSolarMin/4 - 180) * degree
	sinLat, cosLat := math.Sincos(latitudeDeg * degree)
	sinDec, cosDec := math.Sincos(o.decRad)
	sinH, cosH := math.Sincos(hourRad)
	p := Position{
		ZenithDeg:         acosDeg(sinLat*sinDec + cosLat*cosDec*cosH),
		AzimuthDeg:        math.Mod(math.Atan2(sinH, cosH*sinLat-sinDec/cosDec*cosLat)/degree+180+360, 360),
		DeclinationDeg:    o.decRad / degree,
		EquationOfTimeMin: o.eotMin,
		DistanceAU:        o.distanceAU,
	}
	p.ApparentZenithDeg = p.ZenithDeg - refractionDeg(90-p.ZenithDeg, pressureKPa, tempC)
	return p, nil
}

func checkPlace(latitudeDeg, longitudeDeg float64) error {
	if err := quantity.InRange("latitude", latitudeDeg, -90, 90, "°"); err != nil {
		return err
	}
	return quantity.InRange("longitude", longitudeDeg, -180, 180, "°")
}

func acosDeg(c float64) float64 { return math.Acos(max(-1, min(1, c))) / degree }

// refractionDeg is how much the air lifts the sun at a true elevation.
func refractionDeg(elevationDeg, pressureKPa, tempC float64) float64 {
	if elevationDeg <= RefractionFromDeg {
		return 0
	}
	return pressureKPa / 101 * 283 / (273 + tempC) * 1.02 / (60 * math.Tan((elevationDeg+10.3/(elevationDeg+5.11))*degree))
}

// julianDay is the Julian day at 0 h UTC of a date of the Gregorian calendar.
func julianDay(year int, month time.Month, day int) float64 {
	const unixEpoch = 2440587.5
	return unixEpoch + float64(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix())/86400
}

// orbit is what the sun's place in the sky follows from.
type orbit struct{ decRad, eotMin, distanceAU float64 }

func orbitAt(julianDays float64) orbit {
	t := (julianDays - 2451545) / 36525
	meanLong := math.Mod(280.46646+t*(36000.76983+0.0003032*t), 360) * degree
	anomaly := (357.52911 + t*(35999.05029-0.0001537*t)) * degree
	ecc := 0.016708634 - t*(0.000042037+0.0000001267*t)
	sinM := math.Sin(anomaly)
	centreDeg := sinM*(1.914602-t*(0.004817+0.000014*t)) +
		math.Sin(2*anomaly)*(0.019993-0.000101*t) + math.Sin(3*anomaly)*0.000289
	node := (125.04 - 1934.136*t) * degree
	apparentLong := meanLong + (centreDeg-0.00569-0.00478*math.Sin(node))*degree
	obliquity := (23 + (26+(21.448-t*(46.815+t*(0.00059-0.001813*t)))/60)/60 + 0.00256*math.Cos(node)) * degree
	y := math.Tan(obliquity/2) * math.Tan(obliquity/2)
	sin2L, cos2L := math.Sincos(2 * meanLong)
	eotRad := y*sin2L - 2*ecc*sinM + 4*ecc*y*sinM*cos2L - 0.5*y*y*math.Sin(4*meanLong) - 1.25*ecc*ecc*math.Sin(2*anomaly)
	return orbit{
		decRad:     math.Asin(math.Sin(obliquity) * math.Sin(apparentLong)),
		eotMin:     4 * eotRad / degree,
		distanceAU: 1.000001018 * (1 - ecc*ecc) / (1 + ecc*math.Cos(anomaly+centreDeg*degree)),
	}
}

// Daylight says whether a day has a sunrise and a sunset.
type Daylight int

// The kinds of days.
const (
	RisesAndSets Daylight = iota
	PolarNight            // the sun stays below the horizon
	PolarDay              // the sun does not set
)

// RiseSetMinutes returns sunrise and sunset of a calendar day as minutes after
// 0 h UTC of that date; far from Greenwich they run below 0 or beyond 1440. In
// polar night and day both are zero and only the kind of day tells. Refused:
// places off the globe, years outside 1900 to 2100. It allocates nothing on
// good input.
//
// Source: [meeus-1998], zenith RiseZenithDeg, repeated at the event.
// Check: 2025-12-21 at 59.91, 10.75: 08:18:12 and 14:12:09 UTC.
func RiseSetMinutes(year int, month time.Month, day int, latitudeDeg, longitudeDeg float64) (riseMin, setMin float64, kind Daylight, err error) {
	if err = checkPlace(latitudeDeg, longitudeDeg); err == nil {
		err = quantity.InRange("year", float64(year), 1900, 2100, "")
	}
	if err != nil {
		return 0, 0, 0, fmt.Errorf("sunrise: %w", err)
	}
	midnight := julianDay(year, month, day)
	if riseMin, kind = eventMinutes(midnight, latitudeDeg, longitudeDeg, 1); kind == RisesAndSets {
		setMin, kind = eventMinutes(midnight, latitudeDeg, longitudeDeg, -1)
	}
	if kind != RisesAndSets {
		return 0, 0, kind, nil
	}
	return riseMin, setMin, RisesAndSets, nil
}

// eventMinutes is the sunrise (side 1) or sunset (side -1) of a day.
func eventMinutes(midnight, latitudeDeg, longitudeDeg, side float64) (float64, Daylight) {
	sinLat, cosLat := math.Sincos(latitudeDeg * degree)
	cosLat = max(cosLat, 1e-12) // at the poles
	minutes := 720 - 4*longitudeDeg
	for range 4 {
		o := orbitAt(midnight + minutes/1440)
		sinDec, cosDec := math.Sincos(o.decRad)
		cosH := (math.Cos(RiseZenithDeg*degree) - sinLat*sinDec) / (cosLat * cosDec)
		switch {
		case cosH > 1:
			return 0, PolarNight
		case cosH < -1:
			return 0, PolarDay
		}
		minutes = 720 - 4*(longitudeDeg+side*acosDeg(cosH)) - o.eotMin
	}
	return minutes, RisesAndSets
}

// RiseSet returns the times of sunrise and sunset of t's calendar date, in t's
// location. In polar night and day the times are zero. Errors as RiseSetMinutes.
func RiseSet(t time.Time, latitudeDeg, longitudeDeg float64) (rise, set time.Time, kind Daylight, err error) {
	year, month, day := t.Date()
	riseMin, setMin, kind, err := RiseSetMinutes(year, month, day, latitudeDeg, longitudeDeg)
	if err != nil || kind != RisesAndSets {
		return time.Time{}, time.Time{}, kind, err
	}
	midnight := time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	at := func(minutes float64) time.Time {
		return midnight.Add(time.Duration(minutes * float64(time.Minute))).In(t.Location())
	}
	return at(riseMin), at(setMin), RisesAndSets, nil
}
