package pipe_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/pipe"
)

// Worked out by another program.
func TestFrictionGoldens(t *testing.T) {
	for _, row := range []struct{ re, rel, colebrook, smooth, haaland float64 }{
		{1e4, 0, 0.030883, 0.030972, 0.030886},
		{1e5, 0, 0.017990, 0.017863, 0.017825},
		{1e5, 1e-4, 0.018514, 0.018452, 0.018265},
		{1e5, 1e-3, 0.022175, 0.022342, 0.021966},
		{1e6, 1e-4, 0.013441, 0.013508, 0.013326},
		{1e5, 0.02, 0.049027, 0.049259, 0.049114},
	} {
		near(t, "Colebrook", must(pipe.Friction(row.re, row.rel, pipe.ByColebrook)), row.colebrook, 6e-7)
		near(t, "Swamee and Jain", must(pipe.Friction(row.re, row.rel, pipe.Smooth)), row.smooth, 6e-7)
		near(t, "Haaland", must(pipe.Haaland(row.re, row.rel)), row.haaland, 6e-7)
	}
	for _, row := range []struct{ re, want float64 }{{2300, 0.029177}, {2500, 0.029144}, {3000, 0.033101}, {3500, 0.038660}, {4000, 0.040610}} {
		near(t, fmt.Sprint("cubic at ", row.re), must(pipe.Friction(row.re, 5e-5, pipe.Smooth)), row.want, 6e-7)
	}
}

// Laminar flow is exact, and no method has a step or, Colebrook's joint at 4000
// included, a kink.
func TestFrictionIsContinuous(t *testing.T) {
	for _, method := range []pipe.Method{pipe.Smooth, pipe.ByColebrook} {
		for _, rel := range []float64{0, 1e-6, 5e-5, 1e-3, 0.02, 0.099} {
			at := func(re float64) float64 { return must(pipe.Friction(re, rel, method)) }
			near(t, "laminar", at(640), 0.1, 1e-15)
			for _, joint := range []float64{2000, 4000} {
				what := fmt.Sprintf("%s, roughness %g, joint %g", method, rel, joint)
				near(t, what+", value", at(joint*(1+1e-9)), at(joint*(1-1e-9)), 1e-6*at(joint))
				below, above := (at(joint-0.01)-at(joint-1.01))/1, (at(joint+1.01)-at(joint+0.01))/1
				near(t, what+", slope", below, above, 1e-7)
			}
		}
	}
}

// Swamee and Jain stay within 2 % of Colebrook and White from 4000 to 1e6 and up
// to a roughness of 1e-3, and within 3.5 % up to 0.02.
func TestSmoothStaysNearColebrook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		re := math.Pow(10, rapid.Float64Range(math.Log10(4000), 6).Draw(rt, "log re"))
		rel := math.Pow(10, rapid.Float64Range(-6, math.Log10(0.02)).Draw(rt, "log rel"))
		most := 0.035
		if rel <= 1e-3 && re > 5000 {
			most = 0.02
		}
		a, b := must(pipe.Friction(re, rel, pipe.Smooth)), must(pipe.Friction(re, rel, pipe.ByColebrook))
		if !(math.Abs(a/b-1) <= most) {
			rt.Fatalf("re %g, roughness %g: %g and %g", re, rel, a, b)
		}
	})
}

// White, Fluid Mechanics, example 6.7: printed V 6.4 m/s, Re 128 000, f 0.0225; h 117 m
// from memory.
func TestWhiteExample(t *testing.T) {
	area := pipe.CircleM2(0.2)
	v := 0.2 / area
	re := v * 0.2 / 1e-5
	f := must(pipe.Friction(re, 0.26e-3/0.2, pipe.ByColebrook))
	near(t, "V", v, 6.4, 0.05)
	near(t, "Re", re, 128000, 0.02*128000)
	near(t, "f", f, 0.0225, 0.02*0.0225)
	near(t, "h", f*500/0.2*v*v/(2*pipe.GravityMS2), 117, 0.02*117)
	h, _ := pipe.Pipe{DiameterM: 0.2, LengthM: 500, RoughnessM: 0.26e-3}.HeadAndSlope(0.2, 1e-5)
	near(t, "h by Swamee and Jain", h, 117, 0.02*117)
}

// Crane, Technical Paper 410, problem 7.1: 200 L/min of 30 °C in smooth 50 mm
// pipe; printed Re 100 600, f 0.0179; bore of 52.5 mm.
func TestCraneSmoothPipe(t *testing.T) {
	_, re, f, _, err := pipe.LossBy(pipe.ByColebrook, 200*lMin, pipe.Pipe{DiameterM: 0.0525, LengthM: 1}, 30, 150)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "Re", re, 100600, 0.005*100600)
	near(t, "f", f, 0.0179, 0.005*0.0179)
}

// EPANET 2.3 runs, friction by Darcy and Weisbach; its g is 9.8146, so its heads
// are 0.08 % lower; the first is printed to four digits.
func TestEpanetRuns(t *testing.T) {
	p := pipe.Pipe{DiameterM: 0.02664, LengthM: 10, RoughnessM: 1.5e-6}
	for _, row := range []struct{ flow, want, tol float64 }{{1, 0.001378, 1.2e-3}, {3.5, 0.006460, 1e-3}, {20, 0.188107, 1e-3}, {60, 1.305774, 1e-3}} {
		near(t, fmt.Sprint("head at ", row.flow), headM(t, row.flow*lMin, p, 20), row.want, row.tol*row.want)
	}
	_, re, f, _, err := pipe.Loss(3.5*lMin, p, 20)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "re at 3.5", re, 2779, 1)
	near(t, "f at 3.5", f, 0.030844, 1e-5)
	for _, row := range []struct{ flow, colebrook, hazen float64 }{{20, 0.188363, 0.168536}, {60, 1.313128, 1.289203}} {
		h, _, _, _, err := pipe.LossBy(pipe.ByColebrook, row.flow*lMin, p, 20, 150)
		near(t, "Colebrook", h, row.colebrook, 2e-4*row.colebrook)
		if err != nil {
			t.Error(err)
		}
		h, _, f, v, err := pipe.LossBy(pipe.ByHazen, row.flow*lMin, p, 20, 150)
		near(t, "Hazen-Williams", h, row.hazen, 1e-3*row.hazen)
		near(t, "its friction factor", f*p.LengthM/p.DiameterM*v*v/(2*pipe.GravityMS2), h, 1e-12)
		if err != nil {
			t.Error(err)
		}
	}
	p.K = 1.5
	q := must(pipe.Flow(1.5, p, 20))
	near(t, "flow under 1.5 m", q/lMin, 58.8905, 1e-3*58.8905)
	near(t, "its velocity", q/p.AreaM2(), 1.7609, 1e-3*1.7609)
}

func drawPipe(t *rapid.T) pipe.Pipe {
	d := math.Pow(10, rapid.Float64Range(-2.5, 0).Draw(t, "log diameter"))
	return pipe.Pipe{
		DiameterM:  d,
		LengthM:    math.Pow(10, rapid.Float64Range(-2, 3).Draw(t, "log length")),
		RoughnessM: d * rapid.Float64Range(0, 0.09).Draw(t, "roughness"),
		K:          rapid.Float64Range(0, 50).Draw(t, "K"),
	}
}

// More flow loses more head, at every Reynolds number and back and forth alike.
func TestLossRises(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p, tempC := drawPipe(rt), rapid.Float64Range(0, 45).Draw(rt, "temp")
		nu := must(pipe.KinematicM2S(tempC))
		re := math.Pow(10, rapid.Float64Range(-1, 7).Draw(rt, "log re"))
		q := re * nu * math.Pi / 4 * p.DiameterM
		a, slope := p.HeadAndSlope(q, nu)
		b, _ := p.HeadAndSlope(q*1.0001, nu)
		back, same := p.HeadAndSlope(-q, nu)
		if !(b > a && a > 0 && slope > 0) || back != -a || same != slope {
			rt.Fatalf("re %g in %+v: %g, %g further on, %g backward", re, p, a, b, back)
		}
	})
}

// The slope is that of the loss: against central differences.
func TestSlopeIsTheDerivative(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPipe(rt)
		nu := must(pipe.KinematicM2S(20))
		re := math.Pow(10, rapid.Float64Range(-1, 7).Draw(rt, "log re"))
		q := re * nu * math.Pi / 4 * p.DiameterM
		const step = 1e-5
		a, _ := p.HeadAndSlope(q*(1-step), nu)
		b, _ := p.HeadAndSlope(q*(1+step), nu)
		_, slope := p.HeadAndSlope(q, nu)
		if want := (b - a) / (2 * step * q); !(math.Abs(slope/want-1) < 3e-5) {
			rt.Fatalf("re %g in %+v: slope %g, differences %g", re, p, slope, want)
		}
	})
	p := pipe.Pipe{DiameterM: 0.02, LengthM: 3, RoughnessM: 1e-4, K: 2}
	got := must(p.LossSlope(2e-4, 20))
	_, want := p.HeadAndSlope(2e-4, must(pipe.KinematicM2S(20)))
	near(t, "LossSlope", got, want, 0)
	if rest := must(p.LossSlope(0, 20)); !(rest > 0) {
		t.Errorf("slope at rest: %g, want above 0", rest)
	}
}

// Flow is the inverse of Loss to 1e-9.
func TestFlowInvertsLoss(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p, tempC := drawPipe(rt), rapid.Float64Range(0, 45).Draw(rt, "temp")
		h := math.Pow(10, rapid.Float64Range(-6, 2).Draw(rt, "log head"))
		q, err := pipe.Flow(h, p, tempC)
		if err != nil {
			rt.Fatal(err)
		}
		back, _ := p.HeadAndSlope(q, must(pipe.KinematicM2S(tempC)))
		if !(math.Abs(back/h-1) <= 1e-9) {
			rt.Fatalf("head %g in %+v: flow %g, whose head is %g", h, p, q, back)
		}
		if other := must(pipe.Flow(-h, p, tempC)); other != -q {
			rt.Fatalf("backward %g, forward %g", other, q)
		}
	})
	near(t, "no head", must(pipe.Flow(0, pipe.Pipe{DiameterM: 0.02, LengthM: 1}, 20)), 0, 0)
}

// A film takes more head, never less.
func TestFouledPipe(t *testing.T) {
	clean := pipe.Pipe{DiameterM: 0.02664, LengthM: 10, RoughnessM: pipe.NewRoughnessM}
	fouled := clean
	fouled.RoughnessM = pipe.FouledRoughnessM
	a, b := headM(t, 40*lMin, clean, 20), headM(t, 40*lMin, fouled, 20)
	if !(b > 1.2*a && b < 2*a) {
		t.Errorf("clean %g m, fouled %g m", a, b)
	}
}

func TestPipeRefusals(t *testing.T) {
	good := pipe.Pipe{DiameterM: 0.02, LengthM: 1, RoughnessM: 1e-6, K: 1}
	nan, inf := math.NaN(), math.Inf(1)
	with := func(change func(*pipe.Pipe)) pipe.Pipe { p := good; change(&p); return p }
	for name, p := range map[string]pipe.Pipe{
		"no diameter": with(func(p *pipe.Pipe) { p.DiameterM = 0 }), "diameter below 0": with(func(p *pipe.Pipe) { p.DiameterM = -0.02 }), "diameter NaN": with(func(p *pipe.Pipe) { p.DiameterM = nan }),
		"no length": with(func(p *pipe.Pipe) { p.LengthM = 0 }), "endless": with(func(p *pipe.Pipe) { p.LengthM = inf }),
		"too rough": with(func(p *pipe.Pipe) { p.RoughnessM = 0.002 }), "roughness below 0": with(func(p *pipe.Pipe) { p.RoughnessM = -1e-9 }), "roughness NaN": with(func(p *pipe.Pipe) { p.RoughnessM = nan }),
		"K below 0": with(func(p *pipe.Pipe) { p.K = -0.1 }), "K NaN": with(func(p *pipe.Pipe) { p.K = nan }),
	} {
		_, _, _, _, err := pipe.Loss(1e-4, p, 20)
		refused(t, "loss, "+name, err)
		_, err = pipe.Flow(1, p, 20)
		refused(t, "flow, "+name, err)
		_, err = p.LossSlope(1e-4, 20)
		refused(t, "slope, "+name, err)
	}
	for _, row := range []struct{ flow, tempC float64 }{{nan, 20}, {inf, 20}, {1e-4, -1}, {1e-4, 46}, {1e-4, nan}, {90, 45}} {
		_, _, _, _, err := pipe.Loss(row.flow, good, row.tempC)
		refused(t, fmt.Sprintf("loss of %g at %g °C", row.flow, row.tempC), err)
	}
	_, err := pipe.Flow(nan, good, 20)
	refused(t, "head NaN", err)
	for _, row := range []struct{ re, rel float64 }{{0, 0}, {-1, 0}, {nan, 0}, {inf, 0}, {1e5, 0.1}, {1e5, -1e-9}, {1e5, nan}} {
		_, err := pipe.Friction(row.re, row.rel, pipe.Smooth)
		refused(t, fmt.Sprintf("friction at %g, %g", row.re, row.rel), err)
	}
	_, err = pipe.Haaland(3999, 0)
	refused(t, "Haaland in the passage", err)
	if _, err := pipe.Friction(1e5, 0, pipe.ByHazen); err == nil {
		t.Error("a friction factor of Hazen and Williams")
	}
	if _, _, _, _, err := pipe.LossBy("chezy", 1e-4, good, 20, 150); err == nil {
		t.Error("a method that is not known")
	}
	_, err = pipe.HazenWilliams(1e-4, 0.02, 1, 40)
	refused(t, "c of 40", err)
}

// At rest there is nothing to lose and no friction factor.
func TestAtRest(t *testing.T) {
	for _, method := range pipe.Methods() {
		h, re, f, v, err := pipe.LossBy(method, 0, pipe.Pipe{DiameterM: 0.02, LengthM: 1, K: 3}, 20, 150)
		if h != 0 || re != 0 || f != 0 || v != 0 || err != nil {
			t.Errorf("%s at rest: %g m, re %g, f %g, %g m/s, %v", method, h, re, f, v, err)
		}
	}
}

func TestNoAllocation(t *testing.T) {
	p := pipe.Pipe{DiameterM: 0.02664, LengthM: 10, RoughnessM: 1.5e-6, K: 3}
	for name, f := range map[string]func(){
		"Loss":     func() { _, _, _, _, _ = pipe.Loss(3e-4, p, 20) },
		"Friction": func() { _, _ = pipe.Friction(3e4, 1e-4, pipe.ByColebrook) },
		"Flow":     func() { _, _ = pipe.Flow(1, p, 20) },
		"slope":    func() { _, _ = p.LossSlope(3e-4, 20) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
}

func BenchmarkFriction(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		_, _ = pipe.Friction(3e4, 1e-4, pipe.Smooth)
	}
}

func BenchmarkLoss(b *testing.B) {
	p := pipe.Pipe{DiameterM: 0.02664, LengthM: 10, RoughnessM: 1.5e-6, K: 3}
	b.ReportAllocs()
	for b.Loop() {
		_, _, _, _, _ = pipe.Loss(3e-4, p, 20)
	}
}

func BenchmarkHeadAndSlope(b *testing.B) {
	p := pipe.Pipe{DiameterM: 0.02664, LengthM: 10, RoughnessM: 1.5e-6, K: 3}
	b.ReportAllocs()
	for b.Loop() {
		_, _ = p.HeadAndSlope(3e-4, 1e-6)
	}
}

func BenchmarkFlow(b *testing.B) {
	p := pipe.Pipe{DiameterM: 0.02664, LengthM: 10, RoughnessM: 1.5e-6, K: 3}
	b.ReportAllocs()
	for b.Loop() {
		_, _ = pipe.Flow(1, p, 20)
	}
}

// A flow too small to have a Reynolds number counts as rest by every method.
func TestLeastFlow(t *testing.T) {
	for _, flow := range []float64{5e-324, -5e-324, 1e-300, 1e-160} {
		for _, method := range pipe.Methods() {
			head, _, friction, _, err := pipe.LossBy(method, flow, pipe.Pipe{DiameterM: 1, LengthM: 1, K: 1}, 1, 150)
			if err != nil || friction != 0 || math.IsNaN(head) || math.Abs(head) > 1e-100 {
				t.Errorf("%s, %g m³/s: head %g, friction factor %g, %v; want both nearly nothing", method, flow, head, friction, err)
			}
		}
	}
	at := func(share float64) (re, friction float64) { // of a Reynolds number of 1e-9
		_, re, friction, _, err := pipe.Loss(share*1e-9*1.7314e-6*math.Pi/4, pipe.Pipe{DiameterM: 1, LengthM: 1}, 1)
		if err != nil {
			t.Fatal(err)
		}
		return re, friction
	}
	if re, friction := at(0.99); re == 0 || re > 1e-9 || friction != 0 {
		t.Errorf("below: Reynolds number %g, factor %g", re, friction)
	}
	if re, friction := at(1.01); re < 1e-9 || math.Abs(friction*re-64) > 1e-6 {
		t.Errorf("above: Reynolds number %g, factor %g", re, friction)
	}
}

// Any input is refused as out of range, or gives finite numbers.
func TestWildInputs(t *testing.T) {
	wild := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-2, 60), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 5e-324, math.MaxFloat64}))
	rapid.Check(t, func(rt *rapid.T) {
		a, b, c, d, e, f := wild.Draw(rt, "a"), wild.Draw(rt, "b"), wild.Draw(rt, "c"), wild.Draw(rt, "d"), wild.Draw(rt, "e"), wild.Draw(rt, "f")
		finite := func(what string, err error, values ...float64) {
			if err != nil {
				if !errors.Is(err, quantity.ErrRange) && !errors.Is(err, pipe.ErrCurve) {
					rt.Fatalf("%s: %v", what, err)
				}
				return
			}
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					rt.Fatalf("%s of %g, %g, %g, %g, %g, %g: %g", what, a, b, c, d, e, f, values)
				}
			}
		}
		p := pipe.Pipe{DiameterM: a, LengthM: b, RoughnessM: c, K: d}
		head, re, friction, v, err := pipe.Loss(e, p, f)
		finite("loss", err, head, re, friction, v)
		head, re, friction, v, err = pipe.LossBy(pipe.ByHazen, e, p, f, 150)
		finite("loss by Hazen and Williams", err, head, re, friction, v)
		q, err := pipe.Flow(e, p, f)
		finite("flow", err, q)
		curve, err := pipe.Fit([]pipe.Point{{FlowM3s: 0, HeadM: a}, {FlowM3s: b, HeadM: c}, {FlowM3s: d, HeadM: e}})
		finite("curve", err, curve.MaxM3s, curve.R, curve.N, curve.HeadM(curve.MaxM3s))
		curve, err = pipe.Fit([]pipe.Point{{FlowM3s: a, HeadM: b}, {FlowM3s: c, HeadM: d}, {FlowM3s: e, HeadM: f}})
		finite("parabola", err, curve.MaxM3s, curve.HeadM(0), curve.HeadM(curve.MaxM3s))
		s, err := pipe.WeepDrainSeconds(a, b, c, d)
		finite("weep hole", err, s)
		kgM2, kPa, err := pipe.BedLoad(a, b, c, d, e)
		finite("bed load", err, kgM2, kPa)
		npsh, err := pipe.NPSH(a, b, c, d)
		finite("suction head", err, npsh)
		q, v, err = pipe.ManningPartFull(a, b, c, d)
		finite("drain", err, q, v)
	})
}
