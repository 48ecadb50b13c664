package water

// What kits report beside Test.
const (
	HardnessParameter  Parameter = "hardness"
	CalciumParameter   Parameter = "calcium"
	ECParameter        Parameter = "ec"
	ChlorideParameter  Parameter = "chloride"
	PhosphateParameter Parameter = "phosphate"
)

// Masses of an ion per mass of its nitrogen, g/g: a kit's reading as the ion is
// divided by them. Computed from atomic weights [iupac-2021]; printed 4.427,
// 3.285 and 1.288.
const (
	NO3PerN = 62.004 / MolarN
	NO2PerN = 46.005 / MolarN
	NH4PerN = 18.039 / MolarN
)

// CaCO3PerCa is hardness as CaCO3 per calcium, g/g.
const CaCO3PerCa = 2 * CaCO3PerEq / MolarCa

// CaCO3PerDegree is a German degree of hardness, or a degree of carbonate
// hardness, in g/m³ as CaCO3: 10 g/m³ of CaO. Printed 17.85.
const CaCO3PerDegree = 10 * 2 * CaCO3PerEq / 56.077

// Conductivities of ions at infinite dilution and 25 °C, dS/m per eq/m³. From
// memory of the handbooks' tables of limiting ionic conductivities.
const (
	bicarbonateDSm = 0.0445
	nitrateDSm     = 0.0714
	nitriteDSm     = 0.0718
	chlorideDSm    = 0.0763
	ammoniumDSm    = 0.0735
	magnesiumDSm   = 0.0530 // per eq, of hardness; calcium has 0.0595
	sodiumDSm      = 0.0501 // the slowest cation of tank water
)

// dilutionShare is what interaction of the ions leaves of those conductivities
// in fresh water; 0.85 to 0.95 up to 2 dS/m (common practice, no source).
const dilutionShare = 0.85

// LeastECDSm returns the conductivity at 25 °C, dS/m, that the measured ions of
// a sample have at the least: all anions with as much charge of the slowest
// cations, or the hardness with bicarbonate where that is more. Unknown values
// count as nothing; ok is false when none of them is known.
func (s *Sample) LeastECDSm() (ecDSm float64, ok bool) {
	type ion struct {
		eqM3 Figure
		dSm  float64
	}
	eq := func(f Figure, gEq float64) Figure { return Figure{f.Amount / gEq, f.Known} }
	var anionsEq, anions float64
	for _, i := range []ion{
		{s.AlkEqM3, bicarbonateDSm}, {eq(s.NO3NGm3, MolarN), nitrateDSm},
		{eq(s.NO2NGm3, MolarN), nitriteDSm}, {eq(s.ChlorideGm3, 35.453), chlorideDSm},
	} {
		if i.eqM3.Known && i.eqM3.Amount > 0 {
			ok = true
			anionsEq += i.eqM3.Amount
			anions += i.eqM3.Amount * i.dSm
		}
	}
	var cationsEq, cations float64
	for _, i := range []ion{{eq(s.HardnessGm3, CaCO3PerEq), magnesiumDSm}, {eq(s.TANGm3, MolarN), ammoniumDSm}} {
		if i.eqM3.Known && i.eqM3.Amount > 0 {
			ok = true
			cationsEq += i.eqM3.Amount
			cations += i.eqM3.Amount * i.dSm
		}
	}
	// What charge is left over on one side needs a partner on the other.
	if left := anionsEq - cationsEq; left > 0 {
		cations += left * sodiumDSm
	} else {
		anions -= left * bicarbonateDSm
	}
	return dilutionShare * (anions + cations), ok
}
