package reckoner_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"tidebed/reckoner"
)

// typed is a map of keys from "key=value|key=value".
func typed(text string) map[string]string {
	out := map[string]string{}
	for _, part := range strings.Split(text, "|") {
		if key, value, found := strings.Cut(part, "="); found {
			out[key] = value
		}
	}
	return out
}

// signature is the keys and outputs of an entry, by name.
type signature struct{ entry, keys, outputs string }

func checkNames(t *testing.T, rows []signature) {
	t.Helper()
	for _, row := range rows {
		e, err := reckoner.Find(row.entry)
		if err != nil {
			t.Error(err)
			continue
		}
		var keys, outputs []string
		for _, k := range e.Keys {
			keys = append(keys, k.Name)
		}
		for _, o := range e.Outputs {
			outputs = append(outputs, o.Name)
		}
		if got := strings.Join(keys, " "); got != row.keys {
			t.Errorf("keys of %s: %q, want %q", row.entry, got, row.keys)
		}
		if got := strings.Join(outputs, " "); got != row.outputs {
			t.Errorf("outputs of %s: %q, want %q", row.entry, got, row.outputs)
		}
	}
}

// answered runs an entry; ok is false, and the test failed, when it is refused.
func answered(t *testing.T, entry, inputs string) (r reckoner.Result, ok bool) {
	t.Helper()
	r, err := reckoner.Run(entry, typed(inputs))
	if err != nil {
		t.Errorf("%s %s: %v", entry, inputs, err)
	}
	return r, err == nil
}

// sum is a run of an entry and a number it must give.
type sum struct {
	entry, inputs, output string
	want, tol             float64
}

func checkSums(t *testing.T, rows []sum) {
	t.Helper()
	for _, row := range rows {
		r, ok := answered(t, row.entry, row.inputs)
		if !ok {
			continue
		}
		got, isNumber := r.Outputs[row.output].(float64)
		if !isNumber || !(math.Abs(got-row.want) <= row.tol) || r.NoAnswer() {
			t.Errorf("%s %s: %s = %v, want %.8g ± %.2g", row.entry, row.inputs, row.output, r.Outputs[row.output], row.want, row.tol)
		}
	}
}

// silence is a run that gives no output and a warning that says why.
type silence struct{ entry, inputs, output, says string }

func checkSilences(t *testing.T, rows []silence) {
	t.Helper()
	for _, row := range rows {
		r, ok := answered(t, row.entry, row.inputs)
		if !ok {
			continue
		}
		v, there := r.Outputs[row.output]
		if !there || v != nil || !r.NoAnswer() || len(r.Warnings) == 0 || !strings.Contains(strings.Join(r.Warnings, " "), row.says) {
			t.Errorf("%s %s: %v, warnings %q; want no %s and %q", row.entry, row.inputs, r.Outputs, r.Warnings, row.output, row.says)
		}
	}
}

// refusal is a run that is refused with a sentence about a key.
type refusal struct{ entry, inputs, field, says string }

func checkRefusals(t *testing.T, rows []refusal) {
	t.Helper()
	for _, row := range rows {
		_, err := reckoner.Run(row.entry, typed(row.inputs))
		var refused *reckoner.InputError
		if !errors.As(err, &refused) {
			t.Errorf("%s %s: error %v, want an InputError", row.entry, row.inputs, err)
			continue
		}
		if refused.Field != row.field || !strings.Contains(refused.Sentence, row.says) {
			t.Errorf("%s %s: field %q, %q; want field %q and %q", row.entry, row.inputs, refused.Field, refused.Sentence, row.field, row.says)
		}
		if !strings.HasSuffix(refused.Sentence, ".") && !strings.HasSuffix(refused.Sentence, "?") {
			t.Errorf("%q does not end like a sentence", refused.Sentence)
		}
	}
}
