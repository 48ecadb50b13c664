package fish_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/fish"
)

// goodWater is what s thrives in: at the edge of full feed, at its best
// temperature.
func goodWater(s fish.Species) fish.Exposure {
	return fish.Exposure{DOGm3: s.DOFullFeedGm3, NH3NGm3: s.NH3NMaxGm3, NO2NGm3: s.NO2NMaxGm3, TempC: s.GrowthTOptC, PH: 7}
}

// halfHours is the time in which half die.
func halfHours(perHour float64) float64 { return math.Ln2 / perHour }

func TestGoodWaterKillsNone(t *testing.T) {
	all := fish.All()
	if len(all) != 17 {
		t.Fatalf("%d species", len(all))
	}
	for _, s := range all {
		for _, weightG := range []float64{0.5, 100, 3000} {
			w := goodWater(s)
			cause, perHour := s.Cause(weightG, w)
			if got := s.LossPerHour(weightG, w); got != 0 || cause != "" || perHour != 0 {
				t.Errorf("%s of %g g: %g an hour by %q", s.ID, weightG, got, cause)
			}
			for _, tempC := range []float64{s.OptLowC, s.OptHighC} {
				if w.TempC = tempC; s.LossPerHour(weightG, w) != 0 {
					t.Errorf("%s of %g g dies at its best %g °C", s.ID, weightG, tempC)
				}
			}
		}
	}
}

// The meaning of an LC50: half are dead after 96 hours.
func TestHalfDieAtLC50(t *testing.T) {
	for _, s := range fish.All() {
		ammonia, nitrite := goodWater(s), goodWater(s)
		ammonia.NH3NGm3, nitrite.NO2NGm3 = s.LC50NH3N(), s.LC50NO2N()
		for name, w := range map[string]fish.Exposure{"ammonia": ammonia, "nitrite": nitrite} {
			alive := 1.0
			for range 96 {
				alive *= math.Exp(-s.LossPerHour(100, w))
			}
			near(t, s.ID+" alive after 96 h of "+name, alive, nil, 0.5, 1e-9)
			if cause, perHour := s.Cause(100, w); cause != name || perHour != s.LossPerHour(100, w) {
				t.Errorf("%s: %q, not %s", s.ID, cause, name)
			}
		}
	}
}

// Sources: rainbow trout 0.16 to 1.1 g/m³ as NH3 (Thurston & Russo 1983), 14/17 of
// it nitrogen; carp 0.93 (Abbas 2006) to 1.84 (Hasan & Macintosh 1986), at most
// the lowest of them; trout in nitrite 0.2 to 0.4 (Russo & Thurston 1977, from
// memory); catfish about 7, tilapia about 16 (Palachek & Tomasso 1984, from
// memory). From memory: growth suffers at a twentieth of the LC50, which full
// feed stops at within a factor of two.
func TestLC50(t *testing.T) {
	trout, carp, tilapia, catfish := species(t, "trout_rainbow"), species(t, "carp_common"), species(t, "tilapia_nile"), species(t, "catfish_channel")
	if got := trout.LC50NH3N(); !(got > 0.16*14/17 && got < (0.16+1.1)/2*14/17) {
		t.Errorf("trout in ammonia: %g", got)
	}
	if got := carp.LC50NH3N(); !(got > 0.6 && got <= 0.93) {
		t.Errorf("carp in ammonia: %g", got)
	}
	if got := trout.LC50NO2N(); !(got >= 0.2 && got <= 0.4) {
		t.Errorf("trout in nitrite: %g", got)
	}
	near(t, "catfish in nitrite", catfish.LC50NO2N(), nil, 7, 0.5)
	if got := tilapia.LC50NO2N(); !(got <= 16) {
		t.Errorf("tilapia in nitrite: %g", got)
	}
	for _, s := range fish.All() {
		if ratio := s.NH3NMaxGm3 / (s.LC50NH3N() / 20); !(ratio >= 0.5 && ratio <= 2) {
			t.Errorf("%s is fed in full up to %.2f times the ammonia that slows growth", s.ID, ratio)
		}
		if daily := 24 * s.LossByAmmonia(s.NH3NStopGm3); !(daily < 1e-4) {
			t.Errorf("%s loses %g a day where ammonia stops feed", s.ID, daily)
		}
	}
	unknown := fish.Species{}
	near(t, "unknown group", unknown.LC50NH3N()+unknown.LC50NO2N(), nil, trout.LC50NH3N()+trout.LC50NO2N(), 0)
}

// From memory: at the lethal oxygen deaths within 1 to 4 hours, small fish in
// half an hour; at twice it hours to a day; days where feed stops.
func TestLossByOxygen(t *testing.T) {
	for _, s := range fish.All() {
		if s.DOLethalGm3 == 0 {
			if got := s.LossByOxygen(100, 0); got != 0 {
				t.Errorf("%s breathes air and dies %g an hour", s.ID, got)
			}
			continue
		}
		near(t, s.ID+" at the lethal oxygen", halfHours(s.LossByOxygen(100, s.DOLethalGm3)), nil, 2, 1e-9)
		near(t, s.ID+" of 1 kg", halfHours(s.LossByOxygen(1000, s.DOLethalGm3)), nil, 4, 0.1)
		near(t, s.ID+" of 1 g", halfHours(s.LossByOxygen(1, s.DOLethalGm3)), nil, 0.5, 0.02)
		if twice := 2 * s.DOLethalGm3; twice < s.DOMinFeedGm3 {
			if h := halfHours(s.LossByOxygen(100, twice)); !(h > 4 && h < 24) {
				t.Errorf("%s: half die in %.1f h at twice the lethal oxygen", s.ID, h)
			}
		}
		if got := s.LossByOxygen(100, s.DOMinFeedGm3); got != 0 {
			t.Errorf("%s dies %g an hour where feed stops", s.ID, got)
		}
		almost := s.DOMinFeedGm3 - 0.02*(s.DOMinFeedGm3-s.DOLethalGm3)
		if h := halfHours(s.LossByOxygen(100, almost)); !(h > 48) {
			t.Errorf("%s: half die in %.1f h just below the oxygen where feed stops", s.ID, h)
		}
	}
}

// Sources: chloride 20 to 1 of nitrite nitrogen, from memory; 33 to 1 for cold
// water, 10 to 1 on the ion (SRAC 462); bass gain nothing (Tomasso 1986).
func TestChlorideProtects(t *testing.T) {
	catfish, trout, bass := species(t, "catfish_channel"), species(t, "trout_rainbow"), species(t, "bass_largemouth")
	near(t, "half of it kept out", catfish.NitriteFeltGm3(2, 20), nil, 1, 1e-12)
	near(t, "20 to 1", catfish.NitriteFeltGm3(2, 40), nil, 0.2, 1e-12)
	near(t, "trout, 20 to 1", trout.NitriteFeltGm3(1, 20), nil, 1-20.0/33, 1e-12)
	near(t, "trout, 33 to 1", trout.NitriteFeltGm3(1, 33), nil, 0.1, 1e-12)
	near(t, "bass", bass.NitriteFeltGm3(2, 100), nil, 2, 0)
	near(t, "no number", catfish.NitriteFeltGm3(2, math.NaN()), nil, 2, 0)
	near(t, "negative", catfish.NitriteFeltGm3(2, -50), nil, 2, 0)
	if got := catfish.NitriteFeltGm3(math.Inf(1), math.Inf(1)); !math.IsInf(got, 1) {
		t.Errorf("nitrite and chloride without end: %g felt", got)
	}
	if free, eased := catfish.LossByNitrite(7, 0), catfish.LossByNitrite(7, 140); !(eased < free*1e-6) {
		t.Errorf("catfish lose %g an hour, at 20 to 1 %g", free, eased)
	}
	if free, eased := trout.LossByNitrite(0.4, 0), trout.LossByNitrite(0.4, 5); !(eased < free/3 && eased > 0) {
		t.Errorf("trout lose %g an hour, %g with chloride", free, eased)
	}
}

// From memory: each degree beyond a lethal temperature shortens survival 3 to 10
// fold. Wurts & Durborow 1992: pH below 5 or above 10 kills. How fast: common
// practice, no source.
func TestLossByTemperatureAndPH(t *testing.T) {
	s := species(t, "tilapia_nile")
	near(t, "11 °C", halfHours(s.LossByCold(11)), nil, 24, 1e-9)
	near(t, "39 °C", halfHours(s.LossByWarmth(39)), nil, 24, 1e-9)
	if fold := s.LossByCold(9) / s.LossByCold(10); !(fold >= 3 && fold <= 10) {
		t.Errorf("a degree of cold kills %g times as fast", fold)
	}
	if fold := s.LossByWarmth(41) / s.LossByWarmth(40); !(fold >= 3 && fold <= 10) {
		t.Errorf("a degree of warmth kills %g times as fast", fold)
	}
	if h := halfHours(s.LossByCold(12)); !(h > 30*24) {
		t.Errorf("a degree inside the limit half die in %.0f h", h)
	}
	if s.LossByCold(13) != 0 || s.LossByWarmth(37) != 0 || !(s.LossByCold(12.5) > 0) || !(s.LossByWarmth(37.5) > 0) {
		t.Error("losses begin within 2 °C of the limit")
	}
	near(t, "pH 5", halfHours(fish.LossByPH(5)), nil, 24, 1e-9)
	near(t, "pH 10", halfHours(fish.LossByPH(10)), nil, 24, 1e-9)
	near(t, "pH 4.5", halfHours(fish.LossByPH(4.5)), nil, 3, 1e-9)
	for _, ph := range []float64{5.5, 6, 7, 9, 9.5} {
		if fish.LossByPH(ph) != 0 {
			t.Errorf("pH %g kills", ph)
		}
	}
}

func TestCause(t *testing.T) {
	s := species(t, "trout_rainbow")
	for want, change := range map[string]func(*fish.Exposure){
		"low oxygen": func(w *fish.Exposure) { w.DOGm3 = 2 },
		"ammonia":    func(w *fish.Exposure) { w.NH3NGm3 = 0.5 },
		"nitrite":    func(w *fish.Exposure) { w.NO2NGm3 = 1 },
		"cold water": func(w *fish.Exposure) { w.TempC = -1 },
		"warm water": func(w *fish.Exposure) { w.TempC = 26 },
		"pH":         func(w *fish.Exposure) { w.PH = 4 },
	} {
		w := goodWater(s)
		change(&w)
		if cause, perHour := s.Cause(100, w); cause != want || !(perHour > 0) || perHour != s.LossPerHour(100, w) {
			t.Errorf("%q at %g an hour of %g, want %q", cause, perHour, s.LossPerHour(100, w), want)
		}
	}
	w := goodWater(s)
	w.TempC, w.DOGm3 = 25.2, 2
	cause, perHour := s.Cause(100, w)
	if cause != "low oxygen" || perHour != s.LossByOxygen(100, 2) || !(s.LossPerHour(100, w) > perHour) {
		t.Errorf("two harms: %q at %g of %g", cause, perHour, s.LossPerHour(100, w))
	}
}

// Worse water never kills fewer, and no water gives more than the bound of six
// terms.
func TestLossIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(fish.All()).Draw(t, "species")
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		weightG, more := draw("weight", 0.1, 5000), draw("more", 0, 3)
		w := fish.Exposure{DOGm3: draw("oxygen", 0, 12), NH3NGm3: draw("ammonia", 0, 3), NO2NGm3: draw("nitrite", 0, 20),
			ChlorideGm3: draw("chloride", 0, 300), TempC: draw("water", -1, 45), PH: draw("pH", 3, 12)}
		base := s.LossPerHour(weightG, w)
		if !(base >= 0 && base <= 360) {
			t.Fatalf("%+v: %g an hour", w, base)
		}
		away := func(v, from float64) float64 { return v + math.Copysign(more, v-from) }
		for name, change := range map[string]func(w *fish.Exposure, weightG *float64){
			"oxygen":   func(w *fish.Exposure, _ *float64) { w.DOGm3 -= more },
			"ammonia":  func(w *fish.Exposure, _ *float64) { w.NH3NGm3 += more },
			"nitrite":  func(w *fish.Exposure, _ *float64) { w.NO2NGm3 += more },
			"chloride": func(w *fish.Exposure, _ *float64) { w.ChlorideGm3 -= 20 * more },
			"water":    func(w *fish.Exposure, _ *float64) { w.TempC = away(w.TempC, s.GrowthTOptC) },
			"pH":       func(w *fish.Exposure, _ *float64) { w.PH = away(w.PH, 7.5) },
			"weight":   func(_ *fish.Exposure, weightG *float64) { *weightG /= 1 + more },
		} {
			worse, smaller := w, weightG
			change(&worse, &smaller)
			if got := s.LossPerHour(smaller, worse); !(got >= base*(1-1e-12)) {
				t.Fatalf("%s of %g g: worse %s by %g: %g an hour after %g in %+v", s.ID, weightG, name, more, got, base, w)
			}
		}
	})
}

// No jumps: a small step moves the loss by a twentieth of it at most.
func TestLossIsContinuous(t *testing.T) {
	for _, s := range fish.All() {
		for name, at := range map[string]func(v float64) float64{
			"oxygen":   func(v float64) float64 { return s.LossByOxygen(100, 8*v) },
			"ammonia":  func(v float64) float64 { return s.LossByAmmonia(v) },
			"nitrite":  func(v float64) float64 { return s.LossByNitrite(8*v, 10) },
			"chloride": func(v float64) float64 { return s.LossByNitrite(8, 200*v) },
			"cold":     func(v float64) float64 { return s.LossByCold(s.LethalLowC + 3 - 4*v) },
			"warmth":   func(v float64) float64 { return s.LossByWarmth(s.LethalHighC - 3 + 4*v) },
			"acid":     func(v float64) float64 { return fish.LossByPH(6 - v) },
			"base":     func(v float64) float64 { return fish.LossByPH(9 + v) },
		} {
			last := at(0)
			for v := 1e-4; v <= 1; v += 1e-4 {
				got := at(v)
				if !(math.Abs(got-last) <= 1e-5+0.05*max(got, last)) {
					t.Fatalf("%s, %s: %g, then %g at %g", s.ID, name, last, got, v)
				}
				last = got
			}
		}
	}
}

// A figure that is no number adds nothing; any other gives something finite.
func TestLossOfOddFigures(t *testing.T) {
	s := species(t, "trout_rainbow")
	nan := math.NaN()
	if got := s.LossPerHour(100, fish.Exposure{DOGm3: nan, NH3NGm3: nan, NO2NGm3: nan, ChlorideGm3: nan, TempC: nan, PH: nan}); got != 0 {
		t.Errorf("water unknown: %g an hour", got)
	}
	w := goodWater(s)
	w.PH, w.NH3NGm3 = nan, 0.3
	near(t, "pH unknown", s.LossPerHour(100, w), nil, s.LossByAmmonia(0.3), 0)
	w = goodWater(s)
	w.DOGm3 = 1
	if s.LossPerHour(nan, w) != 0 || s.LossPerHour(-1, w) != 0 {
		t.Error("a weight that is none counts")
	}
	odd := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{nan, math.Inf(1), math.Inf(-1), math.MaxFloat64, -math.MaxFloat64, math.SmallestNonzeroFloat64, 0}))
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(append(fish.All(), fish.Species{})).Draw(t, "species")
		w := fish.Exposure{DOGm3: odd.Draw(t, "oxygen"), NH3NGm3: odd.Draw(t, "ammonia"), NO2NGm3: odd.Draw(t, "nitrite"),
			ChlorideGm3: odd.Draw(t, "chloride"), TempC: odd.Draw(t, "water"), PH: odd.Draw(t, "pH")}
		weightG := odd.Draw(t, "weight")
		total := s.LossPerHour(weightG, w)
		_, most := s.Cause(weightG, w)
		if !(total >= most && most >= 0 && most >= total/6*(1-1e-12) && total <= 360) {
			t.Fatalf("%s in %+v: %g an hour, %g by the largest", s.ID, w, total, most)
		}
		cut := fish.FeedCut{TempC: w.TempC, PlanC: 20, DOGm3: w.DOGm3, NH3NGm3: w.NH3NGm3, TANGm3: w.PH, NO2NGm3: w.NO2NGm3, DaysFed: 3}
		if share := s.FeedShareWater(cut, w.ChlorideGm3); !(share >= 0 && share <= 1) {
			t.Fatalf("%s: share %g of %+v", s.ID, share, cut)
		}
	})
}

// Common practice, no source.
func TestFeedShareWater(t *testing.T) {
	s := species(t, "tilapia_nile")
	good := fish.FeedCut{TempC: 28, PlanC: 28, DOGm3: 6, DaysFed: 3}
	for _, row := range []struct {
		change      func(*fish.FeedCut)
		chlorideGm3 float64
		want        float64
	}{
		{func(*fish.FeedCut) {}, 0, 1},
		{func(c *fish.FeedCut) { c.TANGm3 = 2 }, 0, 1},
		{func(c *fish.FeedCut) { c.TANGm3 = 3 }, 0, 0.75},
		{func(c *fish.FeedCut) { c.TANGm3 = 4 }, 0, 0.5},
		{func(c *fish.FeedCut) { c.TANGm3 = 6 }, 0, 0},
		{func(c *fish.FeedCut) { c.NO2NGm3 = 1.5 }, 0, 0.75},
		{func(c *fish.FeedCut) { c.NO2NGm3 = 3 }, 0, 0},
		{func(c *fish.FeedCut) { c.NO2NGm3 = 3 }, 20, 0.5},
		{func(c *fish.FeedCut) { c.NO2NGm3 = 3 }, 60, 1},
		{func(c *fish.FeedCut) { c.NO2NGm3 = 1.5 }, math.NaN(), 0.75},
		{func(c *fish.FeedCut) { c.DOGm3 = 4.25 }, 0, 0.5},
		{func(c *fish.FeedCut) { c.NH3NGm3 = 0.125 }, 0, 0.5},
		{func(c *fish.FeedCut) { c.TempC = 16 }, 0, 0},
		{func(c *fish.FeedCut) { c.DaysFed = 1 }, 0, 1.0 / 3},
		{func(c *fish.FeedCut) { c.Stop = true }, 0, 0},
		{func(c *fish.FeedCut) { c.NO2NGm3 = math.NaN() }, 50, 0},
		{func(c *fish.FeedCut) { c.TANGm3 = math.NaN() }, 0, 0},
	} {
		cut := good
		row.change(&cut)
		near(t, "share of the ration", s.FeedShareWater(cut, row.chlorideGm3), nil, row.want, 1e-9)
	}
	for _, s := range fish.All() {
		good := fish.FeedCut{TempC: s.GrowthTOptC, PlanC: s.GrowthTOptC, DOGm3: 12, DaysFed: 3}
		last := 1.0
		for v := 0.0; v <= 4; v += 1e-3 {
			cut := good
			cut.TANGm3, cut.NO2NGm3 = v*s.TANMaxGm3, v*s.NO2NMaxGm3
			got := s.FeedShareWater(cut, 0)
			if !(got <= last && last-got < 0.001) {
				t.Fatalf("%s: share %g after %g at %g times the limits", s.ID, got, last, v)
			}
			last = got
		}
		if last != 0 {
			t.Errorf("%s is fed %g at four times the limits", s.ID, last)
		}
	}
}

// badWater harms in every way but cold.
var badWater = fish.Exposure{DOGm3: 4, NH3NGm3: 0.2, NO2NGm3: 0.5, ChlorideGm3: 5, TempC: 25, PH: 9.8}

func TestStressAllocatesNothing(t *testing.T) {
	s := species(t, "trout_rainbow")
	if n := testing.AllocsPerRun(100, func() {
		s.LossPerHour(100, badWater)
		s.Cause(100, badWater)
		s.FeedShareWater(fish.FeedCut{TempC: 12, PlanC: 12, DOGm3: 8, DaysFed: 3}, 20)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkLossPerHour(b *testing.B) {
	s, err := fish.Lookup("trout_rainbow")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	total := 0.0
	for b.Loop() {
		total += s.LossPerHour(100, badWater)
	}
	if !(total > 0) {
		b.Fatal("bad water kills none")
	}
}
