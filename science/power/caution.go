package power

// Sentences for people, where the hand is about to act.
const (
	CautionCO         = "Never burn anything without a flue in the house, not even to enrich carbon dioxide: carbon monoxide kills in minutes without a smell, and 0.05 ppm of ethylene ruins crops."
	CautionAlarm      = "Hang a carbon monoxide alarm wherever something burns, leave the opening for its air free all winter, and leave the house at 100 ppm."
	CautionGasTrade   = "Gas and oil pipes, burners and flues are for a licensed fitter: have them checked every year."
	CautionGenerator  = "Run a generator outdoors only, away from doors and vents, and through a transfer switch that an electrician has fitted: one plugged into the wall can kill on the line."
	CautionGenTest    = "Test the generator under load every month, and fill it only when it is cold."
	CautionRCD        = "Mains near water goes through a residual-current breaker of 30 mA: ask an electrician, and press its test button every month."
	CautionBattery    = "Lithium must not be charged below 0 °C; lead-acid gives off gas that explodes: air the room. Have fuses and wiring done by an electrician."
	CautionPV         = "Panels give dangerous voltage whenever light falls on them: wiring is for an electrician, and the grid must be told."
	CautionBiogas     = "Biogas explodes at 5 to 15 % in air and its hydrogen sulphide numbs the nose, then kills: flame arrester, vent outdoors, never climb into a digester. Ask the gas authority first."
	CautionDigestate  = "Keep digestate off leaves that are eaten raw, and sludge and dead fish away from food."
	CautionFewPercent = "At this size gas covers a few per cent of a winter house's heat."
	CautionLamp       = "Lamps over water need covers against spray, a residual-current breaker of 30 mA, and a metre to plastic film."
	CautionStore      = "Keep pellets and wood dry and enter a closed pellet store only after airing it: pellets give off carbon monoxide too."
)

// BurningCautions are those for anything with a flame.
func BurningCautions() []string { return []string{CautionCO, CautionAlarm, CautionGasTrade} }

// Cautions are those that go with a fuel.
func (f Fuel) Cautions() []string {
	switch {
	case !f.Burns():
		return []string{CautionRCD}
	case f.Key == "biogas":
		return append(BurningCautions(), CautionBiogas)
	case f.CO2Biogenic:
		return append(BurningCautions(), CautionStore)
	}
	return BurningCautions()
}
