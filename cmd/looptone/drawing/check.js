"use strict";

// Check recomputes the check byte of a message before the viewer's eyes: the exclusive or
// of all bytes from the delimiter on, one after the other, in hex and in bits. It marks in
// the strip where it is.
class Check {
  constructor(element, strip) {
    this.strip = strip;
    this.element = element;
    this.table = Strip.make("div", "check-sum");
    this.rows = ["so far", "this byte", "exclusive or"].map((name) => this.row(name));
    this.said = Strip.make("p", "check-said", { role: "status" });
    this.buttons = Strip.make("div", "check-buttons");
    this.toPlay = this.button("Play", () => this.play());
    this.toStep = this.button("One byte", () => this.stepOnce());
    this.toBegin = this.button("Again", () => this.begin());
    const beside = Strip.make("div", "check-beside");
    beside.append(this.said, this.buttons);
    element.append(this.table, beside);
  }

  button(text, f) {
    const button = Strip.make("button", "", { type: "button" }, text);
    button.addEventListener("click", f);
    this.buttons.append(button);
    return button;
  }

  // row is a value in hex and in eight bits.
  row(name) {
    const row = Strip.make("div", "check-row");
    const hex = Strip.make("span", "check-hex");
    const bits = Array.from({ length: 8 }, () => Strip.make("span", "check-bit"));
    row.append(Strip.make("span", "check-name", {}, name), hex, ...bits);
    this.table.append(row);
    return { row, hex, bits };
  }

  // begin starts anew; the last byte of the message is its check byte.
  begin() {
    this.halt();
    const values = this.strip.values.slice(this.strip.preambles);
    this.given = values.pop();
    this.values = values;
    this.at = 0;
    this.sum = 0;
    this.put(0, undefined, undefined);
    this.strip.mark();
    this.said.textContent = values.length
      ? `XOR of ${values.length} bytes: a bit is 1 where an odd number of them have a 1.`
      : "There are no bytes to reckon with.";
    this.enable();
  }

  get over() { return this.at > this.values.length; }

  play() {
    if (this.timer) return this.halt();
    if (this.over) this.begin();
    this.step();
    this.timer = setInterval(() => this.step(), Check.paceMS);
    this.enable();
  }

  halt() {
    clearInterval(this.timer);
    this.timer = undefined;
    this.enable();
  }

  stepOnce() {
    this.halt();
    this.step();
  }

  // step takes the next byte; behind the last one it compares.
  step() {
    if (this.over) return this.halt();
    if (this.at === this.values.length) return this.compare();
    const byte = this.values[this.at], before = this.sum;
    this.sum ^= byte;
    this.put(before, byte, this.sum);
    this.strip.mark(this.strip.preambles + this.at);
    this.at++;
    const left = this.values.length - this.at;
    this.said.textContent = `${Check.hex(before)} and ${Check.hex(byte)} make ${Check.hex(this.sum)}: ` +
      (left === 0 ? "that was the last byte before the check byte." : `${left} ${left === 1 ? "byte" : "bytes"} to go.`);
    this.enable();
  }

  compare() {
    this.at++;
    this.strip.mark(this.strip.preambles + this.values.length);
    const right = this.sum === this.given;
    this.put(this.sum, this.given, this.sum ^ this.given, this.sum ^ this.given);
    this.said.textContent = right
      ? `The check byte is ${Check.hex(this.given)}: it is right.`
      : `It is not: the message says ${Check.hex(this.given)}, its bytes make ${Check.hex(this.sum)}.`;
    this.rows[1].row.firstChild.textContent = "check byte";
    this.rows[2].row.firstChild.textContent = "difference";
    this.halt();
  }

  put(before, byte, after, changed = byte) {
    this.rows[1].row.firstChild.textContent = "this byte";
    this.rows[2].row.firstChild.textContent = "exclusive or";
    [before, byte, after].forEach((value, i) => this.putRow(this.rows[i], value, i === 2 ? changed : 0));
  }

  // putRow writes a value; bits that have changed stand out.
  putRow({ hex, bits }, value, changed = 0) {
    hex.textContent = value === undefined ? "" : Check.hex(value);
    bits.forEach((bit, i) => {
      const place = 7 - i;
      bit.textContent = value === undefined ? "" : String((value >> place) & 1);
      bit.classList.toggle("check-changed", value !== undefined && Boolean((changed >> place) & 1));
    });
  }

  enable() {
    this.toPlay.textContent = this.timer ? "Hold" : "Play";
    const none = !this.values?.length;
    this.toPlay.disabled = none;
    this.toStep.disabled = none || this.over;
  }

  static hex(value) { return value.toString(16).padStart(2, "0"); }
}

Check.paceMS = 900;
