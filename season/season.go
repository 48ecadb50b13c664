package season

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"tidebed/climate"
	"tidebed/science/sun"
	"tidebed/site"
)

// Course is one of the three courses of yield and growth that stand behind
// every promise.
type Course int

// The courses. Promises use Low.
const (
	Low Course = iota
	Typical
	High
	Courses // how many there are
)

// String returns low, typical or high.
func (c Course) String() string { return [...]string{"low", "typical", "high"}[c] }

// LongestDays is the longest season that can be run.
const LongestDays = 1100

// ErrLedger is wrapped when what came in is not what went out and what is left.
var ErrLedger = errors.New("ledger does not close")

// closing is how far a ledger may be open, relative to its throughput.
const closing = 1e-6

// Take is fish taken out of a cohort on a day, to be eaten or sold.
type Take struct {
	Cohort int // index in the opening
	Day    site.Date
	Number float64
}

// Options are what a run is asked for besides the site.
type Options struct {
	To     site.Date // the last day; zero: a year after the opening
	Course Course
	Takes  []Take
	// TakesUpTo lets a take of more fish than are there take those that are; otherwise
	// it is an error.
	TakesUpTo bool
	Holding   []site.Date // days for which a ripe crop is kept standing, while it keeps
	// Sky is the site's weather if it is worked out already (NewSky); runs that
	// share it work each day out once.
	Sky *Sky
	// RelTol is the relative tolerance of the water's chemistry; 0 stands for
	// UsualRelTol.
	RelTol float64
	// Undosed leaves out what a keeper would dose.
	Undosed bool

	endless bool // water that lacks nothing and is not followed
}

// UsualRelTol is the relative tolerance of the water's chemistry: half of it moves
// no daily value of the demo building's year by more than a thousandth or 0.01
// g/m³ (un-ionised ammonia 0.0001), and no dose.
const UsualRelTol = 1e-5

// Forecast is one course of a season.
type Forecast struct {
	Course    Course           `json:"-"`
	Yield     string           `json:"yield"`
	From      site.Date        `json:"from"`
	To        site.Date        `json:"to"`
	Plantings []PlantingCourse `json:"plantings"` // in the order of the opening
	Cohorts   []CohortCourse   `json:"cohorts"`   // in the order of the opening
	Loops     []LoopCourse     `json:"loops"`
	Feeds     []FeedCourse     `json:"feeds"`
	Light     []LightMonth     `json:"light"` // outside and in each bed, by month of the run
	Warnings  []string         `json:"warnings"`
}

// Pick is one harvest.
type Pick struct {
	Day   site.Date `json:"day"`   // first day on which it can be taken
	Until site.Date `json:"until"` // last day on which it can still be taken fresh from the bed
	Kg    float64   `json:"kg"`    // of the whole planting
}

// Step is the state of a planting or cohort on one day, kept once a week and
// at events, so that a person can follow it.
type Step struct {
	Day         site.Date `json:"day"`
	DLIMol      float64   `json:"dliMol"`      // light sum at the leaves, mol/m²/d
	Temp        float64   `json:"tempFactor"`  // share of full growth that the warmth allows
	Closed      float64   `json:"closedGM2"`   // growth of a closed stand in this light, at best warmth
	Cover       float64   `json:"cover"`       // share of the light that the stand takes
	Root        float64   `json:"rootFactor"`  // share that the water's nitrogen allows
	WGM2        float64   `json:"dryGM2"`      // dry matter standing
	GrownGM2    float64   `json:"grownGM2"`    // dry matter grown on that day
	HarvestGM2  float64   `json:"harvestGM2"`  // dry matter taken on that day
	HarvestKgM2 float64   `json:"harvestKgM2"` // the same fresh
	Note        string    `json:"note,omitempty"`
}

// PlantingCourse is what becomes of one planting.
type PlantingCourse struct {
	Crop    string    `json:"crop"`
	Name    string    `json:"name"`
	Bed     string    `json:"bed"`
	AreaM2  float64   `json:"areaM2"`
	Planted site.Date `json:"planted"`
	Emerged site.Date `json:"emerged"`
	First   site.Date `json:"first"`  // first harvest
	Pulled  site.Date `json:"pulled"` // the bed is free; zero: still standing at the end
	Picks   []Pick    `json:"picks"`
	// Young is what it would give, taken unripe, on the days of Options.Holding.
	Young     []Pick   `json:"young,omitempty"`
	Steps     []Step   `json:"steps"`
	HarvestKg float64  `json:"harvestKg"`
	RipeWhen  string   `json:"ripeWhen"` // the calibration in words, with its figures
	NUptakeG  float64  `json:"nUptakeG"`
	Why       string   `json:"why"`     // why nothing was harvested, or what cut it short
	Caution   string   `json:"caution"` // of the crop; may be empty
	Source    string   `json:"source"`  // of the crop's row
	Warnings  []string `json:"warnings"`

	grownG, harvestG, residueG, standingG float64 // dry matter of the whole planting
}

// CohortCourse is what becomes of one cohort.
type CohortCourse struct {
	Name                string    `json:"name"`
	Species             string    `json:"species"`
	Title               string    `json:"title"` // the species for people
	Tank                string    `json:"tank"`
	TempC               float64   `json:"tempC"`
	Days                []FishDay `json:"-"` // each day, from the opening
	Weeks               []FishDay `json:"weeks"`
	TableOn             site.Date `json:"tableOn"` // first day at table size; zero: not within the run
	FeedG               float64   `json:"feedG"`   // over the run
	FeedName            string    `json:"feedName"`
	DensityMaxKgM3      float64   `json:"densityMaxKgM3"` // that the species bears with strong air; 0: by floor area
	FeedLowC, FeedHighC float64   `json:"-"`              // water in which it feeds
	Caution             string    `json:"caution"`        // law and risk of the species
	Warnings            []string  `json:"warnings"`
}

// FeedCourse is a feed's stock against what the cohorts eat.
type FeedCourse struct {
	Name     string    `json:"name"`
	StockKg  float64   `json:"stockKg"`  // at the opening
	UsedKg   float64   `json:"usedKg"`   // over the run
	RunsOut  site.Date `json:"runsOut"`  // first day without; zero: lasts the run
	OrderBy  site.Date `json:"orderBy"`  // orderDays before
	Sentence string    `json:"sentence"` // what to do, in words
}

// orderDays is how long before the last day of a feed it is to be ordered.
// Common practice, no source.
const orderDays = 14

// FishDay is a cohort at the end of one day.
type FishDay struct {
	Day         site.Date `json:"day"`
	Number      float64   `json:"number"`
	WeightG     float64   `json:"weightG"`
	FeedG       float64   `json:"feedG"`       // all fish, of the day
	DensityKgM3 float64   `json:"densityKgM3"` // of all cohorts of the tank
	Lost        float64   `json:"lost"`        // fish that died on the day
	Taken       float64   `json:"taken"`       // fish taken on the day
	GainG       float64   `json:"gainG"`       // all fish, of the day
	FeedShare   float64   `json:"feedShare"`   // feed over the fish's weight
	FeedPerGain float64   `json:"feedPerGain"` // 0 when nothing was gained
}

// Ledger is one substance's account over a run. Start + In = Out + End.
type Ledger struct {
	Start float64 `json:"start"`
	In    []Entry `json:"in"`
	Out   []Entry `json:"out"`
	End   float64 `json:"end"`
	Left  float64 `json:"left"` // what does not close, absolute
}

// Entry is one line of a ledger.
type Entry struct {
	Name   string  `json:"name"`
	Amount float64 `json:"amount"`
}

// LoopCourse is one loop's balance.
type LoopCourse struct {
	Name        string     `json:"name"`
	VolumeM3    float64    `json:"volumeM3"`
	Nitrogen    Ledger     `json:"nitrogen"`   // g
	Phosphorus  Ledger     `json:"phosphorus"` // g
	Potassium   Ledger     `json:"potassium"`  // g
	WaterM3     Ledger     `json:"waterM3"`
	OxygenG     Ledger     `json:"oxygenG"`
	CarbonMol   Ledger     `json:"carbonMol"` // dissolved
	FishKg      Ledger     `json:"fishKg"`
	PlantKg     Ledger     `json:"plantKg"` // dry matter
	NitrateNGm3 []LoopWeek `json:"weeks"`
	PlantedM2   float64    `json:"plantedM2"`  // mean over the run
	FeedGM2Day  float64    `json:"feedGM2Day"` // mean feed over mean planted area
	// StandstillGM2Day is the feed at which the nitrogen in the water would have
	// stood still over the run, by the mass balance.
	StandstillGM2Day float64 `json:"standstillGM2Day"`
	// LeafyGM2Day is the same for a bed full of leafy crops at good light.
	LeafyGM2Day float64 `json:"leafyGM2Day"`
	// NitrifiedG is the ammonia oxidised, SolidsN and BacteriaNG the nitrogen left
	// in solids and bacteria, g.
	NitrifiedG float64      `json:"nitrifiedG"`
	SolidsN    float64      `json:"solidsN"`
	BacteriaNG float64      `json:"bacteriaNG"`
	Water      *WaterCourse `json:"water,omitempty"`  // nil where no water circulates
	Leaves     *LeafWater   `json:"leaves,omitempty"` // nil where the building is not described
	protein    float64      // share of the feed, mean over the run
}

// LeafWater is what leaves gave off over a run, m³, twice: by the plantings of the run,
// which is what leaves the loop, and by the leaves that the building's air counts,
// which stay where beds were planted once, as the next crops would keep them. The
// rate for a m² under full leaf is one and the same; only the leaves differ.
type LeafWater struct {
	PlantingsM3 float64 `json:"plantingsM3"`
	BuildingM3  float64 `json:"buildingM3"`
}

// LoopWeek is a loop's water once a week.
type LoopWeek struct {
	Day  site.Date `json:"day"`
	NGm3 float64   `json:"nGm3"`
	PGm3 float64   `json:"pGm3"`
	KGm3 float64   `json:"kGm3"`
}

// LightMonth is one month's mean light.
type LightMonth struct {
	Month   site.Date  `json:"month"` // its first day in the run
	OutMJm2 float64    `json:"outMJm2"`
	Beds    []BedLight `json:"beds"`
}

// BedLight is the mean light sum at a bed's leaves.
type BedLight struct {
	Bed string  `json:"bed"`
	Mol float64 `json:"dliMol"`
}

// Weather returns the weather of the site's place, from its own normals or the
// library's. The error says what is missing.
func Weather(s *site.Site) (*climate.Weather, string, error) {
	p := s.Place
	months, latitude, source := [12]climate.Month{}, p.LatitudeDeg, "the site's own normals"
	switch {
	case len(p.Normals) == 12:
		for _, n := range p.Normals {
			months[n.Month-1] = n.Climate()
		}
	case p.Climate != "":
		place, err := climate.Lookup(p.Climate)
		if err != nil {
			return nil, "", fmt.Errorf("place.climate: %w", err)
		}
		months, latitude, source = place.Months, place.LatitudeDeg, "the normals of "+place.Name
	default:
		return nil, "", fmt.Errorf("place: no weather: give twelve months of normals, or name a place of the library in climate")
	}
	w, err := climate.New(p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, months, latitude)
	if err != nil {
		return nil, "", fmt.Errorf("place: %w", err)
	}
	for i, n := range p.Nights {
		if err := w.SetNightMinimum(n.Date.Time, n.MinC); err != nil {
			return nil, "", fmt.Errorf("place.nights[%d]: %w", i, err)
		}
	}
	return w, source, nil
}

// Sky keeps the days of a site's weather once they are worked out. It is not
// safe for use by several goroutines at once.
type Sky struct {
	weather climate.Sky
	source  string
	from    site.Date // longestStandDays before the opening
	days    []climate.Day
	known   []bool // of days
	indoors *indoors
}

// NewSky returns the weather of the site's place. Errors: as Weather.
func NewSky(s *site.Site) (*Sky, error) {
	w, source, err := Weather(s)
	if err != nil {
		return nil, err
	}
	const n = longestStandDays + LongestDays + 1
	return &Sky{weather: w, source: source, from: s.Opening.Date.Plus(-longestStandDays), days: make([]climate.Day, n), known: make([]bool, n)}, nil
}

// farKm is how far a weather file's place may lie before it is said.
const farKm = 50

// NewSkyUnder returns a sky of a weather file, with the site's typed nights put over
// it, and what is to be said of it. Errors: nights that cannot be.
func NewSkyUnder(s *site.Site, file *climate.Series) (*Sky, []string, error) {
	s = dated(s)
	nights, err := climate.NewNights(file)
	if err != nil {
		return nil, nil, fmt.Errorf("season: %w", err)
	}
	for i, n := range s.Place.Nights {
		if err := nights.SetNightMinimum(n.Date.Time, n.MinC); err != nil {
			return nil, nil, fmt.Errorf("season: place.nights[%d]: %w", i, err)
		}
	}
	var notes []string
	if km := file.DistanceKm(s.Place.LatitudeDeg, s.Place.LongitudeDeg); km > farKm {
		notes = append(notes, fmt.Sprintf("The weather file's place lies %.0f km from the site: its days are not the site's.", km))
	}
	const n = longestStandDays + LongestDays + 1
	return &Sky{weather: nights, source: file.Source(), from: s.Opening.Date.Plus(-longestStandDays), days: make([]climate.Day, n), known: make([]bool, n)}, notes, nil
}

// fill works out all days up to one, so that several runs may share the sky at
// once.
func (k *Sky) fill(to site.Date) error {
	for i := range min(len(k.days), k.from.DaysTo(to)+1) {
		if _, err := k.day(k.from.Plus(i)); err != nil {
			return err
		}
	}
	return nil
}

// day returns a day's weather; the caller must not change it.
func (k *Sky) day(date site.Date) (*climate.Day, error) {
	i := k.from.DaysTo(date)
	if i < 0 || i >= len(k.days) {
		return nil, fmt.Errorf("weather of %s: outside the days that are foretold", date)
	}
	if !k.known[i] {
		if err := k.weather.Day(date.Time, &k.days[i]); err != nil {
			return nil, err
		}
		k.known[i] = true
	}
	return &k.days[i], nil
}

// Run works out one course of the season of a site from its opening.
//
// Errors: a place without weather, a name the tables lack, days outside 1 to
// LongestDays, and ErrLedger, which is ours.
func Run(s *site.Site, o Options) (*Forecast, error) {
	if o.To.IsZero() {
		o.To = s.Opening.Date.Plus(365)
	}
	days := s.Opening.Date.DaysTo(o.To) + 1
	if days < 1 || days > LongestDays {
		return nil, fmt.Errorf("season: from %s to %s are %d days: give 1 to %d", s.Opening.Date, o.To, days, LongestDays)
	}
	r, err := newRun(s, o, days)
	if err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	for d := range days {
		if err := r.day(d); err != nil {
			return nil, fmt.Errorf("season: %w", err)
		}
	}
	if err := r.close(); err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	return r.out, nil
}

// Ahead are the options of a run from a site's opening to the end of its last
// home-fed days, a year at least and LongestDays at most, with what ripens kept for
// the first day of each.
func Ahead(s *site.Site) Options {
	o := Options{To: s.Opening.Date.Plus(365)}
	for _, set := range s.HomeFed {
		o.Holding = append(o.Holding, set.From)
		if set.To.After(o.To.Time) {
			o.To = set.To
		}
	}
	if last := s.Opening.Date.Plus(LongestDays - 1); o.To.After(last.Time) {
		o.To = last
	}
	return o
}

// All runs the three courses.
func All(s *site.Site, o Options) (all [Courses]*Forecast, err error) {
	var each [Courses]Options
	for c := range each {
		each[c] = o
	}
	return Each(s, each)
}

// Each runs the three courses, each by its own options, at the same time. Course
// and, where none is given, Sky are filled in; all share the first one's sky.
func Each(s *site.Site, each [Courses]Options) (all [Courses]*Forecast, err error) {
	sky := each[0].Sky
	if sky == nil {
		if sky, err = NewSky(s); err != nil {
			return all, fmt.Errorf("season: %w", err)
		}
	}
	for c := range each {
		o := &each[c]
		o.Course, o.Sky = Course(c), sky
		if o.To.IsZero() {
			o.To = s.Opening.Date.Plus(365)
		}
		if err := sky.fill(o.To); err != nil {
			return all, fmt.Errorf("season: %w", err)
		}
		if _, err := sky.inside(s, o.To); err != nil {
			return all, fmt.Errorf("season: %w", err)
		}
	}
	var wait sync.WaitGroup
	var errs [Courses]error
	for c := range each {
		wait.Go(func() { all[c], errs[c] = Run(s, each[c]) })
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return all, err
		}
	}
	return all, nil
}

// Trial works out one planting alone, in the bed and zone it names, in water
// that lacks nothing: what a change would give.
func Trial(s *site.Site, o Options, p site.Planting) (PlantingCourse, error) {
	alone := *s
	alone.Opening.Plantings = []site.Planting{p}
	alone.Opening.Cohorts = nil
	o.endless = true
	f, err := Run(&alone, o)
	if err != nil {
		return PlantingCourse{}, err
	}
	return f.Plantings[0], nil
}

// Bench grows single plantings of a site in water that lacks nothing, many of them
// under one sky: Trial without its beginnings. It is not safe for use by several
// goroutines at once; make one for each, before any of them grows: they may share a
// sky.
type Bench struct{ r *run }

// NewBench readies a bench for days from the opening to o.To, which must be given.
// Errors: as Run.
func NewBench(s *site.Site, o Options) (*Bench, error) {
	days := s.Opening.Date.DaysTo(o.To) + 1
	if days < 1 || days > LongestDays {
		return nil, fmt.Errorf("season: from %s to %s are %d days: give 1 to %d", s.Opening.Date, o.To, days, LongestDays)
	}
	alone := *s
	alone.Opening.Plantings, alone.Opening.Cohorts = nil, nil
	o.endless = true
	if o.Sky != nil { // so that several benches may share it at once
		if err := o.Sky.fill(o.To); err != nil {
			return nil, fmt.Errorf("season: %w", err)
		}
	}
	r, err := newRun(&alone, o, days)
	if err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	return &Bench{r: r}, nil
}

// Grow works out one planting, put in on or after the opening, up to its end or the
// bench's last day. Errors: a crop or bed that is not there, a day outside the
// bench's.
func (b *Bench) Grow(p site.Planting) (PlantingCourse, error) {
	r := b.r
	at := slices.IndexFunc(r.beds, func(bed bed) bool { return bed.Name == p.Bed })
	from := r.s.Opening.Date.DaysTo(p.Planted)
	if last := r.s.Opening.Date.DaysTo(r.o.To); at < 0 || from < 0 || from > last {
		return PlantingCourse{}, fmt.Errorf("season: %s in %s on %s: no such bed, or outside the days from %s to %s", p.Crop, p.Bed, p.Planted, r.s.Opening.Date, r.o.To)
	}
	pl, err := newPlanting(r, p, at)
	if err != nil {
		return PlantingCourse{}, fmt.Errorf("season: %w", err)
	}
	for d := from; !pl.done && d <= r.s.Opening.Date.DaysTo(r.o.To); d++ {
		date := r.s.Opening.Date.Plus(d)
		if r.sky, err = r.weather.day(date); err != nil {
			return PlantingCourse{}, fmt.Errorf("season: %w", err)
		}
		r.inside = r.in.on(date)
		bed := &r.beds[at]
		bed.mol = r.molOf(bed)
		pl.out.NUptakeG += pl.grow(r, d, date, 1, false).NUptakeG * p.AreaM2
	}
	return pl.finish(), nil
}

// courseLight is how bright each course is against the normals: dull and
// bright years differ about so much by the month. Common practice, no source.
var courseLight = [Courses]float64{0.9, 1, 1.1}

// run is the state of one course.
type run struct {
	s       *site.Site
	o       Options
	out     *Forecast
	weather *Sky
	sky     *climate.Day
	in      *indoors   // nil building: set points stand in
	inside  *indoorDay // of today; nil without one
	beds    []bed
	plants  []planting
	cohorts []cohort
	loops   []loop
	feeds   []FeedCourse
	months  []monthLight
	err     error // of the day
}

// bed is a bed with the light and warmth of the day.
type bed struct {
	*site.Bed
	loop    int
	zone    *site.Zone
	zoneAt  int            // of the site
	shade   float64        // share of the zone's light that reaches the mean tier
	lampMol float64        // mol/m²/d from lamps over it
	lampH   float64        // hours a day that lamps burn over any bed of its zone
	mol     float64        // of the day
	at      int            // index in its loop
	burns   float64        // hours a day that lamps burn over it
	spread  [hours]float64 // share of the day's light in each hour
}

type monthLight struct {
	year  int
	month time.Month
	days  float64
	out   float64
	beds  []float64
}

// tierShade is the light left for the leaves of a bed with tiers: each lower
// tier gets this share of the one above. Common practice, no source.
const tierShade = 0.8

func newRun(s *site.Site, o Options, days int) (*run, error) {
	w := o.Sky
	if w == nil {
		var err error
		if w, err = NewSky(s); err != nil {
			return nil, err
		}
	}
	r := &run{s: s, o: o, weather: w, out: &Forecast{Course: o.Course, Yield: o.Course.String(), From: s.Opening.Date, To: o.To}}
	var err error
	if r.in, err = w.inside(s, o.To); err != nil {
		return nil, err
	}
	air := "the air inside is held at the zones' set points and is never colder than outside, for no surface of a zone is described"
	if r.in.building != nil {
		air = "air and water inside are worked out hour by hour from skin, sun, heaters and vents of the building"
	}
	r.out.Warnings = append(r.out.Warnings, "Light is that of "+w.source+"; "+air+".")
	index := map[string]int{}
	for i := range s.Loops {
		l := &s.Loops[i]
		made, err := newLoop(r, l, i, days)
		if err != nil {
			return nil, err
		}
		r.loops = append(r.loops, made)
		if r.loops[i].volumeM3 <= 0 && len(l.Beds) > 0 {
			return nil, fmt.Errorf("loop %s holds no water for its beds: give it a tank, or the volume of its sump or butt", l.Name)
		}
		for j := range l.Beds {
			b := bed{Bed: &l.Beds[j], loop: i, at: j, shade: 1}
			for k := range s.Zones {
				if s.Zones[k].Name == b.Zone {
					b.zone, b.zoneAt = &s.Zones[k], k
				}
			}
			if b.zone == nil {
				return nil, fmt.Errorf("bed %s: zone %q is not in the building", b.Name, b.Zone)
			}
			b.shade = tiersShade(b.Tiers)
			b.lampMol, b.burns = lampsOver(s, b.Bed)
			index[b.Name] = len(r.beds)
			r.beds = append(r.beds, b)
		}
	}
	for _, lamp := range s.Lamps {
		at, ok := index[lamp.Over]
		for i := range r.beds {
			if ok && r.beds[i].zone == r.beds[at].zone {
				r.beds[i].lampH = math.Max(r.beds[i].lampH, lamp.HoursDay)
			}
		}
	}
	for i := range r.loops {
		r.loops[i].breathe(r)
	}
	for i, t := range o.Takes {
		day := s.Opening.Date.DaysTo(t.Day)
		if t.Cohort < 0 || t.Cohort >= len(s.Opening.Cohorts) || day < 0 || day >= days || !(t.Number >= 0) || math.IsInf(t.Number, 0) {
			return nil, fmt.Errorf("take %d: %g fish of cohort %d on %s: no such cohort, day or number", i, t.Number, t.Cohort, t.Day)
		}
	}
	for i, p := range s.Opening.Plantings {
		at, ok := index[p.Bed]
		if !ok {
			return nil, fmt.Errorf("opening.plantings[%d]: bed %q is not in the building", i, p.Bed)
		}
		if b := &r.beds[at]; b.zone.Light == 0 && b.lampMol == 0 && !(r.in.building != nil && r.in.building.Lit(b.zoneAt)) {
			r.warnOnce(fmt.Sprintf("zone %s lets in no light by the site file, and no lamp burns over bed %s: nothing grows there; give the zone its light, such as 60 %%", b.zone.Name, b.Name))
		}
		pl, err := newPlanting(r, p, at)
		if err != nil {
			return nil, fmt.Errorf("opening.plantings[%d]: %w", i, err)
		}
		r.plants = append(r.plants, pl)
	}
	for _, f := range s.Feeds {
		r.feeds = append(r.feeds, FeedCourse{Name: f.Name, StockKg: f.StockKg})
	}
	for i, c := range s.Opening.Cohorts {
		co, err := newCohort(r, c, i, days)
		if err != nil {
			return nil, fmt.Errorf("opening.fish[%d]: %w", i, err)
		}
		r.cohorts = append(r.cohorts, co)
	}
	// Space for what grows with the days, so that the daily loop allocates nothing.
	r.months = make([]monthLight, 0, days/28+2)
	for range cap(r.months) {
		r.months = append(r.months, monthLight{beds: make([]float64, len(r.beds))})
	}
	r.months = r.months[:0]
	for i := range r.loops {
		r.loops[i].out.NitrateNGm3 = make([]LoopWeek, 0, days/7+2)
	}
	return r, nil
}

// warnOnce warns unless it has said so already.
func (r *run) warnOnce(text string) {
	if !slices.Contains(r.out.Warnings, text) {
		r.out.Warnings = append(r.out.Warnings, text)
	}
}

// day carries everything through one day.
func (r *run) day(d int) error {
	date := r.s.Opening.Date.Plus(d)
	var err error
	if r.sky, err = r.weather.day(date); err != nil {
		return err
	}
	r.inside = r.in.on(date)
	r.light(date)
	for i := range r.loops {
		r.loops[i].morning()
	}
	for i := range r.cohorts {
		r.cohorts[i].day(r, d, date)
	}
	for i := range r.plants {
		r.plants[i].day(r, d, date)
	}
	for i := range r.loops {
		if err := r.loops[i].hoursOfDay(r, d); err != nil {
			return err
		}
	}
	for i := range r.cohorts {
		r.cohorts[i].evening(&r.loops[r.cohorts[i].loop], d, date)
	}
	for i := range r.plants {
		r.plants[i].evening(r)
	}
	for i := range r.loops {
		if err := r.loops[i].evening(r, d, date); err != nil {
			return err
		}
	}
	r.density(d)
	return r.err
}

// light works out each bed's light sum of the day and adds it to the month.
func (r *run) light(date site.Date) {
	n := len(r.months)
	if n == 0 || r.months[n-1].month != date.Month() || r.months[n-1].year != date.Year() {
		r.months = r.months[:n+1]
		r.months[n].year, r.months[n].month = date.Year(), date.Month()
		n++
	}
	m := &r.months[n-1]
	m.days++
	m.out += r.sky.GHIMJm2 * courseLight[r.o.Course]
	for i := range r.beds {
		b := &r.beds[i]
		b.mol = r.molOf(b)
		m.beds[i] += b.mol
		b.light(r.sky, r.inside)
	}
}

// molOf is a bed's light sum of the day: sun by its zone's share of the light outside
// and lamps. The share is the site's where it gives one, else the building's by its
// glazing; 0 without either.
func (r *run) molOf(b *bed) float64 {
	share := b.zone.Light
	if share == 0 && r.inside != nil {
		share = r.inside.share[b.zoneAt]
	}
	return sun.MolPerMJ*r.sky.GHIMJm2*courseLight[r.o.Course]*share*b.shade + b.lampMol
}

// light spreads the day's light over its hours: the sun's as it shines, the
// lamps' about noon; even where there is none.
func (b *bed) light(sky *climate.Day, in *indoorDay) {
	var sun float64
	var shines [hours]float64
	for h := range sky.Hours {
		if shines[h] = sky.Hours[h].GHIWm2; in != nil {
			shines[h] = in.light[b.zoneAt][h]
		}
		sun += shines[h]
	}
	lit := 0.0
	for h := range hours {
		if math.Abs(float64(h)+0.5-12) <= b.burns/2 {
			lit++
		}
	}
	for h := range hours {
		if b.mol <= 0 || sun <= 0 && lit == 0 {
			b.spread[h] = 1.0 / hours
			continue
		}
		lamp := 0.0
		if lit > 0 {
			lamp = b.lampMol / b.mol
		}
		b.spread[h] = 0
		if sun > 0 {
			b.spread[h] = (1 - lamp) * shines[h] / sun
		} else {
			lamp = 1
		}
		if lit > 0 && math.Abs(float64(h)+0.5-12) <= b.burns/2 {
			b.spread[h] += lamp / lit
		}
	}
}

// crowded warns of plantings that together want more than their bed has.
func (r *run) crowded() {
	for i, p := range r.out.Plantings {
		area := 0.0
		for _, q := range r.out.Plantings {
			if q.Bed == p.Bed && !q.Planted.After(p.Planted.Time) && (q.Pulled.IsZero() || q.Pulled.After(p.Planted.Time)) {
				area += q.AreaM2
			}
		}
		if has := r.beds[r.plants[i].bed].GrowingM2(); area > has*1.0001 && !p.Planted.Before(r.s.Opening.Date.Time) {
			r.out.Warnings = append(r.out.Warnings, fmt.Sprintf("bed %s: on %s the %s finds no room: %.3g m² would stand on %.3g m²", p.Bed, p.Planted, p.Name, area, has))
		}
	}
}

// airC is the air of a bed's zone in an hour.
func (r *run) airC(b *bed, hour int) float64 {
	if r.inside != nil {
		return r.inside.airC[b.zoneAt][hour]
	}
	return setAirC(b.zone, b.lampH, r.sky, hour)
}

// setAirC is the air of a zone whose skin is not described: its set point, and never colder than
// outside. It is day while the sun is up or lamps burn; lamps burn lampH hours
// about noon.
func setAirC(z *site.Zone, lampH float64, sky *climate.Day, hour int) float64 {
	set := z.NightC
	at := float64(hour) + 0.5
	sun := at >= sky.SunriseH && at < sky.SunsetH && !sky.PolarNight || sky.PolarDay
	if sun || math.Abs(at-12) <= lampH/2 {
		set = z.DayC
	}
	return math.Max(set, sky.Hours[hour].TempC)
}

// close finishes the ledgers and the output.
func (r *run) close() error {
	for i := range r.plants {
		r.out.Plantings = append(r.out.Plantings, r.plants[i].finish())
	}
	r.crowded()
	for i := range r.cohorts {
		r.out.Cohorts = append(r.out.Cohorts, r.cohorts[i].finish(r))
	}
	for i := range r.loops {
		l, err := r.loops[i].close(r, i)
		if err != nil {
			return err
		}
		r.out.Loops = append(r.out.Loops, l)
	}
	for _, f := range r.feeds {
		switch {
		case f.UsedKg == 0:
			continue
		case f.RunsOut.IsZero():
			f.Sentence = fmt.Sprintf("%s: %.0f kg in stock, %.0f kg used by %s at %s growth: it lasts.", f.Name, f.StockKg, f.UsedKg, r.o.To, r.o.Course)
		default:
			f.OrderBy = f.RunsOut.Plus(-orderDays)
			f.Sentence = fmt.Sprintf("%s: order by %s; at %s growth the %.0f kg in stock last until %s, and %.0f kg are used by %s.", f.Name, f.OrderBy, r.o.Course, f.StockKg, f.RunsOut.Plus(-1), f.UsedKg, r.o.To)
		}
		r.out.Feeds = append(r.out.Feeds, f)
	}
	for _, m := range r.months {
		month := LightMonth{Month: site.On(m.year, m.month, 1), OutMJm2: m.out / m.days}
		for i, b := range r.beds {
			month.Beds = append(month.Beds, BedLight{b.Name, m.beds[i] / m.days})
		}
		r.out.Light = append(r.out.Light, month)
	}
	return nil
}
