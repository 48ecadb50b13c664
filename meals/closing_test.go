package meals

import (
	"strings"
	"testing"

	"tidebed/season"
	"tidebed/site"
	"tidebed/warmth"
)

func TestLostMeals(t *testing.T) {
	answer := func(shares ...float64) *Answer {
		a := &Answer{}
		for i, v := range shares {
			a.Occasions = append(a.Occasions, Occasion{Name: string(rune('A' + i)), Low: Run{WorstShare: v}})
		}
		return a
	}
	for _, c := range []struct {
		before, after *Answer
		want          string
	}{
		{answer(0.5, 0.4), answer(0.5, 0.3), "Without those fish and plantings the worst-off eater gets 30 % instead of 40 % in B from inside, and still 50 % in A."},
		{answer(0.5), answer(0.25), "Without those fish and plantings the worst-off eater gets 25 % instead of 50 % in A from inside."},
		{answer(0.5, 0.4), answer(0.501, 0.4), "Without those fish and plantings the worst-off eater still gets 50 % in A and 40 % in B from inside."},
		{answer(), answer(), ""},
	} {
		if got := lostMeals(c.before, c.after); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	past := answer(0.5)
	past.Occasions[0].Past = true
	if got := lostMeals(past, past); got != "" {
		t.Errorf("days that are over: %q", got)
	}
}

// Each closing of the demo that saves heat says what the table has without it, after
// what it takes from tanks and beds; its own site has those fish no longer.
func TestClosingsTellTheMeals(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	year := func(x *site.Site) (*warmth.Year, error) {
		_, y, err := season.Warmth(x)
		return y, err
	}
	list, err := warmth.Variants(t.Context(), year, s)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i := range list {
		if w := list[i].Without(); w != nil {
			if list[i].Part != "south" { // one is enough, and each takes its time
				list[i].SavedKWh = 0
				continue
			}
			n++
			for _, c := range w.Opening.Cohorts {
				if c.Species == "tilapia_nile" || strings.Contains(strings.ToLower(c.Name), "tilapia") {
					t.Errorf("%s is closed and keeps %s", list[i].Part, c.Name)
				}
			}
			if len(w.Opening.Plantings) >= len(s.Opening.Plantings) || len(w.Opening.Cohorts) >= len(s.Opening.Cohorts) {
				t.Errorf("%s is closed and loses nothing", list[i].Part)
			}
		} else if len(list[i].Loses) > 0 {
			t.Errorf("%s closes nothing and loses %q", list[i].What, list[i].Loses)
		}
	}
	if n != 1 {
		t.Fatalf("%d closings of the south loop", n)
	}
	if err := TellClosings(t.Context(), nil, s, s.Opening.Date, list); err != nil {
		t.Fatal(err)
	}
	for i := range list {
		v := &list[i]
		if v.Part != "south" || v.Without() == nil {
			continue
		}
		if last := v.Loses[len(v.Loses)-1]; !strings.HasPrefix(last, "Without those fish and plantings the worst-off eater gets ") || !strings.Contains(last, "instead of") || !strings.Contains(last, "March rehearsal") {
			t.Errorf("%q", last)
		}
	}
}
