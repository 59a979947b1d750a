package commandfile

import (
	"errors"
	"fmt"
	"strconv"

	"looptone/frame/payload"
	"looptone/frame/userfile"
)

// An Error refuses a file of definitions; the place is that in the file.
type Error = userfile.Error

// A Command is a definition and the devices that it is for.
type Command struct {
	DeviceType payload.DeviceType
	Definition *payload.Definition
}

// Parse reads a file of definitions, which are valid, each for itself, and in the
// order of the file. An error is an [*Error]; file is what it calls the text.
func Parse(file string, text []byte) ([]Command, error) {
	r, err := parse(file, text)
	if err != nil {
		return nil, err
	}
	return r.commands, nil
}

// Load reads a file of definitions and adds them to a book, which refuses those
// of universal commands and those that it has already. An error is an [*Error];
// the book then holds the definitions before the place of the error.
func Load(b *payload.Book, file string, text []byte) error {
	r, err := parse(file, text)
	if err != nil {
		return err
	}
	for i, c := range r.commands {
		if err := b.Add(c.DeviceType, c.Definition); err != nil {
			return r.refuseCommand(i, err)
		}
	}
	return nil
}

// A reader is what has been read of a file.
type reader struct {
	top      *userfile.Table
	tables   map[string]*payload.Table // of the file, by name
	commands []Command
}

func parse(file string, text []byte) (*reader, error) {
	top, err := userfile.Parse(file, text, "table", "command")
	if err != nil {
		return nil, err
	}
	r := &reader{top: top, tables: map[string]*payload.Table{}}
	top.Each("table", r.codeTable)
	top.Each("command", r.command)
	switch {
	case len(top.Keys()) == 0:
		top.Refuse("", errors.New("the file is empty, want a [[command]] for each command"))
	case len(r.commands) == 0:
		top.Refuse("", errors.New("the file defines no command, want at least one [[command]]"))
	}
	if err := top.End(); err != nil {
		return nil, err
	}
	return r, nil
}

// refuseCommand refuses the number of command i, as a book did.
func (r *reader) refuseCommand(i int, err error) error {
	c := r.commands[i]
	for j, before := range r.commands[:i] {
		if errors.Is(err, payload.ErrTwice) && before.Definition.Command == c.Definition.Command &&
			before.DeviceType.Same(c.DeviceType) {
			err = fmt.Errorf("command %d of %v is defined twice, first in line %d: want one definition",
				c.Definition.Command, c.DeviceType, r.top.Line(numberOf(j)))
			break
		}
	}
	r.top.Refuse(numberOf(i), err)
	return r.top.End()
}

// numberOf is the path of the number of command i.
func numberOf(i int) string { return userfile.Below(userfile.Element("command", i), "number") }

func (r *reader) command(t *userfile.Table) {
	t.Need("number", "146")
	t.Need("name", `"write set point"`)
	d := &payload.Definition{
		Command: uint16(t.Whole("number", 0, 1<<16-1, 0)),
		Name:    words(t, "name"),
		Write:   t.Truth("write", true),
	}
	of := deviceType(t)
	t.Each("request", func(t *userfile.Table) { d.Request = append(d.Request, r.layout(t)) })
	t.Each("reply", func(t *userfile.Table) { d.Reply = append(d.Reply, r.layout(t)) })
	repeats := t.Truth("reply_repeats_request", false)
	switch {
	case repeats && len(d.Reply) > 0:
		t.Refuse("reply_repeats_request", errors.New("the command has layouts of a reply as well, want these or reply_repeats_request = true"))
	case repeats && len(d.Request) == 0:
		t.Refuse("reply_repeats_request", errors.New("there is no request to repeat, want at least one [[command.request]]"))
	case repeats:
		d.Reply = d.Request
	}
	t.Sub("codes", func(t *userfile.Table) { d.Codes = responseCodes(t) })
	if t.Sound() {
		check(t, d, repeats)
	}
	r.commands = append(r.commands, Command{of, d})
}

// check refuses what a definition cannot be, at the field or the layout that it is
// about.
func check(t *userfile.Table, d *payload.Definition, repeats bool) {
	err := d.Check()
	if err == nil {
		return
	}
	var e *payload.DefinitionError
	if !errors.As(err, &e) || e.Layout < 0 {
		t.Refuse("", err)
		return
	}
	key, layouts := "request", d.Request
	if e.Reply && !repeats {
		key, layouts = "reply", d.Reply
	}
	key = userfile.Element(key, e.Layout)
	if e.Field == nil {
		what := "request"
		if e.Reply {
			what = "reply"
		}
		t.Refuse(key, fmt.Errorf("the %s of %v %w", what, e.For, e.Err))
		return
	}
	t.Refuse(userfile.Below(key, keyOf(&layouts[e.Layout], e.Field)), fmt.Errorf("field %q: %w", e.Field.Name, e.Err))
}

// deviceType reads for which devices the definition is.
func deviceType(t *userfile.Table) payload.DeviceType {
	isMaker := t.Has("manufacturer")
	isType := t.Has("device_type")
	isExpanded := t.Has("expanded_device_type")
	maker, ok := t.Value("manufacturer").(int64)
	if ok && (maker < 0 || maker > 255) {
		t.RefuseValue("manufacturer", "a whole number from 0 to 255: devices of revision 7 are named by their expanded_device_type")
	}
	maker = t.Whole("manufacturer", 0, 255, 0)
	deviceType := t.Whole("device_type", 0, 255, 0)
	expanded := t.Whole("expanded_device_type", 0, 1<<16-1, 0)
	switch {
	case isExpanded && (isMaker || isType):
		t.Refuse("expanded_device_type", errors.New("expanded_device_type stands for manufacturer and device_type, want it or these"))
	case isExpanded:
		return payload.DeviceType(expanded)
	case isMaker && !isType:
		t.NeedBeside("manufacturer", "device_type")
	case isType && !isMaker:
		t.NeedBeside("device_type", "manufacturer")
	case isMaker:
		return payload.DeviceType(maker<<8 | deviceType)
	}
	return payload.AnyDevice
}

// responseCodes reads what response codes mean.
func responseCodes(t *userfile.Table) map[uint8]string {
	codes := map[uint8]string{}
	for _, key := range t.Keys() {
		text := words(t, key)
		n, err := strconv.ParseUint(key, 10, 7)
		if err != nil || strconv.FormatUint(n, 10) != key {
			t.Refuse(key, fmt.Errorf("response code %q, want a number from 0 to 127", key))
		}
		codes[uint8(n)] = text
	}
	return codes
}
