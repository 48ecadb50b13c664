package water

import (
	_ "embed"
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/table"
)

//go:embed water_feed_nutrients.csv
var feedNutrientsCSV string

//go:embed water_media.csv
var mediaCSV string

// Solids settled in an aerobic bed: the share that breaks down fast, and the
// middle of the usual rates at 20 °C, per day (fast 0.05 to 0.15, slow 0.005 to
// 0.01). Common practice, no source; [sludge-digestion-2020] fits 0.17 per day
// for nitrogen of stirred sludge.
const (
	FastShare    = 0.6
	FastPerDay20 = 0.10
	SlowPerDay20 = 0.0075
	mineralTheta = 1.07
)

// MineralPerDay returns a first-order rate at tempC from that at 20 °C. It
// refuses nothing.
func MineralPerDay(perDay20, tempC float64) float64 {
	return perDay20 * math.Pow(mineralTheta, tempC-20)
}

// Pool is matter in solids that mineralises, in two parts.
type Pool struct{ FastG, SlowG float64 }

// Add returns the pool with solids added.
func (p Pool) Add(g float64) Pool { return Pool{p.FastG + FastShare*g, p.SlowG + (1-FastShare)*g} }

// Rate returns what mineralises, g/d, with its partial derivatives. It refuses
// nothing.
func (p Pool) Rate(tempC float64) (gDay, perFast, perSlow float64) {
	f := MineralPerDay(1, tempC)
	perFast, perSlow = FastPerDay20*f, SlowPerDay20*f
	return p.FastG*perFast + p.SlowG*perSlow, perFast, perSlow
}

// After returns the pool after days (0 to 1e5) at 0 to 45 °C with inGDay (0 to
// 1e9) of solids added all the time, and what has been mineralised, g.
//
// Errors wrap quantity.ErrRange.
func (p Pool) After(days, tempC, inGDay float64) (left Pool, mineralisedG float64, err error) {
	if err := check("mineralisation", bound{"days", days, 0, 1e5, "d"}, tempBound(tempC), bound{"solids", inGDay, 0, 1e9, "g/d"},
		bound{"fast pool", p.FastG, 0, 1e12, "g"}, bound{"slow pool", p.SlowG, 0, 1e12, "g"}); err != nil {
		return Pool{}, 0, err
	}
	_, kFast, kSlow := p.Rate(tempC)
	course := func(start, in, k float64) float64 { return start*math.Exp(-k*days) - in/k*math.Expm1(-k*days) }
	left = Pool{course(p.FastG, FastShare*inGDay, kFast), course(p.SlowG, (1-FastShare)*inGDay, kSlow)}
	return left, p.FastG + p.SlowG + inGDay*days - left.FastG - left.SlowG, nil
}

// Nutrient is what feed brings of an element and where it goes.
type Nutrient struct {
	Element        string
	FeedGKg        float64
	RetentionShare float64 // kept by the fish
	DissolvedShare float64 // of the waste
	Source         string
}

var nutrients = func() []Nutrient {
	var out []Nutrient
	for _, row := range table.Read("water_feed_nutrients.csv", feedNutrientsCSV) {
		if row.Text("element") == "dry_matter" {
			continue
		}
		out = append(out, Nutrient{
			Element: row.Text("element"), FeedGKg: row.NumberOr("feed_g_per_kg", 0), RetentionShare: row.NumberOr("fish_retention_fraction", 0),
			DissolvedShare: row.NumberOr("dissolved_fraction_of_waste", 0), Source: row.Text("source"),
		})
	}
	return out
}()

// Nutrients returns the table of elements in feed.
func Nutrients() []Nutrient { return append([]Nutrient(nil), nutrients...) }

// FromFeed returns what a day's feed (0 to 1e6 kg/d) leaves of an element of the
// table: dissolved at once and in solids, g/d.
//
// Errors wrap quantity.ErrRange.
func FromFeed(element string, feedKgDay float64) (dissolvedGDay, solidGDay float64, err error) {
	if err := check("nutrients of feed", bound{"feed", feedKgDay, 0, 1e6, "kg/d"}); err != nil {
		return 0, 0, err
	}
	for _, n := range nutrients {
		if n.Element == element {
			waste := feedKgDay * n.FeedGKg * (1 - n.RetentionShare)
			return waste * n.DissolvedShare, waste * (1 - n.DissolvedShare), nil
		}
	}
	return 0, 0, fmt.Errorf("nutrients of feed: %q is not in the table: %w", element, quantity.ErrRange)
}
