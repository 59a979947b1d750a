package wave

import (
	"encoding/binary"
	"math"
)

// A Format is how a WAV file holds samples.
type Format uint8

// The formats.
const (
	PCM8 Format = iota + 1
	PCM16
	PCM24
	PCM32
	Float32
	Float64 // that a Writer does not write
)

// size is the bytes of a sample.
func (f Format) size() int {
	return [...]int{PCM8: 1, PCM16: 2, PCM24: 3, PCM32: 4, Float32: 4, Float64: 8}[f]
}

// String is "16 bits" or "float of 32 bits".
func (f Format) String() string {
	return [...]string{"no format", "8 bits", "16 bits", "24 bits", "32 bits", "float of 32 bits", "float of 64 bits"}[f]
}

// Full scale of the integers.
const (
	full8  = 1 << 7
	full16 = 1 << 15
	full24 = 1 << 23
	full32 = 1 << 31
)

// append appends a sample, which is finite, and reports whether it was beyond full scale. It
// is rounded to the nearest step, and to the even one where two are equally near.
func (f Format) append(to []byte, sample float32) (_ []byte, clipped bool) {
	switch f {
	case PCM8: // the only one that is not signed
		step, clipped := quantized(sample, full8)
		return append(to, byte(step+full8)), clipped
	case PCM16:
		step, clipped := quantized(sample, full16)
		return binary.LittleEndian.AppendUint16(to, uint16(step)), clipped
	case PCM24:
		step, clipped := quantized(sample, full24)
		return append(to, byte(step), byte(step>>8), byte(step>>16)), clipped
	case PCM32:
		step, clipped := quantized(sample, full32)
		return binary.LittleEndian.AppendUint32(to, uint32(step)), clipped
	}
	return binary.LittleEndian.AppendUint32(to, math.Float32bits(sample)), false
}

// quantized is a sample in steps. +1 itself has no step, but is not beyond.
func quantized(sample float32, full float64) (step int64, clipped bool) {
	steps := math.RoundToEven(float64(sample) * full)
	return int64(max(-full, min(steps, full-1))), sample > 1 || sample < -1
}

// read makes samples of src, each of which begins stride bytes behind the last one,
// until dst is full.
func (f Format) read(dst []float32, src []byte, stride int) {
	switch f {
	case PCM8:
		for i := range dst {
			dst[i] = (float32(src[i*stride]) - full8) / full8
		}
	case PCM16:
		read16(dst, src, stride)
	case PCM24:
		for i := range dst {
			at := src[i*stride:][:3]
			dst[i] = float32(int32(uint32(at[0])<<8|uint32(at[1])<<16|uint32(at[2])<<24)>>8) / full24
		}
	case PCM32:
		for i := range dst {
			dst[i] = float32(int32(binary.LittleEndian.Uint32(src[i*stride:]))) / full32
		}
	case Float32:
		for i := range dst {
			dst[i] = math.Float32frombits(binary.LittleEndian.Uint32(src[i*stride:]))
		}
	case Float64:
		for i := range dst {
			dst[i] = float32(math.Float64frombits(binary.LittleEndian.Uint64(src[i*stride:])))
		}
	}
}

// read16 is the usual case, and of one channel it is fast.
func read16(dst []float32, src []byte, stride int) {
	if stride != 2 {
		for i := range dst {
			dst[i] = float32(int16(binary.LittleEndian.Uint16(src[i*stride:]))) / full16
		}
		return
	}
	for len(dst) >= 4 && len(src) >= 8 {
		four, samples := (*[4]float32)(dst), binary.LittleEndian.Uint64(src)
		four[0] = float32(int16(samples)) / full16
		four[1] = float32(int16(samples>>16)) / full16
		four[2] = float32(int16(samples>>32)) / full16
		four[3] = float32(int16(samples>>48)) / full16
		dst, src = dst[4:], src[8:]
	}
	for i := range dst {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(src[2*i:]))) / full16
	}
}

// finite is how many samples are finite before the first that is not.
func finite(samples []float32) (n int) {
	for ; n+4 <= len(samples); n += 4 {
		if s := (*[4]float32)(samples[n:]); s[0]-s[0]+(s[1]-s[1])+(s[2]-s[2])+(s[3]-s[3]) != 0 {
			break
		}
	}
	for n < len(samples) && isFinite(samples[n]) {
		n++
	}
	return n
}

// isFinite reports whether a sample is neither infinite nor no number.
func isFinite(sample float32) bool { return sample-sample == 0 }
