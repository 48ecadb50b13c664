package reckoner_test

import (
	"strconv"
	"strings"
	"testing"

	"tidebed/reckoner"
)

// Names of keys and outputs of sizes, blows, overflows, power and turns stay.
func TestPipeMoreNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"pipe-size", "flow velocity family", "diameterM wider widerVelocityMS narrower narrowerVelocityMS"},
		{"overflow-pipe", "flow diameter", "flowM3s diameterM"},
		{"drain-part-full", "diameter slope fill n", "flowM3s velocityMS"},
		{"water-hammer", "velocity length diameter wall material temp", "waveMS headM closingS"},
		{"pump-speed", "points ratio flow watts", "h0M qMaxM3s headM wireW"},
		{"pump-power", "flow head watts hours price temp", "hydraulicW efficiency kWhDay kWhYear costYear"},
		{"valve-k", "kv cv diameter", "k"},
		{"bucket-flow", "volume time", "flowM3s"},
		{"siphon-calibration", "bed-area porosity guard-area diameter length outlet from to time temp", "k kTotal meanFlowM3s"},
		{"jet-impact", "flow diameter drop temp", "exitMS velocityMS powerW"},
		{"floods-timetable", "beds flow volume margin gap floods", "openS cycleS floodsHourMost duty"},
		{"turnover", "flow volume duty", "perHour minutes"},
	})
}

const (
	schedule40  = "velocity=1 m/s|length=6 m|diameter=26.64 mm|wall=3.38 mm"
	curve       = "points=0 L/min:3.0 m; 15 L/min:2.75 m; 30 L/min:2.10 m"
	drained     = "bed-area=1.20 m2|porosity=45 %|guard-area=0.0095 m2|diameter=26.64 mm|length=1 m|outlet=-0.40 m|from=0.22 m|to=0.03 m"
	threeInTurn = "beds=3|flow=24.81 L/min|volume=109.05 L"
)

func TestPipeMoreRun(t *testing.T) {
	const lMin = 1.0 / 60000
	checkSums(t, []sum{
		// Worked out by another program.
		{"water-hammer", schedule40, "waveMS", 570, 0.5},
		{"water-hammer", schedule40, "headM", 58, 0.5},
		{"water-hammer", schedule40, "closingS", 0.2105, 0.0002},
		{"overflow-pipe", "diameter=25 mm", "flowM3s", 4.5 * lMin, 0.06 * lMin},
		{"overflow-pipe", "diameter=26.64 mm", "flowM3s", 5.30 * lMin, 0.006 * lMin},
		{"overflow-pipe", "flow=28.89 L/min", "diameterM", 0.0525, 1e-5},
		{"drain-part-full", "diameter=52.5 mm|slope=0.0208333|fill=50 %", "flowM3s", 43.46 * lMin, 0.006 * lMin},
		// Ratios of [nspc-2009]: three quarters 1.82 of the flow of half, 1.13 of its velocity.
		{"drain-part-full", "diameter=52.5 mm|slope=2.08333 %|fill=0.75", "flowM3s", 1.82 * 43.46 * lMin, 0.005 * 80 * lMin},
		{"drain-part-full", "diameter=52.5 mm|slope=2.08333 %|fill=0.75", "velocityMS", 1.13 * 0.669, 0.004},
		{"pump-speed", curve + "|ratio=0.8|flow=20 L/min|watts=36 W", "headM", 1.5088, 6e-5},
		{"pump-speed", curve + "|ratio=0.8|flow=12 L/min|watts=36", "headM", 1.76, 1e-6},
		{"pump-speed", curve + "|ratio=0.8|watts=36", "wireW", 18.4, 0.05},
		{"pump-speed", curve + "|ratio=0.8", "qMaxM3s", 0.8 * 57.55 * lMin, 0.006 * lMin},
		{"pump-power", "flow=17.42 L/min|head=1.722 m|watts=24.16|temp=22C", "efficiency", 0.202, 0.0006},
		{"pump-power", "flow=17.42 L/min|head=1.722 m|watts=24.16", "kWhDay", 0.580, 0.0006},
		{"pump-power", "flow=86.7 L/min|head=1.777 m|watts=119.1|price=0.30", "costYear", 2.859 * 365 * 0.30, 0.1},
		// Kv 10 in 26.64 mm by hand; Cv 10 is 8.65 of Kv.
		{"valve-k", "kv=10|diameter=26.64 mm", "k", 8.060, 0.001},
		{"valve-k", "cv=10|diameter=26.64 mm", "k", 8.060 / (0.865 * 0.865), 0.0015},
		{"bucket-flow", "volume=10 L|time=40 s", "flowM3s", 15 * lMin, 1e-12},
		{"bucket-flow", "volume=5 gal|time=1 min", "flowM3s", 5 * 3.785411784e-3 / 60, 1e-12},
		// Bed G2: 140.0 s from the crest to the break with K 4.95.
		{"siphon-calibration", drained + "|time=140.0 s", "k", 4.95, 0.02},
		{"siphon-calibration", drained + "|time=140.0 s", "meanFlowM3s", 0.545225 * 0.19 / 140, 1e-9},
		{"jet-impact", "flow=1.2 L/s|diameter=35.6825 mm|drop=0.40 m", "velocityMS", 3.047, 0.0006},
		{"jet-impact", "flow=60 L/min|diameter=26.64 mm|drop=0.5 m", "powerW", 998.2041 * 9.80665 * 1e-3 * 0.5, 1e-5},
		{"floods-timetable", threeInTurn, "openS", 109.05/24.81*60 + 30, 0.01},
		{"floods-timetable", threeInTurn, "floodsHourMost", 3600 / (3 * (109.05/24.81*60 + 30)), 1e-4},
		{"floods-timetable", threeInTurn + "|margin=36.3 s|floods=3", "duty", 0.75, 0.0002},
		{"floods-timetable", threeInTurn, "duty", 1, 1e-12},
		{"turnover", "flow=30 L/min|volume=1.8 m3", "perHour", 1, 1e-12},
		{"turnover", "flow=30 L/min|volume=1.8 m3|duty=50 %", "minutes", 120, 1e-9},
		{"pipe-size", "flow=60 L/min", "diameterM", 0.035682, 1e-6},
		{"pipe-size", "flow=60 L/min|family=PVC Sch 40", "widerVelocityMS", 0.76114, 1e-4},
		{"pipe-size", "flow=60 L/min|family=pvc-sch-40", "narrowerVelocityMS", 1.03703, 1e-4},
	})
	r, ok := answered(t, "pipe-size", "flow=60 L/min|family=pvc-sch-40")
	if ok && (r.Outputs["wider"] != "pvc-sch-40-1.5-in" || r.Outputs["narrower"] != "pvc-sch-40-1.25-in") {
		t.Errorf("sizes %v", r.Outputs)
	}
	for _, row := range []struct{ entry, inputs, absent string }{
		{"pipe-size", "flow=60 L/min", "wider"}, {"overflow-pipe", "diameter=25 mm", "diameterM"}, {"overflow-pipe", "flow=25 L/min", "flowM3s"},
		{"pump-speed", curve + "|ratio=0.8", "headM"}, {"pump-power", "flow=17 L/min|head=1.7 m|watts=24", "costYear"},
	} {
		if r, ok := answered(t, row.entry, row.inputs); ok {
			if _, there := r.Outputs[row.absent]; there {
				t.Errorf("%s %s gives %s", row.entry, row.inputs, row.absent)
			}
		}
	}
}

// What calibration finds drains the siphon in that time.
func TestCalibrationGoesBack(t *testing.T) {
	r, ok := answered(t, "siphon-calibration", drained+"|time=170 s")
	if !ok {
		return
	}
	k := strconv.FormatFloat(r.Outputs["k"].(float64), 'g', -1, 64)
	back, err := reckoner.Run("siphon-calibration", typed(drained+"|time=170 s"))
	if err != nil || back.Outputs["k"] != r.Outputs["k"] {
		t.Errorf("again: %v, %v", back.Outputs, err)
	}
	with, ok := answered(t, "siphon", strings.Replace(g2, "k=4.95", "k="+k, 1)+"|flow=15 L/min")
	without, good := answered(t, "siphon", g2+"|flow=15 L/min")
	if ok && good && !(with.Outputs["drainS"].(float64) > 1.15*without.Outputs["drainS"].(float64)) {
		t.Errorf("drain %v with k %s, %v with 4.95", with.Outputs["drainS"], k, without.Outputs["drainS"])
	}
}

func TestPipeMoreSilence(t *testing.T) {
	checkSilences(t, []silence{
		{"floods-timetable", threeInTurn + "|floods=5", "duty", "do not fit"},
		{"pipe-size", "flow=3000 L/min|family=flexible-hose", "wider", "no size wider"},
		{"pipe-size", "flow=1 L/min|family=pvc-sch-80", "narrower", "no size narrower"},
	})
}

func TestPipeMoreWarnings(t *testing.T) {
	for _, row := range []struct{ entry, inputs, says string }{
		{"pipe-size", "flow=60 L/min|velocity=2.5 m/s", "hammer"},
		{"pipe-size", "flow=60 L/min|velocity=0.5 m/s", "settle"},
		{"pipe-size", "flow=60 L/min", ""},
		{"overflow-pipe", "flow=60 L/min", "12 to 52"},
		{"overflow-pipe", "flow=10 L/min", ""},
		{"drain-part-full", "diameter=40.9 mm|slope=0.01|fill=0.9", "2.1 %"},
		{"drain-part-full", "diameter=40.9 mm|slope=0.03|fill=0.9", "half"},
		{"drain-part-full", "diameter=40.9 mm|slope=0.03|fill=0.2", "settle"},
		{"water-hammer", schedule40, ""},
		{"water-hammer", strings.Replace(schedule40, "1 m/s", "2.2 m/s", 1), "hammer"},
		{"water-hammer", schedule40 + "|temp=40C", "weaker"},
		{"pump-speed", curve + "|ratio=0.8|flow=40 L/min", "last point"},
		{"pump-speed", curve + "|ratio=1.2", "maker"},
		{"pump-speed", curve + "|ratio=0.4|watts=36", "cube"},
		{"pump-power", "flow=17.42 L/min|head=1.722 m|watts=7", "too good"},
		{"pump-power", "flow=17.42 L/min|head=1.722 m|watts=24", ""},
		{"bucket-flow", "volume=5 L|time=4 s", "bigger bucket"},
		{"siphon-calibration", drained + "|time=400 s", "narrows"},
		{"jet-impact", "flow=60 L/min|diameter=26.64 mm|drop=0.5 m", "drops"},
		{"floods-timetable", threeInTurn + "|margin=0 s", "never trip"},
		{"floods-timetable", threeInTurn + "|floods=4", "nothing is left"},
		{"turnover", "flow=10 L/min|volume=1.8 m3", "little"},
		{"turnover", "flow=200 L/min|volume=1.8 m3", "much"},
	} {
		r, ok := answered(t, row.entry, row.inputs)
		said := strings.Join(r.Warnings, " ")
		if ok && (!strings.Contains(said, row.says) || row.says == "" && said != "") {
			t.Errorf("%s %s: warnings %q, want %q", row.entry, row.inputs, r.Warnings, row.says)
		}
	}
}

func TestPipeMoreRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"overflow-pipe", "flow=25 L/min|diameter=25 mm", "diameter", "same thing twice"},
		{"overflow-pipe", "", "flow", "One of"},
		{"valve-k", "diameter=26 mm", "kv", "One of"},
		{"water-hammer", "velocity=1 m/s|length=6 m|diameter=20 mm|wall=21 mm", "wall", "at most"},
		{"water-hammer", schedule40 + "|material=iron", "material", "pvc"},
		{"pump-speed", curve + "|ratio=3", "ratio", "0.1 to 2"},
		{"pump-speed", curve + "|ratio=0.5|flow=40 L/min", "flow", "at most"},
		{"pump-speed", strings.Replace(curve, "2.10 m", "2.9 m", 1) + "|ratio=0.5", "points", "fall"},
		{"pump-power", "flow=17.42 L/min|head=1.722 m|watts=4", "watts", "more power out than in"},
		{"siphon-calibration", drained + "|time=20 s", "time", "measure the bed"},
		{"siphon-calibration", strings.Replace(drained, "to=0.03 m", "to=0.3 m", 1) + "|time=140 s", "to", "below from"},
		{"siphon-calibration", strings.Replace(drained, "outlet=-0.40 m", "outlet=0.1 m", 1) + "|time=140 s", "outlet", "below to"},
		{"siphon-calibration", strings.Replace(drained, "0.0095", "2", 1) + "|time=140 s", "guard-area", "less than"},
		{"jet-impact", "flow=6000 L/min|diameter=20 mm|drop=1 m", "flow", "100 m/s"},
		{"floods-timetable", strings.Replace(threeInTurn, "beds=3", "beds=2.5", 1), "beds", "whole"},
		{"drain-part-full", "diameter=40 mm|slope=0.02|fill=120 %", "fill", "0.001 to 1"},
		{"turnover", "flow=0 L/min|volume=1 m3", "flow", "above 0"},
		{"pipe-size", "flow=60 L/min|family=copper", "family", "pvc-sch-40"},
	})
}
