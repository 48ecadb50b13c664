package crop

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// The crops' ways of photosynthesis in Photosynthesis.
const (
	C3 = "C3"
	C4 = "C4"
)

// MostDLIMolM2 is the most light a day has, mol/m²/d.
const MostDLIMolM2 = 65

// ClosedStand returns what a stand that covers its bed grows, g dry matter per
// m² and day, at a light sum in mol/m²/d on the leaves, 400 ppm carbon dioxide,
// best temperature, water and nutrients: e0·D/(1 + D/Dh). Light below 0 or NaN
// gives 0; above 65 mol it counts as 65.
//
// Source: closed-stand, an interpolation between a field's light use at 45
// mol/m²/d and a lettuce bench's at 17.
func (c *Crop) ClosedStand(dliMolM2 float64) float64 {
	if !(dliMolM2 > 0) {
		return 0
	}
	d := min(dliMolM2, MostDLIMolM2)
	return c.RUE0GPerMol * d / (1 + d/c.DLIHalf)
}

// CO2Factor returns growth at a mole fraction of carbon dioxide in ppm against
// growth at 400: 1 + b·ln(ppm/400), b 0.4 for C3 and 0.1 for C4, ppm held
// within 150 and 1200. NaN gives 0.
//
// Source: goudriaan-beta (from memory). A doubling gives 28 %; kimball-1983
// found 33 % over many crops, brouwer-2018 36 to 47 % for azolla.
func CO2Factor(photosynthesis string, ppm float64) float64 {
	if math.IsNaN(ppm) {
		return 0
	}
	b := 0.4
	if photosynthesis == C4 {
		b = 0.1
	}
	return 1 + b*math.Log(min(max(ppm, 150), 1200)/400)
}

// Nutrients in the water at which growth would halve, g/m³. They are rough
// (from memory): good for warnings, too rough for yields.
const (
	KmN  = 2.0 // nitrate and ammonium nitrogen
	KmK  = 4.0
	KmP  = 0.5
	KmFe = 0.2
)

// NutrientFactor returns c/(c + km), the share of full growth at a nutrient's
// concentration; 0 for none, below none, or NaN.
func NutrientFactor(gm3, kmGm3 float64) float64 {
	if !(gm3 > 0) || !(kmGm3 > 0) {
		return 0
	}
	if math.IsInf(gm3, 1) {
		return 1
	}
	return gm3 / (gm3 + kmGm3)
}

// Interception returns the share of light that leaves take: 1 - exp(-k·LAI),
// leaf area index in m² leaf per m² bed. k is about 0.8 for tomato
// (heuvelink-2009), 0.65 for leafy crops, 0.55 for grasses (from memory).
func Interception(k, leafAreaIndex float64) float64 {
	if !(k > 0) || !(leafAreaIndex > 0) {
		return 0
	}
	return -math.Expm1(-k * leafAreaIndex)
}

// lnExpm1 is ln(e^x - 1), x above 0.
func lnExpm1(x float64) float64 {
	if x > 30 {
		return x + math.Log1p(-math.Exp(-x))
	}
	return math.Log(math.Expm1(x))
}

// StandGrowth returns the dry matter in g/m² of a stand of w0 g/m² after the
// effective light u, in g/m²: the closed stand's growth summed over the days,
// factors included. It solves dW/du = 1 - exp(-q·W), q in m²/g:
// W = ln(1 + (exp(q·w0) - 1)·exp(q·u))/q, written so that nothing overflows.
// q of 0 or w0 of 0 grows nothing. Values below 0, NaN or without end give NaN.
//
// Source: goudriaan-1990, the expolinear growth equation.
func StandGrowth(w0, q, u float64) float64 {
	if !(w0 >= 0 && q >= 0 && u >= 0) || math.IsInf(w0, 0) || math.IsInf(q, 0) || math.IsInf(u, 0) {
		return math.NaN()
	}
	if w0 == 0 || q == 0 || u == 0 {
		return w0
	}
	a := lnExpm1(q*w0) + q*u
	if a > 0 {
		return (a + math.Log1p(math.Exp(-a))) / q
	}
	return math.Log1p(math.Exp(a)) / q
}

// EffectiveLight is the inverse of StandGrowth: the effective light in g/m²
// that takes a stand from w0 to w g/m². NaN unless w0 and q are above 0 and w
// is at least w0.
func EffectiveLight(w0, w, q float64) float64 {
	if !(w0 > 0 && w >= w0 && q > 0) || math.IsInf(w, 0) || math.IsInf(q, 0) {
		return math.NaN()
	}
	return (lnExpm1(q*w) - lnExpm1(q*w0)) / q
}

// Calibration fits the growth of a stand to the table.
type Calibration struct {
	W0GM2         float64 // dry matter at planting out or emergence, g/m²
	QM2G          float64 // how fast the stand closes, m²/g
	WTargetGM2    float64 // dry matter at the first harvest, g/m²
	UTargetGM2    float64 // effective light from W0 to then, g/m²
	EmergenceDays float64 // from sowing in the bed at the middle of the best temperatures; 0 for plants set out

	regrowth0  float64 // cut_again: canopy after a cut, g/m²
	regrowth1  float64 // canopy ready for the next cut
	pickings   int     // harvests of the season
	cutFactor  float64 // each cut against the one before
	fruitFlow  float64 // continuous: dry matter of fruit per effective light
	growFlow   float64 // continuous: dry matter grown while picking, per effective light
	flowStart  float64 // effective light at which fruit begins to ripen
	grownTotal float64 // dry matter of the whole season, g/m²
}

// Sown and set plants begin with so much dry matter, g each (common practice).
const (
	sownG       = 0.01 // sown in the bed, at emergence
	nursery21G  = 0.06 // up to 21 days in the nursery
	nursery35G  = 0.2  // up to 35 days
	nurseryOldG = 0.3  // longer
	slipG       = 1.5  // a slip, tuber, clove or cutting
)

// sproutDays is how long a tuber, clove or cutting takes to come up at its best
// temperature, where the table has no figure (common practice).
const sproutDays = 15

// stubbleShare is what a cut leaves of the canopy (common practice 0.10 to 0.15).
const stubbleShare = 0.12

// fullCover is the light a fruiting stand takes.
const fullCover = 0.9

func (c *Crop) plantG() float64 {
	switch c.Propagation {
	case "tuber", "slip", "clove", "stem cutting", "corm or huli", "runner or cold-stored plant":
		return slipG
	}
	switch {
	case c.NurseryDays == 0:
		return sownG
	case c.NurseryDays <= 21:
		return nursery21G
	case c.NurseryDays <= 35:
		return nursery35G
	}
	return nurseryOldG
}

// comesUp is the share of its emergence a sown stand makes in a day of tempC.
func (c *Crop) comesUp(tempC float64) float64 {
	if c.NurseryDays > 0 || c.Propagation == "division" || c.Propagation == "runner or cold-stored plant" {
		return 1
	}
	if !c.GermDays.Known && !c.GermThermalTimeCd.Known {
		return c.TemperatureFactor(tempC) / sproutDays
	}
	days, ok := c.EmergenceDays(tempC)
	if !ok || days <= 0 {
		return 0
	}
	return min(1, 1/days)
}

// bisect finds x, on a scale of logarithms between lo and hi, at which the
// rising or falling f crosses 0.
func bisect(lo, hi float64, f func(float64) float64) (float64, error) {
	flo, fhi := f(lo), f(hi)
	if !(flo*fhi <= 0) {
		return 0, fmt.Errorf("no answer between %g and %g", lo, hi)
	}
	for range 100 {
		mid := math.Sqrt(lo * hi)
		if mid <= lo || mid >= hi {
			break
		}
		if v := f(mid); (v > 0) == (flo > 0) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Sqrt(lo * hi), nil
}

// Calibration fits the crop's growth so that at DLIOpt, best temperature and
// 400 ppm the first harvest falls on DaysToFirstHarvest and the season gives
// yieldKgM2 (give YieldSeason.TypicalKgM2).
//
// Once: q by bisection so that W0 becomes the yield's dry matter over
// HarvestIndex in the table's days. Cut again: the same for the first of the
// pickings (see Pickings); after a cut 12 % of the canopy stays and closes
// again by the same q, and what regrows is scaled to the smaller cuts of
// Pickings. Continuous: q so that leaves take 90 % of the light when fruit
// begins to ripen; from then fruit flows in proportion to effective light so
// that all pickings together give the yield. Where a short season asks for more
// than the light makes, as peas do, the pods fill from what the plants hold.
//
// Errors: a yield that is no number above 0, or above the most the crop can
// give (YieldCapKgM2); a crop whose table has no solution.
func (c *Crop) Calibration(yieldKgM2 float64) (Calibration, error) {
	if !(yieldKgM2 > 0) || yieldKgM2 > c.YieldCapKgM2 {
		return Calibration{}, fmt.Errorf("%s: a season yield of %g kg/m² is not within 0 to %g, the most its light can make: %w", c.Key, yieldKgM2, c.YieldCapKgM2, quantity.ErrRange)
	}
	cal := Calibration{W0GM2: c.plantG() * c.PlantsPerM2, pickings: 1, cutFactor: 1}
	if up := c.comesUp(c.midOptC()); up < 1 {
		cal.EmergenceDays = 1 / up
	}
	rate := c.ClosedStand(c.DLIOpt)
	cal.UTargetGM2 = (float64(c.DaysToFirstHarvest) - cal.EmergenceDays) * rate
	if !(cal.UTargetGM2 > 0) {
		return Calibration{}, fmt.Errorf("%s: its first harvest, day %d, comes before it is up, day %.1f: %w", c.Key, c.DaysToFirstHarvest, cal.EmergenceDays, quantity.ErrRange)
	}
	total := yieldKgM2 * 1000 * c.DryMatterShare / c.HarvestIndex // dry matter that bears the yield
	if c.HarvestKind != Once && c.CutIntervalDays > 0 {
		cal.pickings = max(1, min(c.CutsMax, c.HarvestWindowDays/c.CutIntervalDays+1))
	}
	var err error
	if c.HarvestKind == Continuous {
		span := float64(c.CutIntervalDays) * rate
		cal.flowStart = max(0, cal.UTargetGM2-span)
		closed := -math.Log1p(-fullCover)
		cal.WTargetGM2, err = bisect(cal.W0GM2, 1e5, func(w float64) float64 {
			return EffectiveLight(cal.W0GM2, w, closed/w) - cal.UTargetGM2
		})
		if err != nil {
			return Calibration{}, fmt.Errorf("%s: calibration of the canopy: %w", c.Key, err)
		}
		cal.QM2G = closed / cal.WTargetGM2
		all := total / (float64(cal.pickings) * span)
		cal.fruitFlow = all * c.HarvestIndex
		cal.growFlow = min(all, fullCover)
		cal.grownTotal = StandGrowth(cal.W0GM2, cal.QM2G, cal.flowStart) + cal.growFlow*float64(cal.pickings)*span
		return cal, nil
	}
	cal.WTargetGM2 = total
	if c.HarvestKind == CutAgain {
		cal.cutFactor = cutFactor(cal.pickings, c.YieldSeason.TypicalKgM2/c.YieldHarvest.TypicalKgM2)
		sum, weight := 0.0, 1.0
		for range cal.pickings {
			sum += weight
			weight *= cal.cutFactor
		}
		cal.WTargetGM2 = total / sum
	}
	cal.QM2G, err = bisect(1e-9, 100, func(q float64) float64 {
		return EffectiveLight(cal.W0GM2, cal.WTargetGM2, q) - cal.UTargetGM2
	})
	if err != nil {
		return Calibration{}, fmt.Errorf("%s: calibration of growth: %w", c.Key, err)
	}
	cal.grownTotal = total
	if c.HarvestKind == CutAgain {
		cal.regrowth0 = stubbleShare * cal.WTargetGM2
		cal.regrowth1 = StandGrowth(cal.regrowth0, cal.QM2G, float64(c.CutIntervalDays)*rate)
	}
	return cal, nil
}
