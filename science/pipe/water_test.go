package pipe_test

import (
	"math"
	"testing"

	"tidebed/science/air"
	"tidebed/science/pipe"
)

// Tanaka et al. 2001, printed values of the density; Kell's must agree within
// 0.005 kg/m³.
func TestDensityAgreesWithTanaka(t *testing.T) {
	for _, row := range []struct{ tempC, want float64 }{{0, 999.8428}, {10, 999.7027}, {15, 999.1026}, {20, 998.2067}, {30, 995.6488}} {
		near(t, "density", must(pipe.WaterDensityKgM3(row.tempC)), row.want, 0.005)
	}
}

// Worked out by another program from Kell, IAPWS and Wagner and Pruss.
func TestWaterGoldens(t *testing.T) {
	for _, row := range []struct{ tempC, densityKgM3, viscosityPaS, kinematicM2S, vapourPa float64 }{
		{5, 999.9638, 1.5182e-3, 1.5183e-6, 872.53},
		{15, 999.0996, 1.1375e-3, 1.1386e-6, 1705.68},
		{20, 998.2041, 1.0016e-3, 1.0034e-6, 2339.19},
		{25, 997.0449, 8.89997e-4, 8.9263e-7, 3169.82},
		{30, 995.6473, 7.9721e-4, 8.0069e-7, 4246.92},
		{40, 992.2158, 6.5273e-4, 6.5785e-7, 7385.11},
	} {
		near(t, "density", must(pipe.WaterDensityKgM3(row.tempC)), row.densityKgM3, 6e-5)
		near(t, "viscosity", must(pipe.WaterViscosityPaS(row.tempC)), row.viscosityPaS, 1e-4*row.viscosityPaS)
		near(t, "kinematic viscosity", must(pipe.KinematicM2S(row.tempC)), row.kinematicM2S, 1e-4*row.kinematicM2S)
		near(t, "vapour pressure", 1000*must(pipe.VapourKPa(row.tempC)), row.vapourPa, 0.006)
	}
}

// Kestin, Sokolov and Wakeham 1978: 1002.0e-6 Pa s at 20 °C, 0.05 % over 0 to 40
// °C; their ratio to 20 °C is from memory. Both agree within 0.1 %.
func TestViscosityAgreesWithKestin(t *testing.T) {
	for tempC := 0.0; tempC <= 40; tempC++ {
		d := 20 - tempC
		want := 1002.0e-6 * math.Pow(10, d/(tempC+96)*(1.2364-1.37e-3*d+5.7e-6*d*d))
		near(t, "viscosity", must(pipe.WaterViscosityPaS(tempC)), want, 1e-3*want)
	}
}

// The pressure of vapour in air is by another formula.
func TestVapourAgreesWithAir(t *testing.T) {
	for tempC := 1.0; tempC <= 40; tempC++ {
		want := must(air.SaturationPressure(tempC))
		near(t, "vapour pressure", must(pipe.VapourKPa(tempC)), want, 3e-4*want)
	}
}

func TestWaterRefusals(t *testing.T) {
	for _, tempC := range []float64{-0.01, 45.01, math.NaN(), math.Inf(1), math.Inf(-1)} {
		for name, f := range map[string]func(float64) (float64, error){
			"density": pipe.WaterDensityKgM3, "viscosity": pipe.WaterViscosityPaS, "kinematic viscosity": pipe.KinematicM2S, "vapour": pipe.VapourKPa,
		} {
			_, err := f(tempC)
			refused(t, name, err)
		}
	}
}
