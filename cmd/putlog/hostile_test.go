package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"putlog/jobs"
	"putlog/jobs/form"
	"putlog/testdata/race"
)

// takenTexts are what a person, or a file from elsewhere, may put into a text to
// be taken for something else: markup, formulas, the lines of a calendar or of
// this program, paths, commands, characters that can't be seen.
var takenTexts = []string{
	`</title></svg><script>alert(1)</script>"><img src=x onerror=alert(1)>' onmouseover='x javascript:alert(1)`,
	"=HYPERLINK(1)\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:forged\r\n",
	"\t+cmd|' /C calc'!A0\nputlog: forged\ntry: forged",
	"@SUM(1) ../x ..\\x C:\\x CON %s%d%!n $(reboot) `id` {{.}}",
	"-1\u2028\u2029\u200b\ufeff a\u0301\u0301\u0301\u0301\u0301 \U0001F3E0\u200d \u00ad\u3164",
	"\rforged",
}

// refusedTexts hold what no text may.
var refusedTexts = []string{
	"\x1b[2J", "\x1b]8;;http://x\x1b\\y\x1b]8;;\x1b\\", "\x1b]52;c;eA==\x07", "\u009b2J", "a\b\bb", "\x07",
	"\u202ereversed", "\u2066a\u2069", "\u200fa", "\u061ca", "\xff\xfe", "\x00", "\x7f",
}

// unseen finds what no output may hold.
func unseen(text string) string {
	for at, r := range text {
		_, size := utf8.DecodeRuneInString(text[at:])
		if r == '\n' || r == '\t' || r == utf8.RuneError && size > 1 {
			continue
		}
		if form.CheckText(text[at:at+size]) != nil || r == '\r' {
			return fmt.Sprintf("%+q after %q", r, text[max(0, at-30):at])
		}
	}
	return ""
}

// typeEach puts the texts, one after the other, into every field of a job in
// which a person types. A field that it does not know fails.
func typeEach(t *testing.T, v reflect.Value, key string, next func() string) {
	t.Helper()
	typed := strings.Fields("title trade reckoning notes why note seen-by because what unit says question")
	names := strings.Fields("job stage calendar lag-on who name item number variation from to before")
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			typeEach(t, v.Elem(), key, next)
		}
	case reflect.Slice:
		for i := range v.Len() {
			typeEach(t, v.Index(i), key, next)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if field := v.Type().Field(i); field.IsExported() {
				name, _, _ := strings.Cut(field.Tag.Get("form"), ",")
				typeEach(t, v.Field(i), name, next)
			}
		}
	case reflect.String:
		switch {
		case v.Type() != reflect.TypeFor[string](), slices.Contains(names, key):
		case slices.Contains(typed, key):
			v.SetString(next())
		default:
			t.Fatalf("is %q typed by a person, or does it name something?", key)
		}
	}
}

// hostileArgs is a command line with its texts replaced.
func hostileArgs(line string, next func() string) []string {
	args := typed(line)
	quoted := strings.Split(line, `"`)
	for i, arg := range args {
		free := len(quoted) > 1 && slices.Contains(quoted, arg) && strings.Contains(line, `"`+arg+`"`)
		kind, rest, priced := strings.Cut(arg, ",")
		before := args[max(0, i-1)]
		switch {
		case free && slices.Contains([]string{"--labour", "--material", "--subcontract"}, before) && priced && kind != "":
			args[i] = strings.ReplaceAll(next(), ",", ";") + "," + rest
		case free && !strings.HasPrefix(before, "--add"):
			args[i] = next()
		case slices.Contains([]string{"--note", "--why", "--title", "--because"}, before):
			args[i] = next()
		}
	}
	return args
}

// hostileFolder is a folder to work in, the only one in its own, with the files
// that the calls read; photo is a picture with a name to match.
func hostileFolder(t *testing.T, next func() string) (photo string) {
	t.Helper()
	folder := filepath.Join(t.TempDir(), "work")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	t.Chdir(folder)
	j, err := jobs.ReadJob("barn.yaml", []byte(answerFiles["barn.yaml"]))
	if err != nil {
		t.Fatal(err)
	}
	typeEach(t, reflect.ValueOf(j).Elem(), "", next)
	files := map[string]string{"barn.yaml": string(j.File()), "rates.csv": answerFiles["rates.csv"],
		"more.yaml": answerFiles["more.yaml"], "note.txt": answerFiles["note.txt"]}
	photo = "=dig<b>\u202e\x1b[2J'; .jpg"
	files[photo] = answerFiles["dig.jpg"]
	for name, text := range files {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return photo
}

// TestTakenTexts types hostile texts wherever a person may type, runs every
// command there is (those of answerCalls, from which none may be missing) as
// into a pipe, on a screen and for a program, and looks at all that comes out.
func TestTakenTexts(t *testing.T) {
	race.Skip(t)
	now := time.Date(2027, 4, 1, 9, 30, 0, 0, time.UTC)
	for turn, flags := range [][]string{nil, {"--screen", "70"}, {"--json"}} {
		t.Run(fmt.Sprint(flags), func(t *testing.T) {
			count := turn
			next := func() string {
				count++
				return takenTexts[count%len(takenTexts)]
			}
			var all strings.Builder
			photo := hostileFolder(t, next)
			for _, c := range answerCalls {
				args := append(hostileArgs(strings.ReplaceAll(c.line, "dig.jpg", "PHOTO"), next), "--book", "book.db")
				for i := range args {
					args[i] = strings.ReplaceAll(args[i], "PHOTO", photo)
				}
				var out, errOut bytes.Buffer
				code := run(append(args, flags...), strings.NewReader(""), &out, &errOut, now)
				if code != exitDone {
					t.Fatalf("%q: exit %d\n%s", args, code, errOut.String())
				}
				all.Write(out.Bytes())
				looksHarmless(t, c.line, out.String(), errOut.String(), turn == 2)
			}
			for _, text := range []string{"forged", "alert(1)", "HYPERLINK", "../x"} {
				if !strings.Contains(all.String(), text) {
					t.Errorf("%q was printed nowhere: the texts were not typed", text)
				}
			}
			filesHarmless(t)
		})
	}
}

// looksHarmless looks at what a command printed.
func looksHarmless(t *testing.T, line, out, errOut string, isJSON bool) {
	t.Helper()
	file := strings.HasSuffix(line, "export") || strings.Contains(line, "--to") || strings.HasPrefix(line, "dates mill") ||
		strings.HasPrefix(line, "job export")
	for what, text := range map[string]string{"stdout": out, "stderr": errOut} {
		if found := unseen(text); found != "" && !(file && !isJSON && strings.HasPrefix(found, `'\r'`)) {
			t.Errorf("putlog %s: %s holds %s", line, what, found)
		}
	}
	for one := range strings.Lines(errOut) {
		if strings.HasPrefix(one, "putlog: forged") || strings.HasPrefix(one, "try: forged") || strings.HasPrefix(one, "forged") {
			t.Errorf("putlog %s: a text says on standard error: %s", line, one)
		}
	}
	if isJSON && !json.Valid([]byte(out)) {
		t.Errorf("putlog %s: no JSON", line)
	}
}

// filesHarmless looks at every file that the commands left, and that they left
// none anywhere else.
func filesHarmless(t *testing.T) {
	t.Helper()
	around, err := os.ReadDir("..")
	if err != nil || len(around) != 1 {
		t.Errorf("%d names beside the folder, %v", len(around), err)
	}
	seen := map[string]int{}
	err = filepath.WalkDir(".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		seen[filepath.Ext(path)]++
		switch filepath.Ext(path) {
		case ".html":
			pageHarmless(t, path, string(text))
		case ".ics":
			calendarHarmless(t, path, string(text))
		case ".csv":
			tableHarmless(t, path, string(text))
		case ".pdf":
			printHarmless(t, path)
		}
		return nil
	})
	if err != nil || seen[".html"] < 1 || seen[".ics"] < 1 || seen[".csv"] < 3 || seen[".pdf"] < 1 {
		t.Errorf("%v, %v", seen, err)
	}
}

var (
	someTag    = regexp.MustCompile(`<(/?)([a-zA-Z!][a-zA-Z0-9]*)((?:\s+[^<>]*)?)>`)
	badInTag   = regexp.MustCompile(`(?i)(^|\s)(on[a-z]+|style|formaction|srcdoc|xlink:href|background)\s*=|javascript:`)
	targetAttr = regexp.MustCompile(`(?i)\s(?:src|href|action|data)\s*=\s*"([^"]*)"`)
	pageParts  = strings.Fields("!doctype a abbr b body br caption circle col colgroup dd defs desc details div dl dt em " +
		"figcaption figure footer g h1 h2 h3 h4 head header hr html i img li line main meta nav ol p path pattern " +
		"polygon rect section small span strong style sub summary sup svg table tbody td text th thead time title tr tspan ul")
)

// pageHarmless: no tag, handler or address that the page does not have itself.
func pageHarmless(t *testing.T, name, page string) {
	t.Helper()
	if n := strings.Count(page, "<"); n != len(someTag.FindAllString(page, -1)) {
		t.Errorf("%s: a < that opens no tag", name)
	}
	for _, m := range someTag.FindAllStringSubmatch(page, -1) {
		if !slices.Contains(pageParts, strings.ToLower(m[2])) || badInTag.MatchString(m[3]) {
			t.Errorf("%s: %s", name, m[0])
		}
		for _, to := range targetAttr.FindAllStringSubmatch(m[3], -1) {
			if !strings.HasPrefix(to[1], "#") && !strings.HasPrefix(to[1], "data:image/jpeg;base64,") {
				t.Errorf("%s: %s", name, m[0])
			}
		}
	}
	if found := unseen(page); found != "" {
		t.Errorf("%s: %s", name, found)
	}
}

// calendarHarmless: lines of RFC 5545, and no component that a text brought.
func calendarHarmless(t *testing.T, name, text string) {
	t.Helper()
	for line := range strings.SplitSeq(strings.TrimSuffix(text, "\r\n"), "\r\n") {
		if len(line) > 75 || line == "" || unseen(line) != "" || strings.Contains(line, "\n") {
			t.Errorf("%s: the line %q", name, line)
		}
		if strings.HasPrefix(line, "UID:") && !strings.HasSuffix(line, "@putlog") {
			t.Errorf("%s: %s", name, line)
		}
	}
	unfolded := strings.ReplaceAll(text, "\r\n ", "")
	begun, ended := strings.Count(unfolded, "\r\nBEGIN:VEVENT\r\n"), strings.Count(unfolded, "\r\nEND:VEVENT\r\n")
	if begun == 0 || begun != ended || begun != strings.Count(unfolded, "\r\nUID:") {
		t.Errorf("%s: %d events begun, %d ended", name, begun, ended)
	}
}

// tableHarmless: no cell of a text is one that a spreadsheet reckons.
func tableHarmless(t *testing.T, name, text string) {
	t.Helper()
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	number := regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)
	for _, row := range rows {
		for _, cell := range row {
			if cell != "" && strings.ContainsRune("=+-@\t\r\n", rune(cell[0])) && !number.MatchString(cell) {
				t.Errorf("%s: the cell %q", name, cell)
			}
		}
	}
}

// printHarmless reads the print with another program, where there is one.
func printHarmless(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		return
	}
	text, err := exec.Command("pdftotext", "-layout", name, "-").Output()
	if found := unseen(strings.ReplaceAll(string(text), "\f", "\n")); err != nil || found != "" {
		t.Errorf("%s: %s, %v", name, found, err)
	}
}

// TestForgedRefusals: a text of several lines does not make a refusal that says
// something else on a line of its own.
func TestForgedRefusals(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	if code, _, errOut := ran(path, "job", "load", "-"); code != exitDone {
		t.Fatal(errOut)
	}
	const forged = "x\nputlog: forged\ntry: forged"
	now := time.Date(2027, 3, 8, 17, 0, 0, 0, time.UTC)
	priced := "title: t, asked-by: client, cost: client, time: client, lines: [{kind: labour, what: \"x\\nputlog: forged\", quantity: -1, rate: 1}]"
	for _, c := range []struct{ in, line string }{
		{"", "variation raise shed --title t " + theClients + `--labour "` + forged + `,-1,day,5"`},
		{"- {on: 2027-03-02, variation: {" + priced + "}}\n", "record shed -"},
		{tamperedJob + "basis: [{item: a, says: x, question: y, if-not: {" + priced + "}}]\n", "job load -"},
		{"", `plan "` + forged + `"`}, {"", `"` + forged + `"`}, {"", `why shed "` + forged + `"`},
		{"", `start shed "` + forged + `"`}, {"", `plan shed --as-at "` + forged + `"`},
		{"", `variation instruct shed "` + forged + `"`},
		{"- {on: 2027-03-02, \"x\\nputlog: forged\": 1}\n", "record shed -"},
		{"- {on: 2027-03-02, started: {stage: \"x\\nputlog: forged\"}}\n", "record shed -"},
	} {
		args := typed(c.line)
		var out, errOut bytes.Buffer
		code := run(append([]string{"--book", path}, args...), strings.NewReader(c.in), &out, &errOut, now)
		if code == exitDone || strings.Contains(errOut.String(), "\nputlog: forged") ||
			strings.Contains(errOut.String(), "\ntry: forged") {
			t.Errorf("%q with %q: exit %d, %q", args, c.in, code, errOut.String())
		}
	}
}

// TestRefusedTexts: what drives a terminal or turns the writing is refused, in a
// file (as it is, and as an escape) and as an argument, nothing is written, and
// the refusal itself drives nothing.
func TestRefusedTexts(t *testing.T) {
	path := filepath.Join(t.TempDir(), "book.db")
	if code, _, errOut := ran(path, "job", "load", "-"); code != exitDone {
		t.Fatal(errOut)
	}
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	now := time.Date(2027, 3, 8, 17, 0, 0, 0, time.UTC)
	for _, text := range refusedTexts {
		escaped, err := json.Marshal(text)
		if err != nil {
			t.Fatal(err)
		}
		if !utf8.ValidString(text) {
			escaped = []byte(`"\ud800"`) // half a character, escaped
		}
		stdin := strings.NewReplacer("TEXT", text, "ESCAPED", string(escaped))
		for _, c := range []struct{ in, line string }{
			{"- {on: 2027-03-02, note: {says: \"TEXT\"}}\n", "record shed -"},
			{"- {on: 2027-03-02, note: {says: ESCAPED}}\n", "record shed -"},
			{"- {on: 2027-03-02, TEXT: {says: x}}\n", "record shed -"},
			{strings.Replace(tamperedJob, "job: shed", "job: shed2\ntitle: ESCAPED", 1), "job load -"},
			{strings.Replace(tamperedJob, "job: shed", "job: ESCAPED", 1), "job load -"},
			{strings.Replace(tamperedJob, "stage: dig", "stage: ESCAPED", 1), "job load -"},
			{"", "note shed TEXT"}, {"", "plan TEXT"}, {"", "TEXT"}, {"", "why shed TEXT"}, {"", "start shed TEXT"},
			{"", "plan shed --as-at TEXT"}, {"", "plan shed --TEXT"}, {"", "job load TEXT"}, {"", "calendar --region TEXT"},
			{"", "dates shed --ics no/TEXT"}, {"", "plan shed --book no/TEXT"}, {"", "closed shed --from TEXT --to x --why TEXT"},
			{"", "variation raise shed --title TEXT " + theClients}, {"", "job new TEXT --from TEXT --region scotland"},
		} {
			args := typed(c.line)
			for i := range args {
				args[i] = strings.ReplaceAll(args[i], "TEXT", text)
			}
			var out, errOut bytes.Buffer
			code := run(append([]string{"--book", path}, args...), strings.NewReader(stdin.Replace(c.in)), &out, &errOut, now)
			if code == exitDone || out.Len() > 0 {
				t.Errorf("%q with %q: exit %d, printed %q", args, stdin.Replace(c.in), code, out.String())
			}
			if found := unseen(errOut.String()); found != "" || errOut.Len() == 0 || errOut.Len() > 4000 {
				t.Errorf("%q with %q: the refusal holds %s: %q", args, stdin.Replace(c.in), found, errOut.String())
			}
		}
	}
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(before, after) {
		t.Errorf("something was written: %v", err)
	}
}
