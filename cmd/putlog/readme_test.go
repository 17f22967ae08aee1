package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// fenced gives the commands in the fenced blocks of a text: lines that begin with
// putlog, those that end in a backslash joined to the next, without comments.
func fenced(text string) (commands []string) {
	comment := regexp.MustCompile(` +# .*$`)
	for i, block := range strings.Split(text, "```") {
		if i%2 == 0 {
			continue
		}
		for _, line := range strings.Split(strings.ReplaceAll(block, "\\\n", ""), "\n") {
			if strings.HasPrefix(line, "putlog ") {
				commands = append(commands, comment.ReplaceAllString(line, ""))
			}
		}
	}
	return commands
}

// TestReadme runs every command of the README, in order, in one book.
func TestReadme(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	commands := fenced(string(text))
	if len(commands) < 15 {
		t.Fatalf("only %d commands in README.md", len(commands))
	}
	t.Chdir(t.TempDir())
	t.Setenv("PUTLOG_BOOK", "putlog.db")
	now := time.Date(2027, 3, 8, 9, 30, 0, 0, time.UTC)
	for _, command := range commands {
		words, to, _ := strings.Cut(command, " > ")
		var out, errOut bytes.Buffer
		code := run(parted(words)[1:], strings.NewReader(""), &out, &errOut, now)
		if code != exitDone || out.Len() == 0 && !strings.Contains(words, "--html") {
			t.Errorf("%s\nends with %d and prints %d bytes: %s", command, code, out.Len(), &errOut)
		}
		if to != "" {
			if err := os.WriteFile(to, out.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}
