package casebook

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"

	"lastroom/internal/problem"
)

const (
	maxFile   = 512 << 20 // bytes of one photograph, scan or paper
	chunkSize = 1 << 20   // what of it is in memory at a time
)

// Attach adds a file to a case: its bytes go into the book under their checksum, once however often they are attached.
// Of the file, kind, name and note are taken. It returns the key too.
func (b *Book) Attach(ctx context.Context, id string, f File, from io.Reader) (State, string, error) {
	s, err := b.change(ctx, id, 0, func(tx *sql.Tx, c *Case) (string, error) {
		var err error
		if f.SHA256, f.Bytes, err = storeBlob(ctx, tx, from, f.Name); err != nil {
			return "", err
		}
		f.Key, f.At = c.newKey("f"), stamp(b.now())
		c.Files = append(c.Files, f)
		return kindEdit, nil
	})
	return s, f.Key, err
}

// storeBlob puts the bytes into the book, unless they are there, and gives their checksum and number.
func storeBlob(ctx context.Context, tx *sql.Tx, from io.Reader, name string) (sum string, size int64, err error) {
	// The checksum is known at the end: until then the row has one of its own.
	made, err := tx.ExecContext(ctx, `INSERT INTO blobs (sha256, bytes) VALUES (hex(randomblob(16)), 0)`)
	if err != nil {
		return "", 0, err
	}
	blob, err := made.LastInsertId()
	if err != nil {
		return "", 0, err
	}
	h := sha256.New()
	buf := make([]byte, chunkSize)
	for n := 0; ; n++ {
		got, err := io.ReadFull(from, buf)
		if got > 0 {
			if size += int64(got); size > maxFile {
				return "", 0, problem.Problem{Field: "files", Value: name, Limit: fmt.Sprintf("at most %d MiB a file", maxFile>>20), Mend: "make the file smaller"}
			}
			h.Write(buf[:got])
			if _, err := tx.ExecContext(ctx, `INSERT INTO chunks VALUES (?,?,?)`, blob, n, buf[:got]); err != nil {
				return "", 0, err
			}
		}
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			break
		}
		if err != nil {
			return "", 0, err
		}
	}
	sum = hex.EncodeToString(h.Sum(nil))
	var there int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM blobs WHERE sha256=?`, sum).Scan(&there); err != nil {
		return "", 0, err
	}
	if there > 0 {
		return sum, size, dropBlob(ctx, tx, blob)
	}
	_, err = tx.ExecContext(ctx, `UPDATE blobs SET sha256=?, bytes=? WHERE id=?`, sum, size, blob)
	return sum, size, err
}

func dropBlob(ctx context.Context, tx *sql.Tx, blob int64) error {
	if _, err := tx.ExecContext(ctx, `DELETE FROM chunks WHERE blob=?`, blob); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `DELETE FROM blobs WHERE id=?`, blob)
	return err
}

// WriteFile writes the bytes of a file that a case of this book has. What was damaged on the disk is an error, told at
// the end: do not use what was written then.
func (b *Book) WriteFile(ctx context.Context, f File, to io.Writer) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return told(b.file, b.copyBlob(ctx, f.SHA256, to))
}

func (b *Book) copyBlob(ctx context.Context, sum string, to io.Writer) error {
	var blob, size int64
	err := b.db.QueryRowContext(ctx, `SELECT id, bytes FROM blobs WHERE sha256=?`, sum).Scan(&blob, &size)
	if errors.Is(err, sql.ErrNoRows) {
		return problem.Problem{Field: "files", Value: sum, Limit: "not in this casebook", Mend: "choose a file of the case"}
	}
	if err != nil {
		return err
	}
	check := &checked{to: to, h: sha256.New()}
	for n := int64(0); check.n < size; n++ {
		var data []byte
		if err := b.db.QueryRowContext(ctx, `SELECT data FROM chunks WHERE blob=? AND n=?`, blob, n).Scan(&data); err != nil {
			if errors.Is(err, sql.ErrNoRows) {
				return damaged(b.file, "a part of a file is missing")
			}
			return err
		}
		if _, err := check.Write(data); err != nil {
			return err
		}
	}
	if check.n != size || hex.EncodeToString(check.h.Sum(nil)) != sum {
		return damaged(b.file, "a file of a case does not have its checksum any more")
	}
	return nil
}

// checked counts and sums what goes through it.
type checked struct {
	to io.Writer
	h  hash.Hash
	n  int64
}

// Write passes on.
func (c *checked) Write(p []byte) (int, error) {
	n, err := c.to.Write(p)
	c.h.Write(p[:n])
	c.n += int64(n)
	return n, err
}
