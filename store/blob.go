package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"dustwright/plant"
)

// PutBlob keeps a photo, recording or trace and returns its name, the SHA-256 of its bytes: the same
// bytes are kept once. Durable on return: the bytes are synced before they get their name, and the
// folder after.
func (s *Store) PutBlob(ctx context.Context, r io.Reader) (name string, err error) {
	if s.w == nil {
		return "", errReadOnly
	}
	f, err := os.CreateTemp(s.blobs, "new-*")
	if err != nil {
		return "", fmt.Errorf("store: the photo, recording or trace can't be kept: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	h := sha256.New()
	if _, err := io.Copy(io.MultiWriter(f, h), r); err != nil {
		return "", fmt.Errorf("store: the photo, recording or trace can't be kept: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return "", err
	}
	if err := f.Sync(); err != nil {
		return "", fmt.Errorf("store: the photo, recording or trace can't be kept: %w", err)
	}
	name = hex.EncodeToString(h.Sum(nil))
	if err := os.Rename(f.Name(), filepath.Join(s.blobs, name)); err != nil {
		return "", fmt.Errorf("store: the photo, recording or trace can't be kept: %w", err)
	}
	return name, errors.Join(f.Close(), syncFolder(s.blobs))
}

// Blob opens what PutBlob kept; plant.ErrNoBlob where there is none of that name.
func (s *Store) Blob(name string) (io.ReadSeekCloser, error) {
	if _, err := hex.DecodeString(name); err != nil || len(name) != 2*sha256.Size {
		return nil, fmt.Errorf("%w: %q", plant.ErrNoBlob, name)
	}
	f, err := os.Open(filepath.Join(s.blobs, name))
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("%w: %q", plant.ErrNoBlob, name)
	}
	if err != nil {
		return nil, fmt.Errorf("store: the photo, recording or trace can't be read: %w", err)
	}
	return f, nil
}

// syncFolder makes a rename in dir durable; systems that can't sync a folder need none.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	if err := d.Sync(); err != nil && !errors.Is(err, os.ErrInvalid) && !errors.Is(err, os.ErrPermission) {
		return errors.Join(fmt.Errorf("store: %w", err), d.Close())
	}
	return d.Close()
}
