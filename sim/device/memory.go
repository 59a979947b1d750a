package device

import (
	"looptone/sim/transmitter"
)

// Memory is what was written to a device over the line, and what it has added up.
// What is nil was never written: there the factory's value counts. As JSON it is
// the record of a state file.
type Memory struct {
	Polling          *uint8  `json:"polling,omitempty"`
	LoopCurrent      *bool   `json:"loop_current,omitempty"` // loop current mode: enabled
	Tag              *string `json:"tag,omitempty"`
	LongTag          *string `json:"long_tag,omitempty"`
	Descriptor       *string `json:"descriptor,omitempty"`
	Message          *string `json:"message,omitempty"`
	Date             *string `json:"date,omitempty"` // yyyy-mm-dd
	FinalAssembly    *uint32 `json:"final_assembly,omitempty"`
	SerialNumber     *uint32 `json:"serial_number,omitempty"` // of the transducer
	ReplyPreambles   *uint8  `json:"reply_preambles,omitempty"`
	Changes          uint16  `json:"changes,omitempty"`           // configuration change counter
	ChangedSecondary bool    `json:"changed_secondary,omitempty"` // configuration changed, for the secondary master
	ChangedPrimary   bool    `json:"changed_primary,omitempty"`

	Range       *transmitter.Scale  `json:"range,omitempty"`
	UserUnit    *transmitter.Scale  `json:"user_unit,omitempty"`
	DampingS    *float64            `json:"damping_s,omitempty"`
	Power       *float64            `json:"power,omitempty"` // of the transfer function
	Trim        *transmitter.Trim   `json:"trim,omitempty"`
	CurrentTrim *transmitter.Trim   `json:"current_trim,omitempty"`
	Totals      *transmitter.Totals `json:"totals,omitempty"`
}
