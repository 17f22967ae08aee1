package schedule

import "sync"

// Week says which half-days of each weekday are worked: two bits a day from
// Monday am, the lowest bit first.
type Week uint16

// Every half-day of the week, and Monday to Friday.
const (
	WholeWeek Week = 1<<14 - 1
	MonToFri  Week = 1<<10 - 1
)

// Works says whether the half-day is worked in an ordinary week.
func (w Week) Works(d Weekday, h Half) bool { return w>>(2*Week(d)+Week(h))&1 == 1 }

// With gives the week with that half-day worked.
func (w Week) With(d Weekday, h Half) Week { return w | 1<<(2*Week(d)+Week(h)) }

// Span is a stretch of half-days, from its first instant up to To.
type Span struct {
	From, To Instant
}

// inHorizon cuts the span to the horizon.
func (s Span) inHorizon() Span { return Span{max(s.From, FirstInstant), min(s.To, LastInstant)} }

// Calendar says which half-days of the horizon are worked and answers every
// question about them by a look-up or two: it has the rank of every instant (how
// many half-days are worked before it) and, the other way round, the place of
// every rank. A Calendar never changes once made and may be shared.
type Calendar struct {
	name   string
	ranks  [beyond + 2]int32   // by instant
	places [beyond + 2]Instant // by rank + 1; LastInstant where there is none so late
}

// everyDay is made once, for it is the same for every job.
var everyDay = sync.OnceValue(func() *Calendar { return NewCalendar("every-day", WholeWeek, nil, nil) })

// EveryDay is the calendar on which every half-day is worked.
func EveryDay() *Calendar { return everyDay() }

// NewCalendar makes a calendar from a weekly pattern, days off (holidays) and
// closures. Days and spans outside the horizon are cut to it.
func NewCalendar(name string, week Week, off []Day, closures []Span) *Calendar {
	c := &Calendar{name: name}
	c.fillWeeks(week)
	for _, d := range off {
		if d.Valid() {
			clear(c.ranks[d.AM():d.End()])
		}
	}
	for _, s := range closures {
		if s = s.inHorizon(); s.From < s.To {
			clear(c.ranks[s.From:s.To])
		}
	}
	c.index()
	return c
}

// Without gives the calendar with closures, by another name, in a fraction of
// the time that it takes to make one.
func (c *Calendar) Without(name string, closures ...Span) *Calendar {
	shut := *c
	shut.name = name
	for _, s := range closures {
		if s = s.inHorizon(); s.From < s.To {
			shut.close(s)
		}
	}
	return &shut
}

// close takes a span out of the working time: what comes after it moves up.
func (c *Calendar) close(s Span) {
	first, after := c.rank(s.From), c.rank(s.To)
	lost := after - first
	if lost == 0 {
		return
	}
	for i := range c.ranks[s.From:s.To] {
		c.ranks[int(s.From)+i] = first
	}
	later := c.ranks[s.To:]
	for i := range later {
		later[i] -= lost
	}
	n := copy(c.places[first+1:], c.places[after+1:])
	for i := int(first) + 1 + n; i < len(c.places); i++ {
		c.places[i] = LastInstant
	}
}

// fillWeeks lays the week over the horizon. Until index counts them, ranks holds
// 1 for a half-day that is worked, and 0 for one that is not.
func (c *Calendar) fillWeeks(week Week) {
	horizon := c.ranks[FirstInstant:LastInstant]
	monday := 14 - 2*int(FirstDay.Weekday())
	for i := range 14 {
		horizon[(monday+i)%14] = int32(week >> i & 1)
	}
	for n := 14; n < len(horizon); n *= 2 { // what is filled, again
		copy(horizon[n:], horizon[:n])
	}
}

// index counts the worked half-days before each instant, and notes their places.
func (c *Calendar) index() {
	rank := int32(0)
	c.places[0] = FirstInstant // before the first: as early as can be
	for i := range c.ranks {
		c.places[rank+1] = min(Instant(i), LastInstant)
		c.ranks[i], rank = rank, rank+c.ranks[i]
	}
	for r := rank + 1; int(r) < len(c.places); r++ {
		c.places[r] = LastInstant
	}
}

// Name is the calendar's name: "site".
func (c *Calendar) Name() string { return c.name }

// rank counts the worked half-days before k.
func (c *Calendar) rank(k Instant) int32 { return c.ranks[k] }

// place is the instant at which the worked half-day of that rank begins;
// the horizon's end when there is none so late, its start when none so early.
func (c *Calendar) place(rank int32) Instant {
	return c.places[min(max(rank, -1), int32(len(c.places)-2))+1]
}

// Works says whether the half-day that begins at k is worked.
func (c *Calendar) Works(k Instant) bool {
	return k >= FirstInstant && k < LastInstant && c.ranks[k+1] > c.ranks[k]
}

// Count is the number of worked half-days from a to b; negative when b is the
// earlier.
func (c *Calendar) Count(a, b Instant) Halves { return Halves(c.rank(b) - c.rank(a)) }

// Next is the first instant at or after k at which a worked half-day begins.
func (c *Calendar) Next(k Instant) (Instant, error) {
	if !k.Valid() {
		return 0, &HorizonError{"a date", -1}
	}
	at := c.next(k)
	if at >= LastInstant {
		return 0, &HorizonError{"the next working half-day after " + k.String(), -1}
	}
	return at, nil
}

// Advance moves k by n worked half-days: n = 0 gives k; n > 0 the end of the
// n-th worked half-day at or after k; n < 0 the start of the |n|-th worked
// half-day before k. It fails with a *HorizonError where there is none.
func (c *Calendar) Advance(k Instant, n Halves) (Instant, error) {
	if !k.Valid() {
		return 0, &HorizonError{"a date", -1}
	}
	rank := int64(c.rank(k)) + int64(n)
	if n != 0 && (rank < 0 || rank > int64(c.rank(LastInstant))) {
		return 0, &HorizonError{n.String() + " from " + k.String(), -1}
	}
	return c.advance(k, n), nil
}

// Retreat is Advance backwards: the start of the n-th worked half-day before k.
func (c *Calendar) Retreat(k Instant, n Halves) (Instant, error) { return c.Advance(k, -n) }

func (c *Calendar) next(k Instant) Instant { return c.place(c.rank(k)) }

// beyond marks an instant past the horizon.
const beyond = LastInstant + 1

// advance is Advance without the error. A move off the early end of the
// horizon stops at FirstInstant (a bound before every start binds nothing);
// one off the late end gives beyond.
func (c *Calendar) advance(k Instant, n Halves) Instant {
	if n == 0 {
		return k
	}
	return c.shift(k, n)
}

// shift is advance without a branch. A move by nothing must be made on a
// calendar on which k is worked.
func (c *Calendar) shift(k Instant, n Halves) Instant {
	ahead := int32(uint32(-n) >> 31) // 1 where n > 0: the end of a half-day is wanted
	return c.place(c.rank(k)+int32(n)-ahead) + Instant(ahead)
}

// latest is the inverse of shift: the latest k with shift(k, n) <= limit. It
// gives FirstInstant - 1 where there is none.
func (c *Calendar) latest(limit Instant, n Halves) Instant {
	back := int32(uint32(n) >> 31) // 1 where n < 0
	rank := c.rank(limit+Instant(back)) - back - int32(n)
	if rank < 0 {
		return FirstInstant - 1
	}
	return c.place(rank)
}
