package plan

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"tidebed/larder"
	"tidebed/meals"
	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/site"
)

// By hand: one tub, one crop, one date. Potatoes of 19 June are the last that can ripen
// (95 days of the crop table at 22 mol/m²/d and 15 to 20 °C, here at 20.0 mol), so one
// planting fills the tub. Crop table: 1.8 kg/m² at low yield; store: 1 % lost a week;
// cooked in the skin 9 % lost and the mass stays; potatoes boiled in the skin 87 kcal
// per 100 g (USDA SR28). Need: the energy requirement of the Institute of Medicine
// 2005, low active.
func TestOneBedByHand(t *testing.T) {
	s := wish(small(), "potato")
	s.Opening.Date = site.On(2027, time.June, 19)
	s.Loops[0].Beds = s.Loops[0].Beds[:1]
	// Taken young on the table's day later sowings give as much: they are forbidden here.
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Pins: []Pin{{Forbid: true, Crop: "potato", From: s.Opening.Date.Plus(1)}}})
	if len(p.Sowings) != 1 || p.Sowings[0].AreaM2 != 1.44 || p.Sowings[0].Plant != s.Opening.Date {
		t.Fatalf("sowings %+v: want the whole tub, today", p.Sowings)
	}
	got := p.Sowings[0]
	// 15 days to come up, then 80 at full growth; growth goes as D/(1 + D/68).
	light := func(d float64) float64 { return d / (1 + d/68) }
	days := 15 + 80*light(22)/light(12*0.9*2.06*0.9)
	if late := float64(got.Plant.DaysTo(got.First)) - days; math.Abs(late) > 2 {
		t.Errorf("ripe after %d days, by hand %.1f", got.Plant.DaysTo(got.First), days)
	}
	kg := 1.8 * 1.44
	if math.Abs(got.Kg[0]-kg) > 1e-6*kg {
		t.Errorf("%.5f kg at low yield, by hand %.5f", got.Kg[0], kg)
	}
	kg *= math.Pow(0.99, float64(got.First.DaysTo(s.HomeFed[0].From))/7)
	ada := 354.1 - 6.91*42 + 1.12*(9.36*65+726*1.65)
	bo := 661.8 - 9.53*45 + 1.11*(15.91*82+539.6*1.78)
	share := kg * 1000 * 0.91 * 87 / 100 / (4 * (ada + bo))
	o := &p.Occasions[0]
	// Later levels may take back 1e-4 of what the worst-off has.
	if math.Abs(o.MeanShare-share) > 2e-5 || o.WorstShare > share+2e-5 || o.WorstShare < share-1.2e-4 {
		t.Errorf("shares %.6f and %.6f, by hand %.6f", o.WorstShare, o.MeanShare, share)
	}
	if len(got.Serves) != 1 || math.Abs(got.Serves[0].Kg-kg) > 1e-3 {
		t.Errorf("serves %+v, by hand %.4f kg in October", got.Serves, kg)
	}
	t.Logf("%.3f kg of potatoes, %.2f %% of the energy, ripe after %d days", kg, 100*share, got.Plant.DaysTo(got.First))
}

// plans calls do with every whole-module plan of the candidates: no week of a group has
// more modules than there are.
func plans(w *worker, cands []candidate, do func(n []int)) {
	n := make([]int, len(cands))
	used := make([][]int, len(w.groups))
	for g := range used {
		used[g] = make([]int, w.weeks)
	}
	var next func(i int)
	next = func(i int) {
		if i == len(cands) {
			do(n)
			return
		}
		c := &cands[i]
		most := w.groups[c.group].Modules
		for k := c.from; k <= c.to; k++ {
			most = min(most, w.groups[c.group].freeM[k]-used[c.group][k])
		}
		for m := 0; m <= most; m++ {
			n[i] = m
			for k := c.from; k <= c.to; k++ {
				used[c.group][k] += m
			}
			next(i + 1)
			for k := c.from; k <= c.to; k++ {
				used[c.group][k] -= m
			}
		}
		n[i] = 0
	}
	next(0)
}

// fedBy is the worst eater's share of energy of an occasion from so many grams of raw
// foods, by package menu alone.
func fedBy(t testing.TB, m *maker, set int, crops []string, grams []float64) (worst float64) {
	q := &menu.Question{Days: float64(m.w.sets[set].From.DaysTo(m.w.sets[set].To) + 1), Eaters: m.base.eaters[set], Comfortable: true}
	for i, key := range crops {
		c := cropNamed(t, key)
		raw, forms, _ := meals.CropForms(c, m.w.sets[set].Cooking)
		q.Stocks = append(q.Stocks, menu.Stock{Key: raw, Grams: grams[i], Inside: true})
		for _, f := range forms {
			q.Forms = append(q.Forms, menu.Form{Food: f.Food, Stock: i, PerGram: f.PerGram})
		}
	}
	err := testPool.Do(context.Background(), func(s *lp.Solver) (err error) {
		worst, _, err = menu.Energy(context.Background(), s, q)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return worst
}

// Against brute force: two beds, three crops, one occasion. Every plan of whole modules
// is counted out and fed to package menu. The linear programme's first level is no less
// than the best of them, and the plan falls short of it by no more than a give, for which
// it has fewer sowings.
func TestWholeModulesAgainstBruteForce(t *testing.T) {
	s := wish(small(), "potato", "bean_dry", "kale")
	s.Opening.Date = site.On(2027, time.June, 12)
	s.Loops[0].Beds[1].AreaM2 = 1.44
	seen := map[string]float64{}
	for _, rounds := range []int{-1, 1} {
		p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: rounds})
		m := p.made
		cands := m.again(0)
		crops := []string{"potato", "bean_dry", "kale"}
		best, count := 0.0, 0
		plans(m.w, cands, func(n []int) {
			count++
			grams := make([]float64, len(crops))
			for i := range cands {
				for _, l := range cands[i].lots {
					_, _, loss := meals.Kept(s, *cands[i].crop)
					left := larder.Remaining(l.kg*1000, loss, l.day.DaysTo(m.w.sets[0].From))
					for k := range crops {
						if crops[k] == cands[i].crop.Key && l.sets == 1 {
							grams[k] += left * float64(n[i]) * m.w.groups[cands[i].group].ModuleM2
						}
					}
				}
			}
			key := fmt.Sprintf("%.3f", grams)
			if _, ok := seen[key]; !ok {
				seen[key] = fedBy(t, m, 0, crops, grams)
			}
			best = max(best, seen[key])
		})
		got := p.Occasions[0].WorstShare
		first := levelOf(p, "worst")
		t.Logf("rounds %d: %d candidates, %d plans, %d different stocks: best %.5f; the plan %.5f, linear %.5f, %d sowings", rounds, len(cands), count, len(seen), best, got, first.Value, len(p.Sowings))
		if count < 400 || len(seen) < 100 {
			t.Errorf("only %d plans and %d stocks: that tries nothing", count, len(seen))
		}
		if first.Value+1e-4 < best { // the level before gives 1e-4
			t.Errorf("the linear programme has %.6f and a whole plan %.6f", first.Value, best)
		}
		if got > best+1e-5 {
			t.Errorf("the plan has %.6f, more than any whole plan: %.6f", got, best)
		}
		if got < best-UsualGive-1e-4 {
			t.Errorf("the plan has %.6f, the best whole plan %.6f", got, best)
		}
	}
}

// Two occasions share what keeps: of each whole plan the best split is found by halving,
// since one side's share rises with it and the other's falls.
func TestTwoOccasionsAgainstBruteForce(t *testing.T) {
	s := wish(small(), "potato", "kale")
	s.Opening.Date = site.On(2027, time.June, 19)
	s.Loops[0].Beds = s.Loops[0].Beds[:1]
	s.HomeFed = append(s.HomeFed, site.HomeFedDays{Name: "November", From: site.On(2027, time.November, 20), To: site.On(2027, time.November, 23), Eaters: []string{"Ada", "Bo"}})
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1})
	m := p.made
	cands := m.again(0)
	crops := []string{"potato", "kale"}
	seen := map[string]float64{}
	best, count := 0.0, 0
	plans(m.w, cands, func(n []int) {
		count++
		var only [2][2]float64 // by occasion, crop: g on its first day
		var both float64       // potatoes for either, g on the first day of the first
		for i := range cands {
			k := 0
			if cands[i].crop.Key == "kale" {
				k = 1
			}
			_, _, loss := meals.Kept(s, *cands[i].crop)
			for _, l := range cands[i].lots {
				g := l.kg * 1000 * float64(n[i]) * m.w.groups[cands[i].group].ModuleM2
				switch l.sets {
				case 1, 2:
					at := int(l.sets) - 1
					only[at][k] += larder.Remaining(g, loss, l.day.DaysTo(m.w.sets[at].From))
				case 3:
					if k == 1 {
						t.Fatal("kale keeps for both: the split is of potatoes alone")
					}
					both += larder.Remaining(g, loss, l.day.DaysTo(m.w.sets[0].From))
				}
			}
		}
		key := fmt.Sprintf("%.2f %.2f", only, both)
		if _, ok := seen[key]; ok {
			return
		}
		seen[key] = 0
		later := both * math.Pow(1-s.Larder[0].LossWeek, float64(m.w.sets[0].From.DaysTo(m.w.sets[1].From))/7)
		at := func(split float64) (a, b float64) {
			return fedBy(t, m, 0, crops, []float64{only[0][0] + split*both, only[0][1]}), fedBy(t, m, 1, crops, []float64{only[1][0] + (1-split)*later, only[1][1]})
		}
		low, high := 0.0, 1.0
		if a, b := at(1); min(a, b) <= best { // even so the first would have no more, or
			if a <= best {
				return
			}
			if _, b = at(0); b <= best {
				return
			}
		}
		for range 22 {
			mid := (low + high) / 2
			if a, b := at(mid); a < b {
				low = mid
			} else {
				high = mid
			}
		}
		a, b := at(low)
		c, d := at(high)
		best = max(best, min(a, b), min(c, d))
	})
	got := min(p.Occasions[0].WorstShare, p.Occasions[1].WorstShare)
	first := levelOf(p, "worst")
	t.Logf("%d candidates, %d plans, %d different: best %.5f; the plan %.5f, linear %.5f", len(cands), count, len(seen), best, got, first.Value)
	if first.Value+1e-4 < best {
		t.Errorf("the linear programme has %.6f and a whole plan %.6f", first.Value, best)
	}
	if got > best+1e-5 || got < best-UsualGive-1e-4 {
		t.Errorf("the plan has %.6f, the best whole plan %.6f", got, best)
	}
}

// The search for whole modules reaches the objective that counting out finds: for every
// plan of one tub the linear programme is solved with its modules fixed, and each sowing
// costs its points.
func TestWholeObjectiveAgainstBruteForce(t *testing.T) {
	s := wish(small(), "potato", "bean_dry", "kale")
	s.Opening.Date = site.On(2027, time.June, 12)
	s.Loops[0].Beds = s.Loops[0].Beds[:1]
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: -1})
	m := p.made
	cands := m.again(0)
	g, err := m.w.build(m.base, cands)
	if err != nil {
		t.Fatal(err)
	}
	list, err := g.levels()
	if err != nil {
		t.Fatal(err)
	}
	value := func(solver *lp.Solver, n func(i int) float64) float64 {
		q := linear(g.p)
		weigh(q, list)
		sowings := 0.0
		for i := range cands {
			q.ColLower[g.n[i]], q.ColUpper[g.n[i]] = n(i), n(i)
			if n(i) > 0 {
				sowings++
			}
		}
		r, err := solver.Solve(context.Background(), q, lp.Settings{})
		if err != nil || r.Status != lp.Optimal {
			t.Fatal(err, r)
		}
		return r.Objective - lotPoints*sowings
	}
	best, count := math.Inf(-1), 0
	var got float64
	err = testPool.Do(context.Background(), func(solver *lp.Solver) error {
		plans(m.w, cands, func(n []int) {
			count++
			best = max(best, value(solver, func(i int) float64 { return float64(n[i]) }))
		})
		got = value(solver, func(i int) float64 { return p.found.n[i] })
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d plans: best objective %.6f, the plan's %.6f, bound %.6f", count, best, got, p.Bound)
	if count < 30 {
		t.Errorf("only %d plans", count)
	}
	if got > best+1e-6 || got < best-wholeGap*math.Abs(best)-1e-4 {
		t.Errorf("the plan's objective is %.6f, the best %.6f", got, best)
	}
	if p.Bound+1e-6 < best {
		t.Errorf("bound %.6f below a whole plan's %.6f", p.Bound, best)
	}
}

func levelOf(p *Plan, key string) Level {
	for _, l := range p.Levels {
		if l.Key == key {
			return l
		}
	}
	return Level{Value: math.NaN()}
}

// A second solver, where it is installed, finds the same optimum of the demo's first
// levels, written as free MPS. Tolerance 1e-6 relative.
func TestDemoProgrammeSecondOpinion(t *testing.T) {
	program, err := exec.LookPath("glpsol")
	if err != nil {
		t.Skip("glpsol is not installed (Debian: glpk-utils): no second opinion on the demo's programme")
	}
	m := demoMade(t).made
	g, err := m.w.build(m.base, m.again(0))
	if err != nil {
		t.Fatal(err)
	}
	for _, level := range []struct {
		name string
		col  int
	}{{"worst", g.worst}, {"mean", g.mean}} {
		q := linear(g.p)
		q.Maximize = true
		q.Cost[level.col] = 1
		var ours float64
		err := testPool.Do(context.Background(), func(s *lp.Solver) error {
			r, err := s.Solve(context.Background(), q, lp.Settings{})
			if err == nil && r.Status != lp.Optimal {
				err = fmt.Errorf("%v", r.Status)
			}
			if err == nil {
				ours = r.Objective
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		var text bytes.Buffer
		if err := q.WriteMPS(&text); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), level.name+".mps")
		if err := os.WriteFile(file, text.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		other := math.Abs(glpsol(t, program, file)) // written to be minimised
		t.Logf("%s: %d columns, %d rows, %d entries: this solver %.9f, glpsol %.9f, apart %.1e", level.name, q.Cols(), q.Rows(), len(q.Value), ours, other, math.Abs(ours-other)/ours)
		if math.Abs(ours-other) > 1e-6*math.Abs(ours) {
			t.Errorf("%s: this solver %.9g, glpsol %.9g", level.name, ours, other)
		}
	}
}

// glpsol returns the optimum from the solution line "s bas ROWS COLUMNS f f OBJECTIVE".
func glpsol(t *testing.T, program, file string) float64 {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	log, err := exec.CommandContext(ctx, program, "--freemps", file, "--tmlim", "100", "-w", file+".sol").CombinedOutput()
	if err != nil {
		t.Fatalf("glpsol: %v\n%s", err, log)
	}
	text, err := os.ReadFile(file + ".sol")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		f := strings.Fields(line)
		if len(f) != 7 || f[0] != "s" {
			continue
		}
		v, err := strconv.ParseFloat(f[6], 64)
		if err != nil || f[1] != "bas" || f[4] != "f" || f[5] != "f" {
			t.Fatalf("no optimum: %s\n%s", line, log)
		}
		return v
	}
	t.Fatalf("no solution line\n%s", log)
	return 0
}
