package plan

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"sync"
	"sync/atomic"

	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// Reasons is what Explain found.
type Reasons struct {
	Worths   []Worth    `json:"worths"`   // best first
	Rejected []Rejected `json:"rejected"` // crops that are not sown: those that came nearest first, ties last
}

// Explain finds by solving again what one unit more of each thing is worth, what each
// crop that is used is worth, and what a module of each crop that is not used would
// cost. p is a plan that Make gave for the same site, day and options; else it is
// made anew.
//
// The figures are of linear programmes of the energy alone, in parts of a module, with
// the low yields grown for the plan and the household's greens and the orders held as
// the plan has them: a point is a hundredth of the energy that all need. ctx stops it
// with what it has. Errors: those of Make.
func Explain(ctx context.Context, s *site.Site, today site.Date, o Options, p *Plan) (*Reasons, error) {
	if p == nil || p.made == nil {
		var err error
		if p, err = Make(ctx, s, today, o); err != nil {
			return nil, err
		}
		if p.made == nil {
			return &Reasons{}, nil // nothing is planned
		}
	}
	m := *p.made
	worker := *p.made.w
	worker.energyOnly, worker.why, worker.rank = true, map[string]string{}, map[string]int{}
	m.w = &worker
	m.o.Progress = o.Progress
	m.pool, m.own = o.Pool, false
	if m.pool == nil {
		m.pool, m.own = lp.NewPool(2), true
	}
	defer m.close()
	return m.explain(ctx, p)
}

// asked is one question: a change to a programme, or another programme.
type asked struct {
	what   string
	note   string
	change func(q *lp.Problem, g *programme)
	crop   string // of a rejected crop
	grow   func() (*worker, []candidate, *base, error)
}

func (m *maker) explain(ctx context.Context, p *Plan) (*Reasons, error) {
	w := m.w
	out := &Reasons{}
	cands := m.again(0)
	g, err := w.build(m.base, cands)
	if err != nil {
		return nil, err
	}
	before := func(l level) bool { return l.key != "fed" && l.key != "floor" }
	greens := 0.0 // what the plan gives of them is not taken back
	for _, l := range p.Levels {
		if l.Key == "greens" {
			greens = math.Max(0, math.Min(l.Value, l.Whole)-l.Give)
		}
	}
	// Both shares count alike, so that one programme answers each question.
	both := func(q *lp.Problem, g *programme) {
		clear(q.Cost)
		q.Maximize = true
		q.Cost[g.worst], q.Cost[g.mean] = 1, 1
	}
	questions := m.questions(p, g, cands)
	// What is missing anyway is no bar to an answer: where the house buys nothing, the
	// children's need is the energy itself.
	loosen := func(q *lp.Problem, g *programme) {
		for _, col := range []int{g.fedProtected, g.fedWorst} {
			if q.ColUpper[col] > enoughShare {
				q.ColUpper[col] = math.Inf(1)
			}
		}
	}
	start := func(s *lp.Solver, g *programme) (*lp.Problem, *lp.Result, error) {
		q := linear(g.p)
		list, err := g.levels()
		if err != nil {
			return nil, nil, err
		}
		if _, _, err := g.run(ctx, s, q, slices.DeleteFunc(list, before), nil); err != nil {
			return nil, nil, err
		}
		loosen(q, g)
		both(q, g)
		res, err := s.Solve(ctx, q, lp.Settings{})
		return q, res, err
	}
	var q *lp.Problem
	var loose, first *lp.Result
	err = m.pool.Do(ctx, func(s *lp.Solver) error {
		if q, loose, err = start(s, g); err != nil || loose.Status != lp.Optimal {
			return err
		}
		q.ColLower[g.greens] = math.Min(greens, loose.X[g.greens])
		first, err = s.Solve(ctx, q, lp.Settings{Basis: loose.Basis})
		if err == nil && first.Status != lp.Optimal { // greens would have to be taken back: do not hold them
			q.ColLower[g.greens], first = 0, loose
		}
		return err
	})
	if err != nil && ctx.Err() == nil {
		return nil, err
	}
	if err != nil || first == nil || first.Status != lp.Optimal {
		out.Rejected = append(out.Rejected, p.Rejected...)
		return out, nil
	}
	type answer struct {
		worst, mean float64
		ok, none    bool
		err         error
	}
	answers := make([]answer, len(questions))
	const solvers = 2
	var wait sync.WaitGroup
	var done atomic.Int64
	var tell sync.Mutex
	for k := range solvers {
		wait.Go(func() {
			err := m.pool.Do(ctx, func(s *lp.Solver) error {
				for i := k; i < len(questions) && ctx.Err() == nil; i += solvers {
					ask, a := &questions[i], &answers[i]
					if m.o.Progress != nil {
						tell.Lock()
						m.o.Progress(Progress{Step: "why: " + ask.what, Done: int(done.Load()), Of: len(questions)})
						tell.Unlock()
					}
					done.Add(1)
					if ask.grow != nil {
						x, other, b, err := ask.grow()
						if err != nil {
							a.err = err
							return err
						}
						h, err := x.build(b, other)
						if err != nil {
							a.err = err
							return err
						}
						// As well fed as before where that can be; else as well as can be.
						r := linear(h.p)
						r.ColUpper[h.fedProtected], r.ColUpper[h.fedWorst] = q.ColUpper[g.fedProtected], q.ColUpper[g.fedWorst]
						both(r, h)
						res, err := s.Solve(ctx, r, lp.Settings{})
						if err == nil && res.Status != lp.Optimal {
							_, res, err = start(s, h)
						}
						if err != nil {
							a.err = err
							return err
						}
						if a.ok = res.Status == lp.Optimal; a.ok { // both without the greens held
							a.worst, a.mean = res.X[h.worst]-loose.X[g.worst], res.X[h.mean]-loose.X[g.mean]
						}
						continue
					}
					r := *q
					r.ColLower, r.ColUpper = slices.Clone(q.ColLower), slices.Clone(q.ColUpper)
					r.RowLower, r.RowUpper = slices.Clone(q.RowLower), slices.Clone(q.RowUpper)
					ask.change(&r, g)
					res, err := s.Solve(ctx, &r, lp.Settings{Basis: first.Basis, SameCosts: true})
					if err != nil {
						a.err = err
						return err
					}
					a.none = res.Status == lp.Infeasible
					if a.ok = res.Status == lp.Optimal; a.ok {
						a.worst, a.mean = res.X[g.worst]-first.X[g.worst], res.X[g.mean]-first.X[g.mean]
					}
				}
				return nil
			})
			if err != nil && k < len(answers) && answers[k].err == nil {
				answers[k].err = err
			}
		})
	}
	wait.Wait()
	for i, a := range answers {
		switch {
		case a.err != nil && ctx.Err() == nil:
			return nil, a.err
		case a.ok:
			out.add(questions[i], a.worst, a.mean)
		case a.none && questions[i].crop != "":
			out.Rejected = append(out.Rejected, Rejected{Crop: questions[i].crop, Name: questions[i].what, Why: "beds, work, nursery or what stands leave it no room"})
		}
	}
	sort.SliceStable(out.Worths, func(i, j int) bool { return math.Abs(out.Worths[i].Points) > math.Abs(out.Worths[j].Points) })
	out.Rejected = append(out.Rejected, p.Rejected...) // those without a single candidate
	nearestFirst(out.Rejected)
	return out, nil
}

// leastPoints is from how many points a crop is told to cost something.
const leastPoints = 0.005

// nearestFirst sorts crops that are not sown: what a module costs least first, then those
// that could not be tried, then ties, which cost nothing and say least.
func nearestFirst(list []Rejected) {
	rank := func(r *Rejected) int {
		switch {
		case !r.Tried:
			return 1
		case r.Points < leastPoints:
			return 2
		}
		return 0
	}
	slices.SortStableFunc(list, func(a, b Rejected) int {
		byRank := cmp.Compare(rank(&a), rank(&b))
		if byRank == 0 && rank(&a) == 0 {
			return cmp.Compare(a.Points, b.Points)
		}
		return byRank
	})
}

// add books an answer.
func (r *Reasons) add(ask asked, worst, mean float64) {
	tidy := func(x float64) float64 {
		if x = 100 * x; math.Abs(x) < 5e-4 {
			return 0
		}
		return x
	}
	if ask.crop != "" {
		points := 0 - tidy(mean)
		why := "other crops give more in its place"
		if points < leastPoints {
			why = "a tie: a module of it would cost nothing, and another crop does as well"
		}
		r.Rejected = append(r.Rejected, Rejected{Crop: ask.crop, Name: ask.what, Why: why + ask.note, Points: points, Tried: true})
		return
	}
	r.Worths = append(r.Worths, Worth{What: ask.what, Points: tidy(mean), Worst: tidy(worst), Note: ask.note})
}

// questions lists what is asked by solving again.
func (m *maker) questions(p *Plan, g *programme, cands []candidate) (out []asked) {
	w := m.w
	rows := func(list []int, by float64) func(*lp.Problem, *programme) {
		return func(q *lp.Problem, _ *programme) {
			for _, row := range list {
				if row >= 0 {
					q.RowUpper[row] += by
				}
			}
		}
	}
	for i := range w.groups {
		out = append(out, asked{what: "1 m² more of " + w.groups[i].Name, note: "a " + w.groups[i].Kind + " bed", change: rows(g.bedRow[i], 1/w.groups[i].ModuleM2)})
	}
	if g.labourMaxH > 0 {
		out = append(out, asked{what: "1 hour of work a week more in the beds", change: rows(g.labour, 1)})
	}
	if g.placesMax > 0 {
		out = append(out, asked{what: "100 places more in the nursery", change: rows(g.nursery, 1)})
	}
	for l := range w.s.Loops {
		if len(g.storeRow) <= l || g.unknown[l] {
			continue
		}
		protein := w.proteinOf(m.base, l)
		if protein <= 0 {
			continue
		}
		nG := 1000 * protein * food6_25 * crop.UsualNitrogenShare // of a kilogram of feed
		out = append(out, asked{what: "1 kg of feed a week more in loop " + w.s.Loops[l].Name, note: "for its nitrogen", change: func(q *lp.Problem, g *programme) {
			for _, row := range g.storeRow[l] {
				q.RowLower[row] -= nG / 10
				q.RowUpper[row] -= nG / 10
			}
		}})
	}
	for _, place := range w.s.Larder {
		if list := g.roomRow[place.Name]; len(list) > 0 {
			out = append(out, asked{what: "50 kg more room in " + place.Name, change: rows(list, 5)})
		}
	}
	for _, place := range w.s.Larder {
		var lies []int // the columns by which what lies there now is eaten
		for i := range g.lots {
			if l := &g.lots[i]; l.lot.Kind == "larder" && l.lot.From == place.Name {
				lies = append(lies, slices.DeleteFunc(slices.Clone(l.share), func(col int) bool { return col < 0 })...)
			}
		}
		if len(lies) > 0 {
			out = append(out, asked{what: "all that lies in " + place.Name + " is lost", note: failsNote(place.Kind), change: func(q *lp.Problem, _ *programme) {
				for _, col := range lies {
					q.ColUpper[col] = 0
				}
			}})
		}
	}
	used := map[string]bool{}
	var names []string
	for i := range p.Sowings {
		if s := &p.Sowings[i]; !s.Standing && !used[s.Crop] {
			used[s.Crop] = true
			names = append(names, s.Crop)
		}
	}
	slices.Sort(names)
	for _, key := range names {
		row, ok := g.cropRow[key]
		if !ok {
			continue
		}
		c, err := crop.Lookup(key)
		if err != nil {
			continue
		}
		out = append(out, asked{what: "no more " + words.LowerName(c.Name), note: "what it gives over the next best", change: func(q *lp.Problem, _ *programme) { q.RowUpper[row] = 0 }})
	}
	takes := slices.Clone(g.takes)
	if len(takes) > 0 {
		out = append(out, asked{what: "no fish on the table", change: func(q *lp.Problem, _ *programme) {
			for _, t := range takes {
				q.ColUpper[t.col] = 0
			}
		}})
	}
	// Questions for which all is grown anew.
	regrow := func(change func(s *site.Site), w2 func(*worker)) func() (*worker, []candidate, *base, error) {
		return func() (*worker, []candidate, *base, error) {
			s := *m.s
			s.Zones = slices.Clone(m.s.Zones)
			if change != nil {
				change(&s)
			}
			x := *w
			x.s, x.why, x.rank = &s, map[string]string{}, map[string]int{}
			if w2 != nil {
				w2(&x)
			}
			sky, err := season.NewSky(&s)
			if err != nil {
				return nil, nil, nil, err
			}
			x.sky = sky
			offered, err := x.candidates()
			if err != nil {
				return nil, nil, nil, err
			}
			return &x, append(slices.Clone(m.fixed), offered...), m.base, nil
		}
	}
	if !slices.ContainsFunc(w.s.Zones, func(z site.Zone) bool { return z.Light == 0 }) { // else it is that of the glazing
		out = append(out, asked{what: "a tenth more light in all zones", note: "of new sowings; lamps, cleaner covers, whiter walls", grow: regrow(func(s *site.Site) {
			for i := range s.Zones {
				s.Zones[i].Light = math.Min(1, s.Zones[i].Light*1.1)
			}
		}, nil)})
	}
	out = append(out, asked{what: "no days of safety before a table", note: fmt.Sprintf("%d are kept now; a crop that is late then misses it", w.o.SafetyDays), grow: regrow(nil, func(x *worker) { x.o.SafetyDays = 0 })})
	out = append(out, asked{what: "a week later with all that is sown from now on", grow: func() (*worker, []candidate, *base, error) { return w, m.again(7), m.base, nil }})
	for _, by := range []int{-1, 1} {
		out = append(out, m.eaters(by, cands)...)
	}
	if !w.o.Largest {
		out = append(out, asked{what: "the largest portions that people will eat", note: "instead of comfortable ones: the ceiling", grow: func() (*worker, []candidate, *base, error) {
			x := *w
			x.o.Largest = true
			return &x, cands, m.base, nil
		}})
	}
	// Crops that could be planted and are not.
	var idle []string
	for key := range g.cropRow {
		if !used[key] {
			idle = append(idle, key)
		}
	}
	slices.Sort(idle)
	var tail []asked
	for _, key := range idle {
		c, err := crop.Lookup(key)
		if err != nil {
			continue
		}
		row := g.cropRow[key]
		tail = append(tail, asked{what: c.Name, crop: key, note: m.instead(key, p), change: func(q *lp.Problem, _ *programme) { q.RowLower[row] = 1 }})
	}
	return append(out, tail...)
}

// failsNote says how a place of the larder comes to lose what lies in it.
func failsNote(kind string) string {
	switch kind {
	case "freezer":
		return "it fails and nobody sees it in time"
	case "cool-store":
		return "its cooling fails, or rot spreads; later harvests still find room"
	}
	return "damp, mice or mould; later harvests still find room"
}

// instead says what stands in a crop's beds at its best time.
func (m *maker) instead(key string, p *Plan) string {
	best := -1
	for i := range m.offered {
		c := &m.offered[i]
		if c.crop.Key == key && (best < 0 || c.kgM2 > m.offered[best].kgM2) {
			best = i
		}
	}
	if best < 0 {
		return ""
	}
	c := &m.offered[best]
	g := m.w.groups[c.group].Name
	held := map[string]float64{}
	var names []string
	for i := range p.Sowings {
		s := &p.Sowings[i]
		if s.Group == g && s.Plant.Before(c.pulled.Time) && c.planted.Before(s.Pulled.Time) {
			if held[s.Name] == 0 {
				names = append(names, s.Name)
			}
			held[s.Name] += s.AreaM2
		}
	}
	if len(names) == 0 {
		return ""
	}
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(held[b], held[a]) })
	for i := range names {
		names[i] = words.LowerName(names[i])
	}
	return fmt.Sprintf("; in %s from %s stand %s", g, c.planted.Format("2 January"), words.List(names[:min(3, len(names))]))
}

// eaters asks for one adult more, or one fewer, at every table.
func (m *maker) eaters(by int, cands []candidate) []asked {
	what := "one adult more at every table"
	if by < 0 {
		what = "one adult fewer at every table"
	}
	return []asked{{what: what, grow: func() (*worker, []candidate, *base, error) {
		b := *m.base
		b.eaters = slices.Clone(b.eaters)
		for k, list := range b.eaters {
			at := slices.IndexFunc(list, func(e menu.Eater) bool { return !e.Protected })
			switch {
			case at < 0:
			case by > 0 && len(list) < 60:
				more := list[at]
				more.Name += " (one more)"
				b.eaters[k] = append(slices.Clone(list), more)
			case by < 0 && len(list) > 1:
				b.eaters[k] = slices.Delete(slices.Clone(list), at, at+1)
			}
		}
		return m.w, cands, &b, nil
	}}}
}

// haveWords is "1 of 6 eaters has", "4 of 6 eaters have", "everybody has".
func haveWords(n, of int) string {
	if n == of {
		return "everybody has"
	}
	return fmt.Sprintf("%d of %d eaters %s", n, of, words.Plural(n, "has", "have"))
}

// binds says what keeps an occasion's energy from being more: portions and days'
// amounts that are full, and foods of which all is eaten.
func (m *maker) binds(sol *solution, k int) (out []string) {
	g := sol.g
	sb := &g.set[k]
	menus := sol.menusOf(k)
	full := map[string]int{}
	var order []string
	limits := map[string]food.Limit{}
	for _, l := range food.Limits() {
		limits[l.Key] = l
	}
	for row := sb.firstRow; row < sb.endRow; row++ {
		upper := g.p.RowUpper[row]
		if math.IsInf(upper, 1) || upper <= 1e-9 || sol.rows[row] < upper*(1-1e-6) {
			continue
		}
		name := g.p.RowName(row)
		key, _, found := strings.Cut(name, " for ")
		if !found || strings.HasPrefix(name, "stock ") {
			continue
		}
		if full[key] == 0 {
			order = append(order, key)
		}
		full[key]++
	}
	all := len(sb.eaters)
	// kcal of what is eaten under a limit, with its foods by name.
	under := func(key string) (kcal float64, names []string) {
		for _, portion := range menus.Portions {
			if l, known := limits[key]; known && !slices.Contains(l.Foods, portion.Food) || !known && portion.Food != key || portion.Kcal < 0.01*sb.needs {
				continue
			}
			kcal += portion.Kcal
			if name := words.LowerName(strings.TrimSpace(strings.SplitN(portion.Name, ",", 2)[0])); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		return kcal, names
	}
	told := map[string]bool{}
	slices.SortStableFunc(order, func(a, b string) int {
		x, _ := under(a)
		y, _ := under(b)
		return cmp.Compare(y, x)
	})
	for _, key := range order {
		if len(out) >= 5 {
			break
		}
		of := haveWords(full[key], all)
		if l, known := limits[key]; known && l.Kind == "total" {
			out = append([]string{fmt.Sprintf("%s as much food on the plate as a person eats in a day.", words.Capital(of))}, out...)
			continue
		}
		kcal, names := under(key)
		if list := words.List(names); kcal >= 0.02*sb.needs && !told[list] {
			told[list] = true
			out = append(out, fmt.Sprintf("%s the full portion of %s.", words.Capital(of), list))
		}
	}
	for i := range g.lots {
		l := &g.lots[i]
		if l.lot.Kind != "larder" || l.share[k] < 0 || sol.x[l.share[k]]*l.grams[k]*kcalOf(l.lot.Forms) < 0.02*sb.needs {
			continue
		}
		sum := 0.0
		for _, col := range l.share {
			if col >= 0 {
				sum += sol.x[col]
			}
		}
		if sum > 1-1e-6 && g.stockShare(sol, k, l.stock[k]) > 1-1e-6 {
			out = append(out, fmt.Sprintf("All of the %s in %s is eaten.", words.LowerName(l.lot.What), l.lot.From))
		}
	}
	return out
}
