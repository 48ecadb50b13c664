package site_test

import (
	"strings"
	"testing"

	"tidebed/site"
)

const machineSite = `schema: 1
name: Machines
place: {latitude: 38 deg, longitude: -3 deg}
zones:
- name: hall
  floor: 40 m2
  vents: 2 m3/s
  band: 1
  pad: {efficiency: 80 %, power: 60 W, bleed: 0.2}
  dehumidifier: {catches: 20 kg/d, power: 500 W, above: 0.8, water-to: north}
loops:
- name: north
  sump: 1 m3
`

// Pads, dehumidifiers and bands are read, written back and refused by their line.
func TestMachines(t *testing.T) {
	s, warnings, err := site.Read("m.yaml", []byte(machineSite))
	if err != nil || len(warnings) > 0 {
		t.Fatal(err, warnings)
	}
	z := &s.Zones[0]
	if z.BandK != 1 || z.Pad.Efficiency != 0.8 || z.Pad.Bleed != 0.2 || z.Dehumidifier.PowerW != 500 || z.Dehumidifier.WaterTo != "north" {
		t.Errorf("%+v %+v %+v", z, z.Pad, z.Dehumidifier)
	}
	text, err := site.Write(s)
	if err != nil {
		t.Fatal(err)
	}
	if again, _, err := site.Read("m.yaml", text); err != nil || *again.Zones[0].Pad != *z.Pad || *again.Zones[0].Dehumidifier != *z.Dehumidifier {
		t.Errorf("written back: %v\n%s", err, text)
	}
	for _, r := range []struct{ from, to, want string }{
		{"  vents: 2 m3/s\n", "", "m.yaml:8: zones[0].pad"},
		{"efficiency: 80 %", "efficiency: 80", "m.yaml:9:"},
		{"efficiency: 80 %, ", "", "m.yaml:9:"},
		{"power: 500 W, ", "", "m.yaml:10:"},
		{"above: 0.8", "above: 1.2", "m.yaml:10:"},
		{"water-to: north", "water-to: south", "m.yaml:10:"},
		{"band: 1", "band: -1", "m.yaml:8:"},
		{"band: 1", "band: 12", "m.yaml:8:"},
	} {
		changed := strings.Replace(machineSite, r.from, r.to, 1)
		if _, _, err := site.Read("m.yaml", []byte(changed)); err == nil || !strings.Contains(err.Error(), r.want) {
			t.Errorf("%q for %q: %v, want %s", r.to, r.from, err, r.want)
		}
	}
	if _, warnings, err := site.Read("m.yaml", []byte(strings.Replace(machineSite, "20 kg/d", "20 kg/h", 1))); err != nil || len(warnings) != 1 || !strings.Contains(warnings[0].Message, "for a day") {
		t.Errorf("an hour's catch: %v %v", err, warnings)
	}
	if _, _, err := site.Read("m.yaml", []byte(strings.Replace(machineSite, ", above: 0.8", "", 1))); err != nil {
		t.Error(err)
	}
}
