// Package stimulus makes waveforms for the receiver of a modem, and scores the
// characters that the modem made of them.
//
// A stimulus set is a folder with WAV files of one channel and 16 bits, and a manifest. It
// is played by a sound card or a signal generator whose level was set once, by the
// calibration tone; what the modem puts out meanwhile is captured. Messages and noise
// follow from a seed: the same seed, rate and full scale make the same bytes.
//
// The manifest, manifest.json, is one JSON object:
//
//	format        "looptone stimulus 1"
//	seed          that messages and noise follow from
//	rate          samples a second
//	full_scale_v  volts at the modem that a sample of full scale stands for
//	cautions      list of sentences
//	calibration   file, does, level_mv (peak to peak), seconds
//	waveforms     list, in the order of playing, of objects with
//	  name        for instance "noise-10"
//	  file        in the same folder
//	  does        what is special about it
//	  level_mv    of the tones, peak to peak
//	  seconds     how long it is
//	  must        what a modem has to do
//	  source      where that is published, or "common practice"; "" where nothing is
//	  limits      names of the limits that it is held against, see [Limits]; of none:
//	              either is right, and there are figures only
//	  messages    list of objects with at (seconds to the first start bit), level_mv,
//	              around (true: at the usual level before or behind what is tested, which
//	              tells that the modem heard at all) and bytes (hex, preambles included)
//	  tones       list of objects with at and for (seconds): carriers without characters
//
// A waveform may be taken out of the list, with its file; the others are scored as before.
package stimulus
