package water

import "math"

// NH3PerN is the mass of ammonia molecules per mass of their nitrogen, g/g.
const NH3PerN = 17.031 / 14.007

// ammoniaPKa is pKa of NH4+ at zero ionic strength, unchecked.
func ammoniaPKa(tempC float64) float64 { return 0.09018 + 2729.92/(tempC+273.15) }

// AmmoniaPKa returns the pKa of the ammonium ion in fresh water of 0 to 50 °C.
//
// Errors wrap quantity.ErrRange.
//
// Source: [emerson-1975]; a misprint of the constant, 2727.92, goes round.
// Check: 20 °C 9.4026.
func AmmoniaPKa(tempC float64) (float64, error) {
	if err := check("pKa of ammonium", bound{"water temperature", tempC, 0, 50, "°C"}); err != nil {
		return 0, err
	}
	return ammoniaPKa(tempC), nil
}

// UnionisedFraction returns the share of the total ammonia nitrogen that is
// un-ionised, at zero ionic strength: in real water it is up to a tenth less, so
// that an alarm by it is on the safe side (Equilibria has the corrected share).
// Water of 0 to 50 °C, pH 0 to 14; the equation was fitted from pH 6 to 10.
//
// Errors wrap quantity.ErrRange.
//
// Source: [emerson-1975]. Check: 20 °C and pH 8 0.03807.
func UnionisedFraction(tempC, ph float64) (float64, error) {
	if err := check("un-ionised ammonia", bound{"water temperature", tempC, 0, 50, "°C"}, phBound(ph)); err != nil {
		return 0, err
	}
	return 1 / (1 + pow10(ammoniaPKa(tempC)-ph)), nil
}

// FreeAmmoniaGm3 returns the un-ionised ammonia by which nitrifiers are
// inhibited, g/m³ as the molecule NH3, of tanGm3 total ammonia nitrogen (0 to
// 1e4), 0 to 45 °C.
//
// Errors wrap quantity.ErrRange.
//
// Source: [anthonisen-1976]. Check: 20 °C, pH 7, share of the nitrogen 0.003935.
func FreeAmmoniaGm3(tempC, ph, tanGm3 float64) (float64, error) {
	if err := check("free ammonia", tempBound(tempC), phBound(ph), gm3Bound("total ammonia nitrogen", tanGm3, 1e4)); err != nil {
		return 0, err
	}
	p := math.Pow(10, ph)
	return 17.0 / 14 * tanGm3 * p / (math.Exp(6344/(273+tempC)) + p), nil
}

// FreeNitrousAcidGm3 returns nitrous acid by which nitrifiers are inhibited,
// g/m³ as HNO2, of no2nGm3 nitrite nitrogen (0 to 1e4), 0 to 45 °C, pH 3 to 14.
//
// Errors wrap quantity.ErrRange.
//
// Source: [anthonisen-1976]. Check: 20 °C, pH 7, share of the nitrogen 0.0002565.
func FreeNitrousAcidGm3(tempC, ph, no2nGm3 float64) (float64, error) {
	if err := check("free nitrous acid", tempBound(tempC), bound{"pH", ph, 3, 14, ""}, gm3Bound("nitrite nitrogen", no2nGm3, 1e4)); err != nil {
		return 0, err
	}
	return 46.0 / 14 * no2nGm3 / (math.Exp(-2300/(273+tempC)) * math.Pow(10, ph)), nil
}

// CriterionGm3 returns the total ammonia nitrogen that a law for open waters
// allows for an hour and for 30 days, g/m³, at pH 6 to 9 and 0 to 35 °C. Mussels
// set it: it is for comparison, not for alarms of a fish tank.
//
// Errors wrap quantity.ErrRange.
//
// Source: [epa-2013], formula from memory. Check: pH 7, 20 °C: 17 and 1.9 printed.
func CriterionGm3(tempC, ph float64) (hourGm3, monthGm3 float64, err error) {
	if err := check("ammonia criterion", bound{"water temperature", tempC, 0, 35, "°C"}, bound{"pH", ph, 6, 9, ""}); err != nil {
		return 0, 0, err
	}
	curve := func(low, high, middle float64) float64 {
		return low/(1+math.Pow(10, middle-ph)) + high/(1+math.Pow(10, ph-middle))
	}
	hourGm3 = min(curve(0.275, 39.0, 7.204), 0.7249*curve(0.0114, 1.6181, 7.204)*23.12*math.Pow(10, 0.036*(20-tempC)))
	monthGm3 = 0.8876 * curve(0.0278, 1.1994, 7.688) * 2.126 * math.Pow(10, 0.028*(20-max(tempC, 7)))
	return hourGm3, monthGm3, nil
}
