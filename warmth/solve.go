package warmth

import (
	"errors"
	"fmt"
	"math"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/science/air"
	"tidebed/science/fabric"
)

// waterJm3K is the heat of water, J/m³K.
const waterJm3K = 4.186e6

// conduct books a conductance between two nodes.
func (w *work) conduct(n, i, j int, wk float64) {
	w.a[i*n+i] += wk
	w.a[j*n+j] += wk
	w.a[i*n+j] -= wk
	w.a[j*n+i] -= wk
}

// lose books a conductance from a node to a temperature that is given.
func (w *work) lose(n, i int, wk, toC float64) {
	w.a[i*n+i] += wk
	w.b[i] += wk * toC
}

// assemble makes the equations of the implicit step without heaters and vents.
func (b *Building) assemble(h int, now *climate.Hour) {
	w, n := &b.work, b.n
	clear(w.a)
	clear(w.b)
	for i := range b.Zones {
		z, at := &b.Zones[i], 2*i
		w.a[at*n+at] += z.airJK / stepS
		w.b[at] += z.airJK/stepS*w.old[at] + w.gain[at]
		w.a[(at+1)*n+at+1] += z.floorJK / stepS
		w.b[at+1] += z.floorJK / stepS * w.old[at+1]
		w.conduct(n, at, at+1, z.floorWK)
		w.lose(n, at+1, z.groundWK, b.options.GroundC)
		w.lose(n, at, w.lossWK[i]+w.leakWK[i]+z.edgeWK, now.TempC)
		for _, t := range z.beyond {
			w.conduct(n, at, 2*t.zone, t.wk)
		}
		w.b[at] += w.sunW[i] + w.lampsW[i] + z.motorsW + w.dryW[i] + z.people(h) - w.skyLoss[i] - w.leafW[i] + w.dewW[i]
	}
	for k := range b.wets {
		c := &b.wets[k]
		w.a[c.node*n+c.node] += c.heatJK / stepS
		w.b[c.node] += c.heatJK/stepS*w.old[c.node] + c.pumpW - w.wetW[c.node]
		w.conduct(n, c.node, 2*c.zone, c.airWK)
		w.conduct(n, c.node, 2*c.zone+1, c.floorWK)
	}
	for k, first := range b.first {
		if first < 0 {
			continue
		}
		c := b.circuits[k]
		// What evaporates is topped up at the main water, cold.
		kgS := 0.0
		for i := range c.Places {
			kgS += math.Max(0, w.wetKgS[b.wets[first+i].node])
		}
		hub := b.wets[first+c.Hub].node
		w.lose(n, hub, kgS*waterJm3K/1000, b.topUpC[k])
		for f, flow := range c.Layout.Flows {
			from, to := b.wets[first+flow.From].node, b.wets[first+flow.To].node
			wk := waterJm3K * c.FlowM3Day(f) / 86400
			w.a[to*n+to] += wk // what comes in warms or cools it; what goes out does not
			w.a[to*n+from] -= wk
		}
	}
}

// solve finds the temperatures at the hour's end with heaters and vents at work.
// Nodes that a heater holds are fixed at their set points; a heater whose power
// does not reach gives all it has; a vent that cannot hold its zone stands wide
// open. States are tried until they agree, from those of the hour before.
func (b *Building) solve(h int, now *climate.Hour, dark bool) error {
	w, n := &b.work, b.n
	w.hour = h
	b.assemble(h, now)
	clear(w.capped)
	clear(w.ventWK)
	clear(w.need)
	for i := range b.Zones {
		if _, w.bandC[i] = b.Zones[i].ventSpan(); b.Zones[i].bandK > 0 && b.vented[i] == holding && now.TempC >= w.bandC[i] {
			b.vented[i] = shut
		}
	}
	for range 4*n + 8 + newtonSteps*len(b.Zones) {
		copy(w.lu, w.a)
		copy(w.x, w.b)
		for i := range n {
			switch {
			case w.capped[i]:
				w.x[i] += b.heaterW(i)
			case b.held[i]:
				b.fix(i, b.setC(i, dark))
			}
		}
		for i := range b.Zones {
			switch b.vented[i] {
			case holding:
				if b.Zones[i].bandK > 0 {
					heatW, wk := b.banded(i, now.TempC)
					w.lu[2*i*n+2*i] += wk
					w.x[2*i] += wk*w.bandC[i] - heatW
					continue
				}
				b.fix(2*i, b.Zones[i].ventC)
			case cooled:
				_, toC := b.Zones[i].ventSpan()
				b.fix(2*i, toC)
			case wide, soaked:
				wk := air.VolumeHeatJm3K * b.Zones[i].ventM3s
				inC := now.TempC
				if b.vented[i] == soaked {
					inC = b.pad[i].airC
				}
				w.lu[2*i*n+2*i] += wk
				w.x[2*i] += wk * inC
			}
		}
		eliminate(w.lu, w.x, n)
		if b.agree(now, dark) {
			copy(b.tempC, w.x)
			return nil
		}
	}
	return fmt.Errorf("%w: look at set points, vents and heaters that work against each other", ErrUnsettled)
}

// banded is the heat that vents take which go from shut to wide over their band, at
// the temperature at which they are looked at, and how it grows with it, W/K. The
// flow grows with the temperature and takes more from warmer air, so that the heat
// goes by the square: it is found in a few straight steps.
func (b *Building) banded(i int, outC float64) (heatW, wk float64) {
	z, t := &b.Zones[i], b.work.bandC[i]
	perK := air.VolumeHeatJm3K * z.ventM3s / z.bandK
	return perK * (t - z.ventC) * (t - outC), perK * (2*t - z.ventC - outC)
}

// newtonSteps are the most such steps of a zone.
const newtonSteps = 24

// ErrUnsettled says that heaters and vents found no state that fits an hour.
var ErrUnsettled = errors.New("heaters and vents do not settle")

// fix makes a node's equation say its temperature.
func (b *Building) fix(i int, tempC float64) {
	w, n := &b.work, b.n
	row := w.lu[i*n : i*n+n]
	clear(row)
	row[i], w.x[i] = 1, tempC
}

// setC is the set point of a node; NaN for none.
func (b *Building) setC(i int, dark bool) float64 {
	if i < 2*len(b.Zones) {
		z := &b.Zones[i/2]
		if i%2 == 1 {
			return math.NaN()
		}
		if dark {
			lit := 0.0 // area under lamps
			for k := range z.lamps {
				if z.lamps[k].share(b.work.hour) > 0.5 {
					lit += z.lamps[k].areaM2
				}
			}
			if lit < dayLit*z.In.FloorM2 {
				return z.In.NightC
			}
		}
		return z.In.DayC
	}
	w := &b.wets[i-2*len(b.Zones)]
	if w.setC == 0 || w.heaterW == 0 {
		return math.NaN()
	}
	return w.setC
}

// heaterW is the power of the heaters of a node.
func (b *Building) heaterW(i int) float64 {
	if i < 2*len(b.Zones) {
		if i%2 == 1 {
			return 0
		}
		return b.Zones[i/2].HeaterW
	}
	return b.wets[i-2*len(b.Zones)].heaterW
}

// missing is the heat that a node's equation lacks at the solution, W.
func (b *Building) missing(i int) float64 {
	w, n := &b.work, b.n
	sum := -w.b[i]
	for k, v := range w.a[i*n : i*n+n] {
		sum += v * w.x[k]
	}
	return sum
}

// dayLit is the share of a zone's floor under burning lamps from which on it keeps its
// set point of the day after dark. Common practice, no source.
const dayLit = 0.3

// shortK is how far below its lower set point a zone counts as too cold; that it takes
// some hours of the morning to warm up does not.
const shortK = 0.5

// agreeK is how far a temperature may pass its mark before a state changes.
const agreeK = 1e-9

// settledK is how far a step may move a vent's temperature once it is found.
const settledK = 1e-7

// agree holds the solution against the states of heaters and vents and changes
// those that do not fit; true when all do.
func (b *Building) agree(now *climate.Hour, dark bool) bool {
	w, fits := &b.work, true
	for i := range b.n {
		set := b.setC(i, dark)
		switch {
		case math.IsNaN(set) || b.heaterW(i) == 0:
			b.held[i] = false
		case b.held[i] && !w.capped[i]:
			need := b.missing(i)
			w.need[i] = need
			if need < 0 {
				b.held[i], w.need[i], fits = false, 0, false
			} else if most := b.heaterW(i); need > most*(1+1e-12) {
				w.capped[i], w.need[i], fits = true, most, false
			}
		case w.capped[i]:
			w.need[i] = b.heaterW(i)
			if w.x[i] > set+agreeK {
				w.capped[i], fits = false, false
			}
		case w.x[i] < set-agreeK:
			b.held[i], fits = true, false
			if i < 2*len(b.Zones) && b.vented[i/2] != shut {
				b.vented[i/2] = shut
			}
		}
	}
	for i := range b.Zones {
		z, at, pad := &b.Zones[i], 2*i, &b.pad[i]
		most := air.VolumeHeatJm3K * z.ventM3s
		_, wideC := z.ventSpan()
		if b.vented[i] >= cooled && (!pad.ready || b.held[at]) {
			b.vented[i], w.ventWK[i], pad.share, fits = shut, 0, 0, false
			continue
		}
		switch b.vented[i] {
		case shut:
			w.ventWK[i], pad.share = 0, 0
			switch {
			case most <= 0 || b.held[at] || w.x[at] <= z.ventC+agreeK:
			case now.TempC < w.x[at]:
				b.vented[i], w.bandC[i], fits = holding, wideC, false
				if z.bandK > 0 && now.TempC >= wideC {
					b.vented[i] = wide
				}
			case pad.ready && w.x[at] > wideC+agreeK && pad.airC < w.x[at]:
				b.vented[i], fits = cooled, false
			}
		case cooled:
			away := -b.missing(at)
			switch wet := (away/most - (wideC - now.TempC)) / (now.TempC - pad.airC); {
			case away < 0:
				b.vented[i], w.ventWK[i], pad.share, fits = shut, 0, 0, false
			case wet < -agreeK: // vents alone hold it
				b.vented[i], w.ventWK[i], pad.share, fits = wide, most, 0, false
			case wet > 1+1e-12:
				b.vented[i], w.ventWK[i], pad.share, fits = soaked, most, 1, false
			default:
				w.ventWK[i], pad.share = most, math.Max(0, wet)
			}
		case soaked:
			w.ventWK[i], pad.share = most, 1
			if w.x[at] < wideC-agreeK {
				b.vented[i], w.ventWK[i], pad.share, fits = cooled, 0, 0, false
			}
		case holding:
			if z.bandK > 0 {
				if b.held[at] || w.x[at] < z.ventC || w.x[at] <= now.TempC {
					b.vented[i], w.ventWK[i], fits = shut, 0, false
					continue
				}
				if w.x[at] > wideC+agreeK {
					b.vented[i], fits = wide, false
					continue
				}
				heatW, wk := b.banded(i, now.TempC)
				w.ventWK[i] = (heatW + wk*(w.x[at]-w.bandC[i])) / (w.x[at] - now.TempC)
				if math.Abs(w.x[at]-w.bandC[i]) > settledK {
					w.bandC[i], fits = w.x[at], false
				}
				continue
			}
			away := -b.missing(at) // heat that the vent takes out
			if away < 0 || b.held[at] {
				b.vented[i], w.ventWK[i], fits = shut, 0, false
				continue
			}
			if drop := z.ventC - now.TempC; drop <= 0 || away > most*drop*(1+1e-12) {
				b.vented[i], fits = wide, false
			} else {
				w.ventWK[i] = away / drop
			}
		case wide:
			w.ventWK[i] = most
			switch {
			case w.x[at] < wideC-agreeK || now.TempC > w.x[at]:
				b.vented[i], w.ventWK[i] = shut, 0
				if w.x[at] < wideC-agreeK && now.TempC < wideC {
					b.vented[i], w.bandC[i] = holding, wideC
				}
				fits = false
			case pad.ready && w.x[at] > wideC+agreeK:
				b.vented[i], fits = cooled, false
			}
		}
	}
	return fits
}

// eliminate solves a x = b in place. The matrix is diagonally dominant but for
// water that only flows in, where each row still sums to no less than its node's
// own heat, so no rows need be changed about.
func eliminate(a, b []float64, n int) {
	for k := range n {
		pivot := a[k*n : k*n+n]
		for i := k + 1; i < n; i++ {
			row := a[i*n : i*n+n]
			f := row[k]
			if f == 0 {
				continue
			}
			f /= pivot[k]
			for j := k + 1; j < n; j++ {
				row[j] -= f * pivot[j]
			}
			b[i] -= f * b[k]
		}
	}
	for i := n - 1; i >= 0; i-- {
		row := a[i*n : i*n+n]
		sum := b[i]
		for j := i + 1; j < n; j++ {
			sum -= row[j] * b[j]
		}
		b[i] = sum / row[i]
	}
}

// personCO2 is what people give off in an hour, g.
func personCO2(z *Zone, h int) float64 { return z.people(h) / personW * fabric.PersonCO2GH }

// air1h is the carbon dioxide of a room an hour later. Leaves take up none below a
// least content, so that a closed room full of leaves rests there.
func air1h(fromPpm, gH, volumeM3, perHour float64) float64 {
	perHour = math.Min(120, math.Max(1e-3, perHour))
	rest, err := fabric.RoomCO2Ppm(fabric.OutsideCO2Ppm, gH, volumeM3, perHour)
	if err != nil || rest < leastCO2Ppm {
		rest = leastCO2Ppm
	}
	to, err := fabric.CO2AfterPpm(fromPpm, rest, perHour, 1)
	if err != nil {
		return fromPpm
	}
	return math.Max(leastCO2Ppm, to)
}

// book writes the hour into the day and its ledgers.
func (b *Building) book(h int, now *climate.Hour, out *Day) {
	w := &b.work
	for i := range b.Zones {
		z, at := &b.Zones[i], 2*i
		o, l := &out.Zones[i].Hours[h], &out.Zones[i].Ledger
		t := b.tempC[at]
		o.AirC, o.HeatW = t, w.need[at]
		o.RH = math.Min(1, b.ratio[i]/math.Max(1e-9, air.SaturatedRatio(t, b.kPa)))
		o.VentM3s = w.ventWK[i] / air.VolumeHeatJm3K
		changes := (w.leakWK[i] + w.ventWK[i]) / (fabric.InfiltrationWhM3K * z.VolumeM3)
		b.co2Ppm[i] = air1h(b.co2Ppm[i], b.fishGH[i]+w.leafGH[i]+personCO2(z, h), z.VolumeM3, changes)
		o.CO2Ppm = b.co2Ppm[i]
		p := &b.pad[i]
		o.PadH, o.PadKg = p.share, p.share*p.kgM3*o.VentM3s*stepS
		p.before = o.PadKg
		padW := p.share * w.ventWK[i] * (now.TempC - p.airC)
		o.Starts = starts(o.HeatW, z.HeaterW, z.airJK, z.bandK)
		o.Short = w.capped[at] && t < math.Min(z.In.DayC, z.In.NightC)-shortK
		l.SunJ += w.sunW[i] * stepS
		l.LampsJ += w.lampsW[i] * stepS
		l.DewJ += w.dewW[i] * stepS
		l.MotorsJ += z.motorsW * stepS
		l.PeopleJ += z.people(h) * stepS
		l.HeatersJ += w.need[at] * stepS
		l.SkinJ += w.lossWK[i] * (t - now.TempC) * stepS
		l.SkyJ += w.skyLoss[i] * stepS
		l.GroundJ += z.groundWK * (b.tempC[at+1] - b.options.GroundC) * stepS
		l.EdgeJ += z.edgeWK * (t - now.TempC) * stepS
		l.LeaksJ += w.leakWK[i] * (t - now.TempC) * stepS
		l.VentsJ += (w.ventWK[i]*(t-now.TempC) + padW) * stepS
		l.PadJ += padW * stepS
		l.DriersJ += w.dryW[i] * stepS
		l.LeavesJ += w.leafW[i] * stepS
		l.StoredJ += z.airJK*(t-w.old[at]) + z.floorJK*(b.tempC[at+1]-w.old[at+1])
	}
	for i := range b.Zones {
		for _, x := range b.Zones[i].beyond {
			q := x.wk * (b.tempC[2*x.zone] - b.tempC[2*i]) * stepS
			out.Zones[i].Ledger.BeyondJ += q
			out.Zones[x.zone].Ledger.BeyondJ -= q
		}
	}
	for loop, first := range b.first {
		if first < 0 {
			continue
		}
		l, kgS := &out.Waters[loop], 0.0
		for k := first; k < first+len(b.circuits[loop].Places); k++ {
			c := &b.wets[k]
			t := b.tempC[c.node]
			out.WaterC[k][h] = t
			out.TankKW[k][h] = w.need[c.node] / 1000
			room := (c.airWK*(t-b.tempC[2*c.zone]) + c.floorWK*(t-b.tempC[2*c.zone+1])) * stepS
			out.Zones[c.zone].Ledger.FromWaterJ += room
			switch c.kind {
			case plumbing.Tank:
				l.TanksJ += room
			case plumbing.Sump:
				l.SumpJ += room
			default:
				l.BedsJ += room
			}
			l.HeatersJ += w.need[c.node] * stepS
			l.PumpJ += c.pumpW * stepS
			l.VapourJ += w.wetW[c.node] * stepS
			l.StoredJ += c.heatJK * (t - w.old[c.node])
			kgS += math.Max(0, w.wetKgS[c.node])
		}
		hub := b.wets[first+b.circuits[loop].Hub].node
		l.TopUpJ += kgS * waterJm3K / 1000 * (b.tempC[hub] - b.topUpC[loop]) * stepS
	}
}
