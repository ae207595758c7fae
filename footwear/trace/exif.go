package trace

import (
	"bytes"
	"encoding/binary"
	"math"
)

// exifTags are the two entries of a picture's EXIF data that matter here.
type exifTags struct {
	orientation int     // 1 to 8; 1 is upright
	focal35     float64 // focal length on film of 36 × 24 mm that sees as much, mm; 0: not said
}

// fullFrameDiagonalMM is the diagonal of that film.
const fullFrameDiagonalMM = 43.27

// Bounds of what is looked at: a sound picture has far less.
const (
	maxSegments = 256
	maxEntries  = 512
)

// exifOf finds the EXIF block of a PNG or JPEG file: from the byte order mark on, nil when there is none.
func exifOf(data []byte, kind string) []byte {
	if kind == "png" {
		return pngEXIF(data)
	}
	return jpegEXIF(data)
}

// jpegEXIF walks the marker segments in front of the picture to the APP1 segment that holds EXIF.
func jpegEXIF(data []byte) []byte {
	head := []byte("Exif\x00\x00")
	at := 2
	for range maxSegments {
		if at+4 > len(data) || data[at] != 0xFF {
			return nil
		}
		marker := data[at+1]
		if marker == 0xFF { // fill byte
			at++
			continue
		}
		if marker == 0xDA || marker == 0xD9 { // the picture begins, or the file ends
			return nil
		}
		n := int(binary.BigEndian.Uint16(data[at+2:]))
		if n < 2 || at+2+n > len(data) {
			return nil
		}
		body := data[at+4 : at+2+n]
		if marker == 0xE1 && bytes.HasPrefix(body, head) {
			return body[len(head):]
		}
		at += 2 + n
	}
	return nil
}

// pngEXIF walks the chunks of a PNG file to eXIf.
func pngEXIF(data []byte) []byte {
	at := 8
	for range maxSegments {
		if at+8 > len(data) {
			return nil
		}
		n := int64(binary.BigEndian.Uint32(data[at:]))
		name := string(data[at+4 : at+8])
		if n > int64(len(data)-at-8) || name == "IEND" {
			return nil
		}
		if name == "eXIf" {
			return data[at+8 : at+8+int(n)]
		}
		at += 12 + int(n)
	}
	return nil
}

// parseEXIF reads the tags; false when the block is damaged, with what could be read until then. It follows one
// pointer, to the EXIF directory, and so always ends.
func parseEXIF(b []byte) (exifTags, bool) {
	tags := exifTags{orientation: 1}
	if len(b) < 8 {
		return tags, false
	}
	var order binary.ByteOrder
	switch string(b[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return tags, false
	}
	sub := uint32(0)
	ok := directory(b, order, order.Uint32(b[4:]), func(tag, kind uint16, value []byte) bool {
		switch tag {
		case 0x0112: // orientation
			v, ok := whole(order, kind, value)
			if !ok || v < 1 || v > 8 {
				return false
			}
			tags.orientation = int(v)
		case 0x8769: // where the EXIF directory stands
			v, ok := whole(order, kind, value)
			sub = v
			return ok
		}
		return true
	})
	if !ok || sub == 0 {
		return tags, ok
	}
	ok = directory(b, order, sub, func(tag, kind uint16, value []byte) bool {
		if tag != 0xA405 { // focal length on 35 mm film
			return true
		}
		v, ok := whole(order, kind, value)
		if ok && v >= 8 && v <= 2000 {
			tags.focal35 = float64(v)
		}
		return ok
	})
	return tags, ok
}

// directory calls each for the entries of a directory; false when it lies outside of the block or each says so.
func directory(b []byte, order binary.ByteOrder, at uint32, each func(tag, kind uint16, value []byte) bool) bool {
	if at > math.MaxInt32 || int(at)+2 > len(b) {
		return false
	}
	n := int(order.Uint16(b[at:]))
	entries := b[at+2:]
	if n > maxEntries || n*12 > len(entries) {
		return false
	}
	for i := range n {
		e := entries[12*i : 12*i+12]
		if !each(order.Uint16(e), order.Uint16(e[2:]), e[4:]) {
			return false
		}
	}
	return true
}

// whole reads one short or long from an entry's count and value.
func whole(order binary.ByteOrder, kind uint16, e []byte) (uint32, bool) {
	if order.Uint32(e) != 1 {
		return 0, false
	}
	switch kind {
	case 3:
		return uint32(order.Uint16(e[4:])), true
	case 4:
		return order.Uint32(e[4:]), true
	}
	return 0, false
}
