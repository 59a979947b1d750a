package page

import (
	"fmt"
	"strconv"
	"strings"

	"looptone/frame/unit"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// dials are the settings of the stage behind which an output stands.
func dials(c *transmitter.Config, name string) []Dial {
	switch name {
	case "sensor":
		return sensorDials(&c.Sensor)
	case "characterisation":
		return characterisationDials(c)
	case "damping":
		return []Dial{{"time constant", figure(c.DampingS, "s"), "The longer it is, the calmer the value, and the later it follows."}}
	case "trim":
		return trimDials(&c.Trim, c.Sensor.Unit.String())
	case "range":
		return rangeDials(&c.Range)
	case "transfer":
		return transferDials(&c.Transfer)
	case "table":
		return []Dial{{"points", strconv.Itoa(len(c.Table)), "Between two points the table is straight; outside them it holds its end values."}}
	case "user_unit":
		return userUnitDials(c.UserUnit)
	case "totaliser", "totaliser_forward":
		return []Dial{{"unit", c.Totaliser.Unit.String(), "What has flowed through is added up in it, and survives a loss of power as it was kept last."}}
	case "controller":
		return controllerDials(c.Controller)
	case "output":
		return outputDials(c)
	case "loop_current":
		return converterDials(&c.Current)
	}
	return []Dial{}
}

// idle reports whether a stage hands on what it is given, as it is set.
func idle(c *transmitter.Config, name string) bool {
	switch name {
	case "characterisation":
		return c.Characterisation == transmitter.Temperature{}
	case "damping":
		return c.DampingS == 0
	case "trim":
		return c.Trim == transmitter.Trim{Gain: 1}
	case "transfer":
		return c.Transfer == transmitter.Transfer{Power: 1}
	}
	return false
}

// figure is a value with its unit, rounded for people.
func figure(v float64, unit string) string {
	text := strings.Replace(strconv.FormatFloat(v, 'g', 6, 64), "-", "−", 1)
	return strings.TrimSuffix(text+" "+unit, " ")
}

func sensorDials(s *transmitter.Sensor) []Dial {
	u := s.Unit.String()
	over := figure(100*transmitter.Overrange, "%")
	list := []Dial{
		{"lower limit", figure(s.Lower, u), "Below it the sensor follows for another " + over + " of the way between its limits, and stays there."},
		{"upper limit", figure(s.Upper, u), "Above it the sensor follows for another " + over + " of the way between its limits, and stays there."},
		{"low side", figure(s.LowSide, u), "What acts there is taken off what acts on the high side."},
	}
	if s.MinimumSpan > 0 {
		list = append(list, Dial{"minimum span", figure(s.MinimumSpan, u), "The range values are at least that far apart."})
	}
	return append(list, temperatureDials(s.Temperature, s.AtC, u)...)
}

// temperatureDials are what temperature does, where it does anything.
func temperatureDials(t transmitter.Temperature, atC float64, u string) []Dial {
	if t == (transmitter.Temperature{}) {
		return nil
	}
	return []Dial{
		{"temperature", figure(atC, "°C"), fmt.Sprintf("Every kelvin away from %g °C changes what the sensor makes of the same pressure or level.", transmitter.ReferenceC)},
		{"zero shift", figure(t.ZeroPerK, u+" per K"), "So much the value is moved by a kelvin."},
		{"span shift", figure(t.SpanPerK, "% per K"), "So much the value grows by a kelvin."},
	}
}

func characterisationDials(c *transmitter.Config) []Dial {
	u := c.Sensor.Unit.String()
	return []Dial{
		{"zero correction", figure(c.Characterisation.ZeroPerK, u+" per K"), "So much the transmitter takes off for every kelvin, because it knows its sensor."},
		{"span correction", figure(c.Characterisation.SpanPerK, "% per K"), "So much growth it takes back for every kelvin."},
	}
}

func trimDials(t *transmitter.Trim, u string) []Dial {
	return []Dial{
		{"gain", figure(t.Gain, ""), "The value is multiplied by it: a trim at two points has turned the line."},
		{"offset", figure(t.Offset, u), "It is added to the value: a zero trim has moved the line."},
	}
}

func rangeDials(r *transmitter.Scale) []Dial {
	u := r.Unit.String()
	return []Dial{
		{"lower range value", figure(r.Lower, u), "This value stands for 0 %, and for 4 mA where the current moves."},
		{"upper range value", figure(r.Upper, u), "This value stands for 100 %, and for 20 mA where the current moves."},
	}
}

func transferDials(f *transmitter.Transfer) []Dial {
	cutOff := Dial{"cut-off", "off", "With one, a result below it reads 0: what is too small to be true."}
	if f.CutOffPercent > 0 {
		cutOff.Value = figure(f.CutOffPercent, "%")
		cutOff.Says = "A result below it reads 0: what is too small to be true."
	}
	return []Dial{powerDial(f.Power), cutOff}
}

func powerDial(power float64) Dial {
	switch power {
	case 1:
		return Dial{"power", "1, linear", "The percentage goes on as it is."}
	case 0.5:
		return Dial{"power", "1/2, square root", "Flow goes with the root of the differential pressure: a quarter of it is half the flow."}
	case 1.5:
		return Dial{"power", "3/2", "Flow over a rectangular weir goes with the head to this power."}
	case 2.5:
		return Dial{"power", "5/2", "Flow over a V-notch weir goes with the head to this power."}
	}
	return Dial{"power", figure(power, ""), "The share of the range is raised to this power."}
}

// vesselDials tell what a table was made for, if it still is the one that was.
func vesselDials(table []transmitter.Point, vessel process.Shape) []Dial {
	if len(table) < transmitter.FewestPoints {
		return nil
	}
	for i, p := range transmitter.Strapping(vessel, len(table)) {
		if p != table[i] {
			return nil
		}
	}
	worst := strconv.FormatFloat(transmitter.StrappingError(table, vessel), 'f', 2, 64)
	return []Dial{
		{"vessel", vessel.String(), "The table makes the share of its volume out of the share of its height."},
		{"worst error", worst + " %", "So far its straight lines are from the true volume, at most."},
	}
}

func userUnitDials(s *transmitter.Scale) []Dial {
	u := s.Unit.String()
	return []Dial{
		{"at 0 %", figure(s.Lower, u), "The primary variable reads this at 0 %."},
		{"at 100 %", figure(s.Upper, u), "The primary variable reads this at 100 %."},
	}
}

func controllerDials(c *transmitter.Controller) []Dial {
	percent := unit.Percent.String()
	action := Dial{"action", "reverse", "When the process variable rises, the output falls."}
	if c.Direct {
		action = Dial{"action", "direct", "When the process variable rises, the output rises."}
	}
	list := []Dial{
		modeDial(c.Mode),
		{"set point", figure(c.SetPoint, percent), "The percentage that the controller works towards."},
		action,
		{"gain", figure(c.Gain, ""), "One percent of error moves the output by so many percent."},
		{"integral time", orNone(c.IntegralS), "In this time a lasting error brings once more what the gain has brought."},
		{"derivative time", orNone(c.DerivativeS), "So far ahead it acts on how fast the value moves."},
		{"output limits", figure(c.Lower, "") + " to " + figure(c.Upper, percent), "The output stays between them; nothing winds up."},
	}
	if c.Mode != transmitter.Auto {
		list = append(list, Dial{"manual value", figure(c.Manual, percent), "The output that the operator has set."})
	}
	return list
}

func modeDial(m transmitter.ControllerMode) Dial {
	switch m {
	case transmitter.Auto:
		return Dial{"mode", "automatic", "The controller sets its output."}
	case transmitter.Manual:
		return Dial{"mode", "manual", "The operator sets the output; the controller waits."}
	}
	return Dial{"mode", "off", "There is no control; the output stays at its manual value."}
}

// orNone is a time that may be none.
func orNone(seconds float64) string {
	if seconds == 0 {
		return "none"
	}
	return figure(seconds, "s")
}

func outputDials(c *transmitter.Config) []Dial {
	source := Dial{"follows", "process variable", "The current follows the percentage that was measured."}
	if c.Source == transmitter.ManipulatedVariable {
		source = Dial{"follows", "controller output", "The current follows what the controller puts out, and may open a valve."}
	}
	return []Dial{
		source,
		{"lower saturation", figure(c.Current.LowerMA, "mA"), "Lower than this the current does not follow; it still means a measurement."},
		{"upper saturation", figure(c.Current.UpperMA, "mA"), "Higher than this the current does not follow; it still means a measurement."},
		{"failure current", figure(c.Current.FailureMA, "mA"), "It is set where there is no number: nobody can take it for a measurement."},
	}
}

func converterDials(c *transmitter.Current) []Dial {
	return []Dial{
		{"converter gain", figure(c.Converter.Gain, ""), "What the converter makes of every milliampere it is told: 1 where it is right."},
		{"converter offset", figure(c.Converter.Offset, "mA"), "What the converter adds: 0 where it is right."},
		{"current trim", figure(c.Trim.Gain, "") + " ×, " + figure(c.Trim.Offset, "mA"), "It corrects the converter by what a meter in the loop showed at 4 and at 20 mA."},
	}
}
