// Package problem holds the one form in which bad input is reported: which file, which field, the value found,
// the limit it breaks and how to mend it. Rules produce problems as data; whoever shows them makes the words.
package problem

import (
	"fmt"
	"strings"
)

// A Problem is one broken rule. Empty parts are left out of the words.
type Problem struct {
	File  string `json:"file,omitempty"`  // file or catalog entry it stands in
	Field string `json:"field,omitempty"` // field key, for example "wedge_length_mm"
	Value string `json:"value,omitempty"` // the value found, with its unit
	Limit string `json:"limit,omitempty"` // what holds instead, with its unit: "2 to 12 mm"
	Mend  string `json:"mend,omitempty"`  // what to do, an imperative sentence without a full stop
}

// Error makes the sentence a person reads.
func (p Problem) Error() string {
	var b strings.Builder
	if p.File != "" {
		fmt.Fprintf(&b, "%s: ", p.File)
	}
	if p.Field != "" {
		b.WriteString(p.Field)
	}
	if p.Value != "" {
		if p.Field != "" {
			b.WriteString(" = ")
		}
		b.WriteString(p.Value)
	}
	if p.Limit != "" {
		if p.Field != "" || p.Value != "" {
			b.WriteString(": ")
		}
		b.WriteString(p.Limit)
	}
	if p.Mend != "" {
		fmt.Fprintf(&b, "; %s", p.Mend)
	}
	return b.String()
}

// Problems is a list of broken rules; a non-empty list is an error.
type Problems []Problem

// Error joins the sentences, a line each.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Err is nil for an empty list and the list itself otherwise.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// In returns the list with the file name set on each problem that has none.
func (ps Problems) In(file string) Problems {
	out := make(Problems, len(ps))
	for i, p := range ps {
		if p.File == "" {
			p.File = file
		}
		out[i] = p
	}
	return out
}
