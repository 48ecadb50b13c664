package ripen

import "tidebed/science/water"

// Method is how a loop is started.
type Method string

// The methods.
const (
	WithoutFish Method = "fishless"
	WithFish    Method = "fish-in"
)

// Shares of ammonium chloride.
const (
	nOfNH4Cl  = water.MolarN / 53.49
	clOfNH4Cl = 35.453 / 53.49
	// nPerMl is the nitrogen in a millilitre of ammonia solution of 10 %, of 0.957
	// g/ml (from memory).
	nPerMl = 0.957 * 0.10 / water.NH3PerN
)

// Day is a row of a plan: what to do in the morning and what the water shows
// then, before it is done. Water is that of the worst tank.
type Day struct {
	Day       int     `json:"day"`
	NH4ClG    float64 `json:"nh4clG"`    // of the whole day
	AmmoniaMl float64 `json:"ammoniaMl"` // of a 10 % solution, instead of it
	Parts     int     `json:"parts"`     // in how many equal parts between morning and evening
	BaseG     float64 `json:"baseG"`
	FeedG     float64 `json:"feedG"`
	FeedShare float64 `json:"feedShare"` // of the full ration
	Change    float64 `json:"change"`    // share of the water changed
	SaltG     float64 `json:"saltG"`     // calcium chloride, CaCl2·2H2O

	TANGm3   float64 `json:"tanGm3"`
	NO2NGm3  float64 `json:"no2nGm3"`
	NO3NGm3  float64 `json:"no3nGm3"`
	PH       float64 `json:"ph"`
	AlkGm3   float64 `json:"alkGm3"` // as CaCO3
	NH3NGm3  float64 `json:"nh3nGm3"`
	ClGm3    float64 `json:"clGm3"`
	TANAfter float64 `json:"tanAfterGm3"` // once the morning's dose is stirred in

	// The day's highest, of a fish-in plan.
	MostNH3N float64 `json:"mostNh3nGm3"`
	MostNO2N float64 `json:"mostNo2nGm3"`
	MostFelt float64 `json:"mostNo2nFeltGm3"` // nitrite nitrogen as felt behind chloride
	Note     string  `json:"note"`

	mostTAN, gaveNG, leastDO float64
}

// Balance is the nitrogen of a plan, g. In = what came in less what is
// accounted for should be nothing: see Left.
type Balance struct {
	StartG   float64 `json:"startG"`   // in the water filled in
	InG      float64 `json:"inG"`      // dosed, or given off by fish
	WaterG   float64 `json:"waterG"`   // in the water at the end
	ChangedG float64 `json:"changedG"` // gone with changed water, less what the new brought
	GasG     float64 `json:"gasG"`
	FormedG  float64 `json:"formedG"` // taken into bacteria
	PlantsG  float64 `json:"plantsG"` // none stand there
}

// LeftG is what is not accounted for, g: an error of the integrator.
func (b *Balance) LeftG() float64 {
	return b.StartG + b.InG - b.WaterG - b.ChangedG - b.GasG - b.FormedG - b.PlantsG
}

// Limits are what a fish-in plan keeps to.
type Limits struct {
	Group    string  `json:"group"`
	NH3NGm3  float64 `json:"nh3nGm3"`
	NO2NGm3  float64 `json:"no2nGm3"` // as felt
	TANGm3   float64 `json:"tanGm3"`
	Chloride float64 `json:"chloridePerNO2N"` // g per g of nitrite nitrogen
}

// Plan is a start-up day by day.
type Plan struct {
	Loop         string  `json:"loop"`
	Method       Method  `json:"method"`
	TempC        float64 `json:"tempC"`
	VolumeM3     float64 `json:"volumeM3"`
	MediaM2      float64 `json:"mediaM2"`
	GoalFeedGDay float64 `json:"goalFeedGDay"`
	GoalNGDay    float64 `json:"goalNGDay"`
	LoadGm3Day   float64 `json:"loadGm3Day"` // the goal's nitrogen in the loop's water
	CapacityNG   float64 `json:"capacityNGDay"`
	SeedGCODM3   float64 `json:"seedGCODM3"` // of ammonia oxidisers, all told
	RipeMediaM3  float64 `json:"ripeMediaM3"`
	Base         string  `json:"base"`     // formula
	BaseName     string  `json:"baseName"` // for people

	Days []Day `json:"days"`
	// ReadyDay is the day from which the goal is borne, 0 when MostDays do not do;
	// EarlyDay and LateDay the same with ten times and a tenth of the bacteria (three
	// times and a third where ripe media is moved), 0 likewise.
	ReadyDay     int `json:"readyDay"`
	EarlyDay     int `json:"earlyDay"`
	LateDay      int `json:"lateDay"`
	BothBelowDay int `json:"bothBelowDay"` // both below DoneGm3 for the first time after the ammonia was eaten

	Limits    *Limits `json:"limits,omitempty"`
	Kept      bool    `json:"kept"` // no limit is passed on any day
	NH4ClG    float64 `json:"nh4clG"`
	BaseG     float64 `json:"baseG"`
	SaltG     float64 `json:"saltG"`
	ChangedM3 float64 `json:"changedM3"`
	KGm3      float64 `json:"kGm3"` // potassium brought by the base and still there
	NaGm3     float64 `json:"naGm3"`
	ClGm3     float64 `json:"clGm3"`
	Nitrogen  Balance `json:"nitrogen"`

	Why        []string `json:"why"`
	Warnings   []string `json:"warnings"`
	Cautions   []string `json:"cautions"`
	Simplified []string `json:"simplified"`
	Sources    []string `json:"sources"`
}

func (q *setting) plan(m Method) *Plan {
	return &Plan{
		Loop: q.loop.Name, Method: m, TempC: q.o.TempC, VolumeM3: q.volumeM3, MediaM2: q.mediaM2, GoalFeedGDay: q.o.GoalFeedGDay, GoalNGDay: q.goalNGDay,
		LoadGm3Day: q.goalNGDay / q.volumeM3, CapacityNG: q.capacityGN, SeedGCODM3: q.seedG / q.volumeM3, RipeMediaM3: q.o.RipeMediaM3, Base: q.base.Formula, BaseName: q.base.Name,
		Warnings: q.warnings, Kept: true,
	}
}

// row reads the water of a morning.
func (b *basin) row(day int) Day {
	r := b.tank()
	return Day{Day: day, TANGm3: max(0, r.TANGm3), NO2NGm3: max(0, r.NO2NGm3), NO3NGm3: r.NO3NGm3, PH: r.PH, AlkGm3: r.AlkEqM3 * water.CaCO3PerEq, NH3NGm3: max(0, r.NH3NGm3), ClGm3: b.cl, TANAfter: r.TANGm3, Parts: 1}
}

// close writes down the end of a plan.
func (p *Plan) close(b *basin) {
	p.KGm3, p.NaGm3, p.ClGm3 = b.k, b.na, b.cl
	p.Nitrogen.WaterG = b.nitrogenG()
	p.Nitrogen.GasG, p.Nitrogen.FormedG, p.Nitrogen.PlantsG = b.totals.GasG, b.totals.FormedNG, b.totals.PlantTANG+b.totals.PlantNO3G
}
