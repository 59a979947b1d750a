"use strict";

// Trend draws series over line time on a canvas: of one unit, with gaps where there is no
// number. Many points become the lowest and the highest of every column of pixels. A
// cursor tells the values; it follows the pointer, and the arrow keys.
//
// A series is { name, unit, colour, dash, time, value, until }: arrays of the same length,
// the times rising, null or NaN for a gap; the last value is drawn on to the time until.
class Trend {
  constructor(canvas, name) {
    this.plot = new Plot(canvas);
    this.canvas = canvas;
    this.name = name;
    this.shown = { from: 0, to: 1, series: [] };
    this.cursor = null;
    this.onCursor = null; // is told where the cursor was put by hand
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "slider"); // arrow keys move the cursor, its text says the values
    canvas.addEventListener("pointermove", (event) => this.point(event));
    canvas.addEventListener("pointerleave", () => this.put(null));
    canvas.addEventListener("keydown", (event) => this.press(event));
    canvas.addEventListener("blur", () => this.put(null));
    look.on(() => this.draw());
  }

  // show takes { from, to, series, least, scale, bare, left }: seconds of line time, how far
  // the ends of the axis are apart at least, or { from, to, at } for a fixed one with its
  // marks, whether the times are left out below, and the room at the left.
  show(what) {
    this.shown = what;
    this.plot.least = what.left || 0;
    this.draw();
  }

  setCursor(time) {
    if (time === this.cursor) return;
    this.cursor = time;
    this.draw();
  }

  put(time) {
    if (time === this.cursor) return;
    this.setCursor(time);
    if (this.onCursor) this.onCursor(time);
  }

  point(event) {
    if (!this.plot.x) return;
    const time = this.plot.atX(event.offsetX);
    this.put(Math.min(Math.max(time, this.shown.from), this.shown.to));
  }

  press(event) {
    const { from, to } = this.shown;
    const step = (to - from) / (event.shiftKey ? 10 : 100);
    const now = this.cursor ?? to;
    const times = { ArrowLeft: now - step, ArrowRight: now + step, Home: from, End: to };
    if (event.key === "Escape" && this.cursor !== null) this.put(null);
    else if (event.key in times) this.put(Math.min(Math.max(times[event.key], from), to));
    else return;
    event.preventDefault();
  }

  draw() {
    const { from, to, series, least, scale, bare } = this.shown;
    if (!(to > from)) return;
    const several = series.length > 1;
    if (!this.plot.begin({ from, to, clock: true, bare }, scale || this.heights(least), several ? 1 : 0)) return;
    this.plot.inside((pen) => {
      for (const one of series) this.drawSeries(pen, one);
    });
    if (several) this.drawNames();
    if (this.cursor !== null) this.drawCursor();
    this.speak();
  }

  // heights is the axis for everything that is seen.
  heights(least) {
    let lower = Infinity, upper = -Infinity;
    for (const one of this.shown.series) {
      const [first, end] = this.seen(one);
      for (let i = first; i < end; i++) {
        const v = one.value[i];
        if (!isNumber(v)) continue;
        if (v < lower) lower = v;
        if (v > upper) upper = v;
      }
    }
    const most = Math.max(2, Math.floor(this.canvas.clientHeight / (look.textSize() * 2.4)) - 1);
    return roundAxis(lower, upper, least, Math.min(most, 6));
  }

  // seen are the indices of what is shown of a series, and of one more at either end.
  seen(one) {
    const first = firstAfter(one.time, this.shown.from, Number);
    const end = firstAfter(one.time, this.shown.to, Number);
    return [Math.max(0, first - 1), Math.min(one.time.length, end + 1)];
  }

  drawSeries(pen, one) {
    pen.strokeStyle = pen.fillStyle = look.colour(one.colour || "--device");
    pen.lineWidth = Math.max(1.6, this.plot.text * 0.14);
    pen.lineJoin = "round";
    pen.setLineDash((one.dash || []).map((d) => d * this.plot.text));
    const path = new TrendPath(pen, this.plot);
    const [first, end] = this.seen(one);
    for (let i = first; i < end; i++) path.add(one.time[i], one.value[i]);
    const last = one.time.length - 1;
    if (end > last && one.until > one.time[last]) path.add(Math.min(one.until, this.shown.to), one.value[last]);
    path.end();
    pen.setLineDash([]);
  }

  // drawNames writes above the picture which line is which.
  drawNames() {
    const { pen, text, left, top } = this.plot;
    const y = top - text * 1.2;
    let x = left;
    pen.textAlign = "left";
    for (const one of this.shown.series) {
      pen.strokeStyle = look.colour(one.colour || "--device");
      pen.lineWidth = Math.max(1.6, text * 0.14);
      pen.setLineDash((one.dash || []).map((d) => d * text));
      this.plot.line(x, y, x + text * 1.8, y);
      pen.setLineDash([]);
      pen.fillStyle = look.colour("--ink");
      pen.fillText(one.name, x + text * 2.2, y);
      x += text * 3.2 + pen.measureText(one.name).width;
    }
  }

  drawCursor() {
    const { plot } = this;
    const x = plot.px(this.cursor);
    plot.pen.strokeStyle = look.colour("--now");
    plot.pen.lineWidth = 1.5;
    plot.line(x, plot.top, x, plot.bottom);
    const lines = this.readings();
    for (const one of this.shown.series) {
      const v = Trend.valueAt(one, this.cursor);
      if (!isNumber(v)) continue;
      plot.pen.fillStyle = look.colour("--now");
      plot.pen.beginPath();
      plot.pen.arc(x, plot.py(v), plot.text * 0.28, 0, 7);
      plot.pen.fill();
    }
    const widest = Math.max(...lines.map((l) => plot.pen.measureText(l).width));
    const at = x + widest + plot.text < plot.right ? x + plot.text * 0.5 : x - widest - plot.text * 0.5;
    const from = this.readingsTop(lines.length);
    lines.forEach((line, i) => plot.paper(line, at, from + plot.text * 1.25 * i, "--ink"));
  }

  // readingsTop is where the readings begin: above, or below where a single line runs above.
  readingsTop(lines) {
    const { plot, cursor, shown: { series } } = this;
    const v = series.length === 1 ? Trend.valueAt(series[0], cursor) : null;
    const above = isNumber(v) && plot.py(v) < (plot.top + plot.bottom) / 2;
    return above ? plot.bottom - plot.text * (0.7 + 1.25 * (lines - 1)) : plot.top + plot.text * 0.7;
  }

  // readings are the time of the cursor, and the values there; one line where there is one
  // series.
  readings() {
    const { series } = this.shown;
    const time = clockText(this.cursor, 1);
    const texts = series.map((one) => {
      const said = `${figureText(Trend.valueAt(one, this.cursor))} ${one.unit}`;
      return series.length > 1 ? `${one.name} ${said}` : said;
    });
    return series.length > 1 ? [time, ...texts] : [`${time}   ${texts.join("")}`];
  }

  // valueAt is the value of a series at a time, as the sample before it has it.
  static valueAt(one, time) {
    const i = firstAfter(one.time, time, Number) - 1;
    return i < 0 ? null : one.value[i];
  }

  // speak tells those who do not see it.
  speak() {
    const { from, to, series } = this.shown;
    const at = this.cursor ?? to;
    const texts = series.map((one) => `${one.name} ${figureText(Trend.valueAt(one, at))} ${one.unit}`);
    const said = {
      "aria-label": `${this.name}, over line time; arrow keys move the cursor`,
      "aria-valuemin": from.toFixed(1), "aria-valuemax": to.toFixed(1), "aria-valuenow": at.toFixed(1),
      "aria-valuetext": `${clockText(at, 1)}: ${texts.join(", ")}`,
    };
    for (const [key, text] of Object.entries(said)) {
      if (this.canvas.getAttribute(key) !== text) this.canvas.setAttribute(key, text);
    }
  }
}

function isNumber(v) { return v !== null && v !== undefined && Number.isFinite(v); }

// TrendPath draws points in the order of their times. Of those in one column of pixels it
// draws the first, the lowest, the highest and the last.
class TrendPath {
  constructor(pen, plot) {
    [this.pen, this.plot] = [pen, plot];
    this.column = null;
    this.drawn = 0; // points since the last gap
    pen.beginPath();
  }

  add(time, value) {
    if (!isNumber(value)) return this.gap();
    const x = this.plot.px(time), y = this.plot.py(value), column = Math.floor(x);
    if (column !== this.column) {
      this.finish();
      [this.column, this.x, this.first, this.low, this.high] = [column, x, y, y, y];
    }
    [this.lastX, this.last] = [x, y];
    if (y < this.low) this.low = y;
    if (y > this.high) this.high = y;
  }

  finish() {
    if (this.column === null) return;
    this.to(this.x, this.first);
    if (this.low !== this.high) {
      this.to(this.x, this.low);
      this.to(this.x, this.high);
      this.to(this.lastX, this.last);
    }
    this.column = null;
  }

  to(x, y) {
    if (this.drawn++) this.pen.lineTo(x, y);
    else this.pen.moveTo(x, y);
    this.dot = [x, y];
  }

  // gap ends a line; of a single point a dot is seen.
  gap() {
    this.finish();
    if (this.drawn === 1) this.pen.rect(this.dot[0] - 0.5, this.dot[1] - 0.5, 1, 1);
    this.drawn = 0;
  }

  end() {
    this.gap();
    this.pen.stroke();
  }
}
