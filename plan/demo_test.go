package plan

import (
	"cmp"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"tidebed/season"
	"tidebed/site"
)

// The demo's plan agrees with the season that it makes within three rounds and holds
// against it; it stays within its beds, hands, nursery and fish.
func TestDemoPlanHolds(t *testing.T) {
	p := demoMade(t)
	if !p.Check.OK {
		t.Errorf("%s %q", p.Check.Said, p.Check.Fault)
	}
	if n := len(p.Rounds); n < 1 || n > UsualRounds {
		t.Errorf("%d rounds", n)
	}
	last := p.Rounds[len(p.Rounds)-1]
	if agrees := last.Changed < settledShare; agrees != strings.Contains(p.Settled, "agree") || p.Settled == "" {
		t.Errorf("last change %.4f and %q", last.Changed, p.Settled)
	}
	if p.Stopped || p.Sentence == "" || len(p.Reasons) == 0 || len(p.Reasons) > 3 {
		t.Errorf("stopped %v, %q, %d reasons", p.Stopped, p.Sentence, len(p.Reasons))
	}
	// The whole modules as first found are within half a percent of the linear bound of
	// all sowings there could be; fewer sowings cost what they save and no more.
	if p.Fewer.Gap <= 0 || p.Fewer.Gap > 0.005 || p.Gap < p.Fewer.Gap-1e-9 || p.Gap > 0.02 {
		t.Errorf("gap %.4f, before the sowings were made fewer %.4f", p.Gap, p.Fewer.Gap)
	}
	if won := lotPoints * float64(p.Fewer.Sowings-p.Fewer.To); p.Fewer.To >= p.Fewer.Sowings || (p.Gap-p.Fewer.Gap)*p.Bound > won+1e-9 {
		t.Errorf("%d sowings made %d, which is worth %.4f, for %.4f", p.Fewer.Sowings, p.Fewer.To, won, (p.Gap-p.Fewer.Gap)*p.Bound)
	}
	for _, text := range p.Seasons[season.Low].Warnings {
		if strings.HasPrefix(text, "loop ") && !slices.ContainsFunc(p.Warnings, func(w string) bool { return strings.Contains(w, text) }) {
			t.Errorf("%q is not told with the plan", text)
		}
	}
	standing := make([]float64, len(p.Weeks)) // hours for what stands
	for i := range p.found.g.cands {
		c := &p.found.g.cands[i]
		if c.index >= 0 && !c.inForce(p.made.w) {
			for k, h := range c.labour(p.made.w) {
				if k >= 0 && k < len(standing) {
					standing[k] += h * c.fixedM2
				}
			}
		}
	}
	for k, w := range p.Weeks {
		for g, m2 := range w.PlantedM2 {
			// What stands may take less than its modules, never more than its bed has.
			if m2 > p.Groups[g].AreaM2*(1+1e-9) {
				t.Errorf("week of %s: %.2f m² in %s of %.2f", w.From, m2, p.Groups[g].Name, p.Groups[g].AreaM2)
			}
		}
		if most := max(w.LabourMaxH, standing[k]); w.LabourH > most*1.001+0.01 {
			t.Errorf("week of %s: %.2f hours of %.2f", w.From, w.LabourH, most)
		}
		if w.PlacesMax > 0 && w.Places > w.PlacesMax*1.001 {
			t.Errorf("week of %s: %.0f places of %.0f", w.From, w.Places, w.PlacesMax)
		}
		if w.GreensKg > w.GreensWant+1e-6 || w.OrdersKg > w.OrdersWant+1e-6 {
			t.Errorf("week of %s: more goes to the household or orders than they want", w.From)
		}
		for _, l := range w.Loops {
			if l.MadeG < 0 || l.DrawnG < 0 || l.ShortG < -1e-6 {
				t.Errorf("week of %s: %+v", w.From, l)
			}
		}
	}
	cohorts := p.Seasons[season.Low].Cohorts
	taken := map[string]int{}
	for _, f := range p.Fish {
		at := slices.IndexFunc(cohorts, func(c season.CohortCourse) bool { return c.Name == f.Cohort })
		if at < 0 {
			t.Fatalf("no cohort %q", f.Cohort)
		}
		taken[f.Cohort] += f.Number
		first := cohorts[at].Days[0].Number
		if float64(taken[f.Cohort]) > first {
			t.Errorf("%d of %s are taken and %.0f there were", taken[f.Cohort], f.Cohort, first)
		}
		if f.Purge.DaysTo(f.Day) != purgeDays || f.Caution == "" {
			t.Errorf("%+v: no days of purge or no caution", f)
		}
		for _, d := range cohorts[at].Days {
			if d.Number < 0 {
				t.Errorf("%.1f fish of %s", d.Number, f.Cohort)
			}
		}
	}
	for _, s := range p.Sowings {
		area := 0.0
		for _, part := range s.Parts {
			area += part.AreaM2
			if bed := bedNamed(p.Applied, part.Bed); bed == nil || part.AreaM2 > bed.GrowingM2()*(1+1e-9) {
				t.Errorf("%s: %.2f m² in %s", s.ID, part.AreaM2, part.Bed)
			}
		}
		if math.Abs(area-s.AreaM2) > 1e-9 {
			t.Errorf("%s: parts %.3f m², together %.3f", s.ID, area, s.AreaM2)
		}
		// What is in force may stand in the nursery already.
		inForce := slices.ContainsFunc(p.made.fixed, func(c candidate) bool { return c.crop.Key == s.Crop && c.planted == s.Plant })
		if !s.Standing && (s.Sow.Before(p.Today.Time) && !inForce || s.Plant.Before(p.Today.Time) || s.Plant.Before(s.Sow.Time) || s.Why == "" || len(s.Grown) == 0) {
			t.Errorf("%s: sown %s, planted %s, %q", s.ID, s.Sow, s.Plant, s.Why)
		}
		given := 0.0
		for _, v := range s.Serves {
			given += v.Kg
		}
		if given > s.Kg[0]*1.01+crumb {
			t.Errorf("%s: gives %.2f kg of %.2f", s.ID, given, s.Kg[0])
		}
	}
	ids := map[string]bool{}
	for _, s := range p.Sowings {
		if ids[s.ID] {
			t.Errorf("two sowings are called %s", s.ID)
		}
		ids[s.ID] = true
	}
	for _, o := range p.Occasions {
		sum := 0.0
		for _, x := range o.Sources {
			if x.Inside {
				sum += x.Share
			}
		}
		if math.Abs(sum-o.MeanShare) > 0.01 {
			t.Errorf("%s: sources add up to %.4f, the mean share is %.4f", o.Name, sum, o.MeanShare)
		}
		if len(o.Binds) == 0 {
			t.Errorf("%s: nothing is said to bind", o.Name)
		}
	}
}

// Each level of the whole plan keeps what the linear programme reached, within what the
// levels and whole modules give; and the plan is better than the sowings of the opening.
func TestDemoPlanBeatsOpening(t *testing.T) {
	p := demoMade(t)
	keys, meaning := LevelKeys()
	if len(keys) != len(meaning) {
		t.Fatalf("%d keys, %d meanings", len(keys), len(meaning))
	}
	var got []string
	for _, l := range p.Levels {
		got = append(got, l.Key)
		if l.Most && l.Whole > l.Value+l.Give+1e-3 && l.Key == "worst" {
			t.Errorf("%s: whole %.4f, linear %.4f", l.Key, l.Whole, l.Value)
		}
		// Energy loses little by whole modules.
		if (l.Key == "worst" || l.Key == "mean") && l.Whole < l.Value-0.03 {
			t.Errorf("%s: linear %.4f, whole %.4f", l.Key, l.Value, l.Whole)
		}
	}
	if want := append([]string{"fed", "floor"}, keys...); !slices.Equal(got, want) {
		t.Errorf("levels %v, want %v", got, want)
	}
	old := p.InForce
	if len(old.WorstShare) != len(p.Occasions) {
		t.Fatalf("in force: %+v", old)
	}
	now := 1.0
	for i := range p.Occasions {
		now = min(now, p.Occasions[i].WorstShare)
	}
	if now < slices.Min(old.WorstShare)-UsualGive {
		t.Errorf("worst share %.4f, in force %.4f", now, old.WorstShare)
	}
	if old.Keep {
		t.Errorf("the plan in force is kept: %s", old.Say)
	}
	t.Logf("worst %.3f, before %.3f", now, old.WorstShare)
}

// The check is no ornament: it fails when a sowing's area is halved after the menus were
// made, when a menu holds more than the season has, and when more fish are told than there
// are.
func TestCheckFails(t *testing.T) {
	s := wish(small(), "potato", "bean_dry")
	for _, row := range []struct {
		name   string
		spoil  func(p *Plan)
		season bool // run the season again
		want   string
	}{
		{"as it is", func(*Plan) {}, false, ""},
		{"half an area", func(p *Plan) { p.Applied.Opening.Plantings[0].AreaM2 /= 2 }, true, "the season has"},
		{"a bed twice over", func(p *Plan) {
			p.Applied.Opening.Plantings = append(p.Applied.Opening.Plantings, p.Applied.Opening.Plantings...)
		}, true, "would stand on"},
		{"a larger portion", func(p *Plan) { p.Occasions[0].Menu.Portions[0].Grams *= 1.2 }, false, "are told"},
		{"more eaten than there is", func(p *Plan) {
			for i := range p.Occasions[0].Menu.StockUsedG {
				p.Occasions[0].Menu.StockUsedG[i] *= 1.2
			}
		}, false, "the season has"},
		{"a table with less", func(p *Plan) { p.Occasions[0].Table[0].Foods[0].Grams -= 5 }, false, "the days’ tables"},
		{"nursery over full", func(p *Plan) { p.Weeks[3].PlacesMax, p.Weeks[3].Places = 10, 11 }, false, "places of the nursery"},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1})
			m, sol := p.made, p.found
			if !p.Check.OK {
				t.Fatal(p.Check.Fault)
			}
			a, takes := m.apply(sol)
			a.site = p.Applied
			row.spoil(p)
			if row.season {
				var err error
				p.Seasons, err = season.All(p.Applied, season.Options{To: m.w.to, Takes: takes, Holding: m.holdings()})
				if err != nil {
					t.Fatal(err)
				}
			}
			m.check(p, sol, a)
			if row.want == "" {
				if !p.Check.OK {
					t.Error(p.Check.Fault)
				}
				return
			}
			if p.Check.OK || !strings.Contains(strings.ReplaceAll(strings.Join(p.Check.Fault, "; "), "'", "’"), row.want) || !strings.Contains(p.Check.Said, "do not hold") {
				t.Errorf("%q %q: want one with %q", p.Check.Said, p.Check.Fault, row.want)
			}
		})
	}
}

func jsonOf(t *testing.T, p *Plan) string {
	t.Helper()
	b, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Two runs on the same input give the same plan to the byte, whatever solvers the pool
// hands out.
func TestSamePlanTwice(t *testing.T) {
	s := withFish()
	second := s.HomeFed[0]
	second.Name, second.From, second.To = "November", second.From.Plus(40), second.To.Plus(40)
	s.HomeFed = append(s.HomeFed, second)
	s.Opening.Plantings = []site.Planting{{Crop: "kale", Bed: "stones", AreaM2: 0.72, Planted: s.Opening.Date.Plus(30)}}
	one := made(t, s, s.Opening.Date, Options{Rounds: 2, NoFish: true})
	two := made(t, s, s.Opening.Date, Options{Rounds: 2, NoFish: true})
	if a, b := jsonOf(t, one), jsonOf(t, two); a != b {
		at := 0
		for at < min(len(a), len(b)) && a[at] == b[at] {
			at++
		}
		t.Errorf("the plans part at byte %d: …%s… and …%s…", at, a[max(0, at-80):min(len(a), at+80)], b[max(0, at-80):min(len(b), at+80)])
	}
	if len(one.Sowings) == 0 {
		t.Error("nothing is sown")
	}
	// The site is as it was.
	if len(s.Opening.Plantings) != 1 || len(s.Opening.Cohorts) != 1 {
		t.Error("the site was changed")
	}
	if !slices.IsSortedFunc(one.Occasions, func(a, b Occasion) int { return cmp.Compare(a.From.Unix(), b.From.Unix()) }) {
		t.Error("occasions out of order")
	}
}
