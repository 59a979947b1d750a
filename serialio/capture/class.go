package capture

// What a byte of hex text is. Below blank it is a digit and this is its value.
const (
	blank     = 16 // space, tab, carriage return
	separator = 17 // comma, semicolon
	newline   = 18
	comment   = 19
	bar       = 20 // where an ASCII column begins
	other     = 21
)

// class says it of each byte.
var class = classes()

func classes() (c [256]uint8) {
	for i := range c {
		c[i] = other
	}
	for i := range 10 {
		c['0'+i] = uint8(i)
	}
	for i := range 6 {
		c['a'+i], c['A'+i] = uint8(10+i), uint8(10+i)
	}
	c[' '], c['\t'], c['\r'] = blank, blank, blank
	c[','], c[';'] = separator, separator
	c['\n'], c['#'], c['|'], c['>'] = newline, comment, bar, bar
	return c
}

// endsToken reports whether a byte of this class cannot belong to a token.
func endsToken(class uint8) bool { return blank <= class && class < other }

// digits is how many digits b begins with.
func digits(b []byte) (n int) {
	for n < len(b) && class[b[n]] < blank {
		n++
	}
	return n
}
