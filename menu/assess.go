package menu

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"tidebed/science/food"
)

// NewEater works out one person's needs: the energy need of IOM 2005 (set
// NeedKcal anew for another edition), the
// floor below which bought food must step in, and whether the person is
// protected. A person under 18, pregnant, nursing or with a condition told in
// flags is protected: the floor is then the full need whatever adultFloor says.
//
// adultFloor is a share, 0.5 to 1. Errors: a person no formula can use.
func NewEater(name string, p food.Person, flags, never []string, adultFloor float64) (Eater, error) {
	need, err := food.EnergyNeed2005(p)
	if err != nil {
		return Eater{}, fmt.Errorf("eater %s: %w", name, err)
	}
	if !(adultFloor >= 0.5 && adultFloor <= 1) {
		return Eater{}, fmt.Errorf("eater %s: floor of %g of the energy: give 0.5 to 1", name, adultFloor)
	}
	e := Eater{Name: name, Person: p, NeedKcal: need, Floor: adultFloor, Never: never}
	if p.AgeY < 18 || p.State != food.NoState || len(flags) > 0 || (p.HeightM > 0 && p.AgeY >= 18 && p.BMI() < 18.5) {
		e.Protected, e.Floor = true, 1
	}
	return e, nil
}

// eats reports whether the eater may be served the food.
func (e Eater) eats(f food.Food) bool {
	for _, no := range e.Never {
		if no == f.Key || no == f.Group || slices.Contains(food.Allergens(f.Key), no) {
			return false
		}
	}
	return true
}

// Assess gives the figures of a menu written by hand: grams as eaten per
// person and day by food key. With byEnergy each eater's portion is scaled by
// their share of the energy need; without it all get the same. All of it
// counts as inside.
//
// Errors: an unknown food, an amount that is negative or not a number, no
// eater, days outside 0 to 366.
func Assess(eaters []Eater, days float64, gramsPerPersonDay map[string]float64, byEnergy bool) (*Menu, error) {
	if len(eaters) == 0 {
		return nil, fmt.Errorf("menu: no eaters: name at least one")
	}
	if !(days > 0 && days <= 366) {
		return nil, fmt.Errorf("menu: %g days: give more than 0, at most 366", days)
	}
	keys := make([]string, 0, len(gramsPerPersonDay))
	for key := range gramsPerPersonDay {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	var all float64
	for _, e := range eaters {
		all += e.NeedKcal
	}
	served := make([]serving, 0, len(keys))
	for _, key := range keys {
		f, err := food.Lookup(key)
		if err != nil {
			return nil, fmt.Errorf("menu: %w", err)
		}
		g := gramsPerPersonDay[key]
		if !(g >= 0) || math.IsInf(g, 0) {
			return nil, fmt.Errorf("menu: %s %g g: give 0 or more", key, g)
		}
		s := serving{food: f, inside: true, byEater: make([]float64, len(eaters))}
		for p, e := range eaters {
			s.byEater[p] = g * days
			if byEnergy {
				s.byEater[p] *= e.NeedKcal / all * float64(len(eaters))
			}
		}
		served = append(served, s)
	}
	return figures(eaters, days, served), nil
}

// serving is one food on the table: grams for the whole set by eater.
type serving struct {
	food    food.Food
	inside  bool
	byEater []float64
}

// figures adds up what each eater gets.
func figures(eaters []Eater, days float64, served []serving) *Menu {
	m := &Menu{Eaters: make([]EaterFigure, len(eaters))}
	for _, s := range served {
		var grams float64
		for _, g := range s.byEater {
			grams += g
		}
		if grams <= 0 {
			continue
		}
		kcal, _ := s.food.Per100g(food.Energy)
		m.Portions = append(m.Portions, Portion{
			Food: s.food.Key, Name: s.food.Name, Grams: grams, Kcal: grams * kcal / 100,
			Inside: s.inside, ByEater: s.byEater,
		})
	}
	sort.SliceStable(m.Portions, func(i, j int) bool { return m.Portions[i].Kcal > m.Portions[j].Kcal })
	var inside, bought, need float64
	worst := math.Inf(1)
	for p, e := range eaters {
		fig := &m.Eaters[p]
		fig.Name = e.Name
		for n := range food.NumNutrients {
			if v, ok := food.Target(n, e.Person); ok {
				fig.Target[n] = v
			}
		}
		fig.Target[food.Energy] = e.NeedKcal
		for _, s := range served {
			g := s.byEater[p] / days
			if g <= 0 {
				continue
			}
			fig.MassG += g
			for n := range food.NumNutrients {
				v, known := s.food.Per100g(n)
				if known {
					fig.Intake[n] += g * v / 100
				} else {
					fig.UnknownMass[n] += g
				}
			}
			kcal, _ := s.food.Per100g(food.Energy)
			if s.inside {
				fig.InsideKcal += g * kcal / 100
			} else {
				fig.BoughtKcal += g * kcal / 100
			}
		}
		unknown := map[food.Nutrient]float64{}
		for n := range food.NumNutrients {
			if fig.MassG > 0 {
				fig.UnknownMass[n] /= fig.MassG
			}
			if fig.UnknownMass[n] > 0 && fig.Target[n] > 0 {
				unknown[n] = fig.UnknownMass[n]
			}
		}
		fig.Share = (fig.InsideKcal + fig.BoughtKcal) / e.NeedKcal
		fig.OutsideKcal = math.Max(0, e.Floor*e.NeedKcal-fig.InsideKcal-fig.BoughtKcal)
		fig.Warnings = food.MenuWarnings(food.MenuFigures{
			Kcal: fig.Intake[food.Energy], NeedKcal: e.NeedKcal, Days: days,
			ProteinG: fig.Intake[food.Protein], WeightKg: e.Person.WeightKg, FatG: fig.Intake[food.Fat],
			CarbohydrateG: fig.Intake[food.Carbohydrate], FibreG: fig.Intake[food.Fibre],
			SodiumMg: fig.Intake[food.Sodium], MassG: fig.MassG, UnknownMassShare: unknown,
		})
		inside += fig.InsideKcal
		bought += fig.BoughtKcal
		need += e.NeedKcal
		worst = math.Min(worst, fig.InsideKcal/e.NeedKcal)
	}
	m.WorstShare, m.MeanShare, m.FedShare = worst, inside/need, (inside+bought)/need
	return m
}
