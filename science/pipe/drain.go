package pipe

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// Velocities in pipes, m/s. Common practice, no source, except the least in
// pipes that carry solids, [nspc-2009].
const (
	MostPressureMS = 2.0 // never more on a pump's pressure side; 0.6 to 1.5 is usual
	MostSuctionMS  = 1.0
	LeastSolidsMS  = 0.6 // below it solids settle
)

// DiameterForM is the bore in which a flow has a velocity.
//
//	flowM3s     above 0 to 100
//	velocityMS  0.001 to 100
//
// Check: 60 L/min at 1 m/s: 0.03568 m.
func DiameterForM(flowM3s, velocityMS float64) (float64, error) {
	if err := check("pipe for a velocity", bound{"flow", flowM3s, 1e-12, MostFlowM3s, "m3/s"}, bound{"velocity", velocityMS, 1e-3, 100, "m/s"}); err != nil {
		return 0, err
	}
	return math.Sqrt(4 * flowM3s / (math.Pi * velocityMS)), nil
}

// DefaultManning is the roughness coefficient of a plastic drain with a film;
// [epanet-2.2] lists 0.011 to 0.015 for plastic.
const DefaultManning = 0.012

// ManningHalfFull is the flow and velocity of a drain that runs half full.
//
//	diameterM  inside, 0.0005 to 5
//	slope      fall over length, above 0 to 1
//	n          roughness coefficient, 0.008 to 0.05
//
// Source: Manning, as in [nspc-2009]. Check: 40.9 mm, 0.0208333, 0.012: 22.33
// L/min and 0.567 m/s.
func ManningHalfFull(diameterM, slope, n float64) (flowM3s, velocityMS float64, err error) {
	return ManningPartFull(diameterM, slope, n, 0.5)
}

// ManningPartFull is the same for another depth: fillShare is depth to diameter,
// above 0 to 1.
//
// Check, against half full: a quarter carries 0.274, three quarters 1.82, full 2.
func ManningPartFull(diameterM, slope, n, fillShare float64) (flowM3s, velocityMS float64, err error) {
	if err := check("drain", bound{"slope", slope, 1e-6, 1, ""}, bound{"Manning's n", n, 0.008, 0.05, ""}); err != nil {
		return 0, 0, err
	}
	areaM2, wettedM, err := PartFull(diameterM, fillShare)
	if err != nil {
		return 0, 0, err
	}
	velocityMS = math.Pow(areaM2/wettedM, 2.0/3) * math.Sqrt(slope) / n
	return velocityMS * areaM2, velocityMS, nil
}

// PartFull is the area of the water and the wetted wall of a round drain filled
// to a share of its diameter, above 0 to 1.
//
// Check: 24 in, two thirds full: 0.206700 m² and 1.164722 m [crane-410].
func PartFull(diameterM, fillShare float64) (areaM2, wettedM float64, err error) {
	if err := check("drain", diameterBound(diameterM), bound{"depth to diameter", fillShare, 1e-6, 1, ""}); err != nil {
		return 0, 0, err
	}
	theta := 2 * math.Acos(1-2*fillShare)
	return diameterM * diameterM * (theta - math.Sin(theta)) / 8, diameterM * theta / 2, nil
}

// LeastDrainSlope is the fall over length that a drain needs: 1/4 in a foot below
// 3 in of bore, 1/8 from there.
//
// Source: [nspc-2009].
func LeastDrainSlope(diameterM float64) (float64, error) {
	if err := check("drain", diameterBound(diameterM)); err != nil {
		return 0, err
	}
	if diameterM < 3*0.0254 {
		return 0.25 / 12, nil
	}
	return 0.125 / 12, nil
}

// ventingFroude is the flow, in units of area times root g D, up to which a
// vertical overflow draws no plug of air. Hills' method, [crane-410] documents it.
const ventingFroude = 0.31

// SelfVentingM3s is the most that a vertical overflow pipe takes quietly, its
// mouth open: above it gulps. Size overflows of beds and tanks by it, for all
// the flow that can come.
//
//	diameterM  inside, 0.0005 to 5
//
// Check: 25 mm: 4.5 L/min.
func SelfVentingM3s(diameterM float64) (float64, error) {
	if err := check("overflow", diameterBound(diameterM)); err != nil {
		return 0, err
	}
	return ventingFroude * CircleM2(diameterM) * math.Sqrt(GravityMS2*diameterM), nil
}

// SelfVentingDiameterM is the bore of a vertical overflow for a flow above 0 to
// 100 m³/s; the inverse of SelfVentingM3s.
func SelfVentingDiameterM(flowM3s float64) (float64, error) {
	if err := check("overflow", bound{"flow", flowM3s, 1e-12, MostFlowM3s, "m3/s"}); err != nil {
		return 0, err
	}
	return math.Pow(flowM3s/(ventingFroude*math.Pi/4*math.Sqrt(GravityMS2)), 0.4), nil
}

// weepDischarge is the discharge coefficient of a sharp hole. From memory.
const weepDischarge = 0.62

// WeepM3s is the flow out of a hole in a standpipe under water headM high.
//
//	holeM  diameter, 0.0005 to 5
//	headM  0 to 100
//
// Check: 8 mm under 0.22 m: 3.884 L/min.
func WeepM3s(holeM, headM float64) (float64, error) {
	if err := check("weep hole", diameterBound(holeM), bound{"head", headM, 0, 100, "m"}); err != nil {
		return 0, err
	}
	return weepDischarge * CircleM2(holeM) * math.Sqrt(2*GravityMS2*headM), nil
}

// WeepDrainSeconds is how long a bed takes to drain through a hole.
//
//	areaM2       of the water, plan area times drainable porosity in media
//	holeM        diameter of the hole, 0.0005 to 5
//	fromM, toM   water above the hole, 0 to 100, from at least to
//
// A hole clogs: make two, and look at them.
//
// Check: 0.54 m², 8 mm, 0.22 to 0.02 m: 2563.6 s.
func WeepDrainSeconds(areaM2, holeM, fromM, toM float64) (float64, error) {
	if err := check("weep hole", bound{"area", areaM2, 1e-6, 1e6, "m2"}, diameterBound(holeM),
		bound{"water at the start", fromM, 0, 100, "m"}, bound{"water at the end", toM, 0, fromM, "m"}); err != nil {
		return 0, err
	}
	return 2 * areaM2 / (weepDischarge * CircleM2(holeM) * math.Sqrt(2*GravityMS2)) * (math.Sqrt(fromM) - math.Sqrt(toM)), nil
}

// ImpactMS is the velocity at which a free jet of 0 to 100 m/s meets the water 0
// to 100 m below.
//
// Check: 1.2 m/s and 0.40 m: 3.047.
func ImpactMS(exitMS, dropM float64) (float64, error) {
	if err := check("jet", bound{"velocity", exitMS, 0, 100, "m/s"}, bound{"drop", dropM, 0, 100, "m"}); err != nil {
		return 0, err
	}
	return math.Sqrt(exitMS*exitMS + 2*GravityMS2*dropM), nil
}

// bedWaterKgM3 is the density of water of 20 to 22 °C to four digits.
const bedWaterKgM3 = 998.0

// FloorKPa is the live load for which the floors of dwellings are usually built,
// 40 lbf/ft²: 195 kg/m². A bed can well exceed it: ask a structural engineer.
//
// Source: US codes, from a later text.
const FloorKPa = 1.92

// BedLoad is the load of a bed full to its overflow, in kg/m² and kPa. Water
// above the media counts in full.
//
//	depthM    of the media, 0 to 10
//	bulkKgM3  of the media drained and wet, 0 to 5000
//	porosity  drainable, above 0 and below 1
//	floodM    depth of the water, 0 to 10
//	shellKgM2 of the container, 0 to 10000
//
// Check: 0.30 m of 1600 kg/m³, 0.40, 0.25 m: 579.8 kg/m² and 5.69 kPa.
func BedLoad(depthM, bulkKgM3, porosity, floodM, shellKgM2 float64) (kgM2, kPa float64, err error) {
	if err := check("bed load", bound{"depth of the media", depthM, 0, 10, "m"}, bound{"bulk density", bulkKgM3, 0, 5000, "kg/m3"},
		bound{"depth of the water", floodM, 0, 10, "m"}, bound{"container", shellKgM2, 0, 1e4, "kg/m2"}); err != nil {
		return 0, 0, err
	}
	if err := quantity.InRange("porosity", porosity, math.SmallestNonzeroFloat64, math.Nextafter(1, 0), ""); err != nil {
		return 0, 0, fmt.Errorf("bed load: %w", err)
	}
	water := porosity*min(floodM, depthM) + max(0, floodM-depthM)
	kgM2 = depthM*bulkKgM3 + water*bedWaterKgM3 + shellKgM2
	return kgM2, kgM2 * GravityMS2 / 1000, nil
}
