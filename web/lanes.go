package web

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"sort"
	"strings"

	"tidebed/meals"
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
		flows = append(flows, flow{Kind: kind(st), What: capital(st.Name) + ", " + st.From, Much: much + ", " + kcal(eatenKcal), Kcal: eatenKcal})
	}
	sort.SliceStable(flows, func(i, j int) bool { return flows[i].Kcal > flows[j].Kcal })
	return flows
}

func laneOf(o meals.Occasion, set setView) lane {
	l := lane{Name: o.Name, Dates: shortDays(o.From, o.To), Share: percent(o.Low.MeanShare), NeedKcal: o.NeedKcal, Flows: set.Flows}
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

// The drawing's own units.
const (
	laneWide   = 820.0
	flowLeft   = 322.0 // labels stand left of it
	mealLeft   = 580.0
	mealWide   = 16.0
	labelTall  = 40.0
	mealTall   = 150.0
	laneGap    = 34.0
	labelChars = 34
)

// drawLanes draws one lane for each set of days: at the left the sources, at the
// right the meal as a vessel as tall as the need, filled by what reaches it; the
// flows are as thick as their energy.
func drawLanes(lanes []lane) template.HTML {
	if len(lanes) == 0 {
		return ""
	}
	var body strings.Builder
	var said []string
	top := 8.0
	for _, l := range lanes {
		top = drawLane(&body, l, top) + laneGap
		said = append(said, fmt.Sprintf("%s: %s of the energy from inside, by %s", l.Name, l.Share, count(len(l.Flows), "flow", "flows")))
	}
	title := "What reaches which meal. " + strings.Join(said, "; ") + "."
	return template.HTML(fmt.Sprintf(`<svg class="lanes" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title>`+
		`<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V6" class="hatch"/></pattern></defs>%s</svg>`,
		laneWide, top-laneGap+8, html.EscapeString(title), body.String()))
}

func drawLane(b *strings.Builder, l lane, top float64) (bottom float64) {
	total := 0.0
	for _, f := range l.Flows {
		total += f.Kcal
	}
	need := math.Max(l.NeedKcal, total) // the vessel shows the larger of the two
	if !(need > 0) {
		need = 1
	}
	rows, thick := make([]float64, len(l.Flows)), make([]float64, len(l.Flows))
	height := 0.0
	for i, f := range l.Flows {
		thick[i] = math.Max(1.5, f.Kcal/need*mealTall)
		rows[i] = math.Max(labelTall, thick[i]+8)
		height += rows[i]
	}
	height = math.Max(height, mealTall+4)
	vesselTop := top + (height-mealTall)/2
	fill := vesselTop + mealTall*(1-total/need)

	y, into := top, fill
	for i, f := range l.Flows {
		mid := y + rows[i]/2
		a, c, t := mid-thick[i]/2, into, thick[i]
		bend := (flowLeft + mealLeft) / 2
		fmt.Fprintf(b, `<path class="flow %s" d="M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fv%.1fC%.1f %.1f %.1f %.1f %.1f %.1fz"/>`,
			f.Kind, flowLeft, a, bend, a, bend, c, mealLeft, c, t, bend, c+t, bend, a+t, flowLeft, a+t)
		if f.Kind == "cupboard" {
			fmt.Fprintf(b, `<path class="flow hatched" fill="url(#hatch)" d="M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fv%.1fC%.1f %.1f %.1f %.1f %.1f %.1fz"/>`,
				flowLeft, a, bend, a, bend, c, mealLeft, c, t, bend, c+t, bend, a+t, flowLeft, a+t)
		}
		fmt.Fprintf(b, `<text class="what" x="%.1f" y="%.1f" text-anchor="end">%s</text>`, flowLeft-8, mid-3, html.EscapeString(shorten(f.What, labelChars)))
		fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f" text-anchor="end">%s</text>`, flowLeft-8, mid+13, html.EscapeString(f.Much))
		y += rows[i]
		into += f.Kcal / need * mealTall
	}
	short := math.Max(0, l.NeedKcal-total)
	fmt.Fprintf(b, `<rect class="vessel" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, mealLeft, vesselTop, mealWide, mealTall)
	fmt.Fprintf(b, `<rect class="filled" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, mealLeft, fill, mealWide, vesselTop+mealTall-fill)
	x := mealLeft + mealWide + 10
	mid := vesselTop + mealTall/2
	fmt.Fprintf(b, `<text class="meal" x="%.1f" y="%.1f">%s</text>`, x, mid-30, html.EscapeString(shorten(l.Name, 22)))
	fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f">%s</text>`, x, mid-12, html.EscapeString(l.Dates))
	fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f">%s from inside</text>`, x, mid+6, html.EscapeString(l.Share))
	fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f">need %s</text>`, x, mid+24, html.EscapeString(kcal(l.NeedKcal)))
	if short > 0 {
		fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f">still short %s</text>`, x, mid+42, html.EscapeString(kcal(short)))
	}
	return top + height
}

// shorten cuts a label that would not fit; the list below has it whole.
func shorten(text string, most int) string {
	letters := []rune(text)
	if len(letters) <= most {
		return text
	}
	return strings.TrimRight(string(letters[:most-1]), " ,") + "…"
}
