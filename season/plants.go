package season

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tidebed/science/crop"
	"tidebed/science/sun"
	"tidebed/site"
)

// ambientPPM is the carbon dioxide outside, and inside where the building is not
// described.
const ambientPPM = 400.0

// longestStandDays is how long before the opening a planting may have been put
// in and still be worked out from its planting day.
const longestStandDays = 400

// planting is one planting on its way.
type planting struct {
	in                    site.Planting
	crop                  *crop.Crop
	bed                   int
	stand                 crop.Stand
	planted               int // day of the run, negative before the opening
	out                   PlantingCourse
	lastNote              int
	done                  bool
	standing0             float64 // g dry matter at the opening
	gotPG, gotKG, waterM3 float64 // taken from the loop
	wantN, wantP, wantK   float64 // of today, g
	months                []plantMonth
	cold                  float64 // days that count towards flowering
}

func newPlanting(r *run, p site.Planting, at int) (planting, error) {
	c, err := crop.Lookup(p.Crop)
	if err != nil {
		return planting{}, err
	}
	factor := 1.0
	switch r.o.Course {
	case Low:
		factor = c.YieldSeason.LowKgM2 / c.YieldSeason.TypicalKgM2
	case High:
		factor = c.YieldSeason.HighKgM2 / c.YieldSeason.TypicalKgM2
	}
	pl := planting{in: p, crop: &c, bed: at, planted: r.s.Opening.Date.DaysTo(p.Planted), lastNote: math.MinInt / 2}
	pl.stand, err = crop.NewStand(pl.crop, factor)
	if err != nil {
		return planting{}, err
	}
	pl.out = PlantingCourse{Crop: c.Key, Name: c.Name, Bed: p.Bed, AreaM2: p.AreaM2, Planted: p.Planted, Caution: c.Caution, Source: c.Source}
	cal, err := c.Calibration(c.YieldSeason.TypicalKgM2)
	if err != nil {
		return planting{}, err
	}
	pl.out.RipeWhen = ripeWhen(&c, cal, factor)
	if factor != 1 {
		pl.out.RipeWhen += fmt.Sprintf(" All growth counts %.2f times, for the %s yield.", factor, r.o.Course)
	}
	pl.out.Picks = make([]Pick, 0, c.CutsMax+r.s.Opening.Date.DaysTo(r.o.To)/max(1, c.CutIntervalDays)+4)
	pl.out.Steps = make([]Step, 0, 180)
	pl.months = make([]plantMonth, 0, longestStandDays/28+(r.s.Opening.Date.DaysTo(r.o.To))/28+3)
	if pl.planted < -longestStandDays {
		return planting{}, fmt.Errorf("%s in %s was planted on %s, more than %d days before the opening: pull it or give the day it was last renewed", c.Name, p.Bed, p.Planted, longestStandDays)
	}
	return pl, pl.before(r)
}

// ripeWhen says by which figures a crop is ripe, so that its table can be
// followed by hand.
func ripeWhen(c *crop.Crop, cal crop.Calibration, factor float64) string {
	dry := fmt.Sprintf("%.0f %% of it is harvested, %.3g %% of that is dry matter", 100*c.HarvestIndex, 100*c.DryMatterShare)
	switch c.HarvestKind {
	case crop.Once:
		w := cal.WTargetGM2 * factor
		return fmt.Sprintf("Ripe at %.0f g/m² of dry matter; %s: %.3g kg/m² fresh.", w, dry, w*c.HarvestIndex/c.DryMatterShare/1000)
	case crop.CutAgain:
		return fmt.Sprintf("Cut when it has grown a cut's worth, %.3g kg/m² fresh at first and less each time, at most %d times; %s.", c.YieldHarvest.TypicalKgM2*factor, c.CutsMax, dry)
	}
	return fmt.Sprintf("First picked after %.0f g/m² of light's growth, as much as %d days at the crop table's light give; then each %d days; %s.", cal.UTargetGM2, c.DaysToFirstHarvest, c.CutIntervalDays, dry)
}

// before grows a planting that stood before the opening up to the opening, in
// water that lacks nothing; its uptake then is not this run's.
func (p *planting) before(r *run) error {
	for d := p.planted; d < 0 && !p.done; d++ {
		date := r.s.Opening.Date.Plus(d)
		var err error
		if r.sky, err = r.weather.day(date); err != nil {
			return err
		}
		r.inside = r.in.on(date)
		b := &r.beds[p.bed]
		b.mol = r.molOf(b)
		p.grow(r, d, date, 1, true)
	}
	if p.done {
		p.out.Warnings = append(p.out.Warnings, fmt.Sprintf("by its days it was %s on %s, before the opening: look whether it stands", p.stand.Ending, p.out.Pulled))
	}
	p.out.NUptakeG, p.out.HarvestKg = 0, 0
	p.out.grownG, p.out.harvestG, p.out.residueG = 0, 0, 0
	p.standing0 = p.out.standingG
	return nil
}

// day steps a planting through one day of the run, on the water of the morning,
// and books what it wants.
func (p *planting) day(r *run, d int, date site.Date) {
	p.wantN, p.wantP, p.wantK = 0, 0, 0
	if d < p.planted || p.done {
		return
	}
	l := &r.loops[r.beds[p.bed].loop]
	l.planted += p.in.AreaM2
	root, _ := l.root()
	day := p.grow(r, d, date, root, false)
	p.wantN, p.wantP, p.wantK = day.NUptakeG*p.in.AreaM2, day.PUptakeG*p.in.AreaM2, day.KUptakeG*p.in.AreaM2
	l.wants(r.beds[p.bed].at, p.wantN, p.wantP, p.wantK, &r.beds[p.bed].spread)
	water := r.transpiredM(p.bed) * p.in.AreaM2 * p.stand.CoverShare()
	p.waterM3 += water
	l.transpired += water
}

// evening books what the planting got of what it wanted.
func (p *planting) evening(r *run) {
	l := &r.loops[r.beds[p.bed].loop]
	p.out.NUptakeG += p.wantN * l.got
	p.gotPG += p.wantP * l.gotP
	p.gotKG += p.wantK * l.gotK
}

// co2 is the carbon dioxide at a bed's leaves while there is light, ppm.
func (r *run) co2(b *bed) float64 {
	if r.inside != nil {
		return r.inside.co2[b.zoneAt]
	}
	return ambientPPM
}

// grow steps the stand and books its picks.
func (p *planting) grow(r *run, d int, date site.Date, root float64, before bool) crop.DayOutput {
	b := &r.beds[p.bed]
	var factor, mean float64
	coldest, warmest := math.Inf(1), math.Inf(-1)
	for h := range r.sky.Hours {
		t := r.airC(b, h)
		coldest, warmest = math.Min(coldest, t), math.Max(warmest, t)
		factor += p.crop.TemperatureFactor(t)
		mean += t
	}
	factor, mean = factor/24, mean/24
	p.weather(date, mean, warmest, b.mol, math.Max(b.lampH, r.sky.DayLengthH))
	in := crop.DayInput{DLIMol: b.mol, TempFactor: factor, TempC: mean, CO2PPM: r.co2(b), RootFactor: root}
	in.Harvest = !before && p.pick(r, date, mean)
	in.Early = in.Harvest && p.crop.HarvestKind != crop.Once && slices.Contains(r.o.Holding, date)
	if !before && !in.Harvest && p.crop.HarvestKind != crop.Once { // held for a table, unless it is the last day
		left := p.stand
		if left.Step(in); left.Done {
			in.Harvest = true
		}
	}
	emerged, cover := p.stand.Emerged, p.stand.CoverShare()
	pulled := !p.in.Pull.IsZero() && !date.Before(p.in.Pull.Time)
	if pulled {
		in.Harvest, in.TakeUnripe = !before, !before
	}
	out := p.stand.Step(in)
	note := ""
	if pulled && !p.stand.Done {
		out.ResidueDMG += p.stand.Clear()
		out.StandingDMG = 0
		note = "pulled"
	}
	if out.UnripeKgM2 > 0 && !before {
		p.young(r, date, out.UnripeKgM2*p.in.AreaM2)
	}
	if coldest < p.crop.SurviveMinC && !p.stand.Done {
		out.ResidueDMG += p.stand.Clear()
		out.StandingDMG = 0
		note = fmt.Sprintf("killed by %.0f °C", coldest)
		p.out.Why = fmt.Sprintf("killed on %s: the air fell to %.0f °C and it dies below %.0f °C", date, coldest, p.crop.SurviveMinC)
	}
	a := p.in.AreaM2
	p.out.grownG += out.GrownDMG * a
	p.out.residueG += out.ResidueDMG * a
	p.out.harvestG += out.HarvestDMG * a
	p.out.standingG = out.StandingDMG * a
	if p.stand.Emerged && !emerged {
		p.out.Emerged, note = date, "up"
	}
	if p.stand.Ripe && p.out.First.IsZero() {
		p.out.First = date
	}
	if out.HarvestKgM2 > 0 {
		kg := out.HarvestKgM2 * a
		p.out.HarvestKg += kg
		if n := len(p.out.Picks); n < cap(p.out.Picks) {
			p.out.Picks = append(p.out.Picks, Pick{Day: date, Until: date, Kg: kg})
		}
		if p.out.First.IsZero() {
			p.out.First = date
		}
		note = "harvest"
	}
	if p.stand.Done && !p.done {
		p.done = true
		p.out.Pulled = date
		if note == "" {
			note = p.stand.Ending
		}
	}
	if (d-p.lastNote >= 7 || note != "") && len(p.out.Steps) < cap(p.out.Steps) {
		p.lastNote = d
		p.out.Steps = append(p.out.Steps, Step{Day: date, DLIMol: b.mol, Closed: p.crop.ClosedStand(b.mol), Cover: cover, Temp: factor, Root: root, WGM2: p.stand.StandingDMG, GrownGM2: out.GrownDMG, HarvestGM2: out.HarvestDMG, HarvestKgM2: out.HarvestKgM2, Note: note})
	}
	return out
}

// young keeps what the planting would give if it were taken unripe on a day for
// which ripe crops are held.
func (p *planting) young(r *run, date site.Date, kg float64) {
	for _, hold := range r.o.Holding {
		if hold == date {
			p.out.Young = append(p.out.Young, Pick{Day: date, Until: date, Kg: kg})
			return
		}
	}
}

// heldDays is for how many days before a day of Holding a cut or a picking that is
// due waits for it, as a grower would cut for the table. Common practice, no source.
const heldDays = 7

// pick decides whether what is ripe is taken today. A crop harvested once is
// kept standing for the next day of Holding while it keeps, and is taken on
// the last day it keeps; others are taken when due, or on a day of Holding that comes
// within heldDays, and on such a day from two thirds grown.
func (p *planting) pick(r *run, date site.Date, tempC float64) bool {
	if p.crop.HarvestKind != crop.Once {
		if slices.Contains(r.o.Holding, date) {
			return true
		}
		for _, hold := range r.o.Holding {
			if wait := date.DaysTo(hold); wait > 0 && wait <= heldDays {
				return false
			}
		}
		return true
	}
	if !p.stand.Ripe {
		return !p.holds(r, date)
	}
	last := int(p.crop.RipeDays(tempC)) - p.out.First.DaysTo(date) - 1
	if last <= 0 {
		return true
	}
	for _, hold := range r.o.Holding {
		if wait := date.DaysTo(hold); wait > 0 && wait <= last {
			return false
		}
	}
	return true
}

// holds reports whether a crop that ripens on this very day would be kept for
// a day to come within its window.
func (p *planting) holds(r *run, date site.Date) bool {
	for _, hold := range r.o.Holding {
		if wait := date.DaysTo(hold); wait > 0 && wait <= p.crop.HarvestWindowDays/2 {
			return true
		}
	}
	return false
}

// plantMonth is a month of one planting's weather.
type plantMonth struct {
	month            site.Date
	days             float64
	tempC, mol, dayH float64 // sums
}

// weather keeps what the month's warnings need.
func (p *planting) weather(date site.Date, meanC, warmestC, mol, dayH float64) {
	n := len(p.months)
	if n == 0 || p.months[n-1].month.Month() != date.Month() {
		if n == cap(p.months) {
			return
		}
		p.months = p.months[:n+1]
		p.months[n] = plantMonth{month: date}
		n++
	}
	m := &p.months[n-1]
	m.days++
	m.tempC += meanC
	m.mol += mol
	m.dayH += dayH
	if p.stand.Emerged {
		p.cold += p.crop.ColdDay(meanC, warmestC)
	}
}

// leastDays is how many days of a month a planting must see for the month to
// be judged.
const leastDays = 10

// warnings judges the months; sentences that differ only in their figures are
// joined: the first of them, with the months from the first to the last.
func (p *planting) warnings() []string {
	type told struct {
		text, first, last string
		least, most       float64 // of the first figure
	}
	var list []told
	index := map[string]int{}
	for _, m := range p.months {
		if m.days < leastDays {
			continue
		}
		when := m.month.Format("January 2006")
		for _, text := range p.crop.Warnings(crop.Conditions{
			MonthMeanC: m.tempC / m.days, DayLengthH: m.dayH / m.days, DLIMolM2: m.mol / m.days, CO2PPM: ambientPPM, WaterC: math.NaN(), BedKind: "",
		}) {
			text = strings.TrimSuffix(strings.TrimPrefix(text, p.crop.Name+": "), ".")
			key := figures.ReplaceAllString(text, "#")
			figure, _ := strconv.ParseFloat(figures.FindString(text), 64)
			if i, ok := index[key]; ok {
				list[i].last = when
				list[i].least, list[i].most = math.Min(list[i].least, figure), math.Max(list[i].most, figure)
				continue
			}
			index[key] = len(list)
			list = append(list, told{text, when, when, figure, figure})
		}
	}
	var out []string
	for _, t := range list {
		when := t.first
		if t.last != t.first {
			when += " to " + t.last
			if at := figures.FindStringIndex(t.text); at != nil && t.most > t.least {
				t.text = t.text[:at[0]] + fmt.Sprintf("%.3g to %.3g", t.least, t.most) + t.text[at[1]:]
			}
		}
		out = append(out, when+": "+t.text)
	}
	if days, below, ok := p.crop.ColdLimit(); ok && p.cold >= float64(days) {
		out = append(out, fmt.Sprintf("%.0f days with a mean below %.0f °C since %s: it may flower instead of growing on", p.cold, below, p.out.Planted))
	}
	return out
}

// figures are the numbers in a sentence.
var figures = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

// finish returns the course with its reasons.
func (p *planting) finish() PlantingCourse {
	o := p.out
	o.Warnings = append(o.Warnings, p.warnings()...)
	if o.HarvestKg == 0 && o.Why == "" {
		switch {
		case p.done:
			o.Why = "ended: " + p.stand.Ending
		case p.stand.AgeDays == 0:
			o.Why = "not planted within these days"
		case !p.stand.Emerged:
			o.Why = "not up yet"
		case o.standingG > 0:
			o.Why = fmt.Sprintf("still growing: %.0f g/m² dry matter on the last day", p.stand.StandingDMG)
		default:
			o.Why = "nothing grew"
		}
	}
	return o
}

// transpiredM is the water a full stand gives off on the day, m (the same
// number as m³/m²): 0.65 of the light's energy inside over the heat of
// evaporation. From memory. Where the building is described it is the building's
// own rate, by its light and the dryness of its air hour by hour.
func (r *run) transpiredM(bed int) float64 {
	if b := &r.beds[bed]; r.inside != nil {
		return r.inside.fullMm[b.zoneAt] * b.shade / 1000
	}
	inside := r.beds[bed].mol / sun.MolPerMJ // MJ/m² that this light carries
	return crop.FullCoverWaterMmD(inside) / 1000
}
