package power

// Limits of what burners and enriched air may leave in a room, ppm.
const (
	COAlarmPPM   = 30.0    // an alarm sounds; from memory
	CONioshPPM   = 35.0    // mean of 8 h, [niosh-limits], from memory
	COOshaPPM    = 50.0    // mean of 8 h, [arkansas-heaters]
	COLeavePPM   = 100.0   // leave the house; from memory
	CO2WorkPPM   = 5000.0  // mean of 8 h, [niosh-limits], from memory
	CO2ShortPPM  = 30000.0 // a quarter of an hour, [niosh-limits], from memory
	EthylenePPM  = 0.05    // hurts crops, [arkansas-heaters]; sensitive ones from 0.01
	mostFumesPPM = 1e6
)

// CarbonMonoxide says what to do at a reading of carbon monoxide, 0 to 1e6 ppm.
// None is right: any that is measured comes from a burner or an engine at fault.
func CarbonMonoxide(ppm float64) (string, error) {
	if err := check("air of the room", bound{"carbon monoxide", ppm, 0, mostFumesPPM, "ppm"}); err != nil {
		return "", err
	}
	switch {
	case ppm == 0:
		return "No carbon monoxide: keep the alarm where something burns.", nil
	case ppm < COAlarmPPM:
		return "Have the burner and its flue looked at before the next night: carbon monoxide has no business in the house.", nil
	case ppm < COLeavePPM:
		return "Put burners out, open doors, stay out until it reads 0, and call a licensed fitter.", nil
	}
	return "Leave the house now with all who are in it, and call the emergency number from outside.", nil
}

// CarbonDioxide says what to do at a reading of carbon dioxide, 0 to 1e6 ppm.
func CarbonDioxide(ppm float64) (string, error) {
	if err := check("air of the room", bound{"carbon dioxide", ppm, 0, mostFumesPPM, "ppm"}); err != nil {
		return "", err
	}
	switch {
	case ppm < 250:
		return "Open the vents: plants have used up the carbon dioxide.", nil
	case ppm < CO2WorkPPM:
		return "Carbon dioxide is as people may work in it.", nil
	case ppm < CO2ShortPPM:
		return "Leave and air the house: people may not work in this much carbon dioxide.", nil
	}
	return "Leave the house now and open it from outside: this much carbon dioxide kills.", nil
}
