package siphon

import (
	"math"

	"tidebed/science/pipe"
)

// The eight-point rule of Gauss and Legendre on -1 to 1, its positive half.
var (
	gaussAt     = [4]float64{0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363}
	gaussWeight = [4]float64{0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763}
)

// running is the time, and the water let out, in which the full flow goes from
// q + side e^from to q + side e^to, with the inflow q; side is 1 while the flow
// falls to the inflow, -1 while it rises to it. Since d(flow - q)/dt = -(flow -
// q) / (area × slope of the head), the time is area × slope in that logarithm:
// smooth, however near the flow comes to the inflow.
func (k *Works) running(q, side, from, to float64) (seconds, outM3 float64) {
	// The friction has kinks in its slope, where the rule would lose its digits.
	for _, flow := range k.kinks {
		if e := side * (flow - q); e > 0 {
			if u := math.Log(e); (u-from)*(u-to) < 0 {
				s1, v1 := k.running(q, side, from, u)
				s2, v2 := k.running(q, side, u, to)
				return s1 + s2, v1 + v2
			}
		}
	}
	panels := math.Ceil(math.Abs(from-to) / panel)
	if panels == 0 {
		return 0, 0
	}
	half := (from - to) / (2 * panels)
	for n := range int(panels) {
		middle := from - half*float64(2*n+1)
		for i, x := range gaussAt {
			for _, u := range [2]float64{middle - half*x, middle + half*x} {
				flow := q + side*math.Exp(u)
				_, slope := k.head(flow)
				part := gaussWeight[i] * slope
				seconds += part
				outM3 += part * flow
			}
		}
	}
	return seconds * k.areaM2 * half, outM3 * k.areaM2 * half
}

// panel is the longest logarithm that the rule spans at once.
const panel = 0.75

// regime is what governs the flow over the crest.
type regime int

const (
	below regime = iota // the level is not above the crest
	weir
	orifice
	full
)

// span returns the regime at a level and the levels between which it governs,
// for a level that rises or one that falls.
func (k *Works) span(z float64, rising bool) (r regime, lo, hi float64) {
	edges := [3]float64{k.siphon.CrestM, k.weirToM, k.orifyToM}
	lo = math.Inf(-1)
	for i, edge := range edges {
		if z < edge || z == edge && !rising {
			return regime(i), lo, edge
		}
		lo = edge
	}
	return full, lo, math.Inf(1)
}

// seeping is the time from one level to another within a regime, the siphon not
// started, with the inflow q; infinite where the level never gets there. Both
// levels lie on the same side of the level of rest.
func (k *Works) seeping(r regime, q, from, to float64) float64 {
	s := &k.siphon
	switch r {
	case below:
		return k.areaM2 * (to - from) / q
	case weir:
		h0, h1 := max(0, from-s.CrestM), max(0, to-s.CrestM)
		if q == 0 {
			return 2 * k.areaM2 / k.weir * (1/math.Sqrt(h1) - 1/math.Sqrt(h0))
		}
		rest := math.Pow(q/k.weir, 2.0/3)
		return 2 * k.areaM2 * rest / q * (weirIntegral(math.Sqrt(h1/rest)) - weirIntegral(math.Sqrt(h0/rest)))
	case orifice:
		y0, y1 := math.Sqrt(2*pipe.GravityMS2*(from-s.CrestM+s.ReducerM)), math.Sqrt(2*pipe.GravityMS2*(to-s.CrestM+s.ReducerM))
		c := k.orify
		t := (y0 - y1) / c
		if q > 0 {
			t += q / (c * c) * math.Log(math.Abs((q-c*y0)/(q-c*y1)))
		}
		return k.areaM2 / pipe.GravityMS2 * t
	}
	flow0, flow1 := k.FullM3s(from), k.FullM3s(to)
	if flow1 == q {
		return math.Inf(1)
	}
	t, _ := k.running(q, math.Copysign(1, flow0-q), math.Log(math.Abs(flow0-q)), math.Log(math.Abs(flow1-q)))
	return t
}

// weirIntegral is the integral of x / (1 - x³).
func weirIntegral(x float64) float64 {
	return math.Log(1+x+x*x)/6 - math.Log(math.Abs(1-x))/3 - math.Atan((2*x+1)/math.Sqrt(3))/math.Sqrt(3)
}

// climb is the time from the crest to the start, with an inflow above the
// start flow.
func (k *Works) climb(q float64) (seconds float64) {
	for z := k.siphon.CrestM; z < k.startLevelM; {
		r, _, hi := k.span(z, true)
		hi = min(hi, k.startLevelM)
		seconds += k.seeping(r, q, z, hi)
		z = hi
	}
	return seconds
}

// times are those of the steady cycle, with the water the siphon lets out; the
// drain is infinite when it never stops.
func (k *Works) times(q float64) (fillS, drainS, siphonedM3 float64) {
	fillS = k.areaM2*(k.siphon.CrestM-k.siphon.BreakM)/q + k.climb(q)
	if q >= k.breakFullM3s {
		return fillS, math.Inf(1), math.Inf(1)
	}
	drainS, siphonedM3 = k.running(q, 1, math.Log(k.startFullM3s-q), math.Log(k.breakFullM3s-q))
	return fillS, drainS, siphonedM3
}
