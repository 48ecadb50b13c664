package siphon

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/pipe"
)

// Standpipe is a bed drained without a bell: a standpipe that it runs over, and
// for a bed that a timer floods a weep hole that empties it when the pump is off.
// Without a weep hole it is a bed of constant flow.
type Standpipe struct {
	Bed        Bed
	DiameterM  float64 // inside, at the crest
	CrestM     float64
	WeepM      float64 // diameter of the hole; 0 for none
	WeepLevelM float64 // its height above the floor
}

// Check refuses what cannot be: bores outside 3 to 300 mm (the hole from
// 0.5 mm), a hole that is not below the crest, a rim that is not above it.
func (s Standpipe) Check() error {
	if err := s.Bed.Check(); err != nil {
		return err
	}
	if err := inRange("standpipe", "inside diameter", s.DiameterM, 0.003, 0.3, "m"); err != nil {
		return err
	}
	if err := inRange("standpipe", "crest", s.CrestM, 0.005, 10, "m"); err != nil {
		return err
	}
	if s.WeepM != 0 {
		if err := inRange("standpipe", "weep hole", s.WeepM, pipe.LeastDiameterM, s.DiameterM, "m"); err != nil {
			return err
		}
	}
	if err := inRange("standpipe", "height of the weep hole", s.WeepLevelM, 0, 10, "m"); err != nil {
		return err
	}
	switch {
	case s.WeepLevelM >= s.CrestM:
		return fmt.Errorf("standpipe: weep hole at %g m: %w: it must lie below the crest, %g m", s.WeepLevelM, quantity.ErrRange, s.CrestM)
	case s.Bed.RimM <= s.CrestM:
		return fmt.Errorf("standpipe: rim %g m: %w: it must lie above the crest, %g m", s.Bed.RimM, quantity.ErrRange, s.CrestM)
	}
	return nil
}

// weep is the hole's flow per root of the head.
func (s Standpipe) weep() (perRoot float64, err error) {
	if s.WeepM == 0 {
		return 0, nil
	}
	return pipe.WeepM3s(s.WeepM, 1)
}

// Flood is a bed under a steady inflow through a standpipe.
type Flood struct {
	FillS     float64 // from the weep hole, or the floor, to the crest; NaN when it never fills
	HoldM     float64 // level that stays
	ExchangeS float64 // in which the inflow renews the water of the bed
	WeepM3s   float64 // through the hole at that level
	OverRim   bool    // the level would lie at or above the rim
}

// Flood tells how a bed fills with a steady inflow of 0 to 1 m³/s, the hole open
// all the while, and where the level stays: over the crest, or, when the hole
// takes all the inflow, below it.
func (s Standpipe) Flood(inflowM3s float64) (Flood, error) {
	if err := s.Check(); err != nil {
		return Flood{}, err
	}
	if err := inRange("standpipe", "inflow", inflowM3s, noFlowM3s, 1, "m3/s"); err != nil {
		return Flood{}, err
	}
	c, err := s.weep()
	if err != nil {
		return Flood{}, err
	}
	q, area := inflowM3s, s.Bed.FreeM2()
	low := 0.0
	if s.WeepM > 0 {
		low = s.WeepLevelM
	}
	head := s.CrestM - low
	f := Flood{FillS: math.NaN()}
	if atCrest := c * math.Sqrt(head); q <= atCrest {
		root := q / c
		f.HoldM = low + root*root
	} else {
		switch slow := c * math.Sqrt(head) / q; {
		case slow < 1e-6: // the hole hardly counts
			f.FillS = area * head / q
		default:
			f.FillS = -2 * area * q / (c * c) * (slow + math.Log1p(-slow))
		}
		weir := 2.0 / 3 * weirDischarge * math.Sqrt(2*pipe.GravityMS2) * math.Pi * s.DiameterM
		opening := orificeDischarge * pipe.CircleM2(s.DiameterM) * math.Sqrt(2*pipe.GravityMS2)
		top := 1e-3
		surplus := func(h float64) float64 {
			return min(weir*h*math.Sqrt(h), opening*math.Sqrt(h)) + c*math.Sqrt(head+h) - q
		}
		for surplus(top) <= 0 && top < 1e9 {
			top *= 2
		}
		f.HoldM = s.CrestM + crossing(top, surplus)
	}
	f.WeepM3s = c * math.Sqrt(max(0, f.HoldM-low))
	f.ExchangeS = area * f.HoldM / q
	f.OverRim = f.HoldM >= s.Bed.RimM
	return f, nil
}

// DrainS is the time in which the weep hole empties the bed from one level to
// another, the pump off. Levels lie between the hole and the crest.
//
// Check: 8 mm and 0.54 m² of open water, 0.22 to 0.02 m: 2563.6 s.
func (s Standpipe) DrainS(fromM, toM float64) (float64, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	if s.WeepM == 0 {
		return 0, fmt.Errorf("standpipe: %w: there is no weep hole, so the bed does not drain", quantity.ErrRange)
	}
	if err := inRange("standpipe", "level at the start", fromM, s.WeepLevelM, s.CrestM, "m"); err != nil {
		return 0, err
	}
	if err := inRange("standpipe", "level at the end", toM, s.WeepLevelM, fromM, "m"); err != nil {
		return 0, err
	}
	return pipe.WeepDrainSeconds(s.Bed.FreeM2(), s.WeepM, fromM-s.WeepLevelM, toM-s.WeepLevelM)
}
