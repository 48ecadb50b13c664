package menu_test

import (
	"context"
	"math"
	"testing"

	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/science/food"
)

func solver(t testing.TB) *lp.Solver {
	t.Helper()
	s, err := lp.New(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func eater(t testing.TB, name string, sex food.Sex, ageY, weightKg, heightM float64) menu.Eater {
	t.Helper()
	e, err := menu.NewEater(name, food.Person{Sex: sex, AgeY: ageY, WeightKg: weightKg, HeightM: heightM, Activity: food.LowActive}, nil, nil, 0.8)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// one asks for kcal of 100 g of a food, from the table.
func one(t testing.TB, key string) float64 {
	t.Helper()
	f, err := food.Lookup(key)
	if err != nil {
		t.Fatal(err)
	}
	kcal, _ := f.Per100g(food.Energy)
	return kcal
}

// By hand: one eater, two days, 300 g potatoes boiled in the skin and nothing
// else: the share is the energy of 300 × 0.91 g boiled over two days' need.
func TestOneFoodByHand(t *testing.T) {
	e := eater(t, "Ada", food.Female, 42, 65, 1.65)
	q := &menu.Question{
		Days: 2, Eaters: []menu.Eater{e}, Comfortable: true,
		Stocks: []menu.Stock{{Key: "potato", Grams: 300, Inside: true}},
		Forms:  []menu.Form{{Food: "potato_boiled", Stock: 0, PerGram: 0.91}},
	}
	m, err := menu.Solve(context.Background(), solver(t), q)
	if err != nil {
		t.Fatal(err)
	}
	want := 300 * 0.91 * one(t, "potato_boiled") / 100 / (2 * e.NeedKcal)
	if d := math.Abs(m.WorstShare - want); !(d < 1e-5) {
		t.Errorf("worst share %.6f, want %.6f", m.WorstShare, want)
	}
	if d := math.Abs(m.StockUsedG[0] - 300); !(d < 0.1) {
		t.Errorf("used %.3f g of potatoes, want 300", m.StockUsedG[0])
	}
	// The floor of 0.8 is what must still come from outside.
	if d := math.Abs(m.Eaters[0].OutsideKcal - (0.8-want)*e.NeedKcal); !(d < 0.1) {
		t.Errorf("outside %.2f kcal a day, want %.2f", m.Eaters[0].OutsideKcal, (0.8-want)*e.NeedKcal)
	}
}

// Portions: with potatoes without end the comfortable portion is what binds.
func TestPortionLimitBinds(t *testing.T) {
	e := eater(t, "Ada", food.Female, 42, 65, 1.65)
	q := &menu.Question{
		Days: 1, Eaters: []menu.Eater{e}, Comfortable: true,
		Stocks: []menu.Stock{{Key: "potato", Grams: 1e5, Inside: true}},
		Forms:  []menu.Form{{Food: "potato_boiled", Stock: 0, PerGram: 1}},
	}
	s := solver(t)
	comfortable, _, err := menu.Energy(context.Background(), s, q)
	if err != nil {
		t.Fatal(err)
	}
	q.Comfortable = false
	largest, _, err := menu.Energy(context.Background(), s, q)
	if err != nil {
		t.Fatal(err)
	}
	// 400 and 700 g for an adult of 2400 kcal, scaled by need: the share does not depend on the need.
	kcal := one(t, "potato_boiled") / 100
	for _, row := range []struct{ got, want float64 }{{comfortable, 400 * kcal / 2400}, {largest, 700 * kcal / 2400}} {
		if d := math.Abs(row.got - row.want); !(d < 1e-6) {
			t.Errorf("share %.6f, want %.6f", row.got, row.want)
		}
	}
}

// A child is given its full need before an adult is given the floor.
func TestChildComesFirst(t *testing.T) {
	adult := eater(t, "Ada", food.Female, 42, 65, 1.65)
	child := eater(t, "Kit", food.Male, 9, 30, 1.35)
	if !child.Protected || child.Floor != 1 {
		t.Fatalf("a child of nine is protected %v with floor %g, want true and 1", child.Protected, child.Floor)
	}
	if adult.Protected || adult.Floor != 0.8 {
		t.Fatalf("a well adult is protected %v with floor %g, want false and 0.8", adult.Protected, adult.Floor)
	}
	// Rice for about half of what both need together.
	q := &menu.Question{
		Days: 1, Eaters: []menu.Eater{adult, child}, Bought: true,
		Stocks: []menu.Stock{{Key: "oil_rapeseed", Grams: 60}, {Key: "rice_white_dry", Grams: 400}},
		Forms: []menu.Form{
			{Food: "oil_rapeseed", Stock: 0, PerGram: 1},
			{Food: "rice_white_cooked", Stock: 1, PerGram: 2.7},
		},
	}
	m, err := menu.Solve(context.Background(), solver(t), q)
	if err != nil {
		t.Fatal(err)
	}
	shareChild := m.Eaters[1].BoughtKcal / child.NeedKcal
	shareAdult := m.Eaters[0].BoughtKcal / adult.NeedKcal
	if !(shareChild > shareAdult) {
		t.Errorf("child fed to %.2f of the need, adult to %.2f: the child comes first", shareChild, shareAdult)
	}
	if m.WorstShare != 0 {
		t.Errorf("bought food counted as inside: share %g", m.WorstShare)
	}
}

// The floor is the least, not the aim: with bought food at hand an adult is fed
// past it, as far as comfortable portions go.
func TestFedPastTheFloor(t *testing.T) {
	q := &menu.Question{
		Days: 1, Eaters: []menu.Eater{eater(t, "Ada", food.Female, 42, 65, 1.65)}, Bought: true, Comfortable: true,
		Stocks: []menu.Stock{{Key: "oil_rapeseed", Grams: 1000}, {Key: "rice_white_dry", Grams: 1000}, {Key: "oats_dry", Grams: 1000}, {Key: "wheat_flour_white", Grams: 1000}, {Key: "potato", Grams: 1000}},
		Forms: []menu.Form{
			{Food: "oil_rapeseed", Stock: 0, PerGram: 1}, {Food: "rice_white_cooked", Stock: 1, PerGram: 2.7},
			{Food: "oats_dry", Stock: 2, PerGram: 1}, {Food: "wheat_flour_white", Stock: 3, PerGram: 1},
			{Food: "potato_boiled", Stock: 4, PerGram: 1},
		},
	}
	m, err := menu.Solve(context.Background(), solver(t), q)
	if err != nil {
		t.Fatal(err)
	}
	// Comfortable portions for 2400 kcal: 30 g oil, 400 g rice, 60 g oats, 200 g flour,
	// 400 g potatoes.
	full := 0.3*one(t, "oil_rapeseed") + 4*one(t, "rice_white_cooked") + 0.6*one(t, "oats_dry") + 2*one(t, "wheat_flour_white") + 4*one(t, "potato_boiled")
	if want := min(1, full/2400); want < 0.85 || !(m.FedShare > want-0.002) {
		t.Errorf("fed to %.3f of the need, portions allow %.3f", m.FedShare, want)
	}
}

func TestRefuses(t *testing.T) {
	e := eater(t, "Ada", food.Female, 42, 65, 1.65)
	good := menu.Question{Days: 1, Eaters: []menu.Eater{e}}
	for name, change := range map[string]func(*menu.Question){
		"no eaters":      func(q *menu.Question) { q.Eaters = nil },
		"no days":        func(q *menu.Question) { q.Days = 0 },
		"NaN days":       func(q *menu.Question) { q.Days = math.NaN() },
		"negative stock": func(q *menu.Question) { q.Stocks = []menu.Stock{{Key: "potato", Grams: -1}} },
		"lost form":      func(q *menu.Question) { q.Forms = []menu.Form{{Food: "potato_boiled", Stock: 3, PerGram: 1}} },
		"unknown food": func(q *menu.Question) {
			q.Stocks = []menu.Stock{{Key: "potato", Grams: 1}}
			q.Forms = []menu.Form{{Food: "potatoe", Stock: 0, PerGram: 1}}
		},
	} {
		q := good
		change(&q)
		if _, _, err := menu.Energy(context.Background(), solver(t), &q); err == nil {
			t.Errorf("%s: not refused", name)
		}
	}
	if _, err := menu.Solve(context.Background(), solver(t), &good); err != nil {
		t.Errorf("nothing on hand is an answer, not an error: %v", err)
	}
}

// Published composition (USDA SR28) and needs (IOM 2005): four adults on kale,
// lettuce and fish for four days, worked by hand: 3780 + 4810 + 4800 kcal.
func TestMenuByHand(t *testing.T) {
	eaters := []menu.Eater{
		eater(t, "man 45", food.Male, 45, 82, 1.78), eater(t, "woman 42", food.Female, 42, 65, 1.65),
		eater(t, "man 20", food.Male, 20, 74, 1.82), eater(t, "woman 70", food.Female, 70, 62, 1.60),
	}
	m, err := menu.Assess(eaters, 4, map[string]float64{
		"kale": 10800.0 / 16, "lettuce_butterhead": 37000.0 / 16, "tilapia": 5000.0 / 16,
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	if d := math.Abs(m.MeanShare - 0.351); !(d < 0.001) {
		t.Errorf("share of energy %.4f, want 0.351", m.MeanShare)
	}
	var protein float64
	for _, e := range m.Eaters {
		protein += e.Intake[food.Protein] * 4
	}
	if d := math.Abs(protein - 1819); !(d < 2) {
		t.Errorf("protein %.1f g, want 1819", protein)
	}
}

// BenchmarkSolve is the menu of one set of days for six eaters.
func BenchmarkSolve(b *testing.B) {
	s := solver(b)
	q := &menu.Question{Days: 7, Comfortable: true, Bought: true}
	for i, name := range []string{"a", "b", "c", "d", "e", "f"} {
		q.Eaters = append(q.Eaters, eater(b, name, food.Female, 20+8*float64(i), 60+float64(i), 1.6+0.02*float64(i)))
	}
	for _, f := range food.Foods() {
		if f.State != "raw" || food.MustCook(f.Key) {
			continue
		}
		q.Forms = append(q.Forms, menu.Form{Food: f.Key, Stock: len(q.Stocks), PerGram: 1})
		q.Stocks = append(q.Stocks, menu.Stock{Key: f.Key, Grams: 3000, Inside: true})
	}
	b.ResetTimer()
	for b.Loop() {
		if _, err := menu.Solve(context.Background(), s, q); err != nil {
			b.Fatal(err)
		}
	}
}
