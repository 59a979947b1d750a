package view

import "strconv"

// A counter writes whole numbers of which each is mostly a little larger than the
// one before, so that all but the last three digits are known already. The zero
// counter is ready.
type counter struct {
	base int64  // multiple of 1000
	text []byte // of base, without its three zeros
}

func (c *counter) append(dst []byte, n int64) []byte {
	if n < 1000 {
		return strconv.AppendInt(dst, n, 10)
	}
	if rest := n - c.base; rest < 0 || rest >= 1000 || c.base == 0 {
		c.base = n - n%1000
		c.text = strconv.AppendInt(c.text[:0], n/1000, 10)
	}
	rest := uint32(n - c.base)
	dst = append(dst, c.text...)
	return append(dst, '0'+byte(rest/100), '0'+byte(rest/10%10), '0'+byte(rest%10))
}
