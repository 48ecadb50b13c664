package pipe

import (
	"fmt"
	"math"
	"slices"
)

// Method is a way to reckon the friction of turbulent flow.
type Method string

// The methods. Smooth is the one that everything else in the program uses: it
// is without a step or a kink over all Reynolds numbers.
const (
	Smooth      Method = "smooth"         // Swamee and Jain, laminar flow and the passage between
	ByColebrook Method = "colebrook"      // Colebrook and White, laminar flow and the passage between
	ByHazen     Method = "hazen-williams" // the waterworks' rule, for comparison
)

const (
	laminarTo     = 2000.0 // Reynolds number
	turbulentFrom = 4000.0
	mostRelative  = 0.1 // roughness to diameter, exclusive

	// leastReynolds is the flow below which water counts as at rest: 64/re
	// overflows for the least of numbers.
	leastReynolds = 1e-9

	// log10e2 is 2 log10 e; the 0.86859 of the print would leave a step of two
	// millionths at 4000.
	log10e2 = 2 / math.Ln10
)

// Methods returns the methods in their order.
func Methods() []Method { return []Method{Smooth, ByColebrook, ByHazen} }

// Limits of pipes and flows.
const (
	LeastDiameterM = 0.0005
	MostDiameterM  = 5.0
	MostLengthM    = 1e5
	MostLossSum    = 1e6
	MostFlowM3s    = 100.0
	MostReynolds   = 1e9
	MostHeadM      = 1000.0
)

// Roughness of walls.
const (
	NewRoughnessM    = 1.5e-6 // new plastic; [epanet-2.2]
	FouledRoughnessM = 1e-4   // with the film that grows in fish water within weeks; common practice, no source
)

// Friction is the Darcy friction factor, four times the Fanning one, of a full
// round pipe.
//
//	re           Reynolds number, above 0 to 1e9
//	relRoughness roughness to inside diameter, 0 to below 0.1
//	method       Smooth or ByColebrook; Hazen-Williams has no such factor
//
// Up to 2000 it is 64/re. From 4000 the formulas hold; between, a cubic joins
// both in value and slope.
//
// Source: [epanet-2.2] for the three parts, [dunlop-1991] for the cubic,
// [swamee-jain-1976], [colebrook-1939]. Check: re 1e5, 0.001: 0.022342 and 0.022175.
func Friction(re, relRoughness float64, method Method) (float64, error) {
	if err := check("friction", bound{"Reynolds number", re, leastReynolds, MostReynolds, ""}, relativeBound(relRoughness)); err != nil {
		return 0, err
	}
	switch method {
	case Smooth:
		f, _ := smooth(re, relRoughness)
		return f, nil
	case ByColebrook:
		return colebrook(re, relRoughness), nil
	}
	return 0, fmt.Errorf("friction: method %q has no friction factor of its own; use %s or %s", method, Smooth, ByColebrook)
}

func relativeBound(v float64) bound {
	return bound{"roughness to inside diameter", v, 0, math.Nextafter(mostRelative, 0), ""}
}

// smooth is the factor of the method Smooth and its derivative by re.
func smooth(re, rel float64) (f, slope float64) {
	switch {
	case re <= laminarTo:
		return 64 / re, -64 / (re * re)
	case re < turbulentFrom:
		y2 := rel/3.7 + 5.74/math.Pow(turbulentFrom, 0.9)
		y3 := -log10e2 * math.Log(y2)
		fa := 1 / (y3 * y3)
		return passage(re, fa, fa*(2-0.00514215/(y2*y3)))
	}
	power := 5.74 / math.Pow(re, 0.9)
	x := rel/3.7 + power
	l := math.Log10(x)
	return 0.25 / (l * l), 0.5 / (l * l * l) * 0.9 * power / (re * x * math.Ln10)
}

// passage is the cubic between laminar and turbulent flow and its derivative by
// re. fa is the factor at 4000 and fb twice the sum of fa and its slope by re/2000.
func passage(re, fa, fb float64) (f, slope float64) {
	r := re / laminarTo
	x1, x2, x3, x4 := 7*fa-fb, 0.128-17*fa+2.5*fb, -0.128+13*fa-2*fb, 0.032-3*fa+0.5*fb
	return x1 + r*(x2+r*(x3+r*x4)), (x2 + r*(2*x3+3*r*x4)) / laminarTo
}

// colebrook is the factor of the method ByColebrook.
func colebrook(re, rel float64) float64 {
	switch {
	case re <= laminarTo:
		return 64 / re
	case re < turbulentFrom:
		x := colebrookRoot(turbulentFrom, rel)
		fa := 1 / (x * x)
		// With u = rel/3.7 + 2.51x/re and x = -2 log10 u, dx/dr at re = 2000 r.
		k := 2 / math.Ln10 / (rel/3.7 + 2.51*x/turbulentFrom)
		dx := k * 2.51 * x / turbulentFrom / (1 + k*2.51/turbulentFrom) * laminarTo / turbulentFrom
		f, _ := passage(re, fa, 2*(fa-2*fa/x*dx))
		return f
	}
	x := colebrookRoot(re, rel)
	return 1 / (x * x)
}

// colebrookRoot is 1/sqrt(f) of Colebrook and White by Newton's steps.
func colebrookRoot(re, rel float64) float64 {
	f, _ := smooth(max(re, turbulentFrom), rel)
	x := 1 / math.Sqrt(f)
	for range 20 {
		u := rel/3.7 + 2.51*x/re
		step := (x + 2*math.Log10(u)) / (1 + 2/math.Ln10*2.51/(re*u))
		x -= step
		if math.Abs(step) < 1e-14*x {
			break
		}
	}
	return x
}

// Haaland is the friction factor of turbulent flow in one step, for comparison;
// re 4000 to 1e9, relRoughness 0 to below 0.1.
//
// Source: [white-fluid]. Check: re 1e5, 0.001: 0.021966.
func Haaland(re, relRoughness float64) (float64, error) {
	if err := check("friction", bound{"Reynolds number", re, turbulentFrom, MostReynolds, ""}, relativeBound(relRoughness)); err != nil {
		return 0, err
	}
	x := -1.8 * math.Log10(math.Pow(relRoughness/3.7, 1.11)+6.9/re)
	return 1 / (x * x), nil
}

// Pipe is a full round pipe with its fittings.
type Pipe struct {
	DiameterM  float64 // inside, not the size by which it is sold
	LengthM    float64
	RoughnessM float64 // NewRoughnessM, FouledRoughnessM
	K          float64 // sum of the fittings' loss factors on this pipe's velocity
}

// Check refuses a pipe that cannot be: a diameter outside 0.5 mm to 5 m, a
// length of nothing or above 100 km, a roughness below 0 or of a tenth of the
// diameter, a negative loss factor, NaN.
func (p Pipe) Check() error {
	if err := check("pipe", diameterBound(p.DiameterM), bound{"length", p.LengthM, 1e-6, MostLengthM, "m"}, bound{"sum of loss factors", p.K, 0, MostLossSum, ""}); err != nil {
		return err
	}
	return check("pipe", relativeBound(p.RoughnessM/p.DiameterM))
}

// AreaM2 is the area of the pipe's bore.
func (p Pipe) AreaM2() float64 { return CircleM2(p.DiameterM) }

// CircleM2 is the area of a circle.
func CircleM2(diameterM float64) float64 { return math.Pi / 4 * diameterM * diameterM }

// HeadAndSlope is the head lost in a pipe in m and its derivative by the flow in
// s/m², by the method Smooth; a flow backward has a negative head and the same
// slope. It is for solvers that call it many times: it refuses nothing, takes a
// pipe that Check passes, and gives NaN for NaN.
func (p Pipe) HeadAndSlope(flowM3s, kinematicM2S float64) (headM, slope float64) {
	area := p.AreaM2()
	v := math.Abs(flowM3s) / area
	re := v * p.DiameterM / kinematicM2S
	var head float64
	if re <= laminarTo {
		perV := 32 * kinematicM2S * p.LengthM / (GravityMS2 * p.DiameterM * p.DiameterM)
		head = perV*v + p.K*v*v/(2*GravityMS2)
		slope = (perV + p.K*v/GravityMS2) / area
	} else {
		f, df := smooth(re, p.RoughnessM/p.DiameterM)
		slim := p.LengthM / p.DiameterM
		head = (f*slim + p.K) * v * v / (2 * GravityMS2)
		slope = (re*df*slim + 2*(f*slim+p.K)) * v / (2 * GravityMS2 * area)
	}
	return math.Copysign(head, flowM3s), slope
}

// Loss is the head that a pipe with its fittings takes from a flow, by the
// method Smooth, with the Reynolds number, the friction factor and the velocity.
// A flow backward, below 0, has a negative head and velocity; at rest, and below
// a Reynolds number of 1e-9, the friction factor is 0, for it has none.
//
//	flowM3s  -100 to 100, with a Reynolds number up to 1e9
//	tempC    of the water, 0 to 45
//
// Loss factors of fittings scatter by -20 to +30 % and more.
//
// Source: Darcy and Weisbach as in [epanet-2.2]. Check: 20 L/min of 20 °C in
// 10 m of 26.64 mm: 0.18826 m.
func Loss(flowM3s float64, p Pipe, tempC float64) (headM, re, friction, velocityMS float64, err error) {
	w, err := ready("loss", flowM3s, p, tempC)
	if err != nil {
		return 0, 0, 0, 0, err
	}
	velocityMS = flowM3s / p.AreaM2()
	re = math.Abs(velocityMS) * p.DiameterM / w.KinematicM2
	if re >= leastReynolds {
		friction, _ = smooth(re, p.RoughnessM/p.DiameterM)
	}
	headM, _ = p.HeadAndSlope(flowM3s, w.KinematicM2)
	return headM, re, friction, velocityMS, nil
}

// LossBy is Loss by another method. c is the coefficient of Hazen and Williams,
// 50 to 200, plastic 140 to 150, for the method ByHazen alone; the friction
// factor is then the one that would give the same loss along the pipe.
func LossBy(method Method, flowM3s float64, p Pipe, tempC, c float64) (headM, re, friction, velocityMS float64, err error) {
	headM, re, friction, velocityMS, err = Loss(flowM3s, p, tempC)
	if err != nil || method == Smooth {
		return headM, re, friction, velocityMS, err
	}
	if !slices.Contains(Methods(), method) {
		return 0, 0, 0, 0, fmt.Errorf("loss: there is no method %q; use %s, %s or %s", method, Smooth, ByColebrook, ByHazen)
	}
	velocityHead := velocityMS * velocityMS / (2 * GravityMS2)
	slim := p.LengthM / p.DiameterM
	if method == ByHazen {
		along, err := HazenWilliams(math.Abs(flowM3s), p.DiameterM, p.LengthM, c)
		if err != nil {
			return 0, 0, 0, 0, err
		}
		if re >= leastReynolds {
			friction = along / (slim * velocityHead)
		}
		return math.Copysign(along+p.K*velocityHead, flowM3s), re, friction, velocityMS, nil
	}
	if re > laminarTo {
		friction = colebrook(re, p.RoughnessM/p.DiameterM)
		headM = math.Copysign((friction*slim+p.K)*velocityHead, flowM3s)
	}
	return headM, re, friction, velocityMS, nil
}

// LossSlope is the derivative of the loss of head by the flow in s/m², by the
// method Smooth; never below 0, and above 0 at rest. Limits as in Loss.
func (p Pipe) LossSlope(flowM3s, tempC float64) (float64, error) {
	w, err := ready("slope of the loss", flowM3s, p, tempC)
	if err != nil {
		return 0, err
	}
	_, slope := p.HeadAndSlope(flowM3s, w.KinematicM2)
	return slope, nil
}

// ready checks a pipe with its flow.
func ready(what string, flowM3s float64, p Pipe, tempC float64) (Water, error) {
	if err := p.Check(); err != nil {
		return Water{}, fmt.Errorf("%s: %w", what, err)
	}
	if err := check(what, flowBound(flowM3s), tempBound(tempC)); err != nil {
		return Water{}, err
	}
	w, err := WaterAt(tempC)
	if err != nil {
		return Water{}, err
	}
	re := math.Abs(flowM3s) / p.AreaM2() * p.DiameterM / w.KinematicM2
	return w, check(what, bound{"Reynolds number", re, 0, MostReynolds, ""})
}

// Flow is the flow that a head drives through a pipe: the inverse of Loss. A
// negative head drives it backward.
//
//	headM  -1000 to 1000, all of it lost in the pipe; with an open end K holds 1
//	tempC  of the water, 0 to 45
//
// Check: 1.5 m, 10 m of 26.64 mm, K 1.5, 20 °C: 58.87 L/min.
func Flow(headM float64, p Pipe, tempC float64) (flowM3s float64, err error) {
	if err := p.Check(); err != nil {
		return 0, fmt.Errorf("flow: %w", err)
	}
	if err := check("flow", bound{"head", headM, -MostHeadM, MostHeadM, "m"}); err != nil {
		return 0, err
	}
	w, err := WaterAt(tempC)
	if err != nil {
		return 0, fmt.Errorf("flow: %w", err)
	}
	return p.FlowAt(headM, w.KinematicM2), nil
}

// FlowAt is Flow for solvers that call it many times; it refuses nothing, as
// HeadAndSlope.
func (p Pipe) FlowAt(headM, kinematicM2S float64) float64 {
	want := math.Abs(headM)
	if !(want > 0) || math.IsInf(want, 0) {
		return headM * 0
	}
	top := p.AreaM2() * math.Sqrt(2*GravityMS2*want/max(p.K, 0.01))
	for range 60 {
		if h, _ := p.HeadAndSlope(top, kinematicM2S); h > want {
			break
		}
		top *= 2
	}
	q := rising(0, top, func(q float64) (float64, float64) {
		h, slope := p.HeadAndSlope(q, kinematicM2S)
		return h - want, slope
	})
	return math.Copysign(q, headM)
}

// HazenWilliams is the head in m that friction takes along a full pipe, by the
// waterworks' rule: for comparison, turbulent water near 15 °C and pipes above
// 50 mm. It errs by a tenth in small pipes.
//
//	flowM3s    0 to 100
//	diameterM  inside, 0.0005 to 5
//	lengthM    above 0 to 1e5
//	c          50 to 200; plastic 140 to 150
//
// Source: [epanet-2.2] for c, [hazen-williams]. Check: 60 L/min, 10 m of 26.64 mm,
// c 150: 1.2892.
func HazenWilliams(flowM3s, diameterM, lengthM, c float64) (headM float64, err error) {
	if err := check("Hazen-Williams", bound{"flow", flowM3s, 0, MostFlowM3s, "m3/s"}, diameterBound(diameterM),
		bound{"length", lengthM, 1e-6, MostLengthM, "m"}, bound{"coefficient c", c, 50, 200, ""}); err != nil {
		return 0, err
	}
	return 10.67 * lengthM * math.Pow(flowM3s/c, 1.852) / math.Pow(diameterM, 4.8704), nil
}
