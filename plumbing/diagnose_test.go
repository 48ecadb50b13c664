package plumbing

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/site"
)

// bedOf is the second reference bed with a set inflow.
func bedOf(t testing.TB, lmin float64) *Scheme {
	l := oneBed(t)
	l.Pipes[0].SetM3s = lmin * lMin
	return drawn(t, l, 22)
}

func diagnosed(t testing.TB, s *Scheme, in Seen) *Diagnosis {
	t.Helper()
	in.Bed = "bed 1"
	d, err := s.Diagnose(in)
	if err != nil {
		t.Fatal(err)
	}
	texts := append([]string{d.Answer}, d.Cautions...)
	for i, c := range d.Causes {
		texts = append(texts, c.Why, c.Do)
		if c.Rank != i+1 || c.Cause == "" || c.Why == "" || c.Do == "" {
			t.Errorf("not whole: %+v", c)
		}
	}
	plain(t, texts...)
	return d
}

// bucket is 10 L at a flow.
func bucket(lmin float64) (m3, seconds float64) { return 0.010, 0.010 / (lmin * lMin) }

// Source: plumbing sheet 5.8, G2 at 11 L/min: fills in 618.3 s, drains in 195.0 s; from
// the crest without inflow 140.0 s.
func TestDiagnoseWell(t *testing.T) {
	s := bedOf(t, 11)
	in := Seen{FillS: 618.3, DrainS: 195.0}
	in.BucketM3, in.BucketS = bucket(11)
	d := diagnosed(t, s, in)
	if len(d.Causes) != 0 || !strings.Contains(d.Answer, "as expected") {
		t.Errorf("%+v", d)
	}
	about(t, "inflow", d.InflowM3s, 11*lMin, 1e-9)
	about(t, "expected inflow", d.ExpectedM3s, 11*lMin, 0.02*11*lMin)
	about(t, "fill", d.ExpectedFillS, 618.3, 0.1)
	about(t, "drain", d.ExpectedDrainS, 195.0, 0.1)
	about(t, "drainable", d.DrainableShare, 0.45, 0.001)
	// By the closed form C is 1.025732e-3 m^2.5/s: K = 2 g a² / C².
	a := math.Pi / 4 * 0.02664 * 0.02664
	about(t, "losses", d.KTotal, 2*9.80665*a*a/(1.025732e-3*1.025732e-3), 0.03)

	d = diagnosed(t, s, Seen{DrainS: 140.0, PumpOff: true})
	about(t, "drain, the pump off", d.ExpectedDrainS, 140.0, 0.1)
	about(t, "losses, the pump off", d.KTotal, d.ExpectedK, 0.05)
}

func TestDiagnose(t *testing.T) {
	for _, c := range []struct {
		name        string
		set, bucket float64
		in          Seen
		first, why  string
		do          string
	}{
		{"flow low", 20, 8, Seen{}, "strainer", "8.0 L/min came, 20 L/min were expected", "clean its strainer"},
		{"flow high", 11, 16, Seen{}, "Another branch", "16 L/min came", "fish tanks first"},
		// 400 of 618.3 s: (0.545225 × 0.647 - 0.0095) / 1.1905 = 0.288 of the media drain.
		{"fill short", 11, 11, Seen{FillS: 400}, "Roots and solids", "29 % of the media still drain, of 45 %", "Lift out old roots"},
		{"fill short, no bucket", 11, 0, Seen{FillS: 400}, "More water comes", "", "bucket"},
		{"drain long", 11, 11, Seen{FillS: 618, DrainS: 330}, "clogged", "were expected", "Pull the bell"},
		{"drain long, too much comes", 33, 33, Seen{DrainS: 1200}, "Too much water", "40 L/min", "valve to"},
		{"trickles for want", 4, 4, Seen{Trickles: true, RestLevelM: 0.226}, "Too little water", "8.9 L/min", "standpipe of"},
		{"trickles, doubtful", 7, 7, Seen{Trickles: true}, "Too little water", "8.9 L/min", "standpipe of"},
		{"trickles for air", 20, 20, Seen{Trickles: true}, "lets air in", "", "Press the bell"},
		{"stands high", 11, 11, Seen{RestLevelM: 0.25}, "clogged", "250 mm", "Pull the bell"},
		{"leaks", 11, 11, Seen{Trickles: true, RestLevelM: 0.18}, "below the crest", "180 mm", "Seal"},
		{"never stops", 42, 42, Seen{NeverStops: true}, "More water comes", "67 mm", "valve to"},
		{"never stops, near", 36, 36, Seen{NeverStops: true}, "near what the siphon", "36 L/min", "valve to"},
		{"never stops for want of air", 11, 11, Seen{NeverStops: true}, "No air gets in", "30 mm", "Lift the bell"},
		{"never stops, clogged", 11, 11, Seen{NeverStops: true, RestLevelM: 0.15}, "pipe is clogged", "150 mm", "rod the standpipe"},
		{"gurgles", 11, 11, Seen{Gurgles: true}, "lets air in", "", "Seal"},
	} {
		in := c.in
		if c.bucket > 0 {
			in.BucketM3, in.BucketS = bucket(c.bucket)
		}
		l := oneBed(t)
		l.Pipes[0].SetM3s = c.set * lMin
		if c.set > 18 { // a stronger pump
			l.Pipes[0].DiameterM = 0.0409
			l.Pumps[0].Points = []string{"0 L/min:6.0 m", "60 L/min:4.0 m", "110 L/min:1.0 m"}
		}
		d := diagnosed(t, drawn(t, l, 22), in)
		if len(d.Causes) == 0 {
			t.Errorf("%s: no cause", c.name)
			continue
		}
		got := d.Causes[0]
		if !strings.Contains(got.Cause, c.first) || !strings.Contains(got.Why, c.why) || !strings.Contains(got.Do, c.do) {
			t.Errorf("%s: %+v", c.name, got)
		}
		if !strings.Contains(d.Answer, got.Do) || len(d.Cautions) == 0 {
			t.Errorf("%s: answer %q, cautions %v", c.name, d.Answer, d.Cautions)
		}
	}
}

// Sheet S9: a weep hole of 8 mm, 0.54 m² of open water, 0.22 to 0.02 m: 2563.6 s.
func TestDiagnoseWeepHole(t *testing.T) {
	l := oneBed(t)
	l.Beds[0].Siphon = nil
	l.Beds[0].Porosity = 0.45
	l.Beds[0].Standpipe = &site.Standpipe{BoreM: 0.03, CrestM: 0.22, WeepM: 0.008, WeepAt: 0}
	s := drawn(t, l, 22)
	if s.Beds[0].Way != Timer {
		t.Fatal(s.Beds[0].Way)
	}
	d := diagnosed(t, s, Seen{DrainS: 8000})
	if len(d.Causes) == 0 || !strings.Contains(d.Causes[0].Cause, "weep hole is clogged") {
		t.Fatalf("%+v", d)
	}
	want := 2 * 0.54 / (0.62 * math.Pi / 4 * 0.008 * 0.008 * math.Sqrt(2*9.80665)) * math.Sqrt(0.22)
	about(t, "drain", d.ExpectedDrainS, want, 1)
}

func TestDiagnoseRefuses(t *testing.T) {
	s := bedOf(t, 11)
	for _, c := range []struct {
		field string
		in    Seen
	}{
		{"bed", Seen{Bed: "bed 9", FillS: 100}}, {"", Seen{Bed: "bed 1"}}, {"fillS", Seen{Bed: "bed 1", FillS: -5}}, {"fillS", Seen{Bed: "bed 1", FillS: math.NaN()}},
		{"drainS", Seen{Bed: "bed 1", DrainS: math.Inf(1)}}, {"bucketS", Seen{Bed: "bed 1", BucketM3: 0.01}}, {"bucketM3", Seen{Bed: "bed 1", BucketS: 10}},
		{"bucketM3", Seen{Bed: "bed 1", BucketM3: 5, BucketS: 10}}, {"restLevelM", Seen{Bed: "bed 1", RestLevelM: 2}},
	} {
		d, err := s.Diagnose(c.in)
		var bad *InputError
		if d != nil || !errors.As(err, &bad) || bad.Field != c.field || bad.Sentence == "" {
			t.Errorf("%+v: %+v, %v", c.in, d, err)
		}
	}
	demo := sample(t)
	for i := range demo.Loops {
		o, err := Draw(&demo.Loops[i], Settings{TempC: 15})
		if err != nil {
			t.Fatal(err)
		}
		for k := range o.Beds {
			if b := &o.Beds[k]; b.Way == Floating || b.Way == Filming {
				var bad *InputError
				if _, err := o.Diagnose(Seen{Bed: b.In.Name, Trickles: true}); !errors.As(err, &bad) || bad.Field != "bed" {
					t.Errorf("%s: %v", b.In.Name, err)
				}
				if _, err := o.Diagnose(Seen{Bed: b.In.Name, BucketM3: 0.01, BucketS: 90}); err != nil {
					t.Errorf("%s: %v", b.In.Name, err)
				}
			}
		}
	}
}

// Whatever bed, pipes and measurements: an answer in whole sentences, or an
// *InputError; and findings without a gap.
func TestAnyBedAnyMeasurement(t *testing.T) {
	drawnUp := 0
	rapid.Check(t, func(r *rapid.T) {
		l := oneBed(t)
		b := &l.Beds[0]
		num := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(r, name) }
		b.AreaM2, b.Porosity = num("area", 0.1, 20), num("porosity", 0.05, 0.9)
		b.Siphon.StandpipeM = num("bore", 0.008, 0.08)
		b.Siphon.CrestM = num("crest", 0.08, 0.26)
		b.Siphon.BreakM = num("break", 0, 0.07)
		b.Siphon.OutletM = num("outlet", -1.5, -0.01)
		b.Siphon.PipeLengthM = num("pipe", 0.2, 3)
		b.Siphon.GapM, b.Siphon.SlotsM2, b.Siphon.BellM = num("gap", 0.001, 0.05), num("slots", 1e-4, 0.01), num("bell", 0.08, 0.2)
		l.Pipes[0].DiameterM, l.Pipes[0].EndsAtM = num("supply", 0.008, 0.06), at(num("end", 0.7, 3.4))
		if rapid.Bool().Draw(r, "standpipe") {
			b.Siphon = nil
			b.Standpipe = &site.Standpipe{BoreM: num("stand", 0.01, 0.06), CrestM: 0.2, WeepM: num("weep", 0.001, 0.01), WeepAt: num("weep at", 0, 0.1)}
		}
		s, err := Draw(l, Settings{TempC: num("temperature", 0, 45), New: rapid.Bool().Draw(r, "new")})
		if err != nil {
			r.Skip(err)
		}
		drawnUp++
		for _, f := range s.Findings(nil, nil) {
			plain(t, f.Sentence, f.Remedy, f.Caution)
			if f.Field == "" || f.About == "" || f.Sentence == "" {
				r.Errorf("not whole: %+v", f)
			}
		}
		some := func(name string, lo, hi float64) float64 {
			if rapid.Bool().Draw(r, name+" measured") {
				return num(name, lo, hi)
			}
			return 0
		}
		in := Seen{Bed: "bed 1", FillS: some("fill", 1, 80000), DrainS: some("drain", 1, 80000), BucketM3: some("bucket", 0.0002, 0.05), BucketS: some("bucket time", 0.5, 3000), RestLevelM: some("rest", 0.001, 0.27),
			PumpOff: rapid.Bool().Draw(r, "off"), Trickles: rapid.Bool().Draw(r, "trickles"), NeverStops: rapid.Bool().Draw(r, "never stops"), Gurgles: rapid.Bool().Draw(r, "gurgles")}
		d, err := s.Diagnose(in)
		if err != nil {
			var bad *InputError
			if !errors.As(err, &bad) {
				r.Errorf("%v", err)
			}
			return
		}
		plain(t, d.Answer)
		for _, c := range d.Causes {
			plain(t, c.Why, c.Do)
		}
		for _, v := range []float64{d.InflowM3s, d.DrainableShare, d.KTotal, d.ExpectedM3s, d.ExpectedFillS, d.ExpectedDrainS, d.ExpectedK, d.ExpectedShare, d.StartM3s, d.BreakM3s} {
			if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
				r.Errorf("no number in %+v", d)
			}
		}
	})
	if drawnUp < 50 {
		t.Errorf("only %d loops could be drawn", drawnUp)
	}
}
