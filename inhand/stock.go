package inhand

import (
	"fmt"
	"math"
	"slices"

	"tidebed/quantity"
	"tidebed/science/fish"
	"tidebed/site"
)

// Stock is the like fish of a tank on one day.
type Stock struct {
	Tank         string  `json:"tank"`
	Species      string  `json:"species"` // as the species table names it
	Name         string  `json:"name"`
	Number       float64 `json:"number"`
	WeightG      float64 `json:"weightG"`  // of one, live
	FeedGDay     float64 `json:"feedGDay"` // of all of them
	ProteinShare float64 `json:"proteinShare"`
	EnergyJG     float64 `json:"-"` // of the feed; 0 for the species' usual
}

// Limits of a stock.
const (
	mostFish    = 1e7
	mostWeightG = 20000.0
	mostFeedGD  = 1e8
)

// StockOf returns the fish of a building's opening, fed in full at the
// temperature of their tank. A cohort whose feed cannot be worked out has
// FeedGDay 0; Of says why it cannot serve.
func StockOf(s *site.Site) []Stock {
	var all []Stock
	for i := range s.Opening.Cohorts {
		c := &s.Opening.Cohorts[i]
		k := Stock{Tank: c.Tank, Species: c.Species, Name: c.Name, Number: float64(c.Count), WeightG: c.WeightKg * 1000}
		var feed fish.FeedKind
		for _, f := range s.Feeds {
			if f.Name == c.Feed {
				feed = fish.FeedKind{ProteinShare: f.Protein, PhosphorusShare: f.Phosphorus, EnergyJG: f.EnergyJKg / 1000}
			}
		}
		if sp, err := fish.Lookup(c.Species); err == nil {
			if feed.ProteinShare == 0 {
				feed = sp.UsualFeed()
			}
			if group, err := fish.NewCohort(&sp, k.Number, k.WeightG, 0); err == nil {
				tempC, _ := tankC(s, c.Tank, &sp)
				k.FeedGDay = group.Step(tempC, feed, 1).FeedG
			}
		}
		k.ProteinShare, k.EnergyJG = feed.ProteinShare, feed.EnergyJG
		all = append(all, k)
	}
	return all
}

// tankC is the temperature a tank is held at: its own, its loop's opening
// water's, or, told as guessed, the best of its fish.
func tankC(s *site.Site, tank string, sp *fish.Species) (tempC float64, guessed bool) {
	for i := range s.Loops {
		for _, t := range s.Loops[i].Tanks {
			if t.Name != tank {
				continue
			}
			if t.WaterC != 0 {
				return t.WaterC, false
			}
			for _, w := range s.Opening.Water {
				if w.Loop == s.Loops[i].Name && w.TempC != 0 {
					return w.TempC, false
				}
			}
		}
	}
	return sp.GrowthTOptC, true
}

// group is a Stock that has been looked up.
type group struct {
	Stock
	sp       fish.Species
	routineG float64 // oxygen, g/d
	digestG  float64 // oxygen of digestion, mean g/d
	tanG     float64 // mean g/d
}

// look checks a stock and works out what it breathes and excretes at tempC.
func (k Stock) look(tempC float64) (group, error) {
	g := group{Stock: k}
	var err error
	if g.sp, err = fish.Lookup(k.Species); err != nil {
		return g, fmt.Errorf("fish in %s: %w", k.Tank, err)
	}
	for _, b := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"number of fish", k.Number, 0, mostFish, ""}, {"weight of a fish", k.WeightG, 0.001, mostWeightG, "g"},
		{"feed", k.FeedGDay, 0, mostFeedGD, "g/d"}, {"protein of the feed", k.ProteinShare, 0, 1, ""}, {"energy of the feed", k.EnergyJG, 0, 1e5, "J/g"},
		{"water temperature", tempC, 0, 40, "°C"},
	} {
		if err := quantity.InRange(b.name, b.v, b.lo, b.hi, b.unit); err != nil {
			return g, fmt.Errorf("fish in %s: %w", k.Tank, err)
		}
	}
	mgKgH, ok := g.sp.RoutineOxygenMgKgH(k.WeightG, tempC)
	if !ok { // crustaceans have no constants of their own
		mgKgH = noConstantsMgKgH
	}
	g.routineG = mgKgH * 24e-6 * k.Number * k.WeightG
	g.digestG = k.FeedGDay * g.sp.FeedingOxygenPerFeed(k.EnergyJG)
	g.tanG = fish.TANFromFeed(k.FeedGDay, k.ProteinShare)
	return g, nil
}

// noConstantsMgKgH is the routine oxygen of kinds without constants in the
// species table. Common practice, no source: that of fed warm-water fish.
const noConstantsMgKgH = 200

// limits are the strictest of a tank's kinds of fish; oxygen 0 for none.
type limits struct {
	fullFeed, minFeed, lethal float64 // oxygen, g/m³
	nh3Max, nh3Stop, no2Max   float64 // g/m³ as N
	names                     []string
	biomassKg, number         float64
}

func limitsOf(groups []group) (l limits) {
	l.nh3Max, l.nh3Stop, l.no2Max = math.Inf(1), math.Inf(1), math.Inf(1)
	for i := range groups {
		sp := &groups[i].sp
		l.fullFeed, l.minFeed, l.lethal = max(l.fullFeed, sp.DOFullFeedGm3), max(l.minFeed, sp.DOMinFeedGm3), max(l.lethal, sp.DOLethalGm3)
		l.nh3Max, l.nh3Stop, l.no2Max = min(l.nh3Max, sp.NH3NMaxGm3), min(l.nh3Stop, sp.NH3NStopGm3), min(l.no2Max, sp.NO2NMaxGm3)
		l.biomassKg += groups[i].Number * groups[i].WeightG / 1000
		l.number += groups[i].Number
		if !slices.Contains(l.names, groups[i].sp.Name) {
			l.names = append(l.names, groups[i].sp.Name)
		}
	}
	return l
}
