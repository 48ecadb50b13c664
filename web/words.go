package web

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"tidebed/site"
)

const (
	noValue   = "no value"
	thinSpace = "\u202f" // between thousands, so that no line breaks there
)

// percent prints a share in whole percent; what is more than nothing but rounds
// to it is "under 1 %", and what is less than all never rounds up to 100 %.
func percent(share float64) string {
	v := share * 100
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case v > 0 && v < 0.5:
		return "under 1 %"
	case v < 100 && v >= 99.5:
		return "99 %"
	}
	return grouped(math.Round(v)) + " %"
}

// points prints a gain in points of a share: "+3 points", "+0.4 points".
func points(gain float64) string {
	v := gain * 100
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return noValue
	}
	text := strconv.FormatFloat(v, 'f', 1, 64)
	if math.Abs(v) >= 10 {
		text = strconv.FormatFloat(v, 'f', 0, 64)
	}
	text = strings.TrimSuffix(text, ".0")
	switch {
	case text == "0" || text == "-0":
		return "under 0.1 points"
	case text == "1":
		return "+1 point"
	case v > 0:
		return "+" + text + " points"
	}
	return strings.Replace(text, "-", "−", 1) + " points"
}

// grouped prints a whole number with thin spaces between thousands.
func grouped(v float64) string {
	text := strconv.FormatFloat(v, 'f', 0, 64)
	sign := ""
	if strings.HasPrefix(text, "-") {
		sign, text = "−", text[1:]
		if text == "0" {
			sign = ""
		}
	}
	for at := len(text) - 3; at > 0; at -= 3 {
		text = text[:at] + thinSpace + text[at:]
	}
	return sign + text
}

// kcal prints an energy in kcal, large ones to the nearest hundred, daily ones to
// the nearest ten: yields are not known better.
func kcal(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return noValue
	}
	step := 10.0
	if math.Abs(v) >= 10000 {
		step = 100
	}
	return grouped(math.Round(v/step)*step) + " kcal"
}

// kcalCell is kcal for a column whose head names the unit; nothing is a dash.
func kcalCell(v float64) string {
	text := strings.TrimSuffix(kcal(v), " kcal")
	if text == "0" {
		return "–"
	}
	return text
}

// kilograms prints a mass of food in kg.
func kilograms(v float64) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case math.Abs(v) >= 10:
		return grouped(math.Round(v)) + " kg"
	}
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0") + " kg"
}

// portionGrams prints a portion to 5 g; nothing is a dash.
func portionGrams(v float64) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case v < 0.5:
		return "–"
	case v < 5:
		return "under 5"
	}
	return grouped(math.Round(v/5) * 5)
}

// figure prints any number to five significant digits, without an exponent where
// that reads well.
func figure(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return noValue
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 4, 64), 64)
	if err != nil {
		return noValue
	}
	if size := math.Abs(short); short != 0 && (size < 1e-4 || size >= 1e9) {
		return strings.Replace(strconv.FormatFloat(short, 'e', -1, 64), "-", "−", 1)
	}
	if whole := math.Trunc(short); whole == short {
		return grouped(short)
	}
	whole, part, _ := strings.Cut(strconv.FormatFloat(math.Abs(short), 'f', -1, 64), ".")
	for at := len(whole) - 3; at > 0; at -= 3 {
		whole = whole[:at] + thinSpace + whole[at:]
	}
	if short < 0 {
		whole = "−" + whole
	}
	return whole + "." + part
}

// shown prints a value of a quick sum's result.
func shown(v any) string {
	switch v := v.(type) {
	case nil:
		return noValue
	case float64:
		return figure(v)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case string:
		return v
	case []string:
		return strings.Join(v, ", ")
	case []float64:
		parts := make([]string, len(v))
		for i, x := range v {
			parts[i] = figure(x)
		}
		return strings.Join(parts, ", ")
	case int:
		return grouped(float64(v))
	case fmt.Stringer:
		return v.String()
	}
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	return string(text)
}

// day prints a date without its year, longDay with it; a date not given is "".
func day(d site.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.Format("2 January")
}

func longDay(d site.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.Format("2 January 2006")
}

// days prints a run of days: "10 to 16 October 2026", "30 September to 2 October 2026".
func days(from, to site.Date) string {
	switch {
	case from.IsZero() || to.IsZero():
		return longDay(from) + longDay(to)
	case from.Time.Equal(to.Time):
		return longDay(from)
	case from.Year() != to.Year():
		return longDay(from) + " to " + longDay(to)
	case from.Month() != to.Month():
		return day(from) + " to " + longDay(to)
	}
	return from.Format("2") + " to " + longDay(to)
}

// shortDays prints a run of days without its year.
func shortDays(from, to site.Date) string {
	switch {
	case from.IsZero() || to.IsZero() || from.Time.Equal(to.Time):
		return day(from)
	case from.Month() == to.Month() && from.Year() == to.Year():
		return from.Format("2") + " to " + day(to)
	}
	return day(from) + " to " + day(to)
}
