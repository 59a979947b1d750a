package commandfile

import "strings"

// near is the candidate that a misspelt word was probably meant to be, "" if none
// is: one that differs in upper and lower case only, else the one with the fewest
// wrong letters, about one in three at most.
func near(word string, candidates []string) (found string) {
	fewest := max(1, (len([]rune(word))+1)/3) + 1
	for _, c := range candidates {
		if strings.EqualFold(word, c) {
			return c
		}
		if n := mistakes(word, c); n < fewest && n < len([]rune(c)) {
			found, fewest = c, n
		}
	}
	return found
}

// mistakes is the number of letters to insert, to drop or to change that lead
// from one word to another (the distance of Levenshtein). Words that differ much
// in length are not compared.
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
