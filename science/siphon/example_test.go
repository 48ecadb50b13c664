package siphon_test

import (
	"fmt"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

// A bed of 1.20 m² on a siphon of 26.64 mm bore, fed with 11 L/min.
func Example() {
	bed := siphon.Bed{AreaM2: 1.20, Drainable: 0.45, GuardM2: 0.0095, RimM: 0.27}
	works, err := siphon.New(bed, siphon.Siphon{
		Pipe:   pipe.Pipe{DiameterM: 0.02664, LengthM: 1, RoughnessM: pipe.NewRoughnessM, K: siphon.BellK(1)},
		CrestM: 0.22, BreakM: 0.03, OutletM: -0.40,
	}, 22)
	if err != nil {
		fmt.Println(err)
		return
	}
	from, to := works.Window()
	c, err := works.Cycle(11.0 / 60000)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("window %.1f to %.1f L/min; %s: fill %.0f s, drain %.0f s, %.0f L\n", from*60000, to*60000, c.Verdict, c.FillS, c.DrainS, c.DischargedM3*1000)
	// Output: window 8.9 to 40.3 L/min; should-start: fill 618 s, drain 195 s, 149 L
}
