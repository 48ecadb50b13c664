package water

import (
	"fmt"
	"math"
	"slices"
)

// SaltBuildUp returns the concentration, g/m³, of an ion that nothing takes up
// after days (0 to 1e5) of topping up: evaporation leaves it behind, the drain
// takes it out, and topped-up water (evaporation and drain together, m³/d each 0
// to 1e5) brings sourceGm3. Concentrations 0 to 1e5.
//
// Errors wrap quantity.ErrRange.
//
// Check: 2 m³, 0.020 m³/d evaporated, 0.005 drained, 40 to begin with and in the
// source: 135.76 after 365 days.
func SaltBuildUp(volumeM3, evaporationM3Day, drainM3Day, sourceGm3, startGm3, days float64) (float64, error) {
	if err := check("build-up of salts", volumeBound(volumeM3), bound{"evaporation", evaporationM3Day, 0, 1e5, "m³/d"}, bound{"drain", drainM3Day, 0, 1e5, "m³/d"},
		gm3Bound("source", sourceGm3, 1e5), gm3Bound("start", startGm3, 1e5), bound{"days", days, 0, 1e5, "d"}); err != nil {
		return 0, err
	}
	in := (evaporationM3Day + drainM3Day) * sourceGm3 * days / volumeM3
	x := drainM3Day * days / volumeM3
	if x < 1e-12 {
		return startGm3 + in, nil
	}
	return startGm3*math.Exp(-x) - in*math.Expm1(-x)/x, nil
}

// SettledSaltGm3 returns where SaltBuildUp ends, g/m³; ok is false without a
// drain: it never ends. Check: 0.020 and 0.005 m³/d, source 40: 200.
func SettledSaltGm3(evaporationM3Day, drainM3Day, sourceGm3 float64) (gm3 float64, ok bool) {
	if !(drainM3Day > 0) {
		return 0, false
	}
	return (evaporationM3Day + drainM3Day) * sourceGm3 / drainM3Day, true
}

// ChlorideSalt is a salt that brings chloride.
type ChlorideSalt struct {
	Formula  string
	ChlGG    float64 // chloride, g/g
	SodiumGG float64 // sodium, g/g
}

var chlorideSalts = []ChlorideSalt{{"NaCl", 0.6066, 0.3934}, {"CaCl2.2H2O", 0.4823, 0}, {"KCl", 0.4756, 0}}

// ChlorideSalts returns the salts that ChlorideDose knows.
func ChlorideSalts() []ChlorideSalt { return slices.Clone(chlorideSalts) }

// ChlorideDose returns the chloride that keeps nitrite out of gills, g/m³, and
// the salt that brings it up to there, g: ratio (1 to 100) of chloride to
// nitrite nitrogen, 20 at least, 33 for sick fish or cold water. Volume 1e-6 to
// 1e6 m³, nitrite nitrogen 0 to 1000, chloride 0 to 1e5. addedNaGm3 is the sodium
// that comes with it; above 50 g/m³ it harms greens, and it stays.
//
// Errors wrap quantity.ErrRange.
//
// Source: [srac-462]; ratio on the nitrogen common practice. Check: 2 m³, 2 g/m³,
// 10 g/m³, 20: 40 and 98.9 g NaCl.
func ChlorideDose(volumeM3, no2nGm3, chlorideGm3, ratio float64, salt ChlorideSalt) (targetGm3, saltG, addedNaGm3 float64, err error) {
	if err := check("chloride against nitrite", volumeBound(volumeM3), gm3Bound("nitrite nitrogen", no2nGm3, 1000), gm3Bound("chloride", chlorideGm3, 1e5),
		bound{"ratio", ratio, 1, 100, ""}, bound{"chloride of the salt", salt.ChlGG, 0.1, 1, "g/g"}); err != nil {
		return 0, 0, 0, err
	}
	targetGm3 = ratio * no2nGm3
	saltG = max(0, targetGm3-chlorideGm3) * volumeM3 / salt.ChlGG
	return targetGm3, saltG, saltG * salt.SodiumGG / volumeM3, nil
}

// LookupChlorideSalt returns the salt of a formula.
func LookupChlorideSalt(formula string) (ChlorideSalt, error) {
	for _, s := range chlorideSalts {
		if s.Formula == formula {
			return s, nil
		}
	}
	return ChlorideSalt{}, fmt.Errorf("chloride against nitrite: the salt %q is not known; give NaCl, CaCl2.2H2O or KCl", formula)
}

// dechlorinators are g of agent per g of chlorine.
//
// Source: [awwa-dechlorination]; thiosulfate at the fast reaction.
var dechlorinators = map[string]float64{
	"ascorbic-acid": 2.5, "sodium-ascorbate": 2.8, "sodium-thiosulfate-pentahydrate": 7, "sodium-sulfite": 1.96,
}

// Dechlorinators returns the agents that Dechlorination knows.
func Dechlorinators() []string {
	return []string{"ascorbic-acid", "sodium-ascorbate", "sodium-thiosulfate-pentahydrate", "sodium-sulfite"}
}

// Dechlorination returns the agent, g, for chlorine of 0 to 100 g/m³ in a volume
// of 1e-6 to 1e6 m³.
//
// Errors wrap quantity.ErrRange; an unknown agent is an error.
//
// Check: 1 m³, 2 g/m³, thiosulfate: 14 g.
func Dechlorination(volumeM3, chlorineGm3 float64, agent string) (float64, error) {
	if err := check("dechlorination", volumeBound(volumeM3), gm3Bound("chlorine", chlorineGm3, 100)); err != nil {
		return 0, err
	}
	per, known := dechlorinators[agent]
	if !known {
		return 0, fmt.Errorf("dechlorination: the agent %q is not known; give one of %v", agent, Dechlorinators())
	}
	return volumeM3 * chlorineGm3 * per, nil
}

// ChloramineTANGm3 is the total ammonia nitrogen that monochloramine of 1 g/m³
// as chlorine sets free. Check: 2 g/m³: 0.40.
const ChloramineTANGm3 = MolarN / 70.906

// IronDose returns the chelate, g, that brings ironGm3 (0 to 100) of iron to a
// volume (1e-6 to 1e6 m³) with a share of iron of 0.001 to 1.
//
// Errors wrap quantity.ErrRange.
//
// Check: 2 g/m³ in 1 m³ at 11 %: 18.2 g.
func IronDose(volumeM3, ironGm3, ironShare float64) (float64, error) {
	if err := check("iron", volumeBound(volumeM3), gm3Bound("iron", ironGm3, 100), bound{"share of iron", ironShare, 0.001, 1, ""}); err != nil {
		return 0, err
	}
	return ironGm3 * volumeM3 / ironShare, nil
}

// Chelate is a kind of iron and the pH up to which it holds.
type Chelate struct {
	Name    string
	HoldsPH float64
}

// Chelates returns the usual kinds. From memory; suppliers differ by half a pH.
func Chelates() []Chelate { return []Chelate{{"Fe-EDTA", 6.5}, {"Fe-DTPA", 7.5}, {"Fe-EDDHA", 9}} }

// IronLeftGm3 returns the iron left of a dose after days (0 to 1e4) at a daily
// loss of 0 to 5; 0.03 to 0.07 for DTPA at pH 7 (common practice, no source).
//
// Errors wrap quantity.ErrRange.
func IronLeftGm3(ironGm3, lossPerDay, days float64) (float64, error) {
	if err := check("iron", gm3Bound("iron", ironGm3, 100), bound{"loss", lossPerDay, 0, 5, "1/d"}, bound{"days", days, 0, 1e4, "d"}); err != nil {
		return 0, err
	}
	return ironGm3 * math.Exp(-lossPerDay*days), nil
}
