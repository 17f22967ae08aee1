package main

import (
	"bytes"
	"os"
	"testing"
	"time"
)

func TestProgress(t *testing.T) {
	var out bytes.Buffer
	second := make(chan time.Time, 1)
	p := &progress{to: &out, what: "Checking: %d of %d jobs", second: second}
	for i := range 5 {
		if i == 2 || i == 3 {
			second <- time.Time{}
		}
		p.at(i, 5)
	}
	const told = "\r\x1b[KChecking: 2 of 5 jobs\r\x1b[KChecking: 3 of 5 jobs"
	if out.String() != told {
		t.Errorf("said %q", out.String())
	}
	p.at(5, 5)
	p.end() // again
	if out.String() != told+"\r\x1b[K" {
		t.Errorf("not wiped out: %q", out.String())
	}
}

// Where no terminal is, nothing is told, whatever time it is.
func TestProgressElsewhere(t *testing.T) {
	file, err := os.Create(t.TempDir() + "/errors")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var out bytes.Buffer
	for _, a := range []*app{{errOut: &out}, {errOut: file}} {
		p := a.progress("%d of %d")
		if p.to != nil || p.second != nil {
			t.Error("it would be told")
		}
		p.at(1, 2)
		p.end()
	}
}
