package house_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"

	"tidebed/internal/house"
)

// TestHouse reads the import graph of the whole module.
func TestHouse(t *testing.T) {
	text, err := exec.Command("go", "list", "-json=ImportPath,Imports", house.Module+"/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	graph := map[string][]string{}
	for d := json.NewDecoder(strings.NewReader(string(text))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		graph[strings.TrimPrefix(p.ImportPath, house.Module+"/")] = p.Imports
	}
	if len(graph) < 10 {
		t.Fatalf("only %d packages were read", len(graph))
	}
	for _, sentence := range house.Check(graph) {
		t.Error(sentence)
	}
}

func TestCheckFinds(t *testing.T) {
	for _, row := range []struct{ pkg, imports, want string }{
		{"science/water", "tidebed/site", "package science/water imports site, which is not on an earlier line"},
		{"science/fish", "tidebed/science/crop", "package science/fish imports science/crop"},
		{"plan", "tidebed/book", "package plan imports book"},
		{"web", "tidebed/science/food", "package web imports science/food: it holds no formula"},
		{"menu", "github.com/tetratelabs/wazero/api", "which only numeric/lp may"},
		{"meals", "modernc.org/sqlite", "package meals imports modernc.org/sqlite, which only book may"},
		{"cmd/tidebed", "tidebed/science/fish", "package cmd/tidebed imports science/fish: it holds no formula"},
		{"round", "tidebed/web", "package round imports web, which is not on an earlier line"},
		{"money", "tidebed/trays", "package money imports trays, which is not on an earlier line"},
		{"menu", "tidebed/cellar", "package menu imports cellar, which is not on an earlier line"},
		{"menu", "tidebed/numeric/lp/lptest", "package menu imports numeric/lp/lptest, which is for tests"},
		{"cellar", "fmt", "package cellar is on no line"},
	} {
		got := strings.Join(house.Check(map[string][]string{row.pkg: {row.imports}}), "\n")
		if !strings.Contains(got, row.want) {
			t.Errorf("%s importing %s: %q, want %q", row.pkg, row.imports, got, row.want)
		}
	}
	if got := house.Check(map[string][]string{"meals": {"fmt", "tidebed/menu", "tidebed/numeric/lp"}, "evidence": {"tidebed/numeric/lp/lptest"}}); len(got) != 0 {
		t.Errorf("good imports are refused: %v", got)
	}
}
