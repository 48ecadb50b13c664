package fish

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// What becomes of feed.
const (
	TANPerProtein = 0.092  // g total ammonia nitrogen per g protein fed; Timmons & Ebeling, from memory
	NPerProtein   = 0.16   // g nitrogen per g protein
	NKeptPerGain  = 0.0272 // g nitrogen per g live gain: 17 percent protein; from memory
	PKeptPerGain  = 0.0045 // g phosphorus per g live gain; from memory
	SolidsPerFeed = 0.25   // g dry solids per g feed, 0.2 to 0.4; Timmons & Ebeling, from memory
)

// Bounds that keep the balances of a Cohort possible. Common practice, no
// source.
const (
	mostNKept    = 0.6 // of feed nitrogen that can be built in
	mostPKept    = 0.8 // of feed phosphorus that can be built in
	leastNSolid  = 0.1 // of waste nitrogen that leaves as solids, at least
	solidPShare  = 0.7 // of waste phosphorus of feed that leaves as solids: solids carry most of it
	mostUpkeep   = 0.8 // of the full ration that upkeep takes at most: fish fed in full do grow
	holdSlackG   = 1e-9
	smallestGrow = 1e-12
)

// TANFromFeed returns the total ammonia nitrogen in g/d that fish give off on
// feedGd g/d of feed with a protein share. Nitrogen of faeces and of feed not
// eaten comes on top.
//
// Source: 0.16 nitrogen in protein × 0.80 assimilated × 0.80 excreted × 0.90 as
// ammonia; Timmons & Ebeling, from memory.
// Check: 1 kg at 35 percent 32.2 g.
func TANFromFeed(feedGd, protein float64) (tanGd float64) { return feedGd * protein * TANPerProtein }

// AmmoniaFAO589Gd returns the ammonia NH3 (its own mass, not its nitrogen) in
// g/d of feed by another textbook's rule; it agrees with TANFromFeed within 7
// percent once divided by 1.2.
//
// Source: FAO 589, appendix, from memory. Check: 200 g at 32 percent 7.50 g.
func AmmoniaFAO589Gd(feedGd, protein float64) float64 {
	return feedGd * protein * NPerProtein * 0.61 * 1.2
}

// Cohort is like fish of one group. Make one with NewCohort, or fill in the
// fields; Step moves it on by a day.
type Cohort struct {
	Species         *Species
	Number          float64 // living fish, an expectation: fractions are right
	WeightG         float64 // live weight of one
	Performance     float64 // this stock against the model; 0 stands for 1
	MortalityPerDay float64 // deaths per fish and day; 0 for none
	HoldAtG         float64 // fish are held at this weight on the holding ration; 0 stands for Species.CeilingG
}

// NewCohort returns number fish of weightG with the species' mortality, held
// from its ceiling on. Performance 0 stands for 1.
//
// Errors wrap quantity.ErrRange: a number that is negative, above 10 million or
// no whole number, a weight outside 0.001 to 20 000 g, a performance outside 0
// to 5, or constants without a growth curve.
func NewCohort(s *Species, number, weightG, performance float64) (Cohort, error) {
	err := quantity.InRange("number of fish", number, 0, 1e7, "")
	if err == nil && number != math.Trunc(number) {
		err = fmt.Errorf("%g fish: fish are counted whole: %w", number, quantity.ErrRange)
	}
	if err == nil {
		_, err = growthFactor(*s, weightG, s.GrowthTOptC, performance)
	}
	if err != nil {
		return Cohort{}, fmt.Errorf("cohort of %s: %w", s.ID, err)
	}
	return Cohort{Species: s, Number: number, WeightG: weightG, Performance: performance, MortalityPerDay: s.MortalityPerDay}, nil
}

// BiomassG returns the live weight of all fish.
func (c *Cohort) BiomassG() float64 { return c.Number * c.WeightG }

// CohortDay is what a day made of all fish of a cohort, in g. Nitrogen and
// phosphorus balance: FeedNG = KeptNG + TANG + FaecalNG and FeedPG = KeptPG +
// DissolvedPG + SolidPG. Where fish lose flesh KeptNG and KeptPG are negative
// and what was lost is in TANG and DissolvedPG. Dead fish take NKeptPerGain
// and PKeptPerGain times DeadG with them.
type CohortDay struct {
	FeedG       float64
	GainG       float64 // of the fish that live; negative when they starve
	DeadN       float64 // fish
	DeadG       float64 // at the weight of the morning
	FeedNG      float64
	KeptNG      float64
	TANG        float64
	FaecalNG    float64 // faeces
	FeedPG      float64
	KeptPG      float64
	DissolvedPG float64
	SolidPG     float64
	SolidsG     float64 // dry
	OxygenG     float64
	CO2G        float64
}

// Step feeds the fish for a day in water of tempC and returns what becomes of
// it. The planned feed is that of full growth (gain × FeedConversion, the gain
// the exact step of GrowthGPerDay at the cohort's performance); feedFactor, 0
// to 1, cuts it (see FeedCut). Outside the feeding temperatures no feed is
// given. On the planned feed the fish grow in full; below it growth falls on a
// straight line to nothing at the ration of upkeep, and below that the fish
// lose weight, without feed StarvationShareDay. Upkeep takes at most 0.8 of the
// full ration. At HoldAtG the full ration is that of upkeep and the weight
// stays. The gain is at most what 0.6 of the feed's nitrogen and 0.8 of its
// phosphorus can build. Ammonia is TANFromFeed, but at most 0.9 of the nitrogen
// not kept; solids carry the rest.
//
// Deaths come first: DeadN = Number × (1 - exp(-MortalityPerDay)).
//
// Water outside -1 to 45 °C counts as the nearer end, a factor outside 0 to 1
// likewise. A cohort without fish, or with fields or arguments that are no
// usable number, stays as it is and returns a day of zeros. Step does not
// allocate.
//
// Check: trout of 100 g at 12 °C, full ration: gain 1.40 g, feed 1.40 g; catfish
// of 450 g unfed for 100 days at 10 °C lose 9.6 percent.
func (c *Cohort) Step(tempC float64, feed FeedKind, feedFactor float64) (day CohortDay) {
	s := c.Species
	if s == nil || !(c.Number > 0 && c.Number <= 1e9) || !(c.WeightG >= 0.001 && c.WeightG <= 20000) || math.IsNaN(tempC) || math.IsNaN(feedFactor) ||
		!(c.Performance >= 0 && c.Performance <= 5) || !(c.MortalityPerDay >= 0) || !(c.HoldAtG >= 0) {
		return day
	}
	tempC, feedFactor = min(45, max(-1, tempC)), min(1, max(0, feedFactor))
	feed = s.filled(feed)

	alive := c.Number * math.Exp(-c.MortalityPerDay)
	day.DeadN = c.Number - alive
	day.DeadG = day.DeadN * c.WeightG
	c.Number = alive

	w := c.WeightG
	share, gainG := c.feedAndGain(tempC, feed, feedFactor)
	day.FeedG = alive * share * w
	c.WeightG = max(0.001, w+gainG)
	day.GainG = alive * (c.WeightG - w)

	day.FeedNG = day.FeedG * feed.ProteinShare * NPerProtein
	day.KeptNG = day.GainG * NKeptPerGain
	burntNG := max(0, -day.KeptNG)
	wasteNG := day.FeedNG - max(0, day.KeptNG)
	fedTANG := min(TANFromFeed(day.FeedG, feed.ProteinShare), (1-leastNSolid)*wasteNG)
	day.FaecalNG = wasteNG - fedTANG
	day.TANG = fedTANG + burntNG

	day.FeedPG = day.FeedG * feed.PhosphorusShare
	day.KeptPG = day.GainG * PKeptPerGain
	wastePG := day.FeedPG - max(0, day.KeptPG)
	day.SolidPG = solidPShare * wastePG
	day.DissolvedPG = wastePG - day.SolidPG + max(0, -day.KeptPG)

	day.SolidsG = SolidsPerFeed * day.FeedG
	day.OxygenG = alive*w*s.spent(w, tempC) + day.FeedG*s.FeedingOxygenPerFeed(feed.EnergyJG)
	day.CO2G = CO2PerO2 * day.OxygenG
	return day
}

// feedAndGain is the day's feed of one fish, a share of its weight, and its
// gain in g.
func (c *Cohort) feedAndGain(tempC float64, feed FeedKind, feedFactor float64) (share, gainG float64) {
	s, w := c.Species, c.WeightG
	performance := c.Performance
	if performance == 0 {
		performance = 1
	}
	hold := c.HoldAtG
	if hold == 0 {
		hold = s.CeilingG()
	}
	upkeep := s.MaintenanceShareDay(w, tempC, feed.EnergyJG)
	loss := s.StarvationShareDay(w, tempC)

	fullGainG, full := 0.0, 0.0 // gain on the full ration, and that ration
	if factor := s.cardinal(tempC); factor > 0 && s.feeds(tempC) {
		power := 1 - s.GrowthB
		rise := power * s.GrowthAGPerDay * factor * performance
		fullGainG = max(0, math.Pow(math.Pow(w, power)+rise, 1/power)-w)
		full = s.FeedConversion(w) * fullGainG / w
		if room := hold - w; fullGainG > room {
			fullGainG = max(0, room)
			full = max(s.FeedConversion(w)*fullGainG/w, min(full, upkeep))
		}
	}
	share = feedFactor * full
	if full == 0 {
		return 0, w * math.Expm1(-loss)
	}
	need := min(upkeep, mostUpkeep*full)
	if fullGainG <= holdSlackG {
		need = full
	}
	switch {
	case share < need:
		gainG = w * math.Expm1(-loss*(1-share/need))
	case full-need > smallestGrow:
		gainG = fullGainG * (share - need) / (full - need)
	}
	if feedG := share * w; gainG > 0 {
		gainG = min(gainG, mostNKept*feedG*feed.ProteinShare*NPerProtein/NKeptPerGain, mostPKept*feedG*feed.PhosphorusShare/PKeptPerGain)
	}
	return share, gainG
}
