package evidence

import (
	"context"
	"fmt"
	"maps"
	"math"
	"strings"

	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/numeric/lp/lptest"
	"tidebed/quantity"
	"tidebed/science/fish"
	"tidebed/science/food"
)

// bench is what rows of one run share: a solver, made when first needed.
type bench struct{ solver *lp.Solver }

func (b *bench) solve(ctx context.Context, p *lp.Problem) (*lp.Result, error) {
	if b.solver == nil {
		s, err := lp.New(ctx)
		if err != nil {
			return nil, err
		}
		b.solver = s
	}
	r, err := b.solver.Solve(ctx, p, lp.Settings{})
	if err != nil {
		return nil, err
	}
	if r.Status != lp.Optimal {
		return nil, fmt.Errorf("problem %s: %s", p.Name, r.Status)
	}
	return r, nil
}

func (b *bench) close() {
	if b.solver != nil {
		_ = b.solver.Close() // nothing is written; its memory goes with the run
	}
}

// function works out one value from the inputs of a row.
type function func(ctx context.Context, b *bench, in map[string]string) (float64, error)

// functions are the checks that are no question of the reckoner. It is filled
// by the init of each subject's file, because the reading of rows looks names up in it.
var functions = map[string]function{}

func init() {
	maps.Copy(functions, map[string]function{
		"unit": func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
			return quantity.Parse(in["text"], quantity.Kind(in["kind"]))
		},
		"lp": optimum, "diet": diet, "menu": assess, "content": content, "mar": meanAdequacy,
		"basal-fao": adult(food.BasalEnergyFAO2004), "resting-long": adult(food.RestingEnergyLong), "need-fao": needFAO,
		"temperature-factor": temperatureFactor, "growth-per-day": growthPerDay, "growth-span": growthSpan,
	})
}

// numberOf reads a number among the inputs; an absent one is otherwise.
func numberOf(in map[string]string, key string, otherwise float64) (float64, error) {
	text, given := in[key]
	if !given {
		return otherwise, nil
	}
	v, err := number(text)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", key, err)
	}
	return v, nil
}

// amounts reads "name number;name number" in order.
func amounts(text string) (names []string, values []float64, err error) {
	for part := range strings.SplitSeq(text, ";") {
		name, value, _ := strings.Cut(strings.TrimSpace(part), " ")
		v, err := number(value)
		if err != nil {
			return nil, nil, fmt.Errorf("%q: %w", part, err)
		}
		names, values = append(names, name), append(values, v)
	}
	return names, values, nil
}

// optimum solves a published linear programme and returns its optimum times
// scale.
func optimum(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	scale, err := numberOf(in, "scale", 1)
	if err != nil {
		return 0, err
	}
	var p *lp.Problem
	if name := in["problem"]; name == "stigler" {
		p, err = lptest.Stigler()
	} else {
		p, err = lptest.Netlib(name)
	}
	if err != nil {
		return 0, err
	}
	r, err := b.solve(ctx, p)
	if err != nil {
		return 0, err
	}
	return r.Objective * scale, nil
}

// diet asks for foods within their caps (grams): figure "share" is the largest
// share, at most 1, of all needs at once; "mass" the least grams that meet them.
func diet(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	foods, caps, err := amounts(in["foods"])
	if err != nil {
		return 0, err
	}
	needs, least, err := amounts(in["needs"])
	if err != nil {
		return 0, err
	}
	mass := in["figure"] == "mass"
	build := lp.Builder{Name: "diet", Maximize: !mass}
	share := -1
	if mass {
		for i := range least {
			build.AddRow(needs[i], least[i], math.Inf(1))
		}
	} else {
		share = build.AddCol("share", 0, 1, 1)
		for i := range least {
			row := build.AddRow(needs[i], 0, math.Inf(1))
			build.Set(row, share, -least[i])
		}
	}
	for i, key := range foods {
		f, err := food.Lookup(key)
		if err != nil {
			return 0, err
		}
		cost := 0.0
		if mass {
			cost = 1
		}
		col := build.AddCol(key, 0, caps[i], cost)
		for row, nutrient := range needs {
			n, ok := food.NutrientByKey(nutrient)
			if !ok {
				return 0, fmt.Errorf("nutrient %q is not known", nutrient)
			}
			if v, known := f.Per100g(n); known {
				build.Set(row, col, v/100)
			}
		}
	}
	p, err := build.Problem()
	if err != nil {
		return 0, err
	}
	r, err := b.solve(ctx, p)
	if err != nil {
		return 0, err
	}
	return r.Objective, nil
}

// assess returns a figure of a menu: a nutrient's intake over the need in
// percent, of the group or of the eater of that number, or "mar".
func assess(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	var eaters []menu.Eater
	for text := range strings.SplitSeq(in["people"], ";") {
		var sex, activity string
		p := food.Person{}
		if _, err := fmt.Sscan(text, &sex, &p.AgeY, &p.WeightKg, &p.HeightM, &activity); err != nil {
			return 0, fmt.Errorf("person %q: %w", text, err)
		}
		p.Sex, p.Activity = food.Sex(sex), food.Activity(activity)
		e, err := menu.NewEater(text, p, nil, nil, 0.5)
		if err != nil {
			return 0, err
		}
		eaters = append(eaters, e)
	}
	keys, grams, err := amounts(in["foods"])
	if err != nil {
		return 0, err
	}
	perDay := make(map[string]float64, len(keys))
	for i, key := range keys {
		perDay[key] = grams[i]
	}
	days, err := numberOf(in, "days", 1)
	if err != nil {
		return 0, err
	}
	only, err := numberOf(in, "eater", 0)
	if err != nil {
		return 0, err
	}
	m, err := menu.Assess(eaters, days, perDay, in["share"] == "energy")
	if err != nil {
		return 0, err
	}
	var intake, need [food.NumNutrients]float64
	for i, e := range m.Eaters {
		if only != 0 && only != float64(i+1) {
			continue
		}
		for n := range intake {
			intake[n] += e.Intake[n]
			need[n] += e.Target[n]
		}
	}
	if in["figure"] == "mar" {
		var eaten, wanted []float64
		for _, n := range food.ScoredNutrients() {
			eaten, wanted = append(eaten, intake[n]), append(wanted, need[n])
		}
		_, mar := food.Adequacy(eaten, wanted)
		return mar, nil
	}
	n, ok := food.NutrientByKey(in["figure"])
	if !ok || need[n] <= 0 {
		return 0, fmt.Errorf("no need of %q", in["figure"])
	}
	return 100 * intake[n] / need[n], nil
}

// content looks a food's content of 100 g up.
func content(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	f, err := food.Lookup(in["food"])
	if err != nil {
		return 0, err
	}
	n, ok := food.NutrientByKey(in["nutrient"])
	if !ok {
		return 0, fmt.Errorf("nutrient %q is not known", in["nutrient"])
	}
	v, known := f.Per100g(n)
	if !known {
		return 0, fmt.Errorf("%s of %s is not in the table", n, f.Key)
	}
	return v, nil
}

// meanAdequacy is the mean adequacy of ratios of intake to need.
func meanAdequacy(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	var ratios, ones []float64
	for text := range strings.SplitSeq(in["ratios"], ";") {
		v, err := number(text)
		if err != nil {
			return 0, err
		}
		ratios, ones = append(ratios, v), append(ones, 1)
	}
	_, mar := food.Adequacy(ratios, ones)
	return mar, nil
}

// personOf reads a person; a height not given is 1.65 m and used by no formula
// that is asked without it.
func personOf(in map[string]string) (p food.Person, err error) {
	p = food.Person{Sex: food.Sex(in["sex"]), Activity: food.Sedentary}
	if p.AgeY, err = numberOf(in, "age", 0); err != nil {
		return p, err
	}
	if p.WeightKg, err = numberOf(in, "weight", 0); err != nil {
		return p, err
	}
	p.HeightM, err = numberOf(in, "height", 1.65)
	return p, err
}

func adult(formula func(food.Person) (float64, error)) function {
	return func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
		p, err := personOf(in)
		if err != nil {
			return 0, err
		}
		return formula(p)
	}
}

func needFAO(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	p, err := personOf(in)
	if err != nil {
		return 0, err
	}
	pal, err := numberOf(in, "pal", 0)
	if err != nil {
		return 0, err
	}
	return food.EnergyNeedFAO2004(p, pal)
}

// speciesAt reads a species and a temperature of its water.
func speciesAt(in map[string]string) (s fish.Species, tempC float64, err error) {
	if s, err = fish.Lookup(in["species"]); err != nil {
		return s, 0, err
	}
	tempC, err = numberOf(in, "temp", math.NaN())
	return s, tempC, err
}

func temperatureFactor(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	s, tempC, err := speciesAt(in)
	if err != nil {
		return 0, err
	}
	return fish.TemperatureFactor(s, tempC)
}

func growthPerDay(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	s, tempC, err := speciesAt(in)
	if err != nil {
		return 0, err
	}
	weightG, err := numberOf(in, "weight", math.NaN())
	if err != nil {
		return 0, err
	}
	return fish.GrowthGPerDay(s, weightG, tempC, 1)
}

// growthSpan is the span of water temperatures, in K, over which the
// temperature factor is at least a share, to 0.01 K.
func growthSpan(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	s, err := fish.Lookup(in["species"])
	if err != nil {
		return 0, err
	}
	share, err := numberOf(in, "share", 0.9)
	if err != nil {
		return 0, err
	}
	const step = 0.01
	steps := 0
	for i := range 4601 { // -1 to 45 °C
		factor, err := fish.TemperatureFactor(s, min(45, -1+step*float64(i)))
		if err != nil {
			return 0, err
		}
		if factor >= share {
			steps++
		}
	}
	return step * float64(steps), nil
}
