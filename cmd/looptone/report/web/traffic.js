"use strict";

// Traffic is what the page holds of the messages, as objects.
class Traffic {
  constructor(data) {
    Object.assign(this, data);
    this.by = new Map(data.stations.map((station) => [station.id, station]));
    this.messages = data.messages.map((row) => new Said(row, data.texts));
    this.byN = new Map(this.messages.map((message) => [message.n, message]));
    this.carriers = this.messages.filter((message) => message.hex).map((message) => message.carrier());
    this.inOrder();
  }

  // inOrder numbers carriers and messages as the lanes want them: by their times, which
  // need not be the order in which they came.
  inOrder() {
    this.carriers.forEach((carrier, i) => { carrier.n = i + 1; });
  }

  name(station) { return this.by.get(station)?.name ?? ""; }

  // gaps are the times of which not all messages are in the page whole.
  gaps() {
    if (this.left) return this.left;
    this.left = [];
    let end = this.from, order = 0;
    for (const message of this.messages) {
      if (message.n > order + 1) this.left.push({ from: end, to: message.begin });
      order = Math.max(order, message.n);
      end = Math.max(end, message.end);
    }
    return this.left;
  }

  // time is a moment as the page writes it: as on the axes, and by the wall clock where
  // that is known.
  time(seconds) {
    const since = `${this.untimed ? "≈ " : ""}${clockText(seconds)}`;
    return this.clock ? `${since} (${this.wall(seconds).slice(11)})` : since;
  }

  // wall is a moment by the wall clock of who recorded.
  wall(seconds) {
    this.base ||= new Date(this.clock).getTime();
    this.zone ||= /(Z|[+-]\d\d:\d\d)$/.exec(this.clock)[0];
    const shift = this.zone === "Z" ? 0 : Number(this.zone[0] + "1") * (Number(this.zone.slice(1, 3)) * 60 + Number(this.zone.slice(4))) * 60000;
    return new Date(this.base + shift + Math.floor(seconds * 1000 + 1e-3)).toISOString().slice(0, 23).replace("T", " ");
  }
}

// axisStep is timeStep, and beyond that in halves of days, days and weeks.
function axisStep(least) {
  return [43200, 86400, 172800, 604800, 2419200].find((step) => least > 21600 && step >= least) ?? timeStep(least);
}

// Said is one message. Rows are written in the order in which they are read here.
class Said {
  constructor(row, texts) {
    [this.n, this.number, this.from, this.to, this.begin, this.start, this.end, this.kind, this.sentence,
      this.hex, this.ff, this.reply_to, this.after, this.command, this.parts, this.place, this.wrongAt, this.why] = row;
    this.kind = Said.kinds[this.kind];
    this.texts = texts;
    this.chars = this.hex.length / 2 + this.ff;
  }

  get wrong() { return this.kind === "damage" || this.kind === "noise" || this.kind === "unanswered"; }

  // carrier is what the lanes draw. A recording knows no lead and tail; where all
  // characters came at once they are drawn as long as a line needs, up to their end.
  carrier() {
    const length = this.chars * Spoken.standard.character;
    const start = this.end - this.begin < 0.9 * length ? this.end - length : this.begin;
    const at = this.wrongAt + this.ff;
    const marks = this.wrongAt >= 0 ? [Math.min(at, this.chars - 1)] : [];
    return { n: 0, station: this.from, on: start, off: Math.max(this.end, start), start, chars: this.chars, ff: this.ff, pauses: [], marks, level: 0 };
  }

  // boxes are the bytes with their captions and sentences.
  boxes() {
    if (!this.parts.length) return this.hex ? [{ hex: this.hex, caption: this.kind, sentence: this.why || "nobody can tell what these bytes mean" }] : [];
    const boxes = [];
    let at = 0;
    for (let i = 0; i < this.parts.length; i += 3) {
      const caption = this.texts[this.parts[i + 1]], sentence = this.texts[this.parts[i + 2]];
      if (caption === "preambles") {
        boxes.push({ hex: "ff".repeat(this.parts[i]), caption, sentence });
        continue;
      }
      boxes.push({ hex: this.hex.slice(at, at += 2 * this.parts[i]), caption, sentence });
    }
    return boxes;
  }
}

Said.kinds = ["request", "reply", "burst", "damage", "noise", "unanswered"];
