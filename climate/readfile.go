package climate

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"tidebed/quantity"
)

const (
	mostFileYears = 60
	mostLineBytes = 64 << 10
)

// field is one kind of value of an hour.
type field int

const (
	fieldTemp field = iota
	fieldDew
	fieldRH
	fieldGlobal
	fieldDirect // on a plane facing the sun
	fieldDiffuse
	fieldWind
	fieldPressure
	fieldCount
)

// column is how a file has a field.
type column struct {
	name   string
	unit   string
	at     int // index in the line; -1 when the file has none
	lo, hi float64
	toKPa  float64 // pressure only
	code   float64 // stands for a missing value; NaN when only an empty cell does
}

func (c *column) given() bool { return c.at >= 0 }

// stamp is a clock hour: the hour that begins so many hours after midnight.
type stamp struct {
	date dateKey
	hour int
}

// number counts hours from 1 January 1970.
func (s stamp) number() int { return s.date.dayNumber()*hoursPerDay + s.hour }

func (s stamp) String() string { return fmt.Sprintf("%s %02d:00", s.date, s.hour) }

func (k dateKey) String() string { return fmt.Sprintf("%04d-%02d-%02d", k.year, int(k.month), k.day) }

// row is a line of a file.
type row struct {
	line   int
	at     stamp
	values [fieldCount]float64 // NaN when missing
}

// weatherFile is a file as entered.
type weatherFile struct {
	name    string
	lines   lineReader
	columns [fieldCount]column
	rows    []row
	faults  Faults
	report  Report

	place                                 string
	source                                string
	latitudeDeg, longitudeDeg, elevationM float64
	utcOffsetH                            float64
	placeLine                             int  // where the place stands
	saysTypical                           bool // the file itself says so
	freeYears                             bool // years may differ from month to month
	atEnd                                 bool // readings are those of the end of the hour
	localClock                            bool // times without an offset
}

// fault notes a fault; beyond the first mostFaults they are only counted.
func (f *weatherFile) fault(line int, format string, args ...any) {
	f.faultOf(nil, line, format, args...)
}

func (f *weatherFile) faultOf(err error, line int, format string, args ...any) {
	if len(f.faults.List) >= mostFaults {
		f.faults.More++
		return
	}
	f.faults.List = append(f.faults.List, &Fault{File: f.name, Line: line, Text: fmt.Sprintf(format, args...), err: err})
}

func (f *weatherFile) faulty() bool { return len(f.faults.List) > 0 }

// ReadFile reads hour-by-hour weather of whole years. name stands in the
// messages. The format is found by the content:
//
//   - EPW: eight lines of headings beginning with LOCATION, then lines of 35
//     values. Dry bulb, dew point, humidity, pressure, global, direct and
//     diffuse radiation and wind are read, with the codes 99.9, 999, 9999 and
//     999999 for missing values.
//   - TMY3: a line about the station, a line of column names beginning with
//     "Date (MM/DD/YYYY),Time (HH:MM)"; -9900 for a missing value.
//   - Our own plain CSV. Lines "# key: value" first: latitude_deg,
//     longitude_deg and elevation_m must be there; place, utc_offset_h (of the
//     standard clock), typical (yes) and source may. Then a line of column
//     names, and a line an hour: time is the beginning of the hour, as RFC 3339
//     or on the local standard clock (2025-03-01T05:00), or date and hour (0 to
//     23) in columns of their own; temp_c, global_w_m2 (mean of the hour),
//     wind_m_s at 10 m, dew_point_c or rh_percent; diffuse_w_m2,
//     direct_normal_w_m2 (facing the sun) and pressure_kpa are optional. An
//     empty cell is a missing value. Other columns are not read, and the report
//     says so.
//
// The meaning of the fields of the first two is from memory of the open
// formats: radiation is that of the hour that ends at the time given, the other
// values are readings at that time. The hour's middle takes the mean of two
// readings, which shaves up to half an hour's step off a sharp extreme.
//
// The clock of the series is the file's standard clock. A leap day that a file
// leaves out takes the day before. Gaps of up to three hours are filled on a
// straight line between their neighbours (radiation: of its share of the sun
// above the air) and counted; longer ones are refused. Diffuse light that is
// not given is worked out from the direct, or by [erbs-1982].
//
// Refused with file and line: years that are not whole, hours twice or out of
// order, values outside their range, and what tells of other units, swapped
// columns, a clock with daylight saving or a wrong zone. The error wraps
// *Faults; those of a value outside its range wrap quantity.ErrRange.
func ReadFile(name string, r io.Reader) (*Series, Report, error) {
	f := &weatherFile{name: name, lines: lineReader{in: bufio.NewReaderSize(r, mostLineBytes)}}
	for i := range f.columns {
		f.columns[i] = column{at: -1, code: nan}
	}
	s, err := f.read()
	if err == nil && f.faulty() {
		err = &f.faults
	}
	if err != nil {
		return nil, f.report, fmt.Errorf("climate: %w", err)
	}
	return s, f.report, nil
}

func (f *weatherFile) read() (*Series, error) {
	first, err := f.lines.next()
	if errors.Is(err, io.EOF) {
		f.fault(0, "the file is empty; it should be EPW, TMY3 or plain CSV with a column temp_c")
		return nil, nil
	}
	if err != nil {
		return nil, f.unreadable(err)
	}
	second := ""
	switch {
	case strings.HasPrefix(strings.ToUpper(first), "LOCATION,"):
		err = f.readEPW(first)
	case strings.HasPrefix(first, "#") || ownHeading(first):
		err = f.readOwn(first)
	default:
		if second, err = f.lines.next(); err == nil && strings.HasPrefix(strings.ToLower(second), "date (mm/dd/yyyy)") {
			err = f.readTMY3(first, second)
			break
		}
		if err == nil || errors.Is(err, io.EOF) {
			f.fault(1, "%q begins no weather file known here: EPW begins with LOCATION, TMY3 has \"Date (MM/DD/YYYY)\" in its second line, plain CSV begins with lines \"# key: value\" or with column names such as time,temp_c", clip(printable(first)))
			return nil, nil
		}
	}
	if err != nil {
		return nil, f.unreadable(err)
	}
	if f.faulty() {
		return nil, nil
	}
	return f.assemble()
}

func (f *weatherFile) unreadable(err error) error {
	if errors.Is(err, io.EOF) {
		f.fault(f.lines.line, "the file ends within its headings")
		return nil
	}
	return fmt.Errorf("%s:%d: %w", f.name, f.lines.line+1, err)
}

// spot reads the place of a file: text of latitude, longitude, offset,
// elevation, as far as they are given.
func (f *weatherFile) spot(name, text string, line int, lo, hi float64, unit string, to *float64) {
	v, ok := number(text)
	if !ok {
		f.fault(line, "%s %q is no number; give %g to %g %s", name, clip(printable(text)), lo, hi, unit)
		return
	}
	if err := quantity.InRange(name, v, lo, hi, unit); err != nil {
		f.faultOf(err, line, "%v", err)
		return
	}
	*to = v
}

// values reads the fields of a line.
func (f *weatherFile) values(r *row, cells []string) {
	for i := range f.columns {
		c := &f.columns[i]
		r.values[i] = nan
		if !c.given() {
			continue
		}
		if c.at >= len(cells) {
			f.fault(r.line, "the line has %d values; %s is the %s", len(cells), c.name, ordinal(c.at+1))
			return
		}
		text := strings.TrimSpace(cells[c.at])
		if text == "" {
			continue
		}
		v, ok := number(text)
		switch {
		case !ok:
			f.fault(r.line, "%s %q is no number; give %g to %g %s, or leave the cell empty", c.name, clip(printable(text)), c.lo, c.hi, c.unit)
		case math.Abs(v-c.code) < 1e-6*math.Abs(c.code):
		default:
			r.values[i] = v
		}
	}
}

// add keeps a row; false when there are too many.
func (f *weatherFile) add(r row) bool {
	if len(f.rows) >= mostFileYears*366*hoursPerDay {
		f.fault(r.line, "more than %d years of hours; give at most that", mostFileYears)
		return false
	}
	f.rows = append(f.rows, r)
	return true
}

// date checks a calendar date; 29 February is let through in every year.
func (f *weatherFile) date(line, year, month, day int) (dateKey, bool) {
	key := dateKey{year, time.Month(month), day}
	switch {
	case year < 1900 || year > 2100:
		f.fault(line, "year %d: give 1900 to 2100", year)
	case month < 1 || month > 12:
		f.fault(line, "month %d: give 1 to 12", month)
	case day < 1 || day > monthLength(2000, key.month):
		f.fault(line, "day %d of month %d: there is none", day, month)
	default:
		return key, true
	}
	return key, false
}

// number reads a plain decimal number: no words, no hexadecimal, not infinite.
func number(text string) (float64, bool) {
	text = strings.TrimSpace(text)
	for _, c := range text {
		if (c < '0' || c > '9') && !strings.ContainsRune("+-.eE", c) {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// whole reads a whole number, 2 or 2.0.
func whole(text string) (int, bool) {
	v, ok := number(text)
	if !ok || v != math.Trunc(v) || math.Abs(v) > 1e6 {
		return 0, false
	}
	return int(v), true
}

// split parts a line at its commas, but not at those within double quotes.
func split(line string, cells []string) []string {
	cells = cells[:0]
	start, quoted := 0, false
	for i := 0; i <= len(line); i++ {
		switch {
		case i < len(line) && line[i] == '"':
			quoted = !quoted
		case i == len(line) || line[i] == ',' && !quoted:
			cells = append(cells, strings.Trim(strings.TrimSpace(line[start:i]), `"`))
			start = i + 1
		}
	}
	return cells
}

// lineReader reads lines of text and counts them.
type lineReader struct {
	in   *bufio.Reader
	line int
}

var errLong = errors.New("the line is longer than 65536 bytes; is this a text file?")

// next returns a line without its end. A last line without one counts.
func (l *lineReader) next() (string, error) {
	text, err := l.in.ReadSlice('\n')
	switch {
	case errors.Is(err, bufio.ErrBufferFull):
		return "", errLong
	case err != nil && (len(text) == 0 || !errors.Is(err, io.EOF)):
		return "", err
	}
	l.line++
	line := strings.TrimRight(string(text), "\r\n")
	if l.line == 1 {
		line = strings.TrimPrefix(line, "\ufeff")
	}
	if strings.ContainsRune(line, 0) {
		return "", errors.New("the line has zero bytes in it; save the file as plain text")
	}
	return line, nil
}

// printable makes outside text fit for a message of one line.
func printable(text string) string {
	return strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, text)
}

// oneLine makes text fit for a heading of a file.
func oneLine(text string) string {
	return strings.Join(strings.FieldsFunc(strings.ToValidUTF8(text, "?"), func(r rune) bool {
		return unicode.IsSpace(r) || unicode.IsControl(r)
	}), " ")
}

func ordinal(n int) string {
	switch {
	case n%10 == 1 && n%100 != 11:
		return fmt.Sprintf("%dst", n)
	case n%10 == 2 && n%100 != 12:
		return fmt.Sprintf("%dnd", n)
	case n%10 == 3 && n%100 != 13:
		return fmt.Sprintf("%drd", n)
	}
	return fmt.Sprintf("%dth", n)
}
