package crop

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// LongestBack is how many days PlantingDay looks back at most.
const LongestBack = 1500

// PlantingDay returns the day on which to plant, or to sow in the bed, so that
// the first harvest falls on harvestDay. dayBefore gives, for a day's number,
// the effective light (closed stand × temperature × carbon dioxide factors,
// g/m²) and the mean temperature; days are walked back one at a time and the
// span is rounded up. ok is false when LongestBack days are not enough.
//
// Check: butterhead for 18 December at 16 °C and 10 mol/m²/d: 48 days,
// 31 October.
func (c *Crop) PlantingDay(harvestDay int, dayBefore func(day int) (light, tempC float64)) (day int, ok bool, err error) {
	cal, err := c.Calibration(c.YieldSeason.TypicalKgM2)
	if err != nil {
		return 0, false, err
	}
	sum, up := 0.0, 1.0
	if cal.EmergenceDays > 0 {
		up = 0
	}
	for back := 1; back <= LongestBack; back++ {
		light, tempC := dayBefore(harvestDay - back)
		if sum < near*cal.UTargetGM2 {
			if light > 0 {
				sum += light
			}
		} else {
			up += c.comesUp(tempC)
		}
		if sum >= near*cal.UTargetGM2 && up >= near {
			return harvestDay - back, true, nil
		}
	}
	return 0, false, nil
}

// StandingPlants returns how many plants stand in the beds for a steady
// harvest of perWeek: perWeek·(bedDays + turnDays)/7; turnDays is the gap to
// pull, rake and plant, 2 as a rule.
func StandingPlants(perWeek, bedDays, turnDays float64) (float64, error) {
	if !(perWeek >= 0 && bedDays > 0 && turnDays >= 0) || math.IsInf(perWeek+bedDays+turnDays, 0) {
		return 0, fmt.Errorf("standing plants: %g a week, %g days in the bed, %g between: none may be below 0, and the bed days not 0: %w", perWeek, bedDays, turnDays, quantity.ErrRange)
	}
	return perWeek * (bedDays + turnDays) / 7, nil
}

// Usual losses between seed and planting out (common practice).
const (
	UsualGermination = 0.85
	UsualSurvival    = 0.95
)

// SeedsToSow returns how many seeds to sow for so many plants, rounded up.
//
// Errors: plants below 0, a share not within 0 to 1.
func SeedsToSow(plants, germination, survival float64) (int, error) {
	if !(plants >= 0 && plants < 1e9 && germination > 0 && germination <= 1 && survival > 0 && survival <= 1) {
		return 0, fmt.Errorf("seeds for %g plants with shares %g and %g: plants must be 0 or more, shares above 0 and at most 1: %w", plants, germination, survival, quantity.ErrRange)
	}
	return int(math.Ceil(plants/(germination*survival) - 1e-9)), nil
}

// StaggeredBeds returns how many beds of a crop cut again give one cut at each
// delivery, deliveries deliveryDays apart; 0 for a crop not cut again or an
// interval not above 0.
func (c *Crop) StaggeredBeds(deliveryDays float64) int {
	if c.CutIntervalDays == 0 || !(deliveryDays > 0) {
		return 0
	}
	return int(math.Ceil(float64(c.CutIntervalDays)/deliveryDays - 1e-9))
}
