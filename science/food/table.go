package food

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed foods.csv
var foodsCSV string

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

var foodTable = sync.OnceValue(func() *table.Index[Food] {
	return table.ReadIndex("foods.csv", foodsCSV, "key", foodOf)
})

func foodOf(r table.Row) Food {
	f := Food{Key: r.Text("key"), Name: r.Text("name"), State: r.Text("state"), Group: r.Text("group"),
		RefuseShare: r.NumberOr("refuse_percent", 0) / 100, USDANumber: r.Text("usda_ndb_id"), Source: r.Text("source")}
	for n := range NumNutrients {
		f.amount[n], f.known[n] = r.Optional(n.Key())
	}
	return f
}

// Lookup finds a food by its key. Trays and shoots without a row of their own
// (keys ending in _microgreens, _microgreen or _shoots) answer with the row
// microgreen_generic, whose Key tells. The error for an unknown key names the
// nearest keys.
//
// Source: foods.csv.
func Lookup(key string) (Food, error) {
	t := foodTable()
	if f, ok := t.Find(key); ok {
		return f, nil
	}
	for _, suffix := range []string{"_microgreens", "_microgreen", "_shoots"} {
		if strings.HasSuffix(key, suffix) {
			f, _ := t.Find("microgreen_generic")
			return f, nil
		}
	}
	near := Nearest(key, Keys(), 3)
	return Food{}, fmt.Errorf("food %q: no such key in the food table; nearest are %s", key, strings.Join(near, ", "))
}

// Foods returns all foods in the order of the table.
func Foods() []Food { return foodTable().All() }

// Keys returns the keys of all foods in the order of the table.
func Keys() []string { return foodTable().Keys() }

// Nearest returns up to most of the keys that resemble word, the most alike
// first: by the number of letters to change, keys that hold the word or are
// held by it counting as near.
func Nearest(word string, keys []string, most int) []string {
	word = strings.ReplaceAll(strings.ToLower(strings.TrimSpace(word)), " ", "_")
	if len(word) > 64 {
		word = word[:64]
	}
	return table.Nearest(word, keys, most)
}
