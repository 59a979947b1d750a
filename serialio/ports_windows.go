package serialio

import (
	"strings"

	"go.bug.st/serial/enumerator"
)

func listPorts() ([]PortInfo, error) {
	details, err := enumerator.GetDetailedPortsList()
	var ports []PortInfo
	for _, d := range details {
		p := PortInfo{Name: d.Name}
		if d.IsUSB {
			p.USB = &USBInfo{Vendor: strings.ToLower(d.VID), Product: strings.ToLower(d.PID), Name: d.Product}
		}
		ports = append(ports, p)
	}
	return ports, err
}
