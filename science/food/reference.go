package food

import (
	_ "embed"
	"fmt"
	"math"
	"sync"

	"tidebed/quantity"
	"tidebed/table"
)

//go:embed dri.csv
var driCSV string

// Figure is a number that may be unknown; Known false means the table has none.
type Figure struct {
	Amount float64
	Known  bool
}

// Reference is the reference intake of one nutrient for one person and day.
type Reference struct {
	Unit   string // of all amounts; AMDRMin and AMDRMax are percent of energy
	EAR    Figure // estimated average requirement: half of the people need less
	RDA    Figure // recommended allowance: covers nearly everyone
	AI     Figure // adequate intake, where no RDA can be set
	Target Figure // what a plan aims at: the RDA, else the AI
	UL     Figure // tolerable upper level; ULNote says what counts
	CDRR   Figure // intake above which less lowers the risk of chronic illness
	// AMDRMin and AMDRMax bound the acceptable share of energy in percent.
	AMDRMin, AMDRMax Figure
	Kind             string // RDA, AI, AMDR or EER: what Target is
	ULNote           string
	Source           string
}

// figure reads a cell that may be blank.
func figure(r table.Row, column string) Figure {
	v, known := r.Optional(column)
	return Figure{v, known}
}

type driRow struct {
	stage, sex   string
	ageLo, ageHi float64
	ref          Reference
}

var driTable = sync.OnceValue(func() map[string][]driRow {
	t := map[string][]driRow{}
	for _, row := range table.Read("dri.csv", driCSV) {
		r := driRow{stage: row.Text("life_stage"), sex: row.Text("sex")}
		r.ageLo = row.NumberOr("age_min_y", 0)
		r.ageHi = row.NumberOr("age_max_y", 0)
		r.ref = Reference{
			EAR: figure(row, "ear"), RDA: figure(row, "rda"), AI: figure(row, "ai"), Target: figure(row, "target"),
			UL: figure(row, "ul"), CDRR: figure(row, "cdrr"), AMDRMin: figure(row, "amdr_min_pct"), AMDRMax: figure(row, "amdr_max_pct"),
			Kind: row.Text("target_kind"), ULNote: row.Text("ul_note"), Source: row.Text("source"),
		}
		t[row.Text("nutrient")] = append(t[row.Text("nutrient")], r)
	}
	return t
})

// driFor finds the row of a person's life stage. Ages are whole completed
// years. Pregnancy and nursing outside 14 to 50 years take the nearest row.
func driFor(key string, p Person) (Reference, bool) {
	stage, ageY := string(p.Sex), math.Floor(p.AgeY)
	switch {
	case p.State.Pregnant():
		stage, ageY = "pregnancy", min(max(ageY, 14), 50)
	case p.State.Nursing():
		stage, ageY = "lactation", min(max(ageY, 14), 50)
	case ageY < 9:
		stage = "child"
	}
	for _, r := range driTable()[key] {
		if r.stage == stage && ageY >= r.ageLo && ageY <= r.ageHi {
			return r.ref, true
		}
	}
	return Reference{}, false
}

// scaled multiplies the known amounts of a reference.
func (r Reference) scaled(by float64) Reference {
	for _, f := range []*Figure{&r.EAR, &r.RDA, &r.AI, &r.Target, &r.UL, &r.CDRR} {
		f.Amount *= by
	}
	return r
}

// ReferenceIntake returns the reference intake for a key: the key of a
// nutrient ("iron_mg", "water_g"), or one of the further keys of the table
// (omega6_la_g, water_total_l, protein_g_per_kg and the shares of energy
// protein_pct_energy, fat_pct_energy, carbohydrate_pct_energy,
// omega6_la_pct_energy, omega3_ala_pct_energy).
//
// Protein is the allowance per kilogram times the person's weight, not the
// printed grams, which hold for one reference weight. Energy is EnergyNeed2005
// with Kind "EER". Water is the adequate intake of food and drink together, in
// grams. ok is false where there is no reference (fat, sugars, EPA and DHA) or
// the person cannot be read.
//
// Source: dri.csv (NASEM summary tables 2011 and 2019, IOM 2005).
func ReferenceIntake(key string, p Person) (ref Reference, ok bool) {
	if p.check() != nil {
		return Reference{}, false
	}
	switch key {
	case Energy.Key():
		kcal, err := EnergyNeed2005(p)
		if err != nil {
			return Reference{}, false
		}
		return Reference{Unit: "kcal", Target: Figure{kcal, true}, Kind: "EER", Source: "IOM 2005 energy equations"}, true
	case Protein.Key():
		ref, ok = driFor("protein_g_per_kg", p)
		ref = ref.scaled(p.WeightKg)
	case Water.Key():
		ref, ok = driFor("water_total_l", p)
		ref = ref.scaled(1000)
	default:
		ref, ok = driFor(key, p)
	}
	if !ok {
		return Reference{}, false
	}
	switch n, isNutrient := NutrientByKey(key); {
	case isNutrient:
		ref.Unit = n.Unit()
	case key == "water_total_l":
		ref.Unit = "L"
	case key == "protein_g_per_kg":
		ref.Unit = "g/kg"
	case key == "omega6_la_g":
		ref.Unit = "g"
	default:
		ref.Unit = "% of energy"
	}
	return ref, true
}

// Target returns the amount a plan should give a person each day, in n's unit:
// the recommended allowance, else the adequate intake; protein by weight,
// energy by EnergyNeed2005. ok is false where there is none.
func Target(n Nutrient, p Person) (amount float64, ok bool) {
	ref, ok := ReferenceIntake(n.Key(), p)
	if !ok || !ref.Target.Known {
		return 0, false
	}
	return ref.Target.Amount, true
}

// FatFloorG is the fat a day below which vitamins A, E and K and carotenes are
// poorly taken up. Common practice, no source.
const FatFloorG = 20.0

// BridgeDays returns how many days on none of the nutrient a well-fed healthy
// adult bridges from stores or by saving, in orders of magnitude: the short
// end of each span, so that a doubt counts for the nutrient. It is +Inf for
// fat, sugars, and EPA and DHA, which have no need of their own here.
//
// Source: textbook orders of magnitude, from memory; omega-3 (ALA) is placed
// with the body's fat.
func BridgeDays(n Nutrient) float64 {
	if !n.valid() || nutrientTable[n].bridgeDays == 0 {
		return math.Inf(1)
	}
	return nutrientTable[n].bridgeDays
}

// Weight returns how much a gap in n matters within days for this person, 0 to
// 1: days over BridgeDays, at most 1. Under 18 years, in pregnancy and in
// nursing it is 1 for every nutrient that has a need. It is a rule of display,
// no statement about health: at 0.5 and above a nutrient is listed as
// mattering within the days, below as bridged by full stores.
//
// Days of 0 or less, or NaN, weigh 1: an unknown span excuses nothing.
func Weight(n Nutrient, days float64, p Person) float64 {
	bridge := BridgeDays(n)
	if math.IsInf(bridge, 1) {
		return 0
	}
	if p.AgeY < 18 || p.State != NoState || !(days > 0) {
		return 1
	}
	return min(1, days/bridge)
}

// Adequacy returns for each need the adequacy ratio intake/need, at most 1, and
// their mean over the needs above 0. Both lists run over the same nutrients in
// the same units and days. A need of 0 counts as met and is left out of the
// mean; without any need the mean is 0. What cannot be judged counts as
// nothing eaten: an intake that is missing, negative, NaN or infinite, and a
// need that is negative, NaN or infinite.
//
// Source: Guthrie & Scheer 1981 and Madden et al. 1976, from memory.
func Adequacy(intake, need []float64) (nar []float64, mar float64) {
	nar = make([]float64, len(need))
	counted := 0
	for i, want := range need {
		if want == 0 {
			nar[i] = 1
			continue
		}
		counted++
		if i < len(intake) && finite(intake[i]) && intake[i] > 0 && finite(want) && want > 0 {
			nar[i] = min(1, intake[i]/want)
		}
		mar += nar[i]
	}
	if counted > 0 {
		mar /= float64(counted)
	}
	return nar, mar
}

// SodiumOfSalt returns the sodium in mg of saltG grams of table salt, 38.758 g
// sodium in 100 g.
//
// Check: 5 g give 1938 mg.
func SodiumOfSalt(saltG float64) (sodiumMg float64) { return saltG * 387.58 }

// MetabolicWaterL is the litres of water the body makes per 1000 kcal. From
// memory.
const MetabolicWaterL = 0.13

// LeastDrinkL is the least a plan ever advises to drink in a day, in litres.
// Common practice, no source.
const LeastDrinkL = 1.2

// DrinkNeed returns the litres a person should drink in a day beside the water
// in foodWaterG grams of food water and that made from kcal eaten; never less
// than LeastDrinkL. Salt, heat and heavy work ask for more.
//
// Errors: a person or amounts out of range, wrapping quantity.ErrRange.
//
// Source: adequate intake of total water, IOM 2005.
func DrinkNeed(p Person, foodWaterG, kcal float64) (litres float64, err error) {
	if err := p.check(); err != nil {
		return 0, fmt.Errorf("drink need: %w", err)
	}
	if err := quantity.InRange("water in food", foodWaterG, 0, 20000, "g"); err != nil {
		return 0, fmt.Errorf("drink need: %w", err)
	}
	if err := quantity.InRange("energy eaten", kcal, 0, 20000, "kcal"); err != nil {
		return 0, fmt.Errorf("drink need: %w", err)
	}
	ref, ok := ReferenceIntake("water_total_l", p)
	if !ok {
		return 0, fmt.Errorf("drink need: no reference intake of water for %s, %g years", p.Sex, p.AgeY)
	}
	return max(LeastDrinkL, ref.AI.Amount-foodWaterG/1000-MetabolicWaterL*kcal/1000), nil
}
