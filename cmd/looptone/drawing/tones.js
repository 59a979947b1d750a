"use strict";

// Tones is a message as sound: 11 bits a character, the least significant first, odd
// parity; a 1 is 1200 Hz and a 0 is 2200 Hz, and the phase is continuous. Slowed down the
// bits last longer and the tones stay the same, so that single bits can be heard.
//
// Source: HART physical layer, as in Texas Instruments DAC8742H data sheet (modem:
// 1200 bit/s, mark 1200 Hz, space 2200 Hz, continuous phase).
class Tones {
  // bytes are the characters, preambles included; slow is how many times longer bits last.
  constructor(bytes, { rate = 48000, slow = 1 } = {}) {
    this.bytes = bytes;
    this.rate = rate;
    this.bit = slow / Tones.bitRate; // seconds
    this.bits = Tones.bitsOf(bytes);
    this.turns = this.turnsUntil();
    this.length = Math.ceil(this.bits.length * this.bit * rate - 1e-6); // samples
  }

  // bitsOf are all bits of a carrier: in front of the characters and behind them it stays
  // at 1, as long as a modem's carrier may.
  static bitsOf(bytes) {
    const bits = Array(Tones.lead).fill(1);
    for (const byte of bytes) bits.push(...Tones.character(byte));
    return bits.concat(Array(Tones.tail).fill(1));
  }

  // character is one start bit, eight of data, parity and a stop bit.
  static character(byte) {
    const data = Array.from({ length: 8 }, (_, i) => (byte >> i) & 1);
    const ones = data.reduce((sum, bit) => sum + bit, 0);
    return [0, ...data, 1 - (ones & 1), 1];
  }

  // turnsUntil are the periods before each bit: of all ones and zeros in front of it.
  turnsUntil() {
    const turns = new Float64Array(this.bits.length + 1);
    this.bits.forEach((bit, i) => { turns[i + 1] = turns[i] + Tones.hertz(bit) * this.bit; });
    return turns;
  }

  static hertz(bit) { return bit ? Tones.mark : Tones.space; }

  // samples are count of them from first on, of all if nothing is said, between −1 and 1.
  samples(first = 0, count = this.length - first) {
    const out = new Float32Array(Math.max(Math.min(count, this.length - first), 0));
    for (let i = 0; i < out.length; i++) {
      const time = (first + i) / this.rate;
      const k = Math.min(Math.floor(time / this.bit + 1e-9), this.bits.length - 1);
      const turns = this.turns[k] + Tones.hertz(this.bits[k]) * (time - k * this.bit);
      out[i] = Math.sin(2 * Math.PI * (turns % 1));
    }
    return out;
  }

  get seconds() { return this.bits.length * this.bit; }

  // at is which character sounds at a time, and how much of it is over; before the first
  // one index is −1, behind the last one the number of characters.
  at(seconds) {
    const bits = seconds / this.bit - Tones.lead;
    if (bits < 0) return { index: -1, part: 0 };
    const index = Math.floor(bits / Tones.perCharacter);
    return { index: Math.min(index, this.bytes.length), part: bits / Tones.perCharacter - index };
  }
}

Tones.bitRate = 1200;
Tones.mark = 1200;  // Hz, of a 1
Tones.space = 2200; // Hz, of a 0
Tones.perCharacter = 11;
Tones.lead = 5; // bits of carrier before the first character
Tones.tail = 3; // and behind the last one

// Player plays tones, a piece after the other, so that slow motion of a long message
// needs no more memory than a short one.
class Player {
  constructor() {
    this.volume = 0.3;
    this.tones = null;
  }

  // play calls moved with what sounds, before every picture, and ended once.
  async play(bytes, slow, moved, ended) {
    this.context ||= new AudioContext();
    await this.context.resume();
    this.stop(); // also what was begun meanwhile
    this.gain = this.context.createGain();
    this.gain.gain.value = this.volume;
    this.gain.connect(this.context.destination);
    this.tones = new Tones(bytes, { rate: this.context.sampleRate, slow });
    [this.moved, this.ended] = [moved, ended];
    this.begun = this.context.currentTime + 0.08;
    this.next = 0;
    this.sources = [];
    this.turn(this.tones);
  }

  get playing() { return this.tones !== null; }

  setVolume(volume) {
    this.volume = volume;
    if (this.playing) this.gain.gain.setTargetAtTime(volume, this.context.currentTime, 0.02);
  }

  turn(tones) {
    if (this.tones !== tones) return;
    const passed = this.context.currentTime - this.begun;
    this.fill(passed);
    this.moved(tones.at(Math.max(passed, 0)), tones);
    if (passed > tones.seconds) return this.stop();
    requestAnimationFrame(() => this.turn(tones));
  }

  // fill hands over what will sound within the next seconds. Each piece begins where the
  // one before ends, to the sample.
  fill(passed) {
    const { tones } = this, piece = Math.round(tones.rate * Player.piece);
    while (this.next < tones.length && this.next / tones.rate < passed + 2 * Player.piece) {
      const samples = tones.samples(this.next, piece);
      const buffer = this.context.createBuffer(1, samples.length, tones.rate);
      buffer.copyToChannel(samples, 0);
      const source = this.context.createBufferSource();
      source.buffer = buffer;
      source.connect(this.gain);
      source.start(this.begun + this.next / tones.rate);
      this.sources.push(source);
      this.next += samples.length;
    }
  }

  stop() {
    if (!this.playing) return;
    this.gain.gain.setTargetAtTime(0, this.context.currentTime, 0.003); // not with a click
    for (const source of this.sources) source.stop(this.context.currentTime + 0.03);
    this.tones = null;
    this.ended();
  }
}

Player.piece = 1; // seconds
