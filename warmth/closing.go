package warmth

import (
	"fmt"
	"slices"
	"time"

	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/site"
	"tidebed/words"
)

// lostByClosing says what a zone that is closed for the winter, or a loop whose water
// is left unheated, takes from fish, beds and table in a run of days, as far as the
// site file tells, and the site without the fish and plantings that do not live through
// it; nil for any other measure. Those fish are gone from the opening on: new ones after
// the winter are not reckoned with.
func lostByClosing(s *site.Site, v *Variant, from, to site.Date) (lost []string, without *site.Site) {
	if v.Key != VariantCloseZone && v.Key != VariantCloseLoop {
		return nil, nil
	}
	rest := *s
	rest.Opening.Cohorts, rest.Opening.Plantings = nil, nil
	zone := v.Key == VariantCloseZone
	cold := func(d site.Date) bool { return winter(int(d.Month()), s.Place.LatitudeDeg) }
	meets := func(a, b site.Date) bool { // days that are closed lie between, both included
		if a.Before(from.Time) {
			a = from
		}
		if b.After(to.Time) {
			b = to
		}
		for ; !a.After(b.Time); a = a.Plus(1) {
			if cold(a) {
				return true
			}
		}
		return false
	}
	name := func(d site.Date) string { return d.Format("2 January 2006") }
	var tanks, beds, leave, stay, crops, fed, racks []string
	areaM2 := 0.0
	for i := range s.Loops {
		l := &s.Loops[i]
		for j := range l.Tanks {
			if zone && tankZone(l, j) == v.Part || !zone && l.Name == v.Part {
				tanks = append(tanks, l.Tanks[j].Name)
			}
		}
		for j := range l.Beds {
			if b := &l.Beds[j]; zone && b.Zone == v.Part || !zone && l.Name == v.Part {
				beds = append(beds, b.Name)
				areaM2 += b.GrowingM2()
			}
		}
	}
	for i := range s.Opening.Cohorts {
		c := &s.Opening.Cohorts[i]
		f, err := fish.Lookup(c.Species)
		if err != nil || !slices.Contains(tanks, c.Tank) {
			rest.Opening.Cohorts = append(rest.Opening.Cohorts, *c)
			continue
		}
		text := fmt.Sprintf("%d %s (%s)", c.Count, f.Name, c.Tank)
		if f.LethalLowC > frostGuardC {
			leave = append(leave, text)
		} else {
			stay = append(stay, text)
			rest.Opening.Cohorts = append(rest.Opening.Cohorts, *c)
		}
	}
	for i := range s.Opening.Plantings {
		p := &s.Opening.Plantings[i]
		end := p.Pull
		if end.IsZero() { // how long it stands is not written down: the crop table's days, or at least the opening
			end = p.Planted
			if c, err := crop.Lookup(p.Crop); err == nil {
				end = p.Planted.Plus(c.BedDays)
			}
			if end.Before(from.Time) {
				end = from
			}
		}
		if slices.Contains(beds, p.Bed) && meets(p.Planted, end) {
			crops = append(crops, fmt.Sprintf("%s in %s, planted %s", cropName(p.Crop), p.Bed, name(p.Planted)))
			continue
		}
		rest.Opening.Plantings = append(rest.Opening.Plantings, *p)
	}
	for i := range s.Racks {
		if r := &s.Racks[i]; zone && r.Zone == v.Part {
			racks = append(racks, fmt.Sprintf("%s (%s)", r.Name, words.Count(r.Trays, "tray", "trays")))
		}
	}
	for i := range s.HomeFed {
		if d := &s.HomeFed[i]; meets(d.From, d.To) {
			fed = append(fed, fmt.Sprintf("%s, from %s to %s", d.Name, name(d.From), name(d.To)))
		}
	}
	first, last := time.November, time.March
	if s.Place.LatitudeDeg < 0 {
		first, last = time.May, time.September
	}
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(leave) > 0 {
		add("Fish that do not live through it: %s at the opening. Eat, sell or move them before %s; stock again after %s, once the water is ripe again: see Start-up.", words.List(leave), first, last)
	}
	if len(stay) > 0 {
		add("Fish that can stay but hardly eat or grow: %s.", words.List(stay))
	}
	if len(beds) > 0 {
		still := "stand still"
		if !zone {
			still = "have cold water"
		}
		add("Beds that %s from %s to %s: %s, %.0f m² of growing area.", still, first, last, words.List(beds), areaM2)
	}
	if len(racks) > 0 {
		add("Racks that stand empty: %s.", words.List(racks))
	}
	if len(crops) > 0 {
		add("Of the plantings in the site file these fall into it: %s.", join(crops))
	} else if len(beds) > 0 {
		add("No planting in the site file falls into it; what you would sow there besides is not known.")
	}
	if len(fed) > 0 {
		add("Home-fed days in these months: %s.", join(fed))
	} else if len(s.HomeFed) > 0 {
		add("No home-fed days lie in these months; later ones can miss what would have been put by.")
	}
	return out, &rest
}

// Without is the site without the fish and plantings that do not live through a closing;
// nil for a measure that closes nothing.
func (v *Variant) Without() *site.Site { return v.without }

// cropName is a crop in plain words.
func cropName(key string) string {
	c, err := crop.Lookup(key)
	if err != nil {
		return key
	}
	return c.Name
}

// join lists what has commas of its own.
func join(list []string) string {
	text := ""
	for i, x := range list {
		if i > 0 {
			text += "; "
		}
		text += x
	}
	return text
}
