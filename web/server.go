package web

import (
	"bytes"
	"context"
	"crypto/rand"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"time"

	"tidebed/inhand"
	"tidebed/meals"
	"tidebed/plan"
	"tidebed/quantity"
	"tidebed/season"
	"tidebed/site"
	"tidebed/warmth"
	"tidebed/words"
)

//go:embed templates/*.html
var templateFiles embed.FS

//go:embed static
var staticFiles embed.FS

// pageNames are the templates that make a whole page together with frame.html.
var pageNames = []string{"meals.html", "beds.html", "bed.html", "fish.html", "water.html", "test.html", "inhand.html", "card.html", "startup.html", "plumbing.html", "warmth.html", "plan.html", "plan_print.html", "more.html", "building.html", "sums.html", "sum.html", "trust.html", "working.html", "fail.html"}

// server holds what all handlers share; it does not change after New but for the
// kept answers.
type server struct {
	cfg      Config
	system   quantity.System
	log      *slog.Logger
	pages    map[string]*template.Template
	patience time.Duration // how long a reader waits before the working page
	glance   time.Duration // how long for a part that a page can do without

	answer   asked[*meals.Answer]
	evidence asked[EvidenceReport]
	undosed  asked[*season.Forecast]
	inHand   asked[*inhand.Answer]
	loops    []*loopKept // as Site.Loops
	warm     asked[*warmKept]
	helps    asked[helped]
	heated   []string                      // tanks that a heater warms
	fishHeat []asked[[]warmth.FishHeatRow] // as heated
	plans    planBook
}

// New returns the pages of one building. It fails when the Config lacks the site
// or one of its functions, or when two quick sums share a name.
func New(cfg Config) (http.Handler, error) {
	s, err := newServer(cfg)
	if err != nil {
		return nil, fmt.Errorf("web pages: %w", err)
	}
	return s.handler()
}

func newServer(cfg Config) (*server, error) {
	switch {
	case cfg.Site == nil:
		return nil, errors.New("no site given")
	case cfg.Answer == nil || cfg.RunSum == nil || cfg.Evidence == nil:
		return nil, errors.New("the functions Answer, RunSum and Evidence must all be given")
	}
	seen := map[string]bool{}
	for _, e := range cfg.Entries {
		if e.Name == "" || seen[e.Name] {
			return nil, fmt.Errorf("quick sum %q: its name is empty or used twice", e.Name)
		}
		seen[e.Name] = true
	}
	s := &server{cfg: cfg, log: cfg.Log, patience: 4 * time.Second, glance: usualGlance, pages: map[string]*template.Template{}}
	if s.log == nil {
		s.log = slog.Default()
	}
	if s.cfg.Plan == nil {
		s.cfg.Plan = func(ctx context.Context, today site.Date, o plan.Options) (*plan.Plan, error) {
			return plan.Make(ctx, cfg.Site, today, o)
		}
	}
	if s.cfg.Explain == nil {
		s.cfg.Explain = func(ctx context.Context, today site.Date, o plan.Options, p *plan.Plan) (*plan.Reasons, error) {
			return plan.Explain(ctx, cfg.Site, today, o, p)
		}
	}
	if cfg.Site.Units == "us-customary" {
		s.system = quantity.USCustomary
	}
	for range cfg.Site.Loops {
		s.loops = append(s.loops, &loopKept{})
	}
	s.heated = heatedTanks(cfg.Site)
	s.fishHeat = make([]asked[[]warmth.FishHeatRow], len(s.heated))
	for _, name := range pageNames {
		page, err := template.New("frame.html").Funcs(template.FuncMap{"told": told, "keyed": keyed, "capital": words.Capital, "dict": dict, "planLine": s.planLine}).ParseFS(templateFiles, "templates/frame.html", "templates/"+name)
		if err != nil {
			return nil, fmt.Errorf("template %s: %w", name, err)
		}
		s.pages[name] = page
	}
	return s, nil
}

func (s *server) handler() (http.Handler, error) {
	static, err := fs.Sub(staticFiles, "static")
	if err != nil {
		return nil, fmt.Errorf("web pages: embedded files: %w", err)
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.showMeals)
	mux.HandleFunc("GET /beds", s.showBeds)
	mux.HandleFunc("GET /beds/{name}", s.showBed)
	mux.HandleFunc("GET /fish", s.showFish)
	mux.HandleFunc("GET /water", s.showWater)
	mux.HandleFunc("GET /test", s.showTest)
	mux.HandleFunc("GET /hours", s.showHours)
	mux.HandleFunc("GET /hours/card", s.showCard)
	mux.HandleFunc("GET /start-up", s.showStartUp)
	mux.HandleFunc("GET /plumbing", s.showPlumbing)
	mux.HandleFunc("GET /plumbing/timetable.csv", s.showTimetable)
	mux.HandleFunc("GET /plumbing/timetable.json", s.showTimetable)
	mux.HandleFunc("GET /warmth", s.showWarmth)
	mux.HandleFunc("GET /plan", s.showPlan)
	mux.HandleFunc("GET /plan/print", s.showPlanPrint)
	mux.HandleFunc("GET /plan.csv", s.showPlanFile)
	mux.HandleFunc("GET /plan.ics", s.showPlanFile)
	mux.HandleFunc("POST /plan/stop", s.stopPlan)
	mux.HandleFunc("POST /plan/again", s.stopPlan)
	mux.HandleFunc("GET /more", s.showMore)
	mux.HandleFunc("GET /building", s.showBuilding)
	mux.HandleFunc("GET /sums", s.listSums)
	mux.HandleFunc("GET /sums/{name}", s.showSum)
	mux.HandleFunc("GET /trust", s.showTrust)
	mux.Handle("GET /static/", http.StripPrefix("/static/", http.FileServerFS(static)))
	mux.HandleFunc("GET /favicon.ico", func(w http.ResponseWriter, r *http.Request) {
		http.ServeFileFS(w, r, static, "favicon.svg")
	})
	mux.HandleFunc("/", s.notHere)
	return guarded(mux), nil
}

// guarded sets the headers that keep a page to itself: nothing from elsewhere, no
// script (the plumbing page alone allows the site's own), no framing.
func guarded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		next.ServeHTTP(w, r)
	})
}

// frame is what every page shows around its own matter.
type frame struct {
	Title   string
	Here    string // which of the places: meals, plan, test, beds, fish, water, plumbing, warmth, hours, sums, building, trust, more; empty: none
	Site    string
	Today   string
	Version string
	Refresh int // seconds after which the page asks again; 0: never
}

func (s *server) frame(title, here string) frame {
	return frame{Title: title, Here: here, Site: s.cfg.Site.Name, Today: longDay(s.cfg.Today), Version: s.cfg.Version}
}

// render makes the whole page before the first byte leaves, so that a template
// that breaks off never sends half a page.
func (s *server) render(w http.ResponseWriter, r *http.Request, status int, name string, page any) {
	var out bytes.Buffer
	if err := s.pages[name].Execute(&out, page); err != nil {
		if name == "fail.html" {
			http.Error(w, "This page could not be drawn.", http.StatusInternalServerError)
			s.log.Error("page failed", "page", name, "cause", err)
			return
		}
		s.fail(w, r, fmt.Errorf("draw %s: %w", name, err))
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if _, err := w.Write(out.Bytes()); err != nil {
		s.log.Info("reader left before the page was sent", "path", r.URL.Path, "cause", err)
	}
}

type failPage struct {
	frame
	Sentence  string
	Todo      string
	Reference string
}

// fail logs the cause and shows a plain sentence with the number under which it
// stands in the log.
func (s *server) fail(w http.ResponseWriter, r *http.Request, cause error) {
	var number [4]byte
	rand.Read(number[:]) // never fails, as crypto/rand documents
	reference := hex.EncodeToString(number[:])
	s.log.Error("page failed", "reference", reference, "path", r.URL.Path, "cause", cause)
	s.render(w, r, http.StatusInternalServerError, "fail.html", failPage{
		frame:     s.frame("This page could not be made", ""),
		Sentence:  "This page could not be made: the program failed, not you.",
		Todo:      "Try again; if it fails again, look up this number in the program's log.",
		Reference: reference,
	})
}

type morePage struct {
	frame
	Sentence string
}

// showMore handles GET /more: the places that have no room in a phone's bar.
func (s *server) showMore(w http.ResponseWriter, r *http.Request) {
	s.render(w, r, http.StatusOK, "more.html", morePage{s.frame("More", "more"), "More places: the plan, the water of each tank, the plumbing, what warmth costs, hours in hand, when a new loop is ready, quick sums, what the building is, and how far to trust the figures."})
}

// notHere answers every address and method that no page has.
func (s *server) notHere(w http.ResponseWriter, r *http.Request) {
	page := failPage{frame: s.frame("No such page", ""), Sentence: "There is no page at this address.", Todo: "The pages there are stand in the bar."}
	status := http.StatusNotFound
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		status = http.StatusMethodNotAllowed
		w.Header().Set("Allow", "GET, HEAD")
		page.Sentence = "These pages are for reading: nothing can be sent to this address."
	}
	s.render(w, r, status, "fail.html", page)
}

type workingPage struct {
	frame
	Sentence string
	SoFar    string
}

// working tells what is being worked out and for how long, and asks again soon.
func (s *server) working(w http.ResponseWriter, r *http.Request, here, sentence string, soFar time.Duration) {
	page := workingPage{frame: s.frame("Working", here), Sentence: sentence, SoFar: words.Count(int(soFar.Seconds()), "second", "seconds")}
	page.Refresh = 3
	s.render(w, r, http.StatusOK, "working.html", page)
}

// mealsAnswer returns the kept answer, waiting up to the server's patience.
func (s *server) mealsAnswer(ctx context.Context) (*meals.Answer, time.Duration, bool, error) {
	answer, soFar, ready, err := s.answer.wait(ctx, s.patience, s.cfg.Answer)
	if ready && err == nil && answer == nil {
		err = errors.New("meals gave neither an answer nor an error")
	}
	return answer, soFar, ready, err
}
