package plumbing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/site"
	"tidebed/words"
)

// Goal is what the valves are to do. What is 0 stands for its default, but for
// DayFromH where DayToH is given: there it is midnight.
type Goal struct {
	PerHour  float64 `json:"perHour"`  // floods of each bed an hour by day, 0.05 to 12; default 1
	AtNight  float64 `json:"atNight"`  // the same by night; default as by day
	DayFromH float64 `json:"dayFromH"` // hour, up to 23; 0 is midnight; default 6, where DayToH is 0 too
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
	noWaterM3s    = 1e-9 // less is no flow
	overlapS      = 3.0
	wholeDayTolH  = 1e-9
	secondsInHour = 3600.0
)

// DefaultGoal is the goal where nothing is said.
func DefaultGoal() Goal { return Goal{}.filled() }

// GoalOf is the goal that a loop's timetable names, filled with the defaults.
func GoalOf(l *site.Loop) Goal {
	t := l.Timetable
	if t == nil {
		return DefaultGoal()
	}
	g := Goal{PerHour: t.PerHour, AtNight: t.AtNight, MarginS: t.MarginS, Together: t.Together}
	g.DayFromH, g.DayToH = t.Day()
	return g.filled()
}

// filled puts the defaults.
func (g Goal) filled() Goal {
	g.PerHour = cmp.Or(g.PerHour, usualPerHour)
	g.AtNight = cmp.Or(g.AtNight, g.PerHour)
	if g.DayToH == 0 {
		g.DayFromH, g.DayToH = cmp.Or(g.DayFromH, usualFromH), usualToH
	}
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
	Branch    int            `json:"branch"`    // index in Scheme.Branches
	Bed       int            `json:"bed"`       // index in Loop.Beds; -1 when the valve feeds a tank or the sump
	Name      string         `json:"name"`      // of the bed, or of what the valve feeds
	Valve     string         `json:"valve"`     // name of its pipe
	Way       Way            `json:"way"`       // empty for a tank or the sump
	InflowM3s float64        `json:"inflowM3s"` // of the bed while the valve is open, by all its pipes that flow then
	StartM3s  float64        `json:"startM3s"`  // a siphon needs more than this to start,
	BreakM3s  float64        `json:"breakM3s"`  // and less than this to stop
	Verdict   siphon.Verdict `json:"verdict"`
	Froude    float64        `json:"froude"`
	FillS     float64        `json:"fillS"`   // from the drained level to the siphon's start, over-rise included; to the crest of a bed with a weep hole
	MarginS   float64        `json:"marginS"` // OpenS beyond FillS
	OpenS     float64        `json:"openS"`
	DrainS    float64        `json:"drainS"` // from the start to the break; from the crest through the weep hole
	RestS     float64        `json:"restS"`  // of the cycle, in which the bed is drained; below 0 there is not time enough
	AtS       float64        `json:"atS"`    // in the cycle
	Given     bool           `json:"given"`  // OpenS is the site's own
	Trips     bool           `json:"trips"`  // the bed floods, and drains at the latest when the valve shuts, by the model
	ExactS    float64        `json:"exactS"` // volume over flow: a timer set to it never starts the siphon
	VolumeM3  float64        `json:"volumeM3"`
	Why       string         `json:"why"` // why it does not flood, with the remedy; or what is doubtful

	cause   cause
	sureM3s float64 // from which the siphon starts, or surely starts
	goodM3s float64 // below which it stops for sure
	restM3s float64 // inflow of the bed while the valve is shut, by pipes that always flow
	leftS   float64 // the most a valve is opened for a bed that does not fill
	alone   bool    // opened alone its siphon would start
	setLow  bool    // its valve is set too low, and could be set to what starts its siphon
}

// cause groups turns that fail, or are doubtful, alike.
type cause int

const (
	single cause = iota
	noStart
	tooShort
	unsure
	holding
	dribbling
	leaking
	waterless
	causes
)

// gathered are the reasons of turns, one sentence for those that are alike.
func gathered(turns []Turn, say say, of func(t *Turn) bool) []string {
	var out []string
	var told [causes]bool
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
		lo, hi := math.Inf(1), 0.0
		all := Turn{OpenS: math.Inf(1), cause: t.cause, alone: true, setLow: true, goodM3s: math.Inf(1)}
		var names []string
		for j := range turns {
			if u := &turns[j]; u.Why != "" && of(u) && u.cause == t.cause {
				lo, hi = min(lo, u.InflowM3s), max(hi, u.InflowM3s)
				all.sureM3s, all.goodM3s = max(all.sureM3s, u.sureM3s), min(all.goodM3s, u.goodM3s)
				all.OpenS, all.FillS = min(all.OpenS, u.OpenS), max(all.FillS, u.FillS)
				all.alone = all.alone && u.alone
				all.setLow = all.setLow && u.setLow
				names = append(names, u.Name)
			}
		}
		if len(names) == 1 {
			out = append(out, t.Why)
			continue
		}
		q, list := fromTo(say.flow(lo), say.flow(hi)), listText(names)
		switch t.cause {
		case noStart:
			out = append(out, fmt.Sprintf("At %s water trickles over the crests of %s and their siphons do not start: they need more than %s. %s.", q, list, say.flow(all.sureM3s), all.moreWater(say, true)))
		case tooShort:
			out = append(out, fmt.Sprintf("The valves of %s shut too soon, one after %s: their siphons start only after up to %s. Open them some time longer.", list, timeText(all.OpenS), timeText(all.FillS)))
		case unsure:
			out = append(out, fmt.Sprintf("At %s the siphons of %s should start; sure they are only from %s. Watch their first floods, and note the least flow at which each starts in `starts-at`.", q, list, say.flow(all.sureM3s)))
		case holding:
			out = append(out, fmt.Sprintf("At %s the siphons of %s start but do not stop while their valves are open; the beds drain when the valves shut. %s.", q, list, words.Capital(throttleText(say, all.sureM3s, all.goodM3s, "the valves"))))
		case dribbling:
			out = append(out, fmt.Sprintf("%s is near the flow at which the siphons of %s never stop, %s, and they may dribble: throttle their valves to below %s.", q, list, say.flow(all.sureM3s), say.flow(all.goodM3s)))
		case leaking:
			out = append(out, fmt.Sprintf("At %s the weep holes of %s let out all that comes in, and the beds do not fill: they need more than %s. Give them more water, or make the holes narrower.", q, list, say.flow(all.sureM3s)))
		case waterless:
			out = append(out, fmt.Sprintf("No water reaches %s while their valves are open: lower the ends of their pipes, or take a pump that lifts higher.", list))
		}
	}
	return out
}

// moreWater is what lets a siphon start that gets too little; of many turns when
// all say so.
func (t *Turn) moreWater(say say, many bool) string {
	switch {
	case t.setLow:
		return fmt.Sprintf("%s set too low: let through more than %s", pick(many, "The valves are", "Its valve is"), say.flow(t.sureM3s))
	case t.alone:
		return fmt.Sprintf("Open fewer valves together: alone %s water enough", pick(many, "each gets", "it gets"))
	}
	return fmt.Sprintf("Lead %s to %s, or put in %s", pick(many, "wider pipes", "a wider pipe"), pick(many, "them", "it"), pick(many, "narrower standpipes", "a narrower standpipe"))
}

// throttleText is the remedy for a siphon that gets more than it stops with.
func throttleText(say say, startM3s, goodM3s float64, valve string) string {
	if startM3s >= goodM3s {
		return "change the standpipe, for no flow both starts this siphon and lets it stop for sure"
	}
	return fmt.Sprintf("throttle %s to between %s", valve, betweenText(say, startM3s, goodM3s))
}

func betweenText(say say, lowM3s, highM3s float64) string {
	return say.flow(lowM3s) + " and " + say.flow(highM3s)
}

// fromTo is "12 to 15 L/min" of two quantities; one where they print alike.
func fromTo(low, high string) string {
	if low == high {
		return high
	}
	number, unit, _ := strings.Cut(low, " ")
	if _, of, _ := strings.Cut(high, " "); of == unit {
		low = number
	}
	return low + " to " + high
}

// listText joins names; of many it tells the number.
func listText(names []string) string {
	if n := len(names); n > 3 {
		return fmt.Sprintf("%s and %d others", names[0], n-1)
	}
	return words.List(names)
}

// needsS is the shortest cycle in which the turn can be had.
func (t *Turn) needsS() float64 {
	if t.Way == Timer {
		return t.OpenS + t.DrainS
	}
	return max(t.OpenS, t.FillS+t.DrainS)
}

// Part is the part of the day in which one cycle is repeated, each day anew. A
// cycle asked for that is longer than its part is drawn together to it, so that
// each turn comes once. After the last whole cycle a turn that would not end
// within the part is left out: a bed floods as often as whole cycles go into the
// part, or once more.
type Part struct {
	Name             string    `json:"name"` // day, night, or day and night
	FromH            float64   `json:"fromH"`
	ToH              float64   `json:"toH"` // below FromH for a part over midnight
	AskedPerHour     float64   `json:"askedPerHour"`
	CycleS           float64   `json:"cycleS"` // as asked for, or the shortest that the turns allow
	Turns            []Turn    `json:"turns"`
	Groups           [][]int   `json:"groups"`           // of Turns: those open together
	SlotsS           float64   `json:"slotsS"`           // the groups one after the other
	Asks             float64   `json:"asks"`             // SlotsS over the cycle asked for; above 1 the turns do not go into it
	Duty             float64   `json:"duty"`             // share of the cycle in which a timed valve is open
	PumpRests        bool      `json:"pumpRests"`        // nothing always flows: the pump stops between turns, never to run against shut valves
	MeanM3s          []float64 `json:"meanM3s"`          // as Scheme.Branches
	TurnoverPerH     float64   `json:"turnoverPerH"`     // water led into the fish tanks by pipe, over their volume
	PumpTurnoverPerH float64   `json:"pumpTurnoverPerH"` // water pumped, over their volume
	WireKWhDay       float64   `json:"wireKWhDay"`       // of the pump in this part of each day

	late string // why it does not fit in time
}

// askedS is from flood to flood as asked for.
func (p *Part) askedS() float64 { return secondsInHour / p.AskedPerHour }

// longS is the length of the part in a day.
func (p *Part) longS() float64 { return p.Hours() * secondsInHour }

// Hours is the length of the part in a day.
func (p *Part) Hours() float64 {
	if p.ToH > p.FromH {
		return p.ToH - p.FromH
	}
	return p.ToH + 24 - p.FromH
}

// Steady is a bed with a siphon whose pipes always flow.
type Steady struct {
	Branch    int            `json:"branch"` // the first of its pipes
	Bed       int            `json:"bed"`
	Name      string         `json:"name"`
	InflowM3s float64        `json:"inflowM3s"` // the timed valves shut
	LeastM3s  float64        `json:"leastM3s"`  // of all states of the valves in the day
	MostM3s   float64        `json:"mostM3s"`
	Cycling   float64        `json:"cycling"` // share of the day in whose states it floods and drains
	Verdict   siphon.Verdict `json:"verdict"` // of the states that last longest
	PerHour   float64        `json:"perHour"` // floods in the course of the day; 0 when it does not cycle
	Why       string         `json:"why"`     // why it does not flood as often as asked, with the remedy
}

// Timetable says when each valve opens and for how long.
type Timetable struct {
	Loop        string    `json:"loop"`
	Goal        Goal      `json:"goal"`
	Parts       []Part    `json:"parts"`
	Steady      []Steady  `json:"steady"`    // siphon beds without a timed valve
	FloodsDay   []float64 `json:"floodsDay"` // by bed of the loop: floods in the course of a day
	Fits        bool      `json:"fits"`      // every bed floods as often as asked, in the course of a day too, and the pump keeps its water
	Why         []string  `json:"why"`       // when it does not: what to change, with figures
	Notes       []string  `json:"notes"`
	MostPerHour float64   `json:"mostPerHour"` // floods that go into an hour; 0 when a bed does not flood at all, or no valve is timed

	day   *Course
	short int // beds that flood less often in the course of the day than their turns say
	why   string
	say   say
}

// Day is the course of a day by the timetable, from six in the morning by the
// clock, the beds drained, with nothing broken: it must not be changed. Nil for a
// timetable that Plan did not make.
func (t *Timetable) Day() *Course { return t.day }

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
// turn is not counted. A timetable that cannot be as asked is laid as fast as it
// goes, with the reasons. A day is then followed by it, beds drained at its
// beginning: where its floods, or the pump's water, fall short of what the turns
// promise, the timetable does not fit.
//
// Errors: a goal out of range (quantity.ErrRange), ErrUnpiped, those of Run.
func (s *Scheme) Plan(g Goal) (*Timetable, error) {
	t, err := s.lays(g)
	if err != nil {
		return nil, err
	}
	if err := s.tellLate(t, true); err != nil {
		return nil, err
	}
	if err := s.confirm(t); err != nil {
		return nil, err
	}
	t.remarks(s)
	return t, nil
}

// lays lays the turns without following a day.
func (s *Scheme) lays(g Goal) (*Timetable, error) {
	if err := g.Check(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, err)
	}
	if !s.Piped {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, ErrUnpiped)
	}
	g = g.filled()
	t := &Timetable{Loop: s.Loop.Name, Goal: g, say: s.say()}
	turns, groups, err := s.turns(g)
	if err != nil {
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
		if err := s.layPart(p); err != nil {
			return nil, err
		}
	}
	t.Why = gathered(turns, t.say, func(u *Turn) bool { return !u.Trips })
	t.Fits = !slices.ContainsFunc(turns, func(u Turn) bool { return !u.Trips }) && !slices.ContainsFunc(t.Parts, func(p Part) bool { return p.isLate() })
	return t, nil
}

// isLate reports whether the turns do not go into the cycle asked for, or not into
// the part.
func (p *Part) isLate() bool {
	_, leastS := shortestS(p.Turns, p.Groups)
	return leastS > min(p.askedS(), p.longS())*(1+1e-9)
}

// always is whether any branch flows without a timed valve.
func (s *Scheme) always() bool {
	return slices.ContainsFunc(s.Branches, func(b Branch) bool { return !b.Timed })
}

// turns are the openings of all timed valves, in groups.
func (s *Scheme) turns(g Goal) (turns []Turn, groups [][]int, err error) {
	timed := s.Timed()
	if len(timed) == 0 {
		return nil, nil, nil
	}
	rest, err := s.Flow(0, s.Source.SurfaceM)
	if err != nil {
		return nil, nil, err
	}
	slots := (len(timed) + g.Together - 1) / g.Together
	leftS := max(usualOpenS, secondsInHour/max(g.PerHour, g.AtNight)/float64(slots))
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
			t := Turn{Branch: b, Bed: s.Branches[b].Bed, Name: s.Branches[b].Pipe.To, Valve: s.Branches[b].Pipe.Name, InflowM3s: f.BranchM3s[b], leftS: leftS}
			if t.Bed >= 0 {
				t.InflowM3s, t.restM3s = s.inflow(t.Bed, open, f), s.inflow(t.Bed, 0, rest)
			}
			if len(group) > 1 && t.Bed >= 0 && s.Beds[t.Bed].Way == Siphons {
				one := maskOf(b)
				by, err := s.Flow(one, s.loweredM(s.Beds[t.Bed].floodM3()))
				if err != nil {
					return nil, nil, err
				}
				startM3s, _ := s.Beds[t.Bed].Works.Window()
				t.alone = s.inflow(t.Bed, one, by) > startM3s
			}
			if t.Bed >= 0 && s.Beds[t.Bed].Way == Siphons {
				startM3s, _ := s.Beds[t.Bed].Works.Window()
				t.setLow = t.InflowM3s <= startM3s && s.setLow(b, startM3s-t.restM3s)
			}
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

// startSure is by how much a flow must exceed that at which a siphon starts to be
// set to.
const startSure = 1.1

// setLow reports whether a branch's valve is set to less than a flow, and could be
// set to more: the loop is drawn with that.
func (s *Scheme) setLow(branch int, m3s float64) bool {
	in := s.Branches[branch].Pipe
	want := startSure * m3s
	if in.SetM3s <= 0 || in.SetM3s >= want {
		return false
	}
	l := *s.Loop
	l.Pipes = slices.Clone(l.Pipes)
	l.Pipes[s.Branches[branch].Index].SetM3s = want
	made, err := Draw(&l, s.Settings)
	if err != nil || made == nil || !made.Piped {
		return false
	}
	f, err := made.Flow(maskOf(branch), made.Source.SurfaceM)
	return err == nil && f.BranchM3s[branch] > m3s
}

// inflow is what a bed gets by all pipes that lead to it and flow in a state of
// the valves.
func (s *Scheme) inflow(bed int, open Valves, f *Flow) float64 {
	sum := 0.0
	for i := range s.Branches {
		if b := &s.Branches[i]; b.Bed == bed && (!b.Timed || open.Open(i)) {
			sum += f.BranchM3s[i]
		}
	}
	return sum
}

// loweredM is the level of the source with some of its water in the beds, not
// below the pump's intake.
func (s *Scheme) loweredM(takenM3 float64) float64 {
	return max(s.Source.SurfaceM-takenM3/s.Source.AreaM2, min(s.Source.IntakeM, s.Source.SurfaceM))
}

// judge works out a turn with its inflow: how long to open, and what comes of it.
func (s *Scheme) judge(t *Turn, g Goal) error {
	if t.Bed < 0 {
		return s.judgeIn(t, nil, g)
	}
	return s.judgeIn(t, &s.Beds[t.Bed], g)
}

// judgeIn is judge of a turn in a bed that may be another than the loop's; nil
// where the valve feeds none.
func (s *Scheme) judgeIn(t *Turn, b *Bed, g Goal) error {
	p := s.Branches[t.Branch].Pipe
	t.Given, t.OpenS = p.OpenS > 0, cmp.Or(p.OpenS, usualOpenS)
	if b == nil {
		t.Trips = t.InflowM3s > 0
		t.noWater()
		return nil
	}
	t.Way, t.VolumeM3 = b.Way, b.floodM3()
	t.Trips = t.InflowM3s > 0
	if b.Way == Siphons {
		t.StartM3s, t.BreakM3s = b.Works.Window()
	}
	if t.InflowM3s < noWaterM3s {
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
		err = t.siphon(b, s.say(), margin)
	case Timer:
		err = t.weep(b, s.say(), margin)
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
		t.cause = waterless
		t.Why = fmt.Sprintf("No water reaches %s while its valve is open: lower the end of its pipe, or take a pump that lifts higher.", t.Name)
		if t.setLow {
			t.cause = single
			t.Why = fmt.Sprintf("No water reaches %s while its valve is open, for it is set to let hardly any through: set it to more.", t.Name)
		}
	}
}

// opens puts how long the valve opens: as the site says, else the time to the
// flood and a margin; where the bed does not fill, what its flood would take, but no
// longer than the other turns leave it.
func (t *Turn) opens(fills bool, margin func(fillS float64) float64) {
	switch {
	case t.Given:
	case fills:
		t.OpenS = t.FillS + margin(t.FillS)
	default:
		t.OpenS = t.ExactS + margin(t.ExactS)
		if t.leftS > 0 {
			t.OpenS = min(t.OpenS, t.leftS)
		}
	}
}

// siphon judges a turn of a bed with a siphon.
func (t *Turn) siphon(b *Bed, say say, margin func(fillS float64) float64) error {
	c, err := b.Works.Cycle(t.InflowM3s)
	if err != nil {
		return err
	}
	t.Verdict, t.Froude = c.Verdict, c.Froude
	starts := !math.IsNaN(c.FillS)
	if starts {
		t.FillS = c.FillS
	}
	t.opens(starts, margin)
	drains := t.restM3s < t.BreakM3s
	if starts {
		t.MarginS = t.OpenS - t.FillS
		if drains {
			if t.DrainS, err = drainOf(b, &c, t.InflowM3s, t.restM3s, t.MarginS); err != nil {
				return err
			}
		}
	}
	// One that does not stop while the valve is open drains when it shuts.
	t.Trips = (c.Verdict.Cycles() || c.Verdict == siphon.NeverStops && drains) && t.OpenS >= t.FillS
	_, t.goodM3s = b.Works.GoodWindow()
	switch q := say.flow(t.InflowM3s); {
	case c.Verdict == siphon.Overflows:
		t.Why = fmt.Sprintf("At %s %s runs over its rim: %s, or raise the rim.", q, t.Name, throttleText(say, t.StartM3s, t.goodM3s, "its valve"))
	case !starts:
		t.cause, t.sureM3s = noStart, t.StartM3s
		doubt := ""
		if c.Verdict == siphon.Doubtful {
			doubt = ", though near that no rule is sure"
		}
		t.Why = fmt.Sprintf("At %s water trickles over the crest of %s and its siphon does not start: it needs more than %s%s. %s.", q, t.Name, say.flow(t.StartM3s), doubt, t.moreWater(say, false))
	case c.Verdict == siphon.NeverStops && !drains:
		t.Why = fmt.Sprintf("Even with its valve shut %s gets %s by pipes that always flow, and its siphon does not stop below %s: give those pipes a timed valve too.", t.Name, say.flow(t.restM3s), say.flow(t.BreakM3s))
	case !t.Trips && t.OpenS <= t.ExactS*(1+1e-3):
		t.cause = tooShort
		t.Why = fmt.Sprintf("The valve of %s opens %s, no longer than its volume over its flow; near the crest water runs off, and its siphon starts only after %s. Open it %s.", t.Name, timeText(t.OpenS), timeText(t.FillS), timeText(t.FillS+margin(t.FillS)))
	case !t.Trips:
		t.cause = tooShort
		t.Why = fmt.Sprintf("The valve of %s opens %s and shuts before its siphon starts, after %s. Open it %s.", t.Name, timeText(t.OpenS), timeText(t.FillS), timeText(t.FillS+margin(t.FillS)))
	case c.Verdict == siphon.NeverStops:
		t.cause, t.sureM3s = holding, t.StartM3s
		t.Why = fmt.Sprintf("At %s the siphon of %s starts but does not stop while its valve is open; the bed drains when the valve shuts. %s.", q, t.Name, words.Capital(throttleText(say, t.StartM3s, t.goodM3s, "the valve")))
	case c.Has(siphon.DropShort):
		t.Why = fmt.Sprintf("The drop below %s is short: running full at the break its siphon reaches Froude number %.2f, and below 1 it may not hold. Lower its outlet.", t.Name, b.Works.Froude(t.BreakM3s))
	case c.Has(siphon.InflowDribbles) && (t.DrainS <= t.MarginS || t.restM3s > t.goodM3s): // else its valve shuts before the break
		t.cause, t.sureM3s = dribbling, t.BreakM3s
		t.Why = fmt.Sprintf("%s is near the %s at which the siphon of %s never stops, and it may dribble: throttle its valve to below %s.", q, say.flow(t.BreakM3s), t.Name, say.flow(t.goodM3s))
	case c.Verdict == siphon.ShouldStart:
		t.cause, t.sureM3s = unsure, b.Works.FlowAtFroudeM3s(siphon.FroudeSwept)
		t.Why = fmt.Sprintf("At %s the siphon of %s should start; sure it is only from %s. Watch its first floods, and note the least flow at which it starts in `starts-at`.", q, t.Name, say.flow(t.sureM3s))
	}
	return nil
}

// drainOf is the time from a siphon's start to its break when the valve shuts
// some time after the start; then restM3s, less than lets it stop, comes in still.
func drainOf(b *Bed, c *siphon.Cycle, inflowM3s, restM3s, onS float64) (float64, error) {
	if onS <= 0 {
		return b.Works.DrainS(c.StartLevelM, b.Siphon.BreakM, restM3s)
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
	restS, err := b.Works.DrainS(at.LevelM, b.Siphon.BreakM, restM3s)
	return onS + restS, err
}

// weep judges a turn of a bed with a weep hole.
func (t *Turn) weep(b *Bed, say say, margin func(fillS float64) float64) error {
	f, err := b.Stand.Flood(t.InflowM3s)
	if err != nil {
		return err
	}
	fills := !math.IsNaN(f.FillS)
	if fills {
		t.FillS = f.FillS
	}
	t.opens(fills, margin)
	if fills {
		if t.DrainS, err = b.Stand.DrainS(b.Stand.CrestM, b.Stand.WeepLevelM); err != nil {
			return err
		}
	}
	t.Trips = fills && t.OpenS >= t.FillS && !f.OverRim
	switch {
	case !fills:
		t.cause = leaking
		if t.sureM3s, err = pipe.WeepM3s(b.Stand.WeepM, b.Stand.CrestM-b.Stand.WeepLevelM); err != nil {
			return err
		}
		t.Why = fmt.Sprintf("At %s the weep hole of %s lets out all that comes in, and its level stays at %s: it needs more than %s. Give it more water, or make the hole narrower.", say.flow(t.InflowM3s), t.Name, say.length(f.HoldM), say.flow(t.sureM3s))
	case f.OverRim:
		t.Why = fmt.Sprintf("At %s %s runs over its rim: throttle its valve or put in a wider standpipe.", say.flow(t.InflowM3s), t.Name)
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
func (s *Scheme) layPart(p *Part) error {
	askedS := min(p.askedS(), p.longS())
	slotsS, leastS := shortestS(p.Turns, p.Groups)
	p.SlotsS, p.CycleS = slotsS, max(askedS, leastS)
	p.Duty, p.Asks = slotsS/p.CycleS, slotsS/p.askedS()
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
		fromS := 0.0
		for _, x := range s.within(p, g) {
			open, levelM, toS := x.open, x.levelM, x.seconds
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
	for i := range t.Parts {
		q := &t.Parts[i]
		if len(q.Turns) > 0 && len(t.Parts) > 1 && q.askedS() > q.longS()*(1+1e-9) {
			note("A flood %s is asked for by %s, which has %s: each bed floods once in it.", oftenText(q.AskedPerHour), q.Name, timeText(q.longS()))
		}
	}
	t.Notes = append(t.Notes, gathered(p.Turns, t.say, func(u *Turn) bool { return u.Trips })...)
	if text := exactText(p.Turns); text != "" {
		note("%s", text)
	}
	t.tellMore(s, note)
	for i := range t.Steady {
		u := &t.Steady[i]
		if u.PerHour <= 0 || u.Why != "" {
			continue
		}
		with := fromTo(t.say.flow(u.LeastM3s), t.say.flow(u.MostM3s))
		rest := ""
		if u.Cycling < 1-1e-9 {
			rest = fmt.Sprintf("; it does so with the flow of %.0f %% of the time, not with that of the rest", 100*u.Cycling)
		}
		note("The pipe to %s always flows: with %s its siphon floods it %s in the course of a day, whatever the timetable says%s.", u.Name, with, oftenText(u.PerHour), rest)
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
	late := slices.ContainsFunc(t.Parts, func(p Part) bool { return p.isLate() })
	but := "" // what is amiss besides
	if !t.Fits {
		but = " " + firstOf(t.Why)
	}
	often := oftenText(p.AskedPerHour)
	if len(t.Parts) > 1 {
		often = p.oftenText() + " and " + t.Parts[1].oftenText()
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
				return fmt.Sprintf("No valve is on a timer; %s floods by itself, %s.", t.Steady[0].Name, oftenText(t.Steady[0].PerHour)) + but
			}
			return "No valve is on a timer. " + t.Steady[0].Why
		}
		return fmt.Sprintf("No valve is on a timer; of the %d beds with siphons %s by %s.", len(t.Steady), floodText(cycling, len(t.Steady)), pick(cycling == 1, "itself", "themselves")) + but
	case beds == 0:
		return fmt.Sprintf("No bed is flooded by a timed valve; %s %s, %s.", countOf(others, "valve"), pick(others == 1, "opens", "open"), often) + but
	case !t.Fits && good < beds && beds == 1:
		return fmt.Sprintf("%s does not flood. %s", words.Capital(name), t.firstWhy(p))
	case !t.Fits && good < beds:
		return fmt.Sprintf("Of the %d beds %s. %s", beds, floodText(good, beds), t.firstWhy(p))
	case late && beds == 1:
		return fmt.Sprintf("%s does not flood %s as asked. %s", words.Capital(name), often, t.lateWhy())
	case late:
		return fmt.Sprintf("The %d beds do not flood %s as asked. %s", beds, often, t.lateWhy())
	}
	switch {
	case t.short > 0 && beds == 1:
		return fmt.Sprintf("%s does not flood %s as asked. %s", words.Capital(name), often, t.why)
	case t.short == beds:
		return fmt.Sprintf("In the course of a day none of the %d beds floods %s as asked. %s", beds, often, t.why)
	case t.short > 0:
		return fmt.Sprintf("In the course of a day %s of the %d beds %s not flood %s as asked. %s", pick(t.short == 1, "one", fmt.Sprint(t.short)), beds, pick(t.short == 1, "does", "do"), often, t.why)
	}
	if n := t.manyADay(); n != "" {
		often = n + " times a day"
	}
	opens := timeText(mostS)
	if timeText(leastS) != opens {
		opens = timeText(leastS) + " to " + opens
	}
	if beds == 1 {
		return fmt.Sprintf("%s floods %s: its valve opens %s; %s.", words.Capital(name), often, opens, takes) + but
	}
	return fmt.Sprintf("Each of the %d beds floods %s: its valve opens %s; %s.", beds, often, opens, takes) + but
}

// firstWhy is the first reason of beds that do not flood.
func (t *Timetable) firstWhy(p *Part) string {
	return firstOf(gathered(p.Turns, t.say, func(u *Turn) bool { return u.floods() && !u.Trips }))
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
	case figure(perHour, 3, 0) == "1":
		return "once an hour"
	case figure(perHour, 3, 0) == "2":
		return "twice an hour"
	case perHour < 1:
		return "every " + timeText(secondsInHour/perHour)
	}
	return figure(perHour, 3, 0) + " times an hour"
}

// oftenText says how often the beds flood in the part.
func (p *Part) oftenText() string {
	if p.askedS() > p.longS()*(1+1e-9) {
		return "once by " + p.Name
	}
	return oftenText(p.AskedPerHour) + " by " + p.Name
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

var errNoTimetable = errors.New("there is no timetable: make one with Plan first")
