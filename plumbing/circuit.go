package plumbing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/cells"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/science/water"
	"tidebed/site"
	"tidebed/words"
)

// Kind is what a cell is.
type Kind string

// The kinds of cells.
const (
	Tank Kind = "tank"
	Sump Kind = "sump"
	Beds Kind = "beds" // media beds, flooded and drained
	Wet  Kind = "wet beds"
	Raft Kind = "rafts"
	Film Kind = "towers"
)

// Place is one cell of a circuit.
type Place struct {
	Kind   Kind
	Tank   *site.Tank // of a tank
	Beds   []int      // of a group: indices in the loop
	DepthM float64    // mean depth of its water
	AreaM2 float64    // growing area of a group
	// Flow and oxygen brought under normal running.
	SupplyM3Day float64 // straight from the pump
	FloodsDay   float64 // of each bed of a group of flooding beds, by the timetable
	Doubtful    bool    // beds whose siphons may start or not: wet for oxygen and safety, flooding for the crops
	back        int     // cell its water runs to
	fall        float64 // share of oxygen's want made good where its water falls
	inlet       float64 // the same where the pump's water comes in
	heldM3      float64 // water that stays on the stones when beds drain
	drained     float64 // share of the day in which a group's beds stand drained
	stones      []stone
}

type stone struct {
	sotrGDay float64
	backup   bool
	airM3Day float64
}

// Circuit is a loop as cells.
type Circuit struct {
	Loop    *site.Loop
	Layout  cells.Layout
	Places  []Place // as Layout.Cells
	Hub     int     // the cell the pump draws from
	Pump    *site.Pump
	FlowDay float64 // what the pumps move, m³/d
	Ruled   bool    // the flow is the rule of one tank an hour
	// Scheme and Timetable stand behind the flows; Timetable is nil where the site
	// describes no pump with its curve and pipes.
	Scheme    *Scheme
	Timetable *Timetable
	// PumpKWhDay is what the pumps take at the plug, kWh a day; all of it ends as
	// heat in the water or the room. 0 where the site does not say.
	PumpKWhDay float64
	// CellOfBed is the cell whose water a bed's roots stand in or are watered
	// from, by the bed's index in the loop.
	CellOfBed []int
	CellOf    map[string]int // by the name of a tank

	unplanned string    // why there is no timetable though there are pipes
	sump      int       // cell; -1 for none
	through   []float64 // m³/d of each flow of the layout
}

// Running is which machines run.
type Running struct {
	PumpOff    bool
	AirOff     bool // air stones on the mains
	BackupOn   bool // air stones on a battery
	ExtraAirGH float64
	ExtraAirTo int // cell
}

const (
	mediaWetShare = 0.9 // of the media's surface; 0.8 to 0.95 in the flooded part
	usualSurface  = 250.0
	raftWalls     = 2.2   // m² of wetted wall, bottom and raft per m² of raft
	filmWalls     = 5.0   // m² of wet surface per m² of tower
	filmM         = 0.008 // mean depth of water in towers, m
	usualDepthM   = 0.8
	usualBedM     = 0.3
	frictionShare = 0.25 // of the lift, that pipes take where they are not described
	inletDropM    = 0.10 // from an inlet to the water, where none is given
	trickleShare  = 0.3  // of oxygen's want, where water breaks up over stones: low end of 0.3 to 0.7
	filmShare     = 0.5  // in towers
	airPerFall    = 5.0  // volumes of air drawn in by a volume of falling water
	airedShare    = 0.9  // of the want of the water on the stones, that the air makes good at each drain
	// heldRenewalsDay is how often a day oxygen passes the water that hangs between
	// stones, in a bed that stands drained: some 1.5 mm of it, squared, over the
	// diffusion coefficient of 2.1e-9 m²/s, is about a quarter of an hour. From memory.
	heldRenewalsDay = 80.0
	poolM           = 0.3 // depth of the water that a siphon's jet meets
	reseedGCODM3Day = water.SeedLeastGCODM3
	airStoneAlpha   = 0.9
	oxygenOfAirGM3  = 1.204 * 0.2315 * 1000
)

// Of makes a circuit of a loop. A loop without water (tubs alone) has no
// circuit: nil, without an error. Errors: what Draw and Scheme.Plan refuse, more
// groups of beds than can be reckoned.
func Of(l *site.Loop) (*Circuit, error) {
	c := &Circuit{Loop: l, Layout: cells.Layout{Name: l.Name}, CellOfBed: make([]int, len(l.Beds)), CellOf: map[string]int{}}
	var err error
	if c.Scheme, err = Draw(l, Settings{TempC: TempOf(l)}); err != nil || c.Scheme == nil {
		return nil, err
	}
	if c.Scheme.Piped {
		if c.Timetable, err = c.Scheme.Plan(GoalOf(l)); err != nil {
			c.unplanned, c.Timetable = fmt.Sprintf("loop %s: its plumbing cannot be worked out (%v); its flow is taken by the rule", l.Name, err), nil
		}
	}
	put := func(name string, p Place, cell cells.Cell) int {
		cell.Name = name
		cell.ReseedGCODDay = reseedGCODM3Day * cell.VolumeM3
		c.Layout.Cells = append(c.Layout.Cells, cell)
		c.Places = append(c.Places, p)
		return len(c.Places) - 1
	}
	for i := range l.Tanks {
		t := &l.Tanks[i]
		c.CellOf[t.Name] = put(t.Name, Place{Kind: Tank, Tank: t, DepthM: cmp.Or(t.DepthM, usualDepthM)}, cells.Cell{VolumeM3: t.VolumeM3})
	}
	sump := -1
	if l.SumpM3 > 0 {
		sump = put("sump", Place{Kind: Sump, DepthM: cmp.Or(l.SumpDepthM, usualSumpM)}, cells.Cell{VolumeM3: l.SumpM3})
	}
	c.sump, c.Hub = sump, max(0, sump)
	if t := c.Scheme.Source.Tank; t != nil {
		c.Hub = c.CellOf[t.Name]
	}
	c.group(put)
	c.returns()
	if err := c.flow(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	for i := range l.Aerators {
		a := &l.Aerators[i]
		if at, ok := c.CellOf[a.Tank]; ok && a.SOTRKgS > 0 {
			g := a.SOTRKgS * 1000 * 86400
			air := g / (oxygenOfAirGM3 * water.FineStonePerM * c.Places[at].DepthM)
			c.Places[at].stones = append(c.Places[at].stones, stone{g, a.Backup, air})
		}
	}
	if n := len(c.Places); n > cells.MostCells {
		return nil, fmt.Errorf("loop %s: %d tanks and groups of like beds, at most %d can be reckoned: make beds alike or split the loop", l.Name, n, cells.MostCells)
	}
	return c, nil
}

// groupOf is what beds of one cell share.
type groupOf struct {
	kind              Kind
	doubtful          bool
	media, zone, back string
	depthM, floodsDay float64
}

// habit is what a bed's water does.
type habit struct {
	kind      Kind
	doubtful  bool
	floodsDay float64
	freeM2    float64
	heldM3    float64 // stays when it drains
	drained   float64 // share of the day
	waterM3   float64 // mean over the day
}

// habitOf tells what a bed does by the timetable. Without one, media beds flood
// once an hour for a quarter of it.
func (c *Circuit) habitOf(i int) habit {
	b := &c.Scheme.Beds[i]
	in := b.In
	depthM := cmp.Or(in.DepthM, usualBedM)
	area := in.GrowingM2()
	switch b.Way {
	case Floating:
		return habit{kind: Raft, waterM3: area * depthM}
	case Filming:
		return habit{kind: Film, waterM3: area * filmM}
	}
	held := wetHeldM3M3
	if m, err := water.LookupMedium(in.Media); err == nil && m.RetainedM3M3.Known {
		held = m.RetainedM3M3.Amount
	}
	tiers := area / b.PlanM2
	h := habit{kind: Beds, heldM3: held * depthM * area, freeM2: b.FreeM2() * tiers}
	crestM, lowM := depthM-min(constantBelowM, depthM/2), 0.0
	switch b.Way {
	case Siphons:
		crestM, lowM = b.Siphon.CrestM, math.Max(0, b.Siphon.BreakM)
	case Timer, Constant:
		crestM, lowM = b.Stand.CrestM, b.Stand.WeepLevelM
	}
	h.waterM3 = h.heldM3 + h.freeM2*lowM
	flood := h.freeM2 * (crestM - lowM)
	wet := func(doubtful bool) habit {
		h.kind, h.doubtful, h.floodsDay = Wet, doubtful, 0
		h.waterM3 = h.heldM3 + h.freeM2*crestM
		return h
	}
	if b.Way == Constant {
		return wet(false)
	}
	if c.Timetable != nil && b.Branch < 0 { // no pipe leads to it
		h.kind = Wet
		return h
	}
	if c.Timetable == nil || b.Way == Unknown {
		h.floodsDay, h.drained = 24, 0.75
		h.waterM3 += flood / 8 // up and down within a quarter of the hour
		return h
	}
	// The floods are those of the confirmed day; how long each wets the bed is the
	// turn's.
	h.floodsDay = c.Timetable.FloodsDay[i]
	wetS, risenS, doubtful, trips := 0.0, 0.0, false, true
	for k := range c.Timetable.Parts {
		p := &c.Timetable.Parts[k]
		for j := range p.Turns {
			t := &p.Turns[j]
			if t.Bed != i {
				continue
			}
			trips = trips && t.Trips
			doubtful = doubtful || t.Verdict == siphon.Doubtful
			soak := 0.0
			if b.Way == Timer {
				soak = math.Max(0, t.OpenS-t.FillS)
			}
			wetS = math.Max(wetS, t.FillS+soak+t.DrainS)
			risenS = math.Max(risenS, t.FillS/2+soak+t.DrainS/2)
		}
	}
	for k := range c.Timetable.Steady {
		if t := &c.Timetable.Steady[k]; t.Bed == i {
			doubtful = doubtful || t.Verdict == siphon.Doubtful
			wetS, risenS = 86400, 43200 // it fills and drains without a rest
			if h.floodsDay > 0 {
				wetS, risenS = wetS/h.floodsDay, risenS/h.floodsDay
			}
		}
	}
	if wetS == 0 && trips { // a pipe that always flows to a bed without a siphon
		return wet(false)
	}
	share, filled := math.Min(1, h.floodsDay*risenS/86400), math.Min(1, h.floodsDay*wetS/86400)
	if !trips || doubtful || h.floodsDay == 0 {
		return wet(doubtful)
	}
	h.waterM3, h.drained = h.waterM3+flood*share, 1-filled
	return h
}

// group puts like beds together.
func (c *Circuit) group(put func(string, Place, cells.Cell) int) {
	type entry struct {
		key  groupOf
		cell int
	}
	var made []entry
	for i := range c.Loop.Beds {
		b := &c.Loop.Beds[i]
		if b.Kind == "tub" {
			c.CellOfBed[i] = c.Hub // watered from there
			continue
		}
		h := c.habitOf(i)
		depthM := cmp.Or(b.DepthM, usualBedM)
		key := groupOf{h.kind, h.doubtful, b.Media, b.Zone, c.drainsTo(b.Name), depthM, math.Round(h.floodsDay)}
		at := slices.IndexFunc(made, func(e entry) bool { return e.key == key })
		if at < 0 {
			p := Place{Kind: h.kind, DepthM: depthM, FloodsDay: h.floodsDay, Doubtful: h.doubtful}
			if p.Kind == Film {
				p.DepthM = filmM
			}
			made = append(made, entry{key, put(b.Name, p, cells.Cell{})})
			at = len(made) - 1
		}
		cell := made[at].cell
		p, w := &c.Places[cell], &c.Layout.Cells[cell]
		c.CellOfBed[i] = cell
		p.Beds = append(p.Beds, i)
		area := b.GrowingM2()
		p.AreaM2 += area
		p.heldM3 += h.heldM3
		p.drained = h.drained
		w.VolumeM3 += h.waterM3
		switch p.Kind {
		case Beds, Wet:
			surface := usualSurface
			if m, err := water.LookupMedium(b.Media); err == nil && m.SurfaceM2M3.Known {
				surface = m.SurfaceM2M3.Amount
			}
			w.MediaM2 += area * depthM * surface * mediaWetShare
			w.DenitrifiedShare = water.DenitrifiedShare
		case Raft:
			w.MediaM2 += area * raftWalls
		case Film:
			w.MediaM2 += area * filmWalls
		}
		w.ReseedGCODDay = reseedGCODM3Day * w.VolumeM3
	}
	for i := range c.Places {
		p := &c.Places[i]
		if n := len(p.Beds); n > 1 {
			c.Layout.Cells[i].Name = fmt.Sprintf("%s and %d like it", c.Loop.Beds[p.Beds[0]].Name, n-1)
		}
	}
}

// drainsTo is the place a pipe leads to from one of that name; empty when none does.
func (c *Circuit) drainsTo(name string) string {
	for i := range c.Loop.Pipes {
		if c.Loop.Pipes[i].From == name {
			return c.Loop.Pipes[i].To
		}
	}
	return ""
}

// cellNamed is the cell of the tank, bed or sump of a name.
func (c *Circuit) cellNamed(name string) (int, bool) {
	if at, ok := c.CellOf[name]; ok {
		return at, true
	}
	if strings.EqualFold(name, "sump") && c.Loop.SumpM3 > 0 {
		return c.sump, true
	}
	for i := range c.Loop.Beds {
		if c.Loop.Beds[i].Name == name && c.Loop.Beds[i].Kind != "tub" {
			return c.CellOfBed[i], true
		}
	}
	return 0, false
}

// returns finds where each cell's water runs to: as the pipes lead, and to the
// hub where they do not or lead in a ring.
func (c *Circuit) returns() {
	for i := range c.Places {
		p := &c.Places[i]
		p.back = c.Hub
		name := c.Layout.Cells[i].Name
		if len(p.Beds) > 0 {
			name = c.Loop.Beds[p.Beds[0]].Name
		}
		if to, ok := c.cellNamed(c.drainsTo(name)); ok && to != i {
			p.back = to
		}
		drop := inletDropM
		switch p.Kind {
		case Beds, Wet:
			p.inlet = trickleShare
			b := &c.Scheme.Beds[p.Beds[0]]
			if b.Way == Siphons {
				drop = math.Max(0, b.OutletM()-c.surfaceOf(p.back))
			}
			p.fall = math.Max(halfWeir(drop), c.jet(p, b, drop))
			continue
		case Film:
			p.inlet, p.fall = filmShare, halfWeir(drop)
			continue
		case Tank:
			for k := range c.Scheme.Branches {
				if b := &c.Scheme.Branches[k]; b.Tank >= 0 && c.Loop.Tanks[b.Tank].Name == p.Tank.Name {
					drop = math.Max(0, b.OutletM-p.Tank.LevelM)
				}
			}
		}
		p.inlet, p.fall = halfWeir(drop), halfWeir(inletDropM)
	}
	for i := range c.Places {
		at, steps := i, 0
		for at != c.Hub && steps <= len(c.Places) {
			at = c.Places[at].back
			steps++
		}
		if at != c.Hub {
			c.Places[i].back = c.Hub
		}
	}
}

// surfaceOf is the height of a cell's water above the floor.
func (c *Circuit) surfaceOf(cell int) float64 {
	if t := c.Places[cell].Tank; t != nil {
		return t.LevelM
	}
	return c.Loop.SumpLevelM
}

// jet is the share of oxygen's want that the pulses of a group's siphons make good
// where they fall: by the equation that knows the flow, with the mean flow while
// the bed drains over the rim of the outlet. 0 for beds that do not cycle.
func (c *Circuit) jet(p *Place, b *Bed, dropM float64) float64 {
	if p.Kind != Beds || b.Way != Siphons || dropM <= 0 || b.Works == nil {
		return 0
	}
	seconds, err := b.Works.DrainS(b.Siphon.CrestM, b.Siphon.BreakM, 0)
	if err != nil || seconds <= 0 {
		return 0
	}
	flowM3s := b.FreeM2() * (b.Siphon.CrestM - b.Siphon.BreakM) / seconds
	bore := b.Siphon.Pipe.DiameterM
	if b.Siphon.Lower.DiameterM > 0 {
		bore = b.Siphon.Lower.DiameterM
	}
	perM := flowM3s * 3600 / (math.Pi * bore) // m²/h
	ratio, err := water.NakasoneRatio(math.Min(dropM, 1), 20, math.Min(math.Max(perM, 0.01), 235), poolM)
	if err != nil {
		return 0
	}
	return 1 - 1/ratio
}

// halfWeir is half of the share of oxygen's want that a fall makes good at 20 °C.
func halfWeir(dropM float64) float64 {
	const a, b, tempC = 1.6, 0.8, 20
	ratio, err := water.WeirRatio(math.Min(dropM, 3), tempC, a, b)
	if err != nil {
		return 0
	}
	return (1 - 1/ratio) / 2
}

// flow sets what the pump moves to each cell and makes the layout's flows.
func (c *Circuit) flow() error {
	if c.Timetable != nil {
		c.planned()
	} else if err := c.ruled(); err != nil {
		return err
	}
	through := make([]float64, len(c.Places))
	for i := range c.Places {
		q := c.Places[i].SupplyM3Day
		c.FlowDay += q
		through[i] += q
		for k := i; k != c.Hub; {
			k = c.Places[k].back
			if k != c.Hub {
				through[k] += q
			}
		}
	}
	for i := range c.Places {
		if i == c.Hub {
			continue
		}
		c.Layout.Flows = append(c.Layout.Flows, cells.Flow{From: c.Hub, To: i}, cells.Flow{From: i, To: c.Places[i].back})
		c.through = append(c.through, c.Places[i].SupplyM3Day, through[i])
	}
	return nil
}

// planned takes the flows of the timetable, as means over the day.
func (c *Circuit) planned() {
	c.Pump = c.Scheme.Pumps[0].In
	for k := range c.Timetable.Parts {
		p := &c.Timetable.Parts[k]
		share := p.Hours() / 24
		c.PumpKWhDay += p.WireKWhDay // of its own hours of the day
		for j := range c.Scheme.Branches {
			b := &c.Scheme.Branches[j]
			at := c.Hub
			switch {
			case b.Tank >= 0:
				at = c.CellOf[c.Loop.Tanks[b.Tank].Name]
			case b.Bed >= 0:
				at = c.CellOfBed[b.Bed]
			}
			if at != c.Hub {
				c.Places[at].SupplyM3Day += share * p.MeanM3s[j] * 86400
			}
		}
	}
}

// ruled shares half of the flow among the tanks by volume and half among the beds
// by area, where the site describes no pipes: what the pump gives at the lift to
// the highest of them and a quarter, or without a curve the tanks' volume once an
// hour.
func (c *Circuit) ruled() error {
	var tanks, beds, all, liftM float64
	for i := range c.Places {
		p := &c.Places[i]
		if p.Kind == Tank {
			all += c.Layout.Cells[i].VolumeM3
		}
		if i == c.Hub {
			continue
		}
		top := c.surfaceOf(i)
		if p.Kind == Tank {
			tanks += c.Layout.Cells[i].VolumeM3
		} else {
			beds += p.AreaM2
			if len(p.Beds) > 0 {
				b := &c.Loop.Beds[p.Beds[0]]
				top = b.FloorM + b.DepthM
			}
		}
		liftM = math.Max(liftM, top-c.surfaceOf(c.Hub))
	}
	flowDay := 24 * cmp.Or(all, c.Layout.Cells[c.Hub].VolumeM3)
	c.Ruled = len(c.Scheme.Pumps) == 0
	if !c.Ruled {
		c.Pump, flowDay = c.Scheme.Pumps[0].In, 0
		for i := range c.Scheme.Pumps {
			p := &c.Scheme.Pumps[i]
			duty, err := pipe.DutyOf(p.Curve, liftM, func(q float64) (float64, float64) { // a quarter of the lift, rising to it
				return frictionShare * liftM * math.Min(1, q/p.Curve.MaxM3s*4), frictionShare * liftM * 4 / p.Curve.MaxM3s
			})
			if errors.Is(err, pipe.ErrCannotLift) {
				continue
			} else if err != nil {
				return fmt.Errorf("pump %s: %w", p.In.Name, err)
			}
			flowDay += duty.FlowM3s * 86400
			c.PumpKWhDay += p.WireW(duty.FlowM3s) * 24 / 1000
		}
	}
	half := flowDay / 2
	if tanks == 0 || beds == 0 {
		half = flowDay
	}
	for i := range c.Places {
		switch p := &c.Places[i]; {
		case i == c.Hub || p.Kind == Sump:
		case p.Kind == Tank:
			p.SupplyM3Day = half * c.Layout.Cells[i].VolumeM3 / tanks
		default:
			p.SupplyM3Day = half * p.AreaM2 / beds
		}
	}
	return nil
}

// Warnings are what of the plumbing bears on the course of a season, in sentences.
func (c *Circuit) Warnings() []string {
	var all []string
	if c.unplanned != "" {
		all = append(all, c.unplanned)
	}
	for i := range c.Scheme.Problems {
		p := &c.Scheme.Problems[i]
		all = append(all, fmt.Sprintf("loop %s: %s", c.Loop.Name, p.Sentence))
	}
	if c.Timetable == nil {
		return all
	}
	seen := map[string]bool{}
	var neverNames, doubtfulNames []string
	note := func(name string, verdict siphon.Verdict, floods bool) {
		switch {
		case seen[name]:
			return
		case verdict == siphon.Doubtful:
			doubtfulNames = append(doubtfulNames, name)
		case !floods:
			neverNames = append(neverNames, name)
		default:
			return
		}
		seen[name] = true
	}
	for i := range c.Timetable.Parts {
		for j := range c.Timetable.Parts[i].Turns {
			t := &c.Timetable.Parts[i].Turns[j]
			if t.Bed < 0 || t.Way != Siphons && t.Way != Timer {
				continue
			}
			note(t.Name, t.Verdict, t.Trips)
		}
	}
	for i := range c.Timetable.Steady {
		t := &c.Timetable.Steady[i]
		note(t.Name, t.Verdict, t.PerHour > 0)
	}
	if len(neverNames) > 0 {
		all = append(all, fmt.Sprintf("loop %s: by the plumbing %s %s not flood and drain, and so %s taken to stand wet: look at the plumbing page or at tidebed siphon", c.Loop.Name, Names(neverNames), words.Plural(len(neverNames), "does", "do"), words.Plural(len(neverNames), "is", "are")))
	}
	if len(doubtfulNames) > 0 {
		all = append(all, fmt.Sprintf("loop %s: the %s of %s may start or not; for oxygen %s counted as standing wet, for the crops as flooding: see them start and give starts-at", c.Loop.Name, words.Plural(len(doubtfulNames), "siphon", "siphons"), Names(doubtfulNames), words.Plural(len(doubtfulNames), "it is", "they are")))
	}
	return all
}

// FlowM3Day is what a flow of the layout carries under normal running, m³/d.
func (c *Circuit) FlowM3Day(flow int) float64 { return c.through[flow] }

// Still reports whether the pump sends no water through a cell.
func (c *Circuit) Still(cell int) bool {
	if cell == c.Hub {
		return c.FlowDay <= 0
	}
	for k, f := range c.Layout.Flows {
		if f.To == cell && c.through[k] > 0 {
			return false
		}
	}
	return true
}

// AirGH is the label's oxygen of the stones in a cell, g/h: mains and battery.
func (c *Circuit) AirGH(cell int) (mains, battery float64) {
	for _, s := range c.Places[cell].stones {
		if s.backup {
			battery += s.sotrGDay / 24
		} else {
			mains += s.sotrGDay / 24
		}
	}
	return mains, battery
}

// Air is the air over the water.
type Air struct {
	PressureKPa float64
	CO2PPM      float64
}

// Force fills what plumbing brings into a forcing: flows, falls, surfaces, stones
// and what is dissolved in equilibrium with the air. The temperatures of its
// cells must be set. Errors: temperatures or air out of range.
func (c *Circuit) Force(f *cells.Forcing, air Air, run Running) error {
	for i := range c.Places {
		p, w := &c.Places[i], &f.Cells[i]
		sat, err := water.OxygenSaturation(w.TempC, air.PressureKPa, 0)
		if err != nil {
			return fmt.Errorf("loop %s, %s: %w", c.Loop.Name, c.Layout.Cells[i].Name, err)
		}
		e, err := water.NewEquilibria(w.TempC, 0)
		if err != nil {
			return fmt.Errorf("loop %s, %s: %w", c.Loop.Name, c.Layout.Cells[i].Name, err)
		}
		w.DOSatGm3, w.CO2SatMolM3 = sat, e.CO2OfAir(air.CO2PPM*1e-6*air.PressureKPa/101.325)
		rise := water.GasFactor(w.TempC)
		w.SurfacePerDay = p.surfaceMDay(run) / p.DepthM * rise
		if p.Kind == Beds && !run.PumpOff {
			// Each drain lets air to the water on the stones, and goes on doing so.
			w.SurfacePerDay += (airedShare*p.FloodsDay + p.drained*heldRenewalsDay) * rise * p.heldM3 / c.Layout.Cells[i].VolumeM3
		}
		sotr, blown := 0.0, 0.0
		for _, s := range p.stones {
			if s.backup && !run.BackupOn || !s.backup && run.AirOff {
				continue
			}
			sotr += s.sotrGDay
			blown += s.airM3Day
		}
		if run.ExtraAirGH > 0 && run.ExtraAirTo == i {
			sotr += run.ExtraAirGH * 24
			blown += run.ExtraAirGH * 24 / (oxygenOfAirGM3 * water.FineStonePerM * p.DepthM)
		}
		v := c.Layout.Cells[i].VolumeM3
		w.AirPerDay = sotr * airStoneAlpha / 9.09 * rise / v
		w.AirBeta = cells.UsualBeta
		w.AirVolumesPerDay = blown / v
	}
	for k := range c.Layout.Flows {
		to, from := c.Layout.Flows[k].To, c.Layout.Flows[k].From
		q, share := c.through[k], c.Places[from].fall
		if k%2 == 0 { // supply
			share = c.Places[to].inlet
		}
		if run.PumpOff {
			q = 0
		}
		stripped, err := water.CO2Stripped(share, airPerFall, f.Cells[to].TempC)
		if err != nil {
			return fmt.Errorf("loop %s: %w", c.Loop.Name, err)
		}
		f.Flows[k] = cells.FlowForcing{M3Day: q, OxygenShare: share, CO2Share: stripped}
	}
	return nil
}

// surfaceMDay is the transfer velocity of a place's surface at 20 °C.
func (p *Place) surfaceMDay(run Running) float64 {
	switch {
	case p.Kind == Raft, p.Kind == Wet, p.Kind == Beds:
		return water.StillSurfaceMDay / 2 // covered by rafts or stones
	case p.Kind == Film && run.PumpOff:
		return 0
	case run.PumpOff && (run.AirOff && !run.BackupOn):
		return water.StillSurfaceMDay
	}
	return (water.StillSurfaceMDay + water.StirredSurfaceMDay) / 2
}
