package casebook

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"lastroom/fit"
	"lastroom/internal/problem"
)

// The limits of a case; those of its files are in blob.go.
const (
	maxCaseJSON = 16 << 20
	maxText     = 20000
	maxParts    = 2000 // of each kind; shoes, devices and files have fewer
	maxPieces   = 400  // shoes, devices, files
)

var (
	sides     = []string{"right", "left"}
	fileKinds = []string{"photograph", "scan", "paper"}
	statuses  = []string{string(fit.Converged), string(fit.NotConverged), string(fit.NoSupport), string(fit.OutOfPlace), string(fit.Stopped)}
	states    = []string{string(fit.Clear), string(fit.Snug), string(fit.Unsure), string(fit.Blocked)}
)

// checker collects what is wrong with a case.
type checker struct {
	ps   problem.Problems
	keys map[string]bool
	last int
}

func (k *checker) bad(field, value, limit, mend string) {
	k.ps = append(k.ps, problem.Problem{Field: field, Value: clipped(value), Limit: limit, Mend: mend})
}

func (k *checker) oneOf(field, value string, of []string) {
	if !slices.Contains(of, value) {
		k.bad(field, strconv.Quote(value), "one of "+strings.Join(of, ", "), "choose one of them")
	}
}

func (k *checker) text(field, s string, most int) {
	switch {
	case !utf8.ValidString(s):
		k.bad(field, "", "text in UTF-8", "write it again")
	case utf8.RuneCountInString(s) > most:
		k.bad(field, strconv.Itoa(utf8.RuneCountInString(s))+" characters", fmt.Sprintf("at most %d", most), "shorten the text")
	}
}

func (k *checker) count(field string, n, most int) {
	if n > most {
		k.bad(field, strconv.Itoa(n), fmt.Sprintf("at most %d in a case", most), "start a second case")
	}
}

// key holds a key to its letter and its number, which was given once.
func (k *checker) key(letter, key string) {
	n, err := strconv.Atoi(strings.TrimPrefix(key, letter))
	switch {
	case !strings.HasPrefix(key, letter) || err != nil || n < 1 || n > k.last || key != letter+strconv.Itoa(n):
		k.bad("key", strconv.Quote(key), fmt.Sprintf("%s and a number from 1 to last_key", letter), "give a file that Lastroom wrote")
	case k.keys[key]:
		k.bad("key", strconv.Quote(key), "stands once in a case", "give a file that Lastroom wrote")
	}
	k.keys[key] = true
}

func (k *checker) known(field, key string, there bool) {
	if key != "" && !there {
		k.bad(field, strconv.Quote(key), "the key of a part of this case", "choose one that is there")
	}
}

func (k *checker) object(field string, raw json.RawMessage) {
	if len(raw) > 0 && (!json.Valid(raw) || !bytes.HasPrefix(bytes.TrimSpace(raw), []byte("{"))) {
		k.bad(field, clipped(string(raw)), "a JSON object", "give a file that Lastroom wrote")
	}
}

// Validate reports all that is wrong with a case; an empty list: it can be kept and read back.
func (c *Case) Validate() problem.Problems {
	k := &checker{keys: map[string]bool{}, last: c.LastKey}
	if c.Format != caseFormat || c.Version != caseVersion {
		k.bad("format", fmt.Sprintf("%q version %d", c.Format, c.Version), fmt.Sprintf("%q version %d", caseFormat, caseVersion), newerMend)
	}
	if !isHex(c.ID, 16) {
		k.bad("id", strconv.Quote(c.ID), "32 hexadecimal digits", "give a file that Lastroom wrote")
	}
	k.code(c.Code)
	if c.LastKey < 0 || c.LastKey > 1e9 {
		k.bad("last_key", strconv.Itoa(c.LastKey), "0 to 1000000000", "give a file that Lastroom wrote")
	}
	k.feet(c.Feet)
	k.count("shoes", len(c.Shoes), maxPieces)
	k.count("devices", len(c.Devices), maxPieces)
	k.count("files", len(c.Files), maxPieces)
	k.count("results", len(c.Results), maxParts)
	k.count("notes", len(c.Notes), maxParts)
	k.count("outcomes", len(c.Outcomes), maxParts)
	if len(k.ps) > 0 {
		return k.ps
	}
	for _, s := range c.Shoes {
		k.key("s", s.Key)
		if _, err := s.Measures(); err != nil {
			k.ps = append(k.ps, problemsOf(err)...)
		}
		k.known("scan", s.Scan, c.File(s.Scan) != nil)
		k.known("standing", s.Standing, c.File(s.Standing) != nil)
	}
	for _, d := range c.Devices {
		k.key("d", d.Key)
		k.oneOf("side", d.Side, sides)
		k.text("label", d.Label, 200)
		k.known("from", d.From, c.Device(d.From) != nil && d.From != d.Key)
		k.known("scan", d.Scan, c.File(d.Scan) != nil)
		switch {
		case len(d.Options) > 0:
			if o, err := d.Prescription(); err != nil {
				k.ps = append(k.ps, problemsOf(err)...)
			} else if o.Side != d.Side {
				k.bad("side", d.Side, "the side of the options, "+o.Side, "change both")
			}
		case d.Scan == "":
			k.bad("devices", d.Key, "options or a scan", "add one of them")
		}
	}
	for _, r := range c.Results {
		k.key("r", r.Key)
		k.oneOf("status", string(r.Status), statuses)
		k.oneOf("state", string(r.State), states)
		k.text("sentence", r.Sentence, maxText)
		k.text("limits", r.Limits, maxText)
		k.text("program", r.Program, 64)
		k.object("report", r.Report)
		if !(r.Odds >= 0 && r.Odds <= 1) {
			k.bad("odds", fmt.Sprint(r.Odds), "0 to 1", "give a file that Lastroom wrote")
		}
		if math.IsNaN(r.RideUpMM) || math.IsInf(r.RideUpMM, 0) {
			k.bad("ride_up_mm", fmt.Sprint(r.RideUpMM), "a number", "give a file that Lastroom wrote")
		}
		if r.Limits == "" {
			k.bad("limits", "", "a result is kept with what it does not know", "give a file that Lastroom wrote")
		}
	}
	for _, n := range c.Notes {
		k.key("n", n.Key)
		k.text("note", n.Text, maxText)
	}
	for _, f := range c.Files {
		k.key("f", f.Key)
		k.oneOf("kind", f.Kind, fileKinds)
		k.text("note", f.Note, maxText)
		k.fileName(f.Name)
		if !isHex(f.SHA256, 32) {
			k.bad("sha256", f.SHA256, "64 hexadecimal digits", "give a file that Lastroom wrote")
		}
		if f.Bytes < 0 || f.Bytes > maxFile {
			k.bad("bytes", strconv.FormatInt(f.Bytes, 10), fmt.Sprintf("0 to %d", int64(maxFile)), "make the file smaller")
		}
	}
	for _, o := range c.Outcomes {
		k.key("o", o.Key)
		k.known("shoe", o.Shoe, c.Shoe(o.Shoe) != nil)
		k.known("device", o.Device, c.Device(o.Device) != nil)
		went := o.Outcome
		went.Case = c.Code
		k.ps = append(k.ps, went.Validate()...)
		k.ps = append(k.ps, went.Options.Validate()...)
	}
	return k.ps
}

func (k *checker) code(code string) {
	if !fit.ValidCode(code) {
		k.bad("code", strconv.Quote(code), "a code of 1 to 40 letters, digits, dots, dashes and underscores", "give a code, no name")
	}
	if isHex(code, 16) {
		k.bad("code", code, "not 32 hexadecimal digits: these are taken for an identifier", "choose another code")
	}
}

func (k *checker) feet(feet []Foot) {
	k.count("feet", len(feet), 2)
	for i, f := range feet {
		k.oneOf("side", f.Side, sides)
		k.ps = append(k.ps, f.Measured().Validate()...)
		if i > 0 && f.Side == feet[0].Side {
			k.bad("side", f.Side, "one foot a side", "make it the other side")
		}
	}
}

func (k *checker) fileName(name string) {
	k.text("name", name, 200)
	if name == "" || name == "." || name == ".." || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) || strings.ContainsRune(`/\:`, r) }) {
		k.bad("name", strconv.Quote(name), "a file's name without a folder", "give it another name")
	}
}

// isHex says whether the text is n bytes in small hexadecimal digits.
func isHex(s string, n int) bool {
	b, err := hex.DecodeString(s)
	return err == nil && len(b) == n && strings.ToLower(s) == s
}

// clipped shortens a foreign text for a message.
func clipped(s string) string {
	const most = 80
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// problemsOf is the problems in an error.
func problemsOf(err error) problem.Problems {
	var ps problem.Problems
	var one problem.Problem
	switch {
	case errors.As(err, &ps):
		return ps
	case errors.As(err, &one):
		return problem.Problems{one}
	}
	return problem.Problems{{Limit: err.Error()}}
}

const newerMend = "open it with the version of Lastroom that wrote it, or a newer one"

// ReadCase reads a case's JSON and validates it; name is what errors call the file.
func ReadCase(r io.Reader, name string) (Case, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxCaseJSON+1))
	if err != nil {
		return Case{}, problem.Problem{File: name, Limit: err.Error(), Mend: "check that the file can be read"}
	}
	return parseCase(data, name)
}

func parseCase(data []byte, name string) (Case, error) {
	if len(data) > maxCaseJSON {
		return Case{}, problem.Problem{File: name, Value: "over 16 MiB", Limit: "a case has at most 16 MiB beside its files", Mend: "start a second case"}
	}
	var head struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &head); err == nil && head.Format == caseFormat && head.Version > caseVersion {
		return Case{}, problem.Problem{
			File: name, Field: "version", Value: strconv.Itoa(head.Version), Limit: fmt.Sprintf("up to %d is known here", caseVersion), Mend: newerMend,
		}
	}
	var c Case
	if err := strictJSON(data, &c); err != nil {
		return Case{}, problem.Problem{File: name, Limit: clipped(err.Error()), Mend: "give a case that Lastroom wrote"}
	}
	return c, c.Validate().In(name).Err()
}

// strictJSON decodes one value and refuses unknown fields and anything after it.
func strictJSON(data []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("more text after the end")
	}
	return nil
}
