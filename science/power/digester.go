package power

import (
	_ "embed"
	"fmt"
	"math"
	"sync"

	"tidebed/quantity"
	"tidebed/table"
)

//go:embed biogas.csv
var biogasCSV string

// Heating values of methane, kWh for a cubic metre at 0 °C and 101.325 kPa; from
// memory of tables of properties: 35.9 and 39.8 MJ.
const (
	MethaneLHVKWh = 9.97
	MethaneHHVKWh = 11.06
)

// Limits of a digester's feeding, kg of volatile solids a m³ of liquid and day:
// what an unheated one of 40 days takes ([fao-cms-1996]), and the most that a
// heated one does (common practice, no source).
const (
	PlainLoadKgM3D = 1.5
	MostLoadKgM3D  = 3.0
)

// Temperatures of a digester.
const (
	LeastDigesterC = 15.0 // below it gas nearly stops
	MostDigesterC  = 42.0
	heatedFromC    = 30.0
)

// GasStoveEfficiency is that of a gas stove ([fao-cms-1996]), GasBoilerEfficiency
// that of a boiler made for biogas, both on the lower heating value; the second is
// common practice.
const (
	GasStoveEfficiency  = 0.6
	GasBoilerEfficiency = 0.8
)

// gasRoom is the built volume over that of the liquid.
const gasRoom = 1.25

// Substrate is a row of the table of what a digester is fed.
type Substrate struct {
	Key          string  // such as "food-waste-mixed"
	Name         string  // as the table of the source has it
	Group        string  // fish sludge, mixture, plant residue, fish offal, food waste, manure or fat
	SolidsLow    float64 // share of the fresh mass that is dry
	SolidsHigh   float64
	VolatileLow  float64 // share of the dry mass that burns: volatile solids
	VolatileHigh float64
	CH4M3Kg      Spread  // methane, m³ at 0 °C from a kg of volatile solids
	CH4Share     float64 // of the gas
	SolidsNote   string  // may be empty
	Source       string
}

// Solids is the middle of the span of dry matter; Volatile that of volatile solids.
func (s Substrate) Solids() float64   { return (s.SolidsLow + s.SolidsHigh) / 2 }
func (s Substrate) Volatile() float64 { return (s.VolatileLow + s.VolatileHigh) / 2 }

var substrateTable = sync.OnceValue(func() *table.Index[Substrate] {
	return table.ReadIndex("biogas.csv", biogasCSV, "substrate_key", func(r table.Row) Substrate {
		share := func(column string) float64 { return r.Number(column) / 100 }
		return Substrate{
			Key: r.Text("substrate_key"), Name: r.Text("name"), Group: r.Text("group"),
			SolidsLow: share("solids_low_pct"), SolidsHigh: share("solids_high_pct"), VolatileLow: share("volatile_low_pct"), VolatileHigh: share("volatile_high_pct"),
			CH4M3Kg: spread(r, "ch4_low_nm3_per_kg_vs", "ch4_typical_nm3_per_kg_vs", "ch4_high_nm3_per_kg_vs"), CH4Share: share("ch4_pct_of_biogas"),
			SolidsNote: r.Text("solids_note"), Source: r.Text("source"),
		}
	})
})

// Substrates returns all substrates in the order of the table.
func Substrates() []Substrate { return substrateTable().All() }

// SubstrateKeys returns the keys of all substrates in the order of the table.
func SubstrateKeys() []string { return substrateTable().Keys() }

// LookupSubstrate finds a substrate by its key or its name. The error names the
// keys most like it.
//
// Source: biogas.csv, from [klein-2024] and memory.
func LookupSubstrate(name string) (Substrate, error) {
	return find("substrate", name, substrateTable(), func(s Substrate) string { return s.Name })
}

// Feed is what a digester gets of a substrate in a day. Solids, Volatile and
// CH4M3Kg at 0 take the substrate's own middle and yields; a measured one goes before.
type Feed struct {
	Substrate Substrate
	WetKgD    float64 // fresh mass, 0 to 1e5
	Solids    float64
	Volatile  float64
	CH4M3Kg   float64
}

func (f Feed) filled() (Feed, Spread, error) {
	what := "digester: " + f.Substrate.Name
	if f.Solids == 0 {
		f.Solids = f.Substrate.Solids()
	}
	if f.Volatile == 0 {
		f.Volatile = f.Substrate.Volatile()
	}
	yield := f.Substrate.CH4M3Kg
	if f.CH4M3Kg != 0 {
		yield = Spread{f.CH4M3Kg, f.CH4M3Kg, f.CH4M3Kg}
	}
	err := check(what, bound{"fresh mass", f.WetKgD, 0, 1e5, "kg/d"}, bound{"dry share", f.Solids, 0.001, 1, ""}, bound{"volatile share of the dry matter", f.Volatile, 0.01, 1, ""},
		bound{"methane", yield.Typical, 0.001, 1.1, "m3/kg"}, bound{"methane share of the gas", f.Substrate.CH4Share, 0.3, 0.9, ""})
	return f, yield, err
}

// VolatileKgD is the volatile solids of a feed.
func (f Feed) VolatileKgD() (float64, error) {
	f, _, err := f.filled()
	return f.WetKgD * f.Solids * f.Volatile, err
}

// Gas is what a digester gives in a day; volumes at 0 °C and 101.325 kPa.
type Gas struct {
	CH4M3D      Spread
	BiogasM3D   float64 // at the typical yield
	KWhD        Spread  // lower heating value
	VolatileKgD float64
	WetKgD      float64
}

// GasOf is the gas of a day's feeds, in steady running.
//
// Source: methane = mass × dry share × volatile share × yield; yields by
// [klein-2024] and memory. They hold near 35 °C and long enough; a cold or
// hurried digester gives less, a mixture rarely more than its parts.
//
// Check: 0.75 kg dry of fish sludge (0.8 volatile, 0.23), 10 kg of food waste
// (0.23, 0.9, 0.40), 20 kg of leaves (0.06, 0.85, 0.178): 1.148 m³ of methane,
// 11.4 kWh.
func GasOf(feeds []Feed) (Gas, error) {
	var g Gas
	for _, f := range feeds {
		full, yield, err := f.filled()
		if err != nil {
			return Gas{}, err
		}
		volatile := full.WetKgD * full.Solids * full.Volatile
		g.WetKgD += full.WetKgD
		g.VolatileKgD += volatile
		g.CH4M3D.Low += volatile * yield.Low
		g.CH4M3D.Typical += volatile * yield.Typical
		g.CH4M3D.High += volatile * yield.High
		g.BiogasM3D += volatile * yield.Typical / full.Substrate.CH4Share
	}
	g.KWhD = g.CH4M3D.Scaled(MethaneLHVKWh)
	return g, nil
}

// BiogasKWhM3 is the lower heating value of a cubic metre of gas by its share of
// methane, 0.3 to 0.9.
//
// Check: 17.9 MJ/m³ at 50 %, 25.1 at 70; [fao-cms-1996] prints about 20 for that
// span, of gas as it comes, moist and warm.
func BiogasKWhM3(ch4Share float64) (float64, error) {
	if err := check("biogas", bound{"methane share", ch4Share, 0.3, 0.9, ""}); err != nil {
		return 0, err
	}
	return ch4Share * MethaneLHVKWh, nil
}

// RetentionDays is how long a digester at a temperature must hold what it is fed:
// 60 to 100 days at 15 °C, 40 at 25, 20 to 30 at 35 and above, straight between.
// Common practice, no source.
//
// Errors: below LeastDigesterC, where gas nearly stops; above MostDigesterC.
func RetentionDays(tempC float64) (shortest, longest float64, err error) {
	if tempC < LeastDigesterC {
		return 0, 0, fmt.Errorf("digester: %g °C: below %g °C gas nearly stops; insulate or heat it: %w", tempC, LeastDigesterC, quantity.ErrRange)
	}
	if err := check("digester", bound{"temperature", tempC, LeastDigesterC, MostDigesterC, "°C"}); err != nil {
		return 0, 0, err
	}
	between := func(t0, a0, b0, t1, a1, b1 float64) (float64, float64) {
		x := (tempC - t0) / (t1 - t0)
		return a0 + x*(a1-a0), b0 + x*(b1-b0)
	}
	switch {
	case tempC <= 25:
		shortest, longest = between(15, 60, 100, 25, 40, 40)
	case tempC <= 35:
		shortest, longest = between(25, 40, 40, 35, 20, 30)
	default:
		shortest, longest = 20, 30
	}
	return shortest, longest, nil
}

// Vessel is the digester itself.
type Vessel struct {
	SlurryLD  float64 // all that is fed in a day with its water, 0 to 1e6 L/d
	HoldDays  float64 // retention, above 0 to 400
	DigesterC float64 // LeastDigesterC to MostDigesterC
	FeedC     float64 // of the slurry
	AroundC   float64 // of the air or ground about it
	LossWK    float64 // U × A of walls, cover and floor, 0 to 1e5 W/K
	BoilerEff float64 // of its own heating and of the gas that is left, lower heating value; 0 takes GasBoilerEfficiency
}

// Works is what a digester needs and leaves.
type Works struct {
	Gas
	LiquidM3    float64
	BuiltM3     float64 // with room for gas
	LoadKgM3D   float64 // volatile solids on the liquid
	OwnHeatKWhD float64 // to warm the slurry and to make good what walls lose
	OwnGasShare float64 // of the typical gas that its own heat takes; above 1 it eats more than it gives
	NetHeatKWhD Spread  // heat left over from the gas; negative where it eats more than it gives
	MeanHeatW   float64 // of the typical net heat
	Warnings    []string
}

// Digest works a digester out: volumes, load, its own heat, the heat that is left.
//
// Check: the feeds of GasOf in 58 L/d, 30 days: 1.74 m³ of liquid, 2.18 built,
// 2.12 kg/m³/d; without own heat 381 W.
func Digest(feeds []Feed, v Vessel) (Works, error) {
	gas, err := GasOf(feeds)
	if err != nil {
		return Works{}, err
	}
	if v.BoilerEff == 0 {
		v.BoilerEff = GasBoilerEfficiency
	}
	shortest, _, err := RetentionDays(v.DigesterC)
	if err != nil {
		return Works{}, err
	}
	if err := check("digester", bound{"slurry", v.SlurryLD, 1e-3, 1e6, "L/d"}, bound{"days of retention", v.HoldDays, 0.1, 400, "d"}, bound{"temperature of the slurry", v.FeedC, 0, 80, "°C"},
		bound{"temperature about it", v.AroundC, LowestAirC, HighestAirC, "°C"}, bound{"heat loss", v.LossWK, 0, 1e5, "W/K"}, bound{"efficiency on the lower heating value", v.BoilerEff, LeastEfficiency, MostLHV, ""}); err != nil {
		return Works{}, err
	}
	w := Works{Gas: gas}
	w.LiquidM3 = v.SlurryLD / 1000 * v.HoldDays
	w.BuiltM3 = w.LiquidM3 * gasRoom
	w.LoadKgM3D = gas.VolatileKgD / w.LiquidM3
	w.OwnHeatKWhD = max(0, v.SlurryLD*waterKWhPerLK*(v.DigesterC-v.FeedC)+v.LossWK*(v.DigesterC-v.AroundC)*hoursOfDay/1000)
	w.NetHeatKWhD = gas.KWhD.Scaled(v.BoilerEff)
	if w.NetHeatKWhD.Typical > 0 {
		w.OwnGasShare = w.OwnHeatKWhD / w.NetHeatKWhD.Typical
	}
	w.NetHeatKWhD.Low -= w.OwnHeatKWhD
	w.NetHeatKWhD.Typical -= w.OwnHeatKWhD
	w.NetHeatKWhD.High -= w.OwnHeatKWhD
	w.MeanHeatW = w.NetHeatKWhD.Typical * 1000 / hoursOfDay
	w.Warnings = w.warnings(feeds, v, shortest)
	return w, nil
}

// warnings are sentences about what will not go well.
func (w Works) warnings(feeds []Feed, v Vessel, shortest float64) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	switch {
	case w.LoadKgM3D > MostLoadKgM3D:
		say("Feed less or build larger: %.1f kg of volatile solids a m³ and day is above %g, it would turn sour.", w.LoadKgM3D, MostLoadKgM3D)
	case w.LoadKgM3D > PlainLoadKgM3D && v.DigesterC < heatedFromC:
		say("Feed less or heat it: at %g °C small digesters take %g kg of volatile solids a m³ and day, not %.1f.", v.DigesterC, PlainLoadKgM3D, w.LoadKgM3D)
	}
	if v.HoldDays < shortest {
		say("Hold it for %.0f days or more at %g °C; in %g days part of the gas is lost and the microbes wash out.", math.Ceil(shortest), v.DigesterC, v.HoldDays)
	}
	if v.SlurryLD < w.WetKgD {
		say("The slurry, %.1f L a day, is less than the fresh mass fed, %.1f kg.", v.SlurryLD, w.WetKgD)
	}
	var rich, dry float64
	for _, f := range feeds {
		full, _, err := f.filled()
		if err != nil {
			continue // cannot be: GasOf took it
		}
		kg := full.WetKgD * full.Solids
		dry += kg
		if f.Substrate.Group == "fish offal" || f.Substrate.Group == "fat" {
			rich += kg * full.Volatile
		}
	}
	if w.VolatileKgD > 0 && rich > 0.2*w.VolatileKgD {
		say("Keep offal and fat under 20 %% of the volatile solids; they are %.0f %%, it foams and turns sour.", 100*rich/w.VolatileKgD)
	}
	if dry > 0.12*v.SlurryLD {
		say("Add water: above 12 %% dry matter it neither stirs nor flows; it is %.0f %%.", 100*dry/v.SlurryLD)
	}
	switch {
	case w.OwnGasShare > 1:
		say("It eats more heat than its gas gives: insulate it, warm the slurry with spent heat, or let it run cooler.")
	case w.OwnGasShare > 0.3:
		say("Insulate it: its own heat takes %.0f %% of the gas.", 100*w.OwnGasShare)
	}
	return out
}
