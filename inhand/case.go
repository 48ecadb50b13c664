package inhand

import (
	"fmt"

	"tidebed/plumbing"
	"tidebed/science/fish"
)

// Moment is when the machines stop. Fish are fed twice a day, at the hours of
// fish.MealHours; the temperature is the same by day and night.
type Moment struct {
	Night bool `json:"night"`
	Fed   bool `json:"afterMeal"` // three hours after a meal, when digestion is near its height
}

// mealsADay is how often fish are fed. Common practice, no source.
const mealsADay = 2

// Hour is the hour of the day of the failure: after the morning or evening
// meal, or before the morning meal, in the dark or just before it is given.
func (m Moment) Hour() int {
	hours := fish.MealHours(mealsADay)
	first, last := hours[0], hours[len(hours)-1]
	switch {
	case m.Fed && m.Night:
		return last + hoursAfterMeal
	case m.Fed:
		return first + hoursAfterMeal
	case m.Night:
		return first - 3
	}
	return first - 1
}

// hoursAfterMeal is from the meal to the failure.
const hoursAfterMeal = 3

// Words says when it is: "three hours after the evening meal".
func (m Moment) Words() string {
	switch {
	case m.Fed && m.Night:
		return "three hours after the evening meal"
	case m.Fed:
		return "three hours after the morning meal"
	case m.Night:
		return "late at night, long after the last meal"
	}
	return "just before the morning meal"
}

// Moments are the four that are looked at, the hardest as a rule first.
func Moments() []Moment { return []Moment{{Night: true, Fed: true}, {Fed: true}, {Night: true}, {}} }

// Case is what stops.
type Case struct {
	ID     string `json:"id"` // pump, air, power, battery, or inlet with the Tank
	Name   string `json:"name"`
	Pump   bool   `json:"pumpOff"`        // no flow; with Tank only into and out of it
	Air    bool   `json:"airOff"`         // air stones on the mains stand still; with Tank only its own
	Backup bool   `json:"batteryOn"`      // air stones on a battery run
	Tank   string `json:"tank,omitempty"` // empty: the whole loop
}

// The cases' IDs.
const (
	PumpStops    = "pump"
	AirStops     = "air"
	PowerFails   = "power"
	BatteryRuns  = "battery"
	InletBlocked = "inlet"
)

// CasesOf are the cases that can befall a loop: pump, air, both; both with the
// battery's air where there is such; and the inlet of each tank blocked, or its
// hose off, while everything else runs. A tank the pump draws from has no inlet
// of its own.
func CasesOf(c *plumbing.Circuit) []Case {
	all := []Case{
		{ID: PumpStops, Name: "pump stops, air goes on", Pump: true},
		{ID: AirStops, Name: "air stops, pump goes on", Air: true},
		{ID: PowerFails, Name: "pump and air stop", Pump: true, Air: true},
	}
	for i := range c.Places {
		if _, battery := c.AirGH(i); battery > 0 {
			all = append(all, Case{ID: BatteryRuns, Name: "pump and air stop, battery air runs", Pump: true, Air: true, Backup: true})
			break
		}
	}
	for i := range c.Places {
		if c.Places[i].Kind == plumbing.Tank && i != c.Hub {
			name := c.Layout.Cells[i].Name
			all = append(all, Case{ID: InletBlocked, Name: fmt.Sprintf("inlet of %s blocked or its hose off", name), Pump: true, Tank: name})
		}
	}
	return all
}
