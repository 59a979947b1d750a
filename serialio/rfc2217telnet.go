package serialio

// Telnet: everything is a character but IAC and what it begins; an IAC that is meant
// as a character is sent twice.
//
// Source: RFC 854 (commands), RFC 855 (options), RFC 856 (binary transmission), RFC 858
// (suppress go ahead).
const (
	telnetSE   = 240 // ends a sub-negotiation
	telnetSB   = 250 // begins one
	telnetWILL = 251
	telnetWONT = 252
	telnetDO   = 253
	telnetDONT = 254
	telnetIAC  = 255

	optionBinary  = 0
	optionGoAhead = 3
)

// longestSub is more than a sub-negotiation with a meaning here has. Of a longer one
// nothing is kept.
const longestSub = 300

// telnet is the client's end of a connection: bytes go in; characters, what the server
// says of its port, and answers that are due come out. It does no I/O.
type telnet struct {
	place telnetPlace
	verb  byte   // WILL, WONT, DO or DONT, whose option comes next
	sub   []byte // a sub-negotiation so far

	us, them [256]agreement // on options
	answer   []byte         // what is due to the server
}

// telnetPlace is what the next byte is.
type telnetPlace uint8

const (
	inChars   telnetPlace = iota
	inCommand             // behind an IAC
	inVerb                // an option
	inSub
	inSubCommand // behind an IAC in a sub-negotiation
)

// An agreement on an option at one end.
type agreement uint8

const (
	notAsked agreement = iota
	asked              // and not answered yet
	agreed
	refused
)

// ask offers the options that both ends need, or that make a server easier.
func (t *telnet) ask() {
	for _, option := range [...]byte{optionComPort, optionBinary, optionGoAhead} {
		t.us[option] = asked
		t.say(telnetWILL, option)
	}
	for _, option := range [...]byte{optionBinary, optionGoAhead} {
		t.them[option] = asked
		t.say(telnetDO, option)
	}
}

func (t *telnet) say(verb, option byte) { t.answer = append(t.answer, telnetIAC, verb, option) }

// take is what is due to the server, which from then on has it.
func (t *telnet) take() []byte {
	due := t.answer
	t.answer = nil
	return due
}

// feed takes b apart, which may end anywhere: characters are appended to chars, and
// told is called with what the server says of its port.
func (t *telnet) feed(chars, b []byte, told func(command byte, value []byte)) []byte {
	for _, c := range b {
		switch t.place {
		case inChars:
			if c == telnetIAC {
				t.place = inCommand
			} else {
				chars = append(chars, c)
			}
		case inCommand:
			if c == telnetIAC {
				chars = append(chars, c)
			}
			t.command(c)
		case inVerb:
			t.place = inChars
			t.negotiate(t.verb, c)
		case inSub:
			if c == telnetIAC {
				t.place = inSubCommand
			} else {
				t.addSub(c)
			}
		case inSubCommand:
			t.endSub(c, told)
		}
	}
	return chars
}

// command is the byte behind an IAC. Those without a meaning for a port are passed over.
func (t *telnet) command(c byte) {
	switch c {
	case telnetWILL, telnetWONT, telnetDO, telnetDONT:
		t.verb, t.place = c, inVerb
	case telnetSB:
		t.sub, t.place = t.sub[:0], inSub
	default:
		t.place = inChars
	}
}

func (t *telnet) addSub(c byte) {
	if len(t.sub) <= longestSub {
		t.sub = append(t.sub, c)
	}
}

// endSub is the byte behind an IAC in a sub-negotiation. Anything but an end or a
// character is a command that has cut it off.
func (t *telnet) endSub(c byte, told func(command byte, value []byte)) {
	switch c {
	case telnetIAC:
		t.place = inSub
		t.addSub(c)
	case telnetSE:
		t.place = inChars
		if n := len(t.sub); n >= 2 && n <= longestSub && t.sub[0] == optionComPort {
			told(t.sub[1], t.sub[2:])
		}
	default:
		t.command(c)
	}
}

// negotiate hears what the server wants of an option, and answers only what changes
// something, so that two ends cannot go on for ever.
func (t *telnet) negotiate(verb, option byte) {
	switch verb {
	case telnetDO:
		agree(t, &t.us[option], option, telnetWILL, telnetWONT)
	case telnetDONT:
		disagree(t, &t.us[option], option, telnetWONT)
	case telnetWILL:
		agree(t, &t.them[option], option, telnetDO, telnetDONT)
	case telnetWONT:
		disagree(t, &t.them[option], option, telnetDONT)
	}
}

func agree(t *telnet, a *agreement, option, yes, no byte) {
	wanted := option == optionComPort || option == optionBinary || option == optionGoAhead
	switch {
	case *a == agreed:
	case *a == asked:
		*a = agreed
	case wanted:
		*a = agreed
		t.say(yes, option)
	case *a != refused:
		*a = refused
		t.say(no, option)
	}
}

func disagree(t *telnet, a *agreement, option, no byte) {
	if *a == agreed {
		t.say(no, option)
	}
	*a = refused
}

// appendEscaped appends characters as telnet carries them.
func appendEscaped(dst, chars []byte) []byte {
	for _, c := range chars {
		if c == telnetIAC {
			dst = append(dst, c)
		}
		dst = append(dst, c)
	}
	return dst
}

// appendComPort appends a command for the server's port.
func appendComPort(dst []byte, command byte, value ...byte) []byte {
	dst = append(dst, telnetIAC, telnetSB, optionComPort, command)
	dst = appendEscaped(dst, value)
	return append(dst, telnetIAC, telnetSE)
}
