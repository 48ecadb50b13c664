package season

import (
	"testing"

	"tidebed/site"
)

// The daily loop allocates nothing, harvests and deaths included.
func TestDayAllocatesNothing(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	r, err := newRun(s, Options{To: s.Opening.Date.Plus(400), Course: High}, 401)
	if err != nil {
		t.Fatal(err)
	}
	d := 0
	if n := testing.AllocsPerRun(399, func() {
		if err := r.day(d); err != nil {
			t.Fatal(err)
		}
		d++
	}); n != 0 {
		t.Errorf("%g allocations a day", n)
	}
	harvests := 0
	for _, p := range r.plants {
		harvests += len(p.out.Picks)
	}
	if harvests < 20 {
		t.Errorf("only %d harvests in the days measured", harvests)
	}
}
