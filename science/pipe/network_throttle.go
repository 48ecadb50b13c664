package pipe

import (
	"fmt"
	"math"
	"slices"
)

// Throttle finds the extra loss factor that a valve in each of the links must
// add, on the velocity in that link's pipe, so that with all that is now open
// each carries at most its flow: 0 for those that do not reach theirs even fully
// open. The network keeps these factors on top of the pipes' K, takes those of
// an earlier call for the same links away first, and is solved with them; SetK
// opens such a valve again.
//
//	links    pipes, each once; a closed one gets 0
//	flowM3s  from From to To, above 0 to 100
//
// There is one answer, save for links one after the other, which share what they
// must add. Found by a limit on each link's flow: what head the limit must hold
// back, the valve has to lose.
func (n *Network) Throttle(links []int, flowM3s []float64) (extraK []float64, err error) {
	if len(links) != len(flowM3s) {
		return nil, fmt.Errorf("throttle: %w: %d links and %d flows; give a flow for each", ErrNetwork, len(links), len(flowM3s))
	}
	if err := n.throttled("throttle", links); err != nil {
		return nil, err
	}
	for i, l := range links {
		if err := check(fmt.Sprintf("throttle: link %d, %q", l, n.links[l].Name), bound{"flow", flowM3s[i], 1e-12, MostFlowM3s, "m3/s"}); err != nil {
			return nil, err
		}
	}
	for i, l := range links {
		n.extraK[l], n.limit[l] = 0, flowM3s[i]
	}
	n.solved = false
	err = n.Solve()
	extraK = make([]float64, len(links))
	for i, l := range links {
		if err == nil && n.live[l] && n.atLimit(l) {
			extraK[i] = max(0, n.valveK(l))
		}
	}
	return extraK, n.set("throttle", links, extraK, err)
}

// Even finds the largest flow that all of the links can carry alike with all
// that is now open, and the extra loss factors for it as Throttle does; the
// worst link stays fully open. A link that is closed, or that carries nothing
// however little the others take, is refused.
//
// Source: the sums of heads of [epanet-2.2]; the rule is common practice.
func (n *Network) Even(links []int) (flowM3s float64, extraK []float64, err error) {
	if len(links) == 0 {
		return 0, nil, fmt.Errorf("even flow: %w: no links are given", ErrNetwork)
	}
	if err := n.throttled("even flow", links); err != nil {
		return 0, nil, err
	}
	for _, l := range links {
		if n.links[l].Closed {
			return 0, nil, fmt.Errorf("even flow: link %d, %q: %w: it is closed; open it first", l, n.links[l].Name, ErrNetwork)
		}
		n.extraK[l] = 0
	}
	extraK = make([]float64, len(links))
	n.solved = false
	if err := n.Solve(); err != nil {
		return 0, nil, fmt.Errorf("even flow: %w", err)
	}
	most := 0.0
	for _, l := range links {
		most = max(most, n.FlowM3s(l))
	}
	if !(most > stoppedM3s) {
		return 0, nil, fmt.Errorf("even flow: %w: none of the links carries water", ErrCannotLift)
	}
	flowM3s, worst, err := n.evenFlow(links, most)
	for i, l := range links {
		if err == nil && i != worst {
			extraK[i] = max(0, n.valveK(l))
		}
	}
	if err = n.set("even flow", links, extraK, err); err != nil {
		return 0, nil, err
	}
	return flowM3s, extraK, nil
}

// evenFlow finds the flow at which the worst of the links has no head to spare,
// and leaves the network solved there with that flow forced through each.
func (n *Network) evenFlow(links []int, most float64) (flowM3s float64, worst int, err error) {
	for _, l := range links {
		n.forced[l] = true
	}
	spare := func(q float64) (float64, error) {
		for _, l := range links {
			n.limit[l] = q
		}
		n.solved = false
		if err := n.Solve(); err != nil {
			return 0, err
		}
		least := math.Inf(1)
		for i, l := range links {
			if s := n.spareM(l); s < least {
				least, worst = s, i
			}
		}
		return least, nil
	}
	lo, hi := most*1e-4, most
	atLo, err := spare(lo)
	if err != nil {
		return 0, 0, err
	}
	if atLo <= 0 {
		return 0, 0, fmt.Errorf("link %d, %q: %w: no water comes through it, however little the others take", links[worst], n.links[links[worst]].Name, ErrCannotLift)
	}
	atHi, err := spare(hi)
	for range 40 {
		if err != nil || atHi <= 0 {
			break
		}
		lo, atLo, hi = hi, atHi, 2*hi
		atHi, err = spare(hi)
	}
	if err != nil {
		return 0, 0, err
	}
	if atHi > 0 {
		return 0, 0, fmt.Errorf("%w: at %.3g m3/s in each link head is still to spare", ErrUnsettled, hi)
	}
	side := 0 // which end stayed
	for range 100 {
		if hi-lo <= 1e-12*hi {
			break
		}
		q := lo + (hi-lo)*atLo/(atLo-atHi)
		if !(q > lo && q < hi) {
			q = (lo + hi) / 2
		}
		at, err := spare(q)
		if err != nil {
			return 0, 0, err
		}
		if math.Abs(at) < 1e-9 {
			return q, worst, nil
		}
		if at > 0 {
			lo, atLo = q, at
			if side > 0 {
				atHi /= 2
			}
			side = 1
		} else {
			hi, atHi = q, at
			if side < 0 {
				atLo /= 2
			}
			side = -1
		}
	}
	_, err = spare(lo)
	return lo, worst, err
}

// throttled refuses links that cannot hold a valve.
func (n *Network) throttled(what string, links []int) error {
	for i, l := range links {
		if l < 0 || l >= len(n.links) {
			return fmt.Errorf("%s: %w: there is no link %d; there are 0 to %d", what, ErrNetwork, l, len(n.links)-1)
		}
		if n.links[l].Pump != nil {
			return fmt.Errorf("%s: link %d, %q: %w: it is a pump; put the valve in a pipe", what, l, n.links[l].Name, ErrNetwork)
		}
		if slices.Contains(links[:i], l) {
			return fmt.Errorf("%s: link %d, %q: %w: it is given twice", what, l, n.links[l].Name, ErrNetwork)
		}
	}
	return nil
}

// spareM is the head that is left over at the limit of a link's flow.
func (n *Network) spareM(l int) float64 {
	h, _ := n.open(l, n.limit[l])
	return n.fallM(l) - h
}

// valveK is the loss factor that takes what is left over.
func (n *Network) valveK(l int) float64 {
	v := n.limit[l] / n.links[l].Pipe.AreaM2()
	return 2 * GravityMS2 * n.spareM(l) / (v * v)
}

// set takes the limits away, keeps the factors and solves with them; failed is
// what went wrong before.
func (n *Network) set(what string, links []int, extraK []float64, failed error) error {
	for i, l := range links {
		n.limit[l], n.forced[l], n.extraK[l] = math.Inf(1), false, extraK[i]
	}
	n.solved = false
	if failed == nil {
		failed = n.Solve()
	}
	if failed != nil {
		return fmt.Errorf("%s: %w", what, failed)
	}
	return nil
}
