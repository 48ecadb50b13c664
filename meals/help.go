package meals

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"tidebed/larder"
	"tidebed/menu"
	"tidebed/numeric/lp"
	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// candidate is one change whose worth is found by solving again.
type candidate struct {
	what    string
	add     lot     // one unit more
	units   float64 // how many units the whole of it would be; 0 unknown
	caution string  // of the crop
	whole   string  // the whole of it in words: "12 m² of potato planted by 3 June"
	gain    float64
	share   float64
}

// bulkKcalPerKg is the energy of a kilogram as eaten from which a food can
// carry a meal: below it nobody can eat enough. Common practice, no source.
const bulkKcalPerKg = 600

// safetyDays is how much earlier than the crop table's days a planting is
// advised, since one that is late gives nothing. Common practice, no source.
const safetyDays = 7

// freeM2 is a bed's area that no planting of the low course holds at any time
// from one day to another. Plantings are taken to overlap fully, which errs on
// the side of too little room.
func freeM2(f *season.Forecast, bed site.Bed, from, to site.Date) float64 {
	free := bed.GrowingM2()
	for _, p := range f.Plantings {
		if p.Bed == bed.Name && !p.Planted.After(to.Time) && (p.Pulled.IsZero() || p.Pulled.After(from.Time)) {
			free -= p.AreaM2
		}
	}
	return math.Max(0, free)
}

// BedKind is the column of the crop table for a kind of bed of the site.
func BedKind(kind string) string {
	if kind == "constant" {
		return "media"
	}
	return kind
}

// dangerWords mark the clauses of a crop's note that warn of harm to the eater;
// the others speak of yields and growing.
var dangerWords = []string{"toxic", "poison", "cyanide", "favism", "lectin", "raw", "oxalate", "fluke", "cook", "allerg"}

// Dangers returns the clauses of a crop's note that warn of harm to the eater; the
// others speak of yields and growing.
func Dangers(note string) string {
	var out []string
	for clause := range strings.SplitSeq(note, ";") {
		for _, w := range dangerWords {
			if strings.Contains(strings.ToLower(clause), w) {
				out = append(out, strings.TrimSpace(clause))
				break
			}
		}
	}
	return strings.Join(out, "; ")
}

// roomiest is the bed of a kind with the most free area.
func roomiest(s *site.Site, f *season.Forecast, kind string, from, to site.Date) (best site.Bed, ok bool) {
	most := 0.0
	for _, l := range s.Loops {
		for _, b := range l.Beds {
			if BedKind(b.Kind) != kind {
				continue
			}
			if free := freeM2(f, b, from, to); free > most {
				best, most, ok = b, free, true
			}
		}
	}
	return best, ok
}

// latest finds the latest planting day, in whole weeks before the set's first
// day, from which the low course has a harvest on the table in time, with
// safetyDays to spare, and what a square metre then gives. It looks at the
// weeks from the last to the first, since a planting put in later is never
// ripe earlier.
func latest(s *site.Site, sky *season.Sky, c crop.Crop, bed site.Bed, today site.Date, set site.HomeFedDays, keeps int, lossWeek float64) (planted site.Date, kg float64, err error) {
	earliest := today.Plus(c.NurseryDays)
	if earliest.Before(s.Opening.Date.Time) {
		earliest = s.Opening.Date
	}
	by := set.From.Plus(-safetyDays)
	yield := func(weeks int) (float64, error) {
		p, err := season.Trial(s, season.Options{To: set.From, Course: season.Low, Holding: []site.Date{by}, Sky: sky}, site.Planting{
			Crop: c.Key, Bed: bed.Name, AreaM2: 1, Planted: by.Plus(-7 * weeks),
		})
		if err != nil {
			return 0, err
		}
		var sum float64
		for _, pick := range p.Picks {
			if !pick.Day.After(by.Time) && !pick.Until.Plus(keeps).Before(set.To.Time) {
				sum += larder.Remaining(pick.Kg, lossWeek, pick.Day.DaysTo(set.From))
			}
		}
		return sum, nil
	}
	// No crop is quicker than at best light; from there week by week, until one
	// planting is in time, or the crop would need four times as long.
	quickest := max(1, c.DaysToFirstHarvest/7)
	for weeks := quickest; weeks <= min(earliest.DaysTo(by)/7, 4*quickest); weeks++ {
		if kg, err = yield(weeks); err != nil || kg > 0 {
			return by.Plus(-7 * weeks), kg, err
		}
	}
	return planted, 0, nil
}

// plantings lists what could still be planted in empty beds for these days:
// the crops of the site's wishes (all where it has none) that suit the bed,
// can be ripe in time, and carry enough energy to matter.
func plantings(s *site.Site, sky *season.Sky, f *season.Forecast, today site.Date, set site.HomeFedDays) ([]candidate, error) {
	liking := map[string]string{}
	for _, w := range s.Crops {
		liking[w.Crop] = w.Liking
	}
	var out []candidate
	if set.From.After(f.To.Time) {
		return nil, nil // too far to foretell
	}
	for _, kind := range crop.BedKinds() {
		for _, c := range crop.Crops() {
			wish, wished := liking[c.Key]
			if wish == "never" || (len(liking) > 0 && !wished) || c.Suits(kind) != crop.Yes {
				continue
			}
			raw, err := food.Lookup(c.FoodKey)
			if err != nil {
				continue
			}
			dense := false
			for _, f := range forms(raw, c.EdibleShare, true, set.Cooking) {
				if row, err := food.Lookup(f.key); err == nil {
					if kcal, _ := row.Per100g(food.Energy); kcal*10 >= bulkKcalPerKg {
						dense = true
					}
				}
			}
			if !dense {
				continue
			}
			bed, ok := roomiest(s, f, kind, today, set.From)
			if !ok {
				continue
			}
			keeps, _, lossWeek := Kept(s, c)
			planted, kg, err := latest(s, sky, c, bed, today, set, keeps, lossWeek)
			if err != nil {
				return nil, err
			}
			if kg <= 0 {
				continue
			}
			var room float64
			for _, l := range s.Loops {
				for _, b := range l.Beds {
					if BedKind(b.Kind) == kind && b.Zone == bed.Zone {
						room += freeM2(f, b, planted, set.From)
					}
				}
			}
			if room < 1 {
				continue
			}
			cand := candidate{
				what:    fmt.Sprintf("1 m² of %s in a %s bed, planted by %s", words.Lower(c.Name), kind, dayWords(planted, today)),
				caution: Dangers(c.Caution),
				units:   math.Floor(room*10) / 10,
				whole:   fmt.Sprintf("%s in the empty %s beds, planted by %s", words.Lower(c.Name), kind, dayWords(planted, today)),
				add: lot{
					id: "help " + c.Key + kind, what: c.Name, from: kind, food: raw.Key, inside: true, perKg: 1e-3, cohort: -1,
					ready: set.From, until: set.To,
					forms: forms(raw, c.EdibleShare, true, set.Cooking),
				},
			}
			cand.add.gramsG[low] = kg * 1000
			out = append(out, cand)
		}
	}
	return out, nil
}

// stores lists one unit more of what is on hand already: 10 kg of a thing put
// by, ten fish of a cohort.
func stores(t *table) []candidate {
	var out []candidate
	seen := map[string]bool{}
	for _, l := range t.lots {
		if !l.inside || seen[l.food] {
			continue
		}
		switch {
		case l.cohort >= 0:
			seen[l.food] = true
			add := l
			add.gramsG[low] = 1 / l.perKg // one kilogram of live fish
			out = append(out, candidate{what: fmt.Sprintf("1 kg more of live %s", words.Lower(l.what)), add: add})
		case len(l.id) > 6 && l.id[:6] == "put by":
			seen[l.food] = true
			add := l
			add.gramsG[low] = 10 / l.perKg
			out = append(out, candidate{what: fmt.Sprintf("10 kg more of %s put by", words.Lower(l.what)), add: add})
		}
	}
	return out
}

// most is how many helps are listed.
const most = 8

// help ranks the changes by solving again with one more unit of each, then
// with the whole of the best.
func (o *Occasion) help(ctx context.Context, pool *lp.Pool, s *site.Site, sky *season.Sky, f *season.Forecast, today site.Date, set site.HomeFedDays, t *table, used map[string]float64) error {
	cands, err := plantings(s, sky, f, today, set)
	if err != nil {
		return err
	}
	cands = append(cands, stores(t)...)
	base := o.Low.WorstShare
	worth := func(solver *lp.Solver, c candidate, units float64) (float64, error) {
		add := c.add
		for k := range add.gramsG {
			add.gramsG[k] = c.add.gramsG[low] * units
		}
		with := &table{eaters: t.eaters, days: t.days, lots: append(slices.Clone(t.lots), add)}
		// An extra lot is not diminished by what was eaten of its like.
		with.lots[len(with.lots)-1].id = "help"
		q, _ := with.merged(low, used, true, false)
		worst, _, err := menu.Energy(ctx, solver, q)
		return worst, err
	}
	err = pool.Do(ctx, func(solver *lp.Solver) error {
		for i := range cands {
			share, err := worth(solver, cands[i], 1)
			if err != nil {
				return err
			}
			cands[i].gain, cands[i].share = share-base, share
		}
		sort.SliceStable(cands, func(i, j int) bool {
			if d := cands[i].gain - cands[j].gain; math.Abs(d) > 1e-7 {
				return d > 0
			}
			return cands[i].units > cands[j].units
		})
		offered := map[string]bool{} // each food once, where it helps most
		for _, c := range cands {
			if c.gain < 5e-4 || len(o.Helps) == most {
				break
			}
			if offered[c.add.food+c.add.id[:4]] {
				continue
			}
			offered[c.add.food+c.add.id[:4]] = true
			h := Help{What: c.what, Gain: c.gain, Share: c.share, Caution: c.caution}
			if c.units > 1 {
				share, err := worth(solver, c, c.units)
				if err != nil {
					return err
				}
				h.Whole = fmt.Sprintf("%.3g m² of %s, would make it %s", c.units, c.whole, Percent(share))
			}
			o.Helps = append(o.Helps, h)
		}
		return nil
	})
	return err
}
