package plumbing

import (
	"math"

	"tidebed/quantity"
)

// say prints quantities for sentences, in the reader's units.
type say struct{ system quantity.System }

// say is how this scheme's sentences print quantities.
func (s *Scheme) say() say { return say{s.Settings.Units} }

func (p say) flow(m3s float64) string { return quantity.Format(m3s, quantity.Flow, p.system) }

func (p say) volume(m3 float64) string { return quantity.Format(m3, quantity.Volume, p.system) }

// length prints a length of some decimetres and more.
func (p say) length(m float64) string { return quantity.Format(m, quantity.Length, p.system) }

// time prints a time to the second.
func (p say) time(seconds float64) string {
	return quantity.Format(math.Round(seconds), quantity.Duration, p.system)
}

// height prints a height above or below the floor of the building.
func (p say) height(m float64) string {
	switch {
	case math.Abs(m) < 0.0005:
		return "at the floor"
	case m < 0:
		return p.length(-m) + " below the floor"
	}
	return p.length(m) + " above the floor"
}
