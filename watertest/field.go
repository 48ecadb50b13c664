package watertest

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tidebed/quantity"
	"tidebed/science/fish"
	"tidebed/science/water"
)

// InputError says why one typed value was refused.
type InputError struct {
	Field    string // name of the field; empty when it is about several
	Sentence string // for the person who typed
}

// Error returns the field and the sentence.
func (e *InputError) Error() string {
	if e.Field == "" {
		return e.Sentence
	}
	return e.Field + ": " + e.Sentence
}

// Question is what the program must know and was not told; the answer was taken
// on the safe side meanwhile.
type Question struct {
	Field    string  `json:"field"`
	Sentence string  `json:"sentence"`
	JudgedAs string  `json:"judgedAs"` // the form that was taken: N, P
	Judged   float64 `json:"judged"`   // g/m³ of it
	Else     string  `json:"else"`     // the other form
	ElseGm3  float64 `json:"elseGm3"`  // g/m³ of N or P if it is that
}

// Unit is one unit in which a field may be typed.
type Unit struct {
	Text  string // as typed behind the number
	Label string // for people
}

// Field is one value of a test.
type Field struct {
	Name     string
	Label    string
	Units    []Unit // the usual ones, the first of them usual for kits; none: a bare number
	Kind     quantity.Kind
	Bare     string  // unit of a bare number; empty: the unit must be said
	Low      float64 // in the kind's own unit
	High     float64
	element  string // N or P, where kits differ in the form
	ion      string // the other form
	ionPer   float64
	foreign  []string // forms of something else
	extra    string   // what a range error adds
	set      func(*Reading, float64)
	optional bool
}

// Seldom reports whether the field is one that few kits have.
func (f Field) Seldom() bool { return f.optional }

func known(to func(*Reading) *water.Figure) func(*Reading, float64) {
	return func(r *Reading, v float64) { *to(r) = water.Known(v) }
}

var perCaCO3 = Unit{"mg/L as CaCO3", "mg/L as CaCO3"}

var fields = []Field{
	{Name: "temp", Label: "Water temperature", Kind: quantity.Temperature, Units: []Unit{{"°C", "°C"}, {"°F", "°F"}}, Low: -0.5, High: 45,
		extra: "no tank with living fish has that", set: known(func(r *Reading) *water.Figure { return &r.Sample.TempC })},
	{Name: "ph", Label: "pH", Kind: quantity.Plain, Low: 0, High: 14, extra: "the scale ends there", set: known(func(r *Reading) *water.Figure { return &r.Sample.PH })},
	{Name: "ammonia", Label: "Ammonia, total", Kind: quantity.AsN, Bare: "mg/L", High: 2000, element: "N", ion: "NH4", ionPer: water.NH4PerN, foreign: []string{"NO3", "NO2"},
		Units: []Unit{{"mg/L", "mg/L, not said"}, {"mg/L as N", "mg/L as N"}, {"mg/L as NH4", "mg/L as NH4"}, {"mg/L as NH3", "mg/L as NH3"}},
		set:   known(func(r *Reading) *water.Figure { return &r.Sample.TANGm3 })},
	{Name: "nitrite", Label: "Nitrite", Kind: quantity.AsN, Bare: "mg/L", High: 1000, element: "N", ion: "NO2", ionPer: water.NO2PerN, foreign: []string{"NO3", "NH4", "NH3"},
		Units: []Unit{{"mg/L", "mg/L, not said"}, {"mg/L as N", "mg/L as N"}, {"mg/L as NO2", "mg/L as NO2"}},
		set:   known(func(r *Reading) *water.Figure { return &r.Sample.NO2NGm3 })},
	{Name: "nitrate", Label: "Nitrate", Kind: quantity.AsN, Bare: "mg/L", High: 5000, element: "N", ion: "NO3", ionPer: water.NO3PerN, foreign: []string{"NO2", "NH4", "NH3"},
		Units: []Unit{{"mg/L", "mg/L, not said"}, {"mg/L as N", "mg/L as N"}, {"mg/L as NO3", "mg/L as NO3"}},
		set:   known(func(r *Reading) *water.Figure { return &r.Sample.NO3NGm3 })},
	{Name: "alkalinity", Label: "Alkalinity (KH)", Kind: quantity.Alkalinity, Units: []Unit{{"dKH", "dKH, degrees"}, perCaCO3, {"meq/L", "meq/L"}}, Low: water.LeastAlkalinityEqM3, High: water.MostAlkalinityEqM3,
		set: known(func(r *Reading) *water.Figure { return &r.Sample.AlkEqM3 })},
	{Name: "oxygen", Label: "Oxygen", Kind: quantity.Concentration, Bare: "mg/L", Units: []Unit{{"mg/L", "mg/L"}, {"%", "% of saturation"}}, High: 40,
		extra: "the most a probe may show in water under air is about half of it", set: known(func(r *Reading) *water.Figure { return &r.Sample.DOGm3 })},
	{Name: "hardness", Label: "Hardness, total (GH)", Kind: quantity.Alkalinity, Units: []Unit{{"°dH", "°dH, degrees"}, perCaCO3, {"°fH", "°fH, French"}, {"meq/L", "meq/L"}}, High: 100, optional: true,
		set: func(r *Reading, eq float64) { r.Sample.HardnessGm3 = water.Known(eq * water.CaCO3PerEq) }},
	{Name: "calcium", Label: "Calcium", Kind: quantity.Concentration, Bare: "mg/L", Units: []Unit{{"mg/L", "mg/L as Ca"}}, High: 2000, optional: true,
		set: known(func(r *Reading) *water.Figure { return &r.Sample.CalciumGm3 })},
	{Name: "ec", Label: "Conductivity (EC)", Kind: quantity.Conductivity, Units: []Unit{{"uS/cm", "µS/cm"}, {"mS/cm", "mS/cm"}, {"dS/m", "dS/m"}}, High: 3, optional: true,
		set: func(r *Reading, sm float64) { r.Sample.ECDSm = water.Known(sm * 10) }},
	{Name: "chloride", Label: "Chloride", Kind: quantity.Concentration, Bare: "mg/L", Units: []Unit{{"mg/L", "mg/L as Cl"}}, High: 1e5, optional: true,
		set: known(func(r *Reading) *water.Figure { return &r.Sample.ChlorideGm3 })},
	{Name: "phosphate", Label: "Phosphate", Kind: quantity.AsP, Bare: "mg/L", High: 2000, element: "P", ion: "PO4", ionPer: 94.970 / water.MolarP, optional: true,
		Units: []Unit{{"mg/L", "mg/L, not said"}, {"mg/L as P", "mg/L as P"}, {"mg/L as PO4", "mg/L as PO4"}},
		set:   known(func(r *Reading) *water.Figure { return &r.Sample.PhosphateGm3 })},
	{Name: "nh3", Label: "Ammonia, un-ionised only", Kind: quantity.AsN, Bare: "mg/L", High: 2000, element: "N", ion: "NH3", ionPer: water.NH3PerN, foreign: []string{"NO3", "NO2", "NH4"}, optional: true,
		Units: []Unit{{"mg/L", "mg/L, not said"}, {"mg/L as N", "mg/L as N"}, {"mg/L as NH3", "mg/L as NH3"}},
		set:   known(func(r *Reading) *water.Figure { return &r.Sample.NH3NGm3 })},
	{Name: "volume", Label: "Water to dose", Kind: quantity.Volume, Units: []Unit{{"L", "L"}, {"m3", "m³"}, {"gal", "US gal"}}, Low: 1e-6, High: 1e6, optional: true,
		set: func(r *Reading, m3 float64) { r.VolumeM3 = water.Known(m3) }},
}

// Fields returns the values a test may have, those most kits have first.
func Fields() []Field { return slices.Clone(fields) }

// Names are the keys that Parse takes beside those of Fields.
const (
	TankField    = "tank"    // a tank of the site
	SpeciesField = "species" // such as trout_rainbow
	GroupField   = "group"   // cold, cool, warm or tropical
)

// Choice is a word to choose and what people call it.
type Choice struct{ Word, Label string }

// Groups are the groups of fish that limits are known for.
func Groups() []Choice {
	return []Choice{{"cold", "cold-water fish"}, {"cool", "cool-water fish"}, {"warm", "warm-water fish"}, {"tropical", "tropical fish"}}
}

// Species are the species whose group is known.
func Species() (out []Choice) {
	for _, s := range fish.All() {
		if _, err := water.GroupOf(s.ID); err == nil {
			out = append(out, Choice{s.ID, s.Name})
		}
	}
	return out
}

// Understood is one typed value and how it was read.
type Understood struct {
	Field string `json:"field"`
	Typed string `json:"typed"`
	As    string `json:"as"`
}

// Reading is a test as typed, read.
type Reading struct {
	Group       string // empty: by the species or the tank
	Species     string
	Tank        string
	VolumeM3    water.Figure
	Sample      water.Sample
	OxygenShare water.Figure // of saturation, where that was typed
	Questions   []Question
	Understood  []Understood
}

// Parse reads the typed fields. Empty ones count as not measured. An amount of
// ammonia, nitrite, nitrate or phosphate that does not say its form is taken as
// the element, which is the higher one, and gives a Question. What cannot be read
// or cannot be gives an *InputError, several of them joined by errors.Join.
func Parse(typed map[string]string) (Reading, []Question, error) {
	var r Reading
	var faults []error
	refuse := func(field, sentence string) { faults = append(faults, &InputError{field, sentence}) }
	for name := range typed {
		if name != TankField && name != SpeciesField && name != GroupField && !slices.ContainsFunc(fields, func(f Field) bool { return f.Name == name }) {
			refuse(name, fmt.Sprintf("a water test has no value %q; it takes %s", clip(name), strings.Join(names(), ", ")))
		}
	}
	r.Tank = strings.TrimSpace(typed[TankField])
	if r.Species = strings.TrimSpace(typed[SpeciesField]); r.Species != "" {
		if _, err := water.GroupOf(r.Species); err != nil {
			refuse(SpeciesField, fmt.Sprintf("the limits of %q are not known; give one of %s, or a group", clip(r.Species), strings.Join(choiceWords(Species()), ", ")))
		}
	}
	if r.Group = strings.ToLower(strings.TrimSpace(typed[GroupField])); r.Group != "" && !slices.Contains(choiceWords(Groups()), r.Group) {
		refuse(GroupField, fmt.Sprintf("there is no group %q of fish; give cold, cool, warm or tropical", clip(r.Group)))
	}
	for _, f := range fields {
		text := strings.TrimSpace(typed[f.Name])
		if text == "" {
			continue
		}
		if err := f.read(&r, text); err != nil {
			refuse(f.Name, err.Error())
		}
	}
	if len(faults) > 0 {
		return Reading{}, nil, errors.Join(faults...)
	}
	return r, r.Questions, nil
}

func names() []string {
	out := []string{TankField, SpeciesField, GroupField}
	for _, f := range fields {
		out = append(out, f.Name)
	}
	return out
}

func choiceWords(list []Choice) []string {
	out := make([]string, len(list))
	for i, c := range list {
		out[i] = c.Word
	}
	return out
}

func clip(text string) string {
	if len(text) > 40 {
		return strings.ToValidUTF8(text[:40], "") + "…"
	}
	return text
}

func (f *Field) read(r *Reading, text string) error {
	if f.Name == "oxygen" && strings.HasSuffix(text, "%") {
		share, err := quantity.Parse(text, quantity.Share)
		if err != nil {
			return err
		}
		if err := quantity.InRange("oxygen", 100*share, 0, 400, "% of saturation"); err != nil {
			return err
		}
		r.OxygenShare = water.Known(share)
		r.Understood = append(r.Understood, Understood{f.Name, text, digits(100*share) + " % of saturation"})
		return nil
	}
	if f.Name == "hardness" && strings.Contains(text, "mol") {
		return errors.New("a mole of hardness may be of calcium or of charge; write meq/L, °dH or mg/L as CaCO3")
	}
	plain := strings.NewReplacer("₂", "2", "₃", "3", "₄", "4", "⁻", "", "⁺", "").Replace(text)
	for _, form := range f.foreign {
		for word := range strings.FieldsFuncSeq(plain, func(c rune) bool { return strings.ContainsRune(" /()+-", c) }) {
			if strings.EqualFold(word, form) {
				return fmt.Errorf("%s: %s is not a form of %s; kits tell it as %s or as %s", text, form, strings.ToLower(f.Label), f.element, f.ion)
			}
		}
	}
	value, err := quantity.ParseBare(plain, f.Kind, f.Bare)
	if err != nil {
		return err
	}
	if !(value >= f.Low && value <= f.High) {
		low, high := f.told(f.Low), f.told(f.High)
		sentence := fmt.Sprintf("%s is %s, outside what can be: %s to %s", text, f.told(value), low, high)
		switch {
		case value < 0 && f.Low == 0:
			sentence = fmt.Sprintf("%s: less than nothing cannot be in the water", text)
		case f.extra != "":
			sentence += " (" + f.extra + ")"
		}
		return errors.New(sentence)
	}
	f.set(r, value)
	r.Understood = append(r.Understood, Understood{f.Name, text, f.told(value)})
	if f.element == "" || value == 0 {
		return nil
	}
	if _, err := quantity.ParseBare(plain, quantity.Concentration, f.Bare); err != nil {
		return nil // the form was said
	}
	q := Question{Field: f.Name, JudgedAs: f.element, Judged: value, Else: f.ion, ElseGm3: value / f.ionPer}
	name, _, _ := strings.Cut(strings.ToLower(f.Label), ",")
	q.Sentence = fmt.Sprintf("Does the kit tell %s as %s or as %s? %s mg/L was judged as %s; as %s it is only %s mg/L as %s. Look on its colour card.",
		name, f.element, f.ion, digits(value), f.element, f.ion, digits(q.ElseGm3), f.element)
	r.Questions = append(r.Questions, q)
	return nil
}

// told prints a value of the field's kind for people.
func (f *Field) told(v float64) string {
	switch f.Kind {
	case quantity.Plain:
		return digits(v)
	case quantity.Alkalinity:
		return digits(v*water.CaCO3PerEq) + " mg/L as CaCO3"
	case quantity.Temperature:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") + " °C"
	case quantity.AsN, quantity.AsP:
		return digits(v) + " mg/L as " + f.element
	case quantity.Concentration:
		return digits(v) + " mg/L"
	case quantity.Conductivity:
		return digits(v*10) + " dS/m"
	}
	return quantity.Format(v, f.Kind, quantity.Metric)
}
