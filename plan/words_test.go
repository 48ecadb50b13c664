package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"tidebed/site"
)

// A set of days to which lateness costs nothing is not named, and no sentence is made
// where it costs none.
func TestLateNamesWhatChanges(t *testing.T) {
	p := &Plan{Occasions: []Occasion{{Name: "March", MeanShare: 0.561, LateShare: 0.5605}, {Name: "October", MeanShare: 0.53, LateShare: 0.52}, {Name: "December", MeanShare: 0.58, LateShare: 0.52}}}
	if got, want := p.late(), "If all that is sown from now on ripened a week late, all together would get 52 % instead of 53 % in October and 52 % instead of 58 % in December."; got != want {
		t.Errorf("got %q", got)
	}
	p.Occasions = p.Occasions[:1]
	if got := p.late(); got != "" {
		t.Errorf("nothing changes: %q", got)
	}
}

func TestHaveWords(t *testing.T) {
	for want, n := range map[string]int{"1 of 6 eaters has": 1, "4 of 6 eaters have": 4, "everybody has": 6} {
		if got := haveWords(n, 6); got != want {
			t.Errorf("%d of 6: %q, want %q", n, got, want)
		}
	}
}

// Ties come last, what could not be tried before them, and no figure stands twice.
func TestTiesComeLast(t *testing.T) {
	var r Reasons
	for name, mean := range map[string]float64{"Dill": 0, "Okra": -0.0011, "Mint": -0.00002} {
		r.add(asked{crop: strings.ToLower(name), what: name}, 0, mean)
	}
	r.Rejected = append(r.Rejected, Rejected{Crop: "taro", Name: "Taro", Why: "still growing"}, Rejected{Name: "Kale", Points: 0.02, Tried: true})
	nearestFirst(r.Rejected)
	var names []string
	for _, x := range r.Rejected {
		names = append(names, x.Name)
		if strings.Contains(x.Why, "0.1") {
			t.Errorf("%s: the figure stands in its own column: %q", x.Name, x.Why)
		}
		if tie := strings.HasPrefix(x.Why, "a tie"); tie != (x.Tried && Points(x.Points) == "0") {
			t.Errorf("%s: %s points, %q", x.Name, Points(x.Points), x.Why)
		}
	}
	if got := strings.Join(names[:3], " "); got != "Kale Okra Taro" {
		t.Errorf("order %q", names)
	}
}

// What stands and is eaten from is used: it is only not sown anew. What stands for
// nothing is not marked, nor is what is sown.
func TestWhatStandsIsNotCalledUnused(t *testing.T) {
	p := &Plan{Sowings: []Sowing{{Crop: "garlic", Standing: true, Serves: []Serve{{Use: "October week", Kg: 0.3}}}, {Crop: "mint", Standing: true}, {Crop: "kale", Serves: []Serve{{Use: "the household", Kg: 1}}}}}
	list := []Rejected{{Crop: "garlic", Why: "other crops give more"}, {Crop: "mint", Why: "a tie"}, {Crop: "kale", Why: "x"}}
	var got []string
	for _, r := range p.NotSown(list) {
		got = append(got, r.Why)
	}
	if want := []string{"stands and is eaten from, not sown anew; other crops give more", "a tie", "x"}; !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
	if list[0].Why != "other crops give more" {
		t.Error("the list that was given has changed")
	}
}

func TestBelow(t *testing.T) {
	p := &Plan{Levels: []Level{
		{Name: "protein", Unit: "share", Most: true, Value: 1, Give: 0.005, Whole: 0.996},
		{Name: "worst nutrient", Unit: "share", Most: true, Value: 0.486, Give: 0.005, Whole: 0.3427},
		{Name: "greens", Unit: "share", Most: true, Value: 0.7041, Give: 0.001, Whole: 0.7001},
		{Name: "nitrogen short", Unit: "g", Value: 12, Give: 5, Whole: 40},
		{Name: "work", Unit: "h", Value: 155, Give: 1, Whole: 143}}}
	if got, want := p.Below(), "In whole modules these levels lose more than they may give back: worst nutrient 34 % of 49 %; greens 70.0 % of 70.4 %; nitrogen short 40 g, not 12 g."; got != want {
		t.Errorf("got %q", got)
	}
	p.Levels = p.Levels[:1]
	if got := p.Below(); got != "" {
		t.Errorf("none is below: %q", got)
	}
}

// Why the answer on meals differs stands once, right after what it is about.
func TestToldSaysOnceWhyMealsDiffer(t *testing.T) {
	p := &Plan{Reasons: []string{nowGives + "38 % in October week.", "Light binds."}, Occasions: make([]Occasion, 2), InForce: InForce{Sowings: 3}}
	if got := p.Told(); len(got) != 3 || got[1] != "Meals "+MealsApart || got[2] != "Light binds." {
		t.Errorf("%q", got)
	}
	p.Occasions = p.Occasions[:1]
	if got := p.Told(); len(got) != 2 || p.Apart() != "" {
		t.Errorf("one set of days shares with none: %q", got)
	}
	p.Reasons = p.Reasons[1:]
	if got := p.Told(); len(got) != 1 {
		t.Errorf("nothing is planned now: %q", got)
	}
}

func TestPoints(t *testing.T) {
	for want, v := range map[string]float64{"0": -0.004, "0.11": 0.1099, "0.10": 0.1, "-1.24": -1.236, "12.00": 12} {
		if got := Points(v); got != want {
			t.Errorf("%g: %q, want %q", v, got, want)
		}
	}
}

// Many sets of days are told by the least and the most.
func TestEachOfManySets(t *testing.T) {
	p := &Plan{}
	var shares []float64
	for i := range 6 {
		p.Occasions = append(p.Occasions, Occasion{Name: fmt.Sprintf("Sunday %d", i), MeanShare: 0.5, LateShare: 0.5 - 0.05*float64(i)})
		shares = append(shares, 0.3+0.1*float64((i+2)%6))
	}
	if got, want := p.each(shares), "30 % in Sunday 4, the least of 6 sets of days, to 80 % in Sunday 3"; got != want {
		t.Errorf("got %q", got)
	}
	if got, want := p.late(), "If all that is sown from now on ripened a week late, all together would get less in 5 sets of days, most so 25 % instead of 50 % in Sunday 5."; got != want {
		t.Errorf("got %q", got)
	}
	p.Occasions = p.Occasions[:2]
	if got, want := p.each(shares), "50 % in Sunday 0 and 60 % in Sunday 1"; got != want {
		t.Errorf("got %q", got)
	}
	if got, want := p.late(), "If all that is sown from now on ripened a week late, all together would get 45 % instead of 50 % in Sunday 1."; got != want {
		t.Errorf("got %q", got)
	}
}

// A house that eats from no store cupboard is not told of one.
func TestAllFedNamesTheCupboardThatIsThere(t *testing.T) {
	if got := allFed([]site.HomeFedDays{{}, {Cupboard: true}}); !strings.HasPrefix(got, "With the store cupboard every eater has") {
		t.Error(got)
	}
	if got := allFed(make([]site.HomeFedDays, 2)); !strings.HasPrefix(got, "Every eater has") || strings.Contains(got, "cupboard") {
		t.Error(got)
	}
}
