package season

import (
	"math"

	"tidebed/climate"
	"tidebed/science/crop"
	"tidebed/science/sun"
	"tidebed/site"
	"tidebed/warmth"
)

// grove are the leaves that the building's air counts: the plantings of the opening as
// they grow in its light and warmth, in water that lacks nothing, each begun anew when
// it is over, as the next crop would keep its bed.
type grove struct {
	stands []groveStand
	taken  map[string]float64 // of each bed on the day, m²
	leaves []warmth.Leaves    // of each zone
	byLoop [][]float64        // of each zone, m² that drink from each loop
	sumM2  []float64          // of the days that count, of each zone
	days   float64
}

// groveStand is a planting in it.
type groveStand struct {
	in      site.Planting
	crop    *crop.Crop
	stand   crop.Stand
	bedM2   float64
	zone    int
	loop    int
	shade   float64 // of its bed's tiers
	lampMol float64
	areaM2  float64 // of the day
	again   bool    // its own planting is over
}

// newGrove readies a site's leaves; plantings of crops or beds that are not there are
// left out, for Run refuses them.
func newGrove(s *site.Site) grove {
	g := grove{taken: map[string]float64{}, leaves: make([]warmth.Leaves, len(s.Zones)), sumM2: make([]float64, len(s.Zones))}
	for range s.Zones {
		g.byLoop = append(g.byLoop, make([]float64, len(s.Loops)))
	}
	for _, p := range s.Opening.Plantings {
		c, err := crop.Lookup(p.Crop)
		if err != nil {
			continue
		}
		for i := range s.Loops {
			for j := range s.Loops[i].Beds {
				b := &s.Loops[i].Beds[j]
				if b.Name != p.Bed {
					continue
				}
				for z := range s.Zones {
					if s.Zones[z].Name != b.Zone {
						continue
					}
					st := groveStand{in: p, crop: &c, bedM2: b.GrowingM2(), zone: z, loop: i, shade: tiersShade(b.Tiers)}
					st.lampMol, _ = lampsOver(s, b)
					if st.stand, err = crop.NewStand(&c, 1); err == nil {
						g.stands = append(g.stands, st)
					}
				}
			}
		}
	}
	return g
}

// stand works out the leaves of a day: first those of plantings that are still going,
// then, where a bed has room, those of the crops that follow.
func (g *grove) stand(date site.Date) []warmth.Leaves {
	clear(g.leaves)
	clear(g.taken)
	for z := range g.byLoop {
		clear(g.byLoop[z])
	}
	for _, again := range [...]bool{false, true} {
		for i := range g.stands {
			s := &g.stands[i]
			if s.again != again {
				continue
			}
			s.areaM2 = 0
			if date.Before(s.in.Planted.Time) {
				continue
			}
			s.areaM2 = math.Max(0, math.Min(s.in.AreaM2, s.bedM2-g.taken[s.in.Bed]))
			g.taken[s.in.Bed] += s.areaM2
			if covered := s.areaM2 * s.stand.CoverShare() * s.shade; covered > 0 {
				l := &g.leaves[s.zone]
				l.AreaM2, l.LAI = l.AreaM2+covered, warmth.FullLAI
				g.byLoop[s.zone][s.loop] += covered
			}
		}
	}
	return g.leaves
}

// mean are the leaves of the days that counted.
func (g *grove) mean() []warmth.Leaves {
	all := make([]warmth.Leaves, len(g.sumM2))
	for z := range all {
		if g.sumM2[z] > 0 {
			all[z] = warmth.Leaves{AreaM2: g.sumM2[z] / g.days, LAI: warmth.FullLAI}
		}
	}
	return all
}

// grow carries the leaves through a day that the building has gone through.
func (g *grove) grow(date site.Date, sky *climate.Day, in *indoorDay, counts bool) {
	if counts {
		g.days++
		for z := range g.leaves {
			g.sumM2[z] += g.leaves[z].AreaM2
		}
	}
	for i := range g.stands {
		s := &g.stands[i]
		if s.areaM2 <= 0 {
			continue
		}
		factor, mean, coldest := 0.0, 0.0, math.Inf(1)
		for _, t := range in.airC[s.zone] {
			factor += s.crop.TemperatureFactor(t) / hours
			mean += t / hours
			coldest = math.Min(coldest, t)
		}
		s.stand.Step(crop.DayInput{DLIMol: sun.MolPerMJ*sky.GHIMJm2*in.share[s.zone]*s.shade + s.lampMol, TempFactor: factor, TempC: mean, CO2PPM: in.co2[s.zone], RootFactor: 1, Harvest: true})
		if s.stand.Done || coldest < s.crop.SurviveMinC || !s.again && !s.in.Pull.IsZero() && !date.Before(s.in.Pull.Time) {
			s.again = true
			s.stand, _ = crop.NewStand(s.crop, 1) // made once before, without an error
		}
	}
}

// tiersShade is the light left for the mean tier of a bed.
func tiersShade(tiers int) float64 {
	if tiers <= 1 {
		return 1
	}
	sum, share := 0.0, 1.0
	for range tiers {
		sum += share
		share *= tierShade
	}
	return sum / float64(tiers)
}

// lampsOver is the light of the lamps over a bed, mol/m² a day, and how long they burn.
func lampsOver(s *site.Site, b *site.Bed) (mol, hoursDay float64) {
	for _, lamp := range s.Lamps {
		if lamp.Over == b.Name {
			hoursDay = math.Max(hoursDay, lamp.HoursDay)
			mol += lamp.PhotonUmolM2s * lamp.HoursDay * 3600 / 1e6 * math.Min(1, lamp.AreaM2/b.GrowingM2())
		}
	}
	return mol, hoursDay
}
