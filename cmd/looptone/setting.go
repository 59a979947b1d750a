package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim/master"
)

// set finds the command that writes the fields, and completes them by what the
// device has for the others.
func (s *sending) set(ctx context.Context) error {
	revision := s.found.UniversalRevision
	def, err := s.book.Setter(s.deviceType(), revision, s.fields)
	if err != nil {
		return usageError{err}
	}
	s.number, s.chosen = def.Command, true
	fmt.Fprintf(s.stderr, "command %d, %s\n", def.Command, def.Name)
	_, err = def.AppendWords(nil, frame.STX, revision, s.fields)
	var missing *payload.MissingError
	if !errors.As(err, &missing) {
		return nil // what else is wrong is told when the data are made
	}
	if err := s.complete(ctx, def, missing); err != nil {
		return usageError{fmt.Errorf("command %d (%s): %w", def.Command, def.Name, err)}
	}
	return nil
}

// complete asks the device for what it has in the fields that are missing. A
// number whose unit is to change is not completed: it would be another one.
func (s *sending) complete(ctx context.Context, def *payload.Definition, missing *payload.MissingError) error {
	if s.changesUnitOf(def, missing.Fields) {
		return fmt.Errorf("give %s too: in another unit what the device has there would be something else", typedNames(missing.Fields))
	}
	teller, ok := s.book.Teller(s.deviceType(), s.found.UniversalRevision, missing.Fields)
	if !ok {
		return missing
	}
	t, err := s.ask(ctx, teller.Command, nil)
	if err != nil {
		return err
	}
	if t.Outcome != master.Answered {
		return missing
	}
	has := teller.Decode(nil, frame.ACK, t.Reply.Payload(), s.found.UniversalRevision).Values
	for _, name := range missing.Fields {
		words := payload.Words(has, name)
		if len(words) == 0 {
			return missing
		}
		s.fields = append(s.fields, words[0])
		fmt.Fprintf(s.stderr, "%s as it is\n", words[0])
	}
	return nil
}

// typedNames are fields as they are typed.
func typedNames(fields []string) string {
	return strings.ReplaceAll(strings.ReplaceAll(strings.Join(fields, ", "), " ", "_"), ",_", ", ")
}

// changesUnitOf reports whether the unit of a missing number is given.
func (s *sending) changesUnitOf(def *payload.Definition, missing []string) bool {
	l, err := def.Layout(frame.STX, s.found.UniversalRevision)
	if err != nil {
		return false
	}
	return slices.ContainsFunc(l.Head, func(f payload.Field) bool {
		return f.UnitField != "" && slices.Contains(missing, f.Name) && !slices.Contains(missing, f.UnitField)
	})
}
