package water

import (
	_ "embed"
	"fmt"
	"slices"

	"tidebed/quantity"
	"tidebed/table"
)

//go:embed water_limits.csv
var limitsCSV string

// Group is a kind of life with limits of its own.
type Group string

// The groups.
const (
	Tropical   Group = "tropical"
	Warm       Group = "warm"
	Cool       Group = "cool"
	Cold       Group = "cold"
	Nitrifiers Group = "nitrifiers"
	Plants     Group = "plants"
	Compromise Group = "compromise" // fish, bacteria and plants together
)

// Parameter is what is measured.
type Parameter string

// The parameters; units as in Limit.Unit.
const (
	TempParameter       Parameter = "temp"
	PHParameter         Parameter = "ph"
	DOParameter         Parameter = "do"
	TANParameter        Parameter = "tan"
	NH3NParameter       Parameter = "nh3_n"
	NO2NParameter       Parameter = "no2_n"
	NO3NParameter       Parameter = "no3_n"
	AlkalinityParameter Parameter = "alkalinity"
	CO2Parameter        Parameter = "co2"
)

var unitsOfLimits = map[string]string{"c": "°C", "1": "", "mg_l": "g/m³", "mg_l_caco3": "g/m³ as CaCO3"}

// Limit is the bands of a parameter for a group. Unknown: there is no limit on
// that side.
type Limit struct {
	Group             Group
	Parameter         Parameter
	Unit              string
	CritLow, CritHigh Figure // beyond: danger to life
	WarnLow, WarnHigh Figure // beyond: act
	OptLow, OptHigh   Figure // between: best
	Source            string
}

type limitKey struct {
	group     Group
	parameter Parameter
}

var limits = func() map[limitKey]Limit {
	out := map[limitKey]Limit{}
	for _, row := range table.Read("water_limits.csv", limitsCSV) {
		unit, known := unitsOfLimits[row.Text("unit")]
		if !known {
			row.Fault("unit", "is no unit of a limit")
		}
		l := Limit{
			Group: Group(row.Text("group")), Parameter: Parameter(row.Text("parameter")), Unit: unit,
			CritLow: figure(row, "crit_low"), WarnLow: figure(row, "warn_low"), OptLow: figure(row, "opt_low"),
			OptHigh: figure(row, "opt_high"), WarnHigh: figure(row, "warn_high"), CritHigh: figure(row, "crit_high"), Source: row.Text("source"),
		}
		out[limitKey{l.Group, l.Parameter}] = l
	}
	return out
}()

// LimitOf returns the bands of a parameter for a group; ok is false where there
// are none.
func LimitOf(g Group, p Parameter) (l Limit, ok bool) {
	l, ok = limits[limitKey{g, p}]
	return l, ok
}

// Groups returns all groups.
func Groups() []Group { return []Group{Tropical, Warm, Cool, Cold, Nitrifiers, Plants, Compromise} }

var groupsOfSpecies = map[string]Group{
	"tilapia_nile": Tropical, "tilapia_blue": Tropical, "catfish_african": Tropical, "barramundi": Tropical, "jade_perch": Tropical,
	"pacu": Tropical, "prawn_giant_river": Tropical, "crayfish_redclaw": Tropical,
	"catfish_channel": Warm, "carp_common": Warm, "goldfish": Warm, "bass_largemouth": Warm, "bluegill": Warm,
	"perch_yellow": Cool, "perch_european": Cool,
	"trout_rainbow": Cold, "char_arctic": Cold,
}

// GroupOf returns the group of a species by its ID in package fish, such as
// "trout_rainbow". Which group a species belongs to is common practice, no source.
func GroupOf(speciesID string) (Group, error) {
	g, known := groupsOfSpecies[speciesID]
	if !known {
		return "", fmt.Errorf("limits of water: the species %q has no group; take one of %v", speciesID, Groups()[:4])
	}
	return g, nil
}

// Verdict is how a value stands to its bands.
type Verdict int

// The verdicts, worst last.
const (
	Good     Verdict = iota
	Watch            // outside the best band
	Act              // outside the band that is borne for long
	Critical         // danger to life
)

// String returns the word for people.
func (v Verdict) String() string {
	if v < Good || v > Critical {
		return "unknown"
	}
	return [...]string{"good", "watch", "act", "critical"}[v]
}

// Judge returns how a value stands to the bands, and the side it strays to: -1
// low, 1 high, 0 neither. NaN is refused with quantity.ErrRange.
func (l *Limit) Judge(v float64) (verdict Verdict, side int, err error) {
	if v != v {
		return Good, 0, fmt.Errorf("limits of water: %s is no number: %w", l.Parameter, quantity.ErrRange)
	}
	for _, band := range []struct {
		low, high Figure
		verdict   Verdict
	}{{l.CritLow, l.CritHigh, Critical}, {l.WarnLow, l.WarnHigh, Act}, {l.OptLow, l.OptHigh, Watch}} {
		switch {
		case band.low.Known && v < band.low.Amount:
			return band.verdict, -1, nil
		case band.high.Known && v > band.high.Amount:
			return band.verdict, 1, nil
		}
	}
	return Good, 0, nil
}

// Test is a water test; what was not measured is left unknown.
type Test struct {
	TempC        Figure
	PH           Figure
	AlkEqM3      Figure
	TANGm3       Figure
	NO2NGm3      Figure
	NO3NGm3      Figure
	DOGm3        Figure
	ChlorideGm3  Figure
	PhosphateGm3 Figure
	IonicMolL    float64 // 0 when not known
}

// Finding is what a test says of one parameter.
type Finding struct {
	Parameter Parameter
	Value     float64
	Unit      string
	Verdict   Verdict
	Side      int    // -1 low, 1 high
	Sentence  string // for people
	Remedies  []string
	NextTestH float64 // test again within so many hours
}

var nextTestH = [...]float64{Good: 72, Watch: 24, Act: 12, Critical: 2}

var namesOfParameters = map[Parameter]string{
	TempParameter: "Water temperature", PHParameter: "pH", DOParameter: "Oxygen", TANParameter: "Total ammonia nitrogen",
	NH3NParameter: "Un-ionised ammonia nitrogen", NO2NParameter: "Nitrite nitrogen", NO3NParameter: "Nitrate nitrogen",
	AlkalinityParameter: "Alkalinity", CO2Parameter: "Carbon dioxide",
}

const stopFeeding = "Stop feeding."

var remedies = map[Parameter][2][]string{
	TempParameter: {
		{"Feed less or stop.", "Warm by no more than 2 °C a day."},
		{"Feed less or stop.", "Aerate more: warm water holds less oxygen.", "Shade and ventilate; cool by no more than 2 °C a day."},
	},
	PHParameter: {
		{"Aerate: CO2 may hold the pH down.", "Look at un-ionised ammonia before any base: 0.6 of pH makes it four times as much.", "Raise alkalinity with potassium and calcium bases in parts, 0.3 of pH a day at most."},
		{"Look for limestone, shell or hard top-up water.", "Let nitrification lower it; do not acidify the fish tank.", "Treat top-up water in a vessel of its own."},
	},
	DOParameter: {
		{stopFeeding, "Aerate with all there is and keep pumps running.", "Clean screens and solids; thin out fish when it comes back."}, {},
	},
	TANParameter:  {{}, {stopFeeding, "Look at the pH: raise nothing.", "Change water, dechlorinated, up to a third at a time.", "See that the beds flood and have oxygen and alkalinity."}},
	NH3NParameter: {{}, {stopFeeding, "Add no base, and do not aerate CO2 out of a tank that is rich in it.", "Change water, dechlorinated and of the same pH or lower, up to a third at a time.", "See that the beds flood and have oxygen and alkalinity."}},
	NO2NParameter: {{}, {stopFeeding, "Add chloride: 20 times the nitrite nitrogen at least, as calcium or potassium chloride where crops grow.", "Aerate more: nitrite takes oxygen out of the blood.", "Change water, dechlorinated, up to a third at a time."}},
	NO3NParameter: {{"Plants may want nitrogen: feed more or plant less."}, {"Plant more or harvest later.", "Change water, dechlorinated."}},
	AlkalinityParameter: {
		{"Look at un-ionised ammonia first.", "Raise alkalinity with potassium and calcium bases in parts."},
		{"Mix rain water into the top-up or acidify it in a vessel of its own."},
	},
	CO2Parameter: {{}, {"Aerate or let the water fall; look at un-ionised ammonia, for the pH will rise.", "Ventilate the building."}},
}

// Judge holds a test against the limits of a group: findings with the worst
// first, each with remedies in order and the time of the next test. From pH,
// temperature and the rest it works out un-ionised ammonia and carbon dioxide.
// Values that no water can have wrap quantity.ErrRange; a set that contradicts
// itself wraps ErrImpossible.
func Judge(t Test, g Group) ([]Finding, error) {
	if !slices.Contains(Groups(), g) {
		return nil, fmt.Errorf("judging a water test: there is no group %q; take one of %v", g, Groups())
	}
	values := map[Parameter]float64{}
	for _, m := range []struct {
		p      Parameter
		f      Figure
		lo, hi float64
	}{
		{TempParameter, t.TempC, -0.5, 45}, {PHParameter, t.PH, 0, 14}, {DOParameter, t.DOGm3, 0, 40}, {TANParameter, t.TANGm3, 0, 2000},
		{NO2NParameter, t.NO2NGm3, 0, 1000}, {NO3NParameter, t.NO3NGm3, 0, 5000}, {AlkalinityParameter, t.AlkEqM3, LeastAlkalinityEqM3, MostAlkalinityEqM3},
	} {
		if !m.f.Known {
			continue
		}
		if err := check("judging a water test", bound{namesOfParameters[m.p], m.f.Amount, m.lo, m.hi, ""}); err != nil {
			return nil, err
		}
		values[m.p] = m.f.Amount
	}
	if err := check("judging a water test", gm3Bound("chloride", t.ChlorideGm3.Amount, 1e5), gm3Bound("phosphate", t.PhosphateGm3.Amount, 2000)); err != nil {
		return nil, err
	}
	if t.AlkEqM3.Known {
		values[AlkalinityParameter] = t.AlkEqM3.Amount * CaCO3PerEq
	}
	if t.TempC.Known && t.PH.Known {
		warmC := max(0, t.TempC.Amount)
		if t.TANGm3.Known {
			f, err := UnionisedFraction(warmC, t.PH.Amount)
			if err != nil {
				return nil, err
			}
			values[NH3NParameter] = f * t.TANGm3.Amount
		}
		if t.AlkEqM3.Known {
			e, err := NewEquilibria(warmC, t.IonicMolL)
			if err != nil {
				return nil, err
			}
			dic, err := e.DIC(t.PH.Amount, Solutes{AlkEqM3: t.AlkEqM3.Amount, TANMolM3: t.TANGm3.Amount / MolarN, PMolM3: t.PhosphateGm3.Amount / MolarP})
			if err != nil {
				return nil, fmt.Errorf("judging a water test: %w", err)
			}
			values[CO2Parameter] = MolarCO2 * e.CO2(t.PH.Amount, dic)
		}
	}
	var out []Finding
	for _, p := range []Parameter{DOParameter, NH3NParameter, NO2NParameter, PHParameter, TempParameter, CO2Parameter, TANParameter, AlkalinityParameter, NO3NParameter} {
		v, measured := values[p]
		l, limited := LimitOf(g, p)
		if !measured || !limited {
			continue
		}
		verdict, side, err := l.Judge(v)
		if err != nil {
			return nil, err
		}
		out = append(out, finding(&l, v, verdict, side, &t))
	}
	slices.SortStableFunc(out, func(a, b Finding) int { return int(b.Verdict) - int(a.Verdict) })
	return out, nil
}

func finding(l *Limit, v float64, verdict Verdict, side int, t *Test) Finding {
	f := Finding{Parameter: l.Parameter, Value: v, Unit: l.Unit, Verdict: verdict, Side: side, NextTestH: nextTestH[verdict]}
	amount := fmt.Sprintf("%.3g", v)
	if l.Unit != "" {
		amount += " " + l.Unit
	}
	name := namesOfParameters[l.Parameter]
	switch side {
	case 0:
		f.Sentence = fmt.Sprintf("%s of %s is good for the group %s.", name, amount, l.Group)
		return f
	case -1:
		f.Sentence = fmt.Sprintf("%s of %s is too low for the group %s.", name, amount, l.Group)
		f.Remedies = slices.Clone(remedies[l.Parameter][0])
	default:
		f.Sentence = fmt.Sprintf("%s of %s is too high for the group %s.", name, amount, l.Group)
		f.Remedies = slices.Clone(remedies[l.Parameter][1])
	}
	if l.Parameter == NO2NParameter && side > 0 && t.ChlorideGm3.Known && t.ChlorideGm3.Amount >= 20*v {
		f.Sentence += fmt.Sprintf(" Chloride of %.3g g/m³ protects them for now.", t.ChlorideGm3.Amount)
	}
	return f
}
