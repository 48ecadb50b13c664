package web

import (
	"html/template"
	"math"
	"net/http"
	"slices"
	"sort"
	"strconv"
	"strings"

	"tidebed/meals"
	"tidebed/menu"
	"tidebed/words"
)

type mealsPage struct {
	frame
	Sentence string
	Table    string // whether anybody goes short on the days to come
	Reasons  []string
	Warnings []string
	Staffs   []occasionStaff
	Lanes    template.HTML // empty when nothing flows
	Sets     []setView
}

// occasionStaff is the staff of one set of days, with the link to its tables.
type occasionStaff struct {
	staffView
	Anchor, Dates string
}

// setView is one set of home-fed days as the page shows it.
type setView struct {
	Anchor, Name, Dates string
	Past, Empty, First  bool
	Sentence            string
	Reasons, Warnings   []string
	Flows               []flow
	Helps               []helpRow
	Outside             []outsideRow
	AllOutside          string // the whole need, when there is no menu at all
	Now, Bridged, None  []lackRow
	Menu                menuTable
	Cautions            []meals.Caution
	Eaters              []eaterRow
	Ranges              []shareRow
	Ceiling             string
	Cupboard            []shareRow
	Missed              []meals.Missed
	Stock               []stockRow
	Levels              []levelRow
}

type helpRow struct{ What, Gain, Share, Whole, Caution string }

type outsideRow struct {
	Eater, Kcal, Bought, Why string
	Protected                bool
}

type lackRow struct{ Nutrient, Eater, Share, Doubt string }

// menuTable is grams for each person and day, food by food.
type menuTable struct {
	Names []string
	Rows  []menuRow
}

type menuRow struct {
	Food, From string
	Grams      []string
	Kcal       string // all eaters, all days
}

type eaterRow struct{ Name, Need, Inside, Bought, Outside, Mass, Why string }

type shareRow struct{ Name, Worst, All, Fed string }

type stockRow struct{ Name, From, Mass, Eaten, Energy, Ready, Until string }

type levelRow struct{ Name, Value, Give string }

// showMeals handles GET /: will there be enough to eat on the home-fed days?
func (s *server) showMeals(w http.ResponseWriter, r *http.Request) {
	answer, soFar, ready, err := s.mealsAnswer(r.Context())
	switch {
	case !ready:
		sets := 0
		for _, h := range s.cfg.Site.HomeFed {
			if h.To.IsZero() || !h.To.Before(s.cfg.Today.Time) {
				sets++
			}
		}
		s.working(w, r, "meals", "Working: menus of "+words.Count(sets, "set of days", "sets of days")+", each at low, typical and high yield.", soFar)
	case err != nil:
		s.fail(w, r, err)
	default:
		s.render(w, r, http.StatusOK, "meals.html", s.mealsPage(answer))
	}
}

func (s *server) mealsPage(a *meals.Answer) mealsPage {
	page := mealsPage{frame: s.frame("Meals", "meals"), Sentence: a.Sentence, Warnings: a.Warnings}
	if page.Sentence == "" {
		page.Sentence = "No home-fed days are written down, so there is nothing to answer yet."
	}
	kind := s.sourceKinds()
	var drawn []lane
	for i, o := range a.Occasions {
		set := setOf(o, kind)
		set.Anchor = "set-" + strconv.Itoa(i+1)
		if !o.Past {
			if page.Staffs == nil {
				set.First, page.Reasons = true, o.Reasons
			}
			page.Staffs = append(page.Staffs, occasionStaff{energyStaff(o).view(), set.Anchor, set.Dates})
			if len(set.Flows) > 0 {
				drawn = append(drawn, laneOf(o, set))
			}
		}
		page.Sets = append(page.Sets, set)
	}
	sort.SliceStable(page.Sets, func(i, j int) bool { return !page.Sets[i].Past && page.Sets[j].Past })
	page.Lanes = drawLanes(drawn)
	page.Table = tableSentence(a)
	return page
}

// tableSentence says of all sets of days to come, the store cupboard counted in, that
// nobody goes short of energy, or who does, when and by how much; empty where none is to
// come.
func tableSentence(a *meals.Answer) string {
	with, protected := "", false
	var floors, full, short []string
	for i := range a.Occasions {
		o := &a.Occasions[i]
		if o.Past {
			continue
		}
		for _, e := range o.Eaters {
			if floor := percent(e.Floor); e.Protected {
				protected = true
			} else if !slices.Contains(floors, floor) {
				floors = append(floors, floor)
			}
		}
		if slices.ContainsFunc(o.Outside, func(x meals.Outside) bool { return x.BoughtDay > 0 }) {
			with = "with the store cupboard "
		}
		when := o.Name + " (" + shortDays(o.From, o.To) + ")"
		switch who := goShort(o); {
		case o.Fed():
			full = append(full, o.Name)
		case len(who) == 0:
			short = append(short, "everybody in "+when+", for which nothing is on hand")
		default:
			short = append(short, words.List(who)+" in "+when)
		}
	}
	switch {
	case len(short) > 0:
		text := words.Capital(with+"these go short of energy: ") + strings.Join(short, "; ") + "."
		if len(full) > 0 {
			text += " Nobody does in " + words.List(full) + "."
		}
		return text
	case len(full) == 0:
		return ""
	}
	var held []string
	if protected {
		held = append(held, "children and who else is protected get their full need")
	}
	switch len(floors) {
	case 0:
	case 1:
		held = append(held, "adults get at least "+floors[0]+" of their need")
	default:
		held = append(held, "adults get at least their floor")
	}
	text := words.Capital(with+"nobody goes short of energy in ") + words.List(full)
	if len(held) > 0 {
		text += ": " + words.List(held)
	}
	return text + "."
}

// goShort names who goes short in a set of days and by how much, the protected first.
func goShort(o *meals.Occasion) (who []string) {
	for _, first := range []bool{true, false} {
		for _, x := range o.Outside {
			if x.KcalDay > 0 && x.Protected == first {
				who = append(who, x.Eater+" by "+kcal(math.Ceil(x.KcalDay/10)*10)+" a day")
			}
		}
	}
	return who
}

// energyStaff is the share of the worst-off eater's energy that comes from inside.
// What is short never reads "100 %, below 100 %".
func energyStaff(o meals.Occasion) Staff {
	value := o.Low.WorstShare * 100
	if value < 100 && value >= 99.5 {
		value = 99
	}
	st := Staff{
		Name: o.Name, Value: value, Low: 100, High: inf, ScaleMin: 0, ScaleMax: 120,
		Unit: "%", Edge: -1, // promises are of low yields: all of the need is enough
		Marks: []Mark{{"typical", o.Typical.WorstShare * 100}, {"high", o.High.WorstShare * 100}},
	}
	if o.Fed() {
		st.Borne = borne(o.Low.WithCupboardShare, o.Low.MeanShare)
	}
	return st
}

// borne is said of a share from inside that is too small where every eater has the
// floor, and children all they need, by shares of the energy of all on the table and
// from inside: what is between them is bought.
func borne(table, inside float64) string {
	const floor = "nobody is under the floor that was set"
	if table > inside+0.005 {
		return "with the store cupboard " + floor
	}
	return floor
}

func setOf(o meals.Occasion, kind func(meals.Stock) string) setView {
	set := setView{
		Name: o.Name, Dates: days(o.From, o.To), Past: o.Past, Sentence: o.Sentence, Reasons: o.Reasons,
		Warnings: o.Warnings, Missed: o.Missed, Cautions: o.Cautions, Ceiling: percent(o.CeilingShare),
	}
	if o.Past {
		return set
	}
	set.Flows = flowsOf(o.Low.OnHand, kind)
	set.Empty = len(o.Low.OnHand) == 0
	for _, h := range o.Helps {
		set.Helps = append(set.Helps, helpRow{h.What, points(h.Gain), percent(h.Share), h.Whole, h.Caution})
	}
	set.Outside = outsideRows(o)
	if o.Low.Menu == nil {
		set.AllOutside = kcal(o.NeedKcal)
	}
	for _, l := range o.Lacks {
		row := lackRow{Nutrient: l.Nutrient, Eater: l.Eater, Share: percent(l.Share)}
		if l.UnknownMass > 0.005 {
			row.Doubt = "the tables lack it for " + percent(l.UnknownMass) + " of the menu"
		}
		switch {
		case l.Sourceless:
			set.None = append(set.None, row)
		case l.Matters:
			set.Now = append(set.Now, row)
		default:
			set.Bridged = append(set.Bridged, row)
		}
	}
	set.Menu = menuOf(o)
	set.Eaters = eaterRows(o)
	for _, run := range []meals.Run{o.Low, o.Typical, o.High} {
		set.Ranges = append(set.Ranges, shareRow{run.Yield, percent(run.WorstShare), percent(run.MeanShare), percent(run.WithCupboardShare)})
	}
	for _, m := range []struct {
		name string
		menu *menu.Menu
	}{{"from inside alone", o.Low.Alone}, {"with the store cupboard", o.Low.Menu}} {
		if m.menu != nil {
			set.Cupboard = append(set.Cupboard, shareRow{m.name, percent(m.menu.WorstShare), percent(m.menu.MeanShare), percent(m.menu.FedShare)})
		}
	}
	for _, st := range o.Low.OnHand {
		set.Stock = append(set.Stock, stockRow{words.Capital(st.Name), st.From, kilograms(st.Kg), kilograms(st.EatenKg), kcalCell(st.EdibleKcal), longDay(st.Ready), longDay(st.Until)})
	}
	if o.Low.Menu != nil {
		for _, l := range o.Low.Menu.Levels {
			set.Levels = append(set.Levels, levelRow{l.Name, figure(l.Value), figure(l.Give)})
		}
	}
	return set
}

// outsideRows keeps the answer's order within the protected and within the others.
func outsideRows(o meals.Occasion) []outsideRow {
	why := map[string]string{}
	for _, e := range o.Eaters {
		why[e.Name] = e.Why
	}
	var rows []outsideRow
	for _, x := range o.Outside {
		rows = append(rows, outsideRow{Eater: x.Eater, Kcal: kcal(x.KcalDay), Bought: kcalCell(x.BoughtDay), Why: why[x.Eater], Protected: x.Protected})
	}
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].Protected && !rows[j].Protected })
	return rows
}

func menuOf(o meals.Occasion) menuTable {
	var t menuTable
	if o.Low.Menu == nil || o.Days < 1 {
		return t
	}
	for _, e := range o.Low.Menu.Eaters {
		t.Names = append(t.Names, e.Name)
	}
	for _, p := range o.Low.Menu.Portions {
		row := menuRow{Food: words.Capital(p.Name), From: "inside", Kcal: kcalCell(p.Kcal), Grams: make([]string, len(t.Names))}
		if !p.Inside {
			row.From = "cupboard"
		}
		for i := range row.Grams {
			row.Grams[i] = "–"
			if i < len(p.ByEater) {
				row.Grams[i] = portionGrams(p.ByEater[i] / float64(o.Days))
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func eaterRows(o meals.Occasion) []eaterRow {
	if o.Low.Menu == nil {
		return nil
	}
	about := map[string]meals.Eater{}
	for _, e := range o.Eaters {
		about[e.Name] = e
	}
	var rows []eaterRow
	for _, e := range o.Low.Menu.Eaters {
		who := about[e.Name]
		row := eaterRow{Name: e.Name, Need: kcalCell(who.NeedKcal), Inside: kcalCell(e.InsideKcal), Bought: kcalCell(e.BoughtKcal),
			Outside: kcalCell(e.OutsideKcal), Mass: portionGrams(e.MassG)}
		if who.Protected {
			row.Why = "full need held: " + who.Why
		} else if who.Floor > 0 {
			row.Why = "at least " + percent(who.Floor) + " of the need"
		}
		rows = append(rows, row)
	}
	return rows
}
