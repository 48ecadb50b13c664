package fabric_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"tidebed/quantity"
	"tidebed/science/fabric"
)

// powerLost is the gable house with six tanks, its heat off in -12 °C.
func powerLost(airMJK float64) fabric.Room {
	return fabric.Room{OutsideC: -12, HouseWK: 778, TankWK: 6 * 32.1, AirJK: airMJK * 1e6, TankJK: 6 * 2.0106 * 4.186e6}
}

// Worked once by an exact matrix exponential in another language.
func TestPowerLost(t *testing.T) {
	for _, r := range []struct{ airMJK, frostH, coldH float64 }{{.256, .099, 16.62}, {2.56, .991, 17.08}, {20, 7.59, 20.52}} {
		b := the[*fabric.Balance](t)(powerLost(r.airMJK).Balance())
		h, reached, err := b.Until([]float64{14, 24}, fabric.NodeAir, 0, 100)
		if err != nil || !reached {
			t.Fatal(reached, err)
		}
		near(t, "frost", h, r.frostH, .01*r.frostH)
		if h, reached, err = b.Until([]float64{14, 24}, fabric.NodeTank, 18, 100); err != nil || !reached {
			t.Fatal(reached, err)
		}
		near(t, "cold water", h, r.coldH, .01*r.coldH)
	}
	b := the[*fabric.Balance](t)(powerLost(2.56).Balance())
	six := the[fabric.Course](t)(b.Step([]float64{14, 24}, 6*3600)).EndC
	near(t, "air, 6 h", six[0], -5.217, .01)
	near(t, "water, 6 h", six[1], 21.882, .01)
	twelve := the[fabric.Course](t)(b.Step(six, 6*3600)).EndC
	near(t, "air, 12 h", twelve[0], -5.654, .01)
	near(t, "water, 12 h", twelve[1], 19.721, .01)
	// A limit that is passed already, never, or not in time.
	if h, reached, err := b.Until([]float64{0, 24}, 0, 0, 10); err != nil || !reached || h != 0 {
		t.Errorf("there already: %g, %v, %v", h, reached, err)
	}
	if _, reached, err := b.Until([]float64{14, 24}, 1, -13, 1e4); err != nil || reached {
		t.Errorf("colder than outside: %v, %v", reached, err)
	}
}

// anyBalance draws nodes and ties of very different weights, with gains or none.
func anyBalance(t *rapid.T, gains bool) (nodes []fabric.Node, ties []fabric.Tie, tempsC []float64) {
	n := rapid.IntRange(1, 6).Draw(t, "nodes")
	for i := range n {
		node := fabric.Node{HeatJK: math.Pow(10, rapid.Float64Range(3, 9).Draw(t, "heat"))}
		if gains {
			node.GainW = rapid.Float64Range(-2e4, 5e4).Draw(t, "gain")
		}
		for range rapid.IntRange(0, 2).Draw(t, "borders") {
			node.Borders = append(node.Borders, fabric.Border{WK: rapid.Float64Range(0, 2000).Draw(t, "border"), TempC: rapid.Float64Range(-30, 40).Draw(t, "border temp")})
		}
		nodes, tempsC = append(nodes, node), append(tempsC, rapid.Float64Range(-30, 50).Draw(t, "temp"))
		if i > 0 {
			ties = append(ties, fabric.Tie{A: i, B: rapid.IntRange(0, i-1).Draw(t, "to"), WK: rapid.Float64Range(0, 5000).Draw(t, "tie")})
		}
	}
	return nodes, ties, tempsC
}

// Heat stored is gains less what went out, whatever the step.
func TestBalanceCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, ties, tempsC := anyBalance(t, true)
		b, err := fabric.NewBalance(nodes, ties)
		if err != nil {
			t.Fatal(err)
		}
		seconds := math.Pow(10, rapid.Float64Range(0, 6).Draw(t, "log time"))
		c, err := b.Step(tempsC, seconds)
		if err != nil {
			t.Fatal(err)
		}
		gains := make([]float64, len(nodes))
		for i := range nodes {
			gains[i] = nodes[i].GainW
		}
		out, err := b.BorderW(c, gains)
		if err != nil {
			t.Fatal(err)
		}
		stored, flowed, size := 0.0, 0.0, 0.0
		for i := range nodes {
			stored += nodes[i].HeatJK * (c.EndC[i] - tempsC[i])
			flowed += (gains[i] - out[i]) * seconds
			size += nodes[i].HeatJK*(math.Abs(c.EndC[i])+math.Abs(tempsC[i])) + (math.Abs(gains[i])+math.Abs(out[i]))*seconds
		}
		if math.Abs(stored-flowed) > 1e-9*size {
			t.Fatalf("stored %g J, flowed %g J", stored, flowed)
		}
	})
}

// Without gains no node leaves the span of what surrounds it and where it
// started, in however long a step: no overshoot.
func TestBalanceNeverOvershoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, ties, tempsC := anyBalance(t, false)
		b, err := fabric.NewBalance(nodes, ties)
		if err != nil {
			t.Fatal(err)
		}
		low, high := slices.Min(tempsC), slices.Max(tempsC)
		for _, node := range nodes {
			for _, o := range node.Borders {
				low, high = min(low, o.TempC), max(high, o.TempC)
			}
		}
		c, err := b.Step(tempsC, math.Pow(10, rapid.Float64Range(-1, 8).Draw(t, "log time")))
		if err != nil {
			t.Fatal(err)
		}
		for i := range nodes {
			if c.EndC[i] < low-1e-6 || c.EndC[i] > high+1e-6 || c.MeanC[i] < low-1e-6 || c.MeanC[i] > high+1e-6 {
				t.Fatalf("node %d: %g, mean %g, outside %g to %g", i, c.EndC[i], c.MeanC[i], low, high)
			}
		}
	})
}

// Two half steps come to what a whole one comes to, means too; and a step agrees
// with a plain integration in short steps.
func TestBalanceSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		nodes, ties, tempsC := anyBalance(t, true)
		b, err := fabric.NewBalance(nodes, ties)
		if err != nil {
			t.Fatal(err)
		}
		seconds := rapid.Float64Range(1, 7200).Draw(t, "time")
		whole, err := b.Step(tempsC, seconds)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range whole.EndC {
			if math.Abs(v) > 95 { // beyond what a step starts from
				t.Skip("too hot")
			}
		}
		first, err := b.Step(tempsC, seconds/2)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range first.EndC {
			if math.Abs(v) > 95 {
				t.Skip("too hot")
			}
		}
		second, err := b.Step(first.EndC, seconds/2)
		if err != nil {
			t.Fatal(err)
		}
		for i := range nodes {
			if d := math.Abs(second.EndC[i] - whole.EndC[i]); d > 1e-7 {
				t.Fatalf("node %d: %g in one step, %g in two", i, whole.EndC[i], second.EndC[i])
			}
			if d := math.Abs((first.MeanC[i]+second.MeanC[i])/2 - whole.MeanC[i]); d > 1e-7 {
				t.Fatalf("node %d: mean differs by %g", i, d)
			}
		}
	})
	// Air, tanks and beds, against fourth-order steps of a second.
	room := powerLost(2.56)
	room.BedJK, room.BedAirWK, room.BedTankWK, room.BedGroundWK, room.GroundC, room.TankW = 8e6, 200, 900, 15, 8, 300
	got := the[fabric.Course](t)(the[*fabric.Balance](t)(room.Balance()).Step([]float64{14, 24, 20}, 3600)).EndC
	y := [3]float64{14, 24, 20}
	slope := func(y [3]float64) [3]float64 {
		a, w, bed := y[0], y[1], y[2]
		return [3]float64{
			(778*(-12-a) + 192.6*(w-a) + 200*(bed-a)) / 2.56e6,
			(192.6*(a-w) + 900*(bed-w) + 300) / (6 * 2.0106 * 4.186e6),
			(200*(a-bed) + 900*(w-bed) + 15*(8-bed)) / 8e6,
		}
	}
	plus := func(y, k [3]float64, h float64) [3]float64 {
		return [3]float64{y[0] + h*k[0], y[1] + h*k[1], y[2] + h*k[2]}
	}
	for range 3600 {
		k1 := slope(y)
		k2 := slope(plus(y, k1, .5))
		k3 := slope(plus(y, k2, .5))
		k4 := slope(plus(y, k3, 1))
		for i := range y {
			y[i] += (k1[i] + 2*k2[i] + 2*k3[i] + k4[i]) / 6
		}
	}
	for i := range y {
		near(t, "three nodes", got[i], y[i], 1e-8)
	}
}

// A long step ends where SteadyC says; nodes without a way out never rest.
func TestBalanceRests(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room := fabric.Room{
			OutsideC: rapid.Float64Range(-30, 30).Draw(t, "outside"), GroundC: 9, HouseWK: rapid.Float64Range(50, 2000).Draw(t, "house"), TankWK: rapid.Float64Range(20, 500).Draw(t, "tank"),
			AirJK: 2e6, TankJK: 4e7, BedJK: 1e7, BedAirWK: rapid.Float64Range(1, 500).Draw(t, "bed"), BedTankWK: rapid.Float64Range(0, 3000).Draw(t, "pump"), BedGroundWK: 10,
			AirW: rapid.Float64Range(0, 5000).Draw(t, "gain"),
		}
		b, err := room.Balance()
		if err != nil {
			t.Fatal(err)
		}
		rest, err := b.SteadyC()
		if err != nil {
			t.Fatal(err)
		}
		c, err := b.Step([]float64{14, 24, 20}, 1e9)
		if err != nil {
			t.Fatal(err)
		}
		for i := range rest {
			if math.Abs(c.EndC[i]-rest[i]) > 1e-6 {
				t.Fatalf("node %d: %g after long, rest %g", i, c.EndC[i], rest[i])
			}
		}
	})
	alone := the[*fabric.Balance](t)(fabric.NewBalance([]fabric.Node{{HeatJK: 1e6, GainW: 100}, {HeatJK: 1e6}}, []fabric.Tie{{A: 0, B: 1, WK: 50}}))
	if _, err := alone.SteadyC(); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("no way out: %v", err)
	}
	// 100 W into 2 MJ/K for 10000 s: half a kelvin in both, on the mean.
	c := the[fabric.Course](t)(alone.Step([]float64{10, 10}, 1e4))
	near(t, "heat that stays", (c.EndC[0]+c.EndC[1])/2, 10.5, 1e-9)
}

// A heater brings the air to its set point or runs full; it never cools.
func TestHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room := powerLost(rapid.Float64Range(.2, 20).Draw(t, "air"))
		room.OutsideC = rapid.Float64Range(-30, 30).Draw(t, "outside")
		b, err := room.Balance()
		if err != nil {
			t.Fatal(err)
		}
		start := []float64{rapid.Float64Range(-5, 30).Draw(t, "air temp"), rapid.Float64Range(10, 30).Draw(t, "water")}
		most, set := rapid.Float64Range(0, 40000).Draw(t, "power"), rapid.Float64Range(5, 25).Draw(t, "set")
		free, err := b.Step(start, 3600)
		if err != nil {
			t.Fatal(err)
		}
		h, err := b.Hold(start, fabric.NodeAir, set, most, 3600)
		if err != nil {
			t.Fatal(err)
		}
		end := h.EndC[fabric.NodeAir]
		switch {
		case h.HeaterW < 0 || h.HeaterW > most:
			t.Fatalf("heater of %g W gives %g", most, h.HeaterW)
		case h.Short && (h.HeaterW != most || end > set+1e-9):
			t.Fatalf("too small and ends at %g of %g with %g W of %g", end, set, h.HeaterW, most)
		case !h.Short && end < set-1e-7:
			t.Fatalf("ends at %g below %g", end, set)
		case h.HeaterW > 0 && end > set+1e-7, h.HeaterW == 0 && end != free.EndC[fabric.NodeAir]:
			t.Fatalf("%g W and ends at %g above %g", h.HeaterW, end, set)
		}
		// The same heat as a gain gives the same course.
		room.AirW = h.HeaterW
		warm, err := room.Balance()
		if err != nil {
			t.Fatal(err)
		}
		c, err := warm.Step(start, 3600)
		if err != nil || math.Abs(c.EndC[0]-end) > 1e-7 || math.Abs(c.MeanC[1]-h.MeanC[1]) > 1e-7 {
			t.Fatalf("with the heat as a gain %+v, with the heater %+v, %v", c, h, err)
		}
	})
	// At rest the heater gives the steady loss: 778 W/K over 24 K, tanks as warm as the air.
	room := powerLost(.256)
	b := the[*fabric.Balance](t)(room.Balance())
	h := the[fabric.Held](t)(b.Hold([]float64{12, 12}, fabric.NodeAir, 12, 1e5, 3600))
	near(t, "steady", h.HeaterW, 778*24, 1)
}

func TestBalanceRefusals(t *testing.T) {
	good := func() ([]fabric.Node, []fabric.Tie) {
		return []fabric.Node{{HeatJK: 1e6, Borders: []fabric.Border{{WK: 10, TempC: 0}}}, {HeatJK: 1e7}}, []fabric.Tie{{A: 0, B: 1, WK: 5}}
	}
	for name, change := range map[string]func(n []fabric.Node, k []fabric.Tie){
		"heat": func(n []fabric.Node, _ []fabric.Tie) { n[0].HeatJK = 0 }, "gain": func(n []fabric.Node, _ []fabric.Tie) { n[0].GainW = math.NaN() },
		"border": func(n []fabric.Node, _ []fabric.Tie) { n[0].Borders[0].WK = -1 }, "outside": func(n []fabric.Node, _ []fabric.Tie) { n[0].Borders[0].TempC = math.Inf(-1) },
		"self": func(_ []fabric.Node, k []fabric.Tie) { k[0].B = 0 }, "nowhere": func(_ []fabric.Node, k []fabric.Tie) { k[0].B = 2 }, "tie": func(_ []fabric.Node, k []fabric.Tie) { k[0].WK = math.Inf(1) },
	} {
		n, k := good()
		change(n, k)
		if _, err := fabric.NewBalance(n, k); !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := fabric.NewBalance(nil, nil); !errors.Is(err, quantity.ErrRange) {
		t.Errorf("no nodes: %v", err)
	}
	b := the[*fabric.Balance](t)(fabric.NewBalance(good()))
	for name, err := range map[string]error{
		"one":   func() error { _, err := b.Step([]float64{1}, 1); return err }(),
		"nan":   func() error { _, err := b.Step([]float64{1, math.NaN()}, 1); return err }(),
		"time":  func() error { _, err := b.Step([]float64{1, 2}, -1); return err }(),
		"node":  func() error { _, err := b.Hold([]float64{1, 2}, 2, 10, 100, 3600); return err }(),
		"watts": func() error { _, err := b.Hold([]float64{1, 2}, 0, 10, -100, 3600); return err }(),
		"limit": func() error { _, _, err := b.Until([]float64{1, 2}, 0, math.NaN(), 5); return err }(),
		"gains": func() error { _, err := b.BorderW(fabric.Course{}, nil); return err }(),
	} {
		if !errors.Is(err, quantity.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func BenchmarkRoomHour(b *testing.B) {
	room := powerLost(2.56)
	room.BedJK, room.BedAirWK, room.BedTankWK = 8e6, 200, 900
	temps := []float64{14, 24, 20}
	for b.Loop() {
		balance, err := room.Balance()
		if err != nil {
			b.Fatal(err)
		}
		if _, err := balance.Hold(temps, fabric.NodeAir, 12, 2e4, 3600); err != nil {
			b.Fatal(err)
		}
	}
}
