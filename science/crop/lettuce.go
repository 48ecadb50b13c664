package crop

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// The bench of cornell-cea: young plants stand close from day 11 and wide from
// day 21 after sowing. Dry mass at the start and q are the design's own fit.
const (
	benchFromDay   = 11
	benchSpaceDay  = 21
	benchClosePerM = 97.0 // plants/m²
	benchWidePerM  = 38.0
	benchStartG    = 0.04  // g dry matter a plant
	benchQ         = 0.028 // m²/g
	benchShoot     = 0.90  // of all dry matter
	benchDryShare  = 0.045 // dry matter of the shoot
)

func benchRate(dliMolM2, tempC, co2PPM float64) (float64, error) {
	if !(dliMolM2 >= 0 && dliMolM2 <= MostDLIMolM2) {
		return 0, fmt.Errorf("lettuce bench: light of %g mol/m²/d is not within 0 to %d: %w", dliMolM2, MostDLIMolM2, quantity.ErrRange)
	}
	if !(tempC >= -20 && tempC <= 60) {
		return 0, fmt.Errorf("lettuce bench: %g °C is not within -20 to 60 °C: %w", tempC, quantity.ErrRange)
	}
	if !(co2PPM > 0 && co2PPM <= 1e6) {
		return 0, fmt.Errorf("lettuce bench: %g ppm of carbon dioxide is not above 0: %w", co2PPM, quantity.ErrRange)
	}
	c, err := Lookup("lettuce_butterhead")
	if err != nil {
		return 0, err
	}
	return c.ClosedStand(dliMolM2) * c.TemperatureFactor(tempC) * CO2Factor(c.Photosynthesis, co2PPM), nil
}

// LettuceDays returns the days from sowing to a head of massG fresh on a bench
// in steady light, temperature and carbon dioxide: plants of 0.04 g dry matter
// on day 11 at 97/m², from day 21 at 38/m², q 0.028, shoot 0.90 of the dry
// matter with 4.5 % dry matter. ok is false where nothing grows.
//
// Errors: light outside 0 to 65 mol/m²/d, temperature outside -20 to 60 °C,
// carbon dioxide or mass not above 0, mass above 1000 g.
//
// Check: 17 mol, 1000 ppm, 150 g: 34.7 days; cornell-cea prints 35 for 142 g.
func LettuceDays(dliMolM2, tempC, co2PPM, massG float64) (days float64, ok bool, err error) {
	rate, err := benchRate(dliMolM2, tempC, co2PPM)
	if err != nil {
		return 0, false, err
	}
	if !(massG > 0 && massG <= 1000) {
		return 0, false, fmt.Errorf("lettuce bench: a head of %g g is not within 0 to 1000 g: %w", massG, quantity.ErrRange)
	}
	if rate <= 0 {
		return 0, false, nil
	}
	plantG := massG * benchDryShare / benchShoot
	if plantG <= benchStartG {
		return benchFromDay, true, nil
	}
	start := benchStartG * benchClosePerM
	early := EffectiveLight(start, plantG*benchClosePerM, benchQ) / rate
	if early <= benchSpaceDay-benchFromDay {
		return benchFromDay + early, true, nil
	}
	spaced := Respaced(StandGrowth(start, benchQ, (benchSpaceDay-benchFromDay)*rate), benchClosePerM, benchWidePerM)
	return benchSpaceDay + EffectiveLight(spaced, plantG*benchWidePerM, benchQ)/rate, true, nil
}

// LettuceMassG returns the fresh mass in g of a head of the bench of
// LettuceDays, day days after sowing; errors as there, and days before day 11
// are refused.
//
// Check: 17 mol, 1000 ppm, day 35: 153 g; 400 ppm: 101 g.
func LettuceMassG(dliMolM2, tempC, co2PPM, day float64) (float64, error) {
	rate, err := benchRate(dliMolM2, tempC, co2PPM)
	if err != nil {
		return 0, err
	}
	if !(day >= benchFromDay && day <= 1000) {
		return 0, fmt.Errorf("lettuce bench: day %g is not within %d to 1000: %w", day, benchFromDay, quantity.ErrRange)
	}
	perM, w := benchClosePerM, StandGrowth(benchStartG*benchClosePerM, benchQ, (min(day, benchSpaceDay)-benchFromDay)*rate)
	if day > benchSpaceDay {
		w = StandGrowth(Respaced(w, perM, benchWidePerM), benchQ, (day-benchSpaceDay)*rate)
		perM = benchWidePerM
	}
	return w / perM * benchShoot / benchDryShare, nil
}

// Respaced returns the dry matter in g/m² of a stand of w g/m² when its plants
// are set from one density to another, plants/m².
func Respaced(w, fromPerM2, toPerM2 float64) float64 { return w * toPerM2 / fromPerM2 }

// VanHenten is lettuce as two stores of dry matter, g/m². It is the second
// opinion on LettuceDays. Valid from 5 to 40 °C.
//
// Source: vanhenten-1994; the constants are from memory.
type VanHenten struct {
	FreeGM2      float64 // sugars and starch, not yet built in
	StructureGM2 float64
	RootShare    float64 // of the structure: 0.15 in soil, 0.07 in water
}

// VanHentenPhotosynthesis returns the gross uptake of carbon dioxide in g/m²/s
// of a canopy that takes intercepted of the light, under parWM2 of
// photosynthetic radiation, at tempC and a mole fraction in ppm. Where the
// leaves' conductance is spent (below about 5 °C and above 40 °C) it is 0.
//
// Check: full cover, 100 W/m², 20 °C, 400 ppm: 0.592 mg/m²/s.
func VanHentenPhotosynthesis(intercepted, parWM2, tempC, ppm float64) float64 {
	compensation := 40 * math.Pow(2, (tempC-20)/10)
	leaf := -1.32e-5*tempC*tempC + 5.94e-4*tempC - 2.64e-3 // m/s
	if !(ppm > compensation && leaf > 0 && parWM2 > 0 && intercepted > 0) {
		return 0
	}
	conductance := 1 / (1/0.007 + 1/0.005 + 1/leaf)
	const gramsPerPPM = 1.83e-3
	light := 17e-6 * (ppm - compensation) / (ppm + 2*compensation) * parWM2
	inflow := conductance * gramsPerPPM * (ppm - compensation)
	return intercepted * light * inflow / (light + inflow)
}

// slopes are the changes of the two stores, g/m²/s.
func (v VanHenten) slopes(parWM2, tempC, ppm float64) (free, structure float64) {
	if v.FreeGM2+v.StructureGM2 <= 0 {
		return 0, 0
	}
	shoot := (1 - v.RootShare) * v.StructureGM2
	p := VanHentenPhotosynthesis(-math.Expm1(-0.9*0.075*shoot), parWM2, tempC, ppm)
	growth := 5e-6 * v.FreeGM2 / (v.StructureGM2 + v.FreeGM2) * math.Pow(1.6, (tempC-20)/10) * v.StructureGM2
	upkeep := (3.47e-7*shoot + 1.16e-7*v.RootShare*v.StructureGM2) * math.Pow(2, (tempC-25)/10)
	return 0.68*p - growth - upkeep - 0.2/0.8*growth, growth
}

// After returns the stores after hours of steady conditions, by the classical
// fourth-order rule in steps of ten minutes.
//
// Errors: stores not above 0, a root share outside 0 to 1, temperature outside
// 5 to 40 °C, radiation outside 0 to 1000 W/m², ppm not above 0, hours below 0
// or above ten years.
func (v VanHenten) After(hours, parWM2, tempC, ppm float64) (VanHenten, error) {
	switch {
	case !(v.FreeGM2 > 0 && v.StructureGM2 > 0 && v.RootShare >= 0 && v.RootShare < 1):
		return v, fmt.Errorf("lettuce of two stores: %g and %g g/m² with root share %g: stores must be above 0, the share 0 to 1: %w", v.FreeGM2, v.StructureGM2, v.RootShare, quantity.ErrRange)
	case !(tempC >= 5 && tempC <= 40):
		return v, fmt.Errorf("lettuce of two stores: %g °C is not within 5 to 40 °C: %w", tempC, quantity.ErrRange)
	case !(parWM2 >= 0 && parWM2 <= 1000 && ppm > 0 && ppm <= 1e6 && hours >= 0 && hours <= 10*8766):
		return v, fmt.Errorf("lettuce of two stores: %g W/m², %g ppm, %g h: radiation 0 to 1000, carbon dioxide above 0, at most ten years: %w", parWM2, ppm, hours, quantity.ErrRange)
	}
	steps := int(math.Ceil(hours * 6))
	if steps == 0 {
		return v, nil
	}
	dt := hours * 3600 / float64(steps)
	at := func(free, structure, by float64) (float64, float64) {
		w := v
		w.FreeGM2, w.StructureGM2 = v.FreeGM2+by*free, v.StructureGM2+by*structure
		return w.slopes(parWM2, tempC, ppm)
	}
	for range steps {
		f1, s1 := v.slopes(parWM2, tempC, ppm)
		f2, s2 := at(f1, s1, dt/2)
		f3, s3 := at(f2, s2, dt/2)
		f4, s4 := at(f3, s3, dt)
		v.FreeGM2 = max(0, v.FreeGM2+dt*(f1+2*f2+2*f3+f4)/6)
		v.StructureGM2 += dt * (s1 + 2*s2 + 2*s3 + s4) / 6
	}
	return v, nil
}
