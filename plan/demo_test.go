package plan_test

import (
	"context"
	"testing"
	"time"

	"tidebed/numeric/lp"
	"tidebed/plan"
	"tidebed/site"
)

var pool = lp.NewPool(2)

func demo(t testing.TB) *site.Site {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestDemo(t *testing.T) {
	s := demo(t)
	start := time.Now()
	p, err := plan.Make(context.Background(), s, s.Opening.Date, plan.Options{Pool: pool, Progress: func(x plan.Progress) {
		t.Logf("%6.2f %d/%d %s best %.3f gap %.4f", time.Since(start).Seconds(), x.Done, x.Of, x.Step, x.Best, x.Gap)
	}})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%.1f s: %s", time.Since(start).Seconds(), p.Sentence)
	for _, r := range p.Reasons {
		t.Log(r)
	}
	for _, l := range p.Levels {
		t.Logf("level %-10s %.4f give %.4f whole %.4f", l.Key, l.Value, l.Give, l.Whole)
	}
	for _, r := range p.Rounds {
		t.Logf("round %+v", r)
	}
	t.Log(p.Settled, p.Check.Said, p.Check.Fault, p.InForce)
	for _, x := range p.Sowings {
		t.Logf("%s %s %.2f m2 %v sow %s plant %s first %s pulled %s kg %.2f why %s young %v", x.Crop, x.Group, x.AreaM2, x.Parts, x.Sow, x.Plant, x.First, x.Pulled, x.Kg, x.Why, x.Young)
	}
	for _, o := range p.Occasions {
		t.Logf("%s worst %.3f mean %.3f fed %.3f late %.3f", o.Name, o.WorstShare, o.MeanShare, o.FedShare, o.LateShare)
		for _, x := range o.Sources {
			t.Logf("    %s %s %s %.2f kg %.1f %%", x.What, x.Where, x.Kind, x.Kg, 100*x.Share)
		}
	}
	start = time.Now()
	r, err := plan.Explain(context.Background(), s, s.Opening.Date, plan.Options{Pool: pool}, p)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("explained in %.1f s", time.Since(start).Seconds())
	for _, x := range r.Worths {
		t.Logf("worth %+v", x)
	}
	for _, x := range r.Rejected {
		t.Logf("rejected %+v", x)
	}
	for _, o := range p.Occasions {
		t.Log(o.Name, o.Binds)
	}
	for _, f := range p.Fish {
		t.Logf("%+v", f)
	}
	t.Log(p.Stockings, p.Feeds)
	for _, c := range p.Changes {
		t.Log(c)
	}
}
