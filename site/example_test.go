package site_test

import (
	"fmt"

	"tidebed/site"
)

func ExampleRead() {
	s, warnings, err := site.Read("cottage.yaml", []byte(`
schema: 1
name: Gull Cottage
place: {latitude: 54.3 deg, longitude: -8.5 deg}
zones:
- {name: hall, floor: 430 ft2, height: 9 m}
loops:
- name: north
  tanks:
  - {name: trout, volume: 1600 L}
  beds:
  - {name: bed 1, kind: media, zone: hall, length: 8 ft, width: 4 ft}
opening:
  date: 2027-01-11
  fish:
  - {name: spring trout, species: trout_rainbow, tank: trout, count: 60, weight: 120 g}
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.2f m2 of beds\n", s.Name, s.Loops[0].Beds[0].GrowingM2())
	for _, w := range warnings {
		fmt.Println(w)
	}

	_, _, err = site.Read("broken.yaml", []byte(`
schema: 1
name: Gull Cottage
place: {latitude: 154 deg, longitude: -8.5 deg}
zones:
- {name: hall, flor: 40 m2}
`))
	fmt.Println(err)
	// Output:
	// Gull Cottage: 2.97 m2 of beds
	// cottage.yaml:6: zones[0].height: 9 m is unusual; usual is 1.8 m to 8 m
	// broken.yaml:4: place.latitude: 154 deg is more than the 90 deg allowed
	// broken.yaml:6: zones[0].flor: unknown key `flor`; did you mean `floor`?
}
