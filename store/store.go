package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"sort"
	"sync"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/driver"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Store is an open plant. It is safe for concurrent use; one process at a time writes.
type Store struct {
	w     *sql.DB // one connection: writers queue here; nil where the plant was opened for reading only
	r     *sql.DB // readers
	blobs string
	codec *codec
	rooms chan *samples // to read into

	weavers sync.Pool // of *weaver, to weave with

	ids, chunks, spans, extents *sql.Stmt // by the readers

	unchanged func() error // of a plant read as a file that stands still: whether it did; else nil
}

// The name of the database in the data folder, and of the folder of blobs.
const (
	fileName = "plant.db"
	blobName = "blobs"
)

// readers is the number of connections that read at the same time.
const readers = 8

// Open opens the plant in folder dir, makes it where there is none, and brings an older one up to
// date. A crash at any moment leaves either the old schema or the new one, never a mixture: each
// migration is one transaction.
func Open(ctx context.Context, dir string) (*Store, error) {
	if err := os.MkdirAll(filepath.Join(dir, blobName), 0o755); err != nil {
		return nil, fmt.Errorf("store: the data folder can't be made: %w", err)
	}
	path := filepath.Join(dir, fileName)
	w, err := openDB(path, writing+"&_pragma=synchronous(FULL)", 1)
	if err != nil {
		return nil, err
	}
	r, err := openDB(path, writing+"&_pragma=synchronous(NORMAL)", readers)
	if err != nil {
		return nil, errors.Join(err, w.Close())
	}
	s := &Store{w: w, r: r, blobs: filepath.Join(dir, blobName)}
	if err := s.migrate(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// prepare makes ready what readings are unpacked with and found by.
func (s *Store) prepare(ctx context.Context) (err error) {
	s.rooms = make(chan *samples, rooms)
	s.weavers.New = func() any { return new(weaver) }
	if s.codec, err = newCodec(); err != nil {
		return err
	}
	for _, p := range []struct {
		to   **sql.Stmt
		text string
	}{{&s.ids, selectID}, {&s.chunks, selectChunks}, {&s.spans, selectSpans}, {&s.extents, selectExtents}} {
		if *p.to, err = s.r.PrepareContext(ctx, p.text); err != nil {
			return fmt.Errorf("store: %w", err)
		}
	}
	return nil
}

// What the address of a database says of each connection: of all of them, and of those of a plant that is written to.
const (
	pragmas = "_pragma=busy_timeout(10000)&_pragma=temp_store(memory)&_pragma=cache_size(-32768)"
	writing = pragmas + "&_pragma=journal_mode(WAL)&_pragma=foreign_keys(1)&_txlock=immediate"
)

// openDB opens a pool whose every connection has what stands in its address.
func openDB(path, query string, most int) (*sql.DB, error) {
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(), RawQuery: query}
	db, err := driver.Open(u.String(), func(c *sqlite3.Conn) error {
		_, err := c.Config(sqlite3.DBCONFIG_ENABLE_QPSG, true) // a prepared statement is not planned anew for other values
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("store: %s can't be opened: %w", path, err)
	}
	db.SetMaxOpenConns(most)
	db.SetMaxIdleConns(most)
	return db, nil
}

// Close ends all work and closes the files.
func (s *Store) Close() error {
	err := s.r.Close()
	if s.w != nil {
		err = errors.Join(err, s.w.Close())
	}
	if s.unchanged != nil {
		err = errors.Join(err, s.unchanged())
	}
	return err
}

// steps returns how many steps of the layout the data has been through, and the names of all there are. Data of a
// newer program is refused.
func steps(ctx context.Context, db *sql.DB) (version int, names []string, err error) {
	if names, err = fs.Glob(migrations, "migrations/*.sql"); err != nil {
		return 0, nil, fmt.Errorf("store: %w", err)
	}
	sort.Strings(names)
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, nil, fmt.Errorf("store: this is no plant's data file, or it can't be read: %w", err)
	}
	if version > len(names) {
		return 0, nil, fmt.Errorf("store: the data was written by a newer version of this program (step %d, this one knows %d); use that version", version, len(names))
	}
	return version, names, nil
}

// migrate brings the schema up to date, one transaction a step.
func (s *Store) migrate(ctx context.Context) error {
	version, names, err := steps(ctx, s.w)
	if err != nil {
		return err
	}
	for i := version; i < len(names); i++ {
		text, err := migrations.ReadFile(names[i])
		if err != nil {
			return fmt.Errorf("store: %w", err)
		}
		if err := s.write(ctx, func(tx *sql.Tx) error {
			if _, err := tx.ExecContext(ctx, string(text)); err != nil {
				return fmt.Errorf("step %s: %w", names[i], err)
			}
			_, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", i+1))
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}

// write runs f in one transaction of the writing connection. Durable on return; nothing of it is kept
// when f or the commit fails.
func (s *Store) write(ctx context.Context, f func(*sql.Tx) error) error {
	if s.w == nil {
		return errReadOnly
	}
	tx, err := s.w.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	if err := f(tx); err != nil {
		return fmt.Errorf("store: %w", errors.Join(err, rollback(tx)))
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("store: %w", err)
	}
	return nil
}

// rollback undoes a transaction; one that is already over needs none.
func rollback(tx *sql.Tx) error {
	if err := tx.Rollback(); err != nil && !errors.Is(err, sql.ErrTxDone) {
		return err
	}
	return nil
}
