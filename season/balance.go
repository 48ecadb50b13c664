package season

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
)

// Part is one band of a flow: where it comes from or goes to, g.
type Part struct {
	Name string  `json:"name"`
	G    float64 `json:"g"`
}

// NitrogenFlow is where a loop's nitrogen comes from and where it goes, over the
// run, by its ledger; what the end holds is told apart by fish, water, solids and
// bacteria. Both sides have the same sum, but for what the ledger left open.
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
	worth := func(p Part) bool { return p.G <= 0 }
	return slices.DeleteFunc(from, worth), slices.DeleteFunc(to, worth)
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

// Balance holds feed against plants, media and volume.
func (l *LoopCourse) Balance() []BalanceRow {
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
		"rakocy-2007, fao-589; the loop's own ledger",
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
		rule := ""
		if l.Water.FlowRuled {
			rule = " (a rule: the pump's curve is not given)"
		}
		rows = append(rows, BalanceRow{
			"water moved", fmt.Sprintf("%.1f m³/h%s, %.1f times the tanks' volume an hour", flow/24, rule, flow/24/tanks), "the tanks' volume once an hour at least",
			fmt.Sprintf("%.2g m³ in the whole loop", l.VolumeM3), "common practice; the pump's curve at its lift and a quarter",
		})
	}
	return append(rows, BalanceRow{
		"solids in the beds", fmt.Sprintf("at most %.0f %% of the pores of the fullest bed", 100*clogged), "wash or stir before a fifth of the pores are full",
		fmt.Sprintf("%.0f g of nitrogen in solids at the end", l.SolidsN), "common practice: sludge of 4 % dry matter",
	})
}

// Shortage is a plant food that runs low.
type Shortage struct {
	Food   string    `json:"food"`
	Day    site.Date `json:"day"`    // the first on which it is below what is ample
	Gm3    float64   `json:"gm3"`    // then
	Ample  float64   `json:"ample"`  // g/m³
	Least  float64   `json:"least"`  // over the run, g/m³
	Remedy string    `json:"remedy"` // in words
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
	}{
		{"nitrogen", func(d *LoopDay) float64 { return d.NO3NGm3 }, ampleKm * crop.KmN, "feed more or plant less"},
		{"phosphorus", func(d *LoopDay) float64 { return d.PGm3 }, ampleKm * crop.KmP, "feed brings it; keep solids in the beds until they are ripe"},
		{"potassium", func(d *LoopDay) float64 { return d.KGm3 }, ampleKm * crop.KmK, "potassium bicarbonate where the pH sinks, potassium sulphate where it does not"},
		{"calcium", func(d *LoopDay) float64 { return d.CaGm3 }, floorCa, "slaked lime where the pH sinks, gypsum where it does not"},
		{"magnesium", func(d *LoopDay) float64 { return d.MgGm3 }, floorMg, "Epsom salt"},
		{"iron", func(d *LoopDay) float64 { return d.FeGm3 }, ampleKm * crop.KmFe, "chelated iron (DTPA up to pH 7.5, EDDHA above), never above 5 g/m³ at once with fish"},
	} {
		s := Shortage{Food: x.food, Ample: x.ample, Least: math.Inf(1), Remedy: x.remedy}
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
	for _, j := range judged {
		l, ok := c.limit(j.parameter)
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

// Danger reports whether a crossing by a day concerns what kills within days and
// is outside what is borne for long.
func (x *Crossing) Danger(by site.Date) bool {
	return slices.Contains(urgent, x.Parameter) && (x.Verdict == "act" || x.Verdict == "critical") && !x.Day.After(by.Time)
}

// rank orders crossings by what is to be told first.
func (x *Crossing) rank(by site.Date) int {
	switch {
	case x.Danger(by) && x.Verdict == "critical":
		return 2
	case x.Danger(by):
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
				if (x.Verdict == "act" || x.Verdict == "critical") && !x.Day.After(to.Time) && !x.Until.Before(from.Time) {
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
		next = fmt.Sprintf(" Next to give: %s to the %s loop on %s, after a test.", what, doseLoop, day(dose.Day))
	}
	if len(act) == 0 {
		return fmt.Sprintf("Until %s the water of every tank stays within what its fish bear for long.%s", day(to), next)
	}
	slices.SortStableFunc(act, func(a, b seen) int {
		if da, db := a.x.rank(to), b.x.rank(to); da != db {
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
	if die != "" || first.x.rank(to) > 0 {
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
	return die + strings.ToUpper(text[:1]) + text[1:] + "." + more + next
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
