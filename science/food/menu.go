package food

import "fmt"

// MenuFigures are the figures of one person's day, or the mean day of a plan,
// by which MenuWarnings judges. Amounts are per person and day.
type MenuFigures struct {
	Kcal          float64
	NeedKcal      float64 // energy need; 0 leaves the check out
	Days          float64 // length of the plan
	ProteinG      float64
	WeightKg      float64 // body weight; 0 leaves the check out
	FatG          float64
	CarbohydrateG float64
	FibreG        float64
	SodiumMg      float64
	MassG         float64 // food as eaten
	// VitaminKUg and UsualVitaminKUg are compared only for a person on
	// anticoagulants.
	VitaminKUg, UsualVitaminKUg float64
	Anticoagulant               bool
	// UnknownMassShare is, per nutrient, the share of the menu's mass whose
	// value is not in the tables, 0 to 1.
	UnknownMassShare map[Nutrient]float64
}

// Energy per gram, for shares of energy: the general factors of the reference
// intakes' acceptable ranges.
const (
	kcalPerGProtein = 4.0
	kcalPerGFat     = 9.0
)

// MenuWarnings says in sentences what is amiss with a day's menu: too little
// energy, protein above 35 percent of energy or 2.5 g per kg body weight, fat
// below 15 percent of energy or FatFloorG, carbohydrate below 100 g, fibre
// above 60 g, sodium below 500 or above 2300 mg, more than 2.5 kg of food, a
// change of vitamin K by more than 100 µg for a person on anticoagulants, and
// nutrients unknown for more than a fifth of the mass. Figures that are NaN or
// infinite are named and not judged.
//
// Source: IOM 2005 (acceptable ranges, carbohydrate), NASEM 2019 (sodium); the
// other limits from memory or common practice.
func MenuWarnings(m MenuFigures) []string {
	var out []string
	warn := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	for _, f := range []struct {
		name string
		v    float64
	}{
		{"energy", m.Kcal}, {"energy need", m.NeedKcal}, {"days", m.Days}, {"protein", m.ProteinG},
		{"body weight", m.WeightKg}, {"fat", m.FatG}, {"carbohydrate", m.CarbohydrateG}, {"fibre", m.FibreG},
		{"sodium", m.SodiumMg}, {"mass", m.MassG}, {"vitamin K", m.VitaminKUg}, {"usual vitamin K", m.UsualVitaminKUg},
	} {
		if !finite(f.v) || f.v < 0 {
			warn("%s is %g: not a figure that can be judged", f.name, f.v)
		}
	}
	if len(out) > 0 {
		return out
	}
	if m.NeedKcal > 0 {
		switch share := m.Kcal / m.NeedKcal; {
		case share < 0.5:
			warn("energy %.0f kcal is %.0f %% of the need: below half, not to be planned for more than a day", m.Kcal, 100*share)
		case share < 0.795 && m.Days > 1: // a plan held at 80 % is not below it for its rounding
			warn("energy %.0f kcal is %.0f %% of the need: below 80 %% on more than one day", m.Kcal, 100*share)
		}
	}
	if share := m.ProteinG * kcalPerGProtein; m.Kcal > 0 && share > 0.35*m.Kcal {
		warn("protein gives %.0f %% of the energy, more than 35 %%: nausea and a load on the kidneys within days; add starch or oil", 100*share/m.Kcal)
	}
	if m.WeightKg > 0 && m.ProteinG > 2.5*m.WeightKg {
		warn("protein %.0f g is %.1f g per kg body weight, more than 2.5", m.ProteinG, m.ProteinG/m.WeightKg)
	}
	if share := m.FatG * kcalPerGFat; m.Kcal > 0 && share < 0.15*m.Kcal {
		warn("fat gives %.0f %% of the energy, less than 15 %%", 100*share/m.Kcal)
	}
	if m.FatG < FatFloorG {
		warn("fat %.0f g is less than %.0f g: vitamins A, E and K are poorly taken up", m.FatG, FatFloorG)
	}
	if m.CarbohydrateG < 100 {
		warn("carbohydrate %.0f g is less than 100 g: expect headache and loss of water in the first days", m.CarbohydrateG)
	}
	if m.FibreG > 60 {
		warn("fibre %.0f g is more than 60 g: wind and cramps", m.FibreG)
	}
	if m.SodiumMg < 500 {
		warn("sodium %.0f mg is less than 500 mg: salt the food", m.SodiumMg)
	}
	if m.SodiumMg > 2300 {
		warn("sodium %.0f mg is more than 2300 mg", m.SodiumMg)
	}
	if m.MassG > 2500 {
		warn("food weighs %.1f kg, more than 2.5 kg: most people will not finish it", m.MassG/1000)
	}
	if change := m.VitaminKUg - m.UsualVitaminKUg; m.Anticoagulant && (change > 100 || change < -100) {
		warn("vitamin K changes by %+.0f µg from this person's habit, more than 100 µg: not with anticoagulants without the doctor's word", change)
	}
	for _, n := range Nutrients() {
		if share := m.UnknownMassShare[n]; share > 0.2 {
			warn("%s is unknown for %.0f %% of the menu's mass: read it as at least", n, 100*share)
		}
	}
	return out
}
