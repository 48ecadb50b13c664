package site

// Person eats, works, or both.
type Person struct {
	Name      string   `yaml:"name" need:"yes"`
	Sex       string   `yaml:"sex" oneof:"female,male"`
	AgeY      float64  `yaml:"age" q:"plain" range:"1..120"` // years, on the opening's day
	WeightKg  float64  `yaml:"weight" q:"mass" range:"0<..350"`
	HeightM   float64  `yaml:"height" q:"length" range:"0.5..2.5"`
	Activity  string   `yaml:"activity" oneof:"sedentary,low-active,active,very-active"` // default low-active
	State     string   `yaml:"state" oneof:"pregnant-1,pregnant-2,pregnant-3,nursing-1,nursing-2"`
	Flags     []string `yaml:"flags" oneof:"diabetes,kidney,heart-failure,anticoagulant,lithium,eating-disorder,frail,ill,gout,kidney-stones,g6pd"`
	Allergies []string `yaml:"allergies"` // foods or groups of foods never served to this person
}

// HomeFedDays is a run of days on which named eaters live on the building.
type HomeFedDays struct {
	Name       string   `yaml:"name" need:"yes"`
	From       Date     `yaml:"from" need:"yes"`
	To         Date     `yaml:"to" need:"yes"` // the last day, included
	Eaters     []string `yaml:"eaters" need:"yes" ref:"person"`
	Cupboard   bool     `yaml:"cupboard"`                                               // may the store cupboard fill what the building does not give?
	Others     bool     `yaml:"other-sources"`                                          // do other inside sources (eggs, mushrooms) count as inside?
	AdultFloor float64  `yaml:"adult-floor" q:"share" range:"0.5..1"`                   // least share of an adult's energy; default 0.8
	Cooking    string   `yaml:"potatoes" oneof:"boiled-in-skin,peeled-raw,baked-whole"` // default boiled-in-skin
}

// CupboardFood is a bought food that may stand on the table.
type CupboardFood struct {
	Food       string  `yaml:"food" need:"yes" ref:"food"`
	StockKg    float64 `yaml:"stock" q:"mass" range:"0..10000" need:"yes"`
	PricePerKg float64 `yaml:"price" q:"price-per-mass" range:"0..1000"`
	Until      Date    `yaml:"until"` // best before
}

// OtherSource is food made inside by neither bed nor tank.
type OtherSource struct {
	Food   string  `yaml:"food" need:"yes" ref:"food"`
	KgWeek float64 `yaml:"per-week" q:"mass" range:"0<..1000" need:"yes"`
	KeepsS float64 `yaml:"keeps" q:"duration" range:"0..1e8"`
	From   Date    `yaml:"from"`
	To     Date    `yaml:"to"`
}

// LarderPlace is where own produce is put by.
type LarderPlace struct {
	Name       string  `yaml:"name" need:"yes"`
	Kind       string  `yaml:"kind" need:"yes" oneof:"cool-store,freezer,dry-shelf,clamp"`
	CapacityKg float64 `yaml:"capacity" q:"mass" range:"0<..100000" usual:"5..2000" need:"yes"`
	TempC      float64 `yaml:"temp" q:"temperature" range:"-40..30"`
	PowerW     float64 `yaml:"power" q:"power" range:"0..20000"` // mean draw
	LossWeek   float64 `yaml:"loss-per-week" q:"share" range:"0..1" usual:"0..0.05"`
}

// CropWish says what may be grown and how it is liked.
type CropWish struct {
	Crop   string  `yaml:"crop" need:"yes" ref:"crop"`
	Liking string  `yaml:"liking" oneof:"loved,liked,eaten,never"` // default liked
	KgWeek float64 `yaml:"per-week" q:"mass" range:"0..1000"`      // wanted by the household
}

// Rack holds trays.
type Rack struct {
	Name    string  `yaml:"name" need:"yes"`
	Zone    string  `yaml:"zone" ref:"zone"`
	Trays   int     `yaml:"trays" range:"1..10000" need:"yes"`
	TrayM2  float64 `yaml:"tray-area" q:"area" range:"0<..2"`
	Shelves int     `yaml:"shelves" range:"1..20"`
	RatedKg float64 `yaml:"rated-per-shelf" q:"mass" range:"0..5000"`
}

// TrayGreen is a green grown on trays for sale.
type TrayGreen struct {
	Green      string  `yaml:"green" need:"yes"`
	PricePerKg float64 `yaml:"price" q:"price-per-mass" range:"0..1000"`
	SeedPerKg  float64 `yaml:"seed-price" q:"price-per-mass" range:"0..10000"`
}

// Buyer takes greens or bed crops on standing order.
type Buyer struct {
	Name   string  `yaml:"name" need:"yes"`
	Kind   string  `yaml:"kind"`
	Orders []Order `yaml:"orders"`
}

// Order is a standing order.
type Order struct {
	Good       string  `yaml:"good" need:"yes"` // a tray green or a crop
	WeekKg     float64 `yaml:"per-week" q:"mass" range:"0<..10000" need:"yes"`
	Day        string  `yaml:"day" oneof:"monday,tuesday,wednesday,thursday,friday,saturday,sunday"`
	PricePerKg float64 `yaml:"price" q:"price-per-mass" range:"0..1000"`
	From       Date    `yaml:"from"`
	To         Date    `yaml:"to"`
}

// Prices are what the building pays.
type Prices struct {
	ElectricityPerJ float64 `yaml:"electricity" q:"price-per-energy"`
	CheapPerJ       float64 `yaml:"electricity-cheap" q:"price-per-energy"`
	CheapFromH      float64 `yaml:"cheap-from" q:"plain" range:"0..24"`
	CheapToH        float64 `yaml:"cheap-to" q:"plain" range:"0..24"`
	FuelPerUnit     float64 `yaml:"fuel" q:"plain" range:"0..1000"` // per kg, L or m³ as sold
	LabourPerS      float64 `yaml:"labour" q:"price-per-time"`
}

// Labour is the work there is.
type Labour struct {
	HoursWeek float64 `yaml:"hours-per-week" q:"plain" range:"0..1000"`
}

// Opening is what stands in the building on its first day.
type Opening struct {
	Date      Date           `yaml:"date" need:"yes"`
	Cohorts   []Cohort       `yaml:"fish"`
	Plantings []Planting     `yaml:"plantings"`
	Larder    []PutBy        `yaml:"larder"`
	Water     []OpeningWater `yaml:"water"`
}

// Cohort is fish of one age group in a tank.
type Cohort struct {
	Name     string  `yaml:"name" need:"yes"`
	Species  string  `yaml:"species" need:"yes" ref:"species"`
	Tank     string  `yaml:"tank" need:"yes" ref:"tank"`
	Count    int     `yaml:"count" range:"1..1000000" need:"yes"`
	WeightKg float64 `yaml:"weight" q:"mass" range:"0<..100" need:"yes"` // mean, live
	Feed     string  `yaml:"feed" ref:"feed"`
	Keep     int     `yaml:"keep" range:"0..1000000"` // never eaten: broodstock, the loop's nitrogen
	Stocked  Date    `yaml:"stocked"`                 // comes into the tank; default the opening
}

// Planting is a crop that stands in a bed, or is already planned for it.
type Planting struct {
	Crop    string  `yaml:"crop" need:"yes" ref:"crop"`
	Bed     string  `yaml:"bed" need:"yes" ref:"bed"`
	AreaM2  float64 `yaml:"area" q:"area" range:"0<..2000" need:"yes"`
	Planted Date    `yaml:"planted" need:"yes"` // transplanted, or sown in place
	Pull    Date    `yaml:"pull"`               // the bed is cleared: what is ripe is taken, or young what can be eaten so; default when it is over
}

// PutBy is own produce in the larder.
type PutBy struct {
	Food        string  `yaml:"food" need:"yes" ref:"food"`
	Place       string  `yaml:"place" need:"yes" ref:"larder"`
	MassKg      float64 `yaml:"mass" q:"mass" range:"0<..100000" need:"yes"` // as put by
	Since       Date    `yaml:"since"`
	Until       Date    `yaml:"until"`        // keeps until
	AsHarvested bool    `yaml:"as-harvested"` // the refuse is still on it
}

// OpeningWater is a loop's water on the first day.
type OpeningWater struct {
	Loop            string  `yaml:"loop" need:"yes" ref:"loop"`
	TempC           float64 `yaml:"temp" q:"temperature" range:"0..40"`
	PH              float64 `yaml:"ph" q:"plain" range:"3..11"`
	TANGm3          float64 `yaml:"ammonia" q:"as-n" range:"0..100"`
	NitriteNGm3     float64 `yaml:"nitrite" q:"as-n" range:"0..100"`
	NitrateNGm3     float64 `yaml:"nitrate" q:"as-n" range:"0..1000"`
	AlkalinityMolM3 float64 `yaml:"alkalinity" q:"alkalinity" range:"0..20"`
	PhosphateP      float64 `yaml:"phosphate" q:"as-p" range:"0..200"`
	PotassiumGm3    float64 `yaml:"potassium" q:"concentration" range:"0..1000"`
	Ripe            bool    `yaml:"ripe"` // the stones carry their microbes
}
