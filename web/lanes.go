package web

import (
	"fmt"
	"html/template"
	"math"
	"sort"
	"strings"

	"tidebed/meals"
	"tidebed/words"
)

var inf = math.Inf(1)

// flow is one source that reaches a set of days, at low yields.
type flow struct {
	Kind string // bed, fish, larder, other, cupboard
	What string // "Potato, Tub row"
	Much string // "26 of 34 kg, 18 200 kcal"
	Kcal float64
}

// lane is one set of days with what flows into it.
type lane struct {
	Name, Dates, Share string
	NeedKcal           float64
	Fed                bool // everybody has what must be had
	Flows              []flow
}

// flowLimit is how many flows a lane draws; the least are drawn as one.
const flowLimit = 8

// sourceKinds returns what kind of source a stock comes from, by the names in the
// site's own lists.
func (s *server) sourceKinds() func(meals.Stock) string {
	var beds, fish, larder []string
	for _, l := range s.cfg.Site.Loops {
		for _, t := range l.Tanks {
			fish = append(fish, t.Name)
		}
		for _, b := range l.Beds {
			beds = append(beds, b.Name)
		}
	}
	for _, c := range s.cfg.Site.Opening.Cohorts {
		fish = append(fish, c.Name)
	}
	for _, p := range s.cfg.Site.Larder {
		larder = append(larder, p.Name)
	}
	return func(st meals.Stock) string {
		switch {
		case !st.Inside:
			return "cupboard"
		case names(st.From, fish):
			return "fish"
		case names(st.From, larder):
			return "larder"
		case names(st.From, beds):
			return "bed"
		}
		return "other"
	}
}

// names tells whether a text is or contains one of the names.
func names(text string, list []string) bool {
	for _, n := range list {
		if n != "" && strings.Contains(text, n) {
			return true
		}
	}
	return false
}

// flowsOf returns what of the stock is eaten, most energy first.
func flowsOf(stock []meals.Stock, kind func(meals.Stock) string) []flow {
	var flows []flow
	for _, st := range stock {
		if !(st.EatenKg > 0 && st.Kg > 0) {
			continue
		}
		eatenKcal := st.EdibleKcal * st.EatenKg / st.Kg
		much := kilograms(st.EatenKg)
		if all := kilograms(st.Kg); all != much {
			much = strings.TrimSuffix(much, " kg") + " of " + all
		}
		flows = append(flows, flow{Kind: kind(st), What: words.Capital(st.Name) + ", " + st.From, Much: much + ", " + kcal(eatenKcal), Kcal: eatenKcal})
	}
	sort.SliceStable(flows, func(i, j int) bool { return flows[i].Kcal > flows[j].Kcal })
	return flows
}

func laneOf(o meals.Occasion, set setView) lane {
	l := lane{Name: o.Name, Dates: shortDays(o.From, o.To), Share: percent(o.Low.MeanShare), NeedKcal: o.NeedKcal, Fed: o.Fed(), Flows: set.Flows}
	if len(l.Flows) <= flowLimit {
		return l
	}
	rest := flow{Kind: "other", What: fmt.Sprintf("%d smaller ones together", len(l.Flows)-flowLimit+1)}
	for _, f := range l.Flows[flowLimit-1:] {
		rest.Kcal += f.Kcal
	}
	rest.Much = kcal(rest.Kcal)
	l.Flows = append(append([]flow(nil), l.Flows[:flowLimit-1]...), rest)
	return l
}

// drawLanes draws one lane for each set of days: at the left the sources, at the
// right the meal as a vessel as tall as the need, filled by what reaches it; the
// flows are as thick as their energy.
func drawLanes(lanes []lane) template.HTML {
	var drawn []planLane
	var said []string
	for _, l := range lanes {
		d := planLane{Name: l.Name, Dates: l.Dates, Need: l.NeedKcal, Notes: []string{l.Share + " from inside", "need " + kcal(l.NeedKcal)}}
		total := 0.0
		for _, f := range l.Flows {
			d.Flows = append(d.Flows, planFlow{Kind: f.Kind, What: f.What, Much: f.Much, Size: f.Kcal})
			total += f.Kcal
		}
		d.Notes = append(d.Notes, shortNotes(l.NeedKcal, total, l.Fed)...)
		drawn = append(drawn, d)
		said = append(said, fmt.Sprintf("%s: %s of the energy from inside, by %s", l.Name, l.Share, words.Count(len(l.Flows), "flow", "flows")))
	}
	return drawVessels(drawn, "What reaches which meal. "+strings.Join(said, "; ")+".")
}

// shorten cuts a label that would not fit; the list below has it whole.
func shorten(text string, most int) string {
	letters := []rune(text)
	if len(letters) <= most {
		return text
	}
	return strings.TrimRight(string(letters[:most-1]), " ,") + "…"
}
