package jobs

import (
	"bytes"
	"crypto/sha256"
	"encoding"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/jobs/book"
	"putlog/jobs/form"
	"putlog/jobs/media"
	"putlog/schedule"
	"putlog/testdata/race"
)

// richJob is an invented job whose day book holds every kind of entry.
func richJob(t testing.TB) (src []byte, j *Job) {
	t.Helper()
	src, err := os.ReadFile("testdata/rich.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if j, err = ReadJob("rich.yaml", src); err != nil {
		t.Fatal(err)
	}
	return src, j
}

// addJobs gives a fuzz target the job files there are: invented jobs with their
// histories, the demonstration. (What the templates make is in the corpus.)
func addJobs(f *testing.F) {
	src, _ := richJob(f)
	f.Add(src)
	for _, glob := range []string{"../testdata/delays/*.yaml", "documents/testdata/page/*.yaml"} {
		files, _ := filepath.Glob(glob)
		for _, file := range files {
			src, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(src)
		}
	}
	demo, err := Demo()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(demo.File())
}

// FuzzJob reads bytes as a job file. It is refused with faults that can be
// printed, or it is a job of which all can be told, twice the same; as a file
// and from the rows of a book it comes back the same.
func FuzzJob(f *testing.F) {
	race.Skip(f)
	addJobs(f)
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 1<<15 {
			return // costly, and nothing new
		}
		j, err := ReadJob("job.yaml", src)
		_, again := ReadJob("job.yaml", src)
		if fmt.Sprint(err) != fmt.Sprint(again) {
			t.Fatalf("%v, then %v", err, again)
		}
		if err != nil {
			problemsOf(t, err)
			return
		}
		file := j.File()
		back, err := ReadJob("again.yaml", file)
		if err != nil {
			t.Fatalf("%v\n%s", err, file)
		}
		if second := back.File(); !bytes.Equal(file, second) {
			t.Fatalf("exported\n%s\nand again\n%s", file, second)
		}
		throughRows(t, j)
		for _, asAt := range daysAbout(j) {
			said := told(t, j, asAt)
			if other := told(t, back, asAt); other != said {
				t.Fatalf("as at %s\n%s\nread back\n%s", asAt, said, other)
			}
		}
		if after := j.File(); !bytes.Equal(file, after) {
			t.Fatalf("telling of it changed it:\n%s\n%s", file, after)
		}
	})
}

// problemsOf holds the faults of a file to what can be printed.
func problemsOf(t testing.TB, err error) {
	t.Helper()
	var problems *form.Problems
	if !errors.As(err, &problems) || len(problems.List) == 0 {
		t.Fatalf("%v is no list of faults", err)
	}
	for _, p := range problems.List {
		if p.What == "" || strings.ContainsAny(p.What+p.Do, "\n\r") {
			t.Fatalf("the fault %+v", p)
		}
	}
}

// throughRows puts a job through what a book keeps of it; it comes back the same.
func throughRows(t testing.TB, j *Job) {
	t.Helper()
	first := *j
	first.Entries = nil
	body, err := bookText(&first)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := bookRows(j.Entries)
	if err != nil {
		t.Fatal(err)
	}
	stored, err := fromRows(&book.Book{}, j.Ref, append([]book.Row{{Kind: "job", Body: body}}, rows...))
	if err != nil {
		t.Fatal(err)
	}
	if a, b := j.File(), stored.File(); !bytes.Equal(a, b) {
		t.Fatalf("the book makes of\n%s\nthis\n%s", a, b)
	}
}

// daysAbout are a day in the middle of the day book, or before the job, and one
// after it.
func daysAbout(j *Job) []schedule.Day {
	days := []schedule.Day{schedule.Instant(j.Start).Day() - 3, lastDay(j) + 20}
	if n := len(j.Entries); n > 0 {
		days[0] = j.Entries[n/2].On
	}
	for i := range days {
		days[i] = min(max(days[i], schedule.FirstDay), schedule.LastDay)
	}
	slices.Sort(days)
	return slices.Compact(days)
}

// fataler is what a test and a drawing share.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// told is all that can be told of a job as at a day; what is refused is told
// by the message, which must be one that can be printed.
func told(t fataler, j *Job, asAt schedule.Day) string {
	t.Helper()
	var said strings.Builder
	say := func(what any, err error) {
		if err != nil {
			if text := err.Error(); text == "" || strings.ContainsRune(text, '\x1b') {
				t.Fatalf("the message is %q", text)
			}
			what = "refused: " + err.Error()
		}
		fmt.Fprintf(&said, "%+v\n", what)
	}
	for _, l := range j.Lines(asAt) {
		say(fmt.Sprint(l.Number, l.On, l.Ref, l.Says, l.StruckBy, l.Carries()), nil)
	}
	for _, e := range j.Evidence(asAt) {
		say(fmt.Sprint(e.Number, e.Words()), nil)
	}
	account, err := j.Account(asAt)
	say(account, err)
	lines, err := j.Variations(asAt)
	say(lines, err)
	p, err := j.Programme(asAt)
	if say(nil, err); err != nil {
		return said.String()
	}
	tellProgramme(p, say)
	exposures, err := j.Exposures(asAt)
	say(exposures, err)
	tellBasis(j, asAt, say)
	tellNews(j, asAt, lines, say)
	if m, err := j.Moved(asAt); err != nil {
		say(nil, err)
	} else {
		say(movedView(m)+m.Headline()+m.EntitlementWords(), nil)
		for _, s := range m.Steps {
			say(m.AskedBy(s), nil)
		}
	}
	return said.String()
}

func tellProgramme(p *Programme, say func(any, error)) {
	say(programmeView(p), nil)
	say(p.Headline(), nil)
	say(p.Warnings(), nil)
	for _, r := range p.Rows() {
		say(p.Why(r.Index), nil)
		say(p.Takes(r), nil)
		w, ok := p.WaitOf(r.Index)
		say(fmt.Sprint(w, ok), nil)
	}
	if g, err := p.Agenda(); err != nil {
		say(nil, err)
	} else {
		one := *g
		one.Job = ""
		say(one, nil)
	}
	notices, err := p.Notices()
	say(len(notices), err)
	for _, n := range notices {
		say(n.Says(), nil)
	}
	dates, err := p.Dates()
	say(dates, err)
	answers, err := p.Answers()
	say(answers, err)
	for _, d := range p.Dryings() {
		say(d.Says("floor"), nil)
	}
	say(p.Next(14), nil)
}

func tellBasis(j *Job, asAt schedule.Day, say func(any, error)) {
	b, err := j.BasisAt(asAt)
	if err != nil {
		say(nil, err)
		return
	}
	for _, l := range b.Lines {
		say(fmt.Sprint(l.Item, l.Outcome, l.On, l.Note, l.Raised, l.Price, l.Worked, l.Known), nil)
	}
	say(fmt.Sprint(b.Client, b.Worked, b.Finish), nil)
}

func tellNews(j *Job, asAt schedule.Day, lines []VariationLine, say func(any, error)) {
	n, err := j.News(asAt)
	if err != nil {
		say(nil, err)
	} else {
		if n.Price != nil {
			say(*n.Price, nil)
		}
		one := *n
		one.Price = nil
		say(one, nil)
	}
	for _, l := range lines {
		if v, err := j.NewsOf(l.Number, asAt); err != nil {
			say(nil, err)
		} else {
			say(*v, nil)
		}
	}
}

// FuzzHistory makes a job and a day book of whatever bytes there are. Its steps
// sum to its movement; exported and read back all is told of it as before; what
// is told as at a day does not change when its last entry is taken away.
func FuzzHistory(f *testing.F) {
	race.Skip(f)
	for seed := range byte(16) {
		f.Add([]byte{seed})
	}
	drawn := rapid.MakeFuzz(func(t *rapid.T) {
		j := drawHistory(t)
		asAt := drawAsAt(t, j)
		sumsToTheForecast(t, j, asAt)
		back, err := ReadJob("drawn.yaml", j.File())
		if err != nil {
			t.Fatalf("%v\n%s", err, j.File())
		}
		said := told(t, j, asAt)
		if other := told(t, back, asAt); other != said {
			t.Fatalf("as at %s\n%s\nread back\n%s", asAt, said, other)
		}
		if n := len(j.Entries) - 1; n >= 0 && j.Entries[n].On > asAt {
			back.Entries = back.Entries[:n]
			if other := told(t, back, asAt); other != said {
				t.Fatalf("as at %s\n%s\nwithout the last entry\n%s", asAt, said, other)
			}
		}
	})
	f.Fuzz(func(t *testing.T, src []byte) {
		more := make([]byte, 1<<16) // as many more, made of these, as a drawing takes
		_, _ = rand.NewChaCha8(sha256.Sum256(src)).Read(more)
		drawn(t, append(src[:len(src):len(src)], more...))
	})
}

// FuzzEntries reads bytes as the list that is recorded, on a job with a history
// of every kind. It is refused and nothing changes; or it stands: all can be
// told, what is told as at earlier days stays word for word, and the job comes
// back from its file.
func FuzzEntries(f *testing.F) {
	race.Skip(f)
	_, j := richJob(f)
	for _, e := range j.Entries {
		f.Add(form.Encode([]Entry{e}).YAML())
	}
	f.Add(form.Encode(j.Entries[18:]).YAML())
	for _, text := range []string{"[]", "- {on: 2027-05-20, correction: {entry: 11}}",
		"- {on: 2027-05-20, variation: {title: x, asked-by: client, cost: client, time: client}}\n" +
			"- {on: 2027-05-20, instructed: {variation: V5}}\n",
		"- {on: 2027-05-19, started: {stage: floor}}\n- {on: 2027-05-21, finished: {stage: floor}}\n",
		"- {on: 2027-05-19, finished: {stage: boards, at: 2027-05-18 am}}",
		"- {on: 2027-05-20, instructed: {variation: V2}}",
		"- {on: 2027-02-20, note: {says: before it began}}", "- {on: 2099-12-31, accepted: }"} {
		f.Add([]byte(text))
	}
	file, days := j.File(), append(daysAbout(j), lastDay(j)-1)
	before := map[schedule.Day]string{}
	for _, d := range days {
		before[d] = told(f, j, d)
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 1<<13 {
			return
		}
		entries, err := ReadEntries("more.yaml", src)
		if err != nil {
			problemsOf(t, err)
			return
		}
		entries = j.numbered(entries)
		done, err := j.Try(entries, lastDay(j)+14)
		if after := j.File(); !bytes.Equal(file, after) {
			t.Fatalf("trying changed the job:\n%s\n%s", file, after)
		}
		if err != nil {
			if err.Error() == "" {
				t.Fatal("refused without a word")
			}
			return
		}
		_ = done.Sentence()
		after := *j
		after.Entries = slices.Concat(j.Entries, entries)
		first := schedule.LastDay
		for _, e := range entries {
			first = min(first, e.On)
		}
		for _, d := range days {
			if d >= first {
				continue
			}
			if now := told(t, &after, d); now != before[d] {
				t.Fatalf("as at %s, before anything recorded:\n%s\nnow\n%s", d, before[d], now)
			}
		}
		throughRows(t, &after)
		back, err := ReadJob("again.yaml", after.File())
		if err != nil {
			t.Fatalf("%v\n%s", err, after.File())
		}
		said := told(t, &after, lastDay(&after))
		if now := told(t, back, lastDay(&after)); now != said {
			t.Fatalf("recorded\n%s\nread back\n%s", said, now)
		}
	})
}

// wordOf checks one parser: what it takes it prints so that it reads the same,
// what it refuses changes nothing and is answered in one line.
func wordOf[T comparable, P interface {
	*T
	encoding.TextUnmarshaler
}](t *testing.T, text string, printed func(T) string) {
	t.Helper()
	var v, again T
	if err := P(&v).UnmarshalText([]byte(text)); err != nil {
		if v != again || err.Error() == "" || strings.ContainsAny(err.Error(), "\n\r\x1b") {
			t.Fatalf("%q was refused with %q and gave %v", text, err, v)
		}
		return
	}
	if err := P(&again).UnmarshalText([]byte(printed(v))); err != nil || again != v {
		t.Fatalf("%q reads as %v, prints as %q and reads back as %v: %v", text, v, printed(v), again, err)
	}
}

func marshalled[T encoding.TextMarshaler](v T) string {
	text, _ := v.MarshalText()
	return string(text)
}

func itself[T ~string](v T) string { return string(v) }

// FuzzWords holds every parser of a single text in a job file and a flag to its
// printer.
func FuzzWords(f *testing.F) {
	for _, text := range []string{"", "1d", "0.5d", "-2.50d", "72h", "36525d", "36526d", "99999999999h", "-0d",
		"2027-03-01", "2027-04-02 am", "2099-12-31 pm", "day", "am", "mon-fri", "sun-mon", "sat-sat", "mon",
		"builder", "site", "pass", "holds", "excavation",
		"photo", strings.Repeat("a", 64), "1", "20971520", "site.jpg", "../x", `C:\x`, "CON", "\xff",
		strings.Repeat("½", 200) + ".jpg", "image/jpeg", "scotland", "1²"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		wordOf(t, text, marshalled[Length])
		wordOf(t, text, marshalled[Moment])
		wordOf(t, text, marshalled[Until])
		wordOf(t, text, marshalled[Worked])
		wordOf(t, text, marshalled[Party])
		wordOf(t, text, marshalled[Outcome])
		wordOf(t, text, marshalled[FindingOutcome])
		wordOf(t, text, marshalled[EvidenceKind])
		wordOf(t, text, marshalled[Region])
		wordOf(t, text, itself[Air])
		wordOf(t, text, itself[Caution])
		wordOf(t, text, itself[Digest])
		wordOf(t, text, itself[FileName])
		wordOf(t, text, itself[media.Type])
		fuzzFileName(t, text)
		fuzzWeek(t, text)
		if err := new(FileSize).UnmarshalText([]byte(text)); err != nil && err.Error() == "" {
			t.Fatalf("the size %q was refused without a word", text)
		}
	})
}

func fuzzWeek(t *testing.T, text string) {
	t.Helper()
	var w Week
	if w.UnmarshalText([]byte(text)) != nil {
		return
	}
	if w.Pattern() == 0 {
		t.Fatalf("%q works no day", text)
	}
	run, ok := w.FormScalar()
	var again Week
	if ok && (again.UnmarshalText([]byte(run)) != nil || again != w) {
		t.Fatalf("%q prints as %q", text, run)
	}
}

func fuzzFileName(t *testing.T, path string) {
	t.Helper()
	name := NewFileName(path)
	if NewFileName(string(name)) != name || len(name) > maxFileName || form.CheckText(string(name)) != nil ||
		filepath.Dir(filepath.Join("folder", string(name))) != "folder" {
		t.Fatalf("%q gives %q", path, name)
	}
}
