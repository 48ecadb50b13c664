package plumbing

import (
	"math"
	"testing"

	"tidebed/site"
)

func demo(t testing.TB) *site.Site {
	t.Helper()
	_, text, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	s, _, err := site.Read("skerry-house.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestCircuitOfTheDemoBuilding(t *testing.T) {
	s := demo(t)
	for i := range s.Loops {
		c, err := Of(&s.Loops[i])
		if err != nil {
			t.Fatal(err)
		}
		if c.Ruled || c.Pump == nil || c.FlowDay <= 0 {
			t.Errorf("loop %s: pump %v moves %g", c.Loop.Name, c.Pump, c.FlowDay)
		}
		sum := 0.0
		for k := range c.Places {
			sum += c.Places[k].SupplyM3Day
			t.Logf("%s: %s %q %.3g m³, %.4g m² media, supply %.3g m³/d, back to %d", c.Loop.Name, c.Places[k].Kind, c.Layout.Cells[k].Name, c.Layout.Cells[k].VolumeM3, c.Layout.Cells[k].MediaM2, c.Places[k].SupplyM3Day, c.Places[k].back)
		}
		if math.Abs(sum-c.FlowDay) > 1e-9*sum {
			t.Errorf("loop %s: branches get %g of %g m³/d", c.Loop.Name, sum, c.FlowDay)
		}
		f := c.Layout.NewForcing()
		for k := range f.Cells {
			f.Cells[k].TempC = 15
		}
		if err := c.Force(f, Air{101.325, 420}, Running{}); err != nil {
			t.Fatal(err)
		}
		net := make([]float64, len(c.Places))
		for k := range f.Flows {
			net[c.Layout.Flows[k].From] -= f.Flows[k].M3Day
			net[c.Layout.Flows[k].To] += f.Flows[k].M3Day
		}
		for k, n := range net {
			if math.Abs(n) > 1e-9*c.FlowDay {
				t.Errorf("loop %s, %s: %g m³/d gather", c.Loop.Name, c.Layout.Cells[k].Name, n)
			}
		}
	}
}
