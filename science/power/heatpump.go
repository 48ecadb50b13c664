package power

// Limits of the rule for heat pumps.
const (
	LeastLiftK = 20.0
	MostLiftK  = 80.0
)

// carnotPart is the part of the best possible that heat pumps of this size reach,
// frostPart what is left of it while an outdoor coil frosts over. From memory,
// common practice; no source.
const (
	carnotPart = 0.4
	frostPart  = 0.9
	frostLowC  = -5.0
	frostHighC = 5.0
)

// Source is where a heat pump takes its heat.
type Source string

// The sources.
const (
	OutdoorAir Source = "air"
	Ground     Source = "ground" // brine or well water
)

// HeatPumpCOP is the heat out per electricity in: 0.4 of what an engine without
// losses would reach between the two temperatures, a tenth less on outdoor air of
// -5 to 5 °C, where the coil frosts. A rule for planning: the maker's table at the
// same two temperatures goes before it.
//
//	sourceC  of the outdoor air, or of the brine as it comes in, -25 to 45 °C
//	sinkC    of the water or air it warms, LeastLiftK to MostLiftK above, at most 70 °C
//
// Common practice, no source. Check: air of 2 °C to water of 45 °C: 2.66, the
// table's seasonal 2.6; ground of 8 °C: 3.44, the table's 3.4.
func HeatPumpCOP(source Source, sourceC, sinkC float64) (float64, error) {
	if source != OutdoorAir && source != Ground {
		return 0, outside("heat pump", "source %q; give %s or %s", clip(string(source)), OutdoorAir, Ground)
	}
	if err := check("heat pump", bound{"source", sourceC, -25, 45, "°C"}, bound{"flow", sinkC, -5, 70, "°C"}, bound{"flow less source", sinkC - sourceC, LeastLiftK, MostLiftK, "K"}); err != nil {
		return 0, err
	}
	cop := carnotPart * (sinkC - absoluteZeroC) / (sinkC - sourceC)
	if source == OutdoorAir && sourceC >= frostLowC && sourceC <= frostHighC {
		cop *= frostPart
	}
	return cop, nil
}
