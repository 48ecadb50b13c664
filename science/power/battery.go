package power

import (
	"fmt"
	"math"
)

// Battery is a store of electricity with its limits. The zero value stores nothing.
type Battery struct {
	CapacityKWh    float64 // full, as the maker rates it
	DischargeShare float64 // of the capacity that may be drawn: depth of discharge, 0.05 to 1
	ChargeEff      float64 // stored of what goes in, 0.5 to 1
	DischargeEff   float64 // given of what is drawn, inverter included, 0.5 to 1
	ChargeKW       float64 // most that goes in
	DischargeKW    float64 // most that comes out
	Lithium        bool    // never charged below 0 °C
}

// Usual shares of a battery that may be drawn; common practice, no source.
const (
	LeadAcidShare = 0.5
	LithiumShare  = 0.8 // lithium iron phosphate
)

// LeadAcid is a lead-acid battery of a capacity with the usual figures: half of it
// drawn, 85 % out of what goes in, filled in ten hours, drained in five. Common
// practice, no source; the maker's figures go before these.
func LeadAcid(capacityKWh float64) Battery {
	oneWay := math.Sqrt(0.85)
	return Battery{capacityKWh, LeadAcidShare, oneWay, oneWay, capacityKWh / 10, capacityKWh / 5, false}
}

// Lithium is a battery of lithium iron phosphate with the usual figures: 80 % of
// it drawn, 92 % out of what goes in, filled and drained in two hours. Common
// practice, no source; the maker's figures go before these.
func Lithium(capacityKWh float64) Battery {
	oneWay := math.Sqrt(0.92)
	return Battery{capacityKWh, LithiumShare, oneWay, oneWay, capacityKWh / 2, capacityKWh / 2, true}
}

// LowestKWh is what stays in the battery.
func (b Battery) LowestKWh() float64 { return b.CapacityKWh * (1 - b.DischargeShare) }

// UsableKWh is what a battery gives from full to its lowest.
func (b Battery) UsableKWh() float64 { return b.CapacityKWh * b.DischargeShare * b.DischargeEff }

func (b Battery) valid() error {
	if b == (Battery{}) {
		return nil
	}
	return check("battery", bound{"capacity", b.CapacityKWh, 0, 1e6, "kWh"}, bound{"share that may be drawn", b.DischargeShare, 0.05, 1, ""},
		bound{"share stored of what goes in", b.ChargeEff, 0.5, 1, ""}, bound{"share given of what is drawn", b.DischargeEff, 0.5, 1, ""},
		bound{"most that goes in", b.ChargeKW, 0, MostPowerKW, "kW"}, bound{"most that comes out", b.DischargeKW, 0, MostPowerKW, "kW"})
}

// BatteryKWh is the capacity that carries a steady load for some hours.
//
//	loadW           0 to MostPowerW
//	hours           0 to 8784
//	dischargeShare  that may be drawn, 0.05 to 1: LeadAcidShare, LithiumShare
//	efficiency      given of what is drawn, 0.5 to 1; 0.85 to 0.95 is usual
//
// Cold takes up to half of what a lead-acid battery holds, and age a fifth of any:
// buy a quarter more.
//
// Common practice. Check: 150 W, 12 h, 0.8, 0.9: 2.5 kWh.
func BatteryKWh(loadW, hours, dischargeShare, efficiency float64) (float64, error) {
	if err := check("battery", bound{"load", loadW, 0, MostPowerW, "W"}, bound{"hours", hours, 0, 8784, "h"}, bound{"share that may be drawn", dischargeShare, 0.05, 1, ""}, bound{"efficiency", efficiency, 0.5, 1, ""}); err != nil {
		return 0, err
	}
	return loadW / 1000 * hours / (dischargeShare * efficiency), nil
}

// HoursOn is how long a battery with storedKWh in it carries a steady load; ok is
// false where it cannot give the power at all, or there is no load to end it.
func (b Battery) HoursOn(storedKWh, loadW float64) (hours float64, ok bool, err error) {
	if err := b.valid(); err != nil {
		return 0, false, err
	}
	if err := check("battery", bound{"stored", storedKWh, 0, b.CapacityKWh, "kWh"}, bound{"load", loadW, 0, MostPowerW, "W"}); err != nil {
		return 0, false, err
	}
	if loadW == 0 || loadW > 1000*b.DischargeKW {
		return 0, false, nil
	}
	return max(0, storedKWh-b.LowestKWh()) * b.DischargeEff / (loadW / 1000), true, nil
}

// Hour is what Dispatch is asked to serve in one hour; kWh of the hour are its kW.
type Hour struct {
	LoadKWh    float64
	PVKWh      float64 // of panels, at the inverter
	HourOfDay  int     // 0 to 23, for the tariff
	BatteryC   float64 // the battery's own temperature
	ReserveKWh float64 // kept in the battery for a power cut while the grid is there
	Grid       *Tariff // nil: no grid, or a cut
	GridMaxKW  float64 // most the grid gives; 0: no limit
	FillCheap  bool    // fill the battery from the grid in the cheapest hours, where that pays
}

// Flow is where the energy of an hour went, in kWh:
//
//	PV + Grid + Discharge + Unmet = Load + Charge + Spill
//	StoredKWh after = before + Charge × ChargeEff - Discharge / DischargeEff
type Flow struct {
	Charge, Discharge float64 // into and out of the battery, at its terminals
	Grid              float64 // from the grid
	Spill             float64 // of the panels: given to the grid, or lost without one
	Unmet             float64 // load that nothing served
	Lost              float64 // in the battery
	StoredKWh         float64 // after the hour
	Cost              float64 // of Grid less what Spill earns, standing and demand charges aside
	Frozen            bool    // lithium below 0 °C: it was not charged though there was something to charge it with
}

// Dispatch serves one hour: panels first; what they have over fills the battery,
// the rest is spilled; what they lack comes from the battery, then from the grid.
// While a grid is there the battery keeps its reserve, and where hours differ in
// price it rests in the cheapest ones; it steps in all the same where the grid's
// power does not reach. FillCheap pays only where the cheapest price is below the
// dearest times what comes back of a kWh put in.
//
// It looks no further than the hour: a dispatcher that knew tomorrow's sun would
// leave room for it. Rates are held by the hour's mean, not by its peaks.
//
// Errors: figures outside their limits; a stored amount below 0 or above the
// capacity; a reserve above the capacity; a faulty tariff.
func Dispatch(b Battery, storedKWh float64, h Hour) (Flow, error) {
	if err := b.valid(); err != nil {
		return Flow{}, err
	}
	if err := check("dispatch", bound{"load", h.LoadKWh, 0, MostPowerKW, "kWh"}, bound{"panels", h.PVKWh, 0, MostPowerKW, "kWh"}, bound{"stored", storedKWh, 0, b.CapacityKWh, "kWh"},
		bound{"reserve", h.ReserveKWh, 0, b.CapacityKWh, "kWh"}, bound{"hour of the day", float64(h.HourOfDay), 0, hoursOfDay - 1, ""}, bound{"battery temperature", h.BatteryC, LowestAirC, 80, "°C"}, bound{"most the grid gives", h.GridMaxKW, 0, MostPowerKW, "kW"}); err != nil {
		return Flow{}, err
	}
	grid := 0.0 // most it gives
	var price, low, high float64
	if h.Grid != nil {
		prices, err := h.Grid.Prices()
		if err != nil {
			return Flow{}, fmt.Errorf("dispatch: %w", err)
		}
		price, low, high = prices[h.HourOfDay], prices[0], prices[0]
		for _, p := range prices {
			low, high = min(low, p), max(high, p)
		}
		if grid = math.Inf(1); h.GridMaxKW > 0 {
			grid = h.GridMaxKW
		}
	}
	cheap := h.Grid != nil && price == low && low < high

	var f Flow
	frozen := b.Lithium && h.BatteryC < 0
	canCharge := 0.0
	if b.CapacityKWh > 0 {
		canCharge = min(b.ChargeKW, (b.CapacityKWh-storedKWh)/b.ChargeEff)
	}
	lack, over := max(0, h.LoadKWh-h.PVKWh), max(0, h.PVKWh-h.LoadKWh)

	if lack > 0 {
		if !cheap {
			f.Discharge = min(lack, b.gives(storedKWh, h.keeps(b)))
		}
		f.Grid = min(lack-f.Discharge, grid)
		if short := lack - f.Discharge - f.Grid; short > 0 { // the grid does not reach: the reserve is for this
			f.Discharge = min(f.Discharge+short, b.gives(storedKWh, b.LowestKWh()))
			f.Unmet = max(0, lack-f.Discharge-f.Grid)
		}
	}
	if !frozen {
		f.Charge = min(over, canCharge)
	}
	f.Spill = over - f.Charge
	pays := h.FillCheap && cheap && low < high*b.ChargeEff*b.DischargeEff
	wants := over > 0 && canCharge > 0 || pays && canCharge > 0 && f.Discharge == 0
	f.Frozen = frozen && wants
	if pays && !frozen && f.Discharge == 0 && f.Spill == 0 {
		more := max(0, min(canCharge-f.Charge, grid-f.Grid))
		f.Charge += more
		f.Grid += more
	}

	f.StoredKWh = storedKWh
	if b.CapacityKWh > 0 {
		f.StoredKWh += f.Charge*b.ChargeEff - f.Discharge/b.DischargeEff
		f.StoredKWh = min(max(f.StoredKWh, 0), b.CapacityKWh) // the last digits only
		f.Lost = f.Charge*(1-b.ChargeEff) + f.Discharge*(1/b.DischargeEff-1)
	}
	if h.Grid != nil {
		f.Cost = f.Grid*price - f.Spill*h.Grid.ExportKWh
	}
	return f, nil
}

// keeps is what stays in the battery in an hour.
func (h Hour) keeps(b Battery) float64 {
	if h.Grid == nil {
		return b.LowestKWh()
	}
	return max(b.LowestKWh(), h.ReserveKWh)
}

// gives is the most that comes out in an hour down to a level.
func (b Battery) gives(storedKWh, downToKWh float64) float64 {
	return min(b.DischargeKW, max(0, storedKWh-downToKWh)*b.DischargeEff)
}
