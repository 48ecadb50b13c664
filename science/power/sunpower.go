package power

// Figures of panels, from memory of data sheets and common practice.
const (
	PerformanceRatio = 0.8   // of a year: cables, inverter, dirt, mismatch, warm cells
	WithoutWarmth    = 0.85  // the same without the warmth of the cells
	LossPerK         = 0.004 // of the power, for each kelvin of the cells above 25 °C
	RatedCellC       = 25.0
	NominalCellC     = 45.0 // of a cell in 800 W/m² and air of 20 °C, free behind
	// LikelyMostPR is the highest ratio that is believed without a question.
	LikelyMostPR = 0.9
)

// PVKWh is the yield of panels: their rated power times the radiation on their
// own plane over 1 kW/m² times the performance ratio.
//
//	peakW        power at 1000 W/m² and 25 °C, 0 to MostPowerW
//	planeKWhM2   radiation on the panels' plane, 0 to 5000 kWh/m²: of a day, a month, a year
//	ratio        0.05 to 1; 0.75 to 0.80 is usual
//
// Common practice. Check: 1 kW, 5 kWh/m², 0.77: 3.85 kWh.
func PVKWh(peakW, planeKWhM2, ratio float64) (float64, error) {
	if err := check("panels", bound{"rated power", peakW, 0, MostPowerW, "W"}, bound{"radiation on the panels", planeKWhM2, 0, 5000, "kWh/m2"}, bound{"performance ratio", ratio, 0.05, 1, ""}); err != nil {
		return 0, err
	}
	return peakW / 1000 * planeKWhM2 * ratio, nil
}

// CellC is the temperature of a panel's cells in air of airC under irradiance 0
// to 1500 W/m²: the air's and (NominalCellC - 20)/800 K for each W/m². Panels flat
// on a roof run 10 K warmer; wind cools them. From memory.
//
// Check: 1000 W/m², 25 °C: 56.25 °C.
func CellC(airC, planeWM2 float64) (float64, error) {
	if err := check("cells", bound{"air temperature", airC, LowestAirC, HighestAirC, "°C"}, bound{"irradiance", planeWM2, 0, 1500, "W/m2"}); err != nil {
		return 0, err
	}
	return airC + (NominalCellC-20)/800*planeWM2, nil
}

// PVHourW is the power of panels in an hour by the warmth of their cells: 0.4 %
// less for each kelvin above 25 °C, more below.
//
//	ratio  all other losses, 0.05 to 1; WithoutWarmth is usual
//
// Check: 1 kW, 1000 W/m², air 25 °C, ratio 1: 875 W.
func PVHourW(peakW, planeWM2, airC, ratio float64) (float64, error) {
	cell, err := CellC(airC, planeWM2)
	if err != nil {
		return 0, err
	}
	kWh, err := PVKWh(peakW, planeWM2/1000, ratio)
	return kWh * 1000 * (1 - LossPerK*(cell-RatedCellC)), err
}

// OffGridPeakW is the rated power that panels need for a load of the day, 0 to
// 1e6 kWh, by the radiation on their plane in the worst month, 0.01 to 15 kWh/m²
// a day: in the north that of December. A run of dark days needs a generator all the same.
//
// Check: 3.85 kWh, 5 kWh/m², 0.77: 1000 W.
func OffGridPeakW(loadKWhDay, worstPlaneKWhM2Day, ratio float64) (float64, error) {
	if err := check("panels", bound{"load of the day", loadKWhDay, 0, 1e6, "kWh"}, bound{"radiation of the worst month's day", worstPlaneKWhM2Day, 0.01, 15, "kWh/m2"}); err != nil {
		return 0, err
	}
	perKW, err := PVKWh(1000, worstPlaneKWhM2Day, ratio)
	if err != nil {
		return 0, err
	}
	return 1000 * loadKWhDay / perKW, nil
}
