package media

import "encoding/binary"

// A HEIC file is a row of boxes, each of a length, a name and what is in it. The
// box meta lists items: iinf what each one is, iloc where it lies. ISO/IEC
// 14496-12 (boxes) and 23008-12 (the item Exif), both from memory.

// boxed reads boxes and what is in them; behind the end it gives zeros and is
// broken.
type boxed struct {
	data   []byte
	broken bool
}

// take gives the next n bytes, nil where there are not so many.
func (b *boxed) take(n uint64) []byte {
	if n > uint64(len(b.data)) {
		b.data, b.broken = nil, true
		return nil
	}
	out := b.data[:n]
	b.data = b.data[n:]
	return out
}

// number reads a number of n bytes, eight at most.
func (b *boxed) number(n uint64) (out uint64) {
	for _, c := range b.take(n) {
		out = out<<8 | uint64(c)
	}
	return out
}

// box finds the first box of a name among those that follow; what is in it is
// empty where there is none.
func (b boxed) box(name string) boxed {
	for !b.broken && len(b.data) >= 8 {
		size, found := b.number(4), string(b.take(4))
		head := uint64(8)
		if size == 1 {
			size, head = b.number(8), 16
		}
		if size == 0 { // to the end
			size = head + uint64(len(b.data))
		}
		if size < head {
			break
		}
		inside := b.take(size - head)
		if found == name {
			return boxed{data: inside, broken: b.broken}
		}
	}
	return boxed{broken: true}
}

// exifInHEIC finds the item Exif: the length of what stands before the TIFF
// structure, then that, then the structure.
func exifInHEIC(content []byte) []byte {
	meta := boxed{data: content}.box("meta")
	meta.take(4) // version and flags
	id, ok := exifItem(meta.box("iinf"))
	if !ok {
		return nil
	}
	offset, length := itemPlace(meta.box("iloc"), id)
	file := boxed{data: content}
	file.take(offset)
	item := boxed{data: file.take(length), broken: file.broken}
	item.take(item.number(4))
	return item.data
}

// exifItem finds the number of the item of type Exif in the box iinf.
func exifItem(list boxed) (id uint64, ok bool) {
	version := list.number(1)
	list.take(3)
	width := uint64(2) // of the count
	if version > 0 {
		width = 4
	}
	list.take(width)
	for !list.broken && len(list.data) >= 8 {
		size := binary.BigEndian.Uint32(list.data)
		if size < 8 {
			break
		}
		entry := boxed{data: list.take(uint64(size))}.box("infe")
		of := entry.number(1)
		entry.take(3)
		switch of {
		case 2:
			id = entry.number(2)
		case 3:
			id = entry.number(4)
		default:
			continue // earlier ones have no type
		}
		entry.take(2) // protection
		if string(entry.take(4)) == "Exif" {
			return id, true
		}
	}
	return 0, false
}

// itemPlace finds where the first stretch of an item lies, in the box iloc.
func itemPlace(list boxed, id uint64) (offset, length uint64) {
	version := list.number(1)
	list.take(3)
	widths := list.number(2) // of offset, length, base and index, four bits each
	offsetWidth, lengthWidth, baseWidth := widths>>12&15, widths>>8&15, widths>>4&15
	indexWidth, idWidth := uint64(0), uint64(2)
	if version > 0 {
		indexWidth = widths & 15
	}
	if version > 1 {
		idWidth = 4
	}
	if offsetWidth == 0 || lengthWidth == 0 { // so that each stretch takes some bytes
		return 0, 0
	}
	for items := list.number(idWidth); items > 0 && !list.broken; items-- {
		found, method := list.number(idWidth), uint64(0)
		if version > 0 {
			method = list.number(2) & 15
		}
		list.take(2) // where the data is: in this file
		base := list.number(baseWidth)
		for extents := list.number(2); extents > 0 && !list.broken; extents-- {
			list.take(indexWidth)
			offset, length = base+list.number(offsetWidth), list.number(lengthWidth)
			if found == id && method == 0 && !list.broken {
				return offset, length
			}
		}
	}
	return 0, 0
}
