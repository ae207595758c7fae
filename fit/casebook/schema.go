package casebook

import (
	"context"
	"database/sql"
	"fmt"
	"strconv"

	"lastroom/internal/problem"
)

// applicationID marks the file as a casebook ("LRcb").
const applicationID = 0x4C526362

// A migration brings a file from one version of its form to the next, in one transaction.
type migration []string

// migrations stand in order: the first makes version 1. Never change one that was released; add another.
var migrations = []migration{{
	fmt.Sprintf(`PRAGMA application_id = %d`, applicationID),
	// What a case is now: its current state is the change with the number state, rev the last change, last_key the number
	// of the last key that was ever given in it, also in what was undone.
	`CREATE TABLE cases (
		id       TEXT PRIMARY KEY,
		code     TEXT NOT NULL COLLATE NOCASE UNIQUE,
		changed  INTEGER NOT NULL,
		state    INTEGER NOT NULL,
		rev      INTEGER NOT NULL,
		last_key INTEGER NOT NULL,
		summary  TEXT NOT NULL,
		words    TEXT NOT NULL) WITHOUT ROWID`,
	// The journal. An edit has the whole case after it, packed; an undo or redo only names the edit that holds again.
	`CREATE TABLE changes (
		case_id TEXT NOT NULL REFERENCES cases(id),
		rev     INTEGER NOT NULL,
		at      INTEGER NOT NULL,
		kind    TEXT NOT NULL,
		said    TEXT NOT NULL,
		parent  INTEGER NOT NULL,
		state   INTEGER NOT NULL,
		doc     BLOB,
		PRIMARY KEY (case_id, rev))`,
	`CREATE INDEX children ON changes (case_id, parent, kind)`,
	`CREATE TABLE blobs (id INTEGER PRIMARY KEY, sha256 TEXT NOT NULL UNIQUE, bytes INTEGER NOT NULL)`,
	`CREATE TABLE chunks (blob INTEGER NOT NULL REFERENCES blobs(id), n INTEGER NOT NULL, data BLOB NOT NULL, PRIMARY KEY (blob, n))`,
	// Which case has a file in its present or in its past.
	`CREATE TABLE uses (case_id TEXT NOT NULL REFERENCES cases(id), blob INTEGER NOT NULL REFERENCES blobs(id),
		PRIMARY KEY (case_id, blob)) WITHOUT ROWID`,
	`CREATE INDEX users ON uses (blob)`,
	// What is left to do after a deletion, see delete.go.
	`CREATE TABLE todo (what TEXT PRIMARY KEY) WITHOUT ROWID`,
}}

// schemaVersion reads the version of the file's form; a file of another kind or a newer one is refused.
func schemaVersion(ctx context.Context, db *sql.DB, file string, known int) (int, error) {
	var app, version int
	if err := db.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&app); err != nil {
		return 0, err
	}
	if err := db.QueryRowContext(ctx, `PRAGMA user_version`).Scan(&version); err != nil {
		return 0, err
	}
	switch {
	case app != applicationID:
		return 0, problem.Problem{File: file, Limit: "a database, but no casebook of Lastroom's", Mend: "name another file"}
	case version > known:
		return 0, problem.Problem{
			File: file, Field: "version", Value: strconv.Itoa(version),
			Limit: fmt.Sprintf("this program knows casebooks up to version %d; it was left untouched", known),
			Mend:  newerMend,
		}
	}
	return version, nil
}

// migrate brings the file to the version known, each step in its own transaction.
func migrate(ctx context.Context, db *sql.DB, from int, steps []migration) error {
	for v := from; v < len(steps); v++ {
		tx, err := db.BeginTx(ctx, nil)
		if err != nil {
			return err
		}
		for _, statement := range append(steps[v][:len(steps[v]):len(steps[v])], fmt.Sprintf(`PRAGMA user_version = %d`, v+1)) {
			if _, err := tx.ExecContext(ctx, statement); err != nil {
				_ = tx.Rollback()
				return err
			}
		}
		if err := tx.Commit(); err != nil {
			return err
		}
	}
	return nil
}
