"use strict";

// Overview draws in steps what each station said: the higher, the more of its step was
// used; triangles where something went wrong.
class Overview {
  constructor(canvas, traffic) {
    [this.canvas, this.traffic] = [canvas, traffic];
    this.pen = canvas.getContext("2d", { alpha: false });
    this.grid = traffic.lanes;
    this.runs = new Map((this.grid.lanes || []).map((lane) => [lane.station, lane.runs]));
    this.mostWrong = 1;
    for (const runs of this.runs.values()) for (let i = 2; i < runs.length; i += 3) this.mostWrong = Math.max(this.mostWrong, runs[i]);
  }

  get row() { return Math.ceil(look.textSize() * 1.55); }

  get axis() { return Math.ceil(look.textSize() * 1.6); }

  x(time) { return this.left + (time - this.from) / (this.to - this.from) * (this.right - this.left); }

  time(x) { return this.from + (x - this.left) / (this.right - this.left) * (this.to - this.from); }

  // draw shows the time from one moment to another, with a frame around some of it.
  draw(from, to, framed) {
    [this.from, this.to] = [from, to];
    const width = this.canvas.clientWidth;
    if (width < 50) return;
    this.size(width, this.axis + this.traffic.stations.length * this.row + 2);
    const pen = this.pen;
    pen.fillStyle = look.colour("--sheet");
    pen.fillRect(0, 0, width, this.height);
    pen.font = look.font();
    pen.textBaseline = "middle";
    const names = this.traffic.stations.map((station) => station.name);
    this.left = Math.min(Math.max(...names.map((name) => pen.measureText(name).width), 40) + look.textSize(), width / 4);
    this.right = width - 1;
    this.drawAxis();
    this.traffic.stations.forEach((station, i) => this.drawLane(station, this.axis + i * this.row));
    if (framed) this.drawFrame(framed);
  }

  size(width, height) {
    const ratio = devicePixelRatio || 1;
    this.height = height;
    this.canvas.style.height = `${height}px`;
    const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)];
    if (this.canvas.width !== w || this.canvas.height !== h) [this.canvas.width, this.canvas.height] = [w, h];
    this.pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  }

  drawAxis() {
    const { pen, from, to } = this, text = look.textSize();
    const step = axisStep((to - from) / Math.max((this.right - this.left) / (text * 9), 1));
    const digits = step >= 1 ? 0 : Math.min(Math.ceil(-Math.log10(step) - 1e-9), 3);
    pen.textAlign = "center";
    for (let k = Math.ceil(from / step); k * step <= to; k++) {
      const x = Math.round(this.x(k * step)), half = pen.measureText(clockText(k * step, digits)).width / 2;
      pen.fillStyle = look.colour("--rule");
      pen.fillRect(x, this.axis - 4, 1, this.height);
      if (x - half < this.left - text || x + half > this.right) continue;
      pen.fillStyle = look.colour("--quiet");
      pen.fillText(clockText(k * step, digits), x, this.axis / 2);
    }
    pen.textAlign = "left";
  }

  drawLane(station, y) {
    const { pen, row } = this;
    pen.fillStyle = look.colour("--silence");
    pen.fillRect(this.left, y + 2, this.right - this.left, row - 4);
    pen.fillStyle = look.colour("--ink");
    pen.fillText(Overview.fitting(pen, station.name, this.left - look.textSize() * 0.6), 0, y + row / 2);
    const runs = this.runs.get(station.id) || [];
    const fill = look.colour(station.kind === "device" ? "--device" : station.kind === "master" ? "--host" : "--quiet");
    const width = Math.max(this.x(this.from + this.grid.step) - this.left, 1);
    this.crowded = Overview.crowd(runs, width);
    pen.save();
    pen.beginPath();
    pen.rect(this.left, y, this.right - this.left, row);
    pen.clip();
    for (let i = 0; i < runs.length; i += 3) {
      const x = this.x(this.grid.from + runs[i] * this.grid.step);
      if (x + width < this.left || x > this.right) continue;
      this.drawStep(x, y, width, runs[i + 1], runs[i + 2], fill);
    }
    pen.restore();
  }

  // drawStep: the root of the part that was used is the height, so that little is seen too.
  drawStep(x, y, width, chars, wrong, fill) {
    const { pen, row } = this;
    const part = Math.sqrt(Math.min(chars * Spoken.standard.character / this.grid.step, 1));
    const height = chars ? Math.max((row - 6) * part, 2) : 0;
    pen.fillStyle = fill;
    pen.fillRect(x, y + row - 3 - height, Math.max(width, 1), height);
    if (wrong) this.drawWrong(x, y, width, wrong);
  }

  // drawWrong is a triangle, or where those would be one red band, a bar from above: the
  // longer, the more went wrong.
  drawWrong(x, y, width, wrong) {
    const { pen, row } = this;
    if (this.crowded) {
      pen.fillStyle = look.colour("--trouble");
      pen.fillRect(x, y + 2, Math.max(width, 1), Math.max((row / 2) * wrong / this.mostWrong, 1));
      return;
    }
    const middle = x + width / 2, edge = 4.5;
    pen.fillStyle = look.colour("--trouble");
    pen.beginPath();
    pen.moveTo(middle - edge, y + 1);
    pen.lineTo(middle + edge, y + 1);
    pen.lineTo(middle, y + 9);
    pen.fill();
  }

  // crowd is whether what went wrong stands closer than triangles can.
  static crowd(runs, width) {
    for (let i = 2, last = -Infinity; i < runs.length; i += 3) {
      if (!runs[i]) continue;
      if ((runs[i - 2] - last) * width < 9) return true;
      last = runs[i - 2];
    }
    return false;
  }

  drawFrame({ from, to }) {
    const { pen } = this, left = this.x(from), right = Math.max(this.x(to), this.x(from) + 3);
    pen.strokeStyle = look.colour("--now");
    pen.lineWidth = 2;
    pen.strokeRect(left - 1, this.axis - 2, right - left + 2, this.height - this.axis);
  }

  static fitting(pen, text, room) {
    if (pen.measureText(text).width <= room) return text;
    let length = text.length;
    while (length > 1 && pen.measureText(`${text.slice(0, length)}…`).width > room) length--;
    return `${text.slice(0, length)}…`;
  }
}
