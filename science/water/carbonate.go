package water

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
)

// Molar masses, g/mol.
const (
	MolarN     = 14.007
	MolarP     = 30.974
	MolarC     = 12.011
	MolarCa    = 40.078
	MolarCO2   = 44.009
	CaCO3PerEq = 100.086 / 2 // g CaCO3 per eq of alkalinity, and mg/L per meq/L
)

// Limits of alkalinity, eq/m³.
const (
	LeastAlkalinityEqM3 = -10.0
	MostAlkalinityEqM3  = 50.0
)

const mostMolM3 = 1000.0 // of dissolved carbon, ammonia or phosphate

// ErrImpossible is wrapped when measured values contradict each other, such as a
// pH and an alkalinity that would need less than no carbon.
var ErrImpossible = errors.New("these values cannot stand together")

// Solutes is what settles the pH of a water.
type Solutes struct {
	AlkEqM3  float64 // alkalinity against CO2, NH4+ and H2PO4-
	DICMolM3 float64 // dissolved inorganic carbon; not used where CO2 is held
	TANMolM3 float64 // ammonium and ammonia
	PMolM3   float64 // phosphate
}

// Equilibria are the constants of the acids in water of one temperature and
// ionic strength, mixed: hydrogen as the activity 10^-pH that a probe reads, the
// rest as concentrations in mol/L.
type Equilibria struct {
	TempC, IonicMolL float64

	K1, K2        float64 // carbonic acid
	KH            float64 // CO2, mol/L per atm
	Kw            float64 // of activities
	Ka            float64 // ammonium
	Kp1, Kp2, Kp3 float64 // phosphoric acid
	KCalcite      float64 // of activities
	Gamma1        float64 // activity coefficient of an ion of one charge
	Gamma2        float64 // of two charges
}

// plummer is the printed form of the constants' logarithms.
func plummer(tK, a, b, c, d, e float64) float64 {
	return a + b*tK + c/tK + d*math.Log10(tK) + e/(tK*tK)
}

func pow10(x float64) float64 { return math.Exp(math.Ln10 * x) }

// DebyeA is the constant A of the activity coefficients in water of 0 to 45 °C.
//
// Errors wrap quantity.ErrRange.
//
// Source: [davies-1962], permittivity of water from memory. Check: 25 °C 0.5116.
func DebyeA(tempC float64) (float64, error) {
	if err := check("activity coefficients", tempBound(tempC)); err != nil {
		return 0, err
	}
	return debyeA(tempC), nil
}

func debyeA(tempC float64) float64 {
	permittivity := 87.740 + tempC*(-0.40008+tempC*(9.398e-4-tempC*1.410e-6))
	return 1.82483e6 * math.Pow(permittivity*(tempC+273.15), -1.5)
}

// NewEquilibria returns the constants for water of 0 to 45 °C and an ionic
// strength of 0 to 0.5 mol/L (above 0.1 they are rough; tank water has 0.005 to
// 0.02).
//
// Errors wrap quantity.ErrRange.
//
// Source: [plummer-busenberg-1982] for carbonate, water and calcite;
// [emerson-1975] for ammonium; [bates-1951] for phosphoric acid; [davies-1962]
// for activities. Check: 25 °C pK1 6.3519, pK2 10.3289.
func NewEquilibria(tempC, ionicMolL float64) (Equilibria, error) {
	if err := check("acids in water", tempBound(tempC), bound{"ionic strength", ionicMolL, 0, 0.5, "mol/L"}); err != nil {
		return Equilibria{}, err
	}
	tK := tempC + 273.15
	root := math.Sqrt(ionicMolL)
	logG1 := -debyeA(tempC) * (root/(1+root) - 0.3*ionicMolL)
	g1, g2, g3 := pow10(logG1), pow10(4*logG1), pow10(9*logG1)
	return Equilibria{
		TempC: tempC, IonicMolL: ionicMolL, Gamma1: g1, Gamma2: g2,
		K1:       pow10(plummer(tK, -356.3094, -0.06091964, 21834.37, 126.8339, -1684915)) / g1,
		K2:       pow10(plummer(tK, -107.8871, -0.03252849, 5151.79, 38.92561, -563713.9)) * g1 / g2,
		KH:       pow10(plummer(tK, 108.3865, 0.01985076, -6919.53, -40.45154, 669365)),
		Kw:       pow10(plummer(tK, -283.971, -0.05069842, 13323.0, 102.24447, -1119669)),
		KCalcite: pow10(plummer(tK, -171.9065, -0.077993, 2839.319, 71.595, 0)),
		Ka:       pow10(-ammoniaPKa(tempC)) * g1,
		Kp1:      pow10(-(799.31/tK - 4.5535 + 0.013486*tK)) / g1,
		Kp2:      pow10(-(1979.5/tK - 5.3541 + 0.01984*tK)) * g1 / g2,
		Kp3:      pow10(-12.35) * g2 / g3,
	}, nil
}

// carbonateShare is the alkalinity of a mole of dissolved carbon, 0 to 2.
func (e *Equilibria) carbonateShare(h float64) float64 {
	return e.K1 * (h + 2*e.K2) / (h*h + e.K1*h + e.K1*e.K2)
}

// phosphateShare is the alkalinity of a mole of phosphate, -1 to 2.
func (e *Equilibria) phosphateShare(h float64) float64 {
	k12 := e.Kp1 * e.Kp2
	return (k12*h + 2*k12*e.Kp3 - h*h*h) / (h*h*h + e.Kp1*h*h + k12*h + k12*e.Kp3)
}

// waterAlk is the alkalinity of the water's own ions, eq/m³.
func (e *Equilibria) waterAlk(h float64) float64 { return 1e3 * (e.Kw/h - h) / e.Gamma1 }

// Ammonia returns the share of ammonia that is un-ionised at a pH of 0 to 14,
// activities counted. No range is checked.
func (e *Equilibria) Ammonia(ph float64) float64 { return 1 / (1 + pow10(-ph)/e.Ka) }

// CO2 returns the dissolved CO2 of dissolved carbon at a pH, both mol/m³. No
// range is checked.
func (e *Equilibria) CO2(ph, dicMolM3 float64) float64 {
	h := pow10(-ph)
	return dicMolM3 / (1 + e.K1/h*(1+e.K2/h))
}

// DICOfCO2 returns the dissolved carbon that goes with a dissolved CO2 at a pH,
// both mol/m³. No range is checked.
func (e *Equilibria) DICOfCO2(ph, co2MolM3 float64) float64 {
	h := pow10(-ph)
	return co2MolM3 * (1 + e.K1/h*(1+e.K2/h))
}

// CO2OfAir returns the dissolved CO2, mol/m³, in equilibrium with a partial
// pressure of CO2 in atm.
func (e *Equilibria) CO2OfAir(pCO2Atm float64) float64 { return 1e3 * e.KH * pCO2Atm }

// Alkalinity returns the alkalinity of solutes at a pH, eq/m³; their own AlkEqM3
// is not looked at. No range is checked.
func (e *Equilibria) Alkalinity(ph float64, s Solutes) float64 {
	h := pow10(-ph)
	return s.DICMolM3*e.carbonateShare(h) + e.otherAlk(h, s)
}

// otherAlk is the alkalinity without that of carbonate.
func (e *Equilibria) otherAlk(h float64, s Solutes) float64 {
	return e.waterAlk(h) + s.TANMolM3/(1+h/e.Ka) + s.PMolM3*e.phosphateShare(h)
}

// DIC returns the dissolved carbon, mol/m³, of a water by its measured pH and
// the alkalinity, ammonia and phosphate of s. A pair that needs less than no
// carbon is refused with ErrImpossible, values out of range with
// quantity.ErrRange.
func (e *Equilibria) DIC(ph float64, s Solutes) (float64, error) {
	s.DICMolM3 = 0
	if err := s.check("carbon of a water"); err != nil {
		return 0, err
	}
	if err := check("carbon of a water", phBound(ph)); err != nil {
		return 0, err
	}
	h := pow10(-ph)
	dic := (s.AlkEqM3 - e.otherAlk(h, s)) / e.carbonateShare(h)
	if !(dic >= 0) {
		return 0, fmt.Errorf("carbon of a water: pH %.4g with alkalinity %.4g eq/m³ would need a dissolved carbon of %.3g mol/m³: measure both again: %w", ph, s.AlkEqM3, dic, ErrImpossible)
	}
	if dic > mostMolM3 {
		return 0, fmt.Errorf("carbon of a water: pH %.4g with alkalinity %.4g eq/m³ would need a dissolved carbon of %.3g mol/m³, above %g: measure both again: %w", ph, s.AlkEqM3, dic, mostMolM3, quantity.ErrRange)
	}
	return dic, nil
}

func (s *Solutes) check(what string) error {
	if s.AlkEqM3 >= LeastAlkalinityEqM3 && s.AlkEqM3 <= MostAlkalinityEqM3 &&
		s.DICMolM3 >= 0 && s.DICMolM3 <= mostMolM3 && s.TANMolM3 >= 0 && s.TANMolM3 <= mostMolM3 && s.PMolM3 >= 0 && s.PMolM3 <= mostMolM3 {
		return nil
	}
	return check(what, alkalinityBound(s.AlkEqM3), bound{"dissolved carbon", s.DICMolM3, 0, mostMolM3, "mol/m³"},
		bound{"total ammonia", s.TANMolM3, 0, mostMolM3, "mol/m³"}, bound{"phosphate", s.PMolM3, 0, mostMolM3, "mol/m³"})
}

// PH returns the pH of a water whose carbon is closed in: s.DICMolM3 counts. The
// search starts at guess, best the last pH of the same water (any other number,
// NaN too, will do). Alkalinity -10 to 50 eq/m³, the rest 0 to 1000 mol/m³.
//
// Errors wrap quantity.ErrRange.
//
// Check: 25 °C, alkalinity 2, carbon 2.2: 7.34606.
func (e *Equilibria) PH(s Solutes, guess float64) (float64, error) {
	if err := s.check("pH"); err != nil {
		return 0, err
	}
	return e.solve(&s, -1, guess), nil
}

// PHAtCO2 returns the pH of a water whose dissolved CO2 is held at 0 to 1000
// mol/m³ by air or by what lives in it; s.DICMolM3 is not looked at. Otherwise as PH.
//
// Errors wrap quantity.ErrRange.
//
// Check: 20 °C, ionic strength 0.01, alkalinity 1, CO2 of air of 420 ppm: 8.11406.
func (e *Equilibria) PHAtCO2(s Solutes, co2MolM3, guess float64) (float64, error) {
	s.DICMolM3 = 0
	if err := s.check("pH"); err != nil {
		return 0, err
	}
	if err := check("pH", bound{"dissolved CO2", co2MolM3, 0, mostMolM3, "mol/m³"}); err != nil {
		return 0, err
	}
	return e.solve(&s, co2MolM3, guess), nil
}

// residual is alkalinity at a pH less the one sought, and its slope by pH, both
// eq/m³. It rises all the way. co2 below 0: carbon is closed in.
func (e *Equilibria) residual(ph float64, s *Solutes, co2 float64) (f, slope float64) {
	return e.residualAt(pow10(-ph), s, co2)
}

// residualAt is residual by the activity of hydrogen.
func (e *Equilibria) residualAt(h float64, s *Solutes, co2 float64) (f, slope float64) {
	oh, free := 1e3*e.Kw/(h*e.Gamma1), 1e3*h/e.Gamma1
	f = oh - free - s.AlkEqM3
	slope = oh + free // as -h·d/dh; by pH ln 10 times as much
	if co2 < 0 {
		k12 := e.K1 * e.K2
		d := 1 / (h*h + e.K1*h + k12)
		f += s.DICMolM3 * e.K1 * (h + 2*e.K2) * d
		slope += s.DICMolM3 * e.K1 * h * (h*h + 4*e.K2*h + k12) * d * d
	} else {
		one, two := co2*e.K1/h, co2*e.K1*e.K2/(h*h)
		f += one + 2*two
		slope += one + 4*two
	}
	if s.TANMolM3 != 0 {
		share := 1 / (1 + h/e.Ka)
		f += s.TANMolM3 * share
		slope += s.TANMolM3 * share * (1 - share)
	}
	if s.PMolM3 != 0 {
		k12 := e.Kp1 * e.Kp2
		k123 := k12 * e.Kp3
		d := 1 / (h*(h*(h+e.Kp1)+k12) + k123)
		n := k12*h + 2*k123 - h*h*h
		f += s.PMolM3 * n * d
		slope += s.PMolM3 * h * (n*(h*(3*h+2*e.Kp1)+k12)*d - (k12 - 3*h*h)) * d
	}
	return f, math.Ln10 * slope
}

// solve finds the root of residual by Newton's steps; one that would leave the
// bracket, or is not half of the last step or less, is replaced by halving it:
// where a titration curve bends both ways, steps alone can go to and fro forever.
func (e *Equilibria) solve(s *Solutes, co2, guess float64) float64 {
	lo, hi, ph := 0.0, 14.0, guess
	if !(ph > lo && ph < hi) {
		ph = 7
	}
	for last := hi - lo; hi-lo > 1e-13; {
		f, slope := e.residual(ph, s, co2)
		if f < 0 {
			lo = ph
		} else {
			hi = ph
		}
		step := f / slope
		size := math.Abs(step)
		if next := ph - step; next >= lo && next <= hi && size <= last/2 {
			ph = next
			if size < 1e-6 { // what is left is of the order of its square
				return ph
			}
			last = size
		} else {
			ph = (lo + hi) / 2
			last = hi - lo
		}
	}
	return ph
}

// Settled is a water whose pH is found, with the slopes that an integrator's
// Jacobian needs. Concentrations in mol/m³, alkalinity in eq/m³.
type Settled struct {
	h                      float64
	PH                     float64
	CO2MolM3               float64
	NH3Share               float64 // of total ammonia, activities counted
	PerDIC, PerAlk, PerTAN float64 // ∂PH/∂
	CO2PerDIC, CO2PerPH    float64 // ∂CO2/∂ at a given pH, and by the pH
	NH3PerPH               float64 // ∂NH3Share/∂PH
}

// Settle is PH for integrators: it refuses nothing, counts negative contents
// as none, and adds the slopes. out comes with the last state of the same water,
// from which the search starts; zero will do.
func (e *Equilibria) Settle(s *Solutes, out *Settled) {
	s.DICMolM3, s.TANMolM3 = max(0, s.DICMolM3), max(0, s.TANMolM3)
	h, slope := out.h, 0.0
	for near := h > 0; ; {
		if !near {
			h = pow10(-e.solve(s, -1, out.PH))
		}
		var f float64
		f, slope = e.residualAt(h, s, -1)
		step := f / slope
		if step > 0.01 || step < -0.01 {
			if !near {
				break // as near as the bracket comes
			}
			near = false
			continue
		}
		x := math.Ln10 * step
		h *= 1 + x*(1+x/2*(1+x/3*(1+x/4))) // the exponential of a small x
		if !near || !(math.Abs(step) >= 1e-5) {
			break // what is left is of the order of its square, or the bracket comes no nearer; NaN ends too
		}
	}
	k12 := e.K1 * e.K2
	d := 1 / (h*h + e.K1*h + k12)
	share := 1 / (1 + h/e.Ka)
	free := h * h * d
	*out = Settled{
		h: h, PH: -math.Log10(h), CO2MolM3: s.DICMolM3 * free, NH3Share: share,
		PerDIC: -e.K1 * (h + 2*e.K2) * d / slope, PerAlk: 1 / slope, PerTAN: -share / slope,
		CO2PerDIC: free, CO2PerPH: -math.Ln10 * s.DICMolM3 * free * (e.K1*h + 2*k12) * d,
		NH3PerPH: math.Ln10 * share * (1 - share),
	}
}

// CO2OfAlkalinityGm3 is the trade's short form: dissolved CO2, g/m³, of an
// alkalinity that is all bicarbonate, at pH 4 to 9 and zero ionic strength. In
// soft water it overstates: take Equilibria.
//
// Errors wrap quantity.ErrRange.
//
// Source: [plummer-busenberg-1982]. Check: 25 °C, pH 7, 100 mg/L as CaCO3: 19.77.
func CO2OfAlkalinityGm3(tempC, ph, alkEqM3 float64) (float64, error) {
	if err := check("carbon dioxide", bound{"pH", ph, 4, 9, ""}, bound{"alkalinity", alkEqM3, 0, MostAlkalinityEqM3, "eq/m³"}); err != nil {
		return 0, err
	}
	e, err := NewEquilibria(tempC, 0)
	if err != nil {
		return 0, err
	}
	return alkEqM3 * MolarCO2 * pow10(-ph) / e.K1, nil
}

// CalciteIndex returns the saturation index of calcite: below 0 limestone and
// shell dissolve, above about 0.8 scale forms and dosed calcium and phosphate
// are lost. Calcium 0.01 to 2000 g/m³; pairs of ions are left out.
//
// Errors wrap quantity.ErrRange or ErrImpossible.
//
// Check: 25 °C, ionic strength 0.01, calcium 50, alkalinity 100 mg/L as CaCO3,
// pH 7: -0.678.
func (e *Equilibria) CalciteIndex(ph float64, s Solutes, calciumGm3 float64) (float64, error) {
	if err := check("calcite saturation", bound{"calcium", calciumGm3, 0.01, 2000, "g/m³"}); err != nil {
		return 0, err
	}
	dic, err := e.DIC(ph, s)
	if err != nil {
		return 0, err
	}
	h := pow10(-ph)
	carbonateMolL := dic * 1e-3 * e.K1 * e.K2 / (h*h + e.K1*h + e.K1*e.K2)
	if carbonateMolL <= 0 {
		return 0, fmt.Errorf("calcite saturation: water without carbonate has none: %w", ErrImpossible)
	}
	calciumMolL := calciumGm3 / MolarCa * 1e-3
	return math.Log10(e.Gamma2*calciumMolL) + math.Log10(e.Gamma2*carbonateMolL) - math.Log10(e.KCalcite), nil
}

// IonicMolL returns the ionic strength of tank water by its conductivity at 25
// °C, 0 to 30 dS/m.
//
// Errors wrap quantity.ErrRange.
//
// Source: [griffin-jurinak-1973], from memory.
func IonicMolL(ecDSm float64) (float64, error) {
	if err := check("ionic strength", bound{"conductivity", ecDSm, 0, 30, "dS/m"}); err != nil {
		return 0, err
	}
	return 0.013 * ecDSm, nil
}

// ECAt25 returns a conductivity as at 25 °C, from one of 0 to 100 dS/m measured
// at 0 to 45 °C.
//
// Errors wrap quantity.ErrRange.
//
// Source: [apha-2510], from memory.
func ECAt25(ecDSm, tempC float64) (float64, error) {
	if err := check("conductivity", bound{"conductivity", ecDSm, 0, 100, "dS/m"}, tempBound(tempC)); err != nil {
		return 0, err
	}
	return ecDSm / (1 + 0.0191*(tempC-25)), nil
}
