package sim

// The timers of the token-passing data link. All of them start at the end of a
// check byte.
//
// Source: FieldComm Group support article 8000040648 (timer table); carrier:
// Allen-Bradley 1797-6.5.3 (2006) p.C-2, and Texas Instruments DAC8742H data
// sheet, HART timing table.
const (
	SlaveTimeOut       = 28 * Character // a reply must start within
	Hold               = 2 * Character  // a master must use its turn within
	LinkGrant          = 8 * Character  // a master leaves to the other one behind its own transaction
	LinkQuietPrimary   = 33 * Character // a primary master waits for when it does not know whose turn it is
	LinkQuietSecondary = 41 * Character // a secondary master does

	CarrierLead = 5 * Bit // carrier on, at the most, before the preamble
	CarrierTail = 3 * Bit // carrier off, at the most, behind the check byte
)
