package plan

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/numeric/lp"
)

// level is an objective: a column to make large or small.
type level struct {
	key, name, unit string
	col             int
	most            bool
	give            float64 // in the column's unit
	weight          float64 // in the one objective of the whole-module programme
	bound           float64 // at which nothing more can be had
}

// usualOrder is the keys of the levels in their usual order.
var usualOrder = []string{"worst", "each", "mean", "protein", "matters", "children", "rest", "greens", "nitrogen", "change", "cost", "unasked"}

// LevelKeys returns the keys of the levels in their usual order with what each means.
func LevelKeys() (keys, meaning []string) {
	return slices.Clone(usualOrder), []string{
		"the worst-off eater's share of energy from inside, over all home-fed days",
		"the worst-off eater of each set of days, the sets together",
		"the share of energy from inside, all eaters and days together",
		"the worst-off eater's protein",
		"the worst nutrient that matters within the days",
		"the children's worst nutrient that matters within the days",
		"all nutrients together",
		"what the household wants each week, and standing orders from beds",
		"least nitrogen short",
		"least change against the plan in force",
		"least work, seed and feed",
		"least of what nobody asked for, and of what is only eaten",
	}
}

// levels lists the objectives in the order asked for. The two that feed people come
// before all.
func (g *programme) levels() ([]level, error) {
	give := g.w.o.Give
	all := map[string]level{
		"worst":    {name: "worst-off eater’s energy from inside", unit: "share", col: g.worst, most: true, give: give, weight: 1, bound: 1},
		"each":     {name: "worst-off eater of each set of days, the sets together", unit: "share", col: g.each, most: true, give: give, weight: 0.3, bound: 1},
		"mean":     {name: "energy from inside, all together", unit: "share", col: g.mean, most: true, give: give, weight: 0.3, bound: 1},
		"protein":  {name: "worst-off eater’s protein", unit: "share", col: g.protein, most: true, give: give, weight: 0.1, bound: 1},
		"matters":  {name: "worst nutrient that matters within the days", unit: "share", col: g.matters, most: true, give: give, weight: 0.2, bound: 1},
		"children": {name: "children’s worst nutrient that matters", unit: "share", col: g.child, most: true, give: give, weight: 0.1, bound: 1},
		"rest":     {name: "all nutrients together", unit: "share", col: g.ratios, most: true, give: give / 2, weight: 0.2, bound: 1},
		"greens":   {name: "household greens and orders", unit: "share", col: g.greens, most: true, give: 2 * give, weight: 0.25, bound: 1},
		"nitrogen": {name: "nitrogen short", unit: "g", col: g.nShort, give: 5, weight: -0.00002, bound: 0},
		"change":   {name: "change against the plan in force", unit: "modules", col: g.change, give: 0.5, weight: -0.0001, bound: math.Inf(-1)},
		"cost":     {name: "work, with seed and feed in hours of it", unit: "h", col: g.cost, give: 1, weight: -0.0001, bound: math.Inf(-1)},
		"unasked":  {name: "beds with what is not asked for or only eaten", unit: "modules", col: g.unasked, weight: -0.0001, bound: 0},
	}
	order := slices.Clone(g.w.o.Order)
	for i, key := range order {
		if _, ok := all[key]; !ok {
			return nil, refused("plan: no objective is called %q: use %s", key, strings.Join(usualOrder, ", "))
		}
		if slices.Contains(order[:i], key) {
			return nil, refused("plan: the objective %q stands twice in the order", key)
		}
	}
	for _, key := range usualOrder {
		if !slices.Contains(order, key) {
			order = append(order, key)
		}
	}
	out := []level{
		{key: "fed", name: "energy still to come for children and who else is protected", unit: "share", col: g.fedProtected, give: 1e-4, weight: -4, bound: 0},
		{key: "floor", name: "energy still to come for the worst-off", unit: "share", col: g.fedWorst, give: 1e-4, weight: -4, bound: 0},
	}
	if slices.ContainsFunc(g.set, func(sb setBlock) bool { return !sb.set.Cupboard }) {
		// Where nothing is bought the need is the energy from inside itself.
		out[0].give, out[1].give = math.Max(out[0].give, give), math.Max(out[1].give, give)
	}
	for _, key := range order {
		l := all[key]
		l.key = key
		if l.key == "change" && !g.anyInForce() {
			continue
		}
		if g.w.energyOnly && slices.Contains([]string{"protein", "matters", "children", "rest"}, key) {
			continue
		}
		out = append(out, l)
	}
	return out, nil
}

func (g *programme) anyInForce() bool {
	return slices.ContainsFunc(g.cands, func(c candidate) bool { return c.inForce(g.w) })
}

// leastGive is what a level gives at least, so that the solver's rounding leaves the
// next one possible.
const leastGive = 2e-6

// ErrStopped is wrapped when the context ended before there was any plan to keep.
var ErrStopped = errors.New("stopped before there was a plan")

// linear returns the programme with no column whole.
func linear(p *lp.Problem) *lp.Problem {
	q := *p
	q.Integer = nil
	q.Cost = make([]float64, len(p.Cost))
	q.ColLower, q.ColUpper = slices.Clone(p.ColLower), slices.Clone(p.ColUpper)
	return &q
}

// run solves the levels one after the other on p, whose columns' bounds it changes,
// and returns the last solution. tell is told before each.
func (g *programme) run(ctx context.Context, s *lp.Solver, p *lp.Problem, list []level, tell func(i int)) (*lp.Result, []Level, error) {
	var last *lp.Result
	var out []Level
	p.Maximize = true
	for i, l := range list {
		if tell != nil {
			tell(i)
		}
		if last != nil && math.Abs(last.X[l.col]-l.bound) < 1e-7 {
			// Already at its best: hold it and go on.
			out = append(out, Level{Key: l.key, Name: l.name, Unit: l.unit, Most: l.most, Value: last.X[l.col], Give: l.give})
			g.hold(p, l, last.X[l.col])
			continue
		}
		clear(p.Cost)
		p.Cost[l.col] = 1
		if !l.most {
			p.Cost[l.col] = -1
		}
		set := lp.Settings{}
		if last != nil {
			set.Basis = last.Basis
		}
		r, err := s.Solve(ctx, p, set)
		if err != nil {
			return last, out, fmt.Errorf("plan: level %s: %w", l.name, err)
		}
		if r.Status != lp.Optimal {
			if ctx.Err() != nil {
				return last, out, nil
			}
			return last, out, &noSolution{l.name, r.Status}
		}
		last = r
		out = append(out, Level{Key: l.key, Name: l.name, Unit: l.unit, Most: l.most, Value: r.X[l.col], Give: l.give})
		g.hold(p, l, r.X[l.col])
	}
	if last == nil || len(list) < fullOrder || ctx.Err() != nil {
		return last, out, nil
	}
	// What later levels did not need of the gives goes back to the earlier ones.
	weigh(p, list)
	r, err := s.Solve(ctx, p, lp.Settings{Basis: last.Basis})
	if err != nil {
		return last, out, fmt.Errorf("plan: giving back: %w", err)
	}
	if r.Status == lp.Optimal {
		last = r
	}
	return last, out, nil
}

// fullOrder is how many levels a run has that is to make a plan, and not only to answer
// for its energy.
const fullOrder = 6

// noSolution is a level without a solution, which pins alone can bring about.
type noSolution struct {
	level  string
	status lp.Status
}

func (e *noSolution) Error() string {
	return fmt.Sprintf("plan: level %s: the solver answers %v", e.level, e.status)
}

// hold keeps a level at its value less what it gives.
func (g *programme) hold(p *lp.Problem, l level, value float64) {
	give := math.Max(l.give, leastGive*math.Max(1, math.Abs(value)))
	if l.most {
		p.ColLower[l.col] = math.Max(p.ColLower[l.col], value-give)
	} else {
		p.ColUpper[l.col] = math.Min(p.ColUpper[l.col], value+give)
	}
}

// weigh puts the one objective of all levels into p.
func weigh(p *lp.Problem, list []level) {
	clear(p.Cost)
	p.Maximize = true
	for i, l := range list {
		// What stands earlier weighs no less than by the usual order.
		p.Cost[l.col] = l.weight * math.Pow(0.98, float64(i))
	}
}

// lotPoints is what a sowing more costs, of the worst share, when the sowings of a plan
// in whole modules are made fewer: few larger ones are less work than many small.
const lotPoints = 0.001

// newSowings is how many new sowings a solution has.
func (g *programme) newSowings(x []float64) (n int) {
	for i := range g.cands {
		if g.cands[i].fixedM2 == 0 && x[g.n[i]] > 0.5 {
			n++
		}
	}
	return n
}

// keep holds in q the levels that were asked for before their usual place as they were
// reached, less wholeGive, so that an order holds in whole modules too.
func (g *programme) keep(q *lp.Problem, list []level, held []Level) {
	for i, h := range held {
		if i >= len(list) || !slices.Contains(g.w.o.Order, h.Key) {
			continue
		}
		l := list[i]
		if give := l.give + wholeGive*math.Max(1, math.Abs(h.Value)); l.most {
			q.ColLower[l.col] = math.Max(q.ColLower[l.col], h.Value-give)
		} else {
			q.ColUpper[l.col] = math.Min(q.ColUpper[l.col], h.Value+give)
		}
	}
}

// wholes finds whole modules and fish near solutions: every whole column from near
// below least to near above x, those at nothing in x left there; each sowing used
// costs lot. The levels of held are kept. The solution has the columns of p, and where
// a lot costs a binary for each sowing after them.
func (g *programme) wholes(ctx context.Context, s *lp.Solver, list []level, held []Level, least, x []float64, near, gap, lot float64) (*lp.Result, error) {
	q := *g.p
	q.Cost = make([]float64, len(q.Cost))
	q.ColLower, q.ColUpper = slices.Clone(q.ColLower), slices.Clone(q.ColUpper)
	weigh(&q, list)
	for j, whole := range q.Integer {
		if !whole {
			continue
		}
		if x[j] < 1e-6 {
			q.ColUpper[j] = q.ColLower[j]
			continue
		}
		q.ColLower[j] = math.Max(q.ColLower[j], math.Floor(least[j]+1e-9)-near)
		q.ColUpper[j] = math.Min(q.ColUpper[j], math.Ceil(x[j]-1e-9)+near)
	}
	g.keep(&q, list, held)
	// Sowings that are used: a binary for each.
	n := len(q.Cost)
	rows := len(q.RowLower)
	start := slices.Clone(q.Start)
	indexOf, valueOf := make([][]int, n), make([][]float64, n)
	var used []int
	for i := range g.cands {
		j := g.n[i]
		if lot > 0 && g.cands[i].fixedM2 == 0 && q.ColUpper[j] > 0 {
			used = append(used, j)
		}
	}
	for k, j := range used {
		indexOf[j], valueOf[j] = []int{rows + k}, []float64{1}
	}
	r := q
	r.Index, r.Value, r.Start = nil, nil, []int{0}
	for j := range n {
		r.Index = append(append(r.Index, q.Index[start[j]:start[j+1]]...), indexOf[j]...)
		r.Value = append(append(r.Value, q.Value[start[j]:start[j+1]]...), valueOf[j]...)
		r.Start = append(r.Start, len(r.Index))
	}
	r.RowLower, r.RowUpper = slices.Clone(q.RowLower), slices.Clone(q.RowUpper)
	r.Cost, r.Integer = slices.Clone(q.Cost), slices.Clone(q.Integer)
	r.ColLower, r.ColUpper = slices.Clone(q.ColLower), slices.Clone(q.ColUpper)
	for k, j := range used {
		r.Index = append(r.Index, rows+k)
		r.Value = append(r.Value, -q.ColUpper[j])
		r.Start = append(r.Start, len(r.Index))
		r.Cost = append(r.Cost, -lot)
		r.ColLower, r.ColUpper = append(r.ColLower, 0), append(r.ColUpper, 1)
		r.Integer = append(r.Integer, true)
		r.RowLower, r.RowUpper = append(r.RowLower, math.Inf(-1)), append(r.RowUpper, 0)
	}
	res, err := s.Solve(ctx, &r, lp.Settings{MIPGap: gap, Clock: wholesClock})
	if err != nil {
		return nil, fmt.Errorf("plan: whole modules: %w", err)
	}
	return res, nil
}

// wholeGive is what of a level that was asked for whole modules may cost, over its give.
const wholeGive = 0.02

// wholesClock limits one search for whole modules, in counted seconds: twice what the
// demo building takes. What is found by then is taken.
const wholesClock = 12
