package cells

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/water"
)

// Cell is one well-mixed part of a loop.
type Cell struct {
	Name     string
	VolumeM3 float64 // of water, 1e-4 to 1e5
	MediaM2  float64 // wetted surface on which nitrifiers live, 0 for none
	// MostGM2Day is the most that the surface oxidises at 20 °C, g N/m²/d, 0.01
	// to 5; 0 stands for UsualGM2Day.
	MostGM2Day float64
	// DenitrifiedShare is the share of the nitrified nitrogen that leaves as gas,
	// 0 to 0.9.
	DenitrifiedShare float64
	// ReseedGCODDay are bacteria of each group that come in with air, water and
	// hands, g COD/d.
	ReseedGCODDay float64
}

// UsualGM2Day is the most that flood-and-drain gravel with solids oxidises at 20
// °C, g N/m²/d. Common practice, no source.
const UsualGM2Day = 0.6

// Flow is water that runs from one cell to another.
type Flow struct{ From, To int } // indices of Cells

// Layout is a loop's cells and flows. What happens in an hour is in Forcing.
type Layout struct {
	Name  string
	Cells []Cell
	Flows []Flow
	// Nitrifiers are the two groups, ammonia oxidisers first; zero stands for
	// those of package water.
	Nitrifiers [2]water.Nitrifier
}

// Limits of a layout.
const (
	MostCells = 24 // the matrices are dense
	mostFlows = 80
)

func (l *Layout) check() error {
	say := func(name string, v, lo, hi float64, unit string) error {
		return quantity.InRange(name, v, lo, hi, unit)
	}
	if n := len(l.Cells); n < 1 || n > MostCells {
		return fmt.Errorf("loop %s: %d cells of water: 1 to %d can be reckoned; put like beds together: %w", l.Name, n, MostCells, quantity.ErrRange)
	}
	if len(l.Flows) > mostFlows {
		return fmt.Errorf("loop %s: %d flows, at most %d: %w", l.Name, len(l.Flows), mostFlows, quantity.ErrRange)
	}
	for i := range l.Cells {
		c := &l.Cells[i]
		for _, b := range []struct {
			name      string
			v, lo, hi float64
			unit      string
		}{
			{"volume", c.VolumeM3, 1e-4, 1e5, "m³"}, {"media surface", c.MediaM2, 0, 1e7, "m²"},
			{"most nitrification", c.MostGM2Day, 0, 5, "g/m²/d"}, {"denitrified share", c.DenitrifiedShare, 0, 0.9, ""},
			{"bacteria coming in", c.ReseedGCODDay, 0, 1e3, "g COD/d"},
		} {
			if err := say(b.name, b.v, b.lo, b.hi, b.unit); err != nil {
				return fmt.Errorf("loop %s, %s: %w", l.Name, c.Name, err)
			}
		}
	}
	for _, f := range l.Flows {
		if f.From < 0 || f.To < 0 || f.From >= len(l.Cells) || f.To >= len(l.Cells) || f.From == f.To {
			return fmt.Errorf("loop %s: a flow from cell %d to cell %d of %d: %w", l.Name, f.From, f.To, len(l.Cells), quantity.ErrRange)
		}
	}
	return nil
}

// CellForcing is what acts on one cell; zero is a still, dark, empty cell without
// air. Rates are per day and stay for the length of one Advance.
type CellForcing struct {
	TempC         float64
	DOSatGm3      float64 // oxygen in equilibrium with the air; there is no default
	CO2SatMolM3   float64 // carbon dioxide in equilibrium with the air
	SurfacePerDay float64 // oxygen transfer through the surface
	AirPerDay     float64 // oxygen transfer of air stones
	AirBeta       float64 // saturation of this water against clean, for stones; 0 stands for UsualBeta
	// AirVolumesPerDay are the volumes of fresh air that the stones blow through
	// a volume of water; it bounds how much CO2 they take out.
	AirVolumesPerDay float64
	BreathGDay       float64 // oxygen the fish breathe while there is enough
	DecayGDay        float64 // oxygen that bacteria on solids and roots use
	TANGDay          float64 // total ammonia nitrogen excreted and set free
	WantedNGDay      float64 // nitrogen plants want, of ammonium and nitrate as they lie there
	// MediaShare is the share of the media's surface that is wet and working; it
	// also bounds the bacteria. 0 stands for all.
	MediaShare float64
}

// UsualBeta is the saturation of fish water against clean water. Common practice.
const UsualBeta = 0.98

// FlowForcing is what runs in a Flow.
type FlowForcing struct {
	M3Day float64
	// OxygenShare is the share of the oxygen's want that is made good on the way,
	// by a fall, 0 to 1; CO2Share the same of its carbon dioxide.
	OxygenShare, CO2Share float64
}

// Slow is what the loop shares and what changes slowly; the caller keeps it.
type Slow struct {
	BaseEqM3  float64 // charge of the strong ions without N (see the package)
	PGm3      float64 // phosphate as P
	IonicMolL float64 // ionic strength
}

// Forcing is what acts on a loop until the next Advance.
type Forcing struct {
	Cells []CellForcing // as Layout.Cells
	Flows []FlowForcing // as Layout.Flows
	Slow  Slow
}

// NewForcing returns room for a layout's forcing: all zero.
func (l *Layout) NewForcing() *Forcing {
	return &Forcing{Cells: make([]CellForcing, len(l.Cells)), Flows: make([]FlowForcing, len(l.Flows))}
}

// unbalanced is how far in- and outflow of a cell may differ, relative to the flow.
const unbalanced = 1e-6

func (w *Water) checkForcing(f *Forcing) error {
	if len(f.Cells) != len(w.l.Cells) || len(f.Flows) != len(w.l.Flows) {
		return fmt.Errorf("loop %s: forcing of %d cells and %d flows for %d and %d", w.l.Name, len(f.Cells), len(f.Flows), len(w.l.Cells), len(w.l.Flows))
	}
	net, through := &w.net, &w.through
	*net, *through = [MostCells]float64{}, [MostCells]float64{}
	for k := range f.Flows {
		q := f.Flows[k].M3Day
		if !(q >= 0 && q <= 1e7) || !(f.Flows[k].OxygenShare >= 0 && f.Flows[k].OxygenShare <= 1) || !(f.Flows[k].CO2Share >= 0 && f.Flows[k].CO2Share <= 1) {
			return fmt.Errorf("loop %s: flow %s to %s: %g m³/d with shares %g and %g: %w", w.l.Name, w.l.Cells[w.l.Flows[k].From].Name, w.l.Cells[w.l.Flows[k].To].Name,
				q, f.Flows[k].OxygenShare, f.Flows[k].CO2Share, quantity.ErrRange)
		}
		net[w.l.Flows[k].From] -= q
		net[w.l.Flows[k].To] += q
		through[w.l.Flows[k].From] += q
		through[w.l.Flows[k].To] += q
	}
	for i := range f.Cells {
		c := &f.Cells[i]
		if math.Abs(net[i]) > unbalanced*through[i] {
			return fmt.Errorf("loop %s: %s takes in %g m³/d more than runs out: its water would not stay: %w", w.l.Name, w.l.Cells[i].Name, net[i], quantity.ErrRange)
		}
		sum := c.DOSatGm3 + c.CO2SatMolM3 + c.SurfacePerDay + c.AirPerDay + c.AirBeta + c.AirVolumesPerDay + c.BreathGDay + c.DecayGDay + c.TANGDay + c.WantedNGDay + c.MediaShare
		least := min(c.DOSatGm3, c.CO2SatMolM3, c.SurfacePerDay, c.AirPerDay, c.AirBeta, c.AirVolumesPerDay, c.BreathGDay, c.DecayGDay, c.TANGDay, c.WantedNGDay, c.MediaShare)
		if !(c.TempC >= 0 && c.TempC <= 40) || math.IsNaN(sum) || math.IsInf(sum-c.AirVolumesPerDay, 0) || least < 0 {
			return fmt.Errorf("loop %s, %s: forcing out of range: water of 0 to 40 °C, rates from 0 up; given %+v: %w", w.l.Name, w.l.Cells[i].Name, *c, quantity.ErrRange)
		}
	}
	if s := f.Slow; !(math.Abs(s.BaseEqM3) <= 1e3) || !(s.PGm3 >= 0 && s.PGm3 <= 2000) || !(s.IonicMolL >= 0 && s.IonicMolL <= 0.5) {
		return fmt.Errorf("loop %s: slow ions out of range: %+v: %w", w.l.Name, s, quantity.ErrRange)
	}
	return nil
}
