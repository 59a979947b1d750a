package main

import (
	"fmt"
	"os"

	"looptone/frame"
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

// encodeFields is the data of a command from words FIELD=CONTENT; def is nil where
// nothing is known of the command.
func encodeFields(def *payload.Definition, command uint16, kind frame.Kind, revision uint8, words []string) ([]byte, error) {
	layouts := 0
	if def != nil && kind.FromSlave() {
		layouts = len(def.Reply)
	} else if def != nil {
		layouts = len(def.Request)
	}
	switch {
	case layouts == 0 && len(words) == 0:
		return nil, nil
	case layouts == 0:
		return nil, fmt.Errorf("nothing is known of the fields of command %d: give its data with --data", command)
	}
	data, err := def.AppendWords(nil, kind, revision, words)
	if err != nil {
		return nil, fmt.Errorf("command %d (%s): %w", def.Command, def.Name, err)
	}
	return data, nil
}
