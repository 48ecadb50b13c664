package climate

import (
	"fmt"
	"math"
	"time"

	"tidebed/quantity"
)

// Nights is other weather with the coming nights as typed. Weather has them
// built in; a Series takes them by this.
//
// The temperatures of a typed day are stretched so that the lowest of its
// morning is the typed one; the highest moves only as far as it must for the
// range to stay between half and twice what it was. From 15 h on the evening
// before falls toward the typed night, and the evening of the typed day goes
// back to what comes after. Dew points are lowered where the air would be over
// saturated, and never raised: after a night typed warmer the air is drier than
// it would be.
type Nights struct {
	sky    Sky
	nights map[dateKey]float64
}

var _ Sky = (*Nights)(nil)

// NewNights lays typed nights over weather, none at first.
func NewNights(sky Sky) (*Nights, error) {
	if sky == nil {
		return nil, fmt.Errorf("climate: no weather to type nights into")
	}
	return &Nights{sky: sky, nights: map[dateKey]float64{}}, nil
}

// SetNightMinimum replaces the lowest temperature of the morning of a date, as
// Weather.SetNightMinimum does. Set before the weather is shared between
// goroutines.
func (n *Nights) SetNightMinimum(date time.Time, tempC float64) error {
	if err := quantity.InRange("lowest temperature of the night", tempC, lowestC, highestC, "°C"); err != nil {
		return fmt.Errorf("climate: %s: %w", date.Format(time.DateOnly), err)
	}
	n.nights[keyOf(date)] = tempC
	return nil
}

// UTCOffsetH is that of the weather below.
func (n *Nights) UTCOffsetH() float64 { return n.sky.UTCOffsetH() }

// stretch is how the temperatures of a typed day move.
type stretch struct {
	fromC, toC, factor float64
	typed              bool
}

func (s stretch) moveK(tempC float64) float64 {
	if !s.typed {
		return 0
	}
	return s.toC + (tempC-s.fromC)*s.factor - tempC
}

// of finds the stretch of a day.
func (n *Nights) of(date time.Time, day *Day) stretch {
	typed, ok := n.nights[keyOf(date)]
	if !ok {
		return stretch{}
	}
	low, high := math.Inf(1), math.Inf(-1)
	for h, v := range day.Hours {
		if h < hoursPerDay/2 {
			low = min(low, v.TempC)
		}
		high = max(high, v.TempC)
	}
	span := high - low
	if span <= 0 {
		return stretch{low, typed, 1, true}
	}
	top := max(typed+narrowest*span, min(typed+widest*span, high))
	return stretch{low, typed, (top - typed) / span, true}
}

// Day fills out with the weather of a date, with the night as typed.
func (n *Nights) Day(date time.Time, out *Day) error {
	if err := n.sky.Day(date, out); err != nil {
		return err
	}
	y, m, d := date.Date()
	morrow := time.Date(y, m, d+1, 12, 0, 0, 0, time.UTC)
	own := n.of(date, out)
	_, follows := n.nights[keyOf(morrow)]
	if !own.typed && !follows {
		return nil
	}
	toK := 0.0
	if follows {
		var next Day
		if err := n.sky.Day(morrow, &next); err != nil {
			return err
		}
		toK = n.of(morrow, &next).moveK(next.Hours[0].TempC)
	}
	const evening = 15.0
	out.TmaxC = math.Inf(-1)
	if !own.typed {
		out.TminC = math.Inf(1)
	} else {
		out.TminC = own.toC
	}
	for h := range out.Hours {
		v := &out.Hours[h]
		w := max(0, (float64(h)+0.5-evening)/(hoursPerDay-evening))
		v.TempC = max(lowestC-20, min(highestC+20, v.TempC+(1-w)*own.moveK(v.TempC)+w*toK))
		v.DewPointC = min(v.DewPointC, v.TempC)
		v.RHShare = humidity(v.TempC, v.DewPointC)
		out.TmaxC = max(out.TmaxC, v.TempC)
		if !own.typed && h < hoursPerDay/2 {
			out.TminC = min(out.TminC, v.TempC)
		}
	}
	return nil
}
