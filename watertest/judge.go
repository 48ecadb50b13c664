package watertest

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"tidebed/quantity"
	"tidebed/science/water"
	"tidebed/words"
)

// Gauge is one measured or worked-out value against the bands of the fish.
type Gauge struct {
	Name     string   `json:"name"`
	Value    float64  `json:"value"`
	Unit     string   `json:"unit"`
	Low      *float64 `json:"low,omitempty"` // borne for long between these
	High     *float64 `json:"high,omitempty"`
	BestLow  *float64 `json:"bestLow,omitempty"` // best between these
	BestHigh *float64 `json:"bestHigh,omitempty"`
	CritLow  *float64 `json:"critLow,omitempty"` // danger to life beyond these
	CritHigh *float64 `json:"critHigh,omitempty"`
	Decimals int      `json:"decimals"` // that tell the value from its bands
	Verdict  string   `json:"verdict"`  // good, watch, act, critical
	Side     int      `json:"side"`     // -1 low, 1 high
	Sentence string   `json:"sentence"`
	Source   string   `json:"source"`
}

// Fact is a figure worked out of the test.
type Fact struct {
	Name   string  `json:"name"`
	Value  float64 `json:"value"`
	Unit   string  `json:"unit"`
	Text   string  `json:"text"`
	Source string  `json:"source"`
}

// Verdict is what a test comes to.
type Verdict struct {
	Word       string       `json:"verdict"` // good, watch, act, critical
	Sentence   string       `json:"sentence"`
	Fish       string       `json:"fish"`
	Group      string       `json:"group"`
	Water      string       `json:"water"` // what the doses are for
	VolumeM3   float64      `json:"volumeM3"`
	NextTestH  float64      `json:"nextTestH"`
	NextTest   string       `json:"nextTest"`
	Remedies   []Remedy     `json:"remedies"` // in the order to do them
	Gauges     []Gauge      `json:"gauges"`   // worst first
	Doses      []Dose       `json:"doses"`
	Facts      []Fact       `json:"facts"`
	Possible   string       `json:"possible"` // whether the values can stand together
	Doubts     []string     `json:"doubts"`   // what is hard to believe
	Unusual    []string     `json:"unusual"`
	Missing    []string     `json:"missing"` // what further values would tell
	Questions  []Question   `json:"questions"`
	Understood []Understood `json:"understood"`
	Cautions   []string     `json:"cautions"`
	Sources    []string     `json:"sources"`
}

// Must reports whether something must be done: the verdict is act or critical.
func (v *Verdict) Must() bool { return v.Word == "act" || v.Word == "critical" }

// ofParameter is how a parameter is called within a sentence, in which unit, and
// the field it is typed in.
type ofParameter struct{ name, unit, field string }

var parameters = map[water.Parameter]ofParameter{
	water.TempParameter:       {"water temperature", "°C", "temp"},
	water.PHParameter:         {"pH", "", "ph"},
	water.DOParameter:         {"oxygen", "mg/L", "oxygen"},
	water.TANParameter:        {"total ammonia", "mg/L as N", "ammonia"},
	water.NH3NParameter:       {"un-ionised ammonia", "mg/L as N", "nh3"},
	water.NO2NParameter:       {"nitrite", "mg/L as N", "nitrite"},
	water.NO3NParameter:       {"nitrate", "mg/L as N", "nitrate"},
	water.AlkalinityParameter: {"alkalinity", "mg/L as CaCO3", "alkalinity"},
	water.CO2Parameter:        {"carbon dioxide", "mg/L", "ph"},
	water.HardnessParameter:   {"hardness", "mg/L as CaCO3", "hardness"},
	water.CalciumParameter:    {"calcium", "mg/L", "calcium"},
	water.ECParameter:         {"conductivity", "dS/m", "ec"},
	water.ChlorideParameter:   {"chloride", "mg/L", "chloride"},
	water.PhosphateParameter:  {"phosphate", "mg/L as P", "phosphate"},
}

// judging is a verdict in the making.
type judging struct {
	v        Verdict
	r        Reading
	tank     *Tank
	s        water.Sample
	whole    water.Whole
	group    water.Group
	findings []water.Finding
	by       map[water.Parameter]water.Finding
	stocked  bool // a tank of the site is meant
}

// Judge holds a reading against the limits of its fish. tank is the tank of the
// site it was taken from, nil for none: then the reading must have a group or a
// species, and doses are for its volume, or for each m³.
//
// Values that contradict each other, and a reading without fish or without any
// value, are refused with an *InputError.
func Judge(r Reading, tank *Tank) (*Verdict, error) {
	j := &judging{v: Verdict{Remedies: []Remedy{}, Gauges: []Gauge{}, Doses: []Dose{}, Facts: []Fact{}, Doubts: []string{}, Unusual: []string{}, Missing: []string{}, Questions: []Question{}},
		r: r, s: r.Sample, by: map[water.Parameter]water.Finding{}, stocked: tank != nil}
	if j.tank = tank; tank == nil {
		j.tank = &Tank{Crops: true} // what harms crops is kept out where nothing is known
	}
	j.s.PressureKPa = j.tank.AirKPa
	if err := j.fish(); err != nil {
		return nil, err
	}
	if len(r.Understood) == 0 || !j.anything() {
		return nil, &InputError{"", "nothing was measured: type at least one value, best temperature, pH, ammonia, nitrite and oxygen on the same day"}
	}
	if !j.s.TempC.Known && j.tank.WaterC.Known {
		j.s.TempC = j.tank.WaterC
		j.v.Missing = append(j.v.Missing, fmt.Sprintf("The temperature of %s °C is the one %s is held at by the site file; measure this.", digits(j.tank.WaterC.Amount), j.tank.Name))
	}
	if err := j.work(); err != nil {
		return nil, err
	}
	j.volume()
	j.gauges()
	j.facts()
	j.missing()
	if err := j.remedies(); err != nil {
		return nil, err
	}
	j.headline()
	j.cautions()
	j.v.Questions, j.v.Understood = append(j.v.Questions, r.Questions...), r.Understood
	return &j.v, nil
}

func (j *judging) anything() bool {
	return slices.ContainsFunc(j.r.Understood, func(u Understood) bool { return u.Field != "volume" })
}

// fish settles whose limits count.
func (j *judging) fish() error {
	switch {
	case j.r.Group != "":
		j.group = water.Group(j.r.Group)
		for _, g := range Groups() {
			if g.Word == j.r.Group {
				j.v.Fish = g.Label
			}
		}
	case j.r.Species != "":
		g, err := water.GroupOf(j.r.Species)
		if err != nil {
			return &InputError{SpeciesField, err.Error()}
		}
		j.group, j.v.Fish = g, speciesWords(j.r.Species)
	case j.tank.Group != "":
		j.group, j.v.Fish = water.Group(j.tank.Group), j.tank.Fish
	case j.stocked:
		return &InputError{GroupField, fmt.Sprintf("no fish whose limits are known are written down for %s: say the group, cold, cool, warm or tropical", j.tank.Name)}
	default:
		return &InputError{GroupField, "whose water is it? Say a tank of the site, a species, or the group cold, cool, warm or tropical"}
	}
	j.v.Group = string(j.group)
	return nil
}

// work reckons what the values say together and judges them.
func (j *judging) work() error {
	if j.s.ECDSm.Known {
		ionic, err := water.IonicMolL(j.s.ECDSm.Amount)
		if err != nil {
			return &InputError{"ec", err.Error()}
		}
		j.s.IonicMolL = ionic
	}
	if j.r.OxygenShare.Known {
		if !j.s.TempC.Known {
			return &InputError{"oxygen", "oxygen in % of saturation needs the temperature of the water too"}
		}
		dry := j.s
		dry.DOGm3 = water.Figure{}
		w, err := dry.Whole()
		if err != nil {
			return refused(err)
		}
		if !w.DOFullGm3.Known {
			return &InputError{"oxygen", "oxygen in % of saturation is reckoned up to 40 °C; type it in mg/L"}
		}
		j.s.DOGm3 = water.Known(j.r.OxygenShare.Amount * w.DOFullGm3.Amount)
	}
	var err error
	if j.whole, err = j.s.Whole(); err != nil {
		return refused(err)
	}
	if j.findings, err = water.Judge(j.s.Test, j.group); err != nil {
		return refused(err)
	}
	if err := j.measuredNH3(); err != nil {
		return err
	}
	for _, f := range j.findings {
		j.by[f.Parameter] = f
	}
	return nil
}

// measuredNH3 judges un-ionised ammonia that a kit shows by itself where it is
// all there is, or is the higher.
func (j *judging) measuredNH3() error {
	if !j.s.NH3NGm3.Known {
		return nil
	}
	l, ok := water.LimitOf(j.group, water.NH3NParameter)
	if !ok {
		return nil
	}
	verdict, side, err := l.Judge(j.whole.NH3NGm3.Amount)
	if err != nil {
		return refused(err)
	}
	f := water.Finding{Parameter: water.NH3NParameter, Value: j.whole.NH3NGm3.Amount, Unit: l.Unit, Verdict: verdict, Side: side, NextTestH: [...]float64{72, 24, 12, 2}[verdict]}
	j.findings = slices.DeleteFunc(j.findings, func(f water.Finding) bool { return f.Parameter == water.NH3NParameter })
	j.findings = append([]water.Finding{f}, j.findings...)
	slices.SortStableFunc(j.findings, func(a, b water.Finding) int { return int(b.Verdict) - int(a.Verdict) })
	return nil
}

// refused turns a contradiction or a value out of range into an *InputError.
func refused(err error) error {
	var clash *water.Clash
	switch {
	case errors.As(err, &clash):
		return &InputError{parameters[clash.Of].field, clash.Sentence}
	case errors.Is(err, water.ErrImpossible), errors.Is(err, quantity.ErrRange):
		return &InputError{"", err.Error()}
	}
	return fmt.Errorf("water test: %w", err)
}

// volume settles what the doses are for.
func (j *judging) volume() {
	t := j.tank
	say := j.litres
	switch {
	case j.r.VolumeM3.Known:
		j.v.VolumeM3 = j.r.VolumeM3.Amount
		j.v.Water = say(j.v.VolumeM3)
	case t.WaterM3 > 0 && !t.Alone && t.WaterM3 > t.VolumeM3:
		j.v.VolumeM3 = t.WaterM3
		j.v.Water = fmt.Sprintf("the %s of loop %s, which %s shares (the tank alone holds %s)", say(t.WaterM3), t.Loop, t.Name, say(t.VolumeM3))
	case t.WaterM3 > 0:
		j.v.VolumeM3 = t.WaterM3
		j.v.Water = fmt.Sprintf("the %s of %s", say(t.WaterM3), t.Name)
	default:
		j.v.VolumeM3 = 1
		j.v.Water = "each " + strings.TrimPrefix(say(1), "1 ")
	}
}

// litres prints a volume in the reader's units.
func (j *judging) litres(m3 float64) string {
	return strings.Replace(quantity.Format(m3, quantity.Volume, j.tank.System), "m3", "m³", 1)
}

// into is the water of the doses, in few words.
func (j *judging) into() string {
	t := j.tank
	switch {
	case j.r.VolumeM3.Known || t.WaterM3 == 0:
		return j.v.Water
	case !t.Alone && t.WaterM3 > t.VolumeM3:
		return fmt.Sprintf("the %s of loop %s", j.litres(t.WaterM3), t.Loop)
	}
	return j.v.Water
}

// decimals are those that print each band exactly and the value to a twentieth.
func decimals(value float64, bands ...water.Figure) int {
	for d := range 5 {
		ok := math.Abs(round(value, d)-value) <= math.Abs(value)/20
		for _, b := range bands {
			ok = ok && (!b.Known || math.Abs(round(b.Amount, d)-b.Amount) < 1e-9)
			ok = ok && (!b.Known || value == b.Amount || round(value, d) != round(b.Amount, d)) // a value beyond a band never looks like it
		}
		if ok {
			return d
		}
	}
	return 4
}

func round(v float64, places int) float64 {
	out, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', places, 64), 64)
	if err != nil {
		return v
	}
	return out
}

func (j *judging) gauges() {
	pointer := func(f water.Figure) *float64 {
		if !f.Known {
			return nil
		}
		return &f.Amount
	}
	for _, f := range j.findings {
		l, ok := water.LimitOf(j.group, f.Parameter)
		if !ok {
			continue
		}
		p := parameters[f.Parameter]
		g := Gauge{Name: p.name, Value: f.Value, Unit: p.unit, Verdict: f.Verdict.String(), Side: f.Side, Source: l.Source,
			Low: pointer(l.WarnLow), High: pointer(l.WarnHigh), BestLow: pointer(l.OptLow), BestHigh: pointer(l.OptHigh), CritLow: pointer(l.CritLow), CritHigh: pointer(l.CritHigh),
			Decimals: decimals(f.Value, l.WarnLow, l.WarnHigh, l.OptLow, l.OptHigh)}
		g.Sentence = full(words.Capital(j.clause(f)))
		j.v.Gauges = append(j.v.Gauges, g)
	}
}

// amount is a value with its unit: "nitrite of 0.8 mg/L as N", "pH 6.4".
func (j *judging) amount(f water.Finding) string {
	p := parameters[f.Parameter]
	l, _ := water.LimitOf(j.group, f.Parameter)
	number := strconv.FormatFloat(f.Value, 'f', decimals(f.Value, l.WarnLow, l.WarnHigh, l.OptLow, l.OptHigh), 64)
	if f.Parameter == water.PHParameter {
		return "pH " + digits(f.Value)
	}
	return p.name + " of " + strings.TrimSpace(number+" "+p.unit)
}

// clause says how a value stands to what the fish bear.
func (j *judging) clause(f water.Finding) string {
	l, _ := water.LimitOf(j.group, f.Parameter)
	where, bear, best := "above", l.WarnHigh, l.OptHigh
	if f.Side < 0 {
		where, bear, best = "below", l.WarnLow, l.OptLow
	}
	if f.Parameter == water.AlkalinityParameter && f.Side < 0 && f.Verdict >= water.Act {
		return fmt.Sprintf("%s is too low to hold the pH (under %s)", j.amount(f), digits(l.WarnLow.Amount))
	}
	switch f.Verdict {
	case water.Critical:
		crit := l.CritHigh
		if f.Side < 0 {
			crit = l.CritLow
		}
		return fmt.Sprintf("%s is a danger to the life of %s (%s %s)", j.amount(f), j.v.Fish, where, digits(crit.Amount))
	case water.Act:
		return fmt.Sprintf("%s is %s what %s bear for long (%s)", j.amount(f), where, j.v.Fish, digits(bear.Amount))
	case water.Watch:
		return fmt.Sprintf("%s is %s the best for %s (%s)", j.amount(f), where, j.v.Fish, digits(best.Amount))
	}
	return j.amount(f) + " is good for " + j.v.Fish
}

func (j *judging) facts() {
	add := func(f water.Figure, name, unit, text, source string) {
		if f.Known {
			j.v.Facts = append(j.v.Facts, Fact{name, f.Amount, unit, text, source})
		}
	}
	w := &j.whole
	if j.s.TANGm3.Known || j.s.NH3NGm3.Known {
		add(w.NH3NGm3, "un-ionised ammonia", "g/m³ as N", trace(w.NH3NGm3.Amount)+" mg/L as N", "emerson-1975, at zero ionic strength: up to a tenth on the safe side")
	}
	add(w.UnionisedShare, "un-ionised share of ammonia", "1", trace(100*w.UnionisedShare.Amount)+" %", "emerson-1975")
	add(w.CO2Gm3, "carbon dioxide", "g/m³", digits(w.CO2Gm3.Amount)+" mg/L", "plummer-busenberg-1982, davies-1962: from pH, alkalinity and temperature, ammonia and phosphate taken off")
	if w.OxygenShare.Known {
		add(w.OxygenShare, "oxygen of saturation", "1", percent(w.OxygenShare.Amount), "benson-krause-1984")
	}
	add(w.DOFullGm3, "oxygen at saturation", "g/m³", digits(w.DOFullGm3.Amount)+" mg/L", fmt.Sprintf("benson-krause-1984, at %s kPa", digits(j.kPa())))
	add(w.CalciteIndex, "calcite index", "1", fmt.Sprintf("%+.1f", w.CalciteIndex.Amount), "plummer-busenberg-1982; all hardness taken as calcium where calcium was not measured")
	if j.s.ECDSm.Known && w.LeastECDSm.Known {
		add(w.LeastECDSm, "conductivity the measured ions have at least", "dS/m", digits(w.LeastECDSm.Amount)+" dS/m of "+digits(j.s.ECDSm.Amount), "limiting conductivities of ions, from memory, less 15 %")
	}
	j.v.Possible = "These values can stand together."
	for _, d := range w.Doubts {
		j.v.Doubts = append(j.v.Doubts, d.Sentence)
	}
	if len(w.Doubts) > 0 {
		j.v.Possible = "These values can hardly stand together: measure again before anything is dosed."
	} else if len(j.r.Understood) < 3 {
		j.v.Possible = "Too few values to tell whether they can stand together."
	}
	for _, u := range w.Unusual {
		j.v.Unusual = append(j.v.Unusual, u.Sentence)
	}
}

func (j *judging) kPa() float64 {
	if j.s.PressureKPa == 0 {
		return 101.325
	}
	return j.s.PressureKPa
}

// missing says what further values would tell.
func (j *judging) missing() {
	say := func(need bool, text string) {
		if need {
			j.v.Missing = append(j.v.Missing, text)
		}
	}
	s := &j.s
	say(s.TANGm3.Known && !j.whole.NH3NGm3.Known, "How much of the ammonia is toxic is not known: measure pH and temperature too.")
	say(!s.TANGm3.Known && !s.NH3NGm3.Known, "Ammonia was not measured.")
	say(!s.NO2NGm3.Known, "Nitrite was not measured.")
	say(!s.DOGm3.Known, "Oxygen was not measured.")
	say(s.PH.Known != s.AlkEqM3.Known, "Carbon dioxide needs pH and alkalinity of the same day.")
}

// mostOxygenShare is the oxygen against saturation above which a reading is not
// called good: gas in excess harms fish. Common practice, no source.
const mostOxygenShare = 1.2

// headline is the answer line.
func (j *judging) headline() {
	next := 72.0
	var worst *water.Finding
	air := false // more air is what counts first
	for i, f := range j.findings {
		next = min(next, f.NextTestH)
		if low := f.Parameter == water.DOParameter && f.Side < 0; low && f.Verdict == water.Critical {
			next = min(next, 0.25)
		} else if low && f.Verdict == water.Act {
			next = min(next, 1)
		}
		air = air || f.Verdict >= water.Act && (f.Parameter == water.CO2Parameter || f.Parameter == water.DOParameter && f.Side < 0)
		if worst == nil && f.Verdict > water.Good {
			worst = &j.findings[i]
		}
	}
	if len(j.v.Doses) > 0 {
		next = min(next, 6)
	}
	j.v.NextTestH, j.v.NextTest = next, within(next)
	again := fmt.Sprintf("Test again %s.", j.v.NextTest)
	if share := j.whole.OxygenShare; worst == nil && share.Known && share.Amount > mostOxygenShare {
		j.v.Word = water.Watch.String()
		j.v.Sentence = fmt.Sprintf("Oxygen at %.0f %% of saturation: calibrate the probe; if it is right, look for air drawn in at the pump's suction, for such gas harms fish. Test again in an hour.", 100*share.Amount)
		j.v.NextTestH, j.v.NextTest = 1, within(1)
		return
	}
	if worst == nil {
		j.v.Word = water.Good.String()
		s := &j.s
		switch n := len(j.findings); {
		case n > 0 && !s.TANGm3.Known && !s.NH3NGm3.Known && !s.NO2NGm3.Known && !s.DOGm3.Known:
			j.v.Sentence = fmt.Sprintf("What was measured is good for %s, but it is too little to call the water good: measure ammonia, nitrite and oxygen. %s", j.v.Fish, again)
		case n == 0:
			j.v.Sentence = fmt.Sprintf("None of the values typed has limits for %s, so nothing can be said against this water. %s", j.v.Fish, again)
		case n == 1:
			j.v.Sentence = fmt.Sprintf("%s. %s", words.Capital(j.clause(j.findings[0])), again)
		default:
			j.v.Sentence = fmt.Sprintf("The water is good for %s by all %d values, measured and worked out. %s", j.v.Fish, n, again)
		}
		return
	}
	j.v.Word = worst.Verdict.String()
	lead := worst
	if j.alarm() {
		for i, f := range j.findings {
			if f.Verdict >= water.Act && alarming(f) {
				lead = &j.findings[i]
				break
			}
		}
	}
	text := words.Capital(j.clause(*lead))
	if j.alarm() {
		text = "Stop feeding: " + j.clause(*lead)
	}
	also := ""
	for i, f := range j.findings { // one more danger, or what is worse than the alarm
		if &j.findings[i] != lead && (f.Verdict == water.Critical || f.Verdict > lead.Verdict) {
			also = " " + words.Capital(strings.Replace(j.clause(f), "is a danger to the life of "+j.v.Fish, "is a danger too", 1)) + "."
			break
		}
	}
	do := j.first(lead.Parameter)
	if do != "" {
		do = " " + do
	}
	if air {
		do = " Aerate now, with all there is." + do
	}
	if len(j.whole.Doubts) > 0 {
		j.v.Sentence = "Measure again: these values can hardly stand together. Until then feed nothing and aerate. As typed: " + j.clause(*lead) + ". " + again
		return
	}
	j.v.Sentence = text + "." + also + do + " " + again
}

// alarming reports whether a finding is of ammonia, nitrite or oxygen.
func alarming(f water.Finding) bool {
	switch f.Parameter {
	case water.DOParameter:
		return f.Side < 0
	case water.NH3NParameter, water.TANParameter, water.NO2NParameter:
		return f.Side > 0
	}
	return false
}

// alarm reports whether ammonia, nitrite or oxygen is outside what is borne.
func (j *judging) alarm() bool {
	return slices.ContainsFunc(j.findings, func(f water.Finding) bool { return f.Verdict >= water.Act && alarming(f) })
}
