package site

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"tidebed/quantity"
)

// Write returns the description as YAML: the keys in the order of the fields,
// empty values left out, quantities in the units in which they are held, so that
// Read gives the same Site again. The error names a field that cannot be
// written: NaN, an infinite number, text that is not UTF-8.
func Write(s *Site) ([]byte, error) {
	w := writer{currency: s.Currency}
	w.structure(reflect.ValueOf(s).Elem(), "", "")
	if w.err != nil {
		return nil, fmt.Errorf("write site: %w", w.err)
	}
	return w.out.Bytes(), nil
}

type writer struct {
	out      bytes.Buffer
	currency string
	err      error
}

// structure writes one line a key, the first without the indentation that the
// caller has already written.
func (w *writer) structure(v reflect.Value, indent, path string) {
	first := true // stays so for an entry of a list that says nothing
	for _, r := range rulesOf(v.Type()) {
		field := v.Field(r.index)
		if field.IsZero() && !r.need {
			continue
		}
		if !first {
			w.out.WriteString(indent)
		}
		first = false
		w.out.WriteString(r.key + ":")
		w.value(field, r, indent, join(path, r.key))
	}
	if first {
		w.out.WriteString("{}\n")
	}
}

// hasLines says whether structure has anything to write of v.
func hasLines(v reflect.Value) bool {
	for _, r := range rulesOf(v.Type()) {
		if r.need || !v.Field(r.index).IsZero() {
			return true
		}
	}
	return false
}

func (w *writer) value(v reflect.Value, r rule, indent, path string) {
	switch {
	case v.Type() == dateType, v.Kind() == reflect.Float64, v.Kind() == reflect.Int, v.Kind() == reflect.Bool, v.Kind() == reflect.String:
		w.out.WriteString(" " + w.scalar(v, r, path) + "\n")
	case v.Kind() == reflect.Pointer:
		w.value(v.Elem(), r, indent, path)
	case v.Kind() == reflect.Struct:
		if !hasLines(v) {
			w.out.WriteString(" {}\n")
			return
		}
		w.out.WriteString("\n" + indent + "  ")
		w.structure(v, indent+"  ", path)
	case v.Kind() == reflect.Slice:
		if v.Len() == 0 {
			w.out.WriteString(" []\n")
			return
		}
		w.out.WriteString("\n")
		for i := range v.Len() {
			at, item := fmt.Sprintf("%s[%d]", path, i), v.Index(i)
			w.out.WriteString(indent + "-")
			if item.Kind() == reflect.Struct {
				w.out.WriteString(" ")
				w.structure(item, indent+"  ", at)
				continue
			}
			w.value(item, r, indent, at)
		}
	}
}

func (w *writer) scalar(v reflect.Value, r rule, path string) string {
	switch {
	case v.Type() == dateType:
		return v.Interface().(Date).String()
	case v.Kind() == reflect.Int:
		return strconv.FormatInt(v.Int(), 10)
	case v.Kind() == reflect.Bool:
		if v.Bool() {
			return "yes"
		}
		return "no"
	case v.Kind() == reflect.Float64:
		return w.number(v.Float(), r.kind, path)
	}
	if !utf8.ValidString(v.String()) && w.err == nil {
		w.err = fmt.Errorf("%s: %q is not UTF-8", path, v.String())
	}
	return yamlText(v.String())
}

func (w *writer) number(si float64, kind quantity.Kind, path string) string {
	if math.IsNaN(si) || math.IsInf(si, 0) {
		if w.err == nil {
			w.err = fmt.Errorf("%s: %g is not a number that can be written", path, si)
		}
		return ""
	}
	text := quantity.Exact(si, kind)
	if own := strings.ReplaceAll(text, "¤", w.currency); own != text && w.currency != "" {
		if back, err := quantity.Parse(own, kind); err == nil && back == si {
			return own
		}
	}
	return text
}

// plainText is text that means itself in YAML without quotes.
var plainText = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_./()+-]*( [A-Za-z0-9_./()+-]+)*$`)

// yamlText returns text as a YAML scalar, in double quotes where it could be
// taken for something else.
func yamlText(text string) string {
	switch strings.ToLower(text) {
	case "true", "false", "yes", "no", "on", "off", "null", "y", "n":
		return `"` + text + `"`
	}
	if plainText.MatchString(text) {
		return text
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case strconv.IsPrint(r):
			b.WriteRune(r)
		case r > 0xffff:
			fmt.Fprintf(&b, `\U%08x`, r)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
