package ripen

import (
	"errors"
	"fmt"
	"sync"

	"tidebed/quantity"
	"tidebed/site"
)

// UsualTempsC are the temperatures a table shows.
func UsualTempsC() []float64 { return []float64{10, 15, 20, 25, 28} }

// Row is when a loop is ready at a temperature; 0 days: not within MostDays.
type Row struct {
	TempC    float64 `json:"tempC"`
	NewDay   int     `json:"newDay"`   // with new media
	WaterDay int     `json:"waterDay"` // with ripe water or a handful of ripe stones
	MediaDay int     `json:"mediaDay"` // with MediaM3 of running media
	MediaM3  float64 `json:"mediaM3"`
	From     string  `json:"from"` // where that comes from
}

// ByTemperature works out the ready day of fishless start-ups at up to 20
// temperatures, each 4 to 34 °C, with new media, with ripe water and with
// RipeMediaM3 of running media (0: two buckets). The goal is that of the options
// at the loop's own temperature, the same in all rows. Errors as Fishless.
func ByTemperature(l *site.Loop, s *site.Site, o Options, tempsC []float64) ([]Row, error) {
	if len(tempsC) == 0 || len(tempsC) > 20 {
		return nil, fmt.Errorf("start-up by temperature: %d temperatures, 1 to 20 are reckoned: %w", len(tempsC), quantity.ErrRange)
	}
	for _, t := range tempsC {
		if err := quantity.InRange("temperature of the water", t, LeastTempC, MostTempC, "°C"); err != nil {
			return nil, fmt.Errorf("start-up by temperature: %w", err)
		}
	}
	own, err := newSetting(l, s, o)
	if err != nil {
		return nil, err
	}
	mediaM3 := o.RipeMediaM3
	if mediaM3 == 0 {
		mediaM3 = 2 * BucketM3
	}
	rows := make([]Row, len(tempsC))
	jobs := make([]error, 3*len(tempsC))
	var all sync.WaitGroup
	for i, t := range tempsC {
		rows[i] = Row{TempC: t, MediaM3: mediaM3, From: donorName(l, s, o)}
		for k, day := range []*int{&rows[i].NewDay, &rows[i].WaterDay, &rows[i].MediaDay} {
			all.Go(func() {
				one := o
				one.TempC, one.GoalFeedGDay, one.RipeMediaM3, one.SeedGCODM3 = t, own.o.GoalFeedGDay, 0, SeedNew
				switch k {
				case 1:
					one.SeedGCODM3 = SeedWater
				case 2:
					one.RipeMediaM3 = mediaM3
				}
				*day, jobs[3*i+k] = readyDay(l, s, one)
			})
		}
	}
	all.Wait()
	if err := errors.Join(jobs...); err != nil {
		return nil, err
	}
	return rows, nil
}

func readyDay(l *site.Loop, s *site.Site, o Options) (int, error) {
	q, err := newSetting(l, s, o)
	if err != nil {
		return 0, err
	}
	p, err := q.fishless(1)
	if err != nil {
		return 0, fmt.Errorf("start-up of loop %s: %w", l.Name, err)
	}
	return p.ReadyDay, nil
}

// donorName is where running media would come from.
func donorName(l *site.Loop, s *site.Site, o Options) string {
	for i := range s.Loops {
		d := &s.Loops[i]
		if d.Name == l.Name || o.From != "" && d.Name != o.From {
			continue
		}
		for k := range d.Beds {
			if b := &d.Beds[k]; (b.Kind == "media" || b.Kind == "constant") && b.DepthM > 0 {
				return "the " + d.Name + " loop"
			}
		}
	}
	return "a running loop"
}
