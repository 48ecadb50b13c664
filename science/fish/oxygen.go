package fish

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// CO2PerO2 is the carbon dioxide given off per oxygen breathed, g/g, at a
// respiratory quotient of 1 (fish have 0.8 to 1.0).
//
// Source: 44.01/32.00; Timmons & Ebeling, from memory.
const CO2PerO2 = 1.375

// pacuRoutine lifts the standard rate measured on pacu to a routine one.
// Common practice, no source.
const pacuRoutine = 1.5

// PacuHeatKJDay returns the heat a resting pacu gives off, kJ/d, from 17 to
// 1050 g and 19 to 33 °C.
//
// Source: Aguilar et al. 2017. Check: 500 g at 26 °C 10.69.
func PacuHeatKJDay(weightG, tempC float64) float64 {
	return 0.04643 * math.Pow(weightG/1000, 0.7882) * math.Pow(max(0, tempC), 1.837)
}

// kitchellShape is the temperature curve with a slope of q, its best at toC and
// its end at tmC.
func kitchellShape(q, toC, tmC, tempC float64) float64 {
	if tempC >= tmC {
		return 0
	}
	v := (tmC - tempC) / (tmC - toC)
	z := math.Log(q) * (tmC - toC)
	y := math.Log(q) * (tmC - toC + 2)
	root := 1 + math.Sqrt(1+40/y)
	x := z * z * root * root / 400
	return math.Pow(v, x) * math.Exp(x*(1-v))
}

// routine is the oxygen of fish at rest and about, g per g fish and day.
func (s *Species) routine(weightG, tempC float64) (gPerGDay float64, ok bool) {
	if !(weightG >= 0.001 && weightG <= 20000 && tempC >= -1 && tempC <= 45) {
		return 0, false
	}
	switch s.RespEq {
	case "kitchell":
		return s.RespRA.Amount * math.Pow(weightG, s.RespRB.Amount) * kitchellShape(s.RespRQ.Amount, s.RespRtoC.Amount, s.RespRtmC.Amount, tempC) * s.RespActivity.Amount, true
	case "exp":
		return s.RespRA.Amount * math.Pow(weightG, s.RespRB.Amount) * math.Exp(s.RespRQ.Amount*tempC) * s.RespActivity.Amount, true
	case "pacu":
		return pacuRoutine * PacuHeatKJDay(weightG, tempC) * 1000 / oxycalorificJG / weightG, true
	}
	return 0, false
}

// RoutineOxygenMgKgH returns the oxygen fish of weightG use in water of tempC
// between meals, mg per kg fish and hour. ok is false for species whose row has
// no constants (crustaceans), weights outside 0.001 to 20 000 g and water
// outside -1 to 45 °C.
//
// Source: Kitchell et al. 1977 and the sources of the rows (parameter set of
// Deslauriers et al. 2017); pacu Aguilar et al. 2017, standard rate times 1.5.
// Check: Nile tilapia of 100 g at 28 °C 142.9; rainbow trout of 250 g at 10 °C
// 109.1.
func (s *Species) RoutineOxygenMgKgH(weightG, tempC float64) (mgKgH float64, ok bool) {
	r, ok := s.routine(weightG, tempC)
	return r * 1e6 / 24, ok
}

// spent is the routine rate used for budgets, g per g fish and day. Species
// without constants go by those of the tilapias: common practice, no source.
func (s *Species) spent(weightG, tempC float64) float64 {
	r, ok := s.routine(weightG, tempC)
	if !ok && s.RespEq == "" && weightG >= 0.001 && weightG <= 20000 && tempC >= -1 && tempC <= 45 {
		r = 0.0274 * math.Pow(weightG, -0.348) * kitchellShape(2.3, 37, 41, tempC)
	}
	return r
}

func (f Figure) or(otherwise float64) float64 {
	if f.Known {
		return f.Amount
	}
	return otherwise
}

// FeedingOxygenPerFeed returns the oxygen spent on digesting, g per g of feed
// eaten with feedEnergyJG (0: the species' usual). A species without
// constants goes by a tenth spent on digestion and a fifth not digested.
//
// Check: Nile tilapia, 18 000 J/g: 0.107.
func (s *Species) FeedingOxygenPerFeed(feedEnergyJG float64) float64 {
	energy := s.filled(FeedKind{EnergyJG: feedEnergyJG}).EnergyJG
	return s.SDAShare.or(0.1) * (1 - s.EgestionShare.or(0.2)) * energy / oxycalorificJG
}

// StarvationShareDay returns the share of its weight that a fish without feed
// loses in a day; over days losses compound: weight × exp(-sum). After the
// first weeks about half of it. A species without respiration constants goes by
// the tilapias', one without body energy by 5000 J/g. 0 for arguments outside
// the ranges of RoutineOxygenMgKgH.
//
// Check: catfish of 450 g, 100 days at 10 °C: 9.6 percent; published 9 percent,
// winter feeding study 1974.
func (s *Species) StarvationShareDay(weightG, tempC float64) float64 {
	return s.spent(weightG, tempC) * oxycalorificJG / s.BodyEnergyJPerG.or(5000)
}

// MaintenanceShareDay returns the ration that just holds the weight, a share of
// live weight a day, of a feed with feedEnergyJG (0: the usual), of
// which omnivores use 0.78 and carnivores 0.75. Otherwise as
// StarvationShareDay.
//
// Check: Nile tilapia of 250 g at 27 °C 0.0022; trout of 250 g at 14 °C 0.0030.
func (s *Species) MaintenanceShareDay(weightG, tempC, feedEnergyJG float64) float64 {
	used := 0.78
	if s.carnivore() {
		used = 0.75
	}
	energy := s.filled(FeedKind{EnergyJG: feedEnergyJG}).EnergyJG
	return s.spent(weightG, tempC) * oxycalorificJG / (energy * used)
}

// SuffocationHours returns the hours until oxygen falls from doNowGm3 to
// doCritGm3 (0 to 25 g/m³) once the air stops, with volumeM3 of water over
// biomassKg of fish that breathe mgKgH. Exchange at the surface and the slower
// breathing in poor water are left out, so it is on the safe side; after a meal
// ask with twice the routine rate. 0 when already there.
//
// Errors wrap quantity.ErrRange.
//
// Check: 20 kg/m³ breathing 150 mg/kg/h, 7 to 3 g/m³: 1.33 h.
func SuffocationHours(volumeM3, doNowGm3, doCritGm3, biomassKg, mgKgH float64) (hours float64, err error) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"water", volumeM3, 1e-3, 1e5, "m³"}, {"oxygen now", doNowGm3, 0, 25, "g/m³"}, {"lowest oxygen", doCritGm3, 0, 25, "g/m³"},
		{"fish", biomassKg, 1e-6, 1e7, "kg"}, {"oxygen use", mgKgH, 1e-3, 1e5, "mg/kg/h"},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, fmt.Errorf("time to suffocation: %w", err)
		}
	}
	return max(0, 1000*volumeM3*(doNowGm3-doCritGm3)/(biomassKg*mgKgH)), nil
}

// FedCatfishOxygenMgKgH returns the oxygen of fed channel catfish, mg/kg/h, for
// 1 to 1000 g and 15 to 33 °C; about three times the routine rate.
//
// Errors wrap quantity.ErrRange.
//
// Source: Boyd et al. 1978, from memory. Check: 100 g at 25 °C 530.
func FedCatfishOxygenMgKgH(weightG, tempC float64) (mgKgH float64, err error) {
	if err := inBoth(weightG, 1, 1000, tempC, 15, 33); err != nil {
		return 0, fmt.Errorf("oxygen of fed catfish: %w", err)
	}
	w, t := weightG, tempC
	return 1000 * math.Pow(10, -0.999-0.000957*w+6e-7*w*w+0.0327*t-8.7e-6*t*t+3e-7*w*t), nil
}

// HatcheryTroutOxygenGKgDay returns the oxygen of fed hatchery trout, g per kg
// and day, for 1 to 1000 g and 2 to 20 °C. It jumps by a few percent at 10 °C,
// where its two sets of constants meet.
//
// Errors wrap quantity.ErrRange.
//
// Source: Liao 1971, from memory. Check: 100 g at 10 °C 4.87.
func HatcheryTroutOxygenGKgDay(weightG, tempC float64) (gKgDay float64, err error) {
	if err := inBoth(weightG, 1, 1000, tempC, 2, 20); err != nil {
		return 0, fmt.Errorf("oxygen of hatchery trout: %w", err)
	}
	k, a := 1.9e-6, 3.13
	if tempC > 10 {
		k, a = 3.05e-4, 1.855
	}
	const gPerPound = 453.59237
	return 10 * k * math.Pow(tempC*9/5+32, a) * math.Pow(weightG/gPerPound, -0.138), nil
}

// FedTilapiaOxygenMgKgH returns the oxygen of fed tilapia in tanks, mg/kg/h,
// for 20 to 200 g and 24 to 32 °C only: beyond, the equation turns up again.
//
// Errors wrap quantity.ErrRange.
//
// Source: tilapia oxygen model, Scientific Reports 2021. Check: 100 g at 28 °C
// 227.0.
func FedTilapiaOxygenMgKgH(weightG, tempC float64) (mgKgH float64, err error) {
	if err := inBoth(weightG, 20, 200, tempC, 24, 32); err != nil {
		return 0, fmt.Errorf("oxygen of fed tilapia: %w", err)
	}
	w, t := weightG, tempC
	return 2014.45 + 2.75*w - 165.2*t + 0.007*w*w + 3.93*t*t - 0.21*w*t, nil
}

func inBoth(weightG, loG, hiG, tempC, loC, hiC float64) error {
	if err := quantity.InRange("live weight", weightG, loG, hiG, "g"); err != nil {
		return err
	}
	return quantity.InRange("water temperature", tempC, loC, hiC, "°C")
}
