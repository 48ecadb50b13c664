package reckoner_test

import (
	"strings"
	"testing"

	"tidebed/reckoner"
	"tidebed/science/crop"
	"tidebed/science/power"
)

// Names of keys and outputs of fuel, electricity and gas stay.
func TestPowerNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"fuel", "load fuel efficiency price", "amount unit cost"},
		{"fuel-months", "fuel stock load efficiency reserve lead", "months days useDay orderInDays"},
		{"co2-of-fuel", "fuel amount grid", "co2Kg waterKg biogenic"},
		{"heat-price", "fuel price efficiency", "costKWh"},
		{"heat-pump", "source source-temp flow-temp", "cop"},
		{"pv-yield", "peak plane-radiation performance-ratio", "kWh"},
		{"battery-size", "load hours type efficiency voltage", "capacityKWh usedKWh ampHours"},
		{"generator-fuel", "load hours tank", "fuelL fuelLowL fuelHighL tankHours"},
		{"lamp-cost", "lamp ppfd area hours use-share price crop sun", "powerW kWhDay lampDliMolM2 costDay kWhPerKg costPerKg kWhPer1000Kcal costPer1000Kcal energyShare"},
		{"digester", "feedstock wet-mass", "ch4M3Day kWhDay"},
	})
}

func TestPowerRun(t *testing.T) {
	checkSums(t, []sum{
		// Worked by hand from printed heating values.
		{"fuel", "load=10000 kWh|fuel=propane|efficiency=80 %", "amount", 1766, 1},
		{"fuel", "load=36 GJ|fuel=heating-oil|efficiency=0.82", "amount", 1138, 1},
		{"fuel", "load=10 MWh|fuel=natural gas|efficiency=0,8", "amount", 1165, 1},
		{"fuel", "load=10000 kWh|fuel=wood-pellets|efficiency=80 %", "amount", 2418, 2},
		{"fuel", "load=10000 kWh|fuel=wood-pellets|efficiency=80 %|price=0.4", "cost", 0.4 * 2419.2, 0.5},
		{"fuel", "load=1000 kWh|fuel=firewood|efficiency=60%", "amount", 1000 / (0.6 * 16 / 3.6), 0.1},
		{"fuel", "load=1000 kWh|fuel=kerosene|efficiency=90%", "amount", 1000 / (0.9 * 10.444), 0.1},
		{"fuel", "load=1000 kWh|fuel=electricity|efficiency=100 %", "amount", 1000, 1e-9},
		{"fuel", "load=1000 kWh|fuel=electricity|efficiency=250 %", "amount", 400, 1e-9},
		{"fuel", "load=0 kWh|fuel=propane|efficiency=80 %", "amount", 0, 0},
		{"fuel-months", "fuel=wood-pellets|stock=3000|load=3 kW|efficiency=78 %", "months", 5.52, 0.006},
		{"fuel-months", "fuel=wood-pellets|stock=3000|load=3 kW|efficiency=78 %", "useDay", 72 / (0.78 * 5.167), 1e-6},
		{"fuel-months", "fuel=heating-oil|stock=100|load=10.722 kW|efficiency=100 %|reserve=28|lead=2 d", "orderInDays", 1, 0}, // 24 L a day, 72 L: 3 days
		{"fuel-months", "fuel=heating-oil|stock=100|load=10.722 kW|efficiency=100 %|reserve=28|lead=9", "orderInDays", 0, 0},
		{"co2-of-fuel", "fuel=propane-kg|amount=1", "co2Kg", 3.0, 0.005},
		{"co2-of-fuel", "fuel=propane-kg|amount=1", "waterKg", 1.6, 0.03},
		{"co2-of-fuel", "fuel=electricity|amount=100|grid=0.05", "co2Kg", 5, 1e-9},
		{"heat-price", "fuel=propane|price=0.8|efficiency=80 %", "costKWh", 0.1412, 0.00006},
		{"heat-price", "fuel=heat-pump-air|price=0.26", "costKWh", 0.10, 1e-9},
		{"heat-pump", "source-temp=2C|flow-temp=45C", "cop", 2.66, 0.006},
		{"heat-pump", "source=ground|source-temp=46.4F|flow-temp=113F", "cop", 3.44, 0.006},
		{"pv-yield", "peak=1 kW|plane-radiation=5 kWh/m2|performance-ratio=0.77", "kWh", 3.85, 1e-6},
		{"pv-yield", "peak=1000 W|plane-radiation=18 MJ/m2/d", "kWh", 4, 1e-6},
		{"battery-size", "load=150 W|hours=12", "capacityKWh", 150 * 12 / (0.8 * 0.9) / 1000, 1e-9},
		{"battery-size", "load=150 W|hours=12|voltage=12.5 V", "ampHours", 200, 1e-6},
		{"battery-size", "load=0.1 kW|hours=10 h|type=lead-acid|efficiency=80 %", "capacityKWh", 2.5, 1e-9},
		{"generator-fuel", "load=2 kW|hours=10", "fuelHighL", 10, 1e-9},
		{"generator-fuel", "load=2 kW|hours=10", "fuelLowL", 7, 1e-9},
		{"generator-fuel", "load=2 kW|hours=4|tank=10 L", "tankHours", 10, 1e-9},
		{"lamp-cost", "ppfd=200 umol/m2/s|area=6 m2|hours=16|price=0.3", "powerW", 535.7, 0.05},
		{"lamp-cost", "ppfd=200 umol/m2/s|area=6 m2|hours=16|price=0.3", "costDay", 535.714 * 16 * 0.3 / 1000, 1e-4},
		{"lamp-cost", "ppfd=200 umol/m2/s|area=6 m2|hours=16", "lampDliMolM2", 11.52, 1e-9},
		// 10 kg of slurry of 8.5 % dry, 78.5 % of that volatile, 0.2 m³/kg.
		{"digester", "feedstock=cattle-manure-slurry|wet-mass=10 kg/d", "ch4M3Day", 10 * 0.085 * 0.785 * 0.2, 1e-9},
		{"digester", "feedstock=food waste mixed|wet-mass=10 kg/d", "kWhDay", 10 * 0.25 * 0.9 * 0.42 * 9.97, 1e-6},
		{"digester", "feedstock=fish-sludge,-trout/salmon/tilapia-(plan-value)|wet-mass=1 kg/d", "ch4M3Day", 0.0325 * 0.7 * 0.23, 1e-9},
	})
}

// What lamps grow agrees with what they draw and what the crop makes of it.
func TestLampFood(t *testing.T) {
	const run = "lamp=led-good|ppfd=200 umol/m2/s|area=1 m2|hours=16|use-share=0.8|price=0.3|crop=lettuce_butterhead"
	r, ok := answered(t, "lamp-cost", run)
	if !ok {
		return
	}
	// By hand: growth 1.0·11.52/(1 + 11.52/68) g dry a day, 90 % harvested, 4.5 % dry;
	// 200 µmol/m²/s over 2.8 × 0.8 for 16 h: 1.4286 kWh.
	grownKg := 11.52 / (1 + 11.52/68) * 0.90 / 0.045 / 1000
	for _, s := range []sum{{"lamp-cost", run, "kWhPerKg", 1.42857 / grownKg, 0.001}, {"lamp-cost", run, "costPerKg", 0.3 * 1.42857 / grownKg, 0.001}} {
		checkSums(t, []sum{s})
	}
	c, err := crop.Lookup("lettuce_butterhead")
	if err != nil {
		t.Fatal(err)
	}
	kcal, _, _ := c.FoodPerM2Day(float64(c.BedDays))
	checkSums(t, []sum{{"lamp-cost", run, "kWhPer1000Kcal", 1.42857 / grownKg * 1000 / kcal, 0.01}})
	if share := r.Outputs["energyShare"].(float64); share > 0.05 || len(r.Warnings) == 0 {
		t.Errorf("%.3g of the electricity comes back as lettuce; warnings %q", share, r.Warnings)
	}
	// The same light beside a bright sun grows less.
	bright, ok := answered(t, "lamp-cost", run+"|sun=15 mol/m2/d")
	if ok && !(bright.Outputs["kWhPerKg"].(float64) > r.Outputs["kWhPerKg"].(float64)) {
		t.Errorf("beside sun %v kWh/kg, alone %v", bright.Outputs["kWhPerKg"], r.Outputs["kWhPerKg"])
	}
	checkSilences(t, []silence{
		{"lamp-cost", "ppfd=200 umol/m2/s|area=1 m2|hours=16|crop=duckweed", "kWhPerKg", "feed people"},
		{"lamp-cost", "ppfd=200 umol/m2/s|area=1 m2|hours=16|crop=potato|sun=65 mol/m2/d|price=1", "costPer1000Kcal", "nothing"},
	})
}

func TestPowerWords(t *testing.T) {
	for _, row := range []struct{ entry, inputs, output, want, warns string }{
		{"fuel", "load=1 kWh|fuel=propane|efficiency=80 %", "unit", "L", ""},
		{"fuel", "load=1 kWh|fuel=natural-gas|efficiency=80 %", "unit", "m3", ""},
		{"fuel", "load=1 kWh|fuel=firewood|efficiency=60 %", "unit", "kg", ""},
		{"fuel", "load=1 kWh|fuel=heating-oil|efficiency=97 %", "unit", "L", "lower one"},
		{"fuel", "load=1 kWh|fuel=electricity|efficiency=300 %", "unit", "kWh", "heat pump"},
		{"co2-of-fuel", "fuel=firewood|amount=10", "biogenic", "yes", "grew lately"},
		{"co2-of-fuel", "fuel=electricity|amount=10", "biogenic", "no", "United States"},
	} {
		r, ok := answered(t, row.entry, row.inputs)
		if !ok {
			continue
		}
		if r.Outputs[row.output] != row.want || !strings.Contains(strings.Join(r.Warnings, " "), row.warns) || row.warns == "" && len(r.Warnings) > 0 {
			t.Errorf("%s %s: %v, warnings %q; want %s and %q", row.entry, row.inputs, r.Outputs, r.Warnings, row.want, row.warns)
		}
	}
	r, _ := answered(t, "fuel", "load=1 kWh|fuel=propane|efficiency=80 %")
	if _, there := r.Outputs["cost"]; there {
		t.Error("a cost without a price")
	}
	r, _ = answered(t, "pv-yield", "peak=1 kW|plane-radiation=5 kWh/m2|performance-ratio=95 %")
	if len(r.Warnings) != 1 {
		t.Errorf("a ratio of 95 %%: %q", r.Warnings)
	}
	for name, caution := range map[string]string{
		"fuel": power.CautionCO, "fuel-months": power.CautionAlarm, "co2-of-fuel": power.CautionCO, "pv-yield": power.CautionPV, "battery-size": power.CautionBattery,
		"generator-fuel": power.CautionGenerator, "lamp-cost": power.CautionLamp, "digester": power.CautionBiogas, "heat-price": power.CautionGasTrade, "heat-pump": power.CautionRCD,
	} {
		e, err := reckoner.Find(name)
		if err != nil || !strings.Contains(strings.Join(e.Cautions, " "), caution) {
			t.Errorf("%s: cautions %q, %v", name, e.Cautions, err)
		}
	}
}

func TestPowerRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"fuel", "load=10000|fuel=propane|efficiency=80 %", "load", "unit"},
		{"fuel", "load=10 kW|fuel=propane|efficiency=80 %", "load", "an energy is needed"},
		{"fuel", "load=10 kWh|fuel=propane", "efficiency", "missing"},
		{"fuel", "load=10 kWh|fuel=propane|efficiency=0", "efficiency", "5 to 100 %"},
		{"fuel", "load=10 kWh|fuel=propane|efficiency=105 %", "efficiency", "lower one"},
		{"fuel", "load=10 kWh|fuel=propane|efficiency=80", "efficiency", "write the %"},
		{"fuel", "load=10 kWh|fuel=coal|efficiency=80 %", "fuel", "propane"},
		{"fuel", "load=-1 kWh|fuel=propane|efficiency=80 %", "load", "0 kWh"},
		{"heat-price", "fuel=heat-pump-air|price=1|efficiency=90 %", "efficiency", "heat pump"},
		{"fuel-months", "fuel=electricity|stock=10|load=1 kW", "fuel", "battery-size"},
		{"fuel-months", "fuel=propane|stock=10|load=0 W", "load", "1 W"},
		{"co2-of-fuel", "fuel=propane|amount=10|grid=0.1", "grid", "electricity alone"},
		{"pv-yield", "peak=1 kW|plane-radiation=5 kWh/m2|performance-ratio=120 %", "performance-ratio", "0.05 to 1"},
		{"pv-yield", "peak=1 kW|plane-radiation=5", "plane-radiation", "unit"},
		{"battery-size", "load=1 kW|hours=10|type=nickel", "type", "lithium or lead-acid"},
		{"battery-size", "load=1 kW|hours=10|efficiency=110 %", "efficiency", "0.5 to 1"},
		{"heat-pump", "source-temp=30C|flow-temp=40C", "", "20 K"},
		{"digester", "feedstock=catle-manure|wet-mass=10 kg/d", "feedstock", "cattle-manure-slurry"},
		{"digester", "feedstock=cattle-manure-slurry|wet-mass=10 kg", "wet-mass", ""},
		{"digester", "feedstock=cattle-manure-slurry|wet-mass=-1 kg/d", "wet-mass", ""},
		{"lamp-cost", "lamp=sun|ppfd=200 umol/m2/s|area=1 m2|hours=16", "lamp", "led-good"},
	})
}
