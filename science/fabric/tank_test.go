package fabric_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/fabric"
)

// foamTank is 1.6 m wide and 1.0 m deep in 25 mm of foam board.
func foamTank(t *testing.T, topWm2K float64) (tank fabric.Tank, uaWK, heatJK float64) {
	t.Helper()
	u := the[float64](t)(fabric.InsulatedUWm2K(.025, fabric.XPSWmK))
	if topWm2K == 0 {
		topWm2K = u
	}
	tank = the[fabric.Tank](t)(fabric.RoundTank(1.6, 1, u, u, topWm2K))
	return tank, the[float64](t)(tank.UAWK()), the[float64](t)(fabric.WaterHeatJK(tank.VolumeM3))
}

// Worked once by hand.
func TestTanks(t *testing.T) {
	for _, r := range []struct{ mm, want float64 }{{25, 1.13}, {50, .61}, {100, .32}} {
		near(t, "insulation", the[float64](t)(fabric.InsulatedUWm2K(r.mm/1000, fabric.XPSWmK)), r.want, .006)
	}
	for _, r := range []struct{ top, ua, tau, hours, watts float64 }{
		{fabric.OpenQuietWm2K, 32.1, 72.8, 50.5, 514},
		{0, 10.25, 228, 158, 164}, // a float cover of the same board
	} {
		tank, ua, heat := foamTank(t, r.top)
		near(t, "volume", tank.VolumeM3, 2.011, .001)
		near(t, "UA", ua, r.ua, .005*r.ua)
		tau := the[float64](t)(fabric.TimeConstantH(heat, ua))
		near(t, "time constant", tau, r.tau, .005*r.tau)
		h, reached, err := fabric.CoolingH(tau, 26, 10, 18)
		if err != nil || !reached {
			t.Fatal(reached, err)
		}
		near(t, "cooling", h, r.hours, .005*r.hours)
		watts := the[float64](t)(fabric.HoldingW(ua, 26, 10))
		near(t, "holding", watts, r.watts, .005*r.watts)
	}
	_, _, heat := foamTank(t, fabric.OpenQuietWm2K)
	near(t, "1 kW", the[float64](t)(fabric.WarmingKH(1000, heat)), .428, .002)
	near(t, "12.3 kWh", the[float64](t)(fabric.HoldingW(32.1, 26, 10))*24/1000, 12.3, .06)
	// 600 W/m² · 0.9 · 0.7 · 2.01 m² = 760 W, less 32.1 · 4 = 128: 631 W, 0.27 K/h.
	near(t, "sun", the[float64](t)(fabric.SunWarmingKH(600, .7, 2.0106, 32.1, 20, 24, heat)), .2702, .001)
	// 8.416 MJ/K · 5 K in 10 h = 1169 W.
	near(t, "chilling", the[float64](t)(fabric.ChillingW(heat, 5, 10, 200)), 1369, 1)
	near(t, "bed and air", the[float64](t)(fabric.BedAirWK(2)), 2*9*1.75, 1e-9)
	near(t, "pump", the[float64](t)(fabric.FlowWK(1e-3)), 4186, 1e-9)
	near(t, "air of the house", the[float64](t)(fabric.AirHeatJK(212.4, fabric.BareAirTimes)), .2564e6, 100)
}

// The closed form of cooling and the exact steps of one and of several nodes
// agree; warming is cooling upside down.
func TestCoolingAndStepsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		heat, ua := math.Pow(10, rapid.Float64Range(4, 9).Draw(t, "heat")), math.Pow(10, rapid.Float64Range(0, 4).Draw(t, "ua"))
		rest := rapid.Float64Range(-20, 20).Draw(t, "rest")
		limit := rest + rapid.Float64Range(.5, 10).Draw(t, "limit")
		from := limit + rapid.Float64Range(.1, 20).Draw(t, "from")
		tau, err := fabric.TimeConstantH(heat, ua)
		if err != nil {
			t.Fatal(err)
		}
		h, reached, err := fabric.CoolingH(tau, from, rest, limit)
		if err != nil || !reached || !(h > 0) {
			t.Fatal(h, reached, err)
		}
		if 3600*h > 1e9 {
			t.Skip("beyond a step")
		}
		end, mean, err := fabric.Relax(from, rest, 3600*tau, 3600*h)
		if err != nil || math.Abs(end-limit) > 1e-8 || !(mean < from && mean > limit) {
			t.Fatalf("one node ends at %g, mean %g, limit %g, %v", end, mean, limit, err)
		}
		b, err := fabric.NewBalance([]fabric.Node{{HeatJK: heat, Borders: []fabric.Border{{WK: ua, TempC: rest}}}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		c, err := b.Step([]float64{from}, 3600*h)
		if err != nil || math.Abs(c.EndC[0]-limit) > 1e-7 || math.Abs(c.MeanC[0]-mean) > 1e-7 {
			t.Fatalf("the balance ends at %g, mean %g of %g, %v", c.EndC[0], c.MeanC[0], mean, err)
		}
		up, reached, err := fabric.WarmingH(tau, -from, -rest, -limit)
		if err != nil || !reached || math.Abs(up-h) > 1e-12*h {
			t.Fatalf("warming %g, cooling %g, %v", up, h, err)
		}
	})
	if h, reached, err := fabric.CoolingH(10, 17, 10, 18); h != 0 || !reached || err != nil {
		t.Errorf("there already: %g, %v, %v", h, reached, err)
	}
	if _, reached, err := fabric.CoolingH(10, 20, 18, 18); reached || err != nil {
		t.Errorf("never: %v, %v", reached, err)
	}
}

// Worked once by hand: the gable house with six tanks, its heat off.
func TestCut(t *testing.T) {
	c := fabric.Cut{AirC: 14, WaterC: 24, OutsideC: -12, HouseWK: 778, TankWK: 192.6, AirJK: .256e6, WaterJK: 6 * 2.0106 * 4.186e6}
	near(t, "air rests", the[float64](t)(c.AirRestC()), -4.86, .005)
	near(t, "in a row", the[float64](t)(fabric.SeriesWK(778, 192.6)), 154.4, .1)
	tau := the[float64](t)(fabric.TimeConstantH(c.WaterJK, 154.4))
	near(t, "time constant", tau, 90.9, .45)
	frost := the[fabric.Left](t)(c.AirTo(fabric.FrostC))
	near(t, "frost", frost.Hours, .099, .001)
	water := the[fabric.Left](t)(c.WaterTo(18))
	near(t, "water", water.Hours, 16.6, .083)
	// 192.6 · (24 + 4.86) · 3600 / 50.5e6.
	near(t, "fall", the[float64](t)(c.WaterFallKH()), .396, .001)
	// The closed forms are the quick ends of the coupled balance; with much light
	// stuff in the air they are on the short side.
	b := the[*fabric.Balance](t)(powerLost(20).Balance())
	slow, _, err := b.Until([]float64{14, 24}, fabric.NodeTank, 18, 100)
	if err != nil || slow < water.Hours {
		t.Errorf("coupled %g h, closed form %g h, %v", slow, water.Hours, err)
	}
	mild := c
	mild.OutsideC = 8
	if l := the[fabric.Left](t)(mild.AirTo(0)); l.Reached {
		t.Errorf("no frost outside and frost inside: %+v", l)
	}
	if l := the[fabric.Left](t)(mild.WaterTo(8)); l.Reached {
		t.Errorf("water colder than outside: %+v", l)
	}
	if l := the[fabric.Left](t)(c.AirTo(15)); l.Hours != 0 || !l.Reached {
		t.Errorf("colder than the limit already: %+v", l)
	}
	// A gain of 778 W lifts the air by at most 1 K and buys time.
	warm := c
	warm.GainW = 778
	if l := the[fabric.Left](t)(warm.WaterTo(18)); l.Hours <= water.Hours {
		t.Errorf("a gain shortens: %g", l.Hours)
	}
	c.TankWK = 0
	if l := the[fabric.Left](t)(c.WaterTo(18)); l.Reached {
		t.Errorf("tanks that lose nothing: %+v", l)
	}
}

func TestTankRefusals(t *testing.T) {
	nan := math.NaN()
	one := func(_ float64, err error) error { return err }
	two := func(_ float64, _ bool, err error) error { return err }
	left := func(_ fabric.Left, err error) error { return err }
	for name, err := range map[string]error{
		"insulation": one(fabric.InsulatedUWm2K(-1, .03)), "tank": func() error { _, err := fabric.RoundTank(0, 1, 1, 1, 1); return err }(), "top": func() error { _, err := fabric.RoundTank(1, 1, 1, 1, nan); return err }(),
		"tau": one(fabric.TimeConstantH(1e6, 0)), "cooling": two(fabric.CoolingH(0, 20, 10, 15)), "from": two(fabric.CoolingH(1, nan, 10, 15)), "warming": two(fabric.WarmingH(1, 20, nan, 15)),
		"holding": one(fabric.HoldingW(-1, 20, 10)), "power": one(fabric.WarmingKH(nan, 1e6)), "sun": one(fabric.SunWarmingKH(600, 2, 1, 1, 20, 20, 1e6)), "chill": one(fabric.ChillingW(1e6, 5, 0, 0)),
		"air": one(fabric.AirHeatJK(100, 0)), "water": one(fabric.WaterHeatJK(0)), "flow": one(fabric.FlowWK(-1)), "beds": one(fabric.BedAirWK(nan)),
		"rest": one(fabric.RestC(0)), "row": one(fabric.SeriesWK(1, nan)), "relax": func() error { _, _, err := fabric.Relax(10, 20, 0, 1); return err }(),
		"cut": left(fabric.Cut{HouseWK: 0, AirJK: 1e6}.AirTo(0)), "cut water": left(fabric.Cut{HouseWK: 1, AirJK: 1e6}.WaterTo(0)), "cut fall": one(fabric.Cut{HouseWK: 1, AirJK: 1e6, TankWK: 1}.WaterFallKH()), "cut limit": left(fabric.Cut{HouseWK: 1, AirJK: 1e6, WaterJK: 1e6, TankWK: 1}.WaterTo(nan)),
	} {
		if !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
}
