package view

import (
	"fmt"
	"strconv"

	"looptone/sim/master"
)

// AppendFound writes what a scan found at one polling address as a JSON object.
// line is the name of the line.
func AppendFound(dst []byte, line string, f *master.Found) []byte {
	o := object{b: append(dst, '{')}
	if f.Unreadable {
		o.int(`"polling":`, int64(f.Polling))
		o.bool(`"unreadable":`, true)
		o.int(`"tries":`, int64(f.Tries))
		return append(o.b, '}')
	}
	o.text(`"line":`, line)
	o.int(`"polling":`, int64(f.Polling))
	o.text(`"unique":`, f.Unique.String())
	o.int(`"manufacturer":`, int64(f.Manufacturer))
	o.int(`"device_type":`, int64(f.DeviceType))
	o.int(`"device_id":`, int64(f.Unique.DeviceID()))
	o.int(`"universal_revision":`, int64(f.UniversalRevision))
	o.int(`"device_revision":`, int64(f.DeviceRevision))
	o.int(`"preambles":`, int64(f.Preambles))
	o.textOrNull(`"tag":`, f.Tag)
	o.textOrNull(`"long_tag":`, f.LongTag)
	o.textOrNull(`"descriptor":`, f.Descriptor)
	o.textOrNull(`"loop_current_mode":`, currentMode(f))
	o.floatOrNull(`"loop_current_ma":`, f.LoopCurrentMA)
	o.floatOrNull(`"pv":`, f.PV)
	var symbol *string
	if f.PVUnit != nil {
		s := f.PVUnit.String()
		symbol = &s
	}
	o.textOrNull(`"pv_unit":`, symbol)
	o.texts(`"device_status":`, f.Status.Names())
	o.seconds(`"response_time":`, f.ResponseTime.Duration())
	if len(f.Unanswered) > 0 {
		o.key(`"unanswered":`)
		o.b = append(o.b, '[')
		for i, command := range f.Unanswered {
			if i > 0 {
				o.b = append(o.b, ',')
			}
			o.b = strconv.AppendUint(o.b, uint64(command), 10)
		}
		o.b = append(o.b, ']')
	}
	return append(o.b, '}')
}

func (o *object) textOrNull(name string, s *string) {
	if s == nil {
		o.null(name)
		return
	}
	o.text(name, *s)
}

// floatOrNull writes the shortest decimal of a 32-bit value.
func (o *object) floatOrNull(name string, x *float64) {
	if x == nil {
		o.null(name)
		return
	}
	o.key(name)
	o.b = strconv.AppendFloat(o.b, *x, 'g', -1, 32)
}

func currentMode(f *master.Found) *string {
	if f.Modulated == nil {
		return nil
	}
	mode := "fixed"
	if *f.Modulated {
		mode = "modulated"
	}
	return &mode
}

// FoundSentence says in one line what a scan found at one polling address.
func FoundSentence(f *master.Found) string {
	if f.Unreadable {
		return fmt.Sprintf("%3d  something answers that cannot be read, %d times asked", f.Polling, f.Tries)
	}
	line := fmt.Sprintf("%3d  %-8s  %-16s  %-19s  revision %d, unique address %v, after %.0f ms",
		f.Polling, tagOf(f), reading(f), current(f),
		f.UniversalRevision, f.Unique, f.ResponseTime.Seconds()*1000)
	for _, command := range f.Unanswered {
		line += fmt.Sprintf(", no answer to command %d", command)
	}
	return line
}

func tagOf(f *master.Found) string {
	if f.Tag == nil || *f.Tag == "" {
		return "(no tag)"
	}
	return *f.Tag
}

func reading(f *master.Found) string {
	if f.PV == nil {
		return "no value"
	}
	return fmt.Sprintf("%.5g %v", *f.PV, f.PVUnit)
}

func current(f *master.Found) string {
	if f.LoopCurrentMA == nil {
		return ""
	}
	how := "parked"
	if f.Modulated != nil && *f.Modulated {
		how = "moving"
	}
	return fmt.Sprintf("%.3f mA %s", *f.LoopCurrentMA, how)
}
