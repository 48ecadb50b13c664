package pipe

import (
	"fmt"
	"math"
)

// Solve finds flows and heads. It starts from the last solution and allocates
// nothing once one was found. A pump that cannot lift to any outlet leaves its
// flow at 0 and is no error: look at the flow. A part with no fixed head within
// reach stands still.
//
// Refused are values that a setter took and that cannot be (wrapping
// quantity.ErrRange, ErrCurve or ErrNetwork), water drawn where none can come
// (ErrDrawn), and flows that do not settle within 200 rounds to 1e-9 m³/s and 1e-6 m
// (ErrUnsettled), with the worst link's name.
//
// After an error flows are 0 and heads NaN.
func (n *Network) Solve() error {
	if n.solved && n.fault == nil {
		return nil
	}
	err := n.solve()
	n.warm, n.solved, n.fault = err == nil, err == nil, nil
	if err != nil {
		n.blank()
	}
	return err
}

func (n *Network) solve() error {
	if n.fault != nil {
		return n.fault
	}
	if err := n.checkValues(); err != nil {
		return err
	}
	if !n.warm {
		n.start()
	}
	junctions, err := n.join()
	if err != nil {
		return err
	}
	if err := n.settle(junctions); err != nil {
		return err
	}
	for l := range n.links {
		if n.live[l] && n.oneWay(l) && n.q[l] < -backwardM3s {
			return fmt.Errorf("network: link %d, %q: %w: water would have to run backward through it; open another way or draw less", l, n.links[l].Name, ErrDrawn)
		}
	}
	n.show()
	return nil
}

// blank shows no flows and no heads.
func (n *Network) blank() {
	clear(n.live)
	for i := range n.shownM {
		n.shownM[i] = math.NaN()
	}
}

// checkValues refuses what setters took.
func (n *Network) checkValues() error {
	for i := range n.nodes {
		nd := &n.nodes[i]
		if !(math.Abs(nd.HeadM) <= MostHeadM && math.Abs(nd.DrawnM3s) <= MostFlowM3s) {
			return check(fmt.Sprintf("network: node %d, %q", i, nd.Name), bound{"head", nd.HeadM, -MostHeadM, MostHeadM, "m"},
				bound{"water drawn", nd.DrawnM3s, -MostFlowM3s, MostFlowM3s, "m3/s"})
		}
	}
	for i := range n.links {
		lk := &n.links[i]
		if lk.Pump != nil {
			if err := n.pumps[i].usable(); err != nil {
				return fmt.Errorf("network: link %d, %q: %w", i, lk.Name, err)
			}
		} else if !(lk.Pipe.K >= 0 && lk.Pipe.K <= MostLossSum) {
			return check(fmt.Sprintf("network: link %d, %q", i, lk.Name), bound{"sum of loss factors", lk.Pipe.K, 0, MostLossSum, ""})
		}
	}
	return nil
}

// start sets the flows from which a network never solved begins.
func (n *Network) start() {
	for l := range n.links {
		if n.links[l].Pump != nil {
			n.q[l] = n.pumps[l].MaxM3s / 2
		} else {
			n.q[l] = startMS * n.links[l].Pipe.AreaM2()
		}
	}
}

// join finds which open links hang on a fixed head and numbers their junctions.
func (n *Network) join() (junctions int, err error) {
	n.groups(func(l int) bool { return !n.links[l].Closed })
	for i := range n.nodes {
		n.row[i] = -1
	}
	for i := range n.nodes { // mark the groups with a fixed head
		if n.nodes[i].Fixed {
			n.row[n.top(i)] = -2
		}
	}
	for l := range n.links {
		n.live[l] = !n.links[l].Closed && n.row[n.top(n.links[l].From)] == -2
		if !n.live[l] {
			n.q[l], n.h[l], n.g[l], n.step[l] = 0, 0, 1, 0
		}
	}
	// Heads now mark what is reached, since row is about to be filled.
	for i := range n.nodes {
		n.shownM[i] = math.NaN()
		if n.row[n.top(i)] == -2 {
			n.shownM[i] = 0
		}
	}
	for i := range n.nodes {
		nd := &n.nodes[i]
		n.row[i] = -1
		switch {
		case nd.Fixed:
			n.junctM[i] = nd.HeadM
		case n.shownM[i] == 0:
			n.row[i] = junctions
			junctions++
			if !n.warm {
				n.junctM[i] = 0
			}
		case nd.DrawnM3s != 0:
			return 0, fmt.Errorf("network: node %d, %q: %w: all ways to it are closed", i, nd.Name, ErrDrawn)
		}
	}
	return junctions, nil
}

// groups joins the nodes of the links taken into trees.
func (n *Network) groups(taken func(link int) bool) {
	for i := range n.group {
		n.group[i] = i
	}
	for l := range n.links {
		if taken(l) {
			n.group[n.top(n.links[l].From)] = n.top(n.links[l].To)
		}
	}
}

// top is the root of a node's tree.
func (n *Network) top(i int) int {
	for n.group[i] != i {
		n.group[i] = n.group[n.group[i]]
		i = n.group[i]
	}
	return i
}

// settle makes rounds until flows and heads fit.
func (n *Network) settle(junctions int) error {
	for l := range n.links {
		if n.live[l] {
			n.h[l], n.g[l] = n.law(l, n.q[l])
			n.fall[l] = n.fallM(l)
		}
	}
	whole := !n.continuous() // the first step mends what flows do not add up, at full length
	worst, worstM3s, worstM := 0, 0.0, 0.0
	for round := range mostRounds {
		n.assemble(junctions)
		n.eliminate(junctions)
		n.heads()
		var byM3s, byM float64
		worst, worstM3s, worstM = 0, 0, 0
		largest := -1.0
		for l := range n.links {
			if !n.live[l] {
				continue
			}
			off := n.h[l] - n.fall[l]
			n.step[l] = -off / n.g[l]
			byM3s = math.Abs(n.step[l])
			byM = math.Abs(off)
			if byM < roundedM && n.slopeAt(l, n.q[l]+n.step[l]) != wall {
				byM3s = 0 // all but without friction: how it shares the flow is beyond the digits
			}
			if n.g[l] == wall {
				if n.slopeAt(l, n.q[l]+n.step[l]) == wall {
					byM = 0 // it stays shut: its head is a rounding of its flow
				} else if round < strictRounds {
					byM *= 1000 // it opens: a wide outlet flows at a hair's breadth
				}
			}
			if score := max(byM3s/settledM3s, byM/settledM); !(score <= largest) {
				largest, worst, worstM3s, worstM = score, l, byM3s, byM
			}
		}
		if math.IsNaN(largest) {
			break
		}
		if largest < 1 {
			n.advance(1)
			return nil
		}
		if whole {
			whole = false
			n.trial(1)
			n.take()
			continue
		}
		n.search()
	}
	return fmt.Errorf("network: link %d, %q: %w: after %d rounds its flow still moves by %.2g m3/s and its head by %.2g m; look at its bore, length and loss factor",
		worst, n.links[worst].Name, ErrUnsettled, mostRounds, worstM3s, worstM)
}

// fallM is the fall of head along a link.
func (n *Network) fallM(l int) float64 { return n.junctM[n.links[l].From] - n.junctM[n.links[l].To] }

// continuous says that as much water leaves each junction as comes to it.
func (n *Network) continuous() bool {
	clear(n.b)
	for l := range n.links {
		if n.live[l] {
			n.pour(l, n.q[l])
		}
	}
	for i := range n.nodes {
		if r := n.row[i]; r >= 0 && !(math.Abs(n.b[r]-n.nodes[i].DrawnM3s) < 1e-14) {
			return false
		}
	}
	return true
}

// pour adds a link's flow to the right side of both its ends.
func (n *Network) pour(l int, q float64) {
	if r := n.row[n.links[l].From]; r >= 0 {
		n.b[r] -= q
	}
	if r := n.row[n.links[l].To]; r >= 0 {
		n.b[r] += q
	}
}

// assemble makes the equations of how much each junction's head must change: what
// comes to it then is what leaves it, with each link's loss on its tangent.
func (n *Network) assemble(junctions int) {
	clear(n.a)
	clear(n.b)
	clear(n.ground)
	for l := range n.links {
		if !n.live[l] {
			continue
		}
		w := 1 / n.g[l]
		n.pour(l, n.q[l]-(n.h[l]-n.fall[l])*w)
		r, s := n.row[n.links[l].From], n.row[n.links[l].To]
		switch {
		case r >= 0 && s >= 0:
			n.a[max(r, s)*junctions+min(r, s)] += w
		case r >= 0:
			n.ground[r] += w
		case s >= 0:
			n.ground[s] += w
		}
	}
	for i := range n.nodes {
		if r := n.row[i]; r >= 0 {
			n.b[r] -= n.nodes[i].DrawnM3s
		}
	}
}

// eliminate solves the equations in place, the last junction first. It is the
// elimination of Cholesky's method in the form of star and mesh: a holds by how
// much junctions are joined, ground by how much each is to fixed heads, and a
// junction taken out joins its neighbours to one another. Nothing is ever
// subtracted, so a part that hangs on the rest by walls alone, 1e12 times weaker
// than its pipes, keeps all its digits.
func (n *Network) eliminate(m int) {
	a, b, ground := n.a, n.b, n.ground
	for k := m - 1; k >= 0; k-- {
		row := a[k*m : k*m+k]
		pivot := ground[k]
		for _, w := range row {
			pivot += w
		}
		n.pivot[k] = pivot
		for i, w := range row {
			if w == 0 {
				continue
			}
			share := w / pivot
			b[i] += share * b[k]
			ground[i] += share * ground[k]
			other := a[i*m : i*m+i]
			for j, v := range row[:i] {
				other[j] += share * v
			}
		}
	}
	for k := range m {
		sum := b[k]
		for i, w := range a[k*m : k*m+k] {
			sum += w * b[i]
		}
		b[k] = sum / n.pivot[k]
	}
}

// heads moves the junctions' heads by the solution, and the fall along each link
// by itself while it agrees: a difference of heads lacks the digits that tell the
// least flows apart.
func (n *Network) heads() {
	for i := range n.nodes {
		if r := n.row[i]; r >= 0 {
			n.junctM[i] += n.b[r]
		}
	}
	for l := range n.links {
		if !n.live[l] {
			continue
		}
		from, to := n.links[l].From, n.links[l].To
		fall := n.fall[l]
		if r := n.row[from]; r >= 0 {
			fall += n.b[r]
		}
		if r := n.row[to]; r >= 0 {
			fall -= n.b[r]
		}
		byHeads := n.junctM[from] - n.junctM[to]
		if math.Abs(fall-byHeads) > 1e-15*(math.Abs(n.junctM[from])+math.Abs(n.junctM[to])) {
			fall = byHeads
		}
		n.fall[l] = fall
	}
}

// slopeAt is the slope of a link at a flow.
func (n *Network) slopeAt(l int, q float64) float64 {
	_, slope := n.law(l, q)
	return slope
}

// trial works out losses a share t of the step on, and the slope of the content
// there: it rises with t, and is 0 where the content is least.
func (n *Network) trial(t float64) (slope float64) {
	for l := range n.links {
		if !n.live[l] {
			continue
		}
		n.tq[l] = n.q[l] + t*n.step[l]
		n.th[l], n.tg[l] = n.law(l, n.tq[l])
		slope += (n.th[l] - n.fall[l]) * n.step[l]
	}
	return slope
}

// take makes the last trial the present.
func (n *Network) take() {
	n.q, n.tq = n.tq, n.q
	n.h, n.th = n.th, n.h
	n.g, n.tg = n.tg, n.g
}

// advance moves the flows along the step.
func (n *Network) advance(t float64) {
	for l := range n.links {
		if n.live[l] {
			n.q[l] += t * n.step[l]
			n.h[l], n.g[l] = n.law(l, n.q[l])
		}
	}
}

// search moves the flows along the step to where the content is near its least.
func (n *Network) search() {
	begin := 0.0 // slope at the start, below 0
	for l := range n.links {
		if n.live[l] {
			begin -= n.g[l] * n.step[l] * n.step[l]
		}
	}
	lo, hi, atLo := 0.0, 1.0, begin
	atHi := n.trial(1)
	if atHi <= -0.5*begin {
		n.take()
		return
	}
	const trials = 40
	t := 1.0
	for i := range trials {
		if wall := n.firstWall(lo, hi); wall > lo && wall < hi {
			t = wall
		} else {
			t = lo + (hi-lo)*atLo/(atLo-atHi)
			if room := (hi - lo) / 8; i%2 == 1 || !(t > lo+room*1e-3 && t < hi-room*1e-3) {
				t = (lo + hi) / 2
			}
		}
		at := n.trial(t)
		if math.Abs(at) <= -0.5*begin || at < 0 && i > 20 {
			n.take()
			return
		}
		if at < 0 {
			lo, atLo = t, at
		} else {
			hi, atHi = t, at
		}
		if lo > 0 && hi-lo < 1e-9*hi {
			break
		}
	}
	if lo > 0 {
		t = lo
	}
	n.trial(t)
	n.take()
}

// firstWall is the least share of the step between two at which a link meets a
// wall; hi when none does.
func (n *Network) firstWall(lo, hi float64) float64 {
	first := hi
	for l := range n.links {
		if !n.live[l] || n.forced[l] {
			continue
		}
		d, at := n.step[l], hi
		switch {
		case d < 0 && n.q[l] > 0 && n.oneWay(l):
			at = -n.q[l] / d
		case d > 0 && n.q[l] < n.limit[l] && !math.IsInf(n.limit[l], 1):
			at = (n.limit[l] - n.q[l]) / d
		default:
			continue
		}
		if at > lo && at < first {
			first = at
		}
	}
	return first
}

// show works out what stands still and the heads to be seen.
func (n *Network) show() {
	for l := range n.links {
		n.stopped[l] = n.live[l] && n.oneWay(l) && n.q[l] <= stoppedM3s && !n.forced[l]
	}
	// What hangs on a fixed head by links with water in them keeps its head.
	n.groups(func(l int) bool { return n.live[l] && !n.stopped[l] })
	for i := range n.nodes {
		n.shownM[i] = math.NaN()
	}
	for i := range n.nodes {
		if n.nodes[i].Fixed {
			n.shownM[n.top(i)] = 0
		}
	}
	for i := range n.nodes {
		if r := n.top(i); r != i {
			n.shownM[i] = n.shownM[r]
		}
	}
	for i := range n.nodes {
		if n.shownM[i] == 0 {
			n.shownM[i] = n.junctM[i]
		}
	}
	// The rest stands still under the highest head that presses on it: of a
	// pump that cannot lift, of the water before a check valve.
	for range n.nodes {
		changed := false
		for l := range n.links {
			if !n.stopped[l] {
				continue
			}
			from, to := n.links[l].From, n.links[l].To
			loss, _ := n.open(l, 0)
			head := n.shownM[from] - loss
			if n.still(to) && head > orLowest(n.shownM[to]) {
				changed = true
				root := n.top(to)
				for i := range n.nodes {
					if n.top(i) == root {
						n.shownM[i] = head
					}
				}
			}
		}
		if !changed {
			break
		}
	}
	for l := range n.links {
		if n.live[l] && !n.stopped[l] && n.still(n.links[l].From) && !n.forced[l] {
			n.stopped[l] = n.noneDrawn(n.links[l].From)
		}
	}
}

// still says that a node hangs on no fixed head by links with water in them.
func (n *Network) still(node int) bool {
	root := n.top(node)
	for i := range n.nodes {
		if n.nodes[i].Fixed && n.top(i) == root {
			return false
		}
	}
	return true
}

// noneDrawn says that no water leaves or comes at the nodes that hang together
// with one.
func (n *Network) noneDrawn(node int) bool {
	root := n.top(node)
	for i := range n.nodes {
		if n.nodes[i].DrawnM3s != 0 && n.top(i) == root {
			return false
		}
	}
	return true
}

// orLowest is a head, or minus infinity where there is none yet.
func orLowest(headM float64) float64 {
	if math.IsNaN(headM) {
		return math.Inf(-1)
	}
	return headM
}
