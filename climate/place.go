package climate

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed normals.csv
var normalsCSV string

// Month is the mean day of a month.
type Month struct {
	TmaxC, TminC float64 // mean daily highest and lowest
	RHShare      float64 // mean relative humidity, 0 to 1; used when DewPointC is NaN
	DewPointC    float64 // mean; NaN when not known
	GHIMJm2d     float64 // global radiation on the level, MJ/m² a day
	WindMS       float64 // 10 m above open ground, as weather stations have it

	// Standard deviations of the days about the mean; NaN when not known.
	TmaxSDC, TminSDC, GHISDMJm2d float64
}

// Place is a place with its monthly normals.
type Place struct {
	Name         string
	Country      string // two letters
	Kind         string // of climate, in words
	LatitudeDeg  float64
	LongitudeDeg float64
	ElevationM   float64
	Months       [12]Month
	Source       string
	Estimated    []string // what is a guess: dew point, wind …; empty for none
}

// Places returns the places of the table, from cold to hot as it lists them.
func Places() []Place { return slices.Clone(placeTable()) }

var placeTable = sync.OnceValue(func() []Place {
	var places []Place
	for _, row := range table.Read("normals.csv", normalsCSV) {
		num := func(column string) float64 { return row.NumberOr(column, nan) }
		if len(places) == 0 || places[len(places)-1].Name != row.Text("place") {
			places = append(places, Place{
				Name: row.Text("place"), Country: row.Text("country"), Kind: row.Text("climate"),
				LatitudeDeg: num("latitude_deg"), LongitudeDeg: num("longitude_deg"), ElevationM: num("elevation_m"),
				Source: row.Text("source"), Estimated: strings.Fields(row.Text("estimated_fields")),
			})
		}
		month := row.Integer("month")
		if month < 1 || month > 12 {
			row.Fault("month", "is no month")
		}
		places[len(places)-1].Months[month-1] = Month{
			TmaxC: num("tmax_c"), TminC: num("tmin_c"), RHShare: num("rh_pct") / 100, DewPointC: num("dewpoint_c"),
			GHIMJm2d: num("ghi_mj_m2_d"), WindMS: num("wind_m_s"),
			TmaxSDC: num("tmax_sd_c"), TminSDC: num("tmin_sd_c"), GHISDMJm2d: num("ghi_sd_mj_m2_d"),
		}
	}
	return places
})

// Lookup returns the place of that name, or the only one whose name contains
// it, capitals aside. The error names what fits or is nearest.
func Lookup(name string) (Place, error) {
	wanted := strings.ToLower(strings.Join(strings.Fields(name), " "))
	if wanted == "" {
		return Place{}, fmt.Errorf("climate: no place named; give one such as %q", placeTable()[0].Name)
	}
	var found []Place
	for _, p := range placeTable() {
		own := strings.ToLower(p.Name)
		if own == wanted {
			return p, nil
		}
		if strings.Contains(own, wanted) {
			found = append(found, p)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return Place{}, fmt.Errorf("climate: place %q is not in the table; did you mean %q?", clip(name), nearest(wanted).Name)
	}
	names := make([]string, len(found))
	for i, p := range found {
		names[i] = p.Name
	}
	return Place{}, fmt.Errorf("climate: place %q may be any of %s; write more of the name", clip(name), strings.Join(names, ", "))
}

func clip(text string) string {
	const most = 60
	if runes := []rune(text); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return text
}

// nearest is the place that shares most pairs of letters with a name.
func nearest(name string) Place {
	best, most := placeTable()[0], -1.0
	for _, p := range placeTable() {
		own := strings.ToLower(p.Name)
		shared := 0
		for i := range len(name) - 1 {
			if strings.Contains(own, name[i:i+2]) {
				shared++
			}
		}
		if score := float64(shared) / float64(len(own)+8); score > most {
			best, most = p, score
		}
	}
	return best
}
