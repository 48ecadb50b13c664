package inhand

import (
	"fmt"
	"math"
	"time"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/science/air"
	"tidebed/science/sun"
	"tidebed/site"
	"tidebed/warmth"
)

// shutMostC is the hottest that the air of a shut house is taken to become; common
// practice, no source.
const shutMostC = 60.0

// hotLAI is the leaf area of the beds on the hot day: young crops, for full ones
// cool the air more.
const hotLAI = 1.0

// hotSky are the mean day of a month, its middle, and a clear hot one: as much warmer
// as its days spread, with the light of a clear sky and the damp that it had.
func hotSky(s *site.Site, months [12]climate.Month, spreadK float64, month int) (mean, hot *climate.Day, date time.Time, err error) {
	date = time.Date(2027, time.Month(month), 15, 0, 0, 0, 0, time.UTC)
	fromDeg := s.Place.LatitudeDeg
	if len(s.Place.Normals) == 0 {
		if p, err := climate.Lookup(s.Place.Climate); err == nil {
			fromDeg = p.LatitudeDeg
		}
	}
	w, err := climate.New(s.Place.LatitudeDeg, s.Place.LongitudeDeg, s.Place.ElevationM, months, fromDeg)
	if err != nil {
		return nil, nil, date, err
	}
	if err := w.SetUTCOffset(math.Round(s.Place.LongitudeDeg / 15)); err != nil {
		return nil, nil, date, err
	}
	mean = new(climate.Day)
	if err := w.Day(date, mean); err != nil {
		return nil, nil, date, err
	}
	outer, err := sun.Extraterrestrial(s.Place.LatitudeDeg, date.YearDay())
	if err != nil {
		return nil, nil, date, err
	}
	brighter := 1.0
	if mean.GHIMJm2 > 0 {
		brighter = max(1, clearShare*outer.RaMJm2/mean.GHIMJm2)
	}
	d := *mean
	d.GHIMJm2 *= brighter
	d.TmaxC, d.TminC = d.TmaxC+hotSD*spreadK, d.TminC+hotSD*spreadK
	for h := range d.Hours {
		x := &d.Hours[h]
		x.TempC += hotSD * spreadK
		x.RHShare = min(1, air.SaturationKPa(x.DewPointC)/air.SaturationKPa(x.TempC))
		x.GHIWm2 *= brighter
		x.DiffuseWm2 = min(x.DiffuseWm2*brighter, clearDiffuse*x.GHIWm2)
	}
	return mean, &d, date, nil
}

// hotDay adds the rows of vents stuck on a hot day: mean days with vents at work,
// then hot ones with all vents shut from midnight, hours counted from sunrise. The
// beds hold young crops: full ones give more time. All light that comes in is kept, so
// that the air warms too fast; it comes to no more than 60 °C. Hourly steps of package
// warmth, so that a time is good to half an hour.
func (w *Warm) hotDay(s *site.Site, circuits []*plumbing.Circuit, months [12]climate.Month, sdK [12]float64, groundC float64, hot int) error {
	mean, sky, date, err := hotSky(s, months, sdK[hot], hot+1)
	if err != nil {
		return err
	}
	w.Hot = WarmDay{Month: hot + 1, MaxC: rounded(sky.TmaxC, 1), MinC: rounded(sky.TminC, 1), GHIMJm2: rounded(sky.GHIMJm2, 1)}
	if !sky.PolarNight && !sky.PolarDay {
		w.Hot.FromH = min(23, max(0, int(math.Floor(sky.SunriseH))))
	}
	w.Notes = append(w.Notes, fmt.Sprintf("The hot day is a clear one of %s with %.0f °C at its height, after mean ones, and again and again; hours run from sunrise, %d o'clock of standard time. Beds are taken to hold young crops: full ones cool the air and give more time.", monthName(hot+1), w.Hot.MaxC, w.Hot.FromH))
	asIs, err := hotRun(s, circuits, mean, sky, date, groundC, w.Hot.FromH)
	if err != nil {
		return err
	}
	when := fmt.Sprintf("vents stuck shut, %.0f °C outside", w.Hot.MaxC)
	for i := range s.Zones {
		// Barrels are a loop of their own, closed and without a pump.
		more := *s
		const wallM2 = barrelWallM2 * moreM3 / barrelM3
		name := "barrels in " + s.Zones[i].Name
		more.Loops = append(more.Loops[:len(s.Loops):len(s.Loops)], site.Loop{Name: name, Tanks: []site.Tank{{Name: name, VolumeM3: moreM3, DepthM: wallM2 * wallM2 / (4 * math.Pi * moreM3), Zone: s.Zones[i].Name, Lid: true}}})
		c, err := plumbing.Of(&more.Loops[len(s.Loops)])
		if err != nil {
			return err
		}
		watered, err := hotRun(&more, append(circuits[:len(circuits):len(circuits)], c), mean, sky, date, groundC, w.Hot.FromH)
		if err != nil {
			return err
		}
		row := WarmRow{Case: VentsStick, When: when, OutsideC: w.Hot.MaxC, Zone: s.Zones[i].Name}
		add := func(l Level, limitC float64, bare, wet []float64) {
			row.Level, row.LimitC, row.StartC, row.With = l, &limitC, rounded(bare[0], 1), nil
			row.set(rise(bare, limitC))
			row.with(ByWater, fmt.Sprintf("%.0f m³ more water in barrels", moreM3), rise(wet, limitC))
			w.All = append(w.All, row)
		}
		row.Tank, row.Fish = "", ""
		add(AirHot, scorchC, asIs.airC[i], watered.airC[i])
		for n, x := range asIs.bodies {
			p := &circuits[x.Loop].Places[x.Cell]
			if x.Zone != i || p.Tank == nil {
				continue
			}
			species, err := kinds(s, p.Tank.Name)
			if err != nil {
				return err
			}
			for _, sp := range species {
				row.Tank, row.Fish = p.Tank.Name, sp.Name
				add(HotFeed, sp.FeedStopHighC, asIs.waterC[n], watered.waterC[n])
				add(HotDeaths, sp.LethalHighC, asIs.waterC[n], watered.waterC[n])
			}
		}
	}
	return nil
}

// hotCourse is what air and water went through, from sunrise on by the hour.
type hotCourse struct {
	bodies       []warmth.Body
	airC, waterC [][]float64
}

func hotRun(s *site.Site, circuits []*plumbing.Circuit, mean, sky *climate.Day, date time.Time, groundC float64, fromH int) (*hotCourse, error) {
	b, err := warmth.New(s, circuits, warmth.Options{GroundC: groundC, UTCOffsetH: math.Round(s.Place.LongitudeDeg / 15)})
	if err != nil {
		return nil, err
	}
	o := &hotCourse{bodies: b.Bodies(), airC: make([][]float64, len(s.Zones))}
	o.waterC = make([][]float64, len(o.bodies))
	day, leaves := b.NewDay(), leavesOf(s)
	hour := -hotSpinDays * 24
	for hour < LookHours+24 {
		today := mean
		if hour >= 0 {
			today = sky
		}
		if hour == 0 {
			b.ShutVents(shutMostC)
		}
		if err := b.Day(date, today, leaves, day); err != nil {
			return nil, err
		}
		for h := range 24 {
			if hour++; hour < fromH || hour > fromH+LookHours {
				continue
			}
			for i := range o.airC {
				o.airC[i] = append(o.airC[i], day.Zones[i].Hours[h].AirC)
			}
			for k := range o.bodies {
				o.waterC[k] = append(o.waterC[k], day.WaterC[b.Cell(o.bodies[k].Loop, o.bodies[k].Cell)][h])
			}
		}
	}
	return o, nil
}

// rise is the hours in which an hourly course first reaches a limit from below; +Inf
// for not.
func rise(course []float64, limitC float64) float64 {
	if course[0] >= limitC {
		return 0
	}
	for h := 1; h < len(course); h++ {
		if course[h] >= limitC {
			return float64(h-1) + (limitC-course[h-1])/(course[h]-course[h-1])
		}
	}
	return math.Inf(1)
}

// leavesOf are the leaves that stand in each zone's beds on the hot day.
func leavesOf(s *site.Site) []warmth.Leaves {
	all := make([]warmth.Leaves, len(s.Zones))
	for i := range s.Zones {
		for k := range s.Loops {
			for _, bed := range s.Loops[k].Beds {
				if bed.Zone == s.Zones[i].Name {
					all[i].AreaM2 += bed.GrowingM2()
				}
			}
		}
		all[i].LAI = hotLAI
	}
	return all
}
