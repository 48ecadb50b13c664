package food

import "strings"

// Nutrient is a column of the composition table.
type Nutrient int

// The nutrients in the order of the composition table.
const (
	Energy         Nutrient = iota // kcal
	Protein                        // g
	Fat                            // g
	Carbohydrate                   // g, by difference, fibre included
	Fibre                          // g
	Sugars                         // g
	Calcium                        // mg
	Iron                           // mg
	Magnesium                      // mg
	Phosphorus                     // mg
	Potassium                      // mg
	Sodium                         // mg
	Zinc                           // mg
	Copper                         // mg
	Selenium                       // µg
	VitaminA                       // µg retinol activity equivalents
	VitaminC                       // mg
	VitaminD                       // µg
	VitaminE                       // mg
	VitaminK                       // µg
	Thiamin                        // mg
	Riboflavin                     // mg
	Niacin                         // mg, preformed only
	VitaminB6                      // mg
	Folate                         // µg dietary folate equivalents
	VitaminB12                     // µg
	AlphaLinolenic                 // g, omega-3 fatty acid of plants
	EPADHA                         // g, omega-3 fatty acids of fish
	Choline                        // mg
	Water                          // g
	NumNutrients                   // how many there are
)

// nutrientTable holds key, name, and the day count of BridgeDays (0: no need
// of its own, so never weighed).
var nutrientTable = [NumNutrients]struct {
	key, name  string
	bridgeDays float64
}{
	Energy:         {"energy_kcal", "energy", 2},
	Protein:        {"protein_g", "protein", 5},
	Fat:            {"fat_g", "fat", 0},
	Carbohydrate:   {"carbohydrate_g", "carbohydrate", 1},
	Fibre:          {"fibre_g", "fibre", 2},
	Sugars:         {"sugars_g", "sugars", 0},
	Calcium:        {"calcium_mg", "calcium", 200},
	Iron:           {"iron_mg", "iron", 200},
	Magnesium:      {"magnesium_mg", "magnesium", 20},
	Phosphorus:     {"phosphorus_mg", "phosphorus", 200},
	Potassium:      {"potassium_mg", "potassium", 2},
	Sodium:         {"sodium_mg", "sodium", 2},
	Zinc:           {"zinc_mg", "zinc", 20},
	Copper:         {"copper_mg", "copper", 60},
	Selenium:       {"selenium_ug", "selenium", 60},
	VitaminA:       {"vit_a_rae_ug", "vitamin A", 200},
	VitaminC:       {"vit_c_mg", "vitamin C", 20},
	VitaminD:       {"vit_d_ug", "vitamin D", 60},
	VitaminE:       {"vit_e_mg", "vitamin E", 200},
	VitaminK:       {"vit_k_ug", "vitamin K", 20},
	Thiamin:        {"thiamin_mg", "thiamin", 14},
	Riboflavin:     {"riboflavin_mg", "riboflavin", 20},
	Niacin:         {"niacin_mg", "niacin", 20},
	VitaminB6:      {"vit_b6_mg", "vitamin B6", 20},
	Folate:         {"folate_dfe_ug", "folate", 60},
	VitaminB12:     {"vit_b12_ug", "vitamin B12", 700},
	AlphaLinolenic: {"omega3_ala_g", "omega-3 (ALA)", 200},
	EPADHA:         {"epa_dha_g", "omega-3 (EPA and DHA)", 0},
	Choline:        {"choline_mg", "choline", 20},
	Water:          {"water_g", "water", 1},
}

// valid reports whether n is a column of the table.
func (n Nutrient) valid() bool { return n >= 0 && n < NumNutrients }

// Key returns the column name, such as "vit_c_mg", and "" for a number that is
// no nutrient.
func (n Nutrient) Key() string {
	if !n.valid() {
		return ""
	}
	return nutrientTable[n].key
}

// Name returns the plain name, such as "vitamin C", and "" for a number that
// is no nutrient.
func (n Nutrient) Name() string {
	if !n.valid() {
		return ""
	}
	return nutrientTable[n].name
}

// String returns the plain name.
func (n Nutrient) String() string { return n.Name() }

// Unit returns "kcal", "g", "mg" or "µg", and "" for a number that is no
// nutrient.
func (n Nutrient) Unit() string {
	key := n.Key()
	unit := key[strings.LastIndexByte(key, '_')+1:]
	if unit == "ug" {
		return "µg"
	}
	return unit
}

// NutrientByKey finds a nutrient by its column name.
func NutrientByKey(key string) (Nutrient, bool) {
	for n := range NumNutrients {
		if nutrientTable[n].key == key {
			return n, true
		}
	}
	return 0, false
}

// Nutrients returns all nutrients in the order of the table.
func Nutrients() []Nutrient {
	all := make([]Nutrient, 0, NumNutrients)
	for n := range NumNutrients {
		all = append(all, n)
	}
	return all
}

// ScoredNutrients returns the 24 nutrients over which the mean adequacy ratio
// is taken: those with a reference intake, without energy (reported on its
// own), carbohydrate and water.
func ScoredNutrients() []Nutrient {
	return []Nutrient{
		Protein, Fibre, AlphaLinolenic,
		Calcium, Iron, Magnesium, Phosphorus, Potassium, Sodium, Zinc, Copper, Selenium,
		VitaminA, VitaminC, VitaminD, VitaminE, VitaminK,
		Thiamin, Riboflavin, Niacin, VitaminB6, Folate, VitaminB12, Choline,
	}
}
