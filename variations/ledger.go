package variations

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"putlog/schedule"
)

// Terms are what a variation says of itself: who asked, why, what it costs and
// who bears it. What it changes in the programme stands beside it.
type Terms struct {
	Number  string  `form:"number,optional"` // V1, V2 …: given when left out
	Title   string  `form:"title"`
	AskedBy AskedBy `form:"asked-by"`
	Because string  `form:"because,optional"`
	From    string  `form:"from,optional"` // the inspection or basis item it came from
	Cost    Share   `form:"cost"`
	Time    Bearer  `form:"time"`
	Markup  Percent `form:"markup,optional"`
	Lines   []Line  `form:"lines,optional"`
}

// Fault says what is wrong with the terms; nil when nothing is.
func (t Terms) Fault() error {
	for _, l := range t.Lines {
		if err := l.Fault(); err != nil {
			return err
		}
	}
	if err := t.Cost.Fault(); err != nil {
		return err
	}
	_, err := t.Price()
	return err
}

// Price is what the variation comes to.
func (t Terms) Price() (Price, error) { return PriceOf(t.Lines, t.Markup, t.Cost) }

// State is how far a variation has come: the last thing that happened to it.
type State uint8

// The states.
const (
	Raised State = iota
	Instructed
	Agreed
	Declined
	Withdrawn
	CarriedOut
)

var stateNames = []string{"raised", "instructed", "agreed", "declined", "withdrawn", "carried-out"}

// String gives the state's name.
func (s State) String() string { return stateNames[s] }

// Variation is one line of the ledger: terms, state, and the day of each step.
type Variation struct {
	Terms
	State      State
	RaisedOn   schedule.Day
	Instructed schedule.Day // 0 when never; likewise below
	Agreed     schedule.Day
	Declined   schedule.Day
	Withdrawn  schedule.Day
	CarriedOut schedule.Day
}

// Ledger is the variations of a job in the order raised.
type Ledger struct {
	list []Variation
}

// All lists the variations in the order raised.
func (l *Ledger) All() []Variation { return l.list }

// Find gives a variation by its number; nil when there is none.
func (l *Ledger) Find(number string) *Variation {
	for i := range l.list {
		if l.list[i].Number == number {
			return &l.list[i]
		}
	}
	return nil
}

// Clone is a ledger of its own with the same lines.
func (l *Ledger) Clone() Ledger { return Ledger{list: append([]Variation(nil), l.list...)} }

// NextNumber is the number that a variation raised now gets when none is typed:
// one more than the largest V number so far.
func (l *Ledger) NextNumber() string {
	top := 0
	for _, v := range l.list {
		digits, ok := strings.CutPrefix(v.Number, "V")
		if n, err := strconv.Atoi(digits); ok && err == nil && n > top && n < 1_000_000 {
			top = n
		}
	}
	return "V" + strconv.Itoa(top+1)
}

// Raise adds a variation. A number is used once.
func (l *Ledger) Raise(t Terms, on schedule.Day) error {
	if l.Find(t.Number) != nil {
		return fmt.Errorf("there already is a variation %s", t.Number)
	}
	if err := t.Fault(); err != nil {
		return err
	}
	l.list = append(l.list, Variation{Terms: t, RaisedOn: on})
	return nil
}

// Unclear says what a reader could not make out in terms that are about to be
// written: a number that looks like another, a title or a line without a word;
// nil when nothing is. What is written already stays as it is.
func (t Terms) Unclear() error {
	if !plain(t.Number) {
		return fmt.Errorf("%q is no number for a variation; write it as V1: plain letters and digits, 40 at the most",
			t.Number)
	}
	if strings.TrimSpace(t.Title) == "" {
		return errors.New("the variation has no title")
	}
	for i, l := range t.Lines {
		if strings.TrimSpace(l.What) == "" {
			return fmt.Errorf("line %d of the variation does not say what it is for", i+1)
		}
	}
	return nil
}

// plain says whether a number can be told from others by sight: printable
// ASCII, with no blank but single ones inside.
func plain(number string) bool {
	for i, c := range []byte(number) {
		edge := i == 0 || i == len(number)-1 || number[i-1] == ' '
		if c < ' ' || c > '~' || c == ' ' && edge {
			return false
		}
	}
	return number != "" && len(number) <= 40
}

// Move takes a variation to its next state on a day, or says why it can't be.
func (l *Ledger) Move(number string, to State, on schedule.Day) error {
	v := l.Find(number)
	if v == nil {
		return fmt.Errorf("there is no variation %q", number)
	}
	if why := v.refuses(to, on); why != "" {
		return fmt.Errorf("%s can't be %s: %s", number, strings.ReplaceAll(to.String(), "-", " "), why)
	}
	*v.day(to) = on
	v.State = to
	return nil
}

// day is where the day of a state is kept.
func (v *Variation) day(s State) *schedule.Day {
	return [...]*schedule.Day{&v.RaisedOn, &v.Instructed, &v.Agreed, &v.Declined,
		&v.Withdrawn, &v.CarriedOut}[s]
}

// refuses says why a variation can't go to a state; "" when it can.
func (v *Variation) refuses(to State, on schedule.Day) string {
	switch {
	case v.Declined != 0:
		return "it was declined on " + v.Declined.Long()
	case v.Withdrawn != 0:
		return "it was withdrawn on " + v.Withdrawn.Long()
	case *v.day(to) != 0:
		return "it already was, on " + v.day(to).Long()
	case (to == Declined || to == Withdrawn) && v.Instructed != 0:
		return "it was instructed on " + v.Instructed.Long() + "; a later variation omits the work instead"
	case to == CarriedOut && v.Instructed == 0:
		return "it was never instructed"
	}
	return ""
}

// Off says whether the variation was declined or withdrawn.
func (v *Variation) Off() bool { return v.Declined != 0 || v.Withdrawn != 0 }

// Exposed says whether the variation may still cost or move something: raised
// and not instructed, or instructed and its price not agreed.
func (v *Variation) Exposed() bool {
	return !v.Off() && (v.Instructed == 0 || v.Agreed == 0)
}

// Passed is a state a variation went through, and when.
type Passed struct {
	State State
	On    schedule.Day
}

// Steps lists the states it went through after it was raised, in order of date.
func (v *Variation) Steps() []Passed {
	var steps []Passed
	for s := Instructed; s <= CarriedOut; s++ {
		if on := *v.day(s); on != 0 {
			steps = append(steps, Passed{s, on})
		}
	}
	slices.SortStableFunc(steps, func(a, b Passed) int { return int(a.On) - int(b.On) })
	return steps
}
