// Command tidebed is the book and the reckoner for a building in which fish
// tanks feed plant beds. One file a verb; no arithmetic here.
//
// Exit status: 0 good, 1 we failed, 3 the answer is no, 4 bad input (2 is left
// to a crash of the Go runtime).
package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"

	"tidebed/reckoner"
	"tidebed/site"
)

// version is set at link time for a release.
var version = "unreleased"

// The exit statuses.
const (
	exitGood   = 0
	exitFailed = 1
	exitNo     = 3
	exitBad    = 4
)

// bad is an error of the input, with the field it is about.
type bad struct {
	field string
	err   error
}

func (b bad) Error() string { return b.err.Error() }
func (b bad) Unwrap() error { return b.err }

// errNo is the answer no: the result is printed already.
var errNo = errors.New("the answer is no")

// errBadSeen is bad input whose errors are printed already.
var errBadSeen = errors.New("errors are listed above")

// errFailedSeen is a failure of ours that the printed result shows already.
var errFailedSeen = errors.New("failures are listed above")

// streams are where a verb reads and writes.
type streams struct {
	out, err io.Writer
	terminal bool // err is a terminal
}

// json prints v as JSON on standard output.
func (s streams) json(v any) error {
	e := json.NewEncoder(s.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

// commands is the command line.
type commands struct {
	Demo      demoCmd          `cmd:"" help:"Serve the demo building as pages on this machine."`
	Serve     serveCmd         `cmd:"" help:"Serve a site file as pages on this machine."`
	Check     checkCmd         `cmd:"" help:"Check a site file: errors and warnings with their lines."`
	Forecast  forecastCmd      `cmd:"" help:"What becomes of plants, fish and water until the last home-fed days?"`
	Hours     hoursCmd         `cmd:"" help:"How long have the fish when pump or air stop, and what buys time?"`
	Meals     mealsCmd         `cmd:"" help:"Will there be enough to eat on the home-fed days?"`
	Plan      planCmd          `cmd:"" help:"What to sow, stock, put by and take, so that the meals are there."`
	Water     waterCmd         `cmd:"" help:"What will the water of each tank do in the coming weeks, and what is to be dosed?"`
	Test      testCmd          `cmd:"" help:"What does this water test say? test [FILE] key=value…"`
	Heat      heatCmd          `cmd:"" help:"What does the building take in heat and power, what does it cost, and what would help?"`
	Siphon    siphonCmd        `cmd:"" help:"Will each bed flood and drain? With times and a bucket it finds the fault."`
	Timetable timetableCmd     `cmd:"" help:"When does each valve open and for how long, and what if one sticks?"`
	Pump      pumpCmd          `cmd:"" help:"Which pump serves the beds for the least power?"`
	Startup   startupCmd       `cmd:"" help:"When is a new loop ready, and what is to be done each day until then?"`
	Reckon    reckonCmd        `cmd:"" help:"A quick sum: reckon NAME key=value…; alone it lists them."`
	Evidence  evidenceCmd      `cmd:"" help:"Which published values does the program reproduce?"`
	Version   kong.VersionFlag `help:"Print the version."`
}

// common are the flags every verb takes.
type common struct {
	JSON  bool   `name:"json" help:"Print JSON only."`
	Today string `placeholder:"YYYY-MM-DD" help:"The day to speak from. Left out: the date of the file's opening (2027-01-11 in the demo building), never the clock."`
}

// statuses ends every help text.
const statuses = "Exit status: 0 good, 1 we failed, 3 the answer is no, 4 bad input."

// Help is the rest of a verb's help text.
func (c *common) Help() string { return statuses }

// day returns the day to speak from.
func (c common) day(s *site.Site) (site.Date, error) {
	if c.Today == "" {
		if s == nil {
			return site.Date{}, nil
		}
		return s.Opening.Date, nil
	}
	d, err := site.ParseDate(c.Today)
	if err != nil {
		return site.Date{}, bad{"today", fmt.Errorf("--today: %w", err)}
	}
	return d, nil
}

// open reads a site file; "demo" is the demo building.
func open(file string) (*site.Site, []site.Warning, error) {
	name, text, err := textOf(file)
	if err != nil {
		return nil, nil, err
	}
	s, warnings, err := site.Read(name, text)
	if err != nil {
		return nil, warnings, bad{"file", err}
	}
	return s, warnings, nil
}

// textOf is the name of a site file, for messages, and what stands in it.
func textOf(file string) (name string, text []byte, err error) {
	if file == "demo" {
		_, text, err := site.Sample("skerry-house")
		return "skerry-house.yaml", text, err
	}
	text, err = os.ReadFile(file)
	if err != nil {
		return "", nil, bad{"file", fmt.Errorf("read the site file: %w; give the path of a site file, or demo", err)}
	}
	return file, text, nil
}

func main() { os.Exit(run(os.Args[1:])) }

// run carries out one command line and returns the exit status.
func run(args []string) int {
	io := streams{out: os.Stdout, err: os.Stderr}
	if info, err := os.Stderr.Stat(); err == nil {
		io.terminal = info.Mode()&os.ModeCharDevice != 0
	}
	if len(args) == 1 && args[0] == "help" {
		args = []string{"--help"}
	}
	asJSON := false
	for _, a := range args {
		asJSON = asJSON || a == "--json" || a == "--json=true"
	}
	// A quick sum's own help is not the parser's.
	if name, ok := sumHelp(args); ok {
		return finish(io, asJSON, describe(io, name, asJSON))
	}
	var cli commands
	exit := -1
	parser, err := kong.New(&cli,
		kong.Name("tidebed"),
		kong.Description("The book and the reckoner for fish tanks that feed plant beds.\n\n"+statuses),
		kong.Vars{"version": "tidebed " + version},
		kong.Exit(func(code int) { exit = code }),
		kong.Writers(os.Stdout, os.Stderr),
	)
	if err != nil {
		return finish(io, asJSON, err)
	}
	parsed, err := parser.Parse(args)
	if exit >= 0 {
		return exit // help or version was printed
	}
	if err != nil {
		return finish(io, asJSON, bad{"", fmt.Errorf("%w; tidebed --help lists the verbs", err)})
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl+C ends the program at once
	parsed.BindTo(ctx, (*context.Context)(nil))
	return finish(io, asJSON, parsed.Run(io))
}

// finish prints an error where it belongs and returns the exit status.
func finish(s streams, asJSON bool, err error) int {
	var input *reckoner.InputError
	var wrong bad
	switch {
	case err == nil:
		return exitGood
	case errors.Is(err, errNo):
		return exitNo
	case errors.Is(err, errBadSeen):
		return exitBad
	case errors.Is(err, errFailedSeen):
		return exitFailed
	case errors.Is(err, context.Canceled):
		refuse(s, asJSON, "", "stopped before the answer was ready")
		return exitFailed
	case errors.As(err, &input):
		refuse(s, asJSON, input.Field, input.Sentence)
		return exitBad
	case errors.As(err, &wrong):
		refuse(s, asJSON, wrong.field, wrong.Error())
		return exitBad
	}
	refuse(s, asJSON, "", err.Error())
	return exitFailed
}

// refuse says a sentence on standard error, or as JSON on standard output.
func refuse(s streams, asJSON bool, field, sentence string) {
	if asJSON {
		if err := s.json(struct {
			Error string `json:"error"`
			Field string `json:"field"`
		}{sentence, field}); err == nil {
			return
		}
	}
	fmt.Fprintln(s.err, sentence)
}
