package season

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"tidebed/climate"
	"tidebed/site"
	"tidebed/warmth"
)

// MadeYear is what the building takes in one made-up year.
type MadeYear struct {
	HeatKWh    float64 `json:"heatKWh"`
	PeakHeatKW float64 `json:"peakHeatKW"`
	GridKWh    float64 `json:"gridKWh"`
	Money      float64 `json:"money"`
	ColdestC   float64 `json:"coldestC"` // outside
	LeastC     float64 `json:"leastC"`   // of the air of any zone
	ShortH     float64 `json:"shortH"`   // hours in which heaters did not reach
	ToppedUpM3 float64 `json:"toppedUpM3"`
}

// MostYears bounds the made-up years of one question.
const MostYears = 1000

// MadeYears runs a site's building through made-up years of its place's weather, each
// from the day of the opening, on all cores: what it takes differs by the year, and the
// normals alone show no bad one. Leaves stand all year as on the mean of the
// year of the normals. The same seed
// gives the same years, in their order. tell, which may be nil, is told how many are
// done; it is called from several goroutines, one at a time. Errors: 1 to MostYears
// years are wanted; those of Warmth and of ctx.
func MadeYears(ctx context.Context, s *site.Site, years int, seed uint64, tell func(done int)) ([]MadeYear, error) {
	if years < 1 || years > MostYears {
		return nil, fmt.Errorf("season: %d made-up years: ask for 1 to %d", years, MostYears)
	}
	s = dated(s)
	k, err := NewSky(s)
	if err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	in, err := newIndoors(s, k)
	if err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	if in.building == nil {
		return nil, ErrNoSkin
	}
	normals, _, err := Weather(s)
	if err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	if err := in.fill(k, s.Opening.Date.Plus(364)); err != nil {
		return nil, fmt.Errorf("season: %w", err)
	}
	leaves := in.grove.mean()
	out := make([]MadeYear, years)
	var next, done atomic.Int64
	var wait sync.WaitGroup
	var mu sync.Mutex
	var failed error
	for range min(runtime.GOMAXPROCS(0), years) {
		wait.Go(func() {
			g, err := climate.NewGenerator(normals, seed)
			for err == nil {
				i := int(next.Add(1)) - 1
				if i >= years || ctx.Err() != nil {
					break
				}
				var made *climate.Series
				if made, err = g.Year(i); err != nil { // a ring: the days past New Year are its first
					break
				}
				var y *warmth.Year
				if y, err = warmth.Run(ctx, s, made, slices.Clone(leaves), s.Opening.Date, 365); err != nil {
					break
				}
				m := MadeYear{HeatKWh: y.HeatKWh, PeakHeatKW: y.PeakHeatKW, GridKWh: y.Power.GridKWh, Money: y.Money, ColdestC: 99, LeastC: 99, ToppedUpM3: y.ToppedUpM3}
				for d := range y.Days {
					m.ColdestC = min(m.ColdestC, y.Days[d].OutLeastC)
				}
				for z := range y.Zones {
					m.LeastC = min(m.LeastC, y.Zones[z].LeastC)
					m.ShortH += y.Zones[z].ShortH
				}
				out[i] = m
				mu.Lock()
				if n := int(done.Add(1)); tell != nil {
					tell(n)
				}
				mu.Unlock()
			}
			if err != nil {
				mu.Lock()
				failed = err
				mu.Unlock()
				next.Store(int64(years))
			}
		})
	}
	wait.Wait()
	if failed == nil {
		failed = ctx.Err()
	}
	if failed != nil {
		return nil, fmt.Errorf("season: made-up years: %w", failed)
	}
	return out, nil
}
