package warmth

import (
	"math"
	"testing"
	"time"

	"tidebed/climate"
	"tidebed/plumbing"
	"tidebed/site"
)

func demo(t testing.TB) *site.Site {
	t.Helper()
	_, text, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := site.Read("skerry-house.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func circuits(t testing.TB, s *site.Site) []*plumbing.Circuit {
	t.Helper()
	var all []*plumbing.Circuit
	for i := range s.Loops {
		c, err := plumbing.Of(&s.Loops[i])
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, c)
	}
	return all
}

func weather(t testing.TB, s *site.Site) *climate.Weather {
	t.Helper()
	var months [12]climate.Month
	for i, n := range s.Place.Normals {
		months[i] = n.Climate()
	}
	w, err := climate.New(s.Place.LatitudeDeg, s.Place.LongitudeDeg, s.Place.ElevationM, months, s.Place.LatitudeDeg)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// A year of the demo building: the ledgers of every zone close, and no temperature
// leaves what the sky and the set points allow.
func TestYearOfTheDemoBuilding(t *testing.T) {
	s := demo(t)
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	w := weather(t, s)
	day := b.NewDay()
	var sum [2]Ledger
	var kwh [12]float64
	tank := 0.0
	for d := range 365 {
		date := time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC)
		var sky climate.Day
		if err := w.Day(date, &sky); err != nil {
			t.Fatal(err)
		}
		if err := b.Day(date, &sky, []Leaves{{AreaM2: 20, LAI: 2}, {AreaM2: 8, LAI: 2}}, day); err != nil {
			t.Fatal(err)
		}
		for i := range day.Zones {
			l := &day.Zones[i].Ledger
			if left := math.Abs(l.Left()); left > 1e-9*l.Turned() {
				t.Fatalf("day %d, zone %d: %g of %g J left: %+v", d, i, left, l.Turned(), l)
			}
			for h := range 24 {
				x := &day.Zones[i].Hours[h]
				if !(x.AirC > -5 && x.AirC < 45 && x.RH > 0.1 && x.RH <= 1.0001) {
					t.Fatalf("day %d, hour %d, zone %d: %+v", d, h, i, x)
				}
				kwh[date.Month()-1] += x.HeatW / 1000
			}
			sum[i].HeatersJ += l.HeatersJ
			sum[i].SunJ += l.SunJ
			sum[i].SkinJ += l.SkinJ
			sum[i].LeaksJ += l.LeaksJ
			sum[i].VentsJ += l.VentsJ
			sum[i].LeavesJ += l.LeavesJ
			sum[i].FromWaterJ += l.FromWaterJ
			sum[i].GroundJ += l.GroundJ
			sum[i].SkyJ += l.SkyJ
			sum[i].LampsJ += l.LampsJ
		}
		for k := range day.TankKW {
			for h := range 24 {
				tank += day.TankKW[k][h]
			}
		}
		if d%60 == 14 {
			t.Logf("day %d: hall %.1f to %.1f °C, RH %.2f; end %.1f; water %.1f %.1f", d, day.Zones[0].Hours[5].AirC, day.Zones[0].Hours[13].AirC, day.Zones[0].Hours[5].RH, day.Zones[1].Hours[13].AirC, day.WaterC[0][12], day.WaterC[b.Cell(1, 0)][12])
		}
	}
	for i := range sum {
		l := &sum[i]
		t.Logf("zone %d, kWh: heaters %.0f sun %.0f lamps %.0f water %.0f; skin %.0f leaks %.0f vents %.0f leaves %.0f ground %.0f sky %.0f", i, l.HeatersJ/3.6e6, l.SunJ/3.6e6, l.LampsJ/3.6e6, l.FromWaterJ/3.6e6, l.SkinJ/3.6e6, l.LeaksJ/3.6e6, l.VentsJ/3.6e6, l.LeavesJ/3.6e6, l.GroundJ/3.6e6, l.SkyJ/3.6e6)
	}
	t.Logf("by month %.0f, tanks %.0f kWh", kwh, tank)
}

func BenchmarkYear(b *testing.B) {
	s := demo(b)
	house, err := New(s, circuits(b, s), Options{GroundC: 10})
	if err != nil {
		b.Fatal(err)
	}
	w := weather(b, s)
	day := house.NewDay()
	var skies []climate.Day
	for d := range 365 {
		date := time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC)
		var sky climate.Day
		if err := w.Day(date, &sky); err != nil {
			b.Fatal(err)
		}
		skies = append(skies, sky)
	}
	b.ReportAllocs()
	for b.Loop() {
		for d := range 365 {
			if err := house.Day(time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC), &skies[d], []Leaves{{20, 2}, {8, 2}}, day); err != nil {
				b.Fatal(err)
			}
		}
	}
}
