package reckoner

import (
	"errors"
	"strings"
	"testing"
)

// Values worked out apart from the program; emergence of tomato beside the 43
// days harrington-1954 saw.
func TestCropEntries(t *testing.T) {
	for _, row := range []struct {
		entry, output string
		in            map[string]string
		want, tol     float64
	}{
		{"emergence", "days", map[string]string{"crop": "tomato", "temp": "10 C"}, 43, 2},
		{"emergence", "days", map[string]string{"crop": "lettuce_butterhead", "temp": "68F"}, 2.8, 0.05},
		{"degree-days", "degreeDays", map[string]string{"base": "8 C", "upper": "30 C", "tmax": "24 C", "tmin": "14 C"}, 11, 1e-9},
		{"stand-growth", "wGM2", map[string]string{"w0": "1.5 g/m2", "q": "0.022", "growth-rate": "13.6 g/m2/d", "days": "35"}, 321.73, 0.02},
		{"lettuce-days", "daysFromSeed", map[string]string{"dli": "17 mol/m2", "temp": "20 C", "co2": "1000"}, 34.7, 0.06},
		{"lettuce-days", "daysFromSeed", map[string]string{"dli": "17 mol/m2/d", "temp": "20 C"}, 41.9, 0.06},
		{"feed-for-beds", "feedGM2Day", map[string]string{"harvest": "112 g/m2/d", "nitrogen": "2.5", "protein": "32 %"}, 12.2, 0.1},
		{"crop-keeping", "days", map[string]string{"crop": "kale", "temp": "-5 C"}, 0, 0},
		{"tray-schedule", "trays", map[string]string{"green": "broccoli", "deliver": "2026-03-06", "grams": "3 kg"}, 21, 0},
		{"tray-schedule", "seedG", map[string]string{"green": "broccoli", "deliver": "2026-03-06", "grams": "3 kg", "basis": "typical"}, 270, 1e-9},
	} {
		r, err := Run(row.entry, row.in)
		if err != nil {
			t.Errorf("%s %v: %v", row.entry, row.in, err)
			continue
		}
		got, ok := r.Outputs[row.output].(float64)
		if !ok || !(got >= row.want-row.tol && got <= row.want+row.tol) {
			t.Errorf("%s %v: %s is %v, want %g", row.entry, row.in, row.output, r.Outputs[row.output], row.want)
		}
	}
	for _, row := range []struct {
		in   map[string]string
		want string
	}{
		{map[string]string{"green": "broccoli", "deliver": "2026-03-06", "temp": "18 C", "grams": "3 kg"}, "2026-02-21"},
		{map[string]string{"green": "pea_shoot", "deliver": "2026-03-06", "temp": "18 C", "grams": "3 kg"}, "2026-02-19"},
		{map[string]string{"green": "broccoli", "deliver": "2026-03-06", "temp": "24 C", "grams": "3 kg"}, "2026-02-24"}, // as at 22 °C
		{map[string]string{"green": "broccoli", "deliver": "2026-03-06", "temp": "6 C", "grams": "3 kg"}, "2025-12-15"},  // 80 days
	} {
		r, err := Run("tray-schedule", row.in)
		if err != nil || r.Outputs["sowDate"] != row.want {
			t.Errorf("%v: sown %v, %v; want %s", row.in, r.Outputs["sowDate"], err, row.want)
		}
		if row.in["temp"] != "18 C" && len(r.Warnings) == 0 {
			t.Errorf("%v: no warning", row.in)
		}
	}
}

// No answer says why; what cannot be used is refused, seedlings that harm with
// their reason.
func TestCropEntriesNoAnswer(t *testing.T) {
	for _, row := range []struct {
		entry string
		in    map[string]string
	}{
		{"emergence", map[string]string{"crop": "tomato", "temp": "7.5 C"}},
		{"emergence", map[string]string{"crop": "potato", "temp": "15 C"}},
		{"lettuce-days", map[string]string{"dli": "0 mol/m2/d", "temp": "20 C"}},
		{"lettuce-days", map[string]string{"dli": "17 mol/m2/d", "temp": "31 C"}},
	} {
		r, err := Run(row.entry, row.in)
		if err != nil || !r.NoAnswer() || len(r.Warnings) == 0 {
			t.Errorf("%s %v: %+v, %v", row.entry, row.in, r, err)
		}
	}
	for _, row := range []struct {
		entry, field, says string
		in                 map[string]string
	}{
		{"tray-schedule", "green", "nightshade", map[string]string{"green": "tomato", "deliver": "2026-03-06", "grams": "1 kg"}},
		{"tray-schedule", "green", "phytohaemagglutinin", map[string]string{"green": "Phaseolus vulgaris", "deliver": "2026-03-06", "grams": "1 kg"}},
		{"tray-schedule", "temp", "above 4 °C", map[string]string{"green": "broccoli", "deliver": "2026-03-06", "grams": "1 kg", "temp": "4 C"}},
		{"degree-days", "tmax", "tmin", map[string]string{"base": "8 C", "upper": "30 C", "tmax": "14 C", "tmin": "24 C"}},
		{"degree-days", "upper", "base", map[string]string{"base": "30 C", "upper": "8 C", "tmax": "24 C", "tmin": "14 C"}},
		{"lettuce-days", "dli", "65", map[string]string{"dli": "66 mol/m2/d", "temp": "20 C"}},
	} {
		_, err := Run(row.entry, row.in)
		var refused *InputError
		if !errors.As(err, &refused) || refused.Field != row.field || !strings.Contains(refused.Sentence, row.says) {
			t.Errorf("%s %v: %v; want a sentence about %s with %q", row.entry, row.in, err, row.field, row.says)
		}
	}
}
