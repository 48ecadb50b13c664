package plan

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	ical "github.com/emersion/go-ical"

	"tidebed/site"
)

// WriteCSV writes jobs as a table with a head, as RFC 4180 has it: lines end with CRLF,
// cells with commas or quotation marks are quoted. A cell that a spreadsheet would
// take for a formula has an apostrophe before it. Line breaks within a cell become
// spaces. Errors: those of w.
func WriteCSV(w io.Writer, jobs []Job) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	rows := [][]string{{"date", "job", "what", "where", "amount", "why"}}
	for _, j := range jobs {
		rows = append(rows, []string{j.Date.String(), harmless(j.Kind), harmless(j.What), harmless(j.Where), harmless(j.Amount), harmless(j.Why)})
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("write the jobs as CSV: %w", err)
	}
	return nil
}

// harmless is a cell on one line that no spreadsheet runs.
func harmless(text string) string {
	text = oneLine(text)
	if text != "" && strings.ContainsRune("=+-@", []rune(text)[0]) {
		return "'" + text
	}
	return text
}

// oneLine is a text without control characters, bytes that are no UTF-8 and spaces
// at its ends.
func oneLine(text string) string {
	text = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), unicode.IsSpace(r):
			return ' '
		case r == utf8.RuneError:
			return -1
		}
		return r
	}, text)
	return strings.Join(strings.Fields(text), " ")
}

// WriteCalendar writes the jobs of a plan as an iCalendar object, RFC 5545: each an
// event of one whole day that takes no time of the calendar's owner. A job keeps its
// UID when its day or amount changes, so that a calendar that reads the file again
// moves the event instead of doubling it. stamp is the time at which the file counts
// as made; the same plan and stamp give the same bytes. A plan without jobs gives one
// event that says so, since a calendar must hold something (section 3.6). Errors:
// those of w.
func WriteCalendar(w io.Writer, p *Plan, stamp time.Time) error {
	cal := ical.NewCalendar()
	cal.Props.SetText(ical.PropVersion, "2.0")
	cal.Props.SetText(ical.PropProductID, "-//tidebed//plan//EN")
	cal.Props.SetText(ical.PropCalendarScale, "GREGORIAN")
	cal.Props.SetText(ical.PropName, oneLine("Plan of "+p.Site))
	jobs := p.Jobs()
	if len(jobs) == 0 {
		jobs = []Job{{ID: "nothing", Date: p.Today, What: "Nothing to do is planned"}}
	}
	for _, j := range jobs {
		cal.Children = append(cal.Children, eventOf(p.Site, j, stamp).Component)
	}
	var plain bytes.Buffer
	if err := ical.NewEncoder(&plain).Encode(cal); err != nil {
		return fmt.Errorf("write the calendar: %w", err)
	}
	if err := fold(w, plain.Bytes()); err != nil {
		return fmt.Errorf("write the calendar: %w", err)
	}
	return nil
}

func eventOf(building string, j Job, stamp time.Time) *ical.Event {
	e := ical.NewEvent()
	sum := sha256.Sum256([]byte(building + "\x00" + j.ID))
	e.Props.SetText(ical.PropUID, hex.EncodeToString(sum[:16])+"@plan.tidebed")
	e.Props.SetDateTime(ical.PropDateTimeStamp, stamp.UTC())
	e.Props.SetDate(ical.PropDateTimeStart, j.Date.Time)
	e.Props.SetDate(ical.PropDateTimeEnd, j.Date.Plus(1).Time) // the first day that is not part of it, section 3.6.1
	summary := j.Line()
	if j.Amount != "" {
		summary += ", " + j.Amount
	}
	e.Props.SetText(ical.PropSummary, oneLine(summary))
	if j.Where != "" {
		e.Props.SetText(ical.PropLocation, oneLine(j.Where))
	}
	if j.Why != "" {
		e.Props.SetText(ical.PropDescription, oneLine(j.Why))
	}
	if j.Kind != "" {
		e.Props.SetText(ical.PropCategories, j.Kind)
	}
	e.Props.SetText(ical.PropTransparency, "TRANSPARENT")
	return e
}

// foldOctets is the longest line of RFC 5545, section 3.1, without its break.
const foldOctets = 75

// fold breaks long lines: CRLF and a space, never within a letter.
func fold(w io.Writer, text []byte) error {
	var out bytes.Buffer
	for line := range bytes.SplitSeq(bytes.TrimSuffix(text, []byte("\r\n")), []byte("\r\n")) {
		room := foldOctets
		for len(line) > room {
			at := room
			for at > 1 && !utf8.RuneStart(line[at]) {
				at--
			}
			out.Write(line[:at])
			out.WriteString("\r\n ")
			line, room = line[at:], foldOctets-1
		}
		out.Write(line)
		out.WriteString("\r\n")
	}
	_, err := w.Write(out.Bytes())
	return err
}

// StampOf is the stamp of files made on a day: its first moment, so that the same
// plan gives the same file.
func StampOf(today site.Date) time.Time { return today.UTC() }
