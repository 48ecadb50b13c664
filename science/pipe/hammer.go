package pipe

import "math"

// Stiffness of water and of walls, Pa. From memory. The walls' are short-term
// values at 20 °C; warm plastic is softer, and its blow weaker.
const (
	WaterBulkPa = 2.2e9
	PVCModulus  = 3.0e9
	PEModulus   = 0.8e9
)

// slowClosing is by how many times the way of the wave to the surface and back a
// valve must take longer than that wave. Common practice, no source.
const slowClosing = 10

// WaveMS is the speed at which a blow runs through the water of a pipe: that of
// sound, slowed by a wall that gives.
//
//	diameterM  inside, 0.0005 to 5
//	wallM      thickness of the wall, above 0 to the diameter
//	modulusPa  of the wall, 1e6 to 1e12: PVCModulus, PEModulus
//	tempC      of the water, 0 to 45
//
// Source: [joukowsky-1898], [korteweg-1878]. Check: 1 in PVC of schedule 40: 570.
func WaveMS(diameterM, wallM, modulusPa, tempC float64) (float64, error) {
	if err := check("water hammer", diameterBound(diameterM), bound{"wall", wallM, 1e-6, diameterM, "m"}, bound{"stiffness of the wall", modulusPa, 1e6, 1e12, "Pa"}, tempBound(tempC)); err != nil {
		return 0, err
	}
	return math.Sqrt(WaterBulkPa/densityKgM3(tempC)) / math.Sqrt(1+WaterBulkPa/modulusPa*diameterM/wallM), nil
}

// Hammer is what stopping the water of a pipe does.
type Hammer struct {
	WaveMS        float64 // speed of the blow
	HeadM         float64 // rise of head when the water is stopped at once
	ReturnS       float64 // until the blow is back from the surface; faster than this is at once
	LeastClosingS float64 // seconds over which to close the valve
}

// HammerOf is the blow when water of a velocity in a pipe of a length up to the
// next open surface is stopped at once, and how slowly to close instead. It
// leaves out air in the water and branches, which soften it, and water that
// parts behind the valve, which can double it.
//
//	velocityMS  0 to 100
//	lengthM     from the valve back to the surface, above 0 to 1e5
//	waveMS      as WaveMS gives it, 1 to 2000
//
// Check: 570 m/s, 1 m/s: 58 m.
func HammerOf(velocityMS, lengthM, waveMS float64) (Hammer, error) {
	if err := check("water hammer", bound{"velocity", velocityMS, 0, 100, "m/s"}, bound{"length", lengthM, 1e-6, MostLengthM, "m"}, bound{"speed of the wave", waveMS, 1, 2000, "m/s"}); err != nil {
		return Hammer{}, err
	}
	back := 2 * lengthM / waveMS
	return Hammer{WaveMS: waveMS, HeadM: waveMS * velocityMS / GravityMS2, ReturnS: back, LeastClosingS: slowClosing * back}, nil
}
