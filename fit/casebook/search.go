package casebook

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// An Entry is a case in the list.
type Entry struct {
	ID, Code string
	Changed  time.Time
	Summary  string // its shoes and devices, how many results

	folded string // code
	words  string // all that is searched, folded
}

// An index has all cases, the latest changed first, so that searching asks no disk.
type index []Entry

// maxWords is how much text of a case is searched; what is newest comes first.
const maxWords = 8 << 10

// load reads the index from the file.
func (b *Book) load(ctx context.Context) error {
	seen, err := b.dataVersion(ctx)
	if err != nil {
		return err
	}
	rows, err := b.db.QueryContext(ctx, entryQuery)
	if err != nil {
		return err
	}
	defer rows.Close()
	var all index
	for rows.Next() {
		e, err := entryOf(rows.Scan)
		if err != nil {
			return err
		}
		all = append(all, e)
	}
	if err := rows.Err(); err != nil {
		return err
	}
	slices.SortFunc(all, latestFirst)
	b.index, b.seen = all, seen
	return nil
}

const entryQuery = `SELECT id, code, changed, summary, words FROM cases`

func entryOf(scan func(...any) error) (Entry, error) {
	var e Entry
	var at int64
	err := scan(&e.ID, &e.Code, &at, &e.Summary, &e.words)
	e.Changed, e.folded = time.Unix(at, 0).UTC(), fold(e.Code)
	return e, err
}

func latestFirst(a, b Entry) int {
	return cmp.Or(b.Changed.Compare(a.Changed), strings.Compare(a.folded, b.folded))
}

// reindex brings one case of the index up to date.
func (b *Book) reindex(e Entry) {
	b.unindex(e.ID)
	at, _ := slices.BinarySearchFunc(b.index, e, latestFirst)
	b.index = slices.Insert(b.index, at, e)
}

func (b *Book) unindex(id string) {
	b.index = slices.DeleteFunc(b.index, func(e Entry) bool { return e.ID == id })
}

// Search finds the cases that have every word of the query somewhere: in the code, shoes, devices, notes, files' names
// and outcomes; accents and capitals do not count. Cases whose code begins with the query come first, the latest changed
// before others. It gives at most limit of them (all for 0), and how many there are.
func (b *Book) Search(query string, limit int) (found []Entry, of int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	q := strings.TrimSpace(fold(query))
	words := strings.Fields(q)
	var first, rest []Entry
	for i := range b.index {
		e := &b.index[i]
		if slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(e.words, w) }) {
			continue
		}
		of++
		switch {
		case strings.HasPrefix(e.folded, q):
			first = append(first, *e)
		case limit == 0 || len(rest) < limit:
			rest = append(rest, *e)
		}
	}
	found = append(first, rest...)
	if limit > 0 && len(found) > limit {
		found = found[:limit]
	}
	return found, of
}

// fold takes capitals and accents off, and writes ß as ss.
func fold(s string) string {
	plain, _, err := transform.String(transform.Chain(norm.NFD, runes.Remove(runes.In(unicode.Mn)), norm.NFC), s)
	if err != nil {
		plain = s
	}
	return strings.ReplaceAll(strings.ToLower(plain), "ß", "ss")
}

// summary is what the list says of a case.
func (c *Case) summary() string {
	var parts []string
	for _, s := range c.Shoes {
		parts = append(parts, s.Name())
	}
	for _, d := range c.Devices {
		parts = append(parts, d.name()+" "+d.Side)
	}
	if n := len(c.Results); n > 0 {
		parts = append(parts, "last result: "+string(c.Results[n-1].State))
	}
	return clippedTo(strings.Join(parts, " · "), 200)
}

// searchWords is all that is searched in a case, folded.
func (c *Case) searchWords() string {
	texts := []string{c.Code}
	for _, s := range slices.Backward(c.Shoes) {
		texts = append(texts, s.Name())
		if sheet, err := s.Measures(); err == nil {
			texts = append(texts, sheet.ID, sheet.Kind)
		}
	}
	for _, d := range slices.Backward(c.Devices) {
		texts = append(texts, d.Label, d.Side)
		if o, err := d.Prescription(); err == nil {
			texts = append(texts, o.WedgeBuild, o.Material, o.Process)
		}
	}
	for _, o := range slices.Backward(c.Outcomes) {
		texts = append(texts, string(o.Outcome.Happened), o.Outcome.Feature, o.Outcome.Zone, o.Outcome.Note)
	}
	for _, n := range slices.Backward(c.Notes) {
		texts = append(texts, n.Text)
	}
	for _, f := range slices.Backward(c.Files) {
		texts = append(texts, f.Kind, f.Name, f.Note)
	}
	if n := len(c.Results); n > 0 {
		texts = append(texts, string(c.Results[n-1].State))
	}
	all := fold(strings.Join(texts, "\n"))
	if len(all) > maxWords {
		all = strings.ToValidUTF8(all[:maxWords], "")
	}
	return all
}
