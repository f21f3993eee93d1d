package offer

import (
	"encoding/binary"
	"image"
)

// orientation is how a camera says that its picture is to be turned, 1 to 8: the tag
// Orientation (0x0112) of Exif (JEITA CP-3451, 4.6.4), which is TIFF 6.0 in the JPEG's
// segment APP1. 1, as it stands, where nothing is said or what is said is damaged.
func orientation(jpg []byte) int {
	for at := 2; at+4 <= len(jpg) && jpg[at] == 0xFF; {
		marker, n := jpg[at+1], int(binary.BigEndian.Uint16(jpg[at+2:]))
		if marker == 0xDA || n < 2 || at+2+n > len(jpg) {
			return 1
		}
		if marker == 0xE1 && n >= 16 && string(jpg[at+4:at+10]) == "Exif\x00\x00" {
			return tiffOrientation(jpg[at+10 : at+2+n])
		}
		at += 2 + n
	}
	return 1
}

func tiffOrientation(b []byte) int {
	var order binary.ByteOrder = binary.LittleEndian
	switch {
	case len(b) < 8:
		return 1
	case string(b[:2]) == "MM":
		order = binary.BigEndian
	case string(b[:2]) != "II":
		return 1
	}
	dir := int64(order.Uint32(b[4:]))
	if dir+2 > int64(len(b)) {
		return 1
	}
	entries := b[dir+2:]
	for range order.Uint16(b[dir:]) {
		if len(entries) < 12 {
			return 1
		}
		if order.Uint16(entries) == 0x0112 {
			if v := int(order.Uint16(entries[8:])); v >= 1 && v <= 8 {
				return v
			}
			return 1
		}
		entries = entries[12:]
	}
	return 1
}

// turned is the picture as it is to be looked at. The numbers name which side of the
// picture the first row and the first column are.
func turned(img *image.RGBA, orientation int) *image.RGBA {
	if orientation <= 1 || orientation > 8 {
		return img
	}
	w, h := img.Rect.Dx(), img.Rect.Dy()
	ow, oh := w, h
	if orientation > 4 {
		ow, oh = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, ow, oh))
	for y := range oh {
		for x := range ow {
			var sx, sy int
			switch orientation {
			case 2: // row at the top, column at the right
				sx, sy = w-1-x, y
			case 3: // bottom, right
				sx, sy = w-1-x, h-1-y
			case 4: // bottom, left
				sx, sy = x, h-1-y
			case 5: // left, top
				sx, sy = y, x
			case 6: // right, top
				sx, sy = y, h-1-x
			case 7: // right, bottom
				sx, sy = w-1-y, h-1-x
			case 8: // left, bottom
				sx, sy = w-1-y, x
			}
			out.SetRGBA(x, y, img.RGBAAt(sx, sy))
		}
	}
	return out
}
