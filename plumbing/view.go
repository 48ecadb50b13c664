package plumbing

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/site"
)

// Section is what a long section of a loop shows: heights above the floor of the
// building, and the flows with one timed branch open, all that always flows
// flowing. What is not known is NaN.
type Section struct {
	Open    int // branch; -1: none
	BottomM float64
	TopM    float64 // of the branching point, drawn above the highest end: the site gives no height for it
	Source  Source
	LowM    float64 // lowest and highest of the source in the course given
	HighM   float64

	Pump      string // names of the pumps that run
	FlowM3s   float64
	HeadM     float64 // that the pump adds
	WireW     float64
	RiserMS   float64 // in the pipe from the pump
	RiserBore float64
	HeaderM   float64 // head where the pipes to the ends part, above the floor
	Beyond    bool    // the pump runs beyond its curve's last point
	Ends      []End
}

// End is a tank, a bed or the sump with the pipe that leads there; like ones can
// stand together.
type End struct {
	Names  []string
	Kind   string // tank, bed, sump
	Way    Way    // of beds
	Bed    int    // the first's index in the loop; -1 for none
	Branch int    // the first's; -1: no pipe of the pump's leads there
	Timed  bool
	Open   bool

	FlowM3s float64 // the most of those together
	MS      float64
	BoreM   float64
	HeadM   float64 // at the pipe's beginning
	OutletM float64 // where the water comes out
	Drowned bool

	FloorM float64
	TopM   float64 // of the media
	RimM   float64
	WaterM float64 // level that stands: of tanks, rafts, constant beds
	CrestM float64
	BreakM float64
	DrainM float64 // where the drain lets go
	Back   bool    // a pipe leads from it to what the pump draws from
}

// Section draws the loop with a branch open; open is an index of Branches, -1 for
// none. day gives the lowest and highest level of the source; nil leaves them out.
// With more than most ends like ones are put together, the open one apart. It
// works without pipes too: then without flows.
func (s *Scheme) Section(open int, day *Course, most int) (*Section, error) {
	nan := math.NaN()
	v := &Section{Open: open, Source: s.Source, LowM: nan, HighM: nan, FlowM3s: nan, HeadM: nan, RiserMS: nan, RiserBore: nan, HeaderM: nan}
	if day != nil {
		v.LowM, v.HighM = day.SourceLowM, day.SourceHighM
	}
	var names []string
	for i := range s.Pumps {
		names = append(names, s.Pumps[i].In.Name)
	}
	v.Pump = Names(names)
	var flow *Flow
	if s.Piped {
		var err error
		if flow, err = s.Flow(maskOf(open), s.Source.SurfaceM); err != nil {
			return nil, err
		}
		v.FlowM3s, v.WireW, v.Beyond = flow.TotalM3s, flow.WireW, flow.Beyond
		v.HeadM = flow.PumpHeadM[0]
		for i := range s.Loop.Pipes {
			if s.links[i] >= 0 && s.Loop.Pipes[i].From == s.Pumps[0].In.Name || s.links[i] >= 0 && s.ends[i][0] == s.outletNode() {
				v.RiserMS, v.RiserBore = flow.PipeMS[i], s.Loop.Pipes[i].BoreM()
				break
			}
		}
		if len(s.Branches) > 0 {
			v.HeaderM = flow.FromM[s.Branches[0].Index]
		}
	}
	v.Ends = s.endsOf(open, flow)
	if len(v.Ends) > most {
		v.Ends = together(v.Ends)
	}
	v.BottomM = math.Min(0, s.Source.BottomM)
	v.TopM = math.Max(s.Source.RimM, 0.3)
	for i := range v.Ends {
		e := &v.Ends[i]
		for _, m := range []float64{e.RimM, e.OutletM, e.TopM, e.WaterM} {
			if !math.IsNaN(m) {
				v.TopM = math.Max(v.TopM, m)
			}
		}
		for _, m := range []float64{e.FloorM, e.DrainM} {
			if !math.IsNaN(m) {
				v.BottomM = math.Min(v.BottomM, m)
			}
		}
	}
	v.TopM += headerAboveM
	return v, nil
}

// headerAboveM is how far above the highest end the branching point is drawn.
const headerAboveM = 0.2

// outletNode is the node behind the first pump.
func (s *Scheme) outletNode() int {
	for i := range s.links {
		if s.links[i] >= 0 && s.Loop.Pipes[i].From == s.Pumps[0].In.Name {
			return s.ends[i][0]
		}
	}
	return -1
}

// endsOf are all ends, branches first, then what no pipe of the pump's reaches.
func (s *Scheme) endsOf(open int, flow *Flow) []End {
	var all []End
	bed, tank := map[int]bool{}, map[int]bool{}
	for i := range s.Branches {
		b := &s.Branches[i]
		e := s.vessel(b.Bed, b.Tank)
		e.Branch, e.Timed, e.Open = i, b.Timed, !b.Timed || i == open
		e.OutletM, e.Drowned, e.BoreM = b.OutletM, b.Drowned, b.Pipe.BoreM()
		e.FlowM3s, e.MS, e.HeadM = flow.BranchM3s[i], flow.PipeMS[b.Index], flow.FromM[b.Index]
		bed[b.Bed], tank[b.Tank] = true, true
		all = append(all, e)
	}
	for i := range s.Loop.Tanks {
		if !tank[i] && s.Source.Tank != &s.Loop.Tanks[i] {
			all = append(all, s.vessel(-1, i))
		}
	}
	for i := range s.Beds {
		if !bed[i] {
			all = append(all, s.vessel(i, -1))
		}
	}
	return all
}

// vessel describes a bed or a tank, without a pipe; neither: the sump.
func (s *Scheme) vessel(bed, tank int) End {
	nan := math.NaN()
	e := End{Bed: bed, Branch: -1, FlowM3s: nan, MS: nan, BoreM: nan, HeadM: nan, OutletM: nan,
		FloorM: nan, TopM: nan, RimM: nan, WaterM: nan, CrestM: nan, BreakM: nan, DrainM: nan, Kind: "sump", Names: []string{"sump"}}
	name := ""
	switch {
	case bed >= 0:
		b := &s.Beds[bed]
		in := b.In
		name, e.Kind, e.Way, e.FloorM, e.RimM = in.Name, "bed", b.Way, in.FloorM, in.FloorM+in.Rim()
		if in.DepthM > 0 {
			e.TopM = in.FloorM + in.DepthM
		}
		switch b.Way {
		case Siphons:
			e.CrestM, e.BreakM, e.DrainM = in.FloorM+b.Siphon.CrestM, in.FloorM+b.Siphon.BreakM, b.OutletM()
		case Timer, Constant:
			e.CrestM = in.FloorM + b.Stand.CrestM
			if b.Way == Constant {
				e.WaterM = e.CrestM
			}
		case Floating:
			e.WaterM = e.RimM - 0.05
			if in.DepthM > 0 {
				e.WaterM = in.FloorM + in.DepthM
			}
		case Filming:
			if in.DepthM == 0 {
				e.TopM = in.FloorM + usualTowerM
			}
			e.RimM = e.TopM
		}
	case tank >= 0:
		t := &s.Loop.Tanks[tank]
		name, e.Kind, e.WaterM, e.RimM = t.Name, "tank", t.LevelM, t.RimM
		depth := t.DepthM
		if depth == 0 {
			depth = usualDepthM
		}
		e.FloorM = t.LevelM - depth
		if e.RimM == 0 {
			e.RimM = t.LevelM + usualTankFreeM
		}
	default:
		return e
	}
	e.Names = []string{name}
	e.Back = slices.ContainsFunc(s.Loop.Pipes, func(p site.Pipe) bool { return p.From == name })
	return e
}

// together puts like ends together, the open timed one apart.
func together(ends []End) []End {
	var out []End
	same := func(a, b float64) bool { return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) < 1e-9 }
	for _, e := range ends {
		k := slices.IndexFunc(out, func(o End) bool {
			return o.Kind == e.Kind && o.Way == e.Way && o.Timed == e.Timed && o.Open == e.Open && o.Back == e.Back && o.Drowned == e.Drowned && (o.Branch < 0) == (e.Branch < 0) &&
				same(o.FloorM, e.FloorM) && same(o.RimM, e.RimM) && same(o.WaterM, e.WaterM) && same(o.CrestM, e.CrestM) && same(o.BreakM, e.BreakM) && same(o.DrainM, e.DrainM) && same(o.OutletM, e.OutletM)
		})
		if k < 0 {
			e.Names = slices.Clone(e.Names)
			out = append(out, e)
			continue
		}
		out[k].Names = append(out[k].Names, e.Names...)
		out[k].FlowM3s = math.Max(out[k].FlowM3s, e.FlowM3s)
		out[k].MS = math.Max(out[k].MS, e.MS)
	}
	return out
}

// Cut is a bed's cross-section, m above the bed's own floor; what is not there or
// not known is 0.
type Cut struct {
	Name    string
	Way     Way
	WideM   float64 // inside
	MediaM  float64
	RimM    float64
	CrestM  float64
	BreakM  float64
	OutletM float64
	BoreM   float64 // of the standpipe
	FunnelM float64 // of its rim, when wider
	BellM   float64
	GuardM  float64
	GapM    float64 // from the crest to the bell's top
	WeepM   float64
	WeepAtM float64
	StartM  float64 // level at which a siphon starts
}

// CutOf is the cross-section of a bed with a siphon or a standpipe; nil for other
// ways.
func (s *Scheme) CutOf(bed int) *Cut {
	if bed < 0 || bed >= len(s.Beds) {
		return nil
	}
	b := &s.Beds[bed]
	in := b.In
	c := &Cut{Name: in.Name, Way: b.Way, WideM: in.WidthM, MediaM: in.DepthM, RimM: in.Rim()}
	if c.WideM == 0 || in.LengthM > 0 && in.LengthM < in.WidthM {
		c.WideM = in.LengthM
	}
	if c.WideM == 0 {
		c.WideM = math.Sqrt(b.PlanM2)
	}
	if c.MediaM == 0 {
		c.MediaM = usualBedM
	}
	switch b.Way {
	case Siphons:
		q := in.Siphon
		c.CrestM, c.BreakM, c.OutletM, c.BoreM, c.FunnelM, c.BellM, c.GuardM, c.GapM = q.CrestM, q.BreakM, q.OutletM, q.StandpipeM, q.FunnelM, q.BellM, q.GuardM, q.GapM
		c.StartM = b.Works.StartLevelM()
	case Timer, Constant:
		c.CrestM, c.BoreM, c.WeepM, c.WeepAtM = b.Stand.CrestM, b.Stand.DiameterM, b.Stand.WeepM, b.Stand.WeepLevelM
	default:
		return nil
	}
	return c
}

// Reel is how a bed's level goes over about one cycle.
type Reel struct {
	Seconds   float64 // shown, at most about a cycle
	CycleS    float64
	Points    []siphon.Point // from time 0
	OpenAt    [][2]float64   // when water comes in, from and to, s
	InflowM3s float64        // then
}

// ReelOf follows a bed by the first part of the timetable, or with its steady
// inflow, once it has settled into its cycle. A bed whose level does not move, or
// that no pipe feeds, has none: nil. Errors: those of Run.
func (s *Scheme) ReelOf(bed int, t *Timetable) (*Reel, error) {
	if t == nil || len(t.Parts) == 0 || bed < 0 || bed >= len(s.Beds) || s.Beds[bed].Branch < 0 {
		return nil, nil
	}
	way := s.Beds[bed].Way
	if way != Siphons && way != Timer {
		return nil, nil
	}
	part := &t.Parts[0]
	from := part.FromH
	if from == 0 {
		from = 24
	}
	cycle, lead, first := 0.0, 0.0, 0.0
	f := &Reel{}
	if k := slices.IndexFunc(part.Turns, func(x Turn) bool { return x.Bed == bed }); k >= 0 {
		x := &part.Turns[k]
		whole := part.CycleS
		cycle = math.Min(whole, reelBeyond*math.Max(x.OpenS, x.FillS+x.DrainS))
		lead = math.Max(0, math.Min(reelLead*cycle, whole-x.OpenS))
		f.InflowM3s, f.CycleS = x.InflowM3s, whole
		first = whole + x.AtS - lead
		f.OpenAt = [][2]float64{{lead, math.Min(cycle, lead+x.OpenS)}}
	} else {
		k := slices.IndexFunc(t.Steady, func(x Steady) bool { return x.Bed == bed })
		if k < 0 {
			return nil, nil
		}
		f.InflowM3s = t.Steady[k].InflowM3s
		cycle = reelSteadyS
		if perHour := t.Steady[k].PerHour; perHour > 0 {
			cycle, first = 2*secondsInHour/perHour, 2*secondsInHour/perHour
		}
		f.OpenAt, f.CycleS = [][2]float64{{0, cycle}}, cycle
	}
	if cycle <= 0 || math.IsInf(cycle, 0) {
		return nil, nil
	}
	if first < 0 {
		first += cycle
	}
	run, err := s.Run(t, RunOptions{Seconds: first + cycle, FromH: from, Trace: []int{bed}})
	if err != nil {
		return nil, fmt.Errorf("a cycle of %s: %w", s.Beds[bed].In.Name, err)
	}
	f.Seconds = cycle
	f.Points = window(run.Beds[bed].Points, first, first+cycle)
	if len(f.Points) < 2 {
		return nil, nil
	}
	f.Points = thinned(f.Points, reelPoints)
	return f, nil
}

const (
	reelLead    = 0.04   // of what is shown, before the valve opens
	reelBeyond  = 1.35   // of the time in which a bed floods and drains: the rest of a cycle nothing moves
	reelSteadyS = 3600.0 // of a bed that does not cycle
	reelPoints  = 400
)

// window is the part of a course between two times, its first and last points put
// at them.
func window(all []siphon.Point, fromS, toS float64) []siphon.Point {
	var out []siphon.Point
	for i, p := range all {
		switch {
		case p.TimeS < fromS:
			continue
		case p.TimeS > toS:
			if i > 0 && len(out) > 0 {
				out = append(out, between(all[i-1], p, toS))
			}
		default:
			if len(out) == 0 && i > 0 && p.TimeS > fromS {
				out = append(out, between(all[i-1], p, fromS))
			}
			out = append(out, p)
			continue
		}
		break
	}
	for i := range out {
		out[i].TimeS -= fromS
	}
	return out
}

// between is the point at a time between two.
func between(a, b siphon.Point, atS float64) siphon.Point {
	share := 0.0
	if b.TimeS > a.TimeS {
		share = (atS - a.TimeS) / (b.TimeS - a.TimeS)
	}
	return siphon.Point{TimeS: atS, LevelM: a.LevelM + share*(b.LevelM-a.LevelM), OutM3s: a.OutM3s, Running: a.Running}
}

// thinned keeps events and every so manyth of the points between.
func thinned(all []siphon.Point, most int) []siphon.Point {
	if len(all) <= most {
		return all
	}
	step := (len(all) + most - 1) / most
	var out []siphon.Point
	for i, p := range all {
		near := p.Event != siphon.None || i > 0 && all[i-1].Event != siphon.None || i+1 < len(all) && all[i+1].Event != siphon.None
		if i%step == 0 || near || i == len(all)-1 {
			out = append(out, p)
		}
	}
	return out
}

// Zone is a span of inflows in which a siphon does the same.
type Zone struct {
	FromM3s  float64
	ToM3s    float64
	Verdict  siphon.Verdict
	Dribbles bool // it cycles, but may stop late: air and water leave together
}

// Zones are the spans of inflows of a bed's siphon, upwards from none, the last a
// quarter beyond what its pipe takes with the bed at the rim. nil without a
// siphon.
func (b *Bed) Zones() []Zone {
	if b.Works == nil {
		return nil
	}
	start, stops := b.Works.Window()
	_, dribble := b.Works.GoodWindow()
	rim := b.Works.FullM3s(b.Bed.RimM)
	at := []float64{0, b.Works.FlowAtFroudeM3s(siphon.FroudeVenting), start, b.Works.FlowAtFroudeM3s(siphon.FroudeSwept), dribble, stops, rim}
	slices.Sort(at)
	at = append(at, 1.25*at[len(at)-1])
	var out []Zone
	for i := 1; i < len(at); i++ {
		mid := (at[i-1] + at[i]) / 2
		if at[i]-at[i-1] < 1e-9 {
			continue
		}
		j, err := b.Works.Judge(mid)
		if err != nil {
			continue
		}
		z := Zone{FromM3s: at[i-1], ToM3s: at[i], Verdict: j.Verdict, Dribbles: j.Verdict.Cycles() && mid > dribble}
		if n := len(out); n > 0 && out[n-1].Verdict == z.Verdict && out[n-1].Dribbles == z.Dribbles {
			out[n-1].ToM3s = z.ToM3s
			continue
		}
		out = append(out, z)
	}
	return out
}

// Duty is a pump against the pipes in one state of the valves.
type Duty struct {
	Pump       string
	Curve      []pipe.Point
	System     []pipe.Point // the head that the pipes ask, by flow
	At         pipe.Point   // where they meet
	LastM3s    float64      // beyond it the curve is a guess
	WireW      float64
	Efficiency float64 // NaN: the site does not say the watts
	Beyond     bool
}

// DutyOf is the curve of the first pump, that of the pipes with a branch open, and
// where they meet. The pipes' curve is found by running the pump slower and
// faster. Errors: ErrUnpiped; what Flow refuses.
func (s *Scheme) DutyOf(open int) (*Duty, error) {
	flow, err := s.Flow(maskOf(open), s.Source.SurfaceM)
	if err != nil {
		return nil, err
	}
	p := &s.Pumps[0]
	d := &Duty{Pump: p.In.Name, At: pipe.Point{FlowM3s: flow.PumpM3s[0], HeadM: flow.PumpHeadM[0]}, LastM3s: p.Curve.LastM3s, WireW: p.WireW(flow.PumpM3s[0]), Efficiency: math.NaN()}
	d.Beyond = d.At.FlowM3s > d.LastM3s*(1+1e-9)
	if d.WireW > 0 {
		if e, err := pipe.Efficiency(d.At.FlowM3s, d.At.HeadM, d.WireW, s.Settings.TempC); err == nil {
			d.Efficiency = e
		}
	}
	const steps = 40
	for i := range steps + 1 {
		q := p.Curve.MaxM3s * float64(i) / steps
		d.Curve = append(d.Curve, pipe.Point{FlowM3s: q, HeadM: math.Max(0, p.Curve.HeadM(q))})
	}
	s.state(maskOf(open), s.Source.SurfaceM)
	net := s.net.Clone()
	for speed := 0.3; speed < 1.45; speed += 0.05 {
		var curve pipe.Curve
		for i := range s.Pumps {
			c, err := s.Pumps[i].Curve.AtSpeed(speed)
			if err != nil {
				return nil, err
			}
			net.SetPump(s.Pumps[i].link, c)
			if i == 0 {
				curve = c
			}
		}
		if err := net.Solve(); err != nil {
			continue // too slow to lift to any end
		}
		if q := net.FlowM3s(p.link); q > 1e-9 && q <= 1.02*p.Curve.MaxM3s {
			d.System = append(d.System, pipe.Point{FlowM3s: q, HeadM: curve.HeadM(q)})
		}
	}
	return d, nil
}

// WithWalls is the same pipework with clean new walls, or with the film, its
// valves left as they are set now instead of set anew.
func (s *Scheme) WithWalls(clean bool) (*Scheme, error) {
	l := *s.Loop
	l.Pipes = slices.Clone(l.Pipes)
	for i := range s.Branches {
		b := &s.Branches[i]
		p := &l.Pipes[b.Index]
		p.SetM3s = 0
		if b.ExtraK == 0 {
			continue
		}
		bore := p.BoreM()
		one, err := pipe.ValveK(1, bore)
		if err != nil {
			return nil, fmt.Errorf("pipe %s: %w", p.Name, err)
		}
		k := b.ExtraK // by a valve of its own, or one that its fittings name
		switch {
		case p.ValveKv > 0:
			k += one / (p.ValveKv * p.ValveKv)
		case slices.ContainsFunc(p.Fittings, namesValve):
		case p.Valve == "timed":
			k += timedValveK
		case p.Valve == "hand":
			k += handValveK
		}
		p.ValveKv = math.Sqrt(one / k) // K goes with 1 / Kv²
	}
	o := s.Settings
	o.New = clean
	return Draw(&l, o)
}

// namesValve reports whether a fitting is a valve that pipeOf counts as such.
func namesValve(text string) bool {
	_, f, err := site.ParseFitting(text)
	return err == nil && strings.Contains(f.Name, "valve") && !strings.Contains(f.Name, "check") && !strings.Contains(f.Name, "foot")
}
