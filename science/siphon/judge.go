package siphon

import "math"

// Verdict says what a siphon does with a steady inflow.
type Verdict string

// The verdicts. Up to NeverStops they follow each other as the inflow grows.
const (
	WillNotStart Verdict = "will-not-start" // the water trickles over the crest and the level stays
	Doubtful     Verdict = "doubtful"       // it may start or not: see Reasons
	ShouldStart  Verdict = "should-start"
	Starts       Verdict = "starts"
	NeverStops   Verdict = "never-stops" // the level rests above the break
	Overflows    Verdict = "overflows"   // the level reaches the bed's rim
)

// Cycles reports whether the bed floods and drains, by the model.
func (v Verdict) Cycles() bool { return v == ShouldStart || v == Starts }

// Reason names what a judgement found.
type Reason string

// The reasons, with what Value and Limit of their Finding are.
const (
	InflowVents     Reason = "inflow-vents"     // Froude number of the inflow; 0.31 or, when measured, that start
	InflowBelow     Reason = "inflow-below"     // inflow, start flow, m³/s
	InflowUnsure    Reason = "inflow-unsure"    // Froude number of the inflow; 1, from where it surely starts
	InflowHolds     Reason = "inflow-holds"     // inflow, full flow at the break, m³/s: it never stops
	InflowDribbles  Reason = "inflow-dribbles"  // inflow, 0.7 of the full flow at the break, m³/s
	RimReached      Reason = "rim-reached"      // level to which it would rise, rim, m
	DropShort       Reason = "drop-short"       // Froude number at the break, 1: air is not carried off, it will not hold
	DropModest      Reason = "drop-modest"      // Froude number at the break, 2
	PeriodShort     Reason = "period-short"     // s, 180
	PeriodLong      Reason = "period-long"      // s, 7200
	BoreNarrow      Reason = "bore-narrow"      // m, 0.012: outside the tested rules
	BoreWide        Reason = "bore-wide"        // m, 0.052: outside the tested rules
	PorosityLow     Reason = "porosity-low"     // drainable, 0.25
	PorosityHigh    Reason = "porosity-high"    // drainable, 0.55
	DeadWaterDeep   Reason = "dead-water-deep"  // break, 0.040, m
	SuctionDeep     Reason = "suction-deep"     // m of water, 7
	PipeShort       Reason = "pipe-short"       // length, height from crest to outlet, m
	ExitMissing     Reason = "exit-missing"     // sum of loss factors, 1
	GapTight        Reason = "gap-tight"        // crest to bell, a quarter of the crest's diameter, m
	AnnulusTight    Reason = "annulus-tight"    // between bell and standpipe, twice the bore, m²
	SlotsTight      Reason = "slots-tight"      // slots of the bell, twice the bore, m²
	GuardTight      Reason = "guard-tight"      // between guard and bell, 0.015, m
	CrestNearMedia  Reason = "crest-near-media" // below the media's top, 0.020, m
	GuardSlotsLarge Reason = "guard-slots-wide" // width of the guard's slots, least size of the media, m
)

// Finding is a reason with the number found and the limit it was held against.
type Finding struct {
	Reason       Reason
	Value, Limit float64
}

// Judgement is what a siphon does with a steady inflow, and why.
type Judgement struct {
	Verdict  Verdict
	Froude   float64 // of the inflow, in the narrowest bore
	RestM    float64 // level that stays, where one does: below the start, never stopping, or the rim; NaN when it cycles
	Findings []Finding
}

// Has reports whether a judgement found a reason.
func (j Judgement) Has(r Reason) bool {
	for _, f := range j.Findings {
		if f.Reason == r {
			return true
		}
	}
	return false
}

// Limits that are common practice, without a source.
const (
	dribbleShare = 0.7
	shortPeriodS = 180
	longPeriodS  = 7200
)

// Window is the span of steady inflows between which a siphon both starts and
// stops: above startM3s, the flow of Froude number 0.52 or the one measured, and
// below breakM3s, the full flow at the break. From 0.7 of breakM3s air and water
// leave together and the break grows uncertain. startM3s may exceed breakM3s:
// then there is no such inflow.
//
//	tempC  of the water, 0 to 45
//
// Check: bore 26.64 mm, 1.00 m, K 4.95, outlet at -0.40 m and break at 0.03 m,
// 22 °C: 8.889 and 40.289 L/min.
func Window(b Bed, s Siphon, tempC float64) (startM3s, breakM3s float64, err error) {
	k, err := New(b, s, tempC)
	if err != nil {
		return 0, 0, err
	}
	startM3s, breakM3s = k.Window()
	return startM3s, breakM3s, nil
}

// Window is the function Window of a siphon already checked.
func (k *Works) Window() (startM3s, breakM3s float64) { return k.startM3s, k.breakFullM3s }

// GoodWindow is the window less the inflows near the break at which it dribbles.
func (k *Works) GoodWindow() (fromM3s, toM3s float64) {
	return k.startM3s, dribbleShare * k.breakFullM3s
}

// Judge tells what the siphon does with a steady inflow of 0 to 1 m³/s, and what
// about its measures is doubtful.
func (k *Works) Judge(inflowM3s float64) (Judgement, error) {
	if err := inRange("siphon", "inflow", inflowM3s, 0, 1, "m3/s"); err != nil {
		return Judgement{}, err
	}
	return k.judge(inflowM3s), nil
}

// verdict is the verdict, the level that stays (NaN when none does), and
// whether the siphon starts.
func (k *Works) verdict(q float64) (v Verdict, restM float64, starts bool) {
	if q <= k.startM3s {
		restM = k.LevelM(q)
		switch {
		case restM >= k.bed.RimM:
			return Overflows, k.bed.RimM, false
		case k.siphon.StartM3s > 0 || k.Froude(q) < FroudeVenting:
			return WillNotStart, restM, false
		}
		return Doubtful, restM, false
	}
	switch {
	case k.startLevelM >= k.bed.RimM:
		return Overflows, k.bed.RimM, false
	case q >= k.rimFullM3s:
		return Overflows, k.bed.RimM, true
	case q >= k.breakFullM3s:
		return NeverStops, k.EqualM(q), true
	case k.siphon.StartM3s > 0 || k.Froude(q) >= FroudeSwept:
		return Starts, math.NaN(), true
	}
	return ShouldStart, math.NaN(), true
}

func (k *Works) judge(q float64) Judgement {
	j := Judgement{Froude: k.Froude(q)}
	found := func(when bool, r Reason, value, limit float64) {
		if when {
			j.Findings = append(j.Findings, Finding{r, value, limit})
		}
	}
	var starts bool
	j.Verdict, j.RestM, starts = k.verdict(q)
	s := &k.siphon
	measured := s.StartM3s > 0
	venting := FroudeVenting
	if measured {
		venting = k.Froude(k.startM3s)
	}
	found(!starts && j.Froude < venting, InflowVents, j.Froude, venting)
	found(!starts && q <= k.startM3s && j.Froude >= venting, InflowBelow, q, k.startM3s)
	found(starts && !measured && j.Froude < FroudeSwept, InflowUnsure, j.Froude, FroudeSwept)
	found(starts && q >= k.breakFullM3s, InflowHolds, q, k.breakFullM3s)
	found(j.Verdict.Cycles() && q > dribbleShare*k.breakFullM3s, InflowDribbles, q, dribbleShare*k.breakFullM3s)
	if j.Verdict == Overflows {
		level := k.LevelM(q)
		if starts {
			level = k.EqualM(q)
		}
		found(true, RimReached, level, k.bed.RimM)
	}
	full := k.Froude(k.breakFullM3s)
	found(full < FroudeSwept, DropShort, full, FroudeSwept)
	found(full >= FroudeSwept && full < FroudeHeld, DropModest, full, FroudeHeld)
	if j.Verdict.Cycles() {
		fillS, drainS, _ := k.times(q)
		found(fillS+drainS < shortPeriodS, PeriodShort, fillS+drainS, shortPeriodS)
		found(fillS+drainS > longPeriodS, PeriodLong, fillS+drainS, longPeriodS)
	}
	found(s.Pipe.DiameterM < 0.012, BoreNarrow, s.Pipe.DiameterM, 0.012)
	found(s.Pipe.DiameterM > 0.0526, BoreWide, s.Pipe.DiameterM, 0.052) // the 52.5 mm of a two-inch pipe still counts
	found(k.bed.Drainable < 0.25, PorosityLow, k.bed.Drainable, 0.25)
	found(k.bed.Drainable > 0.55, PorosityHigh, k.bed.Drainable, 0.55)
	found(s.BreakM > 0.040, DeadWaterDeep, s.BreakM, 0.040)
	suction := k.CrestSuctionM()
	found(suction > 7, SuctionDeep, suction, 7)
	length := s.Pipe.LengthM + s.Lower.LengthM
	found(length < s.CrestM-s.OutletM, PipeShort, length, s.CrestM-s.OutletM)
	exit := s.Pipe.K
	if s.two() {
		exit = s.Lower.K
	}
	found(exit < 1, ExitMissing, exit, 1)
	return j
}
