package pipe

import (
	"errors"
	"fmt"
	"math"
)

// ErrNetwork says that nodes and links make no network.
var ErrNetwork = errors.New("no network")

// ErrDrawn says that a junction draws water that cannot reach it.
var ErrDrawn = errors.New("the water drawn cannot reach the junction")

// ErrUnsettled says that no flows were found that fit the heads.
var ErrUnsettled = errors.New("the flows do not settle")

// Node is a point of a network: with a fixed head (a surface of water, an open
// outlet) or a junction whose head is sought.
type Node struct {
	Name     string
	Fixed    bool
	HeadM    float64 // of a fixed node, -1000 to 1000
	DrawnM3s float64 // water that leaves a junction, -100 to 100; below 0 it comes
}

// Link joins two nodes.
type Link struct {
	Name     string
	From, To int
	Pipe     Pipe   // K includes fittings; of a pump only the bore is used, for its velocity
	Pump     *Curve // not nil: a pump that lifts from From to To, never backward
	OneWay   bool   // no flow from To to From: a check valve, or an outlet that falls free into air
	Closed   bool
}

// Rounds and limits of Solve.
const (
	mostRounds   = 200
	strictRounds = 50    // after them two outlets at one level may leave open which of them drips
	settledM3s   = 1e-9  // largest change of a flow in the last round
	roundedM     = 1e-11 // a difference that stands for no change of flow
	settledM     = 1e-6  // largest difference between a link's loss and its heads
	stoppedM3s   = 1e-11 // a one-way link with no more than this stands still
	backwardM3s  = 1e-8  // against a wall only what is drawn can drive this
	least        = 1e-3  // least slope in the matrix, s/m²: a flatter one would turn roundings of heads into flows
	wall         = 1e12  // slope of a link that lets nothing through, s/m²
	startMS      = 0.3
	tinyPumpM3s  = 1e-9 // below it a pump's curve is a straight line: powers below 1 fall without end at 0
)

// Network is a network of pipes, pumps and valves, solved for flows and heads.
// Make it with NewNetwork. It is not safe for use by several goroutines at
// once; give each a Clone.
//
// The flows are those of least content: the sum over the links of the integral
// of head over flow, which is convex because no loss falls as its flow rises.
// Each round is a step of the global gradient method, heads of all junctions at
// once, and along each step the flows are moved to where the content is least.
// So it ends from any start, with pumps side by side and curves of any exponent
// too. A link that lets no water back has, below no flow, a slope of 1e12 s/m²: what
// leaks through it, 1e-12 m³/s under 1 m, is shown as 0. So every link finds by
// itself whether it flows, and no guess of it has to be mended.
//
// The matrix is dense, its storage made once: right for a house with up to some
// 60 junctions, slow for a town with its thousands.
//
// Friction by the method Smooth. Water at one temperature; pipes full, in steady
// flow; how long a pipe takes to fill is not asked.
//
// Source: [epanet-2.2], global gradient method; [todini-pilati-1988].
type Network struct {
	nodes []Node
	links []Link
	pumps []Curve // of links with a pump
	water Water

	row     []int     // of a junction in the matrix; -1 for a fixed head and for what is cut off
	junctM  []float64 // heads as solved
	shownM  []float64 // heads as shown
	group   []int     // workspace: which nodes hang together
	a, b    []float64 // how junctions are joined; right side
	ground  []float64 // how each is joined to fixed heads
	pivot   []float64
	q, h, g []float64 // flow, loss and slope of each link
	fall    []float64 // of head along each link
	step    []float64 // of a flow
	tq      []float64 // flows, losses and slopes on trial
	th, tg  []float64
	extraK  []float64 // by a throttled valve, on top of the pipe's K
	limit   []float64 // most flow through a link; +Inf without
	forced  []bool    // the limit is the flow, whatever head it takes
	stopped []bool    // one-way links that stand still
	live    []bool    // open and reached by some fixed head
	warm    bool
	solved  bool
	fault   error // of a setter, told by the next Solve
}

// NewNetwork checks nodes and links and makes a network of them; what is wrong
// it names. It copies both.
//
//	nodes  at least one of them with a fixed head
//	links  at least one; Pipe as Pipe.Check wants it, Pump as Fit makes it
//	tempC  of the water, 0 to 45
func NewNetwork(nodes []Node, links []Link, tempC float64) (*Network, error) {
	w, err := WaterAt(tempC)
	if err != nil {
		return nil, fmt.Errorf("network: %w", err)
	}
	if len(links) == 0 {
		return nil, fmt.Errorf("network: %w: it has no links; give at least one", ErrNetwork)
	}
	anyFixed := false
	for i, nd := range nodes {
		what := fmt.Sprintf("network: node %d, %q", i, nd.Name)
		if err := check(what, bound{"head", nd.HeadM, -MostHeadM, MostHeadM, "m"}, bound{"water drawn", nd.DrawnM3s, -MostFlowM3s, MostFlowM3s, "m3/s"}); err != nil {
			return nil, err
		}
		if nd.Fixed && nd.DrawnM3s != 0 {
			return nil, fmt.Errorf("%s: %w: a node with a fixed head gives and takes what comes; draw water at a junction", what, ErrNetwork)
		}
		anyFixed = anyFixed || nd.Fixed
	}
	if !anyFixed {
		return nil, fmt.Errorf("network: %w: no node has a fixed head; give the surface of the sump", ErrNetwork)
	}
	n := &Network{nodes: append([]Node(nil), nodes...), links: append([]Link(nil), links...), pumps: make([]Curve, len(links)), water: w}
	for i, lk := range links {
		what := fmt.Sprintf("network: link %d, %q", i, lk.Name)
		if lk.From < 0 || lk.From >= len(nodes) || lk.To < 0 || lk.To >= len(nodes) {
			return nil, fmt.Errorf("%s: %w: it joins nodes %d and %d; there are 0 to %d", what, ErrNetwork, lk.From, lk.To, len(nodes)-1)
		}
		if lk.From == lk.To {
			return nil, fmt.Errorf("%s: %w: both its ends are node %d", what, ErrNetwork, lk.From)
		}
		if lk.Pump == nil {
			if err := lk.Pipe.Check(); err != nil {
				return nil, fmt.Errorf("%s: %w", what, err)
			}
			continue
		}
		if err := lk.Pump.usable(); err != nil {
			return nil, fmt.Errorf("%s: %w", what, err)
		}
		n.pumps[i] = *lk.Pump
		n.links[i].Pump = &n.pumps[i]
	}
	n.makeRoom()
	for i := range n.limit {
		n.limit[i] = math.Inf(1)
	}
	n.blank()
	return n, nil
}

// usable refuses a curve that Fit did not make.
func (c *Curve) usable() error {
	if !(c.MaxM3s > 0 && c.MaxM3s < math.MaxFloat64 && c.ShutOffM > 0 && c.ShutOffM < math.MaxFloat64) {
		return fmt.Errorf("pump: %w: the curve is empty; make it with Fit", ErrCurve)
	}
	return nil
}

// makeRoom makes the storage.
func (n *Network) makeRoom() {
	nodes, links := len(n.nodes), len(n.links)
	junctions := 0
	for i := range n.nodes {
		if !n.nodes[i].Fixed {
			junctions++
		}
	}
	n.row, n.group = make([]int, nodes), make([]int, nodes)
	n.junctM, n.shownM = make([]float64, nodes), make([]float64, nodes)
	n.a, n.b, n.ground, n.pivot = make([]float64, junctions*junctions), make([]float64, junctions), make([]float64, junctions), make([]float64, junctions)
	for _, list := range []*[]float64{&n.q, &n.h, &n.g, &n.fall, &n.step, &n.tq, &n.th, &n.tg, &n.extraK, &n.limit} {
		*list = make([]float64, links)
	}
	n.forced, n.stopped, n.live = make([]bool, links), make([]bool, links), make([]bool, links)
}

// Clone makes another network in the same state.
func (n *Network) Clone() *Network {
	m := *n
	m.nodes, m.links, m.pumps = append([]Node(nil), n.nodes...), append([]Link(nil), n.links...), append([]Curve(nil), n.pumps...)
	for i := range m.links {
		if m.links[i].Pump != nil {
			m.links[i].Pump = &m.pumps[i]
		}
	}
	m.makeRoom()
	copy(m.row, n.row)
	copy(m.junctM, n.junctM)
	copy(m.shownM, n.shownM)
	copy(m.q, n.q)
	copy(m.h, n.h)
	copy(m.extraK, n.extraK)
	copy(m.limit, n.limit)
	copy(m.forced, n.forced)
	copy(m.stopped, n.stopped)
	copy(m.live, n.live)
	return &m
}

// Close closes or opens a link.
func (n *Network) Close(link int, closed bool) {
	if n.links[link].Closed != closed {
		n.links[link].Closed = closed
		n.solved = false
	}
}

// SetHead sets the head of a node with a fixed one, -1000 to 1000 m. What is
// wrong the next Solve says.
func (n *Network) SetHead(node int, headM float64) {
	if !n.nodes[node].Fixed {
		n.fault = fmt.Errorf("network: node %d, %q: %w: it is a junction; its head is sought and cannot be set", node, n.nodes[node].Name, ErrNetwork)
		return
	}
	n.nodes[node].HeadM = headM
	n.solved = false
}

// SetDrawn sets the water that leaves a junction, -100 to 100 m³/s. What is wrong
// the next Solve says.
func (n *Network) SetDrawn(node int, flowM3s float64) {
	if n.nodes[node].Fixed {
		n.fault = fmt.Errorf("network: node %d, %q: %w: its head is fixed; draw water at a junction", node, n.nodes[node].Name, ErrNetwork)
		return
	}
	n.nodes[node].DrawnM3s = flowM3s
	n.solved = false
}

// SetK sets the loss factor of a pipe, 0 to 1e6, its valve fully open, and opens
// what Throttle and Even closed of it. What is wrong the next Solve says.
func (n *Network) SetK(link int, k float64) {
	n.links[link].Pipe.K, n.extraK[link] = k, 0
	n.solved = false
}

// SetPump sets the curve of a link's pump, such as that of another speed. What
// is wrong the next Solve says.
func (n *Network) SetPump(link int, c Curve) {
	if n.links[link].Pump == nil {
		n.fault = fmt.Errorf("network: link %d, %q: %w: it is a pipe; a pump cannot be set in it", link, n.links[link].Name, ErrNetwork)
		return
	}
	n.pumps[link] = c
	n.solved = false
}

// FlowM3s is the flow of a link from From to To; 0 for one that is closed or
// stopped, below 0 for a flow backward.
func (n *Network) FlowM3s(link int) float64 {
	if !n.live[link] || n.stopped[link] {
		return 0
	}
	return n.q[link]
}

// HeadM is the head of a node; NaN for a junction that nothing open reaches, and
// for all before the network is solved. Where water only stands, it is the
// highest that presses on it: a pump that cannot lift gives its head at no flow.
func (n *Network) HeadM(node int) float64 { return n.shownM[node] }

// VelocityMS is the velocity in a link's pipe; 0 for a pump without a bore.
func (n *Network) VelocityMS(link int) float64 {
	p := &n.links[link].Pipe
	if !(p.DiameterM > 0) {
		return 0
	}
	return n.FlowM3s(link) / p.AreaM2()
}

// LossM is the head lost along a link from From to To, that of a throttled valve
// included; of a pump its head with a minus, at no flow when it cannot lift; 0
// for a link that is closed or stopped.
func (n *Network) LossM(link int) float64 {
	if !n.live[link] || n.stopped[link] && n.links[link].Pump == nil {
		return 0
	}
	h, _ := n.open(link, n.FlowM3s(link))
	return h
}

// ExtraK is the loss factor that Throttle or Even added to a link.
func (n *Network) ExtraK(link int) float64 { return n.extraK[link] }

// oneWay says that a link lets no water back.
func (n *Network) oneWay(link int) bool { return n.links[link].OneWay || n.links[link].Pump != nil }

// open is the loss and slope of a link through which water may run.
func (n *Network) open(link int, q float64) (h, slope float64) {
	if n.links[link].Pump == nil {
		p := n.links[link].Pipe
		p.K += n.extraK[link]
		return p.HeadAndSlope(q, n.water.KinematicM2)
	}
	c := &n.pumps[link]
	switch {
	case q < tinyPumpM3s:
		head, _ := c.HeadAndSlope(tinyPumpM3s)
		slope = (c.ShutOffM - head) / tinyPumpM3s
		return slope*max(0, q) - c.ShutOffM, slope
	case q > c.MaxM3s && c.bend > 0: // the parabola would rise again
		head, falls := c.HeadAndSlope(c.MaxM3s)
		return -head - falls*(q-c.MaxM3s), -falls
	}
	head, falls := c.HeadAndSlope(q)
	return -head, -falls
}

// law is the loss and slope of a link with its walls: no flow backward where it
// is one-way, none above its limit.
func (n *Network) law(link int, q float64) (h, slope float64) {
	if most := n.limit[link]; n.forced[link] || q >= most {
		h, _ = n.open(link, most)
		return h + wall*(q-most), wall
	}
	if q <= 0 && n.oneWay(link) {
		h, _ = n.open(link, 0)
		return h + wall*q, wall
	}
	h, slope = n.open(link, q)
	return h, max(slope, least)
}

// atLimit says that a link's flow is held by its limit.
func (n *Network) atLimit(link int) bool { return n.forced[link] || n.q[link] >= n.limit[link] }
