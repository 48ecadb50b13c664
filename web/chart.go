package web

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"
	"time"

	"tidebed/site"
)

// chart is a value against the date, at low, typical and high growth. Each course
// has its own stroke, so that no meaning hangs on colour: solid low, dashed
// typical, dotted high.
type chart struct {
	Kind     string // leaf, fish or water: its colour
	Title    string // what it shows, for who cannot see it
	Unit     string
	From, To site.Date
	Today    site.Date // drawn when it lies between them
	Lines    []chartLine
	Marks    []chartMark
}

type chartLine struct {
	Word   string // low, typical, high: the stroke
	Points []chartPoint
}

type chartPoint struct {
	Day   site.Date
	Value float64
}

// chartMark is an event on a line: up, harvest, pulled or table.
type chartMark struct {
	chartPoint
	Shape string
}

// The drawing's own units, near the pixels of a phone.
const (
	chartWide, chartTall  = 360.0, 236.0
	chartLeft, chartRight = 46.0, 350.0
	chartTop, chartBottom = 26.0, 196.0
)

// svg draws the chart; it is empty when there is nothing to draw.
func (c chart) svg() template.HTML {
	span, top := float64(c.From.DaysTo(c.To)), 0.0
	for _, l := range c.Lines {
		for _, p := range l.Points {
			if p.Value > top && !math.IsInf(p.Value, 0) {
				top = p.Value
			}
		}
	}
	if !(span > 0) || !(top > 0) {
		return ""
	}
	top = roundUp(top)
	x := func(d site.Date) float64 {
		return chartLeft + (chartRight-chartLeft)*float64(c.From.DaysTo(d))/span
	}
	y := func(v float64) float64 { return chartBottom - (chartBottom-chartTop)*v/top }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart %s" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title><text x="2" y="14">%s</text>`,
		c.Kind, chartWide, chartTall, html.EscapeString(c.Title), html.EscapeString(c.Unit))
	for _, v := range []float64{0, top / 2, top} {
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`,
			chartLeft, y(v), chartRight, chartLeft-6, y(v)+4.5, figure(v))
	}
	c.drawMonths(&b, x)
	if in := c.From.DaysTo(c.Today); in > 0 && float64(in) < span {
		anchor, at := "start", x(c.Today)+3
		if x(c.Today) > chartRight-40 {
			anchor, at = "end", x(c.Today)-3
		}
		fmt.Fprintf(&b, `<path class="today" d="M%.1f %.1fV%.1f"/><text x="%.1f" y="%.1f" text-anchor="%s">today</text>`, x(c.Today), chartTop-6, chartBottom, at, chartTop-3, anchor)
	}
	for _, l := range c.Lines {
		pen := "M"
		var d strings.Builder
		for _, p := range l.Points {
			if math.IsNaN(p.Value) || math.IsInf(p.Value, 0) || p.Day.Before(c.From.Time) || p.Day.After(c.To.Time) {
				pen = "M"
				continue
			}
			fmt.Fprintf(&d, "%s%.1f %.1f", pen, x(p.Day), y(p.Value))
			pen = "L"
		}
		fmt.Fprintf(&b, `<path class="course %s" d="%s"/>`, html.EscapeString(l.Word), d.String())
	}
	for _, m := range c.Marks {
		if m.Day.Before(c.From.Time) || m.Day.After(c.To.Time) {
			continue
		}
		fmt.Fprintf(&b, `<path class="event %s" d="%s"/>`, m.Shape, eventPath(m.Shape, x(m.Day), y(m.Value)))
	}
	b.WriteString("</svg>")
	return template.HTML(b.String())
}

// drawMonths marks the first of each month and writes its letter, and each year
// where it begins.
func (c chart) drawMonths(b *strings.Builder, x func(site.Date) float64) {
	for from := site.On(c.From.Year(), c.From.Month(), 1); !from.After(c.To.Time); {
		next := site.On(from.Year(), from.Month()+1, 1)
		left, right := math.Max(chartLeft, x(from)), math.Min(chartRight, x(next))
		if x(from) >= chartLeft {
			fmt.Fprintf(b, `<path class="rule" d="M%.1f %.1fv5"/>`, left, chartBottom)
		}
		if right-left >= 11 {
			fmt.Fprintf(b, `<text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, (left+right)/2, chartBottom+16, from.Format("Jan")[:1])
		}
		if (from.Month() == time.January || x(from) < chartLeft || from.Time.Equal(c.From.Time)) && left < chartRight-30 {
			if newYear := site.On(from.Year()+1, time.January, 1); from.Month() == time.January || x(newYear)-left > 34 {
				fmt.Fprintf(b, `<text x="%.1f" y="%.1f">%d</text>`, left, chartBottom+34, from.Year())
			}
		}
		from = next
	}
}

// eventPath is the outline of an event's sign about a place.
func eventPath(shape string, x, y float64) string {
	switch shape {
	case "up":
		return fmt.Sprintf("M%.1f %.1fm-4.5 0a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0", x, y)
	case "harvest":
		return fmt.Sprintf("M%.1f %.1fl-5 -9h10z", x, y)
	}
	return fmt.Sprintf("M%.1f %.1fm-4.5 -4.5h9v9h-9z", x, y)
}

// roundUp returns the next figure at or above v that halves to a plain figure.
func roundUp(v float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(v)))
	for _, step := range []float64{1, 2, 3, 4, 5, 6, 8} {
		if v <= step*ten {
			return step * ten
		}
	}
	return 10 * ten
}
