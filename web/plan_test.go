package web

import (
	"context"
	"encoding/csv"
	"errors"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	ical "github.com/emersion/go-ical"
	"pgregory.net/rapid"

	"tidebed/menu"
	"tidebed/plan"
	"tidebed/site"
)

// madeUpPlan is a plan of the made-up site; its figures are invented.
func madeUpPlan() *plan.Plan {
	on := func(m time.Month, d int) site.Date { return site.On(2027, m, d) }
	p := &plan.Plan{Site: "Skerry House", Today: on(1, 11), From: on(1, 11), To: on(10, 16),
		Sentence: "From 10 to 16 October the plan gives each of two people at least 86 % of the energy they need, 63 % as things are now; sow 12 m² of potato by 15 March.",
		Reasons:  []string{"Potatoes carry two thirds of it.", "Light binds in March, area in October."},
		Occasions: []plan.Occasion{
			{Name: "Rehearsal", From: on(3, 27), To: on(3, 28), Days: 2, Eaters: []string{"Maeve", "Oisín"}, NeedKcal: 8100, WorstShare: 0.71, MeanShare: 0.74, FedShare: 1, LateShare: 0.69,
				Menu: &menu.Menu{Eaters: []menu.EaterFigure{{Name: "Maeve"}, {Name: "Oisín"}}}, Binds: []string{"nothing sown from now on is ripe by then but cress"},
				Sources: []plan.Source{{What: "potato", Where: "Cool store", Kind: "larder", Kg: 7.4, Kcal: 5300, Share: 0.65, Inside: true}, {What: "kale", Where: "Bed 1", Kind: "planting", Kg: 2.1, Kcal: 700, Share: 0.09, Inside: true, Sowing: "kale/Bed 1/standing"}, {What: "oats", Where: "store cupboard", Kind: "cupboard", Kg: 0.55, Kcal: 2100, Share: 0.26}}},
			{Name: "October week", From: on(10, 10), To: on(10, 16), Days: 7, Eaters: []string{"Maeve", "Oisín"}, NeedKcal: 28350, WorstShare: 0.86, MeanShare: 0.88, FedShare: 0.97, LateShare: 0.83,
				Menu: &menu.Menu{Eaters: []menu.EaterFigure{{Name: "Maeve"}, {Name: "Oisín", OutsideKcal: 92}}}, Binds: []string{"the tub row is full from March to July", "Oisín eats no more than 600 g of potatoes a day"},
				Sources: []plan.Source{{What: "potato", Where: "Tub row", Kind: "planting", Kg: 24.6, Kcal: 17600, Share: 0.62, Inside: true, Sowing: "potato/Tub row/2027-03-08"}, {What: "rainbow trout", Where: "Trout one", Kind: "fish", Kg: 4.2, Kcal: 5900, Share: 0.21, Inside: true}, {What: "oats", Where: "store cupboard", Kind: "cupboard", Kg: 1.2, Kcal: 4100, Share: 0.14}}},
		},
		Sowings: []plan.Sowing{
			{ID: "kale/Bed 1/standing", Crop: "kale", Name: "Kale", Group: "Bed 1", Parts: []plan.Part{{Bed: "Bed 1", AreaM2: 2.88}}, AreaM2: 2.88, Sow: site.On(2026, 9, 20), Plant: site.On(2026, 11, 2), First: on(2, 20), Last: on(5, 12), Pulled: on(5, 14), Standing: true, Kg: [3]float64{5, 7, 9}, Serves: []plan.Serve{{Use: "Rehearsal", Kg: 2.1, Kcal: 700}, {Use: "household", Kg: 2.4}}},
			{ID: "potato/Tub row/2027-03-08", Crop: "potato", Name: "Potato", Group: "Tub row", Parts: []plan.Part{{Bed: "Tub row", Modules: 17, AreaM2: 12}}, AreaM2: 12, Sow: on(3, 8), Plant: on(3, 8), First: on(7, 28), Last: on(7, 28), Pulled: on(7, 30), Pinned: true, Kg: [3]float64{52, 64, 80}, Plants: 64, Propagation: "tuber", LabourH: 9.4, KeepDays: 200, KeepAt: "Cool store",
				Serves: []plan.Serve{{Use: "October week", Kg: 24.6, Kcal: 17600}}, Why: "For October week: most energy for each m² of tub.", Grown: []string{"light 9 to 21 mol/m²/d", "air 12 °C by day"}, Warnings: []string{"more than 15 h of light a day harm it; these have 16 h."}, Caution: "Green or sprouted potatoes hold solanine: throw them away.", Source: "crop table, row potato"},
			{ID: "lettuce/Raft one/2027-04-05", Crop: "lettuce_butterhead", Name: "Lettuce, butterhead", Group: "Raft one", Parts: []plan.Part{{Bed: "Raft one", AreaM2: 1.4}, {Bed: "Bed 1", AreaM2: 0.7}}, AreaM2: 2.1, Sow: on(3, 12), Plant: on(4, 5), First: on(5, 3), Last: on(5, 17), Pulled: on(5, 18), Early: true, Young: true, Kg: [3]float64{3, 4, 5}, Plants: 34, Seeds: 44, Places: 34, SowDays: 24, Propagation: "seed", Serves: []plan.Serve{{Use: "household", Kg: 1.6}, {Use: "orders", Kg: 1.2}}},
		},
		Fish:      []plan.FishTake{{Cohort: "Trout of 2026", Species: "rainbow trout", Tank: "Trout one", Day: on(10, 9), Purge: on(10, 6), Number: 14, WeightG: 302, Kg: 4.23, For: "October week", Caution: "Stun and kill at once, in the hands of who has learnt it; ask a fish vet."}},
		Stockings: []plan.Stocking{{Name: "trout of spring", Species: "trout_rainbow", Title: "Rainbow trout", Tank: "Trout two", Day: on(4, 1), Order: on(2, 26), Number: 40, WeightG: 30, Feed: "Trout pellets", Why: "those of 2026 are eaten by then", Caution: "Ask the authority before fish are moved."}},
		Feeds:     []plan.FeedOrder{{Feed: "Trout pellets", UsedKg: 82, StockKg: 75, OrderBy: on(9, 1), Say: "Trout pellets last until 14 September; order by 1 September."}},
		PutBy:     []plan.PutBy{{What: "potato", Food: "potato", Place: "Cool store", Day: on(7, 28), For: "October week", UseOn: on(10, 10), KgIn: 27, KgOut: 24.6, Sowing: "potato/Tub row/2027-03-08"}, {What: "potato", Place: "Cool store", Day: on(1, 11), For: "Rehearsal", UseOn: on(3, 27), KgIn: 38, KgOut: 34, Standing: true}},
		Groups:    []plan.Group{{Name: "Bed 1", Loop: "North loop", Zone: "south side", Kind: "media", Beds: []string{"Bed 1"}, AreaM2: 2.88, UsedM2: 2, UsedNow: 2.88}, {Name: "Tub row", Kind: "tub", Zone: "south side", Beds: []string{"Tub row"}, AreaM2: 14, UsedM2: 6}},
		Levels:    []plan.Level{{Key: "worst", Name: "worst-off eater’s energy from inside", Unit: "share", Most: true, Value: 0.865, Give: 0.005, Whole: 0.86}, {Key: "nitrogen", Name: "nitrogen short", Unit: "g", Value: 12.4, Give: 5, Whole: 13}},
		Rounds:    []plan.Round{{WorstShare: 0.88, Found: 0.85, Changed: 0.03, Note: "potato gives a tenth less in the tubs"}, {WorstShare: 0.86, Found: 0.86, Changed: 0.004}},
		Settled:   "Plan and season agree within 1 % after two rounds.", Gap: 0.004, Check: plan.Check{OK: true, Said: "Held against the season without the solver, the plan stands."},
		Changes:  []plan.Change{{Day: on(3, 8), What: "sow 12 m² of potato in Tub row"}, {Day: on(4, 20), What: "leave out 12 m² of potato in Tub row", Out: true}},
		InForce:  plan.InForce{Sowings: 1, WorstShare: []float64{0.7, 0.63}, MeanShare: []float64{0.73, 0.66}, Say: "The plan in force gives 63 % in October week; this one 23 points more."},
		Rejected: []plan.Rejected{{Crop: "tomato", Name: "Tomato, indeterminate", Why: "too little light before May, few calories after"}},
		Collides: []plan.Collide{{What: "Oisín’s full need in October", Mend: "buy 100 kcal a day, or plant 0.7 m² more tubs"}},
		Assumed:  []string{"a place in the nursery is 5 cm by 5 cm"}, Warnings: []string{"light is that of normals"}, Cautions: []string{"Boil dry beans hard for ten minutes: raw and undercooked ones make ill.", "Restricted diets: ask a doctor before relying on this menu."},
	}
	for i := range 40 {
		w := plan.Week{From: p.Today.Plus(7 * i), LabourH: 4.2, LabourMaxH: 10, PlacesMax: 400, GreensKg: 0.1, GreensWant: 0.2, Loops: []plan.LoopWeek{{Loop: "North loop", MadeG: 30, DrawnG: 28, ShortG: float64(i % 3)}}}
		if i > 16 {
			w.OrdersKg, w.OrdersWant = 0.05, 0.1
		}
		p.Weeks = append(p.Weeks, w)
	}
	return p
}

func madeUpReasons() *plan.Reasons {
	return &plan.Reasons{Worths: []plan.Worth{{What: "1 m² more of tubs", Points: 1.24, Worst: 1.1}, {What: "an hour of work a week", Points: 0, Worst: 0, Note: "Nothing would change with: an hour of work a week."}},
		Rejected: []plan.Rejected{{Crop: "tomato", Name: "Tomato, indeterminate", Why: "its bed feeds more people with potatoes", Points: 0.42, Tried: true}}}
}

// planConfig is the made-up building with the made-up plan.
func planConfig() Config {
	cfg := madeUpConfig()
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) { return madeUpPlan(), nil }
	cfg.Explain = func(context.Context, site.Date, plan.Options, *plan.Plan) (*plan.Reasons, error) {
		return madeUpReasons(), nil
	}
	return cfg
}

func TestPlanAnswersFirst(t *testing.T) {
	h := handlerOf(t, planConfig())
	mustLack(t, get(t, h, "/", http.StatusOK), "See the plan") // none is begun from there
	page := html.UnescapeString(get(t, h, "/plan", http.StatusOK))
	mustContain(t, page, "<h1>From 10 to 16 October the plan gives each of two people at least 86 %", "Potatoes carry two thirds", "Oisín’s full need in October",
		"October week 86 %, below 100 %: act, raise", "as things are now 63 %", "What the plan brings to which meal", "Potato, Tub row", "sown 8 March, from 28 July", "25 kg, 17\u202f600 kcal", "The household’s weeks", "Orders from beds", "50 % of what is wanted",
		"Next jobs", "Order seed: lettuce, butterhead", "Bed by bed", `id="sowing-2"`, `id="binds-2"`, `href="#binds-2"`, "8 March to 30 July", "52 kg – 64 kg – 80 kg", "Light 9 to 21", "solanine", "crop table, row potato", "opened above",
		"Seed list", "75 tubers", "Nursery", "34 of 400", "no feed from", "6 October", "fish vet", "Fish to buy", "order by 1 September", "lies there", "Against the plan in force", "given up", "23 points more",
		"The tub row is full", "<h3>What if</h3>", "1 m² more of tubs", "+1.24", "Nothing would change with: an hour of work a week.", "Its bed feeds more people", "0.42 points", "Levels, in their order", "86.5 %", "agree within 1 %", "In whole modules the plan is within 0.4 % of the best there can be.", "Boil dry beans", "Restricted diets", "ask a doctor",
		`href="/plan.csv"`, `href="/plan.ics"`, `href="/plan/print"`, `action="/plan"`, `aria-current="page">Plan</a>`, "buy 100 kcal a day", "may be taken back", "work from sowing to pulling")
	mustLack(t, page, "style=", "%!", "<script", noValue, "being worked out")
	if at := strings.Index(page, "<h1>"); at > strings.Index(page, "<table") || at > strings.Index(page, "<svg") {
		t.Error("the answer must stand first")
	}
	mustContain(t, get(t, h, "/", http.StatusOK), "With the plan the worst-off eater would have 71 % in Rehearsal and 86 % in October week from inside.", "See the plan")
	mustContain(t, get(t, h, "/more", http.StatusOK), `href="/plan"`)
}

// The page Meals always leads to the plan and never begins one.
func TestMealsLeadToThePlanWithoutBeginningIt(t *testing.T) {
	cfg, begun := planConfig(), atomic.Int32{}
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) {
		begun.Add(1)
		return madeUpPlan(), nil
	}
	h := handlerOf(t, cfg)
	page := get(t, h, "/", http.StatusOK)
	mustContain(t, page, `What to sow, stock and put by for more: <a href="/plan">Plan</a>.`)
	mustLack(t, page, "See the plan", "With the plan")
	if at := strings.Index(page, "What to sow, stock"); at > strings.Index(page, "<svg") {
		t.Error("the way to the plan must stand with the answer")
	}
	if n := begun.Load(); n != 0 {
		t.Errorf("the page Meals began %d plans", n)
	}
	get(t, h, "/plan", http.StatusOK)
	mustLack(t, get(t, h, "/", http.StatusOK), "What to sow, stock and put by for more") // one way is enough
}

// A bed is told what it gives itself, not what the whole sowing does.
func TestPlanBedsHaveTheirOwnPart(t *testing.T) {
	h := handlerOf(t, planConfig())
	page := html.UnescapeString(get(t, h, "/plan", http.StatusOK))
	beds := page[strings.Index(page, "Bed by bed"):]
	mustContain(t, beds, "Lettuce, butterhead, 0.7 m² <span class=\"soft\">for household 550 g, orders 400 g", "Lettuce, butterhead, 1.4 m² <span class=\"soft\">for household 1.1 kg, orders 800 g</span> <a", "all below is of</dt><dd>2.1 m² in Raft one and Bed 1", "for October week 25 kg", "harvest are those of low yields")
	mustLack(t, beds, "for household 1.6 kg")
	if strings.Index(beds, "opened above") < strings.Index(beds, `id="sowing-3"`) {
		t.Error("a sowing is opened at the first bed that has it")
	}
}

// What was sown before today stands in the nursery; nobody is told to sow it.
func TestPlanKnowsTheNursery(t *testing.T) {
	cfg := planConfig()
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) {
		p := madeUpPlan()
		p.Sowings[2].Sow, p.Sowings[2].Plant = site.On(2027, 1, 5), site.On(2027, 1, 25)
		return p, nil
	}
	page := html.UnescapeString(get(t, handlerOf(t, cfg), "/plan", http.StatusOK))
	mustContain(t, page, "Lettuce, butterhead, 0.7 m², in the nursery already", "in the nursery since</dt><dd>5 January", "(since 5 January – 25 January)")
	mustLack(t, page, "sown in the nursery</dt>", "Sow in the nursery: lettuce")
	mustContain(t, html.UnescapeString(get(t, handlerOf(t, planConfig()), "/plan", http.StatusOK)), "sown in the nursery</dt>", "(12 March – 5 April)")
}

// The next three jobs stand as short lines above the drawing; their table below it. Each
// table of jobs says at which yield its harvests are.
func TestPlanNextJobsAboveTheDrawing(t *testing.T) {
	h := handlerOf(t, planConfig())
	page := html.UnescapeString(get(t, h, "/plan", http.StatusOK))
	above := page[:strings.Index(page, "<svg")]
	jobs, _ := madeUpPlan().Soon()
	if n := strings.Count(above, "<li><b>"); n != 3 {
		t.Errorf("%d jobs stand above the drawing", n)
	}
	for _, j := range jobs[:3] {
		mustContain(t, above, j.Line())
	}
	mustLack(t, above, jobs[3].Line())
	for _, path := range []string{"/plan", "/plan/print"} {
		mustContain(t, get(t, h, path, http.StatusOK), "day<br><small>harvests at low yields</small></th>", "harvest are those of low yields")
	}
}

// What keeps the plan's and the meals' figures apart is said in the verb's words.
func TestPlanSaysWhyMealsDiffer(t *testing.T) {
	page := html.UnescapeString(get(t, handlerOf(t, planConfig()), "/plan", http.StatusOK))
	if strings.Count(page, `<a href="/">Meals</a> `+plan.MealsApart) != 1 {
		t.Error("the page must say so once")
	}
}

// Levels that whole modules cost more than they may give back are named.
func TestPlanNamesLevelsThatLose(t *testing.T) {
	cfg := planConfig()
	mustLack(t, get(t, handlerOf(t, cfg), "/plan", http.StatusOK), "lose more than")
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) {
		p := madeUpPlan()
		p.Levels[0].Whole = 0.7
		return p, nil
	}
	mustContain(t, html.UnescapeString(get(t, handlerOf(t, cfg), "/plan", http.StatusOK)), "lose more than they may give back: worst-off eater’s energy from inside 70 % of 86 %.")
}

// What is missing of the full need is no shortness where adults have their floor.
func TestShortNotes(t *testing.T) {
	for _, row := range []struct {
		need, got float64
		fed       bool
		want      string
	}{{28350, 27100, true, "1 250 kcal under the full need; adults have their floor at least"}, {28350, 27100, false, "still short 1 250 kcal"}, {28350, 28300, false, ""}, {28350, 30000, true, ""}} {
		if got := strings.ReplaceAll(strings.Join(shortNotes(row.need, row.got, row.fed), "; "), thinSpace, " "); got != row.want {
			t.Errorf("%g of %g, fed %v: %q", row.got, row.need, row.fed, got)
		}
	}
	s, err := newServer(planConfig())
	if err != nil {
		t.Fatal(err)
	}
	p := madeUpPlan() // in October Oisín goes short
	p.Occasions[0].Sources[0].Kcal -= 1000
	lanes := s.planLanes(p)
	if got := strings.Join(lanes[0].Notes, "; ") + "; " + strings.Join(lanes[1].Notes, "; "); !strings.Contains(got, "1\u202f000 kcal under the full need") || !strings.Contains(got, "still short") {
		t.Error(got)
	}
}

func TestPlanFilesAndSheet(t *testing.T) {
	h := handlerOf(t, planConfig())
	rows, err := csv.NewReader(strings.NewReader(get(t, h, "/plan.csv", http.StatusOK))).ReadAll()
	if err != nil || len(rows) != len(madeUpPlan().Jobs())+1 {
		t.Errorf("%d rows, %v", len(rows), err)
	}
	cal, err := ical.NewDecoder(strings.NewReader(get(t, h, "/plan.ics", http.StatusOK))).Decode()
	if err != nil || len(cal.Events()) != len(rows)-1 {
		t.Errorf("%v, %v", cal, err)
	}
	sheet := html.UnescapeString(get(t, h, "/plan/print", http.StatusOK))
	mustContain(t, sheet, "March 2027", "Mon 8", "Set in the bed: potato", "64 tubers on 12 m²"[3:], "Boil dry beans", "as planned on 11 January 2027")
	mustLack(t, sheet, "%!", "<script")
}

// Each question has its own plan; the options arrive as asked.
func TestPlanAskedOtherwise(t *testing.T) {
	cfg, asked := planConfig(), []plan.Options(nil)
	days := map[string]bool{}
	cfg.Plan = func(_ context.Context, today site.Date, o plan.Options) (*plan.Plan, error) {
		o.Progress = nil
		asked = append(asked, o)
		days[today.String()] = true
		return madeUpPlan(), nil
	}
	h := handlerOf(t, cfg)
	address := "/plan?" + url.Values{"today": {"2027-02-01"}, "first": {"protein"}, "then": {"worst"}, "give": {"1"}, "safety": {"0"}, "hours": {"6"}, "pin": {"potato in Tub row 2 m2; kale"}, "forbid": {"leek"}, "portions": {"largest"}, "crops": {"wished"}, "fish": {"none"}}.Encode()
	for range 2 {
		page := html.UnescapeString(get(t, h, address, http.StatusOK))
		mustContain(t, page, "Asked: seen from 1 February 2027", "first of all: protein, then worst", "pinned: potato in Tub row 2 m2; kale", "no new fish", `value="largest" selected`)
	}
	if len(asked) != 1 || !days["2027-02-01"] {
		t.Fatalf("asked %d times: %v", len(asked), days)
	}
	o := asked[0]
	if len(o.Order) != 2 || o.Give != 0.01 || o.SafetyDays != -1 || o.HoursWeek != 6 || len(o.Pins) != 3 || !o.Pins[2].Forbid || !o.Largest || !o.WishedOnly || !o.NoFish {
		t.Errorf("options %+v", o)
	}
	get(t, h, "/plan", http.StatusOK)
	get(t, h, "/plan?today=2027-01-11&give=", http.StatusOK) // the usual question in other words
	if len(asked) != 2 {
		t.Errorf("the usual question was put %d times", len(asked)-1)
	}
}

func TestPlanRefusesWhatCannotBeAsked(t *testing.T) {
	cfg := planConfig()
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) {
		t.Error("a plan was begun")
		return nil, errors.New("no")
	}
	h := handlerOf(t, cfg)
	for query, want := range map[string]string{
		"today=tomorrow": "today-problem", "give=lots": "give 0 to 10 points", "give=99": "give 0 to 10 points", "safety=x": "no number of days", "safety=400": "give 0 to 60 days", "hours=-1": "more than 0",
		"pin=potatoe": "nearest: potato", "forbid=kale+in+attic": "No bed or group"[3:], "first=beauty": "No level has the key", "portions=huge": "Choose one of the two", "pin=" + strings.Repeat("a", 3000): "too long",
	} {
		page := html.UnescapeString(get(t, h, "/plan?"+query, http.StatusUnprocessableEntity))
		mustContain(t, page, "cannot be put to the plan", want, "problem")
		get(t, h, "/plan.csv?"+query, http.StatusUnprocessableEntity)
	}
}

func TestPlanWithoutBedsOrDays(t *testing.T) {
	cfg := planConfig()
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) {
		t.Error("a plan was begun")
		return nil, errors.New("no")
	}
	cfg.Site = &site.Site{Name: "New shed"}
	mustContain(t, get(t, handlerOf(t, cfg), "/plan", http.StatusOK), "<h1>No bed is written down")
	cfg.Site = madeUpSite()
	cfg.Site.HomeFed = nil
	page := get(t, handlerOf(t, cfg), "/plan", http.StatusOK)
	mustContain(t, page, "<h1>No home-fed days are written down")
	mustLack(t, page, "Next jobs", "<table")
	get(t, handlerOf(t, cfg), "/plan.ics", http.StatusNotFound)
	cfg.Site = madeUpSite()
	mustContain(t, get(t, handlerOf(t, cfg), "/plan?today=2028-01-01", http.StatusOK), "All home-fed days begin before 1 January 2028")
}

func TestPlanThatCannotBe(t *testing.T) {
	cfg := planConfig()
	cfg.Plan = func(context.Context, site.Date, plan.Options) (*plan.Plan, error) {
		return nil, errors.New("plan: pin 1 wants 2 m² of kale, and another forbids it")
	}
	page := get(t, handlerOf(t, cfg), "/plan", http.StatusOK)
	mustContain(t, page, "There is no plan for what is asked.", "Pin 1 wants 2 m² of kale, and another forbids it.", `action="/plan"`)
}

// slowPlan holds a plan until it is stopped; then it gives what best returns.
func slowPlan(t *testing.T, best func() (*plan.Plan, error)) (*server, http.Handler, *atomic.Int32) {
	t.Helper()
	cfg, begun := planConfig(), &atomic.Int32{}
	cfg.Plan = func(ctx context.Context, _ site.Date, o plan.Options) (*plan.Plan, error) {
		begun.Add(1)
		o.Progress(plan.Progress{Step: "whole modules", Done: 3, Of: 12, Best: 0.612, Gap: 0.021})
		<-ctx.Done()
		return best()
	}
	s, err := newServer(cfg)
	if err != nil {
		t.Fatal(err)
	}
	s.patience = 20 * time.Millisecond
	h, err := s.handler()
	if err != nil {
		t.Fatal(err)
	}
	return s, h, begun
}

func post(t *testing.T, h http.Handler, path string, form url.Values, site string) *httptest.ResponseRecorder {
	t.Helper()
	rec := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", site)
	h.ServeHTTP(rec, r)
	return rec
}

func TestPlanStops(t *testing.T) {
	s, h, begun := slowPlan(t, func() (*plan.Plan, error) {
		p := madeUpPlan()
		p.Stopped = true
		return p, nil
	})
	for range 3 { // three readers, one search
		mustContain(t, get(t, h, "/plan?hours=5", http.StatusOK), "Whole modules, 3 of 12; best so far 61 %, 2.1 % from the bound", "Stop and keep the best so far", `http-equiv="refresh"`, `value="hours=5"`)
	}
	mustContain(t, get(t, h, "/plan", http.StatusOK), "Another plan is being made") // waits for its turn
	if rec := post(t, h, "/plan/stop", url.Values{"question": {"hours=5"}}, "cross-site"); rec.Code != http.StatusForbidden {
		t.Errorf("a stop from another site: %d", rec.Code)
	}
	mustContain(t, get(t, h, "/plan?hours=5", http.StatusOK), "Stop and keep the best so far")
	rec := post(t, h, "/plan/stop", url.Values{"question": {"hours=5"}}, "same-origin")
	if rec.Code != http.StatusSeeOther || rec.Header().Get("Location") != "/plan?hours=5" {
		t.Fatalf("%d to %s", rec.Code, rec.Header().Get("Location"))
	}
	s.patience = time.Minute
	mustContain(t, get(t, h, "/plan?hours=5", http.StatusOK), "The search was stopped before its end", "Work on to the end", "not worked out for a plan that was stopped")
	post(t, h, "/plan/stop", url.Values{"question": {""}}, "same-origin")
	get(t, h, "/plan", http.StatusOK)
	n := begun.Load()
	post(t, h, "/plan/again", url.Values{"question": {"hours=5"}}, "same-origin")
	s.patience = 20 * time.Millisecond
	mustContain(t, get(t, h, "/plan?hours=5", http.StatusOK), "Stop and keep")
	if begun.Load() != n+1 {
		t.Errorf("begun %d times, want %d", begun.Load(), n+1)
	}
	post(t, h, "/plan/stop", url.Values{"question": {"hours=5"}}, "same-origin")
}

func TestPlanStoppedBeforeThereIsOne(t *testing.T) {
	s, h, _ := slowPlan(t, func() (*plan.Plan, error) { return nil, plan.ErrStopped })
	get(t, h, "/plan", http.StatusOK)
	s.patience = time.Minute
	post(t, h, "/plan/stop", url.Values{"question": {""}}, "same-origin")
	page := get(t, h, "/plan", http.StatusOK)
	mustContain(t, page, "stopped before there was a first plan", "Begin again")
	mustLack(t, page, "http-equiv", "Next jobs")
}

// So many searches at once and no more; a calendar that reads the file is told to come
// again.
func TestPlanTurns(t *testing.T) {
	s, h, begun := slowPlan(t, func() (*plan.Plan, error) { return madeUpPlan(), nil })
	s.patience = time.Millisecond
	for i := range plansKept {
		get(t, h, "/plan?hours="+string(rune('1'+i)), http.StatusOK)
	}
	mustContain(t, get(t, h, "/plan?hours=9", http.StatusServiceUnavailable), "Too many plans")
	get(t, h, "/plan.ics?hours=1", http.StatusServiceUnavailable)
	if n := begun.Load(); n != 1 {
		t.Errorf("%d searches at once", n)
	}
	for i := range plansKept {
		post(t, h, "/plan/stop", url.Values{"question": {"hours=" + string(rune('1'+i))}}, "same-origin")
	}
}

func TestPlanHoldsOddQuestions(t *testing.T) {
	h := handlerOf(t, planConfig())
	rapid.Check(t, func(rt *rapid.T) {
		form := url.Values{}
		for _, key := range []string{"today", "first", "then", "give", "safety", "hours", "pin", "forbid", "portions", "crops", "fish"} {
			if rapid.Bool().Draw(rt, key+" given") {
				form.Set(key, rapid.OneOf(rapid.String(), rapid.StringMatching(`[0-9;.\-a-z <>"'&]{0,12}`), rapid.SampledFrom([]string{"NaN", "Inf", "1e999", "2027-03-01", "worst", "kale", "9999-12-31"})).Draw(rt, key))
			}
		}
		for _, path := range []string{"/plan", "/plan.csv", "/plan/print"} {
			rec := httptest.NewRecorder()
			h.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, path+"?"+form.Encode(), nil))
			if rec.Code >= 500 {
				rt.Fatalf("%s: %d: %s", form.Encode(), rec.Code, rec.Body)
			}
			for _, fault := range []string{"NaN <", "%!"} {
				asked := false // a page may say again what was asked
				for _, values := range form {
					asked = asked || strings.Contains(values[0], fault)
				}
				if !asked && strings.Contains(rec.Body.String(), fault) {
					rt.Fatalf("%s: %q in %s", form.Encode(), fault, rec.Body)
				}
			}
		}
	})
}
