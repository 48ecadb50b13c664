package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/cells"
	"tidebed/science/water"
	"tidebed/site"
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
	back        int     // cell its water runs to
	fall        float64 // share of oxygen's want made good where its water falls
	inlet       float64 // the same where the pump's water comes in
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
	liftM   float64 // static lift to the highest branch
	FlowDay float64 // what the pump moves, m³/d
	Ruled   bool    // the flow is the rule of one tank an hour
	// CellOfBed is the cell whose water a bed's roots stand in or are watered
	// from, by the bed's index in the loop.
	CellOfBed []int
	CellOf    map[string]int // by the name of a tank

	through []float64 // m³/d of each flow of the layout
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
	mediaWaterShare = 0.25 // water of a flooding bed's volume, on average; common practice, no source
	wetWaterShare   = 0.40 // of one that stays flooded
	mediaWetShare   = 0.9  // of the media's surface; 0.8 to 0.95 in the flooded part
	usualSurface    = 250.0
	raftWalls       = 2.2   // m² of wetted wall, bottom and raft per m² of raft
	filmWalls       = 5.0   // m² of wet surface per m² of tower
	filmM           = 0.008 // mean depth of water in towers, m
	usualDepthM     = 0.8
	usualBedM       = 0.3
	frictionShare   = 0.25 // of the lift, that pipes take
	branchPower     = 2.63 // flow by diameter at one head
	inletDropM      = 0.10 // from an inlet to the water, where none is given
	siphonShare     = 0.3  // of oxygen's want, where a siphon's water breaks up
	filmShare       = 0.5  // in towers
	airPerFall      = 5.0  // volumes of air drawn in by a volume of falling water
	mediaAirPerDay  = 20.0 // oxygen transfer of a bed that drains: films on the stones, per day
	reseedGCODM3Day = water.SeedLeastGCODM3
	airStoneAlpha   = 0.9
	oxygenOfAirGM3  = 1.204 * 0.2315 * 1000
)

// Of makes a circuit of a loop. A loop without water (tubs alone) has no
// circuit: nil, without an error. Errors: more groups of beds than can be
// reckoned, a pump whose curve cannot be read.
func Of(l *site.Loop) (*Circuit, error) {
	c := &Circuit{Loop: l, Layout: cells.Layout{Name: l.Name}, CellOfBed: make([]int, len(l.Beds)), CellOf: map[string]int{}}
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
	hub := 0
	if l.SumpM3 > 0 {
		hub = put("sump", Place{Kind: Sump, DepthM: usualDepthM}, cells.Cell{VolumeM3: l.SumpM3})
	}
	if len(c.Places) == 0 {
		return nil, nil
	}
	c.Hub = hub
	c.group(put)
	c.supply()
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
	kind, media, zone, back string
	depthM                  float64
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
		depthM := cmp.Or(b.DepthM, usualBedM)
		key := groupOf{b.Kind, b.Media, b.Zone, c.drainsTo(b.Name), depthM}
		at := slices.IndexFunc(made, func(e entry) bool { return e.key == key })
		if at < 0 {
			p := Place{DepthM: depthM}
			switch b.Kind {
			case "media":
				p.Kind = Beds
			case "constant":
				p.Kind = Wet
			case "raft":
				p.Kind = Raft
			default:
				p.Kind, p.DepthM = Film, filmM
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
		switch p.Kind {
		case Beds, Wet:
			share := mediaWaterShare
			if p.Kind == Wet {
				share = wetWaterShare
			}
			surface := usualSurface
			if m, err := water.LookupMedium(b.Media); err == nil && m.SurfaceM2M3.Known {
				surface = m.SurfaceM2M3.Amount
			}
			w.VolumeM3 += area * depthM * share
			w.MediaM2 += area * depthM * surface * mediaWetShare
			w.DenitrifiedShare = water.DenitrifiedShare
		case Raft:
			w.VolumeM3 += area * depthM
			w.MediaM2 += area * raftWalls
		case Film:
			w.VolumeM3 += area * filmM
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
		return c.Hub, true
	}
	for i := range c.Loop.Beds {
		if c.Loop.Beds[i].Name == name && c.Loop.Beds[i].Kind != "tub" {
			return c.CellOfBed[i], true
		}
	}
	return 0, false
}

// supply shares the pump's flow among the branches, in parts of it.
func (c *Circuit) supply() {
	parts := make([]float64, len(c.Places))
	timed, timedSum := map[int]float64{}, 0.0
	timedN := 0.0
	sum := 0.0
	for i := range c.Loop.Pipes {
		p := &c.Loop.Pipes[i]
		if from, ok := c.cellNamed(p.From); ok && from != c.Hub {
			continue // a drain
		}
		to, ok := c.cellNamed(p.To)
		if !ok || to == c.Hub {
			continue
		}
		part := math.Pow(p.DiameterM, branchPower)
		if p.Valve == "timed" {
			timed[to] += part
			timedSum += part
			timedN++
			continue
		}
		parts[to] += part
		sum += part
	}
	if timedN > 0 { // one open at a time
		for to, part := range timed {
			parts[to] += part / timedN
		}
		sum += timedSum / timedN
	}
	if sum == 0 { // no pipes: half to the tanks, half to the beds, by volume and area
		var tanks, beds float64
		for i := range c.Places {
			if i == c.Hub {
				continue
			}
			if c.Places[i].Kind == Tank {
				tanks += c.Layout.Cells[i].VolumeM3
			} else {
				beds += c.Places[i].AreaM2
			}
		}
		for i := range c.Places {
			switch {
			case i == c.Hub:
			case c.Places[i].Kind == Tank:
				parts[i] = 0.5 * c.Layout.Cells[i].VolumeM3 / tanks
			default:
				parts[i] = 0.5 * c.Places[i].AreaM2 / beds
			}
			sum += parts[i]
		}
	}
	for i := range c.Places {
		if sum > 0 {
			c.Places[i].SupplyM3Day = parts[i] / sum // a share until flow
		}
	}
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
		switch p.Kind {
		case Beds:
			p.inlet, p.fall = siphonShare, siphonShare
		case Film:
			p.inlet, p.fall = filmShare, siphonShare
		default:
			p.inlet, p.fall = halfWeir(inletDropM), halfWeir(inletDropM)
		}
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

// halfWeir is half of the share of oxygen's want that a fall makes good at 20 °C.
func halfWeir(dropM float64) float64 {
	const a, b, tempC = 1.6, 0.8, 20
	ratio, err := water.WeirRatio(dropM, tempC, a, b)
	if err != nil {
		return 0
	}
	return (1 - 1/ratio) / 2
}

// flow sets what the pump moves and makes the layout's flows.
func (c *Circuit) flow() error {
	tanks := 0.0
	for i := range c.Places {
		if c.Places[i].Kind == Tank {
			tanks += c.Layout.Cells[i].VolumeM3
		}
		p := &c.Places[i]
		top := 0.0
		switch {
		case p.SupplyM3Day == 0:
			continue
		case p.Kind == Tank:
			top = p.Tank.LevelM
		case len(p.Beds) > 0:
			b := &c.Loop.Beds[p.Beds[0]]
			top = b.FloorM + b.DepthM
		}
		from := c.Loop.SumpLevelM
		if c.Places[c.Hub].Kind == Tank {
			from = c.Places[c.Hub].Tank.LevelM
		}
		c.liftM = max(c.liftM, top-from)
	}
	if tanks == 0 {
		tanks = c.Layout.Cells[c.Hub].VolumeM3
	}
	c.FlowDay, c.Ruled = 24*tanks, true
	for i := range c.Loop.Pumps {
		pump := &c.Loop.Pumps[i]
		if pump.Spare || len(pump.Points) < 2 {
			continue
		}
		m3s, err := at(pump, c.liftM*(1+frictionShare))
		if err != nil {
			return err
		}
		if c.Pump == nil {
			c.FlowDay, c.Ruled = 0, false
			c.Pump = pump
		}
		c.FlowDay += m3s * 86400
	}
	through := make([]float64, len(c.Places))
	for i := range c.Places {
		p := &c.Places[i]
		p.SupplyM3Day *= c.FlowDay
		through[i] += p.SupplyM3Day
		for k, q := i, p.SupplyM3Day; k != c.Hub; {
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

// at is a pump's flow at a head, on straight lines between its points.
func at(pump *site.Pump, headM float64) (m3s float64, err error) {
	type point struct{ flow, head float64 }
	var points []point
	for _, text := range pump.Points {
		q, h, err := site.ParsePoint(text)
		if err != nil {
			return 0, fmt.Errorf("pump %s: %w", pump.Name, err)
		}
		points = append(points, point{q, h})
	}
	slices.SortFunc(points, func(a, b point) int { return cmp.Compare(a.flow, b.flow) })
	for k := 1; k < len(points); k++ {
		a, b := points[k-1], points[k]
		if a.head >= headM && b.head <= headM && a.head > b.head {
			return a.flow + (b.flow-a.flow)*(a.head-headM)/(a.head-b.head), nil
		}
	}
	if last := points[len(points)-1]; headM < last.head {
		return last.flow, nil
	}
	return 0, nil
}

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
			w.SurfacePerDay = mediaAirPerDay * rise
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
