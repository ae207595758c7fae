package casebook

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"lastroom/internal/problem"
)

// A State is a case as it stands in the book.
type State struct {
	Case    Case
	Rev     int64 // number of the last change
	Changed time.Time
	Undo    string // what Undo would take back, in words; "" when nothing is left to
	Redo    string // what Redo would do again
}

// A Change is one line of a case's history.
type Change struct {
	Rev   int64
	At    time.Time
	Kind  string // new, edit, undo, redo, restore, import
	Said  string // what was changed, in words
	Holds bool   // the case now is as it was after this change
}

// The kinds of change. The first two groups have the case after them; undo and redo name one of those.
const (
	kindNew     = "new"
	kindEdit    = "edit"
	kindRestore = "restore"
	kindImport  = "import"
	kindUndo    = "undo"
	kindRedo    = "redo"
)

// New starts a case under a code that no other case of the book has.
func (b *Book) New(ctx context.Context, code string) (State, error) {
	id := make([]byte, 16)
	if _, err := rand.Read(id); err != nil {
		return State{}, err
	}
	c := Case{Format: caseFormat, Version: caseVersion, ID: hex.EncodeToString(id), Code: strings.TrimSpace(code), Started: stamp(b.now())}
	return b.begin(ctx, c, kindNew, "case started", nil)
}

// begin puts a case into the book that is not there yet; more puts in its files.
func (b *Book) begin(ctx context.Context, c Case, kind, said string, more func(*sql.Tx) error) (State, error) {
	return b.alter(ctx, c.ID, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT INTO cases VALUES (?,?,0,0,0,0,'','')`, c.ID, c.Code); err != nil {
			var taken *sqlite.Error
			if errors.As(err, &taken) && taken.Code() == sqlite3.SQLITE_CONSTRAINT_UNIQUE {
				return codeTaken(c.Code)
			}
			return err
		}
		if more != nil {
			if err := more(tx); err != nil {
				return err
			}
		}
		return b.record(ctx, tx, &c, entry{kind: kind, said: said})
	})
}

func codeTaken(code string) error {
	return problem.Problem{Field: "code", Value: code, Limit: "another case has this code", Mend: "choose another one"}
}

// Change makes a change to a case: edit gets the case as it stands and alters it. The change is on the disk when Change
// returns without an error; with one, nothing has changed. The history tells what was changed by comparing. When rev is
// not 0 the case must still stand at that change, or another window or program was faster. A change that changes nothing
// is not kept.
func (b *Book) Change(ctx context.Context, id string, rev int64, edit func(*Case) error) (State, error) {
	return b.change(ctx, id, rev, func(_ *sql.Tx, c *Case) (string, error) { return kindEdit, edit(c) })
}

func (b *Book) change(ctx context.Context, id string, rev int64, edit func(*sql.Tx, *Case) (kind string, err error)) (State, error) {
	return b.alter(ctx, id, func(tx *sql.Tx) error {
		before, now, err := current(ctx, tx, id)
		if err != nil {
			return err
		}
		if rev != 0 && rev != now.rev {
			return problem.Problem{
				Field: "case", Value: before.Code, Limit: "it was changed meanwhile by another window or program", Mend: "look at it again, then make your change",
			}
		}
		after, err := before.copied()
		if err != nil {
			return err
		}
		after.LastKey = now.lastKey
		kind, err := edit(tx, &after)
		if err != nil {
			return err
		}
		after.Format, after.Version, after.ID, after.Started = before.Format, before.Version, before.ID, before.Started // never change
		said := Differences(&before, &after)
		if len(said) == 0 {
			return nil
		}
		return b.record(ctx, tx, &after, entry{kind: kind, said: strings.Join(said, "; "), parent: now.state, rev: now.rev})
	})
}

// alter runs one transaction on a case, brings the index up to date and tells who watches. All that is answered is read in
// the transaction, so that nothing can fail after the change was made.
func (b *Book) alter(ctx context.Context, id string, do func(*sql.Tx) error) (State, error) {
	b.mu.Lock()
	var s State
	var e Entry
	err := b.write(ctx, func(tx *sql.Tx) error {
		err := do(tx)
		if err == nil {
			s, err = state(ctx, tx, id)
		}
		if err == nil {
			e, err = entryOf(tx.QueryRowContext(ctx, entryQuery+` WHERE id=?`, id).Scan)
		}
		return err
	})
	if err == nil {
		b.reindex(e)
	}
	b.mu.Unlock()
	if err != nil {
		return State{}, err
	}
	b.watch.tell(Event{ID: id})
	return s, nil
}

// copied is a copy that shares nothing.
func (c *Case) copied() (Case, error) {
	data, err := json.Marshal(c)
	if err != nil {
		return Case{}, err
	}
	var out Case
	return out, json.Unmarshal(data, &out)
}

// place is where a case stands in its journal.
type place struct {
	rev, state int64
	lastKey    int
}

// entry is a line of the journal to be.
type entry struct {
	kind, said  string
	parent, rev int64 // the edit it was made on, and the last change before it
}

// record writes an edit into the journal and makes it the state of the case.
func (b *Book) record(ctx context.Context, tx *sql.Tx, c *Case, e entry) error {
	if err := c.Validate().Err(); err != nil {
		return err
	}
	doc, err := packed(c)
	if err != nil {
		return err
	}
	rev := e.rev + 1
	if _, err := tx.ExecContext(ctx, `INSERT INTO changes VALUES (?,?,?,?,?,?,?,?)`,
		c.ID, rev, b.now().Unix(), e.kind, clippedTo(e.said, maxSaid), e.parent, rev, doc); err != nil {
		return err
	}
	for _, f := range c.Files {
		if _, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO uses SELECT ?, id FROM blobs WHERE sha256=? AND bytes=?`, c.ID, f.SHA256, f.Bytes); err != nil {
			return err
		}
		var there int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM blobs WHERE sha256=? AND bytes=?`, f.SHA256, f.Bytes).Scan(&there); err != nil {
			return err
		}
		if there == 0 {
			return problem.Problem{Field: "files", Value: f.Name, Limit: "its bytes are not in the book", Mend: "attach the file again"}
		}
	}
	return b.stand(ctx, tx, c, place{rev: rev, state: rev})
}

// maxSaid is how long one line of the history may be.
const maxSaid = 4000

func clippedTo(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// stand makes c, which is the edit at.state, what the case is.
func (b *Book) stand(ctx context.Context, tx *sql.Tx, c *Case, at place) error {
	var other string
	err := tx.QueryRowContext(ctx, `SELECT id FROM cases WHERE code=? AND id<>?`, c.Code, c.ID).Scan(&other)
	if err == nil {
		return codeTaken(c.Code)
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE cases SET code=?, changed=?, state=?, rev=?, last_key=max(last_key, ?), summary=?, words=? WHERE id=?`,
		c.Code, b.now().Unix(), at.state, at.rev, c.LastKey, c.summary(), c.searchWords(), c.ID)
	return err
}

// querier is a database or a transaction of it.
type querier interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// current is a case as it stands.
func current(ctx context.Context, q querier, id string) (Case, place, error) {
	var at place
	var doc []byte
	err := q.QueryRowContext(ctx, `SELECT k.rev, k.state, k.last_key, c.doc FROM cases k LEFT JOIN changes c ON c.case_id=k.id AND c.rev=k.state WHERE k.id=?`, id).
		Scan(&at.rev, &at.state, &at.lastKey, &doc)
	if errors.Is(err, sql.ErrNoRows) {
		return Case{}, place{}, noCase(id)
	}
	if err != nil {
		return Case{}, place{}, err
	}
	c, err := unpacked(doc)
	return c, at, err
}

const notHere = "not in this casebook"

func isNoCase(err error) bool {
	var p problem.Problem
	return errors.As(err, &p) && p.Field == "case" && p.Limit == notHere
}

func noCase(which string) error {
	return problem.Problem{Field: "case", Value: strconv.Quote(clipped(which)), Limit: notHere, Mend: "choose one from the list of cases"}
}

// Get is a case as it stands, by its identifier or its code.
func (b *Book) Get(ctx context.Context, which string) (State, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	var id string
	err := b.db.QueryRowContext(ctx, `SELECT id FROM cases WHERE id=?1 OR code=?1`, which).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		err = noCase(which)
	}
	var s State
	if err == nil {
		s, err = state(ctx, b.db, id)
	}
	return s, told(b.file, err)
}

func state(ctx context.Context, q querier, id string) (State, error) {
	c, at, err := current(ctx, q, id)
	if err != nil {
		return State{}, err
	}
	s := State{Case: c, Rev: at.rev}
	var when int64
	if err := q.QueryRowContext(ctx, `SELECT changed FROM cases WHERE id=?`, id).Scan(&when); err != nil {
		return State{}, err
	}
	s.Changed = time.Unix(when, 0).UTC()
	if _, s.Undo, err = backward(ctx, q, id, at); err != nil {
		return State{}, err
	}
	_, s.Redo, err = forward(ctx, q, id, at)
	return s, err
}

// backward is the edit before the one that holds, and what undoing takes back; 0 when there is none.
func backward(ctx context.Context, q querier, id string, at place) (state int64, said string, err error) {
	err = q.QueryRowContext(ctx, `SELECT parent, said FROM changes WHERE case_id=? AND rev=?`, id, at.state).Scan(&state, &said)
	if err == nil && state == 0 {
		said = ""
	}
	return state, said, err
}

// forward is the latest edit that was made on the one that holds: the one that undoing left.
func forward(ctx context.Context, q querier, id string, at place) (state int64, said string, err error) {
	err = q.QueryRowContext(ctx, `SELECT rev, said FROM changes WHERE case_id=? AND parent=? AND doc IS NOT NULL ORDER BY rev DESC LIMIT 1`, id, at.state).
		Scan(&state, &said)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, "", nil
	}
	return state, said, err
}

// Undo takes the last edit of the case back, as often as there are edits, over restarts too. The undoing is in the
// history and can itself be taken back by Redo.
func (b *Book) Undo(ctx context.Context, id string) (State, error) {
	return b.step(ctx, id, kindUndo, backward)
}

// Redo does again what Undo took back, until there is another edit.
func (b *Book) Redo(ctx context.Context, id string) (State, error) {
	return b.step(ctx, id, kindRedo, forward)
}

func (b *Book) step(ctx context.Context, id, kind string, to func(context.Context, querier, string, place) (int64, string, error)) (State, error) {
	return b.alter(ctx, id, func(tx *sql.Tx) error {
		_, at, err := current(ctx, tx, id)
		if err != nil {
			return err
		}
		state, said, err := to(ctx, tx, id, at)
		if err != nil {
			return err
		}
		if state == 0 {
			return problem.Problem{Field: "case", Limit: "there is nothing to " + kind, Mend: "see the case's history"}
		}
		c, err := snapshot(ctx, tx, id, state)
		if err != nil {
			return err
		}
		at = place{rev: at.rev + 1, state: state}
		if _, err := tx.ExecContext(ctx, `INSERT INTO changes VALUES (?,?,?,?,?,0,?,NULL)`, id, at.rev, b.now().Unix(), kind, said, state); err != nil {
			return err
		}
		return b.stand(ctx, tx, &c, at)
	})
}

// snapshot is the case as an edit left it.
func snapshot(ctx context.Context, q querier, id string, rev int64) (Case, error) {
	var doc []byte
	err := q.QueryRowContext(ctx, `SELECT s.doc FROM changes c JOIN changes s ON s.case_id=c.case_id AND s.rev=c.state WHERE c.case_id=? AND c.rev=?`, id, rev).Scan(&doc)
	if errors.Is(err, sql.ErrNoRows) {
		return Case{}, problem.Problem{Field: "case", Value: fmt.Sprint(rev), Limit: "there is no such change in its history", Mend: "choose one from the history"}
	}
	if err != nil {
		return Case{}, err
	}
	return unpacked(doc)
}

// At is the case as it was after a change of its history.
func (b *Book) At(ctx context.Context, id string, rev int64) (Case, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	c, err := snapshot(ctx, b.db, id, rev)
	return c, told(b.file, err)
}

// Restore makes the case what it was after a change of its history. That is an edit like others: it can be undone.
func (b *Book) Restore(ctx context.Context, id string, rev int64) (State, error) {
	return b.change(ctx, id, 0, func(tx *sql.Tx, c *Case) (string, error) {
		last := c.LastKey
		old, err := snapshot(ctx, tx, id, rev)
		if err == nil {
			*c = old
			c.LastKey = last // no key is given twice
		}
		return kindRestore, err
	})
}

// History tells all that was done to a case, the oldest first.
func (b *Book) History(ctx context.Context, id string) ([]Change, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	list, err := b.history(ctx, id)
	return list, told(b.file, err)
}

func (b *Book) history(ctx context.Context, id string) ([]Change, error) {
	rows, err := b.db.QueryContext(ctx, `SELECT c.rev, c.at, c.kind, c.said, k.state FROM changes c JOIN cases k ON k.id=c.case_id WHERE c.case_id=? ORDER BY c.rev`, id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []Change
	for rows.Next() {
		var c Change
		var at, state int64
		if err := rows.Scan(&c.Rev, &at, &c.Kind, &c.Said, &state); err != nil {
			return nil, err
		}
		c.At, c.Holds = time.Unix(at, 0).UTC(), c.Rev == state
		out = append(out, c)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	if len(out) == 0 {
		return nil, noCase(id)
	}
	return out, nil
}

// packed is a case as the journal keeps it: JSON in gzip, whose checksum finds a bit that turned.
func packed(c *Case) ([]byte, error) {
	data, err := json.Marshal(c)
	if err != nil {
		return nil, err
	}
	if len(data) > maxCaseJSON {
		return nil, problem.Problem{Field: "case", Value: "over 16 MiB", Limit: "a case has at most 16 MiB beside its files", Mend: "start a second case"}
	}
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, err = w.Write(data)
	err = errors.Join(err, w.Close())
	return b.Bytes(), err
}

var errUnpack = errors.New("a case in the journal can't be read")

func unpacked(doc []byte) (Case, error) {
	r, err := gzip.NewReader(bytes.NewReader(doc))
	if err != nil {
		return Case{}, fmt.Errorf("%w: %w", errUnpack, err)
	}
	data, err := io.ReadAll(io.LimitReader(r, maxCaseJSON+1))
	if err != nil {
		return Case{}, fmt.Errorf("%w: %w", errUnpack, err)
	}
	var c Case
	if err := strictJSON(data, &c); err != nil {
		return Case{}, fmt.Errorf("%w: %w", errUnpack, err)
	}
	return c, nil
}
