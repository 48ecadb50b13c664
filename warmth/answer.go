package warmth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/words"
)

// Drain is what the money of a year goes into: a place that is warmed, whatever its
// heat leaves by, or a use of electricity.
type Drain struct {
	Name  string  `json:"name"` // "tilapia tank", "cool hall", "lamps"
	Heat  bool    `json:"heat"` // false: a use of electricity
	Tank  bool    `json:"tank"`
	Money float64 `json:"money"`
	KWh   float64 `json:"kwh"` // of heat, or of electricity
	CO2Kg float64 `json:"co2Kg"`
	Items []int   `json:"items"` // in Bill.Items
	Part  string  `json:"-"`     // as BillItem.In, or BillItem.What of a use
}

// Holds tells whether a line of the bill goes into the drain.
func (d *Drain) Holds(x *BillItem) bool {
	if x.Cause == "" {
		return !d.Heat && x.What == d.Part
	}
	return d.Heat && x.In == d.Part
}

// For says what for: "for warming the tilapia tank", "for the lamps".
func (d *Drain) For() string {
	if d.Heat {
		return "for warming the " + d.Name
	}
	return "for the " + d.Name
}

// Drains gathers the bill by what it goes into, the dearest first, and of what costs
// the same what takes more energy. Every line of the bill is in one of them.
func (y *Year) Drains() []Drain {
	var all []Drain
	for i := range y.Bill.Items {
		x := &y.Bill.Items[i]
		at := slices.IndexFunc(all, func(d Drain) bool { return d.Holds(x) })
		if at < 0 {
			d := Drain{Name: x.What, Part: x.What}
			if x.Cause != "" {
				d = Drain{Name: x.In, Part: x.In, Heat: true}
				d.Tank = slices.ContainsFunc(y.Heaters, func(h YearHeater) bool { return h.Tank && h.In == x.In })
				if d.Tank && !strings.Contains(strings.ToLower(x.In), "tank") {
					d.Name += " tank"
				}
			}
			at, all = len(all), append(all, d)
		}
		d := &all[at]
		d.Money, d.KWh, d.CO2Kg = d.Money+x.Money, d.KWh+x.KWh, d.CO2Kg+x.CO2Kg
		d.Items = append(d.Items, i)
	}
	slices.SortStableFunc(all, func(a, b Drain) int {
		return cmp.Or(cmp.Compare(b.Money, a.Money), cmp.Compare(b.KWh, a.KWh))
	})
	return all
}

// Amounts are the money of a year in whole units. They are rounded once, so that an
// amount is the same wherever it stands and the amounts of every table sum to its
// total; each is within one of what it stands for.
type Amounts struct {
	Total  float64
	Items  []float64 // as Bill.Items
	Months []float64 // as Year.Months
	Heats  []float64 // of Months, what is for heat
	y      *Year
}

// Amounts rounds the money of a year.
func (y *Year) Amounts() *Amounts {
	a := &Amounts{Total: math.Round(finite(y.Bill.Total)), Items: make([]float64, len(y.Bill.Items)), y: y}
	drains := y.Drains()
	sums := make([]float64, len(drains))
	for i := range drains {
		sums[i] = drains[i].Money
	}
	sums = Wholes(sums, a.Total)
	for i := range drains {
		parts := make([]float64, len(drains[i].Items))
		for k, at := range drains[i].Items {
			parts[k] = y.Bill.Items[at].Money
		}
		for k, v := range Wholes(parts, sums[i]) {
			a.Items[drains[i].Items[k]] = v
		}
	}
	months, heats := make([]float64, len(y.Months)), make([]float64, len(y.Months))
	for i := range y.Months {
		months[i] = y.Months[i].Money
		for k := range y.Months[i].Items {
			if x := &y.Months[i].Items[k]; x.Cause != "" {
				heats[i] += x.Money
			}
		}
	}
	a.Months = Wholes(months, a.Total)
	a.Heats = Wholes(heats, a.Of(func(x *BillItem) bool { return x.Cause != "" }))
	cut := 0.0 // no month's heat is more than its bill; what is cut goes to months with room
	for i := range a.Heats {
		if over := a.Heats[i] - a.Months[i]; heats[i] <= months[i] && over > 0 {
			a.Heats[i] -= over
			cut += over
		}
	}
	for i := 0; i < len(a.Heats) && cut > 0; i++ {
		more := math.Min(cut, math.Max(0, a.Months[i]-a.Heats[i]))
		a.Heats[i] += more
		cut -= more
	}
	return a
}

// Of sums the amounts of some lines of the bill.
func (a *Amounts) Of(which func(*BillItem) bool) float64 {
	sum := 0.0
	for i := range a.y.Bill.Items {
		if which(&a.y.Bill.Items[i]) {
			sum += a.Items[i]
		}
	}
	return sum
}

// Heater is what the heat of a heater costs.
func (a *Amounts) Heater(h *YearHeater) float64 {
	return a.Of(func(x *BillItem) bool { return x.Cause != "" && x.What == h.Name && x.In == h.In })
}

// Fuel is what a fuel costs.
func (a *Amounts) Fuel(u *FuelUse) float64 {
	sum := 0.0
	for i := range a.y.Heaters {
		if a.y.Heaters[i].Fuel == u.Fuel {
			sum += a.Heater(&a.y.Heaters[i])
		}
	}
	return sum
}

// Use is what a use of electricity costs.
func (a *Amounts) Use(u *PowerUse) float64 {
	return a.Of(func(x *BillItem) bool { return x.What == u.Use && u.Heater == (x.Cause != "") })
}

// Power is what all electricity costs, that of heaters with it, and of it what each
// band of prices does.
func (a *Amounts) Power() (all float64, bands []float64) {
	p := &a.y.Power
	for i := range p.Uses {
		all += a.Use(&p.Uses[i])
	}
	for i := range p.Bands {
		bands = append(bands, p.Bands[i].Money)
	}
	return all, Wholes(bands, all)
}

func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// Wholes rounds amounts to whole ones that sum to a whole total, which should be
// their sum rounded up or down: what is left over goes to those that lost most by it.
// What is no number counts as nothing.
func Wholes(values []float64, total float64) []float64 {
	out, left, order := make([]float64, len(values)), make([]float64, len(values)), make([]int, len(values))
	given := 0.0
	for i, v := range values {
		v = finite(v)
		out[i], order[i] = math.Floor(v), i
		left[i] = v - out[i]
		given += out[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(left[b], left[a]) })
	for i := 0; i < len(order) && given < total; i++ {
		out[order[i]]++
		given++
	}
	return out
}

// The ranks of measures.
const (
	rankFirst  = iota // gives nothing up and pays for itself in time
	rankLater         // gives nothing up, pays for itself later, or nobody knows
	rankGiveUp        // saves by crop or fish given up
	rankNone          // saves nothing, or could not be reckoned
)

// OrderRule says in words how measures are ordered.
var OrderRule = fmt.Sprintf("First stands what gives neither crop nor fish up and pays for itself within %d years, then what pays later or has no known price, then what gives something up; within each what saves most money a year.", PaysWithinY)

// OrderRuleUnpriced is OrderRule where the site knows no price.
const OrderRuleUnpriced = "First stands what gives neither crop nor fish up, then what gives something up; within each what saves most heat and power a year, since no prices are known."

// RuleOf is the rule by which a list of measures is ordered.
func RuleOf(list []Variant) string {
	if priced(list) {
		return OrderRule
	}
	return OrderRuleUnpriced
}

// priced tells whether anything of a list saves money.
func priced(list []Variant) bool {
	return slices.ContainsFunc(list, func(v Variant) bool { return v.Fault == "" && v.SavedMoney > 0 })
}

func (v *Variant) rank(priced bool) int {
	switch {
	case v.Fault != "" || v.SavedMoney < 0 || v.SavedMoney == 0 && (priced || v.SavedKWh <= 0):
		return rankNone
	case v.GivesUp():
		return rankGiveUp
	case v.pays() || !priced:
		return rankFirst
	}
	return rankLater
}

// order puts measures in the order of OrderRule; where nothing has a price energy
// stands for money.
func order(list []Variant) {
	priced := priced(list)
	slices.SortStableFunc(list, func(a, b Variant) int {
		return cmp.Or(cmp.Compare(a.rank(priced), b.rank(priced)), cmp.Compare(b.SavedMoney, a.SavedMoney), cmp.Compare(b.SavedKWh, a.SavedKWh))
	})
}

// First is the measure to begin with: that of a list of Variants which comes first by
// OrderRule. nil: nothing saves.
func First(list []Variant) *Variant {
	sorted := slices.Clone(list)
	order(sorted)
	if len(sorted) == 0 || sorted[0].rank(priced(list)) == rankNone {
		return nil
	}
	return &sorted[0]
}

// Answer says what a year costs, what most of it is for and what is to be done first.
// list are its Variants; nil: they are not known. money and whole print an amount and a
// number to the unit.
func (y *Year) Answer(list []Variant, money, whole func(float64) string) string {
	drains := y.Drains()
	sumKWh := 0.0
	for i := range drains {
		sumKWh += drains[i].KWh
	}
	if y.Money <= 0 { // by energy
		slices.SortStableFunc(drains, func(a, b Drain) int { return cmp.Compare(b.KWh, a.KWh) })
	}
	if len(drains) == 0 || y.Money <= 0 && drains[0].KWh <= 0 {
		return "Nothing is heated and nothing takes power in this site file, so the year costs nothing."
	}
	most := &drains[0]
	text, share := "Heat and power cost "+money(y.Money)+" a year, ", most.Money/y.Money
	if y.Money <= 0 {
		text, share = "Heat and power take "+whole(sumKWh)+" kWh a year, and no price is written down; ", most.KWh/sumKWh
	}
	text += fmt.Sprintf("%.0f %% of it %s.", 100*share, most.For())
	v := First(list)
	if v == nil {
		return text
	}
	saved := whole(v.SavedKWh) + " kWh"
	if v.SavedMoney > 0 {
		saved = money(v.SavedMoney)
	}
	lead := "To do first:"
	switch v.rank(priced(list)) {
	case rankLater:
		lead = fmt.Sprintf("Nothing that was tried and has a price pays for itself within %d years without giving crop or fish up; most saves this:", PaysWithinY)
	case rankGiveUp:
		lead = "Only what gives crop or fish up saves; most saves this:"
	}
	return fmt.Sprintf("%s %s %s, which would save about %s a year.", text, lead, words.Lower(strings.TrimSuffix(v.What, ".")), saved)
}
