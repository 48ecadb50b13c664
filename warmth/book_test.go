package warmth

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"tidebed/climate"
	"tidebed/site"
)

var fullLeaves = []Leaves{{AreaM2: 20, LAI: 2}, {AreaM2: 8, LAI: 2}}

// runYear carries a site through a year, two weeks of the first day before it.
func runYear(t testing.TB, s *site.Site, days int) *Book {
	t.Helper()
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	w := weather(t, s)
	day, k := b.NewDay(), NewBook(b)
	leaves := make([]Leaves, len(s.Zones))
	if len(s.Opening.Plantings) > 0 {
		copy(leaves, fullLeaves)
	}
	var sky climate.Day
	for d := -14; d < days; d++ {
		date := time.Date(2027, 1, 1+max(0, d), 0, 0, 0, 0, time.UTC)
		if err := w.Day(date, &sky); err != nil {
			t.Fatal(err)
		}
		if err := b.Day(date, &sky, leaves, day); err != nil {
			t.Fatal(err)
		}
		if d < 0 {
			continue
		}
		if err := k.Add(date, &sky, day); err != nil {
			t.Fatal(err)
		}
	}
	return k
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

func yearOf(t testing.TB, s *site.Site, days int) *Year {
	t.Helper()
	y, err := runYear(t, s, days).Year()
	if err != nil {
		t.Fatal(err)
	}
	return y
}

// A year of the demo building: energy closes, every sum meets its parts, the bill's
// lines make the total.
func TestYearCloses(t *testing.T) {
	s := demo(t)
	s.Fuels = []site.FuelStore{{Fuel: "wood-pellets", Stock: 4000, Capacity: 5000}}
	y := yearOf(t, s, 365)
	if !(y.LeftShare <= 1e-6) {
		t.Errorf("%g of the heat is unexplained", y.LeftShare)
	}
	tol := 1e-9
	var heat, burnt, electric, grid, money, ledger, loads, co2 float64
	for _, d := range y.Days {
		heat += d.HeatKWh
		electric += d.ElectricKWh
		grid += d.GridKWh
		money += d.ElectricCost
		near(t, "the sun's part used here", d.OwnKWh, d.ElectricKWh-d.GridKWh, tol)
	}
	for _, h := range y.Heaters {
		burnt += h.HeatKWh
	}
	for _, u := range y.Fuels {
		money += u.Money
	}
	near(t, "heaters' heat", burnt, heat, tol*heat)
	near(t, "electricity by use", y.Power.UsedKWh, electric, tol*electric)
	near(t, "bought by hours", y.Power.GridKWh, grid, tol*grid)
	near(t, "panels", y.Power.PVKWh, y.Power.OwnKWh+y.Power.ExportKWh+y.Power.LostKWh+y.Power.StoredKWh, tol*y.Power.PVKWh)
	bands := 0.0
	for _, b := range y.Power.Bands {
		bands += b.Money
	}
	near(t, "money by price", bands, y.Power.Money, tol*bands)
	items, months, monthHeat, monthItems := 0.0, 0.0, 0.0, 0.0
	for _, i := range y.Bill.Items {
		items += i.Money
		co2 += i.CO2Kg
	}
	for _, m := range y.Months {
		months += m.Money
		monthHeat += m.HeatKWh
		for _, i := range m.Items {
			monthItems += i.Money
		}
		for _, l := range m.Ledgers {
			ledger += l.HeatersJ / 3.6e6
		}
	}
	if items != y.Bill.Total {
		t.Errorf("the lines of the bill make %.17g, the total is %.17g", items, y.Bill.Total)
	}
	near(t, "bill against fuel and electricity", items, money, tol*money)
	near(t, "months' money", months, items, tol*items)
	near(t, "months' lines", monthItems, items, tol*items)
	near(t, "CO2 of the lines", co2, y.CO2Kg+y.CO2WoodKg, tol*co2)
	near(t, "months' heat", monthHeat, heat, tol*heat)
	zones, tanks := 0.0, 0.0
	for _, z := range y.Zones {
		zones += z.HeatKWh
	}
	for _, h := range y.Heaters {
		if h.Tank {
			tanks += h.HeatKWh
		}
	}
	near(t, "zones' ledgers", ledger, zones, tol*heat)
	near(t, "zones and tanks", zones+tanks, heat, tol*heat)
	for _, kw := range y.HourLoads() {
		loads += kw
	}
	near(t, "load curve", loads, heat, tol*heat)
	curve := y.LoadCurve()
	if len(curve) != 8760 || curve[0] != y.PeakHeatKW {
		t.Errorf("load curve of %d hours from %g, peak %g", len(curve), curve[0], y.PeakHeatKW)
	}
	for i := 1; i < len(curve); i++ {
		if curve[i] > curve[i-1] {
			t.Fatalf("load curve rises at %d", i)
		}
	}
	for j, l := range y.Loops {
		last := y.Months[len(y.Months)-1].MeterL[j]
		near(t, l.Name+" meter", last, l.ToppedUpL, 1e-6)
		near(t, l.Name+" water", l.ToppedUpL, l.EvaporatedL-l.CondensedL+l.TranspiredL-l.RecoveredL, 1e-6)
	}
	evap, leaf, cover, back := 0.0, 0.0, 0.0, 0.0
	for _, z := range y.Zones {
		evap, leaf, cover = evap+z.EvaporatedL, leaf+z.TranspiredL, cover+z.CoverL
	}
	for _, l := range y.Loops {
		evap, leaf, back = evap-l.EvaporatedL, leaf-l.TranspiredL, back+l.RecoveredL
	}
	near(t, "evaporated by zone and loop", evap, 0, 1e-6)
	near(t, "transpired by zone and loop", leaf, 0, 1e-6)
	near(t, "gutters", back, 0.3*cover, 1e-6)
	text, err := json.Marshal(y)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d kB; heat %.0f kWh, peak %.1f kW, %.0f %s, electric %.0f kWh, own %.0f %%, CO2 %.0f, topped up %.1f m³, left %.2g", len(text)/1000, y.HeatKWh, y.PeakHeatKW, y.Money, y.Currency, y.ElectricKWh, 100*y.Own.Share, y.CO2Kg, y.ToppedUpM3, y.LeftShare)
	for _, i := range y.Bill.Items {
		t.Logf("  %-16s %-10s %-20s %8.1f kWh %8.2f", i.What, i.In, i.Cause, i.KWh, i.Money)
	}
	for _, u := range y.Fuels {
		t.Logf("  %+v", u.Say)
	}
	for _, a := range y.Assumed {
		t.Log("  ", a)
	}
	t.Logf("%+v", y.Power)
}

// The book refuses days out of order and those of another building.
func TestBookRefuses(t *testing.T) {
	s := demo(t)
	k := runYear(t, s, 2)
	w := weather(t, s)
	var sky climate.Day
	date := time.Date(2027, 1, 4, 0, 0, 0, 0, time.UTC)
	if err := w.Day(date, &sky); err != nil {
		t.Fatal(err)
	}
	if err := k.Add(date, &sky, k.b.NewDay()); err == nil {
		t.Error("a gap was taken")
	}
	if err := k.Add(date.AddDate(0, 0, -1), &sky, &Day{}); err == nil {
		t.Error("a day of another building was taken")
	}
	if _, err := NewBook(k.b).Year(); err == nil {
		t.Error("an empty book gave a year")
	}
	s.Heaters[0].Efficiency = 3
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	if err := NewBook(b).Add(date, &sky, b.NewDay()); err == nil {
		t.Error("pellets burnt at 300 % were taken")
	}
}

// Within a year a day in the book allocates nothing.
func TestBookAllocatesNothing(t *testing.T) {
	s := demo(t)
	k := runYear(t, s, 40)
	w := weather(t, s)
	day := k.b.NewDay()
	var sky climate.Day
	date := time.Date(2027, 2, 10, 0, 0, 0, 0, time.UTC)
	n := testing.AllocsPerRun(100, func() {
		_ = w.Day(date, &sky)
		if err := k.Add(date, &sky, day); err != nil {
			t.Fatal(err)
		}
		date = date.AddDate(0, 0, 1)
	})
	if n > 0 {
		t.Errorf("%g allocations a day", n)
	}
}

func BenchmarkBookYear(b *testing.B) {
	s := demo(b)
	house, err := New(s, circuits(b, s), Options{GroundC: 10})
	if err != nil {
		b.Fatal(err)
	}
	w := weather(b, s)
	skies, days := make([]climate.Day, 365), make([]*Day, 365)
	first := time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)
	for d := range 365 {
		if err := w.Day(first.AddDate(0, 0, d), &skies[d]); err != nil {
			b.Fatal(err)
		}
		days[d] = house.NewDay()
		if err := house.Day(first.AddDate(0, 0, d), &skies[d], fullLeaves, days[d]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		k := NewBook(house)
		for d := range 365 {
			if err := k.Add(first.AddDate(0, 0, d), &skies[d], days[d]); err != nil {
				b.Fatal(err)
			}
		}
	}
}
