package commandfile

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"

	"looptone/frame/payload"
)

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
	doc      *document
	tables   map[string]*payload.Table // of the file, by name
	commands []Command
}

func parse(file string, text []byte) (*reader, error) {
	doc, err := newDocument(file, text)
	if err != nil {
		return nil, err
	}
	r := &reader{doc: doc, tables: map[string]*payload.Table{}}
	top := &table{doc: doc, name: "the top level of the file", values: doc.values}
	if len(doc.values) == 0 {
		return nil, doc.refuse(0, errors.New("the file is empty, want a [[command]] for each command"))
	}
	top.ask("table")
	top.ask("command")
	if err := top.end(); err != nil {
		return nil, err
	}
	top.each("table", r.codeTable)
	top.each("command", r.command)
	if len(r.commands) == 0 && top.sound() {
		top.missing = doc.refuse(0, errors.New("the file defines no command, want at least one [[command]]"))
	}
	if err := top.end(); err != nil {
		return nil, err
	}
	return r, nil
}

// refuseCommand refuses the number of command i, as a book did.
func (r *reader) refuseCommand(i int, err error) error {
	path := element("command", i)
	c := r.commands[i]
	for j, before := range r.commands[:i] {
		if errors.Is(err, payload.ErrTwice) && before.Definition.Command == c.Definition.Command &&
			before.DeviceType.Same(c.DeviceType) {
			err = fmt.Errorf("command %d of %v is defined twice, first in line %d: want one definition",
				c.Definition.Command, c.DeviceType, r.doc.line(below(element("command", j), "number")))
			break
		}
	}
	return r.doc.refuse(r.doc.places[below(path, "number")].value.from, err)
}

func (r *reader) command(t *table) {
	t.need("number", "146")
	t.need("name", `"write set point"`)
	d := &payload.Definition{
		Command: uint16(t.whole("number", 0, 1<<16-1, 0)),
		Name:    t.words("name"),
		Write:   t.truth("write", true),
	}
	of := t.deviceType()
	t.each("request", func(t *table) { d.Request = append(d.Request, r.layout(t)) })
	t.each("reply", func(t *table) { d.Reply = append(d.Reply, r.layout(t)) })
	repeats := t.truth("reply_repeats_request", false)
	switch {
	case repeats && len(d.Reply) > 0:
		t.refuse("reply_repeats_request", errors.New("the command has layouts of a reply as well, want these or reply_repeats_request = true"))
	case repeats && len(d.Request) == 0:
		t.refuse("reply_repeats_request", errors.New("there is no request to repeat, want at least one [[command.request]]"))
	case repeats:
		d.Reply = d.Request
	}
	t.sub("codes", func(t *table) { d.Codes = t.responseCodes() })
	if t.sound() {
		t.check(d, repeats)
	}
	r.commands = append(r.commands, Command{of, d})
}

// check refuses what a definition cannot be, at the field or the layout that it is
// about.
func (t *table) check(d *payload.Definition, repeats bool) {
	err := d.Check()
	if err == nil {
		return
	}
	var e *payload.DefinitionError
	if !errors.As(err, &e) || e.Layout < 0 {
		t.refuse("", err)
		return
	}
	key, layouts := "request", d.Request
	if e.Reply && !repeats {
		key, layouts = "reply", d.Reply
	}
	key = element(key, e.Layout)
	if e.Field == nil {
		what := "request"
		if e.Reply {
			what = "reply"
		}
		t.refuse(key, fmt.Errorf("the %s of %v %w", what, e.For, e.Err))
		return
	}
	t.refuse(below(key, keyOf(&layouts[e.Layout], e.Field)), fmt.Errorf("field %q: %w", e.Field.Name, e.Err))
}

// deviceType reads for which devices the definition is.
func (t *table) deviceType() payload.DeviceType {
	_, isMaker := t.values["manufacturer"]
	_, isType := t.values["device_type"]
	_, isExpanded := t.values["expanded_device_type"]
	maker, ok := t.values["manufacturer"].(int64)
	if ok && (maker < 0 || maker > 255) {
		t.refuseValue("manufacturer", "a whole number from 0 to 255: devices of revision 7 are named by their expanded_device_type")
	}
	maker = t.whole("manufacturer", 0, 255, 0)
	deviceType := t.whole("device_type", 0, 255, 0)
	expanded := t.whole("expanded_device_type", 0, 1<<16-1, 0)
	switch {
	case isExpanded && (isMaker || isType):
		t.refuse("expanded_device_type", errors.New("expanded_device_type stands for manufacturer and device_type, want it or these"))
	case isExpanded:
		return payload.DeviceType(expanded)
	case isMaker && !isType:
		t.needBeside("manufacturer", "device_type")
	case isType && !isMaker:
		t.needBeside("device_type", "manufacturer")
	case isMaker:
		return payload.DeviceType(maker<<8 | deviceType)
	}
	return payload.AnyDevice
}

// responseCodes reads what response codes mean.
func (t *table) responseCodes() map[uint8]string {
	codes := map[uint8]string{}
	keys := slices.SortedFunc(maps.Keys(t.values), func(a, b string) int {
		return cmp.Compare(t.place(a).key.from, t.place(b).key.from)
	})
	for _, key := range keys {
		text := t.words(key)
		n, err := strconv.ParseUint(key, 10, 7)
		if err != nil || strconv.FormatUint(n, 10) != key {
			t.refuse(key, fmt.Errorf("response code %q, want a number from 0 to 127", key))
		}
		codes[uint8(n)] = text
	}
	return codes
}
