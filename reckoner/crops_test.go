package reckoner_test

import (
	"strings"
	"testing"

	"tidebed/reckoner"
)

// Values worked out apart from the program; emergence of tomato beside the 43
// days harrington-1954 saw.
func TestCropEntries(t *testing.T) {
	checkSums(t, []sum{
		{"emergence", "crop=tomato|temp=10 C", "days", 43, 2},
		{"emergence", "crop=lettuce_butterhead|temp=68F", "days", 2.8, 0.05},
		{"degree-days", "base=8 C|upper=30 C|tmax=24 C|tmin=14 C", "degreeDays", 11, 1e-9},
		{"stand-growth", "w0=1.5 g/m2|q=0.022|growth-rate=13.6 g/m2/d|days=35", "wGM2", 321.73, 0.02},
		{"lettuce-days", "dli=17 mol/m2|temp=20 C|co2=1000", "daysFromSeed", 34.7, 0.06},
		{"lettuce-days", "dli=17 mol/m2/d|temp=20 C", "daysFromSeed", 41.9, 0.06},
		{"feed-for-beds", "harvest=112 g/m2/d|nitrogen=2.5|protein=32 %", "feedGM2Day", 12.2, 0.1},
		{"crop-keeping", "crop=kale|temp=-5 C", "days", 0, 0},
		{"tray-schedule", "green=broccoli|deliver=2026-03-06|grams=3 kg", "trays", 21, 0},
		{"tray-schedule", "green=broccoli|deliver=2026-03-06|grams=3 kg|basis=typical", "seedG", 270, 1e-9},
	})
	for _, row := range []struct{ inputs, want string }{
		{"green=broccoli|deliver=2026-03-06|temp=18 C|grams=3 kg", "2026-02-21"},
		{"green=pea_shoot|deliver=2026-03-06|temp=18 C|grams=3 kg", "2026-02-19"},
		{"green=broccoli|deliver=2026-03-06|temp=24 C|grams=3 kg", "2026-02-24"}, // as at 22 °C
		{"green=broccoli|deliver=2026-03-06|temp=6 C|grams=3 kg", "2025-12-15"},  // 80 days
	} {
		r, err := reckoner.Run("tray-schedule", typed(row.inputs))
		if err != nil || r.Outputs["sowDate"] != row.want {
			t.Errorf("%v: sown %v, %v; want %s", row.inputs, r.Outputs["sowDate"], err, row.want)
		}
		if !strings.Contains(row.inputs, "temp=18 C") && len(r.Warnings) == 0 {
			t.Errorf("%v: no warning", row.inputs)
		}
	}
}

// No answer says why; what cannot be used is refused, seedlings that harm with
// their reason.
func TestCropEntriesNoAnswer(t *testing.T) {
	checkSilences(t, []silence{
		{"emergence", "crop=tomato|temp=7.5 C", "days", ""},
		{"emergence", "crop=potato|temp=15 C", "days", ""},
		{"lettuce-days", "dli=0 mol/m2/d|temp=20 C", "daysFromSeed", ""},
		{"lettuce-days", "dli=17 mol/m2/d|temp=31 C", "daysFromSeed", ""},
	})
	checkRefusals(t, []refusal{
		{"tray-schedule", "green=tomato|deliver=2026-03-06|grams=1 kg", "green", "nightshade"},
		{"tray-schedule", "green=Phaseolus vulgaris|deliver=2026-03-06|grams=1 kg", "green", "phytohaemagglutinin"},
		{"tray-schedule", "green=broccoli|deliver=2026-03-06|grams=1 kg|temp=4 C", "temp", "above 4 °C"},
		{"degree-days", "base=8 C|upper=30 C|tmax=14 C|tmin=24 C", "tmax", "tmin"},
		{"degree-days", "base=30 C|upper=8 C|tmax=24 C|tmin=14 C", "upper", "base"},
		{"lettuce-days", "dli=66 mol/m2/d|temp=20 C", "dli", "65"},
	})
}
