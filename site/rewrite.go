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
// comment lines above it kept, those inside it and beside it not. Entries of a list
// that are alike stay, the others go or come.
//
// kept is false where text could not be kept: it does not read, is of an older schema
// or is laid out such that the result would not read as s; then out is that of Write.
// The error is that of Write.
func Rewrite(text []byte, s *Site) (out []byte, kept bool, err error) {
	plain, err := Write(s)
	if err != nil {
		return nil, false, err
	}
	want, _, err := Read("", plain)
	if err != nil { // what does not read has nothing to be held against
		return plain, false, nil
	}
	old, _, err := Read("", text)
	if err != nil {
		return plain, false, nil
	}
	root, problems := parse(text)
	if len(problems) > 0 || root.kind != mapping {
		return plain, false, nil
	}
	r := rewriter{currency: s.Currency}
	for line := range strings.Lines(string(text)) {
		if !strings.HasSuffix(line, "\n") {
			line += "\n"
		}
		r.lines = append(r.lines, line)
	}
	r.structure(root, 0, len(r.lines), reflect.ValueOf(old).Elem(), reflect.ValueOf(want).Elem())
	got, _, err := Read("", r.out.Bytes())
	if r.lost || err != nil || !reflect.DeepEqual(got, want) {
		return plain, false, nil
	}
	return r.out.Bytes(), true, nil
}

// rewriter puts a text together of lines kept and lines written anew. Lines count from 0.
type rewriter struct {
	lines    []string
	out      bytes.Buffer
	currency string
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

// aside says whether a line holds a comment or nothing.
func aside(line string) bool {
	text := strings.TrimSpace(line)
	return text == "" || strings.HasPrefix(text, "#")
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
		if starts[i] < least || starts[i] >= to { // two keys in a line
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
	r.out.Write(w.out.Bytes())
}

// dash is the line on which an entry of a list begins, -1 when it shares one.
func (r *rewriter) dash(item *node, least int) int {
	for i := item.line - 1; i >= least; i-- {
		text := strings.TrimSpace(r.lines[i])
		if text == "-" || strings.HasPrefix(text, "- ") {
			return i
		}
		if !aside(r.lines[i]) {
			break
		}
	}
	return -1
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
	i, j := 0, 0
	for _, pair := range common(old, want) {
		for ; j < pair[1]; j++ {
			r.entry(want.Index(j), pad, braces)
		}
		i, j = pair[0]+1, j+1
		r.keep(starts[pair[0]], starts[i])
	}
	for ; j < want.Len(); j++ {
		r.entry(want.Index(j), pad, braces)
	}
	r.keep(end, to)
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
	r.out.WriteString(pad + "- " + text)
}

// common is the longest run of entries, in order, that two lists share, as pairs of
// places.
func common(a, b reflect.Value) (pairs [][2]int) {
	n, m := a.Len(), b.Len()
	alike := func(i, j int) bool { return reflect.DeepEqual(a.Index(i).Interface(), b.Index(j).Interface()) }
	long := make([][]int, n+1)
	for i := range long {
		long[i] = make([]int, m+1)
	}
	same := make([][]bool, n)
	for i := n - 1; i >= 0; i-- {
		same[i] = make([]bool, m)
		for j := m - 1; j >= 0; j-- {
			if same[i][j] = alike(i, j); same[i][j] {
				long[i][j] = long[i+1][j+1] + 1
			} else {
				long[i][j] = max(long[i+1][j], long[i][j+1])
			}
		}
	}
	for i, j := 0, 0; i < n && j < m; {
		switch {
		case same[i][j]:
			pairs = append(pairs, [2]int{i, j})
			i, j = i+1, j+1
		case long[i+1][j] >= long[i][j+1]:
			i++
		default:
			j++
		}
	}
	return pairs
}
