package plumbing

import (
	"encoding/csv"
	"errors"
	"strconv"
	"strings"
	"testing"
)

func TestTimetableAsCSV(t *testing.T) {
	l := threeBedLoop(t, 3)
	l.Beds[1].Name, l.Pipes[4].To, l.Pipes[7].From = `bed "two", wide`, `bed "two", wide`, `bed "two", wide`
	p := planned(t, drawn(t, l, 22), Goal{PerHour: 2, AtNight: 1, DayFromH: 6.5})
	var text strings.Builder
	if err := p.CSV(&text); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), "\r\n") {
		t.Error("lines do not end as RFC 4180 has it")
	}
	rows, err := csv.NewReader(strings.NewReader(text.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 7 || strings.Join(rows[0], ",") != "part,from,to,cycle_s,valve,bed,opens_at_s,open_s,overlap_s,inflow_l_min" {
		t.Fatalf("%q", rows)
	}
	second := rows[2]
	if second[0] != "day" || second[1] != "06:30" || second[2] != "22:00" || second[3] != "1800" || second[4] != "B2" || second[5] != `bed "two", wide` {
		t.Errorf("%q", second)
	}
	u := p.Parts[0].Turns[1]
	for i, want := range map[int]float64{6: u.AtS, 7: u.OpenS, 9: u.InflowM3s * 60000} {
		got, err := strconv.ParseFloat(second[i], 64)
		if err != nil {
			t.Error(err)
		}
		about(t, rows[0][i], got, want, 0.051)
	}
	if rows[1][8] != "3" || rows[2][8] != "3" || rows[3][8] != "0" {
		t.Errorf("overlaps %s %s %s, want 3, 3 and after the last 0", rows[1][8], rows[2][8], rows[3][8])
	}
	if err := p.CSV(full{}); !errors.Is(err, errFull) {
		t.Errorf("error %v", err)
	}
	if err := (&Timetable{}).CSV(&text); err == nil {
		t.Error("a timetable without parts is written")
	}
}

// Names that a spreadsheet would reckon with are kept from it.
func TestNamesAreNoFormulas(t *testing.T) {
	for name, want := range map[string]string{"=1+1": "'=1+1", "+north": "'+north", "-2 m": "'-2 m", "@home": "'@home", "\tx": "'\tx", "bed 1": "bed 1", "b=1": "b=1", "": ""} {
		if got := guarded(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
	l := threeBedLoop(t, 3)
	l.Beds[0].Name, l.Pipes[3].To, l.Pipes[6].From, l.Pipes[3].Name = "=SUM(A1)", "=SUM(A1)", "=SUM(A1)", "-B1"
	var text strings.Builder
	if err := planned(t, drawn(t, l, 22), Goal{}).CSV(&text); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(text.String(), ",'-B1,'=SUM(A1),") {
		t.Errorf("%s", text.String())
	}
}

var errFull = errors.New("full")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errFull }
