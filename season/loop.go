package season

import (
	"fmt"
	"math"

	"tidebed/cells"
	"tidebed/plumbing"
	"tidebed/science/air"
	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
)

const (
	// usualKGm3, usualPGm3 and usualFeGm3 stand in where the opening names none.
	// Common practice, no source.
	usualKGm3  = 20.0
	usualPGm3  = 5.0
	usualFeGm3 = 1.0
	// Ca, Mg and Fe that leaves take up per nitrogen. From memory of leaf
	// analyses: 4 % N, 1.5 % Ca, 0.4 % Mg, 100 mg/kg Fe.
	caPerN, mgPerN, fePerN = 0.375, 0.10, 0.0025
	// feLossDay is the share of chelated iron lost a day at pH 7: 0.03 to 0.07.
	// Common practice, no source.
	feLossDay = 0.05
	// decayOxygenPerSolids is the oxygen that a gram of dry solids uses up.
	// Common practice, no source.
	decayOxygenPerSolids = 1.2
	// sludgeM3Kg is the room that a kilogram of dry solids takes as sludge of 4 %.
	// Common practice, no source.
	sludgeM3Kg = 0.025
	// openingDOShare is the oxygen of the first hour against saturation.
	openingDOShare = 0.85
	// tempStepC is how far the water of a cell drifts before its constants are
	// worked out again.
	tempStepC = 0.02
	// heatWm2K is the heat that still water and wet beds exchange with the air of
	// the room, W/m²K; the heat balance of the building takes its place.
	heatWm2K = 8.0
	hours    = 24
	// Molar masses, g/mol: standard atomic weights of IUPAC, 2021.
	molarMg, molarK, molarNa, molarCl, molarS = 24.305, 39.098, 22.990, 35.453, 32.06
)

// grams are contents of a loop, g; base in eq.
type grams struct{ p, k, ca, mg, fe, na, cl, base float64 }

// loop is one loop's water.
type loop struct {
	in       *site.Loop
	index    int
	circuit  *plumbing.Circuit // nil where no water circulates
	w        *cells.Water      // nil for endless water
	f        *cells.Forcing
	volumeM3 float64
	air      plumbing.Air
	zone     []*site.Zone // of each cell: whose air lies over it
	lampH    []float64    // of each cell: hours a day that lamps make day in its zone

	have, source grams // contents; per m³ of top-up water
	sourceNGm3   float64
	sourceDIC    float64
	slow         cells.Slow
	solidsN      []water.Pool // by cell
	solidsP      []water.Pool
	solidsDry    []water.Pool
	settles      []float64 // share of the solids that each cell gets
	poreM3       []float64
	toSolidsN    float64 // g of today
	toSolidsP    float64
	toSolidsDry  float64
	tempC        []float64 // of each cell
	usedC        []float64 // for which constants stand
	mineralNGDay []float64 // of today, by cell
	decayOGDay   []float64
	want         [][hours]float64 // g N an hour, by cell
	wantN        float64          // of today
	wantG        grams
	got          float64 // share of wantN got today
	gotP, gotK   float64
	before       cells.Totals
	bacteriaN    float64
	doser        doser

	// sums over the run
	start, startBacteria, startO, startC                                                     float64
	startP, startK                                                                           float64
	feedN, keptN, topUpN, feedP, keptP, feedK, doseK, solidsOutN, solidsOutP                 float64
	lackN, lackP, lackK, uptakeN, uptakeP, uptakeK, sloughN, reseedN                         float64
	changeInN, changeOutN, changeInC, changeOutC, changeO, changedM3, changeOutP, changeOutK float64
	topUpC, doseC                                                                            float64
	hungry                                                                                   [4]int  // days on which N, P, K, Fe held growth back most
	planted                                                                                  float64 // m² today
	plantedSum                                                                               float64
	transpired                                                                               float64 // m³ today
	levelM3                                                                                  float64
	toppedUp, evaporated, caught, airLeaves                                                  float64
	feedG, feedToday                                                                         float64
	proteinG                                                                                 float64
	out                                                                                      LoopCourse
	course                                                                                   WaterCourse
	days                                                                                     int
}

// sourceOf is what top-up water holds.
func sourceOf(s *site.Site, name string) (w site.SourceWater, known bool) {
	for _, w := range s.Waters {
		if w.Name == name {
			return w, true
		}
	}
	return site.SourceWater{PH: 7.2, AlkalinityMolM3: 1}, false
}

// ions is the charge of the ions, eq, that acts on alkalinity; sulphate and what
// else there is are the caller's.
func (g *grams) ions() float64 {
	return 2*g.ca/water.MolarCa + 2*g.mg/molarMg + g.k/molarK + g.na/molarNa - g.cl/molarCl - g.p/water.MolarP
}

func newLoop(r *run, in *site.Loop, index, days int) (loop, error) {
	l := loop{in: in, index: index, got: 1, gotP: 1, gotK: 1}
	c := r.in.circuits[index]
	l.out.Name = in.Name
	if c == nil {
		return l, nil
	}
	l.circuit = c
	pressure, err := air.PressureKPa(r.s.Place.ElevationM)
	if err != nil {
		return l, fmt.Errorf("place: %w", err)
	}
	l.air = plumbing.Air{PressureKPa: pressure, CO2PPM: ambientPPM}
	for i := range c.Layout.Cells {
		l.volumeM3 += c.Layout.Cells[i].VolumeM3
	}
	l.levelM3, l.out.VolumeM3 = l.volumeM3, l.volumeM3
	if r.o.endless {
		return l, nil
	}
	src, _ := sourceOf(r.s, in.Water)
	l.sourceNGm3 = src.NitrateNGm3
	l.source = grams{ca: src.CalciumGm3, mg: src.MagnesiumGm3, na: src.SodiumGm3, cl: src.ChlorideGm3}
	ph := src.PH
	if ph == 0 {
		ph = 7.2
	}
	dic, base, err := cells.Balance(max(src.TempC, 5), 0.005, ph, src.AlkalinityMolM3, 0, 0, src.NitrateNGm3, 0)
	if err != nil {
		return l, fmt.Errorf("water %s that loop %s is topped up with: %w", in.Water, in.Name, err)
	}
	l.sourceDIC, l.source.base = dic, base
	if l.w, err = cells.New(c.Layout, cells.Settings{RelTol: r.o.RelTol}); err != nil {
		return l, err
	}
	l.f = c.Layout.NewForcing()
	n := len(c.Places)
	l.solidsN, l.solidsP, l.solidsDry = make([]water.Pool, n), make([]water.Pool, n), make([]water.Pool, n)
	l.settles, l.poreM3 = make([]float64, n), make([]float64, n)
	l.tempC, l.usedC = make([]float64, n), make([]float64, n)
	l.mineralNGDay, l.decayOGDay = make([]float64, n), make([]float64, n)
	l.want = make([][hours]float64, n)
	l.share()
	return l, l.fill(r, days)
}

// breathe finds the air over each cell: that of its beds' zone, over tanks and
// sump that of the loop's first bed, else of the first zone.
func (l *loop) breathe(r *run) {
	if l.w == nil || len(r.s.Zones) == 0 {
		return
	}
	first, firstH := &r.s.Zones[0], 0.0
	of := func(at int) (*site.Zone, float64) {
		for i := range r.beds {
			if r.beds[i].loop == l.index && r.beds[i].at == at {
				return r.beds[i].zone, r.beds[i].lampH
			}
		}
		return first, firstH
	}
	if len(l.in.Beds) > 0 {
		first, firstH = of(0)
	}
	for i := range l.circuit.Places {
		zone, lampH := first, firstH
		if beds := l.circuit.Places[i].Beds; len(beds) > 0 {
			zone, lampH = of(beds[0])
		}
		l.zone, l.lampH = append(l.zone, zone), append(l.lampH, lampH)
	}
}

// share settles where solids end: in the media beds by their water, else in the
// hub.
func (l *loop) share() {
	sum := 0.0
	for i := range l.circuit.Places {
		p := &l.circuit.Places[i]
		if p.Kind == plumbing.Beds || p.Kind == plumbing.Wet {
			l.settles[i] = p.SupplyM3Day + 1e-9
			sum += l.settles[i]
			b := &l.in.Beds[p.Beds[0]]
			porosity := 0.42
			if m, err := water.LookupMedium(b.Media); err == nil && m.Porosity.Known {
				porosity = m.Porosity.Amount
			}
			l.poreM3[i] = p.AreaM2 * p.DepthM * porosity
		}
	}
	if sum == 0 {
		l.settles[l.circuit.Hub] = 1
		return
	}
	for i := range l.settles {
		l.settles[i] /= sum
	}
}

// fill puts the opening's water in.
func (l *loop) fill(r *run, days int) error {
	c, n := l.circuit, len(l.circuit.Places)
	src, known := sourceOf(r.s, l.in.Water)
	open := site.OpeningWater{PH: 7.2, AlkalinityMolM3: max(src.AlkalinityMolM3, 0.5), Ripe: true}
	given := false
	for _, w := range r.s.Opening.Water {
		if w.Loop == l.in.Name {
			given = true
			ripe, ph, alk := w.Ripe, w.PH, w.AlkalinityMolM3
			if ph == 0 {
				w.PH = open.PH
			}
			if alk == 0 {
				w.AlkalinityMolM3 = open.AlkalinityMolM3
			}
			w.Ripe = ripe
			open = w
		}
	}
	l.doser = newDoser(r, l, days)
	if !given && len(l.in.Beds) > 0 {
		l.course.Notes = append(l.course.Notes, fmt.Sprintf("The opening gives no water test of loop %s: its stones are taken to be ripe, with pH %.1f and alkalinity of the top-up water. Test and type it in.", l.in.Name, open.PH))
	}
	for i := range c.Places {
		if !c.Still(i) || i == c.Hub && len(c.Places) == 1 {
			continue
		}
		name := c.Layout.Cells[i].Name
		text := fmt.Sprintf("loop %s: no water of the pump reaches %s by the site file: look at the pump's points against the lift, and at the pipes", l.in.Name, name)
		if i == c.Hub {
			text = fmt.Sprintf("loop %s: its pump moves no water at this lift, by its points: take a stronger one or lower the beds", l.in.Name)
		}
		r.warnOnce(text)
	}
	for _, text := range c.Warnings() {
		r.warnOnce(text)
	}
	l.course.PumpKWhDay = c.PumpKWhDay
	for i := range l.in.Aerators {
		if a := &l.in.Aerators[i]; a.SOTRKgS == 0 {
			l.course.Notes = append(l.course.Notes, fmt.Sprintf("Aerator %s has no oxygen by its label in the site file: it counts as no air.", a.Name))
		}
	}
	if c.Ruled && len(l.in.Tanks) > 0 {
		l.course.Notes = append(l.course.Notes, fmt.Sprintf("Loop %s names no pump with its curve: its tanks are taken to be turned over once an hour, by the rule of the trade. Give the pump's points, or see that there is a pump.", l.in.Name))
	}
	if !known {
		l.course.Notes = append(l.course.Notes, fmt.Sprintf("Loop %s names no water that it is topped up with: soft water of alkalinity 1 meq/L is taken.", l.in.Name))
	}
	k, p := open.PotassiumGm3, open.PhosphateP
	if k == 0 {
		k = usualKGm3
	}
	if p == 0 {
		p = usualPGm3
	}
	if open.PotassiumGm3 == 0 || open.PhosphateP == 0 {
		l.course.Notes = append(l.course.Notes, fmt.Sprintf("Potassium of %.0f g/m³, phosphate of %.0f g P/m³ and iron of %.0f g/m³ are defaults where the opening's test of loop %s has none: measure them.", k, p, usualFeGm3, l.in.Name))
	}
	v := l.volumeM3
	ionic := 0.008
	for i := range n {
		t := open.TempC
		if tank := c.Places[i].Tank; tank != nil && tank.WaterC > 0 {
			t = tank.WaterC
		}
		if t == 0 {
			t = 15
		}
		if first := r.in.on(r.s.Opening.Date); first != nil {
			t = math.Min(40, math.Max(0, first.waterC[r.in.building.Cell(l.index, i)][0]))
		}
		l.tempC[i] = t
	}
	hubC := l.tempC[c.Hub]
	dic, base, err := cells.Balance(hubC, ionic, open.PH, open.AlkalinityMolM3, open.TANGm3, open.NitriteNGm3, open.NitrateNGm3, p)
	if err != nil {
		return fmt.Errorf("opening.water of loop %s: %w", l.in.Name, err)
	}
	l.have = grams{p: p * v, k: k * v, ca: src.CalciumGm3 * v, mg: src.MagnesiumGm3 * v, na: src.SodiumGm3 * v, cl: src.ChlorideGm3 * v, fe: usualFeGm3 * v, base: base * v}
	l.slow = cells.Slow{BaseEqM3: base, PGm3: p, IonicMolL: ionic}
	load := 0.0
	for _, co := range r.s.Opening.Cohorts {
		if _, ours := c.CellOf[co.Tank]; ours {
			load += openingTAN(r.s, co)
		}
	}
	media := 0.0
	for i := range n {
		media += c.Layout.Cells[i].MediaM2
	}
	start := make([]cells.Reading, n)
	for i := range n {
		sat, err := water.OxygenSaturation(l.tempC[i], l.air.PressureKPa, 0)
		if err != nil {
			return fmt.Errorf("loop %s: %w", l.in.Name, err)
		}
		start[i] = cells.Reading{DOGm3: openingDOShare * sat, DICMolM3: dic, TANGm3: open.TANGm3, NO2NGm3: open.NitriteNGm3, NO3NGm3: open.NitrateNGm3}
		cell := &c.Layout.Cells[i]
		if cell.MediaM2 == 0 {
			continue
		}
		start[i].BacteriaA, start[i].BacteriaN = water.SeedNewGCODM3*cell.VolumeM3, water.SeedNewGCODM3*cell.VolumeM3
		if open.Ripe {
			a, b := cells.SteadyBacteria(load*cell.MediaM2/media, l.tempC[i], cell.MediaM2, cell.MostGM2Day)
			start[i].BacteriaA, start[i].BacteriaN = max(a, start[i].BacteriaA), max(b, start[i].BacteriaN)
		}
	}
	if err := l.w.Start(start); err != nil {
		return err
	}
	if err := l.force(); err != nil {
		return err
	}
	l.start, l.startBacteria, l.startO, l.startC = l.w.Content()
	l.bacteriaN = l.startBacteria
	l.startP, l.startK = l.have.p, l.have.k
	l.startCourse(days)
	return nil
}

// openingDay is a cohort's first day on its full ration.
func openingDay(s *site.Site, co site.Cohort) fish.CohortDay {
	sp, err := fish.Lookup(co.Species)
	if err != nil {
		return fish.CohortDay{}
	}
	protein := sp.ProteinGrowoutShare
	for _, f := range s.Feeds {
		if f.Name == co.Feed {
			protein = f.Protein
		}
	}
	tempC := (sp.OptLowC + sp.OptHighC) / 2
	for i := range s.Loops {
		for _, t := range s.Loops[i].Tanks {
			if t.Name == co.Tank && t.WaterC > 0 {
				tempC = t.WaterC
			}
		}
	}
	c, err := fish.NewCohort(&sp, float64(co.Count), co.WeightKg*1000, 1)
	if err != nil {
		return fish.CohortDay{}
	}
	return c.Step(tempC, fish.FeedKind{ProteinShare: protein}, 1)
}

// openingTAN is the ammonia of a cohort's full ration on the first day.
func openingTAN(s *site.Site, co site.Cohort) float64 { return openingDay(s, co).TANG }

// openingFeedG is that ration.
func openingFeedG(s *site.Site, co site.Cohort) float64 { return openingDay(s, co).FeedG }

// tankC is the water of a tank for today's ration.
func (l *loop) tankC(r *run, t *site.Tank) float64 {
	if l.circuit != nil && r.inside != nil {
		sum := 0.0
		for _, c := range r.inside.waterC[r.in.building.Cell(l.index, l.circuit.CellOf[t.Name])] {
			sum += c
		}
		return sum / hours
	}
	if t.WaterC != 0 || l.circuit == nil || l.tempC == nil {
		return t.WaterC
	}
	return l.tempC[l.circuit.CellOf[t.Name]]
}

// nGm3 is the nitrogen that plants find, as ammonium and nitrate.
func (l *loop) nGm3() float64 {
	if l.w == nil {
		return math.Inf(1)
	}
	r := l.w.Read(l.circuit.Hub)
	return r.TANGm3 + r.NO3NGm3
}

// ampleKm is the content, in half-rate contents, from which a nutrient is counted
// as ample: crop tables give the yields of ample water.
const ampleKm = 5

// ample is the share of growth that a content allows.
func ample(gm3, km float64) float64 {
	return math.Min(1, crop.NutrientFactor(gm3, km)*(ampleKm+1)/ampleKm)
}

// root is the share of growth that the water's contents allow: that of the
// scarcest nutrient.
func (l *loop) root() (share float64, scarcest int) {
	if l.w == nil {
		return 1, -1
	}
	share, scarcest = 1, -1
	for i, x := range [4]float64{
		ample(l.nGm3(), crop.KmN), ample(l.have.p/l.volumeM3, crop.KmP), ample(l.have.k/l.volumeM3, crop.KmK), ample(l.have.fe/l.volumeM3, crop.KmFe),
	} {
		if x < share {
			share, scarcest = x, i
		}
	}
	return share, scarcest
}

func (l *loop) morning() {
	l.planted, l.transpired, l.feedToday, l.wantN, l.wantG = 0, 0, 0, 0, grams{}
	l.toSolidsN, l.toSolidsP, l.toSolidsDry = 0, 0, 0
	for i := range l.want {
		l.want[i] = [hours]float64{}
	}
	for i := range l.tanks() {
		l.course.tanks[i] = tankDay{}
	}
}

// fed books a cohort's day.
func (l *loop) fed(c *cohort, d fish.CohortDay) {
	l.feedN += d.FeedNG
	l.keptN += d.KeptNG
	l.feedP += d.FeedPG
	l.keptP += d.KeptPG
	l.toSolidsN += d.FaecalNG
	l.toSolidsP += d.SolidPG
	l.toSolidsDry += d.SolidsG
	l.feedToday += d.FeedG
	if l.w == nil {
		return
	}
	l.have.p += d.DissolvedPG
	kg := d.FeedG / 1000
	for _, x := range [...]struct {
		have  *float64
		perKg float64
	}{{&l.have.k, feedK}, {&l.have.ca, feedCa}, {&l.have.mg, feedMg}, {&l.have.na, feedNa}, {&l.have.cl, feedCl}, {&l.have.fe, feedFe}} {
		*x.have += kg * x.perKg
	}
	l.feedK += kg * feedK
	charge := grams{k: kg * feedK, ca: kg * feedCa, mg: kg * feedMg, na: kg * feedNa, cl: kg * feedCl, p: d.DissolvedPG}
	l.have.base += charge.ions() - 2*kg*feedS/molarS
	t := &l.course.tanks[l.circuit.CellOf[c.tank.Name]]
	digest := math.Min(d.OxygenG, d.FeedG*c.fish.Species.FeedingOxygenPerFeed(c.feed.EnergyJG))
	for h := range hours {
		t.tan[h] += d.TANG * c.rhythm.Ammonia[h]
		t.oxygen[h] += (d.OxygenG-digest)/hours + digest*c.rhythm.Digesting[h]
	}
}

// What a kilogram of feed leaves dissolved, g.
var feedK, feedCa, feedMg, feedNa, feedCl, feedFe, feedS = dissolved("K"), dissolved("Ca"), dissolved("Mg"), dissolved("Na"), dissolved("Cl"), dissolved("Fe"), dissolved("S")

func dissolved(element string) float64 {
	for _, n := range water.Nutrients() {
		if n.Element == element {
			return n.FeedGKg * (1 - n.RetentionShare) * n.DissolvedShare
		}
	}
	return 0
}

// wants books what a planting wants today, spread over the hours by its light.
func (l *loop) wants(bed int, n, p, k float64, light *[hours]float64) {
	if l.w == nil {
		l.uptakeN += n
		l.uptakeP += p
		l.uptakeK += k
		return
	}
	at := l.circuit.CellOfBed[bed]
	l.wantN += n
	l.wantG.p += p
	l.wantG.k += k
	l.wantG.ca += n * caPerN
	l.wantG.mg += n * mgPerN
	l.wantG.fe += n * fePerN
	for h := range hours {
		l.want[at][h] += n * light[h]
	}
}

// hoursOfDay carries the water through the day's hours.
func (l *loop) hoursOfDay(r *run, d int) error {
	if l.w == nil {
		return nil
	}
	c := l.circuit
	start := l.w.Totals()
	l.dayOfCourse(r, d)
	if root, scarcest := l.root(); l.planted > 0 && scarcest >= 0 && root < hungryShare {
		l.hungry[scarcest]++
	}
	for h := range hours {
		l.warmth(r, h)
		for i := range l.tempC {
			if math.Abs(l.tempC[i]-l.usedC[i]) > tempStepC {
				if err := l.force(); err != nil {
					return err
				}
				break
			}
		}
		for i := range c.Places {
			f := &l.f.Cells[i]
			f.WantedNGDay = l.want[i][h] * hours
			f.TANGDay = l.mineralNGDay[i] + l.course.tanks[i].tan[h]*hours
			f.BreathGDay = l.course.tanks[i].oxygen[h] * hours
			f.DecayGDay = l.decayOGDay[i]
		}
		l.f.Slow = l.slow
		if err := l.w.Force(l.f); err != nil {
			return err
		}
		if _, err := l.w.Advance(float64(d) + float64(h+1)/hours); err != nil {
			return err
		}
		l.sample(r, d, h)
		if h == doseHour {
			if err := l.doser.day(r, l, d); err != nil {
				return err
			}
		}
	}
	end := l.w.Totals()
	taken := end.PlantTANG - start.PlantTANG + end.PlantNO3G - start.PlantNO3G
	l.got = 1
	if l.wantN > 0 {
		l.got = taken / l.wantN
	}
	l.uptakeN += taken
	l.lackN += l.wantN - taken
	l.slowUptake()
	return nil
}

// hungryShare is the share of growth below which plants count as hungry.
const hungryShare = 0.9

// force hands over what plumbing brings at the temperatures of now.
func (l *loop) force() error {
	for i := range l.tempC {
		l.f.Cells[i].TempC, l.usedC[i] = l.tempC[i], l.tempC[i]
	}
	if err := l.circuit.Force(l.f, l.air, plumbing.Running{}); err != nil {
		return err
	}
	l.f.Slow = l.slow
	return l.w.Force(l.f)
}

// warmth carries the temperatures through an hour: tanks with a set point are
// held at it, the rest mixes and exchanges heat with the air of its zone. The
// step is implicit, solved by sweeps over the cells.
func (l *loop) warmth(r *run, h int) {
	if r.inside != nil {
		for i := range l.tempC {
			l.tempC[i] = math.Min(40, math.Max(0, r.inside.waterC[r.in.building.Cell(l.index, i)][h]))
		}
		return
	}
	if len(l.zone) == 0 {
		return
	}
	c := l.circuit
	const heatCapacity = 4.19e6 // J/m³K
	old := l.course.oldC
	copy(old, l.tempC)
	for range mostSweeps {
		moved := 0.0
		for i := range c.Places {
			if t := c.Places[i].Tank; t != nil && t.WaterC > 0 {
				l.tempC[i] = t.WaterC
				continue
			}
			v := c.Layout.Cells[i].VolumeM3
			area := c.Places[i].AreaM2
			if area == 0 {
				area = v / c.Places[i].DepthM
			}
			ua := heatWm2K * area * 3600 / heatCapacity / v
			top, bottom := old[i]+ua*setAirC(l.zone[i], l.lampH[i], r.sky, h), 1+ua
			if i == c.Hub { // the pump hangs in it: all its power ends there
				top += c.PumpKWhDay / hours * 3.6e6 / heatCapacity / v
			}
			for k := range c.Layout.Flows {
				if c.Layout.Flows[k].To == i {
					q := l.f.Flows[k].M3Day / hours / v
					top += q * l.tempC[c.Layout.Flows[k].From]
					bottom += q
				}
			}
			next := math.Min(40, math.Max(0, top/bottom))
			moved = math.Max(moved, math.Abs(next-l.tempC[i]))
			l.tempC[i] = next
		}
		if moved < 1e-4 {
			return
		}
	}
}

// mostSweeps bounds the sweeps of warmth; each carries the heat one cell further.
const mostSweeps = 200

// evening sets free from the solids, takes what plants got of the slow ions, tops
// up and keeps the day.
func (l *loop) evening(r *run, d int, date site.Date) error {
	if l.circuit == nil {
		return nil
	}
	if l.w != nil {
		if err := l.settle(); err != nil {
			return err
		}
	}
	gone := r.evaporated(l)
	l.evaporated += gone
	l.levelM3 -= l.transpired + gone
	if r.inside != nil { // no more than it lacks: the rest is poured away
		caught := math.Max(0, math.Min(r.inside.caught[l.index]/1000, l.volumeM3-l.levelM3))
		l.caught += caught
		l.airLeaves += r.inside.leafL[l.index] / 1000
		l.levelM3 += caught
	}
	fill := l.volumeM3 - l.levelM3 // filled up to its mark each evening
	l.levelM3 += fill
	l.toppedUp += fill
	if l.w != nil && fill > 0 {
		if err := l.w.AddNitrate(fill * l.sourceNGm3); err != nil {
			return err
		}
		if err := l.w.Dose(l.circuit.Hub, 0, fill*l.sourceDIC, 0, 0); err != nil {
			return err
		}
		l.topUpN += fill * l.sourceNGm3
		l.topUpC += fill * l.sourceDIC
		l.have.ca += fill * l.source.ca
		l.have.mg += fill * l.source.mg
		l.have.na += fill * l.source.na
		l.have.cl += fill * l.source.cl
		l.have.base += fill * l.source.base
	}
	l.have.fe *= 1 - feLossDay
	l.settleSlow()
	l.plantedSum += l.planted
	l.days++
	if l.w == nil {
		return nil
	}
	l.endOfDay(d, date)
	if d%7 == 0 && len(l.out.NitrateNGm3) < cap(l.out.NitrateNGm3) {
		l.out.NitrateNGm3 = append(l.out.NitrateNGm3, LoopWeek{Day: date, NGm3: l.nGm3(), PGm3: l.have.p / l.volumeM3, KGm3: l.have.k / l.volumeM3})
	}
	return nil
}

// evaporated is the water that left a loop's tanks and beds today by the building, m³;
// less than nothing where more condensed. 0 where the building is not described.
func (r *run) evaporated(l *loop) float64 {
	if r.inside == nil {
		return 0
	}
	kg := 0.0
	for i := range l.circuit.Places {
		kg += r.inside.wetKg[r.in.building.Cell(l.index, i)]
	}
	return kg / 1000
}

// settle books the solids of the day and works out what they set free tomorrow.
func (l *loop) settle() error {
	now := l.w.Totals()
	_, bacteria, _, _ := l.w.Content()
	reseed := 0.0
	for i := range l.circuit.Layout.Cells {
		if l.circuit.Layout.Cells[i].MediaM2 > 0 {
			reseed += 2 * l.circuit.Layout.Cells[i].ReseedGCODDay * water.NitrogenInBiomass
		}
	}
	slough := now.FormedNG - l.before.FormedNG + reseed - (bacteria - l.bacteriaN)
	l.reseedN += reseed
	l.sloughN += slough
	l.before, l.bacteriaN = now, bacteria
	removed := l.in.SolidsOut
	l.solidsOutN += removed * l.toSolidsN
	l.solidsOutP += removed * l.toSolidsP
	for i, share := range l.settles {
		l.mineralNGDay[i], l.decayOGDay[i] = 0, 0
		if share == 0 {
			continue
		}
		kept := share * (1 - removed)
		var freeN, freeP, dry float64
		var err error
		if l.solidsN[i], freeN, err = l.solidsN[i].Add(kept*l.toSolidsN+share*slough).After(1, l.tempC[i], 0); err != nil {
			return fmt.Errorf("loop %s: %w", l.in.Name, err)
		}
		if l.solidsP[i], freeP, err = l.solidsP[i].Add(kept*l.toSolidsP).After(1, l.tempC[i], 0); err != nil {
			return fmt.Errorf("loop %s: %w", l.in.Name, err)
		}
		if l.solidsDry[i], dry, err = l.solidsDry[i].Add(kept*l.toSolidsDry).After(1, l.tempC[i], 0); err != nil {
			return fmt.Errorf("loop %s: %w", l.in.Name, err)
		}
		l.mineralNGDay[i] = freeN
		l.decayOGDay[i] = dry * decayOxygenPerSolids
		l.have.p += freeP
		l.have.base -= freeP / water.MolarP
		if l.poreM3[i] > 0 {
			clogged := l.clogged(i)
			l.f.Cells[i].MediaShare = math.Max(0.3, 1-2*clogged)
		}
	}
	return nil
}

// clogged is the share of a bed's pores that sludge fills.
func (l *loop) clogged(cell int) float64 {
	if l.poreM3[cell] == 0 {
		return 0
	}
	return math.Min(1, (l.solidsDry[cell].FastG+l.solidsDry[cell].SlowG)/1000*sludgeM3Kg/l.poreM3[cell])
}

// slowUptake takes phosphorus, potassium, calcium, magnesium and iron.
func (l *loop) slowUptake() {
	take := func(have *float64, want float64) float64 {
		got := math.Min(want, math.Max(0, *have))
		*have -= got
		return got
	}
	was := l.have
	p, k := take(&l.have.p, l.wantG.p), take(&l.have.k, l.wantG.k)
	take(&l.have.ca, l.wantG.ca)
	take(&l.have.mg, l.wantG.mg)
	take(&l.have.fe, l.wantG.fe)
	l.have.base += l.have.ions() - was.ions()
	l.uptakeP += p
	l.uptakeK += k
	l.lackP += l.wantG.p - p
	l.lackK += l.wantG.k - k
	l.gotP, l.gotK = 1, 1
	if l.wantG.p > 0 {
		l.gotP = p / l.wantG.p
	}
	if l.wantG.k > 0 {
		l.gotK = k / l.wantG.k
	}
}

// settleSlow hands the ions over to the cells.
func (l *loop) settleSlow() {
	v := l.volumeM3
	h := &l.have
	l.slow.BaseEqM3, l.slow.PGm3 = h.base/v, math.Max(0, h.p/v)
	if l.w == nil {
		return
	}
	// Half the sum of charges squared times contents; sulphate and what else
	// there is make up the charge.
	no3 := l.w.Read(l.circuit.Hub).NO3NGm3 / water.MolarN
	alk := math.Max(0, h.base/v-no3)
	plus := 2*h.ca/water.MolarCa + 2*h.mg/molarMg + h.k/molarK + h.na/molarNa
	minus := h.cl/molarCl + h.p/water.MolarP
	sulphate := math.Max(0, plus/v-minus/v-no3-alk) / 2
	ionic := 0.5 * ((4*h.ca/water.MolarCa+4*h.mg/molarMg+h.k/molarK+h.na/molarNa+minus)/v + no3 + alk + 4*sulphate) / 1000
	l.slow.IonicMolL = math.Min(0.5, math.Round(ionic*1000)/1000)
}

// muchNGm3 is a nitrate nitrogen at which fish of cool water are at the edge
// of what suits them. Common practice, no source.
const muchNGm3 = 150.0

// leafyFeed is the feed that a full bed of leafy crops takes up, g/m²/d: 112 g
// of lettuce a day with 2.5 g N/kg, by the protein of this run's feed.
func leafyFeed(proteinG, feedG float64) float64 {
	if feedG <= 0 {
		return 0
	}
	f, err := crop.FeedForPlants(112, 2.5, proteinG/feedG, crop.UsualNitrogenShare)
	if err != nil {
		return 0
	}
	return f
}

// account makes a ledger and its residual.
func account(start float64, in, out []Entry, end float64) Ledger {
	l := Ledger{Start: start, In: in, Out: out, End: end}
	l.Left = start - end
	for _, e := range in {
		l.Left += e.Amount
	}
	for _, e := range out {
		l.Left -= e.Amount
	}
	return l
}

// open reports whether a ledger is open by more than its throughput allows.
func (l Ledger) open() bool {
	through := math.Abs(l.Start) + math.Abs(l.End)
	for _, list := range [][]Entry{l.In, l.Out} {
		for _, e := range list {
			through += math.Abs(e.Amount)
		}
	}
	return !(math.Abs(l.Left) <= closing*math.Max(through, 1e-6))
}

// close makes a loop's ledgers. Those of the fish and plants are made of what
// the cohorts and plantings report, not of what the loop booked, so that the
// two must agree.
func (l *loop) close(r *run, index int) (LoopCourse, error) {
	o := l.out
	flesh, fleshEnd, gain, dead, taken, added := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	for i := range r.cohorts {
		c := &r.cohorts[i]
		if c.loop != index {
			continue
		}
		flesh += c.start
		added += c.added
		fleshEnd += c.fish.Number * c.fish.WeightG / 1000
		gain += c.gain
		dead += c.dead
		taken += c.taken
	}
	// What the plantings report to have taken.
	var plantN, plantP, plantK, plantWater float64
	for i := range r.plants {
		if p := &r.plants[i]; r.beds[p.bed].loop == index {
			plantN += p.out.NUptakeG
			plantP += p.gotPG
			plantK += p.gotKG
			plantWater += p.waterM3
		}
	}
	o.FishKg = account(flesh, []Entry{{"growth", gain}, {"stocked", added}}, []Entry{{"lost", dead}, {"taken", taken}}, fleshEnd)
	nKg, pKg := 1000*fish.NKeptPerGain, 1000*fish.PKeptPerGain
	if l.w == nil {
		o.Nitrogen = account(0, []Entry{{"endless water", plantN}}, []Entry{{"plants", plantN}}, 0)
		o.Phosphorus = account(0, []Entry{{"endless water", plantP}}, []Entry{{"plants", plantP}}, 0)
		o.Potassium = account(0, []Entry{{"endless water", plantK}}, []Entry{{"plants", plantK}}, 0)
	} else {
		inWater, inBacteria, oxygen, carbon := l.w.Content()
		q := l.w.Totals()
		solidsN, solidsP := l.toSolidsHeld(l.solidsN), l.toSolidsHeld(l.solidsP)
		waiting := 0.0 // set free from solids this evening, not yet in the water
		for _, g := range l.mineralNGDay {
			waiting += g
		}
		o.Nitrogen = account(l.start+l.startBacteria+flesh*nKg,
			[]Entry{{"feed", l.feedN}, {"top-up water", l.topUpN}, {"changed water in", l.changeInN}, {"bacteria from outside", l.reseedN}, {"fish stocked", added * nKg}},
			[]Entry{{"plants", plantN}, {"gas", q.GasG}, {"changed water out", l.changeOutN}, {"solids taken out", l.solidsOutN}, {"fish lost", dead * nKg}, {"fish taken", taken * nKg}},
			inWater+inBacteria+solidsN+waiting+fleshEnd*nKg)
		o.Phosphorus = account(l.startP+flesh*pKg,
			[]Entry{{"feed", l.feedP}, {"fish stocked", added * pKg}},
			[]Entry{{"plants", plantP}, {"changed water out", l.changeOutP}, {"solids taken out", l.solidsOutP}, {"fish lost", dead * pKg}, {"fish taken", taken * pKg}},
			l.have.p+solidsP+fleshEnd*pKg)
		o.Potassium = account(l.startK, []Entry{{"feed", l.feedK}, {"doses", l.doseK}}, []Entry{{"plants", plantK}, {"changed water out", l.changeOutK}}, l.have.k)
		o.OxygenG = account(l.startO, []Entry{{"surfaces", q.SurfaceOG}, {"air stones", q.AirOG}, {"falling water", q.FallOG}, {"changed water", l.changeO}},
			[]Entry{{"fish", q.BreathOG}, {"decay", q.DecayOG}, {"nitrifiers", q.NitrifyOG}}, oxygen)
		respired := (q.BreathOG + q.DecayOG) * water.CO2PerO2 / water.MolarCO2
		o.CarbonMol = account(l.startC, []Entry{{"fish and decay", respired}, {"top-up water", l.topUpC}, {"changed water in", l.changeInC}, {"doses", l.doseC}},
			[]Entry{{"given off to the air", q.StrippedCMol}, {"changed water out", l.changeOutC}, {"nitrifiers", q.FixedCMol}}, carbon)
		o.NitrifiedG, o.SolidsN, o.BacteriaNG = q.NitritatedG, solidsN, inBacteria
	}
	if r.in.building != nil {
		o.Leaves = &LeafWater{PlantingsM3: plantWater, BuildingM3: l.airLeaves}
	}
	o.WaterM3 = account(l.volumeM3, []Entry{{"top-up", l.toppedUp}, {"changed water in", l.changedM3}, {"caught by dehumidifiers", l.caught}}, []Entry{{"given off by plants", plantWater}, {"evaporated", l.evaporated}, {"changed water out", l.changedM3}}, l.levelM3)
	var grown, harvest, residue, standing, before float64
	for i := range r.plants {
		p := &r.plants[i]
		if r.beds[p.bed].loop != index {
			continue
		}
		grown += p.out.grownG
		harvest += p.out.harvestG
		residue += p.out.residueG
		standing += p.out.standingG
		before += p.standing0
	}
	o.PlantKg = account(before/1000, []Entry{{"growth", grown / 1000}}, []Entry{{"harvest", harvest / 1000}, {"residue", residue / 1000}}, standing/1000)
	for _, x := range []struct {
		name string
		l    Ledger
	}{
		{"nitrogen", o.Nitrogen}, {"phosphorus", o.Phosphorus}, {"potassium", o.Potassium},
		{"oxygen", o.OxygenG}, {"carbon", o.CarbonMol}, {"water", o.WaterM3}, {"fish", o.FishKg}, {"plants", o.PlantKg},
	} {
		if x.l.open() {
			return o, fmt.Errorf("loop %s, %s: %g is left over: %w", o.Name, x.name, x.l.Left, ErrLedger)
		}
	}
	days := float64(max(1, l.days))
	o.PlantedM2 = l.plantedSum / days
	if l.plantedSum > 0 {
		o.FeedGM2Day = l.feedG / l.plantedSum
		// The feed's nitrogen that reaches the water, by what this run saw.
		if l.w != nil {
			if reach := l.feedN - l.keptN - o.SolidsN - l.solidsOutN - l.w.Totals().GasG; l.feedN > 0 && reach > 0 {
				o.StandstillGM2Day = o.FeedGM2Day * (l.uptakeN + l.lackN - l.topUpN - l.changeInN) / reach
			}
		}
	}
	o.LeafyGM2Day = leafyFeed(l.proteinG, l.feedG)
	if l.feedG > 0 {
		o.protein = l.proteinG / l.feedG
	}
	if l.w == nil {
		return o, nil
	}
	l.warn(r, &o)
	if l.doser.badSource {
		l.course.Notes = append(l.course.Notes, fmt.Sprintf("Loop %s: nitrate asks for a change of water, and %s has as much of it itself: find other water, plant more or feed less.", l.in.Name, l.in.Water))
	}
	o.Water = l.finishCourse(r)
	return o, nil
}

// toSolidsHeld is what pools hold, g.
func (l *loop) toSolidsHeld(pools []water.Pool) (g float64) {
	for _, p := range pools {
		g += p.FastG + p.SlowG
	}
	return g
}

// warn says what the loop's plants and water come to.
func (l *loop) warn(r *run, o *LoopCourse) {
	say := func(format string, args ...any) {
		r.out.Warnings = append(r.out.Warnings, fmt.Sprintf(format, args...))
	}
	for i, name := range [4]string{"nitrogen", "phosphorus", "potassium", "iron"} {
		if days := l.hungry[i]; days >= leastDays {
			say("loop %s: on %d days the plants' growth is held back by too little %s: %s", o.Name, days, name, [4]string{"more feed or fewer plants", "feed brings it; ripe solids set it free: keep them in the beds", "dose what is safe for fish, as potassium sulphate or bicarbonate", "dose chelated iron"}[i])
		}
	}
	if end := l.nGm3(); end > muchNGm3 {
		say("loop %s: nitrogen climbs to %.0f g/m³ by %s: more plants, less feed or changed water", o.Name, end, r.o.To)
	}
	for i := range l.circuit.Places {
		if c := l.clogged(i); c > 0.2 {
			say("loop %s: by %s solids fill %.0f %% of the pores of %s: lift the media guards, wash or stir what clogs, take solids out before the beds", o.Name, r.o.To, 100*c, l.circuit.Layout.Cells[i].Name)
		}
	}
}
