package commandfile

import (
	"errors"
	"fmt"
	"strings"

	"looptone/frame/near"
	"looptone/frame/payload"
	"looptone/frame/userfile"
)

// oldestRevision is the oldest universal revision that a definition is for.
const oldestRevision = 5

func (r *reader) layout(t *userfile.Table) payload.Layout {
	l := payload.Layout{For: revisions(t)}
	seen := map[string]*userfile.Table{}
	l.Head = r.fields(t, "fields", seen)
	l.Group = r.fields(t, "group", seen)
	l.Tail = r.fields(t, "tail", seen)
	all := int64(len(l.Head))
	l.Need = int(t.Whole("need", 0, all, all))
	if l.Need < len(l.Head) && len(l.Group)+len(l.Tail) > 0 {
		t.Refuse("need", errors.New("need lets fields be left out before a group or a tail, want no need, or nothing behind fields"))
	}
	repetition(t, &l)
	for _, part := range [...]struct {
		key    string
		fields []payload.Field
	}{{"fields", l.Head}, {"group", l.Group}, {"tail", l.Tail}} {
		references(t, part.key, part.fields, l.Head)
	}
	return l
}

// revisions reads "5", "5-6" or "6-".
func revisions(t *userfile.Table) payload.Revisions {
	s, ok := t.Text("revisions")
	if !ok {
		return payload.Revisions{From: oldestRevision}
	}
	from, to, isRange := strings.Cut(s, "-")
	r := payload.Revisions{From: revision(from), To: revision(to)}
	if !isRange {
		r.To = r.From
	}
	if r.From == 0 || r.To < r.From && !(isRange && to == "") {
		t.Refuse("revisions", fmt.Errorf("there are no revisions %q, want one from %d to %d, a range like \"5-6\", or \"6-\" for 6 and newer",
			s, oldestRevision, payload.NewestRevision))
	}
	return r
}

// revision is one of a single digit; 0 for anything else.
func revision(s string) uint8 {
	if len(s) != 1 || s[0] < '0'+oldestRevision || s[0] > '0'+payload.NewestRevision {
		return 0
	}
	return s[0] - '0'
}

// repetition reads how often the group stands.
func repetition(t *userfile.Table, l *payload.Layout) {
	isMax := t.Has("max")
	isMin := t.Has("min")
	isGroup := t.Has("group")
	most := t.Whole("max", 1, 255, 255)
	least := t.Whole("min", 0, most, 1)
	switch {
	case !isGroup && (isMax || isMin):
		key := "min"
		if isMax {
			key = "max"
		}
		t.Refuse(key, fmt.Errorf("%s limits a group, and there is none: want a group or no %s", key, key))
	case isGroup && len(l.Group) == 0:
		t.Refuse("group", errors.New("the group has no fields, want at least one or no group"))
	case isGroup && !isMax:
		t.Refuse("group", errors.New("the group has no limit, want for instance max = 4"))
	case isGroup:
		l.Min, l.Max = int(least), int(most)
	}
}

// references refuses fields that name another which is not there, neither in
// their own list nor in the head; a size stands before the field in its own list.
func references(t *userfile.Table, key string, fields, head []payload.Field) {
	for i := range fields {
		f := &fields[i]
		at := userfile.Element(key, i)
		beside := "want one that stands beside it or in fields"
		reference(t, userfile.Below(at, "unit_field"), f.UnitField, beside, fields, head)
		reference(t, userfile.Below(at, "class_field"), f.Class, beside, fields, head)
		before := "want one that stands before it in the same list"
		reference(t, userfile.Below(at, "size_field"), f.SizeField, before, fields[:i])
	}
}

// reference refuses a name that no field of the lists has; hint says which are
// meant.
func reference(t *userfile.Table, key, name, hint string, lists ...[]payload.Field) {
	var names []string
	for _, list := range lists {
		for i := range list {
			if list[i].Name == name {
				return
			}
			names = append(names, list[i].Name)
		}
	}
	if name == "" {
		return
	}
	if instead := near.Name(name, names); instead != "" {
		hint = fmt.Sprintf("did you mean %q?", instead)
	}
	t.Refuse(key, fmt.Errorf("there is no field %q: %s", name, hint))
}

// keyOf is the path of a field below its layout.
func keyOf(l *payload.Layout, f *payload.Field) string {
	for _, part := range [...]struct {
		key    string
		fields []payload.Field
	}{{"fields", l.Head}, {"group", l.Group}, {"tail", l.Tail}} {
		for i := range part.fields {
			if &part.fields[i] == f {
				return userfile.Element(part.key, i)
			}
		}
	}
	return ""
}
