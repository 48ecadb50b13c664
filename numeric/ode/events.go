package ode

import "fmt"

// look takes the events' values at the present point.
func (v *Solver) look() error {
	for k := range v.p.Events {
		g, err := v.root(k, v.t, v.y)
		if err != nil {
			return err
		}
		v.g[k] = g
	}
	return nil
}

func (v *Solver) root(k int, t float64, y []float64) (float64, error) {
	v.stats.EventEvals++
	e := &v.p.Events[k]
	g := e.Root(t, y[:v.p.N:v.p.N])
	if !finite(g) {
		return 0, fmt.Errorf("ode: t = %.9g: event %d (%s) is %g: %w", t, k, e.Name, g, ErrNotFinite)
	}
	return g, nil
}

// crosses reports whether an event goes from one side to the other. A value of 0
// before says that it has not left the root yet, and is no crossing.
func (e *Event) crosses(before, now float64) bool {
	return before < 0 && now >= 0 && e.Direction >= 0 || before > 0 && now <= 0 && e.Direction <= 0
}

// events goes through the last step, tells events in order of time and returns
// the number of one that stops the advance, or -1. At a stop it cuts the step.
func (v *Solver) events() (int, error) {
	if len(v.p.Events) == 0 {
		return -1, nil
	}
	tEnd, n := v.t, v.p.N
	for part := range looksPerStep {
		a, b := float64(part)/looksPerStep, float64(part+1)/looksPerStep
		t, y := v.tOld+b*v.hOld, v.dense
		if part == looksPerStep-1 {
			t, y = tEnd, v.yEnd
		} else {
			v.polynomial(b, v.dense, 0, n)
		}
		v.found = v.found[:0]
		for k := range v.p.Events {
			e := &v.p.Events[k]
			now, err := v.root(k, t, y)
			if err != nil {
				return -1, err
			}
			before := v.g[k]
			v.g[k] = now
			if e.crosses(before, now) {
				v.found = append(v.found, hit{event: k, before: before})
			}
		}
		// The places are worked out after all values, since both use dense.
		for i := range v.found {
			s, err := v.locate(v.found[i].event, v.found[i].before, a, b)
			if err != nil {
				return -1, err
			}
			v.found[i].s = s
		}
		for i := 1; i < len(v.found); i++ { // few; ties keep their order
			for j := i; j > 0 && v.found[j].s < v.found[j-1].s; j-- {
				v.found[j], v.found[j-1] = v.found[j-1], v.found[j]
			}
		}
		stop, stopS := -1, 0.0
		for _, f := range v.found {
			if stop >= 0 && f.s > stopS {
				break
			}
			e := &v.p.Events[f.event]
			at := min(v.tOld+f.s*v.hOld, tEnd)
			if f.s == 1 {
				at = tEnd
				copy(v.dense, v.yEnd)
			} else {
				v.polynomial(f.s, v.dense, 0, len(v.dense))
			}
			v.stats.Events++
			if e.Seen != nil {
				e.Seen(at, v.dense[:n:n])
			}
			if e.Stop && stop < 0 { // events at the same place are told still
				stop, stopS = f.event, f.s
				v.t = at
				copy(v.y, v.dense)
			}
		}
		if stop >= 0 {
			return stop, nil
		}
	}
	return -1, nil
}

// locate halves [a, b] until the time resolves no more and returns the far
// end, where the crossing has happened.
func (v *Solver) locate(k int, before, a, b float64) (float64, error) {
	for {
		middle := a + (b-a)/2
		t := v.tOld + middle*v.hOld
		if middle <= a || middle >= b || t <= v.tOld+a*v.hOld || t >= v.tOld+b*v.hOld {
			return b, nil
		}
		v.polynomial(middle, v.dense, 0, v.p.N)
		g, err := v.root(k, t, v.dense)
		if err != nil {
			return 0, err
		}
		if before < 0 && g < 0 || before > 0 && g > 0 {
			a = middle
		} else {
			b = middle
		}
	}
}
