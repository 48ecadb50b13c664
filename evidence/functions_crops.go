package evidence

import (
	"context"
	"fmt"
	"maps"
	"math"
	"strings"
	"time"

	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/science/greens"
)

func init() {
	maps.Copy(functions, map[string]function{
		"crop-stand": cropStand, "crop-year": cropYear, "fruit-season": fruitSeason, "crop-value": cropValue, "emergence-left-out": emergenceLeftOut, "thermal-days": thermalDays,
		"closed-stand": closedStand, "critical-nitrogen": criticalNitrogen, "tray": tray,
		"crop-temperature-factor": cropNumber(func(c *crop.Crop, n cropInputs) (float64, error) {
			return c.TemperatureFactor(n["temp"]), nil
		}, "temp"),
		"crop-calibration": cropNumber(func(c *crop.Crop, _ cropInputs) (float64, error) {
			cal, err := c.Calibration(c.YieldSeason.TypicalKgM2)
			return cal.QM2G, err
		}),
		"lettuce-mass": cropPlain(func(n cropInputs) (float64, error) {
			return crop.LettuceMassG(n["dli"], n["temp"], n["co2"], n["day"])
		}, "dli", "temp", "co2", "day"),
		"degree-days-sine": cropPlain(func(n cropInputs) (float64, error) {
			return crop.DegreeDaysSine(n["tmax"], n["tmin"], n["base"], n["upper"])
		}, "tmax", "tmin", "base", "upper"),
		"co2-factor":          cropPlain(func(n cropInputs) (float64, error) { return crop.CO2Factor(crop.C3, n["co2"]), nil }, "co2"),
		"canopy-interception": cropPlain(func(n cropInputs) (float64, error) { return crop.Interception(n["k"], n["lai"]), nil }, "k", "lai"),
		"stand-after-light":   cropPlain(func(n cropInputs) (float64, error) { return crop.StandGrowth(n["w0"], n["q"], n["u"]), nil }, "w0", "q", "u"),
		"full-cover-water":    cropPlain(func(n cropInputs) (float64, error) { return crop.FullCoverWaterMmD(n["g"]), nil }, "g"),
		"van-henten-uptake": cropPlain(func(n cropInputs) (float64, error) {
			return 1000 * crop.VanHentenPhotosynthesis(1, n["par"], n["temp"], n["co2"]), nil
		}, "par", "temp", "co2"),
	})
}

// cropInputs are the numeric inputs of a row.
type cropInputs map[string]float64

func cropInputsOf(in map[string]string, keys []string) (cropInputs, error) {
	n := make(cropInputs, len(keys))
	for _, key := range keys {
		v, err := number(in[key])
		if err != nil {
			return nil, fmt.Errorf("%s: %w", key, err)
		}
		n[key] = v
	}
	return n, nil
}

// cropPlain makes a function of formulas whose inputs are all numbers.
func cropPlain(formula func(cropInputs) (float64, error), keys ...string) function {
	return func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
		n, err := cropInputsOf(in, keys)
		if err != nil {
			return 0, err
		}
		return formula(n)
	}
}

// cropNumber makes a function of formulas of a crop and numbers.
func cropNumber(formula func(*crop.Crop, cropInputs) (float64, error), keys ...string) function {
	return func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
		c, err := crop.Lookup(in["crop"])
		if err != nil {
			return 0, err
		}
		n, err := cropInputsOf(in, keys)
		if err != nil {
			return 0, err
		}
		return formula(&c, n)
	}
}

// cropStand runs a stand, harvested when ripe, at its best temperature in
// light times its best, and gives a figure: "season" kg/m², "days" to the first
// harvest, "year" kg/m² and year with a gap of days between plantings, or
// "elasticity": percent of season yield for a percent of light.
func cropStand(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := crop.Lookup(in["crop"])
	if err != nil {
		return 0, err
	}
	light, err := numberOf(in, "light", 1)
	if err != nil {
		return 0, err
	}
	gap, err := numberOf(in, "gap", 0)
	if err != nil {
		return 0, err
	}
	kg, first, days, err := runStand(&c, light)
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "season":
		return kg, nil
	case "days":
		return first, nil
	case "year":
		return kg / (days + gap) * 365, nil
	case "elasticity":
		const step = 0.1
		less, _, _, err := runStand(&c, light*(1-step))
		return (1 - less/kg) / step, err
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

func runStand(c *crop.Crop, light float64) (kg, first, days float64, err error) {
	s, err := crop.NewStand(c, 1)
	if err != nil {
		return 0, 0, 0, err
	}
	day := crop.DayInput{
		DLIMol: c.DLIOpt * light, TempFactor: 1, TempC: (c.TempOptLowC + c.TempOptHighC) / 2,
		CO2PPM: 400, RootFactor: 1, Harvest: true,
	}
	for !s.Done {
		if out := s.Step(day); out.HarvestKgM2 > 0 && first == 0 {
			first = float64(s.AgeDays)
		}
	}
	return s.HarvestedKg, first, float64(s.AgeDays), nil
}

// cropValue looks a crop's value up in its table.
func cropValue(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := crop.Lookup(in["crop"])
	if err != nil {
		return 0, err
	}
	f := food.Figure{}
	switch in["value"] {
	case "season":
		f = food.Figure{Amount: c.YieldSeason.TypicalKgM2, Known: true}
	case "season-low":
		f = food.Figure{Amount: c.YieldSeason.LowKgM2, Known: true}
	case "days":
		f = food.Figure{Amount: float64(c.DaysToFirstHarvest), Known: true}
	case "nitrogen":
		f = food.Figure{Amount: c.NUptakeGPerKg, Known: true}
	case "storage":
		f = food.Figure{Amount: float64(c.StorageLifeDays), Known: true}
	case "germ-base":
		f = c.GermBaseC
	}
	if !f.Known {
		return 0, fmt.Errorf("%s has no value %q", c.Key, in["value"])
	}
	return f.Amount, nil
}

// thermalDays is the time a thermal time above a base takes.
func thermalDays(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	n, err := cropInputsOf(in, []string{"theta", "base", "temp"})
	if err != nil {
		return 0, err
	}
	return emerging(n["theta"], n["base"], n["temp"])
}

// emerging asks a crop of these constants for its days to emergence.
func emerging(theta, base, tempC float64) (float64, error) {
	c := crop.Crop{TempMaxC: 40, GermThermalTimeCd: food.Figure{Amount: theta, Known: true}, GermBaseC: food.Figure{Amount: base, Known: true}}
	days, ok := c.EmergenceDays(tempC)
	if !ok {
		return 0, fmt.Errorf("nothing comes up at %g °C", tempC)
	}
	return days, nil
}

// emergenceLeftOut foretells the days at temp of each crop of seen ("10:43
// 15:14 20:8;…", °C and days) from its days at the other temperatures alone:
// thermal time and base by a straight line of 1/days on temperature. It gives
// the mean of days foretold over days seen.
func emergenceLeftOut(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	at, err := numberOf(in, "temp", math.NaN())
	if err != nil {
		return 0, err
	}
	ratios, crops := 0.0, 0.0
	for list := range strings.SplitSeq(in["seen"], ";") {
		var n, sx, sy, sxx, sxy, seen float64
		for pair := range strings.FieldsSeq(list) {
			var tempC, days float64
			if _, err := fmt.Sscanf(pair, "%g:%g", &tempC, &days); err != nil {
				return 0, fmt.Errorf("%q is no temperature and days: %w", pair, err)
			}
			if days <= 0 {
				return 0, fmt.Errorf("%q: days must be above 0", pair)
			}
			if tempC == at {
				seen = days
				continue
			}
			n, sx, sy, sxx, sxy = n+1, sx+tempC, sy+1/days, sxx+tempC*tempC, sxy+tempC/days
		}
		if seen == 0 || n < 2 {
			return 0, fmt.Errorf("%q has no days at %g °C, or too few others", list, at)
		}
		slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
		days, err := emerging(1/slope, (sx-sy/slope)/n, at)
		if err != nil {
			return 0, err
		}
		ratios, crops = ratios+days/seen, crops+1
	}
	return ratios / crops, nil
}

// closedStand gives the growth of a closed stand, g/m²/d, or with per=MJ its
// growth per MJ of photosynthetic light (4.57 mol).
func closedStand(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := crop.Lookup(in["crop"])
	if err != nil {
		return 0, err
	}
	dli, err := numberOf(in, "dli", math.NaN())
	if err != nil {
		return 0, err
	}
	if in["per"] == "MJ" {
		return c.ClosedStand(dli) / (dli / 4.57), nil
	}
	return c.ClosedStand(dli), nil
}

// criticalNitrogen gives the critical nitrogen of a shoot of w t/ha: figure
// "percent", "uptake" in kg/ha, or, for a crop's typical yield, "per-kg" of
// fresh harvest.
func criticalNitrogen(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	if in["figure"] == "per-kg" {
		c, err := crop.Lookup(in["crop"])
		if err != nil {
			return 0, err
		}
		kgM2 := c.YieldSeason.TypicalKgM2
		tHa := kgM2 * 1000 * c.DryMatterShare / 100
		if in["whole"] == "yes" {
			tHa /= c.HarvestIndex
		}
		return crop.CriticalNUptakeKgHa(c.Photosynthesis, tHa) / 10 / kgM2, nil
	}
	w, err := numberOf(in, "w", math.NaN())
	if err != nil {
		return 0, err
	}
	if in["figure"] == "uptake" {
		return crop.CriticalNUptakeKgHa(crop.C3, w), nil
	}
	return 100 * crop.CriticalNShare(crop.C3, w), nil
}

// tray gives a figure of a tray green: "days" at temp, "sow-before" delivery in
// days, "light" or "dark" places for trays a week, or "seed" to buy.
func tray(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	g, err := greens.Lookup(in["green"])
	if err != nil {
		return 0, err
	}
	tempC, err := numberOf(in, "temp", 20)
	if err != nil {
		return 0, err
	}
	trays, err := numberOf(in, "trays", 0)
	if err != nil {
		return 0, err
	}
	switch in["figure"] {
	case "days":
		days, _, err := g.DaysAt(tempC)
		return days, err
	case "sow-before":
		deliver := time.Date(2026, 3, 6, 0, 0, 0, 0, time.UTC)
		p, err := greens.Schedule(g, deliver, tempC, 1000, greens.LowYield)
		return deliver.Sub(p.SowDate).Hours() / 24, err
	case "light":
		light, _, err := g.ShelfPlaces(trays, tempC)
		return light, err
	case "dark":
		_, dark, err := g.ShelfPlaces(trays, tempC)
		return dark, err
	case "seed":
		return g.SeedToBuyG(int(trays), greens.UsualGermination)
	}
	return 0, fmt.Errorf("figure %q is not known", in["figure"])
}

// cropYear is the harvest of one bed in a year of one crop after another, at
// even light and warmth and with the turn-over of a day between them: kg/m²,
// at a course of yield of low, typical or high.
func cropYear(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := crop.Lookup(in["crop"])
	if err != nil {
		return 0, err
	}
	n, err := cropInputsOf(in, []string{"dli", "temp"})
	if err != nil {
		return 0, err
	}
	factor := 1.0
	switch in["yield"] {
	case "low":
		factor = c.YieldSeason.LowKgM2 / c.YieldSeason.TypicalKgM2
	case "high":
		factor = c.YieldSeason.HighKgM2 / c.YieldSeason.TypicalKgM2
	}
	var sum float64
	for day := 0; day < 365; {
		stand, err := crop.NewStand(&c, factor)
		if err != nil {
			return 0, err
		}
		for ; day < 365 && !stand.Done; day++ {
			sum += stand.Step(crop.DayInput{
				DLIMol: n["dli"], TempFactor: c.TemperatureFactor(n["temp"]), TempC: n["temp"], RootFactor: 1, Harvest: true,
			}).HarvestKgM2
		}
		day++
	}
	return sum, nil
}

// fruitSeason is the fruit of a season of closed stand: kg/m².
func fruitSeason(_ context.Context, _ *bench, in map[string]string) (float64, error) {
	c, err := crop.Lookup(in["crop"])
	if err != nil {
		return 0, err
	}
	n, err := cropInputsOf(in, []string{"dli", "cover", "weeks"})
	if err != nil {
		return 0, err
	}
	return c.ClosedStand(n["dli"]) * n["cover"] * c.HarvestIndex / c.DryMatterShare / 1000 * 7 * n["weeks"], nil
}
