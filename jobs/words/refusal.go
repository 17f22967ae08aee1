package words

import (
	"errors"
	"fmt"
)

// refusal is why something can't be so, and what to do about it.
type refusal struct{ what, do string }

// Refuse makes an error that says why something can't be so and, to Advice, what
// to do about it.
func Refuse(do, what string, args ...any) error {
	return &refusal{fmt.Sprintf(what, args...), do}
}

func (r *refusal) Error() string { return r.what }

// Do says what to do.
func (r *refusal) Do() string { return r.do }

// Advice is what to do about an error, "" where neither it nor what it wraps
// says so by a method Do.
func Advice(err error) string {
	var advised interface{ Do() string }
	if errors.As(err, &advised) {
		return advised.Do()
	}
	return ""
}
