package device

import (
	"compress/gzip"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"lastroom/internal/mesh"
	"lastroom/internal/problem"
)

// A scanned device's file is compressed JSON of this form: the device as it was read and patched, with nothing to find
// again.
type scannedFile struct {
	Format  string
	Version int
	Name    string
	Device  *Device
}

const (
	scannedFormat   = "lastroom-scanned-device"
	scannedVersion  = 1
	scannedMaxBytes = 1 << 30 // unpacked
)

// WriteScanned writes a scanned device and its name. ReadScanned gives the same back.
func WriteScanned(w io.Writer, name string, d *Device) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestSpeed)
	if err != nil {
		return err
	}
	err = json.NewEncoder(z).Encode(scannedFile{scannedFormat, scannedVersion, name, d})
	return errors.Join(err, z.Close())
}

// ReadScanned reads a device that WriteScanned wrote. file stands for the file in errors.
func ReadScanned(r io.Reader, file string) (name string, d *Device, err error) {
	refuse := func(why string) (string, *Device, error) {
		return "", nil, problem.Problem{File: file, Limit: "no scanned device: " + why, Mend: "open the scan again"}
	}
	z, err := gzip.NewReader(r)
	if err != nil {
		return refuse(err.Error())
	}
	var f scannedFile
	dec := json.NewDecoder(io.LimitReader(z, scannedMaxBytes))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return refuse(err.Error())
	}
	if f.Format != scannedFormat || f.Version != scannedVersion {
		return refuse(fmt.Sprintf("it is %q version %d", f.Format, f.Version))
	}
	if f.Device == nil || f.Device.Rigid == nil || strings.TrimSpace(f.Name) == "" {
		return refuse("the device is missing")
	}
	if why := f.Device.whyNoSolid(); why != "" {
		return refuse(why)
	}
	return f.Name, f.Device, nil
}

// whyNoSolid says what a device that came from outside lacks, empty when it can be seated.
func (d *Device) whyNoSolid() string {
	for _, m := range []*mesh.Mesh{d.Rigid, d.CoverSolid} {
		if m == nil {
			continue
		}
		if err := m.Validate(); err != nil {
			return err.Error()
		}
	}
	if len(d.Rigid.F) == 0 || len(d.Rigid.Tag) != len(d.Rigid.F) {
		return "its faces have no features"
	}
	for _, t := range d.Rigid.Tag {
		if Feature(t) >= NumFeatures {
			return fmt.Sprintf("there is no feature %d", t)
		}
	}
	if !hasTag(d.Rigid, FootSide) {
		return "it has no " + FootSide.String()
	}
	if ps := d.Options.Validate(); len(ps) > 0 {
		return ps[0].Error()
	}
	return ""
}
