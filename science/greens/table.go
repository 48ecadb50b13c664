package greens

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"tidebed/science/food"
	"tidebed/table"
)

//go:embed tray_greens.csv
var greensCSV string

// TrayAreaM2 is the area of the tray of the table: 0.254 m × 0.508 m.
const TrayAreaM2 = 0.254 * 0.508

// Spread is a figure at its low end, typically, and at its high end.
type Spread struct{ Low, Typical, High float64 }

// The safety classes in Green.Safety.
const (
	Normal     = "normal"
	SproutLike = "sprout_like" // seed often eaten as a sprout, with seed and root
	Limit      = "limit"       // harms in large amounts: see Caution
)

// Green is a row of the table, for one tray of TrayAreaM2.
type Green struct {
	Key           string // such as "pea_shoot"
	Name          string // for people
	BotanicalName string // genus and species
	FoodKey       string // row of package food; empty for grass that is juiced
	Category      string // shoot, microgreen or grass
	SeedG         Spread // g of seed a tray
	SeedsPerG     float64
	SeedsPerCM2   float64
	SoakH         float64 // hours in water before sowing; 0: sown dry
	BlackoutDays  float64 // at 20 °C, covered or weighted after sowing
	LightDays     float64 // at 20 °C, uncovered
	DaysAt20C     float64 // sowing to cut at 20 °C
	TempBaseC     float64
	TempOptLowC   float64
	TempOptHighC  float64
	TempMaxC      float64
	YieldG        Spread // g fresh a tray
	HeightCutMM   float64
	Regrows       string // no, or how many cuts
	SeedCostClass int    // 1 cheapest to 5
	ShelfLifeDays float64
	WaterL        float64 // a tray, sowing to cut
	SowMin        float64 // minutes of work a tray
	WaterMinDay   float64 // minutes a tray and day
	CutMin        float64
	PackMin       float64
	WashTrayMin   float64
	LabourMin     float64 // all of it, a tray
	FailShare     float64 // trays lost to mould and poor seed, typically
	DLIMinMol     float64 // mol/m²/d
	DLIOptMol     float64
	Safety        string // Normal, SproutLike or Limit
	Caution       string // may be empty
	Source        string
}

// Genus returns the first word of the botanical name.
func (g Green) Genus() string { return firstWord(g.BotanicalName) }

func firstWord(s string) string {
	if fields := strings.Fields(s); len(fields) > 0 {
		return fields[0]
	}
	return ""
}

var greenTable = sync.OnceValue(func() *table.Index[Green] {
	return table.ReadIndex("tray_greens.csv", greensCSV, "green_key", greenOf)
})

func greenOf(r table.Row) Green {
	return Green{
		Key:           r.Text("green_key"),
		Name:          r.Text("common_name"),
		BotanicalName: r.Text("botanical_name"),
		FoodKey:       r.Text("food_key"),
		Category:      r.Text("category"),
		SeedG:         Spread{r.Number("seed_g_per_tray_low"), r.Number("seed_g_per_tray_typ"), r.Number("seed_g_per_tray_high")},
		SeedsPerG:     r.Number("seeds_per_g"),
		SeedsPerCM2:   r.Number("seeds_per_cm2_typ"),
		SoakH:         r.Number("soak_h"),
		BlackoutDays:  r.Number("blackout_days"),
		LightDays:     r.Number("light_days"),
		DaysAt20C:     r.Number("days_total_at_20c"),
		TempBaseC:     r.Number("temp_base_c"),
		TempOptLowC:   r.Number("temp_opt_low_c"),
		TempOptHighC:  r.Number("temp_opt_high_c"),
		TempMaxC:      r.Number("temp_max_c"),
		YieldG:        Spread{r.Number("yield_low_g_per_tray"), r.Number("yield_typ_g_per_tray"), r.Number("yield_high_g_per_tray")},
		HeightCutMM:   r.Number("height_cut_mm"),
		Regrows:       r.Text("regrows"),
		SeedCostClass: r.Integer("seed_cost_class"),
		ShelfLifeDays: r.Number("shelf_life_days_at_4c"),
		WaterL:        r.Number("water_l_per_tray_typ"),
		SowMin:        r.Number("labour_sow_min"),
		WaterMinDay:   r.Number("labour_water_min_per_day"),
		CutMin:        r.Number("labour_cut_min"),
		PackMin:       r.Number("labour_pack_min"),
		WashTrayMin:   r.Number("labour_wash_tray_min"),
		LabourMin:     r.Number("labour_total_min"),
		FailShare:     r.Number("fail_pct_typ") / 100,
		DLIMinMol:     r.Number("dli_min_mol_m2_d"),
		DLIOptMol:     r.Number("dli_opt_mol_m2_d"),
		Safety:        r.Text("safety_class"),
		Caution:       r.Text("caution"),
		Source:        r.Text("source"),
	}
}

// Lookup finds a green by its key. A plant whose seedlings harm gives a
// *RefusedError; another unknown key an error that names the nearest keys.
//
// Source: tray_greens.csv.
func Lookup(key string) (Green, error) {
	if g, ok := greenTable().Find(key); ok {
		return g, nil
	}
	if refused := Refused(key); refused != nil {
		return Green{}, refused
	}
	return Green{}, fmt.Errorf("green %q: no such key in the table of tray greens; nearest are %s",
		key, strings.Join(food.Nearest(key, Keys(), 3), ", "))
}

// Greens returns all greens in the order of the table.
func Greens() []Green { return greenTable().All() }

// Keys returns the keys of all greens in the order of the table.
func Keys() []string { return greenTable().Keys() }
