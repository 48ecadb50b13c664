package table

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

const kettles = `# kettles of an invented kitchen
# volumes in litres
key,name,volume_l,cups,whistles,note
# the small one
tin,Tin kettle,0.75,3,no,
iron , Iron kettle ,-2e1, 12 ,yes,"heavy, black
and ""old"""
clay,Clay kettle,,7,yes,# no comment
`

func TestReadCells(t *testing.T) {
	rows := Read("kettles.csv", kettles)
	if len(rows) != 3 {
		t.Fatalf("%d rows, want 3", len(rows))
	}
	for i, want := range []struct {
		key, name, note string
		volume          float64
		known           bool
		cups            int
		whistles        bool
	}{
		{"tin", "Tin kettle", "", 0.75, true, 3, false},
		{"iron", "Iron kettle", "heavy, black\nand \"old\"", -20, true, 12, true},
		{"clay", "Clay kettle", "# no comment", 0, false, 7, true},
	} {
		r := rows[i]
		if r.Text("key") != want.key || r.Text("name") != want.name || r.Text("note") != want.note {
			t.Errorf("row %d: texts %q, %q, %q; want %+v", i, r.Text("key"), r.Text("name"), r.Text("note"), want)
		}
		if v, known := r.Optional("volume_l"); v != want.volume || known != want.known {
			t.Errorf("row %d: volume %g, %v; want %+v", i, v, known, want)
		}
		if want.known && r.Number("volume_l") != want.volume {
			t.Errorf("row %d: volume %g, want %g", i, r.Number("volume_l"), want.volume)
		}
		wantOr := want.volume
		if !want.known {
			wantOr = 5
		}
		if got := r.NumberOr("volume_l", 5); got != wantOr {
			t.Errorf("row %d: volume or 5 is %g, want %g", i, got, wantOr)
		}
		if r.Integer("cups") != want.cups || r.Yes("whistles") != want.whistles {
			t.Errorf("row %d: %d cups, whistles %v; want %+v", i, r.Integer("cups"), r.Yes("whistles"), want)
		}
	}
}

// fault returns what f panics with, "" when it does not.
func fault(f func()) (says string) {
	defer func() {
		if p := recover(); p != nil {
			says = fmt.Sprint(p)
		}
	}()
	f()
	return ""
}

// Each fault is named with its table, line, column and cell.
func TestFaults(t *testing.T) {
	number := func(r Row) { r.Number("volume_l") }
	optional := func(r Row) { r.Optional("volume_l") }
	whole := func(r Row) { r.Integer("volume_l") }
	yes := func(r Row) { r.Yes("volume_l") }
	for _, row := range []struct {
		text string
		ask  func(Row)
		says string
	}{
		{"", nil, "table t.csv: no rows"},
		{"# a word\n", nil, "table t.csv: no rows"},
		{"key,volume_l\n", nil, "table t.csv: no rows"},
		{"key,volume_l\na,1\nb\n", nil, "table t.csv: record on line 3: wrong number of fields"},
		{"key,volume_l\na,1,2\n", nil, "table t.csv: record on line 2: wrong number of fields"},
		{"key,volume_l\na,\"1\n", nil, `table t.csv: parse error on line 2, column 6: extraneous or missing " in quoted-field`},
		{"# a word\nkey,key\na,1\n", nil, `table t.csv, line 2, column 2: the name "key" is empty or stands twice`},
		{"key, \na,1\n", nil, `table t.csv, line 1, column 2: the name "" is empty or stands twice`},
		{"key,volume_l\na,1\n\n# a word\nb,1 l\n", number, `table t.csv, line 5, column volume_l: "1 l" is no finite number`},
		{"key,volume_l\na,1 l\n", optional, `table t.csv, line 2, column volume_l: "1 l" is no finite number`},
		{"key,volume_l\na,NaN\n", number, `table t.csv, line 2, column volume_l: "NaN" is no finite number`},
		{"key,volume_l\na,-inf\n", optional, `table t.csv, line 2, column volume_l: "-inf" is no finite number`},
		{"key,volume_l\na,1e999\n", number, `table t.csv, line 2, column volume_l: "1e999" is no finite number`},
		{"key,volume_l\na, \n", number, `table t.csv, line 2, column volume_l: "" is blank where a number is needed`},
		{"key,volume_l\na,2.5\n", whole, `table t.csv, line 2, column volume_l: "2.5" is no whole number`},
		{"key,volume_l\na,\n", whole, `table t.csv, line 2, column volume_l: "" is no whole number`},
		{"key,volume_l\na,Yes\n", yes, `table t.csv, line 2, column volume_l: "Yes" is neither yes nor no`},
		{"key,volume_l\na,\n", yes, `table t.csv, line 2, column volume_l: "" is neither yes nor no`},
		{"key,volume_m3\na,1\n", number, "table t.csv, line 2: no column volume_l"},
		{"key,volume_m3\na,1\n", optional, "table t.csv, line 2: no column volume_l"},
		{"key,volume_m3\na,1\n", whole, "table t.csv, line 2: no column volume_l"},
		{"key,volume_m3\na,1\n", yes, "table t.csv, line 2: no column volume_l"},
		{"key,volume_l\na,1\n", func(r Row) { r.Fault("key", "is no kettle") }, `table t.csv, line 2, column key: "a" is no kettle`},
	} {
		got := fault(func() {
			for _, r := range Read("t.csv", row.text) {
				row.ask(r)
			}
		})
		if got != row.says {
			t.Errorf("%q: %q, want %q", row.text, got, row.says)
		}
	}
}

func TestIndex(t *testing.T) {
	x := ReadIndex("kettles.csv", kettles, "key", func(r Row) int { return r.Integer("cups") })
	if cups, known := x.Find("iron"); cups != 12 || !known {
		t.Errorf("iron: %d cups, %v", cups, known)
	}
	if cups, known := x.Find("Iron"); cups != 0 || known {
		t.Errorf("Iron: %d cups, %v", cups, known)
	}
	x.All()[0], x.Keys()[0] = 99, "gold" // copies
	if !slices.Equal(x.All(), []int{3, 12, 7}) || !slices.Equal(x.Keys(), []string{"tin", "iron", "clay"}) {
		t.Errorf("all %v, keys %v", x.All(), x.Keys())
	}
	for text, says := range map[string]string{
		"key,cups\na,1\nb,2\na,3\n": `table t.csv, line 4, column key: "a" is blank or stands twice`,
		"key,cups\na,1\n,2\n":       `table t.csv, line 3, column key: "" is blank or stands twice`,
		"name,cups\na,1\n":          "table t.csv, line 2: no column key",
	} {
		if got := fault(func() { ReadIndex("t.csv", text, "key", func(r Row) int { return r.Integer("cups") }) }); got != says {
			t.Errorf("%q: %q, want %q", text, got, says)
		}
	}
}

func TestNearest(t *testing.T) {
	words := []string{"kale", "potato", "sweet_potato", "pea", "tomato"}
	for _, row := range []struct {
		word string
		most int
		want string
	}{
		{"kalle", 1, "kale"},
		{"potatoe", 3, "potato tomato kale"}, // held by the word; 2 or 3 changes; 5
		{"sweet", 2, "sweet_potato kale"},    // 7 to put in, a quarter counts; 4, like pea
		{"ea", 1, "pea"},
		{"kale", 9, "kale pea potato tomato sweet_potato"},
		{"kale", 0, ""},
		{"kale", -1, ""},
		{"", 2, "pea kale"},
	} {
		if got := strings.Join(Nearest(row.word, words, row.most), " "); got != row.want {
			t.Errorf("Nearest(%q, %d) = %q, want %q", row.word, row.most, got, row.want)
		}
	}
	if got := Nearest("kale", nil, 3); got == nil || len(got) != 0 {
		t.Errorf("of no words: %v", got)
	}
}

// Distances by hand, and the laws of a distance.
func TestDistance(t *testing.T) {
	for _, row := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "pea", 3}, {"kitten", "sitting", 3}, {"flaw", "lawn", 2}, {"ab", "ba", 2}, {"e", "é", 2},
	} {
		if got := distance(row.a, row.b); got != row.want {
			t.Errorf("distance(%q, %q) = %d, want %d", row.a, row.b, got, row.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-c]{0,6}`)
		a, b, c := word.Draw(t, "a"), word.Draw(t, "b"), word.Draw(t, "c")
		ab := distance(a, b)
		if (ab == 0) != (a == b) || ab != distance(b, a) || ab > max(len(a), len(b)) || ab < max(len(a)-len(b), len(b)-len(a)) {
			t.Fatalf("distance(%q, %q) = %d", a, b, ab)
		}
		if ac := distance(a, c); ac > ab+distance(b, c) {
			t.Fatalf("%q to %q is %d, over %q less", a, c, ac, b)
		}
	})
}

// Whatever text is read, rows hold a cell for each column or the fault names the table.
func FuzzRead(f *testing.F) {
	f.Add(kettles)
	f.Add("key,volume_l\na,\"1\n")
	f.Fuzz(func(t *testing.T, text string) {
		says := fault(func() {
			for _, r := range Read("t.csv", text) {
				if len(r.cells) != len(r.columns) || r.line < 2 {
					panic(fmt.Sprintf("line %d: %d cells of %d", r.line, len(r.cells), len(r.columns)))
				}
			}
		})
		if says != "" && !strings.HasPrefix(says, "table t.csv") && utf8.ValidString(text) {
			t.Errorf("%q: %s", text, says)
		}
	})
}
