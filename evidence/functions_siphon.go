package evidence

import (
	"context"
	"fmt"
	"math"

	"tidebed/science/pipe"
	"tidebed/science/siphon"
)

func init() {
	for name, f := range map[string]function{
		"siphon-full":    ofSiphon(func(k *siphon.Works, levelM float64) (float64, error) { return k.FullM3s(levelM) * 60000, nil }),
		"siphon-crest":   ofSiphon(func(k *siphon.Works, levelM float64) (float64, error) { return k.CrestM3s(levelM) * 60000, nil }),
		"siphon-rest":    ofSiphon(func(k *siphon.Works, flow float64) (float64, error) { return k.LevelM(flow / 60000), nil }),
		"siphon-equal":   ofSiphon(func(k *siphon.Works, flow float64) (float64, error) { return k.EqualM(flow / 60000), nil }),
		"siphon-per-fr":  ofSiphon(func(k *siphon.Works, froude float64) (float64, error) { return k.FlowAtFroudeM3s(froude) * 60000, nil }),
		"siphon-dry":     ofSiphon(func(k *siphon.Works, fromM float64) (float64, error) { return k.DrainS(fromM, k.Siphon().BreakM, 0) }),
		"riser-crest-us": riserCrestUS,
	} {
		functions[name] = f
	}
}

// ofSiphon asks a siphon of 22 °C about the number "at". Beside its bore,
// length and k (those of a second diameter as lower-…) it has crest, break and
// outlet in m, funnel as the diameter of a deep reducer on top, and stands in a
// bed of the free area "area".
func ofSiphon(formula func(k *siphon.Works, at float64) (float64, error)) function {
	return func(_ context.Context, _ *bench, in map[string]string) (float64, error) {
		v := map[string]float64{"bore": 0.02664, "length": 1, "k": 4.95, "lower-bore": 0, "lower-length": 0, "lower-k": 0, "crest": 0.22, "break": 0.03, "outlet": -0.40, "funnel": 0, "area": 0.545225, "at": math.NaN()}
		for key := range in {
			if _, known := v[key]; !known {
				return 0, fmt.Errorf("a siphon has no %q", key)
			}
		}
		for key, otherwise := range v {
			n, err := numberOf(in, key, otherwise)
			if err != nil {
				return 0, err
			}
			v[key] = n
		}
		s := siphon.Siphon{
			Pipe:           pipe.Pipe{DiameterM: v["bore"], LengthM: v["length"], RoughnessM: pipe.NewRoughnessM, K: v["k"]},
			CrestDiameterM: v["funnel"], CrestM: v["crest"], BreakM: v["break"], OutletM: v["outlet"],
		}
		if s.CrestDiameterM > 0 {
			s.ReducerM = 0.02
		}
		if v["lower-bore"] > 0 {
			s.Lower = pipe.Pipe{DiameterM: v["lower-bore"], LengthM: v["lower-length"], RoughnessM: pipe.NewRoughnessM, K: v["lower-k"]}
		}
		k, err := siphon.New(siphon.Bed{AreaM2: v["area"] / 0.45, Drainable: 0.45, RimM: v["crest"] + 0.05}, s, 22)
		if err != nil {
			return 0, err
		}
		return formula(k, v["at"])
	}
}

// riserCrestUS is the coefficient of the rim as US practice writes it: flow in
// ft³/s over the rim's length in ft and the head in ft to the power of 1.5.
func riserCrestUS(ctx context.Context, b *bench, in map[string]string) (float64, error) {
	return ofSiphon(func(k *siphon.Works, levelM float64) (float64, error) {
		s := k.Siphon()
		const ft = 0.3048
		head := (levelM - s.CrestM) / ft
		return k.CrestM3s(levelM) / (ft * ft * ft) / (math.Pi * s.Pipe.DiameterM / ft * math.Pow(head, 1.5)), nil
	})(ctx, b, in)
}
