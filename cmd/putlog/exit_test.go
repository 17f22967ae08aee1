package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"putlog/testdata/race"
)

// exitJob is a job that has begun by the clock of these tests.
const exitJob = `job: shed
region: england-and-wales
start: 2027-03-01
contract: {sum: 9800.00, vat: 20}
stages:
  - {stage: dig, takes: 2d}
  - {stage: see, kind: inspection, notice: 1, after: [dig]}
  - {stage: cure, kind: wait, takes: 72h, after: [see]}
entries:
  - {on: 2027-03-01, accepted: {}}
  - {on: 2027-03-01, started: {stage: dig}}
`

// exitClock is Wed 10 Mar 2027.
var exitClock = time.Date(2027, 3, 10, 9, 30, 0, 0, time.UTC)

// inFolder moves the test to a folder of its own with a book that holds the job.
func inFolder(t *testing.T) {
	t.Helper()
	t.Chdir(t.TempDir())
	t.Setenv("PUTLOG_BOOK", "book.db")
	t.Setenv("HOME", t.TempDir())
	for name, text := range map[string]string{"shed.yaml": exitJob, "bad.yaml": "job: [", "text.txt": "not a book\n",
		"entries.yaml": "- {on: 2027-03-10, payment: {amount: 100.00}}\n",
		"wrong.yaml":   "- {on: 2027-03-10, payment: {amount: 100.00}}\n- {on: 2027-03-10, notice: {stage: dig}}\n",
		"v.yaml":       "title: x\nasked-by: client\ncost: client\ntime: client\n"} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if code, _, errOut := putlog(t, "", "job", "load", "shed.yaml"); code != exitDone {
		t.Fatal(errOut)
	}
}

// putlog runs the program and holds what it prints to what every run promises:
// no trace of a crash, and on a refusal nothing on standard output and what is
// wrong on standard error.
func putlog(t *testing.T, in string, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(args, strings.NewReader(in), &o, &e, exitClock)
	out, errOut = o.String(), e.String()
	for _, word := range []string{"panic", "goroutine", "runtime error", ".go:"} {
		if strings.Contains(out+errOut, word) {
			t.Errorf("%q prints %q:\n%s%s", args, word, out, errOut)
		}
	}
	switch {
	case code == exitDone:
	case out != "":
		t.Errorf("%q is refused with %d and prints an answer:\n%s", args, code, out)
	case !strings.HasPrefix(errOut, "putlog: "):
		t.Errorf("%q is refused with %d and does not say why: %q", args, code, errOut)
	}
	return code, out, errOut
}

// exits are commands as they are typed, and how each must end.
var exits = []struct {
	line string // words parted by blanks; '_' in a word is a blank
	code int
}{
	// done
	{"plan shed", exitDone}, {"plan shed --json", exitDone}, {"plan shed --screen 80", exitDone},
	{"job list", exitDone}, {"job export shed", exitDone}, {"job templates", exitDone}, {"today", exitDone},
	{"notices", exitDone}, {"daybook shed", exitDone}, {"moved shed", exitDone}, {"account shed", exitDone},
	{"exposure shed", exitDone}, {"variation list shed", exitDone}, {"variation try shed --file v.yaml", exitDone},
	{"why shed", exitDone}, {"why shed see", exitDone}, {"check", exitDone}, {"--version", exitDone},
	{"--help", exitDone}, {"help plan", exitDone}, {"start --help", exitDone}, {"", exitDone},
	{"notice shed see", exitDone}, {"finish shed dig --on 2027-03-04", exitDone}, {"record shed entries.yaml", exitDone},
	{"paid shed 20 --note well_done", exitDone}, {"closed shed --from 2027-03-08 --to 2027-03-08", exitDone},
	{"variation raise shed --file v.yaml", exitDone}, {"variation instruct shed V1", exitDone},
	{"variation agree shed V1", exitDone}, {"variation carried-out shed V1", exitDone},
	{"inspected shed see fail", exitDone}, {"inspected shed see pass", exitDone}, {"strike shed 3", exitDone},
	{"calendar --region scotland --year 2026", exitDone}, {"wait screed --type sand-cement --thickness 65mm", exitDone},

	// refused: the job, the stage, the rule
	{"plan shad", exitRefused}, {"why shed sea", exitRefused}, {"start shad dig", exitRefused},
	{"start shed digg", exitRefused}, {"start shed dig", exitRefused}, {"accept shed", exitRefused},
	{"notice shed dig", exitRefused}, {"finish shed dig --on 2027-03-11", exitRefused},
	{"left shed cure 1d", exitRefused}, {"left shed dig 0d", exitRefused}, {"inspected shed dig pass", exitRefused},
	{"closed shed --from 2027-03-09 --to 2027-03-08", exitRefused},
	{"closed shed --from 2027-03-08 --to 2027-03-09 --who nobody", exitRefused}, {"paid shed 0", exitRefused},
	{"paid shed -- -5", exitRefused}, {"strike shed 99", exitRefused}, {"record shed wrong.yaml", exitRefused},
	{"record shed bad.yaml", exitRefused}, {"record shed nowhere.yaml", exitRefused}, {"record shed .", exitRefused},
	{"record shed v.yaml", exitRefused}, {"job load shed.yaml", exitRefused}, {"job load bad.yaml", exitRefused},
	{"job load nowhere.yaml", exitRefused}, {"job export shad", exitRefused}, {"moved shed --as-at 2027-02-01", exitRefused},
	{"variation instruct shed V9", exitRefused}, {"variation decline shed V1", exitRefused},
	{"variation raise shed --file bad.yaml", exitRefused}, {"variation try shed --file nowhere.yaml", exitRefused},
	{"variation raise shed --title x --asked-by client --cost client --time client --drop nothing", exitRefused},
	{"variation raise shed --title x --asked-by client --cost client=101 --time client", exitRefused},
	{"account shad --json", exitRefused},

	// typed wrong
	{"plan", exitUsage}, {"plan shed please", exitUsage}, {"plan shed --jsno", exitUsage}, {"plan shed -x", exitUsage},
	{"pland shed", exitUsage}, {"job", exitUsage}, {"job lst", exitUsage}, {"variation", exitUsage},
	{"variation rais shed", exitUsage}, {"plan shed --as-at tomorrow", exitUsage}, {"plan shed --as-at 2100-01-01", exitUsage}, {"plan shed --as-at", exitUsage},
	{"start shed dig --on 2027-02-30", exitUsage}, {"start shed dig --at noon", exitUsage}, {"start shed", exitUsage},
	{"left shed dig", exitUsage}, {"left shed dig some", exitUsage}, {"left shed dig -1d", exitRefused},
	{"inspected shed see maybe", exitUsage}, {"inspected shed see fail --bearer us", exitUsage},
	{"closed shed", exitUsage}, {"paid shed much", exitUsage}, {"paid shed -5", exitRefused}, {"temperature shed -2", exitDone}, {"strike shed one", exitUsage},
	{"strike shed 0", exitUsage}, {"variation raise shed", exitUsage}, {"plan shed --screen wide", exitUsage},
	{"variation raise shed --title x --asked-by me --cost client --time client", exitUsage},
	{"variation raise shed --title x --asked-by client --cost client --time client --labour digging", exitUsage},
	{"variation raise shed --title x --asked-by client --cost client --time client --add pin", exitUsage},

	// the book can't be read or written
	{"plan shed --book none.db", exitBook}, {"plan shed --book text.txt", exitBook}, {"job list --book .", exitBook},
	{"start shed dig --book text.txt", exitBook}, {"start shed dig --book text.txt/book.db", exitBook},
	{"job load shed.yaml --book text.txt/book.db", exitBook}, {"check --book none.db", exitBook},
	{"record shed entries.yaml --book .", exitBook},
}

// TestExitCodes: 0 done, 1 refused, 2 typed wrong, 3 the book; a refusal writes
// nothing, neither an answer nor into the book.
func TestExitCodes(t *testing.T) {
	inFolder(t)
	seen := map[int]int{}
	for _, e := range exits {
		args := strings.Fields(e.line)
		for i := range args {
			args[i] = strings.ReplaceAll(args[i], "_", " ")
		}
		before := readBook(t)
		code, _, errOut := putlog(t, "", args...)
		if code != e.code {
			t.Errorf("%q ends with %d, want %d: %s", e.line, code, e.code, errOut)
		}
		if code != exitDone && !bytes.Equal(readBook(t), before) {
			t.Errorf("%q is refused and changed the book", e.line)
		}
		seen[code]++
	}
	if len(seen) != 4 {
		t.Errorf("seen %v", seen)
	}
	if _, err := os.Stat("none.db"); err == nil {
		t.Error("a book was made to be read")
	}
}

func readBook(t *testing.T) []byte {
	t.Helper()
	text, err := os.ReadFile("book.db")
	if err != nil {
		t.Fatal(err)
	}
	if rest, _ := filepath.Glob("book.db-*"); len(rest) > 0 {
		t.Errorf("left beside the book: %v", rest)
	}
	return text
}

// hostile are texts that no builder types and that must do no harm.
var hostile = []string{"", "a\x00b", "\xff\xfe", "\x1b[31mred", "two\nlines\ttab", "\u202eback", "#no: comment",
	"- {a: b", "&anchor *alias !!tag", "it's \"quoted\" \\ and %s %d", "null", "010", "\U0001F9F1½²",
	strings.Repeat("x", 70_000), "\ufeff---\r\n"}

// TestHostileTexts: whatever text comes by a flag is kept or refused, and the
// book can be read afterwards.
func TestHostileTexts(t *testing.T) {
	race.Skip(t)
	inFolder(t)
	variation := func(more ...string) []string {
		return append([]string{"variation", "raise", "shed", "--asked-by", "client", "--cost", "client",
			"--time", "client"}, more...)
	}
	closed := func(more ...string) []string {
		return append([]string{"closed", "shed", "--from", "2027-03-08", "--to", "2027-03-08"}, more...)
	}
	kept := 0
	for _, text := range hostile {
		for _, args := range [][]string{
			{text}, {"plan", text}, {"plan", "shed", "--as-at", text}, {"start", "shed", text}, {"paid", "shed", text},
			{"paid", "shed", "1", "--note", text}, closed("--why", text), closed("--who", text),
			{"inspected", "shed", "see", "fail", "--note", text, "--seen-by", text},
			variation("--title", text, "--because", text, "--from", text), variation("--title", "x", "--number", text),
			variation("--title", "x", "--labour", text+",1,day,5"), variation("--title", "x", "--add", text+",1d"),
			variation("--title", "x", "--add", "n,1d,title="+text), variation("--title", "x", "--drop", text),
			{"variation", "instruct", "shed", text}, {"record", "shed", "-"}, {"job", "load", "-"},
		} {
			if code, _, _ := putlog(t, text, args...); code == exitDone {
				kept++
			}
		}
		if code, _, errOut := putlog(t, "", "daybook", "shed", "--screen", "80"); code != exitDone {
			t.Fatalf("after %.40q the book can't be read: %s", text, errOut)
		}
	}
	code, file, _ := putlog(t, "", "job", "export", "shed")
	if code != exitDone || kept < len(hostile) {
		t.Fatalf("export ends with %d; %d texts kept", code, kept)
	}
	if code, _, errOut := putlog(t, file, "job", "load", "-", "--book", "second.db"); code != exitDone {
		t.Fatalf("what was exported does not load: %.600s", errOut)
	}
	if _, again, _ := putlog(t, "", "job", "export", "shed", "--book", "second.db"); again != file {
		t.Error("exported again it is not the same")
	}
}

// TestAnyScreen lays every screen out for the narrowest and the widest that may
// be asked for, and for ones that no screen is.
func TestAnyScreen(t *testing.T) {
	inFolder(t)
	for _, width := range []string{"-5", "1", "31", "39", "41", "1000000000"} {
		for _, line := range []string{"plan shed", "why shed", "today", "notices", "daybook shed", "moved shed",
			"account shed", "job list", "job templates", "basis shed", "ask shed", "exposure shed", "drying shed",
			"wait adhesive", "calendar --region scotland --year 2027"} {
			code, out, errOut := putlog(t, "", append(strings.Fields(line), "--screen", width)...)
			columns, _ := strconv.Atoi(width)
			wide := tooWide(out, min(max(columns, narrowest), widest))
			if code != exitDone || len(out) > 100_000 || wide != "" {
				t.Errorf("%s --screen %s: exit %d, %d bytes, %s%s", line, width, code, len(out), errOut, wide)
			}
		}
	}
}
