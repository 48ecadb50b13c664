package warmth

import (
	"fmt"
	"math"
	"time"

	"tidebed/climate"
	"tidebed/science/air"
	"tidebed/science/fabric"
	"tidebed/science/sun"
)

// Leaves are the plants of a zone.
type Leaves struct {
	AreaM2 float64 // of the floor or beds that they cover
	LAI    float64 // leaf area over that area
}

// Day is what a building went through in a day. It is filled anew each day and
// allocates nothing once it has its size.
type Day struct {
	Zones  []ZoneDay
	WaterC [][hoursDay]float64 // by wet cell, in the order of the loops and their cells
	WetKg  []float64           // evaporated by each wet cell, kg; negative: condensed into it
	TankKW [][hoursDay]float64 // heat put into each wet cell by its heater
	LeftJ  float64             // of the day's heat that the ledger does not explain
}

const hoursDay = 24

// ZoneDay is a zone's day.
type ZoneDay struct {
	Hours  [hoursDay]ZoneHour
	Ledger Ledger
}

// ZoneHour is the air of a zone in an hour.
type ZoneHour struct {
	AirC    float64 // at the hour's end
	RH      float64
	HeatW   float64 // of its heaters
	VentM3s float64
	LeafKg  float64 // transpired
	CoverKg float64 // condensed on glazing
	MistKg  float64 // condensed on leaves and all else
	SunW    float64
	Short   bool // with all heaters on it lies half a kelvin and more below its lower set point
	Closed  bool // the curtain is drawn
	CO2Ppm  float64
}

// Ledger is a zone's heat of a day, J: what came in, where it went.
type Ledger struct {
	SunJ, LampsJ, MotorsJ, PeopleJ, HeatersJ    float64
	DewJ                                        float64 // given off by what condensed
	FromWaterJ, BeyondJ                         float64 // from water and other zones; negative: to them
	SkinJ, SkyJ, GroundJ, EdgeJ, LeaksJ, VentsJ float64 // out
	LeavesJ                                     float64 // into vapour
	StoredJ                                     float64
}

// Left is what the ledger leaves unexplained, J.
func (l *Ledger) Left() float64 {
	return l.SunJ + l.LampsJ + l.MotorsJ + l.PeopleJ + l.HeatersJ + l.DewJ + l.FromWaterJ + l.BeyondJ -
		l.SkinJ - l.SkyJ - l.GroundJ - l.EdgeJ - l.LeaksJ - l.VentsJ - l.LeavesJ - l.StoredJ
}

// Turned is the heat that went through a ledger.
func (l *Ledger) Turned() float64 {
	return math.Abs(l.SunJ) + math.Abs(l.LampsJ) + math.Abs(l.HeatersJ) + math.Abs(l.SkinJ) + math.Abs(l.LeaksJ) + math.Abs(l.VentsJ) + math.Abs(l.FromWaterJ) + math.Abs(l.LeavesJ) + math.Abs(l.StoredJ)
}

const (
	stepS = 3600.0
	// darkWm2 is the light below which curtains are drawn and zones keep the set
	// point of the night.
	darkWm2      = 5.0
	keptShare    = 0.90 // of the light that leaves catch: 0.86 to 0.95
	stillSM      = 250.0
	wettest      = 0.999
	workFromH    = 9
	leafLightG   = 2.0 // g of carbon dioxide a m² of leafy crop takes up in an hour of full light: 1 to 3
	leafDarkG    = 0.3 // and gives off in the dark: 0.2 to 0.4
	fullLAI      = 2.5
	fullLightWm2 = 200.0 // from which on it takes up no more; common practice, no source
	mostCoverU   = 7.5   // below the inner film's own 8
	leastCO2Ppm  = 80.0  // at which leaves take up no more; from memory
	cloudyIndex  = 0.25
	clearIndex   = 0.70
	parPerWm2    = sun.MolPerMJ // µmol/m²s for W/m² of global light
	lampWm2      = 1 / 4.57     // W of light for µmol/s
)

// work is what a step needs.
type work struct {
	a, b, x, lu  []float64
	rowSum       []float64
	gain         []float64
	old          []float64
	skyLoss      []float64
	leafW        []float64
	dewW         []float64
	wetW         []float64
	wetKgS       []float64
	lossWK       []float64 // air to outside through skin
	leakWK       []float64
	ventWK       []float64
	need         []float64
	capped       []bool
	uncapped     []bool
	sunW, lampsW []float64
	hour         int
	leafGH       []float64 // carbon dioxide that leaves give off, by zone; negative: take up
}

func newWork(n int) work {
	take := func() []float64 { return make([]float64, n) }
	return work{a: make([]float64, n*n), lu: make([]float64, n*n), b: take(), x: take(), rowSum: take(), gain: take(), old: take(), skyLoss: take(), leafW: take(),
		wetW: take(), lossWK: take(), leakWK: take(), ventWK: take(), need: take(), capped: make([]bool, n), uncapped: make([]bool, n), sunW: take(), lampsW: take(), leafGH: take(), wetKgS: take(), dewW: take()}
}

// NewDay makes a Day of the building's size.
func (b *Building) NewDay() *Day {
	return &Day{Zones: make([]ZoneDay, len(b.Zones)), WaterC: make([][hoursDay]float64, len(b.wets)), WetKg: make([]float64, len(b.wets)), TankKW: make([][hoursDay]float64, len(b.wets))}
}

// Cell is the place in Day of a loop's cell; -1 for a loop without water.
func (b *Building) Cell(loop, cell int) int {
	if b.first[loop] < 0 {
		return -1
	}
	return b.first[loop] + cell
}

// Day carries the building through a day: date's calendar day, the sky of its
// hours, the leaves of each zone. What is found stands in out. Errors: a sky or leaves out of range.
func (b *Building) Day(date time.Time, sky *climate.Day, leaves []Leaves, out *Day) error {
	if len(leaves) != len(b.Zones) {
		return fmt.Errorf("leaves of %d zones for %d", len(leaves), len(b.Zones))
	}
	for i := range out.Zones {
		out.Zones[i] = ZoneDay{}
	}
	clear(out.WetKg)
	for h := range sky.Hours {
		if err := b.hour(date, h, sky, leaves, out); err != nil {
			return fmt.Errorf("%s, %d o'clock: %w", date.Format(time.DateOnly), h, err)
		}
	}
	out.LeftJ = 0
	for i := range out.Zones {
		out.LeftJ += out.Zones[i].Ledger.Left()
	}
	return nil
}

// hour is one step.
func (b *Building) hour(date time.Time, h int, sky *climate.Day, leaves []Leaves, out *Day) error {
	now, w := &sky.Hours[h], &b.work
	at := time.Date(date.Year(), date.Month(), date.Day(), h, 30, 0, 0, time.UTC).Add(-time.Duration(b.options.UTCOffsetH * float64(time.Hour)))
	pos, err := sun.At(at, b.Site.Place.LatitudeDeg, b.Site.Place.LongitudeDeg, b.kPa, now.TempC)
	if err != nil {
		return err
	}
	outer := 1367 * (1 + 0.033*math.Cos(2*math.Pi*float64(date.YearDay())/365)) * math.Max(0, math.Cos(pos.ZenithDeg*math.Pi/180))
	level := sun.Level{Global: now.GHIWm2, Diffuse: now.DiffuseWm2, Outer: math.Max(outer, now.GHIWm2)}
	dark := now.GHIWm2 < darkWm2
	clearness := (sky.GHIMJm2/math.Max(1e-9, dayOuter(b.Site.Place.LatitudeDeg, date)) - cloudyIndex) / (clearIndex - cloudyIndex)
	clearness = math.Min(1, math.Max(0, clearness))
	outside, err := air.FromRH(now.TempC, math.Min(1, math.Max(0.01, now.RHShare)), b.kPa)
	if err != nil {
		return err
	}
	copy(w.old, b.tempC)
	clear(w.gain)
	for i := range b.Zones {
		if err := b.given(i, h, now, level, pos, dark, clearness, out); err != nil {
			return fmt.Errorf("zone %s: %w", b.Zones[i].In.Name, err)
		}
	}
	for i := range b.Zones {
		if err := b.damp(i, h, now, outside, leaves[i], dark, out); err != nil {
			return fmt.Errorf("zone %s: %w", b.Zones[i].In.Name, err)
		}
	}
	if err := b.solve(h, now, dark); err != nil {
		return err
	}
	b.book(h, now, out)
	return nil
}

// dayOuter is the light of a day above the air, MJ/m².
func dayOuter(latitudeDeg float64, date time.Time) float64 {
	o, err := sun.Extraterrestrial(latitudeDeg, date.YearDay())
	if err != nil {
		return 0
	}
	return o.RaMJm2
}

// given finds what the hour puts into a zone and by what it loses.
func (b *Building) given(i, h int, now *climate.Hour, level sun.Level, pos sun.Position, dark bool, clearness float64, out *Day) error {
	z, w := &b.Zones[i], &b.work
	o := &out.Zones[i].Hours[h]
	o.Closed = dark && z.curtain > 0
	w.lossWK[i], w.skyLoss[i], w.sunW[i], w.lampsW[i] = z.opaqueWK, 0, 0, 0
	for k := range z.glazing {
		f := &z.glazing[k]
		u, err := fabric.UInWind(f.uWm2K, now.WindMS)
		if err != nil {
			return err
		}
		if o.Closed {
			if u, err = fabric.UWithCurtain(u, z.curtain); err != nil {
				return err
			}
		} else if f.sky > 0 {
			loss, err := fabric.ClearSkyLossWm2(f.sky, w.old[2*i], now.TempC)
			if err != nil {
				return err
			}
			w.skyLoss[i] += math.Max(0, loss) * clearness * f.areaM2
		}
		w.lossWK[i] += u * f.areaM2
		if level.Global > 0 {
			in, err := f.sun.SunThrough(level, pos.ZenithDeg, pos.AzimuthDeg, fabric.GroundShare)
			if err != nil {
				return err
			}
			w.sunW[i] += in.Energy * f.areaM2
		}
	}
	changes, err := fabric.LeakyAirChangesH(math.Min(z.In.AirChangesH, 20), math.Min(now.WindMS, 20))
	if err != nil {
		return err
	}
	if w.leakWK[i], err = fabric.InfiltrationWK(changes, z.VolumeM3, b.kPa); err != nil {
		return err
	}
	for _, l := range z.lamps {
		w.lampsW[i] += l.watts * l.share(h)
	}
	o.SunW = w.sunW[i]
	return nil
}

// share is the part of an hour in which the lamps burn: their hours lie about noon.
func (l *lamp) share(h int) float64 {
	from, to := math.Max(float64(h), 12-l.hours/2), math.Min(float64(h+1), 12+l.hours/2)
	return math.Max(0, to-from)
}

// people is the heat of those who work in a zone in an hour, W.
func (z *Zone) people(h int) float64 {
	share := math.Min(1, math.Max(0, z.In.WorkHours-float64(h-workFromH)))
	if h < workFromH {
		share = 0
	}
	return personW * share
}

// damp carries the moisture of a zone through the hour and finds what leaves and
// water give off. The leaves' and the water's rate is that at the mean of the
// hour's damp, found in a few rounds.
func (b *Building) damp(i, h int, now *climate.Hour, outside air.Moist, l Leaves, dark bool, out *Day) error {
	z, w := &b.Zones[i], &b.work
	o := &out.Zones[i].Hours[h]
	t := math.Min(50, math.Max(0, w.old[2*i]))
	light := z.In.Light * now.GHIWm2
	flux := light * parPerWm2
	for _, p := range z.lamps {
		if on := p.share(h); on > 0 && z.In.FloorM2 > 0 {
			light += on * p.photons * lampWm2 * math.Min(1, p.areaM2/z.In.FloorM2)
			flux += on * p.photons * math.Min(1, p.areaM2/z.In.FloorM2)
		}
	}
	stomata, err := air.LettuceStomatalSM(math.Min(flux, 2500))
	if err != nil {
		return err
	}
	net, err := air.CanopyNetWm2(math.Min(light, 1500), math.Min(l.LAI, 12), keptShare)
	if err != nil {
		return err
	}
	// The inner face of all glazing, by its mean loss of this hour.
	coldM2, coldC, coverU := 0.0, t, 0.0
	for k := range z.glazing {
		coldM2 += z.glazing[k].areaM2
	}
	if coldM2 > 0 {
		coverU = math.Min((w.lossWK[i]-z.opaqueWK)/coldM2, mostCoverU)
		if coldC, err = fabric.InnerSurfaceC(coverU, fabric.InnerFilmWm2K, t, now.TempC); err != nil {
			return err
		}
	}
	changes := (w.leakWK[i] + w.ventWK[i]) / (fabric.InfiltrationWhM3K * z.VolumeM3)
	d := fabric.Damp{VolumeM3: z.VolumeM3, TempC: t, PressureKPa: b.kPa, AirChangesH: math.Min(120, changes), OutsideRatio: outside.HumidityRatio, ColdM2: coldM2, ColdC: coldC, FilmWm2K: air.CondensingFilmWm2K}
	fallen := 0.0 // what air that has cooled since cannot hold
	if most := air.SaturatedRatio(t, b.kPa) * wettest; b.ratio[i] > most {
		fallen = (b.ratio[i] - most) * air.DensityKgM3 * z.VolumeM3
		b.ratio[i] = most
	}
	mean := b.ratio[i]
	var leafKg float64
	var end fabric.Dampness
	for range 4 {
		rh := math.Min(wettest, mean/math.Max(1e-9, air.SaturatedRatio(t, b.kPa)))
		leafKg = 0
		if l.AreaM2 > 0 && l.LAI > 0 && t > 0 {
			latent, err := air.Canopy{TempC: t, RHShare: rh, PressureKPa: b.kPa, LeafAreaIndex: l.LAI, NetWm2: net, StomatalSM: stomata, AerialSM: stillSM}.LatentWm2()
			if err != nil {
				return err
			}
			leafKg = math.Max(0, latent) * l.AreaM2 * stepS / (air.LatentKJkg(t) * 1000)
		}
		sum, condensing := leafKg, 0.0
		for k := range b.wets {
			c := &b.wets[k]
			if c.zone != i {
				continue
			}
			kg, err := air.PoolEvaporation(math.Min(60, math.Max(0, w.old[c.node])), t, rh, c.openM2, c.activity, 0.1)
			if err != nil {
				return err
			}
			w.need[c.node] = kg
			sum += kg
			condensing += math.Min(0, kg)
		}
		if sum < 0 { // cold water takes no more out of the air than comes into it
			share := 1 - sum/condensing
			for k := range b.wets {
				if c := &b.wets[k]; c.zone == i && w.need[c.node] < 0 {
					w.need[c.node] *= share
				}
			}
			sum = 0
		}
		d.WaterKgH = sum
		if end, err = d.Step(b.ratio[i], stepS); err != nil {
			return err
		}
		mean = 0.5*mean + 0.25*(b.ratio[i]+end.EndRatio)
	}
	for k := range b.wets {
		if c := &b.wets[k]; c.zone == i {
			out.WetKg[k] += w.need[c.node]
			w.wetKgS[c.node] = w.need[c.node] / stepS
			w.wetW[c.node] = w.need[c.node] / stepS * air.LatentKJkg(math.Max(0, w.old[c.node])) * 1000
		}
	}
	// What condenses gives its heat off: on the cover the part that the inner film hands
	// back to the room, on all else the whole.
	back := 0.0
	if coverU > 0 {
		back = fabric.InnerFilmWm2K / (fabric.InnerFilmWm2K + 1/(1/coverU-1/fabric.InnerFilmWm2K))
	}
	w.dewW[i] = (back*end.CondensedKg + end.MistKg + fallen) / stepS * air.LatentKJkg(t) * 1000
	// Leaves in full light take up, in the dark give off; between by the light.
	full := l.AreaM2 * math.Min(1, l.LAI/fullLAI)
	w.leafGH[i] = full * (leafDarkG - (leafLightG+leafDarkG)*math.Min(1, light/fullLightWm2))
	w.leafW[i] = leafKg / stepS * air.LatentKJkg(t) * 1000
	b.ratio[i] = end.EndRatio
	o.RH, o.LeafKg, o.CoverKg, o.MistKg = end.RHShare, leafKg, end.CondensedKg, end.MistKg+fallen
	return nil
}
