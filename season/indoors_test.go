package season_test

import (
	"math"
	"testing"

	"tidebed/climate"
	"tidebed/season"
	"tidebed/site"
)

// The site's own light wins; without it the crops stand in what the glazing lets
// through, and nothing grows in the dark of a building without any.
func TestLightOfTheBuilding(t *testing.T) {
	own := demo(t)
	by := func(change func(*site.Site)) (mol, kg float64) {
		s := demo(t)
		change(s)
		f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(150)})
		for _, m := range f.Light {
			mol += m.Beds[0].Mol / m.OutMJm2 / 2.06 / float64(len(f.Light))
		}
		for _, p := range f.Plantings {
			kg += p.HarvestKg
		}
		return mol, kg
	}
	share, kg := by(func(*site.Site) {})
	if want := own.Zones[0].Light; math.Abs(share-want) > 0.001 {
		t.Errorf("light of %.3f by the file, %.3f in the bed", want, share)
	}
	glazed, more := by(func(s *site.Site) { s.Zones[0].Light = 0 })
	t.Logf("by the file %.3f, by the glazing %.3f; %.1f and %.1f kg", share, glazed, kg, more)
	if !(glazed > 0.6 && glazed < 0.75 && more > kg) {
		t.Errorf("by the glazing %.3f of the light and %.1f kg, by the file %.3f and %.1f", glazed, more, share, kg)
	}
	if none, _ := by(func(s *site.Site) {
		s.Zones[0].Light = 0
		for i := range s.Surfaces {
			if s.Surfaces[i].Zone == s.Zones[0].Name {
				s.Surfaces[i].Cover = ""
			}
		}
	}); none > 0.001 {
		t.Errorf("without glazing %.3f of the light", none)
	}
}

// Plants feel the building's damp: in air that a dehumidifier keeps dry they give off
// more, and what it catches comes back to the loop it is led into.
func TestDampOfTheBuilding(t *testing.T) {
	water := func(d *site.Dehumidifier) (plants, caught float64) {
		s := demo(t)
		for i := range s.Zones {
			s.Zones[i].Dehumidifier = d
		}
		f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(120)})
		for _, l := range f.Loops {
			plants += l.Leaves.PlantingsM3
			for _, e := range l.WaterM3.In {
				if e.Name == "caught by dehumidifiers" {
					caught += e.Amount
				}
			}
			if l.WaterM3.Left > 1e-9 {
				t.Errorf("%s: %g m³ of water unexplained", l.Name, l.WaterM3.Left)
			}
		}
		return plants, caught
	}
	damp, none := water(nil)
	dry, caught := water(&site.Dehumidifier{CatchKgS: 200. / 86400, PowerW: 2000, Above: 0.4, WaterTo: demo(t).Loops[0].Name})
	t.Logf("plants give off %.3f m³, in dry air %.3f; caught %.2f m³", damp, dry, caught)
	if !(dry > 1.15*damp) || none != 0 || !(caught > 0.5) {
		t.Errorf("%.3f and %.3f m³, caught %.2f and %.2f", damp, dry, none, caught)
	}
}

// The loops' plants and the building's air have one rate for a m² of full leaf and one
// model of the leaves: while the same leaves stand, what leaves the loop and what the
// air gets are one within a twentieth, for the loops' nitrogen and the course's light
// alone differ. Later the plantings end, and the building keeps beds planted: that is
// told, and the air then gets more.
func TestLeafWaterIsOne(t *testing.T) {
	s := demo(t)
	s.Opening.Plantings = nil
	for i := range s.Loops {
		for _, b := range s.Loops[i].Beds {
			if b.Kind == "media" || b.Kind == "raft" {
				s.Opening.Plantings = append(s.Opening.Plantings, site.Planting{Crop: "chard", Bed: b.Name, AreaM2: b.GrowingM2() / 2, Planted: s.Opening.Date.Plus(-60)})
			}
		}
	}
	f := run(t, s, season.Options{Course: season.Typical, To: s.Opening.Date.Plus(45)})
	for _, l := range f.Loops {
		t.Logf("%s: plantings %.4f m³, the building's leaves %.4f", l.Name, l.Leaves.PlantingsM3, l.Leaves.BuildingM3)
		if d := math.Abs(l.Leaves.PlantingsM3 - l.Leaves.BuildingM3); !(d <= 0.05*l.Leaves.BuildingM3) || l.Leaves.BuildingM3 <= 0 {
			t.Errorf("%s: plantings %.4f m³, the building's leaves %.4f", l.Name, l.Leaves.PlantingsM3, l.Leaves.BuildingM3)
		}
	}
	f = run(t, demo(t), season.Options{Course: season.Typical})
	for _, l := range f.Loops {
		t.Logf("year of %s: plantings %.2f m³, the building's leaves %.2f", l.Name, l.Leaves.PlantingsM3, l.Leaves.BuildingM3)
		if !(l.Leaves.BuildingM3 > l.Leaves.PlantingsM3) {
			t.Errorf("%s: beds are not kept planted", l.Name)
		}
	}
}

// A year of the demo building south of the equator and beyond the polar circle runs,
// closes and holds numbers.
func TestYearsElsewhere(t *testing.T) {
	for _, name := range []string{"Santiago de Chile", "Barrow (Utqiagvik) AK"} {
		p, err := climate.Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		s := demo(t)
		s.Place = site.Place{LatitudeDeg: p.LatitudeDeg, LongitudeDeg: p.LongitudeDeg, ElevationM: p.ElevationM, Climate: name}
		for i := range s.Zones {
			s.Zones[i].Light = 0
		}
		f := run(t, s, season.Options{Course: season.Typical})
		sum := 0.0
		for _, l := range f.Loops {
			for _, led := range []season.Ledger{l.Nitrogen, l.WaterM3, l.FishKg, l.PlantKg, l.OxygenG, l.CarbonMol} {
				sum += led.End + led.Left
			}
		}
		for _, pl := range f.Plantings {
			sum += pl.HarvestKg
		}
		if math.IsNaN(sum) || math.IsInf(sum, 0) {
			t.Errorf("%s: no number", name)
		}
		_, y, err := season.Warmth(s)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !(y.LeftShare <= 1e-6 && y.DampShare <= 1e-6 && y.HeatKWh > 0) {
			t.Errorf("%s: %g and %g left, %g kWh", name, y.LeftShare, y.DampShare, y.HeatKWh)
		}
		t.Logf("%s: %.0f kWh of heat", name, y.HeatKWh)
	}
}
