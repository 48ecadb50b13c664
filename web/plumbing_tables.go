package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"tidebed/inhand"
	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/words"
)

// choiceRows is the kept comparison of pumps, or how long it has been worked on.
func (s *server) choiceRows(page *plumbingPage, st *plumbing.Study, at int, ctx context.Context) {
	l, price := st.Loop, s.pricePerKWh()
	c, soFar, ready, err := s.loops[at].choice.wait(ctx, s.glance, func(ctx context.Context) (*plumbing.Choice, error) {
		return plumbing.Search(ctx, l, plumbing.SettingsOf(s.cfg.Site, l), plumbing.GoalOf(l), price)
	})
	switch {
	case !ready:
		page.Working = fmt.Sprintf("The pumps are being compared, %s so far.", words.Count(int(soFar.Seconds()), "second", "seconds"))
		return
	case err != nil:
		page.Working = "The pumps cannot be compared: " + err.Error() + "."
		return
	case c == nil:
		return
	}
	v := &pumpsView{Sentence: c.Sentence, Notes: c.Notes}
	for i := range c.Rows {
		o := &c.Rows[i]
		row := optionRow{Name: words.Capital(o.Name()), Serves: "yes", Flow: s.flow(o.FlowM3s), Head: s.tall().text(o.HeadM) + " " + s.tall().Word, Watts: fixed(o.WireW, 0),
			Nonstop: s.yearCell(o.NonstopKWh, o.NonstopCost), Turns: s.yearCell(o.TurnsKWh, o.TurnsCost), Now: c.Now != nil && o.Pump == c.Now.Pump && o.Together == c.Now.Together}
		if !o.Serves {
			row.Serves = fmt.Sprintf("no: %d of %s", o.Trip, words.Count(o.Beds, "bed", "beds"))
		}
		if len(o.Why) > 0 {
			row.Why = o.Why[0]
		}
		if o.Price > 0 {
			row.Price = s.cost(o.Price)
		}
		if o.WireW == 0 {
			row.Watts = "–"
		}
		v.Rows = append(v.Rows, row)
	}
	page.Choice = v
}

func (s *server) pricePerKWh() float64 {
	const joule = 3.6e6
	return s.cfg.Site.Prices.ElectricityPerJ * joule
}

func (s *server) cost(v float64) string {
	if v == 0 {
		return "–"
	}
	return quantity.FormatMoney(v, s.cfg.Site.Currency)
}

// yearCell is a year's energy with its cost.
func (s *server) yearCell(kWh, cost float64) string {
	switch {
	case kWh == 0:
		return "–"
	case cost == 0:
		return grouped(math.Round(kWh))
	}
	return grouped(math.Round(kWh)) + ", " + grouped(math.Round(cost)) + " " + s.cfg.Site.Currency
}

// verdictWord is a siphon's verdict in the words of the lying staff.
func verdictWord(v string) string {
	if word, ok := zoneWords[v]; ok {
		return word
	}
	if v == "" {
		return "–"
	}
	return v
}

// timetableParts are the tables of the timetable and the sum of the time that
// never trips.
func (s *server) timetableParts(page *plumbingPage, st *plumbing.Study) {
	t := st.Timetable
	for i := range t.Parts {
		p := &t.Parts[i]
		v := partView{Name: words.Capital(p.Name), Hours: clock(p.FromH) + " to " + clock(p.ToH), Every: s.at(p.CycleS, quantity.Duration)}
		v.Facts = fmt.Sprintf("Some valve is open %s of the time.", percent(p.Duty))
		if p.WireKWhDay > 0 {
			v.Facts += fmt.Sprintf(" The pump takes %s kWh in this part of each day.", fixed(p.WireKWhDay, 2))
		}
		if p.TurnoverPerH > 0 {
			v.Facts += fmt.Sprintf(" The fish tanks’ water is renewed %s times an hour.", fixed(p.TurnoverPerH, 1))
		}
		if p.PumpRests {
			v.Facts += " The pump rests between turns."
		}
		for k := range p.Turns {
			x := &p.Turns[k]
			row := turnRow{Valve: x.Valve, Bed: words.Capital(x.Name), Opens: v.Every, At: clockSpan(x.AtS), Stays: clockSpan(x.OpenS), Inflow: s.flow(x.InflowM3s), Verdict: verdictWord(string(x.Verdict)), State: "good", Remark: x.Why}
			switch {
			case x.FillS > 0 && x.OpenS-x.FillS >= 0:
				row.Why = clockSpan(x.FillS) + " to fill + " + clockSpan(x.OpenS-x.FillS) + " margin"
			case x.FillS > 0:
				row.Why = clockSpan(x.FillS) + " to fill, " + clockSpan(x.FillS-x.OpenS) + " too short"
			default:
				row.Why = "fills to no mark"
			}
			if x.Given {
				row.Why += ", as the site sets it"
			}
			switch {
			case x.Way == "" || x.FillS == 0 && x.Way != plumbing.Siphons:
				row.State, row.Verdict = "", "–"
			case !x.Trips:
				row.State = "act"
			case x.Why != "":
				row.State = "watch"
			}
			if x.Verdict == "" && x.Way == plumbing.Timer {
				row.Verdict = "fills"
			}

			v.Rows = append(v.Rows, row)
		}
		page.Parts = append(page.Parts, v)
	}
}

// clock is an hour of the day as 06:30.
func clock(hour float64) string {
	minutes := int(math.Round(hour * 60))
	return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60)
}

// clockSpan prints a time of a valve to the second: "4 min 20 s".
func clockSpan(seconds float64) string {
	n := int(math.Round(seconds))
	switch {
	case math.IsNaN(seconds) || math.IsInf(seconds, 0):
		return noValue
	case n < 60:
		return fmt.Sprintf("%d s", n)
	case n < 3600 && n%60 == 0:
		return fmt.Sprintf("%d min", n/60)
	case n < 3600:
		return fmt.Sprintf("%d min %d s", n/60, n%60)
	case n%3600 < 30:
		return fmt.Sprintf("%d h", n/3600)
	}
	return fmt.Sprintf("%d h %d min", n/3600, (n%3600+30)/60)
}

// faultRows are what can fail, with the hours in hand where they are ready.
func (s *server) faultRows(page *plumbingPage, st *plumbing.Study, ctx context.Context) {
	needed := slices.ContainsFunc(st.Faults, func(f plumbing.Fault) bool { return f.FishCase != "" })
	var answer *inhand.Answer
	if needed {
		a, _, ready, err := s.inHand.wait(ctx, s.glance, func(context.Context) (*inhand.Answer, error) {
			return inhand.Of(s.cfg.Site, inhand.StockOf(s.cfg.Site), inhand.Options{})
		})
		switch {
		case err != nil && errors.Is(err, inhand.ErrNoFish):
			page.HoursFor = "No fish are written down, so no hours in hand are shown."
		case err != nil:
			page.HoursFor = "The hours in hand cannot be worked out from this site file."
		case !ready:
			page.HoursFor = "The hours in hand are being worked out; look again in a moment."
		default:
			answer = a
		}
	}
	u := s.tall()
	for i := range st.Faults {
		f := &st.Faults[i]
		row := faultRow{State: string(f.State), About: faultName(f), What: f.What, Lowest: "–", Floor: "none", Harm: "–", Remedy: f.Remedy, Caution: f.Caution}
		lowest := -1
		for k := range f.Tanks {
			if lowest < 0 || f.Tanks[k].Share < f.Tanks[lowest].Share {
				lowest = k
			}
		}
		if lowest >= 0 {
			x := f.Tanks[lowest]
			row.Lowest = fmt.Sprintf("%s: %s, at %s %s", x.Tank, percent(x.Share), u.text(x.LevelM), u.Word)
			if x.Share > 0.995 {
				row.Lowest = "tanks stay full"
			}
		}
		if f.FloorM3 > 0.0005 {
			row.Floor = s.at(f.FloorM3, quantity.Volume)
		}
		row.Harm = inhand.Harm(f, answer, st.Loop)
		if f.State == plumbing.Good {
			page.Lesser = append(page.Lesser, row)
			continue
		}
		page.Faults = append(page.Faults, row)
	}
}

// faultWords are the kinds of faults as heads of their rows.
var faultWords = map[plumbing.FaultKind]string{
	plumbing.ValveOpen: "valve stays open", plumbing.ValveShut: "valve stays shut", plumbing.NeverStarted: "siphon never starts", plumbing.NeverStopped: "siphon never stops",
	plumbing.DrainBlocked: "drain blocked", plumbing.HoseOff: "pipe or hose off", plumbing.PumpLost: "pump stands still", plumbing.PowerCut: "power fails",
	plumbing.BackSiphon: "water runs back", plumbing.TankPipeOff: "tank’s own pipe off", plumbing.RunsDry: "nobody tops up",
}

func faultName(f *plumbing.Fault) string {
	if word, ok := faultWords[f.Kind]; ok {
		return words.Capital(f.About) + ": " + word
	}
	return words.Capital(f.About)
}

// poreRow is the bed with a share of its pores filled.
type poreRow struct{ Filled, Drains, Flood, Fills, Empties, Open, State, Why string }

// pores are what becomes of the bed that is cut through as roots and solids fill it.
func (s *server) pores(page *plumbingPage, st *plumbing.Study) error {
	at := slices.IndexFunc(st.Scheme.Beds, func(b plumbing.Bed) bool { return b.In.Name == page.CutBed })
	if at < 0 || st.Unpiped {
		return nil
	}
	rows, err := st.Scheme.PoreRows(at, 0, st.Timetable)
	if err != nil {
		return err
	}
	long := func(seconds float64) string {
		if seconds <= 0 {
			return "–"
		}
		return clockSpan(seconds)
	}
	for _, x := range rows {
		page.Pores = append(page.Pores, poreRow{
			Filled: percent(x.Filled), Drains: percent(x.Drainable), Flood: s.at(x.StoredM3, quantity.Volume),
			Fills: long(x.FillS), Empties: long(x.DrainS), Open: long(x.OpenS), State: string(x.State), Why: x.Why,
		})
	}
	return nil
}

// sizeRow is a standpipe of another bore.
type sizeRow struct {
	Bore, Inflow, Window, Pipe, Open, Drains, Often, Why string
	Now, Fits                                            bool
}

// sizes are the standpipes that would suit the bed that is cut through.
func (s *server) sizes(page *plumbingPage, st *plumbing.Study) error {
	at := slices.IndexFunc(st.Scheme.Beds, func(b plumbing.Bed) bool { return b.In.Name == page.CutBed })
	if at < 0 || st.Unpiped {
		return nil
	}
	rows, err := st.Scheme.Sizes(at, st.Timetable)
	if err != nil || len(rows) == 0 {
		return err
	}
	h := plumbing.HeightsOf(&st.Scheme.Beds[at])
	u := s.small()
	length := func(m float64) string { return u.text(m) + " " + u.Word }
	page.SizesNote = fmt.Sprintf("Crest %s to %s above the bed’s floor, so that the top stays dry; break %s to %s above it (common practice). The inflow is the one to set the valve to, by a bucket and a watch; the pipe is the narrowest in which it runs at 1.5 m/s at most.",
		length(h.CrestLowM), length(h.CrestHighM), length(h.BreakLowM), length(h.BreakHighM))
	long := func(seconds float64) string {
		if seconds <= 0 {
			return "–"
		}
		return clockSpan(seconds)
	}
	for _, x := range rows {
		row := sizeRow{Bore: length(x.BoreM), Now: x.Now, Fits: x.Fits, Why: x.Why, Open: long(x.OpenS), Drains: long(x.DrainS), Inflow: "–", Pipe: "–", Often: "–"}
		row.Window = s.flow(x.SureM3s) + " to " + s.flow(x.GoodM3s)
		if x.InflowM3s > 0 {
			row.Inflow = s.flow(x.InflowM3s)
			row.Pipe = x.Pipe + ", " + s.speed(x.PipeMS)
		}
		if x.PerHour > 0 {
			row.Often = fmt.Sprintf("%.2g an hour", x.PerHour)
		}
		page.Sizes = append(page.Sizes, row)
	}
	return nil
}
