package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"tidebed/meals"
	"tidebed/numeric/lp"
	"tidebed/plan"
	"tidebed/site"
)

// overflowing lists what is wider than its place and cannot be scrolled. Inline
// boxes have no width of their own; the insides of drawings are checked by their
// own letters; what is typed into a field scrolls there.
const overflowing = `(() => {
	const out = [];
	const root = document.documentElement;
	if (root.scrollWidth > window.innerWidth) out.push("page: " + root.scrollWidth + " > " + window.innerWidth);
	for (const e of document.body.querySelectorAll("*")) {
		const style = getComputedStyle(e);
		if (e.closest("svg") || e.tagName === "INPUT" || e.clientWidth === 0 || style.display === "inline" || style.position === "absolute") continue;
		if (["auto", "scroll"].includes(style.overflowX)) continue;
		if (e.scrollWidth > e.clientWidth + 1) out.push(e.tagName + "." + e.className + ": " + e.scrollWidth + " > " + e.clientWidth + ": " + e.textContent.trim().slice(0, 40));
	}
	for (const t of document.querySelectorAll("svg text")) {
		const svg = t.ownerSVGElement.getBoundingClientRect(), box = t.getBoundingClientRect();
		if (svg.width && box.width && (box.left < svg.left - 1 || box.right > svg.right + 1)) out.push("drawing: " + t.textContent);
	}
	return out;
})()`

// smallTargets lists links and controls too small for a wet thumb, links inside
// running text apart.
const smallTargets = `[...document.querySelectorAll("button, input, select, summary, nav a")]
	.filter(e => e.getClientRects().length && e.getBoundingClientRect().height < 47.5).map(e => e.outerHTML.slice(0, 80))`

// watcher collects what a page must not do.
type watcher struct {
	mu     sync.Mutex
	faults []string
	page   string // address of the page that is open
	status int    // that it is meant to answer with
}

func (w *watcher) note(format string, args ...any) {
	w.faults = append(w.faults, fmt.Sprintf(format, args...))
}

func (w *watcher) event(ev any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		w.note("exception: %s", ev.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		if ev.Type == runtime.ConsoleAPICalledTypeError {
			w.note("console error: %v", ev.Args)
		}
	case *log.EventEntryAdded:
		own := ev.Entry.URL == w.page && w.status >= 400 // the browser logs the page's own refusal
		if ev.Entry.Level == log.EntryLevelError && !own {
			w.note("logged: %s %s", ev.Entry.Text, ev.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		if at, err := url.Parse(ev.Request.URL); err != nil || at.Hostname() != "127.0.0.1" {
			w.note("request leaves this machine: %s", ev.Request.URL)
		}
	}
}

// browser starts the one Chromium of these tests.
func browser(t *testing.T) context.Context {
	t.Helper()
	at := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil {
			at = found
			break
		}
	}
	if at == "" {
		t.Fatal("no Chromium found: the page tests need one; install it with “apt-get install chromium” (Debian) or put chromium on the PATH")
	}
	options := append([]chromedp.ExecAllocatorOption{}, chromedp.DefaultExecAllocatorOptions[:]...)
	options = append(options, chromedp.ExecPath(at), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("Chromium did not start: %v", err)
	}
	return ctx
}

// TestPagesInABrowser opens every page on a phone and on a wide screen, in light
// and dark. With TIDEBED_SHOTS naming a folder it leaves pictures there.
func TestPagesInABrowser(t *testing.T) {
	full := handlerOf(t, planConfig())
	bare := madeUpConfig()
	bare.Site, bare.Entries = &site.Site{Name: "New shed"}, nil
	bare.Answer = func(context.Context) (*meals.Answer, error) { return &meals.Answer{}, nil }
	slow := madeUpConfig()
	slow.Plan = func(ctx context.Context, _ site.Date, o plan.Options) (*plan.Plan, error) {
		o.Progress(plan.Progress{Step: "whole modules of beds", Done: 3, Of: 12, Best: 0.612, Gap: 0.021})
		<-t.Context().Done()
		return nil, t.Context().Err()
	}
	slow.Answer = func(ctx context.Context) (*meals.Answer, error) { <-t.Context().Done(); return nil, t.Context().Err() }
	waiting, err := newServer(slow)
	if err != nil {
		t.Fatal(err)
	}
	waiting.patience = time.Millisecond
	slowPages, err := waiting.handler()
	if err != nil {
		t.Fatal(err)
	}
	real := madeUpConfig()
	real.Entries, real.RunSum, real.Evidence = Reckoner(), RunReckoner, RunEvidence
	demo, _, err := site.Sample(site.Samples()[0])
	if err != nil {
		t.Fatal(err)
	}
	pool := lp.NewPool(1)
	defer pool.Close()
	real.Site, real.Today = demo, demo.Opening.Date
	real.Answer = func(ctx context.Context) (*meals.Answer, error) {
		return meals.Forecast(ctx, pool, demo, demo.Opening.Date, nil)
	}
	realServer, err := newServer(real)
	if err != nil {
		t.Fatal(err)
	}
	realServer.patience, realServer.glance = 10*time.Minute, 10*time.Minute
	realPages, err := realServer.handler()
	if err != nil {
		t.Fatal(err)
	}
	ctx, watch := browser(t), &watcher{}
	for _, err := range []error{
		chromedp.Listen(ctx, watch.event),
		called(chromedp.Call(ctx, network.Enable, network.EnableParams{})),
		called(chromedp.Call(ctx, log.Enable, cdp.Empty{})),
		called(chromedp.Call(ctx, runtime.Enable, cdp.Empty{})),
	} {
		if err != nil {
			t.Fatalf("Chromium cannot be watched: %v", err)
		}
	}
	fullAt, bareAt, slowAt := httptest.NewServer(full), httptest.NewServer(handlerOf(t, bare)), httptest.NewServer(slowPages)
	defer fullAt.Close()
	defer bareAt.Close()
	defer slowAt.Close()
	realAt := httptest.NewServer(realPages)
	defer realAt.Close()

	usAt := httptest.NewServer(samplePages(t, "twin-creeks"))
	defer usAt.Close()

	type opened struct {
		name, address string
		status        int
	}
	pages := []opened{
		{"meals", fullAt.URL + "/", http.StatusOK},
		{"building", fullAt.URL + "/building", http.StatusOK},
		{"sums", fullAt.URL + "/sums", http.StatusOK},
		{"sum", fullAt.URL + "/sums/ammonia-share", http.StatusOK},
		{"sum-result", fullAt.URL + "/sums/ammonia-share?ph=8&temp=20", http.StatusOK},
		{"sum-refused", fullAt.URL + "/sums/ammonia-share?ph=45&temp=" + strings.Repeat("9", 60), http.StatusUnprocessableEntity},
		{"trust", fullAt.URL + "/trust", http.StatusOK},
		{"nowhere", fullAt.URL + "/nowhere", http.StatusNotFound},
		{"meals-empty", bareAt.URL + "/", http.StatusOK},
		{"building-empty", bareAt.URL + "/building", http.StatusOK},
		{"working", slowAt.URL + "/", http.StatusOK},
		{"plan", fullAt.URL + "/plan", http.StatusOK},
		{"plan-print", fullAt.URL + "/plan/print", http.StatusOK},
		{"plan-asked", fullAt.URL + "/plan?hours=6&first=protein&pin=potato+in+Tub+row+2+m2", http.StatusOK},
		{"plan-refused", fullAt.URL + "/plan?today=" + strings.Repeat("9", 60) + "&pin=potatoe&give=x", http.StatusUnprocessableEntity},
		{"plan-empty", bareAt.URL + "/plan", http.StatusOK},
		{"plan-working", slowAt.URL + "/plan", http.StatusOK},
		{"beds", fullAt.URL + "/beds", http.StatusOK},
		{"bed", fullAt.URL + "/beds/Bed%201", http.StatusOK},
		{"fish", fullAt.URL + "/fish", http.StatusOK},
		{"more", fullAt.URL + "/more", http.StatusOK},
		{"beds-empty", bareAt.URL + "/beds", http.StatusOK},
		{"fish-empty", bareAt.URL + "/fish", http.StatusOK},
		{"beds-working", slowAt.URL + "/beds", http.StatusOK},
		{"real-meals", realAt.URL + "/", http.StatusOK},
		{"real-beds", realAt.URL + "/beds", http.StatusOK},
		{"real-bed", realAt.URL + "/beds/" + url.PathEscape(demo.Opening.Plantings[0].Bed), http.StatusOK},
		{"real-bed-twice", realAt.URL + "/beds/" + url.PathEscape(demo.Opening.Plantings[4].Bed), http.StatusOK},
		{"real-fish", realAt.URL + "/fish", http.StatusOK},
		{"real-test", realAt.URL + "/test", http.StatusOK},
		{"real-test-verdict", realAt.URL + troutTest, http.StatusOK},
		{"real-test-base", realAt.URL + "/test?tank=trout+1&ph=6.4&ammonia=0.2&alkalinity=10+mg%2FL&temp=13+C&hardness=5+%C2%B0dH&ec=200+uS%2Fcm", http.StatusOK},
		{"real-test-refused", realAt.URL + "/test?tank=trout+1&ph=15&temp=" + strings.Repeat("9", 60), http.StatusUnprocessableEntity},
		{"real-water", realAt.URL + "/water", http.StatusOK},
		{"real-start-up", realAt.URL + "/start-up", http.StatusOK},
		{"real-start-up-fish", realAt.URL + "/start-up?loop=south&method=fish-in", http.StatusOK},
		{"real-start-up-refused", realAt.URL + "/start-up?temp=50&goal=x&loop=north", http.StatusUnprocessableEntity},
		{"real-hours", realAt.URL + "/hours", http.StatusOK},
		{"real-hours-day", realAt.URL + "/hours?when=day&meal=before&share=300", http.StatusOK},
		{"real-hours-refused", realAt.URL + "/hours?share=" + strings.Repeat("9", 60), http.StatusUnprocessableEntity},
		{"real-card", realAt.URL + "/hours/card", http.StatusOK},
		{"hours-empty", bareAt.URL + "/hours", http.StatusOK},
		{"hours-unknown-fish", fullAt.URL + "/hours", http.StatusOK},
		{"card-empty", bareAt.URL + "/hours/card", http.StatusOK},
		{"water-empty", bareAt.URL + "/water", http.StatusOK},
		{"start-up-empty", bareAt.URL + "/start-up", http.StatusOK},
		{"real-plumbing", realAt.URL + "/plumbing", http.StatusOK},
		{"real-plumbing-south", realAt.URL + "/plumbing?loop=south&bed=tubs", http.StatusOK},
		{"real-plumbing-if", realAt.URL + "/plumbing?if-set=12&if-pump=shelf+pump", http.StatusOK},
		{"real-plumbing-refused", realAt.URL + "/plumbing?if-crest=900+mm&if-temp=" + strings.Repeat("9", 60), http.StatusUnprocessableEntity},
		{"real-plumbing-seen", realAt.URL + "/plumbing?seen=north+1&fill=20+min&bucket=10&bucket-time=60&trickles=yes", http.StatusOK},
		{"plumbing-us", usAt.URL + "/plumbing", http.StatusOK},
		{"plumbing-unpiped", fullAt.URL + "/plumbing", http.StatusOK},
		{"plumbing-empty", bareAt.URL + "/plumbing", http.StatusOK},
		{"real-plan", realAt.URL + "/plan", http.StatusOK},
		{"real-plan-print", realAt.URL + "/plan/print", http.StatusOK},
		{"plan-us", usAt.URL + "/plan", http.StatusOK},
		{"real-warmth", realAt.URL + "/warmth", http.StatusOK},
		{"warmth-us", usAt.URL + "/warmth", http.StatusOK},
		{"warmth-empty", bareAt.URL + "/warmth", http.StatusOK},
		{"real-sums", realAt.URL + "/sums", http.StatusOK},
		{"real-trust", realAt.URL + "/trust", http.StatusOK},
	}
	for _, e := range real.Entries {
		pages = append(pages, opened{"real-sum-" + e.Name, realAt.URL + "/sums/" + e.Name, http.StatusOK})
	}
	only := os.Getenv("TIDEBED_SHOTS_OF") // pages whose names begin so; empty: all
	for _, page := range pages {
		if !strings.HasPrefix(page.name, only) {
			continue
		}
		for _, screen := range []struct {
			name          string
			width, height int64
			scheme        string
		}{{"phone", 390, 844, "light"}, {"wide", 1280, 800, "light"}, {"narrowest", 320, 640, "dark"}, {"paper", 718, 1046, "print"}} {
			watch.mu.Lock()
			watch.faults, watch.page, watch.status = nil, page.address, page.status
			watch.mu.Unlock()
			wide, small, picture, err := look(ctx, page.address, screen.width, screen.height, screen.scheme)
			if err != nil {
				t.Fatalf("%s at %d px: %v", page.name, screen.width, err)
			}
			watch.mu.Lock()
			for _, fault := range watch.faults {
				t.Errorf("%s at %d px: %s", page.name, screen.width, fault)
			}
			watch.mu.Unlock()
			for _, w := range wide {
				t.Errorf("%s at %d px overflows: %s", page.name, screen.width, w)
			}
			for _, s := range small {
				t.Errorf("%s at %d px: target lower than 48 px: %s", page.name, screen.width, s)
			}
			if os.Getenv("TIDEBED_SHOTS") != "" {
				to := filepath.Join(os.Getenv("TIDEBED_SHOTS"), page.name+"-"+screen.name+".png")
				if err := os.WriteFile(to, picture, 0o600); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

func called(_ cdp.Empty, err error) error { return err }

// look opens one page on one screen and returns what overflows, which targets are
// too small, and a picture.
func look(ctx context.Context, address string, width, height int64, scheme string) (wide, small []string, picture []byte, err error) {
	ctx, stop := context.WithTimeout(ctx, time.Minute)
	defer stop()
	dress := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
	if scheme == "print" { // A4 between its margins
		dress = emulation.SetEmulatedMediaParams{Media: "print"}
	}
	if _, err = chromedp.Call(ctx, emulation.SetEmulatedMedia, dress); err != nil {
		return nil, nil, nil, err
	}
	if err = chromedp.Do(ctx, chromedp.EmulateViewport(width, height), chromedp.Navigate(address)); err != nil {
		return nil, nil, nil, err
	}
	if _, err = chromedp.Run(ctx, chromedp.Evaluate[int](`[...document.querySelectorAll("details")].map(d => d.open = true).length`)); err != nil {
		return nil, nil, nil, err
	}
	if wide, err = chromedp.Run(ctx, chromedp.Evaluate[[]string](overflowing)); err != nil {
		return nil, nil, nil, err
	}
	if small, err = chromedp.Run(ctx, chromedp.Evaluate[[]string](smallTargets)); err != nil {
		return nil, nil, nil, err
	}
	if os.Getenv("TIDEBED_SHOTS") != "" {
		if picture, err = chromedp.Run(ctx, chromedp.FullScreenshot(100)); err != nil { // taller than the browser draws: its top
			picture, err = chromedp.Run(ctx, chromedp.CaptureScreenshot())
		}
	}
	return wide, small, picture, err
}
