package plumbing

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/pipe"
	"tidebed/science/water"
	"tidebed/site"
	"tidebed/words"
)

// FaultKind is what goes wrong.
type FaultKind string

// The kinds of faults.
const (
	ValveOpen    FaultKind = "valve-open"          // a timed valve stays open
	ValveShut    FaultKind = "valve-shut"          // a valve stays shut, or is shut by mistake
	NeverStarted FaultKind = "siphon-never-starts" // water runs over the crest
	NeverStopped FaultKind = "siphon-never-stops"  // it runs on below the break
	DrainBlocked FaultKind = "drain-blocked"       // of a bed or a tank
	HoseOff      FaultKind = "hose-off"            // a pipe of the pump's is off at its end, or at the pump
	PumpLost     FaultKind = "pump-lost"           // the pump stands still, all else has power
	PowerCut     FaultKind = "power-cut"           // at the worst moment
	BackSiphon   FaultKind = "check-valve-leaks"   // water runs back from a tank through a pipe that ends under its surface
	TankPipeOff  FaultKind = "tank-pipe-off"       // the pipe by which a tank runs over or is drawn from comes off
	RunsDry      FaultKind = "pump-runs-dry"       // nobody tops up
)

// Fault is one thing that can go wrong, and where the water goes then.
type Fault struct {
	ID          string    `json:"id"` // kind and what it befalls: "valve-open/north 1"
	Kind        FaultKind `json:"kind"`
	About       string    `json:"about"`       // bed, pipe, pump or tank; of several like ones the worst first: "north 3, north 1 and 2"
	Field       string    `json:"field"`       // as of Finding, of the first named
	What        string    `json:"what"`        // what happens and where the water goes
	Tanks       []TankLow `json:"tanks"`       // how low each tank gets, as Loop.Tanks
	SourceLowM  float64   `json:"sourceLowM"`  // of the water the pump draws from, above the floor of the building
	SourceHighM float64   `json:"sourceHighM"` // up to its rim
	FloorM3     float64   `json:"floorM3"`     // water on the floor
	DryH        float64   `json:"-"`           // hours until roots of the beds concerned run dry; +Inf: they do not. In JSON "dryH", null for +Inf
	FishCase    string    `json:"fishCase"`    // "", "pump", "power" or "inlet": which hours in hand to look up
	FishTank    string    `json:"fishTank"`    // with "inlet"
	State       State     `json:"state"`
	Remedy      string    `json:"remedy"`
	Caution     string    `json:"caution"`
}

// MarshalJSON writes dryH, null when the roots do not run dry.
func (f Fault) MarshalJSON() ([]byte, error) {
	type plain Fault
	out := struct {
		plain
		DryH *float64 `json:"dryH"`
	}{plain: plain(f)}
	if !math.IsInf(f.DryH, 0) && !math.IsNaN(f.DryH) {
		out.DryH = &f.DryH
	}
	return json.Marshal(out)
}

// TankLow is how low a tank gets.
type TankLow struct {
	Tank   string  `json:"tank"`
	Share  float64 `json:"share"`  // of its usual water that is left, up to 1
	LevelM float64 `json:"levelM"` // above the floor of the building
}

const (
	leastTankShare = 0.60 // of its water that a fish tank is to keep; common practice, no source
	keepTankShare  = 0.65 // to which remedies hold it
	faultRunS      = 86400.0
	dryMattersS    = 600.0 // that a pump without water counts
	leastFloorM3   = 1e-3  // that counts as water on the floor
	likeInflow     = 0.05  // by which the inflows of beds may differ, one of which stands for all
	likeShare      = 0.10  // by which like faults may differ
	soakM3         = 0.1   // into a tub's soil beyond the usual, that counts
	overflowDropM  = 0.05  // below the surface to which a tank empties through an overflow that comes off
)

// The cases of package inhand.
const (
	fishPump  = "pump"
	fishPower = "power"
	fishInlet = "inlet"
)

// Faults works out what each thing that can fail does, one at a time, while all
// else goes on for 24 hours: each timed valve stuck open or shut, the valve of each
// tank and raft shut, each siphon that never starts or never stops, each drain
// blocked, each of the pump's pipes off at its end and at the pump, the pump lost,
// a power cut at the worst moment, water running back through a pipe that ends
// under water, each tank's own pipe off, nobody topping up. Like faults of like beds
// are one, the worst named first. Those to act on come first, then by water on the
// floor, then by hours until roots are dry.
//
// t is the loop's timetable; nil stands for the one that Plan makes.
//
// Simple, and what it costs: of beds of one kind that get their water alike, and
// whose inflow, size and flood lie within 5 % of each other, the one that gets most
// water in a day is followed for all; where that leaves more than six to follow, 10,
// 20, 40 % or any difference counts as alike. So of many unlike beds the worst of
// each sort is told, and the others are said to be no worse; a hose that is off loses what would have come to its
// end, in truth somewhat more; the floor is taken to be dry before, and nobody
// comes for a day; the power cut's worst moment is every bed full to its crest and
// its siphon just started: the few mm above the crest that a start takes are left
// out. Water that someone added while the beds stood full counts in the power cut
// alone.
//
// Errors: what Plan and Run refuse. A loop without pump or pipes has only the
// faults of its tanks' own pipes.
func (s *Scheme) Faults(t *Timetable) ([]Fault, error) {
	w := &worry{s: s, u: s.say()}
	if s.Piped {
		if t == nil {
			made, err := s.Plan(GoalOf(s.Loop))
			if err != nil {
				return nil, err
			}
			t = made
		}
		w.t = t
		if w.day = s.dayOf(t); w.day == nil {
			if _, err := s.Run(t, RunOptions{Seconds: faultRunS}); err != nil {
				return nil, fmt.Errorf("faults: %w", err)
			}
			return nil, fmt.Errorf("faults: loop %s: %w", s.Loop.Name, errNoTimetable)
		}
		w.like()
		for _, step := range []func() error{w.valves, w.siphons, w.blocked, w.hoses} {
			if err := step(); err != nil {
				return nil, fmt.Errorf("faults: %w", err)
			}
		}
		w.pumpLost()
		w.powerCut()
		w.backSiphons()
		w.runsDry()
	}
	w.tankPipes()
	return w.merged(), nil
}

// EmptiesTank are the faults that take a fish tank below 60 % of its water.
func EmptiesTank(faults []Fault) []Fault {
	var all []Fault
	for i := range faults {
		if faults[i].empties() {
			all = append(all, faults[i])
		}
	}
	return all
}

func (f *Fault) empties() bool {
	return slices.ContainsFunc(f.Tanks, func(l TankLow) bool { return l.Share < leastTankShare-1e-9 })
}

// worry gathers faults.
type worry struct {
	s    *Scheme
	u    say
	t    *Timetable
	day  *Course // when all works
	all  []trouble
	rep  []int // by bed, the one that stands for it
	kept *bool // of keeps
}

// mostLeaders is how many beds of one kind are followed.
const mostLeaders = 6

// like finds the beds that stand for others.
func (w *worry) like() {
	s := w.s
	in := s.plannedM3s(w.t)
	order := make([]int, len(s.Beds))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(w.day.Beds[b].InM3, w.day.Beds[a].InM3) })
	near := func(a, b, tol float64) bool { return !(math.Abs(a-b) > tol*math.Max(math.Abs(a), math.Abs(b))) }
	w.rep = make([]int, len(s.Beds))
	kind := make([]int, len(s.Beds)) // the first bed of its kind
	for i := range s.Beds {
		kind[i] = i
		if k := slices.IndexFunc(s.Beds[:i], func(b Bed) bool { return s.alike(&s.Beds[i], &b) }); k >= 0 {
			kind[i] = k
		}
	}
	for first := range s.Beds {
		if kind[first] != first {
			continue
		}
		for _, tol := range []float64{likeInflow, 0.1, 0.2, 0.4, math.Inf(1)} {
			var leaders []int
			for _, i := range order {
				if kind[i] != first {
					continue
				}
				a := &s.Beds[i]
				k := slices.IndexFunc(leaders, func(k int) bool {
					b := &s.Beds[k]
					return math.IsInf(tol, 1) || near(in[i], in[k], tol) && near(a.PlanM2, b.PlanM2, tol) && near(a.floodM3(), b.floodM3(), tol) && near(a.Bed.RimM, b.Bed.RimM, tol) && near(w.day.Beds[i].InM3, w.day.Beds[k].InM3, tol)
				})
				if k < 0 {
					leaders = append(leaders, i)
					w.rep[i] = i
				} else {
					w.rep[i] = leaders[k]
				}
			}
			if len(leaders) <= mostLeaders {
				break
			}
		}
	}
}

// alike reports whether two beds are of one kind for what can fail.
func (s *Scheme) alike(a, b *Bed) bool {
	x, y := a.In, b.In
	spill := (x.SpillM > 0) == (y.SpillM > 0) && math.Abs(x.SpillM-y.SpillM) < 0.005
	return a.Way == b.Way && x.Kind == y.Kind && x.Media == y.Media && spill && len(s.feeds(a.Index)) == len(s.feeds(b.Index)) && s.timedBed(a) == s.timedBed(b) &&
		(a.Branch < 0) == (b.Branch < 0) && (a.Drain < 0) == (b.Drain < 0) && s.endsElsewhere(a) == s.endsElsewhere(b)
}

// leadersFirst are the indices of n things, those of beds that stand for others
// before them; bed tells whose a thing is, -1 for none.
func (w *worry) leadersFirst(n int, bed func(i int) int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	led := func(i int) int {
		if k := bed(i); k >= 0 && w.rep[k] != k {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(all, func(a, b int) int { return cmp.Compare(led(a), led(b)) })
	return all
}

func (w *worry) branchBed(i int) int { return w.s.Branches[i].Bed }

func (w *worry) itself(i int) int { return i }

// asBefore takes a fault of a bed from that of the bed that stands for it, and
// reports whether one does.
func (w *worry) asBefore(kind FaultKind, bed int, field string) bool {
	if bed < 0 || w.rep[bed] == bed {
		return false
	}
	of := w.s.Beds[w.rep[bed]].In.Name
	k := slices.IndexFunc(w.all, func(x trouble) bool { return x.Kind == kind && x.name == of })
	if k < 0 {
		return false
	}
	x := w.all[k]
	x.at = bed
	x.name, x.Field, x.Tanks = w.s.Beds[bed].In.Name, field, slices.Clone(x.Tanks)
	w.all = append(w.all, x)
	return true
}

// trouble is a fault whose like are to be merged.
type trouble struct {
	Fault
	way    Way
	name   string
	at     int                               // the bed, for the order of names
	self   string                            // of the bed that was followed for it
	tell   func(f *Fault, by company) string // what happens, after merging
	thirst []string                          // beds that run dry
	full   []string                          // beds that flood no more, or seldom, and stay full
}

// levels are the tanks, undisturbed.
func (s *Scheme) levels() []TankLow {
	all := make([]TankLow, len(s.Loop.Tanks))
	for i := range all {
		all[i] = TankLow{s.Loop.Tanks[i].Name, 1, s.Loop.Tanks[i].LevelM}
	}
	return all
}

// lowered is how low a tank is when its water stands at a height.
func (s *Scheme) lowered(tank int, levelM float64) TankLow {
	t := &s.Loop.Tanks[tank]
	depth := cmp.Or(t.DepthM, usualDepthM)
	levelM = math.Min(math.Max(levelM, t.LevelM-depth), t.LevelM)
	return TankLow{t.Name, 1 - (t.LevelM-levelM)/depth, levelM}
}

func (s *Scheme) tankM2(tank int) float64 {
	t := &s.Loop.Tanks[tank]
	return t.VolumeM3 / cmp.Or(t.DepthM, usualDepthM)
}

// sourceTank is the index of the tank the pump draws from; -1 for the sump.
func (s *Scheme) sourceTank() int {
	for i := range s.Loop.Tanks {
		if &s.Loop.Tanks[i] == s.Source.Tank {
			return i
		}
	}
	return -1
}

// put adds a fault: fills the tanks, finds the state.
func (w *worry) put(x trouble) {
	s := w.s
	if x.Tanks == nil {
		x.Tanks = s.levels()
	}
	x.self = x.name
	x.at = slices.IndexFunc(s.Beds, func(b Bed) bool { return b.In.Name == x.name })
	if k := s.sourceTank(); k >= 0 {
		if low := s.lowered(k, x.SourceLowM); low.Share < x.Tanks[k].Share {
			x.Tanks[k] = low
		}
	}
	if x.FloorM3 < leastFloorM3/10 {
		x.FloorM3 = 0
	}
	if x.DryH == 0 {
		x.DryH = math.Inf(1)
	}
	switch {
	case x.empties():
		x.State = Act
		x.Remedy = w.keepTank(&x)
		x.Caution = "A fish tank runs down: see to this before fish go in."
	case x.FloorM3 > leastFloorM3, x.FishCase != "", !math.IsInf(x.DryH, 1):
		x.State = Watch
	case x.State == "":
		x.State = Good
	}
	w.all = append(w.all, x)
}

// keepTank is what keeps a tank's water: the height to which an intake or the end
// of a pipe must come.
func (w *worry) keepTank(x *trouble) string {
	s := w.s
	k := 0
	for i := range x.Tanks {
		if x.Tanks[i].Share < x.Tanks[k].Share {
			k = i
		}
	}
	tank := &s.Loop.Tanks[k]
	keep := s.keepM(k)
	switch {
	case x.Kind == BackSiphon:
		return fmt.Sprintf("Raise the end of that pipe to %s or higher (`ends-at`), best above the water, or drill a hole of %s in it, as far above the water or more.", w.u.level(keep), w.u.bore(antiSiphonM))
	case x.Kind == TankPipeOff && s.sourceTank() != k:
		return fmt.Sprintf("Lead the overflow over a standpipe in %s whose mouth lies %s or higher (`empties-to`).", tank.Name, w.u.level(keep))
	}
	if !w.keeps(k, keep) {
		return fmt.Sprintf("Let the pump draw from a sump that %s overflows into: an intake so high in it that it kept %.0f %% of its water would run dry.", tank.Name, 100*keepTankShare)
	}
	return fmt.Sprintf("Raise the intake in %s to %s (`intake`), so that it keeps %.0f %% of its water, or let the pump draw from a sump.", tank.Name, w.u.level(keep), 100*keepTankShare)
}

// keeps reports whether the loop runs a day with the intake in a tank at a height.
func (w *worry) keeps(tank int, atM float64) bool {
	if w.t == nil {
		return true
	}
	if w.kept == nil {
		made := w.s.with(func(l *site.Loop) {
			for i := range l.Pumps {
				if !l.Pumps[i].Spare {
					l.Pumps[i].IntakeM = &atM
				}
			}
		})
		ok := false
		if made != nil && made.Piped {
			if t, err := made.Plan(GoalOf(made.Loop)); err == nil {
				c := made.dayOf(t)
				ok = c != nil && c.DrySeconds <= w.day.DrySeconds
			}
		}
		w.kept = &ok
	}
	return *w.kept
}

// keepM is the height above the floor below which a tank must not run empty, in the
// reader's steps.
func (s *Scheme) keepM(tank int) float64 {
	t := &s.Loop.Tanks[tank]
	depth := cmp.Or(t.DepthM, usualDepthM)
	return s.say().upLevel(t.LevelM - (1-keepTankShare)*depth)
}

// ofRun makes a fault of a course: levels, floor, dry beds.
func (w *worry) ofRun(kind FaultKind, name, field string, way Way, c *Course) trouble {
	x := trouble{Fault: Fault{Kind: kind, About: name, Field: field, SourceLowM: c.SourceLowM, SourceHighM: c.SourceHighM, FloorM3: c.FloorM3, DryH: math.Inf(1)}, way: way, name: name}
	if c.DrySeconds > dryMattersS && w.day.DrySeconds < dryMattersS {
		x.FishCase = fishPump
	}
	dried := c.DrySeconds > c.Seconds/2 && w.day.DrySeconds < w.day.Seconds/2
	for i := range c.Beds {
		b, now, usual := &w.s.Beds[i], &c.Beds[i], &w.day.Beds[i]
		if usual.InM3 <= 0 {
			continue
		}
		unflooded := usual.Floods > 0 && now.Floods == 0 && b.holds() && now.HighM < (b.drainedM()+b.fullM())/2
		if dried || unflooded || now.InM3 < 0.05*usual.InM3 {
			x.thirst = append(x.thirst, b.In.Name)
			x.DryH = math.Min(x.DryH, w.s.dryH(b))
		}
		if b.holds() && b.Way != Constant && 2*now.Floods < usual.Floods && now.LongestWetS > 2*usual.LongestWetS+secondsInHour {
			x.full = append(x.full, b.In.Name)
		}
	}
	return x
}

// dryH is the hours until a bed's roots are dry, by day.
func (s *Scheme) dryH(b *Bed) float64 {
	h, _ := DryOutH(b.Way, b.In.Media, s.Settings.TempC, false)
	return h
}

// goesWhere ends a sentence on what a course did to the source and the floor.
func (w *worry) goesWhere(f *Fault) string {
	s := w.s
	var parts []string
	if f.FloorM3 > leastFloorM3 {
		parts = append(parts, fmt.Sprintf("%s run onto the floor within a day", w.u.amount(f.FloorM3)))
	} else {
		parts = append(parts, "nothing runs onto the floor")
	}
	switch {
	case f.SourceLowM <= s.Source.IntakeM+1e-3:
		parts = append(parts, fmt.Sprintf("%s sinks to the pump's intake, %s, and the pump runs dry", s.sourceWord(), w.u.level(s.Source.IntakeM)))
	default:
		parts = append(parts, fmt.Sprintf("%s stands between %s", s.sourceWord(), w.u.levels(f.SourceLowM, f.SourceHighM)))
	}
	return strings.Join(parts, ", ") + "."
}

// company is who shares a sentence: self is the one that was followed, among are all
// that it stands for with it; nil when it is told of itself alone.
type company struct {
	self  string
	among []string
}

// others names beds for a sentence that may be about several, each told by itself:
// then those among them are "the others". one reports whether that is one bed.
func others(names []string, by company) (text string, one bool) {
	if by.among == nil {
		return Names(names), len(names) == 1
	}
	var rest []string
	shared := 0
	for _, n := range names {
		switch {
		case n == by.self:
		case slices.Contains(by.among, n):
			shared++
		default:
			rest = append(rest, n)
		}
	}
	switch of := len(by.among) - 1; {
	case shared == 0 && len(rest) == 0:
		return "it", true
	case shared == 0:
	case of == 1:
		rest = append(rest, "the other")
	case shared >= of:
		rest = append(rest, "the others")
	default:
		rest = append(rest, "some of the others")
	}
	return Names(rest), len(rest) == 1 && (shared == 0 || len(by.among) == 2)
}

// thirsty names the beds that get no more floods.
func (w *worry) thirsty(names []string, by company, dryH float64) string {
	if len(names) == 0 {
		return ""
	}
	who, _ := others(names, by)
	if math.IsInf(dryH, 1) {
		return fmt.Sprintf(" No more water comes to %s; the roots stand in what there is.", who)
	}
	first := "roots run"
	if len(names) > 1 {
		first = "the first roots run"
	}
	return fmt.Sprintf(" No more water comes to %s; %s dry by day in about %s.", who, first, w.u.span(3600*dryH))
}

// valves are the valves stuck open or shut.
func (w *worry) valves() error {
	s := w.s
	for _, i := range w.leadersFirst(len(s.Branches), w.branchBed) {
		b := &s.Branches[i]
		name := b.Pipe.To
		field := fmt.Sprintf("pipes[%d]", b.Index)
		way := Way("")
		if b.Bed >= 0 {
			way = s.Beds[b.Bed].Way
		}
		if b.Timed && w.asBefore(ValveOpen, b.Bed, field) && w.asBefore(ValveShut, b.Bed, field) {
			continue
		}
		if b.Timed {
			c, err := s.Run(w.t, RunOptions{Seconds: faultRunS, Faults: &Broken{Open: []int{i}}})
			if err != nil {
				return err
			}
			x := w.ofRun(ValveOpen, name, field, way, c)
			thirst, soil, full := x.thirst, c.SoilM3-w.day.SoilM3, without(x.full, name)
			if soil > soakM3 {
				x.State = Watch
			}
			x.tell = func(f *Fault, by company) string {
				text := "Its valve stays open: water runs to it all day. "
				if soil > soakM3 {
					text += fmt.Sprintf("%s go into its soil in a day, as long as the loop is topped up, and what it cannot hold runs out below. ", words.Capital(w.u.amount(soil)))
				}
				if len(full) > 0 {
					who, one := others(full, by)
					text += fmt.Sprintf("%s %s full, for less comes to start %s. ", words.Capital(who), either(one, "stays", "stay"), either(one, "its siphon", "their siphons"))
				}
				return text + words.Capital(w.goesWhere(f)) + w.thirsty(thirst, by, f.DryH)
			}
			x.Remedy = "Shut the hand valve before it, rinse grit out of the timed valve and try it by hand."
			w.put(x)
			if c, err = s.Run(w.t, RunOptions{Seconds: faultRunS, Faults: &Broken{Shut: []int{i}}}); err != nil {
				return err
			}
			x = w.ofRun(ValveShut, name, field, way, c)
			if b.Tank >= 0 {
				x.FishCase, x.FishTank = fishInlet, name
			}
			x.tell = func(f *Fault, by company) string {
				return "Its valve stays shut: no water comes to it." + w.dryWords(f.DryH) + " The rest goes on; " + w.goesWhere(f)
			}
			x.Remedy = "Water the bed by hand, then see whether the valve gets its current and turns."
			if b.Tank >= 0 {
				x.Remedy = "Open it by hand, then see whether it gets its current and turns."
			}
			w.put(x)
			continue
		}
		if b.Tank < 0 && b.Bed < 0 {
			continue
		}
		x := trouble{Fault: Fault{Kind: ValveShut, Field: field, SourceLowM: w.day.SourceLowM, SourceHighM: w.day.SourceHighM, DryH: math.Inf(1)}, way: way, name: name}
		if b.Tank >= 0 {
			x.FishCase, x.FishTank = fishInlet, name
			x.tell = func(*Fault, company) string {
				return "Its inlet is shut or blocked: no water comes to the tank and none leaves it; the other branches get more."
			}
			x.Remedy = "Open it; mark the valve's setting with paint so that it is found again."
		} else {
			x.DryH = s.dryH(&s.Beds[b.Bed])
			x.tell = func(f *Fault, by company) string {
				return "Its pipe is shut or blocked: no water comes to it." + w.dryWords(f.DryH)
			}
			x.Remedy = "Open it or rod it through; look each day whether water comes."
		}
		w.put(x)
	}
	return nil
}

// dryWords says when a bed's roots run dry.
func (w *worry) dryWords(dryH float64) string {
	if math.IsInf(dryH, 1) {
		return " Its roots keep standing in water."
	}
	return fmt.Sprintf(" Roots run dry by day in about %s.", w.u.span(3600*dryH))
}

// siphons are those that never start or never stop.
func (w *worry) siphons() error {
	s := w.s
	for _, i := range w.leadersFirst(len(s.Beds), w.itself) {
		b := &s.Beds[i]
		if b.Way != Siphons || b.Branch < 0 {
			continue
		}
		field := fmt.Sprintf("beds[%d].siphon", i)
		if w.asBefore(NeverStarted, i, field) && w.asBefore(NeverStopped, i, field) {
			continue
		}
		c, err := s.Run(w.t, RunOptions{Seconds: faultRunS, Faults: &Broken{NeverStarts: []int{i}}})
		if err != nil {
			return err
		}
		x := w.ofRun(NeverStarted, b.In.Name, field, b.Way, c)
		thirst := without(x.thirst, b.In.Name)
		if len(thirst) == 0 {
			x.DryH = math.Inf(1) // it stands full
		}
		x.State = Watch
		x.tell = func(f *Fault, by company) string {
			return "Its siphon does not start: it fills to the crest and stays full, and its roots get no air. " + words.Capital(w.goesWhere(f)) + w.thirsty(thirst, by, f.DryH)
		}
		x.Remedy = "Lift the bell once to start it, look for a leak at its cap and foot, and measure the inflow with a bucket."
		w.put(x)
		if c, err = s.Run(w.t, RunOptions{Seconds: faultRunS, Faults: &Broken{NeverStops: []int{i}}}); err != nil {
			return err
		}
		x = w.ofRun(NeverStopped, b.In.Name, field, b.Way, c)
		rest := without(x.thirst, b.In.Name)
		if c.Beds[i].Floods <= 1 {
			x.DryH = math.Min(x.DryH, s.dryH(b))
		}
		x.tell = func(f *Fault, by company) string {
			return "Its siphon does not stop: water runs through along the floor of the bed and no longer rises to the roots." + w.dryWords(f.DryH) + " " + words.Capital(w.goesWhere(f)) + w.thirsty(rest, by, f.DryH)
		}
		x.Remedy = "Lift the bell to let air in; clear its slots and snorkel; see that the outlet does not stand under water."
		w.put(x)
	}
	return nil
}

func without(names []string, name string) []string {
	return slices.DeleteFunc(slices.Clone(names), func(n string) bool { return n == name })
}

// blocked are the drains that pass nothing.
func (w *worry) blocked() error {
	s := w.s
	for _, i := range w.leadersFirst(len(s.Beds), w.itself) {
		b := &s.Beds[i]
		if b.Branch < 0 || b.Way == Watering {
			continue
		}
		field := fmt.Sprintf("beds[%d]", i)
		if b.Drain >= 0 {
			field = fmt.Sprintf("pipes[%d]", b.Drain)
		}
		if w.asBefore(DrainBlocked, i, field) {
			continue
		}
		c, err := s.Run(w.t, RunOptions{Seconds: faultRunS, Faults: &Broken{Blocked: []int{i}}})
		if err != nil {
			return err
		}
		x := w.ofRun(DrainBlocked, b.In.Name, field, b.Way, c)
		x.DryH = math.Inf(1)
		if rest := without(x.thirst, b.In.Name); len(rest) > 0 {
			x.thirst = rest
			for _, o := range s.Beds {
				if slices.Contains(rest, o.In.Name) {
					x.DryH = math.Min(x.DryH, s.dryH(&o))
				}
			}
		} else {
			x.thirst = nil
		}
		thirst := x.thirst
		spill := b.In.SpillM > 0
		x.tell = func(f *Fault, by company) string {
			text := "Its drain is blocked: it fills to the rim"
			switch {
			case f.FloorM3 > leastFloorM3 && spill:
				text += " and runs over, for its second overflow does not take all. "
			case f.FloorM3 > leastFloorM3:
				text += " and runs over. "
			case spill:
				text += " at most; its second overflow takes what comes. "
			default:
				text += " at most. "
			}
			return text + words.Capital(w.goesWhere(f)) + w.thirsty(thirst, by, f.DryH)
		}
		x.Remedy = "Keep roots out with a guard and pull it monthly."
		if x.FloorM3 > leastFloorM3 {
			q := 0.0
			for k := range s.Beds { // all that it stands for
				if w.rep[k] == i {
					q = math.Max(q, s.soleM3s(s.feeds(k)...))
				}
			}
			if d, err := pipe.SelfVentingDiameterM(q); err == nil && q > noFlowM3s && d < widestSpillM {
				x.Remedy = fmt.Sprintf("Fit a second overflow to the sump of at least %s bore (`spill`), and pull the guard monthly.", w.u.bore(w.u.up(d, 0.005)))
			}
		}
		w.put(x)
	}
	return w.tankBlocked()
}

// tankBlocked are the tanks whose overflow passes nothing: they fill to the rim
// and then lose what the source can give.
func (w *worry) tankBlocked() error {
	s := w.s
	mean := s.meanM3s(w.t)
	if mean == nil {
		return nil
	}
	for i := range s.Loop.Tanks {
		t := &s.Loop.Tanks[i]
		drains := s.tankDrains(t.Name)
		comes := 0.0
		for k := range s.Branches {
			if s.Branches[k].Tank == i {
				comes += mean[k] * faultRunS
			}
		}
		if len(drains) == 0 || comes <= 0 || s.Source.Tank == t {
			continue
		}
		rim := t.RimM
		if rim == 0 {
			rim = t.LevelM + usualTankFreeM
		}
		gives, low := w.sourceGives(comes)
		x := trouble{Fault: Fault{Kind: DrainBlocked, Field: fmt.Sprintf("pipes[%d]", drains[0]), SourceLowM: low, SourceHighM: w.day.SourceHighM,
			FloorM3: math.Max(0, gives-(rim-t.LevelM)*s.tankM2(i)), DryH: math.Inf(1)}, name: t.Name}
		if low <= s.Source.IntakeM+1e-3 {
			x.FishCase = fishPump
			x.DryH, x.thirst = w.allDry()
		}
		thirst := x.thirst
		x.tell = func(f *Fault, by company) string {
			return "Its overflow is blocked: the tank fills to the rim. " + words.Capital(w.goesWhere(f)) + w.thirsty(thirst, by, f.DryH)
		}
		x.Remedy = "Put a coarse basket over the overflow that cannot clog all round, and a second overflow above it."
		w.put(x)
	}
	return nil
}

// sourceGives is how much of some water the source gives before the pump draws air
// while the beds are filled as in the day, and how low it stands then.
func (w *worry) sourceGives(wantM3 float64) (m3, lowM float64) {
	s := w.s
	room := math.Max(0, w.day.SourceLowM-s.Source.IntakeM) * s.Source.AreaM2
	if wantM3 <= room {
		return wantM3, w.day.SourceLowM - wantM3/s.Source.AreaM2
	}
	// The beds' water comes back before the pump gives up.
	all := math.Max(0, s.Source.SurfaceM-s.Source.IntakeM) * s.Source.AreaM2
	return math.Min(wantM3, all), s.Source.IntakeM
}

// allDry is when the first bed's roots run dry, no water coming to any.
func (w *worry) allDry() (hours float64, names []string) {
	hours = math.Inf(1)
	for i := range w.s.Beds {
		b := &w.s.Beds[i]
		if b.Branch < 0 {
			continue
		}
		h := w.s.dryH(b)
		hours = math.Min(hours, h)
		if !math.IsInf(h, 1) {
			names = append(names, b.In.Name)
		}
	}
	return hours, names
}

// hoses are the pump's pipes off at their ends and at the pump.
func (w *worry) hoses() error {
	s := w.s
	every := make([]int, len(s.Branches))
	for i := range every {
		every[i] = i
	}
	for _, i := range append([]int{-1}, w.leadersFirst(len(s.Branches), w.branchBed)...) {
		off := every
		name, field, way := "", "", Way("")
		if i >= 0 {
			b := &s.Branches[i]
			if b.Bed < 0 && b.Tank < 0 {
				continue
			}
			off = []int{i}
			name, field = b.Pipe.To, fmt.Sprintf("pipes[%d]", b.Index)
			if b.Bed >= 0 {
				way = s.Beds[b.Bed].Way
			}
			if w.asBefore(HoseOff, b.Bed, field) {
				continue
			}
		} else {
			p := s.Pumps[0].In
			name, field = p.Name, pumpField(s, &s.Pumps[0])
			for k := range s.Loop.Pipes {
				if s.Loop.Pipes[k].From == p.Name {
					name, field = s.Loop.Pipes[k].Name, fmt.Sprintf("pipes[%d]", k)
					break
				}
			}
		}
		c, err := s.Run(w.t, RunOptions{Seconds: faultRunS, Faults: &Broken{HoseOff: off}})
		if err != nil {
			return err
		}
		x := w.ofRun(HoseOff, name, field, way, c)
		if x.FishCase == "" && i >= 0 && s.Branches[i].Tank >= 0 {
			x.FishCase, x.FishTank = fishInlet, name
		}
		if i < 0 {
			x.FishCase = fishPump
			x.way = "riser"
		}
		thirst := x.thirst
		x.tell = func(f *Fault, by company) string {
			text := "The pipe to it is off at its end. "
			if i < 0 {
				text = "The pipe is off at the pump: all its water runs out. "
			}
			return text + words.Capital(w.goesWhere(f)) + w.thirsty(thirst, by, f.DryH)
		}
		x.Remedy = "Clamp hoses on barbs and fix pipes to the wall; a float switch at the intake saves the pump."
		x.Caution = "Water on the floor and sockets: switch off at the board before you step in."
		w.put(x)
	}
	return nil
}

// pumpLost is the pump standing still.
func (w *worry) pumpLost() {
	s := w.s
	hours, names := w.allDry()
	for i := range s.Pumps {
		p := &s.Pumps[i]
		x := trouble{Fault: Fault{Kind: PumpLost, Field: pumpField(s, p), SourceLowM: w.day.SourceLowM, SourceHighM: s.Source.SurfaceM, DryH: hours, FishCase: fishPump}, name: p.In.Name, thirst: names}
		x.tell = func(f *Fault, by company) string {
			return "The pump stands still while the air goes on: nothing floods and no water is renewed." + w.thirsty(names, by, f.DryH)
		}
		x.Remedy = "Keep a spare pump that fits the pipe, and hang it in first; look for the cause afterwards."
		if spare := slices.IndexFunc(s.Loop.Pumps, func(o site.Pump) bool { return o.Spare }); spare >= 0 {
			x.Remedy = fmt.Sprintf("Hang in %s first; look for the cause afterwards.", s.Loop.Pumps[spare].Name)
		}
		x.Caution = unplugFirst
		w.put(x)
	}
}

// powerCut is everything off at the worst moment: all beds full, siphons just
// started.
func (w *worry) powerCut() {
	s := w.s
	src := &s.Source
	var back, hold []string
	backM3 := 0.0
	for i := range s.Beds {
		b := &s.Beds[i]
		if b.Branch < 0 || !b.holds() {
			continue
		}
		drains := b.Way == Siphons || b.Way == Timer && b.Stand.WeepM > 0
		if b.Way == Siphons && w.day.Beds[i].Floods == 0 && w.day.Beds[i].HighM < b.fullM()-1e-3 {
			drains = false // it never starts as planned, so it holds
		}
		if drains && !s.endsElsewhere(b) {
			back = append(back, b.In.Name)
			backM3 += b.FreeM2() * (b.crestM() - b.drainedM())
		} else if !drains {
			hold = append(hold, b.In.Name)
		}
	}
	pipesM3 := s.drainBackM3()
	high := src.SurfaceM // by the site's level, with the beds drained
	topped := src.SurfaceM + (backM3+pipesM3)/src.AreaM2
	over := math.Max(0, topped-src.RimM) * src.AreaM2
	hours, names := w.allDry()
	x := trouble{Fault: Fault{Kind: PowerCut, Field: s.sourceField(), SourceLowM: w.day.SourceLowM, SourceHighM: math.Min(topped, src.RimM), FloorM3: over, DryH: hours, FishCase: fishPower}, name: s.Loop.Name, thirst: names}
	x.tell = func(f *Fault, by company) string {
		text := "The power fails while all beds are full. "
		if len(back) > 0 {
			text += fmt.Sprintf("%s %s into %s, %s with the pipes; ", Names(back), either(len(back) == 1, "drains", "drain"), s.sourceWord(), w.u.amount(backM3+pipesM3))
		}
		if len(hold) > 0 {
			text += fmt.Sprintf("%s %s; ", Names(hold), either(len(hold) == 1, "holds its water", "hold their water"))
		}
		text += fmt.Sprintf("%s rises to its usual level, %s. ", s.sourceWord(), w.u.level(high))
		if over > leastFloorM3 {
			text += fmt.Sprintf("Topped up to that mark while the beds stood full it would rise to %s, and %s run over its rim, %s.", w.u.level(topped), w.u.amount(over), w.u.level(src.RimM))
		} else {
			text += fmt.Sprintf("Topped up to that mark while the beds stood full it rises to %s, below its rim, %s.", w.u.level(topped), w.u.level(src.RimM))
		}
		return words.Capital(text) + w.thirsty(names, by, f.DryH)
	}
	x.Remedy = airFirst
	if over > leastFloorM3 {
		mark := w.u.downLevel(src.RimM - leastFreeM - (backM3+pipesM3)/src.AreaM2)
		x.Remedy = "Top up only while the beds are drained"
		if mark > src.IntakeM+intakeCoverM {
			x.Remedy += fmt.Sprintf(", or never higher than %s while they are full", w.u.level(mark))
		}
		x.Remedy += fmt.Sprintf("; a rim %s holds it all. "+airFirst, w.u.level(w.u.upLevel(topped+leastFreeM)))
	}
	x.Caution = "Sockets above any flood level, pump on a 30 mA RCD: ask a qualified electrician."
	w.put(x)
}

// airFirst is what to do at a power cut.
const airFirst = "Start the fish's own air first; the plants can wait."

// sourceWord is what the pump draws from, for a sentence.
func (s *Scheme) sourceWord() string {
	if s.Source.Tank == nil {
		return "the sump"
	}
	return s.Source.Name
}

// sourceField is the field of the level of what the pump draws from.
func (s *Scheme) sourceField() string {
	if k := s.sourceTank(); k >= 0 {
		return fmt.Sprintf("tanks[%d].level", k)
	}
	return "sump-level"
}

// crestM is the level at which a full bed rests.
func (b *Bed) crestM() float64 {
	if b.Way == Siphons {
		return b.Siphon.CrestM
	}
	return b.Stand.CrestM
}

// endsElsewhere reports whether a bed's drain ends elsewhere than in the source.
func (s *Scheme) endsElsewhere(b *Bed) bool {
	if b.Drain < 0 {
		return false
	}
	to := s.Loop.Pipes[b.Drain].To
	return slices.ContainsFunc(s.Loop.Beds, func(o site.Bed) bool { return o.Name == to && o.Kind == "tub" })
}

// drainBackM3 is the water of the pump's pipes that runs back when it stands: none
// behind a check valve.
func (s *Scheme) drainBackM3() float64 {
	sum := 0.0
	for i, link := range s.links {
		if link < 0 || s.isPump(s.Loop.Pipes[i].To) || s.checkValveOn(i) >= 0 {
			continue
		}
		p := &s.Loop.Pipes[i]
		sum += pipe.CircleM2(p.BoreM()) * p.LengthM
	}
	return sum
}

// backSiphons are tanks that run back through a pipe that ends under water.
func (w *worry) backSiphons() {
	s := w.s
	src := &s.Source
	for i := range s.Branches {
		b := &s.Branches[i]
		if !b.Drowned || b.Tank < 0 || s.sourceTank() == b.Tank {
			continue
		}
		t := &s.Loop.Tanks[b.Tank]
		end := t.LevelM
		if b.Pipe.EndsAtM != nil {
			end = *b.Pipe.EndsAtM
		}
		low := s.lowered(b.Tank, math.Max(end, src.SurfaceM))
		runs := (t.LevelM - low.LevelM) * s.tankM2(b.Tank)
		high := src.SurfaceM + runs/src.AreaM2
		x := trouble{Fault: Fault{Kind: BackSiphon, Field: fmt.Sprintf("pipes[%d].ends-at", b.Index), Tanks: s.levels(), SourceLowM: w.day.SourceLowM, SourceHighM: math.Min(high, src.RimM),
			FloorM3: math.Min(runs, math.Max(0, high-src.RimM)*src.AreaM2), DryH: math.Inf(1), State: Watch}, name: t.Name}
		x.Tanks[b.Tank] = low
		check := s.checkValveOn(b.Index) >= 0
		x.tell = func(f *Fault, by company) string {
			text := "Its inlet ends under water and there is no check valve: whenever the pump stands, "
			if check {
				text = "Its inlet ends under water: when the pump stands and the check valve leaks, "
			}
			text += fmt.Sprintf("the water runs back through the pump until the tank is down to %.0f %% of its water, %s; %s rises to %s", 100*low.Share, w.u.level(low.LevelM), s.sourceWord(), w.u.level(f.SourceHighM))
			if f.FloorM3 > leastFloorM3 {
				text += fmt.Sprintf(" and %s run over its rim", w.u.amount(f.FloorM3))
			}
			return text + "."
		}
		x.Remedy = fmt.Sprintf("End the pipe above the water, %s, or drill a hole of %s in it, as far above the water or more.", w.u.level(t.LevelM), w.u.bore(antiSiphonM))
		x.Caution = backSiphons
		w.put(x)
	}
}

// tankPipes are a tank's own pipes coming off.
func (w *worry) tankPipes() {
	s := w.s
	src := &s.Source
	var mean []float64
	if s.Piped {
		mean = s.meanM3s(w.t)
	}
	for i := range s.Loop.Pipes {
		p := &s.Loop.Pipes[i]
		k := slices.IndexFunc(s.Loop.Tanks, func(t site.Tank) bool { return t.Name == p.From })
		if k < 0 {
			continue
		}
		t := &s.Loop.Tanks[k]
		toM := t.LevelM - overflowDropM
		suction := s.isPump(p.To)
		if suction {
			toM = src.IntakeM
		}
		if p.EmptiesTo != nil {
			toM = *p.EmptiesTo
		}
		low := s.lowered(k, toM)
		falls := (t.LevelM - low.LevelM) * s.tankM2(k)
		x := trouble{Fault: Fault{Kind: TankPipeOff, Field: fmt.Sprintf("pipes[%d]", i), Tanks: s.levels(), SourceLowM: src.SurfaceM, SourceHighM: src.SurfaceM, FloorM3: falls, DryH: math.Inf(1)}, name: t.Name}
		if p.EmptiesTo != nil {
			x.Field += ".empties-to"
		}
		x.Tanks[k] = low
		gives := 0.0
		if w.day != nil {
			x.SourceLowM, x.SourceHighM = w.day.SourceLowM, w.day.SourceHighM
			for n := range s.Branches {
				if mean != nil && s.Branches[n].Tank == k {
					gives += mean[n] * faultRunS
				}
			}
			if gives > 0 && !suction && src.Tank != t {
				gives, x.SourceLowM = w.sourceGives(gives)
				x.FloorM3 += gives
			}
			if suction {
				x.SourceLowM = math.Min(x.SourceLowM, low.LevelM)
			}
			if suction || x.SourceLowM <= src.IntakeM+1e-3 && gives > 0 {
				x.FishCase = fishPump
				x.DryH, x.thirst = w.allDry()
			}
		}
		thirst := x.thirst
		piped := w.day != nil
		x.tell = func(f *Fault, by company) string {
			text := fmt.Sprintf("A pipe that leads from it comes off: the tank runs down to %s, %.0f %% of its water. ", w.u.level(low.LevelM), 100*low.Share)
			if !piped || gives <= 0 || suction {
				return text + fmt.Sprintf("%s run onto the floor.", words.Capital(w.u.amount(f.FloorM3))) + w.thirsty(thirst, by, f.DryH)
			}
			return text + "What the pump brings follows: " + w.goesWhere(f) + w.thirsty(thirst, by, f.DryH)
		}
		x.Remedy = "Fix the pipe to the tank; lead it over a standpipe inside, so that little can run out."
		w.put(x)
	}
}

// runsDry is nobody topping up.
func (w *worry) runsDry() {
	s := w.s
	src := &s.Source
	room := math.Max(0, w.day.SourceLowM-src.IntakeM) * src.AreaM2
	hours, names := w.allDry()
	x := trouble{Fault: Fault{Kind: RunsDry, Field: s.sourceField(), SourceLowM: src.IntakeM, SourceHighM: src.SurfaceM, DryH: hours, FishCase: fishPump}, name: src.Name, thirst: names}
	x.tell = func(f *Fault, by company) string {
		text := fmt.Sprintf("Nobody tops up: once %s are lost by evaporation or a leak, %s sinks to the pump's intake, %s, and the pump runs dry while the beds are full.", w.u.amount(room), s.sourceWord(), w.u.level(src.IntakeM))
		if room < leastFloorM3 {
			text = fmt.Sprintf("The pump runs dry as planned: %s sinks to its intake, %s, while the beds are full.", s.sourceWord(), w.u.level(src.IntakeM))
		}
		return words.Capital(text) + w.thirsty(names, by, f.DryH)
	}
	x.Remedy = fmt.Sprintf("Mark the level, %s, and top up to it when the beds are drained; a float switch at the intake saves the pump.", w.u.level(src.SurfaceM))
	x.Caution = "Never leave a hose from the mains in the water: fill over an air gap as wide as two fingers."
	w.put(x)
}

// merged joins like faults and puts the worst first.
func (w *worry) merged() []Fault {
	var out []trouble
	groups := map[int][]trouble{}
	for _, x := range w.all {
		k := slices.IndexFunc(out, func(o trouble) bool {
			return o.Kind == x.Kind && o.way == x.way && o.State == x.State && o.Remedy == x.Remedy && o.FishCase == x.FishCase && (o.FishTank == "") == (x.FishTank == "")
		})
		if k < 0 {
			out = append(out, x)
			k = len(out) - 1
		}
		groups[k] = append(groups[k], x)
	}
	faults := make([]Fault, 0, len(out))
	for k := range out {
		group := groups[k]
		slices.SortStableFunc(group, func(a, b trouble) int { return cmp.Compare(a.at, b.at) })
		worst := 0
		for i := range group {
			a, b := &group[i], &group[worst]
			if worse(&a.Fault, &b.Fault) || !worse(&b.Fault, &a.Fault) && a.self == a.name && b.self != b.name {
				worst = i
			}
		}
		names := make([]string, 0, len(group))
		for i := range group {
			if !slices.Contains(names, group[i].name) {
				names = append(names, group[i].name)
			}
		}
		f := group[worst].Fault
		f.Tanks = slices.Clone(f.Tanks)
		f.About = Names(names)
		alike := true
		for i := range group {
			o := &group[i].Fault
			alike = alike && math.Abs(o.FloorM3-f.FloorM3) <= likeShare*f.FloorM3+leastFloorM3 && (o.DryH == f.DryH || math.Abs(o.DryH-f.DryH) <= likeShare*f.DryH)
			for n := range o.Tanks {
				if o.Tanks[n].Share < f.Tanks[n].Share {
					f.Tanks[n] = o.Tanks[n]
				}
			}
		}
		f.ID = string(f.Kind) + "/" + group[worst].name
		lead := ""
		if !alike {
			f.About = Names(append([]string{group[worst].name}, without(names, group[worst].name)...))
			lead = "At the worst, " + group[worst].name + ": "
		}
		among := names
		if len(names) == 1 || lead != "" {
			among = nil
		}
		f.What = lead + group[worst].tell(&f, company{group[worst].self, among})
		faults = append(faults, f)
	}
	slices.SortStableFunc(faults, func(a, b Fault) int {
		switch {
		case a.State != b.State:
			return cmp.Compare(a.State.weight(), b.State.weight())
		case math.Abs(a.FloorM3-b.FloorM3) > leastFloorM3/10:
			return cmp.Compare(b.FloorM3, a.FloorM3)
		}
		return cmp.Compare(a.DryH, b.DryH)
	})
	return faults
}

// worse compares two faults of one kind: by the lowest tank, the water on the
// floor, the hours.
func worse(a, b *Fault) bool {
	if la, lb := lowest(a), lowest(b); math.Abs(la-lb) > 1e-3 {
		return la < lb
	}
	if math.Abs(a.FloorM3-b.FloorM3) > leastFloorM3/10 {
		return a.FloorM3 > b.FloorM3
	}
	return a.DryH < b.DryH
}

func lowest(f *Fault) float64 {
	low := 1.0
	for i := range f.Tanks {
		low = math.Min(low, f.Tanks[i].Share)
	}
	return low
}

// Drying out; common practice, no source.
const (
	dayMmH20    = 0.5  // water a full stand of leaves takes in a bright hour at 20 °C
	nightMmH20  = 0.06 // in a dark one
	reachShare  = 0.5  // of the water that stays on media, that roots take before they wilt
	filmLeftMm  = 0.8  // in a tower's roots and on its walls
	soilM3M3    = 0.15 // that plants take from soil between wet and wilting
	dryDepthM   = usualBedM
	tubDepthM   = 0.45
	usualHeld   = 0.05
	coldestDryC = 0.0
	hottestDryC = 45.0
)

// DryOutH is how long the roots of a bed have water when none comes any more, in
// hours: +Inf for rafts and beds that stay flooded. why says how it was reckoned.
//
//	way    of the bed
//	media  as the table of media names it; empty or unknown: little water is held
//	tempC  of air and water, 0 to 45; outside it and for NaN 0 hours, with the reason
//	night  in the dark
//
// Simplified; common practice, no source: the water is half of what stays on 0.30 m
// of media after draining, what a tower's roots hold is 0.8 mm, soil of 0.45 m gives
// 0.15 of its volume; a full stand takes 0.5 mm in a bright hour at 20 °C and 0.06 mm
// in a dark one, and more or less as the pressure of vapour does. Young plants last
// longer, a hot dry wind halves it.
func DryOutH(way Way, media string, tempC float64, night bool) (hours float64, why string) {
	if !(tempC >= coldestDryC && tempC <= hottestDryC) {
		return 0, "The temperature lies outside 0 to 45 °C, for which nothing is reckoned."
	}
	if way == Floating {
		return math.Inf(1), "The roots hang in water."
	}
	if way == Constant {
		return math.Inf(1), "The bed stays flooded to its crest."
	}
	rate, when := dayMmH20, "in a bright hour"
	if night {
		rate, when = nightMmH20, "in a dark hour"
	}
	v, err := pipe.VapourKPa(tempC)
	if err != nil {
		return 0, "The temperature lies outside 0 to 45 °C, for which nothing is reckoned."
	}
	v20, err := pipe.VapourKPa(20)
	if err != nil {
		return 0, err.Error()
	}
	rate *= v / v20
	held, where := 0.0, ""
	switch way {
	case Filming:
		held, where = filmLeftMm, "stay in the towers"
	case Watering:
		held, where = 1000*soilM3M3*tubDepthM, "can be had from the soil"
	default:
		share := usualHeld
		if m, err := water.LookupMedium(media); err == nil && m.RetainedM3M3.Known {
			share = m.RetainedM3M3.Amount
		}
		held, where = 1000*reachShare*share*dryDepthM, "can be had from the media"
	}
	return held / rate, fmt.Sprintf("%.2g mm of water %s, and a full stand of plants takes %.2g mm %s; common practice, no source.", held, where, rate, when)
}

// either is one of two words.
func either(first bool, one, other string) string {
	if first {
		return one
	}
	return other
}
