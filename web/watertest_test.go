package web

import (
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"

	"tidebed/site"
	"tidebed/watertest"
)

// demoPages are the pages of the demo building.
func demoPages(t *testing.T) http.Handler {
	t.Helper()
	cfg := madeUpConfig()
	demo, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	cfg.Site, cfg.Today = demo, demo.Opening.Date
	return handlerOf(t, cfg)
}

const troutTest = "/test?tank=trout+1&ph=6.4&ammonia=2&ammonia-unit=mg%2FL+as+N&nitrite=0%2C8&nitrite-unit=mg%2FL&alkalinity=2&alkalinity-unit=dKH&temp=13&temp-unit=%C2%B0C"

func TestWaterTestForm(t *testing.T) {
	h := demoPages(t)
	page := get(t, h, "/test", http.StatusOK)
	mustContain(t, page, "<h1>Type what the kit shows", `action="/test"`, `<option value="trout 1">trout 1</option>`, "choose", `name="ammonia-unit"`, "mg/L, not said",
		`<option value="dKH">dKH, degrees</option>`, `inputmode="decimal"`, `<a href="/test" aria-current="page">Test</a>`, "Judge this water")
	mustLack(t, page, "What to do", "problem", "<script", "style=")
	mustContain(t, get(t, h, "/test?tank=trout+2", http.StatusOK), `<option value="trout 2" selected>`)
	mustContain(t, get(t, h, "/more", http.StatusOK), `href="/sums"`)
}

func TestWaterTestVerdict(t *testing.T) {
	page := get(t, demoPages(t), troutTest, http.StatusOK)
	mustContain(t, page, "<h1>Stop feeding: nitrite of 0.80 mg/L as N is a danger to the life of rainbow trout", "Carbon dioxide of 34 mg/L is a danger too (above 30)", `<span class="verdict-word act">critical</span>`,
		"What to do, in this order", "Does the kit tell nitrite as N or as NO2?", "not a veterinary opinion", "emerson-1975", `value="0,8"`, `<option value="mg/L" selected>`, `<option value="trout 1" selected>`,
		"nitrite 0.80 mg/L as N, above 0.10", "act, lower", "Test again</h2>", "loop north")
	at := -1
	for _, do := range []string{"<b>Stop feeding until", "<b>Aerate", "<b>Change a third", "calcium chloride (CaCl2·2H2O) to"} {
		next := strings.Index(page[at+1:], do)
		if next < 0 {
			t.Errorf("%q does not follow in order", do)
			continue
		}
		at += 1 + next
	}
	form := strings.Index(page, "<form class=")
	if form < strings.Index(page, "<h2>Doses") {
		t.Error("the verdict must stand above the form")
	}
}

func TestWaterTestRefusesAsTyped(t *testing.T) {
	h := demoPages(t)
	page := get(t, h, "/test?tank=trout+1&ph=%3Cb%3E15&temp=99&temp-unit=%C2%B0C&ammonia=0.3", http.StatusUnprocessableEntity)
	mustContain(t, page, "2 things are to be mended", `value="&lt;b&gt;15"`, `value="99"`, `value="0.3"`, `id="in-ph-problem"`, `aria-describedby="in-temp-problem"`, "outside what can be")
	mustLack(t, page, "What to do")
	for path, want := range map[string]string{
		"/test?judge=yes":             "whose water is it?",
		"/test?group=cold&judge=yes":  "Nothing was measured",
		"/test?ph=7&tank=pond":        "has no tank",
		"/test?group=deep&ph=7":       "no group",
		"/test?group=cold&colour=red": "has no value",
		"/test?group=cold&ph=7&alkalinity=2&alkalinity-unit=spoons": "no unit",
		"/test?group=cold&ph=10.5&temp=15+C&alkalinity=5+mg%2FL":    "less than no carbon",
	} {
		if page := get(t, h, path, http.StatusUnprocessableEntity); !strings.Contains(strings.ToLower(page), strings.ToLower(want)) {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	page = get(t, h, "/test?group=cold&hardness=-1&hardness-unit=%C2%B0dH", http.StatusUnprocessableEntity)
	mustContain(t, page, "<details open>", "less than nothing", `id="in-hardness"`)
}

func TestWaterTestWithoutTanks(t *testing.T) {
	cfg := madeUpConfig()
	cfg.Site = &site.Site{Name: "New shed", Units: "us-customary"}
	h := handlerOf(t, cfg)
	mustContain(t, get(t, h, "/test", http.StatusOK), `<option value="">choose</option>`, `<option value="°F" selected>`)
	page := get(t, h, "/test?group=cold&temp=70&temp-unit=%C2%B0F&ph=7", http.StatusOK)
	mustContain(t, page, "70.0 °F", "act, lower")
}

// A gauge's staff says what its verdict says, at every kind of fish.
func TestGaugeStaffAgrees(t *testing.T) {
	s, err := newServer(madeUpConfig())
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, g := range watertest.Groups() {
		for _, typed := range []map[string]string{
			{"ph": "6.4", "temp": "4 C", "ammonia": "0.8 mg/L as N", "nitrite": "0.3 mg/L as N", "nitrate": "60 mg/L as N", "alkalinity": "36 mg/L", "oxygen": "6"},
			{"ph": "8.3", "temp": "17 C", "ammonia": "2.5 mg/L as N", "nitrite": "0.05 mg/L as N", "nitrate": "300 mg/L as N", "alkalinity": "260 mg/L", "oxygen": "4.5"},
			{"ph": "7", "temp": "25 C", "ammonia": "0", "nitrite": "9 mg/L as N", "nitrate": "10 mg/L as N", "alkalinity": "100 mg/L", "oxygen": "1"},
			{"ph": "9.6", "temp": "32 C", "ammonia": "8 mg/L as N", "alkalinity": "6 meq/L"},
			{"ph": "5.1", "temp": "36 C", "alkalinity": "8 mg/L", "oxygen": "9"},
		} {
			typed["group"] = g.Word
			v, err := judgeTyped(&site.Site{}, typed)
			if err != nil {
				t.Fatal(err)
			}
			for _, gauge := range v.Gauges {
				staff := s.gaugeStaff(gauge)
				state, way, _ := staff.judge()
				want := strings.Replace(gauge.Verdict, "critical", "act", 1)
				wantWay := map[int]string{-1: "raise", 0: "", 1: "lower"}[gauge.Side]
				if string(state) != want || way.word() != wantWay {
					t.Errorf("%s, %s: staff says %s, want %s %s", g.Word, gauge.Sentence, staff.Words(), want, wantWay)
				}
				if !(staff.ScaleMin < staff.ScaleMax && staff.Value >= staff.ScaleMin && staff.Value <= staff.ScaleMax) || math.IsInf(staff.ScaleMin, 0) {
					t.Errorf("%s: scale %g to %g", gauge.Sentence, staff.ScaleMin, staff.ScaleMax)
				}
				seen[gauge.Verdict] = true
			}
		}
	}
	for _, verdict := range []string{"good", "watch", "act", "critical"} {
		if !seen[verdict] {
			t.Errorf("no gauge was %s", verdict)
		}
	}
	if names := []string{"12", "-3,5", "1e-3"}; slices.ContainsFunc(names, func(n string) bool { return !bareNumber(n) }) || bareNumber("2 mg/L") || bareNumber("92 %") {
		t.Error("bare numbers are told wrongly")
	}
}
