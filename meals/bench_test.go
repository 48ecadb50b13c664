package meals_test

import (
	"context"
	"testing"

	"tidebed/meals"
	"tidebed/site"
)

// BenchmarkDemo is the whole answer for the demo building: three sets of days,
// three courses, the ceiling and the ranked changes, with a warm solver.
func BenchmarkDemo(b *testing.B) {
	s, _, err := site.Sample("skerry-house")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := meals.Forecast(context.Background(), pool, s, s.Opening.Date, nil); err != nil {
			b.Fatal(err)
		}
	}
}
