package capture

// rawReader hands on bytes as they come.
type rawReader struct {
	in     *input
	offset int64
}

func (r *rawReader) Next(rec *Record) error {
	if len(r.in.unread()) == 0 && !r.in.more() {
		return r.in.err
	}
	chars := r.in.unread()
	*rec = Record{Streams: 1, Chars: chars, Place: Place{File: r.in.name, Byte: r.offset}}
	r.in.from = r.in.to
	r.offset += int64(len(chars))
	return nil
}
