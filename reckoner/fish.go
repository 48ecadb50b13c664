package reckoner

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/fish"
)

// Limits within which the growth model was fitted, g live weight.
const growthFromG, growthToG = 1.0, 1000.0

func speciesKey() Key {
	return Key{Name: "species", What: "kind of fish or crustacean", Kind: Word, Choices: fish.IDs(), Required: true}
}

func liveWeightKey(name, what string) Key {
	return Key{Name: name, What: what, Kind: quantity.Mass, Unit: "g", Low: 0.001, High: 20000, Required: true}
}

func waterTempKey() Key {
	return Key{Name: "temp", What: "water temperature, steady", Kind: quantity.Temperature, Low: -1, High: 45, Required: true}
}

func performanceKey() Key {
	return Key{Name: "performance", What: "this stock's growth against the model's", Kind: quantity.Plain, Low: 0.05, High: 5, Default: "1"}
}

func fishEntries() []Entry {
	growth := "growth (g/d) = a · weight^b · temperature factor · performance, full fed; stepped exactly at a steady temperature"
	growthSources := []string{"rosso-1993", "fish-species-table"}
	growthCaution := "Stocks differ: let your own weighings set the performance."
	return []Entry{
		{
			Name: "fish-growth", Title: "Weight of a fish after some days", Formula: growth,
			Keys: []Key{
				speciesKey(), liveWeightKey("weight", "live weight at the start"), waterTempKey(),
				{Name: "days", What: "days of growth", Kind: quantity.Duration, Unit: "d", BareUnit: "d", Low: 0, High: 3650, Required: true, Field: "days"},
				performanceKey(),
			},
			Outputs:  []Output{{Name: "weightG", What: "live weight at the end; none where feeding stops", Unit: "g"}},
			Sources:  growthSources,
			Cautions: []string{growthCaution},
			run:      runFishGrowth,
		},
		{
			Name: "days-to-weight", Title: "Days a fish takes to a weight", Formula: growth + ", solved for the days",
			Keys: []Key{
				speciesKey(), liveWeightKey("weight", "live weight at the start"),
				liveWeightKey("target", "live weight to reach"), waterTempKey(), performanceKey(),
			},
			Outputs:  []Output{{Name: "days", What: "days to the target; none where feeding stops", Unit: "d"}},
			Sources:  growthSources,
			Cautions: []string{growthCaution},
			run:      runDaysToWeight,
		},
		{
			Name: "fish-for-plates", Title: "Live fish for an amount of cooked fillet",
			Formula: "live mass = cooked mass / (skinless fillet share × cooked mass over raw mass); hand = 85 % of the fillet share, as at home",
			Keys: []Key{
				speciesKey(),
				{Name: "cooked", What: "cooked fillet wanted, all eaters together", Kind: quantity.Mass, Unit: "g", Low: 1, High: 1e6, Required: true},
				{Name: "weight", What: "live weight of one fish", Kind: quantity.Mass, Unit: "g", Low: 1, High: 20000, Default: "500 g"},
				{Name: "hand", What: "who fillets", Kind: Word, Choices: []string{"skilled", "home"}, Default: "skilled"},
			},
			Outputs: []Output{
				{Name: "liveG", What: "live fish needed; none where the fillet share is not known", Unit: "g"},
				{Name: "filletG", What: "raw skinless fillet", Unit: "g"},
				{Name: "count", What: "fish of the given weight, rounded up"},
			},
			Sources:  []string{"fish-yield-table"},
			Cautions: []string{"Cook fish through (63 °C inside)."},
			run:      runFishForPlates,
		},
	}
}

// growing looks up the species and says whether it feeds and grows.
func growing(in *inputs, out *answer) (s fish.Species, grows bool, err error) {
	if s, err = fish.Lookup(in.Word("species")); err != nil {
		return s, false, in.Refuse("species", "Species: %s.", err)
	}
	tempC := in.Number("temp")
	factor, err := fish.TemperatureFactor(s, tempC)
	if err != nil {
		return s, false, err
	}
	switch {
	case tempC < s.FeedStopLowC || tempC > s.FeedStopHighC:
		out.Warn("%s is not fed below %g °C or above %g °C: there is no growth to foretell.", s.Name, s.FeedStopLowC, s.FeedStopHighC)
		return s, false, nil
	case factor <= 0:
		out.Warn("%s does not grow in water of %g °C.", s.Name, tempC)
		return s, false, nil
	}
	if w := in.Number("weight"); w < growthFromG || w > growthToG {
		out.Warn("The growth model holds from %g g to %g g.", growthFromG, growthToG)
	}
	if tempC < s.OptLowC || tempC > s.OptHighC {
		out.Warn("%s does best from %g °C to %g °C.", s.Name, s.OptLowC, s.OptHighC)
	}
	return s, true, nil
}

func runFishGrowth(in *inputs, out *answer) error {
	s, grows, err := growing(in, out)
	if err != nil {
		return err
	}
	if !grows {
		out.Null("weightG")
		return nil
	}
	g, err := fish.GrownWeightG(s, in.Number("weight"), in.Number("temp"), in.Number("days"), in.Number("performance"))
	if err != nil {
		return err
	}
	if g >= s.CeilingG() {
		out.Warn("Growth of %s is not foretold beyond %g g: the weight stops there.", s.Name, s.CeilingG())
	}
	out.Set("weightG", g)
	return nil
}

func runDaysToWeight(in *inputs, out *answer) error {
	s, grows, err := growing(in, out)
	if err != nil {
		return err
	}
	from, to := in.Number("weight"), in.Number("target")
	switch {
	case to < from:
		return in.Refuse("target", "Target must be at least the weight at the start, %g g. You entered %g g.", from, to)
	case !grows:
		out.Null("days")
		return nil
	case to > max(from, s.CeilingG()):
		return in.Refuse("target", "Target must be at most %g g for %s: growth is not foretold beyond. You entered %g g.", s.CeilingG(), s.Name, to)
	}
	days, err := fish.GrowthDays(s, from, to, in.Number("temp"), in.Number("performance"))
	if err != nil {
		return err
	}
	out.Set("days", days)
	return nil
}

func runFishForPlates(in *inputs, out *answer) error {
	id, cookedG, oneG := in.Word("species"), in.Number("cooked"), in.Number("weight")
	y, err := fish.Dressing(id, oneG)
	if errors.Is(err, quantity.ErrRange) {
		return in.Refuse("weight", "Weight: %s.", err)
	}
	if err != nil {
		return in.Refuse("species", "Species: %s.", err)
	}
	liveG, ok := y.LiveForCookedG(cookedG)
	if !ok {
		out.Warn("The fillet share of %s is not known.", id)
		out.Null("liveG", "filletG", "count")
		return nil
	}
	if in.Word("hand") == "home" {
		liveG /= fish.HomeFilletFactor
	}
	if !y.Within {
		out.Warn("The fillet share was measured on fish of another weight.")
	}
	if y.CookingYield <= 0 {
		return fmt.Errorf("cooking yield of %s is %g", id, y.CookingYield)
	}
	out.Set("liveG", liveG)
	out.Set("filletG", cookedG/y.CookingYield)
	out.Set("count", math.Ceil(liveG/oneG-1e-9))
	return nil
}
