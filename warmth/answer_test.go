package warmth

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whole amounts sum to the rounded sum and lie within one of what they stand for.
func TestWholesSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(-500, 5000), 0, 40).Draw(t, "values")
		sum, got := 0.0, 0.0
		for _, v := range values {
			sum += v
		}
		out := Wholes(values, math.Round(sum))
		for i, v := range values {
			got += out[i]
			if math.Abs(out[i]-v) > 1 || out[i] != math.Trunc(out[i]) {
				t.Fatalf("%g became %g", v, out[i])
			}
		}
		if got != math.Round(sum) {
			t.Fatalf("sum %g of whole amounts, %g of all", got, sum)
		}
	})
}

// Each line of the bill is in one drain; all amounts sum to the total, each within one
// of what it stands for, and heaters, uses, fuels and months are sums of the same.
func TestAmounts(t *testing.T) {
	y := yearOf(t, demo(t), 365)
	a, seen, sum := y.Amounts(), map[int]bool{}, 0.0
	if a.Total != math.Round(y.Money) {
		t.Errorf("total %g of %g", a.Total, y.Money)
	}
	for i, d := range y.Drains() {
		cost := 0.0
		for _, at := range d.Items {
			if seen[at] || !d.Holds(&y.Bill.Items[at]) {
				t.Errorf("line %d of %s", at, d.Name)
			}
			seen[at] = true
			cost += a.Items[at]
			if math.Abs(a.Items[at]-y.Bill.Items[at].Money) > 1 {
				t.Errorf("%g became %g", y.Bill.Items[at].Money, a.Items[at])
			}
		}
		if math.Abs(cost-d.Money) > 1 {
			t.Errorf("%s costs %g, told %g", d.Name, d.Money, cost)
		}
		if i == 0 && (d.Name != "tilapia tank" || len(d.Items) < 4 || d.For() != "for warming the tilapia tank") {
			t.Errorf("the dearest is %+v", d)
		}
		sum += cost
	}
	if sum != a.Total || len(seen) != len(y.Bill.Items) {
		t.Errorf("%d of %d lines, %g of %g", len(seen), len(y.Bill.Items), sum, a.Total)
	}
	months, heats := 0.0, 0.0
	for i := range a.Months {
		months += a.Months[i]
		heats += a.Heats[i]
	}
	all, bands := a.Power()
	banded, fuels := 0.0, 0.0
	for _, v := range bands {
		banded += v
	}
	for i := range y.Fuels {
		fuels += a.Fuel(&y.Fuels[i])
	}
	if months != a.Total || all+fuels != a.Total || banded != all || heats != fuels {
		t.Errorf("months %g, power %g, bands %g, fuels %g, heat %g of %g", months, all, banded, fuels, heats, a.Total)
	}
}

// What to do first, and in which words.
func TestOrderOfMeasures(t *testing.T) {
	two, thirty := 2.0, 30.0
	lid := Variant{Key: VariantTank, What: "Lid.", SavedMoney: 100, SavedKWh: 50, PaybackHighY: &two}
	lamps := Variant{Key: VariantLampHours, What: "Lamps.", SavedMoney: 120, PaybackHighY: &two}
	pump := Variant{Key: VariantHeatPump, What: "Pump.", SavedMoney: 300, PaybackHighY: &thirty}
	ask := Variant{Key: VariantCurtain, What: "Curtain.", SavedMoney: 310}
	shut := Variant{Key: VariantCloseZone, What: "Shut.", SavedMoney: 900, PaybackHighY: new(float64)}
	costs := Variant{Key: VariantSealing, What: "Costs.", SavedMoney: -3, SavedKWh: 9}
	broken := Variant{Key: VariantSkin, What: "Broken.", Fault: "no", SavedMoney: 999}
	list := []Variant{broken, shut, costs, pump, lid, ask, lamps}
	if got := First(list); got == nil || got.What != "Lamps." {
		t.Errorf("first %+v", got)
	}
	order(list)
	names := ""
	for i := range list {
		names += list[i].What
	}
	if want := "Lamps.Lid.Curtain.Pump.Shut.Broken.Costs."; names != want {
		t.Errorf("order %s, want %s", names, want)
	}
	if First([]Variant{broken, costs}) != nil || First(nil) != nil {
		t.Error("nothing saves, yet something stands first")
	}
	free := []Variant{{Key: VariantTankSet, What: "Cool.", SavedKWh: 90}, {Key: VariantTank, What: "Lid.", SavedKWh: 50}}
	if got := First(free); got == nil || got.What != "Lid." {
		t.Errorf("without prices first %+v", got)
	}
	if !strings.Contains(OrderRule, fmt.Sprint(PaysWithinY, " years")) {
		t.Error(OrderRule)
	}
}

// Whether the bill can be halved is said in plain words at each turn.
func TestHalving(t *testing.T) {
	pay := &Combination{Measures: []string{"Lid"}, SavedShare: 0.2}
	closed := &Combination{Measures: []string{"Lid", "Close hall for the winter: keep frost out"}, SavedShare: 0.4}
	most := &Combination{Measures: closed.Measures, Cooler: []string{"Keep hall 2 K cooler: 10 °C"}, SavedShare: 0.55}
	for _, c := range []struct {
		share        [3]float64
		closed, most *Combination
		want         string
	}{
		{[3]float64{0.5, 0, 0}, nil, nil, "nothing is given up for it."},
		{[3]float64{0.2, 0, 0}, nil, nil, "Halving the bill is not possible by what was tried."},
		{[3]float64{0.2, 0.6, 0}, closed, nil, "Close hall for the winter as well, and 60 % is off: the bill is halved by giving that up."},
		{[3]float64{0.2, 0.4, 0}, closed, nil, "40 % is off: halving the bill is not possible"},
		{[3]float64{0.2, 0.4, 0.55}, closed, most, "40 % is off, not yet half. If besides you keep hall 2 K cooler the year round, 55 % is off: the bill is halved only by closing and by keeping cooler, both."},
		{[3]float64{0.2, 0.4, 0.45}, closed, most, "45 % is off: halving the bill is not possible"},
	} {
		pay.SavedShare, closed.SavedShare, most.SavedShare = c.share[0], c.share[1], c.share[2]
		if got := pay.Say(c.closed, c.most); !strings.Contains(got, c.want) || strings.Contains(got, "light") {
			t.Errorf("%v: %s", c.share, got)
		}
	}
	pay.Dimmed = []string{"hall"}
	if got := pay.Say(nil, nil); !strings.Contains(got, "an eighth of the light of hall") {
		t.Error(got)
	}
}

// The heat of the months sums to the heat of the lines, and none is more than its month,
// whatever the amounts.
func TestHeatsOfMonthsSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := &Year{}
		y.Months = make([]YearMonth, rapid.IntRange(1, 13).Draw(t, "months"))
		causes := []string{"skin", ""}
		totals := make([]float64, len(causes))
		for i := range y.Months {
			for k, cause := range causes {
				money := rapid.Float64Range(0, 3).Draw(t, "money")
				y.Months[i].Items = append(y.Months[i].Items, BillItem{What: "x", Cause: cause, Money: money})
				y.Months[i].Money += money
				totals[k] += money
			}
		}
		for k, cause := range causes {
			y.Bill.Items = append(y.Bill.Items, BillItem{What: "x" + cause, Cause: cause, Money: totals[k]})
			y.Bill.Total += totals[k]
		}
		a := y.Amounts()
		heat, all := 0.0, 0.0
		for i := range a.Months {
			heat, all = heat+a.Heats[i], all+a.Months[i]
			if a.Heats[i] > a.Months[i] {
				t.Fatalf("month %d: %g of %g is heat", i, a.Heats[i], a.Months[i])
			}
		}
		if want := a.Of(func(x *BillItem) bool { return x.Cause != "" }); heat != want || all != a.Total {
			t.Fatalf("heat %g, by the lines %g; in all %g of %g", heat, want, all, a.Total)
		}
	})
}
