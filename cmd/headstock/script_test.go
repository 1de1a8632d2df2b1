package main

import (
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"headstock/demo"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"headstock": func() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr, false)) },
	})
}

// Whole sessions: commands, their output and their exit status.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			// railway FOLDER: the records of the demo railway as a folder that can be changed
			"railway": func(ts *testscript.TestScript, neg bool, args []string) {
				ts.Check(os.CopyFS(ts.MkAbs(args[0]), demo.Railway()))
			},
			// change FILE OLD NEW: puts other words in the place of those that must be there; \n in
			// NEW is a new line
			"change": func(ts *testscript.TestScript, neg bool, args []string) {
				text := ts.ReadFile(args[0])
				if !strings.Contains(text, args[1]) {
					ts.Fatalf("%s does not hold %q", args[0], args[1])
				}
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Replace(text, args[1], strings.ReplaceAll(args[2], `\n`, "\n"), 1)), 0o644))
			},
			// until N FILE: waits until a file has at least N lines
			"until": func(ts *testscript.TestScript, neg bool, args []string) {
				n, err := strconv.Atoi(args[0])
				ts.Check(err)
				for lines := 0; lines < n; time.Sleep(10 * time.Millisecond) {
					text, _ := os.ReadFile(ts.MkAbs(args[1])) // it may not be there yet
					lines = strings.Count(string(text), "\n")
				}
			},
			// status N command…: runs the command and wants exit status N
			"status": func(ts *testscript.TestScript, neg bool, args []string) {
				err := ts.Exec(args[1], args[2:]...)
				got := "0"
				if e, ok := err.(interface{ ExitCode() int }); ok {
					got = string(rune('0' + e.ExitCode()))
				} else if err != nil {
					ts.Fatalf("%v", err)
				}
				if got != args[0] {
					ts.Fatalf("exit status %s, want %s", got, args[0])
				}
			},
		},
	})
}
