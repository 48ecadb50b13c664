package power_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/power"
)

func fuel(t *testing.T, key string) power.Fuel {
	t.Helper()
	return must(power.LookupFuel(key))(t)
}

// Heat of 10 000 kWh, worked by hand from printed heating values; half a unit of
// the last digit, and for propane the rounding of its value.
func TestAmount(t *testing.T) {
	for _, row := range []struct {
		key        string
		efficiency float64
		want, tol  float64
	}{
		{"propane", 0.80, 1766, 1}, {"heating-oil", 0.82, 1138, 1}, {"natural-gas", 0.80, 1165, 1}, {"wood-pellets", 0.80, 2418, 2},
		{"electricity", 1, 10000, 1e-6},
	} {
		got := must(fuel(t, row.key).Amount(10000, row.efficiency, power.HHV))(t)
		near(t, row.key, got, row.want, row.tol)
	}
}

// The same boiler told by either basis burns the same; told by the wrong one it
// does not.
func TestBasis(t *testing.T) {
	gas := fuel(t, "natural-gas")
	onLHV := must(gas.Amount(10000, 1.0, power.LHV))(t)
	same := must(gas.OnHHV(1.0, power.LHV))(t)
	near(t, "a boiler of 1.0 on the lower value", same, 0.901, 0.0006)
	near(t, "gas by either basis", must(gas.Amount(10000, same, power.HHV))(t), onLHV, 1e-9)
	if mixed := must(gas.Amount(10000, 1.0, power.HHV))(t); onLHV/mixed < 1.1 {
		t.Errorf("%g m3 on the lower, %g on the higher value: bases make no difference", onLHV, mixed)
	}
	pump := fuel(t, "heat-pump-air")
	near(t, "a heat pump of 2.6", must(pump.Amount(2600, 2.6, power.COP))(t), 1000, 1e-9)
	for _, row := range []struct {
		key        string
		efficiency float64
		basis      power.Basis
	}{
		{"propane", 0, power.HHV}, {"propane", 1.01, power.HHV}, {"propane", 1.11, power.LHV}, {"propane", math.NaN(), power.LHV},
		{"propane", 3, power.COP}, {"heat-pump-air", 0.9, power.COP}, {"heat-pump-air", 7.1, power.COP}, {"propane", 0.8, "GCV"},
	} {
		_, err := fuel(t, row.key).Amount(1, row.efficiency, row.basis)
		refused(t, fmt.Sprint(row), err)
	}
	_, err := gas.Amount(-1, 0.8, power.HHV)
	refused(t, "heat below 0", err)
	_, err = gas.Amount(math.Inf(1), 0.8, power.HHV)
	refused(t, "heat without end", err)
	if w := fuel(t, "heating-oil").Warnings(0.97, power.HHV); len(w) != 1 || !strings.Contains(w[0], "lower one") {
		t.Errorf("oil at 97 %% of the higher value: %q", w)
	}
	if w := fuel(t, "propane").Warnings(0.93, power.HHV); len(w) != 1 || !strings.Contains(w[0], "condensing") {
		t.Errorf("propane at 93 %%: %q", w)
	}
	if w := fuel(t, "natural-gas").Warnings(0.93, power.LHV); len(w) != 0 {
		t.Errorf("gas at 93 %% of the lower value: %q", w)
	}
	if w := fuel(t, "firewood").Warnings(0.3, power.HHV); len(w) != 1 {
		t.Errorf("firewood at 30 %%: %q", w)
	}
}

// Printed heating values and factors beside the rows: EIA, UConn Extension,
// 40 CFR 98 subpart C table C-1, in their own units.
func TestFuelTable(t *testing.T) {
	const btu, gal, mmBtuKWh = 1055.05585262 / 3.6e6, 3.785411784, 293.07107
	for _, row := range []struct {
		key        string
		kWh        float64 // of a unit of sale
		co2KgMMBtu float64
	}{
		{"propane", 91452 * btu / gal, 62.87}, {"natural-gas", 1037 * btu / 0.028316846592, 53.06}, {"natural-gas-therm", 100000 * btu, 53.06},
		{"heating-oil", 138500 * btu / gal, 73.96}, {"kerosene", 135000 * btu / gal, 75.20}, {"wood-pellets", 8000 * btu / 0.45359237, 93.80},
		{"firewood-hardwood-cord", 21e6 * btu, 93.80}, {"firewood-softwood-cord", 12.5e6 * btu, 93.80}, {"biogas", 6.639, 52.07}, {"lpg", 13.75, 61.71},
	} {
		f := fuel(t, row.key)
		near(t, row.key+" heating value", f.HHVKWh, row.kWh, 0.002*row.kWh)
		near(t, row.key+" CO2", f.CO2KgKWh, row.co2KgMMBtu/mmBtuKWh, 0.001*f.CO2KgKWh)
	}
}

// Every row agrees with itself: MJ with kWh, CO2 by either value, steam with the
// difference of the two values over the heat of vapour. The steam of wood rows is
// up to a quarter low, as the table's head says.
func TestFuelRowsAgree(t *testing.T) {
	for _, f := range power.Fuels() {
		if !(f.LHVKWh <= f.HHVKWh && f.Efficiency.Low <= f.Efficiency.Typical && f.Efficiency.Typical <= f.Efficiency.High) {
			t.Errorf("%s: values are not in order: %+v", f.Key, f)
		}
		near(t, f.Key+" CO2 by both values", f.CO2KgKWhLHV*f.LHVKWh, f.CO2KgKWh*f.HHVKWh, 0.002*f.CO2KgKWh*f.HHVKWh)
		if f.Burns() {
			steam := (f.HHVKWh - f.LHVKWh) * 3.6 / 2.44 / f.HHVKWh
			near(t, f.Key+" steam", f.WaterKgKWh, steam, 0.26*steam)
			if len(f.Cautions()) < 3 || f.Cautions()[0] != power.CautionCO {
				t.Errorf("%s: cautions %q", f.Key, f.Cautions())
			}
		}
		for _, name := range []string{f.Key, strings.ToUpper(f.Name), " " + f.Key} {
			if got, err := power.LookupFuel(name); err != nil || got.Key != f.Key {
				t.Errorf("LookupFuel(%q) = %q, %v", name, got.Key, err)
			}
		}
	}
	if _, err := power.LookupFuel("propene"); err == nil || !strings.Contains(err.Error(), "propane") {
		t.Errorf("a misspelt fuel: %v", err)
	}
	if !slices.Contains(power.FuelKeys(), "kerosene") {
		t.Error("no kerosene")
	}
}

// Propane by its formula: C3H8 of 44.097 g/mol leaves 3 CO2 and 4 H2O.
func TestBurn(t *testing.T) {
	b := must(fuel(t, "propane-kg").Burn(1))(t)
	near(t, "CO2 of a kilogram of propane", b.CO2Kg, 3*44.010/44.097, 0.01)
	near(t, "water of it", b.WaterKg, 4*18.015/44.097, 0.02)
	if b.CO2Biogenic || !must(fuel(t, "firewood").Burn(1))(t).CO2Biogenic {
		t.Error("propane did not grow lately, wood did")
	}
	// A litre by its density is as a kilogram by weight.
	litre := must(fuel(t, "propane").Burn(1 / 0.507))(t)
	near(t, "CO2 of a kilogram sold by the litre", litre.CO2Kg, b.CO2Kg, 0.01)
	_, err := fuel(t, "propane").Burn(-1)
	refused(t, "burning less than nothing", err)
}

func TestMoney(t *testing.T) {
	p := fuel(t, "propane")
	near(t, "cost", must(p.Cost(250, 0.8))(t), 200, 1e-9)
	near(t, "a kWh of heat", must(p.HeatPrice(0.8, 0.8, power.HHV))(t), 0.1412, 0.00006)
	_, err := p.Cost(1, -1)
	refused(t, "a price below 0", err)
}

func TestMonths(t *testing.T) {
	// 3000 kg × 5.167 kWh × 0.78 over 3 kW × 730 h.
	got := must(fuel(t, "wood-pellets").Months(3000, 3000, 0.78, power.HHV))(t)
	near(t, "months of pellets", got, 3000*5.167*0.78/(3*730), 1e-9)
	near(t, "months of pellets", got, 5.52, 0.006)
	_, err := fuel(t, "wood-pellets").Months(3000, 0, 0.78, power.HHV)
	refused(t, "no load", err)
}

func TestStock(t *testing.T) {
	steady := slices.Repeat([]float64{10}, 30)
	for _, row := range []struct {
		stock, want float64
		ok          bool
	}{{0, 0, true}, {5, 0.5, true}, {100, 10, true}, {299, 29.9, true}, {300, 30, false}, {1e4, 30, false}} {
		got, ok, err := power.Lasts(row.stock, steady)
		if err != nil || ok != row.ok {
			t.Errorf("stock %g: %v, %v", row.stock, ok, err)
		}
		near(t, fmt.Sprintf("stock %g", row.stock), got, row.want, 1e-9)
	}
	for _, row := range []struct {
		stock, reserve float64
		lead, day      int
		late, ok       bool
	}{
		{100, 20, 5, 3, false, true}, {100, 20, 8, 0, false, true}, {100, 20, 9, 0, true, true}, {10, 20, 0, 0, true, true},
		{400, 20, 5, 0, false, false}, {105, 0, 0, 10, false, true},
	} {
		day, late, ok, err := power.OrderBy(row.stock, row.reserve, steady, row.lead)
		if err != nil || day != row.day || late != row.late || ok != row.ok {
			t.Errorf("%+v: day %d, late %v, ok %v, %v", row, day, late, ok, err)
		}
	}
	_, _, err := power.Lasts(10, nil)
	refused(t, "no days", err)
	_, _, err = power.Lasts(10, []float64{1, -1})
	refused(t, "use below 0", err)
	_, _, _, err = power.OrderBy(10, 0, steady, -1)
	refused(t, "delivery yesterday", err)
}

// An order on the day that OrderBy gives comes in time, on the next day it does not.
func TestOrderIsTheLast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		use := rapid.SliceOfN(rapid.Float64Range(0, 20), 1, 60).Draw(t, "use")
		stock, reserve := rapid.Float64Range(0, 500).Draw(t, "stock"), rapid.Float64Range(0, 50).Draw(t, "reserve")
		lead := rapid.IntRange(0, 20).Draw(t, "lead")
		day, late, ok, err := power.OrderBy(stock, reserve, use, lead)
		if err != nil {
			t.Fatal(err)
		}
		left := func(morning int) float64 { // on the morning of that day
			s := stock
			for i := 0; i < morning && i < len(use); i++ {
				s -= use[i]
			}
			return s
		}
		const tiny = 1e-9
		switch {
		case !ok:
			if left(len(use)) < reserve-tiny {
				t.Fatalf("no order, and %g are left of a reserve of %g", left(len(use)), reserve)
			}
		case late:
			if lead > 0 && left(lead) > reserve+tiny && lead <= len(use) {
				t.Fatalf("late, though %g are left on day %d", left(lead), lead)
			}
		default:
			if left(day+lead) < reserve-tiny {
				t.Fatalf("ordered on day %d, and %g of %g are left when it comes", day, left(day+lead), reserve)
			}
			if left(day+lead+1) > reserve+tiny {
				t.Fatalf("day %d would do as well", day+1)
			}
		}
	})
}

// HortScience 8(1):23, 1973: 2 square inches for 5000 Btu/h, about 1 cm² for 100 kcal/h.
func TestAirOpening(t *testing.T) {
	got := must(power.AirOpeningCM2(5000 * 0.29307107))(t)
	near(t, "opening in square inches", got/6.4516, 2, 0.05)
	_, err := power.AirOpeningCM2(0)
	refused(t, "no burner", err)
}

func ExampleFuel_Amount() {
	f, err := power.LookupFuel("wood-pellets")
	if err != nil {
		fmt.Println(err)
		return
	}
	kg, err := f.Amount(10000, 0.80, power.HHV)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f %s\n", kg, f.Unit)
	// Output: 2419 kg
}
