package plumbing

import (
	"cmp"
	"math"
	"regexp"
	"slices"
	"strings"

	"tidebed/site"
)

// State is how a value with limits stands.
type State string

// The states.
const (
	Good  State = "good"
	Watch State = "watch"
	Act   State = "act"
)

// weight puts the worst first.
func (s State) weight() int {
	switch s {
	case Act:
		return 0
	case Watch:
		return 1
	}
	return 2
}

// Finding is what a check of the pipework found.
type Finding struct {
	State    State  `json:"state"`
	Field    string `json:"field"`    // path inside the loop, such as "beds[2].siphon.crest", as site.Problem.Field without the loop before; of the first of several like ones
	About    string `json:"about"`    // name of the bed, pipe, pump or tank; of several like ones "north 1 to 6"
	Sentence string `json:"sentence"` // what is found, with number and limit
	Remedy   string `json:"remedy"`   // what to do, with the number that mends it; empty where all is good
	Source   string `json:"source"`
	Caution  string `json:"caution"` // for the hand that is about to act; empty when there is none
}

// Sources of findings.
const (
	practice     = "common practice, no source"
	froudeSource = "hills-1983, simpson-1968: air in falling pipes; known to a factor of 1.5 to 2"
	solidsSource = "nspc-2009: 0.6 m/s keeps solids moving"
	ventSource   = "hills-1983: an overflow that takes its water quietly"
	slopeSource  = "nspc-2009, Manning's formula"
)

// Cautions.
const (
	unplugFirst = "Unplug the pump before hands go in."
	backSiphons = "Water that runs back leaves the fish: have this seen to before the next night."
)

// Limits of the checks; common practice, no source, but the first.
const (
	gutterShare   = 0.75 // depth of a drain that still lets air by; its flow is 1.82 times that half full
	leastFreeM    = 0.02
	intakeCoverM  = 0.05
	mostDuty      = 0.95
	leastTurnover = 0.5
	mostTurnover  = 4.0
	noFlowM3s     = 1e-7
	deepBedM      = 0.35
	mostDeadM     = 0.040
	goodSpeedMS   = 1.0
	quietDribble  = 0.65 // of the full flow at the break, a little below the 0.7 at which it dribbles
	surelyAbove   = 1.15 // of the start flow
)

// soldBoresM are the bores of standpipes to be had, m.
var soldBoresM = []float64{0.016, 0.020, 0.021, 0.025, 0.027, 0.032, 0.041}

// note is a finding whose like are to be merged: {} stands for the name, {v} for a
// value that may differ from bed to bed, {w} for what the worst of them needs.
type note struct {
	Finding
	names  []string
	lo, hi float64
	text   func(float64) string
	need   string // for {w}, of the greatest
	most   float64
}

// audit gathers what is found.
type audit struct {
	s     *Scheme
	t     *Timetable
	u     say
	notes []note
	inM3s []float64 // by bed, as planned; NaN: not known
	mixes []mix
	tries int // of changed loops, drawn anew

	brought map[bringing]bool
	bored   map[boring]float64 // 0: none
	cleared map[clearing]float64
}

// Findings holds the pipework against the rules of the trade: what each bed's
// siphon does with its inflow, the bell's measures, velocities, the pump, drains
// and overflows against what can come, the blow of valves, the level of what the
// pump draws from, the timetable. Like beds, pipes and tanks are one finding. What
// Draw could not take stands first, then the worst, then in the order of the site.
//
// t is the timetable, or nil: then each timed valve is taken to open alone. faults
// are those of Faults, or nil: of them those that empty a fish tank and a power cut
// that runs over are told here too.
//
// Remedies: a number that tells what to set, build or buy was tried in the same
// model, the loop drawn anew with it where flows may change, and the finding was
// gone; of pipes of one bore and flow the first is tried. Where no number was found
// that does it, or the tries of a check are spent, the remedy names none.
//
// Simplified: a drain counts as capable up to three quarters full by Manning's
// formula along its whole fall; bells are taken to be 3 mm thick and standpipes as
// thick as the size of that bore; a valve between open and shut is not looked at,
// but for the blow of one that shuts.
func (s *Scheme) Findings(t *Timetable, faults []Fault) []Finding {
	a := &audit{s: s, t: t, u: s.say(), mixes: s.mixes(t), brought: map[bringing]bool{}, bored: map[boring]float64{}, cleared: map[clearing]float64{}}
	a.inM3s = s.plannedM3s(t)
	a.problems()
	first := len(a.notes)
	for i := range s.Beds {
		a.bed(&s.Beds[i])
	}
	if s.Piped {
		a.branches()
		a.alwaysOn()
		a.pump()
		a.speeds()
		a.hammer()
		a.tanks()
		a.films()
	} else {
		a.say(Watch, "pumps", s.Loop.Name, "No flow can be worked out for this loop.", "Give a pump with its curve (`points`) and the `pipes` from it to beds and tanks.", practice, "")
	}
	a.drains()
	a.sold()
	a.timetable()
	a.worst(faults)
	rest := a.notes[first:]
	a.notes = a.notes[:first:first]
	found := a.merged()
	a.notes = rest
	return append(found, a.merged()...)
}

// mostTries is how many changed loops a check draws anew for its remedies: fewer of
// large loops, each of which takes long.
func (s *Scheme) mostTries() int {
	const most, least, easy = 80, 30, 8.0
	return max(least, int(most*easy/math.Max(easy, float64(len(s.Branches)))))
}

// with is the scheme of the loop with a change; nil when that cannot be drawn. The
// loop given to change is a copy.
func (s *Scheme) with(change func(l *site.Loop)) *Scheme {
	l := *s.Loop
	l.Tanks, l.Beds, l.Pumps, l.Pipes = slices.Clone(l.Tanks), slices.Clone(l.Beds), slices.Clone(l.Pumps), slices.Clone(l.Pipes)
	for i := range l.Beds {
		if in := l.Beds[i].Siphon; in != nil {
			c := *in
			l.Beds[i].Siphon = &c
		}
		if in := l.Beds[i].Standpipe; in != nil {
			c := *in
			l.Beds[i].Standpipe = &c
		}
	}
	change(&l)
	made, err := Draw(&l, s.Settings)
	if err != nil {
		return nil
	}
	return made
}

// tried reports whether the loop with a change does what is wanted.
func (a *audit) tried(change func(l *site.Loop), does func(s *Scheme) bool) bool {
	if a.tries >= a.s.mostTries() {
		return false
	}
	a.tries++
	made := a.s.with(change)
	return made != nil && does(made)
}

// problems are what Draw could not take as the site gives it.
func (a *audit) problems() {
	for _, f := range a.s.Problems {
		if f.About != "" {
			f.Sentence = strings.Replace(f.Sentence, f.About+":", "{}:", 1)
		}
		if f.Source == "" {
			f.Source = practice
		}
		n := note{f, []string{f.About}, 0, 0, nil, "", 0}
		if raiseM := a.raise(f); raiseM > 0 {
			n.Remedy = "Raise the bed by {w} or more, lead its drain to water that lies as much lower, or lower that water's level."
			n.need, n.most = a.u.depth(raiseM), raiseM
		}
		a.notes = append(a.notes, n)
	}
}

// raise is how far a bed whose outlet stands under water must be raised to drain;
// 0 when the problem is another, or 2 m are not enough.
func (a *audit) raise(f Finding) float64 {
	if !strings.HasSuffix(f.Field, ".siphon.outlet") {
		return 0
	}
	k := slices.IndexFunc(a.s.Beds, func(b Bed) bool { return b.In.Name == f.About })
	if k < 0 || a.s.Beds[k].In.Siphon == nil {
		return 0
	}
	return a.clear(&a.s.Beds[k])
}

// clearing is what an answer of clear depends on.
type clearing struct {
	in                   site.Siphon
	areaM2, floorM, endM float64
}

// clear is Scheme.clearM within the tries of a check; of beds built alike the first
// is tried.
func (a *audit) clear(b *Bed) float64 {
	key := clearing{*b.In.Siphon, b.PlanM2, b.In.FloorM, b.ReceivingM}
	key.in.CrestM = 0 // it does not matter
	if m, known := a.cleared[key]; known {
		return m
	}
	if a.tries >= a.s.mostTries() {
		return 0
	}
	a.tries++
	a.cleared[key] = a.s.clearM(b)
	return a.cleared[key]
}

// say adds a finding.
func (a *audit) say(state State, field, name, sentence, remedy, source, caution string) {
	a.ranged(state, field, name, sentence, remedy, source, caution, 0, nil)
}

// worstOf gives the finding just added what the worst of its like needs.
func (a *audit) worstOf(need float64, text string) {
	n := &a.notes[len(a.notes)-1]
	n.need, n.most = text, need
}

// ranged adds a finding with a value that may differ among those merged.
func (a *audit) ranged(state State, field, name, sentence, remedy, source, caution string, v float64, text func(float64) string) {
	a.notes = append(a.notes, note{Finding{state, field, name, sentence, remedy, source, caution}, []string{name}, v, v, text, "", 0})
}

var fieldIndex = regexp.MustCompile(`\[\d+\]`)

// merged joins like findings and writes the names and values in.
func (a *audit) merged() []Finding {
	var out []note
	for _, n := range a.notes {
		k := slices.IndexFunc(out, func(o note) bool {
			return o.State == n.State && o.Sentence == n.Sentence && o.Remedy == n.Remedy && fieldIndex.ReplaceAllString(o.Field, "") == fieldIndex.ReplaceAllString(n.Field, "")
		})
		if k < 0 {
			out = append(out, n)
			continue
		}
		o := &out[k]
		if !slices.Contains(o.names, n.names[0]) {
			o.names = append(o.names, n.names[0])
		}
		o.lo, o.hi = math.Min(o.lo, n.lo), math.Max(o.hi, n.hi)
		if n.most > o.most {
			o.need, o.most = n.need, n.most
		}
	}
	found := make([]Finding, 0, len(out))
	for _, n := range out {
		f := n.Finding
		f.About = Names(n.names)
		value := ""
		if n.text != nil {
			value = rangeText(n.lo, n.hi, n.text)
		}
		for _, text := range []*string{&f.Sentence, &f.Remedy} {
			*text = strings.NewReplacer("{}", f.About, "{v}", value, "{w}", n.need).Replace(*text)
		}
		found = append(found, f)
	}
	slices.SortStableFunc(found, func(x, y Finding) int { return cmp.Compare(x.State.weight(), y.State.weight()) })
	return found
}

// states are the states of the valves that come about: those of the timetable, or
// each timed valve alone.
func (s *Scheme) states(t *Timetable) []Valves {
	var all []Valves
	add := func(v Valves) {
		if !slices.Contains(all, v) {
			all = append(all, v)
		}
	}
	always := len(s.Timed()) < len(s.Branches)
	if t != nil {
		for i := range t.Parts {
			p := &t.Parts[i]
			for _, group := range p.Groups {
				var v Valves
				for _, k := range group {
					if k >= 0 && k < len(p.Turns) {
						v = v.With(p.Turns[k].Branch)
					}
				}
				add(v)
			}
		}
	}
	if len(all) == 0 {
		for _, i := range s.Timed() {
			add(maskOf(i))
		}
	}
	if always {
		add(0)
	}
	return all
}

// mix is a state of the valves with its share of the time in which the pump runs.
type mix struct {
	v     Valves
	share float64
}

// mixes are the states of the valves with their shares of the day: those of the
// timetable, or each timed valve for as long as the others.
func (s *Scheme) mixes(t *Timetable) []mix {
	if !s.Piped {
		return nil
	}
	var all []mix
	add := func(v Valves, share float64) {
		if k := slices.IndexFunc(all, func(m mix) bool { return m.v == v }); k >= 0 {
			all[k].share += share
		} else {
			all = append(all, mix{v, share})
		}
	}
	always := s.always()
	if t != nil {
		for i := range t.Parts {
			p := &t.Parts[i]
			left := 1.0
			for _, group := range p.Groups {
				var v Valves
				open := 0.0
				for _, k := range group {
					if k >= 0 && k < len(p.Turns) {
						v, open = v.With(p.Turns[k].Branch), math.Max(open, p.Turns[k].OpenS)
					}
				}
				if share := math.Min(left, open/p.CycleS); share > 0 {
					add(v, share*p.Hours()/24)
					left -= share
				}
			}
			if always && left > 1e-6 {
				add(0, left*p.Hours()/24)
			}
		}
	}
	if len(all) > 0 {
		return all
	}
	timed := s.Timed()
	for _, i := range timed {
		add(maskOf(i), 1/float64(len(timed)))
	}
	if len(timed) == 0 {
		add(0, 1)
	}
	return all
}

// feeds are the branches that end at a bed.
func (s *Scheme) feeds(bed int) []int {
	var all []int
	for i := range s.Branches {
		if s.Branches[i].Bed == bed {
			all = append(all, i)
		}
	}
	return all
}

// bedM3s is what all branches bring to a bed in a state of the valves.
func (s *Scheme) bedM3s(v Valves, bed int) float64 {
	f, err := s.Flow(v, s.Source.SurfaceM)
	if err != nil {
		return math.NaN()
	}
	sum := 0.0
	for i := range s.Branches {
		if s.Branches[i].Bed == bed {
			sum += f.BranchM3s[i]
		}
	}
	return sum
}

// plannedM3s is the inflow of each bed as planned, by its index, all branches to it
// together: of one with a timed valve while that is open, the most of its turns; of
// one that always flows in the state of the timed valves that lasts longest, and
// without a timetable with them shut. NaN where it is not known.
func (s *Scheme) plannedM3s(t *Timetable) []float64 {
	in := make([]float64, len(s.Beds))
	for i := range in {
		in[i] = math.NaN()
	}
	if !s.Piped {
		return in
	}
	if t != nil {
		for i := range t.Parts {
			for _, turn := range t.Parts[i].Turns {
				if turn.Bed >= 0 && turn.Bed < len(in) && !(in[turn.Bed] >= turn.InflowM3s) && len(s.feeds(turn.Bed)) < 2 {
					in[turn.Bed] = turn.InflowM3s
				}
			}
		}
		for _, b := range t.Steady {
			if b.Bed >= 0 && b.Bed < len(in) && len(t.Parts) == 0 {
				in[b.Bed] = b.InflowM3s
			}
		}
	}
	var mixes []mix
	if t != nil {
		mixes = s.mixes(t)
	}
	for i := range s.Beds {
		feeds := s.feeds(i)
		if len(feeds) == 0 || !math.IsNaN(in[i]) {
			continue
		}
		var own Valves
		for _, k := range feeds {
			if s.Branches[k].Timed {
				own = own.With(k)
			}
		}
		most, longest := math.NaN(), 0.0
		var usual Valves
		for _, m := range mixes {
			if own != 0 && m.v&own != 0 {
				if q := s.bedM3s(m.v, i); !(most >= q) {
					most = q
				}
			}
			if m.share > longest {
				usual, longest = m.v, m.share
			}
		}
		switch {
		case own != 0 && math.IsNaN(most):
			most = s.bedM3s(own, i)
		case own == 0:
			most = s.bedM3s(usual, i)
		}
		in[i] = most
	}
	return in
}

// soleM3s is the most that can come out of some branches together: the pump's flow
// with all others shut.
func (s *Scheme) soleM3s(branches ...int) float64 {
	if !s.Piped {
		return math.NaN()
	}
	c := s.Clone()
	for i := range c.Branches {
		c.net.Close(c.Branches[i].link, !slices.Contains(branches, i))
	}
	c.net.SetHead(c.source, c.Source.SurfaceM)
	if err := c.net.Solve(); err != nil {
		return math.NaN()
	}
	sum := 0.0
	for _, k := range branches {
		sum += math.Max(0, c.net.FlowM3s(c.Branches[k].link))
	}
	return sum
}
