package pipe_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/pipe"
)

// madeUp are the made-up pumps of testdata: points and draws by name.
func madeUp(t *testing.T) (points map[string][]pipe.Point, draws map[string][]pipe.Draw) {
	t.Helper()
	f, err := os.Open("testdata/pump_examples.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) != 21 {
		t.Fatalf("%d lines, %v", len(lines), err)
	}
	points, draws = map[string][]pipe.Point{}, map[string][]pipe.Draw{}
	for _, line := range lines[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(line[2+i], 64); err != nil {
				t.Fatal(err)
			}
		}
		points[line[0]] = append(points[line[0]], pipe.Point{FlowM3s: v[0] * lMin, HeadM: v[1]})
		draws[line[0]] = append(draws[line[0]], pipe.Draw{FlowM3s: v[0] * lMin, WireW: v[2]})
	}
	return points, draws
}

// Worked out by another program from the first three points.
func TestFitGoldens(t *testing.T) {
	points, _ := madeUp(t)
	for _, row := range []struct {
		pump                string
		h0, r, n, maxLPerMi float64
	}{
		{"PX-300", 6.0, 4.892870e-4, 1.73697, 225.87},
		{"PX-120", 4.5, 8.558105e-4, 1.80735, 114.48},
		{"PX-45", 3.0, 1.676977e-3, 1.84800, 57.55},
		{"PX-25", 2.5, 1.843423e-3, 2.11548, 30.25},
		{"PX-10", 1.4, 6.0e-3, 2.0, 15.28},
	} {
		c := must(pipe.Fit(points[row.pump][:3]))
		near(t, row.pump+" h0", c.ShutOffM, row.h0, 0)
		near(t, row.pump+" r", c.RLMin(), row.r, 1e-6*row.r)
		near(t, row.pump+" n", c.N, row.n, 5.1e-6)
		near(t, row.pump+" largest flow", c.MaxM3s/lMin, row.maxLPerMi, 0.0051)
		near(t, row.pump+" head there", c.HeadM(c.MaxM3s), 0, 1e-12)
		for _, p := range points[row.pump][:3] {
			near(t, row.pump+" at its points", c.HeadM(p.FlowM3s), p.HeadM, 1e-12)
		}
	}
}

// One point: EPANET's rule. Many: a parabola or straight pieces.
func TestFitOtherPoints(t *testing.T) {
	one := must(pipe.Fit([]pipe.Point{{FlowM3s: 1e-3, HeadM: 3}}))
	near(t, "head at no flow", one.ShutOffM, 4, 1e-12)
	near(t, "largest flow", one.MaxM3s, 2e-3, 0)
	near(t, "head at the point", one.HeadM(1e-3), 3, 1e-12)
	near(t, "head at the largest flow", one.HeadM(2e-3), 0, 1e-12)

	parabola := func(q float64) float64 { return 5 - 300*q - 4e5*q*q }
	var on []pipe.Point
	for _, q := range []float64{0, 5e-4, 1e-3, 2e-3, 3e-3} {
		on = append(on, pipe.Point{FlowM3s: q, HeadM: parabola(q)})
	}
	for _, list := range [][]pipe.Point{on, on[1:], on[1:4]} {
		c := must(pipe.Fit(list))
		for _, q := range []float64{0, 7e-4, 2.9e-3} {
			near(t, "parabola", c.HeadM(q), parabola(q), 1e-11)
		}
		near(t, "its end", parabola(c.MaxM3s), 0, 1e-11)
	}

	// The last piece nearly flat: a parabola would rise over these points.
	flat := []pipe.Point{{0, 5}, {1e-3, 1}, {2e-3, 0.9}, {3e-3, 0.8}}
	c := must(pipe.Fit(flat))
	for _, p := range flat {
		near(t, "straight pieces", c.HeadM(p.FlowM3s), p.HeadM, 1e-12)
	}
	near(t, "between", c.HeadM(0.5e-3), 3, 1e-12)
	near(t, "end", c.MaxM3s, 11e-3, 1e-12)
}

// Every curve falls, meets its shut-off head and its largest flow, and its slope
// is that of its head.
func TestCurvesFall(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var points []pipe.Point
		q, h := 0.0, rapid.Float64Range(2, 10).Draw(rt, "h0")
		if rapid.Bool().Draw(rt, "from above 0") {
			q = 1e-4
		}
		for range rapid.IntRange(3, 7).Draw(rt, "points") {
			points = append(points, pipe.Point{FlowM3s: q, HeadM: h})
			q += rapid.Float64Range(1e-4, 2e-3).Draw(rt, "more flow")
			h *= 1 - rapid.Float64Range(0.02, 0.6).Draw(rt, "less head")
		}
		c, err := pipe.Fit(points)
		if errors.Is(err, pipe.ErrCurve) {
			return
		}
		if err != nil {
			rt.Fatal(err)
		}
		ratio := rapid.Float64Range(0.2, 1.5).Draw(rt, "speed")
		slow := must(c.AtSpeed(ratio))
		last := math.Inf(1)
		for i := range 101 {
			q := c.MaxM3s * float64(i) / 100
			head, slope := c.HeadAndSlope(q)
			if !(head <= last) || slope > 0 {
				rt.Fatalf("%+v at %g: head %g after %g, slope %g", c, q, head, last, slope)
			}
			last = head
			if d := slow.HeadM(ratio*q) - ratio*ratio*head; !(math.Abs(d) < 1e-9) {
				rt.Fatalf("%+v at %g of speed %g: %g off", c, q, ratio, d)
			}
		}
		if !(math.Abs(last) < 1e-9) || !(math.Abs(c.HeadM(0)-c.ShutOffM) < 1e-12) || c.HeadM(-1) != c.HeadM(0) {
			rt.Fatalf("%+v: head %g at the largest flow, %g at none", c, last, c.HeadM(0))
		}
		q = c.MaxM3s * rapid.Float64Range(0.01, 0.99).Draw(rt, "share")
		const step = 1e-6
		_, slope := c.HeadAndSlope(q)
		differences := (c.HeadM(q*(1+step)) - c.HeadM(q*(1-step))) / (2 * step * q)
		left, right := (c.HeadM(q)-c.HeadM(q*(1-step)))/(step*q), (c.HeadM(q*(1+step))-c.HeadM(q))/(step*q)
		if near := 1e-4 * (math.Abs(slope) + 1); math.Abs(left-right) < near && !(math.Abs(slope-differences) < near) {
			rt.Fatalf("%+v at %g: slope %g, differences %g", c, q, slope, differences)
		}
	})
}

func TestFitRefusals(t *testing.T) {
	for name, points := range map[string][]pipe.Point{
		"none": nil, "two": {{0, 3}, {1e-3, 2}}, "rising": {{0, 3}, {1e-3, 3.1}, {2e-3, 1}}, "level": {{0, 3}, {1e-3, 3}, {2e-3, 1}},
		"flow falls": {{0, 3}, {2e-3, 2}, {1e-3, 1}}, "same flow": {{0, 3}, {1e-3, 2}, {1e-3, 1}}, "no duty": {{0, 3}},
		"too steep": {{0, 3}, {1e-3, 2.999999}, {1.1e-3, 0.1}},
	} {
		if c, err := pipe.Fit(points); !errors.Is(err, pipe.ErrCurve) {
			t.Errorf("%s: %+v, error %v, want one that wraps ErrCurve", name, c, err)
		}
	}
	for name, points := range map[string][]pipe.Point{
		"NaN": {{0, math.NaN()}, {1e-3, 2}, {2e-3, 1}}, "below 0": {{-1e-3, 3}, {1e-3, 2}, {2e-3, 1}}, "endless": {{0, math.Inf(1)}, {1e-3, 2}, {2e-3, 1}},
	} {
		_, err := pipe.Fit(points)
		refused(t, name, err)
	}
}

// PX-45 at 0.8 of its speed: worked out by another program.
func TestAffinity(t *testing.T) {
	points, draws := madeUp(t)
	c := must(must(pipe.Fit(points["PX-45"][:3])).AtSpeed(0.8))
	near(t, "head at 12 L/min", c.HeadM(12*lMin), 1.76, 1e-9)
	near(t, "head at 20 L/min", c.HeadM(20*lMin), 1.5088, 5e-5)
	near(t, "power at 12 L/min", must(pipe.WireW(draws["PX-45"], 15*lMin))*0.8*0.8*0.8, 18.4, 0.05)
	_, err := c.AtSpeed(math.NaN())
	refused(t, "speed NaN", err)
}

// The worked comparison of an oversized pump: six branches open at once against
// one at a time, 22 °C, 1.00 m of lift. Worked out by another program.
func TestOversizedPump(t *testing.T) {
	points, draws := madeUp(t)
	nu := must(pipe.KinematicM2S(22))
	branch := pipe.Pipe{DiameterM: 0.0158, LengthM: 1, RoughnessM: 1.5e-6, K: 4}
	perHour := map[string]float64{}
	for _, row := range []struct {
		pump                                                   string
		riser                                                  pipe.Pipe
		open                                                   float64
		flowLMin, headM, wireW, efficiency, kWhDay, whPer100L  float64
		minutesPerHour, timesPerHour, efficiencyTol, energyTol float64
	}{
		{"PX-120", pipe.Pipe{DiameterM: 0.0409, LengthM: 3, RoughnessM: 1.5e-6, K: 4}, 6, 86.7, 1.777, 119.1, 0.211, 2.859, 2.29, 6.23, 1, 0.0006, 0.003},
		{"PX-25", pipe.Pipe{DiameterM: 0.02664, LengthM: 3, RoughnessM: 1.5e-6, K: 4}, 1, 17.42, 1.722, 24.16, 0.202, 0.580, 2.31, 5.17, 6, 0.0006, 0.003},
	} {
		p := must(pipe.DutyOf(must(pipe.Fit(points[row.pump][:3])), 1, func(q float64) (float64, float64) {
			h, slope := row.riser.HeadAndSlope(q, nu)
			hb, slopeB := branch.HeadAndSlope(q/row.open, nu)
			return h + hb, slope + slopeB/row.open
		}))
		near(t, row.pump+" flow", p.FlowM3s/lMin, row.flowLMin, 0.05)
		near(t, row.pump+" head", p.HeadM, row.headM, 0.001)
		wireW := must(pipe.WireW(draws[row.pump], p.FlowM3s))
		near(t, row.pump+" watts", wireW, row.wireW, 0.06)
		near(t, row.pump+" efficiency", must(pipe.Efficiency(p.FlowM3s, p.HeadM, wireW, 22)), row.efficiency, row.efficiencyTol)
		near(t, row.pump+" kWh a day", must(pipe.EnergyKWh(wireW, 24)), row.kWhDay, row.energyTol)
		near(t, row.pump+" Wh for 100 L", wireW/60*100/(p.FlowM3s/lMin), row.whPer100L, 0.006)
		minutes := 90 * 6 / row.timesPerHour / (p.FlowM3s / lMin)
		near(t, row.pump+" minutes", minutes, row.minutesPerHour, 0.006)
		perHour[row.pump] = must(pipe.EnergyKWh(wireW, 24*minutes*row.timesPerHour/60))
	}
	near(t, "PX-120, a flood a bed and hour", perHour["PX-120"], 0.297, 0.001)
	near(t, "PX-25, a flood a bed and hour", perHour["PX-25"], 0.300, 0.001)
}

// The duty point lies on both curves.
func TestDutyLiesOnBoth(t *testing.T) {
	c := must(pipe.Fit([]pipe.Point{{0, 3}, {15 * lMin, 2.75}, {30 * lMin, 2.1}}))
	rapid.Check(t, func(rt *rapid.T) {
		p, lift := drawPipe(rt), rapid.Float64Range(0, 2.99).Draw(rt, "lift")
		d, err := pipe.Duty(c, lift, p, 20)
		if err != nil {
			rt.Fatal(err)
		}
		lost, _ := p.HeadAndSlope(d.FlowM3s, must(pipe.KinematicM2S(20)))
		if !(math.Abs(lost+lift-d.HeadM) < 1e-9) || d.HeadM != c.HeadM(d.FlowM3s) || !(d.FlowM3s > 0 && d.FlowM3s < c.MaxM3s) {
			rt.Fatalf("%+v: the pipe asks for %g m", d, lost+lift)
		}
	})
	p := pipe.Pipe{DiameterM: 0.02, LengthM: 3, RoughnessM: 1e-6, K: 2}
	for _, lift := range []float64{3, 3.5} {
		if _, err := pipe.Duty(c, lift, p, 20); !errors.Is(err, pipe.ErrCannotLift) {
			t.Errorf("lift %g: error %v, want ErrCannotLift", lift, err)
		}
	}
	if _, err := pipe.Duty(c, -50, p, 20); !errors.Is(err, pipe.ErrRunsItself) {
		t.Errorf("lift -50: error %v, want ErrRunsItself", err)
	}
	if _, err := pipe.Duty(pipe.Curve{}, 0, p, 20); !errors.Is(err, pipe.ErrCurve) {
		t.Errorf("empty curve: %v", err)
	}
	_, err := pipe.Duty(c, math.NaN(), p, 20)
	refused(t, "lift NaN", err)
	_, err = pipe.Duty(c, 1, p, 50)
	refused(t, "50 °C", err)
	p.K = -1
	_, err = pipe.Duty(c, 1, p, 20)
	refused(t, "K below 0", err)
}

// Crane, Technical Paper 410, problem 7.34: 428 ft, 700 gal/min, 62.364 lb/ft³;
// 107.056 hp at the pump by the worked problem, 83 970 printed as its cost a year.
func TestCranePower(t *testing.T) {
	const ft, gpm, hp, lbFt3 = 0.3048, 6.30901964e-5, 745.69987, 16.01846337
	flow, head, density := 700*gpm, 428*ft, 62.364*lbFt3
	hydraulicW := density * pipe.GravityMS2 * flow * head
	near(t, "pump", hydraulicW/0.707/hp, 107.056, 0.01)
	wireW := hydraulicW / (0.707 * 0.95 * 0.96)
	near(t, "plug", wireW/hp, 117.386, 0.01)
	near(t, "cost a year", must(pipe.EnergyKWh(wireW, 8000))*0.12, 83970, 0.001*83970)
	ours := must(pipe.HydraulicW(flow, head, 20))
	near(t, "water of 20 °C", ours, hydraulicW*998.2041/density, 1e-6*ours)
	near(t, "efficiency", must(pipe.Efficiency(flow, head, ours/0.6, 20)), 0.6, 1e-12)
}

func TestPowerRefusals(t *testing.T) {
	if _, err := pipe.Efficiency(1e-3, 2, 19, 20); !errors.Is(err, pipe.ErrPower) {
		t.Errorf("19 W for 19.6 W of water: error %v, want ErrPower", err)
	}
	_, err := pipe.Efficiency(1e-3, 2, 0, 20)
	refused(t, "no watts", err)
	_, err = pipe.Efficiency(math.NaN(), 2, 50, 20)
	refused(t, "flow NaN", err)
	_, err = pipe.WireW(nil, 1e-3)
	refused(t, "no points", err)
	_, err = pipe.WireW([]pipe.Draw{{0, math.NaN()}}, 1e-3)
	refused(t, "watts NaN", err)
	if _, err = pipe.WireW([]pipe.Draw{{1e-3, 20}, {1e-3, 30}}, 1e-3); !errors.Is(err, pipe.ErrCurve) {
		t.Errorf("flows that do not rise: %v", err)
	}
	draws := []pipe.Draw{{1e-3, 20}, {2e-3, 30}}
	for _, row := range []struct{ flow, want float64 }{{0, 20}, {1.5e-3, 25}, {2e-3, 30}, {9e-3, 30}} {
		near(t, "watts", must(pipe.WireW(draws, row.flow)), row.want, 1e-12)
	}
	_, err = pipe.EnergyKWh(10, -1)
	refused(t, "hours below 0", err)
}

// Goldens of another program; Crane, Technical Paper 410, problem 7.32 in print:
// a tank at 5 psi, vapour 0.256 psi, surface 25 ft below, 6 ft lost: 13.887 ft.
func TestNPSH(t *testing.T) {
	for _, row := range []struct{ tempC, elevationM, want float64 }{{22, 0, 9.285}, {30, 0, 9.142}, {40, 1500, 7.131}} {
		near(t, "suction head", must(pipe.NPSH(row.tempC, row.elevationM, -0.5, 0.3)), row.want, 0.0006)
	}
	const ft, psi, lbFt3 = 0.3048, 6.894757293, 16.01846337
	near(t, "Crane 7.32", must(pipe.NPSHOf((5+14.696)*psi, 0.256*psi, 62.364*lbFt3, -25*ft, 6*ft))/ft, 13.887, 0.002)
	for _, row := range [][4]float64{{-1, 0, 0, 0}, {20, 7000, 0, 0}, {20, 0, math.NaN(), 0}, {20, 0, 0, -0.1}} {
		_, err := pipe.NPSH(row[0], row[1], row[2], row[3])
		refused(t, "suction head", err)
	}
}
