package fabric

import "fmt"

// Limits of harm by cold.
const (
	FrostC = 0.0
	// FrostAlarmC is the air at which to act: under film on clear nights leaves
	// are 1 to 3 K colder than the air. Common practice, no source.
	FrostAlarmC = 3.0
	// MostFallKH is how fast water may cool before fish suffer: 1 to 2 K an hour.
	// Common practice, no source.
	MostFallKH = 1.0
)

// Cut is a house whose heat has stopped, with its tanks.
type Cut struct {
	AirC, WaterC, OutsideC float64
	HouseWK, TankWK        float64 // air to outside; tanks to air
	AirJK, WaterJK         float64 // heat per kelvin: AirHeatJK, WaterHeatJK
	GainW                  float64 // heat that goes on in the air: people, lamps; 0 by night
}

// Left is how long something has until harm.
type Left struct {
	Hours   float64 // 0: there already
	Reached bool    // false: it never comes to that
}

func (c Cut) check() error {
	return check("heat cut off", tempBound("air", c.AirC), tempBound("water", c.WaterC), tempBound("outside", c.OutsideC),
		bound{"house", c.HouseWK, 1e-9, mostWK, "W/K"}, uaBound("tanks", c.TankWK), heatBound("heat of the air", c.AirJK), bound{"gain", c.GainW, -mostW, mostW, "W"})
}

// AirRestC is where the air rests while the tanks are still warm.
func (c Cut) AirRestC() (float64, error) {
	if err := c.check(); err != nil {
		return 0, err
	}
	return RestC(c.GainW, Border{c.HouseWK, c.OutsideC}, Border{c.TankWK, c.WaterC})
}

// AirTo is the time until the air falls to a limit, with tanks that stay as warm
// as they are: minutes to hours, in which that holds. Where the rest lies above
// the limit it is never reached so; the tanks then cool and Room tells.
//
// Check: 14 °C, tanks 24 °C, -12 outside, 778 and 192.6 W/K, 0.256 MJ/K: 0 °C
// after 0.099 h.
func (c Cut) AirTo(limitC float64) (Left, error) {
	restC, err := c.AirRestC()
	if err != nil {
		return Left{}, err
	}
	tau, err := TimeConstantH(c.AirJK, c.HouseWK+c.TankWK)
	if err != nil {
		return Left{}, err
	}
	hours, reached, err := CoolingH(tau, c.AirC, restC, limitC)
	if err != nil {
		return Left{}, fmt.Errorf("air to frost: %w", err)
	}
	return Left{hours, reached}, nil
}

// WaterTo is the time until the tanks fall to a limit, in air that takes up no
// heat: for days, in which that holds. GainW warms the air they rest in.
//
// Check: the same house with 50.5 MJ/K of water: 18 °C after 16.6 h.
func (c Cut) WaterTo(limitC float64) (Left, error) {
	if err := c.check(); err != nil {
		return Left{}, err
	}
	if err := check("water to a limit", heatBound("heat of the water", c.WaterJK)); err != nil {
		return Left{}, err
	}
	way, err := SeriesWK(c.HouseWK, c.TankWK)
	if err != nil {
		return Left{}, err
	}
	if way == 0 {
		return Left{Reached: c.WaterC <= limitC}, nil
	}
	tau, err := TimeConstantH(c.WaterJK, way)
	if err != nil {
		return Left{}, err
	}
	hours, reached, err := CoolingH(tau, c.WaterC, c.OutsideC+c.GainW/c.HouseWK, limitC)
	if err != nil {
		return Left{}, fmt.Errorf("water to a limit: %w", err)
	}
	return Left{hours, reached}, nil
}

// WaterFallKH is how fast the tanks cool at the start, in K an hour, once the air
// has come to rest; above MostFallKH fish suffer from the fall itself.
//
// Check: the same house: 0.40.
func (c Cut) WaterFallKH() (float64, error) {
	restC, err := c.AirRestC()
	if err == nil {
		err = check("cooling of the tanks", heatBound("heat of the water", c.WaterJK))
	}
	if err != nil {
		return 0, err
	}
	return 3600 * c.TankWK * (c.WaterC - restC) / c.WaterJK, nil
}
