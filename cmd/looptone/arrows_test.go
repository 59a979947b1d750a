package main_test

import (
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// module is the path of this module; every package of the house plan is below it.
const module = "looptone"

// An arrow says what a package may know beside the standard library: the
// packages in to, what those may know in turn, and the outside modules.
type arrow struct {
	to      []string
	modules []string
	reason  string
}

// arrows is the house plan. A package that is not here fails the test: decide
// what it may know, and write down why, before it exists.
var arrows = map[string]arrow{
	"frame": {reason: "the vocabulary of the wire; everybody imports it, so it must stay cheap and free of I/O"},
	"frame/vector": {to: []string{"frame"},
		reason: "reads the vector files for the tests of every layer; no package but a test imports it"},
	"frame/unit": {reason: "quantities mean something without a frame; the signal path uses them too"},
	"frame/near": {reason: "one search for the word that was meant, whether it was typed or stands in a file"},
	"frame/userfile": {to: []string{"frame/near"}, modules: []string{"github.com/pelletier/go-toml/v2"},
		reason: "a file that a user wrote, with the place of everything in it; what the file means is the reader's"},
	"frame/payload": {to: []string{"frame", "frame/unit", "frame/near"},
		reason: "what the data of a command mean, whoever sends or reads them"},
	"frame/payload/commandfile": {to: []string{"frame/payload", "frame/userfile"},
		reason: "keeps the file format of users' definitions out of payload"},
	"frame/exchange": {to: []string{"frame", "frame/payload"},
		reason: "pairs frames from any source: live, captured or simulated"},
	"frame/exchange/findings": {to: []string{"frame/exchange", "frame/payload"},
		reason: "verdicts in words; exchange itself only counts"},

	"sim": {to: []string{"frame"},
		reason: "the line and its clock; carries characters and knows nothing of commands or ports"},
	"sim/setting": {reason: "one way to refuse a number, whoever was set wrong"},
	"sim/process": {to: []string{"sim", "sim/setting", "frame/unit"},
		reason: "what there is to measure has no part in how it is measured"},
	"sim/transmitter": {to: []string{"sim", "sim/process", "sim/setting", "frame/unit"},
		reason: "numbers from sensor to current; a class can use it without any message"},
	"sim/loop": {to: []string{"sim"},
		reason: "supply, resistor and cable are arithmetic"},
	"sim/device": {to: []string{"sim", "sim/transmitter", "frame/payload"},
		reason: "declares the Store that it needs, so no database comes with it"},
	"sim/statefile": {to: []string{"sim/device"}, modules: []string{"go.etcd.io/bbolt"},
		reason: "the only place that knows how memory is kept on disk"},
	"sim/master": {to: []string{"sim", "frame/payload", "frame/exchange"},
		reason: "a station like any other: it runs on the simulated line and, through live, on a real one"},
	"sim/fault": {to: []string{"sim", "sim/device", "sim/master", "sim/setting"},
		reason: "what is wrong on a line; who describes it, and in which file, is not its business"},
	"sim/replay": {to: []string{"sim", "sim/master", "frame/exchange"},
		reason: "answers from recorded transactions, or asks them again, whatever file they came from"},
	"sim/linefile": {to: []string{"sim", "sim/transmitter", "sim/loop", "sim/device", "sim/master", "sim/fault", "sim/replay", "frame/userfile"},
		reason: "assembles a line from its description; what is durable or real comes in from above"},
	"sim/live": {to: []string{"sim"},
		reason: "declares the Wire that it needs; serialio fits it by its methods and is not imported"},

	"serialio": {to: []string{"frame"}, modules: []string{"go.bug.st/serial", "github.com/creack/pty", "golang.org/x/sys"},
		reason: "the only place that opens ports; hands on characters and understands none"},
	"serialio/capture": {to: []string{"frame", "serialio"},
		modules: []string{"github.com/sigurn/crc16", "github.com/gopacket/gopacket", "github.com/klauspost/compress"},
		reason:  "file formats end here; what leaves it are records"},
	"serialio/wave": {reason: "samples in files, whatever they are of"},
	"serialio/fsk": {to: []string{"frame", "serialio/wave", "serialio/capture"},
		reason: "yields the same records as a file reader"},
	"serialio/fsk/measure": {to: []string{"frame", "serialio/wave", "serialio/fsk"},
		reason: "holds samples against limits; what the characters say is not asked"},
	"serialio/modemcheck": {to: []string{"frame", "serialio"},
		reason: "tests a modem with ports; a simulated line would test itself"},
	"serialio/modemcheck/stimulus": {to: []string{"serialio/modemcheck", "serialio/wave", "serialio/fsk", "serialio/capture"},
		reason: "feeds a modem from files and reads captures of what it heard; no port is opened"},

	"cmd/looptone": {to: everything, modules: []string{"github.com/spf13/cobra", "golang.org/x/term"},
		reason: "the assembly: flags, open, one library call, print"},
	"cmd/looptone/view": {to: []string{"frame", "frame/payload", "frame/exchange", "frame/exchange/findings", "sim/master", "sim/transmitter", "sim/loop", "sim/replay", "serialio/modemcheck", "serialio/modemcheck/stimulus", "serialio/fsk/measure"},
		modules: []string{"github.com/vbauerster/mpb/v8", "charm.land/bubbletea/v2", "charm.land/lipgloss/v2"},
		reason:  "prints what any source yields, what a master found, what hosts kept, what stands behind stages, what a loop comes to and what a test found; libraries for the terminal stay in it"},
	"cmd/looptone/drawing": {reason: "scripts and styles that a page and a report share; they know values, not where those come from"},
	"cmd/looptone/report": {to: []string{"cmd/looptone/view", "cmd/looptone/drawing", "frame/exchange/findings", "serialio/modemcheck", "serialio/fsk/measure"},
		reason: "pages that open without a network and without the program"},
	"cmd/looptone/page": {to: []string{"sim", "sim/linefile", "sim/live", "sim/master", "cmd/looptone/view", "cmd/looptone/drawing"},
		reason: "shows a simulated line; it never sees a port"},
}

// everything stands for all packages but those that only tests import.
var everything = []string{
	"frame", "frame/unit", "frame/near", "frame/userfile", "frame/payload", "frame/payload/commandfile",
	"frame/exchange", "frame/exchange/findings",
	"sim", "sim/setting", "sim/process", "sim/transmitter", "sim/loop", "sim/device", "sim/statefile", "sim/master", "sim/fault", "sim/replay", "sim/linefile", "sim/live",
	"serialio", "serialio/wave", "serialio/capture", "serialio/fsk", "serialio/fsk/measure", "serialio/modemcheck", "serialio/modemcheck/stimulus",
	"cmd/looptone/view", "cmd/looptone/drawing", "cmd/looptone/report", "cmd/looptone/page",
}

// testModules may be imported by test files, and by them only.
var testModules = []string{
	"github.com/google/go-cmp", "pgregory.net/rapid", "go.uber.org/goleak",
	"github.com/rogpeppe/go-internal", "github.com/chromedp/chromedp", "github.com/chromedp/cdproto",
	"gonum.org/v1/gonum",    // linear algebra, to solve a network another way
	"github.com/creack/pty", // what stands on a terminal in the end
}

// A source is what one Go file imports.
type source struct {
	file    string // slash-separated, from the root of the module
	imports []string
}

func (s source) pkg() string  { return path.Dir(s.file) }
func (s source) isTest() bool { return strings.HasSuffix(s.file, "_test.go") }

func TestArrows(t *testing.T) {
	sources := readSources(t, os.DirFS("../.."))
	if len(sources) < 10 {
		t.Fatalf("only %d Go files found: the test looks at the wrong folder", len(sources))
	}
	for _, v := range violations(sources) {
		t.Error(v)
	}
}

func TestHousePlanIsConsistent(t *testing.T) {
	for pkg, a := range arrows {
		for _, to := range a.to {
			if _, ok := arrows[to]; !ok {
				t.Errorf("%s may import %s, which is not in the house plan", pkg, to)
			}
		}
		if a.reason == "" {
			t.Errorf("%s has no reason", pkg)
		}
		for known := range reach(pkg) {
			if pkg != "cmd/looptone" && strings.HasPrefix(known, pkg+"/") {
				t.Errorf("%s may import its child %s", pkg, known)
			}
			if tree(pkg) == "sim" && tree(known) == "serialio" || tree(pkg) == "serialio" && tree(known) == "sim" {
				t.Errorf("%s may import %s: sim and serialio do not know each other", pkg, known)
			}
			if reach(known)[pkg] {
				t.Errorf("%s and %s may import each other", pkg, known)
			}
		}
	}
}

func TestViolationsAreFound(t *testing.T) {
	got := violations([]source{
		{"frame/frame.go", []string{"fmt", "looptone/frame/payload"}},
		{"frame/frame_test.go", []string{"looptone/frame/vector", "pgregory.net/rapid"}},
		{"frame/address_test.go", []string{"looptone/sim"}},
		{"frame/extra/extra.go", []string{"fmt"}},
		{"sim/line.go", []string{"looptone/frame", "looptone/serialio"}},
		{"sim/line_test.go", []string{"looptone/sim/device", "looptone/serialio"}},
		{"sim/device/slave.go", []string{"looptone/frame", "go.etcd.io/bbolt"}},
		{"sim/statefile/store.go", []string{"looptone/frame/vector", "go.etcd.io/bbolt", "github.com/google/go-cmp/cmp"}},
		{"serialio/port.go", []string{"go.bug.st/serial", "go.bug.st/serialother"}},
		{"cmd/looptone/decode.go", []string{"looptone/sim", "looptone/serialio", "looptone/cmd/looptone/view"}},
	})
	want := []string{
		"frame/frame.go imports looptone/frame/payload: " + arrows["frame"].reason,
		"frame/address_test.go imports looptone/sim: tests that need several trees live in cmd/looptone",
		"frame/extra/extra.go: package frame/extra is not in the house plan",
		"sim/line.go imports looptone/serialio: " + arrows["sim"].reason,
		"sim/line_test.go imports looptone/serialio: tests that need several trees live in cmd/looptone",
		"sim/device/slave.go imports go.etcd.io/bbolt: " + arrows["sim/device"].reason,
		"sim/statefile/store.go imports looptone/frame/vector: " + arrows["sim/statefile"].reason,
		"sim/statefile/store.go imports github.com/google/go-cmp/cmp: " + arrows["sim/statefile"].reason,
		"serialio/port.go imports go.bug.st/serialother: " + arrows["serialio"].reason,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// violations lists every import that the house plan does not allow.
func violations(sources []source) (found []string) {
	for _, s := range sources {
		a, ok := arrows[s.pkg()]
		if !ok {
			found = append(found, fmt.Sprintf("%s: package %s is not in the house plan", s.file, s.pkg()))
			continue
		}
		for _, imported := range s.imports {
			if reason := forbidden(s, a, imported); reason != "" {
				found = append(found, fmt.Sprintf("%s imports %s: %s", s.file, imported, reason))
			}
		}
	}
	return found
}

// forbidden gives the reason why s may not import a path; empty if it may.
func forbidden(s source, a arrow, imported string) string {
	pkg, inside := strings.CutPrefix(imported, module+"/")
	switch {
	case inside && s.isTest():
		if testMayKnow(tree(s.pkg()), tree(pkg)) {
			return ""
		}
		return "tests that need several trees live in cmd/looptone"
	case inside:
		if reach(s.pkg())[pkg] {
			return ""
		}
	case isStandard(imported), within(imported, a.modules), s.isTest() && within(imported, testModules):
		return ""
	}
	return a.reason
}

// testMayKnow: a test may use every package of its own tree and of frame, for
// instance a device as the peer of a master; the compiler refuses cycles.
func testMayKnow(own, other string) bool {
	return own == other || other == "frame" || own == "cmd"
}

// reach is every package that pkg may import: its arrows and theirs.
func reach(pkg string) map[string]bool {
	known := map[string]bool{}
	var follow func(string)
	follow = func(from string) {
		for _, to := range arrows[from].to {
			if !known[to] {
				known[to] = true
				follow(to)
			}
		}
	}
	follow(pkg)
	return known
}

// tree is the first folder of a package: frame, sim, serialio or cmd.
func tree(pkg string) string {
	first, _, _ := strings.Cut(pkg, "/")
	return first
}

// isStandard: paths of the standard library have no dot in their first part.
func isStandard(imported string) bool { return !strings.Contains(tree(imported), ".") }

func within(imported string, modules []string) bool {
	return slices.ContainsFunc(modules, func(m string) bool {
		return imported == m || strings.HasPrefix(imported, m+"/")
	})
}

// readSources reads the imports of every Go file below root, those that build
// tags leave out included.
func readSources(t *testing.T, root fs.FS) (sources []source) {
	t.Helper()
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && name != "." && (d.Name() == "testdata" || strings.ContainsRune("._", rune(d.Name()[0]))):
			return fs.SkipDir
		case d.IsDir() || path.Ext(name) != ".go":
			return nil
		}
		imports, err := readImports(root, name)
		sources = append(sources, source{name, imports})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return sources
}

func readImports(root fs.FS, name string) (imports []string, err error) {
	text, err := fs.ReadFile(root, name)
	if err != nil {
		return nil, err
	}
	file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ImportsOnly)
	if err != nil {
		return nil, err
	}
	for _, spec := range file.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			return nil, err
		}
		imports = append(imports, imported)
	}
	return imports, nil
}
