package water_test

import (
	"fmt"

	"tidebed/science/water"
)

func ExampleBath_For() {
	tank := water.Bath{VolumeM3: 2, TempC: 22, PH: 6.4, AlkEqM3: 0.4, IonicMolL: 0.005}
	base, err := water.LookupChemical("KOH")
	if err != nil {
		fmt.Println(err)
		return
	}
	d, err := tank.For(base, 7.0, 0.88)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f g over days; all at once the pH would be %.1f\n", d.OpenG, d.PHAtOnce)
	// Output: 152 g over days; all at once the pH would be 10.6
}
