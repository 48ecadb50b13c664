package power

import "fmt"

// Band is hours of the day with one price; ToH at or below FromH runs past
// midnight. 22 to 6 is eight hours, 0 to 24 and 5 to 5 the whole day.
type Band struct {
	FromH, ToH int // 0 to 24; the hour ToH is no longer in it
	PriceKWh   float64
}

// Tariff is what electricity costs. Every day is alike: where week-ends are
// cheaper the bill comes out too high; give their mean by hours if it matters.
type Tariff struct {
	Bands       []Band
	StandingDay float64 // money a day
	DemandKW    float64 // money for a kW of the month's highest quarter of an hour, and month
	ExportKWh   float64 // money paid for a kWh given to the grid
}

// Flat is a tariff of one price.
func Flat(priceKWh, standingDay float64) Tariff {
	return Tariff{Bands: []Band{{0, hoursOfDay, priceKWh}}, StandingDay: standingDay}
}

// Prices is the price of a kWh in each hour of the day.
//
// Errors: hours outside 0 to 24, an hour in no band or in two, money below 0.
func (t Tariff) Prices() (prices [hoursOfDay]float64, err error) {
	if err := check("tariff", bound{"standing charge", t.StandingDay, 0, MostPrice, ""}, bound{"demand charge", t.DemandKW, 0, MostPrice, ""}, bound{"price of what is given to the grid", t.ExportKWh, 0, MostPrice, ""}); err != nil {
		return prices, err
	}
	var in [hoursOfDay]int
	for i, b := range t.Bands {
		what := fmt.Sprintf("tariff: band %d", i+1)
		if err := check(what, bound{"first hour", float64(b.FromH), 0, hoursOfDay, "h"}, bound{"last hour", float64(b.ToH), 0, hoursOfDay, "h"}, bound{"price", b.PriceKWh, 0, MostPrice, ""}); err != nil {
			return prices, err
		}
		hours := b.ToH - b.FromH
		if hours <= 0 {
			hours += hoursOfDay
		}
		for k := range hours {
			h := (b.FromH + k) % hoursOfDay
			if in[h] != 0 {
				return prices, outside(what, "hour %d stands in band %d too; give each hour once", h, in[h])
			}
			in[h], prices[h] = i+1, b.PriceKWh
		}
	}
	for h, band := range in {
		if band == 0 {
			return prices, outside("tariff", "hour %d is in no band; give each hour once", h)
		}
	}
	return prices, nil
}

// Bill is the cost of some days of electricity.
type Bill struct{ EnergyKWh, Energy, Standing, Demand, Total float64 }

// Bill sums what hours from the grid cost.
//
//	gridKWh  from the grid hour by hour, the first from midnight on; none below 0
//	peakKW   highest quarter of an hour of the time; with 0 the highest hour counts, which is less
//	months   of demand charge that the hours make up, 0 to 1200
//
// Check: 8 kWh by night at 0.10, 4 by day at 0.30, a day at 0.50, 3 kW at 5 a
// month: 0.80 + 1.20 + 0.50 + 15 = 17.50; worked by hand.
func (t Tariff) Bill(gridKWh []float64, peakKW, months float64) (Bill, error) {
	prices, err := t.Prices()
	if err != nil {
		return Bill{}, err
	}
	if err := check("bill", bound{"highest power", peakKW, 0, MostPowerKW, "kW"}, bound{"months", months, 0, 1200, ""}); err != nil {
		return Bill{}, err
	}
	var b Bill
	for i, kWh := range gridKWh {
		if err := check(fmt.Sprintf("bill: hour %d", i), bound{"energy", kWh, 0, MostPowerKW, "kWh"}); err != nil {
			return Bill{}, err
		}
		b.EnergyKWh += kWh
		b.Energy += kWh * prices[i%hoursOfDay]
		peakKW = max(peakKW, kWh)
	}
	b.Standing = t.StandingDay * float64(len(gridKWh)) / hoursOfDay
	b.Demand = t.DemandKW * peakKW * months
	b.Total = b.Energy + b.Standing + b.Demand
	return b, nil
}
