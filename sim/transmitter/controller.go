package transmitter

// ControllerMode says who sets the manipulated variable.
type ControllerMode uint8

const (
	Off    ControllerMode = iota
	Manual                // the operator
	Auto                  // the controller
)

// A Controller moves the manipulated variable until the process variable in
// percent is at its set point.
type Controller struct {
	Mode         ControllerMode
	Direct       bool    // the manipulated variable rises with the process variable; otherwise it falls
	SetPoint     float64 // percent
	Manual       float64 // the manipulated variable in mode Manual, and where it begins: percent
	Gain         float64
	IntegralS    float64 // integral time; 0 is none
	DerivativeS  float64 // derivative time; 0 is none
	Lower, Upper float64 // limits of the manipulated variable, percent
}
