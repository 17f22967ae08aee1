package templates

import (
	"errors"
	"fmt"
	"strings"
)

// Expression is a sum over measurements and quantities as a template writes it:
// names, numbers with their units, + - * and brackets, worked out exactly.
// "2 * length + width" is one; a minus wants blanks round it, as names may hold
// hyphens.
type Expression struct {
	text string
	root *term
}

// term is a part of an expression: an operation on two terms, a name, or an
// amount as written.
type term struct {
	op          byte // '+', '-', '*'; 0 for a name or an amount
	left, right *term
	name        string
	value       Amount
}

// maxExpression is the longest expression, in bytes; it also bounds how deep
// brackets go.
const maxExpression = 200

// UnmarshalText reads an expression.
func (e *Expression) UnmarshalText(text []byte) error {
	if len(text) > maxExpression {
		return fmt.Errorf("the sum is longer than %d characters; split it up: "+
			"give a part of it a name among the quantities", maxExpression)
	}
	p := &expressionParser{rest: string(text)}
	root, err := p.sum()
	if err == nil && p.rest != "" {
		err = p.lost()
	}
	if err != nil {
		return fmt.Errorf("%q: %w", text, err)
	}
	*e = Expression{string(text), root}
	return nil
}

// String gives the expression as it was written.
func (e Expression) String() string { return e.text }

// IsZero says whether the expression was left out.
func (e Expression) IsZero() bool { return e.root == nil }

// expressionParser reads an expression from front to back.
type expressionParser struct{ rest string }

// next steps over blanks and gives the first byte of what is left, 0 at the end.
func (p *expressionParser) next() byte {
	p.rest = strings.TrimLeft(p.rest, " ")
	if p.rest == "" {
		return 0
	}
	return p.rest[0]
}

func (p *expressionParser) lost() error {
	if p.next() == 0 {
		return errors.New("it breaks off; a name or a number must follow")
	}
	return fmt.Errorf("%q does not fit there; use names, numbers, + - * and brackets",
		string([]rune(p.rest)[:1]))
}

// sum reads terms joined by + and -.
func (p *expressionParser) sum() (*term, error) {
	left, err := p.product()
	for err == nil && (p.next() == '+' || p.next() == '-') {
		t := &term{op: p.rest[0], left: left}
		p.rest = p.rest[1:]
		t.right, err = p.product()
		left = t
	}
	return left, err
}

// product reads factors joined by *.
func (p *expressionParser) product() (*term, error) {
	left, err := p.factor()
	for err == nil && p.next() == '*' {
		t := &term{op: '*', left: left}
		p.rest = p.rest[1:]
		t.right, err = p.factor()
		left = t
	}
	return left, err
}

// factor reads a name, an amount or a sum in brackets.
func (p *expressionParser) factor() (*term, error) {
	switch c := p.next(); {
	case c == '(':
		p.rest = p.rest[1:]
		t, err := p.sum()
		if err == nil && p.next() != ')' {
			err = errors.New("a bracket is not closed; add )")
		}
		if err == nil {
			p.rest = p.rest[1:]
		}
		return t, err
	case c >= 'a' && c <= 'z':
		return &term{name: p.take(inName)}, nil
	case c >= '0' && c <= '9':
		value, err := parseAmount(p.take(inAmount))
		return &term{value: value}, err
	}
	return nil, p.lost()
}

// take cuts off the bytes from the front that belong.
func (p *expressionParser) take(belongs func(c byte) bool) string {
	n := 0
	for n < len(p.rest) && belongs(p.rest[n]) {
		n++
	}
	taken := p.rest[:n]
	p.rest = p.rest[n:]
	return taken
}

func inName(c byte) bool { return c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-' }

// inAmount takes an amount's digits and unit: letters, and the bytes of ² and °.
func inAmount(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '.' || c > 0x7f
}

// names lists the names used, in order, each time they stand there.
func (e Expression) names() []string { return e.root.names(nil) }

func (t *term) names(list []string) []string {
	switch {
	case t == nil:
		return list
	case t.name != "":
		return append(list, t.name)
	}
	return t.right.names(t.left.names(list))
}

// value works the expression out; known gives what a name stands for.
func (e Expression) value(known func(name string) (Amount, error)) (Amount, error) {
	a, err := e.root.worth(known)
	if err != nil {
		return Amount{}, fmt.Errorf("%s: %w", e.text, err)
	}
	return a, nil
}

func (t *term) worth(known func(name string) (Amount, error)) (Amount, error) {
	switch {
	case t.name != "":
		return known(t.name)
	case t.op == 0:
		return t.value, nil
	}
	left, err := t.left.worth(known)
	if err != nil {
		return Amount{}, err
	}
	right, err := t.right.worth(known)
	if err != nil {
		return Amount{}, err
	}
	return left.apply(t.op, right)
}

// explain writes the expression with each name followed by what it stands for:
// "slab-to-dpc 140 mm - floor-insulation 75 mm".
func (e Expression) explain(known func(name string) (Amount, error)) string {
	return e.root.explain(known, false)
}

func (t *term) explain(known func(name string) (Amount, error), inner bool) string {
	switch {
	case t.name != "":
		a, _ := known(t.name)
		return t.name + " " + a.String()
	case t.op == 0:
		return t.value.String()
	}
	said := t.left.explain(known, t.op == '*') + " " + string(t.op) + " " +
		t.right.explain(known, t.op != '+')
	if inner && t.op != '*' {
		return "(" + said + ")"
	}
	return said
}
