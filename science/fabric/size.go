package fabric

import "math"

// Constants of sizing.
const (
	// HeaterLowTimes and HeaterHighTimes are the output of a heater over the loss
	// at the design temperature. Common practice, no source.
	HeaterLowTimes  = 1.15
	HeaterHighTimes = 1.25
	// TwinTimes is the size of each of two heaters over the loss: two of 60 % do
	// better than one of 120 %, for one may fail. Common practice, no source.
	TwinTimes = 0.60

	// How many standard deviations below the mean minimum of the coldest month
	// cold nights lie: fitted to typical years of 18 places.
	sizingSds  = 2.5
	rareSds    = 1.2 // colder in 0.4 % of hours; 0.8 to 1.6
	coldestSds = 2.1 // coldest hour; up to 3.1

	erbsA = 1.698 // dimensionless: without the root of the days, [erbs-1983]
)

// Design is how cold it gets at a place, from its normals.
type Design struct {
	Month        int     // coldest, 0 to 11
	SizingC      float64 // to size a heater by
	RareC        float64 // colder in 0.4 % of the hours of a typical year
	ColdestHourC float64 // of a typical year
}

// DesignC returns the design temperatures from the mean daily minimum of each
// month and its standard deviation from day to day (0 to 20 K). A typical year
// holds no record cold: run what must survive at the record low too, or 10 K
// below the coldest month's mean minimum.
//
// Source: fitted to hourly typical years; the spread between places is 0.4 sd.
func DesignC(minC, sdK [12]float64) (Design, error) {
	for m := range minC {
		if err := check("design temperature", tempBound("mean minimum", minC[m]), bound{"standard deviation", sdK[m], 0, 20, "K"}); err != nil {
			return Design{}, err
		}
	}
	coldest := 0
	for m := range minC {
		if minC[m] < minC[coldest] {
			coldest = m
		}
	}
	at := func(sds float64) float64 { return minC[coldest] - sds*sdK[coldest] }
	return Design{Month: coldest, SizingC: at(sizingSds), RareC: at(rareSds), ColdestHourC: at(coldestSds)}, nil
}

// Heater is the size of a heater for a loss.
type Heater struct {
	LowW, HighW float64 // output of one
	EachOfTwoW  float64
}

// HeaterSize returns the output of a heater for a loss in W at the design
// temperature, 0 to 1e9. Check: 18 668 W: 21.5 to 23.3 kW.
func HeaterSize(lossW float64) (Heater, error) {
	if err := check("heater", bound{"loss", lossW, 0, mostW, "W"}); err != nil {
		return Heater{}, err
	}
	return Heater{LowW: HeaterLowTimes * lossW, HighW: HeaterHighTimes * lossW, EachOfTwoW: TwinTimes * lossW}, nil
}

// BalanceC is the temperature outside at which a house needs no heat: its set
// point less what sun, lamps and people warm it by, mean W over W/K.
func BalanceC(setC, gainsW, uaWK float64) (float64, error) {
	if err := check("balance temperature", tempBound("set point", setC), bound{"gains", gainsW, 0, mostW, "W"}, bound{"conductance", uaWK, 1e-9, mostWK, "W/K"}); err != nil {
		return 0, err
	}
	return setC - gainsW/uaWK, nil
}

// daysOfMonth are those of a common year.
var daysOfMonth = [12]float64{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// MonthDegreeDays is the kelvin-days by which the days of a month lie below a
// base, from the month's mean.
//
//	baseC, meanC  -200 to 80, -70 to 45
//	yearSdK       standard deviation of the 12 monthly means, 0 to 40
//	days          in the month, 1 to 31
//
// Days hide cold nights: for a glasshouse, hours say more. Within 5 % of the
// hours in cold places, 12 % too low in mild ones.
//
// Source: [erbs-1983] as in [duffie-beckman] 9.3, from memory.
func MonthDegreeDays(baseC, meanC, yearSdK, days float64) (float64, error) {
	if err := check("degree-days", bound{"base", baseC, -200, HighestC, "°C"}, bound{"mean", meanC, LowestC, 45, "°C"}, bound{"standard deviation of the months", yearSdK, 0, 40, "K"}, bound{"days", days, 1, 31, ""}); err != nil {
		return 0, err
	}
	return monthDegreeDays(baseC, meanC, yearSdK, days), nil
}

func monthDegreeDays(baseC, meanC, yearSdK, days float64) float64 {
	root := math.Sqrt(days)
	sdK := 1.45 - 0.0290*meanC + 0.0664*yearSdK // of the month's mean from year to year
	h := (baseC - meanC) / (sdK * root)
	ah := erbsA * math.Abs(h)
	return sdK * days * root * (h/2 + (ah+math.Log1p(math.Exp(-2*ah)))/(2*erbsA))
}

// YearDegreeDays returns the kelvin-days of each month of a common year below a
// base and their sum, from the monthly means.
//
// Check: Burlington, Vermont, base 18 °C: 4026.
func YearDegreeDays(baseC float64, meansC [12]float64) (months [12]float64, sum float64, err error) {
	sdK, err := YearSdK(meansC)
	if err != nil {
		return months, 0, err
	}
	for m := range meansC {
		if months[m], err = MonthDegreeDays(baseC, meansC[m], sdK, daysOfMonth[m]); err != nil {
			return [12]float64{}, 0, err
		}
		sum += months[m]
	}
	return months, sum, nil
}

// YearSdK is the standard deviation of the twelve monthly means, n - 1 below.
func YearSdK(meansC [12]float64) (float64, error) {
	mean := 0.0
	for _, t := range meansC {
		if err := check("monthly means", tempBound("mean", t)); err != nil {
			return 0, err
		}
		mean += t / 12
	}
	squares := 0.0
	for _, t := range meansC {
		squares += (t - mean) * (t - mean)
	}
	return math.Sqrt(squares / 11), nil
}

// SeasonKWh is the heat that a house of uaWK loses in degree-days of the base
// BalanceC gives.
func SeasonKWh(uaWK, degreeDays float64) (float64, error) {
	if err := check("heat of a season", uaBound("conductance", uaWK), bound{"degree-days", degreeDays, 0, 1e5, "K d"}); err != nil {
		return 0, err
	}
	return 24 * uaWK * degreeDays / 1000, nil
}

// DegreeHours is the kelvin-hours by which hourly temperatures lie below a base:
// for a glasshouse better than degree-days, whose daily means hide cold nights.
// uaWK times it over 1000 is the heat in kWh.
func DegreeHours(baseC float64, hourlyC []float64) (float64, error) {
	if err := check("degree-hours", bound{"base", baseC, -200, HighestC, "°C"}); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, t := range hourlyC {
		if err := check("degree-hours", tempBound("temperature", t)); err != nil {
			return 0, err
		}
		sum += max(0, baseC-t)
	}
	return sum, nil
}
