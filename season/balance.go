package season

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
	"tidebed/words"
)

// Part is one band of a flow: where it comes from or goes to, g.
type Part struct {
	Name string  `json:"name"`
	G    float64 `json:"g"`
}

// NitrogenFlow is where a loop's nitrogen comes from and where it goes, over the
// run, by its ledger; what the end holds is told apart by fish, water, solids and
// bacteria. An amount below nothing is booked on the other side, so that both
// sides have the same sum, but for what the ledger left open.
func (l *LoopCourse) NitrogenFlow() (from, to []Part) {
	from = append(from, Part{"there at the start", l.Nitrogen.Start})
	for _, e := range l.Nitrogen.In {
		from = append(from, Part{e.Name, e.Amount})
	}
	for _, e := range l.Nitrogen.Out {
		to = append(to, Part{e.Name, e.Amount})
	}
	fishN := l.FishKg.End * 1000 * fish.NKeptPerGain
	to = append(to, Part{"in the fish at the end", fishN}, Part{"in solids", l.SolidsN}, Part{"in bacteria", l.BacteriaNG},
		Part{"in the water at the end", l.Nitrogen.End - fishN - l.SolidsN - l.BacteriaNG})
	var in, out []Part
	for side, parts := range [2][]Part{from, to} {
		for _, p := range parts {
			switch {
			case p.G > 0 && side == 0, p.G < 0 && side == 1:
				in = append(in, Part{p.Name, math.Abs(p.G)})
			case p.G != 0:
				out = append(out, Part{p.Name, math.Abs(p.G)})
			}
		}
	}
	return in, out
}

// WholePart is a part in whole grams and whole hundredths of its side.
type WholePart struct {
	Part
	Grams   int `json:"grams"`
	Percent int `json:"percent"`
}

// WholeNitrogen is the flow as it is printed: whole grams and hundredths that sum
// to the same total, and to a hundred, on both sides.
func (l *LoopCourse) WholeNitrogen() (from, to []WholePart, totalG int) {
	in, out := l.NitrogenFlow()
	sum := 0.0
	for _, p := range in {
		sum += p.G
	}
	totalG = int(math.Round(sum))
	return wholeParts(in, totalG), wholeParts(out, totalG), totalG
}

func wholeParts(parts []Part, total int) (out []WholePart) {
	grams, percents := whole(parts, total), whole(parts, 100)
	for i, p := range parts {
		out = append(out, WholePart{p, grams[i], percents[i]})
	}
	return out
}

// whole shares a whole number among parts by their size: each is rounded down, and
// what is left goes to those that lost most.
func whole(parts []Part, total int) []int {
	out, order, sum := make([]int, len(parts)), make([]int, len(parts)), 0.0
	for _, p := range parts {
		sum += p.G
	}
	if !(sum > 0) {
		return out
	}
	left, lost := total, make([]float64, len(parts))
	for i, p := range parts {
		share := float64(total) * p.G / sum
		out[i], order[i] = int(share), i
		lost[i] = share - float64(out[i])
		left -= out[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(lost[b], lost[a]) })
	for k := range min(left, len(order)) {
		out[order[k]]++
	}
	return out
}

// BalanceRow is one line of a loop's balance: what is here, what the rule of the
// trade and what the mass balance say.
type BalanceRow struct {
	What    string `json:"what"`
	Here    string `json:"here"`
	Rule    string `json:"rule"`
	Balance string `json:"balance"`
	Source  string `json:"source"`
}

// Balance holds feed against plants, media, volume and air. cohorts are those of
// the same forecast.
func (l *LoopCourse) Balance(cohorts []CohortCourse) []BalanceRow {
	if l.Water == nil {
		return nil
	}
	media, tanks, flow := 0.0, 0.0, l.Water.FlowM3Day
	for _, c := range l.Water.Cells {
		media += c.MediaM2
		if c.Tank != "" {
			tanks += c.VolumeM3
		}
	}
	days := float64(len(l.Water.Days))
	var feed, clogged float64
	for _, d := range l.Water.Days {
		feed = math.Max(feed, d.FeedG)
		clogged = math.Max(clogged, d.Clogged)
	}
	tanGM2 := 0.0
	if media > 0 && days > 0 {
		tanGM2 = l.NitrifiedG / days / media
	}
	rows := []BalanceRow{{
		"feed for the plants", fmt.Sprintf("%.0f g/m²/d on %.1f m² planted, on average", l.FeedGM2Day, l.PlantedM2),
		"60 to 100 g/m²/d for rafts, 15 to 40 for media beds that keep their solids",
		fmt.Sprintf("nitrogen stands still at %.0f g/m²/d as planted, at %.0f in full leafy beds at good light", l.StandstillGM2Day, l.LeafyGM2Day),
		"Rakocy 2007; fao-589; the loop's own ledger",
	}}
	if media > 0 {
		low, _, err := water.NitrificationArea(fish.TANFromFeed(feed, l.protein), 0.6, 250)
		high, _, err2 := water.NitrificationArea(fish.TANFromFeed(feed, l.protein), 0.2, 250)
		if err == nil && err2 == nil {
			rows = append(rows, BalanceRow{
				"media for the bacteria", fmt.Sprintf("%.0f m² of wet surface", media),
				fmt.Sprintf("%.0f to %.0f m² for the most feed, %.0f g/d, at 0.6 to 0.2 g of ammonia nitrogen per m² and day", low, high, feed),
				fmt.Sprintf("%.3f g/m²/d are oxidised on average", tanGM2), "common practice for flooded gravel with solids; water-media-table",
			})
		}
	} else {
		rows = append(rows, BalanceRow{"media for the bacteria", "none", "0.2 to 0.6 g of ammonia nitrogen per m² and day", "nothing is oxidised", "common practice"})
	}
	if tanks > 0 {
		rows = append(rows, l.crowding(cohorts)...)
		rule, turnoverH := "", math.Inf(1)
		if flow > 0 {
			turnoverH = 24 * l.VolumeM3 / flow
		}
		if l.Water.FlowRuled {
			rule = " (a rule: the pump's curve is not given)"
		}
		power := ""
		if l.Water.PumpKWhDay > 0 {
			power = fmt.Sprintf("; the pump takes %.2g kWh a day", l.Water.PumpKWhDay)
		}
		rows = append(rows, BalanceRow{
			"water moved", fmt.Sprintf("%.1f m³/h%s, %.1f times the tanks' volume an hour", flow/24, rule, flow/24/tanks), "the tanks' volume once an hour at least",
			fmt.Sprintf("%.2g m³ in the whole loop, through the pump every %.1f h%s", l.VolumeM3, turnoverH, power), "common practice; pump and pipes solved together",
		})
	}
	used, fed := 0.0, 0.0
	for i := range l.Water.Days {
		fed += l.Water.Days[i].FeedG
	}
	if fed > 0 {
		for _, e := range l.OxygenG.Out {
			used += e.Amount
		}
		rows = append(rows, BalanceRow{
			"oxygen", fmt.Sprintf("%.2f g for each g of feed", used/fed), "0.5 to 0.8 g for each g of feed: fish, decay and bacteria",
			fmt.Sprintf("used: %s; brought: %s (g/d)", l.perDay(l.OxygenG.Out, days), l.perDay(l.OxygenG.In, days)),
			"Timmons and Ebeling, from memory; the loop's own ledger",
		})
	}
	return append(rows, BalanceRow{
		"solids in the beds", fmt.Sprintf("at most %.0f %% of the pores of the fullest bed", 100*clogged), "wash or stir before a fifth of the pores are full",
		fmt.Sprintf("%.0f g of nitrogen in solids at the end", l.SolidsN), "common practice: sludge of 4 % dry matter",
	})
}

// perDay lists the entries of a ledger by the day.
func (l *LoopCourse) perDay(entries []Entry, days float64) string {
	var out []string
	for _, e := range entries {
		if perDay := math.Round(e.Amount / days); perDay != 0 {
			out = append(out, fmt.Sprintf("%s %.0f", e.Name, perDay))
		}
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}

// plainAirKgM3 is what small units without strong air are stocked to at most.
const plainAirKgM3 = 20

// crowding is the most fish by volume of each tank of the loop.
func (l *LoopCourse) crowding(cohorts []CohortCourse) (rows []BalanceRow) {
	for _, c := range l.Water.Cells {
		if c.Tank == "" {
			continue
		}
		var most FishDay
		bears := math.Inf(1)
		for i := range cohorts {
			if cohorts[i].Tank != c.Tank {
				continue
			}
			if d := cohorts[i].DensityMaxKgM3; d > 0 {
				bears = math.Min(bears, d)
			}
			for _, d := range cohorts[i].Days {
				if d.DensityKgM3 > most.DensityKgM3 {
					most = d
				}
			}
		}
		if most.DensityKgM3 == 0 {
			continue
		}
		row := BalanceRow{What: "fish in " + c.Tank, Here: fmt.Sprintf("at most %.0f kg/m³, on %s", most.DensityKgM3, most.Day),
			Rule: fmt.Sprintf("at most %d kg/m³ in a small unit", plainAirKgM3), Balance: "the species goes by floor area", Source: "fao-589, from memory; the table of fish"}
		if !math.IsInf(bears, 0) {
			row.Balance = fmt.Sprintf("the species bears %.0f kg/m³ with strong air", bears)
		}
		rows = append(rows, row)
	}
	return rows
}

// Shortage is a plant food that runs low.
type Shortage struct {
	Food   string    `json:"food"`
	Day    site.Date `json:"day"`    // the first on which it is below what is ample
	Gm3    float64   `json:"gm3"`    // then
	Ample  float64   `json:"ample"`  // g/m³
	Least  float64   `json:"least"`  // over the run, g/m³
	Given  string    `json:"given"`  // what feed and doses bring over the run, in words
	Remedy string    `json:"remedy"` // in words
	Source string    `json:"source"` // of what is ample
}

// Shortages are the plant foods that fall below what is ample while something
// grows, first day first. Magnesium and calcium are held against the floors to
// which a keeper doses.
func (l *LoopCourse) Shortages() (out []Shortage) {
	if l.Water == nil {
		return nil
	}
	for _, x := range []struct {
		food   string
		of     func(*LoopDay) float64
		ample  float64
		remedy string
		brings []int // doses
	}{
		{"nitrogen", func(d *LoopDay) float64 { return d.NO3NGm3 }, ampleKm * crop.KmN, "feed more or plant less", nil},
		{"phosphorus", func(d *LoopDay) float64 { return d.PGm3 }, ampleKm * crop.KmP, "feed brings it; keep solids in the beds until they are ripe", nil},
		{"potassium", func(d *LoopDay) float64 { return d.KGm3 }, ampleKm * crop.KmK, "potassium bicarbonate where the pH sinks, potassium sulphate where it does not", []int{doseKHCO3, doseK2SO4}},
		{"calcium", func(d *LoopDay) float64 { return d.CaGm3 }, floorCa, "slaked lime where the pH sinks, gypsum where it does not", []int{doseLime, doseGypsum, doseChloride}},
		{"magnesium", func(d *LoopDay) float64 { return d.MgGm3 }, floorMg, "Epsom salt", []int{doseEpsom}},
		{"iron", func(d *LoopDay) float64 { return d.FeGm3 }, ampleKm * crop.KmFe, "chelated iron (DTPA up to pH 7.5, EDDHA above), never above 5 g/m³ at once with fish", []int{doseIron, doseIronHigh}},
	} {
		s := Shortage{Food: x.food, Ample: x.ample, Least: math.Inf(1), Remedy: x.remedy, Source: "five times the content at which growth would halve, from memory: good for warnings"}
		switch x.food {
		case "calcium", "magnesium":
			s.Source = "the floor to which a keeper doses; common practice"
			fallthrough
		case "potassium", "iron":
			s.Given = l.Water.brought(x.food, x.brings)
		case "nitrogen":
			s.Given = fed(l.Nitrogen, x.food)
		case "phosphorus":
			s.Given = fed(l.Phosphorus, x.food)
		}
		for i := range l.Water.Days {
			d := &l.Water.Days[i]
			if d.UptakeNG <= 0 {
				continue
			}
			v := x.of(d)
			s.Least = math.Min(s.Least, v)
			if v < 0.999*x.ample && s.Day.IsZero() {
				s.Day, s.Gm3 = d.Day, v
			}
		}
		if !s.Day.IsZero() {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b Shortage) int { return a.Day.Compare(b.Day.Time) })
	return out
}

// fed is what the feed brings of a food by its ledger, in words.
func fed(l Ledger, food string) string {
	for _, e := range l.In {
		if e.Name == "feed" && e.Amount > 0 {
			return fmt.Sprintf("%.0f g of %s with the feed", e.Amount, food)
		}
	}
	return "nothing"
}

// brought is what doses of some kinds bring of a food over the run, in words.
func (w *WaterCourse) brought(food string, kinds []int) string {
	g, times := 0.0, 0
	var with []string
	for _, kind := range kinds {
		for i := range w.Doses {
			d := &w.Doses[i]
			if d.Held || d.What != doseOf[kind].what {
				continue
			}
			g += d.Grams * doseOf[kind].share
			times++
			if !slices.Contains(with, d.What) {
				with = append(with, d.What)
			}
		}
	}
	switch times {
	case 0:
		return "nothing by the doses"
	case 1:
		return fmt.Sprintf("%.0f g of %s in one dose of %s", g, food, with[0])
	}
	return fmt.Sprintf("%.0f g of %s in %d doses of %s", g, food, times, strings.Join(with, " and "))
}

// Source says where the amount of a dose comes from.
func (d *DoseGiven) Source() string {
	switch d.What {
	case doseOf[doseKHCO3].what, doseOf[doseLime].what:
		return fmt.Sprintf("pH kept at the site's keep-ph, else %.1f; pH by the balance of charges (Plummer and Busenberg 1982); at most %.1f of pH a day (fao-589)", usualKeepPH, water.MostPHStepDay)
	case doseOf[doseIron].what, doseOf[doseIronHigh].what:
		return "the site's iron, else 2 g/m³, every three weeks (practice of the University of the Virgin Islands), at most 5 with fish (common practice)"
	case doseOf[doseChange].what:
		return "the limit of nitrate in the table of limits; a fifth at a time is common practice"
	case doseOf[doseChloride].what:
		return "chloride against nitrite by the table of fish (srac-462; tomasso-1986)"
	}
	return "the floor to which a keeper doses; common practice"
}

// Band is the limits of a parameter for a tank's fish, for people; infinite
// where there is none.
type Band struct {
	Name, Unit        string
	Low, High         float64 // borne for long
	BestLow, BestHigh float64
	Source            string
}

// Bands are the limits of a tank's fish in the order in which they are looked at.
func (c *CellCourse) Bands() (out []Band) {
	of := *c
	if len(of.groups) == 0 { // read back, by its words
		for name := range strings.SplitSeq(c.Group, " and ") {
			of.groups = append(of.groups, water.Group(name))
		}
	}
	for _, j := range judged {
		l, ok := of.limit(j.parameter)
		if !ok {
			continue
		}
		b := Band{Name: j.name, Unit: l.Unit, Low: math.Inf(-1), High: math.Inf(1), BestLow: math.Inf(-1), BestHigh: math.Inf(1), Source: l.Source}
		for _, x := range []struct {
			f  water.Figure
			to *float64
		}{{l.WarnLow, &b.Low}, {l.WarnHigh, &b.High}, {l.OptLow, &b.BestLow}, {l.OptHigh, &b.BestHigh}} {
			if x.f.Known {
				*x.to = x.f.Amount
			}
		}
		out = append(out, b)
	}
	return out
}

// Value is a day's value of a parameter by the name of its band: the lower end of
// the day, or with high the upper.
func (d *CellDay) Value(name string, high bool) float64 {
	for _, j := range judged {
		if j.name == name {
			if high {
				return j.high(d)
			}
			return j.low(d)
		}
	}
	return math.NaN()
}

// urgent are the parameters by which fish die within days.
var urgent = []string{"oxygen", "un-ionised ammonia", "nitrite", "pH"}

// Danger reports whether a crossing between two days concerns what kills within
// days and is outside what is borne for long.
func (x *Crossing) Danger(from, to site.Date) bool {
	return slices.Contains(urgent, x.Parameter) && x.outside() && x.within(from, to)
}

// outside reports whether what is left is what fish bear for long.
func (x *Crossing) outside() bool { return x.Verdict == "act" || x.Verdict == "critical" }

// within reports whether the value stands outside between two days.
func (x *Crossing) within(from, to site.Date) bool {
	return !x.Day.After(to.Time) && !x.Until.Before(from.Time)
}

// Remedy is what to do about a crossing, in a few words.
func (x *Crossing) Remedy() string {
	switch x.Parameter {
	case "oxygen":
		return "more air, and less feed until it is there"
	case "un-ionised ammonia", "total ammonia", "nitrite":
		switch {
		case strings.Contains(x.Cause, "no surface"):
			return "a bed of stones or a filter, and feed nothing until there is one"
		case strings.Contains(x.Cause, "not ripe"):
			return "feed little, test each day, and wait for the bacteria"
		case strings.Contains(x.Cause, "lack oxygen"):
			return "feed less, take solids out, and let more water and air to the beds"
		case strings.Contains(x.Cause, "lack alkalinity"):
			return "feed less, test ammonia, then give base in parts"
		case x.Parameter == "un-ionised ammonia":
			return "feed less, give no base, and test each day"
		}
		return "feed less, and test each day"
	case "pH", "alkalinity":
		if x.High {
			return "give no base, and look at shell and top-up water"
		}
		return "give base in parts, as listed below, after a test"
	case "carbon dioxide":
		return "more air stones or falls, and fresh air in the room"
	case "nitrate":
		if x.High {
			return "plant more, feed less, or change a fifth of the water a week"
		}
		return "plant less, or feed more where the fish allow it"
	case "temperature":
		return "look at heater, shade and room"
	}
	return "test it"
}

// Worse is a crossing that comes earlier in the low or the high course than in the
// typical one, or in one of them alone.
type Worse struct {
	Crossing
	Loop   string `json:"loop"`
	Tank   string `json:"tank"`
	Yield  string `json:"yield"` // the course
	Course Course `json:"-"`
	Only   bool   `json:"only"` // not in the typical course
}

// WorseCrossings holds the three courses of a season side by side: of each tank
// and parameter that leaves what is borne for long, the course in which it does so
// first, unless that is the typical one. The courses must be of one site.
func WorseCrossings(all [Courses]*Forecast) (out []Worse) {
	for i := range all[Typical].Loops {
		usual := &all[Typical].Loops[i]
		if usual.Water == nil {
			continue
		}
		for c := range usual.Water.Cells {
			for _, name := range judgedNames() {
				first := usual.Water.Cells[c].firstOutside(name)
				var worse *Worse
				for _, course := range []Course{Low, High} {
					l := &all[course].Loops[i]
					if l.Water == nil || c >= len(l.Water.Cells) {
						continue
					}
					x := l.Water.Cells[c].firstOutside(name)
					if x == nil || first != nil && !x.Day.Before(first.Day.Time) || worse != nil && !x.Day.Before(worse.Day.Time) {
						continue
					}
					worse = &Worse{Crossing: *x, Loop: usual.Name, Tank: usual.Water.Cells[c].Tank, Yield: course.String(), Course: course, Only: first == nil}
				}
				if worse != nil {
					out = append(out, *worse)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Worse) int { return a.Day.Compare(b.Day.Time) })
	return out
}

func judgedNames() (out []string) {
	for _, j := range judged {
		out = append(out, j.name)
	}
	return out
}

// firstOutside is the first day of a parameter outside what is borne for long; nil
// where there is none.
func (c *CellCourse) firstOutside(name string) (first *Crossing) {
	for i := range c.Leaves {
		x := &c.Leaves[i]
		if x.Parameter == name && x.outside() && (first == nil || x.Day.Before(first.Day.Time)) {
			first = x
		}
	}
	return first
}

// Saying is the crossing as a sentence, with its course.
func (x *Worse) Saying(day func(site.Date) string) string {
	text := x.Crossing.Saying(x.Tank, day)
	if x.Only {
		return fmt.Sprintf("At %s growth alone %s", x.Yield, text)
	}
	return fmt.Sprintf("Earliest at %s growth: %s", x.Yield, text)
}

// rank orders crossings by what is to be told first.
func (x *Crossing) rank(from, to site.Date) int {
	switch {
	case x.Danger(from, to) && x.Verdict == "critical":
		return 2
	case x.Danger(from, to):
		return 1
	}
	return 0
}

// Saying is the crossing as a sentence of one tank.
func (x *Crossing) Saying(tank string, day func(site.Date) string) string {
	way := "falls below"
	if x.High {
		way = "rises above"
	}
	bears := "is best for its fish"
	switch x.Verdict {
	case "act":
		bears = "its fish bear for long"
	case "critical":
		bears = "is a danger to life"
	}
	unit := strings.TrimSuffix(x.Unit, " as CaCO3")
	asN := ""
	switch x.Parameter {
	case "nitrate", "nitrite", "total ammonia", "un-ionised ammonia":
		asN = " as N"
	}
	if unit == "g/m³" {
		unit = " mg/L" + asN
	} else if unit != "" {
		unit = " " + unit
	}
	return fmt.Sprintf("in %s %s %s the %s%s that %s on %s", tank, x.Parameter, way, plainNumber(x.Limit), unit, bears, day(x.Day))
}

func plainNumber(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.3g", v), ".0") }

// WaterSentence is the answer to what the water of all loops will do between two
// days: what is to be acted on first, and the next dose.
func WaterSentence(loops []LoopCourse, from, to site.Date, day func(site.Date) string) string {
	type seen struct {
		x    *Crossing
		tank string
	}
	var act []seen
	var dose *DoseGiven
	doseLoop, tanks := "", 0
	for i := range loops {
		if loops[i].Water == nil {
			continue
		}
		for c := range loops[i].Water.Cells {
			cell := &loops[i].Water.Cells[c]
			if cell.Tank == "" {
				continue
			}
			tanks++
			for k := range cell.Leaves {
				x := &cell.Leaves[k]
				if x.outside() && x.within(from, to) {
					act = append(act, seen{x, cell.Tank})
				}
			}
		}
		for k := range loops[i].Water.Doses {
			d := &loops[i].Water.Doses[k]
			if !d.Held && !d.Day.Before(from.Time) && !d.Day.After(to.Time) && (dose == nil || d.Day.Before(dose.Day.Time)) {
				dose, doseLoop = d, loops[i].Name
			}
		}
	}
	if tanks == 0 {
		return "No tank stands in this building, so there is no water to watch for fish."
	}
	next := ""
	if dose != nil {
		what := fmt.Sprintf("%s of %s", scaleGrams(dose.Grams), dose.What)
		if dose.WaterM3 > 0 {
			what = fmt.Sprintf("%.2g m³ of changed water", dose.WaterM3)
		}
		next = fmt.Sprintf(" Next to give: %s to the %s on %s, after a test.", what, words.Loop(doseLoop), day(dose.Day))
	}
	if len(act) == 0 {
		return fmt.Sprintf("Until %s the water of every tank stays within what its fish bear for long.%s", day(to), next)
	}
	slices.SortStableFunc(act, func(a, b seen) int {
		if da, db := a.x.rank(from, to), b.x.rank(from, to); da != db {
			return db - da
		}
		return a.x.Day.Compare(b.x.Day.Time)
	})
	first := act[0]
	text := first.x.Saying(first.tank, day)
	die := ""
	worst := 0.0
	for i := range loops {
		if loops[i].Water == nil {
			continue
		}
		for c := range loops[i].Water.Cells {
			cell := &loops[i].Water.Cells[c]
			if lost, since := cell.lost(from, to); lost > tellLost && lost > worst {
				worst = lost
				die = fmt.Sprintf("Fish of %s die of their water from %s on, %.0f %% of them by %s: stop feeding, change water after a test, and move fish out. ", cell.Tank, day(since), math.Ceil(100*lost), day(to))
			}
		}
	}
	if die != "" || first.x.rank(from, to) > 0 {
		next = "" // first things first
	}
	if first.x.Day.Before(from.Time) {
		text = strings.Replace(text, " on "+day(first.x.Day), " since "+day(first.x.Day), 1)
	}
	more := ""
	others := map[string]bool{}
	for _, a := range act[1:] {
		if a.x.Parameter != first.x.Parameter {
			others[a.x.Parameter] = true
		}
	}
	if len(others) > 0 {
		names := make([]string, 0, len(others))
		for n := range others {
			names = append(names, n)
		}
		slices.Sort(names)
		more = " Also out of bounds: " + strings.Join(names, ", ") + "."
	}
	text = words.Capital(text)
	if die == "" {
		text += ": " + first.x.Remedy()
		if first.x.rank(from, to) == 0 {
			more += " Oxygen, un-ionised ammonia, nitrite and pH stay within what the fish bear."
		}
	}
	return die + text + "." + more + next
}

// tellLost is the share of a tank's fish that must die of the water for the first
// sentence to say so.
const tellLost = 0.03

// lost is the share of a tank's fish that its water kills between two days, and
// the first day of it.
func (c *CellCourse) lost(from, to site.Date) (share float64, since site.Date) {
	alive := 1.0
	for i := range c.Days {
		d := &c.Days[i]
		if d.Day.Before(from.Time) || d.Day.After(to.Time) {
			continue
		}
		alive *= 1 - d.LostShare
		if since.IsZero() && 1-alive > tellLost/3 {
			since = d.Day
		}
	}
	return 1 - alive, since
}

// scaleGrams is a dose as a kitchen scale weighs it.
func scaleGrams(g float64) string {
	switch {
	case g >= 1000:
		return fmt.Sprintf("%.2f kg", g/1000)
	case g >= 100:
		return fmt.Sprintf("%.0f g", math.Round(g/5)*5)
	}
	return fmt.Sprintf("%.0f g", math.Ceil(g))
}

// Amount is a dose as it is weighed or measured.
func (d *DoseGiven) Amount() string {
	if d.WaterM3 > 0 {
		return fmt.Sprintf("%.2g m³", d.WaterM3)
	}
	return scaleGrams(d.Grams)
}

// Month is the doses of a month, of one kind.
type Month struct {
	Month site.Date `json:"month"`
	What  string    `json:"what"`
	Times int       `json:"times"`
	Sum   DoseGiven `json:"sum"`
}

// MonthlyDoses sums doses from a day on by month and kind, in the order given.
func (w *WaterCourse) MonthlyDoses(from site.Date) (out []Month) {
	for _, d := range w.Doses {
		if d.Held || d.Day.Before(from.Time) {
			continue
		}
		month := site.On(d.Day.Year(), d.Day.Month(), 1)
		at := slices.IndexFunc(out, func(m Month) bool { return m.Month == month && m.What == d.What })
		if at < 0 {
			out = append(out, Month{Month: month, What: d.What, Sum: DoseGiven{What: d.What}})
			at = len(out) - 1
		}
		out[at].Times++
		out[at].Sum.Grams += d.Grams
		out[at].Sum.WaterM3 += d.WaterM3
	}
	return out
}

// DoseCautions stand wherever doses are listed.
var DoseCautions = []string{
	"A forecast is no test: measure pH, alkalinity and ammonia on the day, give a third, wait 6 hours, measure again; ask an aquaculture adviser when in doubt.",
	"Raising the pH by 0.6 makes four times as much ammonia toxic: look at ammonia before every base.",
	"Slaked lime and its like burn eyes and skin: goggles and gloves, powder into water and never water onto powder, and never near hypochlorite or acid.",
	"Changed water must be free of chlorine and chloramine and within 2 °C of the tank.",
	"Limits for a group of fish are not a veterinary opinion.",
}
