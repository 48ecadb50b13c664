package reckoner

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"tidebed/quantity"
)

// Lists, pairs, dates, times and shares that need their sign.
func TestKeyRead(t *testing.T) {
	weights := Key{Name: "weights", Kind: quantity.Mass, Unit: "g", Low: 1, High: 5000, List: true}
	points := Key{Name: "points", Kind: quantity.Flow, Unit: "L/min", Low: 0, High: 1000, List: true, Second: quantity.Length}
	humidity := Key{Name: "rh", Kind: quantity.Share, Low: 0, High: 1, NoBare: true}
	count := Key{Name: "count", Kind: quantity.Count, Low: 1, High: 1000}
	day := Key{Name: "date", Kind: Date}
	moment := Key{Name: "time", Kind: Time}
	for _, k := range []*Key{&weights, &points, &humidity, &count, &day, &moment} {
		k.complete()
	}
	for _, row := range []struct {
		key  Key
		text string
		want any
	}{
		{weights, "210 g; 0,235 kg;", []float64{210, 235}},
		{points, "0 L/min:3.6 m; 20 L/min:310 cm", [][2]float64{{0, 3.6}, {20, 3.1}}},
		{humidity, "65 %", 0.65},
		{count, "120 fish", 120.0},
	} {
		if got, err := row.key.read(row.text); err != nil || !reflect.DeepEqual(got, row.want) {
			t.Errorf("%s=%s: %v, %v; want %v", row.key.Name, row.text, got, err, row.want)
		}
	}
	for _, row := range []struct {
		key        Key
		text, says string
	}{
		{weights, "210; 235 g", "unit"},
		{weights, ";", "separated by"},
		{points, "3 L/min", "colon"},
		{points, "3 L/min:2 kg", "a length is needed"},
		{humidity, "0.65", "%"},
		{humidity, "165 %", "0 to 1"},
		{count, "2.5", "whole"},
		{day, "1 March", "2026-03-01"},
		{moment, "2026-03-01", "2026-03-01T12:00:00Z"},
	} {
		if got, err := row.key.read(row.text); err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s=%s: %v, %v; want a sentence with %q", row.key.Name, row.text, got, err, row.says)
		}
	}
	if v, err := day.read("2026-02-29"); err == nil {
		t.Errorf("29 February 2026 is read as %v", v)
	}
}

func TestOneOf(t *testing.T) {
	e := Entry{Name: "sum", OneOf: [][]string{{"elevation", "pressure"}}, Keys: []Key{
		{Name: "elevation", Kind: quantity.Length, Low: -400, High: 5000},
		{Name: "pressure", Kind: quantity.Pressure, Low: 4e4, High: 1.2e5},
	}}
	for i := range e.Keys {
		e.Keys[i].complete()
	}
	if in, err := e.read(map[string]string{"pressure": "1 bar"}); err != nil || in.Number("pressure") != 1e5 || in.Given("elevation") {
		t.Errorf("pressure alone: %v, %v", in, err)
	}
	for _, texts := range []map[string]string{{}, {"pressure": "1 bar", "elevation": "10 m"}} {
		var refused *InputError
		if _, err := e.read(texts); !errors.As(err, &refused) {
			t.Errorf("%v: %v, want an InputError", texts, err)
		}
	}
}

// An entry that leaves out, adds or spoils an output is a fault of ours, not an answer.
func TestAnswerIsChecked(t *testing.T) {
	e := Entry{Outputs: []Output{{Name: "a"}, {Name: "b", Optional: true}}}
	zero := 0.0
	for i, row := range []struct {
		outputs map[string]any
		good    bool
	}{
		{map[string]any{"a": 1.0}, true},
		{map[string]any{"a": 1.0, "b": "text"}, true},
		{map[string]any{"b": 1.0}, false},
		{map[string]any{"a": 1.0, "c": 1.0}, false},
		{map[string]any{"a": 1 / zero}, false},
		{map[string]any{"a": nil}, false},
	} {
		if err := e.checkAnswer(&answer{outputs: row.outputs}); (err == nil) != row.good {
			t.Errorf("answer %d: %v", i, err)
		}
	}
}
