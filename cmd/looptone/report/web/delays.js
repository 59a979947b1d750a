"use strict";

// Delays are the response times: how they are spread, a row a device, and the numbers.
class Delays {
  constructor(traffic, element) {
    this.traffic = traffic;
    this.rows = traffic.delays || [];
    const devices = traffic.times || [];
    if (!devices.length) {
      element.append(make("p", { text: "No response time is known: the recording has no times, or nobody answered." }));
      return;
    }
    if (this.rows.length) {
      this.canvas = make("canvas", { attributes: { role: "img", "aria-label": "How response times are spread, a row a device; the table below has the numbers" } });
      this.pen = this.canvas.getContext("2d", { alpha: false });
      element.append(this.canvas);
      look.on(() => this.draw());
      requestAnimationFrame(() => this.draw());
    }
    element.append(this.table(devices));
  }

  table(devices) {
    const names = ["Device", "Answers", "Least", "Median", "95 % within", "99 % within", "Most"];
    const table = make("table", {}, make("caption", { text: "Response times" }),
      make("thead", {}, make("tr", {}, ...names.map((text) => make("th", { text, attributes: { scope: "col" } })))));
    const body = make("tbody");
    for (const r of devices) {
      const cells = [String(r.count), ...[r.least, r.median, r.most_95, r.most_99, r.most].map(spanText)];
      body.append(make("tr", {}, make("th", { text: r.device, attributes: { scope: "row" } }), ...cells.map((text) => make("td", { text, style: "figure" }))));
    }
    table.append(body);
    return make("div", { style: "wide", attributes: { tabindex: "0", role: "region", "aria-label": "Response times in numbers" } }, table);
  }

  // draw: the axis reaches as far as nearly all of them, and a little behind the slave
  // time-out at least.
  draw() {
    const { pen } = this, text = look.textSize(), row = text * 2.4, axis = text * 1.8;
    const width = this.canvas.clientWidth, height = axis + this.rows.length * row + 4;
    if (width < 60) return;
    blank(pen, width, height);
    const names = this.rows.map(({ station }) => this.traffic.name(station));
    const left = Math.min(Math.max(...names.map((name) => pen.measureText(name).width)) + text, width / 3);
    const most = Math.max(400, ...this.rows.map(({ counted }) => Delays.within(counted, 0.995)));
    const x = (ms) => left + ms / most * (width - left - text);
    this.drawAxis(x, most, axis, height, width);
    this.rows.forEach(({ counted }, i) => this.drawRow(names[i], counted, x, most, axis + i * row, row, left));
    this.drawLimit(x, axis, height);
  }

  // within is the length that a part of the times do not exceed.
  static within(counted, part) {
    const all = counted.reduce((sum, [, , n]) => sum + n, 0);
    let passed = 0;
    for (const [, to, n] of counted) if ((passed += n) >= all * part) return to;
    return 0;
  }

  drawAxis(x, most, axis, height, width) {
    const { pen } = this, step = roundStep(most / Math.max(width / (look.textSize() * 7), 1));
    pen.textAlign = "center";
    for (let ms = 0; ms <= most; ms += step) {
      pen.fillStyle = look.colour("--rule");
      pen.fillRect(Math.round(x(ms)), axis - 4, 1, height);
      pen.fillStyle = look.colour("--quiet");
      if (x(ms) + look.textSize() * 2 < width) pen.fillText(`${ms} ms`, x(ms), axis / 2);
    }
    pen.textAlign = "left";
  }

  drawRow(name, counted, x, most, y, row, left) {
    const { pen } = this;
    pen.fillStyle = look.colour("--ink");
    pen.fillText(Overview.fitting(pen, name, left - 8), 0, y + row / 2);
    const bars = this.bars(counted, most), highest = Math.max(...bars.map((bar) => bar.density));
    pen.fillStyle = look.colour("--device");
    for (const { from, to, density } of bars) {
      const height = Math.max(density / highest * (row - 6), 2);
      pen.fillRect(x(from), y + row - 2 - height, Math.max(x(to) - x(from) - 1, 1.5), height);
    }
    pen.fillStyle = look.colour("--edge");
    pen.fillRect(left, y + row - 2, x(most) - left, 1);
  }

  // bars put lengths together that would be too close.
  bars(counted, most) {
    const width = Math.max(Math.ceil(most / 160), 1), bars = new Map();
    for (const [from, , n] of counted) {
      const at = Math.floor(Math.min(from, most - 1) / width) * width;
      bars.set(at, (bars.get(at) || 0) + n);
    }
    return [...bars].map(([from, n]) => ({ from, to: from + width, density: n }));
  }

  drawLimit(x, axis, height) {
    const { pen } = this, ms = Spoken.standard.slave_time_out * 1000, label = "slave time-out, 28 characters";
    pen.fillStyle = look.colour("--timer");
    pen.fillRect(x(ms), axis - 4, 2, height);
    pen.fillText(label, x(ms) + 6, axis + look.textSize() * 0.5);
  }
}
