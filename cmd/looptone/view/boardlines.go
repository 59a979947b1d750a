package view

import (
	"fmt"
	"strings"
	"time"

	"charm.land/lipgloss/v2"

	"looptone/frame/payload"
)

// How the parts of a board look. What they say does not depend on it.
var (
	headStyle    = lipgloss.NewStyle().Bold(true)
	quietStyle   = lipgloss.NewStyle().Faint(true)
	troubleStyle = lipgloss.NewStyle().Foreground(lipgloss.Yellow)
)

// Widths of the columns in characters, with two blanks between them; the answer
// takes what is left.
const (
	leastName, mostName     = 6, 24
	leastLately             = 8
	numberWidth             = 3
	wide                    = 120 // from then on commands have their names
	tookWidth, ageWidth     = 6, 6
	blanks                  = "  "
	narrow, rowOfLatelyFrom = 80, 5 // beyond narrow, each so many columns give one mark more
)

// layout is how wide the columns are that depend on the terminal.
type layout struct{ name, command, lately, answer int }

func (b *Board) layout(width int) layout {
	l := layout{name: leastName, command: numberWidth}
	for i := range b.rows {
		l.name = max(l.name, min(lipgloss.Width(b.rows[i].device), mostName))
		if width >= wide {
			l.command = max(l.command, lipgloss.Width(b.command(&b.rows[i], wide)))
		}
	}
	l.lately = min(leastLately+max(0, width-narrow)/rowOfLatelyFrom, mostLately)
	l.answer = max(0, width-l.name-l.command-l.lately-tookWidth-ageWidth-5*len(blanks))
	return l
}

// lines are the board for a terminal of so many columns and rows. None is wider.
func (b *Board) lines(width, height int) []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	width = max(0, width-1) // the last column would wrap on some terminals
	l := b.layout(width)
	now := b.now()
	top := []string{headStyle.Render(fit(b.line+blanks+clockText(now.Sub(b.began)), width))}
	if len(b.rows) > 0 {
		top = append(top, "", quietStyle.Render(l.caption(width)))
	}
	foot := b.foot(width, now)
	shown := b.rows[:min(len(b.rows), max(0, height-len(top)-len(foot)))]
	if left := len(b.rows) - len(shown); left > 0 && len(shown) > 0 {
		shown = shown[:len(shown)-1]
		foot = append([]string{quietStyle.Render(fit(many(int64(left+1), "row more", "rows more")+" in a higher window", width))}, foot...)
	}
	all := top
	for i := range shown {
		device := shown[i].device
		if i > 0 && shown[i-1].query.Device == shown[i].query.Device {
			device = ""
		}
		all = append(all, shown[i].text(l, device, b.command(&shown[i], l.command), width, now))
	}
	all = append(all, foot...)
	return all[:min(len(all), max(1, height))]
}

// foot is what stands below the rows.
func (b *Board) foot(width int, now time.Time) []string {
	lines := []string{"", fit(b.sum(now), width)}
	for _, text := range b.said {
		lines = append(lines, troubleStyle.Render(fit(text, width)))
	}
	return append(lines, quietStyle.Render(fit("▁ soon to █ at the time-out, × silent, ≠ damaged, … busy; q or Ctrl-C ends", width)))
}

func (b *Board) sum(now time.Time) string {
	var asked int64
	for _, n := range b.fared {
		asked += n
	}
	if asked == 0 {
		return "nothing was read yet"
	}
	took := max(now.Sub(b.began), time.Millisecond).Seconds()
	text := tally([]counted{{asked, "asked"}, {b.fared["answered"], "answered"}, {b.fared["damaged"], "damaged"},
		{b.fared["silent"], "silent"}, {b.fared["busy"], "busy"}})
	return fmt.Sprintf("%s; %.1f a second, line in use %.0f %%", text, float64(asked)/took, 100*b.spoken.Seconds()/took)
}

func (l *layout) caption(width int) string {
	return fit(strings.Join([]string{
		pad("device", l.name), pad("cmd", l.command), pad("last answer", l.answer),
		pad("lately", l.lately), padLeft("after", tookWidth), padLeft("age", ageWidth)}, blanks), width)
}

func (r *boardRow) text(l layout, device, command string, width int, now time.Time) string {
	answer, took, age := r.value, "", ""
	if !r.at.IsZero() {
		took, age = fmt.Sprintf("%d ms", ms(r.took)), ageOf(now.Sub(r.at))
	}
	style := lipgloss.NewStyle()
	if r.trouble != "" {
		style = troubleStyle
		answer = strings.TrimSuffix(r.trouble+"; "+answer, "; ")
	}
	lately := string(r.lately[max(0, len(r.lately)-l.lately):])
	cells := []string{pad(device, l.name), pad(command, l.command), pad(answer, l.answer),
		padLeft(lately, l.lately), padLeft(took, tookWidth), padLeft(age, ageWidth)}
	if plain := strings.Join(cells, blanks); lipgloss.Width(plain) > width {
		return fit(plain, width)
	}
	cells[0], cells[2] = headStyle.Render(cells[0]), style.Render(cells[2])
	return strings.Join(cells, blanks)
}

// command is what is asked for: its number, and where there is room its name.
func (b *Board) command(r *boardRow, width int) string {
	text := fmt.Sprintf("%*d", numberWidth, r.query.Command)
	if def, ok := b.book.Lookup(r.query.Command, payload.AnyDevice); ok && width > numberWidth {
		text += blanks + def.Name
	}
	return text
}

// ageOf is how long ago something was, in six characters at the most.
func ageOf(d time.Duration) string {
	switch {
	case d < 100*time.Second:
		return fmt.Sprintf("%.1f s", max(0, d).Seconds())
	case d < 100*time.Minute:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	}
	return fmt.Sprintf("%d h", int(d.Hours()))
}

// clockText is how long something goes on.
func clockText(d time.Duration) string {
	s := int(d.Seconds())
	return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
}

// fit cuts text that is wider than width, and says so by an ellipsis.
func fit(text string, width int) string {
	if lipgloss.Width(text) <= width {
		return text
	}
	kept, used := "", 0
	for _, r := range text {
		w := lipgloss.Width(string(r))
		if used+w > width-1 {
			break
		}
		kept, used = kept+string(r), used+w
	}
	if width < 1 {
		return ""
	}
	return kept + "…"
}

func pad(text string, width int) string {
	text = fit(text, width)
	return text + strings.Repeat(" ", max(0, width-lipgloss.Width(text)))
}

func padLeft(text string, width int) string {
	text = fit(text, width)
	return strings.Repeat(" ", max(0, width-lipgloss.Width(text))) + text
}
