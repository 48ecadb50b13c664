package cells

import (
	"fmt"
	"math"

	"tidebed/numeric/ode"
	"tidebed/quantity"
	"tidebed/science/water"
)

// Reading is the water of a cell.
type Reading struct {
	DOGm3     float64
	DICMolM3  float64
	TANGm3    float64
	NO2NGm3   float64
	NO3NGm3   float64 // of the loop
	AlkEqM3   float64
	PH        float64
	CO2Gm3    float64
	NH3NGm3   float64 // un-ionised, at zero ionic strength to be on the safe side
	BacteriaA float64 // ammonia oxidisers, g COD; 0 where there is no media
	BacteriaN float64 // nitrite oxidisers
}

// Totals are the flows of a loop since Start; nitrogen and oxygen in g, carbon
// in mol.
type Totals struct {
	PlantTANG    float64 // taken up by plants as ammonium
	PlantNO3G    float64 // as nitrate
	NitritatedG  float64 // ammonium oxidised
	NitratatedG  float64 // nitrite oxidised
	GasG         float64 // nitrogen denitrified
	FormedNG     float64 // nitrogen taken into bacteria
	SurfaceOG    float64 // oxygen through surfaces, net
	AirOG        float64 // by stones, net
	FallOG       float64 // by falls, net
	BreathOG     float64 // breathed by fish
	DecayOG      float64 // used by decay and roots
	NitrifyOG    float64 // used by nitrifiers
	StrippedCMol float64 // carbon dioxide given off to the air, net
	FixedCMol    float64 // carbon taken into nitrifiers
}

const totals = 14

// Settings are how exactly to work.
type Settings struct {
	// RelTol is the relative tolerance of all states, 1e-12 to 1e-3; 0 stands for
	// UsualRelTol. Absolute ones go with it (see AbsGm3).
	RelTol float64
}

// UsualRelTol is the relative tolerance when none is given.
const UsualRelTol = 1e-6

// Absolute tolerances per relative tolerance: contents below them are noise. At
// the usual 1e-6, 0.0001 g/m³ of oxygen, ammonia, nitrite and nitrate.
const (
	AbsGm3  = 100.0 // g/m³
	absMol  = 10.0  // dissolved carbon, mol/m³
	absGCOD = 1e-3  // bacteria, far below the least seed
)

// Water is the water of a loop under way. It is not safe for use by several
// goroutines at once.
type Water struct {
	l      Layout
	f      *Forcing
	solver *ode.Solver
	n      int // states
	beds   []int
	bedOf  [MostCells]int // index in beds, -1 for none
	paces  [MostCells][2]water.Pace
	eq     [MostCells]water.Equilibria
	strip  [MostCells]float64 // CO2 transfer per day
	caps   [MostCells][2]float64
	at     [MostCells]water.Settled
	alk    [MostCells]float64
	rates  [MostCells][2]water.Rate
	state  []float64
	seen   []float64 // states that look saw
	looked bool
	watch  []Watch

	known        [MostCells]knownWater
	net, through [MostCells]float64
}

// knownWater are the temperature and ions for which a cell's constants hold.
type knownWater struct {
	tempC, ionic float64
	ok           bool
}

// Offsets of a cell's states.
const (
	oDO = iota
	oDIC
	oTAN
	oNO2
	perCell
)

// New returns the water of a loop. Errors say which cell or flow cannot serve.
// watches are told of by Passed; they cost time at each step.
func New(l Layout, s Settings, watches ...Watch) (*Water, error) {
	if err := l.check(); err != nil {
		return nil, fmt.Errorf("water cells: %w", err)
	}
	if s.RelTol == 0 {
		s.RelTol = UsualRelTol
	}
	if err := quantity.InRange("relative tolerance", s.RelTol, 1e-12, 1e-3, ""); err != nil {
		return nil, fmt.Errorf("water cells: %w", err)
	}
	if l.Nitrifiers[0].Name == "" {
		l.Nitrifiers = [2]water.Nitrifier{water.AmmoniaOxidisers(), water.NitriteOxidisers()}
	}
	for _, k := range watches {
		if k.Cell < 0 || k.Cell >= len(l.Cells) || k.What < WatchDO || k.What > WatchNO2N {
			return nil, fmt.Errorf("water cells: loop %s: a watch of quantity %d in cell %d: only oxygen, ammonia and nitrite of its cells can be watched", l.Name, k.What, k.Cell)
		}
	}
	w := &Water{l: l, watch: watches}
	names := []string{}
	abs := []float64{}
	for i := range l.Cells {
		w.bedOf[i] = -1
		for o, what := range [perCell]string{"oxygen", "carbon", "ammonia", "nitrite"} {
			names = append(names, what+" of "+l.Cells[i].Name)
			tol := AbsGm3 * s.RelTol
			if o == oDIC {
				tol = absMol * s.RelTol
			}
			abs = append(abs, tol)
		}
	}
	for i := range l.Cells {
		if l.Cells[i].MediaM2 > 0 {
			w.bedOf[i] = len(w.beds)
			w.beds = append(w.beds, i)
			names = append(names, "ammonia oxidisers of "+l.Cells[i].Name, "nitrite oxidisers of "+l.Cells[i].Name)
			abs = append(abs, absGCOD*s.RelTol, absGCOD*s.RelTol)
		}
	}
	names, abs = append(names, "nitrate"), append(abs, AbsGm3*s.RelTol)
	w.n = len(names)
	w.state, w.seen = make([]float64, w.n), make([]float64, w.n)
	p := ode.Problem{
		N: w.n, Names: names, F: w.rate, Jac: w.jacobian, Autonomous: true,
		NQ: totals, Quad: w.flows, QuadJac: w.flowsJacobian,
	}
	for k := range watches {
		p.Events = append(p.Events, ode.Event{
			Name: "watch", Direction: watches[k].direction(), Stop: true,
			Root: func(t float64, y []float64) float64 { return w.watched(&watches[k], y) },
		})
	}
	var err error
	if w.solver, err = ode.New(p, ode.Settings{RelTol: s.RelTol, AbsTol: abs}); err != nil {
		return nil, fmt.Errorf("water cells: %w", err)
	}
	return w, nil
}

// Cells returns the cells of the layout; they are to be read only.
func (w *Water) Cells() []Cell { return w.l.Cells }

// Start sets the contents of all cells, nitrate from the first, at time 0 in days.
// PH, CO2Gm3 and NH3NGm3 are not looked at: DICMolM3 counts.
func (w *Water) Start(cells []Reading) error {
	if len(cells) != len(w.l.Cells) {
		return fmt.Errorf("water cells: %d readings for %d cells", len(cells), len(w.l.Cells))
	}
	y := w.state
	for i := range cells {
		c := &cells[i]
		y[perCell*i+oDO], y[perCell*i+oDIC], y[perCell*i+oTAN], y[perCell*i+oNO2] = c.DOGm3, c.DICMolM3, c.TANGm3, c.NO2NGm3
		if b := w.bedOf[i]; b >= 0 {
			y[w.bacteria(b)], y[w.bacteria(b)+1] = c.BacteriaA, c.BacteriaN
		}
	}
	y[w.n-1] = cells[0].NO3NGm3
	if err := w.solver.Start(0, y); err != nil {
		return fmt.Errorf("water cells: %w", err)
	}
	return nil
}

// bacteria is the place of a bed's first group.
func (w *Water) bacteria(bed int) int { return perCell*len(w.l.Cells) + 2*bed }

// Force makes f act from now on. f belongs to the caller, who may change it and
// call Force again. Errors: what is out of range, or water that would pile up.
func (w *Water) Force(f *Forcing) error {
	if err := w.checkForcing(f); err != nil {
		return err
	}
	w.f, w.looked = f, false
	w.solver.Jumped()
	for i := range f.Cells {
		c := &f.Cells[i]
		if k := (knownWater{c.TempC, f.Slow.IonicMolL, true}); w.known[i] != k {
			var err error
			if w.eq[i], err = water.NewEquilibria(c.TempC, f.Slow.IonicMolL); err != nil {
				return fmt.Errorf("loop %s, %s: %w", w.l.Name, w.l.Cells[i].Name, err)
			}
			w.known[i] = k
			if w.bedOf[i] >= 0 {
				for g := range 2 {
					w.paces[i][g] = w.l.Nitrifiers[g].At(c.TempC)
				}
			}
		}
		w.strip[i] = w.eq[i].AiredCO2PerDay(c.SurfacePerDay, math.Inf(1)) + w.eq[i].AiredCO2PerDay(c.AirPerDay, c.AirVolumesPerDay)
		if w.bedOf[i] >= 0 {
			most, share := w.l.Cells[i].MostGM2Day, c.MediaShare
			if most == 0 {
				most = UsualGM2Day
			}
			if share == 0 {
				share = 1
			}
			for g := range 2 {
				n := &w.l.Nitrifiers[g]
				w.caps[i][g] = most * w.l.Cells[i].MediaM2 * share * n.YieldGCODGN / n.Growth20PerDay
			}
		}
	}
	return nil
}

// Advance carries the water on to a time in days since Start, under the last
// Force. It returns the number of the watch that was passed, -1 for none; the
// time is then that of the passage (see Time).
func (w *Water) Advance(untilDay float64) (watch int, err error) {
	if w.f == nil {
		return -1, fmt.Errorf("water cells: loop %s: nothing acts on it yet: call Force", w.l.Name)
	}
	out, err := w.solver.Advance(untilDay)
	if err != nil {
		return -1, fmt.Errorf("loop %s: water: %w", w.l.Name, err)
	}
	if out.Reason == ode.AtEvent {
		return out.Event, nil
	}
	return -1, nil
}

// Time is the days since Start.
func (w *Water) Time() float64 { t, _ := w.solver.State(); return t }

// Stats is the work done since Start.
func (w *Water) Stats() ode.Stats { return w.solver.Stats() }

// Read returns the water of a cell now. It needs a Force before.
func (w *Water) Read(cell int) Reading {
	_, y := w.solver.State()
	return w.read(cell, y)
}

func (w *Water) read(i int, y []float64) Reading {
	at := w.at[i]
	w.settle(i, y, &at)
	r := Reading{
		DOGm3: y[perCell*i+oDO], DICMolM3: y[perCell*i+oDIC], TANGm3: y[perCell*i+oTAN], NO2NGm3: y[perCell*i+oNO2], NO3NGm3: y[w.n-1],
		AlkEqM3: w.alkalinity(i, y), PH: at.PH, CO2Gm3: at.CO2MolM3 * water.MolarCO2,
	}
	// Without activities the share is a little larger: alarms go by it.
	free := at.NH3Share / (at.NH3Share + w.eq[i].Gamma1*(1-at.NH3Share))
	r.NH3NGm3 = free * r.TANGm3
	if b := w.bedOf[i]; b >= 0 {
		r.BacteriaA, r.BacteriaN = y[w.bacteria(b)], y[w.bacteria(b)+1]
	}
	return r
}

// Dose adds contents to one cell at once: oxygen, ammonia and nitrite in g,
// carbon in mol. What acts on strong ions is the caller's Slow.
func (w *Water) Dose(cell int, doG, dicMol, tanG, no2nG float64) error {
	_, y := w.solver.State()
	copy(w.state, y)
	v := w.l.Cells[cell].VolumeM3
	w.state[perCell*cell+oDO] += doG / v
	w.state[perCell*cell+oDIC] += dicMol / v
	w.state[perCell*cell+oTAN] += tanG / v
	w.state[perCell*cell+oNO2] += no2nG / v
	if err := w.solver.Set(w.state); err != nil {
		return fmt.Errorf("loop %s, %s: dose: %w", w.l.Name, w.l.Cells[cell].Name, err)
	}
	return nil
}

// AddNitrate adds nitrate to the loop at once, g N.
func (w *Water) AddNitrate(g float64) error {
	_, y := w.solver.State()
	copy(w.state, y)
	w.state[w.n-1] += g / w.VolumeM3()
	if err := w.solver.Set(w.state); err != nil {
		return fmt.Errorf("loop %s: nitrate: %w", w.l.Name, err)
	}
	return nil
}

// Exchange replaces a share (0 to 1) of all water by water of the given
// contents (DOGm3, DICMolM3, TANGm3, NO2NGm3, NO3NGm3). It returns the nitrogen,
// g, and the carbon, mol, that the loop gained by it.
func (w *Water) Exchange(share float64, in Reading) (nG, cMol float64, err error) {
	if !(share >= 0 && share <= 1) {
		return 0, 0, fmt.Errorf("loop %s: a share of %g of the water cannot be changed", w.l.Name, share)
	}
	_, y := w.solver.State()
	copy(w.state, y)
	for i := range w.l.Cells {
		v := w.l.Cells[i].VolumeM3
		for o, c := range [perCell]float64{in.DOGm3, in.DICMolM3, in.TANGm3, in.NO2NGm3} {
			d := share * (c - y[perCell*i+o])
			w.state[perCell*i+o] += d
			switch o {
			case oDIC:
				cMol += d * v
			case oTAN, oNO2:
				nG += d * v
			}
		}
	}
	d := share * (in.NO3NGm3 - y[w.n-1])
	w.state[w.n-1] += d
	nG += d * w.VolumeM3()
	if err := w.solver.Set(w.state); err != nil {
		return 0, 0, fmt.Errorf("loop %s: change of water: %w", w.l.Name, err)
	}
	return nG, cMol, nil
}

// VolumeM3 is the water of all cells.
func (w *Water) VolumeM3() float64 {
	v := 0.0
	for i := range w.l.Cells {
		v += w.l.Cells[i].VolumeM3
	}
	return v
}

// Content returns all nitrogen in the water, in g, that in the bacteria, and all
// dissolved oxygen, g, and carbon, mol.
func (w *Water) Content() (waterNG, bacteriaNG, oxygenG, carbonMol float64) {
	_, y := w.solver.State()
	for i := range w.l.Cells {
		v := w.l.Cells[i].VolumeM3
		waterNG += v * (y[perCell*i+oTAN] + y[perCell*i+oNO2])
		oxygenG += v * y[perCell*i+oDO]
		carbonMol += v * y[perCell*i+oDIC]
	}
	for b := range w.beds {
		bacteriaNG += water.NitrogenInBiomass * (y[w.bacteria(b)] + y[w.bacteria(b)+1])
	}
	return waterNG + w.VolumeM3()*y[w.n-1], bacteriaNG, oxygenG, carbonMol
}

// Totals returns the flows since Start.
func (w *Water) Totals() Totals {
	q := w.solver.Quadratures()
	return Totals{
		PlantTANG: q[qPlantTAN], PlantNO3G: q[qPlantNO3], NitritatedG: q[qNitritated], NitratatedG: q[qNitratated], GasG: q[qGas], FormedNG: q[qFormed],
		SurfaceOG: q[qSurface], AirOG: q[qAir], FallOG: q[qFall], BreathOG: q[qBreath], DecayOG: q[qDecay], NitrifyOG: q[qNitrify],
		StrippedCMol: q[qStripped], FixedCMol: q[qFixed],
	}
}

// What a Watch looks at.
const (
	WatchDO   Quantity = iota // oxygen, g/m³
	WatchTAN                  // total ammonia nitrogen, g/m³
	WatchNO2N                 // nitrite nitrogen, g/m³
	WatchNH3N                 // un-ionised ammonia nitrogen, g/m³: New refuses it, read it instead
)

// Quantity is what a Watch looks at: a state, never what is solved from states
// (pH, un-ionised ammonia), whose last digits would let the search for the passage
// find no end.
type Quantity int

// Watch stops an Advance when a cell's water passes a limit.
type Watch struct {
	Cell    int
	What    Quantity
	Limit   float64
	Falling bool // told when it falls through the limit, otherwise when it rises
}

func (k *Watch) direction() int {
	if k.Falling {
		return -1
	}
	return 1
}

func (w *Water) watched(k *Watch, y []float64) float64 {
	switch k.What {
	case WatchDO:
		return y[perCell*k.Cell+oDO] - k.Limit
	case WatchTAN:
		return y[perCell*k.Cell+oTAN] - k.Limit
	case WatchNO2N:
		return y[perCell*k.Cell+oNO2] - k.Limit
	}
	return math.NaN() // ode refuses it
}
