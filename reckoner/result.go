package reckoner

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"tidebed/quantity"
	"tidebed/words"
)

// Result is the answer of one run. Names bear the unit of their number.
type Result struct {
	Entry    string         // name of the entry
	Inputs   map[string]any // by Key.Field: the values used, defaults included; absent keys left out
	Outputs  map[string]any // by Output.Name: float64, string or nil for no answer
	Warnings []string       // about this answer; what holds for every answer is in Entry.Cautions
	Sources  []string
}

// NoAnswer reports whether a quantity has no answer: an output is null.
func (r Result) NoAnswer() bool {
	for _, v := range r.Outputs {
		if v == nil {
			return true
		}
	}
	return false
}

// MarshalJSON prints entry, inputs, outputs, warnings and sources in this order,
// inputs and outputs in the order in which the entry declares them.
func (r Result) MarshalJSON() ([]byte, error) {
	e, err := Find(r.Entry)
	if err != nil {
		return nil, err
	}
	fields := make([]string, len(e.Keys))
	for i, k := range e.Keys {
		fields[i] = k.Field
	}
	names := make([]string, len(e.Outputs))
	for i, o := range e.Outputs {
		names[i] = o.Name
	}
	w := new(bytes.Buffer)
	w.WriteString(`{"entry":`)
	if err := put(w, e.Name); err != nil {
		return nil, err
	}
	for _, part := range []struct {
		name   string
		fields []string
		values map[string]any
	}{{"inputs", fields, r.Inputs}, {"outputs", names, r.Outputs}} {
		w.WriteString(`,"` + part.name + `":{`)
		first := true
		for _, f := range part.fields {
			v, ok := part.values[f]
			if !ok {
				continue
			}
			if !first {
				w.WriteByte(',')
			}
			first = false
			if err := put(w, f); err != nil {
				return nil, err
			}
			w.WriteByte(':')
			if err := put(w, v); err != nil {
				return nil, fmt.Errorf("%s of %s: %w", f, e.Name, err)
			}
		}
		w.WriteByte('}')
	}
	for _, part := range []struct {
		name string
		list []string
	}{{"warnings", r.Warnings}, {"sources", r.Sources}} {
		w.WriteString(`,"` + part.name + `":`)
		if err := put(w, append([]string{}, part.list...)); err != nil {
			return nil, err
		}
	}
	w.WriteByte('}')
	return w.Bytes(), nil
}

// put writes a value as JSON without a line end, < > & as they are.
func put(w *bytes.Buffer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return err
	}
	w.Truncate(w.Len() - 1)
	return nil
}

// answer gathers the outputs of a run.
type answer struct {
	outputs  map[string]any
	warnings []string
	sources  []string // when set, in place of the entry's
}

// Set gives an output its number.
func (a *answer) Set(name string, v float64) { a.outputs[name] = v }

// Text gives an output its text.
func (a *answer) Text(name, text string) { a.outputs[name] = text }

// Null says that outputs have no answer; a warning should say why.
func (a *answer) Null(names ...string) {
	for _, name := range names {
		a.outputs[name] = nil
	}
}

// Warn adds a sentence, once.
func (a *answer) Warn(format string, args ...any) {
	if s := fmt.Sprintf(format, args...); !slices.Contains(a.warnings, s) {
		a.warnings = append(a.warnings, s)
	}
}

// Run answers the entry of that name from inputs typed as text, by key. What
// cannot be used (an unknown entry or key, a missing key, a wrong unit, a value
// out of range, a key given twice, NaN, hexadecimal) is refused with an
// *InputError whose sentence says what is allowed. A quantity without an answer
// is nil in Outputs, with a warning.
func Run(name string, texts map[string]string) (Result, error) {
	e, err := Find(name)
	if err != nil {
		return Result{}, err
	}
	in, err := e.read(texts)
	if err != nil {
		return Result{}, err
	}
	out := &answer{outputs: make(map[string]any, len(e.Outputs))}
	if err := e.run(in, out); err != nil {
		var refused *InputError
		switch {
		case errors.As(err, &refused):
			return Result{}, refused
		case errors.Is(err, quantity.ErrRange):
			return Result{}, e.refuse("", "%s.", words.Capital(err.Error()))
		}
		return Result{}, fmt.Errorf("%s: %w", e.Name, err)
	}
	if err := e.checkAnswer(out); err != nil {
		return Result{}, fmt.Errorf("%s: %w", e.Name, err)
	}
	r := Result{Entry: e.Name, Inputs: make(map[string]any, len(in.values)), Outputs: out.outputs, Warnings: out.warnings, Sources: slices.Clone(e.Sources)}
	if out.sources != nil {
		r.Sources = out.sources
	}
	for _, k := range e.Keys {
		switch v := in.values[k.Name].(type) {
		case nil:
		case time.Time:
			layout := time.RFC3339
			if k.Kind == Date {
				layout = time.DateOnly
			}
			r.Inputs[k.Field] = v.Format(layout)
		default:
			r.Inputs[k.Field] = v
		}
	}
	return r, nil
}

// checkAnswer makes sure that an answer has every output the entry declares, no
// other, only finite numbers, and a reason for what has no answer.
func (e *Entry) checkAnswer(out *answer) error {
	declared := 0
	for _, o := range e.Outputs {
		v, ok := out.outputs[o.Name]
		if !ok {
			if o.Optional {
				continue
			}
			return fmt.Errorf("output %s has not been worked out", o.Name)
		}
		declared++
		if f, isNumber := v.(float64); isNumber && (math.IsNaN(f) || math.IsInf(f, 0)) {
			return fmt.Errorf("output %s is %g, no number; check the inputs", o.Name, f)
		}
		if v == nil && len(out.warnings) == 0 {
			return fmt.Errorf("output %s has no answer and no reason", o.Name)
		}
	}
	if declared != len(out.outputs) {
		return fmt.Errorf("the outputs %v are not all declared", out.outputs)
	}
	return nil
}
