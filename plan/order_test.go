package plan

import (
	"slices"
	"testing"
)

// An order that is asked for holds in whole modules: what stands first loses no more than
// its give and what whole modules may cost, and the gap told is against a bound that
// keeps the order too.
func TestOrderHoldsInWholeModules(t *testing.T) {
	s := sample(t)
	m, err := newMaker(t.Context(), s, s.Opening.Date, Options{Pool: testPool, Order: []string{"change", "cost"}})
	if err != nil {
		t.Fatal(err)
	}
	sol, err := m.solve(t.Context(), m.again(0), false)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"change", "cost"} {
		i := slices.IndexFunc(sol.levels, func(l Level) bool { return l.Key == key })
		l := sol.levels[i]
		most := l.Value + l.Give + wholeGive*max(1, l.Value, -l.Value)
		t.Logf("%s: %.2f as linear, %.2f in whole modules", key, l.Value, l.Whole)
		if l.Whole > most+1e-6 {
			t.Errorf("%s: %.3f, at most %.3f", key, l.Whole, most)
		}
	}
	if sol.bound == 0 || sol.gap <= 0 || sol.wholeGap <= 0 {
		t.Errorf("bound %g, gaps %g and %g: not told", sol.bound, sol.wholeGap, sol.gap)
	}
}
