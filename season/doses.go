package season

import (
	"fmt"
	"math"

	"tidebed/cells"
	"tidebed/science/water"
	"tidebed/site"
)

// DoseGiven is what a keeper is to put into a loop on a day.
type DoseGiven struct {
	Day      site.Date `json:"day"`
	What     string    `json:"what"`
	Grams    float64   `json:"grams"`
	WaterM3  float64   `json:"waterM3,omitempty"` // of a change of water
	Why      string    `json:"why"`
	Held     bool      `json:"held"` // wanted and held back
	PHBefore float64   `json:"phBefore,omitempty"`
	PHAfter  float64   `json:"phAfter,omitempty"` // at once, in the sump
}

const (
	doseHour = 8 // of the day, at whose end the keeper doses
	// usualKeepPH is the pH to which a loop is held where the site names none:
	// bacteria, plants and fish meet there.
	usualKeepPH = 6.8
	keepBand    = 0.1  // of pH below, before anything is given
	leastAlk    = 0.8  // eq/m³, 40 mg/L, below which base is given whatever the pH
	alkAbove    = 0.3  // eq/m³, how far above leastAlk it is then raised
	urgentAlk   = 0.6  // eq/m³, 30 mg/L, the act limit of all fish
	alkPart     = 0.4  // eq/m³ at a time
	limeUsual   = 0.5  // of the alkalinity as slaked lime, the rest as potassium bicarbonate
	limeMuch    = 0.8  // where there is potassium in plenty
	plentyK     = 150. // g/m³
	plentyCa    = 150. // g/m³
	baseEvery   = 1    // days
	changeEvery = 7    // days
	changeShare = 0.2  // of the water at a time, when nitrate passes what the fish bear for long
	ironEvery   = 21   // days: University of the Virgin Islands practice
	usualIron   = 2.0  // g/m³ at a time
	mostIron    = 5.0  // g/m³ with fish
	holdsDTPA   = 7.2  // pH up to which the DTPA chelate holds; from memory, 7 to 7.5
	leastFe     = 1.2  // g/m³, below which it is given earlier, a week apart at least
	saltsEvery  = 7    // days
	chlorideMax = 100. // g/m³
	floorK      = 10.0 // g/m³; raised to twice that
	floorCa     = 20.0
	floorMg     = 4.0
)

// what is dosed.
const (
	doseKHCO3 = iota
	doseLime
	doseIron
	doseIronHigh
	doseK2SO4
	doseGypsum
	doseEpsom
	doseChloride
	doseChange
	doses
)

// doseOf names a dose for people, and the share of its element by weight.
var doseOf = [doses]struct {
	what  string
	share float64
}{
	{"potassium bicarbonate", 0.3905},
	{"slaked lime", 0.5409},
	{"iron chelate DTPA, 11 % iron", 0.11},
	{"iron chelate EDDHA, 6 % iron", 0.06},
	{"potassium sulphate", 0.4487},
	{"gypsum", 0.2328},
	{"Epsom salt", 0.0986},
	{"calcium chloride dihydrate", 0.2726},
	{"change of water", 0},
}

// given is a dose as the run keeps it; words come at the end.
type given struct {
	day           int
	what          int
	grams         float64
	held          bool
	before, after float64 // pH, or g/m³ of the element
	nh3           float64
	alk           float64 // eq/m³; of a change of water the nitrate
	least         float64 // g/m³ that the fish bear
}

// doser is the keeper's hand with the bottle.
type doser struct {
	off       bool
	keepPH    float64
	iron      float64
	lastBase  int
	lastIron  int
	badSource bool // water was to be changed, and the source is as bad
	list      []given
}

func newDoser(r *run, l *loop, days int) doser {
	d := doser{keepPH: usualKeepPH, iron: usualIron, lastBase: -baseEvery, lastIron: -ironEvery, off: r.o.Undosed || l.in.Doses == "none"}
	if l.in.KeepPH > 0 {
		d.keepPH = l.in.KeepPH
	}
	if l.in.IronGm3 > 0 {
		d.iron = l.in.IronGm3
	}
	if len(l.in.Tanks) == 0 && len(l.in.Beds) == 0 {
		d.off = true
	}
	d.list = make([]given, 0, (doses+2)*days)
	return d
}

// day doses what the water of the hour asks for.
func (d *doser) day(r *run, l *loop, day int) error {
	if d.off {
		return nil
	}
	changed := false
	if day%changeEvery == 0 {
		var err error
		if changed, err = d.change(r, l, day); err != nil {
			return err
		}
	}
	if !changed && day-d.lastBase >= baseEvery {
		if err := d.base(r, l, day); err != nil {
			return err
		}
	}
	v := l.volumeM3
	plants := l.planted > 0
	if plants && (day-d.lastIron >= ironEvery || day-d.lastIron >= saltsEvery && l.have.fe < leastFe*v) {
		d.lastIron = day
		if rise := min(d.iron, mostIron-l.have.fe/v); rise > 0.2 {
			what := doseIron
			if l.w.Read(l.circuit.Hub).PH > holdsDTPA {
				what = doseIronHigh
			}
			d.give(l, given{day: day, what: what, grams: rise * v / doseOf[what].share, before: l.have.fe / v}, &l.have.fe)
		}
	}
	if day%saltsEvery == 0 && plants {
		for _, x := range [...]struct {
			what  int
			have  *float64
			floor float64
		}{{doseK2SO4, &l.have.k, floorK}, {doseGypsum, &l.have.ca, floorCa}, {doseEpsom, &l.have.mg, floorMg}} {
			if *x.have/v < x.floor {
				d.give(l, given{day: day, what: x.what, grams: (2*x.floor - *x.have/v) * v / doseOf[x.what].share, before: *x.have / v}, x.have)
			}
		}
	}
	d.chloride(r, l, day)
	return nil
}

// change replaces a part of the water when nitrate has passed what the fish of
// the loop bear for long, less of it where the pH would move too far; it is held
// back where un-ionised ammonia would pass what they bear, and not done with water
// that is as bad.
func (d *doser) change(r *run, l *loop, day int) (changed bool, err error) {
	most := math.Inf(1)
	for i := range r.cohorts {
		c := &r.cohorts[i]
		if c.loop != l.index || c.fish.Number <= 0 {
			continue
		}
		g, err := water.GroupOf(c.fish.Species.ID)
		if err != nil {
			continue
		}
		if limit, ok := water.LimitOf(g, water.NO3NParameter); ok && limit.WarnHigh.Known {
			most = min(most, limit.WarnHigh.Amount)
		}
	}
	now := l.w.Read(l.circuit.Hub)
	if !(now.NO3NGm3 > most) {
		return false, nil
	}
	if l.sourceNGm3 >= most {
		d.badSource = true
		return false, nil
	}
	g := given{day: day, what: doseChange, alk: now.NO3NGm3, least: most}
	sourceAlk := l.source.base - l.sourceNGm3/water.MolarN
	share := changeShare
	for range 4 {
		step, err := d.step(r, l, l.circuit.Hub, &g, func(w cells.Reading) (alk, dic, tan float64) {
			return w.AlkEqM3 + share*(sourceAlk-w.AlkEqM3), w.DICMolM3 + share*(l.sourceDIC-w.DICMolM3), 1 - share
		})
		if err != nil {
			return false, err
		}
		if step <= water.MostPHStepDay {
			break
		}
		share /= 2
	}
	if g.held {
		g.grams = share * l.volumeM3
		d.put(g)
		return false, nil
	}
	v := l.volumeM3
	_, _, o0, _ := l.w.Content()
	in := cells.Reading{DOGm3: openingDOShare * l.f.Cells[l.circuit.Hub].DOSatGm3, DICMolM3: l.sourceDIC, NO3NGm3: l.sourceNGm3}
	nNet, cNet, err := l.w.Exchange(share, in)
	if err != nil {
		return false, err
	}
	_, _, o1, _ := l.w.Content()
	inN, inC := share*v*l.sourceNGm3, share*v*l.sourceDIC
	l.changeInN += inN
	l.changeOutN += inN - nNet
	l.changeInC += inC
	l.changeOutC += inC - cNet
	l.changeO += o1 - o0
	l.changedM3 += share * v
	h, src := &l.have, &l.source
	l.changeOutP += share * h.p
	l.changeOutK += share * h.k
	for _, x := range [...]struct {
		have   *float64
		source float64
	}{{&h.p, 0}, {&h.k, 0}, {&h.ca, src.ca}, {&h.mg, src.mg}, {&h.fe, 0}, {&h.na, src.na}, {&h.cl, src.cl}, {&h.base, src.base}} {
		*x.have += share * (x.source*v - *x.have)
	}
	l.settleSlow()
	g.grams = share * v
	d.put(g)
	return true, nil
}

// give books a neutral salt: its charge is carried by sulphate or chelate.
func (d *doser) give(l *loop, g given, have *float64) {
	add := g.grams * doseOf[g.what].share
	*have += add
	if g.what == doseK2SO4 {
		l.doseK += add
	}
	g.after = *have / l.volumeM3
	d.put(g)
}

func (d *doser) put(g given) {
	d.list = append(d.list, g) // newDoser made room for each kind each day
}

// base raises alkalinity in parts when it or the pH has sunk: half as potassium
// bicarbonate, half as slaked lime, more of the one of which there is less. Lime
// takes carbon dioxide out and moves the pH most, so that it gives way first, but
// where potassium is in plenty only when alkalinity is short. Base is held back where un-ionised ammonia would pass what
// the fish bear.
func (d *doser) base(r *run, l *loop, day int) error {
	hub := l.circuit.Hub
	now := l.w.Read(hub)
	if now.PH >= d.keepPH-keepBand && now.AlkEqM3 >= leastAlk {
		return nil
	}
	e, err := water.NewEquilibria(l.tempC[hub], l.slow.IonicMolL)
	if err != nil {
		return fmt.Errorf("loop %s: base: %w", l.in.Name, err)
	}
	s := water.Solutes{TANMolM3: now.TANGm3 / water.MolarN, PMolM3: l.slow.PGm3 / water.MolarP}
	s.DICMolM3 = e.DICOfCO2(d.keepPH+keepBand, now.CO2Gm3/water.MolarCO2)
	need := min(alkPart, max(e.Alkalinity(d.keepPH+keepBand, s)-now.AlkEqM3, leastAlk+alkAbove-now.AlkEqM3))
	if need < 0.05 {
		return nil
	}
	lime := limeUsual
	switch {
	case l.have.k > plentyK*l.volumeM3:
		lime = limeMuch
	case l.have.ca > plentyCa*l.volumeM3:
		lime = 1 - limeMuch
	}
	// The step and the ammonia are judged where the fish are.
	g := given{day: day, what: doseKHCO3, before: now.PH, alk: now.AlkEqM3}
	for range 10 {
		step, err := d.step(r, l, hub, &g, func(w cells.Reading) (alk, dic, tan float64) {
			return w.AlkEqM3 + need, w.DICMolM3 + need*(1-lime), 1
		})
		if err != nil {
			return err
		}
		if step <= water.MostPHStepDay {
			break
		}
		if lime > 0.1 && (now.AlkEqM3 < urgentAlk || lime <= limeUsual) { // bicarbonate brings its own CO2
			lime /= 2
			continue
		}
		need *= 0.9 * water.MostPHStepDay / step
	}
	d.lastBase = day
	v := l.volumeM3
	kEqG, limeEqG := chemical("KHCO3").AlkEqG(), chemical("Ca(OH)2").AlkEqG()
	g.grams = need * v * (1 - lime) / kEqG
	if g.held {
		d.put(g)
		return nil
	}
	d.put(g)
	limeG := need * v * lime / limeEqG
	g.what, g.grams = doseLime, limeG
	d.put(g)
	l.have.k += need * v * (1 - lime) / kEqG * doseOf[doseKHCO3].share
	l.doseK += need * v * (1 - lime) / kEqG * doseOf[doseKHCO3].share
	l.have.ca += limeG * doseOf[doseLime].share
	l.have.base += need * v
	l.doseC += need * v * (1 - lime)
	l.settleSlow()
	for i := range l.circuit.Layout.Cells {
		if err := l.w.Dose(i, 0, need*(1-lime)*l.circuit.Layout.Cells[i].VolumeM3, 0, 0); err != nil {
			return err
		}
	}
	return nil
}

// step works out how far a change of all water moves the pH at most in the pump's
// cell and where fish are, and whether un-ionised ammonia would pass what they
// bear, by the most ammonia of the day before. to gives alkalinity, carbon and the
// share of ammonia that is left. It fills after, held and nh3 of g.
func (d *doser) step(r *run, l *loop, hub int, g *given, to func(cells.Reading) (alk, dic, tan float64)) (most float64, err error) {
	g.held, g.nh3 = false, 0
	one := func(cell int) (rise, ph float64, err error) {
		w := l.w.Read(cell)
		alk, dic, tan := to(w)
		e, err := water.NewEquilibria(l.tempC[cell], l.slow.IonicMolL)
		if err != nil {
			return 0, 0, fmt.Errorf("loop %s: dose: %w", l.in.Name, err)
		}
		ph, err = e.PH(water.Solutes{AlkEqM3: alk, DICMolM3: max(0, dic), TANMolM3: tan * max(0, w.TANGm3) / water.MolarN, PMolM3: l.slow.PGm3 / water.MolarP}, w.PH)
		if err != nil {
			return 0, 0, fmt.Errorf("loop %s: dose: %w", l.in.Name, err)
		}
		return ph - w.PH, ph, nil
	}
	rise, after, err := one(hub)
	if err != nil {
		return 0, err
	}
	g.after, most = after, math.Abs(rise)
	for i := range r.cohorts {
		c := &r.cohorts[i]
		if c.loop != l.index || c.fish.Number <= 0 {
			continue
		}
		tank := l.circuit.CellOf[c.tank.Name]
		rise, after, err := one(tank)
		if err != nil {
			return 0, err
		}
		if math.Abs(rise) > most {
			g.after, g.before, most = after, after-rise, math.Abs(rise)
		}
		share, err := water.UnionisedFraction(l.tempC[tank], after)
		if err != nil {
			return 0, fmt.Errorf("loop %s: dose: %w", l.in.Name, err)
		}
		now := l.w.Read(tank)
		_, _, left := to(now)
		nh3 := share * left * max(now.TANGm3, l.yesterdayTAN(tank))
		if nh3 > c.fish.Species.NH3NMaxGm3 && rise > 0 {
			g.held, g.nh3 = true, max(g.nh3, nh3)
		}
	}
	return most, nil
}

func chemical(formula string) water.Chemical {
	c, _ := water.LookupChemical(formula) // its name is one of the table's; a test holds them
	return c
}

// chloride protects against nitrite the fish that gain by it.
func (d *doser) chloride(r *run, l *loop, day int) {
	worst, target := 0.0, 0.0
	for i := range r.cohorts {
		c := &r.cohorts[i]
		if c.loop != l.index || c.fish.Number <= 0 {
			continue
		}
		if no2 := l.w.Read(l.circuit.CellOf[c.tank.Name]).NO2NGm3; no2 > c.fish.Species.NO2NMaxGm3 {
			if want := no2 * c.fish.Species.ChloridePerNitriteN(); want > target {
				worst, target = no2, want
			}
		}
	}
	v := l.volumeM3
	target = min(chlorideMax, target)
	if worst == 0 || l.have.cl/v >= 0.95*target {
		return
	}
	g := given{day: day, what: doseChloride, grams: (target*v - l.have.cl) / chlorideOfSalt, before: l.have.cl / v, after: target, nh3: worst}
	l.have.cl = target * v
	l.have.ca += g.grams * doseOf[doseChloride].share
	d.put(g)
}

// chlorideOfSalt is the chloride of calcium chloride dihydrate, g/g; a test holds
// it against the table.
const chlorideOfSalt = 0.4823

// told makes the doses readable.
func (d *doser) told(r *run) []DoseGiven {
	var out []DoseGiven
	for _, g := range d.list {
		t := DoseGiven{Day: r.s.Opening.Date.Plus(g.day), What: doseOf[g.what].what, Grams: g.grams, Held: g.held}
		switch g.what {
		case doseKHCO3, doseLime:
			t.PHBefore, t.PHAfter = g.before, g.after
			t.Why = fmt.Sprintf("pH %.2f and alkalinity %.0f mg/L as CaCO3: raise in parts; at once the pH goes to %.2f", g.before, g.alk*water.CaCO3PerEq, g.after)
			if g.held {
				t.Why += fmt.Sprintf("; held back: un-ionised ammonia would come to %.3f g N/m³. Stop feeding, find the cause, then dose", g.nh3)
			}
		case doseIron, doseIronHigh:
			t.Why = fmt.Sprintf("each three weeks, or when it runs low: iron from %.1f to %.1f g/m³; plants yellow between the veins without it; test first", g.before, g.after)
		case doseChange:
			t.Grams, t.WaterM3 = 0, g.grams
			t.Why = fmt.Sprintf("nitrate %.0f g N/m³, and the fish bear %.0f for long: change this much water, of the tank's warmth and free of chlorine", g.alk, g.least)
			if g.held {
				t.Why += fmt.Sprintf("; held back: un-ionised ammonia would come to %.3f g N/m³", g.nh3)
			}
		case doseChloride:
			t.Why = fmt.Sprintf("nitrite %.2f g N/m³: chloride from %.0f to %.0f g/m³; feed nothing until it falls", g.nh3, g.before, g.after)
		default:
			t.Why = fmt.Sprintf("plants find %.0f g/m³ of %s: to %.0f", g.before, map[int]string{doseK2SO4: "potassium", doseGypsum: "calcium", doseEpsom: "magnesium"}[g.what], g.after)
		}
		out = append(out, t)
	}
	return out
}
