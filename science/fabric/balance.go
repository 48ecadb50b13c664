package fabric

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// MostNodes is how many nodes a balance may have.
const MostNodes = 32

// Border is a way by which a node gives heat to something whose temperature is
// given: the air outside, the ground, the air that a fan brings.
type Border struct{ WK, TempC float64 }

// Node is a body of one temperature: the air of a room with what is light in it,
// beds, a tank.
type Node struct {
	HeatJK  float64  // heat it takes up per kelvin, 1 to 1e12
	GainW   float64  // heat put into it: heater, lamps, sun, people
	Borders []Border // WK of 0 to 1e9
}

// Tie is the heat that passes between two nodes per kelvin; A and B are their
// places in the list.
type Tie struct {
	A, B int
	WK   float64
}

// Balance is the heat of coupled nodes, made by NewBalance. It is solved exactly
// while borders and gains stay as they are: dT/dt is linear, so that a step may
// be as long as they stay, and neither light air nor a heavy tank asks for a
// shorter one. A Balance may be used by several goroutines at once.
type Balance struct {
	heatJK []float64
	restW  []float64 // gains, and borders times their temperatures
	border []float64 // sum of border conductances
	out    []bool    // has a way to a border
	rate   []float64 // of the modes, 1/s, 0 or more
	mode   [][]float64
	root   []float64 // square root of heatJK
}

// Course is a step of a balance: temperatures at its end and their means over it.
type Course struct{ EndC, MeanC []float64 }

// NewBalance couples nodes by ties. Refused: no node or more than MostNodes, a
// tie to a node that is not there or to itself, values outside their limits.
func NewBalance(nodes []Node, ties []Tie) (*Balance, error) {
	n := len(nodes)
	if n < 1 || n > MostNodes {
		return nil, fmt.Errorf("heat balance: %w", quantity.InRange("number of nodes", float64(n), 1, MostNodes, ""))
	}
	b := &Balance{heatJK: make([]float64, n), restW: make([]float64, n), border: make([]float64, n), out: make([]bool, n), root: make([]float64, n)}
	s := make([][]float64, n)
	for i, node := range nodes {
		s[i] = make([]float64, n)
		what := fmt.Sprintf("heat balance, node %d", i+1)
		if err := check(what, heatBound("heat per kelvin", node.HeatJK), bound{"gain", node.GainW, -mostW, mostW, "W"}); err != nil {
			return nil, err
		}
		b.heatJK[i], b.root[i], b.restW[i] = node.HeatJK, math.Sqrt(node.HeatJK), node.GainW
		for _, o := range node.Borders {
			if err := check(what, uaBound("conductance to a border", o.WK), bound{"temperature of a border", o.TempC, -100, 200, "°C"}); err != nil {
				return nil, err
			}
			b.restW[i] += o.WK * o.TempC
			b.border[i] += o.WK
		}
		s[i][i] = b.border[i] / node.HeatJK
		b.out[i] = b.border[i] > 0
	}
	for i, t := range ties {
		what := fmt.Sprintf("heat balance, tie %d", i+1)
		if err := check(what, uaBound("conductance", t.WK), bound{"first node", float64(t.A), 0, float64(n - 1), ""}, bound{"second node", float64(t.B), 0, float64(n - 1), ""}); err != nil {
			return nil, err
		}
		if t.A == t.B {
			return nil, fmt.Errorf("%s: node %d is tied to itself; give two nodes: %w", what, t.A, quantity.ErrRange)
		}
		s[t.A][t.A] += t.WK / nodes[t.A].HeatJK
		s[t.B][t.B] += t.WK / nodes[t.B].HeatJK
		both := t.WK / (b.root[t.A] * b.root[t.B])
		s[t.A][t.B] -= both
		s[t.B][t.A] -= both
	}
	for range n { // a node has a way out if one that it is tied to has
		for _, t := range ties {
			if t.WK > 0 && b.out[t.A] != b.out[t.B] {
				b.out[t.A], b.out[t.B] = true, true
			}
		}
	}
	b.rate, b.mode = symmetric(s)
	return b, nil
}

// symmetric returns the eigenvalues of a symmetric matrix, those a rounding
// below 0 as 0, and its eigenvectors as columns, by Jacobi's rotations. The
// matrix is used up.
func symmetric(s [][]float64) (values []float64, vectors [][]float64) {
	n := len(s)
	vectors = make([][]float64, n)
	for i := range vectors {
		vectors[i] = make([]float64, n)
		vectors[i][i] = 1
	}
	const sweeps = 60 // 6 to 10 do
	for range sweeps {
		turned := false
		for p := range n {
			for q := p + 1; q < n; q++ {
				if math.Abs(s[p][q]) <= 1e-17*math.Sqrt(math.Abs(s[p][p]*s[q][q])) {
					continue
				}
				turned = true
				theta := (s[q][q] - s[p][p]) / (2 * s[p][q])
				t := 1 / (math.Abs(theta) + math.Hypot(theta, 1))
				if theta < 0 {
					t = -t
				}
				c := 1 / math.Hypot(t, 1)
				turn(s, vectors, p, q, c, t*c)
			}
		}
		if !turned {
			break
		}
	}
	values = make([]float64, n)
	for i := range values {
		values[i] = max(0, s[i][i])
	}
	return values, vectors
}

// turn rotates rows and columns p and q of s, and columns of v.
func turn(s, v [][]float64, p, q int, c, sn float64) {
	for k := range s {
		kp, kq := s[k][p], s[k][q]
		s[k][p], s[k][q] = c*kp-sn*kq, sn*kp+c*kq
	}
	for k := range s {
		pk, qk := s[p][k], s[q][k]
		s[p][k], s[q][k] = c*pk-sn*qk, sn*pk+c*qk
		kp, kq := v[k][p], v[k][q]
		v[k][p], v[k][q] = c*kp-sn*kq, sn*kp+c*kq
	}
	s[p][q], s[q][p] = 0, 0
}

// phi1 and phi2 are the weights with which a steady source, and a start, enter
// the end and the mean of a decay by z: (1-e^-z)/z and (1-phi1)/z.
func phi1(z float64) float64 {
	if z == 0 {
		return 1
	}
	return -math.Expm1(-z) / z
}

func phi2(z float64) float64 {
	if z < 0.02 {
		return 0.5 - z/6 + z*z/24 - z*z*z/120 + z*z*z*z/720
	}
	return (1 - phi1(z)) / z
}

// modes are the amplitudes of temperatures and of a heat flow.
func (b *Balance) modes(tempsC, flowW []float64) (start, push []float64) {
	n := len(b.heatJK)
	start, push = make([]float64, n), make([]float64, n)
	for k := range n {
		for i := range n {
			start[k] += b.mode[i][k] * b.root[i] * tempsC[i]
			push[k] += b.mode[i][k] / b.root[i] * flowW[i]
		}
	}
	return start, push
}

// at is the course after seconds.
func (b *Balance) at(start, push []float64, seconds float64) Course {
	n := len(b.heatJK)
	c := Course{EndC: make([]float64, n), MeanC: make([]float64, n)}
	for k, rate := range b.rate {
		z := rate * seconds
		first := phi1(z)
		end := start[k]*math.Exp(-z) + push[k]*seconds*first
		mean := start[k]*first + push[k]*seconds*phi2(z)
		for i := range n {
			c.EndC[i] += b.mode[i][k] / b.root[i] * end
			c.MeanC[i] += b.mode[i][k] / b.root[i] * mean
		}
	}
	return c
}

func (b *Balance) checkStart(what string, tempsC []float64, seconds float64) error {
	if len(tempsC) != len(b.heatJK) {
		return fmt.Errorf("%s: %d temperatures for %d nodes; give one for each: %w", what, len(tempsC), len(b.heatJK), quantity.ErrRange)
	}
	for i, t := range tempsC {
		if err := check(what, bound{fmt.Sprintf("temperature of node %d", i+1), t, -100, 200, "°C"}); err != nil {
			return err
		}
	}
	return check(what, bound{"time", seconds, 0, 1e9, "s"})
}

// Step returns what the nodes come to after 0 to 1e9 seconds, from the
// temperatures that they have.
//
// Check: house of 778 W/K and 2.56 MJ/K at 14 °C with tanks of 50.5 MJ/K and
// 192.6 W/K at 24 °C, -12 °C outside: -5.22 and 21.88 °C after 6 h.
func (b *Balance) Step(tempsC []float64, seconds float64) (Course, error) {
	if err := b.checkStart("heat balance", tempsC, seconds); err != nil {
		return Course{}, err
	}
	start, push := b.modes(tempsC, b.restW)
	return b.at(start, push, seconds), nil
}

// Held is a step in which a heater held a node.
type Held struct {
	Course
	HeaterW float64 // mean over the step
	Short   bool    // the heater was too small: the node ends below its set point
}

// Hold is a step in which a heater in one node, of 0 to mostHeatW, gives as much
// as brings that node to setC at the end. It never cools; a heater that is too
// small runs full and the node falls. The heat is the same all through the step,
// so within it a light node may pass its set point a little.
func (b *Balance) Hold(tempsC []float64, node int, setC, mostHeatW, seconds float64) (Held, error) {
	if err := b.checkStart("heater", tempsC, seconds); err != nil {
		return Held{}, err
	}
	if err := check("heater", bound{"node", float64(node), 0, float64(len(b.heatJK) - 1), ""}, tempBound("set point", setC),
		bound{"power", mostHeatW, 0, mostW, "W"}, bound{"time", seconds, 1e-3, 1e9, "s"}); err != nil {
		return Held{}, err
	}
	start, push := b.modes(tempsC, b.restW)
	free := b.at(start, push, seconds)
	if free.EndC[node] >= setC {
		return Held{Course: free}, nil
	}
	n := len(b.heatJK)
	watt := make([]float64, n)
	watt[node] = 1
	none, one := b.modes(make([]float64, n), watt)
	perW := b.at(none, one, seconds)
	need := (setC - free.EndC[node]) / perW.EndC[node]
	h := Held{Course: free, HeaterW: min(need, mostHeatW), Short: need > mostHeatW}
	for i := range n {
		h.EndC[i] += h.HeaterW * perW.EndC[i]
		h.MeanC[i] += h.HeaterW * perW.MeanC[i]
	}
	return h, nil
}

// BorderW is the heat in W that each node gave to its borders, mean of a step:
// with it, gains and heaters, the heat stored is accounted for to rounding.
// gainsW are the GainW of the nodes the balance was made with.
func (b *Balance) BorderW(c Course, gainsW []float64) ([]float64, error) {
	if len(c.MeanC) != len(b.heatJK) || len(gainsW) != len(b.heatJK) {
		return nil, fmt.Errorf("heat to borders: a course and gains of %d nodes are needed: %w", len(b.heatJK), quantity.ErrRange)
	}
	out := make([]float64, len(b.heatJK))
	for i := range out {
		out[i] = b.border[i]*c.MeanC[i] - (b.restW[i] - gainsW[i])
	}
	return out, nil
}

// SteadyC returns the temperatures at which the nodes come to rest. A node
// without any way to a border never rests: it is an error that names it.
func (b *Balance) SteadyC() ([]float64, error) {
	for i, way := range b.out {
		if !way {
			return nil, fmt.Errorf("heat balance: node %d has no way by which heat leaves, so it never comes to rest; give it a border or a tie: %w", i+1, quantity.ErrRange)
		}
	}
	n := len(b.heatJK)
	_, push := b.modes(make([]float64, n), b.restW)
	rest := make([]float64, n)
	for k, rate := range b.rate {
		for i := range n {
			rest[i] += b.mode[i][k] / b.root[i] * push[k] / rate
		}
	}
	return rest, nil
}

// Until returns the hours until a node first reaches a limit, from either side;
// 0 where it is there already. reached is false when it does not within withinH
// (1e-3 to 1e5 h). A touch and return between two looks, 5 % of the time apart,
// would be missed.
func (b *Balance) Until(tempsC []float64, node int, limitC, withinH float64) (hours float64, reached bool, err error) {
	if err := b.checkStart("time to a limit", tempsC, 0); err != nil {
		return 0, false, err
	}
	if err := check("time to a limit", bound{"node", float64(node), 0, float64(len(b.heatJK) - 1), ""}, tempBound("limit", limitC), bound{"time", withinH, 1e-3, 1e5, "h"}); err != nil {
		return 0, false, err
	}
	from := tempsC[node] - limitC
	if from == 0 {
		return 0, true, nil
	}
	start, push := b.modes(tempsC, b.restW)
	past := func(h float64) bool { return (b.at(start, push, 3600*h).EndC[node]-limitC)*from <= 0 }
	lo, hi := 0.0, 1e-5
	for !past(hi) {
		if hi >= withinH {
			return 0, false, nil
		}
		lo, hi = hi, min(1.05*hi, withinH)
	}
	for range 60 {
		if mid := (lo + hi) / 2; past(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true, nil
}
