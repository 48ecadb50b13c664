package season_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"tidebed/cells"
	"tidebed/season"
	"tidebed/site"
)

// apart is how far two runs lie apart, in the allowed distance of each value: a
// thousandth of it or ten absolute tolerances.
func apart(a, b *season.Forecast, relTol float64) (worst float64, where string) {
	abs := 10 * cells.AbsGm3 * relTol
	look := func(what string, x, y, abs float64) {
		if d := math.Abs(x-y) / (1e-3*math.Abs(x) + abs); d > worst {
			worst, where = d, fmt.Sprintf("%s: %g and %g", what, x, y)
		}
	}
	for i := range a.Loops {
		for k, cell := range a.Loops[i].Water.Cells {
			for d, x := range cell.Days {
				y := b.Loops[i].Water.Cells[k].Days[d]
				at := fmt.Sprintf("%s, %s, %s, ", a.Loops[i].Name, cell.Name, x.Day)
				look(at+"oxygen", x.DOMinGm3, y.DOMinGm3, abs)
				look(at+"mean oxygen", x.DOMeanGm3, y.DOMeanGm3, abs)
				look(at+"least pH", x.PHMin, y.PHMin, 0)
				look(at+"most pH", x.PHMax, y.PHMax, 0)
				look(at+"ammonia", x.TANMaxGm3, y.TANMaxGm3, abs)
				look(at+"un-ionised ammonia", x.NH3NMaxGm3, y.NH3NMaxGm3, abs/100)
				look(at+"nitrite", x.NO2NMaxGm3, y.NO2NMaxGm3, abs)
				look(at+"nitrate", x.NO3NGm3, y.NO3NGm3, abs)
				look(at+"alkalinity", x.AlkEqM3, y.AlkEqM3, abs/14)
			}
		}
	}
	for i := range a.Cohorts {
		for d, x := range a.Cohorts[i].Days {
			look(a.Cohorts[i].Name+" weight", x.WeightG, b.Cohorts[i].Days[d].WeightG, 1e-6)
		}
	}
	return worst, where
}

// Half the tolerance moves no daily value of a year by more than 0.1 % or ten
// absolute tolerances; the doses fall on the same days.
func TestHalfTheTolerance(t *testing.T) {
	s := demo(t)
	a := run(t, s, season.Options{Course: season.Typical})
	b := run(t, s, season.Options{Course: season.Typical, RelTol: season.UsualRelTol / 2})
	if worst, where := apart(a, b, season.UsualRelTol); worst > 1 {
		t.Errorf("%.2f times what is allowed: %s", worst, where)
	}
	for i := range a.Loops {
		x, y := a.Loops[i].Water.Doses, b.Loops[i].Water.Doses
		if len(x) != len(y) || len(x) == 0 {
			t.Fatalf("%s: %d doses and %d", a.Loops[i].Name, len(x), len(y))
		}
		for k := range x {
			if x[k].Day != y[k].Day || x[k].What != y[k].What || math.Abs(x[k].Grams-y[k].Grams) > 0.01*x[k].Grams+0.1 {
				t.Errorf("%s: %s %.2f g of %s and %s %.2f g of %s", a.Loops[i].Name, x[k].Day, x[k].Grams, x[k].What, y[k].Day, y[k].Grams, y[k].What)
			}
		}
	}
}

// leafy is a loop of ten square metres of media beds in good light, one lettuce
// after the other on all of it, fed by a tank of tilapia.
func leafy(kind string, fish float64, solidsOut float64) *site.Site {
	s := one()
	l := &s.Loops[0]
	l.Beds = []site.Bed{
		{Name: "bed", Kind: kind, Zone: "hall", AreaM2: 10, DepthM: 0.3},
		{Name: "stones", Kind: "media", Zone: "hall", AreaM2: 2, DepthM: 0.3},
	}
	l.SolidsOut = solidsOut
	l.Aerators[0].SOTRKgS = 0.3 / 3600
	s.Zones[0].Light = 0.8 // 16.5 mol/m²/d
	s.Opening.Cohorts[0].Count, s.Opening.Cohorts[0].WeightKg = 60, fish
	s.Opening.Plantings = nil
	for strip := range 5 { // a fifth planted each week, so that the stand is even
		for d := strip * 7; d < 330; d += 36 {
			s.Opening.Plantings = append(s.Opening.Plantings, site.Planting{Crop: "lettuce_butterhead", Bed: "bed", AreaM2: 2, Planted: s.Opening.Date.Plus(d)})
		}
	}
	return s
}

// Zou et al. 2016 (Bioresource Technology 210:81): plants and fish of media beds
// kept 45 to 51 % of the nitrogen that came in; other units 30 to 70 %. A unit fed
// at about its standstill must lie there.
func TestNitrogenRecoveryOfMediaBeds(t *testing.T) {
	s := leafy("media", 0.15, 0)
	f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(180)})
	l := f.Loops[0]
	in, plants, gas := 0.0, 0.0, 0.0
	for _, e := range l.Nitrogen.In {
		if e.Name == "feed" {
			in = e.Amount
		}
	}
	for _, e := range l.Nitrogen.Out {
		switch e.Name {
		case "plants":
			plants = e.Amount
		case "gas":
			gas = e.Amount
		}
	}
	fish := 0.0
	for _, e := range l.FishKg.In {
		fish += e.Amount * 27.2
	}
	share := (plants + fish) / in
	t.Logf("feed %.1f g/m²/d, standstill %.1f, plants %.0f %%, fish %.0f %%, gas %.0f %%", l.FeedGM2Day, l.StandstillGM2Day, 100*plants/in, 100*fish/in, 100*gas/in)
	if share < 0.35 || share > 0.65 {
		t.Errorf("plants and fish keep %.0f %% of the nitrogen, published 45 to 51 %%", 100*share)
	}
	if gas/in < 0.05 || gas/in > 0.35 {
		t.Errorf("%.0f %% leave as gas", 100*gas/in)
	}
}

// At the feed of raft ratios (60 to 100 g/m²/d, Rakocy 2007) nitrate climbs; with
// the solids taken out it climbs less.
func TestRaftRatioClimbs(t *testing.T) {
	climb := func(out float64) (perDay, feed float64) {
		s := leafy("raft", 0.2, out)
		s.Loops[0].Beds[1].AreaM2 = 8
		s.Loops[0].Aerators[0].SOTRKgS = 0.6 / 3600
		s.Opening.Cohorts[0].Count = 250
		s.Waters = []site.SourceWater{{Name: "well", PH: 7.2, AlkalinityMolM3: 1.5}}
		s.Loops[0].Water = "well"
		f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(60)})
		l := f.Loops[0]
		for _, d := range l.Water.Doses {
			if d.WaterM3 > 0 {
				t.Fatalf("water is changed on %s", d.Day)
			}
		}
		days := l.Water.Days
		return (days[len(days)-1].NO3NGm3 - days[0].NO3NGm3) / float64(len(days)-1), l.FeedGM2Day
	}
	all, feed := climb(0)
	less, _ := climb(0.8)
	t.Logf("%.0f g feed/m²/d: nitrate climbs %.2f g/m³ a day, %.2f with solids taken out", feed, all, less)
	if feed < 50 || !(all > 0) || !(less < all-0.05) {
		t.Errorf("%.0f g feed/m²/d: nitrate climbs %.2f g/m³ a day, %.2f with solids taken out", feed, all, less)
	}
}

// New stones: ammonia peaks before nitrite, the ration is cut, and what the fish
// suffer is told; in water of 20 to 27 °C both are low again within seven weeks: 20
// to 40 days are usual (FAO 589; Lekang), and a cut ration feeds bacteria less.
func TestUnripeLoop(t *testing.T) {
	s := one()
	s.Opening.Water[0].Ripe = false
	s.Opening.Cohorts[0].Count = 20
	f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(90)})
	tank := f.Loops[0].Water.Cells[0]
	var tan, no2 float64
	var tanDay, no2Day, both int
	for d, day := range tank.Days {
		if day.TANMaxGm3 > tan {
			tan, tanDay = day.TANMaxGm3, d
		}
		if day.NO2NMaxGm3 > no2 {
			no2, no2Day = day.NO2NMaxGm3, d
		}
		if both == 0 && d > 10 && no2 > 0.5 && day.TANMaxGm3 < 0.5 && day.NO2NMaxGm3 < 0.5 {
			both = d
		}
	}
	t.Logf("ammonia %.2f on day %d, nitrite %.2f on day %d, both low on day %d", tan, tanDay, no2, no2Day, both)
	if !(tan > 0.7) || !(no2 > 0.5) || no2Day <= tanDay || both < 18 || both > 50 {
		t.Errorf("ammonia %.2f on day %d, nitrite %.2f on day %d, both low on day %d", tan, tanDay, no2, no2Day, both)
	}
	ripe := one()
	ripe.Opening.Cohorts[0].Count = 20
	full := run(t, ripe, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(90)})
	if !(f.Cohorts[0].FeedG < 0.98*full.Cohorts[0].FeedG) {
		t.Errorf("fish of an unripe loop eat %.0f g, of a ripe one %.0f", f.Cohorts[0].FeedG, full.Cohorts[0].FeedG)
	}
}

// Without doses nitrification takes the alkalinity and the pH sinks; with them
// the pH stays where it is to be kept.
func TestPHSinksWithoutDoses(t *testing.T) {
	s := demo(t)
	to := s.Opening.Date.Plus(120)
	with := run(t, s, season.Options{Course: season.Typical, To: to})
	without := run(t, s, season.Options{Course: season.Typical, To: to, Undosed: true})
	for i := range with.Loops {
		a, b := with.Loops[i].Water, without.Loops[i].Water
		last := len(a.Cells[0].Days) - 1
		if len(a.Doses) == 0 || len(b.Doses) != 0 {
			t.Errorf("%s: %d doses, %d without", with.Loops[i].Name, len(a.Doses), len(b.Doses))
		}
		if x, y := a.Cells[0].Days[last].PHMin, b.Cells[0].Days[last].PHMin; !(x > 6.5) || !(y < x-0.3) {
			t.Errorf("%s: pH %.2f with doses, %.2f without", with.Loops[i].Name, x, y)
		}
		for _, d := range a.Doses {
			if d.PHAfter-d.PHBefore > 0.3+1e-9 {
				t.Errorf("%s, %s: %s moves the pH from %.2f to %.2f", with.Loops[i].Name, d.Day, d.What, d.PHBefore, d.PHAfter)
			}
		}
	}
}

// What a tank's pH does in the hour of a dose is what the dose promises.
func TestDosesMoveTheTankNoFurther(t *testing.T) {
	s := one()
	s.Loops[0].KeepPH = 7.4
	s.Opening.Cohorts[0].Count, s.Opening.Cohorts[0].WeightKg = 100, 0.1
	s.Opening.Water[0].PH, s.Opening.Water[0].AlkalinityMolM3 = 6.8, 0.5
	f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(2)})
	w := f.Loops[0].Water
	given := 0
	for _, d := range w.Doses {
		day := f.From.DaysTo(d.Day)
		if d.Held || d.PHAfter == 0 || 24*day+10 > len(w.Cells[0].Hours) {
			continue
		}
		given++
		hour := w.Cells[0].Hours[24*day+8:]
		if rise := hour[1].PH - hour[0].PH; rise > 0.35 {
			t.Errorf("%s: the tank's pH rises by %.2f in the hour of %s", d.Day, rise, d.What)
		}
	}
	if given == 0 {
		t.Errorf("nothing was given: %+v", w.Doses)
	}
}

// Fish in water that kills are dead on the evening of the day, and told.
func TestKilledTheSameDay(t *testing.T) {
	s := one()
	s.Opening.Cohorts[0].Species, s.Opening.Cohorts[0].Count, s.Opening.Cohorts[0].WeightKg = "trout_rainbow", 40, 0.1
	s.Loops[0].Tanks[0].WaterC = 30
	f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date})
	if last := f.Cohorts[0].Days[0]; last.Number != 0 || math.Abs(last.Lost-40) > 0.1 {
		t.Errorf("%+v", last)
	}
	if w := strings.Join(f.Cohorts[0].Warnings, " "); !strings.Contains(w, "killed all of them") {
		t.Errorf("told: %s", w)
	}
	if f.Loops[0].Water.Cells[0].Days[0].LostShare != 1 {
		t.Errorf("lost share %g", f.Loops[0].Water.Cells[0].Days[0].LostShare)
	}
}

// Oxygen is lowest in the hours after the meals, highest before the first.
func TestOxygenDipsAfterMeals(t *testing.T) {
	f := run(t, demo(t), season.Options{Course: season.Typical, To: demo(t).Opening.Date.Plus(5)})
	for _, c := range f.Loops[0].Water.Cells {
		if c.Tank == "" {
			continue
		}
		lowest, at := math.Inf(1), 0
		for _, h := range c.Hours[24:48] {
			if h.DOGm3 < lowest {
				lowest, at = h.DOGm3, h.Hour-24
			}
		}
		if at < 9 || at > 22 {
			t.Errorf("%s: oxygen is lowest at %d o'clock", c.Name, at)
		}
		if before := c.Hours[24+7].DOGm3; !(before > lowest+0.05) {
			t.Errorf("%s: %.2f before the first meal, %.2f at the lowest", c.Name, before, lowest)
		}
	}
}

// Too many fish and no air in one tank: they are fed less and some die, those of
// the other tank do not.
func TestAirlessTankHarmsItsOwnFish(t *testing.T) {
	s := demo(t)
	north := &s.Loops[0]
	north.Aerators = north.Aerators[1:2] // trout 2 alone
	for i := range north.Pipes {         // and hardly any water to trout 1
		if north.Pipes[i].To == "trout 1" {
			north.Pipes[i].DiameterM = 0.004
		}
	}
	s.Opening.Cohorts[0].Count = 300
	f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(20)})
	bad, good := f.Cohorts[0].Days[19], f.Cohorts[1].Days[19]
	if bad.Number > 250 {
		t.Errorf("%.0f of 300 fish live without air", bad.Number)
	}
	if good.Number < 69 {
		t.Errorf("%.1f of 70 fish of the other tank live", good.Number)
	}
	if leaves := f.Loops[0].Water.Cells[0].Leaves; len(leaves) == 0 || leaves[0].Parameter != "oxygen" || leaves[0].Verdict != "critical" && leaves[0].Verdict != "act" || leaves[0].Cause == "" {
		t.Errorf("what passes its limit: %+v", leaves)
	}
}

// A plant that finds no potassium grows less, and it is told.
func TestShortageShowsOnTheCrop(t *testing.T) {
	s := one()
	s.Opening.Cohorts = nil
	s.Opening.Water[0].PotassiumGm3 = 0.5
	s.Loops[0].Doses = "none"
	s.Opening.Plantings[0].Planted = site.On(2027, time.April, 1)
	short := run(t, s, season.Options{Course: season.Typical})
	s.Opening.Water[0].PotassiumGm3 = 80
	ample := run(t, s, season.Options{Course: season.Typical})
	a, b := short.Plantings[0], ample.Plantings[0]
	if b.First.IsZero() || !a.First.IsZero() && !a.First.After(b.First.Time) {
		t.Errorf("first harvest %s without potassium, %s with", a.First, b.First)
	}
	if at := short.To.Plus(-300); !a.First.IsZero() && a.First.Before(at.Time) && !(a.HarvestKg < b.HarvestKg) {
		t.Errorf("%.2f kg without potassium, %.2f kg with", a.HarvestKg, b.HarvestKg)
	}
	told := false
	for _, w := range short.Warnings {
		told = told || strings.Contains(w, "potassium") && strings.Contains(w, "held back")
	}
	if !told {
		t.Errorf("nothing told of potassium: %q", short.Warnings)
	}
}

// BenchmarkWaterYear is a year of the demo building, one course, at a relative
// tolerance of 1e-6.
func BenchmarkWaterYear(b *testing.B) {
	s := demo(b)
	sky, err := season.NewSky(s)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := season.Run(s, season.Options{Course: season.Typical, RelTol: 1e-6, Sky: sky}); err != nil {
			b.Fatal(err)
		}
	}
}
