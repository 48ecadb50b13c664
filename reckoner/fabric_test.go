package reckoner_test

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"tidebed/reckoner"
)

// Names of keys and outputs of heat and damp stay.
func TestFabricNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"heat-loss", "area u inside outside volume air-changes", "transmissionW infiltrationW totalW"},
		{"tank-cooling", "volume ua water air limit", "hours"},
		{"cover-u", "cover u wind curtain", "uWm2K uLowWm2K uHighWm2K savedShare"},
		{"heating-season", "means set ua gains", "baseC degreeDays kWh"},
		{"heater-size", "ua inside outside tmin sd", "designC lossW lowW highW eachOfTwoW"},
		{"condensation", "inside outside rh u area film pressure", "coverC dewPointC kgH"},
		{"transpiration-inside", "temp rh lai light ppfd leaf-resistance air-resistance pressure", "latentWm2 mmH lowMmH highMmH"},
		{"vent-for-moisture", "inside rh outside outside-rh water pressure", "flowM3S heatW"},
		{"pad-cooling", "temp rh flow efficiency pressure", "airC rhShare kgH"},
		{"frost-hours", "inside outside water volume ua tank-ua air-times limit", "restC hours"},
		{"room-co2", "volume air-changes feed oxygen-per-feed people leaves co2", "gH ppm"},
	})
}

// Worked by hand, in several units.
func TestFabricRun(t *testing.T) {
	const house = "area=168.70 m2|u=4 W/m2K|inside=12 C|outside=-12 C|volume=212.4 m3|air-changes=0.75"
	const vermont = "means=-7.2 C; -5.6 C; -0.5 C; 7.8 C; 13.8 C; 19.3 C; 21.1 C; 19.8 C; 15.1 C; 8.7 C; 2.8 C; -1.5 C"
	const cut = "inside=14 C|outside=-12 C|water=24 C|volume=212.4 m3|ua=778 W/K|tank-ua=192.6 W/K"
	checkSums(t, []sum{
		{"heat-loss", house, "transmissionW", 16195, 16},
		{"heat-loss", house, "infiltrationW", 1281, 1.3},
		{"heat-loss", house, "totalW", 16195 + 1281, 17},
		{"heat-loss", "area=1815.9 ft2|u=0.7044 BTU/h/ft2/°F|inside=53.6F|outside=10.4F|volume=212.4 m3|air-changes=0.75 /h", "totalW", 16195 + 1281, 20},
		{"tank-cooling", "volume=2011 L|ua=32.1 W/K|water=26 C|air=10 C|limit=18 C", "hours", 50.5, .25},
		{"tank-cooling", "volume=2011 L|ua=10.25 W/K|water=26 C|air=10 C|limit=18 C", "hours", 158, .8},
		{"tank-cooling", "volume=2011 L|ua=10.25 W/K|water=18 C|air=10 C|limit=18 C", "hours", 0, 0},
		{"tank-cooling", "volume=2011 L|ua=0 W/K|water=15 C|air=20 C|limit=18 C", "hours", 0, 0},
		{"cover-u", "u=6.2 W/m2K|wind=2 m/s", "uWm2K", 4.89, .006},
		{"cover-u", "cover=single-glass-4-mm|wind=10 m/s", "uWm2K", 6.58, .006},
		{"cover-u", "cover=polyethylene-double-inflated|curtain=thermal-curtain-closed-aluminised-50-percent", "uWm2K", 1 / (.25 + .2), 1e-9},
		{"cover-u", "cover=polyethylene-double-inflated|curtain=thermal-curtain-closed-aluminised-50-percent", "savedShare", 1 - .25/.45, 1e-9},
		{"cover-u", "cover=single glass 4 mm", "uHighWm2K", 6.8, 1e-9},
		{"heating-season", vermont + "|set=18 C|ua=778 W/K", "degreeDays", 4026, 1},
		{"heating-season", vermont + "|set=18 C|ua=778 W/K", "kWh", 75173, 20},
		{"heating-season", vermont + "|set=23 C|ua=778 W/K|gains=3890", "baseC", 18, 1e-9},
		{"heater-size", "ua=777.8 W/K|inside=12 C|outside=-12 C", "lowW", 21468, 5},
		{"heater-size", "ua=777.8 W/K|inside=12 C|outside=-12 C", "highW", 23335, 5},
		{"heater-size", "ua=100 W/K|inside=12 C|tmin=-12.2 C|sd=6.9 K", "designC", -29.45, 1e-9},
		{"heater-size", "ua=100 W/K|inside=12 C|tmin=-12.2 C|sd=6.9 K", "eachOfTwoW", 60 * 41.45, 1e-6},
		{"condensation", "inside=18 C|outside=0 C|rh=85 %|u=4 W/m2K", "coverC", 9, 1e-9},
		{"condensation", "inside=18 C|outside=0 C|rh=85 %|u=4 W/m2K", "dewPointC", 15.4, .1},
		{"condensation", "inside=18 C|outside=0 C|rh=85 %|u=4 W/m2K|area=10 m2", "kgH", .48, .005},
		{"condensation", "inside=18 C|outside=10 C|rh=50 %|u=4 W/m2K", "kgH", 0, 0},
		{"transpiration-inside", "temp=22 C|rh=70 %|lai=3|light=189.93 W/m2|ppfd=300 umol/m2/s", "latentWm2", 141.4, .2},
		{"transpiration-inside", "temp=22 C|rh=70 %|lai=3|light=189.93 W/m2|leaf-resistance=216|air-resistance=300", "latentWm2", 121.8, .2},
		{"transpiration-inside", "temp=22 C|rh=70 %|lai=3|light=189.93 W/m2|leaf-resistance=216", "highMmH", .208 * 1.25, .001},
		{"vent-for-moisture", "inside=18 C|rh=85 %|outside=2 C|outside-rh=80 %|water=5 kg/h", "flowM3S", .1549, .0008},
		{"vent-for-moisture", "inside=18 C|rh=85 %|outside=2 C|outside-rh=80 %|water=120 kg/d", "heatW", 2988, 15},
		{"pad-cooling", "temp=35 C|rh=30 %", "airC", 24.22, .05},
		{"pad-cooling", "temp=40 C|rh=10 %|flow=2 m3/s", "kgH", 2 * 27.6, .1},
		{"frost-hours", cut + "|air-times=1", "hours", .099, .001},
		{"frost-hours", cut, "restC", -4.86, .005},
		{"frost-hours", cut + "|limit=15 C", "hours", 0, 0},
		{"room-co2", "volume=212.4 m3|air-changes=1|feed=5 kg/d", "gH", 114.6, .05},
		{"room-co2", "volume=212.4 m3|air-changes=1|feed=5 kg/d|co2=400", "ppm", 695, 3},
		{"room-co2", "volume=100 m3|air-changes=1|people=2|leaves=68 g/h", "ppm", 420, 1e-6},
	})
	for _, w := range []struct{ entry, inputs, says string }{
		{"heat-loss", strings.Replace(house, "=-12 C", "=30 C", 1), "gains"},
		{"heat-loss", strings.Replace(house, "0.75", "6", 1), "4 air changes"},
		{"room-co2", "volume=20 m3|air-changes=0.1|people=10", "leave the room"},
		{"room-co2", "volume=200 m3|air-changes=0.5|leaves=50 g/h", "grow little"},
		{"condensation", "inside=10 C|outside=-30 C|rh=90 %|u=6.5 W/m2K", "ices"},
		{"pad-cooling", "temp=32 C|rh=90 %", "shade"},
		{"cover-u", "u=0.5 W/m2K", "resistance"},
	} {
		if r, ok := answered(t, w.entry, w.inputs); ok && !strings.Contains(strings.Join(r.Warnings, " "), w.says) {
			t.Errorf("%s %s: warnings %q, want one with %q", w.entry, w.inputs, r.Warnings, w.says)
		}
	}
}

func TestFabricSilences(t *testing.T) {
	const cut = "inside=14 C|water=24 C|volume=212.4 m3|ua=778 W/K|tank-ua=192.6 W/K"
	checkSilences(t, []silence{
		{"tank-cooling", "volume=2 m3|ua=30 W/K|water=26 C|air=18 C|limit=18 C", "hours", "never"},
		{"tank-cooling", "volume=2 m3|ua=0 W/K|water=26 C|air=10 C|limit=18 C", "hours", "no loss"},
		{"vent-for-moisture", "inside=18 C|rh=60 %|outside=25 C|outside-rh=80 %|water=5 kg/h", "flowM3S", "Warm"},
		{"frost-hours", cut + "|outside=5 C", "hours", "tanks"},
		{"room-co2", "volume=200 m3|air-changes=0|people=1", "ppm", "open"},
		{"room-co2", "volume=200 m3|air-changes=0.5|leaves=500 g/h", "ppm", "Ventilate"},
		{"condensation", "inside=18 C|outside=0 C|rh=0 %|u=4 W/m2K", "dewPointC", "dry"},
	})
}

func TestFabricRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"heat-loss", "area=100 m2|u=12 W/m2K|inside=12 C|outside=0 C|volume=100 m3|air-changes=1", "u", "10"},
		{"heat-loss", "area=100 m2|u=4 W/m2K|inside=12 C|outside=0 C|volume=100 m3|air-changes=-1", "air-changes", "0"},
		{"heat-loss", "area=100 m2|u=4|inside=12 C|outside=0 C|volume=100 m3|air-changes=1", "u", "unit"},
		{"tank-cooling", "volume=2 m3|ua=30 W/K|water=26 C|air=18 C", "limit", "missing"},
		{"cover-u", "cover=single-glass-4-mm|u=6 W/m2K", "u", "only one"},
		{"cover-u", "cover=single-glas", "cover", "single-glass"},
		{"cover-u", "u=10 W/m2K|wind=40 m/s", "wind", "less wind"},
		{"heating-season", "means=1 C; 2 C|set=18 C|ua=100 W/K", "means", "twelve"},
		{"heating-season", "means=1 C;1 C;1 C;1 C;1 C;1 C;1 C;1 C;1 C;1 C;1 C;1 C|set=18 C|ua=1 W/K|gains=1 kW", "gains", "check"},
		{"heater-size", "ua=100 W/K|inside=12 C|outside=15 C", "inside", "no heater"},
		{"heater-size", "ua=100 W/K|inside=12 C|tmin=-50 C|sd=15 K", "tmin", "colder"},
		{"heater-size", "ua=100 W/K|inside=12 C", "outside", "One of"},
		{"condensation", "inside=18 C|outside=0 C|rh=85 %|u=9 W/m2K", "u", "film"},
		{"condensation", "inside=18 C|outside=0 C|rh=85|u=4 W/m2K", "rh", "%"},
		{"transpiration-inside", "temp=22 C|rh=70 %|lai=3|light=100 W/m2", "ppfd", "One of"},
		{"pad-cooling", "temp=3 C|rh=10 %", "temp", "freeze"},
		{"room-co2", "volume=0.1 m3|air-changes=0.0001|people=1000", "air-changes", "all of the air"},
	})
}

// At either end of each key's range an entry answers or refuses in a sentence,
// whatever the other keys are within theirs.
func TestFabricAtTheEnds(t *testing.T) {
	for _, base := range []string{
		"heat-loss area=168 m2|u=4 W/m2K|inside=12 C|outside=-12 C|volume=212.4 m3|air-changes=0.75",
		"tank-cooling volume=2 m3|ua=32 W/K|water=26 C|air=10 C|limit=18 C",
		"cover-u u=6.2 W/m2K|wind=2 m/s",
		"heater-size ua=778 W/K|inside=12 C|tmin=-5 C",
		"condensation inside=18 C|outside=0 C|rh=85 %|u=4 W/m2K",
		"transpiration-inside temp=22 C|rh=70 %|lai=3|light=200 W/m2|ppfd=300 umol/m2/s",
		"vent-for-moisture inside=18 C|rh=85 %|outside=2 C|outside-rh=80 %|water=5 kg/h",
		"pad-cooling temp=35 C|rh=30 %",
		"frost-hours inside=14 C|outside=-12 C|water=24 C|volume=212.4 m3|ua=778 W/K",
		"room-co2 volume=212.4 m3|air-changes=1|feed=5 kg/d",
	} {
		name, inputs, _ := strings.Cut(base, " ")
		e, err := reckoner.Find(name)
		if err != nil {
			t.Fatal(err)
		}
		first := typed(inputs)
		for _, one := range e.Keys {
			for _, other := range e.Keys {
				for ends := range 4 {
					given := map[string]string{}
					for k, v := range first {
						given[k] = v
					}
					for i, k := range []reckoner.Key{one, other} {
						if _, there := given[k.Name]; k.Kind == reckoner.Word || !there && k.Default == "" {
							continue
						}
						v := k.Low
						if ends>>i&1 == 1 {
							v = k.High
						}
						text := strconv.FormatFloat(v, 'f', -1, 64)
						if k.Unit == "1" && k.NoBare {
							text = strconv.FormatFloat(100*v, 'f', -1, 64) + " %"
						} else if k.Unit != "1" {
							text += " " + k.Unit
						}
						given[k.Name] = text
					}
					if _, err := reckoner.Run(name, given); err != nil {
						var refused *reckoner.InputError
						if !errors.As(err, &refused) {
							t.Errorf("%s %v: %v", name, given, err)
						} else if strings.Contains(refused.Sentence, "unit") || strings.Contains(refused.Sentence, "must be "+one.Range) {
							t.Errorf("%s %v: %s", name, given, refused.Sentence)
						}
					}
				}
			}
		}
	}
}
