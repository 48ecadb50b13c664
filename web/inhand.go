package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"tidebed/inhand"
	"tidebed/words"
)

// showingHours is the top of the staffs: more than a day in hand is shown as one.
const showingHours = 24

// hoursPage is the hours in hand on the water side.
type hoursPage struct {
	frame
	Sentence  string
	Todo      string
	Form      hoursForm
	Answer    *inhand.Answer
	Tanks     []hoursTank
	Moments   []string // heads of the table by moment
	ByMoment  []hoursRow
	Levels    []string
	ActBelow  string
	GoodFrom  string
	FirstCase string
	StockOn   string
	Warm      *inhand.Warm // nil where the building is not described
}

// hoursForm is what was asked for, as typed.
type hoursForm struct {
	Night, Fed bool
	Share      string
	Problem    string
}

// hoursTank is a tank with its times at the moment asked for.
type hoursTank struct {
	Anchor, Name, Facts string
	Plain               string
	Carry               string
	Staff               staffView
	Rows                []hoursRow
}

type hoursRow struct {
	Name, State string
	Cells       []hoursCell
}

type hoursCell struct {
	Text  string
	Never bool
}

// showHours handles GET /hours: how long have the fish when pump or air stop, and
// what buys most time?
func (s *server) showHours(w http.ResponseWriter, r *http.Request) {
	page := hoursPage{frame: s.frame("Hours in hand", "hours"), ActBelow: inhand.Duration(inhand.ActHours), GoodFrom: inhand.Duration(inhand.WatchHours)}
	form, share := parseHoursForm(r)
	page.Form = form
	if form.Problem != "" {
		page.Sentence = "The share of the stock could not be read."
		s.render(w, r, http.StatusUnprocessableEntity, "inhand.html", page)
		return
	}
	m := inhand.Moment{Night: form.Night, Fed: form.Fed}
	a, err := inhand.Of(s.cfg.Site, inhand.StockOf(s.cfg.Site), inhand.Options{Moment: &m, Share: share})
	if err != nil {
		page.Sentence, page.Todo = noHours(err)
		s.render(w, r, http.StatusOK, "inhand.html", page)
		return
	}
	page.Answer, page.Sentence, page.StockOn = a, a.Headline, longDay(a.StockOn)
	page.Warm = s.warmHours()
	for _, l := range inhand.Levels() {
		page.Levels = append(page.Levels, string(l))
	}
	for _, at := range inhand.Moments() {
		page.Moments = append(page.Moments, at.Words())
	}
	for i, t := range a.InOrder() {
		page.Tanks = append(page.Tanks, hoursTankOf(i, t, m))
		row := hoursRow{Name: t.Name}
		for _, at := range inhand.Moments() {
			row.Cells = append(row.Cells, harmCell(t.Find(inhand.PowerFails, at)))
		}
		page.ByMoment = append(page.ByMoment, row)
	}
	if a.First != nil {
		page.FirstCase = a.First.Case.Name
	}
	s.render(w, r, http.StatusOK, "inhand.html", page)
}

// noHours says why there is no answer and what to do.
func noHours(err error) (sentence, todo string) {
	if errors.Is(err, inhand.ErrNoFish) {
		return "No fish are written down, so there is nothing to have hours in hand for.",
			"Write them into the site file, under opening, fish: a name, the species, the tank, how many, and what one weighs."
	}
	return "The hours in hand cannot be worked out from this site file.", words.Capital(strings.TrimPrefix(err.Error(), "hours in hand: ")) + "."
}

// parseHoursForm reads the form; without one it is the hardest moment with the
// stock as it is.
func parseHoursForm(r *http.Request) (form hoursForm, share float64) {
	q := r.URL.Query()
	form = hoursForm{Night: q.Get("when") != "day", Fed: q.Get("meal") != "before", Share: strings.TrimSpace(q.Get("share"))}
	if form.Share == "" {
		form.Share = "100"
	}
	text := strings.TrimSpace(strings.TrimSuffix(strings.Replace(form.Share, ",", ".", 1), "%"))
	percent, err := strconv.ParseFloat(text, 64)
	if low, high := 100*inhand.LeastShare, 100*inhand.MostShare; err != nil || strings.ContainsAny(text, "xXpP_") || !(percent >= low && percent <= high) {
		form.Problem = fmt.Sprintf("Give a share of %.0f to %.0f %%. You entered %s.", low, high, strconv.Quote(form.Share))
		return form, 1
	}
	return form, percent / 100
}

func hoursTankOf(i int, t *inhand.Tank, m inhand.Moment) hoursTank {
	out := hoursTank{Anchor: fmt.Sprintf("tank-%d", i+1), Name: t.Name,
		Facts: fmt.Sprintf("%s, %s in %s m³ of %s °C (%s kg/m³); together with solids and bacteria they use %s g of oxygen an hour; before the failure the water holds %s mg/L",
			words.Count(int(t.Number), "fish", "fish"), kilograms(t.BiomassKg), figure(t.VolumeM3), figure(t.TempC), figure(t.DensityKgM3), figure(t.BreathGH), figure(t.DOGm3))}
	if t.PlainFed != "" {
		out.Plain = fmt.Sprintf("Plain formula, volume × oxygen to spare ÷ breath of the fish alone: %s between meals, %s with twice the breath after a meal.", t.PlainRested, t.PlainFed)
	}
	switch {
	case t.CarryAirGH <= 0:
	case t.BatteryAirGH > 0:
		out.Carry = fmt.Sprintf("An air stone of %s g of oxygen an hour by its label would hold them; the battery air there has %s.", figure(t.CarryAirGH), figure(t.BatteryAirGH))
	default:
		out.Carry = fmt.Sprintf("An air stone of %s g of oxygen an hour by its label would hold them; there is no battery air here.", figure(t.CarryAirGH))
	}
	for n := range t.Times {
		x := &t.Times[n]
		if x.Moment != m {
			continue
		}
		row := hoursRow{Name: x.Name, State: x.State}
		for _, l := range inhand.Levels() {
			cell := hoursCell{Text: noValue}
			for _, th := range x.Thresholds {
				if th.Level == l {
					cell = hoursCell{Text: th.Text, Never: th.Hours == nil}
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		out.Rows = append(out.Rows, row)
	}
	out.Staff = hoursStaff(t, m)
	return out
}

// hoursStaff is how long a tank has without pump and air.
func hoursStaff(t *inhand.Tank, m inhand.Moment) staffView {
	harm := math.Inf(1)
	if x := t.Find(inhand.PowerFails, m); x != nil {
		harm = x.Harm()
	}
	v := Staff{Name: "without pump and air", Value: min(harm, showingHours), Low: inhand.ActHours, High: math.Inf(1),
		Edge: inhand.WatchHours - inhand.ActHours, ScaleMin: 0, ScaleMax: showingHours, Unit: "h"}.view()
	v.Number = inhand.TextOf(harm)
	return v
}

func harmCell(x *inhand.Times) hoursCell {
	if x == nil {
		return hoursCell{Text: noValue}
	}
	return hoursCell{Text: inhand.TextOf(x.Harm()), Never: math.IsInf(x.Harm(), 1)}
}

// cardPage is the card for a stand-in: one sheet.
type cardPage struct {
	frame
	Sentence string
	Todo     string
	Site     string
	StockOn  string
	First    []string // the first three steps, in big type
	Then     []string
	Back     []string
	Heads    []string
	Rows     []hoursRow
	Warm     []string // the cold and the hot side, in short
	Cautions []string
}

// cardSteps is how many steps stand in big type.
const cardSteps = 3

// warmHours is how long the building keeps its warmth; nil where it is not described.
func (s *server) warmHours() *inhand.Warm {
	warm, err := inhand.WarmOf(s.cfg.Site)
	if err != nil {
		if !errors.Is(err, inhand.ErrNoSkin) {
			s.log.Error("warm side of the hours in hand", "cause", err)
		}
		return nil
	}
	return warm
}

// showCard handles GET /hours/card: what a stand-in does when something stops.
func (s *server) showCard(w http.ResponseWriter, r *http.Request) {
	page := cardPage{frame: s.frame("Emergency card", "hours"), Site: s.cfg.Site.Name}
	a, err := inhand.Of(s.cfg.Site, inhand.StockOf(s.cfg.Site), inhand.Options{})
	if err != nil {
		page.Sentence, page.Todo = noHours(err)
		s.render(w, r, http.StatusOK, "card.html", page)
		return
	}
	page.Sentence, page.StockOn = "If the pump or the air stops", longDay(a.StockOn)
	steps := min(cardSteps, len(a.Do))
	page.First, page.Then, page.Back, page.Cautions = a.Do[:steps], a.Do[steps:], a.Back, a.Cautions[:3]
	for _, c := range inhand.CardCases() {
		page.Heads = append(page.Heads, c.Name)
	}
	for _, t := range a.InOrder() {
		row := hoursRow{Name: t.Name}
		for _, c := range inhand.CardCases() {
			text := inhand.TextOf(t.Soonest(c.ID))
			if !t.Has(c.ID) {
				text = noValue
			}
			row.Cells = append(row.Cells, hoursCell{Text: text})
		}
		page.Rows = append(page.Rows, row)
	}
	if warm := s.warmHours(); warm != nil {
		page.Warm = warm.Lines()
	}
	s.render(w, r, http.StatusOK, "card.html", page)
}
