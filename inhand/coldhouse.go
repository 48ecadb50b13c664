package inhand

import (
	"fmt"
	"math"

	"tidebed/plumbing"
	"tidebed/science/fabric"
	"tidebed/science/fish"
	"tidebed/site"
	"tidebed/warmth"
)

// chilling is a building as it cools: the air and the floor of each zone, each tank
// and sump, and the beds of a loop in a zone as one body.
type chilling struct {
	zones   []chillZone
	bodies  []chillBody
	groundC float64
}

type chillZone struct {
	name    string
	setC    float64
	heaterW float64
	airJK   float64
	skin    warmth.Skin
	skyW    func(outsideC float64) (float64, error)
}

type chillBody struct {
	tank    string // empty: sump or beds
	loop    int
	zone    int
	heatJK  float64
	airWK   float64 // dry
	bareM2  float64
	aired   bool
	floorWK float64
	pumpW   float64
	flowWK  float64 // by pumped water to the hub of its loop
	hub     bool
	startC  float64
}

// help is what holds the warmth of one zone longer.
type help struct {
	zone    int // of all below
	curtain bool
	waterM3 float64
	heaterW float64
}

const (
	// standbyW is the standby heater that is tried, moreM3 the water.
	standbyW = 2000.0
	moreM3   = 1.0
	// barrels of 200 L of 0.58 × 0.85 m; common practice, no source.
	barrelWallM2, barrelM3 = 1.55, 0.2
	// tryCurtain is the curtain tried where a zone has none.
	tryCurtain = "thermal-curtain-closed-aluminised-50-percent"
)

// newChilling takes a building apart. The circuits are those it was made with.
func newChilling(s *site.Site, b *warmth.Building, circuits []*plumbing.Circuit, groundC float64) (*chilling, error) {
	c := &chilling{groundC: groundC}
	for i := range b.Zones {
		z := &b.Zones[i]
		r := 0.0
		if z.In.Curtain == "" {
			cover, err := fabric.LookupCover(tryCurtain)
			if err != nil {
				return nil, err
			}
			r = cover.ResistanceM2KW.Typical
		}
		skin, err := b.Skin(i, r)
		if err != nil {
			return nil, err
		}
		airJK, err := fabric.AirHeatJK(z.VolumeM3, fabric.LeastLightTimes)
		if err != nil {
			return nil, fmt.Errorf("zone %s: %w", z.In.Name, err)
		}
		c.zones = append(c.zones, chillZone{z.In.Name, z.In.NightC, z.HeaterW, airJK, skin,
			func(outsideC float64) (float64, error) { return b.SkyLossW(i, z.In.NightC, outsideC) }})
	}
	beds := map[[2]int]int{} // body of a loop's beds in a zone
	for _, w := range b.Bodies() {
		circuit := circuits[w.Loop]
		p := &circuit.Places[w.Cell]
		body := chillBody{loop: w.Loop, zone: w.Zone, heatJK: w.HeatJK, airWK: w.AirWK, bareM2: w.BareM2, aired: w.Aired, floorWK: w.FloorWK, pumpW: w.PumpW, hub: w.Cell == circuit.Hub, startC: w.SetC}
		for f := range circuit.Layout.Flows {
			if circuit.Layout.Flows[f].To == w.Cell {
				body.flowWK += fabric.WaterKgM3 * fabric.WaterJkgK * circuit.FlowM3Day(f) / 86400
			}
		}
		if body.startC == 0 {
			body.startC = loopC(s, w.Loop, c.zones[w.Zone].setC)
		}
		if p.Tank != nil {
			body.tank = p.Tank.Name
			if w.SetC == 0 {
				for k := range s.Opening.Cohorts {
					if sp, err := fish.Lookup(s.Opening.Cohorts[k].Species); err == nil && s.Opening.Cohorts[k].Tank == body.tank {
						body.startC, _ = tankC(s, body.tank, &sp)
					}
				}
			}
		}
		if p.Kind != plumbing.Tank && p.Kind != plumbing.Sump && !body.hub {
			at := [2]int{w.Loop, w.Zone}
			if n, ok := beds[at]; ok {
				g := &c.bodies[n]
				g.heatJK, g.airWK, g.floorWK, g.flowWK = g.heatJK+body.heatJK, g.airWK+body.airWK, g.floorWK+body.floorWK, g.flowWK+body.flowWK
				continue
			}
			beds[at] = len(c.bodies)
		}
		c.bodies = append(c.bodies, body)
	}
	if n := 2*len(c.zones) + len(c.bodies) + 1; n > fabric.MostNodes {
		return nil, fmt.Errorf("cooling of the building: %d bodies of air, floor and water, at most %d can be reckoned together; describe fewer zones or tanks: %w", n, fabric.MostNodes, ErrNoSkin)
	}
	return c, nil
}

// loopC is the temperature of a loop's water that nobody holds: that of the opening,
// or the mean of its tanks, or its zone's.
func loopC(s *site.Site, loop int, zoneC float64) float64 {
	l := &s.Loops[loop]
	for _, w := range s.Opening.Water {
		if w.Loop == l.Name && w.TempC != 0 {
			return w.TempC
		}
	}
	sum, m3 := 0.0, 0.0
	for i := range l.Tanks {
		if t := &l.Tanks[i]; t.WaterC != 0 {
			sum, m3 = sum+t.WaterC*t.VolumeM3, m3+t.VolumeM3
		}
	}
	if m3 > 0 {
		return sum / m3
	}
	return zoneC
}

// airWKOf is a body's way to the air, what evaporates in it: an open surface is
// still when the air stones stand.
func (w *chillBody) airWKOf(powerOff bool) float64 {
	open := fabric.OpenQuietWm2K
	if w.aired && !powerOff {
		open = fabric.OpenAeratedWm2K
	}
	return w.airWK + (open-fabric.OpenDryWm2K)*w.bareM2
}

// start is the air and the floor of each zone on a night that has lasted: heaters
// hold their set points as far as they reach, water is as it is kept.
func (c *chilling) start(outsideC float64) (airC, floorC []float64, short []bool, err error) {
	n := len(c.zones)
	airC, floorC, short = make([]float64, n), make([]float64, n), make([]bool, n)
	held, gaveW := make([]bool, n), make([]float64, n)
	for i, z := range c.zones {
		held[i] = z.heaterW > 0
	}
	const huge = 1e6 // W/K by which a held node is tied to its set point
	for range n + 1 {
		nodes := make([]fabric.Node, 2*n)
		var ties []fabric.Tie
		for i, z := range c.zones {
			sky, err := z.skyW(outsideC)
			if err != nil {
				return nil, nil, nil, err
			}
			a, f := &nodes[2*i], &nodes[2*i+1]
			a.HeatJK, f.HeatJK = z.airJK, max(z.skin.FloorJK, 1)
			a.GainW = z.skin.MotorsW - sky + gaveW[i]
			a.Borders = append(a.Borders, fabric.Border{WK: z.skin.OutsideWK, TempC: outsideC})
			if held[i] {
				a.Borders = append(a.Borders, fabric.Border{WK: huge, TempC: z.setC})
			}
			f.Borders = append(f.Borders, fabric.Border{WK: max(z.skin.GroundWK, 1e-9), TempC: c.groundC})
			ties = append(ties, fabric.Tie{A: 2 * i, B: 2*i + 1, WK: z.skin.FloorWK})
			for _, t := range z.skin.Beyond {
				ties = append(ties, fabric.Tie{A: 2 * i, B: 2 * t.Zone, WK: t.WK})
			}
		}
		for k := range c.bodies {
			w := &c.bodies[k]
			a, f := &nodes[2*w.zone], &nodes[2*w.zone+1]
			a.Borders = append(a.Borders, fabric.Border{WK: w.airWKOf(false), TempC: w.startC})
			f.Borders = append(f.Borders, fabric.Border{WK: w.floorWK, TempC: w.startC})
		}
		balance, err := fabric.NewBalance(nodes, ties)
		if err != nil {
			return nil, nil, nil, err
		}
		rest, err := balance.SteadyC()
		if err != nil {
			return nil, nil, nil, err
		}
		fits := true
		for i, z := range c.zones {
			airC[i], floorC[i] = rest[2*i], rest[2*i+1]
			if !held[i] {
				continue
			}
			switch need := huge * (z.setC - airC[i]); {
			case need > z.heaterW:
				held[i], gaveW[i], short[i], fits = false, z.heaterW, true, false
			case need < 0:
				held[i], fits = false, false
			default:
				airC[i] = z.setC
			}
		}
		if fits {
			break
		}
	}
	return airC, floorC, short, nil
}

// cooling couples everything as it cools, with the temperatures at its start: the
// air of zone i is node 2i, body k node 2·zones + k.
func (c *chilling) cooling(outsideC float64, powerOff bool, h help) (*fabric.Balance, []float64, error) {
	airC, floorC, _, err := c.start(outsideC)
	if err != nil {
		return nil, nil, err
	}
	n := len(c.zones)
	nodes, tempC := make([]fabric.Node, 2*n+len(c.bodies)), make([]float64, 2*n+len(c.bodies))
	var ties []fabric.Tie
	for i, z := range c.zones {
		a, f := &nodes[2*i], &nodes[2*i+1]
		tempC[2*i], tempC[2*i+1] = airC[i], floorC[i]
		a.HeatJK, f.HeatJK = z.airJK, max(z.skin.FloorJK, 1)
		wk := z.skin.OutsideWK
		if h.curtain && h.zone == i {
			wk = z.skin.CurtainWK
		} else {
			sky, err := z.skyW(outsideC)
			if err != nil {
				return nil, nil, err
			}
			a.GainW -= sky
		}
		if !powerOff {
			a.GainW += z.skin.MotorsW
		}
		if h.zone == i {
			a.GainW += h.heaterW
		}
		a.Borders = []fabric.Border{{WK: wk, TempC: outsideC}}
		f.Borders = []fabric.Border{{WK: z.skin.GroundWK, TempC: c.groundC}}
		ties = append(ties, fabric.Tie{A: 2 * i, B: 2*i + 1, WK: z.skin.FloorWK})
		for _, t := range z.skin.Beyond {
			ties = append(ties, fabric.Tie{A: 2 * i, B: 2 * t.Zone, WK: t.WK})
		}
	}
	hubs := map[int]int{}
	for k := range c.bodies {
		if c.bodies[k].hub {
			hubs[c.bodies[k].loop] = 2*n + k
		}
	}
	for k := range c.bodies {
		w, at := &c.bodies[k], 2*n+k
		tempC[at] = w.startC
		nodes[at].HeatJK = w.heatJK
		ties = append(ties, fabric.Tie{A: at, B: 2 * w.zone, WK: w.airWKOf(powerOff)}, fabric.Tie{A: at, B: 2*w.zone + 1, WK: w.floorWK})
		if powerOff {
			continue
		}
		nodes[at].GainW = w.pumpW
		if hub, ok := hubs[w.loop]; ok && hub != at {
			ties = append(ties, fabric.Tie{A: at, B: hub, WK: w.flowWK})
		}
	}
	if h.waterM3 > 0 {
		heat, err := fabric.WaterHeatJK(h.waterM3)
		if err != nil {
			return nil, nil, err
		}
		nodes, tempC = append(nodes, fabric.Node{HeatJK: heat}), append(tempC, airC[h.zone])
		ties = append(ties, fabric.Tie{A: len(nodes) - 1, B: 2 * h.zone, WK: fabric.PlasticWm2K * barrelWallM2 * h.waterM3 / barrelM3})
	}
	b, err := fabric.NewBalance(nodes, ties)
	return b, tempC, err
}

// fall is the hours in which a node falls to a limit; +Inf: not within LookHours.
func fall(b *fabric.Balance, tempC []float64, node int, limitC float64) (float64, error) {
	if tempC[node] <= limitC {
		return 0, nil
	}
	h, reached, err := b.Until(tempC, node, limitC, LookHours)
	if err != nil {
		return 0, err
	}
	if !reached {
		return math.Inf(1), nil
	}
	return h, nil
}
