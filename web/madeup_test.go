package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"tidebed/meals"
	"tidebed/menu"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
)

// Everything in this file is made up for tests.

func madeUpSite() *site.Site {
	return &site.Site{
		Schema: 1, Name: "Skerry House", Currency: "EUR", Note: "A converted net store on a cool coast.",
		Place: site.Place{LatitudeDeg: 54.3, LongitudeDeg: -8.5, ElevationM: 12, TimeZone: "Europe/Dublin", Climate: "Belmullet"},
		Zones: []site.Zone{{Name: "south side", FloorM2: 92, HeightM: 3.4, DayC: 19, NightC: 12, Light: 0.62, AirChangesH: 0.6}},
		Surfaces: []site.Surface{{Zone: "south side", Kind: "roof", Cover: "twin-wall polycarbonate", AreaM2: 96, UWm2K: 3.1},
			{Zone: "south side", Kind: "wall", Cover: "insulated", AreaM2: 54, UWm2K: 0.35}},
		Loops: []site.Loop{{
			Name: "North loop", Water: "rain", SumpM3: 0.8,
			Tanks:      []site.Tank{{Name: "Trout one", Role: "stock", VolumeM3: 1.6, DepthM: 0.9, WaterC: 14}, {Name: "Trout two", VolumeM3: 1.6, DepthM: 0.9, WaterC: 14}},
			Beds:       []site.Bed{{Name: "Bed 1", Kind: "media", Zone: "south side", LengthM: 2.4, WidthM: 1.2, DepthM: 0.3}, {Name: "Tub row", Kind: "tub", Zone: "south side", AreaM2: 14, DepthM: 0.4}},
			Pumps:      []site.Pump{{Name: "Main pump", PowerW: 120, Points: []string{"60 L/min:2 m", "90 L/min:1 m"}}, {Name: "Shelf pump", PowerW: 90, Spare: true}},
			Pipes:      []site.Pipe{{Name: "riser", From: "sump", To: "manifold", DiameterM: 0.04, LengthM: 3.2, Valve: "hand"}},
			Aerators:   []site.Aerator{{Name: "Blower", Tank: "Trout one", PowerW: 60, Backup: true}},
			SumpLevelM: 0.4,
		}, {
			Name: "South loop", Tanks: []site.Tank{{Name: "Tilapia", VolumeM3: 2.2, DepthM: 1, WaterC: 26}},
			Beds: []site.Bed{{Name: "Raft one", Kind: "raft", Zone: "south side", LengthM: 4.8, WidthM: 1.2, DepthM: 0.3}},
		}},
		Heaters: []site.Heater{{Name: "Pellet boiler", Zone: "south side", PowerW: 15000, Fuel: "wood-pellets", Efficiency: 0.86}},
		Power:   site.Power{PanelPeakW: 2400, DigesterM3: 1.5},
		Lamps:   []site.Lamp{{Name: "Nursery lamps", Over: "nursery", AreaM2: 2, PhotonUmolM2s: 180, HoursDay: 16, PowerW: 180}},
		Feeds:   []site.Feed{{Name: "Trout pellets", Protein: 0.44, StockKg: 75}},
		Waters:  []site.SourceWater{{Name: "rain", Kind: "rain", PH: 6.2, AlkalinityMolM3: 0.2}},
		Larder:  []site.LarderPlace{{Name: "Cool store", Kind: "cool-store", CapacityKg: 220, TempC: 5, LossWeek: 0.01}},
		Racks:   []site.Rack{{Name: "Rack A", Zone: "south side", Trays: 20, Shelves: 5, RatedKg: 60}},
		Buyers:  []site.Buyer{{Name: "Canteen", Orders: []site.Order{{Good: "broccoli", WeekKg: 1.5, Day: "tuesday"}}}},
		People:  []site.Person{{Name: "Maeve", AgeY: 41, WeightKg: 64, Activity: "active"}, {Name: "Oisín", AgeY: 9, WeightKg: 29, Allergies: []string{"celery"}}},
		HomeFed: []site.HomeFedDays{
			{Name: "Rehearsal", From: site.On(2027, time.March, 27), To: site.On(2027, time.March, 28), Eaters: []string{"Maeve", "Oisín"}},
			{Name: "October week", From: site.On(2027, time.October, 10), To: site.On(2027, time.October, 16), Eaters: []string{"Maeve", "Oisín"}, Cupboard: true},
		},
		Cupboard: []site.CupboardFood{{Food: "oats", StockKg: 5}},
		Prices:   site.Prices{ElectricityPerJ: 0.32 / 3.6e6, LabourPerS: 15.0 / 3600},
		Opening: site.Opening{Date: site.On(2027, time.January, 11),
			Cohorts:   []site.Cohort{{Name: "Trout of 2026", Species: "rainbow_trout", Tank: "Trout one", Count: 90, WeightKg: 0.21}},
			Plantings: []site.Planting{{Crop: "potato", Bed: "Tub row", AreaM2: 12, Planted: site.On(2027, time.April, 20)}, {Crop: "kale", Bed: "Bed 1", AreaM2: 2.88, Planted: site.On(2026, time.November, 2)}},
			Larder:    []site.PutBy{{Food: "potato", Place: "Cool store", MassKg: 38, Until: site.On(2027, time.April, 30)}},
		},
	}
}

func madeUpAnswer() *meals.Answer {
	eaters := []string{"Maeve", "Declan", "Aoife", "Tomás", "Niamh", "Oisín"}
	needs := []float64{2250, 2700, 2150, 2800, 2450, 1800}
	on := site.On(2027, time.July, 28)
	stock := []meals.Stock{
		{Food: "potato", Name: "potato", From: "Tub row", Kg: 64, EdibleKcal: 46000, Ready: on, Until: site.On(2027, time.December, 1), Inside: true, EatenKg: 58},
		{Food: "rainbow_trout", Name: "rainbow trout", From: "Trout of 2026 in Trout one", Kg: 31, EdibleKcal: 21000, Ready: on, Until: on.Plus(200), Inside: true, EatenKg: 9.4},
		{Food: "oats", Name: "oats", From: "store cupboard", Kg: 5, EdibleKcal: 19400, Ready: on, Until: on.Plus(300), EatenKg: 5},
		{Food: "beans_dry", Name: "dry beans", From: "Cool store", Kg: 3, EdibleKcal: 9900, Ready: on, Until: on.Plus(300), Inside: true, EatenKg: 3},
		{Food: "kale", Name: "kale, curly, of the autumn sowing that stands through the winter", From: "Bed 1", Kg: 6.2, EdibleKcal: 2200, Ready: on, Until: on.Plus(90), Inside: true, EatenKg: 4.1},
		{Food: "basil", Name: "basil", From: "Raft one", Kg: 1, EdibleKcal: 230, Ready: on, Until: on.Plus(90), Inside: true},
	}
	m := &menu.Menu{WorstShare: 0.63, MeanShare: 0.655, FedShare: 0.84,
		Levels: []menu.Level{{Name: "protected eaters' full need", Value: 1, Give: 0}, {Name: "least share from inside", Value: 0.63, Give: 0.005}}}
	for i, name := range eaters {
		m.Eaters = append(m.Eaters, menu.EaterFigure{Name: name, InsideKcal: needs[i] * 0.64, BoughtKcal: needs[i] * 0.19, OutsideKcal: needs[i] * 0.17, MassG: 2140})
	}
	for _, f := range []struct {
		name   string
		gram   float64
		inside bool
	}{{"potatoes, boiled in the skin", 1180, true}, {"rainbow trout, baked", 150, true}, {"oats, dry", 110, false}, {"kale, boiled", 88, true}, {"basil", 2, true}} {
		p := menu.Portion{Food: f.name, Name: f.name, Grams: f.gram * 42, Kcal: f.gram * 36, Inside: f.inside}
		for range eaters {
			p.ByEater = append(p.ByEater, f.gram*7)
		}
		m.Portions = append(m.Portions, p)
	}
	alone := *m
	alone.FedShare = 0.655
	october := meals.Occasion{
		Name: "October week", From: site.On(2027, time.October, 10), To: site.On(2027, time.October, 16), Days: 7, NeedKcal: 99050,
		Sentence: "From 10 to 16 October the building gives 63 % of the energy six people need; 12 m² more of potatoes would make it 78 %.",
		Reasons:  []string{"Potatoes from the tub row carry two thirds of it.", "Trout gives the protein, and all the vitamin B12.", "Leaves carry few calories: nine beds of them feed nobody."},
		Low:      meals.Run{Yield: "low", WorstShare: 0.63, MeanShare: 0.655, WithCupboardShare: 0.84, Menu: m, Alone: &alone, OnHand: stock},
		Typical:  meals.Run{Yield: "typical", WorstShare: 0.81, MeanShare: 0.83, WithCupboardShare: 0.97},
		High:     meals.Run{Yield: "high", WorstShare: 0.94, MeanShare: 0.95, WithCupboardShare: 1}, CeilingShare: 0.71,
		Outside: []meals.Outside{{Eater: "Tomás", KcalDay: 476, BoughtDay: 532}, {Eater: "Oisín", KcalDay: 306, BoughtDay: 342, Protected: true}},
		Lacks: []meals.Lack{{Nutrient: "potassium", Eater: "Declan", Share: 0.82, Matters: true}, {Nutrient: "calcium", Eater: "Niamh", Share: 0.41, UnknownMass: 0.12},
			{Nutrient: "vitamin D", Eater: "Aoife", Share: 0.3}, {Nutrient: "vitamin E", Eater: "Maeve", Share: 0, Sourceless: true}},
		Helps:    []meals.Help{{What: "plant 1 m² of potato in Tub row by 3 June 2027", Gain: 0.0125, Share: 0.6425, Whole: "all 12 m² free there would make it 78 %"}, {What: "keep 20 more trout to 250 g", Gain: 0.004, Share: 0.634}},
		Missed:   []meals.Missed{{What: "basil, Raft one", Why: "past its best on these days"}},
		Cautions: []food.Caution{{About: "fish", Text: "Cook to 63 °C inside for 15 seconds.", Source: "US Food Code, from memory"}},
		Warnings: []string{"The weight of one eater is a default; weigh and write it down."},
	}
	for i, name := range eaters {
		e := meals.Eater{Name: name, NeedKcal: needs[i], Floor: 0.8}
		if name == "Oisín" {
			e.Protected, e.Why, e.Floor = true, "under 18", 1
		}
		october.Eaters = append(october.Eaters, e)
	}
	rehearsal := october
	rehearsal.Name, rehearsal.From, rehearsal.To, rehearsal.Days, rehearsal.NeedKcal = "Rehearsal", site.On(2027, time.March, 27), site.On(2027, time.March, 28), 2, 22400
	rehearsal.Sentence = "On 27 and 28 March the building gives all the energy six people need."
	rehearsal.Low.WorstShare, rehearsal.Low.MeanShare, rehearsal.Typical.WorstShare, rehearsal.High.WorstShare = 1.02, 1.02, 1.08, 1.12
	rehearsal.Low.OnHand = []meals.Stock{{Food: "potato", Name: "potato", From: "Cool store", Kg: 38, EdibleKcal: 27000, Ready: on, Until: on, Inside: true, EatenKg: 32}}
	past := meals.Occasion{Name: "Autumn trial", From: site.On(2026, time.November, 7), To: site.On(2026, time.November, 7), Days: 1, Past: true}
	bare := meals.Occasion{Name: "Bare weekend", From: site.On(2027, time.December, 11), To: site.On(2027, time.December, 12), Days: 2, NeedKcal: 28300,
		Sentence: "On 11 and 12 December the building gives nothing.", Low: meals.Run{Yield: "low"}, Typical: meals.Run{Yield: "typical"}, High: meals.Run{Yield: "high"}}
	return &meals.Answer{Site: "Skerry House", Today: site.On(2027, time.January, 11), Occasions: []meals.Occasion{past, rehearsal, october, bare},
		Sentence: rehearsal.Sentence, Warnings: []string{"Dates are those of good light."}, Seasons: madeUpSeasons()}
}

// madeUpSeasons are three courses in which kale is cut in spring, potatoes are
// lifted in August, basil comes to nothing and the trout grow.
func madeUpSeasons() (all [season.Courses]*season.Forecast) {
	from, to := site.On(2027, time.January, 11), site.On(2028, time.January, 11)
	for c := range season.Courses {
		k := []float64{0.7, 1, 1.4}[c]
		early := 6 * int(c)
		f := &season.Forecast{Course: c, Yield: c.String(), From: from, To: to,
			Warnings: []string{"Light is that of made-up normals; the air inside is held at the zones' set points and is never colder than outside."}}
		kale := season.PlantingCourse{Crop: "kale", Name: "Kale", Bed: "Bed 1", AreaM2: 2.38, Planted: site.On(2026, time.November, 2), Emerged: site.On(2026, time.November, 2), HarvestKg: 5 * k}
		for i := range 26 {
			kale.Steps = append(kale.Steps, season.Step{Day: kale.Planted.Plus(7 * i), DLIMol: 2 + float64(i)/2, Temp: 0.52, Root: 0.97, WGM2: float64(i*i) * k / 4, GrownGM2: float64(i) * k / 14})
		}
		kale.First = site.On(2027, time.April, 22).Plus(-early)
		for i := range 3 {
			kale.Picks = append(kale.Picks, season.Pick{Day: kale.First.Plus(10 * i), Until: kale.First.Plus(10*i + 10), Kg: 5 * k / 3})
		}
		kale.Steps = append(kale.Steps, season.Step{Day: kale.First.Plus(20), DLIMol: 17, Temp: 0.6, Root: 1, WGM2: 0, GrownGM2: 2, Note: "harvested"})
		kale.Pulled = kale.First.Plus(20)
		potato := season.PlantingCourse{Crop: "potato", Name: "Potato", Bed: "Tub row", AreaM2: 12, Planted: site.On(2027, time.April, 20), Emerged: site.On(2027, time.May, 12),
			Warnings: []string{"May 2027: Potato: more than 15 h of light a day harm it; these have 16 h.", "June 2027: Potato: more than 15 h of light a day harm it; these have 17 h."}, First: site.On(2027, time.July, 28), Pulled: site.On(2027, time.July, 28), HarvestKg: 64 * k, Picks: []season.Pick{{Day: site.On(2027, time.July, 28), Until: site.On(2027, time.July, 28), Kg: 64 * k}},
			Steps: []season.Step{{Day: site.On(2027, time.May, 12), DLIMol: 20, Temp: 0.8, Root: 0.98, WGM2: 10, GrownGM2: 0.6, Note: "up"}, {Day: site.On(2027, time.July, 28), DLIMol: 18, Temp: 0.9, Root: 0.99, WGM2: 900 * k, GrownGM2: 12, Note: "harvest"}}}
		basil := season.PlantingCourse{Crop: "basil", Name: "Basil", Bed: "Raft one", AreaM2: 1, Planted: site.On(2027, time.December, 20), Why: "not up yet"}
		f.Plantings = []season.PlantingCourse{potato, kale, basil}
		trout := season.CohortCourse{Name: "Trout of 2026", Species: "trout_rainbow", Title: "Rainbow trout", Tank: "Trout one", TempC: 14, FeedName: "Trout pellets", FeedG: 42000 * k, TableOn: site.On(2027, time.April, 5).Plus(-early)}
		loop := season.LoopCourse{Name: "North loop", VolumeM3: 5, PlantedM2: 8, FeedGM2Day: 14 * k, StandstillGM2Day: 6 * k,
			Nitrogen: season.Ledger{Start: 410, In: []season.Entry{{Name: "feed", Amount: 6000 * k}}, Out: []season.Entry{{Name: "plants", Amount: 2000 * k}, {Name: "gas", Amount: 1000 * k}}, End: 410 + 3000*k, Left: -1e-12}}
		for d := range from.DaysTo(to) + 1 {
			day := season.FishDay{Day: from.Plus(d), Number: 90, WeightG: 210 + float64(d)*0.5*k, FeedG: 122 * k, DensityKgM3: 11.8 + float64(d)*0.028*k}
			trout.Days = append(trout.Days, day)
			if d%7 == 0 {
				trout.Weeks = append(trout.Weeks, day)
				loop.NitrateNGm3 = append(loop.NitrateNGm3, season.LoopWeek{Day: day.Day, NGm3: 24 + float64(d)*k/3})
			}
		}
		if c == season.High {
			trout.Warnings = []string{"from 2027-11-02 tank Trout one holds more than it bears: take fish or move some"}
		}
		f.Cohorts, f.Loops = []season.CohortCourse{trout}, []season.LoopCourse{loop}
		f.Feeds = []season.FeedCourse{{Name: "Trout pellets", StockKg: 30, UsedKg: 42 * k, RunsOut: site.On(2027, time.October, 20).Plus(-10 * early), OrderBy: site.On(2027, time.October, 6).Plus(-10 * early),
			Sentence: "Trout pellets are gone by " + site.On(2027, time.October, 20).Plus(-10*early).String() + "."}}
		for m := range 12 {
			f.Light = append(f.Light, season.LightMonth{Month: site.On(2027, time.January+time.Month(m), 1), OutMJm2: float64(2 + m), Beds: []season.BedLight{{Bed: "Bed 1", Mol: 1.3 + float64(m)}, {Bed: "Tub row", Mol: 2.4 + float64(m)}, {Bed: "Raft one", Mol: 2 + float64(m)}}})
		}
		all[c] = f
	}
	return all
}

func madeUpSums() []Sum {
	return []Sum{{
		Name: "ammonia-share", Title: "What share of this ammonia is toxic?", Formula: "f = 1 / (1 + 10^(pKa − pH)), pKa = 0.09018 + 2729.92 / (273.15 + t)",
		Keys: []SumKey{
			{Name: "ph", What: "pH of the water", Kind: "plain number", Required: true, Range: "5 to 10"},
			{Name: "temp", What: "Temperature of the water", Kind: "temperature", Unit: "°C", Field: "tempC", Default: "20 °C", Range: "0 °C to 40 °C"},
			{Name: "test", What: "Kind of test", Kind: "word", Choices: []string{"salicylate", "ammonia strip"}},
		},
		Outputs:  []SumOutput{{"share", "share that is toxic", ""}, {"limit", "limit for trout", "mg/L as N"}},
		Sources:  []string{"Emerson et al. 1975, table 1"},
		Cautions: []string{"Above the limit stop feeding and change water first; ask a fish vet when fish gasp."},
	}, {Name: "pump-flow", Title: "How many litres a minute does this pump give here?"}}
}

func madeUpRun(name string, in map[string]string) (SumResult, error) {
	switch {
	case in["ph"] == "break":
		return SumResult{}, errors.New("made-up failure")
	case in["ph"] == "none":
		return SumResult{NoAnswer: true, Warnings: []string{"Outside what was measured."}}, nil
	case in["ph"] != "8":
		return SumResult{}, fmt.Errorf("reckon: %w", errors.Join(&InputError{"ph", "pH must be 5 to 10; you entered " + in["ph"] + "."}, &InputError{"temp", "too warm."}))
	}
	return SumResult{Inputs: map[string]any{"ph": 8.0, "tempC": 20.0}, Outputs: map[string]any{"share": 0.038127, "limit": 0.02, "name": name},
		Warnings: []string{"The strip reads total ammonia."}, Sources: []string{"Emerson et al. 1975, table 1"}}, nil
}

func madeUpEvidence(context.Context) (EvidenceReport, error) {
	return EvidenceReport{
		Rows: []EvidenceRow{
			{ID: "nh3-1", Equation: "Share of un-ionised ammonia", What: "pH 8.0, 20 °C", Source: "Emerson et al. 1975, table 1", Expected: 3.82, Got: 3.8127, Tolerance: 0.02, Unit: "%", OK: true, Counted: true},
			{ID: "o2-1", Equation: "Oxygen saturation", What: "15 °C, fresh water", Source: "Benson & Krause 1984", Expected: 10.084, Got: 10.0838, Tolerance: 0.005, Unit: "mg/L", OK: true, Counted: true},
			{ID: "nh3-2", Equation: "Share of un-ionised ammonia", What: "pH 9.0, 5 °C", Source: "Emerson et al. 1975, table 1", Expected: 11.1, Got: 12.4, Tolerance: 0.1, Unit: "%", Counted: true, Note: "misprint suspected"},
		},
		Goldens:   []EvidenceRow{{ID: "g1", Equation: "Season", What: "potato yield of the demo", Source: "kept run", Expected: 61.25, Got: 61.25, Tolerance: 0.01, Unit: "kg", OK: true}},
		Equations: 2, Passed: 2, Counted: 3,
	}, nil
}

func madeUpConfig() Config {
	return Config{
		Site: madeUpSite(), Today: site.On(2027, time.January, 11), Version: "test",
		Answer:  func(context.Context) (*meals.Answer, error) { return madeUpAnswer(), nil },
		Entries: madeUpSums(), RunSum: madeUpRun, Evidence: madeUpEvidence,
	}
}

// mustContain looks for texts, a space that does not break counting as any other.
func mustContain(t *testing.T, text string, wanted ...string) {
	t.Helper()
	text = strings.ReplaceAll(text, "\u00a0", " ")
	for _, w := range wanted {
		if !strings.Contains(text, w) {
			t.Errorf("the page lacks %q", w)
		}
	}
}

func mustLack(t *testing.T, text string, unwanted ...string) {
	t.Helper()
	text = strings.ReplaceAll(text, "\u00a0", " ")
	for _, w := range unwanted {
		if strings.Contains(text, w) {
			t.Errorf("the page should not have %q", w)
		}
	}
}

var nan = math.NaN()
