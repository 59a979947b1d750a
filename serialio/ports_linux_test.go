package serialio

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// sysfs builds a tree like /sys: files by their content, links by their target.
func sysfs(t *testing.T, files, links map[string]string) (root string) {
	t.Helper()
	root = filepath.Join(t.TempDir(), "sys")
	for name, content := range files {
		path := filepath.Join(root, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(content+"\n"), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	for name, target := range links {
		path := filepath.Join(root, name)
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.Symlink(filepath.Join(root, target), path)); err != nil {
			t.Fatal(err)
		}
	}
	return root
}

// The tree is laid out as kernels do: adapters of both kinds behind a hub, a UART before
// and behind serial-base came into the kernel (6.5), one that is not there, a console.
//
// Source: Linux kernel documentation, ABI/testing/sysfs-tty and sysfs-bus-usb.
func TestPortsAreThoseWithHardware(t *testing.T) {
	const hub, isa = "devices/pci0000:00/0000:00:14.0/usb1/1-3", "devices/pnp0/00:04/00:04:0/00:04:0.0"
	root := sysfs(t, map[string]string{
		hub + "/idVendor": "1d6b", hub + "/idProduct": "0002", // of the hub itself
		hub + "/1-3.1/idVendor": "0001", hub + "/1-3.1/idProduct": "abcd", hub + "/1-3.1/product": "Two\x1b[2J\n ports",
		hub + "/1-3.1/1-3.1:1.0/ttyUSB9/port_number":  "0",
		hub + "/1-3.1/1-3.1:1.1/ttyUSB10/port_number": "0",
		hub + "/1-3.2/idVendor":                       "0002", hub + "/1-3.2/idProduct": "0003", // that has no name
		hub + "/1-3.2/1-3.2:1.0/bInterfaceClass": "02",
		isa + "/uevent":                          "",
		"devices/platform/serial8250/uevent":     "",
		"devices/platform/soc/serial.0/uevent":   "",
		"class/tty/ttyS0/type":                   "4",
		"class/tty/ttyS1/type":                   "0",
		"class/tty/ttyAMA0/type":                 "32",
		"class/tty/tty1/dev":                     "4:1",
		"class/tty/console/dev":                  "5:1",
		"bus/usb-serial/drivers/adapter/uevent":  "",
		"bus/usb/drivers/modems/uevent":          "",
		"bus/serial-base/drivers/port/uevent":    "",
		"bus/serial-base/drivers/ctrl/uevent":    "",
		"bus/pnp/drivers/serial/uevent":          "",
		"bus/platform/drivers/serial8250/uevent": "",
		"bus/amba/drivers/uart-pl011/uevent":     "",
	}, map[string]string{
		"class/tty/ttyUSB9/device":                    hub + "/1-3.1/1-3.1:1.0/ttyUSB9",
		"class/tty/ttyUSB10/device":                   hub + "/1-3.1/1-3.1:1.1/ttyUSB10",
		"class/tty/ttyACM0/device":                    hub + "/1-3.2/1-3.2:1.0",
		"class/tty/ttyS0/device":                      isa,
		"class/tty/ttyS1/device":                      "devices/platform/serial8250",
		"class/tty/ttyAMA0/device":                    "devices/platform/soc/serial.0",
		hub + "/1-3.1/1-3.1:1.0/ttyUSB9/driver":       "bus/usb-serial/drivers/adapter",
		hub + "/1-3.1/1-3.1:1.1/ttyUSB10/driver":      "bus/usb-serial/drivers/adapter",
		hub + "/1-3.2/1-3.2:1.0/driver":               "bus/usb/drivers/modems",
		isa + "/driver":                               "bus/serial-base/drivers/port",
		"devices/pnp0/00:04/00:04:0/driver":           "bus/serial-base/drivers/ctrl",
		"devices/pnp0/00:04/driver":                   "bus/pnp/drivers/serial",
		"devices/platform/serial8250/driver":          "bus/platform/drivers/serial8250",
		"devices/platform/soc/serial.0/driver":        "bus/amba/drivers/uart-pl011",
		"devices/platform/soc/serial.0/subsystem":     "bus/amba",
		"devices/platform/serial8250/tty/ttyS1/class": "class/tty",
	})
	got, err := portsIn(filepath.Join(root, "class/tty"))
	if err != nil {
		t.Fatal(err)
	}
	two := &USBInfo{Vendor: "0001", Product: "abcd", Name: "Two[2J ports"}
	want := []PortInfo{
		{Name: "/dev/ttyACM0", Driver: "modems", USB: &USBInfo{Vendor: "0002", Product: "0003"}},
		{Name: "/dev/ttyAMA0", Driver: "uart-pl011"},
		{Name: "/dev/ttyS0", Driver: "serial"},
		{Name: "/dev/ttyUSB9", Driver: "adapter", USB: two},
		{Name: "/dev/ttyUSB10", Driver: "adapter", USB: two},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("ports (-want +got):\n%s", diff)
	}
}

// The list of this machine is read, and whatever it is, ptys and consoles are not in it.
func TestPortsOfThisMachine(t *testing.T) {
	ports, err := Ports()
	if err != nil {
		t.Skip(err) // no sysfs here
	}
	for _, p := range ports {
		if _, err := filepath.EvalSymlinks(filepath.Join(ttyClass, filepath.Base(p.Name), "device")); err != nil {
			t.Errorf("%s is listed: %v", p.Name, err)
		}
	}
}

func TestPortsWithoutATreeIsAnError(t *testing.T) {
	if _, err := portsIn(filepath.Join(t.TempDir(), "tty")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("got %v, want that it does not exist", err)
	}
}
