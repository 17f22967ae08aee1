// Package form reads filled-in forms strictly into Go structs and writes the
// structs back in one canonical shape. A form is YAML (job files, entries,
// templates) or JSON (what the book stores); both become the same tree of Nodes,
// in which every scalar is text: no number, date or yes is guessed at. One
// decoder and one encoder, driven by `form` tags, serve every type. All faults
// come back together, each with its line, its column and what to do.
//
// The reader of YAML is this package's own: it reads what a form needs, in one
// pass whose cost grows no faster than the text. It knows nothing about jobs.
package form
