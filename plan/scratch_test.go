package plan
import ("testing";"time";"fmt")
func TestScratch(t *testing.T) {
	s := wish(small(), "potato", "bean_dry", "kale")
	for _, all := range []bool{false,true} {
	start := time.Now()
	p := made(t, s, s.Opening.Date, Options{WishedOnly: !all})
	fmt.Println(time.Since(start), p.Sentence)
	for _, r := range p.Reasons { fmt.Println(r) }
	for _, x := range p.Sowings { fmt.Println(x.ID, x.AreaM2, x.Parts, x.Kg, x.First, x.Pulled, x.Why) }
	for _, r := range p.Rounds { fmt.Printf("%+v\n", r) }
	fmt.Println(p.Settled, p.Check, p.Gap)
	for _, o := range p.Occasions { fmt.Println(o.WorstShare, o.MeanShare, o.Sources, o.Binds) }
	for _, l := range p.Levels { fmt.Println(l) }
	fmt.Println(p.Groups, p.Rejected)
	fmt.Println(len(p.made.offered))
	for _, c := range p.made.offered { if !all { fmt.Println(c.crop.Key, c.group, c.planted, c.pulled, c.young, c.from, c.to, c.lots) } }
	}
}
