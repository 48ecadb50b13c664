package plan

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	ical "github.com/emersion/go-ical"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tidebed/site"
)

var madeUpStamp = time.Date(2027, 1, 11, 6, 0, 0, 0, time.UTC)

func calendarOf(t interface{ Fatal(...any) }, p *Plan) string {
	var out bytes.Buffer
	if err := WriteCalendar(&out, p, madeUpStamp); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// checkLines holds a file against RFC 5545 without the library that wrote it: lines
// end with CRLF and are no longer than 75 octets (section 3.1), letters are whole, no
// control character stands in it (section 3.1, CONTROL), and commas, semicolons and
// backslashes of texts are escaped (section 3.3.11). It returns the unfolded lines.
func checkLines(t interface{ Fatalf(string, ...any) }, text string) []string {
	if !strings.HasSuffix(text, "\r\n") {
		t.Fatalf("the last line does not end")
	}
	for _, line := range strings.Split(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(line) > 75 {
			t.Fatalf("%d octets: %q", len(line), line)
		}
		if !utf8.ValidString(line) {
			t.Fatalf("a letter is cut: %q", line)
		}
		if strings.ContainsFunc(line, func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }) {
			t.Fatalf("control character: %q", line)
		}
	}
	lines := strings.Split(strings.TrimSuffix(strings.ReplaceAll(text, "\r\n ", ""), "\r\n"), "\r\n")
	for _, line := range lines {
		name, value, ok := strings.Cut(line, ":")
		if !ok || name == "" {
			t.Fatalf("no content line: %q", line)
		}
		switch name {
		case "SUMMARY", "DESCRIPTION", "LOCATION", "CATEGORIES", "NAME":
			bare := strings.NewReplacer(`\\`, "", `\,`, "", `\;`, "", `\n`, "").Replace(value)
			if strings.ContainsAny(bare, `\,;`) {
				t.Fatalf("not escaped: %q", line)
			}
		}
	}
	return lines
}

func TestCalendar(t *testing.T) {
	p := madeUpPlan()
	text := calendarOf(t, p)
	lines := checkLines(t, text)
	if lines[0] != "BEGIN:VCALENDAR" || lines[len(lines)-1] != "END:VCALENDAR" {
		t.Error("it is no calendar")
	}
	cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
	if err != nil {
		t.Fatal(err)
	}
	jobs, events := p.Jobs(), cal.Events()
	if len(events) != len(jobs) {
		t.Fatalf("%d events of %d jobs", len(events), len(jobs))
	}
	seen := map[string]bool{}
	for i, e := range events {
		get := func(name string) string {
			v, err := e.Props.Text(name)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		j := jobs[i]
		start, end := e.Props.Get(ical.PropDateTimeStart), e.Props.Get(ical.PropDateTimeEnd)
		if start.ValueType() != ical.ValueDate || start.Value != j.Date.Format("20060102") || end.Value != j.Date.Plus(1).Format("20060102") {
			t.Errorf("%s: from %v to %v", j.Line(), start, end)
		}
		if got := get(ical.PropSummary); got != strings.TrimSuffix(j.Line()+", "+j.Amount, ", ") {
			t.Errorf("summary %q of %v", got, j)
		}
		if got := get(ical.PropDescription); got != strings.TrimSpace(j.Why) {
			t.Errorf("description %q, want %q", got, j.Why)
		}
		if got := get(ical.PropLocation); got != j.Where {
			t.Errorf("location %q, want %q", got, j.Where)
		}
		if stamp, err := e.Props.DateTime(ical.PropDateTimeStamp, nil); err != nil || !stamp.Equal(madeUpStamp) {
			t.Errorf("stamp %v, %v", stamp, err)
		}
		uid := get(ical.PropUID)
		if seen[uid] || uid == "" {
			t.Errorf("UID %q twice or empty", uid)
		}
		seen[uid] = true
	}
	if again := calendarOf(t, p); again != text {
		t.Error("the same plan gives another file")
	}
}

// A job keeps its UID when its day, its amount or the day of the plan changes
// (section 3.8.4.7: persistent), and another building's job has another.
func TestCalendarUIDsStay(t *testing.T) {
	uids := func(p *Plan) map[string]string {
		cal, err := ical.NewDecoder(strings.NewReader(calendarOf(t, p))).Decode()
		if err != nil {
			t.Fatal(err)
		}
		out := map[string]string{}
		for i, e := range cal.Events() {
			out[p.Jobs()[i].ID] = e.Props.Get(ical.PropUID).Value
		}
		return out
	}
	before := uids(madeUpPlan())
	p := madeUpPlan()
	p.Today = p.Today.Plus(3)
	for i := range p.Sowings {
		p.Sowings[i].First, p.Sowings[i].Kg[0] = p.Sowings[i].First.Plus(4), p.Sowings[i].Kg[0]*1.2
	}
	p.Fish[0].Day, p.Fish[0].Number = p.Fish[0].Day.Plus(-1), 10
	after := uids(p)
	for _, id := range []string{"harvest/potato/tubs/2027-03-08", "take/trout of autumn/October week", "order-seed/kale/north 1 to 2/2027-03-01", "stock/trout of spring"} {
		if before[id] == "" || before[id] != after[id] {
			t.Errorf("%s: UID %q became %q", id, before[id], after[id])
		}
	}
	p.Site = "Another House"
	if uids(p)["stock/trout of spring"] == after["stock/trout of spring"] {
		t.Error("two buildings share a UID")
	}
}

func TestCalendarWithoutJobs(t *testing.T) {
	text := calendarOf(t, &Plan{Site: "New shed", Today: site.On(2027, 1, 11)})
	checkLines(t, text)
	if !strings.Contains(text, "Nothing to do is planned") {
		t.Error(text)
	}
}

// oddText is what a person might name a bed.
func oddText() *rapid.Generator[string] {
	return rapid.OneOf(rapid.String(), rapid.StringMatching(`[ =+@\-,;:\\"'\r\nÄöß€🐟a-c0-9\t]{0,120}`), rapid.SampledFrom([]string{"=1+1", "-2", "@x", "+", "\x00", "a\r\nEND:VCALENDAR", `"`, "\\n", "\xff\xfe"}))
}

func oddPlan(t *rapid.T) *Plan {
	p := madeUpPlan()
	p.Site = oddText().Draw(t, "site")
	for i := range p.Sowings {
		s := &p.Sowings[i]
		s.Name, s.Why, s.Caution = oddText().Draw(t, "name"), oddText().Draw(t, "why"), oddText().Draw(t, "caution")
		for k := range s.Parts {
			s.Parts[k].Bed = oddText().Draw(t, "bed")
		}
	}
	p.Fish[0].Tank, p.Feeds[0].Feed = oddText().Draw(t, "tank"), oddText().Draw(t, "feed")
	return p
}

func TestCalendarOfOddTexts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := oddPlan(t)
		text := calendarOf(t, p)
		checkLines(t, text)
		cal, err := ical.NewDecoder(strings.NewReader(text)).Decode()
		if err != nil {
			t.Fatal(err)
		}
		jobs := p.Jobs()
		for i, e := range cal.Events() {
			if got, err := e.Props.Text(ical.PropSummary); err != nil || got != oneLine(strings.TrimSuffix(jobs[i].Line()+", "+jobs[i].Amount, ", ")) {
				t.Fatalf("%q, %v: of %v", got, err, jobs[i])
			}
		}
	})
}

// A file read back has the cells that were written, none of which a spreadsheet takes
// for a formula; lines end with CRLF (RFC 4180, section 2).
func TestCSVRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		jobs := oddPlan(t).Jobs()
		var out bytes.Buffer
		if err := WriteCSV(&out, jobs); err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(out.String(), "\r\n"); n != len(jobs)+1 || strings.Count(out.String(), "\n") != n {
			t.Fatalf("%d lines of %d jobs", n, len(jobs))
		}
		rows, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for i, j := range jobs {
			for k, text := range []string{j.Date.String(), j.Kind, j.What, j.Where, j.Amount, j.Why} {
				cell := rows[i+1][k]
				if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
					t.Fatalf("a spreadsheet would run %q", cell)
				}
				if diff := cmp.Diff(oneLine(text), strings.TrimPrefix(cell, "'")); diff != "" && cell != oneLine(text) {
					t.Fatal(diff)
				}
			}
		}
	})
}
