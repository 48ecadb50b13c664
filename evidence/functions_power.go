package evidence

import (
	"context"
	"fmt"
	"maps"

	"tidebed/science/power"
)

func init() {
	maps.Copy(functions, map[string]function{
		"fuel-value":    fuelValue,
		"fuel-co2":      fuelCO2,
		"air-opening":   airOpening,
		"lamp-efficacy": lampEfficacy,
		"methane-yield": methaneYield,
		"panel-hour": lightFigures(func(n lightInputs) (float64, error) {
			return power.PVHourW(n["peak"], n["irradiance"], n["air"], n["ratio"])
		}),
		"digester-works": digesterWorks,
		"dispatch":       dispatchStored,
	})
}

// perUnits turn kWh for the unit of sale into the units that sources print.
var perUnits = map[string]float64{
	"Btu/gal": 3.785411784 * 3.6e6 / 1055.05585262, "Btu/ft3": 0.028316846592 * 3.6e6 / 1055.05585262,
	"Btu/lb": 0.45359237 * 3.6e6 / 1055.05585262, "MMBtu": 3.6 / 1055.05585262,
}

// fuelValue is the higher heating value of a fuel's unit of sale in the printed
// unit "in".
func fuelValue(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	f, err := power.LookupFuel(in["fuel"])
	if err != nil {
		return 0, err
	}
	by, known := perUnits[in["in"]]
	if !known {
		return 0, fmt.Errorf("in=%s is no unit of a heating value here", in["in"])
	}
	return f.HHVKWh * by, nil
}

// fuelCO2 is what a million Btu of a fuel leaves, kg; with gallons or cubic feet
// what that many of them leave.
func fuelCO2(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	f, err := power.LookupFuel(in["fuel"])
	if err != nil {
		return 0, err
	}
	units := 1 / (f.HHVKWh * perUnits["MMBtu"])
	for key, size := range map[string]float64{"gallons": 3.785411784, "cubic-feet": 0.028316846592} {
		if _, given := in[key]; given {
			n, err := numberOf(in, key, 0)
			if err != nil {
				return 0, err
			}
			units = n * size
		}
	}
	b, err := f.Burn(units)
	return b.CO2Kg, err
}

// airOpening is the opening in square inches for a burner of so many Btu/h.
func airOpening(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	btuH, err := numberOf(in, "btu-h", 0)
	if err != nil {
		return 0, err
	}
	cm2, err := power.AirOpeningCM2(btuH * 1055.05585262 / 3600)
	return cm2 / 6.4516, err
}

// ofSpread is the figure that "of" names: low, typical or high.
func ofSpread(s power.Spread, of string) (float64, error) {
	switch of {
	case "low":
		return s.Low, nil
	case "typical":
		return s.Typical, nil
	case "high":
		return s.High, nil
	}
	return 0, fmt.Errorf("of=%s; give low, typical or high", of)
}

func lampEfficacy(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	l, err := power.LookupLamp(in["lamp"])
	if err != nil {
		return 0, err
	}
	return ofSpread(l.EfficacyUmol, in["of"])
}

// methaneYield is that of a substrate in litres a kg of volatile solids.
func methaneYield(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	s, err := power.LookupSubstrate(in["substrate"])
	if err != nil {
		return 0, err
	}
	m3, err := ofSpread(s.CH4M3Kg, in["of"])
	return 1000 * m3, err
}

// digesterWorks is a figure of the worked example: fish sludge from 5 kg of feed a
// day, 10 kg of kitchen waste, 20 kg of leaves in 58 L a day, 30 days, its own heat
// left out.
func digesterWorks(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	var feeds []power.Feed
	for _, row := range []struct {
		key                             string
		wetKgD, solids, volatile, yield float64
	}{
		{"fish-sludge-trout-salmon-tilapia-plan-value", 5 * 0.25 * 0.6 / 0.027, 0.027, 0.8, 0.23},
		{"food-waste-mixed", 10, 0.23, 0.9, 0.40},
		{"cucumber-pepper-tomato-plants", 20, 0.06, 0.85, 0.178},
	} {
		s, err := power.LookupSubstrate(row.key)
		if err != nil {
			return 0, err
		}
		feeds = append(feeds, power.Feed{Substrate: s, WetKgD: row.wetKgD, Solids: row.solids, Volatile: row.volatile, CH4M3Kg: row.yield})
	}
	w, err := power.Digest(feeds, power.Vessel{SlurryLD: 58, HoldDays: 30, DigesterC: 35, FeedC: 35, AroundC: 35})
	if err != nil {
		return 0, err
	}
	figures := map[string]float64{"methane": w.CH4M3D.Typical, "energy": w.KWhD.Typical, "liquid": w.LiquidM3, "built": w.BuiltM3, "load": w.LoadKgM3D, "heat": w.MeanHeatW}
	v, known := figures[in["figure"]]
	if !known {
		return 0, fmt.Errorf("figure=%s is none of a digester", in["figure"])
	}
	return v, nil
}

// dispatchStored is what a battery of 10 kWh (stores 0.9, gives 0.8, 3 kW in, 2 kW
// out) holds after an hour of load and sun.
func dispatchStored(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	b := power.Battery{CapacityKWh: 10, DischargeShare: 0.8, ChargeEff: 0.9, DischargeEff: 0.8, ChargeKW: 3, DischargeKW: 2}
	f, err := power.Dispatch(b, n["stored"], power.Hour{LoadKWh: n["load"], PVKWh: n["sun"]})
	return f.StoredKWh, err
}
