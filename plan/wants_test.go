package plan

import (
	"context"
	"math"
	"testing"

	"tidebed/site"
)

// Nothing new is sown before seed can be there, whatever the number of days; with seed in
// hand something would be. A table so near that the first weeks matter: kale every week.
func TestNothingBeforeSeedIsThere(t *testing.T) {
	s := wish(small(), "potato", "kale", "lettuce_butterhead")
	for i := range s.Crops {
		s.Crops[i].KgWeek = 3
	}
	first := func(lead int) site.Date {
		p, err := Make(context.Background(), s, s.Opening.Date, Options{Pool: testPool, WishedOnly: true, Rounds: -1, LeadDays: lead})
		if err != nil {
			t.Fatal(err)
		}
		for i := range p.Sowings { // by the day of the first job
			if x := &p.Sowings[i]; !x.Standing {
				return x.Sow
			}
		}
		t.Fatalf("%d days: nothing is sown", lead)
		return site.Date{}
	}
	if day := first(-1); !day.Before(s.Opening.Date.Plus(UsualLeadDays).Time) {
		t.Fatalf("with seed in hand the first is sown on %s: that tries nothing", day)
	}
	for _, lead := range []int{0, 20} {
		wait := lead
		if lead == 0 {
			wait = UsualLeadDays
		}
		if day := first(lead); day.Before(s.Opening.Date.Plus(wait).Time) {
			t.Errorf("%d days: the first is sown on %s, today is %s", lead, day, s.Opening.Date)
		}
	}
}

// What the household and orders are said to get is what the weeks give them, and who
// gets less than is asked for is told why.
func TestAskedForAddsUp(t *testing.T) {
	p := demoMade(t)
	household, orders, weeksH, weeksO := 0.0, 0.0, 0.0, 0.0
	for _, a := range p.Asked {
		if a.Use == "orders" {
			orders += a.Kg
		} else {
			household += a.Kg
		}
		if short := a.Kg < enoughKg*a.WantKg; short != (a.Why != "") {
			t.Errorf("%s for %s: %.1f of %.1f kg, told %q", a.Name, a.Use, a.Kg, a.WantKg, a.Why)
		}
	}
	for _, w := range p.Weeks {
		weeksH, weeksO = weeksH+w.GreensKg, weeksO+w.OrdersKg
	}
	if math.Abs(household-weeksH) > 0.1 || math.Abs(orders-weeksO) > 0.1 || household < 10 || orders < 10 {
		t.Errorf("household %.2f kg by crop and %.2f by week, orders %.2f and %.2f", household, weeksH, orders, weeksO)
	}
}

// Without a cupboard the children cannot be fed; the flour, rice and oil that the answer
// asks for are enough, and a tenth less is not.
func TestCupboardThatWouldDo(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry", "carrot", "beetroot", "parsnip")
	s.Loops[0].Beds[0].AreaM2, s.Loops[0].Beds[1].AreaM2 = 20, 10
	s.People[0].AgeY, s.People[0].WeightKg, s.People[0].HeightM = 12, 40, 1.5
	for i := range s.HomeFed {
		s.HomeFed[i].Cupboard = false
	}
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1, Largest: true})
	if len(p.Collides) == 0 {
		t.Fatal("a child is not fed, and nothing collides")
	}
	m, sol := p.made, p.found
	grams, ok, err := m.moreCupboard(context.Background(), sol, 0)
	if err != nil || !ok || grams < 500 {
		t.Fatalf("%g g, %v, %v", grams, ok, err)
	}
	fed := func(share float64) float64 {
		r := *s
		r.HomeFed = append([]site.HomeFedDays(nil), s.HomeFed...)
		r.HomeFed[0].Cupboard = true
		r.Cupboard = nil
		for _, key := range relaxFoods { // the split between them is the menu's: all get the whole
			r.Cupboard = append(r.Cupboard, site.CupboardFood{Food: key, StockKg: share * grams / 1000})
		}
		q := made(t, &r, r.Opening.Date, Options{WishedOnly: true, Rounds: -1, Largest: true})
		out := 0.0
		for _, e := range q.Occasions[0].Menu.Eaters {
			out += e.OutsideKcal
		}
		return out
	}
	if out := fed(1); out > 5 {
		t.Errorf("with %g g of each %.0f kcal a day are missing", grams, out)
	}
	if out := fed(0.2); out < 5 {
		t.Errorf("a fifth of %g g would do as well", grams)
	}
}
