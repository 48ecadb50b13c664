package water

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tidebed/quantity"
)

func anyWater(t *rapid.T) (Equilibria, Solutes) {
	e, err := NewEquilibria(rapid.Float64Range(0, 45).Draw(t, "temp"), rapid.Float64Range(0, 0.5).Draw(t, "ionic"))
	if err != nil {
		t.Fatal(err)
	}
	return e, Solutes{
		AlkEqM3: rapid.Float64Range(-5, 50).Draw(t, "alkalinity"), DICMolM3: rapid.Float64Range(0, 60).Draw(t, "carbon"),
		TANMolM3: rapid.Float64Range(0, 20).Draw(t, "ammonia"), PMolM3: rapid.Float64Range(0, 20).Draw(t, "phosphate"),
	}
}

// charge is the net charge of all ions of a water at a pH with the ions that
// take no part (strong ions), which by definition of alkalinity carry
// alkalinity less ammonium plus phosphate.
func charge(e *Equilibria, s Solutes, ph float64) (net, size float64) {
	h := math.Pow(10, -ph)
	hydrogen, hydroxide := 1e3*h/e.Gamma1, 1e3*e.Kw/h/e.Gamma1
	d := h*h + e.K1*h + e.K1*e.K2
	bicarbonate, carbonate := s.DICMolM3*e.K1*h/d, s.DICMolM3*e.K1*e.K2/d
	ammonium := s.TANMolM3 * h / (h + e.Ka)
	p := h*h*h + e.Kp1*h*h + e.Kp1*e.Kp2*h + e.Kp1*e.Kp2*e.Kp3
	p1, p2, p3 := s.PMolM3*e.Kp1*h*h/p, s.PMolM3*e.Kp1*e.Kp2*h/p, s.PMolM3*e.Kp1*e.Kp2*e.Kp3/p
	strong := s.AlkEqM3 - s.TANMolM3 + s.PMolM3
	net = strong + hydrogen + ammonium - hydroxide - bicarbonate - 2*carbonate - p1 - 2*p2 - 3*p3
	return net, math.Abs(strong) + hydrogen + hydroxide + bicarbonate + 2*carbonate + ammonium + p1 + 2*p2 + 3*p3
}

// Whatever the guess, the pH found leaves no net charge, gives the alkalinity
// back, and the pH gives the carbon back.
func TestPHThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, s := anyWater(t)
		ph, err := e.PH(s, rapid.Float64Range(-1, 15).Draw(t, "guess"))
		if err != nil {
			t.Fatal(err)
		}
		if net, size := charge(&e, s, ph); math.Abs(net) > 1e-8*(size+1e-3) {
			t.Fatalf("pH %g leaves a charge of %g of %g", ph, net, size)
		}
		again, err := e.PH(s, 7)
		if err != nil || math.Abs(again-ph) > 1e-9 {
			t.Fatalf("pH %.14g, from another guess %.14g, %v", ph, again, err)
		}
		if alk := e.Alkalinity(ph, s); math.Abs(alk-s.AlkEqM3) > 1e-7*(1+math.Abs(s.AlkEqM3)+s.DICMolM3) {
			t.Fatalf("alkalinity %g, want %g", alk, s.AlkEqM3)
		}
		if s.DICMolM3 > 0.01 && ph > 4.5 {
			dic, err := e.DIC(ph, s)
			if err != nil || math.Abs(dic-s.DICMolM3) > 1e-4*(1+s.DICMolM3) {
				t.Fatalf("pH %g: carbon %g, want %g, %v", ph, dic, s.DICMolM3, err)
			}
		}
	})
}

// pH rises with alkalinity and falls with carbon; with the CO2 of the closed
// water held the pH is the same.
func TestPHMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, s := anyWater(t)
		ph, err := e.PH(s, 7)
		if err != nil {
			t.Fatal(err)
		}
		base, acid := s, s
		base.AlkEqM3 = min(50, s.AlkEqM3+rapid.Float64Range(1e-3, 5).Draw(t, "more alkalinity"))
		acid.DICMolM3 += rapid.Float64Range(1e-3, 5).Draw(t, "more carbon")
		up, err := e.PH(base, ph)
		if err != nil || up < ph-1e-10 {
			t.Fatalf("more alkalinity: from %.12g to %.12g, %v", ph, up, err)
		}
		down, err := e.PH(acid, ph)
		if err != nil || down > ph+1e-10 {
			t.Fatalf("more carbon: from %.12g to %.12g, %v", ph, down, err)
		}
		if ph < 11 {
			open, err := e.PHAtCO2(s, e.CO2(ph, s.DICMolM3), 7)
			if err != nil || math.Abs(open-ph) > 1e-7 {
				t.Fatalf("held CO2: %.12g, closed %.12g, %v", open, ph, err)
			}
		}
	})
}

// CO2 that comes or goes leaves alkalinity alone; ammonia from excretion over
// nitrite to nitrate that plants take nets to nothing.
func TestAlkalinityInvariants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mol := rapid.Float64Range(-100, 100).Draw(t, "mol")
		sum := 0.0
		for _, e := range []Event{CO2Respired, AmmoniaExcreted, Nitritation, NitrateTaken} {
			alk, _, err := e.Change(mol)
			if err != nil {
				t.Fatal(err)
			}
			sum += alk
		}
		if sum != 0 {
			t.Fatalf("the round of nitrogen leaves %g eq", sum)
		}
		// By the ions: a mole from ammonium to nitrate takes two equivalents.
		before, err := Ions{CaGm3: 80, TANGm3: 14.007}.AlkEqM3()
		after, err2 := Ions{CaGm3: 80, NO3NGm3: 14.007}.AlkEqM3()
		alk, _, err3 := Nitritation.Change(1)
		if err := errors.Join(err, err2, err3); err != nil {
			t.Fatal(err)
		}
		if math.Abs(after-before-alk) > 1e-12 {
			t.Fatalf("ions say %g, the event %g", after-before, alk)
		}
	})
	if _, _, err := Event("magic").Change(1); err == nil {
		t.Error("an unknown event is accepted")
	}
}

// The closed dose brings the pH where it was meant to go, the open one too.
func TestDoseArrives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Bath{
			VolumeM3: rapid.Float64Range(0.1, 50).Draw(t, "volume"), TempC: rapid.Float64Range(2, 35).Draw(t, "temp"), PH: rapid.Float64Range(5.5, 8.5).Draw(t, "ph"),
			AlkEqM3: rapid.Float64Range(0.5, 5).Draw(t, "alkalinity"), TANGm3: rapid.Float64Range(0, 1).Draw(t, "tan"), PhosphateGm3: rapid.Float64Range(0, 5).Draw(t, "phosphate"),
			IonicMolL: rapid.Float64Range(0, 0.03).Draw(t, "ionic"),
		}
		c := rapid.SampledFrom(chemicals).Draw(t, "chemical")
		target := b.PH + math.Copysign(rapid.Float64Range(0.01, 1).Draw(t, "step"), c.AlkEqMol)
		d, err := b.For(c, target, 1)
		switch {
		case errors.Is(err, ErrTooFar), errors.Is(err, ErrImpossible), errors.Is(err, quantity.ErrRange):
			return
		case err != nil:
			t.Fatal(err)
		}
		st, err := b.state()
		if err != nil {
			t.Fatal(err)
		}
		molOf := func(g float64) float64 { return g / c.GMol / b.VolumeM3 }
		if d.ClosedOK {
			if s := st.add(&c, molOf(d.ClosedG)); s.AlkEqM3 < 50 && s.DICMolM3 < 200 {
				if ph, err := st.eq.PH(s, 7); err != nil || math.Abs(ph-target) > 1e-6 {
					t.Fatalf("%s closed: pH %g, want %g, %v", c.Formula, ph, target, err)
				}
			}
		}
		if ph, err := st.eq.PHAtCO2(st.add(&c, molOf(d.OpenG)), st.co2, 7); err != nil || math.Abs(ph-target) > 1e-6 {
			t.Fatalf("%s open: pH %g, want %g, %v", c.Formula, ph, target, err)
		}
		if d.OpenG < 0 {
			t.Fatalf("%s: %g g", c.Formula, d.OpenG)
		}
	})
}

// Any input is refused as out of range or gives something finite.
func TestFiniteOrRefused(t *testing.T) {
	odd := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -0.5, 1e-300, 1, 7, 20, 101.325}))
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, d, f, g := odd.Draw(t, "a"), odd.Draw(t, "b"), odd.Draw(t, "c"), odd.Draw(t, "d"), odd.Draw(t, "e"), odd.Draw(t, "f")
		e, _ := NewEquilibria(20, 0.005)
		hold := func(name string, err error, values ...float64) {
			if err != nil {
				if !errors.Is(err, quantity.ErrRange) && !errors.Is(err, ErrImpossible) && !errors.Is(err, ErrTooFar) && !errors.Is(err, ErrWrongWay) {
					t.Fatalf("%s: %v is no refusal", name, err)
				}
				return
			}
			for _, v := range values {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s gives %g", name, v)
				}
			}
		}
		one := func(name string) func(float64, error) { return func(v float64, err error) { hold(name, err, v) } }
		one("fraction")(UnionisedFraction(a, b))
		one("free ammonia")(FreeAmmoniaGm3(a, b, c))
		one("nitrous")(FreeNitrousAcidGm3(a, b, c))
		one("oxygen")(OxygenSaturation(a, b, c))
		one("oxygen at")(OxygenSaturationAt(a, b))
		one("pH")(e.PH(Solutes{a, b, c, d}, f))
		one("pH open")(e.PHAtCO2(Solutes{a, b, c, d}, f, g))
		one("carbon")(e.DIC(f, Solutes{a, b, c, d}))
		one("calcite")(e.CalciteIndex(f, Solutes{AlkEqM3: a}, b))
		one("weir")(WeirRatio(a, b, c, d))
		one("nakasone")(NakasoneRatio(a, b, c, d))
		one("aerator")(OxygenTransferShare(a, b, c, d, f))
		one("salts")(SaltBuildUp(a, b, c, d, f, g))
		one("stripped")(CO2Stripped(a, b, c))
		hours, _, err := OxygenHours(a, b, c, d, f)
		hold("hours", err, hours)
		after, share, err := AfterFall(a, b, c)
		hold("fall", err, after, share)
		dose, err := Bath{VolumeM3: a, TempC: b, PH: c, AlkEqM3: d}.For(rapid.SampledFrom(chemicals).Draw(t, "chemical"), f, 1)
		hold("dose", err, dose.ClosedG, dose.OpenG, dose.PHAtOnce)
	})
}

func BenchmarkPHWarm(b *testing.B) {
	e := must(NewEquilibria(22, 0.008))
	s := Solutes{AlkEqM3: 1, DICMolM3: 1.3, TANMolM3: 0.1, PMolM3: 0.2}
	ph := must(e.PH(s, 7))
	i := 0
	for b.Loop() {
		s.AlkEqM3 = 1 + 0.001*float64(i&15)
		i++
		ph, _ = e.PH(s, ph)
	}
	if !(ph > 6 && ph < 8) {
		b.Fatal(ph)
	}
}

func BenchmarkPHCold(b *testing.B) {
	e := must(NewEquilibria(22, 0.008))
	s := Solutes{AlkEqM3: 1, DICMolM3: 1.3, TANMolM3: 0.1, PMolM3: 0.2}
	for b.Loop() {
		if _, err := e.PH(s, math.NaN()); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkEquilibria(b *testing.B) {
	for b.Loop() {
		if _, err := NewEquilibria(22, 0.008); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNitrifierRate(b *testing.B) {
	n := AmmoniaOxidisers()
	w := Habitat{TempC: 22, PHFactor: 1, SubstrateGm3: 0.5, DOGm3: 6, AlkEqM3: 1}
	sum := 0.0
	for b.Loop() {
		sum += n.Rate(1, w).NGDay
	}
	if !(sum > 0) {
		b.Fatal(sum)
	}
}

// The search ends from any start: Newton's steps alone went to and fro between
// the two ends of the bracket for the first waters here, forever.
func TestPHFromAnyStart(t *testing.T) {
	for _, c := range []struct{ tempC, ionic, alk, dic, guess float64 }{
		{22.533366275820494, 0.01, 0.18973928664561188, 0.5902921490394566, 3.287067066141255},
		{29.018485147567496, 0.27415865796180466, 44.21700859323999, 37.242449101201544, 6.925223090374596},
		{37.796408605083556, 0.01, 0.32253175228436254, 1.323352494549024, 0.3796250789208474},
	} {
		e, err := NewEquilibria(c.tempC, c.ionic)
		if err != nil {
			t.Fatal(err)
		}
		s := Solutes{AlkEqM3: c.alk, DICMolM3: c.dic}
		want, err := e.PH(s, math.NaN())
		if err != nil {
			t.Fatal(err)
		}
		done := make(chan float64, 1)
		go func() {
			ph, _ := e.PH(s, c.guess)
			done <- ph
		}()
		select {
		case ph := <-done:
			if math.Abs(ph-want) > 1e-9 {
				t.Errorf("%+v: pH %g, from 7 %g", c, ph, want)
			}
		case <-time.After(30 * time.Second):
			t.Fatalf("%+v: the search does not end", c)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		e, s := anyWater(t)
		want, err := e.PH(s, 7)
		if err != nil {
			t.Fatal(err)
		}
		if ph, err := e.PH(s, rapid.Float64Range(-1, 15).Draw(t, "guess")); err != nil || math.Abs(ph-want) > 1e-9 {
			t.Fatalf("pH %.12g, from 7 %.12g, %v", ph, want, err)
		}
		got := Settled{PH: want}
		e.Settle(&s, &got)
		if math.Abs(got.PH-want) > 1e-8 {
			t.Fatalf("settled at %.12g, want %.12g", got.PH, want)
		}
	})
}

// Water that is no water, or lies beyond what PH takes, ends the search of an
// integrator too.
func TestSettleOfNothing(t *testing.T) {
	for _, c := range []struct{ tempC, ionic, alk, dic, tan, ph float64 }{
		{20, 0.01, math.NaN(), 1, 0, 7}, {20, 0.01, math.Inf(1), 1, 0, 7}, {20, 0.01, math.Inf(-1), 1, 0, 7},
		{39.514324488413422, 2.7079475435459069e-06, 2807.2922913093876, 2.4523954962616495e-06, 0.46738570832268006, 6.9},
	} {
		e, err := NewEquilibria(c.tempC, c.ionic)
		if err != nil {
			t.Fatal(err)
		}
		got := Settled{h: math.Pow(10, -c.ph), PH: c.ph}
		e.Settle(&Solutes{AlkEqM3: c.alk, DICMolM3: c.dic, TANMolM3: c.tan}, &got)
		if got.PH > 0.1 && got.PH < 13.9 {
			t.Errorf("alkalinity %g: pH %g", c.alk, got.PH)
		}
	}
}
