package plumbing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"tidebed/quantity"
	"tidebed/science/siphon"
	"tidebed/site"
)

// Goal is what the valves are to do. What is 0 stands for its default.
type Goal struct {
	PerHour  float64 `json:"perHour"`  // floods of each bed an hour by day, 0.05 to 12; default 1
	AtNight  float64 `json:"atNight"`  // the same by night; default as by day
	DayFromH float64 `json:"dayFromH"` // hour, up to 23; default 6
	DayToH   float64 `json:"dayToH"`   // hour, up to 24, above DayFromH; default 22
	MarginS  float64 `json:"marginS"`  // open beyond the siphon's start, up to 3600; 0: the larger of 30 s and a tenth of the fill
	Together int     `json:"together"` // valves open at a time, 1 to 24; default 1
}

// Defaults of a goal, common practice, no source.
const (
	usualPerHour  = 1
	usualFromH    = 6
	usualToH      = 22
	leastMarginS  = 30.0
	marginShare   = 0.1
	usualOpenS    = 60.0 // of a valve that fills nothing to a mark, such as a tub's
	overlapS      = 3.0
	wholeDayTolH  = 1e-9
	secondsInHour = 3600.0
)

// GoalOf is the goal that a loop's timetable names, filled with the defaults.
func GoalOf(l *site.Loop) Goal {
	var g Goal
	if t := l.Timetable; t != nil {
		g = Goal{PerHour: t.PerHour, AtNight: t.AtNight, DayFromH: t.DayFromH, DayToH: t.DayToH, MarginS: t.MarginS, Together: t.Together}
	}
	return g.filled()
}

// filled puts the defaults.
func (g Goal) filled() Goal {
	g.PerHour = cmp.Or(g.PerHour, usualPerHour)
	g.AtNight = cmp.Or(g.AtNight, g.PerHour)
	g.DayFromH = cmp.Or(g.DayFromH, usualFromH)
	g.DayToH = cmp.Or(g.DayToH, usualToH)
	g.Together = cmp.Or(g.Together, 1)
	return g
}

// Check refuses what cannot be, with quantity.ErrRange.
func (g Goal) Check() error {
	g = g.filled()
	for _, b := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"floods an hour by day", g.PerHour, 0.05, 12, ""}, {"floods an hour by night", g.AtNight, 0.05, 12, ""},
		{"hour at which the day begins", g.DayFromH, 0, 23, ""}, {"hour at which the day ends", g.DayToH, 1, 24, ""},
		{"margin", g.MarginS, 0, 3600, "s"}, {"valves open together", float64(g.Together), 1, 24, ""},
	} {
		if err := quantity.InRange(b.name, b.v, b.lo, b.hi, b.unit); err != nil {
			return fmt.Errorf("timetable: %w", err)
		}
	}
	if g.DayFromH >= g.DayToH {
		return fmt.Errorf("timetable: the day begins at %g and ends at %g: %w: it must end after it begins", g.DayFromH, g.DayToH, quantity.ErrRange)
	}
	return nil
}

// Turn is one opening of a timed valve in a cycle. Times that do not come about
// are 0.
type Turn struct {
	Branch    int            `json:"branch"` // index in Scheme.Branches
	Bed       int            `json:"bed"`    // index in Loop.Beds; -1 when the valve feeds a tank or the sump
	Name      string         `json:"name"`   // of the bed, or of what the valve feeds
	Valve     string         `json:"valve"`  // name of its pipe
	Way       Way            `json:"way"`    // empty for a tank or the sump
	InflowM3s float64        `json:"inflowM3s"`
	StartM3s  float64        `json:"startM3s"` // a siphon needs more than this to start,
	BreakM3s  float64        `json:"breakM3s"` // and less than this to stop
	Verdict   siphon.Verdict `json:"verdict"`
	Froude    float64        `json:"froude"`
	FillS     float64        `json:"fillS"`   // from the drained level to the siphon's start, over-rise included; to the crest of a bed with a weep hole
	MarginS   float64        `json:"marginS"` // OpenS beyond FillS
	OpenS     float64        `json:"openS"`
	DrainS    float64        `json:"drainS"` // from the start to the break; from the crest through the weep hole
	RestS     float64        `json:"restS"`  // of the cycle, in which the bed is drained; below 0 there is not time enough
	AtS       float64        `json:"atS"`    // in the cycle
	Given     bool           `json:"given"`  // OpenS is the site's own
	Trips     bool           `json:"trips"`  // the bed floods and drains, by the model
	ExactS    float64        `json:"exactS"` // volume over flow: a timer set to it never starts the siphon
	VolumeM3  float64        `json:"volumeM3"`
	Why       string         `json:"why"` // why it does not flood, with the remedy; or what is doubtful

	cause   cause
	sureM3s float64 // from which the siphon starts, or surely starts
}

// cause groups turns that fail, or are doubtful, alike.
type cause int

const (
	single cause = iota
	noStart
	tooShort
	unsure
)

// gathered are the reasons of turns, one sentence for those that are alike.
func gathered(turns []Turn, of func(t *Turn) bool) []string {
	var out []string
	var told [unsure + 1]bool
	for i := range turns {
		t := &turns[i]
		if t.Why == "" || !of(t) {
			continue
		}
		if t.cause == single {
			out = append(out, t.Why)
			continue
		}
		if told[t.cause] {
			continue
		}
		told[t.cause] = true
		n := 0
		lo, hi := math.Inf(1), 0.0
		startM3s, shortS, fillS := 0.0, math.Inf(1), 0.0
		var names []string
		for j := range turns {
			if u := &turns[j]; u.Why != "" && of(u) && u.cause == t.cause {
				n++
				lo, hi = min(lo, u.InflowM3s), max(hi, u.InflowM3s)
				startM3s = max(startM3s, u.sureM3s)
				shortS, fillS = min(shortS, u.OpenS), max(fillS, u.FillS)
				names = append(names, u.Name)
			}
		}
		if n == 1 {
			out = append(out, t.Why)
			continue
		}
		q := lmin(hi)
		if low, _, _ := strings.Cut(lmin(lo), " "); lmin(lo) != q {
			q = low + " to " + q
		}
		list := listText(names)
		switch t.cause {
		case noStart:
			out = append(out, fmt.Sprintf("At %s water trickles over the crests of %s and their siphons do not start: they need more than %s. Open fewer valves together, lead wider pipes to them, or put in narrower standpipes.", q, list, lmin(startM3s)))
		case tooShort:
			out = append(out, fmt.Sprintf("The valves of %s shut too soon, one after %s: their siphons start only after up to %s. Open them some time longer.", list, timeText(shortS), timeText(fillS)))
		case unsure:
			out = append(out, fmt.Sprintf("At %s the siphons of %s should start; sure they are only from %s. Watch their first floods, and note the least flow at which each starts in `starts-at`.", q, list, lmin(startM3s)))
		}
	}
	return out
}

// listText joins names; of many it tells the number.
func listText(names []string) string {
	switch n := len(names); {
	case n == 0:
		return ""
	case n == 1:
		return names[0]
	case n <= 3:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	default:
		return fmt.Sprintf("%s and %d others", names[0], n-1)
	}
}

// needsS is the shortest cycle in which the turn can be had.
func (t *Turn) needsS() float64 {
	if t.Way == Timer {
		return t.OpenS + t.DrainS
	}
	return max(t.OpenS, t.FillS+t.DrainS)
}

// Part is the part of the day in which one cycle is repeated. A turn that would
// not end within the part is left out.
type Part struct {
	Name             string    `json:"name"` // day, night, or day and night
	FromH            float64   `json:"fromH"`
	ToH              float64   `json:"toH"` // below FromH for a part over midnight
	AskedPerHour     float64   `json:"askedPerHour"`
	CycleS           float64   `json:"cycleS"` // as asked for, or the shortest that the turns allow
	Turns            []Turn    `json:"turns"`
	Groups           [][]int   `json:"groups"`           // of Turns: those open together
	SlotsS           float64   `json:"slotsS"`           // the groups one after the other
	Duty             float64   `json:"duty"`             // share of the cycle in which a timed valve is open
	PumpRests        bool      `json:"pumpRests"`        // nothing always flows: the pump stops between turns, never to run against shut valves
	MeanM3s          []float64 `json:"meanM3s"`          // as Scheme.Branches
	TurnoverPerH     float64   `json:"turnoverPerH"`     // water led into the fish tanks by pipe, over their volume
	PumpTurnoverPerH float64   `json:"pumpTurnoverPerH"` // water pumped, over their volume
	WireKWhDay       float64   `json:"wireKWhDay"`       // of the pump in this part of each day

	late string // why it does not fit in time
}

// Hours is the length of the part in a day.
func (p *Part) Hours() float64 {
	if p.ToH > p.FromH {
		return p.ToH - p.FromH
	}
	return p.ToH + 24 - p.FromH
}

// Steady is a bed whose pipe always flows.
type Steady struct {
	Branch    int            `json:"branch"`
	Bed       int            `json:"bed"`
	Name      string         `json:"name"`
	InflowM3s float64        `json:"inflowM3s"` // the timed valves shut
	Verdict   siphon.Verdict `json:"verdict"`
	PerHour   float64        `json:"perHour"` // floods; 0 when it does not cycle
	Why       string         `json:"why"`
}

// Timetable says when each valve opens and for how long.
type Timetable struct {
	Loop        string   `json:"loop"`
	Goal        Goal     `json:"goal"`
	Parts       []Part   `json:"parts"`
	Steady      []Steady `json:"steady"` // siphon beds without a timed valve
	Fits        bool     `json:"fits"`   // every bed floods as often as asked
	Why         []string `json:"why"`    // when it does not: what to change, with figures
	Notes       []string `json:"notes"`
	MostPerHour float64  `json:"mostPerHour"` // floods that fit; 0 when a bed does not flood at all, or no valve is timed
}

// drainedM is the level, above a bed's floor, at which it counts as drained: a
// siphon's break, the weep hole, the crest of a bed that stays full.
func (b *Bed) drainedM() float64 {
	switch b.Way {
	case Siphons:
		return b.Siphon.BreakM
	case Timer:
		return b.Stand.WeepLevelM
	case Constant:
		return b.Stand.CrestM
	}
	return 0
}

// fullM is the level to which a flood brings a bed.
func (b *Bed) fullM() float64 {
	switch b.Way {
	case Siphons:
		return b.Works.StartLevelM()
	case Timer, Constant:
		return b.Stand.CrestM
	}
	return 0
}

// holds reports whether a bed's water is followed: others pass it on at once.
func (b *Bed) holds() bool { return b.Way == Siphons || b.Way == Timer || b.Way == Constant }

// floodM3 is the water of a flood.
func (b *Bed) floodM3() float64 {
	if !b.holds() {
		return 0
	}
	return b.FreeM2() * (b.fullM() - b.drainedM())
}

// floods reports whether the bed is one that a turn is to fill and empty.
func (t *Turn) floods() bool { return t.Way == Siphons || t.Way == Timer || t.Way == Unknown }

// Plan makes the timetable of a loop's timed valves: the beds in the order of
// their pipes, as many together as the goal says. Each inflow is that with all
// branches open that always flow, and with the source lowered by the flood of
// the beds of the turn; what a valve that shuts early leaves to the others of its
// turn is not countOf. A timetable that cannot be as asked is laid as fast as it
// goes, with the reasons.
//
// Errors: a goal out of range (quantity.ErrRange), ErrUnpiped.
func (s *Scheme) Plan(g Goal) (*Timetable, error) {
	if err := g.Check(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, err)
	}
	if !s.Piped {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, ErrUnpiped)
	}
	g = g.filled()
	t := &Timetable{Loop: s.Loop.Name, Goal: g, Fits: true}
	turns, groups, err := s.turns(g)
	if err != nil {
		return nil, err
	}
	if err := s.steady(t); err != nil {
		return nil, err
	}
	t.MostPerHour = mostPerHour(turns, groups)
	switch dayH := g.DayToH - g.DayFromH; {
	case g.AtNight == g.PerHour || dayH >= 24-wholeDayTolH:
		t.Parts = []Part{{Name: "day and night", ToH: 24, AskedPerHour: g.PerHour}}
	default:
		t.Parts = []Part{
			{Name: "day", FromH: g.DayFromH, ToH: g.DayToH, AskedPerHour: g.PerHour},
			{Name: "night", FromH: math.Mod(g.DayToH, 24), ToH: g.DayFromH, AskedPerHour: g.AtNight},
		}
	}
	for i := range t.Parts {
		p := &t.Parts[i]
		p.Turns, p.Groups = slices.Clone(turns), groups
		if err := s.layPart(t, p); err != nil {
			return nil, err
		}
	}
	t.faults(s, turns)
	t.remarks(s)
	return t, nil
}

// always is whether any branch flows without a timed valve.
func (s *Scheme) always() bool {
	return slices.ContainsFunc(s.Branches, func(b Branch) bool { return !b.Timed })
}

// turns are the openings of all timed valves, in groups.
func (s *Scheme) turns(g Goal) (turns []Turn, groups [][]int, err error) {
	timed := s.Timed()
	for group := range slices.Chunk(timed, g.Together) {
		var open Valves
		filledM3 := 0.0
		for _, b := range group {
			open = open.With(b)
			if k := s.Branches[b].Bed; k >= 0 {
				filledM3 += s.Beds[k].floodM3()
			}
		}
		f, err := s.Flow(open, s.loweredM(filledM3))
		if err != nil {
			return nil, nil, err
		}
		var which []int
		for _, b := range group {
			t := Turn{Branch: b, Bed: s.Branches[b].Bed, Name: s.Branches[b].Pipe.To, Valve: s.Branches[b].Pipe.Name, InflowM3s: f.BranchM3s[b]}
			if err := s.judge(&t, g); err != nil {
				return nil, nil, err
			}
			which = append(which, len(turns))
			turns = append(turns, t)
		}
		groups = append(groups, which)
	}
	return turns, groups, nil
}

// loweredM is the level of the source with some of its water in the beds, not
// below the pump's intake.
func (s *Scheme) loweredM(takenM3 float64) float64 {
	return max(s.Source.SurfaceM-takenM3/s.Source.AreaM2, min(s.Source.IntakeM, s.Source.SurfaceM))
}

// judge works out a turn with its inflow: how long to open, and what comes of it.
func (s *Scheme) judge(t *Turn, g Goal) error {
	p := s.Branches[t.Branch].Pipe
	t.Given, t.OpenS = p.OpenS > 0, cmp.Or(p.OpenS, usualOpenS)
	if t.Bed < 0 {
		t.Trips = t.InflowM3s > 0
		t.noWater()
		return nil
	}
	b := &s.Beds[t.Bed]
	t.Way, t.VolumeM3 = b.Way, b.floodM3()
	t.Trips = t.InflowM3s > 0
	if b.Way == Siphons {
		t.StartM3s, t.BreakM3s = b.Works.Window()
	}
	if t.InflowM3s < 1e-9 {
		t.InflowM3s, t.Trips = 0, false
		t.noWater()
		return nil
	}
	t.ExactS = t.VolumeM3 / t.InflowM3s
	margin := func(fillS float64) float64 {
		if g.MarginS > 0 {
			return g.MarginS
		}
		return max(leastMarginS, marginShare*fillS)
	}
	var err error
	switch b.Way {
	case Siphons:
		err = t.siphon(b, margin)
	case Timer:
		err = t.weep(b, margin)
	case Unknown:
		t.Trips = false
		t.Why = fmt.Sprintf("How %s drains is not described, so its flood cannot be timed: give its `siphon` or `standpipe`.", t.Name)
	}
	if err != nil {
		return fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, t.Name, err)
	}
	return nil
}

func (t *Turn) noWater() {
	if !t.Trips {
		t.Why = fmt.Sprintf("No water reaches %s while its valve is open: lower the end of its pipe, or take a pump that lifts higher.", t.Name)
	}
}

// siphon judges a turn of a bed with a siphon.
func (t *Turn) siphon(b *Bed, margin func(fillS float64) float64) error {
	c, err := b.Works.Cycle(t.InflowM3s)
	if err != nil {
		return err
	}
	t.Verdict, t.Froude = c.Verdict, c.Froude
	starts := !math.IsNaN(c.FillS)
	if starts {
		t.FillS = c.FillS
	}
	if !t.Given {
		fillS := cmp.Or(t.FillS, t.ExactS)
		t.OpenS = fillS + margin(fillS)
	}
	if starts {
		t.MarginS = t.OpenS - t.FillS
		if t.DrainS, err = drainOf(b, &c, t.InflowM3s, t.MarginS); err != nil {
			return err
		}
	}
	t.Trips = c.Verdict.Cycles() && t.OpenS >= t.FillS
	_, goodM3s := b.Works.GoodWindow()
	switch q := lmin(t.InflowM3s); {
	case c.Verdict == siphon.Overflows:
		t.Why = fmt.Sprintf("At %s %s runs over its rim: throttle its valve to between %s and %s, or raise the rim.", q, t.Name, lmin(t.StartM3s), lmin(goodM3s))
	case !starts:
		t.cause, t.sureM3s = noStart, t.StartM3s
		doubt := ""
		if c.Verdict == siphon.Doubtful {
			doubt = ", though near that no rule is sure"
		}
		t.Why = fmt.Sprintf("At %s water trickles over the crest of %s and its siphon does not start: it needs more than %s%s. Open fewer valves together, lead a wider pipe to it, or put in a narrower standpipe.", q, t.Name, lmin(t.StartM3s), doubt)
	case !c.Verdict.Cycles():
		t.Why = fmt.Sprintf("At %s the siphon of %s starts but does not stop while its valve is open: throttle the valve to between %s and %s.", q, t.Name, lmin(t.StartM3s), lmin(goodM3s))
	case !t.Trips && t.OpenS <= t.ExactS*(1+1e-3):
		t.cause = tooShort
		t.Why = fmt.Sprintf("The valve of %s opens %s, no longer than its volume over its flow; near the crest water runs off, and its siphon starts only after %s. Open it %s.", t.Name, timeText(t.OpenS), timeText(t.FillS), timeText(t.FillS+margin(t.FillS)))
	case !t.Trips:
		t.cause = tooShort
		t.Why = fmt.Sprintf("The valve of %s opens %s and shuts before its siphon starts, after %s. Open it %s.", t.Name, timeText(t.OpenS), timeText(t.FillS), timeText(t.FillS+margin(t.FillS)))
	case c.Has(siphon.DropShort):
		t.Why = fmt.Sprintf("The drop below %s is short: running full at the break its siphon reaches Froude number %.2f, and below 1 it may not hold. Lower its outlet.", t.Name, b.Works.Froude(t.BreakM3s))
	case c.Has(siphon.InflowDribbles):
		t.Why = fmt.Sprintf("%s is near the %s at which the siphon of %s never stops, and it may dribble: throttle its valve to below %s.", q, lmin(t.BreakM3s), t.Name, lmin(goodM3s))
	case c.Verdict == siphon.ShouldStart:
		t.cause, t.sureM3s = unsure, b.Works.FlowAtFroudeM3s(siphon.FroudeSwept)
		t.Why = fmt.Sprintf("At %s the siphon of %s should start; sure it is only from %s. Watch its first floods, and note the least flow at which it starts in `starts-at`.", q, t.Name, lmin(b.Works.FlowAtFroudeM3s(siphon.FroudeSwept)))
	}
	return nil
}

// drainOf is the time from a siphon's start to its break when the valve shuts
// some time after the start.
func drainOf(b *Bed, c *siphon.Cycle, inflowM3s, onS float64) (float64, error) {
	if onS <= 0 {
		return b.Works.DrainS(c.StartLevelM, b.Siphon.BreakM, 0)
	}
	if c.DrainS <= onS { // false for NaN
		return c.DrainS, nil
	}
	at := siphon.State{LevelM: c.StartLevelM, Running: true}
	if _, err := b.Works.Advance(&at, inflowM3s, onS, nil); err != nil {
		return 0, err
	}
	if at.LevelM <= b.Siphon.BreakM {
		return onS, nil
	}
	restS, err := b.Works.DrainS(at.LevelM, b.Siphon.BreakM, 0)
	return onS + restS, err
}

// weep judges a turn of a bed with a weep hole.
func (t *Turn) weep(b *Bed, margin func(fillS float64) float64) error {
	f, err := b.Stand.Flood(t.InflowM3s)
	if err != nil {
		return err
	}
	fills := !math.IsNaN(f.FillS)
	if fills {
		t.FillS = f.FillS
	}
	if !t.Given {
		fillS := cmp.Or(t.FillS, t.ExactS)
		t.OpenS = fillS + margin(fillS)
	}
	if t.DrainS, err = b.Stand.DrainS(b.Stand.CrestM, b.Stand.WeepLevelM); err != nil {
		return err
	}
	t.Trips = fills && t.OpenS >= t.FillS && !f.OverRim
	switch {
	case !fills:
		t.Why = fmt.Sprintf("At %s the weep hole of %s lets out all that comes in, and its level stays at %s: make the hole narrower or give it more water.", lmin(t.InflowM3s), t.Name, quantity.Format(f.HoldM, quantity.Length, quantity.Metric))
	case f.OverRim:
		t.Why = fmt.Sprintf("At %s %s runs over its rim: throttle its valve or put in a wider standpipe.", lmin(t.InflowM3s), t.Name)
	case !t.Trips:
		t.Why = fmt.Sprintf("The valve of %s opens %s and shuts before the water is at the crest, after %s. Open it %s.", t.Name, timeText(t.OpenS), timeText(t.FillS), timeText(t.FillS+margin(t.FillS)))
	}
	if fills {
		t.MarginS = t.OpenS - t.FillS
	}
	return nil
}

// slotS is how long a group is open.
func slotS(turns []Turn, group []int) float64 {
	long := 0.0
	for _, i := range group {
		long = max(long, turns[i].OpenS)
	}
	return long
}

// shortestS is the shortest cycle that the turns allow.
func shortestS(turns []Turn, groups [][]int) (slotsS, cycleS float64) {
	for _, g := range groups {
		slotsS += slotS(turns, g)
	}
	cycleS = slotsS
	for i := range turns {
		cycleS = max(cycleS, turns[i].needsS())
	}
	return slotsS, cycleS
}

func mostPerHour(turns []Turn, groups [][]int) float64 {
	for i := range turns {
		if turns[i].floods() && !turns[i].Trips {
			return 0
		}
	}
	if _, cycleS := shortestS(turns, groups); cycleS > 0 {
		return secondsInHour / cycleS
	}
	return 0
}

// layPart puts the groups into the cycle of a part and sums its flows.
func (s *Scheme) layPart(t *Timetable, p *Part) error {
	askedS := secondsInHour / p.AskedPerHour
	slotsS, leastS := shortestS(p.Turns, p.Groups)
	p.SlotsS, p.CycleS = slotsS, max(askedS, leastS)
	p.Duty = slotsS / p.CycleS
	p.PumpRests = !s.always()
	gapS := 0.0
	if !p.PumpRests && len(p.Groups) > 0 {
		gapS = (p.CycleS - slotsS) / float64(len(p.Groups))
	}
	atS := 0.0
	for _, g := range p.Groups {
		for _, i := range g {
			p.Turns[i].AtS = atS
		}
		atS += slotS(p.Turns, g) + gapS
	}
	for i := range p.Turns {
		p.Turns[i].RestS = p.CycleS - p.Turns[i].needsS()
		if askedS < leastS {
			p.Turns[i].RestS = askedS - p.Turns[i].needsS()
		}
	}
	sum, err := s.sum(p)
	if err != nil {
		return err
	}
	p.MeanM3s = sum.branchM3
	for i := range p.MeanM3s {
		p.MeanM3s[i] /= p.CycleS
	}
	tanksM3, intoM3s := 0.0, 0.0
	for i := range s.Loop.Tanks {
		tanksM3 += s.Loop.Tanks[i].VolumeM3
	}
	for i := range s.Branches {
		if s.Branches[i].Tank >= 0 {
			intoM3s += p.MeanM3s[i]
		}
	}
	if tanksM3 > 0 {
		p.TurnoverPerH = secondsInHour * intoM3s / tanksM3
		p.PumpTurnoverPerH = secondsInHour * sum.pumpM3 / p.CycleS / tanksM3
	}
	p.WireKWhDay = (sum.turnsJ + sum.idleJ) / p.CycleS * p.Hours() * secondsInHour / 3.6e6
	return nil
}

// sums are those of a cycle.
type sums struct {
	branchM3       []float64
	pumpM3, inTurn float64 // all water pumped; that of the turns
	turnsJ, idleJ  float64 // at the plug
	turnsS         float64
	headMS         float64 // head × time, in the turns
}

// sum follows the valves of a part through a cycle.
func (s *Scheme) sum(p *Part) (sums, error) {
	out := sums{branchM3: make([]float64, len(s.Branches))}
	add := func(v Valves, levelM, seconds float64) (*Flow, error) {
		f, err := s.Flow(v, levelM)
		if err != nil {
			return nil, err
		}
		for i, q := range f.BranchM3s {
			out.branchM3[i] += q * seconds
			out.pumpM3 += q * seconds
		}
		return f, nil
	}
	for _, g := range p.Groups {
		filledM3 := 0.0
		var ends []float64
		for _, i := range g {
			ends = append(ends, p.Turns[i].OpenS)
			if k := p.Turns[i].Bed; k >= 0 {
				filledM3 += s.Beds[k].floodM3()
			}
		}
		slices.Sort(ends)
		levelM, fromS := s.loweredM(filledM3), 0.0
		for _, toS := range slices.Compact(ends) {
			var open Valves
			for _, i := range g {
				if p.Turns[i].OpenS > fromS {
					open = open.With(p.Turns[i].Branch)
				}
			}
			before := out.pumpM3
			f, err := add(open, levelM, toS-fromS)
			if err != nil {
				return out, err
			}
			out.inTurn += out.pumpM3 - before
			out.turnsJ += f.WireW * (toS - fromS)
			out.turnsS += toS - fromS
			out.headMS += f.PumpHeadM[0] * (toS - fromS)
			fromS = toS
		}
	}
	if idleS := p.CycleS - out.turnsS; !p.PumpRests && idleS > 0 {
		f, err := add(0, s.Source.SurfaceM, idleS)
		if err != nil {
			return out, err
		}
		out.idleJ = f.WireW * idleS
	}
	return out, nil
}

// steady judges the siphon beds whose pipe always flows.
func (s *Scheme) steady(t *Timetable) error {
	for i := range s.Branches {
		b := &s.Branches[i]
		if b.Timed || b.Bed < 0 || s.Beds[b.Bed].Way != Siphons {
			continue
		}
		f, err := s.Flow(0, s.Source.SurfaceM)
		if err != nil {
			return err
		}
		bed := &s.Beds[b.Bed]
		one := Steady{Branch: i, Bed: b.Bed, Name: bed.In.Name, InflowM3s: f.BranchM3s[i]}
		c, err := bed.Works.Cycle(one.InflowM3s)
		if err != nil {
			return fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, bed.In.Name, err)
		}
		one.Verdict = c.Verdict
		startM3s, _ := bed.Works.Window()
		_, goodM3s := bed.Works.GoodWindow()
		if c.Verdict.Cycles() {
			one.PerHour = c.PerHour
		} else {
			what := "its siphon does not start"
			switch c.Verdict {
			case siphon.NeverStops:
				what = "its siphon does not stop"
			case siphon.Overflows:
				what = "it runs over its rim"
			}
			one.Why = fmt.Sprintf("The pipe to %s always flows, with %s, at which %s: bring its flow to between %s and %s, or put in a timed valve.", one.Name, lmin(one.InflowM3s), what, lmin(startM3s), lmin(goodM3s))
			t.Why = append(t.Why, one.Why)
			t.Fits = false
		}
		t.Steady = append(t.Steady, one)
	}
	return nil
}

// faults says why a timetable is not as asked.
func (t *Timetable) faults(s *Scheme, turns []Turn) {
	t.Fits = t.Fits && !slices.ContainsFunc(turns, func(u Turn) bool { return !u.Trips })
	t.Why = append(t.Why, gathered(turns, func(u *Turn) bool { return !u.Trips })...)
	for i := range t.Parts {
		p := &t.Parts[i]
		askedS := secondsInHour / p.AskedPerHour
		_, leastS := shortestS(p.Turns, p.Groups)
		if leastS <= askedS*(1+1e-9) {
			continue
		}
		t.Fits = false
		long := ""
		if len(t.Parts) > 1 {
			long = " by " + p.Name
		}
		most := fmt.Sprintf("at most %s floods an hour fit", figure(secondsInHour/leastS, 2, -1))
		if p.SlotsS > askedS*(1+1e-9) {
			text := fmt.Sprintf("%s%s take %s, and there are %s from flood to flood: %s. Ask for fewer floods, give each %s times the flow", sentenceCase(countOf(len(p.Groups), "turn")), long, timeText(p.SlotsS), timeText(askedS), most, figure(p.SlotsS/askedS, 2, 1))
			if hasFloods(p.Turns) {
				text += fmt.Sprintf(" or let each flood be %s %% smaller by a lower crest", figure(100*(1-askedS/p.SlotsS), 2, 1))
			}
			p.late = text + "."
			t.Why = append(t.Why, p.late)
			continue
		}
		for j := range p.Turns {
			if u := &p.Turns[j]; u.needsS() > askedS*(1+1e-9) {
				p.late = fmt.Sprintf("%s%s takes %s to fill and drain, and there are %s from flood to flood: %s. Ask for fewer floods, or let it drain faster.", sentenceCase(u.Name), long, timeText(u.needsS()), timeText(askedS), most)
				t.Why = append(t.Why, p.late)
			}
		}
	}
}

func hasFloods(turns []Turn) bool {
	return slices.ContainsFunc(turns, func(t Turn) bool { return t.floods() })
}

// remarks adds what the reader should know.
func (t *Timetable) remarks(s *Scheme) {
	note := func(format string, args ...any) { t.Notes = append(t.Notes, fmt.Sprintf(format, args...)) }
	p := &t.Parts[0]
	if len(p.Turns) > 0 && p.PumpRests {
		note("Nothing flows but the turns: switch the pump off with the last valve of each cycle and on with the first. It must never run against shut valves.")
	}
	if len(p.Groups) > 1 && p.PumpRests {
		note("Open each valve %.0f s before the one before it shuts.", overlapS)
	}
	for i := range p.Turns {
		switch u := &p.Turns[i]; {
		case u.Way == Siphons || u.Way == Timer || u.Way == Unknown:
		case u.Given:
			note("The valve to %s opens %s in each cycle, as the site says; nothing tells when it has had enough.", u.Name, timeText(u.OpenS))
		default:
			note("The valve to %s opens %s in each cycle, for want of `open` on its pipe; nothing tells when it has had enough.", u.Name, timeText(u.OpenS))
		}
	}
	t.Notes = append(t.Notes, gathered(p.Turns, func(u *Turn) bool { return u.Trips })...)
	for i := range t.Steady {
		if u := &t.Steady[i]; u.PerHour > 0 {
			note("The pipe to %s always flows: with %s its siphon floods it %s times an hour, whatever the timetable says.", u.Name, lmin(u.InflowM3s), figure(u.PerHour, 2, 0))
		}
	}
	for _, g := range p.Groups {
		var open Valves
		for _, i := range g {
			open = open.With(p.Turns[i].Branch)
		}
		if f, err := s.Flow(open, s.Source.SurfaceM); err == nil && f.Beyond {
			note("In some turns the pump runs beyond the last point of its curve, where its flow is a guess: measure one more point.")
			break
		}
	}
}

// Answer is the timetable in one sentence.
func (t *Timetable) Answer() string {
	if len(t.Parts) == 0 {
		return "There is no timetable."
	}
	p := &t.Parts[0]
	var beds, good, others int
	var name string
	leastS, mostS := math.Inf(1), 0.0
	for i := range p.Turns {
		u := &p.Turns[i]
		if !u.floods() {
			others++
			continue
		}
		beds++
		name = u.Name
		if u.Trips {
			good++
		}
		leastS, mostS = min(leastS, u.OpenS), max(mostS, u.OpenS)
	}
	late := slices.ContainsFunc(t.Parts, func(p Part) bool { return p.CycleS > secondsInHour/p.AskedPerHour*(1+1e-9) })
	but := "" // what is amiss besides
	if !t.Fits {
		but = " " + firstOf(t.Why)
	}
	often := oftenText(p.AskedPerHour)
	if len(t.Parts) > 1 {
		often = fmt.Sprintf("%s by day and %s by night", often, oftenText(t.Parts[1].AskedPerHour))
	}
	takes := fmt.Sprintf("the turns take %.0f %% of the time", 100*p.Duty)
	if p.PumpRests {
		takes = fmt.Sprintf("the pump runs %.0f %% of the time", 100*p.Duty)
	}
	if len(t.Parts) > 1 {
		takes += " by day"
	}
	switch {
	case beds == 0 && others == 0 && len(t.Steady) == 0:
		return "No valve is on a timer and no bed with a siphon is fed: there is nothing to time."
	case beds == 0 && others == 0:
		cycling := 0
		for i := range t.Steady {
			if t.Steady[i].PerHour > 0 {
				cycling++
			}
		}
		if len(t.Steady) == 1 {
			if cycling == 1 {
				return fmt.Sprintf("No valve is on a timer; %s floods by itself, %s times an hour.", t.Steady[0].Name, figure(t.Steady[0].PerHour, 2, 0))
			}
			return "No valve is on a timer. " + t.Steady[0].Why
		}
		return fmt.Sprintf("No valve is on a timer; of the %d beds with siphons %s by %s.", len(t.Steady), floodText(cycling, len(t.Steady)), pick(cycling == 1, "itself", "themselves"))
	case beds == 0:
		return fmt.Sprintf("No bed is flooded by a timed valve; %s %s, %s.", countOf(others, "valve"), pick(others == 1, "opens", "open"), often) + but
	case !t.Fits && good < beds && beds == 1:
		return fmt.Sprintf("%s does not flood. %s", sentenceCase(name), firstWhy(p))
	case !t.Fits && good < beds:
		return fmt.Sprintf("Of the %d beds %s. %s", beds, floodText(good, beds), firstWhy(p))
	case late && beds == 1:
		return fmt.Sprintf("%s does not flood %s as asked. %s", sentenceCase(name), often, t.lateWhy())
	case late:
		return fmt.Sprintf("The %d beds do not flood %s as asked. %s", beds, often, t.lateWhy())
	}
	opens := timeText(mostS)
	if timeText(leastS) != opens {
		opens = timeText(leastS) + " to " + opens
	}
	if beds == 1 {
		return fmt.Sprintf("%s floods %s: its valve opens %s; %s.", sentenceCase(name), often, opens, takes) + but
	}
	return fmt.Sprintf("Each of the %d beds floods %s: its valve opens %s; %s.", beds, often, opens, takes) + but
}

// firstWhy is the first reason of beds that do not flood.
func firstWhy(p *Part) string {
	return firstOf(gathered(p.Turns, func(u *Turn) bool { return u.floods() && !u.Trips }))
}

// lateWhy is the first reason for which the turns do not fit in time: these are
// told last.
func (t *Timetable) lateWhy() string {
	for i := range t.Parts {
		if p := &t.Parts[i]; p.late != "" {
			return p.late
		}
	}
	return firstOf(t.Why)
}

func floodText(good, of int) string {
	switch good {
	case 0:
		return "none floods"
	case 1:
		return "one floods"
	case of:
		return "all flood"
	}
	return fmt.Sprintf("%d flood", good)
}

func pick[T any](is bool, yes, no T) T {
	if is {
		return yes
	}
	return no
}

// countOf is a number with its noun.
func countOf(n int, noun string) string {
	if n == 1 {
		return "one " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// oftenText says floods an hour in words.
func oftenText(perHour float64) string {
	switch {
	case perHour == 1:
		return "once an hour"
	case perHour == 2:
		return "twice an hour"
	case perHour < 1:
		return "every " + timeText(secondsInHour/perHour)
	}
	return figure(perHour, 3, 0) + " times an hour"
}

// timeText prints a time for people, to the second below an hour.
func timeText(seconds float64) string {
	n := math.Round(seconds)
	if n >= secondsInHour || n < 60 {
		return quantity.Format(n, quantity.Duration, quantity.Metric)
	}
	m, rest := math.Floor(n/60), math.Mod(n, 60)
	if rest == 0 {
		return fmt.Sprintf("%g min", m)
	}
	return fmt.Sprintf("%g min %g s", m, rest)
}

// figure prints a number with some digits, rounded down (toward -1), to the
// nearest (0) or up (1).
func figure(v float64, digits int, toward int) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Sprintf("%g", v)
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-float64(digits-1))
	n := math.Round(v / unit)
	switch {
	case toward < 0:
		n = math.Floor(v/unit + 1e-9)
	case toward > 0:
		n = math.Ceil(v/unit - 1e-9)
	}
	return fmt.Sprintf("%.*g", digits+2, n*unit)
}

// sentenceCase begins a text with a capital.
func sentenceCase(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

var errNoTimetable = errors.New("there is no timetable: make one with Plan first")
