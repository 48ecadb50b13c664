package reckoner

import (
	"fmt"
	"strings"
	"time"

	"tidebed/quantity"
	"tidebed/table"
	"tidebed/words"
)

// InputError says in a sentence what is wrong with an input and what is allowed.
type InputError struct {
	Entry    string // name of the entry, as typed
	Field    string // name of the key at fault; empty when it is none or several
	Sentence string
}

// Error returns the entry's name and the sentence.
func (e *InputError) Error() string { return e.Entry + ": " + e.Sentence }

// ReadArgs reads "key=value" arguments of one entry. A key given twice, an
// argument without "=" and a key the entry does not have are refused with an
// *InputError; values are read by Run.
func ReadArgs(entry string, args []string) (map[string]string, error) {
	e, err := Find(entry)
	if err != nil {
		return nil, err
	}
	values := make(map[string]string, len(args))
	for _, arg := range args {
		key, value, found := strings.Cut(arg, "=")
		if !found {
			return nil, &InputError{Entry: e.Name, Sentence: fmt.Sprintf("%q is no key=value; write for example %s.", clip(arg), e.example())}
		}
		key = tidyKey(key)
		if _, known := e.Key(key); !known {
			return nil, e.unknown(key)
		}
		if _, twice := values[key]; twice {
			return nil, e.refuse(key, "%s is given twice; give it once.", key)
		}
		values[key] = value
	}
	return values, nil
}

func tidyKey(key string) string { return strings.ToLower(strings.TrimSpace(key)) }

// example is an argument of the entry's first key.
func (e Entry) example() string {
	if len(e.Keys) == 0 {
		return "nothing: this sum takes no keys"
	}
	k := e.Keys[0]
	switch {
	case k.Default != "":
		return k.Name + "=" + k.Default
	case len(k.Choices) > 0:
		return k.Name + "=" + k.Choices[0]
	case k.numeric():
		return k.Name + "=" + strings.ReplaceAll(k.show(k.High), " years", "")
	}
	return k.Name + "=…"
}

func (e Entry) refuse(field, format string, args ...any) *InputError {
	return &InputError{Entry: e.Name, Field: field, Sentence: fmt.Sprintf(format, args...)}
}

func (e Entry) unknown(key string) *InputError {
	names := make([]string, len(e.Keys))
	for i, k := range e.Keys {
		names[i] = k.Name
	}
	return e.refuse(clip(key), "%s has no key %q. Did you mean %s? Its keys are %s.",
		e.Name, clip(key), table.Nearest(clip(key), names, 1)[0], strings.Join(names, ", "))
}

// inputs are the typed values of one run. The getters are for keys that are
// required, have a default or are known to be given; for an absent key they
// return the zero value.
type inputs struct {
	entry  *Entry
	values map[string]any // by key: float64, string, time.Time, []float64 or [][2]float64
}

// Number returns a number in the key's unit.
func (in *inputs) Number(key string) float64 { v, _ := in.values[key].(float64); return v }

// Word returns a word as the choices spell it.
func (in *inputs) Word(key string) string { v, _ := in.values[key].(string); return v }

// Given reports whether a key has a value, typed or by default.
func (in *inputs) Given(key string) bool { _, ok := in.values[key]; return ok }

// Refuse says that a key's value cannot be used, and what is allowed.
func (in *inputs) Refuse(key, format string, args ...any) error {
	return in.entry.refuse(key, format, args...)
}

// read turns the texts into typed values, defaults included.
func (e *Entry) read(texts map[string]string) (*inputs, error) {
	typed := make(map[string]string, len(texts))
	for raw, text := range texts {
		key := tidyKey(raw)
		if _, known := e.Key(key); !known {
			return nil, e.unknown(key)
		}
		if _, twice := typed[key]; twice {
			return nil, e.refuse(key, "%s is given twice; give it once.", key)
		}
		typed[key] = text
	}
	in := &inputs{entry: e, values: make(map[string]any, len(e.Keys))}
	for _, k := range e.Keys {
		text, given := typed[k.Name]
		switch {
		case !given && k.Default != "":
			text = k.Default
		case !given && k.Required:
			return nil, e.refuse(k.Name, "%s is missing: %s, %s.", words.Capital(k.Name), k.What, k.Range)
		case !given:
			continue
		}
		value, err := k.read(text)
		if err != nil {
			return nil, e.refuse(k.Name, "%s", err)
		}
		in.values[k.Name] = value
	}
	for _, group := range e.OneOf {
		var have []string
		for _, name := range group {
			if in.Given(name) {
				have = append(have, name)
			}
		}
		switch len(have) {
		case 1:
		case 0:
			return nil, e.refuse(group[0], "One of %s is needed.", words.ListOr(group))
		default:
			return nil, e.refuse(have[1], "%s say the same thing twice; give only one of %s.", words.Capital(strings.Join(have, " and ")), words.ListOr(group))
		}
	}
	return in, nil
}

// Longest inputs read, in values of a list and in bytes.
const (
	mostValues = 10000
	mostBytes  = 200000
)

// read turns a text into the key's value: float64, string, time.Time, or a list
// of numbers or pairs. Errors are sentences.
func (k *Key) read(text string) (any, error) {
	if len(text) > mostBytes {
		return nil, k.sentence("too long a text; at most %d bytes are read", mostBytes)
	}
	if !k.List {
		if k.Second != "" {
			return k.pair(text)
		}
		return k.single(text)
	}
	parts := strings.Split(text, ";")
	if len(parts) > mostValues {
		return nil, k.sentence("at most %d values are read", mostValues)
	}
	var numbers []float64
	var pairs [][2]float64
	for _, part := range parts {
		if strings.TrimSpace(part) == "" {
			continue
		}
		if k.Second != "" {
			p, err := k.pair(part)
			if err != nil {
				return nil, err
			}
			pairs = append(pairs, p)
			continue
		}
		v, err := k.number(part)
		if err != nil {
			return nil, err
		}
		numbers = append(numbers, v)
	}
	switch {
	case len(pairs) > 0:
		return pairs, nil
	case len(numbers) > 0:
		return numbers, nil
	}
	return nil, k.sentence("a list is needed, its values separated by \";\"")
}

// sentence is an error for people: a whole sentence, or two.
type sentence string

func (s sentence) Error() string { return string(s) }

// sentence makes an error that begins with the key's name and ends in a stop.
func (k *Key) sentence(format string, args ...any) error {
	text := words.Capital(k.Name) + ": " + fmt.Sprintf(format, args...)
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return sentence(text)
}

func (k *Key) single(text string) (any, error) {
	plain := strings.TrimSpace(text)
	switch k.Kind {
	case Word:
		word := strings.ToLower(plain)
		if k.fold != nil {
			word = k.fold(plain)
		}
		for _, c := range k.Choices {
			if strings.ToLower(c) == word || strings.ReplaceAll(strings.ToLower(c), "_", "-") == strings.ReplaceAll(strings.ReplaceAll(word, " ", "-"), "_", "-") {
				return c, nil
			}
		}
		if k.refuses != nil {
			if why := k.refuses(clip(plain)); why != "" {
				return nil, k.sentence("%s", why)
			}
		}
		if len(k.Choices) > manyChoices {
			return nil, k.sentence("%q is not known here; did you mean %s?", clip(plain), words.ListOr(table.Nearest(clip(word), k.Choices, 3)))
		}
		for _, c := range k.Choices { // "tilapia", "trout", or the two words the other way round
			for _, part := range strings.FieldsFunc(word, func(r rune) bool { return strings.ContainsRune(" _-", r) }) {
				if strings.Contains(strings.ToLower(c), part) && len(part) > 3 {
					return nil, k.sentence("%q is not known here; did you mean %s?", clip(plain), words.ListOr(with(part, k.Choices)))
				}
			}
		}
		return nil, k.sentence("%q is not allowed; give %s", clip(plain), words.ListOr(k.Choices))
	case Date:
		t, err := time.Parse(time.DateOnly, plain)
		if err != nil {
			return nil, k.sentence("%q is no date; write it as 2026-03-01", clip(plain))
		}
		return t, nil
	case Time:
		t, err := time.Parse(time.RFC3339, plain)
		if err != nil {
			return nil, k.sentence("%q is no time; write it as 2026-03-01T12:00:00Z or with an offset such as +01:00", clip(plain))
		}
		return t, nil
	}
	return k.number(text)
}

// with returns the words that contain part.
func with(part string, words []string) []string {
	var out []string
	for _, w := range words {
		if strings.Contains(strings.ToLower(w), part) {
			out = append(out, w)
		}
	}
	return out
}

// number reads one number with its unit and holds it against the range.
func (k *Key) number(text string) (float64, error) {
	if k.NoBare && !strings.ContainsAny(text, "%‰") {
		return 0, k.sentence("%s needs its %%, as in 65 %%", clip(strings.TrimSpace(text)))
	}
	si, err := quantity.ParseBare(text, k.Kind, k.BareUnit)
	if err != nil {
		return 0, k.sentence("%s", err)
	}
	v := si
	if k.Unit != k.Kind.SIUnit() {
		if v, err = quantity.In(si, k.Kind, k.Unit); err != nil {
			return 0, k.sentence("%s", err)
		}
	}
	if !(v >= k.Low && v <= k.High) {
		return 0, sentence(fmt.Sprintf("%s must be %s. You entered %s.", words.Capital(k.Name), k.Range, k.show(v)))
	}
	if k.Kind == quantity.Count && v != float64(int64(v)) {
		return 0, k.sentence("%s is no whole number, and things are counted", k.show(v))
	}
	return v, nil
}

func (k *Key) pair(text string) (p [2]float64, err error) {
	first, second, found := strings.Cut(text, ":")
	if !found {
		return p, k.sentence("%q is no pair; write two quantities with a colon between, %s:%s", clip(strings.TrimSpace(text)), k.Kind, k.Second)
	}
	if p[0], err = k.number(first); err != nil {
		return p, err
	}
	if p[1], err = quantity.Parse(second, k.Second); err != nil {
		return p, k.sentence("%s", err)
	}
	return p, nil
}
