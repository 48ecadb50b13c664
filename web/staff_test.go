package web

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func ph(v float64) Staff {
	return Staff{Name: "pH", Value: v, Low: 6.6, High: 7.2, ScaleMin: 6, ScaleMax: 8, Decimals: 1}
}

func TestStaffWordsAndShapes(t *testing.T) {
	oxygen := Staff{Name: "oxygen", Value: 5.1, Low: 5, High: inf, ScaleMin: 0, ScaleMax: 10, Unit: "mg/L", Decimals: 1}
	ammonia := Staff{Name: "ammonia", Value: 0.5, Low: math.Inf(-1), High: 2, ScaleMin: 0, ScaleMax: 4, Unit: "mg/L", Decimals: 1}
	forecast := ph(6.9)
	forecast.Ahead = []float64{6.8, 6.5}
	rising := ammonia
	rising.Ahead = []float64{1, 2.5}
	share := Staff{Name: "October week", Value: 63, Low: 100, High: inf, ScaleMin: 0, ScaleMax: 120, Unit: "%", Edge: 5, Marks: []Mark{{"typical", 81}}}
	filled, hot := share, ph(7.6)
	filled.Borne, hot.Borne = "the store cupboard fills it", "for a week"
	well := ph(6.9)
	well.Borne = "for a week"
	for _, c := range []struct {
		staff        Staff
		words, shape string
		state        State
	}{
		{ph(6.4), "pH 6.4, below 6.6 to 7.2: act, raise", `data-shape="wedge" data-way="raise"`, Act},
		{ph(7.6), "pH 7.6, above 6.6 to 7.2: act, lower", `data-shape="wedge" data-way="lower"`, Act},
		{ph(6.9), "pH 6.9, within 6.6 to 7.2: good", `data-shape="bar"`, Good},
		{ph(6.63), "pH 6.6, near the low edge of 6.6 to 7.2: watch, raise", `data-shape="half-wedge" data-way="raise"`, Watch},
		{ph(7.18), "pH 7.2, near the high edge of 6.6 to 7.2: watch, lower", `data-shape="half-wedge" data-way="lower"`, Watch},
		{forecast, "pH 6.9, forecast to fall below 6.6 to 7.2: watch, raise", `data-shape="half-wedge" data-way="raise"`, Watch},
		{rising, "ammonia 0.5 mg/L, forecast to rise above 2.0 mg/L: watch, lower", `data-shape="half-wedge" data-way="lower"`, Watch},
		{ammonia, "ammonia 0.5 mg/L, within at most 2.0 mg/L: good", `data-shape="bar"`, Good},
		{oxygen, "oxygen 5.1 mg/L, near the low edge of 5.0 mg/L: watch, raise", `data-shape="half-wedge" data-way="raise"`, Watch},
		{share, "October week 63 %, below 100 %: act, raise; typical 81 %", `data-shape="wedge" data-way="raise"`, Act},
		{filled, "October week 63 %, below 100 %, the store cupboard fills it: watch, raise; typical 81 %", `data-shape="half-wedge" data-way="raise"`, Watch},
		{hot, "pH 7.6, above 6.6 to 7.2, for a week: watch, lower", `data-shape="half-wedge" data-way="lower"`, Watch},
		{well, "pH 6.9, within 6.6 to 7.2: good", `data-shape="bar"`, Good},
	} {
		if got := c.staff.Words(); got != c.words {
			t.Errorf("words: got %q, want %q", got, c.words)
		}
		if got := c.staff.State(); got != c.state {
			t.Errorf("%s: state %s, want %s", c.words, got, c.state)
		}
		drawing := string(c.staff.SVG())
		mustContain(t, drawing, `role="img"`, "<title>"+c.words+"</title>", c.shape)
		if n := strings.Count(drawing, `class="pointer`); n != 1 {
			t.Errorf("%s: %d pointers drawn, want 1", c.words, n)
		}
	}
}

func TestStaffWithoutValueHasNoPointer(t *testing.T) {
	s := ph(nan)
	if got, want := s.Words(), "pH, no value: measure it; permitted is 6.6 to 7.2"; got != want {
		t.Errorf("words: got %q, want %q", got, want)
	}
	mustLack(t, string(s.SVG()), "pointer", "NaN")
}

func TestStaffTrendIsATail(t *testing.T) {
	s := ph(6.9)
	mustLack(t, string(s.SVG()), "tail")
	s.Trend = []float64{7.1, nan, 7.0}
	drawing := string(s.SVG())
	mustContain(t, drawing, `class="tail"`)
	mustLack(t, drawing, "NaN")
}

func TestStaffEscapesItsName(t *testing.T) {
	s := ph(6.9)
	s.Name = `<script>alert("x")</script>`
	mustLack(t, string(s.SVG()), "<script>")
}

// A pointer that leaves its post, or a word that disagrees with the limits, would
// mislead the hand.
func TestStaffAlwaysAgreesWithItsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(-50, 50).Draw(t, "low")
		high := low + rapid.Float64Range(0.1, 50).Draw(t, "width")
		s := Staff{Name: "x", Low: low, High: high, ScaleMin: low - 5, ScaleMax: high + 5, Decimals: 2, Value: rapid.Float64Range(-1e6, 1e6).Draw(t, "value")}
		outside := s.Value < low || s.Value > high
		if (s.State() == Act) != outside {
			t.Fatalf("%s: state %s", s.Words(), s.State())
		}
		if y := s.y(s.Value); y < postTop || y > postBottom {
			t.Fatalf("pointer at %g leaves the post", y)
		}
	})
}
