package cells

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"tidebed/science/water"
)

// newBed is the case of the start-up runs: 1 m³ with 30 m² of
// media, oxygen held at 7, pH of no consequence, no inhibition.
func newBed(t testing.TB, a, n water.Nitrifier, tempC, loadGDay, seed float64) *Water {
	t.Helper()
	for _, g := range []*water.Nitrifier{&a, &n} {
		g.KAlkEqM3, g.KFreeAmmoniaGm3 = 0, 1e30
	}
	l := Layout{Name: "start", Cells: []Cell{{Name: "bed", VolumeM3: 1, MediaM2: 30}}, Nitrifiers: [2]water.Nitrifier{a, n}}
	w, err := New(l, Settings{RelTol: 1e-8})
	if err != nil {
		t.Fatal(err)
	}
	f := l.NewForcing()
	f.Cells[0] = CellForcing{TempC: tempC, DOSatGm3: 7, SurfacePerDay: 1e6, CO2SatMolM3: 0.5, TANGDay: loadGDay}
	f.Slow = Slow{BaseEqM3: 20}
	if err := w.Force(f); err != nil {
		t.Fatal(err)
	}
	// pH 7.8 or so, where its factor is 1.
	if err := w.Start([]Reading{{DOGm3: 7, DICMolM3: 20.5, BacteriaA: seed, BacteriaN: seed}}); err != nil {
		t.Fatal(err)
	}
	return w
}

func readCSV(t testing.TB, name string) (rows []map[string]string) {
	t.Helper()
	file, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all[1:] {
		row := map[string]string{}
		for i, h := range all[0] {
			row[h] = r[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func near(t testing.TB, what string, got, want, rel, abs float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want)+abs || math.IsNaN(got) {
		t.Errorf("%s: got %.7g, want %.7g", what, got, want)
	}
}

// Against an independent run of the same equations with another integrator
// (scipy Radau, relative tolerance 1e-10): within a thousandth.
func TestStartUpTrace(t *testing.T) {
	w := newBed(t, water.AmmoniaOxidisers(), water.NitriteOxidisers(), 22, 0.35, 1e-5)
	for _, row := range readCSV(t, "water_startup_trace.csv") {
		day := number(t, row["day"])
		if _, err := w.Advance(day); err != nil {
			t.Fatal(err)
		}
		r := w.Read(0)
		at := "day " + row["day"] + " "
		near(t, at+"TAN", r.TANGm3, number(t, row["tan_mg_l"]), 1e-3, 1e-5)
		near(t, at+"nitrite", r.NO2NGm3, number(t, row["no2_n_mg_l"]), 1e-3, 1e-5)
		near(t, at+"nitrate", r.NO3NGm3, number(t, row["no3_n_mg_l"]), 1e-3, 1e-5)
		near(t, at+"ammonia oxidisers", r.BacteriaA, number(t, row["aob_g_cod_m3"]), 1e-3, 1e-6)
		near(t, at+"nitrite oxidisers", r.BacteriaN, number(t, row["nob_g_cod_m3"]), 1e-3, 1e-6)
	}
}

// Peaks and end of start-ups at seven temperatures, two seeds and two sets of
// constants, against runs with another integrator (scipy Radau, 1e-10 and 1e-9).
func TestStartUpTimes(t *testing.T) {
	for _, row := range readCSV(t, "water_startup.csv") {
		name := fmt.Sprintf("set %s, %s °C, seed %s", row["kinetic_set"], row["temp_c"], row["seed_g_cod_m3"])
		t.Run(name, func(t *testing.T) {
			a, n := water.AmmoniaOxidisers(), water.NitriteOxidisers()
			if row["kinetic_set"] == "A" {
				a, n = water.HiattGrady()
			}
			w := newBed(t, a, n, number(t, row["temp_c"]), number(t, row["tan_load_g_n_m3_d"]), number(t, row["seed_g_cod_m3"]))
			var peakTAN, peakNO2, dayTAN, dayNO2, both float64
			const step = 0.02
			for day := step; day < 150 && both == 0; day += step {
				if _, err := w.Advance(day); err != nil {
					t.Fatal(err)
				}
				r := w.Read(0)
				if r.TANGm3 > peakTAN {
					peakTAN, dayTAN = r.TANGm3, day
				}
				if r.NO2NGm3 > peakNO2 {
					peakNO2, dayNO2 = r.NO2NGm3, day
				}
				if r.TANGm3 < 0.5 && r.NO2NGm3 < 0.5 && peakNO2 > 1 {
					both = day
				}
			}
			near(t, "day of most ammonia", dayTAN, number(t, row["tan_peak_day"]), 0, 0.05)
			near(t, "most ammonia", peakTAN, number(t, row["tan_peak_mg_l"]), 1e-3, 0)
			near(t, "day of most nitrite", dayNO2, number(t, row["no2_peak_day"]), 0, 0.05)
			near(t, "most nitrite", peakNO2, number(t, row["no2_peak_mg_l"]), 1e-3, 0)
			near(t, "day when both are below 0.5", both, number(t, row["done_day"]), 0, 0.05)
		})
	}
}

// two is a loop of two tanks, a sump, a bed and a raft in full swing.
func two(t testing.TB, rel float64) (*Water, *Forcing) {
	t.Helper()
	l := Layout{Name: "north", Cells: []Cell{
		{Name: "tank 1", VolumeM3: 1.6}, {Name: "tank 2", VolumeM3: 1.6}, {Name: "sump", VolumeM3: 1.2},
		{Name: "media beds", VolumeM3: 1.5, MediaM2: 900, DenitrifiedShare: 0.3, ReseedGCODDay: 1e-6},
		{Name: "towers", VolumeM3: 0.05, MediaM2: 30, ReseedGCODDay: 1e-6},
	}, Flows: []Flow{{2, 0}, {2, 1}, {2, 3}, {2, 4}, {0, 2}, {1, 2}, {3, 2}, {4, 2}}}
	w, err := New(l, Settings{RelTol: rel})
	if err != nil {
		t.Fatal(err)
	}
	f := l.NewForcing()
	for i := range f.Cells {
		f.Cells[i] = CellForcing{TempC: 13 + float64(i)/4, DOSatGm3: 10.4, CO2SatMolM3: 0.02, SurfacePerDay: 1.5}
	}
	f.Cells[0].BreathGDay, f.Cells[0].TANGDay, f.Cells[0].AirPerDay, f.Cells[0].AirVolumesPerDay = 60, 4, 60, 100
	f.Cells[1].BreathGDay, f.Cells[1].TANGDay, f.Cells[1].AirPerDay, f.Cells[1].AirVolumesPerDay = 40, 3, 60, 100
	f.Cells[3].DecayGDay, f.Cells[3].TANGDay, f.Cells[3].WantedNGDay, f.Cells[3].SurfacePerDay = 20, 1, 3, 24
	f.Cells[4].WantedNGDay = 0.5
	for k, q := range []float64{50, 50, 60, 8, 50, 50, 60, 8} {
		f.Flows[k] = FlowForcing{M3Day: q, OxygenShare: 0.2, CO2Share: 0.19}
	}
	f.Slow = Slow{BaseEqM3: 3, PGm3: 5, IonicMolL: 0.01}
	if err := w.Force(f); err != nil {
		t.Fatal(err)
	}
	start := make([]Reading, 5)
	for i := range start {
		start[i] = Reading{DOGm3: 8, DICMolM3: 1.3, TANGm3: 0.5 + float64(i)/10, NO2NGm3: 0.2, NO3NGm3: 20, BacteriaA: 2, BacteriaN: 0.8}
	}
	if err := w.Start(start); err != nil {
		t.Fatal(err)
	}
	return w, f
}

// The written-out Jacobians against differences of the right-hand side.
func TestJacobians(t *testing.T) {
	w, _ := two(t, 0)
	_, y0 := w.solver.State()
	for _, scale := range []float64{1, 0.1, 3} {
		y := append([]float64(nil), y0...)
		for i := range y {
			y[i] *= scale * (1 + 0.01*float64(i%7))
		}
		n := w.n
		jac, qjac := make([]float64, n*n), make([]float64, totals*n)
		if err := w.jacobian(0, y, jac); err != nil {
			t.Fatal(err)
		}
		if err := w.flowsJacobian(0, y, qjac); err != nil {
			t.Fatal(err)
		}
		eval := func(y []float64) ([]float64, []float64) {
			dy, dq := make([]float64, n), make([]float64, totals)
			if err := w.rate(0, y, dy); err != nil {
				t.Fatal(err)
			}
			if err := w.flows(0, y, dq); err != nil {
				t.Fatal(err)
			}
			return dy, dq
		}
		for j := range n {
			h := 1e-5 * max(1e-3, math.Abs(y[j]))
			up, down := append([]float64(nil), y...), append([]float64(nil), y...)
			up[j] += h
			down[j] -= h
			du, qu := eval(up)
			dd, qd := eval(down)
			for i := range n {
				d := (du[i] - dd[i]) / (2 * h)
				near(t, fmt.Sprintf("scale %g: d rate %d by state %d", scale, i, j), jac[i*n+j], d, 2e-5, 2e-5*(1+math.Abs(jac[i*n+i])))
			}
			for i := range totals {
				d := (qu[i] - qd[i]) / (2 * h)
				near(t, fmt.Sprintf("scale %g: d total %d by state %d", scale, i, j), qjac[i*n+j], d, 2e-5, 1e-4)
			}
		}
	}
}

func TestLedgersClose(t *testing.T) {
	w, f := two(t, 0)
	n0, b0, o0, c0 := w.Content()
	days := 40.0
	if _, err := w.Advance(days); err != nil {
		t.Fatal(err)
	}
	n1, b1, o1, c1 := w.Content()
	q := w.Totals()
	in := 0.0
	for _, c := range f.Cells {
		in += c.TANGDay * days
	}
	sloughed := q.FormedNG - (b1 - b0) + 2*2*1e-6*days*water.NitrogenInBiomass
	near(t, "nitrogen", n0+b0+in, n1+b1+q.PlantTANG+q.PlantNO3G+q.GasG+sloughed-2*2*1e-6*days*water.NitrogenInBiomass, 1e-9, 0)
	near(t, "oxygen", o0+q.SurfaceOG+q.AirOG+q.FallOG, o1+q.BreathOG+q.DecayOG+q.NitrifyOG, 1e-9, 0)
	near(t, "carbon", c0+breathMolG*(q.BreathOG+q.DecayOG), c1+q.StrippedCMol+q.FixedCMol, 1e-9, 0)
	if q.NitratatedG < 50 || q.GasG < 15 || q.PlantNO3G < 20 {
		t.Errorf("too little went on: %+v", q)
	}
}

// Alkalinity is that of the sheet's bookkeeping: two equivalents a mole of
// ammonium oxidised, one back for nitrate taken.
func TestAlkalinityByEvents(t *testing.T) {
	w, f := two(t, 0)
	v := w.VolumeM3()
	alk := func() (eq float64) {
		for i, c := range w.Cells() {
			eq += w.Read(i).AlkEqM3 * c.VolumeM3
		}
		return eq
	}
	a0 := alk()
	if _, err := w.Advance(10); err != nil {
		t.Fatal(err)
	}
	q := w.Totals()
	in := 0.0
	for _, c := range f.Cells {
		in += c.TANGDay * 10
	}
	sum := 0.0
	for _, e := range []struct {
		event water.Event
		g     float64
	}{
		{water.AmmoniaExcreted, in}, {water.Nitritation, q.NitritatedG}, {water.AmmoniumAssimilated, q.FormedNG + q.PlantTANG},
		{water.NitrateTaken, q.PlantNO3G + q.GasG},
	} {
		eq, _, err := e.event.Change(e.g / water.MolarN)
		if err != nil {
			t.Fatal(err)
		}
		sum += eq
	}
	near(t, "alkalinity", alk()-a0, sum, 1e-9, 1e-9*v)
}

func TestNoAllocation(t *testing.T) {
	w, f := two(t, 0)
	day := 0.0
	if n := testing.AllocsPerRun(100, func() {
		day += 1.0 / 24
		f.Cells[0].BreathGDay = 50 + 20*math.Sin(day*6)
		if err := w.Force(f); err != nil {
			t.Fatal(err)
		}
		if _, err := w.Advance(day); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations an hour", n)
	}
}

func BenchmarkYear(b *testing.B) {
	for b.Loop() {
		w, f := two(b, 0)
		for h := range 8760 {
			f.Cells[0].BreathGDay = 60 + 20*math.Sin(float64(h)*0.26)
			f.Cells[0].TANGDay = 4 + 2*math.Sin(float64(h)*0.26)
			f.Cells[3].WantedNGDay = 3 + 3*math.Sin(float64(h)*0.26)
			if h%6 == 0 {
				f.Cells[0].BreathGDay *= 1.5
			}
			if err := w.Force(f); err != nil {
				b.Fatal(err)
			}
			if _, err := w.Advance(float64(h+1) / 24); err != nil {
				b.Fatal(err)
			}
		}
		s := w.Stats()
		b.ReportMetric(float64(s.Steps)/8760, "steps/h")
		b.ReportMetric(float64(s.Rejected)/8760, "rejected/h")
	}
}
