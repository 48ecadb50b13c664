package evidence

import (
	"context"
	"fmt"
	"maps"

	"tidebed/science/air"
	"tidebed/science/fabric"
)

func init() {
	maps.Copy(functions, map[string]function{
		"cover-figure":  coverFigure,
		"gable-loss":    gableLoss,
		"cover-saving":  coverSaving,
		"sky-cold":      lightFigures(func(n lightInputs) (float64, error) { return fabric.SkyC(n["temp"]) }),
		"second-skin":   lightFigures(func(n lightInputs) (float64, error) { return fabric.UWithSecondSkin(n["outer"], n["inner"]) }),
		"curtain-u":     lightFigures(func(n lightInputs) (float64, error) { return fabric.UWithCurtain(n["u"], n["resistance"]) }),
		"lean-light":    lightFigures(leanLight),
		"canopy-latent": lightFigures(canopyLatent),
		"tank-heat":     tankHeat,
		"house-rise":    lightFigures(houseRise),
		"power-lost":    powerLost,
	})
}

// coverFigure is a figure of the table of covers: u, light or diffuse light.
func coverFigure(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := fabric.LookupCover(in["cover"])
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "u":
		return c.UWm2K.Typical, nil
	case "light":
		return c.ParNormal.Value, nil
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

// gableHouse is a house of 6 × 12 m, 2.2 m at the eave and 3.7 at the ridge, with
// a bare edge of its floor and 0.75 air changes an hour.
func gableHouse(uWm2K float64) (fabric.House, fabric.Skin, error) {
	s, err := fabric.Gable{WidthM: 6, LengthM: 12, EaveM: 2.2, RidgeM: 3.7}.Measure()
	return fabric.House{
		Parts:      []fabric.Part{{AreaM2: s.RoofM2 + s.WallM2, UWm2K: uWm2K}},
		PerimeterM: s.PerimeterM, PerimeterWmK: fabric.PerimeterWmK, VolumeM3: s.VolumeM3, AirChangesH: 0.75,
	}, s, err
}

// gableLoss is a figure of the gable house between two temperatures.
func gableLoss(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	h, s, err := gableHouse(n["u"])
	if err != nil {
		return 0, err
	}
	l, err := h.Loss(n["inside"], n["outside"])
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "skin-area":
		return s.RoofM2 + s.WallM2, nil
	case "volume":
		return s.VolumeM3, nil
	case "skin":
		return l.TransmissionW, nil
	case "leaks":
		return l.InfiltrationW, nil
	case "edge":
		return l.PerimeterW, nil
	case "all":
		return l.TotalW, nil
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

// coverSaving is the share of the gable house's heat that a cover saves, the U
// of either from the table or as a number.
func coverSaving(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	loss := func(key string) (float64, error) {
		u, err := number(in[key])
		if err != nil {
			c, errCover := fabric.LookupCover(in[key])
			if errCover != nil {
				return 0, errCover
			}
			u = c.UWm2K.Typical
		}
		h, _, err := gableHouse(u)
		if err != nil {
			return 0, err
		}
		l, err := h.Loss(12, -12)
		return l.TotalW, err
	}
	before, err := loss("from")
	if err != nil {
		return 0, err
	}
	after, err := loss("to")
	return 1 - after/before, err
}

// leanLight is the part that a single pane passes at an angle over that straight on.
func leanLight(n lightInputs) (float64, error) {
	return fabric.IncidenceFactor(n["angle"], int(n["layers"]))
}

func canopyLatent(n lightInputs) (float64, error) {
	return air.Canopy{
		TempC: n["temp"], RHShare: n["rh"], PressureKPa: air.StandardKPa, LeafAreaIndex: n["lai"],
		NetWm2: n["net"], StomatalSM: n["leaves"], AerialSM: n["air"],
	}.LatentWm2()
}

// tankHeat is a figure of an upright round tank of 1.6 × 1.0 m in foam board; top
// is the U of its surface, 0 for a float cover of the same board.
func tankHeat(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	u, err := fabric.InsulatedUWm2K(n["mm"]/1000, fabric.XPSWmK)
	if err != nil {
		return 0, err
	}
	top := n["top"]
	if top == 0 {
		top = u
	}
	tank, err := fabric.RoundTank(1.6, 1, u, u, top)
	if err != nil {
		return 0, err
	}
	ua, err := tank.UAWK()
	if err != nil {
		return 0, err
	}
	heat, err := fabric.WaterHeatJK(tank.VolumeM3)
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "u":
		return u, nil
	case "ua":
		return ua, nil
	case "tau":
		return fabric.TimeConstantH(heat, ua)
	case "holding":
		return fabric.HoldingW(ua, n["water"], n["air"])
	case "kilowatt":
		return fabric.WarmingKH(1000, heat)
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

func houseRise(n lightInputs) (float64, error) {
	gain, err := fabric.SunW(n["light"], n["through"], n["floor"], n["latent"])
	if err != nil {
		return 0, err
	}
	return fabric.RiseK(gain, n["flow"], n["ua"], air.StandardKPa)
}

// powerLost is the gable house of double film with six tanks, heat off in -12 °C
// at 14 °C with water of 24: hours to frost and to water of 18 °C, or the air and
// the water after "hours". mj is the heat of the air per kelvin in MJ.
func powerLost(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := readLightInputs(in)
	if err != nil {
		return 0, err
	}
	const tankWK, waterJK = 6 * 32.1, 6 * 2.0106 * 4.186e6
	cut := fabric.Cut{AirC: 14, WaterC: 24, OutsideC: -12, HouseWK: 778, TankWK: tankWK, AirJK: n["mj"] * 1e6, WaterJK: waterJK}
	b, err := fabric.Room{OutsideC: -12, HouseWK: 778, TankWK: tankWK, AirJK: cut.AirJK, TankJK: waterJK}.Balance()
	if err != nil {
		return 0, err
	}
	start := []float64{14, 24}
	until := func(node int, limitC float64) (float64, error) {
		h, reached, err := b.Until(start, node, limitC, 1000)
		if err == nil && !reached {
			err = fmt.Errorf("the limit is never reached")
		}
		return h, err
	}
	switch in["figure"] {
	case "rest":
		return cut.AirRestC()
	case "quick-frost":
		l, err := cut.AirTo(0)
		return l.Hours, err
	case "quick-cold":
		l, err := cut.WaterTo(18)
		return l.Hours, err
	case "frost":
		return until(fabric.NodeAir, 0)
	case "cold":
		return until(fabric.NodeTank, 18)
	}
	c, err := b.Step(start, 3600*n["hours"])
	switch {
	case err != nil:
		return 0, err
	case in["figure"] == "air":
		return c.EndC[fabric.NodeAir], nil
	case in["figure"] == "water":
		return c.EndC[fabric.NodeTank], nil
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}
