package fabric_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/fabric"
)

// Worked once by hand.
func TestVentilation(t *testing.T) {
	gain := the[float64](t)(fabric.SunW(800, .7, 72, .5))
	for _, r := range []struct{ flow, want float64 }{{.885, 11.2}, {1.77, 7.0}, {3.54, 4.0}} {
		rise := the[float64](t)(fabric.RiseK(gain, r.flow, 725, air.StandardKPa))
		near(t, "rise", rise, r.want, .1)
		near(t, "flow for that rise", the[float64](t)(fabric.FlowForRiseM3S(gain, rise, 725, air.StandardKPa)), r.flow, 1e-9)
	}
	if flow := the[float64](t)(fabric.FlowForRiseM3S(1000, 20, 725, air.StandardKPa)); flow != 0 {
		t.Errorf("a house that cools by itself needs %g", flow)
	}
	s := the[fabric.Summer](t)(fabric.SummerRule(212.4, 72, air.StandardKPa))
	near(t, "a change a minute", s.PerMinuteM3S, 3.54, .001)
	near(t, "by floor", s.PerFloorM3S, 2.88, 1e-9)
	near(t, "vents", s.VentLowM2, 10.8, 1e-9)
	near(t, "vents", s.VentHighM2, 18, 1e-9)
	// Thin air: the same heat taken at the same rise by more of it.
	high := the[fabric.Summer](t)(fabric.SummerRule(212.4, 72, 80))
	near(t, "at 80 kPa", high.PerFloorM3S*80, s.PerFloorM3S*air.StandardKPa, 1e-9)
}

// Worked once with an independent code for moist air.
func TestPad(t *testing.T) {
	for _, r := range []struct{ temp, rh, want, water float64 }{{35, .3, 24.22, 17.6}, {40, .1, 22.85, 27.6}, {32, .7, 28.26, 6.2}} {
		p := the[fabric.Pad](t)(fabric.PadAir(the[air.Moist](t)(air.FromRH(r.temp, r.rh, air.StandardKPa)), fabric.PadClean, 1))
		near(t, "behind the pad", p.Air.TempC, r.want, .05)
		near(t, "water", p.WaterKgH, r.water, .05)
	}
}

// Behind a pad the air is cooler, moister, of the same heat content, never
// beyond the wet bulb.
func TestPadKeepsHeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		outside, err := air.FromRH(rapid.Float64Range(12, 50).Draw(t, "temp"), rapid.Float64Range(.05, 1).Draw(t, "rh"), rapid.Float64Range(70, 105).Draw(t, "pressure"))
		if err != nil || outside.WetBulbC < .1 {
			t.Skip("frost")
		}
		p, err := fabric.PadAir(outside, rapid.Float64Range(0, 1).Draw(t, "efficiency"), 2)
		if err != nil {
			t.Fatal(err)
		}
		a := p.Air
		if a.TempC > outside.TempC+1e-9 || a.TempC < outside.WetBulbC-1e-9 || p.WaterKgH < 0 || a.RHShare > 1 || math.Abs(a.EnthalpyKJkg-outside.EnthalpyKJkg) > .9 {
			t.Fatalf("outside %+v\nbehind %+v", outside, p)
		}
	})
}

// Worked once by hand.
func TestRoomCO2(t *testing.T) {
	g := the[float64](t)(fabric.FeedCO2GH(5, fabric.OxygenPerFeed, 1))
	near(t, "from feed", g, 114.6, .05)
	near(t, "room", the[float64](t)(fabric.RoomCO2Ppm(400, g, 212.4, 1))-400, 295, 3)
	// Leaves that take 30 g/h at half a change: 420 − 546.6 · 30 / 106.2 = 265.6.
	rest := the[float64](t)(fabric.RoomCO2Ppm(420, -30, 212.4, .5))
	near(t, "leaves", rest, 265.6, .1)
	near(t, "after an hour", the[float64](t)(fabric.CO2AfterPpm(420, rest, .5, 1)), 265.6+154.4*math.Exp(-.5), .1)
	if _, err := fabric.RoomCO2Ppm(420, -300, 212.4, .5); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("more than there is: %v", err)
	}
}

func damp(t *testing.T) fabric.Damp {
	t.Helper()
	outside := the[air.Moist](t)(air.FromRH(2, .8, air.StandardKPa))
	return fabric.Damp{VolumeM3: 212.4, TempC: 18, PressureKPa: air.StandardKPa, AirChangesH: .75, OutsideRatio: outside.HumidityRatio, WaterKgH: 5, ColdM2: 168.7, ColdC: 10, FilmWm2K: air.CondensingFilmWm2K}
}

// Long steps come to where gain, vent and condensation balance, by hand.
func TestDampRests(t *testing.T) {
	d := damp(t)
	s := the[fabric.Dampness](t)(d.Step(.006, 1e6))
	// w (vent + film) = give + vent Wo + film dew, per second.
	vent, film := 1.2*212.4*.75/3600, 3.5/1006*168.7
	want := (5.0/3600 + vent*d.OutsideRatio + film*air.SaturatedRatio(10, air.StandardKPa)) / (vent + film)
	near(t, "rest", s.EndRatio, want, 1e-9)
	near(t, "dried by ventilation", func() float64 {
		dry := d
		dry.ColdM2 = 0
		dry.AirChangesH = 3600 * .1549 / 212.4
		return the[fabric.Dampness](t)(dry.Step(.006, 1e6)).RHShare
	}(), .85, .005)
	closed := d
	closed.ColdM2, closed.AirChangesH = 0, 0
	s = the[fabric.Dampness](t)(closed.Step(.006, 3600*10))
	if s.RHShare < 1-1e-9 || !(s.MistKg > 0) {
		t.Errorf("a shut room full of water: %+v", s)
	}
	near(t, "all water", s.MistKg+1.2*212.4*(s.EndRatio-.006), 50, 1e-9)
}

// Water adds up, humidity stays between dry and saturated, and two half steps
// come to a whole one.
func TestDampCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := fabric.Damp{
			VolumeM3: rapid.Float64Range(10, 2000).Draw(t, "volume"), TempC: rapid.Float64Range(-5, 35).Draw(t, "temp"), PressureKPa: rapid.Float64Range(80, 104).Draw(t, "pressure"),
			AirChangesH: rapid.Float64Range(0, 60).Draw(t, "vent"), OutsideRatio: rapid.Float64Range(0, .02).Draw(t, "outside"), WaterKgH: rapid.Float64Range(0, 60).Draw(t, "water"),
			ColdM2: rapid.Float64Range(0, 500).Draw(t, "cold"), FilmWm2K: 3.5,
		}
		d.ColdC = d.TempC + rapid.Float64Range(-15, 3).Draw(t, "surface")
		full := air.SaturatedRatio(d.TempC, d.PressureKPa)
		start, seconds := full*rapid.Float64Range(0, 1).Draw(t, "start"), rapid.Float64Range(1, 20000).Draw(t, "time")
		s, err := d.Step(start, seconds)
		if err != nil {
			t.Fatal(err)
		}
		airKg := 1.2 * d.PressureKPa / 101.325 * d.VolumeM3
		gained, flowed := airKg*(s.EndRatio-start), d.WaterKgH*seconds/3600-s.CondensedKg-s.VentedKg-s.MistKg
		if math.Abs(gained-flowed) > 1e-9*(1+airKg*full+d.WaterKgH*seconds/3600+math.Abs(s.VentedKg)) {
			t.Fatalf("gained %g, flowed %g: %+v", gained, flowed, s)
		}
		if s.EndRatio < -1e-12 || s.EndRatio > full*(1+1e-9) || s.CondensedKg < -1e-9 || s.MistKg < -1e-9 || s.RHShare > 1+1e-9 {
			t.Fatalf("%+v", s)
		}
		first, err := d.Step(start, seconds/2)
		if err != nil {
			t.Fatal(err)
		}
		second, err := d.Step(first.EndRatio, seconds/2)
		if err != nil || math.Abs(second.EndRatio-s.EndRatio) > 1e-9 || math.Abs(first.CondensedKg+second.CondensedKg-s.CondensedKg) > 1e-6*(1+s.CondensedKg) || math.Abs(first.MistKg+second.MistKg-s.MistKg) > 1e-6*(1+s.MistKg) {
			t.Fatalf("one step %+v\ntwo %+v\n%+v, %v", s, first, second, err)
		}
	})
}

func TestVentRefusals(t *testing.T) {
	nan := math.NaN()
	one := func(_ float64, err error) error { return err }
	warm := the[air.Moist](t)(air.FromRH(30, .4, air.StandardKPa))
	pad := func(a air.Moist, eff, flow float64) error { _, err := fabric.PadAir(a, eff, flow); return err }
	step := func(change func(*fabric.Damp), ratio float64) error {
		d := damp(t)
		change(&d)
		_, err := d.Step(ratio, 3600)
		return err
	}
	for name, err := range map[string]error{
		"sun": one(fabric.SunW(800, 1.7, 72, .5)), "rise": one(fabric.RiseK(100, 0, 0, 100)), "flow": one(fabric.FlowForRiseM3S(100, 0, 1, 100)), "summer": func() error { _, err := fabric.SummerRule(-1, 1, 100); return err }(),
		"pad": pad(air.Moist{}, .8, 1), "efficiency": pad(warm, 80, 1), "air": pad(warm, .8, nan), "frost": pad(the[air.Moist](t)(air.FromRH(3, .1, 101)), .8, 1),
		"feed": one(fabric.FeedCO2GH(-1, .4, 1)), "quotient": one(fabric.FeedCO2GH(1, .4, 1.4)), "no vent": one(fabric.RoomCO2Ppm(400, 100, 200, 0)), "all": one(fabric.RoomCO2Ppm(400, 1e6, 1, .01)), "after": one(fabric.CO2AfterPpm(400, 500, 1, -1)),
		"ratio": step(func(*fabric.Damp) {}, .03), "volume": step(func(d *fabric.Damp) { d.VolumeM3 = 0 }, .005), "water": step(func(d *fabric.Damp) { d.WaterKgH = -1 }, .005), "cold": step(func(d *fabric.Damp) { d.ColdC = nan }, .005),
	} {
		if !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
}
