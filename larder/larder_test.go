package larder_test

import (
	"math"
	"testing"
	"time"

	"tidebed/larder"
	"tidebed/science/crop"
	"tidebed/site"
)

// By hand: 40 kg losing 1 % a week for 60 days: 40 × 0.99^(60/7).
func TestRemaining(t *testing.T) {
	if got, want := larder.Remaining(40, 0.01, 60), 36.698; !(math.Abs(got-want) < 0.001) {
		t.Errorf("%.4f kg left, want %.3f", got, want)
	}
	if got := larder.Remaining(40, 0.01, -3); got != 40 {
		t.Errorf("before it is put by %.2f kg, want all 40", got)
	}
	if got := larder.Remaining(40, 1, 7); got != 0 {
		t.Errorf("losing all in a week leaves %.2f kg", got)
	}
}

func house() *site.Site {
	return &site.Site{
		Name: "Two Beds",
		Larder: []site.LarderPlace{
			{Name: "cool store", Kind: "cool-store", TempC: 4, CapacityKg: 100, LossWeek: 0.01},
			{Name: "freezer", Kind: "freezer", TempC: -18, CapacityKg: 50},
		},
		Opening: site.Opening{
			Date: site.On(2027, time.January, 11),
			Larder: []site.PutBy{
				{Food: "potato", Place: "cool store", MassKg: 40, Until: site.On(2027, time.April, 30)},
				{Food: "trout_rainbow_farmed", Place: "freezer", MassKg: 5, Since: site.On(2026, time.December, 1)},
			},
		},
	}
}

func TestOn(t *testing.T) {
	puts, err := larder.On(house(), site.On(2027, time.March, 12)) // 60 days on
	if err != nil {
		t.Fatal(err)
	}
	if !(math.Abs(puts[0].LeftKg-36.698) < 0.001) || !(math.Abs(puts[1].LeftKg-5) < 1e-9) {
		t.Errorf("left %.3f and %.3f kg, want 36.698 and 5", puts[0].LeftKg, puts[1].LeftKg)
	}
	// Frozen for 180 days from 1 December is until 30 May.
	if want := site.On(2027, time.May, 30); puts[1].KeepsTo != want {
		t.Errorf("frozen fish keeps to %s, want %s", puts[1].KeepsTo, want)
	}
	later, err := larder.On(house(), site.On(2027, time.June, 1))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range later {
		if p.LeftKg != 0 {
			t.Errorf("%s keeps to %s, yet on 1 June %.1f kg are left", p.Food, p.KeepsTo, p.LeftKg)
		}
	}
	s := house()
	s.Opening.Larder[0].Place = "attic"
	if _, err := larder.On(s, s.Opening.Date); err == nil {
		t.Error("a place the house does not have is not refused")
	}
}

// Storage life halves for each 8 °C above the best temperature (common
// practice, no source), and the best place of the house is taken; without one
// the room.
func TestKeepsDays(t *testing.T) {
	c, err := crop.Lookup("lettuce_butterhead")
	if err != nil {
		t.Fatal(err)
	}
	days, place := larder.KeepsDays(house(), c)
	if want := int(18 * math.Pow(2, -0.5)); days != want || place != "cool store" {
		t.Errorf("keeps %d days in %s, want %d in the cool store", days, place, want)
	}
	none := house()
	none.Larder = nil
	days, place = larder.KeepsDays(none, c)
	if want := int(18 * math.Pow(2, -18.0/8)); days != want || place != "the room" {
		t.Errorf("keeps %d days in %s, want %d in the room", days, place, want)
	}
}

// By hand: 90 W for a week are 15.12 kWh; 40 kg less 60 days' loss leave 63.3 kg
// free of 100.
func TestPlaces(t *testing.T) {
	s := house()
	s.Larder[0].PowerW = 90
	places, err := larder.Places(s, site.On(2027, time.March, 12))
	if err != nil {
		t.Fatal(err)
	}
	if p := places[0]; !(math.Abs(p.KWhWeek-15.12) < 1e-9) || !(math.Abs(p.FreeKg-(100-36.698)) < 0.001) || len(p.Things) != 1 {
		t.Errorf("%+v", p)
	}
	if got := larder.EnergyKWh(s.Larder[0], -1); got != 0 {
		t.Errorf("before it runs it takes %g kWh", got)
	}
}
