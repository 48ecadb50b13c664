package evidence

import (
	"context"
	"math"

	"tidebed/science/pipe"
)

func init() {
	for name, f := range map[string]function{
		"water-density":   ofNumbers(func(tempC, _, _ float64) (float64, error) { return pipe.WaterDensityKgM3(tempC) }, "temp", "", ""),
		"water-viscosity": ofNumbers(func(tempC, _, _ float64) (float64, error) { return pipe.WaterViscosityPaS(tempC) }, "temp", "", ""),
		"water-vapour": ofNumbers(func(tempC, _, _ float64) (float64, error) {
			kPa, err := pipe.VapourKPa(tempC)
			return 1000 * kPa, err
		}, "temp", "", ""),
		"friction-smooth":    friction(pipe.Smooth),
		"friction-colebrook": friction(pipe.ByColebrook),
		"haaland":            ofNumbers(func(re, rel, _ float64) (float64, error) { return pipe.Haaland(re, rel) }, "re", "roughness", ""),
		"overflow-froude": ofNumbers(func(flowM3H, diameterM, _ float64) (float64, error) {
			limit, err := pipe.SelfVentingM3s(diameterM)
			return 0.31 * flowM3H / 3600 / limit, err
		}, "flow", "diameter", ""),
		"part-full-flow":     partFull(func(flow, _ float64) float64 { return flow }),
		"part-full-velocity": partFull(func(_, velocity float64) float64 { return velocity }),
		"fitting": func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
			f, err := pipe.LookupFitting(in["name"])
			return f.K, err
		},
		"iron-pipe-friction": ironPipe(func(f, _ float64) float64 { return f }),
		"iron-pipe-head":     ironPipe(func(_, headM float64) float64 { return headM }),
		"pumping-cost":       pumpingCost,
		"npsh-feet":          npshFeet,
		"rough-drain":        roughDrain,
		"pump-speed":         pumpSpeed,
	} {
		functions[name] = f
	}
}

func friction(method pipe.Method) function {
	return ofNumbers(func(re, rel, _ float64) (float64, error) { return pipe.Friction(re, rel, method) }, "re", "roughness", "")
}

// partFull is the flow or velocity of a drain filled to a share of its diameter,
// to that of the half full one.
func partFull(which func(flow, velocity float64) float64) function {
	return ofNumbers(func(fill, _, _ float64) (float64, error) {
		q, v, err := pipe.ManningPartFull(0.1, 0.01, pipe.DefaultManning, fill)
		if err != nil {
			return 0, err
		}
		half, halfMS, err := pipe.ManningHalfFull(0.1, 0.01, pipe.DefaultManning)
		return which(q, v) / which(half, halfMS), err
	}, "fill", "", "")
}

// ironPipe is the friction factor, or the head lost, of 0.2 m³/s of an oil of
// 1e-5 m²/s in a rough pipe, by Colebrook and White.
func ironPipe(which func(f, headM float64) float64) function {
	return ofNumbers(func(diameterM, lengthM, roughnessM float64) (float64, error) {
		v := 0.2 / pipe.CircleM2(diameterM)
		f, err := pipe.Friction(v*diameterM/1e-5, roughnessM/diameterM, pipe.ByColebrook)
		return which(f, f*lengthM/diameterM*v*v/(2*pipe.GravityMS2)), err
	}, "diameter", "length", "roughness")
}

const (
	footM, gpmM3s, psiKPa, lbFt3 = 0.3048, 6.30901964e-5, 6.894757293, 16.01846337
)

// pumpingCost is the cost of a year of 8000 h of pumping water of 62.364 lb/ft³, at
// 0.12 a kWh and the efficiency of pump, drive and motor.
func pumpingCost(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(headFt, flowGpm, efficiency float64) (float64, error) {
		hydraulicW, err := pipe.HydraulicW(flowGpm*gpmM3s, headFt*footM, 20)
		if err != nil {
			return 0, err
		}
		density, err := pipe.WaterDensityKgM3(20)
		if err != nil {
			return 0, err
		}
		kWh, err := pipe.EnergyKWh(hydraulicW*62.364*lbFt3/density/efficiency, 8000)
		return kWh * 0.12, err
	}, "head", "flow", "efficiency")(ctx, b, in)
}

// npshFeet is the suction head in feet of a tank at 5 psi above the air's 14.696
// with water of 62.364 lb/ft³.
func npshFeet(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(vapourPsi, heightFt, lossFt float64) (float64, error) {
		m, err := pipe.NPSHOf((5+14.696)*psiKPa, vapourPsi*psiKPa, 62.364*lbFt3, heightFt*footM, lossFt*footM)
		return m / footM, err
	}, "vapour", "height", "loss")(ctx, b, in)
}

// roughDrain is the flow in gal/min of water of 1.1e-3 Pa s in a 24 in drain of
// relative roughness 0.00036, by Darcy and Weisbach with the hydraulic diameter.
func roughDrain(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(fill, slope, _ float64) (float64, error) {
		area, wetted, err := pipe.PartFull(24*0.0254, fill)
		if err != nil {
			return 0, err
		}
		hydraulicM, v := 4*area/wetted, 1.0
		for range 50 {
			f, err := pipe.Friction(v*hydraulicM*999/1.1e-3, 0.00036, pipe.ByColebrook)
			if err != nil {
				return 0, err
			}
			v = math.Sqrt(2 * pipe.GravityMS2 * slope * hydraulicM / f)
		}
		return v * area / gpmM3s, nil
	}, "fill", "slope", "")(ctx, b, in)
}

// pumpSpeed is the head at a flow in L/min of a pump of 3.0, 2.75 and 2.10 m at 0,
// 15 and 30 L/min at another speed.
func pumpSpeed(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(ratio, flowLMin, _ float64) (float64, error) {
		c, err := pipe.Fit([]pipe.Point{{HeadM: 3}, {FlowM3s: 15.0 / 60000, HeadM: 2.75}, {FlowM3s: 30.0 / 60000, HeadM: 2.1}})
		if err != nil {
			return 0, err
		}
		c, err = c.AtSpeed(ratio)
		return c.HeadM(flowLMin / 60000), err
	}, "speed", "flow", "")(ctx, b, in)
}
