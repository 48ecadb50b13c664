package web

import (
	"cmp"
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strings"

	"tidebed/plan"
	"tidebed/words"
)

// planLane is one set of days, the household's weeks or the orders, with what flows
// into it at low yields.
type planLane struct {
	Name, Dates, Share string
	Notes              []string // beside the vessel
	Need               float64  // kcal, or kg of greens
	Flows              []planFlow
}

// planFlow is what one source gives to one lane.
type planFlow struct {
	Kind string  // bed, fish, larder, other, cupboard
	What string  // "Potato, tubs"
	Day  string  // "set 8 March, ripe 28 July"
	Much string  // "26 kg, 18 200 kcal"
	Size float64 // as Need
}

// planFlowLimit is how many flows a lane draws; the least are drawn as one.
const planFlowLimit = 9

// planLanes are the occasions, the household and the orders with what reaches them.
func (s *server) planLanes(p *plan.Plan) []planLane {
	byID := map[string]*plan.Sowing{}
	for i := range p.Sowings {
		byID[p.Sowings[i].ID] = &p.Sowings[i]
	}
	var out []planLane
	for i := range p.Occasions {
		o := &p.Occasions[i]
		l := planLane{Name: o.Name, Dates: shortDays(o.From, o.To), Share: percent(o.MeanShare), Need: o.NeedKcal}
		got := 0.0
		var inside, bought planPile
		for _, x := range o.Sources {
			if !(x.Kcal > 0) {
				continue
			}
			got += x.Kcal
			kind := x.Kind
			if kind == "planting" {
				kind = "bed"
			}
			if x.Inside {
				inside.add(kind, x.What, x.Where, x.Kg, x.Kcal, byID[x.Sowing])
			} else {
				bought.add("cupboard", "bought", strings.ToLower(x.What), x.Kg, x.Kcal, nil)
			}
		}
		l.Flows = append(inside.flows(s, true), bought.flows(s, true)...)
		l.Notes = []string{l.Share + " from inside", "need " + kcal(o.NeedKcal)}
		l.Notes = append(l.Notes, shortNotes(o.NeedKcal, got, o.Fed())...)
		out = append(out, l)
	}
	for _, use := range []struct {
		key, name string
		of        func(*plan.Week) (got, want float64)
	}{{"household", "The household’s weeks", func(w *plan.Week) (float64, float64) { return w.GreensKg, w.GreensWant }}, {"orders", "Orders from beds", func(w *plan.Week) (float64, float64) { return w.OrdersKg, w.OrdersWant }}} {
		l := planLane{Name: use.name, Dates: shortDays(p.From, p.To)}
		got := 0.0
		for i := range p.Weeks {
			have, want := use.of(&p.Weeks[i])
			got += have
			l.Need += want
		}
		var pile planPile
		for i := range p.Sowings {
			x := &p.Sowings[i]
			for _, u := range x.Serves {
				if strings.HasSuffix(u.Use, use.key) && u.Kg > 0 {
					pile.add("bed", x.Name, x.Beds(), u.Kg, u.Kg, x)
				}
			}
		}
		l.Flows = pile.flows(s, false)
		if l.Need < 0.05 && len(l.Flows) == 0 {
			continue
		}
		if l.Need > 0 {
			l.Share = percent(math.Min(1, got/l.Need))
			l.Notes = []string{l.Share + " of what is wanted", "wanted " + kilograms(l.Need)}
		}
		l.Notes = append(l.Notes, "given "+kilograms(got))
		out = append(out, l)
	}
	return slices.DeleteFunc(out, func(l planLane) bool { return len(l.Flows) == 0 && !(l.Need > 0) })
}

// shortNotes say what of the need does not come; where everybody is fed, children have
// theirs in full and it is the adults who stand between their floor and their need.
func shortNotes(need, got float64, fed bool) []string {
	short := need - got
	switch {
	case !(short > shortLeast*need):
		return nil
	case fed:
		return []string{kcal(short) + " under the full need", "adults have their floor at least"}
	}
	return []string{"still short " + kcal(short)}
}

// shortLeast is the share of the need from which it is told that it does not come.
const shortLeast = 0.005

// planPile gathers what is alike: one crop's sowings, one kind of fish, what is bought.
type planPile struct{ heaps []planHeap }

type planHeap struct {
	kind, what string
	wheres     []string
	kg, size   float64
	sowings    []*plan.Sowing
}

func (p *planPile) add(kind, what, where string, kg, size float64, sown *plan.Sowing) {
	at := slices.IndexFunc(p.heaps, func(h planHeap) bool { return h.kind == kind && h.what == what })
	if at < 0 {
		p.heaps, at = append(p.heaps, planHeap{kind: kind, what: what}), len(p.heaps)
	}
	h := &p.heaps[at]
	h.kg, h.size = h.kg+kg, h.size+size
	if !slices.Contains(h.wheres, where) {
		h.wheres = append(h.wheres, where)
	}
	if sown != nil {
		h.sowings = append(h.sowings, sown)
	}
}

// flows are the heaps, the largest first.
func (p *planPile) flows(s *server, energy bool) (out []planFlow) {
	for i := range p.heaps {
		h := &p.heaps[i]
		f := planFlow{Kind: h.kind, What: h.label(), Day: s.sownWhen(h.sowings), Much: plan.Weighed(h.kg), Size: h.size}
		if energy {
			f.Much += ", " + kcal(h.size)
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b planFlow) int { return cmp.Compare(b.Size, a.Size) })
	return out
}

// label names a heap and where it comes from, as far as there is room.
func (h *planHeap) label() string {
	between := ", "
	if h.kind == "cupboard" {
		between = ": "
	}
	for n := len(h.wheres); n > 0; n-- {
		wheres := slices.Clone(h.wheres[:n])
		if rest := len(h.wheres) - n; rest > 0 {
			wheres = append(wheres, fmt.Sprintf("%d more", rest))
		}
		if text := words.Capital(h.what) + between + words.List(wheres); len([]rune(text)) <= planChars || n == 1 {
			return text
		}
	}
	return words.Capital(h.what)
}

// sownWhen is "sown 8 March, from 28 July", or how many sowings there are, when they
// are sown and from when they give.
func (s *server) sownWhen(list []*plan.Sowing) string {
	var sown, first, last *plan.Sowing
	for _, x := range list {
		if x.First.IsZero() {
			continue
		}
		if first == nil || x.First.Before(first.First.Time) {
			first = x
		}
		if !x.Standing && (sown == nil || x.Sow.Before(sown.Sow.Time)) {
			sown = x
		}
		if !x.Standing && (last == nil || last.Sow.Before(x.Sow.Time)) {
			last = x
		}
	}
	switch {
	case first == nil:
		return ""
	case sown == nil:
		return "stands, from " + s.when(first.First)
	case sown == last && len(list) == 1:
		return "sown " + s.when(sown.Sow) + ", from " + s.when(first.First)
	case sown.Sow == last.Sow:
		return fmt.Sprintf("%d sowings, from %s", len(list), s.when(first.First))
	}
	return fmt.Sprintf("%d sowings until %s, from %s", len(list), s.when(last.Sow), s.when(first.First))
}

// drawn is the lane with its least flows drawn as one.
func (l planLane) drawn() planLane {
	if len(l.Flows) <= planFlowLimit {
		return l
	}
	flows := slices.Clone(l.Flows)
	var bought []planFlow
	if n := len(flows) - 1; flows[n].Kind == "cupboard" {
		flows, bought = flows[:n], flows[n:]
	}
	keep := planFlowLimit - 1 - len(bought)
	rest := planFlow{Kind: flows[keep].Kind, What: fmt.Sprintf("%d smaller ones together", len(flows)-keep)}
	for _, f := range flows[keep:] {
		rest.Size += f.Size
		if f.Kind != rest.Kind {
			rest.Kind = "other"
		}
	}
	l.Flows = append(append(flows[:keep], rest), bought...)
	return l
}

// The drawing's own units.
const (
	mealWide      = 16.0
	mealTall      = 150.0
	laneGap       = 34.0
	planWide      = 880.0
	planFlowLeft  = 372.0 // labels stand left of it
	planMealLeft  = 640.0
	planLabelTall = 40.0
	planDayTall   = 55.0
	planChars     = 44
)

// drawPlan draws one lane for each thing the plan serves: at the left the sources with
// their days and amounts, at the right a vessel as tall as what is needed, filled by
// what reaches it; flows are as thick as their amount.
func drawPlan(lanes []planLane) template.HTML {
	var drawn []planLane
	var said []string
	for _, l := range lanes {
		drawn = append(drawn, l.drawn())
		said = append(said, fmt.Sprintf("%s: %s, by %s", l.Name, strings.Join(l.Notes, ", "), words.Count(len(l.Flows), "flow", "flows")))
	}
	return drawVessels(drawn, "What the plan brings to which meal. "+strings.Join(said, "; ")+".")
}

// drawVessels draws lanes one under the other, with a title for who does not see them.
func drawVessels(lanes []planLane, title string) template.HTML {
	if len(lanes) == 0 {
		return ""
	}
	var body strings.Builder
	top := 8.0
	for _, l := range lanes {
		top = drawPlanLane(&body, l, top) + laneGap
	}
	return template.HTML(fmt.Sprintf(`<svg class="lanes" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title>`+
		`<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V6" class="hatch"/></pattern></defs>%s</svg>`,
		planWide, top-laneGap+8, html.EscapeString(title), body.String()))
}

func drawPlanLane(b *strings.Builder, l planLane, top float64) (bottom float64) {
	total := 0.0
	for _, f := range l.Flows {
		total += f.Size
	}
	need := math.Max(l.Need, total) // the vessel shows the larger of the two
	if !(need > 0) {
		need = 1
	}
	rows, thick := make([]float64, len(l.Flows)), make([]float64, len(l.Flows))
	height := 0.0
	for i, f := range l.Flows {
		thick[i] = math.Max(1.5, f.Size/need*mealTall)
		label := planLabelTall
		if f.Day != "" {
			label = planDayTall
		}
		rows[i] = math.Max(label, thick[i]+8)
		height += rows[i]
	}
	height = math.Max(height, mealTall+4)
	vesselTop := top + (height-mealTall)/2
	fill := vesselTop + mealTall*(1-total/need)
	y, into := top, fill
	bend := (planFlowLeft + planMealLeft) / 2
	for i, f := range l.Flows {
		mid := y + rows[i]/2
		a, c, t := mid-thick[i]/2, into, thick[i]
		path := fmt.Sprintf("M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fv%.1fC%.1f %.1f %.1f %.1f %.1f %.1fz",
			planFlowLeft, a, bend, a, bend, c, planMealLeft, c, t, bend, c+t, bend, a+t, planFlowLeft, a+t)
		fmt.Fprintf(b, `<path class="flow %s" d="%s"/>`, f.Kind, path)
		if f.Kind == "cupboard" {
			fmt.Fprintf(b, `<path class="flow hatched" fill="url(#hatch)" d="%s"/>`, path)
		}
		at := mid - 3
		if f.Day != "" {
			at -= 8
		}
		fmt.Fprintf(b, `<text class="what" x="%.1f" y="%.1f" text-anchor="end">%s</text>`, planFlowLeft-8, at, html.EscapeString(shorten(f.What, planChars)))
		if f.Day != "" {
			at += 16
			fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f" text-anchor="end">%s</text>`, planFlowLeft-8, at, html.EscapeString(f.Day))
		}
		if f.Much != "" {
			fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f" text-anchor="end">%s</text>`, planFlowLeft-8, at+16, html.EscapeString(f.Much))
		}
		y += rows[i]
		into += f.Size / need * mealTall
	}
	fmt.Fprintf(b, `<rect class="vessel" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, planMealLeft, vesselTop, mealWide, mealTall)
	fmt.Fprintf(b, `<rect class="filled" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, planMealLeft, fill, mealWide, vesselTop+mealTall-fill)
	x, mid := planMealLeft+mealWide+10, vesselTop+mealTall/2-30
	fmt.Fprintf(b, `<text class="meal" x="%.1f" y="%.1f">%s</text>`, x, mid, html.EscapeString(shorten(l.Name, 24)))
	for i, note := range append([]string{l.Dates}, l.Notes...) {
		fmt.Fprintf(b, `<text class="much" x="%.1f" y="%.1f">%s</text>`, x, mid+18*float64(i+1), html.EscapeString(note))
	}
	return top + height
}
