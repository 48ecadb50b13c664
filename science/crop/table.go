package crop

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

//go:embed crops.csv
var cropsCSV string

// Yields is a yield in kg fresh matter per m² of bed: what growers get at the
// low end, typically, and at the high end.
type Yields struct{ LowKgM2, TypicalKgM2, HighKgM2 float64 }

// Scaled returns all three yields times by.
func (y Yields) Scaled(by float64) Yields {
	return Yields{y.LowKgM2 * by, y.TypicalKgM2 * by, y.HighKgM2 * by}
}

// Fit says how a crop suits a kind of bed.
type Fit string

// The fits.
const (
	Yes  Fit = "yes"
	Poor Fit = "poor"
	No   Fit = "no"
)

// BedKinds returns the kinds of bed that Suits knows.
func BedKinds() []string { return []string{"media", "raft", "tower", "tub"} }

// The ways of harvesting in HarvestKind.
const (
	Once       = "once"       // one harvest ends the crop
	CutAgain   = "cut_again"  // leaf grows again after a cut
	Continuous = "continuous" // fruit or pods are picked as they ripen
)

// Crop is a row of the crop table. A food.Figure that is not Known is a blank.
type Crop struct {
	Key                 string      // such as "kale"
	Name                string      // for people
	BotanicalName       string      // genus and species
	FoodKey             string      // row of package food; none there for duckweed and azolla
	Group               string      // leafy, herb, fruiting, legume, root_staple, calorie_dense or feed
	Photosynthesis      string      // C3 or C4
	Propagation         string      // seed, tuber, slip, cutting …
	TempBaseC           float64     // no growth at and below
	TempOptLowC         float64     // full growth from
	TempOptHighC        float64     // full growth up to
	TempMaxC            float64     // no growth at and above
	SurviveMinC         float64     // plants die below
	QualityMinC         food.Figure // monthly means for good quality, for warnings only
	QualityOptLowC      food.Figure // monthly mean, best from
	QualityOptHighC     food.Figure // monthly mean, best up to
	QualityMaxC         food.Figure // monthly mean, quality falls above
	GermTempC           food.Figure // temperature to which GermDays belongs
	GermDays            food.Figure // days from sowing to emergence at GermTempC
	GermBaseC           food.Figure // base temperature of emergence
	GermThermalTimeCd   food.Figure // thermal time of emergence, °C d
	NurseryDays         int         // from sowing to planting out; 0: sown or set in the bed
	DaysToFirstHarvest  int         // from planting out, or from sowing in the bed (emergence included) when NurseryDays is 0
	HarvestWindowDays   int         // from the first harvest to the last, or how long a ripe crop waits
	BedDays             int         // in the bed: DaysToFirstHarvest + HarvestWindowDays
	GDDToFirstHarvestCd float64     // °C d above TempBaseC, from the days at the middle of the best span
	GDDPublishedCd      food.Figure // °C d as published, where it is
	HarvestKind         string      // once, cut_again or continuous
	CutIntervalDays     int         // between cuts or picks; 0 for once
	CutsMax             int         // most harvests of one planting
	SpacingM2           float64     // bed area per plant, m²
	PlantsPerM2         float64     // 1/SpacingM2
	YieldHarvest        Yields      // one harvest at best conditions
	YieldSeason         Yields      // all harvests of one planting at best conditions
	DLIMin              float64     // mol/m²/d, below it not worth planting
	DLIOpt              float64     // mol/m²/d, at which the yields hold
	PhotoperiodMaxH     float64     // most hours of light
	PhotoperiodResponse string      // what day length does
	BoltingRisk         string      // high, medium or low
	Vernalises          string      // no, yes, seedling or required: whether cold makes it flower
	RUE0GPerMol         float64     // g dry matter per mol at low light
	DLIHalf             float64     // mol/m²/d at which light use has halved
	HarvestIndex        float64     // harvested share of all dry matter
	DryMatterShare      float64     // of the harvest
	NShareDM            float64     // nitrogen in dry matter
	PShareDM            float64     // phosphorus in dry matter
	KShareDM            float64     // potassium in dry matter
	YieldCapKgM2        float64     // kg/m² and season no plan may exceed
	NUptakeGPerKg       float64     // g nitrogen the whole crop takes per kg fresh harvest
	NUptakeBasis        string      // P published, calc computed
	NFixedShare         float64     // share of the nitrogen fixed from air
	NutrientClass       string      // leafy or fruiting
	RootDepthM          float64     // m of root room
	RootVolumeL         float64     // litres per plant
	HeightM             float64     // m, full grown
	NeedsSupport        string      // no, yes or train
	Pollination         string      // what the flowers need
	KcIni               float64     // crop coefficient at the start
	KcMid               float64     // crop coefficient at full cover
	KcEnd               float64     // crop coefficient at the end
	StorageTempC        float64     // at which it keeps best
	StorageRHShare      float64     // relative humidity for keeping
	StorageLifeDays     int         // at StorageTempC; halves for each 8 °C above
	ChillSensitive      bool        // spoils in a store at 0 to 5 °C
	EdibleShare         float64     // edible share of the harvest
	EdibleBasis         string      // where EdibleShare comes from
	EatRaw              string      // yes, cook or no
	Caution             string      // may be empty
	Source              string

	suits map[string]Fit
}

// Suits says how the crop suits a kind of bed (see BedKinds); it is empty for
// an unknown kind.
func (c Crop) Suits(bedKind string) Fit { return c.suits[bedKind] }

// cells reads the typed cells of a row. A cell that cannot be read is a fault
// of the embedded table.
type cells map[string]string

func (r cells) optional(column string) food.Figure {
	if r[column] == "" {
		return food.Figure{}
	}
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		panic(fmt.Sprintf("crop: embedded table, %s, %s: %v", r["crop_key"], column, err))
	}
	return food.Figure{Amount: v, Known: true}
}

func (r cells) float(column string) float64 {
	f := r.optional(column)
	if !f.Known {
		panic(fmt.Sprintf("crop: embedded table, %s: %s is blank", r["crop_key"], column))
	}
	return f.Amount
}

func (r cells) yields(stem string) Yields {
	return Yields{r.float(stem + "low_kg_m2"), r.float(stem + "typ_kg_m2"), r.float(stem + "high_kg_m2")}
}

// table is the crop table and its index by key.
var table = sync.OnceValue(func() (t struct {
	rows  []Crop
	index map[string]int
}) {
	reader := csv.NewReader(strings.NewReader(cropsCSV))
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	if err != nil || len(lines) < 2 {
		panic(fmt.Sprintf("crop: embedded table: %d rows, %v", len(lines), err))
	}
	t.index = map[string]int{}
	for _, line := range lines[1:] {
		r := cells{}
		for i, cell := range line {
			r[lines[0][i]] = strings.TrimSpace(cell)
		}
		t.index[r["crop_key"]] = len(t.rows)
		t.rows = append(t.rows, r.crop())
	}
	return t
})

func (r cells) crop() Crop {
	return Crop{
		Key:                 r["crop_key"],
		Name:                r["common_name"],
		BotanicalName:       r["botanical_name"],
		FoodKey:             r["food_key"],
		Group:               r["group"],
		Photosynthesis:      r["photosynthesis"],
		Propagation:         r["propagation"],
		TempBaseC:           r.float("temp_base_c"),
		TempOptLowC:         r.float("temp_opt_low_c"),
		TempOptHighC:        r.float("temp_opt_high_c"),
		TempMaxC:            r.float("temp_max_c"),
		SurviveMinC:         r.float("survive_min_c"),
		QualityMinC:         r.optional("quality_min_c"),
		QualityOptLowC:      r.optional("quality_opt_low_c"),
		QualityOptHighC:     r.optional("quality_opt_high_c"),
		QualityMaxC:         r.optional("quality_max_c"),
		GermTempC:           r.optional("germ_temp_c"),
		GermDays:            r.optional("germ_days"),
		GermBaseC:           r.optional("germ_base_c"),
		GermThermalTimeCd:   r.optional("germ_thermal_time_cd"),
		NurseryDays:         int(r.float("nursery_days")),
		DaysToFirstHarvest:  int(r.float("days_to_first_harvest")),
		HarvestWindowDays:   int(r.float("harvest_window_days")),
		BedDays:             int(r.float("bed_days")),
		GDDToFirstHarvestCd: r.float("gdd_to_first_harvest_cd"),
		GDDPublishedCd:      r.optional("gdd_published_cd"),
		HarvestKind:         r["harvest_kind"],
		CutIntervalDays:     int(r.optional("cut_interval_days").Amount),
		CutsMax:             int(r.float("cuts_max")),
		SpacingM2:           r.float("spacing_m2_per_plant"),
		PlantsPerM2:         r.float("plants_per_m2"),
		YieldHarvest:        r.yields("yield_per_harvest_"),
		YieldSeason:         r.yields("yield_season_"),
		DLIMin:              r.float("dli_min_mol_m2_d"),
		DLIOpt:              r.float("dli_opt_mol_m2_d"),
		PhotoperiodMaxH:     r.float("photoperiod_max_h"),
		PhotoperiodResponse: r["photoperiod_response"],
		BoltingRisk:         r["bolting_risk"],
		Vernalises:          r["vernalises"],
		RUE0GPerMol:         r.float("rue0_g_per_mol"),
		DLIHalf:             r.float("dli_half_mol_m2_d"),
		HarvestIndex:        r.float("harvest_index"),
		DryMatterShare:      r.float("dry_matter_pct") / 100,
		NShareDM:            r.float("n_pct_dm") / 100,
		PShareDM:            r.float("p_pct_dm") / 100,
		KShareDM:            r.float("k_pct_dm") / 100,
		YieldCapKgM2:        r.float("yield_cap_at_dli_opt_kg_m2"),
		NUptakeGPerKg:       r.float("n_uptake_g_per_kg_fresh"),
		NUptakeBasis:        r["n_uptake_basis"],
		NFixedShare:         r.float("n_fixed_share"),
		NutrientClass:       r["nutrient_class"],
		RootDepthM:          r.float("root_depth_m"),
		RootVolumeL:         r.float("root_volume_l_per_plant"),
		HeightM:             r.float("height_m"),
		NeedsSupport:        r["needs_support"],
		Pollination:         r["pollination"],
		KcIni:               r.float("kc_ini"),
		KcMid:               r.float("kc_mid"),
		KcEnd:               r.float("kc_end"),
		StorageTempC:        r.float("storage_temp_c"),
		StorageRHShare:      r.float("storage_rh_pct") / 100,
		StorageLifeDays:     int(r.float("storage_life_days")),
		ChillSensitive:      r["chill_sensitive"] == "yes",
		EdibleShare:         r.float("edible_share_pct") / 100,
		EdibleBasis:         r["edible_basis"],
		EatRaw:              r["eat_raw"],
		Caution:             r["caution"],
		Source:              r["source"],
		suits: map[string]Fit{
			"media": Fit(r["suits_media_bed"]), "raft": Fit(r["suits_raft"]),
			"tower": Fit(r["suits_tower"]), "tub": Fit(r["suits_soil_tub"]),
		},
	}
}

// Lookup finds a crop by its key. The error for an unknown key names the
// nearest keys.
//
// Source: crops.csv.
func Lookup(key string) (Crop, error) {
	t := table()
	if i, ok := t.index[key]; ok {
		return t.rows[i], nil
	}
	return Crop{}, fmt.Errorf("crop %q: no such key in the crop table; nearest are %s",
		key, strings.Join(food.Nearest(key, Keys(), 3), ", "))
}

// Crops returns all crops in the order of the table.
func Crops() []Crop { return slices.Clone(table().rows) }

// Keys returns the keys of all crops in the order of the table.
func Keys() []string {
	keys := make([]string, 0, len(table().rows))
	for _, c := range table().rows {
		keys = append(keys, c.Key)
	}
	return keys
}
