package site

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// again reads, changes and rewrites a text.
func again(t *testing.T, text string, change func(*Site)) (string, bool) {
	t.Helper()
	s, _, err := Read("small.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	change(s)
	out, kept, lost, err := Rewrite([]byte(text), s)
	if err != nil {
		t.Fatal(err)
	}
	back, _, err := Read("again.yaml", out)
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if diff := cmp.Diff(s, back); diff != "" {
		t.Fatalf("rewritten and read (-want +got):\n%s\n%s", diff, out)
	}
	for _, c := range lost {
		if strings.Count(text, c) <= strings.Count(string(out), c) {
			t.Errorf("%q is called lost and is there", c)
		}
	}
	if len(comments(text))-len(lost) > len(comments(string(out))) {
		t.Errorf("of %q only %q are called lost: %q are there", comments(text), lost, comments(string(out)))
	}
	return string(out), kept
}

const commented = `# The cottage by the quay.
schema: 1
name: Gull Cottage   # as the post knows it
currency: EUR

place: {latitude: 57 deg, longitude: 2 deg, climate: London Heathrow}

zones:
  # the only one
  - name: hall
    floor: 430 ft2   # measured in May
    light: 60 %

# Two loops were planned, one was built.
loops:
- name: north
  # tanks first
  tanks:
    - name: pool
      volume: 1000 L
  beds:
    - {name: stones, kind: media, zone: hall, area: 2 m2}
    - name: tub
      kind: tub
      zone: hall
      area: 1 m2

people:
  - {name: Ada, sex: female, age: 42, weight: 65 kg, height: 1.65 m}

opening:
  date: 2027-01-11
  # sown by hand
  plantings:
    # the first one
    - crop: kale
      bed: stones
      area: 1 m2
      planted: 2026-11-01
    # slugs had half of it
    - crop: potato
      bed: tub
      area: 50 dm2
      planted: 2026-12-01
  # tested on the eve
  water:
    - loop: north
      ph: 6.9
# the end
`

// What did not change stays to the letter, what did is written anew, by hand below.
func TestRewriteKeeps(t *testing.T) {
	out, kept := again(t, commented, func(*Site) {})
	if out != commented || !kept {
		t.Errorf("nothing changed, kept %v:\n%s", kept, cmp.Diff(commented, out))
	}
	add := Planting{Crop: "kale", Bed: "tub", AreaM2: 0.25, Planted: On(2027, 2, 1)}
	for _, c := range []struct {
		what   string
		change func(*Site)
		edit   []string // old, new in turn
	}{
		{"a planting comes at the end", func(s *Site) { s.Opening.Plantings = append(s.Opening.Plantings, add) },
			[]string{"planted: 2026-12-01\n", "planted: 2026-12-01\n    - crop: kale\n      bed: tub\n      area: 0.25 m2\n      planted: 2027-02-01\n"}},
		{"a planting comes first", func(s *Site) { s.Opening.Plantings = slices.Insert(s.Opening.Plantings, 0, add) },
			[]string{"    # the first one\n", "    - crop: kale\n      bed: tub\n      area: 0.25 m2\n      planted: 2027-02-01\n    # the first one\n"}},
		{"the second goes", func(s *Site) { s.Opening.Plantings = s.Opening.Plantings[:1] },
			[]string{"    # slugs had half of it\n    - crop: potato\n      bed: tub\n      area: 50 dm2\n      planted: 2026-12-01\n", ""}},
		{"all go", func(s *Site) { s.Opening.Plantings = nil },
			[]string{commented[strings.Index(commented, "  # sown by hand"):strings.Index(commented, "  # tested")], ""}},
		{"a scalar changes", func(s *Site) { s.Name = "Tern Cottage" },
			[]string{"name: Gull Cottage   # as the post knows it\n", "name: Tern Cottage\n"}},
		{"a key comes", func(s *Site) { s.Note = "mended" }, nil},
		{"one in one line changes", func(s *Site) { s.Place.LatitudeDeg = 58 },
			[]string{"place: {latitude: 57 deg, longitude: 2 deg, climate: London Heathrow}\n", "place:\n  latitude: 58 deg\n  longitude: 2 deg\n  climate: London Heathrow\n"}},
		{"a key in a mapping changes", func(s *Site) { s.Opening.Date = On(2027, 1, 12) },
			[]string{"date: 2027-01-11", "date: 2027-01-12"}},
		{"a person comes, in braces like the one before", func(s *Site) {
			s.People = append(s.People, Person{Name: "Bo: the second", Sex: "male", AgeY: 45, WeightKg: 82, HeightM: 1.78, Activity: "low-active"})
		}, []string{"1.65 m}\n", "1.65 m}\n  - {name: \"Bo: the second\", sex: male, age: 45, weight: 82 kg, height: 1.78 m, activity: low-active}\n"}},
		{"a bed grows", func(s *Site) { s.Loops[0].Beds[1].AreaM2 = 3 },
			[]string{"kind: tub\n      zone: hall\n      area: 1 m2", "kind: tub\n      zone: hall\n      area: 3 m2"}},
		{"a bed in braces grows", func(s *Site) { s.Loops[0].Beds[0].AreaM2 = 3 },
			[]string{"{name: stones, kind: media, zone: hall, area: 2 m2}", "{name: stones, kind: media, zone: hall, area: 3 m2, tiers: 1}"}},
		{"a loop gets another name, and its first key is the dash's", func(s *Site) { s.Loops[0].Name, s.Opening.Water[0].Loop = "south", "south" },
			[]string{"- name: north\n", "- name: south\n", "- loop: north\n", "- loop: south\n"}},
		{"a planting is to be pulled", func(s *Site) { s.Opening.Plantings[1].Pull = On(2027, 8, 1) },
			[]string{"planted: 2026-12-01\n", "planted: 2026-12-01\n      pull: 2027-08-01\n"}},
		{"one goes, another takes a part of its place", func(s *Site) {
			s.Opening.Plantings = []Planting{s.Opening.Plantings[1], {Crop: "kale", Bed: "stones", AreaM2: 0.5, Planted: On(2027, 2, 1)}}
		}, []string{
			commented[strings.Index(commented, "    # the first one"):strings.Index(commented, "    # slugs")], "",
			"planted: 2026-12-01\n", "planted: 2026-12-01\n    - crop: kale\n      bed: stones\n      area: 0.5 m2\n      planted: 2027-02-01\n"}},
	} {
		out, kept := again(t, commented, c.change)
		if !kept {
			t.Errorf("%s: not kept:\n%s", c.what, out)
			continue
		}
		if c.edit == nil {
			for _, line := range []string{"# The cottage by the quay.\n", "floor: 430 ft2   # measured in May\n", "# Two loops were planned, one was built.\n", "# slugs had half of it\n", "# the end\n", "area: 50 dm2\n"} {
				if !strings.Contains(out, line) {
					t.Errorf("%s: %q is lost:\n%s", c.what, line, out)
				}
			}
			continue
		}
		if diff := cmp.Diff(strings.NewReplacer(c.edit...).Replace(commented), out); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.what, diff)
		}
	}
}

// A text that cannot be kept is written plainly, and that is said.
func TestRewritePlainly(t *testing.T) {
	s, text, err := Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	plain, err := Write(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, other := range [][]byte{nil, []byte("no: site"), []byte("\x00"), text[:len(text)/2]} {
		out, kept, _, err := Rewrite(other, s)
		if err != nil || kept || !bytes.Equal(out, plain) {
			t.Errorf("%.20q: kept %v, %v", other, kept, err)
		}
	}
	for _, layout := range []string{
		"{schema: 1, name: A, place: {latitude: 57 deg, longitude: 2 deg}}\n",
		"schema: 1\nname: >-\n  A\n  B\nplace:\n  latitude: 57 deg\n  longitude: 2 deg\nnote: |\n  one\n  # two\n\n# end",
		"# one\r\nschema: 1 # two\r\n# three\r\nname: A\r\nplace:\r\n  latitude: 57 deg\r\n  longitude: 2 deg\r\nzones:\r\n# four\r\n- name: hall # five\r\n  # six\r\n  floor: 4 m2\r\n# seven\r\n",
		"schema: 1\r\nname: A\r\nplace:\r\n  latitude: 57 deg\r\n  longitude: 2 deg\r\n",
		"---\nschema: 1\nname: A\nplace:\n    longitude: 2 deg\n    latitude: 57 deg\n...\n",
		"schema: 1\nname: A\nplace:\n  latitude: 57 deg\n  longitude: 2 deg\nzones:\n-\n  name: hall\n  floor: 4 m2\n-   name: shed\n    floor: 3 m2\n",
	} {
		for k, change := range []func(*Site){func(*Site) {}, func(s *Site) { s.Name = "B" }, func(s *Site) { s.Place.LatitudeDeg = -3 }, func(s *Site) { s.Note = "three" }, func(s *Site) { s.Zones = append(s.Zones, Zone{Name: "porch", FloorM2: 2, Light: 0.5}) }} {
			out, kept := again(t, layout, change) // reads as meant, kept or not
			if !kept && layout[0] != '{' {
				t.Errorf("change %d of %q is not kept: %q", k, layout, out)
			}
			if k == 0 && out != layout && kept {
				t.Errorf("nothing changed: %q is %q", layout, out)
			}
			if n, m := len(comments(layout)), len(comments(out)); strings.Contains(layout, "\r\n") && n != m {
				t.Errorf("change %d: of %d comments %d are left: %q", k, n, m, out)
			}
			if strings.Contains(layout, "\r\n") && strings.Count(out, "\n") != strings.Count(out, "\r\n") {
				t.Errorf("ends of lines are mixed: %q", out)
			}
		}
	}
}

// A dash on a line of its own, with or without a comment, keeps what stands below it; a
// heading that a blank line parts from an entry stays when that goes; what goes is told.
func TestRewriteDashes(t *testing.T) {
	text := "schema: 1\nname: A\nplace:\n  latitude: 57 deg\n  longitude: 2 deg\nzones:\n# measured by Ada\n\n- # first\n  name: hall # big\n  # by tape\n  floor: 400 ft2\n# small\n-\n  name: shed\n  floor: 3 m2\n"
	out, kept := again(t, text, func(s *Site) { s.Zones[0].Name = "house" })
	if want := strings.Replace(text, "name: hall # big", "name: house", 1); !kept || out != want {
		t.Errorf("kept %v:\n%s", kept, cmp.Diff(want, out))
	}
	s, _, err := Read("", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	s.Zones = s.Zones[1:]
	rewritten, kept, lost, err := Rewrite([]byte(text), s)
	if want := strings.Replace(text, text[strings.Index(text, "- # first"):strings.Index(text, "# small")], "", 1); err != nil || !kept || string(rewritten) != want {
		t.Errorf("kept %v, %v:\n%s", kept, err, cmp.Diff(want, string(rewritten)))
	}
	if diff := cmp.Diff([]string{"# first", "# big", "# by tape"}, lost); diff != "" {
		t.Errorf("lost: %s", diff)
	}
}

func TestComments(t *testing.T) {
	text := "# one\na: b # two\nc: \"# no \\\" # no\" # three\nd: it's # four\ne: 'a # no, it''s # no' #five\nf: a#no\n#\n- \"x\" # six\r\n"
	if diff := cmp.Diff([]string{"# one", "# two", "# three", "# four", "#five", "# six"}, comments(text)); diff != "" {
		t.Error(diff)
	}
}

// Whatever entries of its lists come and go, and wherever comments and blank lines
// stand, the demo's text keeps them and reads as it was changed.
func TestRewriteAnything(t *testing.T) {
	whole, text, err := Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	lines := slices.Collect(strings.Lines(string(text)))
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		for _, line := range lines {
			if !aside(line) && rapid.IntRange(0, 40).Draw(t, "aside") == 0 {
				pad := strings.Repeat(" ", indent(line))
				b.WriteString(rapid.SampledFrom([]string{"\n", pad + "# a word\n", "\n" + pad + "# two\n", "# at the edge\n", pad + "   # set in\n"}).Draw(t, "what"))
			}
			b.WriteString(line)
		}
		s, _, err := Read("", []byte(b.String()))
		if err != nil || !reflect.DeepEqual(s, whole) {
			t.Fatalf("the comments changed it: %v", err)
		}
		var plantings []Planting
		for _, p := range s.Opening.Plantings {
			switch rapid.IntRange(0, 5).Draw(t, "planting") {
			case 0:
			case 1:
				other := p
				other.AreaM2 /= 2
				plantings = append(plantings, other, p)
			case 2:
				p.AreaM2 *= 0.5
				fallthrough
			default:
				plantings = append(plantings, p)
			}
		}
		s.Opening.Plantings = plantings
		if rapid.Bool().Draw(t, "crops") {
			s.Crops = s.Crops[:rapid.IntRange(0, len(s.Crops)).Draw(t, "crops left")]
		}
		if rapid.Bool().Draw(t, "prices") {
			s.Prices.LabourPerS += 0.001
		}
		if rapid.Bool().Draw(t, "note") {
			s.Note = "new"
		}
		out, kept, lost, err := Rewrite([]byte(b.String()), s)
		if err != nil || !kept {
			t.Fatalf("kept %v, %v", kept, err)
		}
		if n, m := len(comments(b.String())), len(comments(string(out))); n-m != len(lost) {
			t.Fatalf("of %d comments %d are there and %q are called lost", n, m, lost)
		}
		back, _, err := Read("", out)
		if err != nil {
			t.Fatal(err)
		}
		plain, err := Write(s)
		if err != nil {
			t.Fatal(err)
		}
		if want, _, err := Read("", plain); err != nil || !reflect.DeepEqual(back, want) {
			t.Fatalf("not as changed: %v\n%s", err, cmp.Diff(want, back))
		}
	})
}
