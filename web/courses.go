package web

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"tidebed/meals"
	"tidebed/quantity"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// growth is the three courses of the season, low, typical and high, that agree in
// what they are about.
type growth [season.Courses]*season.Forecast

// growthOf returns the courses behind an answer, and false where the answer was
// worked out without them.
func growthOf(a *meals.Answer) (growth, bool) {
	g := growth(a.Seasons)
	for _, f := range g {
		if f == nil {
			return growth{}, false
		}
	}
	for _, f := range g[1:] {
		if len(f.Plantings) != len(g[season.Low].Plantings) || len(f.Cohorts) != len(g[season.Low].Cohorts) || len(f.Loops) != len(g[season.Low].Loops) {
			return growth{}, false
		}
	}
	return g, true
}

var courseWords = [season.Courses]string{season.Low: "low", season.Typical: "typical", season.High: "high"}

var figures = regexp.MustCompile(`[0-9][0-9.\-]*`)

// warnings returns what the courses warn of: that of low growth first, and of the
// others only what is not the same warning with other figures.
func (g growth) warnings(of func(*season.Forecast) []string) []string {
	var out []string
	seen := map[string]bool{}
	for c, f := range g {
		for _, w := range of(f) {
			if key := figures.ReplaceAllString(w, "#"); !seen[key] {
				seen[key] = true
				if season.Course(c) != season.Low {
					w = "At " + courseWords[c] + " growth: " + w
				}
				out = append(out, w)
			}
		}
	}
	return out
}

var monthFirst = regexp.MustCompile(`^([A-Z][a-z]+ [0-9]{4}|[0-9]{4}-[0-9]{2}-[0-9]{2}): `)

// gathered joins the warnings of a planting that differ only in their month and
// figures: the first stands, with how many more months have the like. The crop's
// own name is left out.
func gathered(list []string, name string) (out []string) {
	index, more := map[string]int{}, []int{}
	var months []string
	for _, w := range list {
		month := strings.TrimSuffix(monthFirst.FindString(w), ": ")
		text := strings.TrimPrefix(monthFirst.ReplaceAllString(w, ""), name+": ")
		key := figures.ReplaceAllString(text, "#")
		if at, ok := index[key]; ok {
			more[at]++
			continue
		}
		index[key] = len(out)
		out, months, more = append(out, text), append(months, month), append(more, 0)
	}
	for i, text := range out {
		switch {
		case months[i] == "":
			out[i] = words.Capital(text)
		case more[i] > 0:
			out[i] = months[i] + " and " + words.Count(more[i], "month", "months") + " after: " + text
		default:
			out[i] = months[i] + ": " + text
		}
	}
	return out
}

// planting returns one planting in the three courses.
func (g growth) planting(i int) (p [season.Courses]season.PlantingCourse) {
	for c, f := range g {
		p[c] = f.Plantings[i]
	}
	return p
}

// cohort returns one cohort in the three courses.
func (g growth) cohort(i int) (k [season.Courses]season.CohortCourse) {
	for c, f := range g {
		k[c] = f.Cohorts[i]
	}
	return k
}

// between prints the days on which the same thing happens in the three courses:
// "3 to 12 April 2027", "from 3 April 2027, or not at all"; "" for never.
func between(dates [season.Courses]site.Date) string {
	var first, last site.Date
	never := false
	for _, d := range dates {
		if d.IsZero() {
			never = true
			continue
		}
		if first.IsZero() || d.Before(first.Time) {
			first = d
		}
		if last.IsZero() || d.After(last.Time) {
			last = d
		}
	}
	switch {
	case first.IsZero():
		return ""
	case never:
		return "from " + longDay(first) + ", or not at all"
	}
	return days(first, last)
}

// range3 prints three amounts, low, typical and high: "3 – 5 – 8 kg".
func range3(v [season.Courses]float64, unit string, one func(float64) string) string {
	words := make([]string, len(v))
	for i := range v {
		words[i] = strings.TrimSuffix(one(v[i]), " "+unit)
	}
	return strings.Join(words, " – ") + " " + unit
}

// oneDecimal prints a figure with one digit after the point below 10, and whole
// from there on.
func oneDecimal(v float64) string {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case math.Abs(v) >= 9.95:
		return grouped(math.Round(v))
	}
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
}

// mass prints a mass of produce: below a tenth of a kilogram in grams.
func mass(kg float64) string {
	if kg > 0 && kg < 0.1 {
		return portionGrams(kg*1000) + " g"
	}
	return kilograms(kg)
}

// area prints an area as a person measures a bed; metric ones always in m².
func (s *server) area(m2 float64) string {
	if s.system != quantity.Metric || math.IsNaN(m2) || math.IsInf(m2, 0) {
		return s.at(m2, quantity.Area)
	}
	digits := 2
	if math.Abs(m2) >= 10 {
		digits = 1
	}
	text := strconv.FormatFloat(m2, 'f', digits, 64)
	return strings.TrimSuffix(strings.TrimRight(text, "0"), ".") + " m²"
}

// cellDay prints a date for the narrow first column of a table.
func cellDay(d site.Date) string {
	if d.IsZero() {
		return "–"
	}
	return d.Format("2\u00a0Jan\u00a02006")
}

// when prints a date as a sentence needs it: with the year only when it is not
// today's.
func (s *server) when(d site.Date) string {
	if d.Year() == s.cfg.Today.Year() {
		return day(d)
	}
	return longDay(d)
}

var (
	isoDate = regexp.MustCompile(`\b[0-9]{4}-[0-9]{2}-[0-9]{2}\b`)
	united  = regexp.MustCompile(`([0-9]) (%|kcal|kg/m³|kg|g/m²/d|g/m²|g/m³|g|mg/L|L|m²|m³|m|mol/m²/d|MJ/m²/d|ppm|°C|°F|W|kW|points?)([^\pL²³]|$)`)
	dated   = regexp.MustCompile(`\b([0-3]?[0-9]) (January|February|March|April|May|June|July|August|September|October|November|December)\b`)
)

// told sets a sentence for reading: dates in words, and no line break between a
// figure and its unit or a day and its month.
func told(text string) string {
	text = isoDate.ReplaceAllStringFunc(text, func(iso string) string {
		if d, err := site.ParseDate(iso); err == nil {
			return longDay(d)
		}
		return iso
	})
	text = united.ReplaceAllString(text, "$1\u00a0$2$3")
	return dated.ReplaceAllString(text, "$1\u00a0$2")
}
