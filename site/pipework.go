package site

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tidebed/quantity"
	"tidebed/science/pipe"
)

// PumpPoint is a flow of a pump, the head it gives there and the power it takes
// at the plug, 0 when that is not known.
type PumpPoint struct{ FlowM3s, HeadM, WireW float64 }

// ParsePumpPoint reads one point of a pump's curve, "flow:head", such as
// "40 L/min:1.2 m", or "flow:head:power", such as "40 L/min:1.2 m:36 W". Nothing
// may be negative.
func ParsePumpPoint(text string) (PumpPoint, error) {
	parts := strings.Split(text, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return PumpPoint{}, fmt.Errorf("%q is not a point of a pump's curve; write flow:head, such as \"40 L/min:1.2 m\", or flow:head:watts", text)
	}
	var p PumpPoint
	for i, of := range []struct {
		to   *float64
		kind quantity.Kind
	}{{&p.FlowM3s, quantity.Flow}, {&p.HeadM, quantity.Length}, {&p.WireW, quantity.Power}}[:len(parts)] {
		v, err := quantity.Parse(strings.TrimSpace(parts[i]), of.kind)
		if err != nil {
			return PumpPoint{}, fmt.Errorf("point %q: %w", text, err)
		}
		if v < 0 {
			return PumpPoint{}, fmt.Errorf("point %q: neither flow, head nor power may be negative", text)
		}
		*of.to = v
	}
	return p, nil
}

// ParseFitting reads a fitting of a pipe by the name of the table, with "3 x "
// before it for more than one.
func ParseFitting(text string) (count int, f pipe.Fitting, err error) {
	count, name := 1, strings.TrimSpace(text)
	if number, rest, ok := strings.Cut(name, " x "); ok {
		if n, err := strconv.Atoi(strings.TrimSpace(number)); err == nil {
			if n < 1 || n > 100 {
				return 0, f, fmt.Errorf("%q: 1 to 100 of a fitting can stand in a pipe", text)
			}
			count, name = n, strings.TrimSpace(rest)
		}
	}
	f, err = pipe.LookupFitting(name)
	if err == nil && !f.Known {
		err = fmt.Errorf("%q: its loss hangs on its sizes; leave it out, or take a fitting that has a factor of its own", text)
	}
	return count, f, err
}

// BoreM is the inside diameter, given or by the size; 0 when neither is known.
func (p *Pipe) BoreM() float64 {
	if p.DiameterM > 0 {
		return p.DiameterM
	}
	size, err := pipe.LookupSize(p.Size)
	if err != nil {
		return 0
	}
	return size.LikelyM
}

// The hours of a timetable's day when the site does not say. Common practice, no
// source.
const (
	usualDayFromH = 6
	usualDayToH   = 22
)

// Day is the hours between which a timetable's day lies, given or by default: 6 to
// 22.
func (t *Timetable) Day() (fromH, toH float64) {
	fromH, toH = usualDayFromH, usualDayToH
	if t.DayFromH != nil {
		fromH = *t.DayFromH
	}
	if t.DayToH != nil {
		toH = *t.DayToH
	}
	return fromH, toH
}

// DefaultRimM is how high a bed's rim lies above its media, or its floor where
// the depth is not given, when the site does not say: 50 mm.
const DefaultRimM = 0.05

// Rim is the height of the bed's rim above its floor, given or by default.
func (b *Bed) Rim() float64 {
	if b.RimM > 0 {
		return b.RimM
	}
	if b.DepthM > 0 {
		return b.DepthM + DefaultRimM
	}
	return 0.3 + DefaultRimM
}

// pipework refuses pumps, pipes, siphons and standpipes that cannot be.
func (c *checker) pipework(l *Loop, at string) {
	for j := range l.Pumps {
		c.pump(&l.Pumps[j], fmt.Sprintf("%s.pumps[%d]", at, j))
	}
	for j := range l.Tanks {
		if t := &l.Tanks[j]; t.RimM != 0 && t.RimM <= t.LevelM {
			c.refuse(fmt.Sprintf("%s.tanks[%d].rim", at, j), "", "the rim of tank %q, %s above the floor, must lie above its water at %s", t.Name, c.amount(t.RimM, quantity.Length), c.amount(t.LevelM, quantity.Length))
		}
	}
	if l.SumpRimM != 0 && l.SumpRimM <= l.SumpLevelM {
		c.refuse(at+".sump-rim", "", "the sump's rim, %s above the floor, must lie above its water at %s", c.amount(l.SumpRimM, quantity.Length), c.amount(l.SumpLevelM, quantity.Length))
	}
	if t := l.Timetable; t != nil {
		if from, to := t.Day(); from >= to {
			c.refuse(at+".timetable.day-from", strconv.FormatFloat(from, 'g', -1, 64), "the day begins at %g and ends at %g; it must end after it begins (left out, it begins at %d and ends at %d)", from, to, usualDayFromH, usualDayToH)
		}
	}
	for j := range l.Beds {
		b := &l.Beds[j]
		path := fmt.Sprintf("%s.beds[%d]", at, j)
		if b.Siphon != nil && b.Standpipe != nil {
			c.refuse(path+".standpipe", b.Name, "the bed %q has a siphon and a standpipe; take one away: a siphon's standpipe is described in `siphon`", b.Name)
		}
		if b.Siphon != nil {
			c.siphon(b, path+".siphon")
		}
		if p := b.Standpipe; p != nil {
			c.below(path+".standpipe.crest", p.CrestM, "crest", b.Rim(), "rim of the bed", "; above it the bed runs over (the rim lies "+c.amount(DefaultRimM, quantity.Length)+" above the media unless `rim` is given)")
			if p.WeepM > 0 {
				c.below(path+".standpipe.weep-at", p.WeepAt, "weep hole", p.CrestM, "crest", "")
			}
		}
	}
	timed := map[string]string{}
	for j := range l.Pipes {
		p := &l.Pipes[j]
		path := fmt.Sprintf("%s.pipes[%d]", at, j)
		c.pipe(p, path)
		if p.Valve != "timed" {
			continue
		}
		if first, twice := timed[p.To]; twice && p.To != "" {
			c.refuse(path+".to", p.To, "a second timed valve feeds %q, beside that of %q; a bed has one turn in the timetable: take one valve away or lead both pipes through it", p.To, first)
		}
		timed[p.To] = p.Name
	}
}

// below refuses a height that is not below another.
func (c *checker) below(path string, low float64, what string, high float64, other, why string) {
	if low < high {
		return
	}
	c.refuse(path, "", "the %s at %s must lie below the %s at %s%s", what, c.amount(low, quantity.Length), other, c.amount(high, quantity.Length), why)
}

func (c *checker) siphon(b *Bed, at string) {
	s := b.Siphon
	if s.StandpipeM == 0 || s.CrestM == 0 {
		c.refuse(at, b.Name, "the siphon of bed %q needs the bore of its `standpipe` and its `crest`", b.Name)
		return
	}
	c.below(at+".siphon-break", s.BreakM, "siphon break", s.CrestM, "crest", "")
	c.below(at+".outlet", s.OutletM, "outlet", s.BreakM, "siphon break", ", or the siphon never stops")
	c.below(at+".crest", s.CrestM, "crest", b.Rim(), "rim of the bed", "; above it the bed runs over (the rim lies "+c.amount(DefaultRimM, quantity.Length)+" above the media unless `rim` is given)")
	for _, wide := range []struct {
		key, what string
		bore      float64
	}{{"bell", "bell", s.BellM}, {"guard", "media guard", s.GuardM}, {"funnel", "funnel on top", s.FunnelM}} {
		if wide.bore != 0 && wide.bore < s.StandpipeM {
			c.refuse(at+"."+wide.key, "", "the %s of %s is narrower than the standpipe of %s", wide.what, c.amount(wide.bore, quantity.Length), c.amount(s.StandpipeM, quantity.Length))
		}
	}
	if s.LowerM > 0 != (s.LowerLongM > 0) {
		c.refuse(at+".lower-bore", "", "a second part of the pipe needs both `lower-bore` and `lower-length`")
	}
}

func (c *checker) pipe(p *Pipe, at string) {
	if p.From == p.To && p.From != "" {
		c.refuse(at+".to", p.To, "the pipe %q leads from %q back to it; name where it ends", p.Name, p.From)
	}
	switch {
	case p.DiameterM == 0 && p.Size == "":
		if c.where == nil || !c.where.bad[at+".diameter"] {
			c.refuse(at, p.Name, "the pipe %q has no width; give its inside `diameter`, or its `size`, such as \"PVC-U PN10 (metric) 40 mm\"", p.Name)
		}
	case p.Size != "":
		if _, err := pipe.LookupSize(p.Size); err != nil {
			c.refuse(at+".size", p.Size, "%s", err.Error())
		} else if p.DiameterM != 0 {
			c.refuse(at+".size", p.Size, "the pipe %q has both a `diameter` and a `size`; leave one out", p.Name)
		}
	}
	for k, text := range p.Fittings {
		if _, _, err := ParseFitting(text); err != nil {
			c.refuse(fmt.Sprintf("%s.fittings[%d]", at, k), text, "%s", err.Error())
		}
	}
	if p.OpenS > 0 && p.Valve != "timed" {
		c.warn(at+".open", p.Name, "the pipe %q says how long its valve opens, but has no timed valve", p.Name)
	}
	if p.SetM3s > 0 && p.Valve != "hand" && p.Valve != "timed" {
		c.warn(at+".set-flow", p.Name, "the pipe %q says to what flow it is throttled, but has no valve", p.Name)
	}
}

func (c *checker) pump(p *Pump, at string) {
	if len(p.Points) == 1 {
		c.refuse(at+".points", p.Points[0], "the pump %q has one point of its curve; give at least two", p.Name)
	}
	var points []PumpPoint
	for k, text := range p.Points {
		path := fmt.Sprintf("%s.points[%d]", at, k)
		point, err := ParsePumpPoint(text)
		if err != nil {
			c.refuse(path, text, "%s", err.Error())
			continue
		}
		watts := point.WireW
		if watts == 0 {
			watts = p.PowerW
		}
		if lifts := 998.2 * pipe.GravityMS2 * point.FlowM3s * point.HeadM; watts > 0 && lifts >= watts {
			c.refuse(path, text, "the pump %q would give the water %.0f W and take only %.0f W from the plug; check flow, head and watts", p.Name, lifts, watts)
		}
		points = append(points, point)
	}
	if len(points) < len(p.Points) {
		return
	}
	slices.SortStableFunc(points, func(a, b PumpPoint) int {
		if a.FlowM3s < b.FlowM3s {
			return -1
		} else if a.FlowM3s > b.FlowM3s {
			return 1
		}
		return 0
	})
	for k := 1; k < len(points); k++ {
		if points[k].FlowM3s == points[k-1].FlowM3s || points[k].HeadM >= points[k-1].HeadM {
			c.refuse(at+".points", p.Points[k], "the head of pump %q does not fall from %s to %s; a pump gives less head the more it moves", p.Name,
				c.amount(points[k-1].FlowM3s, quantity.Flow), c.amount(points[k].FlowM3s, quantity.Flow))
			return
		}
	}
}

// LineOf is the line on which a field stands in the text of a site, from 1; that
// of the nearest part above it when the field itself is not given, 0 when the
// text cannot be read. path is as in Problem.Field.
func LineOf(yamlText []byte, path string) int {
	root, _ := parse(yamlText)
	if root == nil {
		return 0
	}
	line, at := 0, root
	for _, part := range strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' }) {
		if number, ok := strings.CutSuffix(part, "]"); ok {
			i, err := strconv.Atoi(number)
			if err != nil || i < 0 || i >= len(at.items) {
				return line
			}
			at = at.items[i]
			line = at.line
			continue
		}
		found := false
		for _, e := range at.entries {
			if e.key == part {
				line, at, found = e.line, e.value, true
				break
			}
		}
		if !found || at == nil {
			return line
		}
	}
	return line
}
