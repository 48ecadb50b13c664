package inhand

import (
	"cmp"
	"fmt"
	"math"

	"tidebed/cells"
	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
)

// What is assumed; common practice, no source, where no other is named.
const (
	// LookHours is how far a failure is followed.
	LookHours = 72
	// runDays is how long the loop runs before.
	runDays = 3
	// otherBreath is the oxygen of bacteria and solids in a tank against the mean
	// of its fish: the middle of 20 to 30 %.
	otherBreath = 0.25
	// bedBreath is the same of the solids the beds hold.
	bedBreath = 0.25
	// solidTAN is the share of the feed's nitrogen that solids set free in the
	// beds: 15 to 25 % lies in them, most of it rots there.
	solidTAN = 0.15
	// freshPPM is the carbon dioxide of the air: fresh air keeps pH up.
	freshPPM = 420
	// ionicMolL is the ionic strength of common loop water.
	ionicMolL = 0.006
	// mostKgM3 is where a stock is a slip of the pen: with pure oxygen 150 are kept.
	mostKgM3 = 400.0
	// relTol is the tolerance: 0.001 g/m³ of oxygen.
	relTol = 1e-5
)

// opening water where none is written down.
const (
	usualPH, usualAlkEqM3                   = 7.2, 1.2
	usualTANGm3, usualNO2NGm3, usualNO3NGm3 = 0.3, 0.05, 25.0
)

// Level is a threshold a tank can pass.
type Level string

// The thresholds.
const (
	StopFeeding Level = "stop feeding"  // oxygen below that of full feeding
	Suffer      Level = "fish suffer"   // below that at which they still feed
	Deaths      Level = "deaths begin"  // below the lethal
	AmmoniaHigh Level = "ammonia high"  // un-ionised above the limit for full feeding
	AmmoniaStop Level = "ammonia harms" // above the limit for any feeding
	NitriteHigh Level = "nitrite too high"
)

// Levels are all thresholds in the order of the tables.
func Levels() []Level {
	return []Level{StopFeeding, Suffer, Deaths, AmmoniaHigh, AmmoniaStop, NitriteHigh}
}

// change is what a measure changes.
type change struct {
	share   float64 // of the stock that is in the loop, 1 for all
	colderC float64
	noFeed  bool // since a day before
	airGH   float64
	airTo   string
	stirred bool // surfaces, by hand
}

// loop is one loop with its fish.
type loop struct {
	s       *site.Site
	circuit *plumbing.Circuit
	groups  map[int][]group // by cell
	tempC   []float64       // by cell
	air     plumbing.Air
	rhythm  fish.Rhythm
	by      change
	mean    []float64 // oxygen of fish, g/d, by cell
	opening cells.Reading
	slow    cells.Slow
	notes   []string

	w       *cells.Water
	f       *cells.Forcing
	watches []cells.Watch
	levels  []watched
	watchOf []int // the level of a watch
	at      map[Moment][]cells.Reading
}

// watched is what a watch stands for.
type watched struct {
	cell  int
	level Level
	limit float64
}

// newLoop puts a loop together. nil without an error: no fish in it, or no water.
func newLoop(s *site.Site, l *site.Loop, stock []Stock, by change) (*loop, error) {
	c, err := plumbing.Of(l)
	if err != nil || c == nil {
		return nil, err
	}
	o := &loop{s: s, circuit: c, groups: map[int][]group{}, rhythm: fish.NewRhythm(mealsADay), by: by, at: map[Moment][]cells.Reading{}}
	o.tempC, o.mean = make([]float64, len(c.Places)), make([]float64, len(c.Places))
	if o.air.PressureKPa, err = air.PressureKPa(s.Place.ElevationM); err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	o.air.CO2PPM = freshPPM
	if err := o.fill(stock); err != nil || len(o.groups) == 0 {
		return nil, err
	}
	if err := o.water(); err != nil {
		return nil, fmt.Errorf("loop %s: %w", l.Name, err)
	}
	return o, nil
}

// fill puts the fish into the tanks.
func (o *loop) fill(stock []Stock) error {
	c := o.circuit
	kg := make([]float64, len(c.Places))
	sum, n := 0.0, 0.0
	for _, k := range stock {
		cell, ok := c.CellOf[k.Tank]
		if !ok || k.Number == 0 {
			continue
		}
		sp, err := fish.Lookup(k.Species)
		if err != nil {
			return fmt.Errorf("fish in %s: %w", k.Tank, err)
		}
		tempC, guessed := tankC(o.s, k.Tank, &sp)
		if guessed {
			o.notes = append(o.notes, fmt.Sprintf("%s has no temperature: %.0f °C, at which its fish grow best, is taken; measure this.", k.Tank, tempC))
		}
		tempC = max(0, tempC-o.by.colderC)
		k.Number *= o.by.share
		k.FeedGDay *= o.by.share
		g, err := k.look(tempC)
		if err != nil {
			return err
		}
		o.groups[cell] = append(o.groups[cell], g)
		o.tempC[cell] = tempC
		o.mean[cell] += g.routineG + g.digestG
		kg[cell] += g.Number * g.WeightG / 1000
		if v := c.Layout.Cells[cell].VolumeM3; kg[cell] > mostKgM3*v {
			return fmt.Errorf("fish in %s: %.0f kg in %g m³: more than %.0f kg/m³ no tank holds; look at the number, the weight of one and the tank's volume: %w", k.Tank, kg[cell], v, mostKgM3, quantity.ErrRange)
		}
		sum, n = sum+tempC, n+1
	}
	for i := range o.tempC {
		if t := c.Places[i].Tank; t != nil && o.tempC[i] == 0 {
			o.tempC[i] = t.WaterC
		}
		if o.tempC[i] == 0 && n > 0 {
			o.tempC[i] = sum / n
		}
	}
	return nil
}

// water makes the cells and starts them.
func (o *loop) water() error {
	c := o.circuit
	open, known := site.OpeningWater{}, false
	for _, w := range o.s.Opening.Water {
		if w.Loop == c.Loop.Name {
			open, known = w, true
		}
	}
	if !known || open.PH == 0 || open.AlkalinityMolM3 == 0 {
		o.notes = append(o.notes, fmt.Sprintf("Loop %s has no water test with pH and alkalinity: pH %.1f and %.0f mg/L as CaCO3 are taken; measure this.", c.Loop.Name,
			cmp.Or(open.PH, usualPH), cmp.Or(open.AlkalinityMolM3, usualAlkEqM3)*water.CaCO3PerEq))
	}
	ph, alk := cmp.Or(open.PH, usualPH), cmp.Or(open.AlkalinityMolM3, usualAlkEqM3)
	r := cells.Reading{TANGm3: cmp.Or(open.TANGm3, usualTANGm3), NO2NGm3: cmp.Or(open.NitriteNGm3, usualNO2NGm3), NO3NGm3: cmp.Or(open.NitrateNGm3, usualNO3NGm3)}
	var err error
	o.slow = cells.Slow{PGm3: open.PhosphateP, IonicMolL: ionicMolL}
	if r.DICMolM3, o.slow.BaseEqM3, err = cells.Balance(o.tempC[c.Hub], ionicMolL, ph, alk, r.TANGm3, r.NO2NGm3, r.NO3NGm3, open.PhosphateP); err != nil {
		return fmt.Errorf("its opening water: %w", err)
	}
	o.opening = r
	for cell := range c.Places {
		groups := o.groups[cell]
		if len(groups) == 0 {
			continue
		}
		l := limitsOf(groups)
		for _, v := range []struct {
			level   Level
			limit   float64
			what    cells.Quantity
			falling bool
		}{
			{StopFeeding, l.fullFeed, cells.WatchDO, true}, {Suffer, l.minFeed, cells.WatchDO, true}, {Deaths, l.lethal, cells.WatchDO, true},
			{AmmoniaHigh, l.nh3Max, cells.WatchNH3N, false}, {AmmoniaStop, l.nh3Stop, cells.WatchNH3N, false}, {NitriteHigh, l.no2Max, cells.WatchNO2N, false},
		} {
			if !(v.limit > 0) || math.IsInf(v.limit, 0) {
				continue
			}
			o.levels = append(o.levels, watched{cell, v.level, v.limit})
			if v.what == cells.WatchNH3N {
				continue // pH is solved to a residue that a search for a root would see: looked at in short spans
			}
			o.watches = append(o.watches, cells.Watch{Cell: cell, What: v.what, Limit: v.limit, Falling: v.falling})
			o.watchOf = append(o.watchOf, len(o.levels)-1)
		}
	}
	if o.w, err = cells.New(c.Layout, cells.Settings{RelTol: relTol}, o.watches...); err != nil {
		return err
	}
	o.f = c.Layout.NewForcing()
	return o.steady()
}

// steady runs the loop with its machines on and keeps its water at each moment.
func (o *loop) steady() error {
	c := o.circuit
	load, media := 0.0, 0.0
	for _, groups := range o.groups {
		for i := range groups {
			load += groups[i].tanG + solidTAN*groups[i].FeedGDay*groups[i].ProteinShare*fish.NPerProtein
		}
	}
	for i := range c.Layout.Cells {
		media += c.Layout.Cells[i].MediaM2
	}
	start := make([]cells.Reading, len(c.Places))
	for i := range start {
		start[i] = o.opening
		sat, err := water.OxygenSaturation(o.tempC[i], o.air.PressureKPa, 0)
		if err != nil {
			return err
		}
		start[i].DOGm3 = 0.8 * sat
		if a := c.Layout.Cells[i].MediaM2; a > 0 {
			start[i].BacteriaA, start[i].BacteriaN = cells.SteadyBacteria(load*a/media, o.tempC[i], a, c.Layout.Cells[i].MostGM2Day)
		}
	}
	if err := o.w.Start(start); err != nil {
		return err
	}
	if err := o.machines(Case{}); err != nil {
		return err
	}
	last := runDays * 24
	for _, m := range Moments() {
		last = max(last, runDays*24+m.Hour())
	}
	for h := 0; h <= last; h++ {
		if h > 0 {
			if err := o.hour(h-1, o.lastMeal(h-1, false)); err != nil {
				return err
			}
			if err := o.advance(float64(h), func(int) {}); err != nil {
				return err
			}
		}
		for _, m := range Moments() {
			if h == runDays*24+m.Hour() {
				o.at[m] = o.read()
			}
		}
	}
	return nil
}

func (o *loop) read() []cells.Reading {
	all := make([]cells.Reading, len(o.circuit.Places))
	for i := range all {
		all[i] = o.w.Read(i)
	}
	return all
}

// lastMeal is the hour of the last meal given before the end of hour h. With
// noFeed set meals have been left out since a day before the failure at h.
func (o *loop) lastMeal(h int, failed bool) int {
	if o.by.noFeed {
		h = min(h, runDays*24-1) // meals of the last day are left out
	}
	if failed {
		h--
	}
	for o.rhythm.Feed[ofDay(h)] == 0 {
		h--
	}
	return h
}

// ofDay is the hour of the day of an hour of the run, which may be before it.
func ofDay(hour int) int { return ((hour % 24) + 24) % 24 }

// factors are the oxygen of digestion and the ammonia of an hour against their
// means. Until the next meal would be due they are those of the rhythm; if it
// is left out they fall from there as the ammonia of fasting fish does.
func (o *loop) factors(hour, lastMeal int) (digesting, ammonia float64) {
	next := lastMeal + 1
	for o.rhythm.Feed[ofDay(next)] == 0 {
		next++
	}
	if hour < next {
		return 24 * o.rhythm.Digesting[ofDay(hour)], 24 * o.rhythm.Ammonia[ofDay(hour)]
	}
	end := next - 1
	fall := fish.FastingShare(float64(hour-lastMeal)) / fish.FastingShare(float64(end-lastMeal))
	return 24 * o.rhythm.Digesting[ofDay(end)] * fall, 24 * o.rhythm.Ammonia[ofDay(end)] * fall
}

// hour sets what fish and solids do in an hour.
func (o *loop) hour(hour, lastMeal int) error {
	digesting, ammonia := o.factors(hour, lastMeal)
	beds := 0.0
	for i := range o.circuit.Places {
		beds += o.circuit.Layout.Cells[i].MediaM2
	}
	allMean, allSolid := 0.0, 0.0
	for i := range o.circuit.Places {
		f := &o.f.Cells[i]
		f.BreathGDay, f.TANGDay = 0, 0
		for k := range o.groups[i] {
			g := &o.groups[i][k]
			f.BreathGDay += g.routineG + g.digestG*digesting
			f.TANGDay += g.tanG * ammonia
			allSolid += solidTAN * g.FeedGDay * g.ProteinShare * fish.NPerProtein
		}
		f.DecayGDay = otherBreath * o.mean[i]
		allMean += o.mean[i]
	}
	for i := range o.circuit.Places {
		if a := o.circuit.Layout.Cells[i].MediaM2; a > 0 {
			o.f.Cells[i].DecayGDay += bedBreath * allMean * a / beds
			o.f.Cells[i].TANGDay += allSolid * a / beds
		}
	}
	// The keeper holds the alkalinity: what nitrification takes is dosed.
	o.f.Slow = o.slow
	o.f.Slow.BaseEqM3 += (o.w.Read(0).NO3NGm3 - o.opening.NO3NGm3) / water.MolarN
	return o.w.Force(o.f)
}

// machines sets flows and air.
func (o *loop) machines(k Case) error {
	c := o.circuit
	o.f.Slow = o.slow
	for i := range o.f.Cells {
		o.f.Cells[i] = cells.CellForcing{TempC: o.tempC[i]}
	}
	run := plumbing.Running{BackupOn: k.Backup}
	if k.Tank == "" {
		run.PumpOff, run.AirOff = k.Pump, k.Air
	}
	stops := k.Pump || k.Air
	if stops && o.by.airGH > 0 {
		run.ExtraAirGH, run.ExtraAirTo = o.by.airGH, c.CellOf[o.by.airTo]
	}
	if err := c.Force(o.f, o.air, run); err != nil {
		return err
	}
	if k.Tank != "" {
		cell, ok := c.CellOf[k.Tank]
		if !ok {
			return fmt.Errorf("no tank %q", k.Tank)
		}
		if k.Pump {
			o.block(cell)
		}
		if k.Air {
			o.f.Cells[cell].AirPerDay, o.f.Cells[cell].AirVolumesPerDay = 0, 0
		}
	}
	for i := range c.Places {
		if c.Places[i].Kind != plumbing.Tank || !stops {
			continue
		}
		flow := 0.0
		for n := range c.Layout.Flows {
			if c.Layout.Flows[n].To == i {
				flow += o.f.Flows[n].M3Day
			}
		}
		if flow > 0 || o.f.Cells[i].AirPerDay > 0 {
			continue
		}
		surface := water.StillSurfaceMDay
		if o.by.stirred {
			surface = water.StirredSurfaceMDay
		}
		o.f.Cells[i].SurfacePerDay = surface / c.Places[i].DepthM * water.GasFactor(o.tempC[i])
	}
	return o.w.Force(o.f)
}

// block takes the supply of a cell out of all flows it ran through.
func (o *loop) block(cell int) {
	flows := o.circuit.Layout.Flows
	var supply float64
	for n := range flows {
		if flows[n].From == o.circuit.Hub && flows[n].To == cell && supply == 0 {
			supply = o.f.Flows[n].M3Day
			o.f.Flows[n].M3Day = 0
		}
	}
	for at := cell; at != o.circuit.Hub; {
		for n := range flows {
			if flows[n].From == at {
				left := o.f.Flows[n].M3Day - supply
				if left < 1e-9*supply { // nothing but rounding
					left = 0
				}
				o.f.Flows[n].M3Day = left
				at = flows[n].To
				break
			}
		}
	}
}

// passed are hours by cell and level; absent: not within the look.
type passed map[watched]float64

// fail runs a case from a moment for up to hours and returns when each
// threshold was passed, 0 for those passed before, and the water at the end.
func (o *loop) fail(k Case, m Moment, hours int) (passed, []cells.Reading, error) {
	start := o.at[m]
	t0 := runDays*24 + m.Hour()
	meal := o.lastMeal(t0, true)
	if err := o.w.Start(start); err != nil {
		return nil, nil, err
	}
	if err := o.machines(k); err != nil {
		return nil, nil, err
	}
	if err := o.hour(t0, meal); err != nil {
		return nil, nil, err
	}
	out := passed{}
	was, now := make([]float64, len(o.levels)), make([]float64, len(o.levels))
	o.look(was)
	for n, v := range o.levels {
		if v.beyond(was[n]) {
			out[v] = 0
		}
	}
	for at := 0.0; at < float64(hours) && len(out) < len(o.levels); {
		next := min(at+span(at), float64(hours))
		if at == math.Trunc(at) && at > 0 {
			if err := o.hour(t0+int(at), meal); err != nil {
				return nil, nil, err
			}
		}
		if err := o.advance(next, func(n int) {
			if v := o.levels[n]; !out.has(v) {
				out[v] = o.w.Time() * 24
			}
		}); err != nil {
			return nil, nil, err
		}
		o.look(now)
		for n, v := range o.levels {
			if v.beyond(now[n]) && !out.has(v) {
				out[v] = at + (next-at)*(v.limit-was[n])/(now[n]-was[n])
			}
		}
		copy(was, now)
		at = next
	}
	return out, o.read(), nil
}

// span is how far to go at once, h: in the first hours as finely as times are
// told, after a day as coarsely as nothing of the meal is left to change.
func span(atH float64) float64 {
	switch {
	case atH < 3:
		return 1.0 / 16
	case atH < 24:
		return 1.0 / 2
	}
	return 4
}

func (p passed) has(v watched) bool {
	_, ok := p[v]
	return ok
}

// look fills in what the levels are judged by.
func (o *loop) look(values []float64) {
	for n, v := range o.levels {
		r := o.w.Read(v.cell)
		switch v.level {
		case AmmoniaHigh, AmmoniaStop:
			values[n] = r.NH3NGm3
		case NitriteHigh:
			values[n] = r.NO2NGm3
		default:
			values[n] = r.DOGm3
		}
	}
}

// beyond tells whether a value has passed the limit.
func (v watched) beyond(value float64) bool {
	switch v.level {
	case AmmoniaHigh, AmmoniaStop, NitriteHigh:
		return value >= v.limit
	}
	return value <= v.limit
}

// mostPassages bounds the passages of one advance: more is no water's doing.
const mostPassages = 1000

// advance carries the water to an hour since its start; told hears the level of
// each watch passed on the way.
func (o *loop) advance(untilH float64, told func(level int)) error {
	for range mostPassages {
		n, err := o.w.Advance(untilH / 24)
		if err != nil {
			return err
		}
		if n < 0 {
			return nil
		}
		told(o.watchOf[n])
	}
	return fmt.Errorf("loop %s: more than %d passages of limits within an hour, at hour %g", o.circuit.Loop.Name, mostPassages, untilH)
}
