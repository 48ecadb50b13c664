package site

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// maxBytes bounds the text of a description, so that a wrong file given by
// mistake is refused at once.
const maxBytes = 4 << 20

// maxDepth bounds the nesting of a description, whose own is at most 6.
const maxDepth = 32

type nodeKind int

const (
	nothing nodeKind = iota // the key stands there without a value
	scalar
	mapping
	sequence
)

// node is a value of the file with the line on which it stands.
type node struct {
	kind    nodeKind
	line    int
	text    string // of a scalar, as typed, without quotes
	entries []entry
	items   []*node
}

// entry is a key of a mapping with its value.
type entry struct {
	key   string
	line  int
	value *node
}

// get returns the value of the first entry with that key, or nil.
func (n *node) get(key string) *node {
	for _, e := range n.entries {
		if e.key == key {
			return e.value
		}
	}
	return nil
}

// parse turns text into a tree. The tree is nil when there is a problem with
// the text as a whole.
func parse(text []byte) (root *node, problems Problems) {
	refuse := func(line int, message string) (*node, Problems) {
		return nil, Problems{{Line: line, Message: message}}
	}
	if len(text) > maxBytes {
		return refuse(0, fmt.Sprintf("the file has %d bytes; a description has at most %d", len(text), maxBytes))
	}
	if !utf8.Valid(text) {
		for i, line := range strings.Split(string(text), "\n") {
			if !utf8.ValidString(line) {
				return refuse(i+1, "the text is not UTF-8; save the file in that encoding")
			}
		}
	}
	// The parser counts a comment that ends in \r\n as two lines.
	file, err := parseYAML(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n")))
	if err != nil {
		line, message := 0, err.Error()
		var syntax yaml.Error
		if errors.As(err, &syntax) {
			message = syntax.GetMessage()
			if t := syntax.GetToken(); t != nil && t.Position != nil {
				line = t.Position.Line
			}
		}
		if tab := tabLine(string(text)); tab > 0 {
			return refuse(tab, "a tab stands before the first word of this line; indent with spaces only")
		}
		return refuse(line, "this is not YAML: "+message)
	}
	var bodies []ast.Node
	for _, doc := range file.Docs {
		if doc.Body != nil && doc.Body.Type() != ast.CommentType && doc.Body.Type() != ast.NullType {
			bodies = append(bodies, doc.Body)
		}
	}
	switch {
	case len(bodies) == 0:
		return refuse(1, "the file is empty; it starts with `schema: 1` and `name: …`")
	case len(bodies) > 1:
		return refuse(lineOf(bodies[1]), "a second document starts here; a file describes one building")
	}
	b := treeBuilder{}
	root = b.build(bodies[0], 0)
	if len(b.problems) > 0 {
		return nil, b.problems
	}
	if root.kind != mapping {
		return refuse(root.line, "the file must be a list of keys with their values, such as `name: Skerry House`")
	}
	return root, nil
}

// parseYAML guards against a parser that gives up without an error on broken
// text, which is a person's data and must be answered with a sentence.
func parseYAML(text []byte) (file *ast.File, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("the text is too broken to tell where (%v)", r)
		}
	}()
	return parser.ParseBytes(text, 0, parser.AllowDuplicateMapKey())
}

// tabLine returns the first line, from 1, with a tab in its indentation, or 0.
func tabLine(text string) int {
	n := 0
	for line := range strings.Lines(text) {
		n++
		body := strings.TrimLeft(line, " \t")
		if strings.Contains(line[:len(line)-len(body)], "\t") && strings.TrimSpace(body) != "" {
			return n
		}
	}
	return 0
}

func lineOf(n ast.Node) int {
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 && m.Values[0].Key != nil {
		return lineOf(m.Values[0].Key) // the node's own token is a later colon
	}
	if v, ok := n.(*ast.MappingValueNode); ok && v.Key != nil {
		return lineOf(v.Key)
	}
	if t := n.GetToken(); t != nil && t.Position != nil {
		return t.Position.Line
	}
	return 0
}

type treeBuilder struct{ problems Problems }

func (b *treeBuilder) refuse(line int, given, message string) *node {
	b.problems = append(b.problems, Problem{Line: line, Given: given, Message: message})
	return &node{line: line}
}

func (b *treeBuilder) build(from ast.Node, depth int) *node {
	if from == nil {
		return &node{}
	}
	line := lineOf(from)
	if depth > maxDepth {
		return b.refuse(line, "", fmt.Sprintf("the file is nested deeper than %d levels", maxDepth))
	}
	switch v := from.(type) {
	case *ast.NullNode:
		return &node{line: line}
	case *ast.StringNode:
		return &node{kind: scalar, line: line, text: v.Value}
	case *ast.LiteralNode:
		return &node{kind: scalar, line: line, text: v.Value.Value}
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return &node{kind: scalar, line: line, text: v.GetToken().Value}
	case *ast.MappingNode:
		return b.mapping(line, v.Values, depth)
	case *ast.MappingValueNode:
		return b.mapping(line, []*ast.MappingValueNode{v}, depth)
	case *ast.SequenceNode:
		out := &node{kind: sequence, line: line}
		for _, item := range v.Values {
			out.items = append(out.items, b.build(item, depth+1))
		}
		return out
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode:
		given := from.GetToken().Value
		return b.refuse(line, given, fmt.Sprintf("%q: anchors, aliases and type tags of YAML have no meaning here; write the value out", given))
	}
	return b.refuse(line, "", fmt.Sprintf("a %s has no meaning here", strings.ToLower(from.Type().String())))
}

func (b *treeBuilder) mapping(line int, values []*ast.MappingValueNode, depth int) *node {
	out := &node{kind: mapping, line: line}
	for _, v := range values {
		if v.Key.IsMergeKey() {
			b.refuse(lineOf(v.Key), "<<", "`<<` has no meaning here; write the keys out")
			continue
		}
		key := b.build(v.Key, depth+1)
		if key.kind != scalar {
			b.refuse(key.line, "", "a key must be a plain word")
			continue
		}
		value := b.build(v.Value, depth+1)
		if value.line == 0 {
			value.line = key.line
		}
		out.entries = append(out.entries, entry{key: key.text, line: key.line, value: value})
	}
	return out
}
