package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"sort"
	"strings"

	"tidebed/quantity"
	"tidebed/site"
	"tidebed/watertest"
	"tidebed/words"
)

// The form's names beside those of the values: the unit beside a value, and the
// button, so that a link may choose a tank without asking for a verdict.
const (
	unitOf   = "-unit"
	judgeKey = "judge"
)

type testPage struct {
	frame
	Sentence     string
	Problem      string // about the values together
	Verdict      *watertest.Verdict
	State        string // good, watch, act: as on a staff
	Where        string // whose water, and how much of it
	Staffs       []staffView
	Doses        []doseView
	Tanks        choiceView
	Group        choiceView
	Usual, Other []testField
	OtherOpen    bool
}

// choiceView is a word to be chosen.
type choiceView struct {
	ID, Name, Label, Empty, Problem string
	Focus                           bool
	Options                         []optionView
}

type optionView struct {
	Word, Label string
	Chosen      bool
}

// testField is one value of the form with its unit.
type testField struct {
	ID, Name, Label, Typed, Problem string
	Focus                           bool
	Units                           []optionView
}

// doseView is a dose as the page shows it.
type doseView struct {
	Sentence, Remark string
	Parts            []partRow
}

type partRow struct{ Day, Grams, AtOnce, Settled, Ammonia string }

// showTest handles GET /test: the form alone, or with values in the address the
// verdict above it. A refused form comes back as it was typed, with a sentence
// beside each field at fault.
func (s *server) showTest(w http.ResponseWriter, r *http.Request) {
	typed := r.URL.Query()
	page := testPage{frame: s.frame("Test the water", "test"), Sentence: "Type what the kit shows; what was not measured stays empty."}
	values, problems := testValues(typed)
	if anyMeasured(values) || typed.Has(judgeKey) || len(problems) > 0 {
		if len(problems) == 0 {
			verdict, err := judgeTyped(s.cfg.Site, values)
			problems = testRefusals(err)
			switch {
			case err != nil && len(problems) == 0:
				s.fail(w, r, fmt.Errorf("water test: %w", err))
				return
			case err == nil:
				s.showVerdict(&page, verdict, values)
			}
		}
	}
	status := http.StatusOK
	if len(problems) > 0 {
		status = http.StatusUnprocessableEntity
		page.Sentence = "This cannot be judged yet: " + words.Count(len(problems), "thing is", "things are") + " to be mended."
		page.Problem = looseTest(problems)
	}
	s.fillTestForm(&page, typed, problems)
	s.render(w, r, status, "test.html", page)
}

// testValues joins each typed number with the unit chosen beside it; a value that
// names its unit itself stays as it is.
func testValues(typed url.Values) (values, problems map[string]string) {
	values, problems = map[string]string{}, map[string]string{}
	units := map[string]watertest.Field{}
	for _, f := range watertest.Fields() {
		units[f.Name+unitOf] = f
	}
	for name := range typed {
		text := strings.TrimSpace(typed.Get(name))
		if _, unit := units[name]; unit || name == judgeKey || text == "" {
			continue
		}
		values[name] = text
	}
	for name, f := range units {
		unit, text := strings.TrimSpace(typed.Get(name)), values[f.Name]
		switch {
		case text == "" || unit == "" || !bareNumber(text):
		case !slices.ContainsFunc(f.Units, func(u watertest.Unit) bool { return u.Text == unit }):
			problems[f.Name] = fmt.Sprintf("There is no unit %q for it; choose one of those beside the field.", unit)
		default:
			values[f.Name] = text + " " + unit
		}
	}
	return values, problems
}

// bareNumber reports whether a text is a number alone.
func bareNumber(text string) bool {
	return strings.Trim(text, "0123456789.,+-−eE ") == ""
}

// anyMeasured reports whether more is typed than where the water is from.
func anyMeasured(values map[string]string) bool {
	for name := range values {
		switch name {
		case watertest.TankField, watertest.SpeciesField, watertest.GroupField, "volume":
		default:
			return true
		}
	}
	return false
}

// judgeTyped judges typed values against the site's tank they name.
func judgeTyped(b *site.Site, values map[string]string) (*watertest.Verdict, error) {
	reading, _, err := watertest.Parse(values)
	var tank *watertest.Tank
	if name := values[watertest.TankField]; name != "" {
		var missing error
		if tank, missing = watertest.TankOf(b, name); missing != nil {
			err = errors.Join(err, missing)
		}
	}
	if err != nil {
		return nil, err
	}
	return watertest.Judge(reading, tank)
}

// testRefusals collects the sentences of all refusals in an error, by field.
func testRefusals(err error) map[string]string {
	out := map[string]string{}
	var walk func(error)
	walk = func(err error) {
		if err == nil {
			return
		}
		if many, ok := err.(interface{ Unwrap() []error }); ok {
			for _, e := range many.Unwrap() {
				walk(e)
			}
			return
		}
		if refused, ok := err.(*watertest.InputError); ok {
			out[refused.Field] = fullStop(words.Capital(refused.Sentence))
			return
		}
		walk(errors.Unwrap(err))
	}
	walk(err)
	return out
}

func fullStop(text string) string {
	if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}

// looseTest are the problems that belong to no field of the form.
func looseTest(problems map[string]string) string {
	var out []string
	for name, sentence := range problems {
		known := name == watertest.TankField || name == watertest.GroupField ||
			slices.ContainsFunc(watertest.Fields(), func(f watertest.Field) bool { return f.Name == name })
		if !known {
			out = append(out, sentence)
		}
	}
	sort.Strings(out)
	return strings.Join(out, " ")
}

func (s *server) fillTestForm(page *testPage, typed url.Values, problems map[string]string) {
	focused := false
	focus := func(problem string) bool {
		if problem == "" || focused {
			return false
		}
		focused = true
		return true
	}
	chosen := strings.TrimSpace(typed.Get(watertest.TankField))
	names := watertest.TankNames(s.cfg.Site)
	if len(names) == 1 && !typed.Has(watertest.TankField) {
		chosen = names[0]
	}
	page.Tanks = choiceView{ID: "in-tank", Name: watertest.TankField, Label: "Tank", Empty: "none of this building", Problem: problems[watertest.TankField]}
	if len(names) > 1 && chosen == "" && page.Verdict == nil {
		page.Tanks.Empty = "choose"
	}
	for _, name := range names {
		page.Tanks.Options = append(page.Tanks.Options, optionView{name, name, strings.EqualFold(name, chosen)})
	}
	page.Tanks.Focus = focus(page.Tanks.Problem)
	page.Group = choiceView{ID: "in-group", Name: watertest.GroupField, Label: "Fish", Empty: "those of the tank", Problem: problems[watertest.GroupField]}
	if len(names) == 0 {
		page.Group.Empty = "choose"
	}
	for _, g := range watertest.Groups() {
		page.Group.Options = append(page.Group.Options, optionView{g.Word, g.Label, g.Word == typed.Get(watertest.GroupField)})
	}
	page.Group.Focus = focus(page.Group.Problem)
	for _, f := range watertest.Fields() {
		v := testField{ID: "in-" + f.Name, Name: f.Name, Label: f.Label, Typed: typed.Get(f.Name), Problem: problems[f.Name]}
		unit := typed.Get(f.Name + unitOf)
		if unit == "" && f.Kind == quantity.Temperature && s.system == quantity.USCustomary {
			unit = "°F"
		}
		for _, u := range f.Units {
			v.Units = append(v.Units, optionView{u.Text, u.Label, u.Text == unit})
		}
		v.Focus = focus(v.Problem)
		if f.Seldom() {
			page.OtherOpen = page.OtherOpen || v.Typed != "" || v.Problem != ""
			page.Other = append(page.Other, v)
		} else {
			page.Usual = append(page.Usual, v)
		}
	}
}

func (s *server) showVerdict(page *testPage, v *watertest.Verdict, values map[string]string) {
	page.Verdict, page.Sentence = v, v.Sentence
	page.State = v.Word
	if v.Must() {
		page.State = string(Act)
	}
	page.Where = words.Capital(v.Fish)
	if tank := values[watertest.TankField]; tank != "" {
		page.Where += " in " + tank
	}
	page.Where += ". Doses are for " + v.Water + "."
	for _, g := range v.Gauges {
		page.Staffs = append(page.Staffs, s.gaugeStaff(g).view())
	}
	for _, d := range v.Doses {
		view := doseView{Sentence: fullStop(d.Sentence), Remark: fullStop(d.Remark)}
		for _, p := range d.Parts {
			view.Parts = append(view.Parts, partRow{fmt.Sprint(p.Day), portionWeighed(p.G), fmt.Sprintf("%.2f", p.PHAtOnce), fmt.Sprintf("%.2f", p.PHSettled), fmt.Sprintf("%.4f", p.NH3NGm3)})
		}
		page.Doses = append(page.Doses, view)
	}
}

// portionWeighed prints grams to weigh: those of a pinch with a decimal.
func portionWeighed(g float64) string {
	if g < 10 {
		return fmt.Sprintf("%.1f g", g)
	}
	return grouped(math.Round(g)) + " g"
}

// gaugeStaff is a gauge of a water test as a staff: the band is what is borne for
// long, and near its edge begins where the best band ends, so that both say the
// same.
func (s *server) gaugeStaff(g watertest.Gauge) Staff {
	at := func(v *float64, none float64) float64 {
		if v == nil {
			return none
		}
		return *v
	}
	staff := Staff{Name: g.Name, Value: g.Value, Unit: strings.Replace(g.Unit, "CaCO3", "CaCO₃", 1), Decimals: g.Decimals,
		Low: at(g.Low, math.Inf(-1)), High: at(g.High, math.Inf(1))}
	switch {
	case g.Side < 0 && g.Low != nil && g.BestLow != nil:
		staff.Edge = *g.BestLow - *g.Low
	case g.Side > 0 && g.High != nil && g.BestHigh != nil:
		staff.Edge = *g.High - *g.BestHigh
	}
	if g.Side == 0 {
		staff.Edge = math.SmallestNonzeroFloat64 // good up to the very edge of the best band
	}
	lows, highs := []float64{g.Value}, []float64{g.Value}
	for _, v := range []*float64{g.CritLow, g.Low, g.BestLow, g.BestHigh, g.High, g.CritHigh} {
		if v != nil {
			lows, highs = append(lows, *v), append(highs, *v)
		}
	}
	staff.ScaleMin, staff.ScaleMax = slices.Min(lows), slices.Max(highs)
	if g.Low == nil {
		staff.ScaleMin = math.Min(0, g.Value)
	}
	room := (staff.ScaleMax - staff.ScaleMin) / 12
	staff.ScaleMax += room
	if staff.ScaleMin > 0 {
		staff.ScaleMin = math.Max(0, staff.ScaleMin-room)
	}
	if g.BestLow != nil && g.Low != nil {
		staff.Marks = append(staff.Marks, Mark{"best from", *g.BestLow})
	}
	if g.BestHigh != nil && g.High != nil {
		staff.Marks = append(staff.Marks, Mark{"best up to", *g.BestHigh})
	}
	if g.Unit == "°C" && s.system == quantity.USCustomary {
		staff.fahrenheit()
	}
	return staff
}

// fahrenheit turns a staff of °C into one of °F.
func (s *Staff) fahrenheit() {
	for _, v := range []*float64{&s.Value, &s.Low, &s.High, &s.ScaleMin, &s.ScaleMax} {
		*v = *v*9/5 + 32
	}
	s.Edge *= 9.0 / 5
	for i := range s.Marks {
		s.Marks[i].Value = s.Marks[i].Value*9/5 + 32
	}
	s.Unit, s.Decimals = "°F", max(s.Decimals, 1)
}
