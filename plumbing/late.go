package plumbing

import (
	"fmt"

	"tidebed/science/siphon"
	"tidebed/words"
)

// What is tried for turns that do not go into their time: so many times the flow,
// so much smaller floods.
var (
	triedFlows   = []float64{1.1, 1.2, 1.3, 1.4, 1.5, 1.75, 2, 2.5, 3, 4, 5}
	triedSmaller = []float64{0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50}
)

// tellLate says of each part whose turns do not go into their time what to change.
// Each remedy with a figure is tried in the same model; more valves open together,
// where asked for, through a day too.
func (s *Scheme) tellLate(t *Timetable, together bool) error {
	for i := range t.Parts {
		p := &t.Parts[i]
		if !p.isLate() {
			continue
		}
		_, leastS := shortestS(p.Turns, p.Groups)
		by := ""
		if len(t.Parts) > 1 {
			by = " by " + p.Name
		}
		most := figure(secondsInHour/leastS, 2, -1)
		fit := fmt.Sprintf("at most %s an hour %s", pick(most == "1", "one flood", most+" floods"), pick(most == "1", "fits", "fit"))
		var slow []string
		slowS := 0.0
		for j := range p.Turns {
			if u := &p.Turns[j]; u.needsS() > p.askedS()*(1+1e-9) && u.needsS() > u.OpenS {
				slow, slowS = append(slow, u.Name), max(slowS, u.needsS())
			}
		}
		switch {
		case leastS <= p.askedS()*(1+1e-9): // but not into the part
			p.late = fmt.Sprintf("%s%s %s %s, longer than the part, which has %s: those that would not end in it are left out. Ask for the same floods by day and night, or let the valves open a shorter time.",
				words.Capital(countOf(len(p.Groups), "turn")), by, pick(len(p.Groups) == 1, "takes", "take"), timeText(leastS), timeText(p.longS()))
		case len(slow) > 0 && slowS >= p.SlotsS:
			takes := pick(len(slow) == 1, "takes ", "take up to ") + timeText(slowS)
			p.late = fmt.Sprintf("%s%s %s to fill and drain, more than the %s from flood to flood: %s. Ask for fewer floods, or let %s drain faster.", words.Capital(listText(slow)), by, takes, timeText(p.askedS()), fit, pick(len(slow) == 1, "it", "them"))
		default:
			cures, err := s.inTimeBy(t, p, together)
			if err != nil {
				return err
			}
			cures = append([]string{"ask for fewer floods"}, cures...)
			p.late = fmt.Sprintf("%s%s %s %s, more than the %s from flood to flood: %s. %s.",
				words.Capital(countOf(len(p.Groups), "turn")), by, pick(len(p.Groups) == 1, "takes", "take"), timeText(p.SlotsS), timeText(p.askedS()), fit, words.Capital(words.ListOr(cures)))
		}
		t.Why = append(t.Why, p.late)
	}
	return nil
}

// inTimeBy are the changes that bring the turns of a part into their time.
func (s *Scheme) inTimeBy(t *Timetable, p *Part, together bool) ([]string, error) {
	var out []string
	most := min(len(p.Turns), 24)
	for k := t.Goal.Together + 1; together && k <= most; k++ {
		g := t.Goal
		g.Together = k
		more, err := s.lays(g)
		if err != nil {
			return nil, err
		}
		if mostPerHour(more.Parts[0].Turns, more.Parts[0].Groups) == 0 {
			break // with more yet each gets still less
		}
		if !more.Fits {
			continue
		}
		if err := s.confirm(more); err != nil {
			return nil, err
		}
		if more.Fits {
			out = append(out, fmt.Sprintf("open %d valves together", k))
		}
		break
	}
	for _, f := range triedFlows {
		ok, err := s.inTime(t, p, f, 0)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, fmt.Sprintf("give each %.3g times the flow", f))
			break
		}
	}
	for _, x := range triedSmaller {
		ok, err := s.inTime(t, p, 1, x)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, fmt.Sprintf("let each flood be %.0f %% smaller by a lower crest", 100*x))
			break
		}
	}
	return out, nil
}

// inTime reports whether the turns of a part go into their time with so many times
// the flow and with floods so much smaller, every bed flooding and its siphon
// stopping for sure.
func (s *Scheme) inTime(t *Timetable, p *Part, flow, smaller float64) (bool, error) {
	turns := make([]Turn, len(p.Turns))
	for i := range p.Turns {
		u := &p.Turns[i]
		v := Turn{Branch: u.Branch, Bed: u.Bed, Name: u.Name, Valve: u.Valve, InflowM3s: u.InflowM3s * flow, restM3s: u.restM3s}
		var bed *Bed
		if u.Bed >= 0 {
			lower, ok, err := s.lowCrest(&s.Beds[u.Bed], smaller)
			if err != nil || !ok {
				return false, err
			}
			bed = lower
		}
		if err := s.judgeIn(&v, bed, t.Goal); err != nil {
			return false, err
		}
		if !v.Trips || v.Way == Siphons && (!v.Verdict.Cycles() || v.InflowM3s > v.goodM3s && u.InflowM3s <= u.goodM3s) {
			return false, nil
		}
		turns[i] = v
	}
	_, leastS := shortestS(turns, p.Groups)
	return leastS <= min(p.askedS(), p.longS()), nil
}

// lowCrest is a bed with a lower crest, so that its floods are smaller by a share;
// false where that cannot be built.
func (s *Scheme) lowCrest(b *Bed, smaller float64) (*Bed, bool, error) {
	c := *b
	if smaller == 0 || !b.holds() {
		return &c, true, nil
	}
	switch b.Way {
	case Siphons:
		low := b.Works.Siphon()
		low.CrestM = low.BreakM + (1-smaller)*(low.CrestM-low.BreakM)
		works, err := siphon.New(b.Works.Bed(), low, s.Settings.TempC)
		if err != nil {
			return nil, false, nil //nolint:nilerr // such a crest cannot be: no remedy
		}
		c.Siphon, c.Works = low, works
	default:
		c.Stand.CrestM = c.Stand.WeepLevelM + (1-smaller)*(c.Stand.CrestM-c.Stand.WeepLevelM)
		if c.Stand.Check() != nil {
			return nil, false, nil
		}
	}
	return &c, true, nil
}
