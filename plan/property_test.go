package plan

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tidebed/menu"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
)

// Every module of sowings that fit each week's room finds a place of its own for all its
// weeks, beside what stands and leaves bed by bed.
func TestSeatFindsRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(1, 25).Draw(t, "weeks")
		beds := rapid.IntRange(1, 4).Draw(t, "beds")
		g := group{Group: Group{Name: "beds", ModuleM2: 0.72}}
		for b := range beds {
			g.beds = append(g.beds, groupBed{name: fmt.Sprint("bed ", b), modules: rapid.IntRange(1, 4).Draw(t, "modules")})
			g.Beds = append(g.Beds, g.beds[b].name)
			g.Modules += g.beds[b].modules
		}
		g.weeks(weeks)
		for b := range beds { // what stands has stood from the start
			for range rapid.IntRange(0, 2).Draw(t, "standing") {
				g.stand(g.beds[b].name, 0.72*float64(rapid.IntRange(1, 2).Draw(t, "area")), 0, rapid.IntRange(0, weeks-1).Draw(t, "to"))
			}
		}
		g.free(weeks)
		m := &maker{w: &worker{weeks: weeks, groups: []group{g}}}
		sol := &solution{g: &programme{}}
		left := slices.Clone(g.freeM)
		for range rapid.IntRange(0, 20).Draw(t, "sowings") {
			from := rapid.IntRange(0, weeks-1).Draw(t, "from")
			to := rapid.IntRange(from, weeks-1).Draw(t, "to")
			room := slices.Min(left[from : to+1])
			if room == 0 {
				continue
			}
			n := rapid.IntRange(1, room).Draw(t, "n")
			for k := from; k <= to; k++ {
				left[k] -= n
			}
			sol.g.cands = append(sol.g.cands, candidate{index: -1, from: from, to: to})
			sol.n = append(sol.n, float64(n))
		}
		m.seat(sol)
		used := map[string][]int{}
		for b := range g.beds {
			used[g.beds[b].name] = slices.Clone(g.beds[b].taken)
		}
		for i := range sol.g.cands {
			c := &sol.g.cands[i]
			n := 0
			for _, p := range sol.seats[i] {
				n += p.Modules
				if math.Abs(p.AreaM2-0.72*float64(p.Modules)) > 1e-9 {
					t.Fatalf("%d modules of %.3f m²", p.Modules, p.AreaM2)
				}
				for k := c.from; k <= c.to; k++ {
					used[p.Bed][k] += p.Modules
				}
			}
			if n != int(sol.n[i]) {
				t.Fatalf("sowing %d: %d modules seated of %.0f", i, n, sol.n[i])
			}
		}
		for b := range g.beds {
			for k, n := range used[g.beds[b].name] {
				if n > g.beds[b].modules {
					t.Fatalf("week %d: %d modules in %s of %d", k, n, g.beds[b].name, g.beds[b].modules)
				}
			}
		}
	})
}

// The days' tables hold what the menu holds, each food at most once a day.
func TestTableOf(t *testing.T) {
	foods := food.Foods()
	rapid.Check(t, func(t *rapid.T) {
		days := rapid.IntRange(1, 21).Draw(t, "days")
		o := &Occasion{From: site.On(2027, 10, 1), Days: days, Eaters: make([]string, rapid.IntRange(0, 6).Draw(t, "eaters")), NeedKcal: 2000 * float64(days), Menu: &menu.Menu{}}
		for _, at := range rapid.SliceOfNDistinct(rapid.IntRange(0, len(foods)-1), 0, 12, rapid.ID[int]).Draw(t, "foods") {
			f := foods[at]
			kcal, _ := f.Per100g(food.Energy)
			grams := rapid.Float64Range(0, 400).Draw(t, "grams") * float64(days)
			o.Menu.Portions = append(o.Menu.Portions, menu.Portion{Food: f.Key, Name: f.Name, Grams: grams, Kcal: kcal * grams / 100})
		}
		table := tableOf(o)
		if len(table) != days {
			t.Fatalf("%d tables of %d days", len(table), days)
		}
		sum, kcal := map[string]float64{}, map[string]float64{}
		for d, day := range table {
			if day.Date != o.From.Plus(d) {
				t.Fatalf("table %d is of %s", d, day.Date)
			}
			seen := map[string]bool{}
			for _, f := range day.Foods {
				if f.Grams < 0 || f.Kcal < 0 || seen[f.Food] {
					t.Fatalf("%+v", f)
				}
				seen[f.Food] = true
				sum[f.Food] += f.Grams
				kcal[f.Food] += f.Kcal
			}
		}
		for _, p := range o.Menu.Portions {
			if math.Abs(sum[p.Food]-p.Grams) > 1e-6*max(1, p.Grams) || math.Abs(kcal[p.Food]-p.Kcal) > 1e-6*max(1, p.Kcal) {
				t.Fatalf("%s: %.4f g on the tables, %.4f g in the menu", p.Food, sum[p.Food], p.Grams)
			}
		}
	})
}

// No main food stands on the table on more than three days running (food sheet: the same
// main food at most three days running), when there are more than three days.
func TestThreeDaysRunning(t *testing.T) {
	for days := 4; days <= 21; days++ {
		for n := 1; n <= days+1; n++ {
			for turn := range days {
				kcal := make([]float64, days)
				for d := range kcal {
					kcal[d] = float64((d*7 + turn) % days)
				}
				on := spread(n, days, turn, kcal, true)
				running := 1
				for k := 1; k < len(on); k++ {
					if running++; on[k] != on[k-1]+1 {
						running = 1
					}
					if running > 3 {
						t.Fatalf("%d of %d days, turn %d: %v", n, days, turn, on)
					}
				}
			}
		}
	}
}

// No candidate that is kept is beaten by another, and each that is left out is beaten by
// one that is kept.
func TestBest(t *testing.T) {
	kale := cropNamed(t, "kale")
	s := small()
	rapid.Check(t, func(t *rapid.T) {
		w := &worker{s: s, today: s.Opening.Date, weeks: 30, groups: make([]group, 1), wishes: map[string]site.CropWish{}}
		for k := range rapid.IntRange(1, 3).Draw(t, "occasions") {
			from := s.Opening.Date.Plus(160 + 20*k)
			w.sets = append(w.sets, site.HomeFedDays{Name: fmt.Sprint(k), From: from, To: from.Plus(2)})
		}
		var list []candidate
		for range rapid.IntRange(0, 12).Draw(t, "candidates") {
			from := rapid.IntRange(0, 4).Draw(t, "from")
			c := candidate{crop: kale, index: -1, from: from, to: from + rapid.IntRange(1, 3).Draw(t, "weeks"), grown: &season.PlantingCourse{}}
			for range rapid.IntRange(1, 2).Draw(t, "lots") {
				c.lots = append(c.lots, candidateLot{
					day: s.Opening.Date.Plus(150), kg: float64(rapid.IntRange(1, 2).Draw(t, "kg")),
					sets: uint64(rapid.IntRange(1, 1<<len(w.sets)-1).Draw(t, "sets")),
				})
			}
			list = append(list, c)
		}
		gives := func(c *candidate) (by []float64) { // by run of neighbouring occasions
			for a := range w.sets {
				for b := a; b < len(w.sets); b++ {
					sum := 0.0
					for _, l := range c.lots {
						if l.sets>>a&(1<<(b-a+1)-1) != 0 {
							sum += l.kg // all of one day: losses are alike
						}
					}
					by = append(by, sum)
				}
			}
			return by
		}
		noWorse := func(a, b *candidate) bool {
			x, y := gives(a), gives(b)
			for k := range x {
				if x[k] < y[k]-1e-9 {
					return false
				}
			}
			return a.from >= b.from && a.to <= b.to
		}
		same := func(a, b *candidate) bool { return noWorse(a, b) && noWorse(b, a) }
		out := w.best(slices.Clone(list))
		for i := range out {
			for j := range out {
				if i != j && noWorse(&out[i], &out[j]) {
					t.Fatalf("kept though beaten: %+v by %+v", out[j], out[i])
				}
			}
		}
		for i := range list {
			kept := slices.ContainsFunc(out, func(c candidate) bool { return same(&c, &list[i]) || noWorse(&c, &list[i]) })
			if !kept {
				t.Fatalf("left out though unbeaten: %+v", list[i])
			}
		}
	})
}
