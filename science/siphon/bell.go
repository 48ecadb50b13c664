package siphon

import (
	"math"

	"tidebed/science/pipe"
)

// Bell is what stands about a standpipe, in m; 0 for what is not known.
type Bell struct {
	InsideM           float64 // diameter of the bell
	OutsideM          float64
	StandpipeOutsideM float64
	GapM              float64 // from the crest to the bell's top
	SlotsM2           float64 // open area of the slots at its foot
	GuardInsideM      float64 // diameter of the media guard
	GuardSlotM        float64 // width of the guard's slots
	LeastMediaM       float64 // smallest grain of the media
	MediaTopM         float64 // height of the media above the floor
}

// Findings holds a bell against the rules of common practice: a gap of at least
// a quarter of the crest's diameter, through which the curtain of water has the
// crest's own area, twice the bore in the annulus and in the slots, 15 mm to the
// guard, its slots narrower than the media, 20 mm of dry media above the crest.
// Lengths outside 0 to 10 m are refused.
func (b Bell) Findings(s Siphon) ([]Finding, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	for _, l := range []struct {
		name string
		v    float64
	}{
		{"bell, inside", b.InsideM}, {"bell, outside", b.OutsideM}, {"standpipe, outside", b.StandpipeOutsideM}, {"gap", b.GapM}, {"slots", b.SlotsM2},
		{"guard, inside", b.GuardInsideM}, {"guard's slots", b.GuardSlotM}, {"least media", b.LeastMediaM}, {"top of the media", b.MediaTopM},
	} {
		if err := inRange("bell", l.name, l.v, 0, 10, "m"); err != nil {
			return nil, err
		}
	}
	var list []Finding
	less := func(known bool, r Reason, value, limit float64) {
		if known && value < limit-1e-12 {
			list = append(list, Finding{r, value, limit})
		}
	}
	bore := s.Pipe.AreaM2()
	less(b.GapM > 0, GapTight, b.GapM, max(s.CrestDiameterM, s.Pipe.DiameterM)/4)
	less(b.InsideM > 0 && b.StandpipeOutsideM > 0, AnnulusTight, pipe.CircleM2(b.InsideM)-pipe.CircleM2(b.StandpipeOutsideM), 2*bore)
	less(b.SlotsM2 > 0, SlotsTight, b.SlotsM2, 2*bore)
	less(b.GuardInsideM > 0 && b.OutsideM > 0, GuardTight, (b.GuardInsideM-b.OutsideM)/2, 0.015)
	less(b.MediaTopM > 0, CrestNearMedia, b.MediaTopM-s.CrestM, 0.020)
	if b.GuardSlotM > 0 && b.LeastMediaM > 0 && b.GuardSlotM >= b.LeastMediaM {
		list = append(list, Finding{GuardSlotsLarge, b.GuardSlotM, b.LeastMediaM})
	}
	return list, nil
}

// LeastBellM is the least inside diameter of a bell: twice the bore about the
// standpipe.
//
//	boreM              inside diameter of the standpipe, 0.003 to 0.3
//	standpipeOutsideM  its outside, not below boreM
func LeastBellM(boreM, standpipeOutsideM float64) (float64, error) {
	if err := inRange("bell", "bore", boreM, 0.003, 0.3, "m"); err != nil {
		return 0, err
	}
	if err := inRange("bell", "outside of the standpipe", standpipeOutsideM, boreM, 1, "m"); err != nil {
		return 0, err
	}
	return math.Sqrt(2*boreM*boreM + standpipeOutsideM*standpipeOutsideM), nil
}
