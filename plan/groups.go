package plan

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"tidebed/site"
)

// usualModuleM2 is about how large a module of a bed is: what one sowing takes at
// least. Common practice, no source.
const usualModuleM2 = 0.72

// nurseryPerM2 is how many young plants stand on a m² of the nursery: cells of 5 cm.
// Common practice, no source.
const nurseryPerM2 = 400.0

// group is like beds with what stands in them.
type group struct {
	Group
	depthM float64
	tiers  int
	beds   []groupBed
	freeM  []int // modules free, by week
}

// groupBed is one bed of a group.
type groupBed struct {
	name    string
	modules int
	taken   []int // modules that standing plantings hold, by week
}

// groupsOf puts like beds together: those of one loop, zone, kind, depth, tiers,
// size of module and light of lamps. Beds without area are left out.
func groupsOf(s *site.Site) []group {
	var out []group
	for i := range s.Loops {
		l := &s.Loops[i]
		for j := range l.Beds {
			b := &l.Beds[j]
			area := b.GrowingM2()
			if !(area > 0) {
				continue
			}
			lamps := 0.0
			for _, lamp := range s.Lamps {
				if lamp.Over == b.Name {
					lamps += lamp.PhotonUmolM2s * lamp.HoursDay * math.Min(1, lamp.AreaM2/area)
				}
			}
			n := max(1, int(math.Round(area/usualModuleM2)))
			module := area / float64(n)
			at := slices.IndexFunc(out, func(g group) bool {
				first := bedNamed(s, g.Beds[0])
				firstLamps := 0.0
				for _, lamp := range s.Lamps {
					if lamp.Over == first.Name {
						firstLamps += lamp.PhotonUmolM2s * lamp.HoursDay * math.Min(1, lamp.AreaM2/first.GrowingM2())
					}
				}
				return g.Loop == l.Name && g.Zone == b.Zone && g.Kind == b.Kind && g.depthM == b.DepthM && g.tiers == b.Tiers &&
					math.Abs(g.ModuleM2-module) < 1e-9 && math.Abs(firstLamps-lamps) < 1e-9
			})
			if at < 0 {
				at = len(out)
				out = append(out, group{Group: Group{Loop: l.Name, Zone: b.Zone, Kind: b.Kind, ModuleM2: module}, depthM: b.DepthM, tiers: b.Tiers})
			}
			g := &out[at]
			g.Beds = append(g.Beds, b.Name)
			g.beds = append(g.beds, groupBed{name: b.Name, modules: n})
			g.AreaM2 += area
			g.Modules += n
		}
	}
	seen := map[string]int{}
	for i := range out {
		g := &out[i]
		g.Name = groupName(g.Beds)
		if seen[g.Name]++; seen[g.Name] > 1 {
			g.Name = fmt.Sprintf("%s (%d)", g.Name, seen[g.Name])
		}
	}
	return out
}

// groupName names beds together: a single bed by its own name, several by what their
// names share, with the first and last ("north 1 to north 6").
func groupName(beds []string) string {
	if len(beds) == 1 {
		return beds[0]
	}
	first, last := beds[0], beds[len(beds)-1]
	share := 0 // bytes of the runes that both begin with
	for share < len(first) && share < len(last) && first[share] == last[share] {
		share++
	}
	for share > 0 && !utf8.ValidString(first[:share]) {
		share--
	}
	if word := strings.TrimRight(first[:share], " 0123456789"); word != "" {
		if rest := strings.TrimSpace(last[len(word):]); rest != "" {
			return fmt.Sprintf("%s to %s", first, rest)
		}
	}
	return fmt.Sprintf("%s to %s", first, last)
}

func bedNamed(s *site.Site, name string) *site.Bed {
	for i := range s.Loops {
		for j := range s.Loops[i].Beds {
			if b := &s.Loops[i].Beds[j]; b.Name == name {
				return b
			}
		}
	}
	return nil
}

// stand books what stands in a group's beds: areaM2 in a bed for weeks from to to.
func (g *group) stand(bed string, areaM2 float64, from, to int) {
	for i := range g.beds {
		b := &g.beds[i]
		if b.name != bed {
			continue
		}
		n := min(b.modules, int(math.Ceil(areaM2/g.ModuleM2-0.05)))
		for w := max(0, from); w <= min(to, len(b.taken)-1); w++ {
			b.taken[w] = min(b.modules, b.taken[w]+n)
		}
	}
}

// weeks readies a group for so many weeks, all free.
func (g *group) weeks(n int) {
	for i := range g.beds {
		g.beds[i].taken = make([]int, n)
	}
}

// free works out the modules that are free in each week. In a bed modules are
// counted as used by the week's standing plantings alone, so that a bed whose
// plantings leave one after the other frees its modules one after the other.
func (g *group) free(n int) {
	g.freeM = make([]int, n)
	for w := range n {
		for i := range g.beds {
			g.freeM[w] += g.beds[i].modules - g.beds[i].taken[w]
		}
	}
}
