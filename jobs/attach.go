package jobs

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"putlog/jobs/book"
	"putlog/jobs/media"
	"putlog/jobs/words"
	"putlog/schedule"
)

// Source gives the content of a piece of evidence that the book does not have
// yet; it is asked for one after another, so that they need not all be in memory.
type Source func(Evidence) ([]byte, error)

// evidence gives what the book needs to know of the evidence of entries.
func (from Source) evidence(entries []Entry) book.Evidence {
	type named struct {
		Evidence
		on schedule.Day
	}
	all := map[string]named{} // for lookup only
	var out book.Evidence
	for _, entry := range entries {
		for _, e := range entry.Evidence {
			sum := string(e.SHA256)
			out.Files = append(out.Files, book.File{SHA256: sum, Size: int64(e.Size)})
			if _, known := all[sum]; !known {
				all[sum] = named{e, entry.On}
			}
		}
	}
	out.Read = func(f book.File) ([]byte, error) {
		e := all[f.SHA256]
		if from == nil {
			return nil, words.Refuse("say which folder it is in: --with-evidence FOLDER",
				"the entry of %s names %s, which is not in the book", e.on.Long(), e.Name)
		}
		return from(e.Evidence)
	}
	return out
}

// Attach looks at files on the disk that an entry is to carry, and gives what
// the entry holds of them and where the book can read them.
func Attach(photos, papers []string, client bool) ([]Evidence, Source, error) {
	paths := map[Digest]string{} // for lookup only
	var list []Evidence
	for _, given := range []struct {
		what  EvidenceKind
		paths []string
	}{{Photo, photos}, {Paper, papers}} {
		for _, path := range given.paths {
			e, err := attach(path, given.what)
			if err != nil {
				return nil, nil, err
			}
			e.Client = client
			paths[e.SHA256] = path
			list = append(list, e)
		}
	}
	if what, do := evidenceFault(list); what != "" {
		return nil, nil, words.Refuse(do, "%s", what)
	}
	return list, func(e Evidence) ([]byte, error) { return readSame(paths[e.SHA256], e) }, nil
}

// attach looks at one file.
func attach(path string, what EvidenceKind) (Evidence, error) {
	content, err := readEvidence(path)
	if err != nil {
		return Evidence{}, err
	}
	e := Evidence{SHA256: Digest(book.SumOf(content)), Name: NewFileName(path), Type: media.TypeOf(content),
		Size: FileSize(len(content)), What: what}
	if what == Photo && (e.Type == media.PDF || e.Type == media.PlainText) {
		return e, words.Refuse("give it as a paper: --paper", "%s is no photo but %s", e.Name, e.Type)
	}
	e.Taken = media.TakenOn(content, e.Type)
	return e, nil
}

// readEvidence reads a file, and refuses what can't be evidence.
func readEvidence(path string) ([]byte, error) {
	name := filepath.Base(path)
	f, err := os.Open(path)
	if err != nil {
		return nil, diskFault("read", path, err)
	}
	defer f.Close()
	switch info, err := f.Stat(); {
	case err != nil:
		return nil, diskFault("read", path, err)
	case !info.Mode().IsRegular():
		return nil, words.Refuse("name a photo or a paper", "%s is not a file", name)
	case info.Size() > MaxEvidenceBytes:
		return nil, tooLarge(name, info.Size())
	}
	content, err := io.ReadAll(io.LimitReader(f, MaxEvidenceBytes+1))
	switch {
	case err != nil:
		return nil, diskFault("read", path, err)
	case len(content) > MaxEvidenceBytes:
		return nil, tooLarge(name, int64(len(content)))
	case len(content) == 0:
		return nil, words.Refuse("look at the file", "%s is empty", name)
	}
	return content, nil
}

func tooLarge(name string, size int64) error {
	return words.Refuse("save a smaller copy of it",
		"%s is too large: %d bytes, where a file may have %d (%d MB)",
		name, size, MaxEvidenceBytes, MaxEvidenceBytes>>20)
}

// readSame reads a file again, which must be the one that the entry names.
func readSame(path string, e Evidence) ([]byte, error) {
	content, err := readEvidence(path)
	if err == nil && book.SumOf(content) != string(e.SHA256) {
		err = words.Refuse("put the file back as it was",
			"%s is not the file that the entry names: its SHA-256 is another", filepath.Base(path))
	}
	return content, err
}

// diskFault says what the disk would not do.
func diskFault(op, path string, err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return words.Refuse("check the name and the folder", "can't %s %s: %v", op, path, err)
}

// FromFolder is a Source that reads what ExportEvidence wrote: files whose names
// begin with the first digits of their SHA-256.
func FromFolder(folder string) (Source, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, diskFault("read the folder", folder, err)
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	slices.Sort(names)
	return func(e Evidence) ([]byte, error) {
		mark := e.SHA256.Short() + "-"
		i, _ := slices.BinarySearch(names, mark)
		if i == len(names) || !strings.HasPrefix(names[i], mark) {
			return nil, words.Refuse("put the file there under that name", "there is no %s in the folder %s",
				e.exportName(), folder)
		}
		return readSame(filepath.Join(folder, names[i]), e)
	}, nil
}

// exportName is the name of a file that evidence is written out to with others.
func (e Evidence) exportName() string { return e.SHA256.Short() + "-" + string(e.Name) }

// ExportEvidence writes all the evidence of a job to a folder, which it makes
// where there is none, and gives the names. A file of that name that is there
// already must be the same. Unless all can be written, none is. write writes one
// file that is not there yet, whole or not at all.
func (j *Job) ExportEvidence(b *book.Book, folder string,
	write func(path string, content []byte) error) (names []string, err error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, diskFault("make the folder", folder, err)
	}
	var fresh []Evidence
	seen := map[Digest]bool{} // for lookup only
	for _, entry := range j.Entries {
		for _, e := range entry.Evidence {
			if seen[e.SHA256] {
				continue
			}
			seen[e.SHA256] = true
			names = append(names, e.exportName())
			there, err := isThere(filepath.Join(folder, e.exportName()), e)
			if err != nil {
				return nil, err
			}
			if !there {
				fresh = append(fresh, e)
			}
		}
	}
	for i, e := range fresh {
		content, err := e.Content(b)
		if err == nil {
			err = write(filepath.Join(folder, e.exportName()), content)
		}
		if err != nil {
			for _, done := range fresh[:i] {
				_ = os.Remove(filepath.Join(folder, done.exportName()))
			}
			return nil, err
		}
	}
	return names, nil
}

// isThere says whether a file is there already with that content; another under
// its name is refused.
func isThere(path string, e Evidence) (bool, error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if _, err := readSame(path, e); err != nil {
		return false, words.Refuse("move it away, or name an empty folder",
			"there is another file %s already", path)
	}
	return true, nil
}

// Content reads a piece of evidence from the book. Where it is missing there, or
// is not what was stored, the error is a *book.Altered.
func (e Evidence) Content(b *book.Book) ([]byte, error) {
	content, err := b.Evidence(string(e.SHA256))
	var missing *book.NotKept
	if errors.As(err, &missing) {
		return nil, &book.Altered{Path: b.Path(), What: fmt.Sprintf("the file %s (SHA-256 %s) is missing",
			e.Name, e.SHA256)}
	}
	return content, err
}
