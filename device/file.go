package device

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"lastroom/internal/problem"
)

// A prescription's file is JSON of this form, one member an option under the name that Keys gives it:
//
//	{
//	  "format": "lastroom-device", "version": 1,
//	  "name": "Everyday plain block", "for": "whom, and why",
//	  "foot_length_mm": 266, "wedge_build": "block", …
//	}
//
// Options left out are those of Default; name and for are free text and may be left out. Unknown members and members
// that stand twice are errors.
const (
	fileFormat   = "lastroom-device"
	fileVersion  = 1
	fileMaxBytes = 1 << 20
	nameMaxBytes = 1 << 12
)

// ReadOptions reads a prescription; name is what errors call the file. What it returns without an error can be built.
func ReadOptions(r io.Reader, name string) (Options, error) {
	p, err := readPrescription(r, name)
	return p.Options, err
}

// WriteOptions writes a prescription with all its options, in the order of Keys.
func WriteOptions(w io.Writer, o Options) error {
	var b strings.Builder
	fmt.Fprintf(&b, "{\n  \"format\": %q,\n  \"version\": %d", fileFormat, fileVersion)
	for _, k := range keys {
		value := o.Get(k.Key)
		if !k.IsNumber() {
			value = strconv.Quote(value)
		}
		if p, bad := k.bad(&o); bad {
			return p // NaN and foreign words have no place in a file
		}
		fmt.Fprintf(&b, ",\n  %q: %s", k.Key, value)
	}
	b.WriteString("\n}\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func readPrescription(r io.Reader, name string) (Preset, error) {
	data, err := io.ReadAll(io.LimitReader(r, fileMaxBytes+1))
	if err != nil {
		return Preset{}, err
	}
	if len(data) > fileMaxBytes {
		return Preset{}, problem.Problem{File: name, Limit: "a prescription has at most 1 MiB", Mend: "give a file that lastroom wrote"}
	}
	members, err := readMembers(data)
	if err != nil {
		var p problem.Problem
		if errors.As(err, &p) {
			p.File = name
			return Preset{}, p
		}
		return Preset{}, problem.Problem{File: name, Value: err.Error(), Limit: "not a JSON object", Mend: "give a file that lastroom wrote"}
	}
	p := Preset{Options: Default()}
	var ps problem.Problems
	var format string
	version := 0.0
	for _, m := range members {
		switch m.key {
		case "format":
			err = m.into(&format)
		case "version":
			err = m.into(&version)
		case "name":
			err = m.text(&p.Name)
		case "for":
			err = m.text(&p.For)
		default:
			err = m.option(&p.Options)
		}
		if err != nil {
			var one problem.Problem
			if !errors.As(err, &one) {
				one = problem.Problem{Field: m.key, Value: err.Error(), Mend: "see the file's form"}
			}
			ps = append(ps, one)
		}
	}
	if format != fileFormat {
		ps = append(ps, problem.Problem{Field: "format", Value: strconv.Quote(format), Limit: strconv.Quote(fileFormat), Mend: "give the file of a device"})
	} else if version != fileVersion {
		ps = append(ps, problem.Problem{
			Field: "version", Value: strconv.FormatFloat(version, 'g', -1, 64), Limit: strconv.Itoa(fileVersion),
			Mend: "write the file with this version of lastroom",
		})
	}
	if len(ps) == 0 {
		ps = p.Options.Validate()
	}
	if err := ps.In(name).Err(); err != nil {
		return Preset{}, err
	}
	return p, nil
}

// A member is one name and value of the file's object.
type member struct {
	key   string
	value json.RawMessage
}

// readMembers reads one flat JSON object, in order.
func readMembers(data []byte) ([]member, error) {
	d := json.NewDecoder(bytes.NewReader(data))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, problem.Problem{Limit: "not a JSON object", Mend: "give a file that lastroom wrote"}
	}
	var list []member
	seen := map[string]bool{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return nil, err
		}
		key, _ := t.(string)
		if seen[key] {
			return nil, problem.Problem{Field: key, Limit: "stands twice", Mend: "leave one out"}
		}
		seen[key] = true
		var v json.RawMessage
		if err := d.Decode(&v); err != nil {
			return nil, err
		}
		list = append(list, member{key, v})
		if len(list) > 200 {
			return nil, problem.Problem{Limit: "too many members", Mend: "give a file that lastroom wrote"}
		}
	}
	if _, err := d.Token(); err != nil {
		return nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, problem.Problem{Limit: "text after the end of the object", Mend: "give one prescription a file"}
	}
	return list, nil
}

func (m member) into(v any) error {
	if err := json.Unmarshal(m.value, v); err != nil {
		return problem.Problem{Field: m.key, Value: excerpt(m.value), Limit: "not the kind of value that stands here", Mend: "see the file's form"}
	}
	return nil
}

func (m member) text(s *string) error {
	if len(m.value) > nameMaxBytes {
		return problem.Problem{Field: m.key, Limit: "at most 4096 bytes", Mend: "shorten the text"}
	}
	return m.into(s)
}

// option sets the option of that name; numbers stand as numbers and words as strings.
func (m member) option(o *Options) error {
	k, ok := FindKey(m.key)
	if !ok {
		return o.Set(m.key, "")
	}
	if !k.IsNumber() {
		var word string
		if err := m.into(&word); err != nil {
			return err
		}
		return o.Set(m.key, word)
	}
	if s := string(m.value); s == "null" {
		return problem.Problem{Field: m.key, Value: s, Limit: k.Limits(), Mend: "give a number or leave the option out"}
	}
	var v float64
	if err := m.into(&v); err != nil {
		return err
	}
	if p, bad := k.outside(v); bad {
		return p
	}
	*k.number(o) = v
	return nil
}

func excerpt(b []byte) string {
	const most = 40
	if len(b) > most {
		return strings.ToValidUTF8(string(b[:most]), "") + "…"
	}
	return string(b)
}
