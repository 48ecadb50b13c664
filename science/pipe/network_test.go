package pipe_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/pipe"
)

// px45 is the made-up pump of the reference networks.
func px45(t testing.TB) pipe.Curve {
	t.Helper()
	return fitted(t, 3.0, 15, 2.75, 30, 2.1)
}

func fitted(t testing.TB, h0, q1, h1, q2, h2 float64) pipe.Curve {
	t.Helper()
	c, err := pipe.Fit([]pipe.Point{{HeadM: h0}, {FlowM3s: q1 * lMin, HeadM: h1}, {FlowM3s: q2 * lMin, HeadM: h2}})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func plastic(boreMM, lengthM, k float64) pipe.Pipe {
	return pipe.Pipe{DiameterM: boreMM / 1000, LengthM: lengthM, RoughnessM: 1.5e-6, K: k}
}

func solved(t testing.TB, nodes []pipe.Node, links []pipe.Link, tempC float64) *pipe.Network {
	t.Helper()
	n, err := pipe.NewNetwork(nodes, links, tempC)
	if err != nil {
		t.Fatal(err)
	}
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	return n
}

// threeBeds are a sump, a pump, a riser, a header and three beds: links 0 pump, 1
// riser, 2 and 3 header, 4 to 6 the beds' branches; node 2 to 4 on the header.
func threeBeds(t testing.TB) ([]pipe.Node, []pipe.Link) {
	c := px45(t)
	return []pipe.Node{
			{Name: "sump", Fixed: true, HeadM: 0.60}, {Name: "pump"}, {Name: "N2"}, {Name: "N3"}, {Name: "N4"},
			{Name: "bed 1", Fixed: true, HeadM: 1.60}, {Name: "bed 2", Fixed: true, HeadM: 1.60}, {Name: "bed 3", Fixed: true, HeadM: 1.70},
		}, []pipe.Link{
			{Name: "pump", From: 0, To: 1, Pump: &c}, {Name: "riser", From: 1, To: 2, Pipe: plastic(26.64, 3, 4)},
			{Name: "H1", From: 2, To: 3, Pipe: plastic(26.64, 1.5, 0.6)}, {Name: "H2", From: 3, To: 4, Pipe: plastic(26.64, 1.5, 0.6)},
			{Name: "B1", From: 2, To: 5, Pipe: plastic(15.80, 0.8, 4), OneWay: true}, {Name: "B2", From: 3, To: 6, Pipe: plastic(15.80, 0.8, 4), OneWay: true},
			{Name: "B3", From: 4, To: 7, Pipe: plastic(15.80, 0.8, 4), OneWay: true},
		}
}

// EPANET 2.3 runs of two reservoirs joined by a pipe; its g is 0.08 % larger.
func TestNetworkOfOnePipe(t *testing.T) {
	nodes := []pipe.Node{{Name: "high", Fixed: true, HeadM: 2}, {Name: "low", Fixed: true, HeadM: 0.5}}
	n := solved(t, nodes, []pipe.Link{{Name: "P", From: 0, To: 1, Pipe: plastic(26.64, 10, 1.5)}}, 20)
	near(t, "flow", n.FlowM3s(0)/lMin, 58.8905, 1e-3*58.8905)
	near(t, "velocity", n.VelocityMS(0), 1.7609, 1e-3*1.7609)
	near(t, "loss", n.LossM(0), 1.5, 1e-6)
	// The same flow drawn at a junction wants the head back.
	for _, row := range []struct{ flow, want, tol float64 }{{1, 0.001378, 1.2e-3}, {3.5, 0.006460, 1e-3}, {20, 0.188107, 1e-3}, {60, 1.305774, 1e-3}} {
		n := solved(t, []pipe.Node{{Name: "high", Fixed: true, HeadM: 2}, {Name: "tap", DrawnM3s: row.flow * lMin}}, []pipe.Link{{Name: "P", From: 0, To: 1, Pipe: plastic(26.64, 10, 0)}}, 20)
		near(t, fmt.Sprint("head lost by ", row.flow), 2-n.HeadM(1), row.want, row.tol*row.want)
	}
}

// EPANET 2.3 runs of a pump with three beds, all open and each alone.
func TestNetworkOfThreeBeds(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	for i, want := range []float64{13.4575, 12.4877, 9.9157} {
		near(t, fmt.Sprint("all open, bed ", i+1), n.FlowM3s(4+i)/lMin, want, 1e-3*want)
	}
	near(t, "pump", n.FlowM3s(0)/lMin, 35.861, 1e-3*35.861)
	near(t, "its head", -n.LossM(0), 1.7484, 1e-3*1.7484)
	near(t, "its velocity", n.VelocityMS(0), 0, 0)
	for i, want := range []float64{1.95688, 1.90876, 1.89770} {
		near(t, fmt.Sprint("head of N", 2+i), n.HeadM(2+i), want, 1e-3*want)
	}
	for i, want := range []float64{24.813, 24.444, 23.451} {
		for j := range 3 {
			n.Close(4+j, j != i)
		}
		if err := n.Solve(); err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("bed %d alone", i+1), n.FlowM3s(4+i)/lMin, want, 1e-3*want)
		near(t, "all through the pump", n.FlowM3s(0), n.FlowM3s(4+i), 1e-10)
		if i == 0 {
			near(t, "head of the pump", -n.LossM(0), 2.3663, 1e-3*2.3663)
			near(t, "water at rest in the header", n.HeadM(4), n.HeadM(2), 1e-9)
		}
	}
}

// The three beds balanced: worked out by another program.
func TestEven(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	q, extra, err := n.Even([]int{4, 5, 6})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "flow", q/lMin, 11.64, 1e-3*11.64)
	near(t, "bed 1", extra[0], 3.33, 0.006)
	near(t, "bed 2", extra[1], 2.30, 0.006)
	near(t, "bed 3", extra[2], 0, 0)
	for i := range 3 {
		near(t, "with the valves set", n.FlowM3s(4+i), q, 1e-8)
		near(t, "kept", n.ExtraK(4+i), extra[i], 0)
	}
	// Twice the same; and Throttle at that flow finds the same valves.
	again, _, err := n.Even([]int{4, 5, 6})
	near(t, "again", again, q, 1e-10)
	if err != nil {
		t.Fatal(err)
	}
	byThrottle, err := n.Throttle([]int{6, 4, 5}, []float64{q, q, q})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "throttled, bed 1", byThrottle[1], extra[0], 1e-4)
	near(t, "throttled, bed 3", byThrottle[0], 0, 1e-4)
	n.SetK(4, 4)
	n.SetK(5, 4)
	n.SetK(6, 4)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	near(t, "opened again", n.FlowM3s(4)/lMin, 13.4575, 1e-3*13.4575)
}

// Whatever the heights and bores: all carry alike, no valve takes less than
// nothing, the worst none, and no more can be had: a twentieth more starves one.
func TestEvenLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		nodes, links := threeBeds(t)
		for b := range 3 {
			nodes[5+b].HeadM = rapid.Float64Range(0.6, 2.6).Draw(rt, "height")
			links[4+b].Pipe = drawPart(rt, "branch")
		}
		n, err := pipe.NewNetwork(nodes, links, 20)
		if err != nil {
			rt.Fatal(err)
		}
		beds := []int{4, 5, 6}
		q, extra, err := n.Even(beds)
		if err != nil {
			rt.Fatal(err)
		}
		least := math.Inf(1)
		for b, k := range extra {
			least = min(least, k)
			if off := n.FlowM3s(4+b) - q; k < 0 || !(math.Abs(off) < 1e-4*q+1e-8) {
				rt.Fatalf("bed %d: valve %g, %g m3/s off %g", b+1, k, off, q)
			}
		}
		if least != 0 {
			rt.Fatalf("valves %v: none is open", extra)
		}
		if _, err := n.Throttle(beds, []float64{1.05 * q, 1.05 * q, 1.05 * q}); err != nil {
			rt.Fatal(err)
		}
		if worst := min(n.FlowM3s(4), n.FlowM3s(5), n.FlowM3s(6)); !(worst < 1.05*q*(1-1e-6)) {
			rt.Fatalf("%g m3/s is not the most: each takes %g", q, worst)
		}
	})
}

// Those that reach their flow are held at it, the others stay open.
func TestThrottle(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	extra, err := n.Throttle([]int{4, 5, 6}, []float64{8 * lMin, 30 * lMin, 9 * lMin})
	if err != nil {
		t.Fatal(err)
	}
	if !(extra[0] > 0 && extra[1] == 0 && extra[2] > 0) {
		t.Errorf("valves %v", extra)
	}
	near(t, "bed 1", n.FlowM3s(4)/lMin, 8, 1e-4)
	near(t, "bed 3", n.FlowM3s(6)/lMin, 9, 1e-4)
	if q := n.FlowM3s(5) / lMin; !(q > 13 && q < 30) {
		t.Errorf("bed 2: %g L/min, want more than before and less than asked", q)
	}
}

// EPANET 2.3 run of three pipes side by side between two reservoirs.
func TestNetworkOfParallelPipes(t *testing.T) {
	n := solved(t, []pipe.Node{{Name: "A", Fixed: true, HeadM: 1.5}, {Name: "J1"}, {Name: "J2"}, {Name: "B", Fixed: true}}, []pipe.Link{
		{Name: "P0", From: 0, To: 1, Pipe: plastic(40.9, 4, 1)},
		{Name: "PA", From: 1, To: 2, Pipe: plastic(26.64, 5, 3)}, {Name: "PB", From: 1, To: 2, Pipe: plastic(20.93, 8, 5)}, {Name: "PC", From: 2, To: 1, Pipe: plastic(15.80, 6, 2)},
		{Name: "P9", From: 2, To: 3, Pipe: plastic(40.9, 4, 2)},
	}, 20)
	for l, want := range []float64{94.1305, 55.3223, 23.8171, -14.9911, 94.1305} { // PC is drawn the other way round
		near(t, fmt.Sprint("link ", l), n.FlowM3s(l)/lMin, want, math.Abs(1e-3*want))
	}
	near(t, "J1", n.HeadM(1), 1.27792, 1e-3*1.27792)
	near(t, "J2", n.HeadM(2), 0.29471, 1e-3*0.29471)
}

// The worked comparison of an oversized pump, as a network of six beds at 22 °C.
// Worked out by another program.
func TestNetworkOfOversizedPump(t *testing.T) {
	points, _ := madeUp(t)
	for _, row := range []struct {
		pump        string
		riser       pipe.Pipe
		open        int
		flow, headM float64
	}{
		{"PX-120", plastic(40.9, 3, 4), 6, 86.7, 1.777},
		{"PX-25", plastic(26.64, 3, 4), 1, 17.42, 1.722},
	} {
		c := must(pipe.Fit(points[row.pump][:3]))
		nodes := []pipe.Node{{Name: "sump", Fixed: true}, {Name: "pump"}, {Name: "header"}}
		links := []pipe.Link{{Name: "pump", From: 0, To: 1, Pump: &c}, {Name: "riser", From: 1, To: 2, Pipe: row.riser}}
		for i := range 6 {
			nodes = append(nodes, pipe.Node{Name: fmt.Sprint("bed ", i+1), Fixed: true, HeadM: 1})
			links = append(links, pipe.Link{Name: fmt.Sprint("branch ", i+1), From: 2, To: 3 + i, Pipe: plastic(15.8, 1, 4), OneWay: true, Closed: i >= row.open})
		}
		n := solved(t, nodes, links, 22)
		near(t, row.pump+" flow", n.FlowM3s(0)/lMin, row.flow, 0.05)
		near(t, row.pump+" head", -n.LossM(0), row.headM, 0.001)
		near(t, row.pump+" a branch", n.FlowM3s(2), n.FlowM3s(0)/float64(row.open), 1e-9)
		if row.open == 1 && n.FlowM3s(5) != 0 {
			t.Error("a closed branch carries water")
		}
	}
}

// outOf is the water that a node gives, less what it gets.
func outOf(n *pipe.Network, links []pipe.Link, node int) float64 {
	sum := 0.0
	for l, lk := range links {
		if lk.From == node {
			sum += n.FlowM3s(l)
		}
		if lk.To == node {
			sum -= n.FlowM3s(l)
		}
	}
	return sum
}

// failing is a test or one case of a property.
type failing interface {
	Helper()
	Fatalf(format string, args ...any)
}

// checkLaws holds a solved network against the laws it must obey: as much comes
// to each junction as leaves it, every open link loses what its heads say, a
// shut one has nothing to push it.
func checkLaws(t failing, n *pipe.Network, nodes []pipe.Node, links []pipe.Link, tempC float64) {
	t.Helper()
	nu := must(pipe.KinematicM2S(tempC))
	for i, nd := range nodes {
		if !nd.Fixed {
			if off := outOf(n, links, i) + nd.DrawnM3s; !(math.Abs(off) < 2e-9) {
				t.Fatalf("junction %q: %g m3/s too much", nd.Name, off)
			}
		} else if n.HeadM(i) != nd.HeadM {
			t.Fatalf("%q: head %g, want %g", nd.Name, n.HeadM(i), nd.HeadM)
		}
	}
	for l, lk := range links {
		q, fall := n.FlowM3s(l), n.HeadM(lk.From)-n.HeadM(lk.To)
		if lk.Closed {
			if q != 0 {
				t.Fatalf("closed link %q carries %g", lk.Name, q)
			}
			continue
		}
		if (lk.OneWay || lk.Pump != nil) && q < 0 {
			t.Fatalf("link %q runs backward: %g", lk.Name, q)
		}
		if math.IsNaN(fall) {
			if q != 0 {
				t.Fatalf("link %q: %g m3/s without a head", lk.Name, q)
			}
			continue
		}
		var loss float64
		if lk.Pump != nil {
			loss = -lk.Pump.HeadM(q)
			if q < 1e-9 { // there the curve is a straight line: one with a power below 1 falls without end at 0
				loss = max(-lk.Pump.ShutOffM, min(fall, -lk.Pump.HeadM(1e-9)))
			}
		} else {
			p := lk.Pipe
			p.K += n.ExtraK(l)
			loss, _ = p.HeadAndSlope(q, nu)
		}
		if shut := (lk.OneWay || lk.Pump != nil) && q == 0; shut && !(fall <= loss+1e-5) || !shut && !(math.Abs(fall-loss) < 2e-6) {
			t.Fatalf("link %q: %g m3/s, loss %g m, its heads fall by %g m", lk.Name, q, loss, fall)
		}
	}
}

func drawPart(t *rapid.T, what string) pipe.Pipe {
	return plastic(rapid.Float64Range(8, 110).Draw(t, what+" bore"), math.Pow(10, rapid.Float64Range(-1.3, 1.5).Draw(t, what+" log length")), rapid.Float64Range(0, 20).Draw(t, what+" K"))
}

// drawNetwork is a tree or a grid of junctions with some surfaces, outlets,
// check valves, closed valves and pumps.
func drawNetwork(t *rapid.T) ([]pipe.Node, []pipe.Link) {
	nodes := []pipe.Node{{Name: "sump", Fixed: true, HeadM: rapid.Float64Range(0, 2).Draw(t, "sump")}}
	var links []pipe.Link
	add := func(kind string, from, to int, p pipe.Pipe) {
		lk := pipe.Link{Name: fmt.Sprint(kind, len(links)), From: from, To: to, Pipe: p}
		lk.OneWay = kind == "outlet" || rapid.IntRange(0, 9).Draw(t, "check valve") == 0
		lk.Closed = rapid.IntRange(0, 9).Draw(t, "closed") == 0
		links = append(links, lk)
	}
	junctions := rapid.IntRange(1, 12).Draw(t, "junctions")
	for i := 1; i <= junctions; i++ {
		nodes = append(nodes, pipe.Node{Name: fmt.Sprint("J", i)})
		from := rapid.IntRange(0, i-1).Draw(t, "from")
		if from == 0 && rapid.Bool().Draw(t, "pumped") {
			h0 := rapid.Float64Range(0.5, 8).Draw(t, "h0")
			q1 := rapid.Float64Range(2, 100).Draw(t, "q1")
			c, err := pipe.Fit([]pipe.Point{{HeadM: h0}, {FlowM3s: q1 * lMin, HeadM: h0 * rapid.Float64Range(0.5, 0.95).Draw(t, "h1")}, {FlowM3s: 2 * q1 * lMin, HeadM: h0 * rapid.Float64Range(0.01, 0.25).Draw(t, "h2")}})
			if err != nil {
				t.Fatal(err)
			}
			links = append(links, pipe.Link{Name: fmt.Sprint("pump", len(links)), From: 0, To: i, Pump: &c})
			if rapid.IntRange(0, 2).Draw(t, "second pump") == 0 {
				weaker := must(c.AtSpeed(rapid.Float64Range(0.3, 1).Draw(t, "speed")))
				links = append(links, pipe.Link{Name: fmt.Sprint("pump", len(links)), From: 0, To: i, Pump: &weaker})
			}
			continue
		}
		add("pipe", from, i, drawPart(t, "pipe"))
	}
	for range rapid.IntRange(0, junctions).Draw(t, "rings") {
		a, b := rapid.IntRange(0, junctions).Draw(t, "a"), rapid.IntRange(0, junctions).Draw(t, "b")
		if a != b {
			add("ring", a, b, drawPart(t, "ring"))
		}
	}
	for range rapid.IntRange(1, 8).Draw(t, "outlets") {
		nodes = append(nodes, pipe.Node{Name: fmt.Sprint("outlet ", len(nodes)), Fixed: true, HeadM: rapid.Float64Range(-1, 6).Draw(t, "outlet")})
		add("outlet", rapid.IntRange(1, junctions).Draw(t, "at"), len(nodes)-1, drawPart(t, "outlet"))
	}
	return nodes, links
}

// Whatever the network, its flows add up and its heads fit; solved again warm
// from another state it gives the same.
func TestNetworkLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		nodes, links := drawNetwork(rt)
		n, err := pipe.NewNetwork(nodes, links, 20)
		if err != nil {
			rt.Fatal(err)
		}
		if err := n.Solve(); err != nil {
			rt.Fatal(err)
		}
		checkLaws(rt, n, nodes, links, 20)
		l := rapid.IntRange(0, len(links)-1).Draw(rt, "turned")
		warm := n.Clone()
		warm.Close(l, !links[l].Closed)
		if err := warm.Solve(); err != nil {
			rt.Fatal(err)
		}
		turned := append([]pipe.Link(nil), links...)
		turned[l].Closed = !turned[l].Closed
		checkLaws(rt, warm, nodes, turned, 20)
		warm.Close(l, links[l].Closed)
		if err := warm.Solve(); err != nil {
			rt.Fatal(err)
		}
		for i := range links {
			// Wide pipes and pumps with flat curves side by side share by less head than counts.
			if links[i].Pump == nil && !(math.Abs(warm.FlowM3s(i)-n.FlowM3s(i)) < 1e-6) {
				rt.Fatalf("link %q: %g cold, %g warm", links[i].Name, n.FlowM3s(i), warm.FlowM3s(i))
			}
		}
	})
}

// Valves set by Throttle hold the flows, whatever the network.
func TestThrottleLaws(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		nodes, links := drawNetwork(rt)
		n, err := pipe.NewNetwork(nodes, links, 20)
		if err != nil {
			rt.Fatal(err)
		}
		var held []int
		var flows []float64
		for l, lk := range links {
			if lk.OneWay && lk.Pump == nil && nodes[lk.To].Fixed {
				held, flows = append(held, l), append(flows, lMin*rapid.Float64Range(0.5, 60).Draw(rt, "flow"))
			}
		}
		extra, err := n.Throttle(held, flows)
		if err != nil {
			rt.Fatal(err)
		}
		checkLaws(rt, n, nodes, links, 20)
		for i, l := range held {
			q := n.FlowM3s(l)
			if extra[i] < 0 || q > flows[i]*(1+1e-4)+1e-8 || extra[i] > 1e-3 && q < flows[i]*(1-1e-4)-1e-8 {
				rt.Fatalf("link %q: %g of %g m3/s with a valve of %g", links[l].Name, q, flows[i], extra[i])
			}
		}
	})
}

// A faster pump gives every bed more, or nothing still.
func TestFlowRisesWithSpeed(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	c := px45(t)
	rapid.Check(t, func(rt *rapid.T) {
		speed := rapid.Float64Range(0.3, 1.5).Draw(rt, "speed")
		var before [3]float64
		for i, ratio := range []float64{speed, speed * 1.05} {
			n.SetPump(0, must(c.AtSpeed(ratio)))
			if err := n.Solve(); err != nil {
				rt.Fatal(err)
			}
			for b := range before {
				q := n.FlowM3s(4 + b)
				if i == 0 {
					before[b] = q
				} else if !(q > before[b] || q == 0 && before[b] == 0) {
					rt.Fatalf("bed %d: %g at %g, %g at a twentieth more", b+1, before[b], speed, q)
				}
			}
		}
	})
}

// A free outlet above its head takes nothing, and the others do as if it were
// not there; one exactly at its head takes nothing either.
func TestOutletTooHigh(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	n.Close(5, true)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	head, q1, q3 := n.HeadM(3), n.FlowM3s(4), n.FlowM3s(6)
	n.Close(5, false)
	for _, above := range []float64{0, 1e-9, 0.001, 0.5, 900} {
		n.SetHead(6, head+above)
		if err := n.Solve(); err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("outlet above by ", above), n.FlowM3s(5), 0, 2e-8)
		if above >= 0.001 && n.FlowM3s(5) != 0 {
			t.Errorf("outlet above by %g takes %g", above, n.FlowM3s(5))
		}
		near(t, "bed 1", n.FlowM3s(4), q1, 1e-8)
		near(t, "bed 3", n.FlowM3s(6), q3, 1e-8)
	}
}

// A pump shut and opened again gives what it gave.
func TestPumpShutAndOpened(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	before := n.FlowM3s(0)
	other := n.Clone()
	for _, shut := range []bool{true, false} {
		n.Close(0, shut)
		if err := n.Solve(); err != nil {
			t.Fatal(err)
		}
		if shut && n.FlowM3s(4) != 0 {
			t.Errorf("bed 1 gets %g from a pump that is shut", n.FlowM3s(4))
		}
	}
	near(t, "opened again", n.FlowM3s(0), before, 1e-9)
	near(t, "the clone", other.FlowM3s(0), before, 0)
}

// A pump that cannot lift gives nothing, is no error, and presses with its head
// at no flow.
func TestPumpCannotLift(t *testing.T) {
	nodes, links := threeBeds(t)
	n := solved(t, nodes, links, 20)
	for b := range 3 {
		n.SetHead(5+b, 5)
	}
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	for l := range links {
		if n.FlowM3s(l) != 0 {
			t.Errorf("link %q carries %g", links[l].Name, n.FlowM3s(l))
		}
	}
	near(t, "head in the header", n.HeadM(4), 3.6, 1e-9)
	near(t, "head of the pump", -n.LossM(0), 3, 1e-9)
	n.Close(0, true)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	if h := n.HeadM(4); !math.IsNaN(h) {
		t.Errorf("header with nothing open to it: head %g", h)
	}
}

// Parts that nothing open reaches stand still, without a head.
func TestCutOff(t *testing.T) {
	nodes, links := threeBeds(t)
	links[3].Closed, links[6].Closed = true, true
	n := solved(t, nodes, links, 20)
	if !math.IsNaN(n.HeadM(4)) || n.FlowM3s(6) != 0 || n.LossM(3) != 0 {
		t.Errorf("head %g, flow %g, loss %g", n.HeadM(4), n.FlowM3s(6), n.LossM(3))
	}
	checkLaws(t, n, nodes, links, 20)
	n.SetDrawn(4, 1e-4)
	if err := n.Solve(); !errors.Is(err, pipe.ErrDrawn) {
		t.Errorf("water drawn there: %v", err)
	}
	n.Close(3, false)
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	near(t, "drawn", n.FlowM3s(3), 1e-4, 1e-9)
	n.SetDrawn(4, -5e-3)
	n.Close(4, true)
	n.Close(5, true)
	if err := n.Solve(); !errors.Is(err, pipe.ErrDrawn) {
		t.Errorf("water that can only run back through the pump: %v", err)
	}
}

// Pumps side by side share the flow; a weak one is shut by a strong one; curves
// of any exponent settle.
func TestPumpsTogether(t *testing.T) {
	for _, exponent := range []float64{0.3, 0.8, 1, 1.5, 2, 6} {
		at := func(q float64) pipe.Point {
			return pipe.Point{FlowM3s: q * 40 * lMin, HeadM: 3 - 2.5*math.Pow(q, exponent)}
		}
		c := must(pipe.Fit([]pipe.Point{at(0), at(0.5), at(1)}))
		build := func(second pipe.Curve) *pipe.Network {
			return solved(t, []pipe.Node{{Name: "sump", Fixed: true}, {Name: "J"}, {Name: "tank", Fixed: true, HeadM: 1.2}}, []pipe.Link{
				{Name: "first", From: 0, To: 1, Pump: &c}, {Name: "second", From: 0, To: 1, Pump: &second}, {Name: "P", From: 1, To: 2, Pipe: plastic(26.64, 4, 3)},
			}, 20)
		}
		n := build(c)
		near(t, fmt.Sprint("exponent ", exponent), n.FlowM3s(0), n.FlowM3s(1), 1e-9)
		near(t, "heads meet", -n.LossM(0), n.HeadM(1), 2e-6)
		if !(n.FlowM3s(0) > 0) {
			t.Errorf("exponent %g: %g m3/s", exponent, n.FlowM3s(0))
		}
		n = build(must(c.AtSpeed(0.5)))
		alone := must(pipe.Duty(c, 1.2, plastic(26.64, 4, 3), 20))
		near(t, "the weak one", n.FlowM3s(1), 0, 0)
		near(t, "the strong one", n.FlowM3s(0), alone.FlowM3s, 2e-9)
	}
}

func TestNetworkRefusals(t *testing.T) {
	good, links := threeBeds(t)
	var empty pipe.Curve
	with := func(change func(nodes []pipe.Node, links []pipe.Link)) error {
		a, b := append([]pipe.Node(nil), good...), append([]pipe.Link(nil), links...)
		change(a, b)
		_, err := pipe.NewNetwork(a, b, 20)
		return err
	}
	for name, row := range map[string]struct {
		err  error
		want error
	}{
		"no fixed head":    {with(func(a []pipe.Node, _ []pipe.Link) { clear(a) }), pipe.ErrNetwork},
		"a loop":           {with(func(_ []pipe.Node, b []pipe.Link) { b[1].To = b[1].From }), pipe.ErrNetwork},
		"nowhere":          {with(func(_ []pipe.Node, b []pipe.Link) { b[1].To = 8 }), pipe.ErrNetwork},
		"before the first": {with(func(_ []pipe.Node, b []pipe.Link) { b[1].From = -1 }), pipe.ErrNetwork},
		"drawn from sump":  {with(func(a []pipe.Node, _ []pipe.Link) { a[0].DrawnM3s = 1 }), pipe.ErrNetwork},
		"empty curve":      {with(func(_ []pipe.Node, b []pipe.Link) { b[0].Pump = &empty }), pipe.ErrCurve},
	} {
		if !errors.Is(row.err, row.want) {
			t.Errorf("%s: %v", name, row.err)
		}
	}
	refused(t, "head NaN", with(func(a []pipe.Node, _ []pipe.Link) { a[0].HeadM = math.NaN() }))
	refused(t, "drawn NaN", with(func(a []pipe.Node, _ []pipe.Link) { a[1].DrawnM3s = math.NaN() }))
	refused(t, "K below 0", with(func(_ []pipe.Node, b []pipe.Link) { b[1].Pipe.K = -1 }))
	_, err := pipe.NewNetwork(good, links, 60)
	refused(t, "60 °C", err)
	if _, err := pipe.NewNetwork(good, nil, 20); !errors.Is(err, pipe.ErrNetwork) {
		t.Errorf("no links: %v", err)
	}

	n := solved(t, good, links, 20)
	n.SetHead(0, math.NaN())
	refused(t, "head set to NaN", n.Solve())
	n.SetHead(0, 0.6)
	n.SetK(1, math.Inf(1))
	refused(t, "K without end", n.Solve())
	n.SetK(1, 4)
	n.SetDrawn(1, math.NaN())
	refused(t, "drawn set to NaN", n.Solve())
	n.SetDrawn(1, 0)
	for name, set := range map[string]func(){
		"head of a junction": func() { n.SetHead(1, 1) }, "drawn at the sump": func() { n.SetDrawn(0, 1) }, "pump in a pipe": func() { n.SetPump(1, px45(t)) },
	} {
		set()
		if err := n.Solve(); !errors.Is(err, pipe.ErrNetwork) {
			t.Errorf("%s: %v", name, err)
		}
		if !math.IsNaN(n.HeadM(0)) || n.FlowM3s(0) != 0 {
			t.Errorf("%s: still head %g and flow %g", name, n.HeadM(0), n.FlowM3s(0))
		}
		if err := n.Solve(); err != nil {
			t.Errorf("%s, left alone: %v", name, err)
		}
	}
	n.SetPump(0, empty)
	if err := n.Solve(); !errors.Is(err, pipe.ErrCurve) {
		t.Errorf("empty curve set: %v", err)
	}
	n.SetPump(0, px45(t))
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
	near(t, "mended", n.FlowM3s(4)/lMin, 13.4575, 1e-3*13.4575)

	for name, err := range map[string]error{
		"flows missing": second(n.Throttle([]int{4}, nil)), "twice": second(n.Throttle([]int{4, 4}, []float64{1e-4, 1e-4})),
		"a pump": second(n.Throttle([]int{0}, []float64{1e-4})), "no such": second(n.Throttle([]int{9}, []float64{1e-4})),
	} {
		if !errors.Is(err, pipe.ErrNetwork) {
			t.Errorf("%s: %v", name, err)
		}
	}
	refused(t, "no flow", second(n.Throttle([]int{4}, []float64{0})))
	refused(t, "flow NaN", second(n.Throttle([]int{4}, []float64{math.NaN()})))
	n.Close(4, true)
	if _, _, err := n.Even([]int{4, 5}); !errors.Is(err, pipe.ErrNetwork) {
		t.Errorf("even flow of a closed link: %v", err)
	}
	n.SetHead(6, 9)
	if _, _, err := n.Even([]int{5, 6}); !errors.Is(err, pipe.ErrCannotLift) {
		t.Errorf("even flow to 9 m: %v", err)
	}
}

func second[T any](_ T, err error) error { return err }

// twentyBeds are a pump, a header and twenty beds of slightly different height.
func twentyBeds(t testing.TB) ([]pipe.Node, []pipe.Link) {
	c := fitted(t, 6, 120, 5.4, 300, 3.2)
	nodes := []pipe.Node{{Name: "sump", Fixed: true}, {Name: "pump"}}
	links := []pipe.Link{{Name: "pump", From: 0, To: 1, Pump: &c}}
	at := 1
	for i := range 20 {
		nodes = append(nodes, pipe.Node{Name: fmt.Sprint("header ", i)}, pipe.Node{Name: fmt.Sprint("bed ", i), Fixed: true, HeadM: 1 + 0.02*float64(i%5)})
		next := len(nodes) - 2
		links = append(links, pipe.Link{Name: fmt.Sprint("H", i), From: at, To: next, Pipe: plastic(77.9, 1.5, 0.6)},
			pipe.Link{Name: fmt.Sprint("B", i), From: next, To: next + 1, Pipe: plastic(20.93, 0.8, 4), OneWay: true})
		at = next
	}
	return nodes, links
}

func TestSolveAllocatesNothing(t *testing.T) {
	nodes, links := twentyBeds(t)
	n := solved(t, nodes, links, 20)
	shut := false
	if allocs := testing.AllocsPerRun(50, func() {
		shut = !shut
		n.Close(2, shut)
		n.SetHead(0, 0.1)
		if err := n.Solve(); err != nil {
			t.Error(err)
		}
	}); allocs != 0 {
		t.Errorf("%g allocations", allocs)
	}
}

func BenchmarkSolveTwentyBeds(b *testing.B) {
	nodes, links := twentyBeds(b)
	b.Run("cold", func(b *testing.B) {
		b.ReportAllocs()
		fresh, err := pipe.NewNetwork(nodes, links, 20)
		if err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			n := fresh.Clone()
			if err := n.Solve(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("one bed shut and opened", func(b *testing.B) {
		b.ReportAllocs()
		n := solved(b, nodes, links, 20)
		shut := false
		for b.Loop() {
			shut = !shut
			n.Close(20, shut)
			if err := n.Solve(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("level a little lower", func(b *testing.B) {
		b.ReportAllocs()
		n := solved(b, nodes, links, 20)
		level := 0.0
		for b.Loop() {
			level -= 1e-3
			if level < -0.2 {
				level = 0
			}
			n.SetHead(0, level)
			if err := n.Solve(); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("even", func(b *testing.B) {
		n := solved(b, nodes, links, 20)
		var beds []int
		for i := range 20 {
			beds = append(beds, 2+2*i)
		}
		for b.Loop() {
			if _, _, err := n.Even(beds); err != nil {
				b.Fatal(err)
			}
		}
	})
}
