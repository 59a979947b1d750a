package page

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim/linefile"
)

// longestAction is how long an action may be as JSON.
const longestAction = 16 << 10

// act does something at the devices, the wires, the supply, or to what is wrong there.
func (h *Hands) act(w *Wish) (o Outcome, err error) {
	x, text, err := h.action(w)
	if err != nil {
		return o, err
	}
	o.Action = text
	if err := h.assembly.Foresee(x); err != nil {
		return o, sentenceOf(err)
	}
	o.Says = h.assembly.Says(x)
	if w.Preview {
		return o, nil
	}
	did, back, err := h.assembly.DoReversibly(x)
	if err != nil {
		return o, sentenceOf(err)
	}
	if h.push(&deed{says: back.Says, back: takingBack(back)}); !strings.HasPrefix(o.Says, did) {
		o.Says = did // a fault has got its name
	}
	return o, nil
}

// action reads the action of a wish.
func (h *Hands) action(w *Wish) (x *linefile.Action, text string, err error) {
	for key, instead := range map[string]string{
		"time": "an action without it: it is done now",
		"stop": "the wish pause", "go": "the wish go",
	} {
		if _, given := w.Action[key]; given {
			return nil, "", fmt.Errorf("action: got the key %q, want %s", key, instead)
		}
	}
	b, err := json.Marshal(w.Action)
	switch {
	case err != nil:
		return nil, "", fmt.Errorf("action: %w", err)
	case len(b) > longestAction:
		return nil, "", fmt.Errorf("action: got %d bytes, want %d at the most", len(b), longestAction)
	case len(w.Action) == 0:
		return nil, "", errors.New(`action: got none, want for instance {"mute":"PT-101"}`)
	}
	x, err = h.description.ReadAction("action", 1, b)
	return x, string(b), sentenceOf(err)
}

// sentenceOf is what an action was refused for, without its place in a text that nobody
// has typed.
func sentenceOf(err error) error {
	var refused *userfile.Error
	if errors.As(err, &refused) {
		return refused.Err
	}
	return err
}

func takingBack(r *linefile.Reversal) func(w *Wish) (Outcome, error) {
	return func(w *Wish) (Outcome, error) {
		o := Outcome{Says: r.Says, Action: r.Action}
		if w.Preview {
			return o, nil
		}
		return o, sentenceOf(r.Do())
	}
}
