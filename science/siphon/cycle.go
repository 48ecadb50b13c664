package siphon

import "math"

// Cycle is one flood and drain of a bed with a steady inflow, from break to
// break. What does not happen is NaN: without a start all times, without a stop
// all but FillS.
type Cycle struct {
	Judgement
	StartLevelM  float64
	FillS        float64 // from the break to the start
	DrainS       float64 // from the start to the break
	PeriodS      float64
	DischargedM3 float64 // through the pipe in a period
	StoredM3     float64 // in the bed at the start, above the break
	DrainM3s     float64 // mean flow while it drains
	PerHour      float64
	Course       []Point // of one period, for a drawing; none without a stop
}

// CycleOf is Works.Cycle of a siphon in its bed.
func CycleOf(b Bed, s Siphon, tempC, inflowM3s float64) (Cycle, error) {
	k, err := New(b, s, tempC)
	if err != nil {
		return Cycle{}, err
	}
	return k.Cycle(inflowM3s)
}

// Cycle is the cycle with a steady inflow of 0 to 1 m³/s.
//
// The period has a least value: more inflow than that means fewer floods.
//
// Check: the bed of 1.20 m² in the tests, 11 L/min: 618.3 + 195.0 s, 149.10 L.
func (k *Works) Cycle(inflowM3s float64) (Cycle, error) {
	j, err := k.Judge(inflowM3s)
	if err != nil {
		return Cycle{}, err
	}
	no := math.NaN()
	c := Cycle{Judgement: j, StartLevelM: k.startLevelM, FillS: no, DrainS: no, PeriodS: no, DischargedM3: no, DrainM3s: no, PerHour: no}
	c.StoredM3 = k.areaM2 * (k.startLevelM - k.siphon.BreakM)
	if _, _, starts := k.verdict(inflowM3s); !starts {
		return c, nil
	}
	fillS, drainS, siphonedM3 := k.times(inflowM3s)
	c.FillS = fillS
	if !j.Verdict.Cycles() {
		return c, nil
	}
	c.DrainS, c.PeriodS = drainS, fillS+drainS
	over := inflowM3s*k.climb(inflowM3s) - k.areaM2*(k.startLevelM-k.siphon.CrestM)
	c.DischargedM3 = over + siphonedM3
	c.DrainM3s, c.PerHour = siphonedM3/drainS, 3600/c.PeriodS
	at := State{LevelM: k.siphon.BreakM}
	c.Course = append(c.Course, Point{LevelM: at.LevelM})
	_, err = k.Advance(&at, inflowM3s, c.PeriodS, func(p Point) { c.Course = append(c.Course, p) })
	return c, err
}

// DrainS is the time in which the running siphon takes the level from one
// height down to another, with a steady inflow of 0 to 1 m³/s; infinite when the
// inflow holds it above the lower one.
//
//	fromM, toM  above the outlet, fromM above toM
//
// Check: the bed of 1.20 m² in the tests from its crest, no inflow: 140.0 s.
func (k *Works) DrainS(fromM, toM, inflowM3s float64) (float64, error) {
	for _, b := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"level at the start", fromM, k.siphon.OutletM + 1e-4, 20, "m"}, {"level at the end", toM, k.siphon.OutletM + 1e-4, fromM, "m"},
		{"inflow", inflowM3s, 0, 1, "m3/s"},
	} {
		if err := inRange("drain of a siphon", b.name, b.v, b.lo, b.hi, b.unit); err != nil {
			return 0, err
		}
	}
	high, low := k.FullM3s(fromM)-inflowM3s, k.FullM3s(toM)-inflowM3s
	switch {
	case fromM == toM:
		return 0, nil
	case low <= 0:
		return math.Inf(1), nil
	}
	t, _ := k.running(inflowM3s, 1, math.Log(high), math.Log(low))
	return t, nil
}
