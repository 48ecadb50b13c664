package fabric

import (
	"math"

	"tidebed/science/air"
)

// The nodes of Room.Balance.
const (
	NodeAir  = 0
	NodeTank = 1
	NodeBed  = 2 // only where the room has beds
)

// Room is a zone with its air, the water of its tanks and, where BedJK is not 0,
// beds that are a body of their own.
//
// What an open tank loses by OpenQuietWm2K all goes to the air here, though the
// share that evaporates warms it only where it condenses: the air comes out a
// little too warm. Where humidity is reckoned, take OpenDryWm2K for the top and
// put evaporation into TankW as a loss.
type Room struct {
	OutsideC, GroundC float64
	HouseWK           float64 // skin and leaks, air to outside: Loss.UAWK
	FanWK             float64 // ventilation beside the leaks: air.VolumeHeatJm3K times the flow
	TankWK            float64 // tanks to the room's air: Tank.UAWK, all of them
	AirJK             float64 // AirHeatJK
	TankJK            float64 // WaterHeatJK
	BedJK             float64 // 0: no beds
	BedAirWK          float64 // BedAirWK
	BedTankWK         float64 // what pumped water ties beds and tanks by: FlowWK
	BedGroundWK       float64
	AirW, TankW, BedW float64 // gains
}

// Balance couples the nodes of the room; errors as NewBalance.
//
// Check: see Balance.Step.
func (r Room) Balance() (*Balance, error) {
	nodes := []Node{
		NodeAir:  {HeatJK: r.AirJK, GainW: r.AirW, Borders: []Border{{r.HouseWK, r.OutsideC}, {r.FanWK, r.OutsideC}}},
		NodeTank: {HeatJK: r.TankJK, GainW: r.TankW},
	}
	ties := []Tie{{NodeAir, NodeTank, r.TankWK}}
	if r.BedJK != 0 {
		nodes = append(nodes, Node{HeatJK: r.BedJK, GainW: r.BedW, Borders: []Border{{r.BedGroundWK, r.GroundC}}})
		ties = append(ties, Tie{NodeAir, NodeBed, r.BedAirWK}, Tie{NodeTank, NodeBed, r.BedTankWK})
	}
	return NewBalance(nodes, ties)
}

// Constants of the bodies of a room.
const (
	// BareAirTimes, LeastLightTimes and MostLightTimes are the heat that air with
	// frame, trays and leaves takes up over that of air alone: 1 for air alone, 5
	// to 10 in use. Common practice, no source.
	BareAirTimes    = 1.0
	LeastLightTimes = 5.0
	MostLightTimes  = 10.0
	// WaterJkgK and WaterKgM3 are the heat and the density of water.
	WaterJkgK = 4186.0
	WaterKgM3 = 1000.0

	// A bed gives the air 8 to 10 W/m²K over 1.5 to 2 times its plan. Common
	// practice, no source.
	bedFilmWm2K  = 9.0
	bedAreaTimes = 1.75
)

// AirHeatJK is the heat that a volume of air (above 0 to 1e7 m³) with the light
// things in it takes up per kelvin; times is 1 to 30: LeastLightTimes for the
// cautious answer in a power cut.
func AirHeatJK(volumeM3, times float64) (float64, error) {
	if err := check("heat of air", bound{"volume", volumeM3, 1e-3, mostM3, "m3"}, bound{"times the air alone", times, 1, 30, ""}); err != nil {
		return 0, err
	}
	return air.VolumeHeatJm3K * volumeM3 * times, nil
}

// WaterHeatJK is the heat that a volume of water (above 0 to 1e7 m³) takes up
// per kelvin.
func WaterHeatJK(volumeM3 float64) (float64, error) {
	if err := check("heat of water", bound{"volume", volumeM3, 1e-6, mostM3, "m3"}); err != nil {
		return 0, err
	}
	return WaterKgM3 * WaterJkgK * volumeM3, nil
}

// FlowWK is the heat that a flow of water (0 to 10 m³/s) between two bodies
// carries per kelvin.
func FlowWK(flowM3S float64) (float64, error) {
	if err := check("heat of flowing water", bound{"flow", flowM3S, 0, 10, "m3/s"}); err != nil {
		return 0, err
	}
	return WaterKgM3 * WaterJkgK * flowM3S, nil
}

// BedAirWK is the heat that beds of a plan area (0 to 1e6 m²) give the air per
// kelvin: the area of their media and trays is larger than their plan.
func BedAirWK(planM2 float64) (float64, error) {
	if err := check("beds and air", bound{"plan area", planM2, 0, mostM2, "m2"}); err != nil {
		return 0, err
	}
	return bedFilmWm2K * bedAreaTimes * planM2, nil
}

// RestC is the temperature at which a body without heat of its own rests
// between borders with a gain in W. The borders must conduct something.
//
// Check: 778 W/K to -12 °C and 192.6 W/K to 24 °C: -4.86 °C.
func RestC(gainW float64, borders ...Border) (float64, error) {
	sumWK, flowW := 0.0, gainW
	if err := check("rest", bound{"gain", gainW, -mostW, mostW, "W"}); err != nil {
		return 0, err
	}
	for _, b := range borders {
		if err := check("rest", uaBound("conductance", b.WK), bound{"temperature of a border", b.TempC, -100, 200, "°C"}); err != nil {
			return 0, err
		}
		sumWK += b.WK
		flowW += b.WK * b.TempC
	}
	if err := check("rest", bound{"conductance of all borders", sumWK, 1e-9, math.MaxFloat64, "W/K"}); err != nil {
		return 0, err
	}
	return flowW / sumWK, nil
}

// SeriesWK is the conductance of two in a row: tanks to air and air to outside
// where the air takes up no heat.
//
// Check: 778 and 192.6 W/K: 154.4.
func SeriesWK(firstWK, secondWK float64) (float64, error) {
	if err := check("conductances in a row", uaBound("first conductance", firstWK), uaBound("second conductance", secondWK)); err != nil {
		return 0, err
	}
	if firstWK == 0 || secondWK == 0 {
		return 0, nil
	}
	return firstWK * secondWK / (firstWK + secondWK), nil
}

// Relax is the exact step of one body: from a temperature towards its rest with
// a time constant (above 0), over 0 to 1e9 s. It returns the end and the mean.
func Relax(tempC, restC, timeConstantS, seconds float64) (endC, meanC float64, err error) {
	if err := check("step", bound{"temperature", tempC, -100, 200, "°C"}, bound{"temperature of rest", restC, -1e6, 1e6, "°C"},
		bound{"time constant", timeConstantS, 1e-3, 1e12, "s"}, bound{"time", seconds, 0, 1e9, "s"}); err != nil {
		return 0, 0, err
	}
	z := seconds / timeConstantS
	return restC + (tempC-restC)*math.Exp(-z), restC + (tempC-restC)*phi1(z), nil
}
