package fabric

import (
	"fmt"
	"math"

	"tidebed/science/sun"
)

// Constants of light through covers.
const (
	// CleanShare and DirtyShare are what frame, gutters and dirt leave of the
	// light of a cover. Common practice, no source.
	CleanShare = 0.90
	DirtyShare = 0.85
	// WaterSunShare is the part of the light on open water that warms it; from memory.
	WaterSunShare = 0.9
	// GroundShare and SnowShare are the light that bare ground and snow throw
	// back; from memory, [duffie-beckman].
	GroundShare = 0.2
	SnowShare   = 0.65

	singleLean = 0.10 // b0 of a single layer, [duffie-beckman], from memory
	doubleLean = 0.17 // b0 of two; taken for three and more, where it is a little too kind
)

// IncidenceFactor is what a cover passes at an angle of incidence (0 to 90°)
// over what it passes straight on; layers 1 to 10. It stands in for the pane by
// pane sum of package sun, which it meets within 0.02 up to 60° and 0.04 at 70°.
//
// Source: [duffie-beckman], from memory. Check: 60°: 0.90 single, 0.83 double.
func IncidenceFactor(incidenceDeg float64, layers int) (float64, error) {
	if err := check("incidence", bound{"angle of incidence", incidenceDeg, 0, 90, "°"}, bound{"layers", float64(layers), 1, 10, ""}); err != nil {
		return 0, err
	}
	return incidenceFactor(math.Cos(incidenceDeg*math.Pi/180), layers), nil
}

func incidenceFactor(cosIncidence float64, layers int) float64 {
	if cosIncidence <= 0.05 { // 87° and beyond: next to nothing, and the form below would divide by 0
		return 0
	}
	lean := singleLean
	if layers > 1 {
		lean = doubleLean
	}
	return max(0, 1-lean*(1/cosIncidence-1))
}

// Face is a surface of the skin that the sun shines on.
type Face struct {
	Cover      Cover
	SlopeDeg   float64 // 0 level, 90 upright
	AzimuthDeg float64 // the way it looks, from north clockwise
	CleanShare float64 // what frame, dirt and shade leave, above 0 to 1
}

// Light is the sun on a face and behind it, in the unit of the level light.
type Light struct {
	OnFace float64 // on the outer side
	Energy float64 // energy passed, per area of the face
	Par    float64 // the same as if all were light for plants: share of it passed times OnFace
}

// SunThrough is the sun's energy that a face of glazing lets in, and the light for
// plants on the scale of global radiation: times sun.MolPerMJ it is photons.
//
//	l            light on the level, in W/m² or MJ/m² of an hour
//	zenithDeg    of the sun, 0 to 180; below the horizon only diffuse light counts
//	azimuthDeg   of the sun
//	groundShare  light the ground throws back: GroundShare, SnowShare
//
// The part of the light that comes from the sun's side passes by its angle of
// incidence, all other as from an even sky. Light that walls pass on into the
// ground or back out is left out: what comes in is not all kept.
func (f Face) SunThrough(l sun.Level, zenithDeg, azimuthDeg, groundShare float64) (Light, error) {
	if err := check("sun through a cover", bound{"zenith", zenithDeg, 0, 180, "°"}, bound{"azimuth of the sun", azimuthDeg, -360, 360, "°"},
		bound{"slope", f.SlopeDeg, 0, 180, "°"}, bound{"azimuth of the face", f.AzimuthDeg, -360, 360, "°"}, bound{"share left by frame and dirt", f.CleanShare, 1e-3, 1, ""}); err != nil {
		return Light{}, err
	}
	c := f.Cover
	if !c.SolarNormal.Known || !c.ParNormal.Known || c.Layers < 1 {
		return Light{}, fmt.Errorf("sun through a cover: %q has no figures for light in the table; take a cover that has", clip(c.Name))
	}
	cosIn := sun.CosIncidence(zenithDeg, azimuthDeg, f.SlopeDeg, f.AzimuthDeg)
	ratio := 0.0
	if zenithDeg < 90 {
		ratio = sun.BeamRatio(cosIn, math.Cos(zenithDeg*math.Pi/180))
	}
	all, err := sun.Tilted(sun.HayDavies, l, ratio, f.SlopeDeg, groundShare)
	if err != nil {
		return Light{}, fmt.Errorf("sun through a cover: %w", err)
	}
	even, err := sun.Tilted(sun.HayDavies, l, 0, f.SlopeDeg, groundShare)
	if err != nil {
		return Light{}, fmt.Errorf("sun through a cover: %w", err)
	}
	beam := all - even
	lean, diffuse := incidenceFactor(cosIn, c.Layers), c.diffuseFactor()
	passed := f.CleanShare * (beam*lean + even*diffuse)
	return Light{OnFace: all, Energy: c.SolarNormal.Value * passed, Par: c.ParNormal.Value * passed}, nil
}

// diffuseFactor is what a cover passes of an even sky over what it passes
// straight on: from its row where both figures are known and not zero,
// otherwise as at sun.DiffuseIncidenceDeg.
func (c Cover) diffuseFactor() float64 {
	if c.ParDiffuse.Known && c.ParNormal.Known && c.ParNormal.Value > 0 {
		return c.ParDiffuse.Value / c.ParNormal.Value
	}
	return incidenceFactor(math.Cos(sun.DiffuseIncidenceDeg*math.Pi/180), c.Layers)
}
