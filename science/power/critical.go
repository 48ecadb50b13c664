package power

import (
	"cmp"
	"math"
	"slices"
)

// Load is something that draws power.
type Load struct {
	Name        string
	RunningW    float64 // metered if it can be
	StartFactor float64 // of RunningW while a motor starts, 1 to 8: 3 to 6 for motors; 0 counts as 1
	HoursDay    float64 // 0 to 24
	HoldH       float64 // how long fish and plants hold out without it, 0 up; +Inf: for good
}

// Usual multiples of a motor's power while it starts; common practice, no source.
const (
	MotorStartLow  = 3.0
	MotorStartHigh = 6.0
)

func (l Load) valid() error {
	if !(l.HoldH >= 0) {
		return outside("load "+clip(l.Name), "%g hours without it; give 0 or more", l.HoldH)
	}
	return check("load "+clip(l.Name), bound{"power", l.RunningW, 0, MostPowerW, "W"}, bound{"multiple at the start", l.start(), 1, 8, ""}, bound{"hours a day", l.HoursDay, 0, hoursOfDay, "h"})
}

func (l Load) start() float64 {
	if l.StartFactor == 0 {
		return 1
	}
	return l.StartFactor
}

// Demand is what loads need together.
type Demand struct {
	RunningW float64 // all at once
	PeakW    float64 // while the one with the largest start starts and all others run
	KWhDay   float64
}

// Together is what loads need. Two motors that start in the same second need
// more: start them one after the other.
//
// Check: 100 W, and a pump of 60 W that starts with 4 times that: 160 W, 340 W.
func Together(loads []Load) (Demand, error) {
	var d Demand
	extra := 0.0
	for _, l := range loads {
		if err := l.valid(); err != nil {
			return Demand{}, err
		}
		d.RunningW += l.RunningW
		d.KWhDay += l.RunningW / 1000 * l.HoursDay
		extra = max(extra, (l.start()-1)*l.RunningW)
	}
	d.PeakW = d.RunningW + extra
	return d, nil
}

// Keep divides loads into those to run on a power of 0 to MostPowerW and those to
// leave off: the ones without which fish and plants hold out the shortest first,
// each that still fits with its start.
func Keep(loads []Load, availableW float64) (keep, leave []Load, err error) {
	if err := check("power cut", bound{"power", availableW, 0, MostPowerW, "W"}); err != nil {
		return nil, nil, err
	}
	order := slices.Clone(loads)
	for _, l := range order {
		if err := l.valid(); err != nil {
			return nil, nil, err
		}
	}
	slices.SortStableFunc(order, func(a, b Load) int { return cmp.Compare(a.HoldH, b.HoldH) })
	for _, l := range order {
		with := append(slices.Clone(keep), l)
		d, err := Together(with)
		if err != nil {
			return nil, nil, err
		}
		if d.PeakW <= availableW {
			keep = with
		} else {
			leave = append(leave, l)
		}
	}
	return keep, leave, nil
}

// GeneratorLKWh is the petrol or diesel of a small generator for a kWh; below a
// third of its power it is the high one or worse. Common practice, no source.
var GeneratorLKWh = Spread{0.35, 0.42, 0.5}

// GeneratorFuelL is the fuel for a steady load, 0 to MostPowerW, over 0 to 8784 h.
//
// Check: 2 kW, 10 h: 7 to 10 L.
func GeneratorFuelL(loadW, hours float64) (Spread, error) {
	if err := check("generator", bound{"load", loadW, 0, MostPowerW, "W"}, bound{"hours", hours, 0, 8784, "h"}); err != nil {
		return Spread{}, err
	}
	return GeneratorLKWh.Scaled(loadW / 1000 * hours), nil
}

// GeneratorHours is how long a tank of 0 to 1e6 L lasts at a load above 0, by the
// high fuel use: what one may count on.
//
// Check: 10 L, 2 kW: 10 h.
func GeneratorHours(tankL, loadW float64) (float64, error) {
	if err := check("generator", bound{"tank", tankL, 0, 1e6, "L"}, bound{"load", loadW, 1, MostPowerW, "W"}); err != nil {
		return 0, err
	}
	return tankL / (GeneratorLKWh.High * loadW / 1000), nil
}

// GeneratorW is the rated power of a generator for a demand: its peak, and the
// running power at no more than 80 % of it. Common practice, no source.
func GeneratorW(d Demand) float64 { return math.Max(d.PeakW, d.RunningW/0.8) }
