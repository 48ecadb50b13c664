package meals

import (
	"context"
	"fmt"

	"tidebed/numeric/lp"
	"tidebed/site"
	"tidebed/warmth"
	"tidebed/words"
)

// TellClosings adds to what each closing of a list loses what the home-fed days get
// without the fish and plantings that do not live through it, at low yields, and which
// of them it leaves as they are. Closings that save nothing are passed over. pool may be
// nil. Where the meals cannot be worked out that is said instead; the error is that of an
// ended ctx.
func TellClosings(ctx context.Context, pool *lp.Pool, s *site.Site, today site.Date, list []warmth.Variant) error {
	var before *Answer
	for i := range list {
		v := &list[i]
		if v.Without() == nil || v.Fault != "" || v.SavedKWh <= 0 || len(s.HomeFed) == 0 {
			continue
		}
		if pool == nil {
			pool = lp.NewPool(1)
			defer pool.Close()
		}
		var err error
		if before == nil {
			before, err = Forecast(ctx, pool, s, today, nil)
		}
		var after *Answer
		if err == nil {
			after, err = Forecast(ctx, pool, v.Without(), today, nil)
		}
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			v.Loses = append(v.Loses, "What the meals lose by it cannot be worked out: "+err.Error()+".")
			continue
		}
		if text := lostMeals(before, after); text != "" {
			v.Loses = append(v.Loses, text)
		}
	}
	return nil
}

// lostMeals says what the worst-off eater has of the energy from inside on the days to
// come before and after; empty where none is to come.
func lostMeals(before, after *Answer) string {
	var less, same []string
	for i := range before.Occasions {
		b, a := &before.Occasions[i], &after.Occasions[i]
		if b.Past {
			continue
		}
		if was, is := Percent(b.Low.WorstShare), Percent(a.Low.WorstShare); was != is {
			less = append(less, fmt.Sprintf("%s instead of %s in %s", is, was, b.Name))
		} else {
			same = append(same, fmt.Sprintf("%s in %s", was, b.Name))
		}
	}
	switch {
	case len(less)+len(same) == 0:
		return ""
	case len(less) == 0:
		return "Without those fish and plantings the worst-off eater still gets " + words.List(same) + " from inside."
	}
	text := "Without those fish and plantings the worst-off eater gets " + words.List(less) + " from inside"
	if len(same) > 0 {
		text += ", and still " + words.List(same)
	}
	return text + "."
}
