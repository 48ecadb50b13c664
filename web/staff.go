package web

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// State is where a value stands to its limits.
type State string

// The states of a value that has limits.
const (
	Good    State = "good"  // inside the band, far from its edges
	Watch   State = "watch" // inside, but near an edge or forecast to leave
	Act     State = "act"   // outside
	Unknown State = "measure"
)

// Staff is a value with limits, shown as a small staff gauge: an upright scale
// with the permitted band marked on it and a pointer at the value's place. The
// pointer is a level bar when the value is good, half a wedge when it is to be
// watched and a whole wedge when something must be done; wedges point the way
// the value should go.
type Staff struct {
	Name               string
	Value              float64 // NaN: not known
	Low, High          float64 // the permitted band; -Inf, +Inf: no limit on that side
	ScaleMin, ScaleMax float64 // what the post shows; ScaleMin < ScaleMax
	Unit               string
	Decimals           int
	Edge               float64   // nearer than this to a limit is watch; 0: a tenth of the shown band; below 0: no edge
	Ahead              []float64 // forecast within the horizon
	Trend              []float64 // earlier values, oldest first: the tail behind the pointer
	Marks              []Mark    // further places on the scale
	Borne              string    // what makes up for a value outside the band, which is then to be watched
}

// Mark is a further place on a staff, in the staff's unit.
type Mark struct {
	Word  string
	Value float64
}

// way is where a value should go.
type way int

const (
	stay way = iota
	raise
	lower
)

func (w way) word() string { return [...]string{"", "raise", "lower"}[w] }

// State returns the state by band, edges and forecast.
func (s Staff) State() State {
	state, _, _ := s.judge()
	return state
}

// judge returns the state, the way to go and why it is watched; nothing where a value
// outside the band is borne.
func (s Staff) judge() (state State, to way, why string) {
	v := s.Value
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return Unknown, stay, ""
	case v < s.Low && s.Borne != "":
		return Watch, raise, ""
	case v > s.High && s.Borne != "":
		return Watch, lower, ""
	case v < s.Low:
		return Act, raise, ""
	case v > s.High:
		return Act, lower, ""
	}
	edge := s.Edge
	if edge == 0 {
		edge = (math.Min(s.High, s.ScaleMax) - math.Max(s.Low, s.ScaleMin)) / 10
	}
	for _, ahead := range s.Ahead {
		if ahead < s.Low {
			return Watch, raise, "forecast to fall below"
		}
		if ahead > s.High {
			return Watch, lower, "forecast to rise above"
		}
	}
	switch {
	case v-s.Low < edge:
		return Watch, raise, "near the low edge of"
	case s.High-v < edge:
		return Watch, lower, "near the high edge of"
	}
	return Good, stay, ""
}

// number prints a value with the staff's decimals and, if asked, its unit.
func (s Staff) number(v float64, unit bool) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return noValue
	}
	text := strings.Replace(strconv.FormatFloat(v, 'f', s.Decimals, 64), "-", "−", 1)
	if unit && s.Unit != "" {
		text += " " + s.Unit
	}
	return text
}

// band prints the permitted band: "6.6 to 7.2", "100 %", "2 mg/L".
func (s Staff) band() string {
	switch low, high := !math.IsInf(s.Low, 0), !math.IsInf(s.High, 0); {
	case low && high:
		return s.number(s.Low, false) + " to " + s.number(s.High, true)
	case low:
		return s.number(s.Low, true)
	case high:
		return s.number(s.High, true)
	}
	return "no limits"
}

// limits is the band for the caption: "at least 100 %".
func (s Staff) limits() string {
	switch low, high := !math.IsInf(s.Low, 0), !math.IsInf(s.High, 0); {
	case low && !high:
		return "at least " + s.band()
	case high && !low:
		return "at most " + s.band()
	}
	return s.band()
}

// Words says the whole staff in one line: "pH 6.4, below 6.6 to 7.2: act, raise".
func (s Staff) Words() string {
	state, to, why := s.judge()
	if state == Unknown {
		return s.Name + ", " + noValue + ": measure it; permitted is " + s.limits()
	}
	var place string
	switch {
	case (state == Act || why == "") && to == raise:
		place = "below " + s.band()
	case (state == Act || why == "") && to == lower:
		place = "above " + s.band()
	case state == Watch:
		place = why + " " + s.band()
	default:
		place = "within " + s.limits()
	}
	if s.Borne != "" && (s.Value < s.Low || s.Value > s.High) {
		place += ", " + s.Borne
	}
	line := s.Name + " " + s.number(s.Value, true) + ", " + place + ": " + s.verdict()
	for _, m := range s.Marks {
		line += "; " + m.Word + " " + s.number(m.Value, true)
	}
	return line
}

// verdict is the word beside the pointer: "good", "watch, lower", "act, raise".
func (s Staff) verdict() string {
	state, to, _ := s.judge()
	if to == stay {
		return string(state)
	}
	return string(state) + ", " + to.word()
}

// The post in the drawing's own units.
const (
	postTop, postBottom  = 10.0, 130.0
	postLeft, postRight  = 22.0, 32.0
	wedgeWide, wedgeTall = 16.0, 15.0
)

// y returns a value's height on the post, kept on it.
func (s Staff) y(v float64) float64 {
	span := s.ScaleMax - s.ScaleMin
	if !(span > 0) {
		return postBottom
	}
	share := math.Max(0, math.Min(1, (v-s.ScaleMin)/span))
	return postBottom - share*(postBottom-postTop)
}

// SVG draws the staff, with its words as title.
func (s Staff) SVG() template.HTML {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="post" viewBox="0 0 76 140" width="76" height="140" role="img"><title>%s</title>`, html.EscapeString(s.Words()))
	top, bottom := s.y(math.Min(s.High, s.ScaleMax)), s.y(math.Max(s.Low, s.ScaleMin))
	fmt.Fprintf(&b, `<rect class="band" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, postLeft, top, postRight-postLeft, math.Max(bottom-top, 1.5))
	fmt.Fprintf(&b, `<rect class="pole" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, postLeft, postTop, postRight-postLeft, postBottom-postTop)
	for i := range 11 {
		y, long := postTop+float64(i)*(postBottom-postTop)/10, 4.0
		if i%5 == 0 {
			long = postRight - postLeft
		}
		fmt.Fprintf(&b, `<path class="tick" d="M%.1f %.1fh%.1f"/>`, postLeft, y, long)
	}
	for _, limit := range []float64{s.Low, s.High} {
		if !math.IsInf(limit, 0) {
			fmt.Fprintf(&b, `<path class="limit" d="M%.1f %.1fH%.1f"/>`, postLeft-5, s.y(limit), postRight+3)
		}
	}
	for _, m := range s.Marks {
		fmt.Fprintf(&b, `<path class="mark" d="M%.1f %.1fh-12"/>`, postLeft-2, s.y(m.Value))
	}
	b.WriteString(s.pointer())
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// pointer draws the tail and the pointer: level bar, half wedge or whole wedge.
func (s Staff) pointer() string {
	state, to, _ := s.judge()
	if state == Unknown {
		return ""
	}
	x, y := postRight+4, s.y(s.Value)
	tip := y - wedgeTall
	if to == lower {
		tip = y + wedgeTall
	}
	var shape string
	switch state {
	case Good:
		shape = fmt.Sprintf(`<path class="pointer good" data-shape="bar" d="M%.1f %.1fh%.1fv5h-%.1fz"/>`, x, y-2.5, wedgeWide, wedgeWide)
	case Watch:
		shape = fmt.Sprintf(`<path class="pointer watch" data-shape="half-wedge" data-way="%s" d="M%.1f %.1fV%.1fL%.1f %.1fz"/>`, to.word(), x, y, tip, x+wedgeWide/2+2, y)
	default:
		shape = fmt.Sprintf(`<path class="pointer act" data-shape="wedge" data-way="%s" d="M%.1f %.1fL%.1f %.1fL%.1f %.1fz"/>`, to.word(), x, y, x+wedgeWide/2, tip, x+wedgeWide, y)
	}
	if len(s.Trend) == 0 {
		return shape
	}
	tail, step := make([]string, 0, len(s.Trend)+1), 24/float64(len(s.Trend))
	for i, v := range s.Trend {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		tail = append(tail, fmt.Sprintf("%.1f,%.1f", x+wedgeWide+step*float64(len(s.Trend)-i), s.y(v)))
	}
	tail = append(tail, fmt.Sprintf("%.1f,%.1f", x+wedgeWide, y))
	return `<polyline class="tail" points="` + strings.Join(tail, " ") + `"/>` + shape
}

// staffView is a staff as the templates show it.
type staffView struct {
	Name, Number, Verdict, State, Limits, Also string
	Drawing                                    template.HTML
}

func (s Staff) view() staffView {
	var also []string
	if s.Borne != "" && (s.Value < s.Low || s.Value > s.High) {
		also = append(also, s.Borne)
	}
	for _, m := range s.Marks {
		also = append(also, m.Word+" "+s.number(m.Value, true))
	}
	return staffView{Name: s.Name, Number: s.number(s.Value, true), Verdict: s.verdict(), State: string(s.State()),
		Limits: s.limits(), Also: strings.Join(also, ", "), Drawing: s.SVG()}
}
