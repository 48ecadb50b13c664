package meals

import (
	"fmt"
	"math"
	"strings"

	"tidebed/larder"
	"tidebed/menu"
	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
)

// The three courses of yield and growth.
const (
	low     = int(season.Low)
	typical = int(season.Typical)
	high    = int(season.High)
	courses = int(season.Courses)
)

// lot is one thing that can be eaten: a picking of a planting, a cohort, a
// thing put by, a bought food.
type lot struct {
	id     string
	what   string // for people: "potato in Tub row"
	from   string // bed, cohort, place
	food   string // raw key
	inside bool
	ready  site.Date // first day it can be eaten
	until  site.Date // last day
	gramsG [courses]float64
	perKg  float64 // shown kilograms (live weight, as put by) per gram of gramsG
	forms  []form
	cohort int              // index of the cohort, or -1
	fish   [courses]float64 // of a cohort: how many may be taken
}

// kind is what a lot is, by its id.
func (l *lot) kind() string {
	switch {
	case l.cohort >= 0:
		return "fish"
	case strings.HasPrefix(l.id, "planting "):
		return "planting"
	case strings.HasPrefix(l.id, "put by "):
		return "larder"
	case strings.HasPrefix(l.id, "other "):
		return "other"
	}
	return "cupboard"
}

// index is the planting's place in the opening, -1 for what is no planting.
func (l *lot) index() int {
	var i, k int
	if _, err := fmt.Sscanf(l.id, "planting %d pick %d", &i, &k); err != nil {
		return -1
	}
	return i
}

// form is a way to eat a lot: key as eaten, grams eaten per gram of the lot.
type form struct {
	key     string
	perGram float64
}

// forms returns how a raw food is eaten in this house. edible is the share of
// the lot's mass that is edible where the way of cooking does not say
// otherwise.
func forms(raw food.Food, edible float64, asHarvested bool, potatoes string) []form {
	var out []form
	cooked := food.CookedForms(raw.Key)
	if !food.MustCook(raw.Key) || len(cooked) == 0 {
		out = append(out, form{raw.Key, edible})
	}
	for _, c := range cooked {
		share := edible
		if asHarvested && c.RefuseShare != raw.RefuseShare {
			share = 1 - c.RefuseShare
		}
		if raw.Key == "potato" {
			baked := c.Cooked == "potato_baked"
			if baked != (potatoes == "baked-whole") {
				continue
			}
			if potatoes == "peeled-raw" && asHarvested {
				share = 1 - raw.RefuseShare
			}
		}
		out = append(out, form{c.Cooked, share * c.Yield})
	}
	return out
}

// supplier works out the lots of a site for one set of home-fed days.
type supplier struct {
	s     *site.Site
	today site.Date
	days  site.HomeFedDays
	all   *[season.Courses]*season.Forecast
	lots  []lot
	miss  []Missed
	warn  []string
}

// lotsFor returns every lot that can be eaten on the days, with what is
// missed and why.
func lotsFor(s *site.Site, all *[season.Courses]*season.Forecast, today site.Date, days site.HomeFedDays) (*supplier, error) {
	u := &supplier{s: s, today: today, days: days, all: all}
	if u.beyond() {
		u.warn = append(u.warn, fmt.Sprintf("these days lie beyond %s, the last that is foretold: no crop and no fish is counted for them", u.short(all[low].To)))
	}
	for i, p := range s.Opening.Plantings {
		if u.beyond() {
			break
		}
		if err := u.planting(i, p); err != nil {
			return nil, err
		}
	}
	for i, c := range s.Opening.Cohorts {
		if u.beyond() {
			break
		}
		if err := u.cohort(i, c); err != nil {
			return nil, err
		}
	}
	if err := u.larder(); err != nil {
		return nil, err
	}
	if err := u.others(); err != nil {
		return nil, err
	}
	return u, u.cupboard()
}

// short is a day for people: "3 June", with the year where it is not today's.
func (u *supplier) short(d site.Date) string { return dayWords(d, u.today) }

// beyond reports that the days lie after the season's last: then nothing that
// grows or swims is foretold for them.
func (u *supplier) beyond() bool { return u.days.From.After(u.all[low].To.Time) }

func (u *supplier) planting(i int, p site.Planting) error {
	c, err := crop.Lookup(p.Crop)
	if err != nil {
		return fmt.Errorf("opening.plantings[%d]: %w", i, err)
	}
	what := fmt.Sprintf("%s, %s planted %s", c.Name, p.Bed, u.short(p.Planted))
	raw, err := food.Lookup(c.FoodKey)
	if err != nil {
		u.miss = append(u.miss, Missed{what, "the food table has no row for it"})
		return nil
	}
	keeps, place, loss := Kept(u.s, c)
	usable, late, gone, picked := 0, site.Date{}, site.Date{}, site.Date{}
	for course, f := range u.all {
		for k, pick := range f.Plantings[i].Picks {
			l := lot{
				id: fmt.Sprintf("planting %d pick %d %s", i, k, f.Course), what: c.Name, from: p.Bed, food: raw.Key, inside: true,
				ready: pick.Day, until: pick.Until.Plus(keeps), perKg: 1e-3, cohort: -1,
				forms: forms(raw, c.EdibleShare, true, u.days.Cooking),
			}
			l.gramsG[course] = larder.Remaining(pick.Kg*1000, loss, pick.Day.DaysTo(u.days.From))
			switch {
			case l.ready.After(u.days.From.Time):
				if late.IsZero() || l.ready.Before(late.Time) {
					late = l.ready
				}
			case l.until.Before(u.days.To.Time):
				gone = l.until
			case l.ready.Before(u.today.Time) && c.HarvestKind != crop.Once:
				picked = l.ready
			default:
				u.lots = append(u.lots, l)
				usable++
			}
		}
	}
	if usable > 0 {
		return nil
	}
	low := u.all[low].Plantings[i]
	switch {
	case !late.IsZero() && (gone.IsZero() || late.After(gone.Time)):
		u.miss = append(u.miss, Missed{what, fmt.Sprintf("first ready on %s, after the days begin", u.short(late))})
	case !picked.IsZero():
		u.miss = append(u.miss, Missed{what, fmt.Sprintf("last picked on %s, before today: taken to be eaten or sold", u.short(picked))})
	case !gone.IsZero():
		u.miss = append(u.miss, Missed{what, fmt.Sprintf("keeps until %s in %s, before the days end", u.short(gone), place)})
	case low.Why != "":
		u.miss = append(u.miss, Missed{what, low.Why})
	}
	return nil
}

func (u *supplier) cohort(i int, c site.Cohort) error {
	sp, err := fish.Lookup(c.Species)
	if err != nil {
		return fmt.Errorf("opening.fish[%d]: %w", i, err)
	}
	var weightG, number [courses]float64
	for k, f := range u.all {
		weightG[k], number[k] = c.WeightKg*1000, float64(c.Count)
		days := f.Cohorts[i].Days
		if eve := u.s.Opening.Date.DaysTo(u.days.From) - 1; eve >= 0 { // the evening before the set
			on := days[min(len(days)-1, eve)]
			weightG[k], number[k] = on.WeightG, on.Number
		}
		if season.Course(k) == season.Low {
			for _, w := range f.Cohorts[i].Warnings {
				u.warn = append(u.warn, c.Name+": "+w)
			}
		}
	}
	if tempC := u.all[low].Cohorts[i].TempC; tempC != 0 && (tempC <= sp.LethalLowC || tempC >= sp.LethalHighC) {
		u.miss = append(u.miss, Missed{fmt.Sprintf("%s (%s)", c.Name, sp.Name), fmt.Sprintf("water of %g °C kills them: they live between %g and %g °C, and fish found dead are never eaten", tempC, sp.LethalLowC, sp.LethalHighC)})
		return nil
	}
	if weightG[low] >= sp.CeilingG()-1 {
		u.warn = append(u.warn, fmt.Sprintf("%s: past %.0f g growth is not foretold; the weight is held there", c.Name, sp.CeilingG()))
	}
	if number[low]-float64(c.Keep) < 1 {
		why := "all are kept as stock"
		if c.Keep == 0 {
			why = "none are left alive"
		}
		u.miss = append(u.miss, Missed{fmt.Sprintf("%s (%s)", c.Name, sp.Name), why})
		return nil
	}
	y, err := fish.Dressing(c.Species, weightG[low])
	if err != nil {
		return fmt.Errorf("opening.fish[%d] %s: %w", i, c.Name, err)
	}
	fillet := y.FilletSkinless
	if !fillet.Known {
		fillet = y.EdibleHome
	}
	raw, err := food.Lookup(y.FoodKey)
	if y.FoodKey == "" || err != nil || !fillet.Known || fillet.Amount <= 0 {
		u.miss = append(u.miss, Missed{fmt.Sprintf("%s (%s)", c.Name, sp.Name), "the tables have no food row or dressing share for it"})
		return nil
	}
	share := fillet.Amount * fish.HomeFilletFactor
	l := lot{
		id: fmt.Sprintf("cohort %d", i), what: sp.Name, from: c.Name, food: raw.Key, inside: true,
		ready: u.days.From, until: u.days.To, perKg: 1e-3 / share, cohort: i,
		forms: forms(raw, 1, false, ""),
	}
	for k := range l.gramsG {
		l.fish[k] = math.Max(0, number[k]-float64(c.Keep))
		l.gramsG[k] = l.fish[k] * weightG[k] * share
	}
	if sp.MarketWeightLowG.Known && weightG[low] < 0.6*sp.MarketWeightLowG.Amount {
		u.warn = append(u.warn, fmt.Sprintf("%s weigh about %.0f g by %s, small for the table (usual from %.0f g)", c.Name, weightG[low], u.short(u.days.From), sp.MarketWeightLowG.Amount))
	}
	u.lots = append(u.lots, l)
	return nil
}

func (u *supplier) larder() error {
	puts, err := larder.On(u.s, u.days.From)
	if err != nil {
		return err
	}
	for i, p := range puts {
		raw, err := food.Lookup(p.Food)
		if err != nil {
			return fmt.Errorf("opening.larder[%d]: %w", i, err)
		}
		if p.KeepsTo.Before(u.days.To.Time) {
			u.miss = append(u.miss, Missed{
				fmt.Sprintf("%.3g kg %s in %s", p.MassKg, shortName(raw.Name), p.Place),
				fmt.Sprintf("keeps until %s (%s), before the days end", u.short(p.KeepsTo), p.Why),
			})
			continue
		}
		edible := 1.0
		if p.AsHarvested {
			edible = 1 - raw.RefuseShare
		}
		g := p.LeftKg * 1000
		u.lots = append(u.lots, lot{
			id: fmt.Sprintf("put by %d", i), what: shortName(raw.Name), from: p.Place, food: raw.Key, inside: true,
			ready: u.s.Opening.Date, until: p.KeepsTo, perKg: 1e-3, cohort: -1,
			gramsG: [courses]float64{g, g, g}, forms: forms(raw, edible, p.AsHarvested, u.days.Cooking),
		})
	}
	return nil
}

func (u *supplier) others() error {
	for i, o := range u.s.Others {
		raw, err := food.Lookup(o.Food)
		if err != nil {
			return fmt.Errorf("other-sources[%d]: %w", i, err)
		}
		if !u.days.Others {
			u.miss = append(u.miss, Missed{shortName(raw.Name), "the house's rules for these days do not count other sources"})
			continue
		}
		keeps := int(o.KeepsS / 86400)
		made := 0
		// A lot for each day's make, so that what one set eats is gone for the next.
		for day := u.days.From.Plus(-keeps); !day.After(u.days.To.Time); day = day.Plus(1) {
			if day.Before(u.today.Time) || (!o.From.IsZero() && day.Before(o.From.Time)) || (!o.To.IsZero() && day.After(o.To.Time)) {
				continue // before today: taken to be eaten or sold
			}
			made++
			g := o.KgWeek / 7 * 1000
			u.lots = append(u.lots, lot{
				id: fmt.Sprintf("other %d of %s", i, day), what: shortName(raw.Name), from: "other sources", food: raw.Key, inside: true,
				ready: day, until: day.Plus(keeps), perKg: 1e-3, cohort: -1,
				gramsG: [courses]float64{g, g, g}, forms: forms(raw, 1-raw.RefuseShare, true, u.days.Cooking),
			})
		}
		if made == 0 {
			u.miss = append(u.miss, Missed{shortName(raw.Name), "nothing is made or kept in reach of these days"})
		}
	}
	return nil
}

func (u *supplier) cupboard() error {
	for i, c := range u.s.Cupboard {
		raw, err := food.Lookup(c.Food)
		if err != nil {
			return fmt.Errorf("cupboard[%d]: %w", i, err)
		}
		if !u.days.Cupboard {
			continue
		}
		until := c.Until
		if until.IsZero() {
			until = u.days.To
		}
		if until.Before(u.days.To.Time) {
			u.miss = append(u.miss, Missed{shortName(raw.Name) + ", store cupboard", fmt.Sprintf("best before %s", u.short(until))})
			continue
		}
		g := c.StockKg * 1000
		u.lots = append(u.lots, lot{
			id: fmt.Sprintf("cupboard %d", i), what: shortName(raw.Name), from: "store cupboard", food: raw.Key,
			ready: u.today, until: until, perKg: 1e-3, cohort: -1,
			gramsG: [courses]float64{g, g, g}, forms: forms(raw, 1-raw.RefuseShare, true, u.days.Cooking),
		})
	}
	return nil
}

// eaters returns the people at the table with their needs.
func eaters(s *site.Site, days site.HomeFedDays) ([]menu.Eater, []food.Caution, error) {
	floor := days.AdultFloor
	if floor == 0 {
		floor = 0.8
	}
	var out []menu.Eater
	var cautions []food.Caution
	for _, name := range days.Eaters {
		var who *site.Person
		for i := range s.People {
			if s.People[i].Name == name {
				who = &s.People[i]
			}
		}
		if who == nil {
			return nil, nil, fmt.Errorf("home-fed days %q: eater %q is not among the people", days.Name, name)
		}
		activity := food.Activity(who.Activity)
		if activity == "" {
			activity = food.LowActive
		}
		p := food.Person{
			Sex: food.Sex(who.Sex), AgeY: who.AgeY, WeightKg: who.WeightKg, HeightM: who.HeightM,
			Activity: activity, State: food.State(who.State),
		}
		if s.Opening.Date.DaysTo(days.From) > 0 {
			p.AgeY += math.Floor(float64(s.Opening.Date.DaysTo(days.From)) / 365.25)
		}
		e, err := menu.NewEater(name, p, who.Flags, who.Allergies, floor)
		if err != nil {
			return nil, nil, fmt.Errorf("home-fed days %q: %w", days.Name, err)
		}
		if s.EnergyEdition == "2023" && p.State == food.NoState {
			if e.NeedKcal, err = food.EnergyNeed2023(p); err != nil {
				return nil, nil, fmt.Errorf("home-fed days %q, eater %s: %w", days.Name, name, err)
			}
		}
		said, err := food.PeopleCautions(p, who.Flags)
		if err != nil {
			return nil, nil, fmt.Errorf("eater %s: %w", name, err)
		}
		for _, c := range said {
			if c.About != "every plan" {
				c.About = name + ": " + c.About
			}
			cautions = append(cautions, c)
		}
		out = append(out, e)
	}
	if len(out) == 0 {
		return nil, nil, fmt.Errorf("home-fed days %q: no eaters: name at least one", days.Name)
	}
	return out, cautions, nil
}

// Assess gives the figures of a menu written by hand for one of the site's sets
// of home-fed days: grams as eaten per person and day by food key. With
// byEnergy each eater's portion is scaled by their share of the energy need.
// All of it counts as inside: nothing is asked of beds, tanks or larder.
//
// Errors: eaters the site does not describe, and as menu.Assess.
func Assess(s *site.Site, set site.HomeFedDays, gramsPerPersonDay map[string]float64, byEnergy bool) (*menu.Menu, error) {
	people, _, err := eaters(s, set)
	if err != nil {
		return nil, err
	}
	return menu.Assess(people, float64(set.From.DaysTo(set.To)+1), gramsPerPersonDay, byEnergy)
}
