package warmth

import (
	"math"
	"testing"

	"tidebed/science/fabric"
)

// A zone's skin is that of LossAt; a curtain takes from the glazing alone.
func TestSkinIsThatOfTheLoss(t *testing.T) {
	s := demo(t)
	b, err := New(s, circuits(t, s), Options{GroundC: 10})
	if err != nil {
		t.Fatal(err)
	}
	for i := range b.Zones {
		loss, err := b.LossAt(i, 12, -3)
		if err != nil {
			t.Fatal(err)
		}
		bare, err := b.Skin(i, 0)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(bare.OutsideWK-loss.UAWK) > 1e-9*loss.UAWK {
			t.Errorf("zone %d: %g W/K, LossAt has %g", i, bare.OutsideWK, loss.UAWK)
		}
		drawn, err := b.Skin(i, 0.2)
		if err != nil {
			t.Fatal(err)
		}
		if saved := drawn.OutsideWK - drawn.CurtainWK; !(saved > 0.2*bare.OutsideWK && saved < bare.OutsideWK) || drawn.OutsideWK != bare.OutsideWK {
			t.Errorf("zone %d: a curtain takes %g of %g W/K", i, saved, bare.OutsideWK)
		}
		cold, err := b.SkyLossW(i, 12, -3)
		if err != nil {
			t.Fatal(err)
		}
		if colder, err := b.SkyLossW(i, 12, -13); err != nil || !(colder >= cold && cold >= 0) {
			t.Errorf("zone %d: to a clear sky %g W, 10 K colder %g W, %v", i, cold, colder, err)
		}
	}
	if _, err := b.Skin(len(b.Zones), 0); err == nil {
		t.Error("a zone that is not there has a skin")
	}
	m3 := 0.0
	for n, w := range b.Bodies() {
		if b.Cell(w.Loop, w.Cell) != n {
			t.Errorf("body %d is cell %d", n, b.Cell(w.Loop, w.Cell))
		}
		m3 += w.HeatJK / (fabric.WaterKgM3 * fabric.WaterJkgK)
	}
	if !(m3 > 1.6+1.6+2.2 && m3 < 30) {
		t.Errorf("%g m³ of water", m3)
	}
}
