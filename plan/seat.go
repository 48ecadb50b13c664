package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tidebed/season"
	"tidebed/site"
)

// seat hands the modules of each sowing to beds: sowings in the order in which they
// begin, each module to a place that is free for all its weeks: in the bed that it has
// in the plan in force, else in the bed where the sowing has most already, then where
// the gap before it is least. For the intervals of one group, begun in this order,
// there is always such a place.
func (m *maker) seat(sol *solution) {
	type place struct {
		bed  string
		busy []bool // by week
	}
	w := m.w
	sol.seats = make([][]Part, len(sol.g.cands))
	for gi := range w.groups {
		g := &w.groups[gi]
		var places []place
		for b := range g.beds {
			for k := range g.beds[b].modules {
				p := place{bed: g.beds[b].name, busy: make([]bool, w.weeks)}
				for week := range p.busy {
					p.busy[week] = k < g.beds[b].taken[week]
				}
				places = append(places, p)
			}
		}
		var order []int
		for i := range sol.g.cands {
			if c := &sol.g.cands[i]; c.group == gi && sol.n[i] >= 1 && (c.index < 0 || c.inForce(w)) {
				order = append(order, i)
			}
		}
		slices.SortStableFunc(order, func(a, b int) int {
			x, y := &sol.g.cands[a], &sol.g.cands[b]
			return cmp.Or(cmp.Compare(x.from, y.from), boolFirst(x.index >= 0, y.index >= 0), cmp.Compare(y.to, x.to), cmp.Compare(a, b))
		})
		for _, i := range order {
			c := &sol.g.cands[i]
			n := int(sol.n[i])
			if c.fixedM2 > 0 {
				n = int(math.Ceil(c.fixedM2/g.ModuleM2 - 0.05))
			}
			from, to := max(0, c.from), c.to
			got := map[string]int{}
			for range n {
				best, bestGap, bestGot := -1, 0, 0
				for k := range places {
					p := &places[k]
					if slices.Contains(p.busy[from:to+1], true) {
						continue
					}
					gap := 0
					for week := from - 1; week >= 0 && !p.busy[week]; week-- {
						gap++
					}
					has := got[p.bed]
					if p.bed == c.bed || c.bed == "" && m.pinnedTo(c, p.bed) {
						has += len(places) // its own bed before all others
					}
					if best < 0 || has > bestGot || has == bestGot && gap < bestGap {
						best, bestGap, bestGot = k, gap, has
					}
				}
				if best < 0 { // no place is free throughout: where it overlaps least
					least := math.MaxInt
					for k := range places {
						over := 0
						for week := from; week <= to; week++ {
							if places[k].busy[week] {
								over++
							}
						}
						if over < least {
							best, least = k, over
						}
					}
				}
				if best < 0 {
					continue
				}
				for week := from; week <= to; week++ {
					places[best].busy[week] = true
				}
				got[places[best].bed]++
			}
			for b := range g.beds { // in the order of the site
				name := g.beds[b].name
				if got[name] == 0 {
					continue
				}
				area := float64(got[name]) * g.ModuleM2
				if c.fixedM2 > 0 {
					area = c.fixedM2 * float64(got[name]) / float64(n)
				}
				sol.seats[i] = append(sol.seats[i], Part{Bed: name, Modules: got[name], AreaM2: area})
			}
		}
	}
}

// pinnedTo reports whether a pin asks for a sowing in this very bed.
func (m *maker) pinnedTo(c *candidate, bed string) bool {
	return slices.ContainsFunc(m.o.Pins, func(p Pin) bool {
		return !p.Forbid && p.Group == bed && p.covers(c.crop.Key, &m.w.groups[c.group], c.planted)
	})
}

func boolFirst(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// applied is a site with a plan in it.
type applied struct {
	site      *site.Site
	plantings [][]int // by candidate: places in the opening
	cohorts   []int   // by stocking: place in the opening, -1 for none
}

// apply puts a solution into a copy of the site and lists the fish that are taken.
func (m *maker) apply(sol *solution) (a applied, takes []season.Take) {
	s := *m.s
	s.Opening.Plantings = nil
	s.Opening.Cohorts = slices.Clone(m.s.Opening.Cohorts)
	a.plantings = make([][]int, len(sol.g.cands))
	for i := range sol.g.cands {
		c := &sol.g.cands[i]
		switch {
		case c.index < 0 || sol.n[i] < 1:
		case c.stands(m.w):
			a.plantings[i] = []int{len(s.Opening.Plantings)}
			s.Opening.Plantings = append(s.Opening.Plantings, m.s.Opening.Plantings[c.index])
		default: // in force: where it is seated now
			for _, part := range sol.seats[i] {
				q := m.s.Opening.Plantings[c.index]
				q.Bed, q.AreaM2 = part.Bed, math.Floor(part.AreaM2*1e4+1e-6)/1e4
				a.plantings[i] = append(a.plantings[i], len(s.Opening.Plantings))
				s.Opening.Plantings = append(s.Opening.Plantings, q)
			}
		}
	}
	for i := range sol.g.cands {
		c := &sol.g.cands[i]
		if c.index >= 0 {
			continue
		}
		for _, part := range sol.seats[i] {
			a.plantings[i] = append(a.plantings[i], len(s.Opening.Plantings))
			pull := c.pull
			if booked := m.w.first(c.to + 1).Plus(-turnDays); pull.IsZero() && c.to < m.w.weeks-1 && !booked.Before(c.pulled.Time) {
				pull = booked // what is late makes way for the next
			}
			s.Opening.Plantings = append(s.Opening.Plantings, site.Planting{Crop: c.crop.Key, Bed: part.Bed, AreaM2: math.Floor(part.AreaM2*1e4) / 1e4, Planted: c.planted, Pull: pull})
		}
	}
	for k := range sol.g.stockings {
		st := &sol.g.stockings[k]
		n := int(math.Round(sol.x[st.col]))
		if n < 1 {
			a.cohorts = append(a.cohorts, -1)
			continue
		}
		a.cohorts = append(a.cohorts, len(s.Opening.Cohorts))
		s.Opening.Cohorts = append(s.Opening.Cohorts, site.Cohort{
			Name: st.name(), Species: st.like.Species, Tank: st.like.Tank, Feed: st.like.Feed,
			Count: n, WeightKg: st.weightG / 1000, Stocked: st.day,
		})
	}
	for i := range sol.g.takes {
		t := &sol.g.takes[i]
		n := math.Round(sol.x[t.col])
		at := t.cohort
		if at < 0 {
			at = a.cohorts[-1-at]
		}
		if n >= 1 && at >= 0 {
			takes = append(takes, season.Take{Cohort: at, Day: m.w.sets[t.set].From, Number: n})
		}
	}
	a.site = &s
	return a, takes
}

// name is what new fish are called.
func (st *stocking) name() string {
	return fmt.Sprintf("%s for %s, %s", st.like.Species, st.like.Tank, st.day.Format("2 January 2006"))
}
