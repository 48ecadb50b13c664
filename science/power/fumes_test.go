package power_test

import (
	"math"
	"strings"
	"testing"

	"tidebed/science/power"
)

func TestFumes(t *testing.T) {
	for _, row := range []struct {
		judge func(float64) (string, error)
		ppm   float64
		says  string
	}{
		{power.CarbonMonoxide, 0, "keep the alarm"}, {power.CarbonMonoxide, 0.1, "flue"}, {power.CarbonMonoxide, 29.9, "flue"},
		{power.CarbonMonoxide, 30, "Put burners out"}, {power.CarbonMonoxide, power.COOshaPPM, "Put burners out"}, {power.CarbonMonoxide, 100, "Leave the house now"}, {power.CarbonMonoxide, 1e6, "Leave the house now"},
		{power.CarbonDioxide, 200, "vents"}, {power.CarbonDioxide, 420, "as people may work"}, {power.CarbonDioxide, 5000, "Leave and air"}, {power.CarbonDioxide, 30000, "kills"},
	} {
		got, err := row.judge(row.ppm)
		if err != nil || !strings.Contains(got, row.says) {
			t.Errorf("%g ppm: %q, %v; want %q", row.ppm, got, err, row.says)
		}
	}
	for _, ppm := range []float64{-1, math.NaN(), math.Inf(1)} {
		_, err := power.CarbonMonoxide(ppm)
		refused(t, "carbon monoxide", err)
		_, err = power.CarbonDioxide(ppm)
		refused(t, "carbon dioxide", err)
	}
}
