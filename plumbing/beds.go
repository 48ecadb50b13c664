package plumbing

import (
	"fmt"
	"math"

	"tidebed/science/siphon"
)

// BedView is what a bed does with an inflow. What does not happen is 0.
type BedView struct {
	Name      string         `json:"name"`
	Way       Way            `json:"way"`
	InflowM3s float64        `json:"inflowM3s"`
	StartM3s  float64        `json:"startM3s"` // above it a siphon should start, by the model or as it was seen
	SureM3s   float64        `json:"sureM3s"`  // from it it surely starts
	GoodM3s   float64        `json:"goodM3s"`  // from it the break grows uncertain
	BreakM3s  float64        `json:"breakM3s"` // from it it never stops
	Verdict   siphon.Verdict `json:"verdict"`
	Froude    float64        `json:"froude"`
	FillS     float64        `json:"fillS"`
	DrainS    float64        `json:"drainS"`   // in its turn, the valve shutting as by the timetable; else with the inflow on; of a weep hole with it off
	PeriodS   float64        `json:"periodS"`  // with an inflow that stays on
	StoredM3  float64        `json:"storedM3"` // at the start, above the break
	DeadM3    float64        `json:"deadM3"`   // below the break, which never drains
	State     State          `json:"state"`
	Why       string         `json:"why"` // one sentence with its figures
}

// goodShare is the part of the full flow at the break above which it dribbles.
const goodShare = 0.7

// BedViews tells what each bed that is flooded does with an inflow: 0 stands for the
// one of its turn in the timetable, or without a timetable (nil) for what its own
// pipes bring, other timed valves shut. Without pipes the inflow must be given for
// siphons to be judged.
func (s *Scheme) BedViews(inflowM3s float64, t *Timetable) ([]BedView, error) {
	var all []BedView
	for i := range s.Beds {
		b := &s.Beds[i]
		if b.Way != Siphons && b.Way != Timer && b.Way != Constant {
			continue
		}
		q, err := s.inflowOf(i, inflowM3s, t)
		if err != nil {
			return nil, err
		}
		var u *Turn
		if inflowM3s == 0 {
			u = turnIn(t, i)
		}
		v, err := b.view(q, s.Settings.TempC, s.say(), u)
		if err != nil {
			return nil, fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, b.In.Name, err)
		}
		if q == 0 && !s.Piped {
			v.State, v.Why, v.Verdict = Watch, "Its inflow is not known, for the site describes no pump with its curve and pipes from it; measure it with a bucket and ask with that flow.", ""
		}
		all = append(all, v)
	}
	return all, nil
}

// turnIn is a bed's turn in a timetable, that with the least inflow; nil for none.
func turnIn(t *Timetable, bed int) (least *Turn) {
	if t == nil {
		return nil
	}
	for i := range t.Parts {
		for j := range t.Parts[i].Turns {
			if u := &t.Parts[i].Turns[j]; u.Bed == bed && (least == nil || u.InflowM3s < least.InflowM3s) {
				least = u
			}
		}
	}
	return least
}

// inflowOf is the inflow by which a bed is judged: the one given, else the least of
// its turns, else what its own pipes bring.
func (s *Scheme) inflowOf(bed int, given float64, t *Timetable) (float64, error) {
	if given > 0 || !s.Piped {
		return given, nil
	}
	if u := turnIn(t, bed); u != nil {
		return u.InflowM3s, nil
	}
	var open Valves
	for i := range s.Branches {
		if s.Branches[i].Bed == bed && s.Branches[i].Timed {
			open = open.With(i)
		}
	}
	f, err := s.Flow(open, s.Source.SurfaceM)
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for i := range s.Branches {
		if s.Branches[i].Bed == bed {
			sum += f.BranchM3s[i]
		}
	}
	return sum, nil
}

// known is a number, 0 for one that is none.
func known(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// view judges one bed with an inflow; in a turn of the timetable, where u is not nil,
// its valve shuts some time after the siphon has started.
func (b *Bed) view(q, tempC float64, p say, u *Turn) (BedView, error) {
	v := BedView{Name: b.In.Name, Way: b.Way, InflowM3s: q, State: Good}
	if b.Way != Siphons {
		f, err := b.Stand.Flood(q)
		if err != nil {
			return v, err
		}
		v.FillS = known(f.FillS)
		v.StoredM3 = b.FreeM2() * (b.Stand.CrestM - b.Stand.WeepLevelM)
		switch {
		case q <= 0:
			v.State, v.Why = Act, "No water comes to it."
		case f.OverRim:
			v.State, v.Why = Act, fmt.Sprintf("It runs over its rim with %s: its standpipe is too narrow; widen it or throttle the valve.", p.flow(q))
		case math.IsNaN(f.FillS):
			v.State, v.Why = Act, fmt.Sprintf("It never fills: %s leave by the weep hole. Make the hole smaller or the inflow larger.", p.flow(q))
		case b.Way == Timer:
			if v.DrainS, err = b.Stand.DrainS(b.Stand.CrestM, b.Stand.WeepLevelM); err != nil {
				return v, err
			}
			v.Why = fmt.Sprintf("It fills in %s and drains by its weep hole once the water stops; a hole clogs, so look at it each week.", p.time(v.FillS))
		default:
			v.Why = fmt.Sprintf("It stays flooded; its water is renewed in %s.", p.time(known(f.ExchangeS)))
		}
		return v, nil
	}
	start, stop, err := siphon.Window(b.Bed, b.Siphon, tempC)
	if err != nil {
		return v, err
	}
	v.StartM3s, v.BreakM3s, v.GoodM3s = start, stop, goodShare*stop
	v.SureM3s = siphon.FroudeSwept * start / siphon.FroudeStart
	if b.Siphon.StartM3s > 0 {
		v.SureM3s = start
	}
	v.DeadM3 = b.Works.DeadM3()
	c, err := b.Works.Cycle(q)
	if err != nil {
		return v, err
	}
	v.Verdict, v.Froude = c.Verdict, c.Froude
	v.FillS, v.DrainS, v.PeriodS, v.StoredM3 = known(c.FillS), known(c.DrainS), known(c.PeriodS), known(c.StoredM3)
	if v.StoredM3 == 0 {
		v.StoredM3 = b.FreeM2() * (b.Siphon.CrestM - b.Siphon.BreakM)
	}
	shuts := false // before the break
	if u != nil && u.Trips {
		if v.DrainS, err = drainOf(b, &c, q, 0, u.MarginS); err != nil {
			return v, err
		}
		v.PeriodS, shuts = 0, v.DrainS > u.MarginS
	}
	window := fmt.Sprintf("its window is %s to %s", p.flow(start), p.flow(v.GoodM3s))
	switch c.Verdict {
	case siphon.WillNotStart:
		v.State, v.Why = Act, fmt.Sprintf("It does not start with %s: water trickles over the crest for ever; %s.", p.flow(q), window)
	case siphon.Doubtful:
		v.State, v.Why = Watch, fmt.Sprintf("It may start with %s or not; from %s it should. See it start, or give it more water.", p.flow(q), p.flow(start))
		if c.Has(siphon.DropShort) {
			v.State, v.Why = Act, fmt.Sprintf("Its outlet lies too high: the water falls too little to carry the air off, and the siphon will not hold. Lower the outlet; %s.", window)
		}
	case siphon.NeverStops:
		if shuts {
			v.State, v.Why = Watch, fmt.Sprintf("It does not stop while its valve is open, for %s is more than its siphon carries at the break; it drains when the valve shuts. Throttle the valve below %s, so that a valve that sticks does no harm.", p.flow(q), p.flow(v.GoodM3s))
			break
		}
		v.State, v.Why = Act, fmt.Sprintf("It never stops with %s: from %s the inflow keeps up with the siphon. Throttle the valve below %s.", p.flow(q), p.flow(stop), p.flow(v.GoodM3s))
	case siphon.Overflows:
		v.State, v.Why = Act, fmt.Sprintf("The bed runs over with %s: the siphon carries less. Throttle the valve below %s.", p.flow(q), p.flow(v.GoodM3s))
	default:
		switch {
		case c.Has(siphon.InflowDribbles) && shuts:
			v.Why = fmt.Sprintf("It starts with %s; its valve shuts before the break, so it does not dribble on; %s.", p.flow(q), window)
		case c.Has(siphon.InflowDribbles):
			v.State, v.Why = Watch, fmt.Sprintf("It may dribble on instead of stopping: %s is above %s, 0.7 of its full flow. Throttle the valve, or lead a thin tube from the bell's top to the break.", p.flow(q), p.flow(v.GoodM3s))
		case c.Verdict == siphon.Starts:
			v.Why = fmt.Sprintf("It starts and stops with %s; %s.", p.flow(q), window)
		default:
			v.Why = fmt.Sprintf("It should start with %s and stops; from %s it surely starts; %s.", p.flow(q), p.flow(v.SureM3s), window)
		}
	}
	return v, nil
}

// PoreRow is what a bed does when roots and solids have filled a share of its
// pores.
type PoreRow struct {
	Filled    float64 `json:"filled"`    // share of the clean pores
	Drainable float64 `json:"drainable"` // share of the media's volume that still drains
	BedView
	OpenS float64 `json:"openS"` // that its valve would have to stay open, with the usual margin; 0 where nothing floods
}

// poresFilled are the shares that PoreRows tries.
var poresFilled = []float64{0, 0.1, 0.2, 0.3, 0.5}

// PoreRows tells what a media bed does as roots and solids fill its pores: clean,
// and with a tenth to a half of them filled, which takes months. The water comes as
// it does now; less of it makes a flood, so fills, drains and floods are shorter,
// while the window of inflow stays as it is. inflowM3s and t as in BedViews; bed is an
// index in Loop.Beds. A bed without media gives none.
func (s *Scheme) PoreRows(bed int, inflowM3s float64, t *Timetable) ([]PoreRow, error) {
	if bed < 0 || bed >= len(s.Beds) {
		return nil, fmt.Errorf("loop %s: there is no bed %d", s.Loop.Name, bed)
	}
	b := s.Beds[bed]
	if b.Way != Siphons && b.Way != Timer && b.Way != Constant {
		return nil, nil
	}
	q, err := s.inflowOf(bed, inflowM3s, t)
	if err != nil {
		return nil, err
	}
	var rows []PoreRow
	for _, filled := range poresFilled {
		left, err := siphon.PoreLeft(b.Bed.Drainable, 1, filled*b.Bed.Drainable)
		if err != nil {
			return nil, fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, b.In.Name, err)
		}
		c := b
		c.Bed.Drainable, c.Stand.Bed.Drainable = left, left
		if c.Way == Siphons {
			if c.Works, err = siphon.New(c.Bed, c.Siphon, s.Settings.TempC); err != nil {
				return nil, fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, b.In.Name, err)
			}
		}
		v, err := c.view(q, s.Settings.TempC, s.say(), turnIn(t, bed))
		if err != nil {
			return nil, fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, b.In.Name, err)
		}
		row := PoreRow{Filled: filled, Drainable: left, BedView: v}
		if v.FillS > 0 && b.Way != Constant {
			row.OpenS = v.FillS + math.Max(leastMarginS, marginShare*v.FillS)
		}
		rows = append(rows, row)
	}
	return rows, nil
}
