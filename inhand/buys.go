package inhand

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tidebed/site"
	"tidebed/warmth"
)

// Measure is what would buy time.
type Measure struct {
	Name     string   `json:"name"`
	Hours    *float64 `json:"hours"` // until fish suffer with it; nil: not within LookHours
	Text     string   `json:"text"`
	WonHours float64  `json:"wonHours"` // LookHours where Hours is nil
	Won      string   `json:"won"`      // in words
	Note     string   `json:"note,omitempty"`
}

const (
	// usualGHPerW is the oxygen of a small air pump with a fine stone, g/h for each
	// watt, by the label. Common practice, no source.
	usualGHPerW = 1.5
	// colderByC is how much colder water is tried.
	colderByC = 2.0
	// batteryText: 240 Wh, of which a lead battery gives 80 to 100 %. Common
	// practice, no source.
	batteryText = "How long air on a battery of its own runs is that battery's, whose size the site file does not hold: a full one of 12 V and 20 Ah holds 18 W for 10 to 13 h and 5 W for about 40 h (common practice). Try yours."
)

// batteryNote tells how long battery air lasts, and what the building's own battery
// is to it.
func batteryNote(s *site.Site) string {
	cut, err := warmth.PowerCut(s)
	if err != nil || !(cut.HaveHours > 0) || math.IsInf(cut.HaveHours, 0) {
		return batteryText
	}
	return batteryText + fmt.Sprintf(" The battery of the building's power is another: its %.3g kWh, full, carry all air and pumps for %.0f h, where it is wired to go on when the mains fail. The times here count on it for nothing.", cut.HaveKWh, math.Floor(cut.HaveHours))
}

// candidateW are the battery air pumps that are tried.
var candidateW = []float64{5, 18}

// perWatt is the oxygen by the label, g/h for each watt, of a loop's own air:
// battery stones before the others.
func perWatt(l *site.Loop) (gHPerW float64, from string) {
	for _, backup := range []bool{true, false} {
		g, w := 0.0, 0.0
		for _, a := range l.Aerators {
			if a.Backup == backup && a.PowerW > 0 && a.SOTRKgS > 0 {
				g, w = g+a.SOTRKgS*3.6e6, w+a.PowerW
			}
		}
		if w > 0 {
			return g / w, "as the building's own air pumps give"
		}
	}
	return usualGHPerW, "common practice"
}

// buys tries what could help the first tank in its case, each worked out anew.
func buys(s *site.Site, stock []Stock, by change, first *loop, f First, m Moment) ([]Measure, error) {
	cell := first.circuit.CellOf[f.Tank]
	l := first.circuit.Loop
	gHPerW, from := perWatt(l)
	// Where oxygen fails first a measure is judged by oxygen, and ammonia told.
	byAmmonia := true
	without, _, err := first.fail(f.Case, m, LookHours)
	if err != nil {
		return nil, err
	}
	for v, h := range without {
		if v.cell == cell && (v.level == Suffer || v.level == Deaths) && kept(h) <= f.Hours {
			byAmmonia = false
		}
	}
	var all []Measure
	try := func(name, note string, k Case, with change) error {
		o, err := newLoop(s, l, stock, with)
		if err != nil {
			return err
		}
		when, _, err := o.fail(k, m, LookHours)
		if err != nil {
			return err
		}
		soon, ammonia := math.Inf(1), math.Inf(1)
		for v, h := range when {
			switch {
			case v.cell != cell:
			case v.level == Suffer, v.level == Deaths:
				soon = min(soon, h)
			case v.level == AmmoniaStop:
				ammonia = h
			}
		}
		x := Measure{Name: name, Note: note, WonHours: LookHours, Won: "carries it through"}
		if byAmmonia {
			soon = min(soon, ammonia)
		}
		x.Text = TextOf(soon)
		if ammonia < soon {
			x.Text += "; ammonia harms after " + TextOf(ammonia)
		}
		if !math.IsInf(soon, 1) {
			down := kept(soon)
			x.Hours = &down
			x.WonHours = math.Round(max(0, down-f.Hours)*1e4) / 1e4
			x.Won = "nothing worth telling"
			if x.WonHours > 4.9/60 {
				x.Won = Duration(x.WonHours) + " more"
			}
		}
		all = append(all, x)
		return nil
	}
	if _, battery := first.circuit.AirGH(cell); battery > 0 && f.Case.Air && !f.Case.Backup {
		k := f.Case
		k.Backup = true
		if err := try("the battery air that stands there", "charged and tried each month", k, by); err != nil {
			return nil, err
		}
	}
	for _, w := range candidateW {
		with := by
		with.airGH, with.airTo = w*gHPerW, f.Tank
		note := fmt.Sprintf("reckoned with %.0f g of oxygen an hour by the label, %.1f g/h for each watt (%s)", with.airGH, gHPerW, from)
		if err := try(fmt.Sprintf("a battery air pump of %.0f W in %s", w, f.Tank), note, f.Case, with); err != nil {
			return nil, err
		}
	}
	half := by
	half.share /= 2
	if err := try("half the stock", "half of the fish eaten, sold or moved before it happens", f.Case, half); err != nil {
		return nil, err
	}
	fast := by
	fast.noFeed = true
	if err := try("no feed since the evening before", "what a storm warning is good for", f.Case, fast); err != nil {
		return nil, err
	}
	colder := by
	colder.colderC = colderByC
	if err := try(fmt.Sprintf("water %.0f °C colder", colderByC), "held so for days, not cooled in a hurry; feed as before", f.Case, colder); err != nil {
		return nil, err
	}
	stirred := by
	stirred.stirred = true
	if err := try("the surface stirred by hand without a stop", "a surface stirred as one over air stones; bucket and paddle tire", f.Case, stirred); err != nil {
		return nil, err
	}
	slices.SortStableFunc(all, func(a, b Measure) int { return cmp.Compare(b.WonHours, a.WonHours) })
	return all, nil
}
