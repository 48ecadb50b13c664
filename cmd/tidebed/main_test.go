package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tidebed": main})
}

// TestScripts runs each script of testdata/script at a prompt.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			cache, err := os.UserCacheDir() // the solver's compiled form
			if err != nil {
				return err
			}
			e.Setenv("XDG_CACHE_HOME", cache)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			// status WANT COMMAND… runs a command and holds its exit status.
			"status": func(ts *testscript.TestScript, neg bool, args []string) {
				err := ts.Exec(args[1], args[2:]...)
				got := "0"
				if err != nil {
					got = err.Error()
				}
				if want := args[0]; got != want && got != "exit status "+want {
					ts.Fatalf("%v: %s, want status %s", args[1:], got, want)
				}
			},
		},
	})
}
