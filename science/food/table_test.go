package food_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tidebed/science/food"
)

// Every row obeys what no food can break: parts of at most 105 g in 100 g,
// energy of at most 902 kcal (pure fat), refuse below 1.
func TestCompositionSane(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range food.Foods() {
		if seen[f.Key] {
			t.Errorf("%s: twice in the table", f.Key)
		}
		seen[f.Key] = true
		sum := 0.0
		for _, n := range food.Nutrients() {
			v, known := f.Per100g(n)
			if v < 0 || math.IsNaN(v) || math.IsInf(v, 0) || (!known && v != 0) {
				t.Errorf("%s: %s %g, known %v", f.Key, n, v, known)
			}
			if n == food.Protein || n == food.Fat || n == food.Carbohydrate || n == food.Water {
				sum += v
			}
		}
		kcal, known := f.Per100g(food.Energy)
		if sum > 105 || kcal > 902 || !known || f.RefuseShare < 0 || f.RefuseShare >= 1 || f.Source == "" || f.Name == "" {
			t.Errorf("%s: parts %.1f g, energy %g kcal (known %v), refuse %g, source %q", f.Key, sum, kcal, known, f.RefuseShare, f.Source)
		}
		fibre, _ := f.Per100g(food.Fibre)
		sugars, _ := f.Per100g(food.Sugars)
		// Two parts by difference and by analysis may overlap by a little.
		if carb, _ := f.Per100g(food.Carbohydrate); fibre > carb+0.6 || sugars > carb+0.6 {
			t.Errorf("%s: fibre %g, sugars %g of carbohydrate %g", f.Key, fibre, sugars, carb)
		}
	}
	if len(seen) != 172 {
		t.Errorf("%d foods, want 172", len(seen))
	}
}

// A blank is unknown and not zero.
func TestBlankIsUnknown(t *testing.T) {
	f, err := food.Lookup("microgreen_generic")
	if err != nil {
		t.Fatal(err)
	}
	if _, known := f.Per100g(food.Zinc); known {
		t.Error("zinc of microgreens: known")
	}
	if v, known := f.Per100g(food.VitaminD); !known || v != 0 {
		t.Errorf("vitamin D of microgreens: %g, %v; want a known 0", v, known)
	}
	if _, known := f.Per100g(food.NumNutrients); known {
		t.Error("no nutrient: known")
	}
}

// Source: Indian Food Composition Tables 2017 (Longvah et al.), measured, per
// 100 g edible, against the USDA rows. Energy within 20 percent or 10 kcal,
// protein within 35 percent or 0.5 g, iron within a factor of 2.3 (tilapia 6),
// vitamin C within a factor of 3.5 or 5 mg: the spread of the tables, which is
// what a user is told.
func TestIndependentTable(t *testing.T) {
	for _, row := range []struct {
		key                  string
		kcal, protein, fe, c float64
	}{
		{"spinach", 24, 2.14, 2.95, 30.3}, {"lettuce_butterhead", 22, 1.54, 2.73, 11.9}, {"cabbage", 22, 1.36, 0.35, 33.2},
		{"mustard_greens", 30, 3.52, 2.84, 60.3}, {"tomato", 19, 0.76, 0.22, 25.3}, {"pepper_green", 16, 1.11, 0.48, 123},
		{"aubergine", 25, 1.48, 0.37, 2.1}, {"okra", 27, 2.08, 0.84, 22.5}, {"carrot", 33, 0.95, 0.60, 6.2},
		{"beetroot", 36, 1.95, 0.76, 5.3}, {"potato", 70, 1.54, 0.57, 23.2}, {"peas", 81, 7.25, 1.58, 38.4},
		{"tilapia", 83, 18.5, 2.84, 0}, {"egg", 135, 13.3, 1.82, 0}, {"kidney_beans_dry", 299, 19.9, 6.13, 0},
	} {
		f, err := food.Lookup(row.key)
		if err != nil {
			t.Error(err)
			continue
		}
		kcal, _ := f.Per100g(food.Energy)
		protein, _ := f.Per100g(food.Protein)
		fe, _ := f.Per100g(food.Iron)
		c, _ := f.Per100g(food.VitaminC)
		if d := math.Abs(kcal - row.kcal); d > 10 && d > 0.2*kcal {
			t.Errorf("%s: energy %g against %g kcal", row.key, kcal, row.kcal)
		}
		if d := math.Abs(protein - row.protein); d > 0.5 && d > 0.35*protein {
			t.Errorf("%s: protein %g against %g g", row.key, protein, row.protein)
		}
		factor := 2.3
		if row.key == "tilapia" {
			factor = 6
		}
		if ratio := fe / row.fe; ratio > factor || ratio < 1/factor {
			t.Errorf("%s: iron %g against %g mg", row.key, fe, row.fe)
		}
		if d := math.Abs(c - row.c); d > 5 && (c > 3.5*row.c || row.c > 3.5*c) {
			t.Errorf("%s: vitamin C %g against %g mg", row.key, c, row.c)
		}
	}
}

// Source: USDA SR28, SR Legacy for kale.
func TestPublishedRows(t *testing.T) {
	for _, row := range []struct {
		key  string
		n    food.Nutrient
		want float64
	}{
		{"kale", food.Energy, 35}, {"kale", food.VitaminK, 389.6}, {"lettuce_butterhead", food.Energy, 13},
		{"tilapia", food.Protein, 20.08}, {"spinach", food.VitaminC, 28.1}, {"potato_boiled", food.Energy, 87},
	} {
		f, err := food.Lookup(row.key)
		if err != nil {
			t.Error(err)
			continue
		}
		if got, known := f.Per100g(row.n); !known || got != row.want {
			t.Errorf("%s, %s: %g, %v; want %g", row.key, row.n, got, known, row.want)
		}
	}
}

func TestLookup(t *testing.T) {
	for _, key := range food.Keys() {
		if f, err := food.Lookup(key); err != nil || f.Key != key {
			t.Errorf("Lookup(%q) = %q, %v", key, f.Key, err)
		}
	}
	if f, err := food.Lookup("mustard_microgreens"); err != nil || f.Key != "microgreen_generic" {
		t.Errorf("tray green: %q, %v", f.Key, err)
	}
	if f, err := food.Lookup("pea_shoots"); err != nil || f.Key != "pea_shoots" {
		t.Errorf("pea shoots have a row of their own: %q, %v", f.Key, err)
	}
	for word, want := range map[string]string{"tomatoe": "tomato", "sweet potato": "sweet_potato", "trout": "trout_rainbow_farmed", "lettuce": "lettuce_"} {
		if _, err := food.Lookup(word); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Lookup(%q): %v; want it to name %s", word, err, want)
		}
	}
}

func FuzzLookup(f *testing.F) {
	for _, s := range []string{"", "kale", "_shoots", "tomatoe", "\xff\x00", strings.Repeat("a", 300)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, key string) {
		got, err := food.Lookup(key)
		if (err == nil) == (got.Key == "") {
			t.Errorf("Lookup(%q) = %q, %v", key, got.Key, err)
		}
	})
}

func TestLimits(t *testing.T) {
	keys := food.Keys()
	limits := food.Limits()
	if len(limits) != 44 {
		t.Errorf("%d limits, want 44", len(limits))
	}
	for _, l := range limits {
		if !(l.MaxG > 0) || !(l.ComfortableG > 0) || l.ComfortableG > l.MaxG || l.Source == "" {
			t.Errorf("%s: max %g, comfortable %g, source %q", l.Key, l.MaxG, l.ComfortableG, l.Source)
		}
		if (l.Kind == "total") != (len(l.Foods) == 0) {
			t.Errorf("%s: kind %s with %d foods", l.Key, l.Kind, len(l.Foods))
		}
		for _, k := range l.Foods {
			if !slices.Contains(keys, k) {
				t.Errorf("%s: limits %q, which is no food", l.Key, k)
			}
		}
	}
	limits[0].Foods[0] = "changed"
	if food.Limits()[0].Foods[0] == "changed" {
		t.Error("a caller can change the table")
	}
	for _, row := range []struct {
		key              string
		max, comfortable float64
	}{
		{"kale", 150, 100}, {"spinach", 150, 100}, {"rice_white_cooked", 600, 400}, {"kidney_beans_dry", 0, 0},
		{"strawberry", 250, 150}, {"tilapia_cooked", 300, 200}, {"potato_boiled", 700, 400}, {"lettuce_romaine", 200, 150},
	} {
		f, err := food.Lookup(row.key)
		if err != nil {
			t.Error(err)
			continue
		}
		if most, comfortable := food.DayLimitG(f); most != row.max || comfortable != row.comfortable {
			t.Errorf("DayLimitG(%s) = %g, %g; want %g, %g", row.key, most, comfortable, row.max, row.comfortable)
		}
	}
}
