package air

import (
	"errors"
	"fmt"
	"math"

	"tidebed/quantity"
)

// Constants of air inside a house.
const (
	// DensityKgM3 is the density taken for the air of a house: that of 20 °C at
	// sea level. Air of 0 °C is 7 % heavier.
	DensityKgM3 = 1.2
	// CpJkgK is the heat a kilogram of air takes up per kelvin, [ashrae-fundamentals].
	CpJkgK = 1006.0
	// VolumeHeatJm3K is the heat a cubic metre of that air takes up per kelvin.
	VolumeHeatJm3K = 1207.0

	// CanopyExtinction is how fast leaves stop the light that warms them, per
	// leaf area index; from memory, [stanghellini-1987].
	CanopyExtinction = 0.7
	// AerialFansSM and AerialStillSM are the resistance of the air round leaves
	// with fans, and at its highest in still air: 100, and 200 to 300.
	// [stanghellini-1987]; [graamans-2017] takes 100 for lettuce; from memory.
	AerialFansSM  = 100.0
	AerialStillSM = 300.0
	// TomatoStomatalSM is the least resistance of tomato leaves, [stanghellini-1987];
	// from memory.
	TomatoStomatalSM = 82.0
	// NetLightShare is the part of the light caught that warms the leaves: in the
	// middle of 0.86 to 0.95, from memory, [graamans-2017].
	NetLightShare = 0.9
	// TranspirationDoubt is how far, as a share, the two forms of transpiration
	// lie from one another: figures for people are shown with it.
	TranspirationDoubt = 0.25

	// CondensingFilmWm2K is the heat that moving air brings to a cover from
	// inside, without radiation: in the middle of 3 to 4. From memory.
	CondensingFilmWm2K = 3.5
	// GutterLowShare and GutterHighShare are the part of the water on a cover that
	// gutters catch. Common practice, no source. Keep it off zinc and copper, which
	// kill fish.
	GutterLowShare  = 0.30
	GutterHighShare = 0.60
)

// ErrMoisterOutside says that no flow of outside air dries a room.
var ErrMoisterOutside = errors.New("the air outside holds as much water as the air inside, so no ventilation dries the room; warm the air or take the water out")

// limit is a value with its limits and unit.
type limit struct {
	name      string
	v, lo, hi float64
	unit      string
}

// within refuses the first value outside its limits.
func within(what string, list ...limit) error {
	for i := range list {
		if l := &list[i]; !(l.v >= l.lo && l.v <= l.hi) {
			return fmt.Errorf("%s: %w", what, quantity.InRange(l.name, l.v, l.lo, l.hi, l.unit))
		}
	}
	return nil
}

// Canopy is a crop in a house as one big leaf.
type Canopy struct {
	TempC, RHShare, PressureKPa float64 // of the air: 0 to 50, 0 to 1, 50 to 110
	LeafAreaIndex               float64 // 0 to 12
	NetWm2                      float64 // radiation the leaves keep, per floor, -200 to 1000: CanopyNetWm2
	StomatalSM                  float64 // resistance of the leaves, 10 to 5000 s/m; 0 for a wet surface such as a capillary mat
	AerialSM                    float64 // resistance of the air round them, 10 to 1000 s/m
}

// LatentWm2 is the heat in W per m² of floor that goes off with the water of
// the leaves; negative is dew on them. It comes from the sun and the air, not
// from the tanks.
//
// The big leaf has the air's temperature, so that the heat it radiates to a
// cold cover is left out: on clear nights it gives a little too much.
//
// Source: Penman and Monteith as in [stanghellini-1987], from memory.
// Check: 22 °C, 70 %, index 3, 150 W/m², 216 and 100 s/m: 141.4.
func (c Canopy) LatentWm2() (float64, error) {
	stomata := limit{"resistance of the leaves", c.StomatalSM, 10, 5000, "s/m"}
	if c.StomatalSM == 0 {
		stomata.lo = 0
	}
	if err := within("transpiration",
		limit{"air temperature", c.TempC, 0, 50, "°C"},
		limit{"relative humidity as a share", c.RHShare, 0, 1, ""},
		limit{"air pressure", c.PressureKPa, LowestKPa, HighestKPa, "kPa"},
		limit{"leaf area index", c.LeafAreaIndex, 0, 12, ""},
		limit{"net radiation", c.NetWm2, -200, 1000, "W/m2"},
		stomata,
		limit{"resistance of the air", c.AerialSM, 10, 1000, "s/m"},
	); err != nil {
		return 0, err
	}
	const step = 0.05 // K, for the slope of the saturation pressure
	slope := (SaturationKPa(c.TempC+step) - SaturationKPa(c.TempC-step)) / (2 * step)
	gamma := PsychrometricFAO(c.PressureKPa)
	deficit := SaturationKPa(c.TempC) * (1 - c.RHShare)
	return (slope*c.NetWm2 + c.LeafAreaIndex*VolumeHeatJm3K*deficit/c.AerialSM) /
		(slope + gamma*(1+c.StomatalSM/c.AerialSM)), nil
}

// CanopyNetWm2 is the radiation in W per m² of floor that warms the leaves, from
// the shortwave light of sun and lamps on them (0 to 1500 W/m²), their leaf area
// index (0 to 12) and the share kept of what they catch (0.5 to 1: NetLightShare).
//
// Source: [stanghellini-1987], from memory.
func CanopyNetWm2(lightWm2, leafAreaIndex, keptShare float64) (float64, error) {
	if err := within("radiation on leaves",
		limit{"light", lightWm2, 0, 1500, "W/m2"},
		limit{"leaf area index", leafAreaIndex, 0, 12, ""},
		limit{"share kept", keptShare, 0.5, 1, ""},
	); err != nil {
		return 0, err
	}
	return keptShare * lightWm2 * -math.Expm1(-CanopyExtinction*leafAreaIndex), nil
}

// LettuceStomatalSM is the resistance of lettuce leaves in s/m by the photon
// flux on them, 0 to 3000 µmol/m²/s: 450 in the dark.
//
// Source: [graamans-2017], from memory. Check: 200: 255; 600: 157.5.
func LettuceStomatalSM(fluxUmolM2S float64) (float64, error) {
	if err := within("resistance of lettuce", limit{"photon flux", fluxUmolM2S, 0, 3000, "umol/m2/s"}); err != nil {
		return 0, err
	}
	return 60 * (1500 + fluxUmolM2S) / (200 + fluxUmolM2S), nil
}

// BailleCrop are the constants of a crop in BailleLatentWm2.
type BailleCrop struct {
	SunShare  float64 // of the light caught that goes off with water, 0.3 to 0.6 usual
	DryWm2KPa float64 // by dryness of the air, per leaf area index: 10 to 30 by day, half of it by night
}

// BailleMiddle is a crop in the middle of both spans, by day.
var BailleMiddle = BailleCrop{SunShare: 0.45, DryWm2KPa: 20}

// BailleLatentWm2 is the same as Canopy.LatentWm2 by another, simpler form; the
// two differ by about TranspirationDoubt.
//
//	lightWm2       shortwave light on the crop, 0 to 1500
//	deficitKPa     by which the air's vapour pressure falls short, 0 to 10
//	leafAreaIndex  0 to 12
//
// Source: [baille-1994], from memory. Check: 167 W/m², 0.793 kPa, index 3: 110.
func BailleLatentWm2(crop BailleCrop, lightWm2, deficitKPa, leafAreaIndex float64) (float64, error) {
	if err := within("transpiration by Baille",
		limit{"share of the sun", crop.SunShare, 0, 1, ""},
		limit{"factor of dryness", crop.DryWm2KPa, 0, 100, "W/m2 and kPa"},
		limit{"light", lightWm2, 0, 1500, "W/m2"},
		limit{"vapour pressure deficit", deficitKPa, 0, 10, "kPa"},
		limit{"leaf area index", leafAreaIndex, 0, 12, ""},
	); err != nil {
		return 0, err
	}
	const extinction = 0.6 // from memory, [baille-1994]
	return crop.SunShare*lightWm2*-math.Expm1(-extinction*leafAreaIndex) + crop.DryWm2KPa*leafAreaIndex*deficitKPa, nil
}

// LatentMmH is the water in mm an hour (L per m² and hour) that takes a latent
// heat in W/m² with it at a temperature of 0 to 60 °C. Check: 141.4 at 22 °C: 0.208.
func LatentMmH(latentWm2, tempC float64) float64 { return 3.6 * latentWm2 / LatentKJkg(tempC) }

// SaturatedRatio is the humidity ratio of saturated air, over ice below 0.01 °C,
// in kg per kg dry air: FromRH's limits, for inner loops unchecked.
func SaturatedRatio(tempC, pressureKPa float64) float64 {
	es := SaturationKPa(tempC)
	return vapourRatio * es / (pressureKPa - es)
}

// CondensationKgM2H is the water in kg that a m² of cold surface takes out of
// the room's air in an hour; 0 on a surface not colder than the dew point.
//
//	surfaceC   -60 to 60
//	filmWm2K   heat that moving air brings to it, 0.5 to 50: CondensingFilmWm2K
//
// Source: the likeness of heat and vapour carried by moving air, Lewis number 1.
// Check: 18 °C and 85 % on 9 °C: 0.048.
func CondensationKgM2H(room Moist, surfaceC, filmWm2K float64) (float64, error) {
	if err := within("condensation",
		limit{"surface temperature", surfaceC, -60, 60, "°C"},
		limit{"film", filmWm2K, 0.5, 50, "W/m2K"},
		limit{"air pressure of the room", room.PressureKPa, LowestKPa, HighestKPa, "kPa"},
		limit{"humidity ratio of the room", room.HumidityRatio, 0, 1, "kg/kg"},
	); err != nil {
		return 0, err
	}
	return max(0, 3600*filmWm2K/CpJkgK*(room.HumidityRatio-SaturatedRatio(surfaceC, room.PressureKPa))), nil
}

// DryingFlow is the outside air that carries a room's water out and the heat
// that it costs to warm it.
type DryingFlow struct{ FlowM3S, HeatW float64 }

// VentForMoisture is the flow of outside air that holds a room's air as it is
// while waterKgH (0 to 1e5) evaporates in it. Air outside at least as moist is
// an error wrapping ErrMoisterOutside. With air at DensityKgM3 it is a few per
// cent off in cold.
//
// Check: 18 °C 85 % inside, 2 °C 80 % outside, 5 kg/h: 0.1549 m³/s and 2.99 kW.
func VentForMoisture(inside, outside Moist, waterKgH float64) (DryingFlow, error) {
	if err := within("ventilation for moisture",
		limit{"water", waterKgH, 0, 1e5, "kg/h"},
		limit{"air pressure", inside.PressureKPa, LowestKPa, HighestKPa, "kPa"},
		limit{"humidity ratio inside", inside.HumidityRatio, 0, 1, "kg/kg"},
		limit{"humidity ratio outside", outside.HumidityRatio, 0, 1, "kg/kg"},
		limit{"temperature inside", inside.TempC, LowestTempC, HighestTempC, "°C"},
		limit{"temperature outside", outside.TempC, LowestTempC, HighestTempC, "°C"},
	); err != nil {
		return DryingFlow{}, err
	}
	drier := inside.HumidityRatio - outside.HumidityRatio
	if !(drier > 0) {
		return DryingFlow{}, fmt.Errorf("ventilation for moisture: %w", ErrMoisterOutside)
	}
	thin := inside.PressureKPa / StandardKPa
	flow := waterKgH / 3600 / (DensityKgM3 * thin * drier)
	return DryingFlow{FlowM3S: flow, HeatW: VolumeHeatJm3K * thin * flow * (inside.TempC - outside.TempC)}, nil
}
