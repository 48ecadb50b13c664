package quantity

import "strings"

// Kind says what a number measures. It fixes the dimension a text must have
// and the unit in which the float64 is held. The comment beside each constant
// names that unit; SIUnit returns it as text.
type Kind string

// The kinds, each with the unit its float64 is held in.
const (
	Length          Kind = "length"              // m
	Area            Kind = "area"                // m2
	Volume          Kind = "volume"              // m3
	Flow            Kind = "flow"                // m3/s
	Mass            Kind = "mass"                // kg
	Duration        Kind = "duration"            // s
	Temperature     Kind = "temperature"         // °C, a point on the scale
	TempDifference  Kind = "temperature step"    // K, a distance on the scale
	Power           Kind = "power"               // W
	Energy          Kind = "energy"              // J
	Current         Kind = "current"             // A
	Voltage         Kind = "voltage"             // V
	Share           Kind = "share"               // 1, a part of a whole (0.35 is 35 %)
	Count           Kind = "count"               // 1, things counted
	Plain           Kind = "plain number"        // 1, any number without dimension
	Ratio           Kind = "ratio"               // 1, mole of a gas in a mole of air (420e-6 is 420 ppm)
	Angle           Kind = "angle"               // deg
	Money           Kind = "money"               // currency; ParseMoney keeps the code
	Speed           Kind = "speed"               // m/s
	SurfaceRate     Kind = "surface rate"        // m/s, water volume on a surface in a time (m3/m2/d)
	Pressure        Kind = "pressure"            // Pa
	Density         Kind = "density"             // kg/m3
	Concentration   Kind = "concentration"       // g/m3, the same number as mg/L
	AsN             Kind = "nitrogen in water"   // g/m3 as N
	AsP             Kind = "phosphorus in water" // g/m3 as P
	AsC             Kind = "carbon in water"     // g/m3 as C
	Alkalinity      Kind = "alkalinity"          // mol/m3 of charge, the same number as meq/L
	MassRate        Kind = "mass rate"           // kg/s
	RespirationRate Kind = "respiration rate"    // mg/kg/h, gas taken up or given off by produce or fish
	Radiation       Kind = "radiation"           // MJ/m2, a sum (of a day, when given with /d)
	Irradiance      Kind = "irradiance"          // W/m2
	LightSum        Kind = "light sum"           // mol/m2/d, photons in a day
	PhotonFlux      Kind = "photon flux"         // umol/m2/s
	UValue          Kind = "heat transmittance"  // W/m2K
	Conductivity    Kind = "conductivity"        // S/m
	AreaMassRate    Kind = "mass rate per area"  // kg/m2/s
	AreaMass        Kind = "mass per area"       // kg/m2
	MassEnergy      Kind = "energy per mass"     // J/kg
	PricePerMass    Kind = "price per mass"      // currency/kg
	PricePerEnergy  Kind = "price per energy"    // currency/J
	PricePerVolume  Kind = "price per volume"    // currency/m3
	PricePerTime    Kind = "price per time"      // currency/s
	Efficacy        Kind = "lamp efficacy"       // umol/J
	PerArea         Kind = "number per area"     // 1/m2
	SpecificSurface Kind = "specific surface"    // m2/m3
	AreaPerMass     Kind = "area per mass"       // m2/g
	AreaRate        Kind = "area rate"           // m2/s
	PerTime         Kind = "number per time"     // 1/s, air changes, growth and decay rates
	Conductance     Kind = "heat conductance"    // W/K
	Molarity        Kind = "molarity"            // mol/m3, the same number as mmol/L
)

// System is the family of units a reader is at home in.
type System int

// The systems of units Format can print in.
const (
	Metric      System = iota // m, kg, L, °C
	USCustomary               // ft, lb, US gal, °F
)

// kindRow is what the package knows of one kind.
type kindRow struct {
	kind   Kind
	noun   string // with its article, for messages
	base   string // unit the float64 is held in
	exact  string // unit Exact writes, when that is not base
	shift  int    // decimal places between base and exact
	units  string // units that fit, for messages, the usual first
	metric string // units Format chooses from, small to large; * marks the one for zero
	us     string // the same for US customary readers; empty: as metric
}

// kindRows is the one list of kinds. In it "_" stands for a space inside a
// unit's text. Where several kinds share a dimension, the first one names it in
// messages.
var kindRows = []kindRow{
	{kind: Length, noun: "a length", base: "m", units: "m cm mm ft in", metric: "mm cm *m km", us: "in *ft mi"},
	{kind: Area, noun: "an area", base: "m2", units: "m2 cm2 ha ft2 acre", metric: "cm2 *m2 ha", us: "in2 *ft2 acre"},
	{kind: Volume, noun: "a volume", base: "m3", units: "L m3 mL gal gal_UK fl_oz", metric: "mL *L m3", us: "fl_oz *gal"},
	{kind: Flow, noun: "a flow", base: "m3/s", units: "L/min L/h m3/h m3/s gal/h gal/min", metric: "L/h *L/min", us: "gal/h *gal/min"},
	{kind: Mass, noun: "a mass", base: "kg", units: "kg g mg t lb oz", metric: "mg g *kg t", us: "oz *lb"},
	{kind: Duration, noun: "a duration", base: "s", units: "s min h d week", metric: "s *min h d"},
	{kind: Temperature, noun: "a temperature", base: "°C", units: "°C °F K", metric: "*°C", us: "*°F"},
	{kind: TempDifference, noun: "a temperature difference", base: "K", units: "K °C °F", metric: "*K", us: "*°F"},
	{kind: Power, noun: "a power", base: "W", units: "W kW BTU/h hp A_at_V", metric: "mW *W kW MW"},
	{kind: Energy, noun: "an energy", base: "J", units: "kWh MJ kJ J kcal BTU", metric: "J Wh *kWh MWh"},
	{kind: Current, noun: "a current", base: "A", units: "A mA", metric: "mA *A"},
	{kind: Voltage, noun: "a voltage", base: "V", units: "V mV", metric: "mV *V"},
	{kind: Share, noun: "a share", base: "1", exact: "%", shift: 2, units: "%", metric: "*%"},
	{kind: Count, noun: "a count", base: "1"},
	{kind: Plain, noun: "a plain number", base: "1"},
	{kind: Ratio, noun: "a ratio", base: "1", exact: "ppm", shift: 6, units: "ppm %", metric: "*ppm"},
	{kind: Angle, noun: "an angle", base: "deg", units: "deg ° rad", metric: "*deg"},
	{kind: Money, noun: "an amount of money", base: "¤", units: "EUR USD GBP", metric: "*¤"},
	{kind: Speed, noun: "a speed", base: "m/s", units: "m/s cm/s km/h ft/s mph", metric: "mm/s *m/s", us: "*ft/s"},
	{kind: SurfaceRate, noun: "a surface rate", base: "m/s", units: "m/d m/h m3/m2/d mm/d gal/min/ft2", metric: "mm/d *m/d", us: "*gal/d/ft2"},
	{kind: Pressure, noun: "a pressure", base: "Pa", units: "kPa Pa mbar bar psi mH2O inH2O", metric: "Pa *kPa MPa", us: "*psi"},
	{kind: Density, noun: "a density", base: "kg/m3", units: "kg/m3 g/L lb/ft3", metric: "*kg/m3", us: "*lb/ft3"},
	{kind: Concentration, noun: "a concentration", base: "g/m3", units: "mg/L g/m3 ug/L ppm", metric: "ug/L *mg/L g/L"},
	{kind: AsN, noun: "a concentration of nitrogen", base: "g/m3", exact: "g/m3 as N", units: "mg/L_as_N mg/L_NO3-N mg/L_as_NO3 mg/L_as_NO2 mg/L_as_NH4 mmol/L ppm", metric: "*mg/L_as_N"},
	{kind: AsP, noun: "a concentration of phosphorus", base: "g/m3", exact: "g/m3 as P", units: "mg/L_as_P mg/L_as_PO4 mmol/L ppm", metric: "*mg/L_as_P"},
	{kind: AsC, noun: "a concentration of carbon", base: "g/m3", exact: "g/m3 as C", units: "mg/L_as_C mg/L_as_CO2 mmol/L ppm", metric: "*mg/L_as_C"},
	{kind: Alkalinity, noun: "an alkalinity", base: "mol/m3", units: "meq/L mg/L_as_CaCO3 °dH ppm", metric: "*mg/L_as_CaCO3"},
	{kind: Molarity, noun: "an amount in a volume", base: "mol/m3", units: "mmol/L mol/L mol/m3", metric: "*mmol/L mol/L"},
	{kind: MassRate, noun: "a mass rate", base: "kg/s", units: "g/d kg/d g/h kg/h lb/d oz/d", metric: "mg/d g/d *kg/d", us: "oz/d *lb/d"},
	{kind: PerTime, noun: "a number per time", base: "1/s", units: "1/h 1/d 1/s", metric: "*/d /h /s"},
	{kind: RespirationRate, noun: "a respiration rate", base: "mg/kg/h", units: "mg/kg/h g/kg/d", metric: "*mg/kg/h"},
	{kind: Irradiance, noun: "an irradiance", base: "W/m2", units: "W/m2 kW/m2", metric: "*W/m2"},
	{kind: Radiation, noun: "a radiation sum", base: "MJ/m2", units: "MJ/m2 MJ/m2/d kWh/m2 kWh/m2/d", metric: "*MJ/m2"},
	{kind: LightSum, noun: "a light sum", base: "mol/m2/d", units: "mol/m2/d mol/m2", metric: "*mol/m2/d"},
	{kind: PhotonFlux, noun: "a photon flux", base: "umol/m2/s", units: "umol/m2/s", metric: "*umol/m2/s"},
	{kind: UValue, noun: "a heat transmittance", base: "W/m2K", units: "W/m2K BTU/h/ft2/°F", metric: "*W/m2K", us: "*BTU/h/ft2/°F"},
	{kind: Conductance, noun: "a heat conductance", base: "W/K", units: "W/K BTU/h/°F", metric: "*W/K", us: "*BTU/h/°F"},
	{kind: Conductivity, noun: "a conductivity", base: "S/m", units: "dS/m mS/cm uS/cm S/m", metric: "*dS/m"},
	{kind: AreaMassRate, noun: "a mass rate per area", base: "kg/m2/s", units: "g/m2/d kg/m2/d lb/ft2/d", metric: "mg/m2/d *g/m2/d kg/m2/d"},
	{kind: AreaMass, noun: "a mass per area", base: "kg/m2", units: "kg/m2 g/m2 lb/ft2 oz/ft2", metric: "g/m2 *kg/m2", us: "oz/ft2 *lb/ft2"},
	{kind: MassEnergy, noun: "an energy per mass", base: "J/kg", units: "kcal/100_g MJ/kg kJ/kg J/kg BTU/lb", metric: "J/kg kJ/kg *MJ/kg", us: "*BTU/lb"},
	{kind: PricePerMass, noun: "a price per mass", base: "¤/kg", units: "EUR/kg EUR/t USD/lb", metric: "*¤/kg", us: "*¤/lb"},
	{kind: PricePerEnergy, noun: "a price per energy", base: "¤/J", units: "EUR/kWh ct/kWh EUR/MWh", metric: "*¤/kWh"},
	{kind: PricePerVolume, noun: "a price per volume", base: "¤/m3", units: "EUR/m3 EUR/L USD/gal", metric: "*¤/m3", us: "*¤/gal"},
	{kind: PricePerTime, noun: "a price per time", base: "¤/s", units: "EUR/h EUR/d", metric: "*¤/h"},
	{kind: Efficacy, noun: "a lamp efficacy", base: "umol/J", units: "umol/J mol/kWh", metric: "*umol/J"},
	{kind: PerArea, noun: "a number per area", base: "1/m2", units: "/m2 plants/m2 /ft2", metric: "*/m2", us: "*/ft2"},
	{kind: SpecificSurface, noun: "a specific surface", base: "m2/m3", units: "m2/m3 ft2/ft3", metric: "*m2/m3", us: "*ft2/ft3"},
	{kind: AreaPerMass, noun: "an area per mass", base: "m2/g", units: "m2/g cm2/g m2/kg", metric: "*m2/g"},
	{kind: AreaRate, noun: "an area rate", base: "m2/s", units: "m2/s m2/d", metric: "*m2/s"},
}

// kindRule is a kindRow with its texts worked out.
type kindRule struct {
	kindRow
	baseUnit   scale
	metricList []shown
	usList     []shown
}

// shown is one unit Format may choose.
type shown struct {
	text    string
	perSI   float64 // number in this unit for one of the kind's own unit
	forZero bool
}

var kindRules = func() map[Kind]*kindRule {
	rules := make(map[Kind]*kindRule, len(kindRows))
	for _, row := range kindRows {
		rule := &kindRule{kindRow: row}
		base, err := parseScale(strings.TrimSuffix(row.base, dayEnd(row.kind)))
		if err != nil {
			panic("quantity: kind " + string(row.kind) + ": " + err.Error()) // a fault in the table above
		}
		rule.baseUnit = base
		if rule.exact == "" && row.base != "1" {
			rule.exact = row.base
		}
		rule.metricList = shownList(rule, row.metric)
		if rule.usList = rule.metricList; row.us != "" {
			rule.usList = shownList(rule, row.us)
		}
		rules[row.kind] = rule
	}
	return rules
}()

func shownList(rule *kindRule, list string) []shown {
	var out []shown
	for text := range strings.FieldsSeq(list) {
		text, forZero := strings.CutPrefix(text, "*")
		text = strings.ReplaceAll(text, "_", " ")
		conv, err := rule.conversion(normalise(text))
		if err != nil {
			panic("quantity: kind " + string(rule.kind) + ": " + err.Error()) // a fault in the table above
		}
		factor, _ := conv.factor.Float64()
		out = append(out, shown{text: text, perSI: 1 / factor, forZero: forZero})
	}
	return out
}

// dayEnd is the ending that a sum of one day may bear or not.
func dayEnd(kind Kind) string {
	if kind == Radiation || kind == LightSum {
		return "/d"
	}
	return ""
}

// Kinds returns all kinds in a fixed order.
func Kinds() []Kind {
	kinds := make([]Kind, len(kindRows))
	for i, row := range kindRows {
		kinds[i] = row.kind
	}
	return kinds
}

// SIUnit returns the unit in which values of the kind are held, such as "m3/s"
// or "g/m3 as N"; it is "1" for numbers without dimension, "¤" where a currency
// stands, and empty for an unknown kind.
func (k Kind) SIUnit() string {
	rule, ok := kindRules[k]
	switch {
	case !ok:
		return ""
	case rule.shift != 0:
		return rule.base
	case rule.exact != "":
		return rule.exact
	}
	return rule.base
}

// Units returns the usual units of the kind for messages and menus, the most
// usual first. It is empty for counts, plain numbers and unknown kinds. Parse
// reads many more.
func (k Kind) Units() []string {
	rule, ok := kindRules[k]
	if !ok {
		return nil
	}
	units := strings.Fields(rule.units)
	for i, u := range units {
		units[i] = strings.ReplaceAll(u, "_", " ")
	}
	return units
}
