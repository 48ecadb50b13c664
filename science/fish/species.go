package fish

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"
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

// cells reads the typed cells of a row. A cell that cannot be read is a fault
// of the embedded table.
type cells map[string]string

func (r cells) optional(column string) Figure {
	if r[column] == "" {
		return Figure{}
	}
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		panic(fmt.Sprintf("fish: embedded table, %s, %s: %v", r["species_id"], column, err))
	}
	return Figure{v, true}
}

func (r cells) share(column string) Figure {
	f := r.optional(column)
	f.Amount /= 100
	return f
}

func (r cells) float(column string) float64 {
	f := r.optional(column)
	if !f.Known {
		panic(fmt.Sprintf("fish: embedded table, %s: %s is blank", r["species_id"], column))
	}
	return f.Amount
}

func readTable(name, text string) []cells {
	reader := csv.NewReader(strings.NewReader(text))
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	if err != nil || len(lines) < 2 {
		panic(fmt.Sprintf("fish: embedded table %s: %d rows, %v", name, len(lines), err))
	}
	out := make([]cells, 0, len(lines)-1)
	for _, line := range lines[1:] {
		r := cells{}
		for i, cell := range line {
			r[lines[0][i]] = strings.TrimSpace(cell)
		}
		out = append(out, r)
	}
	return out
}

var speciesTable = sync.OnceValue(func() []Species {
	var out []Species
	for _, r := range readTable("fish_species.csv", speciesCSV) {
		out = append(out, r.species())
	}
	return out
})

func (r cells) species() Species {
	return Species{
		ID:                  r["species_id"],
		Name:                r["common_name"],
		ScientificName:      r["scientific_name"],
		Group:               r["group"],
		LethalLowC:          r.float("lethal_low_c"),
		FeedStopLowC:        r.float("feed_stop_low_c"),
		OptLowC:             r.float("opt_low_c"),
		OptHighC:            r.float("opt_high_c"),
		FeedStopHighC:       r.float("feed_stop_high_c"),
		LethalHighC:         r.float("lethal_high_c"),
		GrowthTMinC:         r.float("growth_tmin_c"),
		GrowthTOptC:         r.float("growth_topt_c"),
		GrowthTMaxC:         r.float("growth_tmax_c"),
		GrowthAGPerDay:      r.float("growth_a_g_per_day"),
		GrowthB:             r.float("growth_b"),
		GrowthFactorLow:     r.float("growth_factor_low"),
		GrowthFactorHigh:    r.float("growth_factor_high"),
		TGCPer1000:          r.optional("tgc_per_1000"),
		DOLethalGm3:         r.float("do_lethal_mg_l"),
		DOMinFeedGm3:        r.float("do_min_feed_mg_l"),
		DOFullFeedGm3:       r.float("do_full_feed_mg_l"),
		TANMaxGm3:           r.float("tan_max_mg_l"),
		NH3NMaxGm3:          r.float("nh3n_max_mg_l"),
		NH3NStopGm3:         r.float("nh3n_stop_mg_l"),
		NO2NMaxGm3:          r.float("no2n_max_mg_l"),
		ProteinFryShare:     r.float("protein_fry_pct") / 100,
		ProteinGrowoutShare: r.float("protein_growout_pct") / 100,
		FCRGrowout:          r.float("fcr_growout"),
		StockWeightG:        r.float("stock_weight_g"),
		MarketWeightLowG:    r.optional("market_weight_low_g"),
		MarketWeightHighG:   r.optional("market_weight_high_g"),
		MonthsLow:           r.optional("months_low"),
		MonthsHigh:          r.optional("months_high"),
		MortalityPerDay:     r.float("mortality_per_day"),
		DensityMaxKgM3:      r.float("density_max_aerated_kg_m3"),
		LWLog10A:            r.optional("lw_log10_a"),
		LWB:                 r.optional("lw_b"),
		LWQuad:              r.optional("lw_quad"),
		LWLength:            r["lw_length"],
		RespEq:              r["resp_eq"],
		RespRA:              r.optional("resp_ra"),
		RespRB:              r.optional("resp_rb"),
		RespRQ:              r.optional("resp_rq"),
		RespRtoC:            r.optional("resp_rto_c"),
		RespRtmC:            r.optional("resp_rtm_c"),
		RespActivity:        r.optional("resp_activity"),
		SDAShare:            r.optional("sda_fraction"),
		EgestionShare:       r.optional("egestion_fraction"),
		BodyEnergyJPerG:     r.optional("body_energy_j_g"),
		ConsEq:              r["cons_eq"],
		ConsCQ:              r.optional("cons_cq"),
		ConsCtoC:            r.optional("cons_cto_c"),
		ConsCtmC:            r.optional("cons_ctm_c"),
		ConsCtlC:            r.optional("cons_ctl_c"),
		ConsCK1:             r.optional("cons_ck1"),
		ConsCK4:             r.optional("cons_ck4"),
		PermitCaution:       r["permit_caution"],
		Source:              r["source"],
	}
}

// Lookup finds a species by its ID. The error for an unknown ID names the IDs
// that share a word with it, or else all.
//
// Source: fish_species.csv.
func Lookup(id string) (Species, error) {
	var near, all []string
	for _, s := range speciesTable() {
		if s.ID == id {
			return s, nil
		}
		all = append(all, s.ID)
		for _, word := range strings.FieldsFunc(strings.ToLower(id), func(r rune) bool { return r == '_' || r == ' ' || r == '-' }) {
			if len(word) > 2 && strings.Contains(s.ID, word) && !slices.Contains(near, s.ID) {
				near = append(near, s.ID)
			}
		}
	}
	if near == nil {
		near = all
	}
	return Species{}, fmt.Errorf("fish %q: no such species in the table; give one of %s", id, strings.Join(near, ", "))
}

// All returns every species in the order of the table.
func All() []Species { return slices.Clone(speciesTable()) }

// IDs returns the IDs of every species in the order of the table.
func IDs() []string {
	var ids []string
	for _, s := range speciesTable() {
		ids = append(ids, s.ID)
	}
	return ids
}
