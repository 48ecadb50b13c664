package plan

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"tidebed/site"
)

// Beds in which nothing can stand, days too near, no hands: still a plan, with its
// sentence, its reasons and why each crop is left out.
func TestLittleIsPossible(t *testing.T) {
	for _, row := range []struct {
		name  string
		spoil func(s *site.Site, o *Options)
		sown  bool
		why   string // of a rejected crop
	}{
		{"no crop fits", func(s *site.Site, _ *Options) {
			s.Loops[0].Beds = s.Loops[0].Beds[1:]
			s.Loops[0].Beds[0].DepthM = 0.02
		}, false, "its roots want"},
		{"in five days", func(s *site.Site, _ *Options) {
			s.HomeFed[0].From, s.HomeFed[0].To = s.Opening.Date.Plus(5), s.Opening.Date.Plus(8)
		}, false, ""},
		{"it begins today", func(s *site.Site, _ *Options) {
			s.HomeFed[0].From, s.HomeFed[0].To = s.Opening.Date, s.Opening.Date.Plus(2)
		}, false, ""},
		{"no hands", func(_ *site.Site, o *Options) { o.HoursWeek = 0.01 }, false, ""},
		{"hands for little", func(_ *site.Site, o *Options) { o.HoursWeek = 0.3 }, true, ""},
		{"in the dark", func(s *site.Site, _ *Options) { even(s, 0.3) }, false, ""},
		{"everything is forbidden", func(_ *site.Site, o *Options) {
			for _, c := range []string{"potato", "kale", "bean_dry"} {
				o.Pins = append(o.Pins, Pin{Forbid: true, Crop: c})
			}
		}, false, "a pin forbids it"},
		{"nothing is wished for", func(s *site.Site, _ *Options) { s.Crops = nil }, false, "not among the crops"},
		{"nobody wants any", func(s *site.Site, _ *Options) {
			for i := range s.Crops {
				s.Crops[i].Liking = "never"
			}
		}, false, "nobody wants it"},
		{"no beds", func(s *site.Site, _ *Options) { s.Loops[0].Beds = nil }, false, ""},
		{"no loops", func(s *site.Site, _ *Options) { s.Loops, s.Opening.Water = nil, nil }, false, ""},
		{"one eater", func(s *site.Site, _ *Options) { s.HomeFed[0].Eaters = []string{"Bo"} }, true, ""},
		{"no larder", func(s *site.Site, _ *Options) { s.Larder = nil }, true, ""},
		{"a larder without room", func(s *site.Site, _ *Options) { s.Larder[0].CapacityKg = 0.001 }, true, ""},
		{"no larder and no hands", func(s *site.Site, o *Options) { s.Larder, o.HoursWeek = nil, 0.1 }, false, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := wish(small(), "potato", "kale", "bean_dry")
			s.Opening.Date = site.On(2027, time.June, 12)
			o := Options{Rounds: 1, WishedOnly: true}
			row.spoil(s, &o)
			p := made(t, s, s.Opening.Date, o)
			if p.Sentence == "" || len(p.Reasons) == 0 || len(p.Occasions) != 1 {
				t.Fatalf("%q, reasons %q, %d occasions", p.Sentence, p.Reasons, len(p.Occasions))
			}
			share := p.Occasions[0].MeanShare
			if (len(p.Sowings) > 0) != row.sown || (share > 1e-4) != row.sown {
				t.Errorf("%d sowings, share %.4f: %s", len(p.Sowings), share, p.Sentence)
			}
			if !p.Check.OK {
				t.Error(p.Check.Fault)
			}
			if row.why != "" && !slices.ContainsFunc(p.Rejected, func(r Rejected) bool { return strings.Contains(r.Why, row.why) }) {
				t.Errorf("no crop is rejected because %q: %+v", row.why, p.Rejected)
			}
			if !row.sown && len(p.Rejected) == 0 && row.name != "no hands" && row.name != "no larder and no hands" {
				t.Error("nothing is sown and nothing says why")
			}
			for _, text := range append([]string{p.Sentence, p.Settled}, p.Reasons...) {
				if strings.Contains(strings.ToLower(text), "infeasible") || strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
					t.Errorf("%q", text)
				}
			}
		})
	}
}

// No home-fed days, or none to come: an answer, no error, and what is warned of is told.
func TestNoDays(t *testing.T) {
	s := small()
	s.HomeFed = nil
	p := made(t, s, s.Opening.Date, Options{})
	if !strings.Contains(p.Sentence, "No home-fed days") || len(p.Groups) != 2 {
		t.Errorf("%q, groups %v", p.Sentence, p.Groups)
	}
	if r, err := Explain(context.Background(), s, s.Opening.Date, Options{Pool: testPool}, nil); err != nil || r == nil {
		t.Errorf("explained: %v, %v", r, err)
	}
	s = small()
	p = made(t, s, s.HomeFed[0].To.Plus(1), Options{})
	if !strings.Contains(p.Sentence, "No home-fed days") {
		t.Errorf("all over: %q", p.Sentence)
	}
	s = small()
	p = made(t, s, s.HomeFed[0].From.Plus(1), Options{})
	if len(p.Warnings) != 1 || !strings.Contains(p.Warnings[0], "under way") {
		t.Errorf("under way: %q", p.Warnings)
	}
	s = small()
	s.HomeFed[0].From, s.HomeFed[0].To = s.Opening.Date.Plus(1200), s.Opening.Date.Plus(1203)
	p = made(t, s, s.Opening.Date, Options{})
	if len(p.Warnings) != 1 || !strings.Contains(p.Warnings[0], "lies beyond") {
		t.Errorf("too far: %q", p.Warnings)
	}
	s.HomeFed, s.Loops, s.Opening.Water = nil, nil, nil
	if p = made(t, s, s.Opening.Date, Options{}); !strings.Contains(p.Sentence, "no bed") {
		t.Errorf("nothing at all: %q", p.Sentence)
	}
	// Before the opening: warned of, and the plan begins there.
	s = wish(small(), "potato")
	p = made(t, s, s.Opening.Date.Plus(-10), Options{WishedOnly: true, Rounds: -1})
	if p.From != s.Opening.Date || len(p.Warnings) == 0 || !strings.Contains(p.Warnings[0], "before the opening") {
		t.Errorf("from %s, %q", p.From, p.Warnings)
	}
	if len(p.Occasions) != 1 || p.Occasions[0].MeanShare <= 0 {
		t.Error("nothing is planned before the opening")
	}
}

// What cannot be planned is refused with what to mend.
func TestRefused(t *testing.T) {
	pin := func(p ...Pin) Options { return Options{Pins: p, WishedOnly: true, Rounds: 1} }
	for _, row := range []struct {
		name  string
		spoil func(s *site.Site)
		o     Options
		want  []string
	}{
		{"unknown level", nil, Options{Order: []string{"worst", "fun"}}, []string{`"fun"`, "worst, each, mean, protein"}},
		{"level twice", nil, Options{Order: []string{"mean", "mean"}}, []string{"twice"}},
		{"give too large", nil, Options{Give: 0.2}, []string{"a give of 0.2", "0 to 0.1"}},
		{"give below nothing", nil, Options{Give: -0.1}, []string{"give"}},
		{"give not a number", nil, Options{Give: math.NaN()}, []string{"give"}},
		{"safety", nil, Options{SafetyDays: 99}, []string{"99 days", "0 to 60"}},
		{"hours", nil, Options{HoursWeek: -1}, []string{"hours of work"}},
		{"hours without end", nil, Options{HoursWeek: math.Inf(1)}, []string{"hours of work"}},
		{"no opening", func(s *site.Site) { s.Opening.Date = site.Date{} }, Options{}, []string{"no opening"}},
		{"days reversed", func(s *site.Site) { s.HomeFed[0].To = s.HomeFed[0].From.Plus(-1) }, Options{}, []string{"October", "before they start"}},
		{"nobody eats", func(s *site.Site) { s.HomeFed[0].Eaters = nil }, Options{}, []string{"October", "no eaters"}},
		{"a stranger eats", func(s *site.Site) { s.HomeFed[0].Eaters = []string{"Zed"} }, Options{}, []string{"Zed", "not among the people"}},
		{"unknown crop stands", func(s *site.Site) {
			s.Opening.Plantings = []site.Planting{{Crop: "moss", Bed: "tub", AreaM2: 1, Planted: s.Opening.Date}}
		}, Options{}, []string{"moss"}},
		{"wanted and forbidden", nil, pin(Pin{Crop: "potato", AreaM2: 0.7}, Pin{Crop: "potato", Forbid: true}), []string{"pin 1", "potato", "forbids", "take one"}},
		{"wanted in one bed and forbidden everywhere", nil, pin(Pin{Crop: "potato", Group: "tub", AreaM2: 0.7}, Pin{Crop: "potato", Forbid: true}), []string{"potato", "forbids"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := wish(small(), "potato", "kale")
			if row.spoil != nil {
				row.spoil(s)
			}
			row.o.Pool = testPool
			today := s.Opening.Date
			p, err := Make(context.Background(), s, today, row.o)
			if err == nil {
				t.Fatalf("no error, but %q", p.Sentence)
			}
			for _, want := range row.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("%q: want one with %q", err, want)
				}
			}
			if strings.Contains(strings.ToLower(err.Error()), "infeasible") {
				t.Errorf("%q", err)
			}
		})
	}
	s := small()
	if _, err := Make(context.Background(), s, s.Opening.Date.Plus(2000), Options{}); err == nil || !strings.Contains(err.Error(), "new opening") {
		t.Errorf("long after the opening: %v", err)
	}
	for range 60 {
		s.HomeFed = append(s.HomeFed, s.HomeFed[0])
	}
	if _, err := Make(context.Background(), s, s.Opening.Date, Options{}); err == nil || !strings.Contains(err.Error(), "at most 60") {
		t.Errorf("61 occasions: %v", err)
	}
}

// Pins that cannot be met are named, with what to mend, in every way in which they may
// clash: never a bare answer of the solver's.
func TestPinsThatClash(t *testing.T) {
	day := small().Opening.Date
	for _, row := range []struct {
		name string
		pins []Pin
	}{
		{"more than the bed", []Pin{{Crop: "potato", Group: "tub", AreaM2: 5}}},
		{"two for one bed", []Pin{{Crop: "potato", Group: "tub", AreaM2: 1.4, From: day, To: day.Plus(20)}, {Crop: "bean_dry", Group: "tub", AreaM2: 1.4, From: day, To: day.Plus(20)}}},
		{"a bed in which it cannot stand", []Pin{{Crop: "potato", Group: "stones", AreaM2: 0.7}}},
		{"too late to ripen", []Pin{{Crop: "bean_dry", AreaM2: 0.7, From: site.On(2027, time.September, 20)}}},
		{"forbidden in these weeks", []Pin{{Crop: "potato", AreaM2: 0.7, From: day, To: day.Plus(20)}, {Crop: "potato", Forbid: true, From: day, To: day.Plus(30)}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := wish(small(), "potato", "kale", "bean_dry")
			p, err := Make(context.Background(), s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1, Pins: row.pins, Pool: testPool})
			said := ""
			switch {
			case err != nil:
				said = err.Error()
			default:
				for _, c := range p.Collides {
					said += c.What + ": " + c.Mend + "; "
				}
			}
			if !strings.Contains(said, row.pins[0].Crop) || !strings.Contains(said, "pin") || strings.Contains(strings.ToLower(said), "infeasible") {
				t.Errorf("said %q", said)
			}
		})
	}
}

// A pin that can be met is met and marked.
func TestPinIsMet(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	day := s.Opening.Date
	p := made(t, s, day, Options{WishedOnly: true, Rounds: 1, Pins: []Pin{{Crop: "bean_dry", Group: "tub", AreaM2: 0.7, From: day, To: day.Plus(20)}, {Forbid: true, Crop: "kale", Group: "stones"}}})
	found := 0.0
	for _, x := range p.Sowings {
		if x.Crop == "bean_dry" && x.Group == "tub" && x.Pinned && !x.Plant.After(day.Plus(20).Time) {
			found += x.AreaM2
		}
		if x.Crop == "kale" && x.Group == "stones" {
			t.Errorf("%s is forbidden", x.ID)
		}
	}
	if found < 0.7 {
		t.Errorf("%.2f m² of beans in the tub are pinned: %+v", found, p.Sowings)
	}
	if !p.Check.OK {
		t.Error(p.Check.Fault)
	}
	t.Run("no plan in force", func(t *testing.T) {
		if slices.ContainsFunc(p.Collides, func(c Collide) bool { return c.What == "the plan in force" }) || strings.Contains(p.InForce.Say, "cannot be carried out") {
			t.Errorf("no plan is in force, yet %q, %+v", p.InForce.Say, p.Collides)
		}
	})
}

// stopAt ends a context when a step of the plan begins.
func stopAt(step string) (context.Context, func(Progress)) {
	ctx, cancel := context.WithCancel(context.Background())
	return ctx, func(p Progress) {
		if strings.HasPrefix(p.Step, step) {
			cancel()
		}
	}
}

// Stopped at any step: the best plan so far, marked, or an error that wraps ErrStopped.
func TestStopped(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	s.Opening.Plantings = []site.Planting{{Crop: "kale", Bed: "stones", AreaM2: 0.72, Planted: s.Opening.Date.Plus(30)}}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Make(ctx, s, s.Opening.Date, Options{Pool: testPool}); !errors.Is(err, ErrStopped) {
		t.Errorf("stopped before the start: %v", err)
	}
	for _, step := range []string{"the season of what stands", "what could be sown", "the plan in force", "levels, round 1", "whole modules", "season with the plan, round 1", "menus, beds and check"} {
		t.Run(step, func(t *testing.T) {
			ctx, tell := stopAt(step)
			p, err := Make(ctx, s, s.Opening.Date, Options{Pool: testPool, WishedOnly: true, Progress: tell})
			switch {
			case err != nil && !errors.Is(err, ErrStopped) && !errors.Is(err, context.Canceled):
				t.Error(err)
			case err == nil && (!p.Stopped || p.Sentence == "" || len(p.Occasions) != 1):
				t.Errorf("stopped %v, %q", p.Stopped, p.Sentence)
			case err == nil && !p.Check.OK:
				t.Error(p.Check.Fault)
			}
			t.Logf("plan %v, %v", p != nil, err)
		})
	}
}

// A time that runs out anywhere in the making never panics, and the pool serves on.
func TestStoppedByTime(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	for _, after := range []time.Duration{time.Millisecond, 20 * time.Millisecond, 60 * time.Millisecond, 120 * time.Millisecond, 200 * time.Millisecond, 300 * time.Millisecond} {
		ctx, cancel := context.WithTimeout(context.Background(), after)
		p, err := Make(ctx, s, s.Opening.Date, Options{Pool: testPool, WishedOnly: true})
		cancel()
		if err != nil && !errors.Is(err, ErrStopped) && !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("after %v: %v", after, err)
		}
		if err == nil && p.Sentence == "" {
			t.Errorf("after %v: no sentence", after)
		}
	}
	if p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1}); len(p.Sowings) == 0 {
		t.Error("the pool is spoilt")
	}
}

// Seen from a later day what stands is fixed and nothing is sown before it.
func TestReplan(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	first := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: 1})
	today := s.Opening.Date.Plus(60)
	later := made(t, first.Applied, today, Options{WishedOnly: true, Rounds: 1})
	standing := 0
	for _, p := range first.Applied.Opening.Plantings {
		if p.Planted.After(today.Time) {
			continue
		}
		standing++
		at := slices.IndexFunc(later.Sowings, func(x Sowing) bool {
			return x.Standing && x.Crop == p.Crop && x.Plant == p.Planted && x.Parts[0].Bed == p.Bed && x.AreaM2 == p.AreaM2
		})
		if at < 0 {
			t.Errorf("%.2f m² of %s of %s in %s stand and are not in the new plan", p.AreaM2, p.Crop, p.Planted, p.Bed)
		}
		if !slices.Contains(later.Applied.Opening.Plantings, p) {
			t.Errorf("%+v was changed", p)
		}
	}
	if standing == 0 {
		t.Fatal("nothing stands by then")
	}
	for _, x := range later.Sowings {
		if !x.Standing && x.Plant.Before(today.Time) {
			t.Errorf("%s is planted before today, %s", x.ID, today)
		}
	}
	if !later.Check.OK {
		t.Error(later.Check.Fault)
	}
	if a, b := first.Occasions[0].MeanShare, later.Occasions[0].MeanShare; b < a-0.01 {
		t.Errorf("the share falls from %.4f to %.4f for no reason", a, b)
	}
}

// A plan that is in force and as good as any is kept.
func TestPlanInForceIsKept(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	first := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: 1})
	again := made(t, first.Applied, s.Opening.Date, Options{WishedOnly: true, Rounds: 1})
	if !again.InForce.Keep && len(again.Changes) > 0 {
		t.Errorf("changed for nothing: %q %+v", again.InForce.Say, again.Changes)
	}
	for _, c := range again.Changes {
		if c.Out {
			t.Errorf("kept, yet %s", c.What)
		}
	}
	planted := 0
	for _, p := range first.Applied.Opening.Plantings {
		if p.Planted.After(s.Opening.Date.Time) {
			planted++
		}
	}
	if again.InForce.Sowings != planted || planted == 0 {
		t.Errorf("%d sowings in force of %d", again.InForce.Sowings, planted)
	}
	if a, b := first.Occasions[0].MeanShare, again.Occasions[0].MeanShare; math.Abs(a-b) > 0.006 {
		t.Errorf("share %.4f, kept %.4f", a, b)
	}
	// Left out of account it is not kept, and asked always to change it may change.
	fresh := made(t, first.Applied, s.Opening.Date, Options{WishedOnly: true, Rounds: 1, Afresh: true})
	if fresh.InForce.Keep || fresh.InForce.Sowings != 0 {
		t.Errorf("afresh: %+v", fresh.InForce)
	}
	// A poor one is changed, and what is won is said.
	poor := *s
	poor.Opening.Plantings = []site.Planting{{Crop: "kale", Bed: "tub", AreaM2: 1.44, Planted: s.Opening.Date.Plus(3)}}
	changed := made(t, &poor, s.Opening.Date, Options{WishedOnly: true, Rounds: 1})
	if changed.InForce.Keep || !strings.Contains(changed.InForce.Say, "wins") || !slices.ContainsFunc(changed.Changes, func(c Change) bool { return c.Out }) {
		t.Errorf("a poor plan: %+v %+v", changed.InForce, changed.Changes)
	}
}
