package crop

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"tidebed/science/food"
	"tidebed/table"
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

// figure reads a cell that may be blank.
func figure(r table.Row, column string) food.Figure {
	v, known := r.Optional(column)
	return food.Figure{Amount: v, Known: known}
}

func yields(r table.Row, stem string) Yields {
	return Yields{r.Number(stem + "low_kg_m2"), r.Number(stem + "typ_kg_m2"), r.Number(stem + "high_kg_m2")}
}

var cropTable = sync.OnceValue(func() *table.Index[Crop] {
	return table.ReadIndex("crops.csv", cropsCSV, "crop_key", cropOf)
})

func cropOf(r table.Row) Crop {
	return Crop{
		Key:                 r.Text("crop_key"),
		Name:                r.Text("common_name"),
		BotanicalName:       r.Text("botanical_name"),
		FoodKey:             r.Text("food_key"),
		Group:               r.Text("group"),
		Photosynthesis:      r.Text("photosynthesis"),
		Propagation:         r.Text("propagation"),
		TempBaseC:           r.Number("temp_base_c"),
		TempOptLowC:         r.Number("temp_opt_low_c"),
		TempOptHighC:        r.Number("temp_opt_high_c"),
		TempMaxC:            r.Number("temp_max_c"),
		SurviveMinC:         r.Number("survive_min_c"),
		QualityMinC:         figure(r, "quality_min_c"),
		QualityOptLowC:      figure(r, "quality_opt_low_c"),
		QualityOptHighC:     figure(r, "quality_opt_high_c"),
		QualityMaxC:         figure(r, "quality_max_c"),
		GermTempC:           figure(r, "germ_temp_c"),
		GermDays:            figure(r, "germ_days"),
		GermBaseC:           figure(r, "germ_base_c"),
		GermThermalTimeCd:   figure(r, "germ_thermal_time_cd"),
		NurseryDays:         r.Integer("nursery_days"),
		DaysToFirstHarvest:  r.Integer("days_to_first_harvest"),
		HarvestWindowDays:   r.Integer("harvest_window_days"),
		BedDays:             r.Integer("bed_days"),
		GDDToFirstHarvestCd: r.Number("gdd_to_first_harvest_cd"),
		GDDPublishedCd:      figure(r, "gdd_published_cd"),
		HarvestKind:         r.Text("harvest_kind"),
		CutIntervalDays:     int(r.NumberOr("cut_interval_days", 0)),
		CutsMax:             r.Integer("cuts_max"),
		SpacingM2:           r.Number("spacing_m2_per_plant"),
		PlantsPerM2:         r.Number("plants_per_m2"),
		YieldHarvest:        yields(r, "yield_per_harvest_"),
		YieldSeason:         yields(r, "yield_season_"),
		DLIMin:              r.Number("dli_min_mol_m2_d"),
		DLIOpt:              r.Number("dli_opt_mol_m2_d"),
		PhotoperiodMaxH:     r.Number("photoperiod_max_h"),
		PhotoperiodResponse: r.Text("photoperiod_response"),
		BoltingRisk:         r.Text("bolting_risk"),
		Vernalises:          r.Text("vernalises"),
		RUE0GPerMol:         r.Number("rue0_g_per_mol"),
		DLIHalf:             r.Number("dli_half_mol_m2_d"),
		HarvestIndex:        r.Number("harvest_index"),
		DryMatterShare:      r.Number("dry_matter_pct") / 100,
		NShareDM:            r.Number("n_pct_dm") / 100,
		PShareDM:            r.Number("p_pct_dm") / 100,
		KShareDM:            r.Number("k_pct_dm") / 100,
		YieldCapKgM2:        r.Number("yield_cap_at_dli_opt_kg_m2"),
		NUptakeGPerKg:       r.Number("n_uptake_g_per_kg_fresh"),
		NUptakeBasis:        r.Text("n_uptake_basis"),
		NFixedShare:         r.Number("n_fixed_share"),
		NutrientClass:       r.Text("nutrient_class"),
		RootDepthM:          r.Number("root_depth_m"),
		RootVolumeL:         r.Number("root_volume_l_per_plant"),
		HeightM:             r.Number("height_m"),
		NeedsSupport:        r.Text("needs_support"),
		Pollination:         r.Text("pollination"),
		KcIni:               r.Number("kc_ini"),
		KcMid:               r.Number("kc_mid"),
		KcEnd:               r.Number("kc_end"),
		StorageTempC:        r.Number("storage_temp_c"),
		StorageRHShare:      r.Number("storage_rh_pct") / 100,
		StorageLifeDays:     r.Integer("storage_life_days"),
		ChillSensitive:      r.Yes("chill_sensitive"),
		EdibleShare:         r.Number("edible_share_pct") / 100,
		EdibleBasis:         r.Text("edible_basis"),
		EatRaw:              r.Text("eat_raw"),
		Caution:             r.Text("caution"),
		Source:              r.Text("source"),
		suits: map[string]Fit{
			"media": Fit(r.Text("suits_media_bed")), "raft": Fit(r.Text("suits_raft")),
			"tower": Fit(r.Text("suits_tower")), "tub": Fit(r.Text("suits_soil_tub")),
		},
	}
}

// Lookup finds a crop by its key. The error for an unknown key names the
// nearest keys.
//
// Source: crops.csv.
func Lookup(key string) (Crop, error) {
	if c, ok := cropTable().Find(key); ok {
		return c, nil
	}
	return Crop{}, fmt.Errorf("crop %q: no such key in the crop table; nearest are %s",
		key, strings.Join(food.Nearest(key, Keys(), 3), ", "))
}

// Crops returns all crops in the order of the table.
func Crops() []Crop { return cropTable().All() }

// Keys returns the keys of all crops in the order of the table.
func Keys() []string { return cropTable().Keys() }
