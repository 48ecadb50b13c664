package fabric

import "math"

// Constants of tanks.
const (
	// XPSWmK is what foam board conducts; PlasticWm2K the U of a bare plastic
	// wall in still air. From memory.
	XPSWmK      = 0.033
	PlasticWm2K = 7.0
	// OpenQuietWm2K and OpenAeratedWm2K are the heat that an open surface gives
	// the room per kelvin, evaporation in it; common practice, no source. Where
	// the room's humidity is known, air.PoolEvaporation and OpenDryWm2K are better.
	OpenQuietWm2K   = 12.0
	OpenAeratedWm2K = 20.0
	// OpenDryWm2K is the same without evaporation: air and radiation. From memory.
	OpenDryWm2K = 6.0
)

// InsulatedUWm2K is the heat transmittance of a tank wall of thicknessM (0 to 1
// m) insulation that conducts conductivityWmK (0.01 to 3): XPSWmK. The tank's
// own wall counts for nothing.
//
// Check: 25 mm of foam board 1.13, 50 mm 0.61, 100 mm 0.32.
func InsulatedUWm2K(thicknessM, conductivityWmK float64) (float64, error) {
	if err := check("insulation", bound{"thickness", thicknessM, 0, 1, "m"}, bound{"conductivity", conductivityWmK, 0.01, 3, "W/m and K"}); err != nil {
		return 0, err
	}
	return 1 / (1/InnerFilmWm2K + thicknessM/conductivityWmK), nil
}

// Tank is a tank as it loses heat. U are heat transmittances in W/m²K, up to 100.
type Tank struct {
	VolumeM3                        float64
	WallM2, FloorM2, TopM2          float64
	WallUWm2K, FloorUWm2K, TopUWm2K float64
}

// RoundTank returns an upright round tank full of water; the inside diameter
// and depth are 0.01 to 100 m, its U are those given.
//
// Check: 1.6 m wide, 1.0 m deep: 2.011 m³, wall 5.03 m², floor 2.01 m².
func RoundTank(diameterM, depthM, wallUWm2K, floorUWm2K, topUWm2K float64) (Tank, error) {
	if err := check("round tank", bound{"diameter", diameterM, 0.01, 100, "m"}, bound{"depth", depthM, 0.01, 100, "m"}); err != nil {
		return Tank{}, err
	}
	plan := math.Pi * diameterM * diameterM / 4
	t := Tank{VolumeM3: plan * depthM, WallM2: math.Pi * diameterM * depthM, FloorM2: plan, TopM2: plan, WallUWm2K: wallUWm2K, FloorUWm2K: floorUWm2K, TopUWm2K: topUWm2K}
	_, err := t.UAWK()
	return t, err
}

// UAWK is the heat in W per kelvin that the tank gives the room.
//
// Check: the tank of RoundTank in 25 mm of foam board, top open and quiet: 32.1.
func (t Tank) UAWK() (float64, error) {
	area := func(name string, v float64) bound { return bound{"area of the " + name, v, 0, mostM2, "m2"} }
	u := func(name string, v float64) bound {
		return bound{"heat transmittance of the " + name, v, 0, 100, "W/m2K"}
	}
	if err := check("tank", area("wall", t.WallM2), area("floor", t.FloorM2), area("top", t.TopM2),
		u("wall", t.WallUWm2K), u("floor", t.FloorUWm2K), u("top", t.TopUWm2K), bound{"volume", t.VolumeM3, 1e-6, mostM3, "m3"}); err != nil {
		return 0, err
	}
	return t.WallM2*t.WallUWm2K + t.FloorM2*t.FloorUWm2K + t.TopM2*t.TopUWm2K, nil
}

// TimeConstantH is the hours in which a difference of temperature falls to 37 %.
//
// Check: 8.416 MJ/K and 32.1 W/K: 72.8.
func TimeConstantH(heatJK, uaWK float64) (float64, error) {
	if err := check("time constant", heatBound("heat per kelvin", heatJK), bound{"conductance", uaWK, 1e-9, mostWK, "W/K"}); err != nil {
		return 0, err
	}
	return heatJK / uaWK / 3600, nil
}

// CoolingH returns the hours in which a body falls from a temperature to a
// limit, in surroundings that stay as they are: 0 where it is there already,
// reached false where it never gets there.
//
// Check: tau 72.8 h, from 26 to 18 °C in air of 10 °C: 50.5 h.
func CoolingH(timeConstantH, fromC, restC, limitC float64) (hours float64, reached bool, err error) {
	if err := checkRelax("cooling", timeConstantH, fromC, restC, limitC); err != nil {
		return 0, false, err
	}
	hours, reached = fallH(timeConstantH, fromC, restC, limitC)
	return hours, reached, nil
}

// WarmingH is CoolingH the other way: from a temperature up to a limit.
func WarmingH(timeConstantH, fromC, restC, limitC float64) (hours float64, reached bool, err error) {
	if err := checkRelax("warming", timeConstantH, fromC, restC, limitC); err != nil {
		return 0, false, err
	}
	hours, reached = fallH(timeConstantH, -fromC, -restC, -limitC)
	return hours, reached, nil
}

func checkRelax(what string, timeConstantH, fromC, restC, limitC float64) error {
	return check(what, bound{"time constant", timeConstantH, 1e-9, 1e9, "h"}, tempBound("temperature", fromC),
		bound{"temperature of the surroundings", restC, -1e6, 1e6, "°C"}, tempBound("limit", limitC))
}

func fallH(timeConstantH, from, rest, limit float64) (hours float64, reached bool) {
	switch {
	case from <= limit:
		return 0, true
	case rest >= limit:
		return 0, false
	}
	return timeConstantH * math.Log((from-rest)/(limit-rest)), true
}

// HoldingW is the power in W that holds a body in surroundings; negative is
// cooling. Check: 32.1 W/K, 26 in 10 °C: 514.
func HoldingW(uaWK, tempC, restC float64) (float64, error) {
	if err := check("holding", uaBound("conductance", uaWK), tempBound("temperature", tempC), tempBound("temperature of the surroundings", restC)); err != nil {
		return 0, err
	}
	return uaWK * (tempC - restC), nil
}

// WarmingKH is how fast a power warms a body, in K an hour, losses left out.
//
// Check: 1 kW into 2011 L: 0.428.
func WarmingKH(powerW, heatJK float64) (float64, error) {
	if err := check("warming", bound{"power", powerW, -mostW, mostW, "W"}, heatBound("heat per kelvin", heatJK)); err != nil {
		return 0, err
	}
	return 3600 * powerW / heatJK, nil
}

// SunWarmingKH is how fast open water warms in the sun, in K an hour.
//
//	lightWm2  global radiation over the cover, 0 to 1500
//	through   share of it that the cover passes
//	openM2    open water, 0 to 1e6
//	tankWK    water to air
//
// Source: [duffie-beckman] for the share water keeps, from memory.
func SunWarmingKH(lightWm2, through, openM2, tankWK, airC, waterC, heatJK float64) (float64, error) {
	if err := check("water in the sun", bound{"light", lightWm2, 0, 1500, "W/m2"}, shareBound("share the cover passes", through), bound{"open water", openM2, 0, mostM2, "m2"},
		uaBound("water to air", tankWK), tempBound("temperature of the air", airC), tempBound("temperature of the water", waterC), heatBound("heat per kelvin", heatJK)); err != nil {
		return 0, err
	}
	return 3600 * (WaterSunShare*lightWm2*through*openM2 + tankWK*(airC-waterC)) / heatJK, nil
}

// ChillingW is the cooling power in W that brings a heat of heatJK down by fallK
// (0 to 60) in hours (0.01 to 1e4) against gains in W.
func ChillingW(heatJK, fallK, hours, gainsW float64) (float64, error) {
	if err := check("chilling", heatBound("heat per kelvin", heatJK), bound{"fall", fallK, 0, 60, "K"}, bound{"time", hours, 0.01, 1e4, "h"}, bound{"gains", gainsW, -mostW, mostW, "W"}); err != nil {
		return 0, err
	}
	return heatJK*fallK/(3600*hours) + gainsW, nil
}
