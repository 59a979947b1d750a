package page

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame"
)

// why says why those have answered who have, as the line knows it.
func (a *asking) why(who []string) string {
	switch {
	case len(who) == 0:
		return a.whyNobody()
	case len(who) > 1:
		return fmt.Sprintf("%s answer at once, and spoil each other: %s.", strings.Join(who, " and "), a.shared(who))
	case a.request.Address.IsBroadcast():
		return fmt.Sprintf("The request goes to everybody, and %s finds itself meant by what is asked.", who[0])
	case !slices.Contains(a.meantTags(), who[0]):
		return fmt.Sprintf("%s answers though the request is for %s%s.", who[0], a.whom(), a.faults())
	case a.isPolling():
		return fmt.Sprintf("%s has %s, which the request names.", who[0], a.whom())
	}
	return fmt.Sprintf("The request carries the unique address of %s.", who[0])
}

func (a *asking) shared(who []string) string {
	if a.isPolling() {
		return "they share " + a.whom()
	}
	return "one of them is not meant" + a.faults()
}

func (a *asking) isPolling() bool {
	_, short := a.request.Address.IsPolling()
	return short
}

// whom is whom the request is for, in words.
func (a *asking) whom() string {
	if n, short := a.request.Address.IsPolling(); short {
		return fmt.Sprintf("polling address %d", n)
	}
	if tags := a.meantTags(); len(tags) > 0 {
		return tags[0]
	}
	return "unique address " + a.request.Address.String()
}

func (a *asking) meantTags() (tags []string) {
	for _, i := range a.scene.meant(a.request.Address) {
		tags = append(tags, a.scene.assembly.Devices[i].Config().Tag)
	}
	return tags
}

// whyNobody says why nobody has answered.
func (a *asking) whyNobody() string {
	s := a.scene
	meant := s.meant(a.request.Address)
	switch {
	case a.request.Address == frame.Broadcast:
		return "The request goes to everybody, and nobody finds himself meant by what is asked."
	case len(meant) == 0:
		return fmt.Sprintf("Nobody has %s: after the slave time-out the master gives up.", a.whom())
	}
	tag := s.assembly.Devices[meant[0]].Config().Tag
	switch {
	case s.assembly.Seats[meant[0]].Muted():
		return fmt.Sprintf("%s is meant, but it was silenced.", tag)
	case s.assembly.Dark(meant[0]) != "":
		return fmt.Sprintf("%s is meant, but it is dark: %s.", tag, s.assembly.Dark(meant[0]))
	}
	return fmt.Sprintf("%s is meant, and its reply did not begin within the slave time-out%s.", tag, a.faults())
}

// faults names what is wrong on the line.
func (a *asking) faults() string {
	if names := a.scene.assembly.Faults.Names(); len(names) > 0 {
		return fmt.Sprintf(" (on the line: %s)", strings.Join(names, ", "))
	}
	return ""
}
