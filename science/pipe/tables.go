package pipe

import (
	_ "embed"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"

	"tidebed/table"
)

//go:embed fittings.csv
var fittingsCSV string

//go:embed sizes.csv
var sizesCSV string

// Fitting is a row of the table of fittings. Losses of the kind scatter widely:
// Low and High are the span of the tables.
type Fitting struct {
	Key      string  // such as "elbow-90"
	Name     string  // for people
	K        float64 // loss factor; 0 when Known is false
	Low      float64
	High     float64
	Known    bool   // false: K hangs on sizes, by Velocity's formula (ExpansionK, ContractionK, ScreenK)
	Velocity string // of which pipe's velocity
	Source   string
}

// factor is the loss factor, with an error where it hangs on sizes.
func (f Fitting) factor() (float64, error) {
	if !f.Known {
		return 0, fmt.Errorf("fitting %q: its loss factor hangs on sizes; %s", f.Key, f.Velocity)
	}
	return f.K, nil
}

var fittingTable = sync.OnceValue(func() *table.Index[Fitting] {
	return table.ReadIndex("fittings.csv", fittingsCSV, "fitting_key", func(r table.Row) Fitting {
		k, known := r.Optional("k")
		return Fitting{
			Key: r.Text("fitting_key"), Name: r.Text("name"), K: k, Known: known,
			Low: r.NumberOr("k_low", k), High: r.NumberOr("k_high", k), Velocity: r.Text("velocity"), Source: r.Text("source"),
		}
	})
})

// Fittings returns all fittings in the order of the table.
func Fittings() []Fitting { return fittingTable().All() }

// LookupFitting finds a fitting by its key or its full name. The error names the
// keys most like it.
//
// Source: fittings.csv, from [epanet-2.2] and tables of loss factors.
func LookupFitting(name string) (Fitting, error) {
	tidy := strings.ToLower(strings.TrimSpace(name))
	if f, ok := fittingTable().Find(tidy); ok {
		return f, nil
	}
	for _, f := range Fittings() {
		if strings.ToLower(f.Name) == tidy {
			return f, nil
		}
	}
	return Fitting{}, fmt.Errorf("fitting %q: not in the table of fittings; nearest are %s", clip(name), strings.Join(table.Nearest(clip(tidy), fittingTable().Keys(), 3), ", "))
}

// FittingsK is the sum of the loss factors of fittings by key or name and count.
// One without a factor of its own is refused.
func FittingsK(counts map[string]int) (float64, error) {
	sum := 0.0
	for _, name := range slices.Sorted(maps.Keys(counts)) { // in order: sums of the same fittings agree to the last digit
		count := counts[name]
		f, err := LookupFitting(name)
		if err != nil {
			return 0, err
		}
		k, err := f.factor()
		if err != nil {
			return 0, err
		}
		if err := check("fitting "+f.Key, bound{"count", float64(count), 0, 1000, ""}); err != nil {
			return 0, err
		}
		sum += k * float64(count)
	}
	return sum, nil
}

// clip keeps a text short enough for a sentence.
func clip(text string) string {
	const most = 60
	if text = strings.ToValidUTF8(text, "�"); len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:most], "") + "…"
}

// ExpansionK is the loss factor of a sudden widening on the velocity in the
// smaller pipe; diameters inside, the second at least the first.
//
// Source: Borda and Carnot, as in [white-fluid]. Check: 0.02 to 0.04 m: 0.5625.
func ExpansionK(fromM, toM float64) (float64, error) {
	if err := check("expansion", diameterBound(fromM), diameterBound(toM), bound{"diameter from", fromM, 0, toM, "m"}); err != nil {
		return 0, err
	}
	r := fromM / toM
	return (1 - r*r) * (1 - r*r), nil
}

// ContractionK is the loss factor of a sudden narrowing on the velocity in the
// smaller pipe; diameters inside, the second at most the first.
//
// Source: [white-fluid]. Check: 0.04 to 0.02 m: 0.375.
func ContractionK(fromM, toM float64) (float64, error) {
	if err := check("contraction", diameterBound(fromM), diameterBound(toM), bound{"diameter to", toM, 0, fromM, "m"}); err != nil {
		return 0, err
	}
	r := toM / fromM
	return 0.5 * (1 - r*r), nil
}

// ScreenK is the loss factor of a screen or mesh on the velocity before it;
// openShare is the open part of its face, above 0 to 1. A screen clogged by half
// has half its open share.
//
// Source: [idelchik]. Check: 0.6 gives 0.96, 0.3 gives 6.35.
func ScreenK(openShare float64) (float64, error) {
	if err := check("screen", bound{"open share", openShare, 0.001, 1, ""}); err != nil {
		return 0, err
	}
	shut := 1/openShare - 1
	return 1.3*(1-openShare) + shut*shut, nil
}

// ValveK is the loss factor of a valve with the maker's flow coefficient Kv, the
// m³/h of cold water at 1 bar, in a pipe of the inside diameter. From the US
// coefficient: Kv = KvPerCv × Cv.
//
// Check: Kv 10 in 26.64 mm: 8.06.
func ValveK(kvM3H, diameterM float64) (float64, error) {
	if err := check("valve", diameterBound(diameterM), bound{"flow coefficient Kv", kvM3H, 1e-6, 1e6, "m3/h"}); err != nil {
		return 0, err
	}
	area := CircleM2(diameterM)
	c := kvM3H / 3600 / math.Sqrt(1e5/(coldKgM3*GravityMS2))
	return 2 * GravityMS2 * area * area / (c * c), nil
}

// KvPerCv turns the US flow coefficient of a valve into Kv. From memory.
const KvPerCv = 0.865

// coldKgM3 is the density of water at 15 °C.
const coldKgM3 = 999.1

// Size is a pipe as it is sold.
type Size struct {
	Key      string // such as "pvc-sch-40-1-in"
	Family   string // such as "PVC Sch 40"
	Nominal  string // the size by which it is sold; never the bore
	OutsideM float64
	WallM    float64 // the least wall; both 0 for hose
	InsideM  float64 // with the least wall: the largest bore
	LikelyM  float64 // with the mean wall, where known; otherwise InsideM
	NewM     float64 // roughness
	FouledM  float64 // roughness with a film
	HazenC   float64
	Note     string
	Source   string
}

var sizeTable = sync.OnceValue(func() *table.Index[Size] {
	return table.ReadIndex("sizes.csv", sizesCSV, "size_key", func(r table.Row) Size {
		s := Size{
			Key: r.Text("size_key"), Family: r.Text("family"), Nominal: r.Text("nominal_size"),
			OutsideM: r.NumberOr("outside_diameter_m", 0), WallM: r.NumberOr("wall_min_m", 0), InsideM: r.Number("inside_diameter_m"),
			NewM: r.Number("roughness_new_m"), FouledM: r.Number("roughness_fouled_m"), HazenC: r.Number("hazen_williams_c"),
			Note: r.Text("note"), Source: r.Text("source"),
		}
		s.LikelyM = r.NumberOr("inside_diameter_avg_wall_m", s.InsideM)
		return s
	})
})

// Sizes returns all pipe sizes in the order of the table.
func Sizes() []Size { return sizeTable().All() }

// LookupSize finds a pipe size by its key, or by family and nominal size with a
// space between. The error names the keys most like it.
//
// Source: sizes.csv, from [astm-d1785], [iso-4427] and [en-1452].
func LookupSize(name string) (Size, error) {
	tidy := strings.ToLower(strings.TrimSpace(name))
	if s, ok := sizeTable().Find(tidy); ok {
		return s, nil
	}
	for _, s := range Sizes() {
		if strings.ToLower(s.Family+" "+s.Nominal) == tidy {
			return s, nil
		}
	}
	return Size{}, fmt.Errorf("pipe size %q: not in the table of sizes; nearest are %s", clip(name), strings.Join(table.Nearest(clip(tidy), sizeTable().Keys(), 3), ", "))
}

// NextSizes are the neighbours of an inside diameter in a family of pipes: the
// largest bore at most as wide and the smallest at least as wide. For a pressure
// pipe take the wider, for one that carries solids the narrower. ok is false for
// the one that the family lacks; a family that is not known lacks both.
func NextSizes(family string, insideM float64) (narrower, wider Size, okNarrower, okWider bool) {
	for _, s := range Sizes() {
		if !strings.EqualFold(s.Family, family) {
			continue
		}
		if s.InsideM <= insideM && (!okNarrower || s.InsideM > narrower.InsideM) {
			narrower, okNarrower = s, true
		}
		if s.InsideM >= insideM && (!okWider || s.InsideM < wider.InsideM) {
			wider, okWider = s, true
		}
	}
	return narrower, wider, okNarrower, okWider
}
