package documents

import (
	"fmt"

	"putlog/schedule"
)

// The ladder of movement: under the words of each step a line on which the
// finish moves, all of them to one scale.

const (
	ladderWidth = 300 // units
	stepHigh    = 8
)

// drawnRung is a step with its line.
type drawnRung struct {
	Rung
	Bar  string // path from the finish before to the finish after
	Post string // path of an upright at the finish after
}

// Width is the width of every line.
func (drawnRung) Width() int { return ladderWidth }

// drawLadder draws the steps.
func drawLadder(s *Statement) []drawnRung {
	first, last := s.Accepted, s.Accepted
	for _, r := range s.Ladder {
		first, last = min(first, r.From, r.To), max(last, r.From, r.To)
	}
	place := func(at schedule.Instant) int {
		const edge = 2 // room for an upright at either end
		return edge + (ladderWidth-2*edge)*int(at-first)/int(max(last-first, 1))
	}
	all := make([]drawnRung, len(s.Ladder))
	for i, r := range s.Ladder {
		from, to := place(r.From), place(r.To)
		all[i] = drawnRung{Rung: r, Post: fmt.Sprintf("M%d 0v14", to)}
		if from != to {
			wide := max(from, to) - min(from, to)
			all[i].Bar = fmt.Sprintf("M%d 3h%dv%dh-%dz", min(from, to), wide, stepHigh, wide)
		}
	}
	return all
}
