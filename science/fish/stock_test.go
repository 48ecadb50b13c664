package fish_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/fish"
)

// Source: Jobling 1983 (char); trout worked by hand; the trout farm series of
// Sommerfelt with Sadoul et al., its coefficients worked by hand.
func TestTGC(t *testing.T) {
	got, err := fish.TGC(18, 135, 1820)
	near(t, "char", got, err, 1.379, 0.001)
	for days, want := range map[float64]float64{90: 68.8, 180: 220.6, 210: 299.5, 226: 348.3} {
		got, err = fish.TGCWeightG(10, 1.8, 12*days)
		near(t, "trout", got, err, want, 0.06)
	}
	for tempC, want := range map[float64]float64{4: 54, 8: 158, 12: 348, 16: 650} {
		got, err = fish.TGCWeightG(10, 1.8, tempC*226)
		near(t, "trout, 226 d", got, err, want, 0.6)
	}
	days := []float64{91, 122, 152, 183, 213, 244, 274, 305, 335, 366}
	grams := []float64{12, 37, 68, 130, 182, 297, 566, 685, 943, 1230}
	temps := []float64{13.5, 13.4, 13.3, 12.5, 12.7, 13.5, 13.5, 14.8, 15.2}
	sum := 0.0
	for i, want := range []float64{2.49, 1.86, 2.39, 1.60, 2.55, 3.95, 1.30, 2.23, 1.93} {
		degreeDays := temps[i] * (days[i+1] - days[i])
		sum += degreeDays
		got, err = fish.TGC(grams[i], grams[i+1], degreeDays)
		near(t, "trout farm, interval", got, err, want, 0.011)
	}
	near(t, "degree-days", sum, nil, 3740, 5)
	got, err = fish.TGC(12, 1230, sum)
	near(t, "trout farm", got, err, 2.253, 0.002)
	if _, err = fish.TGCWeightG(10, 1.8, 1e6); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("beyond 20 kg: %v", err)
	}
}

// A published nursery trial: rates and daily gains belong together over 70 days.
func TestSGRAndHaskell(t *testing.T) {
	for gain, want := range map[float64]float64{0.96: 5.01, 0.92: 4.95, 0.83: 4.80} {
		got, err := fish.SGRPercentDay(2.07, 2.07+70*gain, 70)
		near(t, "specific growth rate", got, err, want, 0.015)
	}
	got, err := fish.HaskellRationShareDay(1.2, 0.6, 150)
	near(t, "hatchery ration", got, err, 0.0144, 1e-9)
	if _, err = fish.HaskellRationShareDay(5, 19, 50); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("a ration of 5: %v", err)
	}
}

// Source: Rakocy et al., the tanks of UVI: 61.5 and 70.7 kg/m³, 4.16 and 4.78 t
// a year, four tanks.
func TestUVI(t *testing.T) {
	got, err := fish.HarvestDensityKgM3(77, 0.983, 813.8)
	near(t, "Nile tilapia", got, err, 61.5, 0.2)
	got, err = fish.HarvestDensityKgM3(154, 0.899, 512.5)
	near(t, "red tilapia", got, err, 70.7, 0.4)
	got, err = fish.YearHarvestKg(61.5, 7.8, 42)
	near(t, "Nile tilapia a year", got, err, 4160, 20)
	got, err = fish.YearHarvestKg(70.7, 7.8, 42)
	near(t, "red tilapia a year", got, err, 4780, 20)
	n, err := fish.CohortsAtOnce(168, 42)
	near(t, "tanks", float64(n), err, 4, 0)
	got, err = fish.MortalityPerDay(0.983, 168)
	near(t, "mortality", got, err, 1.02e-4, 0.006e-4)
	got, err = fish.MortalityPerDay(0.899, 168)
	near(t, "mortality", got, err, 6.34e-4, 0.006e-4)
	got, err = fish.Survival(6.34e-4, 168)
	near(t, "survival", got, err, 0.899, 0.0005)
}

// Worked by hand; FAO 589 for the plants.
func TestStaggering(t *testing.T) {
	s := species(t, "tilapia_nile")
	want := fish.Staggering{HarvestKg: 10, EveryDays: 28, HarvestG: 500, StockG: 50, TempC: 27, Performance: 1, MortalityPerDay: 3e-4, FCR: 1.5}
	p, err := want.Plan(&s)
	near(t, "days", p.GrowDays, err, 183, 1)
	if p.Cohorts != 7 || p.StockFish != 22 || p.HarvestFish != 20 {
		t.Errorf("%+v", p)
	}
	near(t, "before", p.BeforeKg, err, 42.0, 0.1)
	near(t, "after", p.AfterKg, err, 32.7, 0.1)
	near(t, "feed", p.FeedKgDay, err, 0.477, 0.001)
	area, err := fish.PlantAreaM2(p.FeedKgDay*1000, 0.32, 50)
	near(t, "plants", area, err, 9.5, 0.06)
	near(t, "waiting", p.LastWaitDays, nil, 7*28-p.GrowDays, 1e-9)
	area, err = fish.PlantAreaM2(200, 0.32, fish.LeafyAny.HighGM2Day)
	near(t, "FAO 589 bed", area, err, 4, 1e-9)
	for _, bad := range []func(*fish.Staggering){
		func(w *fish.Staggering) { w.StockG = 500 }, func(w *fish.Staggering) { w.TempC = 10 }, func(w *fish.Staggering) { w.FCR = 0 },
		func(w *fish.Staggering) { w.MortalityPerDay = -1 }, func(w *fish.Staggering) { w.HarvestKg = math.NaN() }, func(w *fish.Staggering) { w.EveryDays = 0 },
	} {
		w := want
		bad(&w)
		if _, err := w.Plan(&s); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%+v: %v", w, err)
		}
	}
}

func TestLimits(t *testing.T) {
	kg, limit, err := fish.MaxBiomass{DensityKgM3: 60, VolumeM3: 2, OxygenGH: 25, PeakMgKgH: 300, FeedKgDay: 2, RationShare: 0.01}.Kg()
	if near(t, "fish", kg, err, 83.3, 0.05); limit != "oxygen" {
		t.Errorf("limit %q", limit)
	}
	kg, limit, err = fish.MaxBiomass{DensityKgM3: 20, VolumeM3: 2, OxygenGH: 25, PeakMgKgH: 300, FeedKgDay: 0.3, RationShare: 0.01}.Kg()
	if near(t, "fish", kg, err, 30, 1e-9); limit != "feed" {
		t.Errorf("limit %q", limit)
	}
	trout, prawn := species(t, "trout_rainbow"), species(t, "prawn_giant_river")
	for a, want := range map[fish.Aeration]float64{fish.ReturnOnly: 5, fish.AirStone: 15, fish.SmallUnit: 20, fish.StrongAir: 25, fish.StaffedPlant: 25} {
		got, err := trout.DensityLimitKgM3(a)
		near(t, string(a), got, err, want, 0)
	}
	if _, err := trout.DensityLimitKgM3("pure-oxygen"); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("pure oxygen: %v", err)
	}
	if _, err := prawn.DensityLimitKgM3(fish.AirStone); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("prawns by volume: %v", err)
	}
	near(t, "days before", fish.StockDaysBefore(100, 5), nil, 120, 1e-9)
	if from, to := fish.FastHours(12); from != 48 || to != 72 {
		t.Errorf("fast of %g to %g h", from, to)
	}
	got, err := trout.PurgedWeightG(300, 12, 5)
	near(t, "purged", got, err, 300*0.985*math.Exp(-5*trout.StarvationShareDay(300, 12)), 1e-9)
	if got > 296 || got < 280 {
		t.Errorf("purged to %g g", got)
	}
}

// Values of the printed tables of t, from memory.
func TestStudentT(t *testing.T) {
	for _, row := range [][3]float64{
		{0.975, 1, 12.7062}, {0.975, 2, 4.30265}, {0.975, 4, 2.77645}, {0.975, 9, 2.26216}, {0.975, 30, 2.04227}, {0.975, 120, 1.97993},
		{0.95, 5, 2.01505}, {0.99, 10, 2.76377}, {0.975, 1e9, 1.95996}, {0.025, 9, -2.26216}, {0.5, 3, 0}, {0.75, 1, 1},
	} {
		got, err := fish.StudentT(row[0], row[1])
		near(t, "t", got, err, row[2], 6e-6*math.Max(1, math.Abs(row[2])))
	}
	// With 2 degrees of freedom the quantile has a closed form.
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0.001, 0.999).Draw(t, "p")
		got, err := fish.StudentT(p, 2)
		if want := (2*p - 1) * math.Sqrt(2/(4*p*(1-p))); err != nil || math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
			t.Fatalf("t(%g, 2) = %g, %v; want %g", p, got, err, want)
		}
	})
	for _, a := range [][2]float64{{0, 5}, {1, 5}, {0.9, 0}, {math.NaN(), 5}, {0.9, math.NaN()}} {
		if _, err := fish.StudentT(a[0], a[1]); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("StudentT(%v): %v", a, err)
		}
	}
}

// Worked with a statistics package.
func TestWeighSample(t *testing.T) {
	weights := []float64{212, 185, 240, 198, 176, 225, 260, 190, 205, 219}
	got, err := fish.WeighSample(weights, 120, 0)
	near(t, "mean", got.MeanG, err, 211.0, 0.05)
	near(t, "sd", got.SDG, err, 25.93, 0.01)
	near(t, "se", got.StandardError, err, 7.85, 0.006)
	near(t, "biomass", got.BiomassKg, err, 25.3, 0.05)
	near(t, "biomass se", got.BiomassSEKg, err, 0.94, 0.006)
	wide, err := fish.WeighSample(weights, 1e9, 0)
	near(t, "se of very many", wide.StandardError, err, 8.20, 0.006)
	near(t, "low", wide.LowG, err, 192.5, 0.06)
	near(t, "high", wide.HighG, err, 229.5, 0.06)
	unsure, err := fish.WeighSample(weights, 120, 5)
	near(t, "unsure count", unsure.BiomassSEKg, err, math.Hypot(0.942, 5*0.211), 0.002)
	if all, err := fish.WeighSample(weights, 10, 0); err != nil || all.StandardError != 0 {
		t.Errorf("all fish weighed: %+v, %v", all, err)
	}
	for _, a := range []struct {
		weights []float64
		count   float64
	}{{weights, 9}, {weights, 120.5}, {weights[:1], 120}, {[]float64{100, -1}, 9}, {[]float64{100, math.NaN()}, 9}, {nil, 3}, {weights, math.NaN()}} {
		if _, err := fish.WeighSample(a.weights, a.count, 0); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("WeighSample(%v, %g): %v", a.weights, a.count, err)
		}
	}
	mean, err := fish.BucketMeanG([]fish.Bucket{{10, 2000}, {30, 7200}})
	near(t, "buckets", mean, err, 230, 1e-9)
	if _, err := fish.BucketMeanG(nil); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("no bucket: %v", err)
	}
}

// Worked with a statistics package.
func TestSampleSize(t *testing.T) {
	for i, cv := range []float64{0.15, 0.20, 0.25, 0.30} {
		for _, row := range []struct {
			share, count float64
			want         []int
		}{
			{0.10, math.Inf(1), []int{12, 18, 27, 38}}, {0.10, 100, []int{11, 16, 22, 28}},
			{0.05, math.Inf(1), []int{38, 64, 99, 141}}, {0.05, 100, []int{28, 40, 51, 60}},
		} {
			if got, err := fish.SampleSize(cv, row.share, row.count); err != nil || got != row.want[i] {
				t.Errorf("SampleSize(%g, %g, %g) = %d, %v; want %d", cv, row.share, row.count, got, err, row.want[i])
			}
		}
	}
	if n, err := fish.SampleSize(2, 0.005, 2); err != nil || n != 2 {
		t.Errorf("two fish: %d, %v", n, err)
	}
}

// Source: constants of the standard-weight equations named in the rows.
func TestWeightFromLength(t *testing.T) {
	for _, row := range []struct {
		id             string
		lengthMM, want float64
	}{
		{"trout_rainbow", 300, 322.5}, {"catfish_channel", 400, 590.5}, {"bluegill", 200, 180.4}, {"bass_largemouth", 300, 379.9},
		{"perch_yellow", 200, 111.3}, {"carp_common", 400, 909.9}, {"perch_european", 200, 109.0},
	} {
		s := species(t, row.id)
		got, err := s.WeightFromLengthG(row.lengthMM)
		near(t, row.id, got, err, row.want, 0.11)
	}
	trout, prawn := species(t, "trout_rainbow"), species(t, "prawn_giant_river")
	if _, err := prawn.WeightFromLengthG(100); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("prawn: %v", err)
	}
	if _, err := trout.WeightFromLengthG(math.NaN()); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("NaN: %v", err)
	}
	trout.LWB.Amount = 4.55
	if _, err := trout.WeightFromLengthG(300); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("power 4.55: %v", err)
	}
	k, err := fish.ConditionK(62.86, 158.4)
	near(t, "condition", k, err, 1.58, 0.005)
	catfish := species(t, "catfish_channel")
	percent, err := catfish.RelativeWeightPercent(531.5, 400)
	near(t, "relative weight", percent, err, 90, 0.05)
}
