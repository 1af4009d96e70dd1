package photo

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
)

func crcOf(chunk []byte) uint32 { return crc32.ChecksumIEEE(chunk) }

// WithEXIF puts the segment a camera writes after the start of a JPEG file:
// maker, orientation, time, and a place by GPS (TIFF 6.0 fields, little-endian;
// CIPA DC-008 tags, from memory).
func WithEXIF(file []byte, orientation int, when string) []byte {
	const short, ascii, rational, long = 3, 2, 5, 4
	var data []byte // what does not fit into its field
	le := binary.LittleEndian
	field := func(tag, kind uint16, count uint32, value []byte, dataAt int) []byte {
		out := le.AppendUint32(le.AppendUint16(le.AppendUint16(nil, tag), kind), count)
		if len(value) > 4 {
			out = le.AppendUint32(out, uint32(dataAt+len(data)))
			data = append(data, value...)
			return out
		}
		return append(out, append(value, make([]byte, 4-len(value))...)...)
	}
	directory := func(fields ...[]byte) []byte {
		out := le.AppendUint16(nil, uint16(len(fields)))
		for _, f := range fields {
			out = append(out, f...)
		}
		return le.AppendUint32(out, 0)
	}
	const at0, size0 = 8, 2 + 4*12 + 4
	const at1, size1 = at0 + size0, 2 + 12 + 4
	const at2, size2 = at1 + size1, 2 + 2*12 + 4
	const dataAt = at2 + size2
	maker, time := []byte("Invented Camera\x00"), append([]byte(when), 0)
	north := bytes.Join([][]byte{le.AppendUint32(le.AppendUint32(nil, 51), 1), le.AppendUint32(le.AppendUint32(nil, 30), 1), le.AppendUint32(le.AppendUint32(nil, 0), 1)}, nil)
	ifd0 := directory(field(0x010F, ascii, uint32(len(maker)), maker, dataAt), field(0x0112, short, 1, le.AppendUint16(nil, uint16(orientation)), dataAt),
		field(0x8769, long, 1, le.AppendUint32(nil, at1), dataAt), field(0x8825, long, 1, le.AppendUint32(nil, at2), dataAt))
	exif := directory(field(0x9003, ascii, uint32(len(time)), time, dataAt))
	gps := directory(field(0x0001, ascii, 2, []byte("N\x00"), dataAt), field(0x0002, rational, 3, north, dataAt))
	tiff := bytes.Join([][]byte{[]byte("II*\x00"), le.AppendUint32(nil, at0), ifd0, exif, gps, data}, nil)
	segment := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte{}, file[:2]...)
	out = binary.BigEndian.AppendUint16(append(out, 0xFF, 0xE1), uint16(len(segment)+2))
	return append(append(out, segment...), file[2:]...)
}
