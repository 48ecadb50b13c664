package plumbing

import (
	"fmt"
	"math"
	"strings"

	"tidebed/quantity"
)

// The quantities of findings, faults and diagnoses have two figures, for the losses
// they rest on are not better known. A number that a remedy names is rounded with up
// and down, so that what is printed is what was tried.

const (
	gallonsMinM3s = 3.785411784e-3 / 60
	inchM         = 0.0254
	footM         = 0.3048
	gallonM3      = 3.785411784e-3
	poundKg       = 0.45359237
)

func (p say) us() bool { return p.system == quantity.USCustomary }

// rateUnit is the unit of rate, with its name.
func (p say) rateUnit() (m3s float64, name string) {
	if p.us() {
		return gallonsMinM3s, "gal/min"
	}
	return 1.0 / 60000, "L/min"
}

// rate prints a flow with two figures.
func (p say) rate(m3s float64) string {
	unit, name := p.rateUnit()
	switch v := m3s / unit; {
	case v >= 9.95:
		return fmt.Sprintf("%.0f %s", v, name)
	case v >= 0.95:
		return fmt.Sprintf("%.1f %s", v, name)
	case v >= 0.0095 || v <= 0:
		return fmt.Sprintf("%.2f %s", v, name)
	default:
		return fmt.Sprintf("%.1g %s", v, name)
	}
}

// rateStep is the step in which rate prints flows about one.
func (p say) rateStep(m3s float64) float64 {
	unit, _ := p.rateUnit()
	switch v := m3s / unit; {
	case v >= 9.95:
		return unit
	case v >= 0.95:
		return unit / 10
	}
	return unit / 100
}

// depth prints a height or depth within a bed.
func (p say) depth(m float64) string {
	if p.us() {
		switch v := m / inchM; {
		case math.Abs(v) < 0.95:
			return fmt.Sprintf("%.2f in", v)
		case math.Abs(v) < 119.5:
			return fmt.Sprintf("%.1f in", v)
		}
		return fmt.Sprintf("%.1f ft", m/footM)
	}
	if math.Abs(m) < 0.9995 {
		return fmt.Sprintf("%.0f mm", 1000*m)
	}
	return fmt.Sprintf("%.2f m", m)
}

// bore prints the width of a pipe, hole or gap.
func (p say) bore(m float64) string {
	if p.us() {
		return fmt.Sprintf("%.2f in", m/inchM)
	}
	mm := 1000 * m
	if math.Abs(mm-math.Round(mm)) > 0.05 {
		return fmt.Sprintf("%.1f mm", mm)
	}
	return fmt.Sprintf("%.0f mm", mm)
}

// step is the step in which remedies name a length, by that of the metric reader.
func (p say) step(metricM float64) float64 {
	if !p.us() {
		return metricM
	}
	return math.Max(0.05, math.Round(metricM/inchM/0.1)*0.1) * inchM
}

// up and down round a length to what depth and bore print.
func (p say) up(m, stepM float64) float64   { return ceilTo(m, p.step(stepM)) }
func (p say) down(m, stepM float64) float64 { return floorTo(m, p.step(stepM)) }

// levelStepM is the step of upLevel and downLevel.
func (p say) levelStepM() float64 {
	if p.us() {
		return 0.02 * footM
	}
	return 0.01
}

// upLevel and downLevel round a level to what level and metres print.
func (p say) upLevel(m float64) float64   { return ceilTo(m, p.levelStepM()) }
func (p say) downLevel(m float64) float64 { return floorTo(m, p.levelStepM()) }

// area prints an opening.
func (p say) area(m2 float64) string {
	if p.us() {
		return fmt.Sprintf("%.2f in²", m2/(inchM*inchM))
	}
	return fmt.Sprintf("%.1f cm²", m2*1e4)
}

// amount prints a volume of water.
func (p say) amount(m3 float64) string {
	v, name := 1000*m3, "L"
	if p.us() {
		v, name = m3/gallonM3, "gal"
	}
	switch {
	case v >= 995 && !p.us():
		return fmt.Sprintf("%.1f m³", m3)
	case v >= 99.5:
		return fmt.Sprintf("%.0f %s", 10*math.Round(v/10), name)
	case v >= 9.95:
		return fmt.Sprintf("%.0f %s", v, name)
	}
	return fmt.Sprintf("%.1f %s", v, name)
}

// span prints a time with two figures.
func (p say) span(seconds float64) string {
	switch {
	case seconds < 119.5:
		return fmt.Sprintf("%.0f s", seconds)
	case seconds < 119.5*60:
		return fmt.Sprintf("%.0f min", seconds/60)
	case seconds < 99.5*3600:
		if seconds >= 9.95*3600 {
			return fmt.Sprintf("%.0f h", seconds/3600)
		}
		return fmt.Sprintf("%.1f h", seconds/3600)
	}
	return fmt.Sprintf("%.0f days", seconds/86400)
}

// clock prints a time as a stopwatch shows it, to the second below an hour.
func (p say) clock(seconds float64) string {
	n := math.Round(seconds)
	if n >= secondsInHour || n < 60 {
		return p.time(seconds)
	}
	m, rest := math.Floor(n/60), math.Mod(n, 60)
	if rest == 0 {
		return fmt.Sprintf("%g min", m)
	}
	return fmt.Sprintf("%g min %g s", m, rest)
}

// pace prints a velocity.
func (p say) pace(ms float64) string {
	if p.us() {
		return fmt.Sprintf("%.1f ft/s", ms/footM)
	}
	return fmt.Sprintf("%.2f m/s", ms)
}

// paceLimit prints the limit of a velocity.
func (p say) paceLimit(ms float64) string {
	if p.us() {
		return fmt.Sprintf("%.2g ft/s", ms/footM)
	}
	return fmt.Sprintf("%.2g m/s", ms)
}

// metres prints a height of the building's, or a head.
func (p say) metres(m float64) string {
	if p.us() {
		return fmt.Sprintf("%.2f ft", m/footM)
	}
	return fmt.Sprintf("%.2f m", m)
}

// head prints a head to the metre or foot.
func (p say) head(m float64) string {
	if p.us() {
		return fmt.Sprintf("%.0f ft", m/footM)
	}
	return fmt.Sprintf("%.0f m", m)
}

// level prints a height over the floor of the building.
func (p say) level(m float64) string {
	if m < -0.005 {
		return p.metres(-m) + " below the floor"
	}
	return p.metres(math.Abs(m)) + " above the floor"
}

// levels prints two heights over the floor of the building, after "between".
func (p say) levels(lowM, highM float64) string {
	if (lowM < -0.005) == (highM < -0.005) {
		low, _, _ := strings.Cut(p.metres(math.Abs(lowM)), " ")
		return low + " and " + p.level(highM)
	}
	return p.metres(-lowM) + " below and " + p.metres(math.Abs(highM)) + " above the floor"
}

// mass prints a load.
func (p say) mass(kg float64) string {
	v, name := kg, "kg"
	if p.us() {
		v, name = kg/poundKg, "lb"
	}
	switch {
	case v >= 9950 && !p.us():
		return fmt.Sprintf("%.1f t", v/1000)
	case v >= 100:
		return fmt.Sprintf("%.0f %s", 10*math.Round(v/10), name)
	case v >= 10:
		return fmt.Sprintf("%.0f %s", v, name)
	}
	return fmt.Sprintf("%.1f %s", v, name)
}

// perArea prints a load by area.
func (p say) perArea(kgM2 float64) string {
	if p.us() {
		return fmt.Sprintf("%.0f lb/ft²", kgM2/poundKg*footM*footM)
	}
	return fmt.Sprintf("%.0f kg/m²", kgM2)
}

// rangeText is "15 to 19 L/min", or one value when both print alike.
func rangeText(lo, hi float64, text func(float64) string) string {
	low, high := text(lo), text(hi)
	if low == high {
		return low
	}
	if number, unit, ok := strings.Cut(low, " "); ok && strings.HasSuffix(high, " "+unit) {
		return number + " to " + high
	}
	return low + " to " + high
}
