package main

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/serialio/modemcheck/stimulus"
)

// Every key of the manifest and of every object that --score --json writes is documented in
// the help.
func TestStimulusKeysAreInTheHelp(t *testing.T) {
	s, err := stimulus.New(1, stimulus.DefaultRate, stimulus.DefaultFullScale)
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.Score([]*stimulus.Heard{{Name: "all.txt"}})
	if err != nil {
		t.Fatal(err)
	}
	manifest, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	help := newCheckModem().Long
	_, ofManifest, _ := strings.Cut(help, "The manifest is one object")
	wantKeys(t, string(manifest), ofManifest)
	wantKeys(t, string(view.AppendStimulus(nil, r)), help)
}

// wantKeys wants every key of JSON in a help.
func wantKeys(t *testing.T, objects, help string) {
	t.Helper()
	keys := map[string]bool{}
	for _, key := range regexp.MustCompile(`"([a-z_]+)":`).FindAllStringSubmatch(objects, -1) {
		keys[key[1]] = true
	}
	if len(keys) < 10 {
		t.Fatalf("only %d keys in %.200s", len(keys), objects)
	}
	for key := range keys {
		if !regexp.MustCompile(`\b` + key + `\b`).MatchString(help) {
			t.Errorf("key %s is not in the help", key)
		}
	}
}
