package main

import (
	"bytes"
	"strings"
	"testing"

	"tidebed/menu"
	"tidebed/plan"
	"tidebed/site"
)

// What is to be done stands before what it rests on, and what was sown in the nursery
// before today is nothing to sow. The figures are invented.
func TestPlanIsPrintedToBeDone(t *testing.T) {
	on, march := site.On(2027, 10, 10), site.On(2027, 3, 8)
	p := &plan.Plan{Site: "Made-up House", Today: site.On(2027, 1, 11), Sentence: "The plan gives 86 %.", Reasons: []string{"What is planned now would give 38 % in October week."},
		Occasions: []plan.Occasion{{Name: "October week", From: on, To: on.Plus(6), WorstShare: 0.86, Menu: &menu.Menu{}, Sources: []plan.Source{{What: "Oats", Where: "store cupboard", Kg: 1.2, Share: 0.1}}}},
		Sowings: []plan.Sowing{
			{Name: "Kale", Crop: "kale", Standing: true, Parts: []plan.Part{{Bed: "north 1"}}, Sow: site.On(2026, 9, 1), Plant: site.On(2026, 10, 5)},
			{Name: "Swiss chard", Crop: "chard", Parts: []plan.Part{{Bed: "south 1"}}, AreaM2: 1.4, Sow: site.On(2027, 1, 5), Plant: site.On(2027, 1, 25), First: site.On(2027, 4, 7), Seeds: 30, Plants: 24, SowDays: 20},
			{Name: "Potato", Crop: "potato", Parts: []plan.Part{{Bed: "tubs"}}, AreaM2: 6, Sow: march, Plant: march, First: on, Plants: 30, Propagation: "tuber"}},
		Levels: []plan.Level{{Key: "matters", Name: "worst nutrient", Unit: "share", Most: true, Value: 0.49, Give: 0.005, Whole: 0.34}}}
	var out bytes.Buffer
	if err := printPlan(streams{out: &out}, &planJSON{Plan: p, Seeds: p.SeedList()}, false); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	at := -1
	for _, part := range []string{"The plan gives 86 %.", "would give 38 %", "\nhome-fed days", "\nNEXT JOBS\n", "\nWHAT TO SOW\n", "2027-03-08  tubs", "\nseed list", "\nIN THE NURSERY ALREADY\n", "\nsince 2027-01-05", "\nWHAT STANDS\n", "October week is fed by", "worst nutrient 34 % of 49 %"} {
		next := strings.Index(text, part)
		if next <= at {
			t.Errorf("%q stands at %d, after %d is due:\n%s", part, next, at, text)
		}
		at = next
	}
	if strings.Contains(text, plan.MealsApart) { // one set of days shares with none
		t.Error(text)
	}
	if strings.Count(text, "Swiss chard") != 1 || !strings.Contains(text, "first harvest, low yields") {
		t.Error(text)
	}
}
