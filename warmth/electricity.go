package warmth

import (
	"fmt"
	"math"
	"time"

	"tidebed/climate"
	"tidebed/science/fabric"
	"tidebed/science/power"
	"tidebed/science/sun"
)

// PowerYear is the electricity of a run of days: each hour's uses, served first by
// the panels, then the battery, then the grid, which is always there. Hours are of
// the standard clock: where the tariff keeps summer time its cheap hours lie an hour
// earlier in summer than here. Machines draw evenly through the hour, so that the
// peak is that of hours, below what a meter of quarter hours shows.
type PowerYear struct {
	Uses       []PowerUse `json:"uses"`
	UsedKWh    float64    `json:"usedKWh"`
	PVKWh      float64    `json:"pvKWh"`  // made by the panels
	OwnKWh     float64    `json:"ownKWh"` // of it, used here at once or out of the battery
	ExportKWh  float64    `json:"exportKWh"`
	LostKWh    float64    `json:"lostKWh"`   // in the battery
	StoredKWh  float64    `json:"storedKWh"` // more in the battery at the end than at the start
	GridKWh    float64    `json:"gridKWh"`
	Bands      []GridBand `json:"bands"`
	PeakKW     float64    `json:"peakKW"` // greatest hour of the use
	GridPeakKW float64    `json:"gridPeakKW"`
	OwnShare   float64    `json:"ownShare"` // of the use that the own sun covers
	Money      float64    `json:"money"`
	CO2Kg      float64    `json:"co2Kg"`     // by the mean of one country's grid: ask for the local figure
	Lamps      *LampShift `json:"lampShift"` // nil: no lamps, or no cheap hours
}

// PowerUse is what one kind of use takes.
type PowerUse struct {
	Use     string  `json:"use"` // lamps, pumps, blowers, larder, fans, where there are any dehumidifiers and pads, or the name of a heater
	Heater  bool    `json:"heater"`
	KWh     float64 `json:"kwh"`
	GridKWh float64 `json:"gridKWh"` // of it, bought
	Money   float64 `json:"money"`
	PeakKW  float64 `json:"peakKW"` // greatest hour
}

// GridBand is what is bought in the hours of a price.
type GridBand struct {
	Name     string  `json:"name"`
	Hours    int     `json:"hours"` // of a day
	PriceKWh float64 `json:"priceKWh"`
	KWh      float64 `json:"kwh"`
	Money    float64 `json:"money"`
}

// LampShift is the same year with the lamps' hours begun when the cheap price begins.
type LampShift struct {
	FromH      float64 `json:"fromH"`
	Money      float64 `json:"money"` // of all electricity then
	SavedMoney float64 `json:"savedMoney"`
	GridKWh    float64 `json:"gridKWh"`
}

const (
	useLamps = iota
	usePumps
	useBlowers
	useLarder
	useFans
	usesBefore // dehumidifiers and pads follow where there are any, then the electric heaters
)

var useNames = [usesBefore]string{"lamps", "pumps", "blowers", "larder", "fans"}

const (
	// fanWM3S is the power of vents' fans: 0.05 W for a m³/h. Where the site gives
	// no `+"`vents`"+` doors and windows are opened, which takes none. Common practice, no
	// source.
	fanWM3S = 0.05 * 3600
	// mostPlaneWm2 is the most light that panels are taken to see; when the sun
	// grazes the horizon the formula for slopes gives more.
	mostPlaneWm2 = 1500.0
)

const (
	usual = iota
	cheap
)

// gridBook is the electricity of the days.
type gridBook struct {
	names   []string
	before  int // in names, of the first electric heater
	driers  int // in names; -1: there are none
	pads    int
	useKW   [][hoursDay]float64 // of the day, by use
	useOf   []int               // of each heater; -1 for a burner
	band    [hoursDay]int
	price   [hoursDay]float64
	tariff  power.Tariff
	battery power.Battery
	co2KWh  float64
	shifts  bool // lamps' hours could begin with the cheap price

	// hours are all hours of the book, one after the other: each use, then lamps in
	// the cheap hours, panels, and the air about the battery.
	hours []float64
}

// What stands behind the uses of an hour.
const (
	atShifted = iota
	atPanels
	atBatteryC
	besideUses
)

// served is the electricity of the days once battery and grid have served it.
type served struct {
	months                   []servedMonth
	peakKW                   []float64 // by use
	usePeakKW, gridPeakKW    float64
	lostKWh, storedKWh       float64
	shiftedMoney, shiftedKWh float64
}

type servedMonth struct {
	useKWh, useGrid, useMoney []float64
	gridKWh                   [2]float64 // usual, cheap
	pvKWh, exportKWh          float64
}

// openGrid reads prices, battery and uses.
func (k *Book) openGrid() error {
	s, g := k.b.Site, &k.grid
	g.names = append(g.names, useNames[:]...)
	g.driers, g.pads = -1, -1
	for i := range s.Zones {
		if s.Zones[i].Dehumidifier != nil && g.driers < 0 {
			g.driers = len(g.names)
			g.names = append(g.names, "dehumidifiers")
		}
	}
	for i := range s.Zones {
		if p := s.Zones[i].Pad; p != nil && p.PowerW > 0 && g.pads < 0 {
			g.pads = len(g.names)
			g.names = append(g.names, "pads")
		}
	}
	g.before = len(g.names)
	for i := range k.burners {
		g.useOf = append(g.useOf, -1)
		if k.burners[i].electric {
			g.useOf[i] = len(g.names)
			g.names = append(g.names, k.b.Heaters[i].In.Name)
		}
	}
	for i := range s.Zones {
		if s.Zones[i].VentM3s > 0 {
			k.assume("The vents of %s are taken to be fans of 0.05 W for a m³/h.", s.Zones[i].Name)
		}
	}
	g.useKW = make([][hoursDay]float64, len(g.names))
	p := &s.Prices
	dear := p.ElectricityPerJ * joulesKWh
	if dear == 0 {
		k.assume("There is no price for electricity, so it costs nothing here: give `prices.electricity`.")
	}
	from, to := int(math.Round(p.CheapFromH))%hoursDay, int(math.Round(p.CheapToH))%hoursDay
	for h := range hoursDay {
		g.price[h] = dear
		if p.CheapPerJ > 0 && from != to && (h-from+hoursDay)%hoursDay < (to-from+hoursDay)%hoursDay {
			g.band[h], g.price[h] = cheap, p.CheapPerJ*joulesKWh
		}
	}
	if g.tariff = power.Flat(dear, 0); p.CheapPerJ > 0 && from != to {
		g.tariff.Bands = []power.Band{{FromH: from, ToH: to, PriceKWh: p.CheapPerJ * joulesKWh}, {FromH: to, ToH: from, PriceKWh: dear}}
	}
	if _, err := g.tariff.Prices(); err != nil {
		return fmt.Errorf("prices: %w", err)
	}
	if kWh := s.Power.BatteryJ / joulesKWh; kWh > 0 {
		g.battery = power.Lithium(kWh)
		k.assume("The battery is taken to be of lithium iron phosphate, and empty on the first day.")
	}
	grid, err := power.LookupFuel("electricity")
	if err != nil {
		return err
	}
	g.co2KWh = grid.CO2KgKWh
	for z := range k.b.Zones {
		g.shifts = g.shifts || len(k.b.Zones[z].lamps) > 0 && p.CheapPerJ > 0 && p.CheapPerJ < p.ElectricityPerJ && from != to
	}
	return nil
}

// lit is the part of an hour in which a lamp of so many hours about a middle burns.
func lit(h int, hours, middleH float64) float64 {
	part := 0.0
	for _, day := range [...]float64{-hoursDay, 0, hoursDay} { // the night before and after
		from, to := middleH-hours/2+day, middleH+hours/2+day
		part += math.Max(0, math.Min(float64(h+1), to)-math.Max(float64(h), from))
	}
	return math.Min(1, part)
}

// lampsKW spreads the day's energy of a building's lamps over the hours in which
// they burn: about noon, or from an hour on.
func (k *Book) lampsKW(day *Day, fromH float64, out *[hoursDay]float64) {
	*out = [hoursDay]float64{}
	for z := range k.b.Zones {
		kWh := day.Zones[z].Ledger.LampsJ / joulesKWh
		sum := 0.0
		for _, l := range k.b.Zones[z].lamps {
			sum += l.watts * l.hours
		}
		if sum <= 0 {
			continue
		}
		for _, l := range k.b.Zones[z].lamps {
			middle := hoursDay / 2.
			if fromH >= 0 {
				middle = fromH + l.hours/2
			}
			for h := range hoursDay {
				out[h] += kWh * l.watts * lit(h, l.hours, middle) / sum
			}
		}
	}
}

// usesOf fills the hours of every use of a day.
func (k *Book) usesOf(day *Day) {
	g, s := &k.grid, k.b.Site
	for i := range g.useKW {
		g.useKW[i] = [hoursDay]float64{}
	}
	k.lampsKW(day, -1, &g.useKW[useLamps])
	pumps, blowers, larder := 0.0, 0.0, 0.0
	for i := range s.Loops {
		if i < len(k.b.circuits) && k.b.circuits[i] != nil {
			pumps += k.b.circuits[i].PumpKWhDay / hoursDay
		}
		for _, a := range s.Loops[i].Aerators {
			if !a.Backup {
				blowers += a.PowerW / 1000
			}
		}
	}
	for _, l := range s.Larder {
		larder += l.PowerW / 1000
	}
	for h := range hoursDay {
		g.useKW[usePumps][h], g.useKW[useBlowers][h], g.useKW[useLarder][h] = pumps, blowers, larder
		for z := range day.Zones {
			if s.Zones[z].VentM3s == 0 {
				continue // doors and windows
			}
			g.useKW[useFans][h] += day.Zones[z].Hours[h].VentM3s * fanWM3S / 1000
		}
		for z := range day.Zones {
			x := &day.Zones[z].Hours[h]
			if d := s.Zones[z].Dehumidifier; d != nil {
				g.useKW[g.driers][h] += x.DryH * d.PowerW / 1000
			}
			if p := s.Zones[z].Pad; p != nil && p.PowerW > 0 {
				g.useKW[g.pads][h] += x.PadH * p.PowerW / 1000
			}
		}
		for i, use := range g.useOf {
			if use >= 0 {
				g.useKW[use][h] = k.burners[i].units(math.Max(0, k.heaterKW(i, h, day)))
			}
		}
	}
}

// panelsKW is what the panels make in an hour.
func (k *Book) panelsKW(date time.Time, h int, now *climate.Hour) (float64, error) {
	p := &k.b.Site.Power
	if p.PanelPeakW <= 0 || now.GHIWm2 <= 0 {
		return 0, nil
	}
	at := time.Date(date.Year(), date.Month(), date.Day(), h, 30, 0, 0, time.UTC).Add(-time.Duration(k.b.options.UTCOffsetH * float64(time.Hour)))
	pos, err := sun.At(at, k.b.Site.Place.LatitudeDeg, k.b.Site.Place.LongitudeDeg, k.b.kPa, now.TempC)
	if err != nil {
		return 0, err
	}
	cosZ := math.Cos(pos.ZenithDeg * math.Pi / 180)
	outer := 1367 * (1 + 0.033*math.Cos(2*math.Pi*float64(date.YearDay())/365)) * math.Max(0, cosZ)
	level := sun.Level{Global: now.GHIWm2, Diffuse: math.Min(now.DiffuseWm2, now.GHIWm2), Outer: math.Max(outer, now.GHIWm2)}
	ratio := sun.BeamRatio(sun.CosIncidence(pos.ZenithDeg, pos.AzimuthDeg, p.TiltDeg, p.AzimuthDeg), cosZ)
	plane, err := sun.Tilted(sun.HayDavies, level, ratio, p.TiltDeg, fabric.GroundShare)
	if err != nil {
		return 0, err
	}
	watts, err := power.PVHourW(p.PanelPeakW, math.Min(plane, mostPlaneWm2), now.TempC, power.WithoutWarmth)
	return math.Max(0, watts) / 1000, err
}

// gridDay books the hours of a day.
func (k *Book) gridDay(date time.Time, sky *climate.Day, day *Day) error {
	g := &k.grid
	k.usesOf(day)
	var shifted [hoursDay]float64
	if g.shifts {
		k.lampsKW(day, math.Round(k.b.Site.Prices.CheapFromH), &shifted)
	}
	for h := range hoursDay {
		pv, err := k.panelsKW(date, h, &sky.Hours[h])
		if err != nil {
			return fmt.Errorf("panels: %w", err)
		}
		for i := range g.useKW {
			g.hours = append(g.hours, g.useKW[i][h])
		}
		g.hours = append(g.hours, shifted[h], pv, day.Zones[0].Hours[h].AirC)
	}
	return nil
}

// serve lets panels, battery and grid serve all hours, and fills the days of y.
func (k *Book) serve(y *Year) (*served, error) {
	g, n := &k.grid, len(k.grid.names)
	v := &served{peakKW: make([]float64, n)}
	stored := g.battery.LowestKWh()
	start, other := stored, stored // other: with the lamps in the cheap hours
	month := -1
	for i := range y.Days {
		d := &y.Days[i]
		if i == 0 || d.Date.Day() == 1 {
			month++
			v.months = append(v.months, servedMonth{useKWh: make([]float64, n), useGrid: make([]float64, n), useMoney: make([]float64, n)})
		}
		m := &v.months[month]
		for h := range hoursDay {
			at := g.hours[(i*hoursDay+h)*(n+besideUses):][:n+besideUses]
			uses, beside := at[:n], at[n:]
			load := 0.0
			for u, kw := range uses {
				load += kw
				m.useKWh[u] += kw
				v.peakKW[u] = math.Max(v.peakKW[u], kw)
			}
			hour := power.Hour{LoadKWh: load, PVKWh: beside[atPanels], HourOfDay: h, BatteryC: beside[atBatteryC], Grid: &g.tariff}
			f, err := power.Dispatch(g.battery, stored, hour)
			if err != nil {
				return nil, fmt.Errorf("%s, %d o'clock: %w", d.Date, h, err)
			}
			stored = f.StoredKWh
			v.lostKWh += f.Lost
			d.ElectricKWh += load
			d.PeakKW = math.Max(d.PeakKW, load)
			d.PVKWh += beside[atPanels]
			d.GridKWh += f.Grid
			d.ExportKWh += f.Spill
			d.ElectricCost += f.Cost
			m.gridKWh[g.band[h]] += f.Grid
			v.usePeakKW, v.gridPeakKW = math.Max(v.usePeakKW, load), math.Max(v.gridPeakKW, f.Grid)
			if load > 0 { // what is bought is shared by all uses of the hour
				for u, kw := range uses {
					m.useGrid[u] += f.Grid * kw / load
					m.useMoney[u] += f.Cost * kw / load
				}
			}
			if !g.shifts {
				continue
			}
			hour.LoadKWh = math.Max(0, load+beside[atShifted]-uses[useLamps])
			if f, err = power.Dispatch(g.battery, other, hour); err != nil {
				return nil, fmt.Errorf("%s, %d o'clock: %w", d.Date, h, err)
			}
			other = f.StoredKWh
			v.shiftedMoney += f.Cost
			v.shiftedKWh += f.Grid
		}
		d.OwnKWh = d.ElectricKWh - d.GridKWh
		m.pvKWh += d.PVKWh
		m.exportKWh += d.ExportKWh
	}
	v.storedKWh = stored - start
	return v, nil
}

// powerOf sums electricity up.
func (k *Book) powerOf(y *Year, v *served) {
	g, p := &k.grid, &y.Power
	p.PeakKW, p.GridPeakKW, p.LostKWh, p.StoredKWh = v.usePeakKW, v.gridPeakKW, v.lostKWh, v.storedKWh
	names := [2]string{"usual", "cheap"}
	for band, name := range names {
		b := GridBand{Name: name}
		for h := range hoursDay {
			if g.band[h] == band {
				b.PriceKWh = g.price[h]
				b.Hours++
			}
		}
		for i := range v.months {
			b.KWh += v.months[i].gridKWh[band]
		}
		if b.Hours > 0 {
			b.Money = b.KWh * b.PriceKWh
			p.Bands = append(p.Bands, b)
		}
	}
	for i, name := range g.names {
		u := PowerUse{Use: name, Heater: i >= g.before, PeakKW: v.peakKW[i]}
		for j := range v.months {
			u.KWh += v.months[j].useKWh[i]
			u.GridKWh += v.months[j].useGrid[i]
			u.Money += v.months[j].useMoney[i]
		}
		p.Uses = append(p.Uses, u)
		p.UsedKWh += u.KWh
		p.Money += u.Money
	}
	for i := range y.Days {
		d := &y.Days[i]
		p.PVKWh += d.PVKWh
		p.OwnKWh += d.OwnKWh
		p.ExportKWh += d.ExportKWh
		p.GridKWh += d.GridKWh
	}
	if p.UsedKWh > 0 {
		p.OwnShare = p.OwnKWh / p.UsedKWh
	}
	p.CO2Kg = p.GridKWh * g.co2KWh
	y.CO2Kg += p.CO2Kg
	y.ElectricKWh = p.UsedKWh
	for i, use := range g.useOf {
		if use >= 0 {
			y.Heaters[i].Money, y.Heaters[i].CO2Kg = p.Uses[use].Money, p.Uses[use].GridKWh*g.co2KWh
		}
	}
	if g.shifts {
		p.Lamps = &LampShift{FromH: math.Round(k.b.Site.Prices.CheapFromH), Money: v.shiftedMoney, SavedMoney: p.Money - v.shiftedMoney, GridKWh: v.shiftedKWh}
	}
	for i := range y.Months {
		m, o := &v.months[i], &y.Months[i]
		for _, kwh := range m.useKWh {
			o.ElectricKWh += kwh
		}
		o.PVKWh, o.ExportKWh, o.GridKWh = m.pvKWh, m.exportKWh, m.gridKWh[usual]+m.gridKWh[cheap]
	}
}
