package fish

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed fish_species.csv
var speciesCSV string

// Figure is a number that may be unknown; Known false means the table has none.
type Figure struct {
	Amount float64
	Known  bool
}

// Species is a row of the species table. Temperatures are of the water.
type Species struct {
	ID                  string  // such as "trout_rainbow"
	Name                string  // for people
	ScientificName      string  // genus and species
	Group               string  // warm_omnivore, cold_carnivore …
	LethalLowC          float64 // deaths within hours to days below
	FeedStopLowC        float64 // no feed below
	OptLowC             float64 // best from
	OptHighC            float64 // best up to
	FeedStopHighC       float64 // no feed above
	LethalHighC         float64 // deaths within hours to days above
	GrowthTMinC         float64 // lower end of the growth curve, may be a value of the fit
	GrowthTOptC         float64 // fastest growth
	GrowthTMaxC         float64 // upper end of the growth curve
	GrowthAGPerDay      float64 // g/d of a 1 g fish at GrowthTOptC
	GrowthB             float64 // power of the weight
	GrowthFactorLow     float64 // slow stock against the model
	GrowthFactorHigh    float64 // fast stock against the model
	TGCPer1000          Figure  // thermal-unit growth coefficient × 1000, weights in g
	DOLethalGm3         float64 // oxygen
	DOMinFeedGm3        float64 // no feed below
	DOFullFeedGm3       float64 // full feed above
	TANMaxGm3           float64 // total ammonia nitrogen
	NH3NMaxGm3          float64 // un-ionised ammonia nitrogen, full feed up to
	NH3NStopGm3         float64 // no feed from
	NO2NMaxGm3          float64 // nitrite nitrogen
	ProteinFryShare     float64 // of feed
	ProteinGrowoutShare float64 // of feed
	FCRGrowout          float64 // feed given over live gain
	StockWeightG        float64 // usual weight at stocking
	MarketWeightLowG    Figure  // g, usual at harvest from
	MarketWeightHighG   Figure  // g, usual at harvest up to
	MonthsLow           Figure  // to market
	MonthsHigh          Figure  // to market
	MortalityPerDay     float64 // share of the stock lost a day
	DensityMaxKgM3      float64 // crustaceans go by floor area instead
	LWLog10A            Figure  // log10 W = a + b log10 L + quad (log10 L)²
	LWB                 Figure  // power of the length
	LWQuad              Figure  // only where the curve has it
	LWLength            string  // which length, in which unit
	RespEq              string  // form of the respiration equation
	RespRA              Figure  // g O₂ per g fish and day at 1 g
	RespRB              Figure  // power of the weight
	RespRQ              Figure  // slope with temperature
	RespRtoC            Figure  // temperature of the highest rate
	RespRtmC            Figure  // temperature of no rate
	RespActivity        Figure  // factor for swimming
	SDAShare            Figure  // share of eaten energy spent on digestion
	EgestionShare       Figure  // share of eaten energy not digested
	BodyEnergyJPerG     Figure  // J per g live fish
	ConsEq              string  // form of the consumption equation
	ConsCQ              Figure  // slope with temperature, or the temperature of ConsCK1
	ConsCtoC            Figure  // temperature of the best appetite
	ConsCtmC            Figure  // upper end, or end of the best appetite
	ConsCtlC            Figure  // temperature of ConsCK4
	ConsCK1             Figure  // share of the best appetite in the cold
	ConsCK4             Figure  // share of the best appetite in the heat
	PermitCaution       string  // law and risk
	Source              string
}

// figure reads a cell that may be blank.
func figure(r table.Row, column string) Figure {
	v, known := r.Optional(column)
	return Figure{v, known}
}

var speciesTable = sync.OnceValue(func() *table.Index[Species] {
	return table.ReadIndex("fish_species.csv", speciesCSV, "species_id", speciesOf)
})

func speciesOf(r table.Row) Species {
	return Species{
		ID:                  r.Text("species_id"),
		Name:                r.Text("common_name"),
		ScientificName:      r.Text("scientific_name"),
		Group:               r.Text("group"),
		LethalLowC:          r.Number("lethal_low_c"),
		FeedStopLowC:        r.Number("feed_stop_low_c"),
		OptLowC:             r.Number("opt_low_c"),
		OptHighC:            r.Number("opt_high_c"),
		FeedStopHighC:       r.Number("feed_stop_high_c"),
		LethalHighC:         r.Number("lethal_high_c"),
		GrowthTMinC:         r.Number("growth_tmin_c"),
		GrowthTOptC:         r.Number("growth_topt_c"),
		GrowthTMaxC:         r.Number("growth_tmax_c"),
		GrowthAGPerDay:      r.Number("growth_a_g_per_day"),
		GrowthB:             r.Number("growth_b"),
		GrowthFactorLow:     r.Number("growth_factor_low"),
		GrowthFactorHigh:    r.Number("growth_factor_high"),
		TGCPer1000:          figure(r, "tgc_per_1000"),
		DOLethalGm3:         r.Number("do_lethal_mg_l"),
		DOMinFeedGm3:        r.Number("do_min_feed_mg_l"),
		DOFullFeedGm3:       r.Number("do_full_feed_mg_l"),
		TANMaxGm3:           r.Number("tan_max_mg_l"),
		NH3NMaxGm3:          r.Number("nh3n_max_mg_l"),
		NH3NStopGm3:         r.Number("nh3n_stop_mg_l"),
		NO2NMaxGm3:          r.Number("no2n_max_mg_l"),
		ProteinFryShare:     r.Number("protein_fry_pct") / 100,
		ProteinGrowoutShare: r.Number("protein_growout_pct") / 100,
		FCRGrowout:          r.Number("fcr_growout"),
		StockWeightG:        r.Number("stock_weight_g"),
		MarketWeightLowG:    figure(r, "market_weight_low_g"),
		MarketWeightHighG:   figure(r, "market_weight_high_g"),
		MonthsLow:           figure(r, "months_low"),
		MonthsHigh:          figure(r, "months_high"),
		MortalityPerDay:     r.Number("mortality_per_day"),
		DensityMaxKgM3:      r.Number("density_max_aerated_kg_m3"),
		LWLog10A:            figure(r, "lw_log10_a"),
		LWB:                 figure(r, "lw_b"),
		LWQuad:              figure(r, "lw_quad"),
		LWLength:            r.Text("lw_length"),
		RespEq:              r.Text("resp_eq"),
		RespRA:              figure(r, "resp_ra"),
		RespRB:              figure(r, "resp_rb"),
		RespRQ:              figure(r, "resp_rq"),
		RespRtoC:            figure(r, "resp_rto_c"),
		RespRtmC:            figure(r, "resp_rtm_c"),
		RespActivity:        figure(r, "resp_activity"),
		SDAShare:            figure(r, "sda_fraction"),
		EgestionShare:       figure(r, "egestion_fraction"),
		BodyEnergyJPerG:     figure(r, "body_energy_j_g"),
		ConsEq:              r.Text("cons_eq"),
		ConsCQ:              figure(r, "cons_cq"),
		ConsCtoC:            figure(r, "cons_cto_c"),
		ConsCtmC:            figure(r, "cons_ctm_c"),
		ConsCtlC:            figure(r, "cons_ctl_c"),
		ConsCK1:             figure(r, "cons_ck1"),
		ConsCK4:             figure(r, "cons_ck4"),
		PermitCaution:       r.Text("permit_caution"),
		Source:              r.Text("source"),
	}
}

// Lookup finds a species by its ID. The error for an unknown ID names the IDs
// that share a word with it, or else all.
//
// Source: fish_species.csv.
func Lookup(id string) (Species, error) {
	if s, ok := speciesTable().Find(id); ok {
		return s, nil
	}
	var near []string
	for _, known := range IDs() {
		for _, word := range strings.FieldsFunc(strings.ToLower(id), func(r rune) bool { return r == '_' || r == ' ' || r == '-' }) {
			if len(word) > 2 && strings.Contains(known, word) && !slices.Contains(near, known) {
				near = append(near, known)
			}
		}
	}
	if near == nil {
		near = IDs()
	}
	return Species{}, fmt.Errorf("fish %q: no such species in the table; give one of %s", id, strings.Join(near, ", "))
}

// All returns every species in the order of the table.
func All() []Species { return speciesTable().All() }

// IDs returns the IDs of every species in the order of the table.
func IDs() []string { return speciesTable().Keys() }
