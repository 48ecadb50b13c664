package plan

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tidebed/site"
)

// madeUpPlan is invented: two loops, five sowings, trout, a freezer.
func madeUpPlan() *Plan {
	on := func(m time.Month, d int) site.Date { return site.On(2027, m, d) }
	p := &Plan{Site: "Made-up House", Today: on(1, 11), From: on(1, 11), To: on(12, 31),
		Groups: []Group{{Name: "north 1 to 2", Beds: []string{"north 1", "north 2"}}, {Name: "tubs", Beds: []string{"tubs"}}},
		Sowings: []Sowing{
			{ID: "leek/north 2/standing", Crop: "leek", Name: "Leek", Parts: []Part{{Bed: "north 2", AreaM2: 1.4}}, AreaM2: 1.4, Sow: site.On(2026, 7, 1), Plant: site.On(2026, 9, 20), First: on(3, 20), Last: on(3, 28), Pulled: on(3, 29), Standing: true, Kg: [3]float64{4.1, 6, 7}},
			{ID: "chard/north 2/standing", Crop: "chard", Name: "Swiss chard", Parts: []Part{{Bed: "north 2", AreaM2: 1.4}}, AreaM2: 1.4, Sow: site.On(2026, 9, 1), Plant: site.On(2026, 10, 12), First: site.On(2026, 12, 12), Last: on(3, 1), Pulled: on(3, 2), Standing: true, Kg: [3]float64{6, 8, 9}},
			{ID: "potato/tubs/2027-03-08", Crop: "potato", Name: "Potato", Group: "tubs", Parts: []Part{{Bed: "tubs", Modules: 8, AreaM2: 6.04}}, AreaM2: 6.04, Sow: on(3, 8), Plant: on(3, 8), First: on(7, 28), Last: on(7, 28), Pulled: on(7, 28), Kg: [3]float64{26.4, 31, 40}, Plants: 33.2, Propagation: "tuber", Serves: []Serve{{Use: "October week", Kg: 24.2}}},
			{ID: "kale/north 1 to 2/2027-03-01", Crop: "kale", Name: "Kale", Group: "north 1 to 2", Parts: []Part{{Bed: "north 1", AreaM2: 0.72}, {Bed: "north 2", AreaM2: 1.44}}, AreaM2: 2.16, Sow: on(1, 21), Plant: on(3, 1), First: on(4, 20), Last: on(6, 29), Pulled: on(7, 5), Early: true, Kg: [3]float64{5.5, 7, 9}, Plants: 13.5, Seeds: 17, Places: 14, SowDays: 39, Propagation: "seed", Why: "For the household each week."},
			{ID: "carrot/tubs/2027-04-05", Crop: "carrot", Name: "Carrot", Group: "tubs", Parts: []Part{{Bed: "tubs", AreaM2: 0.75}}, AreaM2: 0.75, Sow: on(4, 5), Plant: on(4, 5), First: on(7, 2), Last: on(7, 20), Pulled: on(7, 21), Kg: [3]float64{2.34, 3, 3.5}, Plants: 200, Seeds: 318, Propagation: "seed"},
		},
		Fish:      []FishTake{{Cohort: "trout of autumn", Species: "Rainbow trout", Tank: "trout 1", Day: on(10, 9), Purge: on(10, 6), Number: 12, WeightG: 287, Kg: 3.44, For: "October week", Caution: "Kill at once after stunning."}},
		Stockings: []Stocking{{Name: "trout of spring", Species: "trout_rainbow", Title: "Rainbow trout", Tank: "trout 2", Day: on(4, 1), Order: on(1, 4), Number: 60, WeightG: 22, Why: "the first are eaten by then"}},
		Feeds:     []FeedOrder{{Feed: "trout pellets", UsedKg: 90, StockKg: 75, OrderBy: on(9, 1), Say: "It lasts until 15 September."}, {Feed: "other", UsedKg: 1, StockKg: 2}},
		PutBy:     []PutBy{{What: "Potato", Food: "potato", Place: "cool store", Day: on(7, 28), For: "October week", UseOn: on(10, 10), KgIn: 26.4, KgOut: 24.2, Sowing: "potato/tubs/2027-03-08"}, {What: "Onion", Standing: true, Place: "dry shelf", Day: on(1, 11), KgIn: 5}},
	}
	for i := range 20 {
		p.Weeks = append(p.Weeks, Week{From: p.Today.Plus(7 * i), PlacesMax: 1200})
	}
	return p
}

func told(jobs []Job) (out []string) {
	for _, j := range jobs {
		out = append(out, strings.Join([]string{j.Date.String(), j.Kind, j.What, j.Where, j.Amount, j.Why}, " | "))
	}
	return out
}

func TestJobs(t *testing.T) {
	got := told(madeUpPlan().Jobs())
	want := []string{
		"2027-01-11 | order fish | rainbow trout | desk | 60 fish of about 20 g each | they go into trout 2 on 2027-04-01; " + stockRule + "; due since 2027-01-04",
		"2027-01-11 | order seed | kale | desk | 20 seeds | first needed on 2027-01-21, less than two weeks from now: ask for the day it comes",
		"2027-01-11 | cut again and again | swiss chard | north 2 | every 12 days until 2027-03-01, about 850 g each time | going on since 2026-12-12",
		"2027-01-21 | sow in the nursery | kale | nursery | 17 seeds for 14 places | goes into north 1 and north 2 on 2027-03-01",
		"2027-01-21 | tend the nursery | water, turn, thin, look for pests | nursery | each day until 2027-03-01, up to 14 places | young plants that dry out once are late for good",
		"2027-02-22 | order seed | potato | desk | 40 tubers | first needed on 2027-03-08",
		"2027-03-01 | set out | kale | north 1 and north 2 | 14 plants on 2.2 m² (0.72 m² in north 1, 1.4 m² in north 2) | for the household each week",
		"2027-03-02 | pull | swiss chard | north 2 | 1.4 m² | it is over; the bed is free for what comes next",
		"2027-03-08 | set in the bed | potato | tubs | 35 tubers on 6 m² | for October week (24 kg)",
		"2027-03-20 | harvest | leek | north 2 | 4.1 kg at low yields, 6 kg in a usual year | this clears the bed",
		"2027-03-22 | order seed | carrot | desk | 350 seeds | first needed on 2027-04-05",
		"2027-04-01 | stock fish | rainbow trout | trout 2 | 60 fish of about 20 g each | the first are eaten by then",
		"2027-04-05 | sow in the bed | carrot | tubs | 320 seeds on 0.75 m² | ",
		"2027-04-20 | cut again and again | kale | north 1 and north 2 | every 10 days until 2027-06-29, about 700 g each time | for the household each week",
		"2027-07-02 | harvest | carrot | tubs | 2.3 kg at low yields, 3 kg in a usual year | this clears the bed",
		"2027-07-05 | pull | kale | north 1 and north 2 | 2.2 m² | before it is over, because the bed is worth more with what comes next",
		"2027-07-28 | harvest | potato | tubs | 26 kg at low yields, 31 kg in a usual year | for October week (24 kg); this clears the bed",
		"2027-07-28 | put by | potato | cool store | 26 kg | for October week on 2027-10-10, when about 24 kg of it are left",
		"2027-09-01 | order feed | trout pellets | desk | 15 kg beyond what there is, until 2027-12-31 | It lasts until 15 September.",
		"2027-10-06 | stop feeding | rainbow trout | trout 1 | 12 fish of about 300 g each, 3.4 kg in all | set them apart in clean water with air; no feed until they are taken on 2027-10-09",
		"2027-10-09 | take fish | rainbow trout | trout 1 | 12 fish of about 300 g each, 3.4 kg in all | for October week; no feed since 2027-10-06. Kill at once after stunning.",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A reader of feet gets areas in feet.
func TestJobsInFeet(t *testing.T) {
	p := madeUpPlan()
	p.Applied = &site.Site{Units: "us-customary"}
	if text := strings.Join(told(p.Jobs()), "\n"); !strings.Contains(text, "35 tubers on 65") || !strings.Contains(text, " ft²") || strings.Contains(text, " m²") {
		t.Error(text)
	}
}

func TestNurseryWeekByWeek(t *testing.T) {
	p := madeUpPlan()
	weeks := p.Nursery()
	if len(weeks) != 6 || weeks[0].From != site.On(2027, 1, 18) || weeks[5].From != site.On(2027, 2, 22) {
		t.Fatalf("weeks %+v", weeks)
	}
	for _, w := range weeks {
		if w.Places != 14 || w.PlacesMax != 1200 || len(w.Stands) != 1 || w.Stands[0].To != site.On(2027, 3, 1) {
			t.Errorf("week of %s: %+v", w.From, w)
		}
	}
	// Two sowings in one week that follow one another never stand together.
	second := p.Sowings[3]
	second.ID, second.Sow, second.Plant = "next", second.Plant, second.Plant.Plus(30)
	p.Sowings = append(p.Sowings, second)
	for _, w := range p.Nursery() {
		if w.Places != 14 {
			t.Errorf("week of %s: %g places, the two follow one another", w.From, w.Places)
		}
	}
}

func TestSeedListSharesACrop(t *testing.T) {
	p := madeUpPlan()
	again := p.Sowings[4]
	again.ID, again.Sow, again.Plant = "carrot/tubs/2027-07-26", site.On(2027, 7, 26), site.On(2027, 7, 26)
	p.Sowings = append(p.Sowings, again)
	list := p.SeedList()
	at := slices.IndexFunc(list, func(s Seed) bool { return s.Crop == "carrot" })
	if c := list[at]; c.Number != 700 || c.Sowings != 2 || c.First != site.On(2027, 4, 5) || c.OrderBy != site.On(2027, 3, 22) || c.Late {
		t.Errorf("carrot: %+v", c)
	}
}

// Tubers do not keep: those for a late sowing are ordered for it, those of a few weeks
// apart at one time, whatever the order of the list; seed is ordered once.
func TestSeedListOrdersTubersAnew(t *testing.T) {
	p := madeUpPlan()
	potato := p.Sowings[2]
	for i, sow := range []site.Date{site.On(2027, 6, 28), site.On(2027, 5, 3), site.On(2027, 5, 4)} {
		again := potato
		again.ID, again.Sow, again.Plant, again.Plants = "potato/tubs/"+sow.String(), sow, sow, float64(10*(i+1))
		p.Sowings = append([]Sowing{again}, p.Sowings...)
	}
	var got []string
	for _, s := range p.SeedList() {
		if s.Crop == "potato" {
			got = append(got, fmt.Sprintf("%s for %d from %s by %s", s.Amount(), s.Sowings, s.First, s.OrderBy))
		}
	}
	want := []string{"60 tubers for 2 from 2027-03-08 by 2027-02-22", "45 tubers for 2 from 2027-05-04 by 2027-04-20"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	jobs := strings.Join(told(p.Jobs()), "\n")
	if strings.Count(jobs, "order seed | potato") != 2 {
		t.Errorf("two orders must be two jobs:\n%s", jobs)
	}
}

// A bed's own part of a sowing, by its area.
func TestUsesOn(t *testing.T) {
	s := Sowing{AreaM2: 4.32, Serves: []Serve{{Use: "October week", Kg: 7.8}, {Use: "the household", Kg: 0.3}}}
	for want, m2 := range map[string]float64{"October week 2.6 kg, the household 100 g": 1.44, "October week 7.8 kg, the household 300 g": 4.32} {
		if got := s.UsesOn(m2); got != want {
			t.Errorf("%g m²: %q, want %q", m2, got, want)
		}
	}
	if s.Serves[0].Kg != 7.8 || (&Sowing{Serves: s.Serves}).UsesOn(1) != s.Uses() {
		t.Error("the sowing itself must stay, and give all where its area is not known")
	}
}

func TestInNursery(t *testing.T) {
	p := madeUpPlan()
	kale := &p.Sowings[3]
	for _, row := range []struct {
		today site.Date
		want  bool
	}{{kale.Sow, false}, {kale.Sow.Plus(1), true}} {
		if got := kale.InNursery(row.today); got != row.want {
			t.Errorf("sown on %s, seen on %s: %v", kale.Sow, row.today, got)
		}
	}
	if p.Sowings[0].InNursery(p.Today) || p.Sowings[2].InNursery(p.Today.Plus(99)) {
		t.Error("what stands, or is set in the bed, is in no nursery")
	}
}

// Six jobs at least, then those of four weeks and no more.
func TestSoon(t *testing.T) {
	p := madeUpPlan()
	soon, all := p.Soon()
	if len(soon) != 6 || all != len(p.Jobs()) || soon[5].Date != site.On(2027, 2, 22) {
		t.Errorf("%d of %d: %v", len(soon), all, told(soon))
	}
	p.Today = p.Today.Plus(30)
	if soon, _ = p.Soon(); len(soon) < 7 || soon[len(soon)-1].Date.After(p.Today.Plus(28).Time) {
		t.Errorf("%v", told(soon))
	}
	if soon, all = (&Plan{Today: p.Today}).Soon(); len(soon) != 0 || all != 0 {
		t.Errorf("an empty plan: %v", soon)
	}
}

// Whatever the plan: no job lies before today, days rise, IDs differ, and the same
// plan gives the same jobs.
func TestJobsInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := madeUpPlan()
		p.Today = p.Today.Plus(rapid.IntRange(0, 400).Draw(t, "today"))
		for i := range p.Sowings {
			s := &p.Sowings[i]
			by := rapid.IntRange(-100, 300).Draw(t, "moved")
			s.Sow, s.Plant, s.First, s.Last = s.Sow.Plus(by), s.Plant.Plus(by), s.First.Plus(by), s.Last.Plus(by)
			s.Kg[0] = rapid.Float64Range(0, 500).Draw(t, "kg")
			s.ID = rapid.SampledFrom([]string{s.ID, "same"}).Draw(t, "id")
		}
		jobs, seen := p.Jobs(), map[string]bool{}
		for i, j := range jobs {
			if j.Date.Before(p.Today.Time) || i > 0 && j.Date.Before(jobs[i-1].Date.Time) {
				t.Fatalf("%v stands at the wrong place", j)
			}
			if seen[j.ID] || j.ID == "" {
				t.Fatalf("ID %q twice or empty", j.ID)
			}
			seen[j.ID] = true
			if strings.Contains(fmt.Sprint(j), "%!") || strings.Contains(fmt.Sprint(j), "NaN") {
				t.Fatalf("%v", j)
			}
		}
		if diff := cmp.Diff(jobs, p.Jobs()); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestWeighed(t *testing.T) {
	for _, row := range []struct {
		kg   float64
		want string
	}{{0, "nothing"}, {0.001, "under 5 g"}, {0.0234, "25 g"}, {0.234, "250 g"}, {0.97, "950 g"}, {0.98, "1 kg"}, {2.34, "2.3 kg"}, {9.96, "10 kg"}, {12.3, "12.5 kg"}, {26.4, "26 kg"}} {
		if got := Weighed(row.kg); got != row.want {
			t.Errorf("%g kg: %s, want %s", row.kg, got, row.want)
		}
	}
}
