package page

import (
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"

	"looptone/cmd/looptone/drawing"
)

// scripts are all scripts of the page, by the names under which it loads them.
func scripts(t *testing.T) map[string]string {
	all := map[string]string{}
	for prefix, files := range map[string]fs.FS{"": os.DirFS("web"), "drawing/": drawing.Files} {
		names, err := fs.Glob(files, "*.js")
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			text, err := fs.ReadFile(files, name)
			if err != nil {
				t.Fatal(err)
			}
			all[prefix+name] = string(text)
		}
	}
	return all
}

func index(t *testing.T) string {
	text, err := os.ReadFile("web/index.html")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// A script that is not loaded is dead; one that is loaded twice fails.
func TestEveryScriptIsLoadedOnce(t *testing.T) {
	var loaded []string
	for _, m := range regexp.MustCompile(`<script src="([^"]+)"></script>`).FindAllStringSubmatch(index(t), -1) {
		loaded = append(loaded, m[1])
	}
	last := loaded[len(loaded)-1]
	if slices.Sort(loaded); !slices.Equal(loaded, slices.Sorted(maps.Keys(scripts(t)))) {
		t.Errorf("got %q, want %q", loaded, slices.Sorted(maps.Keys(scripts(t))))
	}
	if last != "start.js" {
		t.Errorf("the last script is %s, want start.js: it connects when everybody is there", last)
	}
}

// The scripts are no modules: all that they declare at top level is one scope.
func TestScriptsShareNoName(t *testing.T) {
	declared := map[string]string{}
	for file, text := range scripts(t) {
		for _, m := range regexp.MustCompile(`(?m)^(?:async )?(?:function|const|let|class) (\w+)`).FindAllStringSubmatch(text, -1) {
			if other, ok := declared[m[1]]; ok {
				t.Errorf("%s is declared in %s and in %s", m[1], other, file)
			}
			declared[m[1]] = file
		}
	}
	if len(declared) < 20 {
		t.Errorf("only %d names were found", len(declared))
	}
}

// What comes from the line is text, never markup; the page loads nothing from elsewhere;
// and its Content-Security-Policy lets nothing inline through.
func TestScriptsMakeNoMarkup(t *testing.T) {
	forbidden := regexp.MustCompile(`innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|setAttribute\("style"|https?://`)
	allowed := `"http://www.w3.org/2000/svg"` // the name of a namespace, not a place
	for file, text := range scripts(t) {
		if !strings.HasPrefix(text, "\"use strict\";\n") {
			t.Errorf("%s does not begin with \"use strict\"", file)
		}
		if found := forbidden.FindString(strings.ReplaceAll(text, allowed, "")); found != "" {
			t.Errorf("%s has %s", file, found)
		}
	}
	inline := regexp.MustCompile(`<script>|<style|\sstyle=|\son\w+=|https?://`)
	if found := inline.FindString(index(t)); found != "" {
		t.Errorf("index.html has %s", found)
	}
}

func TestScriptsParse(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		leaveOut(t, err)
	}
	all := scripts(t)
	var one strings.Builder
	for _, file := range slices.Sorted(maps.Keys(all)) {
		one.WriteString(all[file])
	}
	check := exec.Command(node, "--check", "-")
	check.Stdin = strings.NewReader(one.String())
	if out, err := check.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, out)
	}
}
