package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
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
	notes []note
	inM3s []float64 // by bed, as planned; NaN: not known
}

// Findings holds the pipework against the rules of the trade: what each bed's
// siphon does with its inflow, the bell's measures, velocities, the pump, drains
// and overflows against what can come, the level of what the pump draws from, the
// timetable. Like beds, pipes and tanks are one finding. The worst stand first,
// then in the order of the site.
//
// t is the timetable, or nil: then each timed valve is taken to open alone. faults
// are those of Faults, or nil: of them those that empty a fish tank and a power cut
// that runs over are told here too. Remedies with a number are tried in the same
// model before they are named.
//
// Simplified: a drain counts as capable up to three quarters full by Manning's
// formula along its whole fall; bells are taken to be 3 mm thick and standpipes as
// thick as the size of that bore; a valve between open and shut is not looked at.
func (s *Scheme) Findings(t *Timetable, faults []Fault) []Finding {
	a := &audit{s: s, t: t}
	a.planned()
	for i := range s.Beds {
		a.bed(&s.Beds[i])
	}
	if s.Piped {
		a.branches()
		a.pump()
		a.speeds()
		a.tanks()
		a.films()
	} else {
		a.say(Watch, "pumps", s.Loop.Name, "No flow can be worked out for this loop.", "Give a pump with its curve (`points`) and the `pipes` from it to beds and tanks.", practice, "")
	}
	a.drains()
	a.sold()
	a.timetable()
	a.worst(faults)
	return a.merged()
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

// rangeText is "15 to 19 L/min", or one value when both print alike.
func rangeText(lo, hi float64, text func(float64) string) string {
	low, high := text(lo), text(hi)
	if low == high {
		return low
	}
	if number, unit, ok := strings.Cut(low, " "); ok && strings.HasSuffix(high, " "+unit) {
		return number + " to " + high
	}
	return low + " to " + high
}

// flowText prints a flow.
func flowText(m3s float64) string {
	switch v := m3s * 60000; {
	case v >= 9.95:
		return fmt.Sprintf("%.0f L/min", v)
	case v >= 0.95:
		return fmt.Sprintf("%.1f L/min", v)
	default:
		return fmt.Sprintf("%.2f L/min", v)
	}
}

// heightText prints a height or depth.
func heightText(m float64) string {
	if math.Abs(m) < 0.9995 {
		return fmt.Sprintf("%.0f mm", 1000*m)
	}
	return fmt.Sprintf("%.2f m", m)
}

func boreText(m float64) string {
	mm := 1000 * m
	if math.Abs(mm-math.Round(mm)) > 0.05 {
		return fmt.Sprintf("%.1f mm", mm)
	}
	return fmt.Sprintf("%.0f mm", mm)
}

func litreText(m3 float64) string {
	l := 1000 * m3
	switch {
	case l >= 995:
		return fmt.Sprintf("%.1f m³", m3)
	case l >= 100:
		return fmt.Sprintf("%.0f L", 10*math.Round(l/10))
	case l >= 9.95:
		return fmt.Sprintf("%.0f L", l)
	}
	return fmt.Sprintf("%.1f L", l)
}

func spanText(seconds float64) string {
	switch {
	case seconds < 119.5:
		return fmt.Sprintf("%.0f s", seconds)
	case seconds < 119.5*60:
		return fmt.Sprintf("%.0f min", seconds/60)
	case seconds < 99.5*3600:
		if seconds >= 9.95*3600 {
			return fmt.Sprintf("%.0f h", seconds/3600)
		}
		return fmt.Sprintf("%.1f h", seconds/3600)
	}
	return fmt.Sprintf("%.0f days", seconds/86400)
}

func speedText(ms float64) string { return fmt.Sprintf("%.2f m/s", ms) }

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

// plannedM3s is the inflow of each bed as planned, by its index: of a timed one
// while its valve is open, of one that always flows with the timed valves shut. NaN
// where it is not known.
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
				if turn.Bed >= 0 && turn.Bed < len(in) && !(in[turn.Bed] >= turn.InflowM3s) {
					in[turn.Bed] = turn.InflowM3s
				}
			}
		}
		for _, b := range t.Steady {
			if b.Bed >= 0 && b.Bed < len(in) {
				in[b.Bed] = b.InflowM3s
			}
		}
	}
	for i := range s.Beds {
		k := s.Beds[i].Branch
		if k < 0 || !math.IsNaN(in[i]) {
			continue
		}
		var v Valves
		if s.Branches[k].Timed {
			v = maskOf(k)
		}
		if f, err := s.Flow(v, s.Source.SurfaceM); err == nil {
			in[i] = f.BranchM3s[k]
		}
	}
	return in
}

func (a *audit) planned() { a.inM3s = a.s.plannedM3s(a.t) }

// soleM3s is the most that can come out of a branch: the pump's flow with all
// others shut.
func (s *Scheme) soleM3s(branch int) float64 {
	if !s.Piped {
		return math.NaN()
	}
	c := s.Clone()
	c.state(maskOf(branch), c.Source.SurfaceM)
	for i := range c.Branches {
		c.net.Close(c.Branches[i].link, i != branch)
	}
	if err := c.net.Solve(); err != nil {
		return math.NaN()
	}
	return math.Max(0, c.net.FlowM3s(c.Branches[branch].link))
}

// bed checks one bed with its drain.
func (a *audit) bed(b *Bed) {
	field := fmt.Sprintf("beds[%d]", b.Index)
	q := a.inM3s[b.Index]
	name := b.In.Name
	switch b.Way {
	case Siphons:
		a.siphon(b, field+".siphon", q)
	case Timer, Constant:
		a.standpipe(b, field+".standpipe", q)
	case Unknown:
		a.say(Watch, field+".siphon", name, "{}: how it drains is not described, so nothing can be said of its floods.", "Give its `siphon` or `standpipe`.", practice, "")
	}
	if b.Way != Siphons && b.Way != Timer && b.Way != Constant {
		return
	}
	if d := b.Bed.Drainable; b.Way != Siphons && (d < 0.25 || d > 0.55) {
		a.oddPores(field, name, d)
	}
	if depth := cmp.Or(b.In.DepthM, usualBedM); depth > deepBedM+1e-9 {
		a.ranged(Watch, field+".depth", name, "{}: {v} of media; water below 0.35 m stands still and goes foul.", "Keep the media at 0.35 m or less, or clean it out each year.", practice, "", depth, heightText)
	}
	a.spill(b, field, q)
}

func (a *audit) oddPores(field, name string, drainable float64) {
	a.ranged(Watch, field+".porosity", name, "{}: {v} of the media is said to drain; 25 to 55 % is usual.", "Measure the litres that drain from the crest down, and give `porosity`.", practice, "", 100*drainable, func(v float64) string { return fmt.Sprintf("%.0f %%", v) })
}

// timedBed reports whether a bed's valve is timed.
func (s *Scheme) timedBed(b *Bed) bool { return b.Branch >= 0 && s.Branches[b.Branch].Timed }

// pipeField is the field of a bed's supply, or of the bed when none leads to it.
func (s *Scheme) pipeField(b *Bed) string {
	if b.Branch < 0 {
		return fmt.Sprintf("beds[%d]", b.Index)
	}
	return fmt.Sprintf("pipes[%d]", s.Branches[b.Branch].Index)
}

// siphon checks a bed with a bell.
func (a *audit) siphon(b *Bed, field string, q float64) {
	name := b.In.Name
	start, breakFull := b.Works.Window()
	_, to := b.Works.GoodWindow()
	known := !math.IsNaN(q)
	if !known {
		a.say(Watch, a.s.pipeField(b), name, fmt.Sprintf("{}: its inflow is not known; its siphon starts and stops with %s.", rangeText(start, to, flowText)), "Measure the inflow with a bucket, or describe the pump and the pipe to it.", froudeSource, "")
		q = surelyAbove * start
	} else if q < noFlowM3s { // branches tells
		known, q = false, surelyAbove*start
	}
	j, err := b.Works.Judge(q)
	if err != nil {
		a.say(Act, field, name, "{}: the siphon cannot be judged: "+err.Error()+".", "Check its measures.", practice, "")
		return
	}
	if known {
		a.verdict(b, field, q, j, start, breakFull, to)
	}
	for _, f := range j.Findings {
		a.reason(b, field, q, f, known)
	}
	a.bell(b, field)
}

// verdict says what the siphon does with its inflow.
func (a *audit) verdict(b *Bed, field string, q float64, j siphon.Judgement, start, breakFull, to float64) {
	name := b.In.Name
	at := a.s.pipeField(b)
	swept := b.Works.FlowAtFroudeM3s(siphon.FroudeSwept)
	var cure cure
	if !j.Verdict.Cycles() {
		cure = a.s.cure(b, q)
	}
	doubted := j.Has(siphon.DropShort) || j.Has(siphon.InflowDribbles)
	switch j.Verdict {
	case siphon.WillNotStart:
		a.ranged(Act, field+".standpipe", name, fmt.Sprintf("{}: at {v} the siphon will not start: the water trickles over the crest and the bed stays full; it wants more than %s, and starts surely from %s.", flowText(start), flowText(swept)), cure.text, froudeSource, "", q, flowText)
	case siphon.Doubtful:
		a.ranged(Watch, field+".standpipe", name, fmt.Sprintf("{}: at {v} it is doubtful whether the siphon starts; it should above %s, and surely from %s.", flowText(start), flowText(swept)),
			strings.TrimSpace(cure.text+fmt.Sprintf(" A funnel of %s on top helps, and an elbow at the outlet that seals the pipe; the reckoning does not count on them.", boreText(funnelFor(b)))), froudeSource, "", q, flowText)
	case siphon.NeverStops:
		state, more := Act, "; it runs for ever."
		if a.s.timedBed(b) {
			state, more = Watch, " until its valve shuts."
		}
		a.ranged(state, at+".set-flow", name, fmt.Sprintf("{}: at {v} the siphon never stops, for it carries %s at the break%s", flowText(breakFull), more), cure.text, froudeSource, "", q, flowText)
	case siphon.Overflows:
		a.ranged(Act, at+".set-flow", name, fmt.Sprintf("{}: at {v} the water comes to the rim, %s above the bed's floor, and runs over.", heightText(b.Bed.RimM)), cure.text, froudeSource, "Cut the inflow before the next flood.", q, flowText)
	case siphon.ShouldStart:
		if doubted {
			break
		}
		a.ranged(Good, at, name, fmt.Sprintf("{}: flooded by {v}: the siphon should start, and stops; window %s, surely from %s.", rangeText(start, to, flowText), flowText(swept)), "", froudeSource, "", q, flowText)
	case siphon.Starts:
		if doubted {
			break
		}
		sure := "surely"
		if b.Siphon.StartM3s > 0 {
			sure = "as measured"
		}
		a.ranged(Good, at, name, fmt.Sprintf("{}: flooded by {v}: the siphon starts %s, and stops; window %s.", sure, rangeText(start, to, flowText)), "", froudeSource, "", q, flowText)
	}
	if j.Verdict.Cycles() {
		if free := b.Bed.RimM - b.Works.StartLevelM(); free < leastFreeM-1e-9 {
			a.ranged(Watch, fmt.Sprintf("beds[%d].rim", b.Index), name, "{}: the water comes to {v} below the rim before the siphon starts; 20 mm is the least.", fmt.Sprintf("Lower the crest to %s.", heightText(floorTo(b.Siphon.CrestM-(leastFreeM-free), 0.005))), practice, "", free, heightText)
		}
	}
}

// funnelFor is the width of a funnel that suits a standpipe.
func funnelFor(b *Bed) float64 { return math.Ceil(1.6*b.Siphon.Pipe.DiameterM*1000) / 1000 }

func floorTo(v, step float64) float64 { return math.Floor(v/step+1e-9) * step }
func ceilTo(v, step float64) float64  { return math.Ceil(v/step-1e-9) * step }

// reason says what a judgement found beside the verdict.
func (a *audit) reason(b *Bed, field string, q float64, f siphon.Finding, known bool) {
	name := b.In.Name
	timed := a.s.timedBed(b)
	switch f.Reason {
	case siphon.InflowDribbles:
		if !known {
			return
		}
		what := "{}: at {v} the siphon may dribble on instead of breaking; up to %s it breaks cleanly."
		if timed && a.shutsEarly(b.Index) {
			what = "{}: at {v} the siphon starts, but would dribble on did its valve not shut before; up to %s it breaks cleanly by itself."
		}
		c := a.s.cure(b, q)
		a.ranged(Watch, a.s.pipeField(b)+".set-flow", name, fmt.Sprintf(what, flowText(f.Limit)), c.text+" A snorkel of 6 to 10 mm from the bell's top to the break sharpens it.", practice, "", q, flowText)
	case siphon.DropShort, siphon.DropModest:
		state, what := Watch, "so it may not hold against air: the flow at the break has a Froude number of %.2f, from 2 it carries the air off for sure"
		if f.Reason == siphon.DropShort {
			state, what = Act, "so it will not hold: the flow at the break has a Froude number of %.2f, and below 1 it does not carry the air off"
		}
		a.ranged(state, field+".outlet", name, "{}: the siphon's outlet lies {v} below the break, "+fmt.Sprintf(what, f.Value)+".", a.s.dropCure(b, f.Reason == siphon.DropShort), froudeSource, "", b.Siphon.BreakM-b.Siphon.OutletM, heightText)
	case siphon.PeriodShort:
		if !known || timed {
			return
		}
		a.ranged(Watch, a.s.pipeField(b)+".set-flow", name, "{}: a flood and drain takes {v}; below 3 min roots and siphon have no rest.", a.s.periodCure(b, q, 1.1*f.Limit, false), practice, "", f.Value, spanText)
	case siphon.PeriodLong:
		if !known || timed {
			return
		}
		a.ranged(Watch, a.s.pipeField(b)+".set-flow", name, "{}: a flood and drain takes {v}; roots want one in 2 h at the least.", a.s.periodCure(b, q, 0.9*f.Limit, true), practice, "", f.Value, spanText)
	case siphon.BoreNarrow, siphon.BoreWide:
		a.ranged(Watch, field+".standpipe", name, "{}: the rules for the start were tested on bores of 12 to 52 mm; this one is {v}.", "Find with a bucket the least inflow at which it starts, and give `starts-at`.", froudeSource, "", b.Siphon.Pipe.DiameterM, boreText)
	case siphon.PorosityLow, siphon.PorosityHigh:
		a.oddPores(fmt.Sprintf("beds[%d]", b.Index), name, f.Value)
	case siphon.DeadWaterDeep:
		a.ranged(Watch, field+".siphon-break", name, "{}: {v} of water never drain; beyond 40 mm they go foul.", "Lower the bell's air hole or the snorkel's end to 30 mm.", practice, "", f.Value, heightText)
	case siphon.SuctionDeep:
		a.ranged(Watch, field+".outlet", name, "{}: the suction at the crest comes to {v} of water, beyond 7 m; the pipe may collapse or the water part.", "Raise the outlet, or leave the pipe open to the air lower down.", practice, "", f.Value, heightText)
	case siphon.PipeShort:
		a.ranged(Watch, field+".pipe-length", name, "{}: the siphon's pipe is {v} long, less than from its crest to its outlet.", fmt.Sprintf("Measure it again: at least %s.", heightText(ceilTo(f.Limit, 0.01))), practice, "", f.Value, heightText)
	case siphon.ExitMissing:
		a.say(Watch, field+".k", name, "{}: the loss factors of the siphon's pipe leave out the exit, 1.", "Add 1 to `k`.", practice, "")
	}
}

// shutsEarly reports whether a bed's valve shuts before half its drain is over.
func (a *audit) shutsEarly(bed int) bool {
	if a.t == nil {
		return false
	}
	early := false
	for i := range a.t.Parts {
		for _, turn := range a.t.Parts[i].Turns {
			if turn.Bed == bed {
				if turn.OpenS > turn.FillS+turn.DrainS/2 {
					return false
				}
				early = true
			}
		}
	}
	return early
}

// bell checks what stands about the standpipe.
func (a *audit) bell(b *Bed, field string) {
	const bellWallM = 0.003
	in := b.In.Siphon
	bell := siphon.Bell{InsideM: in.BellM, GapM: in.GapM, SlotsM2: in.SlotsM2, GuardInsideM: in.GuardM, GuardSlotM: in.GuardSlotM, LeastMediaM: leastGrainM(b.In.Media), MediaTopM: cmp.Or(b.In.DepthM, usualBedM)}
	if in.BellM > 0 {
		bell.OutsideM = in.BellM + 2*bellWallM
	}
	bell.StandpipeOutsideM = outsideM(in.StandpipeM)
	found, err := bell.Findings(b.Siphon)
	if err != nil {
		a.say(Watch, field, b.In.Name, "{}: the bell cannot be judged: "+err.Error()+".", "Check its measures.", practice, "")
		return
	}
	name := b.In.Name
	for _, f := range found {
		switch f.Reason {
		case siphon.GapTight:
			a.ranged(Watch, field+".gap", name, "{}: the bell's top lies {v} above the crest, less than a quarter of the crest's width; it holds the water up.", fmt.Sprintf("Raise the bell to a gap of %s.", boreText(ceilTo(2*f.Limit, 0.001))), practice, "", f.Value, boreText)
		case siphon.AnnulusTight:
			least, err := siphon.LeastBellM(in.StandpipeM, bell.StandpipeOutsideM)
			if err != nil {
				continue
			}
			a.ranged(Watch, field+".bell", name, "{}: the room between bell and standpipe is {v}, less than twice the bore.", fmt.Sprintf("Take a bell of at least %s inside.", boreText(ceilTo(least, 0.001))), practice, "", f.Value*1e4, cm2Text)
		case siphon.SlotsTight:
			a.ranged(Watch, field+".slots", name, "{}: the slots at the bell's foot are open by {v}, less than twice the bore.", fmt.Sprintf("Cut them to %s in all.", cm2Text(ceilTo(f.Limit*1e4, 0.1))), practice, "", f.Value*1e4, cm2Text)
		case siphon.GuardTight:
			a.ranged(Watch, field+".guard", name, "{}: {v} lie between bell and media guard; 15 mm is the least to lift the bell and let water by.", fmt.Sprintf("Take a guard of at least %s inside.", boreText(ceilTo(bell.OutsideM+0.03, 0.001))), practice, "", f.Value, boreText)
		case siphon.CrestNearMedia:
			what := "{}: the crest lies {v} below the media's top; 20 mm keep the surface dry against algae and rot."
			if f.Value < 0 {
				what = "{}: the crest lies {v} above the media's top, so the bed floods over it."
			}
			a.ranged(Watch, field+".crest", name, what, fmt.Sprintf("Cut the standpipe to a crest of %s, or fill up media.", heightText(floorTo(bell.MediaTopM-f.Limit, 0.005))), practice, "", math.Abs(f.Value), heightText)
		case siphon.GuardSlotsLarge:
			a.ranged(Watch, field+".guard-slot", name, "{}: the guard's slots are {v} wide and let the smallest media through.", fmt.Sprintf("Take slots narrower than %s.", boreText(f.Limit)), practice, "", f.Value, boreText)
		}
	}
}

func cm2Text(v float64) string { return fmt.Sprintf("%.1f cm²", v) }

var grainRange = regexp.MustCompile(`(\d+)(?:-\d+)? mm`)

// leastGrainM is the smallest grain that a medium's name tells, m; 0 for none.
func leastGrainM(media string) float64 {
	m := grainRange.FindStringSubmatch(media)
	if m == nil {
		return 0
	}
	mm, err := strconv.Atoi(m[1])
	if err != nil {
		return 0
	}
	return float64(mm) / 1000
}

// outsideM is the outside of a pipe of a bore: that of the size as sold, or 2.5 mm
// of wall.
func outsideM(boreM float64) float64 {
	for _, size := range pipe.Sizes() {
		if size.OutsideM > 0 && math.Abs(size.InsideM-boreM) < 0.0004 {
			return size.OutsideM
		}
	}
	return boreM + 0.005
}

// standpipe checks a bed without a bell.
func (a *audit) standpipe(b *Bed, field string, q float64) {
	name := b.In.Name
	if b.Stand.WeepLevelM > mostDeadM {
		a.ranged(Watch, field+".weep-at", name, "{}: {v} of water never drain; beyond 40 mm they go foul.", "Drill the weep hole at 30 mm or lower.", practice, "", b.Stand.WeepLevelM, heightText)
	}
	if math.IsNaN(q) {
		a.say(Watch, a.s.pipeField(b), name, "{}: its inflow is not known.", "Measure it with a bucket, or describe the pump and the pipe to it.", practice, "")
		return
	}
	if q < noFlowM3s {
		return // branches tells
	}
	f, err := b.Stand.Flood(q)
	if err != nil {
		a.say(Act, field, name, "{}: the standpipe cannot be judged: "+err.Error()+".", "Check its measures.", practice, "")
		return
	}
	switch {
	case math.IsNaN(f.FillS):
		head := b.Stand.CrestM - b.Stand.WeepLevelM
		perM2, err := pipe.WeepM3s(b.Stand.WeepM, head)
		if err != nil {
			return
		}
		hole := floorTo(b.Stand.WeepM*math.Sqrt(q/2/perM2), 0.0005)
		a.ranged(Act, field+".weep", name, fmt.Sprintf("{}: at {v} it never fills: under a full bed the weep hole lets out %s.", flowText(perM2)), fmt.Sprintf("Take a weep hole of %s, or bring more than %s.", boreText(hole), flowText(1.2*perM2)), practice, "", q, flowText)
	case f.OverRim:
		d, err := pipe.SelfVentingDiameterM(q)
		if err != nil {
			return
		}
		a.ranged(Act, field+".bore", name, fmt.Sprintf("{}: at {v} the water comes to the rim, %s, and runs over.", heightText(b.Bed.RimM)), fmt.Sprintf("Take a standpipe of %s, or lower its crest.", boreText(ceilTo(d, 0.001))), ventSource, "", q, flowText)
	default:
		if free := b.Bed.RimM - f.HoldM; free < leastFreeM-1e-9 {
			a.ranged(Watch, field+".crest", name, "{}: the water stands {v} below the rim; 20 mm is the least.", fmt.Sprintf("Lower the crest to %s.", heightText(floorTo(b.Stand.CrestM-(leastFreeM-free), 0.005))), practice, "", free, heightText)
		}
		what := "{}: flooded by {v}, it stands " + heightText(f.HoldM) + " deep"
		if b.Way == Timer {
			what += fmt.Sprintf("; full in %s.", spanText(f.FillS))
		} else {
			what += fmt.Sprintf("; its water is renewed in %s.", spanText(f.ExchangeS))
		}
		a.ranged(Good, a.s.pipeField(b), name, what, "", practice, "", q, flowText)
	}
}

// spill checks a bed's second overflow against all the flow that can come.
func (a *audit) spill(b *Bed, field string, q float64) {
	if !a.s.Piped || b.Branch < 0 {
		return
	}
	sole := a.s.soleM3s(b.Branch)
	if !(sole > noFlowM3s) {
		return
	}
	need, err := pipe.SelfVentingDiameterM(sole)
	if err != nil {
		return
	}
	fit := fmt.Sprintf("Fit a second overflow to the sump of at least %s bore, its mouth 20 mm or more below the rim, and give `spill`.", boreText(ceilTo(need, 0.005)))
	if b.In.SpillM == 0 {
		a.ranged(Watch, field+".spill", b.In.Name, "{}: there is no second overflow; with its drain blocked all that comes, {v} with every other valve shut, runs over the rim.", fit, ventSource, "", sole, flowText)
		return
	}
	takes, err := pipe.SelfVentingM3s(b.In.SpillM)
	if err == nil && takes < sole {
		a.ranged(Watch, field+".spill", b.In.Name, fmt.Sprintf("{}: its second overflow takes %s quietly, less than the {v} that can come with every other valve shut.", flowText(takes)), fit, ventSource, "", sole, flowText)
	}
}

// branches checks the ends of the pump's pipes.
func (a *audit) branches() {
	s := a.s
	f, err := s.Flow(0, s.Source.SurfaceM)
	if err != nil {
		a.say(Act, "pipes", s.Loop.Name, "The flows cannot be worked out: "+err.Error()+".", "Check pump and pipes.", practice, "")
		return
	}
	for i := range s.Branches {
		b := &s.Branches[i]
		field := fmt.Sprintf("pipes[%d]", b.Index)
		q := f.BranchM3s[i]
		if b.Timed {
			own, err := s.Flow(maskOf(i), s.Source.SurfaceM)
			if err != nil {
				continue
			}
			q = own.BranchM3s[i]
		}
		if q < noFlowM3s && !a.cannotLift() {
			sole := s.soleM3s(i)
			remedy := "Lower its end, or take a pump with more head."
			if sole > noFlowM3s {
				remedy = "Throttle the branches that flow beside it until water comes, or lower its end."
			}
			a.ranged(Act, field, b.Pipe.To, "{}: no water comes, for its pipe ends {v} above the floor, higher than the head that is left there.", remedy, practice, "", b.OutletM, metreText)
		}
		if want := b.Pipe.SetM3s; want > 0 && q < 0.97*want && q >= noFlowM3s {
			a.ranged(Watch, field+".set-flow", b.Pipe.Name, fmt.Sprintf("{}: set to %s, but with its valve fully open only {v} come.", flowText(want)), "Throttle the others, take a wider pipe or a stronger pump, or set less.", practice, "", q, flowText)
		}
		if b.Drowned && b.Tank >= 0 {
			check := a.checked(b.Index)
			state, more := Act, "with the pump off the water runs back down to its end"
			if check {
				state, more = Watch, "if the check valve leaks the water runs back down to its end"
			}
			end := s.Loop.Tanks[b.Tank].LevelM
			if b.Pipe.EndsAtM != nil {
				end = *b.Pipe.EndsAtM
			}
			a.ranged(state, field+".ends-at", b.Pipe.To, "{}: the pipe to it ends under water, {v} above the floor; "+more+".", fmt.Sprintf("Raise its end above %s, or drill a 6 mm hole in it at least 6 mm above the water.", metreText(s.Loop.Tanks[b.Tank].LevelM)), practice, backSiphons, end, metreText)
		}
	}
}

func metreText(m float64) string { return fmt.Sprintf("%.2f m", m) }

// checked reports whether a check valve stands between the pump and the end of a
// pipe.
func (a *audit) checked(index int) bool { return a.s.checkValveOn(index) >= 0 }

// checkValveOn is the pipe with the check valve on the way from the pump to the end
// of a pipe; -1 for none.
func (s *Scheme) checkValveOn(index int) int {
	l := s.Loop
	for range l.Pipes {
		p := &l.Pipes[index]
		if hasFitting(p, "check valve") {
			return index
		}
		if s.isPump(p.From) {
			return s.footValve(p.From)
		}
		up := slices.IndexFunc(l.Pipes, func(o site.Pipe) bool { return o.To == p.From })
		if up < 0 || up == index {
			return -1
		}
		index = up
	}
	return -1
}

// footValve is the suction pipe of a pump with a foot or check valve; -1 for none.
func (s *Scheme) footValve(pump string) int {
	return slices.IndexFunc(s.Loop.Pipes, func(p site.Pipe) bool {
		return p.To == pump && (hasFitting(&p, "foot valve") || hasFitting(&p, "check valve"))
	})
}

// cannotLift reports whether no pump brings any water in any state.
func (a *audit) cannotLift() bool {
	for _, v := range a.s.states(a.t) {
		if f, err := a.s.Flow(v, a.s.Source.SurfaceM); err != nil || f.TotalM3s > noFlowM3s {
			return false
		}
	}
	return true
}

// pump checks the pumps.
func (a *audit) pump() {
	s := a.s
	if a.cannotLift() {
		lift := math.Inf(1)
		for i := range s.Branches {
			lift = math.Min(lift, s.Branches[i].OutletM-s.Source.SurfaceM)
		}
		for i := range s.Pumps {
			p := &s.Pumps[i]
			a.say(Act, pumpField(s, p), p.In.Name, fmt.Sprintf("{}: it cannot lift the water: its head at no flow is %s, and the lowest outlet lies %s above the water of %s.", metreText(p.Curve.ShutOffM), metreText(lift), s.Source.Name),
				fmt.Sprintf("Take a pump with at least %s of head at the flow you want, or lower the outlets.", metreText(ceilTo(1.3*lift, 0.1))), practice, unplugFirst)
		}
		return
	}
	flags := make([]struct {
		beyond, eta   float64
		atM3s, atHead float64
	}, len(s.Pumps))
	for _, v := range s.states(a.t) {
		f, err := s.Flow(v, s.Source.SurfaceM)
		if err != nil {
			continue
		}
		for i := range s.Pumps {
			p := &s.Pumps[i]
			if q := f.PumpM3s[i]; q > p.Curve.LastM3s*(1+1e-9) {
				flags[i].beyond = math.Max(flags[i].beyond, q)
			}
			wire := p.WireW(f.PumpM3s[i])
			if wire <= 0 || f.PumpM3s[i] < noFlowM3s || f.PumpHeadM[i] <= 0 {
				continue
			}
			eta, err := pipe.Efficiency(f.PumpM3s[i], f.PumpHeadM[i], wire, s.Settings.TempC)
			if err != nil {
				eta = 1
			}
			if wire < 100 && eta > pipe.SmallPumpMostEfficiency && eta > flags[i].eta {
				flags[i].eta, flags[i].atM3s, flags[i].atHead = eta, f.PumpM3s[i], f.PumpHeadM[i]
			}
		}
	}
	for i := range s.Pumps {
		p := &s.Pumps[i]
		field := pumpField(s, p)
		if q := flags[i].beyond; q > 0 {
			a.say(Watch, field+".points", p.In.Name, fmt.Sprintf("{}: it runs at %s, beyond the last point of its curve at %s; there its head is a guess.", flowText(q), flowText(p.Curve.LastM3s)), "Add a point of its curve at a greater flow, or throttle the branches.", practice, "")
		}
		if flags[i].eta > 0 {
			a.say(Watch, field+".points", p.In.Name, fmt.Sprintf("{}: at %s and %s of head it would turn %.0f %% of its power into flow; small pumps turn 5 to 30 %%.", flowText(flags[i].atM3s), metreText(flags[i].atHead), 100*flags[i].eta), "Read its watts at the plug and check the points of its curve.", practice, "")
		}
	}
	if len(s.Pumps) > 0 && s.Source.IntakeM > s.Source.SurfaceM {
		lift := s.Source.IntakeM - s.Source.SurfaceM
		npsh, err := pipe.NPSH(s.Settings.TempC, 0, -lift, a.suctionLossM())
		text := fmt.Sprintf("{}: its intake lies %s above the water of %s, so it draws air unless it primes itself", heightText(lift), s.Source.Name)
		if err == nil {
			text += fmt.Sprintf("; %.1f m of suction head are left at the sea's height, and a pump wants %.1f times what its sheet asks for", npsh, pipe.SafeNPSH)
		}
		a.say(Act, pumpField(s, &s.Pumps[0])+".intake", s.Pumps[0].In.Name, text+".", fmt.Sprintf("Lower the intake to %s above the floor or less.", metreText(floorTo(s.Source.SurfaceM-2*intakeCoverM, 0.01))), practice, unplugFirst)
	}
}

// suctionLossM is the largest loss in the suction pipes.
func (a *audit) suctionLossM() float64 {
	most := 0.0
	for _, v := range a.s.states(a.t) {
		f, err := a.s.Flow(v, a.s.Source.SurfaceM)
		if err != nil {
			continue
		}
		for i := range a.s.Loop.Pipes {
			if a.s.links[i] >= 0 && a.s.isPump(a.s.Loop.Pipes[i].To) {
				most = math.Max(most, f.PipeLossM[i])
			}
		}
	}
	return most
}

func pumpField(s *Scheme, p *PumpAt) string {
	for i := range s.Loop.Pumps {
		if &s.Loop.Pumps[i] == p.In {
			return fmt.Sprintf("pumps[%d]", i)
		}
	}
	return "pumps"
}

// speeds checks velocities in the pump's pipes.
func (a *audit) speeds() {
	s := a.s
	n := len(s.Loop.Pipes)
	most := make([]float64, n)
	flow := make([]float64, n)
	least := make([]float64, n)
	for i := range least {
		least[i] = math.Inf(1)
	}
	for _, v := range s.states(a.t) {
		f, err := s.Flow(v, s.Source.SurfaceM)
		if err != nil {
			continue
		}
		for i := range n {
			if s.links[i] < 0 || math.Abs(f.PipeM3s[i]) < noFlowM3s {
				continue
			}
			speed := math.Abs(f.PipeMS[i])
			if speed > most[i] {
				most[i], flow[i] = speed, math.Abs(f.PipeM3s[i])
			}
			least[i] = math.Min(least[i], speed)
		}
	}
	for i := range n {
		p := &s.Loop.Pipes[i]
		field := fmt.Sprintf("pipes[%d].diameter", i)
		if p.Size != "" {
			field = fmt.Sprintf("pipes[%d].size", i)
		}
		bore := func(ms float64, up bool) float64 {
			d, err := pipe.DiameterForM(flow[i], ms)
			if err != nil {
				return p.BoreM()
			}
			if up {
				return ceilTo(d, 0.001)
			}
			return floorTo(d, 0.001)
		}
		suction := s.isPump(p.To)
		switch {
		case suction && most[i] > pipe.MostSuctionMS:
			a.ranged(Watch, field, p.Name, "{}: {v} before the pump; above 1 m/s it starves.", fmt.Sprintf("Take a suction pipe of at least %s inside.", boreText(bore(0.98*pipe.MostSuctionMS, true))), practice, "", most[i], speedText)
		case most[i] > pipe.MostPressureMS:
			a.ranged(Watch, field, p.Name, "{}: {v}; above 2 m/s the pump works for the pipe's friction and fast valves hammer.", fmt.Sprintf("Take a pipe of at least %s inside.", boreText(bore(1.5, true))), practice, "", most[i], speedText)
		}
		toMedia := slices.ContainsFunc(s.Branches, func(b Branch) bool {
			return b.Index == i && b.Bed >= 0 && (s.Beds[b.Bed].Way == Siphons || s.Beds[b.Bed].Way == Timer || s.Beds[b.Bed].Way == Constant)
		})
		fromTank := suction && s.Source.Tank != nil
		if (toMedia || fromTank) && most[i] > 0 && most[i] < pipe.LeastSolidsMS {
			a.ranged(Watch, field, p.Name, "{}: {v} at the most; below 0.6 m/s solids settle in a pipe that carries them.", fmt.Sprintf("Take a pipe of at most %s inside, or flush it once a week with all else shut.", boreText(bore(1.02*pipe.LeastSolidsMS, false))), solidsSource, "", most[i], speedText)
		}
	}
}

// tankDrains are the pipes by which a tank runs over, by index.
func (s *Scheme) tankDrains(tank string) []int {
	var all []int
	for i := range s.Loop.Pipes {
		if p := &s.Loop.Pipes[i]; p.From == tank && !s.isPump(p.To) {
			all = append(all, i)
		}
	}
	return all
}

// tanks checks overflow, freeboard and turnover of the fish tanks.
func (a *audit) tanks() {
	s := a.s
	for i := range s.Loop.Tanks {
		t := &s.Loop.Tanks[i]
		field := fmt.Sprintf("tanks[%d]", i)
		isSource := s.Source.Tank == t
		comes := 0.0
		for k := range s.Branches {
			if s.Branches[k].Tank == i {
				comes = math.Max(comes, s.soleM3s(k))
			}
		}
		if isSource {
			a.say(Watch, field, t.Name, "{}: the pump draws from it, so its level rises and falls with the floods.", "Let the pump draw from a sump that the tank overflows into; until then hold the intake high.", practice, "")
			continue
		}
		if !(comes >= noFlowM3s) {
			continue
		}
		drains := s.tankDrains(t.Name)
		if len(drains) == 0 {
			a.ranged(Watch, field, t.Name, "{}: no pipe takes its overflow, though up to {v} can come.", "Give the pipe by which it runs over.", ventSource, "", comes, flowText)
		} else {
			takes, wide := 0.0, 0.0
			for _, k := range drains {
				d := s.Loop.Pipes[k].BoreM()
				if q, err := pipe.SelfVentingM3s(d); err == nil {
					takes += q
				}
				wide = math.Max(wide, d)
			}
			if takes < comes {
				need, err := pipe.SelfVentingDiameterM(comes)
				if err == nil {
					a.ranged(Watch, fmt.Sprintf("pipes[%d].diameter", drains[0]), t.Name, fmt.Sprintf("{}: its overflow takes %s quietly, less than the {v} that can come with every other valve shut.", flowText(takes)), fmt.Sprintf("Take an overflow of at least %s inside, or a second one.", boreText(ceilTo(need, 0.005))), ventSource, "", comes, flowText)
				}
			}
			rim := t.RimM
			if rim == 0 {
				rim = t.LevelM + usualTankFreeM
			}
			over := math.Pow(comes/(rimCoef*math.Pi*wide*float64(len(drains))), 2.0/3)
			if free := rim - t.LevelM; free < over+leastFreeM {
				a.ranged(Watch, field+".rim", t.Name, fmt.Sprintf("{}: the rim lies %s above the water, but the overflow wants {v} with all the flow that can come, 20 mm to spare.", heightText(free)), fmt.Sprintf("Lower the overflow by %s.", heightText(ceilTo(over+leastFreeM-free, 0.005))), practice, "", over+leastFreeM, heightText)
			}
		}
	}
	a.turnover()
}

// rimCoef is of flow = rimCoef π D H^1.5 over the rim of an overflow, SI.
const rimCoef = 2.0 / 3 * 0.60 * 4.42869

// turnover checks the water led through each fish tank in an hour.
func (a *audit) turnover() {
	s := a.s
	mean := s.meanM3s(a.t)
	if mean == nil {
		return
	}
	for i := range s.Loop.Tanks {
		t := &s.Loop.Tanks[i]
		through := 0.0
		for k := range s.Branches {
			b := &s.Branches[k]
			if b.Tank == i || b.Bed >= 0 && s.drainsInto(b.Bed, t.Name) {
				through += mean[k]
			}
		}
		if s.Source.Tank == t {
			through = 0
			for _, q := range mean {
				through += q
			}
		}
		perH := through * 3600 / t.VolumeM3
		field := fmt.Sprintf("tanks[%d]", i)
		text := func(v float64) string { return fmt.Sprintf("%.1f", v) }
		aim := flowText(t.VolumeM3 / 3600)
		switch {
		case perH <= 0:
			a.say(Watch, field, t.Name, "{}: none of the pump's pipes leads to it.", "Lead a pipe to it, or describe the one there is.", practice, "")
		case perH < leastTurnover:
			a.ranged(Watch, field, t.Name, "{}: its water is renewed {v} times an hour; less than 0.5 leaves waste lying.", fmt.Sprintf("Set its valve to %s, once an hour.", aim), "fao-589, from memory: once to twice an hour; the water's oxygen and ammonia override it", "", perH, text)
		case perH > mostTurnover:
			a.ranged(Watch, field, t.Name, "{}: its water is renewed {v} times an hour; more than 4 costs power and tires the fish.", fmt.Sprintf("Set its valve to %s, twice an hour.", flowText(2*t.VolumeM3/3600)), "fao-589, from memory: once to twice an hour; the water's oxygen and ammonia override it", "", perH, text)
		}
	}
}

// drainsInto reports whether a bed's drain ends in a tank.
func (s *Scheme) drainsInto(bed int, tank string) bool {
	d := s.Beds[bed].Drain
	return d >= 0 && s.Loop.Pipes[d].To == tank
}

// meanM3s is the mean flow of each branch over the day; nil when not known. Without
// a timetable the timed valves share the day evenly.
func (s *Scheme) meanM3s(t *Timetable) []float64 {
	if t != nil {
		mean := make([]float64, len(s.Branches))
		hours := 0.0
		for i := range t.Parts {
			p := &t.Parts[i]
			if len(p.MeanM3s) != len(mean) {
				continue
			}
			hours += p.Hours()
			for k, q := range p.MeanM3s {
				mean[k] += q * p.Hours()
			}
		}
		if hours > 0 {
			for k := range mean {
				mean[k] /= hours
			}
			return mean
		}
	}
	mean := make([]float64, len(s.Branches))
	states := []Valves{0}
	if timed := s.Timed(); len(timed) > 0 {
		states = nil
		for _, k := range timed {
			states = append(states, maskOf(k))
		}
	}
	for _, v := range states {
		f, err := s.Flow(v, s.Source.SurfaceM)
		if err != nil {
			return nil
		}
		for k, q := range f.BranchM3s {
			mean[k] += q / float64(len(states))
		}
	}
	return mean
}

// drains checks the pipes that lead water away by its own weight.
func (a *audit) drains() {
	s := a.s
	for i := range s.Beds {
		b := &s.Beds[i]
		if b.Drain < 0 {
			continue
		}
		p := &s.Loop.Pipes[b.Drain]
		field := fmt.Sprintf("pipes[%d].diameter", b.Drain)
		q, bore := a.inM3s[i], 0.0
		fromM := b.OutletM()
		switch b.Way {
		case Siphons:
			q = b.Works.FullM3s(b.Works.StartLevelM())
			bore = cmp.Or(b.Siphon.Lower.DiameterM, b.Siphon.Pipe.DiameterM)
		case Timer, Constant:
			bore = b.Stand.DiameterM
		case Floating:
			fromM = b.In.FloorM + cmp.Or(b.In.DepthM, usualBedM)
		}
		if p.BoreM() < bore-1e-6 {
			a.ranged(Act, field, b.In.Name, fmt.Sprintf("{}: the drain behind is {v} inside, narrower than the pipe of %s before it, and backs up.", boreText(bore)), fmt.Sprintf("Take a drain of %s inside or more.", boreText(bore)), practice, "", p.BoreM(), boreText)
			continue
		}
		toM, known := s.endsM(p)
		if !known || math.IsNaN(q) || q < noFlowM3s || p.LengthM < 0.1 {
			continue
		}
		fall := fromM - toM
		if math.Abs(fall) < 0.002 {
			continue // it ends at the water
		}
		if fall < 0 {
			a.ranged(Watch, fmt.Sprintf("pipes[%d]", b.Drain), b.In.Name, "{}: its drain ends {v} higher than its outlet, so the outlet stands under water.", "Lower its end, or the water it runs into.", slopeSource, "", -fall, heightText)
			continue
		}
		slope := math.Min(1, fall/p.LengthM)
		takes, _, err := pipe.ManningPartFull(p.BoreM(), slope, pipe.DefaultManning, gutterShare)
		if err != nil {
			continue
		}
		if takes < q {
			need := ceilTo(p.BoreM()*math.Pow(1.02*q/takes, 3.0/8), 0.001)
			a.ranged(Watch, field, b.In.Name, fmt.Sprintf("{}: the drain behind takes {v} three quarters full, by its fall and length; %s come, so it runs full and pulls on what it drains.", flowText(q)), "Take a drain of at least {w} inside, or a shorter one.", slopeSource, "", takes, flowText)
			a.worstOf(need, boreText(need))
		}
	}
	for i := range s.Loop.Tanks {
		a.solids(&s.Loop.Tanks[i])
	}
}

// solids checks the speed in a tank's overflow.
func (a *audit) solids(t *site.Tank) {
	s := a.s
	mean := 0.0
	if s.Piped {
		if f, err := s.Flow(0, s.Source.SurfaceM); err == nil {
			for k := range s.Branches {
				if s.Branches[k].Tank >= 0 && &s.Loop.Tanks[s.Branches[k].Tank] == t && !s.Branches[k].Timed {
					mean += f.BranchM3s[k]
				}
			}
		}
	}
	drains := s.tankDrains(t.Name)
	if mean < noFlowM3s || len(drains) == 0 {
		return
	}
	q := mean / float64(len(drains))
	for _, k := range drains {
		p := &s.Loop.Pipes[k]
		toM, known := s.endsM(p)
		if !known || p.LengthM < 0.1 || t.LevelM <= toM {
			continue
		}
		slope := math.Min(1, (t.LevelM-toM)/p.LengthM)
		ms := partFullMS(p.BoreM(), slope, q)
		if ms < pipe.LeastSolidsMS {
			a.ranged(Watch, fmt.Sprintf("pipes[%d].diameter", k), p.Name, "{}: {v}; below 0.6 m/s solids from the fish settle in it.", "Take a narrower overflow or give it more fall; until then flush it once a week.", solidsSource, "", ms, speedText)
		}
	}
}

// partFullMS is the velocity of a flow in a drain that runs partly full, or full.
func partFullMS(diameterM, slope, flowM3s float64) float64 {
	lo, hi := 0.01, 0.93
	speed := math.Inf(1)
	for range 40 {
		mid := (lo + hi) / 2
		q, ms, err := pipe.ManningPartFull(diameterM, slope, pipe.DefaultManning, mid)
		if err != nil {
			return speed
		}
		speed = ms
		if q < flowM3s {
			lo = mid
		} else {
			hi = mid
		}
	}
	return speed
}

// endsM is the height above the floor at which a drain lets its water go.
func (s *Scheme) endsM(p *site.Pipe) (float64, bool) {
	l := s.Loop
	if p.EndsAtM != nil {
		return *p.EndsAtM, true
	}
	if strings.EqualFold(p.To, "sump") {
		return l.SumpLevelM, true
	}
	for i := range l.Tanks {
		if l.Tanks[i].Name == p.To {
			return l.Tanks[i].LevelM, true
		}
	}
	for i := range l.Beds {
		if l.Beds[i].Name == p.To {
			return l.Beds[i].FloorM + cmp.Or(l.Beds[i].DepthM, usualBedM), true
		}
	}
	return 0, false
}

// sold looks for bores that are the outside of a pipe as sold.
func (a *audit) sold() {
	type seen struct {
		outside, bore float64
		size          string
		names         []string
		field         string
	}
	var all []seen
	look := func(m float64, name, field string) {
		if m <= 0 {
			return
		}
		outside, size, inside := soldAs(m)
		if outside == 0 {
			return
		}
		k := slices.IndexFunc(all, func(o seen) bool { return o.size == size })
		if k < 0 {
			all = append(all, seen{outside, inside, size, nil, field})
			k = len(all) - 1
		}
		all[k].names = append(all[k].names, name)
	}
	for i := range a.s.Loop.Pipes {
		p := &a.s.Loop.Pipes[i]
		look(p.DiameterM, p.Name, fmt.Sprintf("pipes[%d].diameter", i))
	}
	for i := range a.s.Loop.Beds {
		if in := a.s.Loop.Beds[i].Siphon; in != nil {
			look(in.StandpipeM, "the standpipe of "+a.s.Loop.Beds[i].Name, fmt.Sprintf("beds[%d].siphon.standpipe", i))
		}
	}
	if len(all) == 0 {
		return
	}
	var widths []string
	n := 0
	for _, o := range all {
		widths = append(widths, fmt.Sprintf("%s (%s is %s inside)", boreText(o.outside), o.size, boreText(o.bore)))
		n += len(o.names)
	}
	what := "One inside width is the outside one of a pipe as sold: "
	if n > 1 {
		what = fmt.Sprintf("%d inside widths are the outside ones of pipes as sold: ", n)
	}
	const most = 4
	if len(widths) > most {
		widths = append(widths[:most:most], fmt.Sprintf("%d more", len(all)-most))
	}
	about := all[0].names
	for _, o := range all[1:] {
		about = append(slices.Clip(about), o.names...)
	}
	a.notes = append(a.notes, note{Finding{Watch, all[0].field, "", what + strings.Join(widths, ", ") + ".", "Measure one of each across the inside, or give `size` instead of `diameter`.", practice, ""}, about, 0, 0, nil, "", 0})
}

// soldAs is the size as sold whose outside a width is, of the pressure pipe with
// the thinner wall; 0 when there is none or when the width is some pipe's bore too.
func soldAs(m float64) (outsideM float64, size string, insideM float64) {
	for _, s := range pipe.Sizes() {
		if math.Abs(s.InsideM-m) < 0.0002 || math.Abs(s.LikelyM-m) < 0.0002 {
			return 0, "", 0
		}
		if outsideM == 0 && s.OutsideM > 0 && math.Abs(s.OutsideM-m) < 0.0003 {
			outsideM, size, insideM = s.OutsideM, s.Family+" "+s.Nominal, s.LikelyM
		}
	}
	return outsideM, size, insideM
}

// timetable checks duty and the level of what the pump draws from.
func (a *audit) timetable() {
	s, t := a.s, a.t
	src := &s.Source
	if t == nil || !s.Piped {
		return
	}
	for i := range t.Parts {
		if p := &t.Parts[i]; p.Duty > mostDuty {
			a.say(Watch, "timetable.floods", s.Loop.Name, fmt.Sprintf("By %s some valve is open %.0f %% of the time; above 95 %% one slow fill puts the whole turn out.", p.Name, 100*p.Duty), fmt.Sprintf("Flood %.2g times an hour or less.", 0.9*p.AskedPerHour*mostDuty/p.Duty), practice, "")
		}
	}
	c, err := s.Run(t, RunOptions{Seconds: 86400})
	if err != nil {
		return
	}
	field, name := s.sourceField(), src.Name
	need := src.IntakeM + intakeCoverM
	if c.SourceLowM < need-1e-6 {
		rise := ceilTo(need-c.SourceLowM, 0.01)
		state, what := Watch, "the pump draws air in whirls"
		if c.SourceLowM <= src.IntakeM+1e-3 {
			state, what = Act, "the pump runs dry"
		}
		a.say(state, field, name, fmt.Sprintf("{}: in the course of a day its water sinks to %s, the pump's intake lies %s; with less than 50 mm over it %s.", levelText(c.SourceLowM), levelText(src.IntakeM), what),
			fmt.Sprintf("Top up by %s (%s), lower the intake by as much, or flood fewer beds at a time.", heightText(rise), litreText(rise*src.AreaM2)), practice, unplugFirst)
	} else {
		a.say(Good, field, name, fmt.Sprintf("{}: its water stands between %s in the course of a day; the intake lies %s.", levelsText(c.SourceLowM, c.SourceHighM), levelText(src.IntakeM)), "", practice, "")
	}
	if c.SourceHighM > src.RimM+1e-6 {
		a.say(Act, field, name, fmt.Sprintf("{}: in the course of a day its water comes to the rim, %s, and runs over.", metreText(src.RimM)), "Take water out while the beds are drained.", practice, "")
	}
}

// films tells where the film in pipes changes a verdict.
func (a *audit) films() {
	s := a.s
	o := s.Settings
	o.New = !o.New
	other, err := Draw(s.Loop, o)
	if err != nil || other == nil || !other.Piped {
		return
	}
	clean, filmed := s.plannedM3s(nil), other.plannedM3s(nil)
	mine := clean
	if !s.Settings.New {
		clean, filmed = filmed, clean
	}
	for i := range s.Beds {
		b, w := &s.Beds[i], other.Beds[i].Works
		if b.Works == nil || w == nil || math.IsNaN(mine[i]) {
			continue
		}
		cleanWorks, filmedWorks := b.Works, w
		if !s.Settings.New {
			cleanWorks, filmedWorks = w, b.Works
		}
		jc, err1 := cleanWorks.Judge(clean[i])
		jf, err2 := filmedWorks.Judge(filmed[i])
		if err1 != nil || err2 != nil || jc.Verdict == jf.Verdict {
			continue
		}
		state := Watch
		if jc.Verdict.Cycles() && jf.Verdict.Cycles() {
			state = Good
		}
		remedy := ""
		if state == Watch {
			remedy = "Size siphon and valve by the filmed pipes, or brush the pipes through each month."
		}
		a.say(state, s.pipeField(b), b.In.Name, fmt.Sprintf("{}: with clean pipes the siphon %s, with the film that grows within weeks it %s.", verdictWords(jc.Verdict), verdictWords(jf.Verdict)), remedy, practice, "")
	}
}

// verdictWords says a verdict, after "the siphon".
func verdictWords(v siphon.Verdict) string {
	switch v {
	case siphon.WillNotStart:
		return "will not start"
	case siphon.Doubtful:
		return "starts or not"
	case siphon.ShouldStart:
		return "should start"
	case siphon.Starts:
		return "starts surely"
	case siphon.NeverStops:
		return "never stops"
	}
	return "lets the bed run over"
}

// worst tells of faults that empty a tank and of a power cut that runs over.
func (a *audit) worst(faults []Fault) {
	for _, f := range EmptiesTank(faults) {
		a.say(Act, f.Field, f.About, "{}: "+f.What, f.Remedy, practice, f.Caution)
	}
	src := &a.s.Source
	for i := range faults {
		if f := &faults[i]; f.Kind == PowerCut && f.FloorM3 > leastFloorM3 && !f.empties() {
			a.say(f.State, f.Field, src.Name, fmt.Sprintf("{}: topped up to its mark while all beds stand full, it rises to %s at a power cut; %s run over its rim, %.2f m.", levelText(src.RimM+f.FloorM3/src.AreaM2), litreText(f.FloorM3), src.RimM), strings.TrimSpace(strings.TrimSuffix(f.Remedy, airFirst)), practice, f.Caution)
		}
	}
}

// cure is what puts a siphon into its window.
type cure struct {
	boreM     float64 // of another standpipe; 0: none of those to be had does
	inflowM3s float64 // of another inflow; 0: none does
	text      string
}

// grade is how well a siphon goes with an inflow, from 0, not at all, to 3.
func grade(w *siphon.Works, inflowM3s float64) int {
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
	quiet.assumed = nil
	made, err := quiet.siphonBed(Bed{In: in, Index: like.Index, PlanM2: like.PlanM2, Bed: like.Bed})
	if err != nil {
		return nil, err
	}
	return made.Works, nil
}

// cure finds another bore or inflow with which a bed floods and drains, and tries
// it in the model.
func (s *Scheme) cure(b *Bed, inflowM3s float64) cure {
	var c cure
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
	c.inflowM3s = goodInflow(b.Works, inflowM3s)
	var ways []string
	if c.boreM > 0 {
		w, err := s.WithBore(b, c.boreM)
		if err == nil {
			from, to := w.GoodWindow()
			ways = append(ways, fmt.Sprintf("put in a standpipe of %s bore, whose window is %s", boreText(c.boreM), rangeText(from, to, flowText)))
		}
	}
	switch {
	case c.inflowM3s > inflowM3s:
		if b.Branch >= 0 && s.Piped && s.soleM3s(b.Branch) < c.inflowM3s {
			c.inflowM3s = 0
			break
		}
		ways = append(ways, fmt.Sprintf("bring %s to it by throttling the others", flowText(c.inflowM3s)))
	case c.inflowM3s > 0 && c.inflowM3s < inflowM3s:
		ways = append([]string{fmt.Sprintf("set its valve to %s (`set-flow`)", flowText(c.inflowM3s))}, ways...)
	}
	switch len(ways) {
	case 0:
		c.text = "No usual bore and no inflow of this pump puts it right: lower its outlet, or feed it otherwise."
	case 1:
		c.text = sentenceCase(ways[0]) + "."
	default:
		c.text = sentenceCase(ways[0]) + ", or " + ways[1] + "."
	}
	return c
}

// goodInflow is an inflow near the one there is with which a siphon goes well, in
// whole L/min where they are that many; 0 when there is none.
func goodInflow(w *siphon.Works, nowM3s float64) float64 {
	start, full := w.Window()
	from, to := surelyAbove*start, quietDribble*full
	if sure := 1.02 * w.FlowAtFroudeM3s(siphon.FroudeSwept); sure <= to && w.Siphon().StartM3s == 0 {
		from = math.Max(from, sure)
	}
	if from > to {
		return 0
	}
	q := math.Min(math.Max(nowM3s, from), to)
	unit := 1.0 / 60000
	if q < 10*unit {
		unit /= 10
	}
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
// number at the break, or the one to be had. Its pipe grows as long.
func (s *Scheme) dropCure(b *Bed, short bool) string {
	if at := s.leastDropM(b, siphon.FroudeHeld); at > 0 {
		return fmt.Sprintf("Lower its outlet to %s below the break.", heightText(at))
	}
	if at := s.leastDropM(b, siphon.FroudeSwept); short && at > 0 {
		return fmt.Sprintf("Lower its outlet to %s below the break or more.", heightText(at))
	}
	return "Take a narrower standpipe or fewer bends, which hold better."
}

// leastDropM is the drop from break to outlet, to 10 mm, at which the running
// siphon has a Froude number; 0 when 3 m are not enough.
func (s *Scheme) leastDropM(b *Bed, froude float64) float64 {
	const most = 3.0
	now := b.Siphon.BreakM - b.Siphon.OutletM
	at := func(drop float64) bool {
		sp := b.Siphon
		more := drop - now
		sp.OutletM = sp.BreakM - drop
		if sp.Lower.DiameterM > 0 {
			sp.Lower.LengthM += more
		} else {
			sp.Pipe.LengthM += more
		}
		w, err := siphon.New(b.Bed, sp, s.Settings.TempC)
		if err != nil {
			return false
		}
		_, full := w.Window()
		return w.Froude(full) >= froude
	}
	for drop := ceilTo(now, 0.01); drop <= most; drop += 0.01 {
		if drop > now && at(drop) {
			return math.Round(drop*100) / 100
		}
	}
	return 0
}

// periodCure is an inflow with which a steady flood and drain takes a time.
func (s *Scheme) periodCure(b *Bed, nowM3s, periodS float64, faster bool) string {
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
	if !(hi > lo) || !(period(lo) >= periodS) || !(period(hi) <= periodS) {
		if faster {
			return "Take a wider standpipe and more inflow, or a lower crest."
		}
		return "Raise the crest, or take a narrower standpipe and less inflow."
	}
	for range 60 {
		mid := (lo + hi) / 2
		if period(mid) > periodS {
			lo = mid
		} else {
			hi = mid
		}
	}
	return fmt.Sprintf("Set its valve to %s (`set-flow`).", flowText(hi))
}
