package words_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"tidebed/words"
)

func TestWords(t *testing.T) {
	for _, row := range []struct{ got, want string }{
		{words.List(nil), ""},
		{words.List([]string{"leaf tubs"}), "leaf tubs"},
		{words.List([]string{"trout 1", "trout 2"}), "trout 1 and trout 2"},
		{words.List([]string{"north 1 to 6", "tubs", "shelf"}), "north 1 to 6, tubs and shelf"},
		{words.ListOr(nil), ""},
		{words.ListOr([]string{"°C"}), "°C"},
		{words.ListOr([]string{"°C", "°F", "K"}), "°C, °F or K"},

		{words.Capital(""), ""},
		{words.Capital("a"), "A"},
		{words.Capital("the pump stops"), "The pump stops"},
		{words.Capital("un-ionised ammonia"), "Un-ionised ammonia"},
		{words.Capital("élan"), "Élan"},
		{words.Capital("Ärla"), "Ärla"},
		{words.Capital("13 plantings"), "13 plantings"},
		{words.Capital("pH of the water"), "pH of the water"},
		{words.Capital("pH"), "pH"},
		{words.Capital("pHarm"), "pHarm"}, // by the second letter, not by the word
		{words.Capital("dKH and kWh"), "dKH and kWh"},
		{words.Capital("kPa"), "kPa"},
		{words.Capital("kg"), "Kg"}, // a sign that its second letter does not give away
		{words.Capital("µmol/m²/s"), "µmol/m²/s"},
		{words.Capital("NFT channel"), "NFT channel"},

		{words.Lower(""), ""},
		{words.Lower("A valve sticks open"), "a valve sticks open"},
		{words.Lower("Rainbow trout"), "rainbow trout"},
		{words.Lower("Élan"), "élan"},
		{words.Lower("CO2 in the air"), "CO2 in the air"},
		{words.Lower("NFT channel"), "NFT channel"},
		{words.Lower("ÄÖ"), "ÄÖ"},
		{words.Lower("pH"), "pH"},
		{words.Lower("B"), "B"},
		{words.Lower("É"), "É"},
		{words.Lower("F1 cress"), "f1 cress"},

		{words.LowerName(""), ""},
		{words.LowerName("Chard"), "chard"},
		{words.LowerName("Øst"), "øst"},
		{words.LowerName("LED lamp"), "LED lamp"},
		{words.LowerName("F1 cress"), "F1 cress"},
		{words.LowerName("A-frame"), "A-frame"},
		{words.LowerName("B 2"), "B 2"},
		{words.LowerName("kale"), "kale"},

		{words.Plural(1, "stands", "stand"), "stands"},
		{words.Plural(0, "stands", "stand"), "stand"},
		{words.Plural(-1, "stands", "stand"), "stand"},
		{words.Count(0, "bed", "beds"), "0 beds"},
		{words.Count(1, "bed", "beds"), "1 bed"},
		{words.Count(21, "bed", "beds"), "21 beds"},
		{words.Count(-1, "bed", "beds"), "-1 beds"},
		{words.Spelled(0, "day", "days"), "no days"},
		{words.Spelled(1, "person", "people"), "one person"},
		{words.Spelled(2, "bucket", "buckets"), "two buckets"},
		{words.Spelled(6, "person", "people"), "six people"},
		{words.Spelled(12, "bucket", "buckets"), "twelve buckets"},
		{words.Spelled(13, "person", "people"), "13 people"},
		{words.Spelled(-2, "person", "people"), "-2 people"},

		{words.Loop("north"), "north loop"},
		{words.Loop("Loop 2"), "Loop 2"},
		{words.Loop("the nursery's LOOP"), "the nursery's LOOP"},
		{words.Loop(""), " loop"},
	} {
		if row.got != row.want {
			t.Errorf("%q, want %q", row.got, row.want)
		}
	}
}

// text draws words as they come: of both sizes, beyond ASCII, and no words at all.
func text() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.StringMatching(`[a-zA-ZéÉØøµ0-9][a-zA-ZéÉ0-9 -]{0,6}`),
		rapid.String(),
		rapid.Map(rapid.SliceOfN(rapid.Byte(), 0, 6), func(b []byte) string { return string(b) }),
	)
}

// TestFirstLetter: only the first letter changes, once is enough, and no letter is
// cut through.
func TestFirstLetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := text().Draw(t, "text")
		_, size := utf8.DecodeRuneInString(in)
		for name, f := range map[string]func(string) string{"Capital": words.Capital, "Lower": words.Lower, "LowerName": words.LowerName} {
			out := f(in)
			_, outSize := utf8.DecodeRuneInString(out)
			if out[outSize:] != in[size:] {
				t.Fatalf("%s(%q) = %q: more than the first letter changed", name, in, out)
			}
			if again := f(out); again != out {
				t.Fatalf("%s(%q) = %q, and again %q", name, in, out, again)
			}
			if utf8.ValidString(in) != utf8.ValidString(out) {
				t.Fatalf("%s(%q) = %q: a letter was cut or mended", name, in, out)
			}
		}
		if inside := words.LowerName(in); inside != in && inside != words.Lower(in) {
			t.Fatalf("LowerName(%q) = %q, neither the name nor Lower's %q", in, inside, words.Lower(in))
		}
	})
}

// TestBackAndForth: a plain word comes back from its capital.
func TestBackAndForth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-zéèøüß][a-zéèøü]{1,5}`).Filter(func(s string) bool { return !strings.HasPrefix(s, "ß") }).Draw(t, "word")
		large := words.Capital(word)
		if large == word {
			t.Fatalf("Capital(%q) left it small", word)
		}
		if words.Lower(large) != word || words.LowerName(large) != word {
			t.Fatalf("%q, large %q, small again %q and %q", word, large, words.Lower(large), words.LowerName(large))
		}
	})
}

// TestListHoldsAll: a list can be taken apart again, and is the same with "or".
func TestListHoldsAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SliceOfN(rapid.StringMatching(`[b-z]{1,4}[0-9]?`), 1, 6).Draw(t, "words")
		before := slices.Clone(in)
		for last, list := range map[string]string{" and ": words.List(in), " or ": words.ListOr(in)} {
			if n := strings.Count(list, last); n != min(1, len(in)-1) {
				t.Fatalf("%q has %d of %q", list, n, last)
			}
			if back := strings.Split(strings.Replace(list, last, ", ", 1), ", "); !slices.Equal(back, in) {
				t.Fatalf("%q comes back as %q, want %q", list, back, in)
			}
		}
		if !slices.Equal(in, before) {
			t.Fatalf("the words given are changed: %q, were %q", in, before)
		}
	})
}

// TestCounts: every number is told, spelled out to twelve and in digits beyond.
func TestCounts(t *testing.T) {
	seen := map[string]int{}
	for n := -3; n <= 40; n++ {
		thing := "fish tanks"
		if n == 1 {
			thing = "fish tank"
		}
		digits, spelled := words.Count(n, "fish tank", "fish tanks"), words.Spelled(n, "fish tank", "fish tanks")
		if want := fmt.Sprintf("%d %s", n, thing); digits != want {
			t.Errorf("Count: %q, want %q", digits, want)
		}
		if !strings.HasSuffix(spelled, " "+thing) {
			t.Errorf("Spelled(%d): %q, want it to end with %q", n, spelled, thing)
		}
		if out := n >= 0 && n <= 12; out == strings.ContainsAny(spelled, "0123456789") {
			t.Errorf("Spelled(%d): %q", n, spelled)
		} else if !out && spelled != digits {
			t.Errorf("Spelled(%d): %q, want %q", n, spelled, digits)
		}
		if was, twice := seen[spelled]; twice {
			t.Errorf("%d and %d are both %q", was, n, spelled)
		}
		seen[spelled] = n
	}
}
