package plan

import (
	"context"
	"sync"
	"testing"
	"time"

	"tidebed/numeric/lp"
	"tidebed/science/crop"
	"tidebed/site"
)

// testPool is the solvers of all tests of this package.
var testPool = lp.NewPool(2)

// small is a building small enough to be worked by hand and fast enough to be planned
// many times: a tub and a bed of stones under even weather of 12 MJ/m² and day, which
// a zone of light 0.9 turns into 12 × 0.9 × 2.06 = 22.2 mol/m²/d at 18 °C (low course:
// nine tenths of it), a cool store, two eaters, no fish, four days in October.
func small() *site.Site {
	s := &site.Site{
		Schema: 1, Name: "Two Beds",
		Place: site.Place{LatitudeDeg: 40, LongitudeDeg: 0},
		Zones: []site.Zone{{Name: "hall", FloorM2: 40, HeightM: 3, DayC: 18, NightC: 18, Light: 0.9}},
		Loops: []site.Loop{{
			Name:     "loop",
			Tanks:    []site.Tank{{Name: "tank", VolumeM3: 1, WaterC: 27}},
			Aerators: []site.Aerator{{Name: "air", Tank: "tank", SOTRKgS: 0.1 / 3600}},
			Beds: []site.Bed{
				{Name: "tub", Kind: "tub", Zone: "hall", AreaM2: 1.44},
				{Name: "stones", Kind: "media", Zone: "hall", AreaM2: 2.16},
			},
		}},
		Larder: []site.LarderPlace{{Name: "cool store", Kind: "cool-store", CapacityKg: 200, TempC: 4, LossWeek: 0.01}},
		People: []site.Person{
			{Name: "Ada", Sex: "female", AgeY: 42, WeightKg: 65, HeightM: 1.65},
			{Name: "Bo", Sex: "male", AgeY: 45, WeightKg: 82, HeightM: 1.78},
		},
		HomeFed: []site.HomeFedDays{{
			Name: "October", From: site.On(2027, time.October, 10), To: site.On(2027, time.October, 13),
			Eaters: []string{"Ada", "Bo"},
		}},
		Opening: site.Opening{
			Date:  site.On(2027, time.May, 1),
			Water: []site.OpeningWater{{Loop: "loop", NitrateNGm3: 100, PotassiumGm3: 100, PhosphateP: 20, Ripe: true}},
		},
	}
	return even(s, 12)
}

// even gives every month the same light, MJ/m²/d, and air.
func even(s *site.Site, radiationMJm2 float64) *site.Site {
	s.Place.Normals = nil
	for m := 1; m <= 12; m++ {
		s.Place.Normals = append(s.Place.Normals, site.MonthNormals{Month: m, MaxC: 15, MinC: 8, Humidity: 0.7, RadiationMJm2: radiationMJm2})
	}
	return s
}

// wish makes crops the only ones that a plan with WishedOnly may use.
func wish(s *site.Site, crops ...string) *site.Site {
	s.Crops = nil
	for _, c := range crops {
		s.Crops = append(s.Crops, site.CropWish{Crop: c})
	}
	return s
}

// made is a plan that must be made.
func made(t testing.TB, s *site.Site, today site.Date, o Options) *Plan {
	t.Helper()
	o.Pool = testPool
	if o.LeadDays == 0 {
		o.LeadDays = -1 // seed is in hand
	}
	p, err := Make(context.Background(), s, today, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func sample(t testing.TB) *site.Site {
	t.Helper()
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// demoPlan is the demo's plan, made once for all tests that look at it.
var demoPlan = sync.OnceValues(func() (*Plan, error) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		return nil, err
	}
	return Make(context.Background(), s, s.Opening.Date, Options{Pool: testPool})
})

func demoMade(t testing.TB) *Plan {
	t.Helper()
	p, err := demoPlan()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func cropNamed(t testing.TB, key string) *crop.Crop {
	t.Helper()
	c, err := crop.Lookup(key)
	if err != nil {
		t.Fatal(err)
	}
	return &c
}

// withFish is small with a cohort of ten in its tank.
func withFish() *site.Site {
	s := small()
	s.Opening.Cohorts = []site.Cohort{{Name: "tilapia", Species: "tilapia_nile", Tank: "tank", Count: 10, WeightKg: 0.1}}
	return s
}
