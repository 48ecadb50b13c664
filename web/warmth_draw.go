package web

import (
	"cmp"
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strings"
	"time"

	"tidebed/warmth"
)

// hourPanel is a day's course hour by hour, of at most four lines that are told by
// their strokes.
type hourPanel struct {
	title, unit string
	fit         bool // the scale fits the values and need not begin at nothing
	lines       []hourLine
	left        []string // lines for which there was no stroke
}

type hourLine struct {
	word   string
	values [24]float64
}

// hourStrokes are the strokes of a panel's lines, with the words for them.
var hourStrokes = [...]struct{ class, word string }{{"low", "Solid"}, {"typical", "dashed"}, {"high", "dotted"}, {"fourth", "long and short"}}

// add adds a line; one that is nothing all day is left out, but for a fitted scale.
func (p *hourPanel) add(word string, values [24]float64) {
	if !p.fit && !slices.ContainsFunc(values[:], func(v float64) bool { return v > 0.005 }) {
		return
	}
	if len(p.lines) == len(hourStrokes) {
		p.left = append(p.left, word)
		return
	}
	p.lines = append(p.lines, hourLine{word, values})
}

// svg draws the panel and tells its strokes; both are empty where there is no line.
func (p *hourPanel) svg() (drawing template.HTML, note string) {
	low, high := math.Inf(1), math.Inf(-1)
	if !p.fit {
		low = 0
	}
	for _, l := range p.lines {
		for _, v := range l.values {
			if !math.IsNaN(v) && !math.IsInf(v, 0) {
				low, high = math.Min(low, v), math.Max(high, v)
			}
		}
	}
	if len(p.lines) == 0 || !(high >= low) {
		return "", ""
	}
	step := roundUp(math.Max(high-low, 1e-3) / 4)
	bottom, top := step*math.Floor(low/step+1e-9), step*math.Ceil(high/step-1e-9)
	if top <= bottom {
		top = bottom + step
	}
	x := func(h float64) float64 { return chartLeft + (chartRight-chartLeft)*h/24 }
	y := func(v float64) float64 { return chartBottom - (chartBottom-chartTop)*(v-bottom)/(top-bottom) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart warmth" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title><text x="2" y="14">%s</text>`, chartWide, chartTall-14, html.EscapeString(p.title), html.EscapeString(p.unit))
	digits := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	for i := 0; bottom+float64(i)*step < top+step/2; i++ {
		v := bottom + float64(i)*step
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, chartLeft, y(v), chartRight, chartLeft-6, y(v)+4.5, strings.Replace(fixed(v+0, digits), "-", "−", 1))
	}
	for h := 0; h <= 24; h += 6 {
		anchor, at := "middle", x(float64(h))
		if h == 24 {
			anchor, at = "end", at+8
		}
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fv5"/><text x="%.1f" y="%.1f" text-anchor="%s">%d</text>`, x(float64(h)), chartBottom, at, chartBottom+18, anchor, h)
	}
	var told []string
	for i, l := range p.lines {
		fmt.Fprintf(&b, `<path class="course %s" d="`, hourStrokes[i].class)
		pen := "M"
		for h, v := range l.values {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				pen = "M"
				continue
			}
			fmt.Fprintf(&b, "%s%.1f %.1f", pen, x(float64(h)+0.5), y(v))
			pen = "L"
		}
		b.WriteString(`"/>`)
		told = append(told, hourStrokes[i].word+": "+l.word)
	}
	b.WriteString("</svg>")
	note = strings.Join(told, "; ") + "."
	if len(p.left) > 0 {
		note += " In the table alone: " + strings.Join(p.left, ", ") + "."
	}
	return template.HTML(b.String()), note
}

// loadCurve draws the hours of a year by their heat, with the power there is.
func loadCurve(loadKW []float64, powerKW, peakKW float64) template.HTML {
	if len(loadKW) < 2 || !(peakKW > 0) {
		return ""
	}
	p := plot{Class: "warmth", Title: fmt.Sprintf("Heat of all heaters in each hour of the year, the greatest first: %s at most", kW(peakKW)), Unit: "heat, kW", XUnit: "hours of the year",
		XMax: float64(len(loadKW)), YMax: roundUp(1.15 * peakKW)}
	switch {
	case powerKW > p.YMax: // else the curve lies at the foot of an empty drawing
		p.Limits = []startLimit{{value: p.YMax, text: "all heaters, " + kW(powerKW) + ": above this scale"}}
	case powerKW > 0:
		p.Limits = []startLimit{{value: powerKW, text: "all heaters, " + kW(powerKW)}}
	}
	const places = 300
	step := max(1, len(loadKW)/places)
	l := plotLine{Stroke: "low"}
	for i, v := range loadKW {
		if i%step == 0 || i == len(loadKW)-1 || i < step {
			l.XY = append(l.XY, [2]float64{float64(i), v})
		}
	}
	p.Lines = []plotLine{l}
	p.Points = []plotPoint{{X: 0, Y: loadKW[0], Word: kW(loadKW[0])}}
	return p.svg()
}

// barParts is how many parts of a bar have a hatch of their own.
const barParts = 7

// barPart is a part of each month's bar.
type barPart struct {
	word   string
	class  string  // warmth for zones, water for tanks, power for electricity, rest
	money  float64 // as it is rounded
	months []float64
}

// partsOfBill is the bill by month and by what it goes into, the dearest first; what has
// no hatch of its own is in one.
func partsOfBill(y *warmth.Year) []barPart {
	var all []barPart
	a, drains := y.Amounts(), y.Drains()
	for i := range drains {
		d := &drains[i]
		p := barPart{word: d.Name, class: "power", months: make([]float64, len(y.Months))}
		switch {
		case d.Tank:
			p.class = "water"
		case d.Heat:
			p.class = "warmth"
		}
		for _, at := range d.Items {
			p.money += a.Items[at]
		}
		for m := range y.Months {
			for k := range y.Months[m].Items {
				if x := &y.Months[m].Items[k]; d.Holds(x) && x.Money > 0 && !math.IsInf(x.Money, 0) {
					p.months[m] += x.Money
				}
			}
		}
		if d.Money > 0 {
			all = append(all, p)
		}
	}
	if len(all) <= barParts+1 {
		return all
	}
	rest := barPart{word: "all else", class: "rest", months: make([]float64, len(y.Months))}
	for _, p := range all[barParts:] {
		rest.money += p.money
		for m, v := range p.months {
			rest.months[m] += v
		}
	}
	return append(all[:barParts:barParts], rest)
}

// hatches are the patterns of a bar's parts, drawn in a square of 8.
var hatches = [barParts + 1]string{
	"M-2 2L2 -2M0 8L8 0M6 10L10 6", "M-2 6L2 10M0 0L8 8M6 -2L10 2", "M0 2H8M0 6H8", "M2 0V8M6 0V8",
	"M-2 2L2 -2M0 8L8 0M6 10L10 6M-2 6L2 10M0 0L8 8M6 -2L10 2", "M1.5 2h1.8M5.5 6h1.8", "M0 4H8M4 0V8", "",
}

// billBars draws what each month costs, stacked by what for; each part has a number
// and a hatch, so that no meaning hangs on colour.
func (s *server) billBars(y *warmth.Year, narrow bool) template.HTML {
	parts, amounts := partsOfBill(y), y.Amounts()
	top := 0.0
	for m := range y.Months {
		sum := 0.0
		for i := range parts {
			sum += parts[i].months[m]
		}
		top = math.Max(top, sum)
	}
	if !(top > 0) {
		return ""
	}
	top = roundUp(top)
	name, wide, columns := "w", 1040.0, 3
	if narrow {
		name, wide, columns = "n", chartWide, 1
	}
	const left, first, foot, row = chartLeft, 34.0, 270.0, 22.0
	right := wide - 8
	tall := foot + 44 + row*math.Ceil(float64(len(parts))/float64(columns))
	step := (right - left) / float64(len(y.Months))
	yAt := func(v float64) float64 { return foot - (foot-first)*v/top }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart bars" viewBox="0 0 %.0f %.0f" role="img"><title>What each month costs, by what for: %s in the year</title><defs>`, wide, tall, html.EscapeString(s.cash(y.Money)))
	for i := range parts {
		fmt.Fprintf(&b, `<pattern id="bar-%s%d" width="8" height="8" patternUnits="userSpaceOnUse"><rect class="ground-of" width="8" height="8"/><rect class="tint %s" width="8" height="8"/><path class="line %s" d="%s"/></pattern>`, name, i, parts[i].class, parts[i].class, hatches[min(i, barParts)])
	}
	fmt.Fprintf(&b, `</defs><text x="2" y="14">%s a month</text>`, html.EscapeString(cmp.Or(s.cfg.Site.Currency, "money")))
	for _, v := range []float64{0, top / 2, top} {
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, left, yAt(v), right, left-6, yAt(v)+4.5, figure(v))
	}
	for m := range y.Months {
		x, sum := left+step*(float64(m)+0.1), 0.0
		for i := range parts {
			v := parts[i].months[m]
			if v <= 0 {
				continue
			}
			from, to := yAt(sum), yAt(sum+v)
			sum += v
			fmt.Fprintf(&b, `<rect class="part" x="%.1f" y="%.1f" width="%.1f" height="%.1f" fill="url(#bar-%s%d)"/>`, x, to, step*0.8, from-to, name, i)
			if from-to >= 15 {
				mid := (from + to) / 2
				fmt.Fprintf(&b, `<rect class="ground-of" x="%.1f" y="%.1f" width="11" height="13"/><text class="told" x="%.1f" y="%.1f" text-anchor="middle">%d</text>`, x+step*0.4-5.5, mid-6.5, x+step*0.4, mid+4.5, i+1)
			}
		}
		if !narrow {
			fmt.Fprintf(&b, `<text class="told" x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, x+step*0.4, yAt(sum)-5, whole(amounts.Months[m]))
		}
		word := time.Month(y.Months[m].Month).String()
		if word = word[:3]; narrow {
			word = word[:1]
		}
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, x+step*0.4, foot+17, word)
		if y.Months[m].Month == 1 && m > 0 || m == 0 {
			anchor, at := "start", x
			if m > len(y.Months)-3 {
				anchor, at = "end", x+step*0.8
			}
			fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="%s">%d</text>`, at, foot+33, anchor, y.Months[m].Year)
		}
	}
	for i := range parts {
		perColumn := int(math.Ceil(float64(len(parts)) / float64(columns)))
		x, yy := left+float64(i/perColumn)*(right-left)/float64(columns), foot+44+row*float64(i%perColumn)
		most := 44
		if narrow {
			most = 30
		}
		fmt.Fprintf(&b, `<rect class="part" x="%.1f" y="%.1f" width="22" height="16" fill="url(#bar-%s%d)"/><text x="%.1f" y="%.1f"><tspan class="told">%d</tspan> %s, %s</text>`, x, yy, name, i, x+29, yy+13, i+1, html.EscapeString(clipped(parts[i].word, most)), html.EscapeString(s.cashWhole(parts[i].money)))
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}
