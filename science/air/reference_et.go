package air

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/sun"
)

// Constants of reference evapotranspiration, [fao-56].
const (
	grassReflection = 0.23
	mmPerMJ         = 0.408     // water 1 MJ/m² evaporates
	sigmaDay        = 4.903e-9  // Stefan and Boltzmann's, MJ/K⁴ m² a day
	sigmaHour       = 2.043e-10 // the same an hour
	kelvin          = 273.16
	// NightClearness is the radiation over that of a clear sky taken where there
	// is no sun to tell the clouds: in the middle of 0.4 to 0.6 for humid places.
	NightClearness = 0.5
)

// SaturationFAO is the saturation pressure in kPa as [fao-56] equation 11 has
// it. It is for reference evapotranspiration only, and far too high over ice;
// all else takes SaturationKPa. Check: 24.5 °C: 3.075 (example 3).
func SaturationFAO(tempC float64) float64 { return 0.6108 * math.Exp(17.27*tempC/(tempC+237.3)) }

// MeanSaturationFAO is the mean of the saturation pressures at a day's highest
// and lowest, kPa; that of the mean temperature would be too low. Check: 24.5 and
// 15 °C: 2.39 ([fao-56] example 3).
func MeanSaturationFAO(tmaxC, tminC float64) float64 {
	return (SaturationFAO(tmaxC) + SaturationFAO(tminC)) / 2
}

// SlopeFAO is how steeply the saturation pressure rises, kPa/K ([fao-56]
// equation 13). Check: 30.2 °C: 0.246 (example 17).
func SlopeFAO(tempC float64) float64 {
	return 4098 * SaturationFAO(tempC) / ((tempC + 237.3) * (tempC + 237.3))
}

// PressureFAO is the air pressure in kPa at an elevation of -500 to 6000 m
// ([fao-56] equation 7). Check: 1800 m: 81.8 (example 2).
func PressureFAO(elevationM float64) (float64, error) {
	if err := quantity.InRange("elevation", elevationM, -500, 6000, "m"); err != nil {
		return 0, fmt.Errorf("air pressure: %w", err)
	}
	return 101.3 * math.Pow((293-0.0065*elevationM)/293, 5.26), nil
}

// PsychrometricFAO is the psychrometric constant, kPa/K ([fao-56] equation 8).
// Check: 81.8 kPa: 0.054 (example 2).
func PsychrometricFAO(pressureKPa float64) float64 { return 0.665e-3 * pressureKPa }

// VapourFromRHFAO is the vapour pressure, kPa, of a day with highest and lowest
// relative humidities, 0 to 1 ([fao-56] equation 17). Check: 25 and 18 °C, 82 and
// 54 %: 1.70 (example 5).
func VapourFromRHFAO(tmaxC, tminC, rhMaxShare, rhMinShare float64) (float64, error) {
	err := quantity.InRange("highest relative humidity as a share", rhMaxShare, 0, 1, "")
	if err == nil {
		err = quantity.InRange("lowest relative humidity as a share", rhMinShare, 0, rhMaxShare, "")
	}
	if err != nil {
		return 0, fmt.Errorf("vapour pressure: %w", err)
	}
	return (SaturationFAO(tminC)*rhMaxShare + SaturationFAO(tmaxC)*rhMinShare) / 2, nil
}

// VapourFromWetBulbFAO is the vapour pressure, kPa, from a psychrometer with its
// coefficient, 1/K: 0.000662 with a fan ([fao-56] equations 15 and 16). Check:
// wet 19.5, dry 25.6 °C at 1200 m: 1.91 (example 4). A wet bulb above the dry
// or too low for any air is refused.
func VapourFromWetBulbFAO(tempC, wetBulbC, pressureKPa, coefficient float64) (float64, error) {
	ea := SaturationFAO(wetBulbC) - coefficient*pressureKPa*(tempC-wetBulbC)
	err := quantity.InRange("wet bulb", wetBulbC, LowestTempC, tempC, "°C")
	if err == nil {
		err = quantity.InRange("vapour pressure", ea, 0, SaturationFAO(tempC), "kPa")
	}
	if err != nil {
		return 0, fmt.Errorf("vapour pressure: %w", err)
	}
	return ea, nil
}

// WindAt2M turns wind measured at a height of 0.5 to 100 m over short grass into
// that at 2 m ([fao-56] equation 47). Check: 3.2 m/s at 10 m: 2.4 (example 14).
func WindAt2M(windMS, heightM float64) (float64, error) {
	err := quantity.InRange("wind", windMS, 0, 100, "m/s")
	if err == nil {
		err = quantity.InRange("height of the wind gauge", heightM, 0.5, 100, "m")
	}
	if err != nil {
		return 0, fmt.Errorf("wind at 2 m: %w", err)
	}
	return windMS * 4.87 / math.Log(67.8*heightM-5.42), nil
}

// NetShortwaveFAO is the part of the global radiation, in its unit, that grass
// keeps ([fao-56] equation 38). Check: 14.5 gives 11.2, printed 11.1 (example 12).
func NetShortwaveFAO(radiation float64) float64 { return (1 - grassReflection) * radiation }

// NetLongwaveFAO is the heat in MJ/m² that grass loses to the sky in a day
// ([fao-56] equation 39); clearness is the radiation over that of a clear sky,
// 0 to 1. Check: 25.1 and 19.1 °C, 2.1 kPa, 14.5/18.8: 3.5 (example 11).
func NetLongwaveFAO(tmaxC, tminC, vapourKPa, clearness float64) float64 {
	return sigmaDay * (math.Pow(tmaxC+kelvin, 4) + math.Pow(tminC+kelvin, 4)) / 2 * skyFAO(vapourKPa, clearness)
}

// skyFAO is the share of a black body's radiation that is lost to the sky.
func skyFAO(vapourKPa, clearness float64) float64 {
	return (0.34 - 0.14*math.Sqrt(vapourKPa)) * (1.35*max(0, min(1, clearness)) - 0.35)
}

// ETDay is the weather of a day for reference evapotranspiration.
type ETDay struct {
	LatitudeDeg   float64
	ElevationM    float64 // -500 to 6000
	DayOfYear     int     // 1 to 366
	TmaxC, TminC  float64 // -40 to 60
	VapourKPa     float64 // actual; VapourFromRHFAO gives it from humidities
	WindMS        float64 // at 2 m, 0 to 40
	RadiationMJm2 float64 // global, up to that above the air; sun.FromSunHours gives it from sunshine
	SoilHeatMJm2  float64 // into the ground: 0 for a day
}

// ETResult is a day's reference evapotranspiration and what it came from.
type ETResult struct {
	ET0MmDay                   float64
	RnMJm2, RnsMJm2, RnlMJm2   float64 // net radiation, its shortwave gain and longwave loss
	RaMJm2, RsoMJm2            float64 // above the air, under a clear sky
	EsKPa, EaKPa               float64 // mean saturation and actual vapour pressure
	SlopeKPaK, GammaKPaK, PKPa float64
}

// ReferenceET returns the evapotranspiration of short, well-watered grass
// outdoors in mm a day. It is not for the inside of a house, where there is no
// wind to speak of. Values outside the ranges of ETDay, lowest above highest and
// vapour above saturation are errors wrapping quantity.ErrRange.
//
// Source: [fao-56] equation 6. Check: Uccle, 6 July: 3.9 mm (example 18).
func ReferenceET(d ETDay) (ETResult, error) {
	o, err := sun.Extraterrestrial(d.LatitudeDeg, d.DayOfYear)
	if err != nil {
		return ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
	}
	r := ETResult{EsKPa: MeanSaturationFAO(d.TmaxC, d.TminC), EaKPa: d.VapourKPa, RaMJm2: o.RaMJm2}
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"highest temperature", d.TmaxC, -40, 60, "°C"},
		{"lowest temperature", d.TminC, -40, d.TmaxC, "°C"},
		{"vapour pressure", d.VapourKPa, 0, SaturationFAO(d.TmaxC), "kPa"},
		{"wind at 2 m", d.WindMS, 0, 40, "m/s"},
		{"radiation", d.RadiationMJm2, 0, o.RaMJm2, "MJ/m2"},
		{"heat into the ground", d.SoilHeatMJm2, -20, 20, "MJ/m2"},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
		}
	}
	if r.PKPa, err = PressureFAO(d.ElevationM); err != nil {
		return ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
	}
	clear, err := sun.ClearSkyShare(d.ElevationM)
	if err != nil {
		return ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
	}
	r.RsoMJm2 = clear * o.RaMJm2
	clearness := NightClearness
	if r.RsoMJm2 > 0 {
		clearness = d.RadiationMJm2 / r.RsoMJm2
	}
	tempC := (d.TmaxC + d.TminC) / 2
	r.SlopeKPaK, r.GammaKPaK = SlopeFAO(tempC), PsychrometricFAO(r.PKPa)
	r.RnsMJm2 = NetShortwaveFAO(d.RadiationMJm2)
	r.RnlMJm2 = NetLongwaveFAO(d.TmaxC, d.TminC, d.VapourKPa, clearness)
	r.RnMJm2 = r.RnsMJm2 - r.RnlMJm2
	r.ET0MmDay = penmanMonteith(900, tempC, r.RnMJm2-d.SoilHeatMJm2, d.WindMS, r.EsKPa-r.EaKPa, r.SlopeKPaK, r.GammaKPaK)
	return r, nil
}

func penmanMonteith(windFactor, tempC, energyMJm2, windMS, deficitKPa, slope, gamma float64) float64 {
	return (mmPerMJ*slope*energyMJm2 + gamma*windFactor/(tempC+273)*windMS*deficitKPa) / (slope + gamma*(1+0.34*windMS))
}

// ETHour is the weather of an hour for reference evapotranspiration.
type ETHour struct {
	ElevationM    float64 // -500 to 6000
	TempC         float64 // -40 to 60
	RHShare       float64 // 0 to 1
	WindMS        float64 // at 2 m, 0 to 40
	RadiationMJm2 float64 // global in the hour
	OuterMJm2     float64 // above the air in the hour: sun.Outer.HourMJm2; 0 by night
	// NightClearness is the radiation over that of a clear sky two to three
	// hours before sunset, 0.3 to 1; for hours without sun only.
	NightClearness float64
}

// ReferenceETHour returns the evapotranspiration of an hour in mm (negative is
// dew) and what it came from; ET0MmDay of the result stays 0.
//
// Source: [fao-56] equation 53. Check: N'Diaye, 14 to 15 h: 0.63 mm, 2 to 3 h:
// 0.00 (example 19).
func ReferenceETHour(h ETHour) (et0Mm float64, from ETResult, err error) {
	clear, err := sun.ClearSkyShare(h.ElevationM)
	if err != nil {
		return 0, ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
	}
	night := h.OuterMJm2 <= 0
	lowest := 0.0
	if night {
		lowest = 0.3
	}
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"air temperature", h.TempC, -40, 60, "°C"},
		{"relative humidity as a share", h.RHShare, 0, 1, ""},
		{"wind at 2 m", h.WindMS, 0, 40, "m/s"},
		{"radiation above the air in the hour", h.OuterMJm2, 0, 5.2, "MJ/m2"},
		{"radiation of the hour", h.RadiationMJm2, 0, 1.1*h.OuterMJm2 + 0.18, "MJ/m2"},
		{"clearness before the night", h.NightClearness, lowest, 1, ""},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
		}
	}
	pressure, err := PressureFAO(h.ElevationM)
	if err != nil {
		return 0, ETResult{}, fmt.Errorf("reference evapotranspiration: %w", err)
	}
	r := ETResult{
		PKPa: pressure, RaMJm2: h.OuterMJm2, RsoMJm2: clear * h.OuterMJm2, EsKPa: SaturationFAO(h.TempC),
		SlopeKPaK: SlopeFAO(h.TempC), GammaKPaK: PsychrometricFAO(pressure), RnsMJm2: NetShortwaveFAO(h.RadiationMJm2),
	}
	r.EaKPa = h.RHShare * r.EsKPa
	clearness, soil := h.NightClearness, 0.5
	if !night {
		clearness, soil = h.RadiationMJm2/r.RsoMJm2, 0.1
	}
	r.RnlMJm2 = sigmaHour * math.Pow(h.TempC+kelvin, 4) * skyFAO(r.EaKPa, clearness)
	r.RnMJm2 = r.RnsMJm2 - r.RnlMJm2
	et0Mm = penmanMonteith(37, h.TempC, r.RnMJm2*(1-soil), h.WindMS, r.EsKPa-r.EaKPa, r.SlopeKPaK, r.GammaKPaK)
	return et0Mm, r, nil
}
