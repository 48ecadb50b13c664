package plan

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"tidebed/numeric/lp"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// A building without beds says of each crop why it is not used.
func TestNoBedsIsAReason(t *testing.T) {
	s := wish(small(), "potato", "kale")
	s.Loops[0].Beds = nil
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1})
	for _, key := range []string{"potato", "kale"} {
		if !slices.ContainsFunc(p.Rejected, func(r Rejected) bool { return r.Crop == key && r.Why != "" }) {
			t.Errorf("nothing says why %s is not used", key)
		}
	}
}

// Reasons are given where little is possible too.
func TestExplainWithFewHands(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	s.Opening.Date = site.On(2027, time.June, 12)
	for _, hours := range []float64{0.01, 0.3} {
		o := Options{Rounds: 1, HoursWeek: hours}
		p := made(t, s, s.Opening.Date, o)
		o.Pool = testPool
		r, err := Explain(context.Background(), s, s.Opening.Date, o, p)
		if err != nil || len(r.Worths) == 0 {
			t.Errorf("%g hours: %v", hours, err)
		}
	}
}

// Where all that is eaten lies in one place, losing that costs all of it; a place whose
// food nobody can eat in time costs nothing.
func TestExplainALostStore(t *testing.T) {
	s := small()
	s.HomeFed[0].From, s.HomeFed[0].To = s.Opening.Date.Plus(9), s.Opening.Date.Plus(10)
	s.Larder = append(s.Larder, site.LarderPlace{Name: "shelf", Kind: "dry-shelf", CapacityKg: 50, TempC: 15})
	s.Opening.Larder = []site.PutBy{
		{Food: "potato", Place: "cool store", MassKg: 2},
		{Food: "potato", Place: "shelf", MassKg: 2, Until: s.Opening.Date.Plus(3)},
	}
	o := Options{Rounds: 1, Pool: testPool}
	p := made(t, s, s.Opening.Date, o)
	share := levelOf(p, "mean").Whole
	r, err := Explain(context.Background(), s, s.Opening.Date, o, p)
	if err != nil {
		t.Fatal(err)
	}
	lost := func(place string) (points float64, told bool) {
		at := slices.IndexFunc(r.Worths, func(w Worth) bool { return w.What == "all that lies in "+place+" is lost" })
		if at < 0 {
			return 0, false
		}
		return r.Worths[at].Points, true
	}
	if points, told := lost("cool store"); !told || share < 0.05 || math.Abs(points+100*share) > 0.01 {
		t.Errorf("the cool store gives %.4f of the energy; lost it costs %.3f points, told %v", share, points, told)
	}
	if points, told := lost("shelf"); told && points != 0 {
		t.Errorf("a shelf of what is gone by then costs %.3f points", points)
	}
}

// Without a store cupboard too each crop that is used is worth something, and one that
// finds room is not said to find none.
func TestExplainWithoutCupboard(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry", "cabbage", "tomato")
	o := Options{Rounds: 1, WishedOnly: true, Pool: testPool}
	p := made(t, s, s.Opening.Date, o)
	r, err := Explain(context.Background(), s, s.Opening.Date, o, p)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range p.Sowings {
		at := slices.IndexFunc(r.Worths, func(w Worth) bool { return w.What == "no more "+words.LowerName(x.Name) })
		if at < 0 || r.Worths[at].Points > 0 {
			t.Errorf("no more %s: %d of %+v", x.Crop, at, r.Worths)
		}
	}
	at := slices.IndexFunc(r.Rejected, func(x Rejected) bool { return x.Crop == "tomato" })
	if at < 0 || !r.Rejected[at].Tried || r.Rejected[at].Points <= 0 {
		t.Errorf("tomato: %+v", r.Rejected)
	}
}

// In a course in which fish die the plan takes what there is: at high growth the water of
// this tank turns sour and kills a third of them.
func TestCourseWithFewerFish(t *testing.T) {
	s := withFish()
	second := s.HomeFed[0]
	second.Name, second.From, second.To = "November", second.From.Plus(40), second.To.Plus(40)
	s.HomeFed = append(s.HomeFed, second)
	p, err := Make(context.Background(), s, s.Opening.Date, Options{Rounds: 1, Pool: testPool})
	if err != nil {
		t.Fatal(err)
	}
	if p.Seasons[season.High] == nil || len(p.Fish) == 0 {
		t.Error("no high course or no fish")
	}
}

// Work and nursery places of what is in force count as those of what is new.
func TestPlanInForceTakesHands(t *testing.T) {
	s := wish(small(), "kale")
	s.Lamps = []site.Lamp{{Name: "bench", Over: "nursery", AreaM2: 1, PhotonUmolM2s: 150, HoursDay: 16}}
	planted := s.Opening.Date.Plus(30)
	s.Opening.Plantings = []site.Planting{{Crop: "kale", Bed: "tub", AreaM2: 1.44, Planted: planted}}
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1, KeepPoints: 50})
	w := p.Weeks[s.Opening.Date.DaysTo(planted)/7]
	if least := 1.44 * plantMinM2 / 60; w.LabourH < least {
		t.Errorf("%.3f hours in the week of planting, %.3f to plant alone", w.LabourH, least)
	}
	if p.Weeks[1].Places == 0 {
		t.Error("no nursery places for the kale to come")
	}
}

// Water that runs out is a reason: without fish or dosing nothing grows on for a year, and
// a plan that gives nothing from October on says so and does not have beds stand twice over.
func TestStarvedWater(t *testing.T) {
	s := small()
	s.Opening.Date = site.On(2027, time.January, 4)
	s.Loops[0].Beds[0].AreaM2, s.Loops[0].Beds[1].AreaM2 = 10.8, 3.6
	s.Opening.Water[0] = site.OpeningWater{Loop: "loop", NitrateNGm3: 20, PotassiumGm3: 20, PhosphateP: 4, Ripe: true}
	for m := 1; m <= 3; m++ {
		set := s.HomeFed[0]
		set.From = s.Opening.Date.Plus(120 + 90*m)
		set.Name, set.To = set.From.Format("January"), set.From.Plus(3)
		s.HomeFed = append(s.HomeFed, set)
	}
	s.HomeFed = s.HomeFed[1:]
	p := made(t, wish(s, "potato", "cabbage", "beetroot", "kale"), s.Opening.Date, Options{WishedOnly: true})
	if !p.Check.OK {
		t.Error(p.Check.Fault)
	}
	said := strings.Join(append(slices.Clone(p.Warnings), p.Reasons...), " ")
	for _, c := range p.Collides {
		said += " " + c.What + " " + c.Mend
	}
	if !strings.Contains(said, "nitrogen") && !strings.Contains(said, "potassium") && !strings.Contains(said, "water") {
		t.Errorf("nothing says what is short: %q", said)
	}
}

// Young crops keep fourteen days and no longer, and crops harvested once are ripe by the
// days of safety before a table: of all that the demo could plant.
func TestTrapsOfKeeping(t *testing.T) {
	m := demoMade(t).made
	young, safe := 0, 0
	for i := range m.offered {
		c := &m.offered[i]
		for _, l := range c.lots {
			for k, set := range m.w.sets {
				if l.sets&(1<<k) == 0 {
					continue
				}
				if l.day.After(set.From.Time) {
					t.Errorf("%s of %s is taken on %s, after %s begins", c.crop.Key, c.planted, l.day, set.Name)
				}
				switch {
				case c.young:
					young++
					if wait := l.day.DaysTo(set.To); wait > youngKeepsDays {
						t.Errorf("young %s of %s kept %d days", c.crop.Key, c.planted, wait)
					}
				case c.crop.HarvestKind == "once":
					safe++
					if ripe := c.grown.First; ripe.IsZero() || ripe.DaysTo(set.From) < m.o.SafetyDays {
						t.Errorf("%s of %s is ripe on %s for %s", c.crop.Key, c.planted, ripe, set.From)
					}
				}
			}
		}
	}
	if young == 0 || safe == 0 {
		t.Errorf("%d young, %d ripe: that tries nothing", young, safe)
	}
}

// Eaters together or each alone: for energy the optimum is one (needs and portions both go
// with the energy need). Salt is left out: its limit is each person's.
func TestPooledIsPersonal(t *testing.T) {
	s := wish(small(), "potato", "bean_dry", "kale")
	both := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1})
	need := both.Occasions[0].NeedKcal
	m := *both.made
	b := *m.base
	b.eaters = slices.Clone(b.eaters)
	one := b.eaters[0][0]
	one.NeedKcal = need / float64(both.Occasions[0].Days)
	b.eaters[0] = b.eaters[0][:0:0]
	b.eaters[0] = append(b.eaters[0], one)
	best := func(b *base) (worst float64) {
		g, err := m.w.build(b, m.again(0))
		if err != nil {
			t.Fatal(err)
		}
		err = testPool.Do(context.Background(), func(solver *lp.Solver) error {
			q := linear(g.p)
			q.Maximize = true
			q.Cost[g.worst] = 1
			r, err := solver.Solve(context.Background(), q, lp.Settings{})
			if err == nil {
				worst = r.Objective
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return worst
	}
	if a, c := best(m.base), best(&b); math.Abs(a-c) > 1e-6 || a < 0.05 {
		t.Errorf("each alone %.6f, together %.6f", a, c)
	}
}

// A week later nobody has more: what is told of it is no more than the share itself.
func TestLateIsNoBetter(t *testing.T) {
	p := demoMade(t)
	for _, o := range p.Occasions {
		if o.LateShare > o.MeanShare+1e-6 {
			t.Errorf("%s: %.4f, a week late %.4f", o.Name, o.MeanShare, o.LateShare)
		}
	}
}

// Whatever is being done when the plan is stopped, there is one error to ask for.
func TestStoppedIsOneError(t *testing.T) {
	s := wish(small(), "potato", "kale", "bean_dry")
	for range 12 {
		ctx, tell := stopAt("levels, round 1")
		if _, err := Make(ctx, s, s.Opening.Date, Options{Pool: testPool, WishedOnly: true, Progress: tell}); err != nil && !errors.Is(err, ErrStopped) {
			t.Fatalf("%v: it does not wrap ErrStopped", err)
		}
	}
}

// What must be said of the food is said in the plan too.
func TestWarningsOfFoodAreKept(t *testing.T) {
	s := wish(withFish(), "potato")
	s.Opening.Cohorts[0].WeightKg = 0.03 // small for the table by October
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1, NoFish: true})
	if !slices.ContainsFunc(p.Warnings, func(w string) bool { return strings.Contains(w, "small for the table") }) {
		t.Errorf("warnings %q", p.Warnings)
	}
}

// The day on which one plans again does not matter to what is in force: what was a plan
// yesterday can be carried out today.
func TestReplanOnAnyDay(t *testing.T) {
	s := small()
	first := made(t, s, s.Opening.Date, Options{Rounds: -1})
	for _, days := range []int{1, 7, 24} {
		later := made(t, first.Applied, s.Opening.Date.Plus(days), Options{Rounds: -1})
		if strings.Contains(later.InForce.Say, "cannot be carried out") {
			t.Errorf("after %d days: %s", days, later.InForce.Say)
		}
		if !later.Check.OK {
			t.Errorf("after %d days: %q", days, later.Check.Fault)
		}
	}
}

// What is in force and not yet planted keeps its bed where that leaves room for the rest,
// and goes to another of the same group where it does not.
func TestSeatBesidePlanInForce(t *testing.T) {
	s := small()
	g := group{Group: Group{Name: "beds", ModuleM2: 1, Modules: 2, Beds: []string{"a", "b"}}, beds: []groupBed{{name: "a", modules: 1}, {name: "b", modules: 1}}}
	g.weeks(10)
	g.free(10)
	m := &maker{w: &worker{s: s, today: s.Opening.Date, weeks: 10, groups: []group{g}}}
	soon := s.Opening.Date.Plus(1)
	sol := &solution{n: []float64{1, 1, 1}, g: &programme{cands: []candidate{
		{index: 0, from: 0, to: 3, bed: "a", fixedM2: 1, planted: soon},
		{index: 1, from: 6, to: 9, bed: "b", fixedM2: 1, planted: soon},
		{index: -1, from: 2, to: 8},
	}}}
	m.seat(sol)
	busy := map[string][]bool{"a": make([]bool, 10), "b": make([]bool, 10)}
	for i, parts := range sol.seats {
		for _, part := range parts {
			for k := sol.g.cands[i].from; k <= sol.g.cands[i].to; k++ {
				if busy[part.Bed][k] {
					t.Fatalf("bed %s is used twice in week %d: %+v", part.Bed, k, sol.seats)
				}
				busy[part.Bed][k] = true
			}
		}
	}
}

// Each sowing has an id of its own, those of one crop, day and group in two beds too.
func TestSowingsHaveTheirOwnIDs(t *testing.T) {
	s := wish(small(), "kale")
	s.Loops[0].Beds[0] = s.Loops[0].Beds[1]
	s.Loops[0].Beds[0].Name = "stones 0"
	for _, bed := range []string{"stones 0", "stones"} {
		s.Opening.Plantings = append(s.Opening.Plantings, site.Planting{Crop: "kale", Bed: bed, AreaM2: 0.72, Planted: s.Opening.Date.Plus(100)})
	}
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1, KeepPoints: 50})
	ids := map[string]bool{}
	for _, x := range p.Sowings {
		if ids[x.ID] {
			t.Errorf("two are called %s", x.ID)
		}
		ids[x.ID] = true
	}
	if len(ids) == 0 {
		t.Error("nothing is sown")
	}
}

// The bench's order of work does not matter: the programme of the same candidates is the
// same to the last entry.
func TestSameProgrammeTwice(t *testing.T) {
	s := small()
	m, err := newMaker(context.Background(), s, s.Opening.Date, Options{Pool: testPool})
	if err != nil {
		t.Fatal(err)
	}
	cands := m.again(0)
	one, err := m.w.build(m.base, cands)
	if err != nil {
		t.Fatal(err)
	}
	two, err := m.w.build(m.base, cands)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(one.p.Index, two.p.Index) || !slices.Equal(one.p.Value, two.p.Value) || !slices.Equal(one.p.Start, two.p.Start) {
		t.Error("the same candidates give two programmes")
	}
	if !slices.Equal(one.p.RowUpper, two.p.RowUpper) || !slices.Equal(one.p.ColUpper, two.p.ColUpper) {
		t.Error("the same candidates give other bounds")
	}
}
