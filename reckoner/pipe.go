package reckoner

import (
	"errors"
	"slices"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/words"
)

func flowKey(what string) Key {
	return Key{Name: "flow", What: what, Kind: quantity.Flow, Low: 0, High: 10, Range: "0 to 600000 L/min (10 m3/s)", Required: true}
}

func boreKey(name, what string) Key {
	return Key{Name: name, What: what, Kind: quantity.Length, Low: pipe.LeastDiameterM, High: pipe.MostDiameterM, Range: "0.5 mm to 5 m", Required: true}
}

// pipeKeys are what describes a pipe and its water.
func pipeKeys() []Key {
	return []Key{
		boreKey("diameter", "inside diameter; the size by which a pipe is sold is another"),
		{Name: "length", What: "length of the pipe", Kind: quantity.Length, Low: 1e-6, High: pipe.MostLengthM, Range: "above 0 to 100 km", Required: true},
		{Name: "roughness", What: "roughness of the wall, below a tenth of the diameter; 0.1 mm with a film", Kind: quantity.Length, Low: 0, High: 0.5, Default: "1.5e-6 m"},
		{Name: "k", What: "sum of the loss factors of fittings; an open end counts 1", Kind: quantity.Plain, Low: 0, High: pipe.MostLossSum, Default: "0"},
		{Name: "temp", What: "water temperature", Kind: quantity.Temperature, Low: pipe.LowestC, High: pipe.HighestC, Default: "20 °C"},
	}
}

// pumpPoint is a key with a point of a pump.
func pumpPoint(name, what string) Key {
	return Key{
		Name: name, What: what, Kind: quantity.Flow, Second: quantity.Length, Low: 0, High: 10,
		Range: "written flow:head as 15 L/min:2.75 m", Required: true, Field: name + "FlowM3sHeadM",
	}
}

var (
	smoothSources = []string{"epanet-2.2", "swamee-jain-1976", "dunlop-1991", "kell-1975", "iapws-viscosity"}
	scatter       = "Loss factors of fittings scatter by -20 to +30 % and more: trust two digits."
)

// pipeEntries are the quick sums about pipes, pumps, drains and the floor.
func pipeEntries() []Entry {
	points := pumpPoint("points", "points of the pump, separated by \";\": three with the first at no flow, one usual duty, or more")
	points.List = true
	length := func(name, what string, low, high float64) Key {
		return Key{Name: name, What: what, Kind: quantity.Length, Low: low, High: high, Required: true}
	}
	methods := []string{}
	for _, m := range pipe.Methods() {
		methods = append(methods, string(m))
	}
	return slices.Concat([]Entry{
		{
			Name: "pipe-loss", Title: "Head that a pipe takes",
			Formula: "head = (friction × length / diameter + k) × velocity² / 2g; friction 64 / Re up to Re 2000, by roughness and Re from 4000, a cubic between",
			Keys: slices.Concat([]Key{flowKey("flow through the pipe")}, pipeKeys(), []Key{
				{Name: "method", What: "way to reckon friction", Kind: Word, Choices: methods, Default: string(pipe.Smooth)},
				{Name: "c", What: "coefficient of hazen-williams; plastic 140 to 150", Kind: quantity.Plain, Low: 50, High: 200, Default: "150"},
			}),
			Outputs: []Output{
				{Name: "re", What: "Reynolds number"},
				{Name: "friction", What: "Darcy friction factor, four times the Fanning one; none at rest"},
				{Name: "headM", What: "head lost, fittings included", Unit: "m"},
				{Name: "velocityMS", What: "mean velocity", Unit: "m/s"},
			},
			Sources:  slices.Concat(smoothSources, []string{"colebrook-1939", "hazen-williams"}),
			Cautions: []string{scatter, "In fish water a film grows within weeks: reckon again with roughness=0.1 mm."},
			run:      runPipeLoss,
		},
		{
			Name: "pipe-flow", Title: "Flow that a head drives",
			Formula: "the flow at which pipe-loss is the head",
			Keys:    slices.Concat([]Key{length("head", "head that the pipe may take, from surface to outlet", 0, pipe.MostHeadM)}, pipeKeys()),
			Outputs: []Output{{Name: "flowM3s", What: "flow", Unit: "m3/s"}},
			Sources: smoothSources, Cautions: []string{scatter, "A pipe with an open end loses its velocity there: k=1 for that alone."},
			run: func(in *inputs, out *answer) error {
				p, err := in.pipe()
				if err != nil {
					return err
				}
				q, err := pipe.Flow(in.Number("head"), p, in.Number("temp"))
				out.Set("flowM3s", q)
				out.velocity(q, p)
				return err
			},
		},
		{
			Name: "pump-fit", Title: "Curve of a pump",
			Formula: "head = h0 − r × flowⁿ through three points; n = ln((h0 − h2) / (h0 − h1)) / ln(q2 / q1), r = (h0 − h1) / q1ⁿ",
			Keys: []Key{
				pumpPoint("p0", "head at no flow"), pumpPoint("p1", "a point between"), pumpPoint("p2", "a point near the largest flow"),
			},
			Outputs: []Output{
				{Name: "h0M", What: "head at no flow", Unit: "m"},
				{Name: "r", What: "factor, for flows in L/min", Unit: "m per (L/min)^n"},
				{Name: "n", What: "exponent"},
				{Name: "qMaxM3s", What: "flow at no head: the figure on the box, no duty", Unit: "m3/s"},
			},
			Sources: []string{"epanet-2.2"},
			run:     runPumpFit,
		},
		{
			Name: "pump-duty", Title: "What a pump delivers through a pipe",
			Formula: "the flow at which the pump's head is the lift and pipe-loss together; efficiency = density × g × flow × head / watts",
			Keys: slices.Concat([]Key{points, length("lift", "from the water in the sump up to the open outlet, or to the water it discharges into", -100, pipe.MostHeadM)}, pipeKeys(), []Key{
				{Name: "watts", What: "power read at the plug at this flow; volts times amperes is more", Kind: quantity.Power, BareUnit: "W", Low: 1e-3, High: 1e6},
			}),
			Outputs: []Output{
				{Name: "flowM3s", What: "flow", Unit: "m3/s"},
				{Name: "headM", What: "head of the pump there", Unit: "m"},
				{Name: "efficiency", What: "share of the plug's power that lifts the water", Optional: true},
			},
			Sources: smoothSources, Cautions: []string{scatter, "An open outlet counts 1 in k. How deep a pump hangs in the water changes nothing."},
			run: runPumpDuty,
		},
		{
			Name: "npsh", Title: "Suction head a pump has",
			Formula: "(air pressure − vapour pressure) / (density × g) + height of the surface above the impeller − loss on the suction side",
			Keys: []Key{
				{Name: "temp", What: "water temperature", Kind: quantity.Temperature, Low: pipe.LowestC, High: pipe.HighestC, Required: true},
				length("elevation", "height above the sea", -500, 6000),
				length("surface-height", "of the water above the impeller; negative when the pump stands above the water", -100, 100),
				length("suction-loss", "head lost in the suction pipe", 0, 100),
			},
			Outputs:  []Output{{Name: "npshM", What: "net positive suction head there is", Unit: "m"}},
			Sources:  []string{"wagner-pruss", "kell-1975", "ashrae-fundamentals", "crane-410"},
			Cautions: []string{"It should be at least 1.3 times what the pump's maker asks for."},
			run: func(in *inputs, out *answer) error {
				m, err := pipe.NPSH(in.Number("temp"), in.Number("elevation"), in.Number("surface-height"), in.Number("suction-loss"))
				if err == nil && m <= 0 {
					out.Warn("No suction head is left: the water boils in the suction pipe and the pump does not deliver.")
				}
				out.Set("npshM", m)
				return err
			},
		},
		{
			Name: "weep-drain", Title: "Time in which a bed drains through a hole",
			Formula: "2 × area / (0.62 × area of the hole × √(2g)) × (√from − √to)",
			Keys: []Key{
				{Name: "area", What: "area of the water: plan area times drainable porosity", Kind: quantity.Area, Low: 1e-6, High: 1e6, Range: "above 0 to 1000000 m2", Required: true},
				boreKey("hole", "diameter of the hole"),
				length("from", "water above the hole at the start", 0, 100), length("to", "water above the hole at the end", 0, 100),
			},
			Outputs:  []Output{{Name: "seconds", What: "time", Unit: "s"}},
			Sources:  []string{"white-fluid"},
			Cautions: []string{"A hole clogs: make two and look at them. Inflow must exceed its flow, or the bed never fills."},
			run: func(in *inputs, out *answer) error {
				from, to := in.Number("from"), in.Number("to")
				if to > from {
					return in.Refuse("to", "To must be at most from, %g m. You entered %g m.", from, to)
				}
				s, err := pipe.WeepDrainSeconds(in.Number("area"), in.Number("hole"), from, to)
				out.Set("seconds", s)
				return err
			},
		},
		{
			Name: "manning-half-full", Title: "Drain that runs half full",
			Formula: "velocity = (diameter / 4)^(2/3) × √slope / n; flow = velocity × half the bore",
			Keys: []Key{
				boreKey("diameter", "inside diameter"),
				{Name: "slope", What: "fall over length", Kind: quantity.Share, Low: 1e-6, High: 1, Range: "above 0 to 1 (100 %)", Required: true},
				{Name: "n", What: "roughness coefficient; plastic with a film 0.011 to 0.013", Kind: quantity.Plain, Low: 0.008, High: 0.05, Default: "0.012"},
			},
			Outputs: []Output{
				{Name: "flowM3s", What: "flow", Unit: "m3/s"},
				{Name: "velocityMS", What: "mean velocity", Unit: "m/s"},
			},
			Sources: []string{"nspc-2009", "epanet-2.2"},
			run:     runManning,
		},
		{
			Name: "bed-load", Title: "Load of a bed on the floor",
			Formula: "depth × density + water × 998 kg/m³; water = porosity × flood up to the depth of the media, all of it above",
			Keys: []Key{
				length("depth", "depth of the media; 0 for water alone", 0, 10),
				{Name: "density", What: "bulk density of the media drained and wet; gravel 1500 to 1700, clay balls 500", Kind: quantity.Density, Low: 0, High: 5000, Required: true},
				{Name: "porosity", What: "drainable porosity", Kind: quantity.Share, Low: 1e-6, High: 0.999999, Range: "above 0 to below 1 (100 %)", Required: true},
				length("flood", "depth of the water at the overflow, not at the usual level", 0, 10),
			},
			Outputs:  []Output{{Name: "kgM2", What: "mass on a square metre", Unit: "kg/m2"}, {Name: "kPa", What: "load", Unit: "kPa"}},
			Sources:  []string{"us-floor-load"},
			Cautions: []string{"The container comes on top. Whether the floor or a rack bears it: ask a structural engineer. Feet press on points."},
			run:      runBedLoad,
		},
	}, pipeMoreEntries())
}

// pipe reads the keys of pipeKeys.
func (in *inputs) pipe() (pipe.Pipe, error) {
	p := pipe.Pipe{DiameterM: in.Number("diameter"), LengthM: in.Number("length"), RoughnessM: in.Number("roughness"), K: in.Number("k")}
	if most := p.DiameterM / 10; p.RoughnessM >= most {
		return p, in.Refuse("roughness", "Roughness must be below a tenth of the diameter, %g m. You entered %g m.", most, p.RoughnessM)
	}
	return p, p.Check()
}

// point reads a pair of flow and head; the key holds it against its range.
func (in *inputs) point(key string) pipe.Point {
	v, _ := in.values[key].([2]float64)
	return pipe.Point{FlowM3s: v[0], HeadM: v[1]}
}

// velocity warns of a flow that is too fast.
func (a *answer) velocity(flowM3s float64, p pipe.Pipe) {
	if v := flowM3s / p.AreaM2(); v > pipe.MostPressureMS {
		a.Warn("The water runs at %.2g m/s: above %g m/s pipes hammer and waste the pump's power; take a wider one.", v, pipe.MostPressureMS)
	}
}

func runPipeLoss(in *inputs, out *answer) error {
	p, err := in.pipe()
	if err != nil {
		return err
	}
	q, method := in.Number("flow"), pipe.Method(in.Word("method"))
	head, re, friction, v, err := pipe.LossBy(method, q, p, in.Number("temp"), in.Number("c"))
	if err != nil {
		return err
	}
	out.Set("re", re)
	out.Set("headM", head)
	out.Set("velocityMS", v)
	out.Set("friction", friction)
	if re == 0 {
		out.Null("friction")
		out.Warn("Water at rest has no friction factor.")
		return nil
	}
	out.velocity(q, p)
	if v < pipe.LeastSolidsMS {
		out.Warn("Below %g m/s solids settle: in a pipe that carries them take a narrower one, or flush it.", pipe.LeastSolidsMS)
	}
	if re > 2000 && re < 4000 {
		out.Warn("Re %.0f lies between laminar and turbulent flow: the loss may change by itself.", re)
	}
	switch method {
	case pipe.ByHazen:
		out.sources = []string{"hazen-williams", "epanet-2.2"}
		if p.DiameterM < 0.05 || re < 4000 {
			out.Warn("Hazen and Williams hold for turbulent water in pipes above 50 mm; here they err by a tenth and more.")
		}
	case pipe.ByColebrook:
		out.sources = []string{"colebrook-1939", "dunlop-1991", "kell-1975", "iapws-viscosity"}
	default:
		out.sources = smoothSources
	}
	return nil
}

// headRange refuses a head that no pump has.
func (in *inputs) headRange(key string, p pipe.Point) error {
	if !(p.HeadM >= 0 && p.HeadM <= pipe.MostHeadM) {
		return in.Refuse(key, "The head of %s must be 0 to %g m. You entered %g m.", key, pipe.MostHeadM, p.HeadM)
	}
	return nil
}

func runPumpFit(in *inputs, out *answer) error {
	keys := []string{"p0", "p1", "p2"}
	points := make([]pipe.Point, len(keys))
	for i, key := range keys {
		points[i] = in.point(key)
		if err := in.headRange(key, points[i]); err != nil {
			return err
		}
		switch {
		case i == 0 && points[0].FlowM3s != 0:
			return in.Refuse(key, "P0 is the head at no flow: write it as 0 L/min:3 m.")
		case i > 0 && !(points[i].FlowM3s > points[i-1].FlowM3s):
			return in.Refuse(key, "The flow of %s must be above that of %s.", key, keys[i-1])
		case i > 0 && !(points[i].HeadM < points[i-1].HeadM):
			return in.Refuse(key, "The head of %s must be below that of %s: a pump's head falls as its flow rises.", key, keys[i-1])
		}
	}
	c, err := pipe.Fit(points)
	if errors.Is(err, pipe.ErrCurve) {
		return in.Refuse("p2", "%s.", words.Capital(err.Error()))
	}
	if err != nil {
		return err
	}
	out.Set("h0M", c.ShutOffM)
	out.Set("r", c.RLMin())
	out.Set("n", c.N)
	out.Set("qMaxM3s", c.MaxM3s)
	return nil
}

func runPumpDuty(in *inputs, out *answer) error {
	p, err := in.pipe()
	if err != nil {
		return err
	}
	c, err := in.curve()
	if err != nil {
		return err
	}
	tempC := in.Number("temp")
	d, err := pipe.Duty(c, in.Number("lift"), p, tempC)
	if errors.Is(err, pipe.ErrCannotLift) || errors.Is(err, pipe.ErrRunsItself) {
		return in.Refuse("lift", "%s.", words.Capital(err.Error()))
	}
	if err != nil {
		return err
	}
	out.Set("flowM3s", d.FlowM3s)
	out.Set("headM", d.HeadM)
	out.velocity(d.FlowM3s, p)
	if d.FlowM3s > c.LastM3s {
		out.Warn("The flow lies beyond the pump's last point, %.3g L/min: there the curve is a guess.", c.LastM3s*60000)
	}
	if !in.Given("watts") {
		return nil
	}
	wireW := in.Number("watts")
	share, err := pipe.Efficiency(d.FlowM3s, max(0, d.HeadM), wireW, tempC)
	if errors.Is(err, pipe.ErrPower) {
		return in.Refuse("watts", "%s.", words.Capital(err.Error()))
	}
	if err == nil && wireW < 100 && share > pipe.SmallPumpMostEfficiency {
		out.Warn("An efficiency of %.0f %% is too good for a pump below 100 W: 5 to 30 %% is usual.", 100*share)
	}
	out.Set("efficiency", share)
	return err
}

func runManning(in *inputs, out *answer) error {
	d, slope := in.Number("diameter"), in.Number("slope")
	q, v, err := pipe.ManningHalfFull(d, slope, in.Number("n"))
	if err != nil {
		return err
	}
	least, err := pipe.LeastDrainSlope(d)
	if err != nil {
		return err
	}
	if slope < 0.99*least {
		out.Warn("Drains of this bore want a fall of at least %.2g %%.", 100*least)
	}
	if v < pipe.LeastSolidsMS {
		out.Warn("Below %g m/s solids settle in the drain.", pipe.LeastSolidsMS)
	}
	out.Set("flowM3s", q)
	out.Set("velocityMS", v)
	return nil
}

func runBedLoad(in *inputs, out *answer) error {
	porosity := in.Number("porosity")
	kgM2, kPa, err := pipe.BedLoad(in.Number("depth"), in.Number("density"), porosity, in.Number("flood"), 0)
	if err != nil {
		return err
	}
	if porosity > 0.55 || porosity < 0.25 {
		out.Warn("A drainable porosity of 25 to 55 %% is usual: measure the litres that drain.")
	}
	if kPa > pipe.FloorKPa {
		out.Warn("That is more than the %g kPa (195 kg/m2) for which floors of dwellings are usually built: ask a structural engineer.", pipe.FloorKPa)
	}
	out.Set("kgM2", kgM2)
	out.Set("kPa", kPa)
	return nil
}
