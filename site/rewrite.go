package site

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
)

// Rewrite returns the description s as YAML like Write, and keeps of text, from which
// s was read before it was changed, every line that still says the same: comments,
// blank lines, order, units as typed. A value that changed is written anew, with the
// comment lines above it kept. Entries of a list that are alike stay; one that changed
// a little keeps the lines that did not; the others go, with the comments right above
// and in them, or come.
//
// kept is false where text could not be kept: it does not read, is of an older schema
// or is laid out such that the result would not read as s; then out is that of Write.
// lost are the comments of text that are not in out. The error is that of Write.
func Rewrite(text []byte, s *Site) (out []byte, kept bool, lost []string, err error) {
	plain, err := Write(s)
	if err != nil {
		return nil, false, nil, err
	}
	out, kept = rewrite(text, plain, s.Currency)
	was := comments(string(text))
	for _, c := range comments(string(out)) {
		if i := slices.Index(was, c); i >= 0 {
			was = slices.Delete(was, i, i+1)
		}
	}
	return out, kept, was, nil
}

// rewrite is Rewrite by what Write makes of the site.
func rewrite(text, plain []byte, currency string) (out []byte, kept bool) {
	want, _, err := Read("", plain)
	if err != nil { // what does not read has nothing to be held against
		return plain, false
	}
	old, _, err := Read("", text)
	if err != nil {
		return plain, false
	}
	root, problems := parse(text)
	if len(problems) > 0 || root.kind != mapping {
		return plain, false
	}
	r := rewriter{currency: currency, eol: "\n"}
	if first, _, _ := bytes.Cut(text, []byte("\n")); bytes.HasSuffix(first, []byte("\r")) {
		r.eol = "\r\n"
	}
	for line := range strings.Lines(string(text)) {
		if !strings.HasSuffix(line, "\n") {
			line += r.eol
		}
		r.lines = append(r.lines, line)
	}
	r.structure(root, 0, len(r.lines), reflect.ValueOf(old).Elem(), reflect.ValueOf(want).Elem())
	got, _, err := Read("", r.out.Bytes())
	if r.lost || err != nil || !reflect.DeepEqual(got, want) {
		return plain, false
	}
	out = r.out.Bytes()
	if !bytes.HasSuffix(text, []byte("\n")) {
		out = bytes.TrimSuffix(out, []byte(r.eol))
	}
	return out, true
}

// comments lists the comments of a text: what follows a # that begins a line or stands
// after a space, outside quotes. In a block of text set in under a key it takes lines
// for comments that are none; they are kept or lost like any.
func comments(text string) (out []string) {
	for line := range strings.Lines(text) {
		quote := byte(0)
		for i := 0; i < len(line); i++ {
			switch c := line[i]; {
			case quote == '"' && c == '\\':
				i++
			case quote == '\'' && c == quote && i+1 < len(line) && line[i+1] == quote:
				i++ // a quote within quotes
			case quote != 0:
				if c == quote {
					quote = 0
				}
			case (c == '"' || c == '\'') && (i == 0 || strings.IndexByte(" [{,:-", line[i-1]) >= 0):
				quote = c
			case c == '#' && (i == 0 || line[i-1] == ' ' || line[i-1] == '\t'):
				if word := strings.TrimSpace(line[i:]); word != "#" {
					out = append(out, word)
				}
				i = len(line)
			}
		}
	}
	return out
}

// rewriter puts a text together of lines kept and lines written anew. Lines count from 0.
type rewriter struct {
	lines    []string
	out      bytes.Buffer
	currency string
	eol      string
	lost     bool // the layout is one that it does not follow
}

// keep copies lines from to below to.
func (r *rewriter) keep(from, to int) {
	for _, line := range r.lines[from:max(from, to)] {
		r.out.WriteString(line)
	}
}

// indent is how many spaces stand before a line's text.
func indent(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }

// aside says whether a line holds a comment or nothing, or is the mark of a text's end.
func aside(line string) bool {
	text := strings.TrimSpace(line)
	return text == "" || strings.HasPrefix(text, "#") || text == "..."
}

// write puts written lines out, with the ends of line of the text.
func (r *rewriter) write(text string) {
	if r.eol != "\n" {
		text = strings.ReplaceAll(text, "\n", r.eol)
	}
	r.out.WriteString(text)
}

// head moves up from the line of a key or of an entry over the comments and the blank
// lines that belong to it: those that are not set in deeper.
func (r *rewriter) head(at, least int) int {
	own, first := indent(r.lines[at]), at
	for i := at - 1; i >= least && aside(r.lines[i]); i-- {
		if strings.TrimSpace(r.lines[i]) == "" {
			continue // goes with a comment above, else with what stands before
		}
		if indent(r.lines[i]) > own {
			break
		}
		first = i
	}
	for first > least && strings.TrimSpace(r.lines[first-1]) == "" {
		first--
	}
	return first
}

// structure writes the lines from to below to, which hold a mapping in lines of its
// own, with what changed from old to want.
func (r *rewriter) structure(n *node, from, to int, old, want reflect.Value) {
	if len(n.entries) == 0 {
		r.lost = true
		return
	}
	starts, heads := make([]int, len(n.entries)), make([]int, len(n.entries))
	for i, e := range n.entries {
		starts[i] = e.line - 1
		least := from
		if i > 0 {
			least = starts[i-1] + 1
		}
		if starts[i] < least || starts[i] >= min(to, len(r.lines)) { // two keys in a line
			r.lost = true
			return
		}
		heads[i] = r.head(starts[i], least)
	}
	deep := indent(r.lines[starts[0]])
	pad := strings.Repeat(" ", deep)
	r.keep(from, heads[0])
	rules := rulesOf(want.Type())
	there := map[string]bool{}
	// What follows the last key and stands no deeper than the keys belongs to no key.
	end := to
	last := len(n.entries) - 1
	for end > starts[last]+1 && aside(r.lines[end-1]) && (strings.TrimSpace(r.lines[end-1]) == "" || indent(r.lines[end-1]) <= deep) {
		end--
	}
	for i, e := range n.entries {
		k := slices.IndexFunc(rules, func(x rule) bool { return x.key == e.key })
		if k < 0 {
			r.lost = true
			return
		}
		there[e.key] = true
		below := end
		if i < last {
			below = heads[i+1]
		}
		was, is := old.Field(rules[k].index), want.Field(rules[k].index)
		switch {
		case reflect.DeepEqual(was.Interface(), is.Interface()):
			r.keep(heads[i], below)
		case is.IsZero() && !rules[k].need:
			// Gone, with the comment above it.
		case e.value.kind == mapping && is.Kind() == reflect.Struct && e.value.line > e.line:
			r.keep(heads[i], starts[i]+1)
			r.structure(e.value, starts[i]+1, below, was, is)
		case e.value.kind == sequence && is.Kind() == reflect.Slice && is.Type().Elem().Kind() == reflect.Struct && len(e.value.items) > 0 && is.Len() > 0 && r.blockList(e):
			r.keep(heads[i], starts[i]+1)
			r.list(e.value, starts[i]+1, below, was, is)
		default:
			r.keep(heads[i], starts[i])
			r.key(rules[k], is, pad)
		}
		if r.lost {
			return
		}
	}
	for _, x := range rules {
		is := want.Field(x.index)
		if !there[x.key] && !is.IsZero() && !reflect.DeepEqual(old.Field(x.index).Interface(), is.Interface()) {
			r.key(x, is, pad)
		}
	}
	r.keep(end, to)
}

// key writes a key with its value anew.
func (r *rewriter) key(x rule, v reflect.Value, pad string) {
	w := writer{currency: r.currency}
	w.out.WriteString(pad + x.key + ":")
	w.value(v, x, pad, x.key)
	r.lost = r.lost || w.err != nil
	r.write(w.out.String())
}

// dash is the line on which an entry of a list begins with its dash, -1 when it shares
// that line with another.
func (r *rewriter) dash(item *node, least int) int {
	at := item.line - 1
	if at < least || at >= len(r.lines) {
		return -1
	}
	if text := strings.TrimSpace(r.lines[at]); text == "-" || strings.HasPrefix(text, "- ") {
		return at
	}
	for at--; at >= least; at-- { // the dash alone, its keys below it
		if r.alone(at) {
			return at
		}
		if !aside(r.lines[at]) {
			break
		}
	}
	return -1
}

// alone says whether a line holds a dash and at most a comment.
func (r *rewriter) alone(at int) bool {
	rest, is := strings.CutPrefix(strings.TrimSpace(r.lines[at]), "-")
	return is && (rest == "" || rest[0] == ' ' && aside(rest))
}

// blockList says whether every entry of a list begins a line with its dash.
func (r *rewriter) blockList(e entry) bool {
	least := e.line
	for _, item := range e.value.items {
		at := r.dash(item, least)
		if at < 0 {
			return false
		}
		least = at + 1
	}
	return true
}

// list writes the lines from to below to, which hold a list with a dash to each entry,
// as want has it: entries alike in old and want stay as they are.
func (r *rewriter) list(n *node, from, to int, old, want reflect.Value) {
	if len(n.items) != old.Len() {
		r.lost = true
		return
	}
	starts := make([]int, len(n.items)+1)
	least := from
	for i, item := range n.items {
		at := r.dash(item, least)
		starts[i], least = r.head(at, least), at+1
	}
	first := r.dash(n.items[0], from)
	pad := strings.Repeat(" ", indent(r.lines[first]))
	braces := strings.HasPrefix(strings.TrimLeft(r.lines[first], " -"), "{")
	end := to
	for end > least && aside(r.lines[end-1]) && (strings.TrimSpace(r.lines[end-1]) == "" || indent(r.lines[end-1]) <= len(pad)) {
		end--
	}
	starts[len(n.items)] = end
	r.keep(from, starts[0])
	pairs := alike(old, want)
	i := 0
	for j := range want.Len() {
		at := pairs[j]
		if at < 0 {
			r.entry(want.Index(j), pad, braces)
			continue
		}
		// What went between is left out, but for what a blank line parts from it.
		for ; i < at; i++ {
			r.parted(starts[i], starts[i+1])
		}
		i = at + 1
		if was, is := old.Index(at), want.Index(j); reflect.DeepEqual(was.Interface(), is.Interface()) {
			r.keep(starts[at], starts[i])
		} else {
			r.changed(n.items[at], starts[at], starts[i], was, is, pad)
		}
	}
	for ; i < old.Len(); i++ {
		r.parted(starts[i], starts[i+1])
	}
	r.keep(end, to)
}

// parted keeps the comments above an entry that goes which a blank line parts from it.
func (r *rewriter) parted(from, to int) {
	last := from
	for i := from; i < to && aside(r.lines[i]); i++ {
		if i > from && strings.TrimSpace(r.lines[i]) == "" && strings.TrimSpace(r.lines[i-1]) != "" {
			last = i + 1
		}
	}
	r.keep(from, last)
}

// changed writes an entry that is no longer the same: key by key where it stands so.
func (r *rewriter) changed(n *node, from, to int, old, want reflect.Value, pad string) {
	at := r.dash(n, from)
	r.keep(from, at)
	column := len(pad)
	head := strings.TrimLeft(r.lines[at][column+1:], " ")
	switch {
	case n.kind != mapping || want.Kind() != reflect.Struct || strings.HasPrefix(head, "{"):
		r.entry(want, pad, strings.HasPrefix(head, "{"))
	case r.alone(at):
		r.keep(at, at+1)
		r.structure(n, at+1, to, old, want)
	default:
		dashed := r.lines[at]
		r.lines[at] = dashed[:column] + " " + dashed[column+1:]
		before := r.out.Len()
		r.structure(n, at, to, old, want)
		r.lines[at] = dashed
		// The dash goes before what is now the first key.
		text := r.out.Bytes()[before:]
		for place := 0; place < len(text); {
			line, _, _ := bytes.Cut(text[place:], []byte("\n"))
			if !aside(string(line)) {
				if len(line) <= column || len(bytes.TrimLeft(line[:column+1], " ")) > 0 {
					r.lost = true
					return
				}
				text[place+column] = '-'
				return
			}
			place += len(line) + 1
		}
		r.lost = true // nothing is left of it
	}
}

// entry writes an entry of a list anew; in braces on one line, if it has no more than
// scalars, where the list's first one is written so.
func (r *rewriter) entry(v reflect.Value, pad string, braces bool) {
	w := writer{currency: r.currency}
	w.structure(v, pad+"  ", "")
	r.lost = r.lost || w.err != nil
	text := w.out.String()
	keys := strings.Split(strings.TrimSuffix(text, "\n"), "\n"+pad+"  ")
	nested := func(key string) bool { return strings.HasSuffix(key, ":") || strings.ContainsAny(key, "\n{}[]") }
	if braces && !slices.ContainsFunc(keys, nested) {
		text = "{" + strings.Join(keys, ", ") + "}\n"
	}
	r.write(pad + "- " + text)
}

// alike pairs the entries of b with those of a, both in order: the same first, then
// between those what shares the more of its fields, at least half of those given. -1
// has no pair.
func alike(a, b reflect.Value) (pairs []int) {
	pairs = make([]int, b.Len())
	for j := range pairs {
		pairs[j] = -1
	}
	i, j := 0, 0
	near := func(toA, toB int) { // what changed between two that are the same
		for ; j < toB && i < toA; j++ {
			best, most := -1, 0.5
			for k := i; k < toA; k++ {
				if v := shared(a.Index(k), b.Index(j)); v > most || v == most && best < 0 {
					best, most = k, v
				}
			}
			if best >= 0 {
				pairs[j], i = best, best+1
			}
		}
	}
	for _, pair := range common(a, b) {
		near(pair[0], pair[1])
		pairs[pair[1]] = pair[0]
		i, j = pair[0]+1, pair[1]+1
	}
	near(a.Len(), b.Len())
	return pairs
}

// shared is the share of the fields given in either that are the same in both.
func shared(a, b reflect.Value) float64 {
	same, given := 0, 0
	for i := range a.NumField() {
		x, y := a.Field(i), b.Field(i)
		if x.IsZero() && y.IsZero() {
			continue
		}
		given++
		if reflect.DeepEqual(x.Interface(), y.Interface()) {
			same++
		}
	}
	if given == 0 {
		return 0
	}
	return float64(same) / float64(given)
}

// common is the longest run of entries, in order, that two lists share, as pairs of
// places.
func common(a, b reflect.Value) (pairs [][2]int) {
	is := func(i, j int) bool { return reflect.DeepEqual(a.Index(i).Interface(), b.Index(j).Interface()) }
	head, n, m := 0, a.Len(), b.Len()
	for head < n && head < m && is(head, head) {
		pairs = append(pairs, [2]int{head, head})
		head++
	}
	tail := 0
	for n > head && m > head && is(n-1, m-1) {
		n, m, tail = n-1, m-1, tail+1
	}
	long, same := make([][]int, n-head+1), make([][]bool, n-head)
	for i := range long {
		long[i] = make([]int, m-head+1)
	}
	for i := n - head - 1; i >= 0; i-- {
		same[i] = make([]bool, m-head)
		for j := m - head - 1; j >= 0; j-- {
			if same[i][j] = is(head+i, head+j); same[i][j] {
				long[i][j] = long[i+1][j+1] + 1
			} else {
				long[i][j] = max(long[i+1][j], long[i][j+1])
			}
		}
	}
	for i, j := 0, 0; i < n-head && j < m-head; {
		switch {
		case same[i][j]:
			pairs = append(pairs, [2]int{head + i, head + j})
			i, j = i+1, j+1
		case long[i+1][j] >= long[i][j+1]:
			i++
		default:
			j++
		}
	}
	for k := range tail {
		pairs = append(pairs, [2]int{n + k, m + k})
	}
	return pairs
}
