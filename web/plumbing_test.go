package web

import (
	"encoding/csv"
	"encoding/json"
	"html"
	"math"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"tidebed/plumbing"
	"tidebed/site"
)

// samplePages are the pages of a sample building, with patience for all that is
// worked out.
func samplePages(t *testing.T, name string) http.Handler {
	t.Helper()
	demo, _, err := site.Sample(name)
	if err != nil {
		t.Fatal(err)
	}
	return patientPages(t, demo)
}

func patientPages(t *testing.T, building *site.Site) http.Handler {
	t.Helper()
	cfg := madeUpConfig()
	cfg.Site = building
	if building.Opening.Date.IsZero() {
		cfg.Today = site.On(2027, 1, 11)
	} else {
		cfg.Today = building.Opening.Date
	}
	s, err := newServer(cfg)
	if err != nil {
		t.Fatal(err)
	}
	s.patience, s.glance = time.Minute, time.Minute
	h, err := s.handler()
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func TestPlumbingAnswersFirst(t *testing.T) {
	h := samplePages(t, "skerry-house")
	page := html.UnescapeString(get(t, h, "/plumbing", http.StatusOK))
	mustContain(t, page, "<h1>Each of the 6 beds floods", "What to do", "The loop from the side", `<a href="/plumbing?loop=south">south</a>`, "<b>north</b>",
		"North 1, cut through", "Inflow of the siphons", "Timetable of the valves", "set to volume over flow, a valve shuts before the siphon starts", "timetable.csv?loop=north", "Pump and pipes", "duty point",
		"Pumps compared", "Shelf pump", "What if it fails", "fish of trout", "Find the fault", "What it weighs", "structural engineer", "drip loop", "A child drowns", "air gap", "Defaults that stand in",
		`data-course="{`, `<script src="/static/plumbing.js" defer></script>`, `aria-current="page">Plumbing</a>`, "valve stays open", `href="/hours"`)
	mustLack(t, page, "style=", "legionella", "%!", "`", "loop loop")
	if at := strings.Index(page, "<h1>"); at > strings.Index(page, "<form") || at > strings.Index(page, "<table") || at > strings.Index(page, "<svg") {
		t.Error("the answer must stand first")
	}
	warm := html.UnescapeString(get(t, h, "/plumbing?loop=south&bed=south+2", http.StatusOK))
	mustContain(t, warm, "legionella", "South 2, cut through", "the valve of south 2 open")
	mustContain(t, get(t, h, "/more", http.StatusOK), `href="/plumbing"`)
	get(t, h, "/plumbing?loop=nowhere", http.StatusNotFound)
	get(t, h, "/plumbing?bed=nothing", http.StatusOK)
	for _, policy := range []struct {
		path   string
		script bool
	}{{"/plumbing", true}, {"/plumbing?if-crest=200", true}, {"/water", false}, {"/plumbing/timetable.csv", false}, {"/", false}} {
		rec := httptest.NewRecorder()
		h.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, policy.path, nil))
		csp := rec.Header().Get("Content-Security-Policy")
		if strings.Contains(csp, "script-src 'self'") != policy.script || !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "connect-src") || strings.Contains(csp, "unsafe") {
			t.Errorf("%s: policy %q", policy.path, csp)
		}
	}
}

func TestPlumbingInUSUnits(t *testing.T) {
	page := get(t, samplePages(t, "twin-creeks"), "/plumbing", http.StatusOK)
	mustContain(t, page, "gal/min", " ft</text>", "level, in", "ft/s", "Standpipe bore, in", "Water, °F", "legionella", "shuts before the break")
	mustLack(t, page, "loop loop")
}

var notNumbers = regexp.MustCompile(`\b(NaN|[+-]?Inf|infinity|undefined|null)\b`)

// No page, whatever is typed, holds what is no number.
func TestPlumbingHoldsNumbers(t *testing.T) {
	for _, name := range site.Samples() {
		h := samplePages(t, name)
		for _, query := range []string{"", "?if-crest=30", "?if-set=0.5", "?if-set=60", "?if-bore=12", "?if-pipe=8", "?if-floods=12", "?if-outlet=-20", "?if-open=2", "?if-wall=new", "?if-temp=1",
			"?seen=" + map[string]string{"skerry-house": "north+1", "twin-creeks": "bed+1"}[name] + "&trickles=yes&bucket=8&bucket-time=60"} {
			rec := httptest.NewRecorder()
			h.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/plumbing"+query, nil))
			if rec.Code != http.StatusOK && rec.Code != http.StatusUnprocessableEntity {
				t.Errorf("%s%s: status %d", name, query, rec.Code)
			}
			if found := notNumbers.FindString(rec.Body.String()); found != "" {
				at := notNumbers.FindStringIndex(rec.Body.String())[0]
				t.Errorf("%s%s holds %s: …%s…", name, query, found, rec.Body.String()[max(0, at-80):at+20])
			}
		}
	}
}

func TestWhatIfSideBySide(t *testing.T) {
	h := samplePages(t, "skerry-house")
	page := html.UnescapeString(get(t, h, "/plumbing?if-set=12+L%2Fmin", http.StatusOK))
	mustContain(t, page, "as it is</th>", "what if</th>", "does not flood", "none floods", "Energy of the pump a day", "kWh", "Worst finding", `value="12 L/min"`)
	page = html.UnescapeString(get(t, h, "/plumbing?if-pump=shelf+pump", http.StatusOK))
	mustContain(t, page, `<option value="shelf pump" selected>`, "as it is</th>")
	plain := get(t, h, "/plumbing", http.StatusOK)
	mustLack(t, plain, "what if</th>")
	// A lower crest fills sooner: the form's figures are those of the changed loop.
	row := regexp.MustCompile(`<tr><th scope="row">Fills in</th><td data-head="as it is">([^<]*)</td><td data-head="what if"><b>([^<]*)</b>`)
	page = get(t, h, "/plumbing?if-crest=120+mm", http.StatusOK)
	found := row.FindStringSubmatch(page)
	if found == nil {
		t.Fatal("no row of the time to fill")
	}
	mustMinutes := func(text string) float64 {
		var m float64
		for _, part := range regexp.MustCompile(`(\d+) (h|min|s)`).FindAllStringSubmatch(strings.ReplaceAll(text, "\u00a0", " "), -1) {
			m += map[string]float64{"h": 60, "min": 1, "s": 1.0 / 60}[part[2]] * number(t, part[1])
		}
		return m
	}
	if was, now := mustMinutes(found[1]), mustMinutes(found[2]); !(now > 0.3*was && now < 0.7*was) {
		t.Errorf("with the crest at half its height it fills in %g min, before %g", now, was)
	}
	again := html.UnescapeString(get(t, h, "/plumbing", http.StatusOK))
	if !strings.Contains(again, `placeholder="240 mm"`) {
		t.Error("the site itself was changed")
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	var v float64
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestWhatIfRefusesAtTheField(t *testing.T) {
	h := samplePages(t, "skerry-house")
	page := html.UnescapeString(get(t, h, "/plumbing?if-crest=900+mm&if-bore=20+mm&if-floods=<b>", http.StatusUnprocessableEntity))
	mustContain(t, page, `value="900 mm"`, `value="20 mm"`, `value="<b>"`, `aria-invalid="true"`)
	mustLack(t, page, "what if</th>")
	for query, want := range map[string]string{
		"if-crest=900+mm": "must lie below the rim", "if-floods=99": "12 allowed", "if-temp=60": "to 45", "if-break=300+mm": "below the crest", "if-bore=5+m": "allowed",
		"if-set=fast": "fast: a number is expected first", "if-pump=none": "There is no pump", "if-bed=none&if-crest=200": "There is no bed", "if-crest=NaN": "number is expected", "if-outlet=100+mm": "outlet",
	} {
		page := html.UnescapeString(get(t, h, "/plumbing?"+query, http.StatusUnprocessableEntity))
		at := strings.Index(page, `class="problem">⚠`)
		if at < 0 {
			t.Errorf("%s: no sentence at a field", query)
			continue
		}
		if !strings.Contains(page[at:at+400], want) {
			t.Errorf("%s: %q lacks %q", query, page[at:at+300], want)
		}
	}
}

func TestTimetableForAController(t *testing.T) {
	h := samplePages(t, "skerry-house")
	rec := httptest.NewRecorder()
	h.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/plumbing/timetable.csv?loop=south", nil))
	if kind := rec.Header().Get("Content-Type"); rec.Code != http.StatusOK || kind != "text/csv; charset=utf-8" || !strings.Contains(rec.Header().Get("Content-Disposition"), "timetable.csv") {
		t.Fatalf("status %d, type %q", rec.Code, kind)
	}
	rows, err := csv.NewReader(rec.Body).ReadAll()
	if err != nil || len(rows) != 9 { // a head, four valves by day and by night
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	rec = httptest.NewRecorder()
	h.ServeHTTP(rec, httptest.NewRequest(http.MethodGet, "/plumbing/timetable.json?loop=south", nil))
	var plan plumbing.Timetable
	if err := json.Unmarshal(rec.Body.Bytes(), &plan); err != nil || rec.Header().Get("Content-Type") != "application/json" || plan.Loop != "south" || len(plan.Parts) != 2 {
		t.Errorf("%v, %s: %+v", err, rec.Header().Get("Content-Type"), plan)
	}
	get(t, h, "/plumbing/timetable.csv?loop=nowhere", http.StatusNotFound)
	get(t, patientPages(t, madeUpSite()), "/plumbing/timetable.json", http.StatusNotFound)
	get(t, patientPages(t, &site.Site{Name: "New shed"}), "/plumbing/timetable.csv", http.StatusNotFound)
}

func TestPlumbingThatIsNotThere(t *testing.T) {
	page := get(t, patientPages(t, &site.Site{Name: "New shed"}), "/plumbing", http.StatusOK)
	mustContain(t, page, "No loop is written down", "under loops")
	mustLack(t, page, "<svg", "<form", "<script")
	page = get(t, patientPages(t, madeUpSite()), "/plumbing", http.StatusOK)
	mustContain(t, page, "The flows of the North loop are not known", "The loop from the side", "<svg")
	mustLack(t, page, "What if", "timetable.csv", "NaN", "<script")
	page = get(t, patientPages(t, madeUpSite()), "/plumbing?loop=South+loop", http.StatusOK)
	mustContain(t, page, "The flows of the South loop are not known")
	bare := &site.Site{Name: "New shed", Loops: []site.Loop{{Name: "dry"}, {Name: "tank alone", Tanks: []site.Tank{{Name: "pond", VolumeM3: 2}}}}}
	mustContain(t, get(t, patientPages(t, bare), "/plumbing", http.StatusOK), "has no tank and no sump yet")
	mustContain(t, get(t, patientPages(t, bare), "/plumbing?loop=tank+alone", http.StatusOK), "not known")
	// A pipe that cannot be is said, not hidden.
	demo, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	demo.Loops[0].Pipes[0].Fittings = []string{"a bent spoon"}
	mustContain(t, get(t, patientPages(t, demo), "/plumbing", http.StatusOK), "cannot be worked out from this site file", "bent spoon")
}

func TestFaultFinding(t *testing.T) {
	h := samplePages(t, "skerry-house")
	page := html.UnescapeString(get(t, h, "/plumbing?seen=north+1&fill=20+min&drain=5+min&bucket=10+L&bucket-time=60+s&trickles=yes", http.StatusOK))
	mustContain(t, page, "measured 10 L/min", "expected 28 L/min", `<option value="yes" selected>yes</option>`, `value="20 min"`, `<option value="north 1" selected>`)
	page = html.UnescapeString(get(t, h, "/plumbing?seen=north+1&fill=fast&bucket=10", http.StatusUnprocessableEntity))
	mustContain(t, page, `value="fast"`, `aria-invalid="true"`)
	for _, query := range []string{"seen=north+1", "seen=none&fill=4+min", "seen=north+1&bucket=10", "seen=north+1&fill=-5+s"} {
		mustContain(t, get(t, h, "/plumbing?"+query, http.StatusUnprocessableEntity), `class="problem">⚠`)
	}
}

func TestPlumbingSentence(t *testing.T) {
	act := plumbing.Finding{State: plumbing.Act, Sentence: "The rim lies too low. It runs over."}
	watch := plumbing.Finding{State: plumbing.Watch, Sentence: "It is slow."}
	l := &site.Loop{Name: "north"}
	for want, findings := range map[string][]plumbing.Finding{
		"There is no timetable. One thing to mend: the rim lies too low.":                  {act, watch},
		"There is no timetable. 2 things to mend, first: the rim lies too low.":            {act, act},
		"There is no timetable. No single fault empties a fish tank; 1 thing to watch.":    {watch},
		"There is no timetable. Nothing to mend, and no single fault empties a fish tank.": nil,
	} {
		if got := plumbingSentence(&plumbing.Study{Loop: l, Timetable: &plumbing.Timetable{}, Findings: findings}); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := plumbingSentence(&plumbing.Study{Loop: l, Unpiped: true}); !strings.HasPrefix(got, "The flows of the north loop are not known") {
		t.Error(got)
	}
	if got := keyed("give `spill`, 20 mm in 5 min"); got != "give “spill”, 20\u00a0mm in 5\u00a0min" {
		t.Errorf("%q", got)
	}
}

// The pointer of a lying staff has the shape and the way of the standing one.
func TestLyingStaff(t *testing.T) {
	s, err := newServer(madeUpConfig())
	if err != nil {
		t.Fatal(err)
	}
	zones := []plumbing.Zone{{ToM3s: 1e-4, Verdict: "will-not-start"}, {FromM3s: 1e-4, ToM3s: 3e-4, Verdict: "starts"}, {FromM3s: 3e-4, ToM3s: 4e-4, Verdict: "starts", Dribbles: true}, {FromM3s: 4e-4, ToM3s: 5e-4, Verdict: "never-stops"}}
	for m3s, want := range map[float64][]string{
		5e-5: {"3.0 L/min, will not start: act, raise", `data-shape="wedge" data-way="raise"`}, 2e-4: {"12 L/min, starts: good", `data-shape="bar"`},
		3.5e-4: {"21 L/min, dribbles: watch, lower", `data-shape="half-wedge" data-way="lower"`}, 1: {"never stops: act, lower", `data-shape="wedge" data-way="lower"`},
	} {
		drawing, words, _ := s.lyingStaff("Bed", zones, m3s)
		if !strings.Contains(words, want[0]) || !strings.Contains(string(drawing), want[1]) {
			t.Errorf("%g m³/s: %q, drawing lacks %q: %v", m3s, words, want[1], strings.Contains(string(drawing), want[1]))
		}
	}
	if drawing, _, _ := s.lyingStaff("Bed", nil, 1); drawing != "" {
		t.Error("nothing is drawn as something")
	}
	if drawing, _, _ := s.lyingStaff("Bed", zones, math.NaN()); drawing != "" {
		t.Error("no flow is drawn as one")
	}
}

// The level moves when played, stands when not, follows the slider, and never
// moves for who asks for little motion.
func TestLevelMovesWhenPlayed(t *testing.T) {
	ctx := browser(t)
	at := httptest.NewServer(samplePages(t, "skerry-house"))
	defer at.Close()
	open := func(motion string) {
		t.Helper()
		if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: motion}}}); err != nil {
			t.Fatal(err)
		}
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(1280, 800), chromedp.Navigate(at.URL+"/plumbing")); err != nil {
			t.Fatal(err)
		}
	}
	ask := func(script string) float64 {
		t.Helper()
		v, err := chromedp.Run(ctx, chromedp.Evaluate[float64](script))
		if err != nil {
			t.Fatalf("%s: %v", script, err)
		}
		return v
	}
	const level = `Number(document.querySelector('[data-part="water"]').getAttribute("height"))`
	const text = `document.getElementById("course-now").textContent.length`
	open("no-preference")
	if ask(text) == 0 {
		t.Error("nothing is read out")
	}
	first := ask(level)
	time.Sleep(300 * time.Millisecond)
	if ask(level) != first {
		t.Error("it moves before it is played")
	}
	ask(`document.getElementById("course-play").click(), 1`)
	moved := false
	for range 100 { // a machine under load draws few frames
		time.Sleep(100 * time.Millisecond)
		if moved = ask(level) > first+2; moved {
			break
		}
	}
	if !moved {
		t.Errorf("the level does not rise from %g when played", first)
	}
	ask(`document.getElementById("course-play").click(), 1`)
	stood := ask(level)
	time.Sleep(300 * time.Millisecond)
	if ask(level) != stood {
		t.Error("it goes on when stopped")
	}
	ask(`(e => { e.value = 450; e.dispatchEvent(new Event("input")); return 1 })(document.getElementById("course-time"))`)
	if got := ask(level); got == first {
		t.Error("the level does not follow the slider")
	}
	open("reduce")
	if ask(`document.getElementById("course-play").hidden ? 1 : 0`) != 1 {
		t.Error("a button that starts motion is offered to who asked for little")
	}
	first = ask(level)
	ask(`document.getElementById("course-play").click(), 1`)
	time.Sleep(500 * time.Millisecond)
	if ask(level) != first {
		t.Error("it moves for who asked for little motion")
	}
}
