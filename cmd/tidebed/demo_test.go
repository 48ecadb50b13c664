package main

import (
	"bufio"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestDemoOnTakenPort starts the demo where another program listens already:
// it says so, chooses another port, shows the answer, and stops when told to.
func TestDemoOnTakenPort(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	port := taken.Addr().(*net.TCPAddr).Port
	cmd := exec.Command(os.Args[0], "-test.run=^TestRunAsTidebed$")
	cmd.Env = append(os.Environ(), "TIDEBED_ARGS=demo --no-browser --port "+strconv.Itoa(port))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var said strings.Builder
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer cmd.Process.Kill()
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("it ended without an address: %v, %v", err, cmd.Wait())
	}
	_, rest, ok := strings.Cut(line, " is at ")
	if !ok {
		t.Fatalf("it said %q", line)
	}
	address, _, _ := strings.Cut(rest, " ")
	if strings.Contains(address, ":"+strconv.Itoa(port)+"/") {
		t.Errorf("it took the taken port: %s", address)
	}
	for page, want := range map[string]string{
		"": "of the energy they need", "building": "north", "sums": "energy", "trust": "published",
		"sums/resting-energy?sex=male&age=40&weight=80+kg&height=1.8+m": "730", "sums/crop-energy": "crop",
	} {
		var body string
		for range 30 { // the first answer may show the working page
			r, err := http.Get(address + page)
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(r.Body)
			r.Body.Close()
			if err != nil || r.StatusCode != http.StatusOK {
				t.Fatalf("%s: %s, %v", page, r.Status, err)
			}
			if body = string(text); strings.Contains(body, want) {
				break
			}
			time.Sleep(time.Second)
		}
		if !strings.Contains(body, want) {
			t.Errorf("page %q does not show %q", page, want)
		}
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("told to stop it ended with %v", err)
	}
	if text := said.String(); !strings.Contains(text, "port "+strconv.Itoa(port)+" is taken") {
		t.Errorf("it does not say that the port is taken: %q", text)
	}
}

// TestRunAsTidebed is the program itself, when TestDemoOnTakenPort starts it.
func TestRunAsTidebed(t *testing.T) {
	if args := os.Getenv("TIDEBED_ARGS"); args != "" {
		os.Exit(run(strings.Fields(args)))
	}
}
