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
	Waters []WaterLedger       // heat of each loop's water
	LeftJ  float64             // of the day's heat that the ledgers do not explain
}

const hoursDay = 24

// ZoneDay is a zone's day.
type ZoneDay struct {
	Hours    [hoursDay]ZoneHour
	Ledger   Ledger
	Moisture Moisture
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
	// LightWm2 is the daylight at the leaves on the scale of global radiation: times
	// sun.MolPerMJ it is photons. By the zone's light where the site gives it,
	// otherwise what comes through each face of the glazing for plants: of that of a
	// level face all falls on the floor, of that of an upright one half, the rest goes to
	// walls and is lost; nothing shades but frame and dirt.
	LightWm2 float64
	// FullKgM2 is what a m² under full leaf transpires in this air and light, leaves or
	// not.
	FullKgM2 float64
	Short    bool // with all heaters on it lies half a kelvin and more below its lower set point
	Closed   bool // the curtain is drawn
	CO2Ppm   float64
	PadKg    float64 // evaporated in the pad
	PadH     float64 // in which it was wet
	DryKg    float64 // caught by the dehumidifier
	DryH     float64 // in which it ran
	Starts   float64 // of its heaters, over their band
}

// WaterLedger is the heat of a loop's water of a day, J: what came in, where it went.
// To the room counts what goes to its air and floor dry; vapour takes its heat beside
// it. Negative: from the room, out of the air.
type WaterLedger struct {
	HeatersJ, PumpJ      float64
	TanksJ, BedsJ, SumpJ float64 // to the room
	VapourJ, TopUpJ      float64 // into vapour; into cold water that is topped up for it
	StoredJ              float64
}

// Left is what the ledger leaves unexplained, J.
func (l *WaterLedger) Left() float64 {
	return l.HeatersJ + l.PumpJ - l.TanksJ - l.BedsJ - l.SumpJ - l.VapourJ - l.TopUpJ - l.StoredJ
}

// Turned is the heat that went through it.
func (l *WaterLedger) Turned() float64 {
	return l.HeatersJ + l.PumpJ + math.Abs(l.TanksJ) + math.Abs(l.BedsJ) + math.Abs(l.SumpJ) + math.Abs(l.VapourJ) + math.Abs(l.TopUpJ) + math.Abs(l.StoredJ)
}

// Ledger is a zone's heat of a day, J: what came in, where it went.
type Ledger struct {
	SunJ, LampsJ, MotorsJ, PeopleJ, HeatersJ    float64
	DewJ                                        float64 // given off by what condensed
	FromWaterJ, BeyondJ                         float64 // from water and other zones; negative: to them
	SkinJ, SkyJ, GroundJ, EdgeJ, LeaksJ, VentsJ float64 // out
	LeavesJ                                     float64 // into vapour
	StoredJ                                     float64
	DriersJ                                     float64 // in: power of the dehumidifier; what it catches is in DewJ
	PadJ                                        float64 // of VentsJ, by the water of the pad
}

// Moisture is the water of a zone's air of a day, kg: what came in, where it went.
type Moisture struct {
	LeavesKg, WaterKg, PadKg           float64 // from leaves, the loops' water, the pad; cold water takes
	CoverKg, MistKg, CaughtKg, VentsKg float64 // out: on covers, on all else, by the dehumidifier, with leaks and vents
	StoredKg                           float64
}

// Left is what the water leaves unexplained, kg.
func (m *Moisture) Left() float64 {
	return m.LeavesKg + m.WaterKg + m.PadKg - m.CoverKg - m.MistKg - m.CaughtKg - m.VentsKg - m.StoredKg
}

// Turned is the water that went through.
func (m *Moisture) Turned() float64 {
	return m.LeavesKg + math.Abs(m.WaterKg) + m.PadKg + m.CoverKg + m.MistKg + m.CaughtKg + math.Abs(m.VentsKg) + math.Abs(m.StoredKg)
}

// Left is what the ledger leaves unexplained, J.
func (l *Ledger) Left() float64 {
	return l.SunJ + l.LampsJ + l.MotorsJ + l.DriersJ + l.PeopleJ + l.HeatersJ + l.DewJ + l.FromWaterJ + l.BeyondJ -
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
	hottestSkyC  = 50.0  // outside, to which the form for a clear sky reaches: hotter air counts as this
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
	dryW         []float64 // power of the dehumidifier
	bandC        []float64 // at which a vent with a band is looked at
	capped       []bool
	uncapped     []bool
	sunW, lampsW []float64
	parWm2       []float64 // light for plants on the floor, by the glazing
	hour         int
	leafGH       []float64 // carbon dioxide that leaves give off, by zone; negative: take up
}

func newWork(n int) work {
	take := func() []float64 { return make([]float64, n) }
	return work{a: make([]float64, n*n), lu: make([]float64, n*n), b: take(), x: take(), rowSum: take(), gain: take(), old: take(), skyLoss: take(), leafW: take(),
		wetW: take(), lossWK: take(), leakWK: take(), ventWK: take(), need: take(), capped: make([]bool, n), uncapped: make([]bool, n), sunW: take(), lampsW: take(), leafGH: take(), wetKgS: take(), dewW: take(), parWm2: take(), dryW: take(), bandC: take()}
}

// NewDay makes a Day of the building's size.
func (b *Building) NewDay() *Day {
	return &Day{Zones: make([]ZoneDay, len(b.Zones)), WaterC: make([][hoursDay]float64, len(b.wets)), WetKg: make([]float64, len(b.wets)), TankKW: make([][hoursDay]float64, len(b.wets)), Waters: make([]WaterLedger, len(b.first))}
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
	clear(out.Waters)
	for h := range sky.Hours {
		if err := b.hour(date, h, sky, leaves, out); err != nil {
			return fmt.Errorf("%s, %d o'clock: %w", date.Format(time.DateOnly), h, err)
		}
	}
	out.LeftJ = 0
	for i := range out.Zones {
		out.LeftJ += out.Zones[i].Ledger.Left()
	}
	for i := range out.Waters {
		out.LeftJ += out.Waters[i].Left()
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
	if err := b.pads(now, outside); err != nil {
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
	w.parWm2[i] = 0
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
			loss, err := fabric.ClearSkyLossWm2(f.sky, math.Min(fabric.HighestC, w.old[2*i]), math.Min(hottestSkyC, now.TempC))
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
			w.parWm2[i] += in.Par * f.areaM2 * f.down / z.In.FloorM2
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
	if z.In.Light == 0 {
		light = w.parWm2[i]
	}
	o.LightWm2 = light
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
	fullNet, err := air.CanopyNetWm2(math.Min(light, 1500), fullLAI, keptShare)
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
	airKg := air.DensityKgM3 * b.kPa / air.StandardKPa * z.VolumeM3
	d := fabric.Damp{VolumeM3: z.VolumeM3, TempC: t, PressureKPa: b.kPa, AirChangesH: math.Min(120, changes), OutsideRatio: outside.HumidityRatio, ColdM2: coldM2, ColdC: coldC, FilmWm2K: air.CondensingFilmWm2K}
	padKg := b.pad[i].before // the air that vents brought took it along
	if padKg > 0 {
		d.OutsideRatio += padKg / (airKg * d.AirChangesH)
	}
	saturated := air.SaturatedRatio(t, b.kPa)
	start := b.ratio[i]
	fallen := 0.0 // what air that has cooled since cannot hold
	if most := saturated * wettest; b.ratio[i] > most {
		fallen = (b.ratio[i] - most) * airKg
		b.ratio[i] = most
	}
	mean := b.ratio[i]
	// transpired is what a m² of leaves of an index gives off in the hour, kg.
	transpired := func(rh, index, netWm2 float64) (float64, error) {
		latent, err := air.Canopy{TempC: t, RHShare: rh, PressureKPa: b.kPa, LeafAreaIndex: index, NetWm2: netWm2, StomatalSM: stomata, AerialSM: stillSM}.LatentWm2()
		return math.Max(0, latent) * stepS / (air.LatentKJkg(t) * 1000), err
	}
	var leafKg, rh float64
	var end fabric.Dampness
	for range 4 {
		rh = math.Min(wettest, mean/math.Max(1e-9, saturated))
		leafKg = 0
		if l.AreaM2 > 0 && l.LAI > 0 && t > 0 {
			kgM2, err := transpired(rh, l.LAI, net)
			if err != nil {
				return err
			}
			leafKg = kgM2 * l.AreaM2
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
		if end, err = z.dried(&d, b.ratio[i], saturated, b.kPa); err != nil {
			return err
		}
		mean = 0.5*mean + 0.25*(b.ratio[i]+end.EndRatio)
	}
	if t > 0 {
		if o.FullKgM2, err = transpired(rh, fullLAI, fullNet); err != nil {
			return err
		}
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
	w.dewW[i] = (back*end.CondensedKg + end.MistKg + fallen + d.TakenKgH) / stepS * air.LatentKJkg(t) * 1000
	// A dehumidifier gives what it caught back as heat, and all its power.
	w.dryW[i] = 0
	if dry := z.In.Dehumidifier; dry != nil && d.TakenKgH > 0 {
		o.DryKg = d.TakenKgH
		o.DryH = math.Min(1, d.TakenKgH/(dry.CatchKgS*stepS*coilShare(math.Max(b.ratio[i], end.EndRatio), b.kPa)))
		w.dryW[i] = o.DryH * dry.PowerW
	}
	m := &out.Zones[i].Moisture
	m.LeavesKg += leafKg
	m.WaterKg += d.WaterKgH - leafKg
	m.PadKg += padKg
	m.CoverKg += end.CondensedKg
	m.MistKg += end.MistKg + fallen
	m.CaughtKg += d.TakenKgH
	m.VentsKg += end.VentedKg + padKg
	m.StoredKg += (end.EndRatio - start) * airKg
	// Leaves in full light take up, in the dark give off; between by the light.
	full := l.AreaM2 * math.Min(1, l.LAI/fullLAI)
	w.leafGH[i] = full * (leafDarkG - (leafLightG+leafDarkG)*math.Min(1, light/fullLightWm2))
	w.leafW[i] = leafKg / stepS * air.LatentKJkg(t) * 1000
	b.ratio[i] = end.EndRatio
	o.RH, o.LeafKg, o.CoverKg, o.MistKg = end.RHShare, leafKg, end.CondensedKg, end.MistKg+fallen
	return nil
}
