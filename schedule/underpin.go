package schedule

import (
	"fmt"
	"slices"
	"strings"
)

// Underpinning says what wall is underpinned in mass concrete, bay by bay, and
// how. A field left zero takes the usual value; see Sequence for the rules.
type Underpinning struct {
	WallMM int   // length of the wall, millimetres, at most 100 m
	BayMM  int   // no bay wider, millimetres; usual 1000, never above 1400
	Share  int   // most of the wall open at once, per cent; usual 25, never more
	Order  []int // the engineer's order: every bay once, bays counted from 1

	// Abreast has the bays of a group dug side by side, a gang to each.
	// Otherwise one gang digs them one after another.
	Abreast bool
	// SeenOnTheDay has each bay dug in the morning, seen and concreted in the
	// afternoon: there is no inspection step, the pour stands for both.
	SeenOnTheDay bool
	NoticeAsked  bool // each inspection waits for notice
	Notice       int  // clear working days of that notice

	Dig  Halves // a bay's dig; usual 1d, 0.5d when seen on the day
	See  Halves // its inspection; usual 0.5d
	Pour Halves // its concrete; usual 0.5d
	Pack Halves // its dry pack; usual 0.5d

	// Gain is from the last half-day of the pour to the dry pack, every day
	// counting; usual 24 h, so that an afternoon's concrete is packed the next
	// afternoon. Never less.
	Gain Halves
	// Neighbour is clear working time from the end of the dry pack until a
	// bay beside it is opened; usual 1d, so that a bay packed by the evening of
	// day 2 has its neighbour dug on day 4, two working days after. Never less.
	Neighbour Halves
}

// UnderpinStep is one step of one bay.
type UnderpinStep struct {
	ID     string // "dig-1", "see-1", "pour-1", "gain-1", "pack-1"
	Title  string
	Bay    int // counted from 1 along the wall
	Kind   Kind
	Length Halves
	Notice int // clear days of notice of an inspection; -1 when none is asked
	After  []UnderpinLink
}

// UnderpinLink is a finish-start link from an earlier step.
type UnderpinLink struct {
	Step   int    // index of the earlier step
	Lag    Halves // negative where a gain begins with the last half-day of its pour
	OnSite bool   // the lag counts the site's worked half-days, not every half-day
}

// UnderpinSequence is the work in the order in which it may be done: each step
// stands after all that it follows. The links alone keep the rules, however
// long a step turns out to take.
type UnderpinSequence struct {
	Bays     int     // equal bays along the wall
	WidthMM  int     // of a bay, rounded up to the millimetre
	Order    []int   // bays in the order of their digs
	Groups   [][]int // bays that may be open together, group after group
	Steps    []UnderpinStep
	Cautions []string
	Notes    []string // how it was worked out
	Source   string
}

// The limits that an Underpinning must keep.
const (
	usualBayMM     = 1000   // LABC
	widestBayMM    = 1400   // guidance notes for sound walls, from memory
	narrowestBayMM = 500    // room to dig and pack: common practice, no published source
	longestWallMM  = 100000 // ours: a longer wall is more than one job
	mostShare      = 25     // per cent; foundation handbooks, from memory
	longestStep    = 120    // half-days; ours: 60 days is no step of one bay
)

const underpinSource = "LABC, How to get it right: localised underpinning " +
	"(bays of 1 m, dry pack the following day); " +
	"Planning Portal, underpinning (each bay seen before it is concreted, " +
	"several at once only if far apart); " +
	"BRE and engineers' specifications, from memory " +
	"(bays to 1.4 m, a quarter of the wall, 24 to 72 h from the pack to a neighbour); " +
	"lengths of steps: common practice, no published source"

// Sequence splits the wall into the fewest equal bays within BayMM and puts
// the steps of each in order: dig, inspection, pour, gain, dry pack. A bay is
// open from its dig to the end of its pack.
//
// No more bays are open at once than Share allows, bays being equal; a group is
// opened when the one before it is packed; and a bay beside a packed one waits
// for Neighbour besides. Without an Order the bays of a group stand as far
// apart as they can, bay 1 and every other group first, then those between (the
// other way about when that puts neighbours in successive groups less often).
// An Order that opens neighbours early is made to wait by the links.
//
// It fails, saying the rule, its source and what to do, when the wall or a wait
// can't keep the rules or an Order misses or repeats a bay.
func (u Underpinning) Sequence() (UnderpinSequence, error) {
	u = u.usual()
	if err := u.check(); err != nil {
		return UnderpinSequence{}, err
	}
	bays := upTo(u.WallMM, u.BayMM)
	most := bays * u.Share / 100
	if err := u.checkBays(bays, most); err != nil {
		return UnderpinSequence{}, err
	}
	groups := spreadGroups(bays, most)
	if u.Order != nil {
		if err := checkOrder(u.Order, bays); err != nil {
			return UnderpinSequence{}, err
		}
		groups = cutOrder(u.Order, most)
	}
	s := UnderpinSequence{Bays: bays, WidthMM: upTo(u.WallMM, bays), Groups: groups,
		Order: slices.Concat(groups...), Source: underpinSource}
	s.Steps = u.steps(groups, bays)
	s.Cautions, s.Notes = u.cautions(s), u.notes(s)
	return s, nil
}

// upTo divides, rounding up; both are above zero.
func upTo(a, b int) int { return (a + b - 1) / b }

// usual fills in the fields left zero.
func (u Underpinning) usual() Underpinning {
	dig := Days(1)
	if u.SeenOnTheDay {
		dig = 1
	}
	for _, f := range []struct {
		value *Halves
		usual Halves
	}{
		{&u.Dig, dig}, {&u.See, 1}, {&u.Pour, 1}, {&u.Pack, 1},
		{&u.Gain, Days(1)}, {&u.Neighbour, Days(1)},
	} {
		if *f.value == 0 {
			*f.value = f.usual
		}
	}
	if u.BayMM == 0 {
		u.BayMM = usualBayMM
	}
	if u.Share == 0 {
		u.Share = mostShare
	}
	return u
}

// check refuses what is out of range whatever the number of bays.
func (u Underpinning) check() error {
	switch {
	case u.WallMM <= 0:
		return fmt.Errorf("a wall of %d mm can't be underpinned; "+
			"give the length of the wall", u.WallMM)
	case u.WallMM > longestWallMM:
		return fmt.Errorf("a wall of %d mm is too long for one sequence; "+
			"split it into lengths of at most %d mm", u.WallMM, longestWallMM)
	case u.BayMM < 0:
		return fmt.Errorf("a bay of %d mm is not a width; give it in millimetres, "+
			"usually %d", u.BayMM, usualBayMM)
	case u.BayMM > widestBayMM:
		return fmt.Errorf("bays of %d mm are too wide: never above %d mm, for sound walls "+
			"(guidance notes, from memory), and 1000 mm without expert advice (LABC); "+
			"make them %d mm or less", u.BayMM, widestBayMM, usualBayMM)
	case u.Share < 0 || u.Share > mostShare:
		return fmt.Errorf("%d per cent of the wall can't be open at once: never above "+
			"%d per cent (foundation handbooks, BRE, engineers' specifications, from memory); "+
			"give 1 to %d", u.Share, mostShare, mostShare)
	}
	return u.checkLengths()
}

// checkLengths refuses steps and waits that are out of range.
func (u Underpinning) checkLengths() error {
	for _, f := range []struct {
		name  string
		value Halves
	}{
		{"a dig", u.Dig}, {"an inspection", u.See}, {"a pour", u.Pour}, {"a dry pack", u.Pack},
		{"a wait for the dry pack", u.Gain}, {"a wait for a neighbour", u.Neighbour},
	} {
		if f.value < 1 || f.value > longestStep {
			return fmt.Errorf("%s of %s is out of range; give 0.5d to %s",
				f.name, f.value, Halves(longestStep))
		}
	}
	switch {
	case u.Gain < Days(1):
		return fmt.Errorf("dry pack %d h after the pour is too soon: not before the "+
			"following day, 24 h (LABC); give 24 h or more", 12*u.Gain)
	case u.Neighbour < Days(1):
		return fmt.Errorf("%d h from the dry pack to the bay beside it is too soon: "+
			"24 to 72 h (engineers' specifications, from memory); "+
			"give 1d or more", 12*u.Neighbour)
	case u.SeenOnTheDay && u.Dig+u.Pour > Days(1):
		return fmt.Errorf("a dig of %s and a pour of %s don't fit into one day; shorten them, "+
			"or let the inspection be a step of its own", u.Dig, u.Pour)
	case u.SeenOnTheDay && u.NoticeAsked:
		return fmt.Errorf("bays seen on the day they are dug have no inspection to give " +
			"notice of; leave out the one or the other")
	case u.NoticeAsked && (u.Notice < 0 || u.Notice > longestStep/2):
		return fmt.Errorf("%d clear days of notice is out of range; give 0 to %d",
			u.Notice, longestStep/2)
	}
	return nil
}

// checkBays refuses a wall that can't keep the share, or only with bays too
// narrow to work in, and names the width that would do.
func (u Underpinning) checkBays(bays, most int) error {
	fewest := upTo(100, u.Share)
	roomFor := u.WallMM / narrowestBayMM // bays no narrower than the narrowest
	switch {
	case roomFor < fewest:
		return fmt.Errorf("a wall of %d mm is too short to be underpinned in bays: it takes %d for "+
			"%d per cent of it to be open at most (foundation handbooks, BRE, from memory), none "+
			"under %d mm, to be worked in at all (common practice, no published source); "+
			"ask the engineer for a sequence", u.WallMM, fewest, u.Share, narrowestBayMM)
	case most == 0:
		return fmt.Errorf("one bay in %d opens more than %d per cent of the wall "+
			"(foundation handbooks, BRE, engineers' specifications, from memory); "+
			"make the bays up to %d mm", bays, u.Share, upTo(u.WallMM, fewest))
	case bays > roomFor:
		return fmt.Errorf("%d bays in %d mm are too narrow: %d mm is the narrowest that can be "+
			"worked in (common practice, no published source); make the bays up to %d mm",
			bays, u.WallMM, narrowestBayMM, upTo(u.WallMM, roomFor))
	}
	return nil
}

// checkOrder refuses an order that does not name every bay once.
func checkOrder(order []int, bays int) error {
	times := make([]int, bays+1)
	for _, bay := range order {
		if bay < 1 || bay > bays {
			return fmt.Errorf("the order names bay %d, but the bays are 1 to %d; "+
				"name each of them once", bay, bays)
		}
		times[bay]++
	}
	var faults []string
	for bay := 1; bay <= bays; bay++ {
		switch {
		case times[bay] == 0:
			faults = append(faults, fmt.Sprintf("leaves out bay %d", bay))
		case times[bay] > 1:
			faults = append(faults, fmt.Sprintf("repeats bay %d", bay))
		}
	}
	if faults != nil {
		return fmt.Errorf("the order %s; name each of the bays 1 to %d once",
			strings.Join(faults, ", "), bays)
	}
	return nil
}

// spreadGroups puts the bays into the fewest groups of at most most: every
// bay a whole number of groups from the first is in one group, so that those
// open together stand as far apart as they can.
func spreadGroups(bays, most int) [][]int {
	apart := upTo(bays, most)
	everyOther := func(firsts ...int) (groups [][]int) {
		for _, first := range firsts {
			for ; first <= apart; first += 2 {
				var group []int
				for bay := first; bay <= bays; bay += apart {
					group = append(group, bay)
				}
				groups = append(groups, group)
			}
		}
		return groups
	}
	odd, even := everyOther(1, 2), everyOther(2, 1)
	if touches(even) < touches(odd) {
		return even
	}
	return odd
}

// touches counts the groups that hold a neighbour of the group before: each
// must wait.
func touches(groups [][]int) int {
	n := 0
	for g := 1; g < len(groups); g++ {
		if slices.ContainsFunc(groups[g], func(bay int) bool { return beside(groups[g-1], bay) }) {
			n++
		}
	}
	return n
}

// beside says whether the group holds a neighbour of the bay.
func beside(group []int, bay int) bool {
	return slices.Contains(group, bay-1) || slices.Contains(group, bay+1)
}

// cutOrder cuts a given order into groups of at most most without neighbours.
func cutOrder(order []int, most int) (groups [][]int) {
	var group []int
	for _, bay := range order {
		if len(group) == most || beside(group, bay) {
			groups, group = append(groups, group), nil
		}
		group = append(group, bay)
	}
	return append(groups, group)
}

// bayPlan holds what is known while the steps are laid out.
type bayPlan struct {
	how    Underpinning
	groups [][]int
	dug    []int // by bay: the index of its dig; -1 before it is laid out
	packed []int // by bay: the index of its dry pack; likewise
	steps  []UnderpinStep
}

// steps lays out the steps of every bay, group after group.
func (u Underpinning) steps(groups [][]int, bays int) []UnderpinStep {
	p := bayPlan{how: u, groups: groups, dug: make([]int, bays+2), packed: make([]int, bays+2)}
	for bay := range p.packed { // two more than there are: every bay has two neighbours
		p.dug[bay], p.packed[bay] = -1, -1
	}
	for g, group := range groups {
		for i, bay := range group {
			p.layBay(bay, p.opening(g, i))
		}
	}
	return p.steps
}

// opening gives the links that hold back the dig of bay i of group g.
func (p *bayPlan) opening(g, i int) (after []UnderpinLink) {
	bay := p.groups[g][i]
	for _, neighbour := range []int{bay - 1, bay + 1} {
		if pack := p.packed[neighbour]; pack >= 0 {
			after = append(after, UnderpinLink{pack, p.how.Neighbour, true})
		}
	}
	if g > 0 {
		for _, before := range p.groups[g-1] {
			if before != bay-1 && before != bay+1 { // a neighbour's link says more
				after = append(after, UnderpinLink{Step: p.packed[before]})
			}
		}
	}
	if i > 0 && !p.how.Abreast {
		after = append(after, UnderpinLink{Step: p.dug[p.groups[g][i-1]]})
	}
	return after
}

// layBay adds the steps of one bay.
func (p *bayPlan) layBay(bay int, opening []UnderpinLink) {
	u := p.how
	last := p.add(bay, "dig", "Dig bay %d", KindWork, u.Dig, opening...)
	p.dug[bay] = last
	pour := "Concrete bay %d"
	if u.SeenOnTheDay {
		pour = "Bay %d seen by the engineer and building control, then concreted"
	} else {
		last = p.add(bay, "see", "Engineer and building control see bay %d",
			KindInspection, u.See, UnderpinLink{Step: last})
		if u.NoticeAsked {
			p.steps[last].Notice = u.Notice
		}
	}
	last = p.add(bay, "pour", pour, KindWork, u.Pour, UnderpinLink{Step: last})
	last = p.add(bay, "gain", "Bay %d gains strength for the dry pack", KindWait, u.Gain,
		UnderpinLink{Step: last, Lag: -1})
	p.packed[bay] = p.add(bay, "pack", "Dry-pack bay %d", KindWork, u.Pack,
		UnderpinLink{Step: last})
}

// add adds a step, its title still to be given the bay, and gives its index.
func (p *bayPlan) add(bay int, id, title string, kind Kind, length Halves,
	after ...UnderpinLink) int {
	p.steps = append(p.steps, UnderpinStep{ID: fmt.Sprintf("%s-%d", id, bay),
		Title: fmt.Sprintf(title, bay), Bay: bay, Kind: kind, Length: length, Notice: -1,
		After: after})
	return len(p.steps) - 1
}

// cautions are what must be shown wherever the sequence is.
func (u Underpinning) cautions(s UnderpinSequence) []string {
	list := []string{
		"Underpinning to a structural engineer's design and building control's approval.",
		"Excavations shored or battered.",
		"Never two neighbouring bays open.",
		"No bay is concreted before the engineer and building control have seen it.",
		"Neighbouring buildings within 3 m or 6 m of the dig: Party Wall etc. Act 1996 " +
			"(England and Wales).",
	}
	if s.WidthMM > usualBayMM {
		list = append(list, "Bays wider than 1 m only on expert advice (LABC).")
	}
	return list
}

// notes tell how the sequence was worked out.
func (u Underpinning) notes(s UnderpinSequence) []string {
	hundredths := s.Bays * u.Share
	list := []string{
		splitNote(u.WallMM, s),
		fmt.Sprintf("%d per cent of %d bays is %d.%02d: at most %d open at once.",
			u.Share, s.Bays, hundredths/100, hundredths%100, hundredths/100),
		fmt.Sprintf("Bays group by group: %s. A group is opened when the one before is packed.",
			groupsText(s.Groups)),
		fmt.Sprintf("Dry pack %d h after the pour, counted from its last half-day.", 12*u.Gain),
		fmt.Sprintf("A bay beside a packed one is dug after %s of clear working time.", u.Neighbour),
	}
	if hundredths >= 200 {
		list = append(list, gangNote(u.Abreast))
	}
	return append(list, "A bay not packed before a weekend or a closure stands open through it: "+
		"begin it after, or ask the engineer.")
}

// splitNote tells how the wall is marked out: equal bays to the millimetre,
// those a millimetre wider first.
func splitNote(wall int, s UnderpinSequence) string {
	narrow, wide := wall/s.Bays, wall%s.Bays
	if wide == 0 {
		return fmt.Sprintf("%d mm of wall in %d bays of %d mm.", wall, s.Bays, narrow)
	}
	return fmt.Sprintf("%d mm of wall in %d bays: from one end %d of %d mm, then %d of %d mm.",
		wall, s.Bays, wide, narrow+1, s.Bays-wide, narrow)
}

func gangNote(abreast bool) string {
	if abreast {
		return "The bays of a group are dug side by side, a gang to each."
	}
	return "One gang digs the bays of a group one after another."
}

// groupsText writes groups as they are said: "1, 5, 9; then 3, 7, 11".
func groupsText(groups [][]int) string {
	said := make([]string, len(groups))
	for i, group := range groups {
		said[i] = strings.Trim(strings.ReplaceAll(fmt.Sprint(group), " ", ", "), "[]")
	}
	return strings.Join(said, "; then ")
}

// Continues says whether another step follows step i.
func (s UnderpinSequence) Continues(i int) bool {
	for _, step := range s.Steps[i+1:] {
		for _, l := range step.After {
			if l.Step == i {
				return true
			}
		}
	}
	return false
}
