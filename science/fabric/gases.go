package fabric

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// Limits of gases in a room. All from memory unless said.
const (
	CO2DayPpm      = 5000.0  // mean of 8 h of work, [niosh]; above it leave
	CO2ShortPpm    = 30000.0 // of 15 minutes, [niosh]
	COAlarmPpm     = 30.0    // an alarm should sound
	CONioshPpm     = 35.0    // mean of 8 h, [niosh]
	COOshaPpm      = 50.0    // mean of 8 h in law, printed in [uark-heaters]
	COLeavePpm     = 100.0   // leave at once
	EthylenePpm    = 0.05    // harms crops, printed in [uark-heaters]; sensitive ones from 0.01
	LeafCO2LowPpm  = 250.0   // a closed house full of leaves falls below it by mid-morning
	OutsideCO2Ppm  = 420.0   // of the air outside
	PersonCO2GH    = 34.0    // of a person at light work
	LeafLightLowG  = 1.0     // g/m²/h that a leafy crop takes in light, to LeafLightHighG
	LeafLightHighG = 3.0
	LeafDarkLowG   = 0.2 // g/m²/h that it gives off in the dark, to LeafDarkHighG
	LeafDarkHighG  = 0.4

	// OxygenPerFeed is the oxygen in kg that fish and the microbes of a loop use for a kg
	// of feed: 0.3 to 0.5, [timmons-ebeling], from memory.
	OxygenPerFeed = 0.4
	// co2PerOxygen is the mass of carbon dioxide for that of oxygen, a molecule each.
	co2PerOxygen = 1.375
	// co2LG is the volume of a gram of carbon dioxide at 20 °C.
	co2LG = 0.5466
)

// FeedCO2GH is the carbon dioxide in g an hour from feeding feedKgDay (0 to
// 1e5), with oxygenPerFeed kg of oxygen a kg of feed (0.1 to 1: OxygenPerFeed) and
// a respiratory quotient of 0.7 to 1.
//
// Source: [timmons-ebeling], from memory. Check: 5 kg/d, 0.4, 1: 114.6.
func FeedCO2GH(feedKgDay, oxygenPerFeed, quotient float64) (float64, error) {
	if err := check("carbon dioxide of feed", bound{"feed", feedKgDay, 0, 1e5, "kg/d"}, bound{"oxygen per feed", oxygenPerFeed, 0.1, 1, ""}, bound{"respiratory quotient", quotient, 0.7, 1, ""}); err != nil {
		return 0, err
	}
	return 1000 * feedKgDay * oxygenPerFeed * co2PerOxygen * quotient / 24, nil
}

// RoomCO2Ppm is the carbon dioxide at which a room of volumeM3 (above 0) rests
// with perHour air changes (above 0 to 120) while gH g an hour are given off; a
// negative gH is taken up by leaves. When leaves would take more than the air
// brings, there is no such rest: an error.
//
// Check: 114.6 g/h in 212.4 m³ once an hour: 295 ppm above outside.
func RoomCO2Ppm(outsidePpm, gH, volumeM3, perHour float64) (float64, error) {
	if err := check("carbon dioxide of a room", bound{"outside", outsidePpm, 0, 1e5, "ppm"}, bound{"given off", gH, -1e6, 1e6, "g/h"}, bound{"volume", volumeM3, 1e-3, mostM3, "m3"}, bound{"air changes", perHour, 1e-6, 120, "1/h"}); err != nil {
		return 0, err
	}
	ppm := outsidePpm + 1000*co2LG*gH/(perHour*volumeM3)
	switch {
	case ppm < 0:
		return 0, fmt.Errorf("carbon dioxide of a room: the leaves would take %g g/h and %g air changes do not bring it; ventilate more or reckon with less uptake: %w", -gH, perHour, quantity.ErrRange)
	case ppm > 1e6:
		return 0, fmt.Errorf("carbon dioxide of a room: %g g/h would be more than all of the air; check the figures: %w", gH, quantity.ErrRange)
	}
	return ppm, nil
}

// CO2AfterPpm is the carbon dioxide after hours (0 to 1e4) on the way from one
// value to the rest that RoomCO2Ppm gives.
func CO2AfterPpm(fromPpm, restPpm, perHour, hours float64) (float64, error) {
	if err := check("carbon dioxide of a room", bound{"start", fromPpm, 0, 1e6, "ppm"}, bound{"rest", restPpm, 0, 1e6, "ppm"}, bound{"air changes", perHour, 0, 120, "1/h"}, bound{"time", hours, 0, 1e4, "h"}); err != nil {
		return 0, err
	}
	return restPpm + (fromPpm-restPpm)*math.Exp(-perHour*hours), nil
}
