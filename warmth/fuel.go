package warmth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/power"
	"tidebed/site"
	"tidebed/words"
)

// FuelUse is a fuel's run of days: what is burnt of it, how its stock goes.
type FuelUse struct {
	Fuel     string     `json:"fuel"` // its key
	Name     string     `json:"name"`
	Unit     string     `json:"unit"` // as it is sold
	HeatKWh  float64    `json:"heatKWh"`
	Units    float64    `json:"units"`
	Price    float64    `json:"price"` // of a unit; 0: not given
	Money    float64    `json:"money"`
	CO2Kg    float64    `json:"co2Kg"`
	Biogenic bool       `json:"biogenic"` // carbon that grew lately
	DayUnits []float64  `json:"dayUnits"` // as Year.Days
	HasStore bool       `json:"hasStore"`
	Stock    float64    `json:"stock"` // on the first day
	Capacity float64    `json:"capacity"`
	LeadDays int        `json:"leadDays"`
	Reserve  float64    `json:"reserve"`  // below which it should not fall
	StockEnd []float64  `json:"stockEnd"` // at each day's end if nothing is delivered; 0 once it is out
	RunsOut  *site.Date `json:"runsOut"`  // nil: not in these days
	OrderBy  *site.Date `json:"orderBy"`  // nil: it stays above the reserve
	Late     bool       `json:"late"`     // an order on the day that is spoken from, the first as a rule, already comes too late
	Fills    int        `json:"fills"`    // of the whole store that the days take
	Months   float64    `json:"months"`   // that the stock lasts at the mean of the months that heat most; 0: none
	Say      string     `json:"say"`
	Cautions []string   `json:"cautions"`
}

const (
	usualLeadDays = 14
	// reserveDays of the greatest use are kept: what a screw or pump cannot draw, and
	// a delivery that comes late. Common practice, no source.
	reserveDays = 3
	monthDays   = 365.0 / 12
)

// burner is how a heater makes its heat.
type burner struct {
	fuel     power.Fuel
	electric bool
	perUnit  float64 // heat from a unit
	price    float64 // of a unit of fuel; 0: not given. Electricity goes by its hour
	co2Unit  float64
}

// units is the fuel as sold for some heat.
func (r *burner) units(heatKWh float64) float64 { return heatKWh / r.perUnit }

// burnerOf finds a heater's fuel, its efficiency on the right basis and its price.
// A burner's efficiency up to 1 is taken to be of the higher heating value, as the
// table of fuels has it, above it (condensing boilers of European makers) of the
// lower; that of an electric heater above 1 is a heat pump's.
func (k *Book) burnerOf(in *site.Heater) (burner, error) {
	key := in.Fuel
	if key == "" {
		key = "electricity"
		k.assume("%s is taken to be electric: give its fuel.", in.Name)
	}
	fuel, err := power.LookupFuel(key)
	if err != nil {
		return burner{}, err
	}
	r := burner{fuel: fuel, electric: !fuel.Burns()}
	efficiency, basis := in.Efficiency, power.HHV
	switch {
	case efficiency == 0:
		efficiency, basis = fuel.Efficiency.Typical, fuel.Basis
		k.assume("The efficiency of %s is taken to be %.2g: give it.", in.Name, efficiency)
	case efficiency > 1 && r.electric:
		basis = power.COP
	case efficiency > 1:
		basis = power.LHV
		k.assume("The efficiency of %s is above 1, so it is taken to be of the lower heating value.", in.Name)
	}
	if err := fuel.CheckEfficiency(efficiency, basis); err != nil {
		return burner{}, fmt.Errorf("efficiency: %w", err)
	}
	for _, w := range fuel.Warnings(efficiency, basis) {
		k.assume("%s: %s", in.Name, w)
	}
	value, err := fuel.PerKWh(basis)
	if err != nil {
		return burner{}, err
	}
	r.perUnit = efficiency * value
	burnt, err := fuel.Burn(1)
	if err != nil {
		return burner{}, err
	}
	r.co2Unit = burnt.CO2Kg
	if !r.electric {
		r.price = k.b.Site.Prices.FuelPerUnit
		if f := k.store(key); f != nil {
			r.price = cmp.Or(f.Price, r.price)
		}
		if r.price == 0 {
			k.assume("There is no price for %s, so it costs nothing here: give `prices.fuel` or that of its store.", fuel.Name)
		}
	}
	return r, nil
}

func (k *Book) store(key string) *site.FuelStore {
	for i := range k.b.Site.Fuels {
		if f := &k.b.Site.Fuels[i]; f.Fuel == key {
			return f
		}
	}
	return nil
}

// fuelsOf works out what is burnt and how stocks go, fuel by fuel in the order of
// the heaters, then of stores that no heater uses.
func (k *Book) fuelsOf(y *Year) error {
	var keys []string
	for i := range k.burners {
		if key := k.burners[i].fuel.Key; !k.burners[i].electric && !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	for i := range k.b.Site.Fuels {
		if key := k.b.Site.Fuels[i].Fuel; !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	for _, key := range keys {
		fuel, err := power.LookupFuel(key)
		if err != nil {
			return err
		}
		u := FuelUse{Fuel: key, Name: fuel.Name, Unit: fuel.Unit, Biogenic: fuel.CO2Biogenic, DayUnits: make([]float64, len(k.days)), Cautions: fuel.Cautions()}
		for i := range k.burners {
			r := &k.burners[i]
			if r.fuel.Key != key {
				continue
			}
			u.Price = r.price
			for d := range k.days {
				u.DayUnits[d] += r.units(math.Max(0, k.days[d].HeaterKWh[i]))
			}
			h := &y.Heaters[i]
			h.Money, h.CO2Kg = h.Units*r.price, h.Units*r.co2Unit
			u.HeatKWh += h.HeatKWh
			u.Units += h.Units
			u.Money += h.Money
			u.CO2Kg += h.CO2Kg
		}
		if u.Biogenic {
			y.CO2WoodKg += u.CO2Kg
		} else {
			y.CO2Kg += u.CO2Kg
		}
		if f := k.store(key); f != nil {
			if err := k.stockOf(&u, f); err != nil {
				return fmt.Errorf("fuels, %s: %w", key, err)
			}
		}
		y.Fuels = append(y.Fuels, u)
	}
	return nil
}

// stockOf follows a stock through the days.
func (k *Book) stockOf(u *FuelUse, f *site.FuelStore) error {
	u.HasStore, u.Stock, u.Capacity, u.LeadDays = true, f.Stock, f.Capacity, usualLeadDays
	if f.LeadS > 0 {
		u.LeadDays = int(math.Ceil(f.LeadS / 86400))
	}
	u.Reserve = math.Min(reserveDays*slices.Max(u.DayUnits), f.Capacity/2)
	if f.Capacity == 0 {
		u.Reserve = reserveDays * slices.Max(u.DayUnits)
	}
	left := f.Stock
	for _, used := range u.DayUnits {
		left = math.Max(0, left-used)
		u.StockEnd = append(u.StockEnd, left)
	}
	days, outlasts, err := k.lasts(f.Stock, u.DayUnits)
	if err != nil {
		return err
	}
	if !outlasts {
		at := k.days[min(days, len(k.days)-1)].Date
		u.RunsOut = &at
	}
	day, late, ok, err := power.OrderBy(f.Stock, u.Reserve, u.DayUnits, u.LeadDays)
	if err != nil {
		return err
	}
	if ok {
		at := k.days[day].Date
		u.OrderBy, u.Late = &at, late
	}
	if f.Capacity > 0 {
		u.Fills = int(math.Ceil(u.Units/f.Capacity - 1e-9))
	}
	if use := k.hardUse(u.DayUnits); use > 0 {
		u.Months = f.Stock / (use * monthDays)
	}
	u.Say = u.sentence()
	return nil
}

// lasts is the place of the day on which a stock runs out.
func (k *Book) lasts(stock float64, use []float64) (day int, outlasts bool, err error) {
	days, ok, err := power.Lasts(stock, use)
	if err != nil {
		return 0, false, err
	}
	return int(days), !ok, nil
}

// hardUse is the mean use of a day in the months that use more than the mean month.
func (k *Book) hardUse(use []float64) float64 {
	type sum struct {
		units float64
		days  int
	}
	var months []sum
	all := 0.0
	for d := range k.days {
		if d == 0 || k.days[d].Date.Day() == 1 {
			months = append(months, sum{})
		}
		m := &months[len(months)-1]
		m.units += use[d]
		m.days++
		all += use[d]
	}
	mean, units, days := all/float64(len(use)), 0.0, 0
	for _, m := range months {
		if m.units >= mean*float64(m.days) {
			units, days = units+m.units, days+m.days
		}
	}
	if days == 0 {
		return 0
	}
	return units / float64(days)
}

// inWords is the fuel within a sentence, without how it is sold.
func (u *FuelUse) inWords() string {
	name, _, _ := strings.Cut(u.Name, ", by the ")
	return words.LowerName(name)
}

func (u *FuelUse) sentence() string {
	day := func(d *site.Date) string { return d.Format("2 January 2006") }
	name := u.inWords()
	switch {
	case u.Units == 0:
		return fmt.Sprintf("No %s is burnt in these days.", name)
	case u.Late && u.RunsOut != nil:
		return fmt.Sprintf("Order %s today and ask for an early delivery: it runs out on %s, and delivery takes %d days.", name, day(u.RunsOut), u.LeadDays)
	case u.Late:
		return fmt.Sprintf("Order %s today: delivery takes %d days, and by then the stock is below %d days' use in the cold.", name, u.LeadDays, reserveDays)
	case u.OrderBy != nil && u.RunsOut != nil:
		return fmt.Sprintf("Order %s by %s: it runs out on %s, and delivery takes %d days.", name, day(u.OrderBy), day(u.RunsOut), u.LeadDays)
	case u.OrderBy != nil:
		return fmt.Sprintf("Order %s by %s: it does not run out in these days, but falls below %d days' use in the cold.", name, day(u.OrderBy), reserveDays)
	}
	return fmt.Sprintf("The stock of %s lasts through these days.", name)
}

// SpeakFrom tells the fuels from a day, where Year tells them from its first: an order
// that was due before it is late. Nothing else is known of the store than its stock on
// the first day, so what came since does not count. A day before the first, and none,
// change nothing.
func (y *Year) SpeakFrom(today site.Date) {
	if today.IsZero() || !today.After(y.From.Time) {
		return
	}
	for i := range y.Fuels {
		if u := &y.Fuels[i]; u.HasStore && u.Units > 0 {
			u.speakFrom(today, y.From, y.To)
		}
	}
}

func (u *FuelUse) speakFrom(today, from, to site.Date) {
	day := func(d site.Date) string { return d.Format("2 January 2006") }
	name, over := u.inWords(), today.After(to.Time)
	if u.OrderBy == nil {
		if over {
			u.Say = fmt.Sprintf("Whether %s must be ordered is not known: the stock of %s lasts to %s, and no later day is reckoned. Write the stock that is there now into the site file, with the day as its opening.", name, day(from), day(to))
		}
		return
	}
	wasLate, by := u.Late, "by "+day(*u.OrderBy)
	if wasLate {
		by = "before " + day(from)
	}
	u.Late = wasLate || today.After(u.OrderBy.Time)
	since := fmt.Sprintf(" That goes by the stock of %s: what came since is not in the site file.", day(from))
	reserve := fmt.Sprintf("by then the stock is below %d days' use in the cold", reserveDays)
	takes := fmt.Sprintf("delivery takes %s", words.Count(u.LeadDays, "day", "days"))
	switch {
	case !u.Late && !today.Equal(u.OrderBy.Time): // as it is said on the first day
	case !u.Late && u.RunsOut != nil:
		u.Say = fmt.Sprintf("Order %s today: it runs out on %s, and %s.", name, day(*u.RunsOut), takes) + since
	case !u.Late:
		u.Say = fmt.Sprintf("Order %s today: %s, and %s.", name, takes, reserve) + since
	case u.RunsOut != nil && today.After(u.RunsOut.Time):
		u.Say = fmt.Sprintf("Order %s at once: it should have been ordered %s, and ran out on %s.", name, by, day(*u.RunsOut)) + since
	case u.RunsOut != nil:
		u.Say = fmt.Sprintf("Order %s at once and ask for an early delivery: it should have been ordered %s, it runs out on %s, and %s.", name, by, day(*u.RunsOut), takes) + since
	default:
		u.Say = fmt.Sprintf("Order %s at once: it should have been ordered %s; %s, and %s.", name, by, takes, reserve) + since
	}
}
