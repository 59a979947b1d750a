package device

// Response codes that a device of this package gives.
//
// Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4; per command:
// Flowserve LMENIM2340-00 pp.61-70; 28: KROHNE UFC 500 HART command specification
// p.48.
const (
	success           = 0
	invalidSelection  = 2
	tooLarge          = 3
	tooSmall          = 4
	tooFewDataBytes   = 5
	deviceError       = 6
	writeProtected    = 7
	setToNearest      = 8
	burstConflict     = 8
	lowerTooHigh      = 9
	appliedTooHigh    = 9
	counterMismatch   = 9
	notInFixedCurrent = 9
	invalidDate       = 9
	invalidMessage    = 9
	lowerTooLow       = 10
	appliedTooLow     = 10
	invalidWriteCode  = 10
	upperTooHigh      = 11
	inMultidropMode   = 11
	invalidVariable   = 11
	upperTooLow       = 12
	invalidMode       = 12
	invalidUnit       = 12
	bothOutOfLimits   = 13
	invalidTrigger    = 13
	spanTooSmall      = 14
	upperPushed       = 14
	statusMismatch    = 14
	invalidVariableIx = 17
	invalidUnitsCode  = 18
	invalidRangeUnit  = 28
	busy              = 32
	delayInitiated    = 33
	delayRunning      = 34
	delayDead         = 35
	notImplemented    = 64
)
