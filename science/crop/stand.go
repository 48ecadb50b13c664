package crop

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// The ends of a stand in Stand.Ending.
const (
	Harvested = "harvested" // its last harvest was taken
	Spoiled   = "spoiled"   // ripe, but not taken in time
	Spent     = "spent"     // the season of picking or cutting is over
	TooOld    = "too old"   // not ripe after four times the days of the table
	Cleared   = "cleared"   // pulled, or killed
)

// Stand is one m² of a crop from planting to pulling, stepped once a day. The
// zero Stand is no crop: use NewStand. A Stand may be copied; it shares only
// the Crop, which Step does not change.
type Stand struct {
	AgeDays      int     // days since planting out, or sowing in the bed
	StandingDMG  float64 // dry matter on the bed, roots too, g/m²
	Emerged      bool
	Ripe         bool    // something is ready to be taken
	Cuts         int     // harvests taken
	Done         bool    // the bed is free
	Ending       string  // why, when Done
	FirstRipeAge int     // AgeDays when first ripe, or first cut early; 0 before
	HarvestedKg  float64 // fresh, taken so far, kg/m²

	c      *Crop
	cal    Calibration
	factor float64

	comingUp  float64 // share of emergence done
	light     float64 // effective light since emergence, g/m²
	canopy    float64 // dry matter that decides the light taken, typical stand, g/m²
	phase     float64 // dry matter grown since the last cut, typical stand
	hanging   float64 // fruit ripe on the plant, g dry matter, typical stand
	sincePick int     // days
	ripening  float64 // days of picking season spent, each by its temperature factor
	waiting   float64 // days a ripe crop has waited, at 20 °C
	perG      float64 // nitrogen from the water per dry matter grown, g/g

	recent   [maxFruitDays]float64 // effective light of the last days
	next     int
	filled   int
	fruiting bool
}

const maxFruitDays = 50

// fruitDays is how many days of light a fruit picked today has seen: middle of
// 45 to 55 days for tomato, 10 to 14 for cucumber, 5 to 7 for courgette (from
// memory); the others by the habit of growers, no source.
func (c *Crop) fruitDays() int {
	switch c.Key {
	case "tomato":
		return 50
	case "tomato_cherry", "pepper_sweet", "pepper_chilli":
		return 45
	case "tomatillo":
		return 40
	case "strawberry":
		return 28
	case "aubergine", "broccoli", "broad_bean":
		return 20
	case "pea_shelling", "pea_mangetout", "cowpea":
		return 14
	case "cucumber", "bush_bean", "climbing_bean":
		return 12
	case "courgette", "okra":
		return 6
	}
	return 1
}

// NewStand plants one m² of a crop. yieldFactor is 1 for the typical yield of
// the table, YieldSeason.LowKgM2/TypicalKgM2 for a grower at the low end, and
// so on: it scales every mass and no date.
//
// Errors: a factor that is no number above 0, or that asks for more than
// YieldCapKgM2.
func NewStand(c *Crop, yieldFactor float64) (Stand, error) {
	if !(yieldFactor > 0) || yieldFactor*c.YieldSeason.TypicalKgM2 > c.YieldCapKgM2 {
		return Stand{}, fmt.Errorf("stand of %s: a yield factor of %g is not within 0 to %.3g, the most its light can make: %w",
			c.Key, yieldFactor, c.YieldCapKgM2/c.YieldSeason.TypicalKgM2, quantity.ErrRange)
	}
	cal, err := c.Calibration(c.YieldSeason.TypicalKgM2)
	if err != nil {
		return Stand{}, err
	}
	return Stand{
		c: c, cal: cal, factor: yieldFactor,
		perG: c.NUptakeGPerKg * (1 - c.NFixedShare) * c.YieldSeason.TypicalKgM2 / cal.grownTotal,
	}, nil
}

// Crop returns the crop of the stand.
func (s *Stand) Crop() *Crop { return s.c }

// CoverShare returns the share of light the canopy takes, 0 to 1.
func (s *Stand) CoverShare() float64 {
	if !s.Emerged || s.Done {
		return 0
	}
	return -math.Expm1(-s.cal.QM2G * s.canopy)
}

// DayInput is one day at a stand. Values below 0 and NaN count as 0.
type DayInput struct {
	DLIMol     float64 // mol/m²/d on the leaves
	TempFactor float64 // mean of TemperatureFactor over the day, 0 to 1
	TempC      float64 // mean over the day: emergence, and how fast a ripe crop goes over
	CO2PPM     float64 // 0 for the open air's 400
	RootFactor float64 // 0 to 1: the least of nitrogen, water and what else limits the roots
	Harvest    bool    // take what is ripe today
	Early      bool    // with Harvest: a cut or a picking that is not due is taken too, from two thirds grown
	TakeUnripe bool    // take UnripeKgM2 today when nothing is ripe; ends the crop
}

// DayOutput is what a day brought, per m² of bed.
type DayOutput struct {
	GrownDMG    float64 // dry matter grown, g; the young plant counts on the day it is set or comes up
	HarvestKgM2 float64 // fresh, taken today
	HarvestDMG  float64 // the same as dry matter, g
	ReadyKgM2   float64 // fresh, ripe and could be taken today: before taking; what is taken early is not in it
	UnripeKgM2  float64 // fresh, a leafy or root crop harvested once that has half its mass, not yet ripe
	NUptakeG    float64 // nitrogen from the water; what legumes fix from air is not in it
	PUptakeG    float64
	KUptakeG    float64
	ResidueDMG  float64 // dry matter left over when the stand ended today
	StandingDMG float64 // dry matter on the bed at the end of the day
}

func share(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return min(v, 1)
}

// Step takes the stand through one day. It grows by
//
//	closed stand × cover × temperature × carbon dioxide × root factor
//
// in the closed form of StandGrowth, then harvests if asked and ripe.
//
// A crop harvested once is ripe at the calibrated mass, grows no further and
// waits HarvestWindowDays at 20 °C (twice as long at 10 °C), then is spoiled. A
// crop cut again stops at the mass of its next cut until it is cut, and ends
// with its last cut or one interval of light after its window. A crop
// picked continuously ripens fruit by the mean light of the days a fruit hangs;
// it is ready CutIntervalDays after the last picking, fruit over three
// intervals old is lost, and the season lasts the window, cold days counting
// by their temperature factor. A stand that is not ripe after four times
// BedDays ends. Taken early, a cut gives what it has grown and counts as a cut;
// the next one starts from its stubble. Fruit is picked early from two thirds of
// the interval on and loses nothing by it.
//
// Planted, grown: the sum of GrownDMG is the harvest, the residue and what
// stands, all as dry matter. A stand that is Done does nothing. Step allocates
// nothing.
func (s *Stand) Step(in DayInput) DayOutput {
	var out DayOutput
	if s.Done || s.c == nil {
		return out
	}
	c := s.c
	s.AgeDays++
	part := 1.0 // of the day, after emergence
	if !s.Emerged {
		step := c.comesUp(in.TempC)
		switch {
		case step >= 1: // plants set out
		case s.comingUp+step >= 1-1e-9:
			part = min(1, max(0, (s.comingUp+step-1)/step))
		default:
			s.comingUp += step
			s.ageOut(&out)
			out.StandingDMG = s.StandingDMG
			return out
		}
		s.Emerged = true
		s.canopy, s.phase = s.cal.W0GM2, s.cal.W0GM2
		out.GrownDMG = s.cal.W0GM2
	}
	ppm := in.CO2PPM
	if ppm == 0 {
		ppm = 400
	}
	tempFactor := share(in.TempFactor)
	light := part * c.ClosedStand(in.DLIMol) * tempFactor * CO2Factor(c.Photosynthesis, ppm) * share(in.RootFactor)
	switch c.HarvestKind {
	case Continuous:
		out.GrownDMG += s.bear(light, part, tempFactor)
	case CutAgain:
		out.GrownDMG += s.regrow(light)
	default:
		out.GrownDMG += s.growOnce(light)
	}
	s.light += light
	if s.Ripe && s.FirstRipeAge == 0 {
		s.FirstRipeAge = s.AgeDays
	}
	out.GrownDMG *= s.factor
	s.StandingDMG += out.GrownDMG
	out.NUptakeG = out.GrownDMG * s.perG
	out.PUptakeG = out.GrownDMG * c.PShareDM
	out.KUptakeG = out.GrownDMG * c.KShareDM

	last := s.lastDay(in.TempC)
	fresh := s.factor / (1000 * c.DryMatterShare)
	ready := s.readyG(last != "")
	out.ReadyKgM2 = ready * fresh
	if unripe := s.unripeG(); unripe > 0 && ready == 0 {
		out.UnripeKgM2 = unripe * fresh
		if in.TakeUnripe {
			s.take(&out, unripe)
			s.end(Harvested, &out)
			return out
		}
	}
	if in.Early && ready == 0 {
		ready = s.earlyG()
	}
	if in.Harvest && ready > 0 {
		if s.FirstRipeAge == 0 {
			s.FirstRipeAge = s.AgeDays
		}
		s.take(&out, ready)
		if s.afterCut() {
			s.end(Harvested, &out)
			return out
		}
	}
	if last != "" {
		s.end(last, &out)
		return out
	}
	s.ageOut(&out)
	out.StandingDMG = s.StandingDMG
	return out
}

// Clear ends the stand, pulled or killed, and returns its dry matter in g/m².
func (s *Stand) Clear() (residueDMG float64) {
	var out DayOutput
	if !s.Done {
		s.end(Cleared, &out)
	}
	return out.ResidueDMG
}

func (s *Stand) end(why string, out *DayOutput) {
	s.Done, s.Ripe, s.Ending = true, false, why
	out.ResidueDMG += s.StandingDMG
	s.StandingDMG, out.StandingDMG = 0, 0
}

// ageOut ends a stand that will never come to anything.
func (s *Stand) ageOut(out *DayOutput) {
	if !s.Done && s.FirstRipeAge == 0 && s.AgeDays > 4*s.c.BedDays {
		s.end(TooOld, out)
	}
}

// take moves harvest, g dry matter of the typical stand, off the bed.
func (s *Stand) take(out *DayOutput, g float64) {
	out.HarvestDMG = min(g*s.factor, s.StandingDMG)
	out.HarvestKgM2 = out.HarvestDMG / (1000 * s.c.DryMatterShare)
	s.StandingDMG -= out.HarvestDMG
	s.HarvestedKg += out.HarvestKgM2
	s.Cuts++
}

// near is how close to its target a mass counts as reached.
const near = 1 - 1e-9

func (s *Stand) growOnce(light float64) (grownG float64) {
	w := min(StandGrowth(s.canopy, s.cal.QM2G, light), s.cal.WTargetGM2)
	grownG = max(0, w-s.canopy)
	s.canopy, s.phase = w, w
	s.Ripe = w >= near*s.cal.WTargetGM2
	return grownG
}

// regrow is growOnce for crops cut again: after a cut the canopy closes from
// its stubble, and the mass is scaled to that cut's share of the season.
func (s *Stand) regrow(light float64) (grownG float64) {
	if s.Cuts == 0 {
		return s.growOnce(light)
	}
	if s.Ripe {
		return 0
	}
	w := min(StandGrowth(s.canopy, s.cal.QM2G, light), s.cal.regrowth1)
	scale := s.cal.WTargetGM2 / (s.cal.regrowth1 - s.cal.regrowth0) * math.Pow(s.cal.cutFactor, float64(s.Cuts))
	grownG = max(0, w-s.canopy) * scale
	s.canopy = w
	s.phase += grownG
	s.Ripe = w >= near*s.cal.regrowth1
	return grownG
}

// bear grows a crop picked continuously: its canopy first, then fruit and the
// shoots that bear it.
func (s *Stand) bear(light, part, tempFactor float64) (grownG float64) {
	span := s.c.fruitDays()
	if part == 1 { // a part of the day of emergence would only dim the mean
		s.recent[s.next] = light
		s.next = (s.next + 1) % span
		s.filled = min(s.filled+1, span)
	}
	toCanopy := max(0, min(light, s.cal.flowStart-s.light))
	w := StandGrowth(s.canopy, s.cal.QM2G, toCanopy)
	grownG = max(0, w-s.canopy)
	s.canopy = w
	rest := light - toCanopy
	if s.light+light < near*s.cal.flowStart {
		return grownG
	}
	dayShare := 1.0
	if !s.fruiting {
		s.fruiting = true
		if dayShare = 0; light > 0 {
			dayShare = rest / light
		}
	}
	grownG += rest * s.cal.growFlow
	mean := 0.0
	for i := range s.filled {
		mean += s.recent[i]
	}
	if s.filled > 0 {
		mean /= float64(s.filled)
	}
	s.sincePick++
	s.ripening += dayShare * tempFactor
	interval := max(1, s.c.CutIntervalDays)
	// The season's last day ripens only what is left of its span.
	over := s.ripening - float64(s.cal.pickings*interval)
	if over > 0 && tempFactor > 0 {
		dayShare = max(0, dayShare-over/tempFactor)
	}
	fruit := dayShare * mean * s.cal.fruitFlow
	onBed := (s.StandingDMG + grownG*s.factor) / s.factor
	if s.sincePick <= 3*interval {
		s.hanging = min(s.hanging+fruit, onBed)
	}
	first := s.Cuts > 0 || s.light+light >= near*s.cal.UTargetGM2
	s.Ripe = s.hanging > 0 && first && (s.Cuts == 0 || s.sincePick >= interval)
	return grownG
}

// readyG is the dry matter that could be taken today, typical stand, g/m².
func (s *Stand) readyG(lastDay bool) float64 {
	switch {
	case s.c.HarvestKind == Continuous:
		if s.Ripe || lastDay {
			return s.hanging
		}
	case s.Ripe:
		return s.phase * s.c.HarvestIndex
	}
	return 0
}

// earlyShare is how much of a cut must have grown, or of an interval passed, for it to
// be taken early. Common practice, no source.
const earlyShare = 2. / 3

// earlyG is what a cut or a picking that is not due gives, typical stand, g/m².
func (s *Stand) earlyG() float64 {
	switch {
	case s.Ripe:
	case s.c.HarvestKind == Continuous:
		if s.Cuts > 0 && float64(s.sincePick) >= earlyShare*float64(s.c.CutIntervalDays) {
			return s.hanging
		}
	case s.c.HarvestKind == CutAgain:
		grown := s.phase / s.cal.WTargetGM2
		if s.Cuts > 0 {
			grown = (s.canopy - s.cal.regrowth0) / (s.cal.regrowth1 - s.cal.regrowth0)
		}
		if grown >= earlyShare {
			return s.phase * s.c.HarvestIndex
		}
	}
	return 0
}

// unripeG is what a crop harvested once gives before it is ripe.
func (s *Stand) unripeG() float64 {
	if s.c.HarvestKind != Once || s.Ripe || s.phase < s.cal.WTargetGM2/2 {
		return 0
	}
	switch s.c.Group {
	case "leafy", "herb", "root_staple":
		return s.phase * s.c.HarvestIndex
	}
	return 0
}

// afterCut readies the stand for what comes after a harvest and reports
// whether there is nothing more to come.
func (s *Stand) afterCut() (over bool) {
	s.Ripe = false
	switch s.c.HarvestKind {
	case Continuous:
		s.hanging, s.sincePick = 0, 0
		return false
	case CutAgain:
		s.canopy, s.phase, s.waiting = s.cal.regrowth0, 0, 0
		return s.Cuts >= s.cal.pickings
	}
	return true
}

// lastDay says why this is the stand's last day; empty when it is not.
func (s *Stand) lastDay(tempC float64) string {
	switch s.c.HarvestKind {
	case Continuous:
		if s.ripening >= near*float64(s.cal.pickings*max(1, s.c.CutIntervalDays)) {
			return Spent
		}
	case CutAgain:
		span := float64(s.c.HarvestWindowDays+s.c.CutIntervalDays) * s.c.ClosedStand(s.c.DLIOpt)
		if s.light > s.cal.UTargetGM2+span {
			return Spent
		}
	default:
		if !s.Ripe {
			return ""
		}
		if s.FirstRipeAge != s.AgeDays {
			s.waiting += goingOver(tempC)
		}
		if s.waiting > float64(s.c.HarvestWindowDays) {
			return Spoiled
		}
	}
	return ""
}

// goingOver is how fast a ripe crop in its bed goes over, against 20 °C:
// twice as slow at 10 °C (common practice), held within 5 and 35 °C.
func goingOver(tempC float64) float64 {
	if math.IsNaN(tempC) {
		tempC = 20
	}
	return math.Exp2((min(max(tempC, 5), 35) - 20) / 10)
}
