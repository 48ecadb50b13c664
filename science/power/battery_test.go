package power_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/power"
)

func TestBatterySize(t *testing.T) {
	near(t, "battery", must(power.BatteryKWh(150, 12, power.LithiumShare, 0.9))(t), 2.5, 1e-9)
	near(t, "battery", must(power.BatteryKWh(100, 10, power.LeadAcidShare, 0.8))(t), 2.5, 1e-9)
	for _, row := range [][4]float64{{-1, 1, 0.5, 0.9}, {1, 1, 1.01, 0.9}, {1, 1, 0.5, 1.1}, {1, math.NaN(), 0.5, 0.9}, {1, 1, 0, 0.9}} {
		_, err := power.BatteryKWh(row[0], row[1], row[2], row[3])
		refused(t, "battery", err)
	}
	b := power.Lithium(2.5)
	b.DischargeEff = 0.9
	h, ok, err := b.HoursOn(2.5, 150)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	near(t, "hours on 2.5 kWh", h, 12, 1e-9)
	if _, ok, err := b.HoursOn(2.5, 5000); ok || err != nil {
		t.Errorf("2.5 kWh give 5 kW: %v, %v", ok, err)
	}
	if h, ok, err := b.HoursOn(0.2, 100); !ok || err != nil || h != 0 {
		t.Errorf("an empty battery lasts %g h, %v, %v", h, ok, err)
	}
	near(t, "usable", b.UsableKWh(), 2.5*0.8*0.9, 1e-12)
}

// Hours worked by hand with a battery that stores 0.9 of what goes in and gives
// 0.8 of what is drawn.
func TestDispatchByHand(t *testing.T) {
	b := power.Battery{CapacityKWh: 10, DischargeShare: 0.8, ChargeEff: 0.9, DischargeEff: 0.8, ChargeKW: 3, DischargeKW: 2}
	iron := b
	iron.Lithium = true
	twoPrices := &power.Tariff{Bands: []power.Band{{FromH: 22, ToH: 6, PriceKWh: 0.10}, {FromH: 6, ToH: 22, PriceKWh: 0.30}}, ExportKWh: 0.05}
	flat := power.Flat(0.25, 0.4)
	for _, row := range []struct {
		name   string
		b      power.Battery
		stored float64
		h      power.Hour
		want   power.Flow
	}{
		{"sun over the load fills it", b, 5, power.Hour{LoadKWh: 1, PVKWh: 3}, power.Flow{Charge: 2, StoredKWh: 6.8, Lost: 0.2}},
		{"no faster than it takes", b, 5, power.Hour{LoadKWh: 1, PVKWh: 6}, power.Flow{Charge: 3, Spill: 2, StoredKWh: 7.7, Lost: 0.3}},
		{"no more than it holds", b, 9.1, power.Hour{PVKWh: 6}, power.Flow{Charge: 1, Spill: 5, StoredKWh: 10, Lost: 0.1}},
		{"lack comes from it", b, 5, power.Hour{LoadKWh: 2, PVKWh: 0.4}, power.Flow{Discharge: 1.6, StoredKWh: 3, Lost: 0.4}},
		{"no faster than it gives", b, 9, power.Hour{LoadKWh: 3}, power.Flow{Discharge: 2, Unmet: 1, StoredKWh: 6.5, Lost: 0.5}},
		{"not below its lowest", b, 3, power.Hour{LoadKWh: 2}, power.Flow{Discharge: 0.8, Unmet: 1.2, StoredKWh: 2, Lost: 0.2}},
		{"the grid takes the rest", b, 3, power.Hour{LoadKWh: 2, Grid: &flat}, power.Flow{Discharge: 0.8, Grid: 1.2, StoredKWh: 2, Lost: 0.2, Cost: 0.3}},
		{"the reserve stays", b, 5, power.Hour{LoadKWh: 2, Grid: &flat, ReserveKWh: 4.5}, power.Flow{Discharge: 0.4, Grid: 1.6, StoredKWh: 4.5, Lost: 0.1, Cost: 0.4}},
		{"the reserve helps a weak grid", b, 5, power.Hour{LoadKWh: 2, Grid: &flat, ReserveKWh: 5, GridMaxKW: 1}, power.Flow{Discharge: 1, Grid: 1, StoredKWh: 3.75, Lost: 0.25, Cost: 0.25}},
		{"without a grid the reserve is for now", b, 5, power.Hour{LoadKWh: 1.6, ReserveKWh: 5}, power.Flow{Discharge: 1.6, StoredKWh: 3, Lost: 0.4}},
		{"it rests in cheap hours", b, 5, power.Hour{LoadKWh: 1, Grid: twoPrices, HourOfDay: 23}, power.Flow{Grid: 1, StoredKWh: 5, Cost: 0.1}},
		{"and gives in dear ones", b, 5, power.Hour{LoadKWh: 1, Grid: twoPrices, HourOfDay: 6}, power.Flow{Discharge: 1, StoredKWh: 3.75, Lost: 0.25}},
		{"it is filled in cheap hours", b, 5, power.Hour{LoadKWh: 1, Grid: twoPrices, HourOfDay: 2, FillCheap: true}, power.Flow{Charge: 3, Grid: 4, StoredKWh: 7.7, Lost: 0.3, Cost: 0.4}},
		{"one price: nothing to gain", b, 5, power.Hour{Grid: &flat, FillCheap: true}, power.Flow{StoredKWh: 5}},
		{"what is over is sold", power.Battery{}, 0, power.Hour{LoadKWh: 1, PVKWh: 3, Grid: twoPrices, HourOfDay: 12}, power.Flow{Spill: 2, Cost: -0.1}},
		{"frost spares lithium", iron, 5, power.Hour{LoadKWh: 1, PVKWh: 3, BatteryC: -0.1}, power.Flow{Spill: 2, StoredKWh: 5, Frozen: true}},
		{"it still gives in frost", iron, 5, power.Hour{LoadKWh: 1.6, BatteryC: -5}, power.Flow{Discharge: 1.6, StoredKWh: 3, Lost: 0.4}},
		{"lead is charged in frost", b, 5, power.Hour{LoadKWh: 1, PVKWh: 3, BatteryC: -5}, power.Flow{Charge: 2, StoredKWh: 6.8, Lost: 0.2}},
		{"no filling of frozen lithium", iron, 5, power.Hour{Grid: twoPrices, HourOfDay: 2, FillCheap: true, BatteryC: -5}, power.Flow{StoredKWh: 5, Frozen: true}},
	} {
		got, err := power.Dispatch(row.b, row.stored, row.h)
		if err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		for _, v := range []struct {
			name      string
			got, want float64
		}{
			{"charge", got.Charge, row.want.Charge}, {"discharge", got.Discharge, row.want.Discharge}, {"grid", got.Grid, row.want.Grid}, {"spill", got.Spill, row.want.Spill},
			{"unmet", got.Unmet, row.want.Unmet}, {"lost", got.Lost, row.want.Lost}, {"stored", got.StoredKWh, row.want.StoredKWh}, {"cost", got.Cost, row.want.Cost},
		} {
			near(t, row.name+": "+v.name, v.got, v.want, 1e-9)
		}
		if got.Frozen != row.want.Frozen {
			t.Errorf("%s: frozen %v", row.name, got.Frozen)
		}
	}
}

// A filling that loses more than the prices differ is left.
func TestNoFillingAtALoss(t *testing.T) {
	b := power.Battery{CapacityKWh: 10, DischargeShare: 0.8, ChargeEff: 0.9, DischargeEff: 0.8, ChargeKW: 3, DischargeKW: 2}
	for _, row := range []struct{ dear, want float64 }{{0.138, 0}, {0.140, 3}} { // 0.10 / 0.72 = 0.1389
		tariff := power.Tariff{Bands: []power.Band{{FromH: 22, ToH: 6, PriceKWh: 0.10}, {FromH: 6, ToH: 22, PriceKWh: row.dear}}}
		f := must(power.Dispatch(b, 5, power.Hour{Grid: &tariff, HourOfDay: 1, FillCheap: true}))(t)
		near(t, "filled", f.Charge, row.want, 1e-9)
	}
}

func TestDispatchRefuses(t *testing.T) {
	b := power.LeadAcid(10)
	bad := power.Tariff{Bands: []power.Band{{FromH: 0, ToH: 12, PriceKWh: 0.1}}}
	deep := b
	deep.DischargeShare = 1.1
	for _, row := range []struct {
		name   string
		b      power.Battery
		stored float64
		h      power.Hour
	}{
		{"load", b, 5, power.Hour{LoadKWh: -1}}, {"panels", b, 5, power.Hour{PVKWh: math.NaN()}}, {"overfull", b, 10.1, power.Hour{}}, {"below empty", b, -0.1, power.Hour{}},
		{"reserve", b, 5, power.Hour{ReserveKWh: 11}}, {"hour", b, 5, power.Hour{HourOfDay: 24}}, {"tariff", b, 5, power.Hour{Grid: &bad}}, {"depth", deep, 5, power.Hour{}},
		{"without a battery", power.Battery{}, 1, power.Hour{}}, {"temperature", b, 5, power.Hour{BatteryC: math.Inf(-1)}},
	} {
		_, err := power.Dispatch(row.b, row.stored, row.h)
		refused(t, row.name, err)
	}
}

// Whatever comes: energy is kept, the battery stays within its bounds and rates,
// nothing is taken while something is spilled, and nothing goes in and out at once.
func TestDispatchKeepsEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		b := power.Battery{
			CapacityKWh: number("capacity", 0, 30), DischargeShare: number("depth", 0.05, 1), ChargeEff: number("in", 0.5, 1), DischargeEff: number("out", 0.5, 1),
			ChargeKW: number("charge", 0, 10), DischargeKW: number("discharge", 0, 10), Lithium: rapid.Bool().Draw(t, "lithium"),
		}
		dear := number("dear", 0.1, 1)
		tariff := power.Tariff{Bands: []power.Band{{FromH: 22, ToH: 7, PriceKWh: 0.1}, {FromH: 7, ToH: 22, PriceKWh: dear}}, ExportKWh: number("export", 0, 0.2)}
		stored := number("stored", 0, b.CapacityKWh)
		for hour := range 48 {
			h := power.Hour{
				LoadKWh: number("load", 0, 8), PVKWh: number("pv", 0, 8), HourOfDay: hour % 24, BatteryC: number("tempC", -20, 30),
				ReserveKWh: number("reserve", 0, b.CapacityKWh), FillCheap: rapid.Bool().Draw(t, "fill"), GridMaxKW: number("limit", 0, 5),
			}
			if rapid.Bool().Draw(t, "grid") {
				h.Grid = &tariff
			}
			f, err := power.Dispatch(b, stored, h)
			if err != nil {
				t.Fatal(err)
			}
			const tiny = 1e-9
			if d := h.PVKWh + f.Grid + f.Discharge + f.Unmet - h.LoadKWh - f.Charge - f.Spill; math.Abs(d) > tiny {
				t.Fatalf("hour %d: %g kWh are lost or made: %+v", hour, d, f)
			}
			if d := stored + f.Charge - f.Discharge - f.Lost - f.StoredKWh; math.Abs(d) > tiny {
				t.Fatalf("hour %d: the battery loses %g kWh more than it says: %+v", hour, d, f)
			}
			if f.StoredKWh < 0 || f.StoredKWh > b.CapacityKWh || f.Discharge > 0 && f.StoredKWh < b.LowestKWh()-tiny {
				t.Fatalf("hour %d: stored %g of %g", hour, f.StoredKWh, b.CapacityKWh)
			}
			for _, v := range []float64{f.Charge, f.Discharge, f.Grid, f.Spill, f.Unmet, f.Lost} {
				if v < 0 {
					t.Fatalf("hour %d: a flow runs backwards: %+v", hour, f)
				}
			}
			switch {
			case f.Charge > b.ChargeKW+tiny || f.Discharge > b.DischargeKW+tiny:
				t.Fatalf("hour %d: too fast: %+v", hour, f)
			case f.Charge > 0 && f.Discharge > 0 || f.Spill > tiny && (f.Grid > 0 || f.Discharge > 0 || f.Unmet > 0):
				t.Fatalf("hour %d: in and out at once: %+v", hour, f)
			case b.Lithium && h.BatteryC < 0 && f.Charge > 0:
				t.Fatalf("hour %d: lithium charged at %g °C", hour, h.BatteryC)
			case h.Grid == nil && (f.Grid > 0 || f.Cost != 0), h.GridMaxKW > 0 && f.Grid > h.GridMaxKW+tiny:
				t.Fatalf("hour %d: from a grid that cannot: %+v", hour, f)
			case f.Unmet > tiny && f.Discharge < b.DischargeKW-tiny && f.StoredKWh > b.LowestKWh()+tiny:
				t.Fatalf("hour %d: %g unmet beside a battery that could: %+v", hour, f.Unmet, f)
			}
			stored = f.StoredKWh
		}
	})
}

func TestCritical(t *testing.T) {
	air := power.Load{Name: "air pump", RunningW: 60, StartFactor: 1.5, HoursDay: 24, HoldH: 0.5}
	pump := power.Load{Name: "main pump", RunningW: 120, StartFactor: 4, HoursDay: 24, HoldH: 3}
	boiler := power.Load{Name: "boiler", RunningW: 100, HoursDay: 12, HoldH: 8}
	lamps := power.Load{Name: "lamps", RunningW: 600, HoursDay: 14, HoldH: math.Inf(1)}
	loads := []power.Load{lamps, boiler, pump, air}
	d := must(power.Together(loads))(t)
	near(t, "running", d.RunningW, 880, 1e-9)
	near(t, "peak", d.PeakW, 880+360, 1e-9)
	near(t, "day", d.KWhDay, 1.44+2.88+1.2+8.4, 1e-9)
	near(t, "generator", power.GeneratorW(d), 1240, 1e-9)
	near(t, "generator of heaters", power.GeneratorW(power.Demand{RunningW: 800, PeakW: 800}), 1000, 1e-9)
	for _, row := range []struct {
		availableW float64
		keep       string
	}{{0, ""}, {90, "air pump"}, {300, "air pump,boiler"}, {540, "air pump,main pump"}, {640, "air pump,main pump,boiler"}, {1240, "air pump,main pump,boiler,lamps"}} {
		keep, leave, err := power.Keep(loads, row.availableW)
		if err != nil {
			t.Fatal(err)
		}
		names := ""
		for i, l := range keep {
			if i > 0 {
				names += ","
			}
			names += l.Name
		}
		if names != row.keep || len(keep)+len(leave) != len(loads) {
			t.Errorf("%g W keep %q, want %q", row.availableW, names, row.keep)
		}
	}
	_, err := power.Together([]power.Load{{RunningW: -1}})
	refused(t, "a load below 0", err)
	_, _, err = power.Keep([]power.Load{{RunningW: 1, HoldH: math.NaN()}}, 10)
	refused(t, "a hold of no number", err)

	fuel := must(power.GeneratorFuelL(2000, 10))(t)
	near(t, "litres, low", fuel.Low, 7, 1e-9)
	near(t, "litres, high", fuel.High, 10, 1e-9)
	near(t, "hours of a tank", must(power.GeneratorHours(10, 2000))(t), 10, 1e-9)
	_, err = power.GeneratorHours(10, 0)
	refused(t, "a tank without a load", err)
}
