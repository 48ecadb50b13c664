package site

import (
	"errors"
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tidebed/quantity"
	"tidebed/science/crop"
)

// small is a good description; each test spoils it in one way.
const small = `schema: 1
name: Gull Cottage
place: {latitude: 54 deg, longitude: -8 deg, climate: London Heathrow}
zones:
- {name: hall, floor: 40 m2, height: 3 m}
loops:
- name: north
  tanks:
  - {name: tank 1, volume: 1.5 m3}
  beds:
  - name: bed 1
    kind: media
    zone: hall
    length: 2.4 m
    width: 1.2 m
    depth: 0.3 m
  aerators:
  - {name: air, tank: tank 1}
people:
- {name: Ada, sex: female, age: 41, weight: 66 kg, height: 1.69 m}
- {name: Bo}
home-fed:
- {name: past days, from: 2020-03-27, to: 2020-03-28, eaters: [Ada]}
larder:
- {name: store, kind: cool-store, capacity: 50 kg}
opening:
  date: 2027-01-11
  fish:
  - {name: tench, species: trout_rainbow, tank: tank 1, count: 60, weight: 120 g}
  plantings:
  - {crop: kale, bed: bed 1, area: 2 m2, planted: 2026-10-05}
  larder:
  - {food: potato, place: store, mass: 40 kg}
`

func TestSmallIsGood(t *testing.T) {
	s, warnings, err := Read("site.yaml", []byte(small))
	if err != nil || len(warnings) > 0 {
		t.Fatalf("Read: %v, warnings %v", err, warnings)
	}
	if got := s.Loops[0].Beds[0].GrowingM2(); got != 2.4*1.2 {
		t.Errorf("growing area %g m2, want 2.88", got)
	}
	want := []string{"metric", "EUR", "stock", "low-active", "boiled-in-skin"}
	got := []string{s.Units, s.Currency, s.Loops[0].Tanks[0].Role, s.People[1].Activity, s.HomeFed[0].Cooking}
	if !slices.Equal(got, want) || s.HomeFed[0].AdultFloor != 0.8 || s.Loops[0].Beds[0].Tiers != 1 {
		t.Errorf("defaults: %v, floor %g, tiers %d", got, s.HomeFed[0].AdultFloor, s.Loops[0].Beds[0].Tiers)
	}
	if s.Opening.Date != On(2027, 1, 11) || s.Opening.Cohorts[0].WeightKg != 0.12 {
		t.Errorf("opening: %v, %g kg", s.Opening.Date, s.Opening.Cohorts[0].WeightKg)
	}
}

func TestRefusals(t *testing.T) {
	for _, row := range []struct {
		name, old, new string
		want           []string // the whole list of messages
	}{
		{"misspelt key", "    length: 2.4 m\n", "    lenght: 2.4 m\n", []string{
			"site.yaml:14: loops[0].beds[0].lenght: unknown key `lenght`; did you mean `length`?"}},
		{"bed without area", "    length: 2.4 m\n", "", []string{
			"site.yaml:11: loops[0].beds[0]: the bed \"bed 1\" has no area; give `length` and `width`, or `area`"}},
		{"key that is nothing like", "name: Gull Cottage\n", "name: Gull Cottage\nplace2here: 3\nlabour: {wages: 3}\n", []string{
			"site.yaml:3: place2here: unknown key `place2here`; allowed: schema, name, note, units, energy-edition, currency, place, zones, surfaces, loops, lamps, heaters, power, fuels, feeds, waters, crops, larder, racks, greens, buyers, people, home-fed, cupboard, other-sources, prices, labour, opening",
			"site.yaml:4: labour.wages: unknown key `wages`; allowed: hours-per-week"}},
		{"misspelt need", "zone: hall\n", "zoen: hall\n", []string{
			"site.yaml:13: loops[0].beds[0].zoen: unknown key `zoen`; did you mean `zone`?"}},
		{"too deep", "depth: 0.3 m", "depth: 3 m", []string{
			"site.yaml:16: loops[0].beds[0].depth: 3 m is more than the 2 m allowed"}},
		{"negative area", "floor: 40 m2", "floor: -40 m2", []string{
			"site.yaml:5: zones[0].floor: -40 m2 must be more than 0"}},
		{"age below one", "age: 41", "age: 0.5", []string{
			"site.yaml:20: people[0].age: 0.5 is less than the 1 allowed"}},
		{"latitude", "latitude: 54 deg", "latitude: 154 deg", []string{
			"site.yaml:3: place.latitude: 154 deg is more than the 90 deg allowed"}},
		{"no such day", "from: 2020-03-27, to: 2020-03-28", "from: 2027-02-28, to: 2027-02-30", []string{
			"site.yaml:23: home-fed[0].to: \"2027-02-30\": there is no such day; February 2027 has 28 days"}},
		{"day in another order", "date: 2027-01-11", "date: 11.01.2027", []string{
			"site.yaml:27: opening.date: \"11.01.2027\" is not a day; write YYYY-MM-DD, such as 2027-03-27"}},
		{"no such month", "date: 2027-01-11", "date: 2027-13-11", []string{
			"site.yaml:27: opening.date: \"2027-13-11\": there is no month 13; write YYYY-MM-DD, such as 2027-03-27"}},
		{"ends before it starts", "to: 2020-03-28", "to: 2020-03-20", []string{
			"site.yaml:23: home-fed[0].to: \"past days\" ends on 2020-03-20, before it starts on 2020-03-27"}},
		{"unknown tank", "air, tank: tank 1", "air, tank: tnak 1", []string{
			"site.yaml:18: loops[0].aerators[0].tank: there is no tank \"tnak 1\"; did you mean `tank 1`?"}},
		{"unknown zone", "zone: hall", "zone: orangery", []string{
			"site.yaml:13: loops[0].beds[0].zone: there is no zone \"orangery\"; known: hall"}},
		{"unknown bed", "bed: bed 1", "bed: bed 7", []string{
			"site.yaml:31: opening.plantings[0].bed: there is no bed \"bed 7\"; did you mean `bed 1`?"}},
		{"unknown loop", "  larder:\n  - {food", "  water:\n  - {loop: sooth}\n  larder:\n  - {food", []string{
			"site.yaml:33: opening.water[0].loop: there is no loop \"sooth\"; known: north"}},
		{"unknown feed where there is none", "weight: 120 g}", "weight: 120 g, feed: crumbs}", []string{
			"site.yaml:29: opening.fish[0].feed: there is no feed \"crumbs\"; none is described"}},
		{"unknown food", "food: potato", "food: potatoe", []string{
			"site.yaml:33: opening.larder[0].food: there is no food \"potatoe\"; did you mean `potato`?"}},
		{"unknown crop", "crop: kale", "crop: kail", []string{
			"site.yaml:31: opening.plantings[0].crop: there is no crop \"kail\"; nearest are: kale, basil, dill"}},
		{"unknown species", "trout_rainbow", "trout_rainbo", []string{
			"site.yaml:29: opening.fish[0].species: there is no species \"trout_rainbo\"; did you mean `trout_rainbow`?"}},
		{"unknown larder place", "place: store", "place: loft", []string{
			"site.yaml:33: opening.larder[0].place: there is no larder \"loft\"; known: store"}},
		{"eater without figures", "eaters: [Ada]", "eaters: [Ada, Bo]", []string{
			"site.yaml:21: people[1]: Bo eats on home-fed days, but has no sex, no age, no weight, no height; without it the needs cannot be worked out"}},
		{"eater without age", "age: 41, ", "", []string{
			"site.yaml:20: people[0]: Ada eats on home-fed days, but has no age; without it the needs cannot be worked out"}},
		{"eater without weight", "weight: 66 kg, ", "", []string{
			"site.yaml:20: people[0]: Ada eats on home-fed days, but has no weight; without it the needs cannot be worked out"}},
		{"unknown eater", "eaters: [Ada]", "eaters: [Adda]", []string{
			"site.yaml:23: home-fed[0].eaters[0]: there is no person \"Adda\"; did you mean `Ada`?"}},
		{"eater twice", "eaters: [Ada]", "eaters: [Ada, Ada]", []string{
			"site.yaml:23: home-fed[0].eaters[1]: \"Ada\" stands here a second time"}},
		{"unknown allergy", "{name: Bo}", "{name: Bo, allergies: [fihs, egg, potato, celery]}", []string{
			"site.yaml:21: people[1].allergies[0]: \"fihs\" is neither a food nor a group of foods; did you mean `fish`?"}},
		{"name twice", "{name: Bo}", "{name: Ada}", []string{
			"site.yaml:21: people[1].name: \"Ada\" is the name of a second person; the first is people[0].name on line 20"}},
		{"tank and bed of one name", "name: bed 1\n", "name: tank 1\n", []string{
			"site.yaml:11: loops[0].beds[0].name: \"tank 1\" is the name of a second tank, bed or pump; the first is loops[0].tanks[0].name on line 9",
			"site.yaml:31: opening.plantings[0].bed: there is no bed \"bed 1\"; known: tank 1"}},
		{"word not allowed", "kind: media", "kind: meadia", []string{
			"site.yaml:12: loops[0].beds[0].kind: \"meadia\" is not one of the words allowed; did you mean `media`?"}},
		{"key twice", "    width: 1.2 m\n", "    width: 1.2 m\n    width: 1.3 m\n", []string{
			"site.yaml:16: loops[0].beds[0].width: the key `width` stands here a second time; the first is on line 15"}},
		{"newer schema", "schema: 1", "schema: 2", []string{
			"site.yaml:1: schema: 2 is newer than the 1 this program reads; use a newer program"}},
		{"schema in words", "schema: 1", "schema: one", []string{
			"site.yaml:1: schema: \"one\" is not the number of a layout; now it is `schema: 1`"}},
		{"no schema", "schema: 1\n", "", []string{
			"site.yaml:1: schema: must be given: the number of the file's layout, now `schema: 1`"}},
		{"missing quantity", ", volume: 1.5 m3", "", []string{
			"site.yaml:9: loops[0].tanks[0].volume: must be given, in L or another unit of volume"}},
		{"empty name", "name: Gull Cottage", `name: ""`, []string{
			"site.yaml:2: name: must be given"}},
		{"missing word", "    kind: media\n", "", []string{
			"site.yaml:11: loops[0].beds[0].kind: must be given: one of media, constant, raft, tower, tub"}},
		{"parts of a count", "count: 60", "count: 60.5", []string{
			"site.yaml:29: opening.fish[0].count: \"60.5\" must be a whole number in figures, without unit, at most 2147483647"}},
		{"yes or no", "depth: 0.3 m\n", "depth: 0.3 m\n    always-on: perhaps\n", []string{
			"site.yaml:17: loops[0].beds[0].always-on: \"perhaps\" must be yes or no"}},
		{"list for a quantity", "depth: 0.3 m", "depth: [0.3 m]", []string{
			"site.yaml:16: loops[0].beds[0].depth: a list stands where a value of length must stand"}},
		{"list for a word", "zone: hall\n", "zone: [hall]\n", []string{
			"site.yaml:13: loops[0].beds[0].zone: a list stands where a text must stand"}},
		{"word for a list", "eaters: [Ada]", "eaters: Ada", []string{
			"site.yaml:23: home-fed[0].eaters: \"Ada\" must be a list: lines that start with `- `"}},
		{"word for keys", "place: {latitude: 54 deg, longitude: -8 deg, climate: London Heathrow}", "place: here", []string{
			"site.yaml:3: place: \"here\" must be a list of keys with their values; allowed: latitude, longitude, elevation, time-zone, climate, normals, nights"}},
		{"empty entry", "- {name: Bo}", "- ~", []string{
			"site.yaml:21: people[1]: this entry of the list is empty; fill it or remove its `-`"}},
		{"foreign currency", "home-fed:\n", "prices: {electricity: 0.3 USD/kWh}\nhome-fed:\n", []string{
			"site.yaml:22: prices.electricity: 0.3 USD/kWh is in USD, but the currency of this site is EUR"}},
		{"not a currency", "schema: 1", "schema: 1\ncurrency: euro", []string{
			"site.yaml:2: currency: \"euro\" is not a currency's code of three capital letters, such as EUR"}},
		{"time zone", "longitude: -8 deg", "longitude: -8 deg, time-zone: Europe/Skerry", []string{
			"site.yaml:3: place.time-zone: there is no time zone \"Europe/Skerry\"; it is written like Europe/Dublin"}},
		{"one point of a pump", "  aerators:\n", "  pumps:\n  - {name: p, points: [\"40 L/min:1 m\"]}\n  aerators:\n", []string{
			"site.yaml:18: loops[0].pumps[0].points: the pump \"p\" has one point of its curve; give at least two"}},
		{"points without head", "  aerators:\n", "  pumps:\n  - {name: p, points: [40 L/min, \"0 L/min:-2 m\"]}\n  aerators:\n", []string{
			"site.yaml:18: loops[0].pumps[0].points[0]: \"40 L/min\" is not a point of a pump's curve; write flow:head, such as \"40 L/min:1.2 m\", or flow:head:watts",
			"site.yaml:18: loops[0].pumps[0].points[1]: point \"0 L/min:-2 m\": neither flow, head nor power may be negative"}},
		{"keep more than there are", "count: 60", "count: 60, keep: 61", []string{
			"site.yaml:29: opening.fish[0].keep: 61 are never to be eaten, but there are 60"}},
		{"lamp over nothing", "home-fed:\n", "lamps:\n- {name: l, over: bad 1, area: 1 m2, photons: 200 umol/m2/s}\nhome-fed:\n", []string{
			"site.yaml:23: lamps[0].over: there is no bed, rack or nursery \"bad 1\"; did you mean `bed 1`?"}},
		{"order for nothing known", "home-fed:\n", "greens:\n- {green: radish}\nbuyers:\n- {name: b, orders: [{good: raddish, per-week: 1 kg, from: 2027-03-01, to: 2027-02-01}]}\nhome-fed:\n", []string{
			"site.yaml:25: buyers[0].orders[0].to: the order ends on 2027-02-01, before it starts on 2027-03-01",
			"site.yaml:25: buyers[0].orders[0].good: \"raddish\" is neither one of the greens nor a crop; did you mean `radish`?"}},
		{"anchor", "name: hall", "name: &h hall", []string{
			"site.yaml:5: \"&\": anchors, aliases and type tags of YAML have no meaning here; write the value out"}},
		{"tab", "    length: 2.4 m", "\t\tlength: 2.4 m", []string{
			"site.yaml:14: a tab stands before the first word of this line; indent with spaces only"}},
		{"several", "depth: 0.3 m", "depth: 3 m\n    tiers: 99\n    floor: 50 m", []string{
			"site.yaml:16: loops[0].beds[0].depth: 3 m is more than the 2 m allowed",
			"site.yaml:17: loops[0].beds[0].tiers: 99 is more than the 12 allowed",
			"site.yaml:18: loops[0].beds[0].floor: 50 m is more than the 10 m allowed"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			if strings.Count(small, row.old) != 1 {
				t.Fatalf("%q stands %d times in the description", row.old, strings.Count(small, row.old))
			}
			s, _, err := Read("site.yaml", []byte(strings.Replace(small, row.old, row.new, 1)))
			var problems Problems
			if s != nil || !errors.As(err, &problems) {
				t.Fatalf("Read gave %v, %v; want Problems", s, err)
			}
			if diff := cmp.Diff(strings.Join(row.want, "\n"), err.Error()); diff != "" {
				t.Errorf("messages (-want +got):\n%s", diff)
			}
		})
	}
}

func TestWrongUnits(t *testing.T) {
	for _, row := range []struct{ old, new, want string }{
		{"depth: 0.3 m", "depth: 0.3 kg", "site.yaml:16: loops[0].beds[0].depth: "},
		{"depth: 0.3 m", "depth: 0.3", "site.yaml:16: loops[0].beds[0].depth: "},
		{"depth: 0.3 m", "depth: .nan", "site.yaml:16: loops[0].beds[0].depth: "},
		{"depth: 0.3 m", "depth: .inf", "site.yaml:16: loops[0].beds[0].depth: "},
		{"age: 41", "age: forty", "site.yaml:20: people[0].age: "},
	} {
		_, _, err := Read("site.yaml", []byte(strings.Replace(small, row.old, row.new, 1)))
		var problems Problems
		if !errors.As(err, &problems) || len(problems) != 1 || !strings.HasPrefix(err.Error(), row.want) {
			t.Fatalf("%s: got %v, want one message that starts with %q", row.new, err, row.want)
		}
		if typed := strings.SplitN(row.new, ": ", 2)[1]; problems[0].Given != typed || !strings.Contains(problems[0].Message, typed) {
			t.Errorf("%s: the message %q does not quote what was typed", row.new, problems[0].Message)
		}
	}
}

func TestWholeFileRefused(t *testing.T) {
	for _, row := range []struct{ text, want string }{
		{"", "site.yaml:1: the file is empty"},
		{"# nothing yet\n", "site.yaml:1: the file is empty"},
		{"---\n", "site.yaml:1: the file is empty"},
		{"- a\n- b\n", "site.yaml:1: the file must be a list of keys"},
		{"Skerry House", "site.yaml:1: the file must be a list of keys"},
		{"schema: 1\nname: [a\n", "site.yaml:2: this is not YAML: "},
		{"schema: 1\n---\nschema: 1\n", "site.yaml:3: a second document starts here"},
		{"schema: 1\nname: caf\xe9\n", "site.yaml:2: the text is not UTF-8"},
		{"schema: 1\n? [a]\n: 3\n", "site.yaml:3: this is not YAML: "},
		{"schema: 1\n<<: {name: x}\n", "site.yaml:2: `<<` has no meaning here; write the keys out"},
		{"schema: 1\n~: 3\n", "site.yaml:2: a key must be a plain word"},
		{"schema: 1\nname: " + strings.Repeat("[", 40) + strings.Repeat("]", 40), "site.yaml:2: the file is nested deeper than 32 levels"},
		{strings.Repeat("#\n", maxBytes/2+1), "site.yaml: the file has 4194306 bytes"},
	} {
		s, _, err := Read("site.yaml", []byte(row.text))
		if s != nil || err == nil || !strings.HasPrefix(err.Error(), row.want) {
			t.Errorf("Read(%.40q): %v, want it to start with %q", row.text, err, row.want)
		}
	}
}

func TestLimitsInUnitsOfTheReader(t *testing.T) {
	text := strings.Replace(small, "schema: 1", "schema: 1\nunits: us-customary", 1)
	_, _, err := Read("site.yaml", []byte(strings.Replace(text, "height: 3 m}", "height: 120 ft}", 1)))
	want := "site.yaml:6: zones[0].height: 120 ft is more than the " + quantity.Format(30, quantity.Length, quantity.USCustomary) + " allowed"
	if err == nil || err.Error() != want || !strings.Contains(want, "ft allowed") {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestWarnings(t *testing.T) {
	for _, row := range []struct {
		name, old, new string
		want           []string
	}{
		{"unusual height", "height: 3 m}", "height: 12 m}", []string{
			"site.yaml:5: zones[0].height: 12 m is unusual; usual is 1.8 m to 8 m"}},
		{"full bed", "area: 2 m2, planted: 2026-10-05}", "area: 2 m2, planted: 2026-10-05}\n  - {crop: chard, bed: bed 1, area: 1 m2, planted: 2026-12-01}", []string{
			"site.yaml:32: opening.plantings[1].area: on 2026-12-01 plantings take 3 m2 of the bed \"bed 1\", which has 2.88 m2"}},
		{"a planting after another", "area: 2 m2, planted: 2026-10-05}", "area: 2 m2, planted: 2026-10-05}\n  - {crop: chard, bed: bed 1, area: 2 m2, planted: 2027-04-01}", nil},
		{"full larder", "mass: 40 kg", "mass: 60 kg", []string{
			"site.yaml:25: larder[0].capacity: 60 kg are put by in \"store\", which holds 50 kg"}},
		{"poor fit", "crop: kale", "crop: carrot", []string{
			"site.yaml:31: opening.plantings[0].bed: Carrot suits a media bed such as \"bed 1\" poorly"}},
		{"no fit", "crop: kale", "crop: jerusalem_artichoke", []string{
			"site.yaml:31: opening.plantings[0].bed: Jerusalem artichoke does not suit a media bed such as \"bed 1\""}},
		{"overlap", "eaters: [Ada]}", "eaters: [Ada]}\n- {name: long, from: 2020-03-28, to: 2020-04-02, eaters: [Ada]}", []string{
			"site.yaml:24: home-fed[1]: Ada eats at \"past days\" and at \"long\" on the same days; the food is counted twice"}},
		{"days that only touch", "eaters: [Ada]}", "eaters: [Ada]}\n- {name: long, from: 2020-03-29, to: 2020-04-02, eaters: [Ada]}", nil},
		{"heater of nothing", "home-fed:\n", "heaters:\n- {name: h, power: 1 kW}\nhome-fed:\n", []string{
			"site.yaml:23: heaters[0]: the heater \"h\" names neither zone nor tank, so it warms nothing"}},
		{"pipe to nowhere", "  aerators:\n", "  pipes:\n  - {name: a, from: sump, to: head, diameter: 25 mm, length: 1 m}\n  - {name: b, from: head, to: bd 1, diameter: 25 mm, length: 1 m}\n  aerators:\n", []string{
			"site.yaml:19: loops[0].pipes[1].to: \"bd 1\" is no tank, bed, pump or sump of this loop, and no other pipe ends there; did you mean `bed 1`?"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, warnings, err := Read("site.yaml", []byte(strings.Replace(small, row.old, row.new, 1)))
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, w := range warnings {
				got = append(got, w.String())
			}
			if diff := cmp.Diff(row.want, got); diff != "" {
				t.Errorf("warnings (-want +got):\n%s", diff)
			}
			if _, again := s.Check(); len(row.want) > 0 && row.name != "unusual height" && (len(again) != 1 || again[0].Field != warnings[0].Field) {
				t.Errorf("Check gives %v", again)
			}
		})
	}
}

func TestDensity(t *testing.T) {
	_, warnings, err := Read("site.yaml", []byte(strings.Replace(small, "count: 60", "count: 500", 1)))
	if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0].String(), "site.yaml:29: opening.fish[0]: the tank \"tank 1\" holds 40 kg/m3 of fish; Rainbow trout bears") {
		t.Errorf("%v, %v", warnings, err)
	}
	_, _, err = Read("site.yaml", []byte(strings.Replace(small, "count: 60", "count: 6000", 1)))
	if err == nil || !strings.Contains(err.Error(), "holds 480 kg/m3 of fish; Rainbow trout bears") {
		t.Errorf("480 kg/m3: %v", err)
	}
}

// The README's own description is sound.
func TestReadmeExample(t *testing.T) {
	text, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(text), "```yaml\n")
	example, _, end := strings.Cut(rest, "```")
	if !ok || !end {
		t.Fatal("the README shows no description")
	}
	_, warnings, err := Read("README.md", []byte(example))
	if err != nil || len(warnings) > 0 {
		t.Errorf("%v, %v", err, warnings)
	}
}

// A planting after the last home-fed days is doubted.
func TestPlantedTooLate(t *testing.T) {
	s, _, err := Read("site.yaml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	s.HomeFed[0].From, s.HomeFed[0].To = s.Opening.Date.Plus(60), s.Opening.Date.Plus(61)
	s.Opening.Plantings[0].Planted = s.Opening.Date.Plus(62)
	_, warnings := s.Check()
	for _, w := range warnings {
		if strings.Contains(w.String(), "reaches no meal") {
			return
		}
	}
	t.Errorf("not doubted: %v", warnings)
}

// A place's weather: normals whole, names known.
func TestWeather(t *testing.T) {
	months := "\n  normals:\n"
	for m := 1; m <= 11; m++ {
		months += fmt.Sprintf("  - {month: %d, max: 15 °C, min: 5 °C, radiation: 10 MJ/m2}\n", m)
	}
	for _, row := range []struct{ place, want string }{
		{"place: {latitude: 54 deg, longitude: -8 deg, climate: Atlantis}", "place.climate"},
		{"place: {latitude: -54 deg, longitude: -8 deg, climate: London Heathrow}", "site.yaml:3: place.climate"},
		{"place: {latitude: 54 deg, longitude: -8 deg}", "no weather to grow them by"},
		{"place:\n  latitude: 54 deg\n  longitude: -8 deg" + strings.TrimRight(months, "\n"), "the normals lack December"},
		{"place:\n  latitude: 54 deg\n  longitude: -8 deg" + months + "  - {month: 12, max: 2 °C, min: 5 °C, radiation: 1 MJ/m2}", "in December the mean maximum"},
		{"place:\n  latitude: 54 deg\n  longitude: -8 deg" + months + "  - {month: 11, max: 9 °C, min: 5 °C, radiation: 1 MJ/m2}", "November stands a second time"},
	} {
		_, _, err := Read("site.yaml", []byte(strings.Replace(small, "place: {latitude: 54 deg, longitude: -8 deg, climate: London Heathrow}", row.place, 1)))
		if err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%v, want %q", err, row.want)
		}
	}
}

// What would kill, or cannot be, is refused with the reason.
func TestImpossible(t *testing.T) {
	s, _, err := Read("site.yaml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	for name, row := range map[string]struct {
		change func(*Site)
		want   string
		warns  bool
	}{
		"water that kills": {func(s *Site) { s.Loops[0].Tanks[0].WaterC = 33 }, "water of 33 °C kills Rainbow trout", false},
		"water too warm":   {func(s *Site) { s.Loops[0].Tanks[0].WaterC = 22 }, "does not feed", true},
		"put by later": {func(s *Site) {
			s.Opening.Larder = []PutBy{{Food: "potato", Place: "x", MassKg: 1, Since: s.Opening.Date.Plus(30)}}
			s.Larder = []LarderPlace{{Name: "x", Kind: "clamp", CapacityKg: 10}}
		}, "after the opening", false},
		"a store thrice full": {func(s *Site) {
			s.Opening.Larder = []PutBy{{Food: "potato", Place: "x", MassKg: 30}}
			s.Larder = []LarderPlace{{Name: "x", Kind: "clamp", CapacityKg: 10}}
		}, "which holds 10 kg", false},
		"a heavy child": {func(s *Site) { s.People[0].AgeY, s.People[0].WeightKg, s.People[0].HeightM = 4, 66, 1.69 }, "tall for a child", true},
	} {
		text, err := Write(s)
		if err != nil {
			t.Fatal(err)
		}
		changed, _, err := Read("copy.yaml", text)
		if err != nil {
			t.Fatal(err)
		}
		row.change(changed)
		problems, warnings := changed.Check()
		said := problems.Error()
		if row.warns {
			said = ""
			for _, w := range warnings {
				said += w.String() + "\n"
			}
		}
		if !strings.Contains(said, row.want) {
			t.Errorf("%s: %q, want %q", name, said, row.want)
		}
	}
}

// Check must find the same without text, line numbers apart.
func TestCheckOfAChangedSite(t *testing.T) {
	s, _, err := Read("site.yaml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	s.Opening.Cohorts[0].Tank = "tank 9"
	s.People[0].HeightM = 0
	problems, _ := s.Check()
	want := "people[0]: Ada eats on home-fed days, but has no height; without it the needs cannot be worked out"
	if len(problems) != 2 || !strings.Contains(problems.Error(), "opening.fish[0].tank: there is no tank \"tank 9\"; did you mean `tank 1`?") ||
		!strings.Contains(problems.Error(), want) {
		t.Errorf("Check: %v", problems)
	}
}

func TestMigrations(t *testing.T) {
	if len(migrations) != Schema-1 {
		t.Fatalf("%d migrations lead to schema %d", len(migrations), Schema)
	}
	steps := []migration{
		func(root *node) { // schema 1 called the name `title`
			for i, e := range root.entries {
				if e.key == "title" {
					root.entries[i].key = "heading"
				}
			}
		},
		func(root *node) {
			for i, e := range root.entries {
				if e.key == "heading" {
					root.entries[i].key = "name"
				}
			}
		},
	}
	for _, row := range []struct{ old, new string }{
		{"schema: 1\nname:", "schema: 1\ntitle:"}, {"schema: 1\nname:", "schema: 2\nheading:"}, {"schema: 1\nname:", "schema: 3\nname:"},
	} {
		s, _, err := read("old.yaml", []byte(strings.Replace(small, row.old, row.new, 1)), 3, steps)
		if err != nil || s.Name != "Gull Cottage" || s.Schema != 3 {
			t.Errorf("%q: %v, %v", row.new, s, err)
		}
	}
	_, _, err := read("old.yaml", []byte(strings.Replace(small, "schema: 1", "schema: 4", 1)), 3, steps)
	if err == nil || !strings.Contains(err.Error(), "old.yaml:1: schema: 4 is newer than the 3") {
		t.Errorf("schema 4: %v", err)
	}
}

// Every tag must be understood, and every word in a ref tag must be one that
// Check knows.
func TestTags(t *testing.T) {
	refs := []string{"food", "crop", "species"}
	for _, what := range named {
		refs = append(refs, what.ref)
	}
	used := map[string]bool{}
	seen := map[reflect.Type]bool{}
	var walk func(reflect.Type)
	walk = func(ty reflect.Type) {
		for ty.Kind() == reflect.Slice || ty.Kind() == reflect.Pointer {
			ty = ty.Elem()
		}
		if ty.Kind() != reflect.Struct || ty == dateType || seen[ty] {
			return
		}
		seen[ty] = true
		for _, r := range rulesOf(ty) {
			f := ty.Field(r.index)
			if r.key == "" {
				t.Errorf("%s.%s has no key", ty.Name(), f.Name)
			}
			if f.Type.Kind() == reflect.Float64 && r.kind.SIUnit() == "" {
				t.Errorf("%s.%s has no kind", ty.Name(), f.Name)
			}
			if r.ref != "" && !slices.Contains(refs, r.ref) {
				t.Errorf("%s.%s refers to an unknown %s", ty.Name(), f.Name, r.ref)
			}
			for _, span := range []*span{r.allowed, r.usual} {
				if span != nil && span.low >= span.high {
					t.Errorf("%s.%s: range %v", ty.Name(), f.Name, *span)
				}
			}
			used[ty.Name()+"."+r.key] = true
			walk(f.Type)
		}
	}
	walk(reflect.TypeFor[Site]())
	for key := range defaults {
		if !used[key] {
			t.Errorf("default for %s, which is no field", key)
		}
	}
}

func TestCurrencies(t *testing.T) {
	for _, row := range []struct{ currency, price, want string }{
		{"EUR", "0.36 EUR/kWh", ""}, {"EUR", "0.36 ¤/kWh", ""}, {"EUR", "0.36 €/kWh", ""}, {"USD", "0.36 $/kWh", ""},
		{"USD", "0.36 €/kWh", "€"}, {"GBP", "0.36 $/kWh", "$"}, {"EUR", "0.36 USD/kWh", "USD"},
	} {
		if got := otherCurrency(row.price, row.currency); got != row.want {
			t.Errorf("%s in a site of %s: %q, want %q", row.price, row.currency, got, row.want)
		}
		text := strings.Replace(small, "home-fed:\n", "currency: "+row.currency+"\nprices: {electricity: \""+row.price+"\"}\nhome-fed:\n", 1)
		s, _, err := Read("site.yaml", []byte(text))
		switch {
		case (err == nil) != (row.want == ""):
			t.Errorf("%s in a site of %s: %v", row.price, row.currency, err)
		case err == nil && math.Abs(s.Prices.ElectricityPerJ-1e-7) > 1e-20:
			t.Errorf("%s is read as %g a J", row.price, s.Prices.ElectricityPerJ)
		}
	}
}

// A text may run over lines; a key without a value is a key not given.
func TestYAMLForms(t *testing.T) {
	text := strings.Replace(small, "name: Gull Cottage\n", "name: 'Gull ''Cottage'''\nnote: |\n  two\n  lines\nunits: ~\ncurrency:\n", 1)
	s, _, err := Read("site.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if s.Name != "Gull 'Cottage'" || s.Note != "two\nlines\n" || s.Units != "metric" || s.Currency != "EUR" {
		t.Errorf("%q, %q, %q, %q", s.Name, s.Note, s.Units, s.Currency)
	}
	roundTrip(t, s)
	again, _, err := Read("site.yaml", []byte(strings.ReplaceAll(text, "\n", "\r\n")))
	if err != nil || again.Loops[0].Name != "north" || again.Opening.Date != s.Opening.Date {
		t.Errorf("lines that end in CR LF: %v", err)
	}
	_, _, err = Read("site.yaml", []byte(strings.Replace(small, "name: hall", "name: !!str hall", 1)))
	if err == nil || !strings.HasPrefix(err.Error(), "site.yaml:5: \"!!str\": anchors, aliases and type tags") {
		t.Errorf("type tag: %v", err)
	}
}

func TestProblemText(t *testing.T) {
	for _, row := range []struct {
		p    Problem
		want string
	}{
		{Problem{File: "a.yaml", Line: 3, Field: "name", Message: "m"}, "a.yaml:3: name: m"},
		{Problem{File: "a.yaml", Message: "m"}, "a.yaml: m"},
		{Problem{Line: 3, Message: "m"}, "line 3: m"},
		{Problem{Field: "name", Message: "m"}, "name: m"},
	} {
		if got := row.p.Error(); got != row.want {
			t.Errorf("%+v: %q, want %q", row.p, got, row.want)
		}
	}
}

func TestParseSpan(t *testing.T) {
	s, err := parseSpan("0<..<20")
	if err != nil || !s.tooLow(0) || s.tooLow(1e-9) || !s.tooHigh(20) || s.tooHigh(19) {
		t.Errorf("%+v, %v", s, err)
	}
	if s, err = parseSpan("..20"); err != nil || s.tooLow(-1e300) || s.tooHigh(20) {
		t.Errorf("%+v, %v", s, err)
	}
	for _, bad := range []string{"3", "a..b", "1..b"} {
		if _, err := parseSpan(bad); err == nil {
			t.Errorf("parseSpan(%q) is taken", bad)
		}
	}
}

func TestSamples(t *testing.T) {
	if got := Samples(); !slices.Equal(got, []string{"skerry-house", "twin-creeks"}) {
		t.Fatalf("Samples: %v", got)
	}
	for _, name := range Samples() {
		s, text, err := Sample(name)
		if err != nil {
			t.Fatal(err)
		}
		_, warnings, err := Read(name, text)
		if err != nil || len(warnings) > 0 {
			t.Errorf("%s: %v, %v", name, warnings, err)
		}
		roundTrip(t, s)
		for _, h := range s.HomeFed {
			if len(h.Eaters) == 0 || h.From.Before(s.Opening.Date.Time) {
				t.Errorf("%s: %s", name, h.Name)
			}
		}
	}
	if _, _, err := Sample("skerry"); err == nil || !strings.Contains(err.Error(), "`skerry-house`, `twin-creeks`") {
		t.Errorf("unknown sample: %v", err)
	}
}

func TestSkerryHouseIsTheDemo(t *testing.T) {
	s, _, err := Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Loops) != 2 || len(s.People) != 6 || s.Racks[0].Trays != 40 || len(s.Greens) != 5 || len(s.Buyers) != 3 || len(s.HomeFed) != 3 {
		t.Errorf("%d loops, %d people, %d trays", len(s.Loops), len(s.People), s.Racks[0].Trays)
	}
	var days []int
	for _, h := range s.HomeFed {
		days = append(days, h.From.DaysTo(h.To)+1)
	}
	if !slices.Equal(days, []int{2, 7, 2}) {
		t.Errorf("home-fed days %v", days)
	}
	var floorM2, roofM2 float64
	for _, z := range s.Zones {
		floorM2 += z.FloorM2
	}
	for _, f := range s.Surfaces {
		if f.Kind == "roof" {
			roofM2 += f.AreaM2
		}
	}
	if floorM2 != 9*18 || roofM2 < floorM2 {
		t.Errorf("floor %g m2, roof %g m2", floorM2, roofM2)
	}
	// Every planting can ripen in the year that follows the opening.
	last := s.HomeFed[len(s.HomeFed)-1].To
	for _, p := range s.Opening.Plantings {
		c, err := crop.Lookup(p.Crop)
		if err != nil || p.Planted.Plus(c.DaysToFirstHarvest).After(last.Time) {
			t.Errorf("%s of %s: %v", p.Crop, p.Planted, err)
		}
	}
}

func TestParseDate(t *testing.T) {
	if d, err := ParseDate("2028-02-29"); err != nil || d != On(2028, 2, 29) {
		t.Errorf("leap day: %v, %v", d, err)
	}
	for _, bad := range []string{"2027-02-29", "2027-04-31", "2027-00-10", "2027-1-1", "1899-12-31", "2200-01-01", "", "2027-01-00"} {
		if d, err := ParseDate(bad); err == nil || !d.IsZero() {
			t.Errorf("ParseDate(%q) = %v", bad, d)
		}
	}
	if n := On(2027, 3, 27).DaysTo(On(2027, 3, 30)); n != 3 || On(2027, 12, 31).Plus(1) != On(2028, 1, 1) {
		t.Errorf("days %d", n)
	}
}

func BenchmarkRead(b *testing.B) {
	_, text, err := Sample("skerry-house")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, _, err := Read("skerry-house.yaml", text); err != nil {
			b.Fatal(err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(small))
	f.Add([]byte("schema: 1\nname: \"\\u0007\"\nplace: {latitude: 0 deg, longitude: 0 deg}\nopening: {date: 2027-02-30}\n"))
	f.Add([]byte("a: &b [*b]\n<<: !!x {}\n? - |\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, _, err := Read("fuzz.yaml", text)
		if (s == nil) == (err == nil) {
			t.Fatalf("Read gave %v and %v", s, err)
		}
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" {
				t.Error("refused without a word")
			}
			return
		}
		roundTrip(t, s)
	})
}

// A fault in a file with the line ends of Windows is told with its line, comments or not.
func TestLinesOfWindows(t *testing.T) {
	text := "# one\r\n# two\r\nschema: 1\r\n# three\r\nbogus: 1\r\n"
	_, _, err := Read("w.yaml", []byte(text))
	if err == nil || !strings.Contains(err.Error(), "w.yaml:5:") {
		t.Errorf("%v", err)
	}
}
