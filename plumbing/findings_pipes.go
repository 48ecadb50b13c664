package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/site"
)

// leastSetM3s is the least flow to which a valve can be set by hand; common
// practice, no source.
const leastSetM3s = 0.05 / 60000

// openM3s is what comes out of a branch with its own valve fully open, all others
// as they are.
func (s *Scheme) openM3s(branch int) float64 {
	made := s.with(func(l *site.Loop) { l.Pipes[s.Branches[branch].Index].SetM3s = 0 })
	if made == nil || !made.Piped || len(made.Branches) != len(s.Branches) {
		return 0
	}
	f, err := made.Flow(maskOf(branch), made.Source.SurfaceM)
	if err != nil {
		return 0
	}
	return f.BranchM3s[branch]
}

// branches checks the ends of the pump's pipes.
func (a *audit) branches() {
	s := a.s
	f, err := s.Flow(0, s.Source.SurfaceM)
	if err != nil {
		a.say(Act, "pipes", s.Loop.Name, "The flows cannot be worked out: "+err.Error()+".", "Check pump and pipes.", practice, "")
		return
	}
	for i := range s.Branches {
		b := &s.Branches[i]
		field := fmt.Sprintf("pipes[%d]", b.Index)
		q := f.BranchM3s[i]
		if b.Timed {
			own, err := s.Flow(maskOf(i), s.Source.SurfaceM)
			if err != nil {
				continue
			}
			q = own.BranchM3s[i]
		}
		if want := b.Pipe.SetM3s; want > 0 && want < leastSetM3s {
			state := Watch
			if b.Bed >= 0 || b.Tank >= 0 {
				state = Act
			}
			remedy := "Open its valve further (`set-flow`)."
			if open := s.openM3s(i); open < leastSetM3s {
				remedy = "Open its valve further (`set-flow`), and see why no more can come."
			}
			a.ranged(state, field+".set-flow", b.Pipe.To, "{}: its valve is set to {v}, which is as good as shut.", remedy, practice, "", want, a.u.rate)
			continue
		}
		if q < noFlowM3s && !a.cannotLift() {
			remedy := "Lower its end, or take a pump with more head."
			if s.soleM3s(i) > noFlowM3s {
				remedy = "Throttle the branches that flow beside it until water comes, or lower its end."
			}
			a.ranged(Act, field, b.Pipe.To, "{}: no water comes, for its pipe ends {v} above the floor, higher than the head that is left there.", remedy, practice, "", b.OutletM, a.u.metres)
		}
		if want := b.Pipe.SetM3s; want > 0 && q < 0.97*want && q >= noFlowM3s {
			a.ranged(Watch, field+".set-flow", b.Pipe.Name, fmt.Sprintf("{}: set to %s, but with its valve fully open only {v} come.", a.u.rate(want)), "Throttle the others, take a wider pipe or a stronger pump, or set less.", practice, "", q, a.u.rate)
		}
		if b.Drowned && b.Tank >= 0 {
			check := a.checked(b.Index)
			state, more := Act, "with the pump off the water runs back down to its end"
			if check {
				state, more = Watch, "if the check valve leaks the water runs back down to its end"
			}
			end := s.Loop.Tanks[b.Tank].LevelM
			if b.Pipe.EndsAtM != nil {
				end = *b.Pipe.EndsAtM
			}
			a.ranged(state, field+".ends-at", b.Pipe.To, "{}: the pipe to it ends under water, {v} above the floor; "+more+".", fmt.Sprintf("Raise its end above the water, %s, or drill a hole of %s in it, as far above the water or more.", a.u.level(s.Loop.Tanks[b.Tank].LevelM), a.u.bore(antiSiphonM)), practice, backSiphons, end, a.u.metres)
		}
	}
}

// antiSiphonM is the width of a hole that lets air into a pipe that ends under
// water, and how far it lies above the water; common practice, no source.
const antiSiphonM = 0.006

// alwaysOn tells of beds that are always to have water, behind a timed valve.
func (a *audit) alwaysOn() {
	s := a.s
	for i := range s.Beds {
		b := &s.Beds[i]
		feeds := s.feeds(i)
		if !b.In.AlwaysOn || len(feeds) == 0 || slices.ContainsFunc(feeds, func(k int) bool { return !s.Branches[k].Timed }) {
			continue
		}
		dry := ""
		if h := s.dryH(b); !math.IsInf(h, 1) {
			dry = fmt.Sprintf("; without water its roots run dry by day in about %s", a.u.span(3600*h))
		}
		index := s.Branches[feeds[0]].Index
		remedy := "Take the timed valve out of its pipe (`valve`), or leave it open for good."
		if !a.tried(func(l *site.Loop) { l.Pipes[index].Valve = "hand" }, func(made *Scheme) bool {
			return made.Piped && !slices.ContainsFunc(made.states(nil), func(v Valves) bool { return !(made.bedM3s(v, i) > noFlowM3s) })
		}) {
			remedy = "Take the timed valve out of its pipe (`valve`), and throttle the others until water comes to it in every turn."
		}
		a.say(Act, fmt.Sprintf("pipes[%d].valve", index), b.In.Name, "{}: it is to have water always (`always-on`), but its pipe has a timed valve"+dry+".", remedy, practice, "")
	}
}

// checked reports whether a check valve stands between the pump and the end of a
// pipe.
func (a *audit) checked(index int) bool { return a.s.checkValveOn(index) >= 0 }

// checkValveOn is the pipe with the check valve on the way from the pump to the end
// of a pipe; -1 for none.
func (s *Scheme) checkValveOn(index int) int {
	l := s.Loop
	for range l.Pipes {
		p := &l.Pipes[index]
		if hasFitting(p, "check valve") {
			return index
		}
		if s.isPump(p.From) {
			return s.footValve(p.From)
		}
		up := slices.IndexFunc(l.Pipes, func(o site.Pipe) bool { return o.To == p.From })
		if up < 0 || up == index {
			return -1
		}
		index = up
	}
	return -1
}

// footValve is the suction pipe of a pump with a foot or check valve; -1 for none.
func (s *Scheme) footValve(pump string) int {
	return slices.IndexFunc(s.Loop.Pipes, func(p site.Pipe) bool {
		return p.To == pump && (hasFitting(&p, "foot valve") || hasFitting(&p, "check valve"))
	})
}

// cannotLift reports whether no pump brings any water in any state.
func (a *audit) cannotLift() bool {
	for _, v := range a.s.states(a.t) {
		if f, err := a.s.Flow(v, a.s.Source.SurfaceM); err != nil || f.TotalM3s > noFlowM3s {
			return false
		}
	}
	return true
}

// pump checks the pumps.
func (a *audit) pump() {
	s := a.s
	if a.cannotLift() {
		lift := math.Inf(1)
		for i := range s.Branches {
			lift = math.Min(lift, s.Branches[i].OutletM-s.Source.SurfaceM)
		}
		for i := range s.Pumps {
			p := &s.Pumps[i]
			a.say(Act, pumpField(s, p), p.In.Name, fmt.Sprintf("{}: it cannot lift the water: its head at no flow is %s, and the lowest outlet lies %s above the water of %s.", a.u.metres(p.Curve.ShutOffM), a.u.metres(lift), s.Source.Name),
				"Take a pump whose head at the flow you want is more than that, or lower the outlets.", practice, unplugFirst)
		}
		return
	}
	flags := make([]struct {
		beyond, eta   float64
		atM3s, atHead float64
	}, len(s.Pumps))
	for _, v := range s.states(a.t) {
		f, err := s.Flow(v, s.Source.SurfaceM)
		if err != nil {
			continue
		}
		for i := range s.Pumps {
			p := &s.Pumps[i]
			if q := f.PumpM3s[i]; q > p.Curve.LastM3s*(1+1e-9) {
				flags[i].beyond = math.Max(flags[i].beyond, q)
			}
			wire := p.WireW(f.PumpM3s[i])
			if wire <= 0 || f.PumpM3s[i] < noFlowM3s || f.PumpHeadM[i] <= 0 {
				continue
			}
			eta, err := pipe.Efficiency(f.PumpM3s[i], f.PumpHeadM[i], wire, s.Settings.TempC)
			if err != nil {
				eta = 1
			}
			if wire < 100 && eta > pipe.SmallPumpMostEfficiency && eta > flags[i].eta {
				flags[i].eta, flags[i].atM3s, flags[i].atHead = eta, f.PumpM3s[i], f.PumpHeadM[i]
			}
		}
	}
	for i := range s.Pumps {
		p := &s.Pumps[i]
		field := pumpField(s, p)
		if q := flags[i].beyond; q > 0 {
			a.say(Watch, field+".points", p.In.Name, fmt.Sprintf("{}: it runs at %s, beyond the last point of its curve at %s; there its head is a guess.", a.u.rate(q), a.u.rate(p.Curve.LastM3s)), "Add a point of its curve at a greater flow, or throttle the branches.", practice, "")
		}
		if flags[i].eta > 0 {
			a.say(Watch, field+".points", p.In.Name, fmt.Sprintf("{}: at %s and %s of head it would turn %.0f %% of its power into flow; small pumps turn 5 to 30 %%.", a.u.rate(flags[i].atM3s), a.u.metres(flags[i].atHead), 100*flags[i].eta), "Read its watts at the plug and check the points of its curve.", practice, "")
		}
	}
	if len(s.Pumps) > 0 && s.Source.IntakeM > s.Source.SurfaceM {
		lift := s.Source.IntakeM - s.Source.SurfaceM
		npsh, err := pipe.NPSH(s.Settings.TempC, 0, -lift, a.suctionLossM())
		to := a.u.downLevel(s.Source.SurfaceM - 2*intakeCoverM)
		remedy := "Lower the intake well under water."
		if to > s.Source.BottomM && a.tried(func(l *site.Loop) {
			for i := range l.Pumps {
				if l.Pumps[i].IntakeM != nil || i == 0 {
					l.Pumps[i].IntakeM = &to
				}
			}
		}, func(made *Scheme) bool { return made.Source.IntakeM <= made.Source.SurfaceM-intakeCoverM }) {
			remedy = fmt.Sprintf("Lower the intake to %s or less.", a.u.level(to))
		}
		text := fmt.Sprintf("{}: its intake lies %s above the water of %s, so it draws air unless it primes itself", a.u.depth(lift), s.Source.Name)
		if err == nil {
			text += fmt.Sprintf("; %s of suction head are left at the sea's height, and a pump wants %.1f times what its sheet asks for", a.u.metres(npsh), pipe.SafeNPSH)
		}
		a.say(Act, pumpField(s, &s.Pumps[0])+".intake", s.Pumps[0].In.Name, text+".", remedy, practice, unplugFirst)
	}
}

// suctionLossM is the largest loss in the suction pipes.
func (a *audit) suctionLossM() float64 {
	most := 0.0
	for _, v := range a.s.states(a.t) {
		f, err := a.s.Flow(v, a.s.Source.SurfaceM)
		if err != nil {
			continue
		}
		for i := range a.s.Loop.Pipes {
			if a.s.links[i] >= 0 && a.s.isPump(a.s.Loop.Pipes[i].To) {
				most = math.Max(most, f.PipeLossM[i])
			}
		}
	}
	return most
}

func pumpField(s *Scheme, p *PumpAt) string {
	for i := range s.Loop.Pumps {
		if &s.Loop.Pumps[i] == p.In {
			return fmt.Sprintf("pumps[%d]", i)
		}
	}
	return "pumps"
}

// tankDrains are the pipes by which a tank runs over, by index.
func (s *Scheme) tankDrains(tank string) []int {
	var all []int
	for i := range s.Loop.Pipes {
		if p := &s.Loop.Pipes[i]; p.From == tank && !s.isPump(p.To) {
			all = append(all, i)
		}
	}
	return all
}

// tanks checks overflow, freeboard and turnover of the fish tanks.
func (a *audit) tanks() {
	s := a.s
	for i := range s.Loop.Tanks {
		t := &s.Loop.Tanks[i]
		field := fmt.Sprintf("tanks[%d]", i)
		isSource := s.Source.Tank == t
		comes := 0.0
		for k := range s.Branches {
			if s.Branches[k].Tank == i {
				comes = math.Max(comes, s.soleM3s(k))
			}
		}
		if isSource {
			a.say(Watch, field, t.Name, "{}: the pump draws from it, so its level rises and falls with the floods.", "Let the pump draw from a sump that the tank overflows into; until then hold the intake high.", practice, "")
			continue
		}
		if !(comes >= noFlowM3s) {
			continue
		}
		drains := s.tankDrains(t.Name)
		if len(drains) == 0 {
			a.ranged(Watch, field, t.Name, "{}: no pipe takes its overflow, though up to {v} can come.", "Give the pipe by which it runs over.", ventSource, "", comes, a.u.rate)
		} else {
			takes, wide := 0.0, 0.0
			for _, k := range drains {
				d := s.Loop.Pipes[k].BoreM()
				if q, err := pipe.SelfVentingM3s(d); err == nil {
					takes += q
				}
				wide = math.Max(wide, d)
			}
			if takes < comes {
				need, err := pipe.SelfVentingDiameterM(comes)
				need = a.u.up(need, 0.005)
				if err == nil {
					a.ranged(Watch, fmt.Sprintf("pipes[%d].diameter", drains[0]), t.Name, fmt.Sprintf("{}: its overflow takes %s quietly, less than the {v} that can come with every other valve shut.", a.u.rate(takes)), "Take an overflow of at least {w} inside, or a second one.", ventSource, "", comes, a.u.rate)
					a.worstOf(need, a.u.bore(need))
				}
			}
			rim := t.RimM
			if rim == 0 {
				rim = t.LevelM + usualTankFreeM
			}
			over := math.Pow(comes/(rimCoef*math.Pi*wide*float64(len(drains))), 2.0/3)
			if free := rim - t.LevelM; free < over+leastFreeM {
				lower := a.u.up(over+leastFreeM-free, 0.005)
				remedy := "Lower the overflow, or take a wider one."
				if a.tried(func(l *site.Loop) {
					l.Tanks[i].RimM = rim
					l.Tanks[i].LevelM -= lower
				}, func(made *Scheme) bool {
					more := 0.0
					for k := range made.Branches {
						if made.Branches[k].Tank == i {
							more = math.Max(more, made.soleM3s(k))
						}
					}
					return rim-made.Loop.Tanks[i].LevelM >= math.Pow(more/(rimCoef*math.Pi*wide*float64(len(drains))), 2.0/3)+leastFreeM-1e-6
				}) {
					remedy = fmt.Sprintf("Lower the overflow by %s.", a.u.depth(lower))
				}
				a.ranged(Watch, field+".rim", t.Name, fmt.Sprintf("{}: the rim lies %s above the water, but the overflow wants {v} with all the flow that can come, %s of it to spare.", a.u.depth(free), a.u.depth(leastFreeM)), remedy, practice, "", over+leastFreeM, a.u.depth)
			}
		}
	}
	a.turnover()
}

// rimCoef is of flow = rimCoef π D H^1.5 over the rim of an overflow, SI.
const rimCoef = 2.0 / 3 * 0.60 * 4.42869

// turnover checks the water led through each fish tank in an hour.
func (a *audit) turnover() {
	s := a.s
	mean := s.meanM3s(a.t)
	if mean == nil {
		return
	}
	const source = "fao-589, from memory: once to twice an hour; the water's oxygen and ammonia override it"
	for i := range s.Loop.Tanks {
		t := &s.Loop.Tanks[i]
		perH := s.turnoverPerH(i, mean)
		field := fmt.Sprintf("tanks[%d]", i)
		text := func(v float64) string { return fmt.Sprintf("%.1f", v) }
		switch {
		case perH <= 0:
			a.say(Watch, field, t.Name, "{}: none of the pump's pipes leads to it.", "Lead a pipe to it, or describe the one there is.", practice, "")
		case perH < leastTurnover:
			remedy := "Open its valve further, lead a wider pipe to it, or throttle the others."
			if q, ok := a.turned(i, 1); ok {
				remedy = fmt.Sprintf("Set its valve to %s, once an hour.", a.u.rate(q))
			}
			a.ranged(Watch, field, t.Name, "{}: its water is turned over {v} times in an hour; less than 0.5 leaves waste lying.", remedy, source, "", perH, text)
		case perH > mostTurnover:
			remedy := "Throttle its valve."
			if q, ok := a.turned(i, 2); ok {
				remedy = fmt.Sprintf("Set its valve to %s, twice an hour.", a.u.rate(q))
			}
			a.ranged(Watch, field, t.Name, "{}: its water is turned over {v} times in an hour; more than 4 costs power and tires the fish.", remedy, source, "", perH, text)
		}
	}
}

// turnoverPerH is how often in an hour the water of a tank is led through it with
// some mean flows of the branches.
func (s *Scheme) turnoverPerH(tank int, mean []float64) float64 {
	t := &s.Loop.Tanks[tank]
	through := 0.0
	for k := range s.Branches {
		b := &s.Branches[k]
		if s.Source.Tank == t || b.Tank == tank || b.Bed >= 0 && s.drainsInto(b.Bed, t.Name) {
			through += mean[k]
		}
	}
	return through * 3600 / t.VolumeM3
}

// turned is the flow to which the only valve of a tank is to be set for its water to
// be renewed some times an hour, tried in the states of the timetable.
func (a *audit) turned(tank int, perH float64) (m3s float64, ok bool) {
	s := a.s
	only := -1
	for k := range s.Branches {
		if s.Branches[k].Tank == tank {
			if only >= 0 {
				return 0, false
			}
			only = k
		}
	}
	if only < 0 || s.Branches[only].Timed {
		return 0, false
	}
	q := perH * s.Loop.Tanks[tank].VolumeM3 / 3600
	q = math.Round(q/a.u.rateStep(q)) * a.u.rateStep(q)
	if q < leastSetM3s || q > 0.1 {
		return 0, false
	}
	return q, a.tried(func(l *site.Loop) { l.Pipes[s.Branches[only].Index].SetM3s = q }, func(made *Scheme) bool {
		mean := make([]float64, len(made.Branches))
		for _, m := range a.mixes {
			f, err := made.Flow(m.v, made.Source.SurfaceM)
			if err != nil || len(f.BranchM3s) != len(mean) {
				return false
			}
			for k, q := range f.BranchM3s {
				mean[k] += q * m.share
			}
		}
		v := made.turnoverPerH(tank, mean)
		return v >= leastTurnover && v <= mostTurnover
	})
}

// drainsInto reports whether a bed's drain ends in a tank.
func (s *Scheme) drainsInto(bed int, tank string) bool {
	d := s.Beds[bed].Drain
	return d >= 0 && s.Loop.Pipes[d].To == tank
}

// meanM3s is the mean flow of each branch over the day; nil when not known. Without
// a timetable the timed valves share the day evenly.
func (s *Scheme) meanM3s(t *Timetable) []float64 {
	if t != nil {
		mean := make([]float64, len(s.Branches))
		hours := 0.0
		for i := range t.Parts {
			p := &t.Parts[i]
			if len(p.MeanM3s) != len(mean) {
				continue
			}
			hours += p.Hours()
			for k, q := range p.MeanM3s {
				mean[k] += q * p.Hours()
			}
		}
		if hours > 0 {
			for k := range mean {
				mean[k] /= hours
			}
			return mean
		}
	}
	mean := make([]float64, len(s.Branches))
	states := []Valves{0}
	if timed := s.Timed(); len(timed) > 0 {
		states = nil
		for _, k := range timed {
			states = append(states, maskOf(k))
		}
	}
	for _, v := range states {
		f, err := s.Flow(v, s.Source.SurfaceM)
		if err != nil {
			return nil
		}
		for k, q := range f.BranchM3s {
			mean[k] += q / float64(len(states))
		}
	}
	return mean
}

// drains checks the pipes that lead water away by its own weight.
func (a *audit) drains() {
	s := a.s
	for i := range s.Beds {
		b := &s.Beds[i]
		if b.Drain < 0 {
			continue
		}
		p := &s.Loop.Pipes[b.Drain]
		field := fmt.Sprintf("pipes[%d].diameter", b.Drain)
		q, bore := a.inM3s[i], 0.0
		fromM := b.OutletM()
		switch b.Way {
		case Siphons:
			q = b.Works.FullM3s(b.Works.StartLevelM())
			bore = cmp.Or(b.Siphon.Lower.DiameterM, b.Siphon.Pipe.DiameterM)
		case Timer, Constant:
			bore = b.Stand.DiameterM
		case Floating:
			fromM = b.In.FloorM + cmp.Or(b.In.DepthM, usualBedM)
		}
		if p.BoreM() < bore-1e-6 {
			a.ranged(Act, field, b.In.Name, fmt.Sprintf("{}: the drain behind is {v} inside, narrower than the pipe of %s before it, and backs up.", a.u.bore(bore)), fmt.Sprintf("Take a drain of %s inside or more.", a.u.bore(bore)), practice, "", p.BoreM(), a.u.bore)
			continue
		}
		toM, known := s.endsM(p)
		if !known || math.IsNaN(q) || q < noFlowM3s || p.LengthM < 0.1 {
			continue
		}
		fall := fromM - toM
		if math.Abs(fall) < 0.002 {
			continue // it ends at the water
		}
		if b.Drowned {
			continue // siphon tells
		}
		if fall < 0 {
			a.ranged(Watch, fmt.Sprintf("pipes[%d]", b.Drain), b.In.Name, "{}: its drain ends {v} higher than its outlet, so the outlet stands under water.", "Lower its end, or the water it runs into.", slopeSource, "", -fall, a.u.depth)
			continue
		}
		slope := math.Min(1, fall/p.LengthM)
		takes, _, err := pipe.ManningPartFull(p.BoreM(), slope, pipe.DefaultManning, gutterShare)
		if err != nil {
			continue
		}
		if takes < q {
			need := a.u.up(p.BoreM()*math.Pow(1.02*q/takes, 3.0/8), 0.001)
			if then, _, err := pipe.ManningPartFull(need, slope, pipe.DefaultManning, gutterShare); err != nil || then < q {
				need = 0
			}
			a.ranged(Watch, field, b.In.Name, fmt.Sprintf("{}: the drain behind takes {v} three quarters full, by its fall and length; %s come, so it runs full and pulls on what it drains.", a.u.rate(q)), either(need > 0, "Take a drain of at least {w} inside, or a shorter one.", "Take a much wider drain, or a shorter one."), slopeSource, "", takes, a.u.rate)
			a.worstOf(need, a.u.bore(need))
		}
	}
	for i := range s.Loop.Tanks {
		a.solids(&s.Loop.Tanks[i])
	}
}

// solids checks the speed in a tank's overflow.
func (a *audit) solids(t *site.Tank) {
	s := a.s
	mean := 0.0
	if s.Piped {
		if f, err := s.Flow(0, s.Source.SurfaceM); err == nil {
			for k := range s.Branches {
				if s.Branches[k].Tank >= 0 && &s.Loop.Tanks[s.Branches[k].Tank] == t && !s.Branches[k].Timed {
					mean += f.BranchM3s[k]
				}
			}
		}
	}
	drains := s.tankDrains(t.Name)
	if mean < noFlowM3s || len(drains) == 0 {
		return
	}
	q := mean / float64(len(drains))
	for _, k := range drains {
		p := &s.Loop.Pipes[k]
		toM, known := s.endsM(p)
		if !known || p.LengthM < 0.1 || t.LevelM <= toM {
			continue
		}
		slope := math.Min(1, (t.LevelM-toM)/p.LengthM)
		ms := partFullMS(p.BoreM(), slope, q)
		if ms < pipe.LeastSolidsMS {
			a.ranged(Watch, fmt.Sprintf("pipes[%d].diameter", k), p.Name, fmt.Sprintf("{}: {v}; below %s solids from the fish settle in it.", a.u.paceLimit(pipe.LeastSolidsMS)), "Take a narrower overflow or give it more fall; until then flush it once a week.", solidsSource, "", ms, a.u.pace)
		}
	}
}

// partFullMS is the velocity of a flow in a drain that runs partly full, or full.
func partFullMS(diameterM, slope, flowM3s float64) float64 {
	lo, hi := 0.01, 0.93
	speed := math.Inf(1)
	for range 40 {
		mid := (lo + hi) / 2
		q, ms, err := pipe.ManningPartFull(diameterM, slope, pipe.DefaultManning, mid)
		if err != nil {
			return speed
		}
		speed = ms
		if q < flowM3s {
			lo = mid
		} else {
			hi = mid
		}
	}
	return speed
}

// endsM is the height above the floor at which a drain lets its water go.
func (s *Scheme) endsM(p *site.Pipe) (float64, bool) {
	l := s.Loop
	if p.EndsAtM != nil {
		return *p.EndsAtM, true
	}
	if strings.EqualFold(p.To, "sump") {
		return l.SumpLevelM, true
	}
	for i := range l.Tanks {
		if l.Tanks[i].Name == p.To {
			return l.Tanks[i].LevelM, true
		}
	}
	for i := range l.Beds {
		if l.Beds[i].Name == p.To {
			return l.Beds[i].FloorM + cmp.Or(l.Beds[i].DepthM, usualBedM), true
		}
	}
	return 0, false
}

// sold looks for bores that are the outside of a pipe as sold.
func (a *audit) sold() {
	type seen struct {
		outside, bore float64
		size          string
		names         []string
		field         string
	}
	var all []seen
	look := func(m float64, name, field string) {
		if m <= 0 {
			return
		}
		outside, size, inside := soldAs(m)
		if outside == 0 {
			return
		}
		k := slices.IndexFunc(all, func(o seen) bool { return o.size == size })
		if k < 0 {
			all = append(all, seen{outside, inside, size, nil, field})
			k = len(all) - 1
		}
		all[k].names = append(all[k].names, name)
	}
	for i := range a.s.Loop.Pipes {
		p := &a.s.Loop.Pipes[i]
		look(p.DiameterM, p.Name, fmt.Sprintf("pipes[%d].diameter", i))
	}
	for i := range a.s.Loop.Beds {
		if in := a.s.Loop.Beds[i].Siphon; in != nil {
			look(in.StandpipeM, "the standpipe of "+a.s.Loop.Beds[i].Name, fmt.Sprintf("beds[%d].siphon.standpipe", i))
		}
	}
	if len(all) == 0 {
		return
	}
	var widths []string
	n := 0
	for _, o := range all {
		widths = append(widths, fmt.Sprintf("%s (%s is %s inside)", a.u.bore(o.outside), o.size, a.u.bore(o.bore)))
		n += len(o.names)
	}
	what := "One inside width is the outside one of a pipe as sold: "
	if n > 1 {
		what = fmt.Sprintf("%d inside widths are the outside ones of pipes as sold: ", n)
	}
	const most = 4
	if len(widths) > most {
		widths = append(widths[:most:most], fmt.Sprintf("%d more", len(all)-most))
	}
	about := all[0].names
	for _, o := range all[1:] {
		about = append(slices.Clip(about), o.names...)
	}
	a.notes = append(a.notes, note{Finding{Watch, all[0].field, "", what + strings.Join(widths, ", ") + ".", "Measure one of each across the inside, or give `size` instead of `diameter`.", practice, ""}, about, 0, 0, nil, "", 0})
}

// soldAs is the size as sold whose outside a width is, of the pressure pipe with
// the thinner wall; 0 when there is none or when the width is some pipe's bore too.
func soldAs(m float64) (outsideM float64, size string, insideM float64) {
	for _, s := range pipe.Sizes() {
		if math.Abs(s.InsideM-m) < 0.0002 || math.Abs(s.LikelyM-m) < 0.0002 {
			return 0, "", 0
		}
		if outsideM == 0 && s.OutsideM > 0 && math.Abs(s.OutsideM-m) < 0.0003 {
			outsideM, size, insideM = s.OutsideM, s.Family+" "+s.Nominal, s.LikelyM
		}
	}
	return outsideM, size, insideM
}

// films tells where the film in pipes changes a verdict.
func (a *audit) films() {
	s := a.s
	o := s.Settings
	o.New = !o.New
	other, err := Draw(s.Loop, o)
	if err != nil || other == nil || !other.Piped {
		return
	}
	clean, filmed := s.plannedM3s(nil), other.plannedM3s(nil)
	mine := clean
	if !s.Settings.New {
		clean, filmed = filmed, clean
	}
	for i := range s.Beds {
		b, w := &s.Beds[i], other.Beds[i].Works
		if b.Works == nil || w == nil || math.IsNaN(mine[i]) {
			continue
		}
		cleanWorks, filmedWorks := b.Works, w
		if !s.Settings.New {
			cleanWorks, filmedWorks = w, b.Works
		}
		jc, err1 := cleanWorks.Judge(clean[i])
		jf, err2 := filmedWorks.Judge(filmed[i])
		if err1 != nil || err2 != nil || jc.Verdict == jf.Verdict {
			continue
		}
		state := Watch
		if jc.Verdict.Cycles() && jf.Verdict.Cycles() {
			state = Good
		}
		remedy := ""
		if state == Watch {
			remedy = "Size siphon and valve by the filmed pipes, or brush the pipes through each month."
		}
		a.say(state, s.pipeField(b), b.In.Name, fmt.Sprintf("{}: with clean pipes the siphon %s, with the film that grows within weeks it %s.", verdictWords(jc.Verdict), verdictWords(jf.Verdict)), remedy, practice, "")
	}
}

// verdictWords says a verdict, after "the siphon".
func verdictWords(v siphon.Verdict) string {
	switch v {
	case siphon.WillNotStart:
		return "will not start"
	case siphon.Doubtful:
		return "starts or not"
	case siphon.ShouldStart:
		return "should start"
	case siphon.Starts:
		return "starts surely"
	case siphon.NeverStops:
		return "never stops"
	}
	return "lets the bed run over"
}

// worst tells of faults that empty a tank and of a power cut that runs over.
func (a *audit) worst(faults []Fault) {
	for _, f := range EmptiesTank(faults) {
		a.say(Act, f.Field, f.About, "{}: "+f.What, f.Remedy, practice, f.Caution)
	}
	src := &a.s.Source
	for i := range faults {
		if f := &faults[i]; f.Kind == PowerCut && f.FloorM3 > leastFloorM3 && !f.empties() {
			a.say(f.State, f.Field, src.Name, fmt.Sprintf("{}: topped up to its mark while all beds stand full, it would rise to %s at a power cut; %s run over its rim, %s.", a.u.level(src.RimM+f.FloorM3/src.AreaM2), a.u.amount(f.FloorM3), a.u.level(src.RimM)), strings.TrimSpace(strings.TrimSuffix(f.Remedy, airFirst)), practice, f.Caution)
		}
	}
}
