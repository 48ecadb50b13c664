package reckoner

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"tidebed/quantity"
	"tidebed/table"
	"tidebed/words"
)

// The kinds of keys that are no quantities.
const (
	Word quantity.Kind = "word" // one of Key.Choices
	Date quantity.Kind = "date" // YYYY-MM-DD
	Time quantity.Kind = "time" // RFC 3339, with its offset from UTC
)

// Entry is one question: what it asks for and what it answers.
type Entry struct {
	Name     string // as typed, such as "resting-energy"; never changes
	Title    string // for people
	Formula  string // in words
	Keys     []Key
	Outputs  []Output
	OneOf    [][]string // of each group of keys exactly one must be given
	Sources  []string   // keys of docs/sources.md
	Cautions []string   // sentences for people that hold for every answer; printers show them below it

	run func(in *inputs, out *answer) error
}

// Key is one input of an entry.
type Key struct {
	Name     string // as typed, such as "air-temp"
	What     string // what it is, in words
	Kind     quantity.Kind
	Unit     string // unit of the number the formula takes and Result.Inputs gives; the kind's own when the table leaves it out
	BareUnit string // unit of a number typed bare; empty: bare only where the kind has none
	Default  string // as it would be typed; empty for none
	Required bool
	Choices  []string // words allowed, for Kind Word
	Low      float64  // least number allowed, in Unit
	High     float64  // largest number allowed, in Unit
	Range    string   // Low and High, or the choices, in words
	List     bool     // several values, separated by ";"
	Second   quantity.Kind
	// Second, when set, makes each value a pair "first:second"; its number is
	// in the second kind's own unit and has no range of its own.
	NoBare bool   // a share that must be written with %
	Field  string // name in Result.Inputs, bears the unit: "airTempC"

	refuses func(text string) string // says why a word outside Choices is never allowed; empty otherwise
	fold    func(text string) string // brings other spellings of a word to those of Choices; nil for none
}

// Output is one number or text of the answer.
type Output struct {
	Name     string // bears the unit: "kcalDay"
	What     string // what it is, in words
	Unit     string // for people: "kcal/d"; empty for texts and numbers without dimension
	Optional bool   // left out of the answer when an optional input is absent
}

// tables are all entries, in the order in which they are listed.
func tables() []Entry {
	return slices.Concat(lightEntries(), waterEntries(), cropEntries(), greensEntries(), fishEntries(), pipeEntries(), siphonEntries(), fabricEntries(), powerEntries(), foodEntries())
}

// registry is the tables with ranges, fields and units filled in.
var registry = sync.OnceValue(func() []Entry {
	list := tables()
	for i := range list {
		for k := range list[i].Keys {
			list[i].Keys[k].complete()
		}
	}
	return list
})

// complete fills in what follows from the rest of a key.
func (k *Key) complete() {
	if k.Unit == "" && k.numeric() {
		k.Unit = k.Kind.SIUnit()
	}
	if k.Range == "" {
		switch {
		case k.Kind == Word && len(k.Choices) <= manyChoices:
			k.Range = words.ListOr(k.Choices)
		case k.Kind == Word:
			k.Range = fmt.Sprintf("one of %d words", len(k.Choices))
		case k.Kind == Date:
			k.Range = "a date YYYY-MM-DD"
		case k.Kind == Time:
			k.Range = "a time as 2026-03-01T12:00:00Z"
		default:
			k.Range = k.show(k.Low) + " to " + k.show(k.High)
		}
	}
	if k.Field == "" {
		k.Field = camel(k.Name)
		if k.numeric() {
			k.Field += unitSuffix(k.Unit)
		}
	}
}

func (k *Key) numeric() bool { return k.Kind != Word && k.Kind != Date && k.Kind != Time }

// show prints a number of the key's unit for people.
func (k *Key) show(v float64) string {
	form := byte('g')
	if a := math.Abs(v); a == 0 || a >= 1e-4 && a < 1e7 {
		form = 'f'
	}
	text := strconv.FormatFloat(v, form, -1, 64)
	switch k.Unit {
	case "1", "":
		return text
	case "year":
		return text + " years"
	}
	return text + " " + k.Unit
}

// manyChoices is how many choices a sentence still lists in full.
const manyChoices = 20

// camel turns "air-temp" into "airTemp".
func camel(name string) string {
	var b strings.Builder
	for i, part := range strings.Split(name, "-") {
		if i > 0 {
			part = hump(part)
		}
		b.WriteString(part)
	}
	return b.String()
}

// hump is a part of a name in camel case: "kWh" gives "KWh", which a sentence
// (words.Capital) would leave alone.
func hump(part string) string {
	r, size := utf8.DecodeRuneInString(part)
	if size == 0 {
		return ""
	}
	return string(unicode.ToUpper(r)) + part[size:]
}

// suffixes are the endings of names by unit, where spelling the unit out with
// capitals would not give the house's form.
var suffixes = map[string]string{
	"1": "", "°C": "C", "d": "Days", "h": "Hours", "year": "Years",
	"g/m3": "Gm3", "g/m3 as N": "Gm3", "g/m3 as P": "Gm3", "g/m3 as C": "Gm3",
	"kg/m3": "KgM3", "m3/s": "M3s", "ppm": "Ppm", "g/d": "Gd", "m/s": "Ms",
	"mol/m2/d": "MolM2", "MJ/m2": "MjM2", "kcal": "Kcal", "%": "Percent", "¤": "",
}

func unitSuffix(unit string) string {
	if s, ok := suffixes[unit]; ok {
		return s
	}
	var b strings.Builder
	for _, part := range strings.FieldsFunc(unit, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		b.WriteString(hump(part))
	}
	return b.String()
}

// Entries returns all entries in the order in which they are registered.
func Entries() []Entry { return slices.Clone(registry()) }

// Find returns the entry of that name. The error, an *InputError without a
// Field, names the entries most like it.
func Find(name string) (Entry, error) {
	all := registry()
	tidy := strings.ToLower(strings.TrimSpace(name))
	names := make([]string, len(all))
	for i, e := range all {
		if e.Name == tidy {
			return e, nil
		}
		names[i] = e.Name
	}
	return Entry{}, &InputError{Entry: clip(name), Sentence: fmt.Sprintf("There is no quick sum %q. Did you mean %s?", clip(name), words.ListOr(table.Nearest(clip(tidy), names, 3)))}
}

// Key returns the key of that name.
func (e Entry) Key(name string) (Key, bool) {
	for _, k := range e.Keys {
		if k.Name == name {
			return k, true
		}
	}
	return Key{}, false
}

// clip keeps a typed text short enough for a sentence.
func clip(text string) string {
	const most = 60
	text = strings.ToValidUTF8(text, "�")
	if len(text) <= most {
		return text
	}
	cut := most
	for !utf8.RuneStart(text[cut]) {
		cut--
	}
	return text[:cut] + "…"
}
