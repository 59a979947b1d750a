package serialio

import (
	"bufio"
	"fmt"
	"os"
)

// openerEnv names the port that a second process of a test is to open.
const openerEnv = "LOOPTONE_TEST_OPENS"

// openAndHold is that process: it says what became of it, and keeps the port until its
// stdin ends.
func openAndHold(name string) {
	p, err := Open(name, Settings{})
	fmt.Println(err)
	if err != nil {
		return
	}
	defer p.Close()
	bufio.NewReader(os.Stdin).ReadString('\n')
}
