package fish

import (
	_ "embed"
	"math"
	"slices"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed fish_feeding_table.csv
var feedingCSV string

// cardinal is the temperature factor without its checks; 0 where the curve has
// none.
func (s *Species) cardinal(tempC float64) float64 {
	tMin, tOpt, tMax := s.GrowthTMinC, s.GrowthTOptC, s.GrowthTMaxC
	if !(tempC > tMin && tempC < tMax && tMin < tOpt && tOpt < tMax && tOpt > (tMin+tMax)/2) {
		return 0
	}
	num := (tempC - tMax) * (tempC - tMin) * (tempC - tMin)
	den := (tOpt - tMin) * ((tOpt-tMin)*(tempC-tOpt) - (tOpt-tMax)*(tOpt+tMin-2*tempC))
	return num / den
}

// feeds reports whether fish are fed in water of tempC.
func (s *Species) feeds(tempC float64) bool {
	return tempC >= s.FeedStopLowC && tempC <= s.FeedStopHighC
}

// conversions are the feed conversions of the classes below 50 g, from 50 g,
// from 200 g and above 500 g.
var (
	conversionTilapia   = [4]float64{1.1, 1.4, 1.6, 1.9}
	conversionTrout     = [4]float64{0.8, 1.0, 1.1, 1.3}
	conversionCarp      = [4]float64{1.2, 1.5, 1.8, 2.1}
	conversionAfrican   = [4]float64{0.9, 1.0, 1.2, 1.4}
	conversionPerch     = [4]float64{1.2, 1.4, 1.6, 2.0}
	conversionShellfish = [4]float64{2.0, 2.3, 2.3, 2.3}
)

func (s *Species) conversions() *[4]float64 {
	switch id := s.ID; {
	case s.Group == "crustacean":
		return &conversionShellfish
	case strings.HasPrefix(id, "tilapia"):
		return &conversionTilapia
	case strings.HasPrefix(id, "trout"), strings.HasPrefix(id, "char"):
		return &conversionTrout
	case id == "catfish_african", id == "barramundi":
		return &conversionAfrican
	case id == "catfish_channel", strings.HasPrefix(id, "carp"), id == "goldfish", id == "pacu":
		return &conversionCarp
	}
	return &conversionPerch
}

// FeedConversion returns the dry feed given over the live gain of fish of
// weightG by weight class: below 50 g, from 50 g, from 200 g and above 500 g.
// A class's value holds in the whole class but for its edge: it passes over to
// the next in a straight line from 45 to 50 g, 180 to 200 g and 500 to 550 g,
// so that a forecast never jumps. Pacu and goldfish go with carp, jade perch
// with perch; crustaceans keep the class from 50 g beyond it.
//
// Source: common practice, no source; Rakocy et al. saw 1.7 for Nile and 1.8
// for red tilapia.
// Check: Nile tilapia of 100 g 1.4, of 500 g 1.6; trout of 600 g 1.3.
func (s *Species) FeedConversion(weightG float64) float64 {
	c := s.conversions()
	ramp := func(from, to float64) float64 { return min(1, max(0, (weightG-from)/(to-from))) }
	return c[0] + (c[1]-c[0])*ramp(45, 50) + (c[2]-c[1])*ramp(180, 200) + (c[3]-c[2])*ramp(500, 550)
}

// ration is a cell of the feed table.
type ration struct{ tempC, share float64 }

// rationClass is a weight class of the feed table, its cells by rising
// temperature.
type rationClass struct {
	fromG, toG float64
	logMean    float64 // of the geometric mean weight
	cells      []ration
}

var feedingTable = sync.OnceValue(func() map[string][]rationClass {
	byID := map[string][]rationClass{}
	for _, r := range table.Read("fish_feeding_table.csv", feedingCSV) {
		id, from, to := r.Text("species_id"), r.Number("weight_from_g"), r.Number("weight_to_g")
		classes := byID[id]
		i := slices.IndexFunc(classes, func(c rationClass) bool { return c.fromG == from && c.toG == to })
		if i < 0 {
			i = len(classes)
			classes = append(classes, rationClass{fromG: from, toG: to, logMean: math.Log(from*to) / 2})
		}
		classes[i].cells = append(classes[i].cells, ration{r.Number("water_temp_c"), r.Number("ration_pct_bw_day") / 100})
		byID[id] = classes
	}
	for _, classes := range byID {
		slices.SortFunc(classes, func(a, b rationClass) int { return int(math.Copysign(1, a.logMean-b.logMean)) })
		for _, c := range classes {
			slices.SortFunc(c.cells, func(a, b ration) int { return int(math.Copysign(1, a.tempC-b.tempC)) })
		}
	}
	byID["tilapia_blue"] = byID["tilapia_nile"]
	return byID
})

// at is the ration of a class at a temperature: a straight line between cells,
// and beyond them the nearest cell times the ratio of the temperature factors.
func (c *rationClass) at(s *Species, tempC float64) float64 {
	last := len(c.cells) - 1
	for i := range last {
		a, b := c.cells[i], c.cells[i+1]
		if tempC >= a.tempC && tempC <= b.tempC {
			return a.share + (b.share-a.share)*(tempC-a.tempC)/(b.tempC-a.tempC)
		}
	}
	near := c.cells[0]
	if tempC > near.tempC {
		near = c.cells[last]
	}
	base := s.cardinal(near.tempC)
	if base <= 0 {
		return 0
	}
	return near.share * s.cardinal(tempC) / base
}

// TableRationShareDay returns the ration of the feed table as a share of live
// weight a day: a straight line in the logarithm of the weight between the
// geometric means of the classes, the ends held, and in temperature; where a
// class has no cell on one side, the nearest times the ratio of the temperature
// factors. Blue tilapia goes by the table of Nile tilapia. ok is false for a
// species without a table, a weight not above 0 or a temperature that is no
// number. It does not know the feed stops: see RationShareDay.
//
// Source: fish_feeding_table.csv; trout: Leitritz & Lewis 1980.
// Check: rainbow trout of 62 to 92 g at 12.8 °C 0.014.
func (s *Species) TableRationShareDay(weightG, tempC float64) (share float64, ok bool) {
	classes := feedingTable()[s.ID]
	if len(classes) == 0 || !(weightG > 0) || math.IsInf(weightG, 0) || !(tempC >= -1 && tempC <= 45) {
		return 0, false
	}
	x := math.Log(weightG)
	if x <= classes[0].logMean {
		return classes[0].at(s, tempC), true
	}
	for i := range len(classes) - 1 {
		a, b := &classes[i], &classes[i+1]
		if x <= b.logMean {
			return a.at(s, tempC) + (b.at(s, tempC)-a.at(s, tempC))*(x-a.logMean)/(b.logMean-a.logMean), true
		}
	}
	return classes[len(classes)-1].at(s, tempC), true
}

// GrowthRationShareDay returns the feed that full growth takes, as a share of
// live weight a day: growth times FeedConversion over weight, at performance
// 1. It is 0 outside the feeding temperatures and for arguments that are no
// water or fish.
//
// Check: rainbow trout of 100 g at 12 °C: 1.396 g/d × 1.0 / 100 g = 0.01396.
func (s *Species) GrowthRationShareDay(weightG, tempC float64) (share float64) {
	if !(weightG > 0 && weightG <= 20000) || !s.feeds(tempC) {
		return 0
	}
	return s.GrowthAGPerDay * math.Pow(weightG, s.GrowthB-1) * s.cardinal(tempC) * s.FeedConversion(weightG)
}

// RationShareDay returns the planned ration of one day as a share of live
// weight, and the meals to split it into: the lower of GrowthRationShareDay and
// TableRationShareDay. Outside the feeding temperatures, where fish do not
// grow, and for arguments that are no water or fish both are 0.
//
// Meals: 6 below 5 g, 4 below 50 g, 3 up to 200 g, 2 above; 1 when the
// temperature factor is below a half.
//
// Source: common practice; the table's sources. Check: Nile tilapia of 100 g at
// 27 °C 0.0230, 3 meals.
func (s *Species) RationShareDay(weightG, tempC float64) (share float64, meals int) {
	share = s.GrowthRationShareDay(weightG, tempC)
	if table, ok := s.TableRationShareDay(weightG, tempC); ok {
		share = min(share, table)
	}
	switch {
	case share <= 0:
		return 0, 0
	case s.cardinal(tempC) < 0.5:
		meals = 1
	case weightG < 5:
		meals = 6
	case weightG < 50:
		meals = 4
	case weightG <= 200:
		meals = 3
	default:
		meals = 2
	}
	return share, meals
}

// FeedKind is a dry feed. A field that is not above 0, a share above 1 and an
// energy outside 1000 to 100 000 J/g stand for the usual of the species: its
// grow-out protein, PUsual, EnergyOmnivoreJG or
// EnergyCarnivoreJG.
type FeedKind struct {
	ProteinShare    float64 // of the feed
	PhosphorusShare float64 // of the feed
	EnergyJG        float64 // gross energy
}

// Usual figures of dry feeds, from memory.
const (
	PUsual            = 0.011   // g phosphorus per g feed
	EnergyOmnivoreJG  = 18000.0 // J/g
	EnergyCarnivoreJG = 21000.0 // J/g
)

// oxycalorificJG is the heat of a gram of oxygen breathed, J/g.
const oxycalorificJG = 13560.0

func (s *Species) carnivore() bool {
	return strings.Contains(s.Group, "carnivore") || s.ID == "catfish_african"
}

// UsualFeed returns the usual grow-out feed of the species.
func (s *Species) UsualFeed() FeedKind { return s.filled(FeedKind{}) }

// filled puts the usual figure where a feed has none.
func (s *Species) filled(f FeedKind) FeedKind {
	if !(f.ProteinShare > 0 && f.ProteinShare <= 1) {
		f.ProteinShare = s.ProteinGrowoutShare
	}
	if !(f.PhosphorusShare > 0 && f.PhosphorusShare <= 1) {
		f.PhosphorusShare = PUsual
	}
	if !(f.EnergyJG >= 1000 && f.EnergyJG <= 1e5) {
		f.EnergyJG = EnergyOmnivoreJG
		if s.carnivore() {
			f.EnergyJG = EnergyCarnivoreJG
		}
	}
	return f
}

// PelletMM returns the usual pellet size in mm for fish of weightG: at most a
// quarter of the gape.
//
// Source: from memory.
func PelletMM(weightG float64) (fromMM, toMM float64) {
	switch {
	case weightG < 1:
		return 0, 0.8
	case weightG < 10:
		return 1, 1.5
	case weightG < 40:
		return 2, 2
	case weightG < 150:
		return 3, 3
	}
	return 4.5, 4.5
}
