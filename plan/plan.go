package plan

import (
	"tidebed/menu"
	"tidebed/season"
	"tidebed/site"
)

// Plan is what to sow, stock, put by and take, and what comes of it.
type Plan struct {
	Site  string    `json:"site"`
	Today site.Date `json:"today"`
	From  site.Date `json:"from"` // first day that is planned: today
	To    site.Date `json:"to"`   // last

	Sentence string   `json:"sentence"` // the answer
	Reasons  []string `json:"reasons"`  // three at most

	Occasions []Occasion  `json:"occasions"` // by date; none that is over
	Sowings   []Sowing    `json:"sowings"`   // by the day of their first job; what stands already comes first
	Fish      []FishTake  `json:"fish"`      // by day
	Stockings []Stocking  `json:"stockings"` // new fish, by day
	Feeds     []FeedOrder `json:"feeds"`
	PutBy     []PutBy     `json:"putBy"` // what is to be kept for a later set of days
	Weeks     []Week      `json:"weeks"`
	Groups    []Group     `json:"groups"` // the beds, like ones together
	Asked     []Asked     `json:"asked"`  // what the household and orders want each week

	Levels  []Level  `json:"levels"`  // in the order in which they were run
	Rounds  []Round  `json:"rounds"`  // of the agreement with the season
	Settled string   `json:"settled"` // how far plan and season agree, in words
	Check   Check    `json:"check"`   // the plan held against the season it makes
	Bound   float64  `json:"bound"`   // of the whole-module programme's objective
	Gap     float64  `json:"gap"`     // relative distance from it, before the menus are solved once more; 0 also where not known
	Fewer   Fewer    `json:"fewer"`   // what it costs that the sowings are few
	Stopped bool     `json:"stopped"` // stopped before its end: the best so far
	Changes []Change `json:"changes"` // against the plan in force, by day
	InForce InForce  `json:"inForce"` // what the plan in force would give

	Rejected []Rejected `json:"rejected"` // crops that are not used, and why
	Collides []Collide  `json:"collides"` // demands that cannot be met, with the smallest that would do

	Assumed  []string `json:"assumed"` // figures of ours that stand in
	Warnings []string `json:"warnings"`
	Cautions []string `json:"cautions"`

	// Seasons are the courses of the season that the plan makes: low, typical, high.
	Seasons [season.Courses]*season.Forecast `json:"-"`
	// Applied is the site with the plan in it.
	Applied *site.Site `json:"-"`

	made  *maker // for Explain
	found *solution
}

// Fed reports whether every eater has what must be had, children all and adults their
// floor, from inside and the store cupboard together. False where there is no menu.
func (o *Occasion) Fed() bool {
	if o.Menu == nil {
		return false
	}
	for _, e := range o.Menu.Eaters {
		if e.OutsideKcal > 1 {
			return false
		}
	}
	return true
}

// Fewer tells what it costs that a plan's sowings are made few: each is work.
type Fewer struct {
	Sowings int     `json:"sowings"` // new ones of the best whole-module plan found before that
	Gap     float64 `json:"gap"`     // that plan's relative distance from the bound
	To      int     `json:"to"`      // new ones after it, those that then serve nothing still counted
}

// Occasion is one set of home-fed days under the plan.
type Occasion struct {
	Name       string     `json:"name"`
	From       site.Date  `json:"from"`
	To         site.Date  `json:"to"`
	Days       int        `json:"days"`
	Eaters     []string   `json:"eaters"`
	NeedKcal   float64    `json:"needKcal"`   // all eaters, all days
	WorstShare float64    `json:"worstShare"` // of energy from inside, the worst-off eater, low yields
	MeanShare  float64    `json:"meanShare"`  // of all
	FedShare   float64    `json:"fedShare"`   // of all, with what is bought
	LateShare  float64    `json:"lateShare"`  // mean share if all that is sown from now on ripened a week later; 0 when not asked
	Menu       *menu.Menu `json:"menu"`
	Sources    []Source   `json:"sources"` // where the energy comes from, most first
	Table      []TableDay `json:"table"`   // who eats what on which day, all eaters together
	Binds      []string   `json:"binds"`   // what keeps it from being more
}

// Source is one thing that feeds an occasion.
type Source struct {
	What   string  `json:"what"`   // "potato", "rainbow trout"
	Where  string  `json:"where"`  // bed, tank, larder place, cupboard
	Kind   string  `json:"kind"`   // planting, fish, larder, other, cupboard
	Kg     float64 `json:"kg"`     // as harvested, put by, or live weight
	Kcal   float64 `json:"kcal"`   // as eaten
	Share  float64 `json:"share"`  // of the need of all eaters and days
	Inside bool    `json:"inside"` // made by the building
	Sowing string  `json:"sowing"` // id of the sowing it comes from; may be empty
}

// TableDay is one day's table.
type TableDay struct {
	Date  site.Date `json:"date"`
	Foods []Serving `json:"foods"`
}

// Serving is one food on one day, for all eaters.
type Serving struct {
	Food  string  `json:"food"`
	Name  string  `json:"name"`
	Grams float64 `json:"grams"` // as eaten
	Kcal  float64 `json:"kcal"`
}

// Part is the share of a sowing that stands in one bed.
type Part struct {
	Bed     string  `json:"bed"`
	Modules int     `json:"modules"` // 0 for what stands already
	AreaM2  float64 `json:"areaM2"`
}

// Serve is what a sowing gives to one use.
type Serve struct {
	Use  string    `json:"use"`  // an occasion's name, "the household" or "orders"
	Kg   float64   `json:"kg"`   // low yield
	Kcal float64   `json:"kcal"` // as eaten; 0 for household and orders
	Day  site.Date `json:"day"`  // first day of it
}

// Sowing is one planting of the plan.
type Sowing struct {
	ID          string     `json:"id"` // stays the same while crop, beds' group and week do: "potato/tubs/2027-03-08"
	Crop        string     `json:"crop"`
	Name        string     `json:"name"`
	Group       string     `json:"group"` // of beds
	Parts       []Part     `json:"parts"`
	AreaM2      float64    `json:"areaM2"`
	Sow         site.Date  `json:"sow"`    // in the nursery or in the bed
	Plant       site.Date  `json:"plant"`  // in the bed; the same as Sow where it is sown there
	First       site.Date  `json:"first"`  // first harvest, low course
	Last        site.Date  `json:"last"`   // last harvest
	Pulled      site.Date  `json:"pulled"` // the bed is free
	Young       bool       `json:"young"`  // taken before it is ripe, for the table
	Early       bool       `json:"early"`  // pulled before it is over
	Standing    bool       `json:"standing"`
	Pinned      bool       `json:"pinned"`
	Kg          [3]float64 `json:"kg"` // low, typical, high, of the whole sowing
	Serves      []Serve    `json:"serves"`
	Plants      float64    `json:"plants"`
	Seeds       int        `json:"seeds"`   // to sow for them; 0 for tubers, slips, cuttings
	Places      float64    `json:"places"`  // in the nursery
	SowDays     int        `json:"sowDays"` // in the nursery
	LabourH     float64    `json:"labourH"` // from sowing to pulling
	KeepDays    int        `json:"keepDays"`
	KeepAt      string     `json:"keepAt"`
	Propagation string     `json:"propagation"` // seed, tuber, slip …
	Why         string     `json:"why"`         // what it is for, in a sentence
	Grown       []string   `json:"grown"`       // the figures it was worked out with
	Warnings    []string   `json:"warnings"`
	Caution     string     `json:"caution"`
	Source      string     `json:"source"`
}

// FishTake is whole fish taken out of a tank.
type FishTake struct {
	Cohort  string    `json:"cohort"`
	Species string    `json:"species"`
	Tank    string    `json:"tank"`
	Day     site.Date `json:"day"`   // killed on
	Purge   site.Date `json:"purge"` // no feed from, in clean water
	Number  int       `json:"number"`
	WeightG float64   `json:"weightG"` // live, each
	Kg      float64   `json:"kg"`      // live, all
	For     string    `json:"for"`     // an occasion's name, or the freezer
	Caution string    `json:"caution"`
}

// Stocking is new fish to be bought.
type Stocking struct {
	Name    string    `json:"name"`
	Species string    `json:"species"`
	Title   string    `json:"title"`
	Tank    string    `json:"tank"`
	Day     site.Date `json:"day"`
	Order   site.Date `json:"order"`
	Number  int       `json:"number"`
	WeightG float64   `json:"weightG"`
	Feed    string    `json:"feed"`
	Why     string    `json:"why"`
	Caution string    `json:"caution"`
}

// FeedOrder is a feed that runs out under the plan.
type FeedOrder struct {
	Feed    string    `json:"feed"`
	UsedKg  float64   `json:"usedKg"`
	StockKg float64   `json:"stockKg"`
	OrderBy site.Date `json:"orderBy"` // zero: it lasts
	Say     string    `json:"say"`
}

// PutBy is something kept for a later set of days.
type PutBy struct {
	What     string    `json:"what"`
	Food     string    `json:"food"`
	Place    string    `json:"place"`
	Day      site.Date `json:"day"` // it goes in
	For      string    `json:"for"`
	UseOn    site.Date `json:"useOn"`
	KgIn     float64   `json:"kgIn"`
	KgOut    float64   `json:"kgOut"` // what is left by then
	Sowing   string    `json:"sowing"`
	Standing bool      `json:"standing"` // lies there already
}

// Week is what a week of the plan takes.
type Week struct {
	From       site.Date  `json:"from"`
	LabourH    float64    `json:"labourH"`
	LabourMaxH float64    `json:"labourMaxH"` // 0: no limit is given
	Places     float64    `json:"places"`     // of the nursery, taken
	PlacesMax  float64    `json:"placesMax"`  // 0: no limit is known
	GreensKg   float64    `json:"greensKg"`   // for the household
	GreensWant float64    `json:"greensWant"`
	OrdersKg   float64    `json:"ordersKg"`
	OrdersWant float64    `json:"ordersWant"`
	Loops      []LoopWeek `json:"loops"`
	PlantedM2  []float64  `json:"plantedM2"` // by group
}

// Asked is a crop that the household or orders want each week.
type Asked struct {
	Crop   string    `json:"crop"`
	Name   string    `json:"name"`
	Use    string    `json:"use"`    // "the household" or "orders"
	WantKg float64   `json:"wantKg"` // over the plan
	Kg     float64   `json:"kg"`     // given, low yields
	From   site.Date `json:"from"`   // first week in which it is given; zero: never
	Why    string    `json:"why"`    // why it is not more
}

// LoopWeek is a loop's nitrogen in a week, g.
type LoopWeek struct {
	Loop   string  `json:"loop"`
	MadeG  float64 `json:"madeG"`  // from feed, that reaches the plants
	DrawnG float64 `json:"drawnG"` // by all that is planted
	ShortG float64 `json:"shortG"` // what the water's own store does not cover either
}

// Group is beds that are alike: the same water, air, kind, depth and light.
type Group struct {
	Name     string   `json:"name"`
	Loop     string   `json:"loop"`
	Zone     string   `json:"zone"`
	Kind     string   `json:"kind"`
	Beds     []string `json:"beds"`
	AreaM2   float64  `json:"areaM2"`
	ModuleM2 float64  `json:"moduleM2"`
	Modules  int      `json:"modules"`
	UsedM2   float64  `json:"usedM2"`  // mean over the plan
	UsedNow  float64  `json:"usedNow"` // m² that stand planted today
}

// Level is one objective.
type Level struct {
	Key   string  `json:"key"`
	Name  string  `json:"name"`
	Unit  string  `json:"unit"`  // share, g, hours, kg …
	Most  bool    `json:"most"`  // the more the better
	Value float64 `json:"value"` // as the linear programme reached it
	Give  float64 `json:"give"`  // how much of it later levels may take back
	Whole float64 `json:"whole"` // in whole modules
}

// Round is one solution and the season run with it.
type Round struct {
	WorstShare float64 `json:"worstShare"` // as the programme had it
	Found      float64 `json:"found"`      // as the season's run has it
	Changed    float64 `json:"changed"`    // largest change of an occasion's energy, over its need
	Note       string  `json:"note"`
}

// Check is the plan held against the season that it makes, without the solver.
type Check struct {
	OK    bool     `json:"ok"`
	Said  string   `json:"said"`
	Fault []string `json:"fault"` // what does not hold
}

// Change is one difference from the plan in force.
type Change struct {
	Day  site.Date `json:"day"`
	What string    `json:"what"` // "sow 2.2 m² of kale in north 3", "leave out …"
	Out  bool      `json:"out"`  // something in force that is given up
}

// InForce is the plan in force: the plantings of the site that are still to come.
type InForce struct {
	Sowings    int       `json:"sowings"`
	WorstShare []float64 `json:"worstShare"` // by occasion
	MeanShare  []float64 `json:"meanShare"`
	Keep       bool      `json:"keep"` // the gain is too small to change it
	Say        string    `json:"say"`
}

// Rejected is a crop that the plan does not use.
type Rejected struct {
	Crop   string  `json:"crop"`
	Name   string  `json:"name"`
	Why    string  `json:"why"`
	Points float64 `json:"points"` // what one module of it would cost in points of the worst share; 0 when not tried
	Tried  bool    `json:"tried"`
}

// Collide is a demand that cannot be met.
type Collide struct {
	What string `json:"what"`
	Mend string `json:"mend"` // the smallest change that would do, with its figure
}

// Worth is what one unit more or one change is worth, found by solving again.
type Worth struct {
	What   string  `json:"what"`   // "1 m² more of south media"
	Points float64 `json:"points"` // of the mean share of all occasions, in hundredths; 1 is a point
	Worst  float64 `json:"worst"`  // of the worst share
	Note   string  `json:"note"`
}
