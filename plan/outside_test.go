package plan

import (
	"math"
	"slices"
	"testing"
	"time"

	"tidebed/meals"
	"tidebed/science/crop"
	"tidebed/season"
	"tidebed/site"
)

// rafts is a building of raft beds alone, for lettuce: its leaves get lowMolM2 in the
// low course each day at tempC, and the household wants so many heads each week, a head
// being what 0.04 m² give at low yield.
func rafts(today site.Date, areaM2, lowMolM2, tempC, headsWeek float64) *site.Site {
	s := small()
	s.Opening.Date = today
	s.Zones[0].DayC, s.Zones[0].NightC = tempC, tempC
	half := areaM2 / 2
	s.Loops[0].Beds = []site.Bed{{Name: "raft 1", Kind: "raft", Zone: "hall", AreaM2: half}, {Name: "raft 2", Kind: "raft", Zone: "hall", AreaM2: half}}
	s.Opening.Water[0].NitrateNGm3 = 400
	even(s, lowMolM2/(0.9*0.9*2.06))
	s.HomeFed[0].From, s.HomeFed[0].To = today.Plus(210), today.Plus(211)
	s.Crops = []site.CropWish{{Crop: "lettuce_butterhead", KgWeek: headsWeek * 0.1}}
	return s
}

// A lettuce-only building takes the published area per head and week. FAO Fisheries and
// Aquaculture Technical Paper 589 (2014), appendix 1: 20 to 25 heads/m², 24 to 32 days
// after planting out, at 15 to 22 °C; with two days to clear and plant 0.149 to 0.243 m²
// for each head a week. Worked by StandingPlants for 20 heads a week at full light, 28 days
// and 0.04 m²: 85.7 plants, 3.43 m². Beds are booked by whole weeks here: 35 days for 30.
func TestLettuceOnly(t *testing.T) {
	const heads = 36
	today := site.On(2027, time.April, 5)
	s := rafts(today, 14.4, 17, 20, heads)
	p := made(t, s, today, Options{WishedOnly: true})
	const least, most = (24 + 2) / 7.0 / 25, (32 + 2) / 7.0 / 20
	m2Weeks, kg := 0.0, 0.0
	for i := range p.found.g.cands {
		c := &p.found.g.cands[i]
		area := p.found.n[i] * p.made.w.groups[c.group].ModuleM2
		for _, x := range p.Sowings {
			if x.ID[:len(x.ID)-10] == "lettuce_butterhead/"+x.Group+"/" && x.Plant == c.planted && c.group == 0 {
				for _, v := range x.Serves {
					if v.Use == "the household" {
						kg += v.Kg
						m2Weeks += area * float64(c.to-c.from+1)
					}
				}
			}
		}
	}
	per := m2Weeks / (kg / 0.1)
	plants, err := crop.StandingPlants(1, 28, 2)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%.0f heads in all, %.4f m² for each head a week (published %.3f to %.3f; standing plants × 0.04 m²: %.4f); greens reached %.3f", kg/0.1, per, least, most, plants*0.04, levelOf(p, "greens").Whole)
	if !(per >= least && per <= most) {
		t.Errorf("%.4f m² for each head a week, published %.4f to %.4f", per, least, most)
	}
	// What was wanted is there each week from the first that can be cut to the last.
	first := p.made.w.week(today.Plus(18 + 28 + 7))
	for k, w := range p.Weeks[first : len(p.Weeks)-1] {
		if w.GreensKg < 0.85*w.GreensWant {
			t.Errorf("week %d: %.2f kg of %.2f", first+k, w.GreensKg, w.GreensWant)
		}
	}
	if !p.Check.OK {
		t.Error(p.Check.Fault)
	}
}

// The published succession example: butterheads for 18 December 2025 at 16 °C, 10 mol/m²
// and day and 400 ppm take 28/(0.923 × 0.641) = 47.3, so 48 days: planted on 31 October,
// sown 18 days before. The candidates of such a building have the same day where the grid
// of weeks falls on it, and the last one in time is never a week earlier than that.
func TestSuccessionExample(t *testing.T) {
	harvest, plant := site.On(2025, time.December, 18), site.On(2025, time.October, 31)
	c := cropNamed(t, "lettuce_butterhead")
	light := c.ClosedStand(10) * c.TemperatureFactor(16)
	day, ok, err := c.PlantingDay(0, func(int) (float64, float64) { return light, 16 })
	if err != nil || !ok || harvest.Plus(day) != plant {
		t.Fatalf("planting day %d, %v, %v: want 48 days before", day, ok, err)
	}
	for shift := range 7 {
		today := plant.Plus(-35 - shift)
		s := rafts(today, 2.88, 10, 16, 0)
		s.HomeFed[0].From, s.HomeFed[0].To = harvest, harvest
		m, err := newMaker(t.Context(), s, today, Options{SafetyDays: -1, WishedOnly: true, Pool: testPool})
		if err != nil {
			t.Fatal(err)
		}
		var last site.Date
		for _, x := range m.offered {
			if !x.young && x.planted.After(last.Time) {
				last = x.planted
			}
		}
		late := last.DaysTo(plant)
		t.Logf("weeks from %s: planted %s, %d days before the example's", today, last, late)
		if late < -1 || late > 7 || shift == 0 && late != 0 {
			t.Errorf("weeks from %s: the last in time is planted on %s, the example's on %s", today, last, plant)
		}
	}
}

// How many m² feed one person for a year? One adult is fed for a week of every second month from
// beds that are never enough, so that bed area is what is short. The energy that the plan
// takes from a m² in a day of standing lies in the range of what the crops it uses give by
// the crop table at low yield and the food table as cooked (food_crops.csv: 130 to 300 m² a
// person at typical yields for the crops that feed; potato 9.0 kcal/m²/d at low yield peeled,
// 11 in its skin).
func TestFeedOnePerson(t *testing.T) {
	s := small()
	s.Opening.Date = site.On(2027, time.January, 4)
	s.Loops[0].Beds[0].AreaM2, s.Loops[0].Beds[1].AreaM2 = 10.8, 3.6
	s.Loops[0].Tanks[0].VolumeM3 = 30 // no fish are fed: the water's own store must last
	even(s, 13)
	s.People = s.People[:1]
	s.HomeFed = nil
	for m := 1; m <= 6; m++ {
		from := s.Opening.Date.Plus(120 + 60*m)
		s.HomeFed = append(s.HomeFed, site.HomeFedDays{Name: from.Format("January 2006"), From: from, To: from.Plus(6), Eaters: []string{"Ada"}})
	}
	wish(s, "potato", "bean_dry", "carrot", "cabbage", "beetroot", "kale", "onion", "sweet_potato")
	p := made(t, s, s.Opening.Date, Options{WishedOnly: true, Rounds: 1})
	kcal, m2Days, most := 0.0, 0.0, 0.0
	least := math.Inf(1)
	for i := range p.Sowings {
		x := &p.Sowings[i]
		c := cropNamed(t, x.Crop)
		_, forms, _ := meals.CropForms(c, "")
		at := slices.IndexFunc(p.found.g.cands, func(k candidate) bool {
			return k.crop.Key == x.Crop && k.planted == x.Plant && p.made.w.groups[k.group].Name == x.Group && k.young == x.Young && (k.young || k.pull.IsZero() != x.Early)
		})
		if at < 0 {
			t.Fatalf("%s is none of the candidates", x.ID)
		}
		for _, v := range x.Serves {
			kcal += v.Kcal
		}
		m2Days += x.AreaM2 * float64(x.Plant.DaysTo(x.Pulled)+turnDays)
		// By the tables: low season yield over the days in the bed, as cooked.
		per := c.YieldSeason.LowKgM2 * 1000 * kcalOf(forms) / float64(c.BedDays)
		least, most = min(least, per), max(most, per)
	}
	per := kcal / m2Days
	need := 0.0
	for _, o := range p.Occasions {
		need += o.NeedKcal
	}
	year := need / 42 * 365
	all := 0.0
	for _, g := range p.Groups {
		all += g.AreaM2
	}
	whole := kcal / (all * float64(p.Today.DaysTo(p.To)+1))
	t.Logf("%d sowings, %.0f kcal of %.0f needed; %.2f kcal/m²/d of standing (tables, low yields: %.2f to %.2f), %.0f m² a person; over the whole plan with its empty weeks %.2f, %.0f m²", len(p.Sowings), kcal, need, per, least, most, year/365/per, whole, year/365/whole)
	if !(per >= least && per <= most) {
		t.Errorf("%.2f kcal/m²/d, by the tables %.2f to %.2f", per, least, most)
	}
	// The reading of the food sheet: 80 m² at the high yields of every crop; 489 m² is dry
	// beans at low yield (4.5 kcal/m²/d).
	if m2 := year / 365 / per; !(m2 >= 80 && m2 <= 489) {
		t.Errorf("%.0f m² a person, by the sheets 80 to 489", m2)
	}
	if share := levelOf(p, "mean").Whole; share > 0.98 {
		t.Errorf("the mean share is %.3f: beds are not what is short", share)
	}
	if !p.Check.OK {
		t.Error(p.Check.Fault)
	}
	if p.Seasons[season.Low] == nil {
		t.Error("no season")
	}
}
