package fabric

import (
	"errors"
	"fmt"
	"math"

	"tidebed/science/air"
)

// Damp is the air of a room with what wets and dries it while a step lasts.
type Damp struct {
	VolumeM3, TempC, PressureKPa float64
	AirChangesH                  float64 // leaks and vents together, 0 to 120
	OutsideRatio                 float64 // humidity ratio of the air outside, kg/kg, 0 to 0.2
	WaterKgH                     float64 // from leaves, tanks and beds, 0 to 1e5; take off what condenses into cold tanks
	TakenKgH                     float64 // by a dehumidifier, 0 to 1e5; no more than the air can give
	ColdM2, ColdC                float64 // inner face of the cover: InnerSurfaceC
	FilmWm2K                     float64 // to it: air.CondensingFilmWm2K
}

// ErrTooDry says that more water is to be taken than the air has to give.
var ErrTooDry = errors.New("more water is taken than the air has to give: take less")

// Dampness is what a step of Damp came to. The kilograms add up: water given off
// less taken, condensed, vented and fallen as mist is what the air gained.
type Dampness struct {
	EndRatio    float64 // humidity ratio at the end, kg/kg
	RHShare     float64 // at the end
	CondensedKg float64 // on the cover
	VentedKg    float64 // out with the air less in with it; negative when outside is moister
	MistKg      float64 // beyond what saturated air holds: on leaves and all else
}

// Step returns the humidity after 0 to 1e6 s from a humidity ratio of 0 to
// that of saturated air. It is exact: the cover condenses only while the air's
// dew point is above it, mist falls only from saturated air, and the step is cut
// where one begins or ends. The latent heat goes into the balance of heat.
//
// Source: balance of water with density air.DensityKgM3, scaled by pressure.
func (d Damp) Step(ratio, seconds float64) (Dampness, error) {
	if err := check("humidity of a room", bound{"volume", d.VolumeM3, 1e-3, mostM3, "m3"}, bound{"temperature", d.TempC, LowestC, 60, "°C"}, pressureBound(d.PressureKPa),
		bound{"air changes", d.AirChangesH, 0, 120, "1/h"}, bound{"humidity ratio outside", d.OutsideRatio, 0, 0.2, "kg/kg"}, bound{"water given off", d.WaterKgH, 0, 1e5, "kg/h"}, bound{"water taken", d.TakenKgH, 0, 1e5, "kg/h"},
		bound{"cold surface", d.ColdM2, 0, mostM2, "m2"}, bound{"temperature of the cold surface", d.ColdC, LowestC, 60, "°C"}, bound{"film", d.FilmWm2K, 0, 50, "W/m2K"}, bound{"time", seconds, 0, 1e6, "s"}); err != nil {
		return Dampness{}, err
	}
	full := air.SaturatedRatio(d.TempC, d.PressureKPa)
	if err := check("humidity of a room", bound{"humidity ratio", ratio, 0, full * (1 + 1e-9), "kg/kg"}); err != nil {
		return Dampness{}, fmt.Errorf("%w; at most that of saturated air", err)
	}
	airKg := air.DensityKgM3 * d.PressureKPa / air.StandardKPa * d.VolumeM3
	vent := airKg * d.AirChangesH / 3600       // kg of air a second
	film := d.FilmWm2K / air.CpJkgK * d.ColdM2 // kg a second per unit of ratio
	dew := air.SaturatedRatio(d.ColdC, d.PressureKPa)
	give := (d.WaterKgH - d.TakenKgH) / 3600
	out := Dampness{}
	w, left := min(ratio, full), seconds
	for range 16 { // at most four spells: below, on and above the cover's dew point, mist
		if !(left > 0) {
			break
		}
		onCover := 0.0
		if inflow := give - vent*(w-d.OutsideRatio); w > dew || w == dew && inflow > 0 {
			onCover = film
		}
		if rise := give - vent*(w-d.OutsideRatio) - onCover*(w-dew); w >= full && rise >= 0 { // saturated and stays so
			out.MistKg += rise * left
			out.VentedKg += vent * (w - d.OutsideRatio) * left
			out.CondensedKg += onCover * (w - dew) * left
			break
		}
		// dw/dt = (give + vent Wo + onCover dew)/airKg - k w
		k := (vent + onCover) / airKg
		push := (give + vent*d.OutsideRatio + onCover*dew) / airKg
		t := left
		end := func(t float64) float64 { return w*math.Exp(-k*t) + push*t*phi1(k*t) }
		next := end(t)
		for _, edge := range []float64{dew, full} { // cut where a regime ends
			if (w-edge)*(next-edge) < 0 {
				t, next = crossing(w, k, push, edge), edge
			}
		}
		t = max(0, min(t, left))
		if math.IsNaN(t) { // a crossing within rounding of the start
			t = 0
		}
		mean := w*phi1(k*t) + push*t*phi2(k*t)
		out.VentedKg += vent * (mean - d.OutsideRatio) * t
		out.CondensedKg += onCover * (mean - dew) * t
		w, left = next, left-t
	}
	if w < 0 {
		return Dampness{}, fmt.Errorf("humidity of a room: %g kg/h: %w", d.TakenKgH, ErrTooDry)
	}
	out.EndRatio = w
	out.RHShare = w / full * (full + 0.621945) / (w + 0.621945)
	return out, nil
}

// crossing is when a ratio that rises by push - k times itself comes to edge; it
// must be on the way there.
func crossing(w, k, push, edge float64) float64 {
	straight := (edge - w) / (push - k*w) // at the rate it starts with
	if k == 0 {
		return straight
	}
	return -math.Log1p(-k*straight) / k
}
