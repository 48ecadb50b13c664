package evidence

import (
	"context"
	"fmt"
	"maps"
	"math"
	"strings"

	"tidebed/science/fish"
)

func init() {
	maps.Copy(functions, map[string]function{
		"harvest-density": ofNumbers(fish.HarvestDensityKgM3, "stocked", "survival", "weight"),
		"year-harvest":    ofNumbers(fish.YearHarvestKg, "density", "volume", "days"),
		"tgc":             ofNumbers(fish.TGC, "from", "to", "degree-days"),
		"haskell":         ofNumbers(fish.HaskellRationShareDay, "fcr", "growth", "length"),
		"sgr": ofNumbers(func(fromG, gainGDay, days float64) (float64, error) {
			return fish.SGRPercentDay(fromG, fromG+gainGDay*days, days)
		}, "from", "gain", "days"),
		"sample-size": ofNumbers(func(cv, errorShare, count float64) (float64, error) {
			n, err := fish.SampleSize(cv, errorShare, count)
			return float64(n), err
		}, "cv", "error", "count"),
		"cohorts": ofNumbers(func(growDays, days, _ float64) (float64, error) {
			n, err := fish.CohortsAtOnce(growDays, days)
			return float64(n), err
		}, "grow", "days", ""),
		"ammonia-fao": ofNumbers(func(feedGd, protein, _ float64) (float64, error) { return fish.AmmoniaFAO589Gd(feedGd, protein), nil }, "feed", "protein", ""),
		"pacu-heat":   ofNumbers(func(weightG, tempC, _ float64) (float64, error) { return fish.PacuHeatKJDay(weightG, tempC), nil }, "weight", "temp", ""),
		"mortality": ofNumbers(func(share, days, _ float64) (float64, error) {
			perDay, err := fish.MortalityPerDay(share, days)
			return perDay * 1e4, err
		}, "survival", "days", ""),
		"starved": ofFish(func(s *fish.Species, weightG, tempC, days float64) float64 {
			return 100 * (1 - math.Exp(-days*s.StarvationShareDay(weightG, tempC)))
		}),
		"upkeep": ofFish(func(s *fish.Species, weightG, tempC, _ float64) float64 {
			return 100 * s.MaintenanceShareDay(weightG, tempC, 0)
		}),
		"conversion": ofFish(func(s *fish.Species, weightG, _, _ float64) float64 { return s.FeedConversion(weightG) }),
		"table-ration": ofFish(func(s *fish.Species, weightG, tempC, _ float64) float64 {
			share, _ := s.TableRationShareDay(weightG, tempC)
			return 100 * share
		}),
		"growth-ration-mean": growthRationMean, "fed-oxygen": fedOxygen, "suffocation": suffocation, "stagger": stagger,
	})
}

// ofNumbers asks a function of three numbers; an empty key stands for 0.
func ofNumbers(formula func(a, b, c float64) (float64, error), keys ...string) function {
	return func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
		var v [3]float64
		for i, key := range keys {
			if key == "" {
				continue
			}
			var err error
			if v[i], err = numberOf(in, key, math.NaN()); err != nil {
				return 0, err
			}
		}
		return formula(v[0], v[1], v[2])
	}
}

// ofFish asks a function of a species, weight, temperature and days.
func ofFish(formula func(s *fish.Species, weightG, tempC, days float64) float64) function {
	return func(ctx context.Context, b *bench, in map[string]string) (float64, error) {
		s, err := fish.Lookup(in["species"])
		if err != nil {
			return 0, err
		}
		return ofNumbers(func(weightG, tempC, days float64) (float64, error) {
			return formula(&s, weightG, tempC, days), nil
		}, "weight", "temp", "days")(ctx, b, in)
	}
}

// growthRationMean is the ration of growth, percent a day, as the mean over
// water temperatures.
func growthRationMean(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	s, err := fish.Lookup(in["species"])
	if err != nil {
		return 0, err
	}
	weightG, err := numberOf(in, "weight", math.NaN())
	if err != nil {
		return 0, err
	}
	sum, n := 0.0, 0.0
	for text := range strings.SplitSeq(in["temps"], ";") {
		tempC, err := number(text)
		if err != nil {
			return 0, err
		}
		sum, n = sum+s.GrowthRationShareDay(weightG, tempC), n+1
	}
	return 100 * sum / n, nil
}

func fedOxygen(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	formula, ok := map[string]func(weightG, tempC float64) (float64, error){
		"catfish": fish.FedCatfishOxygenMgKgH, "trout": fish.HatcheryTroutOxygenGKgDay, "tilapia": fish.FedTilapiaOxygenMgKgH,
	}[in["equation"]]
	if !ok {
		return 0, fmt.Errorf("no equation %q", in["equation"])
	}
	return ofNumbers(func(weightG, tempC, _ float64) (float64, error) { return formula(weightG, tempC) }, "weight", "temp", "")(ctx, b, in)
}

// suffocation is in minutes, for a m³ of water.
func suffocation(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	to, err := numberOf(in, "to", math.NaN())
	if err != nil {
		return 0, err
	}
	return ofNumbers(func(densityKgM3, mgKgH, fromGm3 float64) (float64, error) {
		hours, err := fish.SuffocationHours(1, fromGm3, to, densityKgM3, mgKgH)
		return 60 * hours, err
	}, "density", "rate", "from")(ctx, b, in)
}

// stagger is a figure of the plan for 10 kg of fish of 500 g every 28 days.
func stagger(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	s, err := fish.Lookup(in["species"])
	if err != nil {
		return 0, err
	}
	p, err := fish.Staggering{HarvestKg: 10, EveryDays: 28, HarvestG: 500, StockG: 50, TempC: 27, Performance: 1, MortalityPerDay: 3e-4, FCR: 1.5}.Plan(&s)
	if err != nil {
		return 0, err
	}
	v, ok := map[string]float64{
		"cohorts": float64(p.Cohorts), "stock": float64(p.StockFish), "before": p.BeforeKg, "after": p.AfterKg, "feed": 1000 * p.FeedKgDay,
	}[in["figure"]]
	if !ok {
		return 0, fmt.Errorf("no figure %q", in["figure"])
	}
	return v, nil
}
