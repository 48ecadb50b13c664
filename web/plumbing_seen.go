package web

import (
	"errors"
	"math"
	"net/url"
	"slices"
	"strings"

	"tidebed/plumbing"
	"tidebed/quantity"
	"tidebed/words"
)

// seenForm is what was measured at a bed, as typed.
type seenForm struct {
	Fields []askedField
	Asked  bool
}

// seenKinds are the fields of the form, named as the values of plumbing.Seen.
var seenKinds = []struct {
	name, field, label string
	kind               quantity.Kind
}{
	{"fill", "fillS", "From the end of a drain to the start", quantity.Duration},
	{"drain", "drainS", "From the start to the break, pump running", quantity.Duration},
	{"bucket", "bucketM3", "Bucket under its inlet", quantity.Volume},
	{"bucket-time", "bucketS", "Filled in", quantity.Duration},
	{"rest", "restLevelM", "Level that stays, above the bed’s floor", quantity.Length},
}

var seenTicks = []struct{ name, field, label string }{
	{"trickles", "trickles", "it trickles and does not start"}, {"never-stops", "neverStops", "it never stops"}, {"gurgles", "gurgles", "it gurgles and sucks air"},
}

// seenForm is the form of fault finding; nothing is read yet.
func (s *server) seenForm(st *plumbing.Study, q url.Values) seenForm {
	f := seenForm{Asked: q.Has("seen")}
	bed := askedField{Name: "seen", Label: "Bed"}
	for i := range st.Scheme.Beds {
		if st.Scheme.CutOf(i) != nil {
			name := st.Loop.Beds[i].Name
			bed.Options = append(bed.Options, optionView{name, name, q.Get("seen") == name})
		}
	}
	if len(bed.Options) == 0 {
		return seenForm{}
	}
	f.Fields = append(f.Fields, bed)
	for _, k := range seenKinds {
		f.Fields = append(f.Fields, askedField{Name: k.name, Label: k.label, Hint: s.bareUnit(k.kind), Typed: strings.TrimSpace(q.Get(k.name))})
	}
	for _, k := range seenTicks {
		f.Fields = append(f.Fields, askedField{Name: k.name, Label: k.label, Tick: true, Ticked: q.Get(k.name) != ""})
	}
	return f
}

// diagnose reads the form and finds the cause; refused tells that something typed
// could not be.
func (s *server) diagnose(p *plumbingPage, st *plumbing.Study, q url.Values) (refused bool) {
	in := plumbing.Seen{Bed: strings.TrimSpace(q.Get("seen")), Trickles: q.Get("trickles") != "", NeverStops: q.Get("never-stops") != "", Gurgles: q.Get("gurgles") != ""}
	at := func(name string) *askedField {
		k := slices.IndexFunc(p.Seen.Fields, func(f askedField) bool { return f.Name == name })
		if k < 0 {
			return &askedField{}
		}
		return &p.Seen.Fields[k]
	}
	values := map[string]float64{}
	for _, k := range seenKinds {
		f := at(k.name)
		if f.Typed == "" {
			continue
		}
		v, err := s.typedAmount(f.Typed, k.kind)
		if err != nil {
			f.Problem, refused = err.Error()+".", true
			continue
		}
		values[k.field] = v
	}
	if refused {
		return true
	}
	in.FillS, in.DrainS, in.BucketM3, in.BucketS, in.RestLevelM = values["fillS"], values["drainS"], values["bucketM3"], values["bucketS"], values["restLevelM"]
	found, err := st.Scheme.Diagnose(in)
	var wrong *plumbing.InputError
	switch {
	case errors.As(err, &wrong):
		name := "seen"
		for _, k := range seenKinds {
			if k.field == wrong.Field {
				name = k.name
			}
		}
		at(name).Problem = words.Capital(strings.TrimSuffix(wrong.Sentence, ".")) + "."
		return true
	case err != nil:
		at("seen").Problem = words.Capital(err.Error()) + "."
		return true
	case found == nil:
		return false
	}
	p.Found = found
	add := func(name, text string) { p.FoundAll = append(p.FoundAll, startFact{name, text}) }
	if found.InflowM3s > 0 || found.ExpectedM3s > 0 {
		add("inflow", measured(s.flow(found.InflowM3s), found.InflowM3s > 0)+", expected "+s.flow(found.ExpectedM3s))
	}
	if found.ExpectedFillS > 0 {
		add("fill", measured(clockSpan(in.FillS), in.FillS > 0)+", expected "+clockSpan(found.ExpectedFillS))
	}
	if found.ExpectedDrainS > 0 {
		add("drain", measured(clockSpan(in.DrainS), in.DrainS > 0)+", expected "+clockSpan(found.ExpectedDrainS))
	}
	if found.DrainableShare > 0 {
		add("drainable pore space by these times", percent(found.DrainableShare))
	}
	if found.KTotal > 0 {
		add("losses of the siphon by these times, as a sum of loss factors", figure(math.Round(found.KTotal*10)/10))
	}
	return false
}

func measured(text string, is bool) string {
	if !is {
		return "not measured"
	}
	return "measured " + text
}
