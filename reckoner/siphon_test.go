package reckoner_test

import (
	"strings"
	"testing"

	"tidebed/reckoner"
)

// Names of keys and outputs of siphons stay.
func TestSiphonNamesStay(t *testing.T) {
	checkNames(t, []signature{{
		"siphon", "bed-area porosity guard-area diameter length k crest siphon-break outlet flow temp rim",
		"startM3s breakM3s fillS drainS periodS dischargedM3 verdict",
	}})
}

const (
	g1 = "bed-area=0.60 m2|porosity=0.45|guard-area=95 cm2|diameter=21.0 mm|length=0.60 m|k=4.95|crest=180 mm|siphon-break=3 cm|outlet=-30 cm"
	g2 = "bed-area=1.20 m2|porosity=45 %|guard-area=0.0095 m2|diameter=26.64 mm|length=1 m|k=4.95|crest=0.22 m|siphon-break=30 mm|outlet=-0.40 m"
	g3 = "bed-area=2.88 m2|porosity=0.40|guard-area=0.0177 m2|diameter=40.9 mm|length=1.50 m|k=5.85|crest=0.25 m|siphon-break=40 mm|outlet=-0.60 m"
)

// Goldens of another program, a general integrator; in several units.
func TestSiphonRun(t *testing.T) {
	const lMin = 1.0 / 60000
	checkSums(t, []sum{
		{"siphon", g1 + "|flow=6 L/min", "startM3s", 4.904 * lMin, 6e-4 * lMin},
		{"siphon", g1 + "|flow=6 L/min", "breakM3s", 22.215 * lMin, 6e-4 * lMin},
		{"siphon", g1 + "|flow=6 L/min|temp=71.6F", "periodS", 592.2, 0.11},
		{"siphon", g2 + "|flow=11 L/min", "fillS", 618.3, 0.06},
		{"siphon", g2 + "|flow=660 L/h", "drainS", 195.0, 0.06},
		{"siphon", g2 + "|flow=11 L/min|rim=30 cm", "dischargedM3", 0.14910, 6e-5},
		{"siphon", g3 + "|flow=30 L/min", "fillS", 559.3, 0.06},
		{"siphon", g3 + "|flow=30 L/min", "dischargedM3", 0.3693, 6e-5},
		{"siphon", g2 + "|flow=38 L/min", "drainS", 1156.4, 0.06},
	})
}

// Each verdict, what it leaves without an answer and what it says.
func TestSiphonVerdicts(t *testing.T) {
	for _, row := range []struct{ flow, verdict, nulls, says string }{
		{"0 L/min", "will-not-start", "fillS drainS periodS dischargedM3", "stays at 220 mm"},
		{"4 L/min", "will-not-start", "fillS drainS periodS dischargedM3", "8.89 L/min"},
		{"7 L/min", "doubtful", "fillS drainS periodS dischargedM3", "may start or not"},
		{"11 L/min", "should-start", "", "not sure"},
		{"20 L/min", "starts", "", ""},
		{"36 L/min", "starts", "", "snorkel"},
		{"42 L/min", "never-stops", "drainS periodS dischargedM3", "stays at 67 mm"},
		{"60 L/min", "overflows", "drainS periodS dischargedM3", "0.54 m"},
	} {
		r, ok := answered(t, "siphon", g2+"|flow="+row.flow)
		if !ok {
			continue
		}
		var nulls []string
		for _, name := range []string{"startM3s", "breakM3s", "fillS", "drainS", "periodS", "dischargedM3", "verdict"} {
			if v, there := r.Outputs[name]; !there || v == nil {
				nulls = append(nulls, name)
			}
		}
		if got := strings.Join(nulls, " "); r.Outputs["verdict"] != row.verdict || got != row.nulls || r.NoAnswer() != (row.nulls != "") {
			t.Errorf("%s: %v without %q, want %s without %q", row.flow, r.Outputs["verdict"], got, row.verdict, row.nulls)
		}
		if !strings.Contains(strings.Join(r.Warnings, " "), row.says) {
			t.Errorf("%s: warnings %q, want %q", row.flow, r.Warnings, row.says)
		}
		for _, w := range r.Warnings {
			if !strings.HasSuffix(w, ".") {
				t.Errorf("%q does not end like a sentence", w)
			}
		}
	}
	// A rim below the level at which it would start.
	r, ok := answered(t, "siphon", g2+"|flow=11 L/min|rim=0.225 m")
	if ok && (r.Outputs["verdict"] != "overflows" || r.Outputs["fillS"] != nil) {
		t.Errorf("a low rim: %v", r.Outputs)
	}
	short := strings.NewReplacer("outlet=-0.40 m", "outlet=-2 cm", "length=1 m", "length=25 cm").Replace(g2)
	if r, ok = answered(t, "siphon", short+"|flow=11 L/min"); ok && !strings.Contains(strings.Join(r.Warnings, " "), "will not hold") {
		t.Errorf("a short fall: %q", r.Warnings)
	}
}

func TestSiphonRefusals(t *testing.T) {
	with := func(old, new string) string { return strings.Replace(g2, old, new, 1) + "|flow=11 L/min" }
	checkRefusals(t, []refusal{
		{"siphon", with("siphon-break=30 mm", "siphon-break=22 cm"), "siphon-break", "crest"},
		{"siphon", with("outlet=-0.40 m", "outlet=3 cm"), "outlet", "never stop"},
		{"siphon", g2 + "|flow=11 L/min|rim=22 cm", "rim", "crest"},
		{"siphon", with("guard-area=0.0095 m2", "guard-area=1.2 m2"), "guard-area", "less"},
		{"siphon", with("porosity=45 %", "porosity=1"), "porosity", ""},
		{"siphon", with("porosity=45 %", "porosity=0"), "porosity", ""},
		{"siphon", with("diameter=26.64 mm", "diameter=0 mm"), "diameter", ""},
		{"siphon", with("diameter=26.64 mm", "diameter=26.64"), "diameter", "unit"},
		{"siphon", with("k=4.95", "k=-1"), "k", ""},
		{"siphon", with("length=1 m", "length=0 m"), "length", ""},
		{"siphon", with("outlet=-0.40 m", "outlet=-15 m"), "outlet", "boils"},
		{"siphon", g2, "flow", "missing"},
		{"siphon", g2 + "|flow=-1 L/min", "flow", ""},
		{"siphon", g2 + "|flow=11 L/min|temp=46C", "temp", ""},
	})
	if _, err := reckoner.Find("siphon"); err != nil {
		t.Error(err)
	}
}
