package view

// TextWidth is what a text takes up at most, as a multiple of its size.
func TextWidth(text string) float64 { return float64(textWidth(text, 1)) }
