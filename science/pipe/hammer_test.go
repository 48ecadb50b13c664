package pipe_test

import (
	"math"
	"testing"

	"tidebed/science/pipe"
)

// 1 in PVC of schedule 40: worked out by another program, 570 m/s and 58 m for 1 m/s.
func TestHammer(t *testing.T) {
	size := must(pipe.LookupSize("pvc-sch-40-1-in"))
	wave := must(pipe.WaveMS(size.InsideM, size.WallM, pipe.PVCModulus, 20))
	near(t, "wave", wave, 570, 0.5)
	h := must(pipe.HammerOf(1, 6, wave))
	near(t, "rise", h.HeadM, 58, 0.5)
	near(t, "there and back", h.ReturnS, 12/wave, 1e-12)
	near(t, "closing", h.LeastClosingS, 120/wave, 1e-12)
	// In a wall that does not give the blow runs like sound, 1482 m/s at 20 °C
	// (from memory), and a softer wall slows it.
	near(t, "hard wall", must(pipe.WaveMS(0.02, 0.02, 1e12, 20)), 1482, 10)
	if soft := must(pipe.WaveMS(size.InsideM, size.WallM, pipe.PEModulus, 20)); !(soft < 0.7*wave) {
		t.Errorf("soft wall: %g m/s, PVC %g", soft, wave)
	}
}

func TestHammerRefusals(t *testing.T) {
	nan := math.NaN()
	for _, row := range [][4]float64{{0, 0.002, 3e9, 20}, {0.02, 0, 3e9, 20}, {0.02, 0.03, 3e9, 20}, {0.02, nan, 3e9, 20}, {0.02, 0.002, 0, 20}, {0.02, 0.002, 3e9, 50}} {
		_, err := pipe.WaveMS(row[0], row[1], row[2], row[3])
		refused(t, "wave", err)
	}
	for _, row := range [][3]float64{{-1, 6, 570}, {nan, 6, 570}, {1, 0, 570}, {1, math.Inf(1), 570}, {1, 6, 0}} {
		_, err := pipe.HammerOf(row[0], row[1], row[2])
		refused(t, "blow", err)
	}
}
