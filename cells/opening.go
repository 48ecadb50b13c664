package cells

import (
	"fmt"

	"tidebed/science/water"
)

// Balance returns the dissolved carbon, mol/m³, and the charge of the strong
// ions, eq/m³, of a water by its test: temperature, ionic strength (mol/L), pH,
// alkalinity (eq/m³), ammonia, nitrite and nitrate as N and phosphate as P (g/m³).
//
// Errors wrap water.ErrImpossible or quantity.ErrRange.
func Balance(tempC, ionicMolL, ph, alkEqM3 float64, tan, no2, no3, p float64) (dicMolM3, baseEqM3 float64, err error) {
	e, err := water.NewEquilibria(tempC, ionicMolL)
	if err != nil {
		return 0, 0, fmt.Errorf("opening water: %w", err)
	}
	dicMolM3, err = e.DIC(ph, water.Solutes{AlkEqM3: alkEqM3, TANMolM3: tan / water.MolarN, PMolM3: p / water.MolarP})
	if err != nil {
		return 0, 0, fmt.Errorf("opening water: %w", err)
	}
	return dicMolM3, alkEqM3 - (tan-no2-no3)/water.MolarN, nil
}

// SteadyBacteria returns the bacteria of both groups, g COD, that a load of
// ammonia nitrogen keeps alive at a temperature: what grows is what dies. It is
// bounded by what the surface holds; areaM2 and mostGM2Day as in Cell.
func SteadyBacteria(loadGDay, tempC, areaM2, mostGM2Day float64) (ammonia, nitrite float64) {
	if mostGM2Day == 0 {
		mostGM2Day = UsualGM2Day
	}
	a, n := water.AmmoniaOxidisers(), water.NitriteOxidisers()
	steady := func(g *water.Nitrifier) float64 {
		most := mostGM2Day * areaM2 * g.YieldGCODGN / g.Growth20PerDay
		return min(most, g.YieldGCODGN*loadGDay/g.DecayPerDay(tempC))
	}
	return steady(&a), steady(&n)
}
