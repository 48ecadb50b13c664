package food

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
)

//go:embed foods.csv
var foodsCSV string

// readTable returns the rows of an embedded table as maps from column name to
// cell. A table that does not parse is a fault of the program, not of a
// person's data, and the tests read every table.
func readTable(name, text string) []map[string]string {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		panic(fmt.Sprintf("food: embedded table %s: %d rows, %v", name, len(rows), err))
	}
	out := make([]map[string]string, 0, len(rows)-1)
	for _, cells := range rows[1:] {
		row := make(map[string]string, len(cells))
		for i, c := range cells {
			row[rows[0][i]] = strings.TrimSpace(c)
		}
		out = append(out, row)
	}
	return out
}

// number reads a cell; known is false for a blank one.
func number(table string, row map[string]string, column string) (v float64, known bool) {
	cell := row[column]
	if cell == "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic(fmt.Sprintf("food: embedded table %s, column %s: %v", table, column, err))
	}
	return v, true
}

// Food is a row of the composition table.
type Food struct {
	Key   string // such as "kale_boiled"
	Name  string // for people
	State string // raw, boiled, baked, steamed, dry or store
	Group string // leaf, root, starchy, fish …
	// RefuseShare is the share of the mass as harvested or bought that is not
	// eaten, 0 to 1. It belongs to the way of cooking: see RefuseShareFor.
	RefuseShare float64
	// USDANumber is the food's number in the national nutrient database, empty
	// where the row has another source.
	USDANumber string
	Source     string

	amount [NumNutrients]float64
	known  [NumNutrients]bool
}

// Per100g returns the amount of n in 100 g edible food, in n's unit. known is
// false where the table has no value; the amount is then 0 and must not be
// taken for a measured zero.
func (f Food) Per100g(n Nutrient) (amount float64, known bool) {
	if !n.valid() {
		return 0, false
	}
	return f.amount[n], f.known[n]
}

// foodTable is the composition table and its index by key.
var foodTable = sync.OnceValue(func() (t struct {
	rows  []Food
	index map[string]int
}) {
	t.index = map[string]int{}
	for _, row := range readTable("foods.csv", foodsCSV) {
		f := Food{Key: row["key"], Name: row["name"], State: row["state"], Group: row["group"],
			USDANumber: row["usda_ndb_id"], Source: row["source"]}
		refusePct, _ := number("foods.csv", row, "refuse_percent")
		f.RefuseShare = refusePct / 100
		for n := range NumNutrients {
			f.amount[n], f.known[n] = number("foods.csv", row, n.Key())
		}
		t.index[f.Key] = len(t.rows)
		t.rows = append(t.rows, f)
	}
	return t
})

// Lookup finds a food by its key. Trays and shoots without a row of their own
// (keys ending in _microgreens, _microgreen or _shoots) answer with the row
// microgreen_generic, whose Key tells. The error for an unknown key names the
// nearest keys.
//
// Source: foods.csv.
func Lookup(key string) (Food, error) {
	t := foodTable()
	if i, ok := t.index[key]; ok {
		return t.rows[i], nil
	}
	for _, suffix := range []string{"_microgreens", "_microgreen", "_shoots"} {
		if strings.HasSuffix(key, suffix) {
			return t.rows[t.index["microgreen_generic"]], nil
		}
	}
	near := Nearest(key, Keys(), 3)
	return Food{}, fmt.Errorf("food %q: no such key in the food table; nearest are %s", key, strings.Join(near, ", "))
}

// Foods returns all foods in the order of the table.
func Foods() []Food { return slices.Clone(foodTable().rows) }

// Keys returns the keys of all foods in the order of the table.
func Keys() []string {
	keys := make([]string, 0, len(foodTable().rows))
	for _, f := range foodTable().rows {
		keys = append(keys, f.Key)
	}
	return keys
}

// Nearest returns up to most of the keys that resemble word, the most alike
// first: by the number of letters to change, keys that hold the word or are
// held by it counting as near.
func Nearest(word string, keys []string, most int) []string {
	word = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(word)), " ", "_")
	if len(word) > 64 {
		word = word[:64]
	}
	type scored struct {
		key  string
		cost int
	}
	all := make([]scored, 0, len(keys))
	for _, k := range keys {
		cost := 4 * editDistance(word, k)
		if len(word) > 2 && (strings.Contains(k, word) || strings.Contains(word, k)) {
			cost /= 4
		}
		all = append(all, scored{k, cost})
	}
	slices.SortStableFunc(all, func(a, b scored) int { return a.cost - b.cost })
	out := []string{}
	for _, s := range all[:max(0, min(most, len(all)))] {
		out = append(out, s.key)
	}
	return out
}

// editDistance is the number of bytes to insert, delete or change to turn a
// into b.
func editDistance(a, b string) int {
	prev := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := range len(a) {
		cur := make([]int, len(b)+1)
		cur[0] = i + 1
		for j := range len(b) {
			change := prev[j]
			if a[i] != b[j] {
				change++
			}
			cur[j+1] = min(change, prev[j+1]+1, cur[j]+1)
		}
		prev = cur
	}
	return prev[len(b)]
}
