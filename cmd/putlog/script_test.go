package main

import (
	"flag"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the commands print into the script files")

// TestMain makes putlog a command of the scripts, run in this process image
// with the clock that the script sets in $NOW.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"putlog": func() {
			now, err := time.Parse(time.RFC3339, os.Getenv("NOW"))
			if err != nil {
				panic(err)
			}
			runtime.LockOSThread() // TestCrashAtEveryCall counts the calls of one thread
			os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, now))
		},
	})
}

// TestScripts runs every script of the folder: one topic a file, acts first,
// then what must have been printed. The clock stands at Mon 1 Feb 2027.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "../../testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("NOW", "2027-02-01T09:30:00Z")
			e.Setenv("PUTLOG_BOOK", e.WorkDir+"/book.db")
			e.Setenv("HOME", e.WorkDir)
			e.Setenv("GORACE", "atexit_sleep_ms=0") // else each command ends with a second of sleep
			photos, err := filepath.Abs("../../testdata/photos")
			e.Setenv("PHOTOS", photos)
			return err
		},
	})
}
