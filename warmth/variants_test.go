package warmth

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"tidebed/climate"
	"tidebed/science/fabric"
	"tidebed/site"
)

// filmHouse is a bare house of single film, 6 × 12 m, with the leaks and the edge of
// such houses, no sun, no tanks, one night all year.
func filmHouse() *site.Site {
	s := &site.Site{Schema: site.Schema, Name: "film house", Currency: "EUR"}
	s.Place = site.Place{LatitudeDeg: 44, LongitudeDeg: 0}
	for m := range 12 { // a year of one winter night: no sun to speak of
		s.Place.Normals = append(s.Place.Normals, site.MonthNormals{Month: m + 1, MaxC: 1, MinC: -1, Humidity: 0.8, RadiationMJm2: 0.01, WindMS: 6.7})
	}
	s.Zones = []site.Zone{{Name: "house", FloorM2: 72, HeightM: 2.95, DayC: 12, NightC: 12, Light: 0.6, AirChangesH: 0.75, EdgeM: 36}}
	s.Surfaces = []site.Surface{
		{Zone: "house", Kind: "wall", Cover: "polyethylene-single-film-uv", AreaM2: 88.2, UWm2K: 6.5, TiltDeg: 90, AzimuthDeg: 180},
		{Zone: "house", Kind: "window", Cover: "polyethylene-single-film-uv", AreaM2: 80.5, UWm2K: 6.5, TiltDeg: 27},
	}
	s.Heaters = []site.Heater{{Name: "stove", Zone: "house", PowerW: 40000, Fuel: "propane", Efficiency: 0.8}}
	s.Prices = site.Prices{FuelPerUnit: 0.80, ElectricityPerJ: 0.3 / 3.6e6}
	return s
}

func runOf(t testing.TB, days int, leaves []Leaves) func(*site.Site) (*Year, error) {
	return func(s *site.Site) (*Year, error) {
		return Run(context.Background(), s, weather(t, s), leaves, site.On(2027, 1, 1), days)
	}
}

func variant(t *testing.T, all []Variant, key, part string) Variant {
	t.Helper()
	i := slices.IndexFunc(all, func(v Variant) bool { return v.Key == key && v.Part == part })
	if i < 0 {
		t.Fatalf("there is no variant %s of %s", key, part)
	}
	return all[i]
}

// A second skin over single film saves about a third of the heat: 35 % (Sanford,
// Extension Foundation), 34 % (Rasheed et al. 2018).
func TestSecondSkinSavesAThird(t *testing.T) {
	s := filmHouse()
	before, _ := site.Write(s)
	all, err := Variants(context.Background(), runOf(t, 31, nil), s)
	if err != nil {
		t.Fatal(err)
	}
	if after, _ := site.Write(s); string(after) != string(before) {
		t.Error("the site was changed")
	}
	skin := variant(t, all, VariantSkin, "house")
	t.Logf("second skin saves %.3f, %.0f kWh, %.2f", skin.SavedShare, skin.SavedKWh, skin.SavedMoney)
	if !(skin.SavedShare > 0.32 && skin.SavedShare < 0.37) {
		t.Errorf("a second skin saves %.3f of the heat, published 0.34 to 0.35", skin.SavedShare)
	}
	// By hand: of 6.5 × 168.7 + 1.3 × 53.4 (leaks in a wind of 7 m/s) + 1.38 × 36 W/K,
	// (6.5 - 3.99) × 168.7 go; the rest is what the floor gives and takes.
	u, err := fabric.UWithSecondSkin(6.5, 6.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "share by hand", skin.SavedShare, (6.5-u)*168.7/(6.5*168.7+1.3*53.4+1.38*36), 0.005)
	// Propane at 0.80 a litre, 0.80 HHV: 0.1412 a kWh (power's check value).
	near(t, "money for a kWh", skin.SavedMoney/skin.SavedKWh, 0.1412, 0.0005)
	near(t, "CO2 for a kWh", skin.SavedCO2Kg/skin.SavedKWh, 0.2145/0.8, 1e-4)
	near(t, "payback", *skin.PaybackLowY, 3*168.7/skin.SavedMoney, 1e-9)
	for i := 1; i < len(all); i++ {
		a, b := &all[i-1], &all[i]
		if before, after := a.rank(true), b.rank(true); before > after || before == after && a.SavedMoney < b.SavedMoney {
			t.Errorf("%s of rank %d, %.0f before %s of rank %d, %.0f", a.Key, before, a.SavedMoney, b.Key, after, b.SavedMoney)
		}
	}
}

// The demo building's variants: each is reckoned, says what it does and what else
// it does, and saves in the direction it must.
func TestVariantsOfTheDemoBuilding(t *testing.T) {
	s := demo(t)
	all, err := Variants(context.Background(), runOf(t, 365, fullLeaves), s)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range all {
		t.Logf("%-16s %-12s %7.0f kWh %6.0f kWh el %7.0f EUR %6.0f kg; %.0f-%.0f %v", v.Key, v.Part, v.SavedKWh, v.SavedPowerKWh, v.SavedMoney, v.SavedCO2Kg, v.CostLow, v.CostHigh, v.Notes)
		if v.Fault != "" {
			t.Errorf("%s of %s: %s", v.Key, v.Part, v.Fault)
		}
		if !strings.HasSuffix(v.Caution, ".") || !strings.HasSuffix(v.What, ".") || math.IsNaN(v.SavedMoney) {
			t.Errorf("%s of %s: %+v", v.Key, v.Part, v)
		}
		switch v.Key {
		case VariantCurtain, VariantSkin, VariantSealing, VariantTank, VariantSump, VariantTankSet, VariantZoneSet, VariantCloseLoop, VariantCloseZone:
			if !(v.SavedKWh > 0) {
				t.Errorf("%s of %s saves %g kWh", v.Key, v.Part, v.SavedKWh)
			}
		case VariantHeatPump:
			near(t, "a heat pump's heat", v.SavedKWh, 0, 1)
		case VariantLampHours:
			if !(v.SavedMoney > 0) {
				t.Errorf("lamps by night save %g", v.SavedMoney)
			}
		}
	}
	// Closing the warm end saves what its heaters give in the five months, but for the
	// little that keeps frost out.
	base := yearOf(t, s, 365)
	winterKWh := 0.0
	for _, m := range base.Months {
		if m.Month >= 11 || m.Month <= 3 {
			winterKWh += m.HeaterKWh[0] + m.HeaterKWh[2]
		}
	}
	if closed := variant(t, all, VariantCloseZone, "warm end"); !(closed.SavedKWh > 0.9*winterKWh && closed.SavedKWh < 1.01*winterKWh && closed.SavedPowerKWh > 0) {
		t.Errorf("closing saves %+v, its heaters give %g kWh", closed, winterKWh)
	}
	pay, closed, most3, err := Together(context.Background(), runOf(t, 365, fullLeaves), s, all)
	if err != nil {
		t.Fatal(err)
	}
	said := pay.Say(closed, most3)
	t.Log(said)
	for _, want := range []string{"the second film in it takes about an eighth of the light of warm end", "Close warm end for the five winter months as well, and ", "If besides you keep tilapia at 24 °C instead of 26", "keep cool hall 2 K cooler"} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not in: %s", want, said)
		}
	}
	loses := strings.Join(closed.Loses, "\n")
	for _, want := range []string{"90 Nile tilapia (tilapia)", "south 1, south 2, south 3, raft 1 and raft 2", "main rack (40 trays)", "Swiss chard in south 1, planted 25 January 2027", "March rehearsal, from 27 March 2027", "once the water is ripe again"} {
		if !strings.Contains(loses, want) {
			t.Errorf("%q is not in: %s", want, loses)
		}
	}
	if strings.Contains(loses, "October") || strings.Contains(loses, "trout") || strings.Contains(loses, "otato") {
		t.Errorf("closing the warm end takes too much: %s", loses)
	}
	if first := First(all); first == nil || first.Key != all[0].Key || !first.pays() {
		t.Errorf("first %+v", first)
	}
	if v := variant(t, all, VariantSealing, "warm end"); v.Loses != nil {
		t.Errorf("sealing takes %v", v.Loses)
	}
	if most3 == nil || most3.SavedMoney <= closed.SavedMoney {
		t.Errorf("kept cooler as well %+v, without %+v", most3, closed)
	}
	most, sum := 0.0, 0.0
	for i := range all {
		if v := &all[i]; v.pays() {
			most, sum = max(most, v.SavedMoney), sum+v.SavedMoney
		}
	}
	if !(pay.SavedMoney > most && pay.SavedMoney < sum && len(pay.Measures) > 2) {
		t.Errorf("together %+v; the best alone saves %g, all alone %g", pay, most, sum)
	}
	if !(closed != nil && closed.SavedMoney > pay.SavedMoney && closed.SavedShare < 1) {
		t.Errorf("closed as well %+v", closed)
	}
	for _, key := range []string{VariantCurtain, VariantSkin} { // twice as much as it can be would be wrong
		if v := variant(t, all, key, "warm end"); !(v.SavedShare < 0.5) {
			t.Errorf("%s saves %g of the heat", key, v.SavedShare)
		}
	}
}

// A stopped context stops the run.
func TestVariantsStop(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Variants(ctx, runOf(t, 3, nil), filmHouse()); err == nil {
		t.Error("it went on")
	}
}

// Fish of cool water take less heat for a kilogram than those of warm water whose
// growth is like theirs.
func TestFishHeat(t *testing.T) {
	s := demo(t)
	rows, err := FishHeat(context.Background(), runOf(t, 365, fullLeaves), s, "tilapia")
	if err != nil {
		t.Fatal(err)
	}
	at := func(id string) FishHeatRow {
		return rows[slices.IndexFunc(rows, func(r FishHeatRow) bool { return r.Species == id })]
	}
	for i, r := range rows {
		t.Logf("%-18s %4.1f °C %6.0f kWh %5.0f d %5.0f kg %6.2f kWh/kg %5.2f/kg %s", r.Species, r.BestC, r.HeatKWh, r.GrowDays, r.KgYear, r.KWhKg, r.MoneyKg, r.Note)
		if i > 0 && r.KWhKg < rows[i-1].KWhKg {
			t.Error("not by heat for a kilogram")
		}
		near(t, "heat of all", r.KWhKg*r.KgYear, r.HeatKWh, 1e-6)
	}
	if trout, tilapia := at("trout_rainbow"), at("tilapia_nile"); !(trout.HeatKWh < tilapia.HeatKWh/2) {
		t.Errorf("trout %g kWh, tilapia %g", trout.HeatKWh, tilapia.HeatKWh)
	}
	if _, err := FishHeat(context.Background(), runOf(t, 1, nil), s, "pond"); err == nil {
		t.Error("a tank that is not there was taken")
	}
}

var _ climate.Sky = (*climate.Weather)(nil)
