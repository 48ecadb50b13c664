package fabric

import (
	"fmt"
	"math"

	"tidebed/quantity"
	"tidebed/science/air"
)

// Constants of heat loss.
const (
	// HandbookWindMS is the wind for which handbooks give U, [asabe-ep406]; from memory.
	HandbookWindMS = 6.7
	// InfiltrationWhM3K is the heat of a cubic metre of air that leaks, per
	// kelvin, in Wh: the 0.335 of handbooks, air of 1.2 kg/m³.
	InfiltrationWhM3K = 0.335
	// PerimeterWmK and PerimeterInsulatedWmK are the heat that a metre of a
	// floor's edge loses per kelvin, bare and with insulation of 1.8 m²K/W down
	// to 0.6 m; [ashrae-fundamentals], from memory.
	PerimeterWmK          = 1.38
	PerimeterInsulatedWmK = 0.7
	// InnerFilmWm2K is the heat that passes from a room to the inner face of its
	// skin by air and radiation, about; from memory.
	InnerFilmWm2K = 8.0
	// GapM2KW is what a gap of air between two skins adds in place of the two
	// films that it does away with: from the rows of single and double film and
	// glass in covers.csv, which give 0.099 and 0.105.
	GapM2KW = 0.10

	stefanWm2K4 = 5.67e-8 // W/m²K⁴, Stefan and Boltzmann
	// skyViewShare is the part of the heat radiated between room and sky that
	// counts beyond U, which holds some of it already. From memory.
	skyViewShare = 0.5
)

// OuterFilmWm2K is the heat that passes from a cover to the air outside, W/m²K,
// by the wind on it, 0 to 60 m/s.
//
// Source: [mcadams-1954], from memory. Check: 6.7 m/s: 31.16.
func OuterFilmWm2K(windMS float64) (float64, error) {
	if err := check("outer film", windBound(windMS)); err != nil {
		return 0, err
	}
	return outerFilm(windMS), nil
}

func outerFilm(windMS float64) float64 { return 5.7 + 3.8*windMS }

// UInWind is the heat transmittance of a cover in a wind of 0 to 60 m/s, from
// its handbook value at HandbookWindMS (above 0 to 10 W/m²K).
//
// Check: 6.2: still air 3.28, 4 m/s 5.65, 10 m/s 6.58.
func UInWind(uWm2K, windMS float64) (float64, error) {
	if err := check("heat transmittance in wind", uBound("heat transmittance", uWm2K), windBound(windMS)); err != nil {
		return 0, err
	}
	return 1 / (1/uWm2K - 1/outerFilm(HandbookWindMS) + 1/outerFilm(windMS)), nil
}

// UWithCurtain is the heat transmittance of a cover with a curtain closed below
// it, whose resistance is 0 to 5 m²K/W. Leaky edges halve the resistance. It
// holds for the hours in which the curtain is closed.
//
// Check: 4.0 with 0.19: 2.27.
func UWithCurtain(uWm2K, resistanceM2KW float64) (float64, error) {
	if err := check("curtain", uBound("heat transmittance", uWm2K), bound{"resistance", resistanceM2KW, 0, 5, "m2K/W"}); err != nil {
		return 0, err
	}
	return 1 / (1/uWm2K + resistanceM2KW), nil
}

// UWithSecondSkin is the heat transmittance of two skins with still air of a few
// centimetres or more between: the outer one keeps its outer film, the inner one
// its inner film, and GapM2KW stands for the air between. Films that let heat
// radiation through do a little worse.
//
// Check: two films of 6.5: 3.99; single glass twice: 3.77.
func UWithSecondSkin(outerUWm2K, innerUWm2K float64) (float64, error) {
	if err := check("second skin", uBound("heat transmittance of the outer skin", outerUWm2K), uBound("heat transmittance of the inner skin", innerUWm2K)); err != nil {
		return 0, err
	}
	return 1 / (1/outerUWm2K + 1/innerUWm2K - 1/InnerFilmWm2K - 1/outerFilm(HandbookWindMS) + GapM2KW), nil
}

// SkyC is the temperature in °C with which a clear night sky takes heat, from
// that of the air, -60 to 50 °C. Clouds bring it near the air's.
//
// Source: [swinbank-1963], from memory. Check: 0 °C: -24 °C.
func SkyC(outsideC float64) (float64, error) {
	if err := check("sky", bound{"temperature outside", outsideC, -60, 50, "°C"}); err != nil {
		return 0, err
	}
	return 0.0552*math.Pow(outsideC+absoluteK, 1.5) - absoluteK, nil
}

// ClearSkyLossWm2 is the heat in W per m² of roof that a cover loses to a clear
// sky beyond its U, because it lets heat radiation of the share longwave (0 to
// 1) through; 0 for glass and panels, much for plain film.
//
// Check: film of 0.6, 12 °C inside, 0 °C outside: 47 W/m².
func ClearSkyLossWm2(longwaveShare, insideC, outsideC float64) (float64, error) {
	skyC, err := SkyC(outsideC)
	if err == nil {
		err = check("clear sky", shareBound("heat radiation passed as a share", longwaveShare), tempBound("temperature inside", insideC))
	}
	if err != nil {
		return 0, err
	}
	return longwaveShare * skyViewShare * stefanWm2K4 * (math.Pow(insideC+absoluteK, 4) - math.Pow(skyC+absoluteK, 4)), nil
}

// Part is a piece of a building's skin.
type Part struct{ AreaM2, UWm2K float64 }

// House is what a building, or a zone of it, loses heat by.
type House struct {
	Parts        []Part
	PerimeterM   float64 // edge of the floor
	PerimeterWmK float64 // PerimeterWmK or PerimeterInsulatedWmK; 0 to 5
	VolumeM3     float64
	AirChangesH  float64 // leaks and fans that run, 0 to 120
	PressureKPa  float64 // 0 for air.StandardKPa
}

// Loss is the heat in W that a house loses, by ways.
type Loss struct {
	TransmissionW, InfiltrationW, PerimeterW float64
	TotalW                                   float64
	UAWK                                     float64 // per kelvin
}

// InfiltrationWK is the heat in W per kelvin that leaks take: perHour air
// changes an hour (0 to 120) of a volume, at an air pressure of 50 to 110 kPa.
//
// Check: 0.75 an hour of 212.4 m³: 53.4.
func InfiltrationWK(perHour, volumeM3, pressureKPa float64) (float64, error) {
	if err := check("infiltration", bound{"air changes", perHour, 0, 120, "1/h"}, bound{"volume", volumeM3, 0, mostM3, "m3"}, pressureBound(pressureKPa)); err != nil {
		return 0, err
	}
	return InfiltrationWhM3K * perHour * volumeM3 * pressureKPa / air.StandardKPa, nil
}

// Loss returns the steady heat loss between two temperatures; negative is a
// gain. Sun, lamps, people and tanks are not in it.
//
// Source: [ashrae-fundamentals], from memory. Check: 6 × 12 m of double
// film, 2.2 and 3.7 m high, 0.75 changes, bare edge, 12 and -12 °C: 18 668 W.
func (h House) Loss(insideC, outsideC float64) (Loss, error) {
	if err := check("heat loss", tempBound("temperature inside", insideC), tempBound("temperature outside", outsideC),
		bound{"perimeter", h.PerimeterM, 0, 1e5, "m"}, bound{"loss of the floor's edge", h.PerimeterWmK, 0, 5, "W/m and K"}); err != nil {
		return Loss{}, err
	}
	skinWK := 0.0
	for i, p := range h.Parts {
		if err := check(fmt.Sprintf("heat loss of part %d", i+1), bound{"area", p.AreaM2, 0, mostM2, "m2"}, uBound("heat transmittance", p.UWm2K)); err != nil {
			return Loss{}, err
		}
		skinWK += p.AreaM2 * p.UWm2K
	}
	kPa := h.PressureKPa
	if kPa == 0 {
		kPa = air.StandardKPa
	}
	leakWK, err := InfiltrationWK(h.AirChangesH, h.VolumeM3, kPa)
	if err != nil {
		return Loss{}, fmt.Errorf("heat loss: %w", err)
	}
	edgeWK := h.PerimeterM * h.PerimeterWmK
	dT := insideC - outsideC
	l := Loss{TransmissionW: skinWK * dT, InfiltrationW: leakWK * dT, PerimeterW: edgeWK * dT, UAWK: skinWK + leakWK + edgeWK}
	l.TotalW = l.UAWK * dT
	return l, nil
}

// Gable is the shape of a house with upright walls and two equal slopes of roof.
type Gable struct{ WidthM, LengthM, EaveM, RidgeM float64 }

// Skin is what a shape measures.
type Skin struct{ RoofM2, WallM2, FloorM2, VolumeM3, PerimeterM float64 }

// Measure returns areas, volume and perimeter; walls include both gables.
// Refused: a side of 0 or beyond 1 km, a ridge below the eave.
//
// Check: 6 × 12 m, 2.2 and 3.7 m high: roof 80.50, walls 88.20 m², 212.4 m³.
func (g Gable) Measure() (Skin, error) {
	if err := check("gable house", bound{"width", g.WidthM, 0.1, 1000, "m"}, bound{"length", g.LengthM, 0.1, 1000, "m"},
		bound{"height of the eave", g.EaveM, 0, 100, "m"}, bound{"height of the ridge", g.RidgeM, max(g.EaveM, 0.1), 100, "m"}); err != nil {
		return Skin{}, err
	}
	rise := g.RidgeM - g.EaveM
	gableM2 := g.WidthM*g.EaveM + g.WidthM*rise/2
	return Skin{
		RoofM2:     2 * math.Hypot(g.WidthM/2, rise) * g.LengthM,
		WallM2:     2*g.LengthM*g.EaveM + 2*gableM2,
		FloorM2:    g.WidthM * g.LengthM,
		VolumeM3:   gableM2 * g.LengthM,
		PerimeterM: 2 * (g.WidthM + g.LengthM),
	}, nil
}

// Tightness is how much air leaks through a kind of house.
type Tightness struct {
	Name          string
	LowH, HighH   float64 // air changes an hour
	LeaksWithWind bool    // 30 % more in a wind of 7 m/s; common practice, no source
}

// Tightnesses returns the kinds of houses and their leaks, tightest first.
//
// Source: [asabe-ep406], from memory; insulated houses common practice, no source.
func Tightnesses() []Tightness {
	return []Tightness{
		{"insulated house", 0.2, 0.5, false},
		{"new, double film", 0.5, 1.0, false},
		{"new, glass or panels", 0.75, 1.5, false},
		{"old glass in good repair", 1, 2, true},
		{"old glass in bad repair", 2, 4, true},
	}
}

// leakyWindShare is how much more a leaky house loses in a wind of leakyWindMS;
// common practice, no source.
const (
	leakyWindShare = 0.30
	leakyWindMS    = 7.0
)

// LeakyAirChangesH is the air changes an hour (0 to 20) of a leaky house in a
// wind of 0 to 20 m/s. The straight line through the one known figure is ours.
func LeakyAirChangesH(calmH, windMS float64) (float64, error) {
	if err := check("leaks in wind", bound{"air changes", calmH, 0, 20, "1/h"}, bound{"wind", windMS, 0, 20, "m/s"}); err != nil {
		return 0, err
	}
	return calmH * (1 + leakyWindShare*windMS/leakyWindMS), nil
}

// InnerSurfaceC is the temperature of the inner face of a cover, from its U and
// the inner film, which must be above it, up to 30 W/m²K: InnerFilmWm2K.
//
// Check: U 4, film 8, 18 inside, 0 °C outside: 9.0.
func InnerSurfaceC(uWm2K, filmWm2K, insideC, outsideC float64) (float64, error) {
	if err := check("inner face", uBound("heat transmittance", uWm2K), bound{"inner film", filmWm2K, 0.5, 30, "W/m2K"},
		tempBound("temperature inside", insideC), tempBound("temperature outside", outsideC)); err != nil {
		return 0, err
	}
	if uWm2K >= filmWm2K {
		return 0, fmt.Errorf("inner face: heat transmittance %g W/m2K must be below that of the inner film, %g, which is a part of it: %w", uWm2K, filmWm2K, quantity.ErrRange)
	}
	return insideC - uWm2K/filmWm2K*(insideC-outsideC), nil
}
