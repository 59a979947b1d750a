package main

import (
	"bytes"
	"io"
	"testing"

	"looptone/serialio"
)

func TestPortsAreShown(t *testing.T) {
	ports := []serialio.PortInfo{
		{Name: "/dev/ttyS0", Driver: "serial"},
		{Name: "/dev/ttyUSB10", Driver: "adapter", USB: &serialio.USBInfo{Vendor: "0001", Product: "abcd", Name: "Two <ports>"}},
		{Name: "COM3"},
	}
	var text bytes.Buffer
	if err := tabulate(&text, func(w io.Writer) { listPorts(w, ports) }); err != nil {
		t.Fatal(err)
	}
	want := "/dev/ttyS0     serial\n" +
		"/dev/ttyUSB10  adapter  USB 0001:abcd  Two <ports>\n" +
		"COM3           \n"
	if got := text.String(); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	want = `{"port":"/dev/ttyS0","driver":"serial","usb":null}
{"port":"/dev/ttyUSB10","driver":"adapter","usb":{"vendor":"0001","product":"abcd","name":"Two <ports>"}}
{"port":"COM3","driver":"","usb":null}
`
	if got := string(portObjects(ports)); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}
