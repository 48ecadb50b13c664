package season_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"tidebed/season"
	"tidebed/site"
)

func demo(t testing.TB) *site.Site {
	t.Helper()
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// one is a building with one bed, one tank and bright, even weather, small
// enough to be followed by hand.
func one() *site.Site {
	s := &site.Site{
		Schema: 1, Name: "One",
		Place: site.Place{LatitudeDeg: 40, LongitudeDeg: 0},
		Zones: []site.Zone{{Name: "hall", FloorM2: 40, HeightM: 3, DayC: 20, NightC: 20, Light: 0.6}},
		Loops: []site.Loop{{
			Name: "loop", SumpM3: 1,
			Tanks: []site.Tank{{Name: "tank", VolumeM3: 2, WaterC: 27}},
			Beds: []site.Bed{
				{Name: "bed", Kind: "raft", Zone: "hall", AreaM2: 10, DepthM: 0.3},
				{Name: "stones", Kind: "media", Zone: "hall", AreaM2: 4, DepthM: 0.3},
			},
			Aerators: []site.Aerator{{Name: "air", Tank: "tank", SOTRKgS: 0.1 / 3600}},
		}},
		Opening: site.Opening{
			Date:      site.On(2027, time.April, 1),
			Cohorts:   []site.Cohort{{Name: "tilapia", Species: "tilapia_nile", Tank: "tank", Count: 100, WeightKg: 0.05}},
			Plantings: []site.Planting{{Crop: "lettuce_butterhead", Bed: "bed", AreaM2: 4, Planted: site.On(2027, time.May, 1)}},
			Water:     []site.OpeningWater{{Loop: "loop", NitrateNGm3: 40, Ripe: true}},
		},
	}
	for m := 1; m <= 12; m++ {
		s.Place.Normals = append(s.Place.Normals, site.MonthNormals{Month: m, MaxC: 15, MinC: 8, Humidity: 0.7, RadiationMJm2: 10})
	}
	return s
}

func run(t testing.TB, s *site.Site, o season.Options) *season.Forecast {
	t.Helper()
	f, err := season.Run(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// By hand: 10 MJ/m² × 0.6 × 2.06 = 12.36 mol/m²/d; Cm = D/(1 + D/68) = 10.46
// against 13.60 at the table's 17 mol; lettuce at 20 °C grows in full: ripe
// after 28 × 13.60/10.46 = 36.4 days, with 3.75 kg/m² typical.
func TestOneBedByHand(t *testing.T) {
	f := run(t, one(), season.Options{Course: season.Typical})
	p := f.Plantings[0]
	days := p.Planted.DaysTo(p.First)
	if days < 35 || days > 38 {
		t.Errorf("ripe after %d days, want 36 to 37", days)
	}
	if got := p.HarvestKg / 4; !(math.Abs(got-3.75) < 0.08) {
		t.Errorf("%.3f kg/m², want 3.75", got)
	}
	for _, m := range f.Light {
		if d := math.Abs(m.Beds[0].Mol - 10*0.6*2.06); !(d < 0.3) {
			t.Errorf("%s: %.2f mol/m²/d in the bed, want 12.36", m.Month, m.Beds[0].Mol)
		}
	}
	// Tilapia of 50 g at 27 °C after 84 days: 197.6 g (growth law of package fish).
	c := f.Cohorts[0]
	if got := c.Days[83].WeightG; !(math.Abs(got-197.6) < 0.5) {
		t.Errorf("%.1f g after 84 days, want 197.6", got)
	}
	// Losses: 100 × e^(-0.0003 × 84).
	if got := c.Days[83].Number; !(math.Abs(got-97.51) < 0.01) {
		t.Errorf("%.2f fish after 84 days, want 97.51", got)
	}
}

// Every ledger of both samples closes, in all courses.
func TestLedgersClose(t *testing.T) {
	for _, name := range site.Samples() {
		s, _, err := site.Sample(name)
		if err != nil {
			t.Fatal(err)
		}
		all, err := season.All(s, season.Options{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, f := range all {
			for _, l := range f.Loops {
				for what, led := range map[string]season.Ledger{"N": l.Nitrogen, "P": l.Phosphorus, "K": l.Potassium, "water": l.WaterM3, "fish": l.FishKg, "plants": l.PlantKg} {
					if math.Abs(led.Left) > 1e-6 {
						t.Errorf("%s %s %s: %s leaves %g", name, f.Yield, l.Name, what, led.Left)
					}
				}
				if l.Nitrogen.In[0].Amount <= 0 || l.PlantKg.In[0].Amount <= 0 {
					t.Errorf("%s %s: nothing was fed or grew: the ledgers prove nothing", name, l.Name)
				}
			}
		}
	}
}

// Half the light and no harvest is earlier or heavier.
func TestHalfTheLight(t *testing.T) {
	s := demo(t)
	full := run(t, s, season.Options{})
	for i := range s.Place.Normals {
		s.Place.Normals[i].RadiationMJm2 /= 2
	}
	half := run(t, s, season.Options{})
	for i, p := range half.Plantings {
		q := full.Plantings[i]
		if p.HarvestKg > q.HarvestKg*1.001 {
			t.Errorf("%s: %.3f kg in half the light, %.3f in full", p.Name, p.HarvestKg, q.HarvestKg)
		}
		if !p.First.IsZero() && (q.First.IsZero() || p.First.Before(q.First.Time)) {
			t.Errorf("%s: first harvest %s in half the light, %s in full", p.Name, p.First, q.First)
		}
	}
}

// Two degrees warmer inside the optimum's reach and nothing is later.
func TestTwoDegreesWarmer(t *testing.T) {
	s := one()
	s.Zones[0].DayC, s.Zones[0].NightC = 14, 12
	cool := run(t, s, season.Options{})
	s.Zones[0].DayC, s.Zones[0].NightC = 16, 14
	warm := run(t, s, season.Options{})
	if !warm.Plantings[0].First.Before(cool.Plantings[0].First.Time) {
		t.Errorf("first harvest %s two degrees warmer, %s before", warm.Plantings[0].First, cool.Plantings[0].First)
	}
}

// No warmth to feed at: fish lose weight. No light: nothing grows.
func TestHungerAndShade(t *testing.T) {
	s := one()
	s.Loops[0].Tanks[0].WaterC = 14 // tilapia feed from 17 °C
	s.Zones[0].Light = 0.0001
	f := run(t, s, season.Options{})
	days := f.Cohorts[0].Days
	if last := days[len(days)-1]; last.WeightG >= 50 || f.Cohorts[0].FeedG != 0 {
		t.Errorf("unfed fish of 50 g weigh %.1f g and ate %.0f g", last.WeightG, f.Cohorts[0].FeedG)
	}
	if p := f.Plantings[0]; p.HarvestKg != 0 || p.Why == "" {
		t.Errorf("in the dark %.3f kg, %q", p.HarvestKg, p.Why)
	}
}

// Fish taken are gone, and the ledger knows where.
func TestTakes(t *testing.T) {
	s := one()
	day := s.Opening.Date.Plus(100)
	f := run(t, s, season.Options{Takes: []season.Take{{Cohort: 0, Day: day, Number: 40}}})
	before, after := f.Cohorts[0].Days[99].Number, f.Cohorts[0].Days[100].Number
	if d := before - after; d < 40 || d > 40.1 {
		t.Errorf("%.2f fish fewer, want 40 and the day's losses", d)
	}
	for _, e := range f.Loops[0].FishKg.Out {
		if e.Name == "taken" && !(e.Amount > 5) {
			t.Errorf("%.2f kg taken", e.Amount)
		}
	}
}

// The southern hemisphere's summer is in January.
func TestSouthernSummer(t *testing.T) {
	s := one()
	s.Place.LatitudeDeg, s.Place.Normals, s.Place.Climate = -33.4, nil, "Santiago de Chile"
	f := run(t, s, season.Options{})
	var january, july float64
	for _, m := range f.Light {
		switch m.Month.Month() {
		case time.January:
			january = m.Beds[0].Mol
		case time.July:
			july = m.Beds[0].Mol
		}
	}
	if !(january > 2*july) {
		t.Errorf("%.1f mol in January, %.1f in July at 33° south", january, july)
	}
}

// Nitrate in a leafy bed stands still at 10 to 40 g of feed per m² and day, by
// mass balance: uptake of leafy crops over the feed's nitrogen that reaches
// them (FAO 589 and the raft ratios give 40 to 100, at which nitrogen piles up).
func TestStandstillFeed(t *testing.T) {
	s := one()
	s.Loops[0].Beds[0].Kind, s.Zones[0].Light = "media", 0.8 // 16.5 mol/m²/d
	s.Opening.Plantings = nil
	for d := 0; d < 330; d += 34 { // one crop after another
		s.Opening.Plantings = append(s.Opening.Plantings, site.Planting{
			Crop: "lettuce_butterhead", Bed: "bed", AreaM2: 10, Planted: s.Opening.Date.Plus(d),
		})
	}
	l := run(t, s, season.Options{Course: season.Typical}).Loops[0]
	if !(l.StandstillGM2Day >= 10 && l.StandstillGM2Day <= 40) {
		t.Errorf("nitrogen stands still at %.1f g feed/m²/d, want 10 to 40", l.StandstillGM2Day)
	}
}

func TestRefuses(t *testing.T) {
	for name, row := range map[string]struct {
		change func(*site.Site)
		want   string
	}{
		"no weather":    {func(s *site.Site) { s.Place.Normals = nil }, "no weather"},
		"unknown place": {func(s *site.Site) { s.Place.Normals, s.Place.Climate = nil, "Atlantis" }, "Atlantis"},
		"unknown crop":  {func(s *site.Site) { s.Opening.Plantings[0].Crop = "lettice" }, "lettice"},
		"unknown bed":   {func(s *site.Site) { s.Opening.Plantings[0].Bed = "nowhere" }, "nowhere"},
		"ancient":       {func(s *site.Site) { s.Opening.Plantings[0].Planted = site.On(2020, time.May, 1) }, "before the opening"},
	} {
		s := one()
		row.change(s)
		if _, err := season.Run(s, season.Options{}); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s: %v, want %q", name, err, row.want)
		}
	}
	if _, err := season.Run(one(), season.Options{To: site.On(2040, time.May, 1)}); err == nil {
		t.Error("thirteen years are not refused")
	}
}

// Same input, same result.
func TestSameTwice(t *testing.T) {
	a, b := run(t, demo(t), season.Options{}), run(t, demo(t), season.Options{})
	for i := range a.Plantings {
		if a.Plantings[i].HarvestKg != b.Plantings[i].HarvestKg || a.Plantings[i].First != b.Plantings[i].First {
			t.Errorf("%s: %g and %g kg", a.Plantings[i].Name, a.Plantings[i].HarvestKg, b.Plantings[i].HarvestKg)
		}
	}
}

// BenchmarkYear is one year of the demo building, three courses, one core.
func BenchmarkYear(b *testing.B) {
	s := demo(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := season.All(s, season.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// 100 fish of 50 g eat their 3 kg of feed up within weeks, and the order is
// due before that.
func TestFeedRunsOut(t *testing.T) {
	s := one()
	s.Feeds = []site.Feed{{Name: "pellet", Protein: 0.32, StockKg: 3}}
	s.Opening.Cohorts[0].Feed = "pellet"
	f := run(t, s, season.Options{Course: season.Typical})
	feed := f.Feeds[0]
	var used float64
	for _, d := range f.Cohorts[0].Days {
		used += d.FeedG / 1000
		if used > 3 {
			if feed.RunsOut != d.Day {
				t.Errorf("runs out on %s, want %s", feed.RunsOut, d.Day)
			}
			break
		}
	}
	if feed.OrderBy.DaysTo(feed.RunsOut) != 14 || !strings.Contains(feed.Sentence, "order by") {
		t.Errorf("order by %s for %s: %s", feed.OrderBy, feed.RunsOut, feed.Sentence)
	}
	if !(math.Abs(feed.UsedKg-f.Cohorts[0].FeedG/1000) < 1e-9) {
		t.Errorf("feed account %.3f kg, cohort %.3f kg", feed.UsedKg, f.Cohorts[0].FeedG/1000)
	}
}

// What stands at the opening is not harvested before it, and what the tables
// say is over is doubted.
func TestStandingAtTheOpening(t *testing.T) {
	s := one()
	s.Opening.Plantings[0].Planted = s.Opening.Date.Plus(-34) // ripe at about 36 days
	p := run(t, s, season.Options{Course: season.Typical}).Plantings[0]
	if p.First.Before(s.Opening.Date.Time) || p.HarvestKg < 14 {
		t.Errorf("first harvest %s, %.1f kg", p.First, p.HarvestKg)
	}
	s.Opening.Plantings[0].Planted = s.Opening.Date.Plus(-90)
	p = run(t, s, season.Options{Course: season.Typical}).Plantings[0]
	if p.HarvestKg != 0 || len(p.Warnings) == 0 || !strings.Contains(p.Warnings[0], "before the opening") {
		t.Errorf("lettuce of 90 days: %.1f kg, %v", p.HarvestKg, p.Warnings)
	}
}

// Frost kills what cannot bear it, on the day, with the reason.
func TestFrostKills(t *testing.T) {
	s := one()
	s.Opening.Plantings = []site.Planting{{Crop: "tomato", Bed: "bed", AreaM2: 2, Planted: s.Opening.Date.Plus(30)}}
	for i := range s.Place.Normals {
		s.Place.Normals[i].MaxC, s.Place.Normals[i].MinC, s.Place.Normals[i].Humidity = -2, -8, 0.8
	}
	s.Zones[0].DayC, s.Zones[0].NightC = 15, -5
	p := run(t, s, season.Options{}).Plantings[0]
	if p.HarvestKg != 0 || !strings.Contains(p.Why, "killed") {
		t.Errorf("tomatoes at -5 °C: %.1f kg, %q", p.HarvestKg, p.Why)
	}
}

// Lamps make day: while they burn the zone has the day's warmth. 125 µmol the
// clock round are 10.8 mol, Cm 9.32: 28 × 13.60/9.32 = 41 days at full warmth,
// and nearly twice as many where only the sun made day.
func TestLampsMakeDay(t *testing.T) {
	s := one()
	s.Zones[0].DayC, s.Zones[0].NightC, s.Zones[0].Light = 20, 4, 0.0001
	s.Lamps = []site.Lamp{{Name: "lamp", Over: "bed", AreaM2: 10, PhotonUmolM2s: 125, HoursDay: 24}}
	p := run(t, s, season.Options{Course: season.Typical}).Plantings[0]
	if days := p.Planted.DaysTo(p.First); p.First.IsZero() || days < 39 || days > 44 {
		t.Errorf("lit lettuce after %d days, want about 41", days)
	}
}

// The air inside is never colder than outside: a hall set to 3 °C under a sky
// of 18 to 22 °C grows lettuce as 20 °C does.
func TestNotColderThanOutside(t *testing.T) {
	s := one()
	for i := range s.Place.Normals {
		s.Place.Normals[i].MaxC, s.Place.Normals[i].MinC = 22, 18
	}
	warm := run(t, s, season.Options{Course: season.Typical}).Plantings[0]
	s.Zones[0].DayC, s.Zones[0].NightC = 3, 3
	cold := run(t, s, season.Options{Course: season.Typical}).Plantings[0]
	if d := warm.First.DaysTo(cold.First); warm.First.IsZero() || cold.First.IsZero() || d < -1 || d > 1 {
		t.Errorf("first harvest %s at 3 °C set, %s at 20 °C set, under a sky of 20 °C", cold.First, warm.First)
	}
}

// A crop that ripened just before the opening stands ripe on its first day.
func TestRipeAtTheOpening(t *testing.T) {
	s := one()
	s.Opening.Plantings[0].Planted = s.Opening.Date.Plus(-39) // ripe on about its 37th day, keeps 5
	p := run(t, s, season.Options{Course: season.Typical}).Plantings[0]
	if len(p.Picks) != 1 || p.Picks[0].Day != s.Opening.Date || p.HarvestKg < 14 {
		t.Errorf("%+v, %.1f kg, %s", p.Picks, p.HarvestKg, p.Why)
	}
}

// Wild takes are refused.
func TestTakesAreChecked(t *testing.T) {
	s := one()
	for _, take := range []season.Take{
		{Cohort: 0, Day: s.Opening.Date, Number: -1}, {Cohort: 7, Day: s.Opening.Date, Number: 1},
		{Cohort: 0, Day: s.Opening.Date.Plus(-3), Number: 1}, {Cohort: 0, Day: s.Opening.Date, Number: 1e6},
	} {
		if _, err := season.Run(s, season.Options{Takes: []season.Take{take}}); err == nil {
			t.Errorf("%+v is not refused", take)
		}
	}
}

// A bed that plantings overfill is named, by the season's own days.
func TestCrowdedBed(t *testing.T) {
	s := one()
	s.Opening.Plantings = append(s.Opening.Plantings, site.Planting{Crop: "kale", Bed: "bed", AreaM2: 9, Planted: s.Opening.Plantings[0].Planted.Plus(5)})
	f := run(t, s, season.Options{})
	if !strings.Contains(strings.Join(f.Warnings, " "), "finds no room") {
		t.Errorf("13 m² on 10: %v", f.Warnings)
	}
}

// Each row of a planting's table can be followed by hand: grown = closed stand
// × covered in the morning × warmth × nitrogen, a little more as the cover
// closes within the day.
func TestRowsCanBeFollowed(t *testing.T) {
	p := run(t, one(), season.Options{Course: season.Typical}).Plantings[0]
	rows := 0
	for _, st := range p.Steps {
		if st.Note != "" {
			continue
		}
		rows++
		hand := st.Closed * st.Cover * st.Temp * st.Root
		if ratio := st.GrownGM2 / hand; !(ratio >= 1-1e-9 && ratio < 1.35) {
			t.Errorf("%s: %.3f g/m² grown, by hand %.3f", st.Day, st.GrownGM2, hand)
		}
	}
	if rows < 3 {
		t.Errorf("only %d rows", rows)
	}
}
