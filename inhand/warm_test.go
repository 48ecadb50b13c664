package inhand

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/science/fabric"
	"tidebed/science/fish"
	"tidebed/site"
	"tidebed/warmth"
)

func warmOf(t testing.TB, s *site.Site) *Warm {
	t.Helper()
	w, err := WarmOf(s)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func chill(t testing.TB, s *site.Site, groundC float64) *chilling {
	t.Helper()
	var circuits []*plumbing.Circuit
	for i := range s.Loops {
		c, err := plumbing.Of(&s.Loops[i])
		if err != nil {
			t.Fatal(err)
		}
		circuits = append(circuits, c)
	}
	b, err := warmth.New(s, circuits, warmth.Options{GroundC: groundC})
	if err != nil {
		t.Fatal(err)
	}
	c, err := newChilling(s, b, circuits, groundC)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// gable is a house of double film, 6 × 12 m, 2.2 and 3.7 m high, with a tank of six
// times 2.011 m³ behind 25 mm of foam board.
func gable() *site.Site {
	s := &site.Site{
		Name: "gable", Place: site.Place{LatitudeDeg: 50},
		Zones:    []site.Zone{{Name: "house", FloorM2: 72, HeightM: 212.4 / 72, DayC: 14, NightC: 14, AirChangesH: 0.75, EdgeM: 36}},
		Surfaces: []site.Surface{{Zone: "house", Kind: "roof", AreaM2: 80.5, UWm2K: 4, TiltDeg: 27}, {Zone: "house", Kind: "wall", AreaM2: 88.2, UWm2K: 4, TiltDeg: 90}},
		Heaters:  []site.Heater{{Name: "heater", Zone: "house", PowerW: 50000}},
	}
	for _, n := range []string{"a", "b", "c", "d", "e", "f"} {
		s.Loops = append(s.Loops, site.Loop{Name: n, Tanks: []site.Tank{{Name: n, Zone: "house", VolumeM3: 2.0106, DepthM: 1, LevelM: 1, WaterC: 24, InsulationM: 0.025}}})
	}
	return s
}

// Checks F1 to F3 of the sheet of buildings, §10: a gable house with six tanks at
// -12 °C; computed with an exact matrix exponential. That house has no floor and its
// tanks lose all to the air: the floor is taken out of the site's building here.
func TestGableHouseAgainstTheSheet(t *testing.T) {
	c := chill(t, gable(), 10)
	z := &c.zones[0]
	z.skin.FloorWK = 0
	sum := 0.0
	for k := range c.bodies {
		w := &c.bodies[k]
		w.airWK, w.floorWK = w.airWK+w.floorWK, 0
		sum += w.airWKOf(true)
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if !(math.Abs(got-want) <= tol*math.Abs(want)) {
			t.Errorf("%s: %.5g, the sheet has %.5g", what, got, want)
		}
	}
	near("tanks' conductance, W/K", sum, 192.6, 0.005)
	near("house's conductance, W/K", z.skin.OutsideWK, 778, 0.005)
	restC, err := fabric.RestC(0, fabric.Border{WK: z.skin.OutsideWK, TempC: -12}, fabric.Border{WK: sum, TempC: 24})
	if err != nil {
		t.Fatal(err)
	}
	near("F1: rest of the air", restC, -4.86, 0.005)
	for _, row := range []struct{ airJK, frostH, waterH float64 }{{0.256e6, 0.099, 16.62}, {2.56e6, 0.991, 17.08}, {20e6, 7.59, 20.52}} {
		z.airJK = row.airJK
		b, tempC, err := c.cooling(-12, true, help{})
		if err != nil {
			t.Fatal(err)
		}
		frost, err := fall(b, tempC, 0, fabric.FrostC)
		if err != nil {
			t.Fatal(err)
		}
		near("F2: frost, h", frost, row.frostH, 0.01)
		water, err := fall(b, tempC, 2, 18)
		if err != nil {
			t.Fatal(err)
		}
		near("F2: water 18 °C, h", water, row.waterH, 0.01)
		if row.airJK != 2.56e6 {
			continue
		}
		for _, x := range []struct{ h, airC, waterC float64 }{{6, -5.217, 21.882}, {12, -5.654, 19.721}} {
			course, err := b.Step(tempC, x.h*3600)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(course.EndC[0]-x.airC) > 0.01 || math.Abs(course.EndC[2]-x.waterC) > 0.01 {
				t.Errorf("F3: after %g h %.3f and %.3f °C, the sheet has %.3f and %.3f", x.h, course.EndC[0], course.EndC[2], x.airC, x.waterC)
			}
		}
	}
	// F1 with quick air: 16.6 h.
	z.airJK = 1
	b, tempC, err := c.cooling(-12, true, help{})
	if err != nil {
		t.Fatal(err)
	}
	quick, err := fall(b, tempC, 2, 18)
	if err != nil {
		t.Fatal(err)
	}
	near("F1: water 18 °C with quick air, h", quick, 16.6, 0.005)
}

// Colder air outside never gives more time; a curtain, water and a heater never less.
func TestColderNeverGivesMoreTime(t *testing.T) {
	s := demo(t)
	c := chill(t, s, 10)
	rapid.Check(t, func(r *rapid.T) {
		outC, colder := rapid.Float64Range(-25, 12).Draw(r, "outsideC"), rapid.Float64Range(0.1, 15).Draw(r, "colderK")
		zone, powerOff := rapid.IntRange(0, len(c.zones)-1).Draw(r, "zone"), rapid.Bool().Draw(r, "powerOff")
		node := 2 * zone
		bodies := []int{}
		for k := range c.bodies {
			if c.bodies[k].zone == zone {
				bodies = append(bodies, 2*len(c.zones)+k)
			}
		}
		if len(bodies) > 0 && rapid.Bool().Draw(r, "water") {
			node = rapid.SampledFrom(bodies).Draw(r, "body")
		}
		limitC := rapid.Float64Range(-3, 20).Draw(r, "limitC")
		hours := func(outC float64, h help) float64 {
			h.zone = zone
			b, tempC, err := c.cooling(outC, powerOff, h)
			if err != nil {
				r.Fatal(err)
			}
			x, err := fall(b, tempC, node, limitC)
			if err != nil {
				r.Fatal(err)
			}
			return x
		}
		asIs := hours(outC, help{})
		if x := hours(outC-colder, help{}); x > asIs*(1+1e-9)+1e-9 {
			r.Fatalf("%.2f K colder: %g h in place of %g", colder, x, asIs)
		}
		for name, h := range map[string]help{"curtain": {curtain: true}, "water": {waterM3: 1}, "heater": {heaterW: 2000}} {
			if outC > 5 && h.curtain { // it keeps in; where it is warm outside it keeps out
				continue
			}
			if x := hours(outC, h); x < asIs*(1-1e-9)-1e-9 {
				r.Fatalf("with %s: %g h in place of %g", name, x, asIs)
			}
		}
	})
}

func TestDemoBuildingsWarmSide(t *testing.T) {
	s := demo(t)
	w := warmOf(t, s)
	for _, r := range w.Rows() {
		t.Log(r.Say)
	}
	t.Log(w.Headline)
	for _, l := range w.Lines() {
		t.Log(l)
	}
	t.Log(w.Notes)
	if len(w.Nights) != 2 || w.Nights[1].OutsideC != -7 {
		t.Errorf("nights %+v; the coldest month's mean minimum is 3 °C", w.Nights)
	}
	// Oxygen first, then by time left, whatever the kind.
	a := of(t, s, StockOf(s), Options{})
	last, oxygen := -1.0, 0
	for i, r := range w.Rows() {
		if r.Oxygen() {
			if i != oxygen {
				t.Errorf("row %d of oxygen after others", i)
			}
			oxygen++
			soon := math.Inf(1) // of the answer, at any moment
			for _, x := range tankOf(t, a, r.Tank).Times {
				for _, l := range []Level{Suffer, Deaths} {
					if h, ok := x.At(l); ok && x.Case == PowerFails {
						soon = min(soon, h)
					}
				}
			}
			if r.left() != soon {
				t.Errorf("%s: oxygen %g h, the answer has %g", r.Tank, r.left(), soon)
			}
			continue
		}
		if i == oxygen {
			last = -1
		}
		if r.left() < last {
			t.Errorf("row %d out of order: %s", i, r.Say)
		}
		last = r.left()
		if r.Tank == "" != (r.Fish == "") || r.LimitC == nil {
			t.Errorf("%+v", r)
		}
		for _, x := range r.With {
			if r.Case != VentsStick && x.Hours != nil && *x.Hours < r.left() {
				t.Errorf("%s: with %s only %s", r.Say, x.Name, x.Text)
			}
		}
	}
	if oxygen != 3 {
		t.Errorf("%d rows of oxygen for three tanks", oxygen)
	}
	find := func(tank, zone string, id string, l Level, outC float64) *WarmRow {
		for i := range w.All {
			if r := &w.All[i]; r.Tank == tank && (tank != "" || r.Zone == zone) && r.Case == id && r.Level == l && (id == VentsStick || r.OutsideC == outC) {
				return r
			}
		}
		t.Fatalf("no row of %s %s, %s, %s", tank, zone, id, l)
		return nil
	}
	for _, n := range w.Nights {
		if x, y := find("trout 1", "", HeatFails, ColdDeaths, n.OutsideC), find("trout 1", "", PowerCold, ColdDeaths, n.OutsideC); x.left() > y.left() {
			t.Errorf("flooded beds and aerated water cool the tank slower: %s; %s", x.Say, y.Say)
		}
		if x, y := find("tilapia", "", PowerCold, ColdFeed, n.OutsideC), find("tilapia", "", PowerCold, ColdDeaths, n.OutsideC); x.left() > y.left() {
			t.Errorf("%s after %s", x.Say, y.Say)
		}
		for _, z := range s.Zones {
			if x, y := find("", z.Name, PowerCold, FrostNear, n.OutsideC), find("", z.Name, PowerCold, AirFrost, n.OutsideC); x.left() > y.left() || x.left() == 0 {
				t.Errorf("%s after %s, or already", x.Say, y.Say)
			}
		}
		if x, y := find("", "cool hall", PowerCold, FrostNear, n.OutsideC), find("", "warm end", PowerCold, FrostNear, n.OutsideC); x.left() > y.left() {
			t.Errorf("the cool hall freezes later than the warm end: %s %s", x.Say, y.Say)
		}
	}
	if x, y := find("trout 1", "", VentsStick, HotFeed, 0), find("trout 1", "", VentsStick, HotDeaths, 0); x.left() > y.left() {
		t.Errorf("%s after %s", x.Say, y.Say)
	}
	if w.Hot.Month < 6 || w.Hot.Month > 8 || w.Hot.FromH < 3 || w.Hot.FromH > 6 || w.Hot.GHIMJm2 < 25 || w.Hot.GHIMJm2 > 33 {
		t.Errorf("hot day %+v", w.Hot)
	}
	lines := w.Lines()
	if len(lines) != 4 || !strings.HasPrefix(lines[0], "Oxygen first") || !strings.Contains(lines[3], "flue") {
		t.Errorf("%q", lines)
	}
	for _, l := range lines {
		if len(l) > 220 {
			t.Errorf("long: %s", l)
		}
	}
	if all := strings.Join(w.Cautions, " "); !strings.Contains(all, "carbon monoxide") || !strings.Contains(all, "outdoors") || !strings.Contains(all, "Oxygen fails before heat") {
		t.Errorf("cautions %q", all)
	}
	if i := strings.Index(w.Headline, "xygen"); i < 0 || i > strings.Index(w.Headline, "°C") {
		t.Errorf("headline %q", w.Headline)
	}
	if _, err := json.Marshal(w); err != nil {
		t.Error(err)
	}
	if n := len(w.Of(HeatFails)); n == 0 || slices.ContainsFunc(w.Of(HeatFails), func(r WarmRow) bool { return r.Case != HeatFails }) {
		t.Errorf("%d rows of heat off", n)
	}
}

// The whole goes by the species' own limits and by the normals: other fish, another
// climate, other times.
func TestWarmSideGoesByTheSite(t *testing.T) {
	s := demo(t)
	for i := range s.Place.Normals {
		s.Place.Normals[i].MinC -= 10
		s.Place.Normals[i].MaxC -= 10
	}
	mild, cold := warmOf(t, demo(t)), warmOf(t, s)
	if d := mild.Nights[0].OutsideC - cold.Nights[0].OutsideC; math.Abs(d-10) > 0.11 {
		t.Errorf("nights %g K colder, want 10", d)
	}
	for _, l := range []Level{FrostNear, AirFrost, ColdFeed, ColdDeaths} {
		take := func(r *WarmRow) bool { return r.Level == l }
		x, y := mild.first(take), cold.first(take)
		if x != nil && (y == nil || y.left() > x.left()) {
			t.Errorf("%s: in the colder place later", l)
		}
	}
	sp, err := fish.Lookup("tilapia_nile")
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range mild.Of(PowerCold) {
		if r.Tank == "tilapia" && r.Level == ColdDeaths && *r.LimitC != sp.LethalLowC {
			t.Errorf("limit %g, the table has %g", *r.LimitC, sp.LethalLowC)
		}
	}
	// A year whose warmest month is January.
	south := demo(t)
	south.Place.LatitudeDeg *= -1
	for i := range south.Place.Normals {
		n := &south.Place.Normals[i]
		n.Month = (n.Month+5)%12 + 1
	}
	if w := warmOf(t, south); w.Hot.Month != (mild.Hot.Month+5)%12+1 {
		t.Errorf("south: hot in month %d, north in %d", w.Hot.Month, mild.Hot.Month)
	}
}

func TestWarmSideRefuses(t *testing.T) {
	s := demo(t)
	s.Surfaces = nil
	if _, err := WarmOf(s); !errors.Is(err, ErrNoSkin) {
		t.Errorf("no surfaces: %v", err)
	}
	s = demo(t)
	s.Place.Normals, s.Place.Climate = nil, ""
	if _, err := WarmOf(s); !errors.Is(err, ErrNoSkin) {
		t.Errorf("no climate: %v", err)
	}
	s = demo(t)
	for i := range 40 {
		s.Zones = append(s.Zones, site.Zone{Name: "more " + time.Month(i+1).String(), FloorM2: 5, HeightM: 2})
	}
	if _, err := WarmOf(s); !errors.Is(err, ErrNoSkin) {
		t.Errorf("too many zones: %v", err)
	}
	s = demo(t)
	s.Opening.Cohorts[0].Species = "dragon"
	if _, err := WarmOf(s); err == nil {
		t.Error("a dragon is taken")
	}
	// Without fish there are still frost and heat, and no word of oxygen.
	s = demo(t)
	s.Opening.Cohorts = nil
	w := warmOf(t, s)
	if w.oxygenText() != "" || len(w.Rows()) == 0 || slices.ContainsFunc(w.Rows(), func(r WarmRow) bool { return r.Tank != "" }) {
		t.Errorf("%+v", w.Rows())
	}
}

// Every place of the library can be reckoned, from the coldest to the hottest.
func TestWarmSideOfAllPlaces(t *testing.T) {
	for _, p := range climate.Places() {
		s := demo(t)
		s.Place = site.Place{LatitudeDeg: p.LatitudeDeg, LongitudeDeg: p.LongitudeDeg, ElevationM: p.ElevationM, Climate: p.Name}
		w := warmOf(t, s)
		if len(w.Lines()) > 4 || !(w.Hot.MaxC > w.Hot.MinC) || len(w.Nights) == 2 && !(w.Nights[1].OutsideC < w.Nights[0].OutsideC) {
			t.Errorf("%s: %+v %+v", p.Name, w.Nights, w.Hot)
		}
		for _, r := range w.Rows() {
			if r.Hours != nil && !(*r.Hours >= 0 && *r.Hours <= LookHours) || r.Text == "" || math.IsNaN(r.StartC) {
				t.Errorf("%s: %+v", p.Name, r)
			}
		}
	}
}

func BenchmarkWarm(b *testing.B) {
	s := demo(b)
	for b.Loop() {
		if _, err := WarmOf(s); err != nil {
			b.Fatal(err)
		}
	}
}

// A tank that cools sooner with its pumps on says why in its row, and no other does;
// the rows stand by the time left.
func TestPumpedColdIsTold(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	w := warmOf(t, s)
	told := 0
	for i := range w.All {
		r := &w.All[i]
		if strings.Contains(r.When, "pumped through cold beds, so sooner") {
			told++
			if r.Case != HeatFails || r.Tank == "" || !strings.Contains(r.Say, "so sooner") {
				t.Errorf("%+v", r)
			}
			if !slices.ContainsFunc(w.All, func(x WarmRow) bool {
				return x.Case == PowerCold && x.Tank == r.Tank && x.Fish == r.Fish && x.Level == r.Level && x.OutsideC == r.OutsideC && x.left() > r.left()
			}) {
				t.Errorf("not sooner: %s", r.Say)
			}
		} else if r.Case == HeatFails && r.Tank == "trout 1" && r.Level == ColdDeaths {
			t.Errorf("no reason: %s", r.Say)
		}
		if i > 0 && !r.Oxygen() && !w.All[i-1].Oxygen() && w.All[i-1].left() > r.left() {
			t.Errorf("%s stands after %s", r.Say, w.All[i-1].Say)
		}
	}
	if told == 0 {
		t.Error("no row says why pumped water cools sooner")
	}
}

// The battery of the building carries as long here as on the page of warmth.
func TestBatteryAgreesWithWarmth(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	cut, err := warmth.PowerCut(s)
	if err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("its %.3g kWh, full, carry all air and pumps for %.0f h", cut.HaveKWh, math.Floor(cut.HaveHours)); !strings.Contains(batteryNote(s), want) || !strings.Contains(cut.Say, fmt.Sprintf("for %.0f hours.", math.Floor(cut.HaveHours))) {
		t.Errorf("want %q in %q and in %q", want, batteryNote(s), cut.Say)
	}
	s.Power.BatteryJ = 0
	if got := batteryNote(s); got != batteryText {
		t.Errorf("without a battery: %s", got)
	}
}
