package fabric

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed covers.csv
var coversCSV string

// The kinds of covers in Cover.Kind.
const (
	Glazing = "glazing" // lets light in
	Curtain = "curtain" // drawn under the roof at night: has a resistance to add and no U of its own
	Shade   = "shade"   // cloth that takes light away
	Opaque  = "opaque"  // walls, insulated roofs, doors
)

// Figure is a number that a table may leave blank.
type Figure struct {
	Value float64
	Known bool
}

// Spread is a figure with the span in which it is found.
type Spread struct{ Low, Typical, High float64 }

// Cover is a row of the table of covers. A Figure that is not Known is a blank.
type Cover struct {
	Key            string // such as "polycarbonate-twin-wall-8-mm"
	Name           string // for people
	Kind           string // Glazing, Curtain, Shade or Opaque
	Layers         int
	ThicknessMM    float64
	HasU           bool    // false for curtains and shades
	UWm2K          Spread  // at HandbookWindMS, films of air included
	ResistanceM2KW Spread  // of a curtain closed and sealed; zero for all else
	SolarNormal    Figure  // share of the sun's energy passed straight on
	ParNormal      Figure  // share of the light plants use, straight on
	ParDiffuse     Figure  // the same of an even sky
	Haze           Figure  // part of the light passed that is scattered
	Longwave       Figure  // share of heat radiation passed
	LifeYears      float64 // until it is renewed
	Source         string  // with the marks [P], [M], [T]
}

var coverTable = sync.OnceValue(func() *table.Index[Cover] {
	return table.ReadIndex("covers.csv", coversCSV, "cover_key", coverOf)
})

func figure(r table.Row, column string) Figure {
	v, known := r.Optional(column)
	return Figure{v, known}
}

func coverOf(r table.Row) Cover {
	c := Cover{
		Key: r.Text("cover_key"), Name: r.Text("name"), Kind: r.Text("kind"), Layers: r.Integer("layers"), ThicknessMM: r.Number("thickness_mm"),
		SolarNormal: figure(r, "solar_transmittance_normal"), ParNormal: figure(r, "par_transmittance_normal"), ParDiffuse: figure(r, "par_transmittance_diffuse"),
		Haze: figure(r, "haze_fraction"), Longwave: figure(r, "longwave_transmittance"), LifeYears: r.Number("life_years"), Source: r.Text("source"),
	}
	c.UWm2K.Typical, c.HasU = r.Optional("u_w_m2k")
	if c.HasU {
		c.UWm2K.Low, c.UWm2K.High = r.Number("u_low_w_m2k"), r.Number("u_high_w_m2k")
	}
	if c.Kind == Curtain {
		c.ResistanceM2KW = Spread{r.Number("resistance_low_m2k_w"), r.Number("resistance_add_m2k_w"), r.Number("resistance_high_m2k_w")}
	}
	return c
}

// Covers returns all covers in the order of the table.
func Covers() []Cover { return coverTable().All() }

// CoverKeys returns the keys of all covers of the kinds given, of all kinds
// where none is, in the order of the table.
func CoverKeys(kinds ...string) []string {
	var keys []string
	for _, c := range Covers() {
		if len(kinds) == 0 || strings.Contains(" "+strings.Join(kinds, " ")+" ", " "+c.Kind+" ") {
			keys = append(keys, c.Key)
		}
	}
	return keys
}

// LookupCover finds a cover by its key or its full name, capitals aside. The
// error names the keys most like it.
//
// Source: covers.csv, from [asabe-ep406] and the sources its rows name.
func LookupCover(name string) (Cover, error) {
	tidy := strings.ToLower(strings.TrimSpace(name))
	if c, ok := coverTable().Find(tidy); ok {
		return c, nil
	}
	for _, c := range Covers() {
		if strings.ToLower(c.Name) == tidy {
			return c, nil
		}
	}
	like := strings.Join(strings.Fields(tidy), "-")
	return Cover{}, fmt.Errorf("cover %q: not in the table of covers; nearest are %s", clip(name), strings.Join(table.Nearest(clip(like), coverTable().Keys(), 3), ", "))
}

// clip keeps a text short enough for a sentence.
func clip(text string) string {
	const most = 60
	if text = strings.ToValidUTF8(text, "�"); len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "…"
}
