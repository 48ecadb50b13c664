package food

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed food_limits.csv
var foodLimitsCSV string

// Limit caps the sum of some foods per adult and day. A food may stand under
// several limits, and all hold.
type Limit struct {
	Key          string   // such as "leaf_raw"
	Kind         string   // food, group or total
	AppliesTo    string   // for people
	Foods        []string // keys whose sum is limited; empty when Kind is total: all foods
	MaxG         float64  // grams as eaten per adult and day
	ComfortableG float64  // grams most people eat without complaint
	Reason       string   // may be empty
	Source       string
}

// LimitAdultKcal is the energy need for which the limits are written: scale a
// limit by a person's energy need over this.
const LimitAdultKcal = 2400.0

var limitTable = sync.OnceValue(func() []Limit {
	var out []Limit
	for _, row := range table.Read("food_limits.csv", foodLimitsCSV) {
		l := Limit{Key: row.Text("limit_key"), Kind: row.Text("kind"), AppliesTo: row.Text("applies_to"), Reason: row.Text("reason"), Source: row.Text("source")}
		if row.Text("food_keys") != "*" {
			l.Foods = strings.Fields(row.Text("food_keys"))
		}
		l.MaxG = row.NumberOr("max_g_per_adult_d", 0)
		l.ComfortableG = row.NumberOr("comfortable_g_per_adult_d", 0)
		out = append(out, l)
	}
	return out
})

// Limits returns all limits in the order of the table.
//
// Source: food_limits.csv, common practice.
func Limits() []Limit {
	out := slices.Clone(limitTable())
	for i := range out {
		out[i].Foods = slices.Clone(out[i].Foods)
	}
	return out
}

// LimitsOf returns the limits under which a food stands, without the total.
func LimitsOf(key string) []Limit {
	var out []Limit
	for _, l := range Limits() {
		if slices.Contains(l.Foods, key) {
			out = append(out, l)
		}
	}
	return out
}

// DefaultLimitG returns the most and the comfortable grams of a food per adult
// and day where it stands under no limit of the table: 0 for dry kidney beans,
// which are poisonous uncooked, 600 and 400 for cooked grains, 250 and 150 for
// all else.
//
// Common practice, no source.
func DefaultLimitG(f Food) (maxG, comfortableG float64) {
	switch {
	case f.Key == "kidney_beans_dry":
		return 0, 0
	case f.Group == "grain" && f.State == "boiled":
		return 600, 400
	}
	return 250, 150
}

// DayLimitG returns the most and the comfortable grams of one food alone per
// adult and day: the strictest of its limits, else DefaultLimitG.
func DayLimitG(f Food) (maxG, comfortableG float64) {
	limits := LimitsOf(f.Key)
	if len(limits) == 0 {
		return DefaultLimitG(f)
	}
	maxG, comfortableG = limits[0].MaxG, limits[0].ComfortableG
	for _, l := range limits[1:] {
		maxG, comfortableG = min(maxG, l.MaxG), min(comfortableG, l.ComfortableG)
	}
	return maxG, comfortableG
}
