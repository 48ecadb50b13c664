package water

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/table"
)

// gasConstant in J/(mol K), as used with the Arrhenius curves below.
const gasConstant = 8.314

// Growth is a curve of growth by temperature, per day; decay goes with it.
type Growth struct {
	activationJMol     float64 // > 0: exponential around 20 °C
	ratB, ratC         float64 // otherwise the square root of the rate
	ratMinC, ratMaxC   float64
	decayTheta         float64
	growth20, decay20D float64
}

// Nitrifier is one of the two groups of bacteria. Masses of bacteria are in g of
// chemical oxygen demand (COD).
type Nitrifier struct {
	Name            string
	Growth20PerDay  float64 // fastest growth at 20 °C
	YieldGCODGN     float64 // bacteria per nitrogen oxidised, g COD/g N
	KSubstrateGm3   float64 // half rate: total ammonia or nitrite nitrogen
	KOxygenGm3      float64 // half rate: oxygen
	KAlkEqM3        float64 // half rate: alkalinity
	KFreeAmmoniaGm3 float64 // half rate: un-ionised ammonia nitrogen, an inhibitor
	OxygenGGN       float64 // oxygen per nitrogen oxidised before synthesis, g/g
	temperature     Growth
}

// NitrogenInBiomass is the nitrogen of bacteria, g N/g COD.
//
// Source: [hiatt-grady-2008].
const NitrogenInBiomass = 0.086

// SeedGCODM3 are usual first stocks of each group, g COD per m³ of water: new
// media, media or water from a running bed beside it, and the least that comes
// back by itself after a poisoning.
const (
	SeedNewGCODM3   = 1e-5
	SeedWaterGCODM3 = 1e-4
	SeedLeastGCODM3 = 1e-6
)

// DenitrifiedShare is the usual share of nitrified nitrogen that a media bed
// loses as gas; 0.1 in a clean one, 0.5 in a sludgy one. Common practice, no
// source; [zou-2016] found 30 to 50 % of the nitrogen missing.
const DenitrifiedShare = 0.3

// AmmoniaOxidisers returns the bacteria that turn ammonium into nitrite, of the
// set that is usual here.
//
// Source: [vannecke-volcke], half rates of nitrogen common practice. Check:
// growth at 10 °C 0.2986, at 25 °C 1.2773 a day.
func AmmoniaOxidisers() Nitrifier {
	return Nitrifier{
		Name: "ammonia oxidisers", Growth20PerDay: 0.80, YieldGCODGN: 0.21, KSubstrateGm3: 1.0, KOxygenGm3: 0.5, KAlkEqM3: 0.5,
		KFreeAmmoniaGm3: 10, OxygenGGN: 3.427, temperature: Growth{activationJMol: 68e3, growth20: 0.80, decay20D: 0.05},
	}
}

// NitriteOxidisers returns the bacteria that turn nitrite into nitrate, as
// AmmoniaOxidisers. Check: growth at 10 °C 0.4176, at 25 °C 1.0693 a day.
func NitriteOxidisers() Nitrifier {
	return Nitrifier{
		Name: "nitrite oxidisers", Growth20PerDay: 0.79, YieldGCODGN: 0.059, KSubstrateGm3: 0.5, KOxygenGm3: 1.1, KAlkEqM3: 0.5,
		KFreeAmmoniaGm3: 1.0, OxygenGGN: 1.142, temperature: Growth{activationJMol: 44e3, growth20: 0.79, decay20D: 0.033},
	}
}

// HiattGrady returns the two groups of another set, for comparison; its decay
// grows absurd above 25 °C.
//
// Source: [hiatt-grady-2008]. Check: growth at 15 °C 0.5791 and 0.6804 a day.
func HiattGrady() (ammonia, nitrite Nitrifier) {
	return Nitrifier{
			Name: "ammonia oxidisers, Hiatt and Grady", Growth20PerDay: 0.78, YieldGCODGN: 0.18, KSubstrateGm3: 1.0, KOxygenGm3: 0.6, KAlkEqM3: 0.5,
			KFreeAmmoniaGm3: 1.0, OxygenGGN: 3.427,
			temperature: Growth{ratB: 0.0255, ratC: 0.15, ratMinC: -15, ratMaxC: 50, decayTheta: 1.116, decay20D: 0.096},
		}, Nitrifier{
			Name: "nitrite oxidisers, Hiatt and Grady", Growth20PerDay: 0.7943, YieldGCODGN: 0.06, KSubstrateGm3: 0.5, KOxygenGm3: 1.2, KAlkEqM3: 0.5,
			KFreeAmmoniaGm3: 0.2, OxygenGGN: 1.142,
			temperature: Growth{ratB: 0.0235, ratC: 0.05, ratMinC: -25, ratMaxC: 57, decayTheta: 1.116, decay20D: 0.096},
		}
}

// hottestC is where the exponential curve ends; growth then falls in a straight
// line to nothing at deadC. Common practice, no source.
const hottestC, deadC = 35.0, 45.0

func (g *Growth) arrhenius(at20, tempC float64) float64 {
	t := min(tempC, hottestC)
	return at20 * math.Exp(g.activationJMol*(t-20)/(gasConstant*(t+273.15)*293.15))
}

// GrowthPerDay returns the fastest growth at a temperature. No range is checked;
// the curves hold from 5 to 35 °C.
func (n *Nitrifier) GrowthPerDay(tempC float64) float64 {
	g := &n.temperature
	if g.activationJMol > 0 {
		return g.arrhenius(g.growth20, tempC) * min(1, max(0, (deadC-tempC)/(deadC-hottestC)))
	}
	if tempC <= g.ratMinC || tempC >= g.ratMaxC {
		return 0
	}
	root := g.ratB * (tempC - g.ratMinC) * (1 - math.Exp(g.ratC*(tempC-g.ratMaxC)))
	return root * root
}

// DecayPerDay returns the share of the bacteria that die in a day. No range is
// checked.
func (n *Nitrifier) DecayPerDay(tempC float64) float64 {
	g := &n.temperature
	if g.activationJMol > 0 {
		return g.arrhenius(g.decay20D, tempC)
	}
	return g.decay20D * math.Pow(g.decayTheta, tempC-20)
}

// PHFactor returns the factor of nitrification by pH, 0 to 1, of a bed used to
// its water.
//
// Source: [epa-1975], from memory, not below 0.4 above pH 6: [zou-2016] kept beds
// at pH 6.0 working; below and above common practice, no source.
func PHFactor(ph float64) float64 {
	switch {
	case ph < 5 || ph > 10:
		return 0
	case ph < 6:
		return 0.4 * (ph - 5)
	case ph < 7.2:
		return max(0.4, 1-0.833*(7.2-ph))
	case ph > 8.5:
		return (10 - ph) / 1.5
	}
	return 1
}

// PHFactorSlope is the change of PHFactor by the pH; at the corners that of one
// of the sides.
func PHFactorSlope(ph float64) float64 {
	switch {
	case ph < 5 || ph > 10:
		return 0
	case ph < 6:
		return 0.4
	case ph < 7.2:
		if 1-0.833*(7.2-ph) <= 0.4 {
			return 0
		}
		return 0.833
	case ph > 8.5:
		return -1 / 1.5
	}
	return 0
}

// Habitat is the water around the bacteria.
type Habitat struct {
	TempC        float64
	PHFactor     float64 // by PHFactor
	SubstrateGm3 float64 // total ammonia nitrogen, or nitrite nitrogen
	DOGm3        float64
	AlkEqM3      float64
	NH3NGm3      float64 // un-ionised ammonia nitrogen
}

// Rate is what bacteria do and how it changes with the states, for the Jacobian
// of an integrator.
type Rate struct {
	NGDay          float64 // nitrogen oxidised, g/d
	PerBacteria    float64 // ∂NGDay/∂bacteria
	PerSubstrate   float64 // ∂/∂substrate
	PerDO          float64 // ∂/∂oxygen
	PerAlkalinity  float64 // ∂/∂alkalinity
	PerFreeAmmonia float64 // ∂/∂un-ionised ammonia
	PerPHFactor    float64 // ∂/∂the factor of pH
	GrowthShare    float64 // share of the fastest growth, 0 to 1
	GrowthGCODDay  float64 // bacteria formed before decay, g COD/d
	OxygenGDay     float64 // oxygen used, synthesis counted
	AlkEqDay       float64 // alkalinity gained, eq/d: negative
	NetPerDay      float64 // growth less decay of each bacterium
}

// monod is s/(k+s) and its slope; below 0 it goes on straight, so that an
// integrator's noise pushes back.
func monod(s, k float64) (share, slope float64) {
	if s < 0 {
		return s / k, 1 / k
	}
	d := 1 / (k + s)
	return s * d, k * d * d
}

// Pace is a group of bacteria in water of one temperature.
type Pace struct {
	of                       *Nitrifier
	GrowthPerDay             float64 // fastest growth
	DecayPerDay              float64
	OxygenGGN, AlkEqGN       float64 // used and gained per nitrogen oxidised, synthesis counted
	BiomassNGGN, BiomassGCOD float64 // nitrogen taken into bacteria, and bacteria formed, per nitrogen oxidised
}

// At returns the group's pace in water of a temperature. No range is checked.
func (n *Nitrifier) At(tempC float64) Pace {
	p := Pace{
		of: n, GrowthPerDay: n.GrowthPerDay(tempC), DecayPerDay: n.DecayPerDay(tempC),
		OxygenGGN: n.OxygenGGN - n.YieldGCODGN, BiomassGCOD: n.YieldGCODGN, BiomassNGGN: NitrogenInBiomass * n.YieldGCODGN,
	}
	p.AlkEqGN = -p.BiomassNGGN / MolarN
	if n.OxygenGGN > 2 { // only the step from ammonium sets acid free
		p.AlkEqGN -= 2 / MolarN
	}
	return p
}

// Rate returns what bacteriaGCOD of this group oxidise. It is called by
// integrators at every step and refuses nothing: NaN gives NaN, and slightly
// negative concentrations give slightly negative rates.
//
// Check: the course of a new bed in the tests.
func (n *Nitrifier) Rate(bacteriaGCOD float64, w Habitat) Rate {
	p := n.At(w.TempC)
	return p.Rate(bacteriaGCOD, &w)
}

// Rate is Nitrifier.Rate in water of the pace's temperature; that of w is not
// looked at.
func (p *Pace) Rate(bacteriaGCOD float64, w *Habitat) Rate {
	n := p.of
	fastest := p.GrowthPerDay / n.YieldGCODGN
	fS, dS := monod(w.SubstrateGm3, n.KSubstrateGm3)
	fO, dO := monod(w.DOGm3, n.KOxygenGm3)
	fA, dA := monod(w.AlkEqM3, n.KAlkEqM3)
	free := max(0, w.NH3NGm3)
	fI := n.KFreeAmmoniaGm3 / (n.KFreeAmmoniaGm3 + free)
	unhurt := fS * fO * fA * fI
	most := fastest * bacteriaGCOD * w.PHFactor
	r := Rate{
		NGDay: most * unhurt, PerBacteria: fastest * w.PHFactor * unhurt, GrowthShare: w.PHFactor * unhurt,
		PerSubstrate: most * dS * fO * fA * fI, PerDO: most * fS * dO * fA * fI, PerAlkalinity: most * fS * fO * dA * fI,
		PerPHFactor: fastest * bacteriaGCOD * unhurt,
		NetPerDay:   p.GrowthPerDay*w.PHFactor*unhurt - p.DecayPerDay,
	}
	if w.NH3NGm3 >= 0 {
		r.PerFreeAmmonia = -r.NGDay / (n.KFreeAmmoniaGm3 + free)
	}
	r.GrowthGCODDay = p.BiomassGCOD * r.NGDay
	r.OxygenGDay = p.OxygenGGN * r.NGDay
	r.AlkEqDay = p.AlkEqGN * r.NGDay
	return r
}

// AttachedGCOD returns the bacteria of this group, g COD, that a surface holds
// at most: areaM2 (1e-6 to 1e7 m²) that oxidises up to rMax20GM2Day (0.01 to 5;
// 0.6 in flood-and-drain gravel) at 20 °C.
//
// Errors wrap quantity.ErrRange.
//
// Common practice, no source. Check: 30 m² at 0.6: 4.725 ammonia oxidisers,
// 1.3443 nitrite oxidisers.
func (n *Nitrifier) AttachedGCOD(areaM2, rMax20GM2Day float64) (float64, error) {
	if err := check("attached bacteria", bound{"surface", areaM2, 1e-6, 1e7, "m²"}, bound{"most nitrification", rMax20GM2Day, 0.01, 5, "g/m²/d"}); err != nil {
		return 0, err
	}
	return rMax20GM2Day * areaM2 * n.YieldGCODGN / n.Growth20PerDay, nil
}

// Spread returns the change of attached bacteria, g COD/d, whose net growth is
// netPerDay and of which a surface holds capGCOD, with its partial derivatives:
// by the bacteria at a given net growth, and by the net growth. Growth fades at
// the limit; surplus sloughs. It refuses nothing.
func Spread(bacteriaGCOD, netPerDay, capGCOD float64) (gCODDay, perBacteria, perNet float64) {
	if netPerDay <= 0 {
		return netPerDay * bacteriaGCOD, netPerDay, bacteriaGCOD
	}
	f := bacteriaGCOD / capGCOD
	f *= f
	f *= f
	return netPerDay * bacteriaGCOD * (1 - f), netPerDay * (1 - 5*f), bacteriaGCOD * (1 - f)
}

// NitrificationArea returns the wetted surface, m², and the media, m³, that
// tanGd (0 to 1e8 g/d) of total ammonia nitrogen need at rateGM2Day (0.01 to 5)
// on media of specificSurfaceM2M3 (10 to 5000).
//
// Errors wrap quantity.ErrRange.
//
// Check: 12.88 g/d at 0.4 on 250 m²/m³: 32.2 m², 0.129 m³.
func NitrificationArea(tanGd, rateGM2Day, specificSurfaceM2M3 float64) (areaM2, mediaM3 float64, err error) {
	if err := check("nitrification area", bound{"total ammonia nitrogen", tanGd, 0, 1e8, "g/d"},
		bound{"nitrification", rateGM2Day, 0.01, 5, "g/m²/d"}, bound{"specific surface", specificSurfaceM2M3, 10, 5000, "m²/m³"}); err != nil {
		return 0, 0, err
	}
	areaM2 = tanGd / rateGM2Day
	return areaM2, areaM2 / specificSurfaceM2M3, nil
}

// CleanWaterNitrificationGM2Day returns the nitrification of a clean biofilm at
// 27 °C by total ammonia nitrogen of 0.07 to 20 g/m³; solids halve it.
//
// Errors wrap quantity.ErrRange.
//
// Source: [zhu-chen-1999]. Check: 1 g/m³ 0.590, 5 g/m³ 1.323.
func CleanWaterNitrificationGM2Day(tanGm3 float64) (float64, error) {
	if err := check("nitrification of a clean biofilm", gm3BoundFrom("total ammonia nitrogen", tanGm3, 0.07, 20)); err != nil {
		return 0, err
	}
	return 1.859 * (tanGm3 - 0.07) / (tanGm3 + 1.93), nil
}

func gm3BoundFrom(name string, v, lo, hi float64) bound { return bound{name, v, lo, hi, "g/m³"} }

// SphereSurfaceM2M3 returns the surface of round media in a bed of porosity 0.05
// to 0.98, diameter 0.1 mm to 1 m.
//
// Errors wrap quantity.ErrRange.
//
// Check: 15 mm, 0.42: 232.
func SphereSurfaceM2M3(diameterM, porosity float64) (float64, error) {
	if err := check("surface of media", bound{"diameter", diameterM, 1e-4, 1, "m"}, bound{"porosity", porosity, 0.05, 0.98, ""}); err != nil {
		return 0, err
	}
	return 6 * (1 - porosity) / diameterM, nil
}

// Denitrified returns the nitrogen that goes off as gas and the alkalinity that
// comes back with it, of nitrified nitrogen (0 to 1e9 g/d) and a share of 0 to 1.
//
// Errors wrap quantity.ErrRange.
func Denitrified(nitrifiedGd, share float64) (gasGd, alkEqDay float64, err error) {
	if err := check("denitrification", bound{"nitrified nitrogen", nitrifiedGd, 0, 1e9, "g/d"}, bound{"denitrified share", share, 0, 1, ""}); err != nil {
		return 0, 0, err
	}
	return nitrifiedGd * share, nitrifiedGd * share / MolarN, nil
}

// Medium is a row of the table of media.
type Medium struct {
	Name                            string
	Porosity                        Figure // of the bed
	BulkLowKgM3, BulkHighKgM3       Figure // dry
	SurfaceLowM2M3, SurfaceHighM2M3 Figure
	SurfaceM2M3                     Figure // to design by
	RetainedM3M3                    Figure // water that stays after draining
	Source                          string
}

var media = func() []Medium {
	var out []Medium
	for _, row := range table.Read("water_media.csv", mediaCSV) {
		out = append(out, Medium{
			Name: row.Text("medium"), Porosity: figure(row, "bed_porosity"),
			BulkLowKgM3: figure(row, "bulk_density_min_kg_m3"), BulkHighKgM3: figure(row, "bulk_density_max_kg_m3"),
			SurfaceLowM2M3: figure(row, "ssa_min_m2_m3"), SurfaceHighM2M3: figure(row, "ssa_max_m2_m3"), SurfaceM2M3: figure(row, "ssa_design_m2_m3"),
			RetainedM3M3: figure(row, "water_retained_after_drain_m3_m3"), Source: row.Text("source"),
		})
	}
	return out
}()

// Media returns the table of media.
func Media() []Medium { return append([]Medium(nil), media...) }

// LookupMedium returns the medium of that name in the table.
func LookupMedium(name string) (Medium, error) {
	for _, m := range media {
		if m.Name == name {
			return m, nil
		}
	}
	return Medium{}, fmt.Errorf("media: %q is not in the table of %d: %w", name, len(media), quantity.ErrRange)
}
