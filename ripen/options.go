package ripen

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"tidebed/cells"
	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
)

// Usual first stocks of each group of bacteria, g COD per m³ of the loop's water.
const (
	SeedNew   = water.SeedNewGCODM3   // new media and clean water
	SeedWater = water.SeedWaterGCODM3 // a bucket of water or a handful of stones from a running loop
	SeedMedia = 1e-2                  // a good part of the media moved from a running loop
)

// Limits of plans.
const (
	LeastTempC, MostTempC = 4.0, 34.0 // the nitrifiers' own limits
	MostDays              = 240       // after which a plan gives up
	MostNGm3              = 5.0       // ammonia and nitrite nitrogen without fish [srac-4502]
	DoneGm3               = 0.5       // of each, on the morning after a full load
	UsualTANGm3           = 4.0       // to which ammonia is dosed
	BucketM3              = 0.010     // of media
)

const (
	ruleFeedGM2      = 20.0 // g feed a day for each m² of beds; common practice, no source
	ruleProtein      = 0.35
	usualPH          = 7.5
	usualAlkEqM3     = 2.0
	airCO2PPM        = 600.0 // a building with people in it; common practice, no source
	ionicMolL        = 0.008
	moveSurvival     = 0.5 // of bacteria that live on after media was moved; common practice, no source
	usualBedDepthM   = 0.3
	startPhosphorus  = 0.5 // g/m³, a pinch of phosphate, without which no bacteria grow
	mostGoalFeedGDay = 1e6
)

// Options are the knobs of a plan; zero values stand for what the site says.
type Options struct {
	TempC   float64 // of all the water, 4 to 34; 0: the tanks' set point
	PH      float64 // of the water filled in, 5 to 9.5; 0: aired until it stands with the air
	AlkEqM3 float64 // of the water filled in, up to 20; 0: that of the loop's source
	// SeedGCODM3 are the bacteria of each group to begin with, g COD for each m³ of
	// water, 1e-7 to 1: SeedNew (for 0), SeedWater or SeedMedia.
	SeedGCODM3 float64
	// RipeMediaM3 is running media moved from another loop, up to 100 m³. Half of
	// its bacteria are taken to live on: those that its share of that loop's feed
	// keeps alive.
	RipeMediaM3  float64
	From         string  // the loop it comes from; empty: the first other loop with media
	GoalFeedGDay float64 // feed the loop must bear at the end; 0: the opening's full ration, without fish 20 g/m² of beds
	TargetTANGm3 float64 // 0.5 to 4; 0: UsualTANGm3
	Base         string  // KHCO3 (usual) or NaHCO3
	// FishKg are fish of WeightG each for FishIn, of a Species; 0: the opening's.
	FishKg, WeightG float64
	Species         string
}

// ErrNoMedia is a loop without a surface for bacteria.
var ErrNoMedia = errors.New("no media on which bacteria could grow")

// errIncomplete is a description that leaves out what a plan needs.
var errIncomplete = errors.New("something is not written down")

// ErrNoFish is a fish-in plan without fish.
var ErrNoFish = errors.New("no fish")

// stock is one cohort.
type stock struct {
	fish fish.Cohort
	feed fish.FeedKind
	cell int
	name string
}

// setting is a plan's question made whole.
type setting struct {
	o          Options
	loop       *site.Loop
	circuit    *plumbing.Circuit
	air        plumbing.Air
	source     site.SourceWater
	base       water.Chemical
	stock      []stock
	volumeM3   float64
	mediaM2    float64
	goalNGDay  float64
	goalWhy    string
	protein    float64
	setPointC  float64
	seedG      float64 // of ammonia oxidisers in the whole loop, g COD
	seedNG     float64 // of nitrite oxidisers
	seedWhy    string
	warnings   []string
	capacityGN float64 // most that the media oxidises in a day at the temperature
}

func refuse(name string, v, lo, hi float64, unit string) error {
	if v == 0 {
		return nil
	}
	return quantity.InRange(name, v, lo, hi, unit)
}

// newSetting fills in what the options leave open.
func newSetting(l *site.Loop, s *site.Site, o Options) (*setting, error) {
	if l == nil || s == nil {
		return nil, errors.New("start-up: no loop given")
	}
	for _, b := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"temperature of the water", o.TempC, LeastTempC, MostTempC, "°C"}, {"pH", o.PH, 5, 9.5, ""}, {"alkalinity", o.AlkEqM3, 0, 20, "eq/m³"},
		{"bacteria to begin with", o.SeedGCODM3, 1e-7, 1, "g COD/m³"}, {"ripe media", o.RipeMediaM3, 0, 100, "m³"},
		{"goal, feed a day", o.GoalFeedGDay, 0, mostGoalFeedGDay, "g/d"}, {"ammonia to dose to", o.TargetTANGm3, 0.5, 4, "g/m³"},
		{"fish", o.FishKg, 0, 1e5, "kg"}, {"weight of a fish", o.WeightG, 0.1, 20000, "g"},
	} {
		if err := refuse(b.name, b.v, b.lo, b.hi, b.unit); err != nil {
			return nil, fmt.Errorf("start-up of loop %s: %w", l.Name, err)
		}
	}
	q := &setting{o: o, loop: l}
	q.o.SeedGCODM3 = cmp.Or(o.SeedGCODM3, SeedNew)
	q.o.TargetTANGm3 = cmp.Or(o.TargetTANGm3, UsualTANGm3)
	if err := q.place(s); err != nil {
		return nil, fmt.Errorf("start-up of loop %s: %w", l.Name, err)
	}
	if err := q.animals(s); err != nil {
		return nil, fmt.Errorf("start-up of loop %s: %w", l.Name, err)
	}
	q.goal()
	if err := q.seed(s); err != nil {
		return nil, fmt.Errorf("start-up of loop %s: %w", l.Name, err)
	}
	return q, nil
}

// place is the loop's cells, air, temperature and water.
func (q *setting) place(s *site.Site) error {
	c, err := plumbing.Of(q.loop)
	if err != nil {
		return err
	}
	if c != nil {
		for i := range c.Layout.Cells {
			q.volumeM3 += c.Layout.Cells[i].VolumeM3
			q.mediaM2 += c.Layout.Cells[i].MediaM2
		}
	}
	if q.mediaM2 == 0 {
		return fmt.Errorf("it has tanks or tubs alone: %w; write down its beds, or a filter as a bed with media", ErrNoMedia)
	}
	q.circuit = c
	q.air.CO2PPM = airCO2PPM
	if q.air.PressureKPa, err = air.PressureKPa(s.Place.ElevationM); err != nil {
		return err
	}
	warm, volume := 0.0, 0.0
	for i := range q.loop.Tanks {
		if t := &q.loop.Tanks[i]; t.WaterC > 0 {
			warm += t.WaterC * t.VolumeM3
			volume += t.VolumeM3
		}
	}
	if volume > 0 {
		q.setPointC = math.Round(10*warm/volume) / 10
	} else if at := slices.IndexFunc(s.Opening.Water, func(w site.OpeningWater) bool { return w.Loop == q.loop.Name && w.TempC > 0 }); at >= 0 {
		q.setPointC = s.Opening.Water[at].TempC
	}
	if q.o.TempC == 0 {
		q.o.TempC = q.setPointC
	}
	if q.setPointC == 0 {
		q.setPointC = q.o.TempC
	}
	if q.o.TempC == 0 {
		return fmt.Errorf("%w: no temperature is known: write down at what its tanks are held, or give one", errIncomplete)
	}
	if err := quantity.InRange("temperature of the water", q.o.TempC, LeastTempC, MostTempC, "°C"); err != nil {
		return err
	}
	if at := slices.IndexFunc(s.Waters, func(w site.SourceWater) bool { return w.Name == q.loop.Water }); at >= 0 {
		q.source = s.Waters[at]
	} else {
		q.source = site.SourceWater{Name: "water of your own", PH: usualPH, AlkalinityMolM3: usualAlkEqM3}
		q.warnings = append(q.warnings, fmt.Sprintf("The loop's water has no analysis: pH %.1f and an alkalinity of %.0f mg/L as CaCO3 are taken; measure it.", usualPH, usualAlkEqM3*water.CaCO3PerEq))
	}
	if q.o.AlkEqM3 == 0 {
		q.o.AlkEqM3 = q.source.AlkalinityMolM3
	}
	if q.source.ChlorineGm3 > 0 {
		how := "air it for two days, or take sodium thiosulfate"
		if q.source.Chloramine {
			how = "take sodium thiosulfate: airing does not drive chloramine out"
		}
		q.warnings = append(q.warnings, fmt.Sprintf("%s holds chlorine, which kills these bacteria: %s, before anything else, and test with a strip.", q.source.Name, how))
	}
	if q.base, err = water.LookupChemical(cmp.Or(q.o.Base, "KHCO3")); err != nil {
		return err
	}
	if q.base.Formula != "KHCO3" && q.base.Formula != "NaHCO3" {
		return fmt.Errorf("base %s is too strong for a plan by the day: take KHCO3 or NaHCO3", q.base.Formula)
	}
	a := water.AmmoniaOxidisers()
	for i := range c.Layout.Cells {
		cell := &c.Layout.Cells[i]
		q.capacityGN += cell.MediaM2 * cmp.Or(cell.MostGM2Day, cells.UsualGM2Day)
	}
	q.capacityGN *= a.GrowthPerDay(q.o.TempC) / a.Growth20PerDay
	return nil
}

// animals are the loop's fish, of the options or of the opening.
func (q *setting) animals(s *site.Site) error {
	if q.o.FishKg > 0 {
		sp, err := fish.Lookup(q.o.Species)
		if err != nil {
			return err
		}
		weight := cmp.Or(q.o.WeightG, sp.StockWeightG)
		co, err := fish.NewCohort(&sp, max(1, math.Round(q.o.FishKg*1000/weight)), weight, 0)
		if err != nil {
			return err
		}
		q.stock = []stock{{co, sp.UsualFeed(), q.firstTank(), sp.Name}}
		return nil
	}
	for i := range s.Opening.Cohorts {
		in := &s.Opening.Cohorts[i]
		cell, here := q.circuit.CellOf[in.Tank]
		if !here {
			continue
		}
		sp, err := fish.Lookup(in.Species)
		if err != nil {
			return err
		}
		co, err := fish.NewCohort(&sp, float64(in.Count), in.WeightKg*1000, 0)
		if err != nil {
			return fmt.Errorf("%s: %w", in.Name, err)
		}
		feed := sp.UsualFeed()
		if at := slices.IndexFunc(s.Feeds, func(f site.Feed) bool { return f.Name == in.Feed }); at >= 0 {
			f := &s.Feeds[at]
			feed.ProteinShare = f.Protein
			feed.PhosphorusShare = cmp.Or(f.Phosphorus, feed.PhosphorusShare)
			feed.EnergyJG = cmp.Or(f.EnergyJKg/1000, feed.EnergyJG)
		}
		q.stock = append(q.stock, stock{co, feed, cell, in.Name})
	}
	return nil
}

func (q *setting) firstTank() int {
	for i := range q.circuit.Places {
		if q.circuit.Places[i].Kind == plumbing.Tank {
			return i
		}
	}
	return q.circuit.Hub
}

// fullRation is the day's feed of all fish at a temperature, g, and its ammonia
// nitrogen.
func (q *setting) fullRation(tempC float64) (feedG, nG float64) {
	for i := range q.stock {
		one := q.stock[i].fish
		d := one.Step(tempC, q.stock[i].feed, 1)
		feedG += d.FeedG
		nG += fish.TANFromFeed(d.FeedG, q.stock[i].feed.ProteinShare)
	}
	return feedG, nG
}

// goal is the load to be borne.
func (q *setting) goal() {
	feedG, nG := q.fullRation(q.setPointC)
	q.protein = ruleProtein
	if feedG > 0 {
		q.protein = nG / feedG / fish.TANPerProtein
	}
	switch {
	case q.o.GoalFeedGDay > 0:
		q.goalWhy = "as asked"
	case feedG > 0:
		q.o.GoalFeedGDay = feedG
		q.goalWhy = fmt.Sprintf("the full ration of the opening's fish at %s °C", tenth(q.setPointC))
	default:
		m2 := 0.0
		for i := range q.loop.Beds {
			if q.loop.Beds[i].Kind != "tub" {
				m2 += q.loop.Beds[i].GrowingM2()
			}
		}
		q.o.GoalFeedGDay = ruleFeedGM2 * m2
		q.goalWhy = fmt.Sprintf("the rule of %.0f g for each m² of beds", ruleFeedGM2)
	}
	q.goalNGDay = fish.TANFromFeed(q.o.GoalFeedGDay, q.protein)
}

// seed is the bacteria to begin with.
func (q *setting) seed(s *site.Site) error {
	q.seedG = q.o.SeedGCODM3 * q.volumeM3
	q.seedNG = q.seedG
	q.seedWhy = fmt.Sprintf("ordinary seeding of %.3g mg of each group of bacteria (as COD) for each m³ of water", 1000*q.o.SeedGCODM3)
	if q.o.RipeMediaM3 == 0 {
		return nil
	}
	name, tempC, areaM2M3, loadGM3 := "a running loop", q.o.TempC, 225.0, fish.TANFromFeed(ruleFeedGM2, ruleProtein)/usualBedDepthM
	for i := range s.Loops {
		l := &s.Loops[i]
		if l.Name == q.loop.Name || q.o.From != "" && l.Name != q.o.From {
			continue
		}
		donor, err := newSetting(l, s, Options{})
		if err != nil {
			continue // without media or warmth it has none to give
		}
		mediaM3 := 0.0
		for k := range l.Beds {
			if b := &l.Beds[k]; b.Kind == "media" || b.Kind == "constant" {
				mediaM3 += b.GrowingM2() * b.DepthM
			}
		}
		if mediaM3 == 0 {
			continue
		}
		bedM2 := 0.0
		for k := range donor.circuit.Places {
			if kind := donor.circuit.Places[k].Kind; kind == plumbing.Beds || kind == plumbing.Wet {
				bedM2 += donor.circuit.Layout.Cells[k].MediaM2
			}
		}
		if q.o.RipeMediaM3 > mediaM3 {
			return fmt.Errorf("loop %s has %.3g m³ of media, and %.3g m³ are to be moved: %w", l.Name, mediaM3, q.o.RipeMediaM3, quantity.ErrRange)
		}
		// Walls of rafts and towers carry their part of the load.
		name, tempC, areaM2M3, loadGM3 = "loop "+l.Name, donor.o.TempC, bedM2/mediaM3, donor.goalNGDay*bedM2/donor.mediaM2/mediaM3
		break
	}
	if q.o.From != "" && name != "loop "+q.o.From {
		return fmt.Errorf("%w: no loop %q with running media to take from", errIncomplete, q.o.From)
	}
	a, n := cells.SteadyBacteria(loadGM3*q.o.RipeMediaM3, tempC, areaM2M3*q.o.RipeMediaM3, 0)
	q.seedG += moveSurvival * a
	q.seedNG += moveSurvival * n
	q.seedWhy = fmt.Sprintf("%s of running media from %s; it is taken to bear %.2g g of nitrogen a day there, and half of its bacteria to live on", buckets(q.o.RipeMediaM3), name, loadGM3*q.o.RipeMediaM3)
	return nil
}
