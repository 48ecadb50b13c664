package watertest

import (
	"fmt"
	"strings"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/science/air"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
	"tidebed/words"
)

// Tank is what the site knows of a tank whose water is tested.
type Tank struct {
	Name     string
	Loop     string
	VolumeM3 float64 // of the tank alone
	WaterM3  float64 // that shares its water: the loop's, or the tank's if it stands apart
	Alone    bool    // quarantine and purge tanks are dosed by themselves
	Crops    bool    // beds drink from this water
	Fish     string  // what lives in it, for people; empty: nothing is written down
	Group    string  // of the most sensitive species in it; empty: unknown
	Species  []string
	WaterC   water.Figure      // at which it is held
	AirKPa   float64           // of the place
	Source   *site.SourceWater // that the loop is topped up with; nil: not written down
	System   quantity.System
}

// TankNames returns the tanks of a site in its order.
func TankNames(s *site.Site) (out []string) {
	for _, l := range s.Loops {
		for _, t := range l.Tanks {
			out = append(out, t.Name)
		}
	}
	return out
}

// TankOf returns a tank of the site by its name. An unknown name is an
// *InputError of the field tank.
func TankOf(s *site.Site, name string) (*Tank, error) {
	for i := range s.Loops {
		for _, t := range s.Loops[i].Tanks {
			if strings.EqualFold(t.Name, strings.TrimSpace(name)) {
				return tankOf(s, &s.Loops[i], t)
			}
		}
	}
	if len(TankNames(s)) == 0 {
		return nil, &InputError{TankField, "the site has no tank; leave it out and give the group of the fish and the volume"}
	}
	return nil, &InputError{TankField, fmt.Sprintf("the site has no tank %q; it has %s", clip(name), strings.Join(TankNames(s), ", "))}
}

func tankOf(s *site.Site, l *site.Loop, in site.Tank) (*Tank, error) {
	t := &Tank{Name: in.Name, Loop: l.Name, VolumeM3: in.VolumeM3, Alone: in.Role == "quarantine" || in.Role == "purge", Crops: len(l.Beds) > 0}
	if s.Units == "us-customary" {
		t.System = quantity.USCustomary
	}
	kPa, err := air.PressureKPa(s.Place.ElevationM)
	if err != nil {
		return nil, fmt.Errorf("water test: %w", err)
	}
	t.AirKPa = kPa
	c, err := plumbing.Of(l)
	if err != nil {
		return nil, fmt.Errorf("water test: %w", err)
	}
	for i := range c.Layout.Cells {
		if tank := c.Places[i].Tank; tank == nil || tank.Name == in.Name || tank.Role != "quarantine" && tank.Role != "purge" {
			t.WaterM3 += c.Layout.Cells[i].VolumeM3
		}
	}
	if t.Alone {
		t.WaterM3, t.Crops = in.VolumeM3, false
	}
	if in.WaterC != 0 {
		t.WaterC = water.Known(in.WaterC)
	}
	for i := range s.Waters {
		if s.Waters[i].Name == l.Water {
			t.Source = &s.Waters[i]
		}
	}
	t.fill(s.Opening.Cohorts)
	return t, nil
}

// fill takes the species of the cohorts in the tank and the strictest group.
func (t *Tank) fill(cohorts []site.Cohort) {
	var called []string
	strictest := len(Groups())
	for _, c := range cohorts {
		if c.Tank != t.Name || strings.Contains("|"+strings.Join(t.Species, "|")+"|", "|"+c.Species+"|") {
			continue
		}
		g, err := water.GroupOf(c.Species)
		if err != nil {
			continue // its limits are not known: the group is asked for
		}
		t.Species = append(t.Species, c.Species)
		called = append(called, speciesWords(c.Species))
		for i, word := range choiceWords(Groups()) { // cold is the strictest
			if word == string(g) && i < strictest {
				strictest, t.Group = i, word
			}
		}
	}
	t.Fish = strings.Join(called, " and ")
}

// speciesWords is a species as it stands within a sentence.
func speciesWords(id string) string {
	s, err := fish.Lookup(id)
	if err != nil {
		return strings.ReplaceAll(id, "_", " ")
	}
	for _, proper := range []string{"Nile", "African", "European", "Arctic"} {
		if strings.HasPrefix(s.Name, proper) {
			return s.Name
		}
	}
	return words.Lower(s.Name)
}
