package inhand

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/cells"
	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/science/fish"
	"tidebed/site"
	"tidebed/words"
)

// Options are what a person may ask for. The zero value asks for the hardest
// moment with the stock as it is.
type Options struct {
	Moment *Moment // that the sentence and the measures speak of; nil for three hours after the evening meal
	Share  float64 // of the stock, 0.05 to 3; 0 stands for 1
}

// Limits of Options.Share.
const (
	LeastShare = 0.05
	MostShare  = 3.0
)

// Answer is the hours in hand of a building.
type Answer struct {
	StockOn   site.Date `json:"stockOn"` // the day of the stock
	Moment    Moment    `json:"moment"`
	When      string    `json:"when"` // the moment in words
	Share     float64   `json:"stockShare"`
	Headline  string    `json:"headline"`
	Reasons   []string  `json:"reasons"`
	First     *First    `json:"first"`     // nil: nothing fails in time
	Emergency bool      `json:"emergency"` // some tank has less than half an hour
	Loops     []Loop    `json:"loops"`
	Buys      []Measure `json:"buys"` // for First, what wins most first
	BuysNote  string    `json:"buysNote"`
	Do        []string  `json:"do"`   // in order
	Back      []string  `json:"back"` // when the machines run again
	Batteries []Battery `json:"batteries"`
	Spares    []string  `json:"sparePumps"`
	Cautions  []string  `json:"cautions"`
	Notes     []string  `json:"notes"` // what was assumed
	Sources   []string  `json:"sources"`
}

// First is the tank whose fish suffer first, in the hardest case of the moment.
type First struct {
	Tank  string  `json:"tank"`
	Case  Case    `json:"case"`
	Hours float64 `json:"hours"`
	Text  string  `json:"text"`
}

// Loop is a loop with fish.
type Loop struct {
	Name  string `json:"name"`
	Cases []Case `json:"cases"`
	Tanks []Tank `json:"tanks"`
}

// Tank is a tank with fish and its times.
type Tank struct {
	Name         string   `json:"name"`
	Fish         []string `json:"fish"`
	Number       float64  `json:"number"`
	BiomassKg    float64  `json:"biomassKg"`
	VolumeM3     float64  `json:"volumeM3"`
	DensityKgM3  float64  `json:"densityKgM3"`
	TempC        float64  `json:"tempC"`
	BreathGH     float64  `json:"breathGH"`       // fish, solids and bacteria at the moment, g/h
	DOGm3        float64  `json:"doGm3"`          // at the moment, before the failure
	PH           float64  `json:"ph"`             // worked out
	NH3NGm3      float64  `json:"nh3nGm3"`        // un-ionised
	BatteryAirGH float64  `json:"batteryAirGH"`   // by the label
	CarryAirGH   float64  `json:"carryAirGH"`     // by the label, that keeps fish from suffering
	PlainRested  string   `json:"plainRested"`    // volume × oxygen to spare ÷ use, between meals
	PlainFed     string   `json:"plainAfterMeal"` // the same, twice the use
	Times        []Times  `json:"times"`          // of all cases that touch it, at all moments
}

// Times are when a case passes each threshold.
type Times struct {
	Case       string      `json:"case"` // ID
	Name       string      `json:"name"`
	Moment     Moment      `json:"moment"`
	State      string      `json:"state"` // good, watch, act: by how soon fish suffer or ammonia harms
	Thresholds []Threshold `json:"thresholds"`
}

// Threshold is one limit and when it is passed.
type Threshold struct {
	Level    Level    `json:"level"`
	LimitGm3 float64  `json:"limitGm3"`
	Hours    *float64 `json:"hours"` // rounded down; nil: not within LookHours
	Text     string   `json:"text"`
}

// At returns the hours to a level; ok is false when it is not passed.
func (t *Times) At(l Level) (hours float64, ok bool) {
	for _, x := range t.Thresholds {
		if x.Level == l && x.Hours != nil {
			return *x.Hours, true
		}
	}
	return 0, false
}

// Harm is how soon the fish of a case suffer from want of oxygen or ammonia;
// +Inf for not within LookHours.
func (t *Times) Harm() float64 {
	soon := math.Inf(1)
	for _, l := range []Level{Suffer, Deaths, AmmoniaStop} {
		if h, ok := t.At(l); ok {
			soon = min(soon, h)
		}
	}
	return soon
}

// Battery is air on a battery that stands in the building.
type Battery struct {
	Name   string  `json:"name"`
	Tank   string  `json:"tank"`
	PowerW float64 `json:"powerW"`
	AirGH  float64 `json:"airGH"`
}

// ErrNoFish says that no tank has fish.
var ErrNoFish = errors.New("no fish are written down: there is nothing to have hours in hand for; write them into the site file under opening, fish")

// Of works out the hours in hand of a building with a stock, as StockOf or a
// forecast's day gives it.
//
// Errors: ErrNoFish; a stock in a tank that is not there, of a species not in the
// table or out of range (quantity.ErrRange); a share outside LeastShare to
// MostShare; a loop that plumbing cannot put together.
func Of(s *site.Site, stock []Stock, opt Options) (*Answer, error) {
	if opt.Share == 0 {
		opt.Share = 1
	}
	if err := quantity.InRange("share of the stock", opt.Share, LeastShare, MostShare, ""); err != nil {
		return nil, fmt.Errorf("hours in hand: %w", err)
	}
	m := Moments()[0]
	if opt.Moment != nil {
		m = *opt.Moment
	}
	if err := checkTanks(s, stock); err != nil {
		return nil, fmt.Errorf("hours in hand: %w", err)
	}
	a := &Answer{StockOn: s.Opening.Date, Moment: m, When: m.Words(), Share: opt.Share, Sources: sources(), Cautions: cautions()}
	by := change{share: opt.Share}
	var first *loop
	for i := range s.Loops {
		o, err := newLoop(s, &s.Loops[i], stock, by)
		if err != nil {
			return nil, fmt.Errorf("hours in hand: %w", err)
		}
		if o == nil {
			continue
		}
		before := a.First
		if err := a.add(o); err != nil {
			return nil, fmt.Errorf("hours in hand: %w", err)
		}
		if a.First != before {
			first = o
		}
	}
	if len(a.Loops) == 0 {
		return nil, fmt.Errorf("hours in hand: %w", ErrNoFish)
	}
	if a.First != nil {
		var err error
		if a.Buys, err = buys(s, stock, by, first, *a.First, m); err != nil {
			return nil, fmt.Errorf("hours in hand: %w", err)
		}
	}
	a.BuysNote = batteryNote(s)
	a.Notes = append(a.Notes, feedingNote(), "The temperature is taken to stay: a tank that cools has longer, one that warms has not.")
	a.machinesOf(s)
	a.say()
	return a, nil
}

func checkTanks(s *site.Site, stock []Stock) error {
	var names []string
	for i := range s.Loops {
		for _, t := range s.Loops[i].Tanks {
			names = append(names, t.Name)
		}
	}
	for _, k := range stock {
		if !slices.Contains(names, k.Tank) {
			return fmt.Errorf("fish %s stand in %q, which is no tank of the building; there are %s: %w", k.Name, k.Tank, words.List(names), quantity.ErrRange)
		}
		if _, err := k.look(20); err != nil {
			return err
		}
	}
	return nil
}

// feedingNote says when fish are taken to be fed.
func feedingNote() string {
	var at []string
	for _, h := range fish.MealHours(mealsADay) {
		at = append(at, fmt.Sprintf("%d", h))
	}
	return fmt.Sprintf("Meals are taken to be given at %s o'clock; who feeds more often has a lower height and a longer one.", words.List(at))
}

// add works out a loop.
func (a *Answer) add(o *loop) error {
	c := o.circuit
	out := Loop{Name: c.Loop.Name, Cases: CasesOf(c)}
	at := map[int]int{} // tank of a cell
	for i := range c.Places {
		groups := o.groups[i]
		if len(groups) == 0 {
			continue
		}
		at[i] = len(out.Tanks)
		out.Tanks = append(out.Tanks, o.tank(i, a.Moment))
	}
	for _, m := range Moments() {
		for _, k := range out.Cases {
			when, _, err := o.fail(k, m, LookHours)
			if err != nil {
				return err
			}
			for cell := range c.Places {
				n, ok := at[cell]
				if !ok || k.Tank != "" && c.CellOf[k.Tank] != cell {
					continue
				}
				t := Times{Case: k.ID, Name: k.Name, Moment: m}
				for _, v := range o.levels {
					if v.cell != cell {
						continue
					}
					h, reached := when[v]
					th := Threshold{Level: v.level, LimitGm3: v.limit, Text: text(h, reached)}
					if reached {
						down := kept(h)
						th.Hours = &down
					}
					t.Thresholds = append(t.Thresholds, th)
				}
				harm := t.Harm()
				t.State = stateOf(harm)
				out.Tanks[n].Times = append(out.Tanks[n].Times, t)
				a.Emergency = a.Emergency || harm < EmergencyHours
				if m == a.Moment && !math.IsInf(harm, 1) && (a.First == nil || harm < a.First.Hours) {
					a.First = &First{Tank: out.Tanks[n].Name, Case: k, Hours: harm, Text: text(harm, true)}
				}
			}
		}
	}
	a.Loops = append(a.Loops, out)
	for _, n := range o.notes {
		if !slices.Contains(a.Notes, n) {
			a.Notes = append(a.Notes, n)
		}
	}
	return nil
}

// tank fills what a tank is.
func (o *loop) tank(cell int, m Moment) Tank {
	c := o.circuit
	l := limitsOf(o.groups[cell])
	v := c.Layout.Cells[cell].VolumeM3
	r := o.at[m][cell]
	digesting, _ := o.factors(runDays*24+m.Hour(), o.lastMeal(runDays*24+m.Hour(), true))
	routine, breath := 0.0, otherBreath*o.mean[cell]
	for _, g := range o.groups[cell] {
		routine += g.routineG
		breath += g.routineG + digesting*g.digestG
	}
	t := Tank{
		Name: c.Layout.Cells[cell].Name, Fish: l.names, Number: math.Round(l.number), BiomassKg: rounded(l.biomassKg, 1), VolumeM3: v,
		DensityKgM3: rounded(l.biomassKg/v, 1), TempC: o.tempC[cell], BreathGH: rounded(breath/24, 1),
		DOGm3: rounded(r.DOGm3, 1), PH: rounded(r.PH, 1), NH3NGm3: rounded(r.NH3NGm3, 3),
	}
	_, t.BatteryAirGH = c.AirGH(cell)
	t.BatteryAirGH = rounded(t.BatteryAirGH, 1)
	t.CarryAirGH = math.Ceil(o.carry(cell, l.minFeed))
	for _, p := range []struct {
		to    *string
		times float64
	}{{&t.PlainRested, 1}, {&t.PlainFed, 2}} {
		if l.biomassKg <= 0 || routine <= 0 {
			continue
		}
		if h, err := fish.SuffocationHours(v, r.DOGm3, l.minFeed, l.biomassKg, p.times*routine/24*1000/l.biomassKg); err == nil {
			*p.to = text(h, true)
		}
	}
	return t
}

func rounded(v float64, digits int) float64 {
	p := math.Pow10(digits)
	return math.Round(v*p) / p
}

// machinesOf lists what stands in the building for such an hour.
func (a *Answer) machinesOf(s *site.Site) {
	for i := range s.Loops {
		for _, e := range s.Loops[i].Aerators {
			if e.Backup {
				a.Batteries = append(a.Batteries, Battery{e.Name, e.Tank, e.PowerW, rounded(e.SOTRKgS*3.6e6, 0)})
			}
		}
		for _, p := range s.Loops[i].Pumps {
			if p.Spare {
				name := p.Name
				if p.PowerW > 0 {
					name = fmt.Sprintf("%s (%.0f W)", p.Name, p.PowerW)
				}
				a.Spares = append(a.Spares, name)
			}
		}
	}
	for _, l := range a.Loops {
		for _, t := range l.Tanks {
			for _, w := range s.Opening.Water {
				if w.Loop == l.Name && w.PH > 0 && t.PH-w.PH > 0.3 {
					a.Notes = append(a.Notes, fmt.Sprintf("The times for ammonia in %s go by pH %.1f, to which so much air would bring this alkalinity; the last test of the loop had %.1f, at which there is longer.", t.Name, t.PH, w.PH))
				}
			}
		}
	}
}

// power are a tank's times when pump and air stop, at the answer's moment.
func (a *Answer) power(t *Tank) *Times { return t.Find(PowerFails, a.Moment) }

// Find returns the times of a case at a moment; nil for none.
func (t *Tank) Find(id string, m Moment) *Times {
	for i := range t.Times {
		if t.Times[i].Case == id && t.Times[i].Moment == m {
			return &t.Times[i]
		}
	}
	return nil
}

// Soonest returns the soonest harm of a case over all moments, +Inf for none.
func (t *Tank) Soonest(id string) float64 {
	soon := math.Inf(1)
	for i := range t.Times {
		if t.Times[i].Case == id {
			soon = min(soon, t.Times[i].Harm())
		}
	}
	return soon
}

// TextOf prints hours as the tables do, +Inf as not reached.
func TextOf(hours float64) string { return text(hours, !math.IsInf(hours, 1)) }

// InOrder returns the tanks of all loops, the one that suffers first when pump
// and air stop before the others.
func (a *Answer) InOrder() []*Tank {
	var all []*Tank
	for i := range a.Loops {
		for k := range a.Loops[i].Tanks {
			all = append(all, &a.Loops[i].Tanks[k])
		}
	}
	slices.SortStableFunc(all, func(x, y *Tank) int { return cmp.Compare(x.Soonest(PowerFails), y.Soonest(PowerFails)) })
	return all
}

// say makes the sentences.
func (a *Answer) say() {
	stock := ""
	if a.Share != 1 {
		stock = fmt.Sprintf(" with %.0f %% of the stock", a.Share*100)
	}
	if a.First == nil {
		a.Headline = fmt.Sprintf("Whatever stops %s%s, no tank's fish suffer within %d h.", a.When, stock, LookHours)
	} else {
		a.Headline = fmt.Sprintf("If %s %s%s, %s has %s until its fish suffer%s.", stopped(a.First.Case), a.When, stock, a.First.Tank, a.First.Text, a.carried())
		if a.First.Hours == 0 {
			a.Headline = fmt.Sprintf("The fish of %s already lack oxygen or are harmed by ammonia while all machines run%s: act on that first.", a.First.Tank, stock)
		}
	}
	order := a.InOrder()
	var times []string
	for _, t := range order {
		times = append(times, fmt.Sprintf("%s %s", t.Name, TextOf(a.power(t).Harm())))
	}
	a.Reasons = append(a.Reasons, "Without pump and air: "+strings.Join(times, ", ")+".")
	var bare []string
	for _, t := range order {
		if t.BatteryAirGH == 0 {
			bare = append(bare, t.Name)
		}
	}
	switch {
	case len(bare) == len(order):
		a.Reasons = append(a.Reasons, "No tank has air on a battery.")
	case len(bare) > 0:
		a.Reasons = append(a.Reasons, fmt.Sprintf("%s has no air on a battery.", words.Capital(words.List(bare))))
		if len(bare) > 1 {
			a.Reasons[len(a.Reasons)-1] = fmt.Sprintf("%s have no air on a battery.", words.Capital(words.List(bare)))
		}
	}
	if len(a.Buys) > 0 && a.Buys[0].WonHours > 0 {
		a.Reasons = append(a.Reasons, fmt.Sprintf("Most time for %s: %s (%s).", a.First.Tank, a.Buys[0].Name, a.Buys[0].Won))
	}
	a.Do = a.steps(order)
	a.Back = []string{
		"Bring the pump back with the valves nearly shut, one bed at a time. A bed that stood wet for an hour or more has rotten water: let its first flood run to waste, for it can kill the fish.",
		"Watch the fish for half an hour; at gasping stop the pump, keep the air on.",
		"Test ammonia and nitrite before feeding and a day later.",
		fmt.Sprintf("Feed nothing that day; then %s of the ration, then %s, then all of it.", thirds(fish.FeedAfterStop(1)), thirds(fish.FeedAfterStop(2))),
	}
}

func thirds(share float64) string {
	return [...]string{"nothing", "a third", "two thirds", "all"}[int(math.Round(share*3))]
}

// stopped says what stops: "pump and air stop".
func stopped(k Case) string {
	switch k.ID {
	case PumpStops:
		return "the pump stops"
	case AirStops:
		return "the air stops"
	case BatteryRuns:
		return "pump and air stop and only the battery's air runs"
	case InletBlocked:
		return "the inlet of " + k.Tank + " is blocked"
	}
	return "pump and air stop"
}

// carried tells what the battery's air does for the first tank.
func (a *Answer) carried() string {
	if !a.First.Case.Air || a.First.Case.Backup {
		return ""
	}
	for i := range a.Loops {
		for k := range a.Loops[i].Tanks {
			t := &a.Loops[i].Tanks[k]
			if t.Name != a.First.Tank || t.BatteryAirGH == 0 {
				continue
			}
			if b := t.Find(BatteryRuns, a.Moment); b != nil {
				h := b.Harm()
				if _, falls := b.At(Suffer); !falls && h > batteryHours {
					return "; its battery air carries it as long as the battery lasts"
				} else if !falls {
					return "; its battery air carries it as long as the battery lasts, at most " + TextOf(h) + ", for then ammonia harms"
				} else if h > a.First.Hours {
					return "; with its battery air it has " + TextOf(h)
				}
			}
		}
	}
	return "; no battery air helps it"
}

// batteryHours is longer than a small battery lasts: what comes later is not of
// its hours.
const batteryHours = 24

// steps is what to do, in order.
func (a *Answer) steps(order []*Tank) []string {
	do := []string{"Stop feeding, in every tank. Gasping at the surface means now: that tank first."}
	if len(a.Batteries) == 0 {
		do = append(do, "There is no air on a battery here. With power still on at another socket, run the air from there.")
	} else {
		var where []string
		for _, b := range a.Batteries {
			where = append(where, fmt.Sprintf("%s (%.0f W) in %s", b.Name, b.PowerW, b.Tank))
		}
		do = append(do, "See that the battery air runs: "+words.List(where)+".")
	}
	var by []string
	for _, t := range order {
		by = append(by, fmt.Sprintf("%s (%s)", t.Name, TextOf(t.Soonest(PowerFails))))
	}
	walk := "Go to the tanks in this order: " + words.List(by) + "."
	var without []string
	for _, t := range order {
		if !slices.ContainsFunc(a.Batteries, func(b Battery) bool { return b.Tank == t.Name }) {
			without = append(without, t.Name)
		}
	}
	if len(a.Batteries) > 0 && len(without) > 0 {
		walk += " Where battery air runs, first to those without: " + words.List(without) + "."
	}
	do = append(do, walk)
	do = append(do, "No air at all in a tank: call for help, then dip a bucket and pour it back from knee height, without a stop, into the tank that comes first.")
	do = append(do, "Find the cause with dry hands: the plug, the switch that trips (RCD) and the fuse, then the pump's strainer, then the valve and hose of a single tank. Unplug before you reach in. A hose that is off pumps the sump onto the floor: pump off first.")
	if len(a.Spares) > 0 {
		do = append(do, "Pump dead but power on: put in "+words.List(a.Spares)+".")
	}
	if t := order[0]; !math.IsInf(t.Soonest(PowerFails), 1) {
		do = append(do, fmt.Sprintf("Half of the time gone and nothing runs: move half the fish of %s into the tank with most time, of like temperature, if they can live together.", t.Name))
	}
	return do
}

func cautions() []string {
	return []string{
		"Electricity by water kills: RCD on every socket, dry hands, unplug before reaching in, no cable in a puddle; ask an electrician.",
		"A lead battery gives off hydrogen while it charges: in the open, no flame, terminals covered, a fuse at the battery.",
		"Nobody goes into a tank or a pit alone at night.",
		"With doors shut carbon dioxide and a generator's gas collect low: never run an engine inside, open a door, leave at a headache.",
		"A bed that stands wet and still is without oxygen in 1 to 3 h; flushed back, its nitrite and hydrogen sulphide can kill fish: first flood to waste.",
		"These are averages for healthy fish; small, sick or just handled ones have less time. Ask a veterinarian or an aquaculture adviser.",
	}
}

func sources() []string {
	return []string{
		"Breathing and limits: the species table, each row with its own source; digestion and its hours, package fish.",
		"Oxygen in equilibrium: Benson & Krause; still surface 0.6 m/d: Chin 2006.",
		"Bacteria and solids a quarter of the fish's mean breathing in the tank: 20 to 30 %, common practice.",
		"Time to suffocation, plain: volume × oxygen to spare ÷ use; Timmons & Ebeling, from memory.",
	}
}

// carry is the oxygen by the label, g/h, that an air stone must give to hold a
// cell at doGm3 when digestion is at its height and nothing flows; 0 where no
// stone could.
func (o *loop) carry(cell int, doGm3 float64) float64 {
	most := 0.0
	for _, x := range o.rhythm.Digesting {
		most = max(most, 24*x)
	}
	use := otherBreath * o.mean[cell]
	for _, g := range o.groups[cell] {
		use += g.routineG + g.digestG*most
	}
	f := o.circuit.Layout.NewForcing()
	for i := range f.Cells {
		f.Cells[i].TempC = o.tempC[i]
	}
	const label = 1.0 // g/h
	if o.circuit.Force(f, o.air, plumbing.Running{PumpOff: true, AirOff: true, ExtraAirGH: label, ExtraAirTo: cell}) != nil {
		return 0 // told by newLoop already
	}
	v := o.circuit.Layout.Cells[cell].VolumeM3
	gives := v * f.Cells[cell].AirPerDay * (cells.UsualBeta*f.Cells[cell].DOSatGm3 - doGm3)
	if gives <= 0 {
		return 0
	}
	return use / gives
}

// Has tells whether a case was looked at for the tank.
func (t *Tank) Has(id string) bool {
	return slices.ContainsFunc(t.Times, func(x Times) bool { return x.Case == id })
}
