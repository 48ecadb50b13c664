package inhand

import (
	"fmt"
	"math"
)

// roundedDown is hours as they are told: to 5 minutes below 3 hours, to half an
// hour from there, always down.
func roundedDown(hours float64) float64 {
	const nudge = 1e-3 // for what kept cut off
	if hours < 3 {
		return math.Floor(hours*12+nudge) / 12
	}
	return math.Floor(hours*2+nudge) / 2
}

// kept is what an answer holds of hours: rounded down to what is told, but above
// 0 for a threshold that was not passed before.
func kept(hours float64) float64 {
	down := math.Round(roundedDown(hours)*1e4) / 1e4
	if down == 0 && hours > 0 {
		return max(1e-4, math.Round(hours*1e4)/1e4)
	}
	return down
}

// Duration prints hours rounded down: "under 5 min", "1 h 50 min", "7½ h". No
// number and less than nothing print as nothing.
func Duration(hours float64) string {
	if !(hours >= 0) || math.IsInf(hours, 0) {
		return ""
	}
	h := roundedDown(hours)
	minutes := int(math.Round(h * 60))
	switch {
	case minutes < 5:
		return "under 5 min"
	case minutes < 60:
		return fmt.Sprintf("%d min", minutes)
	case hours < 3 && minutes%60 != 0:
		return fmt.Sprintf("%d h %d min", minutes/60, minutes%60)
	case minutes%60 == 30:
		return fmt.Sprintf("%d½ h", minutes/60)
	}
	return fmt.Sprintf("%d h", minutes/60)
}

// NotReached is what stands for a threshold that is not passed.
var NotReached = fmt.Sprintf("not within %d h", LookHours)

// text prints a time to a threshold.
func text(hours float64, reached bool) string {
	switch {
	case !reached:
		return NotReached
	case hours == 0:
		return "already"
	}
	return Duration(hours)
}

// States of a case, by how soon the fish suffer.
const (
	Act   = "act"   // in less than ActHours
	Watch = "watch" // in less than WatchHours
	Good  = "good"
)

// Below ActHours nobody who sleeps or is away is back in time; WatchHours is a
// night. Common practice, no source.
const (
	ActHours       = 3.0
	WatchHours     = 12.0
	EmergencyHours = 0.5 // a tank that has less has no time for anything
)

func stateOf(hours float64) string {
	switch {
	case hours < ActHours:
		return Act
	case hours < WatchHours:
		return Watch
	}
	return Good
}

// CardCases are the cases of the card for a stand-in, in short words.
func CardCases() []Case {
	return []Case{{ID: PowerFails, Name: "pump and air stop"}, {ID: BatteryRuns, Name: "the same, battery air on"}, {ID: AirStops, Name: "only the air stops"},
		{ID: PumpStops, Name: "only the pump stops"}, {ID: InletBlocked, Name: "its own inlet blocked"}}
}
