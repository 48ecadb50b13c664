package crop

import (
	"fmt"
	"math"
	"strings"

	"tidebed/quantity"
)

// checkSpan refuses temperatures outside -20 to 60 °C and a base not below the
// upper limit.
func checkSpan(baseC, upperC float64, tempsC ...float64) error {
	for _, t := range append(tempsC, baseC, upperC) {
		if !(t >= -20 && t <= 60) {
			return fmt.Errorf("degree-days: a temperature of %g °C is not within -20 to 60 °C: %w", t, quantity.ErrRange)
		}
	}
	if baseC >= upperC {
		return fmt.Errorf("degree-days: the base, %g °C, must lie below the upper limit, %g °C: %w", baseC, upperC, quantity.ErrRange)
	}
	return nil
}

// DegreeDaysMean returns the thermal time of a day in °C d from its highest and
// lowest temperature, by the mean of both after each is held within base and
// upper limit. It is fair while the night stays above the base and the day
// below the limit; else use DegreeDaysHourly. What cannot be read, is outside
// -20 to 60 °C or upside down gives 0; CheckDegreeDays says why.
//
// Source: mcmaster-1997, method 2 (from memory).
func DegreeDaysMean(tmaxC, tminC, baseC, upperC float64) float64 {
	if CheckDegreeDays(tmaxC, tminC, baseC, upperC) != nil {
		return 0
	}
	held := func(t float64) float64 { return min(max(t, baseC), upperC) }
	return (held(tmaxC)+held(tminC))/2 - baseC
}

// CheckDegreeDays says what DegreeDaysMean and DegreeDaysSine cannot use.
func CheckDegreeDays(tmaxC, tminC, baseC, upperC float64) error {
	if err := checkSpan(baseC, upperC, tmaxC, tminC); err != nil {
		return err
	}
	if tmaxC < tminC {
		return fmt.Errorf("degree-days: the day's highest temperature, %g °C, is below its lowest, %g °C: %w", tmaxC, tminC, quantity.ErrRange)
	}
	return nil
}

// DegreeDaysHourly returns the thermal time in °C d of hourly temperatures: the
// sum of what lies above the base, each hour held below the upper limit, by 24.
//
// Errors: a temperature outside -20 to 60 °C, or base not below upper.
func DegreeDaysHourly(hoursC []float64, baseC, upperC float64) (float64, error) {
	if err := checkSpan(baseC, upperC, hoursC...); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, t := range hoursC {
		sum += max(0, min(t, upperC)-baseC)
	}
	return sum / 24, nil
}

// DegreeDaysSine is DegreeDaysHourly for a day whose temperature swings as a
// sine between its lowest and highest.
func DegreeDaysSine(tmaxC, tminC, baseC, upperC float64) (float64, error) {
	if err := CheckDegreeDays(tmaxC, tminC, baseC, upperC); err != nil {
		return 0, err
	}
	const steps = 1440
	sum := 0.0
	for i := range steps {
		t := (tmaxC+tminC)/2 + (tmaxC-tminC)/2*math.Sin(2*math.Pi*(float64(i)+0.5)/steps)
		sum += max(0, min(t, upperC)-baseC)
	}
	return sum / steps, nil
}

// TemperatureFactor returns the share of full growth at a temperature in °C:
// rising in a straight line from TempBaseC to TempOptLowC, 1 up to
// TempOptHighC, falling to TempMaxC. NaN gives 0.
//
// Source: the four temperatures of the table, from memory, as the broken line
// of soltani-2012.
func (c *Crop) TemperatureFactor(tempC float64) float64 {
	switch {
	case !(tempC > c.TempBaseC) || tempC >= c.TempMaxC:
		return 0
	case tempC < c.TempOptLowC:
		return (tempC - c.TempBaseC) / (c.TempOptLowC - c.TempBaseC)
	case tempC > c.TempOptHighC:
		return (c.TempMaxC - tempC) / (c.TempMaxC - c.TempOptHighC)
	}
	return 1
}

// Limits of emergence, °C.
const (
	emergenceHoldC = 25 // the lines were fitted up to here; no faster above, nor above the crop's best
	emergenceEndC  = 40 // seed of no crop of the table is sown warmer
)

// heatShySeed are crops whose seed sleeps or fails at TempMaxC.
var heatShySeed = []string{"lettuce", "spinach", "celery"}

// EmergenceDays returns the days from sowing to emergence, sown 12 mm deep in
// moist ground of tempC, by the thermal time of the table; where the table has
// none, GermDays. ok is false where nothing comes up: at the base and below,
// above 40 °C (lettuce, spinach and celery from TempMaxC), or where the table
// knows neither. Below 8 °C real seed takes longer than the line says.
//
// Check: tomato 41 days at 10 °C; harrington-1954 saw 43.
func (c *Crop) EmergenceDays(tempC float64) (days float64, ok bool) {
	end := float64(emergenceEndC)
	for _, shy := range heatShySeed {
		if strings.HasPrefix(c.Key, shy) {
			end = c.TempMaxC
		}
	}
	if !(tempC < end) {
		return 0, false
	}
	if !c.GermThermalTimeCd.Known || !c.GermBaseC.Known {
		return c.GermDays.Amount, c.GermDays.Known && tempC > c.TempBaseC
	}
	above := min(tempC, max(emergenceHoldC, c.TempOptHighC)) - c.GermBaseC.Amount
	if !(above > 0) {
		return 0, false
	}
	return c.GermThermalTimeCd.Amount / above, true
}

// midOptC is the middle of the temperatures of full growth.
func (c *Crop) midOptC() float64 { return (c.TempOptLowC + c.TempOptHighC) / 2 }
