package ripen

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/site"
)

func demo(t testing.TB) *site.Site {
	t.Helper()
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func mustFishless(t testing.TB, s *site.Site, loop int, o Options) *Plan {
	t.Helper()
	p, err := Fishless(&s.Loops[loop], s, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Lekang (Aquaculture Engineering) gives 20 to 40 days by temperature and pH, FAO
// 589 25 to 40 (from memory), a pilot unit took six to seven weeks (Mnyoro 2022):
// at 22 to 28 °C the ready day lies within 20 to 40 and at 20 °C within six and a
// half weeks; with ripe water it lies within 20 to 40 at all of them.
func TestPublishedSpans(t *testing.T) {
	s := demo(t)
	for loop := range s.Loops {
		for _, tempC := range []float64{20, 22, 24, 26, 28} {
			p := mustFishless(t, s, loop, Options{TempC: tempC})
			most := 40
			if tempC < 22 {
				most = 46
			}
			if p.ReadyDay < 20 || p.ReadyDay > most {
				t.Errorf("loop %s at %g °C: ready on day %d, published 20 to %d", p.Loop, tempC, p.ReadyDay, most)
			}
			if p.EarlyDay >= p.ReadyDay || p.LateDay <= p.ReadyDay {
				t.Errorf("loop %s at %g °C: day %d outside %d to %d", p.Loop, tempC, p.ReadyDay, p.EarlyDay, p.LateDay)
			}
			if p = mustFishless(t, s, loop, Options{TempC: tempC, SeedGCODM3: SeedWater}); p.ReadyDay < 20 || p.ReadyDay > 40 {
				t.Errorf("loop %s at %g °C, ripe water: ready on day %d, published 20 to 40", p.Loop, tempC, p.ReadyDay)
			}
		}
	}
}

// Against runs of the bacteria alone with another integrator (scipy Radau, 1e-10),
// a steady load and nothing that slows them: days until both are below 0.5. The
// plan, with its own doses, alkalinity and free ammonia, may take a fifth longer.
func TestColdAgainstTheBacteriaAlone(t *testing.T) {
	s := demo(t)
	for _, row := range []struct{ tempC, day float64 }{{10, 81.7}, {15, 55.3}, {20, 38.5}, {25, 27.5}, {28, 22.7}} {
		p := mustFishless(t, s, 0, Options{TempC: row.tempC})
		if d := float64(p.BothBelowDay); d < row.day || d > 1.2*row.day {
			t.Errorf("%g °C: both below on day %g, the bacteria alone %g", row.tempC, d, row.day)
		}
	}
}

func TestDosesNeverPassTheLimits(t *testing.T) {
	s := demo(t)
	rapid.Check(t, func(t *rapid.T) {
		o := Options{
			TempC:        rapid.Float64Range(LeastTempC, MostTempC).Draw(t, "temp"),
			SeedGCODM3:   math.Pow(10, rapid.Float64Range(-6, -2).Draw(t, "seed")),
			GoalFeedGDay: rapid.Float64Range(5, 1200).Draw(t, "goal"),
			TargetTANGm3: rapid.Float64Range(2, 4).Draw(t, "target"),
			AlkEqM3:      rapid.Float64Range(0.05, 6).Draw(t, "alkalinity"),
		}
		loop := rapid.IntRange(0, 1).Draw(t, "loop")
		q, err := newSetting(&s.Loops[loop], s, o)
		if err != nil {
			t.Fatal(err)
		}
		p, err := q.fishless(1)
		if errors.Is(err, errTooMuch) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		stage := false
		for i, d := range p.Days {
			stage = stage || d.NO2NGm3 >= nitriteStage
			if d.TANGm3 > 5.05 || d.TANAfter > 5.05 || d.NO2NGm3 > 5.05 || d.TANAfter > o.TargetTANGm3+0.01 && d.NH4ClG > 0 && d.Parts == 1 {
				t.Fatalf("%+v: day %d: ammonia %.3f, after the dose %.3f, nitrite %.3f", o, d.Day, d.TANGm3, d.TANAfter, d.NO2NGm3)
			}
			if d.NO2NGm3 >= MostNGm3 && d.NH4ClG > 0 {
				t.Fatalf("day %d: %g g dosed at nitrite %.3f", d.Day, d.NH4ClG, d.NO2NGm3)
			}
			if i == 0 {
				continue
			}
			if least := alkStartGm3 * (1 - oddChange) * 0.6; d.AlkGm3 < least {
				t.Fatalf("%+v: day %d: alkalinity %.0f, below %.0f", o, d.Day, d.AlkGm3, least)
			}
			if !(d.PH > 6.8 && d.PH < 9) {
				t.Fatalf("%+v: day %d: pH %.2f", o, d.Day, d.PH)
			}
		}
		n := &p.Nitrogen
		if left := math.Abs(n.LeftG()); left > 1e-6*(n.InG+n.StartG) {
			t.Fatalf("%+v: %g g of nitrogen are not accounted for: %+v", o, left, n)
		}
		if n.PlantsG != 0 || math.Abs(n.InG-p.NH4ClG*nOfNH4Cl) > 1e-6*n.InG {
			t.Fatalf("dosed %g g of nitrogen by %g g of salt: %+v", n.InG, p.NH4ClG, n)
		}
	})
}

// In the end the goal's own nitrogen has been given two days running and both
// readings are below a half.
func TestReadyMeansTheGoalIsBorne(t *testing.T) {
	s := demo(t)
	for _, goal := range []float64{20, 145, 300, 450} { // the beds get 22 m³ a day: more leaves readings above a half
		p := mustFishless(t, s, 1, Options{GoalFeedGDay: goal})
		if p.ReadyDay == 0 {
			t.Fatalf("%g g a day: not ready", goal)
		}
		last := p.Days[len(p.Days)-1]
		if last.Day != p.ReadyDay || last.NH4ClG != 0 {
			t.Errorf("%g g a day: last row %+v, ready on day %d", goal, last, p.ReadyDay)
		}
		for i := len(p.Days) - 3; i < len(p.Days)-1; i++ {
			if given := p.Days[i].NH4ClG * nOfNH4Cl; given < fullShare*p.GoalNGDay {
				t.Errorf("%g g a day, day %d: %.3g g of nitrogen given of %.3g", goal, p.Days[i].Day, given, p.GoalNGDay)
			}
			if after := p.Days[i+1]; after.TANGm3 >= DoneGm3 || after.NO2NGm3 >= DoneGm3 {
				t.Errorf("%g g a day, day %d: %+v", goal, after.Day, after)
			}
		}
	}
}

func TestRipeMediaAndWarmthBringTheDayForward(t *testing.T) {
	s := demo(t)
	start := time.Now()
	rows, err := ByTemperature(&s.Loops[0], s, Options{}, UsualTempsC())
	if err != nil {
		t.Fatal(err)
	}
	if took := time.Since(start); took > 10*time.Second {
		t.Errorf("the table took %v", took)
	}
	for i, r := range rows {
		if !(r.MediaDay < r.WaterDay && r.WaterDay < r.NewDay) || r.MediaDay < 2 {
			t.Errorf("%g °C: new media %d, ripe water %d, ripe media %d", r.TempC, r.NewDay, r.WaterDay, r.MediaDay)
		}
		if i > 0 && (r.NewDay >= rows[i-1].NewDay || r.MediaDay >= rows[i-1].MediaDay) {
			t.Errorf("%g °C is no faster than %g: %+v", r.TempC, rows[i-1].TempC, r)
		}
		if r.From != "the south loop" {
			t.Errorf("media from %q", r.From)
		}
	}
	less := mustFishless(t, s, 0, Options{RipeMediaM3: 0.01})
	more := mustFishless(t, s, 0, Options{RipeMediaM3: 0.1})
	if more.ReadyDay >= less.ReadyDay {
		t.Errorf("100 L of stones: day %d, 10 L: day %d", more.ReadyDay, less.ReadyDay)
	}
}

func TestSamePlanTwice(t *testing.T) {
	s := demo(t)
	for _, o := range []Options{{}, {TempC: 24, SeedGCODM3: SeedWater}} {
		if a, b := mustFishless(t, s, 0, o), mustFishless(t, s, 0, o); !reflect.DeepEqual(a, b) {
			t.Errorf("%+v: two plans differ", o)
		}
	}
	a, errA := FishIn(&s.Loops[1], s, Options{})
	b, errB := FishIn(&s.Loops[1], s, Options{})
	if errA != nil || errB != nil || !reflect.DeepEqual(a, b) {
		t.Errorf("two plans with fish differ: %v, %v", errA, errB)
	}
}

func TestRefusals(t *testing.T) {
	s := demo(t)
	bare := site.Loop{Name: "bare", Water: "well", Tanks: []site.Tank{{Name: "a", VolumeM3: 1, WaterC: 20}}}
	for _, row := range []struct {
		what string
		loop *site.Loop
		o    Options
		want error
		says string
	}{
		{"hot", &s.Loops[0], Options{TempC: 50}, quantity.ErrRange, "temperature of the water"},
		{"icy", &s.Loops[0], Options{TempC: 1}, quantity.ErrRange, "temperature of the water"},
		{"goal below nothing", &s.Loops[0], Options{GoalFeedGDay: -5}, quantity.ErrRange, "goal"},
		{"no number", &s.Loops[0], Options{TempC: math.NaN()}, quantity.ErrRange, "temperature"},
		{"endless", &s.Loops[0], Options{SeedGCODM3: math.Inf(1)}, quantity.ErrRange, "bacteria"},
		{"no media", &bare, Options{}, ErrNoMedia, "beds"},
		{"too much", &s.Loops[0], Options{GoalFeedGDay: 50000}, errTooMuch, "lower goal"},
		{"more media than there is", &s.Loops[0], Options{RipeMediaM3: 50}, quantity.ErrRange, "loop south"},
		{"a strong base", &s.Loops[0], Options{Base: "KOH"}, nil, "too strong"},
		{"a loop that has none", &s.Loops[0], Options{RipeMediaM3: 0.02, From: "east"}, nil, "east"},
	} {
		_, err := Fishless(row.loop, s, row.o)
		if err == nil || row.want != nil && !errors.Is(err, row.want) || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v", row.what, err)
		}
	}
	empty := *s
	empty.Opening.Cohorts = nil
	if _, err := FishIn(&s.Loops[0], &empty, Options{}); !errors.Is(err, ErrNoFish) {
		t.Errorf("no fish: %v", err)
	}
	if _, err := FishIn(&s.Loops[1], s, Options{TempC: 10}); !errors.Is(err, ErrNoFish) {
		t.Errorf("tilapia at 10 °C: %v", err)
	}
	if _, err := ByTemperature(&s.Loops[0], s, Options{}, []float64{20, 60}); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("60 °C: %v", err)
	}
	if p := mustFishless(t, &empty, 0, Options{}); math.Abs(p.GoalFeedGDay-20*(6*2.4*1.2+6)) > 1e-9 {
		t.Errorf("goal without fish: %g", p.GoalFeedGDay)
	}
}

// The limits of the group are kept on each day of a plan that says so, feed never
// rises by more than a tenth over the last days' best, and nitrogen is accounted for.
func TestFishInStaysWithinItsLimits(t *testing.T) {
	s := demo(t)
	for _, row := range []struct {
		loop int
		o    Options
	}{
		{0, Options{FishKg: 7, WeightG: 80, Species: "trout_rainbow"}}, {1, Options{}}, {1, Options{SeedGCODM3: SeedWater}}, {0, Options{RipeMediaM3: 0.2}},
		{1, Options{FishKg: 3, Species: "tilapia_nile", WeightG: 60, TempC: 27}},
		{0, Options{FishKg: 2, Species: "trout_rainbow", WeightG: 80, RipeMediaM3: 0.1}},
	} {
		name := fmt.Sprintf("loop %d, %+v", row.loop, row.o)
		p, err := FishIn(&s.Loops[row.loop], s, row.o)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !p.Kept || p.ReadyDay == 0 {
			t.Errorf("%s: kept %v, ready %d", name, p.Kept, p.ReadyDay)
		}
		lim := p.Limits
		best := []float64{0, 0, 0}
		for _, d := range p.Days {
			if d.MostNH3N > lim.NH3NGm3 || d.MostFelt > lim.NO2NGm3 || d.mostTAN > lim.TANGm3 {
				t.Errorf("%s, day %d: un-ionised %.4f, nitrite felt %.3f, ammonia %.2f against %+v", name, d.Day, d.MostNH3N, d.MostFelt, d.mostTAN, lim)
			}
			if most := max(firstShare, 1.1*max(best[0], best[1], best[2])); d.FeedShare > most+1e-9 || d.Day == 1 && d.FeedG > 0 {
				t.Errorf("%s, day %d: %.3f of the ration after %.3f", name, d.Day, d.FeedShare, best)
			}
			best[d.Day%3] = d.FeedShare
			if d.Change < 0 || d.Change > twoChanges+1e-9 {
				t.Errorf("%s, day %d: %g of the water changed", name, d.Day, d.Change)
			}
		}
		if left := math.Abs(p.Nitrogen.LeftG()); left > 1e-4*p.Nitrogen.InG {
			t.Errorf("%s: %g g of nitrogen are not accounted for: %+v", name, left, p.Nitrogen)
		}
		t.Logf("%s: ready %d, hungry %d, changed %.0f m³, salt %.0f g", name, p.ReadyDay, p.HungryDays(), p.ChangedM3, p.SaltG)
	}
	// Far too many fish: the plan says that it cannot keep the limits.
	p, err := FishIn(&s.Loops[1], s, Options{FishKg: 200, Species: "tilapia_nile", WeightG: 300, TempC: 27})
	if err != nil {
		t.Fatal(err)
	}
	if p.Kept || !strings.Contains(strings.Join(p.Warnings, " "), "start without fish") {
		t.Errorf("200 kg: kept %v, warnings %q", p.Kept, p.Warnings)
	}
}

func TestAnswer(t *testing.T) {
	p := &Plan{Loop: "north", Method: WithoutFish, TempC: 13, GoalFeedGDay: 241, ReadyDay: 61, EarlyDay: 50, LateDay: 70, SeedGCODM3: SeedNew}
	rows := []Row{{TempC: 10, MediaDay: 5}, {TempC: 13, MediaDay: 12, MediaM3: 0.02, From: "the south loop"}}
	for _, row := range []struct{ got, want string }{
		{p.Answer(rows), "A new north loop kept at 13 °C is ready for 240 g of feed a day in about 61 days (50 to 70); with two buckets (20 L) of stones from the south loop in 12."},
		{p.Answer(nil), "A new north loop kept at 13 °C is ready for 240 g of feed a day in about 61 days (50 to 70)."},
		{(&Plan{Loop: "north", Method: WithoutFish, TempC: 4.5, GoalFeedGDay: 12.34}).Answer(nil), "A new north loop kept at 4.5 °C does not come to bear 12.3 g of feed a day within 240 days."},
		{(&Plan{Loop: "b", Method: WithoutFish, TempC: 20, GoalFeedGDay: 20000, ReadyDay: 9, EarlyDay: 5, RipeMediaM3: 0.01, SeedGCODM3: 1}).Answer(rows), "A new b loop kept at 20 °C with a bucket (10 L) of running media is ready for 20.0 kg of feed a day in about 9 days (5 to more than 240)."},
		{(&Plan{Loop: "b", Method: WithFish, TempC: 20, GoalFeedGDay: 100, ReadyDay: 9, EarlyDay: 5, LateDay: 12, Days: make([]Day, 3)}).Answer(nil), "The b loop, started with its fish in it and kept at 20 °C is ready for 100 g of feed a day in about 9 days (5 to 12)."},
	} {
		if row.got != row.want {
			t.Errorf("got  %s\nwant %s", row.got, row.want)
		}
	}
}

// A gram of ammonium chloride is 0.262 g of nitrogen (atomic weights), as much as
// 3.3 ml of a 10 % ammonia solution.
func TestSaltAndSolution(t *testing.T) {
	if n := nOfNH4Cl; math.Abs(n-0.2619) > 1e-4 {
		t.Errorf("nitrogen of ammonium chloride %g", n)
	}
	if n := nOfNH4Cl + clOfNH4Cl; n > 1 || n < 0.92 {
		t.Errorf("nitrogen and chloride make %g of the salt", n)
	}
	if ml := nOfNH4Cl / nPerMl; math.Abs(ml-3.33) > 0.02 {
		t.Errorf("a gram is %g ml", ml)
	}
}

func BenchmarkFishless(b *testing.B) {
	s := demo(b)
	for b.Loop() {
		if _, err := Fishless(&s.Loops[0], s, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
