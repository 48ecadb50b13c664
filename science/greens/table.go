package greens

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tidebed/science/food"
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

type row map[string]string

func (r row) float(column string) float64 {
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		panic(fmt.Sprintf("greens: embedded table, %s, %s: %v", r["green_key"], column, err))
	}
	return v
}

// table is the table and its index by key.
var table = sync.OnceValue(func() (t struct {
	rows  []Green
	index map[string]int
}) {
	reader := csv.NewReader(strings.NewReader(greensCSV))
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	if err != nil || len(lines) < 2 {
		panic(fmt.Sprintf("greens: embedded table: %d rows, %v", len(lines), err))
	}
	t.index = map[string]int{}
	for _, line := range lines[1:] {
		r := row{}
		for i, cell := range line {
			r[lines[0][i]] = strings.TrimSpace(cell)
		}
		t.index[r["green_key"]] = len(t.rows)
		t.rows = append(t.rows, r.green())
	}
	return t
})

func (r row) green() Green {
	return Green{
		Key:           r["green_key"],
		Name:          r["common_name"],
		BotanicalName: r["botanical_name"],
		FoodKey:       r["food_key"],
		Category:      r["category"],
		SeedG:         Spread{r.float("seed_g_per_tray_low"), r.float("seed_g_per_tray_typ"), r.float("seed_g_per_tray_high")},
		SeedsPerG:     r.float("seeds_per_g"),
		SeedsPerCM2:   r.float("seeds_per_cm2_typ"),
		SoakH:         r.float("soak_h"),
		BlackoutDays:  r.float("blackout_days"),
		LightDays:     r.float("light_days"),
		DaysAt20C:     r.float("days_total_at_20c"),
		TempBaseC:     r.float("temp_base_c"),
		TempOptLowC:   r.float("temp_opt_low_c"),
		TempOptHighC:  r.float("temp_opt_high_c"),
		TempMaxC:      r.float("temp_max_c"),
		YieldG:        Spread{r.float("yield_low_g_per_tray"), r.float("yield_typ_g_per_tray"), r.float("yield_high_g_per_tray")},
		HeightCutMM:   r.float("height_cut_mm"),
		Regrows:       r["regrows"],
		SeedCostClass: int(r.float("seed_cost_class")),
		ShelfLifeDays: r.float("shelf_life_days_at_4c"),
		WaterL:        r.float("water_l_per_tray_typ"),
		SowMin:        r.float("labour_sow_min"),
		WaterMinDay:   r.float("labour_water_min_per_day"),
		CutMin:        r.float("labour_cut_min"),
		PackMin:       r.float("labour_pack_min"),
		WashTrayMin:   r.float("labour_wash_tray_min"),
		LabourMin:     r.float("labour_total_min"),
		FailShare:     r.float("fail_pct_typ") / 100,
		DLIMinMol:     r.float("dli_min_mol_m2_d"),
		DLIOptMol:     r.float("dli_opt_mol_m2_d"),
		Safety:        r["safety_class"],
		Caution:       r["caution"],
		Source:        r["source"],
	}
}

// Lookup finds a green by its key. A plant whose seedlings harm gives a
// *RefusedError; another unknown key an error that names the nearest keys.
//
// Source: tray_greens.csv.
func Lookup(key string) (Green, error) {
	t := table()
	if i, ok := t.index[key]; ok {
		return t.rows[i], nil
	}
	if refused := Refused(key); refused != nil {
		return Green{}, refused
	}
	return Green{}, fmt.Errorf("green %q: no such key in the table of tray greens; nearest are %s",
		key, strings.Join(food.Nearest(key, Keys(), 3), ", "))
}

// Greens returns all greens in the order of the table.
func Greens() []Green { return slices.Clone(table().rows) }

// Keys returns the keys of all greens in the order of the table.
func Keys() []string {
	keys := make([]string, 0, len(table().rows))
	for _, g := range table().rows {
		keys = append(keys, g.Key)
	}
	return keys
}
