package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
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
