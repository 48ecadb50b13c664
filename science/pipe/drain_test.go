package pipe_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/pipe"
)

// Worked out by another program.
func TestManningGoldens(t *testing.T) {
	for _, row := range []struct{ diameterM, slope, flowLMin, velocityMS float64 }{
		{0.0409, 0.0208333, 22.33, 0.567}, {0.0525, 0.0208333, 43.46, 0.669}, {0.0779, 0.01, 86.25, 0.603}, {0.1023, 0.01, 178.4, 0.723},
	} {
		q, v, err := pipe.ManningHalfFull(row.diameterM, row.slope, pipe.DefaultManning)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "flow", q/lMin, row.flowLMin, 0.0005*row.flowLMin)
		near(t, "velocity", v, row.velocityMS, 0.0006)
	}
}

// National Standard Plumbing Code 2009, appendix K: printed ratios to half full.
func TestManningRatios(t *testing.T) {
	half, halfMS, err := pipe.ManningHalfFull(0.1, 0.01, 0.012)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ fill, flow, velocity float64 }{{0.25, 0.274, 0.701}, {0.75, 1.82, 1.13}, {1, 2.00, 1.00}} {
		q, v, err := pipe.ManningPartFull(0.1, 0.01, 0.012, row.fill)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "flow", q/half, row.flow, 0.006)
		near(t, "velocity", v/halfMS, row.velocity, 0.006)
	}
}

// Crane, Technical Paper 410, problem 7.26: 24 in two thirds full, slope 0.0625,
// roughness 0.00036; area 0.2067 m² and wall 1.164722 m as worked there, 24 500
// gal/min printed. The viscosity is 1.1e-3 Pa s.
func TestCranePartFull(t *testing.T) {
	area, wetted, err := pipe.PartFull(24*0.0254, 2.0/3)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area", area, 0.206700, 5e-6)
	near(t, "wall", wetted, 1.164722, 5e-6)
	hydraulic := 4 * area / wetted
	v := 5.0
	for range 50 {
		f := must(pipe.Friction(v*hydraulic/(1.1e-3/999), 0.00036, pipe.ByColebrook))
		v = math.Sqrt(2 * pipe.GravityMS2 * 0.0625 * hydraulic / f)
	}
	near(t, "flow", v*area/6.30901964e-5, 24500, 0.01*24500)
}

// Hills' method, worked example: 36 m³/h in 0.18 m is 0.296 of area times root g D,
// printed.
func TestSelfVenting(t *testing.T) {
	limit := must(pipe.SelfVentingM3s(0.18))
	near(t, "Froude number", 0.31*(36.0/3600)/limit, 0.296, 0.0005)
	near(t, "25 mm", must(pipe.SelfVentingM3s(0.025))/lMin, 4.5, 0.05)
	for _, row := range []struct{ diameterM, flowLMin, tol float64 }{ // worked out by another program
		{0.0158, 1.44, 0.006}, {0.02093, 2.90, 0.006}, {0.02664, 5.30, 0.006}, {0.0409, 15.48, 0.006}, {0.0525, 28.89, 0.006},
	} {
		near(t, "overflow", must(pipe.SelfVentingM3s(row.diameterM))/lMin, row.flowLMin, row.tol)
	}
	rapid.Check(t, func(rt *rapid.T) {
		d := rapid.Float64Range(0.005, 1).Draw(rt, "diameter")
		if back := must(pipe.SelfVentingDiameterM(must(pipe.SelfVentingM3s(d)))); !(math.Abs(back/d-1) < 1e-12) {
			rt.Fatalf("%g m comes back as %g", d, back)
		}
	})
}

// Worked out by another program.
func TestWeepAndJetGoldens(t *testing.T) {
	near(t, "time", must(pipe.WeepDrainSeconds(0.54, 0.008, 0.22, 0.02)), 2563.6, 0.1)
	near(t, "flow", must(pipe.WeepM3s(0.008, 0.22))/lMin, 3.884, 0.0006)
	near(t, "jet", must(pipe.ImpactMS(1.2, 0.40)), 3.047, 0.0006)
	near(t, "no way to go", must(pipe.WeepDrainSeconds(0.54, 0.008, 0.22, 0.22)), 0, 0)
}

// The time is the sum of small steps of area over flow.
func TestWeepTimeIsTheIntegral(t *testing.T) {
	sum, steps := 0.0, 20000
	for i := range steps {
		h := 0.05 + 0.15*(float64(i)+0.5)/float64(steps)
		sum += 0.7 * 0.15 / float64(steps) / must(pipe.WeepM3s(0.01, h))
	}
	near(t, "time", must(pipe.WeepDrainSeconds(0.7, 0.01, 0.2, 0.05)), sum, 1e-5*sum)
}

// Worked out by another program.
func TestBedLoadGoldens(t *testing.T) {
	for _, row := range []struct{ depth, bulk, porosity, flood, kgM2, kPa float64 }{
		{0.30, 1600, 0.40, 0.25, 579.8, 5.69}, {0.30, 500, 0.45, 0.25, 262.3, 2.57}, {0, 0, 0.5, 0.90, 898.2, 8.81},
	} {
		kgM2, kPa, err := pipe.BedLoad(row.depth, row.bulk, row.porosity, row.flood, 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "kg/m2", kgM2, row.kgM2, 0.051)
		near(t, "kPa", kPa, row.kPa, 0.0051)
		if kPa <= pipe.FloorKPa {
			t.Errorf("%g kPa is not above a floor's %g", kPa, pipe.FloorKPa)
		}
	}
	below, _, _ := pipe.BedLoad(0.3, 1600, 0.4, 0.3, 12)
	above, _, _ := pipe.BedLoad(0.3, 1600, 0.4, 0.4, 0)
	near(t, "water above the media", above+12-below, 99.8, 1e-9)
}

func TestVelocities(t *testing.T) {
	near(t, "bore", must(pipe.DiameterForM(60*lMin, 1)), 0.0356825, 1e-6)
	near(t, "steep", must(pipe.LeastDrainSlope(0.0525)), 0.0208333, 1e-6)
	near(t, "flat", must(pipe.LeastDrainSlope(0.0779)), 0.0104167, 1e-6)
}

func TestDrainRefusals(t *testing.T) {
	nan := math.NaN()
	for _, row := range [][3]float64{{0, 0.01, 0.012}, {-0.1, 0.01, 0.012}, {0.1, 0, 0.012}, {0.1, 1.1, 0.012}, {0.1, 0.01, 0}, {nan, 0.01, 0.012}, {0.1, nan, 0.012}} {
		_, _, err := pipe.ManningHalfFull(row[0], row[1], row[2])
		refused(t, "Manning", err)
	}
	_, _, err := pipe.PartFull(0.1, 1.01)
	refused(t, "over full", err)
	for _, row := range [][4]float64{{0, 0.008, 0.2, 0.1}, {1, 0, 0.2, 0.1}, {1, 0.008, 0.1, 0.2}, {1, 0.008, nan, 0.1}, {1, 0.008, 0.2, -0.1}} {
		_, err := pipe.WeepDrainSeconds(row[0], row[1], row[2], row[3])
		refused(t, "weep hole", err)
	}
	for _, row := range [][4]float64{{0.3, 1600, 0, 0.2}, {0.3, 1600, 1, 0.2}, {0.3, -1, 0.4, 0.2}, {nan, 1600, 0.4, 0.2}, {0.3, 1600, nan, 0.2}, {0.3, 1600, 0.4, -0.1}} {
		_, _, err := pipe.BedLoad(row[0], row[1], row[2], row[3], 0)
		refused(t, "bed load", err)
	}
	for _, f := range []func() (float64, error){
		func() (float64, error) { return pipe.SelfVentingM3s(0) }, func() (float64, error) { return pipe.SelfVentingDiameterM(0) },
		func() (float64, error) { return pipe.DiameterForM(nan, 1) }, func() (float64, error) { return pipe.LeastDrainSlope(nan) },
		func() (float64, error) { return pipe.ImpactMS(1, -1) }, func() (float64, error) { return pipe.WeepM3s(0.01, nan) },
	} {
		_, err := f()
		refused(t, "drain", err)
	}
}

// The rows of the table, and what is made of them.
func TestFittings(t *testing.T) {
	if n := len(pipe.Fittings()); n != 35 {
		t.Errorf("%d fittings, want 35", n)
	}
	for _, f := range pipe.Fittings() {
		if f.Source == "" || f.Name == "" || f.Velocity == "" || f.Known && !(f.Low <= f.K && f.K <= f.High && f.K > 0) || !f.Known && f.K != 0 {
			t.Errorf("%+v", f)
		}
	}
	// EPANET 2.2 User Manual, table of minor loss coefficients.
	for name, want := range map[string]float64{"exit": 1, "Elbow-90": 0.9, "elbow 45": 0.4, "tee-branch": 1.8, "return-bend": 2.2, "gate-valve": 0.2, "globe-valve": 10} {
		f, err := pipe.LookupFitting(name)
		if err != nil || f.K != want {
			t.Errorf("%s: %g, %v; want %g", name, f.K, err, want)
		}
	}
	_, err := pipe.LookupFitting("elbow-9")
	if err == nil || !strings.Contains(err.Error(), "elbow-90") {
		t.Errorf("a misspelt fitting: %v", err)
	}
	near(t, "sum", must(pipe.FittingsK(map[string]int{"elbow-90": 2, "exit": 1, "entrance-sharp": 1})), 3.3, 1e-12)
	for name, counts := range map[string]map[string]int{"unknown": {"nail": 1}, "by its sizes": {"expansion": 1}, "below 0": {"exit": -1}} {
		if k, err := pipe.FittingsK(counts); err == nil {
			t.Errorf("%s: %g", name, k)
		}
	}
}

func TestFactors(t *testing.T) {
	near(t, "expansion", must(pipe.ExpansionK(0.02, 0.04)), 0.5625, 1e-12)
	near(t, "contraction", must(pipe.ContractionK(0.04, 0.02)), 0.375, 1e-12)
	near(t, "screen", must(pipe.ScreenK(0.6)), 0.96, 0.005)
	near(t, "half clogged", must(pipe.ScreenK(0.3)), 6.35, 0.005)
	f := must(pipe.LookupFitting("screen-half-clogged"))
	near(t, "its row", f.K, must(pipe.ScreenK(0.3)), 0.005)
	// A valve passes its Kv in m³/h at 1 bar.
	k := must(pipe.ValveK(10, 0.02664))
	v := 10.0 / 3600 / pipe.CircleM2(0.02664)
	near(t, "valve", k*v*v/2*999.1, 1e5, 1e-6*1e5)
	near(t, "valve", k, 8.06, 0.005)
	for _, row := range [][2]float64{{0.04, 0.02}, {0, 0.02}, {math.NaN(), 0.02}} {
		_, err := pipe.ExpansionK(row[0], row[1])
		refused(t, "expansion", err)
	}
	_, err := pipe.ContractionK(0.02, 0.04)
	refused(t, "contraction", err)
	_, err = pipe.ScreenK(0)
	refused(t, "screen", err)
	_, err = pipe.ValveK(0, 0.02)
	refused(t, "valve", err)
}

// ASTM D1785 in print: 1 in of schedule 40 is 33.40 mm outside with walls of 3.38 mm.
func TestSizes(t *testing.T) {
	if n := len(pipe.Sizes()); n != 52 {
		t.Errorf("%d sizes, want 52", n)
	}
	for _, s := range pipe.Sizes() {
		if s.Source == "" || !(s.InsideM > 0 && s.LikelyM <= s.InsideM && s.LikelyM > 0.95*s.InsideM) || s.FouledM != pipe.FouledRoughnessM || s.NewM != pipe.NewRoughnessM {
			t.Errorf("%+v", s)
		}
		if s.OutsideM > 0 && math.Abs(s.OutsideM-2*s.WallM-s.InsideM) > 3e-5 {
			t.Errorf("%s: outside %g, wall %g, inside %g", s.Key, s.OutsideM, s.WallM, s.InsideM)
		}
	}
	for _, name := range []string{"pvc-sch-40-1-in", "PVC Sch 40 1 in"} {
		s := must(pipe.LookupSize(name))
		near(t, "bore", s.InsideM, 0.0334-2*0.00338, 1e-9)
		near(t, "likelier bore", s.LikelyM, 0.02613, 1e-9)
	}
	if _, err := pipe.LookupSize("pvc-sch-40-1in"); err == nil || !strings.Contains(err.Error(), "pvc-sch-40-1-in") {
		t.Errorf("a misspelt size: %v", err)
	}
	narrower, wider, okN, okW := pipe.NextSizes("PVC Sch 40", 0.03)
	if !okN || !okW || narrower.Nominal != "1 in" || wider.Nominal != "1-1/4 in" {
		t.Errorf("about 30 mm: %s and %s", narrower.Key, wider.Key)
	}
	if _, _, okN, okW := pipe.NextSizes("PVC Sch 40", 0.2); !okN || okW {
		t.Errorf("about 200 mm: %v and %v", okN, okW)
	}
}
