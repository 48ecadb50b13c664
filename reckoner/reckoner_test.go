package reckoner_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"tidebed/quantity"
	"tidebed/reckoner"
)

// The names are a contract with scripts of others: entries, keys and outputs may
// be added, never renamed.
func TestNamesStay(t *testing.T) {
	checkNames(t, []signature{
		{"fish-growth", "species weight temp days performance", "weightG"},
		{"days-to-weight", "species weight target temp performance", "days"},
		{"resting-energy", "sex age weight height", "kcalDay"},
		{"energy-need", "sex age weight height activity edition", "kcalDay"},
		{"crop-energy", "crop", "kcalM2Day proteinGM2Day m2PerPerson"},
	})
}

// Every entry can be explained: titles, formulas, sources, ranges, readable defaults.
func TestEntriesAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, e := range reckoner.Entries() {
		if seen[e.Name] || e.Name == "" || e.Name != strings.ToLower(e.Name) {
			t.Errorf("entry %q: name empty, with capitals, or twice in the table", e.Name)
		}
		seen[e.Name] = true
		if e.Title == "" || e.Formula == "" || len(e.Sources) == 0 || len(e.Outputs) == 0 {
			t.Errorf("%s: title, formula, sources or outputs are missing", e.Name)
		}
		fields, names := map[string]bool{}, map[string]bool{}
		for _, k := range e.Keys {
			where := e.Name + ", key " + k.Name
			if fields[k.Field] || names[k.Name] || k.Field == "" {
				t.Errorf("%s: name or field %q empty or twice", where, k.Field)
			}
			fields[k.Field], names[k.Name] = true, true
			if k.What == "" || k.Range == "" {
				t.Errorf("%s: what or range is missing", where)
			}
			switch k.Kind {
			case reckoner.Word:
				if len(k.Choices) < 2 {
					t.Errorf("%s: a word needs its choices", where)
				}
			case reckoner.Date, reckoner.Time:
			default:
				if _, err := quantity.In(1, k.Kind, k.Unit); k.Unit != k.Kind.SIUnit() && err != nil {
					t.Errorf("%s: unit %q: %v", where, k.Unit, err)
				}
				if !(k.Low < k.High) {
					t.Errorf("%s: no range", where)
				}
			}
			if k.Required && k.Default != "" {
				t.Errorf("%s: required and with a default", where)
			}
		}
		for _, group := range e.OneOf {
			for _, name := range group {
				if !names[name] {
					t.Errorf("%s: one of %v: %s is no key", e.Name, group, name)
				}
			}
		}
		for _, o := range e.Outputs {
			if o.Name == "" || o.What == "" {
				t.Errorf("%s: an output without name or words", e.Name)
			}
		}
		found, err := reckoner.Find(" " + strings.ToUpper(e.Name))
		if err != nil || found.Name != e.Name {
			t.Errorf("Find(%s) = %q, %v", e.Name, found.Name, err)
		}
	}
}

// Inputs in many units, and the answers as published or by hand.
func TestRun(t *testing.T) {
	checkSums(t, []sum{
		// Mifflin et al. 1990: 10·80 + 6.25·180 − 5·40 + 5.
		{"resting-energy", "sex=male|age=40|weight=80 kg|height=180 cm", "kcalDay", 1730, 1e-9},
		{"resting-energy", "sex=Male|age=40 years|weight=80000 g|height=1,8 m", "kcalDay", 1730, 1e-9},
		{"resting-energy", "sex=female|age=35|weight=65 kg|height=1.65 m", "kcalDay", 1345.25, 1e-9},
		// IOM 2005, printed table: women 30 y, 1.65 m, 68.0 kg.
		{"energy-need", "sex=female|age=30|weight=68 kg|height=165 cm|activity=low active", "kcalDay", 2202, 2},
		{"energy-need", "sex=female|age=30|weight=68 kg|height=5 ft 4.96 in|activity=very-active", "kcalDay", 2807, 2},
		// NASEM 2023 in a public text.
		{"energy-need", "sex=male|age=30|weight=70 kg|height=170 cm|activity=sedentary|edition=2023", "kcalDay", 2520.17, 0.01},
		// 3.2 kg/m² in 116 days, 75 % eaten, 770 kcal/kg: 15.9.
		{"crop-energy", "crop=potato", "kcalM2Day", 3.2 / 116 * 0.75 * 770, 0.01},
		{"crop-energy", "crop=potato", "m2PerPerson", 138, 0.5},
		// 5 g salt: 1938 mg sodium.
		{"salt-sodium", "salt=5 g", "sodiumMg", 1938, 1},
		// 2.7 L − 1.0 − 0.13·2 = 1.44 (IOM 2005 for women).
		{"drink-need", "sex=female|age=42|food-water=1000 g|eaten=2000 kcal", "drinkL", 1.44, 1e-9},
		{"drink-need", "sex=female|age=42|food-water=2 kg|eaten=8368 kJ", "drinkL", 1.2, 1e-9},
		{"cooked-content", "raw=28.1|retention=55 %|yield=0.96", "cooked", 28.1 * 0.55 / 0.96, 1e-9},
		// Allometric growth, worked by hand with the constants of the table.
		{"fish-growth", "species=tilapia_nile|weight=50 g|temp=27C|days=84", "weightG", 197.6, 0.1},
		{"fish-growth", "species=tilapia-nile|weight=0.05 kg|temp=80.6F|days=12 weeks", "weightG", 197.6, 0.1},
		{"days-to-weight", "species=tilapia_nile|weight=50 g|target=500 g|temp=27 °C", "days", 183, 0.6},
		// 1200 g cooked / 0.77 / 0.365 = 4270 g, 12.2 fish of 350 g.
		{"fish-for-plates", "species=tilapia_nile|cooked=1200 g|weight=350 g", "liveG", 1200 / 0.77 / 0.365, 1},
		{"fish-for-plates", "species=tilapia_nile|cooked=1200 g|weight=350 g", "count", 13, 0},
	})
}

func TestNoAnswer(t *testing.T) {
	checkSilences(t, []silence{
		{"fish-growth", "species=tilapia_nile|weight=50 g|temp=10C|days=84", "weightG", ""},
		{"fish-growth", "species=trout_rainbow|weight=50 g|temp=24C|days=84", "weightG", ""},
		{"days-to-weight", "species=tilapia_nile|weight=50 g|target=500 g|temp=10 C", "days", ""},
		{"crop-energy", "crop=duckweed", "kcalM2Day", ""},
	})
}

// Each refusal names the key and says what is allowed.
func TestRefusals(t *testing.T) {
	const good = "sex=male|age=40|weight=80 kg|height=180 cm"
	checkRefusals(t, []refusal{
		{"resting-enrgy", good, "", "resting-energy"},
		{"resting-energy", good + "|colour=red", "colour", "sex, age, weight, height"},
		{"resting-energy", good + "|heigth=1 m", "heigth", "Did you mean height?"},
		{"resting-energy", good + "|HEIGHT=1 m", "height", "twice"},
		{"resting-energy", "sex=male|age=40|weight=80 kg", "height", "missing"},
		{"resting-energy", "sex=male|age=40|weight=80|height=180 cm", "weight", "unit"},
		{"resting-energy", "sex=male|age=40|weight=80 L|height=180 cm", "weight", "a mass is needed"},
		{"resting-energy", "sex=male|age=40|weight=80 kg|height=180", "height", "unit"},
		{"resting-energy", "sex=male|age=40|weight=80 kg|height=3 m", "height", "0.5 m to 2.5 m"},
		{"resting-energy", "sex=male|age=12|weight=80 kg|height=1.5 m", "age", "19 years to 78 years"},
		{"resting-energy", "sex=male|age=40|weight=NaN kg|height=1.5 m", "weight", "number"},
		{"resting-energy", "sex=male|age=Inf|weight=80 kg|height=1.5 m", "age", "number"},
		{"resting-energy", "sex=male|age=0x20|weight=80 kg|height=1.5 m", "age", "hexadecimal"},
		{"resting-energy", "sex=male|age=|weight=80 kg|height=1.5 m", "age", "nothing is typed"},
		{"resting-energy", "sex=cock|age=40|weight=80 kg|height=1.5 m", "sex", "male or female"},
		{"energy-need", good + "|activity=lazy", "activity", "sedentary, low-active, active or very-active"},
		{"energy-need", good + "|activity=active|edition=1989", "edition", "2005 or 2023"},
		{"crop-energy", "crop=potatoe", "crop", "potato"},
		{"fish-growth", "species=tilapia|weight=50 g|temp=27C|days=84", "species", "tilapia_nile"},
		{"fish-growth", "species=tilapia_nile|weight=50 g|temp=27|days=84", "temp", "°C"},
		{"fish-growth", "species=tilapia_nile|weight=0 g|temp=27C|days=84", "weight", "0.001 g to 20000 g"},
		{"days-to-weight", "species=tilapia_nile|weight=50 g|target=40 g|temp=27C", "target", "at least"},
		{"days-to-weight", "species=tilapia_nile|weight=50 g|target=15 kg|temp=27C", "target", "at most"},
		{"cooked-content", "raw=28.1|retention=55|yield=0.96", "retention", "%"},
	})
}

func TestReadArgs(t *testing.T) {
	got, err := reckoner.ReadArgs("resting-energy", []string{"sex=male", "age = 40"})
	if err != nil || got["sex"] != "male" || strings.TrimSpace(got["age"]) != "40" {
		t.Errorf("ReadArgs = %v, %v", got, err)
	}
	for _, args := range [][]string{{"sex=male", "Sex=female"}, {"male"}, {"six=male"}} {
		var refused *reckoner.InputError
		if _, err := reckoner.ReadArgs("resting-energy", args); !errors.As(err, &refused) {
			t.Errorf("ReadArgs(%v) = %v, want an InputError", args, err)
		}
	}
	if _, err := reckoner.ReadArgs("nothing", nil); err == nil {
		t.Error("an unknown entry is taken")
	}
}

func TestMarshalJSON(t *testing.T) {
	r, err := reckoner.Run("fish-growth", typed("days=84|temp=10C|weight=50 g|species=tilapia_nile"))
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	const begin = `{"entry":"fish-growth","inputs":{"species":"tilapia_nile","weightG":50,"tempC":10,"days":84,"performance":1},"outputs":{"weightG":null},"warnings":["`
	if !strings.HasPrefix(string(text), begin) || !strings.Contains(string(text), `],"sources":["`) {
		t.Errorf("JSON %s\nwant    %s…", text, begin)
	}
	r, err = reckoner.Run("salt-sodium", typed("salt=0 g"))
	if err != nil {
		t.Fatal(err)
	}
	if text, err = json.Marshal(r); err != nil {
		t.Fatal(err)
	}
	const want = `{"entry":"salt-sodium","inputs":{"saltG":0},"outputs":{"sodiumMg":0},"warnings":[],"sources":["usda-sr28"]}`
	if string(text) != want {
		t.Errorf("JSON %s\nwant %s", text, want)
	}
}

// Whatever is typed is refused with a sentence or answered with finite numbers.
func FuzzRun(f *testing.F) {
	f.Add("fish-growth", "species", "tilapia_nile", "weight", "50 g", "27 C", "84")
	f.Add("energy-need", "sex", "male", "age", "40", "80 kg", "1.8 m")
	f.Add("cooked-content", "raw", "28", "retention", "55 %", "1e9", "-0")
	f.Fuzz(func(t *testing.T, entry, k1, v1, k2, v2, v3, v4 string) {
		r, err := reckoner.Run(entry, map[string]string{k1: v1, k2: v2, "temp": v3, "days": v4})
		if err != nil {
			var refused *reckoner.InputError
			if !errors.As(err, &refused) || refused.Sentence == "" {
				t.Errorf("%q: %v is no InputError", entry, err)
			}
			return
		}
		for name, v := range r.Outputs {
			if x, isNumber := v.(float64); isNumber && (math.IsNaN(x) || math.IsInf(x, 0)) {
				t.Errorf("%s: %s = %g", entry, name, x)
			}
		}
		if _, err := json.Marshal(r); err != nil {
			t.Error(err)
		}
	})
}

func ExampleRun() {
	r, err := reckoner.Run("resting-energy", map[string]string{
		"sex": "male", "age": "40", "weight": "80 kg", "height": "180 cm",
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Outputs["kcalDay"], "kcal a day")
	// Output: 1730 kcal a day
}
