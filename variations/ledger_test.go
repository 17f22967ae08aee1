package variations

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"putlog/schedule"
)

// raised is a ledger with one variation, V1, raised on a day.
func raised(t *testing.T, on schedule.Day) *Ledger {
	t.Helper()
	var l Ledger
	if err := l.Raise(Terms{Number: "V1", Title: "one", Cost: Share{Client: Hundred}}, on); err != nil {
		t.Fatal(err)
	}
	return &l
}

// everyMove lists the states a variation can be taken to.
var everyMove = []State{Instructed, Agreed, Declined, Withdrawn, CarriedOut}

// mayMove is the contract's rule, told by the moves made so far: none twice,
// none after a decline or a withdrawal, neither of these once instructed, and
// nothing is carried out that was not instructed.
func mayMove(done []State, to State) bool {
	has := func(s State) bool { return slices.Contains(done, s) }
	switch {
	case has(Declined), has(Withdrawn), has(to):
		return false
	case to == Declined, to == Withdrawn:
		return !has(Instructed)
	case to == CarriedOut:
		return has(Instructed)
	}
	return true
}

// TestEveryPathThroughTheStates goes through each sequence of four moves and
// holds every one of them to the rule.
func TestEveryPathThroughTheStates(t *testing.T) {
	allowed := 0
	var walk func(done []State, tried []State)
	walk = func(done, tried []State) {
		l := raised(t, 100)
		for i, s := range done {
			if err := l.Move("V1", s, schedule.Day(101+i)); err != nil {
				t.Fatalf("%v: %v", done, err)
			}
		}
		if len(done) > 0 {
			allowed++
			checkState(t, l.Find("V1"), done)
		}
		if len(tried) == 4 {
			return
		}
		for _, to := range everyMove {
			before := *l.Find("V1")
			err := l.Move("V1", to, 200)
			if mayMove(done, to) != (err == nil) {
				t.Errorf("after %v to %v: %v", done, to, err)
			}
			if err != nil && fmt.Sprint(*l.Find("V1")) != fmt.Sprint(before) {
				t.Errorf("after %v a refused move to %v changed it", done, to)
			}
			*l.Find("V1") = before
			next := done
			if err == nil {
				next = append(done[:len(done):len(done)], to)
			}
			walk(next, append(tried[:len(tried):len(tried)], to))
		}
	}
	walk(nil, nil)
	if allowed < 100 {
		t.Errorf("only %d paths were allowed", allowed)
	}
}

// checkState holds what a variation says of itself to the moves made, one a day
// from day 101.
func checkState(t *testing.T, v *Variation, done []State) {
	t.Helper()
	has := func(s State) bool { return slices.Contains(done, s) }
	if v.State != done[len(done)-1] {
		t.Errorf("%v: state %v", done, v.State)
	}
	if off := has(Declined) || has(Withdrawn); v.Off() != off {
		t.Errorf("%v: off %v", done, v.Off())
	}
	if open := !v.Off() && !(has(Instructed) && has(Agreed)); v.Exposed() != open {
		t.Errorf("%v: exposed %v", done, v.Exposed())
	}
	steps := v.Steps()
	if len(steps) != len(done) {
		t.Fatalf("%v: steps %v", done, steps)
	}
	for i, s := range steps {
		if s.State != done[i] || s.On != schedule.Day(101+i) {
			t.Errorf("%v: step %d is %v on %d", done, i, s.State, s.On)
		}
	}
}

func TestMoveRefusals(t *testing.T) {
	const day = schedule.Day(9933) // Fri 12 Mar 2027
	for _, c := range []struct {
		done []State
		to   State
		says string
	}{
		{[]State{Declined}, Instructed, "V1 can't be instructed: it was declined on Fri 12 Mar 2027"},
		{[]State{Withdrawn}, Agreed, "V1 can't be agreed: it was withdrawn on Fri 12 Mar 2027"},
		{[]State{Instructed}, Instructed, "V1 can't be instructed: it already was, on Fri 12 Mar 2027"},
		{[]State{Instructed}, Declined, "V1 can't be declined: it was instructed on Fri 12 Mar 2027; " +
			"a later variation omits the work instead"},
		{[]State{Agreed}, CarriedOut, "V1 can't be carried out: it was never instructed"},
	} {
		l := raised(t, day)
		for _, s := range c.done {
			if err := l.Move("V1", s, day); err != nil {
				t.Fatal(err)
			}
		}
		if err := l.Move("V1", c.to, day+1); err == nil || err.Error() != c.says {
			t.Errorf("%v then %v: %v; want %s", c.done, c.to, err, c.says)
		}
	}
	if err := raised(t, day).Move("V2", Agreed, day); err == nil || err.Error() != `there is no variation "V2"` {
		t.Errorf("a variation that is not there: %v", err)
	}
}

func TestRaiseRefused(t *testing.T) {
	l := raised(t, 100)
	all := Share{Client: Hundred}
	bad := Line{Kind: Labour, What: "nothing", Quantity: 0, Rate: 100}
	for _, c := range []struct {
		terms Terms
		says  string
	}{
		{Terms{Number: "V1", Cost: all}, "there already is a variation V1"},
		{Terms{Number: "V2"}, "the client's 0 and the builder's 0 per cent do not make 100"},
		{Terms{Number: "V2", Cost: all, Lines: []Line{bad}}, "nothing: the quantity 0"},
	} {
		if err := l.Raise(c.terms, 100); err == nil || !strings.HasPrefix(err.Error(), c.says) {
			t.Errorf("%+v: %v; want %s", c.terms, err, c.says)
		}
	}
	if len(l.All()) != 1 {
		t.Errorf("refused variations were kept: %v", l.All())
	}
	if err := l.Raise(Terms{Number: "v1", Cost: all}, 100); err != nil {
		t.Errorf("another number: %v", err)
	}
	if got := fmt.Sprint(l.All()[0].Number, l.All()[1].Number); got != "V1v1" {
		t.Errorf("not in the order raised: %s", got)
	}
}

func TestUnclear(t *testing.T) {
	for _, c := range []struct {
		terms Terms
		says  string
	}{
		{Terms{Number: "V1", Title: "dig deeper"}, ""},
		{Terms{Number: "VO 3/a", Title: "dig deeper", Lines: []Line{{What: "digging"}}}, ""},
		{Terms{Number: " V2", Title: "x"}, `" V2" is no number`},
		{Terms{Number: "V 2  b", Title: "x"}, `"V 2  b" is no number`},
		{Terms{Number: "V1\u200b", Title: "x"}, `"V1\u200b" is no number`},
		{Terms{Number: strings.Repeat("9", 41), Title: "x"}, `"99`},
		{Terms{Title: "x"}, `"" is no number`},
		{Terms{Number: "V1", Title: " "}, "the variation has no title"},
		{Terms{Number: "V1", Title: "x", Lines: []Line{{What: "a"}, {What: "\t"}}}, "line 2 of the variation does not say"},
	} {
		err := c.terms.Unclear()
		if err == nil != (c.says == "") || err != nil && !strings.HasPrefix(err.Error(), c.says) {
			t.Errorf("%+v: %v; want %s", c.terms.Number, err, c.says)
		}
	}
}

func TestNextNumber(t *testing.T) {
	for _, c := range []struct {
		have []string
		want string
	}{
		{nil, "V1"}, {[]string{"V1"}, "V2"}, {[]string{"V3", "V1"}, "V4"}, {[]string{"V9", "V10"}, "V11"},
		{[]string{"kitchen", "W7", "v8", "V-3", "VV4", "V"}, "V1"}, {[]string{"V007"}, "V8"},
		{[]string{"V2", "V99999999999999999999"}, "V3"}, {[]string{"V2", "V9223372036854775807"}, "V3"},
	} {
		var l Ledger
		for _, n := range c.have {
			if err := l.Raise(Terms{Number: n, Cost: Share{Client: Hundred}}, 100); err != nil {
				t.Fatal(err)
			}
		}
		got := l.NextNumber()
		if got != c.want || l.Find(got) != nil {
			t.Errorf("after %v: %s; want %s", c.have, got, c.want)
		}
	}
}

// A number given is always free, whatever numbers were typed before.
func TestNextNumberIsFree(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var l Ledger
		for _, n := range rapid.SliceOf(rapid.StringMatching(`V?0{0,2}[0-9]{0,7}`)).Draw(rt, "numbers") {
			_ = l.Raise(Terms{Number: n, Cost: Share{Client: Hundred}}, 100)
		}
		if next := l.NextNumber(); l.Find(next) != nil {
			rt.Fatalf("%s is taken", next)
		}
	})
}

// A clone goes its own way.
func TestLedgerClone(t *testing.T) {
	l := raised(t, 100)
	other := l.Clone()
	if err := other.Move("V1", Instructed, 101); err != nil {
		t.Fatal(err)
	}
	if err := other.Raise(Terms{Number: "V2", Cost: Share{Builder: Hundred}}, 101); err != nil {
		t.Fatal(err)
	}
	if len(l.All()) != 1 || l.Find("V1").Instructed != 0 || l.Find("V2") != nil {
		t.Errorf("the ledger it was cloned from changed: %+v", l.All())
	}
	if len(other.All()) != 2 || other.Find("V1").Instructed != 101 {
		t.Errorf("the clone: %+v", other.All())
	}
}

// Steps stand in order of their dates, those of one day in the order of the
// states, whichever was written first.
func TestStepsInOrderOfDate(t *testing.T) {
	l := raised(t, 100)
	for _, m := range []struct {
		to State
		on schedule.Day
	}{{Instructed, 120}, {CarriedOut, 130}, {Agreed, 110}} {
		if err := l.Move("V1", m.to, m.on); err != nil {
			t.Fatal(err)
		}
	}
	want := []Passed{{Agreed, 110}, {Instructed, 120}, {CarriedOut, 130}}
	if got := l.Find("V1").Steps(); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
}
