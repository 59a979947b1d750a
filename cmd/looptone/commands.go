package main

import (
	"os"

	"looptone/frame/payload"
	"looptone/frame/payload/commandfile"
)

// readCommands reads a user's definitions; nil without files.
func readCommands(files []string) (*payload.Book, error) {
	if len(files) == 0 {
		return nil, nil
	}
	book := new(payload.Book)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		if err := commandfile.Load(book, file, text); err != nil {
			return nil, err
		}
	}
	return book, nil
}
