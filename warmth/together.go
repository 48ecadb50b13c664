package warmth

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/site"
	"tidebed/words"
)

// PaysWithinY is how soon a measure must pay for itself at its high price, in years,
// to be counted among those that pay. Common practice, no source.
const PaysWithinY = 10

// Combination is several measures at once, run as one changed building: their sum
// taken singly is always too much.
type Combination struct {
	Measures   []string `json:"measures"`   // what is done, as in the variants' What
	SavedMoney float64  `json:"savedMoney"` // a year
	SavedKWh   float64  `json:"savedKWh"`   // heat
	SavedShare float64  `json:"savedShare"` // of the year's money; of its heat where nothing has a price
	CostLow    float64  `json:"costLow"`
	CostHigh   float64  `json:"costHigh"`
	Dimmed     []string `json:"dimmed,omitempty"` // zones that a second film takes light from
	Cooler     []string `json:"cooler,omitempty"` // of the measures, those that keep air or water cooler
	Loses      []string `json:"loses,omitempty"`  // what closing for the winter takes, as far as the site file tells
}

// GivesUp reports whether the measure saves by crop, growth or fish that is given up.
func (v *Variant) GivesUp() bool {
	switch v.Key {
	case VariantZoneSet, VariantTankSet, VariantCloseZone, VariantCloseLoop:
		return true
	}
	return false
}

// pays reports whether a measure gives nothing up and pays for itself in time.
func (v *Variant) pays() bool {
	return v.Fault == "" && !v.GivesUp() && v.SavedMoney > 0 && v.PaybackHighY != nil && *v.PaybackHighY <= PaysWithinY
}

// Together runs all measures of a list of Variants that pay for themselves within
// PaysWithinY and give neither crop nor fish up as one building, then the same with the
// one zone or loop closed for the winter that saves most, then that with all air and
// water kept cooler as well. A second skin and a curtain on one zone, and a heat pump
// and its tank's foam, thus share what there is to save.
//
// pay has no measures where none pays; closed is nil where nothing can be closed, most
// where there is nothing to keep cooler either.
// Lamps in cheap hours count whole in pay; in closed their winter saving is left out
// of those whose zone is shut, which errs low. Errors: those of run, of copying
// the site and of ctx.
func Together(ctx context.Context, run func(*site.Site) (*Year, error), s *site.Site, list []Variant) (pay, closed, most *Combination, err error) {
	base, err := run(s)
	if err != nil || base == nil {
		return nil, nil, nil, err
	}
	all := changesOf(s, base)
	find := func(v *Variant) *change {
		i := slices.IndexFunc(all, func(c change) bool { return c.Key == v.Key && c.Part == v.Part && c.What == v.What })
		if i < 0 {
			return nil
		}
		return &all[i]
	}
	pay = new(Combination)
	altered, err := clone(s)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("measures together: %w", err)
	}
	var lamps float64
	var best *Variant
	for i := range list {
		v := &list[i]
		c := find(v)
		if c == nil {
			continue
		}
		if (v.Key == VariantCloseZone || v.Key == VariantCloseLoop) && v.Fault == "" && v.SavedMoney > 0 && (best == nil || v.SavedMoney > best.SavedMoney) {
			best = v
		}
		if !v.pays() {
			continue
		}
		pay.Measures = append(pay.Measures, strings.TrimSuffix(v.What, "."))
		if v.Key == VariantSkin {
			pay.Dimmed = append(pay.Dimmed, v.Part)
		}
		pay.CostLow, pay.CostHigh = pay.CostLow+v.CostLow, pay.CostHigh+v.CostHigh
		if c.alter == nil {
			lamps += v.SavedMoney
			continue
		}
		c.alter(altered)
	}
	sum := func(of *Combination, months func(*YearMonth) bool, y *Year) {
		var v Variant
		v.compare(base, y, months)
		of.SavedMoney, of.SavedKWh = of.SavedMoney+v.SavedMoney, of.SavedKWh+v.SavedKWh
	}
	share := func(of *Combination) {
		switch {
		case base.Money > 0:
			of.SavedShare = of.SavedMoney / base.Money
		case base.HeatKWh > 0:
			of.SavedShare = of.SavedKWh / base.HeatKWh
		}
	}
	inWinter := func(m *YearMonth) bool { return winter(m.Month, s.Place.LatitudeDeg) }
	notWinter := func(m *YearMonth) bool { return !inWinter(m) }
	y, err := run(altered)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("measures together: %w", err)
	}
	sum(pay, func(*YearMonth) bool { return true }, y)
	pay.SavedMoney += lamps
	share(pay)
	if best == nil || ctx.Err() != nil {
		return pay, nil, nil, ctx.Err()
	}
	closed = &Combination{Measures: append(slices.Clone(pay.Measures), strings.TrimSuffix(best.What, ".")), CostLow: pay.CostLow, CostHigh: pay.CostHigh, Dimmed: pay.Dimmed, Loses: best.Loses}
	var winterDays, days float64
	for i := range base.Months {
		days += float64(base.Months[i].Days)
		if inWinter(&base.Months[i]) {
			winterDays += float64(base.Months[i].Days)
		}
	}
	// The winter is that of the closed building, the other months those of the open one.
	year := func(of *Combination, open *Year) error {
		sum(of, notWinter, open)
		find(best).alter(altered)
		shut, err := run(altered)
		if err != nil {
			return fmt.Errorf("measures together, closed for the winter: %w", err)
		}
		sum(of, inWinter, shut)
		of.SavedMoney += lamps * (1 - winterDays/days)
		share(of)
		return nil
	}
	cooler, err := clone(altered)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("measures together: %w", err)
	}
	if err := year(closed, y); err != nil {
		return nil, nil, nil, err
	}
	most = &Combination{Measures: slices.Clone(closed.Measures), CostLow: closed.CostLow, CostHigh: closed.CostHigh, Dimmed: closed.Dimmed, Loses: closed.Loses}
	altered = cooler
	for i := range list {
		if v := &list[i]; (v.Key == VariantZoneSet || v.Key == VariantTankSet) && v.Fault == "" && v.SavedMoney > 0 {
			if c := find(v); c != nil {
				c.alter(altered)
				most.Measures = append(most.Measures, strings.TrimSuffix(v.What, "."))
				most.Cooler = append(most.Cooler, strings.TrimSuffix(v.What, "."))
			}
		}
	}
	if len(most.Measures) == len(closed.Measures) || ctx.Err() != nil {
		return pay, closed, nil, ctx.Err()
	}
	if y, err = run(altered); err != nil {
		return nil, nil, nil, fmt.Errorf("measures together, cooler: %w", err)
	}
	if err := year(most, y); err != nil {
		return nil, nil, nil, err
	}
	return pay, closed, most, nil
}

// Say answers whether the bill can be halved, and by what. closed and most may be nil.
func (pay *Combination) Say(closed, most *Combination) string {
	percent := func(x float64) string { return fmt.Sprintf("%.0f %%", math.Floor(100*x+1e-9)) }
	text := fmt.Sprintf("Nothing that was tried pays for itself within %d years without giving crop or fish up.", PaysWithinY)
	if len(pay.Measures) > 0 {
		text = fmt.Sprintf("All that pays for itself within %d years and gives neither crop nor fish up, done together, takes %s off the bill", PaysWithinY, percent(pay.SavedShare))
		if len(pay.Measures) == 1 {
			text = fmt.Sprintf("The one measure that pays for itself within %d years and gives neither crop nor fish up takes %s off the bill", PaysWithinY, percent(pay.SavedShare))
		}
		if len(pay.Dimmed) > 0 {
			text += fmt.Sprintf("; the second film in it takes about an eighth of the light of %s, so crops there grow somewhat less", words.List(pay.Dimmed))
		}
		text += "."
	}
	const half = 0.5
	// The sentence is the measure's own; its colon would stand in the middle of ours.
	told := func(measure string) string {
		before, _, _ := strings.Cut(measure, ":")
		return words.Lower(before)
	}
	switch {
	case pay.SavedShare >= half:
		if len(pay.Dimmed) > 0 {
			return text + " So it can be halved, for that little."
		}
		return text + " So it can be halved, and nothing is given up for it."
	case closed == nil:
		return text + " Halving the bill is not possible by what was tried."
	}
	text += fmt.Sprintf(" %s as well, and %s is off", words.Capital(told(closed.Measures[len(pay.Measures)])), percent(closed.SavedShare))
	switch {
	case closed.SavedShare >= half:
		return text + ": the bill is halved by giving that up."
	case most == nil:
		return text + ": halving the bill is not possible by what was tried."
	}
	var cooler []string
	for _, m := range most.Cooler {
		cooler = append(cooler, told(m))
	}
	text += fmt.Sprintf(", not yet half. If besides you %s the year round, %s is off", words.List(cooler), percent(most.SavedShare))
	if most.SavedShare >= half {
		return text + ": the bill is halved only by closing and by keeping cooler, both."
	}
	return text + ": halving the bill is not possible by what was tried."
}
