package documents

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"putlog/jobs"
	"putlog/schedule"
)

// MostMessage is the most characters of a message.
const MostMessage = 700

// messageCut says how much is told: characters of each title, how many of the
// steps that matter most, how many of the soonest answers.
type messageCut struct{ title, steps, answers int }

// messageCuts go from all that is told where there is room to what always fits.
var messageCuts = [...]messageCut{
	{300, 5, 5}, {120, 5, 5}, {80, 5, 5}, {60, 5, 4}, {50, 4, 3}, {40, 4, 3}, {40, 3, 3}, {30, 3, 3},
	{40, 3, 2}, {30, 3, 2}, {40, 2, 2}, {30, 2, 2}, {40, 2, 1}, {30, 1, 2}, {30, 1, 1}, {20, 1, 1},
	{20, 0, 1}, {16, 0, 1}, {16, 0, 0},
}

// fitted gives the fullest text that is no longer than MostMessage.
func fitted(text func(messageCut) string) string {
	said := ""
	for _, cut := range messageCuts {
		if said = text(cut); utf8.RuneCountInString(said) <= MostMessage {
			break
		}
	}
	return said
}

// Message is the news of a job as a short plain text for the client: what
// happened, what it means for date and price, what answer is needed by when, in
// at most MostMessage characters. Where there is too much, titles are cut, and
// the steps that matter least and the latest answers only counted; what is told
// of dates and sums stays whole.
func Message(n *jobs.News) string {
	return fitted(func(cut messageCut) string {
		parts := []string{cut.of(n.Title) + ", " + n.AsAt.Long(), n.Finish}
		if len(n.Steps) > 0 {
			parts = append(parts, strings.Join(stepLines(n.Steps, cut), "\n"))
		}
		if n.Price != nil {
			parts = append(parts, sumsLine(*n.Price))
		}
		return strings.Join(append(parts, strings.Join(answerLines(n, cut), "\n")), "\n\n")
	})
}

// weight puts the steps in order of what they matter to the client: a variation
// that moved the finish first, then whatever moved it most.
func weight(s *jobs.NewsStep) int {
	size := int(max(s.Moved, -s.Moved))
	if s.Number != "" && size > 0 {
		size += int(schedule.MaxLength)
	}
	return size
}

// stepLines tell the steps that matter most, in order of date, and count the rest.
func stepLines(steps []jobs.NewsStep, cut messageCut) []string {
	told := make([]int, len(steps))
	for i := range steps {
		told[i] = i
	}
	slices.SortStableFunc(told, func(a, b int) int { return weight(&steps[b]) - weight(&steps[a]) })
	told = told[:min(cut.steps, len(steps))]
	slices.Sort(told)
	lines := []string{"What happened:"}
	for _, i := range told {
		s := &steps[i]
		what := cut.of(s.Title)
		if s.Number != "" {
			what = numbered(s.Number, what) + ", " + s.For
		}
		lines = append(lines, fmt.Sprintf("- %s: %s: %s", s.On.Short(), what, s.Effect))
	}
	switch rest := len(steps) - len(told); {
	case rest > 0 && len(told) == 0:
		lines = append(lines, "- "+plural(rest, "step"))
	case rest > 0:
		lines = append(lines, fmt.Sprintf("- and %d more", rest))
	}
	return lines
}

func sumsLine(p jobs.NewsPrice) string {
	said := "Price: "
	if p.Revised != p.Contract {
		said = fmt.Sprintf("Price: %s and the variations agreed, so ", p.Contract.Pounds())
	}
	said += p.Revised.Pounds() + " without VAT"
	if p.WithVAT != p.Revised {
		said += fmt.Sprintf(", %s with it", p.WithVAT.Pounds())
	}
	if p.NotAgreed != 0 {
		said += fmt.Sprintf(". Not agreed yet: %s without VAT", p.NotAgreed.Pounds())
	}
	return said + "."
}

func answerLines(n *jobs.News, cut messageCut) []string {
	if len(n.Answers) == 0 {
		return []string{"No answer is needed now."}
	}
	if cut.answers == 0 {
		return []string{plural(len(n.Answers), "answer") + " needed."}
	}
	lines := []string{"Please answer:"}
	told := min(cut.answers, len(n.Answers))
	for _, a := range n.Answers[:told] {
		// its title is cut, not the words before it and its number
		line := "- " + messageCut{title: cut.title + 30}.of(a.What)
		if a.Offer != "" {
			line += " (" + a.Offer + ")"
		}
		if a.By != 0 {
			line += ", by " + answerBy(a.By, n.AsAt)
		}
		lines = append(lines, line)
	}
	if more := len(n.Answers) - told; more > 0 {
		lines = append(lines, fmt.Sprintf("- and %d more", more))
	}
	return lines
}

func answerBy(by, today schedule.Day) string {
	if by == today {
		return "today, " + by.Long()
	}
	return by.Long()
}

// VariationMessage is the news of one variation, as Message tells a job's.
func VariationMessage(n *jobs.VariationNews) string {
	return fitted(func(cut messageCut) string {
		why := n.Asked
		if n.Because != "" {
			why += ": " + messageCut{title: 2 * cut.title}.of(n.Because)
		}
		lines := []string{cut.of(n.Job) + ", " + n.AsAt.Long(), "",
			numbered(n.Number, cut.of(n.Title)) + ".", sentence(why)}
		if n.Off != 0 {
			lines = append(lines, fmt.Sprintf("It was %s on %s: it is not done and costs nothing.",
				n.State, n.Off.Long()))
			return strings.Join(lines, "\n")
		}
		return strings.Join(append(lines, priceLine(n), n.Finish, "", answerLine(n)), "\n")
	})
}

// priceLine says the client's share of a variation.
func priceLine(n *jobs.VariationNews) string {
	sum, with, off := n.Client, n.WithVAT, ""
	if sum < 0 {
		sum, with, off = -sum, -with, " off"
	}
	said := fmt.Sprintf("Price: %s%s without VAT", sum.Pounds(), off)
	switch {
	case sum == 0:
		said = "Price: nothing for the client to pay"
	case n.Contract && n.VAT != 0:
		said += fmt.Sprintf(", %s%s with VAT at %s per cent", with.Pounds(), off, n.VAT)
	}
	if n.Agreed {
		return said + "; agreed."
	}
	return said + "; not agreed yet."
}

// answerLine says which answer is needed by when.
func answerLine(n *jobs.VariationNews) string {
	switch {
	case n.Instructed != 0 && n.Agreed:
		return fmt.Sprintf("Instructed on %s, price agreed: no answer is needed.", n.Instructed.Long())
	case n.Instructed != 0:
		return fmt.Sprintf("Instructed on %s. Please say whether the price is agreed.",
			n.Instructed.Long())
	case n.By != 0:
		return fmt.Sprintf("Please answer yes or no by %s: after that, work waits for the answer.",
			answerBy(n.By, n.AsAt))
	}
	return "Please answer yes or no."
}

// numbered puts a variation's number before its title.
func numbered(number, title string) string {
	return messageCut{title: 16}.of(number) + ", " + title
}

// of cuts a text to the length of a title: at the end of a word where there is
// one, with an ellipsis. Line ends become blanks.
func (c messageCut) of(text string) string {
	runes := []rune(strings.Join(strings.Fields(text), " "))
	if len(runes) <= c.title {
		return string(runes)
	}
	kept := string(runes[:c.title-1])
	if at := strings.LastIndexByte(kept, ' '); at > 0 && runes[c.title-1] != ' ' {
		kept = kept[:at]
	}
	return strings.TrimRight(kept, " ,;:.-") + "…"
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
