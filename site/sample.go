package site

import (
	"embed"
	"fmt"
	"path"
	"strings"
)

//go:embed samples/*.yaml
var sampleFiles embed.FS

// Samples returns the names of the invented buildings that come with the
// program, for Sample.
func Samples() []string {
	entries, err := sampleFiles.ReadDir("samples")
	if err != nil {
		return nil // embedded: the folder is always there
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), path.Ext(e.Name())))
	}
	return names
}

// Sample returns an invented building, read, and its text as written by hand.
// The error for an unknown name lists those there are.
func Sample(name string) (*Site, []byte, error) {
	text, err := sampleFiles.ReadFile("samples/" + name + ".yaml")
	if err != nil {
		return nil, nil, fmt.Errorf("sample %q: there is none of that name; there are %s", name, quote(Samples()))
	}
	s, _, err := Read(name+".yaml", text)
	if err != nil {
		return nil, nil, fmt.Errorf("sample %q: %w", name, err)
	}
	return s, text, nil
}
