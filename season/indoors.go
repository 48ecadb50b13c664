package season

import (
	"errors"
	"fmt"
	"time"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/site"
	"tidebed/warmth"
)

// indoors is the air of a site's zones and the water of its loops hour by hour, by
// the building's own balance. It is worked out once for a site and shared by all
// runs over its sky: what a run harvests or a trial plants changes the air too little
// to tell.
type indoors struct {
	loops    []site.Loop // of the site it was made for
	zones    []site.Zone
	circuits []*plumbing.Circuit
	building *warmth.Building // nil: nothing to reckon by, set points stand in
	plants   []site.Planting
	grove    grove
	heaters  []site.Heater
	surfaces []site.Surface
	lamps    []site.Lamp
	from     site.Date
	opening  site.Date
	day      *warmth.Day
	days     []indoorDay
	book     *warmth.Book
}

// indoorDay is a day in it.
type indoorDay struct {
	airC   [][hours]float64 // by zone
	rh     [][hours]float64
	co2    []float64        // mean of the hours with light, by zone
	waterC [][hours]float64 // by wet cell
	wetKg  []float64        // evaporated from it
	light  [][hours]float64 // daylight at the leaves, W/m² of global radiation, by zone
	share  []float64        // of the day's light outside
	fullMm []float64        // what a m² under full leaf gives off, L
	caught []float64        // by dehumidifiers and led into a loop, kg, by loop
	leafL  []float64        // that the building's leaves drank, by loop; 0 before the opening
}

const (
	spinUpDays = 14 // before the first day that counts, for the floors to find their warmth
)

// ours reports whether it was made for a site's loops and zones.
func (in *indoors) ours(s *site.Site) bool {
	same := func(n, m int, at bool) bool { return n == m && (n == 0 || at) }
	return same(len(in.loops), len(s.Loops), len(s.Loops) > 0 && len(in.loops) > 0 && &in.loops[0] == &s.Loops[0]) &&
		same(len(in.zones), len(s.Zones), len(s.Zones) > 0 && len(in.zones) > 0 && &in.zones[0] == &s.Zones[0]) &&
		same(len(in.heaters), len(s.Heaters), len(s.Heaters) > 0 && len(in.heaters) > 0 && &in.heaters[0] == &s.Heaters[0]) &&
		same(len(in.surfaces), len(s.Surfaces), len(s.Surfaces) > 0 && len(in.surfaces) > 0 && &in.surfaces[0] == &s.Surfaces[0]) &&
		same(len(in.lamps), len(s.Lamps), len(s.Lamps) > 0 && len(in.lamps) > 0 && &in.lamps[0] == &s.Lamps[0])
}

// newIndoors describes the building of a site under a sky.
func newIndoors(s *site.Site, k *Sky) (*indoors, error) {
	in := &indoors{loops: s.Loops, zones: s.Zones, plants: s.Opening.Plantings, opening: s.Opening.Date, grove: newGrove(s), heaters: s.Heaters, surfaces: s.Surfaces, lamps: s.Lamps}
	for i := range s.Loops {
		c, err := plumbing.Of(&s.Loops[i])
		if err != nil {
			return nil, err
		}
		in.circuits = append(in.circuits, c)
	}
	mean := 0.0
	var day climate.Day
	for m := range 12 {
		if err := k.weather.Day(site.On(s.Opening.Date.Year(), time.Month(1+m), 15).Time, &day); err != nil {
			return nil, err
		}
		mean += (day.TmaxC + day.TminC) / 24
	}
	b, err := warmth.New(s, in.circuits, warmth.Options{GroundC: mean, UTCOffsetH: k.weather.UTCOffsetH()})
	if err != nil {
		return nil, fmt.Errorf("building: %w", err)
	}
	in.building = b
	if b == nil {
		return in, nil
	}
	for i := range s.Loops {
		feed := 0.0
		for _, co := range s.Opening.Cohorts {
			if c := in.circuits[i]; c != nil {
				if _, ours := c.CellOf[co.Tank]; ours {
					feed += openingFeedG(s, co) / 1000
				}
			}
		}
		if feed > 0 {
			if err := b.Feed(i, feed); err != nil {
				return nil, fmt.Errorf("building: %w", err)
			}
		}
	}
	in.day = b.NewDay()
	in.book = warmth.NewBook(b)
	in.from = s.Opening.Date
	for _, p := range in.plants {
		if p.Planted.Before(in.from.Time) {
			in.from = p.Planted
		}
	}
	if k.from.After(in.from.Time) {
		in.from = k.from
	}
	for d := -spinUpDays; d < 0; d++ { // the first day's weather, again and again
		sky, err := k.day(in.from)
		if err != nil {
			return nil, err
		}
		if err := b.Day(in.from.Plus(d).Time, sky, in.grove.stand(in.from), in.day); err != nil {
			return nil, fmt.Errorf("building: %w", err)
		}
	}
	return in, nil
}

// fill carries the building up to a day.
func (in *indoors) fill(k *Sky, to site.Date) error {
	if in.building == nil {
		return nil
	}
	for n := in.from.DaysTo(to) + 1; len(in.days) < n; {
		date := in.from.Plus(len(in.days))
		sky, err := k.day(date)
		if err != nil {
			return err
		}
		if err := in.building.Day(date.Time, sky, in.grove.stand(date), in.day); err != nil {
			return fmt.Errorf("building: %w", err)
		}
		if !date.Before(in.opening.Time) {
			for z, parts := range in.grove.byLoop {
				in.book.Drinks(z, parts)
			}
			if err := in.book.Add(date.Time, sky, in.day); err != nil {
				return fmt.Errorf("building: %w", err)
			}
		}
		d := indoorDay{airC: make([][hours]float64, len(in.zones)), rh: make([][hours]float64, len(in.zones)), co2: make([]float64, len(in.zones)), waterC: make([][hours]float64, len(in.day.WaterC))}
		d.light, d.share, d.fullMm, d.caught = make([][hours]float64, len(in.zones)), make([]float64, len(in.zones)), make([]float64, len(in.zones)), make([]float64, len(in.loops))
		for z := range in.day.Zones {
			lit, inside := 0.0, 0.0
			for h := range hours {
				x := &in.day.Zones[z].Hours[h]
				d.light[z][h] = x.LightWm2
				inside += x.LightWm2
				d.fullMm[z] += x.FullKgM2
				if dry := in.zones[z].Dehumidifier; dry != nil && dry.WaterTo != "" {
					for i := range in.loops {
						if in.loops[i].Name == dry.WaterTo {
							d.caught[i] += x.DryKg
						}
					}
				}
			}
			for h := range hours {
				if w := sky.Hours[h].GHIWm2; w > 0 {
					lit += w
					d.co2[z] += w * in.day.Zones[z].Hours[h].CO2Ppm
				}
			}
			if d.share[z] = in.zones[z].Light; d.share[z] == 0 && lit > 0 {
				d.share[z] = inside / lit
			}
			if d.co2[z] /= lit; lit == 0 {
				d.co2[z] = in.day.Zones[z].Hours[12].CO2Ppm
			}
			for h := range hours {
				d.airC[z][h], d.rh[z][h] = in.day.Zones[z].Hours[h].AirC, in.day.Zones[z].Hours[h].RH
			}
		}
		d.leafL = make([]float64, len(in.loops))
		if last := in.book.Last(); last != nil {
			for i := range last.Loops {
				d.leafL[i] = last.Loops[i].TranspiredL
			}
		}
		copy(d.waterC, in.day.WaterC)
		d.wetKg = append(d.wetKg, in.day.WetKg...)
		in.grove.grow(date, sky, &d, !date.Before(in.opening.Time))
		in.days = append(in.days, d)
	}
	return nil
}

// on returns a day; nil where the building is not reckoned or the day lies before
// its first: the first day then serves.
func (in *indoors) on(date site.Date) *indoorDay {
	if in == nil || in.building == nil || len(in.days) == 0 {
		return nil
	}
	i := min(max(0, in.from.DaysTo(date)), len(in.days)-1)
	return &in.days[i]
}

// inside returns the building of a site under this sky, up to a day; kept, so
// that runs of the same site share it.
func (k *Sky) inside(s *site.Site, to site.Date) (*indoors, error) {
	in := k.indoors
	if in == nil || !in.ours(s) {
		made, err := newIndoors(s, k)
		if err != nil {
			return nil, err
		}
		in = made
		if k.indoors == nil {
			k.indoors = in
		}
	}
	return in, in.fill(k, to)
}

// Warmth is a year of a site's building from its opening: its air and water hour by
// hour, heat, power, damp and bill. ErrNoSkin when the site describes no surface of
// a zone. Other errors: a place without weather, parts that cannot be.
//
// A site without an opening is taken from the first of January 2027.
func Warmth(s *site.Site) (*warmth.Building, *warmth.Year, error) {
	s = dated(s)
	k, err := NewSky(s)
	if err != nil {
		return nil, nil, fmt.Errorf("season: %w", err)
	}
	return WarmthUnder(s, k)
}

// dated gives a site without an opening a first day: normals have no year of their own.
func dated(s *site.Site) *site.Site {
	if !s.Opening.Date.IsZero() {
		return s
	}
	copied := *s
	copied.Opening.Date = site.On(2027, time.January, 1)
	return &copied
}

// WarmthUnder is Warmth under a sky of one's own, such as a weather file's.
func WarmthUnder(s *site.Site, k *Sky) (*warmth.Building, *warmth.Year, error) {
	s = dated(s)
	in, err := newIndoors(s, k) // of its own: the sky's may hold more than a year
	if err == nil {
		err = in.fill(k, s.Opening.Date.Plus(364))
	}
	if err != nil {
		return nil, nil, fmt.Errorf("season: %w", err)
	}
	if in.building == nil {
		return nil, nil, ErrNoSkin
	}
	y, err := in.book.Year()
	if err != nil {
		return nil, nil, fmt.Errorf("season: %w", err)
	}
	return in.building, y, nil
}

// ErrNoSkin says that a site describes no surface of any zone.
var ErrNoSkin = errors.New("the site describes no surface of a zone, so its warmth cannot be worked out: give `surfaces` with their area and u")
