package inhand

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tidebed/plumbing"
	"tidebed/science/fabric"
	"tidebed/science/fish"
	"tidebed/site"
	"tidebed/warmth"
	"tidebed/words"
)

// ErrNoSkin says that a building cannot be reckoned as it cools; callers leave its
// warm side out.
var ErrNoSkin = errors.New("the hours until cold are not reckoned: describe the building under zones and surfaces")

// Warm is how long a building keeps its warmth when heat or power stops, and how long
// its cool when the vents stay shut.
type Warm struct {
	Nights   []WarmNight `json:"nights"` // the design night first
	Hot      WarmDay     `json:"hotDay"`
	Headline string      `json:"headline"`
	All      []WarmRow   `json:"rows"` // as Rows
	Do       []string    `json:"do"`   // in order
	Cautions []string    `json:"cautions"`
	Notes    []string    `json:"notes"`
	Sources  []string    `json:"sources"`
}

// WarmNight is a night that does not end.
type WarmNight struct {
	Name     string  `json:"name"`
	OutsideC float64 `json:"outsideC"`
}

// WarmDay is a clear hot day, again and again.
type WarmDay struct {
	Month   int     `json:"month"` // 1 to 12
	MaxC    float64 `json:"maxC"`
	MinC    float64 `json:"minC"`
	GHIMJm2 float64 `json:"ghiMJm2"`
	FromH   int     `json:"fromHour"` // of the standard clock, from which hours are counted: sunrise
}

// The cases of the warm side.
const (
	HeatFails  = "heat"  // all heaters stop, pumps and air run
	PowerCold  = "cold"  // power fails, and with it heat: no water moves
	VentsStick = "vents" // vents stay shut on a hot day
)

// The thresholds of the warm side.
const (
	FrostNear  Level = "frost near" // 3 °C: leaves freeze before the air does
	AirFrost   Level = "air frost"
	ColdFeed   Level = "too cold to feed"
	ColdDeaths Level = "deaths by cold begin"
	AirHot     Level = "leaves scorch"
	HotFeed    Level = "too warm to feed"
	HotDeaths  Level = "deaths by heat begin"
)

// What helps.
const (
	ByCurtain = "curtain" // drawn, in the zone
	ByWater   = "water"   // 1 m³ more in barrels in the zone
	ByHeater  = "heater"  // 2 kW more in the zone
)

// WarmRow is a zone or a tank and when it passes a limit.
type WarmRow struct {
	Case     string     `json:"case"`
	When     string     `json:"when"`     // in words
	OutsideC float64    `json:"outsideC"` // of oxygen that of the first night, which it does not hang on
	Zone     string     `json:"zone"`
	Tank     string     `json:"tank,omitempty"` // empty: the zone's air
	Fish     string     `json:"fish,omitempty"`
	Level    Level      `json:"level"`
	LimitC   *float64   `json:"limitC"` // nil: oxygen, which has its own tables
	StartC   float64    `json:"startC"`
	Hours    *float64   `json:"hours"` // rounded down; nil: not within LookHours
	Text     string     `json:"text"`
	With     []WarmWith `json:"with"` // what would be with help; none for oxygen
	Say      string     `json:"say"`
}

// WarmWith is a row's time with help.
type WarmWith struct {
	ID       string   `json:"id"` // ByCurtain, ByWater, ByHeater
	Name     string   `json:"name"`
	Hours    *float64 `json:"hours"`
	Text     string   `json:"text"`
	WonHours float64  `json:"wonHours"` // LookHours where it carries it through
}

// Oxygen tells whether a row is of oxygen.
func (r *WarmRow) Oxygen() bool { return r.Level == Suffer }

// left is a row's hours, +Inf for none.
func (r *WarmRow) left() float64 {
	if r.Hours == nil {
		return math.Inf(1)
	}
	return *r.Hours
}

const (
	// hardBelowK below the coldest month's mean minimum is the hard night.
	hardBelowK = 10.0
	// hotSD spreads above the mean maximum is the hot day: two or three a summer.
	hotSD = 2.0
	// clearShare of the light above the air reaches the ground on a clear day, a
	// fifth of it from the sky; from memory, FAO-56 has 0.75 by the sea.
	clearShare, clearDiffuse = 0.75, 0.2
	// scorchC is the air in which leaves of most crops scorch or drop flowers;
	// common practice, no source.
	scorchC = 40.0
	// hotSpinDays, mean ones with vents at work, go before the vents stick.
	hotSpinDays = 5
)

// WarmOf works out the warm side of a building's hours in hand: from the night for
// which heaters are sized and once more from one 10 K below the coldest month's mean
// minimum; and on a hot clear day of the warmest month with all vents shut.
//
// The nights do not end and the air outside stays as cold, so that the times are
// short rather than long. Curtains count only under ByCurtain: a cut may come while
// they are open. Air and what is light in it hold five times the heat of air alone;
// the floor is a body of its own. Open tanks lose 12 W/m²K, aerated ones 20 (what
// evaporates in it), all to the air, which comes out a little too warm. Running
// water ties each tank and bed to the cell the pump draws from, exact where each
// flows straight back; standing water to nothing. Zones start at their set points by
// night, or where their heaters full on still hold them; water at the temperature it
// is kept at. No lamps, no people.
//
// Errors: ErrNoSkin where the site describes no surfaces, where package fabric cannot
// hold so many bodies together, or where the place has no climate; a stock or loop
// that cannot be, as Of.
func WarmOf(s *site.Site) (*Warm, error) {
	if len(s.Surfaces) == 0 || len(s.Zones) == 0 {
		return nil, ErrNoSkin
	}
	months, sdK, guessed, err := warmth.NormalsOf(s)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoSkin, err)
	}
	w := &Warm{Cautions: warmCautions(), Sources: warmSources()}
	var minC [12]float64
	meanC, hot := 0.0, 0
	for i, m := range months {
		minC[i] = m.TminC
		meanC += (m.TmaxC + m.TminC) / 24
		if m.TmaxC > months[hot].TmaxC {
			hot = i
		}
	}
	design, err := fabric.DesignC(minC, sdK)
	if err != nil {
		return nil, fmt.Errorf("hours until cold: %w", err)
	}
	w.Nights = []WarmNight{{"the night for which heaters are sized", rounded(design.SizingC, 1)}}
	if hard := rounded(minC[design.Month]-hardBelowK, 1); hard < w.Nights[0].OutsideC {
		w.Nights = append(w.Nights, WarmNight{"a night of record cold, 10 K below the coldest month's mean night", hard})
	}
	var circuits []*plumbing.Circuit
	for i := range s.Loops {
		c, err := plumbing.Of(&s.Loops[i])
		if err != nil {
			return nil, fmt.Errorf("hours until cold: %w", err)
		}
		circuits = append(circuits, c)
	}
	b, err := warmth.New(s, circuits, warmth.Options{GroundC: meanC, UTCOffsetH: math.Round(s.Place.LongitudeDeg / 15)})
	if err != nil {
		return nil, fmt.Errorf("hours until cold: %w", err)
	}
	if b == nil {
		return nil, ErrNoSkin
	}
	w.Notes = append(w.Notes, "The nights do not end and stay as cold: a real morning gives more time.", "Curtains are taken to be open; what they win when drawn stands beside each time.",
		"The rows stand by the time left, whichever the night; those of oxygen first, and of what comes at the same time the milder night first.")
	if guessed {
		w.Notes = append(w.Notes, fmt.Sprintf("The nights of the coldest month are taken to spread by %.1f K, by the range of the year.", sdK[design.Month]))
	}
	c, err := newChilling(s, b, circuits, meanC)
	if err != nil {
		return nil, fmt.Errorf("hours until cold: %w", err)
	}
	for i := range w.Nights {
		if err := w.cold(s, c, &w.Nights[i]); err != nil {
			return nil, fmt.Errorf("hours until cold, %.1f °C outside: %w", w.Nights[i].OutsideC, err)
		}
	}
	if err := w.hotDay(s, circuits, months, sdK, meanC, hot); err != nil {
		return nil, fmt.Errorf("hours until heat: %w", err)
	}
	if err := w.oxygen(s, b); err != nil {
		return nil, fmt.Errorf("hours until cold: %w", err)
	}
	w.pumpedCold(s)
	w.sort()
	w.say()
	return w, nil
}

// kinds are the species that stand in a tank, each once.
func kinds(s *site.Site, tank string) ([]fish.Species, error) {
	var all []fish.Species
	for i := range s.Opening.Cohorts {
		k := &s.Opening.Cohorts[i]
		if k.Tank != tank || k.Count == 0 {
			continue
		}
		sp, err := fish.Lookup(k.Species)
		if err != nil {
			return nil, fmt.Errorf("fish in %s: %w", tank, err)
		}
		if !slices.ContainsFunc(all, func(x fish.Species) bool { return x.ID == sp.ID }) {
			all = append(all, sp)
		}
	}
	return all, nil
}

// cold adds the rows of a night.
func (w *Warm) cold(s *site.Site, c *chilling, night *WarmNight) error {
	_, _, short, err := c.start(night.OutsideC)
	if err != nil {
		return err
	}
	for i, z := range c.zones {
		if short[i] {
			w.Notes = append(w.Notes, fmt.Sprintf("At %.0f °C outside the heaters of %s do not hold its %.0f °C even while they run.", night.OutsideC, z.name, z.setC))
		}
	}
	for _, powerOff := range []bool{true, false} {
		id, when := HeatFails, "heat off, power on"
		if powerOff {
			id, when = PowerCold, "power and heat off"
		}
		when += fmt.Sprintf(", %.0f °C outside", night.OutsideC)
		for i, z := range c.zones {
			row := WarmRow{Case: id, When: when, OutsideC: night.OutsideC, Zone: z.name}
			var rows []WarmRow
			var nodes []int
			add := func(node int, l Level, limitC float64) {
				row.Level, row.LimitC = l, &limitC
				rows, nodes = append(rows, row), append(nodes, node)
			}
			add(2*i, FrostNear, fabric.FrostAlarmC)
			add(2*i, AirFrost, fabric.FrostC)
			for k := range c.bodies {
				if c.bodies[k].zone != i || c.bodies[k].tank == "" {
					continue
				}
				species, err := kinds(s, c.bodies[k].tank)
				if err != nil {
					return err
				}
				for _, sp := range species {
					row.Tank, row.Fish = c.bodies[k].tank, sp.Name
					add(2*len(c.zones)+k, ColdFeed, sp.FeedStopLowC)
					add(2*len(c.zones)+k, ColdDeaths, sp.LethalLowC)
				}
			}
			if err := c.fill(s, rows, nodes, night.OutsideC, powerOff, i); err != nil {
				return err
			}
			w.All = append(w.All, rows...)
		}
	}
	return nil
}

// fill works out the times of a zone's rows as it is and with each help.
func (c *chilling) fill(s *site.Site, rows []WarmRow, nodes []int, outsideC float64, powerOff bool, zone int) error {
	type try struct {
		id, name string
		with     help
	}
	tries := []try{{"", "", help{zone: zone}}}
	if c.zones[zone].skin.GlazedM2 > 0 {
		name := "a curtain, drawn"
		if s.Zones[zone].Curtain != "" {
			name = "its curtain drawn"
		}
		tries = append(tries, try{ByCurtain, name, help{zone: zone, curtain: true}})
	}
	tries = append(tries, try{ByWater, fmt.Sprintf("%.0f m³ more water in barrels", moreM3), help{zone: zone, waterM3: moreM3}},
		try{ByHeater, fmt.Sprintf("a standby heater of %.0f kW with its own flue", standbyW/1000), help{zone: zone, heaterW: standbyW}})
	for _, t := range tries {
		b, tempC, err := c.cooling(outsideC, powerOff, t.with)
		if err != nil {
			return err
		}
		for k := range rows {
			h, err := fall(b, tempC, nodes[k], *rows[k].LimitC)
			if err != nil {
				return err
			}
			if t.id == "" {
				rows[k].StartC = rounded(tempC[nodes[k]], 1)
				rows[k].set(h)
			} else {
				rows[k].with(t.id, t.name, h)
			}
		}
	}
	return nil
}

func (r *WarmRow) set(h float64) {
	r.Hours, r.Text = hoursOf(h)
}

// with adds a time with help, after set.
func (r *WarmRow) with(id, name string, h float64) {
	x := WarmWith{ID: id, Name: name}
	x.Hours, x.Text = hoursOf(h)
	switch {
	case r.Hours == nil:
	case x.Hours == nil:
		x.WonHours = LookHours
	default:
		x.WonHours = math.Round(max(0, *x.Hours-*r.Hours)*1e4) / 1e4
	}
	r.With = append(r.With, x)
}

func hoursOf(h float64) (*float64, string) {
	if math.IsInf(h, 1) {
		return nil, TextOf(h)
	}
	down := kept(h)
	return &down, TextOf(h)
}

// oxygen adds a row for each tank with fish: how soon they suffer when pump and air
// stop, the soonest of the four moments of Of.
func (w *Warm) oxygen(s *site.Site, b *warmth.Building) error {
	stock := StockOf(s)
	if err := checkTanks(s, stock); err != nil {
		return err
	}
	zoneOf := map[[2]int]int{}
	for _, x := range b.Bodies() {
		zoneOf[[2]int{x.Loop, x.Cell}] = x.Zone
	}
	for i := range s.Loops {
		o, err := newLoop(s, &s.Loops[i], stock, change{share: 1})
		if err != nil {
			return err
		}
		if o == nil {
			continue
		}
		soon := make([]float64, len(o.circuit.Places))
		for k := range soon {
			soon[k] = math.Inf(1)
		}
		for _, m := range Moments() {
			when, _, err := o.fail(Case{ID: PowerFails, Pump: true, Air: true}, m, LookHours)
			if err != nil {
				return err
			}
			for v, h := range when {
				if v.level == Suffer || v.level == Deaths {
					soon[v.cell] = min(soon[v.cell], h)
				}
			}
		}
		for cell := range o.circuit.Places {
			if len(o.groups[cell]) == 0 {
				continue
			}
			r := WarmRow{Case: PowerCold, When: "power off, any weather", OutsideC: w.Nights[0].OutsideC, Tank: o.circuit.Layout.Cells[cell].Name,
				Fish: words.List(limitsOf(o.groups[cell]).names), Level: Suffer, StartC: rounded(o.tempC[cell], 1), Zone: s.Zones[zoneOf[[2]int{i, cell}]].Name}
			r.set(soon[cell])
			w.All = append(w.All, r)
		}
	}
	return nil
}

// pumpedCold says of a tank that cools sooner with its pumps running than without
// power why that is: the pumped water gives its warmth off in beds and sump, and the
// bubbles give it to the air, where standing water keeps it.
func (w *Warm) pumpedCold(s *site.Site) {
	for i := range w.All {
		r := &w.All[i]
		if r.Case != HeatFails || r.Tank == "" || r.Oxygen() {
			continue
		}
		sooner := slices.ContainsFunc(w.All, func(still WarmRow) bool {
			return still.Case == PowerCold && still.OutsideC == r.OutsideC && still.Tank == r.Tank && still.Fish == r.Fish && still.Level == r.Level && r.left() < still.left()
		})
		if !sooner {
			continue
		}
		why := "bubbled"
		if slices.ContainsFunc(s.Loops, func(l site.Loop) bool {
			return len(l.Beds) > 0 && slices.ContainsFunc(l.Tanks, func(t site.Tank) bool { return t.Name == r.Tank })
		}) {
			why = "pumped through cold beds"
		}
		r.When = fmt.Sprintf("heat off, power on (%s, so sooner), %.0f °C outside", why, r.OutsideC)
	}
}

// sort puts the rows in order: oxygen first, then by time left; of what comes at the
// same time that of the milder night first.
func (w *Warm) sort() {
	slices.SortStableFunc(w.All, func(a, b WarmRow) int {
		if a.Oxygen() != b.Oxygen() {
			if a.Oxygen() {
				return -1
			}
			return 1
		}
		return cmp.Or(cmp.Compare(a.left(), b.left()), -cmp.Compare(a.OutsideC, b.OutsideC))
	})
	for i := range w.All {
		w.All[i].Say = w.All[i].say()
	}
}

// Rows are all rows as they are told: those of oxygen first, whatever else comes
// sooner, then by time left.
func (w *Warm) Rows() []WarmRow { return slices.Clone(w.All) }

// Of returns the rows of a case, in the order of Rows.
func (w *Warm) Of(id string) []WarmRow {
	return slices.DeleteFunc(w.Rows(), func(r WarmRow) bool { return r.Case != id })
}

// what says what happens: "the air of hall falls to 3 °C, frost is near".
func (r *WarmRow) what() string {
	switch r.Level {
	case Suffer:
		return fmt.Sprintf("%s: the fish lack oxygen", r.Tank)
	case FrostNear:
		return fmt.Sprintf("%s: air of %.0f °C, leaves may freeze", r.Zone, *r.LimitC)
	case AirFrost:
		return fmt.Sprintf("%s: frost", r.Zone)
	case AirHot:
		return fmt.Sprintf("%s: air of %.0f °C, leaves scorch", r.Zone, *r.LimitC)
	case ColdFeed, HotFeed:
		return fmt.Sprintf("%s in %s stop feeding at %.0f °C", r.Fish, r.Tank, *r.LimitC)
	}
	return fmt.Sprintf("%s in %s begin to die at %.0f °C", r.Fish, r.Tank, *r.LimitC)
}

// after says a row's time: "after 2 h".
func (r *WarmRow) after() string {
	switch {
	case r.Hours == nil:
		return NotReached
	case *r.Hours == 0:
		return "already"
	}
	return "after " + r.Text
}

func (r *WarmRow) say() string {
	text := words.Capital(r.When) + ": " + r.what() + ", " + r.after() + "."
	if best := r.best(); best != nil {
		won := Duration(best.WonHours) + " more"
		if best.Hours == nil {
			won = "it does not come to it within " + fmt.Sprintf("%d h", LookHours)
		}
		text += fmt.Sprintf(" With %s: %s.", best.Name, won)
	}
	return text
}

// best is the help that wins most; nil for none that wins five minutes.
func (r *WarmRow) best() *WarmWith {
	var best *WarmWith
	for i := range r.With {
		if x := &r.With[i]; x.WonHours > 4.9/60 && (best == nil || x.WonHours > best.WonHours) {
			best = x
		}
	}
	return best
}

// first is the first row that f takes and that is reached; nil for none.
func (w *Warm) first(f func(*WarmRow) bool) *WarmRow {
	for i := range w.All {
		if r := &w.All[i]; r.Hours != nil && f(r) {
			return r
		}
	}
	return nil
}

// onNight takes the rows of the design night, power or heat off.
func (w *Warm) onNight(r *WarmRow) bool {
	return !r.Oxygen() && r.Case != VentsStick && r.OutsideC == w.Nights[0].OutsideC
}

func (w *Warm) say() {
	air := w.first(func(r *WarmRow) bool { return w.onNight(r) && r.Tank == "" })
	water := w.first(func(r *WarmRow) bool { return w.onNight(r) && r.Tank != "" })
	var parts []string
	if ox := w.oxygenText(); ox != "" {
		parts = append(parts, "Without power oxygen comes first: "+ox+".")
	}
	for _, r := range []*WarmRow{air, water} {
		if r != nil {
			parts = append(parts, r.Say)
		}
	}
	if air == nil && water == nil {
		parts = append(parts, fmt.Sprintf("At %.0f °C outside neither frost nor cold water comes within %d h.", w.Nights[0].OutsideC, LookHours))
	}
	w.Headline = strings.Join(parts, " ")
	w.Do = []string{
		"See to the air in the tanks first: cold kills fish slowly, want of oxygen at once.",
		"Shut doors and vents, draw the curtains, lay film or fleece over seedlings and carry the tenderest into the warmest room.",
		"Cover open tanks with lids or foam, but never the air stones' way out.",
		"Heat off but power on: fewer floods by night keep the tanks warm longer; the air stones stay on.",
		"Stop feeding fish whose water nears the limit; warm no tank by more than 1 K an hour afterwards.",
		"Below 0 °C inside: drain pumps and pipes that stand, before they burst.",
		"Vents stuck on a hot day: open doors and panels by hand, then hang shade outside.",
	}
}

// oxygenText names the tanks and their oxygen, the soonest first.
func (w *Warm) oxygenText() string {
	var names []string
	for i := range w.All {
		if r := &w.All[i]; r.Oxygen() {
			names = append(names, r.Tank+" "+r.Text)
		}
	}
	return words.List(names)
}

// Lines are at most four short lines for the emergency card: oxygen, the cold, the
// heat, and what never to do.
func (w *Warm) Lines() []string {
	var lines []string
	if t := w.oxygenText(); t != "" {
		lines = append(lines, "Oxygen first: "+t+" without power.")
	}
	var cold []string
	air := w.first(func(r *WarmRow) bool { return w.onNight(r) && r.Level == FrostNear })
	water := w.first(func(r *WarmRow) bool { return w.onNight(r) && r.Tank != "" })
	for _, r := range []*WarmRow{air, water} {
		if r != nil {
			cold = append(cold, r.what()+", "+r.after())
		}
	}
	if len(cold) == 0 {
		cold = append(cold, "neither frost nor cold water "+NotReached)
	}
	lines = append(lines, fmt.Sprintf("No heat at %.0f °C outside: %s.", w.Nights[0].OutsideC, strings.Join(cold, "; ")))
	if r := w.first(func(r *WarmRow) bool { return r.Case == VentsStick && r.left() > 0 }); r != nil {
		lines = append(lines, fmt.Sprintf("Vents stuck on a hot day: %s, %s from sunrise.", r.what(), r.after()))
	}
	return append(lines, "Never burn anything without a flue inside, not even to save the night; generator outdoors only.")
}

func warmCautions() []string {
	return []string{
		"Oxygen fails before heat: in a power cut see to the air first; water kills through cold slowly.",
		"Never a burner without a flue, charcoal or an open flame inside to save the night: carbon monoxide kills in minutes without smell. A CO alarm wherever anything burns; ask a heating engineer.",
		"A generator runs outdoors only, away from doors and vents; ask an electrician before it feeds the house.",
		"Electric heaters near water want an RCD of 30 mA, those in tanks a guard and a low-water cut-out; ask an electrician.",
		"Fish suffer from a fall of more than 1 to 2 K an hour even above their limits.",
		"A typical year holds no record cold: ask the weather service for the place's lowest.",
		"A hot closed house harms people too: nobody works in it alone.",
	}
}

func warmSources() []string {
	return []string{
		"Losses, floors and tanks: packages warmth and fabric, with the U of the site file; handbook wind of 6.7 m/s.",
		"Limits of fish: the species table, each row with its own source.",
		"Frost at 0 °C, alarm at 3 °C: leaves lie 1 to 3 K below the air on clear nights; common practice, no source.",
		"The design night: 2.5 spreads below the coldest month's mean minimum, fitted to typical years.",
	}
}

// monthName is a month in words.
func monthName(m int) string { return time.Month(m).String() }
