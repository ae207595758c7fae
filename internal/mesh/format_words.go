package mesh

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strconv"
)

// words splits a text at white space, in lower case, and counts lines.
type words struct {
	r    *bufio.Reader
	line int
	buf  []byte
}

var errLongWord = errors.New("word longer than any number")

const longestWord = 64

// next is the next word, on whatever line, or "" at the end of the text.
func (w *words) next() (string, error) { return w.word(false) }

// inLine is the next word of the line, or "" at its end, which is left for next. A backslash before the end of a line
// joins it to the one that follows.
func (w *words) inLine() (string, error) { return w.word(true) }

func (w *words) word(stay bool) (string, error) {
	w.buf = w.buf[:0]
	for {
		c, err := w.r.ReadByte()
		if errors.Is(err, io.EOF) {
			return string(w.buf), nil
		}
		if err != nil {
			return "", err
		}
		space := c == ' ' || c == '\n' || c == '\r' || c == '\t'
		joins := stay && c == '\\'
		if (space || joins) && len(w.buf) > 0 || stay && c == '\n' {
			return string(w.buf), w.r.UnreadByte()
		}
		if joins {
			if err := w.skipLine(); err != nil {
				return "", err
			}
			continue
		}
		if c == '\n' {
			w.line++
		}
		if space {
			continue
		}
		if 'A' <= c && c <= 'Z' {
			c += 'a' - 'A'
		}
		if w.buf = append(w.buf, c); len(w.buf) > longestWord {
			return string(w.buf), errLongWord
		}
	}
}

// skipLine passes over the rest of the line.
func (w *words) skipLine() error {
	for {
		c, err := w.r.ReadByte()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if c == '\n' {
			w.line++
			return nil
		}
	}
}

// restOfLine is the rest of the line, at most its first 120 bytes.
func (w *words) restOfLine() (string, error) {
	var b []byte
	for {
		c, err := w.r.ReadByte()
		if errors.Is(err, io.EOF) {
			return string(b), nil
		}
		if err != nil {
			return "", err
		}
		if c == '\n' {
			w.line++
			return string(b), nil
		}
		if len(b) < 120 {
			b = append(b, c)
		}
	}
}

// here is the line the text has come to.
func (w *words) here() place { return place{"line", w.line} }

// number reads a word as a number. One too large is infinite, for the limits to refuse.
func number(word string) (float64, bool) {
	x, err := strconv.ParseFloat(word, 64)
	return x, err == nil || errors.Is(err, strconv.ErrRange)
}

// broken is the problem of a text that does not go on as it should; due says what should be here.
func (s *intake) broken(w *words, word string, err error, due string) error {
	if err != nil && !errors.Is(err, errLongWord) {
		return unreadable(s.name, err)
	}
	found := strconv.Quote(word)
	if word == "" {
		found = "end of the line or of the file"
	}
	return s.problem(fmt.Sprintf("line %d", w.line), found, due+" was due here", "export the mesh again")
}
