package siphon

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/pipe"
)

// Calibration is what a measured drain time says of a siphon.
type Calibration struct {
	Siphon      Siphon  // the one given, with the K of its Pipe that gives the time
	KTotal      float64 // all losses with friction, on the standpipe's velocity: 2 g a² / C²
	CoefM25S    float64 // C of flow = C √(level - outlet), m^2.5/s
	StandardMul float64 // measured time over that of the siphon as given
}

// mostCalibratedK is the largest loss factor that Calibrate gives.
const mostCalibratedK = 1e4

// Calibrate finds the losses of a siphon from the time in which it drained its
// bed with the pump off.
//
//	tempC        of the water, 0 to 45
//	fromM, toM   levels between which it was timed, above the outlet; toM not below the break
//	seconds      measured
//
// A time shorter than that of a pipe without fittings is refused, and one so
// long that the loss factors would exceed 10 000: the area, the porosity or the
// bore are then not as given, or something sticks in the pipe.
func Calibrate(b Bed, s Siphon, tempC, fromM, toM, seconds float64) (Calibration, error) {
	k, err := New(b, s, tempC)
	if err != nil {
		return Calibration{}, err
	}
	if err := inRange("calibration", "level at the end", toM, s.BreakM, fromM-1e-3, "m"); err != nil {
		return Calibration{}, err
	}
	if err := inRange("calibration", "time", seconds, 0.1, 1e6, "s"); err != nil {
		return Calibration{}, err
	}
	standard, err := k.DrainS(fromM, toM, 0)
	if err != nil {
		return Calibration{}, fmt.Errorf("calibration: %w", err)
	}
	with := func(lossK float64) float64 {
		k.siphon.Pipe.K = lossK
		t, _ := k.running(0, 1, math.Log(k.FullM3s(fromM)), math.Log(k.FullM3s(toM)))
		return t
	}
	lo, hi := 0.0, 1.0
	if least := with(0); seconds < least {
		return Calibration{}, fmt.Errorf("calibration: time %g s: %w: the pipe without any fitting takes %.3g s; measure the bed, its drainable porosity and the bore again", seconds, quantity.ErrRange, least)
	}
	for with(hi) < seconds {
		lo, hi = hi, 2*hi
		if hi > mostCalibratedK {
			return Calibration{}, fmt.Errorf("calibration: time %g s: %w: no siphon of this bore takes so long; look for what sticks in it, measure the bed again", seconds, quantity.ErrRange)
		}
	}
	for range 200 {
		middle := (lo + hi) / 2
		if middle <= lo || middle >= hi {
			break
		}
		if with(middle) < seconds {
			lo = middle
		} else {
			hi = middle
		}
	}
	s.Pipe.K = hi
	c := 2 * b.FreeM2() * (math.Sqrt(fromM-s.OutletM) - math.Sqrt(toM-s.OutletM)) / seconds
	a := s.Pipe.AreaM2()
	return Calibration{Siphon: s, KTotal: 2 * pipe.GravityMS2 * a * a / (c * c), CoefM25S: c, StandardMul: seconds / standard}, nil
}

// CoefM25S is the C of flow = C √(level - outlet) at a level above the outlet,
// m^2.5/s.
func (k *Works) CoefM25S(levelM float64) (float64, error) {
	if err := inRange("siphon", "level", levelM, k.siphon.OutletM+1e-4, 20, "m"); err != nil {
		return 0, err
	}
	return k.FullM3s(levelM) / math.Sqrt(levelM-k.siphon.OutletM), nil
}

// BucketM3s is the flow that fills a bucket in some seconds: an inflow, or the
// least one at which a siphon started.
//
//	volumeM3  above 0 to 10
//	seconds   0.1 to 1e5
func BucketM3s(volumeM3, seconds float64) (float64, error) {
	if err := inRange("bucket", "volume", volumeM3, 1e-6, 10, "m3"); err != nil {
		return 0, err
	}
	if err := inRange("bucket", "time", seconds, 0.1, 1e5, "s"); err != nil {
		return 0, err
	}
	return volumeM3 / seconds, nil
}

// Drainable is the drainable porosity of a bed from the water that ran out of
// it between two levels.
//
//	drainedM3   measured
//	areaM2      of the bed, guardM2 of it open water within the guard
//	fromM, toM  levels, fromM above toM
func Drainable(drainedM3, areaM2, guardM2, fromM, toM float64) (float64, error) {
	if err := (Bed{AreaM2: areaM2, Drainable: 0.5, GuardM2: guardM2, RimM: 20}).Check(); err != nil {
		return 0, err
	}
	if err := inRange("drainable porosity", "level at the start", fromM, 0, 20, "m"); err != nil {
		return 0, err
	}
	if err := inRange("drainable porosity", "level at the end", toM, 0, fromM-1e-3, "m"); err != nil {
		return 0, err
	}
	if guardM2 >= areaM2 {
		return 0, fmt.Errorf("drainable porosity: area of the guard %g m2: %w: it must be less than the bed's, %g m2", guardM2, quantity.ErrRange, areaM2)
	}
	share := (drainedM3/(fromM-toM) - guardM2) / (areaM2 - guardM2)
	if err := inRange("drainable porosity", "what ran out as a share of the media", share, 0.01, 0.99, ""); err != nil {
		return 0, err
	}
	return share, nil
}

// PoreLeft is the drainable porosity that roots and solids leave: they fill it
// over months, so measure again with Drainable.
//
//	clean     drainable porosity of the clean media, 0.01 to 0.99
//	mediaM3   volume of the media
//	filledM3  of roots and settled solids with the water they hold
//
// Less than 0.01 left is refused: the bed is clogged.
func PoreLeft(clean, mediaM3, filledM3 float64) (float64, error) {
	if err := inRange("pore space", "drainable porosity", clean, 0.01, 0.99, ""); err != nil {
		return 0, err
	}
	if err := inRange("pore space", "volume of the media", mediaM3, 1e-4, 1e5, "m3"); err != nil {
		return 0, err
	}
	if err := inRange("pore space", "volume of roots and solids", filledM3, 0, (clean-0.01)*mediaM3, "m3"); err != nil {
		return 0, err
	}
	return clean - filledM3/mediaM3, nil
}
