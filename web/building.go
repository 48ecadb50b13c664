package web

import (
	"fmt"
	"math"
	"net/http"
	"strings"

	"tidebed/quantity"
	"tidebed/site"
	"tidebed/words"
)

type buildingPage struct {
	frame
	Sentence string
	Note     string
	Sections []section
}

// section is a heading with its cautions and its tables.
type section struct {
	Name, Lead string
	Cautions   []string
	Tables     []table
}

// table is a plain table: the first cell of a row names it.
type table struct {
	Caption string
	Heads   []string
	Rows    [][]string
}

// The cautions of the building page: one sentence, with whom to ask.
const (
	cautionPower  = "Electricity by water kills: every circuit here behind a residual-current device of 30 mA, and a licensed electrician to put it in and test it."
	cautionFuel   = "Anything that burns makes carbon monoxide, and gas can explode: have it fitted by a licensed fitter, give it air and a flue, and hang an alarm for carbon monoxide."
	cautionRacks  = "A full rack is heavy and wet: fix it to the wall, load the lowest shelf first, keep to the rating of each shelf, and ask a builder what the floor bears."
	cautionWater  = "A child can drown in a hand's depth of water: cover tanks and sumps, and lock the door."
	cautionBiogas = "Digester gas burns, smothers and poisons (hydrogen sulphide): no flame, no cellar, and ask the gas safety office before it is joined to anything."
)

// showBuilding handles GET /building: what is bolted down, to be read only.
func (s *server) showBuilding(w http.ResponseWriter, r *http.Request) {
	b := s.cfg.Site
	page := buildingPage{frame: s.frame("Building", "building"), Sentence: buildingSentence(b, s.system), Note: b.Note}
	page.Sections = append(page.Sections, s.placeSection(), s.eatersSection())
	for _, l := range b.Loops {
		page.Sections = append(page.Sections, s.loopSection(l))
	}
	page.Sections = append(page.Sections, s.warmthSection(), s.storesSection(), s.traysSection(), s.pricesSection())
	kept := page.Sections[:0]
	for _, sec := range page.Sections {
		tables := sec.Tables[:0]
		for _, t := range sec.Tables {
			if len(t.Rows) > 0 {
				tables = append(tables, t)
			}
		}
		if sec.Tables = tables; len(tables) > 0 || sec.Lead != "" {
			kept = append(kept, sec)
		}
	}
	page.Sections = kept
	s.render(w, r, http.StatusOK, "building.html", page)
}

func buildingSentence(b *site.Site, system quantity.System) string {
	if len(b.Loops) == 0 {
		return b.Name + " has no loop yet: describe its first tank and bed in the site file."
	}
	tanks, beds, tankM3, growingM2 := 0, 0, 0.0, 0.0
	for _, l := range b.Loops {
		tanks, beds = tanks+len(l.Tanks), beds+len(l.Beds)
		for _, t := range l.Tanks {
			tankM3 += t.VolumeM3
		}
		for _, bed := range l.Beds {
			growingM2 += bed.GrowingM2()
		}
	}
	return b.Name + raised.Replace(fmt.Sprintf(" has %s with %s of %s and %s with %s to grow on.", words.Count(len(b.Loops), "loop", "loops"),
		words.Count(tanks, "fish tank", "fish tanks"), quantity.Format(tankM3, quantity.Volume, system),
		words.Count(beds, "bed", "beds"), quantity.Format(growingM2, quantity.Area, system)))
}

// in prints a value, or a dash when the site file does not give it.
func (s *server) in(v float64, kind quantity.Kind) string {
	if v == 0 {
		return "–"
	}
	return s.at(v, kind)
}

// at prints a value for which zero is a value too: a height, a temperature.
func (s *server) at(v float64, kind quantity.Kind) string {
	return raised.Replace(quantity.Format(v, kind, s.system))
}

// raised sets the powers and the micro of units as a reader writes them.
var raised = strings.NewReplacer("m2", "m²", "m3", "m³", "ft2", "ft²", "umol", "µmol", "ug", "µg")

func (s *server) placeSection() section {
	b := s.cfg.Site
	place := table{Caption: "Place", Heads: []string{"what", "value"}, Rows: [][]string{
		{"Latitude", compass(b.Place.LatitudeDeg, "N", "S")},
		{"Longitude", compass(b.Place.LongitudeDeg, "E", "W")},
		{"Above the sea", s.at(b.Place.ElevationM, quantity.Length)},
		{"Time zone", word(b.Place.TimeZone)},
		{"Weather of", word(b.Place.Climate)},
	}}
	zones := table{Caption: "Zones: parts with one air", Heads: []string{"zone", "floor", "height", "day", "night", "light let in", "air changes an hour"}}
	for _, z := range b.Zones {
		zones.Rows = append(zones.Rows, []string{z.Name, s.in(z.FloorM2, quantity.Area), s.in(z.HeightM, quantity.Length),
			s.at(z.DayC, quantity.Temperature), s.at(z.NightC, quantity.Temperature), s.in(z.Light, quantity.Share), s.in(z.AirChangesH, quantity.Plain)})
	}
	return section{Name: "Place and zones", Tables: []table{place, zones}}
}

// compass prints degrees with the letter of their side.
func compass(deg float64, plus, minus string) string {
	if deg < 0 {
		plus = minus
	}
	return figure(math.Abs(deg)) + "° " + plus
}

func word(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

func (s *server) eatersSection() section {
	people := table{Caption: "People", Heads: []string{"person", "age", "weight", "activity", "mind"}}
	for _, p := range s.cfg.Site.People {
		mind := append([]string(nil), p.Flags...)
		if p.State != "" {
			mind = append(mind, p.State)
		}
		for _, a := range p.Allergies {
			mind = append(mind, "never "+a)
		}
		people.Rows = append(people.Rows, []string{p.Name, s.in(p.AgeY, quantity.Plain), s.in(p.WeightKg, quantity.Mass), word(p.Activity), word(strings.Join(mind, ", "))})
	}
	sets := table{Caption: "Home-fed days", Heads: []string{"set of days", "dates", "eaters", "store cupboard"}}
	for _, h := range s.cfg.Site.HomeFed {
		cupboard := "no"
		if h.Cupboard {
			cupboard = "yes"
		}
		sets.Rows = append(sets.Rows, []string{h.Name, days(h.From, h.To), strings.Join(h.Eaters, ", "), cupboard})
	}
	return section{Name: "Who eats here", Tables: []table{people, sets}}
}

func (s *server) loopSection(l site.Loop) section {
	open := s.cfg.Site.Opening
	sec := section{Name: l.Name, Cautions: []string{cautionWater}, Lead: fmt.Sprintf("%s, %s.", words.Count(len(l.Tanks), "fish tank", "fish tanks"), words.Count(len(l.Beds), "bed", "beds"))}
	if l.SumpM3 > 0 {
		sec.Lead = fmt.Sprintf("%s, %s and a sump of %s.", words.Count(len(l.Tanks), "fish tank", "fish tanks"), words.Count(len(l.Beds), "bed", "beds"), s.in(l.SumpM3, quantity.Volume))
	}
	tanks := table{Caption: "Tanks", Heads: []string{"tank", "role", "water", "depth", "held at", "fish on the first day"}}
	for _, t := range l.Tanks {
		var fish []string
		for _, c := range open.Cohorts {
			if c.Tank == t.Name {
				fish = append(fish, fmt.Sprintf("%d %s of %s", c.Count, strings.ReplaceAll(c.Species, "_", " "), s.in(c.WeightKg, quantity.Mass)))
			}
		}
		role := t.Role
		if role == "" {
			role = "stock"
		}
		tanks.Rows = append(tanks.Rows, []string{t.Name, role, s.in(t.VolumeM3, quantity.Volume), s.in(t.DepthM, quantity.Length), s.in(t.WaterC, quantity.Temperature), word(strings.Join(fish, "; "))})
	}
	beds := table{Caption: "Beds", Heads: []string{"bed", "kind", "zone", "to grow on", "depth", "what stands there"}}
	for _, b := range l.Beds {
		var stands []string
		for _, p := range open.Plantings {
			if p.Bed == b.Name {
				verb := "planted"
				if p.Planted.After(s.cfg.Today.Time) {
					verb = "to be planted"
				}
				stands = append(stands, fmt.Sprintf("%s on %s, %s %s", strings.ReplaceAll(p.Crop, "_", " "), s.in(p.AreaM2, quantity.Area), verb, longDay(p.Planted)))
			}
		}
		beds.Rows = append(beds.Rows, []string{b.Name, b.Kind, b.Zone, s.in(b.GrowingM2(), quantity.Area), s.in(b.DepthM, quantity.Length), word(strings.Join(stands, "; "))})
	}
	machines := table{Caption: "Pumps and air", Heads: []string{"machine", "what", "power", "data"}}
	for _, p := range l.Pumps {
		what := "pump"
		if p.Spare {
			what = "pump, spare on the shelf"
		}
		machines.Rows = append(machines.Rows, []string{p.Name, what, s.in(p.PowerW, quantity.Power), word(strings.Join(p.Points, ", "))})
	}
	for _, a := range l.Aerators {
		data := "for " + a.Tank
		if a.Backup {
			data += ", runs on a battery when the power fails"
		}
		machines.Rows = append(machines.Rows, []string{a.Name, "air", s.in(a.PowerW, quantity.Power), data})
	}
	pipes := table{Caption: "Pipes", Heads: []string{"pipe", "from", "to", "inside width", "length", "valve"}}
	for _, p := range l.Pipes {
		pipes.Rows = append(pipes.Rows, []string{p.Name, p.From, p.To, s.in(p.BoreM(), quantity.Length), s.in(p.LengthM, quantity.Length), word(p.Valve)})
	}
	if len(machines.Rows) > 0 {
		sec.Cautions = append(sec.Cautions, cautionPower)
	}
	sec.Tables = []table{tanks, beds, machines, pipes}
	return sec
}

func (s *server) warmthSection() section {
	b := s.cfg.Site
	sec := section{Name: "Warmth, light and power"}
	heaters := table{Caption: "Heaters", Heads: []string{"heater", "warms", "power", "fuel"}}
	electric, burns := len(b.Lamps) > 0 || b.Power != (site.Power{}), false
	for _, h := range b.Heaters {
		heaters.Rows = append(heaters.Rows, []string{h.Name, word(h.Zone + h.Tank), s.in(h.PowerW, quantity.Power), word(h.Fuel)})
		if h.Fuel == "electricity" || h.Fuel == "" {
			electric = true
		} else {
			burns = true
		}
	}
	lamps := table{Caption: "Lamps", Heads: []string{"lamps", "over", "lit area", "light", "hours a day", "power"}}
	for _, l := range b.Lamps {
		lamps.Rows = append(lamps.Rows, []string{l.Name, l.Over, s.in(l.AreaM2, quantity.Area), s.in(l.PhotonUmolM2s, quantity.PhotonFlux), s.in(l.HoursDay, quantity.Plain), s.in(l.PowerW, quantity.Power)})
	}
	own := table{Caption: "Own power", Heads: []string{"what", "size"}}
	for _, row := range [][]string{
		{"Panels, peak", s.in(b.Power.PanelPeakW, quantity.Power)}, {"Battery", s.in(b.Power.BatteryJ, quantity.Energy)},
		{"Generator", s.in(b.Power.GeneratorW, quantity.Power)}, {"Digester", s.in(b.Power.DigesterM3, quantity.Volume)},
	} {
		if row[1] != "–" {
			own.Rows = append(own.Rows, row)
		}
	}
	skin := table{Caption: "Skin", Heads: []string{"zone", "part", "cover", "area", "heat let through"}}
	for _, f := range b.Surfaces {
		skin.Rows = append(skin.Rows, []string{f.Zone, f.Kind, word(f.Cover), s.in(f.AreaM2, quantity.Area), s.in(f.UWm2K, quantity.UValue)})
	}
	if electric {
		sec.Cautions = append(sec.Cautions, cautionPower)
	}
	if burns || b.Power.GeneratorW > 0 {
		sec.Cautions = append(sec.Cautions, cautionFuel)
	}
	if b.Power.DigesterM3 > 0 {
		sec.Cautions = append(sec.Cautions, cautionBiogas)
	}
	sec.Tables = []table{heaters, lamps, own, skin}
	return sec
}

func (s *server) storesSection() section {
	b := s.cfg.Site
	places := table{Caption: "Larder places", Heads: []string{"place", "kind", "holds", "temperature", "lost in a week"}}
	for _, p := range b.Larder {
		places.Rows = append(places.Rows, []string{p.Name, p.Kind, s.in(p.CapacityKg, quantity.Mass), s.at(p.TempC, quantity.Temperature), s.in(p.LossWeek, quantity.Share)})
	}
	put := table{Caption: "Put by on the first day", Heads: []string{"food", "place", "mass", "keeps until"}}
	for _, p := range b.Opening.Larder {
		put.Rows = append(put.Rows, []string{strings.ReplaceAll(p.Food, "_", " "), p.Place, s.in(p.MassKg, quantity.Mass), word(longDay(p.Until))})
	}
	cupboard := table{Caption: "Store cupboard (bought)", Heads: []string{"food", "mass", "best before"}}
	for _, c := range b.Cupboard {
		cupboard.Rows = append(cupboard.Rows, []string{strings.ReplaceAll(c.Food, "_", " "), s.in(c.StockKg, quantity.Mass), word(longDay(c.Until))})
	}
	feeds := table{Caption: "Fish feed", Heads: []string{"feed", "protein", "on hand"}}
	for _, f := range b.Feeds {
		feeds.Rows = append(feeds.Rows, []string{f.Name, s.in(f.Protein, quantity.Share), s.in(f.StockKg, quantity.Mass)})
	}
	waters := table{Caption: "Water to top up with", Heads: []string{"water", "kind", "pH", "alkalinity", "nitrate"}}
	for _, w := range b.Waters {
		waters.Rows = append(waters.Rows, []string{w.Name, word(w.Kind), s.in(w.PH, quantity.Plain), s.in(w.AlkalinityMolM3, quantity.Alkalinity), s.in(w.NitrateNGm3, quantity.AsN)})
	}
	return section{Name: "Stores", Tables: []table{places, put, cupboard, feeds, waters}}
}

func (s *server) traysSection() section {
	b := s.cfg.Site
	sec := section{Name: "Trays and buyers"}
	racks := table{Caption: "Racks", Heads: []string{"rack", "zone", "trays", "shelves", "rated for a shelf"}}
	for _, k := range b.Racks {
		racks.Rows = append(racks.Rows, []string{k.Name, word(k.Zone), s.in(float64(k.Trays), quantity.Count), s.in(float64(k.Shelves), quantity.Count), s.in(k.RatedKg, quantity.Mass)})
	}
	orders := table{Caption: "Standing orders", Heads: []string{"buyer", "good", "a week", "day"}}
	for _, buyer := range b.Buyers {
		for _, o := range buyer.Orders {
			orders.Rows = append(orders.Rows, []string{buyer.Name, strings.ReplaceAll(o.Good, "_", " "), s.in(o.WeekKg, quantity.Mass), word(words.Capital(o.Day))})
		}
	}
	if len(racks.Rows) > 0 {
		sec.Cautions = []string{cautionRacks}
	}
	sec.Tables = []table{racks, orders}
	return sec
}

func (s *server) pricesSection() section {
	p, t := s.cfg.Site.Prices, table{Caption: "What the building pays", Heads: []string{"for", "price"}}
	for _, row := range []struct {
		name  string
		value float64
		kind  quantity.Kind
	}{{"Electricity", p.ElectricityPerJ, quantity.PricePerEnergy}, {"Electricity, cheap hours", p.CheapPerJ, quantity.PricePerEnergy}, {"Work", p.LabourPerS, quantity.PricePerTime}} {
		if row.value != 0 {
			t.Rows = append(t.Rows, []string{row.name, s.cfg.Site.Currency + " " + s.at(row.value, row.kind)})
		}
	}
	return section{Name: "Prices", Tables: []table{t}}
}
