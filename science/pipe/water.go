package pipe

import "math"

// Limits of this package's water.
const (
	LowestC  = 0.0
	HighestC = 45.0
)

// GravityMS2 is the standard acceleration of falling.
const GravityMS2 = 9.80665

// Water is what flow needs to know of water of one temperature at 1 atm. It is
// worked out once and handed to what reckons many times.
type Water struct {
	TempC       float64
	DensityKgM3 float64
	KinematicM2 float64 // kinematic viscosity, m²/s
	VapourKPa   float64
}

// WaterAt returns the water of a temperature of 0 to 45 °C.
func WaterAt(tempC float64) (Water, error) {
	if err := check("water", tempBound(tempC)); err != nil {
		return Water{}, err
	}
	return Water{tempC, densityKgM3(tempC), viscosityPaS(tempC) / densityKgM3(tempC), vapourKPa(tempC)}, nil
}

// WaterDensityKgM3 is the density of pure water at 1 atm, 0 to 45 °C. The salts
// of a fish tank, up to 1 g/L, add less than 0.1 %.
//
// Source: [kell-1975]. Check: 20 °C gives 998.2041.
func WaterDensityKgM3(tempC float64) (float64, error) {
	if err := check("density of water", tempBound(tempC)); err != nil {
		return 0, err
	}
	return densityKgM3(tempC), nil
}

func densityKgM3(t float64) float64 {
	return (999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+t*(105.56302e-9+t*-280.54253e-12))))) / (1 + 16.879850e-3*t)
}

// WaterViscosityPaS is the dynamic viscosity of pure water at 0.1 MPa, 0 to 45 °C.
//
// Source: [iapws-viscosity]. Check: 25 °C gives 8.89997e-4.
func WaterViscosityPaS(tempC float64) (float64, error) {
	if err := check("viscosity of water", tempBound(tempC)); err != nil {
		return 0, err
	}
	return viscosityPaS(tempC), nil
}

func viscosityPaS(tempC float64) float64 {
	u := (tempC + 273.15) / 300
	return 1e-6 * (280.68*math.Pow(u, -1.9) + 511.45*math.Pow(u, -7.7) + 61.131*math.Pow(u, -19.6) + 0.45903*math.Pow(u, -40))
}

// KinematicM2S is the kinematic viscosity of pure water in m²/s, 0 to 45 °C: the
// dynamic one over the density. Check: 20 °C gives 1.0034e-6.
func KinematicM2S(tempC float64) (float64, error) {
	w, err := WaterAt(tempC)
	return w.KinematicM2, err
}

// VapourKPa is the pressure at which water of 0 to 45 °C boils.
//
// Source: [wagner-pruss]. Check: 20 °C gives 2.33919. Package air has the
// pressure of vapour in air by another formula, within 0.03 %.
func VapourKPa(tempC float64) (float64, error) {
	if err := check("vapour pressure", tempBound(tempC)); err != nil {
		return 0, err
	}
	return vapourKPa(tempC), nil
}

func vapourKPa(tempC float64) float64 {
	const criticalK, criticalKPa = 647.096, 22064
	tK := tempC + 273.15
	v := 1 - tK/criticalK
	root := math.Sqrt(v)
	v3 := v * v * v
	sum := -7.85951783*v + 1.84408259*v*root - 11.7866497*v3 + 22.6807411*v3*root - 15.9618719*v3*v + 1.80122502*v3*v3*v*root
	return criticalKPa * math.Exp(criticalK/tK*sum)
}
