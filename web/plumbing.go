package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/site"
	"tidebed/words"
)

// plumbingMost is how many ends a long section shows one by one.
const plumbingMost = 10

// mostWatched is how many things to watch stand open on the page.
const mostWatched = 5

// usualGlance is how long a page waits for what it can do without.
const usualGlance = 400 * time.Millisecond

// loopKept is what is kept of a loop's pipework.
type loopKept struct {
	study  asked[*plumbing.Study]
	choice asked[*plumbing.Choice]
	mu     sync.Mutex // the study's scheme must not be used by two at a time
}

// scriptPolicy is the policy of a page that runs the one script of the site's own.
const scriptPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// plumbingPage is a loop's pipework.
type plumbingPage struct {
	frame
	Sentence, Todo string
	Reasons        []string
	Loop           string
	Loops          []linkView
	Act, Watch     []findingRow
	Later          []findingRow // to watch too, folded
	Good           []findingRow

	Section, Narrow template.HTML
	SectionNote     string
	Numbered        bool // the wide drawing's ends carry numbers too
	Ends            []endRow
	Shown           []linkView // whose turn is drawn
	Pipes           []pipeRow

	Cut, Level template.HTML
	CutBed     string
	Pores      []poreRow
	Sizes      []sizeRow
	SizesNote  string
	CutNote    string
	Course     string // JSON for the script
	Start      string // level and time of the still

	Windows          []windowRow
	Parts            []partView
	Plan             *plumbing.Timetable
	CSV, JSON, Again string // addresses of the loop
	Duty             template.HTML
	Facts            []startFact
	Choice           *pumpsView
	Working          string // of the comparison of pumps
	WhatIf           *whatIfView
	Faults           []faultRow
	Lesser           []faultRow // that do no harm in a day
	HoursFor         string     // why hours are not shown
	Seen             seenForm
	Found            *plumbing.Diagnosis
	FoundAll         []startFact
	Loads            []loadRow
	LoadCautions     []string
	Cautions         plumbingCautions
	Assumed          []string
	Unpiped          bool
	FlowUnit         string
}

type linkView struct {
	Word, Address string
	Here          bool
}

type findingRow struct {
	State, About, Do, Sentence, Source, Caution, Field string
}

type endRow struct {
	Number                    int
	Name, Flow, Speed, Comes  string
	Head, Bore, Height, State string
}

type pipeRow struct{ Name, Bore, Length, Flow, Speed, Loss, From, To string }

type windowRow struct {
	Name, Words, State, Detail string
	Staff                      template.HTML
}

type partView struct {
	Name, Hours string
	Every       string
	Facts       string
	Rows        []turnRow
}

type turnRow struct{ Valve, Bed, Opens, At, Stays, Why, Inflow, Verdict, State, Remark string }

type pumpsView struct {
	Sentence string
	Notes    []string
	Rows     []optionRow
}

type optionRow struct {
	Name, Serves, Flow, Head, Watts, Nonstop, Turns, Price, Why string
	Now                                                         bool
}

type faultRow struct {
	State, About, What, Goes, Lowest, Floor, Harm, Remedy, Caution string
}

type loadRow struct{ State, Sentence string }

// plumbingCautions stand where the hand acts.
type plumbingCautions struct{ Pump, Sump, Spray, TopUp, Load, Drip string }

// The cautions of the page: one sentence each, with whom to ask.
const (
	cautionPump  = "Pull the plug before a hand goes into water; every pump, heater and valve here hangs behind a residual-current device of 30 mA with a drip loop in its cord, and a licensed electrician puts it in and tests it."
	cautionSump  = "A child drowns in a hand’s depth of water: a lid that bears a child on every sump and tank, or a locked door."
	cautionSpray = "Water of 20 to 45 °C breeds legionella, which spray carries into the lungs: short falls, drowned ends, no mist from this water, no pipe where it stands; ask the public health office before anything sprays."
	cautionTopUp = "Never join this water to drinking water, and leave no hose hanging in it: top up through an air gap of twice the pipe’s width, 25 mm at least, or it can be sucked back; ask a licensed plumber."
	cautionLoad  = "What the floor and the stands bear is not in this reckoning: ask a structural engineer before a bed or tank is filled."
	cautionDrip  = "The controller and its supplies hang above any flood, behind a residual-current device of 30 mA, each cord with a drip loop; low-voltage valves where they can be had; a licensed electrician wires it."
)

// loopOf is the loop asked for, or the first.
func (s *server) loopOf(q url.Values) (at int, known bool) {
	name := strings.TrimSpace(q.Get("loop"))
	if name == "" {
		return 0, true
	}
	at = slices.IndexFunc(s.cfg.Site.Loops, func(l site.Loop) bool { return l.Name == name })
	return at, at >= 0
}

// studied waits for a loop's kept study; ok is false when the answer is sent.
func (s *server) studied(w http.ResponseWriter, r *http.Request, at int) (st *plumbing.Study, ok bool) {
	l := &s.cfg.Site.Loops[at]
	st, soFar, ready, err := s.loops[at].study.wait(r.Context(), s.patience, func(context.Context) (*plumbing.Study, error) {
		return plumbing.StudyOf(l, plumbing.SettingsOf(s.cfg.Site, l))
	})
	switch {
	case r.Context().Err() != nil:
		return nil, false
	case !ready:
		s.working(w, r, "plumbing", "Working: the pipework of the "+words.Loop(l.Name)+".", soFar)
		return nil, false
	case err != nil:
		page := plumbingPage{frame: s.frame("Plumbing", "plumbing"), Loops: s.loopLinks(at), Sentence: "The pipework of the " + words.Loop(l.Name) + " cannot be worked out from this site file.", Todo: words.Capital(err.Error()) + "."}
		s.render(w, r, http.StatusOK, "plumbing.html", page)
		return nil, false
	}
	return st, true
}

func (s *server) loopLinks(at int) []linkView {
	var out []linkView
	if len(s.cfg.Site.Loops) < 2 {
		return nil
	}
	for i := range s.cfg.Site.Loops {
		name := s.cfg.Site.Loops[i].Name
		out = append(out, linkView{Word: name, Address: "/plumbing?" + url.Values{"loop": {name}}.Encode(), Here: i == at})
	}
	return out
}

// showPlumbing handles GET /plumbing: does the water of a loop go where it should,
// and what is to be mended?
func (s *server) showPlumbing(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Security-Policy", scriptPolicy)
	q := r.URL.Query()
	page := plumbingPage{frame: s.frame("Plumbing", "plumbing")}
	if len(s.cfg.Site.Loops) == 0 {
		page.Sentence, page.Todo = "No loop is written down, so there is no pipework to look at.", "Write it into the site file, under loops: tanks and sump with their heights, beds with their siphons, the pump with points of its curve, and the pipes between."
		s.render(w, r, http.StatusOK, "plumbing.html", page)
		return
	}
	at, known := s.loopOf(q)
	if !known {
		page.Loops = s.loopLinks(-1)
		page.Sentence, page.Todo = "There is no loop of this name.", "Choose one of those there are."
		s.render(w, r, http.StatusNotFound, "plumbing.html", page)
		return
	}
	st, ok := s.studied(w, r, at)
	if !ok {
		return
	}
	l := &s.cfg.Site.Loops[at]
	query := "?" + url.Values{"loop": {l.Name}}.Encode()
	page.Loop, page.Loops = l.Name, s.loopLinks(at)
	page.CSV, page.JSON, page.Again = "/plumbing/timetable.csv"+query, "/plumbing/timetable.json"+query, "/plumbing"+query
	if st == nil {
		page.Sentence, page.Todo = "The "+words.Loop(l.Name)+" has no tank and no sump yet, so no water moves.", "Write them into the site file with their volume, level and depth."
		s.render(w, r, http.StatusOK, "plumbing.html", page)
		return
	}
	kept := s.loops[at]
	kept.mu.Lock()
	defer kept.mu.Unlock()
	status := http.StatusOK
	page.Sentence = plumbingSentence(st)
	page.Unpiped, page.Plan = st.Unpiped, st.Timetable
	page.FlowUnit, _ = s.flowUnit()
	page.Reasons = s.plumbingReasons(st)
	page.findings(st)
	if err := s.plumbingDrawings(&page, st, q); err != nil {
		s.fail(w, r, fmt.Errorf("plumbing of %s: %w", l.Name, err))
		return
	}
	if err := errors.Join(s.pores(&page, st), s.sizes(&page, st)); err != nil {
		s.fail(w, r, fmt.Errorf("plumbing of %s: %w", l.Name, err))
		return
	}
	page.Cautions = cautionsFor(st)
	page.Assumed = st.Scheme.Assumed()
	loads, err := plumbing.Loads(s.cfg.Site)
	if err != nil {
		s.fail(w, r, fmt.Errorf("loads: %w", err))
		return
	}
	for _, x := range plumbing.HeaviestLoads(loads) {
		page.Loads = append(page.Loads, loadRow{string(x.State), words.Capital(x.Sentence)})
		if x.Caution != "" && !slices.Contains(page.LoadCautions, x.Caution) {
			page.LoadCautions = append(page.LoadCautions, x.Caution)
		}
	}
	page.Seen = s.seenForm(st, q)
	if page.Seen.Asked {
		if s.diagnose(&page, st, q) {
			status = http.StatusUnprocessableEntity
		}
	}
	if !st.Unpiped {
		s.timetableParts(&page, st)
		s.faultRows(&page, st, r.Context())
		s.choiceRows(&page, st, at, r.Context())
		page.WhatIf = s.whatIf(st, at, q)
		if page.WhatIf.Failed() {
			status = http.StatusUnprocessableEntity
		}
	}
	s.render(w, r, status, "plumbing.html", page)
}

// plumbingSentence answers: does it work, and what is to be mended first?
func plumbingSentence(st *plumbing.Study) string {
	if st.Unpiped {
		return "The flows of the " + words.Loop(st.Loop.Name) + " are not known: the site describes no pump with its curve, or no pipes from it."
	}
	first := ""
	if st.Timetable != nil {
		first = stripFull(st.Timetable.Answer()) + ". "
	}
	var act, watch []plumbing.Finding
	for _, f := range st.Findings {
		switch f.State {
		case plumbing.Act:
			act = append(act, f)
		case plumbing.Watch:
			watch = append(watch, f)
		}
	}
	switch n := len(act); {
	case n == 1:
		return first + "One thing to mend: " + words.Lower(stripFull(act[0].Sentence)) + "."
	case n > 1:
		return first + fmt.Sprintf("%d things to mend, first: %s.", n, words.Lower(stripFull(act[0].Sentence)))
	case len(plumbing.EmptiesTank(st.Faults)) == 0 && len(watch) == 0:
		return first + "Nothing to mend, and no single fault empties a fish tank."
	case len(plumbing.EmptiesTank(st.Faults)) == 0:
		return first + fmt.Sprintf("No single fault empties a fish tank; %s to watch.", words.Count(len(watch), "thing", "things"))
	}
	return first + "To watch: " + words.Lower(stripFull(watch0(watch))) + "."
}

func watch0(list []plumbing.Finding) string {
	if len(list) == 0 {
		return "a fault that can empty a tank"
	}
	return list[0].Sentence
}

// stripFull takes the full stop off a sentence, and what follows the first one.
func stripFull(text string) string {
	if at := strings.Index(text, ". "); at > 0 {
		text = text[:at]
	}
	return strings.TrimSuffix(strings.TrimSpace(text), ".")
}

// keyed is told for sentences of plumbing: it sets keys of the site file, which
// stand in back quotes, in quotation marks, and lets no line break before a time,
// a width or a flow's unit.
func keyed(text string) string {
	text = keys.ReplaceAllString(text, "“$1”")
	return told(timed.ReplaceAllString(text, "$1\u00a0$2$3"))
}

var (
	keys  = regexp.MustCompile("`([^`]*)`")
	timed = regexp.MustCompile(`([0-9]) (h|min|s|mm|cm|in|ft|gal/min|gal|L/min|m/s|ft/s|kWh|kPa)([^\pL/]|$)`)
)

// plumbingReasons are at most three figures that stand behind the answer.
func (s *server) plumbingReasons(st *plumbing.Study) []string {
	var out []string
	if t := st.Timetable; t != nil {
		answer := t.Answer()
		if rest := strings.TrimSpace(strings.TrimPrefix(answer, stripFull(answer)+".")); rest != "" {
			out = append(out, rest)
		} else if len(t.Why) > 0 {
			out = append(out, t.Why[0])
		}
	}
	if st.Day != nil {
		d := st.Day
		if d.PumpOnS > 0 {
			text := "The pump moves " + s.at(d.PumpM3, quantity.Volume) + " a day"
			if d.WireKWh > 0 {
				text += fmt.Sprintf(" and takes %s kWh for it", fixed(d.WireKWh, 1))
			}
			out = append(out, text+".")
		}
		u, src := s.tall(), st.Scheme.Source
		out = append(out, fmt.Sprintf("The water of the %s goes between %s and %s %s above the floor; at its lowest it stands %s %s over the pump’s intake.", src.Name, u.text(d.SourceLowM), u.text(d.SourceHighM), u.Word, u.text(math.Max(0, d.SourceLowM-src.IntakeM)), u.Word))
	}
	return out[:min(3, len(out))]
}

func (p *plumbingPage) findings(st *plumbing.Study) {
	for _, f := range st.Findings {
		row := findingRow{State: string(f.State), About: words.Capital(f.About), Do: f.Remedy, Sentence: f.Sentence, Source: f.Source, Caution: f.Caution, Field: f.Field}
		switch f.State {
		case plumbing.Act:
			p.Act = append(p.Act, row)
		case plumbing.Watch:
			if len(p.Watch) == mostWatched {
				p.Later = append(p.Later, row)
				continue
			}
			p.Watch = append(p.Watch, row)
		default:
			p.Good = append(p.Good, row)
		}
	}
}

func cautionsFor(st *plumbing.Study) plumbingCautions {
	c := plumbingCautions{Pump: cautionPump, Sump: cautionSump, TopUp: cautionTopUp, Load: cautionLoad, Drip: cautionDrip}
	if t := st.Scheme.Settings.TempC; t >= 20 && t <= 45 {
		c.Spray = cautionSpray
	}
	return c
}

// plumbingDrawings are the long section, the bed's cross-section with its course,
// the inflow windows and the pump's curve.
func (s *server) plumbingDrawings(page *plumbingPage, st *plumbing.Study, q url.Values) error {
	sc := st.Scheme
	bed := s.bedShown(st, strings.TrimSpace(q.Get("bed")))
	open := -1
	if bed >= 0 && sc.Beds[bed].Branch >= 0 && sc.Branches[sc.Beds[bed].Branch].Timed {
		open = sc.Beds[bed].Branch
	} else if timed := sc.Timed(); len(timed) > 0 {
		open = timed[0]
	}
	v, err := sc.Section(open, st.Day, plumbingMost)
	if err != nil {
		return err
	}
	title := s.sectionWords(st, v)
	page.Section, page.Numbered = s.longSection(v, title, false)
	small, err := sc.Section(open, st.Day, 4)
	if err != nil {
		return err
	}
	page.Narrow, _ = s.longSection(small, title, true)
	page.Ends = s.endRows(small)
	page.SectionNote = title
	if sc.Piped {
		f, err := sc.Flow(plumbing.Valves(0).With(max(open, 0)), sc.Source.SurfaceM)
		if open < 0 {
			f, err = sc.Flow(0, sc.Source.SurfaceM)
		}
		if err != nil {
			return err
		}
		page.Pipes = s.pipeRows(st, f)
	}
	for i := range sc.Beds {
		b := &sc.Beds[i]
		if sc.CutOf(i) == nil && (b.Branch < 0 || !sc.Branches[b.Branch].Timed) {
			continue
		}
		address := "/plumbing?" + url.Values{"loop": {st.Loop.Name}, "bed": {b.In.Name}}.Encode() + "#section"
		page.Shown = append(page.Shown, linkView{Word: b.In.Name, Address: address, Here: i == bed})
	}
	if err := s.drawCut(page, st, bed); err != nil {
		return err
	}
	s.windows(page, st)
	if !sc.Piped {
		return nil
	}
	return s.drawDuty(page, st, open)
}

// bedShown is the bed whose turn is drawn: the one named, else the first with a
// timed valve and a drain, else the first with a drain; -1 for none.
func (s *server) bedShown(st *plumbing.Study, name string) int {
	sc := st.Scheme
	timed, drained := -1, -1
	for i := range sc.Beds {
		b := &sc.Beds[i]
		if b.In.Name == name {
			return i
		}
		if sc.CutOf(i) == nil {
			continue
		}
		if drained < 0 {
			drained = i
		}
		if timed < 0 && b.Branch >= 0 && sc.Branches[b.Branch].Timed {
			timed = i
		}
	}
	if timed >= 0 {
		return timed
	}
	return drained
}

// sectionWords says in words what the long section shows.
func (s *server) sectionWords(st *plumbing.Study, v *plumbing.Section) string {
	u := s.tall()
	text := fmt.Sprintf("The %s from the side, heights above the floor in %s to scale, widths not.", words.Loop(st.Loop.Name), u.Word)
	if math.IsNaN(v.FlowM3s) {
		return text + " Flows are not known."
	}
	text += fmt.Sprintf(" %s lifts %s by %s %s", words.Capital(v.Pump), s.flow(v.FlowM3s), u.text(v.HeadM), u.Word)
	if v.Open >= 0 {
		text += ", the valve of " + st.Scheme.Branches[v.Open].Pipe.To + " open"
		for _, e := range v.Ends {
			if e.Branch == v.Open {
				text += " with " + s.flow(e.FlowM3s)
			}
		}
	}
	text += "; pipes are as wide as their flow. Marks on a bed: crest above, break below; dashed in the sump: its highest and lowest of a day."
	if v.Beyond {
		text += " The pump runs beyond the last point of its curve: there it is a guess."
	}
	return text
}

func (s *server) endRows(v *plumbing.Section) []endRow {
	u := s.tall()
	var out []endRow
	for i := range v.Ends {
		e := &v.Ends[i]
		row := endRow{Number: i + 1, Name: words.Capital(plumbing.Names(e.Names)), Flow: noValue, Speed: "–", Comes: "–", Head: "–", Bore: "–", Height: "–"}
		if n := len(e.Names); n > 1 {
			row.Name += fmt.Sprintf(" (×%d)", n)
		}
		switch {
		case e.Branch < 0:
			row.Flow = "no pipe from the pump"
		case !e.Open:
			row.Flow = "valve shut"
		case !math.IsNaN(e.FlowM3s):
			row.Flow, row.Speed = s.flow(e.FlowM3s), s.speed(e.MS)
		}
		if e.Branch >= 0 {
			row.Comes, row.Bore = u.text(e.OutletM)+" "+u.Word, s.small().text(e.BoreM)+" "+s.small().Word
		}
		if !math.IsNaN(e.HeadM) {
			row.Head = u.text(e.HeadM) + " " + u.Word
		}
		if !math.IsNaN(e.FloorM) {
			row.Height = u.text(e.FloorM) + " to " + u.text(e.RimM) + " " + u.Word
		}
		out = append(out, row)
	}
	return out
}

func (s *server) pipeRows(st *plumbing.Study, f *plumbing.Flow) []pipeRow {
	u, small := s.tall(), s.small()
	var out []pipeRow
	for i := range st.Loop.Pipes {
		p := &st.Loop.Pipes[i]
		if math.IsNaN(f.FromM[i]) {
			continue
		}
		row := pipeRow{Name: p.Name, Bore: small.text(p.BoreM()) + " " + small.Word, Length: s.at(p.LengthM, quantity.Length), Flow: "–", Speed: "–", Loss: "–",
			From: u.text(f.FromM[i]), To: u.text(f.ToM[i]) + " " + u.Word}
		if f.PipeM3s[i] > 0 {
			row.Flow, row.Speed, row.Loss = s.flow(f.PipeM3s[i]), s.speed(f.PipeMS[i]), u.text(f.PipeLossM[i])+" "+u.Word
		}
		out = append(out, row)
	}
	return out
}

// courseData is what the script is given: times in s, levels in m above the bed's
// floor.
type courseData struct {
	Seconds float64      `json:"seconds"`
	T       []float64    `json:"t"`
	Level   []float64    `json:"level"`
	Out     []float64    `json:"out"`
	Running []int        `json:"running"`
	Open    [][2]float64 `json:"open"`
	PerM    float64      `json:"perM"` // of the unit in which levels are read out
	Digits  int          `json:"digits"`
	Unit    string       `json:"unit"`
	PerM3s  float64      `json:"perM3s"`
	Flow    string       `json:"flow"`
}

// drawCut draws a bed's cross-section and its level over a cycle.
func (s *server) drawCut(page *plumbingPage, st *plumbing.Study, bed int) error {
	c := st.Scheme.CutOf(bed)
	if c == nil {
		return nil
	}
	page.CutBed = c.Name
	reel, err := st.Scheme.ReelOf(bed, st.Timetable)
	if err != nil {
		return err
	}
	u := s.small()
	if reel == nil {
		level := c.CrestM
		page.CutNote = fmt.Sprintf("The level of %s stands at the crest.", c.Name)
		if c.Way == plumbing.Siphons || c.Way == plumbing.Timer {
			level = c.BreakM
			page.CutNote = fmt.Sprintf("How the level of %s goes is not known: no flow into it can be worked out. It is drawn drained.", c.Name)
		}
		page.Cut = s.cutDrawing(c, level)
		return nil
	}
	first := reel.Points[0]
	page.Cut = s.cutDrawing(c, first.LevelM)
	page.Start = fmt.Sprintf("0 s: level %s %s", u.text(first.LevelM), u.Word)
	data := courseData{Seconds: reel.Seconds, Open: reel.OpenAt, PerM: u.PerM, Digits: u.Digits, Unit: u.Word}
	data.Flow, data.PerM3s = s.flowUnit()
	minutes, most := reel.Seconds/60, c.RimM
	p := plot{Class: "water", Title: fmt.Sprintf("Level of %s over %s", c.Name, s.at(reel.Seconds, quantity.Duration)), Unit: "level, " + u.Word, XUnit: "min", XMax: minutes, Cursor: true, SpanWord: "bar: valve open"}
	if len(reel.OpenAt) == 1 && reel.OpenAt[0][1]-reel.OpenAt[0][0] >= reel.Seconds-1 {
		p.SpanWord = "water always comes in"
	}
	whole, run := plotLine{Stroke: "low"}, plotLine{Stroke: "running"}
	for _, at := range reel.Points {
		data.T = append(data.T, math.Round(at.TimeS*10)/10)
		data.Level = append(data.Level, math.Round(at.LevelM*1e5)/1e5)
		data.Out = append(data.Out, math.Round(at.OutM3s*1e8)/1e8)
		running := 0
		if at.Running {
			running = 1
		}
		data.Running = append(data.Running, running)
		xy := [2]float64{at.TimeS / 60, at.LevelM * u.PerM}
		whole.XY = append(whole.XY, xy)
		if !at.Running {
			if n := len(run.XY); n > 0 && !math.IsNaN(run.XY[n-1][0]) {
				run.XY = append(run.XY, xy)
			}
			xy[0] = math.NaN()
		}
		run.XY = append(run.XY, xy)
		most = math.Max(most, at.LevelM)
	}
	p.YMax = roundUp(most * u.PerM)
	p.Lines = []plotLine{whole, run}
	p.Limits = []startLimit{{c.CrestM * u.PerM, "crest"}}
	if c.Way == plumbing.Siphons {
		p.Limits = append(p.Limits, startLimit{c.BreakM * u.PerM, "break"})
	}
	for _, sp := range reel.OpenAt {
		p.Spans = append(p.Spans, [2]float64{sp[0] / 60, sp[1] / 60})
	}
	page.Level = p.svg()
	text, err := json.Marshal(data)
	if err != nil {
		return fmt.Errorf("course of %s: %w", c.Name, err)
	}
	page.Course = string(text)
	page.CutNote = fmt.Sprintf("%s come in while its valve is open; where the line is heavy the siphon runs.", s.flow(reel.InflowM3s))
	if c.Way == plumbing.Timer {
		page.CutNote = fmt.Sprintf("%s come in while the timer runs it; then it drains through the weep hole.", s.flow(reel.InflowM3s))
	}
	if reel.Seconds < 0.95*reel.CycleS {
		page.CutNote += fmt.Sprintf(" Shown are %s of a cycle of %s; then it stands drained.", clockSpan(reel.Seconds), clockSpan(reel.CycleS))
	}
	if c.WideM > 0.7 {
		page.CutNote += " To scale; the bed goes on at both sides."
	}
	return nil
}

// windows are the inflow windows of the beds with siphons, like ones together.
func (s *server) windows(page *plumbingPage, st *plumbing.Study) {
	type one struct {
		names []string
		zones []plumbing.Zone
		m3s   float64
		early bool // its valve shuts before the break
	}
	var all []one
	add := func(bed int, m3s float64, early bool) {
		if bed < 0 {
			return
		}
		b := &st.Scheme.Beds[bed]
		zones := b.Zones()
		if zones == nil {
			return
		}
		for i := range all {
			if math.Abs(all[i].m3s-m3s) < 2e-6 && all[i].early == early && slices.EqualFunc(all[i].zones, zones, func(x, y plumbing.Zone) bool {
				return x.Verdict == y.Verdict && x.Dribbles == y.Dribbles && math.Abs(x.FromM3s-y.FromM3s) < 1e-7
			}) {
				all[i].names = append(all[i].names, b.In.Name)
				return
			}
		}
		all = append(all, one{[]string{b.In.Name}, zones, m3s, early})
	}
	if t := st.Timetable; t != nil {
		if len(t.Parts) > 0 {
			for _, x := range t.Parts[0].Turns {
				add(x.Bed, x.InflowM3s, x.Trips && x.OpenS < x.FillS+x.DrainS)
			}
		}
		for _, x := range t.Steady {
			add(x.Bed, x.InflowM3s, false)
		}
	}
	for _, x := range all {
		drawing, said, state := s.lyingStaff(words.Capital(plumbing.Names(x.names)), x.zones, x.m3s)
		if drawing == "" {
			continue
		}
		row := windowRow{Name: words.Capital(plumbing.Names(x.names)), Words: said, State: string(state), Staff: drawing}
		k := slices.IndexFunc(x.zones, func(z plumbing.Zone) bool { return x.m3s < z.ToM3s })
		if x.early && k >= 0 && (x.zones[k].Dribbles || x.zones[k].Verdict == "never-stops") {
			row.Detail = "Its valve shuts before the break, so it stops all the same; with the valve stuck open it would not do so surely."
		}
		page.Windows = append(page.Windows, row)
	}
}

// drawDuty draws the pump's curve against the pipes', clean and with its film.
func (s *server) drawDuty(page *plumbingPage, st *plumbing.Study, open int) error {
	d, err := st.Scheme.DutyOf(open)
	if err != nil {
		return err
	}
	word, per := s.flowUnit()
	u := s.tall()
	line := func(stroke string, points []struct{ q, h float64 }) plotLine {
		l := plotLine{Stroke: stroke}
		for _, p := range points {
			l.XY = append(l.XY, [2]float64{p.q * per, p.h * u.PerM})
		}
		return l
	}
	var curve, pipes, clean []struct{ q, h float64 }
	most, top := 0.0, 0.0
	for _, p := range d.Curve {
		curve = append(curve, struct{ q, h float64 }{p.FlowM3s, p.HeadM})
		most, top = math.Max(most, p.FlowM3s), math.Max(top, p.HeadM)
	}
	for _, p := range d.System {
		pipes = append(pipes, struct{ q, h float64 }{p.FlowM3s, p.HeadM})
	}
	add := func(name, text string) { page.Facts = append(page.Facts, startFact{name, text}) }
	add("duty point", s.flow(d.At.FlowM3s)+" at "+u.text(d.At.HeadM)+" "+u.Word)
	if d.WireW > 0 {
		text := fixed(d.WireW, 0) + " W from the plug"
		if !math.IsNaN(d.Efficiency) {
			text += fmt.Sprintf("; %s of it becomes flow and head", percent(d.Efficiency))
		}
		add("power", text)
	} else {
		add("power", "not given: write the watts into the pump’s points as flow:head:watts")
	}
	if other, err := st.Scheme.WithWalls(true); err == nil && other != nil && other.Piped {
		if x, err := other.DutyOf(open); err == nil {
			for _, p := range x.System {
				clean = append(clean, struct{ q, h float64 }{p.FlowM3s, p.HeadM})
			}
			add("the same with clean new pipe, the valves left", s.flow(x.At.FlowM3s)+" at "+u.text(x.At.HeadM)+" "+u.Word)
		}
	}
	if d.Beyond {
		add("doubt", "it runs beyond the last point of the pump’s curve, where the curve is a guess: ask the maker for more points")
	}
	p := plot{Class: "water duty", Title: fmt.Sprintf("Curve of %s against that of the pipes: they meet at %s and %s %s", d.Pump, s.flow(d.At.FlowM3s), u.text(d.At.HeadM), u.Word),
		Unit: "head, " + u.Word, XUnit: word, XMax: roundUp(most * per), YMax: roundUp(top * u.PerM * 1.02),
		Lines: []plotLine{line("low", curve), line("typical", pipes), line("high", clean)}}
	p.Points = []plotPoint{{X: d.At.FlowM3s * per, Y: d.At.HeadM * u.PerM, Word: fixed(d.At.FlowM3s*per, 0) + " " + word, Left: d.At.FlowM3s*per > 0.62*p.XMax}}
	page.Duty = p.svg()
	return nil
}

// showTimetable handles GET /plumbing/timetable.csv and .json: the timetable of a
// loop for a controller.
func (s *server) showTimetable(w http.ResponseWriter, r *http.Request) {
	at, known := s.loopOf(r.URL.Query())
	if !known || at >= len(s.cfg.Site.Loops) {
		s.notHere(w, r)
		return
	}
	st, ok := s.studied(w, r, at)
	if !ok {
		return
	}
	if st == nil || st.Timetable == nil {
		s.render(w, r, http.StatusNotFound, "fail.html", failPage{frame: s.frame("No timetable", "plumbing"), Sentence: "There is no timetable of this loop.", Todo: "The plumbing page says what the site file lacks for it."})
		return
	}
	var out bytes.Buffer
	kind, name := "text/csv; charset=utf-8", "timetable.csv"
	var err error
	if strings.HasSuffix(r.URL.Path, ".json") {
		kind, name = "application/json", "timetable.json"
		into := json.NewEncoder(&out)
		into.SetIndent("", "  ")
		err = into.Encode(st.Timetable)
	} else {
		err = st.Timetable.CSV(&out)
	}
	if err != nil {
		s.fail(w, r, fmt.Errorf("timetable of %s: %w", st.Loop.Name, err))
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Set("Cache-Control", "no-store")
	if _, err := w.Write(out.Bytes()); err != nil {
		s.log.Info("reader left before the timetable was sent", "path", r.URL.Path, "cause", err)
	}
}
