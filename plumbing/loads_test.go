package plumbing

import (
	"strings"
	"testing"

	"tidebed/site"
)

func loadsOf(t *testing.T, s *site.Site) map[string]Load {
	t.Helper()
	all, err := Loads(s)
	if err != nil {
		t.Fatal(err)
	}
	by := map[string]Load{}
	for _, l := range all {
		by[l.Name] = l
		plain(t, l.Sentence, l.Caution)
	}
	return by
}

// Source: plumbing sheet S9: gravel of 0.30 m (1600 kg/m³, 0.40 drains), flooded to
// 0.25 m: 579.8 kg/m², 5.69 kPa; expanded clay (500, 0.45): 262.3, 2.57; 0.90 m of
// water 898.2, 8.81.
func TestLoads(t *testing.T) {
	bed := func(name, media string, porosity float64) site.Bed {
		return site.Bed{Name: name, Kind: "media", AreaM2: 2, DepthM: 0.30, RimM: 0.25, Media: media, Porosity: porosity, FloorM: 0.5}
	}
	s := &site.Site{
		Loops: []site.Loop{{
			Name:  "l",
			Beds:  []site.Bed{bed("gravel", "river gravel 10-20 mm", 0.40), bed("clay", "expanded clay (LECA) 8-20 mm", 0.45), {Name: "raft", Kind: "raft", AreaM2: 1, DepthM: 0.3, RimM: 0.9}},
			Tanks: []site.Tank{{Name: "tank", VolumeM3: 0.8, DepthM: 0.8, LevelM: 1, RimM: 1.1}},
		}},
		Racks: []site.Rack{{Name: "strong", Trays: 10, TrayM2: 0.2, Shelves: 5, RatedKg: 20}, {Name: "weak", Trays: 11, TrayM2: 0.2, Shelves: 5, RatedKg: 15}},
	}
	by := loadsOf(t, s)
	about(t, "gravel", by["gravel"].KgM2, 579.8, 0.1)
	about(t, "gravel, kPa", by["gravel"].KPa, 5.69, 0.01)
	about(t, "gravel, in all", by["gravel"].TotalKg, 1159.6, 0.2)
	about(t, "gravel, each of four feet", by["gravel"].PerFootKg, 289.9, 0.1)
	about(t, "clay", by["clay"].KgM2, 262.3, 0.1)
	about(t, "raft", by["raft"].KgM2, 898.2, 0.3)
	about(t, "tank", by["tank"].KgM2, 898.2, 0.3)
	about(t, "tank, kPa", by["tank"].KPa, 8.81, 0.01)
	for _, name := range []string{"gravel", "clay", "raft", "tank"} {
		if l := by[name]; l.State != Watch || !strings.Contains(l.Caution, "structural engineer") || strings.Contains(strings.ToLower(l.Sentence), " ok") {
			t.Errorf("%s: %+v", name, l)
		}
	}
	// 2 trays × 0.2 m² × 30 kg/m² = 12 kg a shelf, within 20; 3 × 6 = 18, above 15.
	if l := by["strong"]; l.State != Good || !strings.Contains(l.Sentence, "12 kg on the fullest") || !strings.Contains(l.Caution, "Brace") {
		t.Errorf("%+v", l)
	}
	if l := by["weak"]; l.State != Act || !strings.Contains(l.Sentence, "2 trays a shelf") || !strings.Contains(l.Caution, "engineer") {
		t.Errorf("%+v", l)
	}

	s.Loops[0].Beds[1].RatedKg = 500 // it weighs 524.6
	if l := loadsOf(t, s)["clay"]; l.State != Act {
		t.Errorf("%+v", l)
	}
	s.Loops[0].Beds[1].RatedKg, s.Loops[0].Beds[1].ShellKg, s.Loops[0].Beds[1].FeetN = 1000, 40, 6
	l := loadsOf(t, s)["clay"]
	about(t, "clay with its container", l.TotalKg, 2*262.3+40, 0.2)
	about(t, "on six feet", l.PerFootKg, (2*262.3+40)/6, 0.1)
	if l.State != Watch || !strings.Contains(l.Sentence, "1.92 kPa") {
		t.Errorf("%+v", l)
	}
}

func TestLoadsOfTheDemoBuilding(t *testing.T) {
	all, err := Loads(sample(t))
	if err != nil {
		t.Fatal(err)
	}
	merged := HeaviestLoads(all)
	if len(merged) >= len(all) || len(merged) < 5 {
		t.Errorf("%d loads, %d merged", len(all), len(merged))
	}
	for i, l := range merged {
		plain(t, l.Sentence, l.Caution)
		if !(l.TotalKg > 0 && l.KgM2 > 0) || i > 0 && l.KPa > merged[i-1].KPa {
			t.Errorf("%+v", l)
		}
	}
}

// Media with a figure in the table of wet ones, others by bulk and held water, and
// what is not known on the safe side.
func TestWetBulk(t *testing.T) {
	for media, want := range map[string]float64{
		"expanded clay (LECA) 8-20 mm": 500, "pea gravel 6-10 mm": 1600, "crushed lava rock (scoria) 8-20 mm": 1000,
		"pumice 8-20 mm": 650 + 150, "perlite 3-6 mm": 130 + 350, "unheard of": 1600,
	} {
		about(t, media, wetBulkKgM3(media), want, 1e-9)
	}
	if metric.mass(12340) != "12.3 t" || metric.mass(579.8) != "580 kg" || metric.mass(2.34) != "2.3 kg" {
		t.Error(metric.mass(12340), metric.mass(579.8), metric.mass(2.34))
	}
	by := loadsOf(t, &site.Site{Loops: []site.Loop{{Name: "l", SumpM3: 0.4, SumpDepthM: 0.5, SumpLevelM: 0.5, SumpRimM: 0.6, Beds: []site.Bed{
		{Name: "tub", Kind: "tub", AreaM2: 1, DepthM: 0.45}, {Name: "tower", Kind: "tower", AreaM2: 4, FloorM: 0.3},
		{Name: "tiers", Kind: "raft", AreaM2: 1, DepthM: 0.2, RimM: 0.25, Tiers: 2, FloorM: 0.5}, {Name: "odd", Kind: "raft", DepthM: 0.2},
	}}}})
	about(t, "soaked soil", by["tub"].KgM2, 0.45*1800, 1e-9)
	about(t, "a tub stands flat", by["tub"].PerFootKg, 0, 0)
	about(t, "towers", by["tower"].TotalKg, 100, 1e-9)
	about(t, "two tiers", by["tiers"].KgM2, 2*0.25*998.2, 0.2)
	about(t, "sump", by["l, sump"].TotalKg, 0.4/0.5*0.6*998.2, 0.2)
	if l := by["odd"]; l.State != Watch || !strings.Contains(l.Sentence, "cannot be worked out") {
		t.Errorf("%+v", l)
	}
}
