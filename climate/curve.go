package climate

import "math"

// Coefficients of the day's temperature curve ([parton-logan-1981] with those
// of common crop models): hours from solar noon to the highest, decay in the
// night, hours from sunrise to the lowest.
const (
	curveMaxLagH   = 2.0
	curveNightRate = 2.2
	curveMinLagH   = 1.0
)

// A Curve is what the temperatures of one day follow from. Rise and set are
// clock hours of the day itself, those of the day before and after likewise of
// their own days.
type Curve struct {
	RiseH, SetH           float64
	SetBeforeH            float64 // sunset of the day before
	RiseAfterH            float64 // sunrise of the day after
	TmaxC, TminC          float64
	TmaxBeforeC, TminNext float64 // highest of the day before, lowest of the next morning, °C
	TminBeforeC           float64 // lowest of the day before
	RiseBeforeH           float64
	Fractions             bool // no sunrise or sunset to go by: use fixed shares of the range
}

// TempC is the temperature at a clock hour from 0 to 24: a sine by day from the
// morning's lowest, an exponential fall by night to the next morning's lowest,
// normalised so that it arrives there. Without a sun that rises and sets it
// takes fixed fractions of the day's range.
//
// Source: [parton-logan-1981] with (2.0, 2.2, 1.0); fractions
// [ashrae-fundamentals] up to 2005.
func (c *Curve) TempC(hour float64) float64 {
	if c.Fractions {
		return c.byFractions(hour)
	}
	switch {
	case hour < c.RiseH+curveMinLagH:
		dusk := dayTempC(c.SetBeforeH, c.RiseBeforeH, c.SetBeforeH, c.TmaxBeforeC, c.TminBeforeC)
		night := 24 - c.SetBeforeH + c.RiseH + curveMinLagH
		return nightTempC((24-c.SetBeforeH+hour)/night, dusk, c.TminC)
	case hour <= c.SetH:
		return dayTempC(hour, c.RiseH, c.SetH, c.TmaxC, c.TminC)
	}
	dusk := dayTempC(c.SetH, c.RiseH, c.SetH, c.TmaxC, c.TminC)
	night := 24 - c.SetH + c.RiseAfterH + curveMinLagH
	return nightTempC((hour-c.SetH)/night, dusk, c.TminNext)
}

func dayTempC(hour, riseH, setH, tmaxC, tminC float64) float64 {
	return tminC + (tmaxC-tminC)*math.Sin(math.Pi*(hour-riseH-curveMinLagH)/(setH-riseH+2*curveMaxLagH))
}

// nightTempC is the temperature when a share of the night is over.
func nightTempC(share, duskC, minC float64) float64 {
	end := math.Exp(-curveNightRate)
	return (minC - duskC*end + (duskC-minC)*math.Exp(-curveNightRate*share)) / (1 - end)
}

// rangeFractions is how far below the highest each hour lies, as a share of the
// day's range; hours 1 to 24.
var rangeFractions = [24]float64{
	.87, .92, .96, .99, 1.00, .98, .93, .84, .71, .56, .39, .23,
	.11, .03, 0, .03, .10, .21, .34, .47, .58, .68, .76, .82,
}

const (
	fractionsMinH = 5.0
	fractionsMaxH = 15.0
)

func (c *Curve) byFractions(hour float64) float64 {
	at := math.Mod(hour+23, 24)
	i := int(at)
	share := at - float64(i)
	f := rangeFractions[i]*(1-share) + rangeFractions[(i+1)%24]*share
	high, low := c.TmaxC, c.TminC
	switch {
	case hour < fractionsMinH:
		high = c.TmaxBeforeC
	case hour > fractionsMaxH:
		low = c.TminNext
	}
	return high - f*(high-low)
}
