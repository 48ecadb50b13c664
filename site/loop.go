package site

// Loop is one body of recirculating water.
type Loop struct {
	Name       string  `yaml:"name" need:"yes"`
	Water      string  `yaml:"water" ref:"water"` // what it is topped up with
	SumpM3     float64 `yaml:"sump" q:"volume" range:"0..1000" usual:"0.1..20"`
	SumpLevelM float64 `yaml:"sump-level" q:"length" range:"-10..10"`                       // water surface above the floor, the beds drained
	SumpDepthM float64 `yaml:"sump-depth" q:"length" range:"0<..5" usual:"0.2..2"`          // of its water then; default 0.5 m
	SumpRimM   float64 `yaml:"sump-rim" q:"length" range:"-10..10"`                         // above the floor; default 150 mm above the level
	SumpFoamM  float64 `yaml:"sump-insulation" q:"length" range:"0..0.5" usual:"0.02..0.2"` // of foam on its wall and floor
	SumpLid    bool    `yaml:"sump-lid"`                                                    // an insulating lid or float
	KeepPH     float64 `yaml:"keep-ph" q:"plain" range:"5.5..8" usual:"6.4..7.4"`           // to which the keeper doses; default 6.8
	IronGm3    float64 `yaml:"iron" q:"concentration" range:"0..5"`                         // given each three weeks; default 2 mg/L
	Doses      string  `yaml:"doses" oneof:"as-needed,none"`                                // default as-needed
	SolidsOut  float64 `yaml:"solids-out" q:"share" range:"0..0.95"`                        // share of the solids that a filter takes out

	Tanks    []Tank    `yaml:"tanks"`
	Beds     []Bed     `yaml:"beds"`
	Pumps    []Pump    `yaml:"pumps"`
	Pipes    []Pipe    `yaml:"pipes"`
	Aerators []Aerator `yaml:"aerators"`

	Timetable *Timetable `yaml:"timetable"` // what the valves are to do
}

// Timetable is how often the beds are to be flooded, for the loop's timed valves.
type Timetable struct {
	PerHour  float64  `yaml:"floods" q:"plain" range:"0.05..12" usual:"0.25..4"`         // of each bed an hour by day; default 1
	AtNight  float64  `yaml:"floods-at-night" q:"plain" range:"0.05..12" usual:"0.1..4"` // default as by day
	DayFromH *float64 `yaml:"day-from" q:"plain" range:"0..23"`                          // hour; 0 is midnight; default 6
	DayToH   *float64 `yaml:"day-to" q:"plain" range:"1..24"`                            // hour; default 22
	MarginS  float64  `yaml:"margin" q:"duration" range:"0..3600"`                       // beyond the time to the siphon's start; default the larger of 30 s and a tenth
	Together int      `yaml:"together" range:"1..24"`                                    // beds flooded at a time; default 1
}

// Tank holds fish.
type Tank struct {
	Name     string  `yaml:"name" need:"yes"`
	Role     string  `yaml:"role" oneof:"stock,quarantine,purge"` // default stock
	VolumeM3 float64 `yaml:"volume" q:"volume" range:"0<..1000" usual:"0.1..50" need:"yes"`
	LevelM   float64 `yaml:"level" q:"length" range:"-10..10"` // water surface above the floor
	DepthM   float64 `yaml:"depth" q:"length" range:"0<..10" usual:"0.4..2.5"`
	RimM     float64 `yaml:"rim" q:"length" range:"-10..10"`      // above the floor; default 100 mm above the level
	WaterC   float64 `yaml:"water" q:"temperature" range:"0..40"` // held at

	Zone        string  `yaml:"zone" ref:"zone"`                                        // in which it stands; default that of the loop's first bed
	InsulationM float64 `yaml:"insulation" q:"length" range:"0..0.5" usual:"0.02..0.2"` // of foam on wall and floor
	Lid         bool    `yaml:"lid"`                                                    // an insulating lid or float
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
	Media    string  `yaml:"media"`                                                    // as the table of media names it
	Tiers    int     `yaml:"tiers" range:"1..12"`                                      // default 1
	FloorM   float64 `yaml:"floor" q:"length" range:"-5..10"`                          // height of the bed's floor
	AlwaysOn bool    `yaml:"always-on"`                                                // its branch must always flow
	RimM     float64 `yaml:"rim" q:"length" range:"0.02..3"`                           // above the bed's floor; default 50 mm above the media
	Porosity float64 `yaml:"porosity" q:"share" range:"0.02..0.95" usual:"0.25..0.55"` // share that drains; default by the media
	RatedKg  float64 `yaml:"rated" q:"mass" range:"0..100000"`                         // load that its stand is made for, full
	ShellKg  float64 `yaml:"shell" q:"mass" range:"0..20000"`                          // of the empty container
	FeetN    int     `yaml:"feet" range:"1..100"`                                      // on which it stands; default 4
	SpillM   float64 `yaml:"spill" q:"length" range:"0.005..0.3"`                      // bore of a second overflow to the sump

	Siphon    *Siphon    `yaml:"siphon"`
	Standpipe *Standpipe `yaml:"standpipe"` // of a bed without a bell
}

// Standpipe drains a bed without a bell: it stands full to the crest while water
// comes in, and empties through the weep hole when a timer has stopped it.
type Standpipe struct {
	BoreM  float64 `yaml:"bore" q:"length" range:"0.003..0.3" usual:"0.015..0.06" need:"yes"`
	CrestM float64 `yaml:"crest" q:"length" range:"0.02..1" usual:"0.1..0.35" need:"yes"` // above the bed's floor
	WeepM  float64 `yaml:"weep" q:"length" range:"0.0005..0.05" usual:"0.004..0.015"`     // diameter of the hole; none: it never drains
	WeepAt float64 `yaml:"weep-at" q:"length" range:"0..1"`                               // height of the hole
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
	Elbows      int     `yaml:"elbows" range:"0..10"`                                      // in its pipe; default 1
	K           float64 `yaml:"k" q:"plain" range:"1..200"`                                // sum of loss factors, when known; default by elbows
	FunnelM     float64 `yaml:"funnel" q:"length" range:"0.003..0.6"`                      // diameter of the crest where a reducer widens it
	ReducerM    float64 `yaml:"reducer" q:"length" range:"0..0.3"`                         // height of that reducer
	LowerM      float64 `yaml:"lower-bore" q:"length" range:"0.003..0.3"`                  // of a second part of the pipe
	LowerLongM  float64 `yaml:"lower-length" q:"length" range:"0<..20"`                    // length of that part
	GapM        float64 `yaml:"gap" q:"length" range:"0<..0.5"`                            // from the crest to the bell's top
	SlotsM2     float64 `yaml:"slots" q:"area" range:"0<..0.1"`                            // open area at the bell's foot
	GuardSlotM  float64 `yaml:"guard-slot" q:"length" range:"0<..0.1"`                     // width of the guard's slots
	StartM3s    float64 `yaml:"starts-at" q:"flow" range:"0<..0.1"`                        // least inflow at which it was seen to start
	DrainS      float64 `yaml:"drain-time" q:"duration" range:"5..36000" usual:"30..1800"` // measured, from crest to break, no water coming in
}

// Pump moves the loop's water.
type Pump struct {
	Name    string   `yaml:"name" need:"yes"`
	PowerW  float64  `yaml:"power" q:"power" range:"0<..100000" usual:"3..3000"`
	Points  []string `yaml:"points"`                            // "flow:head" or "flow:head:watts", at least two
	Spare   bool     `yaml:"spare"`                             // on the shelf, a candidate
	IntakeM *float64 `yaml:"intake" q:"length" range:"-10..10"` // above the floor; default 50 mm above the bottom
	Price   float64  `yaml:"price" q:"plain" range:"0..100000"` // of a candidate, in the site's currency
}

// Pipe is one run of pipe.
type Pipe struct {
	Name      string   `yaml:"name" need:"yes"`
	From      string   `yaml:"from" need:"yes"`
	To        string   `yaml:"to" need:"yes"`
	DiameterM float64  `yaml:"diameter" q:"length" range:"0.003..1" usual:"0.01..0.2"` // inner
	Size      string   `yaml:"size"`                                                   // instead of the diameter: as the table of sizes names it
	LengthM   float64  `yaml:"length" q:"length" range:"0..500" need:"yes"`
	Fittings  []string `yaml:"fittings"` // names of the fittings table, with "3 x " for more than one
	Valve     string   `yaml:"valve" oneof:"none,hand,timed"`
	ValveKv   float64  `yaml:"valve-kv" q:"plain" range:"0<..1000"`   // the maker's flow coefficient, m³/h at 1 bar
	SetM3s    float64  `yaml:"set-flow" q:"flow" range:"0<..0.1"`     // to which its valve is throttled
	OpenS     float64  `yaml:"open" q:"duration" range:"1..86400"`    // that its timed valve opens each time, as set
	EndsAtM   *float64 `yaml:"ends-at" q:"length" range:"-10..10"`    // height of its end above the floor; default in the air above the water
	EmptiesTo *float64 `yaml:"empties-to" q:"length" range:"-10..10"` // to which what it draws from can run empty through it; default: an overflow the surface, the pump's the intake
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
