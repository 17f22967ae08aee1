package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
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
	for _, command := range commands {
		words, to, _ := strings.Cut(command, " > ")
		code, out, errOut := putlog(t, "", parted(words)[1:]...)
		if code != exitDone || out == "" && !strings.Contains(words, "--html") {
			t.Errorf("%s\nends with %d and prints %d bytes: %s", command, code, len(out), errOut)
		}
		if to != "" {
			if err := os.WriteFile(to, []byte(out), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}
