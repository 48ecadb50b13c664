package food_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tidebed/science/food"
)

// plate is grams per person and day.
type plate map[string]float64

func (p plate) total(t *testing.T, n food.Nutrient) float64 {
	t.Helper()
	sum := 0.0
	for key, g := range p {
		f, err := food.Lookup(key)
		if err != nil {
			t.Fatal(err)
		}
		v, _ := f.Per100g(n)
		sum += g * v / 100
	}
	return sum
}

func (p plate) with(more plate) plate {
	sum := plate{}
	for _, m := range []plate{p, more} {
		for k, g := range m {
			sum[k] += g
		}
	}
	return sum
}

// Four adults, low active; needs of the group by IOM 2005 and the reference
// intakes; menus in grams per person and day. Worked by hand and apart from
// this package from the same USDA composition: energy and protein in percent
// of the need, mean adequacy ratio over 24 nutrients.
func TestWorkedMenus(t *testing.T) {
	people := []food.Person{
		person(food.Male, 45, 82, 1.78, food.LowActive), person(food.Female, 42, 65, 1.65, food.LowActive),
		person(food.Male, 20, 74, 1.82, food.LowActive), person(food.Female, 70, 62, 1.60, food.LowActive),
	}
	need := make([]float64, food.NumNutrients)
	for i, p := range people {
		kcal, err := food.EnergyNeed2005(p)
		near(t, "energy need", kcal, err, [4]float64{2747, 2087, 2868, 1821}[i], 1.5)
		for _, n := range food.Nutrients() {
			v, _ := food.Target(n, p)
			need[n] += v / 4
		}
	}
	b2 := plate{"kale": 150, "lettuce_butterhead": 150, "tilapia_cooked": 241}
	c := b2.with(plate{"potato_boiled": 400, "tomato": 250, "egg_boiled": 100})
	d := c.with(plate{"black_beans_boiled": 150, "oil_rapeseed": 40, "salt": 3})
	for _, row := range []struct {
		name                 string
		menu                 plate
		energy, protein, mar float64
	}{
		{"A", plate{"kale": 675, "lettuce_butterhead": 2312.5, "tilapia": 312.5}, 35.1, 201, 0.928},
		{"B", plate{"kale": 150, "lettuce_butterhead": 200, "tilapia": 312.5}, 15.9, 123, 0.637},
		{"B2", b2, 16.0, 122, 0.595},
		{"C", c, 39.0, 162, 0.834},
		{"D", d, 62.1, 185, 0.954},
		{"E", d.with(plate{"rice_white_cooked": 400}), 84.0, 204, 0.965},
	} {
		var intakes, needs []float64
		for _, n := range food.ScoredNutrients() {
			intakes, needs = append(intakes, row.menu.total(t, n)), append(needs, need[n])
		}
		_, mar := food.Adequacy(intakes, needs)
		near(t, row.name+" energy %", 100*row.menu.total(t, food.Energy)/need[food.Energy], nil, row.energy, 0.15)
		near(t, row.name+" protein %", 100*row.menu.total(t, food.Protein)/need[food.Protein], nil, row.protein, 1)
		near(t, row.name+" MAR", mar, nil, row.mar, 0.002)
	}
}

func TestMenuWarnings(t *testing.T) {
	good := food.MenuFigures{Kcal: 2200, NeedKcal: 2300, Days: 4, ProteinG: 80, WeightKg: 70, FatG: 60, CarbohydrateG: 300, FibreG: 35, SodiumMg: 1500, MassG: 1800}
	if w := food.MenuWarnings(good); len(w) != 0 {
		t.Errorf("a good day: %q", w)
	}
	for _, row := range []struct {
		word   string
		change func(*food.MenuFigures)
	}{
		{"below half", func(m *food.MenuFigures) { m.NeedKcal = 5000 }},
		{"below 80 %", func(m *food.MenuFigures) { m.NeedKcal = 3000 }},
		{"more than 35 %", func(m *food.MenuFigures) { m.ProteinG, m.WeightKg = 195, 0 }},
		{"more than 2.5", func(m *food.MenuFigures) { m.ProteinG, m.WeightKg = 180, 70 }},
		{"less than 15 %", func(m *food.MenuFigures) { m.FatG = 35 }},
		{"less than 20 g", func(m *food.MenuFigures) { m.FatG = 15 }},
		{"less than 100 g", func(m *food.MenuFigures) { m.CarbohydrateG = 60 }},
		{"more than 60 g", func(m *food.MenuFigures) { m.FibreG = 61 }},
		{"less than 500 mg", func(m *food.MenuFigures) { m.SodiumMg = 300 }},
		{"more than 2300 mg", func(m *food.MenuFigures) { m.SodiumMg = 2400 }},
		{"2.5 kg", func(m *food.MenuFigures) { m.MassG = 2600 }},
		{"anticoagulants", func(m *food.MenuFigures) { m.Anticoagulant, m.VitaminKUg, m.UsualVitaminKUg = true, 740, 100 }},
		{"choline is unknown for 30 %", func(m *food.MenuFigures) { m.UnknownMassShare = map[food.Nutrient]float64{food.Choline: 0.3} }},
		{"cannot", func(m *food.MenuFigures) { m.FatG = math.NaN() }},
	} {
		m := good
		row.change(&m)
		w := strings.Join(food.MenuWarnings(m), "\n")
		if row.word == "cannot" {
			row.word = "not a figure"
		}
		if !strings.Contains(w, row.word) {
			t.Errorf("want a warning with %q, got %q", row.word, w)
		}
	}
	one := good
	one.NeedKcal, one.Days = 3000, 1
	if w := food.MenuWarnings(one); len(w) != 0 {
		t.Errorf("73 %% on a single day: %q", w)
	}
}

func TestCautions(t *testing.T) {
	about := func(keys ...string) string {
		var out []string
		for _, c := range food.Cautions(keys) {
			if c.Text == "" || c.Source == "" {
				t.Errorf("%s: text %q, source %q", c.About, c.Text, c.Source)
			}
			out = append(out, c.About+": "+c.Text)
		}
		return strings.Join(out, "\n")
	}
	for key, words := range map[string][]string{
		"kidney_beans_boiled": {"30 minutes"}, "potato_boiled": {"green"}, "tilapia_cooked": {"63 °C", "Holds fish"},
		"radish_sprouts": {"sprouts"}, "spinach": {"oxalate", "nitrate", "vitamin K"}, "kale": {"vitamin K", "anticoagulants"},
		"egg_boiled": {"Holds egg"}, "celery": {"Holds celery"}, "mustard_greens": {"Holds mustard"}, "wheat_flour_white": {"Holds gluten"},
		"soybeans_boiled": {"Holds soya"}, "broad_beans_boiled": {"G6PD"}, "cassava": {"cyanide"}, "honey": {"one year"}, "prawn_cooked": {"Holds crustaceans"},
	} {
		for _, w := range words {
			if got := about(key); !strings.Contains(got, w) {
				t.Errorf("%s: want %q in %q", key, w, got)
			}
		}
	}
	if got := food.Cautions([]string{"carrot", "no_such_food"}); len(got) != 0 {
		t.Errorf("carrot: %v", got)
	}
	if got := food.Cautions([]string{"tilapia", "perch", "tilapia_cooked"}); len(got) != 2 {
		t.Errorf("three fish want the fish caution once and one allergen line: %v", got)
	}
}

// Source: Indian Food Composition Tables 2017 and the compilations named in
// the table.
func TestOxalateNitrate(t *testing.T) {
	if mg, known := food.OxalateMg("spinach"); !known || mg != 656 {
		t.Errorf("spinach oxalate %g, %v", mg, known)
	}
	if mg, known := food.NitrateMg("kale"); !known || mg != 138 {
		t.Errorf("kale nitrate %g, %v", mg, known)
	}
	if _, known := food.OxalateMg("rocket"); known {
		t.Error("rocket oxalate is known")
	}
	if food.CalciumFactor("spinach_boiled") != 0.2 || food.CalciumFactor("kale") != 1 {
		t.Error("calcium factors")
	}
	// 150 g kale and 150 g lettuce hold 460 mg nitrate, twice the acceptable
	// daily intake of 240 mg at 65 kg.
	kale, _ := food.NitrateMg("kale")
	lettuce, _ := food.NitrateMg("lettuce_butterhead")
	if sum := 1.5 * (kale + lettuce); math.Abs(sum-460) > 1 || math.Abs(65*food.NitrateADIMgPerKg-240) > 1 {
		t.Errorf("nitrate %g mg against %g", sum, 65*food.NitrateADIMgPerKg)
	}
}

func TestPeopleCautions(t *testing.T) {
	about := func(p food.Person, flags ...string) []string {
		cautions, err := food.PeopleCautions(p, flags)
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, c := range cautions {
			out = append(out, c.About)
		}
		return out
	}
	man := person(food.Male, 40, 80, 1.80, food.Active)
	if got := about(man); !slices.Equal(got, []string{"every plan"}) {
		t.Errorf("a healthy man: %q", got)
	}
	for _, flag := range food.Flags() {
		if got := about(man, flag); len(got) != 2 {
			t.Errorf("%s: %q", flag, got)
		}
	}
	girl := person(food.Female, 12, 41, 1.52, food.Active)
	if got := about(girl); got[0] != "under 18 years" {
		t.Errorf("girl: %q", got)
	}
	thin := person(food.Female, 30, 45, 1.70, food.Active)
	thin.State = food.Nursing1
	if got := about(thin); len(got) != 3 {
		t.Errorf("thin and nursing: %q", got)
	}
	if _, err := food.PeopleCautions(man, []string{"sleepy"}); err == nil || !strings.Contains(err.Error(), "kidney-stones") {
		t.Errorf("unknown flag: %v", err)
	}
}
