package pipe

import (
	"errors"
	"fmt"
	"math"

	"tidebed/science/air"
)

// ErrCannotLift says that a pump at no flow does not reach the height asked of it.
var ErrCannotLift = errors.New("the pump cannot lift this high")

// ErrRunsItself says that water runs through the pump without its help, faster
// than its curve goes.
var ErrRunsItself = errors.New("the water runs by itself")

// ErrCurve says that points make no pump curve.
var ErrCurve = errors.New("no pump curve")

// Point is a flow of a pump and the head it gives there.
type Point struct{ FlowM3s, HeadM float64 }

// mostExponent is the largest exponent of a curve.
const mostExponent = 20

// Curve is the head of a pump by its flow. Make it with Fit.
type Curve struct {
	ShutOffM float64 // head at no flow
	R        float64 // of ShutOffM - R Qⁿ, m per (m³/s)ⁿ; 0 where the curve has another form
	N        float64 // its exponent; 0 where the curve has another form
	MaxM3s   float64 // flow at no head
	LastM3s  float64 // flow of the last point: above it the curve is a guess

	slope0, bend float64 // of ShutOffM + slope0 Q + bend Q²
	points       []Point // of a curve of straight pieces
}

// RLMin is R for flows in L/min: m per (L/min)ⁿ.
func (c Curve) RLMin() float64 { return c.R * math.Pow(60000, -c.N) }

// Fit makes a curve of a pump's points.
//
// Three points, the first at no flow, are met exactly by h0 - r Qⁿ. Of one, the
// usual duty, h0 is 4/3 of its head, the largest flow twice its flow and n is 2.
// Others, three or more, are met as nearly as a parabola can; where that would
// rise, straight pieces join the points. Flows are 0 to 100 m³/s and rise from
// point to point, heads 0 to 1000 m and fall. Points that do not, two points and
// an exponent outside 0 to 20 are refused with ErrCurve.
//
// Source: [epanet-2.2]. Check: 0, 15, 30 L/min at 3.0, 2.75, 2.1 m: n 1.84800,
// r 1.676977e-3 for L/min.
func Fit(points []Point) (Curve, error) {
	for i, p := range points {
		if err := check(fmt.Sprintf("pump: point %d", i+1), bound{"flow", p.FlowM3s, 0, MostFlowM3s, "m3/s"}, bound{"head", p.HeadM, 0, MostHeadM, "m"}); err != nil {
			return Curve{}, err
		}
		if i > 0 && !(p.FlowM3s > points[i-1].FlowM3s && p.HeadM < points[i-1].HeadM) {
			return Curve{}, fmt.Errorf("pump: point %d, %g m3/s at %g m: %w: flows must rise and heads fall from point to point; the point before is %g m3/s at %g m",
				i+1, p.FlowM3s, p.HeadM, ErrCurve, points[i-1].FlowM3s, points[i-1].HeadM)
		}
	}
	switch {
	case len(points) == 1:
		p := points[0]
		if !(p.FlowM3s > 0 && p.HeadM > 0) {
			return Curve{}, fmt.Errorf("pump: one point, %g m3/s at %g m: %w: its flow and head must be above 0", p.FlowM3s, p.HeadM, ErrCurve)
		}
		return Curve{ShutOffM: 4 * p.HeadM / 3, R: p.HeadM / 3 / (p.FlowM3s * p.FlowM3s), N: 2, MaxM3s: 2 * p.FlowM3s, LastM3s: p.FlowM3s}, nil
	case len(points) < 3:
		return Curve{}, fmt.Errorf("pump: %d points: %w: give one, or three and more", len(points), ErrCurve)
	case len(points) == 3 && points[0].FlowM3s == 0:
		return fitThree(points[0].HeadM, points[1], points[2])
	}
	return fitMany(points), nil
}

// fitThree is the curve through the head at no flow and two points.
func fitThree(h0 float64, p1, p2 Point) (Curve, error) {
	n := math.Log((h0-p2.HeadM)/(h0-p1.HeadM)) / math.Log(p2.FlowM3s/p1.FlowM3s)
	if !(n > 0 && n <= mostExponent) {
		return Curve{}, fmt.Errorf("pump: exponent %.3g: %w: it must lie above 0 and at most %d; look at the points", n, ErrCurve, mostExponent)
	}
	c := Curve{ShutOffM: h0, N: n, R: (h0 - p1.HeadM) * math.Pow(p1.FlowM3s, -n), LastM3s: p2.FlowM3s}
	c.MaxM3s = p1.FlowM3s * math.Pow(h0/(h0-p1.HeadM), 1/n)
	if !(c.R > 0 && c.R < math.MaxFloat64 && c.MaxM3s < math.MaxFloat64) {
		return Curve{}, fmt.Errorf("pump: exponent %.3g: %w: the points lie too close together or too far apart", n, ErrCurve)
	}
	return c, nil
}

// fitMany is the parabola of least squares, or straight pieces where it would
// rise before its head ends.
func fitMany(points []Point) Curve {
	last := points[len(points)-1]
	// Flows in parts of the last one, about their mean.
	n := float64(len(points))
	var mean, meanH float64
	for _, p := range points {
		mean += p.FlowM3s / last.FlowM3s / n
		meanH += p.HeadM / n
	}
	var s2, s3, s4, sh, s2h float64
	for _, p := range points {
		x, h := p.FlowM3s/last.FlowM3s-mean, p.HeadM-meanH
		s2, s3, s4, sh, s2h = s2+x*x, s3+x*x*x, s4+x*x*x*x, sh+x*h, s2h+x*x*h
	}
	det := s2*s4 - s3*s3 - s2*s2*s2/n
	bend := (s2h*s2 - s3*sh) / det
	slope := (sh - bend*s3) / s2
	level := meanH - bend*s2/n
	// Back to h = a + bx + cx² with x from 0.
	a, b := level-slope*mean+bend*mean*mean, slope-2*bend*mean
	discriminant := b*b - 4*bend*a
	c := Curve{ShutOffM: a, slope0: b / last.FlowM3s, bend: bend / (last.FlowM3s * last.FlowM3s), LastM3s: last.FlowM3s}
	if a > 0 && b <= 0 && b+2*bend <= 0 && discriminant >= 0 && a < MostHeadM*10 {
		c.MaxM3s = last.FlowM3s * 2 * a / (-b + math.Sqrt(discriminant))
		if c.MaxM3s < math.MaxFloat64 && (bend <= 0 || c.MaxM3s <= -b/(2*bend)*last.FlowM3s) {
			return c
		}
	}
	c = Curve{LastM3s: last.FlowM3s, points: append([]Point(nil), points...)}
	c.ShutOffM = c.HeadM(0)
	end := len(points) - 1
	c.MaxM3s = last.FlowM3s + last.HeadM*(last.FlowM3s-points[end-1].FlowM3s)/(points[end-1].HeadM-last.HeadM)
	return c
}

// HeadM is the head of the pump at a flow; at a flow below 0 that at no flow,
// above MaxM3s a negative one. It refuses nothing and gives NaN for NaN.
func (c Curve) HeadM(flowM3s float64) float64 {
	h, _ := c.HeadAndSlope(flowM3s)
	return h
}

// HeadAndSlope is the head and its derivative by the flow in s/m², which is
// never above 0; for solvers. At no flow it can be minus infinity where the
// exponent is below 1.
func (c Curve) HeadAndSlope(flowM3s float64) (headM, slope float64) {
	if flowM3s < 0 {
		flowM3s = 0
	}
	switch {
	case c.N > 0:
		power := c.R * math.Pow(flowM3s, c.N-1)
		if flowM3s == 0 {
			if c.N > 1 {
				power = 0
			}
			return c.ShutOffM, -c.N * power
		}
		return c.ShutOffM - power*flowM3s, -c.N * power
	case c.points == nil:
		return c.ShutOffM + flowM3s*(c.slope0+flowM3s*c.bend), c.slope0 + 2*c.bend*flowM3s
	}
	i := 1
	for i < len(c.points)-1 && flowM3s > c.points[i].FlowM3s {
		i++
	}
	p, q := c.points[i-1], c.points[i]
	slope = (q.HeadM - p.HeadM) / (q.FlowM3s - p.FlowM3s)
	return p.HeadM + slope*(flowM3s-p.FlowM3s), slope
}

// AtSpeed is the curve of the pump at another speed, ratio 0.1 to 2: the flow goes
// with it, the head with its square, the power with its cube. A valve is no
// speed control.
//
// Source: [epanet-2.2]. Check: 3.0, 2.75, 2.1 m at 0, 15, 30 L/min, ratio 0.8: 1.5088
// m at 20 L/min.
func (c Curve) AtSpeed(ratio float64) (Curve, error) {
	if err := check("pump speed", bound{"speed ratio", ratio, 0.1, 2, ""}); err != nil {
		return Curve{}, err
	}
	square := ratio * ratio
	c.ShutOffM *= square
	c.R *= math.Pow(ratio, 2-c.N)
	c.slope0 *= ratio
	c.MaxM3s *= ratio
	c.LastM3s *= ratio
	scaled := make([]Point, len(c.points))
	for i, p := range c.points {
		scaled[i] = Point{p.FlowM3s * ratio, p.HeadM * square}
	}
	if c.points != nil {
		c.points = scaled
	}
	return c, nil
}

// Duty is where the pump's head meets what a pipe asks: the height between the
// water in the sump and the outlet, or the water it discharges into, and the
// loss in the pipe. With an open end the pipe's K holds 1 for it. A pump whose
// head at no flow is at most the lift is refused with ErrCannotLift.
//
//	liftM  -100 to 1000
//	tempC  of the water, 0 to 45
func Duty(c Curve, liftM float64, p Pipe, tempC float64) (Point, error) {
	if err := p.Check(); err != nil {
		return Point{}, fmt.Errorf("duty: %w", err)
	}
	w, err := WaterAt(tempC)
	if err != nil {
		return Point{}, fmt.Errorf("duty: %w", err)
	}
	return DutyOf(c, liftM, func(q float64) (float64, float64) { return p.HeadAndSlope(q, w.KinematicM2) })
}

// DutyOf is Duty for any pipework: loss gives the head lost at a flow and its
// derivative by the flow, must be 0 at no flow and must not fall as the flow
// rises. A lift below 0 can drive more through the pump than its largest flow:
// that is refused with ErrRunsItself.
func DutyOf(c Curve, liftM float64, loss func(flowM3s float64) (headM, slope float64)) (Point, error) {
	if err := check("duty", bound{"lift", liftM, -100, MostHeadM, "m"}); err != nil {
		return Point{}, err
	}
	if !(c.MaxM3s > 0) {
		return Point{}, fmt.Errorf("duty: %w: the curve is empty; make it with Fit", ErrCurve)
	}
	if !(c.ShutOffM > liftM) {
		return Point{}, fmt.Errorf("duty: lift %.4g m, head at no flow %.4g m: %w; lower the outlet or take a pump with more head", liftM, c.ShutOffM, ErrCannotLift)
	}
	excess := func(q float64) (float64, float64) {
		lost, slope := loss(q)
		head, falls := c.HeadAndSlope(q)
		return lost + liftM - head, slope - falls
	}
	if over, _ := excess(c.MaxM3s); !(over >= 0) {
		return Point{}, fmt.Errorf("duty: lift %.4g m: %w: the pipe asks for no head at the pump's largest flow, %.4g m3/s; leave the pump out", liftM, ErrRunsItself, c.MaxM3s)
	}
	q := rising(0, c.MaxM3s, excess)
	return Point{q, c.HeadM(q)}, nil
}

// HydraulicW is the power that a flow gains by a head, W.
//
//	flowM3s  0 to 100
//	headM    0 to 1000
//	tempC    0 to 45
func HydraulicW(flowM3s, headM, tempC float64) (float64, error) {
	if err := check("power", bound{"flow", flowM3s, 0, MostFlowM3s, "m3/s"}, bound{"head", headM, 0, MostHeadM, "m"}, tempBound(tempC)); err != nil {
		return 0, err
	}
	return densityKgM3(tempC) * GravityMS2 * flowM3s * headM, nil
}

// ErrPower says that a pump would give more power than it takes.
var ErrPower = errors.New("more power out than in")

// SmallPumpMostEfficiency is the efficiency above which a figure of a pump below
// 100 W is doubtful; 0.05 to 0.30 is usual. Common practice, no source.
const SmallPumpMostEfficiency = 0.6

// Efficiency is the part of the wire's power that becomes flow and head: of
// watts read at the plug, for volts times amperes is more than the power. Wire
// power, above 0 to 1e6 W, that is not above the water's is refused with ErrPower.
func Efficiency(flowM3s, headM, wireW, tempC float64) (float64, error) {
	hydraulicW, err := HydraulicW(flowM3s, headM, tempC)
	if err != nil {
		return 0, err
	}
	if err := check("efficiency", bound{"power at the plug", wireW, 1e-6, 1e6, "W"}); err != nil {
		return 0, err
	}
	if wireW <= hydraulicW {
		return 0, fmt.Errorf("efficiency: %g W at the plug, %.4g W in the water: %w; read the power with a meter at this flow", wireW, hydraulicW, ErrPower)
	}
	return hydraulicW / wireW, nil
}

// Draw is a flow of a pump and the power it takes at the plug there.
type Draw struct{ FlowM3s, WireW float64 }

// WireW is the power at the plug at a flow, on straight lines between the points,
// at least one, whose flows rise; outside them that of the nearest. All of it ends as heat in the
// water or the room.
func WireW(draws []Draw, flowM3s float64) (float64, error) {
	if err := check("power at the plug", bound{"flow", flowM3s, 0, MostFlowM3s, "m3/s"}, bound{"points", float64(len(draws)), 1, 1e4, ""}); err != nil {
		return 0, err
	}
	for i, d := range draws {
		if err := check(fmt.Sprintf("power at the plug: point %d", i+1), bound{"flow", d.FlowM3s, 0, MostFlowM3s, "m3/s"}, bound{"power", d.WireW, 0, 1e6, "W"}); err != nil {
			return 0, err
		}
		if i > 0 && !(d.FlowM3s > draws[i-1].FlowM3s) {
			return 0, fmt.Errorf("power at the plug: point %d, %g m3/s: %w: flows must rise from point to point", i+1, d.FlowM3s, ErrCurve)
		}
	}
	if flowM3s <= draws[0].FlowM3s {
		return draws[0].WireW, nil
	}
	for i := 1; i < len(draws); i++ {
		if a, b := draws[i-1], draws[i]; flowM3s <= b.FlowM3s {
			return a.WireW + (b.WireW-a.WireW)*(flowM3s-a.FlowM3s)/(b.FlowM3s-a.FlowM3s), nil
		}
	}
	return draws[len(draws)-1].WireW, nil
}

// SafeNPSH is by how much the suction head there is must exceed the one the
// pump needs; the ratio of a worked problem in [crane-410].
const SafeNPSH = 1.3

// NPSH is the net positive suction head there is at a pump, in m: what the air's
// pressure and the water's height leave above boiling. At 0 and below the water
// boils in the suction pipe.
//
//	tempC          0 to 45
//	elevationM     above the sea, -500 to 6000
//	surfaceHeightM of the water above the impeller, -100 to 100; negative lifts by suction
//	suctionLossM   lost in the suction pipe, 0 to 100
//
// Check: 22 °C at the sea, -0.5 m, 0.3 m: 9.285 m.
func NPSH(tempC, elevationM, surfaceHeightM, suctionLossM float64) (float64, error) {
	w, err := WaterAt(tempC)
	if err != nil {
		return 0, fmt.Errorf("suction head: %w", err)
	}
	airKPa, err := air.PressureKPa(elevationM)
	if err != nil {
		return 0, fmt.Errorf("suction head: %w", err)
	}
	return NPSHOf(airKPa, w.VapourKPa, w.DensityKgM3, surfaceHeightM, suctionLossM)
}

// NPSHOf is NPSH of any liquid under any absolute pressure of 0 to 10000 kPa.
//
// Check: 5 psi above the air's 14.696, 0.256 psi, 62.364 lb/ft³, 25 ft of lift, 6 ft
// lost: 13.887 ft [crane-410].
func NPSHOf(surfaceKPa, vapourKPa, densityKgM3, surfaceHeightM, suctionLossM float64) (float64, error) {
	if err := check("suction head", bound{"pressure on the liquid", surfaceKPa, 0, 1e4, "kPa"}, bound{"vapour pressure", vapourKPa, 0, 1e4, "kPa"},
		bound{"density", densityKgM3, 100, 20000, "kg/m3"}, bound{"height of the surface", surfaceHeightM, -100, 100, "m"},
		bound{"loss on the suction side", suctionLossM, 0, 100, "m"}); err != nil {
		return 0, err
	}
	return 1000*(surfaceKPa-vapourKPa)/(densityKgM3*GravityMS2) + surfaceHeightM - suctionLossM, nil
}

// EnergyKWh is the energy of a power of 0 to 1e6 W over 0 to 1e6 hours.
func EnergyKWh(wireW, hours float64) (float64, error) {
	if err := check("energy", bound{"power", wireW, 0, 1e6, "W"}, bound{"hours", hours, 0, 1e6, "h"}); err != nil {
		return 0, err
	}
	return wireW * hours / 1000, nil
}
