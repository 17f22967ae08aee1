package documents

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"putlog/jobs"
	"putlog/jobs/words"
	"putlog/schedule"
	"putlog/variations"
)

// The words of the pages, for a reader who has never seen "am" behind a date.

var halfWords = [...]string{schedule.AM: "(morning)", schedule.PM: "(afternoon)"}

// finishWords says a finish: "Thu 20 May 2027 (afternoon)".
func finishWords(at schedule.Instant) string {
	last := at.Last()
	return last.Day().Long() + " " + halfWords[last.Half()]
}

// spanWords says from when to when, with a half named only where the day is not
// whole: "Mon 8 Feb (afternoon) to Thu 11 Feb".
func spanWords(start, end schedule.Instant) string {
	last := max(end.Last(), schedule.FirstInstant)
	from, to := start.Day().Short(), last.Day().Short()
	switch {
	case end <= start: // no length: the half-day that ends there
		return to + " " + halfWords[last.Half()]
	case start.Day() == last.Day() && start == last:
		return from + " " + halfWords[start.Half()]
	case start.Day() == last.Day():
		return from
	}
	if start.Half() == schedule.PM {
		from += " " + halfWords[schedule.PM]
	}
	if last.Half() == schedule.AM {
		to += " " + halfWords[schedule.AM]
	}
	return from + " to " + to
}

// halvesInWords gives what writes out the halves of the dates in a sentence:
// "Fri 21 May 2027 pm" becomes "Fri 21 May 2027 (afternoon)".
func halvesInWords() func(string) string {
	dated := regexp.MustCompile(`\b((?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) [0-9]{1,2} ` +
		`(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)(?: [0-9]{4})?) (am|pm)\b`)
	write := strings.NewReplacer("am", halfWords[schedule.AM], "pm", halfWords[schedule.PM])
	return func(text string) string {
		return dated.ReplaceAllStringFunc(text, func(date string) string {
			cut := len(date) - len("am")
			return date[:cut] + write.Replace(date[cut:])
		})
	}
}

// movedWords says by how many working days a step moved the finish.
func movedWords(n schedule.Halves) string {
	switch {
	case n > 0:
		return n.Decimal() + " later"
	case n < 0:
		return (-n).Decimal() + " earlier"
	}
	return "none"
}

// whatWords says in a few words what a step of the movement was.
func whatWords(s variations.Step) string {
	title := messageCut{title: 120}.of(s.Title)
	switch {
	case s.Kind == variations.Drift && s.Ref == "":
		return "Days went by with nothing recorded"
	case s.Kind == variations.Drift:
		return title + " was not done yet while days went by"
	case s.Always:
		return title + " (" + messageCut{title: 16}.of(s.Ref) + ")"
	}
	return words.Capital(title)
}

// Effect says what the step did to the finish and who bears it.
func (r Rung) Effect() string {
	return words.Later(r.Worked) + ", " + r.Bearer.Whose()
}

// moreWords says how many steps are told below only; "" for none.
func moreWords(more int) string {
	switch more {
	case 0:
		return ""
	case 1:
		return "One more step moved it; all are set out below."
	}
	return strconv.Itoa(more) + " more steps moved it; all are set out below."
}

// stateWords says how far a variation has come, for the one who pays it.
func stateWords(v jobs.ClientLine) string {
	price := "price not agreed yet"
	if v.Agreed {
		price = "price agreed"
	}
	switch v.State {
	case variations.Raised:
		return "Proposed: not instructed, " + price
	case variations.Agreed:
		return "Price agreed"
	case variations.Declined:
		return "Declined"
	case variations.Withdrawn:
		return "Withdrawn"
	case variations.CarriedOut:
		return "Carried out, " + price
	}
	return "Instructed, " + price
}

// priceWords says the client's price of a variation; one that was turned down
// costs nothing.
func priceWords(v jobs.ClientLine) string {
	if v.State == variations.Declined || v.State == variations.Withdrawn {
		return "nothing"
	}
	return v.Client.Pounds()
}

var partyWords = map[string]string{"client": "Client", "builder": "Builder", "neutral": "Neutral",
	"inspector": "Inspector", "found-on-site": "Found on site", "": "–"}

// comingWords says when a stage comes, or that it is under way.
func comingWords(c jobs.Coming) string {
	switch {
	case c.On:
		return "Under way, to " + spanWords(c.End.Last(), c.End)
	case c.Kind == schedule.KindDelivery:
		return "Due in on " + spanWords(c.End.Last(), c.End)
	}
	return spanWords(c.Start, c.End)
}

// NowWords names the finish as it stands.
func (s *Statement) NowWords() string {
	unfinished := func(bar Bar) bool { return bar.State != schedule.Finished }
	if len(s.Picture.Bars) == 0 || slices.ContainsFunc(s.Picture.Bars, unfinished) {
		return "Finish now"
	}
	return "Finished"
}

// balanceWords says what was taken off the total due.
func (a *Account) balanceWords() string {
	if a.Retention == 0 {
		return "total due less what was paid"
	}
	return "total due less what was paid and a retention of " + a.Retention.Pounds()
}

// notAgreedWords says what is not in the account yet; "" for nothing.
func (a *Account) notAgreedWords() string {
	if a.NotAgreed == 0 {
		return ""
	}
	return "Instructed, price not agreed yet, and not counted above: " + a.NotAgreed.Pounds() +
		" without VAT."
}

// dueWords says what the account comes to.
func (a *Account) dueWords() string {
	switch {
	case a.Balance < 0:
		return (-a.Balance).Pounds() + " more has been paid than the job comes to."
	case a.Balance == 0:
		return "Nothing is still to be paid."
	}
	return a.Balance.Pounds() + " is still to be paid on the whole job, VAT included."
}

// unprintable takes out of a page what a reader can't see: control characters,
// the marks that turn the direction of a text, and what is no character.
func unprintable(r rune) rune {
	switch {
	case r == '\t' || r == '\n':
		return r
	case r < ' ', r >= 0x7f && r <= 0x9f, r == 0x61c, r == 0x200e, r == 0x200f,
		r >= 0x2028 && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0xfeff, r == 0xfffe, r == 0xffff:
		return -1
	}
	return r
}
