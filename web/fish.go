package web

import (
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"sort"
	"strings"

	"tidebed/quantity"
	"tidebed/season"
	"tidebed/site"
	"tidebed/words"
)

// The cautions of the fish page: one sentence, with whom to ask.
const (
	cautionOxygen = "Oxygen fails fast: when pump and air stop, a well-filled tank may lose its fish within 40 to 80 minutes; keep air on a battery and an alarm that wakes you, and ask an aquaculture adviser what this tank needs."
	cautionKill   = "Stun, then bleed at once, by someone who has been shown how; ask the animal health office what is allowed at home, and never eat fish found dead."
	cautionPermit = "Keeping, moving and selling fish may need a permit: ask the fisheries office before the first fish comes, and never let one out."
)

// ruleOfTrade is what growers feed for each m² of plants a day.
const ruleOfTrade = "The rule of the trade is 40 to 50 g/m²/d for leafy rafts and 15 to 25 g/m²/d for media beds [FAO 589; common practice]."

type fishPage struct {
	frame
	Sentence string
	Todo     string
	Reasons  []string
	Warnings []string
	Cautions []string
	Cohorts  []cohortView
	Feeds    []feedRow
	Loops    []loopView
	To       string
}

// cohortView is one cohort over the season.
type cohortView struct {
	Anchor, Name, Facts  string
	Now, Weight, Density string // the figures of today
	Staffs               []staffView
	Caution              string
	Table, Feed          string
	Warnings             []string
	Chart                template.HTML
	Months, Weeks        []fishRow
}

// fishStaffs are the water's temperature against the species' feeding range,
// and the tank's density with the most that is forecast, where they are known.
func (s *server) fishStaffs(k [season.Courses]season.CohortCourse) (out []staffView) {
	low, high := k[season.Low], k[season.High]
	if low.TempC != 0 && low.FeedHighC > low.FeedLowC {
		out = append(out, Staff{
			Name: "water of " + low.Tank, Value: low.TempC, Low: low.FeedLowC, High: low.FeedHighC,
			ScaleMin: min(low.TempC, low.FeedLowC) - 5, ScaleMax: max(low.TempC, low.FeedHighC) + 5, Unit: "°C",
		}.view())
	}
	if at, ok := dayOf(low.Days, s.cfg.Today); ok && low.DensityMaxKgM3 > 0 {
		most := 0.0
		for _, d := range high.Days {
			most = max(most, d.DensityKgM3)
		}
		out = append(out, Staff{
			Name: "density in " + low.Tank, Value: at.DensityKgM3, Low: math.Inf(-1), High: low.DensityMaxKgM3,
			ScaleMin: 0, ScaleMax: max(most, low.DensityMaxKgM3) * 1.2, Unit: "kg/m³",
			Marks: []Mark{{"most this season, at high growth", most}},
		}.view())
	}
	return out
}

type fishRow struct{ Day, Number, Lost, Taken, Low, Typical, High, Feed, FeedShare, FeedPerGain, Density string }

type feedRow struct{ Name, Stock, Used, RunsOut, OrderBy, Sentence string }

// loopView is one loop's nitrogen.
type loopView struct {
	Name, Facts, Feed string
	Chart             template.HTML
	Ledger            []ledgerRow
}

type ledgerRow struct {
	Name  string
	Cells [season.Courses]string
	Sum   bool
}

// showFish handles GET /fish: when may they be eaten, what do they eat, and does
// the water balance?
func (s *server) showFish(w http.ResponseWriter, r *http.Request) {
	a, ok := s.grown(w, r, "fish")
	if !ok {
		return
	}
	page := fishPage{frame: s.frame("Fish", "fish")}
	g, grown := growthOf(a)
	switch {
	case len(s.cfg.Site.Opening.Cohorts) == 0:
		page.Sentence = "No fish are written down, so none can be eaten and none feed the beds."
		page.Todo = "Write them into the site file, under opening, fish: a name, the species, the tank, how many, and what one weighs."
		page.Cautions = []string{cautionPermit}
	case !grown:
		page.Sentence = fmt.Sprintf("There is %s, but the season has not been worked out.", words.Count(len(s.cfg.Site.Opening.Cohorts), "cohort", "cohorts"))
	default:
		s.fillFish(&page, g)
	}
	if grown {
		for i := range g[season.Low].Loops {
			page.Loops = append(page.Loops, s.loopView(g, i))
		}
	}
	s.render(w, r, http.StatusOK, "fish.html", page)
}

func (s *server) fillFish(page *fishPage, g growth) {
	page.To = longDay(g[season.Low].To)
	for i := range g[season.Low].Cohorts {
		page.Cohorts = append(page.Cohorts, s.cohortView(g, i))
	}
	page.Feeds = feedRows(g)
	page.Sentence = s.fishSentence(g)
	for _, f := range firstFeeds(g) {
		page.Reasons = append(page.Reasons, words.Capital(f.Sentence))
	}
	for _, w := range g.warnings(func(f *season.Forecast) []string { return f.Warnings }) {
		page.Warnings = append(page.Warnings, words.Capital(w))
	}
	for i, l := range g[season.Low].Loops {
		if weeks := l.NitrateNGm3; len(weeks) > 1 && len(page.Reasons) < 3 && l.FeedGM2Day > 0 && !slices.ContainsFunc(page.Warnings, func(w string) bool { return strings.HasPrefix(w, "Loop "+l.Name+": nitrogen") }) {
			first, last := weeks[0], g[season.Low].Loops[i].NitrateNGm3[len(weeks)-1]
			verb := "holds"
			switch a, b := math.Round(first.NGm3), math.Round(last.NGm3); {
			case b > a:
				verb = "rises"
			case b < a:
				verb = "falls"
			}
			page.Reasons = append(page.Reasons, fmt.Sprintf("Nitrogen in the water of %s %s from %s to %s g/m³ by %s at low growth, if no water is let out.",
				l.Name, verb, grouped(math.Round(first.NGm3)), grouped(math.Round(last.NGm3)), s.when(last.Day)))
		}
	}
	page.Cautions = []string{cautionOxygen, cautionPower, cautionKill, cautionPermit}
}

func (s *server) fishSentence(g growth) string {
	low := g[season.Low]
	var feedKg [season.Courses]float64
	for c := range g {
		for _, k := range g[c].Cohorts {
			feedKg[c] += k.FeedG / 1000
		}
	}
	feed := fmt.Sprintf("feed until %s comes to %s", s.when(low.To), kilograms(feedKg[season.Typical]))
	if a, b := kilograms(feedKg[season.Low]), kilograms(feedKg[season.High]); a != b {
		feed += fmt.Sprintf(" (%s to %s)", strings.TrimSuffix(a, " kg"), b)
	}
	var next *season.CohortCourse
	ready := 0
	for i := range low.Cohorts {
		switch c := &low.Cohorts[i]; {
		case c.TableOn.IsZero():
		case !c.TableOn.After(s.cfg.Today.Time):
			ready++
		case next == nil || c.TableOn.Before(next.TableOn.Time):
			next = c
		}
	}
	switch {
	case next != nil:
		size := ""
		if at, ok := dayOf(next.Days, next.TableOn); ok {
			size = ", " + gramsOf(math.Round(at.WeightG/10)*10) + ","
		}
		return fmt.Sprintf("The %s reach table size%s about %s; %s.", next.Name, size, s.when(next.TableOn), feed)
	case ready == len(low.Cohorts) && ready == 1:
		return fmt.Sprintf("The %s are at table size; %s.", low.Cohorts[0].Name, feed)
	case ready > 0:
		return fmt.Sprintf("Of %s %d are at table size, and no other gets there by %s; %s.", words.Count(len(low.Cohorts), "cohort", "cohorts"), ready, s.when(low.To), feed)
	}
	return fmt.Sprintf("No cohort reaches table size by %s; %s.", s.when(low.To), feed)
}

// dayOf returns a cohort's day.
func dayOf(list []season.FishDay, on site.Date) (season.FishDay, bool) {
	i := sort.Search(len(list), func(i int) bool { return !list[i].Day.Before(on.Time) })
	if i < len(list) && list[i].Day.Equal(on.Time) {
		return list[i], true
	}
	return season.FishDay{}, false
}

// gramsOf prints the weight of one fish.
func gramsOf(g float64) string {
	if math.IsNaN(g) || math.IsInf(g, 0) {
		return noValue
	}
	return grouped(math.Round(g)) + " g"
}

func (s *server) cohortView(g growth, i int) cohortView {
	k := g.cohort(i)
	low := k[season.Low]
	view := cohortView{Anchor: fmt.Sprintf("cohort-%d", i+1), Name: low.Name, Facts: fmt.Sprintf("%s in %s", low.Title, low.Tank)}
	if low.TempC != 0 {
		view.Facts += ", water " + s.at(low.TempC, quantity.Temperature)
	}
	if low.FeedName != "" {
		view.Facts += ", fed " + low.FeedName
	}
	if now, ok := dayOf(low.Days, s.cfg.Today); ok {
		view.Now, view.Weight = words.Count(int(math.Round(now.Number)), "fish", "fish"), gramsOf(now.WeightG)
	}
	var most [season.Courses]season.FishDay
	var tables [season.Courses]site.Date
	var feed [season.Courses]float64
	d := chart{Kind: "fish", Unit: "g a fish", From: g[season.Low].From, To: g[season.Low].To, Today: s.cfg.Today}
	for c := range k {
		tables[c], feed[c] = k[c].TableOn, k[c].FeedG/1000
		line := chartLine{Word: courseWords[c]}
		for _, w := range k[c].Weeks {
			if w.Number < 0.5 {
				break // all taken
			}
			line.Points = append(line.Points, chartPoint{w.Day, w.WeightG})
		}
		for _, at := range k[c].Days {
			if at.DensityKgM3 > most[c].DensityKgM3 {
				most[c] = at
			}
		}
		if at, ok := dayOf(k[c].Days, k[c].TableOn); ok {
			d.Marks = append(d.Marks, chartMark{chartPoint{at.Day, at.WeightG}, "table"})
		}
		d.Lines = append(d.Lines, line)
	}
	if most[season.High].DensityKgM3 > 0 {
		view.Density = fmt.Sprintf("At most %s in %s on %s, at high growth %s on %s.", density(most[season.Low].DensityKgM3), low.Tank, s.when(most[season.Low].Day),
			density(most[season.High].DensityKgM3), s.when(most[season.High].Day))
	}
	view.Caution = low.Caution
	view.Staffs = s.fishStaffs(k)
	view.Table = between(tables)
	if view.Table == "" {
		view.Table = "not by " + longDay(g[season.Low].To)
	}
	view.Feed = range3(feed, "kg", kilograms)
	for _, w := range g.warnings(func(f *season.Forecast) []string { return f.Cohorts[i].Warnings }) {
		view.Warnings = append(view.Warnings, words.Capital(w))
	}
	d.Title = fmt.Sprintf("Weight of one fish of %s against the date; table size %s.", low.Name, view.Table)
	view.Chart = d.svg()
	gone := false
	for n, at := range k[season.Low].Days {
		if n >= len(k[season.Typical].Days) || n >= len(k[season.High].Days) || gone || at.Day.Before(s.cfg.Today.Time) {
			continue
		}
		row := fishRowOf(k[season.Low].Days[n], k[season.Typical].Days[n], k[season.High].Days[n])
		gone = at.Number < 0.5 && k[season.Typical].Days[n].Number < 0.5 && k[season.High].Days[n].Number < 0.5
		if gone || at.Taken > 0 || at.Day.Equal(s.cfg.Today.Time) || at.Day.Day() == 1 || n == len(k[season.Low].Days)-1 {
			view.Months = append(view.Months, row)
		}
		if gone || s.cfg.Today.DaysTo(at.Day)%7 == 0 {
			view.Weeks = append(view.Weeks, row)
		}
	}
	return view
}

func density(kgM3 float64) string { return oneDecimal(kgM3) + " kg/m³" }

func fishRowOf(low, typical, high season.FishDay) fishRow {
	bare := func(g float64) string { return strings.TrimSuffix(gramsOf(g), " g") }
	if low.Number < 0.5 { // all taken: what one would weigh tells nothing
		return fishRow{Day: cellDay(low.Day), Number: "0", Taken: takenWord(low), Low: "–", Typical: "–", High: "–", Feed: portionGrams(typical.FeedG), Density: oneDecimal(typical.DensityKgM3)}
	}
	return fishRow{Day: cellDay(low.Day), Number: grouped(math.Round(low.Number)), Low: bare(low.WeightG), Typical: bare(typical.WeightG), High: bare(high.WeightG),
		Feed: portionGrams(typical.FeedG), FeedShare: fmt.Sprintf("%.2f %%", 100*typical.FeedShare), FeedPerGain: fmt.Sprintf("%.2f", typical.FeedPerGain),
		Lost: fmt.Sprintf("%.2f", low.Lost), Taken: takenWord(low), Density: oneDecimal(typical.DensityKgM3)}
}

// takenWord is how many fish were taken on a day; empty for none.
func takenWord(d season.FishDay) string {
	if d.Taken < 0.5 {
		return ""
	}
	return grouped(math.Round(d.Taken))
}

// firstFeeds returns each feed that is to be ordered, by the course that wants
// it first; the soonest order first.
func firstFeeds(g growth) (out []season.FeedCourse) {
	index := map[string]int{}
	for _, f := range g {
		for _, feed := range f.Feeds {
			if feed.Sentence == "" || feed.OrderBy.IsZero() {
				continue
			}
			if i, ok := index[feed.Name]; !ok {
				index[feed.Name] = len(out)
				out = append(out, feed)
			} else if feed.OrderBy.Before(out[i].OrderBy.Time) {
				out[i] = feed
			}
		}
	}
	slices.SortStableFunc(out, func(a, b season.FeedCourse) int { return a.OrderBy.Compare(b.OrderBy.Time) })
	return out
}

// feedRows joins the courses of each feed by its name; the day to order by is the
// earliest.
func feedRows(g growth) (rows []feedRow) {
	for _, feed := range g[season.Low].Feeds {
		var used [season.Courses]float64
		var out [season.Courses]site.Date
		row := feedRow{Name: feed.Name, Stock: kilograms(feed.StockKg), Sentence: words.Capital(feed.Sentence)}
		var order site.Date
		for c, f := range g {
			for _, other := range f.Feeds {
				if other.Name != feed.Name {
					continue
				}
				used[c], out[c] = other.UsedKg, other.RunsOut
				if !other.OrderBy.IsZero() && (order.IsZero() || other.OrderBy.Before(order.Time)) {
					order, row.Sentence = other.OrderBy, words.Capital(other.Sentence)
				}
			}
		}
		row.Used, row.RunsOut, row.OrderBy = range3(used, "kg", kilograms), between(out), longDay(order)
		if row.RunsOut == "" {
			row.RunsOut = "lasts"
		}
		rows = append(rows, row)
	}
	return rows
}

func (s *server) loopView(g growth, i int) loopView {
	low := g[season.Low].Loops[i]
	view := loopView{Name: low.Name}
	view.Facts = fmt.Sprintf("%s of water; on average %s planted.", s.at(low.VolumeM3, quantity.Volume), s.area(low.PlantedM2))
	d := chart{Kind: "water", Unit: "g/m³ nitrogen", From: g[season.Low].From, To: g[season.Low].To, Today: s.cfg.Today}
	most := 0.0
	var feed, still [season.Courses]float64
	for c, f := range g {
		l := f.Loops[i]
		feed[c], still[c] = l.FeedGM2Day, l.StandstillGM2Day
		line := chartLine{Word: courseWords[c]}
		for _, w := range l.NitrateNGm3 {
			line.Points = append(line.Points, chartPoint{w.Day, w.NGm3})
			most = max(most, w.NGm3)
		}
		d.Lines = append(d.Lines, line)
	}
	d.Title = fmt.Sprintf("Nitrogen in the water of %s by week, at most %s g/m³.", low.Name, grouped(math.Round(most)))
	view.Chart = d.svg()
	whole := func(v float64) string { return grouped(math.Round(v)) }
	switch {
	case feed[season.High] == 0:
		view.Feed = "No feed is given here or nothing is planted, so there is no feed for each m² to compare. " + ruleOfTrade
	case still[season.High] == 0:
		view.Feed = "Feed given: " + range3(feed, "g/m²/d", whole) + " of planted bed; at which feed the nitrogen would stand still cannot be told. " + ruleOfTrade
	default:
		view.Feed = fmt.Sprintf("Feed given: %s of planted bed; nitrogen stands still at %s (low – typical – high growth). %s", range3(feed, "g/m²/d", whole), range3(still, "g/m²/d", oneDecimal), ruleOfTrade)
	}
	if low.LeafyGM2Day > 0 {
		view.Feed += fmt.Sprintf(" By the mass balance a full leafy bed at good light takes up the nitrogen of about %s of this feed.", whole(low.LeafyGM2Day)+" g/m²/d")
	}
	view.Ledger = ledgerRows(g, func(f *season.Forecast) season.Ledger { return f.Loops[i].Nitrogen })
	return view
}

// ledgerRows sets out a ledger of grams, the three courses side by side.
func ledgerRows(g growth, of func(*season.Forecast) season.Ledger) (rows []ledgerRow) {
	fill := func(name string, sum bool, amount func(season.Ledger) float64) {
		row := ledgerRow{Name: name, Sum: sum}
		for c, f := range g {
			v := amount(of(f))
			row.Cells[c] = grouped(math.Round(v))
			if math.IsNaN(v) || math.IsInf(v, 0) {
				row.Cells[c] = noValue
			}
		}
		rows = append(rows, row)
	}
	side := func(word string, list func(season.Ledger) []season.Entry) {
		for _, e := range list(of(g[season.Low])) {
			fill(word+e.Name, false, func(l season.Ledger) (sum float64) {
				for _, other := range list(l) {
					if other.Name == e.Name {
						sum += other.Amount
					}
				}
				return sum
			})
		}
	}
	fill("at the start", true, func(l season.Ledger) float64 { return l.Start })
	side("in: ", func(l season.Ledger) []season.Entry { return l.In })
	side("out: ", func(l season.Ledger) []season.Entry { return l.Out })
	fill("at the end", true, func(l season.Ledger) float64 { return l.End })
	fill("left over", false, func(l season.Ledger) float64 { return l.Left })
	return rows
}
