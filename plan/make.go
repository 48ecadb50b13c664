package plan

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"tidebed/meals"
	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/science/crop"
	"tidebed/season"
	"tidebed/site"
)

// Make works out the plan of a site as seen from today: what stands is fixed, what
// the site has planned after today is the plan in force, which the new one may
// change. Two runs on the same input give the same plan.
//
// When ctx ends the best plan so far is returned with Stopped set; when there is none
// yet, the error wraps ErrStopped. Where site, day, pins or options leave no plan to make
// the error is ErrAsked; other errors are what the season and the solver report.
func Make(ctx context.Context, s *site.Site, today site.Date, o Options) (*Plan, error) {
	m, err := newMaker(ctx, s, today, o)
	if err != nil {
		return nil, err
	}
	defer m.close()
	if len(m.w.sets) == 0 {
		return m.nothing(), nil
	}
	return m.make(ctx)
}

// ErrAsked is what an error of Make is when site, day, pins or options are such that no plan can
// be made.
var ErrAsked = errors.New("what is asked cannot be planned")

// askedError is ErrAsked in the words of the case.
type askedError struct{ text string }

func (e *askedError) Error() string { return e.text }

func (e *askedError) Is(target error) bool { return target == ErrAsked }

func refused(format string, args ...any) error { return &askedError{fmt.Sprintf(format, args...)} }

// maker is a plan in the making.
type maker struct {
	s       *site.Site
	o       Options
	w       *worker
	base    *base
	stands  *site.Site // with what stands alone
	fixed   []candidate
	offered []candidate
	pool    *lp.Pool
	own     bool
	steps   int
	step    int
	best    float64
	warn    []string
}

func (m *maker) close() {
	if m.own {
		m.pool.Close()
	}
}

// tell reports the next step.
func (m *maker) tell(text string, gap float64) {
	m.step++
	if m.o.Progress != nil {
		m.o.Progress(Progress{Step: text, Done: min(m.step, m.steps), Of: m.steps, Best: m.best, Gap: gap})
	}
}

// fill puts the usual values in and refuses what cannot be.
func (o *Options) fill() error {
	switch {
	case math.IsNaN(o.Give) || o.Give < 0 || o.Give > 0.1:
		return refused("plan: a give of %g: allowed are 0 to 0.1 of a share", o.Give)
	case o.SafetyDays > 60:
		return refused("plan: a safety of %d days: allowed are 0 to 60", o.SafetyDays)
	case math.IsNaN(o.HoursWeek) || o.HoursWeek < 0 || o.HoursWeek > 1000:
		return refused("plan: %g hours of work a week: allowed are 0 to 1000", o.HoursWeek)
	}
	o.Give = cmp.Or(o.Give, UsualGive)
	switch {
	case o.SafetyDays == 0:
		o.SafetyDays = UsualSafetyDays
	case o.SafetyDays < 0:
		o.SafetyDays = 0
	}
	switch {
	case o.LeadDays > 366:
		return refused("plan: %d days until seed comes: allowed are 0 to 366", o.LeadDays)
	case o.LeadDays == 0:
		o.LeadDays = UsualLeadDays
	case o.LeadDays < 0:
		o.LeadDays = 0
	}
	switch {
	case o.Rounds == 0:
		o.Rounds = UsualRounds
	case o.Rounds < 0:
		o.Rounds = 0
	}
	o.KeepPoints = cmp.Or(o.KeepPoints, UsualKeepPoints)
	return nil
}

// newMaker readies all that does not change while a plan is made.
func newMaker(ctx context.Context, s *site.Site, today site.Date, o Options) (*maker, error) {
	if err := o.fill(); err != nil {
		return nil, err
	}
	m := &maker{s: s, o: o, pool: o.Pool, steps: 8 + 4*max(1, o.Rounds)}
	w := &worker{s: s, today: today, o: o, wishes: map[string]site.CropWish{}, orders: map[string][]site.Order{}, scale: map[string]float64{}, late: map[string]int{}, why: map[string]string{}, rank: map[string]int{}}
	m.w = w
	if s.Opening.Date.IsZero() {
		return nil, refused("plan: the site has no opening: write down what stands on a first day")
	}
	if today.Before(s.Opening.Date.Time) {
		m.warn = append(m.warn, fmt.Sprintf("Today, %s, is before the opening on %s: the plan begins there.", today, s.Opening.Date))
		w.today = s.Opening.Date
	}
	last := s.Opening.Date.Plus(season.LongestDays - 1)
	if w.today.After(last.Time) {
		return nil, refused("plan: today, %s, is more than %d days after the opening on %s: make a new opening of what stands now", today, season.LongestDays, s.Opening.Date)
	}
	for _, set := range s.HomeFed {
		switch {
		case set.To.Before(set.From.Time):
			return nil, refused("home-fed days %q end on %s before they start on %s: change one of the dates", set.Name, set.To, set.From)
		case set.From.Before(w.today.Time) && !set.To.Before(w.today.Time):
			m.warn = append(m.warn, fmt.Sprintf("%s is under way: what is left of it is planned.", set.Name))
			set.From = w.today
			w.sets = append(w.sets, set)
		case set.To.After(last.Time):
			m.warn = append(m.warn, fmt.Sprintf("%s lies beyond %s, the last day that is foretold: it is not planned yet.", set.Name, last))
		case !set.From.Before(w.today.Time):
			w.sets = append(w.sets, set)
		}
	}
	if len(w.sets) > 60 {
		return nil, refused("plan: %d sets of home-fed days: at most 60 are planned at once", len(w.sets))
	}
	slices.SortStableFunc(w.sets, func(a, b site.HomeFedDays) int { return a.From.Compare(b.From.Time) })
	w.start = s.Opening.Date.Plus(s.Opening.Date.DaysTo(w.today) / 7 * 7)
	w.to = w.today.Plus(180)
	for _, set := range w.sets {
		w.holding = append(w.holding, set.From)
		if set.To.After(w.to.Time) {
			w.to = set.To
		}
	}
	if w.to.After(last.Time) {
		w.to = last
	}
	w.weeks = w.start.DaysTo(w.to)/7 + 1
	for _, x := range s.Crops {
		w.wishes[x.Crop] = x
	}
	for _, b := range s.Buyers {
		for _, x := range b.Orders {
			if _, err := crop.Lookup(x.Good); err == nil {
				w.orders[x.Good] = append(w.orders[x.Good], x)
			}
		}
	}
	for good := range w.orders { // what trays give is not sown in beds
		if slices.ContainsFunc(s.Greens, func(g site.TrayGreen) bool { return g.Green == good }) {
			delete(w.orders, good)
		}
	}
	w.groups = groupsOf(s)
	for i := range w.groups {
		w.groups[i].weeks(w.weeks)
	}
	if len(w.groups) == 0 {
		m.warn = append(m.warn, "The site has no bed to plant: nothing can be sown, and fish alone foul their water.")
	}
	if len(w.sets) == 0 {
		return m, nil
	}
	if m.pool == nil {
		m.pool, m.own = lp.NewPool(2), true
	}
	return m, m.prepare(ctx)
}

// prepare runs the season of what stands and grows all candidates.
func (m *maker) prepare(ctx context.Context) error {
	w := m.w
	m.tell("the season of what stands", 0)
	stands := *m.s
	stands.Opening.Plantings = nil
	for _, p := range m.s.Opening.Plantings {
		if !p.Planted.After(w.today.Time) {
			stands.Opening.Plantings = append(stands.Opening.Plantings, p)
		}
	}
	m.stands = &stands
	b := &base{}
	m.base = b
	var err error
	ahead := season.Ahead(&stands)
	if w.to.After(ahead.To.Time) {
		ahead.To = w.to
	}
	if b.all, err = season.All(&stands, ahead); err != nil {
		return err
	}
	for _, set := range w.sets {
		lots, miss, warn, err := meals.Lots(&stands, &b.all, w.today, set)
		if err != nil {
			return err
		}
		eaters, said, err := meals.Eaters(m.s, set)
		if err != nil {
			return err
		}
		b.lots, b.miss, b.eaters = append(b.lots, lots), append(b.miss, miss), append(b.eaters, eaters)
		for _, x := range warn {
			if !slices.Contains(b.warn, x) {
				b.warn = append(b.warn, x)
			}
		}
		for _, c := range said {
			if !slices.Contains(b.caution, c) {
				b.caution = append(b.caution, c)
			}
		}
	}
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("plan: %w", ErrStopped)
	}
	m.tell("what could be sown", 0)
	if w.sky, err = season.NewSky(m.s); err != nil {
		return err
	}
	bench, err := season.NewBench(m.s, season.Options{To: w.to, Course: season.Low, Holding: w.holding, Sky: w.sky})
	if err != nil {
		return err
	}
	// What stands, and what is in force.
	at := 0
	for i, p := range m.s.Opening.Plantings {
		c, err := crop.Lookup(p.Crop)
		if err != nil {
			return fmt.Errorf("opening.plantings[%d]: %w", i, err)
		}
		g := slices.IndexFunc(w.groups, func(g group) bool { return slices.Contains(g.Beds, p.Bed) })
		if g < 0 {
			return refused("opening.plantings[%d]: bed %q has no area to plant", i, p.Bed)
		}
		x := candidate{crop: &c, group: g, planted: p.Planted, pull: p.Pull, index: i, fixedM2: p.AreaM2, bed: p.Bed, scale: 1}
		if p.Planted.After(w.today.Time) {
			if m.o.Afresh || w.forbidden(&c, &w.groups[g], p.Planted) || p.Planted.After(w.to.Time) {
				continue
			}
			one := p
			one.AreaM2 = 1
			grown, err := bench.Grow(one)
			if err != nil {
				return err
			}
			x.grown, x.picks = &grown, grown.Picks
			x.scale = cmp.Or(w.scale[w.key(&c, g)], 1)
		} else {
			grown := b.all[season.Low].Plantings[at]
			at++
			grown.NUptakeG /= p.AreaM2
			grown.HarvestKg /= p.AreaM2
			grown.Picks = slices.Clone(grown.Picks)
			for k := range grown.Picks {
				grown.Picks[k].Kg /= p.AreaM2
			}
			x.grown, x.picks = &grown, grown.Picks
		}
		x.pulled = x.grown.Pulled
		if x.pulled.IsZero() {
			x.pulled = w.to.Plus(1)
		}
		keeps, _, _ := meals.Kept(m.s, c)
		w.serve(&x, keeps, 0, 0, w.wanted(&c))
		x.from, x.to = w.week(x.planted), min(w.weeks-1, w.week(x.pulled.Plus(turnDays-1)))
		if x.stands(w) && x.pulled.After(w.today.Time) {
			w.groups[g].stand(p.Bed, p.AreaM2, 0, x.to)
		}
		m.fixed = append(m.fixed, x)
	}
	for i := range w.groups {
		w.groups[i].free(w.weeks)
	}
	m.o.Pins = added(m.o.Pins)
	w.o.Pins = m.o.Pins
	for i, p := range m.o.Pins {
		if !p.Forbid && slices.ContainsFunc(m.o.Pins, func(q Pin) bool {
			return q.Forbid && q.Crop == p.Crop && (q.Group == "" || q.Group == p.Group) && q.From.IsZero() && q.To.IsZero()
		}) {
			return refused("plan: pin %d wants %g m² of %s, and another forbids it: take one of them back", i+1, p.AreaM2, p.Crop)
		}
	}
	if m.offered, err = w.candidates(); err != nil {
		return err
	}
	for i := range m.o.Pins {
		if p := &m.o.Pins[i]; !p.Forbid {
			if why := w.pinless(p, m.offered, m.fixed); why != "" {
				return refused("plan: pin %d wants %s of %s, and nothing of it can be sown there: %s: take it back or change it", i+1, areaWords(p.AreaM2), p.Crop, why)
			}
		}
	}
	for key, why := range w.why {
		if slices.ContainsFunc(m.offered, func(c candidate) bool { return c.crop.Key == key }) {
			delete(w.why, key)
		} else if why == "" {
			delete(w.why, key)
		}
	}
	return nil
}

// added puts pins that ask for the same together: two of 2 m² ask for 4.
func added(pins []Pin) (out []Pin) {
	for _, p := range pins {
		same := slices.IndexFunc(out, func(q Pin) bool {
			return !p.Forbid && !q.Forbid && p.Crop == q.Crop && p.Group == q.Group && p.From == q.From && p.To == q.To
		})
		if same >= 0 {
			out[same].AreaM2 += p.AreaM2
			continue
		}
		out = append(out, p)
	}
	return out
}

// again offers the same candidates with the corrections as they now are; extra days
// late for all that is sown from now on.
func (m *maker) again(extra int) []candidate {
	w := m.w
	out := slices.Clone(m.fixed)
	for i := range m.offered {
		c := m.offered[i]
		keeps, _, _ := meals.Kept(w.s, *c.crop)
		safety := 0
		if c.crop.HarvestKind == crop.Once {
			safety = w.o.SafetyDays
		}
		if extra > 0 {
			safety = 0 // the late harvest is what the safety is for
		}
		key := w.key(c.crop, c.group)
		c.scale = cmp.Or(w.scale[key], 1)
		if c.young {
			if extra > 0 {
				c.scale *= lateYoung
			}
			w.serve(&c, min(keeps, youngKeepsDays), 0, 0, false)
		} else {
			late := w.late[key] + extra
			w.serve(&c, keeps, safety, late, w.wanted(c.crop))
			if c.crop.HarvestKind == crop.Once && late > 0 && c.pull.IsZero() {
				c.pulled = c.pulled.Plus(late)
				c.to = min(w.weeks-1, w.week(c.pulled.Plus(turnDays-1)))
			}
		}
		out = append(out, c)
	}
	return out
}

// lateYoung is what a crop taken young on its day gives when it is a week late:
// common practice, no source.
const lateYoung = 0.75

// solution is a plan as the programme has it.
type solution struct {
	g      *programme
	n      []float64 // by candidate
	x      []float64 // of the programme
	rows   []float64 // the values of its rows, once settled
	levels []Level
	bound  float64
	gap    float64

	wholeGap float64 // before the sowings were made fewer
	first    int     // how many new sowings there were then
	few      int     // and after

	worst float64
	mean  float64
	means []float64 // by occasion
	seats [][]Part  // by candidate
}

// make solves, runs the season, corrects and solves again.
func (m *maker) make(ctx context.Context) (*Plan, error) {
	w := m.w
	keep, inForce, err := m.keepsForce(ctx)
	if err != nil {
		return nil, err
	}
	var best *solution
	var bestFound [2]float64
	var rounds []Round
	settled := "The plan was not run through the season."
	stopped := false
	collides := inForce.collides
	for round := 0; ; round++ {
		m.tell(fmt.Sprintf("levels, round %d", round+1), 0)
		sol, err := m.solve(ctx, m.again(0), keep)
		if err != nil {
			if ctx.Err() != nil && best == nil && !errors.Is(err, ErrStopped) {
				return nil, fmt.Errorf("%w: %w", ErrStopped, err)
			}
			if best == nil || ctx.Err() == nil {
				return nil, err
			}
			stopped = true
			break
		}
		if m.o.Rounds == 0 {
			best, bestFound = sol, [2]float64{sol.worst, sol.mean}
			break
		}
		m.best = math.Max(m.best, sol.worst)
		m.tell(fmt.Sprintf("season with the plan, round %d", round+1), sol.gap)
		found, changed, err := m.tryOut(ctx, sol)
		if err != nil {
			if ctx.Err() == nil {
				return nil, err
			}
			if best == nil {
				best, bestFound = sol, [2]float64{sol.worst, sol.mean}
			}
			stopped = true
			break
		}
		rounds = append(rounds, Round{WorstShare: sol.worst, Found: found[0], Changed: changed})
		if best == nil || found[0] > bestFound[0]+1e-6 || found[0] > bestFound[0]-1e-6 && found[1] > bestFound[1] {
			best, bestFound = sol, found
		}
		switch {
		case changed < settledShare:
			settled = fmt.Sprintf("Plan and season agree: in round %d no occasion’s energy changed by as much as 1 %% of its need.", round+1)
		case ctx.Err() != nil:
			settled = "Stopped before plan and season agreed; this is the best round so far."
			stopped = true
		case round+1 >= m.o.Rounds:
			settled = fmt.Sprintf("After %d rounds an occasion’s energy still changes by %.1f %% of its need; this is the best of them.", round+1, 100*changed)
		default:
			continue
		}
		break
	}
	m.tell("menus, beds and check", best.gap)
	p, err := m.read(context.WithoutCancel(ctx), best)
	if err != nil {
		return nil, err
	}
	p.Rounds, p.Settled, p.Stopped = rounds, settled, stopped || ctx.Err() != nil
	p.InForce.WorstShare, p.InForce.MeanShare, p.InForce.Sowings = inForce.worst, inForce.means, inForce.n
	p.InForce.Keep, p.InForce.Say = keep, inForce.say
	p.Collides = append(p.Collides, collides...)
	if !p.Stopped {
		more, err := m.relax(ctx, best, p)
		if err != nil && ctx.Err() == nil {
			return nil, err
		}
		p.Collides = append(p.Collides, more...)
	}
	m.words(p)
	p.made, p.found = m, best
	for _, key := range slices.Sorted(maps.Keys(w.why)) {
		c, err := crop.Lookup(key)
		if err != nil {
			return nil, err
		}
		p.Rejected = append(p.Rejected, Rejected{Crop: key, Name: c.Name, Why: w.why[key]})
	}
	return p, nil
}

// settledShare is the change of an occasion's energy, over its need, below which plan
// and season agree.
const settledShare = 0.01

// force is what the plan in force gives.
type force struct {
	n        int
	worst    []float64
	means    []float64
	say      string
	collides []Collide
}

// keepsForce works out what the plan in force gives, and whether more would be won by
// changing it than the change is worth.
func (m *maker) keepsForce(ctx context.Context) (keep bool, f force, err error) {
	w := m.w
	for i := range m.fixed {
		if m.fixed[i].inForce(w) {
			f.n++
		}
	}
	m.tell("the plan in force", 0)
	value := func(which int) (worst, means []float64, mean float64, ok bool, err error) {
		cands := m.again(0)
		if which == 0 {
			cands = m.fixed
		}
		x := *w
		x.o.Order = nil // the figures of what is in force do not move with the question
		x.o.Pins = nil  // they are of the plan that is made
		g, err := x.build(m.base, cands)
		if err != nil {
			return nil, nil, 0, false, err
		}
		q := linear(g.p)
		for i := range cands {
			if cands[i].inForce(w) && which < 2 {
				q.ColLower[g.n[i]] = 1
			}
		}
		list, err := g.levels()
		if err != nil {
			return nil, nil, 0, false, err
		}
		var two []level
		for _, l := range list {
			if l.key == "fed" || l.key == "floor" || l.key == "worst" || l.key == "each" || l.key == "mean" {
				two = append(two, l)
			}
		}
		var res *lp.Result
		err = m.pool.Do(ctx, func(s *lp.Solver) error {
			res, _, err = g.run(ctx, s, q, two, nil)
			return err
		})
		if err != nil || res == nil {
			return nil, nil, 0, false, err
		}
		for i := range g.set {
			worst, means = append(worst, res.X[g.set[i].block.Worst]), append(means, res.X[g.set[i].block.Inside])
		}
		return worst, means, res.X[g.mean], true, nil
	}
	var ok bool
	if f.worst, f.means, _, ok, err = value(0); err != nil || !ok {
		if ctx.Err() != nil {
			return false, f, nil
		}
		if none := new(noSolution); err != nil && !errors.As(err, &none) {
			return false, f, err
		}
		// It cannot be kept as it stands: say so, and plan afresh.
		f.say = "The plan in force cannot be carried out as it stands: its beds, hands or nursery do not suffice."
		f.collides = append(f.collides, Collide{What: "the plan in force", Mend: "the plan proposed leaves out what finds no room"})
		return false, f, nil
	}
	if f.n == 0 || m.o.Afresh || m.o.KeepPoints < 0 {
		return false, f, nil
	}
	var gain float64
	for i, points := range []float64{-100, 100} { // with it kept, with all free
		_, _, mean, ok, err := value(1 + i)
		if none := new(noSolution); err != nil && !errors.As(err, &none) && ctx.Err() == nil {
			return false, f, err
		}
		if err != nil || !ok {
			return false, f, nil
		}
		gain += points * mean
	}
	if gain < m.o.KeepPoints {
		f.say = fmt.Sprintf("What is planned already stays: changing it would win %.1f points of the energy, less than the %.1f for which it is changed.", math.Max(0, gain), m.o.KeepPoints)
		return true, f, nil
	}
	f.say = fmt.Sprintf("Changing what is planned already wins %.1f points of the energy.", gain)
	return false, f, nil
}

// solve runs all levels as linear programmes, then finds whole modules and fish, then
// the levels once more with those fixed, for the menus.
func (m *maker) solve(ctx context.Context, cands []candidate, keep bool) (*solution, error) {
	g, err := m.w.build(m.base, cands)
	if err != nil {
		return nil, err
	}
	if keep {
		for i := range cands {
			if cands[i].inForce(m.w) {
				g.p.ColLower[g.n[i]] = 1
			}
		}
	}
	list, err := g.levels()
	if err != nil {
		return nil, err
	}
	sol := &solution{g: g}
	err = m.pool.Do(context.WithoutCancel(ctx), func(s *lp.Solver) error {
		q := linear(g.p)
		res, levels, err := g.run(ctx, s, q, list, nil)
		if none := new(noSolution); errors.As(err, &none) {
			return m.impossible(ctx, none.status)
		}
		if err != nil {
			return err
		}
		if res == nil { // stopped at the first: what stands, and what must be
			res = &lp.Result{X: slices.Clone(g.p.ColLower)}
			for j, v := range res.X {
				res.X[j] = math.Max(0, v)
			}
		}
		sol.levels = levels
		// The bound of the one objective.
		b := linear(g.p)
		weigh(b, list)
		g.keep(b, list, levels)
		bound, err := s.Solve(ctx, b, lp.Settings{})
		if err != nil {
			return fmt.Errorf("plan: bound: %w", err)
		}
		m.tell("whole modules", 0)
		least, near := slices.Clone(res.X), slices.Clone(res.X)
		if bound.Status == lp.Optimal {
			sol.bound = bound.Objective
			for j := range near { // what either solution uses may be used, and need be only by both
				near[j], least[j] = math.Max(res.X[j], math.Min(bound.X[j], 1e6)), math.Min(res.X[j], bound.X[j])
			}
		}
		away := func(x []float64) float64 { return math.Max(0, sol.bound-objective(b, x)) / math.Abs(sol.bound) }
		// Close to both solutions first, as many sowings as they like. Where that is too
		// little, wider, since two ways to use one bed may bar each other there. Only where
		// nothing whole keeps the order that was asked for is it let go.
		n := len(g.p.Cost)
		var whole *lp.Result
		held := levels
		for _, try := range []struct {
			held []Level
			near float64
		}{{levels, 1}, {levels, 3}, {nil, 3}} {
			next, err := g.wholes(ctx, s, list, try.held, least, near, try.near, wholeGap, 0)
			if err != nil {
				return err
			}
			if whole == nil || !whole.HasSolution || next.HasSolution && next.Objective > whole.Objective {
				whole, held = next, try.held
			}
			if ctx.Err() != nil || whole.HasSolution && (next.Status != lp.Optimal || try.near > 1 || sol.bound == 0 || away(whole.X[:n]) < wideGap) {
				break // near enough, as near as it gets, or the time of a search is up
			}
		}
		if whole.Status == lp.Infeasible && ctx.Err() == nil {
			return m.impossible(ctx, whole.Status)
		}
		var x []float64
		if whole.HasSolution {
			x = whole.X[:n]
			if sol.bound != 0 {
				sol.wholeGap = away(x)
			}
			sol.first, sol.few = g.newSowings(x), g.newSowings(x)
			// Then fewer sowings, close to those.
			m.tell("fewer sowings", sol.wholeGap)
			fewer, err := g.wholes(ctx, s, list, held, make([]float64, n), x, 1, wholeGap, lotPoints)
			if err != nil {
				return err
			}
			if fewer.HasSolution && objective(b, fewer.X[:n])-lotPoints*float64(g.newSowings(fewer.X)) > objective(b, x)-lotPoints*float64(sol.first) {
				x, sol.few = fewer.X[:n], g.newSowings(fewer.X)
			}
		} else { // stopped, or too hard: what is whole of the linear solution, which leaves room for itself
			x = slices.Clone(res.X)
			for j, is := range g.p.Integer {
				if is {
					x[j] = math.Max(g.p.ColLower[j], math.Floor(x[j]+1e-6))
				}
			}
			for i := range g.stockings {
				x[g.stockings[i].col] = 0
			}
			for i := range g.takes {
				if g.takes[i].cohort < 0 {
					x[g.takes[i].col] = 0
				}
			}
		}
		if sol.bound != 0 {
			sol.gap = away(x)
		}
		// The menus, with what is whole fixed. A stop no longer matters: this is short.
		f := linear(g.p)
		for j, is := range g.p.Integer {
			if is {
				f.ColLower[j], f.ColUpper[j] = math.Round(x[j]), math.Round(x[j])
			}
		}
		last, wholeLevels, err := g.run(context.WithoutCancel(ctx), s, f, list, nil)
		if err != nil {
			return err
		}
		for i := range sol.levels {
			if i < len(wholeLevels) {
				sol.levels[i].Whole = wholeLevels[i].Value
			}
		}
		sol.x = last.X
		return nil
	})
	if err != nil {
		return nil, err
	}
	sol.n = make([]float64, len(cands))
	for i := range cands {
		sol.n[i] = math.Round(sol.x[g.n[i]])
	}
	g.idle(sol)
	sol.worst, sol.mean = 1, 0
	for i := range g.set {
		sol.worst = math.Min(sol.worst, sol.x[g.set[i].block.Worst])
		sol.means = append(sol.means, sol.x[g.set[i].block.Inside])
	}
	sol.mean = sol.x[g.mean]
	return sol, nil
}

// wholeGap is the relative distance from its bound at which the search for whole
// modules may end.
const wholeGap = 0.003

// wideGap is the distance from the bound above which whole modules are sought once more
// in a wider neighbourhood.
const wideGap = 0.005

// objective is p's objective of x.
func objective(p *lp.Problem, x []float64) (sum float64) {
	for j, c := range p.Cost {
		sum += c * x[j]
	}
	return sum
}

// impossible says what collides when there is no plan at all: pins, since all else
// may be left undone.
func (m *maker) impossible(ctx context.Context, status lp.Status) error {
	if ctx.Err() != nil {
		return fmt.Errorf("plan: %w", ErrStopped)
	}
	if slices.ContainsFunc(m.o.Pins, func(p Pin) bool { return !p.Forbid }) {
		return refused("plan: the pins cannot all be met: %s; make one smaller, earlier or later, or take it back", m.pinsWords())
	}
	return fmt.Errorf("plan: no whole plan was found: the solver answers %v", status)
}

// nothing is the answer of a site without home-fed days to come.
func (m *maker) nothing() *Plan {
	p := &Plan{Site: m.s.Name, Today: m.w.today, From: m.w.today, To: m.w.to, Warnings: m.warn}
	p.Sentence = "No home-fed days are to come: set some in the site file, and this page says what to sow for them."
	if len(m.w.groups) == 0 {
		p.Sentence = "There is no bed to plant and no home-fed day to plan for: describe both in the site file."
	}
	for i := range m.w.groups {
		p.Groups = append(p.Groups, m.w.groups[i].Group)
	}
	return p
}

// tryOut runs the season with a solution, takes its yields and days as corrections
// and solves the menus again with them: the shares that are found, and the largest
// change of an occasion's energy over its need.
func (m *maker) tryOut(ctx context.Context, sol *solution) (found [2]float64, changed float64, err error) {
	m.seat(sol)
	applied, takes := m.apply(sol)
	options := season.Options{To: m.w.to, Course: season.Low, Takes: takes, TakesUpTo: true, Holding: m.holdings()}
	run, err := season.Run(applied.site, options)
	if err != nil {
		return found, 0, fmt.Errorf("plan: the season with it: %w", err)
	}
	_, before, _, err := m.held(ctx, sol, sol.g.cands)
	if err != nil {
		return found, 0, err
	}
	worst, means, mean, err := m.held(ctx, sol, m.exact(sol, run, applied))
	if err != nil {
		return found, 0, err
	}
	for i := range means {
		changed = math.Max(changed, math.Abs(means[i]-before[i]))
	}
	m.learn(sol, run, applied)
	return [2]float64{worst, mean}, changed, nil
}

// exact is a solution's candidates with the picks that the season with it gives: what
// stands or is sown by those of its own plantings, the others as they were.
func (m *maker) exact(sol *solution, run *season.Forecast, a applied) []candidate {
	out := slices.Clone(sol.g.cands)
	for i := range out {
		c := &out[i]
		if len(a.plantings[i]) == 0 {
			continue
		}
		area := 0.0
		var picks []season.Pick
		grown := *c.grown
		grown.First = site.Date{}
		for _, at := range a.plantings[i] {
			p := &run.Plantings[at]
			area += p.AreaM2
			if !p.First.IsZero() && (grown.First.IsZero() || p.First.After(grown.First.Time)) {
				grown.First = p.First
			}
			for _, pick := range p.Picks {
				if k := slices.IndexFunc(picks, func(x season.Pick) bool { return x.Day == pick.Day && x.Until == pick.Until }); k >= 0 {
					picks[k].Kg += pick.Kg
				} else {
					picks = append(picks, pick)
				}
			}
		}
		slices.SortStableFunc(picks, func(x, y season.Pick) int { return x.Day.Compare(y.Day.Time) })
		for k := range picks {
			picks[k].Kg /= area
		}
		c.picks, c.grown, c.scale = picks, &grown, 1
		keeps, _, _ := meals.Kept(m.s, *c.crop)
		if c.young {
			keeps = min(keeps, youngKeepsDays)
		}
		m.w.serve(c, keeps, 0, 0, m.w.wanted(c.crop))
	}
	return out
}

// settle solves the menus of a solution once more, level by level, with what the
// season with it gives: the answer that people see.
func (m *maker) settle(ctx context.Context, sol *solution, run *season.Forecast, a applied) error {
	cands := m.exact(sol, run, a)
	g, err := m.w.build(m.base, cands)
	if err != nil {
		return err
	}
	f := linear(g.p)
	m.fix(f, g, sol)
	list, err := g.levels()
	if err != nil {
		return err
	}
	return m.pool.Do(ctx, func(s *lp.Solver) error {
		res, levels, err := g.run(ctx, s, f, list, nil)
		if err != nil {
			return err
		}
		if res == nil {
			return fmt.Errorf("plan: %w", ErrStopped)
		}
		for i := range sol.levels {
			if i < len(levels) {
				sol.levels[i].Whole = levels[i].Value
			}
		}
		sol.g, sol.x, sol.rows = g, res.X, res.RowValue
		return nil
	})
}

// fix holds what is whole in a solution in another programme of the same candidates.
// Beds, work and nursery limit nothing there: with other yields and days they may be a
// little over, and what stands in the season stands.
func (m *maker) fix(f *lp.Problem, g *programme, sol *solution) {
	f.RowUpper = slices.Clone(f.RowUpper)
	for _, rows := range append(slices.Clone(g.bedRow), g.labour, g.nursery) {
		for _, row := range rows {
			if row >= 0 {
				f.RowUpper[row] = math.Inf(1)
			}
		}
	}
	hold := func(col int, v float64) { f.ColLower[col], f.ColUpper[col] = math.Round(v), math.Round(v) }
	for i := range g.cands {
		hold(g.n[i], sol.n[i])
	}
	for i := range g.takes {
		hold(g.takes[i].col, sol.x[sol.g.takes[i].col])
	}
	for i := range g.stockings {
		hold(g.stockings[i].col, sol.x[sol.g.stockings[i].col])
	}
}

// held is what a solution's sowings and fish give with other yields and days: the
// worst share, the mean of each occasion and that of all. cands are the same, in the
// same order.
func (m *maker) held(ctx context.Context, sol *solution, cands []candidate) (worst float64, means []float64, mean float64, err error) {
	g, err := m.w.build(m.base, cands)
	if err != nil {
		return 0, nil, 0, err
	}
	list, err := g.levels()
	if err != nil {
		return 0, nil, 0, err
	}
	f := linear(g.p)
	m.fix(f, g, sol)
	list = slices.DeleteFunc(list, func(l level) bool {
		return l.key != "fed" && l.key != "floor" && l.key != "worst" && l.key != "each" && l.key != "mean"
	})
	err = m.pool.Do(ctx, func(s *lp.Solver) error {
		res, _, err := g.run(ctx, s, f, list, nil)
		if err != nil {
			return err
		}
		if res == nil {
			return fmt.Errorf("plan: %w", ErrStopped)
		}
		worst = 1
		for i := range g.set {
			means = append(means, res.X[g.set[i].block.Inside])
			worst = math.Min(worst, res.X[g.set[i].block.Worst])
		}
		mean = res.X[g.mean]
		return nil
	})
	return worst, means, mean, err
}

// holdings are all days for which the season keeps ripe crops standing: those of the
// site, so that what the plan grows and what Meals grows are one.
func (m *maker) holdings() (out []site.Date) {
	for _, set := range m.s.HomeFed {
		out = append(out, set.From)
	}
	return out
}

// learn takes most of what the season's yields and days differ as corrections for
// crops in groups: not all, so that they settle.
func (m *maker) learn(sol *solution, run *season.Forecast, a applied) {
	type sum struct{ grown, found, late, n float64 }
	all := map[string]*sum{}
	for i, c := range sol.g.cands {
		if c.index >= 0 || sol.n[i] < 1 {
			continue
		}
		key := m.w.key(c.crop, c.group)
		x := all[key]
		if x == nil {
			x = &sum{}
			all[key] = x
		}
		for _, at := range a.plantings[i] {
			p := &run.Plantings[at]
			want := 0.0
			for _, pick := range c.picks {
				want += pick.Kg * p.AreaM2
			}
			x.grown += want
			x.found += p.HarvestKg
			if !c.young && !p.First.IsZero() && !c.grown.First.IsZero() {
				x.late += float64(c.grown.First.DaysTo(p.First))
				x.n++
			}
		}
	}
	for i := range m.fixed { // what stands shares the water with what is new
		c := &m.fixed[i]
		if len(a.plantings[i]) != 1 || c.inForce(m.w) {
			continue
		}
		p := &run.Plantings[a.plantings[i][0]]
		c.picks = slices.Clone(p.Picks)
		for k := range c.picks {
			c.picks[k].Kg /= p.AreaM2
		}
		keeps, _, _ := meals.Kept(m.s, *c.crop)
		m.w.serve(c, keeps, 0, 0, m.w.wanted(c.crop))
	}
	for key, x := range all {
		if x.grown <= 0 {
			continue
		}
		old := cmp.Or(m.w.scale[key], 1)
		m.w.scale[key] = math.Max(0.05, old+damped*(x.found/x.grown-old))
		if x.n > 0 {
			m.w.late[key] = int(math.Round(x.late / x.n))
		}
	}
}

// damped is how much of a difference is learned in a round.
const damped = 0.7

// menusOf reads an occasion's menu.
func (sol *solution) menusOf(k int) *menu.Menu { return sol.g.set[k].block.Read(sol.x) }
