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

	_ "github.com/ncruces/go-sqlite3/driver" // registers "sqlite3" with database/sql
)

//go:embed migrations/*.sql
var migrations embed.FS

// Store is an open plant. It is safe for concurrent use; one process at a time writes.
type Store struct {
	w     *sql.DB // one connection: writers queue here
	r     *sql.DB // readers
	blobs string
	codec *codec
	room  sync.Pool // *samples, to read into

	chunks, spans *sql.Stmt // by the readers
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
	w, err := openDB(path, "FULL", 1)
	if err != nil {
		return nil, err
	}
	r, err := openDB(path, "NORMAL", readers)
	if err != nil {
		return nil, errors.Join(err, w.Close())
	}
	c, err := newCodec()
	if err != nil {
		return nil, errors.Join(err, r.Close(), w.Close())
	}
	s := &Store{w: w, r: r, blobs: filepath.Join(dir, blobName), codec: c, room: sync.Pool{New: func() any { return new(samples) }}}
	if err := s.migrate(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if s.chunks, err = r.PrepareContext(ctx, selectChunks); err != nil {
		return nil, errors.Join(fmt.Errorf("store: %w", err), s.Close())
	}
	if s.spans, err = r.PrepareContext(ctx, selectSpans); err != nil {
		return nil, errors.Join(fmt.Errorf("store: %w", err), s.Close())
	}
	return s, nil
}

// openDB opens a pool whose every connection has the pragmas: they stand in its address.
func openDB(path, sync string, most int) (*sql.DB, error) {
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath()}
	u.RawQuery = "_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(" + sync +
		")&_pragma=foreign_keys(1)&_pragma=temp_store(memory)&_pragma=cache_size(-32768)&_txlock=immediate"
	db, err := sql.Open("sqlite3", u.String())
	if err != nil {
		return nil, fmt.Errorf("store: open %s: %w", path, err)
	}
	db.SetMaxOpenConns(most)
	db.SetMaxIdleConns(most)
	return db, nil
}

// Close ends all work and closes the files.
func (s *Store) Close() error { return errors.Join(s.r.Close(), s.w.Close()) }

// migrate brings the schema up to date, one transaction a step.
func (s *Store) migrate(ctx context.Context) error {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	sort.Strings(names)
	var version int
	if err := s.w.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return fmt.Errorf("store: this is no plant's data file, or it can't be read: %w", err)
	}
	if version > len(names) {
		return fmt.Errorf("store: the data was written by a newer version of this program (step %d, this one knows %d); use that version", version, len(names))
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
