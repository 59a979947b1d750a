package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"looptone/serialio"
)

func newListPorts() *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "ports",
		Short: "the serial ports of this machine, and what they are",
		Long: `Ports lists the serial ports that have hardware behind them: the name that --port
takes, the driver of the operating system, and of a USB adapter its vendor and product
code and the name that it gives itself. On Windows the driver is not known, on other
systems but Linux only the names are. No port is opened, so none is keyed. Ptys, TCP
and device servers are not in the list.

With --json each port is an object: "port", "driver" and "usb", which is null where the
port is not on USB, or {"vendor","product","name"}; the codes are four hex digits.`,
		Example: "  looptone list ports\n  looptone scan --port /dev/ttyUSB0",
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ports, err := serialio.Ports()
			if err != nil {
				return err
			}
			if len(ports) == 0 {
				fmt.Fprintln(cmd.ErrOrStderr(), "no serial port here has hardware behind it")
			}
			if asJSON {
				_, err := cmd.OutOrStdout().Write(portObjects(ports))
				return err
			}
			return tabulate(cmd.OutOrStdout(), func(w io.Writer) { listPorts(w, ports) })
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a port")
	return cmd
}

func listPorts(w io.Writer, ports []serialio.PortInfo) {
	for _, p := range ports {
		fmt.Fprintf(w, "%s\t%s", p.Name, p.Driver)
		if p.USB != nil {
			fmt.Fprintf(w, "\tUSB %s:%s\t%s", p.USB.Vendor, p.USB.Product, p.USB.Name)
		}
		fmt.Fprintln(w)
	}
}

// portObjects are ports as JSON lines.
func portObjects(ports []serialio.PortInfo) []byte {
	type usb struct {
		Vendor  string `json:"vendor"`
		Product string `json:"product"`
		Name    string `json:"name"`
	}
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	for _, p := range ports {
		err := e.Encode(struct {
			Port   string `json:"port"`
			Driver string `json:"driver"`
			USB    *usb   `json:"usb"`
		}{p.Name, p.Driver, (*usb)(p.USB)})
		if err != nil {
			panic(err) // strings
		}
	}
	return out.Bytes()
}
