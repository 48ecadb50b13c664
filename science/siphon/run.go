package siphon

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// Event is what happens at a point of a course.
type Event string

// The events.
const (
	None    Event = ""
	AtCrest Event = "crest" // water begins to run over the crest
	AtStart Event = "start"
	AtBreak Event = "break"
	AtRim   Event = "rim" // the bed runs over
)

// Point is a moment of a course. At a start and a break two points share one
// time, the flow before and after.
type Point struct {
	TimeS   float64
	LevelM  float64
	OutM3s  float64 // through the siphon's pipe; what runs over the rim is not in it
	Running bool    // the siphon runs full
	Event   Event
}

// State is how a bed stands.
type State struct {
	LevelM  float64
	Running bool
}

// Passed is what went on while a bed was carried forward.
type Passed struct {
	OutM3     float64 // through the siphon's pipe
	SpilledM3 float64 // over the rim
	Starts    int
	Breaks    int
	HighM     float64 // highest and lowest level
	LowM      float64
}

// Limits of a course.
const (
	MostSeconds = 400 * 86400.0
	MostEvents  = 1_000_000
	mostPulses  = 10_000
)

const (
	noFlowM3s = 1e-12 // an inflow below it is none
	settledM  = 1e-12 // so near its level of rest the water stands
)

// course is a bed being carried forward.
type course struct {
	k    *Works
	t    float64
	z    float64
	flow float64 // of the running siphon
	run  bool
	see  func(Point)
	sum  Passed
	many int
}

// Advance carries a bed forward with a steady inflow and changes the state. see,
// when not nil, is told of events and of points between them that suit a
// drawing, from time 0; nothing is allocated.
//
//	inflowM3s  0 to 1
//	seconds    0 to 400 days
//
// A level outside the bed is refused, and a course of more than a million events.
func (k *Works) Advance(at *State, inflowM3s, seconds float64, see func(Point)) (Passed, error) {
	c := course{k: k, see: see}
	if err := c.begin(*at); err != nil {
		return Passed{}, err
	}
	if err := c.advance(inflowM3s, seconds); err != nil {
		return Passed{}, err
	}
	*at = State{LevelM: c.z, Running: c.run}
	return c.sum, nil
}

func (c *course) begin(at State) error {
	if err := inRange("course of a siphon", "level", at.LevelM, 0, c.k.bed.RimM, "m"); err != nil {
		return err
	}
	c.z, c.run = at.LevelM, at.Running && at.LevelM > c.k.siphon.BreakM
	if c.run {
		c.flow = c.k.FullM3s(c.z)
	}
	c.sum.HighM, c.sum.LowM = c.z, c.z
	return nil
}

func (c *course) advance(q, seconds float64) error {
	if err := inRange("course of a siphon", "inflow", q, 0, 1, "m3/s"); err != nil {
		return err
	}
	if err := inRange("course of a siphon", "time", seconds, 0, MostSeconds, "s"); err != nil {
		return err
	}
	if q < noFlowM3s {
		q = 0
	}
	for left := seconds; left > 0; c.many++ {
		if c.many > MostEvents {
			return fmt.Errorf("course of a siphon: %w: more than %d events by %.0f s; reckon a shorter time", quantity.ErrRange, MostEvents, c.t)
		}
		var used float64
		if c.run {
			used = c.siphoning(q, left)
		} else {
			used = c.filling(q, left)
		}
		left -= used
		c.sum.HighM, c.sum.LowM = max(c.sum.HighM, c.z), min(c.sum.LowM, c.z)
	}
	c.point(None)
	return nil
}

// point tells of the present moment.
func (c *course) point(e Event) {
	if c.see == nil {
		return
	}
	out := c.flow
	if !c.run {
		out = c.k.CrestM3s(c.z)
	}
	c.see(Point{TimeS: c.t, LevelM: c.z, OutM3s: out, Running: c.run, Event: e})
}

// stay lets time go by at the present level, with so much through the pipe.
func (c *course) stay(q, through, seconds float64) float64 {
	c.t += seconds
	c.sum.OutM3 += through * seconds
	if q > through {
		c.sum.SpilledM3 += (q - through) * seconds
	}
	return seconds
}

// rise moves the level of a siphon that is not running.
func (c *course) rise(q, to, seconds float64) float64 {
	if out := q*seconds - c.k.areaM2*(to-c.z); out > 0 {
		c.sum.OutM3 += out
	}
	c.z = to
	c.t += seconds
	return seconds
}

func (c *course) filling(q, left float64) (used float64) {
	k := c.k
	crest, rim := k.siphon.CrestM, k.bed.RimM
	switch {
	case c.z >= k.startLevelM && k.startLevelM < rim:
		c.point(None)
		c.run, c.flow = true, k.FullM3s(c.z)
		c.sum.Starts++
		c.point(AtStart)
		return 0
	case c.z >= rim:
		if through := k.CrestM3s(rim); q >= through {
			return c.stay(q, through, left)
		}
	case c.z < crest:
		if q == 0 {
			return c.stay(0, 0, left)
		}
		if t := k.areaM2 * (crest - c.z) / q; t <= left {
			c.t += t
			c.z = crest
			c.point(AtCrest)
			return t
		}
		c.z = min(crest, c.z+q*left/k.areaM2)
		c.t += left
		return left
	}
	rest := k.LevelM(q)
	if math.Abs(rest-c.z) <= 2*settledM {
		return c.stay(q, q, left)
	}
	rising := rest > c.z
	r, lo, hi := k.span(c.z, rising)
	target := max(lo, crest)
	if rising {
		target = min(hi, k.startLevelM, rim)
	}
	if rising && rest <= target {
		target = rest - settledM
	} else if !rising && rest >= target {
		target = rest + settledM
	}
	t := k.seeping(r, q, c.z, target)
	if t > left {
		return c.rise(q, k.seepTo(r, q, c.z, target, left), left)
	}
	used = c.rise(q, target, max(0, t))
	if target == rim {
		c.point(AtRim)
	} else if target < k.startLevelM {
		c.point(None)
	}
	return used
}

// seepTo is the level that is reached after some seconds, between two levels of
// one regime: Newton's steps, halving where they leave the span.
func (k *Works) seepTo(r regime, q, from, to, seconds float64) float64 {
	near, far := from, to
	z := from + (q-k.CrestM3s(from))*seconds/k.areaM2
	for range 100 {
		if (z-near)*(z-far) >= 0 {
			z = (near + far) / 2
		}
		short := k.seeping(r, q, from, z) - seconds
		if short < 0 {
			near = z
		} else {
			far = z
		}
		step := short * (q - k.CrestM3s(z)) / k.areaM2
		if math.Abs(step) <= 1e-15 || math.Abs(far-near) <= 1e-15 {
			return z
		}
		z -= step
	}
	return z
}

func (c *course) siphoning(q, left float64) (used float64) {
	k := c.k
	switch {
	case c.z <= k.siphon.BreakM:
		c.point(None)
		c.run, c.flow = false, 0
		c.sum.Breaks++
		c.point(AtBreak)
		return 0
	case c.z >= k.bed.RimM && q >= k.rimFullM3s:
		return c.stay(q, k.rimFullM3s, left)
	case math.Abs(c.flow-q) <= 1e-12*c.flow:
		return c.stay(q, q, left)
	}
	side := math.Copysign(1, c.flow-q)
	from := math.Log(math.Abs(c.flow - q))
	target, levelM, flow := math.Log(5e-13*max(q, k.breakFullM3s)), math.NaN(), q
	switch {
	case side > 0 && q < k.breakFullM3s:
		target, levelM, flow = math.Log(k.breakFullM3s-q), k.siphon.BreakM, k.breakFullM3s
	case side < 0 && q > k.rimFullM3s:
		target, levelM, flow = math.Log(q-k.rimFullM3s), k.bed.RimM, k.rimFullM3s
	}
	piece := panel
	if c.see != nil {
		piece = 0.25
	}
	if target < from-piece {
		target, levelM = from-piece, math.NaN()
		flow = q + side*math.Exp(target)
	}
	t, out := k.running(q, side, from, target)
	if t > left {
		target = k.runTo(q, side, from, target, left)
		_, out = k.running(q, side, from, target)
		levelM, flow, t = math.NaN(), q+side*math.Exp(target), left
	}
	if math.IsNaN(levelM) {
		levelM = k.fullLevelM(flow)
	}
	c.t += t
	c.z, c.flow = levelM, flow
	c.sum.OutM3 += out
	switch {
	case levelM >= k.bed.RimM && side < 0:
		c.point(AtRim)
	case t < left && levelM > k.siphon.BreakM:
		c.point(None)
	}
	return t
}

// runTo is the logarithm reached after some seconds, by Newton's steps; the
// time is nearly a straight line in it.
func (k *Works) runTo(q, side, from, to, seconds float64) float64 {
	u := from
	short := seconds
	for range 50 {
		_, slope := k.head(q + side*math.Exp(u))
		step := short / (k.areaM2 * slope)
		u = min(from, max(to, u-step))
		t, _ := k.running(q, side, from, u)
		short = seconds - t
		if math.Abs(step) <= 1e-14*max(1, math.Abs(u)) {
			break
		}
	}
	return u
}

// Pulse is an inflow that lasts a while.
type Pulse struct {
	M3s  float64 // 0 to 1
	ForS float64 // above 0
}

// Log is the course of a bed over a time.
type Log struct {
	Points []Point
	InM3   float64
	End    State
	Passed
}

// Run is the course of a bed over a time, the inflows taken in their order and
// over again: one pulse of any length is a steady inflow. points false leaves
// the points out.
//
//	seconds  0 to 400 days
//
// Limits as for Advance; the pulses must last at least 1 s each.
func (k *Works) Run(from State, inflow []Pulse, seconds float64, points bool) (Log, error) {
	var l Log
	if len(inflow) == 0 || len(inflow) > mostPulses {
		return l, fmt.Errorf("course of a siphon: %d pulses of inflow: %w: give 1 to %d", len(inflow), quantity.ErrRange, mostPulses)
	}
	if err := inRange("course of a siphon", "time", seconds, 0, MostSeconds, "s"); err != nil {
		return l, err
	}
	for _, p := range inflow {
		if err := inRange("course of a siphon", "length of a pulse", p.ForS, 1, math.MaxFloat64, "s"); err != nil {
			return l, err
		}
	}
	c := course{k: k}
	if points {
		c.see = func(p Point) { l.Points = append(l.Points, p) }
	}
	if err := c.begin(from); err != nil {
		return l, err
	}
	c.point(None)
	for i, left := 0, seconds; left > 0; i++ {
		p := inflow[i%len(inflow)]
		s := min(p.ForS, left)
		if err := c.advance(p.M3s, s); err != nil {
			return Log{}, err
		}
		if p.M3s >= noFlowM3s {
			l.InM3 += p.M3s * s
		}
		left -= s
	}
	l.End, l.Passed = State{LevelM: c.z, Running: c.run}, c.sum
	return l, nil
}
