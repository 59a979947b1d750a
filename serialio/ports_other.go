//go:build !linux && !windows

package serialio

import "go.bug.st/serial"

// listPorts takes the names alone: the library knows more only where it was built with
// a C compiler.
func listPorts() ([]PortInfo, error) {
	names, err := serial.GetPortsList()
	var ports []PortInfo
	for _, name := range names {
		ports = append(ports, PortInfo{Name: name})
	}
	return ports, err
}
