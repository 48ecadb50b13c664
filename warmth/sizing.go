package warmth

import (
	"fmt"
	"math"

	"tidebed/climate"
	"tidebed/science/fabric"
	"tidebed/science/power"
	"tidebed/site"
)

// Sizing is what heaters, vents, battery and generator should be.
type Sizing struct {
	Month        int          `json:"month"`        // the coldest, 1 to 12
	DesignC      float64      `json:"designC"`      // outside, to size heaters by
	ColdestHourC float64      `json:"coldestHourC"` // of a typical year
	SpreadK      float64      `json:"spreadK"`      // of that month's daily lowest
	Zones        []ZoneSizing `json:"zones"`
	Cut          CutSizing    `json:"cut"`
	Lamps        []LampCost   `json:"lamps"`
	Stocks       []StockCover `json:"stocks"` // empty without a year
	Notes        []string     `json:"notes"`
	Cautions     []string     `json:"cautions"`
}

// ZoneSizing is a zone's heater and vents.
type ZoneSizing struct {
	Name         string        `json:"name"`
	InsideC      float64       `json:"insideC"`  // set point that the loss is for
	OutsideC     float64       `json:"outsideC"` // with it
	Loss         fabric.Loss   `json:"loss"`     // through skin, gaps and the floor's edge
	GroundW      float64       `json:"groundW"`  // through the floor
	BeyondW      float64       `json:"beyondW"`  // to other zones; negative: from them
	TotalW       float64       `json:"totalW"`
	Heater       fabric.Heater `json:"heater"` // that it wants
	HaveW        float64       `json:"haveW"`
	Enough       bool          `json:"enough"`
	AtColdestC   float64       `json:"atColdestC"` // inside, at the coldest hour with all heaters full on; the set point where they reach
	Vents        fabric.Summer `json:"vents"`      // that it wants
	HaveVentM3s  float64       `json:"haveVentM3s"`
	SunW         float64       `json:"sunW"`         // of the brightest hour
	RiseK        float64       `json:"riseK"`        // over outside then, with the vents there are and no leaves to cool it
	FlowFor5KM3s float64       `json:"flowFor5KM3s"` // that holds it to 5 K
	Say          string        `json:"say"`
}

// CutSizing is what must run in a power cut and what carries it.
type CutSizing struct {
	Loads      []CutLoad `json:"loads"`
	RunningW   float64   `json:"runningW"`
	PeakW      float64   `json:"peakW"` // while the largest motor starts
	Hours      float64   `json:"hours"` // that the battery is for
	BatteryKWh float64   `json:"batteryKWh"`
	HaveKWh    float64   `json:"haveKWh"`
	HaveHours  float64   `json:"haveHours"`
	GeneratorW float64   `json:"generatorW"`
	HaveW      float64   `json:"haveW"`
	Say        string    `json:"say"`
}

// CutLoad is a machine that must run.
type CutLoad struct {
	Name     string  `json:"name"`
	Loop     string  `json:"loop"`
	RunningW float64 `json:"runningW"`
	Air      bool    `json:"air"` // air pump, which goes before pumps
}

// LampCost is what food by a lamp's light takes.
type LampCost struct {
	Lamp      string     `json:"lamp"`
	Price     float64    `json:"price"` // of a kWh
	Gain      power.Gain `json:"gain"`
	Cheap     bool       `json:"cheap"` // there are cheap hours
	CheapGain power.Gain `json:"cheapGain"`
	KWhYear   float64    `json:"kwhYear"`
}

// StockCover is how long a fuel heats.
type StockCover struct {
	Fuel       string  `json:"fuel"`
	Unit       string  `json:"unit"`
	Stock      float64 `json:"stock"`
	Months     float64 `json:"months"`     // at the mean of the months that heat most
	FullMonths float64 `json:"fullMonths"` // of a full store
}

const (
	cutHours     = 12.0
	cutBattery   = 0.9 // given of what is drawn
	motorStarts  = power.MotorStartHigh
	airStarts    = power.MotorStartLow
	brightWm2    = 800.0
	riseWantedK  = 5.0
	harvestGMol  = 20.0 // fresh lettuce that a further mol of light brings; from memory of trials
	lettuceKcal  = 150.0
	maritimeSdK  = 2.8
	inlandSdK    = 6.0
	maritimeK    = 12.0
	inlandK      = 24.0
	cautionCold  = "A typical year holds no record cold: ask the weather service for the place's lowest, and run what must survive at it or 10 K below the coldest month's mean night."
	cautionHeat  = "Two heaters of 60 % each do better than one of 120 %: have burners and flues sized and fitted by a licensed trade."
	cautionPower = "Oxygen fails before heat: in a power cut run the air first."
)

// LossAt is what a zone loses between two temperatures through its skin, its gaps in
// calm air and its floor's edge, curtains open.
//
// Check: 6 × 12 m of double film, 12 and -12 °C: 18 668 W, as fabric.House.
func (b *Building) LossAt(zone int, insideC, outsideC float64) (fabric.Loss, error) {
	if zone < 0 || zone >= len(b.Zones) {
		return fabric.Loss{}, fmt.Errorf("loss: there is no zone %d of %d", zone, len(b.Zones))
	}
	z := &b.Zones[zone]
	h := fabric.House{VolumeM3: z.VolumeM3, AirChangesH: z.In.AirChangesH, PressureKPa: b.kPa, PerimeterM: z.edgeWK, PerimeterWmK: 1}
	for i := range z.glazing {
		h.Parts = append(h.Parts, fabric.Part{AreaM2: z.glazing[i].areaM2, UWm2K: z.glazing[i].uWm2K})
	}
	if z.opaqueWK > 0 {
		h.Parts = append(h.Parts, fabric.Part{AreaM2: z.opaqueWK, UWm2K: 1})
	}
	return h.Loss(insideC, outsideC)
}

// monthsOf are a site's normals; the spreads are NaN where nobody gives them.
func (b *Building) monthsOf() (months [12]climate.Month, err error) {
	p := &b.Site.Place
	switch {
	case len(p.Normals) > 0:
		var seen [12]bool
		for _, n := range p.Normals {
			if n.Month < 1 || n.Month > 12 {
				return months, fmt.Errorf("place.normals: month %d; give 1 to 12", n.Month)
			}
			months[n.Month-1], seen[n.Month-1] = n.Climate(), true
			months[n.Month-1].TminSDC = math.NaN()
		}
		for m, ok := range seen {
			if !ok {
				return months, fmt.Errorf("place.normals: month %d is missing", m+1)
			}
		}
		return months, nil
	case p.Climate != "":
		c, err := climate.Lookup(p.Climate)
		if err != nil {
			return months, err
		}
		return c.Months, nil
	}
	return months, fmt.Errorf("the place has no climate: give place.climate or place.normals")
}

// spreads fills the spread of the daily lowest where it is not known: 2.8 K by the
// sea to 6 K inland, by the year's range of the monthly means. The two ends are
// medians of hourly typical years; the line between is ours.
func spreads(months *[12]climate.Month) (sdK [12]float64, guessed bool) {
	least, most := math.Inf(1), math.Inf(-1)
	for _, m := range months {
		mean := (m.TmaxC + m.TminC) / 2
		least, most = math.Min(least, mean), math.Max(most, mean)
	}
	share := math.Min(1, math.Max(0, (most-least-maritimeK)/(inlandK-maritimeK)))
	for i, m := range months {
		if sdK[i] = m.TminSDC; !(m.TminSDC > 0) {
			sdK[i], guessed = maritimeSdK+share*(inlandSdK-maritimeSdK), true
		}
	}
	return sdK, guessed
}

// Size works sizes out for a building. y is a year of it, for the sun of the
// brightest hour and the stocks; nil takes 800 W/m² and leaves stocks out. Heat
// that tanks give the air is not taken off, nor lamps and people: a heater must
// reach on the night when the tanks are cold.
//
// Errors: a place without climate; figures outside what package fabric takes.
func Size(b *Building, y *Year) (*Sizing, error) {
	months, err := b.monthsOf()
	if err != nil {
		return nil, fmt.Errorf("sizes: %w", err)
	}
	var minC [12]float64
	for i, m := range months {
		minC[i] = m.TminC
	}
	sdK, guessed := spreads(&months)
	design, err := fabric.DesignC(minC, sdK)
	if err != nil {
		return nil, fmt.Errorf("sizes: %w", err)
	}
	o := &Sizing{Month: design.Month + 1, DesignC: design.SizingC, ColdestHourC: design.ColdestHourC, SpreadK: sdK[design.Month], Cautions: []string{cautionCold, cautionHeat, cautionPower, power.CautionGenerator}}
	if guessed {
		o.Notes = append(o.Notes, fmt.Sprintf("The nights of the coldest month are taken to spread by %.1f K, by the range of the year.", o.SpreadK))
	}
	coldest := months[design.Month]
	for i := range b.Zones {
		z, err := b.zoneSize(i, design, coldest, y)
		if err != nil {
			return nil, fmt.Errorf("sizes: zone %s: %w", b.Zones[i].In.Name, err)
		}
		o.Zones = append(o.Zones, z)
	}
	if o.Cut, err = b.cutSize(); err != nil {
		return nil, fmt.Errorf("sizes: power cut: %w", err)
	}
	if o.Lamps, err = b.lampCosts(); err != nil {
		return nil, fmt.Errorf("sizes: %w", err)
	}
	if len(o.Lamps) > 0 {
		o.Notes = append(o.Notes, fmt.Sprintf("Food by lamps is reckoned for lettuce: %g g of it for a mol of light, %g kcal a kilogram. Other food takes more.", harvestGMol, lettuceKcal))
		o.Cautions = append(o.Cautions, power.CautionLamp)
	}
	if y != nil {
		for i := range y.Fuels {
			u := &y.Fuels[i]
			if !u.HasStore {
				continue
			}
			c := StockCover{Fuel: u.Name, Unit: u.Unit, Stock: u.Stock, Months: u.Months}
			if u.Stock > 0 {
				c.FullMonths = u.Months * u.Capacity / u.Stock
			}
			o.Stocks = append(o.Stocks, c)
		}
	}
	return o, nil
}

// zoneSize takes the harder of the night at the design temperature and the day at
// the warmest hour that goes with it, each at its set point.
func (b *Building) zoneSize(i int, d fabric.Design, coldest climate.Month, y *Year) (ZoneSizing, error) {
	z := &b.Zones[i]
	o := ZoneSizing{Name: z.In.Name, HaveW: z.HeaterW, HaveVentM3s: z.ventM3s, TotalW: math.Inf(-1)}
	for _, night := range [...]bool{true, false} {
		inC, outC := z.In.NightC, d.SizingC
		if !night {
			inC, outC = z.In.DayC, d.SizingC+math.Max(0, coldest.TmaxC-coldest.TminC)
		}
		loss, err := b.LossAt(i, inC, outC)
		if err != nil {
			return o, err
		}
		beyond := 0.0
		for j := range b.Zones {
			for _, t := range b.Zones[j].beyond {
				other := -1
				switch {
				case j == i:
					other = t.zone
				case t.zone == i:
					other = j
				}
				if other < 0 {
					continue
				}
				otherC := b.Zones[other].In.NightC
				if !night {
					otherC = b.Zones[other].In.DayC
				}
				beyond += t.wk * (inC - otherC)
			}
		}
		ground := z.groundWK * (inC - b.options.GroundC)
		if total := loss.TotalW + ground + beyond; total > o.TotalW {
			o.InsideC, o.OutsideC, o.Loss, o.GroundW, o.BeyondW, o.TotalW = inC, outC, loss, ground, beyond, total
		}
	}
	var err error
	if o.Heater, err = fabric.HeaterSize(math.Max(0, o.TotalW)); err != nil {
		return o, err
	}
	o.Enough = o.HaveW >= o.TotalW
	// At the coldest hour: what the heaters give holds this much over the place where
	// the zone would rest.
	through := o.Loss.UAWK + z.groundWK
	rest := o.Loss.UAWK*d.ColdestHourC + z.groundWK*b.options.GroundC - o.BeyondW
	o.AtColdestC = math.Min(z.In.NightC, (o.HaveW+rest)/math.Max(through, 1e-9))
	if o.Vents, err = fabric.SummerRule(z.VolumeM3, z.In.FloorM2, b.kPa); err != nil {
		return o, err
	}
	if o.SunW = brightWm2 * z.In.Light * z.In.FloorM2; y != nil && i < len(y.Zones) {
		o.SunW = y.Zones[i].MostSunW
	}
	if o.RiseK, err = fabric.RiseK(o.SunW, o.HaveVentM3s, o.Loss.UAWK, b.kPa); err != nil {
		return o, err
	}
	if o.FlowFor5KM3s, err = fabric.FlowForRiseM3S(o.SunW, riseWantedK, o.Loss.UAWK, b.kPa); err != nil {
		return o, err
	}
	o.Say = fmt.Sprintf("Heat %s with %.1f to %.1f kW, or two heaters of %.1f kW each: it loses %.1f kW at %.0f °C outside.", o.Name, o.Heater.LowW/1000, o.Heater.HighW/1000, o.Heater.EachOfTwoW/1000, o.TotalW/1000, o.OutsideC)
	switch {
	case z.In.DayC == 0 && z.In.NightC == 0 && o.HaveW == 0:
		o.Say = fmt.Sprintf("%s has no set points: it is left to itself.", o.Name)
	case o.TotalW <= 0:
		o.Say = fmt.Sprintf("%s needs no heater at its set points.", o.Name)
	case o.HaveW > 0 && !o.Enough:
		o.Say += fmt.Sprintf(" The %.1f kW that are there do not reach.", o.HaveW/1000)
	case o.HaveW >= o.Heater.LowW:
		o.Say += fmt.Sprintf(" The %.1f kW that are there reach.", o.HaveW/1000)
	case o.HaveW > 0:
		o.Say += fmt.Sprintf(" The %.1f kW that are there just reach, without the usual margin.", o.HaveW/1000)
	}
	return o, nil
}

// PowerCut is what must run in a site's power cut and what carries it. Errors: loads
// that package power does not take.
func PowerCut(s *site.Site) (CutSizing, error) { return (&Building{Site: s}).cutSize() }

// cutSize is what must run: all air pumps on the mains and one pump of each loop.
func (b *Building) cutSize() (CutSizing, error) {
	s := b.Site
	var c CutSizing
	var loads []power.Load
	for i := range s.Loops {
		for _, a := range s.Loops[i].Aerators {
			if !a.Backup {
				c.Loads = append(c.Loads, CutLoad{a.Name, s.Loops[i].Name, a.PowerW, true})
				loads = append(loads, power.Load{Name: a.Name, RunningW: a.PowerW, StartFactor: airStarts, HoursDay: hoursDay})
			}
		}
	}
	for i := range s.Loops {
		for _, p := range s.Loops[i].Pumps {
			if !p.Spare && p.PowerW > 0 {
				c.Loads = append(c.Loads, CutLoad{p.Name, s.Loops[i].Name, p.PowerW, false})
				loads = append(loads, power.Load{Name: p.Name, RunningW: p.PowerW, StartFactor: motorStarts, HoursDay: hoursDay})
			}
		}
	}
	if len(loads) == 0 {
		c.Say = "The site names no pump and no air pump with its power: give them, so that a power cut can be reckoned."
		return c, nil
	}
	need, err := power.Together(loads)
	if err != nil {
		return c, err
	}
	c.RunningW, c.PeakW, c.Hours, c.GeneratorW, c.HaveW = need.RunningW, need.PeakW, cutHours, power.GeneratorW(need), s.Power.GeneratorW
	if c.BatteryKWh, err = power.BatteryKWh(c.RunningW, c.Hours, power.LithiumShare, cutBattery); err != nil {
		return c, err
	}
	if c.HaveKWh = s.Power.BatteryJ / joulesKWh; c.HaveKWh > 0 {
		c.HaveHours = 1000 * c.HaveKWh * power.LithiumShare * cutBattery / c.RunningW
	}
	c.Say = fmt.Sprintf("Air and pumps take %.0f W: %.1f kWh of battery carry them for %.0f hours, a generator of %.0f W as long as its fuel lasts.", c.RunningW, c.BatteryKWh, c.Hours, c.GeneratorW)
	if c.HaveKWh > 0 {
		c.Say += fmt.Sprintf(" The battery that is there, full, carries them for %.0f hours.", math.Floor(c.HaveHours))
	}
	return c, nil
}

// lampCosts are those of lettuce under each lamp.
func (b *Building) lampCosts() ([]LampCost, error) {
	var all []LampCost
	p := &b.Site.Prices
	for i := range b.Site.Lamps {
		l := &b.Site.Lamps[i]
		efficacy := l.EfficacyUmolJ
		if efficacy == 0 {
			led, err := power.LookupLamp("led-good")
			if err != nil {
				return nil, err
			}
			efficacy = led.EfficacyUmol.Typical
		}
		c := LampCost{Lamp: l.Name, Price: p.ElectricityPerJ * joulesKWh, Cheap: p.CheapPerJ > 0}
		watts := l.PowerW
		if watts == 0 {
			watts = l.PhotonUmolM2s * l.AreaM2 / efficacy
		}
		c.KWhYear = watts / 1000 * l.HoursDay * 365
		var err error
		if c.Gain, err = power.LampGain(math.Min(efficacy, power.MostEfficacyUmol), power.UseShare, harvestGMol, lettuceKcal, c.Price); err != nil {
			return nil, fmt.Errorf("lamp %s: %w", l.Name, err)
		}
		if c.Cheap {
			if c.CheapGain, err = power.LampGain(math.Min(efficacy, power.MostEfficacyUmol), power.UseShare, harvestGMol, lettuceKcal, p.CheapPerJ*joulesKWh); err != nil {
				return nil, fmt.Errorf("lamp %s: %w", l.Name, err)
			}
		}
		all = append(all, c)
	}
	return all, nil
}
