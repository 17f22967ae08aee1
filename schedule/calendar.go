package schedule

import "math/bits"

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

// wordCount covers the half-days of the horizon, 64 to a word.
const wordCount = (int(LastInstant) + 63) / 64

// Calendar says which half-days of the horizon are worked and answers every
// question about them in constant time: a bit for each half-day, a running
// count for each word of bits, and the place of every worked half-day.
// A Calendar never changes once made and may be shared.
type Calendar struct {
	name   string
	always bool                  // every half-day is worked; nothing below is filled
	worked [wordCount + 1]uint64 // bit i: the half-day that begins at Instant i
	before [wordCount + 1]int32  // worked half-days before each word
	places []Instant             // the worked half-days in order
}

// EveryDay is the calendar on which every half-day is worked.
func EveryDay() *Calendar { return &Calendar{name: "every-day", always: true} }

// NewCalendar makes a calendar from a weekly pattern, days off (holidays) and
// closures. Days and spans outside the horizon are cut to it.
func NewCalendar(name string, week Week, off []Day, closures []Span) *Calendar {
	c := &Calendar{name: name}
	c.fillWeeks(week)
	for _, d := range off {
		if d.Valid() {
			c.clear(Span{d.AM(), d.End()})
		}
	}
	for _, s := range closures {
		c.clear(s)
	}
	c.index()
	return c
}

// fillWeeks lays the week over the horizon, seven days at a time.
func (c *Calendar) fillWeeks(week Week) {
	monday := FirstDay - Day(FirstDay.Weekday()) // may lie before the horizon
	for d := monday; d <= LastDay; d += 7 {
		at := d.AM()
		bits14 := uint64(week)
		if at < 0 {
			bits14, at = bits14>>-at, 0
		}
		c.worked[at>>6] |= bits14 << (at & 63)
		if at&63 > 50 {
			c.worked[at>>6+1] |= bits14 >> (64 - at&63)
		}
	}
	c.clear(Span{0, FirstInstant})
	for i := LastInstant; i < Instant(len(c.worked)*64); i++ {
		c.worked[i>>6] &^= 1 << (i & 63)
	}
}

// clear takes the half-days of the span out of the working time.
func (c *Calendar) clear(s Span) {
	from, to := max(s.From, 0), min(s.To, LastInstant)
	for i := from; i < to; {
		if i&63 == 0 && to-i >= 64 {
			c.worked[i>>6] = 0
			i += 64
			continue
		}
		c.worked[i>>6] &^= 1 << (i & 63)
		i++
	}
}

// index fills the running counts and the places from the bits.
func (c *Calendar) index() {
	total := 0
	for w, word := range c.worked {
		c.before[w] = int32(total)
		total += bits.OnesCount64(word)
	}
	c.places = make([]Instant, 0, total)
	for w, word := range c.worked {
		for ; word != 0; word &= word - 1 {
			c.places = append(c.places, Instant(64*w+bits.TrailingZeros64(word)))
		}
	}
}

// Name is the calendar's name: "site".
func (c *Calendar) Name() string { return c.name }

// rank counts the worked half-days before k.
func (c *Calendar) rank(k Instant) int32 {
	if c.always {
		return int32(k - FirstInstant)
	}
	return c.before[k>>6] + int32(bits.OnesCount64(c.worked[k>>6]&(1<<(k&63)-1)))
}

// place is the instant at which the worked half-day of that rank begins;
// the horizon's end when there is none so late, its start when none so early.
func (c *Calendar) place(rank int32) Instant {
	switch {
	case rank < 0:
		return FirstInstant
	case c.always:
		return min(FirstInstant+Instant(rank), LastInstant)
	case int(rank) >= len(c.places):
		return LastInstant
	}
	return c.places[rank]
}

// Works says whether the half-day that begins at k is worked.
func (c *Calendar) Works(k Instant) bool {
	if k < FirstInstant || k >= LastInstant {
		return false
	}
	return c.always || c.worked[k>>6]>>(k&63)&1 == 1
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

// advance is Advance without the error. A move off the early end of the
// horizon stops at FirstInstant (a bound before every start binds nothing);
// one off the late end gives beyond.
func (c *Calendar) advance(k Instant, n Halves) Instant {
	switch {
	case n == 0:
		return k
	case n < 0:
		return c.place(c.rank(k) + int32(n))
	}
	at := c.place(c.rank(k) + int32(n) - 1)
	return at + 1 // LastInstant + 1 = beyond
}

// beyond marks an instant past the horizon.
const beyond = LastInstant + 1

// latest is the inverse of advance: the latest k with advance(k, n) <= limit.
// It gives FirstInstant - 1 where there is none.
func (c *Calendar) latest(limit Instant, n Halves) Instant {
	switch {
	case n == 0:
		return limit
	case n > 0:
		rank := c.rank(limit) - int32(n)
		if rank < 0 {
			return FirstInstant - 1
		}
		return c.place(rank)
	}
	return c.place(c.rank(min(limit+1, LastInstant)) - 1 - int32(n))
}
