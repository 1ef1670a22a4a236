package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// errReadOnly refuses to write into a plant that was opened for reading.
var errReadOnly = errors.New("store: the data folder was opened for reading only; nothing is kept")

// Holds reports whether folder dir is a plant's data folder.
func Holds(dir string) bool {
	info, err := os.Stat(filepath.Join(dir, fileName))
	return err == nil && info.Mode().IsRegular()
}

// OpenReadOnly opens the plant in folder dir for reading, also while another process has it open and writes. Nothing
// in the folder is changed, made or brought up to date: a plant of another version's layout is refused with a sentence
// that says what to do. Where nobody has the plant open, it is read as a file that stands still, since readers would
// otherwise leave files of their own beside it; Close then reports when somebody wrote meanwhile.
func OpenReadOnly(ctx context.Context, dir string) (*Store, error) {
	path := filepath.Join(dir, fileName)
	before, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("store: there is no plant in %s: %w", dir, err)
	}
	query := "mode=ro&_pragma=query_only(1)&" + pragmas
	still := !exists(path+"-wal") && !exists(path+"-shm") // both are there as long as somebody has it open
	if still {
		query += "&immutable=1"
	}
	r, err := openDB(path, query, readers)
	if err != nil {
		return nil, err
	}
	s := &Store{r: r, blobs: filepath.Join(dir, blobName)}
	if still {
		s.unchanged = func() error {
			after, err := os.Stat(path)
			if err != nil {
				return fmt.Errorf("store: %w", err)
			}
			if after.Size() != before.Size() || !after.ModTime().Equal(before.ModTime()) {
				return fmt.Errorf("store: %s was written to while it was read, so what was read may not fit together; run the same command again", path)
			}
			return nil
		}
	}
	if err := s.upToDate(ctx, dir); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// upToDate refuses a plant whose layout is not that of this program.
func (s *Store) upToDate(ctx context.Context, dir string) error {
	version, steps, err := steps(ctx, s.r)
	if err != nil {
		return err
	}
	if version < len(steps) {
		return fmt.Errorf("store: %s was written by an older version of this program (step %d, this one knows %d); run dustwright serve --data %s once, which brings it up to date",
			dir, version, len(steps), dir)
	}
	return nil
}
