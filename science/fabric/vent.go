package fabric

import (
	"fmt"

	"tidebed/science/air"
)

// Constants of ventilation.
const (
	// SummerM3SM2 is the flow of air for summer per m² of floor, or one air change
	// a minute; from memory, greenhouse makers' and [asabe-ep406] figures.
	SummerM3SM2 = 0.04
	// WinterLowM3SM2 and WinterHighM3SM2 are the least flow in winter; from memory.
	WinterLowM3SM2  = 0.0076
	WinterHighM3SM2 = 0.015
	// VentLowShare and VentHighShare are the area of the vents at the ridge, and
	// of those at the sides, over the floor's; from memory.
	VentLowShare  = 0.15
	VentHighShare = 0.25

	// PadClean and PadClogged are how far a pad brings air to its wet bulb: 0.75
	// to 0.85 clean, from memory.
	PadClean   = 0.80
	PadClogged = 0.50
	// Pad100MS and Pad150MS are the speed of air through pads of 100 and 150 mm; from memory.
	Pad100MS = 1.27
	Pad150MS = 1.8
	// BleedLowShare and BleedHighShare are the water let off over that
	// evaporated, against scale; common practice, no source.
	BleedLowShare  = 0.10
	BleedHighShare = 0.20
)

// Summer is the ventilation that a house needs in summer.
type Summer struct {
	PerMinuteM3S, PerFloorM3S float64 // by one air change a minute, and by the floor: take the larger
	VentLowM2, VentHighM2     float64 // of the ridge, and again of the sides, without fans
}

// SummerRule returns the ventilation of a house by its volume (0 to 1e7 m³) and
// floor (0 to 1e6 m²) at an air pressure: thin air needs more of it.
func SummerRule(volumeM3, floorM2, pressureKPa float64) (Summer, error) {
	if err := check("summer ventilation", bound{"volume", volumeM3, 0, mostM3, "m3"}, bound{"floor", floorM2, 0, mostM2, "m2"}, pressureBound(pressureKPa)); err != nil {
		return Summer{}, err
	}
	thin := air.StandardKPa / pressureKPa
	return Summer{PerMinuteM3S: volumeM3 / 60 * thin, PerFloorM3S: SummerM3SM2 * floorM2 * thin, VentLowM2: VentLowShare * floorM2, VentHighM2: VentHighShare * floorM2}, nil
}

// SunW is the sun's heat that warms the air of a house: light over the cover (0
// to 1500 W/m²), share passed, floor, and the share that goes off as water, 0 to
// 1: 0 empty, 0.3 young plants, 0.5 to 0.7 a full wet crop (common practice, no
// source). Where transpiration is reckoned, take its heat off instead, never both.
func SunW(lightWm2, through, floorM2, latentShare float64) (float64, error) {
	if err := check("heat of the sun", bound{"light", lightWm2, 0, 1500, "W/m2"}, shareBound("share the cover passes", through), bound{"floor", floorM2, 0, mostM2, "m2"}, shareBound("share that goes off as water", latentShare)); err != nil {
		return 0, err
	}
	return lightWm2 * through * floorM2 * (1 - latentShare), nil
}

// RiseK is how much warmer a house is than outside in a steady gain: uaWK is what
// it loses besides the flow of air, and one of them must be above 0.
//
// Check: 800 W/m², 0.7, 72 m², half as water, 725 W/K: 0.885, 1.77 and 3.54 m³/s
// give 11.2, 7.0 and 4.0 K.
func RiseK(gainW, flowM3S, uaWK, pressureKPa float64) (float64, error) {
	if err := check("rise", bound{"gain", gainW, -mostW, mostW, "W"}, bound{"flow of air", flowM3S, 0, 1e5, "m3/s"}, uaBound("conductance", uaWK), pressureBound(pressureKPa)); err != nil {
		return 0, err
	}
	wk := FanWK(flowM3S, pressureKPa) + uaWK
	if err := check("rise", bound{"conductance with the air", wk, 1e-6, 1e12, "W/K"}); err != nil {
		return 0, err
	}
	return gainW / wk, nil
}

// FanWK is the heat a flow of outside air takes per kelvin, for inner loops: it
// checks nothing.
func FanWK(flowM3S, pressureKPa float64) float64 {
	return air.VolumeHeatJm3K * flowM3S * pressureKPa / air.StandardKPa
}

// FlowForRiseM3S is the flow of outside air that holds the rise to riseK (0.1 to
// 60); 0 where the house loses enough without.
func FlowForRiseM3S(gainW, riseK, uaWK, pressureKPa float64) (float64, error) {
	if err := check("flow for a rise", bound{"gain", gainW, -mostW, mostW, "W"}, bound{"rise", riseK, 0.1, 60, "K"}, uaBound("conductance", uaWK), pressureBound(pressureKPa)); err != nil {
		return 0, err
	}
	return max(0, (gainW/riseK-uaWK)/FanWK(1, pressureKPa)), nil
}

// Pad is air that has passed a wet pad.
type Pad struct {
	Air      air.Moist
	WaterKgH float64 // evaporated; BleedLowShare to BleedHighShare more is let off
}

// PadAir is the air behind a wet pad: outside air drawn through it at flowM3S (0
// to 1e5), brought to the wet bulb by the share efficiency (0 to 1: PadClean). Its
// heat content stays. Frost in the pad is refused.
//
// Check: 35 °C 30 %, 0.8: 24.22 °C and 17.6 kg/h for 1 m³/s.
func PadAir(outside air.Moist, efficiency, flowM3S float64) (Pad, error) {
	if err := check("pad", shareBound("efficiency", efficiency), bound{"flow of air", flowM3S, 0, 1e5, "m3/s"}, bound{"temperature outside", outside.TempC, 0, HighestC, "°C"},
		bound{"wet bulb outside", outside.WetBulbC, 0, HighestC, "°C"}, pressureBound(outside.PressureKPa), bound{"volume of air", outside.SpecificVolumeM3kg, 0.1, 10, "m3/kg"}); err != nil {
		return Pad{}, err
	}
	tempC := outside.TempC - efficiency*(outside.TempC-outside.WetBulbC)
	ratio := max(outside.HumidityRatio, ratioOf(outside.EnthalpyKJkg, tempC))
	rh := ratio / air.SaturatedRatio(tempC, outside.PressureKPa) * (air.SaturatedRatio(tempC, outside.PressureKPa) + 0.621945) / (ratio + 0.621945)
	behind, err := air.FromRH(tempC, min(1, rh), outside.PressureKPa)
	if err != nil {
		return Pad{}, fmt.Errorf("pad: %w", err)
	}
	return Pad{Air: behind, WaterKgH: 3600 * flowM3S / outside.SpecificVolumeM3kg * (ratio - outside.HumidityRatio)}, nil
}

// ratioOf is the humidity ratio of air by its heat content, [ashrae-fundamentals].
func ratioOf(enthalpyKJkg, tempC float64) float64 {
	return (enthalpyKJkg - 1.006*tempC) / (2501 + 1.86*tempC)
}
