package fish

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// FeedRise is how much total feed may rise in a day once the filter is cycled,
// a share. Common practice, no source.
const FeedRise = 0.10

// line is 0 at zero, 1 at one and straight between, whichever is larger; 0 for
// no number.
func line(v, zero, one float64) float64 {
	f := (v - zero) / (one - zero)
	if !(f > 0) {
		return 0
	}
	return min(1, f)
}

// steps is 1 up to full, a half up to half, 0 above and for no number.
func steps(v, full, half float64) float64 {
	switch {
	case v <= full:
		return 1
	case v <= half:
		return 0.5
	}
	return 0
}

// FeedForTemp returns the share of a ration planned for planC that may be fed
// in water of tempC: 0 outside the feeding temperatures, the ratio of the
// temperature factors within, at most 1.
//
// Source: common practice, no source.
func (s *Species) FeedForTemp(tempC, planC float64) float64 {
	plan := s.cardinal(planC)
	if !s.feeds(tempC) || plan <= 0 {
		return 0
	}
	return min(1, s.cardinal(tempC)/plan)
}

// FeedForOxygen returns the share of the ration for the lowest oxygen of the
// last 24 hours: 0 at DOMinFeedGm3, 1 at DOFullFeedGm3.
//
// Source: common practice, no source; intake falls between 100 and 30 percent
// of saturation (Buentello et al. 2000, channel catfish).
func (s *Species) FeedForOxygen(doGm3 float64) float64 {
	return line(doGm3, s.DOMinFeedGm3, s.DOFullFeedGm3)
}

// GrowthForOxygen returns the share of full growth that oxygen allows: 1 from
// DOFullFeedGm3, falling with FeedForOxygen to a half. It already goes with the
// lower ration when that is fed.
//
// Source: common practice, no source; Nile tilapia above 200 g eat less below
// 5.5 g/m³ (Tran-Duy et al. 2012).
func (s *Species) GrowthForOxygen(doGm3 float64) float64 { return 0.5 + 0.5*s.FeedForOxygen(doGm3) }

// FeedForAmmonia returns the share of the ration for un-ionised ammonia
// nitrogen: 1 up to NH3NMaxGm3, 0 from NH3NStopGm3.
//
// Source: common practice, no source.
func (s *Species) FeedForAmmonia(nh3nGm3 float64) float64 {
	return line(nh3nGm3, s.NH3NStopGm3, s.NH3NMaxGm3)
}

// FeedForTAN returns the share of the ration for total ammonia nitrogen: 1 up
// to TANMaxGm3, a half up to twice that, 0 above.
//
// Source: common practice, no source.
func (s *Species) FeedForTAN(tanGm3 float64) float64 {
	return steps(tanGm3, s.TANMaxGm3, 2*s.TANMaxGm3)
}

// FeedForNitrite returns the share of the ration for nitrite nitrogen: 1 up to
// NO2NMaxGm3, a half up to three times that, 0 above. Chloride protects; that
// is not in it.
//
// Source: common practice, no source.
func (s *Species) FeedForNitrite(no2nGm3 float64) float64 {
	return steps(no2nGm3, s.NO2NMaxGm3, 3*s.NO2NMaxGm3)
}

// FeedAfterStop returns the share of the ration on the days after a stop, the
// first day being 1: a third, two thirds, then all. Missed rations are never
// made up.
//
// Source: common practice, no source.
func FeedAfterStop(day int) float64 { return min(1, max(0, float64(day)/3)) }

// FeedCut is what the share of a ration is judged by.
type FeedCut struct {
	TempC, PlanC float64 // water now and as planned
	DOGm3        float64 // lowest oxygen of the last 24 hours
	NH3NGm3      float64 // un-ionised ammonia nitrogen
	TANGm3       float64 // total ammonia nitrogen
	NO2NGm3      float64 // nitrite nitrogen
	DaysFed      int     // days since a stop, 3 or more when there was none
	Stop         bool    // power or pump off, handling within 24 h, a bath, the first day, purge, gasping
}

// FeedShare returns the share, 0 to 1, of the planned ration to feed: the
// strictest of the single rules, 0 when Stop is set or a figure is no number.
//
// Source: common practice, no source.
func (s *Species) FeedShare(c FeedCut) float64 {
	if c.Stop {
		return 0
	}
	return min(s.FeedForTemp(c.TempC, c.PlanC), s.FeedForOxygen(c.DOGm3), s.FeedForAmmonia(c.NH3NGm3),
		s.FeedForTAN(c.TANGm3), s.FeedForNitrite(c.NO2NGm3), FeedAfterStop(c.DaysFed))
}

// ConversionOfRecords returns the feed conversion of a stock from its records,
// all in kg: feed over end + removed + dead - start. Warn below 0.6 and above
// 3.
//
// Errors wrap quantity.ErrRange: a negative or unreadable figure, or no gain.
func ConversionOfRecords(feedKg, startKg, endKg, removedKg, deadKg float64) (fcr float64, err error) {
	for _, v := range []float64{feedKg, startKg, endKg, removedKg, deadKg} {
		if err := quantity.InRange("mass", v, 0, 1e8, "kg"); err != nil {
			return 0, fmt.Errorf("feed conversion: %w", err)
		}
	}
	gain := endKg + removedKg + deadKg - startKg
	if !(gain > 0) || math.IsInf(feedKg/gain, 0) {
		return 0, fmt.Errorf("feed conversion: the fish gained %g kg: more than nothing is needed, look for fish or weights left out: %w", gain, quantity.ErrRange)
	}
	return feedKg / gain, nil
}
