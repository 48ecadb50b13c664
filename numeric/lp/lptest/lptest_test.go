package lptest_test

import (
	"math"
	"testing"

	"tidebed/numeric/lp/lptest"
)

// Source: Gay 1985, table of the Netlib LP collection: rows (with the
// objective), columns, nonzeros (with the objective).
func TestNetlibSizes(t *testing.T) {
	for name, want := range map[string][3]int{
		"afiro": {28, 32, 88}, "sc50a": {51, 48, 131}, "sc50b": {51, 48, 119},
		"adlittle": {57, 97, 465}, "kb2": {44, 41, 291},
	} {
		p, err := lptest.Netlib(name)
		if err != nil {
			t.Fatal(err)
		}
		nonzeros := len(p.Value)
		for _, c := range p.Cost {
			if c != 0 {
				nonzeros++
			}
		}
		if got := [3]int{p.Rows() + 1, p.Cols(), nonzeros}; got != want {
			t.Errorf("%s: rows, columns, nonzeros %v, want %v", name, got, want)
		}
	}
	if got := len(lptest.Netlibs()); got != 5 {
		t.Errorf("%d problems", got)
	}
	if _, err := lptest.Netlib("nowhere"); err == nil {
		t.Error("a problem that is not held")
	}
}

// Source: Stigler 1945: 77 foods, nine nutrients.
func TestStiglerSize(t *testing.T) {
	p, err := lptest.Stigler()
	if err != nil {
		t.Fatal(err)
	}
	if p.Rows() != 9 || p.Cols() != 77 {
		t.Errorf("%d rows, %d columns, want 9 and 77", p.Rows(), p.Cols())
	}
}

func TestPublishedOptimum(t *testing.T) {
	for _, name := range append(lptest.Netlibs(), "stigler") {
		if math.IsNaN(lptest.PublishedOptimum(name)) {
			t.Errorf("%s: no optimum", name)
		}
	}
	if !math.IsNaN(lptest.PublishedOptimum("nowhere")) {
		t.Error("an optimum of nothing")
	}
}
