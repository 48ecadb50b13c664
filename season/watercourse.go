package season

import (
	"fmt"
	"math"
	"slices"

	"tidebed/science/fish"
	"tidebed/science/water"
	"tidebed/site"
)

// WaterCourse is what becomes of a loop's water.
type WaterCourse struct {
	Cells []CellCourse `json:"cells"`
	Days  []LoopDay    `json:"days"`
	Doses []DoseGiven  `json:"doses"`
	Notes []string     `json:"notes"`
	// What plumbing brings, for people.
	FlowM3Day  float64 `json:"flowM3Day"`
	PumpKWhDay float64 `json:"pumpKWhDay"` // taken by the pumps at the plug; 0 where the site does not say
	FlowRuled  bool    `json:"flowRuled"`  // by rule of thumb, the pump's curve being unknown
	Work       string  `json:"-"`          // what the integrator did, for people

	tanks []tankDay
	oldC  []float64
}

// CellCourse is the water of one tank, group of beds or sump.
type CellCourse struct {
	Name     string     `json:"name"`
	Kind     string     `json:"kind"`
	Tank     string     `json:"tank,omitempty"`
	Group    string     `json:"group,omitempty"` // of its fish, as the limits name it
	VolumeM3 float64    `json:"volumeM3"`
	MediaM2  float64    `json:"mediaM2"`
	Days     []CellDay  `json:"days"`
	Hours    []CellHour `json:"hours"` // of the first days
	Leaves   []Crossing `json:"leaves"`
	groups   []water.Group
}

// CellDay is a cell's water over one day.
type CellDay struct {
	Day        site.Date `json:"day"`
	TempC      float64   `json:"tempC"` // mean
	DOMinGm3   float64   `json:"doMinGm3"`
	DOMeanGm3  float64   `json:"doMeanGm3"`
	PHMin      float64   `json:"phMin"`
	PHMax      float64   `json:"phMax"`
	TANMaxGm3  float64   `json:"tanMaxGm3"`
	NH3NMaxGm3 float64   `json:"nh3nMaxGm3"`
	NO2NMaxGm3 float64   `json:"no2nMaxGm3"`
	CO2MaxGm3  float64   `json:"co2MaxGm3"`
	AlkEqM3    float64   `json:"alkEqM3"`   // least
	NO3NGm3    float64   `json:"no3nGm3"`   // at the end
	LostShare  float64   `json:"lostShare"` // of the fish, to the water
}

// CellHour is a cell's water at the end of an hour.
type CellHour struct {
	Hour    int     `json:"hour"` // since the start of the first day
	TempC   float64 `json:"tempC"`
	DOGm3   float64 `json:"doGm3"`
	PH      float64 `json:"ph"`
	TANGm3  float64 `json:"tanGm3"`
	NH3NGm3 float64 `json:"nh3nGm3"`
	CO2Gm3  float64 `json:"co2Gm3"`
}

// KeptHours is how many hours from the start are kept one by one.
const KeptHours = 72

// LoopDay is what a loop's water shares, at the end of a day.
type LoopDay struct {
	Day       site.Date `json:"day"`
	NO3NGm3   float64   `json:"no3nGm3"`
	PGm3      float64   `json:"pGm3"`
	KGm3      float64   `json:"kGm3"`
	CaGm3     float64   `json:"caGm3"`
	MgGm3     float64   `json:"mgGm3"`
	FeGm3     float64   `json:"feGm3"`
	NaGm3     float64   `json:"naGm3"`
	ClGm3     float64   `json:"clGm3"`
	IonicMolL float64   `json:"ionicMolL"`
	FeedG     float64   `json:"feedG"`
	UptakeNG  float64   `json:"uptakeNG"`
	SolidsKg  float64   `json:"solidsKg"` // dry, in the beds
	Clogged   float64   `json:"clogged"`  // share of the fullest bed's pores
}

// Crossing is the first day on which a value leaves a band of its limits.
type Crossing struct {
	Parameter string    `json:"parameter"`
	Day       site.Date `json:"day"`
	Value     float64   `json:"value"`
	Limit     float64   `json:"limit"`
	Unit      string    `json:"unit"`
	High      bool      `json:"high"`
	Verdict   string    `json:"verdict"` // watch, act, critical
	Cause     string    `json:"cause"`
	Until     site.Date `json:"until"` // last day of it within the run
	Source    string    `json:"source"`
	LostShare float64   `json:"lostShare"` // of the fish, by the water, over the run
}

// tankDay is what the fish of a tank do on a day, g an hour, and what the water
// does to them.
type tankDay struct {
	tan, oxygen [hours]float64
}

// tanks are the places for fish, one for each cell.
func (l *loop) tanks() []tankDay { return l.course.tanks }

// startCourse makes room for all days.
func (l *loop) startCourse(days int) {
	c := l.circuit
	l.course.tanks, l.course.oldC = make([]tankDay, len(c.Places)), make([]float64, len(c.Places))
	l.course.FlowM3Day, l.course.FlowRuled = c.FlowDay, c.Ruled
	l.course.Days = make([]LoopDay, 0, days)
	for i := range c.Places {
		p := &c.Places[i]
		cell := CellCourse{Name: c.Layout.Cells[i].Name, Kind: string(p.Kind), VolumeM3: c.Layout.Cells[i].VolumeM3, MediaM2: c.Layout.Cells[i].MediaM2,
			Days: make([]CellDay, 0, days), Hours: make([]CellHour, 0, min(KeptHours, days*hours))}
		if p.Tank != nil {
			cell.Tank = p.Tank.Name
		}
		l.course.Cells = append(l.course.Cells, cell)
	}
}

// dayOfCourse opens a day.
func (l *loop) dayOfCourse(r *run, d int) {
	for i := range l.course.Cells {
		c := &l.course.Cells[i]
		c.Days = c.Days[:len(c.Days)+1]
		c.Days[len(c.Days)-1] = CellDay{Day: r.s.Opening.Date.Plus(d), DOMinGm3: math.Inf(1), PHMin: math.Inf(1), AlkEqM3: math.Inf(1)}
	}
}

// sample keeps the end of an hour and what it does to the fish.
func (l *loop) sample(r *run, d, h int) {
	for i := range l.course.Cells {
		c := &l.course.Cells[i]
		day := &c.Days[len(c.Days)-1]
		now := l.w.Read(i)
		day.TempC += l.tempC[i]
		day.DOMinGm3 = math.Min(day.DOMinGm3, now.DOGm3)
		day.DOMeanGm3 += now.DOGm3
		if h == hours-1 {
			day.TempC, day.DOMeanGm3 = day.TempC/hours, day.DOMeanGm3/hours
		}
		day.PHMin, day.PHMax = math.Min(day.PHMin, now.PH), math.Max(day.PHMax, now.PH)
		day.TANMaxGm3 = math.Max(day.TANMaxGm3, now.TANGm3)
		day.NH3NMaxGm3 = math.Max(day.NH3NMaxGm3, now.NH3NGm3)
		day.NO2NMaxGm3 = math.Max(day.NO2NMaxGm3, now.NO2NGm3)
		day.CO2MaxGm3 = math.Max(day.CO2MaxGm3, now.CO2Gm3)
		day.AlkEqM3 = math.Min(day.AlkEqM3, now.AlkEqM3)
		day.NO3NGm3 = now.NO3NGm3
		if d*hours+h < KeptHours {
			c.Hours = append(c.Hours, CellHour{d*hours + h, l.tempC[i], now.DOGm3, now.PH, now.TANGm3, now.NH3NGm3, now.CO2Gm3})
		}
		if c.Tank == "" {
			continue
		}
		w := fish.Exposure{DOGm3: now.DOGm3, NH3NGm3: now.NH3NGm3, NO2NGm3: now.NO2NGm3, ChlorideGm3: l.have.cl / l.volumeM3, TempC: l.tempC[i], PH: now.PH}
		for k := range r.cohorts {
			if co := &r.cohorts[k]; co.tank == l.circuit.Places[i].Tank && co.fish.Number > 0 {
				co.hazard += co.fish.Species.LossPerHour(co.fish.WeightG, w)
				if cause, rate := co.fish.Species.Cause(co.fish.WeightG, w); rate > co.worst {
					co.worst, co.cause = rate, cause
				}
			}
		}
	}
}

// endOfDay keeps what the loop shares.
func (l *loop) endOfDay(d int, date site.Date) {
	v := l.volumeM3
	day := LoopDay{Day: date, NO3NGm3: l.w.Read(l.circuit.Hub).NO3NGm3, PGm3: l.have.p / v, KGm3: l.have.k / v, CaGm3: l.have.ca / v, MgGm3: l.have.mg / v,
		FeGm3: l.have.fe / v, NaGm3: l.have.na / v, ClGm3: l.have.cl / v, IonicMolL: l.slow.IonicMolL, FeedG: l.feedToday, UptakeNG: l.wantN * l.got}
	for i := range l.solidsDry {
		day.SolidsKg += (l.solidsDry[i].FastG + l.solidsDry[i].SlowG) / 1000
		day.Clogged = math.Max(day.Clogged, l.clogged(i))
	}
	l.course.Days = append(l.course.Days, day)
}

// yesterday is the water of a tank on the day before, or of the opening.
func (l *loop) yesterday(tank int) CellDay {
	if l.w == nil {
		return CellDay{DOMinGm3: math.Inf(1)}
	}
	if days := l.course.Cells[tank].Days; len(days) > 0 {
		return days[len(days)-1]
	}
	now := l.w.Read(tank)
	return CellDay{TempC: l.tempC[tank], DOMinGm3: now.DOGm3, TANMaxGm3: now.TANGm3, NH3NMaxGm3: now.NH3NGm3, NO2NMaxGm3: now.NO2NGm3}
}

// yesterdayTAN is the most ammonia of a cell on the last whole day.
func (l *loop) yesterdayTAN(cell int) float64 {
	days := l.course.Cells[cell].Days
	if len(days) < 2 {
		return 0
	}
	return days[len(days)-2].TANMaxGm3
}

// feedShare is the share of the full ration that a tank's water of the day before
// allows. The oxygen of the opening is not known and taken to be enough.
func (l *loop) feedShare(s *fish.Species, tank int, tempC float64, daysFed int) float64 {
	if l.w == nil {
		return 1
	}
	y := l.yesterday(tank)
	if len(l.course.Cells[tank].Days) == 0 {
		y.DOMinGm3 = math.Inf(1)
	}
	return s.FeedShareWater(fish.FeedCut{TempC: tempC, PlanC: tempC, DOGm3: y.DOMinGm3, NH3NGm3: y.NH3NMaxGm3, TANGm3: y.TANMaxGm3, NO2NGm3: y.NO2NMaxGm3, DaysFed: daysFed}, l.have.cl/l.volumeM3)
}

// judged are the parameters held against limits, and where a day has them.
var judged = []struct {
	parameter water.Parameter
	low, high func(*CellDay) float64
	name      string
}{
	{water.DOParameter, func(d *CellDay) float64 { return d.DOMinGm3 }, func(d *CellDay) float64 { return d.DOMinGm3 }, "oxygen"},
	{water.NH3NParameter, func(d *CellDay) float64 { return d.NH3NMaxGm3 }, func(d *CellDay) float64 { return d.NH3NMaxGm3 }, "un-ionised ammonia"},
	{water.TANParameter, func(d *CellDay) float64 { return d.TANMaxGm3 }, func(d *CellDay) float64 { return d.TANMaxGm3 }, "total ammonia"},
	{water.NO2NParameter, func(d *CellDay) float64 { return d.NO2NMaxGm3 }, func(d *CellDay) float64 { return d.NO2NMaxGm3 }, "nitrite"},
	{water.PHParameter, func(d *CellDay) float64 { return d.PHMin }, func(d *CellDay) float64 { return d.PHMax }, "pH"},
	{water.AlkalinityParameter, func(d *CellDay) float64 { return d.AlkEqM3 * water.CaCO3PerEq }, func(d *CellDay) float64 { return d.AlkEqM3 * water.CaCO3PerEq }, "alkalinity"},
	{water.CO2Parameter, func(d *CellDay) float64 { return d.CO2MaxGm3 }, func(d *CellDay) float64 { return d.CO2MaxGm3 }, "carbon dioxide"},
	{water.NO3NParameter, func(d *CellDay) float64 { return d.NO3NGm3 }, func(d *CellDay) float64 { return d.NO3NGm3 }, "nitrate"},
	{water.TempParameter, func(d *CellDay) float64 { return d.TempC }, func(d *CellDay) float64 { return d.TempC }, "temperature"},
}

// finishCourse judges the days by the limits of each tank's fish.
func (l *loop) finishCourse(r *run) *WaterCourse {
	w := l.course
	w.Doses = l.doser.told(r)
	s := l.w.Stats()
	w.Work = fmt.Sprintf("%d steps, %d tried again, %d right-hand sides, %d matrices", s.Steps, s.Rejected, s.FEvals, s.LUs)
	for i := range w.Cells {
		c := &w.Cells[i]
		if c.Tank == "" {
			continue
		}
		var lost float64
		for k := range r.cohorts {
			co := &r.cohorts[k]
			if co.tank != l.circuit.Places[i].Tank {
				continue
			}
			lost = math.Max(lost, 1-math.Exp(-co.hazards))
			if g, err := water.GroupOf(co.fish.Species.ID); err == nil && !slices.Contains(c.groups, g) {
				c.groups = append(c.groups, g)
			}
		}
		if len(c.groups) == 0 {
			c.groups = []water.Group{water.Compromise}
		}
		for _, g := range c.groups {
			if c.Group != "" {
				c.Group += " and "
			}
			c.Group += string(g)
		}
		for _, j := range judged {
			for _, x := range l.crossings(c, j.parameter, j.low, j.high, j.name) {
				x.LostShare = lost
				c.Leaves = append(c.Leaves, x)
			}
		}
	}
	return &w
}

// limit is the bands of a parameter for all fish of a tank: of each edge the
// strictest.
func (c *CellCourse) limit(p water.Parameter) (all water.Limit, ok bool) {
	for _, g := range c.groups {
		l, known := water.LimitOf(g, p)
		if !known {
			continue
		}
		if !ok {
			all, ok = l, true
			continue
		}
		for _, x := range [...]struct {
			into *water.Figure
			from water.Figure
			low  bool
		}{{&all.CritLow, l.CritLow, true}, {&all.WarnLow, l.WarnLow, true}, {&all.OptLow, l.OptLow, true},
			{&all.CritHigh, l.CritHigh, false}, {&all.WarnHigh, l.WarnHigh, false}, {&all.OptHigh, l.OptHigh, false}} {
			if x.from.Known && (!x.into.Known || x.low && x.from.Amount > x.into.Amount || !x.low && x.from.Amount < x.into.Amount) {
				*x.into = x.from
			}
		}
		all.Source += "; " + l.Source
	}
	return all, ok
}

// crossings finds the first day outside the band that is borne for long, or else
// the first outside the best; and the first day of danger to life if that comes
// later.
func (l *loop) crossings(c *CellCourse, p water.Parameter, low, high func(*CellDay) float64, name string) (out []Crossing) {
	limit, ok := c.limit(p)
	if !ok {
		return nil
	}
	level := [3]Crossing{} // watch, act, critical
	for i := range c.Days {
		d := &c.Days[i]
		for _, v := range [2]float64{low(d), high(d)} {
			verdict, side, err := limit.Judge(v)
			if err != nil || verdict == water.Good {
				continue
			}
			for at := water.Watch; at <= verdict; at++ {
				x := &level[at-1]
				if x.Day.IsZero() {
					*x = Crossing{Parameter: name, Day: d.Day, Value: v, Unit: limit.Unit, High: side > 0, Verdict: at.String(), Source: limit.Source, Limit: bound(&limit, at, side), Cause: l.cause(c, i, p, side)}
				}
				x.Until = d.Day
			}
		}
	}
	first := level[1]
	if first.Day.IsZero() {
		first = level[0]
	}
	if first.Day.IsZero() {
		return nil
	}
	worst := level[2]
	if !worst.Day.IsZero() && worst.Day == first.Day {
		return []Crossing{worst}
	}
	out = append(out, first)
	if !worst.Day.IsZero() {
		out = append(out, worst)
	}
	return out
}

// bound is the edge of the band that a verdict tells to be passed.
func bound(l *water.Limit, v water.Verdict, side int) float64 {
	pick := map[water.Verdict][2]water.Figure{
		water.Watch: {l.OptLow, l.OptHigh}, water.Act: {l.WarnLow, l.WarnHigh}, water.Critical: {l.CritLow, l.CritHigh},
	}[v]
	if side < 0 {
		return pick[0].Amount
	}
	return pick[1].Amount
}

// cause says in words why a value leaves its band, from what the run saw.
func (l *loop) cause(c *CellCourse, day int, p water.Parameter, side int) string {
	d := &c.Days[day]
	loop := LoopDay{}
	if day < len(l.course.Days) {
		loop = l.course.Days[day]
	}
	media, bedName := 0.0, ""
	var bed *CellDay
	for i := range l.course.Cells {
		k := &l.course.Cells[i]
		media += k.MediaM2
		if k.MediaM2 > 0 && day < len(k.Days) && (bed == nil || k.Days[day].DOMinGm3 < bed.DOMinGm3) {
			bed, bedName = &k.Days[day], k.Name
		}
	}
	for i := range l.course.Cells {
		if k := &l.course.Cells[i]; k == c || k.Name == c.Name {
			if l.circuit.Still(i) && p != water.TempParameter {
				return "no water of the loop runs through this tank: look at pump, lift, pipes and valves"
			}
		}
	}
	switch {
	case p == water.DOParameter:
		return fmt.Sprintf("the fish and what decays use more than air stones and returning water bring; %.0f g of feed go into the loop that day, and oxygen is lowest in the hours after a meal and before dawn", loop.FeedG)
	case p == water.NH3NParameter || p == water.TANParameter || p == water.NO2NParameter:
		who, what := "ammonia oxidisers", "ammonia"
		if p == water.NO2NParameter {
			who, what = "nitrite oxidisers", "nitrite"
		}
		switch {
		case media == 0:
			return "there is no surface on which bacteria could live"
		case day < 90 && l.unripe():
			return "the stones are not ripe: too few " + who + ", the nitrite oxidisers the slower to come"
		case bed != nil && bed.DOMinGm3 < 2:
			return fmt.Sprintf("%s lack oxygen: it falls to %.1f g/m³ in %s, where solids decay", who, bed.DOMinGm3, bedName)
		case d.AlkEqM3 < urgentAlk:
			return fmt.Sprintf("%s lack alkalinity: %.0f mg/L as CaCO3", who, d.AlkEqM3*water.CaCO3PerEq)
		}
		return fmt.Sprintf("%.0f g of feed a day set free what %s at %.1f °C and pH %.1f take up only at this much %s", loop.FeedG, who, d.TempC, d.PHMin, what)
	case p == water.PHParameter && side < 0:
		return fmt.Sprintf("nitrification eats the alkalinity (%.0f mg/L as CaCO3 left) and carbon dioxide is at %.0f mg/L", d.AlkEqM3*water.CaCO3PerEq, d.CO2MaxGm3)
	case p == water.AlkalinityParameter && side < 0:
		return "nitrification eats it and the top-up water brings too little"
	case p == water.PHParameter, p == water.AlkalinityParameter:
		return "top-up water, shell or a base brings more alkalinity than nitrification eats"
	case p == water.CO2Parameter:
		return "fish and decay breathe out more than stones and falls carry off"
	case p == water.NO3NParameter && side > 0:
		return "feed brings more nitrogen than the plants take up"
	case p == water.NO3NParameter:
		return "plants take up more nitrogen than feed brings"
	case p == water.TempParameter:
		return fmt.Sprintf("the tank stands at %.1f °C", d.TempC)
	}
	return ""
}

// unripe reports whether the loop was opened with new stones.
func (l *loop) unripe() bool { return l.startBacteria < 1e-4*l.volumeM3 }
