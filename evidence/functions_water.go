package evidence

import (
	"context"
	"fmt"
	"maps"
	"math"

	"tidebed/science/water"
)

func init() {
	maps.Copy(functions, map[string]function{
		"log-k": logK, "nitrifier-growth": nitrifierGrowth,
		"nitrification-oxygen": func(context.Context, *bench, map[string]string) (float64, error) {
			w := water.Habitat{TempC: 20, PHFactor: 1, SubstrateGm3: 1, DOGm3: 7, AlkEqM3: 2}
			a, n := water.AmmoniaOxidisers(), water.NitriteOxidisers()
			ra, rn := a.Rate(1, w), n.Rate(1, w)
			return ra.OxygenGDay/ra.NGDay + rn.OxygenGDay/rn.NGDay, nil
		},
		"nitrification-alkalinity": func(context.Context, *bench, map[string]string) (float64, error) {
			eq, _, err := water.Nitritation.Change(1)
			return -eq * water.CaCO3PerN, err
		},
		"ph-at-air": ofNumbers(func(tempC, alkEqM3, ppm float64) (float64, error) {
			e, err := water.NewEquilibria(tempC, 0)
			if err != nil {
				return 0, err
			}
			return e.PHAtCO2(water.Solutes{AlkEqM3: alkEqM3}, e.CO2OfAir(ppm*1e-6), 7)
		}, "temp", "alkalinity", "ppm"),
		"calcite": ofNumbers(func(ph, alkGm3, calciumGm3 float64) (float64, error) {
			e, err := water.NewEquilibria(25, 0.01)
			if err != nil {
				return 0, err
			}
			return e.CalciteIndex(ph, water.Solutes{AlkEqM3: alkGm3 / water.CaCO3PerEq}, calciumGm3)
		}, "ph", "alkalinity", "calcium"),
		"gameson": ofNumbers(func(dropM, tempC, a float64) (float64, error) { return water.GamesonRatio(dropM, tempC, a, 1) }, "drop", "temp", "a"),
		"nakasone": ofNumbers(func(dropM, tempC, flowM2H float64) (float64, error) {
			return water.NakasoneRatio(dropM, tempC, flowM2H, 0.3)
		}, "drop", "temp", "flow"),
		"stripping": ofNumbers(func(airPerWater, tempC, _ float64) (float64, error) { return water.CO2Stripped(1, airPerWater, tempC) }, "air", "temp", ""),
		"stone":     ofNumbers(water.StoneSOTRGH, "air", "depth", "share"),
		"biofilm":   ofNumbers(func(tan, _, _ float64) (float64, error) { return water.CleanWaterNitrificationGM2Day(tan) }, "tan", "", ""),
		"criterion-hour": ofNumbers(func(tempC, ph, _ float64) (float64, error) {
			hour, _, err := water.CriterionGm3(tempC, ph)
			return hour, err
		}, "temp", "ph", ""),
		"criterion-month": ofNumbers(func(tempC, ph, _ float64) (float64, error) {
			_, month, err := water.CriterionGm3(tempC, ph)
			return month, err
		}, "temp", "ph", ""),
		"free-ammonia": ofNumbers(func(tempC, ph, _ float64) (float64, error) {
			v, err := water.FreeAmmoniaGm3(tempC, ph, 1)
			return v * 14 / 17, err
		}, "temp", "ph", ""),
	})
}

// logK is the logarithm of a constant of carbonate at zero ionic strength.
func logK(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofNumbers(func(tempC, _, _ float64) (float64, error) {
		e, err := water.NewEquilibria(tempC, 0)
		if err != nil {
			return 0, err
		}
		k, known := map[string]float64{"K1": e.K1, "K2": e.K2, "KH": e.KH, "Kw": e.Kw, "calcite": e.KCalcite}[in["of"]]
		if !known {
			return 0, fmt.Errorf("no constant %q", in["of"])
		}
		return math.Log10(k), nil
	}, "temp", "", "")(ctx, b, in)
}

// nitrifierGrowth is per day.
func nitrifierGrowth(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	ammonia, nitrite := water.HiattGrady()
	groups := map[string]water.Nitrifier{
		"ammonia": water.AmmoniaOxidisers(), "nitrite": water.NitriteOxidisers(), "ammonia-hiatt-grady": ammonia, "nitrite-hiatt-grady": nitrite,
	}
	n, known := groups[in["group"]]
	if !known {
		return 0, fmt.Errorf("no group %q", in["group"])
	}
	return ofNumbers(func(tempC, _, _ float64) (float64, error) { return n.GrowthPerDay(tempC), nil }, "temp", "", "")(ctx, b, in)
}
