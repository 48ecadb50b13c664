package web

import (
	"net/http"
	"regexp"
	"strings"
	"testing"

	"tidebed/site"
)

func TestStartUpAnswersFirst(t *testing.T) {
	page := get(t, demoPages(t), "/start-up", http.StatusOK)
	mustContain(t, page, "<h1>A new north loop kept at 13 °C is ready for ", " of feed a day in about ", "of stones from the south loop in ",
		"Goal: ", "the full ration of the opening", `action="/start-up"`, `<option value="north" selected>`, `<option value="fishless" selected>`, `<option value="new" selected>`,
		"Ammonium chloride: gloves", "Fish go in by the test, never by the date", "Ready: two days running", "Ready on day, started without fish", "20 L of media from the south loop",
		"13 °C, here", "28 °C", "srac-4502", "lekang", `class="course low"`, `class="course typical"`, `class="limit"`, "potassium bicarbonate")
	mustLack(t, page, "<script", "style=", "NaN", "Inf", "problem")
	if at := strings.Index(page, "<h1>"); at > strings.Index(page, "<form") || at > strings.Index(page, "<svg") {
		t.Error("the answer must stand first")
	}
	if n := len(regexp.MustCompile(`<tr><th scope="row">[0-9]+</th>`).FindAllString(page, -1)); n < 60 {
		t.Errorf("%d rows of days, want each day", n)
	}
	mustContain(t, get(t, demoPages(t), "/more", http.StatusOK), `href="/start-up"`)
}

func TestStartUpAsAsked(t *testing.T) {
	h := demoPages(t)
	page := get(t, h, "/start-up?loop=south&temp=20&seed=media&media=50&goal=200", http.StatusOK)
	mustContain(t, page, "A new south loop kept at 20 °C with five buckets (50 L) of running media is ready for 200 g", `value="50"`, `value="200"`, `<option value="media" selected>`, `<option value="south" selected>`, "50 L of media from the north loop")
	page = get(t, h, "/start-up?loop=south&method=fish-in", http.StatusOK)
	mustContain(t, page, "The south loop, started with its fish in it", "Limits of the group tropical", "Start without fish", "CaCl2·2H2O", "Unfed fish still give off ammonia", "nitrite<br>felt at<br>most", "No feed on the day they come.", `<option value="fish-in" selected>`)
	mustLack(t, page, "NaN", "Inf")
	page = get(t, h, "/start-up?loop=north&goal=1500&temp=5", http.StatusOK)
	mustContain(t, page, "does not come to bear 1500 g of feed a day within 240 days", "It does not become ready: ")
}

func TestStartUpRefuses(t *testing.T) {
	h := demoPages(t)
	page := get(t, h, "/start-up?loop=%3Cb%3E&temp=50&goal=-4&seed=sand&media=x", http.StatusUnprocessableEntity)
	mustContain(t, page, "This cannot be reckoned yet: 5 things are to be mended", `value="50" placeholder="as its tanks" inputmode="decimal" autocomplete="off" aria-invalid="true"`, "the loops are north, south", "new, water, media")
	mustLack(t, page, "<b>\"", "<svg class=\"chart")
	page = get(t, h, "/start-up?loop=south&method=fish-in&temp=10", http.StatusUnprocessableEntity)
	mustContain(t, page, "This start-up cannot be planned.", "no fish that eat in water of 10 °C")

	cfg := madeUpConfig()
	cfg.Site = &site.Site{Name: "New shed"}
	mustContain(t, get(t, handlerOf(t, cfg), "/start-up", http.StatusOK), "No loop is written down, so none can be started.", "under loops")
	cfg = madeUpConfig()
	cfg.Site = &site.Site{Name: "Tank shed", Loops: []site.Loop{{Name: "bare", Tanks: []site.Tank{{Name: "a", VolumeM3: 1, WaterC: 20}}}}}
	mustContain(t, get(t, handlerOf(t, cfg), "/start-up", http.StatusOK), "no loop with beds")
}
