package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
)

var errQuestionOnStdin = errors.New("the capture comes on stdin, where the question would be answered: say --yes, or give a file")

// confirm asks on stderr whether something is to be sent, unless yes says so, and
// wants a yes from stdin.
func confirm(yes bool, question string, stdin io.Reader, stderr io.Writer) error {
	if yes {
		return nil
	}
	fmt.Fprintf(stderr, "%s (yes/no) ", question)
	answer, _ := bufio.NewReader(stdin).ReadString('\n')
	if strings.TrimSpace(strings.ToLower(answer)) != "yes" {
		return errors.New("not sent")
	}
	return nil
}
