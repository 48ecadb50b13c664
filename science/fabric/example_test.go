package fabric_test

import (
	"fmt"

	"tidebed/science/air"
	"tidebed/science/fabric"
)

// A house of double film on a cold night, its heat and its heater.
func ExampleHouse_Loss() {
	cover, err := fabric.LookupCover("polyethylene double inflated")
	if err != nil {
		fmt.Println(err)
		return
	}
	skin, err := fabric.Gable{WidthM: 6, LengthM: 12, EaveM: 2.2, RidgeM: 3.7}.Measure()
	if err != nil {
		fmt.Println(err)
		return
	}
	house := fabric.House{
		Parts:      []fabric.Part{{AreaM2: skin.RoofM2 + skin.WallM2, UWm2K: cover.UWm2K.Typical}},
		PerimeterM: skin.PerimeterM, PerimeterWmK: fabric.PerimeterWmK,
		VolumeM3: skin.VolumeM3, AirChangesH: 0.75, PressureKPa: air.StandardKPa,
	}
	loss, err := house.Loss(12, -12)
	if err != nil {
		fmt.Println(err)
		return
	}
	heater, err := fabric.HeaterSize(loss.TotalW)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f kW lost, heater %.1f to %.1f kW or two of %.1f kW\n", loss.TotalW/1000, heater.LowW/1000, heater.HighW/1000, heater.EachOfTwoW/1000)
	// Output: 18.7 kW lost, heater 21.5 to 23.3 kW or two of 11.2 kW
}

// An hour of a room with air and tanks, and a heater that is too small.
func ExampleBalance_Hold() {
	room := fabric.Room{OutsideC: -12, HouseWK: 778, TankWK: 192.6, AirJK: 2.56e6, TankJK: 50.5e6}
	balance, err := room.Balance()
	if err != nil {
		fmt.Println(err)
		return
	}
	held, err := balance.Hold([]float64{12, 24}, fabric.NodeAir, 12, 15000, 3600)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f W, air %.1f °C, water %.1f °C, short: %v\n", held.HeaterW, held.EndC[fabric.NodeAir], held.EndC[fabric.NodeTank], held.Short)
	// Output: 15000 W, air 10.9 °C, water 23.8 °C, short: true
}
