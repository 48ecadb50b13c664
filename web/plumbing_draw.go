package web

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strings"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/words"
)

// scaleUnit is how heights are written on a drawing.
type scaleUnit struct {
	Word         string // m, ft, mm, in
	PerM         float64
	TickM, TextM float64 // distances of ticks and of numbers
	Digits       int
}

func (u scaleUnit) text(m float64) string {
	if math.IsNaN(m) || math.IsInf(m, 0) {
		return noValue
	}
	v := m * u.PerM
	if math.Abs(v) < 0.5*math.Pow(10, -float64(u.Digits)) {
		v = 0
	}
	return strings.Replace(fixed(v, u.Digits), "-", "−", 1)
}

// tall and small are the units of a building's heights and of a bed's.
func (s *server) tall() scaleUnit {
	if s.system == quantity.USCustomary {
		foot := inUnit(1, quantity.Length, "ft")
		return scaleUnit{"ft", foot, 0.25 / foot, 1 / foot, 1}
	}
	return scaleUnit{"m", 1, 0.1, 0.5, 2}
}

func (s *server) small() scaleUnit {
	if s.system == quantity.USCustomary {
		inch := inUnit(1, quantity.Length, "in")
		return scaleUnit{"in", inch, 1 / inch, 4 / inch, 1}
	}
	return scaleUnit{"mm", 1000, 0.02, 0.1, 0}
}

// flowUnit is how flows are written on a drawing.
func (s *server) flowUnit() (word string, perM3s float64) {
	if s.system == quantity.USCustomary {
		return "gal/min", inUnit(1, quantity.Flow, "gal/min")
	}
	return "L/min", inUnit(1, quantity.Flow, "L/min")
}

// inUnit is a value in a unit that its kind has.
func inUnit(si float64, kind quantity.Kind, unit string) float64 {
	v, err := quantity.In(si, kind, unit)
	if err != nil {
		return math.NaN()
	}
	return v
}

func (s *server) speed(ms float64) string {
	if s.system == quantity.USCustomary {
		return fixed(inUnit(ms, quantity.Length, "ft"), 1) + " ft/s"
	}
	return fixed(ms, 2) + " m/s"
}

// flow prints a flow with two digits or to the unit: pumps and pipes are not known
// better.
func (s *server) flow(m3s float64) string {
	word, per := s.flowUnit()
	v := m3s * per
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		return noValue
	case v >= 9.95:
		return fixed(v, 0) + " " + word
	}
	return fixed(v, 1) + " " + word
}

// sectionDrawing is a long section being drawn.
type sectionDrawing struct {
	s        *server
	v        *plumbing.Section
	b        strings.Builder
	wide     float64
	left     float64 // of the sump
	sumpWide float64
	riserX   float64
	firstX   float64 // left edge of the first end's place
	place    float64 // width of an end's place
	topY     float64
	bottomY  float64
	words    bool // names and figures stand at the ends; else numbers that a list explains
	most     float64
}

const (
	sectionTall = 400.0
	leastPlace  = 92.0
)

// longSection draws a loop's long section; narrow is for a phone. numbered tells
// that the ends carry numbers alone.
func (s *server) longSection(v *plumbing.Section, title string, narrow bool) (drawing template.HTML, numbered bool) {
	d := &sectionDrawing{s: s, v: v, wide: 1180, left: 74, sumpWide: 170, topY: 96, most: 1e-12}
	if narrow {
		d.wide, d.left, d.sumpWide, d.topY = 360, 62, 60, 64
	}
	d.riserX = d.left + d.sumpWide - 26
	if narrow {
		d.riserX = d.left + d.sumpWide - 14
	}
	d.firstX = d.left + d.sumpWide + 18
	if n := len(v.Ends); n > 0 {
		d.place = math.Min(180, (d.wide-d.firstX-6)/float64(n))
	}
	d.words = !narrow && d.place >= leastPlace
	if !math.IsNaN(v.FlowM3s) {
		d.most = math.Max(d.most, v.FlowM3s)
	}
	tall := sectionTall
	if narrow {
		tall = 300
	}
	d.bottomY = d.topY + tall
	kind := "section"
	if narrow {
		kind += " small"
	}
	fmt.Fprintf(&d.b, `<svg class="%s" viewBox="0 0 %.0f %.0f" role="img"><title>%s</title>`, kind, d.wide, d.bottomY+74, html.EscapeString(title))
	d.b.WriteString(`<defs><pattern id="` + d.id("media") + `" width="9" height="9" patternUnits="userSpaceOnUse"><circle class="stone" cx="2.5" cy="2.5" r="1.1"/><circle class="stone" cx="7" cy="6.6" r="1.1"/></pattern></defs>`)
	d.post()
	d.source()
	d.ends()
	d.floor()
	d.b.WriteString(`</svg>`)
	return template.HTML(d.b.String()), !d.words
}

func (d *sectionDrawing) id(name string) string {
	if d.wide < 500 {
		return "narrow-" + name
	}
	return "wide-" + name
}

func (d *sectionDrawing) y(m float64) float64 {
	return d.topY + (d.v.TopM-m)/(d.v.TopM-d.v.BottomM)*(d.bottomY-d.topY)
}

func (d *sectionDrawing) line(class string, xy ...float64) {
	d.b.WriteString(`<path class="` + class + `" d="`)
	for i := 0; i+1 < len(xy); i += 2 {
		pen := "L"
		if i == 0 {
			pen = "M"
		}
		fmt.Fprintf(&d.b, "%s%.1f %.1f", pen, xy[i], xy[i+1])
	}
	d.b.WriteString(`"/>`)
}

func (d *sectionDrawing) box(class string, x, top, wide, bottom float64) {
	fmt.Fprintf(&d.b, `<rect class="%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, class, x, top, math.Max(0, wide), math.Max(0, bottom-top))
}

func (d *sectionDrawing) text(class string, x, y float64, anchor, text string) {
	fmt.Fprintf(&d.b, `<text class="%s" x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, class, x, y, anchor, html.EscapeString(text))
}

// pipe draws a full pipe: ink with blue water inside, as wide as its flow.
func (d *sectionDrawing) pipe(flowM3s float64, xy ...float64) {
	if math.IsNaN(flowM3s) || flowM3s <= 0 {
		d.line("pipe shut", xy...)
		return
	}
	wide := 1.8 + 7*flowM3s/d.most
	for _, layer := range []struct {
		class string
		wide  float64
	}{{"pipe", wide + 3}, {"run", wide}} {
		fmt.Fprintf(&d.b, `<path class="%s" stroke-width="%.1f" d="M%.1f %.1f`, layer.class, layer.wide, xy[0], xy[1])
		for i := 2; i+1 < len(xy); i += 2 {
			fmt.Fprintf(&d.b, "L%.1f %.1f", xy[i], xy[i+1])
		}
		d.b.WriteString(`"/>`)
	}
}

// post is the graduated post at the left.
func (d *sectionDrawing) post() {
	u := d.s.tall()
	x, wide := d.left-26, 10.0
	top, bottom := d.y(d.v.TopM), d.y(d.v.BottomM)
	d.box("pole", x, top, wide, bottom)
	for k := math.Ceil(d.v.BottomM/u.TickM - 1e-9); k*u.TickM <= d.v.TopM+1e-9; k++ {
		m := k * u.TickM
		if math.Abs(math.Remainder(m, u.TextM)) > 1e-6 {
			d.line("tick", x, d.y(m), x+5, d.y(m))
			continue
		}
		d.line("tick", x, d.y(m), x+wide, d.y(m))
		digits := u
		digits.Digits = 1
		d.text("scale", x-4, d.y(m)+4.5, "end", digits.text(m))
	}
	d.text("scale", x+wide, top-8, "end", u.Word)
}

// floor is the building's floor.
func (d *sectionDrawing) floor() {
	y := d.y(0)
	d.line("ground", d.left+d.sumpWide, y, d.wide-2, y)
	d.line("ground", d.left-16, y, d.left, y)
	for x := d.left + d.sumpWide + 8; x < d.wide-6; x += 14 {
		d.line("tick", x, y, x-6, y+6)
	}
	if d.wide > 500 {
		d.text("much", d.wide-4, y+20, "end", "floor")
	}
}

// source draws the sump or tank that the pump draws from, the pump and the riser.
func (d *sectionDrawing) source() {
	v, src := d.v, d.v.Source
	left, right := d.left, d.left+d.sumpWide
	d.box("water", left, d.y(src.SurfaceM), d.sumpWide, d.y(src.BottomM))
	d.line("wall", left, d.y(src.RimM), left, d.y(src.BottomM), right, d.y(src.BottomM), right, d.y(src.RimM))
	d.line("surface", left, d.y(src.SurfaceM), right, d.y(src.SurfaceM))
	if !math.IsNaN(v.LowM) {
		d.line("swing", left, d.y(v.LowM), right, d.y(v.LowM))
		d.line("swing", left, d.y(v.HighM), right, d.y(v.HighM))
	}
	u := d.s.tall()
	y := d.y(v.BottomM) + 18
	d.text("what", left, y, "start", words.Capital(src.Name)+" "+u.text(src.SurfaceM)+" "+u.Word)
	if !math.IsNaN(v.LowM) {
		y += 17
		d.text("much", left, y, "start", "in a day "+u.text(v.LowM)+" to "+u.text(v.HighM))
	}
	if v.Pump == "" {
		return
	}
	d.text("much", left, y+17, "start", "intake "+u.text(src.IntakeM))
	pumpY := (d.y(math.Max(src.RimM, 0)) - 30)
	d.pipe(v.FlowM3s, d.riserX, d.y(src.IntakeM), d.riserX, d.y(v.TopM))
	d.line("intake", d.riserX-7, d.y(src.IntakeM), d.riserX+7, d.y(src.IntakeM))
	fmt.Fprintf(&d.b, `<circle class="machine" cx="%.1f" cy="%.1f" r="13"/><path class="blade" d="M%.1f %.1fl7 12h-14z"/>`, d.riserX, pumpY, d.riserX, pumpY-8)
	if d.wide < 500 {
		return
	}
	x := d.riserX - 20
	d.text("what", x, pumpY-12, "end", clipped(v.Pump, 16))
	if math.IsNaN(v.FlowM3s) {
		d.text("much", x, pumpY+5, "end", "flow not known")
		return
	}
	d.text("much", x, pumpY+5, "end", d.s.flow(v.FlowM3s)+", "+u.text(v.HeadM)+" "+u.Word)
	if v.WireW > 0 {
		d.text("much", x, pumpY+22, "end", fixed(v.WireW, 0)+" W")
	}
	mid := (d.y(v.TopM) + pumpY) / 2
	if !math.IsNaN(v.RiserMS) {
		d.text("much", x, mid, "end", d.s.speed(v.RiserMS))
	}
	if !math.IsNaN(v.HeaderM) {
		d.text("much", d.riserX-14, d.topY+4, "end", "head "+u.text(v.HeaderM)+" "+u.Word)
	}
}

// ends draws the header and what it leads to.
func (d *sectionDrawing) ends() {
	v := d.v
	header := d.y(v.TopM)
	collect := d.collectM()
	mouth := d.left + d.sumpWide - 8
	if d.wide > 500 {
		mouth = d.left + d.sumpWide - 10
	}
	last := math.NaN()
	for i := range v.Ends {
		if v.Ends[i].Back {
			last = d.firstX + d.place*(float64(i)+0.8)
		}
	}
	if !math.IsNaN(last) {
		d.line("drain", last, d.y(collect), mouth, d.y(collect), mouth, d.y(v.Source.SurfaceM))
	}
	// The header, from the far end back, so that the wide runs lie over the narrow.
	rest, xs := 0.0, make([]float64, len(v.Ends))
	for i := len(v.Ends) - 1; i >= 0; i-- {
		e := &v.Ends[i]
		xs[i] = d.firstX + d.place*(float64(i)+0.3)
		if e.Branch < 0 {
			continue
		}
		from := d.riserX
		for k := i - 1; k >= 0; k-- {
			if v.Ends[k].Branch >= 0 {
				from = d.firstX + d.place*(float64(k)+0.3)
				break
			}
		}
		if e.Open && !math.IsNaN(e.FlowM3s) {
			rest += e.FlowM3s * d.many(e)
		}
		d.pipe(rest, from, header, xs[i], header)
	}
	for i := range v.Ends {
		d.end(i, xs[i], collect)
	}
}

// many is how many flows an end stands for: of like timed ones the flow is of one.
func (d *sectionDrawing) many(e *plumbing.End) float64 {
	if e.Timed {
		return 1
	}
	return float64(len(e.Names))
}

// collectM is the height at which the drains are drawn together.
func (d *sectionDrawing) collectM() float64 {
	v := d.v
	lowest := math.Inf(1)
	for i := range v.Ends {
		e := &v.Ends[i]
		if !e.Back {
			continue
		}
		at := e.FloorM
		if !math.IsNaN(e.DrainM) {
			at = e.DrainM
		}
		if e.Kind == "tank" {
			at = e.WaterM
		}
		lowest = math.Min(lowest, at)
	}
	return math.Max(math.Min(lowest-0.06, 0.18*v.TopM), v.Source.SurfaceM+0.05)
}

func (d *sectionDrawing) end(i int, x, collect float64) {
	v := d.v
	e := &v.Ends[i]
	place := d.firstX + d.place*float64(i)
	left, right := place+d.place*0.1, place+d.place*0.9
	header, u := d.y(v.TopM), d.s.tall()
	flowing := e.Branch >= 0 && e.Open && e.FlowM3s > 0
	// The vessel.
	if !math.IsNaN(e.FloorM) {
		floor, rim := d.y(e.FloorM), d.y(e.RimM)
		if e.Way == plumbing.Filming {
			for k := 1; k < 5; k++ {
				x := left + (right-left)*float64(k)/5
				d.line("stand", x, d.y(e.TopM), x, floor)
				if flowing {
					d.line("fall", x, d.y(e.TopM)+6, x, floor)
				}
			}
		} else if !math.IsNaN(e.TopM) && e.Kind == "bed" && e.Way != plumbing.Floating {
			d.box("stones", left, d.y(e.TopM), right-left, floor)
			fmt.Fprintf(&d.b, `<rect fill="url(#%s)" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, d.id("media"), left, d.y(e.TopM), right-left, math.Max(0, floor-d.y(e.TopM)))
		}
		level := e.WaterM
		if math.IsNaN(level) && !math.IsNaN(e.BreakM) {
			level = e.BreakM
			if e.Timed && flowing {
				level = e.CrestM
			}
		}
		if math.IsNaN(level) && e.Way == plumbing.Timer && e.Timed && flowing {
			level = e.CrestM
		}
		if !math.IsNaN(level) {
			d.box("water", left, d.y(level), right-left, floor)
			d.line("surface", left, d.y(level), right, d.y(level))
		}
		d.line("wall", left, rim, left, floor, right, floor, right, rim)
		for _, m := range []float64{e.CrestM, e.BreakM} {
			if !math.IsNaN(m) {
				d.line("limit", right-0.22*(right-left), d.y(m), right+3, d.y(m))
			}
		}
		if e.FloorM > 0.05 { // a stand
			d.line("stand", left+4, floor, left+4, d.y(0))
			d.line("stand", right-4, floor, right-4, d.y(0))
		}
		if e.Back {
			out := place + d.place*0.8
			from := floor
			if e.Kind == "tank" || e.Way == plumbing.Floating {
				from = d.y(e.WaterM)
			}
			d.line("drain", out, from, out, d.y(collect))
		}
	}
	// The pipe down from the header, its valve, and the water that falls.
	if e.Branch >= 0 {
		outlet := d.y(e.OutletM)
		flow := e.FlowM3s
		if !flowing {
			flow = 0
		}
		d.pipe(flow, x, header, x, outlet)
		if e.Timed {
			d.valve(x, header+(outlet-header)*0.45, e.Open)
		}
		into := e.WaterM
		if math.IsNaN(into) {
			into = e.TopM
		}
		if math.IsNaN(into) {
			into = v.Source.SurfaceM
		}
		if flowing && d.y(into) > outlet+1 {
			d.line("fall", x, outlet, x, d.y(into))
		}
	}
	// Words.
	mid := place + d.place/2
	many := ""
	if n := len(e.Names); n > 1 {
		many = fmt.Sprintf(" ×%d", n)
	}
	if !d.words {
		d.text("what", x, header-14, "middle", fmt.Sprintf("%d", i+1))
		return
	}
	name := plumbing.Names(e.Names)
	d.text("what", mid, header-60, "middle", clipped(name, int(d.place/7.6))+many)
	switch {
	case e.Branch < 0:
		d.text("much", mid, header-42, "middle", "no pipe")
	case !flowing && e.Timed:
		d.text("much", mid, header-42, "middle", "valve shut")
	case math.IsNaN(e.FlowM3s):
	default:
		d.text("much strong", mid, header-42, "middle", d.s.flow(e.FlowM3s))
		d.text("much", mid, header-25, "middle", d.s.speed(e.MS))
	}
	if !math.IsNaN(e.CrestM) && d.place >= 130 && (flowing || i == 0 || v.Ends[i-1].Kind != "bed") {
		d.text("much", right, d.y(e.RimM)-6, "end", "crest "+u.text(e.CrestM))
	}
}

// valve is a timed valve: filled when shut.
func (d *sectionDrawing) valve(x, y float64, open bool) {
	class := "valve shut"
	if open {
		class = "valve"
	}
	fmt.Fprintf(&d.b, `<path class="%s" d="M%.1f %.1fh14l-14 18h14z"/>`, class, x-7, y-9)
}

// clipped cuts a name that is too long for its place.
func clipped(name string, most int) string {
	letters := []rune(name)
	if len(letters) <= most || most < 4 {
		return name
	}
	return strings.TrimSpace(string(letters[:most-1])) + "…"
}

// cutDrawing is a bed's cross-section to scale, its level at one height.
func (s *server) cutDrawing(c *plumbing.Cut, levelM float64) template.HTML {
	const (
		wide, left, right = 380.0, 64.0, 272.0
		top               = 34.0
	)
	shown := math.Min(c.WideM, math.Max(0.7, 6*math.Max(c.GuardM, c.BellM)))
	per := (right - left) / shown
	low := math.Min(c.OutletM, -0.03) - 0.05
	y := func(m float64) float64 { return top + (c.RimM+0.04-m)*per }
	tall := y(low) + 12
	cx := (left + right) / 2
	u := s.small()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="cut" viewBox="0 0 %.0f %.0f" role="img" data-floor="%.2f" data-per="%.3f"><title>%s</title>`, wide, tall, y(0), per,
		html.EscapeString(fmt.Sprintf("Cross-section of %s to scale: crest %s, level %s %s above the bed's floor", c.Name, u.text(c.CrestM), u.text(levelM), u.Word)))
	b.WriteString(`<defs><pattern id="cut-media" width="13" height="13" patternUnits="userSpaceOnUse"><circle class="stone" cx="3.5" cy="3.5" r="2.2"/><circle class="stone" cx="10" cy="9.6" r="2"/></pattern></defs>`)
	line := func(class string, xy ...float64) {
		fmt.Fprintf(&b, `<path class="%s" d="M%.1f %.1f`, class, xy[0], xy[1])
		for i := 2; i+1 < len(xy); i += 2 {
			fmt.Fprintf(&b, "L%.1f %.1f", xy[i], xy[i+1])
		}
		b.WriteString(`"/>`)
	}
	rect := func(extra string, x0, m0, x1, m1 float64) {
		fmt.Fprintf(&b, `<rect %s x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, extra, x0, y(m0), math.Max(0, x1-x0), math.Max(0, y(m1)-y(m0)))
	}
	guard := math.Max(c.GuardM, c.BellM) * per / 2
	if guard == 0 {
		guard = 1.2 * c.BoreM * per / 2
	}
	rect(`class="stones"`, left, c.MediaM, cx-guard, 0)
	rect(`class="stones"`, cx+guard, c.MediaM, right, 0)
	rect(`fill="url(#cut-media)"`, left, c.MediaM, cx-guard, 0)
	rect(`fill="url(#cut-media)"`, cx+guard, c.MediaM, right, 0)
	rect(`class="water" data-part="water"`, left, levelM, right, 0)
	// The bed.
	if c.WideM > shown+0.01 {
		line("cutline", left, y(c.RimM), left, y(0))
		line("cutline", right, y(c.RimM), right, y(0))
		line("wall", left, y(0), right, y(0))
	} else {
		line("wall", left, y(c.RimM), left, y(0), right, y(0), right, y(c.RimM))
	}
	if c.GuardM > 0 {
		g := c.GuardM * per / 2
		line("guard", cx-g, y(c.RimM), cx-g, y(0))
		line("guard", cx+g, y(c.RimM), cx+g, y(0))
	}
	bore, lip := c.BoreM*per/2, math.Max(c.FunnelM, c.BoreM)*per/2
	foot := low + 0.05
	rect(`class="pour" data-part="pour"`, cx-bore, c.CrestM, cx+bore, foot-0.03)
	line("tube", cx-lip, y(c.CrestM), cx-bore, y(c.CrestM)+(lip-bore), cx-bore, y(foot))
	line("tube", cx+lip, y(c.CrestM), cx+bore, y(c.CrestM)+(lip-bore), cx+bore, y(foot))
	if c.BellM > 0 {
		gap := c.GapM
		if gap == 0 {
			gap = c.BoreM / 2
		}
		w := c.BellM * per / 2
		line("tube", cx-w, y(math.Max(0.004, c.BreakM)), cx-w, y(c.CrestM+gap), cx+w, y(c.CrestM+gap), cx+w, y(math.Max(0.004, c.BreakM)))
		line("guard", cx-w, y(0), cx-w, y(c.BreakM))
		line("guard", cx+w, y(0), cx+w, y(c.BreakM))
	}
	if c.WeepM > 0 {
		line("surface", cx-bore-5, y(c.WeepAtM), cx-bore+2, y(c.WeepAtM))
	}
	// The inlet, whose water runs while the valve is open.
	fmt.Fprintf(&b, `<path class="tube" d="M%.1f 14h26v14"/><path class="inflow" data-part="inflow" d="M%.1f 28V%.1f"/>`, left+4, left+30, y(c.MediaM))
	// The post, with the span between break and crest.
	x := left - 20
	rect(`class="band"`, x, c.CrestM, x+8, math.Max(0, c.BreakM))
	rect(`class="pole"`, x, c.RimM, x+8, 0)
	for m := 0.0; m <= c.RimM+1e-9; m += u.TickM {
		long := 4.0
		if math.Abs(math.Remainder(m, u.TextM)) < 1e-6 {
			long = 8
			fmt.Fprintf(&b, `<text class="scale" x="%.1f" y="%.1f" text-anchor="end">%s</text>`, x-3, y(m)+4, u.text(m))
		}
		fmt.Fprintf(&b, `<path class="tick" d="M%.1f %.1fh%.1f"/>`, x, y(m), long)
	}
	fmt.Fprintf(&b, `<path class="pointer good" data-part="pointer" d="M%.1f %.1fh12v4h-12z"/>`, x+6, y(levelM)-2)
	fmt.Fprintf(&b, `<text class="scale" x="%.1f" y="14" text-anchor="end">%s</text>`, x+8, u.Word)
	// Marks at the right.
	type mark struct {
		word string
		m    float64
	}
	marks := []mark{{"rim", c.RimM}, {"media", c.MediaM}}
	if c.StartM > c.CrestM {
		marks = append(marks, mark{"starts", c.StartM})
	}
	marks = append(marks, mark{"crest", c.CrestM})
	if c.Way == plumbing.Siphons {
		marks = append(marks, mark{"break", c.BreakM}, mark{"outlet", c.OutletM})
	}
	if c.WeepM > 0 {
		marks = append(marks, mark{"weep", c.WeepAtM})
	}
	lastY := -100.0
	for _, m := range marks {
		at := math.Max(y(m.m), lastY+15)
		lastY = at
		from := right + 2
		if m.word == "outlet" {
			from = cx + bore + 3
		}
		line("leader", from, y(m.m), right+8, y(m.m), right+13, at)
		fmt.Fprintf(&b, `<text class="much" x="%.1f" y="%.1f">%s %s</text>`, right+15, at+4.5, m.word, u.text(m.m))
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// plot is one drawing of values against a value.
type plot struct {
	Class, Title, Unit, XUnit string
	XMax, YMax                float64
	Lines                     []plotLine
	Limits                    []startLimit
	Spans                     [][2]float64 // along the foot, such as the times a valve is open
	SpanWord                  string
	Points                    []plotPoint
	Cursor                    bool
}

type plotLine struct {
	Stroke string // low, typical, high as in chart
	XY     [][2]float64
}

type plotPoint struct {
	X, Y float64
	Word string
	Left bool // the word stands to the left
}

func (p plot) svg() template.HTML {
	if !(p.XMax > 0) || !(p.YMax > 0) {
		return ""
	}
	const left, right, top, bottom = chartLeft, chartRight, chartTop, chartBottom
	x := func(v float64) float64 { return left + (right-left)*math.Max(0, math.Min(1, v/p.XMax)) }
	y := func(v float64) float64 { return bottom - (bottom-top)*math.Max(0, math.Min(1.02, v/p.YMax)) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="chart %s" viewBox="0 0 %.0f %.0f" role="img" data-left="%.1f" data-right="%.1f"><title>%s</title><text x="2" y="14">%s</text>`, p.Class, chartWide, chartTall, left, right, html.EscapeString(p.Title), html.EscapeString(p.Unit))
	for _, v := range []float64{0, p.YMax / 2, p.YMax} {
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, left, y(v), right, left-6, y(v)+4.5, figure(v))
	}
	step := roundUp(p.XMax / 5)
	for v := step; v <= p.XMax*1.0001; v += step {
		anchor, at := "middle", x(v)
		if at > right-14 {
			anchor, at = "end", right+8
		}
		fmt.Fprintf(&b, `<path class="rule" d="M%.1f %.1fv5"/><text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, x(v), bottom, at, bottom+17, anchor, figure(v))
	}
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, right, bottom+34, html.EscapeString(p.XUnit))
	for _, l := range p.Limits {
		fmt.Fprintf(&b, `<path class="limit" d="M%.1f %.1fH%.1f"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`, left, y(l.value), right, right-2, y(l.value)-4, html.EscapeString(l.text))
	}
	for i, sp := range p.Spans {
		fmt.Fprintf(&b, `<path class="open-span" d="M%.1f %.1fH%.1f"/>`, x(sp[0]), bottom-2.5, x(sp[1]))
		if i == 0 {
			fmt.Fprintf(&b, `<text x="%.1f" y="%.1f">%s</text>`, left, bottom+34, html.EscapeString(p.SpanWord))
		}
	}
	for _, l := range p.Lines {
		pen := "M"
		var d strings.Builder
		for _, at := range l.XY {
			if math.IsNaN(at[0]+at[1]) || math.IsInf(at[0]+at[1], 0) || at[1] > 1.02*p.YMax || at[0] > 1.0001*p.XMax {
				pen = "M"
				continue
			}
			fmt.Fprintf(&d, "%s%.1f %.1f", pen, x(at[0]), y(at[1]))
			pen = "L"
		}
		if d.Len() > 0 {
			fmt.Fprintf(&b, `<path class="course %s" d="%s"/>`, l.Stroke, d.String())
		}
	}
	for _, at := range p.Points {
		anchor, dx := "start", 9.0
		if at.Left {
			anchor, dx = "end", -9
		}
		fmt.Fprintf(&b, `<path class="event" d="%s"/><text class="told" x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, eventPath("up", x(at.X), y(at.Y)), x(at.X)+dx, y(at.Y)-7, anchor, html.EscapeString(at.Word))
	}
	if p.Cursor {
		fmt.Fprintf(&b, `<path class="cursor" data-part="cursor" d="M0 %.1fV%.1f"/>`, top-4, bottom)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// zoneWords are what a siphon does, as the lying staff names it, in two lines.
var zoneWords = map[string]string{
	"will-not-start": "will not start", "doubtful": "doubtful", "should-start": "should start", "starts": "starts", "never-stops": "never stops", "overflows": "overflows",
}

// zoneWord is the word of a span of inflows.
func zoneWord(z plumbing.Zone) string {
	if z.Dribbles {
		return "dribbles"
	}
	if word, ok := zoneWords[string(z.Verdict)]; ok {
		return word
	}
	return string(z.Verdict)
}

// zoneState is how good a span is for a bed.
func zoneState(z plumbing.Zone) State {
	switch {
	case z.Dribbles:
		return Watch
	case z.Verdict == "starts" || z.Verdict == "should-start":
		return Good
	case z.Verdict == "doubtful":
		return Watch
	}
	return Act
}

// lyingStaff is the staff of an inflow, laid down: the spans in which a siphon
// does the same, each as wide as the next so that all can be read, the good ones
// marked as on the standing staff, the pointer of the same three shapes.
func (s *server) lyingStaff(name string, zones []plumbing.Zone, inflowM3s float64) (drawing template.HTML, words string, state State) {
	if len(zones) == 0 || math.IsNaN(inflowM3s) {
		return "", "", Unknown
	}
	const wide, left, right, top, bottom = 360.0, 8.0, 352.0, 32.0, 44.0
	unit, per := s.flowUnit()
	number := func(m3s float64) string {
		v := m3s * per
		if v >= 9.95 {
			return fixed(v, 0)
		}
		return fixed(v, 1)
	}
	each := (right - left) / float64(len(zones))
	var b strings.Builder
	state, at, is := Act, right-6, ""
	here, firstGood := len(zones)-1, -1
	const zoneLetter = 6.6
	var taken [3]float64 // how far each row of words reaches
	for i, z := range zones {
		if zoneState(z) == Good && firstGood < 0 {
			firstGood = i
		}
		x := left + each*float64(i)
		if zoneState(z) == Good {
			fmt.Fprintf(&b, `<rect class="band" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, x, top, each, bottom-top)
		}
		if i > 0 {
			fmt.Fprintf(&b, `<path class="tick" d="M%.1f %.1fV%.1f"/><text class="scale" x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, x, top-3, bottom+3, x, top-18, number(z.FromM3s))
		}
		half := zoneLetter * float64(len(zoneWord(z))) / 2
		tx := math.Max(left+half, math.Min(right-half, x+each/2))
		row := slices.IndexFunc(taken[:], func(to float64) bool { return to <= tx-half })
		if row < 0 {
			row = len(taken) - 1
		}
		taken[row] = tx + half + zoneLetter
		fmt.Fprintf(&b, `<text class="zone" x="%.1f" y="%.1f" text-anchor="middle">%s</text>`, tx, bottom+19+17*float64(row), zoneWord(z))
		if inflowM3s >= z.FromM3s && inflowM3s < z.ToM3s || i == len(zones)-1 && inflowM3s >= z.ToM3s {
			at = x + each*math.Min(1, (inflowM3s-z.FromM3s)/(z.ToM3s-z.FromM3s))
			here, state, is = i, zoneState(z), zoneWord(z)
		}
	}
	way := "lower"
	if firstGood > here || firstGood < 0 && zones[here].Verdict != "never-stops" && zones[here].Verdict != "overflows" {
		way = "raise"
	}
	var pointer string
	switch state {
	case Good:
		pointer = fmt.Sprintf(`<path class="pointer good" data-shape="bar" d="M%.1f %.1fh5v13h-5z"/>`, at-2.5, top-14)
	case Watch:
		tip := 13.0
		if way == "lower" {
			tip = -13
		}
		pointer = fmt.Sprintf(`<path class="pointer watch" data-shape="half-wedge" data-way="%s" d="M%.1f %.1fv13h%.1fz"/>`, way, at, top-14, tip)
	default:
		tip := 14.0
		if way == "lower" {
			tip = -14
		}
		pointer = fmt.Sprintf(`<path class="pointer act" data-shape="wedge" data-way="%s" d="M%.1f %.1fv14l%.1f -7z"/>`, way, at, top-15, tip)
	}
	verdict := string(state)
	if state != Good {
		verdict += ", " + way
	}
	words = fmt.Sprintf("%s: inflow %s %s, %s: %s", name, number(inflowM3s), unit, is, verdict)
	drawing = template.HTML(fmt.Sprintf(`<svg class="lying" viewBox="0 0 %.0f 104" role="img"><title>%s</title>%s<rect class="pole" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>%s</svg>`,
		wide, html.EscapeString(words), b.String(), left, top, right-left, bottom-top, pointer))
	return drawing, words, state
}
