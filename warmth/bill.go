package warmth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"tidebed/science/fish"
	"tidebed/science/power"
	"tidebed/site"
)

// Bill is what fuel and electricity cost, by cause.
type Bill struct {
	Items      []BillItem `json:"items"`
	Total      float64    `json:"total"` // the sum of the items
	HeatMoney  float64    `json:"heatMoney"`
	PowerMoney float64    `json:"powerMoney"` // of electricity that does not heat
	HeatPerKWh float64    `json:"heatPerKWh"` // money for a kWh of heat in the house
	GridPerKWh float64    `json:"gridPerKWh"` // mean of what is bought
}

// BillItem is a line of the bill.
type BillItem struct {
	What  string  `json:"what"`  // a heater, or a use of electricity
	In    string  `json:"in"`    // the zone or tank; empty for uses of electricity
	Cause string  `json:"cause"` // skin, leaks, vents, ground, vapour of leaves, water, ...; empty for uses
	KWh   float64 `json:"kwh"`   // of heat, or of electricity
	Money float64 `json:"money"`
	CO2Kg float64 `json:"co2Kg"`
}

// Wastes are what a digester is fed in a day.
type Wastes struct {
	FeedKgDay      float64 `json:"feedKgDay"`      // fish feed given, whose sludge is caught
	TrimmingsKgDay float64 `json:"trimmingsKgDay"` // fresh leaves and stalks
}

// GasYear is what the digester gives.
type GasYear struct {
	Wastes    Wastes   `json:"wastes"`
	BiogasM3D float64  `json:"biogasM3Day"`
	KWhD      float64  `json:"kwhDay"`     // of gas
	HeatKWhD  float64  `json:"heatKWhDay"` // left for the house
	HoldDays  float64  `json:"holdDays"`
	FedShare  float64  `json:"fedShare"` // of the wastes that its size takes
	OfHeat    float64  `json:"ofHeat"`   // share of the year's heat
	Notes     []string `json:"notes"`
	Cautions  []string `json:"cautions"`
}

// Own is the share of the building's energy that it makes itself. The energy is the
// heat of its burners and the electricity used; sun through glazing is not counted.
type Own struct {
	EnergyKWh float64 `json:"energyKWh"`
	SunKWh    float64 `json:"sunKWh"` // panels, used here
	GasKWh    float64 `json:"gasKWh"` // digester, as heat
	Share     float64 `json:"share"`
}

// What heat is lost by, in the order of the bill.
const (
	causeSkin = iota
	causeLeaks
	causeVents
	causeGround
	causeLeaves
	causeWater
	causeBeyond
	zoneCauses
)

var causeNames = [zoneCauses]string{"skin", "leaks", "vents", "ground", "vapour of the leaves", "water of the loops", "other zones"}

const (
	causeVapour = "vapour of the water"
	causeTanks  = "air, by the tanks"
	causeBeds   = "air, by the beds"
	causeSump   = "air, by the sump"
	causeTopUp  = "cold water added"
	causeStored = "warming up"
)

var causeOrder = append(causeNames[:], causeVapour, causeTanks, causeBeds, causeSump, causeTopUp, causeStored)

// shareOut gives a day's heat of a zone to what the zone lost, in proportion.
func shareOut(l *Ledger, heatKWh float64, to *[zoneCauses + 1]float64) {
	var out [zoneCauses]float64
	out[causeSkin], out[causeLeaks], out[causeVents] = l.SkinJ+l.SkyJ, l.LeaksJ, l.VentsJ
	out[causeGround], out[causeLeaves] = l.GroundJ+l.EdgeJ, l.LeavesJ
	out[causeWater], out[causeBeyond] = -l.FromWaterJ, -l.BeyondJ
	sum := 0.0
	for i := range out {
		out[i] = math.Max(0, out[i])
		sum += out[i]
	}
	if sum <= 0 {
		to[zoneCauses] += heatKWh
		return
	}
	for i := range out {
		to[i] += heatKWh * out[i] / sum
	}
}

// billOf makes the bill of each month and of all. Each heater's money goes to what
// its heat went to: a zone's, day by day, in proportion to the zone's losses of the
// day, whatever else warmed it; a tank's, month by month, to what its loop's water
// lost: vapour, the room by tanks, beds and sump, and cold water topped up. Electricity goes by use, each hour's bought part in proportion to what
// each use took in that hour.
func (k *Book) billOf(y *Year, v *served) {
	bill := &y.Bill
	heatMoney := 0.0
	place := map[[3]string]int{}
	for i := range k.months {
		o := &y.Months[i]
		m := &v.months[i]
		k.heatItems(&k.months[i], m, o, y)
		for u, name := range k.grid.names[:k.grid.before] {
			if m.useKWh[u] > 0 {
				o.Items = append(o.Items, BillItem{What: name, KWh: m.useKWh[u], Money: m.useMoney[u], CO2Kg: m.useGrid[u] * k.grid.co2KWh})
			}
		}
		for _, item := range o.Items {
			key := [3]string{item.What, item.In, item.Cause}
			at, known := place[key]
			if !known {
				at = len(bill.Items)
				place[key] = at
				bill.Items = append(bill.Items, BillItem{What: item.What, In: item.In, Cause: item.Cause})
			}
			all := &bill.Items[at]
			all.KWh, all.Money, all.CO2Kg = all.KWh+item.KWh, all.Money+item.Money, all.CO2Kg+item.CO2Kg
			o.Money += item.Money
			if item.Cause != "" {
				heatMoney += item.Money
			}
		}
	}
	rank := func(i BillItem) int { // heaters by cause, then the uses of electricity
		heater := slices.IndexFunc(y.Heaters, func(h YearHeater) bool { return h.Name == i.What && h.In == i.In })
		if i.Cause == "" || heater < 0 {
			return len(y.Heaters)*100 + slices.Index(k.grid.names, i.What)
		}
		return heater*100 + slices.Index(causeOrder, i.Cause)
	}
	slices.SortStableFunc(bill.Items, func(a, b BillItem) int { return cmp.Compare(rank(a), rank(b)) })
	for _, item := range bill.Items {
		bill.Total += item.Money
	}
	bill.HeatMoney, bill.PowerMoney = heatMoney, bill.Total-heatMoney
	y.Money = bill.Total
	if y.HeatKWh > 0 {
		bill.HeatPerKWh = bill.HeatMoney / y.HeatKWh
	}
	if y.Power.GridKWh > 0 {
		bill.GridPerKWh = y.Power.Money / y.Power.GridKWh
	}
}

// heatItems are the lines of a month's heat.
func (k *Book) heatItems(m *monthBook, v *servedMonth, o *YearMonth, y *Year) {
	for i := range k.b.Heaters {
		h, r := &y.Heaters[i], &k.burners[i]
		heat := m.heaterKWh[i]
		if heat <= 0 {
			continue
		}
		units := r.units(heat)
		money, co2 := units*r.price, units*r.co2Unit
		if use := k.grid.useOf[i]; use >= 0 {
			money, co2 = v.useMoney[use], v.useGrid[use]*k.grid.co2KWh
		}
		if r.fuel.CO2Biogenic {
			o.CO2WoodKg += co2
		} else {
			o.CO2Kg += co2
		}
		line := func(cause string, share float64) {
			if share > 0 {
				o.Items = append(o.Items, BillItem{What: h.Name, In: h.In, Cause: cause, KWh: heat * share, Money: money * share, CO2Kg: co2 * share})
			}
		}
		if zone := k.b.Heaters[i].Zone; zone >= 0 {
			sum := 0.0
			for _, kwh := range m.causes[zone] {
				sum += kwh
			}
			for c, kwh := range m.causes[zone] {
				name := causeStored
				if c < zoneCauses {
					name = causeNames[c]
				}
				line(name, kwh/sum)
			}
			continue
		}
		l := &m.waters[k.loopOf[k.heaterWet[i]]]
		lost := [...]struct {
			cause string
			j     float64
		}{{causeVapour, l.VapourJ}, {causeTanks, l.TanksJ}, {causeBeds, l.BedsJ}, {causeSump, l.SumpJ}, {causeTopUp, l.TopUpJ}}
		sum := 0.0
		for _, x := range lost {
			sum += math.Max(0, x.j)
		}
		if sum <= 0 {
			line(causeStored, 1)
			continue
		}
		for _, x := range lost {
			line(x.cause, math.Max(0, x.j)/sum)
		}
	}
	for _, grid := range v.useGrid[:k.grid.before] {
		o.CO2Kg += grid * k.grid.co2KWh
	}
}

const (
	// Sludge that settles out of fish water: dry kg for a kg of feed, and the part that
	// a filter or swirl tank catches. Common practice, no source.
	sludgeShare = 0.25
	caughtShare = 0.60
	// trimmingsKgM2Day are leaves and stalks of a growing area. Common practice, no source.
	trimmingsKgM2Day = 0.03
	usualWaterC      = 15.0
	warmDigesterC    = 30.0
	digesterRoom     = 1.25 // built volume over that of the liquid
)

// usualWastes are those of the stock that the site opens with and of its beds.
func usualWastes(s *site.Site) (Wastes, error) {
	var w Wastes
	for _, c := range s.Opening.Cohorts {
		f, err := fish.Lookup(c.Species)
		if err != nil {
			return w, err
		}
		waterC := usualWaterC
		for i := range s.Loops {
			for _, t := range s.Loops[i].Tanks {
				if t.Name == c.Tank && t.WaterC > 0 {
					waterC = t.WaterC
				}
			}
		}
		share, _ := f.RationShareDay(c.WeightKg*1000, waterC)
		w.FeedKgDay += share * c.WeightKg * float64(c.Count)
	}
	for i := range s.Loops {
		for j := range s.Loops[i].Beds {
			w.TrimmingsKgDay += trimmingsKgM2Day * s.Loops[i].Beds[j].GrowingM2()
		}
	}
	return w, nil
}

// gasOf works the site's digester out: unheated, in the warmest zone. Below 30 °C
// it gives the low yields; fed faster than its temperature allows it takes only the
// part that fits.
func (k *Book) gasOf(y *Year) error {
	volume := k.b.Site.Power.DigesterM3
	if volume <= 0 {
		return nil
	}
	g := &GasYear{Cautions: []string{power.CautionBiogas, power.CautionDigestate}}
	y.Digester = g
	if k.Wastes != nil {
		g.Wastes = *k.Wastes
	} else {
		var err error
		if g.Wastes, err = usualWastes(k.b.Site); err != nil {
			return fmt.Errorf("digester: %w", err)
		}
		g.Notes = append(g.Notes, "The wastes are taken from the fish of the first day at full feed and 30 g of trimmings a day for each m² of growing area.")
	}
	warmC := math.Inf(-1)
	for i := range y.Zones {
		warmC = math.Max(warmC, y.Zones[i].MeanC)
	}
	if warmC < power.LeastDigesterC {
		g.Notes = append(g.Notes, fmt.Sprintf("The warmest zone is %.1f °C on the mean: below %g °C a digester gives next to nothing.", warmC, power.LeastDigesterC))
		return nil
	}
	sludge, err := power.LookupSubstrate("fish-sludge-trout-salmon-tilapia-plan-value")
	if err != nil {
		return err
	}
	leaves, err := power.LookupSubstrate("lettuce-and-leafy-trimmings")
	if err != nil {
		return err
	}
	feeds := []power.Feed{{Substrate: sludge, WetKgD: g.Wastes.FeedKgDay * sludgeShare * caughtShare / sludge.Solids()}, {Substrate: leaves, WetKgD: g.Wastes.TrimmingsKgDay}}
	gas, err := power.GasOf(feeds)
	if err != nil {
		return fmt.Errorf("digester: %w", err)
	}
	if gas.WetKgD <= 0 {
		g.Notes = append(g.Notes, "Nothing is there to feed it.")
		return nil
	}
	least, _, err := power.RetentionDays(math.Min(warmC, power.MostDigesterC))
	if err != nil {
		return fmt.Errorf("digester: %w", err)
	}
	liquid := volume / digesterRoom
	g.HoldDays = liquid * 1000 / gas.WetKgD
	g.FedShare = math.Min(1, math.Min(g.HoldDays/least, power.PlainLoadKgM3D*liquid/math.Max(1e-9, gas.VolatileKgD)))
	yield, biogas := gas.KWhD.Low, gas.BiogasM3D*gas.CH4M3D.Low/gas.CH4M3D.Typical
	if warmC >= warmDigesterC {
		yield, biogas = gas.KWhD.Typical, gas.BiogasM3D
	} else {
		g.Notes = append(g.Notes, fmt.Sprintf("At %.0f °C the low yields are counted.", warmC))
	}
	if g.FedShare < 1 {
		g.Notes = append(g.Notes, fmt.Sprintf("It is small: %.0f %% of the wastes fit.", 100*g.FedShare))
	}
	g.BiogasM3D, g.KWhD = biogas*g.FedShare, yield*g.FedShare
	g.HeatKWhD = g.KWhD * power.GasBoilerEfficiency
	if y.HeatKWh > 0 {
		g.OfHeat = math.Min(1, g.HeatKWhD*float64(len(y.Days))/y.HeatKWh)
	}
	g.Notes = append(g.Notes, power.CautionFewPercent, "Its gas is not taken off the bill.")
	return nil
}

// ShareOn is the own share on the days from one date to another, both included;
// days that are not in the year count for nothing.
func (y *Year) ShareOn(from, to time.Time) Own {
	var o Own
	first, last := site.On(from.Year(), from.Month(), from.Day()), site.On(to.Year(), to.Month(), to.Day())
	for i := range y.Days {
		d := &y.Days[i]
		if d.Date.Before(first.Time) || d.Date.After(last.Time) {
			continue
		}
		burnt := 0.0
		for h, kwh := range d.HeaterKWh {
			if y.Heaters[h].burns {
				burnt += kwh
			}
		}
		o.EnergyKWh += burnt + d.ElectricKWh
		o.SunKWh += d.OwnKWh
		if y.Digester != nil {
			o.GasKWh += math.Min(burnt, y.Digester.HeatKWhD)
		}
	}
	if o.EnergyKWh > 0 {
		o.Share = (o.SunKWh + o.GasKWh) / o.EnergyKWh
	}
	return o
}
