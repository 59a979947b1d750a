package linefile_test

import (
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/sim/linefile"
	"looptone/sim/process"
)

// shelf is where the files lie that the descriptions of the tests name.
var shelf = fstest.MapFS{
	"flow.csv":   {Data: []byte("time,value\n0,10\n5,20.5\n60,15\n")},
	"gap.csv":    {Data: []byte("time,value\n0,10\n5,\n60,15\n")},
	"words.csv":  {Data: []byte("time,value\n0,10\n5,warm\n60,15\n")},
	"single.csv": {Data: []byte("0,10\n")},
}.ReadFile

const played = `line = { name = "Bench" }
[[device]]
tag = "PT-1"
polling = 1
kind = "gauge"
sensor = { lower = 0, upper = 100, unit = "kPa" }
  [device.process]
  model = "csv"
  file = "flow.csv"
  repeat = true
  noise = 0.5
`

func TestPlayback(t *testing.T) {
	d, err := linefile.Parse("bench.toml", []byte(played), shelf)
	if err != nil {
		t.Fatal(err)
	}
	want := process.Config{Noise: 0.5, Model: process.Playback{Repeat: true, Points: []process.Sample{
		{At: 0, Value: 10}, {At: 5 * time.Second, Value: 20.5}, {At: time.Minute, Value: 15}}}}
	if diff := cmp.Diff(want, d.Devices[0].Transmitter.Process); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

func TestPlaybackRefusals(t *testing.T) {
	refuses(t, played, []struct{ name, old, new, want string }{
		{"gap", "flow.csv", "gap.csv", `9:10: gap.csv:3:3: value: got nothing, want a number; leave the row out for a straight line over the gap`},
		{"words", "flow.csv", "words.csv", `9:10: words.csv:3:3: value: got "warm", want a number`},
		{"one point repeated", "flow.csv", "single.csv", `10:12: process.repeat: got one point, want two or more to repeat`},
		{"no such file", "flow.csv", "flo.csv",
			`9:10: file "flo.csv": file does not exist; want a CSV file of times and values, named as from the folder of this one`},
		{"no file", `file = "flow.csv"`, "", `7:11: [device.process] of model "csv" has no file, want for instance file = "flow.csv"`},
		{"valve", "repeat = true", `valve = "PT-1"`,
			`10:11: a valve acts on a tank, a flow through an orifice or a thermal process, not on one of model "csv": leave it out`},
	})
}

func TestNoFilesToRead(t *testing.T) {
	_, err := linefile.Parse("bench.toml", []byte(played), nil)
	if want := `bench.toml:9:10: file "flow.csv": this description reads no files`; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}
