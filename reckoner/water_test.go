package reckoner_test

import (
	"testing"

	"tidebed/science/fish"
	"tidebed/science/water"
)

func TestWaterNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"un-ionised-ammonia", "temp ph tan", "fraction nh3nGm3"},
		{"oxygen-saturation", "temp elevation pressure salinity", "doGm3"},
		{"ph", "temp alkalinity dic co2 tan phosphate ionic-strength", "ph co2Gm3"},
		{"carbon-dioxide", "temp ph alkalinity ionic-strength", "co2Gm3 dicMolM3"},
		{"alkalinity-dose", "volume temp ph alkalinity target-ph chemical ionic-strength tan", "closedG openG phIfOpenDoseAtOnce nh3nAtTargetGm3"},
		{"iron-dose", "volume target share", "doseG"},
		{"chloride-for-nitrite", "volume no2n chloride ratio salt", "targetGm3 saltG"},
		{"dechlorination", "volume chlorine agent", "doseG"},
		{"nitrification-area", "feed protein rate specific-surface", "tanGd areaM2 mediaM3"},
		{"falling-water", "temp do drop elevation a b", "doAfterGm3 efficiency"},
		{"aerator", "sotr temp do alpha beta elevation", "otrKgS share"},
		{"oxygen-hours", "temp do limit depth density respiration surface-transfer elevation", "hours"},
		{"salt-build-up", "volume evaporation drain source start days", "gM3"},
	})
}

// Inputs in many units. Values were worked out once by another program unless a
// source stands beside them.
func TestWaterRun(t *testing.T) {
	const dose = "volume=2000 L|temp=22 C|ph=6.4|alkalinity=20 mg/L|target-ph=7|chemical="
	const fall = "temp=22 C|do=5 mg/L|drop=40 cm"
	const hours = "temp=25 C|do=6.5 mg/L|limit=3 mg/L|depth=0.8 m|respiration=250 mg/kg/h|surface-transfer=1 m/d|density="
	const salts = "volume=2000 L|evaporation=20 L/d|source=40 mg/L|start=40 mg/L|"
	checkSums(t, []sum{
		{"un-ionised-ammonia", "temp=68F|ph=8|tan=2 mg/L", "fraction", 0.03807, 1e-5},
		{"un-ionised-ammonia", "temp=20 C|ph=8,0|tan=2 mg/L", "nh3nGm3", 0.07614, 2e-5},
		{"oxygen-saturation", "temp=15 C", "doGm3", 10.084, 5e-4}, // Benson and Krause 1984
		{"oxygen-saturation", "temp=20 C|elevation=1000 m", "doGm3", 8.041, 1e-3},
		{"oxygen-saturation", "temp=20 C|pressure=650 mmHg", "doGm3", 7.75, 0.005},
		{"oxygen-saturation", "temp=20 C|salinity=5", "doGm3", 8.828, 6e-4},
		{"oxygen-saturation", "temp=20 C|salinity=5 g/kg", "doGm3", 8.828, 6e-4},
		{"ph", "temp=25 C|alkalinity=2 meq/L|dic=2.2 mmol/L", "ph", 7.34606, 2e-4},
		{"ph", "temp=25 C|alkalinity=100.086 mg/L|dic=26.4242 mg/L", "co2Gm3", 8.901, 1e-3},
		{"ph", "temp=25 C|alkalinity=0.8 meq/L|dic=1.1 mmol/L|tan=2.8014 mg/L|phosphate=9.2922 mg/L|ionic-strength=0.01", "ph", 6.59175, 2e-4},
		{"ph", "temp=20 C|alkalinity=1 meq/L|co2=7.2432 mg/L|ionic-strength=0.01", "ph", 7.12025, 2e-4},
		{"carbon-dioxide", "temp=22 C|ph=6.4|alkalinity=20 mg/L|ionic-strength=0.005", "co2Gm3", 15.2, 0.05},
		{"carbon-dioxide", "temp=22 C|ph=6.4|alkalinity=20 mg/L|ionic-strength=0.005", "dicMolM3", 0.7453, 5e-4},
		{"alkalinity-dose", dose + "KHCO3", "closedG", 240.3, 0.06},
		{"alkalinity-dose", dose + "koh", "openG", 134.0, 0.06},
		{"alkalinity-dose", dose + "Ca(OH)2", "closedG", 15.8, 0.06},
		{"alkalinity-dose", dose + "KOH", "phIfOpenDoseAtOnce", 10.6, 0.05},
		{"alkalinity-dose", dose + "KOH|tan=2 mg/L", "nh3nAtTargetGm3", 0.0091, 6e-5},
		{"alkalinity-dose", "volume=1 m3|temp=20 C|ph=8|alkalinity=200 mg/L|target-ph=7|chemical=HNO3|ionic-strength=0.008", "closedG", 41.9, 0.06},
		{"iron-dose", "volume=1000 L|target=2 mg/L|share=11 %", "doseG", 18.2, 0.05},
		{"iron-dose", "volume=1000 L|target=2 mg/L|share=0.06", "doseG", 33.3, 0.05},
		{"chloride-for-nitrite", "volume=2000 L|no2n=2 mg/L|chloride=10 mg/L|salt=NaCl", "saltG", 98.9, 0.05},
		{"chloride-for-nitrite", "volume=2000 L|no2n=2 mg/L|chloride=10 mg/L|salt=cacl2.2h2o", "saltG", 124.4, 0.05},
		{"chloride-for-nitrite", "volume=2000 L|no2n=2 mg/L|chloride=10 mg/L|salt=KCl", "targetGm3", 40, 1e-9},
		{"dechlorination", "volume=1000 L|chlorine=2 mg/L|agent=sodium-thiosulfate-pentahydrate", "doseG", 14, 1e-9},
		{"nitrification-area", "feed=400 g/d|protein=35 %|rate=0.4 g/m2/d|specific-surface=250 m2/m3", "areaM2", 32.2, 1e-6},
		{"nitrification-area", "feed=400 g/d|protein=35 %|rate=0.4 g/m2/d|specific-surface=250 m2/m3", "mediaM3", 0.1288, 1e-6},
		{"falling-water", fall, "doAfterGm3", 6.02, 0.006},
		{"falling-water", fall, "efficiency", 0.272, 6e-4},
		{"aerator", "sotr=24 g/h|temp=20 C|do=5 mg/L", "share", 0.387, 6e-4},
		{"aerator", "sotr=3.6 kg/h|temp=25 C|do=5 mg/L", "otrKgS", 0.000345, 6e-7},
		{"oxygen-hours", hours + "10 kg/m3", "hours", 91.6 / 60, 1e-3},
		{"oxygen-hours", "temp=25 C|do=2 mg/L|limit=3 mg/L|depth=1 m|density=10 kg/m3|respiration=250 mg/kg/h", "hours", 0, 0},
		{"salt-build-up", salts + "drain=0 L/d|days=365", "gM3", 186, 1e-6},
		{"salt-build-up", salts + "drain=5 L/d|days=365", "gM3", 135.76, 0.006},
	})
}

func TestWaterNoAnswer(t *testing.T) {
	checkSilences(t, []silence{
		{"oxygen-hours", "temp=25 C|do=6.5 mg/L|limit=3 mg/L|depth=0.8 m|density=1 kg/m3|respiration=250 mg/kg/h|surface-transfer=1 m/d", "hours", "surface alone"},
		{"alkalinity-dose", "volume=1 m3|temp=22 C|ph=7.9|alkalinity=1 meq/L|target-ph=8.6|chemical=KHCO3", "closedG", "No amount"},
		{"alkalinity-dose", "volume=1 m3|temp=22 C|ph=6.4|alkalinity=20 mg/L|target-ph=10|chemical=KOH", "openG", "strip CO2"},
	})
}

func TestWaterRefusals(t *testing.T) {
	const dose = "volume=2000 L|temp=22 C|alkalinity=20 mg/L|"
	checkRefusals(t, []refusal{
		{"un-ionised-ammonia", "temp=20 C|ph=15|tan=1 mg/L", "ph", ""},
		{"un-ionised-ammonia", "temp=46 C|ph=7|tan=1 mg/L", "temp", ""},
		{"un-ionised-ammonia", "temp=20 C|ph=7|tan=1", "tan", ""},
		{"un-ionised-ammonia", "temp=20 C|ph=NaN|tan=1 mg/L", "ph", ""},
		{"oxygen-saturation", "temp=20 C|elevation=100 m|pressure=100 kPa", "pressure", ""},
		{"oxygen-saturation", "temp=41 C", "temp", ""},
		{"oxygen-saturation", "temp=20 C|pressure=40 kPa", "pressure", ""},
		{"ph", "temp=20 C|alkalinity=1 meq/L", "dic", ""},
		{"ph", "temp=20 C|alkalinity=1 meq/L|dic=1 mmol/L|co2=2 mg/L", "co2", ""},
		{"ph", "temp=20 C|alkalinity=60 meq/L|dic=1 mmol/L", "alkalinity", ""},
		{"carbon-dioxide", "temp=20 C|ph=11|alkalinity=5 mg/L", "alkalinity", ""},
		{"alkalinity-dose", dose + "ph=6.4|target-ph=7|chemical=HNO3", "chemical", ""},
		{"alkalinity-dose", dose + "ph=7|target-ph=6.4|chemical=KOH", "chemical", ""},
		{"alkalinity-dose", dose + "ph=11|target-ph=11.5|chemical=KOH", "alkalinity", ""},
		{"alkalinity-dose", dose + "ph=6.4|target-ph=7|chemical=soda", "chemical", ""},
		{"iron-dose", "volume=1 m3|target=2 mg/L|share=120 %", "share", ""},
		{"falling-water", "temp=20 C|do=41 mg/L|drop=1 m", "do", ""},
		{"salt-build-up", "volume=0 L|evaporation=1 L/d|drain=1 L/d|source=1 mg/L|start=1 mg/L|days=3", "volume", ""},
	})
}

// Every species has a group of limits in the chemistry.
func TestSpeciesHaveGroups(t *testing.T) {
	for _, id := range fish.IDs() {
		if _, err := water.GroupOf(id); err != nil {
			t.Error(err)
		}
	}
}
