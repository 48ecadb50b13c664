package warmth

import (
	"math"
	"strings"
	"testing"

	"tidebed/climate"
	"tidebed/site"
)

// doubleHouse is the handbook's gable house of double film, 6 × 12 m, 2.2 and 3.7 m
// high: 168.7 m² of skin, 212.4 m³, 36 m of edge.
func doubleHouse() *site.Site {
	s := filmHouse()
	for i := range s.Surfaces {
		s.Surfaces[i].UWm2K = 4.0
		s.Surfaces[i].Cover = "polyethylene-double-inflated"
	}
	return s
}

func building(t testing.TB, s *site.Site) *Building {
	t.Helper()
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Source: the handbook's method (ASHRAE, from memory), worked by hand: 16 195 +
// 1 281 + 1 192 = 18 668 W at 12 inside and -12 °C outside, heater 21.5 to 23.3 kW.
func TestLossOfTheGableHouse(t *testing.T) {
	s := doubleHouse()
	// -12 °C is the mean night less 2.5 times the spread of 2.8 K of a place by the sea.
	for i := range s.Place.Normals {
		s.Place.Normals[i].MaxC, s.Place.Normals[i].MinC = -4, -12+2.5*2.8
	}
	b := building(t, s)
	loss, err := b.LossAt(0, 12, -12)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "skin", loss.TransmissionW, 16195, 16)
	near(t, "leaks", loss.InfiltrationW, 1281, 2)
	near(t, "edge", loss.PerimeterW, 1192, 2)
	near(t, "all", loss.TotalW, 18668, 19)
	near(t, "for a kelvin", loss.UAWK, 778, 0.8)
	o, err := Size(b, nil)
	if err != nil {
		t.Fatal(err)
	}
	z := o.Zones[0]
	near(t, "design temperature", o.DesignC, -12, 1e-9)
	near(t, "design loss", z.TotalW, 18668, 19)
	near(t, "heater from", z.Heater.LowW, 21500, 50)
	near(t, "heater to", z.Heater.HighW, 23300, 50)
	if !z.Enough || !strings.Contains(z.Say, "40.0 kW that are there reach") {
		t.Errorf("%+v", z)
	}
	near(t, "at the coldest hour", z.AtColdestC, 12, 0)
	// Half the heater: where its heat balances the loss.
	s.Heaters[0].PowerW = 10000
	if o, err = Size(building(t, s), nil); err != nil {
		t.Fatal(err)
	}
	z = o.Zones[0]
	near(t, "cold inside", z.AtColdestC, o.ColdestHourC+10000/loss.UAWK, 0.01)
	if z.Enough || !strings.Contains(z.Say, "do not reach") {
		t.Errorf("%+v", z)
	}
	// Vents: one air change a minute or 0.04 m³/s a m² (NGMA and ASABE, from memory).
	near(t, "air by volume", z.Vents.PerMinuteM3S, 212.4/60, 0.01)
	near(t, "air by floor", z.Vents.PerFloorM3S, 0.04*72, 0.01)
	// Sun of 800 W/m² on 72 m² at a share of 0.6 against 0.02 m³/s a m² of doors.
	near(t, "rise", z.RiseK, 800*0.6*72/(1207*0.02*72+loss.UAWK), 0.2)
	near(t, "flow for 5 K", z.FlowFor5KM3s, (800*0.6*72/5-loss.UAWK)/1207, 0.05)
	if _, err := b.LossAt(1, 12, 0); err == nil {
		t.Error("a zone that is not there lost heat")
	}
}

// The loss at the design temperature is what the hourly building comes to in a
// steady cold without wind.
func TestHourlyHouseMeetsTheHandbook(t *testing.T) {
	s := doubleHouse()
	for i := range s.Place.Normals {
		s.Place.Normals[i].MaxC, s.Place.Normals[i].MinC, s.Place.Normals[i].WindMS = -11.99, -12.01, 6.7
	}
	s.Zones[0].AirChangesH = 0
	s.Zones[0].EdgeM = 36
	y := yearOf(t, s, 20)
	loss, err := building(t, s).LossAt(0, 12, -12)
	if err != nil {
		t.Fatal(err)
	}
	// The floor's slab is left out of the handbook's sum and has no U here.
	near(t, "W", y.Days[19].HeatKWh/24*1000, loss.TotalW, 0.01*loss.TotalW)
}

// Source: worked by hand: 150 W for 12 h at 0.8 and 0.9: 2.5 kWh.
func TestPowerCut(t *testing.T) {
	s := filmHouse()
	s.Loops = []site.Loop{{Name: "loop", Tanks: []site.Tank{{Name: "tank", VolumeM3: 2}}, Aerators: []site.Aerator{
		{Name: "air", Tank: "tank", PowerW: 150, SOTRKgS: 1e-5}, {Name: "battery air", Tank: "tank", PowerW: 18, Backup: true}}}}
	s.Power.BatteryJ = 5 * 3.6e6
	o, err := Size(building(t, s), nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "battery", o.Cut.BatteryKWh, 2.5, 1e-9)
	near(t, "hours of the battery there", o.Cut.HaveHours, 24, 1e-9)
	near(t, "peak", o.Cut.PeakW, 450, 1e-9)
	if len(o.Cut.Loads) != 1 {
		t.Errorf("%+v", o.Cut)
	}
}

// Source: power's check value: 2.8 µmol/J, 20 g/mol, 150 kcal/kg at 0.30: 1.86 a
// kilogram, 12.40 for 1000 kcal.
func TestLampCost(t *testing.T) {
	s := filmHouse()
	s.Lamps = []site.Lamp{{Name: "lamps", Over: "nursery", AreaM2: 2, PhotonUmolM2s: 200, HoursDay: 14, EfficacyUmolJ: 2.8, PowerW: 200}}
	o, err := Size(building(t, s), nil)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "a kilogram", o.Lamps[0].Gain.CostKg, 1.86, 0.01)
	near(t, "1000 kcal", o.Lamps[0].Gain.CostMcal, 12.40, 0.05)
	near(t, "a year", o.Lamps[0].KWhYear, 0.2*14*365, 1e-9)
}

func TestSizeOfTheDemoBuilding(t *testing.T) {
	s := demo(t)
	s.Fuels = []site.FuelStore{{Fuel: "wood-pellets", Stock: 1500, Capacity: 3000}}
	y := yearOf(t, s, 365)
	o, err := Size(building(t, s), y)
	if err != nil {
		t.Fatal(err)
	}
	for _, z := range o.Zones {
		t.Logf("%s at %.1f °C, rise %.1f K with %.2f m³/s, %.2f for 5 K", z.Say, z.AtColdestC, z.RiseK, z.HaveVentM3s, z.FlowFor5KM3s)
		if !(z.TotalW > 0) || math.IsNaN(z.RiseK) {
			t.Errorf("%+v", z)
		}
	}
	near(t, "full store", o.Stocks[0].FullMonths, 2*o.Stocks[0].Months, 1e-9)
	t.Logf("%s %+v %v", o.Cut.Say, o.Stocks, o.Notes)
	s.Place.Normals = s.Place.Normals[:11]
	if _, err := Size(building(t, s), y); err == nil {
		t.Error("eleven months were taken for a year")
	}
}

// A place of the library brings its own spreads.
func TestSpreads(t *testing.T) {
	c, err := climate.Lookup("Denver")
	if err != nil {
		t.Fatal(err)
	}
	sd, guessed := spreads(&c.Months)
	if guessed || sd[0] != c.Months[0].TminSDC {
		t.Errorf("%v %v", sd, guessed)
	}
	for i := range c.Months {
		c.Months[i].TminSDC = math.NaN()
	}
	if sd, guessed = spreads(&c.Months); !guessed || !(sd[0] > 4 && sd[0] <= 6) {
		t.Errorf("%v %v", sd, guessed)
	}
}
