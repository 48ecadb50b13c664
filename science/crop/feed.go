package crop

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// CriticalNShare returns the least nitrogen in the dry matter of a shoot with
// which it still grows in full: 4.8 % · W^-0.32 (C3), 3.6 % · W^-0.34 (C4, from
// memory), W in t/ha, held at its value of 1 t/ha below that. One t/ha is 100
// g/m². NaN where W is below 0 or without end.
//
// Source: errecart-2012, citing the reference curve; lemaire-1997 for C4.
func CriticalNShare(photosynthesis string, shootDMTHa float64) float64 {
	if !(shootDMTHa >= 0) || math.IsInf(shootDMTHa, 0) {
		return math.NaN()
	}
	w := max(1, shootDMTHa)
	if photosynthesis == C4 {
		return 0.036 * math.Pow(w, -0.34)
	}
	return 0.048 * math.Pow(w, -0.32)
}

// CriticalNUptakeKgHa returns the nitrogen in kg/ha a shoot of so much dry
// matter must hold to grow in full.
func CriticalNUptakeKgHa(photosynthesis string, shootDMTHa float64) float64 {
	return 1000 * CriticalNShare(photosynthesis, shootDMTHa) * shootDMTHa
}

// NitrogenNutrition returns growth as a share of full growth at a nitrogen
// share of the shoot's dry matter: actual over critical, at most 1.
func NitrogenNutrition(photosynthesis string, shootDMTHa, nShareDM float64) float64 {
	if !(nShareDM > 0) {
		return 0
	}
	return min(1, nShareDM/CriticalNShare(photosynthesis, shootDMTHa))
}

// UsualNitrogenShare is how much of the feed's nitrogen comes to the plants as
// ammonium and nitrate: 0.35 to 0.6, middle 0.45 (from memory).
const UsualNitrogenShare = 0.45

// FeedForPlants returns the feed in g per m² of bed and day whose nitrogen
// covers a bed: Y·n/(0.16·CP·eta) with the fresh harvest Y in g/m²/d, its
// nitrogen n in g per kg, protein as a share of the feed and eta the share of
// feed nitrogen that reaches the plants (see UsualNitrogenShare).
//
// Errors: a yield or n below 0, protein outside 0 to 0.7, eta outside 0 to 1.
//
// Check: 112 g/m²/d of 2.5 g/kg, 32 % protein, eta 0.45: 12.2 g/m²/d.
func FeedForPlants(freshGM2D, nGPerKg, proteinShare, eta float64) (float64, error) {
	switch {
	case !(freshGM2D >= 0 && nGPerKg >= 0) || math.IsInf(freshGM2D+nGPerKg, 0):
		return 0, fmt.Errorf("feed for plants: a harvest of %g g/m²/d with %g g/kg of nitrogen: neither may be below 0: %w", freshGM2D, nGPerKg, quantity.ErrRange)
	case !(proteinShare > 0 && proteinShare <= 0.7):
		return 0, fmt.Errorf("feed for plants: a protein share of %g is not within 0 to 0.7: %w", proteinShare, quantity.ErrRange)
	case !(eta > 0 && eta <= 1):
		return 0, fmt.Errorf("feed for plants: a share of %g of the nitrogen for the plants is not within 0 to 1: %w", eta, quantity.ErrRange)
	}
	return freshGM2D * nGPerKg / 1000 / (0.16 * proteinShare * eta), nil
}

// FullCoverWaterMmD returns a fast estimate of what a bed under full leaf uses,
// mm (L/m²) a day, from the radiation sum inside with the lamps' heat, MJ/m²/d:
// 0.65·G/2.45 (from memory). Below 0 and NaN give 0.
func FullCoverWaterMmD(insideMJM2 float64) float64 {
	if !(insideMJM2 > 0) {
		return 0
	}
	return 0.65 * insideMJM2 / 2.45
}

// WaterCoefficient returns the crop coefficient of a stand from its cover, 0 to
// 1: KcIni on bare ground rising to KcMid at full cover. Water is the
// coefficient times the reference evapotranspiration inside.
func (c *Crop) WaterCoefficient(coverShare float64) float64 {
	return c.KcIni + (c.KcMid-c.KcIni)*share(coverShare)
}

// WaterFactor returns the share of full growth in ground of which depletedShare
// of the available water is gone, 0 full to 1 wilting: 1 up to 0.3 for leafy
// crops and 0.4 for others, then falling in a straight line to 0. In rafts and
// flooded beds nothing is depleted.
//
// Source: fao-56, equation 84 (from memory).
func (c *Crop) WaterFactor(depletedShare float64) float64 {
	if math.IsNaN(depletedShare) {
		return 0
	}
	from := 0.4
	if c.NutrientClass == "leafy" {
		from = 0.3
	}
	return min(1, (1-share(depletedShare))/(1-from))
}
