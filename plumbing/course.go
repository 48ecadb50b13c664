package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

// Broken is what does not work in a run. Indices are those of Scheme.Branches and
// Loop.Beds.
type Broken struct {
	Open        []int // timed branches whose valve stays open
	Shut        []int // timed branches whose valve stays shut
	NeverStarts []int // beds whose siphon does not start: water runs over the crest
	NeverStops  []int // beds whose siphon, once started, does not break
	Blocked     []int // beds whose drain passes nothing
	HoseOff     []int // branches whose water runs onto the floor, as much as would run to their end

	PumpOffFromS, PumpOffToS float64 // of the run; equal: the pump works
}

// RunOptions says how a course is reckoned.
type RunOptions struct {
	Seconds float64   // 1 to MostRunDays days
	FromH   float64   // clock hour at the start, 0 to 24; 0 stands for 6, midnight is 24
	Levels  []float64 // by bed, above its floor; nil: drained
	Running []bool    // by bed, of siphons; nil: none
	Faults  *Broken   // nil: all works
	Trace   []int     // beds whose points are kept
}

// Course is what the beds and the source went through.
type Course struct {
	Seconds      float64     `json:"seconds"`
	Beds         []BedCourse `json:"beds"` // as Loop.Beds
	SourceLowM   float64     `json:"sourceLowM"`
	SourceHighM  float64     `json:"sourceHighM"`
	SourceEndM   float64     `json:"sourceEndM"`
	LowAtS       float64     `json:"lowAtS"`
	MostInBedsM3 float64     `json:"mostInBedsM3"` // above their drained levels, at one time
	FloorM3      float64     `json:"floorM3"`      // onto the floor: over rims, off hoses
	SourceOverM3 float64     `json:"sourceOverM3"` // of that, over the rim of the source
	SoilM3       float64     `json:"soilM3"`       // into the soil of tubs
	ToppedM3     float64     `json:"toppedM3"`     // topped up for that
	DrySeconds   float64     `json:"drySeconds"`   // the pump had no water
	AgainstShutS float64     `json:"againstShutS"` // the pump ran against shut valves
	PumpM3       float64     `json:"pumpM3"`
	PumpOnS      float64     `json:"pumpOnS"`
	WireKWh      float64     `json:"wireKWh"`
	Events       []Event     `json:"events"`
	LeftOpen     []int       `json:"leftOpen"` // timed branches open at the end
}

// BedCourse is what a bed went through.
type BedCourse struct {
	Floods       int            `json:"floods"` // starts of a siphon; times that a bed with a weep hole came to its crest; openings of another's valve
	FloodsPerDay float64        `json:"floodsPerDay"`
	FirstStartS  float64        `json:"firstStartS"` // -1: none
	LongestDryS  float64        `json:"longestDryS"` // longest time from flood to flood, or without one from the beginning or to the end; of beds that do not drain, without inflow
	LongestWetS  float64        `json:"longestWetS"` // longest time above the middle between the drained level and the crest
	LowM         float64        `json:"lowM"`
	HighM        float64        `json:"highM"`
	InM3         float64        `json:"inM3"`
	OutM3        float64        `json:"outM3"`     // through the drain
	SpilledM3    float64        `json:"spilledM3"` // over the rim
	EndM         float64        `json:"endM"`
	EndRunning   bool           `json:"endRunning"`
	Points       []siphon.Point `json:"points,omitempty"` // of beds in RunOptions.Trace
}

// Happening is what an Event tells of.
type Happening string

// The happenings.
const (
	Started  Happening = "started"   // a siphon
	Stopped  Happening = "stopped"   // a siphon
	Crested  Happening = "crested"   // a bed with a weep hole is full
	RanOver  Happening = "ran-over"  // a bed, over its rim; told once
	RanDry   Happening = "ran-dry"   // the pump
	GotWater Happening = "got-water" // the pump, again
	SumpOver Happening = "sump-over" // what the pump draws from runs over; told once
)

// Event is a moment of a course.
type Event struct {
	AtS  float64   `json:"atS"`
	Bed  int       `json:"bed"` // -1: none
	What Happening `json:"what"`
}

// MostRunDays is the longest run.
const MostRunDays = 40

const (
	renewS       = 300.0 // steps are no longer
	sourceStepM  = 0.04  // and do not move the source by more
	leastStepS   = 2.0   // for that
	gridM        = 0.02  // levels of the source at which the network is solved; between them straight lines
	againM       = 0.020 // a pump that ran dry finds water again so far above its intake
	eventTolS    = 1e-6
	boxStepM     = 0.002
	boxStepS     = 10.0
	spillOpenTol = 1e-9
)

// Run follows the beds and the source through time. Between the valves' changes
// and the siphons' events inflows are steady: those of the network at the
// source's level half-way through the step. Siphons go by their exact course, beds with a
// standpipe by fine steps. Water is neither made nor lost: what the pump lifts is
// in the beds, back in the source, on the floor or in a tub's soil.
//
// Simple, and what it costs: tanks, rafts and towers pass on at once what they
// get, and all that drains returns to the source, whatever lies between: a bed
// that drains into another bed does not flood it. What tubs take is topped up at
// once where the site names the water for it; the air takes nothing. The pump's pipes are full from
// the beginning, their water taken from the source. A spill pipe takes what a
// pipe of its bore passes without a head of water, a leak of the hose what would
// have come out at its end.
//
// Errors: options or a timetable that do not fit the loop (quantity.ErrRange),
// ErrUnpiped.
func (s *Scheme) Run(t *Timetable, o RunOptions) (*Course, error) {
	if !s.Piped {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, ErrUnpiped)
	}
	return s.run(t, o, nil)
}

// feed gives the branches' flows in a state of the valves, instead of the network.
type feed func(v Valves, branchM3s []float64)

func (s *Scheme) run(t *Timetable, o RunOptions, by feed) (*Course, error) {
	r, err := s.runner(t, o, by)
	if err != nil {
		return nil, fmt.Errorf("loop %s: course of a day: %w", s.Loop.Name, err)
	}
	for r.atS < o.Seconds-eventTolS {
		if err := r.step(); err != nil {
			return nil, fmt.Errorf("loop %s: course of a day: at %.0f s: %w", s.Loop.Name, r.atS, err)
		}
	}
	r.finish()
	return r.c, nil
}

// runner is a loop being carried forward.
type runner struct {
	s  *Scheme
	t  *Timetable
	o  RunOptions
	by feed
	c  *Course

	stuckOpen, stuckShut, hoseOff Valves
	offFromS, offToS              float64
	always                        bool
	tops                          bool // what tubs take is topped up

	atS      float64
	sourceM3 float64
	dry      bool
	lowM3    float64 // the source at the intake, and where the pump finds water again, and at the rim
	againM3  float64
	rimM3    float64

	beds      []bedRun
	branchM3s []float64
	grid      map[flowKey]*Flow

	eventS float64 // found by see
	see    func(siphon.Point)
}

// bedRun is a bed being carried forward.
type bedRun struct {
	way    Way
	works  *siphon.Works
	areaM2 float64 // free; 0: what comes in goes out

	drainedM, crestM, rimM, floorM float64
	weepM25, weepAtM, weir, orify  float64 // flow = weepM25 √head, as of a siphon's rim
	spillM3s                       float64 // the most its second overflow takes
	blocked, neverStarts           bool
	neverStops                     bool

	inM3s float64
	state siphon.State
	next  siphon.State
	did   passed

	traced   bool
	overTold bool
	armed    bool    // a bed with a weep hole may come to its crest again
	floodS   float64 // of the last flood, or 0
	wetS     float64 // since when it is wet; below 0: it is not
}

// passed is what went through a bed in a step.
type passed struct {
	outM3, spilledM3 float64
	starts, breaks   int
	crestS           float64 // when the level rose over the crest; below 0: it did not
	highM, lowM      float64
}

func (s *Scheme) runner(t *Timetable, o RunOptions, by feed) (*runner, error) {
	if t == nil || len(t.Parts) == 0 {
		return nil, errNoTimetable
	}
	if err := quantity.InRange("time", o.Seconds, 1, MostRunDays*86400, "s"); err != nil {
		return nil, err
	}
	if err := quantity.InRange("hour at the start", o.FromH, 0, 24, ""); err != nil {
		return nil, err
	}
	o.FromH = cmp.Or(o.FromH, usualFromH)
	r := &runner{s: s, t: t, o: o, by: by, always: s.always(), tops: s.Loop.Water != "", branchM3s: make([]float64, len(s.Branches)), grid: map[flowKey]*Flow{}}
	r.c = &Course{Seconds: o.Seconds, Beds: make([]BedCourse, len(s.Beds))}
	for i := range t.Parts {
		for j := range t.Parts[i].Turns {
			if b := t.Parts[i].Turns[j].Branch; b < 0 || b >= len(s.Branches) || !s.Branches[b].Timed {
				return nil, fmt.Errorf("the timetable opens branch %d: %w: it is that of another loop", b, quantity.ErrRange)
			}
		}
		if c := t.Parts[i].CycleS; !(c >= 1) {
			return nil, fmt.Errorf("a cycle of %g s: %w: it must last a second or more", c, quantity.ErrRange)
		}
	}
	if err := r.broken(o.Faults); err != nil {
		return nil, err
	}
	if err := r.fillBeds(); err != nil {
		return nil, err
	}
	src := &s.Source
	r.lowM3 = max(0, src.IntakeM-src.BottomM) * src.AreaM2
	r.againM3 = r.lowM3 + againM*src.AreaM2
	r.rimM3 = (src.RimM - src.BottomM) * src.AreaM2
	r.sourceM3 = src.VolumeM3 - s.PipesM3() - r.inBedsM3()
	if r.sourceM3 < 0 {
		return nil, fmt.Errorf("the beds and pipes at the start hold %.0f L more than there is in %s: %w: let them be drained", -1000*r.sourceM3, src.Name, quantity.ErrRange)
	}
	r.c.SourceLowM, r.c.SourceHighM = r.levelM(), r.levelM()
	r.c.MostInBedsM3 = r.inBedsM3()
	r.see = func(p siphon.Point) {
		if (p.Event == siphon.AtStart || p.Event == siphon.AtBreak) && p.TimeS < r.eventS {
			r.eventS = p.TimeS
		}
	}
	return r, nil
}

// PipesM3 is the water that stands in the pump's pipes, m³.
func (s *Scheme) PipesM3() float64 {
	sum := 0.0
	for i, link := range s.links {
		if link >= 0 {
			p := &s.Loop.Pipes[i]
			sum += pipe.CircleM2(p.BoreM()) * p.LengthM
		}
	}
	return sum
}

// broken checks and puts what does not work.
func (r *runner) broken(f *Broken) error {
	if f == nil {
		return nil
	}
	for _, list := range []struct {
		what   string
		of     []int
		timed  bool
		valves *Valves
	}{{"valve that stays open", f.Open, true, &r.stuckOpen}, {"valve that stays shut", f.Shut, true, &r.stuckShut}, {"hose that is off", f.HoseOff, false, &r.hoseOff}} {
		for _, b := range list.of {
			if b < 0 || b >= len(r.s.Branches) || list.timed && !r.s.Branches[b].Timed {
				return fmt.Errorf("%s: branch %d: %w: it must be a branch of the loop's, for a valve a timed one", list.what, b, quantity.ErrRange)
			}
			*list.valves = list.valves.With(b)
		}
	}
	for _, list := range [][]int{f.NeverStarts, f.NeverStops, f.Blocked} {
		for _, k := range list {
			if k < 0 || k >= len(r.s.Beds) {
				return fmt.Errorf("fault of bed %d: %w: the loop has beds 0 to %d", k, quantity.ErrRange, len(r.s.Beds)-1)
			}
		}
	}
	if err := quantity.InRange("time at which the pump stops", f.PumpOffFromS, 0, MostRunDays*86400, "s"); err != nil {
		return err
	}
	if err := quantity.InRange("time at which the pump runs again", f.PumpOffToS, f.PumpOffFromS, 2*MostRunDays*86400, "s"); err != nil {
		return err
	}
	r.offFromS, r.offToS = f.PumpOffFromS, f.PumpOffToS
	return nil
}

// fillBeds puts the beds as they stand at the start.
func (r *runner) fillBeds() error {
	s, o := r.s, &r.o
	if o.Levels != nil && len(o.Levels) != len(s.Beds) || o.Running != nil && len(o.Running) != len(s.Beds) {
		return fmt.Errorf("%d levels and %d states of siphons: %w: give one for each of %d beds, or none", len(o.Levels), len(o.Running), quantity.ErrRange, len(s.Beds))
	}
	var f Broken
	if o.Faults != nil {
		f = *o.Faults
	}
	r.beds = make([]bedRun, len(s.Beds))
	for i := range s.Beds {
		in, b := &s.Beds[i], &r.beds[i]
		*b = bedRun{way: in.Way, blocked: slices.Contains(f.Blocked, i), traced: slices.Contains(o.Trace, i), armed: true, wetS: -1}
		if in.In.SpillM > 0 {
			most, err := pipe.SelfVentingM3s(in.In.SpillM)
			if err != nil {
				return fmt.Errorf("bed %s: spill pipe: %w", in.In.Name, err)
			}
			b.spillM3s = most
		}
		if !in.holds() {
			continue
		}
		b.areaM2, b.drainedM, b.rimM = in.FreeM2(), in.drainedM(), in.Bed.RimM
		b.state.LevelM = b.drainedM
		if in.Way == Siphons {
			b.works, b.crestM = in.Works, in.Siphon.CrestM
			b.floorM = max(0, in.Siphon.OutletM+1e-3)
			b.neverStarts, b.neverStops = slices.Contains(f.NeverStarts, i), slices.Contains(f.NeverStops, i)
		} else {
			p := &in.Stand
			b.crestM, b.weepAtM, b.floorM = p.CrestM, p.WeepLevelM, 0
			if p.WeepM > 0 {
				b.floorM = p.WeepLevelM
				q, err := pipe.WeepM3s(p.WeepM, 1)
				if err != nil {
					return fmt.Errorf("bed %s: %w", in.In.Name, err)
				}
				b.weepM25 = q
			}
			root := math.Sqrt(2 * pipe.GravityMS2)
			b.weir = 2.0 / 3 * rimDischarge * root * math.Pi * p.DiameterM
			b.orify = rimDischarge * pipe.CircleM2(p.DiameterM) * root
		}
		if o.Levels != nil {
			if err := quantity.InRange("level of bed "+in.In.Name, o.Levels[i], 0, b.rimM, "m"); err != nil {
				return err
			}
			b.state.LevelM = o.Levels[i]
		}
		if o.Running != nil && in.Way == Siphons && !b.neverStarts && !b.blocked {
			b.state.Running = o.Running[i] && b.state.LevelM > in.Siphon.BreakM
		}
		if b.state.LevelM >= b.middleM() {
			b.wetS = 0
		}
		r.c.Beds[i].LowM, r.c.Beds[i].HighM = b.state.LevelM, b.state.LevelM
	}
	for i := range r.c.Beds {
		r.c.Beds[i].FirstStartS = -1
	}
	return nil
}

// rimDischarge is that of a standpipe's rim and opening, as in package siphon.
const rimDischarge = 0.60

// middleM is the level above which a bed counts as wet.
func (b *bedRun) middleM() float64 { return (b.drainedM + b.crestM) / 2 }

func (r *runner) levelM() float64 { return r.s.Source.BottomM + r.sourceM3/r.s.Source.AreaM2 }

// inBedsM3 is the water in the beds above their drained levels.
func (r *runner) inBedsM3() float64 {
	sum := 0.0
	for i := range r.beds {
		b := &r.beds[i]
		sum += b.areaM2 * (b.state.LevelM - b.drainedM)
	}
	return sum
}

// scheduled are the valves that the timetable has open at a time of the run, and
// how long until it next changes any.
func (t *Timetable) scheduled(fromH, atS float64) (open Valves, forS float64) {
	const dayS = 86400
	x := math.Mod(fromH*secondsInHour+atS, dayS)
	for i := range t.Parts {
		p := &t.Parts[i]
		longS := p.Hours() * secondsInHour
		off := math.Mod(x-p.FromH*secondsInHour+dayS, dayS)
		if off > dayS-eventTolS {
			off = 0
		}
		if off >= longS-eventTolS {
			continue
		}
		begun := math.Floor((off+eventTolS)/p.CycleS) * p.CycleS
		in := off - begun
		forS = min(p.CycleS-in, longS-off)
		for j := range p.Turns {
			u := &p.Turns[j]
			opens, shuts := u.AtS, u.AtS+u.OpenS
			if begun+shuts > longS+eventTolS {
				continue
			}
			if opens <= in+eventTolS && in+eventTolS < shuts {
				open = open.With(u.Branch)
			}
			for _, at := range [2]float64{opens, shuts} {
				if d := at - in; d > eventTolS && d < forS {
					forS = d
				}
			}
		}
		return open, forS
	}
	return 0, renewS
}

// flows puts the branches' flows and returns the pump's power, at a level of the
// source.
func (r *runner) flows(v Valves, levelM float64) (wireW float64, err error) {
	if r.by != nil {
		r.by(v, r.branchM3s)
		return 0, nil
	}
	k := math.Floor(levelM / gridM)
	low, err := r.flowAt(v, int32(k))
	if err != nil {
		return 0, err
	}
	high, err := r.flowAt(v, int32(k)+1)
	if err != nil {
		return 0, err
	}
	w := levelM/gridM - k
	for i := range r.branchM3s {
		r.branchM3s[i] = (1-w)*low.BranchM3s[i] + w*high.BranchM3s[i]
	}
	return (1-w)*low.WireW + w*high.WireW, nil
}

func (r *runner) flowAt(v Valves, k int32) (*Flow, error) {
	key := flowKey{v, k}
	if f, ok := r.grid[key]; ok {
		return f, nil
	}
	f, err := r.s.Flow(v, float64(k)*gridM)
	if err == nil {
		r.grid[key] = f
	}
	return f, err
}

// step carries the loop to the next change, or a little way.
func (r *runner) step() error {
	open, forS := r.t.scheduled(r.o.FromH, r.atS)
	dt := min(renewS, max(forS, eventTolS), r.o.Seconds-r.atS)
	for _, at := range [2]float64{r.offFromS, r.offToS} {
		if d := at - r.atS; d > eventTolS {
			dt = min(dt, d)
		}
	}
	on := r.always || open != 0
	if r.atS >= r.offFromS-eventTolS && r.atS < r.offToS-eventTolS {
		on = false
	}
	open = (open | r.stuckOpen) &^ r.stuckShut
	flowing := on && !r.dry && (r.always || open != 0)

	// Inflows at the present level tell how far the source moves; then those at the
	// level half-way.
	wireW := 0.0
	rateM3s, err := r.feedBeds(flowing, open, r.levelM(), &wireW)
	if err != nil {
		return err
	}
	area := r.s.Source.AreaM2
	if moves := math.Abs(rateM3s) * dt / area; moves > sourceStepM {
		dt = max(min(dt, leastStepS), dt*sourceStepM/moves)
	}
	if r.dry && rateM3s > 0 {
		dt = min(dt, boxStepS)
	}
	if flowing && r.by == nil {
		middleM := r.levelM() + rateM3s*dt/2/area
		if _, err := r.feedBeds(true, open, max(middleM, r.s.Source.BottomM), &wireW); err != nil {
			return err
		}
	}
	pumpM3s := 0.0
	for _, q := range r.branchM3s {
		pumpM3s += q
	}

	var changeM3 float64
	for try := 0; ; try++ {
		eventS := math.Inf(1)
		if changeM3, err = r.try(dt, pumpM3s, &eventS); err != nil {
			return err
		}
		if eventS+eventTolS < dt && dt > 1e-3 {
			dt = eventS + eventTolS
			if changeM3, err = r.try(dt, pumpM3s, nil); err != nil {
				return err
			}
		}
		left := r.sourceM3 + changeM3 - r.lowM3
		if !flowing || left >= -1e-9 || try > 20 || dt <= 1e-3 {
			break
		}
		dt = max(1e-3, dt*max(0, r.sourceM3-r.lowM3)/(r.sourceM3-r.lowM3-left))
	}
	r.commit(dt, pumpM3s, changeM3)
	switch {
	case r.dry && on:
		r.c.DrySeconds += dt
		r.c.PumpOnS += dt
		r.c.WireKWh += r.idleW() * dt / 3.6e6
	case flowing:
		r.c.PumpOnS += dt
		r.c.WireKWh += wireW * dt / 3.6e6
	case on:
		r.c.AgainstShutS += dt
		r.c.PumpOnS += dt
		r.c.WireKWh += r.idleW() * dt / 3.6e6
	}
	switch {
	case !r.dry && flowing && r.sourceM3 <= r.lowM3+1e-7:
		r.dry = true
		r.event(r.atS, -1, RanDry)
	case r.dry && r.sourceM3 >= r.againM3:
		r.dry = false
		r.event(r.atS, -1, GotWater)
	}
	return nil
}

// idleW is what the pumps take while they move nothing.
func (r *runner) idleW() float64 {
	sum := 0.0
	for i := range r.s.Pumps {
		sum += r.s.Pumps[i].WireW(0)
	}
	return sum
}

// feedBeds puts the inflows and returns by how much the source grows.
func (r *runner) feedBeds(flowing bool, open Valves, levelM float64, wireW *float64) (rateM3s float64, err error) {
	for i := range r.beds {
		r.beds[i].inM3s = 0
	}
	if !flowing {
		clear(r.branchM3s)
	} else if *wireW, err = r.flows(open, levelM); err != nil {
		return 0, err
	}
	for i, q := range r.branchM3s {
		b := &r.s.Branches[i]
		if b.Timed && !open.Open(i) {
			r.branchM3s[i] = 0
			continue
		}
		switch {
		case r.hoseOff.Open(i):
			rateM3s -= q
		case b.Bed >= 0:
			r.beds[b.Bed].inM3s += q
			rateM3s -= q
		}
	}
	for i := range r.beds {
		b := &r.beds[i]
		if b.inM3s < 1e-12 && b.inM3s > 0 {
			rateM3s += b.inM3s // the little that is no flow stays in the source
			b.inM3s = 0
		}
		switch {
		case b.areaM2 > 0:
			rateM3s += b.outM3s(b.state.LevelM, b.state.Running)
		case (b.way != Watering || r.tops) && !b.blocked:
			rateM3s += b.inM3s
		}
	}
	return rateM3s, nil
}

// outM3s is what a bed's drain passes at a level.
func (b *bedRun) outM3s(z float64, running bool) float64 {
	switch {
	case b.blocked:
		return 0
	case b.works != nil && running:
		return b.works.FullM3s(max(z, b.floorM))
	case b.works != nil:
		return b.works.CrestM3s(z)
	}
	out := 0.0
	if h := z - b.weepAtM; b.weepM25 > 0 && h > 0 {
		out = b.weepM25 * math.Sqrt(h)
	}
	if h := z - b.crestM; h > 0 {
		root := math.Sqrt(h)
		out += min(b.weir*h*root, b.orify*root)
	}
	return out
}

// try carries all beds over a step without settling for it, and returns by how
// much the source changes. eventS, when not nil, is set to the first start or
// break of a siphon in the step.
func (r *runner) try(dt, pumpM3s float64, eventS *float64) (changeM3 float64, err error) {
	changeM3 = -pumpM3s * dt
	for i := range r.s.Branches {
		if b := &r.s.Branches[i]; b.Bed < 0 && !r.hoseOff.Open(i) {
			changeM3 += r.branchM3s[i] * dt
		}
	}
	for i := range r.beds {
		b := &r.beds[i]
		if err := b.advance(dt); err != nil {
			return 0, fmt.Errorf("bed %s: %w", r.s.Beds[i].In.Name, err)
		}
		if eventS != nil && b.did.starts+b.did.breaks > 0 {
			at := b.state
			r.eventS = *eventS
			if _, err := b.works.Advance(&at, b.inM3s, dt, r.see); err != nil {
				return 0, fmt.Errorf("bed %s: %w", r.s.Beds[i].In.Name, err)
			}
			*eventS = r.eventS
		}
		changeM3 += min(b.did.spilledM3, b.spillM3s*dt)
		if b.way != Watering || r.tops {
			changeM3 += b.did.outM3
		}
	}
	// What is too little to be a flow never left the source.
	for i, q := range r.branchM3s {
		if b := &r.s.Branches[i]; q > 0 && b.Bed >= 0 && !r.hoseOff.Open(i) && r.beds[b.Bed].inM3s == 0 {
			changeM3 += q * dt
		}
	}
	return changeM3, nil
}

// exact reports whether the bed goes by its siphon's own course.
func (b *bedRun) exact() bool {
	return b.works != nil && !b.blocked && !b.neverStarts && !(b.neverStops && b.state.Running)
}

// advance carries a bed over a step with its inflow.
func (b *bedRun) advance(dt float64) error {
	z, q := b.state.LevelM, b.inM3s
	b.next = b.state
	b.did = passed{crestS: -1, highM: z, lowM: z}
	switch {
	case b.areaM2 == 0 && b.blocked:
		b.did.spilledM3 = q * dt
		return nil
	case b.areaM2 == 0:
		b.did.outM3 = q * dt
		return nil
	case b.exact():
		if q == 0 && !b.state.Running && z <= b.crestM+eventTolS {
			return nil
		}
		p, err := b.works.Advance(&b.next, q, dt, nil)
		if err != nil {
			return err
		}
		b.did.spilledM3, b.did.starts, b.did.breaks, b.did.highM, b.did.lowM = p.SpilledM3, p.Starts, p.Breaks, p.HighM, p.LowM
		// By the levels, so that the balance closes whatever the course's last digit.
		b.did.outM3 = q*dt - b.areaM2*(b.next.LevelM-z) - p.SpilledM3
		return nil
	}
	b.pour(dt)
	return nil
}

// pour carries a bed whose drain passes what outM3s says. The weep hole alone,
// and a bed that passes nothing, go exactly; all else by steps of the fourth order
// of 2 mm or 10 s.
func (b *bedRun) pour(dt float64) {
	z, q, running := b.state.LevelM, b.inM3s, b.state.Running
	level := func(to float64) {
		b.did.highM, b.did.lowM = max(b.did.highM, to), min(b.did.lowM, to)
	}
	for left := dt; left > 0; {
		out := b.outM3s(z, running)
		net := q - out
		switch {
		case z >= b.rimM && net >= 0:
			b.did.outM3 += out * left
			b.did.spilledM3 += net * left
			b.next.LevelM = z
			return
		case z <= b.floorM && net <= 0, math.Abs(net) <= 1e-13:
			b.did.outM3 += q * left
			b.next.LevelM = z
			return
		case q == 0 && z <= b.crestM && b.works == nil && !b.blocked:
			root := max(0, math.Sqrt(z-b.weepAtM)-b.weepM25*left/(2*b.areaM2))
			to := b.weepAtM + root*root
			b.did.outM3 += b.areaM2 * (z - to)
			b.next.LevelM = to
			level(to)
			return
		}
		h := min(left, max(0.01, b.areaM2*boxStepM/math.Abs(net)), boxStepS)
		to := 0.0
		if out == 0 && net > 0 && (b.blocked || z < b.crestM && b.weepM25 == 0) { // nothing passes until the crest, or the rim
			top := b.rimM
			if !b.blocked {
				top = b.crestM
			}
			if h = left; z+net*h/b.areaM2 > top {
				h = max(0.01, b.areaM2*(top-z)/net)
				h = min(h, left)
			}
			to = z + net*h/b.areaM2
		} else {
			rate := func(z float64) float64 { return (q - b.outM3s(max(z, b.floorM), running)) / b.areaM2 }
			k1 := net / b.areaM2
			k2 := rate(z + h/2*k1)
			k3 := rate(z + h/2*k2)
			k4 := rate(z + h*k3)
			to = z + h/6*(k1+2*k2+2*k3+k4)
		}
		if to < b.floorM && z >= b.floorM {
			to = b.floorM
		}
		passed := q*h - b.areaM2*(to-z)
		if to >= b.rimM {
			to = b.rimM
			over := q*h - b.areaM2*(to-z) - h*(out+b.outM3s(b.rimM, running))/2
			b.did.spilledM3 += max(0, over)
			passed = q*h - b.areaM2*(to-z) - max(0, over)
		}
		b.did.outM3 += passed
		if z < b.crestM && to >= b.crestM && b.did.crestS < 0 {
			b.did.crestS = dt - left + h*(b.crestM-z)/(to-z)
		}
		z = to
		level(z)
		left -= h
	}
	b.next.LevelM = z
}

func (r *runner) event(atS float64, bed int, what Happening) {
	r.c.Events = append(r.c.Events, Event{atS, bed, what})
}

// commit settles for a step.
func (r *runner) commit(dt, pumpM3s, changeM3 float64) {
	c := r.c
	for i := range r.beds {
		b, out := &r.beds[i], &c.Beds[i]
		if b.traced && b.areaM2 > 0 {
			r.trace(i, dt)
		}
		out.InM3 += b.inM3s * dt
		out.OutM3 += b.did.outM3
		if b.way == Watering {
			c.SoilM3 += b.did.outM3
			if r.tops {
				c.ToppedM3 += b.did.outM3
			}
		}
		if b.did.spilledM3 > 0 {
			out.SpilledM3 += b.did.spilledM3
			c.FloorM3 += b.did.spilledM3 - min(b.did.spilledM3, b.spillM3s*dt)
			if !b.overTold && b.did.spilledM3 > spillOpenTol {
				b.overTold = true
				r.event(r.atS, i, RanOver)
			}
		}
		r.follow(i, dt)
		b.state = b.next
	}
	for i, q := range r.branchM3s {
		if r.hoseOff.Open(i) {
			c.FloorM3 += q * dt
		}
	}
	c.PumpM3 += pumpM3s * dt
	r.atS += dt
	r.sourceM3 += changeM3
	if over := r.sourceM3 - r.rimM3; over > 0 {
		if c.SourceOverM3 == 0 {
			r.event(r.atS, -1, SumpOver)
		}
		c.FloorM3 += over
		c.SourceOverM3 += over
		r.sourceM3 = r.rimM3
	}
	if level := r.levelM(); level < c.SourceLowM {
		c.SourceLowM, c.LowAtS = level, r.atS
	} else {
		c.SourceHighM = max(c.SourceHighM, level)
	}
	c.MostInBedsM3 = max(c.MostInBedsM3, r.inBedsM3())
}

// follow keeps the record of a bed over a step.
func (r *runner) follow(i int, dt float64) {
	b, out := &r.beds[i], &r.c.Beds[i]
	flood := func(atS float64) {
		out.Floods++
		if out.FirstStartS < 0 {
			out.FirstStartS = atS
		}
		out.LongestDryS = max(out.LongestDryS, atS-b.floodS)
		b.floodS = atS
	}
	for range b.did.starts {
		flood(r.atS + dt)
		r.event(r.atS+dt, i, Started)
	}
	for range b.did.breaks {
		r.event(r.atS+dt, i, Stopped)
	}
	if b.areaM2 == 0 || b.way == Constant {
		if b.inM3s > 0 {
			if b.armed {
				flood(r.atS)
			}
			out.LongestDryS = max(out.LongestDryS, r.atS-b.floodS)
			b.floodS = r.atS + dt
		}
		b.armed = b.inM3s == 0
	}
	if b.areaM2 == 0 {
		return
	}
	from, to, middle := b.state.LevelM, b.next.LevelM, b.middleM()
	if b.works == nil && b.way == Timer {
		if b.did.crestS >= 0 && b.armed {
			flood(r.atS + b.did.crestS)
			r.event(r.atS+b.did.crestS, i, Crested)
			b.armed = false
		}
		b.armed = b.armed || to < middle
	}
	out.LowM, out.HighM = min(out.LowM, b.did.lowM), max(out.HighM, b.did.highM)
	switch {
	case b.wetS < 0 && to >= middle:
		b.wetS = r.atS
		if to > from {
			b.wetS += dt * min(1, max(0, (middle-from)/(to-from)))
		}
	case b.wetS >= 0 && to < middle:
		endS := r.atS + dt
		if from > to {
			endS = r.atS + dt*min(1, max(0, (from-middle)/(from-to)))
		}
		out.LongestWetS = max(out.LongestWetS, endS-b.wetS)
		b.wetS = -1
	}
}

// trace keeps a bed's points of a step.
func (r *runner) trace(i int, dt float64) {
	b, out := &r.beds[i], &r.c.Beds[i]
	if len(out.Points) == 0 {
		out.Points = append(out.Points, siphon.Point{LevelM: b.state.LevelM, OutM3s: b.outM3s(b.state.LevelM, b.state.Running), Running: b.state.Running})
	}
	if b.exact() {
		at := b.state
		// It went well a moment ago, so it does again.
		_, _ = b.works.Advance(&at, b.inM3s, dt, func(p siphon.Point) {
			p.TimeS += r.atS
			out.Points = append(out.Points, p)
		})
		return
	}
	out.Points = append(out.Points, siphon.Point{TimeS: r.atS + dt, LevelM: b.next.LevelM, OutM3s: b.outM3s(b.next.LevelM, b.next.Running), Running: b.next.Running})
}

// finish closes the records.
func (r *runner) finish() {
	c := r.c
	c.SourceEndM = r.levelM()
	for i := range r.beds {
		b, out := &r.beds[i], &c.Beds[i]
		out.EndM, out.EndRunning = b.state.LevelM, b.state.Running
		out.LongestDryS = max(out.LongestDryS, r.atS-b.floodS)
		if b.wetS >= 0 {
			out.LongestWetS = max(out.LongestWetS, r.atS-b.wetS)
		}
		out.FloodsPerDay = float64(out.Floods) * 86400 / c.Seconds
	}
	slices.SortStableFunc(c.Events, func(a, b Event) int { return cmp.Compare(a.AtS, b.AtS) })
	open, _ := r.t.scheduled(r.o.FromH, r.atS)
	open = (open | r.stuckOpen) &^ r.stuckShut
	for i := range r.s.Branches {
		if open.Open(i) {
			c.LeftOpen = append(c.LeftOpen, i)
		}
	}
}
