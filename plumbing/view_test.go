package plumbing

import (
	"math"
	"slices"
	"testing"

	"tidebed/science/pipe"
	"tidebed/site"
)

// viewed is the pipework of a loop of a sample building.
func viewed(t *testing.T, name string, loop int) (*Scheme, *Timetable) {
	t.Helper()
	demo, _, err := site.Sample(name)
	if err != nil {
		t.Fatal(err)
	}
	l := &demo.Loops[loop]
	s, err := Draw(l, Settings{TempC: TempOf(l)})
	if err != nil {
		t.Fatal(err)
	}
	plan, err := s.Plan(GoalOf(l))
	if err != nil {
		t.Fatal(err)
	}
	return s, plan
}

// What flows in a section is what the pump moves, whether like ends stand together
// or not, and nothing stands outside the drawing.
func TestSection(t *testing.T) {
	s, _ := viewed(t, "skerry-house", 0)
	open := s.Timed()[1]
	for _, most := range []int{99, 4} {
		v, err := s.Section(open, nil, most)
		if err != nil {
			t.Fatal(err)
		}
		ends, flow := 0, 0.0
		for _, e := range v.Ends {
			ends += len(e.Names)
			if e.Open {
				flow += e.FlowM3s * float64(len(e.Names))
			}
			if e.RimM > v.TopM || e.OutletM > v.TopM || e.FloorM < v.BottomM {
				t.Errorf("%v lies outside %g to %g", e.Names, v.BottomM, v.TopM)
			}
			if e.Branch == open && (!e.Open || len(e.Names) != 1 || e.Names[0] != "north 2") {
				t.Errorf("the open branch is shown as %v, open %v", e.Names, e.Open)
			}
		}
		if ends != 9 || math.Abs(flow-v.FlowM3s) > 1e-6 {
			t.Errorf("%d ends with %g of %g m³/s", ends, flow, v.FlowM3s)
		}
		if most == 4 && len(v.Ends) != 4 {
			t.Errorf("%d ends apart, want tanks, towers, the open bed and the others", len(v.Ends))
		}
		if !(v.HeaderM > v.Source.SurfaceM && v.HeaderM < v.Source.SurfaceM+v.HeadM && v.RiserMS > 0.1) {
			t.Errorf("head %g at the branching, %g lifted, %g m/s in the riser", v.HeaderM, v.HeadM, v.RiserMS)
		}
	}
}

// The pipes' curve rises and passes through the duty point, which lies on the
// pump's; the pump gives the water less than it takes.
func TestDutyOf(t *testing.T) {
	for _, name := range []string{"skerry-house", "twin-creeks"} {
		s, _ := viewed(t, name, 0)
		open := s.Timed()[0]
		d, err := s.DutyOf(open)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Pumps[0].Curve.HeadM(d.At.FlowM3s); math.Abs(got-d.At.HeadM) > 1e-6 {
			t.Errorf("%s: the duty point lies at %g m, the curve at %g", name, d.At.HeadM, got)
		}
		if d.WireW > 0 && !(d.Efficiency > 0.02 && d.Efficiency < 0.7) {
			t.Errorf("%s: efficiency %g", name, d.Efficiency)
		}
		above := slices.IndexFunc(d.System, func(p pipe.Point) bool { return p.FlowM3s >= d.At.FlowM3s })
		if above < 1 {
			t.Fatalf("%s: the pipes' curve does not reach the duty point", name)
		}
		a, b := d.System[above-1], d.System[above]
		at := a.HeadM + (b.HeadM-a.HeadM)*(d.At.FlowM3s-a.FlowM3s)/(b.FlowM3s-a.FlowM3s)
		if math.Abs(at-d.At.HeadM) > 0.02 {
			t.Errorf("%s: the pipes ask %g m at the duty flow, the pump gives %g", name, at, d.At.HeadM)
		}
		for i := 1; i < len(d.System); i++ {
			if d.System[i].FlowM3s <= d.System[i-1].FlowM3s || d.System[i].HeadM <= d.System[i-1].HeadM {
				t.Errorf("%s: the pipes' curve does not rise at %d: %v", name, i, d.System)
			}
		}
		before, err := s.Flow(maskOf(open), s.Source.SurfaceM)
		if err != nil || math.Abs(before.PumpM3s[0]-d.At.FlowM3s) > 1e-12 {
			t.Errorf("%s: the scheme was changed: %v", name, err)
		}
	}
}

// The zones follow each other without a gap, each with the verdict of its middle.
func TestZones(t *testing.T) {
	s, plan := viewed(t, "skerry-house", 0)
	b := &s.Beds[0]
	zones := b.Zones()
	if len(zones) < 4 || zones[0].FromM3s != 0 || zones[0].Verdict != "will-not-start" || zones[len(zones)-1].Verdict != "overflows" {
		t.Fatalf("%+v", zones)
	}
	for i, z := range zones {
		if i > 0 && z.FromM3s != zones[i-1].ToM3s {
			t.Errorf("a gap at %g", z.FromM3s)
		}
		j, err := b.Works.Judge((z.FromM3s + z.ToM3s) / 2)
		if err != nil || j.Verdict != z.Verdict {
			t.Errorf("%+v is judged %s, %v", z, j.Verdict, err)
		}
	}
	x := plan.Parts[0].Turns[0]
	k := slices.IndexFunc(zones, func(z Zone) bool { return x.InflowM3s < z.ToM3s })
	if zones[k].Verdict != x.Verdict {
		t.Errorf("the turn is %s, its zone %s", x.Verdict, zones[k].Verdict)
	}
	tower := slices.IndexFunc(s.Beds, func(b Bed) bool { return b.Way == Filming })
	if s.Beds[tower].Zones() != nil || s.CutOf(tower) != nil || s.CutOf(-1) != nil {
		t.Error("towers have no siphon")
	}
}

// A reel begins drained, starts and stops its siphon once, and fills in the time
// of the timetable.
func TestReelOf(t *testing.T) {
	s, plan := viewed(t, "skerry-house", 0)
	for _, bed := range []int{0, 4} {
		reel, err := s.ReelOf(bed, plan)
		if err != nil || reel == nil {
			t.Fatalf("%v, %v", reel, err)
		}
		x := plan.Parts[0].Turns[slices.IndexFunc(plan.Parts[0].Turns, func(x Turn) bool { return x.Bed == bed })]
		c := s.CutOf(bed)
		starts, startS, last := 0, 0.0, 0.0
		for _, p := range reel.Points {
			if p.TimeS < last || p.TimeS > reel.Seconds+1e-6 || p.LevelM < -1e-9 || p.LevelM > c.RimM {
				t.Errorf("bed %d: point %+v after %g s", bed, p, last)
			}
			last = p.TimeS
			if p.Event == "start" {
				starts, startS = starts+1, p.TimeS
			}
		}
		first, end := reel.Points[0], reel.Points[len(reel.Points)-1]
		if starts != 1 || math.Abs(first.LevelM-c.BreakM) > 0.002 || math.Abs(end.LevelM-c.BreakM) > 0.002 || first.TimeS != 0 || math.Abs(last-reel.Seconds) > 1 {
			t.Errorf("bed %d: %d starts, from %+v to %+v of %g s", bed, starts, first, end, reel.Seconds)
		}
		if fill := startS - reel.OpenAt[0][0]; math.Abs(fill-x.FillS) > 0.1*x.FillS {
			t.Errorf("bed %d: fills in %g s, by the timetable in %g", bed, fill, x.FillS)
		}
		if math.Abs(reel.OpenAt[0][1]-reel.OpenAt[0][0]-x.OpenS) > 1 {
			t.Errorf("bed %d: open for %v, by the timetable %g s", bed, reel.OpenAt, x.OpenS)
		}
	}
	if reel, err := s.ReelOf(0, nil); reel != nil || err != nil {
		t.Errorf("without a timetable: %v, %v", reel, err)
	}
}

// With the walls as they are, valves left as set give the same flows; clean walls
// give more, and the valves stay.
func TestWithWalls(t *testing.T) {
	for _, name := range []string{"skerry-house", "twin-creeks"} {
		s, _ := viewed(t, name, 0)
		for _, open := range s.Timed() {
			was, err := s.Flow(maskOf(open), s.Source.SurfaceM)
			if err != nil {
				t.Fatal(err)
			}
			same, err := s.WithWalls(false)
			if err != nil {
				t.Fatal(err)
			}
			now, err := same.Flow(maskOf(open), s.Source.SurfaceM)
			if err != nil {
				t.Fatal(err)
			}
			for i := range was.BranchM3s {
				if math.Abs(was.BranchM3s[i]-now.BranchM3s[i]) > 1e-7 {
					t.Errorf("%s, branch %d: %g m³/s, with its valve left %g", name, i, was.BranchM3s[i], now.BranchM3s[i])
				}
			}
			clean, err := s.WithWalls(true)
			if err != nil {
				t.Fatal(err)
			}
			more, err := clean.Flow(maskOf(open), s.Source.SurfaceM)
			if err != nil || !(more.TotalM3s > 1.005*was.TotalM3s && more.TotalM3s < 1.5*was.TotalM3s) {
				t.Errorf("%s: clean %g m³/s, with the film %g, %v", name, more.TotalM3s, was.TotalM3s, err)
			}
		}
	}
}
