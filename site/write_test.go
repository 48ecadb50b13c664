package site

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/crop"
	"tidebed/science/fabric"
	"tidebed/science/fish"
	"tidebed/science/food"
)

type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

// roundTrip holds that a good site is read back from what is written of it.
func roundTrip(t failer, s *Site) {
	t.Helper()
	text, err := Write(s)
	if err != nil {
		t.Fatalf("Write: %v", err)
	}
	back, _, err := Read("written.yaml", text)
	if err != nil {
		t.Fatalf("Read of what was written: %v\n%s", err, text)
	}
	if diff := cmp.Diff(s, back); diff != "" {
		t.Fatalf("written and read (-want +got):\n%s\n%s", diff, text)
	}
}

// maker draws random good sites from the tags.
type maker struct {
	t     *rapid.T
	count int
}

func (m *maker) fill(v reflect.Value) {
	for _, r := range rulesOf(v.Type()) {
		field := v.Field(r.index)
		label := v.Type().Name() + "." + r.key
		must := r.need || r.fallback != "" || v.Type() == reflect.TypeFor[Person]()
		if !must && field.Kind() != reflect.Slice && rapid.Bool().Draw(m.t, label+" left out") {
			continue
		}
		m.value(field, r, label)
	}
}

func (m *maker) value(v reflect.Value, r rule, label string) {
	switch {
	case v.Type() == dateType:
		v.Set(reflect.ValueOf(On(2027, 1, rapid.IntRange(1, 700).Draw(m.t, label))))
	case v.Kind() == reflect.Struct:
		m.fill(v)
	case v.Kind() == reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		m.value(v.Elem(), r, label)
	case v.Kind() == reflect.Slice:
		n := rapid.IntRange(1, 2).Draw(m.t, label+" entries")
		if r.key == "crops" || r.key == "greens" || r.key == "water" || r.ref == "person" {
			n = 1 // what they name may stand there once
		}
		v.Set(reflect.MakeSlice(v.Type(), n, n))
		for i := range n {
			m.value(v.Index(i), r, label)
		}
	case v.Kind() == reflect.Float64:
		low, high := -1e6, 1e6
		if r.allowed != nil {
			low, high = r.allowed.low, r.allowed.high
			if r.allowed.openLow {
				low = math.Nextafter(low+high*1e-9, high)
			}
		}
		x := rapid.Float64Range(low, high).Draw(m.t, label)
		if math.Abs(x) < 1e-80 {
			x = 0 // beyond what quantity.Exact promises
		}
		if x == 0 && low > 0 {
			x = high
		}
		v.SetFloat(x)
	case v.Kind() == reflect.Int:
		low, high := 1, Schema
		if r.allowed != nil {
			low, high = int(r.allowed.low), int(r.allowed.high)
		}
		v.SetInt(int64(rapid.IntRange(low, high).Draw(m.t, label)))
	case v.Kind() == reflect.Bool:
		v.SetBool(rapid.Bool().Draw(m.t, label))
	case v.Kind() == reflect.String:
		v.SetString(m.text(r, label))
	}
}

func (m *maker) text(r rule, label string) string {
	switch {
	case len(r.oneOf) > 0:
		return rapid.SampledFrom(r.oneOf).Draw(m.t, label)
	case r.ref == "food" || r.key == "allergies":
		return rapid.SampledFrom(food.Keys()).Draw(m.t, label)
	case r.ref == "crop" || r.key == "good":
		return rapid.SampledFrom(crop.Keys()).Draw(m.t, label)
	case r.ref == "species":
		return rapid.SampledFrom(fish.IDs()).Draw(m.t, label)
	case r.ref != "":
		return "?" // resolved when all names are there
	case r.key == "over":
		return "nursery"
	case r.key == "currency":
		return rapid.SampledFrom([]string{"EUR", "USD", "GBP", "CHF", "NOK"}).Draw(m.t, label)
	case r.key == "time-zone":
		return rapid.SampledFrom([]string{"Europe/Dublin", "America/New_York", "UTC"}).Draw(m.t, label)
	case r.key == "points":
		return rapid.SampledFrom([]string{"0 L/min:3 m", "40 L/min:1.2 m"}).Draw(m.t, label)
	case r.key == "fittings":
		return rapid.SampledFrom([]string{"elbow-90-long", "2 x tee, through branch"}).Draw(m.t, label)
	case r.key == "curtain":
		return fabric.CoverKeys(fabric.Curtain)[0]
	case r.key == "beyond":
		return rapid.SampledFrom([]string{"outside", "ground"}).Draw(m.t, label)
	case r.key == "size":
		return rapid.SampledFrom([]string{"PVC Sch 40 1 in", "PVC-U PN10 (metric) 40 mm"}).Draw(m.t, label)
	case r.need:
		m.count++
		return fmt.Sprintf("%s%d", rapid.String().Draw(m.t, label), m.count)
	}
	return rapid.String().Draw(m.t, label)
}

func (m *maker) site() *Site {
	s := new(Site)
	m.fill(reflect.ValueOf(s).Elem())
	s.Opening.Date = On(2027, 1, 11)
	for i := range s.Loops {
		for j := range s.Loops[i].Beds {
			b := &s.Loops[i].Beds[j]
			if b.GrowingM2() == 0 {
				b.AreaM2 = 3
			}
		}
		m.plumb(&s.Loops[i])
	}
	c := checker{site: s, names: map[string][]string{}, seen: map[string]string{}}
	c.collect(reflect.ValueOf(*s), "")
	each(reflect.ValueOf(s).Elem(), "", func(v reflect.Value, r rule, path string) {
		if v.Kind() == reflect.String && r.ref != "" && v.String() == "?" {
			v.SetString(rapid.SampledFrom(c.names[r.ref]).Draw(m.t, path))
		}
		if v.Kind() == reflect.Struct { // a last day after the first
			from, to := v.FieldByName("From"), v.FieldByName("To")
			if v.Type() == reflect.TypeFor[PutBy]() {
				from, to = v.FieldByName("Since"), v.FieldByName("Until")
			}
			if from.IsValid() && from.Type() == dateType && !to.IsZero() && to.Interface().(Date).Before(from.Interface().(Date).Time) {
				to.Set(from)
			}
		}
	})
	for i := range s.Opening.Cohorts {
		c := &s.Opening.Cohorts[i]
		c.Keep = min(c.Keep, c.Count)
	}
	m.possible(s)
	return s
}

// plumb takes out of a loop what the checks of pipework refuse.
func (m *maker) plumb(l *Loop) {
	for j := range l.Pumps {
		l.Pumps[j].Points = []string{"0 L/min:4 m:10 W", m.text(rule{key: "points"}, "a point") + ":1 kW"}
		if strings.HasPrefix(l.Pumps[j].Points[1], "0 ") {
			l.Pumps[j].Points[1] = "30 L/min:2 m"
			l.Pumps[j].PowerW = 200
		}
	}
	for j := range l.Tanks {
		if t := &l.Tanks[j]; t.RimM != 0 && t.RimM <= t.LevelM {
			t.RimM = 0
		}
	}
	if l.SumpRimM != 0 && l.SumpRimM <= l.SumpLevelM {
		l.SumpRimM = 0
	}
	if t := l.Timetable; t != nil {
		if from, to := t.Day(); from >= to {
			t.DayFromH, t.DayToH = nil, nil
		}
	}
	fed := map[string]bool{}
	for j := range l.Pipes {
		p := &l.Pipes[j]
		if p.Size != "" || p.DiameterM == 0 {
			p.DiameterM, p.Size = 0, "PVC Sch 40 1 in"
		}
		if fed[p.To] {
			p.Valve = "hand"
		}
		if p.From == p.To {
			p.To += " end"
		}
		fed[p.To] = true
	}
	for j := range l.Beds {
		b := &l.Beds[j]
		if s := b.Siphon; s != nil {
			b.Standpipe = nil
			s.StandpipeM, s.CrestM = max(s.StandpipeM, 0.003), min(1, 0.02+0.9*(b.Rim()-0.02))
			s.BreakM = min(s.BreakM, s.CrestM/2)
			s.OutletM = min(s.OutletM, s.BreakM-0.1)
			s.BellM, s.GuardM, s.FunnelM = 0, max(s.GuardM, s.StandpipeM, 0.005), 0
			if s.LowerLongM == 0 || s.LowerM == 0 {
				s.LowerLongM, s.LowerM = 0, 0
			}
			if s.CrestM >= b.Rim() {
				b.Siphon = nil
			}
		}
		if p := b.Standpipe; p != nil {
			p.CrestM = min(1, 0.02+0.9*(b.Rim()-0.02))
			p.WeepAt = min(p.WeepAt, p.CrestM/2)
			if p.CrestM >= b.Rim() {
				b.Standpipe = nil
			}
		}
	}
}

// possible takes out what the checks refuse as impossible: water that kills,
// more in a tank, bed or store than it can hold, things put by in the future.
func (m *maker) possible(s *Site) {
	areaM2, roomKg := map[string]float64{}, map[string]float64{}
	for i := range s.Zones {
		if z := &s.Zones[i]; z.VentM3s == 0 {
			z.Pad = nil // fans draw the air through it
		}
	}
	for i := range s.Loops {
		l := &s.Loops[i]
		for j := range l.Tanks {
			l.Tanks[j].WaterC = rapid.SampledFrom([]float64{0, 18}).Draw(m.t, "water")
			l.Tanks[j].VolumeM3 = 1000
		}
		for _, b := range l.Beds {
			areaM2[b.Name] = b.GrowingM2()
		}
	}
	s.Place.Normals, s.Place.Climate = nil, rapid.SampledFrom([]string{"London Heathrow", "Amsterdam Schiphol"}).Draw(m.t, "climate")
	s.Place.LatitudeDeg = float64(rapid.IntRange(10, 35).Draw(m.t, "latitude"))
	if rapid.Bool().Draw(m.t, "own normals") {
		for month := 1; month <= 12; month++ {
			n := MonthNormals{Month: month, MinC: float64(rapid.IntRange(-200, 150).Draw(m.t, "min")) / 10, RadiationMJm2: float64(rapid.IntRange(50, 140).Draw(m.t, "radiation")) / 10}
			n.MaxC = n.MinC + float64(rapid.IntRange(0, 15).Draw(m.t, "span"))
			s.Place.Normals = append(s.Place.Normals, n)
		}
	}
	o := &s.Opening
	for i := range o.Cohorts {
		o.Cohorts[i].Count, o.Cohorts[i].Keep = min(o.Cohorts[i].Count, 100), min(o.Cohorts[i].Keep, 100)
		o.Cohorts[i].WeightKg = min(o.Cohorts[i].WeightKg, 1)
		if o.Cohorts[i].Stocked.Before(o.Date.Time) {
			o.Cohorts[i].Stocked = Date{}
		}
	}
	for i := range o.Plantings {
		p := &o.Plantings[i]
		p.AreaM2 = min(p.AreaM2, areaM2[p.Bed]/float64(len(o.Plantings)))
		if !p.Pull.After(p.Planted.Time) {
			p.Pull = Date{}
		}
	}
	for _, p := range s.Larder {
		roomKg[p.Name] = p.CapacityKg
	}
	for i := range o.Larder {
		p := &o.Larder[i]
		p.MassKg = min(p.MassKg, roomKg[p.Place]/float64(len(o.Larder)))
		if p.Since.After(o.Date.Time) {
			p.Since = o.Date
		}
	}
}

func TestWriteAndReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := maker{t: t}
		roundTrip(t, m.site())
	})
}

func TestTextsSurvive(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _, err := Read("small", []byte(small))
		if err != nil {
			t.Fatalf("%v", err)
		}
		s.Note = rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{
			"no", "Null", "~", "1", "0x1f", "1e3", "- a", "a: b", "a #b", "'", "\"", "\\", " lead", "trail ", "a\nb\n", "\t", "2027-01-11",
			"[a]", "{a}", "&a", "*a", "!a", "%a", "@a", "`a", "|", ">", "?", ".nan", "\u00a0", "\u2028", "\ufeff", "\u0085", "ſ", "🐟", "a:", "\r", "---", "...",
		})).Draw(t, "note")
		roundTrip(t, s)
	})
}

func TestWriteLooks(t *testing.T) {
	s := &Site{Schema: 1, Name: "Gull: Cottage", Units: "metric", Currency: "EUR",
		Zones:  []Zone{{Name: "hall", FloorM2: 40, Light: 0.6}},
		Loops:  []Loop{{Name: "north", Beds: []Bed{{Name: "b", Kind: "media", Zone: "hall", AreaM2: 2, Tiers: 1, Siphon: &Siphon{}}}}},
		Prices: Prices{LabourPerS: 0.25},
		HomeFed: []HomeFedDays{{Name: "days", From: On(2027, 3, 27), To: On(2027, 3, 28),
			Eaters: []string{"Ada", "yes"}, AdultFloor: 0.8}},
	}
	got, err := Write(s)
	want := `schema: 1
name: "Gull: Cottage"
units: metric
currency: EUR
place:
  latitude: 0 deg
  longitude: 0 deg
zones:
- name: hall
  floor: 40 m2
  light: 60 %
loops:
- name: north
  beds:
  - name: b
    kind: media
    zone: hall
    area: 2 m2
    tiers: 1
    siphon: {}
home-fed:
- name: days
  from: 2027-03-27
  to: 2027-03-28
  eaters:
  - Ada
  - "yes"
  adult-floor: 80 %
prices:
  labour: 0.25 EUR/s
`
	if diff := cmp.Diff(want, string(got)); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
}

func TestWriteRefuses(t *testing.T) {
	for _, row := range []struct {
		spoil func(*Site)
		want  string
	}{
		{func(s *Site) { s.Place.ElevationM = math.NaN() }, "write site: place.elevation: NaN"},
		{func(s *Site) { s.Zones[0].FloorM2 = math.Inf(1) }, "write site: zones[0].floor: +Inf"},
		{func(s *Site) { s.Note = "\xff" }, `write site: note: "\xff" is not UTF-8`},
	} {
		s, _, err := Read("small", []byte(small))
		if err != nil {
			t.Fatal(err)
		}
		row.spoil(s)
		if _, err := Write(s); err == nil || !strings.HasPrefix(err.Error(), row.want) {
			t.Errorf("Write: %v, want %s", err, row.want)
		}
	}
}

// A place on the equator at the prime meridian has a latitude all the same.
func TestZeroThatMustBeGiven(t *testing.T) {
	s, _, err := Read("small", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	s.Place = Place{Climate: "London Heathrow"} // latitude and longitude 0
	text, err := Write(s)
	if err != nil {
		t.Fatal(err)
	}
	back, _, err := Read("written", text)
	if err != nil || !reflect.DeepEqual(back.Place, s.Place) {
		t.Errorf("%v\n%s", err, text)
	}
}

func TestParsePumpPoint(t *testing.T) {
	p, err := ParsePumpPoint("60 L/min : 3.5 m : 110 W")
	if err != nil || math.Abs(p.FlowM3s-0.001) > 1e-15 || p.HeadM != 3.5 || p.WireW != 110 {
		t.Errorf("%+v, %v", p, err)
	}
	for _, bad := range []string{"", ":", "60 L/min", "60:3", "3 m:60 L/min", "-1 L/min:3 m", "1 L/min:1 m:1 W:1", "1 L/min:1 m:-1 W"} {
		if _, err := ParsePumpPoint(bad); err == nil {
			t.Errorf("ParsePumpPoint(%q) is taken", bad)
		}
	}
}

func TestSuggestion(t *testing.T) {
	for _, row := range []struct {
		given string
		known []string
		want  string
	}{
		{"lenght", []string{"length", "width"}, "; did you mean `length`?"},
		{"x", []string{"length", "width"}, "; known: length, width"},
		{"x", nil, ""},
		{strings.Repeat("x", 1000), []string{"length"}, "; known: length"},
	} {
		if got := suggestion(row.given, row.known, "known"); got != row.want {
			t.Errorf("suggestion(%.10q) = %q, want %q", row.given, got, row.want)
		}
	}
	for _, row := range []struct {
		a, b string
		want int
	}{{"", "abc", 3}, {"lenght", "length", 1}, {"kitten", "sitting", 3}, {"same", "same", 0}, {"böe", "boe", 1}} {
		if got := letterChanges(row.a, row.b); got != row.want {
			t.Errorf("letterChanges(%q, %q) = %d, want %d", row.a, row.b, got, row.want)
		}
	}
}

func TestKindsAreKnown(t *testing.T) {
	for tag, kind := range kindOf {
		if kind.SIUnit() == "" {
			t.Errorf("%s: quantity knows no kind %q", tag, kind)
		}
		if text := quantity.Exact(3, kind); text == "" {
			t.Errorf("%s: nothing written", tag)
		}
	}
}
