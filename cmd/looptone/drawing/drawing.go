// Package drawing holds what the live page and the reports draw with: the palette, and
// the scripts of lanes, byte strips, trends and tones. They run in the browser.
package drawing

import (
	"embed"
	"strings"
)

// Files are the shared styles and scripts.
//
//go:embed *.css *.js
var Files embed.FS

// scripts stand in the order in which they are loaded.
var scripts = []string{"look.js", "time.js", "spoken.js", "talk.js", "lanes.js", "strip.js", "check.js", "plot.js", "trend.js", "tones.js"}

// Script is all scripts as one, for a page that carries them inside.
func Script() string { return joined(scripts...) }

// Style is the palette and what strips look like, for a page that carries it inside.
func Style() string { return joined("palette.css", "strip.css") }

func joined(names ...string) string {
	var all strings.Builder
	for _, name := range names {
		text, err := Files.ReadFile(name)
		if err != nil {
			panic(err) // embedded: there, or the program does not compile
		}
		all.Write(text)
	}
	return all.String()
}
