package jobs

import (
	"errors"
	"fmt"
	"putlog/jobs/form"
)

// ReadJob reads a job file. The error is *form.Problems and holds every fault of
// the file at once, each with its line, its column and what to do.
func ReadJob(file string, src []byte) (*Job, error) {
	var j Job
	if err := form.Read(file, src, &j, j.Check); err != nil {
		return nil, err
	}
	return &j, nil
}

// ReadEntries reads a list of entries; what they say is checked against the job
// they are for when they are recorded.
func ReadEntries(file string, src []byte) ([]Entry, error) {
	var entries []Entry
	err := form.Read(file, src, &entries, nil)
	return entries, err
}

// PlaceEntry gives an error that is about one of the entries of a file the place
// of that entry there; any other comes back as it is.
func PlaceEntry(file string, src []byte, err error) error {
	var fault *EntryError
	if !errors.As(err, &fault) || fault.Given == 0 {
		return err
	}
	root, unread := form.ParseYAML(file, src)
	if unread != nil {
		return err
	}
	p := &form.Problems{File: file}
	p.Add(root.At(fmt.Sprintf("[%d]", fault.Given-1)), "", fault.Error(), fault.Try)
	return p
}

// File gives the job as a job file that reads back to the same job, history
// included.
func (j *Job) File() []byte { return form.Encode(j).YAML() }
