package watertest

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tidebed/science/water"
)

// The order of remedies.
const (
	RankFeed = iota + 1
	RankAir
	RankWater
	RankChemistry
	RankLook
)

// Remedy is one thing to do.
type Remedy struct {
	Rank   int    `json:"rank"` // 1 feed, 2 air, 3 water, 4 chemistry, 5 look
	Do     string `json:"do"`
	Why    string `json:"why"`
	Source string `json:"source"`
	of     water.Parameter
}

// Part is one day's part of a dose.
type Part struct {
	Day       int     `json:"day"`
	G         float64 `json:"g"`
	PHAtOnce  float64 `json:"phAtOnce"`
	PHSettled float64 `json:"phSettled"`
	NH3NGm3   float64 `json:"nh3nGm3"` // un-ionised ammonia nitrogen at the worse of the two
}

// Dose is a chemical that may be given.
type Dose struct {
	Name     string  `json:"name"`
	Formula  string  `json:"formula"`
	TotalG   float64 `json:"totalG"`
	FirstG   float64 `json:"firstG"` // to give now
	TargetPH float64 `json:"targetPH,omitempty"`
	Parts    []Part  `json:"parts,omitempty"` // of a base, a day each
	Sentence string  `json:"sentence"`
	Remark   string  `json:"remark"`
	Instead  bool    `json:"instead"` // in place of the one before, not beside it
	Source   string  `json:"source"`
}

const practice = "common practice, no source"

func (j *judging) do(rank int, of water.Parameter, do, why, source string) {
	j.v.Remedies = append(j.v.Remedies, Remedy{rank, do, why, source, of})
}

// at is the finding of a parameter; ok is false when it is good or unknown.
func (j *judging) at(p water.Parameter, side int) (water.Finding, bool) {
	f, known := j.by[p]
	return f, known && f.Side == side && f.Verdict > water.Good
}

// first is what to do at once against a parameter, beside stopping the
// feed; without such a thing, the first of all.
func (j *judging) first(p water.Parameter) string {
	var out []string
	for _, r := range j.v.Remedies {
		if r.Rank > RankFeed && r.of == p {
			out = append(out, full(r.Do))
		}
	}
	if len(out) == 0 {
		for _, r := range j.v.Remedies {
			if r.Rank > RankFeed {
				return full(r.Do)
			}
		}
	}
	return strings.Join(out[:min(2, len(out))], " ")
}

// remedies finds what to do, in the order in which it is safe.
func (j *judging) remedies() error {
	bath, complete := j.bath()
	j.feed()
	if err := j.air(bath, complete); err != nil {
		return err
	}
	if err := j.change(bath, complete); err != nil {
		return err
	}
	if err := j.chloride(); err != nil {
		return err
	}
	if err := j.base(bath, complete); err != nil {
		return err
	}
	j.look()
	slices.SortStableFunc(j.v.Remedies, func(a, b Remedy) int { return a.Rank - b.Rank })
	return nil
}

// bath is the water as the doses need it; complete is false when pH, alkalinity
// or temperature is unknown.
func (j *judging) bath() (b water.Bath, complete bool) {
	s := &j.s
	b = water.Bath{VolumeM3: j.v.VolumeM3, TempC: max(0, s.TempC.Amount), PH: s.PH.Amount, AlkEqM3: s.AlkEqM3.Amount,
		TANGm3: s.TANGm3.Amount, PhosphateGm3: s.PhosphateGm3.Amount, IonicMolL: s.IonicMolL}
	return b, s.PH.Known && s.AlkEqM3.Known && s.TempC.Known
}

func (j *judging) feed() {
	if j.alarm() {
		j.do(RankFeed, "", "Stop feeding until ammonia, nitrite and oxygen are back within their bands", "what is eaten now is ammonia in the water and oxygen out of it within hours", practice)
		return
	}
	for _, f := range j.findings {
		if f.Verdict == water.Watch && alarming(f) {
			j.do(RankFeed, f.Parameter, "Halve the feed until the next test", j.clause(f), practice)
			return
		}
	}
	if f, known := j.by[water.TempParameter]; known && f.Verdict >= water.Act {
		j.do(RankFeed, f.Parameter, "Feed little or nothing at this temperature", j.clause(f), practice)
	}
}

func (j *judging) air(b water.Bath, complete bool) error {
	oxygen, short := j.at(water.DOParameter, -1)
	nitrite, blocked := j.at(water.NO2NParameter, 1)
	gas, rich := j.at(water.CO2Parameter, 1)
	var freed string
	if l, ok := water.LimitOf(j.group, water.NH3NParameter); ok && complete && b.TANGm3 > 0 {
		ph, nh3n, err := b.PHInOpenAir()
		if err != nil {
			return fmt.Errorf("water test: %w", err)
		}
		if ph > b.PH && nh3n > l.WarnHigh.Amount {
			freed = fmt.Sprintf("with all carbon dioxide driven out the pH would go to %.1f and un-ionised ammonia to %s mg/L as N, above %s", ph, trace(nh3n), digits(l.WarnHigh.Amount))
		}
	}
	var why []string
	if short {
		text := j.clause(oxygen)
		if j.whole.OxygenShare.Known {
			text += ", " + percent(j.whole.OxygenShare.Amount) + " of saturation"
		}
		why = append(why, text)
	}
	if blocked && nitrite.Verdict >= water.Act {
		why = append(why, "nitrite keeps the blood from carrying oxygen")
	}
	if rich {
		why = append(why, j.clause(gas)+"; as it leaves, the pH rises by itself")
	}
	about, do, source := water.Parameter(""), "Keep air and pumps running", practice
	switch {
	case short:
		about, do = water.DOParameter, "Aerate with all there is and keep the pumps running"
	case rich && freed != "":
		about, do, source = water.CO2Parameter, "Aerate more, step by step, measure the pH each hour, and open doors and vents", "plummer-busenberg-1982, emerson-1975"
	case rich:
		about, do = water.CO2Parameter, "Aerate or let the water fall, and open doors and vents"
	case len(why) > 0:
		do = "Aerate more"
	case j.alarm():
		why = append(why, "nitrifying bacteria and fish both need the oxygen")
	default:
		return nil
	}
	if freed != "" {
		why = append(why, "mind the ammonia: "+freed)
	}
	j.do(RankAir, about, do, strings.Join(why, "; "), source)
	return nil
}

// change is the water to replace.
func (j *judging) change(b water.Bath, complete bool) error {
	var share float64
	var changes int
	var most water.Finding
	for _, p := range []water.Parameter{water.NH3NParameter, water.NO2NParameter, water.TANParameter, water.NO3NParameter} {
		f, high := j.at(p, 1)
		if !high || f.Verdict < water.Act {
			continue
		}
		l, _ := water.LimitOf(j.group, p)
		source := 0.0
		if p == water.NO3NParameter && j.tank.Source != nil {
			source = j.tank.Source.NitrateNGm3
		}
		part, n, ok, err := water.WaterChange(f.Value, l.WarnHigh.Amount, source)
		if err != nil {
			return fmt.Errorf("water test: %w", err)
		}
		if !ok {
			j.do(RankWater, p, fmt.Sprintf("Find other water than %s for a change", j.tank.Source.Name), "it has as much nitrate itself", practice)
			continue
		}
		if part > share {
			share, changes, most = part, n, f
		}
	}
	if share == 0 {
		return nil
	}
	l, _ := water.LimitOf(j.group, most.Parameter)
	volume := func(share float64) string {
		if j.tank.WaterM3 == 0 && !j.r.VolumeM3.Known {
			return ""
		}
		return ", " + j.litres(share*j.v.VolumeM3) + " of " + j.litres(j.v.VolumeM3)
	}
	part, goal := share, fmt.Sprintf("brings %s to %s", parameters[most.Parameter].name, digits(l.WarnHigh.Amount))
	do := fmt.Sprintf("Change %s of the water now%s", percent(share), volume(share))
	if changes > 1 {
		part = water.MostChange
		do = fmt.Sprintf("Change a third of the water now%s, and test", volume(part))
		goal = fmt.Sprintf("%s of a third %s, if nothing more comes in", times(changes), strings.Replace(goal, "brings", "bring", 1))
	}
	why := goal + "; free of chlorine, within 2 °C of the tank"
	if j.tank.Source != nil {
		src := j.tank.Source
		if src.ChlorineGm3 > 0 || src.Chloramine {
			why += fmt.Sprintf("; %s has chlorine: neutralise it first", src.Name)
		}
		if complete && b.TANGm3 > 0 && src.AlkalinityMolM3 > 0 {
			after, err := b.Changed(part, src.AlkalinityMolM3)
			if err != nil {
				return fmt.Errorf("water test: %w", err)
			}
			f, err := water.UnionisedFraction(after.TempC, after.PH)
			if err != nil {
				return fmt.Errorf("water test: %w", err)
			}
			f0, err := water.UnionisedFraction(b.TempC, b.PH)
			if err != nil {
				return fmt.Errorf("water test: %w", err)
			}
			now, then := f0*b.TANGm3, f*after.TANGm3
			why += fmt.Sprintf("; with %s the pH goes to %.1f and un-ionised ammonia from %s to %s mg/L as N", src.Name, after.PH, trace(now), trace(then))
			if limit, ok := water.LimitOf(j.group, water.NH3NParameter); ok && then > limit.WarnHigh.Amount && then > now {
				do = strings.Replace(do, "now", "in small parts over a day", 1)
				why += ": too much at once"
			}
		}
	}
	j.do(RankWater, most.Parameter, do, why, "shares by mass balance; a third at a time, "+practice)
	return nil
}

// chloride is the salt against nitrite.
func (j *judging) chloride() error {
	// mostChlorideGm3 is the chloride to which a loop is raised at most: more harms
	// crops. Common practice, no source.
	const mostChlorideGm3 = 200.0
	f, high := j.at(water.NO2NParameter, 1)
	if !high {
		return nil
	}
	if j.r.Species == "bass_largemouth" || slices.Contains(j.tank.Species, "bass_largemouth") && j.r.Group == "" {
		j.do(RankChemistry, water.NO2NParameter, "No salt: chloride does not keep nitrite from largemouth bass", "their gills take up little of either", "srac-462; Tomasso 1986, from memory")
		return nil
	}
	ratio, whom := 20.0, "20 parts of chloride to one of nitrite nitrogen"
	if j.group == water.Cold {
		ratio, whom = 33, "33 parts of chloride to one of nitrite nitrogen, for cold water; 20 at the very least"
	}
	formula, name, other, otherName := "CaCl2.2H2O", "calcium chloride (CaCl2·2H2O)", "KCl", "potassium chloride (KCl)"
	if !j.tank.Crops {
		formula, name, other, otherName = "NaCl", "salt without iodine or anti-caking agent (NaCl)", "CaCl2.2H2O", "calcium chloride (CaCl2·2H2O)"
	}
	nitrite, capped := f.Value, ""
	if most := mostChlorideGm3 / ratio; nitrite > most {
		nitrite, capped = most, fmt.Sprintf(" That is the most chloride to bring in, %d mg/L, and does not cover this nitrite: change water first, again and again.", int(mostChlorideGm3))
	}
	var dose, instead Dose
	for i, kind := range []string{formula, other} {
		salt, err := water.LookupChlorideSalt(kind)
		if err != nil {
			return fmt.Errorf("water test: %w", err)
		}
		target, g, _, err := water.ChlorideDose(j.v.VolumeM3, nitrite, j.s.ChlorideGm3.Amount, ratio, salt)
		if err != nil {
			return refused(err)
		}
		if g == 0 {
			j.do(RankChemistry, water.NO2NParameter, "No salt is needed now", fmt.Sprintf("chloride of %s mg/L is above the %s that keep this nitrite out of the gills", digits(j.s.ChlorideGm3.Amount), digits(target)), "srac-462; ratio "+practice)
			return nil
		}
		d := Dose{Formula: kind, Name: name, TotalG: g, FirstG: g / 3, Source: "srac-462; ratio on the nitrogen " + practice}
		had := "of chloride none is counted, for it was not measured"
		if j.s.ChlorideGm3.Known {
			had = "it has " + digits(j.s.ChlorideGm3.Amount)
		}
		d.Remark = fmt.Sprintf("To %s mg/L of chloride; %s. Dissolve it first, into the sump, over some hours.", digits(target), had) + capped
		if i == 0 {
			d.Sentence = fmt.Sprintf("Add %s of %s to %s", grams(g), name, j.into())
			dose = d
			continue
		}
		d.Name, d.Instead = otherName, true
		d.Sentence = fmt.Sprintf("Or %s of %s", grams(g), otherName)
		instead = d
	}
	j.v.Doses = append(j.v.Doses, dose, instead)
	j.do(RankChemistry, water.NO2NParameter, dose.Sentence, whom+fmt.Sprintf("; a third (%s) first; or %s of %s", grams(dose.FirstG), grams(instead.TotalG), otherName), dose.Source)
	return nil
}

// base is what raises pH or alkalinity, where that is safe.
func (j *judging) base(b water.Bath, complete bool) error {
	_, sour := j.at(water.PHParameter, -1)
	_, soft := j.at(water.AlkalinityParameter, -1)
	if !sour && !soft {
		return nil
	}
	about := water.PHParameter
	if !sour {
		about = water.AlkalinityParameter
	}
	no := func(do, why, source string) error {
		j.do(RankChemistry, about, do, why, source)
		return nil
	}
	if f, high := j.at(water.NH3NParameter, 1); high {
		return no("Add no base", j.clause(f)+"; 0.6 of pH more would make it four times as much", "emerson-1975")
	}
	if f, high := j.at(water.TANParameter, 1); high && f.Verdict >= water.Act {
		return no("Add no base until ammonia is down", "a higher pH would make more of it toxic", "emerson-1975")
	}
	if !j.s.TANGm3.Known {
		return no("Add no base before ammonia is measured", "a higher pH makes more of it toxic, and how much there is nobody knows", "emerson-1975")
	}
	if !complete {
		return no("Measure pH, alkalinity and temperature on the same day before any base", "no dose can be reckoned from one of them", practice)
	}
	if len(j.whole.Doubts) > 0 {
		return no("Measure again before any base", "the values can hardly stand together", practice)
	}
	if f, high := j.at(water.CO2Parameter, 1); high {
		return no("Add no base yet: aerate, then measure again", j.clause(f)+" and holds the pH down; a base reckoned now would overshoot once it has left", "plummer-busenberg-1982")
	}
	target, err := j.targetPH(b)
	if err != nil {
		return err
	}
	if target-b.PH < 0.01 {
		return no("Leave pH and alkalinity for now", "a base would take the pH above the best band", practice)
	}
	l, ok := water.LimitOf(j.group, water.NH3NParameter)
	if !ok {
		return nil
	}
	var worst error
	for _, formula := range []string{"KHCO3", "Ca(OH)2"} {
		c, err := water.LookupChemical(formula)
		if err != nil {
			return fmt.Errorf("water test: %w", err)
		}
		parts, err := b.SafeParts(c, target, 1, l.OptHigh.Amount)
		switch {
		case errors.Is(err, water.ErrMoreAmmonia), errors.Is(err, water.ErrTooFar):
			worst = err
			continue
		case err != nil:
			return refused(err)
		}
		d := Dose{Name: c.Name, Formula: c.Formula, TargetPH: target, Remark: c.Remark, Instead: len(j.v.Doses) > 0 && j.v.Doses[len(j.v.Doses)-1].TargetPH > 0, Source: "plummer-busenberg-1982, steps of at most 0.3 a day fao-589"}
		for _, p := range parts {
			d.TotalG += p.G
			d.Parts = append(d.Parts, Part(p))
		}
		d.FirstG = min(d.TotalG/3, parts[0].G)
		lead := "Give"
		if d.Instead {
			lead = "Or"
		}
		d.Sentence = fmt.Sprintf("%s %s of %s (%s) into %s now, wait 6 hours and measure; %s in all over %s bring the pH to %.1f", lead, grams(d.FirstG), c.Name, c.Formula, j.into(), grams(d.TotalG), days(len(parts)), target)
		j.v.Doses = append(j.v.Doses, d)
	}
	if at := slices.IndexFunc(j.v.Doses, func(d Dose) bool { return d.TargetPH > 0 }); at >= 0 {
		d := j.v.Doses[at]
		last := 0.0
		for _, p := range d.Parts {
			last = max(last, p.NH3NGm3)
		}
		j.do(RankChemistry, about, d.Sentence, fmt.Sprintf("un-ionised ammonia stays at %s mg/L as N or less on the way, within %s; no more than %s in the first day", trace(last), digits(l.OptHigh.Amount), grams(d.Parts[0].G)), d.Source)
		return nil
	}
	return no("Add no base", fmt.Sprintf("at pH %.1f un-ionised ammonia would leave the band of %s mg/L as N: bring ammonia (%s mg/L as N) down first (%s)", target, digits(l.OptHigh.Amount), digits(b.TANGm3), reason(worst)), "emerson-1975")
}

// reason is the last part of an error's sentence.
func reason(err error) string {
	if errors.Is(err, water.ErrMoreAmmonia) {
		return water.ErrMoreAmmonia.Error()
	}
	return water.ErrTooFar.Error()
}

func days(n int) string {
	if n == 1 {
		return "a day"
	}
	return fmt.Sprintf("%d days", n)
}

// targetPH is 7.0, or where alkalinity alone is short the pH at its best band's
// low edge; never above the best band of pH.
func (j *judging) targetPH(b water.Bath) (float64, error) {
	target := 7.0
	if b.PH >= target {
		l, ok := water.LimitOf(j.group, water.AlkalinityParameter)
		if !ok {
			return b.PH, nil
		}
		ph, err := b.PHOfAlkalinity(l.OptLow.Amount / water.CaCO3PerEq)
		if err != nil {
			return 0, fmt.Errorf("water test: %w", err)
		}
		target = ph
	}
	if l, ok := water.LimitOf(j.group, water.PHParameter); ok && l.OptHigh.Known {
		target = min(target, l.OptHigh.Amount)
	}
	return target, nil
}

// look is what to see to once the rest is done.
func (j *judging) look() {
	one := func(p water.Parameter, side int, do, why string) {
		if f, ok := j.at(p, side); ok {
			j.do(RankLook, p, do, strings.TrimSuffix(j.clause(f)+"; "+why, "; "), practice)
		}
	}
	if j.alarm() && j.tank.Crops {
		j.do(RankLook, "", "See that the beds flood, drain and have oxygen and alkalinity", "their bacteria turn ammonia and nitrite into nitrate", practice)
	}
	one(water.PHParameter, 1, "Look for limestone, shell or hard top-up water, and add no acid to water with fish", "nitrification lowers the pH by itself")
	one(water.AlkalinityParameter, 1, "Mix rain water into the top-up", "")
	one(water.NO3NParameter, 1, "Plant more, harvest later or feed less", "")
	one(water.NO3NParameter, -1, "Plants may want nitrogen: feed more, once ammonia allows it, or plant less", "")
	one(water.TempParameter, -1, "Warm the water by no more than 2 °C a day", "")
	one(water.TempParameter, 1, "Shade and ventilate; cool by no more than 2 °C a day", "warm water holds less oxygen")
}

// cautions are those of what was found and is to be done.
func (j *judging) cautions() {
	say := func(text string) { j.v.Cautions = append(j.v.Cautions, text) }
	base := slices.ContainsFunc(j.v.Doses, func(d Dose) bool { return d.TargetPH > 0 })
	if _, sour := j.at(water.PHParameter, -1); sour || base || j.by[water.AlkalinityParameter].Side < 0 {
		say("Raising the pH turns harmless ammonia into the toxic form: 0.6 of pH makes it four times as much. Measure ammonia before every base.")
	}
	if len(j.v.Doses) > 0 {
		say("Never dose by reckoning alone: measure the same day, give a third, wait 6 hours, measure, and ask an aquaculture adviser when in doubt.")
	}
	if base {
		say("Bases burn eyes and skin: goggles and gloves; the base into water, never the reverse.")
	}
	say("Limits for a group of fish are not a veterinary opinion: when fish gasp, lie or die, call a fish vet and keep the readings.")
	for _, g := range j.v.Gauges {
		j.source(g.Name + ": " + g.Source)
	}
	for _, f := range j.v.Facts {
		j.source(f.Name + ": " + f.Source)
	}
	for _, r := range j.v.Remedies {
		j.source("to do: " + r.Source)
	}
}

func (j *judging) source(text string) {
	if !slices.Contains(j.v.Sources, text) {
		j.v.Sources = append(j.v.Sources, text)
	}
}
