package web

import (
	"net/http"
	"strings"
	"testing"

	"tidebed/site"
)

func TestHoursAnswerFirst(t *testing.T) {
	page := get(t, demoPages(t), "/hours", http.StatusOK)
	mustContain(t, page, "<h1>If pump and air stop three hours after the evening meal, trout 1 has 2", "until its fish suffer", "battery air carries it",
		"Trout 2 has no air on a battery.", "11 January 2027", `action="/hours"`, `<option value="night" selected>`, `<option value="after" selected>`, `value="100"`,
		"Inlet of trout 1 blocked or its hose off", "What buys most time: trout 1, pump and air stop", "Half the stock", "No feed since the evening before",
		"A battery air pump of 5", "12 V and 20 Ah", "common practice", "What to do, in order", "first flood run to waste", "RCD", "hydrogen", "a third of the ration", `href="/hours/card"`,
		`class="verdict act">act`, `class="verdict watch">watch`, `class="verdict good">good`)
	mustLack(t, page, "<script", "style=", "NaN", "Inf", "%!", "problem")
	if at := strings.Index(page, "<h1>"); at > strings.Index(page, "<form") || at > strings.Index(page, "<table") {
		t.Error("the answer must stand first")
	}
	if n := strings.Count(page, ": time until</caption>"); n != 3 {
		t.Errorf("%d tables of tanks, want three", n)
	}
	mustContain(t, get(t, demoPages(t), "/more", http.StatusOK), `href="/hours"`)
}

func TestHoursAsAsked(t *testing.T) {
	h := demoPages(t)
	page := get(t, h, "/hours?when=day&meal=before&share=300", http.StatusOK)
	mustContain(t, page, "just before the morning meal with 300", `<option value="day" selected>`, `<option value="before" selected>`, `value="300"`)
	page = get(t, h, "/hours?share=12%2C5+%25", http.StatusOK)
	mustContain(t, page, `value="12,5 %"`)
	for _, typed := range []string{"0", "-5", "301", "NaN", "Inf", "0x40", "%3Cb%3E", "1e"} {
		page = get(t, h, "/hours?share="+typed, http.StatusUnprocessableEntity)
		mustContain(t, page, "Give a share of 5 to 300", `aria-invalid="true"`, "You entered")
		mustLack(t, page, "<table", "<b>\"")
	}
}

func TestCardIsOneSheet(t *testing.T) {
	page := get(t, demoPages(t), "/hours/card", http.StatusOK)
	mustContain(t, page, "<h1>If the pump or the air stops</h1>", `<ol class="big"><li>Stop feeding`, "trout battery air (18", "Go to the tanks in this order: trout 1 (2", `<ol start="4">`,
		"Unplug before you reach in", "shelf pump", "Neighbour who can lift", "The battery stands", "Made for the fish of 11", "January 2027", "only the pump stops")
	mustLack(t, page, "<script", "style=", "NaN", "Inf")
	if n := strings.Count(page, "<dd></dd>"); n < 5 {
		t.Errorf("%d blank lines to write on, want five", n)
	}
}

func TestHoursWithoutFish(t *testing.T) {
	cfg := madeUpConfig()
	cfg.Site = &site.Site{Name: "New shed"}
	for _, path := range []string{"/hours", "/hours/card"} {
		page := get(t, handlerOf(t, cfg), path, http.StatusOK)
		mustContain(t, page, "No fish are written down", "under opening, fish")
		mustLack(t, page, "<table")
		// The made-up building's fish are of a species the table has not.
		page = get(t, handlerOf(t, madeUpConfig()), path, http.StatusOK)
		mustContain(t, page, "cannot be worked out from this site file", "rainbow_trout", "trout_rainbow")
	}
}
