package fish_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/fish"
)

func species(t *testing.T, id string) fish.Species {
	t.Helper()
	s, err := fish.Lookup(id)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func near(t *testing.T, what string, got float64, err error, want, tol float64) {
	t.Helper()
	if err != nil {
		t.Errorf("%s: %v", what, err)
	} else if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.5g, want %g ± %g", what, got, want, tol)
	}
}

func TestLookup(t *testing.T) {
	if len(fish.IDs()) != 17 || len(fish.All()) != 17 {
		t.Errorf("%d species, want 17", len(fish.IDs()))
	}
	for _, id := range fish.IDs() {
		if s, err := fish.Lookup(id); err != nil || s.ID != id {
			t.Errorf("Lookup(%q) = %q, %v", id, s.ID, err)
		}
	}
	for word, want := range map[string]string{"tilapia": "tilapia_nile, tilapia_blue", "rainbow trout": "trout_rainbow", "shark": "barramundi"} {
		if _, err := fish.Lookup(word); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Lookup(%q): %v; want it to name %s", word, err, want)
		}
	}
}

// Every row is in order.
func TestSpeciesSane(t *testing.T) {
	for _, s := range fish.All() {
		temps := []float64{s.LethalLowC, s.FeedStopLowC, s.OptLowC, s.OptHighC, s.FeedStopHighC, s.LethalHighC}
		if !slices.IsSorted(temps) {
			t.Errorf("%s: temperatures %v do not rise", s.ID, temps)
		}
		if !(s.DOLethalGm3 < s.DOMinFeedGm3 && s.DOMinFeedGm3 < s.DOFullFeedGm3) || !(s.NH3NMaxGm3 < s.NH3NStopGm3) {
			t.Errorf("%s: oxygen or ammonia limits do not rise", s.ID)
		}
		if !(s.GrowthFactorLow < 1 && s.GrowthFactorHigh > 1 && s.ProteinGrowoutShare > 0.1 && s.ProteinGrowoutShare < 0.65 && s.FCRGrowout > 0.5 && s.FCRGrowout < 3) {
			t.Errorf("%s: growth factors, protein or feed conversion out of order", s.ID)
		}
		if s.MarketWeightLowG.Known && !(s.StockWeightG < s.MarketWeightLowG.Amount && s.MarketWeightLowG.Amount < s.MarketWeightHighG.Amount) {
			t.Errorf("%s: market weights do not rise", s.ID)
		}
		if s.LWB.Known && !s.LWQuad.Known && (s.LWB.Amount < 2.5 || s.LWB.Amount > 3.5) {
			t.Errorf("%s: length-weight power %g", s.ID, s.LWB.Amount)
		}
		if f, err := fish.TemperatureFactor(s, s.GrowthTOptC); err != nil || math.Abs(f-1) > 1e-12 {
			t.Errorf("%s: factor %g at the best temperature, %v", s.ID, f, err)
		}
		if s.Source == "" || s.PermitCaution == "" {
			t.Errorf("%s: no source or no word on permits", s.ID)
		}
	}
}

// Source: cardinal temperature model with the table's constants, worked by
// hand; tolerance: half a unit of the last digit.
func TestTemperatureFactor(t *testing.T) {
	for id, row := range map[string]map[float64]float64{
		"tilapia_nile":  {20: 0.272, 24: 0.719, 27: 0.950, 29: 1.000, 34: 0.628, 16: 0, 37: 0, 10: 0, 40: 0},
		"trout_rainbow": {4: 0.264, 8: 0.566, 12: 0.859, 18: 0.949, 22: 0.416},
	} {
		for tempC, want := range row {
			got, err := fish.TemperatureFactor(species(t, id), tempC)
			near(t, id, got, err, want, 0.0006)
		}
	}
}

// Source: Katersky & Carter 2007: barramundi grow at 90 percent of their
// fastest or more over a span of 8 °C around 31.4 °C.
func TestBarramundiSpan(t *testing.T) {
	s := species(t, "barramundi")
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range 3000 {
		tempC := 15 + float64(i)/100
		f, err := fish.TemperatureFactor(s, tempC)
		if err != nil {
			t.Fatal(err)
		}
		if f >= 0.9 {
			lo, hi = min(lo, tempC), max(hi, tempC)
		}
	}
	near(t, "low end", lo, nil, 27.05, 0.02)
	near(t, "high end", hi, nil, 35.15, 0.02)
	near(t, "span", hi-lo, nil, 8, 0.2)
}

func TestTemperatureFactorRefuses(t *testing.T) {
	s := species(t, "tilapia_nile")
	for _, tempC := range []float64{-5, 50, math.NaN(), math.Inf(1)} {
		if _, err := fish.TemperatureFactor(s, tempC); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%g °C: %v, want ErrRange", tempC, err)
		}
	}
	s.GrowthTOptC = 20 // below the middle of 16 and 37: the curve has a pole
	if _, err := fish.TemperatureFactor(s, 25); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("a curve with a pole: %v, want ErrRange", err)
	}
}

// Source: worked by hand from the growth equation; trout over 226 days 0.5
// percent, tilapia over weeks 0.05 percent (rounded constants), else one unit
// of the last digit.
func TestGrowth(t *testing.T) {
	tilapia, trout := species(t, "tilapia_nile"), species(t, "trout_rainbow")
	for _, row := range []struct {
		s              fish.Species
		weightG, tempC float64
		want           float64
	}{
		{tilapia, 100, 28, 1.728}, {tilapia, 100, 24, 1.259}, {tilapia, 350, 27, 3.150}, {trout, 100, 12, 1.396}, {trout, 100, 16, 1.624},
		{tilapia, 100, 16.5, 0}, {trout, 100, 21, 0},
	} {
		got, err := fish.GrowthGPerDay(row.s, row.weightG, row.tempC, 1)
		near(t, row.s.ID, got, err, row.want, 0.0011)
	}
	for days, want := range map[float64]float64{28: 88.2, 56: 137.3, 84: 197.6, 112: 269.1, 140: 351.9, 168: 446.2} {
		got, err := fish.GrownWeightG(tilapia, 50, 27, days, 1)
		near(t, "tilapia of 50 g at 27 °C", got, err, want, 0.0005*want)
	}
	for tempC, want := range map[float64]float64{4: 48.8, 8: 154.5, 12: 347.8, 16: 480.3} {
		got, err := fish.GrownWeightG(trout, 10, tempC, 226, 1)
		near(t, "trout of 10 g, 226 d", got, err, want, 0.005*want)
	}
	for tempC, want := range map[float64]float64{22: 347, 24: 241, 26: 195, 27: 183, 28: 176, 30: 176} {
		got, err := fish.GrowthDays(tilapia, 50, 500, tempC, 1)
		near(t, "tilapia 50 to 500 g", got, err, want, 1)
	}
}

// Source: FAO species profiles: barramundi of 1 g reach 800 g in a year in
// warm water and 500 g at 22 to 27 °C; African catfish about 1 kg in 10
// months. UVI: Nile tilapia 79.2 to 813.8 g in 168 days, 1.34 times the model
// at 28 °C. Jobling 1983: Arctic char 18 to about 135 g in 182 days at 10 °C.
func TestGrowthPublished(t *testing.T) {
	got, err := fish.GrownWeightG(species(t, "barramundi"), 1, 30, 365, 1)
	near(t, "barramundi at 30 °C", got, err, 800, 8)
	got, err = fish.GrownWeightG(species(t, "barramundi"), 1, 24.5, 365, 1)
	near(t, "barramundi at 24.5 °C", got, err, 500, 90)
	got, err = fish.GrownWeightG(species(t, "catfish_african"), 1, 27, 304, 1)
	near(t, "African catfish", got, err, 1000, 20)
	got, err = fish.GrowthDays(species(t, "tilapia_nile"), 79.2, 813.8, 28, 1)
	near(t, "UVI tilapia, model", got, err, 225, 1)
	got, err = fish.GrowthDays(species(t, "tilapia_nile"), 79.2, 813.8, 28, 1.34)
	near(t, "UVI tilapia at 1.34", got, err, 168, 1)
	got, err = fish.GrownWeightG(species(t, "char_arctic"), 18, 10, 182, 1)
	near(t, "Arctic char", got, err, 135, 1)
	got, err = fish.GrownWeightG(species(t, "tilapia_nile"), 2.07, 28, 70, 1)
	near(t, "tilapia fry, 70 d", got, err, 54.3, 0.3)
}

func TestGrowthRefuses(t *testing.T) {
	s := species(t, "tilapia_nile")
	for _, a := range [][4]float64{{0, 27, 10, 1}, {50, 50, 10, 1}, {50, 27, -1, 1}, {50, 27, 10, -1}, {30000, 27, 10, 1}, {math.NaN(), 27, 10, 1}, {50, 27, math.Inf(1), 1}, {50, 27, 10, math.NaN()}} {
		if _, err := fish.GrownWeightG(s, a[0], a[1], a[2], a[3]); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("GrownWeightG(%v): %v, want ErrRange", a, err)
		}
	}
	for _, a := range [][3]float64{{500, 50, 27}, {50, 2000, 27}, {50, 500, 10}} {
		if _, err := fish.GrowthDays(s, a[0], a[1], a[2], 1); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("GrowthDays(%v): %v, want ErrRange", a, err)
		}
	}
}

// Two steps are one step; growth never shrinks a fish nor passes the ceiling;
// GrowthDays is the way back.
func TestGrowthSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(fish.All()).Draw(t, "species")
		w := rapid.Float64Range(1, s.CeilingG()/2).Draw(t, "g")
		tempC := rapid.Float64Range(-1, 45).Draw(t, "°C")
		d1, d2 := rapid.Float64Range(0, 200).Draw(t, "d1"), rapid.Float64Range(0, 200).Draw(t, "d2")
		p := rapid.Float64Range(0, 2).Draw(t, "p")
		mid, err1 := fish.GrownWeightG(s, w, tempC, d1, p)
		end, err2 := fish.GrownWeightG(s, mid, tempC, d2, p)
		once, err3 := fish.GrownWeightG(s, w, tempC, d1+d2, p)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		if math.Abs(end-once) > 1e-6*once || mid < w || once > s.CeilingG()*(1+1e-12) {
			t.Fatalf("%s: %g g, then %g, then %g; at once %g", s.ID, w, mid, end, once)
		}
		if mid > w*1.001 && mid < s.CeilingG()*0.999 {
			if days, err := fish.GrowthDays(s, w, mid, tempC, p); err != nil || math.Abs(days-d1) > 1e-3*d1+1e-3 {
				t.Fatalf("%s: back %g days, want %g (%v)", s.ID, days, d1, err)
			}
		}
	})
}

func TestGrowthStopsAtCeiling(t *testing.T) {
	s := species(t, "tilapia_nile")
	if got, err := fish.GrownWeightG(s, 500, 28, 3000, 1); err != nil || got != 1040 {
		t.Errorf("after 3000 days %g g, %v; want 1.3 × 800", got, err)
	}
	if got, err := fish.GrownWeightG(s, 2000, 28, 30, 1); err != nil || got != 2000 {
		t.Errorf("a fish above the ceiling: %g g, %v", got, err)
	}
	if got := species(t, "goldfish").CeilingG(); got != 1000 {
		t.Errorf("goldfish ceiling %g g", got)
	}
}

// Source: Souza & Maranhao 2001 (tilapia fillet), Abdollahi & Rezaei 2014
// (trout), Souza et al. 1999 (African catfish).
func TestDressing(t *testing.T) {
	for _, row := range []struct {
		id            string
		liveG, fillet float64
		within        bool
		foodKey       string
	}{
		{"tilapia_nile", 350, 0.365, true, "tilapia"}, {"tilapia_nile", 500, 0.368, true, "tilapia"}, {"tilapia_nile", 100, 0.365, false, "tilapia"},
		{"tilapia_nile", 900, 0.368, false, "tilapia"}, {"tilapia_blue", 350, 0.365, true, "tilapia"},
		{"trout_rainbow", 700, 0.454, true, "trout_rainbow_farmed"}, {"trout_rainbow", 340, 0.45, true, "trout_rainbow_farmed"},
		{"catfish_african", 1500, 0.386, true, ""}, {"any", 700, 0.35, true, ""},
	} {
		y, err := fish.Dressing(row.id, row.liveG)
		if err != nil || math.Abs(y.FilletSkinless.Amount-row.fillet) > 1e-9 || y.Within != row.within || y.FoodKey != row.foodKey {
			t.Errorf("Dressing(%s, %g g): fillet %g, within %v, food %q, %v; want %+v", row.id, row.liveG, y.FilletSkinless.Amount, y.Within, y.FoodKey, err, row)
		}
	}
	for _, id := range fish.IDs() {
		y, err := fish.Dressing(id, 400)
		if id == "goldfish" {
			if err == nil {
				t.Error("goldfish are eaten")
			}
			continue
		}
		if err != nil || y.Source == "" || !y.EdibleHome.Known || !(y.CookingYield > 0.7 && y.CookingYield < 0.9) {
			t.Errorf("Dressing(%s): %+v, %v", id, y, err)
		}
		if y.GuttedHeadOn.Known && y.DressedHeadless.Known && y.FilletSkinless.Known &&
			!(y.FilletSkinless.Amount < y.DressedHeadless.Amount && y.DressedHeadless.Amount < y.GuttedHeadOn.Amount && y.GuttedHeadOn.Amount < 1) {
			t.Errorf("%s: fillet, dressed, gutted do not rise", id)
		}
	}
	if _, err := fish.Dressing("tilapia_nile", math.NaN()); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("NaN: %v", err)
	}
	if _, err := fish.Dressing("whale", 500); err == nil {
		t.Error("whale: no error")
	}
}

// By hand: four people, 150 g cooked twice a week: 1200 g cooked tilapia are
// 1558 g fillet and 4.27 kg live; a fish of 350 g gives 127.75 g fillet.
func TestLiveForCooked(t *testing.T) {
	y, err := fish.Dressing("tilapia_nile", 350)
	if err != nil {
		t.Fatal(err)
	}
	live, ok := y.LiveForCookedG(1200)
	if !ok || math.Abs(live-4270) > 5 || math.Abs(live*y.FilletSkinless.Amount-1558) > 1 {
		t.Errorf("%g g live, %v; want 4270", live, ok)
	}
	if _, ok := y.LiveForCookedG(math.NaN()); ok {
		t.Error("NaN grams: ok")
	}
}
