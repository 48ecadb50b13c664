package climate_test

import (
	"errors"
	"math"
	"testing"

	"tidebed/climate"
)

// Typed nights over a made-up year: the lowest is the typed one, the evening
// before falls toward it, there is no step at midnight, and other days stay.
func TestNightsOverASeries(t *testing.T) {
	s, err := generator(t, "London", 13).Year(2)
	if err != nil {
		t.Fatal(err)
	}
	n, err := climate.NewNights(s)
	if err != nil {
		t.Fatal(err)
	}
	var before, day, eve climate.Day
	typed := date(2026, 1, 20)
	if err := s.Day(typed, &before); err != nil {
		t.Fatal(err)
	}
	for _, r := range []float64{-14, -13, 9} {
		if err := n.SetNightMinimum(typed, r); err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(n.Day(typed, &day), n.Day(typed.AddDate(0, 0, -1), &eve)); err != nil {
			t.Fatal(err)
		}
		hold(t, "typed", &day)
		hold(t, "evening before", &eve)
		low, was, high := math.Inf(1), math.Inf(1), math.Inf(-1)
		for _, v := range before.Hours[:15] {
			high = max(high, v.TempC)
		}
		for h := range 12 {
			low, was = min(low, day.Hours[h].TempC), min(was, before.Hours[h].TempC)
		}
		near(t, "lowest hour", low, r, 1e-9)
		near(t, "lowest", day.TminC, r, 0)
		var plain climate.Day
		if err := s.Day(typed.AddDate(0, 0, -1), &plain); err != nil {
			t.Fatal(err)
		}
		if fall := plain.Hours[23].TempC - eve.Hours[23].TempC; (was-r)*fall <= 0 {
			t.Errorf("typed %g, and the evening before moves by %g K", r, -fall)
		}
		if step := math.Abs(day.Hours[0].TempC - eve.Hours[23].TempC); step > 2.5 {
			t.Errorf("typed %g: a step of %g K at midnight", r, step)
		}
		if plain.Hours[14] != eve.Hours[14] || day.GHIMJm2 != before.GHIMJm2 {
			t.Error("more moves than the night's temperature")
		}
		// By day; the evening goes back to what comes after.
		top := math.Inf(-1)
		for _, v := range day.Hours[:15] {
			top = max(top, v.TempC)
		}
		if span, had := top-r, high-was; span < 0.5*had-1e-9 || span > 2*had+1e-9 {
			t.Errorf("typed %g: a range of %g K by day, of %g K before", r, span, had)
		}
	}
	// The days round about are left alone.
	for _, away := range []int{-2, 1} {
		d := typed.AddDate(0, 0, away)
		if err := errors.Join(s.Day(d, &before), n.Day(d, &day)); err != nil || before != day {
			t.Errorf("%d days away the weather changes: %v", away, err)
		}
	}
	if n.UTCOffsetH() != s.UTCOffsetH() {
		t.Error("another clock")
	}
	if err := n.SetNightMinimum(typed, math.NaN()); err == nil {
		t.Error("a night of NaN is taken")
	}
	if _, err := climate.NewNights(nil); err == nil {
		t.Error("nights over nothing are taken")
	}
	if k := testing.AllocsPerRun(20, func() {
		if err := n.Day(typed.AddDate(0, 0, -1), &day); err != nil {
			t.Error(err)
		}
	}); k > 1 {
		t.Errorf("a day allocates %g times", k)
	}
}
