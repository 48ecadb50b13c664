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
)

// waterWeeks is how far the page looks ahead.
const waterWeeks = 8

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
	Hours               template.HTML
	Charts              []drawnChart
	Leaves              []leaveRow
}

type drawnChart struct {
	Title string
	SVG   template.HTML
	Note  string
}

type leaveRow struct{ Parameter, Day, Value, Limit, Verdict, State, Cause, Until, Source string }

// loopWaterView is what a loop's water shares.
type loopWaterView struct {
	Name, Facts string
	Notes       []string
	Doses       []doseRow
	Months      []doseRow
	Balance     []season.BalanceRow
	Shortages   []shortRow
	Flow        template.HTML
	FlowRows    []flowRow
	Work        string
}

type doseRow struct{ Day, What, Amount, Why, State string }

type shortRow struct{ Food, Day, Value, Ample, Least, Remedy string }

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
	for i := range f.Loops {
		l := &f.Loops[i]
		if l.Water == nil {
			continue
		}
		said := map[string]bool{} // of this loop
		for c := range l.Water.Cells {
			if cell := &l.Water.Cells[c]; cell.Tank != "" {
				page.Tanks = append(page.Tanks, s.tankView(l, cell, until))
				for k := range cell.Leaves {
					if x := &cell.Leaves[k]; len(page.Reasons) < 3 && x.Verdict != "watch" && !x.Day.After(until.Time) && !x.Until.Before(s.cfg.Today.Time) && !said[x.Parameter] {
						said[x.Parameter] = true
						page.Reasons = append(page.Reasons, capital(x.Saying(cell.Tank, longDay))+": "+x.Cause+".")
					}
				}
			}
		}
		page.Loops = append(page.Loops, s.loopWater(l))
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
func (s *server) tankView(l *season.LoopCourse, c *season.CellCourse, until site.Date) tankView {
	v := tankView{Anchor: "tank-" + strings.ReplaceAll(c.Tank, " ", "-"), Name: c.Tank}
	v.Facts = fmt.Sprintf("%s of water in loop %s; limits of the group %s", s.at(c.VolumeM3, "volume"), l.Name, c.Group)
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
	v.Hours = hoursChart(c)
	for i := range c.Leaves {
		x := &c.Leaves[i]
		state := string(Act)
		if x.Verdict == "watch" {
			state = string(Watch)
		}
		v.Leaves = append(v.Leaves, leaveRow{Parameter: x.Parameter, Day: cellDay(x.Day), Value: bandFigure(x.Value), Limit: bandFigure(x.Limit) + " " + x.Unit, Verdict: x.Verdict, State: state, Cause: x.Cause, Until: cellDay(x.Until), Source: x.Source})
	}
	return v
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
	st := Staff{Name: b.Name, Value: value, Low: b.Low, High: b.High, Unit: b.Unit, Decimals: 1}
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

// waterChart is a parameter over the coming weeks: solid the value at its worst of
// the day, dotted the limits.
func (s *server) waterChart(c *season.CellCourse, b season.Band, until site.Date) drawnChart {
	from := later(s.cfg.Today, c.Days[0].Day)
	d := chart{Kind: "water", Unit: strings.TrimSpace(b.Name + " " + b.Unit), From: from, To: until}
	high := math.IsInf(b.Low, 0)
	line := chartLine{Word: "low"}
	for i := range c.Days {
		if day := &c.Days[i]; !day.Day.Before(from.Time) && !day.Day.After(until.Time) {
			line.Points = append(line.Points, chartPoint{day.Day, day.Value(b.Name, high)})
		}
	}
	d.Lines = append(d.Lines, line)
	note := "Solid: the worst of each day. Dotted: "
	var told []string
	for _, limit := range []struct {
		v    float64
		word string
	}{{b.Low, "least"}, {b.High, "most"}} {
		if !math.IsInf(limit.v, 0) {
			d.Lines = append(d.Lines, chartLine{Word: "high", Points: []chartPoint{{from, limit.v}, {until, limit.v}}})
			told = append(told, fmt.Sprintf("%s that is borne for long, %s", limit.word, bandFigure(limit.v)))
		}
	}
	d.Title = fmt.Sprintf("%s of %s until %s", capital(b.Name), c.Tank, longDay(until))
	return drawnChart{Title: capital(b.Name), SVG: d.svg(), Note: note + strings.Join(told, "; ") + "."}
}

// hoursChart is the oxygen of the first three days hour by hour.
func hoursChart(c *season.CellCourse) template.HTML {
	if len(c.Hours) < 24 {
		return ""
	}
	low, high := math.Inf(1), 0.0
	for _, h := range c.Hours {
		low, high = math.Min(low, h.DOGm3), math.Max(high, h.DOGm3)
	}
	pad := math.Max(0.1, (high-low)*0.2)
	bottom, top := math.Max(0, low-pad), high+pad
	x := func(h float64) float64 { return chartLeft + (chartRight-chartLeft)*h/float64(len(c.Hours)) }
	y := func(v float64) float64 { return chartBottom - (chartBottom-chartTop)*(v-bottom)/(top-bottom) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart water" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title><text x="2" y="14">oxygen g/m³</text>`, chartWide, chartTall-20,
		html.EscapeString(fmt.Sprintf("Oxygen of %s over the first %d hours, between %s and %s g/m³", c.Tank, len(c.Hours), bandFigure(low), bandFigure(high))))
	for _, v := range []float64{bottom, (bottom + top) / 2, top} {
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%.1f</text>`, chartLeft, y(v), chartRight, chartLeft-6, y(v)+4.5, v)
	}
	for h := 0; h <= len(c.Hours); h += 12 {
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fv5"/><text x="%.1f" y="%.1f" text-anchor="middle">%d</text>`, x(float64(h)), chartBottom, math.Min(x(float64(h)), chartRight-6), chartBottom+16, h%24)
	}
	b.WriteString(`<path class="course low" d="`)
	for i, h := range c.Hours {
		pen := "L"
		if i == 0 {
			pen = "M"
		}
		fmt.Fprintf(&b, "%s%.1f %.1f", pen, x(float64(h.Hour)+1), y(h.DOGm3))
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String())
}

// loopWater sets out what a loop's water shares.
func (s *server) loopWater(l *season.LoopCourse) loopWaterView {
	v := loopWaterView{Name: l.Name, Notes: l.Water.Notes, Balance: l.Balance(), Work: l.Water.Work}
	v.Facts = fmt.Sprintf("%s of water in all", s.at(l.VolumeM3, "volume"))
	for i := range l.Water.Doses {
		d := &l.Water.Doses[i]
		if d.Day.Before(s.cfg.Today.Time) || d.Day.After(s.cfg.Today.Plus(doseDays).Time) {
			continue
		}
		row := doseRow{Day: cellDay(d.Day), What: d.What, Amount: d.Amount(), Why: d.Why}
		if d.Held {
			row.Amount, row.State = "held back", string(Act)
		}
		v.Doses = append(v.Doses, row)
	}
	for _, m := range l.Water.MonthlyDoses(s.cfg.Today) {
		v.Months = append(v.Months, doseRow{Day: m.Month.Format("January 2006"), What: m.What, Amount: m.Sum.Amount(), Why: count(m.Times, "time", "times")})
	}
	for _, x := range l.Shortages() {
		v.Shortages = append(v.Shortages, shortRow{x.Food, cellDay(x.Day), bandFigure(x.Gm3), bandFigure(x.Ample), bandFigure(x.Least), x.Remedy})
	}
	from, to := l.NitrogenFlow()
	v.Flow = flowDrawing(l.Name, from, to)
	for side, parts := range [2][]season.Part{from, to} {
		sum := 0.0
		for _, p := range parts {
			sum += p.G
		}
		for _, p := range parts {
			v.FlowRows = append(v.FlowRows, flowRow{[2]string{"from", "to"}[side], p.Name, grouped(math.Round(p.G)), fmt.Sprintf("%.0f %%", 100*p.G/sum)})
		}
		v.FlowRows = append(v.FlowRows, flowRow{[2]string{"from", "to"}[side], "all", grouped(math.Round(sum)), "100 %"})
	}
	return v
}

// flowDrawing draws where the nitrogen comes from and goes: bands that join in one
// trunk and part again, each as wide as its share.
func flowDrawing(name string, from, to []season.Part) template.HTML {
	sum := func(parts []season.Part) (g float64) {
		for _, p := range parts {
			g += p.G
		}
		return g
	}
	total := sum(from)
	if !(total > 0) || !(sum(to) > 0) {
		return ""
	}
	const wide, tall, left, right, gap, line = 660.0, 340.0, 200.0, 460.0, 10.0, 17.0
	most := max(len(from), len(to))
	height := math.Max(tall, float64(most)*(line+gap)+60)
	body := height - 60 - gap*float64(most-1)
	trunkTop := (height - body) / 2
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart nitrogen" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title>`, wide, height,
		html.EscapeString(fmt.Sprintf("Where the nitrogen of loop %s comes from and goes: %s g on each side; the table below has each part", name, grouped(math.Round(total)))))
	fmt.Fprintf(&b, `<text x="%.0f" y="14" text-anchor="middle">%s g of nitrogen</text>`, wide/2, grouped(math.Round(total)))
	mid1, mid2 := wide/2-24, wide/2+24
	fmt.Fprintf(&b, `<path class="flow other" d="M%.1f %.1fH%.1fV%.1fH%.1fZ"/>`, mid1, trunkTop, mid2, trunkTop+body, mid1)
	side := func(parts []season.Part, outer, inner float64, anchor string, textX float64) {
		all := sum(parts)
		y, at := 30.0, trunkTop
		below := 0.0 // where the last label ends
		for _, p := range parts {
			h := body * p.G / all
			fmt.Fprintf(&b, `<path class="flow %s" d="M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fV%.1fC%.1f %.1f %.1f %.1f %.1f %.1fZ"/>`, flowClass(p.Name),
				outer, y, (outer+inner)/2, y, (outer+inner)/2, at, inner, at, at+h, (outer+inner)/2, at+h, (outer+inner)/2, y+h, outer, y+h)
			text := math.Max(y+h/2+4, below+line)
			fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="%s">%s %s</text>`, textX, text, anchor, html.EscapeString(p.Name), grouped(math.Round(p.G)))
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
