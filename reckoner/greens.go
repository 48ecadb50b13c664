package reckoner

import (
	"time"

	"tidebed/quantity"
	"tidebed/science/greens"
)

// greensEntries are the quick sums about tray-grown greens.
func greensEntries() []Entry {
	return []Entry{{
		Name: "tray-schedule", Title: "When to sow trays for an order",
		Formula: "cut the day before delivery; days = days at 20 °C × (20 − base)/(temp − base), rounded up, temp held at the optimum's top; trays = grams / (yield × (1 − failures)), rounded up",
		Keys: []Key{
			{Name: "green", What: "tray green of the table", Kind: Word, Choices: greens.Keys(), Required: true, refuses: refusedGreen},
			{Name: "deliver", What: "day of delivery", Kind: Date, Required: true},
			{Name: "temp", What: "room temperature, steady", Kind: quantity.Temperature, Low: -20, High: 60, Default: "20 C"},
			{Name: "grams", What: "fresh greens ordered", Kind: quantity.Mass, Unit: "g", Low: 1, High: 1e6, Required: true},
			{Name: "basis", What: "yield planned on: low for a promise", Kind: Word, Choices: []string{string(greens.LowYield), string(greens.TypicalYield)}, Default: string(greens.LowYield)},
		},
		Outputs: []Output{
			{Name: "sowDate", What: "day of sowing"},
			{Name: "trays", What: "trays of 0.254 × 0.508 m"},
			{Name: "seedG", What: "seed to sow", Unit: "g"},
		},
		Sources:  []string{"greens-table"},
		Cautions: greens.Cautions(),
		run:      runTraySchedule,
	}}
}

// refusedGreen says why a plant is never grown as a seedling.
func refusedGreen(text string) string {
	if refused := greens.Refused(text); refused != nil {
		return refused.Error()
	}
	return ""
}

func runTraySchedule(in *inputs, out *answer) error {
	g, err := greens.Lookup(in.Word("green"))
	if err != nil {
		return in.Refuse("green", "Green: %s.", err)
	}
	deliver, _ := in.values["deliver"].(time.Time)
	tempC := in.Number("temp")
	if tempC <= g.TempBaseC {
		return in.Refuse("temp", "Temp must be above %g °C, where %s stops growing. You entered %g °C.", g.TempBaseC, g.Name, tempC)
	}
	p, err := greens.Draft(g, deliver, tempC, in.Number("grams"), greens.Basis(in.Word("basis")))
	if err != nil {
		return err
	}
	if p.SoakDate != p.SowDate {
		out.Warn("Soak the seed for %g h: put it into water on %s.", g.SoakH, p.SoakDate.Format(time.DateOnly))
	}
	for _, w := range p.Warnings {
		out.Warn("%s", w)
	}
	out.Text("sowDate", p.SowDate.Format(time.DateOnly))
	out.Set("trays", float64(p.Trays))
	out.Set("seedG", p.SeedG)
	return nil
}
