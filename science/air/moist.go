package air

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// Limits within which moist air is reckoned.
const (
	LowestTempC    = -70.0
	HighestTempC   = 100.0
	LowestKPa      = 50.0
	HighestKPa     = 110.0
	StandardKPa    = 101.325
	vapourRatio    = 0.621945 // mass of water over mass of dry air, a molecule each
	triplePointC   = 0.01
	dryAirKJ       = 1.006 // kJ/kg K
	vapourKJ       = 1.86
	vaporisationKJ = 2501.0
)

// SaturationKPa is the vapour pressure of saturated air in kPa, over ice below
// 0.01 °C and over water above, for inner loops: it checks nothing and holds
// for -100 to 200 °C. Pages and files go through SaturationPressure.
//
// Source: [hyland-wexler-1983] as in [ashrae-fundamentals].
// Check: 25 °C: 3.1692 kPa.
func SaturationKPa(tempC float64) float64 {
	t := tempC + 273.15
	if tempC < triplePointC {
		return math.Exp(-5.6745359e3/t+6.3925247-9.677843e-3*t+6.2215701e-7*t*t+
			2.0747825e-9*t*t*t-9.484024e-13*t*t*t*t+4.1635019*math.Log(t)) / 1000
	}
	return math.Exp(-5.8002206e3/t+1.3914993-4.8640239e-2*t+4.1764768e-5*t*t-
		1.4452093e-8*t*t*t+6.5459673*math.Log(t)) / 1000
}

// SaturationPressure is SaturationKPa for -70 to 100 °C; outside it returns an
// error wrapping quantity.ErrRange.
func SaturationPressure(tempC float64) (float64, error) {
	if err := quantity.InRange("air temperature", tempC, LowestTempC, HighestTempC, "°C"); err != nil {
		return 0, fmt.Errorf("saturation pressure: %w", err)
	}
	return SaturationKPa(tempC), nil
}

// DewPointC is the temperature at which air of a vapour pressure is saturated
// (over ice below 0.01 °C), in °C. The vapour pressure must lie between the
// saturation pressures of -100 and 100 °C.
func DewPointC(vapourKPa float64) (float64, error) {
	const lowC = -100.0
	if err := quantity.InRange("vapour pressure", vapourKPa, SaturationKPa(lowC), SaturationKPa(HighestTempC), "kPa"); err != nil {
		return 0, fmt.Errorf("dew point: %w", err)
	}
	return bisect(lowC, HighestTempC, func(t float64) bool { return SaturationKPa(t) < vapourKPa }), nil
}

// bisect returns where a rising condition turns from true to false.
func bisect(lo, hi float64, below func(float64) bool) float64 {
	for range 60 {
		mid := (lo + hi) / 2
		if below(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// PressureKPa is the standard pressure of air at an elevation of -500 to 6000 m.
//
// Source: [ashrae-fundamentals].
func PressureKPa(elevationM float64) (float64, error) {
	if err := quantity.InRange("elevation", elevationM, -500, 6000, "m"); err != nil {
		return 0, fmt.Errorf("air pressure: %w", err)
	}
	return StandardKPa * math.Pow(1-2.25577e-5*elevationM, 5.25588), nil
}

// Moist is air with water vapour in it. Ratios are for a kg of dry air.
type Moist struct {
	TempC              float64
	PressureKPa        float64
	RHShare            float64
	VapourKPa          float64
	HumidityRatio      float64 // kg water per kg dry air
	DewPointC          float64 // NaN in wholly dry air, which has none; frost point below 0 °C
	WetBulbC           float64
	EnthalpyKJkg       float64
	SpecificVolumeM3kg float64
}

func checkAir(tempC, pressureKPa float64) error {
	if err := quantity.InRange("air temperature", tempC, LowestTempC, HighestTempC, "°C"); err != nil {
		return err
	}
	if err := quantity.InRange("air pressure", pressureKPa, LowestKPa, HighestKPa, "kPa"); err != nil {
		return err
	}
	return quantity.InRange("saturation pressure of the air's temperature", SaturationKPa(tempC), 0, 0.9*pressureKPa, "kPa")
}

// FromRH returns the air of a temperature, relative humidity (0 to 1) and
// pressure. Outside the package's limits, or so hot that it could be steam, it
// returns an error wrapping quantity.ErrRange.
//
// Source: [ashrae-fundamentals]. Check: 25 °C, 50 %, 101.325 kPa: humidity
// ratio 0.009881, dew point 13.864, wet bulb 17.889, 50.322 kJ/kg.
func FromRH(tempC, rhShare, pressureKPa float64) (Moist, error) {
	err := checkAir(tempC, pressureKPa)
	if err == nil {
		err = quantity.InRange("relative humidity as a share", rhShare, 0, 1, "")
	}
	if err != nil {
		return Moist{}, fmt.Errorf("moist air: %w", err)
	}
	return moist(tempC, rhShare*SaturationKPa(tempC), pressureKPa), nil
}

// FromDewPoint returns the air of a temperature, dew point (-100 °C up to the
// temperature) and pressure; errors as FromRH.
func FromDewPoint(tempC, dewPointC, pressureKPa float64) (Moist, error) {
	err := checkAir(tempC, pressureKPa)
	if err == nil {
		err = quantity.InRange("dew point", dewPointC, -100, tempC, "°C")
	}
	if err != nil {
		return Moist{}, fmt.Errorf("moist air: %w", err)
	}
	return moist(tempC, SaturationKPa(dewPointC), pressureKPa), nil
}

// FromWetBulb returns the air of a temperature, wet-bulb temperature and
// pressure; errors as FromRH, and for a wet bulb lower than that of wholly dry
// air.
func FromWetBulb(tempC, wetBulbC, pressureKPa float64) (Moist, error) {
	err := checkAir(tempC, pressureKPa)
	if err == nil {
		err = quantity.InRange("wet bulb", wetBulbC, wetBulb(tempC, 0, pressureKPa), tempC, "°C")
	}
	if err != nil {
		return Moist{}, fmt.Errorf("moist air: %w", err)
	}
	w := max(0, ratioOfWetBulb(tempC, wetBulbC, pressureKPa))
	return moist(tempC, min(pressureKPa*w/(vapourRatio+w), SaturationKPa(tempC)), pressureKPa), nil
}

func moist(tempC, vapourKPa, pressureKPa float64) Moist {
	w := vapourRatio * vapourKPa / (pressureKPa - vapourKPa)
	m := Moist{
		TempC: tempC, PressureKPa: pressureKPa, VapourKPa: vapourKPa, HumidityRatio: w,
		RHShare:            vapourKPa / SaturationKPa(tempC),
		DewPointC:          math.NaN(),
		WetBulbC:           wetBulb(tempC, w, pressureKPa),
		EnthalpyKJkg:       dryAirKJ*tempC + w*(vaporisationKJ+vapourKJ*tempC),
		SpecificVolumeM3kg: 0.287042 * (tempC + 273.15) * (1 + 1.607858*w) / pressureKPa,
	}
	if vapourKPa > 0 {
		if dew, err := DewPointC(vapourKPa); err == nil {
			m.DewPointC = min(dew, tempC)
		}
	}
	return m
}

// ratioOfWetBulb is the humidity ratio that goes with a wet bulb.
func ratioOfWetBulb(tempC, wetBulbC, pressureKPa float64) float64 {
	es := SaturationKPa(wetBulbC)
	saturated := vapourRatio * es / (pressureKPa - es)
	if wetBulbC >= 0 {
		return ((vaporisationKJ-2.326*wetBulbC)*saturated - dryAirKJ*(tempC-wetBulbC)) /
			(vaporisationKJ + vapourKJ*tempC - 4.186*wetBulbC)
	}
	return ((2830-0.24*wetBulbC)*saturated - dryAirKJ*(tempC-wetBulbC)) /
		(2830 + vapourKJ*tempC - 2.1*wetBulbC)
}

func wetBulb(tempC, ratio, pressureKPa float64) float64 {
	return bisect(-100, tempC, func(t float64) bool { return ratioOfWetBulb(tempC, t, pressureKPa) < ratio })
}
