package reckoner_test

import (
	"strconv"
	"strings"
	"testing"

	"tidebed/reckoner"
)

// Names of keys and outputs of pipes and pumps stay.
func TestPipeNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"pipe-loss", "flow diameter length roughness k temp method c", "re friction headM velocityMS"},
		{"pipe-flow", "head diameter length roughness k temp", "flowM3s"},
		{"pump-fit", "p0 p1 p2", "h0M r n qMaxM3s"},
		{"pump-duty", "points lift diameter length roughness k temp watts", "flowM3s headM efficiency"},
		{"npsh", "temp elevation surface-height suction-loss", "npshM"},
		{"weep-drain", "area hole from to", "seconds"},
		{"manning-half-full", "diameter slope n", "flowM3s velocityMS"},
		{"bed-load", "depth density porosity flood", "kgM2 kPa"},
	})
}

const (
	hose = "diameter=26.64 mm|length=10 m"
	duty = "points=0 L/min:3.0 m; 15 L/min:2.75 m; 30 L/min:2.10 m|diameter=26.64 mm|length=3 m|k=4"
)

// Values of EPANET (its g is 0.08 % larger), and worked out by another program,
// in several units.
func TestPipeRun(t *testing.T) {
	checkSums(t, []sum{
		{"pipe-loss", "flow=20 L/min|" + hose, "headM", 0.188107, 0.0002},
		{"pipe-loss", "flow=1200 L/h|diameter=1.0488 in|length=32.808 ft|temp=68F", "headM", 0.188107, 0.0003},
		{"pipe-loss", "flow=20 L/min|" + hose, "re", 15877, 10},
		{"pipe-loss", "flow=3,5 L/min|" + hose, "friction", 0.030844, 1e-5},
		{"pipe-loss", "flow=20 L/min|method=colebrook|" + hose, "headM", 0.188363, 5e-5},
		{"pipe-loss", "flow=60 L/min|method=hazen-williams|c=150|" + hose, "headM", 1.289203, 0.0005},
		{"pipe-loss", "flow=200 L/min|temp=30C|method=colebrook|roughness=0 m|diameter=52.5 mm|length=1 m", "friction", 0.01795, 1e-5},
		{"pipe-flow", "head=1.5 m|k=1.5|" + hose, "flowM3s", 58.8905 / 60000, 1e-6},
		{"pipe-flow", "head=0 m|" + hose, "flowM3s", 0, 0},
		{"pump-fit", "p0=0 L/min:3.0 m|p1=15 L/min:2.75 m|p2=30 L/min:2.10 m", "n", 1.847997, 1e-6},
		{"pump-fit", "p0=0 L/min:3.0 m|p1=15 L/min:2.75 m|p2=30 L/min:2.10 m", "r", 1.676977e-3, 1e-9},
		{"pump-fit", "p0=0 m3/h:300 cm|p1=0.9 m3/h:2.75 m|p2=1.8 m3/h:2.1 m", "qMaxM3s", 57.55 / 60000, 1e-7},
		{"pump-fit", "p0=0 L/min:3.0 m|p1=15 L/min:2.75 m|p2=30 L/min:2.10 m", "h0M", 3, 0},
		{"npsh", "temp=22C|elevation=0 m|surface-height=-0.5 m|suction-loss=0.3 m", "npshM", 9.285, 0.0006},
		{"npsh", "temp=40C|elevation=1500 m|surface-height=-0.5 m|suction-loss=0.3 m", "npshM", 7.131, 0.0006},
		{"weep-drain", "area=0.54 m2|hole=8 mm|from=0.22 m|to=0.02 m", "seconds", 2563.6, 0.1},
		{"manning-half-full", "diameter=40.9 mm|slope=0.0208333", "flowM3s", 22.33 / 60000, 1e-7},
		{"manning-half-full", "diameter=102.3 mm|slope=1 %", "velocityMS", 0.723, 0.0006},
		{"bed-load", "depth=30 cm|density=1600 kg/m3|porosity=40 %|flood=0.25 m", "kgM2", 579.8, 0.05},
		{"bed-load", "depth=30 cm|density=500 kg/m3|porosity=0.45|flood=0.25 m", "kPa", 2.57, 0.005},
	})
}

// The duty point lies on the pump's curve and on the pipe's.
func TestPumpDuty(t *testing.T) {
	r, ok := answered(t, "pump-duty", duty+"|lift=1 m|watts=45")
	if !ok {
		return
	}
	q, head := r.Outputs["flowM3s"].(float64), r.Outputs["headM"].(float64)
	lost, err := reckoner.Run("pipe-flow", map[string]string{"head": strconv.FormatFloat(head-1, 'g', -1, 64) + " m", "diameter": "26.64 mm", "length": "3 m", "k": "4"})
	if err != nil {
		t.Fatal(err)
	}
	if other := lost.Outputs["flowM3s"].(float64); !(other/q-1 < 1e-9 && q/other-1 < 1e-9) {
		t.Errorf("the pump gives %g m3/s, the pipe takes %g", q, other)
	}
	if share := r.Outputs["efficiency"].(float64); !(share/(998.2041*9.80665*q*head/45)-1 < 1e-6 && share > 0.1) {
		t.Errorf("efficiency %g", share)
	}
	r, ok = answered(t, "pump-duty", duty+"|lift=0 m")
	if _, there := r.Outputs["efficiency"]; ok && there {
		t.Error("an efficiency without watts")
	}
	if !strings.Contains(strings.Join(r.Warnings, " "), "last point") {
		t.Errorf("beyond the last point: warnings %q", r.Warnings)
	}
}

func TestPipeSilence(t *testing.T) {
	checkSilences(t, []silence{{"pipe-loss", "flow=0 L/min|" + hose, "friction", "at rest"}})
}

// What deserves a word gets one, and what does not gets none.
func TestPipeWarnings(t *testing.T) {
	for _, row := range []struct{ entry, inputs, says string }{
		{"pipe-loss", "flow=100 L/min|" + hose, "2 m/s"},
		{"pipe-loss", "flow=3.5 L/min|" + hose, "between laminar"},
		{"pipe-loss", "flow=10 L/min|" + hose, "solids settle"},
		{"pipe-loss", "flow=30 L/min|" + hose, ""},
		{"pipe-loss", "flow=30 L/min|method=hazen-williams|" + hose, "50 mm"},
		{"npsh", "temp=22C|elevation=0 m|surface-height=-11 m|suction-loss=0.3 m", "boils"},
		{"manning-half-full", "diameter=40.9 mm|slope=0.01", "2.1 %"},
		{"bed-load", "depth=30 cm|density=1600 kg/m3|porosity=60 %|flood=0.25 m", "structural engineer"},
		{"bed-load", "depth=5 cm|density=500 kg/m3|porosity=60 %|flood=0.05 m", "25 to 55"},
		{"pump-duty", duty + "|lift=1 m|watts=11", "too good"},
	} {
		r, ok := answered(t, row.entry, row.inputs)
		said := strings.Join(r.Warnings, " ")
		if ok && (!strings.Contains(said, row.says) || row.says == "" && said != "") {
			t.Errorf("%s %s: warnings %q, want %q", row.entry, row.inputs, r.Warnings, row.says)
		}
	}
}

func TestPipeRefusals(t *testing.T) {
	const fit = "p0=0 L/min:3 m|p1=15 L/min:2.75 m|"
	checkRefusals(t, []refusal{
		{"pipe-loss", "flow=20 L/min|diameter=0 mm|length=10 m", "diameter", "0.5 mm"},
		{"pipe-loss", "flow=20 L/min|diameter=20 mm|length=0 m", "length", "100 km"},
		{"pipe-loss", "flow=20 L/min|roughness=2.664 mm|" + hose, "roughness", "tenth"},
		{"pipe-loss", "flow=20 L/min|k=-1|" + hose, "k", "0 to"},
		{"pipe-loss", "flow=20 L/min|temp=46C|" + hose, "temp", "45"},
		{"pipe-loss", "flow=20 L/min|temp=-1C|" + hose, "temp", "0"},
		{"pipe-loss", "flow=20 L/min|method=chezy|" + hose, "method", "smooth"},
		{"pipe-loss", "flow=20|" + hose, "flow", ""},
		{"pipe-loss", "flow=600000 L/min|diameter=0.5 mm|length=1 m", "", "Reynolds"},
		{"pipe-flow", "head=-1 m|" + hose, "head", ""},
		{"pump-fit", "p0=1 L/min:3 m|p1=15 L/min:2.75 m|p2=30 L/min:2.1 m", "p0", "no flow"},
		{"pump-fit", fit + "p2=30 L/min:2.8 m", "p2", "falls"},
		{"pump-fit", fit + "p2=12 L/min:2 m", "p2", "above"},
		{"pump-fit", fit + "p2=30 L/min", "p2", "colon"},
		{"pump-fit", fit + "p2=30 L/min:-1 m", "p2", "0 to"},
		{"pump-fit", "p0=0 L/min:3 m|p1=15 L/min:2.999999 m|p2=16 L/min:0 m", "p2", "xponent"},
		{"pump-duty", duty + "|lift=3 m", "lift", "cannot lift"},
		{"pump-duty", duty + "|lift=-50 m", "lift", "by itself"},
		{"pump-duty", strings.Replace(duty, "2.10 m", "2.9 m", 1) + "|lift=1 m", "points", "fall"},
		{"pump-duty", duty + "|lift=1 m|watts=5", "watts", "more power out than in"},
		{"npsh", "temp=22C|elevation=0 m|surface-height=0 m", "suction-loss", "missing"},
		{"weep-drain", "area=0.54 m2|hole=8 mm|from=0.02 m|to=0.22 m", "to", "at most"},
		{"weep-drain", "area=0 m2|hole=8 mm|from=0.2 m|to=0.1 m", "area", "above 0"},
		{"manning-half-full", "diameter=40 mm|slope=0", "slope", "above 0"},
		{"bed-load", "depth=0.3 m|density=1600 kg/m3|porosity=1|flood=0.25 m", "porosity", "below 1"},
		{"bed-load", "depth=0.3 m|density=1600 kg/m3|porosity=0|flood=0.25 m", "porosity", "above 0"},
	})
}
