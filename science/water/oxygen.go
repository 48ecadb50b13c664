package water

import (
	"math"

	"tidebed/science/air"
)

// Limits of OxygenSaturation.
const (
	LowestKPa     = 0.5 * air.StandardKPa
	HighestKPa    = 108.0
	HighestDOC    = 40.0 // °C
	HighestSaltGK = 40.0 // g/kg
	HighestM      = 5400.0
)

// OxygenSaturation returns the dissolved oxygen of water in equilibrium with
// moist air, g/m³.
//
//	tempC        water temperature, 0 to 40 °C
//	pressureKPa  air pressure at the place, not reduced to the sea, 50.7 to 108 kPa
//	salinityGKg  0 to 40 g/kg
//
// Errors wrap quantity.ErrRange.
//
// Source: [benson-krause-1984] in the form of [apha-4500-o]; the temperature of
// θ is in °C. Check: 20 °C, 101.325 kPa 9.092; 25 °C, 100.5 kPa 8.194.
func OxygenSaturation(tempC, pressureKPa, salinityGKg float64) (doGm3 float64, err error) {
	if err := check("oxygen saturation", bound{"water temperature", tempC, 0, HighestDOC, "°C"},
		bound{"air pressure", pressureKPa, LowestKPa, HighestKPa, "kPa"}, bound{"salinity", salinityGKg, 0, HighestSaltGK, "g/kg"}); err != nil {
		return 0, err
	}
	return oxygenSaturation(tempC, pressureKPa, salinityGKg), nil
}

func oxygenSaturation(tempC, pressureKPa, salinityGKg float64) float64 {
	i := 1 / (tempC + 273.15)
	lnC := -139.34411 + i*(1.575701e5+i*(-6.642308e7+i*(1.243800e10-i*8.621949e11))) -
		salinityGKg*(0.017674+i*(-10.754+i*2140.7))
	p := pressureKPa / air.StandardKPa
	u := math.Exp(11.8571 + i*(-3840.70-i*216961))
	theta := 0.000975 - 1.426e-5*tempC + 6.436e-8*tempC*tempC
	return math.Exp(lnC) * p * (1 - u/p) * (1 - theta*p) / ((1 - u) * (1 - theta))
}

// OxygenSaturationAt is OxygenSaturation of fresh water at an elevation of -500
// to 5400 m under standard air.
//
// Errors wrap quantity.ErrRange.
func OxygenSaturationAt(tempC, elevationM float64) (doGm3 float64, err error) {
	if err := check("oxygen saturation", bound{"elevation", elevationM, -500, HighestM, "m"}); err != nil {
		return 0, err
	}
	kPa, err := air.PressureKPa(elevationM)
	if err != nil {
		return 0, err
	}
	return OxygenSaturation(tempC, kPa, 0)
}

// SalinityGKg returns the salinity of a specific conductance at 25 °C of 0 to
// 60 000 µS/cm.
//
// Errors wrap quantity.ErrRange.
//
// Source: [usgs-do], from memory.
func SalinityGKg(conductanceUScm float64) (float64, error) {
	if err := check("salinity", bound{"specific conductance", conductanceUScm, 0, 60000, "µS/cm"}); err != nil {
		return 0, err
	}
	return 5.572e-4*conductanceUScm + 2.02e-9*conductanceUScm*conductanceUScm, nil
}
