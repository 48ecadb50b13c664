package plumbing

import (
	"fmt"
	"math"
	"strings"

	"tidebed/science/siphon"
	"tidebed/site"
	"tidebed/words"
)

func floorTo(v, step float64) float64 { return math.Floor(v/step+1e-9) * step }
func ceilTo(v, step float64) float64  { return math.Ceil(v/step-1e-9) * step }

// cure is what puts a siphon into its window.
type cure struct {
	boreM     float64 // of another standpipe; 0: none of those to be had does
	inflowM3s float64 // of another inflow; 0: none does
	text      string
}

// grade is how well a siphon goes with an inflow, from 0, not at all, to 3.
func grade(w *siphon.Works, inflowM3s float64) int {
	if w == nil {
		return 0
	}
	j, err := w.Judge(inflowM3s)
	if err != nil || !j.Verdict.Cycles() {
		return 0
	}
	switch sure := j.Verdict == siphon.Starts; {
	case j.Has(siphon.InflowDribbles) || j.Has(siphon.DropShort):
		return 1
	case sure && !j.Has(siphon.DropModest):
		return 3
	case sure, !j.Has(siphon.DropModest):
		return 2
	}
	return 1
}

// WithBore is a bed's siphon with a standpipe of another bore, 3 to 300 mm, its
// measured start and drain time forgotten; the second part of its pipe is at
// least as wide.
func (s *Scheme) WithBore(b *Bed, boreM float64) (*siphon.Works, error) {
	if b.Way != Siphons {
		return nil, fmt.Errorf("bed %s has no siphon", b.In.Name)
	}
	in, bed := *b.In.Siphon, *b.In
	in.StandpipeM, in.StartM3s, in.DrainS = boreM, 0, 0
	if in.FunnelM > 0 {
		in.FunnelM = math.Max(in.FunnelM, boreM)
	}
	if in.LowerM > 0 {
		in.LowerM = math.Max(in.LowerM, boreM)
	}
	bed.Siphon = &in
	return s.worksOf(&bed, b)
}

// worksOf is the siphon of a changed bed, without a word on its defaults.
func (s *Scheme) worksOf(in *site.Bed, like *Bed) (*siphon.Works, error) {
	quiet := *s
	quiet.assumed, quiet.Problems = nil, nil
	made, err := quiet.siphonBed(Bed{In: in, Index: like.Index, Drain: like.Drain, Branch: like.Branch, PlanM2: like.PlanM2, Bed: like.Bed})
	if err != nil {
		return nil, err
	}
	if made.Works == nil {
		return nil, fmt.Errorf("bed %s: %s", in.Name, "its siphon cannot be reckoned so")
	}
	return made.Works, nil
}

// changed is a bed's siphon with a change, its measured drain time forgotten.
func (s *Scheme) changed(b *Bed, change func(in *site.Siphon)) (*siphon.Works, error) {
	if b.In.Siphon == nil {
		return nil, fmt.Errorf("bed %s has no siphon", b.In.Name)
	}
	in, bed := *b.In.Siphon, *b.In
	if in.DrainS > 0 {
		in.DrainS = 0
		in.K = b.Siphon.Pipe.K
		if in.LowerM > 0 {
			in.K += exitK
		}
	}
	change(&in)
	bed.Siphon = &in
	return s.worksOf(&bed, b)
}

const (
	clearStepM = 0.05
	mostClearM = 2.0
)

// clearM is how far a bed must be raised for its outlet to come clear of the water
// its drain runs into and its siphon to hold, in the reader's steps; 0 when 2 m are
// not enough. The pipe to it, raised with it, must still bring what starts it.
func (s *Scheme) clearM(b *Bed) float64 {
	step := s.say().step(clearStepM)
	for raise := step; raise <= mostClearM; raise += step {
		bed := *b.In
		bed.FloorM += raise
		w, err := s.worksOf(&bed, b)
		if err != nil {
			continue
		}
		if _, full := w.Window(); w.Froude(full) < siphon.FroudeSwept {
			continue
		}
		made := s.with(func(l *site.Loop) {
			l.Beds[b.Index].FloorM += raise
			for i := range l.Pipes {
				if end := l.Pipes[i].EndsAtM; end != nil && l.Pipes[i].To == b.In.Name {
					up := *end + raise
					l.Pipes[i].EndsAtM = &up
				}
			}
		})
		if made == nil || made.Beds[b.Index].Works == nil {
			return 0
		}
		if !made.Piped {
			return raise
		}
		q := made.plannedM3s(nil)[b.Index]
		if start, _ := made.Beds[b.Index].Works.Window(); q > start {
			return raise
		}
		return 0
	}
	return 0
}

// brings reports whether a bed's only pipe can bring a flow: set to it, the loop
// drawn anew, it does.
func (s *Scheme) brings(b *Bed, m3s float64) bool {
	feeds := s.feeds(b.Index)
	if len(feeds) != 1 || !s.Piped {
		return false
	}
	k := feeds[0]
	index := s.Branches[k].Index
	made := s.with(func(l *site.Loop) { l.Pipes[index].SetM3s = m3s })
	if made == nil || !made.Piped || len(made.Branches) != len(s.Branches) {
		return false
	}
	var v Valves
	if made.Branches[k].Timed {
		v = maskOf(k)
	} else if timed := made.Timed(); len(timed) > 0 {
		v = maskOf(timed[0]) // with which it is set
	}
	return math.Abs(made.bedM3s(v, b.Index)-m3s) <= 0.03*m3s
}

// cure finds another bore or inflow with which a bed floods and drains, and tries
// it in the model; brings tells whether a flow can be had.
func (s *Scheme) cure(b *Bed, inflowM3s float64, brings func(m3s float64) bool) cure {
	var c cure
	u := s.say()
	best := 1
	now := b.Siphon.Pipe.DiameterM
	for _, bore := range soldBoresM {
		if math.Abs(bore-now) < 0.0005 {
			continue
		}
		w, err := s.WithBore(b, bore)
		if err != nil {
			continue
		}
		g := grade(w, inflowM3s)
		if g > best || g == best && c.boreM > 0 && math.Abs(bore-now) < math.Abs(c.boreM-now) {
			best, c.boreM = g, bore
		}
	}
	c.inflowM3s = u.goodInflow(b.Works, inflowM3s)
	var ways []string
	if c.boreM > 0 {
		w, err := s.WithBore(b, c.boreM)
		if err == nil {
			from, to := w.GoodWindow()
			ways = append(ways, fmt.Sprintf("put in a standpipe of %s bore, whose window is %s", u.bore(c.boreM), rangeText(from, to, u.rate)))
		}
	}
	many := len(s.feeds(b.Index)) > 1
	start, _ := b.Works.Window()
	_, to := b.Works.GoodWindow()
	window := strings.Replace(rangeText(start, to, u.rate), " to ", " and ", 1)
	switch {
	case c.inflowM3s == 0 || c.inflowM3s == inflowM3s:
	case many:
		c.inflowM3s = 0
		ways = append([]string{fmt.Sprintf("take one of its pipes away, or set their valves so that all bring between %s together", window)}, ways...)
	case !brings(c.inflowM3s):
		if c.inflowM3s < inflowM3s {
			ways = append([]string{fmt.Sprintf("throttle its valve to between %s", window)}, ways...)
		}
		c.inflowM3s = 0
	case c.inflowM3s > inflowM3s:
		ways = append(ways, fmt.Sprintf("set its valve to bring %s to it (`set-flow`), throttling the others if need be", u.rate(c.inflowM3s)))
	default:
		ways = append([]string{fmt.Sprintf("set its valve to %s (`set-flow`)", u.rate(c.inflowM3s))}, ways...)
	}
	switch len(ways) {
	case 0:
		c.text = "No usual bore and no inflow of this pump puts it right: lower its outlet, or feed it otherwise."
	case 1:
		c.text = words.Capital(ways[0]) + "."
	default:
		c.text = words.Capital(ways[0]) + ", or " + ways[1] + "."
	}
	return c
}

// goodInflow is an inflow near the one there is with which a siphon goes well, in
// the steps in which rate prints; 0 when there is none.
func (p say) goodInflow(w *siphon.Works, nowM3s float64) float64 {
	start, full := w.Window()
	from, to := surelyAbove*start, quietDribble*full
	if sure := 1.02 * w.FlowAtFroudeM3s(siphon.FroudeSwept); sure <= to && w.Siphon().StartM3s == 0 {
		from = math.Max(from, sure)
	}
	if from > to {
		return 0
	}
	q := math.Min(math.Max(nowM3s, from), to)
	unit := p.rateStep(q)
	rounded := math.Round(q/unit) * unit
	if rounded < from {
		rounded = ceilTo(q, unit)
	}
	if rounded > to {
		rounded = floorTo(q, unit)
	}
	if rounded >= from && rounded <= to {
		q = rounded
	}
	if grade(w, q) < 1 {
		return 0
	}
	return q
}

// dropCure says how low a siphon's outlet must lie to hold: by the least Froude
// number at the break, or the one to be had. Its pipe grows as long. Where the
// water that the drain runs into stands in the way, the bed or that water must move.
func (s *Scheme) dropCure(b *Bed, short bool, clear func(b *Bed) float64) string {
	u := s.say()
	if b.Drowned {
		if raise := clear(b); raise > 0 {
			return fmt.Sprintf("Raise the bed by %s or more, lead its drain to lower water, or lower that water's level.", u.depth(raise))
		}
		return "Raise the bed, lead its drain to lower water, or lower that water's level."
	}
	if at := s.leastDropM(b, siphon.FroudeHeld); at > 0 {
		return fmt.Sprintf("Lower its outlet to %s below the break.", u.depth(at))
	}
	if at := s.leastDropM(b, siphon.FroudeSwept); short && at > 0 {
		return fmt.Sprintf("Lower its outlet to %s below the break or more.", u.depth(at))
	}
	if b.Drain >= 0 {
		return "Raise the bed, or take a narrower standpipe or fewer bends, which hold better."
	}
	return "Take a narrower standpipe or fewer bends, which hold better."
}

// leastDropM is the drop from break to outlet, in the reader's steps, at which the
// running siphon has a Froude number; 0 when 3 m are not enough or the outlet would
// come under the water that the drain runs into.
func (s *Scheme) leastDropM(b *Bed, froude float64) float64 {
	const most = 3.0
	step := s.say().step(0.01)
	now := b.Siphon.BreakM - b.Siphon.OutletM
	at := func(drop float64) bool {
		w, err := s.changed(b, func(in *site.Siphon) {
			more := drop - now
			in.OutletM = in.BreakM - drop
			if in.LowerM > 0 {
				in.LowerLongM += more
			} else {
				in.PipeLengthM = b.Siphon.Pipe.LengthM + more
			}
		})
		if err != nil || w.Siphon().OutletM > b.Siphon.BreakM-drop+1e-9 {
			return false
		}
		_, full := w.Window()
		return w.Froude(full) >= froude
	}
	for n := math.Ceil(now/step - 1e-9); n*step <= most; n++ {
		if drop := n * step; drop > now && at(drop) {
			return drop
		}
	}
	return 0
}

// periodCure is an inflow with which a steady flood and drain takes a time.
func (s *Scheme) periodCure(b *Bed, nowM3s, periodS float64, faster bool, brings func(m3s float64) bool) string {
	u := s.say()
	from, to := b.Works.GoodWindow()
	period := func(q float64) float64 {
		c, err := b.Works.Cycle(q)
		if err != nil {
			return math.NaN()
		}
		return c.PeriodS
	}
	lo, hi := 1.001*from, math.Min(nowM3s, to) // the period falls from lo on
	if faster {
		lo, hi = nowM3s, quietDribble/0.7*to
	}
	without := "Raise the crest, or take a narrower standpipe and less inflow."
	if faster {
		without = "Take a wider standpipe and more inflow, or a lower crest."
	}
	if !(hi > lo) || !(period(lo) >= periodS) || !(period(hi) <= periodS) {
		return without
	}
	first := [2]float64{lo, hi}
	for range 60 {
		mid := (lo + hi) / 2
		if period(mid) > periodS {
			lo = mid
		} else {
			hi = mid
		}
	}
	q := ceilTo(hi, u.rateStep(hi))
	if !faster {
		q = floorTo(hi, u.rateStep(hi))
	}
	if q < first[0] || q > first[1] || !brings(q) {
		return without
	}
	return fmt.Sprintf("Set its valve to %s (`set-flow`).", u.rate(q))
}
