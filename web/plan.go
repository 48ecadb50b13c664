package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"tidebed/plan"
	"tidebed/site"
	"tidebed/words"
)

// plansKept is how many questions' plans are kept; typedMost the longest text that is
// read of a form.
const (
	plansKept = 6
	typedMost = 2000
)

// planBook keeps the plans that were asked for, one for each question.
type planBook struct {
	mu   sync.Mutex
	kept []*planAsked // the latest asked first
	turn chan struct{}
}

// planAsked is one question's plan, in the making or made.
type planAsked struct {
	question planQuestion
	plan     asked[*plan.Plan]
	why      asked[*plan.Reasons]

	mu      sync.Mutex
	at      plan.Progress
	waiting bool // for its turn
	cancel  context.CancelFunc
	stopped bool
}

// planQuestion is what a builder asks of the plan.
type planQuestion struct {
	today   site.Date
	options plan.Options
	typed   url.Values // as typed, what is usual left out
}

// query is the question's part of an address: "" or "?…".
func (q planQuestion) query() string {
	if len(q.typed) == 0 {
		return ""
	}
	return "?" + q.typed.Encode()
}

// questionOf reads a question; problems are by field.
func (s *server) questionOf(form url.Values) (q planQuestion, problems map[string]string) {
	q, problems = planQuestion{today: s.cfg.Today, typed: url.Values{}}, map[string]string{}
	take := func(key string, read func(text string) error) {
		text := strings.TrimSpace(form.Get(key))
		if text == "" {
			return
		}
		q.typed.Set(key, text)
		if len(text) > typedMost {
			q.typed.Set(key, text[:40])
			problems[key] = "This is too long."
			return
		}
		if err := read(text); err != nil {
			problems[key] = words.Capital(err.Error()) + "."
		}
	}
	take("today", func(text string) (err error) {
		q.today, err = site.ParseDate(text)
		if err == nil && q.today == s.cfg.Today {
			q.typed.Del("today")
		}
		return err
	})
	for _, key := range []string{"first", "then"} {
		take(key, func(text string) error {
			order, err := plan.ParseOrder(text)
			if err == nil && len(order) == 1 && !slices.Contains(q.options.Order, order[0]) {
				q.options.Order = append(q.options.Order, order[0])
			}
			return err
		})
	}
	take("give", func(text string) (err error) { q.options.Give, err = plan.ParseGive(text); return err })
	take("safety", func(text string) error {
		days, err := strconv.Atoi(text)
		if err != nil {
			return fmt.Errorf("%q is no number of days", text)
		}
		q.options.SafetyDays, err = plan.SafetyOf(days)
		return err
	})
	take("lead", func(text string) error {
		days, err := strconv.Atoi(text)
		if err != nil {
			return fmt.Errorf("%q is no number of days", text)
		}
		q.options.LeadDays, err = plan.LeadOf(days)
		return err
	})
	take("hours", func(text string) error {
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || !(v > 0) || v > 1000 {
			return errors.New("give more than 0 and at most 1000 hours a week")
		}
		q.options.HoursWeek = v
		return nil
	})
	for _, key := range []string{"pin", "forbid"} {
		take(key, func(text string) error {
			for one := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ';' || r == '\n' || r == '\r' }) {
				if strings.TrimSpace(one) == "" {
					continue
				}
				pin, err := plan.ParsePin(one, key == "forbid", s.cfg.Site)
				if err != nil {
					return err
				}
				q.options.Pins = append(q.options.Pins, pin)
			}
			return nil
		})
	}
	for key, set := range map[string]*bool{"portions": &q.options.Largest, "crops": &q.options.WishedOnly, "fish": &q.options.NoFish} {
		switch yes := map[string]string{"portions": "largest", "crops": "wished", "fish": "none"}[key]; form.Get(key) {
		case yes:
			*set = true
			q.typed.Set(key, yes)
		case "", "usual":
		default:
			problems[key] = "Choose one of the two."
		}
	}
	return q, problems
}

// about returns the kept question, and keeps it when it is new. nil: too many plans
// are being made.
func (b *planBook) about(q planQuestion) *planAsked {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.turn == nil {
		b.turn = make(chan struct{}, 1)
	}
	key := q.query()
	if at := slices.IndexFunc(b.kept, func(k *planAsked) bool { return k.question.query() == key }); at >= 0 {
		k := b.kept[at]
		b.kept = slices.Insert(slices.Delete(b.kept, at, at+1), 0, k)
		return k
	}
	if len(b.kept) >= plansKept {
		at := len(b.kept) - 1
		for at >= 0 && b.kept[at].busy() {
			at--
		}
		if at < 0 {
			return nil
		}
		b.kept = slices.Delete(b.kept, at, at+1)
	}
	k := &planAsked{question: q}
	b.kept = slices.Insert(b.kept, 0, k)
	return k
}

// known returns a kept question without keeping a new one.
func (b *planBook) known(query string) *planAsked {
	b.mu.Lock()
	defer b.mu.Unlock()
	if at := slices.IndexFunc(b.kept, func(k *planAsked) bool { return k.question.query() == query }); at >= 0 {
		return b.kept[at]
	}
	return nil
}

// forget drops a question that is not in the making.
func (b *planBook) forget(k *planAsked) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !k.busy() {
		b.kept = slices.DeleteFunc(b.kept, func(x *planAsked) bool { return x == k })
	}
}

// peek returns an answer that is there, without putting the question.
func (a *asked[T]) peek() (value T, ok bool) {
	a.mu.Lock()
	p := a.running
	a.mu.Unlock()
	if p == nil {
		return value, false
	}
	select {
	case <-p.done:
		return p.value, p.err == nil
	default:
		return value, false
	}
}

// underWay reports whether the question is being worked on.
func (a *asked[T]) underWay() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.running == nil {
		return false
	}
	select {
	case <-a.running.done:
		return false
	default:
		return true
	}
}

func (k *planAsked) busy() bool { return k.plan.underWay() || k.why.underWay() }

// make works the plan out, one plan at a time.
func (s *server) makePlan(k *planAsked) func(context.Context) (*plan.Plan, error) {
	return func(ctx context.Context) (*plan.Plan, error) {
		ctx, cancel := context.WithCancel(ctx)
		defer cancel()
		k.mu.Lock()
		k.cancel, k.stopped, k.at, k.waiting = cancel, false, plan.Progress{}, true
		k.mu.Unlock()
		done, err := s.plans.wait(ctx)
		if err != nil {
			return nil, err
		}
		defer done()
		k.mu.Lock()
		k.waiting = false
		k.mu.Unlock()
		o := k.question.options
		o.Progress = func(at plan.Progress) {
			k.mu.Lock()
			k.at = at
			k.mu.Unlock()
		}
		p, err := s.cfg.Plan(ctx, k.question.today, o)
		if err == nil && p == nil {
			err = errors.New("plan gave neither a plan nor an error")
		}
		return p, err
	}
}

// wait takes the turn of making a plan; done gives it back.
func (b *planBook) wait(ctx context.Context) (done func(), err error) {
	b.mu.Lock()
	if b.turn == nil {
		b.turn = make(chan struct{}, 1)
	}
	turn := b.turn
	b.mu.Unlock()
	select {
	case turn <- struct{}{}:
		return func() { <-turn }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// explain works out worths and the reasons why crops are not used.
func (s *server) explain(k *planAsked, p *plan.Plan) func(context.Context) (*plan.Reasons, error) {
	return func(ctx context.Context) (*plan.Reasons, error) {
		done, err := s.plans.wait(ctx)
		if err != nil {
			return nil, err
		}
		defer done()
		r, err := s.cfg.Explain(ctx, k.question.today, k.question.options, p)
		if err == nil && r == nil {
			err = errors.New("no reasons were found")
		}
		return r, err
	}
}

// planPage is the plan, or why there is none.
type planPage struct {
	frame
	Sentence, Todo string
	Reasons        []string
	Working        *planWorking
	Query          string // of this question, for links
	Question       string // the same for a form
	Begin          bool   // it was stopped before there was a plan
	Stopped        bool
	Known          bool
	Asked          []string // what differs from the usual question, in words

	Hungry   string
	Collides []plan.Collide
	Staffs   []occasionStaff
	Lanes    template.HTML
	Flows    []planLane
	Soon     []wallRow
	SoonNote string
	Beds     []planBed
	Groups   *grid
	Cautions []string
	Warnings []string

	Tables                 []planTable
	Wants, Seeds, Nursery  *grid
	Fish, Stockings, PutBy *grid
	FishCautions, FeedSays []string
	Changes                *grid
	InForce, Apart         string
	Binds                  []planBinds
	Levels, Rounds, Weeks  *grid
	Settled                []string
	Faults, Assumed        []string
	Worths, Rejected       *grid
	WhyWorking, Idle       string
	Form                   planForm
}

type planWorking struct {
	Step, SoFar string
	Waiting     bool
}

// planTable is an occasion's food, day by day.
type planTable struct {
	Name string
	Grid *grid
}

type planBinds struct {
	Anchor, Name string
	Lines        []string
}

// planForm is the question as typed.
type planForm struct {
	Values   map[string]string
	Problems map[string]string
	Firsts   []planChoice
	Thens    []planChoice
	Open     bool
}

type planChoice struct {
	Word, Label string
	Chosen      bool
}

func (s *server) planForm(q planQuestion, problems map[string]string) planForm {
	f := planForm{Values: map[string]string{}, Problems: problems, Open: len(q.typed) > 0 || len(problems) > 0}
	for key := range q.typed {
		f.Values[key] = q.typed.Get(key)
	}
	keys, meaning := plan.LevelKeys()
	f.Firsts, f.Thens = []planChoice{{"", "the usual order", f.Values["first"] == ""}}, []planChoice{{"", "the usual order", f.Values["then"] == ""}}
	for i, key := range keys {
		f.Firsts = append(f.Firsts, planChoice{key, meaning[i], f.Values["first"] == key})
		f.Thens = append(f.Thens, planChoice{key, meaning[i], f.Values["then"] == key})
	}
	return f
}

// noPlan says in words why a site has no plan yet; "" when it may have one.
func (s *server) noPlan(today site.Date) (sentence, todo string) {
	b := s.cfg.Site
	beds := 0
	for i := range b.Loops {
		beds += len(b.Loops[i].Beds)
	}
	ahead := slices.ContainsFunc(b.HomeFed, func(h site.HomeFedDays) bool { return h.From.IsZero() || !h.From.Before(today.Time) })
	switch {
	case beds == 0:
		return "No bed is written down, so there is nothing to plan with yet.", "Write the loops with their tanks and beds into the site file; then who eats, and on which days they live on the building, under home-fed."
	case len(b.HomeFed) == 0:
		return "No home-fed days are written down, so the plan does not know what it is for.", "Write the days into the site file under home-fed: a name, the first and last day, and who eats. The plan then says what to sow, stock and put by for them."
	case !ahead:
		return "All home-fed days begin before " + longDay(today) + ", so there is nothing left to plan for.", "Write the next ones into the site file under home-fed."
	}
	return "", ""
}

// planned finds the plan that a request asks for and says so when there is none yet.
// ok is false when the answer is sent already.
func (s *server) planned(w http.ResponseWriter, r *http.Request) (k *planAsked, p *plan.Plan, ok bool) {
	page := &planPage{frame: s.frame("Plan", "plan")}
	q, problems := s.questionOf(r.URL.Query())
	page.Form = s.planForm(q, problems)
	if len(problems) > 0 {
		page.Sentence, page.Todo = "This question cannot be put to the plan as it is typed.", "What is wrong stands at each field below."
		s.render(w, r, http.StatusUnprocessableEntity, "plan.html", page)
		return nil, nil, false
	}
	page.Query, page.Question = q.query(), strings.TrimPrefix(q.query(), "?")
	page.Today = longDay(q.today)
	if page.Sentence, page.Todo = s.noPlan(q.today); page.Sentence != "" {
		s.render(w, r, http.StatusOK, "plan.html", page)
		return nil, nil, false
	}
	if k = s.plans.about(q); k == nil {
		page.Sentence, page.Todo = "Too many plans are being made at once.", "Stop one of them, or come back when one is done."
		s.render(w, r, http.StatusServiceUnavailable, "plan.html", page)
		return nil, nil, false
	}
	p, soFar, ready, err := k.plan.wait(r.Context(), s.patience, s.makePlan(k))
	switch {
	case r.Context().Err() != nil:
		return nil, nil, false
	case !ready:
		page.Sentence = "Working: what to sow, stock and put by, so that the meals are there."
		page.Working = k.working(soFar)
		page.Refresh = 3
		s.render(w, r, http.StatusOK, "plan.html", page)
		return nil, nil, false
	case errors.Is(err, plan.ErrStopped), errors.Is(err, context.Canceled):
		page.Sentence, page.Begin = "The search was stopped before there was a first plan.", true
		s.render(w, r, http.StatusOK, "plan.html", page)
		return nil, nil, false
	case err != nil:
		s.log.Info("no plan", "question", page.Question, "cause", err)
		page.Sentence, page.Todo = "There is no plan for what is asked.", words.Capital(strings.TrimSuffix(strings.TrimPrefix(err.Error(), "plan: "), "."))+"."
		s.render(w, r, http.StatusOK, "plan.html", page)
		return nil, nil, false
	}
	return k, p, true
}

// working tells how far a plan is.
func (k *planAsked) working(soFar time.Duration) *planWorking {
	k.mu.Lock()
	defer k.mu.Unlock()
	w := &planWorking{Step: words.Capital(k.at.Line()), SoFar: words.Count(int(soFar.Seconds()), "second", "seconds"), Waiting: k.waiting}
	switch {
	case k.stopped:
		w.Step = "Stopping: the best plan so far is being readied"
	case w.Step == "":
		w.Step = "Beginning"
	}
	return w
}

// showPlan handles GET /plan: what to sow, stock, put by and take, so that the meals
// are there?
func (s *server) showPlan(w http.ResponseWriter, r *http.Request) {
	k, p, ok := s.planned(w, r)
	if !ok {
		return
	}
	page := s.planPage(k, p)
	s.whyRows(page, k, p, r.Context())
	s.render(w, r, http.StatusOK, "plan.html", page)
}

// wallPage is the plan's jobs by date, for the wall.
type wallPage struct {
	frame
	Sentence, Query string
	Months          []wallMonth
	Cautions        []string
}

type wallMonth struct {
	Name string
	Rows []wallRow
}

type wallRow struct{ Day, Job, Where, Amount, Why string }

// showPlanPrint handles GET /plan/print.
func (s *server) showPlanPrint(w http.ResponseWriter, r *http.Request) {
	k, p, ok := s.planned(w, r)
	if !ok {
		return
	}
	page := wallPage{frame: s.frame("Jobs of the plan", "plan"), Sentence: p.Sentence, Query: k.question.query(), Cautions: onceSaid(p.Cautions)}
	page.Today = longDay(p.Today)
	last := ""
	for _, j := range p.Jobs() {
		if month := j.Date.Format("January 2006"); len(page.Months) == 0 || page.Months[len(page.Months)-1].Name != month {
			page.Months, last = append(page.Months, wallMonth{Name: month}), ""
		}
		m := &page.Months[len(page.Months)-1]
		row := wallRow{Job: j.Line(), Where: j.Where, Amount: j.Amount, Why: j.Why}
		if on := j.Date.Format("Mon 2"); on != last {
			row.Day, last = on, on
		}
		m.Rows = append(m.Rows, row)
	}
	s.render(w, r, http.StatusOK, "plan_print.html", page)
}

// showPlanFile handles GET /plan.csv and /plan.ics. While the plan is being worked out
// it answers 503 in plain text, so that a calendar that reads it asks again.
func (s *server) showPlanFile(w http.ResponseWriter, r *http.Request) {
	q, problems := s.questionOf(r.URL.Query())
	refuse := func(status int, text string) { http.Error(w, text, status) }
	if len(problems) > 0 {
		refuse(http.StatusUnprocessableEntity, "This question cannot be put to the plan as it is typed; the page /plan says what is wrong.")
		return
	}
	if sentence, _ := s.noPlan(q.today); sentence != "" {
		refuse(http.StatusNotFound, sentence)
		return
	}
	k := s.plans.about(q)
	if k == nil {
		w.Header().Set("Retry-After", "30")
		refuse(http.StatusServiceUnavailable, "Too many plans are being made at once; ask again in half a minute.")
		return
	}
	p, _, ready, err := k.plan.wait(r.Context(), s.patience, s.makePlan(k))
	switch {
	case r.Context().Err() != nil:
		return
	case !ready:
		w.Header().Set("Retry-After", "10")
		refuse(http.StatusServiceUnavailable, "The plan is still being worked out; ask again in a moment.")
		return
	case err != nil:
		s.log.Info("no plan", "path", r.URL.Path, "cause", err)
		refuse(http.StatusNotFound, "There is no plan; the page /plan says why.")
		return
	}
	var out bytes.Buffer
	kind, name := "text/csv; charset=utf-8", "plan.csv"
	if strings.HasSuffix(r.URL.Path, ".ics") {
		kind, name = "text/calendar; charset=utf-8", "plan.ics"
		err = plan.WriteCalendar(&out, p, plan.StampOf(p.Today))
	} else {
		err = plan.WriteCSV(&out, p.Jobs())
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Set("Cache-Control", "no-store")
	if _, err := w.Write(out.Bytes()); err != nil {
		s.log.Info("reader left before the file was sent", "path", r.URL.Path, "cause", err)
	}
}

// stopPlan handles POST /plan/stop: the search ends and keeps its best; and POST
// /plan/again: a plan is forgotten, so that the next visit makes it anew. Both are
// taken from these pages alone.
func (s *server) stopPlan(w http.ResponseWriter, r *http.Request) {
	if err := http.NewCrossOriginProtection().Check(r); err != nil {
		s.render(w, r, http.StatusForbidden, "fail.html", failPage{frame: s.frame("Not from here", "plan"), Sentence: "This was not sent from these pages, so nothing was done.", Todo: "Open the plan’s own page and use the button there."})
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, 4*typedMost)
	if err := r.ParseForm(); err != nil {
		s.render(w, r, http.StatusBadRequest, "fail.html", failPage{frame: s.frame("Not understood", "plan"), Sentence: "What was sent could not be read, so nothing was done.", Todo: "Open the plan’s own page and use the button there."})
		return
	}
	typed, err := url.ParseQuery(r.PostForm.Get("question"))
	if err != nil {
		typed = nil
	}
	q, _ := s.questionOf(typed)
	if k := s.plans.known(q.query()); k != nil {
		if strings.HasSuffix(r.URL.Path, "/again") {
			s.plans.forget(k)
		} else {
			k.mu.Lock()
			if k.cancel != nil {
				k.stopped = true
				k.cancel()
			}
			k.mu.Unlock()
		}
	}
	http.Redirect(w, r, "/plan"+q.query(), http.StatusSeeOther)
}

// planLine is the line of the page Meals about a plan that is there already.
func (s *server) planLine() string {
	k := s.plans.known("")
	if k == nil {
		return ""
	}
	p, ok := k.plan.peek()
	if !ok || len(p.Occasions) == 0 {
		return ""
	}
	var parts []string
	for i := range p.Occasions {
		o := &p.Occasions[i]
		parts = append(parts, fmt.Sprintf("%s %s", percent(o.WorstShare), inOrOn(o)))
	}
	return "With the plan the worst-off eater would have " + words.List(parts) + " from inside."
}

// inOrOn names an occasion within a sentence.
func inOrOn(o *plan.Occasion) string { return "in " + o.Name }

// dict gathers what a part of a template takes.
func dict(pairs ...any) map[string]any {
	out := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if key, ok := pairs[i].(string); ok {
			out[key] = pairs[i+1]
		}
	}
	return out
}
