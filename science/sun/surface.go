package sun

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// Sky names how diffuse light is spread over the sky.
type Sky int

// The models of the sky.
const (
	HayDavies Sky = iota // part of the diffuse light comes from around the sun; the one to use
	Isotropic            // even sky: 5 to 10 % low on clear slopes to the sun
	HDKR                 // HayDavies with a brighter horizon
)

// Level is the light on the level ground and where it comes from, all three in
// the same unit (W/m² or MJ/m² of an hour).
type Level struct {
	Global, Diffuse float64
	Outer           float64 // above the air
}

// CosIncidence is the cosine of the angle between the sun's beam and the normal
// of a surface tilted by slopeDeg (0 level, 90 upright) and facing azimuthDeg;
// below 0 when the sun stands behind it.
func CosIncidence(zenithDeg, sunAzimuthDeg, slopeDeg, azimuthDeg float64) float64 {
	sinZ, cosZ := math.Sincos(zenithDeg * degree)
	sinB, cosB := math.Sincos(slopeDeg * degree)
	return cosZ*cosB + sinZ*sinB*math.Cos((sunAzimuthDeg-azimuthDeg)*degree)
}

// BeamRatio is the beam on a surface over the beam on the level: rb of the
// books. A sun lower than 5° counts as at 5°, where the ratio would grow without
// bound.
func BeamRatio(cosIncidence, cosZenith float64) float64 {
	return max(0, cosIncidence) / max(cosZenith, 0.087)
}

// Tilted returns the light on a tilted surface in the unit of the level light.
//
//	beamRatio    BeamRatio of sun and surface, 0 or more
//	slopeDeg     0 to 180
//	groundShare  light reflected by the ground: 0.2, snow 0.6 to 0.7
//
// Source: Liu and Jordan, Hay and Davies, and Reindl as in [duffie-beckman] 2.15.
// Check: example 2.15.1, global 1.04, slope 60°: 1.17 isotropic.
func Tilted(sky Sky, l Level, beamRatio, slopeDeg, groundShare float64) (float64, error) {
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"global radiation", l.Global, 0, 1e5, ""},
		{"diffuse radiation", l.Diffuse, 0, l.Global, ""},
		{"extraterrestrial radiation", l.Outer, 0, 1e5, ""},
		{"beam ratio", beamRatio, 0, 100, ""},
		{"slope", slopeDeg, 0, 180, "°"},
		{"light reflected by the ground", groundShare, 0, 1, ""},
	} {
		if err := quantity.InRange(c.name, c.v, c.lo, c.hi, c.unit); err != nil {
			return 0, fmt.Errorf("light on a tilted surface: %w", err)
		}
	}
	beam := l.Global - l.Diffuse
	cosB := math.Cos(slopeDeg * degree)
	around, horizon := 0.0, 1.0
	if sky != Isotropic && l.Outer > 0 {
		around = min(1, beam/l.Outer)
	}
	if sky == HDKR && l.Global > 0 {
		s := math.Sin(slopeDeg * degree / 2)
		horizon = 1 + math.Sqrt(beam/l.Global)*s*s*s
	}
	return (beam+l.Diffuse*around)*beamRatio +
		l.Diffuse*(1-around)*(1+cosB)/2*horizon +
		groundShare*l.Global*(1-cosB)/2, nil
}

// Refractive indices of covers, [duffie-beckman] chapter 5.
const (
	IndexGlass         = 1.526
	IndexPolycarbonate = 1.59
	IndexAcrylic       = 1.49
	IndexPolyethylene  = 1.51
)

// DiffuseIncidenceDeg is the angle of incidence at which a pane passes as much
// beam as it passes of an even sky.
const DiffuseIncidenceDeg = 60.0

// Transmission is the share of light a single pane passes at an angle of
// incidence of 0 to 90°.
//
//	index  refractive index, 1 to 3
//	kl     extinction coefficient times thickness, 0 to 5: 0.03 for 3 mm of clear glass
//
// Source: Fresnel, both polarisations, as in [duffie-beckman] chapter 5.
// Check: index 1.526, kl 0.0736: 0.852 straight on, 0.768 at 60°.
func Transmission(incidenceDeg, index, kl float64) (float64, error) {
	err := quantity.InRange("angle of incidence", incidenceDeg, 0, 90, "°")
	if err == nil {
		err = quantity.InRange("refractive index", index, 1, 3, "")
	}
	if err == nil {
		err = quantity.InRange("extinction times thickness", kl, 0, 5, "")
	}
	if err != nil {
		return 0, fmt.Errorf("transmission: %w", err)
	}
	across, along, inside := reflections(incidenceDeg*degree, index)
	absorbed := math.Exp(-kl / math.Cos(inside))
	pane := func(r float64) float64 {
		return absorbed * (1 - r) * (1 - r) / (1 - r*r*absorbed*absorbed)
	}
	return (pane(across) + pane(along)) / 2, nil
}

// Reflection is the share one surface of a cover reflects at an angle of
// incidence of 0 to 90°, mean of both polarisations. Check: index 1.526: 0.0434
// straight on, 0.0935 at 60°.
func Reflection(incidenceDeg, index float64) (float64, error) {
	err := quantity.InRange("angle of incidence", incidenceDeg, 0, 90, "°")
	if err == nil {
		err = quantity.InRange("refractive index", index, 1, 3, "")
	}
	if err != nil {
		return 0, fmt.Errorf("reflection: %w", err)
	}
	across, along, _ := reflections(incidenceDeg*degree, index)
	return (across + along) / 2, nil
}

// reflections are the reflected shares of both polarisations and the angle
// inside the cover, in radians. An index of 1 reflects nothing.
func reflections(angle, index float64) (across, along, inside float64) {
	inside = math.Asin(math.Sin(angle) / index)
	if index == 1 {
		return 0, 0, min(inside, 89.999*degree)
	}
	if angle < 1e-6 { // limit of both forms
		r := (index - 1) / (index + 1)
		return r * r, r * r, inside
	}
	s, t := math.Sin(inside-angle)/math.Sin(inside+angle), math.Tan(inside-angle)/math.Tan(inside+angle)
	return s * s, t * t, inside
}
