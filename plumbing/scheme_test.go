package plumbing

import (
	"math"
	"strings"
	"testing"

	"tidebed/science/pipe"
	"tidebed/site"
)

func draw(t testing.TB, l *site.Loop, o Settings) *Scheme {
	t.Helper()
	if o.TempC == 0 {
		o.TempC = TempOf(l)
	}
	s, err := Draw(l, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// All water the pump gives comes out somewhere, and throttled valves give what
// they are set to with a bed's turn on.
func TestSchemeOfTheDemoBuilding(t *testing.T) {
	for i := range demo(t).Loops {
		l := &demo(t).Loops[i]
		for _, clean := range []bool{true, false} {
			s := draw(t, l, Settings{New: clean})
			if !s.Piped || s.Source.Tank != nil || s.Source.Name != "sump" {
				t.Fatalf("%s: piped %v, source %+v", l.Name, s.Piped, s.Source)
			}
			first := s.Timed()[0]
			for _, v := range []Valves{0, maskOf(first), maskOf(first).With(s.Timed()[1])} {
				f, err := s.Flow(v, s.Source.SurfaceM)
				if err != nil {
					t.Fatal(err)
				}
				sum := 0.0
				for k, q := range f.BranchM3s {
					if s.Branches[k].Timed && !v.Open(k) && q != 0 {
						t.Errorf("%s: %s shut, yet %g m³/s", l.Name, s.Branches[k].Pipe.Name, q)
					}
					sum += q
				}
				if math.Abs(sum-f.TotalM3s) > 1e-8 || f.TotalM3s != f.PumpM3s[0] {
					t.Errorf("%s: branches %g, pump %g", l.Name, sum, f.TotalM3s)
				}
				// The head falls from pump to outlet by what the pipes lose.
				for k := range l.Pipes {
					if q := f.PipeM3s[k]; q > 0 && math.Abs(f.FromM[k]-f.ToM[k]-f.PipeLossM[k]) > 1e-6 {
						t.Errorf("%s, %s: %g to %g m, lost %g", l.Name, l.Pipes[k].Name, f.FromM[k], f.ToM[k], f.PipeLossM[k])
					}
				}
			}
			f, err := s.Flow(maskOf(first), s.Source.SurfaceM)
			if err != nil {
				t.Fatal(err)
			}
			for k := range s.Branches {
				b := &s.Branches[k]
				if want := b.Pipe.SetM3s; want > 0 && (!b.Timed || k == first) && math.Abs(f.BranchM3s[k]-want) > 0.01*want {
					t.Errorf("%s, %s: %.2f L/min, set to %.2f", l.Name, b.Pipe.Name, 60000*f.BranchM3s[k], 60000*want)
				}
			}
		}
	}
}

// By hand: one pump, one bed. What the pump's head at the flow leaves above the
// lift is what riser and branch take.
func TestSchemeByHand(t *testing.T) {
	l := &site.Loop{
		Name: "one", SumpM3: 1, SumpLevelM: 0, SumpDepthM: 0.5, SumpRimM: 0.3,
		Beds:  []site.Bed{{Name: "bed", Kind: "media", LengthM: 2, WidthM: 1, DepthM: 0.3, FloorM: 0.6, Siphon: &site.Siphon{StandpipeM: 0.025, CrestM: 0.22, BreakM: 0.03, OutletM: -0.4}}},
		Pumps: []site.Pump{{Name: "p", Points: []string{"0 L/min:3 m", "30 L/min:2.1 m"}}},
		Pipes: []site.Pipe{{Name: "up", From: "p", To: "bed", DiameterM: 0.0266, LengthM: 4, Fittings: []string{"2 x elbow-90"}, Valve: "timed", ValveKv: 6}},
	}
	s := draw(t, l, Settings{TempC: 20, New: true})
	f, err := s.Flow(maskOf(0), 0)
	if err != nil {
		t.Fatal(err)
	}
	q := f.TotalM3s
	kv, _ := pipe.ValveK(6, 0.0266)
	lost, _, _, _, err := pipe.Loss(q, pipe.Pipe{DiameterM: 0.0266, LengthM: 4, RoughnessM: pipe.NewRoughnessM, K: 2*0.9 + kv + 1}, 20)
	if err != nil {
		t.Fatal(err)
	}
	// Two points make 3 - 0.9 (q / 30 L/min)².
	if head := 3 - 0.9*math.Pow(q*60000/30, 2); math.Abs(head-(0.95+lost)) > 1e-5 {
		t.Errorf("head %.4f m, lift and losses %.4f m at %.2f L/min", head, 0.95+lost, q*60000)
	}
	if s.Branches[0].OutletM != 0.95 || s.Beds[0].Branch != 0 || s.Source.IntakeM != -0.45 {
		t.Errorf("%+v, %+v", s.Branches[0], s.Source)
	}
	if shut, err := s.Flow(0, 0); err != nil || shut.TotalM3s != 0 {
		t.Errorf("shut: %+v, %v", shut, err)
	}
	all := strings.Join(s.Assumed(), "\n")
	for _, want := range []string{"drainable pore space of bed is taken to be 40 %", "rim of bed", "siphon's pipe of bed is taken to be 0.92 m", "intake"} {
		if !strings.Contains(all, want) {
			t.Errorf("no word of %q in\n%s", want, all)
		}
	}
}

// The pump's source is what its suction pipe draws from, and a spare takes the
// place of the first that runs.
func TestSourceAndSpare(t *testing.T) {
	l := demo(t).Loops[0]
	l.Pipes = append([]site.Pipe(nil), l.Pipes...)
	for i := range l.Pipes {
		if l.Pipes[i].To == "north pump" {
			l.Pipes[i].From = "trout 1"
		}
	}
	l.Pumps = append([]site.Pump(nil), l.Pumps...)
	l.Pumps[0].IntakeM = nil
	s := draw(t, &l, Settings{})
	if s.Source.Tank == nil || s.Source.Name != "trout 1" || math.Abs(s.Source.AreaM2-1.6) > 1e-12 || math.Abs(s.Source.IntakeM-0.15) > 1e-12 {
		t.Errorf("%+v", s.Source)
	}
	now := draw(t, &demo(t).Loops[0], Settings{})
	shelf := draw(t, &demo(t).Loops[0], Settings{Pump: "shelf pump"})
	if shelf.Pumps[0].In.Name != "shelf pump" || len(shelf.Pumps) != 1 {
		t.Fatalf("%+v", shelf.Pumps)
	}
	a, err := now.Flow(0, 0.1)
	if err != nil {
		t.Fatal(err)
	}
	b, err := shelf.Flow(0, 0.1)
	if err != nil || !(b.TotalM3s > 0 && b.WireW < a.WireW) {
		t.Errorf("%g m³/s by the spare, %g now, %v", b.TotalM3s, a.TotalM3s, err)
	}
	if _, err := Draw(&demo(t).Loops[0], Settings{TempC: 15, Pump: "no such"}); err == nil {
		t.Error("an unknown pump is taken")
	}
}

func TestNames(t *testing.T) {
	for _, row := range []struct {
		names []string
		want  string
	}{
		{nil, ""}, {[]string{"a"}, "a"}, {[]string{"bed 1", "bed 2"}, "bed 1 and bed 2"},
		{[]string{"north 1", "north 2", "north 3", "south 1"}, "north 1 to 3 and south 1"},
		{[]string{"north 1", "north 3", "north 4", "tubs"}, "north 1, north 3, north 4 and tubs"},
		{[]string{"7", "8", "9"}, "7, 8 and 9"},
	} {
		if got := Names(row.names); got != row.want {
			t.Errorf("%q: %q, want %q", row.names, got, row.want)
		}
	}
}

// Every verdict has its sentence, by the bed of the sheet's second reference
// siphon: 26.64 mm, 1.00 m, K 4.95, crest 0.22, break 0.03, outlet -0.40 m.
func TestBedViews(t *testing.T) {
	l := &site.Loop{Name: "g2", SumpM3: 1, SumpDepthM: 0.5, SumpRimM: 0.3, Beds: []site.Bed{{
		Name: "bed", Kind: "media", AreaM2: 1.2, DepthM: 0.25, RimM: 0.27, Porosity: 0.45, FloorM: 0.6,
		Siphon: &site.Siphon{StandpipeM: 0.02664, GuardM: 0.11, CrestM: 0.22, BreakM: 0.03, OutletM: -0.4, PipeLengthM: 1, K: 4.95},
	}}}
	s := draw(t, l, Settings{TempC: 22, New: true})
	for _, row := range []struct {
		lmin  float64
		state State
		word  string
	}{
		{4, Act, "does not start"}, {7, Watch, "may start"}, {11, Good, "should start"}, {20, Good, "It starts and stops"},
		{36, Watch, "dribble"}, {42, Act, "never stops"}, {60, Act, "runs over"},
	} {
		v, err := s.BedViews(row.lmin/60000, nil)
		if err != nil {
			t.Fatal(err)
		}
		if v[0].State != row.state || !strings.Contains(v[0].Why, row.word) || strings.Contains(v[0].Why, "NaN") {
			t.Errorf("%g L/min: %s, %s", row.lmin, v[0].State, v[0].Why)
		}
		if math.Abs(v[0].StartM3s*60000-8.889) > 0.01 || math.Abs(v[0].BreakM3s*60000-40.289) > 0.03 {
			t.Errorf("window %g to %g L/min", v[0].StartM3s*60000, v[0].BreakM3s*60000)
		}
	}
	if _, err := s.BedViews(0, nil); err != nil {
		t.Errorf("a bed without a pipe: %v", err)
	}
}

// Half the pores filled: half the flood but for the open water in the guard, and so
// half the time; the window of inflow does not change.
func TestPoreRows(t *testing.T) {
	s := draw(t, &demo(t).Loops[0], Settings{})
	rows, err := s.PoreRows(0, 28.0/60000, nil)
	if err != nil || len(rows) != len(poresFilled) {
		t.Fatalf("%+v, %v", rows, err)
	}
	clean, half := rows[0], rows[len(rows)-1]
	guard := s.Beds[0].Bed.GuardM2
	want := (0.21*(2.88-guard) + guard) / (0.42*(2.88-guard) + guard)
	for _, pair := range [][2]float64{{half.StoredM3, clean.StoredM3}, {half.FillS, clean.FillS}, {half.DrainS, clean.DrainS}} {
		if math.Abs(pair[0]/pair[1]-want) > 0.01 {
			t.Errorf("%g of %g, want the part %.4f", pair[0], pair[1], want)
		}
	}
	if half.StartM3s != clean.StartM3s || half.BreakM3s != clean.BreakM3s || half.OpenS >= clean.OpenS {
		t.Errorf("%+v\n%+v", clean, half)
	}
	if rows, err := s.PoreRows(6, 0, nil); err != nil || rows != nil {
		t.Errorf("towers: %+v, %v", rows, err)
	}
	if _, err := s.PoreRows(99, 0, nil); err == nil {
		t.Error("bed 99 is taken")
	}
}

// What Sizes says of a bore holds when the bed is drawn with it: it starts surely and
// stops with that inflow, and fills and drains in those times.
func TestSizes(t *testing.T) {
	l := demo(t).Loops[0]
	s := draw(t, &l, Settings{})
	plan, err := s.Plan(GoalOf(&l))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := s.Sizes(0, plan)
	if err != nil || len(rows) != len(boresM) {
		t.Fatalf("%+v, %v", rows, err)
	}
	fit, now := 0, 0
	for i, r := range rows {
		if r.Now {
			now++
		}
		if i > 0 && r.BoreM <= rows[i-1].BoreM {
			t.Errorf("bores out of order: %+v", rows)
		}
		if r.InflowM3s == 0 || r.Why != "" && r.FillS == 0 {
			continue
		}
		if r.Fits {
			fit++
		}
		if !(r.PipeMS <= mostFeedMS) || r.Pipe == "" {
			t.Errorf("%+v", r)
		}
		other := l
		other.Beds = append([]site.Bed(nil), l.Beds...)
		wide := *l.Beds[0].Siphon
		wide.StandpipeM = r.BoreM
		other.Beds[0].Siphon = &wide
		views, err := draw(t, &other, Settings{}).BedViews(r.InflowM3s, nil)
		if err != nil {
			t.Fatal(err)
		}
		if v := views[0]; r.Fits && v.State != Good || math.Abs(v.FillS-r.FillS) > 1 {
			t.Errorf("%.0f mm: %+v\n%+v", 1000*r.BoreM, r, v)
		}
	}
	if fit == 0 || now != 1 {
		t.Errorf("%d fit, %d are the present bore: %+v", fit, now, rows)
	}
	if rows, err := s.Sizes(6, plan); err != nil || rows != nil {
		t.Errorf("towers: %+v, %v", rows, err)
	}
	h := HeightsOf(&s.Beds[0])
	if math.Abs(h.CrestLowM-0.25) > 1e-9 || math.Abs(h.CrestHighM-0.28) > 1e-9 {
		t.Errorf("%+v", h)
	}
}
