package words

import (
	"fmt"
	"testing"
)

func TestAndMore(t *testing.T) {
	for n, want := range []string{"", "s1", "s1 and s2", "s1, s2 and s3", "s1, s2, s3 and s4", "s1, s2, s3, s4 and s5",
		"s1, s2, s3, s4, s5 and s6", "s1, s2, s3, s4, s5 and 2 more", "s1, s2, s3, s4, s5 and 3 more"} {
		list := []string{}
		for i := range n {
			list = append(list, fmt.Sprintf("s%d", i+1))
		}
		if got := AndMore(list); got != want {
			t.Errorf("%q, want %q", got, want)
		}
		if n > 5 && list[5] != "s6" {
			t.Errorf("the words were changed: %q", list)
		}
	}
}
