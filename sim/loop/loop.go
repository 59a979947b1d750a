package loop

// Source stands for the index of a cable: the place where the first one begins, right
// behind the supply and all that is in series with it.
const Source = -1

// A Loop is a pair of wires from a supply, and what hangs on them. Numbers are not
// negative; a cable goes on behind one that stands before it in Cables.
type Loop struct {
	Supply      Supply
	ResistorOhm float64      // that the host reads current and tones across; 0 is none
	BarrierOhm  float64      // of an intrinsically safe barrier, from end to end
	Series      []Instrument // that carry the current too
	Host        Host
	Cables      []Cable
	Devices     []Device
}

// A Supply feeds the loop.
type Supply struct {
	V      float64
	Ohm    float64 // its impedance for the tones; at direct current it has none
	MostMA float64 // that it can carry; 0 where that is not known
}

// An Instrument is in series with the devices: an indicator, an input of a controller.
type Instrument struct {
	Name string
	Ohm  float64
}

// A Cable is a segment of two cores.
type Cable struct {
	Name     string
	Behind   int // index of the cable that it goes on from, or [Source]
	LengthM  float64
	OhmPerKM float64 // of one core
	NFPerKM  float64 // between the cores
}

// A Device is a transmitter on the wires.
type Device struct {
	Name     string
	Behind   int     // index of the cable at whose end it hangs, or [Source]
	LiftOffV float64 // least voltage that it works with; 0 where that is not known
	InputNF  float64 // that the tones see
	ToneMA   float64 // that it modulates its current by
	Reversed bool    // its leads are swapped
}

// A Host is where hosts are clipped on.
type Host struct {
	At      Place
	Device  int     // index of the device, where At says so
	V       float64 // of its tones across [UsualResistorOhm]
	Ohm     float64 // its output impedance while it talks; it listens without load
	NF      float64 // its capacitance
	Swapped bool    // its leads; tones alternate, so that changes nothing
}

// A Place is where a host is clipped on.
type Place uint8

const (
	AcrossResistor Place = iota
	AcrossSupply
	AcrossDevice
)

// What is usual.
//
// Source: common practice (250 ohm).
const UsualResistorOhm = 250.0
