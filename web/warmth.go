package web

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"tidebed/meals"
	"tidebed/quantity"
	"tidebed/season"
	"tidebed/site"
	"tidebed/warmth"
	"tidebed/words"
)

// helpsShown is how many measures stand open on the page; toldKWh the least
// electricity saved that is told.
const (
	helpsShown = 8
	toldKWh    = 10
)

// helped is what would help, singly and together.
type helped struct {
	list              []warmth.Variant
	pay, closed, most *warmth.Combination
}

// warmKept is a building's year, as it is kept: nothing in it changes any more.
type warmKept struct {
	year    *warmth.Year
	size    *warmth.Sizing
	loadKW  []float64 // sorted, the greatest first
	assumed []string
}

// warmthPage is a year of heat, power and damp.
type warmthPage struct {
	frame
	Sentence, Todo string
	Reasons        []string
	Known          bool // false: there is no year to show

	Helps, Lesser *grid
	GivenUp       *grid // what saves by giving crop or fish up
	HelpFaults    []string
	HelpsWorking  string // or why there are none
	HelpsRule     string // how they are ordered
	Halving       string // whether the bill can be halved
	HalvingParts  []string
	Closings      []closingView
	Skin          bool // a measure lies in the covers

	Bars, NarrowBars template.HTML
	BarsNote         string
	Months, Items    *grid
	ItemsNote        string

	Load      template.HTML
	LoadNote  string
	LoadFacts []startFact
	Heaters   *grid

	HardDays []hardDay
	Zones    *grid

	Fuels    []fuelView
	Digester *digesterView

	Power         []startFact
	Uses, Bands   *grid
	Shift         string
	Own           *grid
	PowerCautions []string

	Water, WaterMonths *grid
	Gutter             string

	Gauges       []staffView
	SizeSays     []string
	SizeZones    *grid
	Cut          string
	Lamps        *grid
	SizeNotes    []string
	SizeCautions []string

	Fish []fishHeatView

	Cautions warmthCautions
	Assumed  []string
}

// hardDay is the coldest or the hottest day.
type hardDay struct {
	Title, Lead string
	Panels      []drawnChart
	Hours       *grid
}

// closingView is what is lost by closing a part for the winter.
type closingView struct {
	What  string // to close …
	Takes []string
}

type fuelView struct {
	Name, Say string
	Chart     drawnChart
	Facts     []startFact
	Cautions  []string
}

type digesterView struct {
	Sentence        string
	Notes, Cautions []string
}

// fishHeatView is the fish that a tank could hold, by the heat of a kilogram.
type fishHeatView struct {
	Tank, Working string
	Table         *grid
}

// warmthCautions stand where the hand acts.
type warmthCautions struct{ Burner, Snow, Stress, Power, Biogas string }

// The cautions of the page: one sentence each, with whom to ask.
const (
	cautionBurner = "Never a burner without a flue, not for one night and not to feed plants carbon dioxide: carbon monoxide kills in minutes without a smell; a licensed fitter sets burner and flue, and an alarm hangs by each."
	cautionSnow   = "Snow that no longer melts stays on the roof: before a curtain or a second film saves heat there, ask a structural engineer what the frame bears, and melt or clear it while it is light."
	cautionStress = "Above 30 °C and damp, work in the house makes ill within an hour: do it in the morning, drink, go in twos, and see a doctor at once about a headache, cramps or confusion."
)

// noSkin is told of a site that describes no surface.
const (
	noSkinSentence = "No surface of a zone is written down, so what the building takes in heat cannot be worked out yet."
	noSkinTodo     = "Write the walls, roof and floor of each zone into the site file, under surfaces, with area and u, the way they face and what covers them; then the heaters with their fuel, and the prices."
)

// warmYear is a site's year, as variants of it are run.
func warmYear(s *site.Site) (*warmth.Year, error) {
	_, y, err := season.Warmth(s)
	return y, err
}

// warmed works out the kept year.
func (s *server) warmed(context.Context) (*warmKept, error) {
	b, y, err := season.Warmth(s.cfg.Site)
	if err != nil {
		return nil, err
	}
	y.SpeakFrom(s.cfg.Today)
	size, err := warmth.Size(b, y)
	if err != nil {
		return nil, fmt.Errorf("sizes: %w", err)
	}
	k := &warmKept{year: y, size: size, loadKW: y.LoadCurve(), assumed: slices.Clone(b.Assumed)}
	for _, a := range y.Assumed {
		if !slices.Contains(k.assumed, a) {
			k.assumed = append(k.assumed, a)
		}
	}
	return k, nil
}

// heatedTanks are the names of the tanks that a heater warms.
func heatedTanks(b *site.Site) (out []string) {
	for i := range b.Heaters {
		if t := b.Heaters[i].Tank; t != "" && !slices.Contains(out, t) {
			out = append(out, t)
		}
	}
	return out
}

// showWarmth handles GET /warmth: what does the year cost in heat and power, what
// for, and what would make it less?
func (s *server) showWarmth(w http.ResponseWriter, r *http.Request) {
	page := &warmthPage{frame: s.frame("Warmth", "warmth")}
	if len(s.cfg.Site.Surfaces) == 0 {
		page.Sentence, page.Todo = noSkinSentence, noSkinTodo
		s.render(w, r, http.StatusOK, "warmth.html", page)
		return
	}
	k, soFar, ready, err := s.warm.wait(r.Context(), s.patience, s.warmed)
	switch {
	case r.Context().Err() != nil:
		return
	case !ready:
		s.working(w, r, "warmth", "Working: a year of the building’s warmth, hour by hour.", soFar)
		return
	case errors.Is(err, season.ErrNoSkin):
		page.Sentence, page.Todo = noSkinSentence, noSkinTodo
		s.render(w, r, http.StatusOK, "warmth.html", page)
		return
	case err != nil:
		page.Sentence, page.Todo = "The warmth of this building cannot be worked out from this site file.", words.Capital(err.Error())+"."
		s.render(w, r, http.StatusOK, "warmth.html", page)
		return
	}
	helps := s.helpRows(page, k, r.Context())
	y := k.year
	page.Known = true
	page.Sentence = s.warmthSentence(y, helps)
	page.Reasons = s.warmthReasons(y)
	page.Cautions = s.warmthCautions(y)
	page.Assumed = k.assumed
	s.billRows(page, y)
	s.loadRows(page, k)
	s.hardDays(page, y)
	s.fuelRows(page, y)
	s.powerRows(page, y, helps)
	s.wetRows(page, y)
	s.sizeRows(page, k)
	s.fishRows(page, r.Context())
	s.render(w, r, http.StatusOK, "warmth.html", page)
}

// cash prints an amount of money to the unit, small ones to the cent.
func (s *server) cash(v float64) string {
	if math.Abs(v) < 10 && math.Abs(v) >= 0.005 {
		return strings.Replace(strings.TrimSpace(quantity.FormatMoney(v, s.cfg.Site.Currency)), "-", "−", 1)
	}
	return strings.TrimSpace(whole(v) + " " + s.cfg.Site.Currency)
}

// cashCell is cash, or a dash for nothing.
func (s *server) cashCell(v float64) string {
	if math.Abs(v) < 0.005 {
		return "–"
	}
	return s.cash(v)
}

// whole prints a number to the unit.
func whole(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return noValue
	}
	return grouped(math.Round(v))
}

// temp prints a temperature in the reader's system.
func (s *server) temp(v float64) string {
	return strings.Replace(s.at(v, quantity.Temperature), "-", "−", 1)
}

// wet prints litres of water in the reader's system.
func (s *server) wet(litres float64) string {
	const litresM3 = 1000
	return s.at(litres/litresM3, quantity.Volume)
}

// kW prints a power, small ones in watts.
func kW(v float64) string {
	const watts = 1000
	if math.Abs(v) >= 0.0005 && math.Abs(v) < 0.95 {
		return whole(v*watts) + " W"
	}
	return short(v) + " kW"
}

// short prints a number to one decimal below ten; what rounds to nothing has no sign.
func short(v float64) string {
	if math.Abs(v) < 0.05 {
		return "0"
	}
	return strings.Replace(oneDecimal(v), "-", "−", 1)
}

// warmthSentence answers: what does the year cost, what for, and what is to be done
// first? helps is nil while it is being worked out.
func (s *server) warmthSentence(y *warmth.Year, helps []warmth.Variant) string {
	return y.Answer(helps, s.cash, whole)
}

// warmthReasons are at most three: the day to order fuel, hours that heaters miss,
// the coldest and the hottest air.
func (s *server) warmthReasons(y *warmth.Year) (out []string) {
	var order *warmth.FuelUse
	for i := range y.Fuels {
		u := &y.Fuels[i]
		if u.HasStore && (u.OrderBy != nil || u.Late) && (order == nil || u.Late && !order.Late || u.OrderBy != nil && order.OrderBy != nil && u.Late == order.Late && u.OrderBy.Before(order.OrderBy.Time)) {
			order = u
		}
	}
	if order != nil {
		out = append(out, order.Say)
	}
	var short, coldest, hottest *warmth.YearZone
	for i := range y.Zones {
		z := &y.Zones[i]
		if z.ShortH > 0 && (short == nil || z.ShortH > short.ShortH) {
			short = z
		}
		if coldest == nil || z.LeastC < coldest.LeastC {
			coldest = z
		}
		if hottest == nil || z.GreatestC > hottest.GreatestC {
			hottest = z
		}
	}
	switch {
	case short != nil:
		out = append(out, fmt.Sprintf("In %s of the year the heaters of %s do not reach its set point.", words.Count(int(math.Round(short.ShortH)), "hour", "hours"), short.Name))
	case len(y.Heaters) > 0:
		out = append(out, "The heaters hold every zone at its set point in all hours of a typical year.")
	}
	if coldest != nil {
		least := math.Inf(1)
		for _, v := range y.Coldest.OutC {
			least = math.Min(least, v)
		}
		out = append(out, fmt.Sprintf("The coldest air inside is %s in %s, with %s outside in the year’s coldest hour, on %s; the hottest is %s in %s.", s.temp(coldest.LeastC), coldest.Name, s.temp(least), day(y.Coldest.Date), s.temp(hottest.GreatestC), hottest.Name))
	}
	return out[:min(3, len(out))]
}

func (s *server) warmthCautions(y *warmth.Year) warmthCautions {
	c := warmthCautions{Burner: cautionBurner, Snow: cautionSnow, Power: cautionPower}
	for i := range y.Zones {
		if y.Zones[i].GreatestC > 30 {
			c.Stress = cautionStress
		}
	}
	if y.Digester != nil {
		c.Biogas = cautionBiogas
	}
	return c
}

// helpRows are the measures by what they save, or how long they have been worked on.
func (s *server) helpRows(page *warmthPage, k *warmKept, ctx context.Context) []warmth.Variant {
	all, soFar, ready, err := s.helps.wait(ctx, s.glance, func(ctx context.Context) (all helped, err error) {
		if all.list, err = warmth.Variants(ctx, warmYear, s.cfg.Site); err == nil {
			err = meals.TellClosings(ctx, nil, s.cfg.Site, s.cfg.Today, all.list)
		}
		if err == nil {
			all.pay, all.closed, all.most, err = warmth.Together(ctx, warmYear, s.cfg.Site, all.list)
		}
		return all, err
	})
	switch {
	case !ready:
		page.HelpsWorking = beingWorked("What would help most is", soFar)
		return nil
	case err != nil:
		page.HelpsWorking = "What would help cannot be worked out: " + err.Error() + "."
		return nil
	}
	heads := []string{"*what to do", "saves a year", "heat saved", "carbon dioxide saved", "its price, roughly", "paid back in", "*mind"}
	page.Helps, page.Lesser, page.GivenUp = newGrid("What would help most", heads...), newGrid("What helps less", heads...), newGrid("What saves by giving something up", heads...)
	list := all.list
	if all.pay != nil {
		page.Halving = all.pay.Say(all.closed, all.most)
		page.HalvingParts = all.pay.Measures
	}
	page.HelpsRule = warmth.RuleOf(list)
	for i := range list {
		v := &list[i]
		if v.Fault != "" {
			page.HelpFaults = append(page.HelpFaults, stripFull(v.What)+": "+v.Fault+".")
			continue
		}
		saved := whole(v.SavedKWh) + " kWh"
		if math.Abs(v.SavedPowerKWh) >= toldKWh {
			saved += "\n" + whole(v.SavedPowerKWh) + " kWh of bought power"
		}
		co2 := whole(v.SavedCO2Kg) + " kg"
		if math.Abs(v.SavedWoodKg) >= 0.5 {
			co2 += "\nand of wood " + whole(v.SavedWoodKg) + " kg"
		}
		price := "ask for an offer"
		switch {
		case v.CostKnown && v.CostHigh == 0:
			price = "nothing to buy"
		case v.CostKnown:
			price = whole(v.CostLow) + " to " + s.cash(v.CostHigh)
		}
		back := "–"
		if v.CostKnown && v.CostHigh == 0 && v.SavedMoney > 0 {
			back = "at once"
		}
		if v.PaybackLowY != nil && v.PaybackHighY != nil && v.CostHigh > 0 && v.SavedMoney > 0 {
			back = years(*v.PaybackLowY, *v.PaybackHighY)
		}
		mind := v.Caution
		if len(v.Notes) > 0 {
			mind += "\n" + strings.Join(v.Notes, " ")
		}
		if len(v.Loses) > 0 {
			what, _, _ := strings.Cut(stripFull(v.What), ":")
			page.Closings = append(page.Closings, closingView{words.Lower(what), v.Loses})
			mind += " What fish, beds and table lose by it stands below."
		}
		to := page.Lesser
		switch worth := v.SavedMoney > 0.01*k.year.Money || k.year.Money <= 0 && v.SavedKWh > 0; {
		case worth && v.GivesUp():
			to = page.GivenUp
		case worth && len(page.Helps.Rows) < helpsShown:
			to = page.Helps
		}
		to.add(stripFull(v.What), s.cash(v.SavedMoney), saved, co2, price, back, mind)
		if v.Key == warmth.VariantCurtain || v.Key == warmth.VariantSkin {
			page.Skin = true
		}
	}
	return list
}

// beingWorked tells of what is not ready.
func beingWorked(what string, soFar time.Duration) string {
	return fmt.Sprintf("%s being worked out, %s so far.", what, words.Count(int(soFar.Seconds()), "second", "seconds"))
}

// years prints a span of years; a lifetime and more is that.
func years(low, high float64) string {
	const lifetime = 50
	switch a, b := oneDecimal(low), oneDecimal(high); {
	case low > lifetime:
		return "more than 50 years"
	case high > lifetime:
		return a + " to more than 50 years"
	case a == b:
		return a + " years"
	default:
		return a + " to " + b + " years"
	}
}

// billRows are the bill by month, drawn and as a table, and by item.
func (s *server) billRows(page *warmthPage, y *warmth.Year) {
	a, allHeat := y.Amounts(), 0.0
	g := newGrid("The bill by month", "month", "outside", "heat, kWh", "power used, kWh", "own sun kept, kWh", "power bought, kWh", strings.TrimSuffix("cost of heat, "+s.cfg.Site.Currency, ", "), strings.TrimSuffix("cost of power, "+s.cfg.Site.Currency, ", "), "together")
	for i := range y.Months {
		m := &y.Months[i]
		name := time.Month(m.Month).String()
		if m.Month == 1 || i == 0 {
			name += fmt.Sprintf(" %d", m.Year)
		}
		if m.Days < 28 {
			name += "\n" + words.Count(m.Days, "day", "days")
		}
		allHeat += a.Heats[i]
		g.add(name, s.temp(m.OutC), whole(m.HeatKWh), whole(m.ElectricKWh), whole(m.PVKWh-m.ExportKWh), whole(m.GridKWh), whole(a.Heats[i]), whole(a.Months[i]-a.Heats[i]), s.cashWhole(a.Months[i]))
	}
	g.add("The year", s.temp(y.MeanOutC), whole(y.HeatKWh), whole(y.ElectricKWh), whole(y.Power.PVKWh-y.Power.ExportKWh), whole(y.Power.GridKWh), whole(allHeat), whole(a.Total-allHeat), s.cashWhole(a.Total))
	g.last()
	page.Months = g
	page.Bars, page.NarrowBars = s.billBars(y, false), s.billBars(y, true)
	page.BarsNote = "Each bar is a month, from the foot up in the order of the numbers; where a part is too thin for its number its hatch tells it."
	if first, last := y.Months, len(y.Months)-1; last > 0 && (first[0].Days < 28 || first[last].Days < 28) {
		page.BarsNote += " The year runs from " + longDay(y.From) + " to " + longDay(y.To) + ": its first and last month are parts of one."
	}
	s.itemRows(page, y)
}

// cashWhole is money to the unit, however small.
func (s *server) cashWhole(v float64) string {
	return strings.TrimSpace(whole(v) + " " + s.cfg.Site.Currency)
}

// itemRows are the bill by what it goes into, the dearest first, that sum to its total;
// below what is warmed stands what its heat leaves by.
func (s *server) itemRows(page *warmthPage, y *warmth.Year) {
	const little = 0.5
	a := y.Amounts()
	g := newGrid("The bill by item", "*for", "by", "energy", "carbon dioxide", "share", "of it", "cost")
	row := func(name, by string, kWh, co2Kg, money float64, of, cost string) {
		share := "–"
		if y.Bill.Total > 0 {
			share = percent(money / y.Bill.Total)
		}
		g.add(name, by, whole(kWh)+" kWh", whole(co2Kg)+" kg", share, of, cost)
	}
	var rest warmth.Drain
	restCost := 0.0
	drains := y.Drains()
	for i := range drains {
		d, cost := &drains[i], 0.0
		for _, at := range d.Items {
			cost += a.Items[at]
		}
		if math.Abs(d.Money) < little && y.Money > 0 {
			rest.KWh, rest.CO2Kg, rest.Money, restCost = rest.KWh+d.KWh, rest.CO2Kg+d.CO2Kg, rest.Money+d.Money, restCost+cost
			continue
		}
		by := "electricity"
		if d.Heat {
			by = y.Bill.Items[d.Items[0]].What
			for _, at := range d.Items {
				if y.Bill.Items[at].What != by {
					by = "its heaters"
				}
			}
		}
		row(words.Capital(d.Name), by, d.KWh, d.CO2Kg, d.Money, "", s.cashWhole(cost))
		if !d.Heat {
			continue
		}
		parts := slices.Clone(d.Items)
		slices.SortStableFunc(parts, func(i, k int) int {
			return cmp.Or(cmp.Compare(y.Bill.Items[k].Money, y.Bill.Items[i].Money), cmp.Compare(y.Bill.Items[k].KWh, y.Bill.Items[i].KWh))
		})
		for _, at := range parts {
			if x := &y.Bill.Items[at]; math.Abs(x.Money) >= little || a.Items[at] != 0 || y.Money <= 0 {
				row(words.Capital(d.Name)+", "+x.Cause, x.What, x.KWh, x.CO2Kg, x.Money, s.cashWhole(a.Items[at]), "")
			}
		}
	}
	if rest.KWh > 0 {
		row("What is less than half a unit each", "–", rest.KWh, rest.CO2Kg, rest.Money, "", s.cashWhole(restCost))
	}
	g.add("All", "", "", whole(y.CO2Kg+y.CO2WoodKg)+" kg", "", "", s.cashWhole(a.Total))
	g.last()
	page.Items = g
	page.ItemsNote = "What is warmed stands with its sum, and below it what its heat leaves by; the sums are those of the chart. Amounts are rounded once and so that they sum to the total. Heat is put to where it goes: what leaves a zone through skin, gaps, vents and ground, what leaves warm water as vapour and into the air of its room."
	if y.Bill.HeatPerKWh > 0 {
		page.ItemsNote += fmt.Sprintf(" A kWh of heat costs %s in the house", strings.TrimSpace(quantity.FormatMoney(y.Bill.HeatPerKWh, s.cfg.Site.Currency)))
		if y.Bill.GridPerKWh > 0 {
			page.ItemsNote += fmt.Sprintf(", one of bought power %s", strings.TrimSpace(quantity.FormatMoney(y.Bill.GridPerKWh, s.cfg.Site.Currency)))
		}
		page.ItemsNote += "."
	}
	if y.CO2WoodKg > 0 {
		page.ItemsNote += fmt.Sprintf(" Of the carbon dioxide %s kg grew lately, as wood; %s kg are fossil or the grid’s.", whole(y.CO2WoodKg), whole(y.CO2Kg))
	}
}
