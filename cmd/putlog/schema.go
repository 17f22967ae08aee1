package main

import (
	"embed"
	"encoding/json"
	"io/fs"
	"putlog/jobs/words"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// schemaFiles are the schemas of the JSON answers (JSON Schema, draft 2020-12),
// one a file, named for the answer.
//
//go:embed schemas
var schemaFiles embed.FS

const schemaEnding = ".schema.json"

// schemaNames lists the answers that have a schema, by name.
func schemaNames() []string {
	files, err := fs.ReadDir(schemaFiles, "schemas")
	if err != nil {
		return nil // they are part of the program
	}
	var names []string
	for _, f := range files {
		names = append(names, strings.TrimSuffix(f.Name(), schemaEnding))
	}
	slices.Sort(names)
	return names
}

// schemaText gives the schema of an answer; ok is false where there is none.
func schemaText(name string) (text []byte, ok bool) {
	text, err := schemaFiles.ReadFile("schemas/" + name + schemaEnding)
	return text, err == nil
}

// schemaCommand lists the schemas, or prints one.
func (a *app) schemaCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "schema [ANSWER]",
		Short: "What the answers of --json hold: JSON Schemas, listed or printed",
		Example: "  putlog schema\n" +
			"  putlog schema plan > plan.schema.json",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return exactArgs("ANSWER")(cmd, args)
		},
		ValidArgsFunction: completeSchemas,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.listSchemas()
			}
			text, ok := schemaText(args[0])
			if !ok {
				try := "putlog schema"
				if near := words.Near(args[0], schemaNames()); len(near) > 0 {
					try = words.DidYouMean(near)
				}
				return words.Refuse(try, "there is no answer %q", args[0])
			}
			_, err := a.out.Write(text)
			return err
		},
	}
}

func completeSchemas(_ *cobra.Command, args []string, _ string,
) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return schemaNames(), cobra.ShellCompDirectiveNoFileComp
}

func (a *app) listSchemas() error {
	list := []object{}
	var rows [][]string
	for _, name := range schemaNames() {
		text, _ := schemaText(name)
		var head struct{ Title, Description string }
		if err := json.Unmarshal(text, &head); err != nil {
			return err
		}
		list = append(list, object{{"schema", name}, {"command", head.Title},
			{"about", head.Description}})
		rows = append(rows, []string{name, head.Title, head.Description})
	}
	switch {
	case a.json:
		return a.answer(object{{"schemas", list}})
	case a.width() == 0:
		a.plain(rows)
	default:
		a.table([]column{{head: "Answer"}, {head: "Of"}, {head: "What it is", wide: true}}, rows)
	}
	return nil
}
