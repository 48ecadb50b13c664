package climate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"tidebed/quantity"
	"tidebed/science/sun"
)

// The chain of the weather from day to day: z(t) = A z(t-1) + B e(t), z the
// standardised highest, lowest and radiation, e independent N(0, 1).
//
// Source: [richardson-1981]; [richardson-wright-1984]. Some copies carry .718,
// -.314 or +.039, which are misprints: with the figures here the variances are 1.
var (
	chainA = [3][3]float64{{.567, .086, -.002}, {.253, .504, -.050}, {-.006, -.039, .244}}
	chainB = [3][3]float64{{.781, 0, 0}, {.328, .637, 0}, {.238, -.341, .873}}
)

// chainMaxMin is the correlation of highest and lowest that the chain implies.
const chainMaxMin = 0.634

// Rules of our own, where the sources have none: common practice, no source.
const (
	monthTermMaritimeK    = 0.7 // spread of the extra term of a month; rule of thumb
	monthTermContinentalK = 1.2
	monthTermChain        = 0.27 // correlation of neighbouring months
	leastRangeK           = 0.5  // of a made-up day
	dullestShare          = 0.05 // least radiation, of that above the air
	wetLightShare         = 0.55 // radiation of wet days over that of dry ones, 0.5 to 0.6
	wetCoolK              = 3.0  // by which the highest of a wet day is lower in the warm half-year, 2 to 5
	wetMildK              = 1.5  // by which it is higher in the maritime cold half-year
	wetMostSD             = 0.9  // neither by more than this part of the spread
	dewFollows            = 0.9  // K of dew point for a K of the night's lowest
	dewWetK               = 2.0  // higher on wet days
	dewNoiseK             = 1.0
	windSpread            = 0.4 // of the logarithm of the day's mean
	windChain             = 0.3 // correlation of its neighbouring days
	windWet               = 0.2 // higher on wet days, of the logarithm
	mostMonthShiftK       = 15.0
	mostMonthTermK        = 5.0
	mostYears             = 100
	drawsPerDay           = 6
)

// madeYear is the first nominal year of what a Generator makes: a leap year, so
// that there is a day for every date.
const madeYear = 2000

// dayClimate is what a day of the year has its weather drawn from.
type dayClimate struct {
	maxC, minC     float64 // means before parting
	normalMinC     float64
	maxSD, minSD   float64
	wetMaxK        float64 // highest of wet days less that of dry ones
	maxWithinSD    float64 // of wet or dry days alone
	wetK, dryK, sk float64 // clearness before clipping: middle of wet days, of dry days, spread
	dewC, windMS   float64
	wetShare       float64
	outside        sun.Outer
	sun            dayState
}

// Generator makes up years of weather that have a place's means, its spread
// from day to day and from year to year, cold snaps and dull weeks. After the
// Set calls it may be used from many goroutines.
//
// The rules. Highest, lowest and radiation follow the chain of Richardson with
// the place's monthly means and spreads, on straight lines between the middles
// of months. Wet and dry days follow [geng-1986] from the month's share of wet
// days; wet days have 0.55 of the radiation of dry ones; their highest is 3 K
// lower in the warm half-year and, in maritime climates, 1.5 K higher in the
// cold one; means and spreads over all days stay the place's. Radiation keeps
// between 0.05 of that above the air and the clear sky, and middle and spread
// before clipping are set so that they come out right after it. The chain alone
// understates bad years, so each month has one more term for highest and
// lowest, N(0, 0.7 K) maritime to N(0, 1.2 K) continental, correlated 0.27 with
// the month before; it comes on top of the place's spread.
//
// Humidity and wind, which the sources leave out, are kept in step by rules of
// our own (common practice, no source): the day's dew point is the normal one
// plus 0.9 K for each K of the night's lowest above its normal, 2 K more on wet
// than on dry days, and a noise of 1 K; the day's wind is lognormal about the
// normal with a spread of 0.4, a correlation of 0.3 from day to day and 20 % more
// on wet days. The hours are by Weather's own curves.
//
// What it costs: no storms, no records beyond what a normal distribution has
// (a real cold tail is longer: add the place's record low), no droughts longer
// than the chain's, and the spreads of most places of the table are of a single
// typical year. A place without spreads takes the usual ones of its kind of
// climate.
//
// The same seed gives the same draws on every kind of processor; the last
// digits of the hours may differ between kinds as sines and logarithms do.
type Generator struct {
	w          *Weather
	seed       uint64
	days       [12][31]dayClimate
	shiftK     [12]float64
	monthTermK float64
	kind       climateKind
}

type climateKind int

const (
	maritime climateKind = iota
	continental
	mediterranean
	tradeWind
)

// NewGenerator makes the generator of a place's weather. The spreads are those
// of the months given to New; where they are NaN or 0 the usual ones of the kind
// of climate stand in, the kind judged by the year's range and the summer's
// clearness. Typed nights of w are not taken over, nor what is set in w later.
func NewGenerator(w *Weather, seed uint64) (*Generator, error) {
	if w == nil {
		return nil, fmt.Errorf("climate: no weather to draw years from")
	}
	own := *w
	own.nights = nil
	g := &Generator{w: &own, seed: seed}
	g.kind = g.judge()
	g.monthTermK = monthTermMaritimeK
	switch g.kind {
	case continental:
		g.monthTermK = monthTermContinentalK
	case tradeWind:
		g.monthTermK = monthTermMaritimeK / 2 // spreads there are a third to half of the maritime ones
	}
	var wet [12]float64
	for m := range wet {
		// Fitted by eye to Seattle's months: clearness .30 and .55 go with .57 and .13.
		wet[m] = max(0.02, min(0.7, (0.62-own.clearness[m])/0.55))
	}
	if err := g.SetWetShare(wet); err != nil {
		return nil, err
	}
	return g, nil
}

// judge finds the kind of climate, by limits of our own.
func (g *Generator) judge() climateKind {
	coldest, hottest := 0, 0
	for m, v := range g.w.meanC {
		if v < g.w.meanC[coldest] {
			coldest = m
		}
		if v > g.w.meanC[hottest] {
			hottest = m
		}
	}
	north := math.Abs(g.w.latitudeDeg)
	switch span := g.w.meanC[hottest] - g.w.meanC[coldest]; {
	case span < 8 && north < 30:
		return tradeWind
	case span >= 18:
		return continental
	case north > 28 && north < 44 && g.w.clearness[hottest] > 0.58:
		return mediterranean
	}
	return maritime
}

// usualSD are the spreads of a kind of climate, K: the highest's and the
// lowest's, in the coldest and in the hottest month.
//
// Source: computed from typical years of eighteen places.
var usualSD = [...][2][2]float64{
	maritime:      {{3.4, 2.8}, {3.4, 2.8}},
	continental:   {{6, 6}, {4, 3}},
	mediterranean: {{2.5, 1.7}, {2.5, 1.7}},
	tradeWind:     {{1.2, 1.4}, {1.2, 1.4}},
}

// usualLightSD is the spread of the days' clearness by its mean: what the
// eighteen typical years of the table have, within 0.03.
func usualLightSD(clearness float64) float64 {
	return min(0.55*clearness, 0.155, max(0.07, 0.155-0.36*(clearness-0.5)))
}

// SetWetShare sets the share of wet days (a quarter of a millimetre or more) of
// each month, 0 to 0.95, January first. Without it the share is guessed from
// the month's clearness, which may be 0.2 off.
func (g *Generator) SetWetShare(shares [12]float64) error {
	for m, v := range shares {
		if err := quantity.InRange("share of wet days", v, 0, 0.95, ""); err != nil {
			return fmt.Errorf("climate: %s: %w", time.Month(m+1), err)
		}
	}
	return g.prepare(shares)
}

// SetMonthTerm sets the spread of the extra term of each month, 0 to 5 K.
func (g *Generator) SetMonthTerm(spreadK float64) error {
	if err := quantity.InRange("spread of the month's extra term", spreadK, 0, mostMonthTermK, "K"); err != nil {
		return fmt.Errorf("climate: %w", err)
	}
	g.monthTermK = spreadK
	return nil
}

// MonthTermK is the spread of the extra term of each month.
func (g *Generator) MonthTermK() float64 { return g.monthTermK }

// SetMonthShift moves the temperatures of a month by -15 to 15 K in every year.
// For questions of safety take the coldest month lower by twice
// Weather.MonthSpreadK.
func (g *Generator) SetMonthShift(month time.Month, shiftK float64) error {
	if month < time.January || month > time.December {
		return fmt.Errorf("climate: month %d; give 1 to 12", month)
	}
	if err := quantity.InRange("shift of a month", shiftK, -mostMonthShiftK, mostMonthShiftK, "K"); err != nil {
		return fmt.Errorf("climate: %s: %w", month, err)
	}
	g.shiftK[month-1] = shiftK
	return nil
}

// MonthSpreadK is the spread of a month's mean temperature from year to year:
// 1.45 - 0.0290 Tm + 0.0664 s, Tm the month's mean and s the spread of the
// twelve of them; never below 0.3 K.
//
// Source: Erbs, Klein and Beckman 1983, from memory.
// Check: 1.46 K for the mean month of London Heathrow.
func (w *Weather) MonthSpreadK(month time.Month) float64 {
	var mean, square float64
	var of [12]float64
	for m, n := range w.normals {
		of[m] = (n.TmaxC + n.TminC) / 2
		mean += of[m] / 12
	}
	for _, v := range of {
		square += (v - mean) * (v - mean)
	}
	const least = 0.3
	m := (int(month)%12 + 11) % 12
	return max(least, 1.45-0.0290*of[m]+0.0664*math.Sqrt(square/11))
}

// trend is the variance that the seasons' course alone gives the days of a month.
func trend(anchors *[12]float64, m int) float64 {
	var mean, square float64
	n := monthDays[m]
	for d := range n {
		v := at(anchors, m, d+1, n)
		mean, square = mean+v/float64(n), square+v*v/float64(n)
	}
	return max(0, square-mean*mean)
}

// spreads are the daily spreads in the middle of each month: of highest and
// lowest in K, of the clearness. The normals' spreads are about the month's mean
// and hold the course of the seasons within the month, which is taken out.
func (g *Generator) spreads() (maxSD, minSD, lightSD [12]float64, err error) {
	outside, err := yearOfRa(g.w.latitudeDeg)
	if err != nil {
		return
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range g.w.meanC {
		low, high = min(low, v), max(high, v)
	}
	var maxC, minC [12]float64
	for m := range maxC {
		maxC[m], minC[m] = g.w.meanC[m]+g.w.rangeK[m]/2, g.w.meanC[m]-g.w.rangeK[m]/2
	}
	usual := usualSD[g.kind]
	for m, n := range g.w.normals {
		x := 0.5
		if high > low {
			x = (g.w.meanC[m] - low) / (high - low)
		}
		known := func(sd, usual float64, means *[12]float64) float64 {
			const most, least = 15.0, 0.25 // least part of the variance that is weather
			if sd > 0 && sd < most {
				return math.Sqrt(max(least*sd*sd, sd*sd-trend(means, m)))
			}
			return usual
		}
		maxSD[m] = known(n.TmaxSDC, usual[0][0]*(1-x)+usual[1][0]*x, &maxC)
		minSD[m] = known(n.TminSDC, usual[0][1]*(1-x)+usual[1][1]*x, &minC)
		k := g.w.clearness[m]
		lightSD[m] = usualLightSD(k)
		// The normals' radiation is that of their own latitude; the spread is
		// carried over as a share of it.
		const light = 2.0 // MJ/m2: below it the spread is mostly rounding
		if n.GHISDMJm2d > 0 && n.GHIMJm2d > light && outside.monthMean(m) > light {
			lightSD[m] = min(0.3, n.GHISDMJm2d/n.GHIMJm2d*k)
		}
	}
	return
}

// prepare works out what each day of the year is drawn from.
func (g *Generator) prepare(wetShare [12]float64) error {
	maxSD, minSD, lightSD, err := g.spreads()
	if err != nil {
		return err
	}
	clear, err := sun.ClearSkyShare(g.w.elevationM)
	if err != nil {
		return fmt.Errorf("climate: %w", err)
	}
	even := yearValues{}
	for m := range even {
		for d := range even[m] {
			even[m][d] = 1
		}
	}
	maxSD, minSD = anchors(maxSD, even, true, math.Inf(1)), anchors(minSD, even, true, math.Inf(1))
	yearMean := 0.0
	for _, v := range g.w.meanC {
		yearMean += v / 12
	}
	for day := (dateKey{madeYear, time.January, 1}); day.year == madeYear; day = keyOf(day.midnight().AddDate(0, 0, 1)) {
		m, length := int(day.month)-1, monthLength(madeYear, day.month)
		of := func(a *[12]float64) float64 { return at(a, m, day.day, length) }
		c := &g.days[m][day.day-1]
		mean, span := of(&g.w.meanC), of(&g.w.rangeK)
		*c = dayClimate{
			maxSD: of(&maxSD), minSD: of(&minSD),
			normalMinC: mean - span/2, dewC: of(&g.w.dewC), windMS: of(&g.w.windMS), wetShare: wetShare[m],
		}
		if c.outside, err = sun.Extraterrestrial(g.w.latitudeDeg, day.midnight().YearDay()); err != nil {
			return fmt.Errorf("climate: %w", err)
		}
		if err := c.sun.rise(day, g.w.latitudeDeg, g.w.longitudeDeg, g.w.utcOffsetH); err != nil {
			return err
		}
		switch {
		case mean > yearMean:
			c.wetMaxK = -min(wetCoolK, wetMostSD*c.maxSD)
		case g.kind == maritime:
			c.wetMaxK = min(wetMildK, wetMostSD*c.maxSD)
		}
		f := c.wetShare
		c.maxWithinSD = math.Sqrt(max(0.25*c.maxSD*c.maxSD, c.maxSD*c.maxSD-f*(1-f)*c.wetMaxK*c.wetMaxK))
		c.light(of(&g.w.clearness), of(&lightSD), clear)
		// Where the chain crosses highest and lowest they are parted again: the
		// range before is set so that its mean comes out right after it.
		apart := math.Sqrt(max(1e-6, c.maxSD*c.maxSD+c.minSD*c.minSD-2*chainMaxMin*c.maxWithinSD*c.minSD))
		span = middleFor(max(span, leastRangeK+1e-3), apart, leastRangeK, span+10*apart)
		c.maxC, c.minC = mean+span/2, mean-span/2
	}
	return nil
}

// light finds the middles and the spread of the clearness of wet and dry days
// so that, clipped, all days have a mean and a spread.
func (c *dayClimate) light(mean, sd, clear float64) {
	lo, hi := dullestShare, clear
	inside := 0.02 * (hi - lo)
	mean = max(lo+inside, min(hi-inside, mean))
	f := c.wetShare
	dry := min(mean/(1-f*(1-wetLightShare)), max(mean, 0.9*hi))
	wet := mean
	if f > 0 {
		wet = max(lo+inside, (mean-(1-f)*dry)/f)
		dry = (mean - f*wet) / (1 - f)
	}
	within := math.Sqrt(max(0.1*sd*sd, sd*sd-f*(1-f)*(dry-wet)*(dry-wet)))
	c.sk = within
	const rounds = 10 // to a thousandth of the spread
	for range rounds {
		c.wetK, c.dryK = middleFor(wet, c.sk, lo, hi), middleFor(dry, c.sk, lo, hi)
		_, wetVar := clipped(c.wetK, c.sk, lo, hi)
		_, dryVar := clipped(c.dryK, c.sk, lo, hi)
		got := math.Sqrt(f*wetVar + (1-f)*dryVar)
		if got <= 0 {
			return
		}
		c.sk = min(3*within, c.sk*within/got)
	}
	c.wetK, c.dryK = middleFor(wet, c.sk, lo, hi), middleFor(dry, c.sk, lo, hi)
}

// clipped is the mean and the variance of a normal value clipped to a range.
func clipped(middle, sd, lo, hi float64) (mean, variance float64) {
	bell := func(x float64) (density, below float64) {
		return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi), 0.5 * math.Erfc(-x/math.Sqrt2)
	}
	a, b := (lo-middle)/sd, (hi-middle)/sd
	da, pa := bell(a)
	db, pb := bell(b)
	mean = lo*pa + hi*(1-pb) + middle*(pb-pa) + sd*(da-db)
	square := lo*lo*pa + hi*hi*(1-pb) + (middle*middle+sd*sd)*(pb-pa) + sd*((middle+lo)*da-(middle+hi)*db)
	return mean, max(0, square-mean*mean)
}

// middleFor is the middle of the normal value whose clipped mean is wanted.
func middleFor(want, sd, lo, hi float64) float64 {
	below, above := lo-6*sd, hi+6*sd
	for range 24 {
		mid := (below + above) / 2
		if mean, _ := clipped(mid, sd, lo, hi); mean < want {
			below = mid
		} else {
			above = mid
		}
	}
	return (below + above) / 2
}

// Year makes the n-th year, n from 0: one leap year under the nominal year 2000
// that serves every date. The year closes to a ring, so that a season across
// New Year has no break; different n have nothing to do with each other.
func (g *Generator) Year(n int) (*Series, error) { return g.Years(n, 1) }

// Years makes count (1 to 100) years in a row, without a break between them nor
// from the last to the first. The draws of each are those of Year(first),
// Year(first+1) and so on, so that the years differ from those made singly only
// in their first days of January.
func (g *Generator) Years(first, count int) (*Series, error) {
	s := &Series{}
	if err := g.Fill(s, first, count); err != nil {
		return nil, err
	}
	return s, nil
}

// Fill is Years into a series made before, whose memory it uses again; nobody
// else may be reading it.
func (g *Generator) Fill(s *Series, first, count int) error {
	if first < 0 {
		return fmt.Errorf("climate: made-up year %d; they count from 0", first)
	}
	if err := quantity.InRange("made-up years in a row", float64(count), 1, mostYears, ""); err != nil {
		return fmt.Errorf("climate: %w", err)
	}
	start := dateKey{madeYear, time.January, 1}
	days := start.later(count).dayNumber() - start.dayNumber()
	*s = Series{
		name: "made-up weather", source: fmt.Sprintf("made up from normals: seed %d, years %d to %d", g.seed, first, first+count-1),
		latitudeDeg: g.w.latitudeDeg, longitudeDeg: g.w.longitudeDeg, elevationM: g.w.elevationM, utcOffsetH: g.w.utcOffsetH,
		typical: true, start: start, years: count,
		tmaxC: sized(s.tmaxC, days), tminC: sized(s.tminC, days), wet: sized(s.wet, days), hours: sized(s.hours, days*hoursPerDay),
	}
	course := make([]made, days)
	g.draw(course, first, count)
	for i := range course {
		s.tmaxC[i], s.tminC[i], s.wet[i] = course[i].maxC, course[i].minC, course[i].wet
	}
	state := func(i int) dayState {
		v := &course[(i+days)%days]
		d := v.of.sun
		d.tmaxC, d.tminC = v.maxC, v.minC
		return d
	}
	var day Day
	for i := range course {
		v := &course[i]
		g.w.hours(state(i-1), state(i), state(i+1), dayAir{
			dayOfYear: v.dayOfYear, outside: v.of.outside, clearness: v.clearness, dewC: v.dewC, windMS: v.windMS,
		}, &day)
		copy(s.hours[i*hoursPerDay:], day.Hours[:])
	}
	return nil
}

// sized is a slice of a length, in the memory of another where it suffices.
func sized[T any](old []T, n int) []T {
	if cap(old) >= n {
		return old[:n]
	}
	return make([]T, n)
}

// made is a made-up day.
type made struct {
	of                            *dayClimate
	month, dayOfYear, length, day int
	e                             [drawsPerDay]float64 // normal draws; the fourth is uniform
	wet                           bool
	maxC, minC                    float64
	clearness, dewC, windMS       float64
}

// draw makes the days of a course. Twice round the ring: the first round finds
// the state in which the year ends, the second begins with it.
func (g *Generator) draw(course []made, first, count int) {
	months := make([]float64, 12*count)
	i := 0
	for n := range count {
		stream := rand.New(rand.NewPCG(g.seed, uint64(first+n)))
		for m := range 12 {
			months[12*n+m] = normal(stream)
		}
		dayOfYear := 0
		// Each year draws for a leap year, so that a day keeps its draws.
		for m := range 12 {
			for d := range monthLength(madeYear, time.Month(m+1)) {
				var e [drawsPerDay]float64
				for k := range e {
					if k == 3 {
						e[k] = uniform(stream)
					} else {
						e[k] = normal(stream)
					}
				}
				length := monthLength(madeYear+n, time.Month(m+1))
				if d >= length {
					continue
				}
				dayOfYear++
				course[i] = made{of: &g.days[m][d], month: 12*n + m, dayOfYear: dayOfYear, length: length, day: d + 1, e: e}
				i++
			}
		}
	}
	g.monthTerms(months)
	var z [3]float64
	wet, gust := false, 0.0
	for round := range 2 {
		for i := range course {
			v := &course[i]
			z = step(z, v.e)
			wet = v.e[3] < chanceOfRain(v.of.wetShare, wet)
			gust = float64(windChain*gust) + float64(math.Sqrt(1-windChain*windChain)*v.e[5])
			if round == 1 {
				v.wet = wet
				g.weather(v, z, gust, months[v.month])
			}
		}
	}
}

// step is the chain's next day. The products are rounded before they are added,
// so that no processor fuses them.
func step(z [3]float64, e [drawsPerDay]float64) [3]float64 {
	var next [3]float64
	for i := range next {
		for j := range z {
			next[i] += float64(chainA[i][j]*z[j]) + float64(chainB[i][j]*e[j])
		}
	}
	return next
}

// chanceOfRain is the chance that a day is wet, by the share of wet days and
// the day before.
//
// Source: [geng-1986], from memory.
// Check: a share of 0.53 gives 0.40 after a dry and 0.65 after a wet day.
func chanceOfRain(share float64, wetBefore bool) float64 {
	if wetBefore {
		return 0.25 + 0.75*share
	}
	return 0.75 * share
}

// monthTerms turns independent draws into the months' terms in K, a ring.
func (g *Generator) monthTerms(draws []float64) {
	fresh := math.Sqrt(1 - monthTermChain*monthTermChain)
	last := 0.0
	terms := make([]float64, len(draws))
	for range 2 {
		for i, e := range draws {
			last = float64(monthTermChain*last) + float64(fresh*e)
			terms[i] = float64(last*g.monthTermK) + g.shiftK[i%12]
		}
	}
	copy(draws, terms)
}

// weather draws a day.
func (g *Generator) weather(v *made, z [3]float64, gust, monthK float64) {
	c := v.of
	f := c.wetShare
	wet := 0.0
	if v.wet {
		wet = 1
	}
	v.maxC = c.maxC + monthK + c.maxWithinSD*z[0] + c.wetMaxK*(wet-f)
	v.minC = c.minC + monthK + c.minSD*z[1]
	if v.minC > v.maxC-leastRangeK {
		mid := (v.minC + v.maxC) / 2
		v.minC, v.maxC = mid-leastRangeK/2, mid+leastRangeK/2
	}
	v.maxC = max(lowestC+leastRangeK, min(highestC, v.maxC))
	v.minC = max(lowestC, min(highestC-leastRangeK, v.minC))
	middle := c.dryK
	if v.wet {
		middle = c.wetK
	}
	clear := 0.75 + 2e-5*g.w.elevationM
	v.clearness = max(dullestShare, min(clear, middle+c.sk*z[2]))
	v.dewC = c.dewC + dewFollows*(v.minC-c.normalMinC) + dewWetK*(wet-f) + dewNoiseK*v.e[4]
	v.dewC = max(-90, min(v.dewC, v.maxC))
	// The factor's mean over wet and dry days is 1.
	level := math.Exp(windSpread*gust-windSpread*windSpread/2) * math.Exp(windWet*wet) / (1 - f + f*math.Exp(windWet))
	v.windMS = min(60, c.windMS*level)
}

// uniform is a draw above 0 and below 1.
func uniform(r *rand.Rand) float64 {
	const steps = 1 << 53
	return (float64(r.Uint64()>>11) + 0.5) / steps
}

// normal is a draw of N(0, 1) from one uniform one, so that the stream goes on
// by the same step on every processor.
func normal(r *rand.Rand) float64 {
	// Near 1 a half is lost to rounding and Erfinv would be infinite.
	const most = 8.2
	return max(-most, min(most, math.Sqrt2*math.Erfinv(2*uniform(r)-1)))
}
