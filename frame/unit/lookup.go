package unit

import (
	"strings"
	"sync"
)

// Lookup finds the code of a symbol. ASCII spellings are accepted: m3/h, degC,
// uS/cm, N.m; blanks and underscores do not count, upper and lower case do. The
// codes whose meaning depends on a class have no symbol here.
func Lookup(symbol string) (Code, bool) {
	c, ok := bySpelling()[spelling(symbol)]
	return c, ok
}

var bySpelling = sync.OnceValue(func() map[string]Code {
	codes := make(map[string]Code)
	for _, c := range Codes() {
		codes[spelling(c.String())] = c
	}
	return codes
})

var ascii = strings.NewReplacer("²", "2", "³", "3", "°", "deg", "µ", "u", "μ", "u", "Ω", "ohm",
	"·", "", ".", "", "*", "", " ", "", "_", "")

// spelling is the form in which symbols are compared.
func spelling(symbol string) string { return ascii.Replace(symbol) }
