package food

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"tidebed/quantity"
	"tidebed/table"
)

//go:embed cooked_forms.csv
var cookedFormsCSV string

//go:embed retention.csv
var retentionCSV string

// CookedForm is one way to serve a raw food cooked.
type CookedForm struct {
	Raw, Cooked string  // keys; the cooked row holds per 100 g cooked food
	Yield       float64 // cooked mass over raw edible mass
	// RefuseShare is the share of the mass as harvested or bought that this way
	// of cooking throws away, before or after: cooked edible mass = harvested
	// mass × (1 − RefuseShare) × Yield.
	RefuseShare float64
	Source      string
}

var cookedFormTable = sync.OnceValue(func() map[string][]CookedForm {
	t := map[string][]CookedForm{}
	for _, row := range table.Read("cooked_forms.csv", cookedFormsCSV) {
		c := CookedForm{Raw: row.Text("raw_key"), Cooked: row.Text("cooked_key"), Source: row.Text("source")}
		c.Yield = row.NumberOr("yield", 0)
		refusePct, known := row.Optional("refuse_percent")
		c.RefuseShare = refusePct / 100
		if raw, err := Lookup(c.Raw); err == nil && !known {
			c.RefuseShare = raw.RefuseShare
		}
		t[c.Raw] = append(t[c.Raw], c)
	}
	return t
})

// CookedForms returns how a raw food may be served cooked, the usual way
// first; none for a food eaten only raw or without a cooked row.
//
// Source: cooked_forms.csv. Content is that of the cooked row times cooked
// mass: never mix a cooked row with raw mass.
func CookedForms(rawKey string) []CookedForm { return slices.Clone(cookedFormTable()[rawKey]) }

// mustCook are the foods not to be eaten raw, beside fish, crustaceans, eggs,
// dry legumes and mushrooms, which go by their group.
var mustCook = []string{
	"kidney_beans_dry", "green_beans", "cowpea_pods", "broad_beans", "potato", "sweet_potato", "taro",
	"cassava", "aubergine", "butternut", "pumpkin", "quinoa_dry", "rice_white_dry",
	"wheat_flour_white", "wheat_flour_whole", "parsnip", "jerusalem_artichoke",
}

// MustCook reports whether a food in the state of its row must be cooked
// before it is eaten: for poison (beans, potato, taro, cassava), for germs
// (fish, crustaceans, eggs, raw mushrooms), or because raw it is not digested.
// A key not in the table is not judged: false.
func MustCook(key string) bool {
	f, err := Lookup(key)
	if err != nil {
		return false
	}
	if slices.Contains(mustCook, f.Key) {
		return true
	}
	return f.State == "raw" && slices.Contains([]string{"fish", "crustacean", "egg", "mushroom"}, f.Group)
}

// RefuseShareFor returns the share of a food as harvested or bought that is
// thrown away, 0 to 1, when it is cooked so. Cooking is "" or "raw" or
// "peeled" for the raw row's own refuse, a cooked key such as "potato_boiled",
// or its state such as "boiled" or "baked". A potato loses 0.25 peeled raw,
// 0.09 boiled in its skin, 0 baked and eaten whole.
//
// Errors: an unknown food, or a way of cooking it is not held for.
func RefuseShareFor(rawKey, cooking string) (share float64, err error) {
	raw, err := Lookup(rawKey)
	if err != nil {
		return 0, fmt.Errorf("refuse: %w", err)
	}
	if slices.Contains([]string{"", "raw", "peeled", raw.State, raw.Key}, cooking) {
		return raw.RefuseShare, nil
	}
	var known []string
	for _, c := range cookedFormTable()[raw.Key] {
		cooked, err := Lookup(c.Cooked)
		if err != nil {
			return 0, fmt.Errorf("refuse: %w", err)
		}
		if cooking == c.Cooked || cooking == cooked.State {
			return c.RefuseShare, nil
		}
		known = append(known, cooked.State)
	}
	if known == nil {
		known = []string{"raw"}
	}
	return 0, fmt.Errorf("refuse of %s, cooking %q: not known; known are %s", rawKey, cooking, strings.Join(known, ", "))
}

type retentionKey struct {
	code string
	n    Nutrient
}

var retentionTable = sync.OnceValue(func() (t struct {
	share     map[retentionKey]float64
	treatment map[string]string
	codes     []string
}) {
	t.share, t.treatment = map[retentionKey]float64{}, map[string]string{}
	for _, row := range table.Read("retention.csv", retentionCSV) {
		n, ok := NutrientByKey(row.Text("nutrient"))
		if !ok {
			row.Fault("nutrient", "is no nutrient")
		}
		if _, seen := t.treatment[row.Text("code")]; !seen {
			t.codes = append(t.codes, row.Text("code"))
		}
		t.share[retentionKey{row.Text("code"), n}] = row.NumberOr("retention_percent", 0) / 100
		t.treatment[row.Text("code")] = row.Text("treatment")
	}
	return t
})

// RetentionCodes returns the codes of the treatments in the retention table,
// each with its name by RetentionTreatment.
func RetentionCodes() []string { return slices.Clone(retentionTable().codes) }

// RetentionTreatment names the treatment of a code, "" for an unknown one.
func RetentionTreatment(code string) string { return retentionTable().treatment[code] }

// Retention returns the share of a nutrient, 0 to 1, that stays in the whole
// cooked food. known is false where the table has no value.
//
// Source: USDA Table of Nutrient Retention Factors, Release 6 (2007); baked
// fish from memory.
func Retention(code string, n Nutrient) (share float64, known bool) {
	share, known = retentionTable().share[retentionKey{code, n}]
	return share, known
}

// CookedContent returns what 100 g cooked food hold of a nutrient of which 100
// g raw food hold raw, in the same unit: raw × retention share / yield, yield
// being cooked mass over raw mass.
//
//	raw             0 to 1e6
//	retentionShare  0 to 1.2 (a tested sample may gain a little by chance)
//	yield           0.1 to 10
//
// Errors wrap quantity.ErrRange.
//
// Check: spinach, 28.1 mg vitamin C, share 0.55, yield 0.96: 16.1 mg.
func CookedContent(raw, retentionShare, yield float64) (per100gCooked float64, err error) {
	if err := quantity.InRange("raw content", raw, 0, 1e6, ""); err != nil {
		return 0, fmt.Errorf("cooked content: %w", err)
	}
	if err := quantity.InRange("retention share", retentionShare, 0, 1.2, ""); err != nil {
		return 0, fmt.Errorf("cooked content: %w", err)
	}
	if err := quantity.InRange("cooking yield", yield, 0.1, 10, ""); err != nil {
		return 0, fmt.Errorf("cooked content: %w", err)
	}
	return raw * retentionShare / yield, nil
}
