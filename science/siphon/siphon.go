package siphon

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/pipe"
)

// Froude numbers of the flow in the narrowest bore, Q / (a √(gD)).
const (
	FroudeVenting = 0.31 // below it air rises against the water: no siphon; [simpson-1968]
	FroudeStart   = 0.52 // the rim drowns; 0.5196 by weir and opening, for any bore
	FroudeSwept   = 1.0  // all air is carried off; [hills-1983]
	FroudeHeld    = 2.0  // to be had at the break, if it can be
)

// Discharge of the rim: 0.58 to 0.61 in US practice of risers, from memory for
// the drowned opening.
const (
	weirDischarge    = 0.60
	orificeDischarge = 0.60
)

// KToCrest is the part of a home-made bell's losses that lies before the crest.
const KToCrest = 0.67 + 1.5 + 0.8

// BellK is the sum of loss factors, on the standpipe's velocity, of a home-made
// bell with slots of twice the bore: slots 0.67, turn over the crest 1.5, mouth
// 0.8, bulkhead 0.08, 0.9 for each elbow, exit 1. Common practice, no source:
// Calibrate is better.
func BellK(elbows int) float64 { return KToCrest + 0.08 + 0.9*float64(elbows) + 1 }

// Bed is the bed that a siphon drains.
type Bed struct {
	AreaM2    float64 // plan, inside
	Drainable float64 // share of the media's volume that runs out: not the total porosity
	GuardM2   float64 // open water within the media guard, part of AreaM2
	RimM      float64 // where it runs over, above the crest
}

// FreeM2 is the area of open water that would hold as much as the bed, m².
func (b Bed) FreeM2() float64 { return b.Drainable*(b.AreaM2-b.GuardM2) + b.GuardM2 }

// Check refuses a bed that cannot be.
func (b Bed) Check() error {
	if err := inRange("bed", "area", b.AreaM2, 1e-3, 1e5, "m2"); err != nil {
		return err
	}
	if err := inRange("bed", "drainable porosity", b.Drainable, 0.01, 0.99, ""); err != nil {
		return err
	}
	if err := inRange("bed", "area of the guard", b.GuardM2, 0, b.AreaM2, "m2"); err != nil {
		return err
	}
	return inRange("bed", "rim", b.RimM, 1e-3, 20, "m")
}

// Siphon is a bell siphon. Heights are above the bed's floor, below it negative.
type Siphon struct {
	Pipe  pipe.Pipe // the standpipe and all that follows; its K holds the bell and, at the end, an exit of 1
	Lower pipe.Pipe // a second diameter that follows, its K with the exit; zero for none

	CrestDiameterM float64 // of the rim; 0 for the standpipe's own, larger with a reducer on top
	ReducerM       float64 // height of that reducer
	CrestM         float64 // rim of the standpipe
	BreakM         float64 // where air gets in: top of the bell's slots, or end of the snorkel
	OutletM        float64 // centre of the outlet, or the water it is drowned in

	StartM3s float64 // least flow at which it was seen to start; 0 for the rule
}

// two reports whether there is a second diameter.
func (s *Siphon) two() bool { return s.Lower != pipe.Pipe{} }

// Check refuses a siphon that cannot be: a pipe that package pipe refuses, bores
// outside 3 to 300 mm, a break that is not below the crest, an outlet that is not
// below the break (it would never stop), a rim narrower than the pipe.
func (s *Siphon) Check() error {
	for _, p := range []pipe.Pipe{s.Pipe, s.Lower} {
		if p == s.Lower && !s.two() {
			continue
		}
		if err := p.Check(); err != nil {
			return fmt.Errorf("siphon: %w", err)
		}
		if err := inRange("siphon", "inside diameter", p.DiameterM, 0.003, 0.3, "m"); err != nil {
			return err
		}
	}
	if s.CrestDiameterM != 0 {
		if err := inRange("siphon", "diameter of the crest", s.CrestDiameterM, s.Pipe.DiameterM, 1, "m"); err != nil {
			return err
		}
	}
	for _, b := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"height of the reducer", s.ReducerM, 0, 1, "m"}, {"crest", s.CrestM, 0.005, 10, "m"},
		{"siphon break", s.BreakM, 0, 10, "m"}, {"outlet", s.OutletM, -20, 10, "m"}, {"measured start flow", s.StartM3s, 0, 1, "m3/s"},
	} {
		if err := inRange("siphon", b.name, b.v, b.lo, b.hi, b.unit); err != nil {
			return err
		}
	}
	switch {
	case s.BreakM >= s.CrestM:
		return fmt.Errorf("siphon: siphon break %g m: %w: it must lie below the crest, %g m", s.BreakM, quantity.ErrRange, s.CrestM)
	case s.OutletM >= s.BreakM:
		return fmt.Errorf("siphon: outlet %g m: %w: it must lie below the siphon break, %g m, or the siphon never stops", s.OutletM, quantity.ErrRange, s.BreakM)
	}
	return nil
}

// inRange is quantity.InRange, told of what.
func inRange(what, name string, v, lo, hi float64, unit string) error {
	if err := quantity.InRange(name, v, lo, hi, unit); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	return nil
}

// Works is a siphon in its bed with water of one temperature, made by New. It is
// never changed and may be shared.
type Works struct {
	bed    Bed
	siphon Siphon
	water  pipe.Water

	areaM2       float64 // free area
	froudeM3s    float64 // flow of Froude number 1 in the narrowest bore
	startM3s     float64
	weir, orify  float64 // flow = weir H^1.5; flow = orify √(2g (H + reducer))
	weirTo       float64 // flows up to which weir and opening govern; beyond, the full pipe
	orifyTo      float64
	weirToM      float64 // their levels
	orifyToM     float64
	startLevelM  float64
	breakFullM3s float64 // full flow at the break, at the start level and at the rim
	startFullM3s float64
	rimFullM3s   float64
	kinks        [4]float64 // flows at which the friction passes from one formula to another
}

// New checks a siphon in its bed.
//
//	tempC  of the water, 0 to 45
//
// Besides what the two Checks refuse it refuses a rim that is not above the
// crest, and a crest so high above the outlet that the water would boil there,
// at sea level.
func New(b Bed, s Siphon, tempC float64) (*Works, error) {
	if err := b.Check(); err != nil {
		return nil, err
	}
	if err := s.Check(); err != nil {
		return nil, err
	}
	if b.RimM <= s.CrestM {
		return nil, fmt.Errorf("siphon: rim %g m: %w: it must lie above the crest, %g m", b.RimM, quantity.ErrRange, s.CrestM)
	}
	w, err := pipe.WaterAt(tempC)
	if err != nil {
		return nil, fmt.Errorf("siphon: %w", err)
	}
	k := &Works{bed: b, siphon: s, water: w, areaM2: b.FreeM2()}
	bore := s.Pipe.DiameterM
	if s.two() {
		bore = min(bore, s.Lower.DiameterM)
	}
	for i, p := range [2]pipe.Pipe{s.Pipe, s.Lower} {
		perRe := p.AreaM2() * w.KinematicM2 / max(p.DiameterM, pipe.LeastDiameterM)
		k.kinks[2*i], k.kinks[2*i+1] = 2000*perRe, 4000*perRe
	}
	rim := max(s.CrestDiameterM, s.Pipe.DiameterM)
	k.froudeM3s = pipe.CircleM2(bore) * math.Sqrt(pipe.GravityMS2*bore)
	k.startM3s = FroudeStart * k.froudeM3s
	if s.StartM3s > 0 {
		k.startM3s = s.StartM3s
	}
	k.weir = 2.0 / 3 * weirDischarge * math.Sqrt(2*pipe.GravityMS2) * math.Pi * rim
	k.orify = orificeDischarge * s.Pipe.AreaM2()
	top := 2 * k.startM3s
	k.weirTo = crossing(top, func(q float64) float64 { return k.orificeLevelM(q) - k.weirLevelM(q) })
	k.orifyTo = crossing(top, func(q float64) float64 {
		return k.fullLevelM(q) - max(k.weirLevelM(q), k.orificeLevelM(q))
	})
	k.weirTo = min(k.weirTo, k.orifyTo)
	k.weirToM, k.orifyToM = k.levelOrNever(k.weirTo), k.levelOrNever(k.orifyTo)
	k.startLevelM = k.LevelM(k.startM3s)
	k.breakFullM3s = k.FullM3s(s.BreakM)
	k.startFullM3s = k.FullM3s(k.startLevelM)
	k.rimFullM3s = k.FullM3s(b.RimM)
	if suction, most := k.CrestSuctionM(), (seaLevelKPa-w.VapourKPa)*1000/(w.DensityKgM3*pipe.GravityMS2); suction >= most {
		return nil, fmt.Errorf("siphon: suction of %.3g m at the crest: %w: water boils there from %.3g m; raise the outlet or narrow it", suction, quantity.ErrRange, most)
	}
	return k, nil
}

const seaLevelKPa = 101.325

// levelOrNever is LevelM, infinite for an infinite flow.
func (k *Works) levelOrNever(q float64) float64 {
	if math.IsInf(q, 1) {
		return q
	}
	return k.LevelM(q)
}

// crossing is the least flow up to top at which a function turns from below
// zero to above it, infinite when it does not. It takes the function to cross
// once.
func crossing(top float64, f func(q float64) float64) float64 {
	if f(top) <= 0 {
		return math.Inf(1)
	}
	lo, hi := 0.0, top
	for range 200 {
		q := (lo + hi) / 2
		if q <= lo || q >= hi {
			break
		}
		if f(q) > 0 {
			hi = q
		} else {
			lo = q
		}
	}
	return hi
}

// Bed returns the bed.
func (k *Works) Bed() Bed { return k.bed }

// Siphon returns the siphon.
func (k *Works) Siphon() Siphon { return k.siphon }

// WaterM3 is the water of the bed at a level, that which stays on the media not
// counted.
func (k *Works) WaterM3(levelM float64) float64 { return k.areaM2 * levelM }

// DeadM3 is the water below the break, which never drains.
func (k *Works) DeadM3() float64 { return k.WaterM3(k.siphon.BreakM) }

// StartLevelM is the level at which the siphon starts.
func (k *Works) StartLevelM() float64 { return k.startLevelM }

// Froude is the Froude number of a flow in the narrowest bore.
func (k *Works) Froude(flowM3s float64) float64 { return flowM3s / k.froudeM3s }

// FlowAtFroudeM3s is the flow of a Froude number in the narrowest bore. Where a
// start is doubtful, a siphon with StartM3s at FroudeVenting is the hopeful case.
//
// Check: 26.64 mm, 1: 17.09 L/min.
func (k *Works) FlowAtFroudeM3s(froude float64) float64 { return froude * k.froudeM3s }

// CrestSuctionM is the suction at the crest, m of water, at its largest: with
// the siphon running and the level at the break.
func (k *Works) CrestSuctionM() float64 {
	v := k.breakFullM3s / k.siphon.Pipe.AreaM2()
	before := min(KToCrest, k.siphon.Pipe.K)
	return k.siphon.CrestM - k.siphon.BreakM + (1+before)*v*v/(2*pipe.GravityMS2)
}

// head is the head that all pipes take from a full flow, and its derivative.
func (k *Works) head(flowM3s float64) (headM, slope float64) {
	headM, slope = k.siphon.Pipe.HeadAndSlope(flowM3s, k.water.KinematicM2)
	if k.siphon.two() {
		h, s := k.siphon.Lower.HeadAndSlope(flowM3s, k.water.KinematicM2)
		headM, slope = headM+h, slope+s
	}
	return headM, slope
}

// FullM3s is the flow of the siphon running full at a level; 0 at and below the
// outlet. Where the crest lies makes no difference.
//
// Check: bore 26.64 mm, 1.00 m, K 4.95, outlet at -0.40 m, 22 °C: 40.289 L/min
// at 0.03 m.
func (k *Works) FullM3s(levelM float64) float64 {
	want := levelM - k.siphon.OutletM
	if !(want > 0) {
		return 0
	}
	q := k.siphon.Pipe.FlowAt(want, k.water.KinematicM2)
	if !k.siphon.two() {
		return q
	}
	lo, hi := 0.0, q // the upper pipe alone gives too much
	for range 200 {
		h, slope := k.head(q)
		if h > want {
			hi = q
		} else {
			lo = q
		}
		next := q - (h-want)/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-q) <= 4e-16*q || next == lo || next == hi {
			return next
		}
		q = next
	}
	return q
}

// The levels at which weir, drowned opening and full pipe give a flow.
func (k *Works) weirLevelM(q float64) float64 {
	root := math.Cbrt(q / k.weir)
	return k.siphon.CrestM + root*root
}

func (k *Works) orificeLevelM(q float64) float64 {
	y := q / k.orify
	return k.siphon.CrestM - k.siphon.ReducerM + y*y/(2*pipe.GravityMS2)
}

func (k *Works) fullLevelM(q float64) float64 {
	h, _ := k.head(q)
	return k.siphon.OutletM + h
}

// LevelM is the level at which a flow runs over the crest of a siphon that has
// not started: where a steady inflow below the start comes to rest.
//
// Check: 26.64 mm, 4 L/min: 5.869 mm above the crest.
func (k *Works) LevelM(flowM3s float64) float64 {
	return max(k.weirLevelM(flowM3s), k.orificeLevelM(flowM3s), k.fullLevelM(flowM3s))
}

// CrestM3s is the flow over the crest of a siphon that has not started: the
// least of weir, drowned opening and full pipe; 0 up to the crest. Within 3 mm of
// the crest surface tension makes it uncertain by 30 %.
//
// Source: [usbr-morning-glory] for the passage from rim to opening.
// Check: 40.9 mm, 10 mm above the crest: 13.657 L/min by the weir, 20.947 by the opening.
func (k *Works) CrestM3s(levelM float64) float64 {
	h := levelM - k.siphon.CrestM
	if !(h > 0) {
		return 0
	}
	return min(k.weir*h*math.Sqrt(h), k.orify*math.Sqrt(2*pipe.GravityMS2*(h+k.siphon.ReducerM)), k.FullM3s(levelM))
}

// EqualM is the level at which the siphon running full gives a flow.
func (k *Works) EqualM(flowM3s float64) float64 { return k.fullLevelM(flowM3s) }
