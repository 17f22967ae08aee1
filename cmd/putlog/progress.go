package main

import (
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"
)

// progress tells whoever sits at a terminal how far a long command has come:
// once a second, in one line of standard error that is wiped out at the end. A
// command that is done within a second says nothing, nor does one that prints
// its errors elsewhere than on a terminal.
type progress struct {
	to     io.Writer        // nil where nobody looks
	what   string           // what goes on: "Checking the book: %d of %d jobs"
	second <-chan time.Time // when there is something to say again
	shown  bool
}

// progress begins to tell how far a command has come; what has two %d in it. It
// never reads what time it is.
func (a *app) progress(what string) *progress {
	f, ok := a.errOut.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &progress{}
	}
	return &progress{to: f, what: what, second: time.Tick(time.Second)}
}

// at says that so many of all are done; it wipes the line out after the last.
func (p *progress) at(done, all int) {
	if p.to == nil {
		return
	}
	if done >= all {
		p.end()
		return
	}
	select {
	case <-p.second:
		fmt.Fprintf(p.to, "\r\x1b[K"+p.what, done, all)
		p.shown = true
	default:
	}
}

// end wipes the line out.
func (p *progress) end() {
	if p.shown {
		fmt.Fprint(p.to, "\r\x1b[K")
		p.shown = false
	}
}
