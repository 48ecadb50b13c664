package plan

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/site"
)

func TestParsePin(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		text   string
		forbid bool
		want   Pin
		err    string
	}{
		{"potato in tubs 2 m2 2027-03-01..2027-04-01", false, Pin{Crop: "potato", Group: "tubs", AreaM2: 2, From: site.On(2027, 3, 1), To: site.On(2027, 4, 1)}, ""},
		{"  Swiss Chard   in North 1  ", false, Pin{Crop: "chard", Group: "north 1"}, ""},
		{"tomato, cherry 1.5m2 2027-03-01..", false, Pin{Crop: "tomato_cherry", AreaM2: 1.5, From: site.On(2027, 3, 1)}, ""},
		{"kale in north 1 to 6 2027-03-09", false, Pin{Crop: "kale", Group: "north 1 to 6", From: site.On(2027, 3, 9), To: site.On(2027, 3, 9)}, ""},
		{"kale", true, Pin{Forbid: true, Crop: "kale"}, ""},
		{"bean_dry in raft 2 ..2027-06-01", true, Pin{Forbid: true, Crop: "bean_dry", Group: "raft 2", To: site.On(2027, 6, 1)}, ""},
		{"", false, Pin{}, "name a crop"},
		{"in tubs", false, Pin{}, "name a crop first"},
		{"potatoe in tubs", false, Pin{}, "no crop is called potatoe; nearest: potato,"},
		{"potato in tub", false, Pin{}, "no bed or group of beds is called tub; nearest: tubs,"},
		{"potato in", false, Pin{}, "a bed must stand after in"},
		{"potato in tubs 20 m2", false, Pin{}, "20 m² is more than tubs has: 12 m²"},
		{"potato in tubs 0 m2", false, Pin{}, "more than nothing"},
		{"potato 2", false, Pin{}, "2 has no unit; an area is written as 2 m2"},
		{"potato 2027-04-01..2027-03-01", false, Pin{}, "its days run backwards"},
		{"potato 2027-02-31..", false, Pin{}, "write them as"},
		{"potato ..", false, Pin{}, "say nothing"},
		{"kale 2 m2", true, Pin{}, "what is forbidden has no area"},
		{strings.Repeat("kale ", 60), false, Pin{}, "longer than"},
	} {
		got, err := ParsePin(row.text, row.forbid, s)
		if row.err == "" && (err != nil || got != row.want) {
			t.Errorf("%q: %+v, %v; want %+v", row.text, got, err, row.want)
		}
		if row.err != "" && (err == nil || !strings.Contains(err.Error(), row.err)) {
			t.Errorf("%q: error %v, want one with %q", row.text, err, row.err)
		}
	}
	if _, err := ParsePin("kale in tubs", false, &site.Site{}); err == nil || !strings.Contains(err.Error(), "the site has no beds") {
		t.Errorf("without beds: %v", err)
	}
}

func TestParsePinNeverPanics(t *testing.T) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`(kale|potato|in|tubs|north 1|2 m2|-1|\.\.|2027-03-0[0-9]|1e999 m2|NaN m2| ){0,8}`)).Draw(t, "text")
		pin, err := ParsePin(text, rapid.Bool().Draw(t, "forbid"), s)
		if err == nil && (pin.Crop == "" || pin.AreaM2 < 0) {
			t.Fatalf("%q gives %+v", text, pin)
		}
	})
}

// A pin of which nothing can be sown is refused with the reason, before any long work.
func TestPinSaysWhyNot(t *testing.T) {
	s := sample(t)
	m, err := newMaker(t.Context(), s, s.Opening.Date, Options{Pool: testPool})
	if err != nil {
		t.Fatal(err)
	}
	for pin, want := range map[string]string{
		"tomato_cherry in north 5 0.72 m2":                          "its roots want 50 cm and north 1 to 6 has 30",
		"tomato_cherry in raft 1":                                   "it suits a raft bed such as raft 1",
		"lettuce_butterhead in north 1 2027-01-12..2027-01-13":      "it is planted from 2027-02-08 to",
		"lettuce_butterhead in north 1 2027-12-20..2027-12-25":      "it is planted from 2027-02-08 to",
		"sweet_potato in tubs 2 m2":                                 "still growing",
		"lettuce_butterhead in north 1 1 m2 2027-03-01..2027-04-25": "",
		"chard in south 1 1 m2 2027-01-20..2027-01-30":              "", // in force
	} {
		p, err := ParsePin(pin, false, s)
		if err != nil {
			t.Fatal(err)
		}
		if why := m.w.pinless(&p, m.offered, m.fixed); !strings.Contains(why, want) || (why == "") != (want == "") {
			t.Errorf("%s: %q, want %q", pin, why, want)
		}
	}
	two := small()
	_, err = newMaker(t.Context(), two, two.Opening.Date, Options{Pins: []Pin{{Crop: "potato", Group: "stones", AreaM2: 1}}, Pool: testPool})
	if !errors.Is(err, ErrAsked) || !strings.Contains(err.Error(), "pin 1 wants 1 m² of potato, and nothing of it can be sown there: ") || strings.Contains(err.Error(), ErrAsked.Error()) {
		t.Errorf("%v", err)
	}
}
