package site

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tidebed/quantity"
	"tidebed/science/food"
)

// kindOf gives the kind of each q tag.
var kindOf = map[string]quantity.Kind{
	"length":           quantity.Length,
	"area":             quantity.Area,
	"volume":           quantity.Volume,
	"flow":             quantity.Flow,
	"mass":             quantity.Mass,
	"duration":         quantity.Duration,
	"temperature":      quantity.Temperature,
	"power":            quantity.Power,
	"energy":           quantity.Energy,
	"share":            quantity.Share,
	"plain":            quantity.Plain,
	"angle":            quantity.Angle,
	"u-value":          quantity.UValue,
	"photon-flux":      quantity.PhotonFlux,
	"efficacy":         quantity.Efficacy,
	"mass-rate":        quantity.MassRate,
	"alkalinity":       quantity.Alkalinity,
	"concentration":    quantity.Concentration,
	"as-p":             quantity.AsP,
	"as-n":             quantity.AsN,
	"mass-energy":      quantity.MassEnergy,
	"price-per-mass":   quantity.PricePerMass,
	"price-per-energy": quantity.PricePerEnergy,
	"price-per-volume": quantity.PricePerVolume,
	"price-per-time":   quantity.PricePerTime,
	"radiation":        quantity.Radiation,
	"speed":            quantity.Speed,
}

// defaults gives what a field holds when its key is not given, as it would be
// typed.
var defaults = map[string]string{
	"Site.units":              "metric",
	"Site.currency":           "EUR",
	"Tank.role":               "stock",
	"Bed.tiers":               "1",
	"Dehumidifier.above":      "85 %",
	"Person.activity":         "low-active",
	"HomeFedDays.adult-floor": "80 %",
	"HomeFedDays.potatoes":    "boiled-in-skin",
	"CropWish.liking":         "liked",
}

// span is a range of allowed or usual values.
type span struct {
	low, high         float64 // ±Inf where the end is open
	openLow, openHigh bool    // the end itself is outside
}

// parseSpan reads "0.1..20", "0<..20", "..20" or "0..<20".
func parseSpan(tag string) (span, error) {
	low, high, ok := strings.Cut(tag, "..")
	if !ok {
		return span{}, fmt.Errorf("range %q has no \"..\"", tag)
	}
	s := span{low: math.Inf(-1), high: math.Inf(1)}
	low, s.openLow = strings.CutSuffix(low, "<")
	high, s.openHigh = strings.CutPrefix(high, "<")
	for _, end := range []struct {
		text string
		to   *float64
	}{{low, &s.low}, {high, &s.high}} {
		if end.text == "" {
			continue
		}
		v, err := strconv.ParseFloat(end.text, 64)
		if err != nil {
			return span{}, fmt.Errorf("range %q: %w", tag, err)
		}
		*end.to = v
	}
	return s, nil
}

// tooLow and tooHigh are false for NaN, which is refused before.
func (s span) tooLow(v float64) bool  { return v < s.low || s.openLow && v == s.low }
func (s span) tooHigh(v float64) bool { return v > s.high || s.openHigh && v == s.high }

// rule is what the tags of one field say.
type rule struct {
	index    int
	key      string
	kind     quantity.Kind // empty: not a quantity
	allowed  *span
	usual    *span
	need     bool
	oneOf    []string
	ref      string
	fallback string // as typed; empty: none
}

var ruleCache sync.Map // reflect.Type → []rule

// rulesOf returns the rules of a struct's fields, in their order. A wrong tag is
// a fault of the types in this package and is found by any test that reads.
func rulesOf(t reflect.Type) []rule {
	if known, ok := ruleCache.Load(t); ok {
		return known.([]rule)
	}
	var rules []rule
	for i := range t.NumField() {
		f := t.Field(i)
		r := rule{index: i, key: f.Tag.Get("yaml"), need: f.Tag.Get("need") == "yes", ref: f.Tag.Get("ref")}
		r.fallback = defaults[t.Name()+"."+r.key]
		if q := f.Tag.Get("q"); q != "" {
			kind, ok := kindOf[q]
			if !ok {
				panic("site: " + t.Name() + "." + f.Name + ": unknown kind " + q)
			}
			r.kind = kind
		}
		for name, to := range map[string]**span{"range": &r.allowed, "usual": &r.usual} {
			if tag := f.Tag.Get(name); tag != "" {
				s, err := parseSpan(tag)
				if err != nil {
					panic("site: " + t.Name() + "." + f.Name + ": " + err.Error())
				}
				*to = &s
			}
		}
		if words := f.Tag.Get("oneof"); words != "" {
			r.oneOf = strings.Split(words, ",")
		}
		rules = append(rules, r)
	}
	ruleCache.Store(t, rules)
	return rules
}

// suggestion returns "; did you mean `x`?" when a known word is near the given
// one, and otherwise the known words themselves, or the nearest of them when
// they are many. what names the words: "allowed", "known".
func suggestion(given string, known []string, what string) string {
	best, least := "", math.MaxInt
	if len(given) <= 64 {
		for _, k := range known {
			if d := letterChanges(strings.ToLower(given), strings.ToLower(k)); d < least {
				best, least = k, d
			}
		}
	}
	const most = 30
	switch {
	case len(known) == 0:
		return ""
	case least <= max(1, min(3, len(given)/3)):
		return "; did you mean `" + best + "`?"
	}
	if len(given) > 3 { // a part of a name, such as trout of trout_rainbow
		for _, k := range known {
			if strings.Contains(strings.ToLower(k), strings.ToLower(given)) {
				return "; did you mean `" + k + "`?"
			}
		}
	}
	switch {
	case len(known) <= most:
		return "; " + what + ": " + strings.Join(known, ", ")
	}
	return "; nearest are: " + strings.Join(food.Nearest(given, known, 3), ", ")
}

// letterChanges counts the letters to put in, leave out, change or swap with the
// neighbour to make b of a.
func letterChanges(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	before, last := make([]int, len(rb)+1), make([]int, len(rb)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		row := make([]int, len(rb)+1)
		row[0] = i
		for j := 1; j <= len(rb); j++ {
			change := 1
			if ra[i-1] == rb[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(rb)]
}

func quote(words []string) string {
	quoted := slices.Clone(words)
	for i, w := range quoted {
		quoted[i] = "`" + w + "`"
	}
	return strings.Join(quoted, ", ")
}
