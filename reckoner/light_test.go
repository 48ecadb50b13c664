package reckoner_test

import (
	"strings"
	"testing"

	"tidebed/reckoner"
)

// Names of keys and outputs of sun, air and lamps stay.
func TestLightNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"sun-position", "latitude longitude time elevation pressure temp", "zenithDeg apparentZenithDeg azimuthDeg"},
		{"extraterrestrial", "latitude date", "raMjM2 dayHours"},
		{"vapour-pressure", "temp", "esKPa"},
		{"moist-air", "temp rh wet-bulb dew-point pressure", "humidityRatio dewPointC wetBulbC enthalpyKJkg"},
		{"reference-et", "latitude elevation date tmax tmin rh-max rh-min vapour-pressure wind sun-hours radiation", "et0MmDay rnMjM2"},
		{"pool-evaporation", "temp air-temp rh area activity air-speed", "kgH"},
		{"lamp-light", "ppfd hours", "dliMolM2"},
		{"lamp-energy", "dli efficacy area use-share", "kWhDay"},
		{"sun-to-light", "radiation transmission", "dliMolM2"},
	})
}

// Values of the FAO examples, of independent codes and worked by hand, in
// several units.
func TestLightRun(t *testing.T) {
	const uccle = "latitude=50.8|elevation=100 m|date=2023-07-06|tmax=21.5C|tmin=12.3C|wind=2.078 m/s"
	checkSums(t, []sum{
		{"sun-position", "latitude=39.742476|longitude=-105.1786|time=2003-10-17T12:30:30-07:00|elevation=1830.14 m|temp=51.8F", "apparentZenithDeg", 50.1116, 0.02},
		{"extraterrestrial", "latitude=71.3|date=2025-12-20", "raMjM2", 0, 0},
		{"extraterrestrial", "latitude=71.3|date=2025-12-20", "dayHours", 0, 0},
		{"extraterrestrial", "latitude=-20 deg|date=2023-09-03", "raMjM2", 32.2, 0.05},
		{"vapour-pressure", "temp=77F", "esKPa", 3.1692, 0.0001},
		{"moist-air", "temp=25C|dew-point=13.864C", "wetBulbC", 17.889, 0.005},
		{"moist-air", "temp=25C|wet-bulb=17.889C|pressure=1013.25 hPa", "dewPointC", 13.864, 0.005},
		{"reference-et", uccle + "|rh-max=84 %|rh-min=63%|sun-hours=9.25", "et0MmDay", 3.88, 0.01},
		{"reference-et", uccle + "|vapour-pressure=1.409 kPa|radiation=22.07 MJ/m2/d", "et0MmDay", 3.88, 0.01},
		{"pool-evaporation", "temp=24C|air-temp=18C|rh=75 %|area=2.01 m2|activity=0.5", "kgH", 4.94 / 24, 0.001},
		{"pool-evaporation", "temp=10C|air-temp=24C|rh=60%|area=1 m2", "kgH", -0.0801, 0.002},
		{"lamp-light", "ppfd=200 umol/m2/s|hours=16", "dliMolM2", 11.52, 1e-9},
		{"lamp-energy", "dli=8 mol/m2|efficacy=2.7 umol/J|area=1 m2", "kWhDay", 0.968, 0.0005},
		{"sun-to-light", "radiation=10 MJ/m2|transmission=60 %", "dliMolM2", 12.36, 1e-9},
	})
	r, err := reckoner.Run("moist-air", typed("temp=20C|rh=0 %"))
	if err != nil || !r.NoAnswer() || r.Outputs["dewPointC"] != nil {
		t.Errorf("dry air: %v, %v", r.Outputs, err)
	}
}

func TestLightRefusals(t *testing.T) {
	const et = "latitude=50|elevation=100 m|date=2023-07-06|tmax=21C|tmin=12C|wind=2 m/s"
	checkRefusals(t, []refusal{
		{"sun-position", "latitude=91|longitude=0|time=2026-03-01T12:00:00Z", "latitude", ""},
		{"sun-position", "latitude=50|longitude=0|time=2026-03-01", "time", ""},
		{"sun-position", "latitude=50|longitude=0|time=1500-03-01T12:00:00Z", "time", ""},
		{"moist-air", "temp=25C|rh=50", "rh", ""},
		{"moist-air", "temp=25C|rh=50%|dew-point=10C", "dew-point", ""},
		{"moist-air", "temp=25C", "rh", ""},
		{"moist-air", "temp=25C|dew-point=26C", "dew-point", ""},
		{"moist-air", "temp=25C|wet-bulb=26C", "wet-bulb", ""},
		{"moist-air", "temp=25C|wet-bulb=1C", "wet-bulb", ""},
		{"reference-et", et + "|rh-max=80%|sun-hours=8", "rh-min", ""},
		{"reference-et", et + "|rh-max=60%|rh-min=80%|sun-hours=8", "rh-min", ""},
		{"reference-et", et + "|vapour-pressure=1.4 kPa|rh-min=50%|sun-hours=8", "rh-min", ""},
		{"reference-et", et + "|vapour-pressure=1.4 kPa|sun-hours=20", "sun-hours", ""},
		{"reference-et", et + "|vapour-pressure=1.4 kPa|radiation=45 MJ/m2", "radiation", ""},
		{"reference-et", et + "|vapour-pressure=1.4 kPa|radiation=20 MJ/m2|sun-hours=8", "radiation", ""},
		{"reference-et", et + "|vapour-pressure=9 kPa|radiation=20 MJ/m2", "vapour-pressure", ""},
		{"reference-et", strings.Replace(et, "tmin=12C", "tmin=22C", 1) + "|vapour-pressure=1 kPa|radiation=20 MJ/m2", "tmin", ""},
		{"lamp-energy", "dli=8 mol/m2|efficacy=5 umol/J|area=1 m2", "efficacy", ""},
		{"sun-to-light", "radiation=10 MJ/m2|transmission=60", "transmission", ""},
	})
}
