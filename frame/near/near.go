// Package near finds what a misspelt word was meant to be.
package near

import "strings"

// Name is the one of names that a misspelt word was probably meant to be, "" if
// none is: one that differs in upper and lower case only, else the one with the
// fewest wrong letters, about one in three at most. Of several with as many, it is
// the first.
func Name(word string, names []string) (found string) {
	fewest := max(1, (len([]rune(word))+1)/3) + 1
	for _, name := range names {
		if strings.EqualFold(word, name) {
			return name
		}
		if n := mistakes(word, name); n < fewest && n < len([]rune(name)) {
			found, fewest = name, n
		}
	}
	return found
}

// mistakes is the number of letters to insert, to drop or to change that lead
// from one word to another (the distance of Levenshtein). A word that is much
// longer than the other is not compared.
func mistakes(from, to string) int {
	a, b := []rune(from), []rune(to)
	if len(a) > 2*len(b)+2 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j := range b {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
