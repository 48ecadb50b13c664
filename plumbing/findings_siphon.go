package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/site"
	"tidebed/words"
)

// bed checks one bed with its drain.
func (a *audit) bed(b *Bed) {
	field := fmt.Sprintf("beds[%d]", b.Index)
	q := a.inM3s[b.Index]
	name := b.In.Name
	a.unfed(b, field)
	switch b.Way {
	case Siphons:
		a.siphon(b, field+".siphon", q)
	case Timer, Constant:
		a.standpipe(b, field+".standpipe", q)
	case Unknown:
		if b.In.Siphon != nil || b.In.Standpipe != nil {
			return // problems tells
		}
		a.say(Watch, field+".siphon", name, "{}: how it drains is not described, so nothing can be said of its floods.", "Give its `siphon` or `standpipe`.", practice, "")
	}
	if b.Way != Siphons && b.Way != Timer && b.Way != Constant {
		return
	}
	if d := b.Bed.Drainable; b.Way != Siphons && (d < 0.25 || d > 0.55) {
		a.oddPores(field, name, d)
	}
	if depth := cmp.Or(b.In.DepthM, usualBedM); depth > deepBedM+1e-9 {
		a.ranged(Watch, field+".depth", name, fmt.Sprintf("{}: {v} of media; water below %s stands still and goes foul.", a.u.depth(deepBedM)), fmt.Sprintf("Keep the media at %s or less, or clean it out each year.", a.u.depth(deepBedM)), practice, "", depth, a.u.depth)
	}
	a.spill(b, field, q)
}

// unfed tells of a bed that no pipe of the pump's leads to.
func (a *audit) unfed(b *Bed, field string) {
	l := a.s.Loop
	if !a.s.Piped || b.Branch >= 0 || b.Way == Watering {
		return
	}
	if k := slices.IndexFunc(l.Pipes, func(p site.Pipe) bool { return p.To == b.In.Name }); k >= 0 {
		a.say(Watch, fmt.Sprintf("pipes[%d]", k), b.In.Name, "{}: what comes to it runs from a tank or a bed by its own weight; that is not followed, so nothing is known of its floods.", "Measure its inflow with a bucket, or lead a pipe of the pump's to it.", practice, "")
		return
	}
	a.say(Act, field, b.In.Name, "{}: no pipe leads to it, so no water comes.", "Lead a pipe to it, or describe the one there is.", practice, "")
}

func (a *audit) oddPores(field, name string, drainable float64) {
	a.ranged(Watch, field+".porosity", name, "{}: {v} of the media is said to drain; 25 to 55 % is usual.", "Measure the litres that drain from the crest down, and give `porosity`.", practice, "", 100*drainable, func(v float64) string { return fmt.Sprintf("%.0f %%", v) })
}

// timedBed reports whether a bed's valve is timed, or one of them.
func (s *Scheme) timedBed(b *Bed) bool {
	return slices.ContainsFunc(s.Branches, func(o Branch) bool { return o.Bed == b.Index && o.Timed })
}

// restM3s is what comes to a bed while all timed valves are shut.
func (a *audit) restM3s(bed int) float64 {
	rest := 0.0
	for _, k := range a.s.feeds(bed) {
		if !a.s.Branches[k].Timed {
			rest = a.s.bedM3s(0, bed)
		}
	}
	return rest
}

// pipeField is the field of a bed's supply, or of the bed when none leads to it.
func (s *Scheme) pipeField(b *Bed) string {
	if b.Branch < 0 {
		return fmt.Sprintf("beds[%d]", b.Index)
	}
	return fmt.Sprintf("pipes[%d]", s.Branches[b.Branch].Index)
}

// siphon checks a bed with a bell.
func (a *audit) siphon(b *Bed, field string, q float64) {
	name := b.In.Name
	start, breakFull := b.Works.Window()
	_, to := b.Works.GoodWindow()
	known := !math.IsNaN(q)
	if !known && (!a.s.Piped || b.Branch >= 0) {
		a.say(Watch, a.s.pipeField(b), name, fmt.Sprintf("{}: its inflow is not known; its siphon starts and stops with %s.", rangeText(start, to, a.u.rate)), "Measure the inflow with a bucket, or describe the pump and the pipe to it.", froudeSource, "")
	}
	if !known || q < noFlowM3s { // branches tells
		known, q = false, surelyAbove*start
	}
	j, err := b.Works.Judge(q)
	if err != nil {
		a.say(Act, field, name, "{}: the siphon cannot be judged: "+err.Error()+".", "Check its measures.", practice, "")
		return
	}
	if known {
		a.verdict(b, field, q, j, start, breakFull, to)
	}
	for _, f := range j.Findings {
		a.reason(b, field, q, f, known)
	}
	a.bell(b, field)
}

// verdict says what the siphon does with its inflow.
func (a *audit) verdict(b *Bed, field string, q float64, j siphon.Judgement, start, breakFull, to float64) {
	name := b.In.Name
	at := a.s.pipeField(b)
	swept := b.Works.FlowAtFroudeM3s(siphon.FroudeSwept)
	var cure cure
	if !j.Verdict.Cycles() {
		cure = a.s.cure(b, q, a.brings(b))
	}
	flooded := "{}: flooded by {v}"
	if n := len(a.s.feeds(b.Index)); n > 1 {
		flooded = fmt.Sprintf("{}: flooded by {v} from its %d pipes together", n)
	}
	early := a.shutsEarly(b.Index)
	doubted := j.Has(siphon.DropShort) || j.Has(siphon.InflowDribbles) && !early || j.Verdict.Cycles() && a.unsteady(b)
	stops := "and stops"
	if early && j.Has(siphon.InflowDribbles) {
		stops = fmt.Sprintf("its valve shuts before the break (left open, from %s it may dribble on)", a.u.rate(to))
	}
	window := rangeText(start, to, a.u.rate)
	switch j.Verdict {
	case siphon.WillNotStart:
		a.ranged(Act, field+".standpipe", name, fmt.Sprintf("{}: at {v} the siphon will not start: the water trickles over the crest and the bed stays full; it wants more than %s, and starts surely from %s.", a.u.rate(start), a.u.rate(swept)), cure.text, froudeSource, "", q, a.u.rate)
	case siphon.Doubtful:
		a.ranged(Watch, field+".standpipe", name, fmt.Sprintf("{}: at {v} it is doubtful whether the siphon starts; it should above %s, and surely from %s.", a.u.rate(start), a.u.rate(swept)),
			strings.TrimSpace(cure.text+" A wide funnel on top helps, and an elbow at the outlet that seals the pipe; the reckoning does not count on them."), froudeSource, "", q, a.u.rate)
	case siphon.NeverStops:
		state, what := Act, "{}: at {v} the siphon never stops, for it carries %s at the break; it runs for ever."
		if a.s.timedBed(b) && a.restM3s(b.Index) < breakFull {
			state, what = Watch, "{}: at {v} the siphon does not stop while its valve is open, for it carries %s at the break; it drains when the valve shuts."
		}
		a.ranged(state, at+".set-flow", name, fmt.Sprintf(what, a.u.rate(breakFull)), cure.text, froudeSource, "", q, a.u.rate)
	case siphon.Overflows:
		a.ranged(Act, at+".set-flow", name, fmt.Sprintf("{}: at {v} the water comes to the rim, %s above the bed's floor, and runs over.", a.u.depth(b.Bed.RimM)), cure.text, froudeSource, "Cut the inflow before the next flood.", q, a.u.rate)
	case siphon.ShouldStart:
		if doubted {
			break
		}
		a.ranged(Good, at, name, fmt.Sprintf("%s: the siphon should start, %s; window %s, surely from %s.", flooded, stops, window, a.u.rate(swept)), "", froudeSource, "", q, a.u.rate)
	case siphon.Starts:
		if doubted {
			break
		}
		sure := "surely"
		if b.Siphon.StartM3s > 0 {
			sure = "as measured"
		}
		a.ranged(Good, at, name, fmt.Sprintf("%s: the siphon starts %s, %s; window %s.", flooded, sure, stops, window), "", froudeSource, "", q, a.u.rate)
	}
	if !j.Verdict.Cycles() {
		return
	}
	if free := b.Bed.RimM - b.Works.StartLevelM(); free < leastFreeM-1e-9 {
		remedy := "Lower the crest, or raise the rim."
		crest := a.u.down(b.Siphon.CrestM-(leastFreeM+freeSpareM-free), 0.005)
		if w, err := a.s.changed(b, func(in *site.Siphon) { in.CrestM = crest }); err == nil && grade(w, q) > 0 && b.Bed.RimM-w.StartLevelM() >= leastFreeM+freeSpareM/2 {
			remedy = fmt.Sprintf("Lower the crest to %s.", a.u.depth(crest))
		}
		a.ranged(Watch, fmt.Sprintf("beds[%d].rim", b.Index), name, fmt.Sprintf("{}: the water comes to {v} below the rim before the siphon starts; %s is the least.", a.u.depth(leastFreeM)), remedy, practice, "", free, a.u.depth)
	}
}

// freeSpareM is what a remedy leaves beyond leastFreeM, for the inflow moves a little
// with the flood.
const freeSpareM = 0.002

// badShare of the time in which a bed that always flows does not flood calls for a
// hand.
const badShare = 0.25

// unsteady tells of a bed whose siphon floods with its usual inflow, but not with
// what is left to it while valves of others are open, and reports whether it did.
func (a *audit) unsteady(b *Bed) bool {
	if a.t == nil || len(a.t.Parts) == 0 || a.s.timedBed(b) || len(a.s.feeds(b.Index)) == 0 {
		return false
	}
	var worst siphon.Verdict
	share, longest, lo, hi := 0.0, 0.0, math.Inf(1), 0.0
	for _, m := range a.mixes {
		q := a.s.bedM3s(m.v, b.Index)
		j, err := b.Works.Judge(math.Max(0, finite(q)))
		if err != nil || j.Verdict.Cycles() {
			continue
		}
		share += m.share
		lo, hi = math.Min(lo, q), math.Max(hi, q)
		if m.share > longest {
			worst, longest = j.Verdict, m.share
		}
	}
	if share < 0.005 {
		return false
	}
	state := Watch
	if share >= badShare {
		state = Act
	}
	start, _ := b.Works.Window()
	_, to := b.Works.GoodWindow()
	a.ranged(state, a.s.pipeField(b), b.In.Name, fmt.Sprintf("{}: %s of the time, as other valves open and shut, {v} come, and with that the siphon %s.", percent(share), verdictWords(worst)),
		fmt.Sprintf("Give it a timed valve of its own, or bring it between %s in every turn by throttling the others.", strings.Replace(rangeText(start, to, a.u.rate), " to ", " and ", 1)), froudeSource, "", lo, a.u.rate)
	a.notes[len(a.notes)-1].hi = hi
	return true
}

// percent prints a share.
func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// reason says what a judgement found beside the verdict.
func (a *audit) reason(b *Bed, field string, q float64, f siphon.Finding, known bool) {
	name := b.In.Name
	timed := a.s.timedBed(b)
	switch f.Reason {
	case siphon.InflowDribbles:
		if !known {
			return
		}
		if a.shutsEarly(b.Index) {
			return // verdict tells
		}
		what := "{}: at {v} the siphon may dribble on instead of breaking; up to %s it breaks cleanly."
		if timed {
			what = "{}: at {v} the siphon may dribble on until its valve shuts; up to %s it breaks cleanly."
		}
		c := a.s.cure(b, q, a.brings(b))
		a.ranged(Watch, a.s.pipeField(b)+".set-flow", name, fmt.Sprintf(what, a.u.rate(f.Limit)), c.text+" A thin snorkel from the bell's top to the break sharpens it.", practice, "", q, a.u.rate)
	case siphon.DropShort, siphon.DropModest:
		state, what := Watch, "so it may not hold against air: the flow at the break has a Froude number of %.2f, from 2 it carries the air off for sure"
		if f.Reason == siphon.DropShort {
			state, what = Act, "so it will not hold: the flow at the break has a Froude number of %.2f, and below 1 it does not carry the air off"
		}
		outlet := "{}: the siphon's outlet lies {v} below the break, "
		if b.Drowned {
			outlet = fmt.Sprintf("{}: the siphon's outlet stands under water, whose level %s lies only {v} below the break, ", a.u.level(b.ReceivingM))
		}
		a.ranged(state, field+".outlet", name, outlet+fmt.Sprintf(what, f.Value)+".", a.s.dropCure(b, f.Reason == siphon.DropShort, a.clear), froudeSource, "", b.Siphon.BreakM-b.Siphon.OutletM, a.u.depth)
	case siphon.PeriodShort:
		if !known || timed {
			return
		}
		a.ranged(Watch, a.s.pipeField(b)+".set-flow", name, "{}: a flood and drain takes {v}; below 3 min roots and siphon have no rest.", a.s.periodCure(b, q, 1.1*f.Limit, false, a.brings(b)), practice, "", f.Value, a.u.span)
	case siphon.PeriodLong:
		if !known || timed {
			return
		}
		a.ranged(Watch, a.s.pipeField(b)+".set-flow", name, "{}: a flood and drain takes {v}; roots want one in 2 h at the least.", a.s.periodCure(b, q, 0.9*f.Limit, true, a.brings(b)), practice, "", f.Value, a.u.span)
	case siphon.BoreNarrow, siphon.BoreWide:
		a.ranged(Watch, field+".standpipe", name, fmt.Sprintf("{}: the rules for the start were tested on bores of %s; this one is {v}.", rangeText(0.012, 0.052, a.u.bore)), "Find with a bucket the least inflow at which it starts, and give `starts-at`.", froudeSource, "", b.Siphon.Pipe.DiameterM, a.u.bore)
	case siphon.PorosityLow, siphon.PorosityHigh:
		a.oddPores(fmt.Sprintf("beds[%d]", b.Index), name, f.Value)
	case siphon.DeadWaterDeep:
		remedy := "Lower the bell's air hole or the snorkel's end."
		at := a.u.down(0.030, 0.005)
		if w, err := a.s.changed(b, func(in *site.Siphon) { in.BreakM = at }); err == nil && (!known || grade(w, q) >= min(1, grade(b.Works, q))) {
			remedy = fmt.Sprintf("Lower the bell's air hole or the snorkel's end to %s.", a.u.depth(at))
		}
		a.ranged(Watch, field+".siphon-break", name, fmt.Sprintf("{}: {v} of water never drain; beyond %s they go foul.", a.u.depth(mostDeadM)), remedy, practice, "", f.Value, a.u.depth)
	case siphon.SuctionDeep:
		a.ranged(Watch, field+".outlet", name, fmt.Sprintf("{}: the suction at the crest comes to {v} of water, beyond %s; the pipe may collapse or the water part.", a.u.head(7)), "Raise the outlet, or leave the pipe open to the air lower down.", practice, "", f.Value, a.u.depth)
	case siphon.PipeShort:
		a.ranged(Watch, field+".pipe-length", name, "{}: the siphon's pipe is {v} long, less than from its crest to its outlet.", fmt.Sprintf("Measure it again: at least %s.", a.u.depth(a.u.up(f.Limit, 0.01))), practice, "", f.Value, a.u.depth)
	case siphon.ExitMissing:
		a.say(Watch, field+".k", name, "{}: the loss factors of the siphon's pipe leave out the exit, 1.", "Add 1 to `k`.", practice, "")
	}
}

// shutsEarly reports whether a bed's valve shuts before half its drain is over.
func (a *audit) shutsEarly(bed int) bool {
	if a.t == nil || a.restM3s(bed) > 0 {
		return false
	}
	early := false
	for i := range a.t.Parts {
		for _, turn := range a.t.Parts[i].Turns {
			if turn.Bed == bed {
				if turn.OpenS > turn.FillS+turn.DrainS/2 {
					return false
				}
				early = true
			}
		}
	}
	return early
}

// bellWallM is the wall that bells are taken to have.
const bellWallM = 0.003

// bell checks what stands about the standpipe.
func (a *audit) bell(b *Bed, field string) {
	in := b.In.Siphon
	bell := siphon.Bell{InsideM: in.BellM, GapM: in.GapM, SlotsM2: in.SlotsM2, GuardInsideM: in.GuardM, GuardSlotM: in.GuardSlotM, LeastMediaM: leastGrainM(b.In.Media), MediaTopM: cmp.Or(b.In.DepthM, usualBedM)}
	if in.BellM > 0 {
		bell.OutsideM = in.BellM + 2*bellWallM
	}
	bell.StandpipeOutsideM = outsideM(in.StandpipeM)
	found, err := bell.Findings(b.Siphon)
	if err != nil {
		a.say(Watch, field, b.In.Name, "{}: the bell cannot be judged: "+err.Error()+".", "Check its measures.", practice, "")
		return
	}
	name := b.In.Name
	// gone reports whether a changed bell is free of a reason.
	gone := func(r siphon.Reason, change func(c *siphon.Bell)) bool {
		c := bell
		change(&c)
		left, err := c.Findings(b.Siphon)
		return err == nil && !slices.ContainsFunc(left, func(f siphon.Finding) bool { return f.Reason == r })
	}
	or := func(ok bool, with string, v string, without string) string {
		if ok {
			return fmt.Sprintf(with, v)
		}
		return without
	}
	for _, f := range found {
		switch f.Reason {
		case siphon.GapTight:
			gap := a.u.up(2*f.Limit, 0.001)
			a.ranged(Watch, field+".gap", name, "{}: the bell's top lies {v} above the crest, less than a quarter of the crest's width; it holds the water up.", or(gone(f.Reason, func(c *siphon.Bell) { c.GapM = gap }), "Raise the bell to a gap of %s.", a.u.bore(gap), "Raise the bell."), practice, "", f.Value, a.u.bore)
		case siphon.AnnulusTight:
			least, err := siphon.LeastBellM(in.StandpipeM, bell.StandpipeOutsideM)
			if err != nil {
				continue
			}
			least = a.u.up(least, 0.001)
			a.ranged(Watch, field+".bell", name, "{}: the room between bell and standpipe is {v}, less than twice the bore.", or(gone(f.Reason, func(c *siphon.Bell) { c.InsideM, c.OutsideM = least, least+2*bellWallM }), "Take a bell of at least %s inside.", a.u.bore(least), "Take a wider bell."), practice, "", f.Value, a.u.area)
		case siphon.SlotsTight:
			unit := 1e-5 // as area prints
			if a.u.us() {
				unit = 0.01 * inchM * inchM
			}
			slots := ceilTo(f.Limit, unit)
			a.ranged(Watch, field+".slots", name, "{}: the slots at the bell's foot are open by {v}, less than twice the bore.", or(gone(f.Reason, func(c *siphon.Bell) { c.SlotsM2 = slots }), "Cut them to %s in all.", a.u.area(slots), "Cut them wider."), practice, "", f.Value, a.u.area)
		case siphon.GuardTight:
			guard := a.u.up(bell.OutsideM+0.03, 0.001)
			a.ranged(Watch, field+".guard", name, fmt.Sprintf("{}: {v} lie between bell and media guard; %s is the least to lift the bell and let water by.", a.u.bore(0.015)), or(gone(f.Reason, func(c *siphon.Bell) { c.GuardInsideM = guard }), "Take a guard of at least %s inside.", a.u.bore(guard), "Take a wider guard."), practice, "", f.Value, a.u.bore)
		case siphon.CrestNearMedia:
			what := fmt.Sprintf("{}: the crest lies {v} below the media's top; %s keep the surface dry against algae and rot.", a.u.depth(f.Limit))
			if f.Value < 0 {
				what = "{}: the crest lies {v} above the media's top, so the bed floods over it."
			}
			remedy := "Cut the standpipe lower, or fill up media."
			crest := a.u.down(bell.MediaTopM-f.Limit, 0.005)
			if _, err := a.s.changed(b, func(in *site.Siphon) { in.CrestM = crest }); err == nil {
				remedy = fmt.Sprintf("Cut the standpipe to a crest of %s, or fill up media.", a.u.depth(crest))
			}
			a.ranged(Watch, field+".crest", name, what, remedy, practice, "", math.Abs(f.Value), a.u.depth)
		case siphon.GuardSlotsLarge:
			a.ranged(Watch, field+".guard-slot", name, "{}: the guard's slots are {v} wide and let the smallest media through.", fmt.Sprintf("Take slots narrower than %s.", a.u.bore(f.Limit)), practice, "", f.Value, a.u.bore)
		}
	}
}

var grainRange = regexp.MustCompile(`(\d+)(?:-\d+)? mm`)

// leastGrainM is the smallest grain that a medium's name tells, m; 0 for none.
func leastGrainM(media string) float64 {
	m := grainRange.FindStringSubmatch(media)
	if m == nil {
		return 0
	}
	mm, err := strconv.Atoi(m[1])
	if err != nil {
		return 0
	}
	return float64(mm) / 1000
}

// outsideM is the outside of a pipe of a bore: that of the size as sold, or 2.5 mm
// of wall.
func outsideM(boreM float64) float64 {
	for _, size := range pipe.Sizes() {
		if size.OutsideM > 0 && math.Abs(size.InsideM-boreM) < 0.0004 {
			return size.OutsideM
		}
	}
	return boreM + 0.005
}

// standpipe checks a bed without a bell.
func (a *audit) standpipe(b *Bed, field string, q float64) {
	name := b.In.Name
	if b.Stand.WeepLevelM > mostDeadM {
		a.ranged(Watch, field+".weep-at", name, fmt.Sprintf("{}: {v} of water never drain; beyond %s they go foul.", a.u.depth(mostDeadM)), fmt.Sprintf("Drill the weep hole at %s or lower.", a.u.depth(a.u.down(mostDeadM, 0.005))), practice, "", b.Stand.WeepLevelM, a.u.depth)
	}
	if math.IsNaN(q) {
		if b.Branch >= 0 {
			a.say(Watch, a.s.pipeField(b), name, "{}: its inflow is not known.", "Measure it with a bucket, or describe the pump and the pipe to it.", practice, "")
		}
		return
	}
	if q < noFlowM3s {
		return // branches tells
	}
	f, err := b.Stand.Flood(q)
	if err != nil {
		a.say(Act, field, name, "{}: the standpipe cannot be judged: "+err.Error()+".", "Check its measures.", practice, "")
		return
	}
	flood := func(change func(p *siphon.Standpipe), q float64) (siphon.Flood, bool) {
		p := b.Stand
		change(&p)
		if p.Check() != nil {
			return siphon.Flood{}, false
		}
		f, err := p.Flood(q)
		return f, err == nil && !math.IsNaN(f.FillS) && !f.OverRim
	}
	switch {
	case math.IsNaN(f.FillS):
		weeps, err := pipe.WeepM3s(b.Stand.WeepM, b.Stand.CrestM-b.Stand.WeepLevelM)
		if err != nil {
			return
		}
		var ways []string
		hole := a.u.down(b.Stand.WeepM*math.Sqrt(q/2/weeps), 0.0005)
		if hole >= leastWeepM {
			if _, ok := flood(func(p *siphon.Standpipe) { p.WeepM = hole }, q); ok {
				ways = append(ways, fmt.Sprintf("take a weep hole of %s", a.u.bore(hole)))
			}
		}
		more := ceilTo(1.2*weeps, a.u.rateStep(1.2*weeps))
		if _, ok := flood(func(*siphon.Standpipe) {}, more); ok && b.Branch >= 0 && a.canBring(b, more) {
			ways = append(ways, fmt.Sprintf("bring %s or more to it", a.u.rate(more)))
		}
		remedy := "Open its valve further or lead a wider pipe to it: for so little water no weep hole is small enough and does not clog."
		if len(ways) > 0 {
			remedy = words.Capital(strings.Join(ways, ", or ")) + "."
		}
		a.ranged(Act, field+".weep", name, fmt.Sprintf("{}: at {v} it never fills: under a full bed the weep hole lets out %s.", a.u.rate(weeps)), remedy, practice, "", q, a.u.rate)
	case f.OverRim:
		remedy := "Throttle its valve, take a wider standpipe, or lower its crest."
		if d, err := pipe.SelfVentingDiameterM(q); err == nil {
			d = a.u.up(d, 0.001)
			if _, ok := flood(func(p *siphon.Standpipe) { p.DiameterM = d }, q); ok {
				remedy = fmt.Sprintf("Take a standpipe of %s, or throttle its valve.", a.u.bore(d))
			}
		}
		a.ranged(Act, field+".bore", name, fmt.Sprintf("{}: at {v} the water comes to the rim, %s, and runs over.", a.u.depth(b.Bed.RimM)), remedy, ventSource, "", q, a.u.rate)
	default:
		if free := b.Bed.RimM - f.HoldM; free < leastFreeM-1e-9 {
			remedy := "Lower the crest, or raise the rim."
			crest := a.u.down(b.Stand.CrestM-(leastFreeM+freeSpareM-free), 0.005)
			if g, ok := flood(func(p *siphon.Standpipe) { p.CrestM = crest }, q); ok && b.Bed.RimM-g.HoldM >= leastFreeM+freeSpareM/2 {
				remedy = fmt.Sprintf("Lower the crest to %s.", a.u.depth(crest))
			}
			a.ranged(Watch, field+".crest", name, fmt.Sprintf("{}: the water stands {v} below the rim; %s is the least.", a.u.depth(leastFreeM)), remedy, practice, "", free, a.u.depth)
		}
		what := "{}: flooded by {v}, it stands " + a.u.depth(f.HoldM) + " deep"
		if b.Way == Timer {
			what += fmt.Sprintf("; full in %s.", a.u.span(f.FillS))
		} else {
			what += fmt.Sprintf("; its water is renewed in %s.", a.u.span(f.ExchangeS))
		}
		a.ranged(Good, a.s.pipeField(b), name, what, "", practice, "", q, a.u.rate)
	}
}

// leastWeepM is the smallest weep hole that is advised: smaller ones clog; common
// practice, no source.
const leastWeepM = 0.003

// bringing is what a question to canBring depends on.
type bringing struct {
	setM3s, soleM3s float64 // soleM3s to 5 %
	timed           bool
}

// canBring is Scheme.brings within the tries of a check; of beds whose pipes can
// bring alike the first is tried.
func (a *audit) canBring(b *Bed, m3s float64) bool {
	if b.Branch < 0 {
		return false
	}
	key := bringing{m3s, math.Round(20 * math.Log(math.Max(1e-9, a.s.soleM3s(a.s.feeds(b.Index)...)))), a.s.timedBed(b)}
	if ok, known := a.brought[key]; known {
		return ok
	}
	if a.tries >= a.s.mostTries() {
		return false
	}
	a.tries++
	ok := a.s.brings(b, m3s)
	a.brought[key] = ok
	return ok
}

// brings is canBring for one bed.
func (a *audit) brings(b *Bed) func(m3s float64) bool {
	return func(m3s float64) bool { return a.canBring(b, m3s) }
}

// widestSpillM is the widest second overflow that a site can name.
const widestSpillM = 0.3

// spill checks a bed's second overflow against all the flow that can come.
func (a *audit) spill(b *Bed, field string, q float64) {
	if !a.s.Piped || b.Branch < 0 {
		return
	}
	sole := a.s.soleM3s(a.s.feeds(b.Index)...)
	if !(sole > noFlowM3s) {
		return
	}
	need, err := pipe.SelfVentingDiameterM(sole)
	if err != nil {
		return
	}
	fit := "Fit a wide second overflow to the sump, and give `spill`."
	need = a.u.up(need, 0.005)
	if takes, err := pipe.SelfVentingM3s(need); err == nil && takes >= sole && need <= widestSpillM {
		fit = "Fit a second overflow to the sump of at least {w} bore, its mouth well below the rim, and give `spill`."
	}
	defer func() {
		if n := len(a.notes); n > 0 && a.notes[n-1].Remedy == fit {
			a.worstOf(need, a.u.bore(need))
		}
	}()
	if b.In.SpillM == 0 {
		a.ranged(Watch, field+".spill", b.In.Name, "{}: there is no second overflow; with its drain blocked all that comes, {v} with every other valve shut, runs over the rim.", fit, ventSource, "", sole, a.u.rate)
		return
	}
	takes, err := pipe.SelfVentingM3s(b.In.SpillM)
	if err == nil && takes < sole {
		a.ranged(Watch, field+".spill", b.In.Name, fmt.Sprintf("{}: its second overflow takes %s quietly, less than the {v} that can come with every other valve shut.", a.u.rate(takes)), fit, ventSource, "", sole, a.u.rate)
	}
}
