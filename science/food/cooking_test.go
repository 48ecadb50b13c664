package food_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tidebed/quantity"
	"tidebed/science/food"
)

// Yields marked as drawn from a pair of USDA rows keep the protein: raw protein
// over cooked protein is the yield, within 4 percent (quinoa 3.2 against 3.1). Prawn is
// left out: its two rows are of different samples.
func TestCookedFormsKeepProtein(t *testing.T) {
	pairs := 0
	for _, f := range food.Foods() {
		for _, c := range food.CookedForms(f.Key) {
			cooked, err := food.Lookup(c.Cooked)
			if err != nil || !(c.Yield > 0.5 && c.Yield < 4) || c.RefuseShare < 0 || c.RefuseShare >= 1 || c.Source == "" {
				t.Errorf("%s to %s: yield %g, refuse %g, source %q, %v", c.Raw, c.Cooked, c.Yield, c.RefuseShare, c.Source, err)
				continue
			}
			if !strings.HasPrefix(c.Source, "USDA SR28 pair") {
				continue
			}
			pairs++
			raw, _ := f.Per100g(food.Protein)
			after, _ := cooked.Per100g(food.Protein)
			if got := raw / after; math.Abs(got-c.Yield) > 0.04*c.Yield {
				t.Errorf("%s to %s: protein gives %.3f, table says %g", c.Raw, c.Cooked, got, c.Yield)
			}
		}
	}
	if pairs < 15 {
		t.Errorf("only %d pairs checked", pairs)
	}
}

// Every raw key of the table of cooked forms is a food, and every cooked
// vegetable row is reached from a raw one.
func TestCookedFormsReach(t *testing.T) {
	reached := map[string]bool{}
	for _, f := range food.Foods() {
		for _, c := range food.CookedForms(f.Key) {
			reached[c.Cooked] = true
		}
	}
	for _, key := range []string{"kale_boiled", "potato_boiled", "potato_baked", "tilapia_cooked", "trout_rainbow_farmed_cooked",
		"rice_white_cooked", "quinoa_cooked", "kidney_beans_boiled", "taro_cooked", "egg_boiled", "tomato_cooked", "perch_cooked"} {
		if !reached[key] {
			t.Errorf("%s: reached from no raw food", key)
		}
	}
	if len(food.CookedForms("lettuce_romaine")) != 0 {
		t.Error("lettuce is served cooked")
	}
}

// Source: refuse of a potato by cooking, USDA SR28.
func TestRefuseShareFor(t *testing.T) {
	for _, row := range []struct {
		key, cooking string
		want         float64
	}{
		{"potato", "", 0.25}, {"potato", "peeled", 0.25}, {"potato", "boiled", 0.09}, {"potato", "potato_boiled", 0.09},
		{"potato", "baked", 0}, {"kale", "raw", 0.28}, {"kale", "boiled", 0.28}, {"tilapia", "baked", 0},
	} {
		if got, err := food.RefuseShareFor(row.key, row.cooking); err != nil || math.Abs(got-row.want) > 1e-12 {
			t.Errorf("RefuseShareFor(%s, %q) = %g, %v; want %g", row.key, row.cooking, got, err, row.want)
		}
	}
	if _, err := food.RefuseShareFor("potato", "fried"); err == nil || !strings.Contains(err.Error(), "baked") {
		t.Errorf("fried: %v, want the known ways named", err)
	}
	if _, err := food.RefuseShareFor("potatoe", ""); err == nil {
		t.Error("unknown food: no error")
	}
}

func TestMustCook(t *testing.T) {
	for key, want := range map[string]bool{
		"kidney_beans_dry": true, "potato": true, "taro": true, "cassava": true, "tilapia": true, "egg": true, "aubergine": true,
		"green_beans": true, "prawn": true, "kale": false, "tomato": false, "potato_boiled": false, "tilapia_cooked": false, "egg_boiled": false, "": false,
	} {
		if got := food.MustCook(key); got != want {
			t.Errorf("MustCook(%q) = %v", key, got)
		}
	}
}

// Source: USDA Table of Nutrient Retention Factors, Release 6 (2007): greens
// boiled, covered, drained keep 55 percent of vitamin C.
func TestRetention(t *testing.T) {
	share, known := food.Retention("3005", food.VitaminC)
	if !known || share != 0.55 {
		t.Errorf("greens boiled, vitamin C: %g, %v", share, known)
	}
	got, err := food.CookedContent(28.1, share, 0.96)
	near(t, "spinach vitamin C", got, err, 16.1, 0.1)
	if _, known := food.Retention("3005", food.Zinc); known {
		t.Error("a blank of the table is known")
	}
	if _, known := food.Retention("9999", food.Zinc); known {
		t.Error("an unknown code is known")
	}
	for _, code := range food.RetentionCodes() {
		if food.RetentionTreatment(code) == "" {
			t.Errorf("%s has no name", code)
		}
		for _, n := range food.Nutrients() {
			if s, known := food.Retention(code, n); known && !(s > 0.3 && s <= 1) {
				t.Errorf("%s, %s: %g", code, n, s)
			}
		}
	}
	for _, bad := range [][3]float64{{-1, 0.5, 1}, {1, 1.3, 1}, {1, 0.5, 0}, {math.NaN(), 0.5, 1}} {
		if _, err := food.CookedContent(bad[0], bad[1], bad[2]); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("CookedContent(%v): %v, want ErrRange", bad, err)
		}
	}
}
