package warmth

import (
	"math"
	"testing"
	"time"

	"tidebed/climate"
	"tidebed/science/fabric"
	"tidebed/site"
)

// flat is a sky that does not change: cold, dark and still.
func flat(tempC, windMS float64) *climate.Day {
	d := &climate.Day{TmaxC: tempC, TminC: tempC}
	for h := range d.Hours {
		d.Hours[h] = climate.Hour{TempC: tempC, DewPointC: tempC - 2, RHShare: 0.85, WindMS: windMS}
	}
	return d
}

// plain is a house of one zone with a skin of glazing and nothing in it.
func plain(u float64) *site.Site {
	return &site.Site{
		Name: "plain", Place: site.Place{LatitudeDeg: 50},
		Zones:    []site.Zone{{Name: "house", FloorM2: 72, HeightM: 2.95, DayC: 12, NightC: 12, AirChangesH: 0.75}},
		Surfaces: []site.Surface{{Zone: "house", Kind: "roof", Cover: "polycarbonate twin-wall 10 mm", AreaM2: 80.5, UWm2K: u, TiltDeg: 20}, {Zone: "house", Kind: "wall", AreaM2: 88.2, UWm2K: u, TiltDeg: 90}},
		Heaters:  []site.Heater{{Name: "heater", Zone: "house", PowerW: 50000, Fuel: "propane", Efficiency: 0.8}},
	}
}

// The steady heat of a house in the dark is that of fabric.House, the published
// form of handbooks, with wind at the handbook's speed.
func TestSteadyHeat(t *testing.T) {
	s := plain(4)
	s.Surfaces[0].Cover = "" // opaque for the sun and the sky
	b, err := New(s, nil, Options{GroundC: 12})
	if err != nil {
		t.Fatal(err)
	}
	day := b.NewDay()
	sky := flat(-12, fabric.HandbookWindMS)
	for d := range 10 {
		if err := b.Day(time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC), sky, []Leaves{{}}, day); err != nil {
			t.Fatal(err)
		}
	}
	changes, err := fabric.LeakyAirChangesH(0.75, fabric.HandbookWindMS)
	if err != nil {
		t.Fatal(err)
	}
	z := &b.Zones[0]
	loss, err := fabric.House{Parts: []fabric.Part{{AreaM2: 168.7, UWm2K: 4}}, PerimeterM: z.edgeWK / fabric.PerimeterWmK, PerimeterWmK: fabric.PerimeterWmK, VolumeM3: z.VolumeM3, AirChangesH: changes, PressureKPa: b.kPa}.Loss(12, -12)
	if err != nil {
		t.Fatal(err)
	}
	if got := day.Zones[0].Hours[23].HeatW; math.Abs(got-loss.TotalW) > 0.002*loss.TotalW {
		t.Errorf("heat %.0f W, by hand %.0f W", got, loss.TotalW)
	}
	if day.Zones[0].Hours[23].AirC != 12 || day.Zones[0].Hours[23].Short {
		t.Errorf("%+v", day.Zones[0].Hours[23])
	}
	// Half the power: it falls to where half the loss is.
	b.Zones[0].HeaterW = loss.TotalW / 2
	for d := range 20 {
		if err := b.Day(time.Date(2027, 2, 1+d, 0, 0, 0, 0, time.UTC), sky, []Leaves{{}}, day); err != nil {
			t.Fatal(err)
		}
	}
	if x := day.Zones[0].Hours[23]; !x.Short || math.Abs(x.AirC-0) > 0.3 {
		t.Errorf("with half the heater %.2f °C, short %v; want about 0", x.AirC, x.Short)
	}
}

// A curtain saves heat by night, a second skin more, and sun cuts the heater's work;
// no heater leaves the house at the air outside, its ground apart.
func TestWhatChangesTheHeat(t *testing.T) {
	heat := func(change func(*site.Site), sky *climate.Day) float64 {
		s := plain(4)
		change(s)
		b, err := New(s, nil, Options{GroundC: 8})
		if err != nil {
			t.Fatal(err)
		}
		day := b.NewDay()
		sum := 0.0
		for d := range 3 {
			if err := b.Day(time.Date(2027, 1, 10+d, 0, 0, 0, 0, time.UTC), sky, []Leaves{{}}, day); err != nil {
				t.Fatal(err)
			}
			sum = day.Zones[0].Ledger.HeatersJ
			if left := math.Abs(day.LeftJ); left > 1e-9*day.Zones[0].Ledger.Turned() {
				t.Fatalf("%g J left", left)
			}
		}
		return sum
	}
	none := func(*site.Site) {}
	bright := flat(-5, 2) // under the same clouds by night: the day's sum stays 0
	for h := 9; h < 16; h++ {
		bright.Hours[h].GHIWm2, bright.Hours[h].DiffuseWm2 = 240, 80
	}
	bare := heat(none, flat(-5, 2))
	if curtain := heat(func(s *site.Site) { s.Zones[0].Curtain = fabric.CoverKeys(fabric.Curtain)[0] }, flat(-5, 2)); !(curtain < 0.95*bare) {
		t.Errorf("with a curtain %.0f of %.0f MJ", curtain/1e6, bare/1e6)
	}
	if sun := heat(none, bright); !(sun < 0.97*bare) {
		t.Errorf("with sun %.0f of %.0f MJ", sun/1e6, bare/1e6)
	}
	if windy := heat(none, flat(-5, 12)); !(windy > 1.02*bare) {
		t.Errorf("in wind %.0f of %.0f MJ", windy/1e6, bare/1e6)
	}
	if double := heat(func(s *site.Site) {
		for i := range s.Surfaces {
			s.Surfaces[i].UWm2K = 4 * 0.65
		}
	}, flat(-5, 2)); !(double < 0.75*bare && double > 0.6*bare) {
		t.Errorf("with a skin of 0.65 of the U %.0f of %.0f MJ", double/1e6, bare/1e6)
	}
}

// Two bodies cool as the exact solution says, within the error of an implicit step
// of an hour: water of a tank in a house without heat.
func TestTankCools(t *testing.T) {
	s := plain(4)
	s.Heaters = nil
	s.Loops = []site.Loop{{Name: "l", Tanks: []site.Tank{{Name: "t", VolumeM3: 12, DepthM: 1, LevelM: 1, WaterC: 24, Lid: true}}}}
	b, err := New(s, circuits(t, s), Options{GroundC: 0})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Start([][]float64{{24}}); err != nil {
		t.Fatal(err)
	}
	day := b.NewDay()
	if err := b.Day(time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), flat(0, 2), []Leaves{{}}, day); err != nil {
		t.Fatal(err)
	}
	last := 24.0
	for h, c := range day.WaterC[0] {
		if !(c < last && c > 0) {
			t.Fatalf("hour %d: %g °C after %g", h, c, last)
		}
		last = c
	}
	if _, err := New(s, circuits(t, s), Options{GroundC: math.NaN()}); err == nil {
		t.Error("no ground is taken")
	}
	if err := b.Start([][]float64{{24, 3}}); err == nil {
		t.Error("two cells for one are taken")
	}
}

// Vents that would open below the set point are moved above it and said to be; a
// cover of a great U and any order of the faces give a year like any other.
func TestOddSites(t *testing.T) {
	w := weather(t, demo(t))
	year := func(s *site.Site) (condensed, heat float64, b *Building) {
		b, err := New(s, nil, Options{GroundC: 10})
		if err != nil {
			t.Fatal(err)
		}
		day := b.NewDay()
		for d := range 365 {
			date := time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC)
			var sky climate.Day
			if err := w.Day(date, &sky); err != nil {
				t.Fatal(err)
			}
			if err := b.Day(date, &sky, []Leaves{{AreaM2: 20, LAI: 2}}, day); err != nil {
				t.Fatalf("day %d: %v", d, err)
			}
			for i := range day.Zones {
				if l := &day.Zones[i].Ledger; math.Abs(l.Left()) > 1e-9*l.Turned() {
					t.Fatalf("day %d: %g J left", d, l.Left())
				}
				heat += day.Zones[i].Ledger.HeatersJ
				for h := range day.Zones[i].Hours {
					condensed += day.Zones[i].Hours[h].CoverKg
				}
			}
		}
		return condensed, heat, b
	}
	vents := plain(4)
	vents.Zones[0].DayC, vents.Zones[0].NightC, vents.Zones[0].VentC = 20, 22, 15
	if _, _, b := year(vents); len(b.Assumed) == 0 || b.Zones[0].ventC != 23 {
		t.Errorf("vents open at %g °C: %v", b.Zones[0].ventC, b.Assumed)
	}
	bare := plain(9)
	year(bare)
	one, two := plain(4), plain(4)
	window := site.Surface{Zone: "house", Kind: "window", Cover: "polycarbonate twin-wall 10 mm", AreaM2: 0.01, UWm2K: 0.5, TiltDeg: 90}
	one.Surfaces = append([]site.Surface{window}, one.Surfaces...)
	two.Surfaces = append(two.Surfaces, window)
	c1, h1, _ := year(one)
	c2, h2, _ := year(two)
	if math.Abs(c1-c2) > 1e-9*c1 || math.Abs(h1-h2) > 1e-9*h1 {
		t.Errorf("the order of the faces counts: %g and %g kg, %g and %g J", c1, c2, h1, h2)
	}
	none := plain(4)
	none.Zones[0].DayC, none.Zones[0].NightC = 0, 0
	if _, _, b := year(none); b.Zones[0].ventC != usualVentC {
		t.Errorf("without set points vents open at %g °C", b.Zones[0].ventC)
	}
}
