package jobs

import (
	"strings"

	"putlog/jobs/form"
)

// ReadJob reads a job file. The error is *form.Problems and holds every fault of
// the file at once, each with its line, its column and what to do.
func ReadJob(file string, src []byte) (*Job, error) {
	var j Job
	root, p := form.Read(file, src, &j)
	if root == nil {
		return nil, p.Err()
	}
	found := p.List // faults of the form hide what follows from them
	j.check(func(path, what, do string) {
		for _, f := range found {
			if within(path, f.Path) || within(f.Path, path) {
				return
			}
		}
		p.AddAt(root, path, what, do)
	}, len(found) == 0)
	if err := p.Err(); err != nil {
		return nil, err
	}
	return &j, nil
}

// within says whether one path of a form lies at or under another.
func within(path, above string) bool {
	rest, ok := strings.CutPrefix(path, above)
	return ok && (rest == "" || rest[0] == '.' || rest[0] == '[')
}

// ReadEntries reads a list of entries; what they say is checked against the job
// they are for when they are recorded.
func ReadEntries(file string, src []byte) ([]Entry, error) {
	var entries []Entry
	_, p := form.Read(file, src, &entries)
	return entries, p.Err()
}

// File gives the job as a job file that reads back to the same job, history
// included.
func (j *Job) File() []byte { return form.Encode(j).YAML() }
