package site

// Loop is one body of recirculating water.
type Loop struct {
	Name       string  `yaml:"name" need:"yes"`
	Water      string  `yaml:"water" ref:"water"` // what it is topped up with
	SumpM3     float64 `yaml:"sump" q:"volume" range:"0..1000" usual:"0.1..20"`
	SumpLevelM float64 `yaml:"sump-level" q:"length" range:"-10..10"`             // water surface above the floor
	KeepPH     float64 `yaml:"keep-ph" q:"plain" range:"5.5..8" usual:"6.4..7.4"` // to which the keeper doses; default 6.8
	IronGm3    float64 `yaml:"iron" q:"concentration" range:"0..5"`               // given each three weeks; default 2 mg/L
	Doses      string  `yaml:"doses" oneof:"as-needed,none"`                      // default as-needed
	SolidsOut  float64 `yaml:"solids-out" q:"share" range:"0..0.95"`              // share of the solids that a filter takes out

	Tanks    []Tank    `yaml:"tanks"`
	Beds     []Bed     `yaml:"beds"`
	Pumps    []Pump    `yaml:"pumps"`
	Pipes    []Pipe    `yaml:"pipes"`
	Aerators []Aerator `yaml:"aerators"`
}

// Tank holds fish.
type Tank struct {
	Name     string  `yaml:"name" need:"yes"`
	Role     string  `yaml:"role" oneof:"stock,quarantine,purge"` // default stock
	VolumeM3 float64 `yaml:"volume" q:"volume" range:"0<..1000" usual:"0.1..50" need:"yes"`
	LevelM   float64 `yaml:"level" q:"length" range:"-10..10"` // water surface above the floor
	DepthM   float64 `yaml:"depth" q:"length" range:"0<..10" usual:"0.4..2.5"`
	WaterC   float64 `yaml:"water" q:"temperature" range:"0..40"` // held at
}

// Bed is where plants grow. A bed names its loop by standing in it, and its
// zone by name: water and air need not agree.
type Bed struct {
	Name     string  `yaml:"name" need:"yes"`
	Kind     string  `yaml:"kind" need:"yes" oneof:"media,constant,raft,tower,tub"`
	Zone     string  `yaml:"zone" need:"yes" ref:"zone"`
	LengthM  float64 `yaml:"length" q:"length" range:"0<..100" usual:"0.3..30"`
	WidthM   float64 `yaml:"width" q:"length" range:"0<..20" usual:"0.2..3"`
	AreaM2   float64 `yaml:"area" q:"area" range:"0<..2000"` // instead of length and width
	DepthM   float64 `yaml:"depth" q:"length" range:"0<..2" usual:"0.15..0.6"`
	Media    string  `yaml:"media"`                           // as the table of media names it
	Tiers    int     `yaml:"tiers" range:"1..12"`             // default 1
	FloorM   float64 `yaml:"floor" q:"length" range:"-5..10"` // height of the bed's floor
	AlwaysOn bool    `yaml:"always-on"`                       // its branch must always flow
	Siphon   *Siphon `yaml:"siphon"`
}

// GrowingM2 returns the bed's planted area over all its tiers, m².
func (b Bed) GrowingM2() float64 {
	area := b.AreaM2
	if area == 0 {
		area = b.LengthM * b.WidthM
	}
	if b.Tiers > 1 {
		area *= float64(b.Tiers)
	}
	return area
}

// Siphon is a bed's bell siphon; heights are above the bed's floor, below it negative.
type Siphon struct {
	StandpipeM  float64 `yaml:"standpipe" q:"length" range:"0.003..0.3" usual:"0.015..0.06"` // inner diameter
	BellM       float64 `yaml:"bell" q:"length" range:"0.005..0.6"`                          // inner diameter
	GuardM      float64 `yaml:"guard" q:"length" range:"0.005..0.8"`                         // inner diameter of the media guard
	CrestM      float64 `yaml:"crest" q:"length" range:"0.02..1" usual:"0.1..0.35"`
	BreakM      float64 `yaml:"siphon-break" q:"length" range:"-0.5..0.5"`
	OutletM     float64 `yaml:"outlet" q:"length" range:"-5..0.5"`
	PipeLengthM float64 `yaml:"pipe-length" q:"length" range:"0<..20"`
}

// Pump moves the loop's water.
type Pump struct {
	Name   string   `yaml:"name" need:"yes"`
	PowerW float64  `yaml:"power" q:"power" range:"0<..100000" usual:"3..3000"`
	Points []string `yaml:"points"` // "flow:head", at least two
	Spare  bool     `yaml:"spare"`  // on the shelf, a candidate
}

// Pipe is one run of pipe.
type Pipe struct {
	Name      string   `yaml:"name" need:"yes"`
	From      string   `yaml:"from" need:"yes"`
	To        string   `yaml:"to" need:"yes"`
	DiameterM float64  `yaml:"diameter" q:"length" range:"0.003..1" usual:"0.01..0.2" need:"yes"` // inner
	LengthM   float64  `yaml:"length" q:"length" range:"0..500" need:"yes"`
	Fittings  []string `yaml:"fittings"` // names of the fittings table, with "3 x " for more than one
	Valve     string   `yaml:"valve" oneof:"none,hand,timed"`
}

// Aerator blows air into a tank.
type Aerator struct {
	Name    string  `yaml:"name" need:"yes"`
	Tank    string  `yaml:"tank" need:"yes" ref:"tank"`
	PowerW  float64 `yaml:"power" q:"power" range:"0<..10000" usual:"2..1500"`
	SOTRKgS float64 `yaml:"oxygen" q:"mass-rate" range:"0..1"` // oxygen in clean water at 20 °C
	Backup  bool    `yaml:"backup"`                            // runs on a battery when the power fails
}

// SourceWater is water the building can draw, with its analysis.
type SourceWater struct {
	Name            string  `yaml:"name" need:"yes"`
	Kind            string  `yaml:"kind" oneof:"mains,well,rain,surface"`
	TempC           float64 `yaml:"temp" q:"temperature" range:"0..40"`
	PH              float64 `yaml:"ph" q:"plain" range:"3..11" usual:"5.5..8.8"`
	AlkalinityMolM3 float64 `yaml:"alkalinity" q:"alkalinity" range:"0..20"`
	CalciumGm3      float64 `yaml:"calcium" q:"concentration" range:"0..1000"`
	MagnesiumGm3    float64 `yaml:"magnesium" q:"concentration" range:"0..500"`
	SodiumGm3       float64 `yaml:"sodium" q:"concentration" range:"0..2000" usual:"0..100"`
	ChlorideGm3     float64 `yaml:"chloride" q:"concentration" range:"0..3000"`
	NitrateNGm3     float64 `yaml:"nitrate" q:"as-n" range:"0..200"`
	ChlorineGm3     float64 `yaml:"chlorine" q:"concentration" range:"0..10"`
	Chloramine      bool    `yaml:"chloramine"`
	PricePerM3      float64 `yaml:"price" q:"price-per-volume" range:"0..1000"`
}

// Feed is a fish feed.
type Feed struct {
	Name       string  `yaml:"name" need:"yes"`
	Protein    float64 `yaml:"protein" q:"share" range:"0.05..0.75" usual:"0.2..0.55" need:"yes"`
	Phosphorus float64 `yaml:"phosphorus" q:"share" range:"0..0.05" usual:"0.004..0.02"`
	EnergyJKg  float64 `yaml:"energy" q:"mass-energy" range:"0..4e7"`
	PricePerKg float64 `yaml:"price" q:"price-per-mass" range:"0..1000"`
	ShelfLifeS float64 `yaml:"shelf-life" q:"duration" range:"0..2e8"`
	StockKg    float64 `yaml:"stock" q:"mass" range:"0..100000"`
}
