package greens

import (
	"errors"
	"fmt"
	"math"
	"time"

	"tidebed/quantity"
)

// ErrTooCold is the cause of a refused schedule below 3 °C above the base.
var ErrTooCold = errors.New("too cold for the green to grow evenly")

// The span above the base of tray greens, °C: below leastAboveC plans are
// refused, below sureAboveC days are less sure.
const (
	leastAboveC = 3
	sureAboveC  = 6
)

// DaysAt returns the days from sowing to cut at a steady temperature:
// DaysAt20C·(20 - TempBaseC)/(T - TempBaseC), above TempOptHighC as at it.
// unsure is true within 6 °C of the base and above TempOptHighC. It is common
// practice, no source; blackout and light days scale alike.
//
// Errors: temperatures from the base down, above 60 °C, NaN. Schedule refuses
// more: see there.
//
// Check: broccoli 16.0, 13.3, 11.4 and 10 days at 14, 16, 18 and 20 °C.
func (g Green) DaysAt(tempC float64) (days float64, unsure bool, err error) {
	scale, err := g.slower(tempC)
	if err != nil {
		return 0, false, err
	}
	return g.DaysAt20C * scale, tempC < g.TempBaseC+sureAboveC || tempC > g.TempOptHighC, nil
}

// slower is how much longer every span takes than at 20 °C.
func (g Green) slower(tempC float64) (float64, error) {
	if !(tempC <= 60) {
		return 0, fmt.Errorf("%s: %g °C is not within the temperatures of a room, up to 60 °C: %w", g.Key, tempC, quantity.ErrRange)
	}
	if !(tempC > g.TempBaseC) {
		return 0, fmt.Errorf("%s: at %g °C it does not grow; its base is %g °C, 20 °C suits most greens: %w", g.Key, tempC, g.TempBaseC, ErrTooCold)
	}
	return (20 - g.TempBaseC) / (min(tempC, g.TempOptHighC) - g.TempBaseC), nil
}

// Basis says for which yield an order is planned.
type Basis string

// The bases: a promised order is planned on the low yield.
const (
	LowYield     Basis = "low"
	TypicalYield Basis = "typical"
)

// Plan is the schedule of one order.
type Plan struct {
	SoakDate     time.Time // day on which seed goes into water; the sowing date when it is sown dry
	SowDate      time.Time
	UncoverDate  time.Time // blackout ends
	CutDate      time.Time // the day before delivery, to cool overnight
	Days         int       // sowing to cut, rounded up
	BlackoutDays float64   // at this temperature
	LightDays    float64
	Trays        int
	SeedG        float64 // trays × typical seed
	SeedToBuyG   float64 // with 5 % spare and for 90 % germination
	HarvestG     Spread  // what those trays give, failures taken off
	Warnings     []string
}

// SpareSeed and UsualGermination set how much seed to buy (common practice).
const (
	SpareSeed        = 0.05
	UsualGermination = 0.90
)

// mostOrderG is the largest order planned at once.
const mostOrderG = 1e7

// Trays returns the trays for an order of grams: grams over yield, low (a
// promise) or typical, × (1 - FailShare), rounded up.
//
// Errors: grams not above 0 or above ten tonnes, an unknown basis.
//
// Check: 3 kg of broccoli: 15 typically, 21 at the low yield.
func (g Green) Trays(grams float64, basis Basis) (int, error) {
	if !(grams > 0 && grams <= mostOrderG) {
		return 0, fmt.Errorf("%s: an order of %g g is not within 0 to %g g: %w", g.Key, grams, mostOrderG, quantity.ErrRange)
	}
	per := g.YieldG.Low
	switch basis {
	case LowYield:
	case TypicalYield:
		per = g.YieldG.Typical
	default:
		return 0, fmt.Errorf("%s: basis %q: give %s or %s: %w", g.Key, basis, LowYield, TypicalYield, quantity.ErrRange)
	}
	return int(math.Ceil(grams/(per*(1-g.FailShare)) - 1e-9)), nil
}

// SeedToBuyG returns the seed in g for so many trays with 5 % spare, at a
// germination share (see UsualGermination).
//
// Errors: trays below 0, germination not within 0 to 1.
func (g Green) SeedToBuyG(trays int, germination float64) (float64, error) {
	if trays < 0 || !(germination > 0 && germination <= 1) {
		return 0, fmt.Errorf("%s: seed for %d trays at germination %g: trays must be 0 or more, germination above 0 and at most 1: %w", g.Key, trays, germination, quantity.ErrRange)
	}
	return float64(trays) * g.SeedG.Typical * (1 + SpareSeed) / germination, nil
}

// Schedule plans an order of grams for a delivery day: cut the day before,
// sown ceil(days) before the cut, soaked ceil(SoakH/24) days before sowing.
// The time of day and zone of deliver are kept.
//
// Errors: a plant that is refused as a seedling (*RefusedError, by key, name or
// genus, however the Green was come by); a temperature less than 3 °C above the
// base (ErrTooCold) or above TempMaxC; soaking over 48 h; grams and basis as
// for Trays.
//
// Check: broccoli for 2026-03-06 at 18 °C: cut 03-05, 12 days, sown 2026-02-21.
func Schedule(g Green, deliver time.Time, tempC, grams float64, basis Basis) (Plan, error) {
	if tempC < g.TempBaseC+leastAboveC {
		return Plan{}, fmt.Errorf("%s: %g °C is less than %d °C above its base of %g °C; warm the room to %g °C or more: %w",
			g.Key, tempC, leastAboveC, g.TempBaseC, g.TempBaseC+leastAboveC, ErrTooCold)
	}
	if tempC > g.TempMaxC {
		return Plan{}, fmt.Errorf("%s: %g °C is above %g °C, where it fails: %w", g.Key, tempC, g.TempMaxC, quantity.ErrRange)
	}
	return Draft(g, deliver, tempC, grams, basis)
}

// Draft is Schedule without the refusal of cold and hot rooms: near the base
// the days grow without limit, and warnings say so. It is for quick sums;
// plans use Schedule.
func Draft(g Green, deliver time.Time, tempC, grams float64, basis Basis) (Plan, error) {
	for _, name := range []string{g.Key, g.Name, g.BotanicalName} {
		if refused := Refused(name); refused != nil {
			return Plan{}, refused
		}
	}
	if !(g.SoakH >= 0 && g.SoakH <= 48) {
		return Plan{}, fmt.Errorf("%s: soaking for %g h is not within 0 to 48 h: %w", g.Key, g.SoakH, quantity.ErrRange)
	}
	days, _, err := g.DaysAt(tempC)
	if err != nil {
		return Plan{}, err
	}
	if days > 3650 {
		return Plan{}, fmt.Errorf("%s: at %g °C it would take %.0f days; its base is %g °C: %w", g.Key, tempC, days, g.TempBaseC, ErrTooCold)
	}
	trays, err := g.Trays(grams, basis)
	if err != nil {
		return Plan{}, err
	}
	scale := days / g.DaysAt20C
	p := Plan{
		Days: int(math.Ceil(days - 1e-9)), BlackoutDays: g.BlackoutDays * scale, LightDays: g.LightDays * scale,
		Trays: trays, SeedG: float64(trays) * g.SeedG.Typical, CutDate: deliver.AddDate(0, 0, -1),
	}
	p.SowDate = p.CutDate.AddDate(0, 0, -p.Days)
	p.SoakDate = p.SowDate.AddDate(0, 0, -int(math.Ceil(g.SoakH/24)))
	p.UncoverDate = p.SowDate.AddDate(0, 0, int(math.Round(p.BlackoutDays)))
	if p.SeedToBuyG, err = g.SeedToBuyG(trays, UsualGermination); err != nil {
		return Plan{}, err
	}
	stand := float64(trays) * (1 - g.FailShare)
	p.HarvestG = Spread{g.YieldG.Low * stand, g.YieldG.Typical * stand, g.YieldG.High * stand}
	p.Warnings = g.Warnings(tempC)
	return p, nil
}

// Warnings returns sentences about growing the green at tempC and about eating
// it.
func (g Green) Warnings(tempC float64) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, g.Name+": "+fmt.Sprintf(format, args...)+".") }
	switch {
	case tempC < g.TempBaseC+leastAboveC:
		say("%g °C is less than %d °C above its base of %g °C: it hardly grows, and the days are not to be trusted", tempC, leastAboveC, g.TempBaseC)
	case tempC < g.TempBaseC+sureAboveC:
		say("so near its base of %g °C the days are less sure", g.TempBaseC)
	case tempC > g.TempMaxC:
		say("fails above %g °C", g.TempMaxC)
	case tempC > g.TempOptHighC:
		say("above %g °C it is no faster, only mouldier", g.TempOptHighC)
	}
	if tempC > 24 {
		say("mould spreads in trays above 24 °C")
	}
	switch g.Safety {
	case SproutLike:
		say("cut it above the seed, leave root and seed in the tray; eaten with them it is a sprout, of the highest risk: buy seed tested for sprouting, sanitise it, cook it for people at risk")
	case Limit:
		say("keep to the amount a person may eat in a day")
	}
	if g.Caution != "" {
		say("%s", g.Caution)
	}
	return out
}

// Cautions returns sentences that hold for every tray.
func Cautions() []string {
	return []string{
		"Never water trays with fish water: use drinking water without E. coli.",
		"Cool to 5 °C or less within 2 hours of the cut; throw away after 4 hours in all above it.",
		"Washing cleans; it does not make safe.",
		"Use untreated food-grade seed; keep the lot number and sowing date of every tray.",
		"Steady amounts of green leaves matter to people on warfarin (vitamin K).",
	}
}

// ShelfPlaces returns the places a steady flow of trays a week holds, by
// Little's law: trays/7 × days, in the light and in the dark stack.
//
// Errors: trays below 0 or without end; temperatures as for DaysAt.
//
// Check: 30 trays a week of 7 light and 3 dark days: 30 and 12.9 places.
func (g Green) ShelfPlaces(traysPerWeek, tempC float64) (light, dark float64, err error) {
	if !(traysPerWeek >= 0) || math.IsInf(traysPerWeek, 0) {
		return 0, 0, fmt.Errorf("%s: %g trays a week: give 0 or more: %w", g.Key, traysPerWeek, quantity.ErrRange)
	}
	scale, err := g.slower(tempC)
	if err != nil {
		return 0, 0, err
	}
	return traysPerWeek / 7 * g.LightDays * scale, traysPerWeek / 7 * g.BlackoutDays * scale, nil
}

// ForArea returns the green with seed, yield and water of a tray of areaM2;
// work stays that of a tray.
//
// Errors: an area not within 0 to 2 m².
func (g Green) ForArea(areaM2 float64) (Green, error) {
	if !(areaM2 > 0 && areaM2 <= 2) {
		return Green{}, fmt.Errorf("%s: a tray of %g m² is not within 0 to 2 m²: %w", g.Key, areaM2, quantity.ErrRange)
	}
	by := areaM2 / TrayAreaM2
	scaled := func(s Spread) Spread { return Spread{s.Low * by, s.Typical * by, s.High * by} }
	g.SeedG, g.YieldG, g.WaterL = scaled(g.SeedG), scaled(g.YieldG), g.WaterL*by
	return g, nil
}
