package evidence

import (
	"context"
	"fmt"
	"math"
	"strings"

	"tidebed/science/pipe"
)

func init() {
	for name, f := range map[string]function{
		"water-density":   ofNumbers(func(tempC, _, _ float64) (float64, error) { return pipe.WaterDensityKgM3(tempC) }, "temp", "", ""),
		"water-viscosity": ofNumbers(func(tempC, _, _ float64) (float64, error) { return pipe.WaterViscosityPaS(tempC) }, "temp", "", ""),
		"water-vapour": ofNumbers(func(tempC, _, _ float64) (float64, error) {
			kPa, err := pipe.VapourKPa(tempC)
			return 1000 * kPa, err
		}, "temp", "", ""),
		"friction-smooth":    friction(pipe.Smooth),
		"friction-colebrook": friction(pipe.ByColebrook),
		"haaland":            ofNumbers(func(re, rel, _ float64) (float64, error) { return pipe.Haaland(re, rel) }, "re", "roughness", ""),
		"overflow-froude": ofNumbers(func(flowM3H, diameterM, _ float64) (float64, error) {
			limit, err := pipe.SelfVentingM3s(diameterM)
			return 0.31 * flowM3H / 3600 / limit, err
		}, "flow", "diameter", ""),
		"part-full-flow":     partFull(func(flow, _ float64) float64 { return flow }),
		"part-full-velocity": partFull(func(_, velocity float64) float64 { return velocity }),
		"fitting": func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
			f, err := pipe.LookupFitting(in["name"])
			return f.K, err
		},
		"iron-pipe-friction": ironPipe(func(f, _ float64) float64 { return f }),
		"iron-pipe-head":     ironPipe(func(_, headM float64) float64 { return headM }),
		"pumping-cost":       pumpingCost,
		"npsh-feet":          npshFeet,
		"rough-drain":        roughDrain,
		"pump-speed":         pumpSpeed,
		"network-reservoirs": twoReservoirs,
		"network-beds":       threeBeds,
		"network-parallel":   parallelPipes,
		"network-oversized":  oversizedPump,
	} {
		functions[name] = f
	}
}

func friction(method pipe.Method) function {
	return ofNumbers(func(re, rel, _ float64) (float64, error) { return pipe.Friction(re, rel, method) }, "re", "roughness", "")
}

// partFull is the flow or velocity of a drain filled to a share of its diameter,
// to that of the half full one.
func partFull(which func(flow, velocity float64) float64) function {
	return ofNumbers(func(fill, _, _ float64) (float64, error) {
		q, v, err := pipe.ManningPartFull(0.1, 0.01, pipe.DefaultManning, fill)
		if err != nil {
			return 0, err
		}
		half, halfMS, err := pipe.ManningHalfFull(0.1, 0.01, pipe.DefaultManning)
		return which(q, v) / which(half, halfMS), err
	}, "fill", "", "")
}

// ironPipe is the friction factor, or the head lost, of 0.2 m³/s of an oil of
// 1e-5 m²/s in a rough pipe, by Colebrook and White.
func ironPipe(which func(f, headM float64) float64) function {
	return ofNumbers(func(diameterM, lengthM, roughnessM float64) (float64, error) {
		v := 0.2 / pipe.CircleM2(diameterM)
		f, err := pipe.Friction(v*diameterM/1e-5, roughnessM/diameterM, pipe.ByColebrook)
		return which(f, f*lengthM/diameterM*v*v/(2*pipe.GravityMS2)), err
	}, "diameter", "length", "roughness")
}

const (
	footM, gpmM3s, psiKPa, lbFt3 = 0.3048, 6.30901964e-5, 6.894757293, 16.01846337
)

// pumpingCost is the cost of a year of 8000 h of pumping water of 62.364 lb/ft³, at
// 0.12 a kWh and the efficiency of pump, drive and motor.
func pumpingCost(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(headFt, flowGpm, efficiency float64) (float64, error) {
		hydraulicW, err := pipe.HydraulicW(flowGpm*gpmM3s, headFt*footM, 20)
		if err != nil {
			return 0, err
		}
		density, err := pipe.WaterDensityKgM3(20)
		if err != nil {
			return 0, err
		}
		kWh, err := pipe.EnergyKWh(hydraulicW*62.364*lbFt3/density/efficiency, 8000)
		return kWh * 0.12, err
	}, "head", "flow", "efficiency")(ctx, b, in)
}

// npshFeet is the suction head in feet of a tank at 5 psi above the air's 14.696
// with water of 62.364 lb/ft³.
func npshFeet(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(vapourPsi, heightFt, lossFt float64) (float64, error) {
		m, err := pipe.NPSHOf((5+14.696)*psiKPa, vapourPsi*psiKPa, 62.364*lbFt3, heightFt*footM, lossFt*footM)
		return m / footM, err
	}, "vapour", "height", "loss")(ctx, b, in)
}

// roughDrain is the flow in gal/min of water of 1.1e-3 Pa s in a 24 in drain of
// relative roughness 0.00036, by Darcy and Weisbach with the hydraulic diameter.
func roughDrain(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(fill, slope, _ float64) (float64, error) {
		area, wetted, err := pipe.PartFull(24*0.0254, fill)
		if err != nil {
			return 0, err
		}
		hydraulicM, v := 4*area/wetted, 1.0
		for range 50 {
			f, err := pipe.Friction(v*hydraulicM*999/1.1e-3, 0.00036, pipe.ByColebrook)
			if err != nil {
				return 0, err
			}
			v = math.Sqrt(2 * pipe.GravityMS2 * slope * hydraulicM / f)
		}
		return v * area / gpmM3s, nil
	}, "fill", "slope", "")(ctx, b, in)
}

// pumpSpeed is the head at a flow in L/min of a pump of 3.0, 2.75 and 2.10 m at 0,
// 15 and 30 L/min at another speed.
func pumpSpeed(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(ratio, flowLMin, _ float64) (float64, error) {
		c, err := pipe.Fit([]pipe.Point{{HeadM: 3}, {FlowM3s: 15.0 / 60000, HeadM: 2.75}, {FlowM3s: 30.0 / 60000, HeadM: 2.1}})
		if err != nil {
			return 0, err
		}
		c, err = c.AtSpeed(ratio)
		return c.HeadM(flowLMin / 60000), err
	}, "speed", "flow", "")(ctx, b, in)
}

// newPipe is a new plastic pipe by its bore in mm.
func newPipe(boreMM, lengthM, k float64) pipe.Pipe {
	return pipe.Pipe{DiameterM: boreMM / 1000, LengthM: lengthM, RoughnessM: pipe.NewRoughnessM, K: k}
}

// pumpOf is the curve through three points in L/min and m, the first at no flow.
func pumpOf(h0, q1, h1, q2, h2 float64) (pipe.Curve, error) {
	return pipe.Fit([]pipe.Point{{HeadM: h0}, {FlowM3s: q1 / 60000, HeadM: h1}, {FlowM3s: q2 / 60000, HeadM: h2}})
}

// figureOf gives a figure of a solved network: "flow" of a link in L/min, "head" of
// a node or "gain" of a pump in m, by name.
func figureOf(n *pipe.Network, nodes []pipe.Node, links []pipe.Link, figure string) (float64, error) {
	kind, name, _ := strings.Cut(figure, " ")
	for i, l := range links {
		switch {
		case l.Name == name && kind == "flow":
			return n.FlowM3s(i) * 60000, nil
		case l.Name == name && kind == "gain":
			return -n.LossM(i), nil
		}
	}
	for i, nd := range nodes {
		if nd.Name == name && kind == "head" {
			return n.HeadM(i), nil
		}
	}
	return 0, fmt.Errorf("the network has no %q", figure)
}

func solveFor(nodes []pipe.Node, links []pipe.Link, tempC float64, figure string) (float64, error) {
	n, err := pipe.NewNetwork(nodes, links, tempC)
	if err != nil {
		return 0, err
	}
	if err := n.Solve(); err != nil {
		return 0, err
	}
	return figureOf(n, nodes, links, figure)
}

// twoReservoirs are surfaces at 2.0 and 0.5 m, joined by 10 m of 26.64 mm, K 1.5.
func twoReservoirs(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	return solveFor([]pipe.Node{{Name: "high", Fixed: true, HeadM: 2}, {Name: "low", Fixed: true, HeadM: 0.5}},
		[]pipe.Link{{Name: "P", From: 0, To: 1, Pipe: newPipe(26.64, 10, 1.5)}}, 20, in["figure"])
}

// threeBeds are a pump of 3.0, 2.75 and 2.10 m at 0, 15 and 30 L/min from a sump at
// 0.60 m, a riser, a header and three beds at 1.60, 1.60 and 1.70 m, those in "open"
// open. Figures "even" and "extra 1" to "extra 3" are of all three balanced.
func threeBeds(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := pumpOf(3, 15, 2.75, 30, 2.1)
	if err != nil {
		return 0, err
	}
	nodes := []pipe.Node{
		{Name: "sump", Fixed: true, HeadM: 0.60}, {Name: "N1"}, {Name: "N2"}, {Name: "N3"}, {Name: "N4"},
		{Fixed: true, HeadM: 1.60}, {Fixed: true, HeadM: 1.60}, {Fixed: true, HeadM: 1.70},
	}
	links := []pipe.Link{
		{Name: "pump", From: 0, To: 1, Pump: &c}, {Name: "R", From: 1, To: 2, Pipe: newPipe(26.64, 3, 4)},
		{Name: "H1", From: 2, To: 3, Pipe: newPipe(26.64, 1.5, 0.6)}, {Name: "H2", From: 3, To: 4, Pipe: newPipe(26.64, 1.5, 0.6)},
	}
	for i := range 3 {
		bed := fmt.Sprint(i + 1)
		links = append(links, pipe.Link{Name: "B" + bed, From: 2 + i, To: 5 + i, Pipe: newPipe(15.8, 0.8, 4), OneWay: true, Closed: !strings.Contains(in["open"], bed)})
	}
	figure := in["figure"]
	if figure != "even" && !strings.HasPrefix(figure, "extra ") {
		return solveFor(nodes, links, 20, figure)
	}
	n, err := pipe.NewNetwork(nodes, links, 20)
	if err != nil {
		return 0, err
	}
	q, extraK, err := n.Even([]int{4, 5, 6})
	if err != nil {
		return 0, err
	}
	for i, k := range extraK {
		if figure == fmt.Sprint("extra ", i+1) {
			return k, nil
		}
	}
	return q * 60000, nil
}

// parallelPipes are three pipes side by side between two more, from a surface at
// 1.50 m to one at 0.
func parallelPipes(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	return solveFor([]pipe.Node{{Name: "A", Fixed: true, HeadM: 1.5}, {Name: "J1"}, {Name: "J2"}, {Name: "B", Fixed: true}}, []pipe.Link{
		{Name: "P0", From: 0, To: 1, Pipe: newPipe(40.9, 4, 1)}, {Name: "PA", From: 1, To: 2, Pipe: newPipe(26.64, 5, 3)},
		{Name: "PB", From: 1, To: 2, Pipe: newPipe(20.93, 8, 5)}, {Name: "PC", From: 1, To: 2, Pipe: newPipe(15.8, 6, 2)},
		{Name: "P9", From: 2, To: 3, Pipe: newPipe(40.9, 4, 2)},
	}, 20, in["figure"])
}

// oversizedPump are six beds 1.00 m above the sump at 22 °C: "PX-120" with all six
// open, "PX-25" with one.
func oversizedPump(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	var c pipe.Curve
	var err error
	riserMM, open := 40.9, 6
	switch in["pump"] {
	case "PX-120":
		c, err = pumpOf(4.5, 30, 4.1, 60, 3.1)
	case "PX-25":
		c, err = pumpOf(2.5, 8, 2.35, 16, 1.85)
		riserMM, open = 26.64, 1
	default:
		err = fmt.Errorf("there is no pump %q", in["pump"])
	}
	if err != nil {
		return 0, err
	}
	nodes := []pipe.Node{{Name: "sump", Fixed: true}, {Name: "N1"}, {Name: "N2"}}
	links := []pipe.Link{{Name: "pump", From: 0, To: 1, Pump: &c}, {Name: "R", From: 1, To: 2, Pipe: newPipe(riserMM, 3, 4)}}
	for i := range 6 {
		nodes = append(nodes, pipe.Node{Fixed: true, HeadM: 1})
		links = append(links, pipe.Link{From: 2, To: 3 + i, Pipe: newPipe(15.8, 1, 4), OneWay: true, Closed: i >= open})
	}
	return solveFor(nodes, links, 22, in["figure"])
}
