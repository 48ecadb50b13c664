package evidence

import (
	"fmt"
	"maps"

	"tidebed/cells"
	"tidebed/science/water"
)

func init() {
	maps.Copy(functions, map[string]function{"start-up": ofNumbers(startUpDays, "temp", "seed", "load")})
}

// startUpDays is the day on which a new bed of 30 m² of media for each m³ of water
// has ammonia and nitrite below 0.5 g N/m³ again, at pH about 7.8 and in plenty of
// oxygen, by a seed in g COD/m³ and a load in g N/m³/d.
func startUpDays(tempC, seed, load float64) (float64, error) {
	l := cells.Layout{Name: "start-up", Cells: []cells.Cell{{Name: "bed", VolumeM3: 1, MediaM2: 30}}}
	w, err := cells.New(l, cells.Settings{})
	if err != nil {
		return 0, err
	}
	const alk, co2, ionic = 4, 0.1, 0.008 // eq/m³, mol/m³, mol/L
	e, err := water.NewEquilibria(tempC, ionic)
	if err != nil {
		return 0, err
	}
	ph, err := e.PHAtCO2(water.Solutes{AlkEqM3: alk}, co2, 7)
	if err != nil {
		return 0, err
	}
	f := l.NewForcing()
	f.Cells[0] = cells.CellForcing{TempC: tempC, DOSatGm3: 7, SurfacePerDay: 1e4, CO2SatMolM3: co2, TANGDay: load}
	f.Slow = cells.Slow{BaseEqM3: alk, IonicMolL: ionic}
	if err := w.Force(f); err != nil {
		return 0, err
	}
	if err := w.Start([]cells.Reading{{DOGm3: 7, DICMolM3: e.DICOfCO2(ph, co2), BacteriaA: seed, BacteriaN: seed}}); err != nil {
		return 0, err
	}
	const step, longest = 0.1, 200.0
	most := 0.0
	for day := step; day < longest; day += step {
		if _, err := w.Advance(day); err != nil {
			return 0, err
		}
		r := w.Read(0)
		if most = max(most, r.NO2NGm3); most > 1 && r.TANGm3 < 0.5 && r.NO2NGm3 < 0.5 {
			return day, nil
		}
	}
	return 0, fmt.Errorf("start-up at %g °C takes longer than %g days", tempC, longest)
}
