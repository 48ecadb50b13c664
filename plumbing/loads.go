package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/pipe"
	"tidebed/science/water"
	"tidebed/site"
)

// Load is what a bed, a rack, a tank or the sump puts on the floor, brim-full.
type Load struct {
	Name      string  `json:"name"`
	Kind      string  `json:"kind"` // bed, rack, tank, sump
	KgM2      float64 `json:"kgM2"` // over its own footprint
	KPa       float64 `json:"kPa"`
	TotalKg   float64 `json:"totalKg"`
	PerFootKg float64 `json:"perFootKg"` // 0 where it stands flat
	RatedKg   float64 `json:"ratedKg"`   // of the stand, of a rack all shelves; 0: not known
	State     State   `json:"state"`
	Sentence  string  `json:"sentence"`
	Caution   string  `json:"caution"`
	Source    string  `json:"source"`
}

// Loads reckoned by, of which the first three are from the table of drained-wet
// media; the rest is common practice, no source.
const (
	wetClayKgM3    = 500.0  // expanded clay in use, drained; makers' data
	wetGravelKgM3  = 1600.0 // 1500 to 1700, from memory
	wetLavaKgM3    = 1000.0 // 800 to 1100
	wetUnknownKgM3 = 1600.0 // of a medium not in the table: as gravel, on the safe side
	wetSoilKgM3    = 1800.0 // soaked garden soil
	towerKgM2      = 25.0   // towers with plants and their water, by growing face
	trayKgM2       = 30.0   // tray with its medium, soaked, and greens
	usualTrayM2    = 0.129  // 254 by 508 mm
	usualFeet      = 4
	waterKgM3      = 998.2 // at 20 °C
	flatM          = 0.02  // a bed whose floor is no higher stands flat, unless its feet are given
)

const (
	askEngineer = "Ask a structural engineer before it is filled: say kg/m², and kg on each foot."
	braceRack   = "Brace a loaded rack to the wall against tipping."
	loadSource  = "Depth × wet bulk density + drainable space × water + container; floors of dwellings are usually built for 1.92 kPa (US codes, from a later text)"
)

// wetBulkKgM3 is the mass of a m³ of media, drained and wet.
func wetBulkKgM3(media string) float64 {
	switch {
	case strings.HasPrefix(media, "expanded clay (LECA)"):
		return wetClayKgM3
	case strings.Contains(media, "gravel"):
		return wetGravelKgM3
	case strings.Contains(media, "lava"):
		return wetLavaKgM3
	}
	m, err := water.LookupMedium(media)
	if err != nil || !m.BulkHighKgM3.Known {
		return wetUnknownKgM3
	}
	return m.BulkHighKgM3.Amount + 1000*m.RetainedM3M3.Amount
}

// drainableOf is the share of a bed's media that drains, as Draw takes it.
func drainableOf(in *site.Bed) float64 {
	if in.Porosity > 0 {
		return in.Porosity
	}
	if m, err := water.LookupMedium(in.Media); err == nil && m.Porosity.Known {
		return m.Porosity.Amount - math.Max(0, m.RetainedM3M3.Amount-wetHeldM3M3)
	}
	return usualDrainable
}

// Loads are the loads of all beds, tanks, sumps and racks of a site, in the
// order of the site: beds full to the rim, not to the usual level, with the media
// drained-wet and their container; tanks and sumps to the rim; racks with every
// place taken by a soaked tray.
//
// Floors are never called good enough: what a floor bears is not in the site. A
// stand loaded beyond its rating is Act; a load above pipe.FloorKPa or a stand
// without a rating Watch. Simplifications, common practice, no source: a tray
// 30 kg/m², towers 25 kg per m² of face, soaked soil in tubs 1800 kg/m³; feet
// share the load evenly, though on an uneven floor two of four can carry it all.
// The shells of tanks are left out.
//
// Check: gravel of 0.30 m, 0.40, full to 0.25 m: 579.8 kg/m²; expanded clay, 0.45:
// 262.3; 0.90 m of water: 898.4.
func Loads(s *site.Site) ([]Load, error) {
	var all []Load
	for i := range s.Loops {
		l := &s.Loops[i]
		for j := range l.Beds {
			load, err := bedLoad(&l.Beds[j])
			if err != nil {
				return nil, fmt.Errorf("loop %s, bed %s: %w", l.Name, l.Beds[j].Name, err)
			}
			all = append(all, load)
		}
		for j := range l.Tanks {
			t := &l.Tanks[j]
			free := usualTankFreeM
			if t.RimM != 0 {
				free = t.RimM - t.LevelM
			}
			all = append(all, waterLoad(t.Name, "tank", t.VolumeM3, cmp.Or(t.DepthM, usualDepthM), free))
		}
		if l.SumpM3 > 0 {
			free := usualFreeM
			if l.SumpRimM != 0 {
				free = l.SumpRimM - l.SumpLevelM
			}
			all = append(all, waterLoad(l.Name+", sump", "sump", l.SumpM3, cmp.Or(l.SumpDepthM, usualSumpM), free))
		}
	}
	for i := range s.Racks {
		all = append(all, rackLoad(&s.Racks[i]))
	}
	return all, nil
}

func bedLoad(in *site.Bed) (Load, error) {
	planM2 := in.AreaM2
	if planM2 == 0 {
		planM2 = in.LengthM * in.WidthM
	}
	l := Load{Name: in.Name, Kind: "bed", RatedKg: in.RatedKg, Source: loadSource}
	if planM2 <= 0 {
		l.State, l.Sentence = Watch, fmt.Sprintf("The load of %s cannot be worked out: give its `length` and `width`.", in.Name)
		l.Caution = askEngineer
		return l, nil
	}
	depthM := cmp.Or(in.DepthM, usualBedM)
	shell := in.ShellKg / planM2
	var err error
	note := ""
	switch in.Kind {
	case "tower":
		l.KgM2 = towerKgM2 + shell
		l.KPa = l.KgM2 * pipe.GravityMS2 / 1000
		note = " Towers are taken at 25 kg per m² of growing face: weigh one wet."
	case "raft":
		l.KgM2, l.KPa, err = pipe.BedLoad(0, 0, usualDrainable, in.Rim(), shell)
	case "tub":
		bulk := wetSoilKgM3
		if _, lookup := water.LookupMedium(in.Media); lookup == nil {
			bulk = wetBulkKgM3(in.Media)
		}
		l.KgM2, l.KPa, err = pipe.BedLoad(depthM, bulk, usualDrainable, 0, shell)
	default:
		l.KgM2, l.KPa, err = pipe.BedLoad(depthM, wetBulkKgM3(in.Media), drainableOf(in), in.Rim(), shell)
	}
	if err != nil {
		return l, err
	}
	if in.Tiers > 1 && in.Kind != "tower" {
		l.KgM2 *= float64(in.Tiers)
		l.KPa *= float64(in.Tiers)
	}
	if in.ShellKg == 0 && in.Kind != "tower" {
		note = " Its empty container is not in it: give `shell`."
	}
	l.TotalKg = l.KgM2 * planM2
	if in.FeetN > 0 || in.FloorM > flatM {
		l.PerFootKg = l.TotalKg / float64(cmp.Or(in.FeetN, usualFeet))
	}
	l.judge(note, "stand")
	return l, nil
}

// waterLoad is the load of a tank or sump full to the rim.
func waterLoad(name, kind string, volumeM3, depthM, freeM float64) Load {
	l := Load{Name: name, Kind: kind, Source: loadSource}
	l.KgM2 = waterKgM3 * (depthM + math.Max(0, freeM))
	l.KPa = l.KgM2 * pipe.GravityMS2 / 1000
	l.TotalKg = l.KgM2 * volumeM3 / depthM
	l.judge("", "floor")
	return l
}

func rackLoad(r *site.Rack) Load {
	shelves := max(r.Shelves, 1)
	tray := cmp.Or(r.TrayM2, usualTrayM2)
	fullest := (r.Trays + shelves - 1) / shelves
	perShelf := float64(fullest) * tray * trayKgM2
	l := Load{Name: r.Name, Kind: "rack", RatedKg: r.RatedKg * float64(shelves), Source: "common practice, no source"}
	l.TotalKg = float64(r.Trays) * tray * trayKgM2
	l.KgM2 = l.TotalKg / (float64(fullest) * tray)
	l.KPa = l.KgM2 * pipe.GravityMS2 / 1000
	l.PerFootKg = l.TotalKg / usualFeet
	each := fmt.Sprintf(" %s on the fullest of %d shelves", kgText(perShelf), shelves)
	switch {
	case r.RatedKg == 0:
		l.judge(each+"; trays are taken at 30 kg/m², soaked.", "shelf")
	default:
		l.judge(fmt.Sprintf("%s, rated %s each; trays are taken at 30 kg/m², soaked.", each, kgText(r.RatedKg)), "shelf")
		if perShelf > r.RatedKg {
			l.State, l.Caution = Act, askEngineer
			most := int(r.RatedKg / (tray * trayKgM2))
			l.Sentence = fmt.Sprintf("Take trays off %s: its fullest shelf would bear %s with every tray soaked, rated %s; %d trays a shelf are within it.", r.Name, kgText(perShelf), kgText(r.RatedKg), most)
		}
	}
	l.Caution = strings.TrimSpace(braceRack + " " + l.Caution)
	return l
}

// judge sets state, sentence and caution by the figures. note follows the
// sentence; stand is the word for what carries it.
func (l *Load) judge(note, stand string) {
	text := fmt.Sprintf("%s, full to the rim: %s, %.0f kg/m², %.1f kPa", l.Name, kgText(l.TotalKg), l.KgM2, l.KPa)
	if l.Kind == "rack" {
		text = fmt.Sprintf("%s, with all trays: %s, %.0f kg/m², %.1f kPa", l.Name, kgText(l.TotalKg), l.KgM2, l.KPa)
	}
	if l.PerFootKg > 0 {
		text += fmt.Sprintf(", %s on each foot", kgText(l.PerFootKg))
	}
	l.State = Good
	switch over := l.KPa > pipe.FloorKPa; {
	case l.RatedKg > 0 && l.TotalKg > l.RatedKg:
		l.State = Act
		text += fmt.Sprintf("; its %s is made for %s", stand, kgText(l.RatedKg))
	case over:
		l.State = Watch
		text += fmt.Sprintf("; floors of dwellings are usually built for %.2f kPa, 195 kg/m²", pipe.FloorKPa)
		if l.RatedKg > 0 {
			text += fmt.Sprintf(", its %s for %s", stand, kgText(l.RatedKg))
		}
	case l.RatedKg == 0:
		l.State = Watch
		text += fmt.Sprintf("; what its %s is made for is not known", stand)
	default:
		text += fmt.Sprintf("; its %s is made for %s", stand, kgText(l.RatedKg))
	}
	l.Sentence = text + "." + note
	if l.State != Good {
		l.Caution = askEngineer
	}
}

// HeaviestLoads are the loads with like neighbours merged: those of one kind and
// one sentence but for the name, the heaviest first.
func HeaviestLoads(loads []Load) []Load {
	var out []Load
	names := map[int][]string{}
	for _, l := range loads {
		k := slices.IndexFunc(out, func(o Load) bool {
			return o.Kind == l.Kind && o.State == l.State && strings.ReplaceAll(o.Sentence, o.Name, "") == strings.ReplaceAll(l.Sentence, l.Name, "")
		})
		if k < 0 {
			out = append(out, l)
			k = len(out) - 1
		}
		names[k] = append(names[k], l.Name)
	}
	for k := range out {
		if many := names[k]; len(many) > 1 {
			together := Names(many)
			out[k].Sentence = strings.Replace(out[k].Sentence, out[k].Name, together+", each", 1)
			out[k].Name = together
		}
	}
	slices.SortStableFunc(out, func(a, b Load) int { return cmp.Compare(b.KPa, a.KPa) })
	return out
}

func kgText(kg float64) string {
	switch {
	case kg >= 9950:
		return fmt.Sprintf("%.1f t", kg/1000)
	case kg >= 100:
		return fmt.Sprintf("%.0f kg", 10*math.Round(kg/10))
	case kg >= 10:
		return fmt.Sprintf("%.0f kg", kg)
	}
	return fmt.Sprintf("%.1f kg", kg)
}
