package web

import (
	"errors"
	"fmt"
	"html"
	"html/template"
	"math"
	"net/http"
	"strconv"
	"strings"

	"tidebed/ripen"
	"tidebed/words"
)

type startPage struct {
	frame
	Sentence, Todo string
	Form           startForm
	Plan           *ripen.Plan
	WithFish       bool
	Chart          template.HTML
	Legend         string
	Facts          []startFact
	Short, Days    []startRow
	ByTemp         []startTempRow
	MediaHead      string
	ByTempFault    string
}

type startFact struct{ Name, Text string }

// startForm is the question as typed.
type startForm struct {
	Loops, Methods, Seeds []optionView
	Temp, Goal, Media     string
	Problems              map[string]string
}

// startRow is a day of the plan.
type startRow struct {
	Day, Salt, Solution, Parts, Base, Feed, Share, Change, Chloride string
	TAN, Nitrite, Nitrate, PH, Alk, Free, MostFree, MostFelt, Note  string
}

type startTempRow struct {
	Temp, New, Water, Media string
	Own                     bool
}

// showStartUp handles GET /start-up: when is a new loop ready, and what is to be
// done each day until then? Without a query it answers for the first loop.
func (s *server) showStartUp(w http.ResponseWriter, r *http.Request) {
	page := startPage{frame: s.frame("Start-up", "more")}
	query := r.URL.Query()
	typed := map[ripen.Field]string{}
	for _, f := range []ripen.Field{ripen.LoopField, ripen.MethodField, ripen.TempField, ripen.SeedField, ripen.MediaField, ripen.GoalField} {
		typed[f] = strings.TrimSpace(query.Get(string(f)))
	}
	question, err := ripen.Read(s.cfg.Site, typed)
	page.Form = s.startForm(typed, question)
	if len(s.cfg.Site.Loops) == 0 {
		page.Sentence, page.Todo = "No loop is written down, so none can be started.", "Write it into the site file, under loops: tanks with their volume and warmth, and beds with their media."
		s.render(w, r, http.StatusOK, "startup.html", page)
		return
	}
	if err != nil {
		page.Form.Problems = startRefusals(err)
		page.Sentence = "This cannot be reckoned yet: " + words.Count(len(page.Form.Problems), "thing is", "things are") + " to be mended."
		status := http.StatusUnprocessableEntity
		if typed[ripen.LoopField] == "" && question.Loop == nil { // the building, not the form
			status = http.StatusOK
		}
		s.render(w, r, status, "startup.html", page)
		return
	}
	plan, err := question.Plan(s.cfg.Site)
	switch {
	case err != nil && ripen.Unworkable(err):
		page.Sentence, page.Todo = "This start-up cannot be planned.", words.Capital(err.Error())+"."
		s.render(w, r, http.StatusUnprocessableEntity, "startup.html", page)
		return
	case err != nil:
		s.fail(w, r, fmt.Errorf("start-up: %w", err))
		return
	}
	rows, err := question.Table(s.cfg.Site, plan)
	if err != nil {
		if !ripen.Unworkable(err) {
			s.fail(w, r, fmt.Errorf("start-up by temperature: %w", err))
			return
		}
		page.ByTempFault = words.Capital(err.Error()) + "."
	}
	page.Plan, page.WithFish = plan, plan.Method == ripen.WithFish
	page.Sentence = plan.Answer(rows)
	page.fill(rows)
	s.render(w, r, http.StatusOK, "startup.html", page)
}

// startRefusals are the sentences of each field.
func startRefusals(err error) map[string]string {
	out := map[string]string{}
	var joined interface{ Unwrap() []error }
	list := []error{err}
	if errors.As(err, &joined) {
		list = joined.Unwrap()
	}
	for _, e := range list {
		var f *ripen.FieldError
		if errors.As(e, &f) {
			out[string(f.Field)] = words.Capital(f.Error()) + "."
		}
	}
	return out
}

func (s *server) startForm(typed map[ripen.Field]string, q ripen.Question) startForm {
	f := startForm{Temp: typed[ripen.TempField], Goal: typed[ripen.GoalField], Media: typed[ripen.MediaField]}
	for i := range s.cfg.Site.Loops {
		l := &s.cfg.Site.Loops[i]
		f.Loops = append(f.Loops, optionView{Word: l.Name, Label: l.Name, Chosen: q.Loop == l})
	}
	for _, m := range []optionView{{Word: string(ripen.WithoutFish), Label: "without fish"}, {Word: string(ripen.WithFish), Label: "with fish in it"}} {
		m.Chosen = ripen.Method(m.Word) == q.Method
		f.Methods = append(f.Methods, m)
	}
	labels := map[string]string{"new": "new media alone", "water": "ripe water or a handful of ripe stones", "media": "buckets of running media"}
	for i, word := range ripen.Seeds() {
		f.Seeds = append(f.Seeds, optionView{Word: word, Label: labels[word], Chosen: typed[ripen.SeedField] == word || typed[ripen.SeedField] == "" && i == 0})
	}
	return f
}

// everyDays is the step of the short table where nothing is to be done.
const everyDays = 7

func (p *startPage) fill(rows []ripen.Row) {
	plan := p.Plan
	add := func(name, text string) { p.Facts = append(p.Facts, startFact{name, text}) }
	if plan.ReadyDay > 0 {
		late := "not within " + words.Count(ripen.MostDays, "day", "days")
		if plan.LateDay > 0 {
			late = "day " + strconv.Itoa(plan.LateDay)
		}
		add("ready, by the bacteria there are to begin with", fmt.Sprintf("day %d, between day %d and %s", plan.ReadyDay, plan.EarlyDay, late))
	}
	if plan.BothBelowDay > 0 {
		add("ammonia and nitrite nitrogen both below 0.5 mg/L", "from day "+strconv.Itoa(plan.BothBelowDay))
	}
	if !p.WithFish {
		add("ammonium chloride in all", gramsOf(plan.NH4ClG))
	}
	if plan.BaseG > 0 {
		add("base in all", fmt.Sprintf("%s of %s, %s", gramsOf(plan.BaseG), plan.BaseName, plan.Base))
	}
	if p.WithFish {
		add("days without feed after the first", words.Count(plan.HungryDays(), "day", "days"))
		add("water changed in all", oneDecimal(plan.ChangedM3)+" m³")
		if plan.SaltG > 0 {
			add("calcium chloride in all, as CaCl2·2H2O", gramsOf(plan.SaltG))
		}
	}
	n := &plan.Nitrogen
	add("nitrogen, g", fmt.Sprintf("%s given and %s in the water filled in; in the end %s in the water, %s gone as gas, %s into bacteria%s", oneDecimal(n.InG), oneDecimal(n.StartG),
		oneDecimal(n.WaterG), oneDecimal(n.GasG), oneDecimal(n.FormedG), changedWords(plan)))
	p.Chart, p.Legend = startChart(plan)
	for i := range plan.Days {
		d := &plan.Days[i]
		row := startRowOf(d)
		p.Days = append(p.Days, row)
		busy := d.BaseG > 0 || d.SaltG > 0 || d.NH4ClG >= 0.05*plan.NH4ClG && d.NH4ClG > 0
		if busy || d.Day == 1 || d.Day%everyDays == 0 || i >= len(plan.Days)-3 {
			p.Short = append(p.Short, row)
		}
	}
	for _, r := range rows {
		p.ByTemp = append(p.ByTemp, startTempRow{Temp: figure(r.TempC) + " °C", New: readyWord(r.NewDay), Water: readyWord(r.WaterDay), Media: readyWord(r.MediaDay), Own: r.TempC == plan.TempC})
		p.MediaHead = fmt.Sprintf("%s L of media from %s", figure(r.MediaM3*1000), r.From)
	}
}

func changedWords(p *ripen.Plan) string {
	if p.Nitrogen.ChangedG == 0 {
		return ""
	}
	return ", " + oneDecimal(p.Nitrogen.ChangedG) + " with changed water"
}

func readyWord(day int) string {
	if day == 0 {
		return fmt.Sprintf("over %d", ripen.MostDays)
	}
	return strconv.Itoa(day)
}

func startRowOf(d *ripen.Day) startRow {
	row := startRow{
		Day: strconv.Itoa(d.Day), Salt: doseCell(d.NH4ClG), Solution: doseCell(math.Round(d.AmmoniaMl*10) / 10), Base: doseCell(d.BaseG), Feed: doseCell(d.FeedG), Chloride: doseCell(d.SaltG),
		TAN: fixed(d.TANGm3, 2), Nitrite: fixed(d.NO2NGm3, 2), Nitrate: fixed(d.NO3NGm3, 1), PH: fixed(d.PH, 1), Alk: fixed(d.AlkGm3, 0), Free: fixed(d.NH3NGm3, 3),
		MostFree: fixed(d.MostNH3N, 3), MostFelt: fixed(d.MostFelt, 3), Share: percent(d.FeedShare), Change: "–", Note: d.Note,
	}
	if d.Change > 0 {
		row.Change = percent(d.Change)
	}
	if d.Parts > 1 && d.NH4ClG > 0 {
		row.Salt += fmt.Sprintf(" in %d", d.Parts)
	}
	return row
}

func fixed(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }

// doseCell is an amount as a balance shows it; nothing is a dash.
func doseCell(g float64) string {
	switch {
	case g <= 0:
		return "–"
	case g < 10:
		return strings.TrimSuffix(fixed(g, 1), ".0")
	case g < 100:
		return strings.TrimSuffix(fixed(math.Round(2*g)/2, 1), ".0")
	}
	return grouped(math.Round(g))
}

// curve is a line of a panel.
type curve struct {
	stroke string // as the strokes of a chart: "", typical, high
	value  func(*ripen.Day) float64
}

type startLimit struct {
	value float64
	text  string
}

// startChart draws ammonia and nitrite with their limits over nitrate.
func startChart(p *ripen.Plan) (template.HTML, string) {
	if len(p.Days) < 2 {
		return "", ""
	}
	upper := []curve{{"low", func(d *ripen.Day) float64 { return d.TANGm3 }}, {"typical", func(d *ripen.Day) float64 { return d.NO2NGm3 }}}
	limits := []startLimit{{ripen.MostNGm3, "most, together"}, {ripen.DoneGm3, "done"}}
	legend := "Solid ammonia, dashed nitrite, dotted nitrate, each as N, in the morning before doses. Thin lines: the most for ammonia and nitrite together, and below what a day's load counts as gone."
	if p.Limits != nil {
		limits = []startLimit{{p.Limits.TANGm3, "ammonia, most"}, {p.Limits.NO2NGm3, "nitrite felt, most"}}
		upper = append(upper, curve{"high", func(d *ripen.Day) float64 { return d.MostFelt }})
		legend = "Above: solid ammonia, dashed nitrite, dotted nitrite as felt behind chloride. Below: nitrate. Each as N. Thin lines: the limits of the fish's group."
	}
	var b strings.Builder
	const left, right, wide = chartLeft, chartRight, chartWide
	fmt.Fprintf(&b, `<svg class="chart water" viewBox="0 0 %.0f 330" role="img"><title>%s</title>`, wide, html.EscapeString("Ammonia, nitrite and nitrate by day of the "+p.Loop+" loop's start-up; the numbers stand in the table"))
	last := float64(p.Days[len(p.Days)-1].Day)
	x := func(day float64) float64 { return left + (right-left)*(day-1)/(last-1) }
	panel(&b, p, "mg/L as N: ammonia, nitrite", 26, 176, x, upper, limits)
	panel(&b, p, "mg/L as N: nitrate", 216, 296, x, []curve{{"high", func(d *ripen.Day) float64 { return d.NO3NGm3 }}}, nil)
	step := 7.0
	for last/step > 7 {
		step *= 2
	}
	for day := step; day <= last; day += step {
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f 296v5"/><text x="%.1f" y="312" text-anchor="middle">%.0f</text>`, x(day), x(day), day)
	}
	fmt.Fprintf(&b, `<text x="%.1f" y="327" text-anchor="end">day</text></svg>`, right)
	return template.HTML(b.String()), legend
}

// panel is one set of axes with its curves.
func panel(b *strings.Builder, p *ripen.Plan, unit string, topY, bottomY float64, x func(float64) float64, curves []curve, limits []startLimit) {
	most := 0.0
	for i := range p.Days {
		for _, c := range curves {
			most = math.Max(most, c.value(&p.Days[i]))
		}
	}
	for _, l := range limits {
		if !math.IsInf(l.value, 0) {
			most = math.Max(most, l.value)
		}
	}
	if most <= 0 {
		most = 1
	}
	top := roundUp(most * 1.02)
	y := func(v float64) float64 { return bottomY - (bottomY-topY)*v/top }
	fmt.Fprintf(b, `<text x="2" y="%.1f">%s</text>`, topY-12, html.EscapeString(unit))
	for _, v := range []float64{0, top / 2, top} {
		fmt.Fprintf(b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, chartLeft, y(v), chartRight, chartLeft-6, y(v)+4.5, figure(v))
	}
	for _, l := range limits {
		if math.IsInf(l.value, 0) {
			continue
		}
		fmt.Fprintf(b, `<path class="limit" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f">%s</text>`, chartLeft, y(l.value), chartRight, chartLeft+4, y(l.value)-4, html.EscapeString(l.text))
	}
	for _, c := range curves {
		var d strings.Builder
		for i := range p.Days {
			pen := "L"
			if i == 0 {
				pen = "M"
			}
			fmt.Fprintf(&d, "%s%.1f %.1f", pen, x(float64(p.Days[i].Day)), y(c.value(&p.Days[i])))
		}
		fmt.Fprintf(b, `<path class="course %s" d="%s"/>`, c.stroke, d.String())
	}
}
