package main

import (
	"bytes"
	"strings"
	"testing"

	"tidebed/menu"
	"tidebed/plan"
	"tidebed/site"
)

// A plan that was stopped, with a hungry eater, demands that collide and reasons: all
// of it is printed. Its figures are invented.
func TestPrintPlan(t *testing.T) {
	on := site.On(2027, 10, 10)
	p := &plan.Plan{Site: "Made-up House", Today: site.On(2027, 1, 11), Sentence: "The plan gives 86 %.", Reasons: []string{"Light binds."}, Stopped: true,
		Occasions: []plan.Occasion{{Name: "October week", From: on, To: on.Plus(6), NeedKcal: 99000, WorstShare: 0.86, MeanShare: 0.88, FedShare: 0.97,
			Menu: &menu.Menu{Eaters: []menu.EaterFigure{{Name: "Maeve"}, {Name: "Oisín", OutsideKcal: 92}}}, Sources: []plan.Source{{What: "oats", Where: "store cupboard", Kg: 1.2, Share: 0.1}}, Binds: []string{"the tubs are full"}}},
		Sowings:   []plan.Sowing{{Name: "Potato", Crop: "potato", Parts: []plan.Part{{Bed: "tubs", AreaM2: 6}}, AreaM2: 6, Sow: site.On(2027, 3, 8), Plant: site.On(2027, 3, 8), First: site.On(2027, 7, 28), Last: site.On(2027, 7, 28), Pinned: true, Plants: 30, Propagation: "tuber", Serves: []plan.Serve{{Use: "October week", Kg: 24}}}},
		Stockings: []plan.Stocking{{Title: "Rainbow trout", Tank: "trout 1", Day: on, Number: 40, WeightG: 20, Why: "more fish"}},
		Collides:  []plan.Collide{{What: "Oisín's full need", Mend: "buy 100 kcal a day"}}, Check: plan.Check{Fault: []string{"a bed holds too much"}}, Gap: 0.004,
		Rejected: []plan.Rejected{{Name: "Tomato", Why: "too dark"}}}
	var out bytes.Buffer
	if err := printPlan(streams{out: &out}, &planJSON{Plan: p, Seeds: p.SeedList(), Found: &plan.Reasons{Worths: []plan.Worth{{What: "1 m² more of tubs", Points: 1.2, Worst: 1.1}}, Rejected: []plan.Rejected{{Name: "Tomato", Why: "potatoes feed more", Points: 0.4, Tried: true}}}}, true); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	for _, want := range []string{"The plan gives 86 %.\nStopped before its end: this is the best plan so far.\n", "Still to be found elsewhere: Oisín in October week, 100 kcal a day.", "! Oisín's full need: buy 100 kcal a day",
		"store cupboard, bought", "bound by: the tubs are full", "Potato (pinned)", "October week 24 kg", "35 tubers", "2027-02-22", "+1.20", "0.40 points", "potatoes feed more", "! a bed holds too much", "within 0.4 % of the best"} {
		if !strings.Contains(text, want) {
			t.Errorf("it lacks %q:\n%s", want, text)
		}
	}
	if strings.Contains(text, "%!") || strings.Contains(text, "WHAT STANDS") {
		t.Error(text)
	}
}
