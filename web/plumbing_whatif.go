package web

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/site"
	"tidebed/words"
)

// askedField is a field of a form of the plumbing page.
type askedField struct {
	Name, Label, Hint, Typed, AsIs, Problem string
	Options                                 []optionView
	Tick, Ticked                            bool
}

// whatIfView is the form and, when something was asked, both sides.
type whatIfView struct {
	Fields   []askedField
	Asked    bool
	Problem  string
	Sentence string
	Rows     []compareRow
}

type compareRow struct {
	What, Now, If string
	Changed       bool
}

// Failed reports whether something typed was refused.
func (v *whatIfView) Failed() bool {
	return v != nil && (v.Problem != "" || slices.ContainsFunc(v.Fields, func(f askedField) bool { return f.Problem != "" }))
}

// whatIfKind is one quantity that can be asked for.
type whatIfKind struct {
	name, label string
	kind        quantity.Kind
	keys        []string // ends of the paths of what it stands for
}

var whatIfKinds = []whatIfKind{
	{"bore", "Standpipe bore", quantity.Length, []string{"siphon.standpipe", "standpipe.bore"}},
	{"crest", "Crest above the bed’s floor", quantity.Length, []string{"siphon.crest", "standpipe.crest"}},
	{"break", "Siphon break", quantity.Length, []string{"siphon.siphon-break"}},
	{"outlet", "Outlet, below the floor negative", quantity.Length, []string{"siphon.outlet"}},
	{"set", "Inflow to which its valve is set", quantity.Flow, []string{"set-flow"}},
	{"pipe", "Inside width of its pipe", quantity.Length, []string{"diameter"}},
	{"open", "Its valve stays open", quantity.Duration, []string{"open"}},
	{"floods", "Floods an hour", quantity.Plain, []string{"timetable.floods", "timetable.floods-at-night"}},
	{"temp", "Water", quantity.Temperature, nil},
}

// bareUnit is the unit of a number typed without one.
func (s *server) bareUnit(kind quantity.Kind) string {
	us := s.system == quantity.USCustomary
	switch kind {
	case quantity.Length:
		return s.small().Word
	case quantity.Flow:
		word, _ := s.flowUnit()
		return word
	case quantity.Duration:
		return "s"
	case quantity.Volume:
		if us {
			return "gal"
		}
		return "L"
	case quantity.Temperature:
		if us {
			return "°F"
		}
		return "°C"
	}
	return ""
}

// typedAmount reads what was typed, in the reader's unit when it names none.
func (s *server) typedAmount(text string, kind quantity.Kind) (float64, error) {
	if unit := s.bareUnit(kind); unit != "" {
		return quantity.ParseBare(text, kind, unit)
	}
	return quantity.Parse(text, kind)
}

// whatIf answers the form: the loop as it is beside the loop with what was typed.
func (s *server) whatIf(st *plumbing.Study, at int, q url.Values) *whatIfView {
	v := &whatIfView{}
	get := func(name string) string { return strings.TrimSpace(q.Get("if-" + name)) }
	l := st.Loop
	var beds []int
	which := askedField{Name: "if-bed", Label: "Beds", Options: []optionView{{Word: "", Label: "every one that drains"}}}
	for i := range st.Scheme.Beds {
		if st.Scheme.CutOf(i) == nil {
			continue
		}
		name := l.Beds[i].Name
		chosen := get("bed") == name
		which.Options = append(which.Options, optionView{name, "only " + name, chosen})
		if chosen || get("bed") == "" {
			beds = append(beds, i)
		}
	}
	if get("bed") != "" && len(beds) == 0 {
		which.Problem = "There is no bed of this name with a siphon or a standpipe: choose one of the list."
	}
	pump := askedField{Name: "if-pump", Label: "Pump", Options: []optionView{{Word: "", Label: "as it is"}}}
	known := get("pump") == ""
	for i := range l.Pumps {
		if p := &l.Pumps[i]; len(p.Points) >= 2 {
			label := p.Name
			if p.Spare {
				label += ", spare"
			}
			pump.Options = append(pump.Options, optionView{p.Name, label, get("pump") == p.Name})
			known = known || get("pump") == p.Name
		}
	}
	if !known {
		pump.Problem = "There is no pump of this name with points of its curve: choose one of the list."
	}
	v.Fields = append(v.Fields, pump, which)
	wall := askedField{Name: "if-wall", Label: "Pipes", Options: []optionView{{"", "with the film of fish water", get("wall") != "new"}, {"new", "clean and new", get("wall") == "new"}}}
	v.Asked = get("pump") != "" || get("wall") != ""
	values, typed := map[string]float64{}, map[string]string{}
	for _, k := range whatIfKinds {
		if len(which.Options) == 1 && k.name != "floods" && k.name != "temp" {
			continue // there is no bed to change
		}
		f := askedField{Name: "if-" + k.name, Label: k.label, Typed: get(k.name), Hint: s.bareUnit(k.kind), AsIs: s.asIs(st, beds, k.name)}
		if f.Typed != "" {
			v.Asked = true
			si, err := s.typedAmount(f.Typed, k.kind)
			switch {
			case err != nil:
				f.Problem = err.Error() + "."
			case k.name == "temp" && !(si >= 0 && si <= 45):
				f.Problem = fmt.Sprintf("Water of %s to %s can be reckoned. You entered %s.", s.at(0, quantity.Temperature), s.at(45, quantity.Temperature), strconv.Quote(f.Typed))
			default:
				values[k.name], typed[k.name] = si, f.Typed
				f.Problem = pointless(st, beds, k.name)
				if si == 0 && k.name != "temp" && k.name != "break" && k.name != "outlet" {
					f.Problem = "Give a value above 0, or leave it empty for what it is now."
				}
			}
		}
		v.Fields = append(v.Fields, f)
	}
	v.Fields = append(v.Fields, wall)
	if !v.Asked || v.Failed() {
		return v
	}
	changed, refused := s.changedLoop(at, beds, values, typed)
	for i := range v.Fields {
		v.Fields[i].Problem = refused[v.Fields[i].Name]
	}
	if v.Failed() {
		return v
	}
	o := plumbing.SettingsOf(s.cfg.Site, l)
	o.New, o.Pump = get("wall") == "new", get("pump")
	if t, ok := values["temp"]; ok {
		o.TempC = t
	}
	other, err := plumbing.QuickStudy(changed, o)
	var now *plumbing.Study
	if err == nil {
		now, err = plumbing.QuickStudy(l, st.Scheme.Settings)
	}
	switch {
	case err != nil:
		v.Problem = "This cannot be: " + strings.TrimPrefix(err.Error(), "loop "+l.Name+": ") + "."
	case other == nil || other.Unpiped:
		v.Problem = "With this nothing is pumped."
	default:
		v.Sentence = other.Timetable.Answer()
		var act []plumbing.Finding
		for _, f := range other.Findings {
			if f.State == plumbing.Act {
				act = append(act, f)
			}
		}
		if len(act) > 0 {
			v.Sentence += fmt.Sprintf(" %s to mend then, first: %s.", words.Capital(words.Count(len(act), "thing", "things")), words.Lower(stripFull(act[0].Sentence)))
		}
		v.Rows = s.compared(now, other, beds)
	}
	return v
}

// pointless says why a value changes nothing in the beds chosen; empty when it does.
func pointless(st *plumbing.Study, beds []int, name string) string {
	some := func(is func(b *plumbing.Bed) bool) bool {
		return slices.ContainsFunc(beds, func(i int) bool { return is(&st.Scheme.Beds[i]) })
	}
	switch name {
	case "break", "outlet":
		if !some(func(b *plumbing.Bed) bool { return b.Way == plumbing.Siphons }) {
			return "None of these beds has a siphon."
		}
	case "set", "pipe":
		if !some(func(b *plumbing.Bed) bool { return b.Branch >= 0 }) {
			return "No pipe of the pump’s leads to these beds."
		}
	case "open":
		if !some(func(b *plumbing.Bed) bool { return b.Branch >= 0 && st.Scheme.Branches[b.Branch].Timed }) {
			return "No timed valve leads to these beds."
		}
	}
	return ""
}

// asIs is what stands in the site for a field.
func (s *server) asIs(st *plumbing.Study, beds []int, name string) string {
	switch name {
	case "floods":
		return figure(plumbing.GoalOf(st.Loop).PerHour)
	case "temp":
		return s.at(st.Scheme.Settings.TempC, quantity.Temperature)
	}
	if len(beds) == 0 {
		return ""
	}
	bed := beds[0]
	u := s.small()
	length := func(m float64) string { return u.text(m) + " " + u.Word }
	c := st.Scheme.CutOf(bed)
	siphon := c.Way == plumbing.Siphons
	switch {
	case name == "bore":
		return length(c.BoreM)
	case name == "crest":
		return length(c.CrestM)
	case name == "break" && siphon:
		return length(c.BreakM)
	case name == "outlet" && siphon:
		return length(c.OutletM)
	}
	branch := st.Scheme.Beds[bed].Branch
	if branch < 0 {
		return ""
	}
	p := st.Scheme.Branches[branch].Pipe
	switch name {
	case "set":
		if p.SetM3s > 0 {
			return s.flow(p.SetM3s)
		}
		return "not set"
	case "pipe":
		return length(p.BoreM())
	case "open":
		if x := turnOf(st.Timetable, bed); x != nil {
			return clockSpan(x.OpenS)
		}
	}
	return ""
}

// turnOf is a bed's turn in the first part of the day; nil for none.
func turnOf(t *plumbing.Timetable, bed int) *plumbing.Turn {
	if t == nil || len(t.Parts) == 0 {
		return nil
	}
	for i := range t.Parts[0].Turns {
		if x := &t.Parts[0].Turns[i]; x.Bed == bed {
			return x
		}
	}
	return nil
}

// changedLoop is a copy of a loop with the values in it, and what the site's rules
// refuse of them, by field.
func (s *server) changedLoop(at int, beds []int, values map[string]float64, typed map[string]string) (*site.Loop, map[string]string) {
	whole := *s.cfg.Site
	whole.Loops = slices.Clone(whole.Loops)
	l := &whole.Loops[at]
	l.Beds, l.Pipes = slices.Clone(l.Beds), slices.Clone(l.Pipes)
	touched := map[string]bool{} // pipes that lead to the beds
	set := func(name string, to *float64) {
		if v, ok := values[name]; ok {
			*to = v
		}
	}
	for _, i := range beds {
		b := &l.Beds[i]
		if b.Siphon != nil {
			c := *b.Siphon
			_, bore := values["bore"]
			_, crest := values["crest"]
			_, stop := values["break"]
			_, outlet := values["outlet"]
			if bore || crest || stop || outlet {
				c.DrainS, c.StartM3s = 0, 0 // measured on what stands there now
			}
			if outlet && c.PipeLengthM > 0 {
				c.PipeLengthM = math.Max(0.01, c.PipeLengthM+c.OutletM-values["outlet"])
			}
			set("bore", &c.StandpipeM)
			set("crest", &c.CrestM)
			set("break", &c.BreakM)
			set("outlet", &c.OutletM)
			b.Siphon = &c
		}
		if b.Standpipe != nil {
			c := *b.Standpipe
			set("bore", &c.BoreM)
			set("crest", &c.CrestM)
			b.Standpipe = &c
		}
		touched[b.Name] = true
	}
	for i := range l.Pipes {
		p := &l.Pipes[i]
		if !touched[p.To] {
			continue
		}
		set("set", &p.SetM3s)
		if _, ok := values["set"]; ok && p.Valve == "" {
			p.Valve = "hand"
		}
		set("open", &p.OpenS)
		if v, ok := values["pipe"]; ok {
			p.DiameterM, p.Size = v, ""
		}
	}
	if v, ok := values["floods"]; ok {
		t := site.Timetable{}
		if l.Timetable != nil {
			t = *l.Timetable
		}
		t.PerHour, t.AtNight = v, v
		l.Timetable = &t
	}
	return l, refusedChanges(&whole, at, typed)
}

// refusedChanges holds a changed site against its own rules: those of single
// fields and those between them.
func refusedChanges(whole *site.Site, at int, typed map[string]string) map[string]string {
	out := map[string]string{}
	text, err := site.Write(whole)
	if err == nil {
		_, _, err = site.Read("", text)
	}
	var problems site.Problems
	if !errors.As(err, &problems) {
		return out
	}
	prefix := fmt.Sprintf("loops[%d].", at)
	for _, p := range problems {
		if !strings.HasPrefix(p.Field, prefix) {
			continue
		}
		for _, k := range whatIfKinds {
			text, asked := typed[k.name]
			if asked && out["if-"+k.name] == "" && slices.ContainsFunc(k.keys, func(key string) bool { return strings.HasSuffix(p.Field, "."+key) }) {
				if p.Given != "" { // as it was written out to be checked
					p.Message = strings.Replace(p.Message, p.Given, text, 1)
				}
				out["if-"+k.name] = words.Capital(p.Message) + "."
			}
		}
	}
	if len(out) == 0 { // between two fields, told at one that was not typed
		for _, p := range problems {
			if strings.HasPrefix(p.Field, prefix) && (strings.Contains(p.Field, ".siphon") || strings.Contains(p.Field, ".standpipe")) {
				for _, k := range whatIfKinds {
					if _, asked := typed[k.name]; asked && len(out) == 0 && k.kind == quantity.Length {
						out["if-"+k.name] = words.Capital(p.Message) + "."
					}
				}
			}
		}
	}
	return out
}

// compared are the rows of both sides for the first of the beds.
func (s *server) compared(now, then *plumbing.Study, beds []int) []compareRow {
	bed := -1
	for _, i := range beds {
		if turnOf(now.Timetable, i) != nil || bed < 0 {
			bed = i
			break
		}
	}
	a, b := s.summary(now, bed), s.summary(then, bed)
	var rows []compareRow
	for i := range a {
		if a[i].Now == "" && b[i].Now == "" {
			continue
		}
		rows = append(rows, compareRow{What: a[i].What, Now: cmp.Or(a[i].Now, "–"), If: cmp.Or(b[i].Now, "–"), Changed: a[i].Now != b[i].Now})
	}
	return rows
}

// summary is one side of the comparison, in a fixed order; empty texts are left
// out when both sides have none.
func (s *server) summary(st *plumbing.Study, bed int) []compareRow {
	u := s.tall()
	t := st.Timetable
	var verdict, inflow, fill, drain, open, period, floods, name string
	if bed >= 0 {
		name = st.Loop.Beds[bed].Name
	}
	if x := turnOf(t, bed); x != nil {
		verdict, inflow = verdictWord(string(x.Verdict)), s.flow(x.InflowM3s)
		if !x.Trips {
			verdict += ", does not flood"
		}
		fill, drain, open = spanOrNone(x.FillS), spanOrNone(x.DrainS), clockSpan(x.OpenS)
		period = clockSpan(t.Parts[0].CycleS)
	} else {
		for i := range t.Steady {
			if y := &t.Steady[i]; y.Bed == bed {
				verdict, inflow, floods = verdictWord(string(y.Verdict)), s.flow(y.InflowM3s), fixed(y.PerHour, 1)
			}
		}
	}
	if t.MostPerHour > 0 {
		floods = fixed(t.MostPerHour, 1)
	}
	kWh := 0.0
	for i := range t.Parts {
		kWh += t.Parts[i].WireKWhDay
	}
	pump := ""
	if d, err := st.Scheme.Clone().DutyOf(openFor(st, bed)); err == nil {
		pump = s.flow(d.At.FlowM3s) + " at " + u.text(d.At.HeadM) + " " + u.Word
		if d.WireW > 0 {
			pump += ", " + fixed(d.WireW, 0) + " W"
		}
	}
	worst := "nothing to mend"
	for _, state := range []plumbing.State{plumbing.Act, plumbing.Watch} {
		if k := slices.IndexFunc(st.Findings, func(f plumbing.Finding) bool { return f.State == state }); k >= 0 {
			worst = string(state) + ": " + st.Findings[k].Sentence
			break
		}
	}
	energy, lowest := "", ""
	if kWh > 0 {
		energy = fixed(kWh, 2) + " kWh"
	}
	if st.Day != nil {
		lowest = u.text(st.Day.SourceLowM) + " " + u.Word
	}
	return []compareRow{
		{What: "inflow of " + name, Now: inflow}, {What: "what the siphon does", Now: verdict}, {What: "fills in", Now: fill}, {What: "drains in", Now: drain},
		{What: "valve stays open", Now: open}, {What: "its turn comes every", Now: period}, {What: "most floods an hour that fit", Now: floods}, {What: "pump", Now: pump},
		{What: "energy of the pump a day", Now: energy}, {What: "lowest level of the " + st.Scheme.Source.Name, Now: lowest}, {What: "worst finding, faults apart", Now: worst},
	}
}

func openFor(st *plumbing.Study, bed int) int {
	if bed >= 0 {
		if b := st.Scheme.Beds[bed].Branch; b >= 0 && st.Scheme.Branches[b].Timed {
			return b
		}
	}
	if timed := st.Scheme.Timed(); len(timed) > 0 {
		return timed[0]
	}
	return -1
}

func spanOrNone(seconds float64) string {
	if seconds <= 0 {
		return "never"
	}
	return clockSpan(seconds)
}
