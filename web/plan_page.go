package web

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tidebed/plan"
	"tidebed/quantity"
	"tidebed/site"
	"tidebed/words"
)

// nextShown is how many of the next jobs stand above the drawing.
const nextShown = 3

// Next are the first jobs, as short lines above the drawing.
func (p *planPage) Next() []wallRow { return p.Soon[:min(nextShown, len(p.Soon))] }

// planBed is a bed's own list of what is sown in it when.
type planBed struct {
	Anchor, Name, Facts string
	Lines               []planBedLine
}

type planBedLine struct {
	Anchor string // of the sowing's details
	When   string
	What   string
	For    string
	Detail *planSowing // nil: they stand at another bed
}

// planSowing is a sowing opened.
type planSowing struct {
	Facts    []startFact
	Grown    []string
	Warnings []string
	Why      string
	Caution  string
	Source   string
}

// m2 prints an area of bed.
func (s *server) m2(v float64) string {
	if s.system == quantity.Metric {
		return plan.Paced(v)
	}
	return s.at(v, quantity.Area)
}

// dayOr prints a day, or a dash for none.
func (s *server) dayOr(d site.Date) string {
	if d.IsZero() {
		return "–"
	}
	return s.when(d)
}

func (s *server) planPage(k *planAsked, p *plan.Plan) *planPage {
	page := &planPage{frame: s.frame("Plan", "plan"), Sentence: p.Sentence, Reasons: p.Reasons, Known: true, Stopped: p.Stopped,
		Query: k.question.query(), Question: strings.TrimPrefix(k.question.query(), "?"), Asked: asksOf(k.question), Cautions: onceSaid(p.Cautions), Warnings: p.Warnings, Collides: p.Collides,
		InForce: p.InForce.Say, Apart: p.Apart(), Assumed: p.Assumed, Form: s.planForm(k.question, nil)}
	page.Today = longDay(p.Today)
	if hungry := p.Unfed(); len(hungry) > 0 && len(p.Collides) == 0 {
		page.Hungry = "Still to be found elsewhere, with what is bought counted in: " + strings.Join(hungry, "; ") + "."
	}
	for i := range p.Occasions {
		o := &p.Occasions[i]
		anchor := "why"
		if len(o.Binds) > 0 {
			anchor = "binds-" + strconv.Itoa(i+1)
			page.Binds = append(page.Binds, planBinds{anchor, o.Name, o.Binds})
		}
		page.Staffs = append(page.Staffs, occasionStaff{planStaff(o, p.InForce.WorstShare, i).view(), anchor, days(o.From, o.To)})
	}
	for i := range p.Occasions {
		o := &p.Occasions[i]
		g := newGrid("On the table in "+o.Name, "day", "*foods")
		for k := range o.Table {
			g.add(s.dayOr(o.Table[k].Date), words.Capital(o.Table[k].Line()))
		}
		if len(g.Rows) > 0 {
			page.Tables = append(page.Tables, planTable{o.Name, g})
		}
	}
	page.Flows = s.planLanes(p)
	page.Lanes = drawPlan(page.Flows)
	s.soonRows(page, p)
	page.Beds = s.planBeds(p)
	s.planTables(page, p)
	s.planLevels(page, p)
	return page
}

// onceSaid leaves out what another caution says too.
func onceSaid(list []string) (out []string) {
	for _, c := range list {
		if !slices.ContainsFunc(list, func(other string) bool { return strings.HasSuffix(other, ": "+c) }) {
			out = append(out, c)
		}
	}
	return out
}

// asksOf says what of a question is not usual.
func asksOf(q planQuestion) (out []string) {
	o := q.options
	add := func(on bool, format string, args ...any) {
		if on {
			out = append(out, fmt.Sprintf(format, args...))
		}
	}
	add(q.typed.Has("today"), "seen from %s", longDay(q.today))
	add(len(o.Order) > 0, "first of all: %s", strings.Join(o.Order, ", then "))
	add(q.typed.Has("give"), "later levels may take back %s points", q.typed.Get("give"))
	add(q.typed.Has("safety"), "ripe %s days before", q.typed.Get("safety"))
	add(q.typed.Has("lead"), "nothing new sown for %s days", q.typed.Get("lead"))
	add(o.HoursWeek > 0, "%s hours of work a week", oneDecimal(o.HoursWeek))
	add(q.typed.Has("pin"), "pinned: %s", q.typed.Get("pin"))
	add(q.typed.Has("forbid"), "forbidden: %s", q.typed.Get("forbid"))
	add(o.Largest, "the largest portions a person will eat")
	add(o.WishedOnly, "only crops of the wishes")
	add(o.NoFish, "no new fish")
	return out
}

// planStaff is the share of the worst-off eater's energy that the plan gives.
func planStaff(o *plan.Occasion, inForce []float64, i int) Staff {
	value := o.WorstShare * 100
	if value < 100 && value >= 99.5 {
		value = 99
	}
	st := Staff{Name: o.Name, Value: value, Low: 100, High: inf, ScaleMin: 0, ScaleMax: 120, Unit: "%", Edge: -1, // promises are of low yields: all of the need is enough
		Marks: []Mark{{"all together", o.MeanShare * 100}}}
	if i < len(inForce) {
		st.Marks = append(st.Marks, Mark{"as things are now", inForce[i] * 100})
	}
	if o.Fed() {
		st.Borne = borne(o.FedShare, o.MeanShare)
	}
	if o.LateShare > 0 {
		st.Marks = append(st.Marks, Mark{"all if what is sown ripens a week late", o.LateShare * 100})
	}
	return st
}

// soonRows are the jobs of the next weeks.
func (s *server) soonRows(page *planPage, p *plan.Plan) {
	jobs, all := p.Soon()
	for _, j := range jobs {
		row := wallRow{Day: s.when(j.Date), Job: j.Line(), Where: j.Where, Amount: j.Amount, Why: j.Why}
		page.Soon = append(page.Soon, row)
	}
	page.SoonNote = fmt.Sprintf("The next %s; all %s stand on the sheet for the wall.", words.Count(len(jobs), "job", "jobs"), words.Count(all, "job", "jobs"))
	if len(jobs) == all {
		page.SoonNote = ""
	}
}

func dashed(text string) string {
	if text == "" {
		return "–"
	}
	return words.Capital(text)
}

// planBeds is each bed's list, in the order of the building.
func (s *server) planBeds(p *plan.Plan) []planBed {
	var out []planBed
	at := map[string]int{}
	for i := range s.cfg.Site.Loops {
		for _, b := range s.cfg.Site.Loops[i].Beds {
			at[b.Name] = len(out)
			out = append(out, planBed{Anchor: "bed-" + strconv.Itoa(len(out)+1), Name: b.Name, Facts: fmt.Sprintf("%s, %s bed in %s", s.m2(b.GrowingM2()), b.Kind, b.Zone)})
		}
	}
	for i := range p.Sowings {
		x := &p.Sowings[i]
		anchor := "sowing-" + strconv.Itoa(i+1)
		opened := -1 // the first bed that has it
		for _, part := range x.Parts {
			if n, ok := at[part.Bed]; ok && (opened < 0 || n < opened) {
				opened = n
			}
		}
		for _, part := range x.Parts {
			n, ok := at[part.Bed]
			if !ok {
				continue
			}
			what := words.Capital(x.Name) + ", " + s.m2(part.AreaM2)
			switch {
			case x.Standing:
				what += ", stands"
			case x.InNursery(p.Today):
				what += ", in the nursery already"
			case x.Pinned:
				what += ", pinned"
			}
			line := planBedLine{Anchor: anchor, When: s.span(x.Plant, x.Pulled), What: what, For: x.UsesOn(part.AreaM2)}
			if n == opened {
				detail := s.planSowing(x, p.Today)
				line.Detail, opened = &detail, -1
			}
			out[n].Lines = append(out[n].Lines, line)
		}
	}
	return out
}

// span is "8 March to 28 July".
func (s *server) span(from, to site.Date) string {
	if to.IsZero() {
		return "from " + s.when(from)
	}
	return s.when(from) + " to " + s.when(to)
}

// planSowing opens one sowing.
func (s *server) planSowing(x *plan.Sowing, today site.Date) planSowing {
	d := planSowing{Grown: x.Grown, Warnings: x.Warnings, Why: x.Why, Caution: x.Caution, Source: x.Source}
	add := func(name, text string) {
		if text != "" && text != "–" {
			d.Facts = append(d.Facts, startFact{name, text})
		}
	}
	if len(x.Parts) > 1 {
		add("all below is of", s.m2(x.AreaM2)+" in "+x.Beds())
	}
	if x.Standing {
		add("stands since", s.dayOr(x.Plant))
	} else {
		switch {
		case x.InNursery(today):
			add("in the nursery since", s.dayOr(x.Sow))
		case x.Nursed():
			add("sown in the nursery", s.dayOr(x.Sow))
		}
		how := "sown in the bed"
		switch {
		case x.Nursed():
			how = "set out"
		case !strings.HasPrefix(x.Propagation, "seed"):
			how = "set in the bed"
		}
		add(how, s.dayOr(x.Plant))
	}
	first := s.dayOr(x.First)
	if x.Young {
		first += ", taken young"
	}
	add("first harvest, low yields", first)
	if x.Last.After(x.First.Time) {
		add("last harvest", s.dayOr(x.Last))
	}
	pulled := s.dayOr(x.Pulled)
	if x.Early {
		pulled += ", before it is over"
	}
	add("bed free", pulled)
	add("yield, low – typical – high", kilograms(x.Kg[0])+" – "+kilograms(x.Kg[1])+" – "+kilograms(x.Kg[2]))
	if x.Why == "" {
		add("for", x.Uses())
	}
	if x.Plants > 0 {
		add("plants", grouped(math.Ceil(x.Plants-1e-9)))
	}
	if x.Seeds > 0 {
		add("seeds to sow", grouped(float64(x.Seeds)))
	}
	if x.LabourH > 0 {
		add("work from sowing to pulling", oneDecimal(x.LabourH)+" h")
	}
	if x.KeepDays > 0 {
		keeps := words.Count(x.KeepDays, "day", "days")
		if x.KeepAt != "" {
			keeps += ", " + x.KeepAt
		}
		add("keeps", keeps)
	}
	return d
}

// planTables are seeds, nursery, fish, what is put by and the changes.
func (s *server) planTables(page *planPage, p *plan.Plan) {
	if len(p.Asked) > 0 {
		g := newGrid("What is asked for each week", "crop", "by", "wanted", "given", "from the week of", "*why it is not more")
		for _, x := range p.Asked {
			g.add(words.Capital(x.Name), x.Use, plan.Weighed(x.WantKg), plan.Weighed(x.Kg), s.dayOr(x.From), cmp.Or(x.Why, "–"))
		}
		page.Wants = g
	}
	if list := p.SeedList(); len(list) > 0 {
		g := newGrid("Seed list", "crop", "to order, a tenth to spare", "sowings", "first sown", "order by")
		for _, x := range list {
			by := s.dayOr(x.OrderBy)
			if x.Late {
				by = "today\ntwo weeks before the first sowing is past"
			}
			g.add(words.Capital(x.Name), x.Amount(), strconv.Itoa(x.Sowings), s.dayOr(x.First), by)
		}
		page.Seeds = g
	}
	if weeks := p.Nursery(); len(weeks) > 0 {
		g := newGrid("Nursery", "week from", "*places taken", "what stands in it, from – to")
		for _, w := range weeks {
			var who []string
			for _, x := range w.Stands {
				span := day(x.From) + " – " + day(x.To)
				if x.From.Before(p.Today.Time) {
					span = "since " + span
				}
				who = append(who, fmt.Sprintf("%s %s (%s)", strings.ToLower(x.Name), grouped(math.Ceil(x.Places-1e-9)), span))
			}
			taken := grouped(math.Ceil(w.Places - 1e-9))
			if w.PlacesMax > 0 {
				taken += " of " + grouped(math.Floor(w.PlacesMax))
			}
			g.add(s.when(w.From), taken, words.Capital(strings.Join(who, "; ")))
		}
		page.Nursery = g
	}
	if len(p.Fish) > 0 {
		g := newGrid("Fish to take", "fish", "tank", "no feed from", "taken on", "number", "each, live", "all, live", "for")
		for _, f := range p.Fish {
			g.add(words.Capital(f.Species)+"\n"+f.Cohort, f.Tank, s.dayOr(f.Purge), s.dayOr(f.Day), strconv.Itoa(f.Number), grouped(math.Round(f.WeightG))+" g", kilograms(f.Kg), f.For)
			if f.Caution != "" && !slices.Contains(page.FishCautions, f.Caution) {
				page.FishCautions = append(page.FishCautions, f.Caution)
			}
		}
		page.Fish = g
	}
	if len(p.Stockings) > 0 {
		g := newGrid("Fish to buy", "fish", "tank", "order by", "come on", "number", "each", "*why")
		for _, f := range p.Stockings {
			g.add(words.Capital(f.Title)+"\nfed with "+f.Feed, f.Tank, s.dayOr(f.Order), s.dayOr(f.Day), strconv.Itoa(f.Number), grouped(math.Round(f.WeightG))+" g", dashed(f.Why))
			if f.Caution != "" && !slices.Contains(page.FishCautions, f.Caution) {
				page.FishCautions = append(page.FishCautions, f.Caution)
			}
		}
		page.Stockings = g
	}
	for _, f := range p.Feeds {
		if f.Say != "" {
			page.FeedSays = append(page.FeedSays, words.Capital(f.Say))
		}
	}
	if len(p.PutBy) > 0 {
		g := newGrid("What is put by", "what", "place", "goes in", "put in", "left when used", "used on", "for")
		for _, x := range p.PutBy {
			in := s.dayOr(x.Day)
			if x.Standing {
				in = "lies there"
			}
			g.add(words.Capital(x.What), x.Place, in, kilograms(x.KgIn), kilograms(x.KgOut), s.dayOr(x.UseOn), x.For)
		}
		page.PutBy = g
	}
	if len(p.Changes) > 0 {
		g := newGrid("Changes", "day", "change", "*kind")
		for _, c := range p.Changes {
			kind := "new"
			if c.Out {
				kind = "given up"
			}
			g.add(s.dayOr(c.Day), words.Capital(c.What), kind)
		}
		page.Changes = g
	}
	if len(p.Groups) > 0 {
		g := newGrid("How full the beds are", "beds", "kind", "area", "planted today", "planted, mean of the plan")
		for i := range p.Groups {
			x := &p.Groups[i]
			g.add(words.Capital(x.Name), x.Kind+"\n"+x.Zone, s.m2(x.AreaM2), s.m2(x.UsedNow), s.m2(x.UsedM2))
		}
		page.Groups = g
	}
	page.Rejected = rejectedGrid(p.NotSown(p.Rejected))
}

func rejectedGrid(list []plan.Rejected) *grid {
	if len(list) == 0 {
		return nil
	}
	g := newGrid("Why not", "crop", "*one module of it would cost", "why")
	for _, x := range list {
		cost := "–"
		if x.Tried {
			cost = pointsOf(x.Points)
		}
		g.add(words.Capital(x.Name), cost, dashed(x.Why))
	}
	return g
}

// pointsOf prints points of a share with their word.
func pointsOf(v float64) string {
	text := gainOf(v)
	if text == "0" || text == noValue {
		return text
	}
	return strings.TrimPrefix(text, "+") + " points"
}

// planLevels are levels, rounds and weeks in figures.
func (s *server) planLevels(page *planPage, p *plan.Plan) {
	if len(p.Levels) > 0 {
		g := newGrid("Levels, in their order", "*level", "wanted", "reached", "may be taken back", "in whole modules")
		for i := range p.Levels {
			l := &p.Levels[i]
			wanted := "little"
			if l.Most {
				wanted = "much"
			}
			g.add(words.Capital(l.Name), wanted, levelValue(l.Value, l.Unit), levelValue(l.Give, l.Unit), levelValue(l.Whole, l.Unit))
		}
		page.Levels = g
	}
	if len(p.Rounds) > 0 {
		g := newGrid("Agreement with the season", "round", "worst-off, as planned", "as the season has it", "greatest change", "*note")
		for i, r := range p.Rounds {
			g.add(strconv.Itoa(i+1), percent(r.WorstShare), percent(r.Found), percent(r.Changed), dashed(r.Note))
		}
		page.Rounds = g
	}
	for _, text := range []string{p.Settled, p.Check.Said} {
		if text != "" {
			page.Settled = append(page.Settled, text)
		}
	}
	for _, text := range []string{p.Near(), p.Below()} {
		if text != "" {
			page.Settled = append(page.Settled, text)
		}
	}
	page.Faults = p.Check.Fault
	if len(p.Weeks) == 0 {
		return
	}
	g := newGrid("Week by week", "week from", "work, h", "nursery places", "greens for the household", "orders", "nitrogen made and drawn, g")
	for i := range p.Weeks {
		w := &p.Weeks[i]
		work, taken := oneDecimal(w.LabourH), grouped(math.Ceil(w.Places-1e-9))
		if w.LabourMaxH > 0 {
			work += " of " + oneDecimal(w.LabourMaxH)
		}
		if w.PlacesMax > 0 {
			taken += " of " + grouped(math.Floor(w.PlacesMax))
		}
		var loops []string
		for _, l := range w.Loops {
			text := fmt.Sprintf("%s %s, %s", l.Loop, grouped(math.Round(l.MadeG)), grouped(math.Round(l.DrawnG)))
			if l.ShortG >= 0.5 {
				text += fmt.Sprintf(" (short %s)", grouped(math.Round(l.ShortG)))
			}
			loops = append(loops, text)
		}
		g.add(s.when(w.From), work, taken, kgOf(w.GreensKg, w.GreensWant), kgOf(w.OrdersKg, w.OrdersWant), strings.Join(loops, "; "))
	}
	page.Weeks = g
}

func kgOf(kg, want float64) string {
	if kg < 0.005 && want < 0.005 {
		return "–"
	}
	if want < 0.005 {
		return kilograms(kg)
	}
	return strings.TrimSuffix(kilograms(kg), " kg") + " of " + kilograms(want)
}

// levelValue prints a level's value in its unit.
func levelValue(v float64, unit string) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case unit == "share":
		const hundredth = 100
		return strings.TrimSuffix(strconv.FormatFloat(v*hundredth, 'f', 1, 64), ".0") + " %"
	}
	text := strconv.FormatFloat(v, 'f', 2, 64)
	if math.Abs(v) >= 10 {
		text = grouped(math.Round(v))
	}
	return strings.TrimSpace(strings.Replace(strings.TrimSuffix(text, ".00"), "-", "−", 1) + " " + unit)
}

// whyRows are the worths and why crops are not used, or how long they are worked on.
func (s *server) whyRows(page *planPage, k *planAsked, p *plan.Plan, ctx context.Context) {
	if p.Stopped {
		page.WhyWorking = "What each thing is worth is not worked out for a plan that was stopped."
		return
	}
	r, soFar, ready, err := k.why.wait(ctx, s.glance, s.explain(k, p))
	switch {
	case !ready:
		page.WhyWorking = beingWorked("What each thing is worth, found by solving again, is", soFar)
		return
	case err != nil:
		s.log.Info("no reasons for the plan", "question", page.Question, "cause", err)
		page.WhyWorking = "What each thing is worth cannot be worked out: " + strings.TrimSuffix(strings.TrimPrefix(err.Error(), "plan: "), ".") + "."
		return
	}
	g := newGrid("What if", "what if", "*points, all together", "points, worst-off eater", "*note")
	var idle []string
	for _, x := range r.Worths {
		if gainOf(x.Points) == "0" && gainOf(x.Worst) == "0" {
			idle = append(idle, x.What)
			continue
		}
		g.add(words.Capital(x.What), gainOf(x.Points), gainOf(x.Worst), dashed(x.Note))
	}
	if len(g.Rows) > 0 {
		page.Worths = g
	}
	if len(idle) > 0 {
		page.Idle = "Nothing would change with: " + strings.Join(idle, "; ") + "."
	}
	if g := rejectedGrid(p.NotSown(r.Rejected)); g != nil {
		page.Rejected = g
	}
}

// gainOf prints points of a share with their sign, to the hundredth.
func gainOf(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return noValue
	}
	text := strings.Replace(plan.Points(v), "-", "−", 1)
	if v > 0 && text != "0" {
		return "+" + text
	}
	return text
}
