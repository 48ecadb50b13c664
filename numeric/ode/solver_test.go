package ode_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/numeric/ode"
	"tidebed/numeric/ode/odetest"
)

// ball falls on the floor: height and speed, floor at 0.
func ball(stop bool, seen func(float64, []float64)) ode.Problem {
	return ode.Problem{
		N: 2, Names: []string{"height", "speed"}, Autonomous: true,
		F:      func(_ float64, y, dy []float64) error { dy[0], dy[1] = y[1], -9.81; return nil },
		Jac:    func(_ float64, _, j []float64) error { j[1] = 1; return nil },
		Events: []ode.Event{{Name: "floor", Root: func(_ float64, y []float64) float64 { return y[0] }, Direction: -1, Stop: stop, Seen: seen}},
	}
}

// Exact: √(2h/g), then 2v/g for each bounce.
func TestBounce(t *testing.T) {
	v := start(t, ball(true, nil), ode.Settings{RelTol: 1e-9, AbsTol: []float64{1e-9, 1e-9}, MaxStep: 0.2}, []float64{10, 0})
	at, speed := math.Sqrt(2*10/9.81), math.Sqrt(2*10*9.81)
	for bounce := range 5 {
		out, err := v.Advance(100)
		if err != nil {
			t.Fatal(err)
		}
		now, y := v.State()
		if out.Reason != ode.AtEvent || out.Event != 0 || out.T != now || !(math.Abs(now-at) < 1e-9) {
			t.Fatalf("bounce %d: %v of event %d at %.12g, want %.12g", bounce, out.Reason, out.Event, now, at)
		}
		if !(math.Abs(y[0]) < 1e-9 && math.Abs(y[1]+speed) < 1e-8) {
			t.Errorf("bounce %d: state %g, %g, want 0, %g", bounce, y[0], y[1], -speed)
		}
		speed *= 0.8
		at += 2 * speed / 9.81
		if err := v.Set([]float64{y[0], -0.8 * y[1]}); err != nil {
			t.Fatal(err)
		}
	}
}

// Exact: a swing passes 0.5 rising and falling at known times; events that go on
// are told in order, and rising, falling and both see their own.
func TestThresholds(t *testing.T) {
	for _, row := range []struct {
		direction int
		want      []float64
	}{
		{1, []float64{math.Pi / 6, 2*math.Pi + math.Pi/6}},
		{-1, []float64{5 * math.Pi / 6, 2*math.Pi + 5*math.Pi/6}},
		{0, []float64{math.Pi / 6, 5 * math.Pi / 6, 2*math.Pi + math.Pi/6, 2*math.Pi + 5*math.Pi/6}},
	} {
		var seen []float64
		p := ode.Problem{
			N: 2, Autonomous: true,
			F: func(_ float64, y, dy []float64) error { dy[0], dy[1] = y[1], -y[0]; return nil },
			Events: []ode.Event{{
				Root:      func(_ float64, y []float64) float64 { return y[0] - 0.5 },
				Direction: row.direction,
				Seen: func(at float64, y []float64) {
					seen = append(seen, at)
					if !(math.Abs(y[0]-0.5) < 1e-12) {
						t.Errorf("state at the event is %g", y[0])
					}
				},
			}},
		}
		v := start(t, p, ode.Settings{RelTol: 1e-9, AbsTol: []float64{1e-9, 1e-9}}, []float64{0, 1})
		if out, err := v.Advance(10); err != nil || out.Reason != ode.Reached {
			t.Fatal(out, err)
		}
		if len(seen) != len(row.want) || v.Stats().Events != len(row.want) {
			t.Fatalf("direction %d: seen at %v, want %v", row.direction, seen, row.want)
		}
		for i, want := range row.want {
			if !(math.Abs(seen[i]-want) < 1e-6) {
				t.Errorf("direction %d: seen at %.10g, want %.10g", row.direction, seen[i], want)
			}
		}
	}
}

// Two events in one step come in order of time, the stopping one last; one that
// falls into the same place is told too, and none twice.
func TestEventsInOrder(t *testing.T) {
	var told []string
	mark := func(name string, at float64, stop bool) ode.Event {
		return ode.Event{Name: name, Stop: stop, Root: func(now float64, _ []float64) float64 { return now - at },
			Seen: func(now float64, _ []float64) {
				told = append(told, name)
				if !(math.Abs(now-at) < 1e-12) {
					t.Errorf("%s told at %.16g, want %g", name, now, at)
				}
			}}
	}
	p := ode.Problem{N: 1, Autonomous: true, F: func(_ float64, _, dy []float64) error { dy[0] = 1; return nil },
		Events: []ode.Event{mark("later", 0.62, false), mark("stop", 0.61, true), mark("early", 0.6, false), mark("same", 0.61, false), mark("start", 0, false)}}
	v := start(t, p, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1}, FixedStep: 1}, []float64{0})
	out, err := v.Advance(1)
	if err != nil || out.Event != 1 || out.Reason != ode.AtEvent {
		t.Fatal(out, err)
	}
	if _, y := v.State(); !(math.Abs(y[0]-0.61) < 1e-12) {
		t.Errorf("state at the stop is %g", y[0])
	}
	if out, err = v.Advance(1); err != nil || out.Reason != ode.Reached {
		t.Fatal(out, err)
	}
	if got := strings.Join(told, " "); got != "early stop same later" {
		t.Errorf("told: %s", got)
	}
}

// F is never asked beyond the end, and the end is met to the bit.
func TestNoOvershoot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		limit := 0.0
		p := ode.Problem{N: 1, F: func(at float64, y, dy []float64) error {
			if at > limit {
				t.Fatalf("asked at %.17g, end is %.17g", at, limit)
			}
			dy[0] = -y[0] + math.Sin(at)
			return nil
		}}
		v, err := ode.New(p, ode.Settings{RelTol: 1e-4, AbsTol: []float64{1e-6}})
		if err != nil {
			t.Fatal(err)
		}
		limit = rapid.Float64Range(-1e8, 1e8).Draw(t, "t0")
		if err := v.Start(limit, []float64{1}); err != nil {
			t.Fatal(err)
		}
		for range 5 {
			limit += rapid.Float64Range(1e-3, 20).Draw(t, "span")
			out, err := v.Advance(limit)
			if err != nil || out.T != limit {
				t.Fatalf("%v at %.17g, want %.17g: %v", out.Reason, out.T, limit, err)
			}
		}
	})
}

// The same where the span is no exact difference of its ends, in one step.
func TestEndToTheBit(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	limit := 0.0
	p := ode.Problem{N: 1, Autonomous: true, F: func(at float64, _, dy []float64) error {
		if at > limit {
			t.Fatalf("asked at %.17g, end is %.17g", at, limit)
		}
		dy[0] = 0
		return nil
	}}
	v := start(t, p, ode.Settings{RelTol: 1e-4, AbsTol: []float64{1}, FirstStep: 1e9}, []float64{1})
	for range 2000 {
		from := -math.Exp(20*random.Float64() - 10)
		if err := v.Start(from, []float64{1}); err != nil {
			t.Fatal(err)
		}
		limit = 1e-3 * random.Float64()
		if out, err := v.Advance(limit); err != nil || out.T != limit || v.Stats().Steps != 1 {
			t.Fatal(out, v.Stats(), err)
		}
	}
}

// A step cut short by an end is taken up again; the last two steps before an end
// are alike.
func TestStepAtTheEnd(t *testing.T) {
	p := ode.Problem{N: 1, Autonomous: true, F: func(_ float64, y, dy []float64) error { dy[0] = -1e-3 * y[0]; return nil }}
	v := start(t, p, ode.Settings{RelTol: 1e-4, AbsTol: []float64{1}}, []float64{1})
	if _, err := v.Advance(1000); err != nil {
		t.Fatal(err)
	}
	before := v.Step()
	if _, err := v.Advance(1000.001); err != nil {
		t.Fatal(err)
	}
	if got := v.Step(); !(got >= before && before > 10) {
		t.Errorf("step %g before a short span, %g after", before, got)
	}
	v = start(t, p, ode.Settings{RelTol: 1e-4, AbsTol: []float64{1}, FirstStep: 1, MaxStep: 1}, []float64{1})
	if _, err := v.Advance(1.2); err != nil {
		t.Fatal(err)
	}
	var y [1]float64
	if err := v.At(0.59, y[:]); !errors.Is(err, ode.ErrOutside) || v.Stats().Steps != 2 {
		t.Errorf("the last step begins before 0.59, or %+v: %v", v.Stats(), err)
	}
	if err := v.At(0.61, y[:]); err != nil || !(math.Abs(y[0]-math.Exp(-0.61e-3)) < 1e-9) {
		t.Errorf("at 0.61: %g, %v", y[0], err)
	}
}

// After a step that failed the next is not longer than the one that did.
func TestNoGrowthAfterFailure(t *testing.T) {
	refuse := true
	p := ode.Problem{N: 1, Autonomous: true, F: func(at float64, _, dy []float64) error {
		if dy[0] = 0; refuse && at > 3 {
			refuse = false
			return ode.ErrShorter
		}
		return nil
	}}
	v := start(t, p, ode.Settings{RelTol: 1e-4, AbsTol: []float64{1}, FirstStep: 8, MaxSteps: 2}, []float64{1})
	if _, err := v.Advance(100); !errors.Is(err, ode.ErrTooManySteps) {
		t.Fatal(err)
	}
	if now, _ := v.State(); now != 2 || v.Step() != 2 || v.Stats().Refused != 1 {
		t.Errorf("at %g with step %g, %+v; want 2 and 2 after one refusal of 8", now, v.Step(), v.Stats())
	}
}

// Where F refuses a larger state, differences look at a smaller one. Exact: e^-t.
func TestDifferencesTurn(t *testing.T) {
	highest := 1.0
	p := ode.Problem{N: 1, Autonomous: true, F: func(_ float64, y, dy []float64) error {
		if y[0] > highest {
			return ode.ErrShorter
		}
		dy[0] = -y[0]
		return nil
	}}
	v := start(t, p, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-9}}, []float64{1})
	if _, err := v.Advance(1); err != nil {
		t.Fatal(err)
	}
	if _, y := v.State(); !(math.Abs(y[0]-math.Exp(-1)) < 1e-6) {
		t.Errorf("%g, want e^-1", y[0])
	}
	highest = -1
	if err := v.Start(0, []float64{1}); err != nil {
		t.Fatal(err)
	}
	if out, err := v.Advance(1); !errors.Is(err, ode.ErrShorter) || out.Reason.String() != "not moved" || !strings.Contains(err.Error(), "start of an advance") {
		t.Errorf("%v: %v", out, err)
	}
}

// Answers of the callbacks other than rates come through with their place.
func TestCallbackErrors(t *testing.T) {
	own := errors.New("own")
	base := func() ode.Problem {
		return ode.Problem{N: 1, NQ: 1,
			F:    func(_ float64, y, dy []float64) error { dy[0] = -y[0]; return nil },
			Quad: func(_ float64, y, dq []float64) error { dq[0] = y[0]; return nil }}
	}
	fail := func(float64, []float64, []float64) error { return own }
	bad := func(_ float64, _, j []float64) error { j[0] = math.NaN(); return nil }
	for _, row := range []struct {
		name  string
		spoil func(p *ode.Problem)
		want  error
		says  string
	}{
		{"Jac", func(p *ode.Problem) { p.Jac = fail }, own, "Jacobian"},
		{"Jac NaN", func(p *ode.Problem) { p.Jac = bad }, ode.ErrNotFinite, "Jacobian"},
		{"QuadJac", func(p *ode.Problem) { p.QuadJac = fail }, own, "quadratures"},
		{"QuadJac NaN", func(p *ode.Problem) { p.QuadJac = bad }, ode.ErrNotFinite, "Jacobian"},
		{"TimeJac", func(p *ode.Problem) { p.TimeJac = func(float64, []float64, []float64, []float64) error { return own } }, own, "time derivative"},
		{"TimeJac NaN", func(p *ode.Problem) {
			p.TimeJac = func(_ float64, _, _, dqt []float64) error { dqt[0] = math.NaN(); return nil }
		}, ode.ErrNotFinite, "time derivative"},
		{"Quad", func(p *ode.Problem) { p.Quad = fail }, own, "own"},
		{"Quad NaN", func(p *ode.Problem) { p.Quad = bad }, ode.ErrNotFinite, "quadrature 0"},
		{"F in a difference", func(p *ode.Problem) {
			p.F = func(_ float64, y, dy []float64) error {
				if y[0] > 1 {
					return own
				}
				dy[0] = -y[0]
				return nil
			}
		}, own, "difference in y[0]"},
		{"event at the start", func(p *ode.Problem) {
			p.Events = []ode.Event{{Name: "odd", Root: func(float64, []float64) float64 { return math.NaN() }}}
		}, ode.ErrNotFinite, "odd"},
	} {
		p := base()
		row.spoil(&p)
		v := start(t, p, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-9}}, []float64{1})
		if _, err := v.Advance(1); !errors.Is(err, row.want) || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v", row.name, err)
		}
		if now, y := v.State(); now != 0 || y[0] != 1 {
			t.Errorf("%s: solver at %g with %g", row.name, now, y[0])
		}
	}
}

// Forcing that jumps each hour: going on takes fewer steps than starting anew and
// comes to the same answer; exact by hand, segment by segment.
func TestCarriedStep(t *testing.T) {
	force := 0.0
	const k = 2.0
	p := ode.Problem{N: 1, Autonomous: true,
		F:   func(_ float64, y, dy []float64) error { dy[0] = k * (force - y[0]); return nil },
		Jac: func(_ float64, _, j []float64) error { j[0] = -k; return nil }}
	s := ode.Settings{RelTol: 1e-5, AbsTol: []float64{1e-6}}
	carried, anew := start(t, p, s, []float64{1}), start(t, p, s, []float64{1})
	exact, again := 1.0, 0
	for hour := range 200 {
		force = 1 + 0.5*math.Sin(float64(hour)/4)
		exact = force + (exact-force)*math.Exp(-k*0.1)
		if _, err := carried.Advance(0.1 * float64(hour+1)); err != nil {
			t.Fatal(err)
		}
		_, y := anew.State()
		if err := anew.Start(0.1*float64(hour), append([]float64(nil), y...)); err != nil {
			t.Fatal(err)
		}
		if _, err := anew.Advance(0.1 * float64(hour+1)); err != nil {
			t.Fatal(err)
		}
		again += anew.Stats().Steps
		for _, v := range []*ode.Solver{carried, anew} {
			if _, y := v.State(); !(math.Abs(y[0]-exact) < 1e-4) {
				t.Fatalf("hour %d: %g, want %g", hour, y[0], exact)
			}
		}
	}
	if got := carried.Stats().Steps; !(got <= 250 && 2*got < again) {
		t.Errorf("%d steps carried on, %d started anew", got, again)
	}
}

// A chain of tanks with outflow into a ledger. Exact: the first empties as
// e^(-kt), and its ledger ∫k·y = 1 - e^(-kt). What leaves the states stands in the
// ledgers, to rounding, at the ends, within steps and at events.
func TestQuadratures(t *testing.T) {
	const n = 4
	k := [n]float64{0.5, 30, 2, 1e3}
	p := ode.Problem{
		N: n, NQ: 3, Autonomous: true,
		F: func(_ float64, y, dy []float64) error {
			flow := 0.0
			for i := range n {
				out := k[i] * y[i] * (1 + 0.1*y[i]*y[i]*float64(i))
				dy[i] = flow - out
				flow = out
			}
			return nil
		},
		Jac: func(_ float64, y, j []float64) error {
			for i := range n {
				d := k[i] * (1 + 0.3*y[i]*y[i]*float64(i))
				j[i*n+i] = -d
				if i < n-1 {
					j[(i+1)*n+i] = d
				}
			}
			return nil
		},
		Quad: func(_ float64, y, dq []float64) error {
			dq[0] = k[0] * y[0]
			dq[1] = k[n-1] * y[n-1] * (1 + 0.1*y[n-1]*y[n-1]*(n-1))
			dq[2] = 1
			return nil
		},
		QuadJac: func(_ float64, y, j []float64) error {
			j[0] = k[0]
			j[n+n-1] = k[n-1] * (1 + 0.3*y[n-1]*y[n-1]*(n-1))
			return nil
		},
		Events: []ode.Event{{Root: func(_ float64, y []float64) float64 { return y[0] - 0.3 }, Stop: true}},
	}
	for _, given := range []bool{true, false} {
		closes := 1e-12
		if !given {
			p.Jac, p.QuadJac, closes = nil, nil, 1e-7
		}
		v := start(t, p, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-9, 1e-9, 1e-9, 1e-12}}, []float64{1, 0, 0, 0})
		y, q := make([]float64, n), make([]float64, 3)
		balance := func(where string, y, q []float64) {
			if sum := y[0] + y[1] + y[2] + y[3] + q[1]; !(math.Abs(sum-1) < closes) {
				t.Errorf("%s, Jacobians given %t: the ledger is open by %g", where, given, sum-1)
			}
			if sum := y[0] + q[0]; !(math.Abs(sum-1) < closes) {
				t.Errorf("%s, Jacobians given %t: the first ledger is open by %g", where, given, sum-1)
			}
		}
		for _, end := range []float64{1, 1.5, 5, 5, 12} {
			out, err := v.Advance(end)
			if err != nil {
				t.Fatal(err)
			}
			now, state := v.State()
			balance("end", state, v.Quadratures())
			if got, want := v.Quadratures()[0], 1-math.Exp(-0.5*now); !(math.Abs(got-want) < 1e-5) {
				t.Errorf("∫ = %.9g at %g, want %.9g", got, now, want)
			}
			if !(math.Abs(v.Quadratures()[2]-now) < 1e-12*now) {
				t.Errorf("∫1 = %g at %g", v.Quadratures()[2], now)
			}
			if want := math.Log(1/0.3) / 0.5; out.Reason == ode.AtEvent && !(math.Abs(now-want) < 1e-4) {
				t.Errorf("event at %.9g, want %.9g", now, want)
			}
			for _, part := range []float64{1e-4, 0.01} {
				if err := errors.Join(v.At(now-part*now/1e3, y), v.QuadraturesAt(now-part*now/1e3, q)); err == nil {
					balance("between", y, q)
				} else if !errors.Is(err, ode.ErrOutside) {
					t.Fatal(err)
				}
			}
		}
		if v.Stats().Events != 1 || v.Stats().Rejected+v.Stats().Steps < 10 {
			t.Errorf("%+v", v.Stats())
		}
	}
}

// Exact: ∫₀ᵗ s² ds; time enters, with the derivative given and by differences.
func TestQuadratureOfTime(t *testing.T) {
	p := ode.Problem{N: 1, NQ: 1,
		F:    func(_ float64, _, dy []float64) error { dy[0] = 0; return nil },
		Quad: func(at float64, _, dq []float64) error { dq[0] = at * at; return nil }}
	for _, given := range []bool{false, true} {
		if given {
			p.TimeJac = func(at float64, _, _, dqt []float64) error { dqt[0] = 2 * at; return nil }
		}
		v := start(t, p, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1}}, []float64{1})
		if _, err := v.Advance(3); err != nil {
			t.Fatal(err)
		}
		if got := v.Quadratures()[0]; !(math.Abs(got-9) < 1e-5) {
			t.Errorf("derivative given %t: %.12g, want 9", given, got)
		}
	}
}

// √y below 0 is refused with ErrShorter, or is NaN; both are met by shorter steps.
// Exact: y = (1 - t/2)² for dy/dt = -√y.
func TestShorterStep(t *testing.T) {
	for _, refuse := range []bool{true, false} {
		p := ode.Problem{N: 1, Names: []string{"depth"}, Autonomous: true, F: func(_ float64, y, dy []float64) error {
			if y[0] < 0 && refuse {
				return ode.ErrShorter
			}
			dy[0] = -math.Sqrt(y[0])
			return nil
		}}
		v := start(t, p, ode.Settings{RelTol: 1e-5, AbsTol: []float64{1e-7}, FirstStep: 50}, []float64{1})
		if _, err := v.Advance(1.9); err != nil {
			t.Fatal(err)
		}
		if _, y := v.State(); !(math.Abs(y[0]-0.0025) < 1e-5) {
			t.Errorf("depth %g, want 0.0025", y[0])
		}
		// Beyond t = 2 there is nothing: the failure says where and which.
		out, err := v.Advance(3)
		var f *ode.Failure
		if !errors.As(err, &f) || !errors.Is(err, ode.ErrStepTooSmall) && !errors.Is(err, ode.ErrTooManySteps) {
			t.Fatalf("refuse %t: %v, %v", refuse, out, err)
		}
		if f.Name != "depth" || !(math.Abs(f.T-2) < 0.01) || out.T != f.T {
			t.Errorf("refuse %t: %v", refuse, err)
		}
	}
}

func TestFailures(t *testing.T) {
	own := errors.New("pump is dry")
	jumpy := 0
	for _, row := range []struct {
		name string
		f    func(t float64, y, dy []float64) error
		s    ode.Settings
		want []error
		says []string
	}{
		{"own error", func(at float64, _, dy []float64) error {
			dy[0], dy[1] = 1, 1
			if at > 0.5 {
				return own
			}
			return nil
		}, ode.Settings{}, []error{own}, []string{"pump is dry", "t = "}},
		{"too many", func(at float64, y, dy []float64) error {
			dy[0], dy[1] = math.Cos(at), -1e3*math.Sin(50*at)
			return nil
		}, ode.Settings{MaxSteps: 5}, []error{ode.ErrTooManySteps}, []string{"too many steps", "allow more", "nitrite"}},
		{"too small", func(at float64, _, dy []float64) error {
			dy[0], dy[1] = 1, 1
			if at > 1 {
				jumpy++
				dy[1] = 1e9 * float64(jumpy*jumpy%11-5) // no function of its arguments
			}
			return nil
		}, ode.Settings{}, []error{ode.ErrStepTooSmall}, []string{"step fell to", "nitrite"}},
		{"blow up", func(_ float64, y, dy []float64) error {
			dy[0], dy[1] = 0, y[1]*y[1] // 1/(1-t)
			return nil
		}, ode.Settings{}, []error{ode.ErrStepTooSmall}, []string{"nitrite", "t = 1"}},
		{"refused after", func(at float64, _, dy []float64) error {
			dy[0], dy[1] = 1, 2
			if at > 1 {
				return ode.ErrShorter
			}
			return nil
		}, ode.Settings{}, []error{ode.ErrStepTooSmall, ode.ErrShorter}, []string{"a shorter step"}},
		{"NaN at the start", func(_ float64, _, dy []float64) error {
			dy[0], dy[1] = 1, math.NaN()
			return nil
		}, ode.Settings{}, []error{ode.ErrNotFinite}, []string{"nitrite", "start"}},
	} {
		row.s.RelTol, row.s.AbsTol = 1e-6, []float64{1e-6, 1e-6}
		v := start(t, ode.Problem{N: 2, Names: []string{"tan", "nitrite"}, F: row.f}, row.s, []float64{1, 1})
		out, err := v.Advance(2)
		for _, want := range row.want {
			if !errors.Is(err, want) {
				t.Errorf("%s: %v, want %v", row.name, err, want)
			}
		}
		if err == nil {
			continue
		}
		for _, word := range row.says {
			if !strings.Contains(err.Error(), word) {
				t.Errorf("%s: %q is not in: %v", row.name, word, err)
			}
		}
		now, y := v.State()
		if out.Reason != ode.NotMoved || out.T != now || math.IsNaN(y[0]) {
			t.Errorf("%s: %v at %g, solver at %g", row.name, out.Reason, out.T, now)
		}
	}
}

func TestBadInput(t *testing.T) {
	f := func(_ float64, _, dy []float64) error { dy[0] = 0; return nil }
	good := func() (ode.Problem, ode.Settings) {
		return ode.Problem{N: 1, F: f}, ode.Settings{RelTol: 1e-6, AbsTol: []float64{1e-9}}
	}
	for name, spoil := range map[string]func(p *ode.Problem, s *ode.Settings){
		"no states":       func(p *ode.Problem, _ *ode.Settings) { p.N = 0 },
		"right-hand side": func(p *ode.Problem, _ *ode.Settings) { p.F = nil },
		"names":           func(p *ode.Problem, _ *ode.Settings) { p.Names = []string{"a", "b"} },
		"quadratures":     func(p *ode.Problem, _ *ode.Settings) { p.NQ = 1 },
		"QuadJac": func(p *ode.Problem, _ *ode.Settings) {
			p.QuadJac = func(float64, []float64, []float64) error { return nil }
		},
		"relative":       func(_ *ode.Problem, s *ode.Settings) { s.RelTol = math.NaN() },
		"relative small": func(_ *ode.Problem, s *ode.Settings) { s.RelTol = 1e-15 },
		"tolerances":     func(_ *ode.Problem, s *ode.Settings) { s.AbsTol = nil },
		"tolerance 0":    func(_ *ode.Problem, s *ode.Settings) { s.AbsTol[0] = 0 },
		"tolerance NaN":  func(_ *ode.Problem, s *ode.Settings) { s.AbsTol[0] = math.NaN() },
		"tolerance +Inf": func(_ *ode.Problem, s *ode.Settings) { s.AbsTol[0] = math.Inf(1) },
		"first step":     func(_ *ode.Problem, s *ode.Settings) { s.FirstStep = -1 },
		"longest step":   func(_ *ode.Problem, s *ode.Settings) { s.MaxStep = math.NaN() },
		"fixed step":     func(_ *ode.Problem, s *ode.Settings) { s.FixedStep = math.Inf(1) },
		"steps":          func(_ *ode.Problem, s *ode.Settings) { s.MaxSteps = -1 },
		"root":           func(p *ode.Problem, _ *ode.Settings) { p.Events = []ode.Event{{Name: "x"}} },
		"direction": func(p *ode.Problem, _ *ode.Settings) {
			p.Events = []ode.Event{{Root: func(float64, []float64) float64 { return 1 }, Direction: 2}}
		},
	} {
		p, s := good()
		spoil(&p, &s)
		if _, err := ode.New(p, s); !errors.Is(err, ode.ErrSetup) || !strings.Contains(err.Error(), strings.Fields(name)[0]) && name != "no states" {
			t.Errorf("%s: %v", name, err)
		}
	}
	p, s := good()
	v, err := ode.New(p, s)
	if err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"early advance": func() error { _, err := v.Advance(1); return err }(),
		"early set":     v.Set([]float64{1}),
		"length":        v.Start(0, []float64{1, 2}),
		"NaN":           v.Start(0, []float64{math.NaN()}),
		"time":          v.Start(math.Inf(1), []float64{1}),
	} {
		if !errors.Is(err, ode.ErrSetup) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := v.Start(1, []float64{1}); err != nil {
		t.Fatal(err)
	}
	if out, err := v.Advance(1); err != nil || out.Reason != ode.Reached {
		t.Error(out, err)
	}
	for _, end := range []float64{0, math.NaN(), math.Inf(1)} {
		if _, err := v.Advance(end); !errors.Is(err, ode.ErrSetup) {
			t.Errorf("advance to %g: %v", end, err)
		}
	}
	var y [1]float64
	if err := v.At(1, y[:]); err != nil || y[0] != 1 {
		t.Error(y, err)
	}
	for _, at := range []float64{0.5, 2, math.NaN()} {
		if err := v.At(at, y[:]); !errors.Is(err, ode.ErrOutside) {
			t.Errorf("at %g: %v", at, err)
		}
	}
	if err := v.At(1, nil); !errors.Is(err, ode.ErrSetup) {
		t.Error(err)
	}
	if err := v.Set([]float64{math.Inf(1)}); !errors.Is(err, ode.ErrSetup) {
		t.Error(err)
	}
	p.Events = []ode.Event{{Name: "odd", Root: func(at float64, _ []float64) float64 { return math.Log(1.5 - at) }}}
	v = start(t, p, s, []float64{1})
	if _, err := v.Advance(3); !errors.Is(err, ode.ErrNotFinite) || !strings.Contains(err.Error(), "odd") {
		t.Error(err)
	}
}

// Work against theory: six calls of F for a step and one for each Advance, one
// Jacobian for an accepted step, one factoring for a tried one.
func TestCounts(t *testing.T) {
	c := odetest.HIRES()
	for _, differences := range []bool{false, true} {
		perStep := 0
		if differences {
			c.Problem.Jac, perStep = nil, c.Problem.N
		}
		v := run(t, c, ode.Settings{RelTol: 1e-5}, 321.8122)
		s := v.Stats()
		if want := 1 + 6*s.Steps + 5*s.Rejected + perStep*s.JacEvals; s.FEvals != want || s.JacEvals != s.Steps || s.LUs != s.Steps+s.Rejected || s.Refused != 0 {
			t.Errorf("differences %t: %+v, want %d calls of F", differences, s, want)
		}
	}
}

// Two runs give the same bits.
func TestDeterministic(t *testing.T) {
	_, a := run(t, odetest.Oregonator(), ode.Settings{RelTol: 1e-6}, 360).State()
	_, b := run(t, odetest.Oregonator(), ode.Settings{RelTol: 1e-6}, 360).State()
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) {
			t.Errorf("y[%d]: %x and %x", i, a[i], b[i])
		}
	}
}

// chain is n tanks that exchange with their neighbours at widely spread rates,
// driven by time, with ledgers and an event.
func chain(n int, jac bool) ode.Problem {
	rate := func(i int) float64 { return math.Pow(10, float64(i%6)-3) }
	p := ode.Problem{
		N: n, NQ: 4,
		F: func(t float64, y, dy []float64) error {
			clear(dy)
			dy[0] = math.Sin(t)
			for i := range n - 1 {
				flow := rate(i) * (y[i] - y[i+1])
				dy[i] -= flow
				dy[i+1] += flow
			}
			dy[n-1] -= y[n-1]
			return nil
		},
		Quad: func(_ float64, y, dq []float64) error {
			for i := range dq {
				dq[i] = y[i]
			}
			return nil
		},
		Events: []ode.Event{{Root: func(_ float64, y []float64) float64 { return y[1] - 0.7 }}},
	}
	if jac {
		p.Jac = func(_ float64, _, j []float64) error {
			for i := range n - 1 {
				r := rate(i)
				j[i*n+i] -= r
				j[i*n+i+1] += r
				j[(i+1)*n+i] += r
				j[(i+1)*n+i+1] -= r
			}
			j[n*n-1]--
			return nil
		}
		p.QuadJac = func(_ float64, _, j []float64) error {
			for i := range 4 {
				j[i*n+i] = 1
			}
			return nil
		}
	}
	return p
}

func chainRun(t testing.TB, n int, jac bool) (*ode.Solver, []float64) {
	tol, y0 := make([]float64, n), make([]float64, n)
	for i := range tol {
		tol[i], y0[i] = 1e-6, 1
	}
	return start(t, chain(n, jac), ode.Settings{RelTol: 1e-5, AbsTol: tol}, y0), y0
}

func TestNothingAllocated(t *testing.T) {
	for _, jac := range []bool{true, false} {
		v, y0 := chainRun(t, 12, jac)
		end := 0.0
		y := make([]float64, 12)
		if got := testing.AllocsPerRun(20, func() {
			end += 0.7
			if _, err := v.Advance(end); err != nil {
				t.Fatal(err)
			}
			if err := v.At(end-1e-9, y); err != nil {
				t.Fatal(err)
			}
		}); got != 0 {
			t.Errorf("Jacobian given %t: %g allocations in an Advance", jac, got)
		}
		if v.Stats().Steps < 20 || len(y0) != 12 {
			t.Errorf("%+v", v.Stats())
		}
	}
}

func BenchmarkChain(b *testing.B) {
	for _, row := range []struct {
		name string
		jac  bool
	}{{"jacobian", true}, {"differences", false}} {
		b.Run(row.name, func(b *testing.B) {
			v, y0 := chainRun(b, 40, row.jac)
			b.ReportAllocs()
			steps := 0
			for b.Loop() {
				if err := v.Start(0, y0); err != nil {
					b.Fatal(err)
				}
				if _, err := v.Advance(24); err != nil {
					b.Fatal(err)
				}
				steps += v.Stats().Steps
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(steps), "ns/step")
		})
	}
}
