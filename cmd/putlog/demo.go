package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"putlog/jobs"
	"putlog/jobs/book"
	"putlog/schedule"
)

// demoStep is one command of the demonstration, the day on which it is given
// and the words before it.
type demoStep struct {
	on, says string
	line     string // the command, words parted by blanks, quotes as typed
}

// demoSteps tell the whole story of the invented job.
var demoSteps = []demoStep{
	{"2027-01-25", "Before the quote: what the price rests on, and the questions for the inspector.", "basis cart-shed"},
	{"2027-01-25", "", "ask cart-shed"},
	{"2027-02-01", "The programme a week before the start.", "plan cart-shed"},
	{"2027-02-01", "Why does it finish then?", "why cart-shed"},
	{"2027-02-01", "The sum behind a wait, by itself.", "wait concrete --class S --temperature 8 --fraction 0.6"},
	{"2027-02-03", "The client accepts it; notice of the start is given.", "accept cart-shed"},
	{"2027-02-03", "", "notice cart-shed start"},
	{"2027-02-08", "The job begins.", `inspected cart-shed start pass --at "2027-02-08 am" --seen-by "building control"`},
	{"2027-02-11", "", `start cart-shed strip-out --at "2027-02-08 pm"`},
	{"2027-02-11", "", `finish cart-shed strip-out --at "2027-02-11 am"`},
	{"2027-02-11", "The trial hole shows what nobody priced; the variation that was foreseen is raised with it.",
		`finding cart-shed front-footing fails --note "brick on clay at 300 mm"`},
	{"2027-02-11", "Before anybody speaks: what would a quicker way cost and move?",
		`variation try cart-shed --title "Pin the pier with two gangs" --asked-by builder --cost client --time client ` +
			`--markup 15 --labour "four men digging and packing,5,day,620" ` +
			`--material "C25 concrete,1.4,m3,148.50" --add "pin-fast,5d,after=strip-out,before=front-wall"`},
	{"2027-02-11", "What may still come.", "exposure cart-shed"},
	{"2027-02-12", "The client instructs the one that was foreseen, and agrees its price.", "variation instruct cart-shed V1"},
	{"2027-02-12", "", "variation agree cart-shed V1"},
	{"2027-02-19", "Snow, written down on the Friday.",
		"closed cart-shed --from 2027-02-15 --to 2027-02-17 --who site --why snow"},
	{"2027-02-19", "", `paid cart-shed 8000 --note "first stage"`},
	{"2027-02-22", "What is on today?", "today"},
	{"2027-02-22", "Why the finish moved, and who bears it.", "moved cart-shed"},
	{"2027-02-22", "What is owed, as the client sees it.", "account cart-shed --for-client"},
	{"2027-02-22", "The day book.", "daybook cart-shed"},
}

// parted parts a command line at blanks that do not stand between quotes.
func parted(line string) []string {
	var out []string
	word, quoted := "", false
	for _, r := range line + " " {
		switch {
		case r == '"':
			quoted = !quoted
		case r == ' ' && !quoted:
			if word != "" {
				out = append(out, word)
			}
			word = ""
		default:
			word += string(r)
		}
	}
	return out
}

func (a *app) demoCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "demo",
		Short:   "A worked job, invented, in a fresh temporary book: plan it and ask why",
		Example: "  putlog demo",
		Args:    exactArgs(),
		RunE:    func(*cobra.Command, []string) error { return a.demo() },
	}
}

// demo makes a book with the invented job, runs the steps on it and takes the
// book away again.
func (a *app) demo() error {
	dir, err := os.MkdirTemp("", "putlog-demo-")
	if err != nil {
		return &book.Error{Op: "make", Path: "a temporary book", What: err.Error(),
			Try: "free some room in the folder for temporary files", Err: err}
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "demo.db")
	j, err := jobs.Demo()
	if err != nil {
		return err
	}
	b, err := book.Open(path)
	if err != nil {
		return err
	}
	err = jobs.Add(b, j, a.written())
	if closing := b.Close(); err == nil {
		err = closing
	}
	if err != nil {
		return err
	}
	if a.json {
		return a.demoRun(path, "2027-02-01", []string{"plan", j.Ref, "--json"})
	}
	screen := a.width()
	if screen == 0 {
		screen = 100
	}
	a.say("An invented job in a book of its own; nothing of yours is touched.")
	for _, s := range demoSteps {
		if s.says != "" {
			day, err := schedule.ParseDay(s.on)
			if err != nil {
				return err
			}
			a.say("", strings.Repeat("─", min(screen, 72)), day.Long()+". "+s.says)
		}
		fmt.Fprintf(a.out, "\n$ putlog %s\n\n", s.line)
		if err := a.demoRun(path, s.on, append(parted(s.line), "--screen", fmt.Sprint(screen))); err != nil {
			return err
		}
	}
	return nil
}

// demoRun runs one command on the demonstration's book, on the morning of a day.
func (a *app) demoRun(path, on string, args []string) error {
	now, err := time.Parse(time.DateOnly, on)
	if err != nil {
		return err
	}
	step := &app{in: a.in, out: a.out, errOut: a.errOut, now: now.Add(8 * time.Hour)}
	root := step.root()
	root.SetArgs(append(args, "--book", path))
	return root.Execute()
}
