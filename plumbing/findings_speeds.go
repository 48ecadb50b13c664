package plumbing

import (
	"fmt"
	"math"
	"slices"

	"tidebed/science/pipe"
	"tidebed/site"
)

// velocities are the most and the least velocity in each pipe in some states, of
// those in which it flows, and the flow at the most.
func (s *Scheme) velocities(states []Valves) (most, flow, least []float64) {
	n := len(s.Loop.Pipes)
	most, flow, least = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range least {
		least[i] = math.Inf(1)
	}
	for _, v := range states {
		f, err := s.Flow(v, s.Source.SurfaceM)
		if err != nil {
			continue
		}
		for i := range n {
			if s.links[i] < 0 || math.Abs(f.PipeM3s[i]) < noFlowM3s {
				continue
			}
			speed := math.Abs(f.PipeMS[i])
			if speed > most[i] {
				most[i], flow[i] = speed, math.Abs(f.PipeM3s[i])
			}
			least[i] = math.Min(least[i], speed)
		}
	}
	return most, flow, least
}

// speeds checks velocities in the pump's pipes.
func (a *audit) speeds() {
	s := a.s
	states := s.states(a.t)
	most, flow, _ := s.velocities(states)
	for i := range s.Loop.Pipes {
		p := &s.Loop.Pipes[i]
		field := fmt.Sprintf("pipes[%d].diameter", i)
		if p.Size != "" {
			field = fmt.Sprintf("pipes[%d].size", i)
		}
		suction := s.isPump(p.To)
		switch {
		case suction && most[i] > pipe.MostSuctionMS:
			remedy := "Take a wider suction pipe."
			if m, ok := a.boreFor(i, flow[i], states, pipe.MostSuctionMS, true); ok {
				remedy = fmt.Sprintf("Take a suction pipe of at least %s inside.", a.u.bore(m))
			}
			a.ranged(Watch, field, p.Name, fmt.Sprintf("{}: {v} before the pump; above %s it starves.", a.u.paceLimit(pipe.MostSuctionMS)), remedy, practice, "", most[i], a.u.pace)
		case most[i] > pipe.MostPressureMS:
			remedy := "Take a wider pipe, and throttle its valve."
			m, ok := a.boreFor(i, flow[i], states, pipe.MostPressureMS, true)
			if ok {
				remedy = fmt.Sprintf("Take a pipe of at least %s inside.", a.u.bore(m))
			}
			if !ok || m > mostWider*p.BoreM() { // a wider one mostly brings more water, as fast
				if q, ok := a.slowed(i, states, pipe.MostPressureMS); ok {
					remedy = fmt.Sprintf("Set its valve to %s (`set-flow`), or take a wider pipe and throttle that.", a.u.rate(q))
				}
			}
			a.ranged(Watch, field, p.Name, fmt.Sprintf("{}: {v}; above %s the pump works for the pipe's friction and fast valves hammer.", a.u.paceLimit(pipe.MostPressureMS)), remedy, practice, "", most[i], a.u.pace)
		}
		toMedia := slices.ContainsFunc(s.Branches, func(b Branch) bool {
			return b.Index == i && b.Bed >= 0 && (s.Beds[b.Bed].Way == Siphons || s.Beds[b.Bed].Way == Timer || s.Beds[b.Bed].Way == Constant)
		})
		fromTank := suction && s.Source.Tank != nil
		if (toMedia || fromTank) && flow[i] > leastSetM3s && most[i] < pipe.LeastSolidsMS {
			remedy := "Flush it once a week with all else shut."
			if m, ok := a.boreFor(i, flow[i], states, pipe.LeastSolidsMS, false); ok {
				remedy = fmt.Sprintf("Take a pipe of %s inside, or flush it once a week with all else shut.", a.u.bore(m))
			}
			what := "{}: {v} at the most; below %s solids settle in a pipe that carries them."
			if most[i] < 0.01 {
				what = "{}: next to no flow; below %s solids settle in a pipe that carries them."
			}
			a.ranged(Watch, field, p.Name, fmt.Sprintf(what, a.u.paceLimit(pipe.LeastSolidsMS)), remedy, solidsSource, "", most[i], a.u.pace)
		}
	}
}

// mostWider is how much wider a pipe is advised before throttling is.
const mostWider = 1.5

// slowed is the flow to which the valve of the last pipe to a bed, tank or sump is to
// be set for its velocity to come below a limit.
func (a *audit) slowed(index int, states []Valves, limitMS float64) (m3s float64, ok bool) {
	k := slices.IndexFunc(a.s.Branches, func(b Branch) bool { return b.Index == index })
	if k < 0 {
		return 0, false
	}
	q := 0.97 * limitMS * pipe.CircleM2(a.s.Loop.Pipes[index].BoreM())
	q = floorTo(q, a.u.rateStep(q))
	if q < leastSetM3s {
		return 0, false
	}
	return q, a.tried(func(l *site.Loop) { l.Pipes[index].SetM3s = q }, func(made *Scheme) bool {
		if !made.Piped {
			return false
		}
		most, _, _ := made.velocities(states)
		return most[index] <= limitMS
	})
}

// leastBoreM is the narrowest pipe that is advised: in fish water narrower ones
// clog; common practice, no source.
const leastBoreM = 0.008

// boreFor is another bore of a pipe with which its velocity comes below a limit, or
// for a slow pipe above it. What flows changes with the bore, so each is tried.
func (a *audit) boreFor(index int, flowM3s float64, states []Valves, limitMS float64, wider bool) (float64, bool) {
	key := boring{a.s.Loop.Pipes[index].BoreM(), math.Round(20 * math.Log(flowM3s)), limitMS}
	d, known := a.bored[key]
	if !known {
		d = a.boreTried(index, flowM3s, states, limitMS, wider)
		a.bored[key] = d
	}
	return d, d > 0
}

// boring is what an answer of boreFor depends on, the flow to 5 %.
type boring struct{ boreM, flow, limitMS float64 }

// boreTried works out boreFor; 0 for none.
func (a *audit) boreTried(index int, flowM3s float64, states []Valves, limitMS float64, wider bool) float64 {
	now := a.s.Loop.Pipes[index].BoreM()
	aim := 0.9 * limitMS
	if !wider {
		aim = 1.1 * limitMS
	}
	d, err := pipe.DiameterForM(flowM3s, aim)
	if err != nil {
		return 0
	}
	for range 6 {
		if wider {
			d = a.u.up(math.Max(d, now+1e-4), 0.001)
		} else {
			d = a.u.down(d, 0.001)
		}
		if d < leastBoreM || d > 1 || !wider && d >= now {
			return 0
		}
		var most, flow []float64
		feeds := func(made *Scheme) []float64 { return made.plannedM3s(nil) }
		ok := a.tried(func(l *site.Loop) { l.Pipes[index].Size, l.Pipes[index].DiameterM = "", d }, func(made *Scheme) bool {
			if !made.Piped {
				return false
			}
			most, flow, _ = made.velocities(states)
			if wider {
				return most[index] <= limitMS
			}
			if most[index] < limitMS {
				return false
			}
			// A bed that floods must not be starved for it.
			for i, q := range feeds(made) {
				b := &a.s.Beds[i]
				if b.Works != nil && grade(b.Works, finite(a.inM3s[i])) > 0 && grade(b.Works, finite(q)) == 0 {
					return false
				}
			}
			return true
		})
		if ok {
			return d
		}
		if flow == nil || flow[index] < noFlowM3s {
			return 0
		}
		if d, err = pipe.DiameterForM(flow[index], aim); err != nil {
			return 0
		}
	}
	return 0
}

// The blow of a valve; common practice, no source.
const (
	fastValveS  = 0.1  // in which a diaphragm valve shuts
	mostBlowM   = 30.0 // rise of head that glued joints, hoses on barbs and the valve itself stand for years
	slowestS    = 60.0
	usualWall   = 0.0025
	hammerCheck = "joukowsky-1898, korteweg-1878; valves taken to shut in 0.1 s"
)

// blow is the rise of head when the water on the way to the end of a branch is
// stopped within a time, m: all of it when the blow is not back from the pump's
// open water in that time, else in proportion. The way is taken as one pipe with the
// mean velocity, its wall that of the last pipe.
func (s *Scheme) blow(branch int, flowM3s, closingS float64) float64 {
	l := s.Loop
	moved, lengthM := 0.0, 0.0 // moved is velocity times length
	last := s.Branches[branch].Index
	for index := last; index >= 0; {
		p := &l.Pipes[index]
		lengthM += p.LengthM
		moved += p.LengthM * flowM3s / pipe.CircleM2(p.BoreM())
		from := p.From
		index = -1
		if !s.isPump(from) && lengthM < 1e4 {
			index = slices.IndexFunc(l.Pipes, func(o site.Pipe) bool { return o.To == from })
		}
	}
	if lengthM < shortestM {
		return 0
	}
	bore := l.Pipes[last].BoreM()
	wave, err := pipe.WaveMS(bore, math.Max(bore/20, usualWall), pipe.PVCModulus, s.Settings.TempC)
	if err != nil {
		return 0
	}
	h, err := pipe.HammerOf(moved/lengthM, lengthM, wave)
	if err != nil {
		return 0
	}
	return h.HeadM * math.Min(1, h.ReturnS/closingS)
}

// hammer holds the timed valves against the blow of shutting.
func (a *audit) hammer() {
	s := a.s
	for _, k := range s.Timed() {
		f, err := s.Flow(maskOf(k), s.Source.SurfaceM)
		if err != nil {
			continue
		}
		q := f.BranchM3s[k]
		rise := s.blow(k, q, fastValveS)
		if rise <= mostBlowM {
			continue
		}
		remedy := "Take a motorised valve, which shuts slowly, or a wider pipe."
		for _, closing := range []float64{2, 5, 10, 20, 30, slowestS} {
			if s.blow(k, q, closing) <= mostBlowM/3 {
				remedy = "Take a motorised valve that takes {w} or more to shut."
				a.ranged(Watch, fmt.Sprintf("pipes[%d].valve", s.Branches[k].Index), s.Branches[k].Pipe.Name, a.hammerText(), remedy, hammerCheck, "", rise, a.u.head)
				a.worstOf(closing, a.u.span(closing))
				remedy = ""
				break
			}
		}
		if remedy != "" {
			a.ranged(Watch, fmt.Sprintf("pipes[%d].valve", s.Branches[k].Index), s.Branches[k].Pipe.Name, a.hammerText(), remedy, hammerCheck, "", rise, a.u.head)
		}
	}
}

// hammerText is the finding of a blow.
func (a *audit) hammerText() string {
	return fmt.Sprintf("{}: a fast timed valve that stops the water in so long a pipe makes a blow of {v} of head; above %s joints and hoses suffer.", a.u.head(mostBlowM))
}
