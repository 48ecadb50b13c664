package cells

import (
	"slices"

	"tidebed/science/water"
)

// Places of the totals.
const (
	qPlantTAN = iota
	qPlantNO3
	qNitritated
	qNitratated
	qGas
	qFormed
	qSurface
	qAir
	qFall
	qBreath
	qDecay
	qNitrify
	qStripped
	qFixed
)

const (
	// breathHalfGm3 is the oxygen at which breathing has fallen to a half; with
	// the square below, at 3 g/m³ it is 99 %. Common practice, no source.
	breathHalfGm3 = 0.3
	// decayHalfGm3 is the same for bacteria on solids: Monod. [hiatt-grady-2008]
	// has 0.1 to 0.2.
	decayHalfGm3 = 0.2
	// uptakeHalfGm3 keeps plants from taking what is not there. How hunger slows
	// them is package crop's.
	uptakeHalfGm3 = 0.1
	// breathMolG is the carbon dioxide given off per oxygen breathed, mol/g.
	breathMolG = water.CO2PerO2 / water.MolarCO2
	// carbonOfBacteriaMolG is the carbon of a g COD of bacteria (C5H7O2N), mol/g.
	carbonOfBacteriaMolG = 5.0 / 160
)

// breath is the share of breathing that goes on at an oxygen content, with its
// slope.
func breath(do float64) (share, slope float64) {
	if do <= 0 {
		return 0, 0
	}
	const k2 = breathHalfGm3 * breathHalfGm3
	d := 1 / (do*do + k2)
	return do * do * d, 2 * do * k2 * d * d
}

// half is x/(k+x) with its slope; below 0 it goes on straight.
func half(x, k float64) (share, slope float64) {
	if x < 0 {
		return x / k, 1 / k
	}
	d := 1 / (k + x)
	return x * d, k * d * d
}

// alkalinity is that of a cell, eq/m³.
func (w *Water) alkalinity(i int, y []float64) float64 {
	return w.f.Slow.BaseEqM3 + (y[perCell*i+oTAN]-y[perCell*i+oNO2]-y[w.n-1])/water.MolarN
}

// settle solves a cell's pH, starting from the one in at.
func (w *Water) settle(i int, y []float64, at *water.Settled) {
	s := water.Solutes{
		AlkEqM3: w.alkalinity(i, y), DICMolM3: y[perCell*i+oDIC], TANMolM3: y[perCell*i+oTAN] / water.MolarN, PMolM3: w.f.Slow.PGm3 / water.MolarP,
	}
	w.eq[i].Settle(&s, at)
}

// look works out pH and nitrification of all cells; what it found stays for
// the next call with the same states.
func (w *Water) look(y []float64) {
	if w.looked && slices.Equal(y, w.seen) {
		return
	}
	copy(w.seen, y)
	w.looked = true
	for i := range w.l.Cells {
		w.settle(i, y, &w.at[i])
		w.alk[i] = w.alkalinity(i, y)
	}
	for b, i := range w.beds {
		at := &w.at[i]
		h := water.Habitat{
			PHFactor: water.PHFactor(at.PH), SubstrateGm3: y[perCell*i+oTAN], DOGm3: y[perCell*i+oDO], AlkEqM3: w.alk[i],
			NH3NGm3: at.NH3Share * y[perCell*i+oTAN],
		}
		w.rates[i][0] = w.paces[i][0].Rate(y[w.bacteria(b)], &h)
		h.SubstrateGm3 = y[perCell*i+oNO2]
		w.rates[i][1] = w.paces[i][1].Rate(y[w.bacteria(b)+1], &h)
	}
}

// uptake is what plants take of ammonium and nitrate, shares of what they want.
func uptake(tan, no3 float64) (ofTAN, ofNO3, k float64) {
	k = 1 / (max(0, tan) + max(0, no3) + uptakeHalfGm3)
	return tan * k, no3 * k, k
}

// rate is the right-hand side; per day.
func (w *Water) rate(_ float64, y, dy []float64) error {
	w.look(y)
	f := w.f
	no3 := y[w.n-1]
	loopV := 0.0
	dNO3 := 0.0
	for i := range w.l.Cells {
		c, v := &f.Cells[i], w.l.Cells[i].VolumeM3
		loopV += v
		s := y[perCell*i : perCell*i+perCell]
		d := dy[perCell*i : perCell*i+perCell]
		share, _ := breath(s[oDO])
		decay, _ := half(s[oDO], decayHalfGm3)
		used := (c.BreathGDay*share + c.DecayGDay*decay) / v
		d[oDO] = c.SurfacePerDay*(c.DOSatGm3-s[oDO]) + c.AirPerDay*(beta(c)*c.DOSatGm3-s[oDO]) - used
		d[oDIC] = breathMolG*used - w.strip[i]*(w.at[i].CO2MolM3-c.CO2SatMolM3)
		d[oTAN] = c.TANGDay / v
		d[oNO2] = 0
		if c.WantedNGDay > 0 {
			ofTAN, ofNO3, _ := uptake(s[oTAN], no3)
			d[oTAN] -= c.WantedNGDay * ofTAN / v
			dNO3 -= c.WantedNGDay * ofNO3
		}
	}
	for k := range w.l.Flows {
		q := f.Flows[k].M3Day
		if q == 0 {
			continue
		}
		from, to := w.l.Flows[k].From, w.l.Flows[k].To
		out, in := q/w.l.Cells[from].VolumeM3, q/w.l.Cells[to].VolumeM3
		for o := range perCell {
			c := y[perCell*from+o]
			dy[perCell*from+o] -= out * c
			dy[perCell*to+o] += in * c
		}
		dy[perCell*to+oDO] += in * f.Flows[k].OxygenShare * (f.Cells[to].DOSatGm3 - y[perCell*from+oDO])
		dy[perCell*to+oDIC] -= in * f.Flows[k].CO2Share * (w.at[from].CO2MolM3 - f.Cells[to].CO2SatMolM3)
	}
	for b, i := range w.beds {
		v := w.l.Cells[i].VolumeM3
		d := dy[perCell*i : perCell*i+perCell]
		p, r := &w.paces[i], &w.rates[i]
		qa, qn := r[0].NGDay, r[1].NGDay
		d[oTAN] -= (qa*(1+p[0].BiomassNGGN) + qn*p[1].BiomassNGGN) / v
		d[oNO2] += (qa - qn) / v
		d[oDO] -= (r[0].OxygenGDay + r[1].OxygenGDay) / v
		d[oDIC] -= carbonOfBacteriaMolG * (p[0].BiomassGCOD*qa + p[1].BiomassGCOD*qn) / v
		dNO3 += (1 - w.l.Cells[i].DenitrifiedShare) * qn
		x := w.bacteria(b)
		for g := range 2 {
			grown, _, _ := water.Spread(y[x+g], r[g].NetPerDay, w.caps[i][g])
			dy[x+g] = grown + w.l.Cells[i].ReseedGCODDay
		}
	}
	dy[w.n-1] = dNO3 / loopV
	return nil
}

func beta(c *CellForcing) float64 {
	if c.AirBeta == 0 {
		return UsualBeta
	}
	return c.AirBeta
}

// slopes of one quantity of a cell: by its four contents and by nitrate.
type slopes [perCell + 1]float64

// phSlopes is the change of the cell's pH by its contents.
func (w *Water) phSlopes(i int) slopes {
	at := &w.at[i]
	return slopes{
		0, at.PerDIC,
		(at.PerTAN + at.PerAlk) / water.MolarN,
		-at.PerAlk / water.MolarN,
		-at.PerAlk / water.MolarN,
	}
}

// co2Slopes is the change of the cell's carbon dioxide.
func (w *Water) co2Slopes(i int, ph *slopes) slopes {
	at := &w.at[i]
	var s slopes
	for k := range s {
		s[k] = at.CO2PerPH * ph[k]
	}
	s[oDIC] += at.CO2PerDIC
	return s
}

// oxidation is the change of a group's rate by the cell's contents.
func (w *Water) oxidation(i, group int, y []float64, ph *slopes) (rate slopes) {
	r, at := &w.rates[i][group], &w.at[i]
	tan := y[perCell*i+oTAN]
	slopePH := r.PerPHFactor*water.PHFactorSlope(at.PH) + r.PerFreeAmmonia*at.NH3PerPH*tan
	for k := range rate {
		rate[k] = slopePH * ph[k]
	}
	rate[oDO] += r.PerDO
	rate[oTAN] += r.PerFreeAmmonia * at.NH3Share
	rate[oTAN] += r.PerAlkalinity / water.MolarN
	rate[oNO2] -= r.PerAlkalinity / water.MolarN
	rate[perCell] -= r.PerAlkalinity / water.MolarN
	rate[oTAN+group] += r.PerSubstrate
	return rate
}

// jacobian fills ∂dy/∂y.
func (w *Water) jacobian(_ float64, y, jac []float64) error {
	w.look(y)
	f, n := w.f, w.n
	no3 := y[n-1]
	loopV := 0.0
	for i := range w.l.Cells {
		loopV += w.l.Cells[i].VolumeM3
	}
	add := func(row, cell int, s *slopes, factor float64) {
		at := row * n
		for k := range perCell {
			jac[at+perCell*cell+k] += factor * s[k]
		}
		jac[at+n-1] += factor * s[perCell]
	}
	for i := range w.l.Cells {
		c, v := &f.Cells[i], w.l.Cells[i].VolumeM3
		s := y[perCell*i : perCell*i+perCell]
		row := perCell * i
		_, breathSlope := breath(s[oDO])
		_, decaySlope := half(s[oDO], decayHalfGm3)
		used := (c.BreathGDay*breathSlope + c.DecayGDay*decaySlope) / v
		jac[(row+oDO)*n+row+oDO] += -c.SurfacePerDay - c.AirPerDay - used
		jac[(row+oDIC)*n+row+oDO] += breathMolG * used
		ph := w.phSlopes(i)
		co2 := w.co2Slopes(i, &ph)
		add(row+oDIC, i, &co2, -w.strip[i])
		if c.WantedNGDay > 0 {
			tan, nitrate, byTAN, byNO3 := uptakeSlopes(s[oTAN], no3)
			jac[(row+oTAN)*n+row+oTAN] -= c.WantedNGDay * tan / v
			jac[(row+oTAN)*n+n-1] -= c.WantedNGDay * byNO3 / v
			jac[(n-1)*n+row+oTAN] -= c.WantedNGDay * byTAN / loopV
			jac[(n-1)*n+n-1] -= c.WantedNGDay * nitrate / loopV
		}
		for k := range w.l.Flows {
			if w.l.Flows[k].From != i || f.Flows[k].M3Day == 0 {
				continue
			}
			to := w.l.Flows[k].To
			out, in := f.Flows[k].M3Day/v, f.Flows[k].M3Day/w.l.Cells[to].VolumeM3
			for o := range perCell {
				jac[(row+o)*n+row+o] -= out
				jac[(perCell*to+o)*n+row+o] += in
			}
			jac[(perCell*to+oDO)*n+row+oDO] -= in * f.Flows[k].OxygenShare
			add(perCell*to+oDIC, i, &co2, -in*f.Flows[k].CO2Share)
		}
		b := w.bedOf[i]
		if b < 0 {
			continue
		}
		p, r := &w.paces[i], &w.rates[i]
		x := w.bacteria(b)
		for g := range 2 {
			rate := w.oxidation(i, g, y, &ph)
			sign, tan := 1.0, 1+p[0].BiomassNGGN
			if g == 1 {
				sign, tan = -1, p[1].BiomassNGGN
			}
			add(row+oTAN, i, &rate, -tan/v)
			add(row+oNO2, i, &rate, sign/v)
			add(row+oDO, i, &rate, -p[g].OxygenGGN/v)
			add(row+oDIC, i, &rate, -carbonOfBacteriaMolG*p[g].BiomassGCOD/v)
			by := r[g].PerBacteria
			jac[(row+oTAN)*n+x+g] -= tan * by / v
			jac[(row+oNO2)*n+x+g] += sign * by / v
			jac[(row+oDO)*n+x+g] -= p[g].OxygenGGN * by / v
			jac[(row+oDIC)*n+x+g] -= carbonOfBacteriaMolG * p[g].BiomassGCOD * by / v
			if g == 1 {
				kept := (1 - w.l.Cells[i].DenitrifiedShare) / loopV
				add(n-1, i, &rate, kept)
				jac[(n-1)*n+x+g] += kept * by
			}
			// Net growth is growth × rate per bacterium × yield, less decay.
			_, perBacteria, perNet := water.Spread(y[x+g], r[g].NetPerDay, w.caps[i][g])
			jac[(x+g)*n+x+g] += perBacteria
			if y[x+g] != 0 {
				add(x+g, i, &rate, perNet*p[g].BiomassGCOD/y[x+g])
			}
		}
	}
	return nil
}

// uptakeSlopes are ∂ofTAN/∂tan, ∂ofNO3/∂no3, ∂ofNO3/∂tan, ∂ofTAN/∂no3.
func uptakeSlopes(tan, no3 float64) (tanByTAN, no3ByNO3, no3ByTAN, tanByNO3 float64) {
	_, _, k := uptake(tan, no3)
	tanByTAN, no3ByNO3 = k, k
	if tan > 0 {
		tanByTAN -= tan * k * k
		no3ByTAN = -no3 * k * k
	}
	if no3 > 0 {
		no3ByNO3 -= no3 * k * k
		tanByNO3 = -tan * k * k
	}
	return tanByTAN, no3ByNO3, no3ByTAN, tanByNO3
}

// flows fills the ledgers' rates; look is that of rate, called just before.
func (w *Water) flows(_ float64, y, dq []float64) error {
	clear(dq)
	f := w.f
	for i := range w.l.Cells {
		c, v := &f.Cells[i], w.l.Cells[i].VolumeM3
		s := y[perCell*i : perCell*i+perCell]
		share, _ := breath(s[oDO])
		decay, _ := half(s[oDO], decayHalfGm3)
		dq[qBreath] += c.BreathGDay * share
		dq[qDecay] += c.DecayGDay * decay
		dq[qSurface] += v * c.SurfacePerDay * (c.DOSatGm3 - s[oDO])
		dq[qAir] += v * c.AirPerDay * (beta(c)*c.DOSatGm3 - s[oDO])
		dq[qStripped] += v * w.strip[i] * (w.at[i].CO2MolM3 - c.CO2SatMolM3)
		if c.WantedNGDay > 0 {
			ofTAN, ofNO3, _ := uptake(s[oTAN], y[w.n-1])
			dq[qPlantTAN] += c.WantedNGDay * ofTAN
			dq[qPlantNO3] += c.WantedNGDay * ofNO3
		}
	}
	for k := range w.l.Flows {
		from, to, q := w.l.Flows[k].From, w.l.Flows[k].To, f.Flows[k].M3Day
		dq[qFall] += q * f.Flows[k].OxygenShare * (f.Cells[to].DOSatGm3 - y[perCell*from+oDO])
		dq[qStripped] += q * f.Flows[k].CO2Share * (w.at[from].CO2MolM3 - f.Cells[to].CO2SatMolM3)
	}
	for _, i := range w.beds {
		p, r := &w.paces[i], &w.rates[i]
		dq[qNitritated] += r[0].NGDay
		dq[qNitratated] += r[1].NGDay
		dq[qGas] += w.l.Cells[i].DenitrifiedShare * r[1].NGDay
		for g := range 2 {
			dq[qFormed] += p[g].BiomassNGGN * r[g].NGDay
			dq[qNitrify] += r[g].OxygenGDay
			dq[qFixed] += carbonOfBacteriaMolG * p[g].BiomassGCOD * r[g].NGDay
		}
	}
	return nil
}

// flowsJacobian fills ∂dq/∂y; it follows jacobian at the same place.
func (w *Water) flowsJacobian(_ float64, y, jac []float64) error {
	w.look(y)
	f, n := w.f, w.n
	add := func(q, cell int, s *slopes, factor float64) {
		for k := range perCell {
			jac[q*n+perCell*cell+k] += factor * s[k]
		}
		jac[q*n+n-1] += factor * s[perCell]
	}
	for i := range w.l.Cells {
		c, v := &f.Cells[i], w.l.Cells[i].VolumeM3
		s := y[perCell*i : perCell*i+perCell]
		row := perCell * i
		_, breathSlope := breath(s[oDO])
		_, decaySlope := half(s[oDO], decayHalfGm3)
		jac[qBreath*n+row+oDO] += c.BreathGDay * breathSlope
		jac[qDecay*n+row+oDO] += c.DecayGDay * decaySlope
		jac[qSurface*n+row+oDO] -= v * c.SurfacePerDay
		jac[qAir*n+row+oDO] -= v * c.AirPerDay
		ph := w.phSlopes(i)
		co2 := w.co2Slopes(i, &ph)
		add(qStripped, i, &co2, v*w.strip[i])
		if c.WantedNGDay > 0 {
			tan, nitrate, byTAN, byNO3 := uptakeSlopes(s[oTAN], y[n-1])
			jac[qPlantTAN*n+row+oTAN] += c.WantedNGDay * tan
			jac[qPlantTAN*n+n-1] += c.WantedNGDay * byNO3
			jac[qPlantNO3*n+row+oTAN] += c.WantedNGDay * byTAN
			jac[qPlantNO3*n+n-1] += c.WantedNGDay * nitrate
		}
		for k := range w.l.Flows {
			if w.l.Flows[k].From == i {
				jac[qFall*n+row+oDO] -= f.Flows[k].M3Day * f.Flows[k].OxygenShare
				add(qStripped, i, &co2, f.Flows[k].M3Day*f.Flows[k].CO2Share)
			}
		}
		b := w.bedOf[i]
		if b < 0 {
			continue
		}
		p, r := &w.paces[i], &w.rates[i]
		x := w.bacteria(b)
		for g := range 2 {
			rate := w.oxidation(i, g, y, &ph)
			by := r[g].PerBacteria
			for _, t := range [...]struct {
				q      int
				factor float64
			}{{qNitritated + g, 1}, {qFormed, p[g].BiomassNGGN}, {qNitrify, p[g].OxygenGGN}, {qFixed, carbonOfBacteriaMolG * p[g].BiomassGCOD}} {
				add(t.q, i, &rate, t.factor)
				jac[t.q*n+x+g] += t.factor * by
			}
			if g == 1 {
				add(qGas, i, &rate, w.l.Cells[i].DenitrifiedShare)
				jac[qGas*n+x+g] += w.l.Cells[i].DenitrifiedShare * by
			}
		}
	}
	return nil
}
