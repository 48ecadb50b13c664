package plumbing

import (
	"fmt"
	"math"
	"testing"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/site"
)

const lMin = 1.0 / 60000

func about(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol) {
		t.Errorf("%s: %.8g, want %.8g ± %.2g", what, got, want, tol)
	}
}

// kvFor is the valve coefficient whose loss factor in a bore is k.
func kvFor(t testing.TB, boreM, k float64) float64 {
	t.Helper()
	one, err := pipe.ValveK(1, boreM)
	if err != nil {
		t.Fatal(err)
	}
	return math.Sqrt(one / k)
}

func at(v float64) *float64 { return &v }

// g2 is the second reference bed of the siphon's runs.
func g2(name string, floorM float64) site.Bed {
	return site.Bed{
		Name: name, Kind: "media", Zone: "hall", AreaM2: 1.20, DepthM: 0.25, RimM: 0.27, Porosity: 0.45, FloorM: floorM,
		Siphon: &site.Siphon{StandpipeM: 0.02664, GuardM: math.Sqrt(4 * 0.0095 / math.Pi), CrestM: 0.22, BreakM: 0.03, OutletM: -0.40, PipeLengthM: 1.00, K: siphon.BellK(1)},
	}
}

// threeBedLoop is the network of the reference runs with three beds: pump curve
// (0, 3.0) (15, 2.75) (30, 2.10), sump of 0.80 m², riser 26.64 mm of riserM, loss
// factor 4; branches 15.80 mm, 0.8 m, loss factor 4.
func threeBedLoop(t testing.TB, riserM float64) *site.Loop {
	const wide, narrow = 0.02664, 0.01580
	l := &site.Loop{
		Name: "three", SumpM3: 0.80 * 0.55, SumpLevelM: 0.60, SumpDepthM: 0.55, SumpRimM: 0.75,
		Tanks: []site.Tank{{Name: "fish", VolumeM3: 1, LevelM: 1, DepthM: 1}},
		Beds:  []site.Bed{g2("bed 1", 1), g2("bed 2", 1), g2("bed 3", 1)},
		Pumps: []site.Pump{{Name: "pump", PowerW: 40, Points: []string{"0 L/min:3.0 m:30 W", "15 L/min:2.75 m:36 W", "30 L/min:2.10 m:42 W"}}},
	}
	tee := []string{"tee, through branch"}
	l.Pipes = []site.Pipe{
		{Name: "riser", From: "pump", To: "N2", DiameterM: wide, LengthM: riserM, Valve: "hand", ValveKv: kvFor(t, wide, 4)},
		{Name: "H1", From: "N2", To: "N3", DiameterM: wide, LengthM: 1.5, Fittings: []string{"tee, through run"}},
		{Name: "H2", From: "N3", To: "N4", DiameterM: wide, LengthM: 1.5, Fittings: []string{"tee, through run"}},
		{Name: "B1", From: "N2", To: "bed 1", DiameterM: narrow, LengthM: 0.8, Fittings: tee, Valve: "timed", ValveKv: kvFor(t, narrow, 1.2), EndsAtM: at(1.60)},
		{Name: "B2", From: "N3", To: "bed 2", DiameterM: narrow, LengthM: 0.8, Fittings: tee, Valve: "timed", ValveKv: kvFor(t, narrow, 1.2), EndsAtM: at(1.60)},
		{Name: "B3", From: "N4", To: "bed 3", DiameterM: narrow, LengthM: 0.8, Valve: "timed", ValveKv: kvFor(t, narrow, 3), EndsAtM: at(1.70)},
	}
	for i := 1; i <= 3; i++ {
		l.Pipes = append(l.Pipes, site.Pipe{Name: fmt.Sprintf("drain %d", i), From: fmt.Sprintf("bed %d", i), To: "sump", DiameterM: 0.04, LengthM: 2})
	}
	return l
}

func drawn(t testing.TB, l *site.Loop, tempC float64) *Scheme {
	t.Helper()
	s, err := Draw(l, Settings{TempC: tempC, New: true})
	if err != nil {
		t.Fatal(err)
	}
	if !s.Piped {
		t.Fatal("the loop is not piped")
	}
	return s
}

func planned(t testing.TB, s *Scheme, g Goal) *Timetable {
	t.Helper()
	p, err := s.Plan(g)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func sample(t testing.TB) *site.Site {
	t.Helper()
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// rotation is a timetable of given inflows, in slots of one length.
func rotation(t testing.TB, s *Scheme, slotS, openS float64, inflowsLMin ...float64) *Timetable {
	t.Helper()
	p := Part{Name: "day and night", ToH: 24, CycleS: slotS * float64(len(inflowsLMin)), AskedPerHour: 3, PumpRests: true}
	for i, q := range inflowsLMin {
		u := Turn{Branch: s.Timed()[i], Bed: i, Name: s.Beds[i].In.Name, InflowM3s: q * lMin}
		if err := s.judge(&u, Goal{}.filled()); err != nil {
			t.Fatal(err)
		}
		u.AtS, u.OpenS = slotS*float64(i), openS
		p.Turns = append(p.Turns, u)
		p.Groups = append(p.Groups, []int{i})
	}
	p.Duty = openS / slotS
	return &Timetable{Parts: []Part{p}}
}

// given feeds the branches with given flows while open.
func given(s *Scheme, inflowsLMin ...float64) feed {
	timed := s.Timed()
	return func(v Valves, branchM3s []float64) {
		clear(branchM3s)
		for i, b := range timed {
			if v.Open(b) {
				branchM3s[b] = inflowsLMin[i] * lMin
			}
		}
	}
}
