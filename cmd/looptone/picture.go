package main

import (
	"cmp"
	"io"
	"os"
)

// writePicture writes a picture to where --svg says: a file, or - for stdout.
func writePicture(to string, picture []byte, stdout io.Writer) error {
	if to == "-" {
		_, err := stdout.Write(picture)
		return err
	}
	file, err := os.Create(to)
	if err != nil {
		return err
	}
	_, err = file.Write(picture)
	return cmp.Or(err, file.Close())
}
