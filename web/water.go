package web

import (
	"context"
	"fmt"
	"html"
	"html/template"
	"math"
	"net/http"
	"strings"

	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// waterWeeks is how far the page looks ahead.
const waterWeeks = 8

// mostReasons is how many causes stand under the first sentence; the worst of the
// three courses may follow.
const mostReasons = 2

// doseDays is how far doses are listed one by one.
const doseDays = 14

type waterPage struct {
	frame
	Sentence string
	Reasons  []string
	Undosed  string
	Cautions []string
	Tanks    []tankView
	Loops    []loopWaterView
	Until    string
}

// tankView is one tank's water.
type tankView struct {
	Anchor, Name, Facts string
	Staffs              []staffView
	Charts              []drawnChart
	Leaves              []leaveRow
	Limits              []limitRow
}

// limitRow is the limits of one parameter, and where they come from.
type limitRow struct{ Parameter, Best, Borne, Source string }

type drawnChart struct {
	Title string
	SVG   template.HTML
	Note  string
}

type leaveRow struct{ Parameter, Growth, Day, Value, Limit, Verdict, State, Cause, Remedy, Until, Source string }

// loopWaterView is what a loop's water shares.
type loopWaterView struct {
	Name, Title, Facts string
	Notes              []string
	Doses              []doseRow
	Months             []doseRow
	Balance            []season.BalanceRow
	Shortages          []shortRow
	Flow               template.HTML
	FlowRows           []flowRow
	LaterFrom          string // first day of Months
	Work               string
}

type doseRow struct{ Day, What, Amount, Why, State, Source string }

type shortRow struct{ Food, Day, Value, Ample, Least, Given, Remedy, Source string }

type flowRow struct{ Side, Name, G, Share string }

// showWater handles GET /water: what will the water of each tank do in the coming
// weeks, what is to be dosed, and where does the nitrogen go?
func (s *server) showWater(w http.ResponseWriter, r *http.Request) {
	a, ok := s.grown(w, r, "water")
	if !ok {
		return
	}
	page := waterPage{frame: s.frame("Water", "water"), Cautions: season.DoseCautions}
	g, grown := growthOf(a)
	if !grown {
		page.Sentence = "The season has not been worked out, so nothing can be said of the water."
		s.render(w, r, http.StatusOK, "water.html", page)
		return
	}
	f := g[season.Typical]
	until := s.cfg.Today.Plus(7 * waterWeeks)
	page.Until = longDay(until)
	page.Sentence = season.WaterSentence(f.Loops, s.cfg.Today, until, longDay)
	worse := season.WorseCrossings(g)
	for i := range f.Loops {
		l := &f.Loops[i]
		if l.Water == nil {
			continue
		}
		said := map[string]bool{} // of this loop
		for c := range l.Water.Cells {
			if cell := &l.Water.Cells[c]; cell.Tank != "" {
				page.Tanks = append(page.Tanks, s.tankView(l, cell, worse, until))
				for k := range cell.Leaves {
					if x := &cell.Leaves[k]; len(page.Reasons) < mostReasons && x.Verdict != "watch" && !x.Day.After(until.Time) && !x.Until.Before(s.cfg.Today.Time) && !said[x.Parameter] {
						said[x.Parameter] = true
						page.Reasons = append(page.Reasons, fmt.Sprintf("%s of %s from %s: %s.", words.Capital(x.Parameter), cell.Tank, longDay(x.Day), x.Cause))
					}
				}
			}
		}
		page.Loops = append(page.Loops, s.loopWater(l, f.Cohorts))
	}
	for i := range worse {
		if x := &worse[i]; len(page.Reasons) <= mostReasons && !x.Day.After(until.Time) && !x.Until.Before(s.cfg.Today.Time) {
			page.Reasons = append(page.Reasons, x.Saying(longDay)+".")
			break
		}
	}
	if len(page.Tanks) == 0 {
		s.render(w, r, http.StatusOK, "water.html", page)
		return
	}
	bare, _, ready, err := s.undosed.wait(r.Context(), s.patience, func(context.Context) (*season.Forecast, error) {
		return season.Run(s.cfg.Site, season.Options{To: later(until, s.cfg.Site.Opening.Date.Plus(1)), Course: season.Typical, Undosed: true})
	})
	switch {
	case err != nil:
		s.fail(w, r, fmt.Errorf("water without doses: %w", err))
		return
	case ready:
		page.Undosed = withoutDoses(bare, until)
	default:
		page.Undosed = "What comes without doses is still being worked out: open the page again in a moment."
	}
	s.render(w, r, http.StatusOK, "water.html", page)
}

func later(a, b site.Date) site.Date {
	if a.Before(b.Time) {
		return b
	}
	return a
}

// withoutDoses says what happens when nothing is given.
func withoutDoses(f *season.Forecast, until site.Date) string {
	var first *season.Crossing
	tank := ""
	for i := range f.Loops {
		if f.Loops[i].Water == nil {
			continue
		}
		for c := range f.Loops[i].Water.Cells {
			cell := &f.Loops[i].Water.Cells[c]
			for k := range cell.Leaves {
				x := &cell.Leaves[k]
				if (x.Parameter == "pH" || x.Parameter == "alkalinity") && !x.High && x.Verdict != "watch" && (first == nil || x.Day.Before(first.Day.Time)) {
					first, tank = x, cell.Tank
				}
			}
		}
	}
	if first == nil {
		return fmt.Sprintf("Without any doses pH and alkalinity would stay within what the fish bear until %s.", longDay(until))
	}
	return "Without any doses: " + first.Saying(tank, longDay) + "."
}

// tankView sets out one tank: its gauges of today, its charts and what it leaves.
func (s *server) tankView(l *season.LoopCourse, c *season.CellCourse, worse []season.Worse, until site.Date) tankView {
	v := tankView{Anchor: "tank-" + strings.ReplaceAll(c.Tank, " ", "-"), Name: c.Tank}
	v.Facts = fmt.Sprintf("%s of water in %s; limits of the group %s", s.at(c.VolumeM3, "volume"), loopTitle(l.Name), c.Group)
	at := -1
	for i := range c.Days {
		if !c.Days[i].Day.After(s.cfg.Today.Time) {
			at = i
		}
	}
	if at >= 0 {
		for _, b := range c.Bands() {
			v.Staffs = append(v.Staffs, waterStaff(c, at, b, until).view())
		}
	}
	for _, b := range c.Bands() {
		switch b.Name {
		case "oxygen", "un-ionised ammonia", "nitrite", "pH":
			v.Charts = append(v.Charts, s.waterChart(c, b, until))
		}
	}
	if hours, ok := hoursChart(c); ok {
		v.Charts = append(v.Charts, hours)
	}
	for _, b := range c.Bands() {
		unit := bandUnit(b.Name, b.Unit)
		v.Limits = append(v.Limits, limitRow{b.Name, span(b.BestLow, b.BestHigh, unit), span(b.Low, b.High, unit), b.Source})
	}
	for i := range c.Leaves {
		v.Leaves = append(v.Leaves, leaves(&c.Leaves[i], courseWords[season.Typical]))
	}
	for i := range worse {
		if x := &worse[i]; x.Loop == l.Name && x.Tank == c.Tank {
			growth := x.Yield + ", earliest"
			if x.Only {
				growth = x.Yield + " alone"
			}
			v.Leaves = append(v.Leaves, leaves(&x.Crossing, growth))
		}
	}
	return v
}

func leaves(x *season.Crossing, growth string) leaveRow {
	state := string(Act)
	if x.Verdict == "watch" {
		state = string(Watch)
	}
	return leaveRow{Parameter: x.Parameter, Growth: growth, Day: cellDay(x.Day), Value: bandFigure(x.Value), Limit: strings.TrimSpace(bandFigure(x.Limit) + " " + bandUnit(x.Parameter, x.Unit)),
		Verdict: x.Verdict, State: state, Cause: x.Cause, Remedy: x.Remedy(), Until: cellDay(x.Until), Source: x.Source}
}

// bandUnit is a parameter's unit that tells nitrogen from its ions.
func bandUnit(parameter, unit string) string {
	switch parameter {
	case "nitrate", "nitrite", "total ammonia", "un-ionised ammonia":
		return strings.Replace(unit, "g/m³", "g N/m³", 1)
	}
	return unit
}

// span prints the ends of a band.
func span(low, high float64, unit string) string {
	switch {
	case math.IsInf(low, 0) && math.IsInf(high, 0):
		return noValue
	case math.IsInf(low, 0):
		return strings.TrimSpace("at most " + bandFigure(high) + " " + unit)
	case math.IsInf(high, 0):
		return strings.TrimSpace("at least " + bandFigure(low) + " " + unit)
	}
	return strings.TrimSpace(bandFigure(low) + " to " + bandFigure(high) + " " + unit)
}

// bandFigure prints a value of the water with the digits it deserves.
func bandFigure(v float64) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case math.Abs(v) >= 100:
		return fmt.Sprintf("%.0f", v)
	case math.Abs(v) >= 10:
		return fmt.Sprintf("%.1f", v)
	case math.Abs(v) >= 0.1:
		return fmt.Sprintf("%.2f", v)
	}
	return fmt.Sprintf("%.3f", v)
}

// waterStaff is a parameter today against the limits of the tank's fish: the end
// of the day's span that is nearer to a limit.
func waterStaff(c *season.CellCourse, at int, b season.Band, until site.Date) Staff {
	d := &c.Days[at]
	value := d.Value(b.Name, false)
	if high := d.Value(b.Name, true); !math.IsInf(b.High, 0) && (math.IsInf(b.Low, 0) || b.High-high < value-b.Low) {
		value = high
	}
	st := Staff{Name: b.Name, Value: value, Low: b.Low, High: b.High, Unit: bandUnit(b.Name, b.Unit), Decimals: 1}
	switch {
	case b.High < 0.1:
		st.Decimals = 4
	case b.High <= 2:
		st.Decimals = 3
	case b.Name == "pH" || b.Name == "oxygen":
		st.Decimals = 2
	case b.Name == "nitrate" || b.Name == "alkalinity":
		st.Decimals = 0
	}
	top, bottom := math.Max(value, 0), math.Min(value, 0)
	for _, limit := range []float64{b.Low, b.High, b.BestLow, b.BestHigh} {
		if !math.IsInf(limit, 0) {
			top = math.Max(top, limit)
		}
	}
	if b.Name == "pH" {
		bottom = 5
	}
	st.ScaleMin, st.ScaleMax = bottom, top*1.25+1e-6
	if math.IsInf(b.Low, 0) || math.IsInf(b.High, 0) {
		st.Edge = 0.1 * (st.ScaleMax - st.ScaleMin)
		if best := b.BestHigh; !math.IsInf(best, 0) && math.IsInf(b.Low, 0) {
			st.Edge = math.Max(0, b.High-best)
		}
		if best := b.BestLow; !math.IsInf(best, 0) && math.IsInf(b.High, 0) {
			st.Edge = math.Max(0, best-b.Low)
		}
	}
	for i := at + 1; i < len(c.Days) && !c.Days[i].Day.After(until.Time); i++ {
		st.Ahead = append(st.Ahead, c.Days[i].Value(b.Name, false), c.Days[i].Value(b.Name, true))
	}
	for i := max(0, at-7); i < at; i++ {
		st.Trend = append(st.Trend, c.Days[i].Value(b.Name, false))
	}
	return st
}

// banded is a chart of values against limits: the band that is borne for long is
// filled, its edges are lines with their figures, and the scale shows the limits.
type banded struct {
	title, unit string
	low, high   float64 // edges of the band; infinite where there is none
	bottom, top float64 // of the scale
	step        float64 // between its lines
	lines       []bandedLine
}

type bandedLine struct {
	word   string // the stroke
	values []float64
}

// scale fits the scale to the values and, with limits, to the edges of the band.
func (c *banded) scale(limits bool) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, l := range c.lines {
		for _, v := range l.values {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	if limits {
		for _, edge := range [2]float64{c.low, c.high} {
			if !math.IsInf(edge, 0) {
				low, high = math.Min(low, edge), math.Max(high, edge)
			}
		}
		if math.IsInf(c.low, 0) {
			low = math.Min(low, 0)
		}
	}
	room := math.Max(high-low, 1e-3*math.Max(1e-3, math.Abs(high)))
	c.step = roundUp(room / 4)
	c.bottom, c.top = c.step*math.Floor((low-room/20)/c.step), c.step*math.Ceil((high+room/20)/c.step)
	if low >= 0 {
		c.bottom = math.Max(0, c.bottom)
	}
}

// svg draws the chart. The step of each line is one of the axis, which ticks draws.
func (c *banded) svg(x func(step int) float64, ticks func(b *strings.Builder)) template.HTML {
	y := func(v float64) float64 {
		v = math.Min(c.top, math.Max(c.bottom, v))
		return chartBottom - (chartBottom-chartTop)*(v-c.bottom)/(c.top-c.bottom)
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart water" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title><text x="2" y="14">%s</text>`, chartWide, chartTall-14, html.EscapeString(c.title), html.EscapeString(c.unit))
	if top, bottom := y(c.high), y(c.low); bottom-top > 0 {
		fmt.Fprintf(&b, `<rect class="band" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, chartLeft, top, chartRight-chartLeft, bottom-top)
	}
	digits := max(0, int(math.Ceil(-math.Log10(c.step)-1e-9)))
	for i := 0; c.bottom+float64(i)*c.step < c.top+c.step/2; i++ {
		v := c.bottom + float64(i)*c.step
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%.*f</text>`, chartLeft, y(v), chartRight, chartLeft-6, y(v)+4.5, digits, v)
	}
	for i, edge := range [2]float64{c.low, c.high} {
		if edge < c.bottom || edge > c.top {
			continue
		}
		at := y(edge) - 4
		if i == 0 || at < chartTop+10 {
			at = y(edge) + 13
		}
		if at > chartBottom-2 {
			at = y(edge) - 4
		}
		fmt.Fprintf(&b, `<path class="limit" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s %s</text>`, chartLeft, y(edge), chartRight, chartRight-3, at, [2]string{"least", "most"}[i], bandFigure(edge))
	}
	ticks(&b)
	for _, l := range c.lines {
		fmt.Fprintf(&b, `<path class="course %s" d="`, l.word)
		for i, v := range l.values {
			fmt.Fprintf(&b, "%s%.1f %.1f", [2]string{"M", "L"}[min(i, 1)], x(i), y(v))
		}
		b.WriteString(`"/>`)
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// waterChart is a parameter over the coming weeks, at its worst of each day; of pH
// both ends of the day.
func (s *server) waterChart(c *season.CellCourse, b season.Band, until site.Date) drawnChart {
	out := drawnChart{Title: words.Capital(b.Name)}
	from := s.cfg.Today
	var low, high []float64
	for i := range c.Days {
		if day := &c.Days[i]; !day.Day.Before(from.Time) && !day.Day.After(until.Time) {
			if len(low) == 0 {
				from = day.Day
			}
			low, high = append(low, day.Value(b.Name, false)), append(high, day.Value(b.Name, true))
		}
	}
	if len(low) < 2 {
		return out
	}
	unit := bandUnit(b.Name, b.Unit)
	to := from.Plus(len(low) - 1)
	d := banded{title: fmt.Sprintf("%s of %s from %s to %s; fish bear %s for long", words.Capital(b.Name), c.Tank, longDay(from), longDay(to), span(b.Low, b.High, unit)), unit: strings.TrimSpace(b.Name + " " + unit), low: b.Low, high: b.High}
	out.Note = "Line: the highest of each day. "
	switch {
	case math.IsInf(b.High, 0):
		d.lines = []bandedLine{{"low", low}}
		out.Note = "Line: the lowest of each day. "
	case math.IsInf(b.Low, 0):
		d.lines = []bandedLine{{"low", high}}
	default:
		d.lines = []bandedLine{{"low", low}, {"typical", high}}
		out.Note = "Solid: the lowest of each day; dashed: the highest. "
	}
	out.Note += "Filled: what the fish bear for long, " + span(b.Low, b.High, unit) + "."
	d.scale(true)
	step := (chartRight - chartLeft) / float64(len(low)-1)
	out.SVG = d.svg(func(i int) float64 { return chartLeft + step*float64(i) }, func(w *strings.Builder) {
		const fortnight = 14
		for d := 0; d < len(low); d += fortnight {
			at, anchor := chartLeft+step*float64(d), "middle"
			if at > chartRight-16 {
				anchor, at = "end", at+4
			}
			fmt.Fprintf(w, `<path class="rule" d="M%.1f %.1fv5"/><text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, chartLeft+step*float64(d), chartBottom, at, chartBottom+18, anchor, from.Plus(d).Format("2 Jan"))
		}
	})
	return out
}

// hoursChart is the oxygen of the first three days hour by hour; false where there
// are too few.
func hoursChart(c *season.CellCourse) (out drawnChart, ok bool) {
	if len(c.Hours) < 24 || len(c.Days) == 0 {
		return out, false
	}
	d := banded{unit: "oxygen g/m³", low: math.Inf(-1), high: math.Inf(1)}
	for _, b := range c.Bands() {
		if b.Name == "oxygen" {
			d.low, d.high = b.Low, b.High
		}
	}
	var values []float64
	least, at := math.Inf(1), 0
	for i, h := range c.Hours {
		values = append(values, h.DOGm3)
		if i >= len(c.Hours)-24 && h.DOGm3 < least {
			least, at = h.DOGm3, (h.Hour+1)%24
		}
	}
	d.lines = []bandedLine{{"low", values}}
	d.scale(false)
	span := d.top - d.bottom
	for _, edge := range [2]float64{d.low, d.high} {
		if edge > d.bottom-2*span && edge < d.top+2*span {
			d.scale(true) // a limit is near: show it
			break
		}
	}
	start := c.Days[0].Day
	d.title = fmt.Sprintf("Oxygen of %s by the hour from %s, lowest %s g/m³ at %d:00 of the last day", c.Tank, longDay(start), bandFigure(least), at)
	out.Title = "Oxygen by the hour"
	out.Note = fmt.Sprintf("The first three days of the forecast, from %s: lowest %s g/m³ at %d:00 of the last of them.", longDay(start), bandFigure(least), at)
	if !math.IsInf(d.low, 0) && d.bottom > d.low {
		out.Note += fmt.Sprintf(" The least that the fish bear for long, %s, lies below the drawing.", bandFigure(d.low))
	}
	step := (chartRight - chartLeft) / float64(len(values)-1)
	x := func(i int) float64 { return chartLeft + step*float64(i) }
	out.SVG = d.svg(x, func(b *strings.Builder) {
		for h := 0; h < len(values); h += 12 {
			word := "12:00"
			if h%24 == 0 {
				word = start.Plus(h / 24).Format("2 Jan")
			}
			at := math.Max(chartLeft, x(h-1)) // an hour's value stands at its end
			fmt.Fprintf(b, `<path class="rule" d="M%.1f %.1fv5"/><text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, at, chartBottom, at, chartBottom+18, word)
		}
	})
	return out, true
}

// loopTitle names a loop.
func loopTitle(name string) string {
	if strings.Contains(strings.ToLower(name), "loop") {
		return name
	}
	return "loop " + name
}

// loopWater sets out what a loop's water shares.
func (s *server) loopWater(l *season.LoopCourse, cohorts []season.CohortCourse) loopWaterView {
	v := loopWaterView{Name: l.Name, Title: loopTitle(l.Name), Notes: l.Water.Notes, Balance: l.Balance(cohorts), Work: l.Water.Work}
	v.Facts = fmt.Sprintf("%s of water in all", s.at(l.VolumeM3, "volume"))
	for i := range l.Water.Doses {
		d := &l.Water.Doses[i]
		if d.Day.Before(s.cfg.Today.Time) || d.Day.After(s.cfg.Today.Plus(doseDays).Time) {
			continue
		}
		row := doseRow{Day: cellDay(d.Day), What: d.What, Amount: d.Amount(), Why: d.Why, Source: d.Source()}
		if d.Held {
			row.Amount, row.State = "held back", string(Act)
		}
		v.Doses = append(v.Doses, row)
	}
	later := s.cfg.Today.Plus(doseDays + 1)
	v.LaterFrom = longDay(later)
	for _, m := range l.Water.MonthlyDoses(later) {
		v.Months = append(v.Months, doseRow{Day: m.Month.Format("January 2006"), What: m.What, Amount: m.Sum.Amount(), Why: words.Count(m.Times, "time", "times")})
	}
	for _, x := range l.Shortages() {
		v.Shortages = append(v.Shortages, shortRow{x.Food, cellDay(x.Day), bandFigure(x.Gm3), bandFigure(x.Ample), bandFigure(x.Least), x.Given, x.Remedy, x.Source})
	}
	from, to, total := l.WholeNitrogen()
	v.Flow = flowDrawing(l.Name, from, to, total)
	for side, parts := range [2][]season.WholePart{from, to} {
		word := [2]string{"from", "to"}[side]
		for _, p := range parts {
			v.FlowRows = append(v.FlowRows, flowRow{word, p.Name, grouped(float64(p.Grams)), fmt.Sprintf("%d %%", p.Percent)})
		}
		v.FlowRows = append(v.FlowRows, flowRow{word, "all", grouped(float64(total)), "100 %"})
	}
	return v
}

// flowDrawing draws where the nitrogen comes from and goes: bands that join in one
// trunk and part again, each as wide as its share.
func flowDrawing(name string, from, to []season.WholePart, totalG int) template.HTML {
	sum := func(parts []season.WholePart) (g float64) {
		for _, p := range parts {
			g += p.G
		}
		return g
	}
	if totalG < 1 || !(sum(from) > 0) || !(sum(to) > 0) {
		return ""
	}
	total := float64(totalG)
	const wide, tall, left, right, gap, line = 760.0, 340.0, 230.0, 480.0, 10.0, 17.0
	most := max(len(from), len(to))
	height := math.Max(tall, float64(most)*(line+gap)+60)
	body := height - 60 - gap*float64(most-1)
	trunkTop := (height - body) / 2
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart nitrogen" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title>`, wide, height,
		html.EscapeString(fmt.Sprintf("Where the nitrogen of %s comes from and goes: %s g on each side; the table below has each part", loopTitle(name), grouped(total))))
	fmt.Fprintf(&b, `<text x="%.0f" y="14" text-anchor="middle">%s g of nitrogen</text>`, wide/2, grouped(total))
	mid1, mid2 := wide/2-24, wide/2+24
	fmt.Fprintf(&b, `<path class="flow other" d="M%.1f %.1fH%.1fV%.1fH%.1fZ"/>`, mid1, trunkTop, mid2, trunkTop+body, mid1)
	side := func(parts []season.WholePart, outer, inner float64, anchor string, textX float64) {
		all := sum(parts)
		y, at := 30.0, trunkTop
		below := 0.0 // where the last label ends
		for _, p := range parts {
			if p.Grams == 0 {
				continue // too thin to be seen; the table has it
			}
			h := body * p.G / all
			fmt.Fprintf(&b, `<path class="flow %s" d="M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fV%.1fC%.1f %.1f %.1f %.1f %.1f %.1fZ"/>`, flowClass(p.Name),
				outer, y, (outer+inner)/2, y, (outer+inner)/2, at, inner, at, at+h, (outer+inner)/2, at+h, (outer+inner)/2, y+h, outer, y+h)
			text := math.Max(y+h/2+4, below+line)
			fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="%s">%s %s g, %d %%</text>`, textX, text, anchor, html.EscapeString(p.Name), grouped(float64(p.Grams)), p.Percent)
			below = text
			y += h + gap
			at += h
		}
	}
	side(from, left, mid1, "end", left-8)
	side(to, right, mid2, "start", right+8)
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// flowClass is the hue of a band; the label beside it carries the meaning.
func flowClass(name string) string {
	switch {
	case strings.Contains(name, "plant"):
		return "bed"
	case strings.Contains(name, "fish"), name == "feed":
		return "fish"
	case strings.Contains(name, "gas"), strings.Contains(name, "solids"):
		return "larder"
	}
	return "other"
}
