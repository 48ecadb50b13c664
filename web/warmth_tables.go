package web

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tidebed/quantity"
	"tidebed/warmth"
	"tidebed/words"
)

// grid is a table that becomes a list on a phone.
type grid struct {
	Label string // for who cannot see it
	Heads []gridHead
	Rows  []gridRow
}

type gridHead struct {
	Word  string
	Broad bool
}

type gridRow struct {
	Cells []gridCell
	Sum   bool // all, or what there is now
}

type gridCell struct{ Head, Text, Small string }

// newGrid begins a table; a head that begins with a star has a broad column.
func newGrid(label string, heads ...string) *grid {
	g := &grid{Label: label}
	for _, h := range heads {
		word, broad := strings.CutPrefix(h, "*")
		g.Heads = append(g.Heads, gridHead{word, broad})
	}
	return g
}

// add adds a row; what follows a line break in a cell stands small below it.
func (g *grid) add(cells ...string) {
	row := gridRow{}
	for i, c := range cells {
		text, small, _ := strings.Cut(c, "\n")
		row.Cells = append(row.Cells, gridCell{g.Heads[i].Word, text, small})
	}
	g.Rows = append(g.Rows, row)
}

// last makes the last row one of sums.
func (g *grid) last() { g.Rows[len(g.Rows)-1].Sum = true }

// loadRows are the year as a load curve and what each heater gives.
func (s *server) loadRows(page *warmthPage, k *warmKept) {
	y := k.year
	if len(y.Heaters) == 0 {
		return
	}
	powerKW := 0.0
	a := y.Amounts()
	g := newGrid("What each heater gives", "heater", "warms", "power", "fuel", "heat", "burnt or drawn", "cost", "hours at full power")
	for i := range y.Heaters {
		h, power := &y.Heaters[i], "–"
		if i < len(s.cfg.Site.Heaters) {
			const watts = 1000
			powerKW += s.cfg.Site.Heaters[i].PowerW / watts
			power = kW(s.cfg.Site.Heaters[i].PowerW / watts)
		}
		g.add(words.Capital(h.Name), h.In, power, strings.ReplaceAll(h.Fuel, "-", " "), whole(h.HeatKWh)+" kWh", whole(h.Units)+" "+h.Unit, s.paidCell(h.Money, a.Heater(h)), whole(h.FullH))
	}
	page.Heaters = g
	page.Load = loadCurve(k.loadKW, powerKW, y.PeakHeatKW)
	half, some := 0, 0
	for _, v := range k.loadKW {
		if v > 0 {
			some++
		}
		if v > y.PeakHeatKW/2 {
			half++
		}
	}
	page.LoadNote = "Every hour of the year, the one that takes most heat first."
	page.LoadFacts = []startFact{
		{Name: "Greatest hour", Text: s.peakText(y)},
		{Name: "Power of all heaters", Text: kW(powerKW)},
		{Name: "Hours with any heat", Text: grouped(float64(some))},
		{Name: "Hours over half of the greatest", Text: grouped(float64(half))},
		{Name: "Heat of the year", Text: fmt.Sprintf("%s kWh, at %s outside in the mean weighted by heat; the year’s plain mean is %s", whole(y.HeatKWh), s.temp(y.HeatedAtOutC), s.temp(y.MeanOutC))},
	}
}

// paidCell is an amount of the bill as it is rounded, or a dash for nothing.
func (s *server) paidCell(money, amount float64) string {
	if math.Abs(money) < 0.005 {
		return "–"
	}
	return s.cashWhole(amount)
}

// quickK is a rise of the air in an hour that tells of a night's set-back that ends.
const quickK = 1.5

// peakText tells the greatest hour of the heat, and why it is above the sizes.
func (s *server) peakText(y *warmth.Year) string {
	text, p := kW(y.PeakHeatKW), &y.Peak
	if p.Date.IsZero() {
		return text
	}
	var parts, raised []string
	for i := range y.Zones {
		if i < len(p.ZoneKW) && p.ZoneKW[i] >= 0.05 {
			parts = append(parts, y.Zones[i].Name+" "+kW(p.ZoneKW[i]))
			if p.RiseK[i] >= quickK && i < len(s.cfg.Site.Zones) && s.cfg.Site.Zones[i].DayC > s.cfg.Site.Zones[i].NightC {
				raised = append(raised, fmt.Sprintf("the air of %s rises by %s in the hour, as its cooler night ends", y.Zones[i].Name, s.at(p.RiseK[i], quantity.TempDifference)))
			}
		}
	}
	if p.TankKW >= 0.05 {
		parts = append(parts, "tanks "+kW(p.TankKW))
	}
	text += fmt.Sprintf(", of the whole building (%s), on %s from %s, at %s outside", strings.Join(parts, ", "), day(p.Date), clock(float64(p.Hour)), s.temp(p.OutC))
	if len(raised) > 0 {
		text += ": there " + words.List(raised) + ". The sizes below hold each zone by itself in the cold and count no such rise"
	}
	return text
}

// hardDays are the coldest and the hottest day, hour by hour, and the year's air.
func (s *server) hardDays(page *warmthPage, y *warmth.Year) {
	for i, d := range []*warmth.KeptDay{&y.Coldest, &y.Hottest} {
		v := hardDay{Title: [2]string{"The coldest day, ", "The hottest day, "}[i] + longDay(d.Date)}
		low, high := math.Inf(1), math.Inf(-1)
		for _, t := range d.OutC {
			low, high = math.Min(low, t), math.Max(high, t)
		}
		v.Lead = fmt.Sprintf("Outside %s to %s.", s.temp(low), s.temp(high))
		air := hourPanel{title: "Air, " + longDay(d.Date), unit: "air, " + s.tempWord(), fit: true}
		heat := hourPanel{title: "Heat, " + longDay(d.Date), unit: "heat, kW"}
		sun := hourPanel{title: "Sun through the covers, " + longDay(d.Date), unit: "sun through the covers, kW"}
		vents := hourPanel{title: "Vents, " + longDay(d.Date), unit: "air through the vents, m³/s"}
		air.add("outside", s.degrees(d.OutC))
		heat.add("tanks", d.TankKW)
		for z := range y.Zones {
			name := y.Zones[z].Name
			air.add(name, s.degrees(d.AirC[z]))
			heat.add(name, d.HeatKW[z])
			sun.add(name, d.SunKW[z])
			vents.add(name, d.VentM3s[z])
		}
		for _, p := range []*hourPanel{&air, &heat, &sun, &vents} {
			if svg, note := p.svg(); svg != "" {
				v.Panels = append(v.Panels, drawnChart{Title: words.Capital(strings.TrimSuffix(strings.TrimSuffix(strings.TrimSuffix(p.unit, ", kW"), ", m³/s"), ", "+s.tempWord())), SVG: svg, Note: note})
			}
		}
		g := newGrid(v.Title+", by hours", "hour", "outside", "air inside", "heat of zones", "heat of tanks", "sun", "vents")
		for h := range d.OutC {
			inside, heats, suns, flows := make([]string, len(y.Zones)), make([]string, len(y.Zones)), make([]string, len(y.Zones)), make([]string, len(y.Zones))
			for z := range y.Zones {
				inside[z], heats[z] = s.temp(d.AirC[z][h]), short(d.HeatKW[z][h])
				suns[z], flows[z] = short(d.SunKW[z][h]), fixed(d.VentM3s[z][h], 2)
			}
			g.add(clock(float64(h))+" to "+clock(float64(h+1)), s.temp(d.OutC[h]), strings.Join(inside, "; "), strings.Join(heats, "; ")+" kW", kW(d.TankKW[h]), strings.Join(suns, "; ")+" kW", strings.Join(flows, "; ")+" m³/s")
		}
		v.Hours = g
		page.HardDays = append(page.HardDays, v)
	}
	g := newGrid("The air of each zone in the year", "zone", "coldest", "mean", "hottest", "heat", "hours heaters miss", "hours curtain drawn", "on covers", "on leaves")
	for i := range y.Zones {
		z := &y.Zones[i]
		g.add(words.Capital(z.Name), s.temp(z.LeastC), s.temp(z.MeanC), s.temp(z.GreatestC), whole(z.HeatKWh)+" kWh", whole(z.ShortH), whole(z.CurtainH), s.wet(z.CoverL), s.wet(z.MistL))
	}
	page.Zones = g
}

// tempWord is the unit of temperatures; degrees are those of a day in it.
func (s *server) tempWord() string {
	if s.system == quantity.USCustomary {
		return "°F"
	}
	return "°C"
}

func (s *server) degrees(list [24]float64) [24]float64 {
	for i, v := range list {
		list[i] = inUnit(v, quantity.Temperature, s.tempWord())
	}
	return list
}

// fuelRows are the fuels: how the stock goes, when to order.
func (s *server) fuelRows(page *warmthPage, y *warmth.Year) {
	a := y.Amounts()
	for i := range y.Fuels {
		u := &y.Fuels[i]
		name := strings.ToLower(u.Name)
		v := fuelView{Name: u.Name, Say: u.Say, Cautions: u.Cautions}
		if v.Say == "" {
			v.Say = fmt.Sprintf("The year takes %s %s of %s.", whole(u.Units), u.Unit, name)
		}
		v.Facts = []startFact{{Name: "Burnt in the year", Text: fmt.Sprintf("%s %s, %s kWh of heat", whole(u.Units), u.Unit, whole(u.HeatKWh))}}
		if u.Price > 0 {
			v.Facts = append(v.Facts, startFact{Name: "Costs", Text: s.cashWhole(a.Fuel(u)) + ", at " + strings.TrimSpace(quantity.FormatMoney(u.Price, s.cfg.Site.Currency)) + " a " + u.Unit})
		} else {
			v.Facts = append(v.Facts, startFact{Name: "Costs", Text: "no price is written down: the bill is too small by it"})
		}
		grown := "fossil"
		if u.Biogenic {
			grown = "of carbon that grew lately"
		}
		v.Facts = append(v.Facts, startFact{Name: "Carbon dioxide", Text: whole(u.CO2Kg) + " kg, " + grown})
		if !u.HasStore {
			v.Facts = append(v.Facts, startFact{Name: "Store", Text: "none written down, so no day to order can be said"})
			page.Fuels = append(page.Fuels, v)
			continue
		}
		v.Facts = append(v.Facts, startFact{Name: "In store on " + longDay(y.From), Text: fmt.Sprintf("%s %s of %s", whole(u.Stock), u.Unit, whole(u.Capacity))})
		if u.OrderBy != nil {
			by := longDay(*u.OrderBy)
			if u.Late {
				by += ", which is past"
				if !s.cfg.Today.After(u.OrderBy.Time) {
					by = "before " + longDay(y.From)
				}
			}
			v.Facts = append(v.Facts, startFact{Name: "Order by", Text: by})
		}
		if u.RunsOut != nil {
			v.Facts = append(v.Facts, startFact{Name: "Runs out", Text: longDay(*u.RunsOut) + ", if nothing comes"})
		}
		v.Facts = append(v.Facts, startFact{Name: "Delivery takes", Text: words.Count(u.LeadDays, "day", "days")})
		if u.Months > 0 {
			v.Facts = append(v.Facts, startFact{Name: "Heats for", Text: short(u.Months) + " months of those that heat most"})
		}
		if u.Fills > 0 {
			v.Facts = append(v.Facts, startFact{Name: "Full stores that the year takes", Text: fmt.Sprint(u.Fills)})
		}
		c := chart{Kind: "warmth", Title: fmt.Sprintf("Stock of %s from %s to %s if nothing is delivered", name, longDay(y.From), longDay(y.To)), Unit: name + " in store, " + u.Unit, From: y.From, To: y.To, Today: s.cfg.Today}
		l := chartLine{Word: "low"}
		for d := range y.Days {
			if d >= len(u.StockEnd) {
				break
			}
			l.Points = append(l.Points, chartPoint{y.Days[d].Date, u.StockEnd[d]})
			if u.OrderBy != nil && y.Days[d].Date.Time.Equal(u.OrderBy.Time) {
				c.Marks = append(c.Marks, chartMark{chartPoint{y.Days[d].Date, u.StockEnd[d]}, "up"})
			}
			if u.RunsOut != nil && y.Days[d].Date.Time.Equal(u.RunsOut.Time) {
				c.Marks = append(c.Marks, chartMark{chartPoint{y.Days[d].Date, u.StockEnd[d]}, "pulled"})
			}
		}
		c.Lines = []chartLine{l}
		v.Chart = drawnChart{Title: u.Name + " if nothing is delivered", SVG: c.svg()}
		switch {
		case u.OrderBy != nil && u.RunsOut != nil:
			v.Chart.Note = "Circle: order by then. Square: it runs out."
		case u.OrderBy != nil:
			v.Chart.Note = "Circle: order by then."
		}
		page.Fuels = append(page.Fuels, v)
	}
	if d := y.Digester; d != nil {
		page.Digester = &digesterView{Notes: d.Notes, Cautions: d.Cautions,
			Sentence: fmt.Sprintf("The digester gives %s m³ of gas a day, of which %s kWh of heat are left for the house: %s of the year’s heat.", short(d.BiogasM3D), short(d.HeatKWhD), percent(d.OfHeat))}
	}
}

// powerRows are electricity: its uses, the own sun, the bands of price, the peak; and
// the building's own share of its energy.
func (s *server) powerRows(page *warmthPage, y *warmth.Year, helps []warmth.Variant) {
	p, a := &y.Power, y.Amounts()
	all, bands := a.Power()
	fact := func(name, text string) { page.Power = append(page.Power, startFact{Name: name, Text: text}) }
	fact("Used", whole(p.UsedKWh)+" kWh")
	fact("Bought", fmt.Sprintf("%s kWh for %s", whole(p.GridKWh), s.cashWhole(all)))
	if p.PVKWh > 0 {
		fact("Own sun", fmt.Sprintf("%s kWh made, %s kWh of it used here: %s of what is used", whole(p.PVKWh), whole(p.OwnKWh), percent(p.OwnShare)))
		fact("Given to the grid, lost in the battery", fmt.Sprintf("%s kWh, %s kWh", whole(p.ExportKWh), whole(p.LostKWh)))
	} else {
		fact("Own sun", "no panels")
	}
	fact("Greatest hour", fmt.Sprintf("%s used, %s from the grid", kW(p.PeakKW), kW(p.GridPeakKW)))
	g := newGrid("What uses electricity", "use", "used", "of it bought", "greatest hour", "cost")
	uses := slices.Clone(p.Uses)
	slices.SortStableFunc(uses, func(a, b warmth.PowerUse) int {
		switch {
		case a.KWh > b.KWh:
			return -1
		case a.KWh < b.KWh:
			return 1
		}
		return 0
	})
	for i := range uses {
		x := &uses[i]
		g.add(words.Capital(x.Use), whole(x.KWh)+" kWh", whole(x.GridKWh)+" kWh", kW(x.PeakKW), s.paidCell(x.Money, a.Use(x)))
	}
	page.Uses = g
	if len(p.Bands) > 0 {
		page.Bands = newGrid("What is bought at which price", "price", "hours a day", "a kWh", "bought", "cost")
		for i := range p.Bands {
			x := &p.Bands[i]
			page.Bands.add(words.Capital(x.Name), fmt.Sprint(x.Hours), s.cashCell(x.PriceKWh), whole(x.KWh)+" kWh", s.paidCell(x.Money, bands[i]))
		}
	}
	if p.Lamps != nil && p.Lamps.SavedMoney > 0.5 {
		page.Shift = fmt.Sprintf("Let the lamps come on at %s, when power is cheap: that saves %s a year.", clock(p.Lamps.FromH), s.cash(p.Lamps.SavedMoney))
		if v := warmth.First(helps); v != nil && v.Key == warmth.VariantLampHours {
			page.Shift += " It stands first of all that was tried."
		} else if v != nil {
			page.Shift += " First of all that was tried stands another: " + words.Lower(stripFull(v.What)) + "."
		}
	}
	page.Own = newGrid("Share of own energy", "days", "heat burnt and power used", "own sun", "own gas", "share of own energy")
	own := func(name string, o warmth.Own) {
		if o.EnergyKWh <= 0 {
			page.Own.add(name, "not in this year", "–", "–", "–")
			return
		}
		page.Own.add(name, whole(o.EnergyKWh)+" kWh", whole(o.SunKWh)+" kWh", whole(o.GasKWh)+" kWh", percent(o.Share))
	}
	own("The year", y.Own)
	page.Own.last()
	for _, d := range s.cfg.Site.HomeFed {
		own(words.Capital(d.Name)+"\n"+days(d.From, d.To), y.ShareOn(d.From.Time, d.To.Time))
	}
	for _, c := range y.Cautions {
		burns := slices.ContainsFunc(y.Fuels, func(u warmth.FuelUse) bool { return slices.Contains(u.Cautions, c) })
		gas := y.Digester != nil && slices.Contains(y.Digester.Cautions, c)
		switch {
		case c == warmth.CautionGutter:
			page.Gutter = c
		case !burns && !gas:
			page.PowerCautions = append(page.PowerCautions, c)
		}
	}
}

// wetRows are the water that loops give off, take up and are topped up with.
func (s *server) wetRows(page *warmthPage, y *warmth.Year) {
	if len(y.Loops) == 0 {
		return
	}
	page.Water = newGrid("Water of each loop in the year", "loop", "off the water", "through the leaves", "out of the air into it", "back from the covers", "topped up")
	for i := range y.Loops {
		l := &y.Loops[i]
		page.Water.add(words.Capital(words.Loop(l.Name)), s.wet(l.EvaporatedL), s.wet(l.TranspiredL), s.wet(l.CondensedL), s.wet(l.RecoveredL), s.wet(l.ToppedUpL))
	}
	page.WaterMonths = newGrid("What the meters should read", "loop", "month", "off the water and the leaves", "topped up", "the meter at its end")
	for k := range y.Loops {
		for i := range y.Months {
			m := &y.Months[i]
			if k >= len(m.Loops) || k >= len(m.MeterL) {
				continue
			}
			l := &m.Loops[k]
			page.WaterMonths.add(words.Capital(words.Loop(l.Name)), fmt.Sprintf("%s %d", time.Month(m.Month), m.Year), s.wet(l.EvaporatedL+l.TranspiredL), s.wet(l.ToppedUpL), s.wet(m.MeterL[k]))
		}
	}
}

// sizeRows are what heaters, vents, battery and generator should be, and what food by
// lamps costs.
func (s *server) sizeRows(page *warmthPage, k *warmKept) {
	const watts = 1000
	z := k.size
	g := newGrid("Heaters and vents", "zone", "loses", "heater it wants", "heater there is", "in the coldest hour", "brightest sun", "vents to hold 5 K", "vents there are", "air over outside with these")
	for i := range z.Zones {
		x := &z.Zones[i]
		page.SizeSays = append(page.SizeSays, x.Say)
		want := "none"
		if x.TotalW > 0 && x.Heater.LowW > 0 {
			want = short(x.Heater.LowW/watts) + " to " + kW(x.Heater.HighW/watts)
			st := Staff{Name: "heater of " + x.Name, Value: x.HaveW / watts, Low: x.Heater.LowW / watts, High: math.Inf(1), ScaleMax: roundUp(math.Max(x.HaveW, 1.4*x.Heater.HighW) / watts), Unit: "kW", Decimals: 1, Edge: (x.Heater.HighW - x.Heater.LowW) / watts}
			page.Gauges = append(page.Gauges, st.view())
		}
		g.add(words.Capital(x.Name), kW(x.TotalW/watts)+"\n"+s.temp(x.InsideC)+" inside, "+s.temp(x.OutsideC)+" outside", want, kW(x.HaveW/watts), s.temp(x.AtColdestC), kW(x.SunW/watts), fixed(x.FlowFor5KM3s, 1)+" m³/s", fixed(x.HaveVentM3s, 1)+" m³/s", s.at(math.Round(x.RiseK), quantity.TempDifference)+"\nwithout leaves to cool it")
	}
	page.SizeZones = g
	page.Cut = z.Cut.Say
	if z.Cut.RunningW > 0 && z.Cut.Hours > 0 {
		st := Staff{Name: "battery, hours of air and pumps", Value: math.Floor(z.Cut.HaveHours), Low: z.Cut.Hours, High: math.Inf(1), ScaleMax: roundUp(math.Max(z.Cut.HaveHours, 1.6*z.Cut.Hours)), Unit: "h", Decimals: 0, Edge: z.Cut.Hours / 10}
		page.Gauges = append(page.Gauges, st.view())
	}
	if len(z.Lamps) > 0 {
		page.Lamps = newGrid("What food by lamps costs", "lamps", "a year", "for a kilogram", "for 1000 kcal", "for 1000 kcal in cheap hours")
		for i := range z.Lamps {
			x := &z.Lamps[i]
			cheap := "no cheap hours"
			if x.Cheap {
				cheap = s.cashCell(x.CheapGain.CostMcal)
			}
			page.Lamps.add(words.Capital(x.Lamp), whole(x.KWhYear)+" kWh", short(x.Gain.KWhKg)+" kWh, "+s.cashCell(x.Gain.CostKg), short(x.Gain.KWhMcal)+" kWh, "+s.cashCell(x.Gain.CostMcal), cheap)
		}
	}
	page.SizeNotes, page.SizeCautions = z.Notes, z.Cautions
}

// fishRows are the fish of each heated tank by the heat of a kilogram, or how long
// they have been worked on.
func (s *server) fishRows(page *warmthPage, ctx context.Context) {
	for i, tank := range s.heated {
		v := fishHeatView{Tank: tank}
		list, soFar, ready, err := s.fishHeat[i].wait(ctx, s.glance, func(ctx context.Context) ([]warmth.FishHeatRow, error) {
			return warmth.FishHeat(ctx, warmYear, s.cfg.Site, tank)
		})
		switch {
		case !ready:
			v.Working = beingWorked("The fish are", soFar)
		case err != nil:
			v.Working = "It cannot be worked out: " + err.Error() + "."
		default:
			v.Table = newGrid("Fish of "+tank+" by the heat of a kilogram", "fish", "held at", "heat a year, kWh", "days to market", "fish a year", "kWh for a kilogram", "cost of a kilogram", "*mind")
			for k := range list {
				x := &list[k]
				note := x.Note
				if note == "" {
					note = "–"
				}
				v.Table.add(words.Capital(x.Name), s.temp(x.BestC), whole(x.HeatKWh), whole(x.GrowDays), s.at(x.KgYear, quantity.Mass), short(x.KWhKg), s.cashCell(x.MoneyKg), note)
			}
		}
		page.Fish = append(page.Fish, v)
	}
}
