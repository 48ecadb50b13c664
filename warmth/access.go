package warmth

import (
	"fmt"
	"math"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/science/air"
	"tidebed/science/fabric"
	"tidebed/site"
)

// Skin is what a zone loses heat by and what holds heat in it, for those who carry
// it through minutes: W/K and J/K, with handbook U (a wind of 6.7 m/s) and the gaps
// of calm air, as LossAt has them.
type Skin struct {
	OutsideWK float64 // glazing, opaque parts, gaps and the floor's edge, curtain open
	CurtainWK float64 // the same with the curtain drawn; OutsideWK where there is no glazing
	GlazedM2  float64
	GroundWK  float64 // through the floor
	FloorJK   float64
	FloorWK   float64 // floor to air
	MotorsW   float64 // of blowers, while power is on
	Beyond    []Beyond
}

// Beyond is a wall to another zone.
type Beyond struct {
	Zone int
	WK   float64
}

// Skin returns a zone's, with a curtain of a resistance in m²K/W drawn in
// Skin.CurtainWK; 0 stands for the zone's own.
//
// Errors: a zone that is not there; figures outside what package fabric takes.
func (b *Building) Skin(zone int, curtainM2KW float64) (Skin, error) {
	if zone < 0 || zone >= len(b.Zones) {
		return Skin{}, fmt.Errorf("skin: there is no zone %d of %d", zone, len(b.Zones))
	}
	z := &b.Zones[zone]
	if curtainM2KW == 0 {
		curtainM2KW = z.curtain
	}
	gaps, err := fabric.InfiltrationWK(z.In.AirChangesH, z.VolumeM3, b.kPa)
	if err != nil {
		return Skin{}, fmt.Errorf("skin of %s: %w", z.In.Name, err)
	}
	o := Skin{OutsideWK: z.opaqueWK + z.edgeWK + gaps, GroundWK: z.groundWK, FloorJK: z.floorJK, FloorWK: z.floorWK, MotorsW: z.motorsW}
	o.CurtainWK = o.OutsideWK
	for i := range z.glazing {
		f := &z.glazing[i]
		u, err := fabric.UWithCurtain(f.uWm2K, curtainM2KW)
		if err != nil {
			return Skin{}, fmt.Errorf("skin of %s: %w", z.In.Name, err)
		}
		o.OutsideWK += f.areaM2 * f.uWm2K
		o.CurtainWK += f.areaM2 * u
		o.GlazedM2 += f.areaM2
	}
	for _, t := range z.beyond {
		o.Beyond = append(o.Beyond, Beyond{t.zone, t.wk})
	}
	return o, nil
}

// SkyLossW is the heat in W that the glazed roofs of a zone lose to a clear sky
// beyond their U, curtain open. Errors as Skin.
func (b *Building) SkyLossW(zone int, insideC, outsideC float64) (float64, error) {
	if zone < 0 || zone >= len(b.Zones) {
		return 0, fmt.Errorf("clear sky: there is no zone %d of %d", zone, len(b.Zones))
	}
	sum := 0.0
	for i := range b.Zones[zone].glazing {
		f := &b.Zones[zone].glazing[i]
		if f.sky <= 0 {
			continue
		}
		loss, err := fabric.ClearSkyLossWm2(f.sky, insideC, outsideC)
		if err != nil {
			return 0, fmt.Errorf("clear sky over %s: %w", b.Zones[zone].In.Name, err)
		}
		sum += math.Max(0, loss) * f.areaM2
	}
	return sum, nil
}

// Body is a cell of water as it stands in its zone.
type Body struct {
	Loop, Cell int
	Zone       int
	HeatJK     float64
	AirWK      float64 // to the zone's air, dry: what evaporates is not in it
	FloorWK    float64
	BareM2     float64 // open surface of a tank or sump without a lid; 0 for beds
	Aired      bool    // air stones stir it while power is on
	SetC       float64 // that its heater or its loop holds; 0: not said
	PumpW      float64 // heat of a pump that hangs in it
}

// Bodies are the cells of water in the order of Cell.
func (b *Building) Bodies() []Body {
	var all []Body
	for loop, first := range b.first {
		if first < 0 {
			continue
		}
		for cell, p := range b.circuits[loop].Places {
			w := &b.wets[first+cell]
			o := Body{Loop: loop, Cell: cell, Zone: w.zone, HeatJK: w.heatJK, AirWK: w.airWK, FloorWK: w.floorWK, SetC: w.setC, PumpW: w.pumpW}
			if (p.Kind == plumbing.Tank || p.Kind == plumbing.Sump) && w.activity > lidOpen {
				o.BareM2, o.Aired = w.openM2, w.activity == air.ActivityAerated
			}
			all = append(all, o)
		}
	}
	return all
}

// ShutVents keeps the vents of all zones shut from now on. All light that comes in
// counts as kept here, none goes back out, so that a shut house in full sun would
// come out hotter than any is: at mostC (above the set points, up to 70 °C) what is
// more is taken to leave.
func (b *Building) ShutVents(mostC float64) {
	for i := range b.Zones {
		z := &b.Zones[i]
		z.padOff = true
		z.ventC, z.ventM3s, b.vented[i] = mostC, math.Max(z.ventM3s, z.VolumeM3*mostChangesS), shut
	}
}

// mostChangesS is the air changes a second of what leaves at ShutVents' most.
const mostChangesS = 1.0

// NormalsOf are a site's months and the spread of their nights' lowest, K; guessed
// by the range of the year where nobody gives it. Errors: a place without climate.
func NormalsOf(s *site.Site) (months [12]climate.Month, sdK [12]float64, guessed bool, err error) {
	if months, err = (&Building{Site: s}).monthsOf(); err != nil {
		return months, sdK, false, err
	}
	sdK, guessed = spreads(&months)
	return months, sdK, guessed, nil
}

// Lit reports whether a zone has glazing that lets light in; false for one that is
// not there.
func (b *Building) Lit(zone int) bool {
	return zone >= 0 && zone < len(b.Zones) && len(b.Zones[zone].glazing) > 0
}

// FullLAI is the leaf area index of full leaf in ZoneHour.FullKgM2.
const FullLAI = fullLAI
