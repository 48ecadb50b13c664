package fabric_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/fabric"
)

// The monthly means of three typical years (US NREL, Wilcox & Marion 2008), and
// what the days and the hours of those years sum to below 18 °C.
var typicalYears = []struct {
	name                     string
	means                    [12]float64
	yearSd, erbs, byD, byH   float64
	offByHours, fromRounding float64
}{
	{"Burlington", [12]float64{-7.2, -5.6, -.5, 7.8, 13.8, 19.3, 21.1, 19.8, 15.1, 8.7, 2.8, -1.5}, 10.12, 4026, 3958, 4047, .05, 1},
	{"Denver", [12]float64{.8, -.1, 6.1, 5.8, 15.5, 23.1, 22.3, 22.6, 19.2, 10, 2.9, 1.4}, 9.19, 3163, 3129, 3255, .05, 5},
	{"Phoenix", [12]float64{13, 15.7, 17.3, 23.7, 27.3, 34, 35.6, 33.8, 30.4, 24.8, 18, 11.7}, 8.55, 580, 543, 657, .125, 1},
}

func TestDegreeDays(t *testing.T) {
	for _, y := range typicalYears {
		near(t, y.name+", sd", the[float64](t)(fabric.YearSdK(y.means)), y.yearSd, .025)
		months, sum, err := fabric.YearDegreeDays(18, y.means)
		if err != nil {
			t.Fatal(err)
		}
		near(t, y.name, sum, y.erbs, y.fromRounding) // means are rounded to 0.1 K
		near(t, y.name+", by hours", sum, y.byH, y.offByHours*y.byH)
		near(t, y.name+", by days", sum, y.byD, .07*y.byD)
		total := 0.0
		for _, m := range months {
			total += m
		}
		near(t, y.name+", months", total, sum, 1e-9)
	}
	// A day of 4 and 14 °C by turns has its mean below 10 °C by 1 K, its hours by 3.
	hours := make([]float64, 24)
	for h := range hours {
		hours[h] = 4 + 10*float64(h%2)
	}
	near(t, "hours", the[float64](t)(fabric.DegreeHours(10, hours)), 72, 1e-9)
	// 24 h · 778 W/K · 4026 K d.
	near(t, "season", the[float64](t)(fabric.SeasonKWh(778, 4026)), 75173, 1)
	near(t, "base", the[float64](t)(fabric.BalanceC(18, 3890, 778)), 13, 1e-9)
}

// Far above the mean the sum is base less mean for each day; far below, nothing;
// a higher base never has fewer.
func TestDegreeDaysLimits(t *testing.T) {
	near(t, "deep winter", the[float64](t)(fabric.MonthDegreeDays(60, -10, 8, 31)), 70*31, 1e-6)
	near(t, "hot", the[float64](t)(fabric.MonthDegreeDays(-100, 30, 8, 31)), 0, 1e-9)
	rapid.Check(t, func(t *rapid.T) {
		base, mean, sd, days := rapid.Float64Range(-150, 60).Draw(t, "base"), rapid.Float64Range(-60, 45).Draw(t, "mean"), rapid.Float64Range(0, 25).Draw(t, "sd"), float64(rapid.IntRange(28, 31).Draw(t, "days"))
		one, err := fabric.MonthDegreeDays(base, mean, sd, days)
		more, errMore := fabric.MonthDegreeDays(base+1, mean, sd, days)
		if err != nil || errMore != nil || one < -1e-9 || one < (base-mean)*days-1e-6 || more < one-1e-9 || more > one+days+1e-6 {
			t.Fatalf("%g at base, %g a kelvin above, %v, %v", one, more, err, errMore)
		}
	})
}

func TestDesign(t *testing.T) {
	// Burlington: coldest month −12.2 °C with 6.9 K: coldest hour of that year −27.8.
	minC := [12]float64{-12.2, -11.2, -4.8, 1.7, 7.9, 13.5, 15.1, 14.5, 11, 3.5, -.5, -5.5}
	sdK := [12]float64{6.9, 6.5, 6.1, 5.4, 3.7, 3.8, 4.2, 4.4, 3.8, 4.6, 3.9, 7.1}
	d := the[fabric.Design](t)(fabric.DesignC(minC, sdK))
	if d.Month != 0 {
		t.Errorf("coldest month %d", d.Month)
	}
	near(t, "to size by", d.SizingC, -12.2-2.5*6.9, 1e-9)
	near(t, "0.4 %", d.RareC, -20.48, .005)
	near(t, "coldest hour", d.ColdestHourC, -27.8, 1.5)
	if !(d.SizingC < d.ColdestHourC && d.ColdestHourC < d.RareC) {
		t.Errorf("%+v", d)
	}
}

func TestSizeRefusals(t *testing.T) {
	nan := math.NaN()
	var bad [12]float64
	bad[5] = nan
	one := func(_ float64, err error) error { return err }
	for name, err := range map[string]error{
		"means": func() error { _, _, err := fabric.YearDegreeDays(18, bad); return err }(), "base": func() error { _, _, err := fabric.YearDegreeDays(nan, [12]float64{}); return err }(),
		"month": one(fabric.MonthDegreeDays(18, 60, 8, 30)), "days": one(fabric.MonthDegreeDays(18, 6, 8, 365)), "sd": one(fabric.YearSdK(bad)),
		"design": func() error { _, err := fabric.DesignC(bad, [12]float64{}); return err }(), "spread": func() error { _, err := fabric.DesignC([12]float64{}, bad); return err }(),
		"heater": func() error { _, err := fabric.HeaterSize(-1); return err }(), "balance": one(fabric.BalanceC(18, 100, 0)), "season": one(fabric.SeasonKWh(700, -1)), "hours": one(fabric.DegreeHours(10, []float64{5, nan})), "hours base": one(fabric.DegreeHours(nan, nil)),
	} {
		if !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: error %v, want one that wraps ErrRange", name, err)
		}
	}
}
