package serialio

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
)

// ttyClass is where Linux tells which terminals there are.
const ttyClass = "/sys/class/tty"

func listPorts() ([]PortInfo, error) { return portsIn(ttyClass) }

// portsIn are the ports of a tree like that at [ttyClass].
//
// Source: Linux kernel documentation, ABI/testing/sysfs-tty and sysfs-bus-usb.
func portsIn(class string) ([]PortInfo, error) {
	entries, err := os.ReadDir(class)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", class, cause(err))
	}
	var ports []PortInfo
	for _, e := range entries {
		if p, ok := portIn(class, e.Name()); ok {
			ports = append(ports, p)
		}
	}
	slices.SortFunc(ports, func(a, b PortInfo) int { return byNumber(a.Name, b.Name) })
	return ports, nil
}

// portIn is one terminal, if there is hardware behind it: a console has no device, a
// port of a card that is not there has type 0.
func portIn(class, name string) (PortInfo, bool) {
	device, err := filepath.EvalSymlinks(filepath.Join(class, name, "device"))
	if err != nil || attribute(filepath.Join(class, name), "type") == "0" {
		return PortInfo{}, false
	}
	return PortInfo{Name: "/dev/" + name, Driver: driverOf(device), USB: usbOf(class, device)}, true
}

// attribute is a file of one line; "" where there is none. What an adapter says of itself
// may hold anything: only what can be printed is left.
func attribute(folder, name string) string {
	text, err := os.ReadFile(filepath.Join(folder, name))
	if err != nil {
		return ""
	}
	return strings.Map(printable, strings.TrimSpace(string(text)))
}

func printable(r rune) rune {
	if !unicode.IsPrint(r) {
		return -1
	}
	return r
}

// driverOf is the driver of a device. The buses between a UART and its ports, which
// newer kernels have, are the business of the kernel only.
func driverOf(device string) string {
	for range 3 {
		target, err := filepath.EvalSymlinks(filepath.Join(device, "driver"))
		if driver := filepath.Base(target); err == nil && driver != "port" && driver != "ctrl" {
			return driver
		}
		device = filepath.Dir(device)
	}
	return ""
}

// usbOf is the adapter that a device belongs to: the nearest device above it with the
// codes of one.
func usbOf(class, device string) *USBInfo {
	top := filepath.Dir(filepath.Dir(class))
	for ; strings.HasPrefix(device, top) && device != top; device = filepath.Dir(device) {
		vendor, product := attribute(device, "idVendor"), attribute(device, "idProduct")
		if vendor != "" && product != "" {
			return &USBInfo{Vendor: vendor, Product: product, Name: attribute(device, "product")}
		}
	}
	return nil
}

// byNumber compares names as people count: ttyUSB9 comes before ttyUSB10.
func byNumber(a, b string) int {
	kindA, kindB := strings.TrimRight(a, "0123456789"), strings.TrimRight(b, "0123456789")
	return cmp.Or(strings.Compare(kindA, kindB), cmp.Compare(len(a), len(b)), strings.Compare(a, b))
}
