package plumbing

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tidebed/quantity"
	"tidebed/site"
)

// bellLoop is a loop of some like beds of 2.88 m² with bells of 32 mm (start 14, break 39
// L/min), one branch of 26 L/min to a tank, timed ones of 28 L/min, and a sump of 1.2 m³.
func bellLoop(n int) *site.Loop {
	l := &site.Loop{
		Name: "six", SumpM3: 1.2, SumpLevelM: 0.1, SumpDepthM: 0.6, SumpRimM: 0.4,
		Tanks: []site.Tank{{Name: "t1", VolumeM3: 1.6, LevelM: 1.1, DepthM: 1, RimM: 1.25, WaterC: 20}},
		Pumps: []site.Pump{{Name: "p1", PowerW: 110, Points: []string{"0 L/min:4.2 m:78 W", "60 L/min:3.4 m:104 W", "110 L/min:2.0 m:110 W", "150 L/min:0 m:112 W"}, IntakeM: at(-0.42)}},
		Pipes: []site.Pipe{
			{Name: "suction", From: "sump", To: "p1", DiameterM: 0.045, LengthM: 0.6}, {Name: "riser", From: "p1", To: "header", DiameterM: 0.045, LengthM: 5},
			{Name: "to t1", From: "header", To: "t1", DiameterM: 0.029, LengthM: 2, Valve: "hand", SetM3s: 26 * lMin}, {Name: "t1 over", From: "t1", To: "sump", DiameterM: 0.085, LengthM: 2},
		},
		Timetable: &site.Timetable{PerHour: 0.7},
	}
	for i := range n {
		name := fmt.Sprintf("b %d", i+1)
		l.Beds = append(l.Beds, site.Bed{Name: name, Kind: "media", AreaM2: 2.88, DepthM: 0.30, RimM: 0.38, FloorM: 0.55, Media: "expanded clay (LECA) 8-20 mm", SpillM: 0.06,
			Siphon: &site.Siphon{StandpipeM: 0.032, BellM: 0.075, GuardM: 0.12, CrestM: 0.24, BreakM: 0.03, OutletM: -0.36, PipeLengthM: 0.9, GapM: 0.02, SlotsM2: 18e-4, GuardSlotM: 0.005}})
		l.Pipes = append(l.Pipes,
			site.Pipe{Name: "to " + name, From: "header", To: name, DiameterM: 0.029, LengthM: 4 + 2*float64(i), Valve: "timed", SetM3s: 28 * lMin},
			site.Pipe{Name: name + " drain", From: name, To: "sump", DiameterM: 0.059, LengthM: 3})
	}
	return l
}

// pipeTo is the pipe of the pump's to a name.
func pipeTo(l *site.Loop, name string) *site.Pipe {
	for i := range l.Pipes {
		if l.Pipes[i].To == name {
			return &l.Pipes[i]
		}
	}
	return nil
}

func studied(t testing.TB, l *site.Loop) *Study {
	t.Helper()
	st, err := StudyOf(l, Settings{TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range st.Findings {
		plain(t, f.Sentence, f.Remedy, f.Caution)
	}
	return st
}

// checked are the findings by the timetable as asked, without faults.
func checked(t testing.TB, l *site.Loop) []Finding {
	t.Helper()
	s, err := Draw(l, Settings{TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	all := s.Findings(planned(t, s, GoalOf(l)), nil)
	for _, f := range all {
		plain(t, f.Sentence, f.Remedy, f.Caution)
	}
	return all
}

// told is the finding that says a part; the test ends without it.
func told(t testing.TB, l *site.Loop, state State, part string) *Finding {
	t.Helper()
	found := checked(t, l)
	f := findingOf(found, part)
	if f == nil {
		t.Fatalf("nothing says %q: %+v", part, found)
	}
	if f.State != state || state != Good && f.Remedy == "" || f.Field == "" || f.Source == "" {
		t.Errorf("%s, want %s, with remedy, field and source: %+v", f.State, state, f)
	}
	return f
}

// gone checks that no finding says a part any more.
func gone(t testing.TB, l *site.Loop, remedy, part string) {
	t.Helper()
	if f := findingOf(checked(t, l), part); f != nil {
		t.Errorf("%q does not mend: %s", remedy, f.Sentence)
	}
}

var metresIn = regexp.MustCompile(`([0-9.]+) m `)

// A loop that is well has nothing to mend, so that what the other tests find is what
// they spoil.
func TestBellLoopIsWell(t *testing.T) {
	for _, f := range studied(t, bellLoop(6)).Findings {
		if f.State == Act {
			t.Errorf("%+v", f)
		}
	}
}

func TestBedWithoutAPipe(t *testing.T) {
	l := bellLoop(6)
	l.Pipes = slices.DeleteFunc(l.Pipes, func(p site.Pipe) bool { return p.To == "b 6" })
	if f := told(t, l, Act, "no pipe leads to it"); f.About != "b 6" || f.Field != "beds[5]" {
		t.Errorf("%+v", f)
	}
	l.Pipes = append(l.Pipes, site.Pipe{Name: "gravity", From: "t1", To: "b 6", DiameterM: 0.03, LengthM: 3})
	told(t, l, Watch, "by its own weight")
	gone(t, l, "a pipe", "no pipe leads to it")
}

// Two pipes to one bed are summed: 28 L/min timed and some 20 always come to 48, above
// the 39 of the break; each alone is well.
func TestTwoPipesAreSummed(t *testing.T) {
	l := bellLoop(6)
	l.Pipes = append(l.Pipes, site.Pipe{Name: "extra", From: "header", To: "b 1", DiameterM: 0.029, LengthM: 4, Valve: "hand", SetM3s: 20 * lMin})
	s, err := Draw(l, Settings{TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	about(t, "sum", s.plannedM3s(planned(t, s, GoalOf(l)))[0], 48*lMin, 1.5*lMin)
	f := told(t, l, Watch, "b 1: at 48 L/min")
	if !strings.Contains(f.Remedy, "Take one of its pipes away") {
		t.Errorf("%q", f.Remedy)
	}
	gone(t, bellLoop(6), f.Remedy, "b 1: at ")
}

// A valve set to next to nothing is told as such; neither the head nor a hole of no
// width is blamed.
func TestValveAsGoodAsShut(t *testing.T) {
	l := bellLoop(6)
	for i := range l.Beds {
		pipeTo(l, l.Beds[i].Name).SetM3s = 0.001 * lMin
	}
	f := told(t, l, Act, "as good as shut")
	if f.About != "b 1 to 6" || !strings.Contains(f.Sentence, "0.001 L/min") {
		t.Errorf("%+v", f)
	}
	gone(t, l, "", "higher than the head")
	for i := range l.Beds {
		l.Beds[i].Siphon = nil
		l.Beds[i].Standpipe = &site.Standpipe{BoreM: 0.032, CrestM: 0.24, WeepM: 0.008, WeepAt: 0.02}
		pipeTo(l, l.Beds[i].Name).SetM3s = 0.06 * lMin
	}
	f = told(t, l, Act, "it never fills")
	if strings.Contains(f.Remedy, "hole of 0") {
		t.Errorf("%q", f.Remedy)
	}
	more := number(t, regexp.MustCompile(`Bring ([0-9.]+) L/min`), f.Remedy)
	if f := findingOf(checked(t, l), "solids settle"); f == nil || strings.Contains(f.Sentence, "0.00") || strings.Contains(f.Remedy, "inside") {
		t.Errorf("%+v", f)
	}
	for i := range l.Beds {
		pipeTo(l, l.Beds[i].Name).SetM3s = more * lMin
	}
	gone(t, l, f.Remedy, "it never fills")
}

func TestAlwaysOn(t *testing.T) {
	l := bellLoop(3)
	l.Beds = append(l.Beds, site.Bed{Name: "tw", Kind: "tower", AreaM2: 6, FloorM: 0.4, AlwaysOn: true})
	l.Pipes = append(l.Pipes, site.Pipe{Name: "to tw", From: "header", To: "tw", DiameterM: 0.02, LengthM: 9, Valve: "timed", EndsAtM: at(1.7), OpenS: 30})
	f := told(t, l, Act, "always-on")
	if f.About != "tw" || !strings.Contains(f.Sentence, "min") {
		t.Errorf("%+v", f)
	}
	l.Pipes[len(l.Pipes)-1].Valve = "hand"
	gone(t, l, f.Remedy, "always-on")
}

// The floods an hour that the remedy names fit, whatever was asked, and with them the
// valves are open less than 95 % of the time.
func TestFewerFloodsFit(t *testing.T) {
	for _, asked := range []float64{1, 3, 12} {
		l := bellLoop(6)
		l.Timetable.PerHour = asked
		f := told(t, l, Act, "The timetable does not fit")
		l.Timetable.PerHour = number(t, regexp.MustCompile(`Flood ([0-9.]+) times`), f.Remedy)
		gone(t, l, f.Remedy, "does not fit")
		gone(t, l, f.Remedy, "above 95 %")
		st := studied(t, l)
		if n := st.Day.Beds[0].Floods; n == 0 {
			t.Errorf("at %g an hour no floods", l.Timetable.PerHour)
		}
	}
}

// Where time would do and the water does not, the number is one with which it does.
func TestFewerFloodsFitTheWater(t *testing.T) {
	l := bellLoop(6)
	l.Pumps[0].IntakeM = at(-0.14)
	f := told(t, l, Act, "The timetable does not fit")
	l.Timetable.PerHour = number(t, regexp.MustCompile(`(?i)flood ([0-9.]+) times`), f.Remedy)
	gone(t, l, f.Remedy, "does not fit")
}

// A timetable whose valves open too short does not fit, and no number of floods mends
// it; the sump is not blamed.
func TestOpenTooShort(t *testing.T) {
	l := bellLoop(6)
	for i := range l.Beds {
		pipeTo(l, l.Beds[i].Name).OpenS = 300
	}
	f := told(t, l, Act, "does not fit")
	if strings.Contains(f.Remedy, "Flood 0") {
		t.Errorf("%q", f.Remedy)
	}
	f = told(t, l, Act, "over it the pump runs dry")
	if !strings.Contains(f.Remedy, "Let the valves open until") {
		t.Errorf("%q", f.Remedy)
	}
	for i := range l.Pipes {
		l.Pipes[i].OpenS = 0
	}
	gone(t, l, f.Remedy, "over it the pump runs dry")
}

// What covers the intake covers it: topped up, lowered, fewer at a time, a larger sump.
func TestCoverMends(t *testing.T) {
	tops := func(l *site.Loop, mm float64) {
		areaM2 := l.SumpM3 / l.SumpDepthM
		l.SumpM3 += mm / 1000 * areaM2
		l.SumpLevelM += mm / 1000
		l.SumpDepthM += mm / 1000
	}
	intake := at(studied(t, bellLoop(6)).Day.SourceLowM - 0.03)
	l := bellLoop(6)
	l.Pumps[0].IntakeM = intake
	f := told(t, l, Watch, "draws air in whirls")
	top := bellLoop(6)
	top.Pumps[0].IntakeM = intake
	tops(top, number(t, lengthIn, f.Remedy))
	gone(t, top, f.Remedy, "draws air")
	low := bellLoop(6)
	low.Pumps[0].IntakeM = at(-number(t, regexp.MustCompile(`lower the intake to ([0-9.]+) m below`), f.Remedy))
	gone(t, low, f.Remedy, "draws air")

	// The beds take more than there is, for long: how much is wanting cannot be read
	// off the level, which stands at the intake.
	l = bellLoop(6)
	l.SumpM3, l.SumpRimM = 0.35, 0.4
	f = told(t, l, Act, "over it the pump runs dry")
	l.SumpM3 = number(t, regexp.MustCompile(`sump of ([0-9.]+) L`), f.Remedy) / 1000
	gone(t, l, f.Remedy, "over it the pump runs dry")

	l = bellLoop(6)
	l.Timetable.Together = 5
	l.Pumps[0].Points = []string{"0 L/min:6 m:300 W", "200 L/min:5 m:400 W", "400 L/min:2 m:500 W"}
	f = told(t, l, Act, "over it the pump runs dry")
	n := number(t, regexp.MustCompile(`(?i)flood (\d+|one) beds? at a time`), strings.Replace(f.Remedy, "one bed ", "1 bed ", 1))
	l.Timetable.Together = int(n)
	gone(t, l, f.Remedy, "over it the pump runs dry")
}

// Beds whose outlet lies under the sump's water: raised as told they drain.
func TestDrownedOutlet(t *testing.T) {
	l := bellLoop(6)
	l.SumpLevelM, l.SumpRimM = 0.35, 0.6
	l.Pumps[0].IntakeM = at(-0.2)
	for i := range l.Beds {
		l.Beds[i].FloorM = 0.10
	}
	f := told(t, l, Act, "its siphon cannot drain it")
	if f.About != "b 1 to 6" {
		t.Errorf("%+v", f)
	}
	st := studied(t, l)
	if st.Findings[0].Sentence != f.Sentence {
		t.Errorf("what could not be drawn does not stand first: %+v", st.Findings[0])
	}
	gone(t, l, "", "is not described")
	raise := number(t, lengthIn, f.Remedy) / 1000
	for i := range l.Beds {
		l.Beds[i].FloorM += raise
	}
	for _, part := range []string{"cannot drain", "will not hold"} {
		gone(t, l, f.Remedy, part)
	}
	// A little less, and the water's level leaves too short a drop.
	for i := range l.Beds {
		l.Beds[i].FloorM -= raise - 0.24
	}
	f = told(t, l, Act, "stands under water")
	raise = number(t, regexp.MustCompile(`by ([0-9.]+) mm`), f.Remedy) / 1000
	for i := range l.Beds {
		l.Beds[i].FloorM += raise
	}
	gone(t, l, f.Remedy, "will not hold")
}

// With 27 L/min a siphon of 20 mm does not stop: behind a timed valve it drains when
// that shuts; behind a pipe that always flows it runs for ever.
func TestNeverStopsTimedOrNot(t *testing.T) {
	l := bellLoop(3)
	for i := range l.Beds {
		l.Beds[i].Siphon.StandpipeM = 0.020
	}
	f := told(t, l, Watch, "does not stop while its valve is open, for it carries 20 L/min at the break; it drains when the valve shuts")
	for i := range l.Beds {
		pipeTo(l, l.Beds[i].Name).SetM3s = number(t, flowIn, f.Remedy) * lMin
	}
	gone(t, l, f.Remedy, "does not stop")
	l = bellLoop(3)
	l.Beds[0].Siphon.StandpipeM = 0.020
	pipeTo(l, "b 1").Valve, pipeTo(l, "b 1").SetM3s = "hand", 21*lMin
	told(t, l, Act, "never stops")
}

// A bed that always flows floods with the timed valves shut but not with one open.
func TestUnsteadyBed(t *testing.T) {
	l := bellLoop(5)
	pipeTo(l, "b 1").Valve, pipeTo(l, "b 1").SetM3s = "hand", 12*lMin
	l.Pumps[0].Points = []string{"0 L/min:2.2 m:40 W", "60 L/min:1.4 m:58 W", "100 L/min:0 m:60 W"}
	s, err := Draw(l, Settings{TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	start, _ := s.Beds[0].Works.Window()
	shut, open := s.bedM3s(0, 0), s.bedM3s(maskOf(s.Timed()[0]), 0)
	if !(open < start && shut > start) {
		t.Fatalf("start %g, shut %g, open %g L/min", start/lMin, shut/lMin, open/lMin)
	}
	l.Timetable.PerHour = 0.4 // the valves are shut most of the time
	f := told(t, l, Act, "as other valves open and shut")
	if f.About != "b 1" || !strings.Contains(f.Sentence, "12 L/min") {
		t.Errorf("%+v", f)
	}
	if good := findingOf(checked(t, l), "b 1: flooded by"); good != nil {
		t.Errorf("praised: %+v", good)
	}
}

// A siphon that would dribble on by itself is well where its valve shuts before the
// break, and told so.
func TestValveShutsBeforeTheBreak(t *testing.T) {
	l := bellLoop(3)
	for i := range l.Beds {
		l.Beds[i].Siphon.StandpipeM = 0.0245 // dribbles from some 21 L/min, stops below 31
	}
	f := told(t, l, Good, "its valve shuts before the break")
	if f.About != "b 1 to 3" || !strings.Contains(f.Sentence, "it may dribble on") {
		t.Errorf("%+v", f)
	}
	gone(t, l, "", "may dribble on instead")
	gone(t, l, "", "may dribble on until")
	l.Timetable.MarginS = 1200
	l.Timetable.PerHour = 0.3
	told(t, l, Watch, "may dribble on until its valve shuts")
}

// A fast valve at the end of 40 m: 57 m of blow for each m/s at most; common practice,
// no source, holds 30 m to be enough.
func TestHammer(t *testing.T) {
	l := bellLoop(3)
	gone(t, l, "", "makes a blow")
	pipeTo(l, "b 2").LengthM, pipeTo(l, "b 2").SetM3s = 80, 0
	l.Pumps[0].Points = []string{"0 L/min:8 m:178 W", "60 L/min:7 m:204 W", "150 L/min:4 m:212 W"}
	f := told(t, l, Watch, "makes a blow of")
	if !strings.HasPrefix(f.About, "to b 2") {
		t.Errorf("%+v", f)
	}
	s, err := Draw(l, Settings{TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	k := s.Beds[1].Branch
	flow, err := s.Flow(maskOf(k), s.Source.SurfaceM)
	if err != nil {
		t.Fatal(err)
	}
	closing := number(t, regexp.MustCompile(`takes ([0-9.]+) s`), f.Remedy)
	if fast, slow := s.blow(k, flow.BranchM3s[k], fastValveS), s.blow(k, flow.BranchM3s[k], closing); !(fast > mostBlowM && slow < mostBlowM/3) {
		t.Errorf("%g m at once, %g m in %g s", fast, slow, closing)
	}
}

// The bores that are named do it, the loop drawn anew.
func TestBoresMend(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(l *site.Loop)
		name  string
	}{
		{"before the pump", func(l *site.Loop) { l.Pipes[0].DiameterM = 0.028 }, "p1"},
		{"above 2 m/s", func(l *site.Loop) { pipeTo(l, "b 1").DiameterM = 0.0165 }, "b 1"},
		{"to b 1: 2.", func(l *site.Loop) { // more comes through the bore that would do for what comes now
			pipeTo(l, "b 1").DiameterM, pipeTo(l, "b 1").SetM3s = 0.0165, 45*lMin
			l.Pumps[0].Points = []string{"0 L/min:7 m:178 W", "60 L/min:6.5 m:204 W", "150 L/min:4 m:212 W"}
		}, "b 1"},
		{"solids settle", func(l *site.Loop) { pipeTo(l, "b 1").DiameterM = 0.05 }, "b 1"},
	} {
		l := bellLoop(3)
		c.spoil(l)
		f := told(t, l, Watch, c.says)
		pipeTo(l, c.name).DiameterM = number(t, regexp.MustCompile(`([0-9.]+) mm inside`), f.Remedy) / 1000
		gone(t, l, f.Remedy, c.says)
	}
	// In a short pipe under much head a wider bore brings more, not slower water.
	l := bellLoop(3)
	pipeTo(l, "b 1").DiameterM, pipeTo(l, "b 1").SetM3s, pipeTo(l, "b 1").LengthM = 0.020, 0, 0.5
	l.Pumps[0].Points = []string{"0 L/min:20 m:800 W", "400 L/min:18 m:900 W", "900 L/min:9 m:1000 W"}
	f := told(t, l, Watch, "to b 1: ")
	pipeTo(l, "b 1").SetM3s = number(t, regexp.MustCompile(`valve to ([0-9.]+) L/min`), f.Remedy) * lMin
	gone(t, l, f.Remedy, "to b 1: ")
	// The narrow pipe that would keep solids moving would starve the siphon.
	l = bellLoop(3)
	pipeTo(l, "t1").SetM3s = 60 * lMin
	pipeTo(l, "b 1").DiameterM, pipeTo(l, "b 1").LengthM, pipeTo(l, "b 1").SetM3s = 0.05, 90, 0
	if f := findingOf(checked(t, l), "to b 1: "); f != nil && strings.Contains(f.Sentence, "solids settle") && strings.Contains(f.Remedy, "inside") {
		pipeTo(l, "b 1").DiameterM = number(t, regexp.MustCompile(`([0-9.]+) mm inside`), f.Remedy) / 1000
		gone(t, l, f.Remedy, "will not start")
	}
}

func TestTankRemediesMend(t *testing.T) {
	for _, c := range []struct {
		volumeM3 float64
		says     string
	}{{6, "less than 0.5"}, {0.3, "more than 4"}} {
		l := bellLoop(3)
		l.Tanks[0].VolumeM3 = c.volumeM3
		if c.volumeM3 > 1 {
			pipeTo(l, "t1").SetM3s = 30 * lMin * 1.4
			l.Tanks[0].VolumeM3 = 30
		}
		f := told(t, l, Watch, c.says)
		m := regexp.MustCompile(`Set its valve to ([0-9.]+) L/min`)
		if c.volumeM3 > 1 {
			if m.FindString(f.Remedy) != "" {
				t.Errorf("500 L/min cannot be brought: %q", f.Remedy)
			}
			continue
		}
		pipeTo(l, "t1").SetM3s = number(t, m, f.Remedy) * lMin
		gone(t, l, f.Remedy, c.says)
	}
	l := bellLoop(3)
	l.Tanks[0].VolumeM3 = 4
	f := told(t, l, Watch, "less than 0.5")
	pipeTo(l, "t1").SetM3s = number(t, regexp.MustCompile(`Set its valve to ([0-9.]+) L/min`), f.Remedy) * lMin
	gone(t, l, f.Remedy, "less than 0.5")

	l = bellLoop(3)
	pipeTo(l, "sump").DiameterM = 0.04
	f = told(t, l, Watch, "its overflow takes")
	pipeTo(l, "sump").DiameterM = number(t, regexp.MustCompile(`at least ([0-9.]+) mm`), f.Remedy) / 1000
	gone(t, l, f.Remedy, "its overflow takes")

	l = bellLoop(3)
	l.Tanks[0].RimM = 1.115
	f = told(t, l, Watch, "the rim lies")
	l.Tanks[0].LevelM -= number(t, regexp.MustCompile(`overflow by ([0-9.]+) mm`), f.Remedy) / 1000
	gone(t, l, f.Remedy, "the rim lies")
}

func TestStandpipeRemediesMend(t *testing.T) {
	stand := func(p site.Standpipe, lmin float64) *site.Loop {
		l := bellLoop(1)
		l.Beds[0].Siphon, l.Beds[0].Standpipe = nil, &p
		pipeTo(l, "b 1").SetM3s = lmin * lMin
		return l
	}
	l := stand(site.Standpipe{BoreM: 0.012, CrestM: 0.33, WeepM: 0.004}, 28)
	f := told(t, l, Act, "comes to the rim")
	l.Beds[0].Standpipe.BoreM = number(t, lengthIn, f.Remedy) / 1000
	gone(t, l, f.Remedy, "comes to the rim")

	l = stand(site.Standpipe{BoreM: 0.032, CrestM: 0.348, WeepM: 0.004}, 20)
	f = told(t, l, Watch, "below the rim")
	l.Beds[0].Standpipe.CrestM = number(t, lengthIn, f.Remedy) / 1000
	gone(t, l, f.Remedy, "below the rim")

	l = stand(site.Standpipe{BoreM: 0.032, CrestM: 0.24, WeepM: 0.025, WeepAt: 0.02}, 28)
	f = told(t, l, Act, "it never fills")
	l.Beds[0].Standpipe.WeepM = number(t, regexp.MustCompile(`hole of ([0-9.]+) mm`), f.Remedy) / 1000
	gone(t, l, f.Remedy, "it never fills")

	l = stand(site.Standpipe{BoreM: 0.032, CrestM: 0.24, WeepM: 0.008, WeepAt: 0.07}, 28)
	f = told(t, l, Watch, "never drain")
	l.Beds[0].Standpipe.WeepAt = number(t, lengthIn, f.Remedy) / 1000
	gone(t, l, f.Remedy, "never drain")
}

func TestIntakeOverTheWaterMends(t *testing.T) {
	l := bellLoop(3)
	l.Pumps[0].IntakeM = at(0.15)
	f := told(t, l, Act, "draws air unless it primes itself")
	l.Pumps[0].IntakeM = at(number(t, metresIn, f.Remedy))
	gone(t, l, f.Remedy, "unless it primes itself")
}

// Of merged faults each bed is one of the others to the rest.
func TestMergedFaultsNameTheOthers(t *testing.T) {
	for _, f := range studied(t, bellLoop(6)).Faults {
		if !strings.HasPrefix(f.About, "b 1 to 6") {
			continue
		}
		if strings.Contains(strings.TrimPrefix(f.What, "At the worst, b 1: "), "b ") && regexp.MustCompile(`\bb \d`).MatchString(f.What) && !strings.HasPrefix(f.What, "At the worst") {
			t.Errorf("%s of %s names some of its own: %s", f.Kind, f.About, f.What)
		}
	}
	group := []string{"b 1", "b 2", "b 3"}
	for _, row := range []struct {
		names []string
		by    company
		want  string
	}{
		{[]string{"b 2", "b 3"}, company{"b 1", group}, "the others"}, {[]string{"b 2"}, company{"b 1", group}, "some of the others"},
		{[]string{"b 2", "b 3"}, company{"b 1", nil}, "b 2 and b 3"}, {[]string{"b 1", "b 2", "b 3", "tower"}, company{"b 1", group}, "tower and the others"},
		{[]string{"b 2"}, company{"b 1", group[:2]}, "the other"}, {[]string{"b 1"}, company{"b 1", group}, "it"}, {[]string{"tower"}, company{"b 1", group}, "tower"},
	} {
		if got, _ := others(row.names, row.by); got != row.want {
			t.Errorf("%v of %v: %q, want %q", row.names, row.by, got, row.want)
		}
	}
}

// Levels below the floor are told as such, in every remedy.
func TestLevelsBelowTheFloor(t *testing.T) {
	l := bellLoop(3)
	l.SumpM3, l.SumpLevelM, l.SumpDepthM, l.SumpRimM = 0, 0, 0, 0
	l.Tanks[0].LevelM, l.Tanks[0].RimM = -1.5, -1.3
	l.Pumps[0].IntakeM = at(-2.4)
	for i := range l.Beds {
		l.Beds[i].FloorM = -0.9
	}
	l.Pipes = slices.DeleteFunc(l.Pipes, func(p site.Pipe) bool { return p.To == "t1" || p.From == "t1" })
	for i := range l.Pipes {
		if l.Pipes[i].To == "sump" {
			l.Pipes[i].To = "t1"
		}
		if l.Pipes[i].From == "sump" {
			l.Pipes[i].From = "t1"
		}
	}
	st := studied(t, l)
	minus := regexp.MustCompile(`-\d`)
	n := 0
	for _, f := range st.Faults {
		if minus.MatchString(f.What + f.Remedy) {
			t.Errorf("%s %s", f.What, f.Remedy)
		}
		if strings.Contains(f.Remedy, "Raise the intake in t1 to 1.85 m below the floor") {
			n++
		}
	}
	if n == 0 {
		t.Error("no remedy names the intake")
	}
}

var metricIn = regexp.MustCompile(`\d ?(L/min|L/h|mm|cm|cm²|L|m³|m/s|m|kg|kg/m²|kPa|t)\b`)

// A reader of US units reads no metric ones, and no numbers that are the same by chance.
func TestSayInUSUnits(t *testing.T) {
	spoilt := bellLoop(4)
	spoilt.Beds[0].Siphon.StandpipeM = 0.060
	spoilt.Beds[1].Siphon.GapM, spoilt.Beds[1].Siphon.BellM, spoilt.Beds[1].Siphon.SlotsM2 = 0.003, 0.05, 5e-4
	spoilt.Beds[2].Siphon, spoilt.Beds[2].Standpipe = nil, &site.Standpipe{BoreM: 0.03, CrestM: 0.35, WeepM: 0.02, WeepAt: 0.06}
	spoilt.Beds[3].Siphon.OutletM, spoilt.Beds[3].Siphon.PipeLengthM = -0.02, 0.3
	spoilt.Beds[3].DepthM = 0.4
	pipeTo(spoilt, "t1").EndsAtM = at(0.3)
	pipeTo(spoilt, "sump").DiameterM = 0.03
	spoilt.Pipes[0].DiameterM = 0.020
	spoilt.Pumps[0].IntakeM = at(-0.05)
	for _, l := range []*site.Loop{bellLoop(6), spoilt, threeBedLoop(t, 3)} {
		st, err := StudyOf(l, Settings{TempC: 20, Units: quantity.USCustomary})
		if err != nil {
			t.Fatal(err)
		}
		us := 0
		for _, f := range st.Findings {
			if f.Field == "timetable.floods" { // the timetable's own words
				continue
			}
			for _, text := range []string{f.Sentence, f.Remedy} {
				if m := metricIn.FindString(strings.ReplaceAll(text, "30 mA", "")); m != "" && !strings.Contains(text, "as sold") {
					t.Errorf("%q in %q", m, text)
				}
				if strings.Contains(text, "gal") || strings.Contains(text, " in") {
					us++
				}
			}
		}
		if us == 0 {
			t.Error("nothing in US units")
		}
		for _, f := range st.Faults {
			if m := metricIn.FindString(f.What + f.Remedy); m != "" {
				t.Errorf("%q in %q", m, f.What+f.Remedy)
			}
		}
		d, err := st.Scheme.Diagnose(Seen{Bed: st.Scheme.Beds[1].In.Name, FillS: 900, DrainS: 900, BucketM3: 0.01, BucketS: 60})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range d.Causes {
			if m := metricIn.FindString(c.Why + c.Do); m != "" {
				t.Errorf("%q in %q", m, c.Why+c.Do)
			}
		}
	}
	all, err := Loads(&site.Site{Units: "us-customary", Loops: []site.Loop{*bellLoop(2)}, Racks: []site.Rack{{Name: "weak", Trays: 11, TrayM2: 0.2, Shelves: 5, RatedKg: 15}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range all {
		if m := metricIn.FindString(l.Sentence + l.Caution); m != "" || !strings.Contains(l.Sentence, "lb") {
			t.Errorf("%q in %q", m, l.Sentence+l.Caution)
		}
	}
}

// Source: 1 gal/min is 3.785 L/min, 1 in 25.4 mm.
func TestRemediesInUSUnitsMend(t *testing.T) {
	study := func(l *site.Loop) []Finding {
		s, err := Draw(l, Settings{TempC: 20, Units: quantity.USCustomary})
		if err != nil {
			t.Fatal(err)
		}
		return s.Findings(nil, nil)
	}
	l := bellLoop(3)
	for i := range l.Beds {
		l.Beds[i].Siphon.StandpipeM = 0.020
		l.Beds[i].SpillM = 0
	}
	f := findingOf(study(l), "does not stop while")
	set := number(t, regexp.MustCompile(`valve to ([0-9.]+) gal/min`), f.Remedy)
	spill := number(t, regexp.MustCompile(`at least ([0-9.]+) in bore`), findingOf(study(l), "no second overflow").Remedy)
	for i := range l.Beds {
		pipeTo(l, l.Beds[i].Name).SetM3s = set * gallonsMinM3s
		l.Beds[i].SpillM = spill * inchM
	}
	found := study(l)
	for _, part := range []string{"does not stop", "may dribble", "second overflow"} {
		if f := findingOf(found, part); f != nil {
			t.Errorf("%s", f.Sentence)
		}
	}
}

// manyLoop has unlike beds, each crest another.
func manyLoop(n int) *site.Loop {
	l := bellLoop(n)
	l.SumpM3 = 10
	l.Timetable.PerHour = 0.1
	for i := range l.Beds {
		l.Beds[i].Siphon.CrestM = 0.16 + 0.08*float64(i)/float64(n)
		l.Beds[i].AreaM2 = 1.2 + 2*float64(i)/float64(n)
	}
	return l
}

// Of many unlike beds few are followed, and each fault still names all.
func TestManyUnlikeBeds(t *testing.T) {
	const n = 12
	st := studied(t, manyLoop(n))
	w := &worry{s: st.Scheme, t: st.Timetable, day: st.Day}
	w.like()
	leaders := map[int]bool{}
	for i, k := range w.rep {
		leaders[k] = true
		if w.rep[k] != k {
			t.Errorf("%d stands for %d, but is not followed", k, i)
		}
	}
	if len(leaders) > 6 || len(leaders) < 2 {
		t.Errorf("%d are followed", len(leaders))
	}
	for _, kind := range []FaultKind{ValveOpen, ValveShut, NeverStarted, NeverStopped, HoseOff, DrainBlocked} {
		if f := faultOf(st.Faults, kind, "b "); f == nil || !strings.Contains(f.About, fmt.Sprintf("b 1 to %d", n)) && !strings.Contains(f.About, "to") {
			t.Errorf("%s: %+v", kind, f)
		}
	}
	// The one followed loses no less than any other would.
	hose := faultOf(st.Faults, HoseOff, "b ")
	for _, i := range []int{0, n / 2, n - 1} {
		c, err := st.Scheme.Run(st.Timetable, RunOptions{Seconds: faultRunS, Faults: &Broken{HoseOff: []int{st.Scheme.Beds[i].Branch}}})
		if err != nil {
			t.Fatal(err)
		}
		if c.FloorM3 > hose.FloorM3*(1+likeShare)+leastFloorM3 {
			t.Errorf("bed %d loses %g m³, told are %g", i+1, c.FloorM3, hose.FloorM3)
		}
	}
}

// Slots cut as told, a pipe measured as told.
func TestSlotsAndPipeMend(t *testing.T) {
	l := oneBed(t)
	l.Beds[0].Siphon.SlotsM2 = 5e-4
	f := findingOf(aboutSiphon(t, l, 20), "slots at the bell's foot")
	l.Beds[0].Siphon.SlotsM2 = number(t, regexp.MustCompile(`([0-9.]+) cm²`), f.Remedy) * 1e-4
	if again := findingOf(aboutSiphon(t, l, 20), "slots at the bell's foot"); again != nil {
		t.Errorf("%q does not mend: %s", f.Remedy, again.Sentence)
	}
	l.Beds[0].Siphon.PipeLengthM = 0.5
	f = findingOf(aboutSiphon(t, l, 20), "less than from its crest to its outlet")
	l.Beds[0].Siphon.PipeLengthM = number(t, lengthIn, f.Remedy) / 1000
	if again := findingOf(aboutSiphon(t, l, 20), "less than from its crest"); again != nil {
		t.Errorf("%q does not mend: %s", f.Remedy, again.Sentence)
	}
}

// Topped up no higher than told, the sump takes the water of all beds at a power cut.
func TestTopUpMarkHolds(t *testing.T) {
	l := bellLoop(3)
	f := faultOf(studied(t, l).Faults, PowerCut, "six")
	if f.FloorM3 == 0 {
		t.Fatal("nothing runs over")
	}
	mark := -number(t, regexp.MustCompile(`never higher than ([0-9.]+) m below`), f.Remedy)
	areaM2 := l.SumpM3 / l.SumpDepthM
	l.SumpM3 -= (l.SumpLevelM - mark) * areaM2
	l.SumpDepthM -= l.SumpLevelM - mark
	l.SumpLevelM = mark
	if f := faultOf(studied(t, l).Faults, PowerCut, "six"); f.FloorM3 != 0 {
		t.Errorf("%g m³ run over", f.FloorM3)
	}
}

// A pipe that ends low in a tank, raised as told, keeps the tank's water.
func TestBackSiphonMends(t *testing.T) {
	l := bellLoop(3)
	pipeTo(l, "t1").EndsAtM = at(0.3)
	f := faultOf(studied(t, l).Faults, BackSiphon, "t1")
	if !f.empties() || f.State != Act {
		t.Fatalf("%+v", f)
	}
	pipeTo(l, "t1").EndsAtM = at(number(t, metresIn, f.Remedy))
	if f := faultOf(studied(t, l).Faults, BackSiphon, "t1"); f != nil && f.empties() {
		t.Errorf("%+v", f)
	}
	found := told(t, l, Act, "ends under water")
	pipeTo(l, "t1").EndsAtM = at(number(t, metresIn, found.Remedy) + 0.01)
	gone(t, l, found.Remedy, "ends under water")
}

func TestSplitReasons(t *testing.T) {
	is, do := split([]string{"A is so. Do this.", "B is so. Do this.", "Bare"})
	if is != "A is so. B is so. Bare" || do != "Do this." {
		t.Errorf("%q, %q", is, do)
	}
	if _, do := split([]string{"Bare."}); do == "" {
		t.Error("nothing to do")
	}
}

func BenchmarkStudyOfManyUnlikeBeds(b *testing.B) {
	l := manyLoop(40)
	for b.Loop() {
		if _, err := StudyOf(l, Settings{TempC: 20}); err != nil {
			b.Fatal(err)
		}
	}
}
