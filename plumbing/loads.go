package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/quantity"
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
	askEngineer = "Ask a structural engineer before it is filled: say how heavy it is by area, and on each foot."
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
// order of the site, told in its reader's units: beds full to the rim, not to the usual level, with the media
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
	u := say{}
	if s.Units == "us-customary" {
		u.system = quantity.USCustomary
	}
	for i := range s.Loops {
		l := &s.Loops[i]
		for j := range l.Beds {
			load, err := bedLoad(&l.Beds[j], u)
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
			all = append(all, waterLoad(t.Name, "tank", t.VolumeM3, cmp.Or(t.DepthM, usualDepthM), free, u))
		}
		if l.SumpM3 > 0 {
			free := usualFreeM
			if l.SumpRimM != 0 {
				free = l.SumpRimM - l.SumpLevelM
			}
			all = append(all, waterLoad(l.Name+", sump", "sump", l.SumpM3, cmp.Or(l.SumpDepthM, usualSumpM), free, u))
		}
	}
	for i := range s.Racks {
		all = append(all, rackLoad(&s.Racks[i], u))
	}
	return all, nil
}

func bedLoad(in *site.Bed, u say) (Load, error) {
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
		note = fmt.Sprintf(" Towers are taken at %s of growing face: weigh one wet.", u.perArea(towerKgM2))
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
	l.judge(note, "stand", u)
	return l, nil
}

// waterLoad is the load of a tank or sump full to the rim.
func waterLoad(name, kind string, volumeM3, depthM, freeM float64, u say) Load {
	l := Load{Name: name, Kind: kind, Source: loadSource}
	l.KgM2 = waterKgM3 * (depthM + math.Max(0, freeM))
	l.KPa = l.KgM2 * pipe.GravityMS2 / 1000
	l.TotalKg = l.KgM2 * volumeM3 / depthM
	l.judge("", "floor", u)
	return l
}

func rackLoad(r *site.Rack, u say) Load {
	shelves := max(r.Shelves, 1)
	tray := cmp.Or(r.TrayM2, usualTrayM2)
	fullest := (r.Trays + shelves - 1) / shelves
	perShelf := float64(fullest) * tray * trayKgM2
	l := Load{Name: r.Name, Kind: "rack", RatedKg: r.RatedKg * float64(shelves), Source: "common practice, no source"}
	l.TotalKg = float64(r.Trays) * tray * trayKgM2
	l.KgM2 = l.TotalKg / (float64(fullest) * tray)
	l.KPa = l.KgM2 * pipe.GravityMS2 / 1000
	l.PerFootKg = l.TotalKg / usualFeet
	each := fmt.Sprintf(" %s on the fullest of %d shelves", u.mass(perShelf), shelves)
	switch {
	case r.RatedKg == 0:
		l.judge(each+fmt.Sprintf("; trays are taken at %s, soaked.", u.perArea(trayKgM2)), "shelf", u)
	default:
		l.judge(fmt.Sprintf("%s, rated %s each; trays are taken at %s, soaked.", each, u.mass(r.RatedKg), u.perArea(trayKgM2)), "shelf", u)
		if perShelf > r.RatedKg {
			l.State, l.Caution = Act, askEngineer
			most := int(r.RatedKg / (tray * trayKgM2))
			l.Sentence = fmt.Sprintf("Take trays off %s: its fullest shelf would bear %s with every tray soaked, rated %s; %d trays a shelf are within it.", r.Name, u.mass(perShelf), u.mass(r.RatedKg), most)
		}
	}
	l.Caution = strings.TrimSpace(braceRack + " " + l.Caution)
	return l
}

// judge sets state, sentence and caution by the figures. note follows the
// sentence; stand is the word for what carries it.
func (l *Load) judge(note, stand string, u say) {
	text := fmt.Sprintf("%s, full to the rim: %s, %s", l.Name, u.mass(l.TotalKg), u.pressing(l))
	if l.Kind == "rack" {
		text = fmt.Sprintf("%s, with all trays: %s, %s", l.Name, u.mass(l.TotalKg), u.pressing(l))
	}
	if l.PerFootKg > 0 {
		text += fmt.Sprintf(", %s on each foot", u.mass(l.PerFootKg))
	}
	l.State = Good
	switch over := l.KPa > pipe.FloorKPa; {
	case l.RatedKg > 0 && l.TotalKg > l.RatedKg:
		l.State = Act
		text += fmt.Sprintf("; its %s is made for %s", stand, u.mass(l.RatedKg))
	case over:
		l.State = Watch
		text += "; floors of dwellings are usually built for " + u.floor()
		if l.RatedKg > 0 {
			text += fmt.Sprintf(", its %s for %s", stand, u.mass(l.RatedKg))
		}
	case l.RatedKg == 0:
		l.State = Watch
		text += fmt.Sprintf("; what its %s is made for is not known", stand)
	default:
		text += fmt.Sprintf("; its %s is made for %s", stand, u.mass(l.RatedKg))
	}
	l.Sentence = text + "." + note
	if l.State != Good {
		l.Caution = askEngineer
	}
}

// pressing prints what a load puts on the floor, by area.
func (p say) pressing(l *Load) string {
	if p.us() {
		return p.perArea(l.KgM2)
	}
	return fmt.Sprintf("%s, %.1f kPa", p.perArea(l.KgM2), l.KPa)
}

// floor prints what floors of dwellings are usually built for.
func (p say) floor() string {
	kgM2 := pipe.FloorKPa * 1000 / pipe.GravityMS2
	if p.us() {
		return p.perArea(kgM2)
	}
	return fmt.Sprintf("%.2f kPa, %.0f kg/m²", pipe.FloorKPa, 5*math.Floor(kgM2/5))
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
