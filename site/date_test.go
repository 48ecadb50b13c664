package site_test

import (
	"encoding/json"
	"testing"
	"time"

	"tidebed/site"
)

func TestDateJSON(t *testing.T) {
	type pair struct{ Day, None site.Date }
	in := pair{Day: site.On(2027, time.March, 27)}
	text, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	if want := `{"Day":"2027-03-27","None":null}`; string(text) != want {
		t.Errorf("wrote %s, want %s", text, want)
	}
	var out pair
	if err := json.Unmarshal(text, &out); err != nil || out != in {
		t.Errorf("read back %v, %v; want %v", out, err, in)
	}
	for _, bad := range []string{`"2027-02-30"`, `"27.3.2027"`, `7`} {
		var d site.Date
		if err := json.Unmarshal([]byte(bad), &d); err == nil {
			t.Errorf("%s read as %v", bad, d)
		}
	}
}

func TestDaysTo(t *testing.T) {
	d := site.On(2027, time.February, 27)
	if got := d.DaysTo(d.Plus(3)); got != 3 {
		t.Errorf("three days are %d", got)
	}
	if got := d.DaysTo(site.On(2026, time.December, 31)); got != -58 {
		t.Errorf("back to New Year's Eve are %d days, want -58", got)
	}
}
