package season

import (
	"fmt"
	"math"

	"tidebed/science/crop"
	"tidebed/science/fish"
	"tidebed/site"
)

// Shares of the loop's balance until the water's chemistry takes their place.
const (
	// solidsNDay is the share of the solids' nitrogen and phosphorus that is set
	// free each day. Common practice, no source: 0.05 to 0.15 for the quick 60 %,
	// 0.005 to 0.01 for the rest.
	solidsNDay = 0.03
	// denitrified is the share of the nitrogen nitrified that leaves as gas in a
	// media bed: 0.1 clean, 0.5 sludgy (common practice, no source); 30 to 50 %
	// of all input went missing in media beds of Zou et al. 2016.
	denitrified = 0.3
	// mediaWaterShare is the water a media bed holds of its volume, on average.
	// Common practice, no source.
	mediaWaterShare = 0.25
	// potassiumOfFeed is the potassium that dissolves of a gram of feed. Common
	// practice, no source.
	potassiumOfFeed = 0.006
)

// pool is one substance of a loop, in g: in the water, in solids, and its flows.
type pool struct {
	start, water, solids                  float64
	feed, kept, dead, taken, uptake, lost float64
	lack                                  float64 // wanted by plants and not there
	topUp                                 float64
}

// loop is one loop's water.
type loop struct {
	in         *site.Loop
	volumeM3   float64
	n, p, k    pool
	topUpNGm3  float64
	planted    float64 // m² today
	plantedSum float64
	transpired float64 // m³ today
	levelM3    float64
	toppedUp   float64
	feedG      float64
	proteinG   float64
	out        LoopCourse
	media      bool
	nitrified  float64 // g N today, from ammonia
	days       int
}

func newLoop(s *site.Site, in *site.Loop) loop {
	l := loop{in: in, volumeM3: in.SumpM3}
	for _, t := range in.Tanks {
		l.volumeM3 += t.VolumeM3
	}
	for _, b := range in.Beds {
		if b.Kind == "media" || b.Kind == "constant" {
			l.media = true
			l.volumeM3 += b.GrowingM2() * b.DepthM * mediaWaterShare
		}
		if b.Kind == "raft" {
			l.volumeM3 += b.GrowingM2() * b.DepthM
		}
	}
	for _, w := range s.Waters {
		if w.Name == in.Water {
			l.topUpNGm3 = w.NitrateNGm3
		}
	}
	for _, w := range s.Opening.Water {
		if w.Loop == in.Name {
			l.n.water = (w.TANGm3 + w.NitriteNGm3 + w.NitrateNGm3) * l.volumeM3
			l.p.water = w.PhosphateP * l.volumeM3
			l.k.water = w.PotassiumGm3 * l.volumeM3
		}
	}
	l.n.start, l.p.start, l.k.start, l.levelM3 = l.n.water, l.p.water, l.k.water, l.volumeM3
	l.out.Name, l.out.VolumeM3 = in.Name, l.volumeM3
	return l
}

// nGm3 is the nitrogen in the water.
func (l *loop) nGm3() float64 {
	if l.volumeM3 <= 0 {
		return 0
	}
	return l.n.water / l.volumeM3
}

func (l *loop) morning() { l.planted, l.transpired, l.nitrified = 0, 0, 0 }

// fed books a cohort's day.
func (l *loop) fed(d fish.CohortDay) {
	l.n.feed += d.FeedNG
	l.n.kept += d.KeptNG
	l.n.water += d.TANG
	l.nitrified += d.TANG
	l.n.solids += d.FaecalNG
	l.n.dead += d.DeadG * fish.NKeptPerGain
	l.p.feed += d.FeedPG
	l.p.kept += d.KeptPG
	l.p.water += d.DissolvedPG
	l.p.solids += d.SolidPG
	l.p.dead += d.DeadG * fish.PKeptPerGain
	l.k.feed += d.FeedG * potassiumOfFeed
	l.k.water += d.FeedG * potassiumOfFeed
}

// uptake takes from the water what plants want, and no more than there is.
func (l *loop) uptake(nG, pG, kG float64) (gotN, gotP, gotK float64) {
	got3 := [3]float64{}
	for i, x := range [...]struct {
		pool *pool
		want float64
	}{{&l.n, nG}, {&l.p, pG}, {&l.k, kG}} {
		got := math.Min(x.want, math.Max(0, x.pool.water))
		x.pool.water -= got
		x.pool.uptake += got
		x.pool.lack += x.want - got
		got3[i] = got
	}
	return got3[0], got3[1], got3[2]
}

// evening sets free from the solids, loses to the air, tops up, and keeps the week.
func (l *loop) evening(r *run, d int, date site.Date) {
	free := l.n.solids * solidsNDay
	l.n.solids -= free
	l.n.water += free
	if l.media {
		gas := math.Min(l.n.water, (free+l.nitrified)*denitrified)
		l.n.water -= gas
		l.n.lost += gas
	}
	free = l.p.solids * solidsNDay
	l.p.solids -= free
	l.p.water += free
	l.levelM3 -= l.transpired
	fill := l.volumeM3 - l.levelM3 // filled up to its mark each evening
	l.levelM3 += fill
	l.toppedUp += fill
	in := fill * l.topUpNGm3
	l.n.water += in
	l.n.topUp += in
	l.plantedSum += l.planted
	l.days++
	if d%7 == 0 && len(l.out.NitrateNGm3) < cap(l.out.NitrateNGm3) && l.volumeM3 > 0 {
		l.out.NitrateNGm3 = append(l.out.NitrateNGm3, LoopWeek{Day: date, NGm3: l.nGm3(), PGm3: l.p.water / l.volumeM3, KGm3: l.k.water / l.volumeM3})
	}
}

// muchNGm3 is a nitrate nitrogen at which fish of cool water are at the edge
// of what suits them. Common practice, no source.
const muchNGm3 = 150.0

// leafyFeed is the feed that a full bed of leafy crops takes up, g/m²/d: 112 g
// of lettuce a day with 2.5 g N/kg, by the protein of this run's feed.
func leafyFeed(proteinG, feedG float64) float64 {
	if feedG <= 0 {
		return 0
	}
	f, err := crop.FeedForPlants(112, 2.5, proteinG/feedG, crop.UsualNitrogenShare)
	if err != nil {
		return 0
	}
	return f
}

// account makes a ledger and its residual.
func account(start float64, in, out []Entry, end float64) Ledger {
	l := Ledger{Start: start, In: in, Out: out, End: end}
	l.Left = start - end
	for _, e := range in {
		l.Left += e.Amount
	}
	for _, e := range out {
		l.Left -= e.Amount
	}
	return l
}

// open reports whether a ledger is open by more than its throughput allows.
func (l Ledger) open() bool {
	through := math.Abs(l.Start) + math.Abs(l.End)
	for _, list := range [][]Entry{l.In, l.Out} {
		for _, e := range list {
			through += math.Abs(e.Amount)
		}
	}
	return !(math.Abs(l.Left) <= closing*math.Max(through, 1e-6))
}

// close makes a loop's ledgers. Those of the fish and plants are made of what
// the cohorts and plantings report, not of what the loop booked, so that the
// two must agree.
func (l *loop) close(r *run, index int) (LoopCourse, error) {
	o := l.out
	flesh, fleshEnd, gain, dead, taken := 0.0, 0.0, 0.0, 0.0, 0.0
	for i := range r.cohorts {
		c := &r.cohorts[i]
		if c.loop != index {
			continue
		}
		flesh += c.start
		fleshEnd += c.fish.Number * c.fish.WeightG / 1000
		gain += c.gain
		dead += c.dead
		taken += c.taken
	}
	// What the plantings report to have taken.
	var plantN, plantP, plantK, plantWater float64
	for i := range r.plants {
		if p := &r.plants[i]; r.beds[p.bed].loop == index {
			plantN += p.out.NUptakeG
			plantP += p.gotPG
			plantK += p.gotKG
			plantWater += p.waterM3
		}
	}
	o.FishKg = account(flesh, []Entry{{"growth", gain}}, []Entry{{"lost", dead}, {"taken", taken}}, fleshEnd)
	nKg, pKg := 1000*fish.NKeptPerGain, 1000*fish.PKeptPerGain
	o.Nitrogen = account(l.n.start+flesh*nKg,
		[]Entry{{"feed", l.n.feed}, {"top-up water", l.n.topUp}},
		[]Entry{{"plants", plantN}, {"gas", l.n.lost}, {"fish lost", dead * nKg}, {"fish taken", taken * nKg}},
		l.n.water+l.n.solids+fleshEnd*nKg)
	o.Phosphorus = account(l.p.start+flesh*pKg,
		[]Entry{{"feed", l.p.feed}},
		[]Entry{{"plants", plantP}, {"fish lost", dead * pKg}, {"fish taken", taken * pKg}},
		l.p.water+l.p.solids+fleshEnd*pKg)
	o.Potassium = account(l.k.start, []Entry{{"feed", l.k.feed}}, []Entry{{"plants", plantK}}, l.k.water)
	o.WaterM3 = account(l.volumeM3, []Entry{{"top-up", l.toppedUp}}, []Entry{{"given off by plants", plantWater}}, l.levelM3)
	var grown, harvest, residue, standing, before float64
	for i := range r.plants {
		p := &r.plants[i]
		if r.beds[p.bed].loop != index {
			continue
		}
		grown += p.out.grownG
		harvest += p.out.harvestG
		residue += p.out.residueG
		standing += p.out.standingG
		before += p.standing0
	}
	o.PlantKg = account(before/1000, []Entry{{"growth", grown / 1000}}, []Entry{{"harvest", harvest / 1000}, {"residue", residue / 1000}}, standing/1000)
	for _, x := range []struct {
		name string
		l    Ledger
	}{
		{"nitrogen", o.Nitrogen}, {"phosphorus", o.Phosphorus}, {"potassium", o.Potassium},
		{"water", o.WaterM3}, {"fish", o.FishKg}, {"plants", o.PlantKg},
	} {
		if x.l.open() {
			return o, fmt.Errorf("loop %s, %s: %g is left over: %w", o.Name, x.name, x.l.Left, ErrLedger)
		}
	}
	days := float64(max(1, l.days))
	o.PlantedM2 = l.plantedSum / days
	if l.plantedSum > 0 {
		o.FeedGM2Day = l.feedG / l.plantedSum
		// The feed's nitrogen that reaches the water, by what this run saw.
		if reach := l.n.feed - l.n.kept - l.n.solids - l.n.lost; l.n.feed > 0 && reach > 0 {
			o.StandstillGM2Day = o.FeedGM2Day * (l.n.uptake + l.n.lack - l.n.topUp) / reach
		}
	}
	o.LeafyGM2Day = leafyFeed(l.proteinG, l.feedG)
	for _, x := range []struct {
		name string
		pool pool
	}{{"phosphorus", l.p}, {"potassium", l.k}} {
		if want := x.pool.uptake + x.pool.lack; x.pool.lack > 0.05*want {
			r.out.Warnings = append(r.out.Warnings, fmt.Sprintf("loop %s: feed and opening leave plants %.0f %% short of %s; test the water and dose what is safe for fish (growth is not cut for it here)", o.Name, 100*x.pool.lack/want, x.name))
		}
	}
	if end := l.nGm3(); end > muchNGm3 {
		r.out.Warnings = append(r.out.Warnings, fmt.Sprintf("loop %s: nitrogen climbs to %.0f g/m³ by %s: more plants, less feed or changed water", o.Name, end, r.o.To))
	}
	if l.n.lack > 0.05*(l.n.uptake+l.n.lack) {
		r.out.Warnings = append(r.out.Warnings, fmt.Sprintf("loop %s: plants find %.0f %% too little nitrogen over the season: more feed or fewer plants", o.Name, 100*l.n.lack/(l.n.uptake+l.n.lack)))
	}
	return o, nil
}
