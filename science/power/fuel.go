package power

import (
	_ "embed"
	"fmt"
	"math"
	"sync"

	"tidebed/table"
)

//go:embed fuels.csv
var fuelsCSV string

// Basis says which heating value an efficiency is of.
type Basis string

// The bases. Makers in America mean the higher one, in Europe the lower.
const (
	HHV Basis = "HHV" // higher heating value: the steam of the flame counted as condensed
	LHV Basis = "LHV" // lower heating value: the steam lost
	COP Basis = "COP" // heat out per electricity in, of a heat pump
)

// Limits of what Amount takes for an efficiency, by basis.
const (
	LeastEfficiency = 0.05
	MostHHV         = 1.0
	MostLHV         = 1.1
	LeastCOP        = 1.0
	MostCOP         = 7.0
)

// CondensingFrom is the efficiency on the higher heating value that only a
// burner which condenses its steam reaches; common practice, no source.
const CondensingFrom = 0.9

// Fuel is a row of the table of fuels, per unit of sale.
type Fuel struct {
	Key          string // such as "propane"
	Name         string // for people
	Unit         string // of sale: L, m3, kg, therm, cord or kWh
	UnitNote     string // the unit's conditions, such as "m3 (15 C, 101.3 kPa)"
	DensityKgM3  float64
	DensityKnown bool
	HHVKWh       float64 // per unit
	LHVKWh       float64 // per unit
	Efficiency   Spread  // usual ones, of Basis
	Basis        Basis   // HHV or COP
	CO2KgKWh     float64 // per kWh of higher heating value; of electricity the grid's
	CO2KgKWhLHV  float64
	CO2Biogenic  bool    // carbon that grew lately
	WaterKgKWh   float64 // steam of the flame, kg per kWh of higher heating value
	Source       string
	hhvMJ, lhvMJ float64
}

// Burns reports whether the fuel has a flame: all but the electric rows.
func (f Fuel) Burns() bool { return f.WaterKgKWh > 0 }

// PerKWh is the heating value of a unit on a basis; for COP a kWh is a kWh.
func (f Fuel) PerKWh(basis Basis) (float64, error) {
	switch {
	case basis == HHV || basis == COP && !f.Burns():
		return f.HHVKWh, nil
	case basis == LHV:
		return f.LHVKWh, nil
	}
	return 0, outside(f.Name, "efficiency of basis %q; give %s or %s, and %s for a heat pump alone", clip(string(basis)), HHV, LHV, COP)
}

var fuelTable = sync.OnceValue(func() *table.Index[Fuel] {
	return table.ReadIndex("fuels.csv", fuelsCSV, "fuel_key", func(r table.Row) Fuel {
		f := Fuel{
			Key: r.Text("fuel_key"), Name: r.Text("name"), Unit: r.Text("sales_unit"), UnitNote: r.Text("unit_note"),
			HHVKWh: r.Number("hhv_kwh_per_unit"), LHVKWh: r.Number("lhv_kwh_per_unit"),
			hhvMJ: r.Number("hhv_mj_per_unit"), lhvMJ: r.Number("lhv_mj_per_unit"),
			Efficiency: spread(r, "efficiency_low", "efficiency_typical", "efficiency_high"), Basis: Basis(r.Text("efficiency_basis")),
			CO2KgKWh: r.Number("co2_kg_per_kwh_hhv"), CO2KgKWhLHV: r.Number("co2_kg_per_kwh_lhv"), CO2Biogenic: r.Yes("co2_biogenic"),
			WaterKgKWh: r.Number("water_kg_per_kwh_hhv"), Source: r.Text("source"),
		}
		f.DensityKgM3, f.DensityKnown = r.Optional("density_kg_m3")
		return f
	})
})

// Fuels returns all fuels in the order of the table.
func Fuels() []Fuel { return fuelTable().All() }

// FuelKeys returns the keys of all fuels in the order of the table.
func FuelKeys() []string { return fuelTable().Keys() }

// LookupFuel finds a fuel by its key or its full name. The error names the keys
// most like it.
//
// Source: fuels.csv, from [eia-units], [ecfr-98-c1] and [uconn-fuels].
func LookupFuel(name string) (Fuel, error) {
	return find("fuel", name, fuelTable(), func(f Fuel) string { return f.Name })
}

// CheckEfficiency refuses an efficiency that a basis cannot have: not within
// 0.05 to 1 of the higher heating value, to 1.1 of the lower, a COP not within 1
// to 7. 0.98 of the fuel's lower heating value is less of its higher one.
func (f Fuel) CheckEfficiency(efficiency float64, basis Basis) error {
	if _, err := f.PerKWh(basis); err != nil {
		return err
	}
	switch basis {
	case COP:
		return check(f.Name, bound{"coefficient of performance", efficiency, LeastCOP, MostCOP, ""})
	case LHV:
		return check(f.Name, bound{"efficiency on the lower heating value", efficiency, LeastEfficiency, MostLHV, ""})
	}
	return check(f.Name, bound{"efficiency on the higher heating value", efficiency, LeastEfficiency, MostHHV, ""})
}

// OnHHV turns an efficiency of a basis into that of the higher heating value.
//
// Check: a gas boiler of 1.0 on the lower one is 0.901 on the higher.
func (f Fuel) OnHHV(efficiency float64, basis Basis) (float64, error) {
	if err := f.CheckEfficiency(efficiency, basis); err != nil {
		return 0, err
	}
	if basis == LHV {
		return efficiency * f.LHVKWh / f.HHVKWh, nil
	}
	return efficiency, nil
}

// Amount is how many units of sale give the heat, 0 to 1e9 kWh, at an efficiency
// of its basis.
//
// Errors: an efficiency that the basis cannot have; heat below 0.
//
// Check: 10 000 kWh: propane at 0.80 HHV 1766 L, oil at 0.82 1138 L, gas at 0.80
// 1165 m³, pellets at 0.80 2418 kg; worked by hand.
func (f Fuel) Amount(heatKWh, efficiency float64, basis Basis) (units float64, err error) {
	if err := check(f.Name, bound{"heat", heatKWh, 0, MostEnergyKWh, "kWh"}); err != nil {
		return 0, err
	}
	if err := f.CheckEfficiency(efficiency, basis); err != nil {
		return 0, err
	}
	perUnit, err := f.PerKWh(basis)
	return heatKWh / (efficiency * perUnit), err
}

// HeatKWh is the heat that units of sale give: Amount the other way round.
func (f Fuel) HeatKWh(units, efficiency float64, basis Basis) (float64, error) {
	if err := check(f.Name, bound{"amount", units, 0, MostTankUnits, f.Unit}); err != nil {
		return 0, err
	}
	if err := f.CheckEfficiency(efficiency, basis); err != nil {
		return 0, err
	}
	perUnit, err := f.PerKWh(basis)
	return units * efficiency * perUnit, err
}

// Burnt is what a flame leaves, or what a power station left for us.
type Burnt struct {
	CO2Kg       float64
	CO2Biogenic bool    // carbon that grew lately; counted all the same
	WaterKg     float64 // steam; in the room only if it leaks, with all else a flue carries
}

// Burn is what units of sale leave when burnt.
//
// Source: CO2 by [ecfr-98-c1] on the higher heating value; wood and biogas from
// memory; the grid's by its mean in the United States, which the local figure
// (0.02 to 0.9 kg/kWh) should replace.
// Check: a kilogram of propane: 3.0 kg of CO2 and 1.6 kg of water.
func (f Fuel) Burn(units float64) (Burnt, error) {
	if err := check(f.Name, bound{"amount", units, 0, MostTankUnits, f.Unit}); err != nil {
		return Burnt{}, err
	}
	kWh := units * f.HHVKWh
	return Burnt{CO2Kg: kWh * f.CO2KgKWh, CO2Biogenic: f.CO2Biogenic, WaterKg: kWh * f.WaterKgKWh}, nil
}

// Cost is the money for units of sale at a price a unit, 0 to 1e6.
func (f Fuel) Cost(units, pricePerUnit float64) (float64, error) {
	if err := check(f.Name, bound{"amount", units, 0, MostTankUnits, f.Unit}, bound{"price", pricePerUnit, 0, MostPrice, ""}); err != nil {
		return 0, err
	}
	return units * pricePerUnit, nil
}

// HeatPrice is the money for a kWh of heat in the house: the figure by which
// fuels are compared.
//
// Check: propane at 0.80 a litre and 0.80 HHV: 0.1412.
func (f Fuel) HeatPrice(pricePerUnit, efficiency float64, basis Basis) (float64, error) {
	units, err := f.Amount(1, efficiency, basis)
	if err != nil {
		return 0, err
	}
	return f.Cost(units, pricePerUnit)
}

// Warnings returns sentences about an efficiency that was typed.
func (f Fuel) Warnings(efficiency float64, basis Basis) []string {
	if f.Basis == COP || !f.Burns() {
		return nil
	}
	onHHV, err := f.OnHHV(efficiency, basis)
	if err != nil {
		return nil
	}
	var out []string
	switch {
	case onHHV > CondensingFrom && f.Efficiency.High <= CondensingFrom:
		out = append(out, fmt.Sprintf("%s: %.0f %% of the higher heating value is more than its burners reach, at most about %.0f %%: is the figure of the lower one?", f.Name, 100*onHHV, 100*f.Efficiency.High))
	case onHHV > CondensingFrom:
		out = append(out, fmt.Sprintf("%s: above %.0f %% of the higher heating value only a condensing boiler gets, and only with cool return water; is the figure of the lower one?", f.Name, 100*CondensingFrom))
	case onHHV < 0.8*f.Efficiency.Low:
		out = append(out, fmt.Sprintf("%s: %.0f %% is low; %.0f to %.0f %% is usual. Have the burner and the flue looked at.", f.Name, 100*onHHV, 100*f.Efficiency.Low, 100*f.Efficiency.High))
	}
	return out
}

// Lasts is how many days a stock lasts that is used up day by day.
//
//	stockUnits  what is there now, 0 to 1e9
//	useUnits    what each day takes, the first being today, none below 0; at least one day
//
// Part of a day is counted by the part of its use. ok is false, and days the
// length of the list, where the stock outlasts it.
func Lasts(stockUnits float64, useUnits []float64) (days float64, ok bool, err error) {
	if err := checkUse(stockUnits, useUnits); err != nil {
		return 0, false, err
	}
	for i, use := range useUnits {
		if use > stockUnits {
			return float64(i) + stockUnits/use, true, nil
		}
		stockUnits -= use
	}
	return float64(len(useUnits)), false, nil
}

// OrderBy is the last day, counted from today's 0, on which an order still comes
// before the stock falls below a reserve.
//
//	stockUnits    what is there now
//	reserveUnits  what must never be used: what a pump cannot draw, and some days' use
//	useUnits      as for Lasts
//	leadDays      from order to delivery, 0 to 365
//
// A delivery counts from the morning of its day. late is true when today is
// already too late; day is then 0. ok is false where the stock stays above the
// reserve to the end of the list: ask again with a longer one before its last
// leadDays begin.
//
// Check: 10 units a day, stock 100, reserve 20, five days' delivery: day 3.
func OrderBy(stockUnits, reserveUnits float64, useUnits []float64, leadDays int) (day int, late, ok bool, err error) {
	if err := check("order", bound{"reserve", reserveUnits, 0, MostTankUnits, ""}, bound{"days from order to delivery", float64(leadDays), 0, 365, "d"}); err != nil {
		return 0, false, false, err
	}
	left, ends, err := Lasts(math.Max(0, stockUnits-reserveUnits), useUnits)
	switch {
	case err != nil:
		return 0, false, false, err
	case stockUnits < reserveUnits:
		return 0, true, true, nil
	case !ends:
		return 0, false, false, nil
	}
	day = int(math.Floor(left)) - leadDays
	return max(0, day), day < 0, true, nil
}

func checkUse(stockUnits float64, useUnits []float64) error {
	if err := check("stock", bound{"amount", stockUnits, 0, MostTankUnits, ""}); err != nil {
		return err
	}
	if len(useUnits) == 0 {
		return outside("stock", "no use a day; give at least one day")
	}
	for i, use := range useUnits {
		if err := check(fmt.Sprintf("stock: day %d", i), bound{"use", use, 0, MostTankUnits, ""}); err != nil {
			return err
		}
	}
	return nil
}

// Months is how many months, of 365/12 days, a stock lasts at a steady mean load
// of heat, above 0 to MostPowerW.
//
// Check: 3000 kg of pellets at 3 kW and 0.78: 5.52 months.
func (f Fuel) Months(stockUnits, loadW, efficiency float64, basis Basis) (float64, error) {
	if err := check(f.Name, bound{"load", loadW, 1, MostPowerW, "W"}); err != nil {
		return 0, err
	}
	heat, err := f.HeatKWh(stockUnits, efficiency, basis)
	return heat / (loadW / 1000 * hoursOfDay * DaysOfMonth), err
}

// AirOpeningCM2 is the least free opening for the air of a burner with a flue
// that takes it from the room, by its input above 0 to MostPowerW: about 1 cm²
// for 100 kcal/h. A burner with its own air pipe needs none; the installer's and
// the code's figure go before ours.
//
// Source: [hortscience-1973]: 2 in² for 5000 Btu/h, twice the fire code of its day.
func AirOpeningCM2(inputW float64) (float64, error) {
	if err := check("opening for air", bound{"input of the burner", inputW, 1, MostPowerW, "W"}); err != nil {
		return 0, err
	}
	return inputW / 1000 * kcalPerKWh / 100, nil
}
