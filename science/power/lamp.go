package power

import (
	_ "embed"
	"math"
	"sync"

	"tidebed/table"
)

//go:embed lamps.csv
var lampsCSV string

// Lamp is a row of the table of lamps.
type Lamp struct {
	Key          string // such as "led-good"
	Name         string // for people
	Family       string
	EfficacyUmol Spread // photons out per joule of electricity, µmol/J
	LifeH        float64
	UmolPerJPAR  float64 // of its light
	Source       string
}

// LightShare is the share of the electricity that leaves as light plants use; the
// rest is heat at once, and the light is heat soon after.
func (l Lamp) LightShare() float64 { return l.EfficacyUmol.Typical / l.UmolPerJPAR }

var lampTable = sync.OnceValue(func() *table.Index[Lamp] {
	return table.ReadIndex("lamps.csv", lampsCSV, "lamp_key", func(r table.Row) Lamp {
		return Lamp{
			Key: r.Text("lamp_key"), Name: r.Text("name"), Family: r.Text("family"),
			EfficacyUmol: spread(r, "efficacy_low_umol_j", "efficacy_typical_umol_j", "efficacy_high_umol_j"),
			LifeH:        r.Number("life_h"), UmolPerJPAR: r.Number("umol_per_j_par"), Source: r.Text("source"),
		}
	})
})

// Lamps returns all lamps in the order of the table.
func Lamps() []Lamp { return lampTable().All() }

// LampKeys returns the keys of all lamps in the order of the table.
func LampKeys() []string { return lampTable().Keys() }

// LookupLamp finds a lamp by its key or its full name. The error names the keys
// most like it.
//
// Source: lamps.csv, from [nelson-bugbee-2014] and common practice.
func LookupLamp(name string) (Lamp, error) {
	return find("lamp", name, lampTable(), func(l Lamp) string { return l.Name })
}

// UseShare is the usual share of a lamp's photons that land on the crop; 0.7 on
// narrow benches to 0.9 over wide ones. Common practice, no source.
const UseShare = 0.8

// MostEfficacyUmol is the highest efficacy taken, µmol/J; what can be built ends at
// about 4.1 ([kusuma-2020]).
const MostEfficacyUmol = 4.2

func lampBounds(efficacyUmolJ, useShare float64) []bound {
	return []bound{{"lamp efficacy", efficacyUmolJ, 0.1, MostEfficacyUmol, "umol/J"}, {"share of the lamp light used", useShare, 0.05, 1, ""}}
}

// LampW is the electric power that gives a photon flux on an area.
//
//	fluxUmolM2S    on the crop, 0 to 5000 µmol/m²/s
//	areaM2         0 to 1e5
//	efficacyUmolJ  0.1 to MostEfficacyUmol
//	useShare       of the photons that land on the crop, 0.05 to 1
//
// Check: 200 µmol/m²/s, 6 m², 2.8, 0.8: 535.7 W.
func LampW(fluxUmolM2S, areaM2, efficacyUmolJ, useShare float64) (float64, error) {
	if err := check("lamps", append(lampBounds(efficacyUmolJ, useShare), bound{"photon flux", fluxUmolM2S, 0, 5000, "umol/m2/s"}, bound{"area", areaM2, 0, 1e5, "m2"})...); err != nil {
		return 0, err
	}
	return fluxUmolM2S * areaM2 / (efficacyUmolJ * useShare), nil
}

// Gain is what food grown by lamp light takes in electricity.
type Gain struct {
	KWhKg       float64 // for a kilogram more of the harvest
	CostKg      float64
	KWhMcal     float64 // for 1000 kcal more on the plate
	CostMcal    float64
	EnergyShare float64 // food energy gained over the electricity put in
	HarvestGKWh float64 // g more of the harvest from a kWh
}

// LampGain is what a kilogram and 1000 kcal more take in electricity.
//
//	efficacyUmolJ, useShare  as for LampW
//	harvestGMol              g of fresh harvest that a further mol of light on the crop brings, above 0 to 1000
//	kcalKg                   food energy of a kilogram of harvest, above 0 to 9000
//	priceKWh                 0 to MostPrice
//
// The heat of the lamps is worth something in winter; it is not taken off here.
// A growing stand catches less light than a closed one, so the true figure is higher.
//
// Check: 2.8, 0.8, 20 g/mol, 150 kcal/kg, 0.30: 6.20 kWh and 1.86 a kilogram,
// 41.3 kWh and 12.40 for 1000 kcal, 2.8 % of the electricity; worked by hand.
func LampGain(efficacyUmolJ, useShare, harvestGMol, kcalKg, priceKWh float64) (Gain, error) {
	if err := check("lamp food", append(lampBounds(efficacyUmolJ, useShare), bound{"harvest by light", harvestGMol, 1e-6, 1000, "g/mol"}, bound{"food energy", kcalKg, 1, 9000, "kcal/kg"}, bound{"price", priceKWh, 0, MostPrice, ""})...); err != nil {
		return Gain{}, err
	}
	var g Gain
	g.HarvestGKWh = 3.6 * efficacyUmolJ * useShare * harvestGMol
	g.KWhKg = 1000 / g.HarvestGKWh
	g.KWhMcal = g.KWhKg * 1000 / kcalKg
	g.CostKg, g.CostMcal = g.KWhKg*priceKWh, g.KWhMcal*priceKWh
	g.EnergyShare = 1000 / kcalPerKWh / g.KWhMcal
	return g, nil
}

// LampYears is how long a lamp lives at some hours a day, 0.01 to 24; LED are then
// down to nine tenths of their light and others dead or nearly so.
func (l Lamp) LampYears(hoursDay float64) (float64, error) {
	if err := check(l.Name, bound{"hours a day", hoursDay, 0.01, hoursOfDay, "h"}); err != nil {
		return 0, err
	}
	return math.Min(l.LifeH/(hoursDay*365), 100), nil
}
