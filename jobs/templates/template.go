package templates

import (
	"embed"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"putlog/jobs"
	"putlog/jobs/form"
	"putlog/jobs/words"
	"putlog/schedule"
)

// Template is a conversion as a data file describes it: what to measure and to
// choose, how long work takes, and the stages in which the choices fall out. A
// builder may copy the file and change it; New makes a job of it.
type Template struct {
	Name         string         `form:"template" eg:"attached-garage"`
	Title        string         `form:"title" eg:"Attached garage to a warm room"`
	About        string         `form:"about"`
	HoursADay    Amount         `form:"hours-a-day" eg:"7"` // worked, breaks and fetching taken off
	Measurements []Measurement  `form:"measurements,optional,keyed"`
	Choices      []Choice       `form:"choices,optional,keyed"`
	Outputs      []Output       `form:"outputs,optional,keyed"`
	Quantities   []Sum          `form:"quantities,optional,keyed"`
	Limits       []Limit        `form:"limits,optional,keyed"`
	TakenOver    TakenOver      `form:"taken-over"`
	Cautions     []jobs.Caution `form:"cautions,optional"`
	Notes        []Note         `form:"notes,optional"`
	Basis        []Basis        `form:"basis,optional"`
	Stages       []Stage        `form:"stages"`
}

// Measurement is a figure of the survey, with the value taken when it is not
// given.
type Measurement struct {
	Name  string `form:"name,key"`
	Unit  Unit   `form:"unit" eg:"m"`
	Usual string `form:"usual" eg:"5.2"`
	What  string `form:"what"`          // what to measure, in plain words
	From  Amount `form:"from,optional"` // the least that can be right
	To    Amount `form:"to,optional"`   // and the most
}

// Unit says how a measurement or an output counts. A bare figure is in it.
type Unit uint8

// The units.
const (
	Metres Unit = iota + 1
	WrittenMM
	SquareMetres
	CubicMetres
	Each
	DegreesC
)

var unitNames = [...]string{"", "m", "mm", "m2", "m3", "each", "C"}

// String gives the unit as a template writes it: "m2".
func (u Unit) String() string { return unitNames[u] }

// MarshalText gives the unit as a template writes it.
func (u Unit) MarshalText() ([]byte, error) { return []byte(u.String()), nil }

// UnmarshalText reads "m", "mm", "m2", "m3", "each" or "C".
func (u *Unit) UnmarshalText(text []byte) error {
	return words.Choose(u, "a unit", unitNames[1:], text)
}

// dim is what the unit measures.
func (u Unit) dim() dimension {
	return [...]dimension{0, dimLength, dimLength, dimArea, dimVolume, dimNumber, dimDegrees}[u]
}

// Choice is a question with a closed list of answers.
type Choice struct {
	Name  string   `form:"name,key"`
	Words []string `form:"words" eg:"[screed, timber]"`
	Usual string   `form:"usual" eg:"screed"`
	What  string   `form:"what"` // what is asked, in plain words
}

// Output is how many hours one person takes for one unit of work.
type Output struct {
	Name   string `form:"name,key"`
	Hours  Amount `form:"hours" eg:"0.65"`
	Per    Unit   `form:"per" eg:"m2"`
	Source string `form:"source" eg:"common practice, no published source"`
}

// Sum is a named quantity: an expression over what stands above it. With when
// it holds only then, and else gives it otherwise.
type Sum struct {
	Name string      `form:"name,key"`
	Is   Expression  `form:"is" eg:"length * width"`
	When []Condition `form:"when,optional,lone"`
	Else Expression  `form:"else,optional"`
}

// UnmarshalText reads an expression that always holds.
func (s *Sum) UnmarshalText(text []byte) error { return s.Is.UnmarshalText(text) }

// Limit is what a quantity must keep to; beyond least and most the survey is
// warned, beyond never-under and never-over it is refused.
type Limit struct {
	Name       string      `form:"name,key"`
	Of         Expression  `form:"of" eg:"slab-to-dpc - floor-insulation"`
	Called     string      `form:"called" eg:"the screed"`
	When       []Condition `form:"when,optional,lone"`
	Least      Amount      `form:"least,optional" eg:"65mm"`
	TooLittle  string      `form:"too-little,optional"` // why, and what to do
	NeverUnder Amount      `form:"never-under,optional" eg:"50mm"`
	Most       Amount      `form:"most,optional" eg:"75mm"`
	TooMuch    string      `form:"too-much,optional"`
	NeverOver  Amount      `form:"never-over,optional" eg:"150mm"`
	Shows      string      `form:"shows,optional"` // the wait whose sum is added
}

// TakenOver says how long it takes to deal with what others left behind.
type TakenOver struct {
	MakeGood jobs.Length `form:"make-good" eg:"1d"`  // of a stage found poor
	LayOpen  jobs.Length `form:"lay-open" eg:"0.5d"` // of a stage found covered unseen
	CloseUp  jobs.Length `form:"close-up" eg:"0.5d"` // once it has been seen
	Notice   Notices     `form:"notice"`             // of that inspection
	Source   string      `form:"source"`             // where the lengths come from
}

// Notices is the notice of an inspection by region, in clear working days. A
// template writes one number where it is the same everywhere; a region left out
// asks for none.
type Notices struct {
	EnglandAndWales *int `form:"england-and-wales"`
	Scotland        *int `form:"scotland"`
	NorthernIreland *int `form:"northern-ireland"`
}

// UnmarshalText reads one number for every region.
func (n *Notices) UnmarshalText(text []byte) error {
	days, err := strconv.Atoi(string(text))
	if err != nil || strconv.Itoa(days) != string(text) {
		return fmt.Errorf("%q is not a number of clear working days; write 1, or "+
			"{england-and-wales: 1, scotland: 1, northern-ireland: 2}", text)
	}
	*n = Notices{&days, &days, &days}
	return nil
}

// in gives the notice that a region asks for; nil when it asks for none.
func (n *Notices) in(r jobs.Region) *int {
	switch {
	case n == nil:
		return nil
	case r == jobs.Scotland:
		return n.Scotland
	case r == jobs.NorthernIreland:
		return n.NorthernIreland
	}
	return n.EnglandAndWales
}

// Note is a line of what the plan rests on.
type Note struct {
	Note string      `form:"note"`
	When []Condition `form:"when,optional,lone"`
}

// UnmarshalText reads a note that always stands.
func (n *Note) UnmarshalText(text []byte) error {
	n.Note = string(text)
	return nil
}

// Condition holds when any of its alternatives does: "floor=screed", or
// "opening=yes or underpin=yes". The region counts as a choice.
type Condition struct{ any []Setting }

// UnmarshalText reads "floor=screed" or alternatives joined by or.
func (c *Condition) UnmarshalText(text []byte) error {
	for _, part := range strings.Split(string(text), " or ") {
		s, err := ParseSetting(strings.TrimSpace(part))
		if err != nil {
			return fmt.Errorf("%q is not a condition; write floor=screed, or "+
				"opening=yes or underpin=yes", text)
		}
		c.any = append(c.any, s)
	}
	return nil
}

// Setting is one answer of the survey: a name and what it is set to.
type Setting struct{ Name, Value string }

// ParseSetting reads "length=5.2m"; blanks beside the sign do not count.
func ParseSetting(text string) (Setting, error) {
	name, value, ok := strings.Cut(text, "=")
	s := Setting{strings.TrimSpace(name), strings.TrimSpace(value)}
	if !ok || s.Name == "" || s.Value == "" {
		return Setting{}, fmt.Errorf("%q does not set anything; write name=value, as length=5.2m", text)
	}
	return s, nil
}

// Stage is a stage of a template: a stage of a job file, whose length
// may also come from work or from a bay-by-bay underpinning, and which falls
// out when its conditions do not hold.
type Stage struct {
	ID        string         `form:"stage" eg:"strip-out"`
	Title     string         `form:"title"`
	When      []Condition    `form:"when,optional,lone"` // all must hold
	Kind      schedule.Kind  `form:"kind,optional"`
	Takes     jobs.Length    `form:"takes,optional" eg:"1d"`
	Work      []Work         `form:"work,optional,lone"`
	Underpin  *Underpin      `form:"underpin,optional"`
	Trade     string         `form:"trade,optional"`
	By        jobs.Party     `form:"by,optional"`
	Calendar  string         `form:"calendar,optional"`
	Notice    *Notices       `form:"notice,optional"`
	After     []jobs.After   `form:"after,optional,lone"`
	Reckoning string         `form:"reckoning,optional"`
	Cautions  []jobs.Caution `form:"cautions,optional,lone"`
	MakeGood  jobs.Length    `form:"make-good,optional" eg:"1d"` // when found poor

	Air   jobs.Air          `form:"air,optional"`
	Limit schedule.Humidity `form:"limit,optional"`

	Concrete *WaitRule `form:"concrete,optional"`
	Screed   *WaitRule `form:"screed,optional"`
	Curing   *WaitRule `form:"curing,optional"`
	Skim     *WaitRule `form:"skim,optional"`
	Adhesive *WaitRule `form:"adhesive,optional"`
	Membrane *WaitRule `form:"membrane,optional"`
	Mortar   *WaitRule `form:"mortar,optional"`
}

// Work gives a length by quantity, gang and output.
type Work struct {
	Quantity Expression `form:"quantity" eg:"floor-area"`
	Output   string     `form:"output" eg:"stud"`
	People   Expression `form:"people" eg:"2"`
}

// Underpin has a stage expanded into the steps of underpinning a wall bay by
// bay; see schedule.Underpinning. What is left out takes the usual value; bays
// are no wider than a metre, and narrower where a short wall asks for it.
type Underpin struct {
	Wall      Expression  `form:"wall" eg:"pin-length"`
	Bay       Expression  `form:"bay,optional" eg:"1m"`
	Dig       []Work      `form:"dig,optional,lone"` // of one bay; bay is its width
	Pour      []Work      `form:"pour,optional,lone"`
	Gain      jobs.Length `form:"gain,optional" eg:"1d"`
	Neighbour jobs.Length `form:"neighbour,optional" eg:"1d"`
}

// WaitRule is a wait by what it is, as a job file writes it, in which a value
// may be the name of a measurement, a quantity or a choice, or an expression.
type WaitRule struct{ node *form.Node }

// DecodeForm keeps the rule until the survey fills it in.
func (w *WaitRule) DecodeForm(n *form.Node, d *form.Decoder) {
	if d.IsMap(n) {
		w.node = n
	}
}

// rules lists the stage's wait rules by their keys, those not given as nil.
func (s *Stage) rules() [7]struct {
	key  string
	rule *WaitRule
} {
	return [7]struct {
		key  string
		rule *WaitRule
	}{{"concrete", s.Concrete}, {"screed", s.Screed}, {"curing", s.Curing}, {"skim", s.Skim},
		{"adhesive", s.Adhesive}, {"membrane", s.Membrane}, {"mortar", s.Mortar}}
}

//go:embed *.yaml
var sources embed.FS

// Info says what an embedded template is for.
type Info struct{ Name, Title, About string }

// All lists the embedded templates by name.
func All() []Info {
	var list []Info
	for _, name := range embeddedNames() {
		if t, err := Embedded(name); err == nil { // a test holds that none fails
			list = append(list, Info{t.Name, t.Title, t.About})
		}
	}
	return list
}

func embeddedNames() []string {
	names, _ := fs.Glob(sources, "*.yaml") // sorted
	for i, file := range names {
		names[i] = strings.TrimSuffix(file, ".yaml")
	}
	return names
}

// Source gives the text of an embedded template, to be copied and changed. The
// error names near matches.
func Source(name string) ([]byte, error) {
	src, err := sources.ReadFile(name + ".yaml")
	if err != nil {
		return nil, words.Refuse(words.Meant(name, embeddedNames(), "templates"), "there is no template %q", name)
	}
	return src, nil
}

// Embedded reads an embedded template.
func Embedded(name string) (*Template, error) {
	src, err := Source(name)
	if err != nil {
		return nil, err
	}
	return read(name+".yaml", src, false) // a test holds that it makes a job
}

// Read reads a template. The error is *form.Problems and holds every
// fault of the file at once, each with its line, its column and what to do.
func Read(file string, src []byte) (*Template, error) {
	return read(file, src, true)
}

// read reads a template; try says whether jobs are to be tried with it.
func read(file string, src []byte, try bool) (*Template, error) {
	var t Template
	err := form.Read(file, src, &t, func(note func(path, what, do string), sound bool) {
		t.check(note, try && sound)
	})
	if err != nil {
		return nil, err
	}
	return &t, nil
}
