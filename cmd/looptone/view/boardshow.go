package view

import (
	"context"
	"errors"
	"io"
	"strings"
	"time"

	tea "charm.land/bubbletea/v2"
)

// redrawEvery is how often a board is looked at. What has not changed is not
// written again.
const redrawEvery = 200 * time.Millisecond

// Show draws the board on a terminal, on a screen of its own, until the function
// that it returns is called; then the terminal is as it was before. keys is the same
// terminal, or nil: somebody who wants to end calls end by it.
func (b *Board) Show(keys io.Reader, terminal io.Writer, end func()) (finish func() error) {
	p := tea.NewProgram(drawing{board: b, end: end}, tea.WithInput(keys), tea.WithOutput(terminal), tea.WithoutSignalHandler())
	done := make(chan error, 1)
	go func() {
		_, err := p.Run()
		end() // the terminal may have gone
		done <- err
	}()
	return func() error {
		p.Quit()
		err := <-done
		if errors.Is(err, context.Canceled) {
			return nil
		}
		return err
	}
}

// drawing is a board as the terminal library wants it.
type drawing struct {
	board         *Board
	end           func()
	width, height int
}

type redraw struct{}

func later() tea.Cmd { return tea.Tick(redrawEvery, func(time.Time) tea.Msg { return redraw{} }) }

// Init begins to redraw.
func (d drawing) Init() tea.Cmd { return later() }

// Update takes over the size of the terminal, and what was typed.
func (d drawing) Update(m tea.Msg) (tea.Model, tea.Cmd) {
	switch m := m.(type) {
	case redraw:
		return d, later()
	case tea.WindowSizeMsg:
		d.width, d.height = m.Width, m.Height
	case tea.KeyPressMsg:
		if key := m.String(); key == "q" || key == "ctrl+c" {
			d.end()
		}
	}
	return d, nil
}

// View is the board as it is now.
func (d drawing) View() tea.View {
	v := tea.NewView(strings.Join(d.board.lines(d.width, d.height), "\n"))
	v.AltScreen = true
	return v
}
