package watertest

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/water"
	"tidebed/site"
)

func demo(t *testing.T) *site.Site {
	t.Helper()
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func parse(t *testing.T, typed map[string]string) Reading {
	t.Helper()
	r, _, err := Parse(typed)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func judge(t *testing.T, typed map[string]string, tank *Tank) *Verdict {
	t.Helper()
	v, err := Judge(parse(t, typed), tank)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func tankOfDemo(t *testing.T, name string) *Tank {
	t.Helper()
	tank, err := TankOf(demo(t), name)
	if err != nil {
		t.Fatal(err)
	}
	if name == "trout 1" {
		tank.WaterM3 = 5.744 // of round figures, for the sums by hand
	}
	return tank
}

// The divisors are those printed on kits and in guides: nitrate 4.427, nitrite
// 3.285, ammonium 1.288, 17.85 mg/L a degree, 1 meq/L 50.04 mg/L as CaCO3
// (common practice, no source).
func TestParseUnitsAndForms(t *testing.T) {
	for _, row := range []struct {
		field, typed string
		got          func(Reading) float64
		want         float64
	}{
		{"nitrate", "44.27 mg/L as NO3", func(r Reading) float64 { return r.Sample.NO3NGm3.Amount }, 10},
		{"nitrate", "10 mg/L NO3-N", func(r Reading) float64 { return r.Sample.NO3NGm3.Amount }, 10},
		{"nitrite", "3.285 mg/L as NO₂", func(r Reading) float64 { return r.Sample.NO2NGm3.Amount }, 1},
		{"nitrite", "0,5 ppm", func(r Reading) float64 { return r.Sample.NO2NGm3.Amount }, 0.5},
		{"ammonia", "1.288 mg/L as NH4", func(r Reading) float64 { return r.Sample.TANGm3.Amount }, 1},
		{"ammonia", "1.2159 mg/L as NH3", func(r Reading) float64 { return r.Sample.TANGm3.Amount }, 1},
		{"ammonia", "2", func(r Reading) float64 { return r.Sample.TANGm3.Amount }, 2},
		{"alkalinity", "4 dKH", func(r Reading) float64 { return r.Sample.AlkEqM3.Amount * water.CaCO3PerEq }, 71.4},
		{"alkalinity", "1.6 meq/L", func(r Reading) float64 { return r.Sample.AlkEqM3.Amount }, 1.6},
		{"alkalinity", "50.04 mg/L", func(r Reading) float64 { return r.Sample.AlkEqM3.Amount }, 1},
		{"hardness", "10 °dH", func(r Reading) float64 { return r.Sample.HardnessGm3.Amount }, 178.5},
		{"hardness", "10 °fH", func(r Reading) float64 { return r.Sample.HardnessGm3.Amount }, 100},
		{"temp", "55.4 F", func(r Reading) float64 { return r.Sample.TempC.Amount }, 13},
		{"ec", "850 uS/cm", func(r Reading) float64 { return r.Sample.ECDSm.Amount }, 0.85},
		{"ec", "0.85 mS/cm", func(r Reading) float64 { return r.Sample.ECDSm.Amount }, 0.85},
		{"oxygen", "92 %", func(r Reading) float64 { return r.OxygenShare.Amount }, 0.92},
		{"phosphate", "3.066 mg/L as PO4", func(r Reading) float64 { return r.Sample.PhosphateGm3.Amount }, 1},
		{"nh3", "0.012159 mg/L as NH3", func(r Reading) float64 { return r.Sample.NH3NGm3.Amount }, 0.01},
		{"volume", "1600 L", func(r Reading) float64 { return r.VolumeM3.Amount }, 1.6},
		{"chloride", "40", func(r Reading) float64 { return r.Sample.ChlorideGm3.Amount }, 40},
		{"calcium", "40 mg/L", func(r Reading) float64 { return r.Sample.CalciumGm3.Amount }, 40},
	} {
		r := parse(t, map[string]string{row.field: row.typed})
		if got := row.got(r); !(math.Abs(got-row.want) <= row.want*1e-3) {
			t.Errorf("%s %q: %g, want %g", row.field, row.typed, got, row.want)
		}
		if len(r.Understood) != 1 || r.Understood[0].Field != row.field || r.Understood[0].As == "" {
			t.Errorf("%s %q: understood as %v", row.field, row.typed, r.Understood)
		}
	}
}

func TestParseAsksForTheForm(t *testing.T) {
	_, asked, err := Parse(map[string]string{"nitrate": "100 mg/L", "nitrite": "1", "ammonia": "2 mg/L as N", "phosphate": "5 mg/L as PO4"})
	if err != nil || len(asked) != 2 {
		t.Fatalf("asked %v, %v", asked, err)
	}
	q := asked[slices.IndexFunc(asked, func(q Question) bool { return q.Field == "nitrate" })]
	if q.Judged != 100 || q.JudgedAs != "N" || q.Else != "NO3" || math.Abs(q.ElseGm3-22.59) > 0.01 {
		t.Errorf("%+v", q)
	}
	if !strings.Contains(q.Sentence, "as N or as NO3? 100 mg/L") || !strings.Contains(q.Sentence, "22.6 mg/L") {
		t.Errorf("%s", q.Sentence)
	}
	if _, asked, _ := Parse(map[string]string{"nitrite": "0"}); len(asked) != 0 {
		t.Errorf("nothing is the same in every form: %v", asked)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, row := range []struct{ field, typed, want string }{
		{"ph", "14.5", "outside what can be: 0 to 14"}, {"ph", "-1", "less than nothing"}, {"ph", "x", "number"}, {"ph", "NaN", "number"},
		{"temp", "13", "unit"}, {"temp", "-1 C", "-0.5 °C to 45 °C"}, {"temp", "140 F", "60 °C"},
		{"ammonia", "-1 mg/L", "less than nothing"}, {"ammonia", "3 mg/L as NO3", "not a form of ammonia"}, {"nitrite", "3 mg/L NO3-N", "not a form of nitrite"},
		{"nitrate", "3 mg/L as NO2", "not a form of nitrate"}, {"nh3", "1 mg/L as NH4", "not a form of"}, {"nitrate", "3 °C", "temperature"},
		{"alkalinity", "4", "unit"}, {"alkalinity", "60 meq/L", "mg/L as CaCO3"}, {"hardness", "2 mmol/L", "meq/L, °dH"}, {"hardness", "-1 °dH", "less than nothing"},
		{"oxygen", "41", "40 mg/L"}, {"oxygen", "500 %", "400"}, {"ec", "3", "unit"}, {"ec", "40 mS/cm", "30 dS/m"}, {"volume", "0 L", "outside"}, {"volume", "-2 L", "outside"},
		{"colour", "red", "no value"}, {"species", "whale", "trout_rainbow"}, {"group", "deep", "cold, cool, warm or tropical"},
	} {
		_, _, err := Parse(map[string]string{row.field: row.typed})
		var refused *InputError
		if !errors.As(err, &refused) || refused.Field != row.field || !strings.Contains(refused.Sentence, row.want) {
			t.Errorf("%s %q: %v, want %q", row.field, row.typed, err, row.want)
		}
	}
	_, _, err := Parse(map[string]string{"ph": "15", "temp": "99 C"})
	if many, ok := err.(interface{ Unwrap() []error }); !ok || len(many.Unwrap()) != 2 {
		t.Errorf("two faults at once: %v", err)
	}
}

func TestJudgeRefuses(t *testing.T) {
	for name, row := range map[string]struct {
		typed map[string]string
		field string
		want  string
	}{
		"no fish":              {map[string]string{"ph": "7"}, "group", "whose water"},
		"nothing":              {map[string]string{"group": "cold"}, "", "nothing was measured"},
		"volume alone":         {map[string]string{"group": "cold", "volume": "2 m3"}, "", "nothing was measured"},
		"negative carbon":      {map[string]string{"group": "cold", "ph": "10.5", "alkalinity": "5 mg/L as CaCO3", "temp": "15 C"}, "alkalinity", "less than no carbon"},
		"part above the whole": {map[string]string{"group": "cold", "ammonia": "1 mg/L as N", "nh3": "2 mg/L as N"}, "nh3", "more than all ammonia"},
		"calcium":              {map[string]string{"group": "cold", "calcium": "100", "hardness": "5 °dH"}, "calcium", "more than the total hardness"},
		"percent without warm": {map[string]string{"group": "cold", "oxygen": "90 %"}, "oxygen", "needs the temperature"},
		"percent of 400":       {map[string]string{"group": "cold", "oxygen": "400 %", "temp": "10 C"}, "", "oxygen"},
	} {
		_, err := Judge(parse(t, row.typed), nil)
		var refused *InputError
		if !errors.As(err, &refused) || refused.Field != row.field || !strings.Contains(refused.Sentence, row.want) {
			t.Errorf("%s: %v, want %q of %q", name, err, row.want, row.field)
		}
	}
	_, err := Judge(parse(t, map[string]string{"ph": "7"}), &Tank{Name: "tank 9"})
	if err == nil || !strings.Contains(err.Error(), "tank 9") {
		t.Errorf("a tank without fish: %v", err)
	}
}

// orderOf gives the ranks of the remedies and fails when they are out of order.
func orderOf(t *testing.T, v *Verdict) (ranks []int) {
	t.Helper()
	for _, r := range v.Remedies {
		ranks = append(ranks, r.Rank)
		if r.Do == "" || r.Why == "" || r.Source == "" {
			t.Errorf("remedy without its reason or source: %+v", r)
		}
	}
	if !slices.IsSorted(ranks) {
		t.Errorf("remedies out of order: %v", ranks)
	}
	return ranks
}

// does reports whether a remedy says a text.
func does(v *Verdict, text string) bool {
	return slices.ContainsFunc(v.Remedies, func(r Remedy) bool { return strings.Contains(r.Do+": "+r.Why, text) })
}

// Source of the dose: [srac-462] with the ratio on the nitrogen; 0.8 × 33 × 5.744 m³
// = 151.6 g of chloride, 0.4823 of CaCl2·2H2O and 0.4756 of KCl.
func TestNitriteInTheTroutTank(t *testing.T) {
	v := judge(t, map[string]string{"tank": "trout 1", "ph": "6.4", "ammonia": "2 mg/L as N", "nitrite": "0.8 mg/L as N", "alkalinity": "2 dKH", "temp": "13 C"}, tankOfDemo(t, "trout 1"))
	if v.Word != "critical" || !v.Must() || v.NextTestH != 2 || v.Fish != "rainbow trout" || v.Group != "cold" {
		t.Errorf("%s, %g h, %s, %s", v.Word, v.NextTestH, v.Fish, v.Group)
	}
	if !strings.HasPrefix(v.Sentence, "Stop feeding: nitrite of 0.80 mg/L as N is a danger to the life of rainbow trout (above 0.5).") ||
		!strings.Contains(v.Sentence, "Add 315 g of calcium chloride") || !strings.HasSuffix(v.Sentence, "Test again in 2 hours.") {
		t.Errorf("%s", v.Sentence)
	}
	if ranks := orderOf(t, v); len(ranks) < 4 || ranks[0] != RankFeed || ranks[1] != RankAir || ranks[2] != RankWater || ranks[3] != RankChemistry {
		t.Errorf("ranks %v", ranks)
	}
	if !does(v, "Change a third of the water now, 1.91 m³ of 5.74 m³") || !does(v, "six changes of a third") || !does(v, "Add no base") {
		t.Errorf("%+v", v.Remedies)
	}
	if math.Abs(v.VolumeM3-5.744) > 1e-9 || len(v.Doses) != 2 || math.Abs(v.Doses[0].TotalG-314.4) > 0.1 || math.Abs(v.Doses[1].TotalG-318.8) > 0.1 || !v.Doses[1].Instead {
		t.Errorf("%g m³, %+v", v.VolumeM3, v.Doses)
	}
	for _, f := range v.Facts {
		if f.Source == "" || f.Text == "" {
			t.Errorf("figure without a source: %+v", f)
		}
	}
	if !slices.ContainsFunc(v.Sources, func(s string) bool { return strings.Contains(s, "emerson-1975") }) {
		t.Errorf("sources %v", v.Sources)
	}
	text, err := json.Marshal(v)
	if err != nil || strings.Contains(string(text), "null") {
		t.Errorf("as JSON: %v, %s", err, text)
	}
}

func TestChlorideByStockAndCrops(t *testing.T) {
	nitrite := map[string]string{"nitrite": "2 mg/L as N", "chloride": "10", "volume": "2000 L", "species": "catfish_channel"}
	// Source: [srac-462], ratio 20 on the nitrogen: 60 g of chloride, 124.4 g of
	// CaCl2·2H2O, 126.2 g of KCl, 98.9 g of NaCl.
	v := judge(t, nitrite, nil)
	if math.Abs(v.Doses[0].TotalG-124.4) > 0.1 || math.Abs(v.Doses[1].TotalG-126.2) > 0.1 {
		t.Errorf("with crops: %+v", v.Doses)
	}
	v = judge(t, nitrite, &Tank{Name: "hospital", VolumeM3: 2, WaterM3: 2, Alone: true})
	if v.Doses[0].Formula != "NaCl" || math.Abs(v.Doses[0].TotalG-98.9) > 0.1 {
		t.Errorf("without crops: %+v", v.Doses)
	}
	nitrite["chloride"] = "60"
	if v = judge(t, nitrite, nil); len(v.Doses) != 0 || !does(v, "No salt is needed now") {
		t.Errorf("with enough chloride: %+v", v.Remedies)
	}
	nitrite["chloride"], nitrite["species"] = "0", "bass_largemouth"
	if v = judge(t, nitrite, nil); len(v.Doses) != 0 || !does(v, "No salt: chloride does not") {
		t.Errorf("bass: %+v", v.Remedies)
	}
}

func TestAlarmsStopFeedingFirst(t *testing.T) {
	for name, typed := range map[string]map[string]string{
		"oxygen":         {"oxygen": "4.5", "temp": "13 C"},
		"nitrite":        {"nitrite": "0.2 mg/L as N"},
		"total ammonia":  {"ammonia": "1.5 mg/L as N"},
		"toxic ammonia":  {"ammonia": "0.9 mg/L as N", "ph": "8.4", "temp": "15 C"},
		"measured toxic": {"nh3": "0.05 mg/L as N"},
	} {
		typed["group"] = "cold"
		v := judge(t, typed, nil)
		ranks := orderOf(t, v)
		if !v.Must() || !strings.HasPrefix(v.Sentence, "Stop feeding: ") || len(ranks) < 2 || ranks[0] != RankFeed || ranks[1] != RankAir || !strings.HasPrefix(v.Remedies[0].Do, "Stop feeding") {
			t.Errorf("%s: %s %s %+v", name, v.Word, v.Sentence, v.Remedies)
		}
		if name != "oxygen" && !slices.Contains(ranks, RankWater) {
			t.Errorf("%s: no water is changed", name)
		}
	}
	v := judge(t, map[string]string{"group": "cold", "oxygen": "60 %", "temp": "13 C"}, nil)
	if !does(v, "60 % of saturation") || v.Word != "watch" || !does(v, "Halve the feed") {
		t.Errorf("%s: %+v", v.Sentence, v.Remedies)
	}
}

func TestBaseOnlyWhereSafe(t *testing.T) {
	soft := func(more ...string) map[string]string {
		out := map[string]string{"group": "cold", "volume": "2 m3", "ph": "6.4", "alkalinity": "10 mg/L as CaCO3", "temp": "13 C", "ammonia": "0.2 mg/L as N"}
		for i := 0; i+1 < len(more); i += 2 {
			out[more[i]] = more[i+1]
		}
		return out
	}
	v := judge(t, soft(), nil)
	d := v.Doses[0]
	if d.Formula != "KHCO3" || d.TargetPH != 7 || len(d.Parts) != 2 || d.FirstG > d.TotalG/3+1e-9 || d.FirstG > d.Parts[0].G || v.NextTestH != 6 {
		t.Errorf("%+v, next in %g h", d, v.NextTestH)
	}
	for _, p := range d.Parts {
		if p.NH3NGm3 > 0.0125 {
			t.Errorf("part %+v leaves the band", p)
		}
	}
	if !slices.ContainsFunc(v.Cautions, func(c string) bool { return strings.Contains(c, "goggles and gloves") }) || !slices.ContainsFunc(v.Cautions, func(c string) bool { return strings.Contains(c, "four times") }) {
		t.Errorf("cautions %v", v.Cautions)
	}
	for name, row := range map[string]struct {
		typed map[string]string
		want  string
	}{
		"ammonia unknown":   {soft("ammonia", ""), "Add no base before ammonia is measured"},
		"temp unknown":      {soft("temp", ""), "on the same day before any base"},
		"much ammonia":      {soft("ammonia", "2 mg/L as N"), "Add no base until ammonia is down"},
		"toxic at the goal": {soft("group", "tropical", "ammonia", "2.9 mg/L as N", "temp", "32 C", "ph", "6.3", "alkalinity", "12 mg/L as CaCO3", "nh3", "0.051 mg/L as N"), "Add no base"},
		"carbon dioxide":    {soft("alkalinity", "25 mg/L as CaCO3"), "Add no base yet: aerate"},
		"hardly possible":   {soft("ph", "6.0", "alkalinity", "49 mg/L as CaCO3"), "Measure again before any base"},
	} {
		v := judge(t, row.typed, nil)
		if !does(v, row.want) || slices.ContainsFunc(v.Doses, func(d Dose) bool { return d.TargetPH > 0 }) {
			t.Errorf("%s: %+v, doses %+v", name, v.Remedies, v.Doses)
		}
	}
	// Alkalinity alone is short: the goal is the low edge of its best band, 50.
	v = judge(t, soft("ph", "7.3", "alkalinity", "20 mg/L as CaCO3"), nil)
	if len(v.Doses) == 0 || !(v.Doses[0].TargetPH > 7.5 && v.Doses[0].TargetPH < 7.8) {
		t.Errorf("%+v", v.Doses)
	}
}

// A base whose pH would carry un-ionised ammonia out of its band is refused
// though every measured value but pH and alkalinity is good: cool water, TAN 0.9,
// 23 °C: at pH 7.7 some 2.4 % of it would be un-ionised.
func TestNoBaseIntoAmmonia(t *testing.T) {
	v := judge(t, map[string]string{"group": "cool", "ph": "7.3", "alkalinity": "19 mg/L as CaCO3", "temp": "23 C", "ammonia": "0.9 mg/L as N"}, nil)
	if f := v.Gauges[slices.IndexFunc(v.Gauges, func(g Gauge) bool { return g.Name == "un-ionised ammonia" })]; f.Verdict != "good" {
		t.Fatalf("ammonia is not good to begin with: %+v", f)
	}
	if len(v.Doses) != 0 || !does(v, "un-ionised ammonia would leave the band of 0.02") {
		t.Errorf("%+v, %+v", v.Remedies, v.Doses)
	}
}

func TestGoodWater(t *testing.T) {
	v := judge(t, map[string]string{"species": "tilapia_nile", "ph": "7.2", "temp": "28 C", "ammonia": "0.3 mg/L as N", "alkalinity": "1.6 meq/L", "oxygen": "6", "nitrite": "0"}, nil)
	if v.Word != "good" || v.Must() || len(v.Remedies) != 0 || v.NextTest != "in 3 days" || v.Sentence != "The water is good for Nile tilapia by all 8 values, measured and worked out. Test again in 3 days." {
		t.Errorf("%s %s %+v", v.Word, v.Sentence, v.Remedies)
	}
	if v.Possible != "These values can stand together." || len(v.Doubts) != 0 {
		t.Errorf("%s %v", v.Possible, v.Doubts)
	}
	v = judge(t, map[string]string{"group": "cold", "ph": "7"}, nil)
	if !strings.HasPrefix(v.Sentence, "What was measured is good for cold-water fish, but it is too little to call the water good") || !strings.HasPrefix(v.Possible, "Too few") {
		t.Errorf("%s %s", v.Sentence, v.Possible)
	}
	v = judge(t, map[string]string{"group": "cold", "hardness": "8 °dH"}, nil)
	if !strings.HasPrefix(v.Sentence, "None of the values typed has limits") {
		t.Errorf("%s", v.Sentence)
	}
}

func TestAirAndAmmonia(t *testing.T) {
	v := judge(t, map[string]string{"group": "cold", "ph": "6.6", "alkalinity": "100 mg/L as CaCO3", "temp": "14 C", "ammonia": "0.9 mg/L as N"}, nil)
	if !does(v, "step by step") || !does(v, "with all carbon dioxide driven out") {
		t.Errorf("%+v", v.Remedies)
	}
	v = judge(t, map[string]string{"group": "cold", "ph": "6.6", "alkalinity": "100 mg/L as CaCO3", "temp": "14 C", "ammonia": "0"}, nil)
	if !does(v, "Aerate or let the water fall") || does(v, "driven out") {
		t.Errorf("%+v", v.Remedies)
	}
}

func TestTankOf(t *testing.T) {
	s := demo(t)
	if names := TankNames(s); !slices.Contains(names, "trout 1") || !slices.Contains(names, "tilapia") {
		t.Fatalf("tanks %v", names)
	}
	// The north loop: sump 1.2 and two tanks of 1.6 m³; six media beds of 2.88 m² × 0.30 m hold a
	// tenth on their stones (0.518 m³), 30 mm below the siphon break (0.42 × 2.869 + 0.011 m² of
	// free water each: 0.219 m³), and of the 270 L of a flood half while it comes and goes, some
	// 13 min in 86 by day and 120 by night (0.12 m³); 6 m² of towers 8 mm: 5.31 m³.
	tank, err := TankOf(s, " Trout 1 ")
	if err != nil || math.Abs(tank.WaterM3-5.31) > 0.02 || tank.VolumeM3 != 1.6 || tank.Group != "cold" || tank.Fish != "rainbow trout" || !tank.Crops || tank.Source == nil || tank.WaterC.Amount != 13 {
		t.Errorf("%+v, %v", tank, err)
	}
	// 12 m above the sea, standard air: 101.325·(1 − 2.25577e-5·12)^5.25588 kPa.
	if math.Abs(tank.AirKPa-101.181) > 2e-3 {
		t.Errorf("air of %g kPa", tank.AirKPa)
	}
	if _, err := TankOf(s, "pond"); err == nil || !strings.Contains(err.Error(), "trout 1") {
		t.Errorf("unknown tank: %v", err)
	}
	if _, err := TankOf(&site.Site{}, "pond"); err == nil || !strings.Contains(err.Error(), "has no tank") {
		t.Errorf("no tanks: %v", err)
	}
	s.Loops[0].Tanks[0].Role = "quarantine"
	if tank, err = TankOf(s, "trout 1"); err != nil || tank.WaterM3 != 1.6 || tank.Crops {
		t.Errorf("quarantine: %+v, %v", tank, err)
	}
	s.Opening.Cohorts = append(s.Opening.Cohorts, site.Cohort{Species: "perch_yellow", Tank: "tilapia"})
	if tank, err = TankOf(s, "tilapia"); err != nil || tank.Group != "cool" || tank.Fish != "Nile tilapia and yellow perch" {
		t.Errorf("mixed: %+v, %v", tank, err)
	}
	s.Units = "us-customary"
	v := judge(t, map[string]string{"ph": "7"}, tankOf2(t, s, "trout 2"))
	if !strings.Contains(v.Water, " gal") {
		t.Errorf("in US units: %s", v.Water)
	}
}

func tankOf2(t *testing.T, s *site.Site, name string) *Tank {
	t.Helper()
	tank, err := TankOf(s, name)
	if err != nil {
		t.Fatal(err)
	}
	return tank
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{digits(0), "0"}, {digits(0.8), "0.8"}, {digits(1470), "1470"}, {digits(22.594), "22.6"}, {trace(0.000467), "0.00047"}, {trace(0.00001), "under 0.0001"}, {trace(0.45), "0.45"},
		{grams(240.8), "240 g"}, {grams(88.1), "88 g"}, {grams(4.21), "4.2 g"}, {grams(0.05), "50 mg"}, {grams(1234), "1.23 kg"}, {grams(23456), "23.5 kg"},
		{within(2), "in 2 hours"}, {within(72), "in 3 days"}, {times(6), "six changes"}, {times(12), "12 changes"}, {full("a."), "a."}, {days(1), "a day"}, {days(3), "3 days"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// Whatever is typed within the ranges is judged or refused; an alarm always stops
// the feed first, and no base is ever offered that makes ammonia leave its band.
func TestJudgeHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Reading{Group: rapid.SampledFrom(choiceWords(Groups())).Draw(t, "group"), Understood: []Understood{{Field: "ph"}}}
		draw := func(name string, lo, hi float64) water.Figure {
			return water.Figure{Amount: rapid.Float64Range(lo, hi).Draw(t, name), Known: rapid.Bool().Draw(t, name+" known")}
		}
		s := &r.Sample
		s.TempC, s.PH, s.AlkEqM3 = draw("temp", -0.5, 45), draw("ph", 0, 14), draw("alk", -10, 50)
		s.TANGm3, s.NO2NGm3, s.NO3NGm3 = draw("tan", 0, 20), draw("no2", 0, 20), draw("no3", 0, 800)
		s.DOGm3, s.HardnessGm3, s.ECDSm, s.ChlorideGm3 = draw("do", 0, 20), draw("gh", 0, 800), draw("ec", 0, 6), draw("cl", 0, 500)
		for _, f := range []*water.Figure{&s.TempC, &s.PH, &s.AlkEqM3, &s.TANGm3, &s.NO2NGm3, &s.NO3NGm3, &s.DOGm3, &s.HardnessGm3, &s.ECDSm, &s.ChlorideGm3} {
			if !f.Known {
				f.Amount = 0
			}
		}
		v, err := Judge(r, nil)
		var refused *InputError
		if err != nil {
			if !errors.As(err, &refused) {
				t.Fatalf("not a refusal: %v", err)
			}
			return
		}
		limit, _ := water.LimitOf(water.Group(r.Group), water.NH3NParameter)
		alarm := false
		for _, g := range v.Gauges {
			bad := g.Verdict == "act" || g.Verdict == "critical"
			alarm = alarm || bad && (g.Name == "oxygen" || g.Name == "nitrite" || strings.HasSuffix(g.Name, "ammonia"))
		}
		if alarm != (len(v.Remedies) > 0 && strings.HasPrefix(v.Remedies[0].Do, "Stop feeding")) {
			t.Fatalf("alarm %v, but %+v", alarm, v.Remedies)
		}
		for _, d := range v.Doses {
			for _, p := range d.Parts {
				if p.NH3NGm3 > limit.OptHigh.Amount || !(p.G >= 0) || math.IsInf(p.G, 0) {
					t.Fatalf("part %+v", p)
				}
			}
			if d.TargetPH > 0 && (!s.TANGm3.Known || !s.AlkEqM3.Known) {
				t.Fatalf("a base without ammonia or alkalinity: %+v", d)
			}
		}
		if _, err := json.Marshal(v); err != nil {
			t.Fatal(err)
		}
	})
}

// FuzzParse: no text a person types breaks the reading, and what is read is
// within the field's range.
func FuzzParse(f *testing.F) {
	for _, seed := range []string{"2 mg/L as N", "0,5 ppm", "4 dKH", "92 %", "", "1e99", "−3", "2 mg/L as NO₃ as", "\x00"} {
		f.Add("ammonia", seed)
		f.Add("oxygen", seed)
	}
	f.Fuzz(func(t *testing.T, field, text string) {
		r, _, err := Parse(map[string]string{field: text})
		if err != nil {
			var refused *InputError
			if !errors.As(err, &refused) || refused.Sentence == "" {
				t.Fatalf("%q: %v", text, err)
			}
			return
		}
		if n := r.Sample.TANGm3.Amount; !(n >= 0 && n <= 2000) {
			t.Fatalf("%q read as %g", text, n)
		}
	})
}

// Oxygen that kills within the hour is tested again within it, air is in the first
// sentence, and values that cannot stand together are not acted on.
func TestFirstSentences(t *testing.T) {
	tank := tankOfDemo(t, "trout 1")
	v := judge(t, map[string]string{"tank": "trout 1", "oxygen": "2 mg/L", "temp": "13 C"}, tank)
	if v.NextTestH != 0.25 || !strings.Contains(v.Sentence, "Aerate now") || !strings.HasSuffix(v.Sentence, "Test again in 15 minutes.") {
		t.Errorf("%g h: %s", v.NextTestH, v.Sentence)
	}
	v = judge(t, map[string]string{"tank": "trout 1", "ph": "5.5", "alkalinity": "10 dKH", "temp": "13 C"}, tank)
	if !strings.HasPrefix(v.Sentence, "Measure again: these values can hardly stand together.") || strings.Contains(v.Sentence, "Change a third") {
		t.Errorf("%s", v.Sentence)
	}
}

// Very high nitrite: chloride stops at 200 mg/L and says that it does not cover it;
// oxygen far above saturation is no good water.
func TestCeilings(t *testing.T) {
	tank := tankOfDemo(t, "trout 1")
	v := judge(t, map[string]string{"tank": "trout 1", "nitrite": "10 mg/L as N", "temp": "13 C", "chloride": "0 mg/L"}, tank)
	if len(v.Doses) == 0 {
		t.Fatalf("no dose: %s", v.Sentence)
	}
	// 200 g/m³ in 5.744 m³ by a salt of 0.4823 chloride.
	if d := v.Doses[0]; math.Abs(d.TotalG-200*5.744/0.4823) > 2 || !strings.Contains(d.Remark, "does not cover this nitrite") {
		t.Errorf("%+v", d)
	}
	v = judge(t, map[string]string{"tank": "trout 1", "ph": "7", "oxygen": "25 mg/L", "temp": "13 C"}, tank)
	if v.Word != "watch" || !strings.Contains(v.Sentence, "calibrate the probe") {
		t.Errorf("%s: %s", v.Word, v.Sentence)
	}
}
