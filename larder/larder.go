// Package larder is the building's own produce put by: what is left of it on a
// day, and how long a fresh harvest keeps in the places the house has.
//
// In it: weekly losses of a place, the day until which a thing keeps, and the
// keeping of fresh produce by temperature. Not here: bought food (the site's
// cupboard) and who eats it (package menu).
//
// Units: kg, days, °C. Valid: stores from -40 to 30 °C.
// Sources: storage lives and temperatures of package crop; the halving of life
// for each 8 °C above the best temperature is common practice, no source.
package larder

import (
	"fmt"
	"math"

	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/site"
)

// RoomC is the temperature at which produce is taken to lie where the house
// has no cool place. Common practice, no source.
const RoomC = 18.0

// Remaining returns what is left of massKg after days in a place that loses
// lossWeek (a share, 0 to 1) of what is there each week. Days of 0 or less
// lose nothing.
func Remaining(massKg, lossWeek float64, days int) (leftKg float64) {
	if days <= 0 {
		return massKg
	}
	return massKg * math.Pow(1-lossWeek, float64(days)/7)
}

// Put is one thing put by, as it stands on a day.
type Put struct {
	site.PutBy
	LeftKg  float64   // on the day asked for; 0 when it keeps no longer
	KeepsTo site.Date // the last day it is food
	Why     string    // where KeepsTo comes from
}

// On returns what is left on day of each thing the opening put by.
//
// Errors: a place that the site does not have.
func On(s *site.Site, day site.Date) ([]Put, error) {
	var out []Put
	for i, p := range s.Opening.Larder {
		place, ok := placeOf(s, p.Place)
		if !ok {
			return nil, fmt.Errorf("opening.larder[%d]: place %q is not in the larder of %s", i, p.Place, s.Name)
		}
		put := Put{PutBy: p}
		put.KeepsTo, put.Why = keepsTo(s, p, place)
		if day.DaysTo(put.KeepsTo) >= 0 {
			put.LeftKg = Remaining(p.MassKg, place.LossWeek, s.Opening.Date.DaysTo(day))
		}
		out = append(out, put)
	}
	return out, nil
}

func placeOf(s *site.Site, name string) (site.LarderPlace, bool) {
	for _, p := range s.Larder {
		if p.Name == name {
			return p, true
		}
	}
	return site.LarderPlace{}, false
}

// FreezerDays and DryDays are how long frozen and dry food is counted as food.
// Common practice, no source: fatty fish three to six months, lean fish and
// vegetables longer.
const (
	FreezerDays = 180
	DryDays     = 365
)

// keepsTo returns the last day a thing put by is food, and why.
func keepsTo(s *site.Site, p site.PutBy, place site.LarderPlace) (site.Date, string) {
	if !p.Until.IsZero() {
		return p.Until, "as stated"
	}
	since := p.Since
	if since.IsZero() {
		since = s.Opening.Date
	}
	switch place.Kind {
	case "freezer":
		return since.Plus(FreezerDays), fmt.Sprintf("frozen food counts for %d days", FreezerDays)
	case "dry-shelf":
		if f, err := food.Lookup(p.Food); err == nil && f.State == "dry" {
			return since.Plus(DryDays), fmt.Sprintf("dry food counts for %d days", DryDays)
		}
	}
	longest := 0
	for _, c := range crop.Crops() {
		if c.FoodKey == p.Food {
			longest = max(longest, keepsAt(c, place.TempC))
		}
	}
	if longest > 0 {
		return since.Plus(longest), fmt.Sprintf("keeps %d days at %.0f °C", longest, place.TempC)
	}
	return since.Plus(14), "storage life not in the tables; 14 days counted"
}

// keepsAt is the crop's storage life at a temperature. Above the best
// temperature it halves for each 8 °C; so it does below it for a crop that
// cold spoils.
func keepsAt(c crop.Crop, tempC float64) int {
	life := float64(c.StorageLifeDays)
	if over := tempC - c.StorageTempC; over > 0 {
		life *= math.Pow(2, -over/8)
	} else if c.ChillSensitive && over < 0 {
		life *= math.Pow(2, over/8)
	}
	return int(life)
}

// KeepsDays returns how many days a fresh harvest of the crop keeps in the best
// place of the house (a freezer does not count: fresh roots and leaves are not
// frozen raw), and the place's name; at RoomC where there is none.
func KeepsDays(s *site.Site, c crop.Crop) (days int, place string) {
	days, place = keepsAt(c, RoomC), "the room"
	for _, p := range s.Larder {
		if p.Kind == "freezer" {
			continue
		}
		if d := keepsAt(c, p.TempC); d > days {
			days, place = d, p.Name
		}
	}
	return days, place
}

// EnergyKWh is the electricity a place takes in days at its mean draw; 0 for
// days of 0 or less.
func EnergyKWh(p site.LarderPlace, days float64) float64 {
	if !(days > 0) {
		return 0
	}
	return p.PowerW * days * 24 / 1000
}

// Filled is how full a place is on a day, and what it takes to run.
type Filled struct {
	Place   site.LarderPlace
	Kg      float64 // of what is put by and still food
	FreeKg  float64 // negative when it is overfull
	KWhWeek float64
	Things  []Put
}

// Places returns each place with what is left in it on a day. Own produce
// only: the store cupboard is not here.
//
// Errors: as On.
func Places(s *site.Site, day site.Date) ([]Filled, error) {
	puts, err := On(s, day)
	if err != nil {
		return nil, err
	}
	var out []Filled
	for _, p := range s.Larder {
		f := Filled{Place: p, KWhWeek: EnergyKWh(p, 7)}
		for _, put := range puts {
			if put.Place == p.Name {
				f.Things = append(f.Things, put)
				f.Kg += put.LeftKg
			}
		}
		f.FreeKg = p.CapacityKg - f.Kg
		out = append(out, f)
	}
	return out, nil
}
