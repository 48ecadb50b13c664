package air_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/air"
)

// Worked once by hand from the printed equations.
func TestCanopy(t *testing.T) {
	for _, r := range []struct{ net, stomatal, aerial, want float64 }{
		{150, 216, 100, 141.4}, {150, 216, 300, 121.8}, {300, 157.5, 100, 230.3}, {0, 450, 300, 29.1},
	} {
		got, err := air.Canopy{TempC: 22, RHShare: .7, PressureKPa: 101.325, LeafAreaIndex: 3, NetWm2: r.net, StomatalSM: r.stomatal, AerialSM: r.aerial}.LatentWm2()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "latent heat", got, r.want, 0.2)
	}
	near(t, "water", air.LatentMmH(141.4, 22), 0.208, 0.0005)
	for _, r := range []struct{ flux, want float64 }{{0, 450}, {200, 255}, {600, 157.5}, {300, 216}} {
		got, err := air.LettuceStomatalSM(r.flux)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "lettuce", got, r.want, 1e-9)
	}
	// 150 W/m² of net radiation are 150 / (1 − e^−2.1) / 0.9 = 190 W/m² of light;
	// 0.45 · 190 · (1 − e^−1.8) + 20 · 3 · 0.7934 = 118.9.
	net, err := air.CanopyNetWm2(190, 3, air.NetLightShare)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "net", net, 150.06, 0.01)
	got, err := air.BailleLatentWm2(air.BailleMiddle, 190, 0.7934, 3)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Baille", got, 118.97, 0.05)
	// By both forms, the light for the net radiation of 150 W/m²: 110 against 141.
	if got, err = air.BailleLatentWm2(air.BailleMiddle, 167, 0.793, 3); err != nil {
		t.Fatal(err)
	}
	near(t, "Baille", got, 110, 0.7)
	if 1-got/141.4 > air.TranspirationDoubt {
		t.Errorf("the two forms differ by %.0f %%", 100*(1-got/141.4))
	}
}

// Worked once by hand from the printed equations.
func TestMoistureOfRooms(t *testing.T) {
	inside, err := air.FromRH(18, .85, 101.325)
	if err != nil {
		t.Fatal(err)
	}
	outside, err := air.FromRH(2, .80, 101.325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Wi", inside.HumidityRatio, .010960, 5e-6)
	near(t, "Wo", outside.HumidityRatio, .003486, 2e-6)
	near(t, "saturated", air.SaturatedRatio(9, 101.325), 0.00713, 1e-5)
	v, err := air.VentForMoisture(inside, outside, 5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flow", v.FlowM3S, .1549, .005*.1549)
	near(t, "heat", v.HeatW, 2988, .005*2988)
	wet, err := air.CondensationKgM2H(inside, 9, air.CondensingFilmWm2K)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "condensation", wet, .048, .0005)
	if dry, err := air.CondensationKgM2H(inside, 16, 3.5); err != nil || dry != 0 {
		t.Errorf("a surface above the dew point takes %g, %v", dry, err)
	}
	if _, err := air.VentForMoisture(outside, inside, 5); !errors.Is(err, air.ErrMoisterOutside) {
		t.Errorf("moister air outside: %v", err)
	}
}

// A wetter room never transpires more; leaves with wider stomata never less.
func TestCanopyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := air.Canopy{
			TempC: rapid.Float64Range(2, 45).Draw(t, "temp"), RHShare: rapid.Float64Range(0, .95).Draw(t, "rh"), PressureKPa: rapid.Float64Range(70, 105).Draw(t, "pressure"),
			LeafAreaIndex: rapid.Float64Range(.1, 8).Draw(t, "lai"), NetWm2: rapid.Float64Range(0, 600).Draw(t, "net"),
			StomatalSM: rapid.Float64Range(20, 3000).Draw(t, "stomata"), AerialSM: rapid.Float64Range(20, 400).Draw(t, "air"),
		}
		first, err := c.LatentWm2()
		if err != nil || !(first >= 0) {
			t.Fatalf("%+v: %g, %v", c, first, err)
		}
		wetter, narrower := c, c
		wetter.RHShare += .05
		narrower.StomatalSM *= 1.2
		for _, other := range []air.Canopy{wetter, narrower} {
			less, err := other.LatentWm2()
			if err != nil || less > first {
				t.Fatalf("%+v gives %g, %+v gives %g, %v", c, first, other, less, err)
			}
		}
	})
}

func TestInsideRefusals(t *testing.T) {
	good := air.Canopy{TempC: 22, RHShare: .7, PressureKPa: 101, LeafAreaIndex: 3, NetWm2: 150, StomatalSM: 200, AerialSM: 100}
	for name, change := range map[string]func(*air.Canopy){
		"temp": func(c *air.Canopy) { c.TempC = 72 }, "rh": func(c *air.Canopy) { c.RHShare = 70 }, "pressure": func(c *air.Canopy) { c.PressureKPa = 1 },
		"lai": func(c *air.Canopy) { c.LeafAreaIndex = math.NaN() }, "net": func(c *air.Canopy) { c.NetWm2 = math.Inf(1) },
		"stomata": func(c *air.Canopy) { c.StomatalSM = 1 }, "air": func(c *air.Canopy) { c.AerialSM = 0 },
	} {
		c := good
		change(&c)
		if _, err := c.LatentWm2(); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
	good.StomatalSM = 0
	if mat, err := good.LatentWm2(); err != nil || mat < 200 {
		t.Errorf("a wet mat gives %g, %v", mat, err)
	}
	for name, err := range map[string]error{
		"lettuce": second(air.LettuceStomatalSM(-1)), "net": second(air.CanopyNetWm2(100, 3, 2)),
		"Baille": second(air.BailleLatentWm2(air.BailleMiddle, 100, -1, 3)), "condensation": second(air.CondensationKgM2H(air.Moist{}, 5, 3.5)),
	} {
		if !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
	if _, err := air.VentForMoisture(air.Moist{}, air.Moist{}, 5); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("unmade air: %v", err)
	}
}
