package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/siphon"
	"tidebed/words"
)

const (
	dayS = 86400.0
	// moreShare is by how much a bed must flood more often than its valve opens for a
	// word of it.
	moreShare = 1.2
)

// confirm follows a day and holds it against what the turns promise.
func (s *Scheme) confirm(t *Timetable) error {
	c, err := s.Run(t, RunOptions{Seconds: dayS, FromH: usualFromH})
	if err != nil {
		return err
	}
	t.day = c
	t.FloodsDay = make([]float64, len(c.Beds))
	for i := range c.Beds {
		t.FloodsDay[i] = c.Beds[i].FloodsPerDay
		// A turn under way at six floods in the day before this one begins, and in each
		// that ends.
		if want, across, ok := t.promised(i); ok && c.Beds[i].Floods >= want {
			t.FloodsDay[i] = max(t.FloodsDay[i], float64(want+across))
		}
	}
	if err := s.steady(t); err != nil {
		return err
	}
	var short []shortfall
	for i := range s.Beds {
		want, _, ok := t.promised(i)
		if got := c.Beds[i].Floods; ok && got < want {
			t.short++
			short = append(short, s.shortfall(t, i, got, want))
		}
	}
	list := shortText(short)
	switch {
	case c.DrySeconds > 0:
		text := fmt.Sprintf("With up to %s in the beds the water of %s sinks to the pump's intake, and the pump runs dry for %s of the day", t.say.volume(c.MostInBedsM3), s.sourceWord(), timeText(c.DrySeconds))
		if list != "" {
			text += ": " + list
		}
		t.fails(text + ". " + s.wetter(t))
	case len(short) > 0:
		// One sentence for each cause, in the order of the beds.
		for len(short) > 0 {
			first := short[0]
			var alike, rest []shortfall
			for _, x := range short {
				if x.cause == first.cause {
					alike = append(alike, x)
				} else {
					rest = append(rest, x)
				}
			}
			t.fails(fmt.Sprintf("In the course of a day %s: %s", shortText(alike), first.why(len(alike) > 1)))
			short = rest
		}
	}
	if c.SourceOverM3 > 1e-6 {
		t.fails(fmt.Sprintf("In the course of a day %s of %s run over its rim: keep less water in it.", t.say.volume(c.SourceOverM3), s.sourceWord()))
	}
	return nil
}

// fails notes why the day is not as asked.
func (t *Timetable) fails(why string) {
	t.Fits = false
	t.Why = append(t.Why, why)
	if t.why == "" {
		t.why = why
	}
}

// wetter is the remedy for a pump that runs dry.
func (s *Scheme) wetter(t *Timetable) string {
	source := s.sourceWord()
	switch {
	case slices.ContainsFunc(t.Parts[0].Turns, func(u Turn) bool { return u.Way == Siphons && !u.Trips }):
		return "The beds that stay full hold that water: mend that first."
	case t.Goal.Together > 1 && len(t.Parts[0].Turns) > 1:
		return fmt.Sprintf("Open fewer valves together, or give %s more water.", source)
	}
	return fmt.Sprintf("Give %s more water, lower the intake, or make the floods smaller by lower crests.", source)
}

// promised is how many floods the turns of a bed begin and end within the day that
// confirm follows, and how many turns are under way at its ends; false for a bed of
// which none is promised. A turn that follows another too soon for the bed to have
// drained, as where the last cycle of a part is not whole, promises none.
func (t *Timetable) promised(bed int) (n, across int, ok bool) {
	type opening struct{ atS, lastsS, needsS float64 }
	var all []opening
	for i := range t.Parts {
		p := &t.Parts[i]
		for j := range p.Turns {
			u := &p.Turns[j]
			if u.Bed != bed || !u.floods() || !u.Trips {
				continue
			}
			ok = true
			for begunS := 0.0; begunS+u.AtS+u.OpenS <= p.longS()+eventTolS; begunS += p.CycleS {
				at := math.Mod((p.FromH-usualFromH)*secondsInHour+begunS+u.AtS+dayS, dayS)
				if dayS-at < eventTolS {
					at = 0
				}
				all = append(all, opening{at, max(u.OpenS, u.FillS), u.needsS()})
			}
		}
	}
	slices.SortFunc(all, func(a, b opening) int { return cmp.Compare(a.atS, b.atS) })
	for i, x := range all {
		before, sinceS := all[(i+len(all)-1)%len(all)], dayS
		if len(all) > 1 {
			sinceS = math.Mod(x.atS-before.atS+dayS, dayS)
		}
		switch {
		case sinceS < before.needsS-1e-3:
		case x.atS+x.lastsS <= dayS+eventTolS: // the margin lets a start come later than reckoned
			n++
		default:
			across++
		}
	}
	return n, across, ok
}

// shortfall is a bed that floods less often in a day than its turns promise.
type shortfall struct {
	name      string
	got, want int
	cause     shortCause
}

// shortCause is why.
type shortCause int

const (
	notFull   shortCause = iota // the water does not come to the crest
	notStart                    // a siphon does not start
	notStop                     // it starts, and does not stop
	sometimes                   // some turns end before the flood
)

func (s *Scheme) shortfall(t *Timetable, bed, got, want int) shortfall {
	b, c := &s.Beds[bed], &t.day.Beds[bed]
	x := shortfall{name: b.In.Name, got: got, want: want, cause: sometimes}
	cycleS := 0.0
	for i := range t.Parts {
		cycleS = max(cycleS, t.Parts[i].CycleS)
	}
	crestM := b.Stand.CrestM
	if b.Way == Siphons {
		crestM = b.Siphon.CrestM
	}
	switch {
	case c.HighM < crestM-1e-4:
		x.cause = notFull
	case b.Way == Siphons && t.day.runsS(bed) > runsOnShare*cycleS:
		x.cause = notStop
	case got == 0:
		x.cause = notStart
	}
	return x
}

// runsOnShare of a cycle is the longest that a siphon may run for one flood.
const runsOnShare = 0.95

// runsS is the longest time that a bed's siphon runs without a break.
func (c *Course) runsS(bed int) float64 {
	longS, since := 0.0, -1.0
	for _, e := range c.Events {
		switch {
		case e.Bed != bed:
		case e.What == Started:
			since = e.AtS
		case e.What == Stopped && since >= 0:
			longS, since = max(longS, e.AtS-since), -1
		}
	}
	if since >= 0 {
		longS = max(longS, c.Seconds-since)
	}
	return longS
}

// why is the cause with its remedy.
func (x *shortfall) why(many bool) string {
	switch x.cause {
	case notFull:
		return fmt.Sprintf("%s before the water is at the crest, for less comes in than one turn alone would get. Give a larger `margin`, or a longer `open`.", pick(many, "their valves shut", "its valve shuts"))
	case notStop:
		return fmt.Sprintf("%s full from one turn to the next. Bring down what comes in while the valves are shut, or flood less often.", pick(many, "they stay", "it stays"))
	case notStart:
		return fmt.Sprintf("the water comes to the crest, but %s before the flood begins. Give a larger `margin`, or more flow.", pick(many, "their valves shut", "its valve shuts"))
	}
	return fmt.Sprintf("in some turns %s before the flood begins, for less comes in than reckoned; the water the pump draws from stands lower then. Give a larger `margin`.", pick(many, "their valves shut", "its valve shuts"))
}

// shortText tells beds with their floods: "b 1 floods 3 of 17 times, and b 2 to 6
// flood 0 of 17 times each".
func shortText(list []shortfall) string {
	var parts []string
	for i := range list {
		alike := func(x shortfall) bool { return x.got == list[i].got && x.want == list[i].want }
		if slices.ContainsFunc(list[:i], alike) {
			continue
		}
		var names []string
		for _, x := range list[i:] {
			if alike(x) {
				names = append(names, x.name)
			}
		}
		times := fmt.Sprintf("%d of %d times", list[i].got, list[i].want)
		switch {
		case len(names) == 1 && list[i].want == 1:
			parts = append(parts, names[0]+" does not flood")
		case list[i].want == 1:
			parts = append(parts, Names(names)+" do not flood")
		case len(names) == 1:
			parts = append(parts, fmt.Sprintf("%s floods %s", names[0], times))
		default:
			parts = append(parts, fmt.Sprintf("%s flood %s each", Names(names), times))
		}
	}
	if n := len(parts); n > 1 {
		return strings.Join(parts[:n-1], ", ") + ", and " + parts[n-1]
	}
	return strings.Join(parts, "")
}

// lasting is a state of the valves with how long it lasts in a day.
type lasting struct {
	open    Valves
	levelM  float64 // of the source
	seconds float64
}

// dayStates are those of the valves in a day, by the timetable.
func (s *Scheme) dayStates(t *Timetable) []lasting {
	var all []lasting
	add := func(open Valves, levelM, seconds float64) {
		if seconds <= 0 {
			return
		}
		i := slices.IndexFunc(all, func(x lasting) bool { return x.open == open })
		if i < 0 {
			i = len(all)
			all = append(all, lasting{open: open, levelM: levelM})
		}
		all[i].seconds += seconds
	}
	for i := range t.Parts {
		p := &t.Parts[i]
		times := p.longS() / p.CycleS
		restS := p.CycleS
		for _, g := range p.Groups {
			fromS := 0.0
			for _, x := range s.within(p, g) {
				add(x.open, x.levelM, times*(x.seconds-fromS))
				fromS = x.seconds
			}
			restS -= fromS
		}
		add(0, s.Source.SurfaceM, times*restS)
	}
	return all
}

// within are the states of the valves in the turn of a group, each with its end.
func (s *Scheme) within(p *Part, g []int) []lasting {
	filledM3 := 0.0
	var ends []float64
	for _, i := range g {
		ends = append(ends, p.Turns[i].OpenS)
		if k := p.Turns[i].Bed; k >= 0 {
			filledM3 += s.Beds[k].floodM3()
		}
	}
	slices.Sort(ends)
	var all []lasting
	fromS := 0.0
	for _, toS := range slices.Compact(ends) {
		x := lasting{levelM: s.loweredM(filledM3), seconds: toS}
		for _, i := range g {
			if p.Turns[i].OpenS > fromS {
				x.open = x.open.With(p.Turns[i].Branch)
			}
		}
		all = append(all, x)
		fromS = toS
	}
	return all
}

// steady judges the siphon beds whose pipes always flow: in every state of the
// valves, and by the course of the day.
func (s *Scheme) steady(t *Timetable) error {
	states := s.dayStates(t)
	asked := 0.0 // floods of a day
	for i := range t.Parts {
		asked += t.Parts[i].AskedPerHour * t.Parts[i].Hours()
	}
	for k := range s.Beds {
		bed := &s.Beds[k]
		first := slices.IndexFunc(s.Branches, func(b Branch) bool { return b.Bed == k })
		if first < 0 || bed.Way != Siphons || slices.ContainsFunc(s.Branches, func(b Branch) bool { return b.Bed == k && b.Timed }) {
			continue
		}
		one := Steady{Branch: first, Bed: k, Name: bed.In.Name, LeastM3s: math.Inf(1), PerHour: t.FloodsDay[k] / 24}
		rest, err := s.Flow(0, s.Source.SurfaceM)
		if err != nil {
			return err
		}
		one.InflowM3s = s.inflow(k, 0, rest)
		type weight struct {
			verdict siphon.Verdict
			seconds float64
		}
		var by []weight
		for _, x := range states {
			f, err := s.Flow(x.open, x.levelM)
			if err != nil {
				return err
			}
			q := s.inflow(k, x.open, f)
			j, err := bed.Works.Judge(q)
			if err != nil {
				return fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, bed.In.Name, err)
			}
			one.LeastM3s, one.MostM3s = min(one.LeastM3s, q), max(one.MostM3s, q)
			if j.Verdict.Cycles() {
				one.Cycling += x.seconds / dayS
			}
			i := slices.IndexFunc(by, func(w weight) bool { return w.verdict == j.Verdict })
			if i < 0 {
				i = len(by)
				by = append(by, weight{verdict: j.Verdict})
			}
			by[i].seconds += x.seconds
		}
		one.Cycling = min(1, one.Cycling)
		slices.SortStableFunc(by, func(a, b weight) int { return cmp.Compare(b.seconds, a.seconds) })
		one.Verdict = by[0].verdict
		failing := one.Verdict // of the states in which it does not cycle
		for _, w := range by {
			if !w.verdict.Cycles() {
				failing = w.verdict
				break
			}
		}
		startM3s, _ := bed.Works.Window()
		_, goodM3s := bed.Works.GoodWindow()
		with := fromTo(t.say.flow(one.LeastM3s), t.say.flow(one.MostM3s))
		remedy := words.Capital(fmt.Sprintf("bring its flow to between %s, whatever valves are open, or put in a timed valve.", betweenText(t.say, startM3s, goodM3s)))
		if startM3s >= goodM3s {
			remedy = words.Capital(throttleText(t.say, startM3s, goodM3s, "")) + "."
		}
		switch floods := t.day.Beds[k].Floods; {
		case t.day.Beds[k].SpilledM3 > 1e-6:
			one.Why = fmt.Sprintf("The pipe to %s always flows, with %s, at which it runs over its rim. %s", one.Name, with, remedy)
		case floods == 0:
			one.PerHour = 0
			what := "its siphon does not start"
			if failing == siphon.NeverStops || failing.Cycles() {
				what = "its siphon does not stop"
			}
			one.Why = fmt.Sprintf("The pipe to %s always flows, with %s, at which %s: it does not flood in the course of a day. %s", one.Name, with, what, remedy)
		case failing == siphon.NeverStops && t.day.Beds[k].EndRunning && t.day.Beds[k].LongestWetS > dayS/2:
			one.PerHour = 0
			one.Why = fmt.Sprintf("The pipe to %s always flows, with %s, at which its siphon does not stop: it stands full for %s of the day. %s", one.Name, with, timeText(t.day.Beds[k].LongestWetS), remedy)
		case float64(floods) < math.Floor(asked+1e-9):
			one.Why = fmt.Sprintf("The pipe to %s always flows, with %s: in the course of a day it floods %s, and %.0f are asked for. %s", one.Name, with, pick(floods == 1, "once", fmt.Sprintf("%d times", floods)), math.Floor(asked+1e-9), remedy)
		}
		if one.Why != "" {
			t.Fits = false
			t.Why = append(t.Why, one.Why)
		}
		t.Steady = append(t.Steady, one)
	}
	return nil
}

// openings are how often the valves of a bed open in a day; false for a bed of
// which no flood is promised.
func (t *Timetable) openings(bed int) (float64, bool) {
	n, across, ok := t.promised(bed)
	return float64(n + across), ok
}

// manyADay is how often the beds with turns flood in the course of a day, where one
// floods more often than its valves open; else empty.
func (t *Timetable) manyADay() string {
	lo, hi, more := math.Inf(1), 0.0, false
	for i, n := range t.FloodsDay {
		if opened, ok := t.openings(i); ok {
			lo, hi = min(lo, n), max(hi, n)
			more = more || n > moreShare*max(1, opened) && !t.fedBesides(i)
		}
	}
	if !more {
		return ""
	}
	return timesADay(lo, hi)
}

func timesADay(lo, hi float64) string {
	if a, b := fmt.Sprintf("%.0f", lo), fmt.Sprintf("%.0f", hi); a != b {
		return a + " to " + b
	}
	return fmt.Sprintf("%.0f", hi)
}

// fedBesides reports whether a bed gets water while its valve is shut.
func (t *Timetable) fedBesides(bed int) bool {
	return slices.ContainsFunc(t.Parts[0].Turns, func(u Turn) bool { return u.Bed == bed && u.restM3s > 0 })
}

// tellMore notes beds that flood more often than their valves open, and those that
// flood less often than asked for because their part is no whole number of cycles.
func (t *Timetable) tellMore(s *Scheme, note func(format string, args ...any)) {
	var more, fed, less []string
	lo, hi, opened := math.Inf(1), 0.0, 0.0
	lessLo, lessHi, asked := math.Inf(1), 0.0, 0.0
	for i := range t.Parts {
		asked += t.Parts[i].AskedPerHour * t.Parts[i].Hours()
	}
	for i, n := range t.FloodsDay {
		times, ok := t.openings(i)
		name := s.Beds[i].In.Name
		switch {
		case !ok:
		case n > moreShare*max(1, times) && t.fedBesides(i):
			fed = append(fed, name)
		case n > moreShare*max(1, times):
			more = append(more, name)
			lo, hi, opened = min(lo, n), max(hi, n), max(opened, times)
		case t.Fits && n < math.Floor(asked+1e-9):
			less = append(less, name)
			lessLo, lessHi = min(lessLo, n), max(lessHi, n)
		}
	}
	if len(more) > 0 {
		note("While its valve is open a bed floods more than once: %s %s %s times a day, with %s of %s. For one flood in each, open it only until its siphon starts.",
			Names(more), pick(len(more) == 1, "floods", "flood"), timesADay(lo, hi), countOf(int(opened), "opening"), pick(len(more) == 1, "its valve", "each valve"))
	}
	if len(fed) > 0 {
		note("%s %s more often than %s, for a pipe that always flows leads there too.", words.Capital(Names(fed)), pick(len(fed) == 1, "floods", "flood"), pick(len(fed) == 1, "its valve opens", "their valves open"))
	}
	if len(less) > 0 {
		note("%s %s %s times a day, and %s are asked for: the last cycle of day or night is not whole, and late turns are left out. Choose floods that go evenly into the hours.",
			words.Capital(Names(less)), pick(len(less) == 1, "floods", "flood"), timesADay(lessLo, lessHi), figure(asked, 3, 0))
	}
}

// exactText says what comes of a timer set to volume over flow; empty where no turn
// has a siphon that starts.
func exactText(turns []Turn) string {
	lo, hi, loFill, hiFill := math.Inf(1), 0.0, math.Inf(1), 0.0
	for i := range turns {
		u := &turns[i]
		if u.Way != Siphons || !u.Trips || u.FillS <= u.ExactS+0.5 {
			continue
		}
		lo, hi = min(lo, u.ExactS), max(hi, u.ExactS)
		loFill, hiFill = min(loFill, u.FillS), max(hiFill, u.FillS)
	}
	if hi == 0 {
		return ""
	}
	return fmt.Sprintf("Volume over flow alone is %s, and the siphon starts after %s: set to volume over flow, a valve shuts before the siphon starts, water trickles over the crest and the bed stays full until its next turn.",
		timesText(lo, hi), timesText(loFill, hiFill))
}

// timesText is a time, or the span of two.
func timesText(lo, hi float64) string {
	if a, b := timeText(lo), timeText(hi); a != b {
		return a + " to " + b
	}
	return timeText(hi)
}
