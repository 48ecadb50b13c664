package web

import (
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tidebed/meals"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// The cautions of the beds: one sentence, with whom to ask.
const (
	cautionLeaves = "Fish water carries germs: keep it off leaves that are eaten raw, wash hands and leaves in drinking water, and ask the food safety office before such leaves are sold."
	cautionHeavy  = "A filled and flooded bed weighs about a tonne for each cubic metre: ask a builder what the floor and the stand bear before one is filled or moved."
)

type bedsPage struct {
	frame
	Sentence string
	Todo     string
	Reasons  []string
	Warnings []string
	Cautions []string
	Lanes    template.HTML
	Meals    []mealFlows
	Beds     []bedView // with something in them, or to come
	Bare     []bedView // the others
}

// mealFlows is what of the house's own reaches one set of days.
type mealFlows struct {
	Name, Dates, Share string
	Flows              []flow
}

// bedView is one bed with what stands and what is planned in it.
type bedView struct {
	Name, Link    string
	Facts, Light  string
	Free          string
	Rows          []plantingRow
	freeM2, allM2 float64
}

// plantingRow is one planting in a line of a list.
type plantingRow struct {
	Crop, Area, State, Planted, Up, First, Pulled, Kg, Reaches, Why, Anchor string

	Minds    string   // how many warnings, in words; empty for none
	Warnings []string // one line each
}

type bedPage struct {
	frame
	Sentence  string
	Facts     string
	Cautions  []string
	Plantings []plantingView
	Months    []monthRow
	Light     string // where the light comes from
}

// plantingView is one planting so that it can be followed by hand.
type plantingView struct {
	plantingRow
	Head   string
	Chart  template.HTML
	Events string
	Picks  []pickRow
	Steps  []stepRow
	Ripe   string
}

type pickRow struct {
	Day, Until string // at low growth
	Kg         [season.Courses]string
}

type stepRow struct{ Day, Light, Closed, Cover, Warmth, Nitrogen, Grown, Taken, Standing, Note string }

type monthRow struct{ Month, Outside, Leaves string }

// workingSeason says what is under way while the answer is worked out.
const workingSeason = "Working: plants and fish day by day under this place's light, at low, typical and high growth, then the menus."

// grown returns the kept answer for a page about the season, or has told the
// reader already why there is none.
func (s *server) grown(w http.ResponseWriter, r *http.Request, here string) (*meals.Answer, bool) {
	answer, soFar, ready, err := s.mealsAnswer(r.Context())
	switch {
	case !ready:
		s.working(w, r, here, workingSeason, soFar)
	case err != nil:
		s.fail(w, r, err)
	default:
		return answer, true
	}
	return nil, false
}

// showBeds handles GET /beds: what stands where, what comes of it and when.
func (s *server) showBeds(w http.ResponseWriter, r *http.Request) {
	if a, ok := s.grown(w, r, "beds"); ok {
		s.render(w, r, http.StatusOK, "beds.html", s.bedsPage(a))
	}
}

// showBed handles GET /beds/{name}: one bed, so that it can be followed by hand.
func (s *server) showBed(w http.ResponseWriter, r *http.Request) {
	for _, l := range s.cfg.Site.Loops {
		for _, b := range l.Beds {
			if b.Name == r.PathValue("name") {
				if a, ok := s.grown(w, r, "beds"); ok {
					s.render(w, r, http.StatusOK, "bed.html", s.bedPage(a, l, b))
				}
				return
			}
		}
	}
	s.render(w, r, http.StatusNotFound, "fail.html", failPage{frame: s.frame("No such bed", "beds"),
		Sentence: "There is no bed of this name.", Todo: "The beds there are stand on the page Beds."})
}

func (s *server) bedsPage(a *meals.Answer) bedsPage {
	page := bedsPage{frame: s.frame("Beds", "beds")}
	g, grown := growthOf(a)
	var all, free float64
	number := 0
	for _, l := range s.cfg.Site.Loops {
		for _, b := range l.Beds {
			view := s.bedView(a, g, grown, l, b)
			all, free = all+view.allM2, free+view.freeM2
			if number++; len(view.Rows) > 0 {
				page.Beds = append(page.Beds, view)
			} else {
				page.Bare = append(page.Bare, view)
			}
		}
	}
	switch {
	case number == 0:
		page.Sentence = "No bed is written down yet, so nothing can grow."
		page.Todo = "Write the first bed into the site file, under the loop whose water it gets: its name, kind, zone and size."
		return page
	case !grown:
		page.Sentence = fmt.Sprintf("There are %s with %s, but the season has not been worked out for them.", words.Count(number, "bed", "beds"), s.area(all))
		return page
	}
	page.Sentence = s.bedsSentence(g, all)
	if len(g[season.Low].Plantings) == 0 {
		page.Todo = "Write what stands and what is planned into the site file, under opening, plantings: crop, bed, area and the day it is planted."
	}
	page.Reasons = s.bedsReasons(g, free)
	for _, w := range g.warnings(func(f *season.Forecast) []string { return f.Warnings }) {
		page.Warnings = append(page.Warnings, words.Capital(w))
	}
	page.Lanes, page.Meals = s.ownLanes(a)
	page.Cautions = s.bedCautions(g, s.beds())
	return page
}

// beds returns all beds of the building.
func (s *server) beds() (beds []site.Bed) {
	for _, l := range s.cfg.Site.Loops {
		beds = append(beds, l.Beds...)
	}
	return beds
}

// bedCautions returns what must be said of these beds.
func (s *server) bedCautions(g growth, beds []site.Bed) (out []string) {
	planted, deep := false, false
	for _, b := range beds {
		deep = deep || b.DepthM > 0 && b.Kind != "tower"
		for _, p := range g[season.Low].Plantings {
			planted = planted || p.Bed == b.Name
		}
	}
	if planted {
		out = append(out, cautionLeaves)
	}
	if deep {
		out = append(out, cautionHeavy)
	}
	return out
}

// stands tells whether a planting is in its bed on a day.
func stands(p season.PlantingCourse, on site.Date) bool {
	return !p.Planted.After(on.Time) && (p.Pulled.IsZero() || p.Pulled.After(on.Time))
}

// harvest is one picking to come.
type harvest struct {
	season.Pick
	of season.PlantingCourse
}

// nextHarvest returns the first picking from a day on among the plantings that
// are wanted, at low growth.
func nextHarvest(f *season.Forecast, from site.Date, wanted func(season.PlantingCourse) bool) (next harvest, ok bool) {
	for _, p := range f.Plantings {
		for _, k := range p.Picks {
			if wanted(p) && k.Kg > 0 && !k.Day.Before(from.Time) && (!ok || k.Day.Before(next.Day.Time)) {
				next, ok = harvest{k, p}, true
			}
		}
	}
	return next, ok
}

func (s *server) bedsSentence(g growth, allM2 float64) string {
	low := g[season.Low]
	var planted float64
	for _, p := range low.Plantings {
		if stands(p, s.cfg.Today) {
			planted += p.AreaM2
		}
	}
	today, area := day(s.cfg.Today), s.area(allM2)
	if len(low.Plantings) == 0 {
		return fmt.Sprintf("None of the %s of beds is planted on %s, and nothing is planned.", area, today)
	}
	begin := fmt.Sprintf("Of %s of beds %s are planted on %s", area, s.area(planted), today)
	if planted == 0 {
		begin = fmt.Sprintf("None of the %s of beds is planted on %s", area, today)
	}
	next, ok := nextHarvest(low, s.cfg.Today, func(season.PlantingCourse) bool { return true })
	if !ok {
		return begin + "; no harvest comes until " + s.when(low.To) + "."
	}
	return fmt.Sprintf("%s; the next harvest is %s %s from %s about %s.", begin, mass(next.Kg), cropWord(next.of), next.of.Bed, s.when(next.Day))
}

// cropWord is a crop's name as a sentence has it: "butterhead lettuce", "chard".
func cropWord(p season.PlantingCourse) string {
	name := p.Name
	if what, kind, ok := strings.Cut(name, ", "); ok {
		name = kind + " " + strings.ToLower(what)
	} else if first, _, _ := strings.Cut(strings.ToLower(name), " "); strings.HasPrefix(p.Crop, first) {
		name = strings.ToLower(name)
	}
	return name
}

func (s *server) bedsReasons(g growth, freeM2 float64) (reasons []string) {
	var standing, planned int
	var kg [season.Courses]float64
	for i, p := range g[season.Low].Plantings {
		switch {
		case stands(p, s.cfg.Today):
			standing++
		case p.Planted.After(s.cfg.Today.Time):
			planned++
		}
		for c := range g {
			for _, k := range g[c].Plantings[i].Picks {
				if !k.Day.Before(s.cfg.Today.Time) {
					kg[c] += k.Kg
				}
			}
		}
	}
	reasons = append(reasons, fmt.Sprintf("%s %s, %d more planned; %s are free today.", words.Count(standing, "planting", "plantings"), words.Plural(standing, "stands", "stand"), planned, s.area(freeM2)))
	if kg[season.High] > 0 {
		reasons = append(reasons, fmt.Sprintf("Until %s they give %s at low yield, %s typical, %s high.", s.when(g[season.Low].To), mass(kg[season.Low]), mass(kg[season.Typical]), mass(kg[season.High])))
	}
	if now, best, ok := lights(g[season.Low], s.cfg.Today); ok {
		reasons = append(reasons, fmt.Sprintf("Light decides: the leaves get %s mol/m²/d this month and %s in %s.", now.words(), best.words(), best.month.Format("January")))
	}
	return reasons
}

// lightSpan is the least and most light over the beds in a month.
type lightSpan struct {
	month     site.Date
	low, high float64
}

func (l lightSpan) words() string {
	if low, high := oneDecimal(l.low), oneDecimal(l.high); low != high {
		return low + " to " + high
	}
	return oneDecimal(l.high)
}

// lights returns the beds' light in the month of a day and in the brightest month.
func lights(f *season.Forecast, on site.Date) (now, best lightSpan, ok bool) {
	for _, m := range f.Light {
		span := lightSpan{month: m.Month}
		for i, b := range m.Beds {
			if i == 0 || b.Mol < span.low {
				span.low = b.Mol
			}
			span.high = max(span.high, b.Mol)
		}
		if len(m.Beds) > 0 && sameMonth(m.Month, on) {
			now, ok = span, true
		}
		if span.high > best.high {
			best = span
		}
	}
	return now, best, ok
}

func sameMonth(a, b site.Date) bool { return a.Year() == b.Year() && a.Month() == b.Month() }

// ownLanes draws what of the house's own reaches which meal, and returns the same
// as lists for a phone.
func (s *server) ownLanes(a *meals.Answer) (template.HTML, []mealFlows) {
	kind := s.sourceKinds()
	var drawn []lane
	var lists []mealFlows
	for _, o := range a.Occasions {
		if o.Past {
			continue
		}
		own := o
		own.Low.OnHand = slices.DeleteFunc(slices.Clone(o.Low.OnHand), func(st meals.Stock) bool { return !st.Inside })
		set := setView{Flows: flowsOf(own.Low.OnHand, kind)}
		if len(set.Flows) == 0 {
			continue
		}
		drawn = append(drawn, laneOf(own, set))
		lists = append(lists, mealFlows{o.Name, days(o.From, o.To), percent(o.Low.MeanShare), set.Flows})
	}
	return drawLanes(drawn), lists
}

func (s *server) bedView(a *meals.Answer, g growth, grown bool, l site.Loop, b site.Bed) bedView {
	view := bedView{Name: b.Name, Link: "/beds/" + url.PathEscape(b.Name), allM2: b.GrowingM2(), Facts: s.bedFacts(l, b)}
	view.freeM2 = view.allM2
	if !grown {
		return view
	}
	for i, p := range g[season.Low].Plantings {
		if p.Bed != b.Name {
			continue
		}
		if stands(p, s.cfg.Today) {
			view.freeM2 -= p.AreaM2
		}
		row := s.plantingRow(a, g.planting(i))
		row.Anchor = fmt.Sprintf("planting-%d", i+1)
		view.Rows = append(view.Rows, row)
	}
	view.freeM2 = max(0, view.freeM2)
	if view.freeM2 < 0.005 {
		view.freeM2 = 0
	}
	view.Free = s.area(view.freeM2)
	for _, m := range g[season.Low].Light {
		for _, bl := range m.Beds {
			if bl.Bed == b.Name && sameMonth(m.Month, s.cfg.Today) {
				view.Light = oneDecimal(bl.Mol) + " mol/m²/d"
			}
		}
	}
	return view
}

// bedFacts is a bed in one line.
func (s *server) bedFacts(l site.Loop, b site.Bed) string {
	kind := b.Kind + " bed"
	if b.Kind == "constant" {
		kind = "bed under constant flow"
	}
	facts := fmt.Sprintf("%s of %s, water of %s, zone %s", words.Capital(kind), s.area(b.GrowingM2()), l.Name, b.Zone)
	if b.Tiers > 1 {
		facts += fmt.Sprintf(", on %d tiers", b.Tiers)
	}
	return facts
}

func (s *server) plantingRow(a *meals.Answer, p [season.Courses]season.PlantingCourse) plantingRow {
	low := p[season.Low]
	row := plantingRow{Crop: words.Capital(cropWord(low)), Area: s.area(low.AreaM2), Planted: longDay(low.Planted), Up: longDay(low.Emerged), Why: words.Capital(low.Why)}
	switch {
	case low.Planted.After(s.cfg.Today.Time):
		row.State = "planned"
	case stands(low, s.cfg.Today):
		row.State = "stands"
	default:
		row.State = "pulled"
	}
	if low.Emerged.Equal(low.Planted.Time) {
		row.Up = "set out as plants"
	}
	var first, pulled [season.Courses]site.Date
	var kg [season.Courses]float64
	for c := range p {
		first[c], pulled[c], kg[c] = p[c].First, p[c].Pulled, p[c].HarvestKg
	}
	row.First, row.Pulled = between(first), between(pulled)
	if kg[season.High] > 0 {
		row.Kg = range3(kg, "kg", kilograms)
	}
	row.Reaches = s.reaches(a, low)
	if row.Warnings = gathered(low.Warnings, low.Name); len(row.Warnings) > 0 {
		row.Minds = words.Count(len(row.Warnings), "warning", "warnings")
	}
	return row
}

// reaches names the sets of days at whose table a planting is eaten, with how
// much where no other planting of the bed is the same crop.
func (s *server) reaches(a *meals.Answer, p season.PlantingCourse) string {
	twins := 0
	for _, q := range s.cfg.Site.Opening.Plantings {
		if q.Bed == p.Bed && q.Crop == p.Crop {
			twins++
		}
	}
	var out []string
	for _, o := range a.Occasions {
		for _, st := range o.Low.OnHand {
			if o.Past || !st.Inside || st.From != p.Bed || !strings.EqualFold(st.Name, p.Name) || !(st.EatenKg > 0) {
				continue
			}
			within := slices.ContainsFunc(p.Picks, func(k season.Pick) bool { return !k.Day.Before(st.Ready.Time) && !k.Day.After(o.From.Time) })
			if !within {
				continue
			}
			if twins > 1 {
				out = append(out, o.Name)
			} else {
				out = append(out, o.Name+" ("+mass(st.EatenKg)+")")
			}
			break
		}
	}
	return strings.Join(out, ", ")
}

func (s *server) bedPage(a *meals.Answer, l site.Loop, b site.Bed) bedPage {
	page := bedPage{frame: s.frame(words.Capital(b.Name), "beds"), Facts: s.bedFacts(l, b)}
	g, grown := growthOf(a)
	if !grown {
		page.Sentence = fmt.Sprintf("The season has not been worked out for %s.", b.Name)
		return page
	}
	view := s.bedView(a, g, true, l, b)
	page.Facts += "; " + view.Free + " free today"
	page.Sentence = s.bedSentence(g[season.Low], b, view)
	page.Cautions = s.bedCautions(g, []site.Bed{b})
	at := 0
	for i, p := range g[season.Low].Plantings {
		if p.Bed != b.Name {
			continue
		}
		page.Plantings = append(page.Plantings, s.plantingView(g, i, view.Rows[at]))
		at++
	}
	for _, m := range g[season.Low].Light {
		for _, bl := range m.Beds {
			if bl.Bed == b.Name {
				page.Months = append(page.Months, monthRow{m.Month.Format("January 2006"), oneDecimal(m.OutMJm2), oneDecimal(bl.Mol)})
			}
		}
	}
	page.Light = strings.Join(g[season.Low].Warnings, " ")
	return page
}

func (s *server) bedSentence(f *season.Forecast, b site.Bed, view bedView) string {
	if len(view.Rows) == 0 {
		return fmt.Sprintf("Nothing stands in %s and nothing is planned: %s are free.", b.Name, s.area(view.allM2))
	}
	next, ok := nextHarvest(f, s.cfg.Today, func(p season.PlantingCourse) bool { return p.Bed == b.Name })
	if !ok {
		return fmt.Sprintf("%s carries or is to carry %s; no harvest comes from it until %s.", words.Capital(b.Name), words.Count(len(view.Rows), "planting", "plantings"), s.when(f.To))
	}
	sentence := fmt.Sprintf("The next harvest from %s is %s %s about %s", b.Name, mass(next.Kg), cropWord(next.of), s.when(next.Day))
	if n := len(view.Rows); n > 1 {
		sentence += fmt.Sprintf("; %d plantings are written down for it", n)
	}
	return sentence + "."
}

func (s *server) plantingView(g growth, i int, row plantingRow) plantingView {
	p := g.planting(i)
	low := p[season.Low]
	view := plantingView{plantingRow: row, Head: fmt.Sprintf("%s, %s", row.Crop, row.Area)}
	d := chart{Kind: "leaf", Unit: "g/m² dry", From: low.Planted, Today: s.cfg.Today, To: g[season.Low].To}
	most := 0.0
	var last site.Date
	var events []string
	for c := range p {
		line := chartLine{Word: courseWords[c]}
		for _, st := range p[c].Steps {
			line.Points = append(line.Points, chartPoint{st.Day, st.WGM2})
			most = max(most, st.WGM2)
			if st.Day.After(last.Time) {
				last = st.Day
			}
			if season.Course(c) != season.Low || st.Note == "" {
				continue
			}
			mark := chartMark{chartPoint{st.Day, st.WGM2}, "pulled"}
			switch st.Note {
			case "up":
				mark.Shape = "up"
				events = append(events, "up "+s.when(st.Day))
			case "harvest":
				mark.Shape = "harvest"
			default:
				events = append(events, "bed free "+s.when(st.Day)+": "+st.Note)
			}
			d.Marks = append(d.Marks, mark)
		}
		d.Lines = append(d.Lines, line)
	}
	if !last.IsZero() && last.Before(d.To.Time) {
		d.To = last
	}
	switch n := len(low.Picks); {
	case n > 1:
		events = append(events, fmt.Sprintf("%d harvests from %s to %s", n, s.when(low.Picks[0].Day), s.when(low.Picks[n-1].Day)))
	case n > 0:
		events = append(events, "harvest "+s.when(low.Picks[0].Day))
	}
	if len(events) > 0 {
		view.Events = "At low growth: " + strings.Join(events, "; ") + "."
	}
	d.Title = fmt.Sprintf("Dry matter of %s in %s against the date, at most %s g/m². %s", cropWord(low), low.Bed, oneDecimal(most), view.Events)
	view.Chart = d.svg()
	for n := range max(len(low.Picks), len(p[season.Typical].Picks), len(p[season.High].Picks)) {
		row := pickRow{Day: "–", Until: "–"}
		if n < len(low.Picks) {
			row.Day, row.Until = cellDay(low.Picks[n].Day), cellDay(low.Picks[n].Until)
		}
		for c := range p {
			row.Kg[c] = "–"
			if n < len(p[c].Picks) {
				row.Kg[c] = fmt.Sprintf("%.1f", p[c].Picks[n].Kg)
			}
		}
		view.Picks = append(view.Picks, row)
	}
	view.Ripe = low.RipeWhen
	for _, st := range low.Steps {
		row := stepRow{Day: cellDay(st.Day), Light: oneDecimal(st.DLIMol), Closed: oneDecimal(st.Closed), Cover: percent(st.Cover), Warmth: percent(st.Temp),
			Nitrogen: percent(st.Root), Grown: fmt.Sprintf("%.2f", st.GrownGM2), Standing: fmt.Sprintf("%.1f", st.WGM2), Note: st.Note}
		if st.HarvestGM2 > 0 {
			row.Taken = fmt.Sprintf("%.1f", st.HarvestGM2)
			row.Note = fmt.Sprintf("%s, %.2f kg/m² fresh", st.Note, st.HarvestKgM2)
		}
		view.Steps = append(view.Steps, row)
	}
	return view
}
