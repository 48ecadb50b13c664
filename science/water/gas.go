package water

import "math"

// gasTheta is the rise of gas transfer with temperature, per K.
const gasTheta = 1.024

// GasFactor is gas transfer at a temperature against that at 20 °C. It refuses
// nothing.
//
// Source: [asce-oxygen-transfer].
func GasFactor(tempC float64) float64 { return math.Pow(gasTheta, tempC-20) }

// Usual transfer velocities of oxygen through the surface of a tank, m/d at 20 °C.
//
// Source: [chin-2006] for the floor, the rest common practice, no source.
const (
	StillSurfaceMDay   = 0.6
	StirredSurfaceMDay = 2.0
)

// Other gases against oxygen, and carbon dioxide given off per oxygen breathed.
const (
	co2Film  = 0.95 // √(1.92/2.10), from memory
	CO2PerO2 = 1.375
)

// SurfaceKLaPerH returns the oxygen transfer of a surface per hour, of a
// transfer velocity of 0 to 100 m/d at 20 °C over a mean depth of 0.01 to 20 m,
// at 0 to 45 °C.
//
// Errors wrap quantity.ErrRange.
//
// Check: 1 m/d, 0.8 m, 25 °C: 0.05864.
func SurfaceKLaPerH(transfer20MDay, depthM, tempC float64) (float64, error) {
	if err := check("surface transfer", bound{"transfer velocity", transfer20MDay, 0, 100, "m/d"}, bound{"depth", depthM, 0.01, 20, "m"}, tempBound(tempC)); err != nil {
		return 0, err
	}
	return transfer20MDay / depthM / 24 * GasFactor(tempC), nil
}

// OxygenTransferShare returns the oxygen an aerator brings in against its label
// (SOTR, clean water of 20 °C without oxygen at the sea): below 0 in water above
// beta times the saturation.
//
//	tempC    0 to 40 °C
//	doGm3    oxygen of the tank, 0 to 40
//	csGm3    saturation at the place, 1 to 20
//	alpha    water against clean, 0.1 to 1.2; 0.85 to 0.95 in fish water
//	beta     saturation against fresh water's, 0.5 to 1.1; 0.98
//
// Errors wrap quantity.ErrRange.
//
// Source: [asce-oxygen-transfer], from memory. Check: alpha 0.9, beta 0.98, 20
// °C, 5 g/m³: 0.387.
func OxygenTransferShare(tempC, doGm3, csGm3, alpha, beta float64) (float64, error) {
	if err := check("aerator", bound{"water temperature", tempC, 0, HighestDOC, "°C"}, gm3Bound("oxygen", doGm3, 40), gm3BoundFrom("saturation", csGm3, 1, 20),
		bound{"alpha", alpha, 0.1, 1.2, ""}, bound{"beta", beta, 0.5, 1.1, ""}); err != nil {
		return 0, err
	}
	return alpha * (beta*csGm3 - doGm3) / 9.09 * GasFactor(tempC), nil
}

// Efficiencies of stones in clean water, share of the oxygen taken up per m of
// depth.
//
// From memory of handbooks.
const (
	CoarseStonePerM = 0.01
	FineStonePerM   = 0.025
	MembranePerM    = 0.05
)

// oxygenOfAirKgM3 is the oxygen of air of 20 °C.
const oxygenOfAirKgM3 = 1.204 * 0.2315

// StoneSOTRGH returns the standard oxygen transfer of an air stone, g/h, from an
// air flow of 0 to 1e5 L/min, a depth of 0.01 to 6 m and the share taken up per
// m (0.001 to 0.1).
//
// Errors wrap quantity.ErrRange.
//
// Check: 40 L/min, 0.6 m, 1 %/m: 4.0 g/h.
func StoneSOTRGH(airLMin, depthM, sharePerM float64) (float64, error) {
	if err := check("air stone", bound{"air", airLMin, 0, 1e5, "L/min"}, bound{"depth", depthM, 0.01, 6, "m"}, bound{"share taken up", sharePerM, 0.001, 0.1, "per m"}); err != nil {
		return 0, err
	}
	return airLMin * 60 / 1000 * oxygenOfAirKgM3 * 1000 * sharePerM * depthM, nil
}

// highestDropM is where the weir equations end.
const highestDropM = 3.0

// WeirRatio returns how many times smaller the want of oxygen is below a fall
// than above.
//
//	dropM  0 to 3 m
//	tempC  0 to 40 °C
//	a      water: 1.8 clean, 1.6 slightly polluted, 1.0 moderately, 0.65 grossly; 0.1 to 2.5
//	b      fall: 0.8 sharp crest, 1.05 slope; 0.05 to 6
//
// It was fitted to rivers: halve its effect for alarms, and let two readings of
// oxygen calibrate it.
//
// Errors wrap quantity.ErrRange.
//
// Source: [butts-evans-1983]. Check: 0.4 m, 22 °C, a 1.6, b 0.8: 1.374.
func WeirRatio(dropM, tempC, a, b float64) (float64, error) {
	if err := check("falling water", bound{"drop", dropM, 0, highestDropM, "m"}, bound{"water temperature", tempC, 0, HighestDOC, "°C"},
		bound{"a", a, 0.1, 2.5, ""}, bound{"b", b, 0.05, 6, ""}); err != nil {
		return 0, err
	}
	return 1 + 0.38*a*b*dropM*(1-0.11*dropM)*(1+0.046*tempC), nil
}

// GamesonRatio is WeirRatio after an older equation, for drops up to 1 m.
//
// Errors wrap quantity.ErrRange.
//
// Source: [gameson-1958], from memory. Check: 0.4 m, 22 °C, a 1.8, b 1: 1.523.
func GamesonRatio(dropM, tempC, a, b float64) (float64, error) {
	if err := check("falling water", bound{"drop", dropM, 0, 1, "m"}, bound{"water temperature", tempC, 0, HighestDOC, "°C"},
		bound{"a", a, 0.1, 2.5, ""}, bound{"b", b, 0.05, 6, ""}); err != nil {
		return 0, err
	}
	return 1 + 0.361*a*b*(1+0.046*tempC)*dropM, nil
}

// NakasoneRatio is WeirRatio with the flow over the crest, 0.01 to 235 m²/h (m³/h
// per m), a drop up to 1.2 m (critical depth over the crest counted one and a
// half times) into a pool of 0.05 to 5 m. At the small flows of a fish house it
// gives a fifth to an eighth of the others.
//
// Errors wrap quantity.ErrRange.
//
// Source: [nakasone-1987], from memory. Check: 0.4 m, 22 °C, 10 m²/h, 0.3 m: 1.049.
func NakasoneRatio(dropM, tempC, flowM2H, poolM float64) (float64, error) {
	if err := check("falling water", bound{"drop", dropM, 0, 1.2, "m"}, bound{"water temperature", tempC, 0, HighestDOC, "°C"},
		bound{"flow over the crest", flowM2H, 0.01, 235, "m²/h"}, bound{"depth of the pool", poolM, 0.05, 5, "m"}); err != nil {
		return 0, err
	}
	q := flowM2H / 3600
	fall := dropM + 1.5*math.Cbrt(q*q/9.81)
	if err := check("falling water", bound{"drop with the depth over the crest", fall, 0, 1.2, "m"}); err != nil {
		return 0, err
	}
	ln20 := 0.0785 * math.Pow(fall, 1.31) * math.Pow(flowM2H, 0.428) * math.Pow(poolM, 0.310)
	return math.Exp(ln20 * math.Pow(1.0241, tempC-20)), nil
}

// AfterFall returns the oxygen below a fall of a ratio (1 to 1e3), g/m³, and its
// efficiency, the share of the want or surplus that is made good.
//
// Errors wrap quantity.ErrRange.
//
// Check: 5.0 under saturation 8.744, ratio 1.374: 6.02, 0.272.
func AfterFall(doGm3, csGm3, ratio float64) (afterGm3, efficiency float64, err error) {
	if err := check("falling water", gm3Bound("oxygen", doGm3, 40), gm3BoundFrom("saturation", csGm3, 1, 20), bound{"ratio", ratio, 1, 1e3, ""}); err != nil {
		return 0, 0, err
	}
	return csGm3 - (csGm3-doGm3)/ratio, 1 - 1/ratio, nil
}

// CO2Stripped returns the share of CO2 above equilibrium that a step takes out
// which makes good efficiency (0 to 1) of oxygen's want, with airPerWater (0 to
// 1e4) volumes of fresh air to a volume of water of 0 to 45 °C: the air fills up
// with CO2 long before it runs out of oxygen.
//
// Errors wrap quantity.ErrRange.
//
// Check: 20 °C, one volume of air, no limit by the film: 0.51.
func CO2Stripped(efficiency, airPerWater, tempC float64) (float64, error) {
	if err := check("stripping", bound{"efficiency", efficiency, 0, 1, ""}, bound{"air to water", airPerWater, 0, 1e4, ""}); err != nil {
		return 0, err
	}
	e, err := NewEquilibria(tempC, 0)
	if err != nil {
		return 0, err
	}
	henry := e.HenryRatio()
	return min(1-math.Pow(1-efficiency, co2Film), airPerWater*henry/(1+airPerWater*henry)), nil
}

// HenryRatio is the CO2 of air over that of water in equilibrium, both by
// volume. Check: 20 °C 1.06.
func (e *Equilibria) HenryRatio() float64 { return 1 / (e.KH * 0.082057 * (e.TempC + 273.15)) }

// AiredCO2PerDay is the transfer of CO2 per day of a water whose oxygen's is
// oxygenPerDay, when airPerDay volumes of fresh air go through a volume of it
// each day: the film of the bubble and the air that fills up, one after the
// other. An infinite airPerDay leaves the film alone, as at an open surface. It
// refuses nothing; arguments at least 0.
func (e *Equilibria) AiredCO2PerDay(oxygenPerDay, airPerDay float64) float64 {
	film := co2Film * oxygenPerDay
	carried := airPerDay * e.HenryRatio()
	if math.IsInf(airPerDay, 1) {
		return film
	}
	if carried <= 0 {
		return 0
	}
	return carried * -math.Expm1(-film/carried)
}

// OxygenHours returns the hours until oxygen falls from doGm3 to limitGm3 (both
// 0 to 40) when only the surface brings some in: saturation csGm3 (1 to 20),
// surface transfer kLaPerH (0 to 100) and a use of useGm3H (0 to 1e4) that stays
// the same, which is on the safe side down to about 30 % of saturation. reached
// is false where the surface carries the load for good; 0 hours when oxygen is
// at the limit or below already.
//
// Errors wrap quantity.ErrRange.
//
// Check: 25 °C, 6.5 to 3 g/m³, 10 kg/m³ of 250 mg/kg/h, 1 m/d over 0.8 m: 91.6 min.
func OxygenHours(doGm3, limitGm3, csGm3, kLaPerH, useGm3H float64) (hours float64, reached bool, err error) {
	if err := check("hours of oxygen", gm3Bound("oxygen now", doGm3, 40), gm3Bound("limit", limitGm3, 40), gm3BoundFrom("saturation", csGm3, 1, 20),
		bound{"surface transfer", kLaPerH, 0, 100, "1/h"}, bound{"oxygen use", useGm3H, 0, 1e4, "g/m³/h"}); err != nil {
		return 0, false, err
	}
	switch {
	case doGm3 <= limitGm3:
		return 0, true, nil
	case kLaPerH*(csGm3-limitGm3) >= useGm3H:
		return 0, false, nil
	}
	falls := useGm3H - kLaPerH*(csGm3-doGm3) // at the start, g/m³/h
	x := kLaPerH * (doGm3 - limitGm3) / falls
	if x < 1e-9 {
		return (doGm3 - limitGm3) / falls, true, nil
	}
	return -math.Log1p(-x) / kLaPerH, true, nil
}
