package meals

import (
	"slices"

	"tidebed/larder"
	"tidebed/menu"
	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
)

// Lot is one thing that can be eaten on a set of days: a picking of a planting, the
// fish of a cohort, a thing put by, a day's make of another source, a bought food.
type Lot struct {
	ID     string // the same on every set of days on which the lot can be eaten
	What   string // for people
	From   string // bed, cohort, place
	Kind   string // planting, fish, larder, other, cupboard
	Food   string // key of the raw food
	Inside bool
	Ready  site.Date
	Until  site.Date
	Grams  [season.Courses]float64 // that can be eaten, by course
	KgPerG float64                 // shown kilograms (live weight, as put by) per gram
	Cohort int                     // index in the opening; -1 for what is no fish
	Fish   [season.Courses]float64 // how many of a cohort may be taken
	Index  int                     // of a planting in the opening; -1 for what is none
	Forms  []Form
}

// Form is a way to eat a lot.
type Form struct {
	Food    string  // key of the food as eaten
	PerGram float64 // grams eaten from one gram of the lot
}

// Lots lists what can be eaten on a set of days, with what is missed and why, and
// what must be said. Errors: names that the tables lack.
func Lots(s *site.Site, all *[season.Courses]*season.Forecast, today site.Date, set site.HomeFedDays) ([]Lot, []Missed, []string, error) {
	u, err := lotsFor(s, all, today, set)
	if err != nil {
		return nil, nil, nil, err
	}
	out := make([]Lot, 0, len(u.lots))
	for _, l := range u.lots {
		lot := Lot{ID: l.id, What: l.what, From: l.from, Kind: l.kind(), Food: l.food, Inside: l.inside, Ready: l.ready, Until: l.until,
			Grams: l.gramsG, KgPerG: l.perKg, Cohort: l.cohort, Fish: l.fish, Index: l.index(), Forms: exported(l.forms)}
		out = append(out, lot)
	}
	return out, u.miss, u.warn, nil
}

func exported(list []form) []Form {
	out := make([]Form, len(list))
	for i, f := range list {
		out[i] = Form{f.key, f.perGram}
	}
	return out
}

// CropForms is how a crop's harvest is eaten in a house: the key of its raw food and
// its forms. cooking is how potatoes are cooked, as the site writes it. ok is false for
// a crop that is no food.
func CropForms(c *crop.Crop, cooking string) (raw string, list []Form, ok bool) {
	row, err := food.Lookup(c.FoodKey)
	if err != nil {
		return "", nil, false
	}
	return row.Key, exported(forms(row, c.EdibleShare, true, cooking)), true
}

// Fillet is what a fish of a live weight in g gives at the table: the key of the raw
// food and the share of the live weight that is eaten. ok is false where the tables
// have no dressing share or food row for it.
func Fillet(species string, weightG float64) (raw string, share float64, ok bool) {
	y, err := fish.Dressing(species, weightG)
	if err != nil {
		return "", 0, false
	}
	fillet := y.FilletSkinless
	if !fillet.Known {
		fillet = y.EdibleHome
	}
	row, err := food.Lookup(y.FoodKey)
	if y.FoodKey == "" || err != nil || !fillet.Known || fillet.Amount <= 0 {
		return "", 0, false
	}
	return row.Key, fillet.Amount * fish.HomeFilletFactor, true
}

// FishForms is how the raw food of a fish is eaten. ok is false for an unknown food.
func FishForms(raw string) (list []Form, ok bool) {
	row, err := food.Lookup(raw)
	if err != nil {
		return nil, false
	}
	return exported(forms(row, 1, false, "")), true
}

// Eaters are the people at the table of a set of days with their needs, and what must
// be said of them. Errors: eaters that the site does not describe.
func Eaters(s *site.Site, set site.HomeFedDays) ([]menu.Eater, []Caution, error) {
	return eaters(s, set)
}

// Kept is how many days a fresh harvest keeps in the best place of the house, its name,
// and the share of it lost there in a week.
func Kept(s *site.Site, c crop.Crop) (days int, place string, lossWeek float64) {
	days, place = larder.KeepsDays(s, c)
	if i := slices.IndexFunc(s.Larder, func(p site.LarderPlace) bool { return p.Name == place }); i >= 0 {
		lossWeek = s.Larder[i].LossWeek
	}
	return days, place, lossWeek
}
