package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"sort"
	"strings"

	"tidebed/quantity"
	"tidebed/words"
)

type sumsPage struct {
	frame
	Sentence string
	Sums     []Sum
}

type sumPage struct {
	frame
	Sum      Sum
	Sentence string // the answer line: the result, or the question
	Fields   []fieldView
	Problem  string // about all fields together
	Answered bool
	NoAnswer bool
	Outputs  []outputRow
	Inputs   []outputRow
	Warnings []string
	Sources  []string
}

type fieldView struct {
	SumKey
	ID, Typed, Units, Problem, Need string
	Focus, Digits                   bool // Digits: a bare number is all that is typed
}

type outputRow struct{ What, Value, Unit string }

// listSums handles GET /sums.
func (s *server) listSums(w http.ResponseWriter, r *http.Request) {
	page := sumsPage{frame: s.frame("Quick sums", "sums"), Sums: s.cfg.Entries, Sentence: "One question, one figure, with its formula, its range and its source: " + words.Count(len(s.cfg.Entries), "quick sum", "quick sums") + "."}
	if len(s.cfg.Entries) == 0 {
		page.Sentence = "There are no quick sums in this program."
	}
	s.render(w, r, http.StatusOK, "sums.html", page)
}

// showSum handles GET /sums/{name}: the form alone, or with the values of the
// address the result, so that a link can be kept. A refused form comes back as
// it was typed, with a sentence per field.
func (s *server) showSum(w http.ResponseWriter, r *http.Request) {
	at := slices.IndexFunc(s.cfg.Entries, func(e Sum) bool { return e.Name == r.PathValue("name") })
	if at < 0 {
		s.render(w, r, http.StatusNotFound, "fail.html", failPage{frame: s.frame("No such quick sum", "sums"),
			Sentence: "There is no quick sum of this name.", Todo: "The list of quick sums has those there are."})
		return
	}
	entry, typed := s.cfg.Entries[at], r.URL.Query()
	page := sumPage{frame: s.frame(entry.Title, "sums"), Sum: entry, Sentence: entry.Title, Sources: entry.Sources}
	if len(typed) == 0 {
		page.Fields = fields(entry, nil, nil)
		s.render(w, r, http.StatusOK, "sum.html", page)
		return
	}
	in, problems := values(entry, typed)
	if len(problems) == 0 {
		result, err := s.cfg.RunSum(entry.Name, in)
		switch problems = refusals(err); {
		case err == nil:
			page.show(result)
		case len(problems) == 0:
			s.fail(w, r, fmt.Errorf("quick sum %s: %w", entry.Name, err))
			return
		}
	}
	status := http.StatusOK
	if len(problems) > 0 {
		status = http.StatusUnprocessableEntity
		page.Sentence = words.Count(len(problems), "value is", "values are") + " to be mended before this can be answered."
		page.Problem = loose(entry, problems)
	}
	page.Fields = fields(entry, typed, problems)
	s.render(w, r, status, "sum.html", page)
}

// values takes the typed values from the address and finds missing and unknown ones.
func values(entry Sum, typed url.Values) (in, problems map[string]string) {
	in, problems = map[string]string{}, map[string]string{}
	for _, k := range entry.Keys {
		v := strings.TrimSpace(typed.Get(k.Name))
		switch {
		case v != "":
			in[k.Name] = v
		case k.Required && k.Default == "":
			problems[k.Name] = "This value is needed: " + k.What + "."
		}
	}
	for name := range typed {
		if !slices.ContainsFunc(entry.Keys, func(k SumKey) bool { return k.Name == name }) {
			problems[name] = fmt.Sprintf("This sum takes no value named %q.", name)
		}
	}
	return in, problems
}

// refusals collects the sentences of all *InputError in an error, by field.
func refusals(err error) map[string]string {
	out := map[string]string{}
	var walk func(error)
	walk = func(err error) {
		if err == nil {
			return
		}
		if many, ok := err.(interface{ Unwrap() []error }); ok {
			for _, e := range many.Unwrap() {
				walk(e)
			}
			return
		}
		if refused, ok := err.(*InputError); ok {
			out[refused.Field] = words.Capital(refused.Sentence)
			return
		}
		walk(errors.Unwrap(err))
	}
	walk(err)
	return out
}

// loose returns the problems that belong to no field of the form.
func loose(entry Sum, problems map[string]string) string {
	var out []string
	for name, sentence := range problems {
		if !slices.ContainsFunc(entry.Keys, func(k SumKey) bool { return k.Name == name }) {
			out = append(out, sentence)
		}
	}
	sort.Strings(out)
	return strings.Join(out, " ")
}

func fields(entry Sum, typed url.Values, problems map[string]string) []fieldView {
	out := make([]fieldView, len(entry.Keys))
	focused := false
	for i, k := range entry.Keys {
		f := fieldView{SumKey: k, ID: "in-" + k.Name, Typed: k.Default, Problem: problems[k.Name], Need: need(entry, k)}
		f.Digits = k.Kind == string(quantity.Plain) || k.Kind == string(quantity.Count)
		if typed != nil {
			f.Typed = typed.Get(k.Name)
		}
		f.What = words.Capital(k.What)
		switch units := quantity.Kind(k.Kind).Units(); {
		case k.BareUnit != "" && strings.Contains(k.What, k.BareUnit): // the label says it already
		case k.BareUnit != "":
			f.Units = k.BareUnit
		case len(units) > 0:
			f.Units = words.ListOr(units[:min(3, len(units))])
		}
		if f.Problem != "" && !focused {
			f.Focus, focused = true, true
		}
		out[i] = f
	}
	return out
}

// need says in words whether a value must be given.
func need(entry Sum, k SumKey) string {
	for _, group := range entry.OneOf {
		if !slices.Contains(group, k.Name) {
			continue
		}
		var others []string
		for _, o := range entry.Keys {
			if o.Name != k.Name && slices.Contains(group, o.Name) {
				others = append(others, "“"+o.What+"”")
			}
		}
		return "this or " + strings.Join(others, " or ") + ", only one of them"
	}
	if k.Required && k.Default == "" {
		return "needed"
	}
	return "may be left empty"
}

func (p *sumPage) show(result SumResult) {
	p.Answered, p.NoAnswer, p.Warnings = true, result.NoAnswer, result.Warnings
	if len(result.Sources) > 0 {
		p.Sources = result.Sources
	}
	listed := map[string]bool{}
	for _, o := range p.Sum.Outputs {
		listed[o.Name] = true
		if v, ok := result.Outputs[o.Name]; ok {
			p.Outputs = append(p.Outputs, outputRow{words.Capital(o.What), shown(v), o.Unit})
		}
	}
	for _, name := range sortedNames(result.Outputs) {
		if !listed[name] {
			p.Outputs = append(p.Outputs, outputRow{name, shown(result.Outputs[name]), ""})
		}
	}
	for _, name := range sortedNames(result.Inputs) {
		row := outputRow{name, shown(result.Inputs[name]), ""}
		for _, k := range p.Sum.Keys {
			if k.Field == name || k.Field == "" && k.Name == name {
				row.What, row.Unit = words.Capital(k.What), k.Unit
			}
		}
		p.Inputs = append(p.Inputs, row)
	}
	switch {
	case result.NoAnswer:
		p.Sentence = p.Sum.Title + ": there is no answer for these values."
	case len(p.Outputs) > 0:
		first := p.Outputs[0]
		p.Sentence = strings.TrimSpace(first.What+": "+first.Value+" "+first.Unit) + "."
	}
}

func sortedNames(m map[string]any) []string {
	out := make([]string, 0, len(m))
	for name := range m {
		out = append(out, name)
	}
	sort.Strings(out)
	return out
}
