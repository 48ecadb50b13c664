package ripen

import (
	"fmt"

	"tidebed/cells"
	"tidebed/plumbing"
	"tidebed/science/water"
)

// relTol is how exactly the water is carried on: far finer than any test kit.
const relTol = 1e-5

// basin is the loop's water from one decision to the next.
type basin struct {
	q      *setting
	w      *cells.Water
	f      *cells.Forcing
	tanks  []int
	slow   cells.Slow
	at     []cells.Reading
	cl     float64 // chloride, g/m³
	k, na  float64 // potassium and sodium brought by doses, g/m³
	totals cells.Totals
	fill   cells.Reading // the water filled in, as it is given again at a change
	fillEq float64       // charge of its strong ions
}

// newBasin fills the loop and seeds its media.
func newBasin(q *setting, seedFactor float64) (*basin, error) {
	w, err := cells.New(q.circuit.Layout, cells.Settings{RelTol: relTol})
	if err != nil {
		return nil, err
	}
	b := &basin{q: q, w: w, f: q.circuit.Layout.NewForcing(), at: make([]cells.Reading, len(q.circuit.Layout.Cells)), cl: q.source.ChlorideGm3}
	for i := range b.f.Cells {
		b.f.Cells[i].TempC = q.o.TempC
		if q.circuit.Places[i].Kind == plumbing.Tank {
			b.tanks = append(b.tanks, i)
		}
	}
	if len(b.tanks) == 0 {
		b.tanks = []int{q.circuit.Hub}
	}
	if err := q.circuit.Force(b.f, q.air, plumbing.Running{}); err != nil {
		return nil, err
	}
	if err := b.source(); err != nil {
		return nil, err
	}
	for i := range b.at {
		b.at[i] = b.fill
		b.at[i].DOGm3 = b.f.Cells[i].DOSatGm3
		share := seedFactor * q.circuit.Layout.Cells[i].MediaM2 / q.mediaM2
		b.at[i].BacteriaA, b.at[i].BacteriaN = q.seedG*share, q.seedNG*share
	}
	b.slow = cells.Slow{BaseEqM3: b.fillEq, PGm3: startPhosphorus, IonicMolL: ionicMolL}
	return b, b.run(1.0 / 24) // an hour's airing, which also makes the readings whole
}

// source is the water filled in: of the pH asked for, or aired.
func (b *basin) source() error {
	o := &b.q.o
	e, err := water.NewEquilibria(o.TempC, ionicMolL)
	if err != nil {
		return err
	}
	ph := o.PH
	if ph == 0 {
		if ph, err = e.PHAtCO2(water.Solutes{AlkEqM3: o.AlkEqM3, PMolM3: startPhosphorus / water.MolarP}, b.f.Cells[0].CO2SatMolM3, usualPH); err != nil {
			return err
		}
	}
	dic, base, err := cells.Balance(o.TempC, ionicMolL, ph, o.AlkEqM3, 0, 0, b.q.source.NitrateNGm3, startPhosphorus)
	if err != nil {
		return err
	}
	b.fill = cells.Reading{DOGm3: b.f.Cells[0].DOSatGm3, DICMolM3: dic, NO3NGm3: b.q.source.NitrateNGm3}
	b.fillEq = base
	return nil
}

// copy is another basin that goes on from here, with the same integrator.
func (b *basin) keep() basin {
	kept := *b
	kept.at = append([]cells.Reading(nil), b.at...)
	return kept
}

// restore goes back to where keep was called.
func (b *basin) restore(kept *basin) {
	at := b.at
	*b = *kept
	copy(at, kept.at)
	b.at = at
}

// begin hands the readings to the integrator.
func (b *basin) begin() error {
	b.f.Slow = b.slow
	if err := b.w.Force(b.f); err != nil {
		return err
	}
	return b.w.Start(b.at)
}

// end takes the readings back and adds up the flows.
func (b *basin) end() {
	for i := range b.at {
		b.at[i] = b.w.Read(i)
	}
	t, sum := b.w.Totals(), &b.totals
	sum.NitritatedG += t.NitritatedG
	sum.NitratatedG += t.NitratatedG
	sum.GasG += t.GasG
	sum.FormedNG += t.FormedNG
	sum.PlantTANG += t.PlantTANG
	sum.PlantNO3G += t.PlantNO3G
}

// run carries the water on under what acts on it now.
func (b *basin) run(days float64) error {
	if err := b.begin(); err != nil {
		return err
	}
	if _, err := b.w.Advance(days); err != nil {
		return fmt.Errorf("start-up: %w", err)
	}
	b.end()
	return nil
}

// tank is the worst tank of now: highest ammonia and nitrite, and the pH and
// alkalinity of the first.
func (b *basin) tank() cells.Reading {
	r := b.at[b.tanks[0]]
	for _, i := range b.tanks[1:] {
		r.TANGm3, r.NO2NGm3, r.NH3NGm3 = max(r.TANGm3, b.at[i].TANGm3), max(r.NO2NGm3, b.at[i].NO2NGm3), max(r.NH3NGm3, b.at[i].NH3NGm3)
		r.DOGm3 = min(r.DOGm3, b.at[i].DOGm3)
	}
	return r
}

// most are the highest ammonia and the highest sum of ammonia and nitrite of all
// cells.
func (b *basin) most() (tan, sum float64) {
	for i := range b.at {
		tan, sum = max(tan, b.at[i].TANGm3), max(sum, b.at[i].TANGm3+b.at[i].NO2NGm3)
	}
	return tan, sum
}

// ammonium stirs ammonium chloride in, g.
func (b *basin) ammonium(saltG float64) {
	n := saltG * nOfNH4Cl / b.q.volumeM3
	for i := range b.at {
		b.at[i].TANGm3 += n
	}
	b.slow.BaseEqM3 -= n / water.MolarN
	b.cl += saltG * clOfNH4Cl / b.q.volumeM3
}

// alkali stirs bicarbonate in, g.
func (b *basin) alkali(g float64) {
	mol := g / b.q.base.GMol / b.q.volumeM3
	for i := range b.at {
		b.at[i].DICMolM3 += mol
		b.at[i].AlkEqM3 += mol
	}
	b.slow.BaseEqM3 += mol
	if b.q.base.Element == "K" {
		b.k += g * b.q.base.ElementGG / b.q.volumeM3
	} else {
		b.na += g * b.q.base.ElementGG / b.q.volumeM3
	}
}

// change replaces a share of the water by water of the source. It returns the
// nitrogen that this takes out, g.
func (b *basin) change(share float64) (outNG float64) {
	before := b.nitrogenG()
	for i := range b.at {
		r := &b.at[i]
		r.DOGm3 += share * (b.fill.DOGm3 - r.DOGm3)
		r.DICMolM3 += share * (b.fill.DICMolM3 - r.DICMolM3)
		r.TANGm3 -= share * r.TANGm3
		r.NO2NGm3 -= share * r.NO2NGm3
		r.NO3NGm3 += share * (b.fill.NO3NGm3 - r.NO3NGm3)
	}
	b.slow.BaseEqM3 += share * (b.fillEq - b.slow.BaseEqM3)
	b.cl += share * (b.q.source.ChlorideGm3 - b.cl)
	b.k, b.na = b.k*(1-share), b.na*(1-share)
	return before - b.nitrogenG()
}

// nitrogenG is the nitrogen dissolved in the whole loop.
func (b *basin) nitrogenG() (g float64) {
	for i := range b.at {
		g += (b.at[i].TANGm3 + b.at[i].NO2NGm3 + b.at[i].NO3NGm3) * b.q.circuit.Layout.Cells[i].VolumeM3
	}
	return g
}
