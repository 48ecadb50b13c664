package water

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tidebed/quantity"
)

// Chemical is a base or an acid as dosed.
type Chemical struct {
	Formula   string  // such as "KHCO3"
	Name      string  // for people
	GMol      float64 // molar mass, g/mol
	AlkEqMol  float64 // alkalinity of a mole; below 0 for acids
	CMolMol   float64 // inorganic carbon of a mole
	PMolMol   float64 // phosphate of a mole
	Element   string  // plant food that comes with it
	ElementGG float64 // of it, g/g
	Remark    string  // for people
}

// chemicals by their atomic weights [iupac-2021].
var chemicals = []Chemical{
	{Formula: "KHCO3", Name: "potassium bicarbonate", GMol: 100.115, AlkEqMol: 1, CMolMol: 1, Element: "K", ElementGG: 0.3905, Remark: "Gentle; brings its own CO2."},
	{Formula: "NaHCO3", Name: "sodium bicarbonate", GMol: 84.007, AlkEqMol: 1, CMolMol: 1, Element: "Na", ElementGG: 0.2737, Remark: "For the start only: sodium stays and harms crops."},
	{Formula: "K2CO3", Name: "potassium carbonate", GMol: 138.205, AlkEqMol: 2, CMolMol: 1, Element: "K", ElementGG: 0.5658, Remark: "Strong: dissolve it first; goggles and gloves."},
	{Formula: "Na2CO3", Name: "sodium carbonate", GMol: 105.988, AlkEqMol: 2, CMolMol: 1, Element: "Na", ElementGG: 0.4338, Remark: "Sodium stays and harms crops; goggles and gloves."},
	{Formula: "KOH", Name: "potassium hydroxide", GMol: 56.105, AlkEqMol: 1, Element: "K", ElementGG: 0.6969, Remark: "Caustic, hot on dissolving: goggles and gloves; flakes are 85 to 90 % pure."},
	{Formula: "Ca(OH)2", Name: "hydrated lime", GMol: 74.093, AlkEqMol: 2, Element: "Ca", ElementGG: 0.5409, Remark: "Caustic: as a slurry, in small parts; goggles and gloves."},
	{Formula: "CaCO3", Name: "calcium carbonate (calcite, shell)", GMol: 100.087, AlkEqMol: 2, CMolMol: 1, Element: "Ca", ElementGG: 0.4004, Remark: "Slow, and dissolves only below calcite saturation."},
	{Formula: "CaMg(CO3)2", Name: "dolomite", GMol: 184.401, AlkEqMol: 4, CMolMol: 2, Element: "Ca", ElementGG: 0.2173, Remark: "Very slow; brings magnesium too."},
	{Formula: "Mg(OH)2", Name: "magnesium hydroxide", GMol: 58.32, AlkEqMol: 2, Element: "Mg", ElementGG: 0.4168, Remark: "Slow."},
	{Formula: "HNO3", Name: "nitric acid, pure", GMol: 63.012, AlkEqMol: -1, Element: "N", ElementGG: 0.2223, Remark: "Acid into water, never the reverse; away from organic matter; goggles and gloves."},
	{Formula: "H3PO4", Name: "phosphoric acid, pure", GMol: 97.995, AlkEqMol: -1, PMolMol: 1, Element: "P", ElementGG: 0.3161, Remark: "Acid into water, never the reverse; takes calcium and iron out; goggles and gloves."},
	{Formula: "HCl", Name: "hydrochloric acid, pure", GMol: 36.461, AlkEqMol: -1, Element: "Cl", ElementGG: 0.9723, Remark: "Acid into water, never the reverse; never with hypochlorite: chlorine gas; goggles and gloves."},
	{Formula: "H2SO4", Name: "sulfuric acid, pure", GMol: 98.079, AlkEqMol: -2, Element: "S", ElementGG: 0.3269, Remark: "Dangerous to dilute: acid into water, slowly; goggles and gloves."},
}

// Chemicals returns all bases and acids.
func Chemicals() []Chemical { return slices.Clone(chemicals) }

// LookupChemical returns the chemical of a formula such as "Ca(OH)2".
func LookupChemical(formula string) (Chemical, error) {
	for _, c := range chemicals {
		if c.Formula == formula {
			return c, nil
		}
	}
	return Chemical{}, fmt.Errorf("doses: %q is not known; the chemicals are %v", formula, formulas())
}

func formulas() []string {
	out := make([]string, len(chemicals))
	for i, c := range chemicals {
		out[i] = c.Formula
	}
	return out
}

// AlkEqG is the alkalinity of a gram of the pure chemical, eq/g.
func (c Chemical) AlkEqG() float64 { return c.AlkEqMol / c.GMol }

// Errors of doses.
var (
	ErrWrongWay = errors.New("the chemical works the wrong way") // an acid to raise, a base to lower
	ErrTooFar   = errors.New("the target needs more alkalinity than is reckoned with")
)

// Bath is a water to be dosed.
type Bath struct {
	VolumeM3     float64 // 1e-6 to 1e6
	TempC        float64 // 0 to 45
	PH           float64 // measured
	AlkEqM3      float64 // measured, -10 to 50
	TANGm3       float64 // total ammonia nitrogen, 0 to 2000
	PhosphateGm3 float64 // as P, 0 to 2000
	IonicMolL    float64 // 0 to 0.5; 0.005 is usual
}

// Dose is what a chemical does to a bath, in grams of the chemical as bought.
type Dose struct {
	ClosedG       float64 // to the target within minutes, no CO2 coming or going
	ClosedOK      bool    // false: no amount reaches the target so
	OpenG         float64 // to the target once CO2 is back at the level of before
	OpenAlkEqM3   float64 // alkalinity then
	PHAtOnce      float64 // highest or lowest pH when OpenG goes in at once
	NH3NGm3       float64 // un-ionised ammonia nitrogen at the target, activities left out to be on the safe side
	NH3NAtOnceGm3 float64 // the same at PHAtOnce
	ElementGm3    float64 // of the chemical's Element that OpenG adds
}

// state is a bath with its constants.
type state struct {
	eq       Equilibria
	s        Solutes
	co2      float64
	ph       float64
	volumeM3 float64
}

func (b Bath) state() (st state, err error) {
	if err := check("dose", volumeBound(b.VolumeM3), phBound(b.PH), gm3Bound("total ammonia nitrogen", b.TANGm3, 2000), gm3Bound("phosphate", b.PhosphateGm3, 2000)); err != nil {
		return st, err
	}
	if st.eq, err = NewEquilibria(b.TempC, b.IonicMolL); err != nil {
		return st, fmt.Errorf("dose: %w", err)
	}
	st.s = Solutes{AlkEqM3: b.AlkEqM3, TANMolM3: b.TANGm3 / MolarN, PMolM3: b.PhosphateGm3 / MolarP}
	if st.s.DICMolM3, err = st.eq.DIC(b.PH, st.s); err != nil {
		return st, fmt.Errorf("dose: %w", err)
	}
	st.ph, st.volumeM3 = b.PH, b.VolumeM3
	st.co2 = st.eq.CO2(b.PH, st.s.DICMolM3)
	return st, nil
}

// closedMolM3 is the amount that brings the pH to the target with the carbon
// closed in: alkalinity is linear in carbon and phosphate at a given pH.
func (st *state) closedMolM3(c *Chemical, target float64) (molM3 float64, ok bool) {
	h := pow10(-target)
	short := st.eq.Alkalinity(target, st.s) - st.s.AlkEqM3
	gain := c.AlkEqMol - c.CMolMol*st.eq.carbonateShare(h) - c.PMolMol*st.eq.phosphateShare(h)
	molM3 = short / gain
	return molM3, gain != 0 && molM3 >= 0 && molM3 <= 1e4
}

// openMolM3 is the amount that brings the pH to the target at the same CO2.
func (st *state) openMolM3(c *Chemical, target float64) float64 {
	h := pow10(-target)
	open := st.s
	open.DICMolM3 = st.eq.DICOfCO2(target, st.co2)
	return (st.eq.Alkalinity(target, open) - st.s.AlkEqM3) / (c.AlkEqMol - c.PMolMol*st.eq.phosphateShare(h))
}

// add is the state after a dose at once, carbon closed in.
func (st *state) add(c *Chemical, molM3 float64) Solutes {
	s := st.s
	s.AlkEqM3 += molM3 * c.AlkEqMol
	s.DICMolM3 += molM3 * c.CMolMol
	s.PMolM3 += molM3 * c.PMolMol
	return s
}

// For returns the doses of a chemical of a purity (0.01 to 1) that bring a bath
// to a target pH of 3 to 12. An acid to raise the pH or a base to lower it is
// refused with ErrWrongWay, a target that needs more than 50 eq/m³ with
// ErrTooFar (the closed amount is given all the same), a pH that does not go
// with the alkalinity with ErrImpossible, the rest with quantity.ErrRange.
//
// Check: 2 m³, 22 °C, ionic strength 0.005, 20 mg/L as CaCO3, pH 6.4 to 7.0:
// KHCO3 240.3 g closed, 239.1 g open; KOH 23.9 g and 134.0 g.
func (b Bath) For(c Chemical, targetPH, purity float64) (Dose, error) {
	st, err := b.state()
	if err != nil {
		return Dose{}, err
	}
	if err := check("dose", bound{"target pH", targetPH, 3, 12, ""}, bound{"purity", purity, 0.01, 1, ""}); err != nil {
		return Dose{}, err
	}
	if err := wrongWay(&c, b.PH, targetPH); err != nil {
		return Dose{}, err
	}
	if targetPH == b.PH {
		nh3n := b.TANGm3 / (1 + pow10(ammoniaPKa(b.TempC)-targetPH))
		return Dose{ClosedOK: true, OpenAlkEqM3: b.AlkEqM3, PHAtOnce: b.PH, NH3NGm3: nh3n, NH3NAtOnceGm3: nh3n}, nil
	}
	grams := func(molM3 float64) float64 { return molM3 * c.GMol * b.VolumeM3 / purity }
	var d Dose
	if x, ok := st.closedMolM3(&c, targetPH); ok {
		d.ClosedG, d.ClosedOK = grams(x), true
	}
	x := st.openMolM3(&c, targetPH)
	after := st.add(&c, x)
	if !(after.AlkEqM3 <= MostAlkalinityEqM3) {
		return d, fmt.Errorf("dose: pH %g at the CO2 of now needs an alkalinity of %.3g eq/m³, above %g: strip CO2 first: %w", targetPH, after.AlkEqM3, MostAlkalinityEqM3, ErrTooFar)
	}
	d.OpenG, d.OpenAlkEqM3 = grams(x), after.AlkEqM3
	d.ElementGm3 = x * c.GMol * c.ElementGG
	if d.PHAtOnce, err = st.eq.PH(after, targetPH); err != nil {
		return Dose{}, fmt.Errorf("dose: %w", err)
	}
	d.NH3NGm3 = b.TANGm3 / (1 + pow10(ammoniaPKa(b.TempC)-targetPH))
	d.NH3NAtOnceGm3 = b.TANGm3 / (1 + pow10(ammoniaPKa(b.TempC)-d.PHAtOnce))
	return d, nil
}

func wrongWay(c *Chemical, ph, targetPH float64) error {
	if (targetPH-ph)*c.AlkEqMol < 0 {
		does := "raises"
		if c.AlkEqMol < 0 {
			does = "lowers"
		}
		return fmt.Errorf("dose: %s %s the pH, and %g is to become %g: %w", c.Formula, does, ph, targetPH, ErrWrongWay)
	}
	return nil
}

// Part is one day's part of a dose.
type Part struct {
	Day       int     // from 1
	G         float64 // grams of the chemical as bought
	PHAtOnce  float64 // in the first minutes
	PHSettled float64 // once CO2 is back
	NH3NGm3   float64 // un-ionised ammonia nitrogen at the worse of the two
}

// MostPHStepDay is how far the pH of water with fish may move in a day.
//
// Source: [fao-589], section 7.3, calls swings of 0.3 harmful.
const MostPHStepDay = 0.3

// mostParts is how many days a dose may be spread over.
const mostParts = 400

// Parts spreads a dose over days: each part moves the pH by no more than
// stepPH (0.01 to 2, usually MostPHStepDay), neither at once nor after CO2 has
// come back. Otherwise as For.
func (b Bath) Parts(c Chemical, targetPH, purity, stepPH float64) ([]Part, error) {
	if err := check("parts of a dose", bound{"step of pH", stepPH, 0.01, 2, ""}); err != nil {
		return nil, err
	}
	if _, err := b.For(c, targetPH, purity); err != nil {
		return nil, err
	}
	st, err := b.state()
	if err != nil {
		return nil, err
	}
	step := math.Copysign(stepPH, targetPH-b.PH)
	var parts []Part
	for math.Abs(targetPH-st.ph) > 1e-9 {
		if len(parts) == mostParts {
			return nil, fmt.Errorf("parts of a dose: after %d days the pH is %.2f: take a gentler chemical than %s: %w", mostParts, st.ph, c.Formula, ErrTooFar)
		}
		next := st.ph + step
		last := math.Abs(targetPH-st.ph) <= stepPH
		if last {
			next = targetPH
		}
		x := st.openMolM3(&c, next)
		settled := next
		if y, ok := st.closedMolM3(&c, st.ph+step); ok && y < x {
			x, settled, last = y, 0, false
		}
		after := st.add(&c, x)
		p := Part{Day: len(parts) + 1, G: x * c.GMol * b.VolumeM3 / purity, PHSettled: settled}
		if p.PHAtOnce, err = st.eq.PH(after, next); err != nil {
			return nil, fmt.Errorf("parts of a dose: %w", err)
		}
		if settled == 0 {
			if p.PHSettled, err = st.eq.PHAtCO2(after, st.co2, st.ph); err != nil {
				return nil, fmt.Errorf("parts of a dose: %w", err)
			}
		}
		p.NH3NGm3 = b.TANGm3 / (1 + pow10(ammoniaPKa(b.TempC)-max(p.PHAtOnce, p.PHSettled)))
		parts = append(parts, p)
		st.s, st.ph = after, p.PHSettled
		st.s.DICMolM3 = st.eq.DICOfCO2(st.ph, st.co2)
		if last {
			break
		}
	}
	return parts, nil
}

// SplitBases shares alkEq (eq, 0 to 1e6) between a calcium and a potassium base,
// calciumShare (0 to 1; half is usual practice) by alkalinity, and returns grams
// of each, pure.
//
// Errors wrap quantity.ErrRange; two bases that are not of calcium and of
// potassium are an error.
//
// Source: [rakocy-uvi]. Check: 0.92 eq, half, Ca(OH)2 and KOH: 17.04 g and 25.81 g.
func SplitBases(alkEq, calciumShare float64, calcium, potassium Chemical) (calciumG, potassiumG float64, err error) {
	if err := check("splitting bases", bound{"alkalinity", alkEq, 0, 1e6, "eq"}, bound{"share of calcium", calciumShare, 0, 1, ""}); err != nil {
		return 0, 0, err
	}
	if calcium.Element != "Ca" || potassium.Element != "K" {
		return 0, 0, fmt.Errorf("splitting bases: %s and %s are not a calcium and a potassium base; give for example Ca(OH)2 and KOH: %w", calcium.Formula, potassium.Formula, quantity.ErrRange)
	}
	return alkEq * calciumShare / calcium.AlkEqG(), alkEq * (1 - calciumShare) / potassium.AlkEqG(), nil
}
