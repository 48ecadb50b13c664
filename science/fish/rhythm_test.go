package fish_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/fish"
)

// Common practice, no source.
func TestMealHours(t *testing.T) {
	for meals, want := range map[int][]int{
		-1: nil, 0: nil, 1: {9}, 2: {8, 18}, 3: {8, 13, 18}, 6: {8, 10, 12, 14, 16, 18}, 11: {8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18},
	} {
		if got := fish.MealHours(meals); !slices.Equal(got, want) {
			t.Errorf("%d meals at %v, want %v", meals, got, want)
		}
	}
	for _, meals := range []int{12, 13, math.MaxInt} {
		if got := fish.MealHours(meals); len(got) != 12 || got[0] != 8 || got[11] != 18 || !slices.IsSorted(got) {
			t.Errorf("%d meals at %v", meals, got)
		}
	}
}

func sum(v [24]float64) (total float64) {
	for _, x := range v {
		total += x
	}
	return total
}

// highest is the hour of the largest share.
func highest(v [24]float64) int { return slices.Index(v[:], slices.Max(v[:])) }

func TestRhythmSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		meals := rapid.IntRange(-3, 15).Draw(t, "meals")
		r := fish.NewRhythm(meals)
		for name, v := range map[string][24]float64{"feed": r.Feed, "ammonia": r.Ammonia, "digesting": r.Digesting} {
			if got := sum(v); !(math.Abs(got-1) <= 1e-12) || slices.Min(v[:]) < 0 {
				t.Fatalf("%s of %d meals sums to %g, least %g", name, meals, got, slices.Min(v[:]))
			}
		}
		if least := slices.Min(r.Ammonia[:]); least < fish.EndogenousShare/24 {
			t.Fatalf("ammonia of %d meals falls to %g", meals, least)
		}
	})
}

// From memory: ammonia is highest 4 to 6 h after a meal and then about twice the
// mean; digestion takes most oxygen within 4 h. Hour 9 is the first after the
// meal.
func TestRhythmPeaks(t *testing.T) {
	r := fish.NewRhythm(1)
	if after := highest(r.Ammonia) - 9; after < 4 || after > 5 {
		t.Errorf("ammonia is highest in the hour from %d h after the meal", after)
	}
	if peak := 24 * slices.Max(r.Ammonia[:]); !(peak > 1.6 && peak < 2.2) {
		t.Errorf("ammonia peaks at %.2f times its mean", peak)
	}
	if after := highest(r.Digesting) - 9; after < 1 || after > 3 {
		t.Errorf("digestion is highest in the hour from %d h after the meal", after)
	}
	if r.Feed[9] != 1 {
		t.Errorf("one meal: %v", r.Feed)
	}
	for meals := 2; meals <= 12; meals++ {
		if v := fish.NewRhythm(meals).Ammonia; !(slices.Max(v[:]) < 0.9*slices.Max(r.Ammonia[:])) {
			t.Errorf("%d meals spread ammonia no better than one: %g", meals, slices.Max(v[:]))
		}
	}
}

// The meal's wave runs over midnight: the hour before the meal still holds what
// yesterday's left, the first after midnight what is left of the evening's, and
// neither jumps there.
func TestRhythmRunsOverMidnight(t *testing.T) {
	one, two := fish.NewRhythm(1), fish.NewRhythm(2)
	if !(one.Digesting[8] > 0) || !(two.Digesting[0] > two.Digesting[7]) || !(two.Digesting[23] > two.Digesting[0]) {
		t.Errorf("digestion before the meal %g, around midnight %g, %g", one.Digesting[8], two.Digesting[23], two.Digesting[0])
	}
	near(t, "hour before midnight over hour after", two.Digesting[0]/two.Digesting[23], nil, 0.92, 0.08)
}

// From memory: the highest hour is about 1.4 to 1.6 times the day's mean oxygen,
// up to twice within 4 h of a meal; here one and two meals of the full ration.
func TestPeakOxygen(t *testing.T) {
	for _, row := range []struct {
		id    string
		tempC float64
	}{{"trout_rainbow", 12}, {"trout_rainbow", 16}, {"tilapia_nile", 26}, {"tilapia_nile", 29}} {
		for _, meals := range []int{1, 2} {
			c := cohort(t, row.id, 100, 120)
			c.MortalityPerDay = 0
			rate, ok := c.Species.RoutineOxygenMgKgH(c.WeightG, row.tempC)
			if !ok {
				t.Fatalf("%s: no routine rate", row.id)
			}
			routineGH := rate * c.BiomassG() / 1e6
			day := c.Step(row.tempC, fish.FeedKind{}, 1)
			digestionG := day.OxygenG - 24*routineGH
			if !(digestionG > 0) {
				t.Fatalf("%s: %g g oxygen a day, %g of it routine", row.id, day.OxygenG, 24*routineGH)
			}
			highestGH, totalG := 0.0, 0.0
			for _, share := range fish.NewRhythm(meals).Digesting {
				hourG := routineGH + digestionG*share
				highestGH, totalG = max(highestGH, hourG), totalG+hourG
			}
			near(t, "oxygen of the hours", totalG, nil, day.OxygenG, 1e-9*day.OxygenG)
			if peak := highestGH / (day.OxygenG / 24); !(peak >= 1.2 && peak <= 2) {
				t.Errorf("%s at %g °C, %d meals: the highest hour takes %.3f times the mean", row.id, row.tempC, meals, peak)
			}
		}
	}
}

// From memory: 25 to 35 percent after 24 h, 10 to 20 percent after two days.
func TestFastingShare(t *testing.T) {
	near(t, "at once", fish.FastingShare(0), nil, 1, 0)
	near(t, "a day", fish.FastingShare(24), nil, 0.30, 0.05)
	near(t, "two days", fish.FastingShare(48), nil, 0.15, 0.05)
	near(t, "for good", fish.FastingShare(math.Inf(1)), nil, 0.1, 0)
	near(t, "before", fish.FastingShare(-5), nil, 1, 0)
	near(t, "no number", fish.FastingShare(math.NaN()), nil, 1, 0)
	last := 1.0
	for h := 0.0; h < 400; h += 0.01 {
		got := fish.FastingShare(h)
		if !(got <= last && last-got < 1e-3) {
			t.Fatalf("at %g h %g after %g", h, got, last)
		}
		last = got
	}
}
