package site

import (
	"math"

	"tidebed/climate"
)

// Place is where the building stands and what weather it has.
type Place struct {
	LatitudeDeg  float64 `yaml:"latitude" q:"angle" range:"-90..90" need:"yes"`
	LongitudeDeg float64 `yaml:"longitude" q:"angle" range:"-180..180" need:"yes"`
	ElevationM   float64 `yaml:"elevation" q:"length" range:"-430..6000" usual:"-10..3000"`
	TimeZone     string  `yaml:"time-zone"` // IANA name
	Climate      string  `yaml:"climate"`   // a place of the library whose normals serve here
	// Normals are the place's own, one for each month of the year; they go before Climate.
	Normals []MonthNormals `yaml:"normals"`
	// Nights are the coming nights' minima as a forecaster gives them.
	Nights []Night `yaml:"nights"`
}

// MonthNormals are the long means of one month outside.
type MonthNormals struct {
	Month         int     `yaml:"month" range:"1..12" need:"yes"`
	MaxC          float64 `yaml:"max" q:"temperature" range:"-60..55" need:"yes"`   // mean of the daily maxima
	MinC          float64 `yaml:"min" q:"temperature" range:"-70..45" need:"yes"`   // mean of the daily minima
	Humidity      float64 `yaml:"humidity" q:"share" range:"0.01..1"`               // mean relative humidity
	RadiationMJm2 float64 `yaml:"radiation" q:"radiation" range:"0..45" need:"yes"` // global, of a day
	WindMS        float64 `yaml:"wind" q:"speed" range:"0..40"`
}

// Climate returns the month as package climate takes it: without humidity the
// dew point is the mean minimum, as FAO-56 has it.
func (n MonthNormals) Climate() climate.Month {
	m := climate.Month{TmaxC: n.MaxC, TminC: n.MinC, RHShare: n.Humidity, DewPointC: math.NaN(), GHIMJm2d: n.RadiationMJm2, WindMS: n.WindMS}
	if n.Humidity == 0 {
		m.RHShare, m.DewPointC = math.NaN(), n.MinC
	}
	return m
}

// Night is one night's minimum outside; the day is that of the morning.
type Night struct {
	Date Date    `yaml:"date" need:"yes"`
	MinC float64 `yaml:"min" q:"temperature" range:"-70..45" need:"yes"`
}

// Zone is a part of the building with one air.
type Zone struct {
	Name        string  `yaml:"name" need:"yes"`
	FloorM2     float64 `yaml:"floor" q:"area" range:"0<..100000" usual:"2..2000" need:"yes"`
	HeightM     float64 `yaml:"height" q:"length" range:"0<..30" usual:"1.8..8"`
	DayC        float64 `yaml:"day" q:"temperature" range:"-5..45" usual:"5..32"`   // set point by day
	NightC      float64 `yaml:"night" q:"temperature" range:"-5..45" usual:"3..28"` // set point by night
	Light       float64 `yaml:"light" q:"share" range:"0..1" usual:"0.3..0.9"`      // share of the light outside that reaches the leaves
	AirChangesH float64 `yaml:"air-changes" q:"plain" range:"0..60" usual:"0.1..3"` // per hour, by wind through gaps

	Curtain   string  `yaml:"curtain"`                                                 // drawn under the glazing at night: as the table of covers names it
	VentM3s   float64 `yaml:"vents" q:"flow" range:"0..500"`                           // the most that vents and fans move
	VentC     float64 `yaml:"vents-open" q:"temperature" range:"0..50" usual:"12..35"` // default 6 K above the set point by day
	EdgeM     float64 `yaml:"edge" q:"length" range:"0..2000"`                         // of the floor along outer walls; default by its area
	EdgeWmK   float64 `yaml:"edge-loss" q:"plain" range:"0..5"`                        // W/mK; default 1.38, bare; insulated 0.7
	WorkHours float64 `yaml:"work-hours" q:"plain" range:"0..200"`                     // of people in it, a day
	BandK     float64 `yaml:"band" q:"plain" range:"0..10" usual:"0.2..4"`             // K between on and off of its heaters, half of it either side of the set point, and over which its vents go from shut to wide; default 0, as below 0.05: held to the point

	Pad          *Pad          `yaml:"pad"`
	Dehumidifier *Dehumidifier `yaml:"dehumidifier"`
}

// Pad is a wet pad through which the zone's fans draw their air.
type Pad struct {
	Efficiency float64 `yaml:"efficiency" q:"share" range:"0.05..0.98" usual:"0.4..0.9" need:"yes"` // how far it brings the air to its wet bulb: 0.75 to 0.85 clean, 0.5 clogged
	PowerW     float64 `yaml:"power" q:"power" range:"0..50000"`                                    // of its pump
	Bleed      float64 `yaml:"bleed" q:"share" range:"0..1" usual:"0.05..0.5"`                      // water let off over that evaporated, against scale
}

// Dehumidifier takes water out of a zone's air by a cold coil and gives all its heat
// back to it.
type Dehumidifier struct {
	CatchKgS float64 `yaml:"catches" q:"mass-rate" range:"0<..1" need:"yes"`                  // water, in the air its maker rates it in: 30 °C, 80 %
	PowerW   float64 `yaml:"power" q:"power" range:"0<..100000" usual:"50..20000" need:"yes"` // while it runs
	Above    float64 `yaml:"above" q:"share" range:"0.3..0.99" usual:"0.5..0.95"`             // relative humidity from which on it runs; default 85 %
	WaterTo  string  `yaml:"water-to" ref:"loop"`                                             // the loop into which its water is led; default none: it is poured away
}

// Surface is one part of a zone's skin.
type Surface struct {
	Zone       string  `yaml:"zone" need:"yes" ref:"zone"`
	Kind       string  `yaml:"kind" need:"yes" oneof:"wall,roof,floor,door,window"`
	Cover      string  `yaml:"cover"` // its material, as the table of covers names it
	AreaM2     float64 `yaml:"area" q:"area" range:"0<..100000" need:"yes"`
	UWm2K      float64 `yaml:"u" q:"u-value" range:"0<..12" usual:"0.1..7" need:"yes"`
	Beyond     string  `yaml:"beyond"`                           // outside (default), ground (default of a floor) or another zone
	TiltDeg    float64 `yaml:"tilt" q:"angle" range:"0..180"`    // 0 flat, 90 upright
	AzimuthDeg float64 `yaml:"azimuth" q:"angle" range:"0..360"` // clockwise from north
}

// Heater warms the air of a zone or the water of a tank.
type Heater struct {
	Name       string  `yaml:"name" need:"yes"`
	Zone       string  `yaml:"zone" ref:"zone"`
	Tank       string  `yaml:"tank" ref:"tank"`
	PowerW     float64 `yaml:"power" q:"power" range:"0<..5000000" usual:"50..100000" need:"yes"`
	Fuel       string  `yaml:"fuel" oneof:"propane,natural-gas,heating-oil,wood-pellets,kerosene,firewood,electricity"`
	Efficiency float64 `yaml:"efficiency" q:"share" range:"0.1..6" usual:"0.5..4"` // above 1: heat pump
}

// Power is the building's own electricity.
type Power struct {
	PanelPeakW float64 `yaml:"panel-peak" q:"power" range:"0..1000000"`
	TiltDeg    float64 `yaml:"panel-tilt" q:"angle" range:"0..90"`
	AzimuthDeg float64 `yaml:"panel-azimuth" q:"angle" range:"0..360"`
	BatteryJ   float64 `yaml:"battery" q:"energy" range:"0..1e12"`
	GeneratorW float64 `yaml:"generator" q:"power" range:"0..1000000"`
	DigesterM3 float64 `yaml:"digester" q:"volume" range:"0..1000"`
}

// FuelStore is a fuel in stock, in the units in which it is sold.
type FuelStore struct {
	Fuel     string  `yaml:"fuel" need:"yes" oneof:"propane,natural-gas,heating-oil,wood-pellets,kerosene,firewood"`
	Price    float64 `yaml:"price" q:"plain" range:"0..1000"`                   // for a unit, in the site's currency; default prices.fuel
	Stock    float64 `yaml:"stock" q:"plain" range:"0..1000000"`                // units on the first day
	Capacity float64 `yaml:"capacity" q:"plain" range:"0..1000000"`             // units that bunker or tank hold
	LeadS    float64 `yaml:"lead" q:"duration" range:"0..1e7" usual:"1e4..3e6"` // from order to delivery; default 14 days
}

// Lamp is a group of like lamps over beds, a nursery or racks.
type Lamp struct {
	Name          string  `yaml:"name" need:"yes"`
	Over          string  `yaml:"over" need:"yes"` // bed, rack or "nursery"
	AreaM2        float64 `yaml:"area" q:"area" range:"0<..10000" need:"yes"`
	PhotonUmolM2s float64 `yaml:"photons" q:"photon-flux" range:"0<..2500" usual:"50..800" need:"yes"`
	HoursDay      float64 `yaml:"hours" q:"plain" range:"0..24" usual:"8..18"`
	EfficacyUmolJ float64 `yaml:"efficacy" q:"efficacy" range:"0<..4.6" usual:"1..3.8"`
	PowerW        float64 `yaml:"power" q:"power" range:"0..1000000"`
}
