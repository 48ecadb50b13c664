package plumbing

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"tidebed/quantity"
	"tidebed/site"
	"tidebed/words"
)

// Option is one pump with one number of valves open together.
type Option struct {
	Pump         string     `json:"pump"`
	Spare        bool       `json:"spare"` // not in place now
	Price        float64    `json:"price"` // of the pump; 0: not said
	Together     int        `json:"together"`
	Serves       bool       `json:"serves"` // every bed floods as often as asked, and the pump keeps its water
	Why          []string   `json:"why"`
	FlowM3s      float64    `json:"flowM3s"` // of the pump, mean of the turns
	HeadM        float64    `json:"headM"`
	WireW        float64    `json:"wireW"`
	LeastM3s     float64    `json:"leastM3s"` // least and most of the beds' inflows
	MostM3s      float64    `json:"mostM3s"`
	Beds         int        `json:"beds"` // with timed valves and a drain
	Trip         int        `json:"trip"` // that flood
	MostPerHour  float64    `json:"mostPerHour"`
	TurnoverPerH float64    `json:"turnoverPerH"` // water pumped over the fish tanks' volume, mean of the day
	TanksPerH    float64    `json:"tanksPerH"`    // water led into the tanks, over their volume
	SourceLowM   float64    `json:"sourceLowM"`
	WhPer100L    float64    `json:"whPer100L"`
	MustFlow     bool       `json:"mustFlow"`       // branches always flow: the pump cannot stop
	NonstopKWh   float64    `json:"nonstopKWhYear"` // in 365 days, the pump never stopping
	TurnsKWh     float64    `json:"turnsKWhYear"`   // the pump running for the turns alone: for equal floods
	YearKWh      float64    `json:"yearKWh"`        // of the two, the one that holds: TurnsKWh where the pump can stop
	NonstopCost  float64    `json:"nonstopCostYear"`
	TurnsCost    float64    `json:"turnsCostYear"`
	YearCost     float64    `json:"yearCost"`
	Plan         *Timetable `json:"-"`
}

// Choice compares pumps and ways to run them.
type Choice struct {
	Rows     []Option `json:"rows"` // those that serve first, then by yearly energy (2 % is no difference), name, together
	Best     *Option  `json:"best"` // nil when none serves
	Now      *Option  `json:"now"`  // what runs now; nil when no pump runs
	Sentence string   `json:"sentence"`
	Notes    []string `json:"notes"`
}

// yearDays is the year of energy and cost.
const yearDays = 365

// sameShare is by how much yearly energies must differ to count as different.
const sameShare = 1.02

// settleCycles is how many cycles a run takes to show the lowest level of the source.
const settleCycles = 2

// Search compares every pump of a loop, each in the place of the first that runs,
// with one, two, three and all timed valves open together. Other pumps that run
// stay. How the pipework is reckoned is as for Draw, but for the pump, which
// Search puts; pricePerKWh is 0 to 100 in the site's currency. A row serves when a
// day followed by its timetable does; one whose turns fall short already is followed
// only for a few cycles.
//
// The yearly figures are those of the pump alone. Nonstop, it never stops: in its
// turns as the timetable has them, and where nothing always flows as if turn
// followed turn. For the turns alone it gives the same floods and then stops;
// where branches must always flow it cannot, and that figure only compares.
//
// Errors: a goal or price out of range (quantity.ErrRange), ErrUnpiped when no
// pump of the loop can be reckoned, that of ctx.
func Search(ctx context.Context, l *site.Loop, how Settings, g Goal, pricePerKWh float64) (*Choice, error) {
	if err := g.Check(); err != nil {
		return nil, fmt.Errorf("loop %s: comparing pumps: %w", l.Name, err)
	}
	if err := quantity.InRange("price of a kilowatt-hour", pricePerKWh, 0, 100, ""); err != nil {
		return nil, fmt.Errorf("loop %s: comparing pumps: %w", l.Name, err)
	}
	g = g.filled()
	c := &Choice{}
	now := slices.IndexFunc(l.Pumps, func(p site.Pump) bool { return !p.Spare })
	unpriced, unpowered := false, false
	for i := range l.Pumps {
		in := &l.Pumps[i]
		if len(in.Points) < 2 {
			c.Notes = append(c.Notes, fmt.Sprintf("%s is left out: the site gives no curve for it. Give its `points`.", words.Capital(in.Name)))
			continue
		}
		if i != now && !in.Spare {
			continue // a second pump that runs stays where it is
		}
		how.Pump = in.Name
		s, err := Draw(l, how)
		if err != nil || s == nil || !s.Piped {
			if err == nil {
				err = ErrUnpiped
			}
			c.Notes = append(c.Notes, fmt.Sprintf("%s is left out: %s.", words.Capital(in.Name), err))
			continue
		}
		for _, together := range abreast(len(s.Timed()), g.Together) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			o, err := s.option(in, together, g, pricePerKWh)
			if err != nil {
				c.Notes = append(c.Notes, fmt.Sprintf("%s with %s open at a time is left out: %s.", words.Capital(in.Name), countOf(together, "valve"), err))
				continue
			}
			unpriced = unpriced || in.Spare && in.Price == 0
			unpowered = unpowered || o.WireW == 0
			c.Rows = append(c.Rows, o)
		}
	}
	if len(c.Rows) == 0 {
		return nil, fmt.Errorf("loop %s: comparing pumps: %w", l.Name, ErrUnpiped)
	}
	least := math.Inf(1)
	for i := range c.Rows {
		if c.Rows[i].YearKWh > 0 && c.Rows[i].Serves == slices.ContainsFunc(c.Rows, func(o Option) bool { return o.Serves }) {
			least = min(least, c.Rows[i].YearKWh)
		}
	}
	// Steps of two hundredths: less is no difference.
	step := func(kWh float64) float64 {
		return math.Floor(math.Log(max(kWh, least)/least)/math.Log(sameShare) + 1e-9)
	}
	slices.SortStableFunc(c.Rows, func(a, b Option) int {
		if a.Serves != b.Serves {
			return pick(a.Serves, -1, 1)
		}
		if math.IsInf(least, 1) {
			return cmp.Or(cmp.Compare(a.Pump, b.Pump), cmp.Compare(a.Together, b.Together))
		}
		return cmp.Or(cmp.Compare(step(a.YearKWh), step(b.YearKWh)), cmp.Compare(a.Pump, b.Pump), cmp.Compare(a.Together, b.Together))
	})
	for i := range c.Rows {
		o := &c.Rows[i]
		if i == 0 && o.Serves {
			c.Best = o
		}
		if now >= 0 && o.Pump == l.Pumps[now].Name && o.Together == min(g.Together, max(1, len(o.Plan.Parts[0].Turns))) {
			c.Now = o
		}
	}
	if c.Rows[0].MustFlow {
		c.Notes = append(c.Notes, "Some branches always flow, so the pump cannot stop: the figures for the turns alone only compare. Timed valves on all branches would let it stop, if tanks and fish can do without the flow.")
	}
	if unpowered {
		c.Notes = append(c.Notes, "A pump without watts in the site counts no energy, so it stands too high in the list: give its `points` as flow:head:watts.")
	}
	if unpriced {
		c.Notes = append(c.Notes, "The price of a spare pump is not counted, for the site does not give it.")
	}
	c.Notes = append(c.Notes, "A pump that gives less water also turns the tank's water over less often and carries off less of the solids: hold the turnover against the water's oxygen and ammonia before you change, and keep the old pump as a spare.")
	c.Sentence = c.say()
	return c, nil
}

// abreast are the numbers of valves to try open together: one, two, three, all
// and what the goal says.
func abreast(timed, asked int) []int {
	most := max(1, min(timed, 24))
	list := []int{1, min(2, most), min(3, most), min(asked, most), most}
	slices.Sort(list)
	return slices.Compact(list)
}

// option works out one pump and one number of valves.
func (s *Scheme) option(in *site.Pump, together int, g Goal, pricePerKWh float64) (Option, error) {
	g.Together = together
	t, err := s.lays(g)
	if err != nil {
		return Option{}, err
	}
	if err := s.tellLate(t, false); err != nil {
		return Option{}, err
	}
	short := !t.Fits
	if !short {
		if err := s.confirm(t); err != nil {
			return Option{}, err
		}
	}
	o := Option{Pump: in.Name, Spare: in.Spare, Price: in.Price, Together: together, Serves: t.Fits, Why: t.Why, MostPerHour: t.MostPerHour, MustFlow: s.always(), Plan: t}
	for i := range t.Parts {
		p := &t.Parts[i]
		sum, err := s.sum(p)
		if err != nil {
			return o, err
		}
		days := p.Hours() / 24
		o.TurnoverPerH += days * p.PumpTurnoverPerH
		o.TanksPerH += days * p.TurnoverPerH
		turnsKWh := sum.turnsJ / p.CycleS * p.Hours() * secondsInHour / 3.6e6 * yearDays
		o.TurnsKWh += turnsKWh
		switch {
		case o.MustFlow:
			o.NonstopKWh += p.WireKWhDay * yearDays
		case p.Duty > 0:
			o.NonstopKWh += turnsKWh / p.Duty
		}
		if i > 0 {
			continue
		}
		if sum.turnsS > 0 {
			o.FlowM3s, o.HeadM, o.WireW = sum.inTurn/sum.turnsS, sum.headMS/sum.turnsS, sum.turnsJ/sum.turnsS
		} else {
			f, err := s.Flow(0, s.Source.SurfaceM)
			if err != nil {
				return o, err
			}
			o.FlowM3s, o.HeadM, o.WireW = f.TotalM3s, f.PumpHeadM[0], f.WireW
		}
		if o.FlowM3s > 0 {
			o.WhPer100L = o.WireW / 3600 / (o.FlowM3s * 10)
		}
		o.LeastM3s = math.Inf(1)
		for j := range p.Turns {
			u := &p.Turns[j]
			if !u.floods() {
				continue
			}
			o.Beds++
			if u.Trips {
				o.Trip++
			}
			o.LeastM3s, o.MostM3s = min(o.LeastM3s, u.InflowM3s), max(o.MostM3s, u.InflowM3s)
		}
		if o.Beds == 0 {
			o.LeastM3s = 0
		}
	}
	if dry, err := s.withoutWater(t); err != nil {
		return o, err
	} else if len(dry) > 0 {
		o.Serves = false
		o.Why = append(o.Why, fmt.Sprintf("No water comes to %s, for the pump's head does not reach the pipe's end while a turn is on: lower that end, or take a pump of more head.", Names(dry)))
	}
	if !short {
		o.Trip = 0 // by the day that was followed
		for j := range t.Parts[0].Turns {
			if u := &t.Parts[0].Turns[j]; u.floods() && u.Trips && t.FloodsDay[u.Bed] >= 1 && t.day.DrySeconds == 0 {
				o.Trip++
			}
		}
		o.SourceLowM = t.day.SourceLowM
	} else if err := s.fallsShort(t, &o); err != nil {
		return o, err
	}
	o.YearKWh = pick(o.MustFlow || o.TurnsKWh == 0, o.NonstopKWh, o.TurnsKWh)
	o.NonstopCost, o.TurnsCost, o.YearCost = o.NonstopKWh*pricePerKWh, o.TurnsKWh*pricePerKWh, o.YearKWh*pricePerKWh
	return o, nil
}

// withoutWater are the ends that are to have water always and get none in some
// turn.
func (s *Scheme) withoutWater(t *Timetable) ([]string, error) {
	var names []string
	for i := range s.Branches {
		b := &s.Branches[i]
		if b.Timed || b.Pipe.SetM3s > 0 && b.Pipe.SetM3s < noFlowM3s {
			continue
		}
		least := math.Inf(1)
		for k := range t.Parts {
			p := &t.Parts[k]
			for _, group := range p.Groups {
				var open Valves
				for _, j := range group {
					open = open.With(p.Turns[j].Branch)
				}
				f, err := s.Flow(open, s.Source.SurfaceM)
				if err != nil {
					return nil, err
				}
				least = math.Min(least, f.BranchM3s[i])
			}
		}
		if least < noFlowM3s {
			names = append(names, b.Pipe.To)
		}
	}
	return names, nil
}

// fallsShort follows a few cycles of a timetable that does not serve, for the
// lowest level of the source and what more is amiss.
func (s *Scheme) fallsShort(t *Timetable, o *Option) error {
	p := &t.Parts[0]
	seconds := min(max(2*secondsInHour, settleCycles*p.CycleS), dayS)
	c, err := s.Run(t, RunOptions{Seconds: seconds, FromH: cmp.Or(p.FromH, 24)})
	if err != nil {
		return err
	}
	o.SourceLowM = c.SourceLowM
	if c.DrySeconds > 0 {
		o.Why = append(o.Why, fmt.Sprintf("The water of %s sinks to the pump's intake, and the pump runs dry. %s", s.sourceWord(), s.wetter(t)))
	}
	if c.SourceOverM3 > 1e-6 {
		o.Why = append(o.Why, fmt.Sprintf("%s runs over its rim: keep less water in it.", words.Capital(s.sourceWord())))
	}
	return nil
}

// Name is the option in words.
func (o *Option) Name() string {
	if len(o.Plan.Parts[0].Turns) < 2 {
		return o.Pump
	}
	return fmt.Sprintf("%s with %s open at a time", o.Pump, countOf(o.Together, "valve"))
}

// how is the option as the way in which the loop runs.
func (o *Option) how() string {
	if len(o.Plan.Parts[0].Turns) < 2 {
		return "with " + o.Pump
	}
	return fmt.Sprintf("with %s and %s open at a time", o.Pump, countOf(o.Together, "valve"))
}

// A saving comes from stopping the pump when stopping makes up that share of it; one
// below a tenth is not worth a word.
const (
	mostlyStops = 0.80
	nearlySame  = 0.10
)

// say is the comparison in a few sentences.
func (c *Choice) say() string {
	kwh := func(v float64) string { return figure(v, 3, 0) + " kWh" }
	best, now := c.Best, c.Now
	switch {
	case best == nil && now == nil:
		return "No pump of the loop floods every bed as often as asked. " + firstOf(c.Rows[0].Why)
	case best == nil:
		return fmt.Sprintf("No pump of the loop floods every bed as often as asked. %s: %s", words.Capital(now.Name()), firstOf(now.Why))
	}
	// Two hundredths more than the least are no difference, but not the least.
	least := best.YearKWh
	for i := range c.Rows {
		if o := &c.Rows[i]; o.Serves && o.YearKWh > 0 {
			least = min(least, o.YearKWh)
		}
	}
	text := fmt.Sprintf("%s serves with the least power: %s a year", words.Capital(best.Name()), kwh(best.YearKWh))
	if kwh(least) != kwh(best.YearKWh) {
		text = fmt.Sprintf("%s serves with %s a year, as good as the least power, %s", words.Capital(best.Name()), kwh(best.YearKWh), kwh(least))
	}
	if best.YearKWh == 0 {
		text = fmt.Sprintf("%s serves", words.Capital(best.Name()))
	}
	switch {
	case now == nil, best.YearKWh == 0:
		return text + "."
	case best.MustFlow:
		text += ", for some branches always flow and the pump cannot stop"
		if best == now {
			return text + "; that is how it runs now."
		}
		if !now.Serves {
			return text + fmt.Sprintf(". Now, %s, not every bed floods as asked: %s", now.how(), firstOf(now.Why))
		}
		if best.Pump == now.Pump {
			return text + fmt.Sprintf("; now, with %s open at a time, it takes %s.", countOf(now.Together, "valve"), kwh(now.YearKWh))
		}
		return text + fmt.Sprintf("; %s takes %s now.", now.Pump, kwh(now.YearKWh))
	}
	if best.TurnsKWh == 0 {
		return text + "."
	}
	text += fmt.Sprintf(" when it runs for the turns alone, %s when it never stops. ", kwh(best.NonstopKWh))
	stops := now.NonstopKWh - now.TurnsKWh // what stopping saves
	switch all := now.NonstopKWh - best.TurnsKWh; {
	case best == now && stops > nearlySame*now.NonstopKWh:
		return text + "It is the pump that runs now: what saves is not to run it nonstop."
	case best == now:
		return text + "It is how the pump runs now."
	case !now.Serves:
		return text + fmt.Sprintf("%s does not flood every bed as asked: %s", words.Capital(now.Name()), firstOf(now.Why))
	case stops >= mostlyStops*all && all > nearlySame*now.NonstopKWh:
		share := "the saving"
		if n := math.Floor(100 * stops / all); n < 95 {
			share = fmt.Sprintf("%.0f %% of the saving", n)
		} else if n < 100 {
			share = "nearly all of the saving"
		}
		not := ", not from the other pump"
		if best.Pump == now.Pump {
			not = ""
		}
		return text + fmt.Sprintf("%s gives the same floods for %s and takes %s when it never stops: %s comes from not running nonstop%s.", words.Capital(now.Name()), kwh(now.TurnsKWh), kwh(now.NonstopKWh), share, not)
	}
	return text + fmt.Sprintf("%s takes %s for the same floods, %s when it never stops.", words.Capital(now.Name()), kwh(now.TurnsKWh), kwh(now.NonstopKWh))
}

func firstOf(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}
