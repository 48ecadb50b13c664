package fish

import (
	_ "embed"
	"fmt"
	"math"
	"sync"

	"tidebed/quantity"
	"tidebed/table"
)

//go:embed fish_yield.csv
var yieldCSV string

// HomeFilletFactor is what a home filleter gets of the fillet shares, which
// skilled hands or machines reached. Common practice, no source.
const HomeFilletFactor = 0.85

// Yield is what a live fish gives. Shares are of live weight; a Figure that is
// not Known is a blank of the table.
type Yield struct {
	LiveFromG, LiveToG  Figure // weights of the fish measured
	GuttedHeadOn        Figure
	DressedHeadless     Figure
	FilletSkinOn        Figure
	FilletSkinless      Figure
	Head, Viscera, Skin Figure
	BoneFrameFin        Figure
	EdibleHome          Figure  // eaten of a whole fish at home
	CookingYield        float64 // cooked mass over raw mass
	RawKcalPer100g      Figure
	RawProteinGPer100g  Figure
	RawFatGPer100g      Figure
	FoodKey             string // raw row of package food; empty where it has none
	// Within tells whether the live weight asked for lies within the fish
	// measured; else the nearest row answers.
	Within bool
	Source string
}

type yieldRow struct {
	id string
	Yield
}

// share reads a cell in percent that may be blank.
func share(r table.Row, column string) Figure {
	f := figure(r, column)
	f.Amount /= 100
	return f
}

var yieldTable = sync.OnceValue(func() []yieldRow {
	var out []yieldRow
	for _, r := range table.Read("fish_yield.csv", yieldCSV) {
		out = append(out, yieldRow{r.Text("species_id"), Yield{
			LiveFromG:          figure(r, "live_weight_from_g"),
			LiveToG:            figure(r, "live_weight_to_g"),
			GuttedHeadOn:       share(r, "gutted_head_on_pct"),
			DressedHeadless:    share(r, "dressed_headless_pct"),
			FilletSkinOn:       share(r, "fillet_skin_on_pct"),
			FilletSkinless:     share(r, "fillet_skinless_pct"),
			Head:               share(r, "head_pct"),
			Viscera:            share(r, "viscera_pct"),
			Skin:               share(r, "skin_pct"),
			BoneFrameFin:       share(r, "bone_frame_fin_pct"),
			EdibleHome:         share(r, "edible_share_home_pct"),
			CookingYield:       r.NumberOr("cooking_yield_pct", 0) / 100,
			RawKcalPer100g:     figure(r, "raw_energy_kcal_per_100g"),
			RawProteinGPer100g: figure(r, "raw_protein_g_per_100g"),
			RawFatGPer100g:     figure(r, "raw_fat_g_per_100g"),
			FoodKey:            r.Text("foods_key"),
			Source:             r.Text("source"),
		}})
	}
	return out
})

// relatives answer for a species without a row of its own.
var relatives = map[string]string{"tilapia_blue": "tilapia_nile"}

// Dressing returns what a live fish of liveG grams gives. Of several rows that
// hold the weight the narrowest span answers, else the nearest one, with
// Within false. Blue tilapia answers as Nile tilapia; the ID "any" gives a
// round fish of unknown kind.
//
// Errors: an unknown species; one that is no food fish here; liveG outside
// 1 to 20 000, wrapping quantity.ErrRange.
//
// Source: fish_yield.csv. Fillet shares are of skilled hands: see
// HomeFilletFactor.
func Dressing(speciesID string, liveG float64) (Yield, error) {
	if err := quantity.InRange("live weight", liveG, 1, 20000, "g"); err != nil {
		return Yield{}, fmt.Errorf("dressing of %s: %w", speciesID, err)
	}
	if speciesID != "any" {
		if _, err := Lookup(speciesID); err != nil {
			return Yield{}, fmt.Errorf("dressing: %w", err)
		}
	}
	id := speciesID
	if relative, ok := relatives[speciesID]; ok {
		id = relative
	}
	best, found, bestAway, bestSpan := Yield{}, false, math.Inf(1), math.Inf(1)
	for _, row := range yieldTable() {
		if row.id != id {
			continue
		}
		away, span := 0.0, math.Inf(1)
		if row.LiveFromG.Known && row.LiveToG.Known {
			away = max(0, row.LiveFromG.Amount-liveG, liveG-row.LiveToG.Amount)
			span = row.LiveToG.Amount - row.LiveFromG.Amount
		}
		if !found || away < bestAway || away == bestAway && span < bestSpan {
			best, found, bestAway, bestSpan = row.Yield, true, away, span
			best.Within = away == 0
		}
	}
	if !found || best.CookingYield <= 0 {
		return Yield{}, fmt.Errorf("dressing of %s: no food fish here, the table has no yield", speciesID)
	}
	return best, nil
}

// LiveForCookedG returns the grams of live fish for cookedG grams of cooked
// fillet, skinless, by the fillet share as measured. ok is false where the
// share is unknown or cookedG is no amount.
//
// Check: 1200 g cooked tilapia at 0.365 and 0.77: 4270 g live.
func (y Yield) LiveForCookedG(cookedG float64) (liveG float64, ok bool) {
	if !y.FilletSkinless.Known || y.FilletSkinless.Amount <= 0 || y.CookingYield <= 0 ||
		!(cookedG >= 0) || math.IsInf(cookedG, 0) {
		return 0, false
	}
	return cookedG / (y.FilletSkinless.Amount * y.CookingYield), true
}
