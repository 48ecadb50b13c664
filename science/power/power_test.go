package power_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/power"
)

func TestTariff(t *testing.T) {
	night := power.Tariff{Bands: []power.Band{{FromH: 22, ToH: 6, PriceKWh: 0.10}, {FromH: 6, ToH: 22, PriceKWh: 0.30}}, StandingDay: 0.5, DemandKW: 5}
	prices := must(night.Prices())(t)
	for hour, want := range map[int]float64{0: 0.10, 5: 0.10, 6: 0.30, 21: 0.30, 22: 0.10, 23: 0.10} {
		near(t, fmt.Sprintf("price at %d h", hour), prices[hour], want, 0)
	}
	day := make([]float64, 24)
	day[0], day[1], day[2], day[12] = 2, 3, 3, 2.5
	day[20] = 1.5
	b := must(night.Bill(day, 0, 1))(t)
	near(t, "energy", b.Energy, 8*0.10+4*0.30, 1e-12)
	near(t, "bill", b.Total, 0.80+1.20+0.50+15, 1e-12)
	near(t, "kWh", b.EnergyKWh, 12, 1e-12)
	near(t, "a quarter of an hour of 4.5 kW", must(night.Bill(day, 4.5, 1))(t).Demand, 22.5, 1e-12)
	flat := power.Flat(0.25, 1)
	near(t, "two days flat", must(flat.Bill(make([]float64, 48), 0, 0))(t).Total, 2, 1e-12)
	for _, bad := range []power.Tariff{
		{}, {Bands: []power.Band{{0, 23, 0.1}}}, {Bands: []power.Band{{0, 24, 0.1}, {5, 6, 0.2}}}, {Bands: []power.Band{{0, 25, 0.1}}}, {Bands: []power.Band{{0, 24, -0.1}}},
		{Bands: []power.Band{{0, 24, 0.1}}, StandingDay: math.NaN()},
	} {
		_, err := bad.Prices()
		refused(t, fmt.Sprint(bad), err)
	}
	_, err := flat.Bill([]float64{-1}, 0, 0)
	refused(t, "an hour below 0", err)
}

func TestPanels(t *testing.T) {
	near(t, "a day", must(power.PVKWh(1000, 5, 0.77))(t), 3.85, 1e-9)
	near(t, "cells", must(power.CellC(25, 1000))(t), 56.25, 1e-9)
	near(t, "cells as rated", must(power.CellC(20, 800))(t), power.NominalCellC, 1e-9)
	near(t, "an hour", must(power.PVHourW(1000, 1000, 25, 1))(t), 875, 1e-9)
	near(t, "cold cells", must(power.PVHourW(1000, 400, -10, 0.85))(t), 340*(1+0.004*22.5), 1e-9)
	near(t, "night", must(power.PVHourW(1000, 0, 5, 0.85))(t), 0, 0)
	near(t, "off the grid", must(power.OffGridPeakW(3.85, 5, 0.77))(t), 1000, 1e-9)
	for _, row := range [][3]float64{{-1, 5, 0.8}, {1, -5, 0.8}, {1, 5, 1.1}, {1, 5, 0}, {math.NaN(), 5, 0.8}} {
		_, err := power.PVKWh(row[0], row[1], row[2])
		refused(t, "panels", err)
	}
	_, err := power.OffGridPeakW(3, 0, 0.8)
	refused(t, "no sun", err)
}

// A year at the usual ratio without warmth comes to about the usual ratio with
// it: the two constants belong together. Sun of 500 W/m² in air of 20 °C.
func TestRatiosBelongTogether(t *testing.T) {
	w := must(power.PVHourW(1000, 500, 20, power.WithoutWarmth))(t)
	near(t, "ratio with warmth", w/500, power.PerformanceRatio, 0.02)
}

func TestLamps(t *testing.T) {
	near(t, "lamp power", must(power.LampW(200, 6, 2.8, 0.8))(t), 535.7, 0.05)
	g := must(power.LampGain(2.8, 0.8, 20, 150, 0.30))(t)
	for _, row := range []struct {
		name      string
		got, want float64
		tol       float64
	}{{"kWh/kg", g.KWhKg, 6.20, 0.005}, {"cost/kg", g.CostKg, 1.86, 0.005}, {"kWh/Mcal", g.KWhMcal, 41.3, 0.05}, {"cost/Mcal", g.CostMcal, 12.40, 0.005}, {"share", g.EnergyShare, 0.0281, 0.0001}, {"g/kWh", g.HarvestGKWh, 161.3, 0.05}} {
		near(t, row.name, row.got, row.want, row.tol)
	}
	// Nelson & Bugbee 2014: best LED and double-ended HPS 1.66 to 1.70, mogul HPS
	// 1.02, best ceramic metal halide 1.46, best fluorescent 0.95 µmol/J.
	for key, want := range map[string]float64{"led-2014": 1.70, "hps-double-ended": 1.70, "ceramic-metal-halide": 1.46, "fluorescent": 0.95} {
		near(t, key, must(power.LookupLamp(key))(t).EfficacyUmol.High, want, 1e-9)
	}
	near(t, "mogul HPS", must(power.LookupLamp("hps-mogul"))(t).EfficacyUmol.Typical, 1.02, 1e-9)
	for _, l := range power.Lamps() {
		e := l.EfficacyUmol
		if !(e.Low <= e.Typical && e.Typical <= e.High && l.LightShare() > 0 && l.LightShare() < 0.75) {
			t.Errorf("%s: %+v, light %g", l.Key, e, l.LightShare())
		}
	}
	if _, err := power.LookupLamp("led god"); err == nil || !strings.Contains(err.Error(), "led-good") {
		t.Errorf("a misspelt lamp: %v", err)
	}
	near(t, "years", must(must(power.LookupLamp("led-good"))(t).LampYears(16))(t), 50000/(16*365.), 1e-9)
	_, err := power.LampW(200, 6, 5, 0.8)
	refused(t, "a lamp beyond what can be built", err)
	_, err = power.LampGain(2.8, 0.8, 0, 150, 0.3)
	refused(t, "no harvest", err)
}

// exampleFeeds are the feeds of the worked example: 5 kg of fish feed a day, of which a
// quarter of the mass is sludge and 0.6 of that is caught, kitchen waste and leaves.
func exampleFeeds(t *testing.T) []power.Feed {
	t.Helper()
	substrate := func(key string) power.Substrate { return must(power.LookupSubstrate(key))(t) }
	return []power.Feed{
		{Substrate: substrate("fish-sludge-trout-salmon-tilapia-plan-value"), WetKgD: 5 * 0.25 * 0.6 / 0.027, Solids: 0.027, Volatile: 0.8, CH4M3Kg: 0.23},
		{Substrate: substrate("food waste mixed"), WetKgD: 10, Solids: 0.23, Volatile: 0.9, CH4M3Kg: 0.40},
		{Substrate: substrate("cucumber, pepper, tomato plants"), WetKgD: 20, Solids: 0.06, Volatile: 0.85, CH4M3Kg: 0.178},
	}
}

func TestDigester(t *testing.T) {
	feeds := exampleFeeds(t)
	g := must(power.GasOf(feeds))(t)
	near(t, "methane", g.CH4M3D.Typical, 0.138+0.828+0.182, 0.001)
	near(t, "energy", g.KWhD.Typical, 11.4, 0.06)
	near(t, "gas", g.BiogasM3D, 1.91, 0.03) // the example takes 60 % for all three
	w := must(power.Digest(feeds, power.Vessel{SlurryLD: 58, HoldDays: 30, DigesterC: 35, FeedC: 35, AroundC: 35}))(t)
	near(t, "liquid", w.LiquidM3, 1.74, 1e-9)
	near(t, "built", w.BuiltM3, 2.175, 1e-9)
	near(t, "load", w.LoadKgM3D, 2.12, 0.005)
	near(t, "heat", w.MeanHeatW, 381, 1.5)
	near(t, "of the design load of a house of 18 668 W", w.MeanHeatW/18668, 0.02, 0.0005)
	if len(w.Warnings) != 0 {
		t.Errorf("warnings %q", w.Warnings)
	}
	// 58 L warmed by 25 K: 58·4.186·25/3600 kWh; 12 W/K to air of 5 °C: 8.64 kWh.
	w = must(power.Digest(feeds, power.Vessel{SlurryLD: 58, HoldDays: 30, DigesterC: 35, FeedC: 10, AroundC: 5, LossWK: 12}))(t)
	near(t, "own heat", w.OwnHeatKWhD, 58*4.186*25/3600+8.64, 1e-9)
	near(t, "left", w.NetHeatKWhD.Typical, 0.8*g.KWhD.Typical-w.OwnHeatKWhD, 1e-9)
	if w.OwnGasShare <= 1 || len(w.Warnings) != 1 || !strings.Contains(w.Warnings[0], "eats more heat") {
		t.Errorf("own share %g, warnings %q", w.OwnGasShare, w.Warnings)
	}
}

func TestDigesterWarnings(t *testing.T) {
	feeds := exampleFeeds(t)
	offal := []power.Feed{{Substrate: must(power.LookupSubstrate("fish-offal-and-dead-fish"))(t), WetKgD: 2}}
	for _, row := range []struct {
		name  string
		feeds []power.Feed
		v     power.Vessel
		says  string
	}{
		{"overfed", feeds, power.Vessel{SlurryLD: 58, HoldDays: 20, DigesterC: 35, FeedC: 35, AroundC: 35}, "turn sour"},
		{"overfed cold", feeds, power.Vessel{SlurryLD: 58, HoldDays: 40, DigesterC: 25, FeedC: 25, AroundC: 25}, "heat it"},
		{"hurried", feeds, power.Vessel{SlurryLD: 80, HoldDays: 30, DigesterC: 20, FeedC: 20, AroundC: 20}, "50 days"},
		{"thick", offal, power.Vessel{SlurryLD: 2, HoldDays: 300, DigesterC: 35, FeedC: 35, AroundC: 35}, "Add water"},
		{"fat", offal, power.Vessel{SlurryLD: 40, HoldDays: 40, DigesterC: 35, FeedC: 35, AroundC: 35}, "offal and fat"},
		{"less slurry than feed", feeds, power.Vessel{SlurryLD: 30, HoldDays: 80, DigesterC: 35, FeedC: 35, AroundC: 35}, "less than the fresh mass"},
		{"cool feed", feeds, power.Vessel{SlurryLD: 58, HoldDays: 30, DigesterC: 35, FeedC: 10, AroundC: 20, LossWK: 8}, "Insulate"},
	} {
		w, err := power.Digest(row.feeds, row.v)
		if err != nil || !strings.Contains(strings.Join(w.Warnings, " "), row.says) {
			t.Errorf("%s: %q, %v; want %q", row.name, w.Warnings, err, row.says)
		}
	}
	_, err := power.Digest(feeds, power.Vessel{SlurryLD: 58, HoldDays: 30, DigesterC: 14, FeedC: 10, AroundC: 10})
	refused(t, "a cold digester", err)
	_, err = power.Digest(feeds, power.Vessel{SlurryLD: 58, HoldDays: 0, DigesterC: 35, FeedC: 10, AroundC: 10})
	refused(t, "no retention", err)
	feeds[0].Volatile = 1.2
	_, err = power.GasOf(feeds)
	refused(t, "more volatile than dry", err)
}

func TestRetention(t *testing.T) {
	for _, row := range [][3]float64{{15, 60, 100}, {20, 50, 70}, {25, 40, 40}, {30, 30, 35}, {35, 20, 30}, {40, 20, 30}} {
		a, b, err := power.RetentionDays(row[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("shortest at %g °C", row[0]), a, row[1], 1e-9)
		near(t, fmt.Sprintf("longest at %g °C", row[0]), b, row[2], 1e-9)
	}
}

// FAO/CMS 1996: gas of 50 to 70 % methane, about 20 MJ/m³. Klein et al. 2024: the
// printed yields in the rows.
func TestGas(t *testing.T) {
	low, high := 3.6*must(power.BiogasKWhM3(0.5))(t), 3.6*must(power.BiogasKWhM3(0.7))(t)
	if !(low < 20 && high > 20) {
		t.Errorf("50 to 70 %%: %g to %g MJ/m3, 20 not between", low, high)
	}
	fuel := must(power.LookupFuel("biogas"))(t)
	near(t, "gas of 60 % by the table of fuels", must(power.BiogasKWhM3(0.6))(t), fuel.LHVKWh, 0.03)
	near(t, "catfish, batch", must(power.LookupSubstrate("fish sludge, African catfish, batch"))(t).CH4M3Kg.Typical, 0.229, 1e-9)
	for _, s := range power.Substrates() {
		if s.Key != power.Slug(s.Name) || !(s.SolidsLow <= s.SolidsHigh && s.SolidsHigh <= 1 && s.VolatileLow <= s.VolatileHigh && s.VolatileHigh <= 1) {
			t.Errorf("%s: %+v", s.Key, s)
		}
		if s.CH4M3Kg.Low > s.CH4M3Kg.Typical || s.CH4M3Kg.Typical > s.CH4M3Kg.High {
			t.Errorf("%s: yields %+v", s.Key, s.CH4M3Kg)
		}
	}
	if _, err := power.LookupSubstrate("catle manure"); err == nil || !strings.Contains(err.Error(), "cattle-manure-slurry") {
		t.Errorf("a misspelt substrate: %v", err)
	}
}

// Twice the feed gives twice the gas.
func TestGasIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(power.Substrates()).Draw(t, "substrate")
		kg := rapid.Float64Range(0, 5e4).Draw(t, "kg")
		one, err := power.GasOf([]power.Feed{{Substrate: s, WetKgD: kg}})
		if err != nil {
			t.Fatal(err)
		}
		two, err := power.GasOf([]power.Feed{{Substrate: s, WetKgD: kg}, {Substrate: s, WetKgD: kg}})
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Abs(two.KWhD.High - 2*one.KWhD.High); d > 1e-9*two.KWhD.High || one.BiogasM3D < one.CH4M3D.Typical {
			t.Fatalf("%s: %+v and %+v", s.Key, one, two)
		}
	})
}

// Against the seasonal figures of the table of fuels, common practice.
func TestHeatPump(t *testing.T) {
	near(t, "air 2 °C to 45 °C", must(power.HeatPumpCOP(power.OutdoorAir, 2, 45))(t), 0.36*318.15/43, 1e-9)
	near(t, "ground 8 °C to 45 °C", must(power.HeatPumpCOP(power.Ground, 8, 45))(t), 0.4*318.15/37, 1e-9)
	near(t, "air, as in the table", must(power.HeatPumpCOP(power.OutdoorAir, 2, 45))(t), must(power.LookupFuel("heat-pump-air"))(t).Efficiency.Typical, 0.1)
	near(t, "ground, as in the table", must(power.HeatPumpCOP(power.Ground, 8, 45))(t), must(power.LookupFuel("heat-pump-ground"))(t).Efficiency.Typical, 0.1)
	for _, row := range []struct {
		source   power.Source
		from, to float64
	}{{"sea", 8, 45}, {power.Ground, 30, 45}, {power.OutdoorAir, -20, 65}, {power.OutdoorAir, math.NaN(), 45}, {power.OutdoorAir, -30, 35}} {
		_, err := power.HeatPumpCOP(row.source, row.from, row.to)
		refused(t, fmt.Sprint(row), err)
	}
	// Whatever the rule answers is a COP that the table's limits take.
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(-25, 45).Draw(t, "from")
		to := rapid.Float64Range(-5, 70).Draw(t, "to")
		cop, err := power.HeatPumpCOP(power.OutdoorAir, from, to)
		if err == nil && !(cop >= power.LeastCOP && cop <= power.MostCOP) {
			t.Fatalf("%g to %g °C: %g", from, to, cop)
		}
	})
}

func BenchmarkDispatch(b *testing.B) {
	battery, tariff := power.Lithium(10), power.Flat(0.3, 0.5)
	for b.Loop() {
		if _, err := power.Dispatch(battery, 5, power.Hour{LoadKWh: 1, PVKWh: 0.3, Grid: &tariff, HourOfDay: 18}); err != nil {
			b.Fatal(err)
		}
	}
}
