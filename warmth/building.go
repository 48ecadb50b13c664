package warmth

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"tidebed/plumbing"
	"tidebed/science/air"
	"tidebed/science/fabric"
	"tidebed/site"
)

// Options say how a building is reckoned.
type Options struct {
	GroundC    float64 // of the ground under it: about the year's mean air
	UTCOffsetH float64 // of the clock of the sky's hours
}

// Heater is a heater of a zone's air or a tank's water.
type Heater struct {
	In   *site.Heater
	Zone int // -1: of a tank
	Node int
}

// Zone is a zone of the building.
type Zone struct {
	In       *site.Zone
	VolumeM3 float64
	HeaterW  float64 // of all heaters of its air

	glazing  []face
	opaqueWK float64 // walls, doors and roofs that let no sun in
	groundWK float64 // of its floor
	edgeWK   float64
	beyond   []tie
	curtain  float64 // resistance, m²K/W; 0: none
	airJK    float64
	floorJK  float64
	floorWK  float64 // air to floor
	ventC    float64
	ventM3s  float64
	lamps    []lamp
	motorsW  float64 // that end as heat in its air: blowers
	padOff   bool
	bandK    float64 // 0: held to the point
}

type face struct {
	areaM2, uWm2K float64
	roof          bool
	sky           float64 // share of heat radiation that its cover passes
	down          float64 // of the light that comes through, what falls on the floor
	sun           fabric.Face
}

type tie struct {
	zone int
	wk   float64
}

type lamp struct {
	watts, hours, photons, areaM2 float64
}

// wet is a cell of water in its zone.
type wet struct {
	zone     int
	node     int
	kind     plumbing.Kind
	heatJK   float64
	airWK    float64 // to the zone's air
	floorWK  float64 // to its floor
	openM2   float64 // that evaporates
	activity float64
	setC     float64 // 0: not held
	heaterW  float64
	pumpW    float64 // heat of a pump that hangs in it
}

// Building is a site's zones and its loops' water, ready to be carried through
// days. It keeps its state and must not be used by two at a time.
type Building struct {
	Site    *site.Site
	Zones   []Zone
	Heaters []Heater
	Assumed []string

	options  Options
	circuits []*plumbing.Circuit
	wets     []wet
	first    []int // in wets, of each loop's cells; -1 for a loop without water
	n        int
	kPa      float64

	co2Ppm []float64 // of each zone
	fishGH []float64 // carbon dioxide that fish and microbes give off into each zone
	topUpC []float64 // of each loop's top-up water

	tempC  []float64
	ratio  []float64 // humidity ratio of each zone
	held   []bool    // nodes a heater holds
	vented []vent
	pad    []padHour
	work   work
}

type vent int

const (
	shut vent = iota
	holding
	wide
	cooled // wide, and the pad wet for a part of the hour
	soaked // wide, and the pad wet
)

const (
	lightTimes     = 7.0   // heat of air with frame, trays and leaves over that of air alone: 5 to 10
	floorDepthM    = 0.10  // of a floor that takes up heat within a day; common practice, no source
	floorJm3K      = 2.0e6 // concrete; from memory
	floorFilmWm2K  = 6.0   // air to floor; from memory
	usualVentRiseK = 6.0
	leastVentRiseK = 1.0
	leastBandK     = 0.05 // less counts as none: no thermostat is finer
	usualVentC     = 24.0 // of a zone without a set point
	usualVentM3sM2 = 0.02 // m³/s a m² of floor by doors and windows, half of summer's rule; common practice, no source
	usualHeightM   = 2.5
	usualSumpM     = 0.5
	usualTankM     = 0.8
	raftWm2K       = 1.0  // water to air through foam rafts; common practice, no source
	lidWm2K        = 0.6  // 50 mm of foam
	bedOpen        = 0.15 // of open water's evaporation, from stones with a dry top
	towerOpen      = 0.5
	raftOpen       = 0.1 // at the rafts' edges and holes
	lidOpen        = 0.1
	personW        = 70.0
	usualTopUpC    = 10.0
)

// New describes a site's building with the circuits of its loops, in their order;
// nil for one without water. It gives nil, without an error, for a site that
// describes no surface of any zone: then there is nothing to reckon by. Errors name
// the part that cannot be.
func New(s *site.Site, circuits []*plumbing.Circuit, o Options) (*Building, error) {
	if len(s.Zones) == 0 || len(s.Surfaces) == 0 {
		return nil, nil
	}
	kPa, err := air.PressureKPa(s.Place.ElevationM)
	if err != nil {
		return nil, fmt.Errorf("place: %w", err)
	}
	if !(o.GroundC >= fabric.LowestC && o.GroundC <= 60) {
		return nil, fmt.Errorf("ground of %g °C: give the year's mean air", o.GroundC)
	}
	b := &Building{Site: s, options: o, circuits: circuits, kPa: kPa}
	for i := range s.Zones {
		z, err := b.zone(i)
		if err != nil {
			return nil, fmt.Errorf("zones[%d], %s: %w", i, s.Zones[i].Name, err)
		}
		b.Zones = append(b.Zones, z)
	}
	b.n = 2 * len(b.Zones)
	for i := range s.Loops {
		b.first = append(b.first, -1)
		if i >= len(circuits) || circuits[i] == nil {
			continue
		}
		b.first[i] = len(b.wets)
		if err := b.water(&s.Loops[i], circuits[i]); err != nil {
			return nil, fmt.Errorf("loop %s: %w", s.Loops[i].Name, err)
		}
	}
	b.heaters()
	b.machines()
	b.co2Ppm, b.fishGH, b.topUpC = make([]float64, len(b.Zones)), make([]float64, len(b.Zones)), make([]float64, len(s.Loops))
	for i := range b.co2Ppm {
		b.co2Ppm[i] = fabric.OutsideCO2Ppm
	}
	for i := range s.Loops {
		b.topUpC[i] = usualTopUpC
		for _, w := range s.Waters {
			if w.Name == s.Loops[i].Water && w.TempC > 0 {
				b.topUpC[i] = w.TempC
			}
		}
	}
	b.tempC, b.ratio = make([]float64, b.n), make([]float64, len(b.Zones))
	b.held, b.vented, b.pad = make([]bool, b.n), make([]vent, len(b.Zones)), make([]padHour, len(b.Zones))
	b.work = newWork(b.n)
	b.Start(nil)
	return b, nil
}

func (b *Building) assume(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(b.Assumed, text) {
		b.Assumed = append(b.Assumed, text)
	}
}

func (b *Building) zoneNamed(name string) int {
	return slices.IndexFunc(b.Site.Zones, func(z site.Zone) bool { return z.Name == name })
}

// zone gathers the skin of a zone.
func (b *Building) zone(i int) (Zone, error) {
	in := &b.Site.Zones[i]
	heightM := cmp.Or(in.HeightM, usualHeightM)
	z := Zone{In: in, VolumeM3: in.FloorM2 * heightM}
	if in.HeightM == 0 {
		b.assume("The height of %s is taken to be %.2g m: give it.", in.Name, heightM)
	}
	walls, floor := 0.0, false
	for j := range b.Site.Surfaces {
		s := &b.Site.Surfaces[j]
		if s.Zone != in.Name {
			continue
		}
		wk := s.AreaM2 * s.UWm2K
		floor = floor || s.Kind == "floor"
		switch {
		case s.Beyond == "ground" || s.Kind == "floor" && s.Beyond == "":
			z.groundWK += wk
			continue
		case s.Beyond != "" && s.Beyond != "outside":
			to := b.zoneNamed(s.Beyond)
			if to < 0 {
				return z, fmt.Errorf("surfaces[%d].beyond: there is no zone %q; write outside, ground or a zone's name", j, s.Beyond)
			}
			z.beyond = append(z.beyond, tie{to, wk})
			continue
		}
		if s.Kind == "wall" {
			walls += s.AreaM2
		}
		cover, err := fabric.LookupCover(s.Cover)
		if err != nil || cover.Kind != fabric.Glazing {
			if s.Cover == "" && s.Kind == "window" {
				cover, err = fabric.LookupCover("single-glass-4-mm")
			}
			if err != nil || cover.Kind != fabric.Glazing {
				z.opaqueWK += wk
				continue
			}
		}
		f := face{areaM2: s.AreaM2, uWm2K: s.UWm2K, roof: s.Kind == "roof", down: (1 + math.Cos(s.TiltDeg*math.Pi/180)) / 2}
		if cover.Longwave.Known && f.roof {
			f.sky = cover.Longwave.Value
		}
		f.sun = fabric.Face{Cover: cover, SlopeDeg: s.TiltDeg, AzimuthDeg: s.AzimuthDeg, CleanShare: fabric.DirtyShare}
		z.glazing = append(z.glazing, f)
	}
	if in.Curtain != "" {
		c, err := fabric.LookupCover(in.Curtain)
		if err != nil {
			return z, err
		}
		if c.Kind != fabric.Curtain {
			return z, fmt.Errorf("curtain: %q is no curtain; take one of %v", in.Curtain, fabric.CoverKeys(fabric.Curtain))
		}
		z.curtain = c.ResistanceM2KW.Typical
	}
	edgeM := in.EdgeM
	if edgeM == 0 && !floor {
		edgeM = 4 * math.Sqrt(in.FloorM2)
		if walls > 0 {
			edgeM = walls / heightM
		}
	}
	if !floor || in.EdgeM > 0 {
		z.edgeWK = edgeM * cmp.Or(in.EdgeWmK, fabric.PerimeterWmK)
	}
	if in.Light == 0 && len(z.glazing) > 0 {
		b.assume("The light at the leaves of %s is worked out hour by hour from its glazing: give `light` if you have measured it.", in.Name)
	}
	var err error
	if z.airJK, err = fabric.AirHeatJK(z.VolumeM3, lightTimes); err != nil {
		return z, err
	}
	z.floorJK, z.floorWK = in.FloorM2*floorDepthM*floorJm3K, in.FloorM2*floorFilmWm2K
	z.ventM3s = in.VentM3s
	if z.ventM3s == 0 {
		z.ventM3s = usualVentM3sM2 * in.FloorM2
		b.assume("The doors, windows and vents of %s are taken to move at most %.2g m³/s: give `vents`.", in.Name, z.ventM3s)
	}
	z.ventC = in.VentC
	set := math.Max(in.DayC, in.NightC)
	if in.BandK >= leastBandK {
		z.bandK = in.BandK
	}
	rise := math.Max(leastVentRiseK, z.bandK/2)
	switch {
	case z.ventC == 0 && set <= 0:
		z.ventC = usualVentC
	case z.ventC == 0:
		z.ventC = set + usualVentRiseK
	case z.ventC < set+rise:
		b.assume("The vents of %s open at %.3g °C instead of the %.3g given, or they would work against its heater.", in.Name, set+rise, z.ventC)
		z.ventC = set + rise
	}
	if d := in.Dehumidifier; d != nil {
		if !(d.CatchKgS > 0 && d.PowerW > 0 && d.Above >= 0 && d.Above <= 1) {
			return z, fmt.Errorf("dehumidifier: %g kg/s and %g W above %g: give `catches` and `power` above 0 and `above` as a share", d.CatchKgS, d.PowerW, d.Above)
		}
		b.assume("The dehumidifier of %s is taken to be rated in air of %g °C and %.0f %%; it catches less in cooler and drier air, and nothing below a dew point of %g °C.", in.Name, ratedAirC, 100*ratedAirRH, coilC)
	}
	if p := in.Pad; p != nil {
		if !(p.Efficiency > 0 && p.Efficiency <= 1) || in.VentM3s <= 0 {
			return z, fmt.Errorf("pad: efficiency %g, fans of %g m³/s: give an efficiency above 0 to 1 and the flow of the fans in `vents`", p.Efficiency, in.VentM3s)
		}
		if p.Bleed == 0 {
			b.assume("The pad of %s is taken to let off %.0f %% more water than evaporates, against scale: give `bleed`.", in.Name, 100*usualBleed)
		}
	}
	return z, nil
}

// water puts a loop's cells into their zones.
func (b *Building) water(l *site.Loop, c *plumbing.Circuit) error {
	home := 0
	if len(l.Beds) > 0 {
		home = max(0, b.zoneNamed(l.Beds[0].Zone))
	}
	for i := range c.Places {
		p := &c.Places[i]
		v := c.Layout.Cells[i].VolumeM3
		w := wet{zone: home, node: b.n, kind: p.Kind}
		b.n++
		heat, err := fabric.WaterHeatJK(v)
		if err != nil {
			return err
		}
		w.heatJK = heat
		switch p.Kind {
		case plumbing.Tank, plumbing.Sump:
			depthM := cmp.Or(p.DepthM, usualTankM)
			wall, top, open := fabric.PlasticWm2K, fabric.OpenDryWm2K, air.ActivityQuiet
			foamM, lid := l.SumpFoamM, l.SumpLid
			if mains, battery := c.AirGH(i); mains+battery > 0 {
				open = air.ActivityAerated
			}
			if t := p.Tank; t != nil {
				if at := b.zoneNamed(t.Zone); at >= 0 {
					w.zone = at
				}
				foamM, lid, w.setC = t.InsulationM, t.Lid, t.WaterC
			}
			if foamM > 0 {
				if wall, err = fabric.InsulatedUWm2K(foamM, fabric.XPSWmK); err != nil {
					return fmt.Errorf("%s: %w", c.Layout.Cells[i].Name, err)
				}
			}
			if lid {
				top, open = lidWm2K, lidOpen
			}
			w.openM2, w.activity = v/depthM, open
			across := math.Sqrt(4 * w.openM2 / math.Pi)
			w.airWK = wall*math.Pi*across*depthM + top*w.openM2
			w.floorWK = wall * w.openM2
		default:
			bed := &l.Beds[p.Beds[0]]
			w.zone = max(0, b.zoneNamed(bed.Zone))
			w.openM2 = p.AreaM2
			switch p.Kind {
			case plumbing.Raft:
				w.airWK, w.activity = raftWm2K*p.AreaM2, raftOpen
			case plumbing.Film:
				w.activity = towerOpen
			default:
				w.activity = bedOpen
			}
			if p.Kind != plumbing.Raft {
				if w.airWK, err = fabric.BedAirWK(p.AreaM2); err != nil {
					return err
				}
			}
		}
		if i == c.Hub {
			w.pumpW = c.PumpKWhDay / 24 * 1000
		}
		b.wets = append(b.wets, w)
	}
	return nil
}

// heaters gives each heater to its zone or tank.
func (b *Building) heaters() {
	for i := range b.Site.Heaters {
		in := &b.Site.Heaters[i]
		h := Heater{In: in, Zone: b.zoneNamed(in.Zone), Node: -1}
		if h.Zone >= 0 {
			b.Zones[h.Zone].HeaterW += in.PowerW
			h.Node = 2 * h.Zone
		} else {
			for k := range b.Site.Loops {
				if b.first[k] < 0 {
					continue
				}
				if at, ok := b.circuits[k].CellOf[in.Tank]; ok {
					w := &b.wets[b.first[k]+at]
					w.heaterW += in.PowerW
					h.Node = w.node
				}
			}
		}
		b.Heaters = append(b.Heaters, h)
	}
}

// machines puts lamps and blowers where their heat ends.
func (b *Building) machines() {
	s := b.Site
	warmest := 0
	for i := range s.Zones {
		if s.Zones[i].DayC > s.Zones[warmest].DayC {
			warmest = i
		}
	}
	for i := range s.Lamps {
		l := &s.Lamps[i]
		at := warmest // the nursery
		for k := range s.Racks {
			if s.Racks[k].Name == l.Over && b.zoneNamed(s.Racks[k].Zone) >= 0 {
				at = b.zoneNamed(s.Racks[k].Zone)
			}
		}
		for k := range s.Loops {
			for j := range s.Loops[k].Beds {
				if bed := &s.Loops[k].Beds[j]; bed.Name == l.Over {
					at = max(0, b.zoneNamed(bed.Zone))
				}
			}
		}
		watts := l.PowerW
		if watts == 0 && l.EfficacyUmolJ > 0 {
			watts = l.PhotonUmolM2s * l.AreaM2 / l.EfficacyUmolJ
		}
		b.Zones[at].lamps = append(b.Zones[at].lamps, lamp{watts, l.HoursDay, l.PhotonUmolM2s, l.AreaM2})
	}
	for k := range s.Loops {
		for i := range s.Loops[k].Aerators {
			a := &s.Loops[k].Aerators[i]
			if b.first[k] < 0 || a.Backup {
				continue
			}
			if cell, ok := b.circuits[k].CellOf[a.Tank]; ok {
				b.Zones[b.wets[b.first[k]+cell].zone].motorsW += a.PowerW
			}
		}
	}
}

// ErrCells says that temperatures do not fit the building's cells.
var ErrCells = errors.New("as many temperatures as loops and cells are wanted")

// Start sets the temperatures: zones at their set points by night, water of each
// loop by cell as given; nil for tanks at their set points and the rest at their
// zone's.
func (b *Building) Start(waterC [][]float64) error {
	for i := range b.Zones {
		z := &b.Zones[i]
		b.pad[i] = padHour{}
		b.tempC[2*i], b.tempC[2*i+1] = z.In.NightC, z.In.NightC
		b.ratio[i] = 0.7 * air.SaturatedRatio(z.In.NightC, b.kPa)
	}
	for i := range b.wets {
		w := &b.wets[i]
		b.tempC[w.node] = cmp.Or(w.setC, b.tempC[2*w.zone])
	}
	if waterC == nil {
		return nil
	}
	if len(waterC) != len(b.first) {
		return fmt.Errorf("%w: %d loops, %d given", ErrCells, len(b.first), len(waterC))
	}
	for k, at := range b.first {
		if at < 0 {
			continue
		}
		if n := len(b.circuits[k].Places); len(waterC[k]) != n {
			return fmt.Errorf("%w: loop %d has %d cells, %d given", ErrCells, k, n, len(waterC[k]))
		}
		for i, t := range waterC[k] {
			if !(t >= 0 && t <= 45) {
				return fmt.Errorf("loop %d, cell %d: water of %g °C is outside 0 to 45 °C", k, i, t)
			}
			b.tempC[b.wets[at+i].node] = t
		}
	}
	return nil
}

// Feed says what a loop's fish are fed, kg a day: they and the microbes breathe it out
// as carbon dioxide into the zone of the loop's main water.
func (b *Building) Feed(loop int, kgDay float64) error {
	if loop < 0 || loop >= len(b.first) || b.first[loop] < 0 {
		return fmt.Errorf("loop %d has no water in the building", loop)
	}
	g, err := fabric.FeedCO2GH(kgDay, fabric.OxygenPerFeed, 1)
	if err != nil {
		return err
	}
	b.fishGH[b.wets[b.first[loop]+b.circuits[loop].Hub].zone] += g
	return nil
}
