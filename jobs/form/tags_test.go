package form_test

import (
	"fmt"
	"strings"
	"testing"

	"putlog/jobs/form"
)

// A type that no form can hold is a fault of the program: it shows at once, and
// not only with the form that holds such a value.
func TestImpossibleTypes(t *testing.T) {
	tests := []struct {
		into any
		want string
	}{
		{&struct {
			A float64 `form:"a,optional"`
		}{}, "A can't be a field"},
		{&struct {
			A []map[string]string `form:"a"`
		}{}, "A can't be a field"},
		{&struct {
			a string `form:"a"`
		}{"x"}, "a can't be a field"},
		{&struct {
			A string `form:",optional"`
		}{}, "A can't be a field"},
		{&struct {
			A string `form:"a,maybe"`
		}{}, `the unknown tag option "maybe"`},
		{&struct {
			A []terms `form:"a,keyed"`
		}{}, "no field with the tag option key"},
		{new(float64), "float64 can't be read"},
		{sheet{}, "needs a pointer"},
	}
	n, err := form.ParseYAML("", []byte("a: {b: c}"))
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range tests {
		from := n
		if _, is := test.into.(*float64); is {
			from = form.NewScalar("1")
		}
		said := panicOf(func() { form.Decode(from, test.into, &form.Problems{}) })
		if !strings.Contains(said, test.want) {
			t.Errorf("%T: %q, want %q", test.into, said, test.want)
		}
	}
	said := panicOf(func() { form.Encode(1.5) })
	if !strings.Contains(said, "float64 can't be written") {
		t.Error(said)
	}
	if said := panicOf(func() { form.Encode(day("")) }); !strings.Contains(said, "day not set") {
		t.Error(said)
	}
}

func panicOf(run func()) (said string) {
	defer func() { said = fmt.Sprint(recover()) }()
	run()
	return ""
}

// What a value held before does not shine through.
func TestDecodeReplaces(t *testing.T) {
	s := stage{Stage: "old", After: []link{{Stage: "a"}, {Stage: "b"}}, Notice: new(3)}
	n, err := form.ParseYAML("", []byte("{stage: new, takes: 1d, after: c, notice: 4}"))
	if err != nil {
		t.Fatal(err)
	}
	var problems form.Problems
	if form.Decode(n, &s, &problems); problems.Err() != nil {
		t.Fatal(problems.Err())
	}
	if s.Stage != "new" || len(s.After) != 1 || s.After[0].Stage != "c" || *s.Notice != 4 {
		t.Errorf("%+v", s)
	}
}

// Optional fields that are zero are left out; required ones are not, and what
// a pointer points to is not either.
func TestEncodeLeavesOut(t *testing.T) {
	type inner struct {
		A string `form:"a,optional"`
	}
	type outer struct {
		S     string   `form:"s"`
		Empty string   `form:"empty,optional"`
		List  []string `form:"list"`
		None  []string `form:"none,optional"`
		In    inner    `form:"in,optional"`
		Nil   *inner   `form:"nil"`
		To    *inner   `form:"to"`
		Zero  *int     `form:"zero"`
		No    bool     `form:"no,optional"`
		Week  week     `form:"week,optional"`
	}
	v := outer{None: []string{}, To: &inner{}, Zero: new(0), Week: week{Word: "mon-fri"}}
	const want = `{"s":"","list":[],"to":{},"zero":"0"}`
	if got := string(form.Encode(&v).JSON()); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if got := string(form.Encode((*outer)(nil)).JSON()); got != "null" {
		t.Errorf("nothing is written as %s", got)
	}
}
