package book

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"testing"
)

// asNobody runs a check without the rights of root, which no file mode holds
// back. Elsewhere than as root it just runs it.
func asNobody(t *testing.T, check func()) {
	t.Helper()
	if os.Geteuid() != 0 {
		check()
		return
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	if err := syscall.Setfsuid(65534); err != nil {
		t.Fatal(err)
	}
	defer syscall.Setfsuid(0)
	check()
}

// A book in a folder that can be read and no more: reading works, writing is
// refused. One that can't be read at all is refused at once.
func TestReadOnly(t *testing.T) {
	path, data := sound(t)
	folder := filepath.Dir(path)
	closed := filepath.Join(folder, "closed.db")
	writeFile(t, closed, data)
	for name, mode := range map[string]os.FileMode{
		filepath.Dir(folder): 0o755, path: 0o444, closed: 0, folder: 0o555,
	} {
		if err := os.Chmod(name, mode); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() { _ = os.Chmod(folder, 0o755) }) // so that it can be removed
	asNobody(t, func() {
		b, err := OpenExisting(path)
		if err != nil {
			t.Error(err)
			return
		}
		defer b.Close()
		if rows, err := b.Rows("job-1"); err != nil || len(rows) != 41 {
			t.Errorf("%d rows, %v; want 41", len(rows), err)
		}
		if _, err := b.Check(); err != nil {
			t.Error(err)
		}
		wantFault(t, b.Append("job-1", stamp, give(history(1)...)), path, "it is read-only")
		wantFault(t, b.AddJob("new", "", nil, stamp), path, "it is read-only")
		aside := filepath.Join(folder, "backup.db")
		wantFault(t, b.Backup(aside), aside, "there is no permission")
		fresh := filepath.Join(folder, "new", "putlog.db")
		_, err = Open(fresh)
		wantFault(t, err, fresh, "there is no permission")
		_, err = OpenExisting(closed)
		wantFault(t, err, closed, "there is no permission")
	})
	if !bytes.Equal(data, readFile(t, path)) {
		t.Error("the file changed")
	}
}
