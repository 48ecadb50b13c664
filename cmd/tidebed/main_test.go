package main

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

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
			// weather FILE writes a year of plain hours near the demo building.
			"weather": func(ts *testscript.TestScript, neg bool, args []string) {
				var b strings.Builder
				b.WriteString("# place: Testing Head\n# source: hours of Testing Head, invented\n# latitude_deg: 54.3\n# longitude_deg: -8.5\n# elevation_m: 10\n# utc_offset_h: 0\n# typical: yes\ntime,temp_c,rh_percent,global_w_m2,wind_m_s\n")
				for h := range 365 * 24 {
					at := time.Date(2027, 1, 1, h, 0, 0, 0, time.UTC)
					const deg = math.Pi / 180
					tilt, angle := -23.4*deg*math.Cos(2*math.Pi*float64(h+240)/8760), 15*deg*(float64(at.Hour())+0.5-12-8.5/15)
					global := 650 * math.Max(0, math.Sin(54.3*deg)*math.Sin(tilt)+math.Cos(54.3*deg)*math.Cos(tilt)*math.Cos(angle))
					fmt.Fprintf(&b, "%s,%.1f,80,%.0f,3\n", at.Format("2006-01-02T15:04"), 8-6*math.Cos(2*math.Pi*float64(h)/8760), global)
				}
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o600))
			},
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
