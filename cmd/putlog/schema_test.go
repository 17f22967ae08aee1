package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
)

// answerCall is a command whose answer is held to a schema; "" for one that is
// only run.
type answerCall struct{ answer, line string }

const theClients = "--asked-by client --cost client --time client "

// answerCalls make a history and ask every question of it, in this order.
var answerCalls = []answerCall{
	{"schema-list", `schema`},
	{"job-templates", `job templates`},
	{"plan", `job new mill --from attached-garage --region scotland --start 2027-05-03`},
	{"plan", `job load barn.yaml`},
	{"rates-load", `rates load rates.csv`},
	{"rates-list", `rates list`},
	{"rates-export", `rates export`},
	{"basis", `basis barn`},
	{"ask", `ask barn`},
	{"message", `message barn`},
	{"recorded", `accept barn --on 2027-03-01`},
	{"recorded", `notice barn see-dig --on 2027-03-01`},
	{"recorded", `start barn dig --on 2027-03-02`},
	{"recorded", `left barn dig 0.5d --on 2027-03-03`},
	{"recorded", `finish barn dig --on 2027-03-03 --photo dig.jpg --for-client`},
	{"recorded", `inspected barn see-dig fail --note "go deeper" --on 2027-03-04 --paper note.txt`},
	{"recorded", `inspected barn see-dig pass --seen-by "building control" --on 2027-03-08`},
	{"recorded", `closed barn --from 2027-03-09 --to 2027-03-10 --why snow --on 2027-03-11`},
	{"recorded", `finish barn pour --on 2027-03-12`},
	{"recorded", `finish barn floor --on 2027-03-12`},
	{"recorded", `strike barn 10 --because "wrong stage" --on 2027-03-12`},
	{"recorded", `temperature barn 6.5 --on 2027-03-13`},
	{"recorded", `finish barn gains --on 2027-03-15`},
	{"recorded", `finish barn screed --on 2027-03-16`},
	{"recorded", `reading barn dries 95 --on 2027-03-26`},
	{"recorded", `reading barn dries 91.5 --on 2027-03-29`},
	{"recorded", `finding barn footing fails --note "brick on clay" --on 2027-03-17`},
	{"recorded", `variation instruct barn V1 --on 2027-03-18`},
	{"recorded", `variation agree barn V1 --on 2027-03-18`},
	{"recorded", `variation carried-out barn V1 --on 2027-03-30`},
	{"recorded", `variation raise barn --title "More sockets" --because "a desk" ` + theClients +
		`--item labour-day,2 --add "sockets,2d,after=dries,before=floor" --on 2027-03-19`},
	{"recorded", `variation decline barn V2 --on 2027-03-22`},
	{"recorded", `variation raise barn --title "Other paint" --asked-by builder --cost client=60 ` +
		`--time neutral --material "paint,1,item,120" --on 2027-03-22`},
	{"recorded", `variation withdraw barn V3 --on 2027-03-23`},
	{"recorded", `variation raise barn --title "Oak floor" ` + theClients +
		`--markup 10 --subcontract "oak,20,m2,65" --retime floor=3d --on 2027-03-24`},
	{"recorded", `note barn "neighbour told of the skip" --stage dig --on 2027-03-24`},
	{"recorded", `paid barn 2500 --note "first stage" --on 2027-03-24`},
	{"recorded", `record barn more.yaml`},
	{"variation-try", `variation try barn --title "Door" ` + theClients +
		`--labour "joiner,2,day,280" --add "door,20d,after=floor,before=done"`},
	{"variation-try", `variation try barn --title "Boards twice" ` + theClients +
		`--retime boards=4d`},
	{"variation-list", `variation list barn`},
	{"exposure", `exposure barn`},
	{"plan", `plan barn`},
	{"why", `why barn`},
	{"why", `why barn floor --as-at 2027-03-01`},
	{"moved", `moved barn`},
	{"account", `account barn`},
	{"account-for-client", `account barn --for-client`},
	{"daybook", `daybook barn`},
	{"today", `today`},
	{"notices", `notices`},
	{"drying", `drying barn`},
	{"basis", `basis barn`},
	{"evidence-list", `evidence list barn`},
	{"evidence-get", `evidence get barn 1 --to out.jpg`},
	{"job-list", `job list`},
	{"job-export", `job export barn --with-evidence photos`},
	{"dates", `dates barn --ics barn.ics`},
	{"dates", `dates mill`},
	{"export", `export barn --csv tables`},
	{"message", `message barn`},
	{"message", `message barn --about V4`},
	{"statement", `statement barn --html barn.html --pdf barn.pdf`},
	{"check", `check`},
	{"check", `backup copy.db`},
	{"recorded", `note barn "the copy has not got this" --on 2027-03-24`},
	{"check-against", `check --against 0-00000-00000-00000-00000-00040`},
	{"restore", `restore copy.db`},
	{"calendar", `calendar --region scotland --year 2026`},
	{"working-days", `calendar --job barn --from 2027-03-25 --days -3`},
	{"wait-concrete", `wait concrete --class N --temperature 10 --fraction 0.7 --from 2027-03-01`},
	{"wait-screed", `wait screed --type sand-cement --thickness 65mm --from 2027-03-01`},
	{"wait", `wait curing --temperature 8 --development medium --from 2027-03-01`},
	{"wait", `wait skim --background board`},
	{"wait", `wait adhesive`},
	{"wait", `wait membrane --temperature 12`},
	{"wait", `wait mortar --cement plain`},
	{"plan", `demo`},
}

// withoutAnswer are the commands that print no answer of their own.
var withoutAnswer = []string{"putlog completion bash", "putlog completion fish",
	"putlog completion powershell",
	"putlog completion zsh", "putlog help"}

// answerFiles are what the calls read. The job, its people and its prices are
// invented.
var answerFiles = map[string]string{
	"barn.yaml": `job: barn
title: Barn to a workroom (invented)
region: england-and-wales
start: 2027-03-01
contract: {sum: 9800.00, vat: 20, retention: 5, promised: 2027-05-28}
time-costs: [{what: welfare, rate: 18.50}]
basis:
  - item: footing
    says: the footing is 600 mm deep
    question: How deep must it be?
    if-not: {title: Deepen the footing, asked-by: inspector, cost: client, time: client, markup: 15,
      lines: [{kind: labour, what: two men, quantity: 2, unit: day, rate: 320.00}],
      changes: [{add: {stage: deepen, takes: 2d, after: pour, before: screed}}]}
  - {item: drains, says: no drain runs under the floor, question: Is there a drain?}
stages:
  - {stage: dig, takes: 2d}
  - {stage: see-dig, kind: inspection, notice: 1, after: dig}
  - {stage: pour, takes: 1d, after: see-dig, not-before: 2027-03-05, cautions: excavation}
  - {stage: gains, kind: wait, air: site, concrete: {class: N, fraction: 0.5}, after: pour}
  - {stage: screed, takes: 0.5d, after: gains}
  - {stage: dries, kind: wait, limit: 75%, after: screed,
     screed: {type: calcium-sulfate, thickness: 40mm}}
  - {stage: window, kind: delivery, takes: 10d, after: dig}
  - {stage: boards, takes: 2d, after: window}
  - {stage: see-boards, kind: inspection, notice: 2, after: boards}
  - {stage: colour, by: client, takes: 0.5d, not-before: 2027-04-05}
  - {stage: floor, takes: 1.5d, after: [dries, see-boards, colour]}
  - {stage: done, kind: inspection, notice: 1, after: floor}
`,
	"rates.csv": "name,kind,what,unit,rate,percent\n" +
		"labour-day,labour,two men,day,320,\nextra,daywork,a man,hour,28,15\n",
	"more.yaml": "- {on: 2027-03-31, started: {stage: boards}}\n" +
		"- {on: 2027-04-01, notice: {stage: done}}\n" +
		"- {on: 2027-04-01, payment: {amount: 10}}\n- {on: 2027-04-01, correction: {entry: 31}}\n",
	"dig.jpg":  "\xff\xd8\xff\xe0 an invented picture",
	"note.txt": "an invented note\n",
}

// typed parts a command line at blanks outside quotes.
func typed(line string) []string {
	var args []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			args = append(args, part)
		} else {
			args = append(args, strings.Fields(part)...)
		}
	}
	return args
}

// answers runs every call in a folder of its own and gives what each printed.
func answers(t *testing.T) [][]byte {
	t.Chdir(t.TempDir())
	for name, text := range answerFiles {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	now := time.Date(2027, 4, 1, 9, 30, 0, 0, time.UTC)
	var all [][]byte
	for _, c := range answerCalls {
		var out, errOut bytes.Buffer
		args := append(typed(c.line), "--json", "--book", "book.db")
		if code := run(args, strings.NewReader(""), &out, &errOut, now); code != exitDone {
			t.Fatalf("putlog %s: exit %d\n%s", c.line, code, errOut.String())
		}
		all = append(all, out.Bytes())
	}
	return all
}

// TestAnswersHoldToTheirSchemas runs every command that answers over a job with
// a history: each answer holds to its schema, each command is among the calls,
// and each key of a schema turns up in some answer.
func TestAnswersHoldToTheirSchemas(t *testing.T) {
	texts := answers(t)
	readers := map[string]*schemaReader{}
	for _, name := range schemaNames() {
		readers[name] = readSchema(t, name)
	}
	richest := map[string]int{} // the call of the longest answer to each schema
	for i, c := range answerCalls {
		r := readers[c.answer]
		if r == nil {
			t.Errorf("putlog %s: there is no schema %s", c.line, c.answer)
			continue
		}
		v, err := readJSON(texts[i])
		if err != nil {
			t.Errorf("putlog %s: %v", c.line, err)
			continue
		}
		for _, fault := range r.faults(v) {
			t.Errorf("putlog %s (%s): %s", c.line, c.answer, fault)
		}
		if at, known := richest[c.answer]; !known || len(texts[i]) > len(texts[at]) {
			richest[c.answer] = i
		}
	}
	for _, name := range schemaNames() {
		if i, called := richest[name]; called {
			v, _ := readJSON(texts[i])
			readers[name].spoil(t, answerCalls[i].line, shortLists(v))
		}
		for _, place := range readers[name].named() {
			if !readers[name].seen[place] {
				t.Errorf("schema %s: no answer has %s", name, place)
			}
		}
	}
}

// shortLists cuts every list to its first three.
func shortLists(v any) any {
	switch v := v.(type) {
	case []any:
		v = v[:min(3, len(v))]
		for i := range v {
			v[i] = shortLists(v[i])
		}
		return v
	case map[string]any:
		for _, k := range sortedKeys(v) {
			v[k] = shortLists(v[k])
		}
	}
	return v
}

// spoil spoils an answer in many ways, one at a time: the schema must see each.
func (r *schemaReader) spoil(t *testing.T, line string, v any) {
	t.Helper()
	blind := newSchemaReader(r.name, r.root)
	spoilt := func(what string) {
		if len(blind.faults(v)) == 0 {
			t.Errorf("putlog %s (%s): the schema does not mind %s", line, r.name, what)
		}
	}
	var walk func(s map[string]any, at any, path string)
	walk = func(s map[string]any, at any, path string) {
		s, _ = r.follow(s, "")
		list, _ := at.([]any)
		for i := range list {
			walk(s["items"].(map[string]any), list[i], path+"[]")
		}
		object, _ := at.(map[string]any)
		for _, k := range sortedKeys(object) {
			was := object[k]
			object[k] = []any{true}
			spoilt(path + "." + k + " of another type")
			if slices.Contains(asList(s["required"]), any(k)) {
				delete(object, k)
				spoilt(path + "." + k + " missing")
			}
			object[k] = was
			walk(s["properties"].(map[string]any)[k].(map[string]any), was, path+"."+k)
		}
	}
	walk(r.root, v, "$")
}

// TestEveryCommandAnswers holds that no command is forgotten above.
func TestEveryCommandAnswers(t *testing.T) {
	a := &app{}
	root := a.root()
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	called := slices.Clone(withoutAnswer)
	for _, c := range answerCalls {
		cmd, _, err := root.Find(typed(c.line))
		if err != nil {
			t.Fatal(c.line, err)
		}
		called = append(called, cmd.CommandPath())
	}
	var walk func(cmd *cobra.Command)
	walk = func(cmd *cobra.Command) {
		for _, sub := range cmd.Commands() {
			walk(sub)
		}
		if len(cmd.Commands()) == 0 && !slices.Contains(called, cmd.CommandPath()) {
			t.Errorf("%s is not among the calls: write its schema (schemas/NAME%s) and call it",
				cmd.CommandPath(), schemaEnding)
		}
	}
	walk(root)
}

// TestSchemasAreInOrder: each says which draft it keeps to, its own name, the
// command that answers so, and of every property what it is.
func TestSchemasAreInOrder(t *testing.T) {
	files, err := filepath.Glob("schemas/*")
	if err != nil || len(files) != len(schemaNames()) || len(files) < 30 {
		t.Fatalf("%d files for %d schemas: %v", len(files), len(schemaNames()), err)
	}
	for _, name := range schemaNames() {
		r := readSchema(t, name)
		for key, want := range map[string]string{
			"$schema": "https://json-schema.org/draft/2020-12/schema",
			"$id":     name + schemaEnding, "type": "object"} {
			if r.root[key] != want {
				t.Errorf("%s: %s is %v, want %s", name, key, r.root[key], want)
			}
		}
		if title := fmt.Sprint(r.root["title"]); !strings.HasPrefix(title, "putlog ") ||
			!strings.HasSuffix(title, " --json") {
			t.Errorf("%s: the title %q is no command", name, title)
		}
		r.inOrder(t, r.root, "#")
		defs, _ := r.root["$defs"].(map[string]any)
		for _, k := range sortedKeys(defs) {
			r.inOrder(t, defs[k].(map[string]any), "#/$defs/"+k)
		}
	}
}

// inOrder looks at one schema and those in it.
func (r *schemaReader) inOrder(t *testing.T, s map[string]any, place string) {
	t.Helper()
	properties, _ := s["properties"].(map[string]any)
	if s["type"] == "object" && len(properties) == 0 || s["type"] == "array" && s["items"] == nil {
		t.Errorf("%s %s says nothing of what is in it", r.name, place)
	}
	for _, k := range asList(s["required"]) {
		if k != nil && properties[k.(string)] == nil {
			t.Errorf("%s %s requires %v and does not say what it is", r.name, place, k)
		}
	}
	for _, k := range sortedKeys(properties) {
		at := place + "/properties/" + k
		p := properties[k].(map[string]any)
		to, _ := r.follow(p, at)
		if p["description"] == nil && to["description"] == nil {
			t.Errorf("%s %s has no description", r.name, at)
		}
		if to["type"] == nil && to["enum"] == nil {
			t.Errorf("%s %s has no type", r.name, at)
		}
		r.inOrder(t, p, at)
	}
	if items, ok := s["items"].(map[string]any); ok {
		r.inOrder(t, items, place+"/items")
	}
}
