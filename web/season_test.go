package web

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tidebed/meals"
	"tidebed/season"
	"tidebed/site"
)

func TestBedsPageAnswersFirst(t *testing.T) {
	page := get(t, handlerOf(t, madeUpConfig()), "/beds", http.StatusOK)
	mustContain(t, page,
		"<h1>Of 22.6 m² of beds 2.38 m² are planted on 11 January; the next harvest is 1.2 kg kale from Bed 1 about 22 April.</h1>",
		"1 planting stands, 2 more planned; 20.3 m² are free today.",
		"Until 11 January 2028 they give 48 kg at low yield, 69 kg typical, 97 kg high.",
		"the leaves get 1.3 to 2.4 mol/m²/d this month and 12 to 13 in December.",
		"held at the zones&#39; set points", "germs", "about a tonne", "What reaches which meal",
		"Media bed of 2.88 m², water of North loop, zone south side. <b>0.5 m² free</b> today; light at the leaves this month 1.3 mol/m²/d.",
		`href="/beds/Bed%201"`, "10 to 22 April 2027", "3.5 – 5 – 7 kg", "no home-fed day", "October week (58 kg)", "Not up yet", ">planned; 1 warning<", ">planned<", ">stands<", "set out as plants")
	if n := strings.Count(page, "set points"); n != 1 {
		t.Errorf("the same warning of three courses stands %d times, want once", n)
	}
	if strings.Contains(page, "Oats, store cupboard") {
		t.Error("what is bought is no produce of the beds' house")
	}
}

func TestBedPageCanBeFollowedByHand(t *testing.T) {
	h := handlerOf(t, madeUpConfig())
	page := get(t, h, "/beds/Bed%201", http.StatusOK)
	mustContain(t, page, "<h1>The next harvest from Bed 1 is 1.2 kg kale about 22 April.</h1>",
		"share of the ground covered × warmth × carbon dioxide × nitrogen", "Day by day at low growth", "52 %", "97 %", "bed free 12 May: harvested; 3 harvests from 22 April to 12 May",
		`class="course low"`, `class="course high"`, "January 2027", "its row in the crop table", "germs", "light at the leaves", "how far to trust it", `<td class="n">1.2</td><td class="n">1.7</td><td class="n">2.3</td>`)
	mustContain(t, get(t, h, "/beds/Raft%20one", http.StatusOK), "no harvest comes from it until 11 January 2028", "Not up yet")
	mustContain(t, get(t, h, "/beds/nowhere", http.StatusNotFound), "There is no bed of this name.")
	cfg := madeUpConfig()
	cfg.Site.Loops[1].Beds[0].Name = "Raft/two <b>"
	mustContain(t, get(t, handlerOf(t, cfg), "/beds", http.StatusOK), `href="/beds/Raft%2Ftwo%20%3Cb%3E"`)
	mustContain(t, get(t, handlerOf(t, cfg), "/beds/Raft%2Ftwo%20%3Cb%3E", http.StatusOK), "Nothing stands in Raft/two &lt;b&gt; and nothing is planned: 5.76 m² are free.")
}

func TestFishPageAnswersFirst(t *testing.T) {
	page := get(t, handlerOf(t, madeUpConfig()), "/fish", http.StatusOK)
	mustContain(t, page,
		"<h1>The Trout of 2026 reach table size, 240 g, about 5 April; feed until 11 January 2028 comes to 42 kg (29 to 59 kg).</h1>",
		"Trout pellets are gone by 22 June 2027.", // of the course in which it is gone first, the day in words
		"Nitrogen in the water of North loop rises from 24 to 109 g/m³ by 10 January 2028 at low growth",
		"90 fish", "210 g", "24 March to 5 April 2027", "29 – 42 – 59 kg", "At high growth: from 2 November 2027 tank Trout one",
		"At most 19 kg/m³ in Trout one on 11 January 2028, at high growth 26 kg/m³",
		"Feed given: 10 – 14 – 20 g/m²/d of planted bed; nitrogen stands still at 4.2 – 6 – 8.4 g/m²/d", "FAO 589; common practice",
		"40 to 80 minutes", "fisheries office", "licensed electrician", "bleed", "8 June 2027", "out: plants", "1\u202f400", "left over")
	if n := strings.Count(page, "<caption>By month"); n != 1 {
		t.Errorf("%d tables by month, want 1", n)
	}
}

func TestSeasonPagesWithoutBedsPlantingsOrFish(t *testing.T) {
	bare := madeUpConfig()
	bare.Site = &site.Site{Name: "New shed"}
	bare.Answer = func(context.Context) (*meals.Answer, error) { return &meals.Answer{}, nil }
	h := handlerOf(t, bare)
	mustContain(t, get(t, h, "/beds", http.StatusOK), "No bed is written down yet")
	mustContain(t, get(t, h, "/fish", http.StatusOK), "No fish are written down", "fisheries office")
	mustContain(t, get(t, h, "/more", http.StatusOK), `href="/building"`, `href="/trust"`)

	idle := madeUpConfig()
	idle.Answer = func(context.Context) (*meals.Answer, error) {
		a := &meals.Answer{}
		for c := range season.Courses {
			a.Seasons[c] = &season.Forecast{From: idle.Today, To: idle.Today.Plus(365)}
		}
		return a, nil
	}
	page := get(t, handlerOf(t, idle), "/beds", http.StatusOK)
	mustContain(t, page, "None of the 22.6 m² of beds is planted on 11 January, and nothing is planned.", "under opening, plantings", "Nothing stands here and nothing is planned<")
	mustLack(t, page, "germs", "What reaches which meal", "<svg")

	blind := madeUpConfig()
	blind.Answer = func(context.Context) (*meals.Answer, error) { return &meals.Answer{}, nil }
	h = handlerOf(t, blind)
	for _, path := range []string{"/beds", "/beds/Bed%201", "/fish"} {
		mustContain(t, get(t, h, path, http.StatusOK), "season has not been worked out")
	}
}

func TestSentencesKeepFiguresAndUnitsTogether(t *testing.T) {
	for text, want := range map[string]string{
		"gives 26 % of 3 kg":            "gives 26\u00a0% of 3\u00a0kg",
		"12 m² by 2027-06-03, 4 months": "12\u00a0m² by 3\u00a0June 2027, 4 months",
		"6 people, 3 m and 3 men":       "6 people, 3\u00a0m and 3 men",
		"5 g/m²/d, 9 g.":                "5\u00a0g/m²/d, 9\u00a0g.",
	} {
		if got := told(text); got != want {
			t.Errorf("told(%q) = %q, want %q", text, got, want)
		}
	}
	page := get(t, handlerOf(t, madeUpConfig()), "/", http.StatusOK)
	if !strings.Contains(page, "gives 63\u00a0% of the energy") {
		t.Error("a line of the Meals page may break before its percent sign")
	}
	mustContain(t, page, "under the light of this place", `<a href="/beds">beds</a>`)
}

func TestWarningsOfMonthsAreGathered(t *testing.T) {
	got := gathered([]string{"October 2026: Kale: 6 mol/m² of light a day is too little: it asks for 10.", "November 2026: Kale: 2.97 mol/m² of light a day is too little: it asks for 10.",
		"May 2027: Kale: too hot.", "2026-10-05: it may flower", "slugs"}, "Kale")
	want := []string{"October 2026 and 1 month after: 6 mol/m² of light a day is too little: it asks for 10.", "May 2027: too hot.", "2026-10-05: it may flower", "Slugs"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestDatesOfThreeCourses(t *testing.T) {
	on := func(m time.Month, d int) site.Date { return site.On(2027, m, d) }
	for _, c := range []struct {
		dates [season.Courses]site.Date
		want  string
	}{
		{[...]site.Date{on(4, 12), on(4, 8), on(4, 3)}, "3 to 12 April 2027"},
		{[...]site.Date{{}, on(4, 8), on(4, 3)}, "from 3 April 2027, or not at all"},
		{[...]site.Date{on(4, 3), on(4, 3), on(4, 3)}, "3 April 2027"},
		{[season.Courses]site.Date{}, ""},
	} {
		if diff := cmp.Diff(c.want, between(c.dates)); diff != "" {
			t.Error(diff)
		}
	}
}

func TestChartStaysInItsFrame(t *testing.T) {
	from, to := site.On(2027, time.January, 11), site.On(2027, time.December, 11)
	c := chart{Kind: "leaf", Title: "Mass <of> kale", Unit: "g", From: from, To: to, Today: from.Plus(30), Lines: []chartLine{{"low", []chartPoint{{from, 0}, {from.Plus(40), nan}, {from.Plus(80), 150}, {to.Plus(9), 900}}}}}
	drawing := string(c.svg())
	mustContain(t, drawing, "<title>Mass &lt;of&gt; kale</title>", "today", ">1\u202f000<", `d="M46.0 196.0M`)
	mustLack(t, drawing, "NaN", "Inf")
	for v, want := range map[float64]float64{1: 1, 1.1: 2, 37: 40, 62: 80, 900: 1000, 0.07: 0.08} {
		if got := roundUp(v); got < want*0.999 || got > want*1.001 {
			t.Errorf("roundUp(%g) = %g, want %g", v, got, want)
		}
	}
	c.Lines = nil
	if c.svg() != "" {
		t.Error("a chart of nothing is drawn")
	}
}
