package warmth

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tidebed/site"
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
// PaysWithinY and give nothing up as one building, then the same with the one zone or
// loop closed for the winter that saves most. A second skin and a curtain on one
// zone, and a heat pump and its tank's foam, thus share what there is to save.
//
// pay has no measures where none pays; closed is nil where nothing can be closed.
// Lamps in cheap hours count whole in pay; in closed their winter saving is left out
// of those whose zone is shut, which errs low. Errors: those of run, of copying
// the site and of ctx.
func Together(ctx context.Context, run func(*site.Site) (*Year, error), s *site.Site, list []Variant) (pay, closed *Combination, err error) {
	base, err := run(s)
	if err != nil || base == nil {
		return nil, nil, err
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
		return nil, nil, fmt.Errorf("measures together: %w", err)
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
		return nil, nil, fmt.Errorf("measures together: %w", err)
	}
	sum(pay, func(*YearMonth) bool { return true }, y)
	pay.SavedMoney += lamps
	share(pay)
	if best == nil || ctx.Err() != nil {
		return pay, nil, ctx.Err()
	}
	closed = &Combination{Measures: append(slices.Clone(pay.Measures), strings.TrimSuffix(best.What, ".")), CostLow: pay.CostLow, CostHigh: pay.CostHigh}
	sum(closed, notWinter, y)
	var winterDays, days float64
	for i := range base.Months {
		days += float64(base.Months[i].Days)
		if inWinter(&base.Months[i]) {
			winterDays += float64(base.Months[i].Days)
		}
	}
	find(best).alter(altered)
	shut, err := run(altered)
	if err != nil {
		return nil, nil, fmt.Errorf("measures together, closed for the winter: %w", err)
	}
	sum(closed, inWinter, shut)
	closed.SavedMoney += lamps * (1 - winterDays/days)
	share(closed)
	return pay, closed, nil
}

// Say answers whether the bill can be halved. closed may be nil.
func (pay *Combination) Say(closed *Combination) string {
	percent := func(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }
	text := fmt.Sprintf("Nothing that was tried pays for itself within %d years without giving crop or fish up.", PaysWithinY)
	if len(pay.Measures) > 0 {
		text = fmt.Sprintf("All that pays for itself within %d years and gives nothing up, done together, takes %s off the bill.", PaysWithinY, percent(pay.SavedShare))
		if len(pay.Measures) == 1 {
			text = fmt.Sprintf("The one measure that pays for itself within %d years and gives nothing up takes %s off the bill.", PaysWithinY, percent(pay.SavedShare))
		}
	}
	const half = 0.5
	switch {
	case pay.SavedShare >= half:
		return text + " So it can be halved."
	case closed == nil:
		return text + " Halving it is not possible by these."
	}
	last := closed.Measures[len(closed.Measures)-1]
	last = strings.ToLower(last[:1]) + last[1:]
	// The sentence is the measure's own; its colon would stand in the middle of ours.
	if before, _, found := strings.Cut(last, ":"); found {
		last = before
	}
	if closed.SavedShare >= half {
		return text + fmt.Sprintf(" It can be halved only by giving something up: %s as well, and it is %s less.", last, percent(closed.SavedShare))
	}
	return text + fmt.Sprintf(" Even if you %s as well it is only %s less: halving it is not possible by these.", last, percent(closed.SavedShare))
}
