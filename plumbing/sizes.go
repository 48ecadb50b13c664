package plumbing

import (
	"cmp"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

// SizeRow is a standpipe of another bore in a bed, with the inflow and the pipe that
// suit it.
type SizeRow struct {
	BoreM     float64 `json:"boreM"`
	Now       bool    `json:"now"`
	SureM3s   float64 `json:"sureM3s"` // from it the siphon surely starts
	GoodM3s   float64 `json:"goodM3s"` // from it the break grows uncertain
	InflowM3s float64 `json:"inflowM3s"`
	FillS     float64 `json:"fillS"`
	DrainS    float64 `json:"drainS"`  // the valve shut after its margin
	OpenS     float64 `json:"openS"`   // of its valve
	PerHour   float64 `json:"perHour"` // floods of each bed, if all timed beds of the loop took such turns
	Pipe      string  `json:"pipe"`    // size of its feeding pipe
	PipeMS    float64 `json:"pipeMS"`  // velocity in it
	Fits      bool    `json:"fits"`    // it starts surely and stops, and floods come as often as asked
	Why       string  `json:"why"`     // why not
}

// Heights are where crest and break of a bed belong. Common practice, no source.
type Heights struct {
	CrestLowM, CrestHighM float64 // above the bed's floor: 20 to 50 mm of dry media above
	BreakLowM, BreakHighM float64
}

// HeightsOf is where a media bed's crest and break belong.
func HeightsOf(b *Bed) Heights {
	top := cmp.Or(b.In.DepthM, usualBedM)
	return Heights{math.Max(0.02, top-0.05), math.Max(0.02, top-0.02), 0.02, 0.04}
}

// boresM are the bores that Sizes tries.
var boresM = []float64{0.016, 0.020, 0.025, 0.032, 0.040, 0.050}

// sureTimes is how far above the flow that surely starts a siphon its inflow is set.
const sureTimes = 1.05

// Sizes tells which standpipes would suit a bed that siphons, with all else as it
// is: its inflow just above the flow that surely starts it, or in the middle of the
// span between start and uncertain break where that is less; the pipe that carries
// the inflow at 0.6 m/s or more and 1.5 at most; how often all timed beds could be
// flooded in turn. Whether the pump brings that much beside the other branches the
// what-if of the whole loop tells.
func (s *Scheme) Sizes(bed int, t *Timetable) ([]SizeRow, error) {
	if bed < 0 || bed >= len(s.Beds) {
		return nil, fmt.Errorf("loop %s: there is no bed %d", s.Loop.Name, bed)
	}
	b := &s.Beds[bed]
	if b.Way != Siphons {
		return nil, nil
	}
	bores := append([]float64(nil), boresM...)
	now := b.Siphon.Pipe.DiameterM
	known := false
	for _, bore := range bores {
		known = known || math.Abs(bore-now) < 0.0005
	}
	if !known {
		bores = append(bores, now)
		for i := len(bores) - 1; i > 0 && bores[i] < bores[i-1]; i-- {
			bores[i], bores[i-1] = bores[i-1], bores[i]
		}
	}
	beds, asked := 0, 0.0
	for i := range s.Branches {
		if k := s.Branches[i].Bed; s.Branches[i].Timed && k >= 0 && (s.Beds[k].Way == Siphons || s.Beds[k].Way == Timer) {
			beds++
		}
	}
	beds = max(1, beds)
	if t != nil {
		asked = t.Goal.PerHour
	}
	var rows []SizeRow
	for _, bore := range bores {
		row := SizeRow{BoreM: bore, Now: math.Abs(bore-now) < 0.0005}
		w, err := s.WithBore(b, bore)
		if err != nil || w == nil {
			row.Why = "It cannot be reckoned with the rest of the siphon as it is."
			rows = append(rows, row)
			continue
		}
		start, _ := w.Window()
		_, good := w.GoodWindow()
		row.GoodM3s, row.SureM3s = good, siphon.FroudeSwept*start/siphon.FroudeStart
		switch {
		case row.SureM3s*sureTimes < good:
			row.InflowM3s = row.SureM3s * sureTimes
		case start < good:
			row.InflowM3s = (start + good) / 2
			row.Why = "It should start, but is not sure to before its break grows uncertain; lower the outlet."
		default:
			row.Why = "It has no inflow at which it both starts and stops; lower the outlet."
			rows = append(rows, row)
			continue
		}
		c, err := w.Cycle(row.InflowM3s)
		if err != nil || math.IsNaN(c.PeriodS) {
			row.Why = "It does not cycle."
			rows = append(rows, row)
			continue
		}
		margin := math.Max(leastMarginS, marginShare*c.FillS)
		row.FillS, row.OpenS = c.FillS, c.FillS+margin
		other := *b
		other.Works, other.Siphon.Pipe.DiameterM = w, bore
		if row.DrainS, err = drainOf(&other, &c, row.InflowM3s, 0, margin); err != nil {
			return nil, fmt.Errorf("loop %s, bed %s: %w", s.Loop.Name, b.In.Name, err)
		}
		row.PerHour = secondsInHour / (row.OpenS * float64(beds))
		row.Pipe, row.PipeMS = s.feedPipe(row.InflowM3s)
		row.Fits = row.Why == "" && row.PerHour >= asked
		if row.Why == "" && !row.Fits {
			row.Why = fmt.Sprintf("With %d beds in turn it floods each %.2g times an hour at most; %.2g are asked for.", beds, row.PerHour, asked)
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// feedPipe is the narrowest size, in the reader's kind of pipe, in which a flow runs at
// 1.5 m/s at most.
func (s *Scheme) feedPipe(flowM3s float64) (name string, velocityMS float64) {
	families := []string{"PVC-U PN16 (metric)", "PVC-U PN10 (metric)"}
	if s.Settings.Units == quantity.USCustomary {
		families = []string{"PVC Sch 40"}
	}
	best := math.Inf(1)
	for _, size := range pipe.Sizes() {
		for _, f := range families {
			v := flowM3s / pipe.CircleM2(size.LikelyM)
			if size.Family == f && v <= mostFeedMS && size.LikelyM < best {
				best, name, velocityMS = size.LikelyM, f+" "+size.Nominal, v
			}
		}
	}
	return name, velocityMS
}

const mostFeedMS = 1.5
