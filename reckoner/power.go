package reckoner

import (
	"fmt"

	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/science/power"
	"tidebed/science/sun"
)

// fuelsOfLoad are the fuels of the sum fuel, each in the unit it is sold in.
var fuelsOfLoad = []string{"propane", "natural-gas", "heating-oil", "wood-pellets", "kerosene", "firewood", "electricity"}

func fuelKey(choices []string) Key {
	return Key{Name: "fuel", What: "fuel of the table", Kind: Word, Choices: choices, Required: true}
}

// efficiencyKey is a share of the higher heating value; heat pumps have more.
func efficiencyKey(required bool) Key {
	return Key{
		Name: "efficiency", What: "heat in the house over the higher heating value; of a heat pump, over the electricity, as 300 %", Kind: quantity.Share,
		Low: power.LeastEfficiency, High: power.MostCOP, Range: "5 to 100 % of the higher heating value, for electricity up to 700 % (a heat pump)", Required: required,
	}
}

func priceKey(what string) Key {
	return Key{Name: "price", What: what, Kind: quantity.Plain, Low: 0, High: power.MostPrice}
}

func meanLoadKey(what string, lowW float64) Key {
	return Key{Name: "load", What: what, Kind: quantity.Power, Low: lowW, High: power.MostPowerW, Required: true}
}

func runHoursKey(what string) Key {
	return Key{Name: "hours", What: what, Kind: quantity.Duration, Unit: "h", BareUnit: "h", Low: 0, High: 8784, Required: true, Field: "hours"}
}

// unitsKey is an amount of fuel, bare, in its unit of sale.
func unitsKey(name, what string, required bool) Key {
	return Key{Name: name, What: what + ", in the unit it is sold in", Kind: quantity.Plain, Low: 0, High: power.MostTankUnits, Required: required}
}

// powerEntries are the quick sums about fuel, electricity and gas.
func powerEntries() []Entry {
	burning := power.BurningCautions()
	fuelSources := []string{"eia-units", "uconn-fuels", "ecfr-98-c1", "fuels-table"}
	return []Entry{
		{
			Name: "fuel", Title: "Fuel for an amount of heat",
			Formula: "amount = heat / (efficiency × higher heating value of the unit of sale)",
			Keys: []Key{
				{Name: "load", What: "heat in the house", Kind: quantity.Energy, Unit: "kWh", Low: 0, High: power.MostEnergyKWh, Required: true},
				fuelKey(fuelsOfLoad), efficiencyKey(true), priceKey("money for a unit"),
			},
			Outputs: []Output{
				{Name: "amount", What: "fuel, in its unit of sale"},
				{Name: "unit", What: "unit of sale"},
				{Name: "cost", What: "money for it", Optional: true},
			},
			Sources: fuelSources, Cautions: burning, run: runFuel,
		},
		{
			Name: "fuel-months", Title: "How long a tank or a bunker lasts",
			Formula: "months = stock × efficiency × heating value / (load × 730 h); the last day to order is where the stock reaches the reserve, less the days of delivery",
			Keys: []Key{
				fuelKey(power.FuelKeys()), unitsKey("stock", "what is there", true), meanLoadKey("mean heat, day and night", 1),
				efficiencyKey(false), unitsKey("reserve", "what must never be used", false),
				{Name: "lead", What: "days from order to delivery", Kind: quantity.Duration, Unit: "d", BareUnit: "d", Low: 0, High: 365, Field: "leadDays"},
			},
			Outputs: []Output{
				{Name: "months", What: "until it is empty", Unit: "months"},
				{Name: "days", What: "until it is empty", Unit: "d"},
				{Name: "useDay", What: "used in a day, in its unit of sale"},
				{Name: "orderInDays", What: "last day to order, from today; 0 today", Unit: "d", Optional: true},
			},
			Sources: fuelSources, Cautions: burning, run: runFuelMonths,
		},
		{
			Name: "co2-of-fuel", Title: "Carbon dioxide and water of a fuel",
			Formula: "kg = amount × higher heating value × kg a kWh of the table",
			Keys: []Key{
				fuelKey(power.FuelKeys()), unitsKey("amount", "what is burnt", true),
				{Name: "grid", What: "of electricity alone: kg of carbon dioxide a kWh where you are, 0.02 to 0.9", Kind: quantity.Plain, Low: 0, High: 2},
			},
			Outputs: []Output{
				{Name: "co2Kg", What: "carbon dioxide", Unit: "kg"},
				{Name: "waterKg", What: "steam of the flame", Unit: "kg"},
				{Name: "biogenic", What: "yes where the carbon grew lately"},
			},
			Sources: fuelSources, Cautions: burning, run: runCO2OfFuel,
		},
		{
			Name: "heat-price", Title: "What a kWh of heat costs",
			Formula: "price of the unit of sale / (efficiency × higher heating value)",
			Keys:    []Key{fuelKey(power.FuelKeys()), {Name: "price", What: "money for a unit", Kind: quantity.Plain, Low: 0, High: power.MostPrice, Required: true}, efficiencyKey(false)},
			Outputs: []Output{{Name: "costKWh", What: "money for a kWh of heat in the house"}},
			Sources: fuelSources, Cautions: burning, run: runHeatPrice,
		},
		{
			Name: "heat-pump", Title: "Heat out for electricity in",
			Formula: "0.4 × (flow in kelvin) / (flow − source); 0.9 of it on outdoor air of −5 to 5 °C",
			Keys: []Key{
				{Name: "source", What: "where it takes its heat", Kind: Word, Choices: []string{string(power.OutdoorAir), string(power.Ground)}, Default: string(power.OutdoorAir)},
				{Name: "source-temp", What: "outdoor air, or brine as it comes in", Kind: quantity.Temperature, Low: -25, High: 45, Required: true},
				{Name: "flow-temp", What: "of the water or air it warms", Kind: quantity.Temperature, Low: -5, High: 70, Required: true},
			},
			Outputs:  []Output{{Name: "cop", What: "heat over electricity"}},
			Sources:  []string{"heat-pump-rule"},
			Cautions: []string{"A rule for planning: the maker's table at the same two temperatures goes before it.", power.CautionRCD},
			run: func(in *inputs, out *answer) error {
				cop, err := power.HeatPumpCOP(power.Source(in.Word("source")), in.Number("source-temp"), in.Number("flow-temp"))
				out.Set("cop", cop)
				return err
			},
		},
		{
			Name: "pv-yield", Title: "Electricity from panels", Formula: "kWh = rated kW × radiation on the panels' plane in kWh/m² × performance ratio",
			Keys: []Key{
				{Name: "peak", What: "rated power of the panels", Kind: quantity.Power, Low: 0, High: power.MostPowerW, Required: true},
				{Name: "plane-radiation", What: "radiation on their plane", Kind: quantity.Radiation, Low: 0, High: 5000 * 3.6, Range: "0 to 5000 kWh/m2 (18000 MJ/m2)", Required: true},
				{Name: "performance-ratio", What: "share left after cables, inverter, dirt and warm cells", Kind: quantity.Share, Low: 0.05, High: 1, Default: "0.8"},
			},
			Outputs:  []Output{{Name: "kWh", What: "electric energy of the same time", Unit: "kWh"}},
			Sources:  []string{"pv-practice"},
			Cautions: []string{power.CautionPV},
			run:      runPVYield,
		},
		{
			Name: "battery-size", Title: "Battery for a power cut", Formula: "capacity = load × hours / (share that may be drawn × efficiency)",
			Keys: []Key{
				meanLoadKey("what must run", 0), runHoursKey("hours without mains"),
				{Name: "type", What: "kind of battery", Kind: Word, Choices: []string{"lithium", "lead-acid"}, Default: "lithium"},
				{Name: "efficiency", What: "given of what is drawn, inverter included", Kind: quantity.Share, Low: 0.5, High: 1, Default: "0.9"},
				{Name: "voltage", What: "of the battery", Kind: quantity.Voltage, Low: 1, High: 1500},
			},
			Outputs: []Output{
				{Name: "capacityKWh", What: "capacity as rated", Unit: "kWh"},
				{Name: "usedKWh", What: "what the load takes", Unit: "kWh"},
				{Name: "ampHours", What: "the capacity at the voltage", Unit: "Ah", Optional: true},
			},
			Sources:  []string{"battery-practice"},
			Cautions: []string{power.CautionBattery, "Buy a quarter more: age and cold take their share. Run it in the dark for an evening before you trust it."},
			run:      runBatterySize,
		},
		{
			Name: "generator-fuel", Title: "Fuel of a generator", Formula: "litres = 0.35 to 0.5 × kWh; below a third of its power more",
			Keys: []Key{
				meanLoadKey("mean electric load", 1), runHoursKey("hours of running"),
				{Name: "tank", What: "fuel at hand", Kind: quantity.Volume, Unit: "L", Low: 0, High: 1e6},
			},
			Outputs: []Output{
				{Name: "fuelL", What: "typical", Unit: "L"}, {Name: "fuelLowL", What: "at best", Unit: "L"}, {Name: "fuelHighL", What: "what to have at hand", Unit: "L"},
				{Name: "tankHours", What: "how long the tank lasts, at the high use", Unit: "h", Optional: true},
			},
			Sources:  []string{"generator-practice"},
			Cautions: []string{power.CautionGenerator, power.CautionGenTest},
			run:      runGeneratorFuel,
		},
		{
			Name: "lamp-cost", Title: "What light from lamps costs, and what it grows",
			Formula: "W = flux × area / (efficacy × share used); growth of a closed stand with the lamps less that without, by its light curve; per kilogram and per 1000 kcal",
			Keys: []Key{
				{Name: "lamp", What: "lamp of the table, typical efficacy", Kind: Word, Choices: power.LampKeys(), Default: "led-good"},
				{Name: "ppfd", What: "photon flux of the lamps on the crop", Kind: quantity.PhotonFlux, Low: 0.1, High: 5000, Required: true},
				{Name: "area", What: "area lit", Kind: quantity.Area, Low: 0.001, High: 1e5, Required: true},
				{Name: "hours", What: "hours of lamps a day", Kind: quantity.Duration, Unit: "h", BareUnit: "h", Low: 0.01, High: 24, Required: true, Field: "hours"},
				{Name: "use-share", What: "share of the light that lands on the crop", Kind: quantity.Share, Low: 0.05, High: 1, Default: "0.8"},
				priceKey("money for a kWh"),
				{Name: "crop", What: "crop of the table", Kind: Word, Choices: crop.Keys()},
				{Name: "sun", What: "light of the sun on the crop beside the lamps'", Kind: quantity.LightSum, Low: 0, High: crop.MostDLIMolM2, Default: "0 mol/m2/d"},
			},
			Outputs: []Output{
				{Name: "powerW", What: "electric power", Unit: "W"},
				{Name: "kWhDay", What: "electric energy", Unit: "kWh/d"},
				{Name: "lampDliMolM2", What: "light the lamps give", Unit: "mol/m2/d"},
				{Name: "costDay", What: "money a day", Optional: true},
				{Name: "kWhPerKg", What: "for a kilogram more of the harvest, at the least", Unit: "kWh/kg", Optional: true},
				{Name: "costPerKg", What: "money for that", Optional: true},
				{Name: "kWhPer1000Kcal", What: "for 1000 kcal more on the plate, at the least", Unit: "kWh", Optional: true},
				{Name: "costPer1000Kcal", What: "money for that", Optional: true},
				{Name: "energyShare", What: "food energy over electricity", Optional: true},
			},
			Sources:  []string{"nelson-bugbee-2014", "lamps-table", "closed-stand", "crops-table"},
			Cautions: []string{power.CautionLamp},
			run:      runLampCost,
		},
		{
			Name: "digester", Title: "Gas from a digester", Formula: "methane = mass × dry share × volatile share × yield; 9.97 kWh a m³, lower heating value",
			Keys: []Key{
				{Name: "feedstock", What: "what is fed", Kind: Word, Choices: power.SubstrateKeys(), Required: true, fold: power.Slug},
				{Name: "wet-mass", What: "fresh mass a day", Kind: quantity.MassRate, Unit: "kg/d", Low: 0, High: 1e5, Required: true},
			},
			Outputs: []Output{
				{Name: "ch4M3Day", What: "methane at 0 °C and 101.325 kPa", Unit: "m3/d"},
				{Name: "kWhDay", What: "its lower heating value", Unit: "kWh/d"},
			},
			Sources:  []string{"klein-2024", "biogas-table"},
			Cautions: []string{power.CautionBiogas, power.CautionDigestate, power.CautionFewPercent},
			run:      runDigester,
		},
	}
}

// lookupFuel finds the fuel of an answer and its efficiency, the table's typical
// one where none is given.
func lookupFuel(in *inputs, out *answer) (f power.Fuel, efficiency float64, basis power.Basis, err error) {
	if f, err = power.LookupFuel(in.Word("fuel")); err != nil {
		return f, 0, "", in.Refuse("fuel", "Fuel: %s.", err)
	}
	basis = power.HHV
	efficiency = in.Number("efficiency")
	switch {
	case !in.Given("efficiency"):
		efficiency = f.Efficiency.Typical
		out.Warn("No efficiency is given: %.0f %%, usual for this fuel, is taken.", 100*efficiency)
		if f.Basis == power.COP {
			basis = power.COP
		}
	case f.Basis == power.COP:
		basis = power.COP
	case !f.Burns() && efficiency > power.MostHHV:
		basis = power.COP
		out.Warn("More heat than electricity: taken as a heat pump with %g of heat for 1 of electricity.", efficiency)
	}
	if basis == power.HHV && efficiency > power.MostHHV {
		return f, 0, "", in.Refuse("efficiency", "Efficiency must be at most 100 %% of the higher heating value. You entered %g %%; if that is of the lower one, give %.1f %%.", 100*efficiency, 100*efficiency*f.LHVKWh/f.HHVKWh)
	}
	if basis == power.COP && efficiency < power.LeastCOP {
		return f, 0, "", in.Refuse("efficiency", "Efficiency of a heat pump must be 100 to 700 %%. You entered %g %%.", 100*efficiency)
	}
	for _, w := range f.Warnings(efficiency, basis) {
		out.Warn("%s", w)
	}
	return f, efficiency, basis, nil
}

func runFuel(in *inputs, out *answer) error {
	f, efficiency, basis, err := lookupFuel(in, out)
	if err != nil {
		return err
	}
	amount, err := f.Amount(in.Number("load"), efficiency, basis)
	if err != nil {
		return err
	}
	out.Set("amount", amount)
	out.Text("unit", f.Unit)
	if in.Given("price") {
		out.Set("cost", amount*in.Number("price"))
	}
	return nil
}

func runFuelMonths(in *inputs, out *answer) error {
	f, efficiency, basis, err := lookupFuel(in, out)
	if err != nil {
		return err
	}
	if f.Unit == "kWh" {
		return in.Refuse("fuel", "Fuel: electricity is not kept in a tank; ask battery-size.")
	}
	stock, reserve, loadW := in.Number("stock"), in.Number("reserve"), in.Number("load")
	if reserve > stock {
		out.Warn("The stock is below the reserve already.")
	}
	months, err := f.Months(stock, loadW, efficiency, basis)
	if err != nil {
		return err
	}
	useDay, err := f.Amount(loadW/1000*24, efficiency, basis)
	if err != nil {
		return err
	}
	out.Set("months", months)
	out.Set("days", months*power.DaysOfMonth)
	out.Set("useDay", useDay)
	if !in.Given("lead") {
		return nil
	}
	day := max(0, stock-reserve)/useDay - in.Number("lead")
	if day < 0 {
		out.Warn("Order today: it comes after the stock is down to its reserve.")
		day = 0
	}
	out.Set("orderInDays", float64(int(day)))
	return nil
}

func runCO2OfFuel(in *inputs, out *answer) error {
	f, err := power.LookupFuel(in.Word("fuel"))
	if err != nil {
		return in.Refuse("fuel", "Fuel: %s.", err)
	}
	b, err := f.Burn(in.Number("amount"))
	if err != nil {
		return err
	}
	switch {
	case in.Given("grid") && f.Burns():
		return in.Refuse("grid", "Grid goes with electricity alone, not with %s.", f.Name)
	case in.Given("grid"):
		b.CO2Kg = in.Number("grid") * in.Number("amount")
	case !f.Burns():
		out.Warn("%g kg a kWh is the mean of the grid in the United States; give your own as grid, 0.02 to 0.9.", f.CO2KgKWh)
	}
	biogenic := "no"
	if b.CO2Biogenic {
		biogenic = "yes"
		out.Warn("This carbon grew lately; it counts as new only where what was cut does not grow again.")
	}
	out.Set("co2Kg", b.CO2Kg)
	out.Set("waterKg", b.WaterKg)
	out.Text("biogenic", biogenic)
	return nil
}

func runHeatPrice(in *inputs, out *answer) error {
	f, efficiency, basis, err := lookupFuel(in, out)
	if err != nil {
		return err
	}
	cost, err := f.HeatPrice(in.Number("price"), efficiency, basis)
	out.Set("costKWh", cost)
	return err
}

func runPVYield(in *inputs, out *answer) error {
	ratio := in.Number("performance-ratio")
	if ratio > power.LikelyMostPR {
		out.Warn("A performance ratio above %g is rare; 0.75 to 0.80 is usual.", power.LikelyMostPR)
	}
	kWh, err := power.PVKWh(in.Number("peak"), in.Number("plane-radiation")/3.6, ratio)
	out.Set("kWh", kWh)
	return err
}

func runBatterySize(in *inputs, out *answer) error {
	share := power.LithiumShare
	if in.Word("type") == "lead-acid" {
		share = power.LeadAcidShare
	}
	loadW, hours := in.Number("load"), in.Number("hours")
	kWh, err := power.BatteryKWh(loadW, hours, share, in.Number("efficiency"))
	if err != nil {
		return err
	}
	out.Set("capacityKWh", kWh)
	out.Set("usedKWh", loadW/1000*hours)
	if in.Given("voltage") {
		out.Set("ampHours", kWh*1000/in.Number("voltage"))
	}
	return nil
}

func runGeneratorFuel(in *inputs, out *answer) error {
	litres, err := power.GeneratorFuelL(in.Number("load"), in.Number("hours"))
	if err != nil {
		return err
	}
	out.Set("fuelL", litres.Typical)
	out.Set("fuelLowL", litres.Low)
	out.Set("fuelHighL", litres.High)
	if in.Given("tank") {
		hours, err := power.GeneratorHours(in.Number("tank"), in.Number("load"))
		if err != nil {
			return err
		}
		out.Set("tankHours", hours)
		if hours < in.Number("hours") {
			out.Warn("The tank may be empty after %.1f h: have more fuel at hand, or shed load.", hours)
		}
	}
	return nil
}

func runLampCost(in *inputs, out *answer) error {
	lamp, err := power.LookupLamp(in.Word("lamp"))
	if err != nil {
		return in.Refuse("lamp", "Lamp: %s.", err)
	}
	efficacy, use := lamp.EfficacyUmol.Typical, in.Number("use-share")
	watts, err := power.LampW(in.Number("ppfd"), in.Number("area"), efficacy, use)
	if err != nil {
		return err
	}
	dli, err := sun.LampMolM2(in.Number("ppfd"), in.Number("hours"))
	if err != nil {
		return err
	}
	kWhDay := watts / 1000 * in.Number("hours")
	out.Set("powerW", watts)
	out.Set("kWhDay", kWhDay)
	out.Set("lampDliMolM2", dli)
	if in.Given("price") {
		out.Set("costDay", kWhDay*in.Number("price"))
	}
	if !in.Given("crop") {
		return nil
	}
	c, err := lookupCrop(in)
	if err != nil {
		return err
	}
	names := []string{"kWhPerKg", "kWhPer1000Kcal", "energyShare"}
	if in.Given("price") {
		names = append(names, "costPerKg", "costPer1000Kcal")
	}
	sunMol := in.Number("sun")
	grown := c.ClosedStand(sunMol+dli) - c.ClosedStand(sunMol)
	kcalKg, _, fed := c.FoodPerM2Day(float64(c.BedDays)) // 1 kg a day
	switch {
	case !fed || kcalKg < 1:
		out.Warn("%s has no row in the food table: it does not feed people directly.", c.Name)
		out.Null(names...)
		return nil
	case !(grown > 0):
		out.Warn("The sun alone gives %s all the light it can use; the lamps add nothing.", c.Name)
		out.Null(names...)
		return nil
	case sunMol+dli > c.DLIOpt:
		out.Warn("With the lamps it is %.0f mol/m² a day; above %g %s gains little.", sunMol+dli, c.DLIOpt, c.Name)
	}
	g, err := power.LampGain(efficacy, use, grown*c.HarvestIndex/c.DryMatterShare/dli, kcalKg, in.Number("price"))
	if err != nil {
		return err
	}
	out.Warn("At the least: for a stand that covers its bed, at its best temperature. Over a whole crop expect up to twice as much.")
	out.Warn("Of the electricity %s comes back as food; in winter the lamps' heat is worth something too.", percent(g.EnergyShare))
	out.Set("kWhPerKg", g.KWhKg)
	out.Set("kWhPer1000Kcal", g.KWhMcal)
	out.Set("energyShare", g.EnergyShare)
	if in.Given("price") {
		out.Set("costPerKg", g.CostKg)
		out.Set("costPer1000Kcal", g.CostMcal)
	}
	return nil
}

// percent prints a share with the digits it deserves.
func percent(share float64) string { return fmt.Sprintf("%.2g %%", 100*share) }

func runDigester(in *inputs, out *answer) error {
	s, err := power.LookupSubstrate(in.Word("feedstock"))
	if err != nil {
		return in.Refuse("feedstock", "Feedstock: %s.", err)
	}
	g, err := power.GasOf([]power.Feed{{Substrate: s, WetKgD: in.Number("wet-mass")}})
	if err != nil {
		return err
	}
	if s.SolidsHigh > 1.3*s.SolidsLow {
		out.Warn("Taken as %.3g %% dry, the middle of %.3g to %.3g %%: measure yours, the gas goes with it.", 100*s.Solids(), 100*s.SolidsLow, 100*s.SolidsHigh)
	}
	if s.SolidsNote != "" {
		out.Warn("Dry matter in %% by how it is caught: %s.", s.SolidsNote)
	}
	if s.Group == "fish offal" || s.Group == "fat" {
		out.Warn("Keep it under 20 %% of all that is fed: alone it foams and turns sour.")
	}
	out.Warn("By yield alone %.2f to %.2f m³ of methane a day, kept near 35 °C long enough; a cold or hurried digester gives less.", g.CH4M3D.Low, g.CH4M3D.High)
	out.Set("ch4M3Day", g.CH4M3D.Typical)
	out.Set("kWhDay", g.KWhD.Typical)
	return nil
}
