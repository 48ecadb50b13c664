package warmth

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/climate"
	"tidebed/science/air"
	"tidebed/site"
)

// hot is a day that does not change, of a given humidity and sun.
func hot(tempC, rh, sunWm2 float64) *climate.Day {
	d := &climate.Day{TmaxC: tempC, TminC: tempC, GHIMJm2: 20}
	for h := range d.Hours {
		d.Hours[h] = climate.Hour{TempC: tempC, RHShare: rh, WindMS: 2}
		if h >= 7 && h < 18 {
			d.Hours[h].GHIWm2, d.Hours[h].DiffuseWm2 = sunWm2, sunWm2/3
		}
	}
	return d
}

// daysOf carries a building through days of one sky and checks every ledger.
func daysOf(t testing.TB, s *site.Site, sky *climate.Day, leaves Leaves, days int) (*Building, *Day) {
	t.Helper()
	b, err := New(s, circuits(t, s), Options{GroundC: 15})
	if err != nil {
		t.Fatal(err)
	}
	day := b.NewDay()
	for d := range days {
		if err := b.Day(time.Date(2027, 6, 1+d, 0, 0, 0, 0, time.UTC), sky, []Leaves{leaves}, day); err != nil {
			t.Fatal(err)
		}
		closes(t, day)
	}
	return b, day
}

// closes holds heat and water of a day against their ledgers.
func closes(t testing.TB, day *Day) {
	t.Helper()
	for i := range day.Zones {
		if l := &day.Zones[i].Ledger; math.Abs(l.Left()) > 1e-9*l.Turned() {
			t.Fatalf("zone %d: %g of %g J left: %+v", i, l.Left(), l.Turned(), l)
		}
		if m := &day.Zones[i].Moisture; math.Abs(m.Left()) > 1e-9*(m.Turned()+1) {
			t.Fatalf("zone %d: %g of %g kg left: %+v", i, m.Left(), m.Turned(), m)
		}
	}
}

func (d *Day) hottest() (c float64, hour int) {
	c = math.Inf(-1)
	for h := range d.Zones[0].Hours {
		if x := d.Zones[0].Hours[h].AirC; x > c {
			c, hour = x, h
		}
	}
	return c, hour
}

// A pad brings the hottest air down, never below what comes through it, which is
// never below the wet bulb; its water takes the heat that it saves, and its air and
// water are those of the published cases for each m³/s.
func TestPadCools(t *testing.T) {
	for _, r := range []struct{ tempC, rh, behindC, kgH float64 }{{35, .3, 24.22, 17.6}, {40, .1, 22.85, 27.6}, {32, .7, 28.26, 6.2}} {
		house := func(pad *site.Pad) *site.Site {
			s := plain(4)
			s.Heaters = nil
			s.Zones[0].VentM3s, s.Zones[0].VentC, s.Zones[0].Pad = 2.88, 20, pad
			return s
		}
		sky := hot(r.tempC, r.rh, 800)
		_, bare := daysOf(t, house(nil), sky, Leaves{}, 6)
		b, wet := daysOf(t, house(&site.Pad{Efficiency: 0.8}), sky, Leaves{}, 6)
		outside, err := air.FromRH(r.tempC, r.rh, b.kPa)
		if err != nil {
			t.Fatal(err)
		}
		without, _ := bare.hottest()
		with, at := wet.hottest()
		t.Logf("%g °C, %g: hottest %.1f °C, with the pad %.1f; wet bulb %.1f, behind the pad %.2f", r.tempC, r.rh, without, with, outside.WetBulbC, b.pad[0].airC)
		if !(with < without-2 && with < r.tempC+8) {
			t.Errorf("hottest %.2f °C with the pad, %.2f without", with, without)
		}
		near(t, "air behind the pad", b.pad[0].airC, r.behindC, 0.05)
		x := &wet.Zones[0].Hours[at]
		near(t, "water of the pad", x.PadKg/x.VentM3s/x.PadH, r.kgH, 0.1)
		for h := range wet.Zones[0].Hours {
			x := &wet.Zones[0].Hours[h]
			if x.AirC < outside.WetBulbC || x.PadH > 0 && x.AirC < b.pad[0].airC-1e-9 {
				t.Errorf("%d o'clock: %.2f °C, below the wet bulb or the pad: %+v", h, x.AirC, x)
			}
		}
		// What the water took up in heat is what the air gave, within the density of air
		// (1.2 kg/m³ all year against that of the hour: 1.13 at 40 °C) and its damp.
		l, m := &wet.Zones[0].Ledger, 0.0
		for h := range wet.Zones[0].Hours {
			m += wet.Zones[0].Hours[h].PadKg
		}
		if took := m * 2.43e6; math.Abs(took/l.PadJ-1) > 0.12 {
			t.Errorf("%.1f MJ of water for %.1f MJ of cooling", took/1e6, l.PadJ/1e6)
		}
	}
}

// A pad that is stronger than the day needs is wet for a part of the hour and holds
// the air at the vents' mark; in frost it stays dry.
func TestPadHolds(t *testing.T) {
	s := plain(4)
	s.Heaters = nil
	s.Zones[0].VentM3s, s.Zones[0].VentC, s.Zones[0].Pad = 8, 30, &site.Pad{Efficiency: 0.9, PowerW: 200}
	_, day := daysOf(t, s, hot(33, .2, 400), Leaves{}, 4)
	x := &day.Zones[0].Hours[13]
	near(t, "held at", x.AirC, 30, 1e-6)
	if !(x.PadH > 0.05 && x.PadH < 1) {
		t.Errorf("wet for %g of the hour", x.PadH)
	}
	if _, day = daysOf(t, s, hot(1, .5, 700), Leaves{}, 2); day.Zones[0].Ledger.PadJ != 0 {
		t.Error("a pad runs in frost")
	}
	s.Zones[0].VentM3s = 0
	if _, err := New(s, nil, Options{GroundC: 10}); err == nil || !strings.Contains(err.Error(), "vents") {
		t.Errorf("a pad without fans is taken: %v", err)
	}
}

// A dehumidifier holds the damp of a closed wet room at its mark as far as it
// reaches, and all its power and the heat of what it catches are in the room.
func TestDehumidifierDries(t *testing.T) {
	house := func(d *site.Dehumidifier) *site.Site {
		s := plain(1.5)
		s.Surfaces[0].Cover, s.Surfaces[0].Kind = "", "wall"
		s.Zones[0].AirChangesH, s.Zones[0].VentC, s.Zones[0].DayC, s.Zones[0].NightC = 0.1, 40, 18, 18
		s.Heaters[0].PowerW = 20000
		s.Loops = []site.Loop{{Name: "l", SumpM3: 1, Tanks: []site.Tank{{Name: "t", VolumeM3: 8, DepthM: 0.8, WaterC: 24}}}}
		s.Heaters = append(s.Heaters, site.Heater{Name: "coil", Tank: "t", PowerW: 9000, Fuel: "electricity", Efficiency: 1})
		s.Zones[0].Dehumidifier = d
		return s
	}
	sky := flat(-8, 2)
	_, bare := daysOf(t, house(nil), sky, Leaves{}, 8)
	b, dry := daysOf(t, house(&site.Dehumidifier{CatchKgS: 200. / 86400, PowerW: 1500, Above: 0.75}), sky, Leaves{}, 8)
	damp, held := &bare.Zones[0].Hours[23], &dry.Zones[0].Hours[23]
	t.Logf("RH %.3f, with the dehumidifier %.3f, running %.2f h, %.2f kg", damp.RH, held.RH, held.DryH, held.DryKg)
	if !(damp.RH > 0.85) {
		t.Fatalf("the room is not damp: %.3f", damp.RH)
	}
	near(t, "damp held", held.RH, 0.75, 0.01)
	if !(held.DryH > 0 && held.DryH < 1) {
		t.Errorf("%+v", held)
	}
	m, l := &dry.Zones[0].Moisture, &dry.Zones[0].Ledger
	hours := 0.0
	for h := range dry.Zones[0].Hours {
		hours += dry.Zones[0].Hours[h].DryH
	}
	near(t, "power in the room", l.DriersJ, hours*1500*3600, 1)
	near(t, "heat of what is caught", l.DewJ, m.CaughtKg*air.LatentKJkg(held.AirC)*1000, 1e-3*l.DewJ)
	if saved := bare.Zones[0].Ledger.HeatersJ - l.HeatersJ; saved < 0.5*(l.DriersJ+l.DewJ)-bare.Zones[0].Ledger.DewJ {
		t.Errorf("its heat does not come back: %.1f MJ off the heaters for %.1f + %.1f MJ", saved/1e6, l.DriersJ/1e6, l.DewJ/1e6)
	}
	// At full work it catches what its share of the rating is, and the rest stays.
	_, weak := daysOf(t, house(&site.Dehumidifier{CatchKgS: 20. / 86400, PowerW: 400, Above: 0.6}), sky, Leaves{}, 8)
	x := &weak.Zones[0].Hours[23]
	near(t, "hours", x.DryH, 1, 1e-9)
	ratio := x.RH * air.SaturatedRatio(x.AirC, b.kPa)
	near(t, "caught at full work", x.DryKg, 20./24*coilShare(ratio, b.kPa), 0.01)
	if !(x.RH > 0.65) || !(weak.Zones[0].Moisture.MistKg < bare.Zones[0].Moisture.MistKg-0.8*weak.Zones[0].Moisture.CaughtKg) {
		t.Errorf("a weak one leaves %.3f and %g kg of mist, without %g", x.RH, weak.Zones[0].Moisture.MistKg, bare.Zones[0].Moisture.MistKg)
	}
	// Where the water goes is said, and only there does it count.
	for _, to := range []string{"", "l"} {
		s := house(&site.Dehumidifier{CatchKgS: 200. / 86400, PowerW: 1500, WaterTo: to})
		house, day := daysOf(t, s, sky, Leaves{}, 3)
		k := NewBook(house)
		if err := k.Add(time.Date(2027, 6, 4, 0, 0, 0, 0, time.UTC), sky, day); err != nil {
			t.Fatal(err)
		}
		y, err := k.Year()
		if err != nil {
			t.Fatal(err)
		}
		z := &y.Zones[0]
		near(t, "recovered", y.Loops[0].RecoveredL, map[string]float64{"": 0, "l": z.CaughtL}[to], 1e-9)
		if !(z.CaughtL > 1) || z.CaughtTo != to {
			t.Errorf("%+v", z)
		}
		used := 0.0
		for _, u := range y.Power.Uses {
			if u.Use == "dehumidifiers" {
				used = u.KWh
			}
		}
		near(t, "electricity", used, z.DryH*1.5, 1e-9)
		near(t, "power balance", y.Power.UsedKWh, y.ElectricKWh, 1e-9)
	}
}

// Heaters that switch over a wider band start less often and take the same heat;
// vents that open over it still carry the sun's heat out. The starts are those of
// the saw tooth by hand.
func TestBand(t *testing.T) {
	year := func(bandK float64) *Year {
		s := demo(t)
		for i := range s.Zones {
			s.Zones[i].BandK = bandK
		}
		return yearOf(t, s, 365)
	}
	none, narrow, wide := year(0), year(0.5), year(2)
	for i := range none.Zones {
		if none.Zones[i].Starts != 0 {
			t.Errorf("starts without a band: %g", none.Zones[i].Starts)
		}
		a, b := &narrow.Zones[i], &wide.Zones[i]
		t.Logf("%s: %.0f and %.0f starts, heat %.0f, %.0f, %.0f kWh, hottest %.1f, %.1f, %.1f °C", a.Name, a.Starts, b.Starts, none.Zones[i].HeatKWh, a.HeatKWh, b.HeatKWh, none.Zones[i].GreatestC, a.GreatestC, b.GreatestC)
		if !(b.Starts > 50 && b.Starts < a.Starts/3.5) {
			t.Errorf("%s: %.0f starts over 2 K, %.0f over 0.5", a.Name, b.Starts, a.Starts)
		}
		near(t, "heat over a band", b.HeatKWh, none.Zones[i].HeatKWh, 0.03*none.Zones[i].HeatKWh)
		if b.GreatestC > none.Zones[i].GreatestC+2.001 {
			t.Errorf("%s: vents over 2 K let the air rise from %.2f to %.2f °C", a.Name, none.Zones[i].GreatestC, b.GreatestC)
		}
	}
	if wide.LeftShare > 1e-6 || wide.DampShare > 1e-6 {
		t.Errorf("%g and %g are unexplained", wide.LeftShare, wide.DampShare)
	}
	// 4 kW of 10 kW: 1 MJ/K over 2 K, up at 6 kW in 333 s, down at 4 kW in 500 s.
	near(t, "starts an hour", starts(4000, 10000, 1e6, 2), 3600/(2e6/6000+2e6/4000), 1e-9)
	// A vent with a band in the sun: the flow is that of the air over it.
	s := plain(4)
	s.Heaters = nil
	s.Zones[0].VentM3s, s.Zones[0].VentC, s.Zones[0].BandK = 3, 20, 4
	_, day := daysOf(t, s, hot(12, .5, 500), Leaves{}, 3)
	x := &day.Zones[0].Hours[12]
	if !(x.AirC > 20 && x.AirC < 24) {
		t.Fatalf("%+v", x)
	}
	near(t, "flow over the band", x.VentM3s, 3*(x.AirC-20)/4, 1e-4)
}

// All machines at once through a year of the demo: ledgers close, the power is booked.
func TestMachinesThroughTheYear(t *testing.T) {
	s := demo(t)
	s.Zones[1].BandK, s.Zones[1].Pad = 1, &site.Pad{Efficiency: 0.8, PowerW: 60, Bleed: 0.2}
	s.Zones[1].Dehumidifier = &site.Dehumidifier{CatchKgS: 40. / 86400, PowerW: 700, Above: 0.7, WaterTo: s.Loops[0].Name}
	s.Zones[0].BandK = 0.5
	y := yearOf(t, s, 365)
	z := &y.Zones[1]
	t.Logf("pad %.0f h %.0f L, caught %.0f L in %.0f h", z.PadH, z.PadL, z.CaughtL, z.DryH)
	if y.LeftShare > 1e-6 || y.DampShare > 1e-6 || z.DryH < 100 || z.CaughtTo != s.Loops[0].Name {
		t.Errorf("left %g and %g: %+v", y.LeftShare, y.DampShare, z)
	}
	near(t, "water of the pad", y.PadM3*1000, z.Moisture.PadKg*1.2, 1e-6*z.PadL+0.01)
	sum := 0.0
	for _, u := range y.Power.Uses {
		sum += u.KWh
	}
	near(t, "uses", sum, y.ElectricKWh, 1e-6)
	money := 0.0
	for _, i := range y.Bill.Items {
		money += i.Money
	}
	near(t, "bill", money, y.Money, 1e-6)
	if caution := strings.Join(y.Cautions, " "); !strings.Contains(caution, "pad") || !strings.Contains(caution, "copper") {
		t.Error("pad or coil without its caution")
	}
	// With the vents shut, the pad is.
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	b.ShutVents(60)
	day := b.NewDay()
	if err := b.Day(time.Date(2027, 7, 1, 0, 0, 0, 0, time.UTC), hot(30, 0.3, 700), []Leaves{{}, {}}, day); err != nil {
		t.Fatal(err)
	}
	if day.Zones[1].Ledger.PadJ != 0 {
		t.Error("the pad runs with the vents shut")
	}
}

// Whatever machines stand in a house and whatever the day, a state is found, ledgers
// close and nothing passes what the sky and the machines allow.
func TestMachinesSettle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		s := plain(num("u", 0.3, 7))
		z := &s.Zones[0]
		z.DayC, z.NightC = num("day", 0, 30), num("night", 0, 30)
		z.VentM3s, z.VentC, z.BandK = num("vents", 0.01, 20), num("vents open", 0, 40), num("band", 0, 10)
		if rapid.Bool().Draw(t, "pad") {
			z.Pad = &site.Pad{Efficiency: num("efficiency", 0.05, 0.98)}
		}
		if rapid.Bool().Draw(t, "dehumidifier") {
			z.Dehumidifier = &site.Dehumidifier{CatchKgS: num("catches", 1e-5, 0.1), PowerW: num("power", 1, 20000), Above: num("above", 0.3, 0.99)}
		}
		s.Heaters[0].PowerW = num("heater", 1, 60000)
		b, err := New(s, nil, Options{GroundC: num("ground", -5, 25)})
		if err != nil {
			t.Fatal(err)
		}
		day := b.NewDay()
		for d := range 3 {
			sky := hot(num("outside", -30, 48), num("rh", 0.05, 1), num("sun", 0, 900))
			for h := range sky.Hours {
				sky.Hours[h].TempC += 8 * math.Sin(float64(h-8)/24*2*math.Pi)
			}
			if err := b.Day(time.Date(2027, 6, 1+d, 0, 0, 0, 0, time.UTC), sky, []Leaves{{AreaM2: num("leaves", 0, 60), LAI: 2.5}}, day); err != nil {
				t.Fatal(err)
			}
			if l := &day.Zones[0].Ledger; math.Abs(l.Left()) > 1e-9*(l.Turned()+1e3) {
				t.Fatalf("%g of %g J left", l.Left(), l.Turned())
			}
			if m := &day.Zones[0].Moisture; math.Abs(m.Left()) > 1e-9*(m.Turned()+1) {
				t.Fatalf("%g of %g kg left", m.Left(), m.Turned())
			}
			for h := range day.Zones[0].Hours {
				x := &day.Zones[0].Hours[h]
				if math.IsNaN(x.AirC) || x.VentM3s < 0 || x.VentM3s > z.VentM3s*(1+1e-6) || x.HeatW < -1e-6 || x.HeatW > s.Heaters[0].PowerW*(1+1e-9) || x.PadH < 0 || x.PadH > 1 || x.DryH < 0 || x.DryH > 1 {
					t.Fatalf("%d o'clock: %+v", h, x)
				}
			}
		}
	})
}
