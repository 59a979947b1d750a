"use strict";

// Statuses are the bits of the device statuses over time: a row a bit that was ever set,
// full where it was set throughout a step, half where in some of its replies.
class Statuses {
  constructor(traffic, element) {
    this.traffic = traffic;
    this.grid = traffic.lanes;
    this.rows = (this.grid.statuses || []).flatMap((lane) => Statuses.rowsOf(lane, traffic.bits));
    if (!this.rows.length) {
      element.append(make("p", { text: this.grid.statuses?.length ? "No device has set a bit of its status." : "No status was heard." }));
      return;
    }
    this.canvas = make("canvas", { attributes: { role: "img", "aria-label": "Status bits over time; the list says the same" } });
    this.pen = this.canvas.getContext("2d", { alpha: false });
    const list = make("ul", { style: "said" });
    for (const row of this.rows) list.append(make("li", { text: this.sentence(row) }));
    element.append(make("p", { style: "quiet", text: `A bit is taken to stay as the last reply said, until the next one. Where a step of ${spanText(this.grid.step)} has replies with the bit and without it, its bar is half as high.` }), this.canvas, list);
    look.on(() => this.draw());
    requestAnimationFrame(() => this.draw());
  }

  // rowsOf are the bits of a device, each with the steps in which it was set.
  static rowsOf({ station, runs }, bits) {
    const rows = [];
    bits.forEach((name, i) => {
      const bit = 0x80 >> i, spans = [];
      for (let k = 0; k < runs.length; k += 3) {
        if (!(runs[k + 1] & bit)) continue;
        const end = runs[k + 3], part = Boolean(runs[k + 2] & bit), last = spans.at(-1);
        if (last && last.to === runs[k] && last.part === part) last.to = end;
        else spans.push({ from: runs[k], to: end, part });
      }
      if (spans.length) rows.push({ station, name, spans });
    });
    return rows;
  }

  // whole are spans that follow each other as one, whether all replies had the bit or some.
  static whole(spans) {
    const joined = [];
    for (const { from, to } of spans) {
      if (joined.at(-1)?.to === from) joined.at(-1).to = to;
      else joined.push({ from, to });
    }
    return joined;
  }

  moment(step) { return Math.min(this.grid.from + step * this.grid.step, this.traffic.to); }

  sentence({ station, name, spans }) {
    const whole = Statuses.whole(spans).map(({ from, to }) => `${this.traffic.time(this.moment(from))} to ${to >= this.grid.steps ? "the end" : this.traffic.time(this.moment(to))}`);
    const more = whole.length > 3 ? `, and ${whole.length - 3} more times` : "";
    return `${this.traffic.name(station)}: ${name}, set from about ${whole.slice(0, 3).join("; ")}${more}`;
  }

  draw() {
    const { pen, traffic } = this, text = look.textSize(), row = text * 1.5, axis = text * 1.6;
    const width = this.canvas.clientWidth, height = axis + this.rows.length * row + 4;
    if (width < 60) return;
    blank(pen, width, height);
    const names = this.rows.map((one) => `${traffic.name(one.station)}: ${one.name}`);
    const left = Math.min(Math.max(...names.map((name) => pen.measureText(name).width)) + text, width / 2);
    const whole = Math.max(traffic.to - traffic.from, 0.001);
    const x = (time) => left + (time - traffic.from) / whole * (width - left - 1);
    this.drawAxis(x, left, width, axis, height);
    this.rows.forEach((one, i) => this.drawRow(names[i], one, x, axis + i * row, row, left, width));
  }

  drawAxis(x, left, width, axis, height) {
    const { pen, traffic } = this, text = look.textSize();
    const step = axisStep((traffic.to - traffic.from) / Math.max((width - left) / (text * 9), 1) || 1);
    pen.textAlign = "center";
    for (let k = Math.ceil(traffic.from / step); k * step <= traffic.to; k++) {
      const label = clockText(k * step, step >= 1 ? 0 : 3), half = pen.measureText(label).width / 2;
      pen.fillStyle = look.colour("--rule");
      pen.fillRect(x(k * step), axis - 4, 1, height);
      if (x(k * step) + half > width || x(k * step) - half < left - text) continue;
      pen.fillStyle = look.colour("--quiet");
      pen.fillText(label, x(k * step), axis / 2);
    }
    pen.textAlign = "left";
  }

  drawRow(name, { spans }, x, y, row, left, width) {
    const { pen } = this;
    pen.fillStyle = look.colour("--ink");
    pen.fillText(Overview.fitting(pen, name, left - 8), 0, y + row / 2);
    pen.fillStyle = look.colour("--silence");
    pen.fillRect(left, y + 2, width - left - 1, row - 4);
    pen.fillStyle = look.colour("--burst");
    for (const { from, to, part } of spans) {
      const start = x(this.moment(from)), end = Math.max(x(this.moment(Math.min(to, this.grid.steps))), start + 1.5);
      const height = part ? (row - 6) / 2 : row - 6;
      pen.fillRect(start, y + row - 3 - height, end - start, height);
    }
  }
}
