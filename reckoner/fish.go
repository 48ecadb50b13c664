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
		{
			Name: "tgc-growth", Title: "Weight of a fish by its thermal growth coefficient",
			Formula: "cube root of the weight rises by tgc/1000 for each degree-day (°C × days); tgc is the coefficient times 1000 with weights in g, as 1.8 for trout",
			Keys: []Key{
				liveWeightKey("weight", "live weight at the start"),
				{Name: "tgc", What: "thermal-unit growth coefficient, times 1000", Kind: quantity.Plain, Low: 0.05, High: 10, Required: true},
				{Name: "temp", What: "water temperature, steady", Kind: quantity.Temperature, Low: 0, High: 45, Required: true},
				{Name: "days", What: "days of growth", Kind: quantity.Duration, Unit: "d", BareUnit: "d", Low: 0, High: 3650, Required: true, Field: "days"},
			},
			Outputs:  []Output{{Name: "weightG", What: "live weight at the end", Unit: "g"}},
			Sources:  []string{"iwama-tautz-1981", "jobling-2003"},
			Cautions: []string{"Never use it above the best temperature: it keeps rising while fish stop eating."},
			run:      runTGCGrowth,
		},
		{
			Name: "ration", Title: "Feed of a day",
			Formula: "share of live weight = the lower of growth × feed conversion / weight and the feed table (straight lines in temperature and in the logarithm of the weight); feed = share × weight × count",
			Keys: []Key{
				speciesKey(), liveWeightKey("weight", "live weight of one fish"), waterTempKey(),
				{Name: "count", What: "fish", Kind: quantity.Count, Low: 1, High: 1e7, Required: true},
			},
			Outputs: []Output{
				{Name: "shareDay", What: "feed of a day as a fraction of live weight"},
				{Name: "feedGd", What: "dry feed of all fish", Unit: "g/d"},
				{Name: "meals", What: "meals to split it into"},
			},
			Sources:  []string{"fish-feeding-table", "leitritz-lewis-1980", "rosso-1993", "fish-species-table"},
			Cautions: []string{"Take away what is not eaten in half an hour and give less next time; feed less in poor water and never make up a missed ration."},
			run:      runRation,
		},
		{
			Name: "ammonia-from-feed", Title: "Ammonia that fish give off on their feed",
			Formula: "total ammonia nitrogen = feed × protein × 0.092 (0.16 nitrogen in protein × 0.80 assimilated × 0.80 excreted × 0.90 as ammonia)",
			Keys: []Key{
				{Name: "feed", What: "dry feed eaten", Kind: quantity.MassRate, Unit: "g/d", Low: 0, High: 1e8, Required: true},
				{Name: "protein", What: "protein of the feed", Kind: quantity.Share, Low: 0.10, High: 0.65, Required: true},
			},
			Outputs:  []Output{{Name: "tanGd", What: "total ammonia nitrogen", Unit: "g/d"}},
			Sources:  []string{"timmons-ebeling"},
			Cautions: []string{"Faeces and feed not eaten give more where they rot."},
			run:      runAmmoniaFromFeed,
		},
		{
			Name: "fish-oxygen", Title: "Oxygen that fish use between meals",
			Formula:  "routine rate = a · weight^b · temperature curve · activity, constants of the species; digestion is not in it",
			Keys:     []Key{speciesKey(), liveWeightKey("weight", "live weight of one fish"), waterTempKey()},
			Outputs:  []Output{{Name: "mgKgH", What: "oxygen per live weight and hour", Unit: "mg/kg/h"}},
			Sources:  []string{"kitchell-1977", "deslauriers-2017", "aguilar-2017", "fish-species-table"},
			Cautions: []string{"In the hours after a meal count with twice as much."},
			run:      runFishOxygen,
		},
		{
			Name: "sample-weighing", Title: "Mean weight and live mass from a sample",
			Formula: "standard error = sd/√n · √(1 - n/count); low and high = mean ± t(0.975, n - 1) · standard error; live mass = mean × count",
			Keys: []Key{
				{Name: "weights", What: "live weights of single fish", Kind: quantity.Mass, Unit: "g", Low: 0.001, High: 20000, List: true, Required: true},
				{Name: "count", What: "fish in the tank, those weighed among them", Kind: quantity.Count, Low: 1, High: 1e7, Required: true},
			},
			Outputs: []Output{
				{Name: "meanG", What: "mean of the fish weighed", Unit: "g"},
				{Name: "standardErrorG", What: "standard error of the mean; none for a single fish", Unit: "g"},
				{Name: "biomassKg", What: "live mass of all fish", Unit: "kg"},
				{Name: "lowG", What: "low end of the mean, 95 %", Unit: "g"},
				{Name: "highG", What: "high end of the mean, 95 %", Unit: "g"},
			},
			Sources:  []string{"student-t", "piper-1982"},
			Cautions: []string{"Net from a crowd: the fish that come to feed first are the large ones."},
			run:      runSampleWeighing,
		},
		{
			Name: "length-weight", Title: "Weight of a fish from its length",
			Formula: "log10 weight = a + b · log10 length + c · (log10 length)², total length in mm",
			Keys: []Key{
				speciesKey(),
				{Name: "length", What: "total length, tail fin included", Kind: quantity.Length, Unit: "mm", Low: 10, High: 1500, Required: true},
			},
			Outputs:  []Output{{Name: "weightG", What: "live weight", Unit: "g"}},
			Sources:  []string{"fish-species-table"},
			Cautions: []string{"A weight from a length is good to 8 to 12 %; for bluegill, bass, channel catfish, trout, perch and carp it is that of a plump fish, usual ones have 0.90 to 0.95 of it."},
			run:      runLengthWeight,
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

func runTGCGrowth(in *inputs, out *answer) error {
	tgc, tempC, days := in.Number("tgc"), in.Number("temp"), in.Number("days")
	if tgc < 0.3 || tgc > 3 {
		out.Warn("A growth coefficient outside 0.3 to 3 is unusual: look whether it is times 1000 and with weights in g.")
	}
	if tempC < 4 {
		out.Warn("Below 4 °C the coefficient does not hold.")
	}
	g, err := fish.TGCWeightG(in.Number("weight"), tgc, tempC*days)
	if errors.Is(err, quantity.ErrRange) {
		return in.Refuse("days", "Days: the fish would pass 20 kg, and growth is not foretold so far. You entered %g d.", days)
	}
	if err != nil {
		return err
	}
	out.Set("weightG", g)
	return nil
}

func runRation(in *inputs, out *answer) error {
	s, err := fish.Lookup(in.Word("species"))
	if err != nil {
		return in.Refuse("species", "Species: %s.", err)
	}
	weightG, tempC, count := in.Number("weight"), in.Number("temp"), in.Number("count")
	share, meals := s.RationShareDay(weightG, tempC)
	switch {
	case tempC < s.FeedStopLowC || tempC > s.FeedStopHighC:
		out.Warn("%s is not fed below %g °C or above %g °C.", s.Name, s.FeedStopLowC, s.FeedStopHighC)
	case share == 0:
		out.Warn("%s does not grow in water of %g °C: no ration is planned.", s.Name, tempC)
	case tempC < s.OptLowC || tempC > s.OptHighC:
		out.Warn("%s does best from %g °C to %g °C.", s.Name, s.OptLowC, s.OptHighC)
	}
	if weightG > s.CeilingG() {
		out.Warn("Growth of %s is not foretold beyond %g g: the ration is a rough figure.", s.Name, s.CeilingG())
	}
	out.Set("shareDay", share)
	out.Set("feedGd", share*weightG*count)
	out.Set("meals", float64(meals))
	return nil
}

func runAmmoniaFromFeed(in *inputs, out *answer) error {
	out.Set("tanGd", fish.TANFromFeed(in.Number("feed"), in.Number("protein")))
	return nil
}

func runFishOxygen(in *inputs, out *answer) error {
	s, err := fish.Lookup(in.Word("species"))
	if err != nil {
		return in.Refuse("species", "Species: %s.", err)
	}
	weightG, tempC := in.Number("weight"), in.Number("temp")
	mgKgH, ok := s.RoutineOxygenMgKgH(weightG, tempC)
	if !ok {
		return in.Refuse("species", "Species: the oxygen use of %s is not known; give a fish.", s.Name)
	}
	if tempC < s.LethalLowC || tempC > s.LethalHighC {
		out.Warn("%s does not live long below %g °C or above %g °C.", s.Name, s.LethalLowC, s.LethalHighC)
	}
	if s.RespEq == "pacu" && (weightG < 17 || weightG > 1050 || tempC < 19 || tempC > 33) {
		out.Warn("Pacu were measured from 17 g to 1050 g and from 19 °C to 33 °C.")
	}
	out.Set("mgKgH", mgKgH)
	return nil
}

func runSampleWeighing(in *inputs, out *answer) error {
	weights, _ := in.values["weights"].([]float64)
	count := in.Number("count")
	if n := len(weights); float64(n) > count {
		return in.Refuse("count", "Count must be at least the number of fish weighed, %d. You entered %g.", n, count)
	}
	if len(weights) == 1 {
		out.Warn("One fish says nothing of the spread: weigh more, best 10 or above.")
		out.Set("meanG", weights[0])
		out.Set("biomassKg", weights[0]*count/1000)
		out.Null("standardErrorG", "lowG", "highG")
		return nil
	}
	sample, err := fish.WeighSample(weights, count, 0)
	if err != nil {
		return err
	}
	if sample.N < 10 && float64(sample.N) < count {
		out.Warn("Fewer than 10 fish are a rough sample.")
	}
	if sample.CV > 0.40 {
		out.Warn("The fish differ widely (%.0f %% of the mean): grade them.", 100*sample.CV)
	}
	out.Set("meanG", sample.MeanG)
	out.Set("standardErrorG", sample.StandardError)
	out.Set("biomassKg", sample.BiomassKg)
	out.Set("lowG", sample.LowG)
	out.Set("highG", sample.HighG)
	return nil
}

func runLengthWeight(in *inputs, out *answer) error {
	s, err := fish.Lookup(in.Word("species"))
	if err != nil {
		return in.Refuse("species", "Species: %s.", err)
	}
	lengthMM := in.Number("length")
	weightG, err := s.WeightFromLengthG(lengthMM)
	if err != nil {
		return in.Refuse("species", "Species: the weight of %s from its length is not known; give another.", s.Name)
	}
	if lengthMM < 100 {
		out.Warn("The equation holds from about 100 mm.")
	}
	out.Set("weightG", weightG)
	return nil
}
