package reckoner

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/words"
)

// rimAboveCrestM is the rim where none is given.
const rimAboveCrestM = 0.050

// siphonEntries are the quick sums about bell siphons.
func siphonEntries() []Entry {
	height := func(name, what string, low, high float64) Key {
		return Key{Name: name, What: what, Kind: quantity.Length, Low: low, High: high, Required: name != "rim"}
	}
	return []Entry{{
		Name: "siphon", Title: "A bell siphon in its bed",
		Formula: "starts above 0.52 √(g × diameter) × bore; stops below the full flow at the siphon break, √(2g × fall / (friction × length / diameter + k)) × bore; free area = porosity × (bed - guard) + guard; fill and drain from free area × change of level = flow in - flow out",
		Keys: []Key{
			{Name: "bed-area", What: "plan area of the bed", Kind: quantity.Area, Low: 1e-3, High: 1e5, Required: true},
			{Name: "porosity", What: "drainable porosity of the media; gravel 0.35 to 0.40, expanded clay 0.40 to 0.45", Kind: quantity.Share, Low: 0.01, High: 0.99, Required: true},
			{Name: "guard-area", What: "open water within the media guard", Kind: quantity.Area, Low: 0, High: 1e5, Default: "0 m2"},
			{Name: "diameter", What: "inside diameter of the standpipe", Kind: quantity.Length, Low: 0.003, High: 0.3, Range: "3 to 300 mm", Required: true},
			{Name: "length", What: "length of the pipe from the crest to the outlet", Kind: quantity.Length, Low: 1e-3, High: 1000, Required: true},
			{Name: "k", What: "sum of the loss factors, the exit's 1 included; a home-made bell 4.05 and 0.9 for each elbow", Kind: quantity.Plain, Low: 0, High: 1e4, Required: true},
			height("crest", "top of the standpipe above the bed's floor", 0.005, 10),
			height("siphon-break", "where air gets in, above the bed's floor", 0, 10),
			height("outlet", "outlet above the bed's floor, below it negative", -20, 10),
			{Name: "flow", What: "steady inflow to the bed", Kind: quantity.Flow, Low: 0, High: 1, Range: "0 to 60000 L/min (1 m3/s)", Required: true},
			{Name: "temp", What: "water temperature", Kind: quantity.Temperature, Low: pipe.LowestC, High: pipe.HighestC, Default: "22 °C"},
			height("rim", "rim of the bed above its floor; 50 mm above the crest when not given", 1e-3, 20),
		},
		Outputs: []Output{
			{Name: "startM3s", What: "inflow above which it should start", Unit: "m3/s"},
			{Name: "breakM3s", What: "inflow from which it never stops", Unit: "m3/s"},
			{Name: "fillS", What: "from the break to the start", Unit: "s"},
			{Name: "drainS", What: "from the start to the break", Unit: "s"},
			{Name: "periodS", What: "from flood to flood", Unit: "s"},
			{Name: "dischargedM3", What: "water let out in a period", Unit: "m3"},
			{Name: "verdict", What: "starts, should-start, doubtful, will-not-start, never-stops or overflows"},
		},
		Sources: []string{"hills-1983", "simpson-1968", "usbr-morning-glory", "epanet-2.2"},
		Cautions: []string{
			"Where a siphon starts is known to a factor of 1.5 to 2: measure it with a bucket and a watch.",
			"Roots and solids fill the pores over months: time a drain with the pump off and reckon again.",
		},
		run: runSiphon,
	}}
}

func runSiphon(in *inputs, out *answer) error {
	crest, low, outlet := in.Number("crest"), in.Number("siphon-break"), in.Number("outlet")
	rim := crest + rimAboveCrestM
	if in.Given("rim") {
		rim = in.Number("rim")
	}
	switch {
	case low >= crest:
		return in.Refuse("siphon-break", "Siphon-break of %g m must lie below the crest, %g m.", low, crest)
	case outlet >= low:
		return in.Refuse("outlet", "Outlet of %g m must lie below the siphon break, %g m: the siphon would never stop.", outlet, low)
	case rim <= crest:
		return in.Refuse("rim", "Rim of %g m must lie above the crest, %g m.", rim, crest)
	case in.Number("guard-area") >= in.Number("bed-area"):
		return in.Refuse("guard-area", "Guard-area of %g m2 must be less than the bed's, %g m2.", in.Number("guard-area"), in.Number("bed-area"))
	}
	bed := siphon.Bed{AreaM2: in.Number("bed-area"), Drainable: in.Number("porosity"), GuardM2: in.Number("guard-area"), RimM: rim}
	works, err := siphon.New(bed, siphon.Siphon{
		Pipe:   pipe.Pipe{DiameterM: in.Number("diameter"), LengthM: in.Number("length"), RoughnessM: pipe.NewRoughnessM, K: in.Number("k")},
		CrestM: crest, BreakM: low, OutletM: outlet,
	}, in.Number("temp"))
	if errors.Is(err, quantity.ErrRange) { // all else is held against its range above
		return in.Refuse("outlet", "%s.", words.Capital(err.Error()))
	} else if err != nil {
		return err
	}
	c, err := works.Cycle(in.Number("flow"))
	if err != nil {
		return err
	}
	startM3s, breakM3s := works.Window()
	out.Set("startM3s", startM3s)
	out.Set("breakM3s", breakM3s)
	out.Text("verdict", string(c.Verdict))
	for _, o := range []struct {
		name string
		v    float64
	}{{"fillS", c.FillS}, {"drainS", c.DrainS}, {"periodS", c.PeriodS}, {"dischargedM3", c.DischargedM3}} {
		if math.IsNaN(o.v) { // it does not happen
			out.Null(o.name)
			continue
		}
		out.Set(o.name, o.v)
	}
	switch {
	case startM3s >= breakM3s:
		out.Warn("No inflow lets this siphon both start and stop: more fall below the bed, or a narrower pipe, mends it.")
	case c.Verdict == siphon.WillNotStart, c.Verdict == siphon.Doubtful:
		out.Warn("The level stays at %s and water trickles over the crest: more flow than %s starts it.", millimetres(c.RestM), litres(startM3s))
	case c.Verdict == siphon.NeverStops:
		out.Warn("The level stays at %s above the floor and the siphon runs on: less flow than %s lets it break.", millimetres(c.RestM), litres(breakM3s))
	}
	for _, f := range c.Findings {
		if text := siphonWarning(f); text != "" {
			out.Warn("%s", text)
		}
	}
	return nil
}

func millimetres(m float64) string { return fmt.Sprintf("%.0f mm", m*1000) }

func litres(m3s float64) string { return fmt.Sprintf("%.3g L/min", m3s*60000) }

// siphonWarning is a finding in a sentence; empty for those that the verdict
// says already.
func siphonWarning(f siphon.Finding) string {
	switch f.Reason {
	case siphon.InflowVents:
		return fmt.Sprintf("The inflow has a Froude number of %.2f, below %.2f: air rises against it and no siphon forms.", f.Value, f.Limit)
	case siphon.InflowBelow:
		return "It may start or not: a reducer on top, an elbow or an outlet just drowned helps; measure."
	case siphon.InflowUnsure:
		return fmt.Sprintf("The inflow has a Froude number of %.2f; only from 1 is all air carried off, so the start is not sure.", f.Value)
	case siphon.InflowDribbles:
		return fmt.Sprintf("Above %s air and water leave together and the break is unsure: a snorkel sharpens it.", litres(f.Limit))
	case siphon.RimReached:
		return fmt.Sprintf("The bed runs over: this inflow would lift the water to %.2f m, and the rim is at %.2f m.", f.Value, f.Limit)
	case siphon.DropShort:
		return fmt.Sprintf("The fall is short: at the break the full flow has a Froude number of %.2f, below 1, and the siphon will not hold.", f.Value)
	case siphon.DropModest:
		return fmt.Sprintf("The fall is modest: at the break the full flow has a Froude number of %.2f; 2 is safe.", f.Value)
	case siphon.PeriodShort:
		return fmt.Sprintf("A period of %.0f s is unusually short: look at area, porosity and flow again.", f.Value)
	case siphon.PeriodLong:
		return fmt.Sprintf("A period of %.1f h is unusually long: look at area, porosity and flow again.", f.Value/3600)
	case siphon.BoreNarrow, siphon.BoreWide:
		return "The rules of the start were tested on bores of 12 to 52 mm."
	case siphon.PorosityLow, siphon.PorosityHigh:
		return "Drainable porosity is usually 0.25 to 0.55: measure what runs out."
	case siphon.DeadWaterDeep:
		return fmt.Sprintf("The water below the break, %s, never drains: 40 mm or less is better.", millimetres(f.Value))
	case siphon.SuctionDeep:
		return fmt.Sprintf("The suction at the crest, %.1f m of water, is deep: water may part there.", f.Value)
	case siphon.PipeShort:
		return fmt.Sprintf("A pipe of %.2f m does not reach from the crest to the outlet, %.2f m below.", f.Value, f.Limit)
	case siphon.ExitMissing:
		return "A k below 1 leaves out the exit."
	}
	return ""
}
