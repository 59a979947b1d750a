package stimulus

import (
	"encoding/hex"
	"fmt"
)

// Bytes are characters, in text as hex.
type Bytes []byte

// MarshalText writes two digits a byte.
func (b Bytes) MarshalText() ([]byte, error) { return hex.AppendEncode(nil, b), nil }

// UnmarshalText reads what MarshalText writes.
func (b *Bytes) UnmarshalText(text []byte) error {
	raw, err := hex.DecodeString(string(text))
	if err != nil {
		return fmt.Errorf("bytes %.40q: want hex, two digits a byte", text)
	}
	*b = raw
	return nil
}
