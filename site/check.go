package site

import (
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strings"
	"time"
	_ "time/tzdata" // so that a time zone's name is known on every machine

	"tidebed/climate"
	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/science/fabric"
	"tidebed/science/fish"
	"tidebed/science/food"
)

// Check holds a description against itself and against the tables of foods,
// crops and fish: names that must be there once, names that must be known, days
// in their order, eaters described well enough to feed, beds and tanks that hold
// what stands in them. Read calls it; call it after changing a Site. Allowed
// values of single fields are held by Read.
func (s *Site) Check() (Problems, []Warning) { return s.check(nil) }

// check takes the lines from where, which may be nil.
func (s *Site) check(where *decoder) (Problems, []Warning) {
	c := checker{site: s, where: where, names: map[string][]string{}, seen: map[string]string{}}
	c.collect(reflect.ValueOf(*s), "")
	c.references(reflect.ValueOf(*s), "")
	c.place()
	c.loops()
	c.people()
	c.trade()
	c.opening()
	return c.problems, c.warnings
}

type checker struct {
	site     *Site
	where    *decoder
	names    map[string][]string // by what a ref tag calls them
	seen     map[string]string   // "namespace\x00name" → path
	problems Problems
	warnings []Warning
}

func (c *checker) refuse(path, given, format string, args ...any) {
	if c.where != nil && c.where.bad[path] {
		return // refused already when it was read
	}
	c.problems = append(c.problems, Problem{Line: c.where.line(path), Field: path, Given: given, Message: fmt.Sprintf(format, args...)})
}

func (c *checker) warn(path, given, format string, args ...any) {
	c.warnings = append(c.warnings, Warning{Line: c.where.line(path), Field: path, Given: given, Message: fmt.Sprintf(format, args...)})
}

// amount prints a quantity in the units of the site's reader.
func (c *checker) amount(si float64, kind quantity.Kind) string {
	system := quantity.Metric
	if c.site.Units == "us-customary" {
		system = quantity.USCustomary
	}
	return quantity.Format(si, kind, system)
}

// named gives for each type with a name the word of ref tags and the family in
// which the name must be there once. Tanks, beds and pumps share one, since
// pipes lead to all of them.
var named = map[reflect.Type]struct{ ref, family, key string }{
	reflect.TypeFor[Zone]():        {"zone", "zone", "name"},
	reflect.TypeFor[Loop]():        {"loop", "loop", "name"},
	reflect.TypeFor[Tank]():        {"tank", "tank, bed or pump", "name"},
	reflect.TypeFor[Bed]():         {"bed", "tank, bed or pump", "name"},
	reflect.TypeFor[Pump]():        {"pump", "tank, bed or pump", "name"},
	reflect.TypeFor[Pipe]():        {"pipe", "pipe", "name"},
	reflect.TypeFor[Aerator]():     {"aerator", "aerator", "name"},
	reflect.TypeFor[Lamp]():        {"lamp", "lamp", "name"},
	reflect.TypeFor[Heater]():      {"heater", "heater", "name"},
	reflect.TypeFor[Feed]():        {"feed", "feed", "name"},
	reflect.TypeFor[SourceWater](): {"water", "water", "name"},
	reflect.TypeFor[CropWish]():    {"wish", "wish for the crop", "crop"},
	reflect.TypeFor[LarderPlace](): {"larder", "larder place", "name"},
	reflect.TypeFor[Rack]():        {"rack", "rack", "name"},
	reflect.TypeFor[TrayGreen]():   {"green", "tray green", "green"},
	reflect.TypeFor[Buyer]():       {"buyer", "buyer", "name"},
	reflect.TypeFor[Person]():      {"person", "person", "name"},
	reflect.TypeFor[HomeFedDays](): {"home-fed", "run of home-fed days", "name"},
	reflect.TypeFor[Cohort]():      {"cohort", "cohort", "name"},
}

// each calls visit for every field of v and of what is in it.
func each(v reflect.Value, path string, visit func(v reflect.Value, r rule, path string)) {
	for _, r := range rulesOf(v.Type()) {
		field, at := v.Field(r.index), join(path, r.key)
		if field.Kind() == reflect.Pointer {
			if field.IsNil() {
				continue
			}
			field = field.Elem()
		}
		switch {
		case field.Type() != dateType && field.Kind() == reflect.Struct:
			each(field, at, visit)
		case field.Kind() == reflect.Slice:
			for i := range field.Len() {
				at, item := fmt.Sprintf("%s[%d]", at, i), field.Index(i)
				if item.Kind() == reflect.Struct {
					visit(item, r, at)
					each(item, at, visit)
				} else {
					visit(item, r, at)
				}
			}
		default:
			visit(field, r, at)
		}
	}
}

func (c *checker) collect(v reflect.Value, path string) {
	each(v, path, func(v reflect.Value, _ rule, path string) {
		what, ok := named[v.Type()]
		if !ok {
			return
		}
		rules := rulesOf(v.Type())
		i := slices.IndexFunc(rules, func(r rule) bool { return r.key == what.key })
		name := v.Field(rules[i].index).String()
		if name == "" {
			return
		}
		at := join(path, what.key)
		c.names[what.ref] = append(c.names[what.ref], name)
		id := what.family + "\x00" + name
		if first, twice := c.seen[id]; twice {
			message := fmt.Sprintf("%q is the name of a second %s; the first is %s", name, what.family, first)
			if line := c.where.line(first); line > 0 {
				message += fmt.Sprintf(" on line %d", line)
			}
			c.refuse(at, name, "%s", message)
			return
		}
		c.seen[id] = at
	})
}

// references holds every field with a ref tag against the names there are.
func (c *checker) references(v reflect.Value, path string) {
	each(v, path, func(v reflect.Value, r rule, path string) {
		if r.ref == "" || v.Kind() != reflect.String || v.String() == "" {
			return
		}
		given := v.String()
		switch r.ref {
		case "food":
			if _, err := food.Lookup(given); err != nil {
				c.refuse(path, given, "there is no food %q%s", given, suggestion(given, food.Keys(), "known"))
			}
		case "crop":
			if _, err := crop.Lookup(given); err != nil {
				c.refuse(path, given, "there is no crop %q%s", given, suggestion(given, crop.Keys(), "known"))
			}
		case "species":
			if _, err := fish.Lookup(given); err != nil {
				c.refuse(path, given, "there is no species %q%s", given, suggestion(given, fish.IDs(), "known"))
			}
		default:
			c.known(path, r.ref, given, c.names[r.ref])
		}
	})
}

func (c *checker) known(path, what, given string, names []string) {
	if slices.Contains(names, given) {
		return
	}
	if len(names) == 0 {
		if c.where != nil && len(c.where.problems) > 0 {
			return // the list itself may be what was refused
		}
		c.refuse(path, given, "there is no %s %q; none is described", what, given)
		return
	}
	c.refuse(path, given, "there is no %s %q%s", what, given, suggestion(given, names, "known"))
}

func (c *checker) place() {
	s := c.site
	if !currencyWhole(s.Currency) {
		c.refuse("currency", s.Currency, "%q is not a currency's code of three capital letters, such as EUR", s.Currency)
	}
	if zone := s.Place.TimeZone; zone != "" {
		if _, err := time.LoadLocation(zone); err != nil || zone == "Local" {
			c.refuse("place.time-zone", zone, "there is no time zone %q; it is written like Europe/Dublin", zone)
		}
	}
	before := len(c.problems)
	c.weather()
	if len(c.problems) == before {
		c.weatherFits()
	}
	for i, f := range s.Surfaces {
		if f.Cover != "" {
			if _, err := fabric.LookupCover(f.Cover); err != nil {
				c.warn(fmt.Sprintf("surfaces[%d].cover", i), f.Cover, "%s; it counts as a wall with its `u` that lets no light in", err.Error())
			}
		}
		if f.Beyond != "" && f.Beyond != "outside" && f.Beyond != "ground" {
			c.known(fmt.Sprintf("surfaces[%d].beyond", i), "zone", f.Beyond, c.names["zone"])
			for j, other := range s.Surfaces[:i] {
				if other.Zone == f.Beyond && other.Beyond == f.Zone && other.AreaM2 == f.AreaM2 {
					c.warn(fmt.Sprintf("surfaces[%d]", i), f.Zone, "the wall between %s and %s stands here a second time, after surfaces[%d]; give it once, for it counts both ways", f.Zone, f.Beyond, j)
				}
			}
		}
	}
	for i, z := range s.Zones {
		if z.Curtain == "" {
			continue
		}
		if cover, err := fabric.LookupCover(z.Curtain); err != nil {
			c.refuse(fmt.Sprintf("zones[%d].curtain", i), z.Curtain, "%s", err.Error())
		} else if cover.Kind != fabric.Curtain {
			c.refuse(fmt.Sprintf("zones[%d].curtain", i), z.Curtain, "%q is no curtain; take one of %s", z.Curtain, strings.Join(fabric.CoverKeys(fabric.Curtain), ", "))
		}
	}
	for i, z := range s.Zones {
		at := fmt.Sprintf("zones[%d]", i)
		if z.Pad != nil && z.VentM3s == 0 && (c.where == nil || !c.where.bad[at+".vents"]) {
			c.refuse(at+".pad", z.Name, "a wet pad cools only the air that fans draw through it; give the zone %q the flow of its fans in `vents`, or take the pad out", z.Name)
		}
		if d := z.Dehumidifier; d != nil && d.CatchKgS > 0 && d.PowerW > 0 {
			if kWhL := d.PowerW / d.CatchKgS / 3.6e6; kWhL < leastDryKWhL || kWhL > mostDryKWhL {
				c.warn(at+".dehumidifier", "", "%.2g kWh for a litre of water is unusual for a dehumidifier, which takes %g to %g; look whether `catches` is for a day", kWhL, leastDryKWhL, mostDryKWhL)
			}
		}
	}
	over := slices.Concat(c.names["bed"], c.names["rack"], []string{"nursery"})
	for i, l := range s.Lamps {
		if l.Over != "" {
			c.known(fmt.Sprintf("lamps[%d].over", i), "bed, rack or nursery", l.Over, over)
		}
	}
	for i, h := range s.Heaters {
		if h.Zone == "" && h.Tank == "" {
			c.warn(fmt.Sprintf("heaters[%d]", i), "", "the heater %q names neither zone nor tank, so it warms nothing", h.Name)
		}
	}
}

// What a dehumidifier takes for a litre in its maker's air, kWh. Common practice, no source.
const (
	leastDryKWhL = 0.15
	mostDryKWhL  = 2.0
)

// weather holds the place's own normals and the library's name.
func (c *checker) weather() {
	p := c.site.Place
	if p.Climate != "" {
		if _, err := climate.Lookup(p.Climate); err != nil {
			c.refuse("place.climate", p.Climate, "%v", err)
		}
	}
	if len(p.Normals) == 0 {
		if p.Climate == "" && len(c.site.Opening.Plantings) > 0 {
			c.refuse("place", "", "plants stand or are planned, but the place has no weather to grow them by; name a place of the library in `climate` (such as %s), or give twelve months of `normals`", "London Heathrow")
		}
		return
	}
	var have [13]bool
	for i, n := range p.Normals {
		at := fmt.Sprintf("place.normals[%d]", i)
		if n.Month < 1 || n.Month > 12 {
			continue // refused by its range
		}
		if have[n.Month] {
			c.refuse(at+".month", fmt.Sprint(n.Month), "%s stands a second time", time.Month(n.Month))
		}
		have[n.Month] = true
		if n.MaxC < n.MinC {
			c.refuse(at+".max", fmt.Sprint(n.MaxC), "in %s the mean maximum, %g °C, is below the mean minimum, %g °C", time.Month(n.Month), n.MaxC, n.MinC)
		}
	}
	var missing []string
	for month := time.January; month <= time.December; month++ {
		if !have[month] {
			missing = append(missing, month.String())
		}
	}
	if len(missing) > 0 {
		c.refuse("place.normals", "", "the normals lack %s; give all twelve months, or none and name a place in climate", strings.Join(missing, ", "))
	}
}

// weatherFits holds the normals against the place: its latitude and hemisphere.
func (c *checker) weatherFits() {
	p := c.site.Place
	months, latitude, at := [12]climate.Month{}, p.LatitudeDeg, "place.normals"
	if len(p.Normals) == 12 {
		for _, n := range p.Normals {
			if n.Month < 1 || n.Month > 12 {
				return // refused by its range
			}
			months[n.Month-1] = n.Climate()
		}
	} else {
		place, err := climate.Lookup(p.Climate)
		if err != nil {
			return // no weather, or refused by name
		}
		months, latitude, at = place.Months, place.LatitudeDeg, "place.climate"
	}
	if _, err := climate.New(p.LatitudeDeg, p.LongitudeDeg, p.ElevationM, months, latitude); err != nil {
		c.refuse(at, p.Climate, "%v", err)
	}
}

// currencyWhole says whether a text is a currency code and nothing else.
func currencyWhole(text string) bool {
	return text == "" || len(text) == 3 && currencyCode.MatchString(text)
}

func (c *checker) loops() {
	for i, l := range c.site.Loops {
		at := fmt.Sprintf("loops[%d]", i)
		for j, b := range l.Beds {
			if b.GrowingM2() <= 0 {
				path := fmt.Sprintf("%s.beds[%d]", at, j)
				if c.where != nil && (c.where.bad[path+".length"] || c.where.bad[path+".width"] || c.where.bad[path+".area"]) {
					continue // its size was given, but refused
				}
				c.refuse(path, b.Name, "the bed %q has no area; give `length` and `width`, or `area`", b.Name)
			}
		}
		c.pipework(&c.site.Loops[i], at)
		c.pipeEnds(l, at)
	}
}

// pipeEnds warns about ends that lead nowhere. An end is the sump, a tank, bed
// or pump of the loop, or a branching point that several pipes share.
func (c *checker) pipeEnds(l Loop, at string) {
	known := []string{"sump"}
	for _, t := range l.Tanks {
		known = append(known, t.Name)
	}
	for _, b := range l.Beds {
		known = append(known, b.Name)
	}
	for _, p := range l.Pumps {
		known = append(known, p.Name)
	}
	count := map[string]int{}
	for _, p := range l.Pipes {
		count[p.From]++
		count[p.To]++
	}
	for i, p := range l.Pipes {
		for _, end := range []struct{ key, name string }{{"from", p.From}, {"to", p.To}} {
			if end.name != "" && count[end.name] == 1 && !slices.Contains(known, end.name) {
				c.warn(fmt.Sprintf("%s.pipes[%d].%s", at, i, end.key), end.name,
					"%q is no tank, bed, pump or sump of this loop, and no other pipe ends there%s", end.name, suggestion(end.name, known, "known"))
			}
		}
	}
}

func (c *checker) people() {
	s := c.site
	eats := map[string]bool{}
	for i, h := range s.HomeFed {
		at := fmt.Sprintf("home-fed[%d]", i)
		c.order(at+".to", h.From, h.To, fmt.Sprintf("%q ends", h.Name), "it starts")
		for j, name := range h.Eaters {
			eats[name] = true
			if slices.Contains(h.Eaters[:j], name) {
				c.refuse(fmt.Sprintf("%s.eaters[%d]", at, j), name, "%q stands here a second time", name)
			}
		}
		for k, other := range s.HomeFed[:i] {
			if h.From.IsZero() || h.To.IsZero() || other.From.IsZero() || other.To.IsZero() ||
				h.From.After(other.To.Time) || other.From.After(h.To.Time) {
				continue
			}
			for _, name := range h.Eaters {
				if slices.Contains(other.Eaters, name) {
					c.warn(at, name, "%s eats at %q and at %q on the same days; the food is counted twice", name, s.HomeFed[k].Name, h.Name)
					break
				}
			}
		}
	}
	groups := allergyWords()
	for i, p := range s.People {
		at := fmt.Sprintf("people[%d]", i)
		if eats[p.Name] {
			delete(eats, p.Name) // a second of the name is refused as such
			var missing []string
			for _, m := range []struct {
				key   string
				blank bool
			}{{"sex", p.Sex == ""}, {"age", p.AgeY == 0}, {"weight", p.WeightKg == 0}, {"height", p.HeightM == 0}} {
				if m.blank && (c.where == nil || !c.where.bad[at+"."+m.key]) {
					missing = append(missing, m.key)
				}
			}
			if len(missing) > 0 {
				c.refuse(at, p.Name, "%s eats on home-fed days, but has no %s; without it the needs cannot be worked out",
					p.Name, strings.Join(missing, ", no "))
			}
		}
		if p.AgeY > 0 && p.WeightKg > 0 && p.HeightM > 0 {
			low, high := 18.5, 35.0 // adults; below 18 the body mass index of slim and very heavy children
			if p.AgeY < 18 {
				low, high = 12, 30
			}
			if bmi := p.WeightKg / (p.HeightM * p.HeightM); bmi < low || bmi > high {
				c.warn(at, p.Name, "weight and height give a body mass index of %.0f, unusual for %g years; check both", bmi, p.AgeY)
			}
			if p.AgeY < 12 && p.HeightM > 0.95+0.065*p.AgeY {
				c.warn(at+".height", p.Name, "%s is tall for a child of %g years; check both", c.amount(p.HeightM, quantity.Length), p.AgeY)
			}
		}
		for j, a := range p.Allergies {
			if !slices.Contains(groups, a) {
				if _, err := food.Lookup(a); err != nil {
					c.refuse(fmt.Sprintf("%s.allergies[%d]", at, j), a, "%q is neither a food nor a group of foods%s",
						a, suggestion(a, slices.Concat(groups, food.Keys()), "known"))
				}
			}
		}
	}
}

// allergyWords returns the groups of foods and the allergens, sorted.
func allergyWords() []string {
	var words []string
	for _, f := range food.Foods() {
		words = append(words, f.Group)
		words = append(words, food.Allergens(f.Key)...)
	}
	sort.Strings(words)
	return slices.Compact(words)
}

// order refuses a last day before the first.
func (c *checker) order(path string, from, to Date, ends, starts string) {
	if !from.IsZero() && !to.IsZero() && to.Before(from.Time) {
		c.refuse(path, to.String(), "%s on %s, before %s on %s", ends, to, starts, from)
	}
}

func (c *checker) trade() {
	s := c.site
	for i, o := range s.Others {
		c.order(fmt.Sprintf("other-sources[%d].to", i), o.From, o.To, o.Food+" ends", "it starts")
	}
	for i, b := range s.Buyers {
		for j, o := range b.Orders {
			at := fmt.Sprintf("buyers[%d].orders[%d]", i, j)
			c.order(at+".to", o.From, o.To, "the order ends", "it starts")
			if o.Good == "" || slices.Contains(c.names["green"], o.Good) {
				continue
			}
			if _, err := crop.Lookup(o.Good); err != nil {
				c.refuse(at+".good", o.Good, "%q is neither one of the greens nor a crop%s", o.Good,
					suggestion(o.Good, slices.Concat(c.names["green"], crop.Keys()), "known"))
			}
		}
	}
}

func (c *checker) opening() {
	s := c.site
	tanks, kg := map[string]Tank{}, map[string]float64{}
	beds := map[string]Bed{}
	for _, l := range s.Loops {
		for _, t := range l.Tanks {
			tanks[t.Name] = t
		}
		for _, b := range l.Beds {
			beds[b.Name] = b
		}
	}
	for i, co := range s.Opening.Cohorts {
		at := fmt.Sprintf("opening.fish[%d]", i)
		if co.Keep > co.Count && co.Count > 0 {
			c.refuse(at+".keep", fmt.Sprint(co.Keep), "%d are never to be eaten, but there are %d", co.Keep, co.Count)
		}
		if !co.Stocked.IsZero() && co.Stocked.Before(s.Opening.Date.Time) {
			c.refuse(at+".stocked", co.Stocked.String(), "fish stocked before the opening of %s swim there on that day: leave this out and give their weight then", s.Opening.Date)
		}
		if co.Stocked.IsZero() { // those that come later find fewer of the others
			kg[co.Tank] += float64(co.Count) * co.WeightKg
		}
		species, err := fish.Lookup(co.Species)
		tank, ok := tanks[co.Tank]
		if err == nil && ok && tank.WaterC != 0 {
			switch w := tank.WaterC; {
			case w <= species.LethalLowC || w >= species.LethalHighC:
				c.refuse(at+".tank", co.Tank, "water of %g °C kills %s, which lives between %g and %g °C; keep it in another tank or change the water",
					w, species.Name, species.LethalLowC, species.LethalHighC)
			case w < species.FeedStopLowC || w > species.FeedStopHighC:
				c.warn(at+".tank", co.Tank, "in water of %g °C %s does not feed; it does between %g and %g °C",
					w, species.Name, species.FeedStopLowC, species.FeedStopHighC)
			}
		}
		if err != nil || !ok || tank.VolumeM3 <= 0 || species.Group == "crustacean" {
			continue // crustaceans go by floor area
		}
		if density := kg[co.Tank] / tank.VolumeM3; density > species.DensityMaxKgM3 {
			tell := c.warn
			if density > impossible*species.DensityMaxKgM3 {
				tell = c.refuse
			}
			tell(at, co.Name, "the tank %q holds %s/m3 of fish; %s bears %s/m3", co.Tank,
				quantity.Format(density, quantity.Mass, quantity.Metric), species.Name,
				quantity.Format(species.DensityMaxKgM3, quantity.Mass, quantity.Metric))
		}
	}
	c.plantings(beds)
	c.larder()
	for i, w := range s.Opening.Water {
		if slices.ContainsFunc(s.Opening.Water[:i], func(o OpeningWater) bool { return o.Loop == w.Loop }) {
			c.refuse(fmt.Sprintf("opening.water[%d].loop", i), w.Loop, "the water of the loop %q stands here a second time", w.Loop)
		}
	}
}

// impossible is how many times its measure a tank, bed or store may be said to
// hold before that is refused as a slip instead of doubted. Common practice,
// no source.
const impossible = 2.0

func (c *checker) plantings(beds map[string]Bed) {
	plantings := c.site.Opening.Plantings
	var last Date
	for _, h := range c.site.HomeFed {
		if h.To.After(last.Time) {
			last = h.To
		}
	}
	for i, p := range plantings {
		at := fmt.Sprintf("opening.plantings[%d]", i)
		if !last.Before(c.site.Opening.Date.Time) && p.Planted.After(last.Time) {
			c.warn(at+".planted", p.Planted.String(), "%s is planted after the last home-fed days end on %s: it reaches no meal", p.Crop, last)
		}
		if !p.Pull.IsZero() && !p.Pull.After(p.Planted.Time) {
			c.refuse(at+".pull", p.Pull.String(), "%s is pulled on %s, not after it is planted on %s", p.Crop, p.Pull, p.Planted)
		}
		bed, inBed := beds[p.Bed]
		row, err := crop.Lookup(p.Crop)
		if !inBed || err != nil {
			continue
		}
		kind := bed.Kind
		if kind == "constant" {
			kind = "media" // the same bed, kept wet
		}
		switch row.Suits(kind) {
		case crop.No:
			c.warn(at+".bed", p.Bed, "%s does not suit a %s bed such as %q", row.Name, bed.Kind, p.Bed)
		case crop.Poor:
			c.warn(at+".bed", p.Bed, "%s suits a %s bed such as %q poorly", row.Name, bed.Kind, p.Bed)
		}
		var areaM2 float64
		for _, q := range plantings {
			other, err := crop.Lookup(q.Crop)
			if q.Bed != p.Bed || err != nil || q.Planted.IsZero() || p.Planted.IsZero() {
				continue
			}
			held := other.BedDays
			if !q.Pull.IsZero() {
				held = min(held, q.Planted.DaysTo(q.Pull))
			}
			if days := q.Planted.DaysTo(p.Planted); days >= 0 && days < held {
				areaM2 += q.AreaM2
			}
		}
		if growing := bed.GrowingM2(); growing > 0 && areaM2 > growing*1.0001 {
			tell := c.warn // by the table's days: the one before may be out in time
			if p.AreaM2 > growing*1.0001 || areaM2 > impossible*growing {
				tell = c.refuse
			}
			tell(at+".area", "", "on %s plantings take %s of the bed %q, which has %s", p.Planted,
				c.amount(areaM2, quantity.Area), p.Bed, c.amount(growing, quantity.Area))
		}
	}
}

func (c *checker) larder() {
	massKg := map[string]float64{}
	for i, p := range c.site.Opening.Larder {
		at := fmt.Sprintf("opening.larder[%d]", i)
		c.order(at+".until", p.Since, p.Until, p.Food+" keeps until", "it was put by")
		massKg[p.Place] += p.MassKg
		if !p.Since.IsZero() && !c.site.Opening.Date.IsZero() && p.Since.After(c.site.Opening.Date.Time) {
			c.refuse(at+".since", p.Since.String(), "%s was put by after the opening on %s; list what lies there on that day", p.Food, c.site.Opening.Date)
		}
	}
	for i, place := range c.site.Larder {
		if kg := massKg[place.Name]; kg > place.CapacityKg && place.CapacityKg > 0 {
			tell := c.warn
			if kg > impossible*place.CapacityKg {
				tell = c.refuse
			}
			tell(fmt.Sprintf("larder[%d].capacity", i), "", "%s are put by in %q, which holds %s",
				c.amount(kg, quantity.Mass), place.Name, c.amount(place.CapacityKg, quantity.Mass))
		}
	}
}
