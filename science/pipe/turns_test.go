package pipe_test

import (
	"math"
	"testing"

	"tidebed/science/pipe"
)

// The reference bed of 109.05 L in three, by hand.
func TestTurns(t *testing.T) {
	turns := must(pipe.TurnsOf(3, 24.81*lMin, 0.10905, math.NaN(), 5))
	near(t, "fill", turns.FillS, 263.7, 0.06)
	near(t, "open", turns.OpenS, 293.7, 0.06)
	near(t, "cycle", turns.CycleS, 3*(293.7+5), 0.2)
	near(t, "floods", turns.FloodsPerH, 3600/turns.CycleS, 1e-12)
	near(t, "share", turns.BusiestShare, 293.7/298.7, 1e-4)
	// A long fill has a margin of a tenth.
	near(t, "slow", must(pipe.TurnsOf(1, 5*lMin, 0.1, math.NaN(), 0)).OpenS, 1320, 1e-9)
	nan := math.NaN()
	for _, row := range [][4]float64{{0, 0.1, 30, 0}, {nan, 0.1, 30, 0}, {1e-4, 0, 30, 0}, {1e-4, nan, nan, 0}, {1e-4, 0.1, -1, 0}, {1e-4, 0.1, 30, nan}} {
		_, err := pipe.TurnsOf(3, row[0], row[1], row[2], row[3])
		refused(t, "turns", err)
	}
	_, err := pipe.TurnsOf(0, 1e-4, 0.1, 30, 0)
	refused(t, "no beds", err)
}
