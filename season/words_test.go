package season

import "testing"

func TestUnfedWords(t *testing.T) {
	for _, c := range []struct {
		none, less int
		want       string
	}{
		{0, 255, "the water allows less than the full ration on 255 days"},
		{1, 0, "the water allows no feed on 1 day"},
		{3, 12, "the water allows no feed on 3 days and less than the full ration on 12"},
	} {
		if got := unfedWords(c.none, c.less); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
