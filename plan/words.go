package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/meals"
	"tidebed/science/crop"
	"tidebed/science/food"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// kgWords is a mass as a person weighs it.
func kgWords(kg float64) string {
	if kg < 0.995 {
		return fmt.Sprintf("%.0f g", math.Max(1, math.Round(kg*100)*10))
	}
	if kg < 9.95 {
		return fmt.Sprintf("%.1f kg", kg)
	}
	return fmt.Sprintf("%.0f kg", kg)
}

// areaWords is an area of bed.
func areaWords(m2 float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", m2), "0"), ".") + " m²"
}

// percentWords is a share as package meals prints it.
func percentWords(share float64) string { return meals.Percent(share) }

// pinsWords lists the pins that want something.
func (m *maker) pinsWords() string {
	var out []string
	for _, p := range m.o.Pins {
		if !p.Forbid {
			text := fmt.Sprintf("%s of %s", areaWords(p.AreaM2), p.Crop)
			if p.Group != "" {
				text += " in " + p.Group
			}
			out = append(out, text)
		}
	}
	return words.List(out)
}

// words writes the answer and its reasons.
func (m *maker) words(p *Plan) {
	if len(p.Occasions) == 0 {
		return
	}
	worst := 1.0
	shares := make([]float64, len(p.Occasions))
	for i := range p.Occasions {
		shares[i] = p.Occasions[i].WorstShare
		worst = math.Min(worst, shares[i])
	}
	next := ""
	for i := range p.Sowings {
		if s := &p.Sowings[i]; !s.Standing && !s.Sow.Before(p.Today.Time) {
			at := ""
			if len(s.Parts) > 0 {
				at = " for " + s.Parts[0].Bed
			}
			next = fmt.Sprintf("; first, on %s, sow %s%s", s.Sow.Format("2 January"), words.LowerName(s.Name), at)
			if s.Sow == s.Plant {
				next = strings.Replace(next, " for ", " in ", 1)
			}
			if s.Sow == p.Today {
				next = strings.Replace(next, "on "+s.Sow.Format("2 January"), "today", 1)
			}
			break
		}
	}
	if len(p.Occasions) == 1 {
		whom := fmt.Sprintf("each of %d people", len(p.Occasions[0].Eaters))
		if len(p.Occasions[0].Eaters) == 1 {
			whom = "the one who eats"
		}
		p.Sentence = fmt.Sprintf("Planted like this the building gives %s at least %s of the energy needed in %s%s.", whom, percentWords(worst), p.Occasions[0].Name, next)
	} else {
		p.Sentence = fmt.Sprintf("Planted like this the building gives each eater at least %s of the energy they need%s.", p.each(shares), next)
	}
	if f := p.InForce; len(f.MeanShare) == len(p.Occasions) && f.Sowings > 0 {
		p.Reasons = append(p.Reasons, nowGives+p.each(f.WorstShare)+".")
	}
	if late := p.late(); late != "" {
		p.Reasons = append(p.Reasons, late)
	}
	var bought []string
	for i := range p.Occasions {
		o := &p.Occasions[i]
		outside := 0.0
		for _, e := range o.Menu.Eaters {
			outside += e.OutsideKcal * float64(o.Days)
		}
		if outside > enoughShare*o.NeedKcal {
			bought = append(bought, fmt.Sprintf("%.0f kcal in %s", outside, o.Name))
		}
	}
	if len(bought) > 0 {
		p.Reasons = append(p.Reasons, "Beyond beds, tanks, larder and cupboard there must still come "+words.List(bought)+": buy it, or ask fewer people.")
	} else {
		p.Reasons = append(p.Reasons, allFed(m.w.sets))
	}
	m.lacks(p)
	m.assume(p)
}

// allFed says that nobody goes short, with the store cupboard where a set of days has it.
func allFed(sets []site.HomeFedDays) string {
	text := "every eater has the full need or the floor that was set, children in full."
	if slices.ContainsFunc(sets, func(set site.HomeFedDays) bool { return set.Cupboard }) {
		text = "with the store cupboard " + text
	}
	return words.Capital(text)
}

// namedSets is how many sets of days are named one by one in a sentence.
const namedSets = 4

// each lists a share for each set of days: all of a few, of many the least and the most.
func (p *Plan) each(shares []float64) string {
	least, most := 0, 0
	var list []string
	for i := range p.Occasions {
		list = append(list, fmt.Sprintf("%s in %s", percentWords(shares[i]), p.Occasions[i].Name))
		if shares[i] < shares[least] {
			least = i
		}
		if shares[i] > shares[most] {
			most = i
		}
	}
	if len(list) <= namedSets {
		return words.List(list)
	}
	return fmt.Sprintf("%s, the least of %d sets of days, to %s", list[least], len(list), list[most])
}

// nowGives begins the reason that tells of the plan in force.
const nowGives = "What is planned now would give "

// MealsApart says, after the word Meals, why the answer on the plan in force differs from
// the plan's figures for it.
const MealsApart = "tells of the plan in force with figures a few points apart from those called now here: there each set of days in turn gets all that is on hand, here the sets share."

// Told are the reasons as they stand without the page: after what the plan in force
// would give, why the answer on meals tells other figures of it.
func (p *Plan) Told() []string {
	var out []string
	for _, r := range p.Reasons {
		if out = append(out, r); strings.HasPrefix(r, nowGives) && p.Apart() != "" {
			out = append(out, "Meals "+p.Apart())
		}
	}
	return out
}

// Apart is MealsApart where it is so: with sets of days that share, and a plan in force.
func (p *Plan) Apart() string {
	if len(p.Occasions) < 2 || p.InForce.Sowings == 0 {
		return ""
	}
	return MealsApart
}

// late says what a week's lateness would cost, of the sets of days that it costs
// something; empty where it costs none.
func (p *Plan) late() string {
	var late []string
	for i := range p.Occasions {
		o := &p.Occasions[i]
		if now, then := percentWords(o.MeanShare), percentWords(o.LateShare); now != then {
			late = append(late, fmt.Sprintf("%s instead of %s in %s", then, now, o.Name))
		}
	}
	if len(late) == 0 {
		return ""
	}
	if len(late) > namedSets {
		worst := 0
		for i := range p.Occasions {
			if o, w := &p.Occasions[i], &p.Occasions[worst]; o.MeanShare-o.LateShare > w.MeanShare-w.LateShare {
				worst = i
			}
		}
		o := &p.Occasions[worst]
		late = []string{fmt.Sprintf("less in %d sets of days, most so %s instead of %s in %s", len(late), percentWords(o.LateShare), percentWords(o.MeanShare), o.Name)}
	}
	return "If all that is sown from now on ripened a week late, all together would get " + words.List(late) + "."
}

// lacks warns of what the water, or the hands, do not have enough of.
func (m *maker) lacks(p *Plan) {
	f := p.Seasons[season.Low]
	for i := range f.Loops {
		for _, s := range f.Loops[i].Shortages() {
			if s.Day.Before(p.Today.Time) || s.Least > 0.5*s.Ample {
				continue // thin, and little lost by it
			}
			p.Warnings = append(p.Warnings, fmt.Sprintf("Loop %s: %s in the water runs low from %s, %.2g mg/L at the least where %.3g are ample, and what grows there grows less: %s", f.Loops[i].Name, s.Food, s.Day.Format("2 January 2006"), s.Least, s.Ample, s.Remedy))
		}
	}
	full, short := 0, 0.0
	for _, w := range p.Weeks {
		if w.LabourMaxH > 0 && w.LabourH > 0.97*w.LabourMaxH {
			full++
		}
		for _, l := range w.Loops {
			short += l.ShortG
		}
	}
	if full > 0 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("In %d of %d weeks the %.3g hours of work for the beds are full: more hands in these weeks would give more.", full, len(p.Weeks), p.Weeks[0].LabourMaxH))
	}
	if short > 10 {
		p.Warnings = append(p.Warnings, fmt.Sprintf("All that is planted wants %.0f g more nitrogen than feed and water give: feed more, or plant less.", short))
	}
}

// assume lists what of ours stands in.
func (m *maker) assume(p *Plan) {
	if m.o.HoursWeek == 0 && m.s.Labour.HoursWeek > 0 {
		p.Assumed = append(p.Assumed, fmt.Sprintf("Of the %.3g hours of work a week %.0f %% are for the beds, the rest for fish, trays, water and repairs.", m.s.Labour.HoursWeek, 100*bedHoursShare))
	}
	if m.s.Labour.HoursWeek == 0 && m.o.HoursWeek == 0 {
		p.Assumed = append(p.Assumed, "No hours of work are written down: work limits nothing here.")
	}
	p.Assumed = append(p.Assumed,
		fmt.Sprintf("Work: %.0f minutes a m² to plant, %.0f a m² and week (%.0f for fruit), %.0f a m² to lift, %.0f to cut or pick, and %.0f a kg.", plantMinM2, careMinM2, fruitMinM2, liftMinM2, pickMinM2, harvestMinKg),
		fmt.Sprintf("A seed costs %.2f, a tuber, slip or cutting %.2f: only the objective of least work asks for it.", seedMoney, slipMoney),
		fmt.Sprintf("Nothing new is sown in the first %d days: seed must come first.", m.o.LeadDays),
		fmt.Sprintf("A crop that is harvested once must be ripe %d days before its table.", m.o.SafetyDays),
		fmt.Sprintf("Of the nitrogen in the feed %.0f %% comes to the plants; a loop's water is let hold %.0f mg/L as nitrate-N.", 100*crop.UsualNitrogenShare, ampleNitrateGm3),
		fmt.Sprintf("A module of a bed is about %.2g m², a nursery place 25 cm².", usualModuleM2),
	)
}

// cautions gathers what must be said about what the plan has people do and eat.
func (m *maker) cautions(p *Plan) {
	add := func(text string) {
		if text != "" && !slices.Contains(p.Cautions, text) {
			p.Cautions = append(p.Cautions, text)
		}
	}
	var keys []string
	for i := range p.Occasions {
		for _, portion := range p.Occasions[i].Menu.Portions {
			if !slices.Contains(keys, portion.Food) {
				keys = append(keys, portion.Food)
			}
		}
	}
	slices.Sort(keys)
	for _, c := range food.Cautions(keys) {
		add(words.Capital(c.About) + ": " + c.Text)
	}
	for _, c := range m.base.caution {
		add(words.Capital(c.About) + ": " + c.Text)
	}
	if len(p.Fish) > 0 {
		add(p.Fish[0].Caution)
	}
}

// Near says how near the plan is to the best there can be, in whole modules; empty
// when that is not known.
func (p *Plan) Near() string {
	if p.Gap <= 0 {
		return ""
	}
	percent := func(v float64) string { return fmt.Sprintf("%.1f %%", math.Ceil(1000*v)/10) }
	text := fmt.Sprintf("In whole modules the plan is within %s of the best there can be", percent(p.Gap))
	if f := p.Fewer; f.To < f.Sowings {
		text += fmt.Sprintf(", with %s; %d would come within %s and be more work", words.Count(f.To, "new sowing", "new sowings"), f.Sowings, percent(f.Gap))
	}
	return text + "."
}

// leastBelow is by how much a level must miss what it may give back to be told: what is
// less is the solver's rounding.
const leastBelow = 5e-4

// Below says which levels lie, in whole modules, below what they may give back to later
// ones, and what was reached of each in parts of modules; empty where none does.
func (p *Plan) Below() string {
	var list []string
	for _, l := range p.Levels {
		miss := l.Value - l.Give - l.Whole
		if !l.Most {
			miss = l.Whole - l.Give - l.Value
		}
		if !(miss > leastBelow) {
			continue
		}
		instead := ", not "
		if l.Most {
			instead = " of "
		}
		list = append(list, l.Name+" "+levelWords(l.Whole, l.Value, l.Unit, instead))
	}
	if len(list) == 0 {
		return ""
	}
	return "In whole modules these levels lose more than they may give back: " + strings.Join(list, "; ") + "."
}

// levelWords are two values of a level in its unit; shares in tenths where they would
// read alike.
func levelWords(whole, parts float64, unit, between string) string {
	switch a, b := percentWords(whole), percentWords(parts); {
	case unit != "share":
		return fmt.Sprintf("%.3g %s%s%.3g %s", whole, unit, between, parts, unit)
	case a != b:
		return a + between + b
	}
	return fmt.Sprintf("%.1f %%%s%.1f %%", 100*whole, between, 100*parts)
}

// Points prints points of a share, to the hundredth: "0.11"; what rounds to nothing is
// "0", with no sign.
func Points(v float64) string {
	if text := fmt.Sprintf("%.2f", v); text != "0.00" && text != "-0.00" {
		return text
	}
	return "0"
}

// NotSown are crops that are not sown, each that stands already and is eaten from marked
// as such: it is used, though not sown anew.
func (p *Plan) NotSown(list []Rejected) []Rejected {
	out := slices.Clone(list)
	for i := range out {
		if slices.ContainsFunc(p.Sowings, func(s Sowing) bool { return s.Standing && s.Crop == out[i].Crop && s.Uses() != "" }) {
			out[i].Why = "stands and is eaten from, not sown anew; " + out[i].Why
		}
	}
	return out
}
