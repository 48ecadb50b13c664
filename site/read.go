package site

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"tidebed/quantity"
)

// migration changes the tree of a description of one schema into that of the
// next.
type migration func(root *node)

// migrations[i] leads from schema i+1 to schema i+2; so there is one fewer than
// Schema.
var migrations []migration

// Read reads a description and checks it. name is the file's name for messages.
//
// A description that is refused gives a nil Site and an error of type Problems,
// which holds everything found wrong, not the first thing only. Warnings come
// with a good description and with a refused one. Quantities are converted to
// the units named by the fields; keys left out hold the defaults that the
// fields' comments state, or zero.
func Read(name string, yamlText []byte) (*Site, []Warning, error) {
	return read(name, yamlText, Schema, migrations)
}

func read(name string, yamlText []byte, schema int, steps []migration) (*Site, []Warning, error) {
	d := &decoder{lines: map[string]int{}, currency: "EUR"}
	s := d.site(yamlText, schema, steps)
	if s != nil {
		problems, warnings := s.check(d)
		d.problems = append(d.problems, problems...)
		d.warnings = append(d.warnings, warnings...)
	}
	for i := range d.problems {
		d.problems[i].File = name
	}
	for i := range d.warnings {
		d.warnings[i].File = name
	}
	slices.SortStableFunc(d.problems, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	slices.SortStableFunc(d.warnings, func(a, b Warning) int { return cmp.Compare(a.Line, b.Line) })
	if len(d.problems) > 0 {
		return nil, d.warnings, d.problems
	}
	return s, d.warnings, nil
}

// decoder fills a Site from a tree and notes where each field stood.
type decoder struct {
	problems Problems
	warnings []Warning
	lines    map[string]int // by field path
	bad      map[string]bool
	system   quantity.System
	currency string
}

// line returns the line of a field, or that of the nearest thing around it.
func (d *decoder) line(path string) int {
	if d == nil {
		return 0
	}
	for {
		if line, ok := d.lines[path]; ok {
			return line
		}
		cut := strings.LastIndexAny(path, ".[")
		if cut < 0 {
			return 0
		}
		path = path[:cut]
	}
}

func (d *decoder) refuse(line int, path, given, format string, args ...any) {
	d.problems = append(d.problems, Problem{Line: line, Field: path, Given: given, Message: fmt.Sprintf(format, args...)})
	if d.bad == nil {
		d.bad = map[string]bool{}
	}
	d.bad[path] = true
}

func (d *decoder) warn(line int, path, given, format string, args ...any) {
	d.warnings = append(d.warnings, Warning{Line: line, Field: path, Given: given, Message: fmt.Sprintf(format, args...)})
}

// site returns nil when the text cannot be taken as a description at all.
func (d *decoder) site(text []byte, schema int, steps []migration) *Site {
	root, problems := parse(text)
	if len(problems) > 0 {
		d.problems = problems
		return nil
	}
	if !d.migrate(root, schema, steps) {
		return nil
	}
	if n := root.get("units"); n != nil && n.text == "us-customary" {
		d.system = quantity.USCustomary
	}
	if n := root.get("currency"); n != nil && n.text != "" && currencyWhole(n.text) {
		d.currency = n.text
	}
	s := new(Site)
	d.structure(root, reflect.ValueOf(s).Elem(), "")
	s.Schema = schema
	return s
}

// migrate brings an older description up to date and says whether the tree can
// be read.
func (d *decoder) migrate(root *node, schema int, steps []migration) bool {
	n := root.get("schema")
	if n == nil || n.kind != scalar {
		d.refuse(root.line, "schema", "", "must be given: the number of the file's layout, now `schema: %d`", schema)
		return false
	}
	given, err := strconv.Atoi(n.text)
	switch {
	case err != nil || given < 1:
		d.refuse(n.line, "schema", n.text, "%q is not the number of a layout; now it is `schema: %d`", n.text, schema)
		return false
	case given > schema:
		d.refuse(n.line, "schema", n.text, "%d is newer than the %d this program reads; use a newer program", given, schema)
		return false
	}
	for v := given; v < schema; v++ {
		steps[v-1](root)
	}
	n.text = strconv.Itoa(schema)
	return true
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

func (d *decoder) structure(n *node, v reflect.Value, path string) {
	rules := rulesOf(v.Type())
	if n.kind != mapping {
		d.refuse(n.line, path, n.text, "%s must be a list of keys with their values; allowed: %s", d.shown(n), allowedKeys(rules))
		return
	}
	seen := map[string]int{}
	for _, e := range n.entries {
		at := join(path, e.key)
		if first, twice := seen[e.key]; twice {
			d.refuse(e.line, at, e.key, "the key `%s` stands here a second time; the first is on line %d", e.key, first)
			continue
		}
		seen[e.key] = e.line
		i := slices.IndexFunc(rules, func(r rule) bool { return r.key == e.key })
		if i < 0 {
			keys := make([]string, len(rules))
			for i, r := range rules {
				keys[i] = r.key
			}
			d.refuse(e.line, at, e.key, "unknown key `%s`%s", e.key, suggestion(e.key, keys, "allowed"))
			if near := suggestion(e.key, keys, ""); strings.HasPrefix(near, "; did you mean `") {
				meant := strings.TrimSuffix(strings.TrimPrefix(near, "; did you mean `"), "`?")
				d.bad[join(path, meant)] = true // its absence needs no second message
			}
			continue
		}
		d.lines[at] = e.line
		d.value(e.value, v.Field(rules[i].index), rules[i], at)
	}
	for _, r := range rules {
		at, field := join(path, r.key), v.Field(r.index)
		_, given := seen[r.key]
		given = given && n.get(r.key).kind != nothing
		if !given && r.fallback != "" {
			d.value(&node{kind: scalar, text: r.fallback, line: n.line}, field, r, at)
		}
		empty := field.Kind() == reflect.String && field.String() == "" || field.Kind() == reflect.Slice && field.Len() == 0
		if r.need && (!given || empty) && !d.bad[at] {
			line := n.line
			if l, ok := seen[r.key]; ok {
				line = l
			}
			d.refuse(line, at, "", "must be given%s", example(r))
			d.lines[at] = line
		}
	}
}

func allowedKeys(rules []rule) string {
	var keys []string
	for _, r := range rules {
		keys = append(keys, r.key)
	}
	return strings.Join(keys, ", ")
}

// example says what kind of thing a missing field is.
func example(r rule) string {
	switch {
	case len(r.oneOf) > 0:
		return ": one of " + strings.Join(r.oneOf, ", ")
	case r.kind != "" && len(r.kind.Units()) > 0:
		return ", in " + r.kind.Units()[0] + " or another unit of " + string(r.kind)
	case r.ref != "":
		return ": a " + r.ref
	}
	return ""
}

// shown is what was given, for messages.
func (d *decoder) shown(n *node) string {
	switch n.kind {
	case scalar:
		return strconv.Quote(n.text)
	case mapping:
		return "a list of keys"
	case sequence:
		return "a list"
	}
	return "nothing"
}

var dateType = reflect.TypeFor[Date]()

func (d *decoder) value(n *node, v reflect.Value, r rule, path string) {
	if n.kind == nothing {
		return
	}
	switch {
	case v.Type() == dateType:
		if d.isScalar(n, path, "a day, written YYYY-MM-DD") {
			d.date(n, v, path)
		}
	case v.Kind() == reflect.Struct:
		d.structure(n, v, path)
	case v.Kind() == reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem(), r, path)
	case v.Kind() == reflect.Slice:
		if n.kind != sequence {
			d.refuse(n.line, path, n.text, "%s must be a list: lines that start with `- `", d.shown(n))
			return
		}
		if len(n.items) == 0 {
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
		for i, item := range n.items {
			at := fmt.Sprintf("%s[%d]", path, i)
			d.lines[at] = item.line
			if item.kind == nothing {
				d.refuse(item.line, at, "", "this entry of the list is empty; fill it or remove its `-`")
				continue
			}
			d.value(item, v.Index(i), r, at)
		}
	case v.Kind() == reflect.Float64:
		if d.isScalar(n, path, "a value of "+string(r.kind)) {
			d.number(n, v, r, path)
		}
	case v.Kind() == reflect.Int:
		if d.isScalar(n, path, "a whole number") {
			d.integer(n, v, r, path)
		}
	case v.Kind() == reflect.Bool:
		if d.isScalar(n, path, "yes or no") {
			switch strings.ToLower(n.text) {
			case "yes", "true":
				v.SetBool(true)
			case "no", "false":
			default:
				d.refuse(n.line, path, n.text, "%q must be yes or no", n.text)
			}
		}
	case v.Kind() == reflect.String:
		if d.isScalar(n, path, "a text") {
			d.text(n, v, r, path)
		}
	}
}

func (d *decoder) isScalar(n *node, path, what string) bool {
	if n.kind == scalar {
		return true
	}
	d.refuse(n.line, path, "", "%s stands where %s must stand", d.shown(n), what)
	return false
}

func (d *decoder) text(n *node, v reflect.Value, r rule, path string) {
	if len(r.oneOf) > 0 && n.text != "" && !slices.Contains(r.oneOf, n.text) {
		d.refuse(n.line, path, n.text, "%q is not one of the words allowed%s", n.text, suggestion(n.text, r.oneOf, "these are"))
		return
	}
	v.SetString(n.text)
}

func (d *decoder) integer(n *node, v reflect.Value, r rule, path string) {
	i, err := strconv.ParseInt(n.text, 10, 32)
	if err != nil {
		d.refuse(n.line, path, n.text, "%q must be a whole number in figures, without unit, at most %d", n.text, math.MaxInt32)
		return
	}
	if d.within(n, float64(i), r, path) {
		v.SetInt(i)
	}
}

var currencyCode = regexp.MustCompile(`[A-Z]{3}`)

// currencySigns gives the codes that a sign may stand for.
var currencySigns = []struct {
	sign  string
	codes []string
}{
	{"€", []string{"EUR"}},
	{"£", []string{"GBP"}},
	{"$", []string{"USD", "CAD", "AUD", "NZD", "SGD", "HKD"}},
}

// otherCurrency returns the currency a price is written in when it is not the
// site's own.
func otherCurrency(text, own string) string {
	for _, s := range currencySigns {
		if strings.Contains(text, s.sign) && !slices.Contains(s.codes, own) {
			return s.sign
		}
	}
	for _, code := range currencyCode.FindAllString(text, -1) {
		if code != own && code != "BTU" {
			return code
		}
	}
	return ""
}

func (d *decoder) number(n *node, v reflect.Value, r rule, path string) {
	si, err := quantity.Parse(n.text, r.kind)
	if err != nil {
		d.refuse(n.line, path, n.text, "%s", err.Error())
		return
	}
	if strings.HasPrefix(string(r.kind), "price") {
		if other := otherCurrency(n.text, d.currency); other != "" {
			d.refuse(n.line, path, n.text, "%s is in %s, but the currency of this site is %s", n.text, other, d.currency)
			return
		}
	}
	if d.within(n, si, r, path) {
		v.SetFloat(si)
	}
}

// limit prints a limit with its unit, in the reader's system.
func (d *decoder) limit(v float64, kind quantity.Kind) string {
	switch kind {
	case "", quantity.Plain, quantity.Count:
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	if v == 0 && kind != quantity.Temperature {
		return "0"
	}
	return strings.ReplaceAll(quantity.Format(v, kind, d.system), "¤", d.currency)
}

func (d *decoder) within(n *node, si float64, r rule, path string) bool {
	if a := r.allowed; a != nil {
		switch {
		case a.tooLow(si) && a.openLow:
			d.refuse(n.line, path, n.text, "%s must be more than %s", n.text, d.limit(a.low, r.kind))
			return false
		case a.tooLow(si):
			d.refuse(n.line, path, n.text, "%s is less than the %s allowed", n.text, d.limit(a.low, r.kind))
			return false
		case a.tooHigh(si):
			d.refuse(n.line, path, n.text, "%s is more than the %s allowed", n.text, d.limit(a.high, r.kind))
			return false
		}
	}
	if u := r.usual; u != nil && (u.tooLow(si) || u.tooHigh(si)) {
		d.warn(n.line, path, n.text, "%s is unusual; usual is %s to %s", n.text, d.limit(u.low, r.kind), d.limit(u.high, r.kind))
	}
	return true
}

var dateShape = regexp.MustCompile(`^(\d{4})-(\d{2})-(\d{2})$`)

func (d *decoder) date(n *node, v reflect.Value, path string) {
	day, err := ParseDate(n.text)
	if err != nil {
		d.refuse(n.line, path, n.text, "%s", err.Error())
		return
	}
	v.Set(reflect.ValueOf(day))
}

// ParseDate reads a day written YYYY-MM-DD, from 1900 to 2199. The error quotes
// the text and says what is wrong with it.
func ParseDate(text string) (Date, error) {
	m := dateShape.FindStringSubmatch(text)
	if m == nil {
		return Date{}, fmt.Errorf("%q is not a day; write YYYY-MM-DD, such as 2027-03-27", text)
	}
	year, _ := strconv.Atoi(m[1]) // figures only, by the shape
	month, _ := strconv.Atoi(m[2])
	day, _ := strconv.Atoi(m[3])
	switch {
	case year < 1900 || year > 2199:
		return Date{}, fmt.Errorf("%q: the year must be 1900 to 2199", text)
	case month < 1 || month > 12:
		return Date{}, fmt.Errorf("%q: there is no month %s; write YYYY-MM-DD, such as 2027-03-27", text, m[2])
	}
	if most := On(year, time.Month(month)+1, 0).Day(); day < 1 || day > most {
		return Date{}, fmt.Errorf("%q: there is no such day; %s %d has %d days", text, time.Month(month), year, most)
	}
	return On(year, time.Month(month), day), nil
}
