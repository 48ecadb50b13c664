package web

import (
	"fmt"
	"net/http"

	"tidebed/words"
)

type trustPage struct {
	frame
	Sentence string
	Missing  string // what is not reproduced; empty when all is
	Groups   []evidenceGroup
	Goldens  []evidenceRow
}

// evidenceGroup is the counted rows of one equation.
type evidenceGroup struct {
	Equation string
	Rows     []evidenceRow
}

type evidenceRow struct {
	ID, What, Source, Kind, Expected, Got, Difference, Tolerance, Unit, Verdict, Note, Aside string
	OK                                                                                       bool
}

// showTrust handles GET /trust: which published values does the program
// reproduce, and how closely?
func (s *server) showTrust(w http.ResponseWriter, r *http.Request) {
	report, soFar, ready, err := s.evidence.wait(r.Context(), s.patience, s.cfg.Evidence)
	switch {
	case !ready:
		s.working(w, r, "trust", "Working: holding the program against its published values.", soFar)
	case err != nil:
		s.fail(w, r, err)
	default:
		s.render(w, r, http.StatusOK, "trust.html", s.trustPage(report))
	}
}

func (s *server) trustPage(report EvidenceReport) trustPage {
	page := trustPage{frame: s.frame("How far to trust it", "trust"), Sentence: trustSentence(report)}
	if missed := report.Counted - report.Passed; missed > 0 {
		page.Missing = words.Count(missed, "value is", "values are") + " not reproduced; the rows marked “act” say which."
	}
	at := map[string]int{}
	for _, row := range report.Rows {
		i, ok := at[row.Equation]
		if !ok {
			i = len(page.Groups)
			at[row.Equation] = i
			page.Groups = append(page.Groups, evidenceGroup{Equation: words.Capital(row.Equation)})
		}
		page.Groups[i].Rows = append(page.Groups[i].Rows, evidenceView(row))
	}
	for _, row := range report.Goldens {
		page.Goldens = append(page.Goldens, evidenceView(row))
	}
	return page
}

func trustSentence(report EvidenceReport) string {
	if report.Counted == 0 {
		return "Nothing has been held against published values yet, so trust no figure here without measuring."
	}
	amount := fmt.Sprintf("%d of %s", report.Passed, words.Count(report.Counted, "published value", "published values"))
	if report.Passed == report.Counted {
		amount = "all " + words.Count(report.Counted, "published value", "published values")
		if report.Counted == 1 {
			amount = "the one published value"
		}
	}
	return fmt.Sprintf("The program reproduces %s, from %s, within the tolerance beside each.", amount, words.Count(report.Equations, "equation", "equations"))
}

func evidenceView(row EvidenceRow) evidenceRow {
	v := evidenceRow{ID: row.ID, What: words.Capital(row.What), Source: row.Source, Kind: row.Kind, Expected: figure(row.Expected), Got: figure(row.Got),
		Difference: figure(row.Got - row.Expected), Tolerance: "± " + figure(row.Tolerance), Unit: row.Unit, Verdict: string(Act), Note: row.Note, OK: row.OK}
	if !row.Counted {
		v.Aside = "not counted"
	}
	if row.OK {
		v.Verdict = string(Good)
	}
	return v
}
