package warmth

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"tidebed/climate"
	"tidebed/science/power"
	"tidebed/site"
)

// Book keeps what a building went through in a run of days. Add each day in its
// order, then ask for Year. It keeps its own figures and holds on to no Day.
type Book struct {
	// Wastes are what a digester is fed; nil: reckoned from the stock and the beds.
	// Set them before Year is asked.
	Wastes *Wastes

	b        *Building
	days     []YearDay
	months   []monthBook
	loadKW   []float64
	last     time.Time
	heatedAt float64 // kWh times the air outside
	left     float64
	turned   float64
	damp     float64
	dampLeft float64
	zones    []zoneBook
	cold     KeptDay
	hot      KeptDay
	peak     PeakHour
	peakKW   float64
	grid     gridBook
	fault    error
	assumed  []string

	burners   []burner    // of each heater
	heaterWet []int       // of each heater; -1 for one of a zone
	loopOf    []int       // of each wet cell
	caughtTo  []int       // of each zone, the loop into which its dehumidifier is led; -1: none
	leafShare [][]float64 // by zone and loop: what of a zone's leaves drinks from a loop
	gives     []float64   // by loop, of one zone: scratch

	spareDays   []YearDay
	spareMonths []monthBook
}

// monthBook is what is kept of a month.
type monthBook struct {
	year, month, days int
	outC              float64 // sum of the days' means
	heaterKWh         []float64
	ledgers           []Ledger
	causes            [][zoneCauses + 1]float64 // heat by what it went to, by zone, kWh
	loops             []DayLoop
	waters            []WaterLedger // by loop
	tankKWh           []float64     // heaters' heat, by loop
}

// zoneBook is what is kept of a zone beside its days.
type zoneBook struct {
	ledger                        Ledger
	moisture                      Moisture
	evapKg, leafKg, coverKg, mist float64
	padKg, padH, dryKg, dryH      float64
	starts                        float64
	mostSunW, mostVentM3s         float64
}

// Year is a run of days summed up; a full year as a rule.
type Year struct {
	From         site.Date    `json:"from"`
	To           site.Date    `json:"to"` // the last day, included
	Currency     string       `json:"currency"`
	HeatKWh      float64      `json:"heatKWh"` // of all heaters
	PeakHeatKW   float64      `json:"peakHeatKW"`
	ElectricKWh  float64      `json:"electricKWh"` // used, heaters with it
	Money        float64      `json:"money"`       // fuel and electricity
	CO2Kg        float64      `json:"co2Kg"`       // fossil, and the grid's
	CO2WoodKg    float64      `json:"co2WoodKg"`   // of carbon that grew lately
	ToppedUpM3   float64      `json:"toppedUpM3"`
	PadM3        float64      `json:"padM3,omitempty"` // water of pads, beside it
	LeftShare    float64      `json:"leftShare"`       // of the heat turned over that the ledgers leave unexplained
	DampShare    float64      `json:"dampShare"`       // of the water through the air that they leave unexplained
	MeanOutC     float64      `json:"meanOutC"`        // air outside
	HeatedAtOutC float64      `json:"heatedAtOutC"`    // mean air outside by the heat given
	Zones        []YearZone   `json:"zones"`
	Heaters      []YearHeater `json:"heaters"`
	Loops        []YearLoop   `json:"loops"`
	Months       []YearMonth  `json:"months"`
	Days         []YearDay    `json:"days"`
	Coldest      KeptDay      `json:"coldest"` // the day of the lowest hour outside
	Hottest      KeptDay      `json:"hottest"`
	Peak         PeakHour     `json:"peak"` // the hour of PeakHeatKW, the first of them
	Fuels        []FuelUse    `json:"fuels"`
	Power        PowerYear    `json:"power"`
	Bill         Bill         `json:"bill"`
	Digester     *GasYear     `json:"digester"` // nil: none
	Own          Own          `json:"own"`
	Assumed      []string     `json:"assumed"`
	Cautions     []string     `json:"cautions"`

	loadKW []float64
}

// YearZone is a zone's run of days.
type YearZone struct {
	Name        string  `json:"name"`
	LeastC      float64 `json:"leastC"`
	MeanC       float64 `json:"meanC"`
	GreatestC   float64 `json:"greatestC"`
	HeatKWh     float64 `json:"heatKWh"`
	CurtainH    float64 `json:"curtainH"` // hours with the curtain drawn
	ShortH      float64 `json:"shortH"`   // hours in which the heaters did not reach
	EvaporatedL float64 `json:"evaporatedL"`
	TranspiredL float64 `json:"transpiredL"`
	CoverL      float64 `json:"coverL"` // condensed on covers
	MistL       float64 `json:"mistL"`  // on leaves and all else
	MostSunW    float64 `json:"mostSunW"`
	MostVentM3s float64 `json:"mostVentM3s"`
	Ledger      Ledger  `json:"ledger"`

	PadL     float64  `json:"padL,omitempty"`    // water that the pad takes: evaporated and let off
	PadH     float64  `json:"padH,omitempty"`    // hours in which it is wet
	CaughtL  float64  `json:"caughtL,omitempty"` // by the dehumidifier
	CaughtTo string   `json:"caughtTo,omitempty"`
	DryH     float64  `json:"dryH,omitempty"`   // hours in which it runs
	Starts   float64  `json:"starts,omitempty"` // of its heaters; 0: no band is given
	Moisture Moisture `json:"moisture"`
}

// YearHeater is a heater's run of days.
type YearHeater struct {
	Name    string  `json:"name"`
	In      string  `json:"in"` // zone or tank
	Tank    bool    `json:"tank"`
	Fuel    string  `json:"fuel"`
	HeatKWh float64 `json:"heatKWh"`
	Units   float64 `json:"units"` // of the fuel as sold; kWh of electricity
	Unit    string  `json:"unit"`
	Money   float64 `json:"money"`
	CO2Kg   float64 `json:"co2Kg"`
	FullH   float64 `json:"fullH"` // hours at full power that make its heat

	burns bool
}

// YearLoop is the water of a loop, in litres.
type YearLoop struct {
	Name        string  `json:"name"`
	EvaporatedL float64 `json:"evaporatedL"`
	CondensedL  float64 `json:"condensedL"` // out of the air into cold water
	TranspiredL float64 `json:"transpiredL"`
	RecoveredL  float64 `json:"recoveredL"` // from gutters, the low share, and from dehumidifiers that are led into it
	ToppedUpL   float64 `json:"toppedUpL"`  // what the meter should count
}

// YearMonth is a month.
type YearMonth struct {
	Year        int           `json:"year"`
	Month       int           `json:"month"`
	Days        int           `json:"days"`
	OutC        float64       `json:"outC"`
	HeatKWh     float64       `json:"heatKWh"`
	ElectricKWh float64       `json:"electricKWh"`
	GridKWh     float64       `json:"gridKWh"`
	PVKWh       float64       `json:"pvKWh"`
	ExportKWh   float64       `json:"exportKWh"`
	Money       float64       `json:"money"`
	CO2Kg       float64       `json:"co2Kg"`
	CO2WoodKg   float64       `json:"co2WoodKg"`
	HeaterKWh   []float64     `json:"heaterKWh"` // as Year.Heaters
	Ledgers     []Ledger      `json:"ledgers"`   // as Year.Zones
	Loops       []YearLoop    `json:"loops"`
	Waters      []WaterLedger `json:"waters"` // as Loops, of heat
	MeterL      []float64     `json:"meterL"` // by loop, counted on from the first day: the reading at the month's end
	Items       []BillItem    `json:"items"`  // that sum to Money
}

// YearDay is a day.
type YearDay struct {
	Date         site.Date `json:"date"`
	OutLeastC    float64   `json:"outLeastC"`
	OutMeanC     float64   `json:"outMeanC"`
	OutGreatestC float64   `json:"outGreatestC"`
	SunMJm2      float64   `json:"sunMJm2"` // on the level
	HeatKWh      float64   `json:"heatKWh"`
	PeakHeatKW   float64   `json:"peakHeatKW"`
	Zones        []DayZone `json:"zones"`
	HeaterKWh    []float64 `json:"heaterKWh"` // as Year.Heaters
	Loops        []DayLoop `json:"loops"`
	ElectricKWh  float64   `json:"electricKWh"` // used
	PeakKW       float64   `json:"peakKW"`      // greatest hour of the use
	PVKWh        float64   `json:"pvKWh"`       // made
	OwnKWh       float64   `json:"ownKWh"`      // of the sun's, used here at once or out of the battery
	GridKWh      float64   `json:"gridKWh"`
	ExportKWh    float64   `json:"exportKWh"`
	ElectricCost float64   `json:"electricCost"`
}

// DayZone is a zone's day.
type DayZone struct {
	LeastC    float64 `json:"leastC"`
	MeanC     float64 `json:"meanC"`
	GreatestC float64 `json:"greatestC"`
	HeatKWh   float64 `json:"heatKWh"`
	CurtainH  float64 `json:"curtainH"`
	ShortH    float64 `json:"shortH"`
}

// DayLoop is a loop's water of a day, kg, which is litres.
type DayLoop struct {
	EvaporatedL float64 `json:"evaporatedL"`
	CondensedL  float64 `json:"condensedL"`
	TranspiredL float64 `json:"transpiredL"`
	RecoveredL  float64 `json:"recoveredL"`
	ToppedUpL   float64 `json:"toppedUpL"`
}

// PeakHour is the hour that takes most heat.
type PeakHour struct {
	Date   site.Date `json:"date"`
	Hour   int       `json:"hour"` // of the standard clock, at its beginning
	OutC   float64   `json:"outC"`
	ZoneKW []float64 `json:"zoneKW"` // as Year.Zones
	RiseK  []float64 `json:"riseK"`  // of each zone's air since the hour before; 0 at midnight
	TankKW float64   `json:"tankKW"` // of all tanks
}

// KeptDay is a day with its hours.
type KeptDay struct {
	Date     site.Date           `json:"date"`
	OutC     [hoursDay]float64   `json:"outC"`
	AirC     [][hoursDay]float64 `json:"airC"` // by zone
	HeatKW   [][hoursDay]float64 `json:"heatKW"`
	SunKW    [][hoursDay]float64 `json:"sunKW"`
	VentM3s  [][hoursDay]float64 `json:"ventM3s"`
	TankKW   [hoursDay]float64   `json:"tankKW"` // of all tanks
	UseKW    [][hoursDay]float64 `json:"useKW"`  // electricity, as PowerYear.Uses
	extremeC float64
}

// GutterLowShare and GutterHighShare are what gutters under cold covers bring back
// of what condenses there; the book counts the low one. Common practice, no source.
const (
	GutterLowShare  = 0.30
	GutterHighShare = 0.60
)

// CautionGutter goes with water from covers.
const CautionGutter = "Lead water from the covers back only over plastic, aluminium or stainless steel: zinc and copper kill fish, and the first flush goes away. Ask the supplier of the gutter what it is coated with."

// CautionPad goes with wet pads.
const CautionPad = "Never let a pad's water drain into the fish's: what keeps algae off pads kills fish. Let water off against scale, and dry the pad out each night."

// CautionCoil goes with water of a dehumidifier that is led into a loop.
const CautionCoil = "A dehumidifier's coil is often of copper and aluminium: have its water tested for copper and zinc before any of it goes to fish, and clean the coil without acids."

// chunkDays are the days that the book makes room for at a time.
const chunkDays = 366

// NewBook opens a book for a building. What is wrong with its heaters or prices is
// said by Add.
func NewBook(b *Building) *Book {
	k := &Book{b: b, zones: make([]zoneBook, len(b.Zones)), gives: make([]float64, len(b.first))}
	for i := range b.Heaters {
		burner, err := k.burnerOf(b.Heaters[i].In)
		if err != nil && k.fault == nil {
			k.fault = fmt.Errorf("heaters[%d], %s: %w", i, b.Heaters[i].In.Name, err)
		}
		k.burners = append(k.burners, burner)
		cell := -1
		if b.Heaters[i].Zone < 0 {
			cell = slices.IndexFunc(b.wets, func(w wet) bool { return w.node == b.Heaters[i].Node })
			if cell < 0 {
				k.assume("%s warms neither a zone nor a tank that there is: it stays cold.", b.Heaters[i].In.Name)
			}
		}
		k.heaterWet = append(k.heaterWet, cell)
	}
	for i, first := range b.first {
		if first >= 0 {
			for range b.circuits[i].Places {
				k.loopOf = append(k.loopOf, i)
			}
		}
	}
	for i := range b.Zones {
		to := -1
		if d := b.Zones[i].In.Dehumidifier; d != nil && d.WaterTo != "" {
			to = slices.IndexFunc(b.Site.Loops, func(l site.Loop) bool { return l.Name == d.WaterTo })
		}
		k.caughtTo = append(k.caughtTo, to)
	}
	k.leafShare = make([][]float64, len(b.Zones))
	for z := range k.leafShare {
		k.leafShare[z] = make([]float64, len(b.first))
		sum := 0.0
		for i := range b.Site.Loops {
			for j := range b.Site.Loops[i].Beds {
				if bed := &b.Site.Loops[i].Beds[j]; max(0, b.zoneNamed(bed.Zone)) == z {
					k.leafShare[z][i] += bed.GrowingM2()
					sum += bed.GrowingM2()
				}
			}
		}
		for i := range k.leafShare[z] {
			k.leafShare[z][i] /= math.Max(sum, 1e-12)
		}
	}
	if err := k.openGrid(); err != nil && k.fault == nil {
		k.fault = err
	}
	for _, kept := range []*KeptDay{&k.cold, &k.hot} {
		kept.AirC, kept.HeatKW = make([][hoursDay]float64, len(b.Zones)), make([][hoursDay]float64, len(b.Zones))
		kept.SunKW, kept.VentM3s = make([][hoursDay]float64, len(b.Zones)), make([][hoursDay]float64, len(b.Zones))
		kept.UseKW = make([][hoursDay]float64, len(k.grid.names))
	}
	k.cold.extremeC, k.hot.extremeC = math.Inf(1), math.Inf(-1)
	k.peak.ZoneKW, k.peak.RiseK = make([]float64, len(b.Zones)), make([]float64, len(b.Zones))
	return k
}

func (k *Book) assume(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(k.assumed, text) {
		k.assumed = append(k.assumed, text)
	}
}

// newDay takes a day out of the store and fills the store when it is empty.
func (k *Book) newDay() *YearDay {
	if len(k.spareDays) == 0 {
		nz, nh, nl := len(k.b.Zones), len(k.b.Heaters), len(k.b.first)
		k.spareDays = make([]YearDay, chunkDays)
		zones, heaters, loops := make([]DayZone, chunkDays*nz), make([]float64, chunkDays*nh), make([]DayLoop, chunkDays*nl)
		for i := range k.spareDays {
			d := &k.spareDays[i]
			d.Zones, d.HeaterKWh, d.Loops = zones[i*nz:(i+1)*nz:(i+1)*nz], heaters[i*nh:(i+1)*nh:(i+1)*nh], loops[i*nl:(i+1)*nl:(i+1)*nl]
		}
	}
	k.days = append(k.days, k.spareDays[0])
	k.spareDays = k.spareDays[1:]
	return &k.days[len(k.days)-1]
}

// monthAt is the month of a date, opened if it is new.
func (k *Book) monthAt(date time.Time) *monthBook {
	if n := len(k.months); n > 0 && k.months[n-1].year == date.Year() && k.months[n-1].month == int(date.Month()) {
		return &k.months[n-1]
	}
	if len(k.spareMonths) == 0 {
		nz, nh, nl := len(k.b.Zones), len(k.b.Heaters), len(k.b.first)
		k.spareMonths = make([]monthBook, 13)
		for i := range k.spareMonths {
			k.spareMonths[i] = monthBook{heaterKWh: make([]float64, nh), ledgers: make([]Ledger, nz), causes: make([][zoneCauses + 1]float64, nz), loops: make([]DayLoop, nl), tankKWh: make([]float64, nl), waters: make([]WaterLedger, nl)}
		}
	}
	k.months = append(k.months, k.spareMonths[0])
	k.spareMonths = k.spareMonths[1:]
	m := &k.months[len(k.months)-1]
	m.year, m.month = date.Year(), int(date.Month())
	return m
}

// Add books a day that the building has just gone through, with the sky it had.
// Days follow each other without a gap. After the first day of a year it allocates
// nothing.
//
// Errors: a day that does not follow the last; a Day of another building; heaters
// and prices that cannot be.
func (k *Book) Add(date time.Time, sky *climate.Day, day *Day) error {
	if k.fault != nil {
		return k.fault
	}
	date = time.Date(date.Year(), date.Month(), date.Day(), 0, 0, 0, 0, time.UTC)
	if len(k.days) > 0 && !date.Equal(k.last.AddDate(0, 0, 1)) {
		return fmt.Errorf("book: %s does not follow %s: add each day once, in order", date.Format(time.DateOnly), k.last.Format(time.DateOnly))
	}
	b := k.b
	if len(day.Zones) != len(b.Zones) || len(day.WetKg) != len(b.wets) || len(day.TankKW) != len(b.wets) {
		return fmt.Errorf("book: %s: a day of %d zones and %d cells of water in the book of a building of %d and %d", date.Format(time.DateOnly), len(day.Zones), len(day.WetKg), len(b.Zones), len(b.wets))
	}
	for i := range day.Zones {
		if l := day.Zones[i].Ledger.Turned(); math.IsNaN(l) || math.IsInf(l, 0) {
			return fmt.Errorf("book: %s: the heat of zone %s is no number", date.Format(time.DateOnly), b.Zones[i].In.Name)
		}
	}
	if k.days == nil { // room for a year; a book that is never written in takes none
		k.days, k.months, k.loadKW = make([]YearDay, 0, chunkDays), make([]monthBook, 0, 14), make([]float64, 0, chunkDays*hoursDay)
		k.grid.hours = make([]float64, 0, chunkDays*hoursDay*(len(k.grid.names)+besideUses))
	}
	k.last = date
	m, d := k.monthAt(date), k.newDay()
	d.Date = site.Date{Time: date}
	k.weatherOf(d, sky)
	m.days++
	m.outC += d.OutMeanC

	var load [hoursDay]float64
	for i := range day.Zones {
		k.zoneDay(i, &day.Zones[i], d, m, &load)
	}
	for i := range b.wets {
		for h, kw := range day.TankKW[i] {
			load[h] += kw
			m.tankKWh[k.loopOf[i]] += kw
		}
	}
	for h, kw := range load {
		k.loadKW = append(k.loadKW, kw)
		d.HeatKWh += kw
		d.PeakHeatKW = math.Max(d.PeakHeatKW, kw)
		k.heatedAt += kw * sky.Hours[h].TempC
		if kw > k.peakKW {
			k.peakAt(h, kw, d.Date, sky, day)
		}
	}
	for i := range b.Heaters {
		kwh := 0.0
		for h := range hoursDay {
			kwh += k.heaterKW(i, h, day)
		}
		d.HeaterKWh[i] = kwh
		m.heaterKWh[i] += kwh
	}
	k.water(day, d, m)
	for i := range day.Waters {
		m.waters[i].add(&day.Waters[i])
		k.turned += day.Waters[i].Turned()
	}
	if err := k.gridDay(date, sky, day); err != nil {
		return fmt.Errorf("book: %s: %w", date.Format(time.DateOnly), err)
	}
	k.left += math.Abs(day.LeftJ)
	if d.OutLeastC < k.cold.extremeC {
		k.keep(&k.cold, d.OutLeastC, d.Date, sky, day)
	}
	if d.OutGreatestC > k.hot.extremeC {
		k.keep(&k.hot, d.OutGreatestC, d.Date, sky, day)
	}
	return nil
}

func (k *Book) weatherOf(d *YearDay, sky *climate.Day) {
	d.OutLeastC, d.OutGreatestC, d.SunMJm2 = math.Inf(1), math.Inf(-1), sky.GHIMJm2
	for h := range sky.Hours {
		t := sky.Hours[h].TempC
		d.OutLeastC, d.OutGreatestC = math.Min(d.OutLeastC, t), math.Max(d.OutGreatestC, t)
		d.OutMeanC += t / hoursDay
	}
}

// zoneDay books a zone's day.
func (k *Book) zoneDay(i int, z *ZoneDay, d *YearDay, m *monthBook, load *[hoursDay]float64) {
	o, sums := &d.Zones[i], &k.zones[i]
	*o = DayZone{LeastC: math.Inf(1), GreatestC: math.Inf(-1)}
	for h := range z.Hours {
		x := &z.Hours[h]
		o.LeastC, o.GreatestC = math.Min(o.LeastC, x.AirC), math.Max(o.GreatestC, x.AirC)
		o.MeanC += x.AirC / hoursDay
		o.HeatKWh += x.HeatW / 1000
		load[h] += x.HeatW / 1000
		if x.Closed {
			o.CurtainH++
		}
		if x.Short {
			o.ShortH++
		}
		sums.leafKg += x.LeafKg
		sums.coverKg += x.CoverKg
		sums.mist += x.MistKg
		sums.padKg += x.PadKg
		sums.padH += x.PadH
		sums.dryKg += x.DryKg
		sums.dryH += x.DryH
		sums.starts += x.Starts
		sums.mostSunW = math.Max(sums.mostSunW, x.SunW)
		sums.mostVentM3s = math.Max(sums.mostVentM3s, x.VentM3s)
	}
	k.turned += z.Ledger.Turned()
	sums.ledger.add(&z.Ledger)
	sums.moisture.add(&z.Moisture)
	k.damp += z.Moisture.Turned()
	k.dampLeft += math.Abs(z.Moisture.Left())
	m.ledgers[i].add(&z.Ledger)
	shareOut(&z.Ledger, o.HeatKWh, &m.causes[i])
}

// add sums ledgers.
func (l *Ledger) add(o *Ledger) {
	l.SunJ += o.SunJ
	l.LampsJ += o.LampsJ
	l.MotorsJ += o.MotorsJ
	l.PeopleJ += o.PeopleJ
	l.HeatersJ += o.HeatersJ
	l.FromWaterJ += o.FromWaterJ
	l.BeyondJ += o.BeyondJ
	l.SkinJ += o.SkinJ
	l.SkyJ += o.SkyJ
	l.DewJ += o.DewJ
	l.GroundJ += o.GroundJ
	l.EdgeJ += o.EdgeJ
	l.LeaksJ += o.LeaksJ
	l.VentsJ += o.VentsJ
	l.LeavesJ += o.LeavesJ
	l.StoredJ += o.StoredJ
	l.DriersJ += o.DriersJ
	l.PadJ += o.PadJ
}

// add sums the water of zones.
func (m *Moisture) add(o *Moisture) {
	m.LeavesKg += o.LeavesKg
	m.WaterKg += o.WaterKg
	m.PadKg += o.PadKg
	m.CoverKg += o.CoverKg
	m.MistKg += o.MistKg
	m.CaughtKg += o.CaughtKg
	m.VentsKg += o.VentsKg
	m.StoredKg += o.StoredKg
}

// add sums the heat of waters.
func (l *WaterLedger) add(o *WaterLedger) {
	l.HeatersJ += o.HeatersJ
	l.PumpJ += o.PumpJ
	l.TanksJ += o.TanksJ
	l.BedsJ += o.BedsJ
	l.SumpJ += o.SumpJ
	l.VapourJ += o.VapourJ
	l.TopUpJ += o.TopUpJ
	l.StoredJ += o.StoredJ
}

// heaterKW is the heat of a heater in an hour: heaters of one zone or tank share
// its heat by their power.
func (k *Book) heaterKW(i, h int, day *Day) float64 {
	hr := &k.b.Heaters[i]
	switch {
	case hr.Zone >= 0:
		if all := k.b.Zones[hr.Zone].HeaterW; all > 0 {
			return day.Zones[hr.Zone].Hours[h].HeatW / 1000 * hr.In.PowerW / all
		}
	case k.heaterWet[i] >= 0:
		if all := k.b.wets[k.heaterWet[i]].heaterW; all > 0 {
			return day.TankKW[k.heaterWet[i]][h] * hr.In.PowerW / all
		}
	}
	return 0
}

// water books the loops' water: what leaves and water gave off less what gutters
// bring back, and what a dehumidifier catches that is led into a loop, is topped up. Leaves drink from the loops by the growing area that each
// has in the zone; in a zone without a bed of a loop they drink from elsewhere. What
// gutters bring goes to the loops by what each gave to the zone's air. Water changed
// or spilt is not in it: what the meter counts beyond this leaks.
func (k *Book) water(day *Day, d *YearDay, m *monthBook) {
	b := k.b
	for i := range d.Loops {
		d.Loops[i] = DayLoop{}
	}
	for z := range b.Zones {
		clear(k.gives)
		leafKg, coverKg := 0.0, 0.0
		for h := range day.Zones[z].Hours {
			leafKg += day.Zones[z].Hours[h].LeafKg
			coverKg += day.Zones[z].Hours[h].CoverKg
		}
		for i, kg := range day.WetKg {
			if b.wets[i].zone != z {
				continue
			}
			l := &d.Loops[k.loopOf[i]]
			if kg > 0 {
				l.EvaporatedL += kg
				k.zones[z].evapKg += kg
				k.gives[k.loopOf[i]] += kg
			} else {
				l.CondensedL -= kg
			}
		}
		sum := 0.0
		for i, share := range k.leafShare[z] {
			d.Loops[i].TranspiredL += share * leafKg
			k.gives[i] += share * leafKg
			sum += k.gives[i]
		}
		if to := k.caughtTo[z]; to >= 0 {
			for h := range day.Zones[z].Hours {
				d.Loops[to].RecoveredL += day.Zones[z].Hours[h].DryKg
			}
		}
		for i := range d.Loops {
			if sum > 0 {
				d.Loops[i].RecoveredL += GutterLowShare * coverKg * k.gives[i] / sum
			}
		}
	}
	for i := range d.Loops {
		l := &d.Loops[i]
		l.ToppedUpL = l.EvaporatedL - l.CondensedL + l.TranspiredL - l.RecoveredL
		m.loops[i].add(l)
	}
}

func (l *DayLoop) add(o *DayLoop) {
	l.EvaporatedL += o.EvaporatedL
	l.CondensedL += o.CondensedL
	l.TranspiredL += o.TranspiredL
	l.RecoveredL += o.RecoveredL
	l.ToppedUpL += o.ToppedUpL
}

// keep holds a day with its hours.
func (k *Book) keep(to *KeptDay, extremeC float64, date site.Date, sky *climate.Day, day *Day) {
	to.extremeC, to.Date = extremeC, date
	for h := range hoursDay {
		to.OutC[h], to.TankKW[h] = sky.Hours[h].TempC, 0
		for i := range day.Zones {
			x := &day.Zones[i].Hours[h]
			to.AirC[i][h], to.HeatKW[i][h], to.SunKW[i][h], to.VentM3s[i][h] = x.AirC, x.HeatW/1000, x.SunW/1000, x.VentM3s
		}
		for i := range day.TankKW {
			to.TankKW[h] += day.TankKW[i][h]
		}
	}
	copy(to.UseKW, k.grid.useKW)
}

// peakAt holds the hour that takes most heat.
func (k *Book) peakAt(h int, kw float64, date site.Date, sky *climate.Day, day *Day) {
	p := &k.peak
	k.peakKW = kw
	p.Date, p.Hour, p.OutC, p.TankKW = date, h, sky.Hours[h].TempC, 0
	for i := range day.Zones {
		p.ZoneKW[i], p.RiseK[i] = day.Zones[i].Hours[h].HeatW/1000, 0
		if h > 0 {
			p.RiseK[i] = day.Zones[i].Hours[h].AirC - day.Zones[i].Hours[h-1].AirC
		}
	}
	for i := range day.TankKW {
		p.TankKW += day.TankKW[i][h]
	}
}

// clone is a kept day that later days do not overwrite.
func (d KeptDay) clone() KeptDay {
	d.AirC, d.HeatKW, d.SunKW, d.VentM3s, d.UseKW = slices.Clone(d.AirC), slices.Clone(d.HeatKW), slices.Clone(d.SunKW), slices.Clone(d.VentM3s), slices.Clone(d.UseKW)
	return d
}

// Drinks says how much a zone's leaves take from each loop, from the next day that is
// added on: parts of any sum, such as areas. Without a part above 0, or before it is
// called, they drink by the growing area that each loop has in the zone. A zone or a
// number of loops that is not there is passed over.
func (k *Book) Drinks(zone int, byLoop []float64) {
	if zone < 0 || zone >= len(k.leafShare) || len(byLoop) != len(k.leafShare[zone]) {
		return
	}
	sum := 0.0
	for _, part := range byLoop {
		sum += math.Max(0, part)
	}
	if !(sum > 0) {
		return
	}
	for i, part := range byLoop {
		k.leafShare[zone][i] = math.Max(0, part) / sum
	}
}

// Last is the day that was added last; nil before the first. It may be read until
// the next is added.
func (k *Book) Last() *YearDay {
	if len(k.days) == 0 {
		return nil
	}
	return &k.days[len(k.days)-1]
}

// Days is how many days stand in the book.
func (k *Book) Days() int { return len(k.days) }

// Year sums the book up. More days may be added after it. Errors: an empty book;
// what is wrong with heaters and prices.
func (k *Book) Year() (*Year, error) {
	if k.fault != nil {
		return nil, k.fault
	}
	if len(k.days) == 0 {
		return nil, fmt.Errorf("book: no day is in it: add days first")
	}
	b := k.b
	y := &Year{From: k.days[0].Date, To: k.days[len(k.days)-1].Date, Currency: cmp.Or(b.Site.Currency, "EUR"), Days: slices.Clone(k.days), loadKW: slices.Clip(k.loadKW),
		Coldest: k.cold.clone(), Hottest: k.hot.clone(), Peak: k.peak, Assumed: slices.Concat(b.Assumed, k.assumed)}
	y.Peak.ZoneKW, y.Peak.RiseK = slices.Clone(k.peak.ZoneKW), slices.Clone(k.peak.RiseK)
	for i := range k.days {
		d := &k.days[i]
		y.HeatKWh += d.HeatKWh
		y.PeakHeatKW = math.Max(y.PeakHeatKW, d.PeakHeatKW)
		y.MeanOutC += d.OutMeanC / float64(len(k.days))
	}
	if k.turned > 0 {
		y.LeftShare = k.left / k.turned
	}
	if k.damp > 0 {
		y.DampShare = k.dampLeft / k.damp
	}
	if y.HeatKWh > 0 {
		y.HeatedAtOutC = k.heatedAt / y.HeatKWh
	} else {
		y.HeatedAtOutC = y.MeanOutC
	}
	k.zonesOf(y)
	k.loopsOf(y)
	k.heatersOf(y)
	if err := k.fuelsOf(y); err != nil {
		return nil, err
	}
	v, err := k.serve(y)
	if err != nil {
		return nil, fmt.Errorf("electricity: %w", err)
	}
	k.powerOf(y, v)
	k.billOf(y, v)
	if err := k.gasOf(y); err != nil {
		return nil, err
	}
	y.Own = y.ShareOn(y.From.Time, y.To.Time)
	y.Cautions = append(y.Cautions, CautionGutter)
	for i := range b.Zones {
		if b.Zones[i].In.Pad != nil && !slices.Contains(y.Cautions, CautionPad) {
			y.Cautions = append(y.Cautions, CautionPad)
		}
		if k.caughtTo[i] >= 0 && !slices.Contains(y.Cautions, CautionCoil) {
			y.Cautions = append(y.Cautions, CautionCoil)
		}
	}
	if b.Site.Power.PanelPeakW > 0 {
		y.Cautions = append(y.Cautions, power.CautionPV)
	}
	if b.Site.Power.BatteryJ > 0 {
		y.Cautions = append(y.Cautions, power.CautionBattery)
	}
	if y.Digester != nil {
		y.Cautions = append(y.Cautions, y.Digester.Cautions...)
	}
	for i := range y.Fuels {
		for _, c := range y.Fuels[i].Cautions {
			if !slices.Contains(y.Cautions, c) {
				y.Cautions = append(y.Cautions, c)
			}
		}
	}
	return y, nil
}

func (k *Book) zonesOf(y *Year) {
	for i := range k.b.Zones {
		s := &k.zones[i]
		z := YearZone{Name: k.b.Zones[i].In.Name, LeastC: math.Inf(1), GreatestC: math.Inf(-1), EvaporatedL: s.evapKg, TranspiredL: s.leafKg, CoverL: s.coverKg, MistL: s.mist,
			MostSunW: s.mostSunW, MostVentM3s: s.mostVentM3s, Ledger: s.ledger,
			PadH: s.padH, CaughtL: s.dryKg, DryH: s.dryH, Starts: s.starts, Moisture: s.moisture}
		if p := k.b.Zones[i].In.Pad; p != nil {
			z.PadL = s.padKg * (1 + cmp.Or(p.Bleed, usualBleed))
			y.PadM3 += z.PadL / 1000
		}
		if to := k.caughtTo[i]; to >= 0 {
			z.CaughtTo = k.b.Site.Loops[to].Name
		}
		for d := range k.days {
			o := &k.days[d].Zones[i]
			z.LeastC, z.GreatestC = math.Min(z.LeastC, o.LeastC), math.Max(z.GreatestC, o.GreatestC)
			z.MeanC += o.MeanC / float64(len(k.days))
			z.HeatKWh += o.HeatKWh
			z.CurtainH += o.CurtainH
			z.ShortH += o.ShortH
		}
		y.Zones = append(y.Zones, z)
	}
}

func (k *Book) loopsOf(y *Year) {
	meter := make([]float64, len(k.b.first))
	for i := range k.months {
		m := &k.months[i]
		o := YearMonth{Year: m.year, Month: m.month, Days: m.days, OutC: m.outC / float64(m.days), HeaterKWh: slices.Clone(m.heaterKWh), Ledgers: slices.Clone(m.ledgers), Waters: slices.Clone(m.waters)}
		for _, l := range m.ledgers {
			o.HeatKWh += l.HeatersJ / joulesKWh
		}
		for _, kwh := range m.tankKWh {
			o.HeatKWh += kwh
		}
		for j := range m.loops {
			o.Loops = append(o.Loops, yearLoop(k.b.Site.Loops[j].Name, m.loops[j]))
			meter[j] += m.loops[j].ToppedUpL
		}
		o.MeterL = slices.Clone(meter)
		y.Months = append(y.Months, o)
	}
	for j := range k.b.first {
		var sum DayLoop
		for i := range k.months {
			sum.add(&k.months[i].loops[j])
		}
		y.Loops = append(y.Loops, yearLoop(k.b.Site.Loops[j].Name, sum))
		y.ToppedUpM3 += sum.ToppedUpL / 1000
	}
}

func yearLoop(name string, l DayLoop) YearLoop {
	return YearLoop{Name: name, EvaporatedL: l.EvaporatedL, CondensedL: l.CondensedL, TranspiredL: l.TranspiredL, RecoveredL: l.RecoveredL, ToppedUpL: l.ToppedUpL}
}

// joulesKWh is the heat of a kWh.
const joulesKWh = 3.6e6

func (k *Book) heatersOf(y *Year) {
	for i := range k.b.Heaters {
		in, r := k.b.Heaters[i].In, &k.burners[i]
		o := YearHeater{Name: in.Name, In: in.Zone, Tank: k.b.Heaters[i].Zone < 0, Fuel: r.fuel.Key, Unit: r.fuel.Unit, burns: !r.electric}
		if o.Tank {
			o.In = in.Tank
		}
		for m := range k.months {
			o.HeatKWh += k.months[m].heaterKWh[i]
		}
		o.FullH = o.HeatKWh / (in.PowerW / 1000)
		o.Units = r.units(o.HeatKWh)
		y.Heaters = append(y.Heaters, o)
	}
}

// LoadCurve is the heat of all heaters hour by hour, kW, the greatest first.
func (y *Year) LoadCurve() []float64 {
	curve := slices.Clone(y.loadKW)
	slices.SortFunc(curve, func(a, b float64) int { return cmp.Compare(b, a) })
	return curve
}

// HourLoads is the same in the order of the hours, from the first day's midnight.
func (y *Year) HourLoads() []float64 { return slices.Clone(y.loadKW) }
