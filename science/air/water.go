package air

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// Activity factors of PoolEvaporation. Common practice, no source.
const (
	ActivityQuiet   = 0.5 // a quiet tank
	ActivityAerated = 1.0 // aerated, or water trickling in
	ActivitySpray   = 1.5
)

// LatentKJkg is the heat in kJ that a kilogram of water of 0 to 60 °C takes to
// evaporate.
func LatentKJkg(waterC float64) float64 { return 2501 - 2.361*waterC }

// PoolEvaporation is the water in kg that leaves an open tank in an hour;
// negative is condensation into it. Its heat comes out of the water.
//
//	waterC        0 to 60
//	airC, rhShare of the room, -30 to 60 and 0 to 1
//	areaM2        0 to 1e5
//	activity      factor, 0.1 to 3: ActivityQuiet, ActivityAerated, ActivitySpray
//	airSpeedMS    over the water, 0 to 5
//
// Source: [ashrae-pool]; undisturbed pools were measured at 74 % of the form with
// activity 1. Check: water 24, air 18 °C and 75 %, 0.1 m/s, activity 1: 0.2049.
func PoolEvaporation(waterC, airC, rhShare, areaM2, activity, airSpeedMS float64) (float64, error) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"water temperature", waterC, 0, 60, "°C"},
		{"air temperature", airC, -30, 60, "°C"},
		{"relative humidity as a share", rhShare, 0, 1, ""},
		{"area", areaM2, 0, 1e5, "m2"},
		{"activity", activity, 0.1, 3, ""},
		{"air speed", airSpeedMS, 0, 5, "m/s"},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, fmt.Errorf("evaporation: %w", err)
		}
	}
	deficitKPa := SaturationKPa(waterC) - rhShare*SaturationKPa(airC)
	return 3600 * areaM2 * deficitKPa * (0.089 + 0.0782*airSpeedMS) * activity / LatentKJkg(waterC), nil
}

// OpenWaterEvaporation is the evaporation of open water outdoors in mm a day.
//
//	tempC    -10 to 50, of air and water
//	rhShare  0 to 1
//	windMS   at 2 m, 0 to 40
//	netMJm2  net radiation of the day, -10 to 40
//
// Source: Penman as in Shuttleworth 1993, [shuttleworth-1993]. Check: 20 °C,
// 70 %, 2 m/s, 15 MJ/m²: 5.389.
func OpenWaterEvaporation(tempC, rhShare, windMS, netMJm2, pressureKPa float64) (float64, error) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"temperature", tempC, -10, 50, "°C"},
		{"relative humidity as a share", rhShare, 0, 1, ""},
		{"wind at 2 m", windMS, 0, 40, "m/s"},
		{"net radiation", netMJm2, -10, 40, "MJ/m2"},
		{"air pressure", pressureKPa, LowestKPa, HighestKPa, "kPa"},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, fmt.Errorf("open water: %w", err)
		}
	}
	slope, gamma := SlopeFAO(tempC), PsychrometricFAO(pressureKPa)
	deficit := SaturationFAO(tempC) * (1 - rhShare)
	return (slope*netMJm2 + gamma*6.43*(1+0.536*windMS)*deficit) / (2.45 * (slope + gamma)), nil
}

// BubblingHeatW is the heat in W that air blown through water takes out of it:
// it comes in as the room's air and leaves saturated at the water's temperature.
//
//	flowLMin  of room air, 0 to 1e5
//
// Check: 100 L/min, water 24, room 18 °C and 75 %: 59 W.
func BubblingHeatW(flowLMin, waterC float64, room Moist) (float64, error) {
	err := quantity.InRange("air flow", flowLMin, 0, 1e5, "L/min")
	if err == nil {
		err = quantity.InRange("water temperature", waterC, 0, 60, "°C")
	}
	if err != nil {
		return 0, fmt.Errorf("bubbling: %w", err)
	}
	out, err := FromRH(waterC, 1, room.PressureKPa)
	if err != nil {
		return 0, fmt.Errorf("bubbling: %w", err)
	}
	dryKgS := flowLMin / 60000 / room.SpecificVolumeM3kg
	if heatW := 1000 * dryKgS * (out.EnthalpyKJkg - room.EnthalpyKJkg); !math.IsNaN(heatW) && !math.IsInf(heatW, 0) {
		return heatW, nil
	}
	return 0, fmt.Errorf("bubbling: the room's air is not worked out; make it with FromRH")
}
