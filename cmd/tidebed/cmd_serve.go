package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"syscall"
	"time"

	"tidebed/meals"
	"tidebed/numeric/lp"
	"tidebed/site"
	"tidebed/web"
)

// serving are the flags of the verbs that serve pages.
type serving struct {
	Listen    string `default:"127.0.0.1" help:"Address to listen on; anything but 127.0.0.1 lets others on the network read the pages."`
	Port      int    `default:"8080" help:"Port; when it is taken another is chosen."`
	NoBrowser bool   `help:"Do not open a browser."`
}

type demoCmd struct {
	common
	serving
}

// Run serves the demo building.
func (c *demoCmd) Run(ctx context.Context, s streams) error {
	b, _, err := open("demo")
	if err != nil {
		return err
	}
	return c.serve(ctx, s, c.common, b)
}

type serveCmd struct {
	common
	serving
	File string `arg:"" help:"A site file, or demo."`
}

// Run serves a site file.
func (c *serveCmd) Run(ctx context.Context, s streams) error {
	b, warnings, err := open(c.File)
	if err != nil {
		return err
	}
	for _, w := range warnings {
		fmt.Fprintln(s.err, "warning: "+site.Problem(w).Error())
	}
	return c.serve(ctx, s, c.common, b)
}

func (v serving) serve(ctx context.Context, s streams, c common, b *site.Site) error {
	if v.Port < 0 || v.Port > 65535 {
		return bad{"port", fmt.Errorf("--port %d: give 0 to 65535", v.Port)}
	}
	today, err := c.day(b)
	if err != nil {
		return err
	}
	pool := lp.NewPool(2)
	defer pool.Close()
	handler, err := web.New(web.Config{
		Site: b, Today: today, Version: version,
		Answer: func(context.Context) (*meals.Answer, error) { // stops with the program, not with a reader
			return meals.Forecast(ctx, pool, b, today, nil)
		},
		Entries: web.Reckoner(), RunSum: web.RunReckoner, Evidence: web.RunEvidence,
	})
	if err != nil {
		return err
	}
	listener, err := net.Listen("tcp", net.JoinHostPort(v.Listen, strconv.Itoa(v.Port)))
	if errors.Is(err, syscall.EADDRINUSE) {
		fmt.Fprintf(s.err, "port %d is taken; another is chosen\n", v.Port)
		listener, err = net.Listen("tcp", net.JoinHostPort(v.Listen, "0"))
	}
	if err != nil {
		return bad{"listen", fmt.Errorf("listen on %s: %w", v.Listen, err)}
	}
	address := "http://" + listener.Addr().String() + "/"
	if c.JSON {
		if err := s.json(map[string]string{"address": address}); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(s.out, "%s is at %s (stop with Ctrl+C)\n", b.Name, address)
	}
	if !v.NoBrowser && (os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != "") {
		go exec.Command("xdg-open", address).Run() // without one the address is opened by hand
	}
	server := &http.Server{
		Handler: handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute,
		BaseContext: func(net.Listener) context.Context { return ctx }, // readers who wait are let go on a stop
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serve pages: %w", err)
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		return server.Close() // whoever still reads after that long is cut off
	}
	return nil
}
