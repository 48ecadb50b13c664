package water

import "fmt"

// Event is a process that changes alkalinity or dissolved carbon.
type Event string

// The events, each by the mole; the opposite process is a negative amount.
const (
	CO2Respired          Event = "CO2 respired"                 // by the mole of CO2; negative: stripped or fixed
	AmmoniaExcreted      Event = "ammonia excreted"             // by the mole of N, as NH3; mineralised too
	Nitritation          Event = "ammonium to nitrite"          // by the mole of N; nitrite to nitrate changes nothing more
	AmmoniumAssimilated  Event = "ammonium assimilated"         // by the mole of N, into bacteria or plants
	NitrateTaken         Event = "nitrate taken or denitrified" // by the mole of N
	PhosphateReleased    Event = "phosphate released"           // by the mole of P, as H2PO4-; negative: taken up
	PotassiumTaken       Event = "potassium taken"              // by the mole
	CalciumTaken         Event = "calcium taken"                // by the mole
	CalciumCarbonateGone Event = "calcium carbonate dissolved"  // by the mole; negative: precipitated
)

var events = map[Event]struct{ alk, dic float64 }{
	CO2Respired: {0, 1}, AmmoniaExcreted: {1, 0}, Nitritation: {-2, 0}, AmmoniumAssimilated: {-1, 0},
	NitrateTaken: {1, 0}, PhosphateReleased: {-1, 0}, PotassiumTaken: {-1, 0}, CalciumTaken: {-2, 0}, CalciumCarbonateGone: {2, 1},
}

// Change returns what mol of an event adds to alkalinity (eq) and dissolved
// carbon (mol); carbon that goes into biomass or comes from it is booked as
// CO2Respired. An unknown event is an error.
//
// Nitrogen from feed to nitrate that stays costs one equivalent a mole in all,
// not two: excreting it as ammonia gave one.
//
// Source: [wolf-gladrow-2007], from memory.
func (e Event) Change(mol float64) (alkEq, dicMol float64, err error) {
	c, known := events[e]
	if !known {
		return 0, 0, fmt.Errorf("alkalinity: there is no event %q", string(e))
	}
	return c.alk * mol, c.dic * mol, nil
}

// CaCO3PerN is the alkalinity of an equivalent per mole of nitrogen, g CaCO3 per g N.
const CaCO3PerN = CaCO3PerEq / MolarN

// Ions are the concentrations that fix alkalinity, g/m³; nitrogen and phosphorus
// as elements.
type Ions struct {
	CaGm3, MgGm3, KGm3, NaGm3, TANGm3             float64
	ClGm3, SO4Gm3, NO2NGm3, NO3NGm3, PhosphateGm3 float64
}

// AlkEqM3 returns the alkalinity that follows from electric neutrality, eq/m³.
// Each concentration 0 to 1e5 g/m³.
//
// Errors wrap quantity.ErrRange.
//
// Source: [wolf-gladrow-2007], from memory. Check: Ca 60, Mg 12, K 40, Na 20,
// TAN 1, Cl 40, SO4 48, NO3-N 40, P 5: 0.80125.
func (i Ions) AlkEqM3() (float64, error) {
	if err := check("alkalinity of ions", gm3Bound("calcium", i.CaGm3, 1e5), gm3Bound("magnesium", i.MgGm3, 1e5),
		gm3Bound("potassium", i.KGm3, 1e5), gm3Bound("sodium", i.NaGm3, 1e5), gm3Bound("total ammonia nitrogen", i.TANGm3, 1e5),
		gm3Bound("chloride", i.ClGm3, 1e5), gm3Bound("sulfate", i.SO4Gm3, 1e5), gm3Bound("nitrite nitrogen", i.NO2NGm3, 1e5),
		gm3Bound("nitrate nitrogen", i.NO3NGm3, 1e5), gm3Bound("phosphate", i.PhosphateGm3, 1e5)); err != nil {
		return 0, err
	}
	return 2*i.CaGm3/MolarCa + 2*i.MgGm3/24.305 + i.KGm3/39.098 + i.NaGm3/22.990 + i.TANGm3/MolarN -
		i.ClGm3/35.453 - 2*i.SO4Gm3/96.06 - i.NO2NGm3/MolarN - i.NO3NGm3/MolarN - i.PhosphateGm3/MolarP, nil
}

// NitrateAlkalinityGd returns the alkalinity, g/d as CaCO3, that feed nitrogen
// costs when it goes through ammonia to nitrate and stays, nitrogenGd 0 to 1e9
// g/d, of which denitrifiedShare (0 to 1) goes off as gas and gives its part
// back.
//
// Errors wrap quantity.ErrRange.
//
// Check: 12.88 g/d, nothing denitrified: 46.0.
func NitrateAlkalinityGd(nitrogenGd, denitrifiedShare float64) (float64, error) {
	if err := check("alkalinity of nitrate", bound{"nitrogen", nitrogenGd, 0, 1e9, "g/d"}, bound{"denitrified share", denitrifiedShare, 0, 1, ""}); err != nil {
		return 0, err
	}
	return nitrogenGd * CaCO3PerN * (1 - denitrifiedShare), nil
}
