package fault

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"looptone/sim"
	"looptone/sim/setting"
)

// Check refuses the first thing that is wrong with f on a line with devices of
// the given tags. An error is a [*setting.Error] that names the key as a line file
// has it: kind, device, talker, probability, count, from, until, [Kind.OtherKey],
// or a setting.
func (f *Fault) Check(tags []string) error {
	k := find(f.Kind)
	if k == nil {
		return setting.Refuse("kind", strconv.Quote(f.Kind), "%s", oneOf(names(kinds)))
	}
	return setting.First(f.checkWhom(k, tags), f.checkWhen(k), f.checkOther(k, tags), f.checkSettings(k))
}

func names(of []kind) []string {
	list := make([]string, len(of))
	for i := range of {
		list[i] = of[i].Name
	}
	return list
}

func oneOf(names []string) string {
	if len(names) == 1 {
		return strconv.Quote(names[0])
	}
	quoted := make([]string, len(names))
	for i, n := range names {
		quoted[i] = strconv.Quote(n)
	}
	last := len(quoted) - 1
	return "one of " + strings.Join(quoted[:last], ", ") + " and " + quoted[last]
}

// checkWhom refuses whom f cannot strike.
func (f *Fault) checkWhom(k *kind, tags []string) error {
	switch {
	case k.Strikes == "line" && f.Device != "":
		return setting.Refuse("device", strconv.Quote(f.Device), "none: %q strikes the whole line", k.Name)
	case k.Strikes == "line" && f.Talker != "":
		return setting.Refuse("talker", strconv.Quote(f.Talker), "none: %q strikes the whole line", k.Name)
	case k.Strikes == "device" && f.Talker != "":
		return setting.Refuse("talker", strconv.Quote(f.Talker), "none: %q strikes a device, which device names", k.Name)
	case k.Strikes == "device" && f.Device == "":
		return missing("device", "the tag of the device that it strikes, for instance %s", firstOf(tags))
	case f.Device != "" && f.Talker != "":
		return setting.Refuse("talker", strconv.Quote(f.Talker), "none beside device")
	case f.Device != "" && !slices.Contains(tags, f.Device):
		return setting.Refuse("device", strconv.Quote(f.Device), "a device on the line: %s", listed(tags))
	case f.Talker != "":
		return f.checkTalker(k, tags)
	}
	return nil
}

func (f *Fault) checkTalker(k *kind, tags []string) error {
	switch {
	case !slices.Contains(Talkers(), f.Talker) && !slices.Contains(tags, f.Talker):
		return setting.Refuse("talker", strconv.Quote(f.Talker), "%s, or the tag of a device", oneOf(Talkers()))
	case f.Talker == Host && k.notHost != "":
		return setting.Refuse("talker", strconv.Quote(f.Talker), "a station that is simulated: %s", k.notHost)
	}
	return nil
}

// checkWhen refuses chances, numbers and times that cannot be.
func (f *Fault) checkWhen(k *kind) error {
	switch {
	case k.Lasts && f.Probability != 1:
		return setting.Refuse("probability", f.Probability, "1: %q lasts and has no chance", k.Name)
	case k.Lasts && f.Count != 0:
		return setting.Refuse("count", f.Count, "none: %q lasts and is not counted", k.Name)
	case f.Count < 0:
		return setting.Refuse("count", f.Count, "1 or more, or none for no limit")
	case f.From < 0:
		return setting.Refuse("from", f.From.Duration(), "0s or more")
	case f.Until != 0 && f.Until <= f.From:
		return setting.Refuse("until", f.Until.Duration(), "later than from, which is %v", f.From.Duration())
	}
	return setting.Within("probability", f.Probability, 0, 1)
}

func (f *Fault) checkOther(k *kind, tags []string) error {
	switch {
	case k.Other == "" && f.Other != "":
		return setting.Refuse("other", strconv.Quote(f.Other), "none: no other device has part in %q", k.Name)
	case k.Other == "", k.NoOther != "" && f.Other == "":
		return nil
	case f.Other == "":
		return missing(k.OtherKey, "%s, for instance %s", k.Other, firstOf(tags))
	case !slices.Contains(tags, f.Other):
		return setting.Refuse(k.OtherKey, strconv.Quote(f.Other), "a device on the line: %s", listed(tags))
	case f.Other == f.Device:
		return setting.Refuse(k.OtherKey, strconv.Quote(f.Other), "another device than the one that it strikes")
	}
	return nil
}

func (f *Fault) checkSettings(k *kind) error {
	for i := range k.Settings {
		s := &k.Settings[i]
		v, given := f.Settings[s.Name]
		switch {
		case given:
			if err := s.check(v); err != nil {
				return err
			}
		case s.Needed:
			return missing(s.Name, "%s", s.want())
		}
	}
	for _, name := range slices.Sorted(maps.Keys(f.Settings)) {
		if k.setting(name) == nil {
			return setting.Refuse(name, f.Settings[name], "none: %q has %s", k.Name, k.settingNames())
		}
	}
	return nil
}

func (s *Setting) check(v float64) error {
	if !(v >= s.Least && v <= s.Most) || s.Whole && v != math.Trunc(v) || s.NotZero && v == 0 {
		return setting.Refuse(s.Name, v, "%s", s.want())
	}
	return nil
}

// want is what s may be, in words.
func (s *Setting) want() string {
	text := fmt.Sprintf("%g to %g", s.Least, s.Most)
	if s.Whole {
		text = "a whole number, " + text
	}
	if s.NotZero {
		text += ", not 0"
	}
	return text
}

func (k *Kind) settingNames() string {
	if len(k.Settings) == 0 {
		return "no settings"
	}
	names := make([]string, len(k.Settings))
	for i := range k.Settings {
		names[i] = k.Settings[i].Name
	}
	return strings.Join(names, ", ")
}

// missing refuses a key that is not given.
func missing(name, want string, args ...any) error {
	return &setting.Error{Name: name, Err: errors.New("is not given, want " + fmt.Sprintf(want, args...))}
}

func firstOf(tags []string) string {
	if len(tags) == 0 {
		return `"PT-101"`
	}
	return strconv.Quote(tags[0])
}

func listed(tags []string) string {
	if len(tags) == 0 {
		return "there is none"
	}
	return oneOf(tags)
}

// checkNow refuses what is over at now.
func (f *Fault) checkNow(now sim.Tick) error {
	if f.Until != 0 && f.Until <= now {
		return setting.Refuse("until", f.Until.Duration(), "later than %v, the line's present time", now.Duration())
	}
	return nil
}
