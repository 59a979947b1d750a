package fault

import (
	"slices"
)

// A Kind is a sort of fault.
type Kind struct {
	Name     string // for instance "late reply"
	What     string // one sentence that can be read out to a class
	Strikes  string // "device": one, which is named; "talker": a device or a talker, or whoever talks where none is named; "line": all of it, nothing is named
	Lasts    bool   // it is there all the time, and has neither probability nor count; else it strikes now and then
	Settings []Setting
	Other    string // what Fault.Other is for it, in words; empty where it has none
	OtherKey string // the key for it, for instance behind
	NoOther  string // what it is without Fault.Other, in words; empty where that is needed
	Crosses  string // what of it a host behind a pty or TCP can see, and what not
}

// A Setting is a number of a kind of fault.
type Setting struct {
	Name          string // with its unit, for instance delay_chars
	What          string
	Least, Most   float64
	Usual         float64 // where none is given
	Needed, Whole bool
	NotZero       bool // 0 would be no fault
}

// Kinds are all sorts of faults there are.
func Kinds() []Kind {
	list := make([]Kind, len(kinds))
	for i := range kinds {
		list[i] = kinds[i].Kind
		list[i].Settings = slices.Clone(list[i].Settings)
	}
	return list
}

// find is the kind with a name, nil for none.
func find(name string) *kind {
	i := slices.IndexFunc(kinds, func(k kind) bool { return k.Name == name })
	if i < 0 {
		return nil
	}
	return &kinds[i]
}

// setting is the one with a name, nil for none.
func (k *Kind) setting(name string) *Setting {
	i := slices.IndexFunc(k.Settings, func(s Setting) bool { return s.Name == name })
	if i < 0 {
		return nil
	}
	return &k.Settings[i]
}
