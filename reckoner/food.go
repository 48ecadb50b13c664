package reckoner

import (
	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/words"
)

// dayKcal is the day's energy of the person by whom m2PerPerson is reckoned.
const dayKcal = 2200.0

func sexKey() Key {
	return Key{Name: "sex", What: "whose equation", Kind: Word, Choices: []string{string(food.Male), string(food.Female)}, Required: true}
}

func ageKey(low, high float64) Key {
	return Key{Name: "age", What: "age in years", Kind: quantity.Duration, Unit: "year", BareUnit: "year", Low: low, High: high, Required: true}
}

func bodyWeightKey() Key {
	return Key{Name: "weight", What: "body weight", Kind: quantity.Mass, Low: 1, High: 350, Required: true}
}

func heightKey() Key {
	return Key{Name: "height", What: "body height", Kind: quantity.Length, Low: 0.5, High: 2.5, Required: true}
}

func foodEntries() []Entry {
	activities := make([]string, 0, 4)
	for _, a := range food.Activities() {
		activities = append(activities, string(a))
	}
	return []Entry{
		{
			Name: "resting-energy", Title: "Energy a resting adult uses in a day",
			Formula:  "10 · weight (kg) + 6.25 · height (cm) − 5 · age (years), + 5 for men, − 161 for women (Mifflin and St Jeor)",
			Keys:     []Key{sexKey(), ageKey(19, 78), bodyWeightKey(), heightKey()},
			Outputs:  []Output{{Name: "kcalDay", What: "resting energy", Unit: "kcal/d"}},
			Sources:  []string{"mifflin-1990"},
			Cautions: []string{food.Disclaimer},
			run: func(in *inputs, out *answer) error {
				kcal, err := food.RestingEnergy(person(in))
				if err != nil {
					return err
				}
				out.Set("kcalDay", kcal)
				return nil
			},
		},
		{
			Name: "energy-need", Title: "Energy a person needs in a day",
			Formula: "estimated energy requirement: a linear form of age, weight and height by sex and age group; in the 2005 edition weight and height are multiplied by a coefficient of activity, in the 2023 edition each activity has its own form",
			Keys: []Key{
				sexKey(), ageKey(1, 120), bodyWeightKey(), heightKey(),
				{Name: "activity", What: "class of daily movement", Kind: Word, Choices: activities, Required: true},
				{Name: "edition", What: "edition of the reference intakes", Kind: Word, Choices: []string{"2005", "2023"}, Default: "2005"},
			},
			Outputs:  []Output{{Name: "kcalDay", What: "estimated energy requirement", Unit: "kcal/d"}},
			Sources:  []string{"iom-2005", "nasem-2023"},
			Cautions: []string{"±10 % is an honest band for one person.", food.Disclaimer},
			run:      runEnergyNeed,
		},
		{
			Name: "crop-energy", Title: "Energy and protein a bed gives",
			Formula:  "typical season yield / bed days × edible share × content; m² a person = 2200 kcal a day / energy per m² and day; nursery days not counted",
			Keys:     []Key{{Name: "crop", What: "crop of the table", Kind: Word, Choices: crop.Keys(), Required: true}},
			Outputs:  []Output{{Name: "kcalM2Day", What: "energy per m² of bed and day", Unit: "kcal/m²/d"}, {Name: "proteinGM2Day", What: "protein per m² of bed and day", Unit: "g/m²/d"}, {Name: "m2PerPerson", What: "bed area for 2200 kcal a day", Unit: "m²"}},
			Sources:  []string{"crops-table", "usda-sr28"},
			Cautions: []string{"The yield holds at best light and temperature; growers' low and high yields lie far apart."},
			run:      runCropEnergy,
		},
		{
			Name: "salt-sodium", Title: "Sodium in table salt",
			Formula: "38.758 g of sodium in 100 g of table salt",
			Keys:    []Key{{Name: "salt", What: "table salt", Kind: quantity.Mass, Unit: "g", Low: 0, High: 1e6, Required: true}},
			Outputs: []Output{{Name: "sodiumMg", What: "sodium", Unit: "mg"}},
			Sources: []string{"usda-sr28"},
			run: func(in *inputs, out *answer) error {
				out.Set("sodiumMg", food.SodiumOfSalt(in.Number("salt")))
				return nil
			},
		},
		{
			Name: "drink-need", Title: "What a person should drink in a day",
			Formula: "adequate intake of all water − water in the food − 0.13 L for each 1000 kcal eaten; never below 1.2 L",
			Keys: []Key{
				sexKey(), ageKey(1, 120),
				{Name: "food-water", What: "water in the day's food", Kind: quantity.Mass, Unit: "g", Low: 0, High: 20000, Required: true},
				{Name: "eaten", What: "energy of the day's food", Kind: quantity.Energy, Unit: "kcal", Low: 0, High: 20000, Required: true},
			},
			Outputs:  []Output{{Name: "drinkL", What: "to drink beside the food", Unit: "L/d"}},
			Sources:  []string{"iom-2005"},
			Cautions: []string{"Salt, heat and heavy work ask for more.", food.Disclaimer},
			run:      runDrinkNeed,
		},
		{
			Name: "cooked-content", Title: "What cooked food still holds",
			Formula: "content of 100 g cooked = content of 100 g raw × share retained / (cooked mass over raw mass)",
			Keys: []Key{
				{Name: "raw", What: "content of 100 g raw food, in any unit", Kind: quantity.Plain, Low: 0, High: 1e6, Required: true},
				{Name: "retention", What: "share of the nutrient that stays in the food", Kind: quantity.Share, Low: 0, High: 1.2, Required: true},
				{Name: "yield", What: "cooked mass over raw mass", Kind: quantity.Plain, Low: 0.1, High: 10, Required: true},
			},
			Outputs: []Output{{Name: "cooked", What: "content of 100 g cooked food, in the unit of raw"}},
			Sources: []string{"usda-retention-2007"},
			run: func(in *inputs, out *answer) error {
				cooked, err := food.CookedContent(in.Number("raw"), in.Number("retention"), in.Number("yield"))
				if err != nil {
					return err
				}
				out.Set("cooked", cooked)
				return nil
			},
		},
	}
}

// person is the person of the keys given; activity is sedentary where the
// entry does not ask.
func person(in *inputs) food.Person {
	p := food.Person{
		Sex: food.Sex(in.Word("sex")), AgeY: in.Number("age"),
		WeightKg: in.Number("weight"), HeightM: in.Number("height"), Activity: food.Sedentary,
	}
	if in.Given("activity") {
		p.Activity = food.Activity(in.Word("activity"))
	}
	return p
}

func runEnergyNeed(in *inputs, out *answer) error {
	p := person(in)
	warnings, err := food.CheckPerson(p)
	if err != nil {
		return err
	}
	for _, w := range warnings {
		out.Warn("%s.", words.Capital(w))
	}
	var kcal float64
	if in.Word("edition") == "2023" {
		out.sources = []string{"nasem-2023"}
		kcal, err = food.EnergyNeed2023(p)
	} else {
		out.sources = []string{"iom-2005"}
		kcal, err = food.EnergyNeed2005(p)
	}
	if err != nil {
		return err
	}
	if p.AgeY < 3 {
		out.Warn("Under 3 years the activity plays no part.")
	}
	out.Set("kcalDay", kcal)
	return nil
}

func runCropEnergy(in *inputs, out *answer) error {
	c, err := crop.Lookup(in.Word("crop"))
	if err != nil {
		return in.Refuse("crop", "Crop: %s.", err)
	}
	kcal, proteinG, ok := c.EnergyPerM2Day()
	if !ok || kcal <= 0 {
		out.Warn("%s has no row in the food table: it does not feed people directly.", c.Name)
		out.Null("kcalM2Day", "proteinGM2Day", "m2PerPerson")
		return nil
	}
	if c.Caution != "" {
		out.Warn("%s.", words.Capital(c.Caution))
	}
	out.Set("kcalM2Day", kcal)
	out.Set("proteinGM2Day", proteinG)
	out.Set("m2PerPerson", dayKcal/kcal)
	return nil
}

func runDrinkNeed(in *inputs, out *answer) error {
	// The intake of water goes by sex and age alone; any body of the allowed
	// size serves.
	p := food.Person{
		Sex: food.Sex(in.Word("sex")), AgeY: in.Number("age"),
		WeightKg: 60, HeightM: 1.7, Activity: food.LowActive,
	}
	litres, err := food.DrinkNeed(p, in.Number("food-water"), in.Number("eaten"))
	if err != nil {
		return err
	}
	out.Set("drinkL", litres)
	return nil
}
