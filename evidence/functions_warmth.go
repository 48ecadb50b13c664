package evidence

import (
	"context"
	"fmt"
	"maps"

	"tidebed/climate"
	"tidebed/science/fabric"
	"tidebed/site"
	"tidebed/warmth"
)

func init() {
	maps.Copy(functions, map[string]function{
		"house-year": houseYear,
	})
}

// filmHouse is the gable house of gable-loss at a place of the library, heated with
// propane day and night to one temperature, all of one cover, its ridge east to west.
func filmHouse(place string, cover fabric.Cover, uWm2K, setC float64) (*site.Site, climate.Sky, error) {
	p, err := climate.Lookup(place)
	if err != nil {
		return nil, nil, err
	}
	_, skin, err := gableHouse(uWm2K)
	if err != nil {
		return nil, nil, err
	}
	w, err := climate.New(p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, p.Months, p.LatitudeDeg)
	if err != nil {
		return nil, nil, err
	}
	const floorM2, slopeDeg = 72, 26.6
	s := &site.Site{Schema: site.Schema, Name: "gable house"}
	s.Place = site.Place{LatitudeDeg: p.LatitudeDeg, LongitudeDeg: p.LongitudeDeg, ElevationM: p.ElevationM, Climate: place}
	s.Zones = []site.Zone{{Name: "house", FloorM2: floorM2, HeightM: skin.VolumeM3 / floorM2, DayC: setC, NightC: setC, AirChangesH: 0.75, EdgeM: skin.PerimeterM, VentM3s: fabric.SummerM3SM2 * floorM2}}
	for _, to := range []float64{0, 180} {
		s.Surfaces = append(s.Surfaces, site.Surface{Zone: "house", Kind: "roof", Cover: cover.Key, AreaM2: skin.RoofM2 / 2, UWm2K: uWm2K, TiltDeg: slopeDeg, AzimuthDeg: to})
	}
	for _, to := range []float64{0, 90, 180, 270} {
		s.Surfaces = append(s.Surfaces, site.Surface{Zone: "house", Kind: "wall", Cover: cover.Key, AreaM2: skin.WallM2 / 4, UWm2K: uWm2K, TiltDeg: 90, AzimuthDeg: to})
	}
	s.Heaters = []site.Heater{{Name: "heater", Zone: "house", PowerW: 60000, Fuel: "propane", Efficiency: 0.8}}
	return s, w, nil
}

// heatOf is the heat of a year of the house under a cover, kWh.
func heatOf(ctx context.Context, place, key string, setC float64) (float64, error) {
	cover, err := fabric.LookupCover(key)
	if err != nil {
		return 0, err
	}
	s, sky, err := filmHouse(place, cover, cover.UWm2K.Typical, setC)
	if err != nil {
		return 0, err
	}
	y, err := warmth.Run(ctx, s, sky, nil, site.On(2027, 1, 1), 365)
	if err != nil {
		return 0, err
	}
	if y.HeatKWh <= 0 {
		return 0, fmt.Errorf("the house in %s takes no heat", place)
	}
	return y.HeatKWh, nil
}

// houseYear is the share of the heat of a year of the gable house, hour by hour, that a
// cover saves over another.
func houseYear(ctx context.Context, _ *bench, in map[string]string) (float64, error) {
	setC, err := number(in["set"])
	if err != nil {
		return 0, err
	}
	before, err := heatOf(ctx, in["place"], in["cover"], setC)
	if err != nil {
		return 0, err
	}
	after, err := heatOf(ctx, in["place"], in["to"], setC)
	return 1 - after/before, err
}
