package greens_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/science/greens"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.6g, want %g", what, got, want)
	}
}

func green(t *testing.T, key string) greens.Green {
	t.Helper()
	g, err := greens.Lookup(key)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func date(t *testing.T, text string) time.Time {
	t.Helper()
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestTableSane(t *testing.T) {
	seen := map[string]bool{}
	for _, g := range greens.Greens() {
		fail := func(what string) { t.Errorf("%s: %s", g.Key, what) }
		if seen[g.Key] || g.Name == "" || g.Genus() == "" || g.Source == "" {
			fail("key twice, or no name or source")
		}
		seen[g.Key] = true
		if !(g.TempBaseC < g.TempOptLowC && g.TempOptLowC < g.TempOptHighC && g.TempOptHighC < g.TempMaxC) {
			fail("temperatures do not rise")
		}
		for _, s := range []greens.Spread{g.SeedG, g.YieldG} {
			if !(0 < s.Low && s.Low <= s.Typical && s.Typical <= s.High) {
				fail("a spread does not rise")
			}
		}
		if g.BlackoutDays+g.LightDays != g.DaysAt20C || g.SoakH > 48 || g.FailShare <= 0 || g.FailShare > 0.4 {
			fail("days, soaking or failures")
		}
		if labour := g.SowMin + g.WaterMinDay*g.DaysAt20C + g.CutMin + g.PackMin + g.WashTrayMin; math.Abs(labour-g.LabourMin) > 0.05 {
			fail("the minutes do not add up")
		}
		if perCM2 := g.SeedG.Typical * g.SeedsPerG / (greens.TrayAreaM2 * 1e4); math.Abs(perCM2/g.SeedsPerCM2-1) > 0.15 {
			fail("seeds per area do not fit seed and seeds per gram")
		}
		if refused := greens.Refused(g.Key + " " + g.Name + " " + g.BotanicalName); refused != nil {
			fail(refused.Error())
		}
		if g.FoodKey != "" {
			if _, err := food.Lookup(g.FoodKey); err != nil {
				t.Error(err)
			}
		}
	}
	if len(seen) != 37 {
		t.Errorf("%d greens, want 37", len(seen))
	}
}

// Values worked out apart from this package, from the table.
func TestDays(t *testing.T) {
	g := green(t, "broccoli")
	for _, row := range [][2]float64{{14, 16}, {16, 13.3}, {18, 11.4}, {20, 10}, {24, 8.9}, {22, 8.9}} {
		days, _, err := g.DaysAt(row[0])
		if err != nil {
			t.Error(err)
		}
		near(t, "broccoli", days, row[1], 0.1)
	}
	for _, bad := range []float64{4, -3, 61, math.NaN(), math.Inf(1)} {
		if days, _, err := g.DaysAt(bad); err == nil {
			t.Errorf("%g °C: %g days", bad, days)
		}
	}
	if _, unsure, _ := g.DaysAt(9); !unsure {
		t.Error("days at 9 °C are sure")
	}
}

func TestSchedule(t *testing.T) {
	deliver := date(t, "2026-03-06")
	p, err := greens.Schedule(green(t, "broccoli"), deliver, 18, 3000, greens.LowYield)
	if err != nil {
		t.Fatal(err)
	}
	if p.CutDate != date(t, "2026-03-05") || p.SowDate != date(t, "2026-02-21") || p.SowDate.Weekday() != time.Saturday || p.SoakDate != p.SowDate || p.Days != 12 || p.Trays != 21 || p.SeedG != 21*18 {
		t.Errorf("broccoli: %+v", p)
	}
	typical, err := greens.Schedule(green(t, "broccoli"), deliver, 18, 3000, greens.TypicalYield)
	if err != nil || typical.Trays != 15 {
		t.Errorf("typical: %d trays, %v", typical.Trays, err)
	}
	p, err = greens.Schedule(green(t, "pea_shoot"), deliver, 18, 500, greens.LowYield)
	if err != nil || p.Days != 14 || p.SowDate != date(t, "2026-02-19") || p.SoakDate != date(t, "2026-02-18") {
		t.Errorf("pea: %+v, %v", p, err)
	}
	light, dark, err := green(t, "broccoli").ShelfPlaces(30, 20)
	if err != nil {
		t.Error(err)
	}
	near(t, "light places", light, 30, 0.1)
	near(t, "dark places", dark, 12.9, 0.1)
	cool, _, _ := green(t, "broccoli").ShelfPlaces(30, 17)
	near(t, "at 17 °C", cool/light, 16.0/13, 1e-9)
	seed, err := green(t, "broccoli").SeedToBuyG(16*4, greens.UsualGermination)
	if err != nil {
		t.Error(err)
	}
	near(t, "seed to buy", seed, 1344, 1)
	wide, err := green(t, "broccoli").ForArea(2 * greens.TrayAreaM2)
	if err != nil {
		t.Error(err)
	}
	near(t, "a tray twice as large", wide.YieldG.Typical, 440, 1e-9)
}

func TestScheduleRefuses(t *testing.T) {
	deliver := date(t, "2026-03-06")
	g := green(t, "broccoli")
	for _, row := range []struct {
		tempC, grams float64
		basis        greens.Basis
		cause        error
	}{
		{6.9, 100, greens.LowYield, greens.ErrTooCold}, {4, 100, greens.LowYield, greens.ErrTooCold}, {29, 100, greens.LowYield, quantity.ErrRange},
		{20, 0, greens.LowYield, quantity.ErrRange}, {20, math.NaN(), greens.LowYield, quantity.ErrRange}, {20, 100, "high", quantity.ErrRange},
	} {
		if _, err := greens.Schedule(g, deliver, row.tempC, row.grams, row.basis); !errors.Is(err, row.cause) {
			t.Errorf("%+v: %v", row, err)
		}
	}
	if _, err := greens.Schedule(g, deliver, math.NaN(), 100, greens.LowYield); err == nil {
		t.Error("NaN °C is taken")
	}
	p, err := greens.Draft(g, deliver, 5, 100, greens.LowYield)
	if err != nil || p.Days != 160 || len(p.Warnings) == 0 {
		t.Errorf("1 °C above the base: %+v, %v", p, err)
	}
	g.SoakH = 49
	if _, err := greens.Schedule(g, deliver, 20, 100, greens.LowYield); err == nil {
		t.Error("soaked for 49 h")
	}
}

// Plants that harm as seedlings are found by key, common and botanical name.
func TestRefused(t *testing.T) {
	for _, name := range []string{
		"tomato", "Tomatoes", "tomato_cherry", "pepper_sweet", "chilli", "aubergine", "potato", "tomatillo", "nightshade", "Solanum nigrum",
		"Capsicum annuum", "Physalis ixocarpa", "rhubarb", "Rheum", "kidney beans", "runner bean", "lima bean", "bush_bean", "climbing_bean", "beans", "Phaseolus vulgaris",
		"broad_bean", "Vicia faba", "lupin", "Lupinus albus", "castor", "Ricinus communis", "foxglove", "sorghum", "Johnson grass", "sudan grass", "Sorghum bicolor",
		"flax", "linseed", "apple pips", "Malus domestica", "Prunus armeniaca", "cherries", "peach", "parsnip", "Pastinaca sativa", "hogweed", "cassava", "taro", "treated pea seed",
	} {
		if greens.Refused(name) == nil {
			t.Errorf("%s is not refused", name)
		}
		var refused *greens.RefusedError
		if _, err := greens.Lookup(name); !errors.As(err, &refused) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
		made := green(t, "radish")
		made.BotanicalName = name
		if _, err := greens.Schedule(made, time.Time{}, 20, 100, greens.LowYield); !errors.As(err, &refused) {
			t.Errorf("a green made of %s is scheduled: %v", name, err)
		}
	}
	for _, name := range []string{"", "peppermint", "pepper cress", "wild rocket", "mung bean", "soybean", "buckwheat", "grapeseed", "pineapple"} {
		if refused := greens.Refused(name); refused != nil {
			t.Errorf("%q is refused: %v", name, refused)
		}
	}
	// No crop of the refused genera is a green, whatever its key.
	for _, c := range crop.Crops() {
		g := green(t, "radish")
		g.Key, g.Name, g.BotanicalName = c.Key, c.Name, c.BotanicalName
		_, err := greens.Schedule(g, time.Time{}, 20, 100, greens.LowYield)
		genus, _, _ := strings.Cut(c.BotanicalName, " ")
		bad := strings.Contains("Solanum Capsicum Phaseolus Physalis Ricinus Lupinus Sorghum Prunus Malus Pastinaca Rheum Manihot Colocasia", genus) || c.Key == "broad_bean"
		if (err != nil) != bad {
			t.Errorf("%s (%s): %v", c.Key, c.BotanicalName, err)
		}
	}
}

func TestWarnings(t *testing.T) {
	for _, row := range []struct {
		key   string
		tempC float64
		want  int
	}{{"broccoli", 20, 0}, {"broccoli", 23, 1}, {"broccoli", 25, 2}, {"broccoli", 9, 1}, {"broccoli", 6, 1}, {"buckwheat", 20, 2}, {"alfalfa", 20, 2}} {
		if got := green(t, row.key).Warnings(row.tempC); len(got) != row.want {
			t.Errorf("%s at %g °C: %d warnings, want %d: %q", row.key, row.tempC, len(got), row.want, got)
		}
	}
	if !strings.Contains(strings.Join(greens.Cautions(), " "), "fish water") {
		t.Error("nothing about fish water")
	}
}

// An order is met at the yield it was planned on, with no tray too many; a
// warmer room sows no earlier; the spans add up.
func TestScheduleProperties(t *testing.T) {
	all := greens.Greens()
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom(all).Draw(t, "green")
		tempC := rapid.Float64Range(g.TempBaseC+3, g.TempMaxC).Draw(t, "temp")
		grams := rapid.Float64Range(1, 50000).Draw(t, "grams")
		deliver := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 800).Draw(t, "day"))
		p, err := greens.Schedule(g, deliver, tempC, grams, greens.LowYield)
		if err != nil {
			t.Fatal(err)
		}
		if p.HarvestG.Low < grams*(1-1e-9) || p.HarvestG.Low*float64(p.Trays-1)/float64(p.Trays) > grams {
			t.Fatalf("%d trays give %g g for %g", p.Trays, p.HarvestG.Low, grams)
		}
		if p.SoakDate.After(p.SowDate) || p.UncoverDate.Before(p.SowDate) || p.UncoverDate.After(p.CutDate) || !p.CutDate.Before(deliver) {
			t.Fatalf("dates out of order: %+v", p)
		}
		if math.Abs(p.CutDate.Sub(p.SowDate).Hours()/24-float64(p.Days)) > 1e-9 || float64(p.Days) < p.BlackoutDays+p.LightDays-1e-6 {
			t.Fatalf("days do not add up: %+v", p)
		}
		warmer, err := greens.Schedule(g, deliver, min(tempC+1, g.TempMaxC), grams, greens.LowYield)
		if err != nil || warmer.SowDate.Before(p.SowDate) {
			t.Fatalf("warmer is sown earlier: %v, %v", warmer.SowDate, err)
		}
	})
}

func FuzzRefused(f *testing.F) {
	f.Add("cherry tomato")
	f.Add("Solanum")
	f.Fuzz(func(t *testing.T, name string) {
		if greens.Refused(name) == nil && greens.Refused(name+" tomato seedlings") == nil && !strings.Contains(name, "sweet") {
			t.Errorf("%q with tomato is not refused", name)
		}
	})
}

func BenchmarkSchedule(b *testing.B) {
	g, err := greens.Lookup("broccoli")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := greens.Schedule(g, time.Time{}, 18, 3000, greens.LowYield); err != nil {
			b.Fatal(err)
		}
	}
}
