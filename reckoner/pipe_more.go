package reckoner

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/words"
)

// slug writes the name of a family of pipes as a word.
func slug(family string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(family), func(r rune) bool { return strings.ContainsRune(" ()", r) }), "-")
}

// families are the families of the table of sizes, in its order.
func families() (words []string, names map[string]string) {
	names = map[string]string{}
	for _, s := range pipe.Sizes() {
		if w := slug(s.Family); names[w] == "" {
			words, names[w] = append(words, w), s.Family
		}
	}
	return words, names
}

func tempKey(otherwise string) Key {
	return Key{Name: "temp", What: "water temperature", Kind: quantity.Temperature, Low: pipe.LowestC, High: pipe.HighestC, Default: otherwise}
}

// carryingKey is a flow that is more than none.
func carryingKey(what string) Key {
	return Key{Name: "flow", What: what, Kind: quantity.Flow, Low: 1e-9, High: 10, Range: "above 0 to 600000 L/min (10 m3/s)", Required: true}
}

// pipeMoreEntries are the quick sums about sizes of pipes, blows, overflows,
// power and turns.
func pipeMoreEntries() []Entry {
	points := pumpPoint("points", "points of the pump at its full speed, separated by \";\": three with the first at no flow, one usual duty, or more")
	points.List = true
	sizes, _ := families()
	lengthKey := func(name, what string, low, high float64) Key {
		return Key{Name: name, What: what, Kind: quantity.Length, Low: low, High: high, Required: true}
	}
	wallKey := lengthKey("wall", "thickness of the pipe's wall", 1e-5, 0.5)
	pipeLength := Key{Name: "length", What: "length of the pipe", Kind: quantity.Length, Low: 1e-3, High: pipe.MostLengthM, Range: "1 mm to 100 km", Required: true}
	hammerLength := pipeLength
	hammerLength.What = "length of the pipe from the valve back to the sump or the next open water"
	overflowFlow, overflowBore := carryingKey("all the flow that can come, the siphon blocked"), boreKey("diameter", "inside diameter of the overflow")
	overflowFlow.Required, overflowBore.Required = false, false
	volumeKey := func(what string, low, high float64, limits string) Key {
		return Key{Name: "volume", What: what, Kind: quantity.Volume, Low: low, High: high, Range: limits, Required: true}
	}
	seconds := func(name, what string, low, high float64) Key {
		return Key{Name: name, What: what, Kind: quantity.Duration, Low: low, High: high, Field: name + "S"}
	}
	timed := seconds("time", "time it took", 0.1, 1e5)
	timed.Required = true
	drained := seconds("time", "time from one level to the other, the pump off", 0.1, 1e6)
	drained.Required = true
	return []Entry{
		{
			Name: "pipe-size", Title: "Pipe for a flow",
			Formula: "diameter = √(4 × flow / (π × velocity)); the next sizes by their bore with the least wall",
			Keys: []Key{
				carryingKey("flow through the pipe"),
				{Name: "velocity", What: "velocity wanted; from a pump 0.6 to 1.5 m/s, to a pump below 1", Kind: quantity.Speed, Low: 0.01, High: 10, Default: "1 m/s", Field: "velocityMS"},
				{Name: "family", What: "pipes as sold", Kind: Word, Choices: sizes},
			},
			Outputs: []Output{
				{Name: "diameterM", What: "inside diameter", Unit: "m"},
				{Name: "wider", What: "next wider size", Optional: true},
				{Name: "widerVelocityMS", What: "velocity in it", Unit: "m/s", Optional: true},
				{Name: "narrower", What: "next narrower size", Optional: true},
				{Name: "narrowerVelocityMS", What: "velocity in it", Unit: "m/s", Optional: true},
			},
			Sources:  []string{"nspc-2009", "astm-d1785", "iso-4427", "en-1452"},
			Cautions: []string{"From a pump take the wider pipe. For water with solids take the narrower one, or flush it: below 0.6 m/s they settle."},
			run:      runPipeSize,
		},
		{
			Name: "overflow-pipe", Title: "Standing overflow pipe",
			Formula: "flow = 0.31 × bore × √(g × diameter); above it air cannot rise against the water and the pipe gulps",
			Keys:    []Key{overflowFlow, overflowBore},
			OneOf:   [][]string{{"flow", "diameter"}},
			Outputs: []Output{
				{Name: "flowM3s", What: "most it takes quietly", Unit: "m3/s", Optional: true},
				{Name: "diameterM", What: "least inside diameter", Unit: "m", Optional: true},
			},
			Sources:  []string{"hills-1983", "simpson-1968"},
			Cautions: []string{"Count all the flow that can come at once, with the siphon blocked, and leave 20 mm of rim above the water over the pipe. A strainer clogs: count half of it."},
			run:      runOverflow,
		},
		{
			Name: "drain-part-full", Title: "Drain filled in part",
			Formula: "velocity = (water's area / wetted wall)^(2/3) × √slope / n",
			Keys: []Key{
				boreKey("diameter", "inside diameter"),
				{Name: "slope", What: "fall over length", Kind: quantity.Share, Low: 1e-6, High: 1, Range: "above 0 to 1 (100 %)", Required: true},
				{Name: "fill", What: "depth of the water to the diameter; half is usual", Kind: quantity.Share, Low: 0.001, High: 1, Range: "0.001 to 1 (100 %)", Required: true},
				{Name: "n", What: "roughness coefficient; plastic with a film 0.011 to 0.013", Kind: quantity.Plain, Low: 0.008, High: 0.05, Default: "0.012"},
			},
			Outputs: []Output{
				{Name: "flowM3s", What: "flow", Unit: "m3/s"},
				{Name: "velocityMS", What: "mean velocity", Unit: "m/s"},
			},
			Sources: []string{"nspc-2009", "epanet-2.2"},
			run:     runDrain,
		},
		{
			Name: "water-hammer", Title: "Blow of a valve that shuts fast",
			Formula: "wave = √(2.2e9 Pa / density) / √(1 + 2.2e9 Pa / stiffness × diameter / wall); head = wave × velocity / g; time = 10 × 2 × length / wave",
			Keys: []Key{
				{Name: "velocity", What: "velocity of the water before the valve shuts", Kind: quantity.Speed, Low: 0, High: 20, Required: true, Field: "velocityMS"},
				hammerLength, boreKey("diameter", "inside diameter"), wallKey,
				{Name: "material", What: "material of the pipe", Kind: Word, Choices: []string{"pvc", "pe"}, Default: "pvc"},
				tempKey("20 °C"),
			},
			Outputs: []Output{
				{Name: "waveMS", What: "speed of the blow in the pipe", Unit: "m/s"},
				{Name: "headM", What: "rise of head when the valve shuts at once", Unit: "m"},
				{Name: "closingS", What: "close over at least this long", Unit: "s"},
			},
			Sources:  []string{"joukowsky-1898", "korteweg-1878"},
			Cautions: []string{"Water that parts behind the valve can double the blow. Use valves that turn by a motor, and hold the pipe firmly at its bends."},
			run:      runHammer,
		},
		{
			Name: "pump-speed", Title: "Pump at another speed",
			Formula: "flow × ratio, head × ratio², power × ratio³",
			Keys: []Key{
				points,
				{Name: "ratio", What: "speed to full speed; 0.8 is four fifths of it", Kind: quantity.Plain, Low: 0.1, High: 2, Required: true},
				{Name: "flow", What: "flow at the new speed", Kind: quantity.Flow, Low: 0, High: 10, Range: "0 to 600000 L/min (10 m3/s)"},
				{Name: "watts", What: "power at the plug at full speed, at the flow over the ratio", Kind: quantity.Power, BareUnit: "W", Low: 1e-3, High: 1e6},
			},
			Outputs: []Output{
				{Name: "h0M", What: "head at no flow", Unit: "m"},
				{Name: "qMaxM3s", What: "flow at no head", Unit: "m3/s"},
				{Name: "headM", What: "head at the flow", Unit: "m", Optional: true},
				{Name: "wireW", What: "power at the plug", Unit: "W", Optional: true},
			},
			Sources:  []string{"epanet-2.2"},
			Cautions: []string{"For pumps with a speed control; a valve is none. With a height to lift the saving is far below the cube: reckon the flow with pump-duty."},
			run:      runPumpSpeed,
		},
		{
			Name: "pump-power", Title: "What pumping takes and costs",
			Formula: "power of the water = density × g × flow × head; efficiency = that over the watts at the plug; energy = watts × hours",
			Keys: []Key{
				carryingKey("flow"),
				lengthKey("head", "head of the pump at this flow: lift and losses", 0, pipe.MostHeadM),
				{Name: "watts", What: "power read at the plug at this flow; volts times amperes is more", Kind: quantity.Power, BareUnit: "W", Low: 1e-3, High: 1e6, Required: true},
				{Name: "hours", What: "hours it runs a day", Kind: quantity.Duration, Unit: "h", BareUnit: "h", Low: 0, High: 24, Default: "24", Field: "hours"},
				{Name: "price", What: "money for a kWh", Kind: quantity.Plain, Low: 0, High: 1e6},
				tempKey("20 °C"),
			},
			Outputs: []Output{
				{Name: "hydraulicW", What: "power that the water gains", Unit: "W"},
				{Name: "efficiency", What: "share of the plug's power that becomes it"},
				{Name: "kWhDay", What: "energy in a day", Unit: "kWh"},
				{Name: "kWhYear", What: "energy in a year of 365 days", Unit: "kWh"},
				{Name: "costYear", What: "cost of a year, in the money of the price", Optional: true},
			},
			Sources:  []string{"crane-410"},
			Cautions: []string{"Read the power with a meter at the plug. All of it ends as heat in the water or the room."},
			run:      runPumpPower,
		},
		{
			Name: "valve-k", Title: "Loss factor of a valve from its maker's figure",
			Formula: "k = 2g × bore² / C², with flow = C × √head; Kv is the m³/h of cold water at 1 bar, Kv = 0.865 × Cv (US)",
			Keys: []Key{
				{Name: "kv", What: "flow coefficient Kv, m³/h at 1 bar", Kind: quantity.Plain, Low: 1e-3, High: 1e5},
				{Name: "cv", What: "flow coefficient Cv, US gal/min at 1 psi", Kind: quantity.Plain, Low: 1e-3, High: 1e5},
				boreKey("diameter", "inside diameter of the pipe to whose velocity k belongs"),
			},
			OneOf:    [][]string{{"kv", "cv"}},
			Outputs:  []Output{{Name: "k", What: "loss factor on the velocity in that pipe"}},
			Sources:  []string{"white-fluid"},
			Cautions: []string{"Some valves need a least pressure to open: see the maker's sheet; a bed's few metres of head may not do."},
			run:      runValveK,
		},
		{
			Name: "bucket-flow", Title: "Flow by bucket and watch",
			Formula: "volume / time",
			Keys:    []Key{volumeKey("water caught", 1e-6, 10, "0.001 L to 10 m3"), timed},
			Outputs: []Output{{Name: "flowM3s", What: "flow", Unit: "m3/s"}},
			Sources: []string{"mass-balance"},
			run: func(in *inputs, out *answer) error {
				q, err := siphon.BucketM3s(in.Number("volume"), in.Number("time"))
				if in.Number("time") < 10 {
					out.Warn("In less than 10 s the hand on the watch errs by a twentieth: take a bigger bucket, or the mean of three.")
				}
				out.Set("flowM3s", q)
				return err
			},
		},
		{
			Name: "siphon-calibration", Title: "Losses of a siphon by the time it drains",
			Formula: "C = 2 × free area × (√(from − outlet) − √(to − outlet)) / time; total = 2g × bore² / C²; k is what friction along the pipe leaves of it",
			Keys: []Key{
				{Name: "bed-area", What: "plan area of the bed", Kind: quantity.Area, Low: 1e-3, High: 1e5, Required: true},
				{Name: "porosity", What: "drainable porosity of the media, measured", Kind: quantity.Share, Low: 0.01, High: 0.99, Required: true},
				{Name: "guard-area", What: "open water within the media guard", Kind: quantity.Area, Low: 0, High: 1e5, Default: "0 m2"},
				{Name: "diameter", What: "inside diameter of the standpipe", Kind: quantity.Length, Low: 0.003, High: 0.3, Range: "3 to 300 mm", Required: true},
				{Name: "length", What: "length of the pipe from the crest to the outlet", Kind: quantity.Length, Low: 1e-3, High: 1000, Required: true},
				lengthKey("outlet", "outlet above the bed's floor, below it negative", -20, 10),
				lengthKey("from", "level at the start, the siphon running, above the bed's floor", 0.005, 10),
				lengthKey("to", "level at the end", 0, 10),
				drained, tempKey("22 °C"),
			},
			Outputs: []Output{
				{Name: "k", What: "sum of the loss factors, for siphon"},
				{Name: "kTotal", What: "all losses with friction"},
				{Name: "meanFlowM3s", What: "mean flow out", Unit: "m3/s"},
			},
			Sources:  []string{"epanet-2.2", "white-fluid"},
			Cautions: []string{"Time it with the pump off, from a mark below the crest to one above the siphon break, and measure porosity by the litres that drain: an error of it is one of twice as much in k."},
			run:      runCalibration,
		},
		{
			Name: "jet-impact", Title: "Water falling from an outlet",
			Formula: "exit = flow / bore; velocity = √(exit² + 2g × drop); power = density × g × flow × drop",
			Keys: []Key{
				carryingKey("flow out of the outlet"), boreKey("diameter", "inside diameter of the outlet, running full"),
				lengthKey("drop", "from the outlet down to the water", 0, 100), tempKey("20 °C"),
			},
			Outputs: []Output{
				{Name: "exitMS", What: "velocity at the outlet", Unit: "m/s"},
				{Name: "velocityMS", What: "velocity where it meets the water", Unit: "m/s"},
				{Name: "powerW", What: "power of the fall", Unit: "W"},
			},
			Sources:  []string{"white-fluid"},
			Cautions: []string{"Warm water that falls far or sprays makes aerosol, which can carry Legionella: keep drops low. What oxygen it brings: falling-water."},
			run:      runJet,
		},
		{
			Name: "floods-timetable", Title: "Beds that take turns",
			Formula: "open = volume / flow + margin; cycle = beds × (open + gap); floods in an hour at most 3600 s / cycle; duty = beds × open × floods / 3600 s",
			Keys: []Key{
				{Name: "beds", What: "beds of one kind that take turns", Kind: quantity.Count, Low: 1, High: 1000, Required: true},
				carryingKey("flow into the one open bed"),
				volumeKey("water of a bed from the siphon's break up to its start, over the crest", 1e-4, 1e3, "0.1 L to 1000 m3"),
				seconds("margin", "time on top of volume over flow; the larger of 30 s and a tenth when not given", 0, 1e5),
				{Name: "gap", What: "from one valve's closing to the next one's opening", Kind: quantity.Duration, Low: 0, High: 1e5, Default: "0 s", Field: "gapS"},
				{Name: "floods", What: "floods wanted of each bed in an hour; the most when not given", Kind: quantity.Plain, Low: 0.01, High: 100, Field: "floodsPerHour"},
			},
			Outputs: []Output{
				{Name: "openS", What: "keep each valve open", Unit: "s"},
				{Name: "cycleS", What: "from flood to flood of a bed at the shortest", Unit: "s"},
				{Name: "floodsHourMost", What: "most floods of each bed in an hour", Unit: "1/h"},
				{Name: "duty", What: "share of the time in which the pump runs"},
			},
			Sources: []string{"mass-balance"},
			Cautions: []string{
				"Open the next valve before the last one closes, so that the pump never works against a shut pipe.",
				"A timer set to volume over flow alone never trips a siphon: near the crest water trickles out over it.",
			},
			run: runFloods,
		},
		{
			Name: "turnover", Title: "How often a tank's water is changed",
			Formula: "flow × duty / volume",
			Keys: []Key{
				carryingKey("flow through the tank while the pump runs"),
				volumeKey("water in the tank", 1e-3, 1e6, "1 L to 1000000 m3"),
				{Name: "duty", What: "share of the time in which it flows", Kind: quantity.Share, Low: 0.001, High: 1, Range: "0.001 to 1 (100 %)", Default: "1"},
			},
			Outputs: []Output{
				{Name: "perHour", What: "tank volumes in an hour", Unit: "1/h"},
				{Name: "minutes", What: "time for one volume", Unit: "min"},
			},
			Sources:  []string{"fao-589"},
			Cautions: []string{"A rule of thumb, once to twice an hour: the oxygen and ammonia of the tank decide."},
			run: func(in *inputs, out *answer) error {
				perHour := in.Number("flow") * in.Number("duty") / in.Number("volume") * 3600
				switch {
				case perHour < 0.5:
					out.Warn("Less than half the tank in an hour is little: look at oxygen and ammonia, or pump more.")
				case perHour > 4:
					out.Warn("More than four tanks in an hour is much: fish must swim against it, and the pump's power is wasted.")
				}
				out.Set("perHour", perHour)
				out.Set("minutes", 60/perHour)
				return nil
			},
		},
	}
}

// speeds warns of a velocity that settles solids or hammers.
func (a *answer) speeds(velocityMS float64, where string) {
	switch {
	case velocityMS > pipe.MostPressureMS:
		a.Warn("%s the water runs at %.2g m/s: above %g m/s pipes hammer and waste the pump's power.", where, velocityMS, pipe.MostPressureMS)
	case velocityMS < pipe.LeastSolidsMS:
		a.Warn("%s the water runs at %.2g m/s: below %g m/s solids settle.", where, velocityMS, pipe.LeastSolidsMS)
	}
}

func runPipeSize(in *inputs, out *answer) error {
	q := in.Number("flow")
	d, err := pipe.DiameterForM(q, in.Number("velocity"))
	if err != nil {
		return err
	}
	out.Set("diameterM", d)
	if !in.Given("family") {
		out.speeds(in.Number("velocity"), "There")
		return nil
	}
	_, names := families()
	family := names[in.Word("family")]
	narrower, wider, okNarrower, okWider := pipe.NextSizes(family, d)
	for _, side := range []struct {
		name string
		size pipe.Size
		ok   bool
	}{{"wider", wider, okWider}, {"narrower", narrower, okNarrower}} {
		if !side.ok {
			out.Null(side.name, side.name+"VelocityMS")
			out.Warn("%s has no size %s than %.3g mm.", family, side.name, d*1000)
			continue
		}
		v := q / pipe.CircleM2(side.size.InsideM)
		out.Text(side.name, side.size.Key)
		out.Set(side.name+"VelocityMS", v)
		out.speeds(v, "In the "+side.name+" one")
	}
	return nil
}

func runOverflow(in *inputs, out *answer) error {
	d := in.Number("diameter")
	var err error
	if in.Given("flow") {
		if d, err = pipe.SelfVentingDiameterM(in.Number("flow")); err != nil {
			return err
		}
		out.Set("diameterM", d)
	} else {
		q, err := pipe.SelfVentingM3s(d)
		if err != nil {
			return err
		}
		out.Set("flowM3s", q)
	}
	if d < 0.012 || d > 0.052 {
		out.Warn("The rule was tested on bores of 12 to 52 mm; here %.3g mm.", d*1000)
	}
	return nil
}

func runDrain(in *inputs, out *answer) error {
	d, slope := in.Number("diameter"), in.Number("slope")
	q, v, err := pipe.ManningPartFull(d, slope, in.Number("n"), in.Number("fill"))
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
	if in.Number("fill") > 0.5 {
		out.Warn("Above half full a drain can fill up and suck traps and pipes empty: size it for half.")
	}
	out.Set("flowM3s", q)
	out.Set("velocityMS", v)
	return nil
}

func runHammer(in *inputs, out *answer) error {
	d, wall, v := in.Number("diameter"), in.Number("wall"), in.Number("velocity")
	if wall > d {
		return in.Refuse("wall", "Wall must be at most the diameter, %g m. You entered %g m.", d, wall)
	}
	modulus := pipe.PVCModulus
	if in.Word("material") == "pe" {
		modulus = pipe.PEModulus
	}
	wave, err := pipe.WaveMS(d, wall, modulus, in.Number("temp"))
	if err != nil {
		return err
	}
	h, err := pipe.HammerOf(v, in.Number("length"), wave)
	if err != nil {
		return err
	}
	if v > pipe.MostPressureMS {
		out.Warn("The water runs at %.2g m/s: above %g m/s pipes hammer; take a wider one.", v, pipe.MostPressureMS)
	}
	if in.Number("temp") > 30 {
		out.Warn("Warm plastic is weaker: at 45 °C PVC bears about half its rating.")
	}
	out.Set("waveMS", h.WaveMS)
	out.Set("headM", h.HeadM)
	out.Set("closingS", h.LeastClosingS)
	return nil
}

// curve reads the key points.
func (in *inputs) curve() (pipe.Curve, error) {
	list, _ := in.values["points"].([][2]float64)
	points := make([]pipe.Point, len(list))
	for i, v := range list {
		points[i] = pipe.Point{FlowM3s: v[0], HeadM: v[1]}
		if err := in.headRange("points", points[i]); err != nil {
			return pipe.Curve{}, err
		}
	}
	c, err := pipe.Fit(points)
	if errors.Is(err, pipe.ErrCurve) {
		return c, in.Refuse("points", "%s.", words.Capital(err.Error()))
	}
	return c, err
}

func runPumpSpeed(in *inputs, out *answer) error {
	full, err := in.curve()
	if err != nil {
		return err
	}
	ratio := in.Number("ratio")
	c, err := full.AtSpeed(ratio)
	if err != nil {
		return err
	}
	out.Set("h0M", c.ShutOffM)
	out.Set("qMaxM3s", c.MaxM3s)
	if in.Given("flow") {
		q := in.Number("flow")
		if q > c.MaxM3s {
			return in.Refuse("flow", "At this speed the pump gives at most %.4g L/min. You entered %.4g L/min.", c.MaxM3s*60000, q*60000)
		}
		if q > c.LastM3s {
			out.Warn("The flow lies beyond the pump's last point, %.3g L/min at this speed: there the curve is a guess.", c.LastM3s*60000)
		}
		out.Set("headM", c.HeadM(q))
	}
	if in.Given("watts") {
		out.Set("wireW", in.Number("watts")*math.Pow(ratio, 3))
		if ratio < 0.5 {
			out.Warn("At low speed motor and control lose more than the cube says: read the watts.")
		}
	}
	if ratio > 1 {
		out.Warn("Above full speed a motor can burn out: ask the maker.")
	}
	return nil
}

func runPumpPower(in *inputs, out *answer) error {
	q, head, wireW, tempC := in.Number("flow"), in.Number("head"), in.Number("watts"), in.Number("temp")
	hydraulicW, err := pipe.HydraulicW(q, head, tempC)
	if err != nil {
		return err
	}
	share, err := pipe.Efficiency(q, head, wireW, tempC)
	if errors.Is(err, pipe.ErrPower) {
		return in.Refuse("watts", "%s.", words.Capital(err.Error()))
	}
	if err != nil {
		return err
	}
	if wireW < 100 && share > pipe.SmallPumpMostEfficiency {
		out.Warn("An efficiency of %.0f %% is too good for a pump below 100 W: 5 to 30 %% is usual.", 100*share)
	}
	day, err := pipe.EnergyKWh(wireW, in.Number("hours"))
	if err != nil {
		return err
	}
	out.Set("hydraulicW", hydraulicW)
	out.Set("efficiency", share)
	out.Set("kWhDay", day)
	out.Set("kWhYear", 365*day)
	if in.Given("price") {
		out.Set("costYear", 365*day*in.Number("price"))
	}
	return nil
}

func runValveK(in *inputs, out *answer) error {
	kv := in.Number("kv")
	if in.Given("cv") {
		kv = pipe.KvPerCv * in.Number("cv")
	}
	k, err := pipe.ValveK(kv, in.Number("diameter"))
	out.Set("k", k)
	return err
}

func runCalibration(in *inputs, out *answer) error {
	from, to, outlet := in.Number("from"), in.Number("to"), in.Number("outlet")
	switch {
	case to > from-1e-3:
		return in.Refuse("to", "To of %g m must lie below from, %g m.", to, from)
	case outlet >= to:
		return in.Refuse("outlet", "Outlet of %g m must lie below to, %g m.", outlet, to)
	case in.Number("guard-area") >= in.Number("bed-area"):
		return in.Refuse("guard-area", "Guard-area of %g m2 must be less than the bed's, %g m2.", in.Number("guard-area"), in.Number("bed-area"))
	}
	bed := siphon.Bed{AreaM2: in.Number("bed-area"), Drainable: in.Number("porosity"), GuardM2: in.Number("guard-area"), RimM: from + rimAboveCrestM}
	c, err := siphon.Calibrate(bed, siphon.Siphon{
		Pipe:   pipe.Pipe{DiameterM: in.Number("diameter"), LengthM: in.Number("length"), RoughnessM: pipe.NewRoughnessM, K: siphon.BellK(1)},
		CrestM: from, BreakM: to, OutletM: outlet,
	}, in.Number("temp"), from, to, in.Number("time"))
	if errors.Is(err, quantity.ErrRange) { // all else is held against its range above
		return in.Refuse("time", "%s.", words.Capital(err.Error()))
	}
	if err != nil {
		return err
	}
	if p := in.Number("porosity"); p > 0.55 || p < 0.25 {
		out.Warn("A drainable porosity of 25 to 55 %% is usual: measure the litres that drain.")
	}
	if k := c.Siphon.Pipe.K; k > 3*siphon.BellK(1) {
		out.Warn("A home-made bell has about %.2g: %.2g says that something narrows the pipe, or that it was not running full.", siphon.BellK(1), k)
	}
	out.Set("k", c.Siphon.Pipe.K)
	out.Set("kTotal", c.KTotal)
	out.Set("meanFlowM3s", bed.FreeM2()*(from-to)/in.Number("time"))
	return nil
}

func runJet(in *inputs, out *answer) error {
	q, drop := in.Number("flow"), in.Number("drop")
	exit := q / pipe.CircleM2(in.Number("diameter"))
	if exit > 100 {
		return in.Refuse("flow", "The water would leave at %.3g m/s, more than 100 m/s: a wider outlet or less flow.", exit)
	}
	v, err := pipe.ImpactMS(exit, drop)
	if err != nil {
		return err
	}
	w, err := pipe.HydraulicW(q, drop, in.Number("temp"))
	out.Set("exitMS", exit)
	out.Set("velocityMS", v)
	out.Set("powerW", w)
	if drop > 10*in.Number("diameter") {
		out.Warn("A jet longer than 5 to 10 diameters breaks into drops: more oxygen, and more aerosol.")
	}
	return err
}

func runFloods(in *inputs, out *answer) error {
	margin := math.NaN()
	if in.Given("margin") {
		margin = in.Number("margin")
	}
	t, err := pipe.TurnsOf(int(in.Number("beds")), in.Number("flow"), in.Number("volume"), margin, in.Number("gap"))
	if err != nil {
		return err
	}
	out.Set("openS", t.OpenS)
	out.Set("cycleS", t.CycleS)
	out.Set("floodsHourMost", t.FloodsPerH)
	duty := t.BusiestShare
	if in.Given("floods") {
		duty *= in.Number("floods") / t.FloodsPerH
	}
	if least := max(pipe.LeastMarginS, pipe.LeastMarginShare*t.FillS); t.OpenS-t.FillS < least*(1-1e-9) {
		out.Warn("The margin is below %.0f s: a siphon may never trip.", least)
	}
	switch {
	case in.Given("floods") && in.Number("floods") > t.FloodsPerH*(1+1e-9):
		out.Null("duty")
		out.Warn("%s floods an hour of each bed do not fit, at most %.3g: more flow, less water a flood, or fewer floods.", trimmed(in.Number("floods")), t.FloodsPerH)
		return nil
	case in.Given("floods") && duty > 0.95:
		out.Warn("The pump runs %.0f %% of the time: nothing is left for a slow bed.", 100*duty)
	}
	out.Set("duty", duty)
	return nil
}

// trimmed is a number with no digits too many.
func trimmed(v float64) string { return fmt.Sprintf("%.4g", v) }
