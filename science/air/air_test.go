package air_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/sun"
)

func near(t *testing.T, name string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %g ± %g", name, got, want, tol)
	}
}

// Source: an independent implementation of the ASHRAE formulas (PsychroLib
// 1.1.1) for states of moist air.
func TestMoistStates(t *testing.T) {
	for _, r := range []struct{ tempC, rh, kPa, pws, w, dew, wet, h float64 }{
		{25, .5, 101.325, 3169.2, .009881, 13.864, 17.889, 50.322},
		{20, .8, 101.325, 2338.8, .011701, 16.447, 17.679, 49.819},
		{5, .9, 101.325, 872.5, .004858, 3.498, 4.302, 17.224},
		{-10, .8, 101.325, 259.9, .001279, -12.490, -10.648, -6.885},
		{35, .3, 101.325, 5627.8, .010539, 14.844, 21.524, 62.254},
		{30, .7, 85, 4246.0, .022536, 23.928, 25.307, 87.799},
	} {
		m, err := air.FromRH(r.tempC, r.rh, r.kPa)
		if err != nil {
			t.Error(err)
			continue
		}
		near(t, "saturation", 1000*air.SaturationKPa(r.tempC), r.pws, 0.06)
		near(t, "humidity ratio", m.HumidityRatio, r.w, 2e-6)
		near(t, "dew point", m.DewPointC, r.dew, 0.003)
		near(t, "wet bulb", m.WetBulbC, r.wet, 0.003)
		near(t, "enthalpy", m.EnthalpyKJkg, r.h, 0.005)
		// There and back.
		fromWet, err := air.FromWetBulb(r.tempC, m.WetBulbC, r.kPa)
		if err != nil {
			t.Error(err)
		}
		near(t, "humidity from wet bulb", fromWet.RHShare, r.rh, 1e-6)
		fromDew, err := air.FromDewPoint(r.tempC, m.DewPointC, r.kPa)
		if err != nil {
			t.Error(err)
		}
		near(t, "humidity from dew point", fromDew.RHShare, r.rh, 1e-6)
	}
}

// Source: FAO-56, examples 2 to 5, 11, 12 and 14; last digit printed.
func TestFAOParts(t *testing.T) {
	p, err := air.PressureFAO(1800)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "P", p, 81.8, 0.05)
	near(t, "gamma", air.PsychrometricFAO(p), 0.054, 0.0005)
	near(t, "e0(24.5)", air.SaturationFAO(24.5), 3.075, 0.0006)
	near(t, "e0(15)", air.SaturationFAO(15), 1.705, 0.0005)
	near(t, "es", air.MeanSaturationFAO(24.5, 15), 2.39, 0.005)
	p, err = air.PressureFAO(1200)
	if err != nil {
		t.Fatal(err)
	}
	ea, err := air.VapourFromWetBulbFAO(25.6, 19.5, p, 0.000662)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ea, psychrometer", ea, 1.91, 0.005)
	if ea, err = air.VapourFromRHFAO(25, 18, .82, .54); err != nil {
		t.Fatal(err)
	}
	near(t, "ea, humidities", ea, 1.70, 0.005)
	u2, err := air.WindAt2M(3.2, 10)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u2", u2, 2.4, 0.05)
	near(t, "Rnl", air.NetLongwaveFAO(25.1, 19.1, 2.1, 14.5/18.8), 3.5, 0.05)
}

// Source: FAO-56, examples 17 (Bangkok, April) and 18 (Uccle, 6 July).
func TestReferenceET(t *testing.T) {
	bangkok, err := sun.Extraterrestrial(13+44.0/60, 105)
	if err != nil {
		t.Fatal(err)
	}
	rs, err := sun.FromSunHours(bangkok, 8.5)
	if err != nil {
		t.Fatal(err)
	}
	r, err := air.ReferenceET(air.ETDay{LatitudeDeg: 13 + 44.0/60, ElevationM: 2, DayOfYear: 105, TmaxC: 34.8, TminC: 25.6, VapourKPa: 2.85, WindMS: 2, RadiationMJm2: rs, SoilHeatMJm2: 0.14 * (30.2 - 29.2)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Bangkok ET0", r.ET0MmDay, 5.72, 0.01)
	near(t, "Bangkok Rn", r.RnMJm2, 14.33, 0.02)
	near(t, "Bangkok slope", r.SlopeKPaK, 0.246, 0.0005)
	uccle, err := sun.Extraterrestrial(50.8, 187)
	if err != nil {
		t.Fatal(err)
	}
	if rs, err = sun.FromSunHours(uccle, 9.25); err != nil {
		t.Fatal(err)
	}
	ea, err := air.VapourFromRHFAO(21.5, 12.3, .84, .63)
	if err != nil {
		t.Fatal(err)
	}
	if r, err = air.ReferenceET(air.ETDay{LatitudeDeg: 50.8, ElevationM: 100, DayOfYear: 187, TmaxC: 21.5, TminC: 12.3, VapourKPa: ea, WindMS: 2.078, RadiationMJm2: rs}); err != nil {
		t.Fatal(err)
	}
	near(t, "Uccle ET0", r.ET0MmDay, 3.88, 0.01)
	near(t, "Uccle Rn", r.RnMJm2, 13.28, 0.02)
	near(t, "Uccle Rso", r.RsoMJm2, 30.90, 0.02)
	near(t, "Uccle ea", r.EaKPa, 1.409, 0.001)
}

// Source: FAO-56, example 19 (N'Diaye, 1 October).
func TestReferenceETHour(t *testing.T) {
	o, err := sun.Extraterrestrial(16+13.0/60, 274)
	if err != nil {
		t.Fatal(err)
	}
	w := sun.HourAngleRad(14.5, -16.25, -15, 274)
	near(t, "hour angle", w, 0.682, 0.001)
	outer := o.HourMJm2(w)
	near(t, "Ra", outer, 3.543, 0.005)
	mm, r, err := air.ReferenceETHour(air.ETHour{ElevationM: 8, TempC: 38, RHShare: .52, WindMS: 3.3, RadiationMJm2: 2.450, OuterMJm2: outer})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "afternoon", mm, 0.63, 0.005)
	near(t, "Rn", r.RnMJm2, 1.749, 0.005)
	if mm, _, err = air.ReferenceETHour(air.ETHour{ElevationM: 8, TempC: 28, RHShare: .90, WindMS: 1.9, NightClearness: .8}); err != nil {
		t.Fatal(err)
	}
	near(t, "night", mm, 0.00, 0.005)
}

// Worked by hand with the printed equations.
func TestOpenWater(t *testing.T) {
	for _, r := range []struct{ water, temp, rh, area, act, want, tol float64 }{
		{24, 18, .75, 1, 1, .2049, .001},
		{24, 18, .75, 2.01, .5, 4.94 / 24, .001},
	} {
		got, err := air.PoolEvaporation(r.water, r.temp, r.rh, r.area, r.act, 0.1)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "pool", got, r.want, r.tol)
	}
	if got, err := air.PoolEvaporation(10, 24, .6, 1, 1, 0.1); err != nil || got >= 0 {
		t.Errorf("cold water in a warm room gives %g, %v; want condensation", got, err)
	}
	for _, r := range []struct{ wind, net, want float64 }{{.1, 8, 2.844}, {2, 15, 5.389}} {
		got, err := air.OpenWaterEvaporation(20, .7, r.wind, r.net, 101.3)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "Penman", got, r.want, 0.005)
	}
	room, err := air.FromRH(18, .75, 101.325)
	if err != nil {
		t.Fatal(err)
	}
	heat, err := air.BubblingHeatW(100, 24, room)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "bubbling", heat, 59.3, 0.6)
	if _, err := air.BubblingHeatW(100, 24, air.Moist{PressureKPa: 101}); err == nil {
		t.Error("air that nobody worked out is taken")
	}
}

// Any state is refused as out of range or finite and in order.
func TestMoistAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tempC, rh, kPa := rapid.Float64Range(-80, 110).Draw(t, "temp"), rapid.Float64Range(-.1, 1.1).Draw(t, "rh"), rapid.Float64Range(40, 120).Draw(t, "pressure")
		m, err := air.FromRH(tempC, rh, kPa)
		if err != nil {
			if !errors.Is(err, quantity.ErrRange) {
				t.Fatalf("%v does not wrap ErrRange", err)
			}
			return
		}
		if math.IsNaN(m.WetBulbC+m.EnthalpyKJkg+m.SpecificVolumeM3kg+m.HumidityRatio) || m.WetBulbC > tempC+1e-6 {
			t.Fatalf("%+v", m)
		}
		if !math.IsNaN(m.DewPointC) && m.DewPointC > m.WetBulbC+0.02 {
			t.Fatalf("dew point %g above wet bulb %g", m.DewPointC, m.WetBulbC)
		}
	})
}

func TestRefusals(t *testing.T) {
	nan := math.NaN()
	good := air.ETDay{LatitudeDeg: 50, ElevationM: 100, DayOfYear: 187, TmaxC: 21, TminC: 12, VapourKPa: 1.4, WindMS: 2, RadiationMJm2: 22}
	if _, err := air.ReferenceET(good); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*air.ETDay){
		"latitude": func(d *air.ETDay) { d.LatitudeDeg = 91 }, "elevation": func(d *air.ETDay) { d.ElevationM = 9000 },
		"day": func(d *air.ETDay) { d.DayOfYear = 0 }, "max": func(d *air.ETDay) { d.TmaxC = nan }, "min": func(d *air.ETDay) { d.TminC = 22 },
		"vapour": func(d *air.ETDay) { d.VapourKPa = 3 }, "wind": func(d *air.ETDay) { d.WindMS = -1 }, "radiation": func(d *air.ETDay) { d.RadiationMJm2 = 45 },
		"soil": func(d *air.ETDay) { d.SoilHeatMJm2 = nan },
	} {
		d := good
		change(&d)
		if _, err := air.ReferenceET(d); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
	for name, err := range map[string]error{
		"temp": second(air.SaturationPressure(101)), "dew": second(air.DewPointC(-1)), "elevation": second(air.PressureKPa(nan)),
		"wet bulb above": third(air.FromWetBulb(20, 21, 100)), "wet bulb below": third(air.FromWetBulb(20, -5, 100)),
		"dew above": third(air.FromDewPoint(20, 21, 100)), "steam": third(air.FromRH(99, 1, 60)),
		"rh": second(air.VapourFromRHFAO(20, 10, 60, 80)), "wind": second(air.WindAt2M(2, 0)), "psychrometer": second(air.VapourFromWetBulbFAO(40, 5, 100, .000662)),
		"pool": second(air.PoolEvaporation(24, 18, 75, 1, 1, .1)), "open": second(air.OpenWaterEvaporation(20, 70, 1, 8, 101)),
	} {
		if !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
	for name, h := range map[string]air.ETHour{
		"rh": {TempC: 20, RHShare: 60, NightClearness: .8}, "night": {TempC: 20, RHShare: .6}, "sun by night": {TempC: 20, RHShare: .6, RadiationMJm2: 1, NightClearness: .5},
	} {
		if _, _, err := air.ReferenceETHour(h); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
}

func second(_ float64, err error) error  { return err }
func third(_ air.Moist, err error) error { return err }
