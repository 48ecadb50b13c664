package season_test

import (
	"testing"

	"tidebed/season"
	"tidebed/site"
)

// A cut that is due in the week before a table waits for it; what is taken in all does
// not fall by more than the days that are waited.
func TestCutsWaitForTheTable(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	sky, err := season.NewSky(s)
	if err != nil {
		t.Fatal(err)
	}
	grow := func(holding ...site.Date) season.PlantingCourse {
		b, err := season.NewBench(s, season.Options{To: s.Opening.Date.Plus(365), Sky: sky, Holding: holding})
		if err != nil {
			t.Fatal(err)
		}
		p, err := b.Grow(site.Planting{Crop: "kale", Bed: "north 1", AreaM2: 1, Planted: s.Opening.Date.Plus(70)})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	free := grow()
	if len(free.Picks) < 4 {
		t.Fatalf("%d cuts", len(free.Picks))
	}
	for back := 1; back <= 7; back++ {
		table := free.Picks[2].Day.Plus(back)
		held := grow(table)
		if held.Picks[2].Day != table || held.Picks[1].Day != free.Picks[1].Day {
			t.Errorf("a table %d days after a cut of %s: cut on %s", back, free.Picks[2].Day, held.Picks[2].Day)
		}
		if held.HarvestKg < free.HarvestKg*0.85 {
			t.Errorf("waiting %d days leaves %.2f of %.2f kg", back, held.HarvestKg, free.HarvestKg)
		}
	}
	// A day or two early it is cut for the table too; too young it stays.
	for early := 1; early <= 2; early++ {
		table := free.Picks[2].Day.Plus(-early)
		held := grow(table)
		if held.Picks[2].Day != table || held.Picks[2].Kg >= free.Picks[2].Kg*1.001 || held.Picks[2].Kg < 0.6*free.Picks[2].Kg {
			t.Errorf("a table %d days before a cut: cut on %s, %.2f kg of %.2f", early, held.Picks[2].Day, held.Picks[2].Kg, free.Picks[2].Kg)
		}
	}
	// Tables a few days apart do not starve one another: each is cut for.
	for _, apart := range []int{3, 5, 7} {
		var tables []site.Date
		for day := 0; day < 360; day += apart {
			tables = append(tables, s.Opening.Date.Plus(day))
		}
		often := grow(tables...)
		if often.HarvestKg < 0.6*free.HarvestKg || len(often.Picks) < len(free.Picks)-2 {
			t.Errorf("tables %d days apart: %d cuts, %.2f of %.2f kg", apart, len(often.Picks), often.HarvestKg, free.HarvestKg)
		}
	}
	if young := grow(free.Picks[1].Day.Plus(2)); young.Picks[1].Day != free.Picks[1].Day.Plus(2) || young.Picks[2].Day == free.Picks[1].Day.Plus(2) {
		t.Errorf("a table two days after a cut: %s, %s", young.Picks[1].Day, young.Picks[2].Day)
	}
	if far := grow(free.Picks[2].Day.Plus(8)); far.Picks[2].Day != free.Picks[2].Day {
		t.Errorf("a table 8 days later holds the cut back to %s", far.Picks[2].Day)
	}
}
