package casebook

import (
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"

	"lastroom/internal/problem"
)

// todoBackups stands in the book from a deletion until nothing of it is left in the backups.
const todoBackups = "replace backups"

// Delete deletes a case for good: its journal and the files that no other case has. The file is rewritten without it,
// and the backups are replaced by a new one. Nothing brings it back. When the case is gone but cleaning up failed (a full
// disk), the error says so, and it is done when the book is opened next.
func (b *Book) Delete(ctx context.Context, id string) error {
	return b.remove(ctx, id, func(tx *sql.Tx) error {
		if err := dropPast(ctx, tx, id); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM cases WHERE id=?`, id)
		return err
	})
}

// Forget deletes a case's past for good, with the files that are no longer in it; what the case is now stays. There is
// nothing to undo then.
func (b *Book) Forget(ctx context.Context, id string) (State, error) {
	err := b.remove(ctx, id, func(tx *sql.Tx) error {
		c, at, err := current(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := dropPast(ctx, tx, id); err != nil {
			return err
		}
		return b.record(ctx, tx, &c, entry{kind: kindNew, said: "the history before this was deleted", rev: at.rev})
	})
	if err != nil {
		return State{}, err
	}
	return b.Get(ctx, id)
}

// remove runs a deletion, marks that the backups still have what was deleted, and sees to them.
func (b *Book) remove(ctx context.Context, id string, do func(*sql.Tx) error) error {
	b.mu.Lock()
	gone := false
	var e Entry
	err := b.write(ctx, func(tx *sql.Tx) error {
		if _, _, err := current(ctx, tx, id); err != nil {
			return err
		}
		if err := do(tx); err != nil {
			return err
		}
		if err := dropUnused(ctx, tx); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO todo VALUES (?)`, todoBackups); err != nil {
			return err
		}
		var err error
		e, err = entryOf(tx.QueryRowContext(ctx, entryQuery+` WHERE id=?`, id).Scan)
		if gone = errors.Is(err, sql.ErrNoRows); gone {
			return nil
		}
		return err
	})
	if err != nil {
		b.mu.Unlock()
		return err
	}
	if gone {
		b.unindex(id)
	} else {
		b.reindex(e)
	}
	if err = b.finishDeleting(ctx); err != nil {
		err = problem.Problem{
			File: b.file, Limit: "it is deleted, but what was deleted may still be in the file's free parts and in the backups: " + told(b.file, err).Error(),
			Mend: "mend that, then open the casebook again: it is finished then",
		}
	}
	b.mu.Unlock()
	b.watch.tell(Event{ID: id, Gone: gone})
	return err
}

func dropPast(ctx context.Context, tx *sql.Tx, id string) error {
	for _, statement := range []string{`DELETE FROM uses WHERE case_id=?`, `DELETE FROM changes WHERE case_id=?`} {
		if _, err := tx.ExecContext(ctx, statement, id); err != nil {
			return err
		}
	}
	return nil
}

// dropUnused deletes the files that no case has, now or in its past.
func dropUnused(ctx context.Context, tx *sql.Tx) error {
	for _, statement := range []string{
		`DELETE FROM chunks WHERE blob IN (SELECT id FROM blobs WHERE id NOT IN (SELECT blob FROM uses))`,
		`DELETE FROM blobs WHERE id NOT IN (SELECT blob FROM uses)`,
	} {
		if _, err := tx.ExecContext(ctx, statement); err != nil {
			return err
		}
	}
	return nil
}

// finishDeleting rewrites the file and replaces the backups after a deletion. It may be stopped anywhere and is done
// again at the next opening.
func (b *Book) finishDeleting(ctx context.Context) error {
	var n int
	if err := b.db.QueryRowContext(ctx, `SELECT count(*) FROM todo WHERE what=?`, todoBackups).Scan(&n); err != nil || n == 0 {
		return err
	}
	if _, err := b.db.ExecContext(ctx, `VACUUM`); err != nil {
		return err
	}
	old, err := Backups(b.file)
	if err != nil {
		return err
	}
	if _, err := b.backup(ctx); err != nil {
		return err
	}
	for _, o := range old {
		if err := os.Remove(o.File); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return b.write(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM todo WHERE what=?`, todoBackups)
		return err
	})
}
