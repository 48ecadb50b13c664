package plumbing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tidebed/quantity"
	"tidebed/science/pipe"
	"tidebed/science/siphon"
	"tidebed/words"
)

// Seen is what was measured at a bed with a stopwatch and a bucket; 0 for what was
// not. Fields in JSON are those that InputError names.
type Seen struct {
	Bed        string  `json:"bed"`
	FillS      float64 `json:"fillS"`      // from the end of a drain to the siphon's start, or until a bed without a bell is full
	DrainS     float64 `json:"drainS"`     // from the start to the break, with the water running in as when it fills
	PumpOff    bool    `json:"pumpOff"`    // DrainS was timed from the crest with no water running in
	BucketM3   float64 `json:"bucketM3"`   // of the bed's inflow
	BucketS    float64 `json:"bucketS"`    // in which it filled the bucket
	RestLevelM float64 `json:"restLevelM"` // at which the level stays, above the bed's floor
	Trickles   bool    `json:"trickles"`   // water runs over the crest and the siphon does not start
	NeverStops bool    `json:"neverStops"` // it runs on at the bottom, or stays at a level, and does not break
	Gurgles    bool    `json:"gurgles"`    // it sucks air now and then while it should run full
}

// Diagnosis is what the measurements say. What was not measured or does not come
// about is 0.
type Diagnosis struct {
	Answer         string   `json:"answer"`         // what to do first
	Causes         []Cause  `json:"causes"`         // the likeliest first; none when all is as expected
	InflowM3s      float64  `json:"inflowM3s"`      // measured
	DrainableShare float64  `json:"drainableShare"` // of the media, by the time to fill
	KTotal         float64  `json:"kTotal"`         // all losses of the siphon, by the time to drain, on the standpipe's velocity
	ExpectedM3s    float64  `json:"expectedM3s"`    // inflow by pump and pipes
	ExpectedFillS  float64  `json:"expectedFillS"`  // with the inflow measured, or that expected
	ExpectedDrainS float64  `json:"expectedDrainS"`
	ExpectedK      float64  `json:"expectedK"`
	ExpectedShare  float64  `json:"expectedShare"` // of the media that drains
	StartM3s       float64  `json:"startM3s"`      // window of the siphon
	BreakM3s       float64  `json:"breakM3s"`
	Cautions       []string `json:"cautions"`
}

// Cause is one thing that would explain what was seen.
type Cause struct {
	Rank  int    `json:"rank"` // from 1
	Cause string `json:"cause"`
	Why   string `json:"why"` // measured against expected
	Do    string `json:"do"`

	weight float64
}

// InputError says why one measured value was refused.
type InputError struct {
	Field    string // as in the JSON of Seen; empty when it is about several
	Sentence string // for the person who typed
}

// Error returns the field and the sentence.
func (e *InputError) Error() string {
	if e.Field == "" {
		return e.Sentence
	}
	return e.Field + ": " + e.Sentence
}

// Shares by which a measurement may differ from what is expected before it counts:
// losses of fittings scatter by -20 to +30 %, which makes some 15 % of flow.
const (
	seenShare   = 0.15
	drainSlow   = 1.25
	fillShort   = 0.85
	longestS    = 86400.0
	quickestS   = 1.0
	leastBucket = 0.0002
	mostBucket  = 1.0
	mostCauses  = 6
)

// Diagnose finds why a bed does not flood and drain as it should, from what was
// measured: inflow against pump and pipes, time to fill against the pore space, time
// to drain against the siphon's losses, and what the eye saw. Causes are ranked by
// how much of what was seen they explain, from common practice, no source; each says
// what was expected and what to do first.
//
// Simplified: a time to fill tells the pore space only as well as the inflow is
// known; a time to drain takes the fault to lie in the siphon's pipe alone.
//
// Errors are *InputError: a bed the loop does not have, a value out of range, half
// of a bucket, nothing measured.
func (s *Scheme) Diagnose(in Seen) (*Diagnosis, error) {
	b, err := s.check(in)
	if err != nil {
		return nil, err
	}
	d := &doctor{s: s, u: s.say(), b: b, in: in, Diagnosis: Diagnosis{}}
	d.inflow()
	switch b.Way {
	case Siphons:
		d.siphon()
	case Timer, Constant:
		d.standpipe()
	}
	d.finish()
	return &d.Diagnosis, nil
}

// check refuses what cannot be and finds the bed.
func (s *Scheme) check(in Seen) (*Bed, error) {
	at := slices.IndexFunc(s.Beds, func(b Bed) bool { return b.In.Name == in.Bed })
	if at < 0 {
		names := make([]string, len(s.Beds))
		for i := range names {
			names[i] = s.Beds[i].In.Name
		}
		return nil, &InputError{"bed", fmt.Sprintf("the loop has no bed %q; it has %s", in.Bed, Names(names))}
	}
	b := &s.Beds[at]
	for _, v := range []struct {
		field, what string
		v, lo, hi   float64
		kind        quantity.Kind
	}{
		{"fillS", "the time to fill", in.FillS, quickestS, longestS, quantity.Duration}, {"drainS", "the time to drain", in.DrainS, quickestS, longestS, quantity.Duration},
		{"bucketM3", "the bucket", in.BucketM3, leastBucket, mostBucket, quantity.Volume}, {"bucketS", "the time to fill the bucket", in.BucketS, 0.5, 3600, quantity.Duration},
		{"restLevelM", "the level at which it stays", in.RestLevelM, 0.001, b.In.Rim(), quantity.Length},
	} {
		if v.v != 0 && !(v.v >= v.lo && v.v <= v.hi) {
			return nil, &InputError{v.field, fmt.Sprintf("%s must be %s to %s", v.what, quantity.Format(v.lo, v.kind, s.Settings.Units), quantity.Format(v.hi, v.kind, s.Settings.Units))}
		}
	}
	bucket := in.BucketM3 > 0
	holds := b.holds()
	switch {
	case bucket && in.BucketS == 0:
		return nil, &InputError{"bucketS", "give the seconds in which the bucket filled"}
	case !bucket && in.BucketS > 0:
		return nil, &InputError{"bucketM3", "give how much the bucket holds"}
	case !holds && (in.FillS > 0 || in.DrainS > 0 || in.RestLevelM > 0 || in.Trickles || in.NeverStops || in.Gurgles):
		return nil, &InputError{"bed", fmt.Sprintf("%s has no siphon or standpipe that is described; measure its inflow with a bucket", in.Bed)}
	case b.Way != Siphons && (in.Trickles || in.NeverStops || in.Gurgles):
		return nil, &InputError{"bed", fmt.Sprintf("%s has no siphon; give the time to fill, the time to drain and the bucket", in.Bed)}
	case b.Way == Constant && in.DrainS > 0:
		return nil, &InputError{"drainS", fmt.Sprintf("%s stays flooded and does not drain; leave the time out", in.Bed)}
	case !bucket && in.FillS == 0 && in.DrainS == 0 && in.RestLevelM == 0 && !in.Trickles && !in.NeverStops && !in.Gurgles:
		return nil, &InputError{"", "nothing was measured: hold a bucket under the bed's inlet and time it, then time one fill and one drain"}
	}
	return b, nil
}

// doctor is a diagnosis being made.
type doctor struct {
	Diagnosis
	s     *Scheme
	u     say
	b     *Bed
	in    Seen
	q     float64 // inflow reckoned with; NaN: neither measured nor expected
	shuts bool    // its timed valve shuts while it drains
}

func (d *doctor) cause(weight float64, what, why, do string) {
	if math.IsNaN(weight) {
		weight = 0
	}
	d.Causes = append(d.Causes, Cause{Cause: what, Why: why, Do: do, weight: weight})
}

// inflow holds the bucket against pump and pipes.
func (d *doctor) inflow() {
	s, b := d.s, d.b
	expected := s.plannedM3s(nil)[b.Index]
	d.q = expected
	if !math.IsNaN(expected) {
		d.ExpectedM3s = expected
	}
	if d.in.BucketM3 == 0 {
		return
	}
	q, err := siphon.BucketM3s(d.in.BucketM3, d.in.BucketS)
	if err != nil {
		return // check has admitted less
	}
	d.InflowM3s, d.q = q, q
	if !(expected > noFlowM3s) {
		return
	}
	ratio := q / expected
	why := fmt.Sprintf("%s came, %s were expected", d.u.rate(q), d.u.rate(expected))
	switch {
	case ratio < 1-seenShare:
		short := 10 * (1 - ratio)
		d.cause(6+short, "The pump's strainer or intake is clogged", why+"; if the other beds get little too, it is the pump.", "Unplug the pump, clean its strainer and intake, and measure again.")
		valve := "the valve of this bed is not fully open"
		if s.timedBed(b) {
			valve = "the timed valve of this bed does not open fully"
		}
		d.cause(5.5+short, words.Capital(valve), why+"; if the other beds get theirs, it is this branch.", "Work the valve by hand, rinse grit out of it, see that its hand valve stands open.")
		d.film(q, expected, short)
		d.cause(3+short, "Water is lost on the way", why+".", "Walk along the pipe and look for drips and a branch that runs when it should not.")
	case ratio > 1+seenShare:
		d.cause(3+5*math.Min(1, ratio-1), "Another branch gets less than its share", why+"; what comes here too much fails elsewhere.", "Look at the inlets of the fish tanks first; then set this bed's valve.")
	}
}

// film asks whether the film in the pipes explains a small flow.
func (d *doctor) film(q, expected, short float64) {
	s := d.s
	o := s.Settings
	o.New = !o.New
	other, err := Draw(s.Loop, o)
	if err != nil || other == nil {
		return
	}
	with := other.plannedM3s(nil)[d.b.Index]
	if math.IsNaN(with) {
		return
	}
	clean, filmed := with, expected
	if s.Settings.New {
		clean, filmed = expected, with
	}
	if filmed > 0.95*clean {
		return // the valve's setting hides it
	}
	weight := 2 + short
	if s.Settings.New && q >= filmed*(1-seenShare) {
		weight = 7 + short // the film alone does it
	}
	d.cause(weight, "A film or roots narrow the pipe", fmt.Sprintf("clean pipes bring %s, filmed ones %s; %s came.", d.u.rate(clean), d.u.rate(filmed), d.u.rate(q)), "Pull a sponge or a brush through the branch.")
}

// siphon holds times and what was seen against the siphon's course.
func (d *doctor) siphon() {
	b := d.b
	start, full := b.Works.Window()
	d.StartM3s, d.BreakM3s = start, full
	d.ExpectedShare = b.Bed.Drainable
	if k, err := b.Works.CoefM25S((b.Siphon.CrestM + b.Siphon.BreakM) / 2); err == nil && k > 0 {
		a := b.Siphon.Pipe.AreaM2()
		d.ExpectedK = 2 * gravity * a * a / (k * k)
	}
	known := !math.IsNaN(d.q) && d.q > noFlowM3s
	works := b.Works
	var c siphon.Cycle
	if known {
		var err error
		if c, err = works.Cycle(d.q); err == nil {
			d.ExpectedFillS, d.ExpectedDrainS = finite(c.FillS), finite(c.DrainS)
		}
		if d.ExpectedFillS == 0 {
			d.ExpectedFillS = b.FreeM2() * (b.Siphon.CrestM - b.Siphon.BreakM) / d.q
		}
	}
	if d.in.PumpOff {
		if t, err := works.DrainS(b.Siphon.CrestM, b.Siphon.BreakM, 0); err == nil {
			d.ExpectedDrainS = t
		}
	} else if u := d.s.turnOf(b.Index); u != nil && known && c.Verdict.Cycles() {
		// Its valve shuts while it drains.
		if t, err := drainOf(b, &c, d.q, 0, u.MarginS); err == nil {
			d.ExpectedDrainS, d.shuts = t, true
		}
	}
	free := b.FreeM2()
	if d.in.FillS > 0 && known {
		free = d.fill(free)
	}
	if d.in.DrainS > 0 {
		d.drain(free)
	}
	if d.in.Trickles || d.restsHigh() {
		d.trickles(known, start, full)
	}
	if d.in.NeverStops {
		d.neverStops(known, full)
	}
	if d.in.Gurgles {
		d.gurgles(known)
	}
}

const gravity = pipe.GravityMS2

// restsHigh reports whether the level was seen to stay at or over the crest.
func (d *doctor) restsHigh() bool {
	return d.in.RestLevelM > d.b.Siphon.CrestM-0.003 && !d.in.NeverStops
}

// fill holds the time to fill against the pore space and returns the free area.
func (d *doctor) fill(free float64) float64 {
	b := d.b
	ratio := d.in.FillS / d.ExpectedFillS
	measured := free * ratio
	share := (measured - b.Bed.GuardM2) / (b.Bed.AreaM2 - b.Bed.GuardM2)
	bucket := d.InflowM3s > 0
	plausible := share > 0.01 && share < 0.95
	if plausible {
		d.DrainableShare = share
	}
	why := fmt.Sprintf("it filled in %s, %s were expected with %s", d.u.clock(d.in.FillS), d.u.clock(d.ExpectedFillS), d.u.rate(d.q))
	switch {
	case ratio < fillShort:
		weight := 4.0
		if bucket {
			weight = 8
		}
		media := b.Bed.AreaM2 * cmp.Or(b.In.DepthM, usualBedM)
		more := ""
		if filled := (b.Bed.Drainable - share) * media; plausible && filled > 0 {
			if left, err := siphon.PoreLeft(b.Bed.Drainable, media, filled); err == nil {
				more = fmt.Sprintf("; %.0f %% of the media still drain, of %.0f %%: roots and solids would fill about %s", 100*left, 100*b.Bed.Drainable, d.u.amount(filled))
			}
		}
		d.cause(weight+3*(1-ratio), "Roots and solids fill the pore space", why+more+".", "Lift out old roots at the next change of crop, rinse the worst third of the media, and give the new `porosity`.")
		if !bucket {
			d.cause(6, "More water comes than expected", why+".", "Time a bucket at the inlet first.")
		}
		d.cause(2.5, "It does not drain to the bottom", why+"; a siphon that breaks early leaves water behind.", fmt.Sprintf("Look at which level it breaks: %s above the floor is its place.", d.u.depth(b.Siphon.BreakM)))
	case ratio > 1/fillShort:
		if !bucket {
			d.cause(6, "Less water comes than expected", why+".", "Time a bucket at the inlet first.")
		}
		d.cause(4, "Water leaves while it fills", why+".", "Look at the outlet while it fills: not a drip should come. Seal the standpipe's foot.")
		if start := d.StartM3s; d.q < surelyAbove*start {
			d.cause(6, "The inflow hardly starts the siphon", fmt.Sprintf("%s come and it wants %s; near that it creeps over the crest for long.", d.u.rate(d.q), d.u.rate(start)), d.cureText())
		}
	}
	if bucket && plausible {
		return measured
	}
	return free
}

func (d *doctor) cureText() string {
	return d.s.cure(d.b, d.q, func(m3s float64) bool { return d.s.brings(d.b, m3s) }).text
}

// drain holds the time to drain against the siphon's losses.
func (d *doctor) drain(free float64) {
	b := d.b
	q := d.q
	from := b.Works.StartLevelM()
	if d.in.PumpOff {
		q, from = 0, b.Siphon.CrestM
	}
	if math.IsNaN(q) || d.ExpectedDrainS == 0 {
		d.cause(1, "The drain cannot be judged", "it does not come about with this inflow, or the inflow is not known.", "Time it again from the crest with the pump off.")
		return
	}
	k, ok := d.losses(free, from, q)
	if d.shuts && d.ExpectedK > 0 { // nearly all without inflow: the time goes with the root of the losses
		ratio := d.in.DrainS / (d.ExpectedDrainS * free / b.FreeM2())
		k, ok = d.ExpectedK*ratio*ratio, true
	}
	if ok {
		d.KTotal = k
	}
	expected := d.ExpectedDrainS * free / b.FreeM2()
	ratio := d.in.DrainS / expected
	why := fmt.Sprintf("it drained in %s, %s were expected", d.u.clock(d.in.DrainS), d.u.clock(expected))
	if ok && d.ExpectedK > 0 {
		why += fmt.Sprintf("; its losses are %.1f, %.1f were expected", k, d.ExpectedK)
	}
	switch {
	case ratio > drainSlow:
		more := 2 * math.Min(2, ratio-1)
		d.cause(6+more, "The siphon's pipe, its elbow or the bell's slots are clogged", why+".", "Pull the bell, rinse its slots, and rod the standpipe and the elbow through.")
		if !d.in.PumpOff && d.q > 0.7*d.BreakM3s {
			d.cause(7+more, "Too much water runs in while it drains", fmt.Sprintf("%s come and the pipe carries %s at the break.", d.u.rate(d.q), d.u.rate(d.BreakM3s)), d.cureText())
		}
		d.cause(2, "The outlet stands under water or ends too high", why+fmt.Sprintf("; its outlet should lie %s below the bed's floor.", d.u.depth(-b.Siphon.OutletM)), "See that it runs free to its end.")
	case ratio < 1/drainSlow:
		d.cause(4, "It breaks before the bed is drained", why+".", fmt.Sprintf("Look at which level it breaks, %s above the floor is its place; seal the bell's cap.", d.u.depth(b.Siphon.BreakM)))
		if d.DrainableShare == 0 {
			d.cause(3.5, "Roots and solids fill the pore space", why+".", "Time a fill with a bucket, too: it tells how much drains.")
		}
	}
}

// losses is the loss factor with friction that gives the measured time to drain.
func (d *doctor) losses(free, fromM, inflowM3s float64) (float64, bool) {
	b := d.b
	bed := b.Bed
	bed.Drainable = (free - bed.GuardM2) / (bed.AreaM2 - bed.GuardM2)
	sp := b.Siphon
	works := func(k float64) (*siphon.Works, float64) {
		sp.Pipe.K = k
		w, err := siphon.New(bed, sp, d.s.Settings.TempC)
		if err != nil {
			return nil, math.NaN()
		}
		t, err := w.DrainS(fromM, b.Siphon.BreakM, inflowM3s)
		if err != nil {
			return nil, math.NaN()
		}
		return w, t
	}
	lo, hi := 0.0, 1.0
	if _, least := works(lo); !(least <= d.in.DrainS) {
		return 0, false
	}
	for {
		_, t := works(hi)
		if math.IsNaN(t) || hi > 1e5 {
			return 0, false
		}
		if t >= d.in.DrainS {
			break
		}
		lo, hi = hi, 2*hi
	}
	for range 60 {
		mid := (lo + hi) / 2
		if _, t := works(mid); t < d.in.DrainS {
			lo = mid
		} else {
			hi = mid
		}
	}
	w, _ := works(lo)
	if w == nil {
		return 0, false
	}
	c, err := w.CoefM25S((b.Siphon.CrestM + b.Siphon.BreakM) / 2)
	if err != nil || !(c > 0) {
		return 0, false
	}
	a := sp.Pipe.AreaM2()
	return 2 * gravity * a * a / (c * c), true
}

// trickles is water that runs over the crest without a start.
func (d *doctor) trickles(known bool, start, full float64) {
	b := d.b
	swept := b.Works.FlowAtFroudeM3s(siphon.FroudeSwept)
	rest := d.in.RestLevelM
	if known {
		stays := ""
		if rest > 0 {
			stays = fmt.Sprintf("; it stays at %s, %s are expected then", d.u.depth(rest), d.u.depth(b.Works.LevelM(math.Min(d.q, start))))
		}
		why := fmt.Sprintf("%s come, it should start from %s and surely does from %s%s.", d.u.rate(d.q), d.u.rate(start), d.u.rate(swept), stays)
		switch {
		case d.q <= start:
			d.cause(10, "Too little water comes to start the siphon", why, d.cureText())
		case d.q < swept && b.Siphon.StartM3s == 0:
			d.cause(6, "The inflow lies where a start is doubtful", why, d.cureText()+" A funnel on the standpipe helps.")
		}
	} else {
		d.cause(6, "Too little water comes to start the siphon", fmt.Sprintf("it should start from %s; how much comes is not known.", d.u.rate(start)), "Time a bucket at the inlet first.")
	}
	if rest > b.Works.StartLevelM()+0.005 {
		d.cause(9, "The bell's slots or the standpipe are clogged", fmt.Sprintf("the level stays at %s, where the siphon should have started at %s.", d.u.depth(rest), d.u.depth(b.Works.StartLevelM())), "Pull the bell and the guard, rinse the slots, rod the standpipe through.")
	}
	if rest > 0 && rest < b.Siphon.CrestM-0.003 {
		d.cause(8, "Water leaves below the crest", fmt.Sprintf("the level stays at %s, below the crest at %s.", d.u.depth(rest), d.u.depth(b.Siphon.CrestM)), "Seal the standpipe's foot and look for a leak in the bed.")
	}
	air := 4.0
	if known && d.q > start {
		air = 7
	}
	d.cause(air, "The bell lets air in", fmt.Sprintf("with %s it should start by its measures.", d.u.rate(math.Max(finite(d.q), start))), "Press the bell down, seal its cap, and plug the snorkel with a finger until it starts.")
	d.cause(3, "The outlet runs too freely to fill with water", "air comes up the pipe against the falling water.", "Put an elbow on the outlet, or let its end dip a little into water until it starts.")
}

// neverStops is a siphon that does not break.
func (d *doctor) neverStops(known bool, full float64) {
	b := d.b
	rest := d.in.RestLevelM
	if known {
		why := fmt.Sprintf("%s come, the siphon carries %s at the break; up to %s it breaks cleanly.", d.u.rate(d.q), d.u.rate(full), d.u.rate(0.7*full))
		switch {
		case d.q >= full:
			if level := b.Works.EqualM(d.q); level < b.Bed.RimM {
				why += fmt.Sprintf(" The level should rest at %s.", d.u.depth(level))
			}
			d.cause(10, "More water comes than the siphon carries at the break", why, d.cureText())
		case d.q > 0.7*full:
			d.cause(8, "The inflow comes near what the siphon carries at the break", why, d.cureText())
		}
		if rest > b.Siphon.BreakM+0.005 && d.q < full {
			carries := b.Works.FullM3s(rest)
			d.cause(9, "The siphon's pipe is clogged", fmt.Sprintf("the level rests at %s, where the pipe should carry %s, and %s come.", d.u.depth(rest), d.u.rate(carries), d.u.rate(d.q)), "Pull the bell and rod the standpipe and the elbow through.")
		}
	} else {
		d.cause(6, "More water comes than the siphon carries at the break", fmt.Sprintf("it carries %s at the break; how much comes is not known.", d.u.rate(full)), "Time a bucket at the inlet first.")
	}
	d.cause(6.5, "No air gets in: the bell's air hole or snorkel is clogged", fmt.Sprintf("air should come in when the level is down at %s.", d.u.depth(b.Siphon.BreakM)), "Lift the bell to let air in, then clear its slots and snorkel of roots.")
	outlet := "see that it runs free"
	weight := 2.0
	do := "Cut the outlet so that it ends in the air."
	if b.Drowned {
		weight, outlet = 7, fmt.Sprintf("it lies %s, the water it runs into stands %s", d.u.level(b.In.FloorM+b.In.Siphon.OutletM), d.u.level(b.ReceivingM))
		do = "Lower the water it runs into, or lead its drain elsewhere, so that the outlet ends in the air."
	}
	d.cause(weight, "The outlet stands under water", outlet+".", do)
}

// gurgles is air sucked in while it should run full.
func (d *doctor) gurgles(known bool) {
	b := d.b
	if known && d.q > 0.7*d.BreakM3s {
		d.cause(6, "Air and water leave together near the break", fmt.Sprintf("%s come, and from %s it dribbles.", d.u.rate(d.q), d.u.rate(0.7*d.BreakM3s)), d.cureText())
	}
	if froude := b.Works.Froude(d.BreakM3s); froude < siphon.FroudeHeld {
		d.cause(6.5, "The outlet lies too little below the bed", fmt.Sprintf("the running siphon's Froude number is %.1f, 2 carries the air off.", froude), d.s.dropCure(b, froude < siphon.FroudeSwept, d.s.clearM))
	}
	d.cause(5, "The bell lets air in", "it should run full until the level is down at the air hole; a gurgle at the very end is as it should be.", "Seal the bell's cap and seams.")
	if known && d.q < b.Works.FlowAtFroudeM3s(siphon.FroudeSwept) && d.in.Trickles {
		d.cause(4, "The siphon half starts", fmt.Sprintf("%s come; from %s it sweeps all air out.", d.u.rate(d.q), d.u.rate(b.Works.FlowAtFroudeM3s(siphon.FroudeSwept))), d.cureText())
	}
}

// standpipe holds times of a bed without a bell against its fill and weep hole.
func (d *doctor) standpipe() {
	b := d.b
	d.ExpectedShare = b.Bed.Drainable
	if !math.IsNaN(d.q) && d.q > noFlowM3s {
		f, err := b.Stand.Flood(d.q)
		if err == nil {
			d.ExpectedFillS = finite(f.FillS)
			if math.IsNaN(f.FillS) {
				d.cause(9, "The weep hole lets out all that comes", fmt.Sprintf("%s come, and the level stays at %s, below the crest.", d.u.rate(d.q), d.u.depth(f.HoldM)), "Take a smaller weep hole, or bring more water.")
			}
		}
	}
	if d.in.FillS > 0 && d.ExpectedFillS > 0 {
		ratio := d.in.FillS / d.ExpectedFillS
		why := fmt.Sprintf("it filled in %s, %s were expected with %s", d.u.clock(d.in.FillS), d.u.clock(d.ExpectedFillS), d.u.rate(d.q))
		share := (b.FreeM2()*ratio - b.Bed.GuardM2) / (b.Bed.AreaM2 - b.Bed.GuardM2)
		if share > 0.01 && share < 0.95 {
			d.DrainableShare = share
		}
		bucket := d.InflowM3s > 0
		if !bucket && math.Abs(ratio-1) > seenShare {
			d.cause(6, "The inflow is not as expected", why+".", "Time a bucket at the inlet first.")
		}
		switch {
		case ratio < fillShort:
			d.cause(5, "Roots and solids fill the pore space", why+fmt.Sprintf("; %.0f %% of the media would drain, of %.0f %%.", 100*share, 100*b.Bed.Drainable), "Lift out old roots, rinse the worst third of the media, and give the new `porosity`.")
		case ratio > 1/fillShort:
			d.cause(5, "Water leaves while it fills", why+".", "Seal the standpipe's foot; see that the weep hole has not grown.")
		}
	}
	if d.in.DrainS > 0 && b.Way == Timer {
		t, err := b.Stand.DrainS(b.Stand.CrestM, b.Stand.WeepLevelM)
		if err != nil {
			return
		}
		d.ExpectedDrainS = t
		why := fmt.Sprintf("it drained in %s, %s were expected through a hole of %s", d.u.clock(d.in.DrainS), d.u.clock(t), d.u.bore(b.Stand.WeepM))
		switch ratio := d.in.DrainS / t; {
		case ratio > drainSlow:
			d.cause(8, "The weep hole is clogged", why+fmt.Sprintf("; it works like one of %s.", d.u.bore(b.Stand.WeepM/math.Sqrt(ratio))), "Clear it with a wire, and drill a second one beside it.")
		case ratio < 1/drainSlow:
			d.cause(5, "Water leaves beside the weep hole, or roots fill the pore space", why+".", "Seal the standpipe's foot; time a fill with a bucket.")
		}
	}
}

// finish ranks the causes and writes the answer.
func (d *doctor) finish() {
	slices.SortStableFunc(d.Causes, func(a, b Cause) int { return cmp.Compare(b.weight, a.weight) })
	var kept []Cause
	for _, c := range d.Causes {
		if len(kept) < mostCauses && !slices.ContainsFunc(kept, func(k Cause) bool { return k.Cause == c.Cause }) {
			c.Rank = len(kept) + 1
			c.Why = words.Capital(c.Why)
			kept = append(kept, c)
		}
	}
	d.Causes = kept
	name := d.b.In.Name
	if len(kept) == 0 {
		d.Answer = fmt.Sprintf("%s runs as expected: what was measured lies within %.0f %%.", name, 100*seenShare)
		return
	}
	first := kept[0]
	d.Answer = fmt.Sprintf("%s: %s Likeliest %s: %s", name, first.Do, words.Lower(first.Cause), words.Lower(first.Why))
	d.Cautions = append(d.Cautions, unplugFirst)
	if d.in.NeverStops || d.staysFull() {
		d.Cautions = append(d.Cautions, "While a bed stays full the pump's water sinks: see that its intake stays covered.")
	}
	if d.ExpectedM3s == 0 && d.InflowM3s == 0 {
		d.Cautions = append(d.Cautions, "The inflow is neither measured nor known from pump and pipes: the causes are a guess until a bucket is timed.")
	}
}

func (d *doctor) staysFull() bool { return d.b.Way == Siphons && (d.in.Trickles || d.restsHigh()) }

// finite is a number, 0 for one that is none.
func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// turnOf is a bed's first turn in the timetable of its loop's goal; nil for none.
func (s *Scheme) turnOf(bed int) *Turn {
	t, err := s.Plan(GoalOf(s.Loop))
	if err != nil {
		return nil
	}
	for i := range t.Parts {
		for j := range t.Parts[i].Turns {
			if u := &t.Parts[i].Turns[j]; u.Bed == bed && u.Trips {
				return u
			}
		}
	}
	return nil
}
