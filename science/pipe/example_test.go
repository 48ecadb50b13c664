package pipe_test

import (
	"fmt"

	"tidebed/science/pipe"
)

// A small pump lifts water one metre through three metres of pipe.
func Example() {
	pump, err := pipe.Fit([]pipe.Point{{FlowM3s: 0, HeadM: 3}, {FlowM3s: 15.0 / 60000, HeadM: 2.75}, {FlowM3s: 30.0 / 60000, HeadM: 2.1}})
	if err != nil {
		fmt.Println(err)
		return
	}
	k, err := pipe.FittingsK(map[string]int{"entrance-sharp": 1, "elbow-90": 2, "exit": 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	riser := pipe.Pipe{DiameterM: 0.02664, LengthM: 3, RoughnessM: pipe.FouledRoughnessM, K: k}
	duty, err := pipe.Duty(pump, 1, riser, 22)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f L/min at %.1f m\n", duty.FlowM3s*60000, duty.HeadM)
	// Output: 40 L/min at 1.5 m
}
