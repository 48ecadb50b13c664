package fish

import (
	"fmt"
	"math"

	"tidebed/quantity"
)

// StudentT returns the quantile of Student's t distribution with df degrees of
// freedom (0.5 to 1e9) below which a share p (above 0, below 1) lies.
//
// Errors wrap quantity.ErrRange.
//
// Source: the incomplete beta function, by its continued fraction.
// Check: p 0.975, 9 degrees of freedom 2.262.
func StudentT(p, df float64) (t float64, err error) {
	err = quantity.InRange("share", p, 1e-12, 1-1e-12, "")
	if err == nil {
		err = quantity.InRange("degrees of freedom", df, 0.5, 1e9, "")
	}
	if err != nil {
		return 0, fmt.Errorf("student's t: %w", err)
	}
	if p == 0.5 {
		return 0, nil
	}
	if p < 0.5 {
		t, err = StudentT(1-p, df)
		return -t, err
	}
	// Twice the upper tail at t is I(x; df/2, 1/2) with x = df/(df+t²). In
	// y = t/(1+t) the search is over a bounded span.
	tail := 2 * (1 - p)
	lo, hi := 0.0, 1.0
	for range 200 {
		y := (lo + hi) / 2
		t = y / (1 - y)
		if tailBoth(t, df) > tail {
			lo = y
		} else {
			hi = y
		}
	}
	return t, nil
}

// tailBoth is the chance of lying beyond -t or t.
func tailBoth(t, df float64) float64 {
	tt := t * t
	return incompleteBeta(df/2, 0.5, df/(df+tt), tt/(df+tt))
}

// incompleteBeta is the regularised incomplete beta function I(x; a, b) with
// y = 1-x given apart, so that an x near 1 loses no digits.
func incompleteBeta(a, b, x, y float64) float64 {
	switch {
	case !(x > 0):
		return 0
	case !(y > 0):
		return 1
	}
	lab, _ := math.Lgamma(a + b)
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	logX, logY := math.Log(x), math.Log(y)
	if x > 0.5 {
		logX = math.Log1p(-y)
	} else {
		logY = math.Log1p(-x)
	}
	front := math.Exp(lab - la - lb + a*logX + b*logY)
	if x < (a+1)/(a+b+2) {
		return front * betaFraction(a, b, x) / a
	}
	return 1 - front*betaFraction(b, a, y)/b
}

// betaFraction is the continued fraction of the incomplete beta function.
func betaFraction(a, b, x float64) float64 {
	const tiny = 1e-300
	guard := func(v float64) float64 {
		if math.Abs(v) < tiny {
			return tiny
		}
		return v
	}
	c, d := 1.0, 1/guard(1-(a+b)*x/(a+1))
	f := d
	for i := 1; i <= 10000; i++ {
		m := float64(i)
		even := m * (b - m) * x / ((a + 2*m - 1) * (a + 2*m))
		d = 1 / guard(1+even*d)
		c = guard(1 + even/c)
		f *= c * d
		odd := -(a + m) * (a + b + m) * x / ((a + 2*m) * (a + 2*m + 1))
		d = 1 / guard(1+odd*d)
		c = guard(1 + odd/c)
		step := c * d
		f *= step
		if math.Abs(step-1) < 1e-15 {
			break
		}
	}
	return f
}

// Sample is what weighed fish say of a tank.
type Sample struct {
	N             int     // fish or buckets weighed
	MeanG         float64 // of one fish
	SDG           float64 // between fish, n-1
	CV            float64 // SDG over MeanG; grade above 0.40
	StandardError float64 // g, of the mean, smaller when much of the tank was weighed
	LowG, HighG   float64 // 95 percent of the mean
	BiomassKg     float64
	BiomassSEKg   float64
}

// WeighSample returns mean, error and biomass from the live weights in g of
// single fish out of a tank of count (which may itself be known to countSE fish
// only, 0 for a sure count). Net from a crowd: those that come to feed are the
// large ones. Below 10 fish it is a rough figure.
//
// Errors wrap quantity.ErrRange: fewer than 2 weights, more weights than fish,
// a weight outside 0.001 to 20 000 g, a count that is not whole.
//
// Check: ten fish of 176 to 260 g out of 120: mean 211.0 g, sd 25.93, standard
// error 7.85, biomass 25.3 ± 0.94 kg.
func WeighSample(weightsG []float64, count, countSE float64) (sample Sample, err error) {
	n := float64(len(weightsG))
	err = quantity.InRange("fish weighed", n, 2, 1e6, "")
	if err == nil {
		err = quantity.InRange("fish in the tank", count, n, 1e9, "")
	}
	if err == nil && count != math.Trunc(count) {
		err = fmt.Errorf("%g fish in the tank: fish are counted whole: %w", count, quantity.ErrRange)
	}
	if err == nil {
		err = quantity.InRange("error of the count", countSE, 0, count, "")
	}
	sum := 0.0
	for _, w := range weightsG {
		if err == nil {
			err = quantity.InRange("live weight", w, 0.001, 20000, "g")
		}
		sum += w
	}
	if err != nil {
		return Sample{}, fmt.Errorf("sample weighing: %w", err)
	}
	mean, squares := sum/n, 0.0
	for _, w := range weightsG {
		squares += (w - mean) * (w - mean)
	}
	sd := math.Sqrt(squares / (n - 1))
	se := sd / math.Sqrt(n) * math.Sqrt(1-n/count)
	t, err := StudentT(0.975, n-1)
	if err != nil {
		return Sample{}, fmt.Errorf("sample weighing: %w", err)
	}
	return Sample{
		N: len(weightsG), MeanG: mean, SDG: sd, CV: sd / mean, StandardError: se, LowG: mean - t*se, HighG: mean + t*se,
		BiomassKg: count * mean / 1000, BiomassSEKg: math.Hypot(count*se, mean*countSE) / 1000,
	}, nil
}

// Bucket is fish weighed together.
type Bucket struct {
	Fish  int
	MassG float64 // of all of them
}

// BucketMeanG returns the mean weight in g of fish weighed in buckets: all mass
// over all fish.
//
// Errors wrap quantity.ErrRange: no bucket, a bucket without fish, a mean
// outside 0.001 to 20 000 g.
func BucketMeanG(buckets []Bucket) (meanG float64, err error) {
	fish, mass := 0.0, 0.0
	for _, b := range buckets {
		if err := quantity.InRange("fish in a bucket", float64(b.Fish), 1, 1e6, ""); err != nil {
			return 0, fmt.Errorf("bucket weighing: %w", err)
		}
		if err := quantity.InRange("mean of a bucket", b.MassG/float64(b.Fish), 0.001, 20000, "g"); err != nil {
			return 0, fmt.Errorf("bucket weighing: %w", err)
		}
		fish, mass = fish+float64(b.Fish), mass+b.MassG
	}
	if fish == 0 {
		return 0, fmt.Errorf("bucket weighing: no bucket: give at least one: %w", quantity.ErrRange)
	}
	return mass / fish, nil
}

// SampleSize returns the smallest number of fish to weigh so that the mean is
// known to a share errorShare (95 percent), with a coefficient of variation cv
// (0.01 to 2) in a tank of count fish (at least 2; math.Inf(1) for very many).
// For a very small tank it is all fish.
//
// Errors wrap quantity.ErrRange.
//
// Check: cv 0.20, 10 percent: 18 of very many, 16 of 100.
func SampleSize(cv, errorShare, count float64) (n int, err error) {
	err = quantity.InRange("coefficient of variation", cv, 0.01, 2, "")
	if err == nil {
		err = quantity.InRange("error", errorShare, 0.005, 1, "")
	}
	if err == nil {
		err = quantity.InRange("fish in the tank", count, 2, math.Inf(1), "")
	}
	if err != nil {
		return 0, fmt.Errorf("sample size: %w", err)
	}
	enough := func(n float64) bool {
		t, err := StudentT(0.975, n-1)
		return err == nil && t*cv/math.Sqrt(n)*math.Sqrt(max(0, 1-n/count)) <= errorShare
	}
	low, high := 1.0, 2.0 // enough(high), not enough(low)
	for !enough(high) {
		low, high = high, 2*high
		if high >= count {
			high = math.Floor(count)
			break
		}
	}
	for high-low > 1 {
		if mid := math.Floor((low + high) / 2); enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return int(high), nil
}

// WeightFromLengthG returns the live weight in g of a fish of a total length in
// mm, good to 8 to 12 percent from 100 mm on. For bluegill, bass, channel
// catfish, trout, the perches and carp it is that of a plump fish: usual ones
// have 0.90 to 0.95 of it.
//
// Errors wrap quantity.ErrRange: a length outside 10 to 1500 mm; a species
// whose row has no constants; a power of the length outside 2.5 to 3.5, or to 4
// where the curve bends.
//
// Source: standard-weight equations, named in the rows. Check: channel catfish
// of 400 mm 590.5 g.
func (s *Species) WeightFromLengthG(lengthMM float64) (weightG float64, err error) {
	if !s.LWLog10A.Known || !s.LWB.Known {
		return 0, fmt.Errorf("weight from length: the table has no constants for %s: %w", s.ID, quantity.ErrRange)
	}
	if err := quantity.InRange("length", lengthMM, 10, 1500, "mm"); err != nil {
		return 0, fmt.Errorf("weight from length of %s: %w", s.ID, err)
	}
	x := math.Log10(lengthMM)
	power, most := s.LWB.Amount, 3.5
	if s.LWQuad.Known { // the power rises with the length
		power, most = power+2*s.LWQuad.Amount*max(2, x), 4
	}
	if err := quantity.InRange("power of the length", power, 2.5, most, ""); err != nil {
		return 0, fmt.Errorf("weight from length of %s: %w", s.ID, err)
	}
	return math.Pow(10, s.LWLog10A.Amount+s.LWB.Amount*x+s.LWQuad.Amount*x*x), nil
}

// ConditionK returns 100 times the weight in g over the cube of the length in
// cm. Check: 62.86 g, 158.4 mm: 1.58.
//
// Errors wrap quantity.ErrRange.
func ConditionK(weightG, lengthMM float64) (k float64, err error) {
	err = quantity.InRange("live weight", weightG, 0.001, 20000, "g")
	if err == nil {
		err = quantity.InRange("length", lengthMM, 5, 2000, "mm")
	}
	if err != nil {
		return 0, fmt.Errorf("condition: %w", err)
	}
	cm := lengthMM / 10
	return 100 * weightG / (cm * cm * cm), nil
}

// RelativeWeightPercent returns a fish's weight in percent of the standard
// weight of its length; below 80 it is thin. Errors as WeightFromLengthG.
func (s *Species) RelativeWeightPercent(weightG, lengthMM float64) (percent float64, err error) {
	standard, err := s.WeightFromLengthG(lengthMM)
	if err == nil {
		err = quantity.InRange("live weight", weightG, 0.001, 20000, "g")
	}
	if err != nil {
		return 0, fmt.Errorf("relative weight: %w", err)
	}
	return 100 * weightG / standard, nil
}
