package plumbing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/science/water"
	"tidebed/site"
	"tidebed/words"
)

// Way is how a bed gets rid of its water.
type Way string

// The ways of beds.
const (
	Siphons  Way = "siphon"    // a bell siphon
	Timer    Way = "timer"     // a standpipe with a weep hole: flooded while a timer runs the water
	Constant Way = "constant"  // a standpipe without a hole: it stays flooded
	Floating Way = "raft"      // rafts on standing water
	Filming  Way = "tower"     // a film of water that runs down
	Watering Way = "tub"       // watered; drains into its soil
	Unknown  Way = "undrained" // of a media bed whose drain the site does not describe
)

// Settings says under which conditions a loop's pipework is reckoned.
type Settings struct {
	TempC float64         // of the water, 0 to 45
	New   bool            // clean new pipe; otherwise with the film that grows in fish water within weeks
	Pump  string          // name of a pump of the loop that takes the place of the first that runs; empty: none
	Units quantity.System // of the quantities in sentences
}

// SettingsOf are the usual settings for a loop of a site: its water's temperature,
// pipes with their film, the units of the site's reader.
func SettingsOf(s *site.Site, l *site.Loop) Settings {
	o := Settings{TempC: TempOf(l)}
	if s != nil && s.Units == "us-customary" {
		o.Units = quantity.USCustomary
	}
	return o
}

// Source is the water the pump draws from.
type Source struct {
	Name     string
	Tank     *site.Tank // nil for the sump
	SurfaceM float64    // heights above the floor of the building; the beds drained
	BottomM  float64
	RimM     float64
	IntakeM  float64 // of the pump
	AreaM2   float64
	VolumeM3 float64 // at SurfaceM
}

// PumpAt is a pump that runs.
type PumpAt struct {
	In    *site.Pump
	Curve pipe.Curve
	Draws []pipe.Draw // power by flow
	link  int
}

// WireW is the power the pump takes at the plug at a flow, W; 0 when the site does
// not say.
func (p *PumpAt) WireW(flowM3s float64) float64 {
	w, err := pipe.WireW(p.Draws, flowM3s)
	if err != nil {
		return p.In.PowerW
	}
	return w
}

// Branch is an end of the pump's pipes: the last pipe to a bed, a tank or back to
// the sump.
type Branch struct {
	Pipe    *site.Pipe
	Index   int // of the pipe in the loop
	Bed     int // index in the loop; -1 when it ends elsewhere
	Tank    int // index in the loop; -1 when it ends elsewhere
	Timed   bool
	OutletM float64 // height above the floor at which its water comes out
	Drowned bool    // it ends under the surface of a tank
	ExtraK  float64 // of its valve, throttled to the pipe's set flow
	link    int
}

// Bed is a bed of the loop with its drain.
type Bed struct {
	In     *site.Bed
	Index  int
	Way    Way
	Branch int           // -1 when no pipe of the pump leads to it
	Bed    siphon.Bed    // of media beds
	Siphon siphon.Siphon // of beds that siphon; calibrated where the site gives a drain time
	Works  *siphon.Works
	Stand  siphon.Standpipe // of timer and constant beds
	Drain  int              // index of the pipe that leads from it; -1 for none
	PlanM2 float64          // over all tiers, which are taken to fill and drain as one
	// ReceivingM is the height above the building's floor of the water that its drain
	// runs into, at its usual level; Drowned says that it stands above the outlet,
	// which then counts as lying at that level.
	ReceivingM float64
	Drowned    bool
}

// FreeM2 is the area of open water that holds as much as the bed, m².
func (b *Bed) FreeM2() float64 { return b.Bed.FreeM2() }

// OutletM is the height above the floor at which the bed's drain lets go.
func (b *Bed) OutletM() float64 {
	if b.Way == Siphons {
		return b.In.FloorM + b.Siphon.OutletM
	}
	return b.In.FloorM
}

// Scheme is the pipework of a loop, ready to be reckoned: a network of the pump's
// pipes, the beds with their drains, the sump. It keeps the last solution, so it
// must not be used by two at a time; Clone makes another.
type Scheme struct {
	Loop     *site.Loop
	Settings Settings
	Water    pipe.Water
	Source   Source
	Pumps    []PumpAt
	Branches []Branch
	Beds     []Bed // as Loop.Beds
	// Piped is false when the site has no pump with a curve or no pipes from it:
	// then there is no network, and flows are not known.
	Piped bool

	net *pipe.Network
	// Problems are parts that could not be taken as the site gives them, and what is
	// taken instead.
	Problems []Finding

	assumed []assumption
	source  int   // node
	links   []int // of each pipe of the loop; -1 outside the network
	ends    [][2]int
	kept    map[flowKey]*Flow
}

const (
	exitK          = 1.0
	entranceK      = 0.5
	teeBranchK     = 1.8  // tee, through branch
	timedValveK    = 2.3  // diaphragm valve, open: many solenoid valves
	handValveK     = 0.05 // ball valve, fully open
	inletAboveM    = 0.05 // a pipe's end above the media or the rim's water
	usualSumpM     = 0.5
	usualFreeM     = 0.15 // from the sump's level to its rim
	usualTankFreeM = 0.10
	usualIntakeM   = 0.05
	usualTowerM    = 1.5
	shortestM      = 0.01
	constantBelowM = 0.05 // of the crest of a constant bed below its media
	usualBoreM     = 0.025
	usualDrainable = 0.40
	wetHeldM3M3    = 0.10 // water that stays on and in usual media and lies outside their table's porosity
)

// Draw makes the scheme of a loop. A loop without tank and sump has none: nil,
// without an error. What the site does not say is taken from defaults, which
// Assumed names. Errors name the part of the site that cannot be.
func Draw(l *site.Loop, o Settings) (*Scheme, error) {
	if l.SumpM3 <= 0 && len(l.Tanks) == 0 {
		return nil, nil
	}
	w, err := pipe.WaterAt(o.TempC)
	if err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	s := &Scheme{Loop: l, Settings: o, Water: w, kept: map[flowKey]*Flow{}}
	if err := s.pumps(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	s.draws()
	for i := range l.Beds {
		b, err := s.bed(i)
		if err != nil {
			return nil, fmt.Errorf("loop %s, bed %s: %w", l.Name, l.Beds[i].Name, err)
		}
		s.Beds = append(s.Beds, b)
	}
	if err := s.lay(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	if err := s.throttle(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	return s, nil
}

// Clone is a scheme of its own for another goroutine.
func (s *Scheme) Clone() *Scheme {
	c := *s
	c.kept = map[flowKey]*Flow{}
	if s.net != nil {
		c.net = s.net.Clone()
	}
	return &c
}

// assumption is a default that stands for what the site does not say, of things of
// some names.
type assumption struct {
	format string // with one %s for the names
	names  []string
}

// assume notes a default for a thing; things with the same default share a sentence.
func (s *Scheme) assume(name, format string, args ...any) {
	format = fmt.Sprintf(format, args...)
	i := slices.IndexFunc(s.assumed, func(a assumption) bool { return a.format == format })
	if i < 0 {
		i = len(s.assumed)
		s.assumed = append(s.assumed, assumption{format: format})
	}
	if !slices.Contains(s.assumed[i].names, name) {
		s.assumed[i].names = append(s.assumed[i].names, name)
	}
}

// Assumed are the defaults that stand for what the site does not say, in sentences.
func (s *Scheme) Assumed() []string {
	var all []string
	for _, a := range s.assumed {
		text := a.format
		if strings.Contains(text, "%s") {
			text = fmt.Sprintf(text, Names(a.names))
		}
		all = append(all, text)
	}
	return all
}

// Names joins names for a sentence; those that differ by a number at their end
// alone, in a row, are drawn together: "north 1 to 6".
func Names(names []string) string {
	var parts []string
	for i := 0; i < len(names); {
		stem, first, ok := numbered(names[i])
		k := i + 1
		for ok && k < len(names) {
			next, n, also := numbered(names[k])
			if !also || next != stem || n != first+k-i {
				break
			}
			k++
		}
		switch {
		case k-i >= 3:
			parts = append(parts, fmt.Sprintf("%s to %d", names[i], first+k-i-1))
		default:
			parts = append(parts, names[i:k]...)
		}
		i = k
	}
	return words.List(parts)
}

// numbered splits "north 3" into "north " and 3.
func numbered(name string) (stem string, n int, ok bool) {
	stem = strings.TrimRight(name, "0123456789")
	n, err := strconv.Atoi(name[len(stem):])
	return stem, n, err == nil && stem != "" && !strings.HasPrefix(name[len(stem):], "0")
}

// pumps finds those that run and their curves.
func (s *Scheme) pumps() error {
	l := s.Loop
	var run []*site.Pump
	var other *site.Pump
	for i := range l.Pumps {
		p := &l.Pumps[i]
		if s.Settings.Pump != "" && p.Name == s.Settings.Pump {
			other = p
		}
		if !p.Spare {
			run = append(run, p)
		}
	}
	if s.Settings.Pump != "" {
		if other == nil {
			return fmt.Errorf("there is no pump %q in the loop", s.Settings.Pump)
		}
		if len(run) == 0 {
			run = []*site.Pump{other}
		}
	}
	for i, in := range run {
		if i == 0 && other != nil {
			in = other
		}
		if len(in.Points) < 2 {
			continue
		}
		p, err := pumpAt(in)
		if err != nil {
			return err
		}
		s.Pumps = append(s.Pumps, p)
	}
	return nil
}

// pumpAt reads a pump's points. Two of them make a parabola from the head at no
// flow, which the first must then be.
func pumpAt(in *site.Pump) (PumpAt, error) {
	p := PumpAt{In: in}
	var points []pipe.Point
	for _, text := range in.Points {
		at, err := site.ParsePumpPoint(text)
		if err != nil {
			return p, fmt.Errorf("pump %s: %w", in.Name, err)
		}
		points = append(points, pipe.Point{FlowM3s: at.FlowM3s, HeadM: at.HeadM})
		if at.WireW > 0 {
			p.Draws = append(p.Draws, pipe.Draw{FlowM3s: at.FlowM3s, WireW: at.WireW})
		}
	}
	slices.SortFunc(points, func(a, b pipe.Point) int { return cmp.Compare(a.FlowM3s, b.FlowM3s) })
	slices.SortFunc(p.Draws, func(a, b pipe.Draw) int { return cmp.Compare(a.FlowM3s, b.FlowM3s) })
	if len(points) == 2 {
		a, b := points[0], points[1]
		mid := pipe.Point{FlowM3s: (a.FlowM3s + b.FlowM3s) / 2}
		if a.FlowM3s == 0 {
			mid.HeadM = a.HeadM - (a.HeadM-b.HeadM)/4
		} else {
			mid.HeadM = (a.HeadM + b.HeadM) / 2
		}
		points = []pipe.Point{a, mid, b}
	}
	curve, err := pipe.Fit(points)
	if err != nil {
		return p, fmt.Errorf("pump %s: %w", in.Name, err)
	}
	p.Curve = curve
	if len(p.Draws) == 0 {
		if in.PowerW > 0 {
			p.Draws = []pipe.Draw{{FlowM3s: 0, WireW: in.PowerW}}
		}
	}
	return p, nil
}

// draws finds what the pump draws from: where its suction pipe begins, else the
// sump, else the first tank.
func (s *Scheme) draws() {
	l := s.Loop
	tank := -1
	if len(s.Pumps) > 0 {
		for i := range l.Pipes {
			if s.isPump(l.Pipes[i].To) {
				tank = slices.IndexFunc(l.Tanks, func(t site.Tank) bool { return t.Name == l.Pipes[i].From })
				break
			}
		}
	}
	if tank < 0 && l.SumpM3 <= 0 {
		tank = 0
	}
	src := Source{Name: "sump", SurfaceM: l.SumpLevelM, VolumeM3: l.SumpM3, RimM: l.SumpRimM}
	depthM := l.SumpDepthM
	if tank >= 0 {
		t := &l.Tanks[tank]
		src = Source{Name: t.Name, Tank: t, SurfaceM: t.LevelM, VolumeM3: t.VolumeM3, RimM: t.RimM}
		depthM = t.DepthM
	}
	if depthM == 0 {
		depthM = usualSumpM
		if src.Tank != nil {
			depthM = usualDepthM
		}
		s.assume(src.Name, "The water of %%s is taken to be %.2g m deep: give its depth.", depthM)
	}
	if src.RimM == 0 {
		free := usualFreeM
		if src.Tank != nil {
			free = usualTankFreeM
		}
		src.RimM = src.SurfaceM + free
		s.assume(src.Name, "The rim of %%s is taken to lie %.0f mm above its water: give it.", 1000*free)
	}
	src.BottomM = src.SurfaceM - depthM
	src.AreaM2 = src.VolumeM3 / depthM
	src.IntakeM = src.BottomM + usualIntakeM
	given := false
	for i := range s.Pumps {
		if at := s.Pumps[i].In.IntakeM; at != nil {
			src.IntakeM, given = *at, true
			break
		}
	}
	if !given {
		for i := range l.Pipes {
			if at := l.Pipes[i].EmptiesTo; at != nil && s.isPump(l.Pipes[i].To) {
				src.IntakeM, given = *at, true
			}
		}
	}
	if !given && len(s.Pumps) > 0 {
		s.assume(src.Name, "The pump's intake is taken to lie %.0f mm above the bottom of %%s: give it.", 1000*usualIntakeM)
	}
	s.Source = src
}

func (s *Scheme) isPump(name string) bool {
	return slices.ContainsFunc(s.Loop.Pumps, func(p site.Pump) bool { return p.Name == name })
}

// bed describes how a bed drains.
func (s *Scheme) bed(i int) (Bed, error) {
	in := &s.Loop.Beds[i]
	b := Bed{In: in, Index: i, Branch: -1, Drain: -1, PlanM2: in.GrowingM2()}
	for k := range s.Loop.Pipes {
		if s.Loop.Pipes[k].From == in.Name {
			b.Drain = k
			break
		}
	}
	switch in.Kind {
	case "raft":
		b.Way = Floating
		return b, nil
	case "tower":
		b.Way = Filming
		return b, nil
	case "tub":
		b.Way = Watering
		return b, nil
	}
	drainable := in.Porosity
	if drainable == 0 {
		drainable = usualDrainable
		if m, err := water.LookupMedium(in.Media); err == nil && m.Porosity.Known {
			drainable = m.Porosity.Amount - math.Max(0, m.RetainedM3M3.Amount-wetHeldM3M3)
		}
		s.assume(in.Name, "The drainable pore space of %%s is taken to be %.0f %%%% by its media: measure the litres that drain, and give `porosity`.", 100*drainable)
	}
	b.Bed = siphon.Bed{AreaM2: b.PlanM2, Drainable: drainable, RimM: in.Rim()}
	if in.RimM == 0 {
		s.assume(in.Name, "The rim of %%s is taken to lie %.0f mm above its media: give it.", 1000*site.DefaultRimM)
	}
	switch {
	case in.Siphon != nil:
		return s.siphonBed(b)
	case in.Standpipe != nil:
		p := in.Standpipe
		b.Way = Timer
		if p.WeepM == 0 {
			b.Way = Constant
		}
		b.Stand = siphon.Standpipe{Bed: b.Bed, DiameterM: p.BoreM, CrestM: p.CrestM, WeepM: p.WeepM, WeepLevelM: p.WeepAt}
	case in.Kind == "constant":
		b.Way = Constant
		depthM := cmp.Or(in.DepthM, usualBedM)
		b.Stand = siphon.Standpipe{Bed: b.Bed, DiameterM: usualBoreM, CrestM: depthM - min(constantBelowM, depthM/2)}
		s.assume(in.Name, "The standpipe of %%s is taken to be %.0f mm wide and %.2g m high: give `standpipe`.", 1000*usualBoreM, b.Stand.CrestM)
	default:
		b.Way = Unknown
		s.assume(in.Name, "How %%s drains is not described: give its `siphon` or `standpipe`.")
		return b, nil
	}
	return b, b.Stand.Check()
}

// siphonBed describes a bed with a bell siphon.
func (s *Scheme) siphonBed(b Bed) (Bed, error) {
	in := b.In.Siphon
	b.Way = Siphons
	if in.GuardM > 0 {
		b.Bed.GuardM2 = min(pipe.CircleM2(in.GuardM), 0.5*b.PlanM2)
	}
	rough := s.roughnessM()
	lengthM := in.PipeLengthM
	if lengthM == 0 {
		lengthM = in.CrestM - in.OutletM + 0.3
		s.assume(b.In.Name, "The siphon's pipe of %%s is taken to be %.2g m long: give `pipe-length`.", lengthM)
	}
	k := in.K
	if k == 0 {
		k = siphon.BellK(cmp.Or(in.Elbows, 1))
		if in.DrainS == 0 {
			s.assume(b.In.Name, "The losses of the siphon of %%s are those of a home-made bell: time a drain with the pump off and give `drain-time`.")
		}
	}
	b.ReceivingM = s.receiving(&b)
	outletM := in.OutletM
	if surface := b.ReceivingM - b.In.FloorM; surface > outletM {
		b.Drowned, outletM = true, surface
	}
	if outletM >= in.BreakM {
		b.Way = Unknown
		s.problem(fmt.Sprintf("beds[%d].siphon.outlet", b.Index), b.In.Name,
			fmt.Sprintf("its siphon cannot drain it: the water its drain runs into stands %s, and the break lies %s.", s.say().height(b.ReceivingM), s.say().height(b.In.FloorM+in.BreakM)),
			"Raise the bed, lead its drain to lower water, or lower that water's level.")
		return b, nil
	}
	b.Siphon = siphon.Siphon{
		Pipe:           pipe.Pipe{DiameterM: in.StandpipeM, LengthM: lengthM, RoughnessM: rough, K: k},
		CrestDiameterM: in.FunnelM, ReducerM: in.ReducerM,
		CrestM: in.CrestM, BreakM: in.BreakM, OutletM: outletM, StartM3s: in.StartM3s,
	}
	if in.LowerM > 0 {
		b.Siphon.Pipe.K = math.Max(0, k-exitK)
		b.Siphon.Lower = pipe.Pipe{DiameterM: in.LowerM, LengthM: in.LowerLongM, RoughnessM: rough, K: exitK}
	}
	if in.DrainS > 0 {
		c, err := siphon.Calibrate(b.Bed, b.Siphon, s.Settings.TempC, in.CrestM, in.BreakM, in.DrainS)
		if err != nil {
			s.problem(fmt.Sprintf("beds[%d].siphon.drain-time", b.Index), b.In.Name,
				fmt.Sprintf("a drain from crest to break in %s cannot be with this pipe and these pores, and is left out (%v).", s.say().time(in.DrainS), err),
				"Time it again with no water coming in; measure the bore and the litres that drain.")
		} else {
			b.Siphon = c.Siphon
		}
	}
	works, err := siphon.New(b.Bed, b.Siphon, s.Settings.TempC)
	if err != nil {
		b.Way = Unknown
		s.problem(fmt.Sprintf("beds[%d].siphon", b.Index), b.In.Name, fmt.Sprintf("its siphon cannot be reckoned: %v.", err), "Mend its figures; until then the bed counts as one whose drain is not described.")
		return b, nil
	}
	b.Works = works
	return b, nil
}

// problem notes a part that cannot be taken as it is given.
func (s *Scheme) problem(field, about, sentence, remedy string) {
	s.Problems = append(s.Problems, Finding{State: Act, Field: field, About: about, Sentence: about + ": " + sentence, Remedy: remedy})
}

// receiving is the height above the building's floor of the water that a bed's
// drain runs into: as its pipe leads, else the water the pump draws from.
func (s *Scheme) receiving(b *Bed) float64 {
	if b.Drain >= 0 {
		to := s.Loop.Pipes[b.Drain].To
		if strings.EqualFold(to, "sump") && s.Loop.SumpM3 > 0 {
			return s.Loop.SumpLevelM
		}
		for i := range s.Loop.Tanks {
			if s.Loop.Tanks[i].Name == to {
				return s.Loop.Tanks[i].LevelM
			}
		}
		for i := range s.Loop.Beds {
			if other := &s.Loop.Beds[i]; other.Name == to {
				return other.FloorM // a bed that is drained
			}
		}
	}
	if s.Loop.SumpM3 > 0 {
		return s.Loop.SumpLevelM
	}
	return s.Source.SurfaceM
}

func (s *Scheme) roughnessM() float64 {
	if s.Settings.New {
		return pipe.NewRoughnessM
	}
	return pipe.FouledRoughnessM
}

// pipeOf is a pipe of the site with its fittings and its valve.
func (s *Scheme) pipeOf(p *site.Pipe, addK float64) (pipe.Pipe, error) {
	bore := p.BoreM()
	k := addK
	valve := false
	for _, text := range p.Fittings {
		n, f, err := site.ParseFitting(text)
		if err != nil {
			return pipe.Pipe{}, fmt.Errorf("pipe %s: %w", p.Name, err)
		}
		k += float64(n) * f.K
		if strings.Contains(f.Name, "valve") && !strings.Contains(f.Name, "check") && !strings.Contains(f.Name, "foot") {
			valve = true
		}
	}
	switch {
	case p.ValveKv > 0:
		kv, err := pipe.ValveK(p.ValveKv, bore)
		if err != nil {
			return pipe.Pipe{}, fmt.Errorf("pipe %s: %w", p.Name, err)
		}
		k += kv
	case valve:
	case p.Valve == "timed":
		k += timedValveK
		s.assume(p.Name, "Timed valves without a `valve-kv` count as open diaphragm valves (loss factor %.2g): give the maker's figure.", timedValveK)
	case p.Valve == "hand":
		k += handValveK
	}
	out := pipe.Pipe{DiameterM: bore, LengthM: math.Max(p.LengthM, shortestM), RoughnessM: min(s.roughnessM(), bore/20), K: k}
	if err := out.Check(); err != nil {
		return out, fmt.Errorf("pipe %s: %w", p.Name, err)
	}
	return out, nil
}

// hasFitting reports whether a pipe lists a fitting with a word in its name.
func hasFitting(p *site.Pipe, word string) bool {
	for _, text := range p.Fittings {
		if _, f, err := site.ParseFitting(text); err == nil && strings.Contains(f.Name, word) {
			return true
		}
	}
	return false
}

// endOf is where a pipe of the pump's comes out, and how high.
func (s *Scheme) endOf(p *site.Pipe) (b Branch, ok bool) {
	l := s.Loop
	b = Branch{Bed: -1, Tank: -1, Timed: p.Valve == "timed"}
	switch at := slices.IndexFunc(l.Beds, func(bed site.Bed) bool { return bed.Name == p.To }); {
	case at >= 0:
		b.Bed = at
		bed := &l.Beds[at]
		depth := bed.DepthM
		switch {
		case bed.Kind == "tower":
			depth = cmp.Or(depth, usualTowerM)
		case depth == 0:
			depth = usualBedM
		}
		b.OutletM = bed.FloorM + depth + inletAboveM
	case strings.EqualFold(p.To, "sump"):
		b.OutletM = l.SumpLevelM + inletAboveM
	default:
		at := slices.IndexFunc(l.Tanks, func(t site.Tank) bool { return t.Name == p.To })
		if at < 0 {
			return b, false
		}
		b.Tank = at
		b.OutletM = l.Tanks[at].LevelM + inletAboveM
		if p.EndsAtM != nil && *p.EndsAtM < l.Tanks[at].LevelM {
			b.Drowned = true
			b.OutletM = l.Tanks[at].LevelM
			return b, true
		}
	}
	if p.EndsAtM != nil {
		b.OutletM = *p.EndsAtM
	}
	return b, true
}

// lay makes the network of the pump's pipes.
func (s *Scheme) lay() error {
	l := s.Loop
	s.links = make([]int, len(l.Pipes))
	s.ends = make([][2]int, len(l.Pipes))
	for i := range s.links {
		s.links[i] = -1
	}
	if len(s.Pumps) == 0 {
		return nil
	}
	var nodes []pipe.Node
	var links []pipe.Link
	at := map[string]int{}
	node := func(key string, n pipe.Node) int {
		if k, ok := at[key]; ok {
			return k
		}
		nodes = append(nodes, n)
		at[key] = len(nodes) - 1
		return len(nodes) - 1
	}
	s.source = node("source", pipe.Node{Name: s.Source.Name, Fixed: true, HeadM: s.Source.SurfaceM})
	// The names by which pipes call the pumps: those that run, and the one replaced.
	known := map[string]int{}
	first := -1
	for i := range l.Pumps {
		if p := &l.Pumps[i]; !p.Spare {
			if first < 0 {
				first = 0
			}
			k := slices.IndexFunc(s.Pumps, func(a PumpAt) bool { return a.In == p })
			if k < 0 && s.Settings.Pump != "" && first == 0 {
				k = 0
			}
			first = 1
			if k >= 0 {
				known[p.Name] = k
			}
		}
	}
	if len(known) == 0 { // all are spare: the one chosen takes its own name
		known[s.Pumps[0].In.Name] = 0
	}
	suction := make([]int, len(s.Pumps))
	outlet := make([]int, len(s.Pumps))
	for k := range s.Pumps {
		suction[k] = s.source
		outlet[k] = node(fmt.Sprintf("out %d", k), pipe.Node{Name: s.Pumps[k].In.Name})
	}
	lower := func(name string) string { return "at " + name }
	for i := range l.Pipes {
		p := &l.Pipes[i]
		k, ok := known[p.To]
		if !ok {
			continue
		}
		from := s.source
		if p.From != s.Source.Name && !(strings.EqualFold(p.From, "sump") && s.Source.Tank == nil) {
			s.problem(fmt.Sprintf("pipes[%d].from", i), p.Name,
				fmt.Sprintf("the pump %s draws from %s, another pump of the loop from %s; pumps that draw from different waters are not solved together, so no flows are worked out for this loop.", p.To, p.From, s.Source.Name),
				"Describe the main pump alone, with the pipes from it, to have its flows.")
			return nil
		}
		add := 0.0
		if !hasFitting(p, "entrance") && !hasFitting(p, "foot valve") {
			add = entranceK
		}
		made, err := s.pipeOf(p, add)
		if err != nil {
			return err
		}
		if suction[k] == s.source {
			suction[k] = node(fmt.Sprintf("in %d", k), pipe.Node{Name: s.Pumps[k].In.Name + ", suction"})
		}
		s.links[i], s.ends[i] = len(links), [2]int{from, suction[k]}
		links = append(links, pipe.Link{Name: p.Name, From: from, To: suction[k], Pipe: made})
	}
	for k := range s.Pumps {
		s.Pumps[k].link = len(links)
		links = append(links, pipe.Link{Name: s.Pumps[k].In.Name, From: suction[k], To: outlet[k], Pump: &s.Pumps[k].Curve})
	}
	// What can be reached from the pumps by the pipes.
	reached := map[string]int{}
	for name, k := range known {
		reached[name] = outlet[k]
	}
	departs := map[string]int{}
	for i := range l.Pipes {
		departs[l.Pipes[i].From]++
	}
	for again := true; again; {
		again = false
		for i := range l.Pipes {
			p := &l.Pipes[i]
			from, ok := reached[p.From]
			if s.links[i] >= 0 || !ok {
				continue
			}
			if _, back := known[p.To]; back {
				continue
			}
			again = true
			add := 0.0
			if departs[p.From] > 1 && !hasFitting(p, "tee") {
				add += teeBranchK
			}
			link := pipe.Link{Name: p.Name, From: from, OneWay: hasFitting(p, "check valve")}
			if b, ends := s.endOf(p); ends {
				add += exitK
				link.To = node(fmt.Sprintf("end %d", i), pipe.Node{Name: p.To, Fixed: true, HeadM: b.OutletM})
				link.OneWay = true
				b.Pipe, b.Index, b.link = p, i, len(links)
				if b.Bed >= 0 && s.Beds[b.Bed].Branch < 0 {
					s.Beds[b.Bed].Branch = len(s.Branches)
				}
				s.Branches = append(s.Branches, b)
			} else {
				link.To = node(lower(p.To), pipe.Node{Name: p.To})
				reached[p.To] = link.To
			}
			made, err := s.pipeOf(p, add)
			if err != nil {
				return err
			}
			link.Pipe = made
			s.links[i], s.ends[i] = len(links), [2]int{link.From, link.To}
			links = append(links, link)
		}
	}
	if len(s.Branches) == 0 {
		return nil
	}
	if n := len(s.Branches); n > MostBranches {
		return fmt.Errorf("%d pipes lead from the pump to beds and tanks, at most %d can be reckoned: split the loop", n, MostBranches)
	}
	slices.SortStableFunc(s.Branches, func(a, b Branch) int { return cmp.Compare(a.Index, b.Index) })
	for i := range s.Beds {
		s.Beds[i].Branch = slices.IndexFunc(s.Branches, func(b Branch) bool { return b.Bed == i })
	}
	if slices.ContainsFunc(s.Branches, func(b Branch) bool { return departs[b.Pipe.From] > 1 && !hasFitting(b.Pipe, "tee") }) {
		s.assume("", "Each pipe that leaves a branching point counts a tee's side outlet (loss factor %.2g) unless its fittings name a tee.", teeBranchK)
	}
	net, err := pipe.NewNetwork(nodes, links, s.Settings.TempC)
	if err != nil {
		return err
	}
	s.net, s.Piped = net, true
	return nil
}

// throttle sets the valves of pipes with a set flow. A branch that always flows
// is set with the first timed branch open, a timed one with itself alone.
func (s *Scheme) throttle() error {
	if !s.Piped {
		return nil
	}
	var always, timed []int
	for i := range s.Branches {
		switch b := &s.Branches[i]; {
		case b.Pipe.SetM3s <= 0:
		case b.Timed:
			timed = append(timed, i)
		default:
			always = append(always, i)
		}
	}
	if len(always)+len(timed) == 0 {
		return nil
	}
	set := func(open int, which []int) error {
		s.state(maskOf(open), s.Source.SurfaceM)
		links, want := make([]int, len(which)), make([]float64, len(which))
		for k, i := range which {
			links[k], want[k] = s.Branches[i].link, s.Branches[i].Pipe.SetM3s
		}
		extra, err := s.net.Throttle(links, want)
		if err != nil {
			return err
		}
		for k, i := range which {
			s.Branches[i].ExtraK = extra[k]
		}
		return nil
	}
	first := slices.IndexFunc(s.Branches, func(b Branch) bool { return b.Timed })
	for range settingRounds { // each setting moves the others a little
		for _, i := range timed {
			if err := set(i, []int{i}); err != nil {
				return err
			}
		}
		if len(always) > 0 {
			if err := set(first, always); err != nil {
				return err
			}
		}
	}
	return nil
}

// settingRounds carries the settings of valves within a hundredth of each other.
const settingRounds = 4

// Valves says which of the timed branches are open, by their index in Branches; the
// others always flow.
type Valves uint64

// MostBranches is how many branches a scheme can have.
const MostBranches = 64

func maskOf(open int) Valves {
	if open < 0 {
		return 0
	}
	return 1 << open
}

// With is the valves with one more open.
func (v Valves) With(branch int) Valves { return v | maskOf(branch) }

// Without is the valves with one shut.
func (v Valves) Without(branch int) Valves { return v &^ maskOf(branch) }

// Open reports whether a branch is open.
func (v Valves) Open(branch int) bool { return branch >= 0 && v>>branch&1 == 1 }

// state puts the network's valves.
func (s *Scheme) state(v Valves, surfaceM float64) {
	for i := range s.Branches {
		s.net.Close(s.Branches[i].link, s.Branches[i].Timed && !v.Open(i))
	}
	s.net.SetHead(s.source, surfaceM)
}

// Flow is what runs in a state of the valves.
type Flow struct {
	BranchM3s []float64 // as Scheme.Branches
	PipeM3s   []float64 // as Loop.Pipes; 0 outside the network
	PipeMS    []float64
	PipeLossM []float64
	FromM     []float64 // head at the pipe's beginning and end, m above the floor; NaN outside the network
	ToM       []float64
	PumpM3s   []float64 // as Scheme.Pumps
	PumpHeadM []float64
	WireW     float64 // of all pumps, at the plug; 0 when the site does not say
	TotalM3s  float64
	Beyond    bool // a pump runs beyond the last point of its curve: there it is a guess
}

type flowKey struct {
	valves Valves
	levelM int32 // mm
}

// ErrUnpiped says that a loop has no pump with a curve, or no pipes from it.
var ErrUnpiped = errors.New("the site describes no pump with its curve and pipes from it, so flows cannot be worked out")

// Flow solves the network with some timed valves open, all else flowing, at a
// level of the water the pump draws from; to the millimetre. The answer is kept
// and must not be changed.
func (s *Scheme) Flow(v Valves, surfaceM float64) (*Flow, error) {
	if !s.Piped {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, ErrUnpiped)
	}
	if math.IsNaN(surfaceM) || math.Abs(surfaceM) > 1000 {
		return nil, fmt.Errorf("loop %s: a level of %g m is outside -1000 to 1000 m", s.Loop.Name, surfaceM)
	}
	for i := range s.Branches {
		if !s.Branches[i].Timed {
			v = v.Without(i)
		}
	}
	key := flowKey{v, int32(math.Round(surfaceM * 1000))}
	if f, ok := s.kept[key]; ok {
		return f, nil
	}
	s.state(v, float64(key.levelM)/1000)
	if err := s.net.Solve(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", s.Loop.Name, err)
	}
	n := len(s.Loop.Pipes)
	buffer := make([]float64, 5*n+len(s.Branches)+2*len(s.Pumps))
	take := func(n int) []float64 {
		part := buffer[:n:n]
		buffer = buffer[n:]
		return part
	}
	f := &Flow{BranchM3s: take(len(s.Branches)), PipeM3s: take(n), PipeMS: take(n), PipeLossM: take(n), FromM: take(n), ToM: take(n), PumpM3s: take(len(s.Pumps)), PumpHeadM: take(len(s.Pumps))}
	for i, k := range s.links {
		if k < 0 {
			f.FromM[i], f.ToM[i] = math.NaN(), math.NaN()
			continue
		}
		f.PipeM3s[i], f.PipeMS[i], f.PipeLossM[i] = s.net.FlowM3s(k), s.net.VelocityMS(k), s.net.LossM(k)
		f.FromM[i], f.ToM[i] = s.net.HeadM(s.ends[i][0]), s.net.HeadM(s.ends[i][1])
	}
	for i := range s.Branches {
		f.BranchM3s[i] = math.Max(0, s.net.FlowM3s(s.Branches[i].link))
	}
	for i := range s.Pumps {
		p := &s.Pumps[i]
		q := s.net.FlowM3s(p.link)
		f.PumpM3s[i], f.PumpHeadM[i] = q, p.Curve.HeadM(q)
		f.WireW += p.WireW(q)
		f.TotalM3s += q
		f.Beyond = f.Beyond || q > p.Curve.LastM3s*(1+1e-9)
	}
	s.kept[key] = f
	return f, nil
}

// Timed are the branches with timed valves, by index.
func (s *Scheme) Timed() []int {
	var all []int
	for i := range s.Branches {
		if s.Branches[i].Timed {
			all = append(all, i)
		}
	}
	return all
}
