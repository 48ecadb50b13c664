package warmth

import (
	"testing"
	"time"

	"tidebed/climate"
	"tidebed/site"
)

// What leaves give off in an unheated plastic house on the coast of Almería: the
// reference evapotranspiration inside is below 1 mm/d in winter and about 4 mm/d in
// July, a fifth less under whitewash (Fernández et al. 2010, as the sheet of crops quotes
// it). Here full leaf of a crop stands for the low reference crop, the climate (36.8° N)
// and the light such houses let through, six tenths, are from memory; it comes out a
// quarter higher in July and two fifths in December, so half as much again is allowed.
func TestPlasticHouseTranspires(t *testing.T) {
	s := &site.Site{Schema: site.Schema, Name: "plastic house", Currency: "EUR"}
	s.Place = site.Place{LatitudeDeg: 36.8, LongitudeDeg: -2.4}
	maxC := []float64{16.9, 17.6, 19.6, 21.4, 24.1, 27.9, 30.7, 31.2, 28.4, 24.4, 20.4, 17.9}
	minC := []float64{8.3, 9.1, 10.8, 12.7, 15.7, 19.5, 22.2, 22.8, 20.4, 16.5, 12.3, 9.6}
	sunMJ := []float64{9.4, 12.6, 17.1, 21.6, 24.7, 27.2, 27.1, 24.0, 19.1, 13.9, 10.1, 8.3}
	var months [12]climate.Month
	for m := range 12 {
		n := site.MonthNormals{Month: m + 1, MaxC: maxC[m], MinC: minC[m], Humidity: 0.67, RadiationMJm2: sunMJ[m], WindMS: 3}
		s.Place.Normals = append(s.Place.Normals, n)
		months[m] = n.Climate()
	}
	const floorM2 = 200.0
	s.Zones = []site.Zone{{Name: "house", FloorM2: floorM2, HeightM: 3, Light: 0.6, VentM3s: 8, VentC: 24, AirChangesH: 1}}
	for _, side := range []float64{0, 90, 180, 270} {
		s.Surfaces = append(s.Surfaces, site.Surface{Zone: "house", Kind: "wall", Cover: "polyethylene-single-film-uv", AreaM2: 42, UWm2K: 6.5, TiltDeg: 90, AzimuthDeg: side})
	}
	s.Surfaces = append(s.Surfaces, site.Surface{Zone: "house", Kind: "roof", Cover: "polyethylene-single-film-uv", AreaM2: floorM2, UWm2K: 6.5})
	w, err := climate.New(s.Place.LatitudeDeg, s.Place.LongitudeDeg, 20, months, s.Place.LatitudeDeg)
	if err != nil {
		t.Fatal(err)
	}
	b, err := New(s, nil, Options{GroundC: 18, UTCOffsetH: 1})
	if err != nil {
		t.Fatal(err)
	}
	leaves := []Leaves{{AreaM2: floorM2, LAI: FullLAI}}
	day := b.NewDay()
	var sky climate.Day
	sum, days := map[time.Month]float64{}, map[time.Month]float64{}
	for d := range 365 {
		date := time.Date(2027, 1, 1+d, 0, 0, 0, 0, time.UTC)
		if err := w.Day(date, &sky); err != nil {
			t.Fatal(err)
		}
		if err := b.Day(date, &sky, leaves, day); err != nil {
			t.Fatal(err)
		}
		days[date.Month()]++
		for h := range day.Zones[0].Hours {
			sum[date.Month()] += day.Zones[0].Hours[h].FullKgM2
		}
	}
	at := func(m time.Month) float64 { return sum[m] / days[m] }
	t.Logf("mm/d by month: December %.2f, January %.2f, April %.2f, July %.2f", at(time.December), at(time.January), at(time.April), at(time.July))
	if v := at(time.December); !(v > 0.4 && v < 1.5) {
		t.Errorf("December %.2f mm/d, published below 1", v)
	}
	if v := at(time.July); !(v > 3.2 && v < 6) {
		t.Errorf("July %.2f mm/d, published about 4, or 3.2 under whitewash", v)
	}
}
