package payload

import (
	"errors"
	"fmt"

	"looptone/frame"
)

// Source gives the contents of a layout: of the field f, in a slot of the
// repeated group from 0, or with slot -1 outside of it. ok is false where there
// is none.
type Source interface {
	Content(f *Field, slot int) (c Content, ok bool)
}

// Append writes the data that l describes. Fields that may be left out are, from
// the first on behind which src has nothing; the group stands as often as src
// has something for a slot. What counts the bytes of another field is filled in
// from those where src has nothing. On an error, a [*FieldError] or a
// [*MissingError], dst comes back as it was.
func (l *Layout) Append(dst []byte, src Source) ([]byte, error) {
	start := len(dst)
	dst, err := l.append(dst, src)
	switch {
	case errors.Is(err, ErrMissing):
		return dst[:start], l.missing(src)
	case err != nil:
		return dst[:start], err
	}
	return dst, nil
}

func (l *Layout) append(dst []byte, src Source) ([]byte, error) {
	n := l.given(src)
	dst, err := l.appendFields(dst, l.Head[:n], -1, src)
	if err != nil || n < len(l.Head) {
		return dst, err
	}
	slots, err := l.givenSlots(src)
	if err != nil {
		return dst, err
	}
	for slot := range slots {
		if dst, err = l.appendFields(dst, l.Group, slot, src); err != nil {
			return dst, err
		}
	}
	return l.appendFields(dst, l.Tail, -1, src)
}

// given is how many fields of Head are to be written.
func (l *Layout) given(src Source) int {
	n := l.Need
	for i := n; i < len(l.Head); i++ {
		if _, ok := src.Content(&l.Head[i], -1); ok {
			n = i + 1
		}
	}
	for n < len(l.Head) && !l.parts(n) {
		n++
	}
	return n
}

// givenSlots is how often the group is to be written.
func (l *Layout) givenSlots(src Source) (int, error) {
	for slot := l.Min; ; slot++ {
		f := firstGiven(l.Group, slot, src)
		switch {
		case f == nil:
			return slot, nil
		case slot == l.Max:
			return 0, &FieldError{f.Name, slot, fmt.Errorf("%w: the last slot is %d", ErrRepeated, l.Max-1)}
		}
	}
}

func firstGiven(fields []Field, slot int, src Source) *Field {
	for i := range fields {
		if _, ok := src.Content(&fields[i], slot); ok {
			return &fields[i]
		}
	}
	return nil
}

func (l *Layout) appendFields(dst []byte, fields []Field, slot int, src Source) ([]byte, error) {
	var shared uint32 // bits of the bytes that are being shared
	for i := range fields {
		f := &fields[i]
		c, err := f.content(fields, slot, src)
		if err != nil {
			return dst, err
		}
		if f.Bits.Width == 0 {
			dst, err = f.append(dst, c, l.mayShorten(f))
		} else {
			var n uint32
			n, err = f.bitsOf(c)
			shared |= n << f.Bits.Low
			if f.Bits.Low == 0 {
				dst, shared = appendWhole(dst, shared, f.Size), 0
			}
		}
		if err != nil {
			return dst, &FieldError{f.Name, slot, err}
		}
	}
	return dst, nil
}

// mayShorten reports whether f is the field of Head that the end of the data
// may cut short.
func (l *Layout) mayShorten(f *Field) bool {
	last := len(l.Head) - 1
	return last >= 0 && f == &l.Head[last] && l.shortens(last)
}

// AppendWords writes data from contents as a person types them, see
// [Layout.Parse], in revision rev or, for 0, the newest. Of several forms it is
// the first that can hold them: a number that is too large for the short form, or
// a field that only the long one has, chooses the long one. The error is that of
// the form that comes nearest.
func (d *Definition) AppendWords(dst []byte, kind frame.Kind, rev uint8, words []string) ([]byte, error) {
	forms, err := d.Forms(kind, rev)
	if err != nil {
		return dst, err
	}
	for i := range forms {
		data, failed := forms[i].appendWords(dst, words)
		if failed == nil {
			return data, nil
		}
		tooShort := errors.Is(err, ErrNoField) || errors.Is(err, ErrTooLarge)
		if i == 0 || tooShort && !errors.Is(failed, ErrNoField) {
			err = failed
		}
	}
	return dst, err
}

func (l *Layout) appendWords(dst []byte, words []string) ([]byte, error) {
	contents, err := l.Parse(words)
	if err == nil {
		err = l.checkQuantities(contents)
	}
	if err != nil {
		return dst, err
	}
	return l.Append(dst, contents)
}
