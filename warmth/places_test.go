package warmth

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"tidebed/climate"
	"tidebed/site"
)

// movedDemo is the demo building with its machines at a place of the library.
func movedDemo(t testing.TB, name string) (*site.Site, *climate.Weather) {
	t.Helper()
	p, err := climate.Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	s := demo(t)
	s.Place = site.Place{LatitudeDeg: p.LatitudeDeg, LongitudeDeg: p.LongitudeDeg, ElevationM: p.ElevationM, Climate: name}
	s.Zones[0].Pad, s.Zones[0].BandK = &site.Pad{Efficiency: 0.8, PowerW: 50}, 1
	s.Zones[1].Dehumidifier = &site.Dehumidifier{CatchKgS: 30. / 86400, PowerW: 600, WaterTo: s.Loops[0].Name}
	s.Zones[1].Light = 0
	w, err := climate.New(p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, p.Months, p.LatitudeDeg)
	if err != nil {
		t.Fatal(err)
	}
	return s, w
}

// sound runs a year of a site, holds its ledgers and looks for what is no number.
func sound(t *testing.T, s *site.Site, w *climate.Weather) (*Year, []ZoneDay) {
	t.Helper()
	b, err := New(s, circuits(t, s), Options{GroundC: 8, UTCOffsetH: w.UTCOffsetH()})
	if err != nil {
		t.Fatal(err)
	}
	day, k := b.NewDay(), NewBook(b)
	var warm []ZoneDay
	var sky climate.Day
	for d := range 365 {
		date := time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC)
		if err := w.Day(date, &sky); err != nil {
			t.Fatal(err)
		}
		if err := b.Day(date, &sky, fullLeaves, day); err != nil {
			t.Fatal(err)
		}
		closes(t, day)
		for i := range day.Waters {
			if l := &day.Waters[i]; !(math.Abs(l.Left()) <= 1e-6*(l.Turned()+1)) {
				t.Fatalf("day %d, loop %d: %g of %g J left", d, i, l.Left(), l.Turned())
			}
		}
		for i := range day.Zones {
			for h := range day.Zones[i].Hours {
				if x := &day.Zones[i].Hours[h]; !(x.AirC > -50 && x.AirC < 50 && x.RH >= 0 && x.RH <= 1.0001 && x.LightWm2 >= 0 && x.LightWm2 < 1500 && x.FullKgM2 >= 0 && x.FullKgM2 < 2) {
					t.Fatalf("day %d, zone %d, %d o'clock: %+v", d, i, h, x)
				}
			}
		}
		warm = append(warm, day.Zones[1])
		if err := k.Add(date, &sky, day); err != nil {
			t.Fatal(err)
		}
	}
	y, err := k.Year()
	if err != nil {
		t.Fatal(err)
	}
	if !(y.LeftShare <= 1e-6 && y.DampShare <= 1e-6) {
		t.Errorf("%g of the heat and %g of the damp are unexplained", y.LeftShare, y.DampShare)
	}
	if _, err := json.Marshal(y); err != nil { // refuses what is no number
		t.Error(err)
	}
	if _, err := Size(b, y); err != nil {
		t.Error(err)
	}
	t.Logf("%s: heat %.0f kWh, coldest %s, hottest %s", s.Place.Climate, y.HeatKWh, y.Coldest.Date, y.Hottest.Date)
	return y, warm
}

func lightOf(days []ZoneDay, month time.Month) (sum float64) {
	for d := range days {
		if time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC).Month() == month {
			for h := range days[d].Hours {
				sum += days[d].Hours[h].LightWm2
			}
		}
	}
	return sum
}

// South of the equator winter is in July, and the sun stands in the north: the same
// house lets in more of it when its glazing looks that way.
func TestSouthernYear(t *testing.T) {
	s, w := movedDemo(t, "Santiago de Chile")
	y, days := sound(t, s, w)
	if m := y.Coldest.Date.Month(); m < time.May || m > time.September {
		t.Errorf("coldest on %s", y.Coldest.Date)
	}
	if m := y.Hottest.Date.Month(); m > time.March && m < time.November {
		t.Errorf("hottest on %s", y.Hottest.Date)
	}
	july, january := y.Months[6].HeatKWh, y.Months[0].HeatKWh
	if !(july > 1.5*january) {
		t.Errorf("July %.0f kWh, January %.0f", july, january)
	}
	if !(lightOf(days, time.December) > 1.5*lightOf(days, time.June)) {
		t.Error("June is as bright as December")
	}
	for i := range s.Surfaces {
		s.Surfaces[i].AzimuthDeg = math.Mod(s.Surfaces[i].AzimuthDeg+180, 360)
	}
	turned, turnedDays := sound(t, s, w)
	if a, b := lightOf(days, time.June), lightOf(turnedDays, time.June); !(b > 1.2*a) {
		t.Errorf("in June %.0f facing south, %.0f facing north", a, b)
	}
	if !(turned.Months[6].HeatKWh < july) {
		t.Errorf("in July %.0f kWh facing south, %.0f facing north", july, turned.Months[6].HeatKWh)
	}
}

// Beyond the polar circle there are nights and days of months.
func TestPolarYear(t *testing.T) {
	s, w := movedDemo(t, "Barrow (Utqiagvik) AK")
	y, days := sound(t, s, w)
	if lightOf(days, time.December) > 1 || !(lightOf(days, time.June) > 1e4) {
		t.Errorf("light in December %g, in June %g", lightOf(days, time.December), lightOf(days, time.June))
	}
	if !(y.Zones[0].ShortH > 100) {
		t.Errorf("heaters of a mild coast reach at -30 °C: %g hours short", y.Zones[0].ShortH)
	}
	if days[171].Hours[0].LightWm2 <= 0 {
		t.Error("no midnight sun")
	}
}

// The light at the leaves by the glazing: none without it; the site's own wins; by an
// even sky a level roof of the floor's size passes what its cover does of even light.
func TestLightByTheGlazing(t *testing.T) {
	light := func(s *site.Site, sky *climate.Day) float64 {
		_, day := daysOf(t, s, sky, Leaves{}, 1)
		return day.Zones[0].Hours[12].LightWm2
	}
	grey := hot(15, 0.7, 300)
	for h := range grey.Hours {
		grey.Hours[h].DiffuseWm2 = grey.Hours[h].GHIWm2
	}
	s := plain(4)
	s.Surfaces = []site.Surface{{Zone: "house", Kind: "roof", Cover: "polycarbonate twin-wall 10 mm", AreaM2: 72, UWm2K: 3.1}}
	near(t, "even light", light(s, grey), 300*0.66*0.85, 1)
	s.Surfaces[0].TiltDeg, s.Surfaces[0].Kind = 90, "wall"
	// upright: half the sky and half of what the ground throws back, half of which
	// falls on the floor
	near(t, "even light through a wall", light(s, grey), 300*(0.5+0.5*0.2)*0.5*0.66*0.85, 1)
	s.Zones[0].Light = 0.6
	near(t, "the site's own", light(s, grey), 180, 1e-9)
	s.Zones[0].Light, s.Surfaces[0].Cover = 0, ""
	near(t, "no glazing", light(s, grey), 0, 0)
}

// A tank cools in air that is held as the closed form says, within the error of steps
// of an hour; what evaporates is left out here.
func TestTankCoolsByTheClosedForm(t *testing.T) {
	s := plain(4)
	s.Heaters = nil
	s.Surfaces[0].Cover = ""
	s.Zones[0].FloorM2, s.Zones[0].HeightM, s.Zones[0].AirChangesH = 5000, 5, 15
	s.Zones[0].DayC, s.Zones[0].NightC, s.Zones[0].VentC = 10, 10, 40
	s.Loops = []site.Loop{{Name: "l", Tanks: []site.Tank{{Name: "t", VolumeM3: 2.0106, DepthM: 1, InsulationM: 0.025, Lid: true}}}}
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	b.wets[0].openM2 = 0
	if err := b.Start([][]float64{{26}}); err != nil {
		t.Fatal(err)
	}
	ua := b.wets[0].airWK + b.wets[0].floorWK
	want := b.wets[0].heatJK / ua * math.Log(16./8) / 3600
	day, sky := b.NewDay(), flat(10, 0)
	hours, last := math.NaN(), 26.0
	for d := 0; math.IsNaN(hours) && d < 20; d++ {
		if err := b.Day(time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC), sky, []Leaves{{}}, day); err != nil {
			t.Fatal(err)
		}
		for h, c := range day.WaterC[0] {
			if c <= 18 && math.IsNaN(hours) {
				hours = float64(24*d+h) + (last-18)/(last-c)
			}
			last = c
		}
	}
	t.Logf("%.1f h, closed form %.1f h", hours, want)
	near(t, "hours from 26 to 18 °C in air of 10 °C", hours, want, 0.01*want)
}
