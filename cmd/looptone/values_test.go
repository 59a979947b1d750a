package main

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"time"
)

// fastValues are the lines of values that a simulation in line time writes.
func fastValues(t *testing.T, args ...string) []string {
	t.Helper()
	var out, said bytes.Buffer
	if code := run(append([]string{"sim"}, args...), strings.NewReader(""), &out, &said); code != 0 {
		t.Fatalf("sim %v exits with %d: %s", args, code, said.String())
	}
	return strings.SplitAfter(out.String(), "\n")
}

// What is read at one moment does not depend on how often else it is read.
func TestValuesDoNotDependOnThePeriod(t *testing.T) {
	often := map[string]bool{}
	for _, line := range fastValues(t, "--fast=60s", "--values=10ms") {
		often[line] = true
	}
	for _, period := range []string{"70ms", "1s", "60s"} {
		lines := fastValues(t, "--fast=60s", "--values="+period)
		if len(lines) < 2*6 {
			t.Errorf("only %d lines at a period of %s", len(lines), period)
		}
		for _, line := range lines {
			if !often[line] {
				t.Errorf("a period of %s gives a line that one of 10ms does not: %s", period, line)
			}
		}
	}
}

// The price of a line of values, all six devices of the demonstration line read
// once a grid point.
func BenchmarkValues(b *testing.B) {
	a, _, err := assemble("", nil)
	if err != nil {
		b.Fatal(err)
	}
	o := simOptions{values: spanFlag{span: 100 * time.Millisecond}}
	o.monitor(a, io.Discard)
	b.ReportAllocs()
	lines := 0
	for b.Loop() {
		a.Line.Run(a.Line.Next())
		lines += len(a.Devices)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(lines), "ns/line")
}
