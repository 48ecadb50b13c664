package fish_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/fish"
)

// Every function refuses with ErrRange or answers with a finite number that is
// not negative, whatever it is asked.
func TestRefusedOrFinite(t *testing.T) {
	any64 := rapid.OneOf(
		rapid.Float64(), rapid.Float64Range(0, 100), rapid.Float64Range(0, 2),
		rapid.SampledFrom([]float64{0, 1, -1, math.NaN(), math.Inf(1), math.Inf(-1), math.MaxFloat64, math.SmallestNonzeroFloat64, 20000, 365}),
	)
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(fish.All()).Draw(t, "species")
		a, b, c, d, e := any64.Draw(t, "a"), any64.Draw(t, "b"), any64.Draw(t, "c"), any64.Draw(t, "d"), any64.Draw(t, "e")
		answers := map[string]func() (float64, error){
			"TGC":                   func() (float64, error) { return fish.TGC(a, b, c) },
			"TGCWeightG":            func() (float64, error) { return fish.TGCWeightG(a, b, c) },
			"HaskellRationShareDay": func() (float64, error) { return fish.HaskellRationShareDay(a, b, c) },
			"Survival":              func() (float64, error) { return fish.Survival(a, b) },
			"MortalityPerDay":       func() (float64, error) { return fish.MortalityPerDay(a, b) },
			"HarvestDensityKgM3":    func() (float64, error) { return fish.HarvestDensityKgM3(a, b, c) },
			"YearHarvestKg":         func() (float64, error) { return fish.YearHarvestKg(a, b, c) },
			"CohortsAtOnce":         func() (float64, error) { n, err := fish.CohortsAtOnce(a, b); return float64(n), err },
			"SuffocationHours":      func() (float64, error) { return fish.SuffocationHours(a, b, c, d, e) },
			"FedCatfish":            func() (float64, error) { return fish.FedCatfishOxygenMgKgH(a, b) },
			"HatcheryTrout":         func() (float64, error) { return fish.HatcheryTroutOxygenGKgDay(a, b) },
			"FedTilapia":            func() (float64, error) { return fish.FedTilapiaOxygenMgKgH(a, b) },
			"SampleSize":            func() (float64, error) { n, err := fish.SampleSize(a, b, c); return float64(n), err },
			"ConditionK":            func() (float64, error) { return fish.ConditionK(a, b) },
			"WeightFromLengthG":     func() (float64, error) { return s.WeightFromLengthG(a) },
			"RelativeWeightPercent": func() (float64, error) { return s.RelativeWeightPercent(a, b) },
			"PurgedWeightG":         func() (float64, error) { return s.PurgedWeightG(a, b, c) },
			"PlantAreaM2":           func() (float64, error) { return fish.PlantAreaM2(a, b, c) },
			"ConversionOfRecords":   func() (float64, error) { return fish.ConversionOfRecords(a, b, c, d, e) },
			"GrowthGPerDay":         func() (float64, error) { return fish.GrowthGPerDay(s, a, b, c) },
			"BucketMeanG":           func() (float64, error) { return fish.BucketMeanG([]fish.Bucket{{Fish: 3, MassG: a}}) },
			"WeighSample": func() (float64, error) {
				sample, err := fish.WeighSample([]float64{a, b}, c, d)
				return sample.MeanG + sample.StandardError + sample.BiomassKg + sample.BiomassSEKg, err
			},
			"MaxBiomass": func() (float64, error) {
				kg, _, err := fish.MaxBiomass{DensityKgM3: a, VolumeM3: b, OxygenGH: c, PeakMgKgH: d, FeedKgDay: e, RationShare: a}.Kg()
				return kg, err
			},
			"Staggering": func() (float64, error) {
				p, err := fish.Staggering{HarvestKg: a, EveryDays: b, HarvestG: c, StockG: d, TempC: e, Performance: 1, MortalityPerDay: 1e-3, FCR: 1.5}.Plan(&s)
				return p.BeforeKg + p.AfterKg + p.FeedKgDay + float64(p.StockFish), err
			},
		}
		for name, ask := range answers {
			v, err := ask()
			if err != nil && !errors.Is(err, quantity.ErrRange) {
				t.Fatalf("%s: %v is no ErrRange", name, err)
			}
			if err == nil && !(v >= 0 && !math.IsInf(v, 0)) {
				t.Fatalf("%s(%g, %g, %g, %g, %g) = %g", name, a, b, c, d, e, v)
			}
		}
		share, meals := s.RationShareDay(a, b)
		rate, _ := s.RoutineOxygenMgKgH(a, b)
		for name, v := range map[string]float64{
			"ration": share, "meals": float64(meals), "oxygen": rate, "loss": s.StarvationShareDay(a, b), "upkeep": s.MaintenanceShareDay(a, b, c),
			"feed share": s.FeedShare(fish.FeedCut{TempC: a, PlanC: b, DOGm3: c, NH3NGm3: d, TANGm3: e, NO2NGm3: a, DaysFed: 3}),
		} {
			if !(v >= 0 && !math.IsInf(v, 0)) {
				t.Fatalf("%s of %s (%g, %g, %g): %g", name, s.ID, a, b, c, v)
			}
		}
	})
}

// No species' ration passes a fifth of its weight, or jumps with the weight.
func TestRationIsSmooth(t *testing.T) {
	for _, s := range fish.All() {
		if share, ok := s.TableRationShareDay(100, s.GrowthTOptC); !ok || share <= 0 {
			t.Errorf("%s: no ration in the table", s.ID)
		}
		for tempC := s.FeedStopLowC; tempC <= s.FeedStopHighC; tempC++ {
			last, _ := s.RationShareDay(1, tempC)
			for w := 1.0; w < 1500; w *= 1.005 {
				share, _ := s.RationShareDay(w, tempC)
				if share > 0.2 || math.Abs(share-last) > 0.06*last {
					t.Fatalf("%s at %g °C: %g, then %g at %g g", s.ID, tempC, last, share, w)
				}
				last = share
			}
		}
	}
}
