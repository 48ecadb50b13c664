package warmth

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/science/fabric"
	"tidebed/science/fish"
	"tidebed/science/power"
	"tidebed/site"
)

// Variant is a changed building and what the change saves in a year.
type Variant struct {
	Key           string   `json:"key"`           // one of the Variant… constants
	Part          string   `json:"part"`          // the zone, tank, loop or heater it is about
	What          string   `json:"what"`          // what to do, in a sentence
	SavedKWh      float64  `json:"savedKWh"`      // heat; negative: more is taken
	SavedShare    float64  `json:"savedShare"`    // of the heat
	SavedPowerKWh float64  `json:"savedPowerKWh"` // electricity from the grid
	SavedMoney    float64  `json:"savedMoney"`
	SavedCO2Kg    float64  `json:"savedCO2Kg"`     // fossil, and the grid's
	SavedWoodKg   float64  `json:"savedCO2WoodKg"` // of carbon that grew lately
	CostLow       float64  `json:"costLow"`        // of the measure, roughly
	CostHigh      float64  `json:"costHigh"`
	CostKnown     bool     `json:"costKnown"`       // false: get an offer
	PaybackLowY   *float64 `json:"paybackLowY"`     // years; nil: cost not known, or nothing saved
	PaybackHighY  *float64 `json:"paybackHighY"`    // at the high cost
	Caution       string   `json:"caution"`         // what else it does
	Notes         []string `json:"notes"`           // how it was reckoned
	Loses         []string `json:"loses,omitempty"` // what closing for the winter takes, as far as the site file tells
	Fault         string   `json:"fault"`           // why it could not be; its figures are then 0

	without *site.Site // what is left of the site through a closing
}

// The kinds of variants.
const (
	VariantCurtain   = "curtain"
	VariantSkin      = "second-skin"
	VariantSealing   = "sealing"
	VariantTank      = "tank-insulation"
	VariantSump      = "sump-insulation"
	VariantZoneSet   = "zone-set-point"
	VariantTankSet   = "tank-set-point"
	VariantBarrels   = "barrels"
	VariantLampHours = "lamp-hours"
	VariantHeatPump  = "heat-pump"
	VariantCloseZone = "close-zone"
	VariantCloseLoop = "close-loop"
)

const (
	variantCurtain  = "thermal-curtain-closed-aluminised-50-percent"
	frostGuardC     = 2.0
	lowerK          = 2.0
	tankFoamM       = 0.05
	barrelsM3       = 2.0
	barrelM3        = 0.2
	secondFilmWm2K  = 6.5 // single film, the row polyethylene-single-film-uv
	secondFilmLight = 0.88
	heatPumpSinkC   = 45.0
	barrelWallM2    = 1.55 // a drum of 0.58 × 0.85 m; common practice, no source
)

// Rough prices in the money of the euro, the dollar or the pound, work not counted
// where a keeper does it. Common practice, no source: get an offer.
var (
	priceCurtainM2  = [2]float64{15, 50} // with rails
	priceSkinM2     = [2]float64{3, 12}
	priceSealingM2  = [2]float64{1, 4} // of skin: tape, brush strips, foam
	priceFoamM2     = [2]float64{15, 40}
	priceBarrel     = [2]float64{15, 50}
	priceTimer      = [2]float64{15, 60} // for each lamp group
	priceHeatPumpKW = [2]float64{600, 1500}
	pricedIn        = []string{"", "EUR", "USD", "GBP", "CHF", "CAD", "AUD"}
)

// change is a variant before it is run.
type change struct {
	Variant
	low, high float64
	alter     func(*site.Site)
	winter    bool // only November to March counts, May to September in the south
	base      func(*Year) (money, gridKWh float64)
}

// Variants runs changed copies of a site, each through the same days as the site
// itself, and returns them in the order of OrderRule; what is alike in it in the order
// in which they were made. run must give a year of whatever site it is
// handed; it is called from here alone, one site after the other. s is not changed.
// A variant that run refuses stays in the list with its Fault.
//
// Closing for the winter is the year's other months as they are and the winter
// months of a site that keeps frost out (2 °C, the tanks left to themselves): what
// warming up again in spring takes is left out, some days' heat.
//
// Errors: those of run for the site as it is, of copying it, and of ctx.
func Variants(ctx context.Context, run func(*site.Site) (*Year, error), s *site.Site) ([]Variant, error) {
	base, err := run(s)
	if err != nil {
		return nil, fmt.Errorf("variants: the building as it is: %w", err)
	}
	if base == nil {
		return nil, nil
	}
	var out []Variant
	for _, c := range changesOf(s, base) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		v := c.Variant
		if slices.Contains(pricedIn, s.Currency) && (c.high > 0 || v.CostKnown) {
			v.CostLow, v.CostHigh, v.CostKnown = c.low, c.high, true
		} else {
			v.CostKnown = v.CostKnown && c.high == 0
		}
		if c.base != nil {
			v.SavedMoney, v.SavedPowerKWh = c.base(base)
			grid, err := power.LookupFuel("electricity")
			if err != nil {
				return nil, err
			}
			v.SavedCO2Kg = v.SavedPowerKWh * grid.CO2KgKWh
		} else {
			changed, err := clone(s)
			if err != nil {
				return nil, fmt.Errorf("variants: %w", err)
			}
			c.alter(changed)
			y, err := run(changed)
			switch {
			case err != nil:
				v.Fault = err.Error()
			case y == nil || len(y.Months) != len(base.Months):
				v.Fault = "the changed building gave other days"
			default:
				v.compare(base, y, func(m *YearMonth) bool { return !c.winter || winter(m.Month, s.Place.LatitudeDeg) })
			}
		}
		v.payback()
		v.Loses, v.without = lostByClosing(s, &v, base.From, base.To)
		out = append(out, v)
	}
	order(out)
	return out, nil
}

// compare sums what a changed year saves in the months that count.
func (v *Variant) compare(base, y *Year, counts func(*YearMonth) bool) {
	for i := range base.Months {
		a, b := &base.Months[i], &y.Months[i]
		if !counts(a) {
			continue
		}
		v.SavedKWh += a.HeatKWh - b.HeatKWh
		v.SavedPowerKWh += a.GridKWh - b.GridKWh
		v.SavedMoney += a.Money - b.Money
		v.SavedCO2Kg += a.CO2Kg - b.CO2Kg
		v.SavedWoodKg += a.CO2WoodKg - b.CO2WoodKg
	}
	for _, x := range [...]*float64{&v.SavedKWh, &v.SavedPowerKWh, &v.SavedMoney, &v.SavedCO2Kg, &v.SavedWoodKg} {
		*x = tidy(*x)
	}
	if base.HeatKWh > 0 {
		v.SavedShare = v.SavedKWh / base.HeatKWh
	}
}

// tidy takes the rounding of sums off what is nothing.
func tidy(x float64) float64 {
	if math.Abs(x) < 1e-6 {
		return 0
	}
	return x
}

// payback is the cost over the money saved in the days.
func (v *Variant) payback() {
	if v.Fault != "" || !v.CostKnown || v.SavedMoney <= 0 {
		return
	}
	low, high := v.CostLow/v.SavedMoney, v.CostHigh/v.SavedMoney
	v.PaybackLowY, v.PaybackHighY = &low, &high
}

// winter is November to March, in the south May to September.
func winter(month int, latitudeDeg float64) bool {
	if latitudeDeg < 0 {
		return month >= 5 && month <= 9
	}
	return month >= 11 || month <= 3
}

// clone is a copy of a site that shares no list with it.
func clone(s *site.Site) (*site.Site, error) {
	text, err := site.Write(s)
	if err != nil {
		return nil, err
	}
	c, _, err := site.Read("changed.yaml", text)
	if err != nil {
		return nil, fmt.Errorf("copy of the site: %w", err)
	}
	return c, nil
}

// changesOf lists the variants of a site.
func changesOf(s *site.Site, base *Year) []change {
	var all []change
	for i := range s.Zones {
		all = append(all, zoneChanges(s, i)...)
	}
	for i := range s.Loops {
		all = append(all, loopChanges(s, i)...)
	}
	all = append(all, heatPump(s, base)...)
	if base.Power.Lamps != nil {
		all = append(all, change{
			Variant: Variant{Key: VariantLampHours, Part: "lamps", What: fmt.Sprintf("Let the lamps come on at %g o'clock, when electricity is cheap.", base.Power.Lamps.FromH),
				Caution: "Plants under lamps at night and sun by day may get no dark hours: leave them six, and mind those that flower by the length of the day.",
				Notes:   []string{"Their heat then comes by night, when it is wanted more: that is not counted."}},
			low: priceTimer[0] * float64(len(s.Lamps)), high: priceTimer[1] * float64(len(s.Lamps)),
			base: func(y *Year) (money, gridKWh float64) {
				return y.Power.Lamps.SavedMoney, y.Power.GridKWh - y.Power.Lamps.GridKWh
			},
		})
	}
	return all
}

// glazed reports whether a surface is glazing as the building takes it.
func glazed(s *site.Surface) (fabric.Cover, bool) {
	if s.Beyond != "" && s.Beyond != "outside" || s.Kind == "floor" {
		return fabric.Cover{}, false
	}
	cover, err := fabric.LookupCover(s.Cover)
	if s.Cover == "" && s.Kind == "window" {
		cover, err = fabric.LookupCover("single-glass-4-mm")
	}
	return cover, err == nil && cover.Kind == fabric.Glazing
}

// twin is the cover that a single one becomes with a second, for its light.
func twin(key string) string {
	switch key {
	case "polyethylene-single-film-uv":
		return "polyethylene-double-inflated"
	case "single-glass-4-mm", "single-glass-low-iron-4-mm", "single-glass-low-emissivity":
		return "double-glass-sealed"
	case "etfe-single-film-0.1-mm":
		return "etfe-double-inflated"
	}
	return ""
}

func zoneChanges(s *site.Site, i int) []change {
	z := &s.Zones[i]
	var all []change
	glassM2, skinM2 := 0.0, 0.0
	for j := range s.Surfaces {
		if f := &s.Surfaces[j]; f.Zone == z.Name && f.Kind != "floor" && (f.Beyond == "" || f.Beyond == "outside") {
			skinM2 += f.AreaM2
			if _, ok := glazed(f); ok {
				glassM2 += f.AreaM2
			}
		}
	}
	if glassM2 > 0 && z.Curtain == "" {
		all = append(all, change{
			Variant: Variant{Key: VariantCurtain, Part: z.Name, What: fmt.Sprintf("Draw a curtain under the %.0f m² of glazing of %s at night.", glassM2, z.Name),
				Caution: "Behind a curtain the covers are colder and drip more: draw it slowly open in the morning, keep it clear of heaters, and hold it open while snow lies on the roof.",
				Notes:   []string{"An aluminised curtain that closes well; leaky edges halve what it saves."}},
			low: priceCurtainM2[0] * glassM2, high: priceCurtainM2[1] * glassM2,
			alter: func(c *site.Site) { c.Zones[i].Curtain = variantCurtain },
		})
	}
	if glassM2 > 0 {
		all = append(all, change{
			Variant: Variant{Key: VariantSkin, Part: z.Name, What: fmt.Sprintf("Stretch a second film inside the %.0f m² of glazing of %s, some centimetres away.", glassM2, z.Name),
				Caution: "A second film takes about an eighth of the light, and water stands between the skins: leave its lower edge open to drain, and weigh the light lost against the heat.",
				Notes:   []string{"Plain film; leaves get 12 % less light. The sun's heat falls only where a single cover becomes a double one: through others it comes out a little too high."}},
			low: priceSkinM2[0] * glassM2, high: priceSkinM2[1] * glassM2,
			alter: func(c *site.Site) {
				for j := range c.Surfaces {
					f := &c.Surfaces[j]
					cover, ok := glazed(f)
					if f.Zone != z.Name || !ok {
						continue
					}
					if u, err := fabric.UWithSecondSkin(f.UWm2K, secondFilmWm2K); err == nil {
						f.UWm2K = u
					}
					if key := twin(cover.Key); key != "" {
						f.Cover = key
					}
				}
				c.Zones[i].Light *= secondFilmLight
			},
		})
	}
	if z.AirChangesH > 0 {
		all = append(all, change{
			Variant: Variant{Key: VariantSealing, Part: z.Name, What: fmt.Sprintf("Seal the gaps of %s: half the air changes.", z.Name),
				Caution: "Tighter air is damper and mould comes sooner; never close the air opening of a burner.",
				Notes:   []string{fmt.Sprintf("From %.2g to %.2g air changes an hour.", z.AirChangesH, z.AirChangesH/2)}},
			low: priceSealingM2[0] * skinM2, high: priceSealingM2[1] * skinM2,
			alter: func(c *site.Site) { c.Zones[i].AirChangesH /= 2 },
		})
	}
	heated := slices.ContainsFunc(s.Heaters, func(h site.Heater) bool { return h.Zone == z.Name })
	if heated && math.Max(z.DayC, z.NightC) > frostGuardC+lowerK {
		all = append(all, change{
			Variant: Variant{Key: VariantZoneSet, Part: z.Name, What: fmt.Sprintf("Keep %s 2 K cooler: %.0f °C by day, %.0f by night.", z.Name, math.Max(frostGuardC, z.DayC-lowerK), math.Max(frostGuardC, z.NightC-lowerK)),
				CostKnown: true, Caution: "Crops grow slower and the damp rises; watch for grey mould and for plants that want warmth."},
			alter: func(c *site.Site) {
				n := &c.Zones[i]
				n.VentC = cmp.Or(n.VentC, math.Max(n.DayC, n.NightC)+usualVentRiseK)
				n.DayC, n.NightC = lowered(n.DayC), lowered(n.NightC)
			},
		})
	}
	all = append(all, change{
		Variant: Variant{Key: VariantBarrels, Part: z.Name, What: fmt.Sprintf("Stand ten barrels, 2 m³ of water, in the sun of %s.", z.Name),
			Caution: "Two tonnes want a floor that bears them; keep the barrels closed and out of the fish's water.",
			Notes:   []string{"Reckoned as a closed tank without a pump, with the wall of ten barrels of 0.58 m; the sun warms the air and the air the water, so dark barrels in full sun do better."}},
		low: priceBarrel[0] * barrelsM3 / barrelM3, high: priceBarrel[1] * barrelsM3 / barrelM3,
		alter: func(c *site.Site) { addBarrels(c, z.Name) },
	})
	if heated && math.Max(z.DayC, z.NightC) > frostGuardC {
		all = append(all, change{
			Variant: Variant{Key: VariantCloseZone, Part: z.Name, What: fmt.Sprintf("Close %s for the five winter months: keep only frost out, %g °C, and leave its tanks unheated.", z.Name, frostGuardC),
				CostKnown: true, Caution: "Fish must be eaten or moved before, stones ripen again for weeks in spring, and pipes must not freeze.",
				Notes: []string{"Its lamps are off; pumps and air run on in these figures: what you switch off comes on top."}},
			winter: true,
			alter: func(c *site.Site) {
				for k := range c.Lamps {
					if lampZone(c, &c.Lamps[k]) == i {
						c.Lamps[k].HoursDay = 0
					}
				}
				n := &c.Zones[i]
				n.VentC = cmp.Or(n.VentC, math.Max(n.DayC, n.NightC)+usualVentRiseK)
				n.DayC, n.NightC = math.Min(n.DayC, frostGuardC), math.Min(n.NightC, frostGuardC)
				for k := range c.Loops {
					for j := range c.Loops[k].Tanks {
						if tankZone(&c.Loops[k], j) == z.Name {
							c.Loops[k].Tanks[j].WaterC = 0
						}
					}
				}
			},
		})
	}
	return all
}

// lowered is a set point 2 K lower, never below the guard against frost.
func lowered(setC float64) float64 {
	return math.Min(setC, math.Max(frostGuardC, setC-lowerK))
}

// lampZone is the zone of a lamp: that of its rack or bed, the nursery's the one kept
// warmest.
func lampZone(s *site.Site, l *site.Lamp) int {
	named := func(name string) int {
		return max(0, slices.IndexFunc(s.Zones, func(z site.Zone) bool { return z.Name == name }))
	}
	for _, r := range s.Racks {
		if r.Name == l.Over && slices.ContainsFunc(s.Zones, func(z site.Zone) bool { return z.Name == r.Zone }) {
			return named(r.Zone)
		}
	}
	for i := range s.Loops {
		for _, b := range s.Loops[i].Beds {
			if b.Name == l.Over {
				return named(b.Zone)
			}
		}
	}
	warmest := 0
	for i := range s.Zones {
		if s.Zones[i].DayC > s.Zones[warmest].DayC {
			warmest = i
		}
	}
	return warmest
}

// tankZone is the zone in which a tank stands.
func tankZone(l *site.Loop, tank int) string {
	if z := l.Tanks[tank].Zone; z != "" || len(l.Beds) == 0 {
		return z
	}
	return l.Beds[0].Zone
}

// addBarrels puts ten barrels into a zone as a closed tank of their wall: a round
// tank of volume V and depth d has a wall of 2 √(π V d).
func addBarrels(c *site.Site, zone string) {
	wallM2 := barrelWallM2 * barrelsM3 / barrelM3
	depthM := wallM2 * wallM2 / (4 * math.Pi * barrelsM3)
	name := "barrels"
	for slices.ContainsFunc(c.Loops, func(l site.Loop) bool { return l.Name == name }) {
		name += " more"
	}
	c.Loops = append(c.Loops, site.Loop{Name: name, Tanks: []site.Tank{{Name: name + " in " + zone, VolumeM3: barrelsM3, DepthM: math.Min(9.9, depthM), Zone: zone, Lid: true}}})
}

func loopChanges(s *site.Site, i int) []change {
	l := &s.Loops[i]
	var all []change
	held := false
	for j := range l.Tanks {
		t := &l.Tanks[j]
		heated := t.WaterC > 0 && slices.ContainsFunc(s.Heaters, func(h site.Heater) bool { return h.Tank == t.Name && h.Zone == "" })
		held = held || heated
		if !heated {
			continue
		}
		depthM := cmp.Or(t.DepthM, usualTankM)
		foamM2 := 2*t.VolumeM3/depthM + 2*math.Sqrt(math.Pi*t.VolumeM3*depthM)
		if t.InsulationM < tankFoamM || !t.Lid {
			all = append(all, change{
				Variant: Variant{Key: VariantTank, Part: t.Name, What: fmt.Sprintf("Put 50 mm of foam board around and under %s and a lid of it on top.", t.Name),
					Caution: "A lid keeps air and eyes from the fish: leave a gap for the air to pass, and look in at every meal; foam needs a skin where fish or mice reach it.",
					Notes:   []string{"The beds and the sump lose as before."}},
				low: priceFoamM2[0] * foamM2, high: priceFoamM2[1] * foamM2,
				alter: func(c *site.Site) {
					n := &c.Loops[i].Tanks[j]
					n.InsulationM, n.Lid = math.Max(n.InsulationM, tankFoamM), true
				},
			})
		}
		if c, ok := tankSet(s, i, j); ok {
			all = append(all, c)
		}
	}
	if held && l.SumpM3 > 0 && (l.SumpFoamM < tankFoamM || !l.SumpLid) {
		depthM := cmp.Or(l.SumpDepthM, usualSumpM)
		foamM2 := 2*l.SumpM3/depthM + 2*math.Sqrt(math.Pi*l.SumpM3*depthM)
		all = append(all, change{
			Variant: Variant{Key: VariantSump, Part: l.Name, What: fmt.Sprintf("Put 50 mm of foam board around and under the sump of loop %s and a lid of it on top.", l.Name),
				Caution: "Leave the pump, its float switch and the overflow where a hand reaches them, and look in each week: a lid hides a falling level.",
				Notes:   []string{"The tanks and the beds lose as before."}},
			low: priceFoamM2[0] * foamM2, high: priceFoamM2[1] * foamM2,
			alter: func(c *site.Site) {
				n := &c.Loops[i]
				n.SumpFoamM, n.SumpLid = math.Max(n.SumpFoamM, tankFoamM), true
			},
		})
	}
	if held {
		all = append(all, change{
			Variant: Variant{Key: VariantCloseLoop, Part: l.Name, What: fmt.Sprintf("Leave the water of loop %s unheated for the five winter months.", l.Name),
				CostKnown: true, Caution: "Fish of warm water must be eaten or moved before, and the stones' microbes work slowly in the cold and ripen again in spring.",
				Notes: []string{"Pumps and air run on, so that the stones stay alive; its zone keeps its warmth."}},
			winter: true,
			alter: func(c *site.Site) {
				for j := range c.Loops[i].Tanks {
					c.Loops[i].Tanks[j].WaterC = 0
				}
			},
		})
	}
	return all
}

// tankSet is 2 K less in a tank, no lower than its fish feed.
func tankSet(s *site.Site, loop, tank int) (change, bool) {
	t := &s.Loops[loop].Tanks[tank]
	toC, caution := t.WaterC-lowerK, "Fish grow slower in cooler water: let it fall no faster than 1 K a day, and feed by what they take."
	var notes []string
	for _, c := range s.Opening.Cohorts {
		if c.Tank != t.Name {
			continue
		}
		f, err := fish.Lookup(c.Species)
		if err != nil {
			continue
		}
		if toC <= f.FeedStopLowC {
			toC = f.FeedStopLowC + 0.5
			notes = append(notes, fmt.Sprintf("%s stops feeding at %g °C: no lower is reckoned.", f.Name, f.FeedStopLowC))
		}
	}
	if toC >= t.WaterC {
		return change{}, false
	}
	for _, c := range s.Opening.Cohorts {
		if f, err := fish.Lookup(c.Species); err == nil && c.Tank == t.Name {
			now, err1 := fish.TemperatureFactor(f, t.WaterC)
			then, err2 := fish.TemperatureFactor(f, toC)
			if err1 == nil && err2 == nil && now > 0 {
				if change := 100 * (then/now - 1); change < 0 {
					notes = append(notes, fmt.Sprintf("%s grows %.0f %% slower.", f.Name, -change))
				} else {
					notes = append(notes, fmt.Sprintf("%s grows no slower.", f.Name))
				}
			}
			if toC < f.OptLowC {
				caution = fmt.Sprintf("Below %g °C %s feeds poorly: let the water fall no faster than 1 K a day, and feed by what they take.", f.OptLowC, f.Name)
			}
		}
	}
	return change{
		Variant: Variant{Key: VariantTankSet, Part: t.Name, What: fmt.Sprintf("Keep %s at %.3g °C instead of %.3g.", t.Name, toC, t.WaterC), CostKnown: true, Caution: caution, Notes: notes},
		alter:   func(c *site.Site) { c.Loops[loop].Tanks[tank].WaterC = toC },
	}, true
}

// heatPump puts one in place of the burner that gives most heat.
func heatPump(s *site.Site, base *Year) []change {
	most := -1
	for i := range base.Heaters {
		if h := &base.Heaters[i]; h.burns && h.HeatKWh > 0 && (most < 0 || h.HeatKWh > base.Heaters[most].HeatKWh) {
			most = i
		}
	}
	if most < 0 || most >= len(s.Heaters) {
		return nil
	}
	outC := math.Min(25, math.Max(-25, base.HeatedAtOutC))
	cop, err := power.HeatPumpCOP(power.OutdoorAir, outC, heatPumpSinkC)
	if err != nil {
		return nil
	}
	h := &s.Heaters[most]
	kw := h.PowerW / 1000
	return []change{{
		Variant: Variant{Key: VariantHeatPump, Part: h.Name, What: fmt.Sprintf("Put a heat pump on outdoor air in place of %s.", h.Name),
			Caution: "It gives least when it is coldest and fails with the mains: keep the burner for those days, and have it sized and fitted by a trade firm.",
			Notes:   []string{fmt.Sprintf("It gives %.2g of heat for 1 of electricity, at the %.1f °C outside at which the heat is wanted and water of %g °C. Its price is for the %.3g kW of the burner; the heat is the same, the fuel another.", cop, outC, heatPumpSinkC, kw)}},
		low: priceHeatPumpKW[0] * kw, high: priceHeatPumpKW[1] * kw,
		alter: func(c *site.Site) {
			c.Heaters[most].Fuel, c.Heaters[most].Efficiency = "electricity", cop
		},
	}}
}

// FishHeatRow is a species in a tank that is held at its best temperature.
type FishHeatRow struct {
	Species  string  `json:"species"`
	Name     string  `json:"name"`
	BestC    float64 `json:"bestC"`
	HeatKWh  float64 `json:"heatKWh"` // a year, over the building with the tank left to itself
	Money    float64 `json:"money"`
	GrowDays float64 `json:"growDays"` // from stocking to market
	KgYear   float64 `json:"kgYear"`   // live
	KWhKg    float64 `json:"kwhKg"`
	MoneyKg  float64 `json:"moneyKg"`
	Held     bool    `json:"held"` // false: the zone is warmer than the species likes for a part of the year
	Note     string  `json:"note"`
}

// FishHeat ranks the species by the heat that a kilogram of live fish takes when a
// tank is held the year round in the middle of the species' best span, least first.
// The heat is that of the whole building over its heat with the tank left to
// itself, so that what the tank gives back to its room is taken off. The harvest is
// the tank emptied at market weight at the density of a small unit with good air
// and stocked again the same day, at the growth of the model: a good keeper's year.
// A heater large enough is put into the tank; it burns what the first heater of the
// tank, or of the site, burns. run is called once for each temperature.
//
// Errors: a tank that is not there, a site without any heater, those of run and ctx.
func FishHeat(ctx context.Context, run func(*site.Site) (*Year, error), s *site.Site, tank string) ([]FishHeatRow, error) {
	at, j := -1, -1
	for i := range s.Loops {
		for k := range s.Loops[i].Tanks {
			if s.Loops[i].Tanks[k].Name == tank {
				at, j = i, k
			}
		}
	}
	if at < 0 {
		return nil, fmt.Errorf("heat by species: there is no tank %q", tank)
	}
	if len(s.Heaters) == 0 {
		return nil, fmt.Errorf("heat by species: the site has no heater: give one, so that fuel and price are known")
	}
	volume := s.Loops[at].Tanks[j].VolumeM3
	held := func(setC float64) (*Year, error) {
		c, err := clone(s)
		if err != nil {
			return nil, err
		}
		c.Loops[at].Tanks[j].WaterC = setC
		h := c.Heaters[0]
		if own := slices.IndexFunc(c.Heaters, func(h site.Heater) bool { return h.Tank == tank && h.Zone == "" }); own >= 0 {
			h = c.Heaters[own]
		}
		h.Name, h.Zone, h.Tank, h.PowerW = h.Name+" for "+tank, "", tank, fishHeaterWM3*volume
		c.Heaters = append(c.Heaters, h)
		return run(c)
	}
	still, err := held(0)
	if err != nil {
		return nil, fmt.Errorf("heat by species: the tank left to itself: %w", err)
	}
	if still == nil {
		return nil, fmt.Errorf("heat by species: the site describes no building to reckon by")
	}
	years := map[float64]*Year{}
	var rows []FishHeatRow
	for _, f := range fish.All() {
		if !f.MarketWeightLowG.Known {
			continue
		}
		r := FishHeatRow{Species: f.ID, Name: f.Name, BestC: math.Round(f.OptLowC + f.OptHighC)}
		r.BestC /= 2 // to the half degree
		density, err := f.DensityLimitKgM3(fish.SmallUnit)
		if err != nil {
			continue // crustaceans go by floor
		}
		if r.GrowDays, err = fish.GrowthDays(f, f.StockWeightG, f.MarketWeightLowG.Amount, r.BestC, 1); err != nil {
			continue
		}
		if r.KgYear, err = fish.YearHarvestKg(density, volume, r.GrowDays); err != nil || r.KgYear <= 0 {
			continue
		}
		y := years[r.BestC]
		if y == nil {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if y, err = held(r.BestC); err != nil {
				return nil, fmt.Errorf("heat by species: %s at %g °C: %w", f.Name, r.BestC, err)
			}
			years[r.BestC] = y
		}
		r.HeatKWh, r.Money = tidy(y.HeatKWh-still.HeatKWh), tidy(y.Money-still.Money)
		r.KWhKg, r.MoneyKg = r.HeatKWh/r.KgYear, r.Money/r.KgYear
		r.Held = true
		zone := tankZone(&s.Loops[at], j)
		for i := range y.Zones {
			if y.Zones[i].Name == zone && warmestMonthC(y, i) > f.OptHighC {
				r.Held = false
				r.Note = fmt.Sprintf("The warmest month of %s is %.0f °C: this fish then wants cooling, or another place.", zone, warmestMonthC(y, i))
			}
		}
		rows = append(rows, r)
	}
	slices.SortStableFunc(rows, func(a, b FishHeatRow) int { return cmp.Compare(a.KWhKg, b.KWhKg) })
	return rows, nil
}

// fishHeaterWM3 is a heater that holds any tank; it runs only as far as it must.
const fishHeaterWM3 = 10000.0

// warmestMonthC is the greatest monthly mean of a zone's air.
func warmestMonthC(y *Year, zone int) float64 {
	best, sum, n := math.Inf(-1), 0.0, 0
	for i := range y.Days {
		if i > 0 && y.Days[i].Date.Day() == 1 {
			best, sum, n = math.Max(best, sum/float64(n)), 0, 0
		}
		sum, n = sum+y.Days[i].Zones[zone].MeanC, n+1
	}
	return math.Max(best, sum/float64(n))
}

// Run carries a site's building through days from a date, under a sky and with the
// same leaves (by zone; nil: none) every day, after two weeks of the first day, and
// sums them up: what Variants and FishHeat may be run with. It gives nil, without an
// error, for a site that describes no building.
func Run(ctx context.Context, s *site.Site, sky climate.Sky, leaves []Leaves, from site.Date, days int) (*Year, error) {
	var circuits []*plumbing.Circuit
	for i := range s.Loops {
		c, err := plumbing.Of(&s.Loops[i])
		if err != nil {
			return nil, err
		}
		circuits = append(circuits, c)
	}
	var out climate.Day
	mean := 0.0
	for m := range 12 {
		if err := sky.Day(site.On(from.Year(), time.Month(1+m), 15).Time, &out); err != nil {
			return nil, err
		}
		mean += (out.TmaxC + out.TminC) / 24
	}
	b, err := New(s, circuits, Options{GroundC: mean, UTCOffsetH: sky.UTCOffsetH()})
	if b == nil || err != nil {
		return nil, err
	}
	if leaves == nil {
		leaves = make([]Leaves, len(s.Zones))
	}
	day, book := b.NewDay(), NewBook(b)
	for d := -runInDays; d < days; d++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		date := from.Plus(max(0, d))
		if err := sky.Day(date.Time, &out); err != nil {
			return nil, err
		}
		if err := b.Day(date.Time, &out, leaves, day); err != nil {
			return nil, err
		}
		if d >= 0 {
			if err := book.Add(date.Time, &out, day); err != nil {
				return nil, err
			}
		}
	}
	return book.Year()
}

// runInDays are run before those that count, for floors and water to find their
// warmth.
const runInDays = 14
