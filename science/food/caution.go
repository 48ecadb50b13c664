package food

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed antinutrients.csv
var antinutrientsCSV string

// Caution is a sentence a plan must carry.
type Caution struct {
	About  string // the food, matter or person it is about
	Text   string
	Source string
}

var antinutrientTable = sync.OnceValue(func() map[string][2]Figure {
	t := map[string][2]Figure{}
	for _, row := range table.Read("antinutrients.csv", antinutrientsCSV) {
		t[row.Text("food_key")] = [2]Figure{figure(row, "oxalate_mg"), figure(row, "nitrate_mg")}
	}
	return t
})

// OxalateMg returns the oxalate in 100 g of the raw food, in mg. A diet low in
// oxalate allows 40 to 50 mg a day.
//
// Source: Indian Food Composition Tables 2017; Siener 2006; Hoenow & Hesse 2002.
func OxalateMg(key string) (mgPer100g float64, known bool) {
	f := antinutrientTable()[key][0]
	return f.Amount, f.Known
}

// NitrateMg returns the nitrate in 100 g of the raw food, in mg. The
// acceptable daily intake is NitrateADIMgPerKg; vegetables' benefit is judged
// to outweigh it, save for infants under a year.
//
// Source: published compilation named in antinutrients.csv.
func NitrateMg(key string) (mgPer100g float64, known bool) {
	f := antinutrientTable()[key][1]
	return f.Amount, f.Known
}

// NitrateADIMgPerKg is the acceptable daily intake of nitrate in mg per kg
// body weight. EFSA 2008, from memory.
const NitrateADIMgPerKg = 3.7

// bound are the foods whose oxalate binds their own calcium.
var bound = []string{
	"spinach", "spinach_boiled", "chard", "chard_boiled", "amaranth_leaves", "amaranth_leaves_boiled",
	"beet_greens", "beet_greens_boiled", "taro_leaves_steamed", "nz_spinach", "nz_spinach_boiled", "sorrel_dock", "purslane",
}

// CalciumFactor returns the share of a food's calcium to count, 0.2 for leaves
// whose oxalate binds it, else 1. From memory.
func CalciumFactor(key string) float64 {
	if slices.Contains(bound, key) {
		return 0.2
	}
	return 1
}

// Allergens returns the allergens a food carries, of fish, crustaceans, egg,
// soya, celery, mustard and gluten, which are those the table's foods can
// carry.
func Allergens(key string) []string {
	f, err := Lookup(key)
	if err != nil {
		return nil
	}
	var out []string
	switch f.Group {
	case "fish":
		out = append(out, "fish")
	case "crustacean":
		out = append(out, "crustaceans")
	case "egg":
		out = append(out, "egg")
	}
	for _, a := range []struct{ part, tag string }{
		{"soybean", "soya"}, {"edamame", "soya"}, {"celery", "celery"}, {"mustard", "mustard"},
		{"wheat", "gluten"}, {"oats", "gluten"},
	} {
		if strings.Contains(f.Key, a.part) {
			out = append(out, a.tag)
		}
	}
	return out
}

// foodCautions hold for any menu with one of the foods.
var foodCautions = []struct {
	keys, groups []string
	caution      Caution
}{
	{[]string{"kidney_beans_dry", "kidney_beans_boiled", "black_beans_boiled", "navy_beans_boiled", "pinto_beans_boiled"}, nil,
		Caution{"dry beans", "Soak at least 5 hours, pour the water away, boil at 100 °C for 30 minutes before anything else. Never cook raw beans slowly at low heat: a few can make people very ill.", "FDA Bad Bug Book, as quoted by a university extension"}},
	{[]string{"green_beans", "green_beans_boiled", "cowpea_pods"}, nil,
		Caution{"green beans", "Never raw: boil them through.", "from memory"}},
	{[]string{"broad_beans", "broad_beans_boiled", "broad_beans_dry_boiled"}, nil,
		Caution{"broad beans", "Never for people with G6PD deficiency (favism).", "from memory"}},
	{[]string{"potato", "potato_boiled", "potato_baked"}, nil,
		Caution{"potato", "Throw away green, sprouted or bitter tubers. Leaves and berries are poisonous.", "from memory"}},
	{[]string{"tomato", "tomato_cooked", "aubergine", "aubergine_boiled"}, nil,
		Caution{"tomato and aubergine", "Do not eat the leaves.", "from memory"}},
	{[]string{"cassava"}, nil,
		Caution{"cassava", "Sweet types only: peel, cut, soak, boil in plenty of water and pour it away. Raw root holds cyanide.", "from memory"}},
	{[]string{"taro", "taro_cooked", "taro_leaves_steamed"}, nil,
		Caution{"taro", "Corm and leaf only cooked through, 45 minutes or more: raw they burn mouth and throat.", "from memory"}},
	{nil, []string{"fish"},
		Caution{"fish", "Cook to 63 °C inside for 15 seconds. Mind the bones of carp, perch and trout. Never eat fish found dead, or treated with medicines within the waiting time.", "US Food Code, from memory"}},
	{nil, []string{"crustacean"},
		Caution{"crustaceans", "Cook to 63 °C inside for 15 seconds.", "US Food Code, from memory"}},
	{nil, []string{"egg"},
		Caution{"egg", "Cook to 63 °C, for frail people to 71 °C.", "US Food Code, from memory"}},
	{nil, []string{"sprout"},
		Caution{"sprouts and tray greens", "Wash hands and trays; water trays with drinking water only. Cook them for pregnant, old, very young and ill people.", "from memory"}},
	{[]string{"rice_white_cooked", "rice_white_dry"}, nil,
		Caution{"rice", "Cool cooked rice fast and eat it within a day.", "common practice, no source"}},
	{[]string{"honey"}, nil,
		Caution{"honey", "Never under one year.", "from memory"}},
	{[]string{"watercress"}, nil,
		Caution{"watercress", "Raw only where no livestock or wild snails share the water: liver fluke.", "from memory"}},
	{nil, []string{"mushroom"},
		Caution{"mushrooms", "Cook them.", "common practice, no source"}},
	{[]string{"spinach", "spinach_boiled", "chard", "chard_boiled", "beet_greens", "beet_greens_boiled", "amaranth_leaves", "amaranth_leaves_boiled", "taro_leaves_steamed", "parsley"}, nil,
		Caution{"oxalate", "Spinach, chard, amaranth and beet leaves hold several hundred mg oxalate per 100 g: not daily, not for people who form kidney stones; boil and pour the water away. Little of their calcium is taken up.", "Indian Food Composition Tables 2017; Siener 2006"}},
	{[]string{"rocket", "spinach", "chard", "beetroot", "mustard_greens", "radish", "lettuce_butterhead", "lettuce_romaine", "lettuce_green_leaf", "lettuce_red_leaf", "lettuce_iceberg", "watercress", "pak_choi", "kale", "parsley"}, nil,
		Caution{"nitrate", "Leaves hold nitrate, the more in low light. The benefit of vegetables outweighs it; not for infants under a year.", "EFSA 2008, from memory"}},
	{[]string{"jerusalem_artichoke"}, nil,
		Caution{"Jerusalem artichoke", "Much inulin: wind and cramps above about 100 g; most of its energy is not digested.", "common practice, no source"}},
}

// vitaminKRich is the content from which a food calls for a word about
// anticoagulants, µg per 100 g. Our own line, above lettuce (102).
const vitaminKRich = 150.0

// Cautions returns what must be said with a menu of these foods, each once:
// poisons, germs, oxalate, nitrate, vitamin K and allergens. Unknown keys are
// passed over.
func Cautions(foodKeys []string) []Caution {
	var foods []Food
	for _, key := range foodKeys {
		if f, err := Lookup(key); err == nil {
			foods = append(foods, f)
		}
	}
	var out []Caution
	for _, rule := range foodCautions {
		if slices.ContainsFunc(foods, func(f Food) bool {
			return slices.Contains(rule.keys, f.Key) || slices.Contains(rule.groups, f.Group)
		}) {
			out = append(out, rule.caution)
		}
	}
	var rich, allergens []string
	for _, f := range foods {
		if ug, _ := f.Per100g(VitaminK); ug >= vitaminKRich && !slices.Contains(rich, f.Name) {
			rich = append(rich, f.Name)
		}
		allergens = append(allergens, Allergens(f.Key)...)
	}
	if rich != nil {
		out = append(out, Caution{"vitamin K", "Rich in vitamin K: " + strings.Join(rich, "; ") +
			". People on anticoagulants of the warfarin type keep their intake steady and ask their doctor first.", "USDA SR28"})
	}
	if allergens != nil {
		slices.Sort(allergens)
		out = append(out, Caution{"allergens", "Holds " + strings.Join(slices.Compact(allergens), ", ") + ". Ask before the meal.", "from memory"})
	}
	return out
}

// peopleFlags are the conditions PeopleCautions knows, with what to say.
var peopleFlags = []struct{ flag, about, text string }{
	{"pregnant", "pregnancy", "No restricted menu without medical advice: serve a normal-energy menu from the store cupboard. No raw sprouts, raw fish or soft eggs."},
	{"nursing", "nursing", "No restricted menu without medical advice: serve a normal-energy menu from the store cupboard."},
	{"child", "under 18 years", "No restricted menu without medical advice: serve a normal-energy menu from the store cupboard."},
	{"underweight", "body mass index below 18.5", "No restricted menu without medical advice: serve a normal-energy menu from the store cupboard."},
	{"diabetes", "diabetes", "On insulin or sulfonylureas a menu low in carbohydrate can drop the blood sugar: ask the doctor first."},
	{"kidney", "kidney disease", "Potassium (potato, tomato, beans, leaves) and much protein are a danger: ask the doctor first. This holds as well with ACE inhibitors and spironolactone."},
	{"heart-failure", "heart failure", "Salt and drink are set by the doctor: ask first."},
	{"anticoagulant", "anticoagulants", "Vitamin K must stay near the person's habit: leaves change it many times over. Ask the doctor first."},
	{"lithium", "lithium", "A change of salt changes the level of the medicine: ask the doctor first."},
	{"eating-disorder", "eating disorder, past or present", "No restricted menu: serve a normal-energy menu."},
	{"frail", "frail", "No restricted menu without medical advice; enough protein, cooked food, drink offered often."},
	{"ill", "recent illness or operation", "No restricted menu without medical advice."},
	{"gout", "gout", "Much fish brings purines: ask the doctor first."},
	{"kidney-stones", "kidney stones", "Keep spinach, chard, beetroot and amaranth off the plate (oxalate) and drink plenty."},
	{"g6pd", "G6PD deficiency", "Never broad beans."},
}

// Flags returns the conditions PeopleCautions knows.
func Flags() []string {
	var out []string
	for _, f := range peopleFlags {
		out = append(out, f.flag)
	}
	return out
}

// PeopleCautions returns what must be said before a person eats a restricted
// menu, from the conditions told (see Flags) and from age, state and weight:
// under 18 years, pregnant, nursing, body mass index below 18.5. It ends with
// the statement that belongs on every plan.
//
// Errors: an unknown flag; the error names those known.
//
// Source: general medical teaching, from memory.
func PeopleCautions(p Person, flags []string) ([]Caution, error) {
	p, _ = p.Tidy()
	have := slices.Clone(flags)
	if p.AgeY < 18 {
		have = append(have, "child")
	}
	if p.State.Pregnant() {
		have = append(have, "pregnant")
	}
	if p.State.Nursing() {
		have = append(have, "nursing")
	}
	if p.AgeY >= 19 && !p.State.Pregnant() && p.HeightM > 0 && p.BMI() < 18.5 {
		have = append(have, "underweight")
	}
	for _, f := range have {
		if !slices.Contains(Flags(), f) {
			return nil, fmt.Errorf("cautions for people: condition %q is not known; known are %s", f, strings.Join(Flags(), ", "))
		}
	}
	var out []Caution
	for _, f := range peopleFlags {
		if slices.Contains(have, f.flag) {
			out = append(out, Caution{f.about, f.text, "from memory"})
		}
	}
	return append(out, Caution{"every plan", Disclaimer, "common practice, no source"}), nil
}

// Disclaimer belongs on every plan.
const Disclaimer = "Food values are averages of tables and needs are averages of healthy people. This is not medical advice."
